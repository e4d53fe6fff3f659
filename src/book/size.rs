//! How much a batch is to make: as its `make` line says, as stock allows, or as what went in comes to.

use std::collections::BTreeMap;

use super::{Amount, DayBook, Unit, own};
use crate::compute::batch::{self, Refusal, Target};
use crate::compute::make::{self, Plan};
use crate::compute::{Composition, Figures, How};
use crate::model::{Batch, Bound, Faults, Ledger};
use crate::quantity::rounding::{quotient, settled};
use crate::quantity::{Checked, Decimal, Overflow};
use crate::syntax::day::Day;
use crate::syntax::tree::Make;

/// A batch at its size, rounded to the scales.
#[derive(Debug, Clone)]
pub struct Sized {
    /// How the size came about.
    pub plan: Plan,
    /// What to weigh.
    pub sheet: batch::Batch,
    /// What stock allows, where that was asked for.
    pub allowed: Option<Allowed>,
}

/// How much of a formula stock allows.
#[derive(Debug, Clone)]
pub struct Allowed {
    /// How many times the formula's own size, or its parts in grams.
    pub times: Decimal,
    /// What runs out first; several, if they run out together.
    pub limited_by: Vec<Bound>,
}

/// What one needs to know of a ledger to size a batch.
#[derive(Debug, Clone, Copy)]
pub struct Reckoned<'a> {
    /// Names and lines.
    pub ledger: &'a Ledger,
    /// What has no figures.
    pub faults: &'a Faults,
    /// What formulas come to.
    pub figures: &'a Figures,
}

impl<'a> Reckoned<'a> {
    /// The figures of the formula that a batch is of.
    ///
    /// # Errors
    /// [`Refusal`] where it has none.
    pub fn composition(&self, batch: &Batch) -> Result<(usize, &'a Composition), Refusal> {
        match batch.what {
            Bound::Formula(at) => self.figures.of(at).map(|composition| (at, composition)),
            _ => None,
        }
        .ok_or_else(|| {
            Refusal::new(
                format!("no figures are given for {}", batch.name.text),
                "`scruple check` shows what to mend first",
            )
        })
    }
}

/// A batch at the size that it is to have.
///
/// # Errors
/// [`Refusal`] where the formula has no figures, or can't be made at that size.
pub fn of_batch(reckoned: Reckoned<'_>, book: &DayBook, at: usize, batch: &Batch) -> Result<Sized, Refusal> {
    let (formula, composition) = reckoned.composition(batch)?;
    let Reckoned {
        ledger,
        faults,
        figures,
    } = reckoned;
    let mut limits = None;
    let plan = match &batch.make {
        // What it took is no longer in stock.
        Some((Make::AllStock, _)) if batch.is_made() => from_what_went_in(book, at)?,
        Some((Make::AllStock, _)) => {
            let (plan, found) = all_stock(reckoned, book, composition, batch.day.first)?;
            limits = Some(found);
            plan
        }
        Some((make, _)) => make::plan(ledger, faults, figures, formula, make)?,
        None => from_what_went_in(book, at)?,
    };
    Ok(Sized {
        sheet: batch::make(ledger, composition, plan.target)?,
        plan,
        allowed: limits,
    })
}

/// How much a formula is to make, also as much as there is stock for at the end of a day.
///
/// # Errors
/// [`Refusal`] where the formula has no figures, or does not say enough.
pub fn plan(
    reckoned: Reckoned<'_>,
    book: &DayBook,
    formula: usize,
    make: &Make,
    on: Day,
) -> Result<Plan, Refusal> {
    let Reckoned {
        ledger,
        faults,
        figures,
    } = reckoned;
    match (make, figures.of(formula)) {
        (Make::AllStock, Some(composition)) => {
            all_stock(reckoned, book, composition, on).map(|(plan, _)| plan)
        }
        _ => make::plan(ledger, faults, figures, formula, make),
    }
}

/// Without a `make` line the batch is as large as all that went in.
fn from_what_went_in(book: &DayBook, at: usize) -> Result<Plan, Refusal> {
    let inputs = book.inputs.get(at).map(Vec::as_slice).unwrap_or_default();
    let total = own::sum(inputs.iter().map(|taking| taking.amount));
    match total {
        Some(Amount {
            unit: Unit::Grams,
            value,
        }) => Ok(Plan {
            target: Target::Grams(value),
            working: vec![format!(
                "the batch doesn't say how much was to be made; {} went in",
                Amount {
                    unit: Unit::Grams,
                    value
                }
                .written()
            )],
        }),
        _ => Err(Refusal::new(
            "this batch doesn't say how much is to be made",
            "add a line to it: `make   500 g`",
        )),
    }
}

fn all_stock(
    reckoned: Reckoned<'_>,
    book: &DayBook,
    composition: &Composition,
    on: Day,
) -> Result<(Plan, Allowed), Refusal> {
    let allowed = allowed(reckoned, book, composition, on)?;
    let names: Vec<&str> = allowed
        .limited_by
        .iter()
        .map(|what| super::name_of(reckoned.ledger, *what))
        .collect();
    let limit = format!("{} runs out first", names.join(", "));
    let whole = composition.totals.grams.or(composition.totals.parts);
    let only_grams = composition.totals.millilitres.is_none()
        && composition.totals.volume.is_none()
        && composition.totals.finished.is_none();
    // Rounded down: to the scales, or to hundredths of the formula.
    let down = |value: Decimal, step: Decimal| -> Checked<Decimal> {
        let steps = settled(quotient(value, step)?).floor();
        steps.checked_mul(step).ok_or(Overflow)
    };
    let target = if let Some(whole) = whole.filter(|_| only_grams) {
        let grams = whole.nominal.checked_mul(allowed.times).ok_or(Overflow)?;
        Target::Grams(down(grams, reckoned.ledger.practice.scales.value)?)
    } else {
        Target::Times(down(allowed.times, Decimal::new(1, 2))?)
    };
    Ok((
        Plan {
            target,
            working: vec![limit],
        },
        allowed,
    ))
}

/// What of each thing a composition needs at its own size.
fn needs(composition: &Composition) -> BTreeMap<Bound, Vec<(Unit, Decimal)>> {
    let mut needs: BTreeMap<Bound, Vec<(Unit, Decimal)>> = BTreeMap::new();
    for line in &composition.lines {
        if matches!(line.how, How::Uncounted | How::ToTheMark) {
            continue;
        }
        let amount = match (
            line.amounts.grams.or(line.amounts.parts),
            line.amounts.millilitres,
        ) {
            (Some(grams), _) => (Unit::Grams, grams.nominal),
            (None, Some(volume)) => (Unit::Millilitres, volume.nominal),
            (None, None) => continue,
        };
        needs.entry(line.taken.what).or_default().push(amount);
    }
    needs
}

/// How many times a formula can be made from what is there and still good on a day.
///
/// # Errors
/// [`Refusal`] where there is none of something, or what there is can't be told.
pub fn allowed(
    reckoned: Reckoned<'_>,
    book: &DayBook,
    composition: &Composition,
    on: Day,
) -> Result<Allowed, Refusal> {
    let mut found: Option<Allowed> = None;
    for (what, amounts) in needs(composition) {
        // Water comes from the tap.
        if let Bound::Substance(at) = what
            && reckoned
                .ledger
                .substances
                .get(at)
                .is_some_and(|one| one.entry.is_none())
        {
            continue;
        }
        let name = super::name_of(reckoned.ledger, what);
        let need = own::sum(amounts.iter().map(|(unit, value)| {
            Some(Amount {
                unit: *unit,
                value: *value,
            })
        }));
        let there = super::stock::good(reckoned.ledger, book, what, on);
        let (Some(need), Some(there)) = (need, there) else {
            return Err(Refusal::new(
                format!("what there is of {name} can't be set against what the formula takes"),
                "write lots and formula in the same measure, or give it a density",
            ));
        };
        let there = there
            .into_iter()
            .find(|amount| amount.unit == need.unit)
            .map_or(Decimal::ZERO, |amount| amount.value);
        if need.value.is_zero() {
            continue;
        }
        if there <= Decimal::ZERO {
            return Err(Refusal::new(
                format!("there is no {name} left on {on}, so nothing can be made"),
                "`scruple order` says what to buy",
            ));
        }
        let times = settled(quotient(there, need.value)?);
        match &mut found {
            Some(least) if times > least.times => {}
            Some(least) if times == least.times => least.limited_by.push(what),
            _ => {
                found = Some(Allowed {
                    times,
                    limited_by: vec![what],
                });
            }
        }
    }
    found.ok_or_else(|| Refusal::new("this formula takes nothing that is kept in stock", make::SIZES))
}
