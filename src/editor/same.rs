//! Holds what a change would make of a ledger against what the ledger says now.

use std::collections::HashMap;
use std::sync::Arc;

use super::mentions::{self, Meanings, Thing};
use crate::compute::Composition;
use crate::diagnostic::{Diagnostic, Edit, Severity};
use crate::model::Bound;
use crate::quantity::{Decimal, Spread, rounding};
use crate::workspace::Snapshot;

/// A text with some edits made; they must not overlap.
pub fn edited(text: &str, edits: &[&Edit]) -> String {
    let mut sorted = edits.to_vec();
    sorted.sort_by_key(|edit| (edit.span.start, edit.span.end));
    let mut out = String::with_capacity(text.len());
    let mut from = 0_usize;
    for edit in sorted {
        out.push_str(text.get(from..edit.span.first_byte()).unwrap_or_default());
        out.push_str(&edit.text);
        from = from.max(edit.span.end_byte());
    }
    out.push_str(text.get(from..).unwrap_or_default());
    out
}

/// The ledger as it would be with some edits made, read from nothing.
pub fn after(before: &Snapshot, edits: &[Edit]) -> Snapshot {
    let texts = before.trees.iter().filter_map(|tree| {
        let source = before.sources.get(tree.file)?;
        let own: Vec<&Edit> = edits.iter().filter(|edit| edit.span.file == tree.file).collect();
        let text = if own.is_empty() {
            Arc::clone(&source.text)
        } else {
            edited(&source.text, &own).into()
        };
        Some((source.path.to_string(), text))
    });
    Snapshot::of(texts.collect::<Vec<_>>())
}

/// Whether every name stands where it stood and means what it meant.
pub fn names_mean_the_same(before: &Snapshot, after: &Snapshot) -> bool {
    meanings(before) == meanings(after) && bindings(before) == bindings(after)
}

/// What the model itself has bound, number by number.
type Bindings = Vec<(Vec<Bound>, Vec<Option<usize>>)>;

/// What the ledger's entries are bound to. A name that is not written where it was looked for would show here.
fn bindings(snapshot: &Snapshot) -> Bindings {
    let ledger = &snapshot.ledger;
    let of_substances = ledger.substances.iter().map(|one| {
        let cautions = one.cautions.iter().map(|caution| caution.book);
        let doses = one
            .doses
            .iter()
            .map(|dose| dose.book)
            .chain(one.mosts.iter().map(|most| most.book));
        let weights = one.weights.iter().map(|weight| weight.book);
        let books = std::iter::once(one.made_of)
            .chain(cautions)
            .chain(doses)
            .chain(weights);
        (Vec::new(), books.collect())
    });
    let of_formulas = ledger.formulas.iter().map(|one| {
        let taken = one.taken.iter().map(|taken| taken.what);
        let without = one.without.iter().map(|(_, bound)| *bound);
        let adapts = one.adapts.as_ref().and_then(|adapts| adapts.formula);
        let person = one.person.as_ref().and_then(|(_, person)| *person);
        let books = one.books.iter().copied().map(Some);
        (
            taken.chain(without).collect(),
            [adapts, person].into_iter().chain(books).collect(),
        )
    });
    of_substances.chain(of_formulas).collect()
}

fn meanings(snapshot: &Snapshot) -> Vec<(bool, Option<Thing>)> {
    let known = Meanings::of(&snapshot.ledger);
    let mut found = Vec::new();
    for tree in &snapshot.trees {
        let text = snapshot.sources.get(tree.file).map_or("", |source| &source.text);
        for entry in &tree.entries {
            for mention in mentions::of_entry(text, entry) {
                found.push((mention.declares, known.meant(&mention)));
            }
        }
    }
    found
}

/// Whether every formula comes to what it came to.
pub fn figures_are_the_same(before: &Snapshot, after: &Snapshot) -> bool {
    let count = before.ledger.formulas.len();
    let agree = |at: usize| match (before.figures.of(at), after.figures.of(at)) {
        (None, None) => true,
        (Some(one), Some(other)) => figures(one) == figures(other),
        _ => false,
    };
    after.ledger.formulas.len() == count && (0..count).all(agree)
}

type Line = (Bound, [Option<Spread>; 2], Option<Decimal>);

/// What a formula comes to: each line's thing, weight and volume, its share; then the totals.
fn figures(composition: &Composition) -> (Vec<Line>, [Option<Spread>; 4]) {
    let settled = |spread: Option<Spread>| spread.map(|spread| spread.settled());
    let lines = composition
        .lines
        .iter()
        .map(|line| {
            (
                line.taken.what,
                [settled(line.amounts.grams), settled(line.amounts.millilitres)],
                line.share.map(rounding::settled),
            )
        })
        .collect();
    let totals = &composition.totals;
    (
        lines,
        [totals.grams, totals.millilitres, totals.volume, totals.finished].map(settled),
    )
}

/// A finding, graver than a notice, that was not there before.
pub fn new_finding<'a>(before: &Snapshot, after: &'a Snapshot) -> Option<&'a Diagnostic> {
    let mut known: HashMap<_, usize> = HashMap::new();
    for one in &before.diagnostics {
        let count = known.entry((one.code, one.severity)).or_default();
        *count = count.saturating_add(1);
    }
    after
        .diagnostics
        .iter()
        .filter(|one| one.severity > Severity::Notice)
        .find(|one| match known.get_mut(&(one.code, one.severity)) {
            Some(count) if *count > 0 => {
                *count = count.saturating_sub(1);
                false
            }
            _ => true,
        })
}
