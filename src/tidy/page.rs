//! Turns a file and its tree into a tidied text: rows set, sources and comments in columns, blank lines.

use super::row::{self, Level, Row, pad};
use super::words::{Marks, Sort};
use super::{Tidied, TidyLine};
use crate::render::columns;
use crate::source::{FileId, Span};
use crate::syntax::tree::Tree;
use crate::syntax::{self, Written};

/// How far behind the longest line of an entry its sources stand.
const BEFORE_SOURCES: usize = 4;
/// A line longer than this takes no part in the column of sources.
const WIDEST_BEFORE_SOURCES: usize = 126;

/// A line of the file on its way to the page.
struct Draft {
    from: usize,
    /// How far it was indented.
    indent: usize,
    said: Option<Said>,
    comment: Option<String>,
}

/// What a line says.
struct Said {
    row: usize,
    /// How far the first line of the row was indented.
    row_indent: usize,
    goes_on: bool,
    text: String,
    source: Option<String>,
}

/// The rows of a file, and the marks of each entry.
struct Plan<'a> {
    text: &'a str,
    rows: Vec<Row>,
    marks: Vec<Marks>,
}

/// Sets a file that holds no errors of form.
pub fn set(file: FileId, text: &str, tree: &Tree) -> Tidied {
    let mut plan = Plan {
        text,
        rows: Vec::new(),
        marks: Vec::with_capacity(tree.entries.len()),
    };
    for (at, entry) in tree.entries.iter().enumerate() {
        row::of(entry, at, &mut plan.rows);
        plan.marks.push(Marks::of(text, entry));
    }
    let mut drafts: Vec<Draft> = Vec::new();
    let mut next = 0;
    let mut row_indent = 0;
    for (from, line) in syntax::written_lines(file, text).enumerate() {
        let start = line.content.first_byte();
        let says_something = line.content.length() > 0;
        // A list of one line has its item on the same line; no line begins there.
        while says_something && plan.rows.get(next).is_some_and(|row| row.start < start) {
            next = next.saturating_add(1);
        }
        let begins = says_something && plan.rows.get(next).is_some_and(|row| row.start == start);
        if begins {
            next = next.saturating_add(1);
            row_indent = line.indent;
        }
        let row = next.checked_sub(1).filter(|_| says_something);
        drafts.push(Draft {
            from,
            indent: line.indent,
            said: row.and_then(|row| plan.says(&line, row, row_indent, begins)),
            comment: line.comment.map(|span| comment(text, span).to_owned()),
        });
    }
    align_sources(&mut drafts, &plan.rows, tree.entries.len());
    let lines = bound(&drafts, &plan.rows);
    let end = if first_line_ends_in_two(text) {
        "\r\n"
    } else {
        "\n"
    };
    let mut whole = String::with_capacity(text.len());
    for line in &lines {
        whole.push_str(&line.text);
        whole.push_str(end);
    }
    Tidied { text: whole, lines }
}

impl Plan<'_> {
    /// What a line says, which begins a row or goes on with it.
    fn says(&self, line: &Written<'_>, at: usize, row_indent: usize, begins: bool) -> Option<Said> {
        let row = self.rows.get(at)?;
        let start = if begins {
            row.words_from()
        } else {
            line.content.first_byte()
        };
        let marks = self.marks.get(row.entry)?;
        let mut words = marks.words(self.text, start, line.content.end_byte());
        // Where it opens a line of its own, the source stands where the text would.
        let has_source =
            (words.len() > 1 || begins) && words.last().is_some_and(|word| word.sort == Sort::Source);
        let source = if has_source { words.pop() } else { None };
        Some(Said {
            row: at,
            row_indent,
            goes_on: !begins,
            text: row.set(&words, (!begins).then_some(start)),
            source: source.map(|word| word.text),
        })
    }
}

fn first_line_ends_in_two(text: &str) -> bool {
    text.find('\n')
        .is_some_and(|at| text.get(..at).is_some_and(|line| line.ends_with('\r')))
}

/// A comment without the blanks behind it.
pub fn comment(text: &str, span: Span) -> &str {
    text.get(span.first_byte()..span.end_byte())
        .unwrap_or_default()
        .trim_end_matches([' ', '\t', '\u{a0}', '\r'])
}

/// Puts the sources of each entry into one column, and comments behind what is said.
fn align_sources(drafts: &mut [Draft], rows: &[Row], entries: usize) {
    let mut columns_of = vec![0_usize; entries];
    for said in drafts.iter().filter_map(|draft| draft.said.as_ref()) {
        let Some(row) = rows.get(said.row) else { continue };
        let width = columns(&said.text);
        if said.source.is_some()
            && !row.is_prose
            && width <= WIDEST_BEFORE_SOURCES
            && let Some(column) = columns_of.get_mut(row.entry)
        {
            *column = (*column).max(width.saturating_add(BEFORE_SOURCES));
        }
    }
    for draft in drafts {
        let Some(said) = &mut draft.said else { continue };
        let Some(row) = rows.get(said.row) else { continue };
        if let Some(source) = said.source.take() {
            let column = columns_of.get(row.entry).copied().unwrap_or(0);
            pad(&mut said.text, if row.is_prose { 0 } else { column }, 2);
            said.text.push_str(&source);
        }
        if let Some(comment) = draft.comment.take() {
            pad(&mut said.text, row.comments(), 2);
            said.text.push_str(&comment);
        }
    }
}

/// Binds the lines to a page: comments on lines of their own, and blank lines between entries.
fn bound(drafts: &[Draft], rows: &[Row]) -> Vec<TidyLine> {
    let mut lines: Vec<TidyLine> = Vec::new();
    let blank = || TidyLine {
        from: None,
        text: String::new(),
    };
    let mut before: Option<&Draft> = None;
    let mut rest = drafts;
    while !rest.is_empty() {
        // Up to the next line that says something: comments and blank lines.
        let length = rest
            .iter()
            .position(|draft| draft.said.is_some())
            .unwrap_or(rest.len());
        let (gap, after) = rest.split_at_checked(length).unwrap_or((rest, &[]));
        let (says, after) = match after.split_first() {
            Some((says, after)) => (Some(says), after),
            None => (None, after),
        };
        rest = after;
        let opens_entry = spoken(says, rows).is_some_and(|(_, _, row)| row.level == Level::Head);
        // Entries of one line each may stand together, as a list.
        let is_list = is_lone_head(before, rows) && is_lone_head(says, rows);
        // Comments that stay with the entry above don't part it from the next.
        let is_open = gap
            .iter()
            .rev()
            .take_while(|draft| draft.comment.is_none() || indent_of_comment(draft, before, says, rows) == 0)
            .any(|draft| draft.comment.is_none());
        let mut wants_blank = opens_entry && !is_open && !is_list && before.is_some();
        let mut skipped: Option<usize> = None;
        for draft in gap.iter().chain(says) {
            let text = match (&draft.said, &draft.comment) {
                (Some(said), _) => said.text.clone(),
                (None, Some(comment)) => {
                    let indent = indent_of_comment(draft, before, says, rows);
                    format!("{}{comment}", " ".repeat(indent))
                }
                (None, None) => {
                    skipped = skipped.or(Some(draft.from));
                    continue;
                }
            };
            let parts = wants_blank && !text.starts_with(' ');
            if (skipped.is_some() || parts) && !lines.is_empty() {
                lines.push(TidyLine {
                    from: skipped,
                    ..blank()
                });
            }
            wants_blank = wants_blank && !parts;
            skipped = None;
            lines.push(TidyLine {
                from: Some(draft.from),
                text,
            });
        }
        before = says.or(before);
    }
    lines
}

/// How far a comment on a line of its own is indented: like the line that it stands before; but
/// behind the last line of an entry or a list, where it was indented like that, it stays with it.
fn indent_of_comment(draft: &Draft, before: Option<&Draft>, after: Option<&Draft>, rows: &[Row]) -> usize {
    match (spoken(before, rows), spoken(after, rows)) {
        (_, Some((next, said, _))) if said.goes_on => {
            let text = next.said.as_ref().map_or("", |said| said.text.as_str());
            text.len().saturating_sub(text.trim_start_matches(' ').len())
        }
        (Some((_, _, last)), Some((next, _, row))) if row.level != Level::Head => {
            if draft.indent > next.indent && last.level == Level::Item {
                last.level.indent()
            } else {
                row.level.indent()
            }
        }
        (None, Some((_, _, row))) => row.level.indent(),
        (Some((_, said, last)), _) if draft.indent > 0 => {
            if last.level == Level::Item && draft.indent >= said.row_indent {
                Level::Item.indent()
            } else {
                Level::Line.indent()
            }
        }
        _ => 0,
    }
}

/// Whether a line is all that its entry has.
fn is_lone_head(draft: Option<&Draft>, rows: &[Row]) -> bool {
    spoken(draft, rows).is_some_and(|(_, said, row)| {
        let next = rows.get(said.row.saturating_add(1));
        row.level == Level::Head && next.is_none_or(|next| next.entry != row.entry)
    })
}

/// A line that says something, with what it says and the row that it belongs to.
fn spoken<'a>(draft: Option<&'a Draft>, rows: &'a [Row]) -> Option<(&'a Draft, &'a Said, &'a Row)> {
    let draft = draft?;
    let said = draft.said.as_ref()?;
    Some((draft, said, rows.get(said.row)?))
}
