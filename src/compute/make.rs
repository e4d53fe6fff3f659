//! Turns what is asked for (cups, doses, people and days, jars) into how much of a formula to make.

mod dosing;

pub use dosing::Ages;
pub(super) use dosing::{is_childs, is_for_age, times_a_day};

use super::batch::{Refusal, Target};
use super::measure::{Use, piece_share};
use super::trace::{Step, Trace};
use super::{Composition, Figures, Reckoner};
use crate::model::measure::portion;
use crate::model::{Bound, Faults, Ledger, PieceSize, Portion};
use crate::naming;
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Household, Overflow, Spread, print};
use crate::syntax::tree::{Liquid, Make, Quantity, Subject};

/// What sizes may be asked for.
pub const SIZES: &str =
    "ask for `500 g`, `60 cups`, `14 doses`, `2 people for 7 days`, `3 jars of 80 g` or `2 times`";

/// How much to make, and how that was worked out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// How much.
    pub target: Target,
    /// The working, in sentences; empty where the size was said outright.
    pub working: Vec<String>,
}

/// Which end of a range is worked with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    Least,
    Middle,
    Most,
}

/// What one cup, dose or piece takes of a formula.
#[derive(Debug, Clone, Copy)]
pub(super) enum Size {
    Grams(Spread),
    Millilitres(Spread),
    /// A share of the formula's own size.
    Share(Spread),
}

/// Works out how much to make.
///
/// # Errors
/// [`Refusal`] where the formula does not say enough: no dose, nothing for a cup.
pub fn plan(
    ledger: &Ledger,
    faults: &Faults,
    figures: &Figures,
    formula: usize,
    make: &Make,
) -> Result<Plan, Refusal> {
    Planner::new(ledger, faults, figures, formula)?.plan(make)
}

/// Knows one formula well enough to say what a cup, a dose or a piece of it takes.
pub(super) struct Planner<'a> {
    ledger: &'a Ledger,
    reckoner: Reckoner<'a>,
    composition: &'a Composition,
    formula: usize,
    /// How an amount of the blend became grams, if that is asked for.
    trace: Trace,
    /// Which end of a range is taken.
    end: End,
}

impl Size {
    /// Two amounts of one formula together.
    fn and(self, more: Self) -> Result<Self, Refusal> {
        match (self, more) {
            (Self::Grams(a), Self::Grams(b)) => Ok(Self::Grams(a.plus(&b)?)),
            (Self::Millilitres(a), Self::Millilitres(b)) => Ok(Self::Millilitres(a.plus(&b)?)),
            (Self::Share(a), Self::Share(b)) => Ok(Self::Share(a.plus(&b)?)),
            _ => Err(Refusal::new(
                "amounts of different sorts can't be added",
                "write both by weight",
            )),
        }
    }

    /// From this to a greater one, worked at the greater.
    fn up_to(self, most: Self) -> Self {
        let join = |least: Spread, most: Spread| Spread {
            low: least.low.min(most.low),
            ..most
        };
        match (self, most) {
            (Self::Grams(least), Self::Grams(most)) => Self::Grams(join(least, most)),
            (Self::Millilitres(least), Self::Millilitres(most)) => Self::Millilitres(join(least, most)),
            (Self::Share(least), Self::Share(most)) => Self::Share(join(least, most)),
            (_, most) => most,
        }
    }
}

impl<'a> Planner<'a> {
    /// A planner for one formula; none for a formula with a fault.
    pub(super) fn new(
        ledger: &'a Ledger,
        faults: &'a Faults,
        figures: &'a Figures,
        formula: usize,
    ) -> Result<Self, Refusal> {
        let composition = figures.of(formula).ok_or_else(|| {
            Refusal::new(
                "this formula has a fault",
                "run `scruple check` and mend it first",
            )
        })?;
        Ok(Self {
            ledger,
            reckoner: Reckoner::over(ledger, figures, faults),
            composition,
            formula,
            trace: Trace::silent(),
            end: End::Middle,
        })
    }

    fn plan(&mut self, make: &Make) -> Result<Plan, Refusal> {
        match make {
            Make::AllStock => Err(Refusal::new(
                "what stock allows depends on a day and on the book",
                "say how much to make: `--make \"500 g\"`",
            )),
            Make::Vessels { count, vessel, each } => {
                let held = self.portion(each)?;
                if held.is_zero() {
                    return Err(nothing());
                }
                let size = match held {
                    Portion::Grams(grams) => Size::Grams(grams),
                    Portion::Millilitres(volume) => Size::Millilitres(volume),
                    _ => {
                        return Err(Refusal::new(
                            "what a jar holds is a weight or a volume",
                            "write `3 jars of 80 g`",
                        ));
                    }
                };
                Self::times(size, count.value, &vessel.text)
            }
            Make::Times(times) if times.value.is_zero() => Err(nothing()),
            Make::Times(times) => Ok(Plan {
                target: Target::Times(times.value),
                working: Vec::new(),
            }),
            Make::People { people, days } => self.people(people.value, days.value),
            Make::Quantity(quantity) => self.quantity(quantity),
        }
    }

    pub(super) fn portion(&self, quantity: &Quantity) -> Result<Portion, Refusal> {
        portion(quantity, self.ledger.practice.settled)
            .map_err(|finding| Refusal::new(finding.message, finding.help.unwrap_or_default()))
    }

    fn quantity(&mut self, quantity: &Quantity) -> Result<Plan, Refusal> {
        // Of a size only the help about sizes is of use.
        let portion = portion(quantity, self.ledger.practice.settled)
            .map_err(|finding| Refusal::new(finding.message, SIZES))?;
        if portion.is_zero() {
            return Err(nothing());
        }
        let outright = |target, spread: &Spread, unit: &str| {
            let open = (!spread.is_exact()).then(|| {
                format!(
                    "{} is worked at its middle, {} {unit}",
                    print::range(spread, 3, unit),
                    print::short(spread.nominal, 3)
                )
            });
            Ok(Plan {
                target,
                working: open.into_iter().collect(),
            })
        };
        match &portion {
            Portion::Grams(grams) => outright(Target::Grams(grams.nominal), grams, "g"),
            Portion::Millilitres(volume) => outright(Target::Millilitres(volume.nominal), volume, "ml"),
            Portion::Household(count, _, Household::Cup) => {
                let cup = self.one_cup()?;
                Self::times(cup, count.nominal, "cups")
            }
            Portion::Pieces(count, name) if naming::same_but_for_number(name, "doses") => {
                let dose = self.one_dose()?.0;
                Self::times(dose, count.nominal, "doses")
            }
            Portion::Pieces(_, name) if name.chars().any(|letter| letter.is_ascii_digit()) => {
                Err(Refusal::new(format!("`{name}` is no measure"), SIZES))
            }
            Portion::Pieces(count, name) => {
                let piece = self.one_piece(name)?;
                Self::times(piece, count.nominal, name)
            }
            _ => Err(Refusal::new(
                format!("`{}` is no size that can be made", print_count(&portion)),
                SIZES,
            )),
        }
    }

    fn times(size: Size, count: Decimal, what: &str) -> Result<Plan, Refusal> {
        if count.is_zero() {
            return Err(Refusal::new("nothing would be made", "ask for one at least"));
        }
        let times = print::short(count, 3);
        let what = if count == Decimal::ONE {
            singular(what)
        } else {
            what
        };
        let (target, working) = match size {
            Size::Grams(each) => {
                let total = each.scaled(count)?;
                (
                    Target::Grams(total.nominal),
                    worked(&times, what, &each, &total, "g"),
                )
            }
            Size::Millilitres(each) => {
                let total = each.scaled(count)?;
                (
                    Target::Millilitres(total.nominal),
                    worked(&times, what, &each, &total, "ml"),
                )
            }
            Size::Share(each) => {
                let total = each.nominal.checked_mul(count).ok_or(Overflow)?;
                (
                    Target::Times(total),
                    format!("{times} {what}: the formula {} times", print::short(total, 4)),
                )
            }
        };
        let open = match size {
            Size::Grams(each) | Size::Millilitres(each) | Size::Share(each) => {
                open_count(&each, count, what)?
            }
        };
        Ok(Plan {
            target,
            working: std::iter::once(working).chain(open).collect(),
        })
    }

    fn people(&mut self, people: Decimal, days: Decimal) -> Result<Plan, Refusal> {
        // So that what is made does not run out.
        self.end = End::Most;
        let (size, dose) = self.one_dose()?;
        let times = times_a_day(&dose, self)?;
        let count = people
            .checked_mul(days)
            .and_then(|person_days| person_days.checked_mul(times))
            .ok_or(Overflow)?;
        let mut plan = Self::times(size, count, "doses")?;
        plan.working.insert(
            0,
            format!(
                "{} × {} × {} a day, the most that is directed = {}",
                if people == Decimal::ONE {
                    "1 person".to_owned()
                } else {
                    format!("{} people", print::short(people, 3))
                },
                counted(days, "days"),
                counted(times, "times"),
                counted(count, "doses")
            ),
        );
        Ok(plan)
    }

    /// What a cup of the finished tea takes of the blend.
    pub(super) fn one_cup(&mut self) -> Result<Size, Refusal> {
        let cup = self
            .ledger
            .practice
            .volume(Household::Cup)
            .map_or(Spread::ZERO, |volume| volume.value);
        self.tea(&cup)
    }

    /// What a hundred millilitres of it take: its strength, whatever the cup holds.
    pub(super) fn in_100_ml(&mut self) -> Result<Size, Refusal> {
        self.tea(&Spread::exact(Decimal::ONE_HUNDRED))
    }

    fn tea(&mut self, wanted: &Spread) -> Result<Size, Refusal> {
        self.of_tea(wanted)?.ok_or_else(|| {
            Refusal::new(
                format!("nothing says how much of {} goes into a cup", self.name()),
                "add a line such as `infuse   2 teaspoons in 1 cup of boiling water for 10 minutes` to the formula",
            )
        })
    }

    fn name(&self) -> &str {
        &self.composition.formula.name.text
    }

    /// What a volume of the finished tea takes of the blend: from an `infuse` that says how much
    /// of the blend goes into how much water, from a dose that does, or from what the whole yields.
    fn of_tea(&mut self, wanted: &Spread) -> Result<Option<Size>, Refusal> {
        let formula = &self.composition.formula;
        if let Some(size) = self.by_the_cup(wanted)? {
            return Ok(Some(size));
        }
        for line in &formula.doses {
            if let (None, Some(water)) = (&line.dose.age, &line.dose.vehicle)
                && matches!(
                    self.portion(&line.dose.amount)?,
                    Portion::Pieces(..) | Portion::Grams(_)
                )
            {
                let water = self.volume(water)?;
                return self.proportion(&line.dose.amount, water, wanted);
            }
        }
        match self.whole_yield()? {
            Some(whole) if !whole.nominal.is_zero() => Ok(Some(Size::Share(wanted.over(&whole)?))),
            _ => Ok(None),
        }
    }

    /// What a volume takes where steps say how much of the blend goes into how much water: the amounts
    /// of steps that go on in `it` are added; what is boiled down is stronger.
    fn by_the_cup(&mut self, wanted: &Spread) -> Result<Option<Size>, Refusal> {
        let formula = &self.composition.formula;
        let mut found: Option<(Size, Spread)> = None;
        for step in &formula.steps {
            let Subject::Amount(amount, of) = &step.preparation.subject else {
                continue;
            };
            let own = of
                .as_ref()
                .is_none_or(|of| naming::folded(&of.text) == naming::folded(&formula.name.text));
            if !own {
                continue;
            }
            let poured = step
                .preparation
                .media
                .iter()
                .any(|liquid| liquid.amount.is_some());
            let water = match (&step.preparation.down_to, poured) {
                (Some(left), _) => self.volume(left)?,
                (None, true) => self.poured(&step.preparation.media)?,
                (None, false) => None,
            };
            let size = self.of_blend(amount)?;
            found = match (found, water) {
                (None, Some(water)) => Some((size, water)),
                // It goes on in what was made before.
                (Some((before, water)), None) => Some((before.and(size)?, water)),
                (Some(_), Some(_)) => {
                    return Err(Refusal::new(
                        format!(
                            "{} is prepared in several waters, so what is in a cup is unclear",
                            self.name()
                        ),
                        "say how much of the blend goes into one: `infuse   2 teaspoons in 1 cup of boiling water`",
                    ));
                }
                (None, None) => None,
            };
        }
        match found {
            Some((size, water)) => self.in_volume(size, water, wanted).map(Some),
            None => Ok(None),
        }
    }

    /// So much of the blend for so much water, taken at another volume.
    fn proportion(
        &mut self,
        amount: &Quantity,
        water: Option<Spread>,
        wanted: &Spread,
    ) -> Result<Option<Size>, Refusal> {
        let water = water.ok_or_else(|| {
            Refusal::new(
                "what it is infused in is not said as a volume",
                "write `in 1 cup of boiling water`",
            )
        })?;
        let size = self.of_blend(amount)?;
        self.in_volume(size, water, wanted).map(Some)
    }

    /// What is in so much water, taken at another volume.
    #[expect(clippy::unused_self, reason = "one of several ways of taking a volume")]
    fn in_volume(&self, size: Size, water: Spread, wanted: &Spread) -> Result<Size, Refusal> {
        Ok(match size {
            Size::Grams(grams) => Size::Grams(grams.times(wanted)?.over(&water)?),
            Size::Millilitres(volume) => Size::Millilitres(volume.times(wanted)?.over(&water)?),
            Size::Share(share) => Size::Share(share.times(wanted)?.over(&water)?),
        })
    }

    /// The end of a range that is asked for.
    fn at_end(&self, amount: &Quantity) -> Quantity {
        let mut amount = amount.clone();
        match self.end {
            End::Middle => {}
            End::Most => {
                if let Some(high) = amount.high.take() {
                    amount.low = high;
                }
            }
            // `1 to 2 g` leaves the lower number without a measure of its own.
            End::Least => {
                if let Some(high) = amount.high.take() {
                    let unit = high.last().and_then(|term| term.unit.clone());
                    for term in &mut amount.low {
                        term.unit = term.unit.take().or_else(|| unit.clone());
                    }
                }
            }
        }
        amount
    }

    /// An amount of the finished blend.
    fn of_blend(&mut self, amount: &Quantity) -> Result<Size, Refusal> {
        let amount = &self.at_end(amount);
        let portion = self.portion(amount)?;
        if let Portion::Pieces(count, name) = &portion {
            return match self.one_piece(name)? {
                Size::Grams(each) => Ok(Size::Grams(each.times(count)?)),
                Size::Millilitres(each) => Ok(Size::Millilitres(each.times(count)?)),
                Size::Share(each) => Ok(Size::Share(each.times(count)?)),
            };
        }
        let of = Use {
            name: &self.composition.formula.name,
            what: Bound::Formula(self.formula),
            span: amount.span,
            line: 0,
        };
        let (amounts, _) = self
            .reckoner
            .amounts(&of, &portion, &mut self.trace)
            .map_err(|finding| Refusal::new(finding.message, finding.help.unwrap_or_default()))?;
        match (amounts.grams, amounts.millilitres) {
            (Some(grams), _) => Ok(Size::Grams(grams)),
            (None, Some(volume)) => Ok(Size::Millilitres(volume)),
            (None, None) => Err(Refusal::new(
                format!("how much of {} that is can't be worked out", self.name()),
                "say it by weight: `infuse   4 g in 1 cup of boiling water`",
            )),
        }
    }

    /// A volume of liquid, in millilitres.
    pub(super) fn volume(&self, quantity: &Quantity) -> Result<Option<Spread>, Refusal> {
        Ok(match self.portion(quantity)? {
            Portion::Millilitres(volume) => Some(volume),
            Portion::Drops(count) => Some(count.scaled(Decimal::new(5, 2))?),
            Portion::Household(count, _, measure) => match self.ledger.practice.volume(measure) {
                Some(holds) => Some(count.times(&holds.value)?),
                None => None,
            },
            _ => None,
        })
    }

    /// The volume that the whole formula yields: what it makes, or what its last step leaves.
    fn whole_yield(&self) -> Result<Option<Spread>, Refusal> {
        if let Some(volume) = self.composition.totals.volume {
            return Ok(Some(volume));
        }
        // Step by step: what goes on in `it` is one pot; what begins with water of its own is another,
        // and all are poured together in the end.
        let mut total = Spread::ZERO;
        for step in &self.composition.formula.steps {
            let is_it = |liquid: &&Liquid| {
                liquid
                    .name
                    .as_ref()
                    .is_some_and(|name| naming::folded(&name.text) == "it")
            };
            let media = &step.preparation.media;
            if media.iter().filter(is_it).any(|liquid| liquid.amount.is_some()) {
                return Err(Refusal::new(
                    format!(
                        "{} takes a measured part of what it made before, so what it yields is unclear",
                        self.name()
                    ),
                    "say what the whole yields: `makes   1 litre`",
                ));
            }
            let goes_on = media.iter().any(|liquid| is_it(&liquid));
            let fresh = media.iter().filter(|liquid| liquid.amount.is_some());
            let poured = if fresh.clone().next().is_some() {
                match self.poured(fresh)? {
                    Some(poured) => poured,
                    None => return Ok(None),
                }
            } else {
                Spread::ZERO
            };
            let (apart, pot) = if goes_on {
                (Spread::ZERO, total.plus(&poured)?)
            } else {
                (total, poured)
            };
            let pot = match &step.preparation.down_to {
                Some(left) => match self.volume(left)? {
                    Some(left) => left,
                    None => return Ok(None),
                },
                None => pot,
            };
            total = apart.plus(&pot)?;
        }
        Ok((!total.nominal.is_zero()).then_some(total))
    }

    /// All liquids of a step, or of several, poured together.
    fn poured<'l>(&self, liquids: impl IntoIterator<Item = &'l Liquid>) -> Result<Option<Spread>, Refusal> {
        let mut sum: Option<Spread> = None;
        for quantity in liquids.into_iter().filter_map(|liquid| liquid.amount.as_ref()) {
            match self.volume(quantity)? {
                Some(volume) => sum = Some(sum.unwrap_or(Spread::ZERO).plus(&volume)?),
                None => return Ok(None),
            }
        }
        Ok(sum)
    }

    /// The formula as it was reckoned.
    pub(super) fn composition(&self) -> &'a Composition {
        self.composition
    }

    /// Keeps the working from here on.
    pub(super) fn record(&mut self) {
        self.trace = Trace::recording();
        self.trace.begin(1);
    }

    /// The working that was kept, and no more from here on.
    pub(super) fn recorded(&mut self) -> Vec<Step> {
        std::mem::replace(&mut self.trace, Trace::silent())
            .lines
            .pop()
            .unwrap_or_default()
    }

    /// What turns amounts into grams.
    pub(super) fn reckoner(&mut self) -> &mut Reckoner<'a> {
        &mut self.reckoner
    }

    fn one_piece(&self, name: &str) -> Result<Size, Refusal> {
        match &self.composition.formula.divide {
            Some(pieces) if naming::same_but_for_number(&pieces.name, name) => Ok(match pieces.size {
                PieceSize::Grams(grams) => Size::Grams(grams),
                PieceSize::Count(count) => Size::Share(Spread::exact(piece_share(count)?)),
            }),
            _ => Err(Refusal::new(
                format!("{} is not divided into {name}", self.name()),
                SIZES,
            )),
        }
    }
}

/// `60 cups of 3.2 g (2.9 to 3.6 g) = 192 g (174 to 216 g)`.
fn worked(times: &str, what: &str, each: &Spread, total: &Spread, unit: &str) -> String {
    format!(
        "{times} {what} of {} = {}",
        print::spread(each, 3, unit),
        print::spread(total, 3, unit)
    )
}

/// How many it may turn out to be, where what one takes is not known to the last grain: made is for the middle.
fn open_count(each: &Spread, count: Decimal, what: &str) -> Result<Option<String>, Refusal> {
    if each.is_exact() || each.high.is_zero() {
        return Ok(None);
    }
    let made = each.nominal.checked_mul(count).ok_or(Overflow)?;
    let fewest = print::short(quotient(made, each.high)?, 1);
    let many = if each.low.is_zero() {
        format!("{fewest} or more")
    } else {
        format!("{fewest} to {}", print::short(quotient(made, each.low)?, 1))
    };
    Ok(Some(format!(
        "what is made is for the middle: it may come to {many} {what}"
    )))
}

fn counted(count: Decimal, what: &str) -> String {
    let what = if count == Decimal::ONE {
        singular(what)
    } else {
        what
    };
    format!("{} {what}", print::short(count, 3))
}

/// One of several: `dose` of `doses`.
fn singular(what: &str) -> &str {
    what.strip_suffix('s').unwrap_or(what)
}

fn nothing() -> Refusal {
    Refusal::new("nothing would be made", "ask for an amount above zero")
}

fn print_count(portion: &Portion) -> String {
    match portion {
        Portion::Household(count, heap, measure) => {
            let words = crate::quantity::Unit::Household(*heap, *measure).words(true);
            format!("{} {words}", print::short(count.nominal, 3))
        }
        Portion::Parts(count) => format!("{} parts", print::short(count.nominal, 3)),
        Portion::Percent(count, _) => format!("{} %", print::short(count.nominal, 3)),
        _ => "this".to_owned(),
    }
}
