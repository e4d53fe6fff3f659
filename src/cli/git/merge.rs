//! `git merge`, as git calls it: three versions of one file into one.

use std::path::{Path, PathBuf};

use clap::Args;

use super::super::failure::Failure;
use super::super::{Outcome, terminal};
use crate::merge::{self, Marks, Merged, Versions};
use crate::workspace;

/// Merges three versions of a file into the second; called by `git merge`
///
/// Exits with 0 if the result can stand as it is, and with 1 if a person must look at it.
#[derive(Debug, Args)]
pub struct Merge {
    /// What both began with
    #[arg(value_name = "BASE")]
    base: PathBuf,

    /// Our version; the result is written there
    #[arg(value_name = "OURS")]
    ours: PathBuf,

    /// Their version
    #[arg(value_name = "THEIRS")]
    theirs: PathBuf,

    /// What the file is called
    #[arg(long, value_name = "PATH")]
    path: Option<String>,

    /// How many signs the marks around a conflict have
    #[arg(long, value_name = "COUNT", default_value = "7")]
    marks: u8,
}

impl Merge {
    pub fn run(&self) -> Result<Outcome, Failure> {
        let shown = self
            .path
            .clone()
            .unwrap_or_else(|| self.ours.display().to_string());
        let [base, ours, theirs] = [&self.base, &self.ours, &self.theirs].map(|path| read(path, &shown));
        let (base, ours, theirs) = (base?, ours?, theirs?);
        let marks = Marks {
            size: usize::from(self.marks.max(1)),
            ours: "ours".to_owned(),
            theirs: "theirs".to_owned(),
        };
        let merged = merge::merge(
            Versions {
                base: &base,
                ours: &ours,
                theirs: &theirs,
            },
            &marks,
        );
        if merged.text != ours {
            workspace::replace(&self.ours, &ours, &merged.text).map_err(|error| {
                Failure::new(
                    format!("the merged `{shown}` can't be written: {error}"),
                    "your own version stands there as it was; nothing of theirs is in it",
                )
            })?;
        }
        for remark in remarks(&merged, &shown) {
            terminal::remark(&remark);
        }
        Ok(if merged.needs_a_person() {
            Outcome::Findings
        } else {
            Outcome::Clean
        })
    }
}

fn read(path: &Path, shown: &str) -> Result<String, Failure> {
    let refused = |why: &str| {
        Failure::new(
            format!("`{shown}` can't be merged: {why}"),
            "your own version stands there as it was; nothing of theirs is in it",
        )
    };
    let bytes = workspace::read_one(path).map_err(|why| refused(&why))?;
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > workspace::LARGEST_FILE {
        return Err(refused("it has more than 16 MiB"));
    }
    String::from_utf8(bytes).map_err(|_| refused("it is not written in UTF-8"))
}

/// What a person must know of a merge.
fn remarks(merged: &Merged, shown: &str) -> Vec<String> {
    let mut said = Vec::new();
    if merged.by_lines {
        said.push(format!(
            "{shown}: it could not be read entry by entry, so it was merged line by line: look at all of it, take the comment at its head out, then `git add`"
        ));
    }
    match merged.conflicts {
        0 => {}
        1 => said.push(format!(
            "{shown}: one place was changed by both; it stands there twice, between marks"
        )),
        many => said.push(format!(
            "{shown}: {many} places were changed by both; they stand there twice, between marks"
        )),
    }
    for formula in &merged.formulas {
        said.push(format!(
            "{shown}: two people changed {formula}, so it is a formula that neither of them wrote: look at it, take the comment above it out, then `git add`"
        ));
    }
    for entry in &merged.entries {
        said.push(format!(
            "{shown}: two people changed {entry}, each another line; both are in it now"
        ));
    }
    if !merged.only_ours.is_empty() && !merged.only_theirs.is_empty() {
        said.push(format!(
            "{shown}: we changed {}; they changed {}. One may bear on the other: `scruple compare --from ORIG_HEAD` shows what the merge brings",
            list(&merged.only_ours),
            list(&merged.only_theirs)
        ));
    }
    said
}

fn list(names: &[String]) -> String {
    let shown: Vec<&str> = names.iter().map(String::as_str).take(6).collect();
    let more = names.len().saturating_sub(shown.len());
    if more > 0 {
        format!("{} and {more} more", shown.join(", "))
    } else {
        shown.join(", ")
    }
}
