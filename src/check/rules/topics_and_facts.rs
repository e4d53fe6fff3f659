//! Reports topics and facts that no topic of the ledger knows: a slip there would hide a caution.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::{is_asked_for, topic, words_asked_for};
use crate::diagnostic::Diagnostic;
use crate::model::{AgeTopic, Fact, Ledger};
use crate::naming::{folded, nearest};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    let ledger = scope.ledger;
    let mut said: Vec<String> = Vec::new();
    for caution in ledger.substances.iter().flat_map(|substance| &substance.cautions) {
        let name = &caution.topic.text;
        if AgeTopic::read(name).is_some() || topic(ledger, name).is_some() {
            continue;
        }
        let key = folded(name);
        if said.contains(&key) {
            continue;
        }
        said.push(key);
        if folded(name).starts_with("age ") {
            report.push(
                Diagnostic::warning(
                    code::UNKNOWN_TOPIC,
                    caution.topic.span,
                    format!("`{name}` is no age that the checks understand, so it is shown to everyone"),
                )
                .help("write `age under 12`, `age over 65` or `age under 6 months`"),
            );
            continue;
        }
        let finding = Diagnostic::warning(
            code::UNKNOWN_TOPIC,
            caution.topic.span,
            format!("`{name}` is no topic that the checks know, so it is shown to everyone"),
        );
        if let Some(several) = several(ledger, name) {
            let word = caution.level.word();
            let lines: Vec<String> = several.iter().map(|one| format!("`{word}   {one}`")).collect();
            report.push(finding.help(format!("write a line for each: {}", lines.join(" and "))));
            continue;
        }
        let own = ledger.topics.iter().map(|topic| topic.name.as_str());
        let also = || ledger.topics.iter().flat_map(|topic| topic.names.iter().map(String::as_str));
        report.push(match nearest(name, own).or_else(|| nearest(name, also())) {
            Some(near) => finding
                .help(format!("did you mean `{near}`?"))
                .fix(format!("write `{near}`"), caution.topic.span, near),
            None => finding.help(format!(
                "say whom it concerns, in the first column: `topic {name}` and below it `when   is …`, `takes …` or `everyone`"
            )),
        });
    }
    for person in ledger.people.iter() {
        for (nature, span) in &person.nature_lines {
            if !NATURES.contains(&nature.as_str()) {
                report.push(
                    Diagnostic::warning(
                        code::UNKNOWN_FACT,
                        *span,
                        format!("the checks know no nature `{nature}` of a person"),
                    )
                    .help(format!("they know: {}", NATURES.join(", "))),
                );
            }
        }
        report.extend(person.facts.iter().filter_map(|fact| unknown_fact(ledger, fact)));
    }
}

/// The topics that one line names together, as `pregnancy, lactation`, if each of them is known.
fn several(ledger: &Ledger, name: &str) -> Option<Vec<String>> {
    let name = folded(name).replace(" and ", ",").replace(" or ", ",");
    let parts: Vec<String> = name.split(',').map(|part| part.trim().to_owned()).collect();
    let known = |part: &String| AgeTopic::read(part).is_some() || topic(ledger, part).is_some();
    (parts.len() > 1 && parts.iter().all(known)).then_some(parts)
}

/// The words for a person's own nature.
const NATURES: [&str; 7] = ["warm", "hot", "cold", "cool", "dry", "moist", "damp"];

/// A fact that no topic asks for, and that is no allergy to a plant the ledger has.
fn unknown_fact(ledger: &Ledger, fact: &Fact) -> Option<Diagnostic> {
    let span = fact.span?;
    if is_asked_for(ledger, fact) {
        return None;
    }
    let finding = Diagnostic::warning(
        code::UNKNOWN_FACT,
        span,
        format!("no topic asks for `{} {}`, so no caution can meet it", fact.kind.word(), fact.words),
    );
    let known = words_asked_for(ledger, fact.kind);
    Some(match nearest(&fact.words, known.into_iter()) {
        Some(near) => finding
            .help(format!("did you mean `{near}`?"))
            .fix(format!("write `{near}`"), span, near),
        None => finding.help("look at its spelling; or declare a topic that asks for it"),
    })
}
