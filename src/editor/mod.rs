//! Turns a ledger and a place in it into what one wants to know there while one types.
//!
//! Nothing here knows of an editor's protocol, of a disk or of a clock: a snapshot and a byte come
//! in, plain data goes out. Nothing here reckons either: figures come from where the commands have
//! them, so an editor says what the command line says.

pub mod actions;
mod adopting;
mod amounts;
pub mod complete;
mod context;
pub mod find;
pub mod fold;
pub mod hints;
pub mod hover;
pub mod lens;
pub mod links;
mod mentions;
mod parts;
pub mod rename;
mod same;
pub mod select;
pub mod symbols;
mod teach;
pub mod tidying;
pub mod tokens;

use std::sync::Arc;

use crate::source::{FileId, Span};
use crate::syntax::tree::{Entry, Line, Tree};
use crate::workspace::Snapshot;

pub use adopting::{Adopted, NotAdopted, adopted};

/// A place in a ledger at which something is asked.
#[derive(Clone, Copy)]
pub struct Here<'a> {
    /// The ledger.
    pub snapshot: &'a Snapshot,
    /// The file.
    pub file: FileId,
    /// The byte before which the cursor stands.
    pub at: usize,
}

impl<'a> Here<'a> {
    /// The text of the file.
    pub fn text(&self) -> &'a str {
        self.snapshot
            .sources
            .get(self.file)
            .map_or("", |source| &source.text)
    }

    /// The entries of the file.
    pub fn tree(&self) -> Option<&'a Tree> {
        tree(self.snapshot, self.file)
    }

    /// Whether the cursor stands in a span or at one of its ends.
    pub fn is_in(&self, span: Span) -> bool {
        span.file == self.file && span.first_byte() <= self.at && self.at <= span.end_byte()
    }

    /// The entry that it lies in.
    pub fn entry(&self) -> Option<&'a Entry> {
        self.tree()?.entries.iter().find(|entry| self.is_in(entry.span))
    }

    /// The line of the entry that it lies in.
    pub fn line(&self) -> Option<&'a Line> {
        self.entry()?.lines.iter().find(|line| self.is_in(line.span))
    }

    /// The entry that a line typed here would belong to: the one that it lies in, or stands below.
    pub fn entry_above(&self) -> Option<&'a Entry> {
        let entries = &self.tree()?.entries;
        entries.iter().rfind(|entry| entry.span.first_byte() <= self.at)
    }

    /// The formula of the ledger that it lies in or stands below, by its place there.
    pub fn formula(&self) -> Option<usize> {
        let head = self.entry_above()?.head;
        formula_at(self.snapshot, head)
    }
}

/// The entries of a file.
pub fn tree(snapshot: &Snapshot, file: FileId) -> Option<&Tree> {
    snapshot
        .trees
        .iter()
        .map(Arc::as_ref)
        .find(|tree| tree.file == file)
}

/// The formula whose first line this is, by its place in the ledger.
pub fn formula_at(snapshot: &Snapshot, head: Span) -> Option<usize> {
    snapshot
        .ledger
        .formulas
        .iter()
        .position(|formula| formula.head == head)
}

/// The formulas of a file with their places in the ledger.
pub(crate) fn formulas_of(
    snapshot: &Snapshot,
    file: FileId,
) -> impl Iterator<Item = (usize, &std::sync::Arc<crate::model::Formula>)> {
    snapshot
        .ledger
        .formulas
        .iter()
        .enumerate()
        .filter(move |(_, formula)| formula.head.file == file)
}
