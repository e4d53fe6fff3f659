//! What stands on the label of a jar and on the leaflet that goes with it: data, documents, paragraphs.

mod cautions;
mod ingredients;
mod page;
mod words;

use serde::Serialize;

use super::findings::{Finding, finding};
use super::standing;
use crate::compute::batch::Target;
use crate::compute::settling::{Settling, settling};
use crate::compute::{Composition, is_drawn_out};
use crate::diagnostic::Diagnostic;
use crate::model::Person;
use crate::naming::folded;
use crate::quantity::print::short;
use crate::render::label::Size;
use crate::syntax::tree::{Body, Date, Entry, Kind};
use crate::workspace::Snapshot;
pub use cautions::LabelCaution;
pub use ingredients::LabelIngredient;
pub use page::{document, leaflet, paragraphs, too_small};
use words::printed;

/// Who made it.
#[derive(Debug, Clone, Serialize)]
pub struct Maker {
    /// The name of the practice.
    pub name: Option<String>,
    /// Its address.
    pub address: Option<String>,
}

/// What a label says, as data; `grammar/label.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct Label {
    /// The formula.
    pub formula: String,
    /// What it is for, as the ledger says it; on the leaflet only.
    pub purpose: Option<String>,
    /// The case code of the person it is for.
    pub person: Option<String>,
    /// What it holds, in falling order of weight.
    pub ingredients: Vec<LabelIngredient>,
    /// What its steps bring in: spirit, oil, sugar.
    pub made_with: Vec<String>,
    /// What the jar holds, if it was said.
    pub net: Option<String>,
    /// What the person is told, or the dose.
    pub directions: Option<String>,
    /// How it is given, if not by mouth.
    pub given: Option<String>,
    /// How the person prepares it, one step each.
    pub prepare: Vec<String>,
    /// What is done before each use.
    pub before_use: Option<&'static str>,
    /// How it keeps.
    pub keep: Option<String>,
    /// The day of the batch.
    pub batch: Option<String>,
    /// The earliest day of the batch and of the lots in it.
    pub best_before: Option<String>,
    /// The cautions, first those that bear on its person or on everyone.
    pub cautions: Vec<LabelCaution>,
    /// Who made it.
    pub maker: Maker,
    /// What `check` says about the formula, and what is wrong with the label.
    pub findings: Vec<Finding>,
    /// What stands on every label.
    pub standing: [&'static str; 3],
}

/// What a label is asked for.
pub struct Asked<'a> {
    /// The ledger.
    pub snapshot: &'a Snapshot,
    /// The formula.
    pub composition: &'a Composition,
    /// Whom it is for.
    pub person: Option<&'a Person>,
    /// What the jar holds.
    pub net: Option<Target>,
    /// The entry of the batch that it is filled from.
    pub batch: Option<&'a Entry>,
    /// What `check` found in the formula.
    pub findings: &'a [Diagnostic],
}

/// Puts a label together.
pub fn label(asked: &Asked<'_>) -> Label {
    let Asked {
        snapshot,
        composition,
        ..
    } = asked;
    let formula = &composition.formula;
    let practice = &snapshot.ledger.practice;
    let finished = is_drawn_out(composition);
    let mut found: Vec<Diagnostic> = asked.findings.to_vec();
    found.extend(words::error_prone(composition));
    Label {
        formula: formula.name.text.clone(),
        purpose: formula.purpose.as_deref().map(printed),
        person: asked.person.and_then(|person| person.code.clone()),
        ingredients: ingredients::ingredients(snapshot, composition),
        made_with: ingredients::made_with(composition),
        net: asked.net.and_then(net),
        directions: formula.sign.as_deref().map(printed).or_else(|| {
            // Every dose line: one of them may be the child's.
            let doses = formula.doses.iter();
            let said: Vec<String> = doses
                .map(|dose| printed(&snapshot.sources.words(dose.dose.span)))
                .collect();
            (!said.is_empty()).then(|| said.join("; "))
        }),
        given: formula
            .given
            .clone()
            .filter(|given| !folded(given).starts_with("by mouth")),
        prepare: if finished {
            Vec::new()
        } else {
            let steps = formula.steps.iter();
            steps
                .map(|step| {
                    let words = printed(&snapshot.sources.words(step.preparation.span));
                    if step.word == "then" {
                        words
                    } else {
                        format!("{} {words}", step.word)
                    }
                })
                .collect()
        },
        before_use: settling(&snapshot.ledger, composition).map(|settling| match settling {
            Settling::Turn => "stir before use: the heavy pieces sink",
            Settling::Shake => "shake before use",
        }),
        keep: formula.keep.as_deref().map(printed),
        batch: asked.batch.and_then(|batch| batch.date).map(shown),
        best_before: asked.batch.and_then(|batch| best_before(snapshot, batch)),
        cautions: cautions::cautions(snapshot, composition, asked.person),
        maker: Maker {
            name: practice.name.clone(),
            address: practice.address.clone(),
        },
        findings: found.iter().map(|one| finding(&snapshot.sources, one)).collect(),
        standing: standing::CAUTIONS,
    }
}

/// What a jar holds, in words.
fn net(target: Target) -> Option<String> {
    match target {
        Target::Grams(grams) => Some(format!("{} g", short(grams, 2))),
        Target::Millilitres(volume) => Some(format!("{} ml", short(volume, 2))),
        Target::Own | Target::Times(_) => None,
    }
}

/// A date as precisely as it was written.
fn shown(date: Date) -> String {
    let day = date.first.to_string();
    if date.month_only {
        day.get(..7).unwrap_or(&day).to_owned()
    } else {
        day
    }
}

/// The entry of a formula's batch of a day, `2026-11-03`.
pub fn batch<'a>(snapshot: &'a Snapshot, composition: &Composition, day: &str) -> Option<&'a Entry> {
    let name = folded(&composition.formula.name.text);
    entries(snapshot, Kind::Batch).find(|entry| {
        entry.name.as_ref().is_some_and(|own| folded(&own.text) == name)
            && entry.date.is_some_and(|date| shown(date) == day)
    })
}

/// The days of all batches of a formula, for offering them.
pub fn batches(snapshot: &Snapshot, composition: &Composition) -> Vec<String> {
    let name = folded(&composition.formula.name.text);
    entries(snapshot, Kind::Batch)
        .filter(|entry| entry.name.as_ref().is_some_and(|own| folded(&own.text) == name))
        .filter_map(|entry| entry.date.map(shown))
        .collect()
}

fn entries(snapshot: &Snapshot, kind: Kind) -> impl Iterator<Item = &Entry> {
    snapshot
        .trees
        .iter()
        .flat_map(|tree| &tree.entries)
        .filter(move |entry| entry.kind == kind)
}

fn best_before_line(entry: &Entry) -> Option<Date> {
    entry.lines.iter().find_map(|line| match &line.body {
        Body::Date(date) if line.word.text == "best before" => Some(*date),
        _ => None,
    })
}

/// The earliest day that the batch or one of its lots states. A month counts from its first day.
fn best_before(snapshot: &Snapshot, batch: &Entry) -> Option<String> {
    let used = batch.lines.iter().filter_map(|line| match &line.body {
        Body::Used(used, _) => Some(used),
        _ => None,
    });
    let lots: Vec<String> = used
        .flatten()
        .flat_map(|used| &used.portions)
        .filter_map(|(_, lot)| lot.as_ref().map(|lot| folded(&lot.text)))
        .collect();
    let of_lots = entries(snapshot, Kind::Lot)
        .filter(|entry| {
            entry
                .id
                .as_ref()
                .is_some_and(|id| lots.contains(&folded(&id.text)))
        })
        .filter_map(best_before_line);
    best_before_line(batch)
        .into_iter()
        .chain(of_lots)
        .min_by_key(|date| date.first)
        .map(shown)
}

/// What a code on the label says: nothing but what stands beside it.
pub fn code_words(label: &Label) -> String {
    let mut words = vec![label.formula.clone()];
    let mut add = |what: &str, value: &Option<String>| {
        words.extend(value.iter().map(|value| format!("{what} {value}")));
    };
    add("net", &label.net);
    add("batch", &label.batch);
    add("best before", &label.best_before);
    add("", &label.maker.name);
    words.iter().map(|one| one.trim()).collect::<Vec<_>>().join("; ")
}

/// What is asked about the sheet that labels are printed on.
#[derive(Debug, Clone, Copy)]
pub struct Sheet {
    /// The size of the labels.
    pub size: &'static Size,
    /// Whether the leaflet goes along, so that cautions for others are told there.
    pub with_leaflet: bool,
    /// Whether a code is drawn.
    pub with_code: bool,
}
