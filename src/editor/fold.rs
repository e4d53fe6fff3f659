//! Turns a file into the places that may be folded away: entries, lists, comments on lines of their own.

use super::amounts::line_start;
use super::tree;
use crate::source::{FileId, Span};
use crate::syntax::tree::Body;
use crate::workspace::Snapshot;

/// Something that may be folded away below its first line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fold {
    /// From its first letter to its last.
    pub span: Span,
    /// Whether it is a comment.
    pub is_comment: bool,
}

/// The places of a file that may be folded.
pub fn folds(snapshot: &Snapshot, file: FileId) -> Vec<Fold> {
    let (Some(source), Some(tree)) = (snapshot.sources.get(file), tree(snapshot, file)) else {
        return Vec::new();
    };
    let several = |span: Span| source.slice(span).trim_end().contains(['\n', '\r']);
    let mut found: Vec<Fold> = Vec::new();
    let mut put = |span: Span, is_comment: bool| {
        if several(span) {
            found.push(Fold { span, is_comment });
        }
    };
    for entry in &tree.entries {
        put(entry.span, false);
        for line in &entry.lines {
            if matches!(line.body, Body::Take(..) | Body::Used(..)) {
                put(line.span, false);
            }
        }
    }
    // Comments one below the other, with nothing else in their lines.
    let own_line = |span: Span| {
        let start = line_start(&source.text, span.first_byte());
        let lead = source.text.get(start..span.first_byte());
        lead.is_some_and(|lead| lead.trim().is_empty())
    };
    let mut run: Option<Span> = None;
    for comment in tree.comments.iter().copied().filter(|comment| own_line(*comment)) {
        run = Some(match run {
            Some(before) if is_next_line(&source.text, before, comment) => before.to(comment),
            Some(before) => {
                put(before, true);
                comment
            }
            None => comment,
        });
    }
    if let Some(last) = run {
        put(last, true);
    }
    found
}

/// Whether only one line end and blanks lie between two places.
fn is_next_line(text: &str, before: Span, after: Span) -> bool {
    text.get(before.end_byte()..after.first_byte())
        .is_some_and(|gap| gap.trim().is_empty() && gap.matches('\n').count() == 1)
}
