//! Reports what holds alcohol where no entry of the ledger says what that asks for.

use crate::check::{Scope, here};
use crate::code;
use crate::compute::within::within;
use crate::diagnostic::Diagnostic;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.readable() {
        let composition = composition.as_ref();
        for one in within(scope.ledger, scope.figures, composition).unsaid {
            // What an adapted formula pours on stands in that one's entry.
            let span = here(&composition.formula, one.span);
            let name = &composition.formula.name.text;
            let said = format!("{} in {name} holds alcohol, and no entry says what that asks for", one.name);
            let finding = match scope.person_of(&composition.formula) {
                // Whether it is right for them can't be told.
                Some(_) => Diagnostic::warning(code::ALCOHOL_WITHOUT_CAUTIONS, span, said),
                None => Diagnostic::notice(code::ALCOHOL_WITHOUT_CAUTIONS, span, said),
            };
            let finding = match one.substance.and_then(|at| scope.ledger.substances.get(at)?.span) {
                Some(entry) => finding.related(entry, "declared here"),
                None => finding,
            };
            report.push(finding.help(
                "a child, a pregnancy, a liver may ask for none of it: write below `material spirit` what you know, such as `consult   pregnancy`, `consult   age under 18`, `avoid   alcohol dependence`",
            ));
        }
    }
}
