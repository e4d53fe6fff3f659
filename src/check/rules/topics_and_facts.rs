//! Reports topics and facts that no topic of the ledger knows: a slip there would hide a caution.

use crate::check::Scope;
use crate::code;
use crate::compute::caution::{is_asked_for, topic, words_asked_for};
use crate::diagnostic::Diagnostic;
use crate::model::{AgeTopic, Caution, Fact, FactKind, Ledger, Level, Substance};
use crate::naming::{folded, nearest};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    let ledger = scope.ledger;
    let mut said: Vec<String> = Vec::new();
    let mut cautions: Vec<&Caution> =
        ledger.substances.iter().flat_map(|substance| &substance.cautions).collect();
    // What is to be avoided and can't meet anybody is graver than the rest, so it speaks for its topic.
    cautions.sort_by_key(|caution| std::cmp::Reverse(caution.level == Level::Avoid));
    for caution in cautions {
        let name = &caution.topic.text;
        let finding = |message: String| {
            if caution.level == Level::Avoid {
                Diagnostic::error(code::UNKNOWN_TOPIC, caution.topic.span, message)
            } else {
                Diagnostic::warning(code::UNKNOWN_TOPIC, caution.topic.span, message)
            }
        };
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
                finding(format!("`{name}` is no age that the checks understand, so it is shown to everyone"))
                .help("write `age under 12`, `age over 65` or `age under 6 months`"),
            );
            continue;
        }
        let finding = finding(format!("`{name}` is no topic that the checks know, so it is shown to everyone"));
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
    for substance in &ledger.substances {
        report.extend(misspelt_family(ledger, substance));
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

/// A plant family that no topic knows and that is nearly one which a topic knows: whoever is allergic to that
/// one would not be asked about this herb. Other families may be rare, and are nobody's slip.
fn misspelt_family(ledger: &Ledger, substance: &Substance) -> Option<Diagnostic> {
    let family = substance.family.as_deref()?;
    let known = |name: &str| topic(ledger, &format!("allergy {name}")).is_some();
    if known(family) {
        return None;
    }
    let names = ledger.topics.iter().flat_map(|topic| &topic.names);
    let families = names.filter(|name| name.starts_with("allergy ")).map(|name| FactKind::Allergic.after(name));
    let near = match folded(family).strip_suffix("aceae") {
        // Many true families are much alike: there one letter too few, too many or another is a slip.
        Some(stem) => families
            .clone()
            .find(|other| other.strip_suffix("aceae").is_some_and(|other| is_one_slip(stem, other)))?,
        None => nearest(family, families)?,
    };
    Some(
        Diagnostic::warning(
            code::UNKNOWN_FAMILY,
            substance.span?,
            format!("the family of {}, `{family}`, is none that the checks know, and nearly `{near}`", substance.name),
        )
        .help(format!(
            "whoever is allergic to the family would not be asked about this herb; did you mean `family   {}`? a family of its own has an entry `topic allergy {family}`",
            spelt(near)
        )),
    )
}

/// Whether two words of some length differ in one letter, or in two that changed places.
fn is_one_slip(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let longer = a.len().max(b.len());
    let alike = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
    let rest = a.len().min(b.len()).saturating_sub(alike);
    let ends = a.iter().rev().zip(b.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let changed = longer.saturating_sub(alike).saturating_sub(ends);
    let swapped = || {
        let middle = |word: &[char]| word.iter().skip(alike).take(2).copied().collect::<Vec<char>>();
        let (mut one, other) = (middle(&a), middle(&b));
        one.reverse();
        a.len() == b.len() && one == other
    };
    longer >= 4 && alike > 0 && (changed <= 1 || (changed == 2 && swapped()))
}

/// A family as it is written: its Latin name begins with a capital.
fn spelt(family: &str) -> String {
    let mut letters = family.chars();
    match letters.next() {
        Some(first) if family.ends_with("aceae") => first.to_uppercase().chain(letters).collect(),
        _ => family.to_owned(),
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
