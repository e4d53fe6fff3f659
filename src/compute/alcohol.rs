//! What holds alcohol, by its name or its strength, and whose entry says what that asks for.

use std::sync::Arc;

use super::caution::same_topic;
use crate::model::{Bound, Ledger, Looked, Substance};
use crate::naming::{folded, singulars};
use crate::syntax::tree::Liquid;

/// Last words of names of what is drunk or drawn out with alcohol. Common practice, no source.
const LIQUORS: [&str; 47] = [
    "spirit",
    "alcohol",
    "ethanol",
    "wine",
    "sherry",
    "vermouth",
    "brandy",
    "vodka",
    "rum",
    "gin",
    "whisky",
    "whiskey",
    "liqueur",
    "beer",
    "ale",
    "cider",
    "mead",
    "tincture",
    "port",
    "madeira",
    "marsala",
    "claret",
    "champagne",
    "prosecco",
    "perry",
    "stout",
    "lager",
    "porter",
    "kvass",
    "sake",
    "schnapps",
    "ouzo",
    "raki",
    "arrack",
    "arak",
    "grappa",
    "kirsch",
    "cognac",
    "calvados",
    "tequila",
    "bourbon",
    "absinthe",
    "grog",
    "punch",
    "toddy",
    "eggnog",
    "moonshine",
];

/// The same, of more than one word.
const LIQUORS_IN_WORDS: [&str; 3] = ["aqua vitae", "eau de vie", "aquavit"];

/// Words that say that there is none in it.
const WITHOUT: [&str; 5] = [
    "non alcoholic",
    "alcohol free",
    "dealcoholised",
    "dealcoholized",
    "without alcohol",
];

/// Liquids whose percentage is not one of alcohol.
const OTHER_STRENGTHS: [&str; 7] = [
    "vinegar",
    "glycerol",
    "glycerin",
    "glycerine",
    "acid",
    "brine",
    "syrup",
];

/// The names under which a ledger says what alcohol asks for.
const SPEAKERS: [&str; 3] = ["spirit", "alcohol", "ethanol"];

/// The topic that only alcohol itself is about.
const DEPENDENCE: &str = "alcohol dependence";

fn ends_in(name: &str, words: &[&str]) -> bool {
    let name = folded(name);
    // `tincture of thyme` is a tincture.
    let head = name.split(" of ").next().unwrap_or(&name);
    let last = head.rsplit(' ').next().unwrap_or(head);
    singulars(last).iter().any(|form| words.contains(&form.as_str()))
}

/// Whether a name ends in what is drunk or drawn out with alcohol, and does not say that there is none in it.
pub fn is_a_liquor(name: &str) -> bool {
    if is_without(name) {
        return false;
    }
    let whole = folded(name);
    ends_in(name, &LIQUORS) || LIQUORS_IN_WORDS.iter().any(|words| ends_in_words(&whole, words))
}

/// Whether the last words of a folded name are these.
fn ends_in_words(name: &str, words: &str) -> bool {
    name.strip_suffix(words)
        .is_some_and(|before| before.is_empty() || before.ends_with(' '))
}

/// Whether a name says that there is no alcohol in it: `alcohol-free wine`.
pub fn is_without(name: &str) -> bool {
    let name = folded(name);
    WITHOUT.iter().any(|word| name.contains(word))
}

/// Whether a herb or material holds alcohol: by its name, or because it is sold at a percentage.
fn holds(substance: &Substance) -> bool {
    let name = &substance.name;
    if is_without(name) {
        return false;
    }
    is_a_liquor(name) || (substance.in_percent && !ends_in(name, &OTHER_STRENGTHS))
}

/// Whether a liquid that no entry describes holds alcohol.
pub fn is_liquor(liquid: &Liquid) -> bool {
    match &liquid.name {
        Some(name) if is_without(&name.text) => false,
        Some(name) => {
            is_a_liquor(&name.text) || (liquid.strength.is_some() && !ends_in(&name.text, &OTHER_STRENGTHS))
        }
        None => liquid.strength.is_some(),
    }
}

/// A liquid in words.
pub fn said(liquid: &Liquid) -> String {
    let name = liquid.name.as_ref().map_or("alcohol", |name| name.text.as_str());
    match &liquid.strength {
        Some((number, _)) => format!("{}% {name}", number.value),
        None => name.to_owned(),
    }
}

/// Whether an entry says what its alcohol asks for. Of spirit or wine any caution does; what is made
/// of a herb has cautions of the herb, so there one must speak of alcohol.
fn is_said(ledger: &Ledger, substance: &Substance) -> bool {
    let of_the_herb = substance.made_of.is_some() || ends_in(&substance.name, &["tincture", "liqueur"]);
    substance.cautions.iter().any(|caution| {
        !of_the_herb
            || same_topic(ledger, &caution.topic.text, DEPENDENCE)
            || caution
                .text
                .as_ref()
                .is_some_and(|text| folded(text).contains("alcohol"))
    })
}

/// The entry that says what alcohol asks for, wherever alcohol has no word of its own.
fn speaker(ledger: &Ledger) -> Option<usize> {
    SPEAKERS.iter().find_map(|name| match ledger.names.look(name) {
        Looked::Found(Bound::Substance(at)) => ledger
            .substances
            .get(at)
            .is_some_and(|one| is_said(ledger, one))
            .then_some(at),
        _ => None,
    })
}

/// What in a ledger holds alcohol, looked up once.
#[derive(Debug, Clone, Default)]
pub(crate) struct Alcohol {
    /// For each herb and material, whether it holds alcohol of which its own entry says nothing.
    unsaid: Vec<bool>,
    /// The entry that speaks for them.
    pub speaker: Option<usize>,
}

impl Alcohol {
    pub fn of(ledger: &Ledger) -> Self {
        let is_unsaid = |one: &Arc<Substance>| holds(one) && !is_said(ledger, one);
        Self {
            unsaid: ledger.substances.iter().map(is_unsaid).collect(),
            speaker: speaker(ledger),
        }
    }

    /// Whether a herb or material holds alcohol of which its own entry says nothing.
    pub fn is_unsaid(&self, substance: usize) -> bool {
        self.unsaid.get(substance).copied().unwrap_or_default()
    }
}
