//! `weigh`: the weighing sheet of a formula at any size.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked, formula, report};
use crate::book::size::{self, Reckoned};
use crate::compute::batch::{self, Target};
use crate::compute::make;
use crate::diagnostic::Severity;
use crate::model::Bound;
use crate::render::Document;
use crate::revision;
use crate::source::Sources;
use crate::syntax;
use crate::view::{at_the_bench, bench, findings, found, sheet, standing};
use crate::workspace::Snapshot;

/// Prints the weighing sheet of a formula
///
/// Each herb in the order of the bench: what to weigh on these scales, what then lies in the
/// bowl, its share and its spread.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger:\n\n  scruple weigh \"after-supper tea\" --make \"500 g\" --in examples/low-barn"
)]
pub struct Weigh {
    /// The formula's name; or a batch, `FORMULA on DAY`: its sheet with blanks to fill in, or what was weighed
    #[arg(value_name = "FORMULA OR BATCH")]
    formula: String,

    /// How much: "500 g", "60 cups", "14 doses", "2 people for 7 days",
    /// "3 jars of 80 g", "2 times" or "all that stock allows"
    #[arg(long, value_name = "HOW MUCH", allow_hyphen_values = true)]
    make: Option<String>,
}

impl Weigh {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = arguments.ledger()?;
        if snapshot.formula(&self.formula).is_none() && self.formula.contains(" on ") {
            return self.batch(&snapshot, arguments, terminal);
        }
        let at = formula(&snapshot, &self.formula)?;
        let Some(composition) = snapshot.figures.of(at) else {
            return withheld(&snapshot, at, arguments, terminal);
        };
        let plan = match &self.make {
            None => None,
            Some(asked) => {
                let wanted = asked_for(asked, "--make")?;
                Some((
                    asked.as_str(),
                    size::plan(
                        reckoned(&snapshot),
                        &snapshot.book,
                        at,
                        &wanted,
                        revision::today(),
                    )?,
                ))
            }
        };
        let target = plan.as_ref().map_or(Target::Own, |(_, plan)| plan.target);
        let batch = batch::make(&snapshot.ledger, composition, target)?;
        let asked = plan.as_ref().map(|(asked, plan)| (*asked, plan));
        let sheet = sheet::sheet(&snapshot, composition, &batch, asked);
        match arguments.form {
            Form::Json => terminal::data(&sheet)?,
            _ => terminal.document(&bench::document(&snapshot, composition, &batch, &sheet))?,
        }
        // An error that lets the figures stand, such as a dose over the most, is still a finding.
        let grave = sheet
            .findings
            .iter()
            .any(|one| one.severity == Severity::Error.word());
        Ok(if grave { Outcome::Findings } else { Outcome::Clean })
    }
}

impl Weigh {
    /// The sheet of a batch, with blanks to fill in.
    fn batch(
        &self,
        snapshot: &Snapshot,
        arguments: &Arguments,
        terminal: &Terminal,
    ) -> Result<Outcome, Failure> {
        if self.make.is_some() {
            return Err(Failure::new(
                "a batch has its size",
                "leave `--make` away, or name a formula",
            ));
        }
        let at = asked::batch(snapshot, &self.formula)?;
        let reckoned = reckoned(snapshot);
        let Some(batch) = snapshot.ledger.batches.get(at) else {
            return Ok(Outcome::Clean);
        };
        let (formula, composition) = match reckoned.composition(batch) {
            Ok(found) => found,
            Err(refusal) => match batch.what {
                Bound::Formula(formula) => return withheld(snapshot, formula, arguments, terminal),
                _ => return Err(refusal.into()),
            },
        };
        let sized = size::of_batch(reckoned, &snapshot.book, at, batch)?;
        let words = batch.make.as_ref().map_or_else(String::new, |(_, span)| {
            let line = snapshot.sources.text(*span);
            crate::syntax::fold_blanks(line.trim_start_matches("make"))
        });
        let sheet = sheet::sheet(snapshot, composition, &sized.sheet, Some((&words, &sized.plan)));
        debug_assert!(snapshot.figures.of(formula).is_some());
        if arguments.form == Form::Json {
            terminal::data(&sheet)?;
        } else {
            let mut page = bench::document(snapshot, composition, &sized.sheet, &sheet);
            page.append(if batch.is_made() {
                at_the_bench::weighed(snapshot, at, batch)
            } else {
                at_the_bench::blanks(snapshot, batch, &sized)
            });
            terminal.document(&page)?;
        }
        Ok(Outcome::Clean)
    }
}

/// What sizes are reckoned from.
pub fn reckoned(snapshot: &Snapshot) -> Reckoned<'_> {
    Reckoned {
        ledger: &snapshot.ledger,
        faults: &snapshot.faults,
        figures: &snapshot.figures,
    }
}

/// Reads how much is meant by what stands after an option.
pub fn asked_for(text: &str, option: &str) -> Result<crate::syntax::tree::Make, Failure> {
    let mut typed = Sources::default();
    let file = typed.add(option, text.into());
    syntax::parse_make(file, text)
        .map_err(|finding| Failure::new(format!("`{option} \"{text}\"`: {}", finding.message), make::SIZES))
}

/// A formula with a fault has no figures: its errors are printed instead.
pub fn withheld(
    snapshot: &Snapshot,
    at: usize,
    arguments: &Arguments,
    terminal: &Terminal,
) -> Result<Outcome, Failure> {
    let name = snapshot
        .ledger
        .formulas
        .get(at)
        .map_or("", |formula| formula.name.text.as_str());
    let concerned = snapshot.faults_of(at);
    if matches!(arguments.form, Form::Json) {
        terminal::data(&findings::of_faults(snapshot, at))?;
    } else if terminal.is_text() {
        let reports = report::print(concerned, &snapshot.sources, &terminal.page);
        terminal::safe_text(&reports)?;
    } else {
        let mut page = Document::new();
        page.title(format!("{name}: no figures"));
        page.paragraph("No figures are given until this is mended.");
        found::findings(&mut page, concerned, &snapshot.sources);
        page.small_print(standing::paragraph());
        terminal.document(&page)?;
    }
    terminal::fail(&Failure::new(
        format!("no figures are given for {name} until this is mended"),
        "`scruple check` shows every finding of the ledger",
    ));
    debug_assert!(
        snapshot
            .diagnostics
            .iter()
            .any(|one| one.severity == Severity::Error)
    );
    Ok(Outcome::Findings)
}
