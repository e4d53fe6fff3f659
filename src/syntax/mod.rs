//! Turns the text of a file into a tree of entries and lines, and findings about its form.
//!
//! Every entry and every line is read alone, so a slip costs one finding and never its
//! neighbours. The syntax knows no units and binds no names.

pub mod day;
mod dose;
mod explain;
mod grammar;
mod head;
mod ingredient;
mod layout;
mod letters;
mod line;
mod lower;
pub mod merged;
mod preparation;
pub mod tree;
pub mod walk;
pub mod words;

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::source::{FileId, Span};
use layout::{RawEntry, RawLine};
use lower::Lower;
use tree::{Body, Entry, Kind, Line, Make, Name, Quantity, Tree};
use words::Pattern;

pub use explain::source_too_near;
pub use layout::{LONGEST_LINE, Written, written_lines};
pub use lower::fold_blanks;

/// Reads a file. There is always a tree; what could not be read is left out of it and reported.
pub fn parse(file: FileId, text: &str) -> (Tree, Vec<Diagnostic>) {
    let layout = layout::cut(file, text);
    let mut diagnostics = layout.diagnostics;
    letters::report(file, text, &layout.comments, &mut diagnostics);
    let mut tree = Tree {
        file,
        entries: Vec::new(),
        comments: layout.comments,
    };
    let mut conflict = Conflict::None;
    for raw in &layout.entries {
        if let Some(sign) = mark_of_a_conflict(text, raw)
            && (sign == '<' || conflict != Conflict::None)
        {
            // A mark is reported where a conflict opens, and below each entry that stands in one: what
            // holds the mark gives no figures.
            if sign == '<' || conflict == Conflict::WithAnEntry {
                diagnostics.push(unfinished(raw.head.span, sign));
            }
            conflict = if sign == '>' {
                Conflict::None
            } else {
                Conflict::Open
            };
            if let Some(above) = tree.entries.last_mut() {
                above.span = above.span.to(raw.head.span);
            }
            continue;
        }
        if conflict == Conflict::Open {
            conflict = Conflict::WithAnEntry;
        }
        let mut reader = Reader {
            text,
            comments: &tree.comments,
            diagnostics: &mut diagnostics,
            file,
        };
        match reader.entry(raw) {
            Some(entry) => tree.entries.push(entry),
            // It may be a line of the entry above that lost its indentation, so it counts as part of it.
            None => {
                if let Some(above) = tree.entries.last_mut() {
                    above.span = above.span.to(raw.head.span);
                }
            }
        }
    }
    diagnostics.extend(merged::not_looked_at(text, &tree));
    (tree, diagnostics)
}

/// Whether the lines stand between the marks of a merge that is not finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Conflict {
    None,
    Open,
    WithAnEntry,
}

/// The sign of a mark that a merge leaves where two versions of a place stand one after the other.
fn mark_of_a_conflict(text: &str, raw: &RawEntry) -> Option<char> {
    const LEAST_SIGNS: usize = 7;
    let head = text.get(raw.head.span.first_byte()..raw.head.span.end_byte())?;
    let word = head.split(' ').next()?;
    let sign = word.chars().next()?;
    (matches!(sign, '<' | '=' | '>' | '|')
        && word.chars().count() >= LEAST_SIGNS
        && word.chars().all(|letter| letter == sign))
    .then_some(sign)
}

fn unfinished(span: Span, sign: char) -> Diagnostic {
    let message = if sign == '<' {
        "a merge is not finished here: two versions of this place stand one after the other"
    } else {
        "the entry above this mark is one version of two, and nobody has chosen yet"
    };
    Diagnostic::error(code::MERGE_CONFLICT_MARKS, span, message).help(
        "keep the version that is meant, and take the three lines with `<<<<<<<`, `=======` and `>>>>>>>` out",
    )
}

/// Reads an amount to make, as it stands after `make` in a batch or after `--make`.
///
/// # Errors
/// One finding about the text, whose spans lie in `file`.
pub fn parse_make(file: FileId, text: &str) -> Result<Make, Diagnostic> {
    let lower = Lower::new(file, 0);
    line::make(&lower, text)
}

/// Reads an amount alone, such as `2 heaped teaspoons`.
///
/// # Errors
/// One finding about the text, whose spans lie in `file`.
pub fn parse_quantity(file: FileId, text: &str) -> Result<Quantity, Diagnostic> {
    let lower = Lower::new(file, 0);
    line::quantity(&lower, text)
}

/// What a place of a file says when it is read as one run: comments and line ends count as blanks.
pub fn said(text: &str, span: Span, comments: &[Span]) -> String {
    fold_blanks(&layout::run_on(text, span, comments))
}

struct Reader<'a> {
    file: FileId,
    text: &'a str,
    comments: &'a [Span],
    diagnostics: &'a mut Vec<Diagnostic>,
}

impl Reader<'_> {
    fn entry(&mut self, raw: &RawEntry) -> Option<Entry> {
        let head = layout::run_on(self.text, raw.head.span, self.comments);
        let at = raw.head.span.first_byte();
        let first = head.split([' ', '\t', '\u{a0}']).next().unwrap_or_default();
        let kind_span = Span::new(self.file, at, at.saturating_add(first.len()));
        let Some(kind) = Kind::ALL
            .into_iter()
            .find(|kind| kind.word().eq_ignore_ascii_case(first))
        else {
            self.unknown_entry(raw, first, kind_span);
            return None;
        };
        let rest = head.get(first.len()..).unwrap_or_default();
        let lower = Lower::new(self.file, at.saturating_add(first.len()));
        let (name, id, date) = match head::read(&lower, kind, rest) {
            Ok(parts) => parts,
            Err(finding) => {
                self.diagnostics.push(finding);
                return None;
            }
        };
        if name.is_none() && kind != Kind::Practice {
            self.diagnostics.push(
                Diagnostic::error(
                    code::ENTRY_WITHOUT_A_NAME,
                    kind_span,
                    format!("this {} has no name", kind.word()),
                )
                .help(format!(
                    "write its name after the word: `{}`",
                    head::example(kind)
                )),
            );
            return None;
        }
        let mut entry = Entry {
            kind,
            kind_span,
            name,
            id,
            date,
            head: raw.head.span,
            lines: Vec::with_capacity(raw.lines.len()),
            span: raw.head.span,
        };
        if let Some(left_out) = raw.left_out {
            entry.span = entry.span.to(left_out);
        }
        for raw_line in &raw.lines {
            let line = self.line(kind, raw_line);
            entry.span = entry.span.to(line.span);
            self.note_repetition(&entry, &line);
            entry.lines.push(line);
        }
        Some(entry)
    }

    fn unknown_entry(&mut self, raw: &RawEntry, first: &str, span: Span) {
        let kinds = Kind::ALL.map(Kind::word);
        let mut finding = Diagnostic::error(
            code::UNKNOWN_ENTRY,
            span,
            format!("`{first}` is no kind of entry, so this entry is left out"),
        );
        let belongs = Kind::ALL
            .into_iter()
            .find(|kind| words::find(*kind, self.slice(raw.head.span)).is_some());
        finding = if let Some(near) = naming::nearest(first, kinds.into_iter()) {
            finding
                .help(format!("did you mean `{near}`?"))
                .fix(format!("write `{near}`"), span, near)
        } else if let Some(kind) = belongs {
            finding.help(format!(
                "`{first}` is a line of a {}: indent it below its entry",
                kind.word()
            ))
        } else {
            finding.help(format!(
                "what begins in the first column is one of: {}; indent a line that belongs to the entry above it",
                kinds.join(", ")
            ))
        };
        self.diagnostics.push(finding);
    }

    fn slice(&self, span: Span) -> &str {
        self.text
            .get(span.first_byte()..span.end_byte())
            .unwrap_or_default()
    }

    /// A line that may stand only once and stands again.
    fn note_repetition(&mut self, entry: &Entry, line: &Line) {
        let known = entry
            .kind
            .line_words()
            .iter()
            .find(|word| word.word == line.word.text);
        // A word that opens no line has been reported as such.
        if known.is_some_and(|word| word.repeats) || (known.is_none() && matches!(line.body, Body::Broken)) {
            return;
        }
        // An unqualified spoon is level.
        let plain = |word: &str| word.strip_prefix("level ").unwrap_or(word).to_owned();
        let own = plain(&line.word.text);
        if let Some(first) = entry.lines.iter().find(|other| plain(&other.word.text) == own) {
            self.diagnostics.push(
                Diagnostic::error(
                    code::SAID_TWICE,
                    line.word.span,
                    format!("`{}` stands twice in this {}", line.word.text, entry.kind.word()),
                )
                .label("which of the two is meant?")
                .related(first.word.span, "it stands here first")
                .help("keep the one that is meant"),
            );
        }
    }

    fn line(&mut self, kind: Kind, raw: &RawLine) -> Line {
        let last = raw.children.last().map_or(raw.span, |child| child.span);
        let own = layout::run_on(self.text, raw.span, self.comments).into_owned();
        let found = words::find(kind, &own);
        self.note_joined(kind, raw);
        let is_list = found.is_some_and(|(word, _)| matches!(word.pattern, Pattern::Take | Pattern::Used));
        // Only lists have items; under any other line what is indented further goes on with it.
        let (span, whole) = if is_list || raw.children.is_empty() {
            (raw.span, own)
        } else {
            self.note_swallowed(kind, raw);
            let span = raw.span.to(last);
            (span, layout::run_on(self.text, span, self.comments).into_owned())
        };
        let (content, source) = line::split_source(self.file, span.first_byte(), &whole);
        let content = content.to_owned();
        let mut finding = None;
        let line = match found {
            Some((word, taken)) => {
                let word_span = Span::new(
                    self.file,
                    span.first_byte(),
                    span.first_byte().saturating_add(taken),
                );
                let rest = content.get(taken..).unwrap_or_default();
                let lower = Lower::new(self.file, span.first_byte().saturating_add(taken));
                let body = match word.pattern {
                    Pattern::Take => {
                        let before = self.diagnostics.len();
                        let taken = self.take(&lower, rest, source.as_ref(), raw);
                        Ok(Body::Take(taken, self.diagnostics.len().saturating_sub(before)))
                    }
                    Pattern::Used => {
                        let before = self.diagnostics.len();
                        let used = self.used(&lower, rest, raw);
                        Ok(Body::Used(used, self.diagnostics.len().saturating_sub(before)))
                    }
                    pattern => line::body(&lower, word.word, word_span, pattern, rest),
                };
                Line {
                    word: Name {
                        text: word.word.to_owned(),
                        span: word_span,
                    },
                    body: body.unwrap_or_else(|slip| {
                        finding = Some(slip);
                        Body::Broken
                    }),
                    source,
                    span: span.to(last),
                }
            }
            None => match line::piece(self.file, span, kind, &content) {
                Ok((word, weighing)) => Line {
                    word,
                    body: Body::Weighing(weighing),
                    source,
                    span,
                },
                Err((word, slip)) => {
                    finding = Some(*slip);
                    Line {
                        word,
                        body: Body::Broken,
                        source,
                        span,
                    }
                }
            },
        };
        self.diagnostics.extend(finding);
        line
    }

    /// A line that a comma at the end of the one above has drawn in.
    fn note_joined(&mut self, kind: Kind, raw: &RawLine) {
        for joined in &raw.joined {
            if let Some((word, taken)) = words::find(kind, self.slice(*joined)) {
                let start = joined.first_byte();
                self.diagnostics.push(
                    Diagnostic::error(
                        code::SWALLOWED_LINE,
                        Span::new(self.file, start, start.saturating_add(taken)),
                        format!(
                            "`{}` opens no line here: the line above ends in a comma and goes on",
                            word.word
                        ),
                    )
                    .help("take the comma away from the end of the line above"),
                );
            }
        }
    }

    /// A line that goes on in one that looks like a line of its own.
    fn note_swallowed(&mut self, kind: Kind, raw: &RawLine) {
        for child in &raw.children {
            let text = self.slice(child.span);
            if kind == Kind::Formula && explain::holds_an_ingredient(text) {
                self.diagnostics.push(
                    Diagnostic::warning(
                        code::SWALLOWED_LINE,
                        child.span,
                        "this looks like an ingredient, and is read as more of the line above",
                    )
                    .related(raw.span, "it is read as more of this line")
                    .help("ingredients stand under `take`; if it does go on, break the words elsewhere"),
                );
                continue;
            }
            if let Some((word, taken)) = words::find(kind, text) {
                let start = child.span.first_byte();
                self.diagnostics.push(
                    Diagnostic::warning(
                        code::SWALLOWED_LINE,
                        Span::new(self.file, start, start.saturating_add(taken)),
                        format!(
                            "`{}` opens no line here: this line goes on with the one above it",
                            word.word
                        ),
                    )
                    .label("indented further than the line above")
                    .related(raw.span, "it is read as more of this line")
                    .help(
                        "indent it as far as the line above; or, if it does go on, break the words elsewhere",
                    ),
                );
            }
        }
    }

    fn take(
        &mut self,
        lower: &Lower,
        rest: &str,
        source: Option<&Name>,
        raw: &RawLine,
    ) -> Vec<tree::Ingredient> {
        let mut taken = Vec::with_capacity(raw.children.len());
        if !rest.trim().is_empty() {
            match ingredient::taken(lower, rest) {
                Ok(mut ingredient) => {
                    ingredient.source = source.cloned();
                    taken.push(ingredient);
                }
                Err(slip) => self.diagnostics.push(slip),
            }
        }
        for child in flat(&raw.children) {
            let text = layout::run_on(self.text, child, self.comments);
            let (content, source) = line::split_source(self.file, child.first_byte(), &text);
            match ingredient::taken(&Lower::new(self.file, child.first_byte()), content) {
                Ok(mut ingredient) => {
                    ingredient.source = source;
                    taken.push(ingredient);
                }
                Err(slip) => self.diagnostics.push(slip),
            }
        }
        taken
    }

    fn used(&mut self, lower: &Lower, rest: &str, raw: &RawLine) -> Vec<tree::UsedLine> {
        let mut used = Vec::with_capacity(raw.children.len());
        let mut push = |read: Result<tree::UsedLine, Diagnostic>| match read {
            Ok(line) => used.push(line),
            Err(slip) => self.diagnostics.push(slip),
        };
        if !rest.trim().is_empty() {
            push(ingredient::used(lower, rest));
        }
        for child in flat(&raw.children) {
            let text = layout::run_on(self.text, child, self.comments);
            push(ingredient::used(
                &Lower::new(self.file, child.first_byte()),
                &text,
            ));
        }
        used
    }
}

/// The spans of a list's items; how far they are indented makes no difference.
fn flat(children: &[RawLine]) -> impl Iterator<Item = Span> {
    children.iter().map(|child| child.span)
}
