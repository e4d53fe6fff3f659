//! What a person takes: of the blend and of each herb, at a time and in a day, beside what is published.

use super::batch::Refusal;
use super::blend::Contents;
use super::make::{Planner, Size, is_for_age, times_a_day};
use super::measure::Use;
use super::trace::{Step as Working, Trace};
use super::{Composition, Figures, How, held};
use crate::model::{Bound, Faults, Ledger, Portion, Step, Substance};
use crate::naming;
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow, Spread};
use crate::source::Span;
use crate::syntax::tree::{Dose, Frequency, Name, Per, Subject};

/// What one formula gives a person.
#[derive(Debug, Clone)]
pub struct Intake {
    /// The dose that it is reckoned from, as written.
    pub dose: Dose,
    /// What a dose takes of the dry blend, in grams.
    pub blend_at_once: Option<Spread>,
    /// What a dose takes of a liquid, in millilitres.
    pub liquid_at_once: Option<Spread>,
    /// What a cup takes of the blend, in grams.
    pub blend_a_cup: Option<Spread>,
    /// Grams of blend to a hundred millilitres of water.
    pub grams_in_100_ml: Option<Spread>,
    /// How often a day: the least and the most that is directed, worked at the most.
    pub times: Option<Spread>,
    /// For how long, in days.
    pub days: Option<Spread>,
    /// What of each herb, in the order of the most first; nothing where some of it has no weight.
    pub herbs: Vec<HerbIntake>,
    /// How many doses the formula's own size holds.
    pub doses_held: Option<Spread>,
    /// How many days that lasts one person.
    pub lasts_days: Option<Spread>,
    /// Whether it is drawn out into a liquid, so that not all of a herb is taken.
    pub drawn_out: bool,
    /// How it is given, where it is not by mouth.
    pub given: Option<String>,
    /// How the dose became grams of the blend, if that was asked for.
    pub working: Vec<Working>,
}

/// What a person takes of one herb.
#[derive(Debug, Clone)]
pub struct HerbIntake {
    /// Its place in the ledger.
    pub substance: usize,
    /// Its share of the whole in percent.
    pub share: Decimal,
    /// At a time, in grams.
    pub at_once: Spread,
    /// In a day, in grams; the nominal at the most often that is directed.
    pub a_day: Option<Spread>,
    /// What is published.
    pub published: Published,
}

/// The bounds that are published for a herb, in grams.
#[derive(Debug, Clone, Default)]
pub struct Published {
    /// The least single dose, and the line that says so.
    pub least_at_once: Option<(Decimal, Span)>,
    /// The greatest single dose.
    pub most_at_once: Option<(Decimal, Span)>,
    /// The most of a day.
    pub most_a_day: Option<(Decimal, Span)>,
    /// The longest use, in days.
    pub most_days: Option<(Decimal, Span)>,
    /// The books behind these bounds.
    pub books: Vec<usize>,
}

/// Reckons what a formula gives a person; the dose that fits an age is taken.
///
/// # Errors
/// [`Refusal`] where the formula does not say enough.
#[expect(
    clippy::too_many_lines,
    reason = "one dose, bound by bound; each step leans on the last"
)]
pub fn intake(
    ledger: &Ledger,
    faults: &Faults,
    figures: &Figures,
    formula: usize,
    years: Option<Decimal>,
    with_working: bool,
) -> Result<Intake, Refusal> {
    let mut planner = Planner::new(ledger, faults, figures, formula)?;
    if with_working {
        planner.record();
    }
    let composition = planner.composition();
    let (size, dose) = planner.dose_range(years)?;
    let working = planner.recorded();
    let held = held(figures, composition)?;
    let times = times(&planner, &dose)?;
    let days = match &dose.lasting {
        Some(lasting) => match planner.portion(lasting)? {
            Portion::Minutes(minutes) => Some(minutes.proportion(Decimal::ONE, Decimal::from(1440_u32))?),
            _ => None,
        },
        None => None,
    };
    let blend_a_cup = match planner.one_cup() {
        Ok(Size::Grams(grams)) => Some(grams),
        Ok(Size::Share(share)) => composition
            .totals
            .grams
            .map(|total| total.scaled(share))
            .transpose()?,
        _ => None,
    };
    let (blend_at_once, liquid_at_once) = match size {
        Size::Grams(grams) => (Some(grams), None),
        Size::Millilitres(volume) => (None, Some(volume)),
        Size::Share(share) => (
            composition
                .totals
                .grams
                .map(|total| total.scaled(share))
                .transpose()?,
            None,
        ),
    };
    // A share of a dry blend can be told only when all of it is weighed; and a share of parts only
    // when they have a size.
    let known = match size {
        Size::Grams(_) => held.complete,
        Size::Millilitres(_) | Size::Share(_) => !composition.is_unsized(),
    };
    if !known && !held.contents.is_empty() {
        return Err(Refusal::new(
            if composition.is_unsized() {
                format!("the parts of {} have no size", composition.formula.name.text)
            } else {
                format!(
                    "some of {} is known only by volume, so its weight is not",
                    composition.formula.name.text
                )
            },
            "give the parts a size with `one part`, or the liquid a `density`",
        ));
    }
    let herbs = if known {
        herbs(
            ledger,
            &mut planner,
            composition,
            &held.contents,
            size,
            times.as_ref(),
            years,
        )?
    } else {
        Vec::new()
    };
    let doses_held = doses_held(composition, size)?;
    let lasts_days = match (doses_held, times) {
        (Some(doses), Some(times)) if !times.nominal.is_zero() => {
            Some(doses.over(&Spread::exact(times.nominal))?)
        }
        _ => None,
    };
    let cup = ledger
        .practice
        .volume(crate::quantity::Household::Cup)
        .map(|volume| volume.value);
    let grams_in_100_ml = match (blend_a_cup, cup) {
        (Some(grams), Some(cup)) if !cup.nominal.is_zero() => {
            Some(grams.proportion(Decimal::ONE_HUNDRED, cup.nominal)?)
        }
        _ => None,
    };
    Ok(Intake {
        dose,
        blend_at_once,
        liquid_at_once,
        blend_a_cup,
        grams_in_100_ml,
        times,
        days,
        herbs,
        doses_held,
        lasts_days,
        drawn_out: is_drawn_out(composition, figures),
        given: composition
            .formula
            .given
            .clone()
            .filter(|given| !naming::folded(given).starts_with("by mouth")),
        working,
    })
}

/// How often a day: the least, and, as the value worked with, the most that is directed.
fn times(planner: &Planner<'_>, dose: &Dose) -> Result<Option<Spread>, Refusal> {
    let Some(frequency) = &dose.frequency else {
        return Ok(None);
    };
    let most = times_a_day(dose, planner)?;
    let low = match frequency {
        // `up to 3 times` may be once.
        Frequency::TimesADay(_, true) => Decimal::ONE.min(most),
        Frequency::TimesADay(numbers, false) => numbers.low.value,
        Frequency::Every(_) => most,
    };
    Ok(Some(Spread {
        nominal: most,
        low,
        high: most,
    }))
}

/// Tinctures, oils and the like hold what was drawn out of a herb, not the herb. A tea is compared,
/// whether made by the cup or by the jug: published doses are for infusions and decoctions in water.
fn is_drawn_out(composition: &Composition, figures: &Figures) -> bool {
    let mut open = vec![composition];
    let mut seen = Vec::new();
    while let Some(inner) = open.pop() {
        let steps = &inner.formula.steps;
        let watery = !steps.is_empty() && steps.iter().all(is_watery);
        let drawn = steps
            .iter()
            .any(|step| matches!(step.word, "macerate" | "percolate" | "syrup") && !is_watery(step));
        if drawn || (inner.totals.volume.is_some() && !watery) {
            return true;
        }
        for line in &inner.lines {
            if let Bound::Formula(at) = line.taken.what
                && !seen.contains(&at)
            {
                seen.push(at);
                open.extend(figures.of(at));
            }
        }
    }
    false
}

/// Whether a step is made with water alone: published doses are for such.
fn is_watery(step: &Step) -> bool {
    matches!(step.word, "infuse" | "decoct" | "macerate")
        && !matches!(step.preparation.subject, Subject::Ratio(..))
        && step.preparation.media.iter().all(|liquid| {
            liquid.strength.is_none()
                && liquid.name.as_ref().is_none_or(|name| {
                    let name = naming::folded(&name.text);
                    name == "it" || name.ends_with("water")
                })
        })
}

fn doses_held(composition: &Composition, size: Size) -> Checked<Option<Spread>> {
    match size {
        Size::Grams(each) => match composition.totals.finished.or(composition.totals.grams) {
            Some(total) if !each.low.is_zero() => Ok(Some(total.over(&each)?)),
            _ => Ok(None),
        },
        Size::Millilitres(each) => match composition.totals.volume.or(composition.totals.millilitres) {
            Some(total) if !each.low.is_zero() => Ok(Some(total.over(&each)?)),
            _ => Ok(None),
        },
        Size::Share(each) if !each.is_zero() => Ok(Some(Spread::exact(quotient(Decimal::ONE, each)?))),
        Size::Share(_) => Ok(None),
    }
}

fn herbs(
    ledger: &Ledger,
    planner: &mut Planner<'_>,
    composition: &Composition,
    held: &Contents,
    size: Size,
    times: Option<&Spread>,
    years: Option<Decimal>,
) -> Result<Vec<HerbIntake>, Refusal> {
    let mut sum = Spread::ZERO;
    for amount in held.values() {
        sum = sum.plus(amount)?;
    }
    if sum.nominal.is_zero() {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    for (substance, amount) in held {
        let Some(at_once) = at_once(amount, &sum, size, composition)? else {
            continue;
        };
        let a_day = match times {
            Some(times) => Some(at_once.times(times)?.settled()),
            None => None,
        };
        let entry = ledger.substances.get(*substance);
        found.push(HerbIntake {
            substance: *substance,
            share: quotient(
                amount.nominal.checked_mul(Decimal::ONE_HUNDRED).ok_or(Overflow)?,
                sum.nominal,
            )?,
            at_once: at_once.settled(),
            a_day,
            published: match entry {
                Some(entry) => published(planner, *substance, entry, years)?,
                None => Published::default(),
            },
        });
    }
    let name = |herb: &HerbIntake| ledger.substances.get(herb.substance).map(|one| one.name.as_str());
    found.sort_by(|a: &HerbIntake, b: &HerbIntake| {
        b.at_once
            .nominal
            .cmp(&a.at_once.nominal)
            .then_with(|| name(a).cmp(&name(b)))
    });
    Ok(found)
}

/// What a dose holds of one herb: its share of the blend, from its own spread against the others'.
fn at_once(amount: &Spread, sum: &Spread, size: Size, composition: &Composition) -> Checked<Option<Spread>> {
    Ok(Some(match (size, composition.totals.finished) {
        (Size::Grams(blend), Some(finished)) if !finished.nominal.is_zero() => {
            amount.times(&blend)?.proportion(Decimal::ONE, finished.nominal)?
        }
        (Size::Grams(blend), _) => {
            let end = |own: Decimal, own_in_sum: Decimal, others: Decimal, blend: Decimal| {
                let rest = others.checked_sub(own_in_sum).ok_or(Overflow)?;
                quotient(
                    own.checked_mul(blend).ok_or(Overflow)?,
                    own.checked_add(rest).ok_or(Overflow)?,
                )
            };
            let nominal = end(amount.nominal, amount.nominal, sum.nominal, blend.nominal)?;
            Spread {
                nominal,
                low: end(amount.low, amount.high, sum.high, blend.low)?.min(nominal),
                high: end(amount.high, amount.low, sum.low, blend.high)?.max(nominal),
            }
        }
        (Size::Millilitres(volume), _) => {
            match composition.totals.volume.or(composition.totals.millilitres) {
                Some(whole) if !whole.nominal.is_zero() => {
                    amount.times(&volume)?.proportion(Decimal::ONE, whole.nominal)?
                }
                _ => return Ok(None),
            }
        }
        (Size::Share(share), _) => amount.scaled(share)?,
    }))
}

/// The bounds that the ledger states for a herb. Of several books the strictest counts for a most.
///
/// A child takes what is published for the age; else the adult's figures stand.
fn published(
    planner: &mut Planner<'_>,
    place: usize,
    substance: &Substance,
    years: Option<Decimal>,
) -> Result<Published, Refusal> {
    let mut bounds = Published::default();
    let mut stated_day = None;
    let fits = |dose: &Dose| dose.age.is_none() || is_for_age(dose, years);
    let for_the_age = years.is_some()
        && substance
            .doses
            .iter()
            .any(|line| line.dose.age.is_some() && fits(&line.dose));
    for line in &substance.doses {
        if !fits(&line.dose) || (for_the_age && line.dose.age.is_none()) {
            continue;
        }
        let Some(amount) = grams(
            planner,
            place,
            &substance.name,
            &planner.portion(&line.dose.amount)?,
            line.span,
        ) else {
            continue;
        };
        least(&mut bounds.least_at_once, amount.low, line.span);
        least(&mut bounds.most_at_once, amount.high, line.span);
        if let Some(Frequency::TimesADay(numbers, _)) = &line.dose.frequency {
            let times = numbers.high.unwrap_or(numbers.low).value;
            let day = amount.high.checked_mul(times).ok_or(Overflow)?;
            least(&mut bounds.most_a_day, day, line.span);
        }
        bounds.books.extend(line.book);
    }
    for most in &substance.mosts {
        if let Portion::Minutes(minutes) = &most.portion {
            let days = quotient(minutes.high, Decimal::from(1440_u32))?;
            least(&mut bounds.most_days, days, most.span);
        } else {
            let Some(amount) = grams(planner, place, &substance.name, &most.portion, most.span) else {
                continue;
            };
            match most.per {
                Per::Day => least(&mut stated_day, amount.high, most.span),
                Per::Dose => least(&mut bounds.most_at_once, amount.high, most.span),
                Per::Unsaid => continue,
            }
        }
        bounds.books.extend(most.book);
    }
    // Where single dose and times come to something else, the stated most of the day rules.
    // What is stated for a child's age is not loosened by what is stated for adults.
    bounds.most_a_day = match (stated_day, bounds.most_a_day) {
        (Some(stated), Some(derived)) if for_the_age => {
            Some(if derived.0 < stated.0 { derived } else { stated })
        }
        (stated, derived) => stated.or(derived),
    };
    bounds.books.sort_unstable();
    bounds.books.dedup();
    Ok(bounds)
}

fn least(bound: &mut Option<(Decimal, Span)>, value: Decimal, span: Span) {
    if bound.is_none_or(|(known, _)| value < known) {
        *bound = Some((value, span));
    }
}

/// A published amount in grams; nothing where the herb has no weight for its measure.
fn grams(
    planner: &mut Planner<'_>,
    place: usize,
    name: &str,
    portion: &Portion,
    span: Span,
) -> Option<Spread> {
    let name = Name {
        text: name.to_owned(),
        span,
    };
    let of = Use {
        name: &name,
        what: Bound::Substance(place),
        span,
        line: 0,
    };
    planner
        .reckoner()
        .amounts(&of, portion, &mut Trace::silent())
        .ok()
        .and_then(|(amounts, _)| amounts.grams)
}

/// How a figure stands to a bound above it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// Below it, whatever the spread.
    Within,
    /// The middle is within and the spread reaches over it.
    NotSure,
    /// The middle is over it.
    Over,
}

/// Compares a figure with the most that it may be.
pub fn against_most(figure: &Spread, most: Decimal) -> Against {
    if figure.nominal > most {
        Against::Over
    } else if figure.high > most {
        Against::NotSure
    } else {
        Against::Within
    }
}

/// Whether a composition has any line that counts, for checks that need one.
pub fn is_counted(composition: &Composition) -> bool {
    composition.lines.iter().any(|line| line.how != How::Uncounted)
}
