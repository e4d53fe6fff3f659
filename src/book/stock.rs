//! What is left of each thing on a day, lot by lot, and for how long it will do.

use std::collections::BTreeMap;

use super::{Amount, DayBook, Holder, Moved, Origin, Shelf, Unit};
use crate::model::{Bound, Ledger};
use crate::quantity::Decimal;
use crate::quantity::rounding::quotient;
use crate::syntax::day::{self, Day};

/// Over how many days the recent use is taken.
pub const RECENT_DAYS: i32 = 60;

/// What is left of one thing.
#[derive(Debug, Clone)]
pub struct Stock {
    /// What.
    pub what: Bound,
    /// Its lots and batches that hold anything, or less than nothing; those that expire first, first.
    pub shelves: Vec<Left>,
    /// Lots of it that have not come in yet.
    pub on_the_way: Vec<usize>,
    /// All that is left, in each unit that it is counted in.
    pub left: Vec<Amount>,
    /// What was taken from no lot, or from one that can't be meant: it is still in what is left.
    pub unassigned: Vec<Amount>,
    /// For how many days that will do, at the rate of the last [`RECENT_DAYS`]; nothing where none was used.
    pub cover_days: Option<Decimal>,
}

/// What is left on one shelf.
#[derive(Debug, Clone)]
pub struct Left {
    /// Which.
    pub holder: Holder,
    /// How much; nothing where it is not known how much came in.
    pub amount: Option<Amount>,
    /// Until when it is good.
    pub best_before: Option<Day>,
    /// Whether that is over.
    pub is_past: bool,
}

/// Adds an amount to sums by unit.
pub(super) fn add(sums: &mut Vec<Amount>, more: Amount) {
    match sums.iter_mut().find(|sum| sum.unit == more.unit) {
        Some(sum) => {
            if let Some(value) = sum.value.checked_add(more.value) {
                sum.value = value;
            }
        }
        None => sums.push(more),
    }
}

/// What expires first stands first; what has no date stands last, in the order of arrival.
fn fefo(shelf: &Shelf) -> (bool, Option<Day>, Option<Day>, Holder) {
    let came = shelf.movements.first().map(|movement| movement.day);
    (shelf.best_before.is_none(), shelf.best_before, came, shelf.holder)
}

/// The stock of everything that the book has, at the end of a day, by name.
pub fn of_everything(ledger: &Ledger, book: &DayBook, on: Day) -> Vec<Stock> {
    let mut by_thing: BTreeMap<Bound, Vec<&Shelf>> = BTreeMap::new();
    for shelf in book.shelves().filter(|shelf| shelf.what != Bound::Unknown) {
        by_thing.entry(shelf.what).or_default().push(shelf);
    }
    let rates = rates(ledger, book, on);
    let unassigned = unassigned(ledger, book, on);
    for what in unassigned.keys() {
        by_thing.entry(*what).or_default();
    }
    let mut found: Vec<Stock> = by_thing
        .into_iter()
        .map(|(what, mut shelves)| {
            shelves.sort_by_key(|shelf| fefo(shelf));
            stock(
                ledger,
                (what, &shelves),
                rates.get(&what).map(Vec::as_slice).unwrap_or_default(),
                unassigned.get(&what).cloned().unwrap_or_default(),
                on,
            )
        })
        .collect();
    found.sort_by_cached_key(|one| crate::naming::folded(super::name_of(ledger, one.what)));
    found
}

fn stock(
    ledger: &Ledger,
    (what, shelves): (Bound, &[&Shelf]),
    rates: &[Amount],
    unassigned: Vec<Amount>,
    on: Day,
) -> Stock {
    let mut left = Vec::new();
    let mut shown = Vec::new();
    let mut on_the_way = Vec::new();
    for shelf in shelves {
        let lot = match shelf.holder {
            Holder::Lot(at) => ledger.lots.get(at).map(|lot| (at, lot)),
            Holder::Batch(_) => None,
        };
        if let Some((at, lot)) = lot
            && lot.received.is_none_or(|received| received.first > on)
        {
            on_the_way.push(at);
            if shelf.movements.iter().all(|movement| movement.day > on) {
                continue;
            }
        }
        let begun = shelf.movements.first().is_some_and(|movement| movement.day <= on);
        let amount = shelf.left(on);
        if let Some(amount) = amount {
            add(&mut left, amount);
        }
        if amount.map_or(begun || lot.is_some(), |amount| !amount.value.is_zero()) {
            shown.push(Left {
                holder: shelf.holder,
                amount,
                best_before: shelf.best_before,
                is_past: shelf.is_past(on),
            });
        }
    }
    let cover_days = match (left.as_slice(), rates) {
        ([left], [rate]) if left.unit == rate.unit && rate.value > Decimal::ZERO => left
            .value
            .checked_mul(Decimal::from(RECENT_DAYS))
            .and_then(|all| quotient(all.max(Decimal::ZERO), rate.value).ok()),
        _ => None,
    };
    Stock {
        what,
        shelves: shown,
        on_the_way,
        left,
        unassigned,
        cover_days,
    }
}

/// What of each thing went out in the last days, from whatever lot.
fn rates(ledger: &Ledger, book: &DayBook, on: Day) -> BTreeMap<Bound, Vec<Amount>> {
    let from = day::days_after(on, 0_i32.saturating_sub(RECENT_DAYS));
    let mut rates: BTreeMap<Bound, Vec<Amount>> = BTreeMap::new();
    let recent = |day: Day| day > from && day <= on;
    for (batch, takings) in ledger.batches.iter().zip(&book.inputs) {
        if recent(batch.day.first) {
            for taking in takings {
                if let Some(amount) = taking.amount {
                    add(rates.entry(taking.what).or_default(), amount);
                }
            }
        }
    }
    for (supply, taking) in ledger.supplies.iter().zip(&book.supplies) {
        if recent(supply.day.first)
            && let Some(amount) = taking.amount
        {
            add(rates.entry(taking.what).or_default(), amount);
        }
    }
    rates
}

/// What was taken up to a day, and no line says from which lot.
fn unassigned(ledger: &Ledger, book: &DayBook, on: Day) -> BTreeMap<Bound, Vec<Amount>> {
    let used = ledger
        .batches
        .iter()
        .zip(&book.inputs)
        .filter(|(batch, _)| batch.day.first <= on)
        .flat_map(|(_, takings)| takings);
    let supplied = ledger
        .supplies
        .iter()
        .zip(&book.supplies)
        .filter(|(supply, _)| supply.day.first <= on)
        .map(|(_, taking)| taking);
    let mut found: BTreeMap<Bound, Vec<Amount>> = BTreeMap::new();
    for taking in used.chain(supplied) {
        if !matches!(taking.origin, Origin::Shelf(_))
            && !is_tap_water(ledger, taking.what)
            && taking.what != Bound::Unknown
            && let Some(amount) = taking.amount
        {
            add(found.entry(taking.what).or_default(), amount);
        }
    }
    found
}

/// Water that no entry declares comes from the tap, and has no lots.
pub fn is_tap_water(ledger: &Ledger, what: Bound) -> bool {
    matches!(what, Bound::Substance(at) if ledger.substances.get(at).is_some_and(|one| one.entry.is_none()))
}

/// What is there of one thing and still good on a day; nothing where some of it is not known.
pub fn good(ledger: &Ledger, book: &DayBook, what: Bound, on: Day) -> Option<Vec<Amount>> {
    let mut sums = Vec::new();
    for shelf in usable(book, what, on) {
        add(&mut sums, shelf.left(on)?);
    }
    // What was taken from no lot is gone all the same.
    if let Some(gone) = unassigned(ledger, book, on).get(&what) {
        for amount in gone {
            add(
                &mut sums,
                Amount {
                    unit: amount.unit,
                    value: Decimal::ZERO.checked_sub(amount.value)?,
                },
            );
        }
    }
    Some(sums)
}

/// The shelves from which something may be taken on a day, those that expire first, first.
fn usable(book: &DayBook, what: Bound, on: Day) -> Vec<&Shelf> {
    let mut shelves: Vec<&Shelf> = book
        .shelves()
        .filter(|shelf| {
            let here = shelf.movements.iter().any(|movement| {
                matches!(movement.moved, Moved::Received | Moved::Made) && movement.day <= on
            });
            shelf.what == what && here && !shelf.is_past(on)
        })
        .collect();
    shelves.sort_by_key(|shelf| fefo(shelf));
    shelves
}

/// What might be taken from where, to have so much of something: a proposal, first expiring first.
#[derive(Debug, Clone, Default)]
pub struct Proposal {
    /// So much from these.
    pub from: Vec<(Holder, Decimal)>,
    /// What is missing then.
    pub missing: Decimal,
}

/// Proposes shelves for an amount of something.
pub fn propose(book: &DayBook, what: Bound, unit: Unit, amount: Decimal, on: Day) -> Proposal {
    let mut open = amount;
    let mut from = Vec::new();
    for shelf in usable(book, what, on) {
        let Some(left) = shelf.left(on).filter(|left| left.unit == unit) else {
            continue;
        };
        if open <= Decimal::ZERO {
            break;
        }
        let taken = left.value.min(open);
        if taken > Decimal::ZERO {
            from.push((shelf.holder, taken));
            open = open.checked_sub(taken).unwrap_or_default();
        }
    }
    Proposal {
        from,
        missing: open.max(Decimal::ZERO),
    }
}
