//! What to buy: what planned batches and minimum stock need, less what there is, in the packs that are sold.

use std::collections::BTreeMap;

use super::size::{self, Reckoned};
use super::stock::{self, add};
use super::{Amount, DayBook, Unit, in_unit};
use crate::compute::amount_of;
use crate::compute::batch::Refusal;
use crate::model::{Bound, Portion};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Overflow};
use crate::source::Span;
use crate::syntax::day::Day;
use crate::syntax::tree::Name;

/// What is to be bought of one thing.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// What.
    pub what: Bound,
    /// What all figures are in.
    pub unit: Unit,
    /// What planned batches take.
    pub planned: Decimal,
    /// What there should always be.
    pub minimum: Decimal,
    /// What there is and is still good.
    pub there: Decimal,
    /// What is ordered already.
    pub on_the_way: Decimal,
    /// What is missing.
    pub missing: Decimal,
    /// In which packs, from whom; nothing where no pack is known.
    pub packs: Option<Packs>,
    /// What may be taken in its place and is there, if a person decides so.
    pub instead: Vec<(Bound, Amount)>,
}

/// Packs of one seller that hold what is missing.
#[derive(Debug, Clone)]
pub struct Packs {
    /// Who sells them.
    pub seller: Option<String>,
    /// How many of which size, the largest first.
    pub sizes: Vec<(Decimal, Decimal)>,
    /// How much that is.
    pub amount: Decimal,
    /// What it costs; nothing where a pack has no price and the herb has none.
    pub cost: Option<Decimal>,
}

/// What to buy, and what can't be told.
#[derive(Debug, Clone, Default)]
pub struct Order {
    /// What is missing, by name.
    pub wanted: Vec<Wanted>,
    /// Planned batches that can't be reckoned: which, and why.
    pub refused: Vec<(usize, Refusal)>,
    /// How many batches are planned.
    pub planned: usize,
    /// Blends that planned batches take and that are not there: they are made, not bought.
    pub to_make: Vec<(Bound, Amount)>,
}

/// Reckons what to buy, with what there is at the end of a day.
///
/// # Errors
/// [`Overflow`] where a figure doesn't fit.
pub fn order(reckoned: Reckoned<'_>, book: &DayBook, on: Day) -> Result<Order, Overflow> {
    let ledger = reckoned.ledger;
    let mut order = Order::default();
    let mut needs: BTreeMap<Bound, Vec<Amount>> = BTreeMap::new();
    for (at, batch) in ledger
        .batches
        .iter()
        .enumerate()
        .filter(|(_, batch)| !batch.is_made())
    {
        order.planned = order.planned.saturating_add(1);
        let sized = match size::of_batch(reckoned, book, at, batch) {
            Ok(sized) => sized,
            Err(refusal) => {
                order.refused.push((at, refusal));
                continue;
            }
        };
        for line in &sized.sheet.lines {
            let unit = if line.grams.is_some() {
                Unit::Grams
            } else {
                Unit::Millilitres
            };
            if let Some(value) = line.target {
                add(
                    needs.entry(line.figure.taken.what).or_default(),
                    Amount { unit, value },
                );
            }
        }
    }
    for (at, substance) in ledger.substances.iter().enumerate() {
        if substance.minimum.is_some() {
            needs.entry(Bound::Substance(at)).or_default();
        }
    }
    for (what, planned) in needs {
        if stock::is_tap_water(ledger, what) {
            continue;
        }
        let wanted = wanted(reckoned, book, what, &planned, on)?;
        if wanted.missing <= Decimal::ZERO {
            continue;
        }
        if matches!(what, Bound::Formula(_)) {
            let value = wanted.missing;
            order.to_make.push((
                what,
                Amount {
                    unit: wanted.unit,
                    value,
                },
            ));
        } else {
            order.wanted.push(wanted);
        }
    }
    order
        .wanted
        .sort_by_cached_key(|one| crate::naming::folded(super::name_of(ledger, one.what)));
    Ok(order)
}

/// An amount of something in one unit.
fn reckon(reckoned: Reckoned<'_>, what: Bound, portion: &Portion, span: Span, unit: Unit) -> Option<Decimal> {
    let name = Name {
        text: super::name_of(reckoned.ledger, what).to_owned(),
        span,
    };
    let amounts = amount_of(
        reckoned.ledger,
        reckoned.faults,
        reckoned.figures,
        (&name, what),
        span,
        portion,
    )
    .ok()?;
    in_unit(&amounts, unit, super::density(reckoned.ledger, what))
}

fn wanted(
    reckoned: Reckoned<'_>,
    book: &DayBook,
    what: Bound,
    planned: &[Amount],
    on: Day,
) -> Result<Wanted, Overflow> {
    let ledger = reckoned.ledger;
    let substance = match what {
        Bound::Substance(at) => ledger.substances.get(at),
        _ => None,
    };
    let minimum = substance.and_then(|one| one.minimum.as_ref());
    let unit = match (planned.first(), minimum.map(|stated| &stated.value)) {
        (Some(amount), _) => amount.unit,
        (None, Some(Portion::Millilitres(_))) => Unit::Millilitres,
        _ => Unit::Grams,
    };
    let sum = |amounts: &[Amount]| -> Result<Decimal, Overflow> {
        let mut sum = Decimal::ZERO;
        for amount in amounts {
            let own = if amount.unit == unit {
                Some(amount.value)
            } else {
                super::density(ledger, what).and_then(|density| match unit {
                    Unit::Grams => amount.value.checked_mul(density),
                    Unit::Millilitres => quotient(amount.value, density).ok(),
                })
            };
            sum = sum.checked_add(own.unwrap_or_default()).ok_or(Overflow)?;
        }
        Ok(sum)
    };
    let planned = sum(planned)?;
    let minimum = minimum
        .and_then(|stated| reckon(reckoned, what, &stated.value, stated.span?, unit))
        .unwrap_or_default();
    let there = sum(&stock::good(ledger, book, what, on).unwrap_or_default())?.max(Decimal::ZERO);
    let mut on_the_way = Decimal::ZERO;
    for lot in ledger.lots.iter().filter(|lot| lot.what == what) {
        let is_coming = lot.received.is_none_or(|received| received.first > on);
        if let (true, Some(stated)) = (is_coming, &lot.amount) {
            let amount = reckon(reckoned, what, &stated.value, lot.head, unit).unwrap_or_default();
            on_the_way = on_the_way.checked_add(amount).ok_or(Overflow)?;
        }
    }
    let missing = planned
        .checked_add(minimum)
        .and_then(|need| need.checked_sub(there))
        .and_then(|need| need.checked_sub(on_the_way))
        .ok_or(Overflow)?;
    let mut instead = Vec::new();
    if missing > Decimal::ZERO {
        for (_, other) in substance.into_iter().flat_map(|one| &one.instead) {
            for left in stock::good(ledger, book, *other, on).unwrap_or_default() {
                if left.value > Decimal::ZERO {
                    instead.push((*other, left));
                }
            }
        }
    }
    Ok(Wanted {
        what,
        unit,
        planned,
        minimum,
        there,
        on_the_way,
        missing,
        packs: packs(reckoned, what, unit, missing)?,
        instead,
    })
}

/// A pack in the unit of what is missing.
#[derive(Debug, Clone, Copy)]
struct Size {
    amount: Decimal,
    cost: Option<Decimal>,
}

/// The packs of the seller from whom what is missing costs least; where a price is not known, of
/// the seller from whom least is left over.
fn packs(
    reckoned: Reckoned<'_>,
    what: Bound,
    unit: Unit,
    missing: Decimal,
) -> Result<Option<Packs>, Overflow> {
    let Bound::Substance(at) = what else {
        return Ok(None);
    };
    let Some(substance) = reckoned.ledger.substances.get(at) else {
        return Ok(None);
    };
    if missing <= Decimal::ZERO {
        return Ok(None);
    }
    let price = substance.prices.first().and_then(|price| {
        let per = reckon(reckoned, what, &price.per, price.span, unit)?;
        Some((price.money, per))
    });
    let mut sellers: Vec<(Option<String>, Vec<Size>)> = Vec::new();
    for pack in &substance.packs {
        let Some(amount) = reckon(reckoned, what, &pack.amount, pack.span, unit) else {
            continue;
        };
        let listed = price.and_then(|(money, per)| super::cost::share(money, amount, per).ok());
        let size = Size {
            amount,
            cost: pack.money.or(listed),
        };
        match sellers.iter_mut().find(|(seller, _)| *seller == pack.seller) {
            Some((_, sizes)) => sizes.push(size),
            None => sellers.push((pack.seller.clone(), vec![size])),
        }
    }
    let mut best: Option<Packs> = None;
    for (seller, mut sizes) in sellers {
        sizes.sort_by_key(|size| std::cmp::Reverse(size.amount));
        let Some(chosen) = fill(&sizes, missing)? else {
            continue;
        };
        let one = Packs {
            seller,
            amount: chosen.amount,
            cost: chosen.cost,
            sizes: chosen.packs,
        };
        let better = best.as_ref().is_none_or(|best| match (one.cost, best.cost) {
            (Some(own), Some(other)) => own < other,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => one.amount < best.amount,
        });
        if better {
            best = Some(one);
        }
    }
    Ok(best)
}

#[derive(Debug, Clone)]
struct Chosen {
    packs: Vec<(Decimal, Decimal)>,
    amount: Decimal,
    cost: Option<Decimal>,
}

/// So many of each size, the largest first, that together they hold what is missing: of each size
/// as many as go in, or one more and then no smaller ones; the cheapest of these ways, else the one
/// that leaves least over.
fn fill(sizes: &[Size], missing: Decimal) -> Result<Option<Chosen>, Overflow> {
    let Some((size, smaller)) = sizes.split_first() else {
        return Ok(None);
    };
    let of_this = |count: Decimal| -> Result<Chosen, Overflow> {
        Ok(Chosen {
            packs: if count.is_zero() {
                Vec::new()
            } else {
                vec![(count, size.amount)]
            },
            amount: size.amount.checked_mul(count).ok_or(Overflow)?,
            cost: size.cost.and_then(|cost| cost.checked_mul(count)),
        })
    };
    let whole = quotient(missing, size.amount)?.floor();
    let full = of_this(whole)?;
    let rest = missing.checked_sub(full.amount).ok_or(Overflow)?;
    if rest.is_zero() {
        return Ok(Some(full));
    }
    let over = of_this(whole.checked_add(Decimal::ONE).ok_or(Overflow)?)?;
    let Some(more) = fill(smaller, rest)? else {
        return Ok(Some(over));
    };
    let cost = if whole.is_zero() {
        more.cost
    } else {
        full.cost.zip(more.cost).and_then(|(a, b)| a.checked_add(b))
    };
    let mixed = Chosen {
        packs: full.packs.into_iter().chain(more.packs).collect(),
        amount: full.amount.checked_add(more.amount).ok_or(Overflow)?,
        cost,
    };
    let mixed_is_better = match (mixed.cost, over.cost) {
        (Some(mixed), Some(over)) => mixed < over,
        _ => mixed.amount < over.amount,
    };
    Ok(Some(if mixed_is_better { mixed } else { over }))
}
