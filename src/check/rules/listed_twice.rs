//! Reports an ingredient that stands on two lines of one formula.

use crate::code;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

use crate::check::Scope;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Taken};
use crate::naming::{folded, singulars};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for formula in scope.written() {
        // The first line of each thing by each of its names; plurals count as one name.
        let mut first: HashMap<(Bound, String), &Taken> = HashMap::new();
        for taken in formula.taken.iter().filter(|taken| taken.what != Bound::Unknown) {
            let name = singulars(&folded(&taken.name.text)).pop().unwrap_or_default();
            match first.entry((taken.what, name)) {
                Entry::Vacant(place) => {
                    place.insert(taken);
                }
                Entry::Occupied(earlier) => {
                    if earlier.get().amount.is_some() && taken.amount.is_some() {
                        report.push(finding(earlier.get(), taken));
                    }
                }
            }
        }
    }
}

fn finding(first: &Taken, again: &Taken) -> Diagnostic {
    let name = &again.name.text;
    if first.processing != again.processing || first.strength != again.strength {
        return Diagnostic::notice(
            code::LISTED_TWICE,
            again.name.span,
            format!("`{name}` stands on two lines that are processed differently; the two are added"),
        )
        .related(first.name.span, "it stands here first");
    }
    if first.amount == again.amount {
        return Diagnostic::warning(
            code::SAME_LINE_TWICE,
            again.name.span,
            format!("`{name}` stands here a second time with the same amount"),
        )
        .related(first.name.span, "it stands here first")
        .help("take one of the two lines out; as it stands, both are added");
    }
    Diagnostic::warning(
        code::LISTED_TWICE,
        again.name.span,
        format!("`{name}` stands here a second time with another amount"),
    )
    .related(first.name.span, "it stands here first")
    .help("the two are added; keep one line, or say after a comma how each is processed")
}
