//! Looks through formulas inside formulas: what of each herb is in the whole.

use std::collections::{BTreeMap, HashMap};

use super::{Composition, Figures, How, LineFigure};
use crate::model::Bound;
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
                if whole.is_zero() {
                    return Err(Overflow);
                }
                for (herb, part) in &held.contents {
                    add(*herb, &part.times(&amount)?.proportion(Decimal::ONE, whole)?)?;
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
fn of_whole(line: &LineFigure, inner: &Composition) -> Option<(Spread, Decimal)> {
    if let (Some(volume), Some(whole)) = (line.amounts.millilitres, inner.totals.volume) {
        return Some((volume, whole.nominal));
    }
    let amount = line.amounts.grams.or(line.amounts.parts)?;
    let whole = inner.totals.grams.or(inner.totals.parts)?;
    // Of something that is made up by volume a weight says nothing of what is in it.
    inner.totals.volume.is_none().then_some((amount, whole.nominal))
}
