//! Turns two texts and their trees into whether they say the same.

use super::measure;
use crate::source::{FileId, Span};
use crate::syntax;
use crate::syntax::tree::{Body, Entry, Tree};
use crate::syntax::walk::{self, Piece};

/// Whether two texts hold the same entries, the places and the spellings of measures aside, and
/// the same comments in the same order.
pub fn says_the_same(one: &str, one_tree: &Tree, other: &str, other_tree: &Tree) -> bool {
    one_tree.entries.len() == other_tree.entries.len()
        && one_tree
            .entries
            .iter()
            .zip(&other_tree.entries)
            .all(|(mine, theirs)| bare(one, one_tree, mine) == bare(other, other_tree, theirs))
        && comments(one, one_tree).eq(comments(other, other_tree))
}

/// The comments, without the blanks behind them.
fn comments<'a>(text: &'a str, tree: &'a Tree) -> impl Iterator<Item = &'a str> {
    tree.comments.iter().map(|span| super::page::comment(text, *span))
}

/// An entry without places, each measure by its meaning.
fn bare(text: &str, tree: &Tree, entry: &Entry) -> Entry {
    let mut entry = entry.clone();
    // An amount in the free words of a dose has been read already; its spelling may change.
    for line in &mut entry.lines {
        let Body::Dose(dose) = &mut line.body else {
            continue;
        };
        let Some(vehicle) = dose.vehicle.as_ref().map(|amount| amount.span) else {
            continue;
        };
        let written = syntax::said(text, vehicle, &tree.comments);
        for clause in &mut dose.clauses {
            if clause.span.start <= vehicle.start && vehicle.end <= clause.span.end {
                clause.text = clause.text.replacen(&written, "\u{0}", 1);
            }
        }
    }
    let nowhere = nowhere(tree.file);
    walk::entry(&mut entry, &mut |piece| match piece {
        Piece::Measure(name, _) => {
            name.text = measure::meaning(&name.text);
            name.span = nowhere;
        }
        Piece::Opens(span)
        | Piece::Own(span)
        | Piece::Source(span)
        | Piece::Amount(span)
        | Piece::Whole(span) => *span = nowhere,
    });
    entry
}

fn nowhere(file: FileId) -> Span {
    Span::new(file, 0, 0)
}
