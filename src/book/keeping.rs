//! Turns `12 months, sealed jar` into the last day on which something is good.

use crate::quantity::unit::{self, Reading, Settled};
use crate::quantity::{Unit, number};
use crate::syntax::day::{self, Day};

/// The last day that a `keep` line gives, if it begins with whole days, weeks, months or years.
///
/// What is made on the third of a month and keeps for twelve is good up to the third.
pub fn until(made: Day, keep: &str) -> Option<Day> {
    let length = keep.split([',', ';']).next()?.trim();
    let (count, unit) = length.split_once(' ')?;
    let count: i32 = number::read(count).ok()?.value.to_string().parse().ok()?;
    let Reading::Known(Unit::Fixed(fixed)) = unit::read(unit.trim(), Settled::default()) else {
        return None;
    };
    match fixed.one {
        "day" => Some(day::days_after(made, count)),
        "week" => Some(day::days_after(made, count.checked_mul(7)?)),
        "month" => Some(day::months_after(made, count)),
        "year" => Some(day::months_after(made, count.checked_mul(12)?)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_of_time_opens_the_line_or_there_is_none() {
        let made = day::read("2026-11-30").unwrap();
        for (keep, last) in [
            ("12 months, sealed jar, cool and dark", Some("2027-11-30")),
            ("3 months", Some("2027-02-28")),
            ("2 weeks", Some("2026-12-14")),
            ("1 year; then look", Some("2027-11-30")),
            ("10 days, cold", Some("2026-12-10")),
            ("cool and dark, 12 months", None),
            ("in a jar", None),
            ("1/2 year", None),
            ("2 hours", None),
        ] {
            assert_eq!(until(made, keep), last.and_then(day::read), "{keep}");
        }
    }
}
