//! What cautions are about, and the facts of a person that they concern.

use std::sync::LazyLock;

use crate::naming::{folded, same_but_for_number};
use crate::quantity::Decimal;
use crate::source::{Sources, Span};
use crate::syntax;
use crate::syntax::tree::{Body, Entry, Kind, Name};

/// What sort of fact a person entry states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FactKind {
    /// `is pregnant`.
    Is,
    /// `takes anticoagulants`.
    Takes,
    /// `allergic Asteraceae`.
    Allergic,
}

impl FactKind {
    /// The line word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Is => "is",
            Self::Takes => "takes",
            Self::Allergic => "allergic",
        }
    }

    /// A topic's name as it stands after the line word: who is `allergic Labiatae` is asked for by
    /// the topic `allergy Labiatae`.
    pub fn after(self, name: &str) -> &str {
        match self {
            Self::Allergic => name.strip_prefix("allergy ").unwrap_or(name),
            Self::Is | Self::Takes => name,
        }
    }

    /// The kind that a line word names.
    pub fn named(word: &str) -> Option<Self> {
        [Self::Is, Self::Takes, Self::Allergic]
            .into_iter()
            .find(|kind| kind.word() == word)
    }
}

/// What cautions are about.
#[derive(Debug, Clone)]
pub struct Topic {
    /// Its name.
    pub name: String,
    /// Other names of it, folded, its own first.
    pub names: Vec<String>,
    /// Whether it concerns everyone.
    pub everyone: bool,
    /// The facts that it concerns, folded.
    pub when: Vec<(FactKind, String)>,
    /// What herbs of this topic do, where two of them add up.
    pub effect: Option<String>,
    /// Where the ledger declares it; nowhere if it is built in.
    pub span: Option<Span>,
}

impl Topic {
    /// Reads a `topic` entry; what it does not understand after `when` goes to `slips`.
    pub fn read(entry: &Entry, built_in: bool, slips: &mut Vec<Name>) -> Option<Self> {
        let name = entry.name.as_ref()?;
        let mut topic = Self {
            name: name.text.clone(),
            names: vec![folded(&name.text)],
            everyone: false,
            when: Vec::new(),
            effect: None,
            span: (!built_in).then_some(name.span),
        };
        for line in &entry.lines {
            match (&line.body, line.word.text.as_str()) {
                (Body::Names(names), "also") => {
                    topic.names.extend(names.iter().map(|name| folded(&name.text)));
                }
                (Body::Names(names), "when") => {
                    for name in names {
                        let said = folded(&name.text);
                        if said == "everyone" {
                            topic.everyone = true;
                        } else if let Some((word, fact)) = said.split_once(' ')
                            && let Some(kind) = FactKind::named(word)
                        {
                            topic.when.push((kind, fact.to_owned()));
                        } else {
                            slips.push(name.clone());
                        }
                    }
                }
                (Body::Words(words), "effect") => topic.effect = Some(words.text.clone()),
                _ => {}
            }
        }
        Some(topic)
    }

    /// Adds what another topic of the same name says; its effect gives way to our own.
    pub fn join(&mut self, other: &Self) {
        self.names.extend(other.names.iter().cloned());
        self.when.extend(other.when.iter().cloned());
        self.everyone |= other.everyone;
        self.effect = self.effect.take().or_else(|| other.effect.clone());
    }

    /// Whether this is what a caution or an acceptance calls by a name.
    pub fn is_called(&self, name: &str) -> bool {
        self.has(&folded(name))
    }

    /// The same for a name that is folded already.
    pub fn has(&self, folded: &str) -> bool {
        self.names.iter().any(|own| same_but_for_number(own, folded))
    }

    /// Whether a fact of a person is one that it concerns.
    pub fn concerns(&self, kind: FactKind, fact: &str) -> bool {
        let fact = folded(fact);
        self.when
            .iter()
            .any(|(own, said)| *own == kind && same_but_for_number(said, &fact))
            // `takes warfarin` is as good as `takes anticoagulants`, `is pregnancy` as `is pregnant`.
            || (self.when.iter().any(|(own, _)| *own == kind)
                && self.names.iter().any(|own| {
                    same_but_for_number(own, &fact) || same_but_for_number(kind.after(own), &fact)
                }))
    }
}

/// Where the topic with a name stands among others; see [`super::Ledger::topic`].
pub(super) fn place_of(topics: &[Topic], name: &str) -> Option<usize> {
    let called = |name: &str| {
        let name = folded(name);
        topics.iter().position(|topic| topic.has(&name))
    };
    called(name).or_else(|| match said_plainly(name) {
        Plain::Name(name) => called(&name),
        Plain::LengthOfUse => called("duration"),
    })
}

/// The topics that come with the program, written in the language itself.
pub fn built_in() -> &'static [Topic] {
    static TOPICS: LazyLock<Vec<Topic>> = LazyLock::new(|| {
        let text = include_str!("../reference/topics.scruple");
        let file = Sources::default().add("topics.scruple", text.into());
        let (tree, _) = syntax::parse(file, text);
        tree.entries
            .iter()
            .filter(|entry| entry.kind == Kind::Topic)
            .filter_map(|entry| Topic::read(entry, true, &mut Vec::new()))
            .collect()
    });
    &TOPICS
}

/// An age in years, as written: `12`, `12 years`, `6 months`.
fn years(age: &str, unit: &[&str]) -> Option<Decimal> {
    let age: Decimal = age.parse().ok()?;
    match unit {
        [] | ["year" | "years"] => Some(age),
        ["month" | "months"] => crate::quantity::rounding::quotient(age, Decimal::from(12_u32)).ok(),
        _ => None,
    }
}

/// An age that a caution's topic names: `age under 12`, `age over 65`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AgeTopic {
    /// Under so many years.
    Under(Decimal),
    /// Over so many years.
    Over(Decimal),
}

/// What a caution's topic comes to when it is said in plain words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Plain {
    /// A name, without the words before it: `not during pregnancy` is `pregnancy`.
    Name(String),
    /// How long something is taken: `not longer than two weeks`.
    LengthOfUse,
}

/// Words that may stand before the name of a topic.
const BEFORE: [&str; 9] = [
    "not for ",
    "not in ",
    "not during ",
    "not with ",
    "not while ",
    "in ",
    "during ",
    "for ",
    "with ",
];

/// Words that begin how long something may be taken.
const LENGTHS: [&str; 8] = [
    "longer than ",
    "not longer than ",
    "no longer than ",
    "not more than ",
    "no more than ",
    "at most ",
    "for at most ",
    "not for more than ",
];

/// Takes the plain words off a topic. `grammar/cautions.md` lists them.
pub fn said_plainly(topic: &str) -> Plain {
    let topic = folded(topic);
    let time = ["day", "days", "week", "weeks", "month", "months", "year", "years"];
    if LENGTHS.iter().any(|words| topic.starts_with(words))
        && topic.split(' ').any(|word| time.contains(&word))
    {
        return Plain::LengthOfUse;
    }
    let rest = BEFORE.iter().find_map(|words| topic.strip_prefix(words));
    Plain::Name(rest.unwrap_or(&topic).to_owned())
}

/// The ages that words for people mean, always the wider reading: a caution that asks once too
/// often is better than one that doesn't ask. Infants are under two years old (ICH E11), a child is
/// a human being below the age of eighteen (Convention on the Rights of the Child, article 1), the
/// elderly are 65 and over (ICH E7); from memory. Small children: common practice, no source.
const AGES: [(&[&str], AgeWord); 4] = [
    (&["infant", "baby", "newborn", "newborn child"], AgeWord::Under(2)),
    (
        &[
            "small child",
            "small children",
            "young child",
            "young children",
            "toddler",
        ],
        AgeWord::Under(6),
    ),
    (
        &[
            "child",
            "children",
            "children and adolescent",
            "adolescent",
            "teenager",
            "minor",
            "young people",
        ],
        AgeWord::Under(18),
    ),
    (
        &["elderly", "the elderly", "old people", "older people", "old age"],
        AgeWord::Over(64),
    ),
];

/// An age in whole years.
#[derive(Clone, Copy)]
enum AgeWord {
    Under(u32),
    Over(u32),
}

impl AgeTopic {
    /// Reads a topic that speaks of an age, as `age under 12`, `children` or `not for children under
    /// 6`; nothing if it is another topic.
    pub fn read(topic: &str) -> Option<Self> {
        let Plain::Name(topic) = said_plainly(topic) else {
            return None;
        };
        let words: Vec<&str> = topic.split(' ').collect();
        match words.as_slice() {
            [
                "age" | "child" | "children" | "infants" | "babies",
                "under",
                age,
                unit @ ..,
            ]
            | ["under", age, unit @ ..] => years(age, unit).map(Self::Under),
            ["age" | "people", "over", age, unit @ ..] | ["over", age, unit @ ..] => {
                years(age, unit).map(Self::Over)
            }
            _ => AGES
                .iter()
                .find(|(names, _)| names.iter().any(|name| same_but_for_number(name, &topic)))
                .map(|(_, age)| match age {
                    AgeWord::Under(years) => Self::Under(Decimal::from(*years)),
                    AgeWord::Over(years) => Self::Over(Decimal::from(*years)),
                }),
        }
    }

    /// The age in words: `under 12 years old`.
    pub fn said(self) -> String {
        let (word, years) = match self {
            Self::Under(years) => ("under", years),
            Self::Over(years) => ("over", years),
        };
        let old = if years == Decimal::ONE { "year" } else { "years" };
        format!("{word} {} {old} old", crate::quantity::print::short(years, 2))
    }

    /// Whether an age in years is one that it concerns.
    pub fn concerns(self, years: Decimal) -> bool {
        match self {
            Self::Under(bound) => years < bound,
            Self::Over(bound) => years > bound,
        }
    }
}
