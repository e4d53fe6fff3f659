//! Looks through formulas inside formulas: what of each herb is in the whole.

use std::collections::{BTreeMap, HashMap};

use super::drawn::is_drawn_out;
use super::{Composition, Figures, How, LineFigure};
use crate::model::Bound;
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow, Spread};
use crate::source::Span;

/// What of each herb and material there is, by its place in the ledger, in grams (or parts).
pub type Contents = BTreeMap<usize, Spread>;

/// What is known to be in a formula, and whether that is all of it.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// What is known in grams, or in parts for a formula without a size.
    pub contents: Contents,
    /// Whether every line that counts is in it; a liquid without a density is not.
    pub complete: bool,
    /// Of the contents, what is taken as it is: not by way of a tincture, a syrup or the like.
    pub dry: Contents,
    /// The names of what is taken as it is, and how much of it can't be told.
    pub unknown: Vec<String>,
    /// Of the contents, what stands behind a tincture, a syrup or the like that is taken in.
    pub drawn: Contents,
    /// The names of these tinctures and syrups, in the order they stand.
    pub drawn_by: Vec<String>,
    /// What is known by volume only, in millilitres: it is in none of the contents.
    pub by_volume: Contents,
}

/// Something of which there is enough by judgement, so that it stands in no total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AsNeeded {
    /// Its name as written.
    pub name: String,
    /// The formula inside which it stands, if it is not the one that was asked about.
    pub within: Option<String>,
    /// The line.
    pub span: Span,
}

/// What stands in a formula, and in the formulas inside it, without an amount.
pub fn as_needed(figures: &Figures, composition: &Composition) -> Vec<AsNeeded> {
    let mut found = Vec::new();
    let mut open = vec![composition];
    let mut looked = 0;
    while let Some(inner) = open.get(looked).copied() {
        for line in &inner.lines {
            if line.how == How::Uncounted {
                found.push(AsNeeded {
                    name: line.taken.name.text.clone(),
                    within: (looked > 0).then(|| inner.formula.name.text.clone()),
                    span: line.taken.span,
                });
            }
            if let Bound::Formula(at) = line.taken.what
                && let Some(next) = figures.of(at)
                && !open.iter().any(|known| std::ptr::eq(*known, next))
            {
                open.push(next);
            }
        }
        looked += 1;
    }
    found
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
        complete: true,
        ..Held::default()
    };
    for line in composition.lines.iter().filter(|line| line.how != How::Uncounted) {
        match line.taken.what {
            Bound::Substance(at) => {
                if let Some(amount) = line.amounts.grams.or(line.amounts.parts) {
                    add(&mut found.contents, at, &amount)?;
                    add(&mut found.dry, at, &amount)?;
                } else {
                    if let Some(volume) = line.amounts.millilitres {
                        add(&mut found.by_volume, at, &volume)?;
                    }
                    found.lacks(Some(&line.taken.name.text));
                }
            }
            Bound::Formula(at) => {
                let Some(inner) = figures.of(at) else {
                    found.lacks(Some(&line.taken.name.text));
                    continue;
                };
                let drawn_out = is_drawn_out(inner);
                if !known.contains_key(&at) {
                    // The order of reckoning bounds how deep this goes.
                    let held = gather(figures, inner, known)?;
                    known.insert(at, held);
                }
                let Some(held) = known.get(&at) else { continue };
                let names = if drawn_out {
                    std::slice::from_ref(&inner.formula.name.text)
                } else {
                    held.drawn_by.as_slice()
                };
                for name in names {
                    if !found.drawn_by.contains(name) {
                        found.drawn_by.push(name.clone());
                    }
                }
                let whole = of_whole(line, inner).filter(|(_, whole)| !whole.nominal.is_zero());
                let Some((amount, whole)) = whole else {
                    let dry = !(drawn_out || held.dry.is_empty() && held.unknown.is_empty());
                    found.lacks(dry.then_some(&line.taken.name.text));
                    continue;
                };
                found.complete &= held.complete;
                if !drawn_out {
                    for name in &held.unknown {
                        found.lacks(Some(name));
                    }
                }
                let all = held
                    .contents
                    .values()
                    .try_fold(Spread::ZERO, |sum, part| sum.plus(part))?;
                let yielded = inner.totals.finished.is_some()
                    || (line.amounts.millilitres.is_some() && inner.totals.volume.is_some());
                let taken = |part: &Spread| -> Checked<Spread> {
                    let share = if yielded {
                        part.over(&Spread::exact(whole.nominal))?
                    } else {
                        share(part, &all, &whole)?
                    };
                    share.times(&amount)
                };
                for (herb, part) in &held.contents {
                    add(&mut found.contents, *herb, &taken(part)?)?;
                    if drawn_out {
                        add(&mut found.drawn, *herb, &taken(part)?)?;
                    }
                }
                for (substance, part) in &held.by_volume {
                    let share = part.over(&Spread::exact(whole.nominal))?;
                    add(&mut found.by_volume, *substance, &share.times(&amount)?)?;
                }
                if !drawn_out {
                    for (herb, part) in &held.dry {
                        add(&mut found.dry, *herb, &taken(part)?)?;
                    }
                    for (herb, part) in &held.drawn {
                        add(&mut found.drawn, *herb, &taken(part)?)?;
                    }
                }
            }
            Bound::Unknown => found.lacks(Some(&line.taken.name.text)),
        }
    }
    Ok(found)
}

impl Held {
    /// Something has no weight that could be told; it is named unless it is drawn out anyway.
    fn lacks(&mut self, name: Option<&String>) {
        self.complete = false;
        if let Some(name) = name
            && !self.unknown.contains(name)
        {
            self.unknown.push(name.clone());
        }
    }
}

fn add(to: &mut Contents, at: usize, more: &Spread) -> Checked<()> {
    let sum = to.get(&at).copied().unwrap_or(Spread::ZERO).plus(more)?;
    to.insert(at, sum);
    Ok(())
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
