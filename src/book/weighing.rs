//! Sets what was weighed for a batch beside what its formula asks for, and what came out beside what went in.

use std::collections::BTreeMap;

use super::size::{self, Reckoned};
use super::{Amount, DayBook, Unit, own};
use crate::compute::batch::Refusal;
use crate::compute::{Composition, How};
use crate::model::{Batch, Bound, Ledger, Looked};
use crate::quantity::rounding::{quotient, settled};
use crate::quantity::{Checked, Decimal, Overflow, Spread};
use crate::source::Span;
use crate::syntax::tree::Subject;

/// One thing that went in, beside what the formula asks for.
#[derive(Debug, Clone)]
pub struct Weighed {
    /// What.
    pub what: Bound,
    /// In grams or millilitres.
    pub unit: Unit,
    /// What the formula asks for at the batch's size, exact, with its spread.
    pub intended: Spread,
    /// What went in.
    pub used: Decimal,
    /// The difference in percent of what was intended, below zero for too little.
    pub error_percent: Decimal,
    /// Whether that is more than the practice accepts.
    pub is_off: bool,
    /// Where it stands: its first line under `used`.
    pub span: Span,
}

/// A batch beside its formula.
#[derive(Debug, Clone, Default)]
pub struct Compared {
    /// What the formula takes and what went in, in the order of the formula.
    pub lines: Vec<Weighed>,
    /// What the formula takes and nothing went in of.
    pub missing: Vec<Bound>,
    /// What went in and the formula doesn't take, with its first line.
    pub added: Vec<(Bound, Span)>,
}

/// The error in percent of what was intended: 5.2 g for 5 g is 4 %.
///
/// # Errors
/// [`Overflow`] where nothing was intended.
pub fn error_percent(intended: Decimal, used: Decimal) -> Checked<Decimal> {
    let difference = used.checked_sub(intended).ok_or(Overflow)?;
    quotient(
        difference.checked_mul(Decimal::ONE_HUNDRED).ok_or(Overflow)?,
        intended,
    )
    .map(settled)
}

/// Sets a batch that was made beside its formula.
///
/// # Errors
/// [`Refusal`] where the formula has no figures, or can't be made at that size.
pub fn compare(
    reckoned: Reckoned<'_>,
    book: &DayBook,
    at: usize,
    batch: &Batch,
) -> Result<Compared, Refusal> {
    let sized = size::of_batch(reckoned, book, at, batch)?;
    let practice = &reckoned.ledger.practice;
    let mut compared = Compared::default();
    // What goes in on several lines is one thing in the bowl.
    let mut order: Vec<Bound> = Vec::new();
    let mut intended: BTreeMap<Bound, Option<(Unit, Spread)>> = BTreeMap::new();
    let mut lines: Vec<_> = sized.sheet.lines.iter().collect();
    lines.sort_by_key(|line| line.place);
    for line in lines {
        let what = line.figure.taken.what;
        if !order.contains(&what) {
            order.push(what);
        }
        let amount = match (line.grams, line.millilitres) {
            (Some(grams), _) => Some((Unit::Grams, grams)),
            (None, Some(volume)) => Some((Unit::Millilitres, volume)),
            (None, None) => None,
        };
        let is_open = matches!(line.figure.how, How::Uncounted | How::ToTheMark);
        let sum = match (intended.get(&what), amount.filter(|_| !is_open)) {
            (None, amount) => amount,
            (Some(Some((unit, before))), Some((own, more))) if *unit == own => {
                Some((own, before.plus(&more)?))
            }
            _ => None,
        };
        intended.insert(what, sum);
    }
    let takings = book.inputs.get(at).map(Vec::as_slice).unwrap_or_default();
    for what in &order {
        let own: Vec<_> = takings.iter().filter(|taking| taking.what == *what).collect();
        let Some(Some((unit, intended))) = intended.get(what) else {
            continue;
        };
        let Some(first) = own.first() else {
            if intended.high > Decimal::ZERO && !is_water(reckoned, *what) {
                compared.missing.push(*what);
            }
            continue;
        };
        let Some(used) = own::sum(own.iter().map(|taking| taking.amount)) else {
            continue;
        };
        if used.unit != *unit || intended.nominal.is_zero() {
            continue;
        }
        compared.lines.push(weighed(
            *what,
            (used, first.span),
            *intended,
            (
                practice.error.value,
                practice.scales.value,
                practice.cylinder.value,
            ),
        )?);
    }
    let (_, composition) = reckoned.composition(batch)?;
    let brought_in = brought_in(reckoned.ledger, composition);
    for taking in takings {
        let known = taking.what == Bound::Unknown
            || order.contains(&taking.what)
            || brought_in.contains(&taking.what)
            || is_water(reckoned, taking.what);
        if !known && compared.added.iter().all(|(what, _)| *what != taking.what) {
            compared.added.push((taking.what, taking.span));
        }
    }
    // Where a line of the list was refused, what it said may be what is missing.
    if batch.refused {
        compared.missing.clear();
    }
    Ok(compared)
}

/// What steps bring in beside what is taken: the oil of a macerate, the spirit of a tincture.
pub(super) fn brought_in(ledger: &Ledger, composition: &Composition) -> Vec<Bound> {
    let steps = composition.formula.steps.iter().map(|step| &step.preparation);
    steps
        .flat_map(|preparation| {
            let named = match &preparation.subject {
                Subject::Things(names) => names.as_slice(),
                _ => &[],
            };
            let media = preparation.media.iter().filter_map(|liquid| liquid.name.as_ref());
            media.chain(named)
        })
        .filter_map(|name| {
            let plain = name.text.strip_prefix("the ").unwrap_or(&name.text);
            match ledger.names.look(plain) {
                Looked::Found(bound) => Some(bound),
                _ => None,
            }
        })
        .collect()
}

fn is_water(reckoned: Reckoned<'_>, what: Bound) -> bool {
    matches!(what, Bound::Substance(at) if reckoned.ledger.substances.get(at).is_some_and(|one| one.entry.is_none()))
}

fn weighed(
    what: Bound,
    (used, span): (Amount, Span),
    intended: Spread,
    (accepted, scales, cylinder): (Decimal, Decimal, Decimal),
) -> Checked<Weighed> {
    let step = match used.unit {
        Unit::Grams => scales,
        Unit::Millilitres => cylinder,
    };
    // Less than a step of the scales nobody can weigh, however much that is in percent.
    let share = quotient(
        intended.nominal.checked_mul(accepted).ok_or(Overflow)?,
        Decimal::ONE_HUNDRED,
    )?;
    let slack = share.max(step);
    let least = intended.low.checked_sub(slack).ok_or(Overflow)?;
    let most = intended.high.checked_add(slack).ok_or(Overflow)?;
    Ok(Weighed {
        what,
        unit: used.unit,
        intended,
        used: used.value,
        error_percent: error_percent(intended.nominal, used.value)?,
        is_off: settled(used.value) < settled(least) || settled(used.value) > settled(most),
        span,
    })
}

/// What came out of a dry batch beside what went in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Yield {
    /// What went in.
    pub went_in: Amount,
    /// What came out.
    pub came_out: Amount,
    /// What was lost, in percent of what went in; below zero where more came out.
    pub loss_percent: Decimal,
    /// Whether that is more than the practice accepts, or more came out than scales err.
    pub is_off: bool,
}

/// The yield of a batch; nothing where it is not said, or where something is drawn out and what
/// comes out is another thing than what went in.
pub fn yielded(reckoned: Reckoned<'_>, book: &DayBook, at: usize, batch: &Batch) -> Option<Yield> {
    batch.yielded.as_ref()?;
    let (_, composition) = reckoned.composition(batch).ok()?;
    if batch.refused || composition.totals.volume.is_some() || composition.totals.finished.is_some() {
        return None;
    }
    let went_in = own::sum(book.inputs.get(at)?.iter().map(|taking| taking.amount))?;
    let came_out = book.batches.get(at)?.came_in()?;
    if came_out.unit != went_in.unit || went_in.value.is_zero() {
        return None;
    }
    let lost = went_in.value.checked_sub(came_out.value)?;
    let loss_percent = settled(own::percent(lost, went_in.value)?);
    let practice = &reckoned.ledger.practice;
    // Each weighing errs by half a step of the scales, and so does the last.
    let weighings = Decimal::from(book.inputs.get(at)?.len().saturating_add(1));
    let slack = practice
        .scales
        .value
        .checked_mul(weighings)?
        .checked_div(Decimal::TWO)?;
    let gained = Decimal::ZERO.checked_sub(lost)?;
    Some(Yield {
        went_in,
        came_out,
        loss_percent,
        is_off: (loss_percent > practice.loss.value && lost > slack) || gained > slack,
    })
}
