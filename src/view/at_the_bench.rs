//! What the sheet of a batch adds to the weighing sheet of its formula: blanks to fill in, or what was weighed.

use super::standing;
use crate::book::size::{Reckoned, Sized};
use crate::book::{Holder, Origin, Shelf, Unit, called, name_of, stock, weighing};
use crate::model::{Batch, Bound};
use crate::quantity::print::{column, digits, short};
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
                missing.push(format!(
                    "{} {} of {name}",
                    short(proposal.missing, 3),
                    unit.word()
                ));
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

/// What was weighed for a batch that was made, beside what was to be weighed.
pub fn weighed(snapshot: &Snapshot, at: usize, batch: &Batch) -> Document {
    let reckoned = Reckoned {
        ledger: &snapshot.ledger,
        faults: &snapshot.faults,
        figures: &snapshot.figures,
    };
    let mut page = Document::new();
    page.heading(format!("What was weighed: batch of {}", batch.called()));
    let compared = weighing::compare(reckoned, &snapshot.book, at, batch).unwrap_or_default();
    let mut table = Table::new([
        Column::left("take"),
        Column::decimal("to weigh"),
        Column::decimal("weighed"),
        Column::decimal("error"),
        Column::left("from"),
    ]);
    let mut shown: Vec<Bound> = Vec::new();
    let takings = snapshot
        .book
        .inputs
        .get(at)
        .map(Vec::as_slice)
        .unwrap_or_default();
    for taking in takings {
        if shown.contains(&taking.what) {
            continue;
        }
        shown.push(taking.what);
        let line = compared.lines.iter().find(|line| line.what == taking.what);
        let own = takings.iter().filter(|other| other.what == taking.what);
        let from: Vec<String> = own
            .clone()
            .map(|taking| {
                let amount = taking.amount.map_or_else(String::new, |amount| amount.written());
                match taking.origin {
                    Origin::Shelf(holder) | Origin::Other(holder) => {
                        format!("{amount} of {}", called(&snapshot.ledger, holder))
                    }
                    Origin::Unsaid | Origin::Unknown => format!("{amount} of no lot that is known"),
                }
            })
            .collect();
        let unit = taking.amount.map_or("g", |amount| amount.unit.word());
        table.row([
            name_of(&snapshot.ledger, taking.what).to_owned(),
            line.map_or_else(String::new, |line| {
                format!("{} {unit}", short(line.intended.nominal, 3))
            }),
            line.map_or_else(String::new, |line| format!("{} {unit}", short(line.used, 3))),
            line.map_or_else(String::new, |line| {
                let off = if line.is_off { ", off" } else { "" };
                format!("{} %{off}", column(line.error_percent, 1))
            }),
            from.join(", "),
        ]);
    }
    page.table(table);
    let mut facts: Vec<(&str, String)> = Vec::new();
    if let Some(found) = weighing::yielded(reckoned, &snapshot.book, at, batch) {
        facts.push((
            "came out",
            format!(
                "{} of {}, {} % lost",
                found.came_out.written(),
                found.went_in.written(),
                short(found.loss_percent, 2)
            ),
        ));
    } else if let Some(out) = snapshot.book.batches.get(at).and_then(Shelf::came_in) {
        facts.push(("came out", out.written()));
    }
    let last = snapshot.book.batches.get(at).and_then(|shelf| shelf.best_before);
    facts.extend(last.map(|day| ("good up to", day.to_string())));
    facts.extend(batch.weighed_by.clone().map(|who| ("weighed by", who)));
    facts.extend(batch.checked_by.clone().map(|who| ("checked by", who)));
    facts.extend(batch.notes.iter().map(|note| ("note", note.clone())));
    if !facts.is_empty() {
        page.facts(facts);
    }
    page
}

/// Which readings a batch asks for, in their order.
pub fn asked_for(called: &str, sized: &Sized) -> Document {
    let mut page = Document::new();
    page.title(format!("Readings for the batch of {called}"));
    let mut table = Table::new([
        Column::right("line"),
        Column::left("take"),
        Column::decimal("weigh"),
    ]);
    let lines = sized.sheet.lines.iter();
    for (number, (line, target)) in (1_usize..).zip(lines.filter_map(|line| Some((line, line.target?)))) {
        let unit = if line.grams.is_some() { "g" } else { "ml" };
        table.row([
            number.to_string(),
            line.figure.taken.name.text.clone(),
            format!("{} {unit}", digits(target)),
        ]);
    }
    page.table(table);
    page.paragraph(
        "One line each, typed or from scales through a pipe: a number, perhaps with its lot, `60 g from PM-114`.",
    );
    page.small_print(standing::paragraph());
    page
}

fn shelf(snapshot: &Snapshot, holder: Holder) -> String {
    let last = snapshot
        .book
        .shelf(holder)
        .and_then(|shelf| shelf.best_before)
        .map(|day| format!(" (good up to {day})"));
    format!("{}{}", called(&snapshot.ledger, holder), last.unwrap_or_default())
}
