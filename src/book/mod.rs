//! Turns deliveries, batches, supplies and counts into what lies on each shelf, movement by movement.
//!
//! Every delivery and every batch has a shelf of its own. What comes in, goes out, is thrown away
//! or is counted there is a [`Movement`] with its day and the line that says so; the movements of a
//! shelf add up to what is left, exactly, whatever the order of the files. What was taken from no
//! lot, or from one that can't be meant, is kept apart and hides nothing.

mod build;
pub mod cost;
pub mod keeping;
pub mod order;
mod own;
pub mod readings;
pub mod size;
pub mod stock;
pub mod trace;
pub mod weighing;

pub use build::limits;

use std::collections::HashMap;

use crate::compute::Amounts;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Ledger, Portion};
use crate::quantity::rounding::{quotient, settled};
use crate::quantity::{Decimal, print};
use crate::source::Span;
use crate::syntax::day::Day;

/// What an amount on a shelf is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// By weight.
    Grams,
    /// By volume.
    Millilitres,
}

impl Unit {
    /// As people write it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Grams => "g",
            Self::Millilitres => "ml",
        }
    }
}

/// An exact amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount {
    /// Of what.
    pub unit: Unit,
    /// How much.
    pub value: Decimal,
}

impl Amount {
    /// All its digits with the unit: `31.4 g`.
    pub fn written(&self) -> String {
        format!("{} {}", print::digits(self.value), self.unit.word())
    }
}

/// What has a shelf of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Holder {
    /// A delivery, by its place in the ledger.
    Lot(usize),
    /// A batch, by its place in the ledger.
    Batch(usize),
}

/// Why an amount on a shelf changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Moved {
    /// It came in.
    Received,
    /// It was made.
    Made,
    /// It went into a batch, by its place in the ledger.
    Used(usize),
    /// It was handed out, by the supply's place in the ledger.
    Supplied(usize),
    /// It was thrown away.
    Discarded,
    /// The shelf was counted; what had gone astray, or was found, is set right.
    Counted,
}

/// One change on a shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// On which day.
    pub day: Day,
    /// Why.
    pub moved: Moved,
    /// By how much; below zero for what goes out.
    pub change: Decimal,
    /// What is left afterwards; below zero where more went out than was there.
    pub left: Decimal,
    /// The line that says so.
    pub span: Span,
}

/// A shelf: one delivery or one batch, and what became of it.
#[derive(Debug, Clone)]
pub struct Shelf {
    /// Whose.
    pub holder: Holder,
    /// Of what.
    pub what: Bound,
    /// What it is counted in; nothing where how much came in is not known.
    pub unit: Option<Unit>,
    /// Until when it is good: what its entry says; for a batch that says nothing, the earliest of
    /// what its formula keeps and of what went in.
    pub best_before: Option<Day>,
    /// Its movements in the order of time.
    pub movements: Vec<Movement>,
}

impl Shelf {
    /// What is left at the end of a day; nothing where it is not known how much came in.
    pub fn left(&self, on: Day) -> Option<Amount> {
        let unit = self.unit?;
        let until = self.movements.partition_point(|movement| movement.day <= on);
        let value = until
            .checked_sub(1)
            .and_then(|last| self.movements.get(last))
            .map_or(Decimal::ZERO, |movement| movement.left);
        Some(Amount { unit, value })
    }

    /// The first movement after which less than nothing was left.
    pub fn first_short(&self) -> Option<&Movement> {
        self.movements
            .iter()
            .find(|movement| movement.left < Decimal::ZERO)
    }

    /// How much came in.
    pub fn came_in(&self) -> Option<Amount> {
        let unit = self.unit?;
        let first = self
            .movements
            .iter()
            .find(|movement| matches!(movement.moved, Moved::Received | Moved::Made))?;
        Some(Amount {
            unit,
            value: first.change,
        })
    }

    /// Whether it is past its best-before on a day.
    pub fn is_past(&self, on: Day) -> bool {
        self.best_before.is_some_and(|last| last < on)
    }
}

/// From where an amount was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Nothing says from where.
    Unsaid,
    /// From a shelf.
    Shelf(Holder),
    /// From a lot or batch that the book doesn't have.
    Unknown,
    /// From a lot of something else.
    Other(Holder),
}

/// Something that went into a batch, or was handed out.
#[derive(Debug, Clone)]
pub struct Taking {
    /// What was taken.
    pub what: Bound,
    /// How much; nothing where it can't be reckoned.
    pub amount: Option<Amount>,
    /// From where.
    pub origin: Origin,
    /// Where the amount stands.
    pub span: Span,
}

/// The whole book.
#[derive(Debug, Clone, Default)]
pub struct DayBook {
    /// A shelf for each lot, in the order of the ledger.
    pub lots: Vec<Shelf>,
    /// A shelf for each batch, in the order of the ledger.
    pub batches: Vec<Shelf>,
    /// What went into each batch, in the order written.
    pub inputs: Vec<Vec<Taking>>,
    /// What each supply took.
    pub supplies: Vec<Taking>,
    /// Batches in an order in which each comes after those that went into it; those that went into
    /// themselves by way of others are left out.
    pub in_order: Vec<usize>,
    /// Amounts that can't be reckoned.
    pub refused: Vec<Diagnostic>,
    ids: HashMap<String, usize>,
    days: HashMap<(Bound, Day, bool), usize>,
}

impl DayBook {
    /// All shelves, those of lots first.
    pub fn shelves(&self) -> impl Iterator<Item = &Shelf> {
        self.lots.iter().chain(&self.batches)
    }

    /// One shelf.
    pub fn shelf(&self, holder: Holder) -> Option<&Shelf> {
        match holder {
            Holder::Lot(at) => self.lots.get(at),
            Holder::Batch(at) => self.batches.get(at),
        }
    }

    /// The lot with an id, in any spelling.
    pub fn lot(&self, id: &str) -> Option<usize> {
        self.ids.get(&crate::naming::folded(id)).copied()
    }

    /// The batch of a formula on a day.
    pub fn batch(&self, what: Bound, day: Day, month_only: bool) -> Option<usize> {
        self.days.get(&(what, day, month_only)).copied()
    }
}

/// What people call a lot or a batch: `PM-114`, `after-supper tea on 2026-11-03`.
pub fn called(ledger: &Ledger, holder: Holder) -> String {
    match holder {
        Holder::Lot(at) => ledger.lots.get(at).map(|lot| lot.id.text.clone()),
        Holder::Batch(at) => ledger.batches.get(at).map(|batch| batch.called()),
    }
    .unwrap_or_default()
}

/// The declared name of a herb, a material or a formula.
pub fn name_of(ledger: &Ledger, what: Bound) -> &str {
    match what {
        Bound::Substance(at) => ledger.substances.get(at).map(|one| one.name.as_str()),
        Bound::Formula(at) => ledger.formulas.get(at).map(|one| one.name.text.as_str()),
        Bound::Unknown => None,
    }
    .unwrap_or_default()
}

/// Grams in a millilitre, where the ledger says so.
fn density(ledger: &Ledger, what: Bound) -> Option<Decimal> {
    match what {
        Bound::Substance(at) => ledger
            .substances
            .get(at)?
            .density
            .map(|stated| stated.value.nominal),
        _ => None,
    }
}

/// An amount in the unit of its shelf; by the density where it is known in the other unit only.
fn in_unit(amounts: &Amounts, unit: Unit, density: Option<Decimal>) -> Option<Decimal> {
    let (own, other) = match unit {
        Unit::Grams => (amounts.grams, amounts.millilitres),
        Unit::Millilitres => (amounts.millilitres, amounts.grams),
    };
    if let Some(own) = own {
        return Some(settled(own.nominal));
    }
    let (other, density) = (other?.nominal, density?);
    let converted = match unit {
        Unit::Grams => other.checked_mul(density)?,
        Unit::Millilitres => quotient(other, density).ok()?,
    };
    Some(settled(converted))
}

/// What an amount is counted in: as it was written, else by weight.
fn unit_of(portion: &Portion, amounts: &Amounts) -> Option<Unit> {
    let is_volume = matches!(portion, Portion::Millilitres(_) | Portion::Drops(_));
    match (amounts.grams, amounts.millilitres) {
        (_, Some(_)) if is_volume => Some(Unit::Millilitres),
        (Some(_), _) => Some(Unit::Grams),
        (None, Some(_)) => Some(Unit::Millilitres),
        (None, None) => None,
    }
}
