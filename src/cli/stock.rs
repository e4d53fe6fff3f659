//! `stock`: what is left of each thing, lot by lot.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked};
use crate::view::shelves;

/// Shows what is left of each herb and blend, lot by lot
///
/// What came in, less what was used, handed out and thrown away, and set right by every count; what
/// expires first stands first. Exits with 1 if more of something was taken than was there.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger:\n\n  scruple stock \"peppermint leaf\" --on 2026-11-30 --in examples/low-barn"
)]
pub struct Stock {
    /// A herb, a material or a formula; without it, everything that the book has
    #[arg(value_name = "HERB")]
    what: Option<String>,

    /// At the end of which day; without it, today
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
}

impl Stock {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_calendar()?;
        let on = asked::day(self.on.as_deref())?;
        let snapshot = arguments.ledger()?;
        let only = match &self.what {
            Some(name) => Some(asked::bound(&snapshot, name)?),
            None => None,
        };
        let report = shelves::report(&snapshot, only, on);
        match arguments.form {
            Form::Json => terminal::data(&report)?,
            Form::Csv => terminal::rows(&shelves::rows(&report))?,
            _ => terminal.document(&shelves::document(&report))?,
        }
        let is_short = report
            .things
            .iter()
            .flat_map(|thing| &thing.shelves)
            .filter_map(|shelf| shelf.left.as_ref())
            .any(|left| left.amount.starts_with('-'));
        Ok(if is_short {
            Outcome::Findings
        } else {
            Outcome::Clean
        })
    }
}
