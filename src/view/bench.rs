//! The weighing sheet as a document for the bench.

use super::findings::Finding;
use super::sheet::{Sheet, SheetLine};
use super::standing;
use crate::code::{self, Code};
use crate::compute::batch::{Batch, BatchLine};
use crate::compute::{Composition, How};
use crate::diagnostic::Severity;
use crate::model::Step;
use crate::quantity::print::{self, column, range, short};
use crate::quantity::{Decimal, Spread};
use crate::render::{Column, Document, Note, Table};
use crate::syntax::tree::Subject;
use crate::workspace::Snapshot;

/// The sheet as a document.
pub fn document(snapshot: &Snapshot, composition: &Composition, batch: &Batch, sheet: &Sheet) -> Document {
    let mut page = Document::new();
    page.title(&sheet.formula);
    page.facts(facts(snapshot, sheet));
    page.table(table(snapshot, batch, sheet));
    let mut notes = notes(snapshot, batch);
    if batch.order_as_written {
        notes.push(Note::mind(
            "`mix` speaks of an order in words of its own, so the lines stand as written: follow `mix`",
        ));
    }
    notes.extend(unreckoned(composition));
    notes.extend(
        sheet
            .findings
            .iter()
            .filter(|one| belongs_on_the_bench(one))
            .map(|one| {
                let help = one
                    .help
                    .as_ref()
                    .map(|help| format!("; {help}"))
                    .unwrap_or_default();
                let text = format!(
                    "{}{help} ({}, {}:{})",
                    one.message, one.code, one.at.file, one.at.line
                );
                match one.severity {
                    "error" => Note::error(text),
                    "warning" => Note::warning(text),
                    _ => Note::plain(text),
                }
            }),
    );
    if !notes.is_empty() {
        page.notes(notes);
    }
    if !sheet.cautions.is_empty() {
        page.heading("Cautions of what is in it");
        page.facts(caution_facts(sheet));
    }
    page.paragraph(format!(
        "What is in a dose, and whom it concerns: `scruple doses \"{}\"`.",
        sheet.formula
    ));
    page.small_print(standing::paragraph());
    page
}

/// Notices about doses and people are for the desk: `doses` shows them. Errors and warnings are for both.
fn belongs_on_the_bench(finding: &Finding) -> bool {
    const DESK: [Code; 8] = [
        code::BELOW_THE_LEAST_DOSE,
        code::DOSE_NOT_SURE,
        code::STEEPS_TOO_SHORT,
        code::STEEPS_TOO_LONG,
        code::SAME_EFFECT_TWICE,
        code::AGAINST_THE_NATURE,
        code::MIND_FOR_THIS_PERSON,
        code::ASK_FIRST_FOR_THIS_PERSON,
    ];
    finding.severity != Severity::Notice.word() || DESK.iter().all(|code| code.name() != finding.code)
}

fn facts(snapshot: &Snapshot, sheet: &Sheet) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    let mut fact = |label: &str, value: String| facts.push((label.to_owned(), value));
    if let Some(purpose) = &sheet.purpose {
        fact("for", purpose.clone());
    }
    match &sheet.asked {
        Some(asked) => fact("to make", asked.clone()),
        None => fact("to make", "the size that the formula has".to_owned()),
    }
    for working in &sheet.size_working {
        fact("", working.clone());
    }
    let stated = |span: Option<_>| {
        if span.is_some() {
            ""
        } else {
            " (not stated, assumed)"
        }
    };
    let practice = &snapshot.ledger.practice;
    fact(
        "scales",
        format!(
            "{} g{}; below {} g they err by more than {} %{}",
            sheet.scales.step,
            stated(practice.scales.span),
            sheet.scales.least,
            sheet.scales.error_percent,
            stated(practice.error.span)
        ),
    );
    fact("written in", format!("{}:{}", sheet.at.file, sheet.at.line));
    for words in &sheet.mix {
        fact("mix", words.clone());
    }
    for step in &sheet.steps {
        let times = step
            .for_the_whole
            .then_some(sheet.times.as_deref())
            .flatten()
            .and_then(|times| times.parse().ok())
            .map(print::share)
            .map(|times| format!(" (written for the formula's own size; here take {times} times the liquid)"))
            .unwrap_or_default();
        fact(step.word, format!("{}{times}", step.text));
    }
    facts
}

/// Liquids that a step brings in beside what was taken are read, and not on the sheet.
fn unreckoned(composition: &Composition) -> Option<Note> {
    let brings = |step: &&Step| match &step.preparation.subject {
        Subject::Ratio(..) => true,
        Subject::Amount(..) => false,
        Subject::All | Subject::Things(_) => step
            .preparation
            .media
            .iter()
            .any(|liquid| liquid.amount.is_some() || liquid.strength.is_some()),
    };
    let words: Vec<&str> = composition
        .formula
        .steps
        .iter()
        .filter(brings)
        .map(|step| step.word)
        .collect();
    (!words.is_empty()).then(|| {
        Note::mind(format!(
            "what `{}` brings in is read and kept, but not reckoned yet: measure it as the line says",
            words.join("`, `")
        ))
    })
}

/// How many decimals a step has, so that a column shows what the scales show.
fn places(step: Decimal) -> u32 {
    step.normalize().scale()
}

/// The cells of one row, in the order of [`columns`].
type Cells = [String; 7];

fn columns() -> [Column; 7] {
    [
        Column::left("take"),
        Column::decimal("weigh"),
        Column::decimal("in the bowl").with_importance(1),
        Column::decimal("share").with_importance(3),
        Column::right("may be").with_importance(2),
        Column::left("as written").with_importance(4),
        Column::decimal("rounded by").with_importance(5),
    ]
}

/// How many decimals the scales and the cylinder show.
#[derive(Clone, Copy)]
struct Places {
    weights: u32,
    volumes: u32,
}

fn table(snapshot: &Snapshot, batch: &Batch, sheet: &Sheet) -> Table {
    let practice = &snapshot.ledger.practice;
    let places = Places {
        weights: places(practice.scales.value),
        volumes: places(practice.cylinder.value),
    };
    let rows: Vec<Cells> = batch
        .lines
        .iter()
        .zip(&sheet.lines)
        .map(|(line, shown)| row(line, shown, places))
        .collect();
    let totals = totals(batch, places);
    // A column in which nothing stands says nothing.
    let kept: Vec<usize> = (0..columns().len())
        .filter(|at| {
            rows.iter()
                .chain(&totals)
                .any(|cells| cells.get(*at).is_some_and(|cell| !cell.is_empty()))
        })
        .collect();
    let chosen = |cells: Cells| -> Vec<String> {
        cells
            .into_iter()
            .enumerate()
            .filter(|(at, _)| kept.contains(at))
            .map(|(_, cell)| cell)
            .collect()
    };
    let headings = columns()
        .into_iter()
        .enumerate()
        .filter(|(at, _)| kept.contains(at))
        .map(|(_, column)| column);
    let mut table = Table::new(headings);
    for cells in rows {
        table.row(chosen(cells));
    }
    for cells in totals {
        table.total(chosen(cells));
    }
    table
}

fn row(line: &BatchLine, shown: &SheetLine, places: Places) -> Cells {
    let weigh = match (line.target, &line.grams, line.figure.how) {
        (Some(target), Some(_), _) => format!("{} g", column(target, places.weights)),
        (Some(target), None, _) => format!("{} ml", column(target, places.volumes)),
        (None, _, How::ToTheMark) => "to the mark".to_owned(),
        (None, ..) => "as needed".to_owned(),
    };
    let grams = line
        .grams
        .as_ref()
        .map(|grams| (grams, places.weights.max(1), "g"));
    let spread = grams.or(line
        .millilitres
        .as_ref()
        .map(|volume| (volume, places.volumes, "ml")));
    let strength = shown
        .strength_percent
        .as_ref()
        .map(|strength| format!("{strength}% "));
    let mut name = std::iter::once(shown.name.as_str())
        .chain(shown.processing.iter().map(String::as_str))
        .collect::<Vec<_>>()
        .join(", ");
    name.insert_str(0, &strength.unwrap_or_default());
    if let Some(role) = &shown.role {
        name = format!("{name} ({role})");
    }
    [
        name,
        weigh,
        line.in_the_bowl
            .map(|bowl| format!("{} g", column(bowl, places.weights)))
            .unwrap_or_default(),
        line.figure
            .share
            .map(|share| format!("{} %", column(share, 1)))
            .unwrap_or_default(),
        spread
            .map(|(spread, places, unit)| ends(spread, places, unit))
            .unwrap_or_default(),
        shown.written.clone(),
        line.rounded_by
            .filter(|by| !by.is_zero())
            .map(|by| signed(by, places.weights.saturating_add(2)))
            .unwrap_or_default(),
    ]
}

/// The two ends of a spread; nothing where there is none.
fn ends(spread: &Spread, places: u32, unit: &str) -> String {
    if spread.is_exact() {
        String::new()
    } else {
        range(spread, places, unit)
    }
}

fn totals(batch: &Batch, places: Places) -> Vec<Cells> {
    let row = |label: &str, weigh: String, share: &str, may_be: String| -> Cells {
        let empty = String::new;
        [
            label.to_owned(),
            weigh,
            empty(),
            share.to_owned(),
            may_be,
            empty(),
            empty(),
        ]
    };
    let mut rows = Vec::new();
    let shared = batch.lines.iter().any(|line| line.figure.share.is_some());
    if let (Some(target), Some(grams)) = (batch.target, &batch.grams) {
        let share = if shared && batch.millilitres.is_none() {
            "100 %"
        } else {
            ""
        };
        let may_be = ends(grams, places.weights.max(1), "g");
        rows.push(row(
            "in all",
            format!("{} g", column(target, places.weights)),
            share,
            may_be,
        ));
    }
    let millilitres = |volume: &Spread| format!("{} ml", column(volume.nominal, places.volumes));
    if let Some(volume) = &batch.millilitres {
        let share = if shared && batch.grams.is_none() {
            "100 %"
        } else {
            ""
        };
        rows.push(row(
            "by volume",
            millilitres(volume),
            share,
            ends(volume, places.volumes, "ml"),
        ));
    }
    if let Some(volume) = &batch.volume
        && batch.millilitres.as_ref() != Some(volume)
    {
        rows.push(row(
            "makes",
            millilitres(volume),
            "",
            ends(volume, places.volumes, "ml"),
        ));
    }
    rows
}

fn signed(value: Decimal, places: u32) -> String {
    let size = short(value.abs(), places);
    let sign = if value.is_sign_negative() { "−" } else { "+" };
    if size == "0" {
        String::new()
    } else {
        format!("{sign}{size}")
    }
}

fn notes(snapshot: &Snapshot, batch: &Batch) -> Vec<Note> {
    let mut notes = Vec::new();
    if let Some(spooned) = &batch.spooned {
        let weighed = batch
            .weighed
            .map(|grams| format!("{} g is weighed, ", short(grams, 2)))
            .unwrap_or_default();
        notes.push(Note::plain(format!(
            "{weighed}{} comes from spoons and pieces.",
            crate::quantity::print::spread(spooned, 2, "g")
        )));
    }
    if let Some(judged) = &batch.judged {
        notes.push(Note::plain(format!(
            "{} is an estimate: take as much as is needed.",
            crate::quantity::print::spread(judged, 2, "g")
        )));
    }
    let moved = batch
        .lines
        .iter()
        .filter(|line| line.grams.is_some())
        .filter_map(|line| line.rounded_by)
        .map(|by| by.abs())
        .max()
        .filter(|most| !most.is_zero());
    if let Some(most) = moved {
        notes.push(Note::plain(format!(
            "Rounded to the scales by largest remainder: no line moved by more than {} g, and the lines add up to the rounded total.",
            short(most, places(snapshot.ledger.practice.scales.value).saturating_add(2))
        )));
    }
    notes
}

/// One row for each level: its topics, each with the herbs it comes from. What is said about
/// each stands in the data form and in the ledger.
fn caution_facts(sheet: &Sheet) -> Vec<(String, String)> {
    let mut rows: Vec<(String, String)> = Vec::new();
    for level in ["avoid", "consult", "mind"] {
        let mut topics: Vec<(&str, Vec<&str>, Option<&str>)> = Vec::new();
        for caution in sheet.cautions.iter().filter(|caution| caution.level == level) {
            let accepted = caution.accepted.as_deref();
            // A reason that holds for one herb may not hold for another.
            let known = |topic: &str, reason: Option<&str>| topic == caution.topic && reason == accepted;
            match topics.iter_mut().find(|(topic, _, reason)| known(topic, *reason)) {
                Some((_, herbs, _)) if herbs.contains(&caution.herb.as_str()) => {}
                Some((_, herbs, _)) => herbs.push(&caution.herb),
                None => topics.push((&caution.topic, vec![&caution.herb], accepted)),
            }
        }
        let said: Vec<String> = topics
            .into_iter()
            .map(|(topic, herbs, accepted)| match accepted {
                Some(reason) => format!("{topic} ({}; accepted: {reason})", herbs.join(", ")),
                None => format!("{topic} ({})", herbs.join(", ")),
            })
            .collect();
        if !said.is_empty() {
            rows.push((level.to_owned(), said.join("; ")));
        }
    }
    rows
}
