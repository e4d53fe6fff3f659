//! Reports herbs of one formula that act the same way, so that their effects add up.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::shared_effects;
use crate::diagnostic::Diagnostic;
use crate::model::Bound;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        for (effect, herbs) in shared_effects(scope.ledger, scope.figures, composition) {
            let names: Vec<&str> = herbs.iter().map(|place| scope.herb(*place)).collect();
            let place = composition
                .lines
                .iter()
                .find(|line| herbs.iter().any(|herb| line.taken.what == Bound::Substance(*herb)))
                .map_or(composition.formula.head, |line| line.taken.name.span);
            report.push(
                Diagnostic::notice(
                    code::SAME_EFFECT_TWICE,
                    place,
                    format!("{}: {} herbs add up, each {effect}: {}", composition.formula.name.text, names.len(), names.join(", ")),
                )
                .help("count them together when you ask what else the person takes"),
            );
        }
    }
}
