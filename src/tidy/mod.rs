//! Turns the text of a file into the same text in the one way of writing.
//!
//! The words that are the writer's own stay letter by letter; blanks, columns, fractions, ranges
//! and the spelling of measures become alike. Every line is set by itself, so that a change in
//! one line moves no other; only the sources at the ends of an entry's lines share a column.

mod measure;
mod page;
mod row;
mod same;
mod words;

use crate::diagnostic::{Diagnostic, Severity};
use crate::source::FileId;
use crate::syntax;

/// A text in the one way of writing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tidied {
    /// The whole text.
    pub text: String,
    /// Its lines without their ends.
    pub lines: Vec<TidyLine>,
}

/// A line of a tidied text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TidyLine {
    /// Which line of the written text it was, counted from zero; nothing for a blank line that is new.
    pub from: Option<usize>,
    /// The line without its end.
    pub text: String,
}

/// Why a text is left as it is.
#[derive(Debug, Clone)]
pub enum Untidied {
    /// It holds errors of form: what is not understood can't be written in another way.
    Slips(Vec<Diagnostic>),
    /// The tidied text would be read otherwise than the written one.
    WouldSayElse,
}

/// Writes a text in the one way.
///
/// The result is read again before it is given: it says the same, and holds every comment.
///
/// # Errors
/// Why the text must stay as it is.
pub fn text(file: FileId, written: &str) -> Result<Tidied, Untidied> {
    let (tree, found) = syntax::parse(file, written);
    let slips: Vec<Diagnostic> = found
        .into_iter()
        .filter(|one| one.severity == Severity::Error)
        .collect();
    if !slips.is_empty() {
        return Err(Untidied::Slips(slips));
    }
    let tidied = page::set(file, written, &tree);
    let (again, found) = syntax::parse(file, &tidied.text);
    let is_sound = found.iter().all(|one| one.severity != Severity::Error);
    if is_sound && same::says_the_same(written, &tree, &tidied.text, &again) {
        Ok(tidied)
    } else {
        Err(Untidied::WouldSayElse)
    }
}
