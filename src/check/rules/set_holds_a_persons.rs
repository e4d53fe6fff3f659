//! Reports a set that holds a formula made for one person: a set is handed out.

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for set in &scope.ledger.sets {
        for (name, formula) in &set.holds {
            let own = formula.and_then(|at| scope.ledger.formulas.get(at));
            let Some((code, _)) = own.and_then(|formula| formula.person.as_ref()) else {
                continue;
            };
            report.push(
                Diagnostic::warning(
                    code::SET_HOLDS_A_PERSONS,
                    name.span,
                    format!("`{}` is made for one person, and a set is handed out; `publish` leaves it out", name.text),
                )
                .related(code.span, "it is made for this person")
                .help("hold the formula that it was adapted from, which is for anyone"),
            );
        }
    }
}
