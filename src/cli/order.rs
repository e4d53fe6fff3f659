//! `order`: what planned batches and minimum stock need, in packs.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked, weigh};
use crate::book::order;
use crate::compute::batch::Refusal;
use crate::view::ordering;

/// Shows what to buy for planned batches and minimum stock
///
/// What planned batches take and what there should always be, less what there is, rounded up to
/// packs, by seller, with its cost. What the ledger allows in place of something is offered.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger:\n\n  scruple order --on 2026-11-30 --in examples/low-barn"
)]
pub struct Order {
    /// With what there is at the end of which day; without it, today
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
}

impl Order {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_calendar()?;
        let on = asked::day(self.on.as_deref())?;
        let snapshot = arguments.ledger()?;
        let reckoned = weigh::reckoned(&snapshot);
        let order = order::order(reckoned, &snapshot.book, on).map_err(Refusal::from)?;
        let report = ordering::report(&snapshot.ledger, &order, on);
        match arguments.form {
            Form::Json => terminal::data(&report)?,
            Form::Csv => terminal::rows(&ordering::rows(&report))?,
            _ => terminal.document(&ordering::document(&snapshot.ledger, &report))?,
        }
        Ok(if report.unreckoned.is_empty() {
            Outcome::Clean
        } else {
            Outcome::Findings
        })
    }
}
