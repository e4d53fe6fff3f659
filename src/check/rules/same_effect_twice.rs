//! Reports herbs of one formula that act the same way, so that their effects add up.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::shared_effects;
use crate::diagnostic::Diagnostic;
use crate::syntax::tree::Kind;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        for (effect, herbs) in shared_effects(scope.ledger, scope.figures, composition) {
            let names: Vec<&str> = herbs.iter().map(|place| scope.herb(*place)).collect();
            let spans: Vec<_> = herbs.iter().map(|herb| scope.line_of(composition, *herb)).collect();
            let place = composition
                .lines
                .iter()
                .map(|line| line.taken.name.span)
                .find(|span| spans.contains(span))
                .unwrap_or(composition.formula.head);
            let all_herbs = herbs
                .iter()
                .all(|place| scope.ledger.substances.get(*place).is_some_and(|one| one.kind == Kind::Herb));
            let what = if all_herbs { "herbs" } else { "things in it" };
            report.push(
                Diagnostic::notice(
                    code::SAME_EFFECT_TWICE,
                    place,
                    format!("{}: {} {what} add up, each {effect}: {}", composition.formula.name.text, names.len(), names.join(", ")),
                )
                .help("count them together when you ask what else the person takes"),
            );
        }
    }
}
