//! `trace`: where a lot or a batch went, and what is in a batch or in what was handed out.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, asked};
use crate::history;
use crate::render::Document;
use crate::revision::{self, Meant, moment};
use crate::view::revised;
use crate::view::tracing::{self, TraceReport};
use crate::workspace::Snapshot;

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

    /// Of a batch: from which revision of its formula it was made, and what changed since; needs git
    #[arg(long, conflicts_with = "recall")]
    revision: bool,
}

impl Trace {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_calendar()?;
        let on = asked::day(self.on.as_deref())?;
        let snapshot = arguments.ledger()?;
        if self.revision {
            return self.revised(&snapshot, arguments, terminal);
        }
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

impl Trace {
    /// Whether the formula of a batch means today what it meant on its day.
    fn revised(
        &self,
        snapshot: &Snapshot,
        arguments: &Arguments,
        terminal: &Terminal,
    ) -> Result<Outcome, Failure> {
        let at = asked::batch(snapshot, &self.what)?;
        let Some(batch) = snapshot.ledger.batches.get(at) else {
            return Ok(Outcome::Clean);
        };
        let root = arguments.root()?;
        let Meant::Commit(newest, _) = revision::last_commit(&root)? else {
            return Err(Failure::new(
                "there is no commit yet",
                "commit the ledger, and its revisions can be told apart",
            ));
        };
        let repository = revision::required(&root)?;
        let found = history::of_formula(&repository, &newest, &batch.name.text, &mut |_, _| {})?;
        let now = revision::now();
        let day = batch.day.last().to_string();
        let ended = moment::read(&day, &now).ok_or_else(|| {
            Failure::new(
                format!("`{day}` can't be found in the calendar"),
                "mend the day of the batch",
            )
        })?;
        let report = revised::report(&batch.called(), &found, |commit| {
            let was_there = commit.seconds < ended.end.as_second();
            (was_there, moment::day_of(commit.seconds, &now))
        });
        match arguments.form {
            Form::Json => terminal::data(&report)?,
            Form::Csv => arguments.without_sarif()?,
            _ => terminal.document(&revised::document(&report))?,
        }
        Ok(if report.changed_since.is_empty() && report.made_from.is_some() {
            Outcome::Clean
        } else {
            Outcome::Findings
        })
    }
}
