//! Reports acceptances without a reason, and those that no caution of the formula calls for.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::{same_topic, substances_of};
use crate::diagnostic::Diagnostic;
use crate::naming::nearest;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        let formula = &composition.formula;
        let mut topics: Vec<&str> = substances_of(scope.ledger, scope.figures, composition)
            .into_iter()
            .filter_map(|place| scope.ledger.substances.get(place))
            .flat_map(|substance| &substance.cautions)
            .map(|caution| caution.topic.text.as_str())
            .collect();
        topics.sort_unstable();
        topics.dedup();
        for (topic, reason) in &formula.accepts {
            // What is taken over from an adapted formula is looked at there.
            if !(formula.entry.start..=formula.entry.end).contains(&topic.span.start) || topic.span.file != formula.entry.file
            {
                continue;
            }
            if reason.as_ref().is_none_or(|reason| reason.trim().is_empty()) {
                report.push(
                    Diagnostic::warning(
                        code::ACCEPTED_WITHOUT_A_REASON,
                        topic.span,
                        format!("`{}` is accepted without a reason", topic.text),
                    )
                    .help(format!("write it after a colon: `accept   {}: small amount, person told`", topic.text)),
                );
            }
            let kin = by_family(scope, formula, &topic.text);
            if kin || topics.iter().any(|own| same_topic(scope.ledger, own, &topic.text)) {
                continue;
            }
            let mut finding = Diagnostic::warning(
                code::NOTHING_TO_ACCEPT,
                topic.span,
                format!("no herb of {} has a caution about `{}`", formula.name.text, topic.text),
            );
            finding = match nearest(&topic.text, topics.iter().copied()) {
                Some(near) => finding
                    .help(format!("did you mean `{near}`?"))
                    .fix(format!("write `{near}`"), topic.span, near),
                None => finding.help("take the line out: it may hide a caution that comes later"),
            };
            report.push(finding);
        }
    }
}

/// An allergy to a plant family is accepted where a herb belongs to it, warned of or not.
fn by_family(scope: &Scope<'_>, formula: &crate::model::Formula, topic: &str) -> bool {
    let Some(family) = crate::naming::folded(topic).strip_prefix("allergy ").map(str::to_owned) else {
        return false;
    };
    formula.taken.iter().any(|taken| match taken.what {
        crate::model::Bound::Substance(at) => scope
            .ledger
            .substances
            .get(at)
            .and_then(|substance| substance.family.as_ref())
            .is_some_and(|own| crate::naming::folded(own) == family),
        _ => false,
    })
}
