//! Turns a name under the cursor into where it is declared and where else it stands.

use super::Here;
use super::mentions::{self, Meanings, Mention, Thing};
use crate::source::Span;
use crate::workspace::Snapshot;

/// A place where something is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Found {
    /// The name.
    pub span: Span,
    /// Whether it gets that name there.
    pub declares: bool,
}

/// What the name under the cursor means, with the name; the narrowest where names lie in one another.
pub(super) fn mention<'a>(here: &Here<'a>, meanings: &Meanings<'_>) -> Option<(Mention<'a>, Thing)> {
    let entry = here.entry()?;
    mentions::of_entry(here.text(), entry)
        .into_iter()
        .filter(|mention| here.is_in(mention.name.span))
        .filter_map(|mention| {
            let thing = meanings.meant(&mention)?;
            Some((mention, thing))
        })
        .min_by_key(|(mention, _)| mention.name.span.length())
}

/// Where what is named under the cursor is declared, and the name under the cursor.
pub fn definition(here: &Here<'_>) -> Option<(Span, Span)> {
    let meanings = Meanings::of(&here.snapshot.ledger);
    let (mention, thing) = mention(here, &meanings)?;
    Some((mention.name.span, meanings.declared(thing)?))
}

/// Every place in the ledger that names what is named under the cursor, in the order of files.
pub fn references(here: &Here<'_>) -> Vec<Found> {
    let meanings = Meanings::of(&here.snapshot.ledger);
    let Some((_, thing)) = mention(here, &meanings) else {
        return Vec::new();
    };
    all_of(here.snapshot, &meanings, thing)
        .into_iter()
        .map(|mention| Found {
            span: mention.name.span,
            declares: mention.declares,
        })
        .collect()
}

/// Every mention of a thing in a ledger.
pub(super) fn all_of<'a>(snapshot: &'a Snapshot, meanings: &Meanings<'_>, thing: Thing) -> Vec<Mention<'a>> {
    let mut found: Vec<Mention<'a>> = Vec::new();
    for tree in &snapshot.trees {
        let Some(source) = snapshot.sources.get(tree.file) else {
            continue;
        };
        for entry in &tree.entries {
            let all = mentions::of_entry(&source.text, entry);
            found.extend(all.into_iter().filter(|one| meanings.meant(one) == Some(thing)));
        }
    }
    found.sort_by_key(|mention| (snapshot.sources.path(mention.name.span), mention.name.span));
    found
}

/// The places in this file that name what is named under the cursor.
pub fn highlights(here: &Here<'_>) -> Vec<Found> {
    let meanings = Meanings::of(&here.snapshot.ledger);
    let (Some((_, thing)), Some(tree)) = (mention(here, &meanings), here.tree()) else {
        return Vec::new();
    };
    let mut found: Vec<Found> = tree
        .entries
        .iter()
        .flat_map(|entry| mentions::of_entry(here.text(), entry))
        .filter(|mention| meanings.meant(mention) == Some(thing))
        .map(|mention| Found {
            span: mention.name.span,
            declares: mention.declares,
        })
        .collect();
    found.sort_by_key(|one| one.span);
    found
}
