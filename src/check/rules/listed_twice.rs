//! Reports an ingredient that stands on two lines of one formula.

use crate::code;
use crate::check::Scope;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Taken};
use crate::naming::{folded, same_but_for_number};

fn same_name(a: &Taken, b: &Taken) -> bool {
    same_but_for_number(&folded(&a.name.text), &folded(&b.name.text))
}

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for formula in &scope.ledger.formulas {
        for (at, taken) in formula.taken.iter().enumerate() {
            let earlier = formula
                .taken
                .iter()
                .take(at)
                .find(|other| other.what == taken.what && taken.what != Bound::Unknown && same_name(other, taken));
            if let Some(first) = earlier.filter(|first| first.amount.is_some() && taken.amount.is_some()) {
                report.push(finding(first, taken));
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
