//! Looks through formulas inside formulas: what of each herb is in the whole.

use std::collections::{BTreeMap, HashMap};

use super::{Composition, Figures, How, LineFigure};
use crate::model::Bound;
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow, Spread};

/// What of each herb and material there is, by its place in the ledger, in grams (or parts).
pub type Contents = BTreeMap<usize, Spread>;

/// What is known to be in a formula, and whether that is all of it.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// What is known in grams, or in parts for a formula without a size.
    pub contents: Contents,
    /// Whether every line that counts is in it; a liquid without a density is not.
    pub complete: bool,
}

/// What of each herb and material a composition holds, through all formulas inside it; nothing if
/// some of it has no weight.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn contents(figures: &Figures, composition: &Composition) -> Checked<Option<Contents>> {
    let held = held(figures, composition)?;
    Ok(held.complete.then_some(held.contents))
}

/// The same, with what is known where not all is.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn held(figures: &Figures, composition: &Composition) -> Checked<Held> {
    // Every formula is looked through once, however often it is taken.
    gather(figures, composition, &mut HashMap::new())
}

fn gather(figures: &Figures, composition: &Composition, known: &mut HashMap<usize, Held>) -> Checked<Held> {
    let mut found = Held {
        contents: Contents::new(),
        complete: true,
    };
    let mut add = |at: usize, more: &Spread| -> Checked<()> {
        let sum = found
            .contents
            .get(&at)
            .copied()
            .unwrap_or(Spread::ZERO)
            .plus(more)?;
        found.contents.insert(at, sum);
        Ok(())
    };
    let mut complete = true;
    for line in composition.lines.iter().filter(|line| line.how != How::Uncounted) {
        match line.taken.what {
            Bound::Substance(at) => match line.amounts.grams.or(line.amounts.parts) {
                Some(amount) => add(at, &amount)?,
                None => complete = false,
            },
            Bound::Formula(at) => {
                let Some(inner) = figures.of(at) else {
                    complete = false;
                    continue;
                };
                if !known.contains_key(&at) {
                    // The order of reckoning bounds how deep this goes.
                    let held = gather(figures, inner, known)?;
                    known.insert(at, held);
                }
                let (Some(held), Some((amount, whole))) = (known.get(&at), of_whole(line, inner)) else {
                    complete = false;
                    continue;
                };
                complete &= held.complete;
                if whole.nominal.is_zero() {
                    complete = false;
                    continue;
                }
                let all = held
                    .contents
                    .values()
                    .try_fold(Spread::ZERO, |sum, part| sum.plus(part))?;
                for (herb, part) in &held.contents {
                    let yielded = inner.totals.finished.is_some()
                        || (line.amounts.millilitres.is_some() && inner.totals.volume.is_some());
                    let share = if yielded {
                        part.over(&Spread::exact(whole.nominal))?
                    } else {
                        share(part, &all, &whole)?
                    };
                    add(*herb, &share.times(&amount)?)?;
                }
            }
            Bound::Unknown => complete = false,
        }
    }
    found.complete = complete;
    Ok(found)
}

/// How much of a formula a line takes, and how much the whole is in the same measure: by volume
/// where the formula yields one, else by weight.
fn of_whole(line: &LineFigure, inner: &Composition) -> Option<(Spread, Spread)> {
    if let (Some(volume), Some(whole)) = (line.amounts.millilitres, inner.totals.volume) {
        return Some((volume, whole));
    }
    let amount = line.amounts.grams.or(line.amounts.parts)?;
    if let Some(finished) = inner.totals.finished {
        return Some((amount, finished));
    }
    let whole = inner.totals.grams.or(inner.totals.parts)?;
    // Of something that is made up by volume a weight says nothing of what is in it.
    (inner.totals.volume.is_none() && inner.totals.millilitres.is_none()).then_some((amount, whole))
}

/// What part of a whole something is: at the least where the others weigh the most.
fn share(part: &Spread, all: &Spread, total: &Spread) -> Checked<Spread> {
    let minus = |a: Decimal, b: Decimal| a.checked_sub(b).ok_or(Overflow);
    let plus = |a: Decimal, b: Decimal| a.checked_add(b).ok_or(Overflow);
    let of = |a: Decimal, b: Decimal| {
        if b.is_zero() {
            Ok(Decimal::ZERO)
        } else {
            quotient(a, b)
        }
    };
    let nominal = of(part.nominal, total.nominal)?;
    let low = of(part.low, plus(part.low, minus(all.high, part.high)?)?)?.max(of(part.low, total.high)?);
    let high = of(part.high, plus(part.high, minus(all.low, part.low)?)?)?.min(of(part.high, total.low)?);
    Ok(Spread {
        nominal,
        low: low.min(nominal),
        high: high.max(nominal),
    })
}
