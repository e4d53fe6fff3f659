//! Which cautions of what is in a formula bear on a person, and what was accepted.

use std::collections::BTreeMap;

use super::accept::{Acceptance, Accepts, Lapsed};
use super::within::within;
use super::{Composition, Figures, contents};
use crate::model::{
    AgeTopic, Bound, Caution, Fact, FactKind, Ledger, Level, Looked, Person, Substance, Topic,
};
use crate::naming::{folded, same_but_for_number};
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow};
use crate::source::Span;

/// Whom a caution bears on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bearing {
    /// This person, and by which fact.
    ThisPerson(String),
    /// Everyone.
    Everyone,
    /// It can't be told: the fact that it asks for is not known.
    NotKnown,
    /// Others; or nobody in particular was asked about.
    Others,
}

/// What is said where somebody is allergic to the herb itself.
pub const ITSELF: &str = "this herb itself";

/// A caution of one herb, assessed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assessed {
    /// The herb, by its place in the ledger.
    pub substance: usize,
    /// How strong.
    pub level: Level,
    /// About what, as written.
    pub topic: String,
    /// What is said about it.
    pub text: Option<String>,
    /// The line; nothing for what follows from the plant family.
    pub span: Option<Span>,
    /// The book that the line cites.
    pub book: Option<usize>,
    /// Whom it bears on.
    pub bearing: Bearing,
    /// Whether it was accepted for this formula.
    pub accepted: Option<Acceptance>,
    /// What the formula that it adapts accepts, where that doesn't hold here.
    pub lapsed: Option<Lapsed>,
}

/// The topic with a name; see [`Ledger::topic`].
pub fn topic<'a>(ledger: &'a Ledger, name: &str) -> Option<&'a Topic> {
    ledger.topic(name)
}

/// Whether two names are the same topic.
pub fn same_topic(ledger: &Ledger, a: &str, b: &str) -> bool {
    if same_but_for_number(&folded(a), &folded(b)) {
        return true;
    }
    match (AgeTopic::read(a), AgeTopic::read(b)) {
        (Some(a), Some(b)) => a == b,
        _ => match (topic(ledger, a), topic(ledger, b)) {
            (Some(a), Some(b)) => a.name == b.name,
            _ => false,
        },
    }
}

/// The herbs and materials in a formula, also inside its formulas.
pub fn substances_of(ledger: &Ledger, figures: &Figures, composition: &Composition) -> Vec<usize> {
    within(ledger, figures, composition).substances()
}

/// Every caution of what is in a formula: first what bears on this person, the gravest first; then
/// what bears on everyone; then what can't be told; then the rest.
pub fn assess(
    ledger: &Ledger,
    figures: &Figures,
    composition: &Composition,
    person: Option<&Person>,
) -> Vec<Assessed> {
    let mut found = Vec::new();
    let accepts = Accepts::of_formula(ledger, figures, composition);
    for place in substances_of(ledger, figures, composition) {
        let Some(substance) = ledger.substances.get(place) else {
            continue;
        };
        for caution in &substance.cautions {
            let bearing = match bearing(ledger, &caution.topic.text, person) {
                Bearing::ThisPerson(_) if is_beside(ledger, caution, person) => Bearing::Others,
                bearing => bearing,
            };
            let (accepted, lapsed) = accepts.of(place, &caution.topic.text, caution.level);
            found.push(Assessed {
                substance: place,
                level: softened(caution, &bearing, person),
                topic: caution.topic.text.clone(),
                text: caution.text.clone(),
                span: Some(caution.span),
                book: caution.book,
                bearing,
                accepted,
                lapsed,
            });
        }
        if let Some(person) = person
            && let Some(kin) = by_kinship(ledger, &accepts, place, substance, person)
        {
            // What is certain of the herb itself takes the place of what is said of its family.
            found.retain(|one| {
                one.substance != place || one.bearing != kin.bearing || one.level == Level::Avoid
            });
            found.push(kin);
        }
    }
    let name = |one: &Assessed| {
        ledger
            .substances
            .get(one.substance)
            .map(|substance| substance.name.as_str())
    };
    found.sort_by(|a, b| {
        let rank = |one: &Assessed| match one.bearing {
            Bearing::ThisPerson(_) => 0_u8,
            Bearing::Everyone => 1,
            Bearing::NotKnown => 2,
            Bearing::Others => 3,
        };
        rank(a)
            .cmp(&rank(b))
            .then(b.level.cmp(&a.level))
            .then_with(|| by_topic(&a.topic, &b.topic))
            .then_with(|| name(a).cmp(&name(b)))
            .then(a.substance.cmp(&b.substance))
    });
    found
}

/// Other allergies are a mixed lot: where the caution's own words don't name what this person is
/// allergic to, it is asked about and not forbidden.
fn softened(caution: &Caution, bearing: &Bearing, person: Option<&Person>) -> Level {
    if !is_mixed(caution) || !matches!(bearing, Bearing::ThisPerson(_)) || caution.text.is_none() {
        return caution.level;
    }
    let mut facts = person.into_iter().flat_map(|person| &person.facts);
    if facts.any(|fact| names_it(caution, fact)) {
        caution.level
    } else {
        caution.level.min(Level::Consult)
    }
}

/// Whether the words of a caution on other allergies name none of a person's, and every one of them
/// that the mixed lot asks for is a plant of a known family: the family's herbs are found by that.
fn is_beside(ledger: &Ledger, caution: &Caution, person: Option<&Person>) -> bool {
    if !is_mixed(caution) || caution.text.is_none() {
        return false;
    }
    let mixed = topic(ledger, &caution.topic.text);
    person
        .into_iter()
        .flat_map(|person| &person.facts)
        .filter(|fact| mixed.is_some_and(|mixed| mixed.concerns(fact.kind, &fact.words)))
        .all(|fact| {
            !names_it(caution, fact) && family_of(ledger, fact).is_some_and(|own| !names_kin(caution, own))
        })
}

/// The topic of the plant family to which somebody's allergy belongs.
fn family_of<'a>(ledger: &'a Ledger, fact: &Fact) -> Option<&'a Topic> {
    ledger.topics.iter().find(|topic| {
        fact.kind == FactKind::Allergic
            && topic.names.iter().any(|name| name.ends_with("aceae"))
            && topic.concerns(fact.kind, &fact.words)
    })
}

/// Whether a caution's own words name a family or another plant of it: cowslip is a primula.
fn names_kin(caution: &Caution, family: &Topic) -> bool {
    let text = caution.text.as_deref().map(folded).unwrap_or_default();
    let names = family.names.iter().map(|name| FactKind::Allergic.after(name));
    let plants = family.when.iter().map(|(_, words)| words.as_str());
    names.chain(plants).any(|words| text.contains(words))
}

/// Whether an assessed caution was softened: it is milder than its line.
pub fn softens(ledger: &Ledger, one: &Assessed) -> bool {
    let herb = ledger.substances.get(one.substance);
    let line = herb.and_then(|herb| {
        herb.cautions
            .iter()
            .find(|caution| Some(caution.span) == one.span)
    });
    line.is_some_and(|caution| caution.level > one.level)
}

fn is_mixed(caution: &Caution) -> bool {
    folded(&caution.topic.text) == "allergy other"
}

/// Whether a caution's own words name what somebody is allergic to.
fn names_it(caution: &Caution, fact: &Fact) -> bool {
    let text = caution.text.as_deref().map(folded).unwrap_or_default();
    let whole: Vec<&str> = text.split(|one: char| !one.is_alphanumeric()).collect();
    fact.kind == FactKind::Allergic
        && folded(&fact.words).split(' ').any(|word| {
            // Every plant has a family, so the word names none.
            word != "family"
                && if word.len() >= 4 {
                    // One plural's `s`: `gra` of grass would stand in many words.
                    let is_plural = word.ends_with('s') && !word.ends_with("ss");
                    text.contains(word.strip_suffix('s').filter(|_| is_plural).unwrap_or(word))
                } else {
                    // A short word (ivy, oak) only as a whole one: it hides in others.
                    word.len() == 3 && whole.contains(&word)
                }
        })
}

/// Topics by the alphabet, but ages by years.
fn by_topic(a: &str, b: &str) -> std::cmp::Ordering {
    let years = |topic: &str| match AgeTopic::read(topic) {
        Some(AgeTopic::Under(years) | AgeTopic::Over(years)) => Some(years),
        None => None,
    };
    match (years(a), years(b)) {
        (Some(a), Some(b)) => a.cmp(&b),
        _ => a.cmp(b),
    }
}

fn bearing(ledger: &Ledger, name: &str, person: Option<&Person>) -> Bearing {
    let Some(person) = person else {
        return match topic(ledger, name) {
            Some(topic) if !topic.everyone => Bearing::Others,
            // A topic that nobody has described may concern anyone.
            None if AgeTopic::read(name).is_some() => Bearing::Others,
            None | Some(_) => Bearing::Everyone,
        };
    };
    let mut by_age = None;
    if let Some(age) = AgeTopic::read(name) {
        by_age = Some(match person.years {
            None => Bearing::NotKnown,
            Some(years) if age.concerns(years) => {
                return Bearing::ThisPerson(format!(
                    "is {} years old",
                    crate::quantity::print::short(years, 2)
                ));
            }
            Some(_) => Bearing::Others,
        });
    }
    // A ledger may have a topic of its own by the name of an age, such as `children`.
    let topic = topic(ledger, name);
    if let (Some(by_age), None) = (&by_age, topic) {
        return by_age.clone();
    }
    let Some(topic) = topic else {
        // A topic that nobody has described may concern anyone.
        return Bearing::Everyone;
    };
    let fact = person
        .facts
        .iter()
        .find(|fact| topic.concerns(fact.kind, &fact.words));
    match fact {
        Some(fact) => Bearing::ThisPerson(fact.said()),
        None if topic.everyone => Bearing::Everyone,
        None => by_age.unwrap_or(Bearing::Others),
    }
}

/// An allergy to the herb itself or to its plant family, whether or not the herb's entry warns of it.
fn by_kinship(
    ledger: &Ledger,
    accepts: &Accepts<'_>,
    place: usize,
    substance: &Substance,
    person: &Person,
) -> Option<Assessed> {
    let allergies = person.facts.iter().filter(|fact| fact.kind == FactKind::Allergic);
    for fact in allergies {
        let said = folded(&fact.words);
        let family = substance
            .family
            .as_ref()
            .is_some_and(|family| is_of_family(ledger, family, &said));
        let itself = matches!(
            ledger.names.look(&fact.words),
            Looked::Found(Bound::Substance(at)) if at == place
        ) || is_plant_of(ledger, substance, family, fact);
        // What the entry says of the family stands, however mild; of the herb itself only an `avoid` will do.
        let warned = substance.cautions.iter().any(|caution| {
            (!itself || caution.level == Level::Avoid)
                && topic(ledger, &caution.topic.text)
                    .is_some_and(|topic| topic.concerns(FactKind::Allergic, &fact.words))
                // Of other allergies only where its words name this one.
                && (!is_mixed(caution) || names_it(caution, fact))
        });
        if (family || itself) && !warned {
            let topic = format!("allergy {}", fact.words);
            // Of a plant that stands among the mixed lot, its kin are asked about and not forbidden.
            let level = if !itself && is_one_plant(ledger, fact) {
                Level::Consult
            } else {
                Level::Avoid
            };
            let (accepted, lapsed) = accepts.of(place, &topic, level);
            return Some(Assessed {
                substance: place,
                level,
                accepted,
                lapsed,
                topic,
                text: Some(if itself {
                    ITSELF.to_owned()
                } else {
                    "it belongs to this plant family".to_owned()
                }),
                span: None,
                book: None,
                bearing: Bearing::ThisPerson(fact.said()),
            });
        }
    }
    None
}

/// Whether an allergy is to a plant of the mixed lot and not to its whole family.
fn is_one_plant(ledger: &Ledger, fact: &Fact) -> bool {
    let said = folded(&fact.words);
    let mixed = topic(ledger, "allergy other").is_some_and(|mixed| mixed.concerns(fact.kind, &said));
    let named = |family: &Topic| {
        let mut names = family.names.iter().map(|name| FactKind::Allergic.after(name));
        // `grasses` are the family; `grass` is what people say of its pollen.
        names.any(|name| name == said)
    };
    mixed && family_of(ledger, fact).is_some_and(|family| !named(family))
}

/// Whether a herb's name says that it is the plant somebody is allergic to: `birch leaf` for birch,
/// `spearmint leaf` for mint. Without a word on its family only the first word of the name counts.
fn is_plant_of(ledger: &Ledger, substance: &Substance, of_family: bool, fact: &Fact) -> bool {
    if !is_one_plant(ledger, fact) {
        return false;
    }
    let said = folded(&fact.words);
    let plant = said.strip_suffix(" pollen").unwrap_or(&said);
    let name = folded(&substance.name);
    if of_family {
        name.contains(plant)
    } else {
        substance.family.is_none() && name.split(' ').next() == Some(plant)
    }
}

/// Whether a fact names a plant family, by any name that a topic gives it: Compositae for Asteraceae.
pub fn is_of_family(ledger: &Ledger, family: &str, fact: &str) -> bool {
    let fact = folded(fact);
    same_but_for_number(&folded(family), &fact)
        || topic(ledger, &format!("allergy {family}"))
            .is_some_and(|topic| topic.concerns(FactKind::Allergic, &fact))
}

/// Whether anything asks for a fact: a topic, or a herb or plant family of the ledger.
pub fn is_asked_for(ledger: &Ledger, fact: &Fact) -> bool {
    let plant = || {
        matches!(ledger.names.look(&fact.words), Looked::Found(Bound::Substance(_)))
            || ledger
                .substances
                .iter()
                .filter_map(|substance| substance.family.as_ref())
                .any(|family| folded(family) == folded(&fact.words))
    };
    ledger
        .topics
        .iter()
        .any(|topic| topic.concerns(fact.kind, &fact.words))
        || (fact.kind == FactKind::Allergic && plant())
}

/// The words that topics ask for after `is`, `takes` or `allergic`.
pub fn words_asked_for(ledger: &Ledger, kind: FactKind) -> Vec<&str> {
    ledger
        .topics
        .iter()
        .filter(|topic| topic.when.iter().any(|(own, _)| *own == kind))
        .flat_map(|topic| {
            let said = topic.when.iter().filter(move |(own, _)| *own == kind);
            said.map(|(_, words)| words.as_str())
                .chain(topic.names.iter().map(move |name| kind.after(name)))
        })
        .collect()
}

/// Effects that two or more herbs of a formula share, with those herbs.
pub fn shared_effects(
    ledger: &Ledger,
    figures: &Figures,
    composition: &Composition,
) -> Vec<(String, Vec<usize>)> {
    let mut by_effect: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for place in substances_of(ledger, figures, composition) {
        let Some(substance) = ledger.substances.get(place) else {
            continue;
        };
        for caution in &substance.cautions {
            if let Some(effect) = topic(ledger, &caution.topic.text).and_then(|topic| topic.effect.clone()) {
                let herbs = by_effect.entry(effect).or_default();
                if !herbs.contains(&place) {
                    herbs.push(place);
                }
            }
        }
    }
    let name = |place: &usize| {
        ledger
            .substances
            .get(*place)
            .map(|substance| substance.name.as_str())
    };
    for herbs in by_effect.values_mut() {
        herbs.sort_by_key(|place| name(place));
    }
    by_effect
        .into_iter()
        .filter(|(_, herbs)| herbs.len() > 1)
        .collect()
}

/// What a formula does by tradition: each word and the percentage of the weight that has it.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn natures(
    ledger: &Ledger,
    figures: &Figures,
    composition: &Composition,
) -> Checked<Vec<(String, Decimal)>> {
    let Some(held) = contents(figures, composition)? else {
        return Ok(Vec::new());
    };
    let mut sum = Decimal::ZERO;
    let mut by_word: BTreeMap<&str, Decimal> = BTreeMap::new();
    for (place, amount) in &held {
        sum = sum.checked_add(amount.nominal).ok_or(Overflow)?;
        for word in ledger
            .substances
            .get(*place)
            .into_iter()
            .flat_map(|substance| &substance.nature)
        {
            let so_far = by_word.get(word.as_str()).copied().unwrap_or_default();
            by_word.insert(word, so_far.checked_add(amount.nominal).ok_or(Overflow)?);
        }
    }
    if sum.is_zero() {
        return Ok(Vec::new());
    }
    let mut shares = Vec::new();
    for (word, grams) in by_word {
        let share = quotient(grams.checked_mul(Decimal::ONE_HUNDRED).ok_or(Overflow)?, sum)?;
        shares.push((word.to_owned(), share));
    }
    shares.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    Ok(shares)
}

/// A word of a person's own nature, and what of the formula strengthens it, with its percentage.
pub fn against_nature(person: &Person, natures: &[(String, Decimal)]) -> Vec<(String, String, Decimal)> {
    let strengthens = |own: &str| match own {
        "warm" | "hot" => Some(("warming", "cooling")),
        "cold" | "cool" => Some(("cooling", "warming")),
        "dry" => Some(("drying", "moistening")),
        "moist" | "damp" => Some(("moistening", "drying")),
        _ => None,
    };
    let share = |wanted: &str| {
        natures
            .iter()
            .find(|(word, _)| word == wanted)
            .map_or(Decimal::ZERO, |(_, share)| *share)
    };
    person
        .nature
        .iter()
        .filter_map(|own| {
            let (more, less) = strengthens(own)?;
            // Common practice, no source: it leans one way when most of its weight does.
            let leans = share(more) > share(less) && share(more) > Decimal::from(50_u32);
            leans.then(|| (own.clone(), more.to_owned(), share(more)))
        })
        .collect()
}
