//! Turns formulas into published data for other programs: every amount with its UCUM code.

use serde::Serialize;

use super::findings::{At, at};
use super::sheet::Figure;
use super::standing;
use crate::compute::{Amounts, Composition, LineFigure};
use crate::model::Bound;
use crate::quantity::Spread;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;

/// Formulas as data; `grammar/export.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct Export {
    /// The practice, if it has a name.
    pub practice: Option<String>,
    /// The formulas in the order of the ledger.
    pub formulas: Vec<ExportFormula>,
    /// Formulas that hold an error: they have no figures and are not exported.
    pub withheld: Vec<String>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// One formula.
#[derive(Debug, Clone, Serialize)]
pub struct ExportFormula {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub purpose: Option<String>,
    /// What it takes.
    pub ingredients: Vec<ExportIngredient>,
    /// The sums, one for each unit in which there is one.
    pub totals: Vec<ExportAmount>,
    /// How it is mixed.
    pub mix: Vec<String>,
    /// How it is prepared, in order.
    pub steps: Vec<ExportStep>,
    /// The dose lines as written.
    pub doses: Vec<String>,
    /// What the person is told.
    pub sign: Option<String>,
    /// How it keeps.
    pub keep: Option<String>,
    /// Where it is written.
    pub at: At,
}

/// One ingredient.
#[derive(Debug, Clone, Serialize)]
pub struct ExportIngredient {
    /// Its name.
    pub name: String,
    /// `herb`, `material` or `formula`.
    pub kind: &'static str,
    /// The botanical name.
    pub latin: Option<String>,
    /// The amount as written.
    pub written: String,
    /// How the figure was arrived at.
    pub how: &'static str,
    /// The amount; nothing for what is taken as needed.
    pub amount: Option<ExportAmount>,
    /// Percent of the whole.
    pub share_percent: Option<String>,
    /// Processing.
    pub processing: Vec<String>,
    /// Its role.
    pub role: Option<String>,
    /// Where it is written.
    pub at: At,
}

/// An amount with its unit; decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct ExportAmount {
    /// The value with its spread.
    pub value: Figure,
    /// The code of the unit in UCUM: `g`, `mL`, or `{part}` for parts without a size.
    pub ucum: &'static str,
}

/// One step.
#[derive(Debug, Clone, Serialize)]
pub struct ExportStep {
    /// `infuse`, `decoct` and so on.
    pub word: &'static str,
    /// What stands after it.
    pub text: String,
}

/// Puts formulas together, by their places in the ledger.
pub fn export(snapshot: &Snapshot, places: &[usize]) -> Export {
    let name = |at: &usize| {
        let formula = snapshot.ledger.formulas.get(*at);
        formula
            .map(|formula| formula.name.text.clone())
            .unwrap_or_default()
    };
    Export {
        practice: snapshot.ledger.practice.name.clone(),
        formulas: places
            .iter()
            .filter_map(|at| snapshot.figures.of(*at))
            .map(|composition| formula(snapshot, composition))
            .collect(),
        withheld: places
            .iter()
            .filter(|at| snapshot.figures.of(**at).is_none())
            .map(name)
            .collect(),
        standing: standing::CAUTIONS,
    }
}

fn amount(spread: Option<Spread>, ucum: &'static str) -> Option<ExportAmount> {
    spread.map(|spread| ExportAmount {
        value: Figure::from(&spread.settled()),
        ucum,
    })
}

fn amount_of(amounts: &Amounts) -> Option<ExportAmount> {
    amount(amounts.grams, "g")
        .or_else(|| amount(amounts.millilitres, "mL"))
        .or_else(|| amount(amounts.parts, "{part}"))
}

fn formula(snapshot: &Snapshot, composition: &Composition) -> ExportFormula {
    let own = &composition.formula;
    let totals = &composition.totals;
    let words = |span| snapshot.sources.words(span);
    ExportFormula {
        name: own.name.text.clone(),
        purpose: own.purpose.clone(),
        ingredients: composition
            .lines
            .iter()
            .map(|line| ingredient(snapshot, line))
            .collect(),
        totals: [
            amount(totals.grams, "g"),
            amount(totals.millilitres, "mL"),
            amount(totals.parts, "{part}"),
        ]
        .into_iter()
        .flatten()
        .collect(),
        mix: own.mix.iter().map(|mix| mix.text.clone()).collect(),
        steps: own
            .steps
            .iter()
            .map(|step| ExportStep {
                word: step.word,
                text: words(step.preparation.span),
            })
            .collect(),
        doses: own.doses.iter().map(|dose| words(dose.dose.span)).collect(),
        sign: own.sign.clone(),
        keep: own.keep.clone(),
        at: at(&snapshot.sources, own.head),
    }
}

fn ingredient(snapshot: &Snapshot, line: &LineFigure) -> ExportIngredient {
    let taken = &line.taken;
    let substance = match taken.what {
        Bound::Substance(at) => snapshot.ledger.substances.get(at),
        _ => None,
    };
    let formula = match taken.what {
        Bound::Formula(at) => snapshot.ledger.formulas.get(at),
        _ => None,
    };
    let name = substance
        .map(|one| &one.name)
        .or(formula.map(|one| &one.name.text))
        .unwrap_or(&taken.name.text);
    ExportIngredient {
        name: name.clone(),
        kind: match substance {
            Some(one) if one.kind == Kind::Herb => "herb",
            Some(_) => "material",
            None => "formula",
        },
        latin: substance.and_then(|one| one.latin.clone()),
        written: taken.written(&snapshot.sources),
        how: line.how.words(),
        amount: amount_of(&line.amounts),
        share_percent: line.share.map(|share| digits(to_places(share, 6))),
        processing: taken.processing.clone(),
        role: taken.role.clone(),
        at: at(&snapshot.sources, taken.span),
    }
}
