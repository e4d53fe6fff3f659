//! Turns the words of a date, `last month` or `2026-09`, into the moment at which it had ended.

use jiff::civil::{Date, DateTime};
use jiff::{Span, Timestamp, ToSpan, ZonedDateTime};

/// A moment in the past that someone named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// The first instant that no longer belongs to what was named.
    pub end: Timestamp,
    /// What was named, in words: `the end of September 2026`.
    pub said: String,
}

/// Reads the words of a date; nothing if they are none.
///
/// A day, month or year means the ledger as it stood when that had ended, by the clock and the
/// calendar of whoever asks; weeks begin on Monday (ISO 8601).
pub fn read(words: &str, now: &ZonedDateTime) -> Option<Moment> {
    let words = words.trim().to_lowercase();
    let today = now.date();
    let ended = |last: Date, said: String| {
        let end = last
            .tomorrow()
            .ok()?
            .to_zoned_datetime(now.time_zone().clone())
            .ok()?;
        Some(Moment {
            end: end.timestamp(),
            said,
        })
    };
    let day = |date: Date| ended(date, format!("the end of {date}"));
    let month = |date: Date| {
        ended(
            date.last_of_month(),
            format!("the end of {} {}", month_name(date), date.year()),
        )
    };
    let year = |date: Date| ended(date.last_of_year(), format!("the end of {}", date.year()));
    let back = |span: Span| today.checked_sub(span).ok();
    match words.as_str() {
        "today" => return day(today),
        "yesterday" => return day(back(1.day())?),
        "this week" => {
            let sunday = today.checked_add(i64::from(6 - today.weekday().to_monday_zero_offset()).days());
            return ended(sunday.ok()?, "the end of this week".to_owned());
        }
        "last week" => {
            let sunday = back((i64::from(today.weekday().to_monday_zero_offset()) + 1).days())?;
            return ended(sunday, format!("the end of last week, {sunday}"));
        }
        "this month" => return month(today),
        "last month" => return month(back(1.month())?),
        "this year" => return year(today),
        "last year" => return year(back(1.year())?),
        _ => {}
    }
    if let Some(span) = words.strip_suffix(" ago").and_then(span_of) {
        return day(back(span)?);
    }
    if let Ok(date) = words.parse::<Date>()
        && words.len() == "2026-09-30".len()
    {
        return day(date);
    }
    if let Some((year, month_number)) = words.split_once('-')
        && let (4, 2) = (year.len(), month_number.len())
    {
        return month(Date::new(digits(year)?, digits(month_number)?, 1).ok()?);
    }
    if words.len() == 4 {
        return year(Date::new(digits(&words)?, 1, 1).ok()?);
    }
    let at = words.to_uppercase().parse::<DateTime>().ok()?;
    Some(Moment {
        end: at.to_zoned_datetime(now.time_zone().clone()).ok()?.timestamp(),
        said: format!("{} {}", at.date(), at.time()),
    })
}

/// The day on which something happened, by the calendar of whoever asks.
pub fn day_of(seconds: i64, now: &ZonedDateTime) -> String {
    Timestamp::from_second(seconds).map_or_else(
        |_| "an unknown day".to_owned(),
        |at| at.to_zoned_datetime(now.time_zone().clone()).date().to_string(),
    )
}

fn digits<T: std::str::FromStr>(text: &str) -> Option<T> {
    text.bytes()
        .all(|byte| byte.is_ascii_digit())
        .then(|| text.parse().ok())?
}

/// `3 days`, `a week`, `2 months`.
fn span_of(words: &str) -> Option<Span> {
    let (count, unit) = words.split_once(' ')?;
    let count: i64 = match count {
        "a" | "one" => 1,
        _ => digits::<u16>(count)?.into(),
    };
    let span = Span::new();
    match unit.strip_suffix('s').unwrap_or(unit) {
        "day" => span.try_days(count),
        "week" => span.try_weeks(count),
        "month" => span.try_months(count),
        "year" => span.try_years(count),
        _ => return None,
    }
    .ok()
}

fn month_name(date: Date) -> &'static str {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    usize::try_from(date.month() - 1)
        .ok()
        .and_then(|at| NAMES.get(at).copied())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(now: &str, words: &str) -> Option<(String, String)> {
        let now: ZonedDateTime = now.parse().unwrap();
        let moment = read(words, &now)?;
        let end = moment.end.to_zoned_datetime(now.time_zone().clone());
        Some((end.strftime("%Y-%m-%d %H:%M %:z").to_string(), moment.said))
    }

    fn end(words: &str) -> Option<String> {
        // A Wednesday.
        at("2026-11-25T12:40:00+01:00[Europe/Vienna]", words).map(|(end, _)| end)
    }

    #[test]
    fn a_day_a_month_and_a_year_end_at_midnight_by_the_clock_of_the_reader() {
        for (words, expected) in [
            ("2026-09-30", "2026-10-01 00:00 +02:00"),
            ("2026-09", "2026-10-01 00:00 +02:00"),
            ("2026-10", "2026-11-01 00:00 +01:00"),
            ("2025", "2026-01-01 00:00 +01:00"),
            ("today", "2026-11-26 00:00 +01:00"),
            ("Yesterday", "2026-11-25 00:00 +01:00"),
            ("this week", "2026-11-30 00:00 +01:00"),
            ("last week", "2026-11-23 00:00 +01:00"),
            ("this month", "2026-12-01 00:00 +01:00"),
            ("last month", "2026-11-01 00:00 +01:00"),
            ("last year", "2026-01-01 00:00 +01:00"),
            ("3 days ago", "2026-11-23 00:00 +01:00"),
            ("a week ago", "2026-11-19 00:00 +01:00"),
            ("2 months ago", "2026-09-26 00:00 +02:00"),
            ("2026-09-30T14:05", "2026-09-30 14:05 +02:00"),
        ] {
            assert_eq!(end(words).as_deref(), Some(expected), "{words}");
        }
    }

    #[test]
    fn the_last_day_of_a_long_month_has_a_last_month_too() {
        let (end, said) = at("2026-03-31T09:00:00+02:00[Europe/Vienna]", "last month").unwrap();
        assert_eq!(end, "2026-03-01 00:00 +01:00");
        assert_eq!(said, "the end of February 2026");
    }

    #[test]
    fn what_is_no_date_is_left_to_others() {
        for words in [
            "",
            "main",
            "HEAD~2",
            "v1.0",
            "2026-13",
            "2026-02-30",
            "abcd",
            "20 ago",
            "9e1f",
            "99999 days ago",
            "65535 years ago",
            "2026-9",
            "last",
            "ago",
        ] {
            assert_eq!(end(words), None, "{words}");
        }
    }
}
