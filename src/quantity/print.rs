//! Turns exact values into the digits that people read: no trailing zeros, no naked points.

use super::rounding::{settled, to_places};
use super::{Decimal, Spread};

/// All digits of a settled value, without trailing zeros: `0.5`, `31.1034768`.
pub fn digits(value: Decimal) -> String {
    let value = settled(value);
    if value.is_zero() {
        "0".to_owned()
    } else {
        value.to_string()
    }
}

/// Rounded to at most `places` decimals, without trailing zeros.
pub fn short(value: Decimal, places: u32) -> String {
    digits(to_places(value, places))
}

/// Rounded to exactly `places` decimals, for columns: `5.0` under `12.5`.
pub fn column(value: Decimal, places: u32) -> String {
    let rounded = to_places(value, places);
    let width = usize::try_from(places).unwrap_or(0);
    format!("{rounded:.width$}")
}

/// A spread in words: `2.5 g`, or `2.5 g (2 to 3 g)`.
pub fn spread(value: &Spread, places: u32, unit: &str) -> String {
    let nominal = short(value.nominal, places);
    let (low, high) = (short(value.low, places), short(value.high, places));
    if low == high && low == nominal {
        format!("{nominal} {}", counted(&nominal, unit))
    } else {
        format!("{nominal} {unit} ({})", range(value, places, unit))
    }
}

/// The fewest decimals, but no fewer than `least`, with which each of these values can be told from the
/// others and from nothing: a change from 1 mg to 4 mg must not read as one from 0 g to 0 g.
pub fn telling_places(values: &[Spread], least: u32) -> u32 {
    let tells = |places: &u32| {
        let printed = |value: &Spread| spread(&value.settled(), *places, "");
        let is_told_from_nothing = |value: &Spread| {
            value.settled().nominal.is_zero() || !to_places(value.nominal, *places).is_zero()
        };
        values.iter().enumerate().all(|(at, value)| {
            let mut others = values.iter().skip(at).skip(1);
            is_told_from_nothing(value)
                && others.all(|other| value.settled() == other.settled() || printed(value) != printed(other))
        })
    };
    (least..MOST_PLACES).find(tells).unwrap_or(MOST_PLACES)
}

/// Settled values have no more decimals than this.
const MOST_PLACES: u32 = 12;

/// The two ends of a spread: `2 to 3 g`; one value where both print alike.
pub fn range(value: &Spread, places: u32, unit: &str) -> String {
    let (low, high) = (short(value.low, places), short(value.high, places));
    if low == high {
        format!("{low} {}", counted(&low, unit))
    } else {
        format!("{low} to {high} {unit}")
    }
}

/// So many of what is counted, in words: `1 dose`, `2.5 days`.
pub fn count(value: Decimal, places: u32, unit: &str) -> String {
    range(&Spread::exact(value), places, unit)
}

/// What is counted, in the singular behind a printed one: `1 dose`. Units (`g`, `ml`) have no plural.
fn counted<'a>(printed: &str, unit: &'a str) -> &'a str {
    match unit.strip_suffix('s') {
        Some(one) if printed == "1" && one.len() > 2 => one,
        _ => unit,
    }
}

/// The unit in the singular where there is exactly one.
pub fn unit_for<'a>(value: &Spread, unit: &'a str) -> &'a str {
    if value.is_exact() && value.nominal == Decimal::ONE {
        unit.strip_suffix('s').unwrap_or(unit)
    } else {
        unit
    }
}

/// A share as people say it: `1/10`, `0.35`.
pub fn share(value: Decimal) -> String {
    match super::rounding::quotient(Decimal::ONE, value).map(settled) {
        Ok(whole) if value < Decimal::ONE && whole.fract().is_zero() => format!("1/{whole}"),
        _ => short(value, 6),
    }
}

/// Grams with as many decimals as a small dose needs, so that no herb is printed as nothing.
pub fn dose(value: &Spread) -> String {
    spread(value, dose_places(value.nominal), "g")
}

/// Two decimals of a gram; four below a tenth; below a thousandth as many as show two digits, so that
/// the fourfold of a microgram is seen.
pub fn dose_places(grams: Decimal) -> u32 {
    if grams.abs() >= Decimal::new(1, 1) {
        return 2;
    }
    (4..MOST_PLACES)
        .find(|places| grams.is_zero() || grams.abs() >= Decimal::new(10, *places))
        .unwrap_or(MOST_PLACES)
}
