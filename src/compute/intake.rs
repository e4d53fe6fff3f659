//! What a person takes: of the blend and of each herb, at a time and in a day, beside what is published.

mod published;

use super::batch::Refusal;
use super::blend::Contents;
use super::drawn::is_drawn_out;
use super::make::{Ages, Planner, Size, is_childs, is_for_age, times_a_day};
use super::trace::Step as Working;
use super::{Composition, Figures, Held, How, held};
use crate::model::{DoseLine, Faults, Ledger, Portion};
use crate::naming;
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow, Spread};
use crate::source::Span;
use crate::syntax::tree::{Dose, Frequency};
use published::published;
pub use published::{Published, Whom};

/// What one formula gives a person.
#[derive(Debug, Clone)]
pub struct Intake {
    /// The dose that it is reckoned from, as written.
    pub dose: Dose,
    /// The line that says so.
    pub line: Span,
    /// For whom it is held against what is published.
    pub whom: Whom,
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
    /// How many cups the formula's own size makes, where a cup takes of the blend itself.
    pub cups_held: Option<Spread>,
    /// How many days that lasts one person.
    pub lasts_days: Option<Spread>,
    /// Whether it is drawn out into a liquid, so that not all of a herb is taken.
    pub drawn_out: bool,
    /// Where only a part of it is: what of each herb stands behind that part; nothing if it can't be told.
    pub behind: Vec<HerbIntake>,
    /// The names of what is drawn out and taken into it.
    pub drawn_by: Vec<String>,
    /// The names of lines without a weight beside which the rest is reckoned as if they weighed nothing:
    /// then every figure is the most that it can be.
    pub unweighed: Vec<String>,
    /// The names of what is taken as it is beside what is drawn out, and how much of it can't be told: it
    /// stands in no figure and is compared with nothing.
    pub unknown: Vec<String>,
    /// What is bought ready-made of a herb and taken by volume: what it holds of the herb is not reckoned.
    pub bought: Vec<BoughtIntake>,
    /// How it is given, where it is not by mouth.
    pub given: Option<String>,
    /// How the dose became grams of the blend, if that was asked for.
    pub working: Vec<Working>,
}

/// What a person takes of something that is bought ready-made, such as a tincture.
#[derive(Debug, Clone)]
pub struct BoughtIntake {
    /// Its place in the ledger.
    pub substance: usize,
    /// What it was made of, by its place in the ledger.
    pub made_of: usize,
    /// At a time, in millilitres.
    pub at_once: Spread,
    /// In a day, in millilitres; the nominal at the most often that is directed.
    pub a_day: Option<Spread>,
}

/// What a person takes of one herb.
#[derive(Debug, Clone)]
pub struct HerbIntake {
    /// Its place in the ledger.
    pub substance: usize,
    /// Its share of the whole in percent; nothing where some of the whole has no weight.
    pub share: Option<Decimal>,
    /// At a time, in grams.
    pub at_once: Spread,
    /// In a day, in grams; the nominal at the most often that is directed.
    pub a_day: Option<Spread>,
    /// What is published.
    pub published: Published,
}

/// One dose line of a formula, reckoned.
#[derive(Debug, Clone)]
pub struct LineIntake {
    /// The line.
    pub line: Span,
    /// What it gives, or why that can't be told.
    pub intake: Result<Intake, Refusal>,
}

/// Reckons every dose line of a formula by itself, first the one that counts for somebody of an age.
/// Each is for grown-ups, or for the ages that it names; lines are choices and are not added.
///
/// # Errors
/// [`Refusal`] where the formula holds an error.
pub fn every_line(
    ledger: &Ledger,
    faults: &Faults,
    figures: &Figures,
    formula: usize,
    years: Option<Decimal>,
) -> Result<Vec<LineIntake>, Refusal> {
    let mut planner = Planner::new(ledger, faults, figures, formula)?;
    planner.at_the_most();
    let doses = &planner.composition().formula.doses;
    let first = planner.line_for(years).ok().map(|line| line.span);
    let own = doses.iter().any(|line| is_for_age(&line.dose, years));
    let mut lines: Vec<&DoseLine> = doses.iter().collect();
    lines.sort_by_key(|line| first != Some(line.span));
    Ok(lines
        .into_iter()
        .map(|line| LineIntake {
            line: line.span,
            intake: of_line(ledger, figures, &mut planner, line, whom(&line.dose, years, own)),
        })
        .collect())
}

/// For whom a dose line is held against what is published.
fn whom(dose: &Dose, years: Option<Decimal>, childs_own: bool) -> Whom {
    match (Ages::of(dose), years) {
        (Some(ages), Some(years)) if ages.hold(years) => Whom::Years(years),
        (Some(ages), _) => Whom::Ages(ages),
        // Beside a line for the child's age the others are for grown-ups.
        (None, Some(years)) if childs_own && is_childs(years) => Whom::Anyone,
        (None, Some(years)) => Whom::Years(years),
        (None, None) => Whom::Anyone,
    }
}

/// Reckons what a formula gives a person; the dose that fits an age is taken.
///
/// # Errors
/// [`Refusal`] where the formula does not say enough.
pub fn intake(
    ledger: &Ledger,
    faults: &Faults,
    figures: &Figures,
    formula: usize,
    years: Option<Decimal>,
    with_working: bool,
) -> Result<Intake, Refusal> {
    let mut planner = Planner::new(ledger, faults, figures, formula)?;
    planner.at_the_most();
    let line = planner.line_for(years)?;
    if with_working {
        planner.record();
    }
    let own = is_for_age(&line.dose, years);
    of_line(ledger, figures, &mut planner, line, whom(&line.dose, years, own))
}

fn of_line(
    ledger: &Ledger,
    figures: &Figures,
    planner: &mut Planner<'_>,
    line: &DoseLine,
    whom: Whom,
) -> Result<Intake, Refusal> {
    let composition = planner.composition();
    let dose = line.dose.clone();
    let size = planner.range_of(&dose)?;
    let working = planner.recorded();
    let held = held(figures, composition)?;
    let times = times(planner, &dose)?;
    let days = match &dose.lasting {
        Some(lasting) => match planner.portion(lasting)? {
            Portion::Minutes(minutes) => Some(minutes.proportion(Decimal::ONE, Decimal::from(1440_u32))?),
            _ => None,
        },
        None => None,
    };
    let weight = |size: Result<Size, Refusal>| -> Result<Option<Spread>, Refusal> {
        Ok(match size {
            Ok(Size::Grams(grams)) => Some(grams),
            Ok(Size::Share(share)) => composition
                .totals
                .grams
                .map(|total| total.times(&share))
                .transpose()?,
            _ => None,
        })
    };
    let blend_a_cup = weight(planner.one_cup())?;
    let (blend_at_once, liquid_at_once) = match size {
        Size::Grams(grams) => (Some(grams), None),
        Size::Millilitres(volume) => (None, Some(volume)),
        Size::Share(share) => (
            composition
                .totals
                .grams
                .map(|total| total.times(&share))
                .transpose()?,
            None,
        ),
    };
    let drawn_out = is_drawn_out(composition) || (!held.drawn_by.is_empty() && held.dry.is_empty());
    let mixed = !drawn_out && !held.drawn_by.is_empty();
    // A share of a dry blend can be told only when all of it is weighed; and a share of parts only
    // when they have a size.
    let known = match size {
        Size::Grams(_) => held.complete || mixed,
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
    let Herbs {
        whole: herbs,
        behind,
        unweighed,
    } = if known {
        herbs(ledger, planner, composition, &held, (size, times, whom), mixed)?
    } else {
        Herbs::default()
    };
    let bought = bought(ledger, composition, &held, size, times)?;
    let doses_held = doses_held(composition, size)?;
    let lasts_days = match (doses_held, times) {
        (Some(doses), Some(times)) if !times.nominal.is_zero() => {
            Some(doses.over(&Spread::exact(times.nominal))?)
        }
        _ => None,
    };
    Ok(Intake {
        dose,
        line: line.span,
        whom,
        blend_at_once,
        liquid_at_once,
        blend_a_cup,
        grams_in_100_ml: weight(planner.in_100_ml())?,
        times,
        days,
        herbs,
        doses_held,
        cups_held: cups_held(composition, blend_a_cup.filter(|_| !drawn_out))?,
        lasts_days,
        drawn_out,
        behind,
        drawn_by: held.drawn_by,
        unweighed,
        unknown: if mixed { held.unknown } else { Vec::new() },
        bought,
        given: composition
            .formula
            .given
            .clone()
            .filter(|given| !naming::folded(given).starts_with("by mouth")),
        working,
    })
}

/// How many cups the formula's own size makes, by what a cup takes of it.
fn cups_held(composition: &Composition, cup: Option<Spread>) -> Checked<Option<Spread>> {
    match (composition.totals.grams, cup) {
        (Some(whole), Some(cup)) if !cup.low.is_zero() => Ok(Some(whole.over(&cup)?)),
        _ => Ok(None),
    }
}

/// What of each thing that is bought ready-made of a herb a dose takes, by volume.
fn bought(
    ledger: &Ledger,
    composition: &Composition,
    held: &Held,
    size: Size,
    times: Option<Spread>,
) -> Checked<Vec<BoughtIntake>> {
    let whole = composition.totals.volume.or(composition.totals.millilitres);
    let mut found = Vec::new();
    for (substance, amount) in &held.by_volume {
        let made_of = ledger.substances.get(*substance).and_then(|one| one.made_of);
        let at_once = match (size, whole) {
            (Size::Millilitres(volume), Some(whole)) if !whole.nominal.is_zero() => {
                amount.times(&volume)?.proportion(Decimal::ONE, whole.nominal)?
            }
            (Size::Share(share), _) => amount.times(&share)?,
            // Of a weight it can't be told; what then is left out is named among what has no weight.
            _ => continue,
        };
        let Some(made_of) = made_of else { continue };
        found.push(BoughtIntake {
            substance: *substance,
            made_of,
            at_once: at_once.settled(),
            a_day: times
                .map(|times| at_once.times(&times))
                .transpose()?
                .map(|day| day.settled()),
        });
    }
    Ok(found)
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
        // `every 4 to 6 hours` is four times at the least.
        Frequency::Every(between) => match planner.portion(between)? {
            Portion::Minutes(minutes) if !minutes.high.is_zero() => {
                quotient(Decimal::from(1440_u32), minutes.high)?.min(most)
            }
            _ => most,
        },
    };
    Ok(Some(Spread {
        nominal: most,
        low,
        high: most,
    }))
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
        Size::Share(each) if !each.low.is_zero() => Ok(Some(Spread::exact(Decimal::ONE).over(&each)?)),
        Size::Share(_) => Ok(None),
    }
}

/// What of each herb is in a dose.
#[derive(Default)]
struct Herbs {
    /// Of what is taken as it is.
    whole: Vec<HerbIntake>,
    /// Of what is drawn out and taken in.
    behind: Vec<HerbIntake>,
    unweighed: Vec<String>,
}

/// Where a part of the blend is drawn out (`mixed`), the rest is reckoned by itself: it is known whatever
/// stands behind that part.
fn herbs(
    ledger: &Ledger,
    planner: &mut Planner<'_>,
    composition: &Composition,
    held: &Held,
    taken: (Size, Option<Spread>, Whom),
    mixed: bool,
) -> Result<Herbs, Refusal> {
    if !mixed {
        let whole = held
            .contents
            .values()
            .try_fold(Spread::ZERO, |sum, part| sum.plus(part))?;
        let mut herbs = each_herb(ledger, planner, composition, &held.contents, &whole, taken)?;
        if !held.complete {
            // Of a whole of which a part is left out no share can be told.
            for herb in &mut herbs {
                herb.share = None;
            }
        }
        return Ok(Herbs {
            whole: herbs,
            ..Herbs::default()
        });
    }
    let whole = composition
        .totals
        .grams
        .or(composition.totals.parts)
        .unwrap_or(Spread::ZERO);
    // By weight only: a cup or a powder takes its share of whatever there is.
    let by_weight = matches!(taken.0, Size::Grams(_)) && composition.totals.finished.is_none();
    let unweighed = composition.lines.iter().filter(|line| {
        by_weight && line.how != How::Uncounted && line.amounts.grams.or(line.amounts.parts).is_none()
    });
    Ok(Herbs {
        whole: each_herb(ledger, planner, composition, &held.dry, &whole, taken)?,
        behind: if held.complete {
            each_herb(ledger, planner, composition, &held.drawn, &whole, taken)?
        } else {
            Vec::new()
        },
        unweighed: unweighed.map(|line| line.taken.name.text.clone()).collect(),
    })
}

fn each_herb(
    ledger: &Ledger,
    planner: &mut Planner<'_>,
    composition: &Composition,
    held: &Contents,
    whole: &Spread,
    (size, times, whom): (Size, Option<Spread>, Whom),
) -> Result<Vec<HerbIntake>, Refusal> {
    if whole.nominal.is_zero() {
        return Ok(Vec::new());
    }
    let mut found = Vec::new();
    for (substance, amount) in held {
        let Some(at_once) = at_once(amount, whole, size, composition)? else {
            continue;
        };
        let a_day = match &times {
            Some(times) => Some(at_once.times(times)?.settled()),
            None => None,
        };
        found.push(HerbIntake {
            substance: *substance,
            share: quotient(
                amount.nominal.checked_mul(Decimal::ONE_HUNDRED).ok_or(Overflow)?,
                whole.nominal,
            )
            .map(Some)?,
            at_once: at_once.settled(),
            a_day,
            published: published(planner, ledger, *substance, whom)?,
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
                // What comes in by volume is not in the others' weight.
                let rest = others.checked_sub(own_in_sum).ok_or(Overflow)?.max(Decimal::ZERO);
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
        (Size::Share(share), _) => amount.times(&share)?,
    }))
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
