//! The sheet of a batch: the weighing sheet of its formula, with blanks to fill in beside each weight.

use crate::book::size::Sized;
use crate::book::{Holder, Unit, called, stock};
use crate::model::Batch;
use crate::quantity::print::{column, short};
use crate::render::{Column, Document, Note, Table};
use crate::workspace::Snapshot;

/// What stands where a person writes.
const BLANK: &str = "__________";

/// Blanks for what is weighed, with the lots that are proposed; and for those who sign.
pub fn blanks(snapshot: &Snapshot, batch: &Batch, sized: &Sized) -> Document {
    let practice = &snapshot.ledger.practice;
    let mut page = Document::new();
    page.heading(format!("To fill in: batch of {}", batch.called()));
    let mut table = Table::new([
        Column::left("take"),
        Column::decimal("weigh"),
        Column::left("from, first expiring first"),
        Column::left("weighed"),
        Column::left("lot"),
    ]);
    let mut missing = Vec::new();
    for line in &sized.sheet.lines {
        let (unit, step) = if line.grams.is_some() {
            (Unit::Grams, practice.scales.value)
        } else {
            (Unit::Millilitres, practice.cylinder.value)
        };
        let name = &line.figure.taken.name.text;
        let weigh = line.target.map_or_else(
            || "as needed".to_owned(),
            |target| format!("{} {}", column(target, step.normalize().scale()), unit.word()),
        );
        let mut from = String::new();
        if let Some(target) = line.target
            && !stock::is_tap_water(&snapshot.ledger, line.figure.taken.what)
        {
            let what = line.figure.taken.what;
            let proposal = stock::propose(&snapshot.book, what, unit, target, batch.day.first);
            let lots: Vec<String> = proposal
                .from
                .iter()
                .map(|(holder, amount)| {
                    format!(
                        "{} {} of {}",
                        short(*amount, 3),
                        unit.word(),
                        shelf(snapshot, *holder)
                    )
                })
                .collect();
            from = lots.join(", ");
            if !proposal.missing.is_zero() {
                missing.push(format!("{} {} of {name}", short(proposal.missing, 3), unit.word()));
            }
        }
        table.row([name.clone(), weigh, from, BLANK.to_owned(), BLANK.to_owned()]);
    }
    page.table(table);
    page.facts([
        ("came out", BLANK),
        ("weighed by", BLANK),
        ("checked by", BLANK),
        ("best before", BLANK),
        ("what happened", BLANK),
    ]);
    let mut notes = Vec::new();
    if !missing.is_empty() {
        notes.push(Note::warning(format!(
            "not on the shelves, as far as the book says: {}",
            missing.join(", ")
        )));
    }
    notes.push(Note::plain(format!(
        "The lots are a proposal. `scruple record \"{}\"` takes what was weighed and writes it into the ledger.",
        batch.called()
    )));
    page.notes(notes);
    page
}

fn shelf(snapshot: &Snapshot, holder: Holder) -> String {
    let last = snapshot
        .book
        .shelf(holder)
        .and_then(|shelf| shelf.best_before)
        .map(|day| format!(" (good up to {day})"));
    format!(
        "{}{}",
        called(&snapshot.ledger, holder),
        last.unwrap_or_default()
    )
}
