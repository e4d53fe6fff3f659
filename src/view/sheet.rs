//! The weighing sheet: as data with a published schema, and as a document for the bench.

use serde::Serialize;

use super::findings::{At, Finding, at, finding};
use super::standing;
use crate::compute::batch::{Batch, BatchLine};
use crate::compute::make::Plan;
use crate::compute::{Composition, How, contents};
use crate::model::{Bound, Caution, Level, Portion, Taken, TakenAmount};
use crate::naming;
use crate::quantity::print::{column, digits, range, short};
use crate::quantity::rounding::to_places;
use crate::quantity::{Decimal, Spread};
use crate::render::{Column, Document, Note, Table};
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;

/// A figure with its spread; decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct Figure {
    /// The value worked with.
    pub nominal: String,
    /// The least it may be.
    pub low: String,
    /// The most it may be.
    pub high: String,
}

impl From<&Spread> for Figure {
    fn from(spread: &Spread) -> Self {
        Self {
            nominal: digits(spread.nominal),
            low: digits(spread.low),
            high: digits(spread.high),
        }
    }
}

/// What all lines come to.
#[derive(Debug, Clone, Serialize)]
pub struct Total {
    /// In grams, exact; nothing where no line has a weight.
    pub grams: Option<String>,
    /// The least.
    pub low: Option<String>,
    /// The most.
    pub high: Option<String>,
    /// On these scales.
    pub target: Option<String>,
    /// What is known by volume only, in millilitres.
    pub millilitres: Option<Figure>,
    /// What it is made up to or yields, in millilitres.
    pub makes_millilitres: Option<Figure>,
    /// How much of the grams was written as weights, parts or percentages.
    pub weighed: Option<String>,
    /// How much of them comes from spoons, pieces and volumes.
    pub spooned: Option<Figure>,
    /// How much of them is an estimate.
    pub by_judgement: Option<Figure>,
}

/// One line of the sheet.
#[derive(Debug, Clone, Serialize)]
pub struct SheetLine {
    /// The name as the ledger declares it.
    pub name: String,
    /// `herb`, `material` or `formula`.
    pub kind: &'static str,
    /// The botanical name.
    pub latin: Option<String>,
    /// The amount as written.
    pub written: String,
    /// How the figure was arrived at.
    pub how: &'static str,
    /// In grams, exact.
    pub grams: Option<String>,
    /// The least.
    pub low: Option<String>,
    /// The most.
    pub high: Option<String>,
    /// In millilitres, exact.
    pub millilitres: Option<Figure>,
    /// Percent of the total; by volume where nothing has a weight.
    pub share: Option<String>,
    /// What to weigh in grams, or to measure in millilitres where there are no grams.
    pub target: Option<String>,
    /// What lies in the bowl after it, in grams.
    pub in_the_bowl: Option<String>,
    /// What rounding added.
    pub rounded_by: Option<String>,
    /// Whether it is below the least that these scales weigh well enough.
    pub below_least_weighable: bool,
    /// Processing.
    pub processing: Vec<String>,
    /// Its role.
    pub role: Option<String>,
    /// Where it is written.
    pub at: At,
}

/// A caution that a herb of this formula has.
#[derive(Debug, Clone, Serialize)]
pub struct SheetCaution {
    /// `avoid`, `consult` or `mind`.
    pub level: &'static str,
    /// About what.
    pub topic: String,
    /// What is said.
    pub text: Option<String>,
    /// Of which herb.
    pub herb: String,
    /// Why it was accepted for this formula.
    pub accepted: Option<String>,
}

/// What these scales can do.
#[derive(Debug, Clone, Serialize)]
pub struct Scales {
    /// The smallest step, in grams.
    pub step: String,
    /// The least that they weigh within the accepted error, in grams.
    pub least: String,
    /// That error, in percent.
    pub error_percent: String,
}

/// A weighing sheet as data; `grammar/weighing-sheet.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet {
    /// The formula.
    pub formula: String,
    /// What it is for.
    pub purpose: Option<String>,
    /// What was asked for.
    pub asked: Option<String>,
    /// How that became a size.
    pub size_working: Vec<String>,
    /// The scales.
    pub scales: Scales,
    /// The totals.
    pub total: Total,
    /// The lines in the order of the bench.
    pub lines: Vec<SheetLine>,
    /// How it is mixed.
    pub mix: Vec<String>,
    /// The cautions of what is in it.
    pub cautions: Vec<SheetCaution>,
    /// What `check` says about the formula.
    pub findings: Vec<Finding>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
    /// Where the formula is written.
    pub at: At,
}

/// Puts a sheet together.
pub fn sheet(
    snapshot: &Snapshot,
    composition: &Composition,
    batch: &Batch,
    plan: Option<(&str, &Plan)>,
) -> Sheet {
    let formula = &composition.formula;
    let practice = &snapshot.ledger.practice;
    let grams = |get: fn(&Spread) -> Decimal| batch.grams.as_ref().map(|spread| digits(get(spread)));
    Sheet {
        formula: formula.name.text.clone(),
        purpose: formula.purpose.clone(),
        asked: plan.map(|(asked, _)| asked.to_owned()),
        size_working: plan.map(|(_, plan)| plan.working.clone()).unwrap_or_default(),
        scales: Scales {
            step: digits(practice.scales.value),
            least: digits(batch.least),
            error_percent: digits(practice.error.value),
        },
        total: Total {
            grams: grams(|spread| spread.nominal),
            low: grams(|spread| spread.low),
            high: grams(|spread| spread.high),
            target: batch.target.map(digits),
            millilitres: batch.millilitres.as_ref().map(Figure::from),
            makes_millilitres: batch.volume.as_ref().map(Figure::from),
            weighed: batch.weighed.map(digits),
            spooned: batch.spooned.as_ref().map(Figure::from),
            by_judgement: batch.judged.as_ref().map(Figure::from),
        },
        lines: batch
            .lines
            .iter()
            .map(|line| sheet_line(snapshot, line))
            .collect(),
        mix: formula.mix.iter().map(|words| words.text.clone()).collect(),
        cautions: cautions(snapshot, composition),
        findings: own_findings(snapshot, composition),
        standing: standing::CAUTIONS,
        at: at(&snapshot.sources, formula.head),
    }
}

fn sheet_line(snapshot: &Snapshot, line: &BatchLine) -> SheetLine {
    let taken = &line.figure.taken;
    let substance = match taken.what {
        Bound::Substance(at) => snapshot.ledger.substances.get(at),
        _ => None,
    };
    let formula = match taken.what {
        Bound::Formula(at) => snapshot.ledger.formulas.get(at),
        _ => None,
    };
    let name = substance
        .map(|substance| &substance.name)
        .or(formula.map(|formula| &formula.name.text))
        .unwrap_or(&taken.name.text);
    let grams = |get: fn(&Spread) -> Decimal| line.grams.as_ref().map(|spread| digits(get(spread)));
    SheetLine {
        name: name.clone(),
        kind: match substance {
            Some(substance) if substance.kind == Kind::Herb => "herb",
            Some(_) => "material",
            None => "formula",
        },
        latin: substance.and_then(|substance| substance.latin.clone()),
        written: written(snapshot, taken),
        how: line.figure.how.words(),
        grams: grams(|spread| spread.nominal),
        low: grams(|spread| spread.low),
        high: grams(|spread| spread.high),
        millilitres: line.millilitres.as_ref().map(Figure::from),
        share: line.figure.share.map(|share| digits(to_places(share, 6))),
        target: line.target.map(digits),
        in_the_bowl: line.in_the_bowl.map(digits),
        rounded_by: line.rounded_by.map(digits),
        below_least_weighable: line.below_least,
        processing: taken.processing.clone(),
        role: taken.role.clone(),
        at: at(&snapshot.sources, taken.span),
    }
}

/// The amount as it stands in the ledger; for `as 1 : 1 : 2`, the parts of this line.
fn written(snapshot: &Snapshot, taken: &Taken) -> String {
    let text = snapshot.sources.text(taken.amount_span);
    match &taken.amount {
        Some(TakenAmount::Portion(Portion::Parts(count)))
            if text.starts_with("as") || text.contains("equal") =>
        {
            let word = if count.nominal == Decimal::ONE {
                "part"
            } else {
                "parts"
            };
            format!("{} {word}", short(count.nominal, 6))
        }
        _ => text.split_whitespace().collect::<Vec<_>>().join(" "),
    }
}

/// The cautions of every herb in it, also through formulas inside; the gravest first.
fn cautions(snapshot: &Snapshot, composition: &Composition) -> Vec<SheetCaution> {
    let held = contents(&snapshot.figures, composition).ok().flatten();
    let mut places: Vec<usize> = match held {
        Some(held) => held.into_keys().collect(),
        None => composition
            .lines
            .iter()
            .filter_map(|line| match line.taken.what {
                Bound::Substance(at) => Some(at),
                _ => None,
            })
            .collect(),
    };
    places.sort_unstable();
    places.dedup();
    let accepted = |caution: &Caution| {
        composition
            .formula
            .accepts
            .iter()
            .find(|(topic, _)| naming::folded(&topic.text) == naming::folded(&caution.topic.text))
            .map(|(_, reason)| reason.clone().unwrap_or_else(|| "no reason written".to_owned()))
    };
    let mut found: Vec<(Level, SheetCaution)> = places
        .into_iter()
        .filter_map(|place| snapshot.ledger.substances.get(place))
        .flat_map(|substance| substance.cautions.iter().map(move |caution| (substance, caution)))
        .map(|(substance, caution)| {
            let one = SheetCaution {
                level: caution.level.word(),
                topic: caution.topic.text.clone(),
                text: caution.text.clone(),
                herb: substance.name.clone(),
                accepted: accepted(caution),
            };
            (caution.level, one)
        })
        .collect();
    found.sort_by(|(a, x), (b, y)| b.cmp(a).then_with(|| x.topic.cmp(&y.topic)));
    found.into_iter().map(|(_, caution)| caution).collect()
}

/// What `check` found in the lines of this formula.
fn own_findings(snapshot: &Snapshot, composition: &Composition) -> Vec<Finding> {
    let head = composition.formula.head;
    let entry = snapshot
        .trees
        .iter()
        .flat_map(|tree| &tree.entries)
        .find(|entry| entry.head == head)
        .map_or(head, |entry| entry.span);
    snapshot
        .diagnostics
        .iter()
        .filter(|one| {
            one.span.file == entry.file && entry.start <= one.span.start && one.span.start <= entry.end
        })
        .map(|one| finding(&snapshot.sources, one))
        .collect()
}

/// The sheet as a document.
pub fn document(snapshot: &Snapshot, composition: &Composition, batch: &Batch, sheet: &Sheet) -> Document {
    let mut page = Document::new();
    page.title(&sheet.formula);
    page.facts(facts(snapshot, sheet));
    page.table(table(snapshot, composition, batch, sheet));
    let mut notes = notes(snapshot, batch, sheet);
    notes.extend(sheet.findings.iter().map(|one| {
        let text = format!("{} ({}:{}, {})", one.message, one.at.file, one.at.line, one.code);
        match one.severity {
            "error" => Note::error(text),
            "warning" => Note::warning(text),
            _ => Note::plain(text),
        }
    }));
    if !notes.is_empty() {
        page.notes(notes);
    }
    if !sheet.cautions.is_empty() {
        page.heading("Cautions of what is in it");
        page.facts(caution_facts(sheet));
    }
    page.small_print(standing::paragraph());
    page
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
    facts
}

/// How many decimals a step has, so that a column shows what the scales show.
fn places(step: Decimal) -> u32 {
    step.normalize().scale()
}

fn table(snapshot: &Snapshot, composition: &Composition, batch: &Batch, sheet: &Sheet) -> Table {
    let practice = &snapshot.ledger.practice;
    let (weights, volumes) = (places(practice.scales.value), places(practice.cylinder.value));
    let mut table = Table::new(vec![
        Column::left("take"),
        Column::decimal("weigh"),
        Column::decimal("in the bowl").with_importance(1),
        Column::decimal("share").with_importance(3),
        Column::right("may be").with_importance(2),
        Column::left("as written").with_importance(4),
        Column::decimal("rounded by").with_importance(5),
    ]);
    for (line, shown) in batch.lines.iter().zip(&sheet.lines) {
        let weigh = match (line.target, &line.grams, line.figure.how) {
            (Some(target), Some(_), _) => format!("{} g", column(target, weights)),
            (Some(target), None, _) => format!("{} ml", column(target, volumes)),
            (None, _, How::ToTheMark) => "to the mark".to_owned(),
            (None, ..) => "as needed".to_owned(),
        };
        let spread = line
            .grams
            .as_ref()
            .map(|grams| (grams, "g"))
            .or(line.millilitres.as_ref().map(|ml| (ml, "ml")));
        let may_be = spread
            .filter(|(spread, _)| !spread.is_exact())
            .map(|(spread, unit)| range(spread, weights.max(1), unit))
            .unwrap_or_default();
        let mut name = shown.name.clone();
        for words in &shown.processing {
            name.push_str(", ");
            name.push_str(words);
        }
        if let Some(role) = &shown.role {
            name = format!("{name} ({role})");
        }
        table.row(vec![
            name,
            weigh,
            line.in_the_bowl
                .map(|bowl| format!("{} g", column(bowl, weights)))
                .unwrap_or_default(),
            line.figure
                .share
                .map(|share| format!("{} %", column(share, 1)))
                .unwrap_or_default(),
            may_be,
            shown.written.clone(),
            line.rounded_by
                .filter(|by| !by.is_zero())
                .map(|by| signed(by, weights.saturating_add(2)))
                .unwrap_or_default(),
        ]);
    }
    totals(&mut table, composition, batch, weights, volumes);
    table
}

fn signed(value: Decimal, places: u32) -> String {
    let sign = if value.is_sign_negative() { "−" } else { "+" };
    format!("{sign}{}", short(value.abs(), places))
}

fn totals(table: &mut Table, composition: &Composition, batch: &Batch, weights: u32, volumes: u32) {
    let mut row = |label: &str, weigh: String, share: &str, may_be: String| {
        table.total(vec![
            label.to_owned(),
            weigh,
            String::new(),
            share.to_owned(),
            may_be,
            String::new(),
            String::new(),
        ]);
    };
    let spread = |value: &Spread, places: u32, unit: &str| {
        if value.is_exact() {
            String::new()
        } else {
            range(value, places, unit)
        }
    };
    if let (Some(target), Some(grams)) = (batch.target, &batch.grams) {
        let share =
            if composition.lines.iter().any(|line| line.share.is_some()) && batch.millilitres.is_none() {
                "100 %"
            } else {
                ""
            };
        row(
            "in all",
            format!("{} g", column(target, weights)),
            share,
            spread(grams, weights.max(1), "g"),
        );
    }
    if let Some(volume) = &batch.millilitres {
        row(
            "by volume",
            format!("{} ml", column(volume.nominal, volumes)),
            "",
            spread(volume, volumes, "ml"),
        );
    }
    if let Some(volume) = &batch.volume {
        row(
            "makes",
            format!("{} ml", column(volume.nominal, volumes)),
            "",
            spread(volume, volumes, "ml"),
        );
    }
}

fn notes(snapshot: &Snapshot, batch: &Batch, sheet: &Sheet) -> Vec<Note> {
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
        .filter_map(|line| line.rounded_by)
        .map(|by| by.abs())
        .max()
        .filter(|most| !most.is_zero());
    if let Some(most) = moved {
        notes.push(Note::plain(format!(
            "Rounded to the scales by largest remainder: no line moved by more than {}, and the lines add up to the rounded total.",
            short(most, places(snapshot.ledger.practice.scales.value).saturating_add(2))
        )));
    }
    let small: Vec<&str> = sheet
        .lines
        .iter()
        .filter(|line| line.below_least_weighable)
        .map(|line| line.name.as_str())
        .collect();
    if !small.is_empty() {
        notes.push(Note::warning(format!(
            "below the least weighable quantity of {} g: {}. Weigh on finer scales, make more, or weigh ten times as much of a pre-blend and take a tenth (below-least-weighable)",
            sheet.scales.least,
            small.join(", ")
        )));
    }
    notes
}

/// One row for each level and topic, with the herbs it comes from.
fn caution_facts(sheet: &Sheet) -> Vec<(String, String)> {
    let mut rows: Vec<(String, String)> = Vec::new();
    let mut by_topic: Vec<(&str, &str, Vec<String>)> = Vec::new();
    for caution in &sheet.cautions {
        let said = match (&caution.text, &caution.accepted) {
            (Some(text), None) => format!("{}: {text}", caution.herb),
            (None, None) => caution.herb.clone(),
            (Some(text), Some(reason)) => format!("{}: {text} (accepted: {reason})", caution.herb),
            (None, Some(reason)) => format!("{} (accepted: {reason})", caution.herb),
        };
        match by_topic
            .iter_mut()
            .find(|(level, topic, _)| *level == caution.level && *topic == caution.topic)
        {
            Some((_, _, herbs)) => herbs.push(said),
            None => by_topic.push((caution.level, &caution.topic, vec![said])),
        }
    }
    for (level, topic, herbs) in by_topic {
        rows.push((format!("{level} {topic}"), herbs.join("; ")));
    }
    rows
}
