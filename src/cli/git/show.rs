//! `git text`, as git calls it: one file into the lines that `git diff` compares.

use std::path::PathBuf;

use clap::Args;

use super::super::failure::Failure;
use super::super::{Outcome, terminal};
use crate::{view, workspace};

/// Prints one file in the one way of writing, with what can be reckoned from it alone; called by `git diff`
#[derive(Debug, Args)]
pub struct Text {
    /// The file
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

impl Text {
    pub fn run(&self) -> Result<Outcome, Failure> {
        let bytes = workspace::read_one(&self.file).map_err(|why| {
            Failure::new(
                format!("`{}` is not shown: {why}", self.file.display()),
                "`git diff --no-textconv` shows it as it is",
            )
        })?;
        let text = view::alone::text(&String::from_utf8_lossy(&bytes));
        terminal::safe_text(&terminal::lines_made_safe(&text))?;
        Ok(Outcome::Clean)
    }
}
