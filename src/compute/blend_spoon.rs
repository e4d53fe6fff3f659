//! What a spoon of a finished blend weighs: the grams of its herbs over the spoons that they fill.

use super::measure::{Use, wrong_sort};
use super::spoon::Filled;
use super::trace::Trace;
use super::{How, LineFigure, Reckoner};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::{overflow, stated};
use crate::model::{Bound, Measure, Portion, TakenAmount};
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Heap, Household, Overflow, Spread, print};

type Found<T> = Result<T, Diagnostic>;

/// How much of a herb is in the blend.
#[derive(Clone, Copy)]
enum Amount {
    /// So many grams, whatever its spoons weigh: then the spoons that it fills are what varies.
    Grams(Spread),
    /// So many level spoons, whatever they weigh: then its grams are what varies.
    Spoons(Spread),
}

/// One line of a blend: how much, and what a level spoon of it weighs.
struct Filling {
    amount: Amount,
    each: Spread,
}

/// One end of a spread.
type End = fn(&Spread) -> Decimal;

impl Filling {
    /// Its grams, where a spoon of it weighs so much.
    fn grams(&self, each: Decimal, end: End) -> Checked<Decimal> {
        match &self.amount {
            Amount::Grams(grams) => Ok(end(grams)),
            Amount::Spoons(spoons) => end(spoons).checked_mul(each).ok_or(Overflow),
        }
    }

    fn spoons(&self, each: Decimal, end: End) -> Checked<Decimal> {
        match &self.amount {
            Amount::Grams(grams) => quotient(end(grams), each),
            Amount::Spoons(spoons) => Ok(end(spoons)),
        }
    }
}

/// Of so many blends the working is told beneath one figure.
const MOST_TOLD: usize = 8;

impl Reckoner<'_> {
    /// The weight of a level measure of a blend, from what its herbs fill: grams over measures.
    pub(super) fn blend_weight(
        &mut self,
        formula: usize,
        measure: Household,
        of: &Use<'_>,
        trace: &mut Trace,
    ) -> Found<Spread> {
        if !trace.is_recording()
            && let Some(known) = self.blends.get(&(formula, measure))
        {
            return Ok(*known);
        }
        // A blend may stand in many, and in each of them many times: its working is told once, and that of
        // the innermost of many not at all; `why` tells it of them by themselves.
        if trace.is_recording() && (self.told.len() >= MOST_TOLD || !self.told.insert((formula, measure))) {
            let known = self.blend_weight(formula, measure, of, &mut Trace::silent())?;
            trace.note(of.line, None, None, || {
                format!(
                    "a {} of {} weighs {}, worked out from what is in it",
                    measure.one(),
                    of.name.text,
                    print::spread(&known, 6, "g")
                )
            });
            return Ok(known);
        }
        let Some(inner) = self.done.get(formula).and_then(Option::as_ref).cloned() else {
            return Err(wrong_sort(of));
        };
        let mut filling: Vec<Filling> = Vec::new();
        for line in &inner.lines {
            if line.how == How::Uncounted {
                continue;
            }
            // Shares will do where there is no size: only the proportion counts.
            let Some(weight) = line.amounts.grams.or(line.amounts.parts) else {
                return Err(blend_of_liquids(of, &inner.formula.name.text));
            };
            let inside = Use {
                name: &line.taken.name,
                what: line.taken.what,
                span: of.span,
                line: of.line,
            };
            let name = &line.taken.name.text;
            let mut own = trace.aside(of.line);
            let each = match self.filled(&inside, Heap::Level, measure, &mut own)? {
                Filled::Grams(each) => each,
                Filled::Liquid(_) => return Err(blend_of_liquids(of, &inner.formula.name.text)),
            };
            for step in own.lines.into_iter().flatten() {
                trace.note(of.line, step.span, step.book, || match line.taken.what {
                    // The steps of a blend say what they are of.
                    Bound::Formula(_) => step.says,
                    _ => format!("{name}: {}", step.says),
                });
            }
            let one = Filling {
                amount: self
                    .filled_by(&inside, line, measure)
                    .unwrap_or(Amount::Grams(weight)),
                each,
            };
            let spoons = one
                .spoons(each.nominal, |spread| spread.nominal)
                .map_err(|Overflow| overflow(of.span))?;
            trace.note(of.line, Some(line.taken.span), None, || {
                filled_words(name, &one, spoons, line, measure)
            });
            filling.push(one);
        }
        let (weight, nominal) = blended(&filling).map_err(|Overflow| overflow(of.span))?;
        trace.note(of.line, Some(inner.formula.head), None, || {
            together(&inner.formula.name.text, nominal, &weight, measure)
        });
        self.blends.insert((formula, measure), weight);
        Ok(weight)
    }

    /// How many of a level measure a line fills, where it was spooned with the very weighing from which
    /// that measure is known; nothing where its grams are known in another way.
    fn filled_by(&self, of: &Use<'_>, line: &LineFigure, measure: Household) -> Option<Amount> {
        let portion = match line.taken.amount.as_ref()? {
            TakenAmount::Portion(portion) | TakenAmount::About(portion) => portion,
            TakenAmount::EnoughTo(_) | TakenAmount::Enough => return None,
        };
        self.spoons_of(of, portion, measure).map(Amount::Spoons)
    }

    fn spoons_of(&self, of: &Use<'_>, portion: &Portion, measure: Household) -> Option<Spread> {
        let what = of.what;
        let (count, taken) = match portion {
            Portion::Household(count, heap, taken) => {
                if *heap == Heap::Level {
                    (*count, *taken)
                } else if stated(self.weights(what), &Measure::Household(*heap, *taken)).is_some() {
                    // A heap with a weighing of its own says nothing of the level spoon.
                    return None;
                } else {
                    let factor = self.ledger.practice.heap(*heap)?;
                    (count.times(&factor.value).ok()?, *taken)
                }
            }
            Portion::Sum(portions) => {
                return portions.iter().try_fold(Spread::ZERO, |sum, one| {
                    sum.plus(&self.spoons_of(of, one, measure)?).ok()
                });
            }
            // A volume of something dry goes by one of its spoons, too.
            Portion::Millilitres(volume) if self.is_without_density(what) => {
                let (spoon, _) = self.any_spoon(of).ok()?;
                let holds = self.exact_volume(measure)?;
                if self.weighed_as(what, measure)? != spoon || self.exact_volume(spoon).is_none() {
                    return None;
                }
                return volume.proportion(Decimal::ONE, holds).ok();
            }
            _ => return None,
        };
        if taken == measure {
            return Some(count);
        }
        // Both go back to one weighing, by what the measures hold.
        let Bound::Substance(_) = what else { return None };
        if self.weighed_as(what, taken)? != self.weighed_as(what, measure)? {
            return None;
        }
        count
            .proportion(self.exact_volume(taken)?, self.exact_volume(measure)?)
            .ok()
    }

    /// What a measure holds, where that is one figure and no range.
    fn exact_volume(&self, measure: Household) -> Option<Decimal> {
        let volume = self.ledger.practice.volume(measure)?.value;
        volume.is_exact().then_some(volume.nominal)
    }

    fn is_without_density(&self, what: Bound) -> bool {
        matches!(what, Bound::Substance(at)
            if self.ledger.substances.get(at).is_some_and(|one| one.density.is_none()))
    }

    /// The level measure by whose weighing another is known.
    fn weighed_as(&self, what: Bound, measure: Household) -> Option<Household> {
        if stated(self.weights(what), &Measure::Household(Heap::Level, measure)).is_some() {
            return Some(measure);
        }
        self.nearest_spoon(what, measure).map(|(other, ..)| other)
    }
}

/// A spoon of a blend, and the grams and spoons of its middle.
///
/// It is lightest with every spoon of a herb at its lightest: where the herb was weighed, the same grams
/// then fill more; where it was spooned, the same spoons then hold less. Beside that it has the most of what is
/// light and the least of what is heavy, wherever the line between the two is drawn; so every line is
/// tried, over the herbs in the order of their spoons.
fn blended(filling: &[Filling]) -> Checked<(Spread, Sums)> {
    let middle = sums(filling.iter().map(|one| (one, one.each.nominal)), |spread| {
        spread.nominal
    })?;
    let middle = middle.last().copied().unwrap_or_default();
    let nominal = over(middle)?;
    let low = extreme(
        filling,
        [|one| one.low, |one| one.high, |one| one.low],
        Decimal::min,
        nominal,
    )?;
    let high = extreme(
        filling,
        [|one| one.high, |one| one.low, |one| one.high],
        Decimal::max,
        nominal,
    )?;
    Ok((Spread { nominal, low, high }, middle))
}

/// Grams and the spoons that they fill.
type Sums = (Decimal, Decimal);

fn over((grams, spoons): Sums) -> Checked<Decimal> {
    quotient(grams, spoons)
}

/// The running sums of grams and of the spoons that they fill, beginning with nothing.
fn sums<'a>(filling: impl Iterator<Item = (&'a Filling, Decimal)>, end: End) -> Checked<Vec<Sums>> {
    let mut running = vec![(Decimal::ZERO, Decimal::ZERO)];
    let mut so_far = (Decimal::ZERO, Decimal::ZERO);
    for (one, each) in filling {
        so_far = (
            so_far.0.checked_add(one.grams(each, end)?).ok_or(Overflow)?,
            so_far.1.checked_add(one.spoons(each, end)?).ok_or(Overflow)?,
        );
        running.push(so_far);
    }
    Ok(running)
}

/// The least or the greatest spoon: all spoons at one end, the lighter herbs at one end of how much there is
/// of them, the heavier at the other.
fn extreme(
    filling: &[Filling],
    [spoon, of_the_light, of_the_heavy]: [End; 3],
    choose: fn(Decimal, Decimal) -> Decimal,
    nominal: Decimal,
) -> Checked<Decimal> {
    let mut list: Vec<(&Filling, Decimal)> = filling.iter().map(|one| (one, spoon(&one.each))).collect();
    list.sort_by_key(|(_, each)| *each);
    let light = sums(list.iter().copied(), of_the_light)?;
    let heavy = sums(list.iter().copied(), of_the_heavy)?;
    let all_heavy = heavy.last().copied().unwrap_or_default();
    let mut best = nominal;
    for (below, passed) in light.iter().zip(&heavy) {
        let rest = |all: Decimal, passed: Decimal| all.checked_sub(passed).ok_or(Overflow);
        let grams = below
            .0
            .checked_add(rest(all_heavy.0, passed.0)?)
            .ok_or(Overflow)?;
        let spoons = below
            .1
            .checked_add(rest(all_heavy.1, passed.1)?)
            .ok_or(Overflow)?;
        if !spoons.is_zero() {
            best = choose(best, over((grams, spoons))?);
        }
    }
    Ok(best)
}

/// What a herb fills, in words.
fn filled_words(name: &str, one: &Filling, spoons: Decimal, line: &LineFigure, measure: Household) -> String {
    let each = print::spread(&one.each, 6, "g");
    match &one.amount {
        Amount::Grams(grams) => {
            let unit = if line.amounts.grams.is_some() {
                "g"
            } else {
                "parts by weight"
            };
            format!(
                "{name}: {} at {each} a level {} fill {} of them",
                print::spread(grams, 6, unit),
                measure.one(),
                print::short(spoons, 3)
            )
        }
        Amount::Spoons(spoons) => format!(
            "{name}: {} at {each} each; what varies is their weight, not how many they are",
            print::spread(
                spoons,
                3,
                if *spoons == Spread::exact(Decimal::ONE) {
                    measure.one()
                } else {
                    measure.many()
                }
            )
        ),
    }
}

/// The blend's spoon, in words.
fn together(name: &str, (grams, spoons): Sums, weight: &Spread, measure: Household) -> String {
    let ends = if weight.is_exact() {
        ""
    } else {
        "; at the ends all spoons of the herbs are at their lightest, or at their heaviest"
    };
    format!(
        "a level {} of {name} is worked out from its herbs: {} by weight over {} {} = {}{ends}",
        measure.one(),
        print::short(grams, 3),
        print::short(spoons, 3),
        measure.many(),
        print::spread(weight, 6, "g")
    )
}

fn blend_of_liquids(of: &Use<'_>, name: &str) -> Diagnostic {
    Diagnostic::error(
        code::SPOON_WITHOUT_WEIGHT,
        of.span,
        format!("what a spoon of {name} weighs can't be worked out from what it is made of"),
    )
    .help(format!(
        "weigh three level teaspoons of the finished blend, and add to {name}: `teaspoon   weighed …`"
    ))
}
