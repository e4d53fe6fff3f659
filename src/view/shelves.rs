//! Stock as data, rows and a document.

use serde::Serialize;

use super::findings::{At, at};
use super::standing;
use crate::book::stock::{self, Left, RECENT_DAYS};
use crate::book::{Amount, Holder, called, name_of};
use crate::model::Bound;
use crate::quantity::print::{digits, short};
use crate::render::{Column, Document, Note, Table, spreadsheet};
use crate::syntax::day::Day;
use crate::workspace::Snapshot;

/// An exact amount; a decimal string and `g` or `ml`.
#[derive(Debug, Clone, Serialize)]
pub struct Exactly {
    /// How much.
    pub amount: String,
    /// Of what: `g` or `ml`.
    pub unit: &'static str,
}

impl From<Amount> for Exactly {
    fn from(amount: Amount) -> Self {
        Self {
            amount: digits(amount.value),
            unit: amount.unit.word(),
        }
    }
}

/// What is left of one lot or batch.
#[derive(Debug, Clone, Serialize)]
pub struct ShelfLeft {
    /// `lot` or `batch`.
    pub kind: &'static str,
    /// A lot's id; a batch's formula and day.
    pub called: String,
    /// What is left; nothing where it is not known how much came in.
    pub left: Option<Exactly>,
    /// Until when it is good: a day.
    pub best_before: Option<String>,
    /// Whether that is over.
    pub is_past: bool,
    /// Who sent it.
    pub supplier: Option<String>,
    /// Where it is written.
    pub at: At,
}

/// What is left of one herb, material or blend.
#[derive(Debug, Clone, Serialize)]
pub struct ThingLeft {
    /// Its declared name.
    pub name: String,
    /// `herb or material`, or `formula`.
    pub kind: &'static str,
    /// All that is left, what is past its best-before included.
    pub left: Vec<Exactly>,
    /// What was taken and no lot is named for; still in `left`.
    pub taken_without_a_lot: Vec<Exactly>,
    /// For how many days what is left will do, at the rate of the last days.
    pub cover_days: Option<String>,
    /// Its lots and batches that hold anything, first expiring first.
    pub shelves: Vec<ShelfLeft>,
    /// Lots that have not come in yet.
    pub on_the_way: Vec<String>,
}

/// What `stock --as json` prints; `grammar/stock.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct StockReport {
    /// At the end of which day.
    pub on: String,
    /// Over how many days the recent rate is taken.
    pub rate_over_days: i32,
    /// By name.
    pub things: Vec<ThingLeft>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// `lot` or `batch`.
pub fn kind(holder: Holder) -> &'static str {
    match holder {
        Holder::Lot(_) => "lot",
        Holder::Batch(_) => "batch",
    }
}

/// Where a lot or a batch is written.
pub fn place(snapshot: &Snapshot, holder: Holder) -> Option<At> {
    let head = match holder {
        Holder::Lot(at) => snapshot.ledger.lots.get(at)?.head,
        Holder::Batch(at) => snapshot.ledger.batches.get(at)?.head,
    };
    Some(at(&snapshot.sources, head))
}

fn shelf(snapshot: &Snapshot, left: &Left) -> Option<ShelfLeft> {
    let supplier = match left.holder {
        Holder::Lot(at) => snapshot.ledger.lots.get(at)?.supplier.clone(),
        Holder::Batch(_) => None,
    };
    Some(ShelfLeft {
        kind: kind(left.holder),
        called: called(&snapshot.ledger, left.holder),
        left: left.amount.map(Exactly::from),
        best_before: left.best_before.map(|day| day.to_string()),
        is_past: left.is_past,
        supplier,
        at: place(snapshot, left.holder)?,
    })
}

/// The stock of everything, or of one thing, at the end of a day.
pub fn report(snapshot: &Snapshot, only: Option<Bound>, on: Day) -> StockReport {
    let things = stock::of_everything(&snapshot.ledger, &snapshot.book, on)
        .into_iter()
        .filter(|one| only.is_none_or(|only| only == one.what))
        .map(|one| ThingLeft {
            name: name_of(&snapshot.ledger, one.what).to_owned(),
            kind: if matches!(one.what, Bound::Formula(_)) {
                "formula"
            } else {
                "herb or material"
            },
            left: one.left.into_iter().map(Exactly::from).collect(),
            taken_without_a_lot: one.unassigned.into_iter().map(Exactly::from).collect(),
            cover_days: one.cover_days.map(|days| short(days, 0)),
            shelves: one
                .shelves
                .iter()
                .filter_map(|left| shelf(snapshot, left))
                .collect(),
            on_the_way: one
                .on_the_way
                .iter()
                .map(|at| called(&snapshot.ledger, Holder::Lot(*at)))
                .collect(),
        })
        .collect();
    StockReport {
        on: on.to_string(),
        rate_over_days: RECENT_DAYS,
        things,
        standing: standing::CAUTIONS,
    }
}

fn words(amounts: &[Exactly]) -> String {
    let all: Vec<String> = amounts
        .iter()
        .map(|one| format!("{} {}", one.amount, one.unit))
        .collect();
    all.join(" and ")
}

/// The amount in words; a stroke where it is not known.
pub fn amount(left: Option<&Exactly>) -> String {
    left.map_or_else(
        || "not known".to_owned(),
        |one| format!("{} {}", one.amount, one.unit),
    )
}

/// The report as a document.
pub fn document(report: &StockReport) -> Document {
    let mut page = Document::new();
    page.title(format!("On the shelves at the end of {}", report.on));
    if report.things.is_empty() {
        page.paragraph("The book has no lots and no batches.");
        page.small_print(standing::paragraph());
        return page;
    }
    let mut table = Table::new([
        Column::left("what"),
        Column::decimal("left"),
        Column::left("good up to"),
        Column::right("does for").with_importance(1),
    ]);
    for thing in &report.things {
        let cover = thing
            .cover_days
            .as_ref()
            .map_or_else(String::new, |days| format!("{days} days"));
        let left = if thing.left.is_empty() {
            "0 g".to_owned()
        } else {
            words(&thing.left)
        };
        table.section(thing.name.clone());
        for shelf in &thing.shelves {
            let good = match (&shelf.best_before, shelf.is_past) {
                (Some(day), true) => format!("{day}, over"),
                (Some(day), false) => day.clone(),
                (None, _) => "not said".to_owned(),
            };
            table.row([
                format!("  {}", shelf.called),
                amount(shelf.left.as_ref()),
                good,
                String::new(),
            ]);
        }
        table.quiet(["  in all".to_owned(), left, String::new(), cover]);
    }
    page.table(table);
    page.notes(notes(report));
    page.small_print(standing::paragraph());
    page
}

fn notes(report: &StockReport) -> Vec<Note> {
    let mut notes = Vec::new();
    for thing in &report.things {
        if thing.shelves.iter().any(|shelf| {
            shelf
                .left
                .as_ref()
                .is_some_and(|left| left.amount.starts_with('-'))
        }) {
            notes.push(Note::error(format!(
                "of {} more was taken than was there: `scruple check` shows the line with which it went below nothing",
                thing.name
            )));
        }
        let over: Vec<&str> = thing
            .shelves
            .iter()
            .filter(|shelf| shelf.is_past)
            .map(|shelf| shelf.called.as_str())
            .collect();
        if !over.is_empty() {
            notes.push(Note::warning(format!(
                "{}: past its best-before: {}",
                thing.name,
                over.join(", ")
            )));
        }
        if !thing.taken_without_a_lot.is_empty() {
            notes.push(Note::mind(format!(
                "{}: {} was taken, and no lot is named for it; it is still in what is left",
                thing.name,
                words(&thing.taken_without_a_lot)
            )));
        }
        if !thing.on_the_way.is_empty() {
            notes.push(Note::plain(format!(
                "{}: on the way: {}",
                thing.name,
                thing.on_the_way.join(", ")
            )));
        }
    }
    notes.push(Note::plain(format!(
        "How long it will do is reckoned from what went out in the last {} days; what expires first stands first.",
        report.rate_over_days
    )));
    notes
}

/// The report as rows for a spreadsheet: one for each lot or batch that holds anything.
pub fn rows(report: &StockReport) -> String {
    let mut rows = Vec::new();
    for thing in &report.things {
        for shelf in &thing.shelves {
            let (amount, unit) = shelf
                .left
                .as_ref()
                .map_or((String::new(), ""), |left| (left.amount.clone(), left.unit));
            rows.push(vec![
                report.on.clone(),
                thing.name.clone(),
                shelf.kind.to_owned(),
                shelf.called.clone(),
                amount,
                unit.to_owned(),
                shelf.best_before.clone().unwrap_or_default(),
                if shelf.is_past { "yes" } else { "no" }.to_owned(),
                shelf.supplier.clone().unwrap_or_default(),
            ]);
        }
    }
    spreadsheet::rows(
        &[
            "on",
            "name",
            "kind",
            "called",
            "left",
            "unit",
            "best before",
            "past",
            "supplier",
        ],
        &rows,
    )
}
