//! Cuts a file into entries and lines by their indentation, and sets comments aside.
//!
//! An entry starts in the first column. An indented line belongs to the line above it when it
//! is indented further than the last line that did not belong to another; a line that ends in a
//! comma goes on in the next. Nothing here looks at what the words mean.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::source::{FileId, Span};

/// The longest line that is read, in bytes.
pub const LONGEST_LINE: usize = 16 * 1024;

/// How far a tab reaches: to the next multiple of this many columns.
const TAB: usize = 4;

/// An entry: its first line, and the lines under it.
#[derive(Debug)]
pub struct RawEntry {
    /// The line in the first column.
    pub head: RawLine,
    /// The indented lines.
    pub lines: Vec<RawLine>,
    /// Where the last line begins that was too long to be read, if one was.
    pub left_out: Option<Span>,
}

/// A line without its comment.
#[derive(Debug, Clone)]
pub struct RawLine {
    /// From its first letter to its last, over all lines that it goes on in.
    pub span: Span,
    /// How far it is indented, in columns.
    pub indent: usize,
    /// The lines that belong to it.
    pub children: Vec<RawLine>,
    /// The lines that it went on in after a comma, though they are indented no further than a line of their own.
    pub joined: Vec<Span>,
}

/// A file in lines.
#[derive(Debug)]
pub struct Layout {
    /// The entries.
    pub entries: Vec<RawEntry>,
    /// The comments.
    pub comments: Vec<Span>,
    /// What was wrong with the form.
    pub diagnostics: Vec<Diagnostic>,
}

/// Cuts a text into entries and lines.
pub fn cut(file: FileId, text: &str) -> Layout {
    let mut layout = Layout {
        entries: Vec::new(),
        comments: Vec::new(),
        diagnostics: Vec::new(),
    };
    let mut stray = false;
    let mut goes_on = false;
    let mut indented_by: Option<(u8, Span)> = None;
    for written in written_lines(file, text) {
        let start = written.start;
        if written.length > LONGEST_LINE {
            layout.diagnostics.push(
                Diagnostic::error(
                    code::LINE_TOO_LONG,
                    Span::new(file, start, start),
                    format!("this line has {} bytes, and is left out", written.length),
                )
                .help(format!(
                    "a line holds at most {LONGEST_LINE} bytes: break it after a comma, or go on in an indented line"
                )),
            );
            // It may have been the line that matters, so it counts as part of the entry.
            if written.is_indented
                && let Some(entry) = layout.entries.last_mut()
            {
                entry.left_out = Some(Span::new(file, start, start));
            }
            goes_on = false;
            continue;
        }
        layout.comments.extend(written.comment);
        if written.content.length() == 0 {
            continue;
        }
        let span = written.content;
        let lead = written.lead;
        let raw = RawLine {
            span,
            indent: written.indent,
            children: Vec::new(),
            joined: Vec::new(),
        };
        let ends_in_comma = written.ends_in_comma;
        if lead.is_empty() {
            stray = false;
            indented_by = None;
            layout.entries.push(RawEntry {
                head: raw,
                lines: Vec::new(),
                left_out: None,
            });
        } else if let Some(entry) = layout.entries.last_mut() {
            note_mixture(&mut indented_by, lead, span, &mut layout.diagnostics);
            attach(entry, raw, goes_on);
        } else if !stray {
            stray = true;
            layout.diagnostics.push(
                Diagnostic::error(
                    code::LINE_OUTSIDE_AN_ENTRY,
                    span,
                    "this indented line belongs to no entry",
                )
                .help("begin an entry above it in the first column, such as `formula garden tea`"),
            );
        }
        goes_on = ends_in_comma;
    }
    layout
}

/// One line of a file: what it says, and its comment.
#[derive(Debug, Clone)]
pub struct Written<'a> {
    /// Its first byte.
    start: usize,
    /// How many bytes it has, with its end.
    length: usize,
    /// Whether it begins with a blank.
    is_indented: bool,
    /// The blanks before what it says.
    lead: &'a str,
    /// What it says, without its comment and the blanks around it; empty where it says nothing.
    pub content: Span,
    /// How far what it says is indented, or else its comment, in columns.
    pub indent: usize,
    /// Its comment, from the `#` to its end.
    pub comment: Option<Span>,
    /// Whether it goes on in the next line that says something.
    ends_in_comma: bool,
}

/// The lines of a file, each with what it says and its comment set apart.
pub fn written_lines(file: FileId, text: &str) -> impl Iterator<Item = Written<'_>> {
    let mut offset = 0_usize;
    lines(text).map(move |whole| {
        let start = offset;
        offset = offset.saturating_add(whole.len());
        let line = whole.trim_end_matches(['\n', '\r']);
        let (from, line) = match line.strip_prefix('\u{feff}') {
            Some(rest) => (start.saturating_add('\u{feff}'.len_utf8()), rest),
            None => (start, line),
        };
        // A line that is too long is left out as a whole.
        let comment_at = comment_start(line).filter(|_| whole.len() <= LONGEST_LINE);
        let content = line.get(..comment_at.unwrap_or(line.len())).unwrap_or_default();
        let said = content.trim_end_matches(is_blank);
        let body = said.trim_start_matches(is_blank);
        let lead_length = said.len().saturating_sub(body.len());
        let lead = if said.is_empty() {
            content
        } else {
            said.get(..lead_length).unwrap_or_default()
        };
        let place =
            |start: usize, end: usize| Span::new(file, from.saturating_add(start), from.saturating_add(end));
        Written {
            start,
            length: whole.len(),
            is_indented: whole.starts_with([' ', '\t', '\u{a0}']),
            lead,
            content: place(lead_length, said.len()),
            indent: columns(lead),
            comment: comment_at.map(|at| place(at, line.len())),
            ends_in_comma: said.ends_with(','),
        }
    })
}

/// The lines of a text with their ends: a line feed, a carriage return, or both.
fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.split_inclusive('\n').flat_map(|line| {
        let whole = line.strip_suffix("\r\n").or_else(|| line.strip_suffix('\n'));
        let body = whole.unwrap_or(line);
        // Almost no line holds a carriage return of its own.
        let cut = body.rfind('\r').map_or(0, |at| at.saturating_add(1));
        let (head, tail) = line.split_at_checked(cut).unwrap_or(("", line));
        head.split_inclusive('\r')
            .chain(std::iter::once(tail).filter(|tail| !tail.is_empty()))
    })
}

fn attach(entry: &mut RawEntry, raw: RawLine, goes_on: bool) {
    let Some(top) = entry.lines.last_mut() else {
        entry.lines.push(raw);
        return;
    };
    if goes_on {
        if raw.indent <= top.indent {
            top.joined.push(raw.span);
        }
        match top.children.last_mut() {
            Some(child) => child.span = child.span.to(raw.span),
            None => top.span = top.span.to(raw.span),
        }
    } else if raw.indent > top.indent {
        top.children.push(raw);
    } else {
        entry.lines.push(raw);
    }
}

/// Reports the first line of an entry that is indented by tabs where the lines above it are
/// indented by blanks, or the other way round: what looks level may not be.
fn note_mixture(
    indented_by: &mut Option<(u8, Span)>,
    lead: &str,
    span: Span,
    diagnostics: &mut Vec<Diagnostic>,
) {
    let tabs = lead.bytes().any(|byte| byte == b'\t');
    let blanks = lead.bytes().any(|byte| byte != b'\t');
    let now = match (tabs, blanks) {
        (true, false) => b't',
        (false, _) => b'b',
        (true, true) => b'm',
    };
    match *indented_by {
        Some((b'r', _)) => {}
        Some((before, place)) if before != now => {
            diagnostics.push(
                Diagnostic::warning(
                    code::MIXED_INDENTATION,
                    span,
                    "this entry is indented by blanks in one line and by tabs in another",
                )
                .related(place, "indented in the other way here")
                .help(format!(
                    "use blanks throughout: a tab is taken as reaching to the next {TAB} columns, which may not be what you see"
                )),
            );
            *indented_by = Some((b'r', place));
        }
        Some(_) => {}
        None => *indented_by = Some((now, span)),
    }
}

fn is_blank(letter: char) -> bool {
    matches!(letter, ' ' | '\t' | '\u{a0}' | '\r')
}

fn columns(lead: &str) -> usize {
    lead.chars().fold(0, |column: usize, letter| {
        if letter == '\t' {
            column
                .checked_div(TAB)
                .unwrap_or(0)
                .saturating_add(1)
                .saturating_mul(TAB)
        } else {
            column.saturating_add(1)
        }
    })
}

/// Where the comment of a line begins: a `#` at its start or after a blank, outside of quotes
/// that close on the same line.
fn comment_start(line: &str) -> Option<usize> {
    if !line.contains('#') {
        return None;
    }
    let mut after_blank = true;
    let mut quote_ends = 0;
    for (at, letter) in line.char_indices() {
        if at < quote_ends {
            after_blank = false;
            continue;
        }
        match letter {
            '#' if after_blank => return Some(at),
            '"' => {
                let rest = line.get(at.saturating_add(1)..).unwrap_or_default();
                if let Some(length) = rest.find('"') {
                    quote_ends = at.saturating_add(length).saturating_add(2);
                }
            }
            _ => {}
        }
        after_blank = is_blank(letter);
    }
    None
}

/// The text of a line as one run: comments and line ends inside it become blanks, so that every
/// byte keeps its place.
pub fn run_on<'a>(text: &'a str, span: Span, comments: &[Span]) -> std::borrow::Cow<'a, str> {
    let slice = text.get(span.first_byte()..span.end_byte()).unwrap_or_default();
    if !slice.contains(['\n', '\r']) {
        return slice.into();
    }
    let first = comments.partition_point(|comment| comment.start < span.start);
    let mut inside = comments.get(first..).unwrap_or_default().iter().peekable();
    let mut out = String::with_capacity(slice.len());
    for (at, letter) in slice.char_indices() {
        let byte = span.first_byte().saturating_add(at);
        while inside.peek().is_some_and(|comment| comment.end_byte() <= byte) {
            inside.next();
        }
        let hidden = inside.peek().is_some_and(|comment| comment.first_byte() <= byte);
        if hidden || letter == '\n' || letter == '\r' {
            (0..letter.len_utf8()).for_each(|_| out.push(' '));
        } else {
            out.push(letter);
        }
    }
    out.into()
}
