//! Hints where a formula leans the way that the person it is for leans already, by tradition.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::{against_nature, natures};
use crate::diagnostic::Diagnostic;
use crate::quantity::print;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        let Some(person) = scope.person_of(&composition.formula) else { continue };
        let Ok(natures) = natures(scope.ledger, scope.figures, composition) else { continue };
        for (own, more, share) in against_nature(person, &natures) {
            report.push(
                Diagnostic::notice(
                    code::AGAINST_THE_NATURE,
                    composition.formula.name.span,
                    format!(
                        "by tradition {} % of {} is {more}, and this person is {own} already",
                        print::short(share, 0),
                        composition.formula.name.text
                    ),
                )
                .help("traditional knowledge, no measured figure: weigh it as such"),
            );
        }
    }
}
