//! A figure with its spread: the value worked with, and the least and most that it may be.

use super::rounding::quotient;
use super::{Checked, Decimal, Overflow};

/// A value and the range in which it may lie; `low <= nominal <= high`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Spread {
    /// The value that is worked with.
    pub nominal: Decimal,
    /// The least it may be.
    pub low: Decimal,
    /// The most it may be.
    pub high: Decimal,
}

impl Spread {
    /// Nothing at all.
    pub const ZERO: Self = Self {
        nominal: Decimal::ZERO,
        low: Decimal::ZERO,
        high: Decimal::ZERO,
    };

    /// A value without a spread.
    pub fn exact(value: Decimal) -> Self {
        Self {
            nominal: value,
            low: value,
            high: value,
        }
    }

    /// A choice left open between two values: worked at the middle.
    pub fn between(low: Decimal, high: Decimal) -> Checked<Self> {
        let sum = low.checked_add(high).ok_or(Overflow)?;
        Ok(Self {
            nominal: quotient(sum, Decimal::TWO)?,
            low,
            high,
        })
    }

    /// Several weighings of one thing: their mean, the least and the most of them.
    pub fn of_weighings(values: &[Decimal]) -> Checked<Self> {
        let mut sum = Decimal::ZERO;
        let mut bounds: Option<(Decimal, Decimal)> = None;
        for value in values {
            sum = sum.checked_add(*value).ok_or(Overflow)?;
            bounds = Some(bounds.map_or((*value, *value), |(low, high)| {
                (low.min(*value), high.max(*value))
            }));
        }
        let (low, high) = bounds.ok_or(Overflow)?;
        let count = Decimal::from(u64::try_from(values.len()).map_err(|_| Overflow)?);
        let mean = quotient(sum, count)?;
        Ok(Self {
            // A mean of equal weighings may lose its last digit in the division.
            nominal: mean.clamp(low, high),
            low,
            high,
        })
    }

    /// Whether there is no spread.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Both added, ends to ends.
    pub fn plus(&self, other: &Self) -> Checked<Self> {
        let add = |a: Decimal, b: Decimal| a.checked_add(b).ok_or(Overflow);
        Ok(Self {
            nominal: add(self.nominal, other.nominal)?,
            low: add(self.low, other.low)?,
            high: add(self.high, other.high)?,
        })
    }

    /// What is missing from an exact total: the more the others weigh, the less is left.
    pub fn missing_to(&self, total: Decimal) -> Checked<Self> {
        // A division may leave the sum of the parts a hair above the whole.
        let rest = |taken: Decimal| {
            let rest = total.checked_sub(taken).ok_or(Overflow)?;
            Ok(if super::rounding::settled(rest).is_zero() {
                Decimal::ZERO
            } else {
                rest
            })
        };
        Ok(Self {
            nominal: rest(self.nominal)?,
            low: rest(self.high)?,
            high: rest(self.low)?,
        })
    }

    /// What is left of a whole when a part is taken out: least when the whole is small and the part big.
    pub fn minus_spread(&self, part: &Self) -> Checked<Self> {
        let rest = |whole: Decimal, part: Decimal| whole.checked_sub(part).ok_or(Overflow);
        Ok(Self {
            nominal: rest(self.nominal, part.nominal)?,
            low: rest(self.low, part.high)?,
            high: rest(self.high, part.low)?,
        })
    }

    /// Two spreads of values that are not negative, multiplied.
    pub fn times(&self, other: &Self) -> Checked<Self> {
        let multiply = |a: Decimal, b: Decimal| a.checked_mul(b).ok_or(Overflow);
        Ok(Self {
            nominal: multiply(self.nominal, other.nominal)?,
            low: multiply(self.low, other.low)?,
            high: multiply(self.high, other.high)?,
        })
    }

    /// Multiplied by an exact factor.
    pub fn scaled(&self, factor: Decimal) -> Checked<Self> {
        self.times(&Self::exact(factor))
    }

    /// Multiplied by `numerator`, then divided by `denominator`: one loss of digits instead of two.
    pub fn proportion(&self, numerator: Decimal, denominator: Decimal) -> Checked<Self> {
        let scaled = self.scaled(numerator)?;
        Ok(Self {
            nominal: quotient(scaled.nominal, denominator)?,
            low: quotient(scaled.low, denominator)?,
            high: quotient(scaled.high, denominator)?,
        })
    }

    /// Divided by a spread of values above zero: the least over the most, the most over the least.
    pub fn over(&self, divisor: &Self) -> Checked<Self> {
        Ok(Self {
            nominal: quotient(self.nominal, divisor.nominal)?,
            low: quotient(self.low, divisor.high)?,
            high: quotient(self.high, divisor.low)?,
        })
    }

    /// Each of the three settled (see [`super::rounding::settled`]).
    #[must_use]
    pub fn settled(&self) -> Self {
        Self {
            nominal: super::rounding::settled(self.nominal),
            low: super::rounding::settled(self.low),
            high: super::rounding::settled(self.high),
        }
    }
}
