//! Offers the names that a ledger has: herbs by any of their names, formulas, sources, people, lots.

use super::{Offers, Sort, Typed};
use crate::code;
use crate::editor::mentions;
use crate::editor::rename::written;
use crate::model::Bound;
use crate::naming::folded;
use crate::syntax::tree::{Body, Kind, Name};

/// What follows the word that opens an entry.
pub fn head(offers: &mut Offers<'_, '_>, kind: Kind, typed: Typed<'_>) {
    match kind {
        Kind::Batch | Kind::Supply => formulas(offers, typed, |name| format!("{name} on ")),
        Kind::Lot => {
            if let Some(at) = typed.words.find(" of ") {
                substances(
                    offers,
                    typed.from(at.saturating_add(" of ".len())).trimmed(),
                    &|name| name.to_owned(),
                );
            }
        }
        Kind::Herb | Kind::Material => undeclared(offers, typed),
        _ => {}
    }
}

/// Names that are used and declared nowhere: what one is likely to declare next.
fn undeclared(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    let snapshot = offers.here.snapshot;
    for finding in snapshot
        .diagnostics
        .iter()
        .filter(|one| one.code == code::UNKNOWN_NAME)
    {
        let name = snapshot.sources.words(finding.span);
        offers.put(
            typed,
            Sort::Substance,
            &name,
            Some("used, and declared nowhere yet".to_owned()),
        );
    }
}

/// Herbs and materials by each of their names, then formulas.
pub fn taken(offers: &mut Offers<'_, '_>, typed: Typed<'_>, write: &dyn Fn(&str) -> String) {
    substances(offers, typed, write);
    formulas(offers, typed, write);
}

/// Herbs and materials, by each of their names; those whose name begins with what is typed first.
pub fn substances(offers: &mut Offers<'_, '_>, typed: Typed<'_>, write: &dyn Fn(&str) -> String) {
    let snapshot = offers.here.snapshot;
    let mut known: Vec<(String, Option<String>, bool)> = Vec::new();
    for substance in &snapshot.ledger.substances {
        known.push((substance.name.clone(), substance.latin.clone(), false));
    }
    for tree in &snapshot.trees {
        let substances = tree
            .entries
            .iter()
            .filter(|entry| matches!(entry.kind, Kind::Herb | Kind::Material));
        for entry in substances {
            let also = entry.lines.iter().filter(|line| line.word.text == "also");
            for name in also.flat_map(|line| match &line.body {
                Body::Names(names) => names.as_slice(),
                _ => &[],
            }) {
                if let crate::model::Looked::Found(Bound::Substance(at)) =
                    snapshot.ledger.names.look(&name.text)
                    && let Some(substance) = snapshot.ledger.substances.get(at)
                {
                    known.push((name.text.clone(), Some(format!("is {}", substance.name)), true));
                }
            }
        }
    }
    let wanted = folded(typed.words.trim_start_matches('"'));
    // The name that the entry has comes before others that it has also, so that a ledger stays of one mind.
    known.sort_by_cached_key(|(name, _, is_other)| {
        let name = folded(name);
        (!name.starts_with(&wanted), *is_other, name)
    });
    for (name, detail, _) in known {
        let text = write(&written(mentions::Sort::Taken, &name));
        offers.put_as(typed, Sort::Substance, &name, &text, detail);
    }
}

/// Formulas, but for the one that is being written.
pub fn formulas(offers: &mut Offers<'_, '_>, typed: Typed<'_>, write: impl Fn(&str) -> String) {
    let snapshot = offers.here.snapshot;
    let own = offers.here.formula();
    let wanted = folded(typed.words);
    let mut all: Vec<_> = snapshot
        .ledger
        .formulas
        .iter()
        .enumerate()
        .filter(|(at, formula)| Some(*at) != own && super::may_become(typed.words, &formula.name.text))
        .map(|(_, formula)| (formula.name.text.as_str(), formula.purpose.clone()))
        .collect();
    all.sort_by_cached_key(|(name, _)| {
        let name = folded(name);
        (!name.starts_with(&wanted), name)
    });
    for (name, purpose) in all.into_iter().take(super::MOST) {
        let text = write(&written(mentions::Sort::Taken, name));
        offers.put_as(
            typed,
            Sort::Formula,
            name,
            &text,
            purpose.or(Some("formula".to_owned())),
        );
    }
}

/// Sources, where a line's source is being typed: after two blanks and `source`. Whether it is.
pub fn cited(offers: &mut Offers<'_, '_>, typed: Typed<'_>) -> bool {
    let Some(at) = typed.words.rfind("source ") else {
        return false;
    };
    let before = typed.words.get(..at).unwrap_or_default();
    if !(before.ends_with("  ") || before.ends_with('\t')) {
        return false;
    }
    sources(offers, typed.from(at.saturating_add("source ".len())).trimmed());
    true
}

/// Sources.
pub fn sources(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    for book in offers.here.snapshot.ledger.books.iter() {
        let detail = if book.from_memory {
            format!("{} (from memory)", book.citation)
        } else {
            book.citation.clone()
        };
        offers.put(typed, Sort::Source, &book.name.text, Some(detail));
    }
}

/// People, by their case codes.
pub fn people(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    for person in offers.here.snapshot.ledger.people.iter() {
        if let Some(code) = &person.code {
            offers.put(typed, Sort::Person, code, Some(person.described()));
        }
    }
}

/// Deliveries of what a line names.
pub fn lots(offers: &mut Offers<'_, '_>, typed: Typed<'_>, of: Option<Bound>) {
    let ledger = &offers.here.snapshot.ledger;
    for lot in &ledger.lots {
        if of.is_none_or(|wanted| lot.what == wanted) {
            offers.put(
                typed,
                Sort::Person,
                &lot.id.text,
                Some(format!("of {}", lot.name.text)),
            );
        }
    }
}

/// The roles that the ledger's own formulas give.
pub fn roles(offers: &mut Offers<'_, '_>, typed: Typed<'_>, write: impl Fn(&str) -> String) {
    let mut known: Vec<String> = Vec::new();
    let formulas = &offers.here.snapshot.ledger.formulas;
    for role in formulas
        .iter()
        .flat_map(|one| &one.taken)
        .filter_map(|taken| taken.role.as_ref())
    {
        if !known.contains(role) {
            known.push(role.clone());
        }
    }
    // What the language's own page shows, for a ledger that has none yet.
    for role in ["base", "aroma"] {
        if !known.iter().any(|own| own == role) {
            known.push(role.to_owned());
        }
    }
    for role in known {
        offers.put_as(typed, Sort::Role, &role, &write(&role), Some("role".to_owned()));
    }
}

/// What names of one line word say elsewhere in the ledger, the commonest first.
pub fn said_elsewhere(offers: &mut Offers<'_, '_>, kind: Kind, word: &str, typed: Typed<'_>) {
    let mut known: Vec<(String, usize)> = Vec::new();
    let alike = |of: Kind| {
        of == kind
            || matches!(
                (of, kind),
                (Kind::Herb, Kind::Material) | (Kind::Material, Kind::Herb)
            )
    };
    for tree in &offers.here.snapshot.trees {
        for line in tree
            .entries
            .iter()
            .filter(|entry| alike(entry.kind))
            .flat_map(|entry| &entry.lines)
        {
            let said: &[Name] = match &line.body {
                Body::Names(names) => names,
                Body::Words(words) => std::slice::from_ref(words),
                _ => &[],
            };
            for name in said
                .iter()
                .filter(|name| line.word.text == word && !offers.here.is_in(name.span))
            {
                match known.iter_mut().find(|(known, _)| *known == name.text) {
                    Some((_, count)) => *count = count.saturating_add(1),
                    None => known.push((name.text.clone(), 1)),
                }
            }
        }
    }
    known.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    for (name, _) in known.into_iter().take(super::MOST) {
        offers.put(typed, Sort::Value, &name, None::<String>);
    }
}
