//! Turns what was typed for a day, a lot or a batch into what the book has.

use super::failure::Failure;
use crate::book::Holder;
use crate::model::{Bound, Looked};
use crate::naming;
use crate::revision;
use crate::syntax::day::{self, Day};
use crate::workspace::Snapshot;

/// The day after `--on`; today, where none is named.
pub fn day(words: Option<&str>) -> Result<Day, Failure> {
    match words {
        None => Ok(revision::today()),
        Some(words) => day::read(words).ok_or_else(|| {
            Failure::new(
                format!("`{words}` is no day"),
                "write it as year-month-day, `2026-11-30`; a month, `2026-11`, means its last day",
            )
        }),
    }
}

/// A lot by its id, or a batch by `FORMULA on DAY`.
pub fn holder(snapshot: &Snapshot, words: &str) -> Result<Holder, Failure> {
    let words = words.trim();
    let words = words.strip_prefix("lot ").unwrap_or(words).trim();
    if let Some(at) = snapshot.book.lot(words) {
        return Ok(Holder::Lot(at));
    }
    batch(snapshot, words).map(Holder::Batch)
}

/// The name and the day of `after-supper tea on 2026-11-03`; a month has its first day.
fn named_on(words: &str) -> Option<(&str, Day, bool)> {
    let (name, date) = words.rsplit_once(" on ")?;
    let last = day::read(date)?;
    let month_only = date.trim().len() < "2026-11-03".len();
    let first = if month_only { last.first_of_month() } else { last };
    Some((name.trim(), first, month_only))
}

/// A batch by `FORMULA on DAY`.
pub fn batch(snapshot: &Snapshot, words: &str) -> Result<usize, Failure> {
    let plain = words.trim().strip_prefix("batch ").unwrap_or(words).trim();
    let Some((name, first, month_only)) = named_on(plain) else {
        return Err(unknown(snapshot, words));
    };
    let what = bound(snapshot, name)?;
    snapshot.book.batch(what, first, month_only).ok_or_else(|| {
        let days: Vec<String> = snapshot
            .ledger
            .batches
            .iter()
            .filter(|batch| batch.what == what)
            .map(|batch| batch.day.written())
            .collect();
        let help = match days.as_slice() {
            [] => format!("the book has no batch of {name}"),
            days => {
                let newest: Vec<&str> = days.iter().rev().take(6).map(String::as_str).collect();
                format!("the book has batches of it on {}", newest.join(", "))
            }
        };
        Failure::new(format!("there is no batch `{plain}` in this ledger"), help)
    })
}

/// The supplies of `FORMULA on DAY`.
pub fn supplies(snapshot: &Snapshot, words: &str) -> Result<Vec<usize>, Failure> {
    let Some((name, first, month_only)) = named_on(words) else {
        return Err(unknown(snapshot, words));
    };
    let what = bound(snapshot, name)?;
    let found: Vec<usize> = snapshot
        .ledger
        .supplies
        .iter()
        .enumerate()
        .filter(|(_, supply)| {
            supply.what == what && (supply.day.first, supply.day.month_only) == (first, month_only)
        })
        .map(|(at, _)| at)
        .collect();
    if found.is_empty() {
        return Err(Failure::new(
            format!("nothing was handed out as `{words}`"),
            "write what and when, as the entry does: `supply after-supper tea on 2026-11-05`",
        ));
    }
    Ok(found)
}

/// What a name means.
pub fn bound(snapshot: &Snapshot, name: &str) -> Result<Bound, Failure> {
    match snapshot.ledger.names.look(name) {
        Looked::Found(bound) => Ok(bound),
        _ => Err(Failure::new(
            format!("there is no `{name}` in this ledger"),
            match snapshot.ledger.names.nearest(name) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => "write the name as it is declared".to_owned(),
            },
        )),
    }
}

fn unknown(snapshot: &Snapshot, words: &str) -> Failure {
    let ids = snapshot.ledger.lots.iter().map(|lot| lot.id.text.as_str());
    Failure::new(
        format!("there is no lot `{words}` in this ledger"),
        match naming::nearest(words, ids) {
            Some(near) => format!("did you mean {near}?"),
            None => "name a lot by its id, `PM-114`, or a batch by its formula and its day, `\"after-supper tea on 2026-11-03\"`"
                .to_owned(),
        },
    )
}
