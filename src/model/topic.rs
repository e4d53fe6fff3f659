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
        let name = folded(name);
        self.names.iter().any(|own| same_but_for_number(own, &name))
    }

    /// Whether a fact of a person is one that it concerns.
    pub fn concerns(&self, kind: FactKind, fact: &str) -> bool {
        let fact = folded(fact);
        self.when
            .iter()
            .any(|(own, said)| *own == kind && same_but_for_number(said, &fact))
            // `takes warfarin` is as good as `takes anticoagulants`, `is pregnancy` as `is pregnant`.
            || (self.when.iter().any(|(own, _)| *own == kind)
                && self.names.iter().any(|own| same_but_for_number(own, &fact)))
    }
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

impl AgeTopic {
    /// Reads a topic that begins with `age`; nothing if it is another topic.
    pub fn read(topic: &str) -> Option<Self> {
        let topic = folded(topic);
        let words: Vec<&str> = topic.split(' ').collect();
        match words.as_slice() {
            ["age", "under", age, unit @ ..] => years(age, unit).map(Self::Under),
            ["age", "over", age, unit @ ..] => years(age, unit).map(Self::Over),
            _ => None,
        }
    }

    /// Whether an age in years is one that it concerns.
    pub fn concerns(self, years: Decimal) -> bool {
        match self {
            Self::Under(bound) => years < bound,
            Self::Over(bound) => years > bound,
        }
    }
}
