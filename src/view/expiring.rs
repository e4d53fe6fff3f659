//! What expires when, as data, rows, a calendar and a document.

use serde::Serialize;

use super::shelves::{Exactly, amount, kind};
use super::standing;
use crate::book::{Shelf, called, name_of};
use crate::naming::folded;
use crate::quantity::Decimal;
use crate::render::calendar::{self, Event};
use crate::render::{Column, Document, Table, spreadsheet};
use crate::syntax::day::{self, Day};
use crate::workspace::Snapshot;

/// A lot or batch that holds something, and until when it is good.
#[derive(Debug, Clone, Serialize)]
pub struct Expiring {
    /// The last day on which it is good.
    pub best_before: String,
    /// How many days that is away; below zero if it is over.
    pub days: i32,
    /// `lot` or `batch`.
    pub kind: &'static str,
    /// A lot's id; a batch's formula and day.
    pub called: String,
    /// Of what.
    pub name: String,
    /// What is left; nothing where it is not known how much came in.
    pub left: Option<Exactly>,
    /// The last day, as a calendar has it, the day after, and the day on which it came in.
    #[serde(skip)]
    basic: [String; 3],
}

/// What `expires --as json` prints; `grammar/expires.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct ExpiryReport {
    /// With what is left at the end of which day.
    pub on: String,
    /// Those that expire first, first.
    pub expiring: Vec<Expiring>,
    /// What holds something and doesn't say until when it is good.
    pub without_a_date: Vec<String>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// Everything that is still on a shelf, with its day.
pub fn report(snapshot: &Snapshot, on: Day) -> ExpiryReport {
    let holds = |shelf: &&Shelf| {
        let begun = shelf.movements.first().is_some_and(|one| one.day <= on);
        begun && shelf.left(on).is_none_or(|left| left.value > Decimal::ZERO)
    };
    let mut shelves: Vec<&Shelf> = snapshot.book.shelves().filter(holds).collect();
    shelves.sort_by_key(|shelf| (shelf.best_before, called(&snapshot.ledger, shelf.holder)));
    let mut expiring = Vec::new();
    let mut without = Vec::new();
    for shelf in shelves {
        let called = called(&snapshot.ledger, shelf.holder);
        let Some(last) = shelf.best_before else {
            without.push(called);
            continue;
        };
        let came = shelf.movements.first().map_or(last, |one| one.day);
        expiring.push(Expiring {
            best_before: last.to_string(),
            days: day::between(on, last),
            kind: kind(shelf.holder),
            called,
            name: name_of(&snapshot.ledger, shelf.what).to_owned(),
            left: shelf.left(on).map(Exactly::from),
            basic: [last, day::days_after(last, 1), came].map(day::basic),
        });
    }
    ExpiryReport {
        on: on.to_string(),
        expiring,
        without_a_date: without,
        standing: standing::CAUTIONS,
    }
}

/// The report as a document.
pub fn document(report: &ExpiryReport) -> Document {
    let mut page = Document::new();
    page.title(format!("What expires, as of {}", report.on));
    if report.expiring.is_empty() {
        page.paragraph("Nothing on the shelves says until when it is good.");
    } else {
        let mut table = Table::new([
            Column::left("good up to"),
            Column::right("days"),
            Column::left("shelf"),
            Column::left("of").with_importance(1),
            Column::decimal("left"),
        ]);
        for one in &report.expiring {
            let days = if one.days < 0 {
                "over".to_owned()
            } else {
                one.days.to_string()
            };
            // A batch is called by its formula already.
            let of = if one.kind == "lot" {
                one.name.clone()
            } else {
                String::new()
            };
            table.row([
                one.best_before.clone(),
                days,
                one.called.clone(),
                of,
                amount(one.left.as_ref()),
            ]);
        }
        page.table(table);
    }
    if !report.without_a_date.is_empty() {
        page.paragraph(format!(
            "Without a best-before: {}.",
            report.without_a_date.join(", ")
        ));
    }
    page.small_print(standing::paragraph());
    page
}

/// The report as rows for a spreadsheet.
pub fn rows(report: &ExpiryReport) -> String {
    let rows: Vec<Vec<String>> = report
        .expiring
        .iter()
        .map(|one| {
            let (left, unit) = one
                .left
                .as_ref()
                .map_or((String::new(), ""), |left| (left.amount.clone(), left.unit));
            vec![
                one.best_before.clone(),
                one.days.to_string(),
                one.kind.to_owned(),
                one.called.clone(),
                one.name.clone(),
                left,
                unit.to_owned(),
            ]
        })
        .collect();
    spreadsheet::rows(
        &["best before", "days", "kind", "called", "name", "left", "unit"],
        &rows,
    )
}

/// The report as a calendar. `practice` keeps the events of two ledgers apart.
pub fn calendar(report: &ExpiryReport, practice: Option<&str>) -> String {
    let word = |words: &str| folded(words).replace(' ', "-");
    let home = practice.map_or_else(|| "ledger".to_owned(), word);
    let events: Vec<Event> = report
        .expiring
        .iter()
        .map(|one| {
            let [day, day_after, stamp] = one.basic.clone();
            let left = amount(one.left.as_ref());
            Event {
                uid: format!("best-before-{}-{}@{home}.scruple", one.kind, word(&one.called)),
                day,
                day_after,
                stamp,
                summary: format!("last good day: {} {}", one.kind, one.called),
                description: format!("{} of {}. {}", left, one.name, standing::paragraph()),
            }
        })
        .collect();
    calendar::print("-//scruple//what expires//EN", &events)
}
