//! The dispensary's book: an independent recount, the demo's three months, costs, and what can be asked.

mod asked;
mod demo;
mod money;
mod record;
mod recount;
mod revised;
mod schema;

use scruple::book::size::Reckoned;
use scruple::syntax::day::{self, Day};
use scruple::workspace::Snapshot;

/// A ledger of one text.
fn ledger(text: &str) -> Snapshot {
    Snapshot::of([("practice.scruple".to_owned(), text.into())])
}

/// A day as it is written.
fn on(words: &str) -> Day {
    day::read(words).unwrap()
}

/// What sizes and weighings are reckoned from.
fn reckoned(snapshot: &Snapshot) -> Reckoned<'_> {
    Reckoned {
        ledger: &snapshot.ledger,
        faults: &snapshot.faults,
        figures: &snapshot.figures,
    }
}

/// The codes of all findings, in the order of the text.
fn codes(snapshot: &Snapshot) -> Vec<&'static str> {
    snapshot.diagnostics.iter().map(|one| one.code.name()).collect()
}
