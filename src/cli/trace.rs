//! `trace`: where a lot or a batch went, and what is in a batch or in what was handed out.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked};
use crate::render::Document;
use crate::view::tracing::{self, TraceReport};

/// Follows a lot to everyone who got of it, and a batch or a supply back to its lots
///
/// Name a lot by its id, a batch by its formula and its day, and what was handed out with the word
/// `supply` before it. `--recall` makes one page of it: who got of it, and what is still on a shelf.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple trace PM-114 --recall --on 2026-11-30 --in examples/low-barn\n  scruple trace \"after-supper tea on 2026-11-03\" --on 2026-11-30 --in examples/low-barn"
)]
pub struct Trace {
    /// A lot, a batch, or `supply FORMULA on DAY`
    #[arg(value_name = "LOT OR BATCH")]
    what: String,

    /// What is left at the end of which day; without it, today
    #[arg(long, value_name = "DAY")]
    on: Option<String>,

    /// The page for a recall, in place of the trees
    #[arg(long)]
    recall: bool,
}

impl Trace {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_calendar()?;
        let on = asked::day(self.on.as_deref())?;
        let snapshot = arguments.ledger()?;
        let reports: Vec<TraceReport> = match self.what.trim().strip_prefix("supply ") {
            Some(words) => asked::supplies(&snapshot, words)?
                .into_iter()
                .map(|at| tracing::of_supply(&snapshot, at, on))
                .collect(),
            None => vec![tracing::of_holder(
                &snapshot,
                asked::holder(&snapshot, &self.what)?,
                on,
            )],
        };
        match (arguments.form, reports.as_slice()) {
            (Form::Json, [report]) => terminal::data(report)?,
            // A blend may be handed out several times on one day.
            (Form::Json, reports) => terminal::data(&reports)?,
            (Form::Csv, reports) => terminal::rows(&tracing::rows(reports))?,
            (_, reports) => {
                let mut page = Document::new();
                for report in reports {
                    page.append(if self.recall {
                        tracing::recall(report)
                    } else {
                        tracing::document(report)
                    });
                }
                terminal.document(&page)?;
            }
        }
        Ok(Outcome::Clean)
    }
}
