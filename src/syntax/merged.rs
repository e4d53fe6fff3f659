//! Turns the comments that a merge leaves into findings, until a person takes them out.

use super::tree::Tree;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::source::Span;

/// The comment above a formula that two people changed.
pub const LOOK: &str = "# merged: two people changed this formula; look at it before you use it";

/// The comment at the head of a file that was merged line by line.
pub const LOOK_AT_ALL: &str =
    "# merged line by line, because it could not be read entry by entry; look at all of it before you use it";

/// A finding for each comment of a merge that still stands in a text.
pub fn not_looked_at(text: &str, tree: &Tree) -> Vec<Diagnostic> {
    let said = |span: &Span| {
        let comment = text.get(span.first_byte()..span.end_byte())?.trim();
        match comment {
            LOOK => Some("this formula was put together by a merge: it is one that neither person wrote"),
            LOOK_AT_ALL => Some("this file was put together line by line by a merge"),
            _ => None,
        }
    };
    tree.comments
        .iter()
        .filter_map(|span| {
            let message = said(span)?;
            Some(
                Diagnostic::warning(code::MERGED_AND_NOT_LOOKED_AT, *span, message).help(
                    "each change may be right by itself and both together not: look at it, then take this comment out",
                ),
            )
        })
        .collect()
}
