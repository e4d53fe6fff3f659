//! The weighing sheet as data with a published schema.

use serde::Serialize;

use super::findings::{At, Finding, at, finding};
use super::standing;
use crate::compute::Composition;
use crate::compute::batch::{Batch, BatchLine};
use crate::compute::caution::assess;
use crate::compute::make::Plan;
use crate::model::Bound;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;
use crate::quantity::{Decimal, Spread};
use crate::syntax::tree::{Kind, Subject};
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
    /// The strength before its name, in percent by volume.
    pub strength_percent: Option<String>,
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

/// A step of preparing, as written.
#[derive(Debug, Clone, Serialize)]
pub struct SheetStep {
    /// `infuse`, `decoct` and so on.
    pub word: &'static str,
    /// What stands after it, as written for the formula's own size.
    pub text: String,
    /// Whether its liquids are for the whole formula, so that they grow with it.
    pub for_the_whole: bool,
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
    /// How many times the formula's own size this is; nothing at that size, and for parts.
    pub times: Option<String>,
    /// The scales.
    pub scales: Scales,
    /// The totals.
    pub total: Total,
    /// The lines in the order of the bench.
    pub lines: Vec<SheetLine>,
    /// How it is mixed.
    pub mix: Vec<String>,
    /// How it is prepared, as written.
    pub steps: Vec<SheetStep>,
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
        times: times(batch, composition).map(digits),
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
        steps: formula
            .steps
            .iter()
            .map(|step| SheetStep {
                word: step.word,
                text: snapshot.sources.words(step.preparation.span),
                for_the_whole: !matches!(step.preparation.subject, Subject::Amount(..) | Subject::Ratio(..))
                    && (step.preparation.down_to.is_some()
                        || step
                            .preparation
                            .media
                            .iter()
                            .any(|liquid| liquid.amount.is_some())),
            })
            .collect(),
        cautions: cautions(snapshot, composition),
        findings: own_findings(snapshot, composition, batch),
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
        written: taken.written(&snapshot.sources),
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
        strength_percent: taken.strength.map(digits),
        processing: taken.processing.clone(),
        role: taken.role.clone(),
        at: at(&snapshot.sources, taken.span),
    }
}

/// How many times the liquids as written are meant: an adaptation of another size counts too.
fn times(batch: &Batch, composition: &Composition) -> Option<Decimal> {
    let formula = &composition.formula;
    let inherited = formula.steps.iter().all(|step| {
        step.span.file != formula.entry.file
            || !(formula.entry.start..=formula.entry.end).contains(&step.span.start)
    });
    let adapted = composition
        .lines
        .iter()
        .find_map(|line| line.taken.share_of_adapted)
        .filter(|_| inherited);
    match (batch.times, adapted) {
        (None, None) => None,
        (times, share) => times
            .unwrap_or(Decimal::ONE)
            .checked_mul(share.unwrap_or(Decimal::ONE)),
    }
}

/// The cautions of everything in it, also through formulas inside; the gravest first.
fn cautions(snapshot: &Snapshot, composition: &Composition) -> Vec<SheetCaution> {
    let mut found = assess(&snapshot.ledger, &snapshot.figures, composition, None);
    found.sort_by_key(|one| std::cmp::Reverse(one.level));
    found
        .into_iter()
        .map(|one| SheetCaution {
            level: one.level.word(),
            topic: one.topic,
            text: one.text,
            herb: snapshot
                .ledger
                .substances
                .get(one.substance)
                .map(|substance| substance.name.clone())
                .unwrap_or_default(),
            // Without a reason it counts for nothing.
            accepted: one.accepted.and_then(|acceptance| acceptance.reason),
        })
        .collect()
}

/// What `check` found in the lines of this formula, and what making it at this size adds.
fn own_findings(snapshot: &Snapshot, composition: &Composition, batch: &Batch) -> Vec<Finding> {
    let entry = composition.formula.entry;
    snapshot
        .diagnostics
        .iter()
        .filter(|one| one.span.file == entry.file && (entry.start..=entry.end).contains(&one.span.start))
        .chain(&batch.findings)
        .map(|one| finding(&snapshot.sources, one))
        .collect()
}
