//! Reports acceptances without a reason, those that no caution calls for, and those that an adaptation doesn't take over.

use crate::check::Scope;
use crate::code;
use crate::compute::Composition;
use crate::compute::accept::is_in_entry;
use crate::compute::caution::{Bearing, assess, is_of_family, same_topic, substances_of, topic};
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Level, Looked};
use crate::naming::{folded, nearest};
use crate::source::Span;
use crate::syntax::tree::Name;

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
            let has_object = by_kinship(scope, &places, &topic.text)
                || topics.iter().any(|own| same_topic(scope.ledger, own, &topic.text));
            // What is taken over from an adapted formula is looked at there; here only whether it still has an object.
            if !is_in_entry(formula, topic.span) {
                let has_reason = reason.as_ref().is_some_and(|reason| !reason.trim().is_empty());
                if !has_object && has_reason {
                    report.push(without_object(composition, topic));
                }
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
            if has_object {
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
        not_taken_over(scope, composition, report);
    }
}

/// What the adapted formula accepts and of which nothing is left in the adaptation.
fn without_object(composition: &Composition, topic: &Name) -> Diagnostic {
    let formula = &composition.formula;
    Diagnostic::notice(
        code::NOTHING_TO_ACCEPT,
        formula.adapts.as_ref().map_or(formula.head, |adapts| adapts.name.span),
        format!(
            "{} has no herb left with a caution about `{}`, so what the formula that it adapts accepts there falls away",
            formula.name.text, topic.text
        ),
    )
    .related(topic.span, "accepted here")
    .help("nothing need be done; a herb with this caution that comes in later needs a reason of its own")
}

/// What the adapted formula accepts, where that doesn't hold in the adaptation and no error says so already.
fn not_taken_over(scope: &Scope<'_>, composition: &Composition, report: &mut Vec<Diagnostic>) {
    let formula = &composition.formula;
    let person = scope.person_of(formula);
    let mut said: Vec<Span> = Vec::new();
    for one in assess(scope.ledger, scope.figures, composition, person) {
        let Some(lapsed) = &one.lapsed else { continue };
        let known = topic(scope.ledger, &one.topic).is_some();
        let is_reported = match one.bearing {
            Bearing::ThisPerson(_) => true,
            Bearing::Everyone => one.level == Level::Avoid && known,
            Bearing::NotKnown | Bearing::Others => false,
        };
        if is_reported || said.contains(&lapsed.span) {
            continue;
        }
        said.push(lapsed.span);
        let herb = scope.herb(one.substance);
        let (word, name) = (one.level.word(), &formula.name.text);
        let message = if lapsed.of_a_new_herb {
            format!(
                "{} accepts `{}`, but without {herb} in it: for {herb} that doesn't hold in {name}",
                lapsed.formula, lapsed.topic
            )
        } else {
            format!(
                "{} accepts `{}`, which {herb} is to `{word}`: that doesn't hold in {name}, which adapts it",
                lapsed.formula, lapsed.topic
            )
        };
        report.push(
            Diagnostic::notice(
                code::ACCEPTANCE_NOT_TAKEN_OVER,
                formula.adapts.as_ref().map_or(formula.head, |adapts| adapts.name.span),
                message,
            )
            .related(lapsed.span, "accepted here, for that formula")
            .help(format!(
                "weigh it up anew; if it holds here as well, write it into {name}: `accept   {}: …`, with the reason",
                lapsed.topic
            )),
        );
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
