//! The published rules for a child's share of an adult's dose; none of them decides anything.

use super::intake::Intake;
use crate::model::{ChildRule, Person};
use crate::quantity::rounding::{quotient, settled};
use crate::quantity::{Checked, Decimal, Overflow};

/// A child's share by one rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChildShare {
    /// The rule.
    pub rule: ChildRule,
    /// The share of the adult's dose.
    pub share: Decimal,
    /// How it was worked out.
    pub working: String,
}

impl ChildRule {
    /// The rule's name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Young => "Young",
            Self::Clark => "Clark",
            Self::Cowling => "Cowling",
            Self::Fried => "Fried",
        }
    }
}

/// The share of an adult's dose that a rule gives a child; nothing if what it needs is not known,
/// or the rule does not speak of such a child.
///
/// Young: age / (age + 12). Clark: weight in pounds / 150. Cowling: age at the next birthday / 24.
/// Fried: age in months / 150, for infants.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn share(rule: ChildRule, person: &Person) -> Checked<Option<ChildShare>> {
    use crate::quantity::print::short;
    let (share, working) = match (rule, person.years, person.grams) {
        (ChildRule::Young, Some(years), _) => {
            let below = years.checked_add(Decimal::from(12_u32)).ok_or(Overflow)?;
            (
                quotient(years, below)?,
                format!("{0} / ({0} + 12)", short(years, 2)),
            )
        }
        (ChildRule::Clark, _, Some(grams)) => {
            // The international pound of 453.59237 g.
            let pounds = quotient(grams, Decimal::new(45_359_237, 5))?;
            (
                quotient(pounds, Decimal::from(150_u32))?,
                format!("{} lb / 150", short(pounds, 2)),
            )
        }
        (ChildRule::Cowling, Some(years), _) => {
            let next = years.floor().checked_add(Decimal::ONE).ok_or(Overflow)?;
            (
                quotient(next, Decimal::from(24_u32))?,
                format!("{} / 24", short(next, 0)),
            )
        }
        (ChildRule::Fried, Some(years), _) if years <= Decimal::TWO => {
            let months = years.checked_mul(Decimal::from(12_u32)).ok_or(Overflow)?;
            (
                quotient(months, Decimal::from(150_u32))?,
                format!("{} months / 150", short(months, 2)),
            )
        }
        _ => return Ok(None),
    };
    Ok(Some(ChildShare {
        rule,
        // No rule for children gives more than the adult's dose.
        share: share.min(Decimal::ONE),
        working,
    }))
}

/// A herb of which a share would give more than is stated for the child's own age.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Passed {
    /// The herb, by its place in the ledger.
    pub substance: usize,
    /// What the share gives at the most, in grams.
    pub gives: Decimal,
    /// What is stated, in grams.
    pub most: Decimal,
    /// Whether both are for a day; else at a time.
    pub a_day: bool,
}

/// The herbs of which a share of a dose would give more than is stated for the age it was reckoned for.
/// Figures for grown-ups say nothing of a child, and what is drawn out is compared with nothing.
///
/// # Errors
/// [`Overflow`] when a figure does not fit.
pub fn passed(share: Decimal, intake: &Intake) -> Checked<Vec<Passed>> {
    let mut found = Vec::new();
    if intake.drawn_out || intake.given.is_some() {
        return Ok(found);
    }
    for herb in &intake.herbs {
        let once = herb
            .published
            .most_at_once
            .map(|most| (Some(herb.at_once), most, false));
        let day = herb.published.most_a_day.map(|most| (herb.a_day, most, true));
        for (amount, (most, line), a_day) in once.into_iter().chain(day) {
            let Some(amount) = amount.filter(|_| !herb.published.is_for_grown_ups(line)) else {
                continue;
            };
            // A third of 3 g is 1 g, whatever the division left behind.
            let gives = settled(amount.high.checked_mul(share).ok_or(Overflow)?);
            if gives > most {
                found.push(Passed {
                    substance: herb.substance,
                    gives,
                    most,
                    a_day,
                });
            }
        }
    }
    Ok(found)
}

/// Whether an age is a child's, for whom the adult's figures do not speak.
pub fn is_child(person: &Person) -> bool {
    person.years.is_some_and(|years| years < Decimal::from(18_u32))
}

#[cfg(test)]
mod tests {
    use super::{ChildRule, share};
    use crate::model::Person;
    use crate::quantity::Decimal;
    use crate::quantity::rounding::to_places;

    fn child(years: &str, pounds: &str) -> Person {
        let grams = pounds.parse::<Decimal>().unwrap() * Decimal::new(45_359_237, 5);
        Person {
            years: years.parse().ok(),
            grams: Some(grams),
            ..Person::default()
        }
    }

    fn dose(rule: ChildRule, adult: &str, person: &Person) -> String {
        let share = share(rule, person).unwrap().unwrap().share;
        to_places(share * adult.parse::<Decimal>().unwrap(), 2)
            .normalize()
            .to_string()
    }

    // Worked examples of published calculation courses, recomputed: encyclopedia article on
    // Clark's rule; a lecture on Clark's rule; flash cards on Young's rule; textbook exercises from memory.
    #[test]
    fn worked_examples() {
        assert_eq!(dose(ChildRule::Clark, "30", &child("9", "30")), "6");
        assert_eq!(dose(ChildRule::Clark, "30", &child("9", "50")), "10");
        assert_eq!(dose(ChildRule::Clark, "400", &child("9", "60")), "160");
        assert_eq!(dose(ChildRule::Young, "500", &child("11", "60")), "239.13");
        assert_eq!(dose(ChildRule::Young, "5", &child("6", "60")), "1.67");
        assert_eq!(dose(ChildRule::Cowling, "30", &child("7", "60")), "10");
        let four = child("4", "36");
        assert_eq!(dose(ChildRule::Young, "4", &four), "1");
        assert_eq!(dose(ChildRule::Cowling, "4", &four), "0.83");
        assert_eq!(dose(ChildRule::Clark, "4", &four), "0.96");
    }

    #[test]
    fn a_rule_that_does_not_know_enough_says_nothing() {
        assert_eq!(share(ChildRule::Clark, &Person::default()), Ok(None));
        assert_eq!(share(ChildRule::Fried, &child("9", "60")), Ok(None));
    }
}
