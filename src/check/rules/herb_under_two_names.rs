//! Reports a herb that one formula takes under two of its names.

use crate::code;
use crate::check::Scope;
use crate::diagnostic::Diagnostic;
use crate::model::Bound;
use crate::naming::{folded, same_but_for_number};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for formula in &scope.ledger.formulas {
        for (at, taken) in formula.taken.iter().enumerate() {
            let earlier = formula.taken.iter().take(at).find(|other| {
                other.what == taken.what
                    && taken.what != Bound::Unknown
                    && !same_but_for_number(&folded(&other.name.text), &folded(&taken.name.text))
            });
            if let Some(first) = earlier {
                report.push(
                    Diagnostic::warning(
                        code::HERB_UNDER_TWO_NAMES,
                        taken.name.span,
                        format!("`{}` is `{}` under another name", taken.name.text, first.name.text),
                    )
                    .related(first.name.span, "taken here already")
                    .help("the two amounts are added; write both lines with one name, or add them on one line"),
                );
            }
        }
    }
}
