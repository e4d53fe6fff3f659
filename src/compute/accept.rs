//! What a formula accepts of its cautions, and what of the formula that it adapts it doesn't take over.

use super::caution::{same_topic, substances_of};
use super::within::opened;
use super::{Composition, Figures};
use crate::model::{Formula, Ledger, Level};
use crate::source::Span;

/// That a caution was accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Acceptance {
    /// Why; nothing if no reason is written, and then it counts for nothing.
    pub reason: Option<String>,
    /// The words that accept it.
    pub span: Span,
}

/// An acceptance of the formula that is adapted, which the adaptation doesn't take over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lapsed {
    /// The formula in whose entry it stands.
    pub formula: String,
    /// What it accepts, as written.
    pub topic: String,
    /// The reason that was written for that formula.
    pub reason: String,
    /// The words that accept it.
    pub span: Span,
    /// Whether it lapses because the adaptation brings in the herb; else because the caution is an `avoid`.
    pub of_a_new_herb: bool,
}

/// One acceptance that a formula has: its own, or one that it keeps of another formula.
struct Kept<'a> {
    topic: &'a str,
    acceptance: Acceptance,
    /// The formula that it was written for, if that is another, and what is in that one.
    from: Option<(&'a str, Vec<usize>)>,
}

/// All acceptances that a formula has.
pub struct Accepts<'a> {
    ledger: &'a Ledger,
    kept: Vec<Kept<'a>>,
}

/// Whether something stands in a formula's own entry.
pub fn is_in_entry(formula: &Formula, span: Span) -> bool {
    span.file == formula.entry.file && (formula.entry.start..=formula.entry.end).contains(&span.start)
}

impl<'a> Accepts<'a> {
    /// Gathers them, each with the formula that it was written for.
    pub fn of_formula(ledger: &'a Ledger, figures: &Figures, composition: &'a Composition) -> Self {
        let formula = &composition.formula;
        let author = |span: Span| {
            if is_in_entry(formula, span) {
                return None;
            }
            let at = ledger
                .formulas
                .iter()
                .position(|other| is_in_entry(other, span))?;
            let held = opened(ledger, figures, at).map(|other| substances_of(ledger, figures, &other));
            let name = ledger.formulas.get(at)?.name.text.as_str();
            Some((name, held.unwrap_or_default()))
        };
        let kept = formula.accepts.iter().map(|(topic, reason)| Kept {
            topic: &topic.text,
            acceptance: Acceptance {
                reason: reason.clone().filter(|reason| !reason.trim().is_empty()),
                span: topic.span,
            },
            from: author(topic.span),
        });
        Self {
            ledger,
            kept: kept.collect(),
        }
    }

    /// What of it accepts a caution of a herb, and what of the adapted formula would and doesn't hold
    /// here. A reason was written for what that formula had before it: so an `avoid` needs one of
    /// its own, and so does a herb that comes in by the adaptation.
    pub fn of(&self, herb: usize, topic: &str, level: Level) -> (Option<Acceptance>, Option<Lapsed>) {
        let about = || {
            self.kept
                .iter()
                .filter(|one| same_topic(self.ledger, one.topic, topic))
        };
        let is_new = |one: &Kept<'_>| one.from.as_ref().is_some_and(|(_, held)| !held.contains(&herb));
        let holds = |one: &&Kept<'_>| one.from.is_none() || (level < Level::Avoid && !is_new(one));
        // Of two lines on one topic the one with a reason speaks.
        let accepted = about()
            .filter(holds)
            .min_by_key(|one| one.acceptance.reason.is_none())
            .map(|one| one.acceptance.clone());
        if accepted.as_ref().is_some_and(|one| one.reason.is_some()) {
            return (accepted, None);
        }
        let lapsed = about().filter(|one| !holds(one)).find_map(|one| {
            Some(Lapsed {
                formula: one.from.as_ref()?.0.to_owned(),
                topic: one.topic.to_owned(),
                reason: one.acceptance.reason.clone()?,
                span: one.acceptance.span,
                of_a_new_herb: is_new(one),
            })
        });
        (accepted, lapsed)
    }
}
