//! Looks through formulas inside formulas: what of each herb is in the whole.

use std::collections::{BTreeMap, HashMap};

use super::{Composition, Figures, How};
use crate::model::Bound;
use crate::quantity::{Checked, Overflow, Spread};

/// What of each herb and material there is, by its place in the ledger, in grams (or parts).
pub type Contents = BTreeMap<usize, Spread>;

/// What of each herb and material a composition holds, through all formulas inside it; in grams,
/// or in parts for a formula without a size. Nothing if some of it has no weight.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn contents(figures: &Figures, composition: &Composition) -> Checked<Option<Contents>> {
    // Every formula is looked through once, however often it is taken.
    gather(figures, composition, &mut HashMap::new())
}

fn gather(
    figures: &Figures,
    composition: &Composition,
    known: &mut HashMap<usize, Option<Contents>>,
) -> Checked<Option<Contents>> {
    let mut found = Contents::new();
    let mut add = |at: usize, more: &Spread| -> Checked<()> {
        let sum = found.get(&at).copied().unwrap_or(Spread::ZERO).plus(more)?;
        found.insert(at, sum);
        Ok(())
    };
    for line in composition.lines.iter().filter(|line| line.how != How::Uncounted) {
        let Some(amount) = line.amounts.grams.or(line.amounts.parts) else {
            return Ok(None);
        };
        match line.taken.what {
            Bound::Substance(at) => add(at, &amount)?,
            Bound::Formula(at) => {
                let Some(inner) = figures.of(at) else {
                    return Ok(None);
                };
                if !known.contains_key(&at) {
                    // The order of reckoning bounds how deep this goes.
                    let held = gather(figures, inner, known)?;
                    known.insert(at, held);
                }
                let total = inner.totals.grams.or(inner.totals.parts).ok_or(Overflow)?;
                let Some(Some(held)) = known.get(&at) else {
                    return Ok(None);
                };
                for (herb, part) in held {
                    add(
                        *herb,
                        &part
                            .times(&amount)?
                            .proportion(crate::quantity::Decimal::ONE, total.nominal)?,
                    )?;
                }
            }
            Bound::Unknown => return Ok(None),
        }
    }
    Ok(Some(found))
}
