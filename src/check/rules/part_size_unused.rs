//! Reports the size of a part where nothing is taken in parts.

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Formula, Portion, TakenAmount};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for at in &scope.looked_at {
        // An adaptation may size the parts of the formula that it adapts.
        let (Some(own), Some(composition)) = (scope.ledger.formulas.get(*at), scope.figures.of(*at)) else {
            continue;
        };
        let Some(part) = own.one_part else { continue };
        if !takes_parts(&composition.formula) {
            report.push(
                Diagnostic::warning(
                    code::PART_SIZE_UNUSED,
                    part.span.unwrap_or(own.name.span),
                    format!("nothing in {} is taken in parts, so this changes nothing", own.name.text),
                )
                .help("write `parts` behind the amounts that are meant as parts, or take this line out"),
            );
        }
    }
}

fn takes_parts(formula: &Formula) -> bool {
    formula.taken.iter().any(|taken| {
        matches!(
            taken.amount,
            Some(
                TakenAmount::Portion(Portion::Parts(_))
                    | TakenAmount::About(Portion::Parts(_))
                    | TakenAmount::EnoughTo(Portion::Parts(_))
            )
        )
    })
}
