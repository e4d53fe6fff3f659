//! `history`: every revision in which the meaning of a formula changed.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Progress, Terminal};
use super::{Arguments, Form, Outcome};
use crate::history;
use crate::revision::{self, Meant, moment};
use crate::view;

/// Shows every revision that changed what a formula means: when, who, and what
///
/// Commits that changed only spacing, comments, the file's name or other formulas are left out.
/// The formula is followed through other names and other files.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, where the demo ledger is kept in git:\n\n  scruple history \"after-supper tea\" --in examples/low-barn"
)]
pub struct History {
    /// The formula's name
    #[arg(value_name = "FORMULA")]
    formula: String,

    /// The newest revision to look at: a date or a git revision; without it, the last commit
    #[arg(long, value_name = "REVISION")]
    to: Option<String>,
}

impl History {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let root = arguments.root_or_repository(true)?;
        let now = revision::now();
        let meant = match &self.to {
            Some(words) => revision::meant(words, &root, &now)?,
            None => revision::last_commit(&root)?,
        };
        let Meant::Commit(newest, said) = meant else {
            return Err(Failure::new(
                "a history ends at a commit",
                "name a date or a git revision after `--to`",
            ));
        };
        let repository = revision::required(&root)?;
        let progress = Progress::begin("commits read");
        let found = history::of_formula(&repository, &newest, &self.formula, &mut |done, all| {
            progress.at(done, all);
        })?;
        drop(progress);
        if found.revisions.is_empty() {
            let snapshot = revision::read(Meant::Commit(newest, said), &root)?.snapshot;
            super::formula(&snapshot, &self.formula)?;
        }
        let name = found
            .revisions
            .first()
            .map_or(self.formula.as_str(), |newest| newest.change.name.as_str());
        let data = view::history::history(name, &found, repository.is_shallow, |seconds| {
            moment::day_of(seconds, &now)
        });
        match arguments.form {
            Form::Json => terminal::data(&data)?,
            _ => terminal.document(&view::history::document(&data, &found))?,
        }
        Ok(Outcome::Clean)
    }
}
