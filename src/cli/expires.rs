//! `expires`: until when what is on the shelves is good.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked};
use crate::view::expiring;

/// Shows until when each lot and batch on the shelves is good, also as a calendar
///
/// A batch that doesn't say so itself is good as long as its formula keeps and as the first of what
/// went into it is.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger:\n\n  scruple expires --on 2026-11-30 --in examples/low-barn\n\n`--as ics` prints a calendar to be kept by other programs."
)]
pub struct Expires {
    /// With what is left at the end of which day; without it, today
    #[arg(long, value_name = "DAY")]
    on: Option<String>,
}

impl Expires {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        if arguments.form != Form::Calendar {
            arguments.without_calendar()?;
        }
        let on = asked::day(self.on.as_deref())?;
        let snapshot = arguments.ledger()?;
        let report = expiring::report(&snapshot, on);
        match arguments.form {
            Form::Json => terminal::data(&report)?,
            Form::Csv => terminal::rows(&expiring::rows(&report))?,
            Form::Calendar => {
                let practice = snapshot.ledger.practice.name.as_deref();
                terminal::rows(&expiring::calendar(&report, practice))?;
            }
            _ => terminal.document(&expiring::document(&report))?,
        }
        Ok(Outcome::Clean)
    }
}
