//! A person as far as checks need to know: a case code, an age, and facts. Never a name.

use super::topic::FactKind;
use crate::quantity::Decimal;
use crate::source::Span;

/// One thing that is known of a person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fact {
    /// What sort of fact.
    pub kind: FactKind,
    /// As written.
    pub words: String,
    /// Where, if it stands in the ledger.
    pub span: Option<Span>,
}

impl Fact {
    /// The fact as one says it of somebody: `is pregnant`, `is allergic to Asteraceae`.
    pub fn said(&self) -> String {
        match self.kind {
            FactKind::Is | FactKind::Takes => format!("{} {}", self.kind.word(), self.words),
            FactKind::Allergic => format!("is allergic to {}", self.words),
        }
    }
}

/// Whom a formula is for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Person {
    /// The case code; nothing for facts given on the command line.
    pub code: Option<String>,
    /// Where the case code is declared.
    pub span: Option<Span>,
    /// Age in years, exact for months.
    pub years: Option<Decimal>,
    /// Weight in grams.
    pub grams: Option<Decimal>,
    /// What else is known.
    pub facts: Vec<Fact>,
    /// The person's own constitution, as tradition names it.
    pub nature: Vec<String>,
    /// The same, each with its place.
    pub nature_lines: Vec<(String, Span)>,
    /// What else is written about them.
    pub notes: Vec<(String, Span)>,
    /// Whether a line of the entry was refused.
    pub refused: bool,
}

impl Person {
    /// The person in words: `person 017: 34 years, is pregnant, takes anticoagulants`.
    pub fn described(&self) -> String {
        let mut known = Vec::new();
        if let Some(years) = self.years {
            known.push(format!("{} years", crate::quantity::print::short(years, 2)));
        }
        if let Some(grams) = self.grams {
            let kilograms =
                crate::quantity::rounding::quotient(grams, Decimal::ONE_THOUSAND).unwrap_or_default();
            known.push(format!("{} kg", crate::quantity::print::short(kilograms, 1)));
        }
        for fact in &self.facts {
            known.push(fact.said());
        }
        let known = if known.is_empty() {
            "nothing else is known".to_owned()
        } else {
            known.join(", ")
        };
        match &self.code {
            Some(code) => format!("person {code}: {known}"),
            None => known,
        }
    }
}
