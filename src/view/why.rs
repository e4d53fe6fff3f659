//! The working of figures, line by line with its places and sources; and the pages of findings.

use serde::Serialize;

use super::findings::{At, at};
use super::standing;
use crate::compute::intake::{BoughtIntake, Intake};
use crate::compute::trace::Step;
use crate::compute::{self, Composition, LineFigure};
use crate::model::Bound;
use crate::quantity::unit::{self, Dimension, Reading};
use crate::quantity::{Decimal, Unit, print};
use crate::render::{Document, TreeLine};
use crate::source::Span;
use crate::syntax;
use crate::workspace::Snapshot;

/// One step of a working, as data.
#[derive(Debug, Clone, Serialize)]
pub struct WhyStep {
    /// What was done.
    pub says: String,
    /// The line that it rests on.
    pub at: Option<At>,
    /// The book that the line cites.
    pub source: Option<WhySource>,
}

/// A book behind a figure.
#[derive(Debug, Clone, Serialize)]
pub struct WhySource {
    /// Its short name.
    pub name: String,
    /// Title, author, year, reference.
    pub citation: String,
    /// Whether its figures were written from memory.
    pub from_memory: bool,
}

/// The working of one line.
#[derive(Debug, Clone, Serialize)]
pub struct WhyLine {
    /// The name.
    pub name: String,
    /// The result in words.
    pub result: String,
    /// The amount as written.
    pub written: String,
    /// The steps.
    pub steps: Vec<WhyStep>,
    /// Where the line stands.
    pub at: At,
}

/// The working of a formula that is taken, at its own size.
#[derive(Debug, Clone, Serialize)]
pub struct WhyInner {
    /// The formula.
    pub formula: String,
    /// The total in words.
    pub total: String,
    /// The lines.
    pub lines: Vec<WhyLine>,
}

/// The working of a formula.
#[derive(Debug, Clone, Serialize)]
pub struct Why {
    /// The formula.
    pub formula: String,
    /// The total in words.
    pub total: String,
    /// The lines.
    pub lines: Vec<WhyLine>,
    /// The formulas that it takes and those that these take, each once.
    pub inner: Vec<WhyInner>,
    /// What of each herb is in a dose, where a dose can be reckoned.
    pub doses: Vec<WhyLine>,
}

/// The formulas inside a formula, each once, those of the first line first.
pub fn inside(snapshot: &Snapshot, formula: usize) -> Vec<usize> {
    let mut found = vec![formula];
    let mut looked = 0;
    while let Some(at) = found.get(looked).copied() {
        looked += 1;
        let lines = snapshot.figures.of(at).into_iter().flat_map(|one| &one.lines);
        for line in lines {
            if let Bound::Formula(inner) = line.taken.what
                && !found.contains(&inner)
            {
                found.push(inner);
            }
        }
    }
    found.into_iter().skip(1).collect()
}

/// Puts the working of a formula together, with that of the formulas inside it; of one ingredient
/// only, if one is named.
pub fn why(snapshot: &Snapshot, formula: usize, only: Option<Bound>, intake: Option<&Intake>) -> Option<Why> {
    let composition = snapshot.figures.of(formula)?;
    // Of one ingredient the lines that take it, and those that take a formula in which it is.
    let leads_to = |what: Bound| {
        only.is_none_or(|only| {
            is_of(snapshot, what, only)
                || matches!(what, Bound::Formula(at)
                    if takes(snapshot, at, only) || inside(snapshot, at).into_iter().any(|inner| takes(snapshot, inner, only)))
        })
    };
    let whole = only.filter(|only| matches!(only, Bound::Formula(_)));
    let inner = inside(snapshot, formula).into_iter().filter_map(|at| {
        let inner = snapshot.figures.of(at)?;
        // Of a formula that is asked about everything in it.
        let all = whole.is_some_and(|whole| match whole {
            Bound::Formula(asked) => asked == at || inside(snapshot, asked).contains(&at),
            _ => false,
        });
        let lines = lines(snapshot, inner, at, |what| all || leads_to(what));
        (!lines.is_empty()).then(|| WhyInner {
            formula: inner.formula.name.text.clone(),
            total: total(inner),
            lines,
        })
    });
    Some(Why {
        formula: composition.formula.name.text.clone(),
        total: total(composition),
        lines: lines(snapshot, composition, formula, leads_to),
        inner: inner.collect(),
        doses: intake
            .map(|intake| {
                let mut lines = doses(snapshot, composition, intake, only);
                lines.extend(bought(snapshot, intake, only));
                lines
            })
            .unwrap_or_default(),
    })
}

fn takes(snapshot: &Snapshot, formula: usize, wanted: Bound) -> bool {
    let lines = snapshot
        .figures
        .of(formula)
        .into_iter()
        .flat_map(|one| &one.lines);
    lines
        .into_iter()
        .any(|line| is_of(snapshot, line.taken.what, wanted))
}

/// Whether something is what is asked about, or is bought ready-made of it.
pub fn is_of(snapshot: &Snapshot, what: Bound, asked: Bound) -> bool {
    what == asked
        || matches!((what, asked), (Bound::Substance(at), Bound::Substance(herb)) if made_of(snapshot, at) == Some(herb))
}

fn made_of(snapshot: &Snapshot, substance: usize) -> Option<usize> {
    snapshot.ledger.substances.get(substance)?.made_of
}

/// What a dose takes of what is bought ready-made.
fn bought(snapshot: &Snapshot, intake: &Intake, only: Option<Bound>) -> Vec<WhyLine> {
    let name = |place: usize| {
        snapshot
            .ledger
            .substances
            .get(place)
            .map_or("", |one| one.name.as_str())
    };
    let dose = intake.dose.span;
    let step = |says: String, span: Option<Span>| {
        why_step(
            snapshot,
            &Step {
                says,
                span,
                book: None,
            },
        )
    };
    let wanted =
        |one: &&BoughtIntake| only.is_none_or(|only| is_of(snapshot, Bound::Substance(one.substance), only));
    let line = |one: &BoughtIntake| {
        let mut steps = vec![step(
            format!("the dose is {}", snapshot.sources.text(dose)),
            Some(dose),
        )];
        steps.extend(intake.working.iter().map(|step| why_step(snapshot, step)));
        if let Some(volume) = &intake.liquid_at_once {
            let says = format!("so a dose takes {}", print::spread(&volume.settled(), 6, "ml"));
            steps.push(step(says, None));
        }
        let says = format!(
            "of which {} are {}",
            print::spread(&one.at_once, 6, "ml"),
            name(one.substance)
        );
        steps.push(step(says, None));
        let entry = snapshot
            .ledger
            .substances
            .get(one.substance)
            .and_then(|own| own.span);
        let says = format!(
            "it is bought ready-made of {}: what it holds of that is not reckoned",
            name(one.made_of)
        );
        steps.push(step(says, entry));
        WhyLine {
            name: name(one.substance).to_owned(),
            result: format!("{} in a dose", print::spread(&one.at_once, 3, "ml")),
            written: snapshot.sources.text(dose).to_owned(),
            steps,
            at: at(&snapshot.sources, dose),
        }
    };
    intake.bought.iter().filter(wanted).map(line).collect()
}

/// The workings of those lines of a formula that are wanted.
fn lines(
    snapshot: &Snapshot,
    composition: &Composition,
    formula: usize,
    wanted: impl Fn(Bound) -> bool,
) -> Vec<WhyLine> {
    let working = compute::working(&snapshot.ledger, &snapshot.figures, formula);
    composition
        .lines
        .iter()
        .zip(&working)
        .filter(|(line, _)| wanted(line.taken.what))
        .map(|(line, steps)| WhyLine {
            name: line.taken.name.text.clone(),
            result: result(line),
            written: line.taken.written(&snapshot.sources),
            steps: units(snapshot, composition, line)
                .chain(steps.iter().cloned())
                .map(|step| why_step(snapshot, &step))
                .collect(),
            at: at(&snapshot.sources, line.taken.span),
        })
        .collect()
}

/// What the measures of a line are worth, where they are not metric, and by which standard; and the
/// part of the written amount that an adaptation takes.
fn units(snapshot: &Snapshot, composition: &Composition, line: &LineFigure) -> impl Iterator<Item = Step> {
    let span = line.taken.amount_span;
    let text = snapshot.sources.text(span);
    let quantity = syntax::parse_quantity(span.file, text).ok();
    let settled = snapshot.ledger.practice.settled;
    let terms = quantity.into_iter().flat_map(|quantity| {
        quantity
            .low
            .into_iter()
            .chain(quantity.high.into_iter().flatten())
    });
    let mut said: Vec<String> = Vec::new();
    for name in terms.filter_map(|term| term.unit) {
        if let Reading::Known(Unit::Fixed(unit)) = unit::read(&name.text, settled)
            && !unit.standard.starts_with("SI prefix")
            && unit.standard != "base unit"
            && let Ok(value) = unit.to_base(Decimal::ONE)
        {
            let base = if unit.dimension == Dimension::Mass {
                "g"
            } else {
                "ml"
            };
            let says = format!(
                "1 {} is {} {base}: {}",
                unit.one,
                print::digits(value),
                unit.standard
            );
            if !said.contains(&says) {
                said.push(says);
            }
        }
    }
    let adapted = line.taken.share_of_adapted.map(|share| Step {
        says: format!("of which this adaptation takes {}", print::share(share)),
        span: composition.formula.adapts.as_ref().map(|adapts| adapts.name.span),
        book: None,
    });
    said.into_iter()
        .map(move |says| Step {
            says,
            span: Some(span),
            book: None,
        })
        .chain(adapted)
}

/// From the dose as written to the grams of each herb, and to the bounds that are stated for it.
fn doses(
    snapshot: &Snapshot,
    composition: &Composition,
    intake: &Intake,
    only: Option<Bound>,
) -> Vec<WhyLine> {
    let step = |says: String, span: Option<Span>, book: Option<usize>| {
        why_step(snapshot, &Step { says, span, book })
    };
    let herbs = intake
        .herbs
        .iter()
        .filter(|herb| only.is_none_or(|wanted| wanted == Bound::Substance(herb.substance)));
    herbs
        .filter_map(|herb| {
            let substance = snapshot.ledger.substances.get(herb.substance)?;
            let dose = intake.dose.span;
            let mut steps = vec![step(
                format!("the dose is {}", snapshot.sources.text(dose)),
                Some(dose),
                None,
            )];
            for prepared in &composition.formula.steps {
                let span = prepared.preparation.span;
                let says = format!("{} {}", prepared.word, snapshot.sources.text(span));
                steps.push(step(says, Some(span), None));
            }
            steps.extend(intake.working.iter().map(|step| why_step(snapshot, step)));
            if let Some(blend) = &intake.blend_at_once {
                let says = format!(
                    "so a dose takes {} of the blend",
                    print::spread(&blend.settled(), 6, "g")
                );
                steps.push(step(says, None, None));
            }
            if let Some(volume) = &intake.liquid_at_once {
                let says = format!("so a dose takes {}", print::spread(&volume.settled(), 6, "ml"));
                steps.push(step(says, None, None));
            }
            let says = if intake.drawn_out {
                format!("behind it stand {}", print::spread(&herb.at_once, 6, "g"))
            } else {
                let share = herb
                    .share
                    .map(|share| format!("{} % of it is ", print::short(share, 3)));
                format!(
                    "{}{}: {}",
                    share.unwrap_or_default(),
                    substance.name,
                    print::spread(&herb.at_once, 6, "g")
                )
            };
            steps.push(step(says, None, None));
            if let (Some(times), Some(day)) = (&intake.times, &herb.a_day) {
                let says = format!(
                    "at the most {} times a day: {}",
                    print::short(times.nominal, 3),
                    print::spread(day, 6, "g")
                );
                steps.push(step(says, Some(dose), None));
            }
            for line in &substance.doses {
                let says = format!("stated dose: {}", snapshot.sources.text(line.dose.span));
                steps.push(step(says, Some(line.span), line.book));
            }
            for most in &substance.mosts {
                let says = format!("stated: {}", snapshot.sources.text(most.span));
                steps.push(step(says, Some(most.span), most.book));
            }
            Some(WhyLine {
                name: substance.name.clone(),
                result: format!("{} in a dose", print::spread(&herb.at_once, 3, "g")),
                written: snapshot.sources.text(dose).to_owned(),
                steps,
                at: at(&snapshot.sources, dose),
            })
        })
        .collect()
}

/// A step as data.
pub(super) fn why_step(snapshot: &Snapshot, step: &Step) -> WhyStep {
    WhyStep {
        says: step.says.clone(),
        at: step.span.map(|span| at(&snapshot.sources, span)),
        source: step
            .book
            .and_then(|place| snapshot.ledger.books.get(place))
            .map(|book| WhySource {
                name: book.name.text.clone(),
                citation: book.citation.clone(),
                from_memory: book.from_memory,
            }),
    }
}

fn result(line: &LineFigure) -> String {
    let amounts = &line.amounts;
    let size = match (&amounts.grams, &amounts.millilitres, &amounts.parts) {
        (Some(grams), Some(volume), _) => {
            format!(
                "{}, {}",
                print::spread(grams, 6, "g"),
                print::spread(volume, 6, "ml")
            )
        }
        (Some(grams), None, _) => print::spread(grams, 6, "g"),
        (None, Some(volume), _) => print::spread(volume, 6, "ml"),
        (None, None, Some(parts)) => print::spread(parts, 6, print::unit_for(parts, "parts")),
        (None, None, None) => line.how.words().to_owned(),
    };
    match line.share {
        Some(share) => format!("{size}, {} % of the total", print::short(share, 2)),
        None => size,
    }
}

/// What a formula comes to, in words.
pub(super) fn total(composition: &Composition) -> String {
    let totals = &composition.totals;
    let parts: Vec<String> = [
        totals.grams.map(|spread| print::spread(&spread, 6, "g")),
        totals.millilitres.map(|spread| print::spread(&spread, 6, "ml")),
        totals.parts.map(|spread| {
            format!(
                "{}, without a size of its own",
                print::spread(&spread, 6, "parts")
            )
        }),
        totals
            .volume
            .map(|spread| format!("makes {}", print::spread(&spread, 6, "ml"))),
    ]
    .into_iter()
    .flatten()
    .collect();
    parts.join("; ")
}

/// The working as a document.
pub fn document(why: &Why) -> Document {
    let mut page = Document::new();
    page.title(format!("Why: {}", why.formula));
    page.paragraph(format!("At its own size: {}.", why.total));
    page.tree(tree(&why.lines));
    for inner in &why.inner {
        page.heading(format!("Inside: {}", inner.formula));
        page.paragraph(format!("At its own size: {}.", inner.total));
        page.tree(tree(&inner.lines));
    }
    if !why.doses.is_empty() {
        page.heading("In a dose");
        page.tree(tree(&why.doses));
    }
    page.small_print(standing::paragraph());
    page
}

fn tree(lines: &[WhyLine]) -> Vec<TreeLine> {
    let mut tree = Vec::new();
    for line in lines {
        tree.push(TreeLine::new(0, format!("{}: {}", line.name, line.result)));
        tree.push(TreeLine::new(
            1,
            format!("`{}`, written in {}:{}", line.written, line.at.file, line.at.line),
        ));
        tree.extend(tree_of_steps(&line.steps, Some(&line.at)));
    }
    tree
}

/// Steps with their places, but for those in the line that they stand under, and their sources.
pub(super) fn tree_of_steps(steps: &[WhyStep], under: Option<&At>) -> Vec<TreeLine> {
    let mut tree = Vec::new();
    for step in steps {
        let place = step
            .at
            .as_ref()
            .filter(|place| under.is_none_or(|line| place.line != line.line || place.file != line.file))
            .map(|place| format!(" [{}:{}]", place.file, place.line))
            .unwrap_or_default();
        tree.push(TreeLine::new(1, format!("{}{place}", step.says)));
        if let Some(source) = &step.source {
            let memory = if source.from_memory { " (from memory)" } else { "" };
            tree.push(TreeLine::new(
                2,
                format!("source {}: {}{memory}", source.name, source.citation),
            ));
        }
    }
    tree
}
