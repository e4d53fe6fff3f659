//! Reports cautions whose free words speak of children or of how long something is taken, under a topic that doesn't.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::topic;
use crate::diagnostic::Diagnostic;
use crate::model::{AgeTopic, Caution, Portion, Substance};
use crate::naming::folded;

/// Words that speak of children.
const CHILDREN: [&str; 10] = [
    "child", "children", "infant", "infants", "baby", "babies", "toddler", "toddlers", "adolescent", "adolescents",
];

/// Words that speak of how long something is taken.
const LENGTHS: [&str; 9] = [
    "longer than",
    "no more than",
    "not more than",
    "at most",
    "for long",
    "long use",
    "long term",
    "prolonged",
    "weeks only",
];

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for substance in &scope.ledger.substances {
        for caution in &substance.cautions {
            let text = caution.text.as_deref().map(folded).unwrap_or_default();
            let said = |topic: &str, help: &str| {
                Diagnostic::warning(
                    code::CAUTION_BESIDE_ITS_TOPIC,
                    caution.span,
                    format!(
                        "this speaks of {topic} under `{}`, so it is kept from those whom it may concern",
                        caution.topic.text
                    ),
                )
                .help(help)
            };
            if speaks_of_children(&text) && !is_on_children(scope, caution) && !has_an_age(substance) {
                report.push(said(
                    "children",
                    "write it as a line of its own that says from which age on: `consult   age under 12`",
                ));
            }
            if speaks_of_length(&text) && !is_told_to_everyone(scope, caution) && !has_a_length(scope, substance) {
                report.push(said(
                    "how long it is taken",
                    "write it as a line of its own: `mind   duration: …`, or `most   14 days`, which is checked",
                ));
            }
        }
    }
}

fn speaks_of_children(text: &str) -> bool {
    text.split(|one: char| !one.is_alphanumeric())
        .any(|word| CHILDREN.contains(&word))
}

fn speaks_of_length(text: &str) -> bool {
    LENGTHS.iter().any(|words| text.contains(words))
        && (text.contains("day") || text.contains("week") || text.contains("month") || text.contains("use"))
}

/// The unborn child and the child at the breast have topics of their own.
fn is_on_children(scope: &Scope<'_>, caution: &Caution) -> bool {
    let name = &caution.topic.text;
    AgeTopic::read(name).is_some()
        || topic(scope.ledger, name).is_none_or(|topic| ["pregnancy", "lactation"].iter().any(|own| topic.is_called(own)))
}

fn has_an_age(substance: &Substance) -> bool {
    substance
        .cautions
        .iter()
        .any(|caution| AgeTopic::read(&caution.topic.text).is_some())
}

/// A topic that nobody has described is told to everyone as well.
fn is_told_to_everyone(scope: &Scope<'_>, caution: &Caution) -> bool {
    let name = &caution.topic.text;
    AgeTopic::read(name).is_none() && topic(scope.ledger, name).is_none_or(|topic| topic.everyone)
}

fn has_a_length(scope: &Scope<'_>, substance: &Substance) -> bool {
    let on_length = |caution: &Caution| {
        topic(scope.ledger, &caution.topic.text).is_some_and(|topic| topic.is_called("duration"))
    };
    substance.cautions.iter().any(on_length)
        || substance
            .mosts
            .iter()
            .any(|most| matches!(most.portion, Portion::Minutes(_)))
}
