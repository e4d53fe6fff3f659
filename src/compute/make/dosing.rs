//! Works out which dose line counts for whom, and how much of the formula one dose takes.

use super::{End, Planner, Size};
use crate::compute::batch::Refusal;
use crate::compute::trace::Trace;
use crate::model::{DoseLine, Portion};
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow};
use crate::syntax::tree::{Dose, Frequency, Numbers};

/// The ages that a line speaks of, in years.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ages {
    /// The youngest.
    pub from: Decimal,
    /// The oldest, and whether it is one of them; nothing where there is no end.
    pub to: Option<(Decimal, bool)>,
}

/// From this age on somebody is grown up.
const GROWN_UP: u32 = 18;

impl Ages {
    /// The ages of a dose line; nothing where it names none. `6 to 11` reaches to the twelfth birthday,
    /// `6` to the seventh; `18` has no end.
    pub(in crate::compute) fn of(dose: &Dose) -> Option<Self> {
        Self::written(dose.age.as_ref())
    }

    /// The ages as a line has them.
    pub(in crate::compute) fn written(ages: Option<&(Numbers, bool)>) -> Option<Self> {
        ages.map(|(ages, under)| Self::read(ages, *under))
    }

    fn read(ages: &Numbers, under: bool) -> Self {
        let from = ages.low.value;
        if under {
            return Self {
                from: Decimal::ZERO,
                to: Some((from, false)),
            };
        }
        let last = match &ages.high {
            Some(high) => high.value,
            None if from >= Decimal::from(GROWN_UP) => return Self { from, to: None },
            None => from,
        };
        // A whole year lasts to the next birthday.
        let to = if last.fract().is_zero() {
            last.checked_add(Decimal::ONE).map(|next| (next, false))
        } else {
            Some((last, true))
        };
        Self { from, to }
    }

    /// Whether somebody of an age is one of them.
    pub(in crate::compute) fn hold(self, years: Decimal) -> bool {
        self.from <= years && self.reaches(years)
    }

    /// Whether they go up to an age.
    fn reaches(self, years: Decimal) -> bool {
        self.to
            .is_none_or(|(to, included)| years < to || (included && years == to))
    }

    /// Whether some age is among both.
    pub(in crate::compute) fn meet(self, other: Self) -> bool {
        self.reaches(other.from) && other.reaches(self.from)
    }

    /// Whether grown-ups are among them.
    pub(in crate::compute) fn reach_grown_ups(self) -> bool {
        self.reaches(Decimal::from(GROWN_UP))
    }

    /// Whether somebody just grown up is one of them: then they are ages of grown-ups in general.
    pub(in crate::compute) fn hold_grown_ups(self) -> bool {
        self.hold(Decimal::from(GROWN_UP))
    }

    /// Whether children are among them.
    pub(in crate::compute) fn begin_with_children(self) -> bool {
        self.from < Decimal::from(GROWN_UP)
    }
}

/// Whether an age is a child's.
pub(in crate::compute) fn is_childs(years: Decimal) -> bool {
    years < Decimal::from(GROWN_UP)
}

/// Whether a dose is for somebody of an age by name.
pub(in crate::compute) fn is_for_age(dose: &Dose, years: Option<Decimal>) -> bool {
    Ages::of(dose)
        .zip(years)
        .is_some_and(|(ages, years)| ages.hold(years))
}

impl<'a> Planner<'a> {
    /// What one dose takes, and the dose.
    pub(super) fn one_dose(&mut self) -> Result<(Size, Dose), Refusal> {
        let line = self.line_for(None)?;
        Ok((self.size_of(&line.dose)?, line.dose.clone()))
    }

    /// The dose line that counts for somebody of an age: the one for that age, else one for no age in
    /// particular. For nobody in particular a line for grown-ups will do, and at last any. Of several the
    /// one that gives most in a day counts.
    pub(in crate::compute) fn line_for(&mut self, years: Option<Decimal>) -> Result<&'a DoseLine, Refusal> {
        let lines = &self.composition.formula.doses;
        let those = |fits: &dyn Fn(&Dose) -> bool| -> Vec<&'a DoseLine> {
            lines.iter().filter(|line| fits(&line.dose)).collect()
        };
        let mut wanted = those(&|dose| is_for_age(dose, years));
        if wanted.is_empty() {
            wanted = those(&|dose| dose.age.is_none());
        }
        if wanted.is_empty() && years.is_none() {
            wanted = those(&|dose| Ages::of(dose).is_some_and(Ages::reach_grown_ups));
        }
        if wanted.is_empty() && years.is_none() {
            wanted = lines.iter().collect();
        }
        let mut most: Option<(Decimal, &'a DoseLine)> = None;
        let mut refused = None;
        let recording = std::mem::replace(&mut self.trace, Trace::silent());
        for line in wanted {
            match self.size_of(&line.dose) {
                Ok(size) => {
                    let times = times_a_day(&line.dose, self).unwrap_or(Decimal::ONE);
                    let day = self.magnitude(size)?.checked_mul(times).ok_or(Overflow)?;
                    if most.is_none_or(|(known, _)| day > known) {
                        most = Some((day, line));
                    }
                }
                Err(refusal) => refused = Some(refusal),
            }
        }
        self.trace = recording;
        match (most, refused) {
            (Some((_, line)), _) => Ok(line),
            (None, Some(refusal)) => Err(refusal),
            (None, None) if !lines.is_empty() => Err(Refusal::new(
                format!("{} has no dose for this age", self.name()),
                "add a line for it such as `dose   age 6 to 12: 100 ml, 2 times a day` to the formula",
            )),
            (None, None) => Err(Refusal::new(
                format!("{} has no dose", self.name()),
                "add a line such as `dose   1 cup, 3 times a day` to the formula",
            )),
        }
    }

    /// A bare number to compare doses of one formula by: grams where they can be told.
    fn magnitude(&self, size: Size) -> Checked<Decimal> {
        let totals = &self.composition.totals;
        match size {
            Size::Grams(spread) => Ok(spread.nominal),
            Size::Share(share) => match totals.grams.or(totals.parts) {
                Some(whole) => share.nominal.checked_mul(whole.nominal).ok_or(Overflow),
                None => Ok(share.nominal),
            },
            Size::Millilitres(volume) => {
                let yielded = totals.volume.or(totals.millilitres);
                match (totals.finished.or(totals.grams), yielded) {
                    (Some(grams), Some(whole)) if !whole.nominal.is_zero() => quotient(
                        volume.nominal.checked_mul(grams.nominal).ok_or(Overflow)?,
                        whole.nominal,
                    ),
                    _ => Ok(volume.nominal),
                }
            }
        }
    }

    /// What a dose takes at the least and at the most that its ranges allow, worked at the most.
    pub(in crate::compute) fn range_of(&mut self, dose: &Dose) -> Result<Size, Refusal> {
        self.end = End::Least;
        let recording = std::mem::replace(&mut self.trace, Trace::silent());
        let least = self.size_of(dose);
        self.trace = recording;
        self.end = End::Most;
        let most = self.size_of(dose)?;
        Ok(least?.up_to(most))
    }

    /// Takes the most of every range from here on.
    pub(in crate::compute) fn at_the_most(&mut self) {
        self.end = End::Most;
    }

    /// What a dose takes.
    fn size_of(&mut self, dose: &Dose) -> Result<Size, Refusal> {
        let amount = self.at_end(&dose.amount);
        let portion = self.portion(&amount)?;
        let totals = &self.composition.totals;
        // Made up to a volume, or poured together of nothing but liquids.
        let liquid = totals.volume.is_some() || (totals.millilitres.is_some() && totals.grams.is_none());
        match &portion {
            Portion::Pieces(..) | Portion::Grams(_) => return self.of_blend(&amount),
            // `2 teaspoons in 1 cup` are spoons of the dry blend, not of the tea.
            Portion::Household(_, _, spoon) if dose.vehicle.is_some() && !liquid && spoon.is_spoon() => {
                return self.of_blend(&amount);
            }
            _ => {}
        }
        match self.volume(&amount)? {
            Some(volume) if liquid => Ok(Size::Millilitres(volume)),
            Some(volume) => match self.of_tea(&volume)? {
                Some(size) => Ok(size),
                // A spoon may be of the dry blend; a cup is one of tea, and nothing says how strong.
                None if matches!(&portion, Portion::Household(_, _, spoon) if spoon.is_spoon()) => {
                    self.of_blend(&amount)
                }
                None => Err(Refusal::new(
                    format!("nothing says how much of {} goes into a cup", self.name()),
                    "add a line such as `infuse   2 teaspoons in 1 cup of boiling water for 10 minutes` to the formula",
                )),
            },
            None => self.of_blend(&amount),
        }
    }
}

/// How often a dose is taken in a day, at the most.
pub(in crate::compute) fn times_a_day(dose: &Dose, planner: &Planner<'_>) -> Result<Decimal, Refusal> {
    match &dose.frequency {
        Some(Frequency::TimesADay(numbers, _)) => Ok(numbers.high.unwrap_or(numbers.low).value),
        Some(Frequency::Every(quantity)) => match planner.portion(quantity)? {
            Portion::Minutes(minutes) if !minutes.low.is_zero() => {
                Ok(Decimal::from(1440_u32).checked_div(minutes.low).ok_or(Overflow)?)
            }
            _ => Err(Refusal::new(
                "how often it is taken is not said as a time",
                "write `every 2 hours`",
            )),
        },
        None => Err(Refusal::new(
            format!("{} does not say how often a day it is taken", planner.name()),
            "add it to the dose: `dose   1 cup, 3 times a day`",
        )),
    }
}
