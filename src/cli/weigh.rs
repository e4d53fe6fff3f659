//! `weigh`: the weighing sheet of a formula at any size.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, formula, report};
use crate::compute::batch::{self, Target};
use crate::compute::make;
use crate::diagnostic::Severity;
use crate::render::Document;
use crate::source::Sources;
use crate::syntax;
use crate::view::{bench, found, sheet, standing};
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
    /// The formula's name
    #[arg(value_name = "FORMULA")]
    formula: String,

    /// How much: "500 g", "60 cups", "14 doses", "2 people for 7 days",
    /// "3 jars of 80 g" or "2 times"
    #[arg(long, value_name = "HOW MUCH", allow_hyphen_values = true)]
    make: Option<String>,
}

impl Weigh {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = arguments.ledger()?;
        let at = formula(&snapshot, &self.formula)?;
        let Some(composition) = snapshot.figures.of(at) else {
            return withheld(&snapshot, at, terminal);
        };
        let plan = match &self.make {
            None => None,
            Some(asked) => {
                let wanted = asked_for(asked, "--make")?;
                Some((
                    asked.as_str(),
                    make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted)?,
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

/// Reads how much is meant by what stands after an option.
pub fn asked_for(text: &str, option: &str) -> Result<crate::syntax::tree::Make, Failure> {
    let mut typed = Sources::default();
    let file = typed.add(option, text.into());
    syntax::parse_make(file, text)
        .map_err(|finding| Failure::new(format!("`{option} \"{text}\"`: {}", finding.message), make::SIZES))
}

/// A formula with a fault has no figures: its errors are printed instead.
pub fn withheld(snapshot: &Snapshot, at: usize, terminal: &Terminal) -> Result<Outcome, Failure> {
    let name = snapshot
        .ledger
        .formulas
        .get(at)
        .map_or("", |formula| formula.name.text.as_str());
    let concerned = snapshot.faults_of(at);
    if terminal.is_text() {
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
