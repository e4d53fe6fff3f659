//! `cost`: what a formula or a batch costs, with its jars, cups and days.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked, formula, weigh};
use crate::book::cost::{self, Cost as Sum, Portions, Prices};
use crate::book::{Amount, Unit, size};
use crate::compute::batch::{self, Refusal, Target};
use crate::compute::intake;
use crate::model::{Bound, Practice};
use crate::quantity::rounding::settled;
use crate::quantity::{Decimal, Overflow, print};
use crate::revision;
use crate::syntax::tree::Make;
use crate::view::costing;
use crate::workspace::Snapshot;

/// Shows what a formula or a batch costs, and a jar, a cup and a day of it
///
/// A formula is reckoned by the price list, with what its batches lost so far; a batch by what its
/// lots cost. Money is exact up to the end, and rounded once, to the smallest coin.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple cost \"after-supper tea\" --make \"3 jars of 80 g\" --in examples/low-barn\n  scruple cost \"after-supper tea on 2026-11-03\" --in examples/low-barn"
)]
pub struct Cost {
    /// A formula, or a batch: `FORMULA on DAY`
    #[arg(value_name = "FORMULA OR BATCH")]
    what: String,

    /// How much of a formula: "500 g", "60 cups", "3 jars of 80 g"
    #[arg(long, value_name = "HOW MUCH", allow_hyphen_values = true)]
    make: Option<String>,
}

/// A cost with what comes out for it.
struct Costed {
    of: String,
    cost: Sum,
    portions: Portions,
    working: Vec<String>,
}

impl Cost {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = arguments.ledger()?;
        let is_batch = snapshot.formula(&self.what).is_none() && self.what.contains(" on ");
        let costed = if is_batch {
            if self.make.is_some() {
                return Err(Failure::new(
                    "a batch has its size",
                    "leave `--make` away, or name a formula",
                ));
            }
            batch_cost(&snapshot, asked::batch(&snapshot, &self.what)?)?
        } else {
            let at = formula(&snapshot, &self.what)?;
            if snapshot.figures.of(at).is_none() {
                return weigh::withheld(&snapshot, at, arguments, terminal);
            }
            self.formula_cost(&snapshot, at)?
        };
        let practice = &snapshot.ledger.practice;
        let price = match costed.cost.total {
            Some(total) => cost::price(practice, total).map_err(Refusal::from)?,
            None => None,
        };
        let report = costing::report(
            &snapshot.ledger,
            costed.of,
            &costed.cost,
            price,
            &costed.portions,
            costed.working,
        );
        match arguments.form {
            Form::Json => terminal::data(&report)?,
            _ => terminal.document(&costing::document(&snapshot.ledger, &report, &costed.cost))?,
        }
        Ok(Outcome::Clean)
    }

    fn formula_cost(&self, snapshot: &Snapshot, at: usize) -> Result<Costed, Failure> {
        let ledger = &snapshot.ledger;
        let composition = snapshot
            .figures
            .of(at)
            .ok_or_else(|| Refusal::new("this formula has no figures", "run `scruple check`"))?;
        let mut working = Vec::new();
        let mut target = Target::Own;
        let mut vessel = None;
        if let Some(words) = &self.make {
            let wanted = weigh::asked_for(words, "--make")?;
            let plan = size::plan(
                weigh::reckoned(snapshot),
                &snapshot.book,
                at,
                &wanted,
                revision::today(),
            )?;
            target = plan.target;
            working.push(format!("for {words}"));
            working.extend(plan.working);
            vessel = jar(&snapshot.ledger.practice, &wanted);
        }
        let sheet = batch::make(ledger, composition, target)?;
        let prices = Prices::of(ledger, &snapshot.faults, &snapshot.figures, &snapshot.book);
        let cost = prices.formula(composition, &sheet);
        let is_drawn = composition.totals.volume.is_some() || composition.totals.finished.is_some();
        let out = match (sheet.volume, sheet.grams) {
            (Some(volume), _) => Some((Unit::Millilitres, volume.nominal)),
            (None, Some(grams)) if !is_drawn && composition.totals.millilitres.is_none() => {
                Some((Unit::Grams, grams.nominal))
            }
            _ => None,
        };
        let what = Bound::Formula(at);
        let mut portions = Portions::default();
        if let (Some(total), Some((unit, value))) = (cost.total, out) {
            let mut out = Amount { unit, value };
            let lost = cost::loss_so_far(ledger, &snapshot.book, what).filter(|_| unit == Unit::Grams);
            if let Some((went_in, came_out)) =
                lost.filter(|(went_in, came_out)| came_out.value < went_in.value)
            {
                let value = cost::share(value, came_out.value, went_in.value).map_err(Refusal::from)?;
                working.push(format!(
                    "its batches so far: {} went in and {} came out, so {} {} are reckoned with",
                    went_in.written(),
                    came_out.written(),
                    print::short(value, 3),
                    unit.word()
                ));
                out.value = settled(value);
            }
            portions = portions_of(snapshot, at, (total, out), vessel)?;
        }
        Ok(Costed {
            of: composition.formula.name.text.clone(),
            cost,
            portions,
            working,
        })
    }
}

fn portions_of(
    snapshot: &Snapshot,
    at: usize,
    made: (Decimal, Amount),
    vessel: Option<(String, Decimal)>,
) -> Result<Portions, Failure> {
    let taken = intake::intake(
        &snapshot.ledger,
        &snapshot.faults,
        &snapshot.figures,
        at,
        None,
        false,
    )
    .ok();
    cost::portions(&snapshot.ledger.practice, made, vessel, taken.as_ref())
        .map_err(|Overflow| Failure::from(Refusal::from(Overflow)))
}

fn batch_cost(snapshot: &Snapshot, at: usize) -> Result<Costed, Failure> {
    let ledger = &snapshot.ledger;
    let prices = Prices::of(ledger, &snapshot.faults, &snapshot.figures, &snapshot.book);
    let cost = prices.batch(at);
    let batch = ledger
        .batches
        .get(at)
        .ok_or_else(|| Refusal::new("there is no such batch", "`scruple stock` lists them"))?;
    if !batch.is_made() {
        return Err(Failure::new(
            format!(
                "the batch of {} is planned, and nothing went in yet",
                batch.called()
            ),
            format!(
                "`scruple cost \"{}\"` reckons it by the price list",
                batch.name.text
            ),
        ));
    }
    let came_out = snapshot
        .book
        .batches
        .get(at)
        .and_then(crate::book::Shelf::came_in);
    let vessel = batch
        .make
        .as_ref()
        .and_then(|(make, _)| jar(&ledger.practice, make));
    let portions = match (cost.total, came_out, batch.what) {
        (Some(total), Some(out), Bound::Formula(formula)) => {
            portions_of(snapshot, formula, (total, out), vessel)?
        }
        (_, out, _) => Portions {
            comes_out: out,
            per: Vec::new(),
        },
    };
    Ok(Costed {
        of: batch.called(),
        cost,
        portions,
        working: Vec::new(),
    })
}

/// What a vessel is called and holds, where the size is said in vessels of so many grams.
fn jar(practice: &Practice, make: &Make) -> Option<(String, Decimal)> {
    let Make::Vessels { vessel, each, .. } = make else {
        return None;
    };
    let grams = crate::model::measure::grams(each, practice.settled).ok()?;
    let one = vessel.text.strip_suffix('s').unwrap_or(&vessel.text);
    Some((
        format!("{one} of {} g", print::short(grams.nominal, 3)),
        grams.nominal,
    ))
}
