//! Reports acceptances without a reason, and those that no caution of the formula calls for.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::{is_of_family, same_topic, substances_of};
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Looked};
use crate::naming::{folded, nearest};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        let formula = &composition.formula;
        let places = substances_of(scope.ledger, scope.figures, composition);
        let mut topics: Vec<&str> = places
            .iter()
            .copied()
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
            let kin = by_kinship(scope, &places, &topic.text);
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

/// An allergy to a herb or its plant family is accepted where it is in the formula, warned of or not.
fn by_kinship(scope: &Scope<'_>, places: &[usize], topic: &str) -> bool {
    let topic = folded(topic);
    let Some(allergy) = topic.strip_prefix("allergy ") else {
        return false;
    };
    let itself = match scope.ledger.names.look(allergy) {
        Looked::Found(Bound::Substance(at)) => places.contains(&at),
        _ => false,
    };
    itself
        || places
            .iter()
            .filter_map(|place| scope.ledger.substances.get(*place)?.family.as_ref())
            .any(|family| is_of_family(scope.ledger, family, allergy))
}
