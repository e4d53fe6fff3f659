//! `label`: the label of a jar and the leaflet that goes with it.

use clap::Args;

use super::failure::Failure;
use super::person::ForWhom;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, cautions, formula, weigh};
use crate::check;
use crate::compute::make;
use crate::diagnostic::{self, Severity};
use crate::render::html;
use crate::render::label::{SIZES, fit, named};
use crate::view::findings::finding;
use crate::view::label::{self, Asked, Sheet};

/// Prints the label of a jar, or the leaflet that goes with it
///
/// The label holds what is in the jar in falling order of weight, the directions, how it keeps, the
/// cautions, the maker and the warnings. What is not known is left to be written in by hand. As a web
/// page (`--as html`) it is a sheet of labels in millimetres, for a printer that prints at full size.
///
/// Nothing is ever cut off: a label without room for its text is a finding, and is not printed.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple label \"after-supper tea\" --net \"50 g\" --batch 2026-11-03 --in examples/low-barn\n  scruple label \"after-supper tea\" --on \"70 x 50.8\" --with-leaflet --as html --in examples/low-barn\n  scruple label \"after-supper tea\" --leaflet --as html --in examples/low-barn"
)]
pub struct Label {
    /// The formula's name
    #[arg(value_name = "FORMULA")]
    formula: String,

    /// What the jar holds: "50 g", "100 ml"
    #[arg(long, value_name = "HOW MUCH")]
    net: Option<String>,

    /// The day of the batch that it is filled from, as the ledger has it
    #[arg(long, value_name = "DATE")]
    batch: Option<String>,

    /// The size of the labels: "70 x 37", of which the README has a list
    #[arg(long, value_name = "SIZE", default_value = "105 x 148")]
    on: String,

    /// How many labels; without it, one full sheet
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(1..=1000))]
    copies: Option<u32>,

    /// The leaflet is handed out with it, so that cautions for other people are told there
    #[arg(long)]
    with_leaflet: bool,

    /// Draws a code for readers beside the text: the name, net weight, batch, best before and maker
    #[arg(long)]
    code: bool,

    /// Prints the leaflet instead of the label
    #[arg(long, conflicts_with_all = ["copies", "code"])]
    leaflet: bool,

    #[command(flatten)]
    whom: ForWhom,
}

impl Label {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let sheet = self.sheet()?;
        let snapshot = arguments.ledger()?;
        let at = formula(&snapshot, &self.formula)?;
        let typed = self.whom.person(&snapshot)?;
        let Some(composition) = snapshot.figures.of(at) else {
            let ended = weigh::withheld(&snapshot, at, arguments, terminal)?;
            cautions::of_withheld(&snapshot, at, typed.as_ref(), terminal)?;
            return Ok(ended);
        };
        let person = typed
            .as_ref()
            .or_else(|| snapshot.ledger.person_of(&composition.formula));
        let mut findings =
            check::at_the_desk(&snapshot.ledger, &snapshot.figures, &snapshot.faults, person, at);
        findings.retain(|one| one.severity > Severity::Notice);
        diagnostic::sort(&mut findings, &snapshot.sources);
        let batch = match &self.batch {
            None => None,
            Some(day) => Some(label::batch(&snapshot, composition, day).ok_or_else(|| {
                let days = label::batches(&snapshot, composition);
                Failure::new(
                    format!("there is no batch of {} on {day} in this ledger", self.formula),
                    if days.is_empty() {
                        "write one down: `batch after-supper tea on 2026-11-03`, or leave `--batch` away"
                            .to_owned()
                    } else {
                        format!("the ledger has: {}", days.join(", "))
                    },
                )
            })?),
        };
        let net = match &self.net {
            None => None,
            Some(asked) => {
                let wanted = weigh::asked_for(asked, "--net")?;
                let plan = make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted)?;
                Some(plan.target)
            }
        };
        let mut data = label::label(&Asked {
            snapshot: &snapshot,
            composition,
            person,
            net,
            batch,
            findings: &findings,
        });
        let printed = label::paragraphs(&data, &sheet);
        let points = fit(&printed, sheet.size);
        // The leaflet has room for anything.
        if points.is_none() && !self.leaflet {
            let small = label::too_small(composition, &data, &sheet);
            data.findings.push(finding(&snapshot.sources, &small));
        }
        let pages = arguments.form == Form::Document(&html::FORM);
        match (arguments.form, points) {
            (Form::Json, _) => terminal::data(&data)?,
            _ if self.leaflet && pages => terminal::page(&html::leaflet(&label::leaflet(&data)))?,
            _ if self.leaflet => terminal.document(&label::leaflet(&data))?,
            (_, Some(points)) if pages => {
                for one in &data.findings {
                    terminal::remark(&format!("{} ({})", one.message, one.code));
                }
                let title = format!("{}: labels, {}", data.formula, sheet.size.name);
                terminal::page(&html::labels(&title, &printed, sheet.size, points, self.copies))?;
            }
            _ => terminal.document(&label::document(&data, &sheet, points))?,
        }
        let grave = data
            .findings
            .iter()
            .any(|one| one.severity != Severity::Notice.word());
        Ok(if grave { Outcome::Findings } else { Outcome::Clean })
    }

    fn sheet(&self) -> Result<Sheet, Failure> {
        let size = named(&self.on).ok_or_else(|| {
            let all: Vec<&str> = SIZES.iter().map(|size| size.name).collect();
            Failure::new(
                format!("there is no size of label `{}`", self.on),
                format!("choose one of: {}", all.join("; ")),
            )
        })?;
        Ok(Sheet {
            size,
            with_leaflet: self.with_leaflet,
            with_code: self.code,
        })
    }
}
