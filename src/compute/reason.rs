//! Why a caution is shown: how the herb gets in, who says it, whom its topic concerns, and what was accepted.

use super::Composition;
use super::caution::{Assessed, Bearing, is_of_family, softens, topic};
use super::trace::Step;
use super::within::Within;
use crate::model::{AgeTopic, Fact, FactKind, Ledger, Level, Person, Topic};
use crate::naming::{folded, same_but_for_number};
use crate::source::Span;

fn step(says: String, span: Option<Span>, book: Option<usize>) -> Step {
    Step { says, span, book }
}

/// The steps from the formula to the caution and from the caution to the person.
pub fn reason(
    ledger: &Ledger,
    within: &Within<'_>,
    composition: &Composition,
    person: Option<&Person>,
    one: &Assessed,
) -> Vec<Step> {
    let mut steps: Vec<Step> = within.ways(ledger, one.substance).into_iter().flatten().collect();
    // Several ways may share their outer part.
    let mut said: Vec<Step> = Vec::new();
    steps.retain(|step| {
        let new = !said.contains(step);
        said.push(step.clone());
        new
    });
    steps.push(stated(ledger, one));
    steps.extend(concerned(ledger, one));
    steps.push(bears(ledger, person, one));
    if softens(ledger, one) {
        steps.push(step(
            "its own words don't name what this person is allergic to, so it is asked about and not forbidden".to_owned(),
            one.span,
            None,
        ));
    }
    steps.extend(accepted(composition, one));
    steps.extend(lapsed(composition, one));
    steps.push(step(decided(one), None, None));
    steps
}

/// What the entry says, and on whose authority.
fn stated(ledger: &Ledger, one: &Assessed) -> Step {
    let herb = ledger.substances.get(one.substance);
    let name = herb.map_or("", |herb| herb.name.as_str());
    let Some(span) = one.span else {
        let family = herb.and_then(|herb| herb.family.as_deref());
        let says = match family {
            Some(family) if one.text.as_deref() != Some(super::caution::ITSELF) => {
                format!("no line of {name} warns of it; its entry says `family {family}`")
            }
            _ => format!("no line of {name} warns of it; it is {name} itself"),
        };
        return step(says, herb.and_then(|herb| herb.span), None);
    };
    let text = one
        .text
        .as_ref()
        .map(|text| format!(": {text}"))
        .unwrap_or_default();
    let level = stated_level(ledger, one).word();
    let authority = if one.book.is_some() {
        ""
    } else {
        "; no source is cited for it"
    };
    step(
        format!("{name} says `{level} {}{text}`{authority}", one.topic),
        Some(span),
        one.book,
    )
}

/// The level as the line has it, before anything softened it.
fn stated_level(ledger: &Ledger, one: &Assessed) -> Level {
    let herb = ledger.substances.get(one.substance);
    herb.and_then(|herb| {
        herb.cautions
            .iter()
            .find(|caution| Some(caution.span) == one.span)
    })
    .map_or(one.level, |caution| caution.level)
}

/// Whom the topic concerns, in its own words.
fn concerned(ledger: &Ledger, one: &Assessed) -> Vec<Step> {
    let mut steps = Vec::new();
    if let Some(age) = AgeTopic::read(&one.topic) {
        steps.push(step(
            format!("`{}` concerns whoever is {}", one.topic, age.said()),
            one.span,
            None,
        ));
    }
    let Some(topic) = topic(ledger, &one.topic) else {
        if steps.is_empty() && one.span.is_some() {
            let says = format!("no topic is called `{}`, so it may concern anyone", one.topic);
            steps.push(step(says, one.span, None));
        }
        return steps;
    };
    let other = if same_but_for_number(&folded(&one.topic), &folded(&topic.name)) {
        String::new()
    } else {
        format!(
            "`{}` is said for the topic `{}`, and this ",
            one.topic, topic.name
        )
    };
    let mut facts: Vec<String> = topic
        .when
        .iter()
        .map(|(kind, words)| format!("`{} {words}`", kind.word()))
        .collect();
    let more = facts.len().saturating_sub(6);
    facts.truncate(6);
    if more > 0 {
        facts.push(format!("{more} more"));
    }
    if topic.everyone {
        facts.insert(0, "everyone".to_owned());
    }
    let built = if topic.span.is_some() {
        ""
    } else {
        "; the list that comes with the program says so"
    };
    let whom = match (topic.everyone, facts.as_slice()) {
        (true, [_]) => "everyone".to_owned(),
        (_, facts) => format!("{}, and every name of the topic", facts.join(", ")),
    };
    let subject = if other.is_empty() {
        format!("the topic `{}` ", topic.name)
    } else {
        other
    };
    steps.push(step(format!("{subject}concerns {whom}{built}"), topic.span, None));
    steps
}

/// Whether its topic concerns a person, and only its words are about something else.
fn is_beside(ledger: &Ledger, one: &Assessed, person: &Person) -> bool {
    topic(ledger, &one.topic).is_some_and(|topic| {
        let mut facts = person.facts.iter();
        facts.any(|fact| topic.concerns(fact.kind, &fact.words))
    })
}

/// Why it bears on this person, or does not.
fn bears(ledger: &Ledger, person: Option<&Person>, one: &Assessed) -> Step {
    match (&one.bearing, person) {
        (Bearing::ThisPerson(because), Some(person)) => {
            let who = person
                .code
                .as_ref()
                .map_or_else(|| "this person".to_owned(), |code| format!("person {code}"));
            let fact = person.facts.iter().find(|fact| fact.said() == *because);
            let how = fact.and_then(|fact| met(ledger, one, fact));
            let span = match fact {
                Some(fact) => fact.span,
                None => person.span,
            };
            step(
                format!("{who} {because}{}, so it bears on them", how.unwrap_or_default()),
                span,
                None,
            )
        }
        (Bearing::Everyone, _) => step("so everyone is told, whoever it is for".to_owned(), None, None),
        (Bearing::NotKnown, _) => step(
            "the age of this person is not known, so it can't be told".to_owned(),
            None,
            None,
        ),
        (_, Some(person)) if is_beside(ledger, one, person) => step(
            "its words name nothing of this person's, and herbs of the plant family that they are allergic to are \
             asked about by themselves, so it is listed for others"
                .to_owned(),
            None,
            None,
        ),
        (_, Some(_)) => step(
            "nothing that is known of this person is among them, so it is listed for others".to_owned(),
            None,
            None,
        ),
        (_, None) => step(
            "nobody in particular is asked about, so it is listed for whom it concerns".to_owned(),
            None,
            None,
        ),
    }
}

/// How a fact meets the topic where it doesn't say so in the topic's own words.
fn met(ledger: &Ledger, one: &Assessed, fact: &Fact) -> Option<String> {
    let words = folded(&fact.words);
    let direct = |topic: &Topic| {
        topic
            .when
            .iter()
            .any(|(kind, said)| *kind == fact.kind && same_but_for_number(said, &words))
    };
    if let Some(topic) = topic(ledger, &one.topic) {
        return (!direct(topic)).then(|| {
            format!(
                ", and `{}` is one of the names of the topic `{}`",
                fact.words, topic.name
            )
        });
    }
    let family = ledger.substances.get(one.substance)?.family.as_ref()?;
    let kin = fact.kind == FactKind::Allergic && is_of_family(ledger, family, &words);
    (kin && !same_but_for_number(&folded(family), &words))
        .then(|| format!(", and `{}` belongs to the topic `allergy {family}`", fact.words))
}

/// What was accepted, where, and why.
fn accepted(composition: &Composition, one: &Assessed) -> Option<Step> {
    let acceptance = one.accepted.as_ref()?;
    let name = &composition.formula.name.text;
    let says = match &acceptance.reason {
        Some(reason) => format!("{name} accepts it: {reason}"),
        None => format!("{name} accepts it without a reason, which counts for nothing"),
    };
    Some(step(says, Some(acceptance.span), None))
}

/// What the adapted formula accepts and this one doesn't take over.
fn lapsed(composition: &Composition, one: &Assessed) -> Option<Step> {
    let lapsed = one.lapsed.as_ref()?;
    let why = if lapsed.of_a_new_herb {
        "without this herb in it"
    } else {
        "and what is to be avoided is weighed up anew"
    };
    Some(step(
        format!(
            "{} accepts it ({}), {why}, so that doesn't hold for {}",
            lapsed.formula, lapsed.reason, composition.formula.name.text
        ),
        Some(lapsed.span),
        None,
    ))
}

/// What `check` makes of it.
fn decided(one: &Assessed) -> String {
    let accepted = one
        .accepted
        .as_ref()
        .is_some_and(|acceptance| acceptance.reason.is_some());
    let everyone = one.bearing == Bearing::Everyone && one.level == Level::Avoid;
    let weighs = matches!(one.bearing, Bearing::ThisPerson(_)) || everyone;
    match (weighs, one.level, accepted) {
        (false, ..) => format!("`{}` is listed and decides nothing", one.level.word()),
        (true, Level::Avoid, false) => "`avoid`: not at all, an error in `check`".to_owned(),
        (true, Level::Avoid, true) => {
            "`avoid`, accepted with a reason: a warning in `check`, always".to_owned()
        }
        (true, Level::Consult, false) => "`consult`: only with advice, a warning in `check`".to_owned(),
        (true, Level::Consult, true) => "`consult`, accepted with a reason: a notice in `check`".to_owned(),
        (true, Level::Mind, _) => "`mind`: tell the person, a notice in `check`".to_owned(),
    }
}
