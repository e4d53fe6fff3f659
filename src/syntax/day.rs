//! Turns dates as written into days that can be compared, counted and added to.

use jiff::ToSpan;

use super::tree::Date;

/// A day in the calendar.
pub type Day = jiff::civil::Date;

impl Date {
    /// The last day that it may mean: the day itself, or the last of the month.
    pub fn last(&self) -> Day {
        if self.month_only {
            self.first.last_of_month()
        } else {
            self.first
        }
    }

    /// As people write it: `2026-11-03`, `2026-11`.
    pub fn written(&self) -> String {
        if self.month_only {
            self.first.strftime("%Y-%m").to_string()
        } else {
            self.first.to_string()
        }
    }
}

/// How many days later `to` is than `from`; below zero where it is earlier.
pub fn between(from: Day, to: Day) -> i32 {
    from.until(to).map_or(0, |span| span.get_days())
}

/// So many days later, as long as the calendar goes.
pub fn days_after(day: Day, days: i32) -> Day {
    day.saturating_add(days.days())
}

/// So many months later; the last of a month stays in its month.
pub fn months_after(day: Day, months: i32) -> Day {
    day.saturating_add(months.months())
}

/// A day as it is typed, `2026-11-03`; a month means its last day.
pub fn read(words: &str) -> Option<Day> {
    let words = words.trim();
    let shaped = words.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    match words.len() {
        10 if shaped => words.parse().ok(),
        7 if shaped => format!("{words}-01").parse::<Day>().ok().map(Day::last_of_month),
        _ => None,
    }
}

/// The day in the form that calendars exchange (RFC 5545): `20261103`.
pub fn basic(day: Day) -> String {
    day.strftime("%Y%m%d").to_string()
}
