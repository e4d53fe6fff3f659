//! `git merged`, as git calls it after a merge: says which formulas neither side had as they are now.

use clap::Args;

use super::super::failure::Failure;
use super::super::{Arguments, Outcome, terminal};
use crate::compare;
use crate::compute::batch::Refusal;
use crate::revision;
use crate::revision::git::Repository;
use crate::workspace::Snapshot;

/// Says which formulas neither side of the last merge had as they are now; called after `git merge`
#[derive(Debug, Args)]
pub struct Merged {}

impl Merged {
    pub fn run(arguments: &Arguments) -> Result<Outcome, Failure> {
        let root = arguments.root_or_repository(true)?;
        let repository = revision::required(&root)?;
        let Some(head) = repository.commit("HEAD")? else {
            return Ok(Outcome::Clean);
        };
        if head.parents.len() < 2 {
            return Ok(Outcome::Clean);
        }
        let merged = Snapshot::of_contents(revision::contents(&repository, &head)?);
        say(&repository, &head.parents, &merged, "HEAD^1", "HEAD")?;
        Ok(Outcome::Clean)
    }
}

/// Says which formulas of a merge none of the commits that it joins had as they are now.
///
/// `ours` and `merged_as` are what `compare` calls our side and the result.
pub fn say(
    repository: &Repository,
    parents: &[String],
    merged: &Snapshot,
    ours: &str,
    merged_as: &str,
) -> Result<(), Refusal> {
    let mut sides = Vec::new();
    for parent in parents {
        if let Some(commit) = repository.commit(parent)? {
            sides.push(Snapshot::of_contents(revision::contents(repository, &commit)?));
        }
    }
    let made = compare::made_by_merging(&sides, merged);
    if !made.is_empty() {
        let one = made.len() == 1;
        terminal::remark(&format!(
            "what one side changed bears on the other: no side had {} as {} now. Look at {}: `scruple compare --from {ours} --to {merged_as}` shows what the merge brings",
            made.join(", "),
            if one { "it is" } else { "they are" },
            if one { "it" } else { "them" },
        ));
    }
    Ok(())
}
