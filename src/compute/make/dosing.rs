//! Works out which dose line counts for an age, and how much of the formula one dose takes.

use super::{End, Planner, Size};
use crate::compute::batch::Refusal;
use crate::compute::trace::Trace;
use crate::model::Portion;
use crate::quantity::{Decimal, Overflow};
use crate::syntax::tree::{Dose, Frequency};

/// Whether a dose is for an age; `6 to 11` reaches to the twelfth birthday.
pub(in crate::compute) fn is_for_age(dose: &Dose, years: Option<Decimal>) -> bool {
    match (&dose.age, years) {
        (Some((ages, true)), Some(years)) => years < ages.low.value,
        (Some((ages, false)), Some(years)) => {
            let whole = |bound: Decimal| bound.fract().is_zero();
            ages.low.value <= years
                && ages.high.is_none_or(|high| {
                    if whole(high.value) && high.value < Decimal::from(18_u32) {
                        years.floor() <= high.value
                    } else {
                        years <= high.value
                    }
                })
        }
        _ => false,
    }
}

impl Planner<'_> {
    /// What one dose takes, and the dose.
    pub(super) fn one_dose(&mut self) -> Result<(Size, Dose), Refusal> {
        self.dose_for(None)
    }

    /// What one dose takes, of the dose line that fits an age.
    pub(in crate::compute) fn dose_for(&mut self, years: Option<Decimal>) -> Result<(Size, Dose), Refusal> {
        let lines = || self.composition.formula.doses.iter().map(|line| &line.dose);
        let of_the_age: Vec<Dose> = lines().filter(|dose| is_for_age(dose, years)).cloned().collect();
        let wanted = if of_the_age.is_empty() {
            lines().filter(|dose| dose.age.is_none()).cloned().collect()
        } else {
            of_the_age
        };
        // Of several doses the one that gives most in a day counts.
        let mut most: Option<(Decimal, Size, Dose)> = None;
        let mut refused = None;
        for dose in wanted {
            match self.size_of(&dose) {
                Ok(size) => {
                    let times = times_a_day(&dose, self).unwrap_or(Decimal::ONE);
                    let day = size.magnitude().checked_mul(times).ok_or(Overflow)?;
                    if most.as_ref().is_none_or(|(known, ..)| day > *known) {
                        most = Some((day, size, dose));
                    }
                }
                Err(refusal) => refused = Some(refusal),
            }
        }
        match (most, refused) {
            (Some((_, size, dose)), _) => Ok((size, dose)),
            (None, Some(refusal)) => Err(refusal),
            (None, None) => Err(Refusal::new(
                format!("{} has no dose", self.name()),
                "add a line such as `dose   1 cup, 3 times a day` to the formula",
            )),
        }
    }

    /// The same dose at the least and at the most that its ranges allow, worked at the most.
    pub(in crate::compute) fn dose_range(&mut self, years: Option<Decimal>) -> Result<(Size, Dose), Refusal> {
        self.end = End::Least;
        let recording = std::mem::replace(&mut self.trace, Trace::silent());
        let least = self.dose_for(years)?.0;
        self.trace = recording;
        self.end = End::Most;
        let (most, dose) = self.dose_for(years)?;
        Ok((least.up_to(most), dose))
    }

    /// What a dose takes.
    fn size_of(&mut self, dose: &Dose) -> Result<Size, Refusal> {
        let amount = self.at_end(&dose.amount);
        let portion = self.portion(&amount)?;
        let liquid = self.composition.totals.volume.is_some();
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
