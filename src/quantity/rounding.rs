//! The one place where digits are dropped: division, settling, the scales, and largest remainders.

use super::{Checked, Decimal, Overflow};
use rust_decimal::RoundingStrategy;

/// How many decimal places of a gram (or millilitre, or part) a settled figure keeps.
///
/// Working values carry 28 digits, so a chain of divisions errs far below this place; settling
/// removes that error, and three thirds are one again.
pub const SETTLED_PLACES: u32 = 12;

/// A quotient, to 28 significant digits.
///
/// # Errors
/// [`Overflow`] when the divisor is zero or the result does not fit.
pub fn quotient(dividend: Decimal, divisor: Decimal) -> Checked<Decimal> {
    dividend.checked_div(divisor).ok_or(Overflow)
}

/// A figure without the last digits that divisions leave behind.
pub fn settled(value: Decimal) -> Decimal {
    value
        .round_dp_with_strategy(SETTLED_PLACES, RoundingStrategy::MidpointNearestEven)
        .normalize()
}

/// Rounded to `places` decimals, a half away from zero, as people round.
pub fn to_places(value: Decimal, places: u32) -> Decimal {
    settled(value).round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero)
}

/// Rounded to the nearest multiple of a step above zero, a half upwards.
pub fn to_step(value: Decimal, step: Decimal) -> Checked<Decimal> {
    let steps = to_places(quotient(value, step)?, 0);
    steps.checked_mul(step).ok_or(Overflow)
}

/// What rounding a list to the scales gave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apportioned {
    /// The rounded values, in the order of the list; they add up to `total`.
    pub values: Vec<Decimal>,
    /// The sum of the list, rounded to the step.
    pub total: Decimal,
}

/// Rounds values to a step so that they add up to their rounded total (largest remainder).
///
/// Every value is cut down to the step; the steps that are then missing from the rounded total
/// go one each to the values that lost most. Where two lost the same, the earlier line gets it.
///
/// The values may have lost their last digits in divisions: where their exact sum is known it is
/// given as `total`, so that a half is rounded as the half that it is.
///
/// # Errors
/// [`Overflow`] when the step is zero or a figure does not fit. Values must not be negative.
pub fn apportion(values: &[Decimal], total: Option<Decimal>, step: Decimal) -> Checked<Apportioned> {
    let mut sum = Decimal::ZERO;
    for value in values {
        sum = sum.checked_add(*value).ok_or(Overflow)?;
    }
    let total_steps = to_places(quotient(settled(total.unwrap_or(sum)), step)?, 0);

    let mut steps = Vec::with_capacity(values.len());
    let mut remainders = Vec::with_capacity(values.len());
    let mut given = Decimal::ZERO;
    for (position, value) in values.iter().enumerate() {
        let exact = settled(quotient(*value, step)?);
        let whole = exact.floor();
        given = given.checked_add(whole).ok_or(Overflow)?;
        remainders.push((exact.checked_sub(whole).ok_or(Overflow)?, position));
        steps.push(whole);
    }
    remainders.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, position) in remainders {
        if given >= total_steps {
            break;
        }
        if let Some(whole) = steps.get_mut(position) {
            *whole = whole.checked_add(Decimal::ONE).ok_or(Overflow)?;
            given = given.checked_add(Decimal::ONE).ok_or(Overflow)?;
        }
    }
    let values = steps
        .into_iter()
        .map(|whole| whole.checked_mul(step).ok_or(Overflow))
        .collect::<Checked<Vec<_>>>()?;
    Ok(Apportioned {
        values,
        total: total_steps.checked_mul(step).ok_or(Overflow)?,
    })
}

/// The least quantity that scales weigh within an accepted error: step × 100 / percent.
///
/// # Errors
/// [`Overflow`] when the accepted error is zero or the result does not fit.
pub fn least_weighable(step: Decimal, accepted_error_percent: Decimal) -> Checked<Decimal> {
    quotient(
        step.checked_mul(Decimal::ONE_HUNDRED).ok_or(Overflow)?,
        accepted_error_percent,
    )
}
