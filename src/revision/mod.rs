//! Turns what someone typed for a revision (a date, a commit, a folder, a file) into a ledger read as it was then.

pub mod git;
pub mod moment;
pub mod stored;

use std::path::{Path, PathBuf};

use jiff::ZonedDateTime;

use crate::compute::batch::Refusal;
use crate::workspace::{self, Content, Snapshot};
use git::{Commit, Repository};
use stored::Stored;

/// A ledger as it was, and how that revision is called.
#[derive(Debug)]
pub struct Revised {
    /// In words: `the working copy`, `the end of September 2026 (commit 1a2b3c4d5e)`.
    pub said: String,
    /// The commit, where it is one.
    pub commit: Option<Commit>,
    /// The ledger.
    pub snapshot: Snapshot,
}

/// What the words for a revision mean.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meant {
    /// The files as they lie in the folder.
    WorkingCopy,
    /// What the next commit would hold.
    Staged,
    /// A commit, and how it is called.
    Commit(Commit, String),
    /// A folder that holds a ledger.
    Folder(PathBuf),
    /// One file, read in place of those files of the ledger that have entries in common with it.
    File(PathBuf),
}

/// The clock and the calendar of whoever asks.
pub fn now() -> ZonedDateTime {
    ZonedDateTime::now()
}

/// Today, by the clock and the calendar of whoever asks.
pub fn today() -> crate::syntax::day::Day {
    now().date()
}

/// The time of day as people write it: `12:04:10`.
pub fn time_of_day(now: &ZonedDateTime) -> String {
    now.strftime("%H:%M:%S").to_string()
}

/// Finds out what the words for a revision mean.
///
/// # Errors
/// [`Refusal`] where they mean nothing, or two things.
pub fn meant(words: &str, root: &Path, now: &ZonedDateTime) -> Result<Meant, Refusal> {
    if ["working copy", "now"].contains(&words.trim().to_lowercase().as_str()) {
        return Ok(Meant::WorkingCopy);
    }
    if words.trim().eq_ignore_ascii_case("staged") && !Path::new(words).exists() {
        return Ok(Meant::Staged);
    }
    if let Some((one, other)) = words.split_once("...") {
        return parted(one, other, &required(root)?, now);
    }
    if let Some(moment) = moment::read(words, now) {
        let repository = required(root)?;
        return Ok(match repository.commit_before(moment.end.as_second())? {
            Some(commit) => {
                let said = format!("{} (commit {})", moment.said, commit.short());
                Meant::Commit(commit, said)
            }
            None => return Err(too_early(&repository, &moment.said, now)?),
        });
    }
    let path = Path::new(words);
    // Git's own words for its commits are files, too, where git keeps them.
    let is_there = path.exists() && !words.ends_with("HEAD");
    let commit = match Repository::of(root)? {
        Some(repository) => repository.commit(words)?,
        None => None,
    };
    match (commit, is_there) {
        (Some(_), true) if !words.contains(['/', '\\']) => Err(Refusal::new(
            format!("`{words}` is a revision of the ledger, and there is a file or folder of that name, too"),
            format!("write `./{words}` for the file or folder, `refs/heads/{words}` for the branch"),
        )),
        (Some(commit), false) => {
            let said = format!(
                "{words} ({}, {})",
                moment::day_of(commit.seconds, now),
                commit.subject
            );
            Ok(Meant::Commit(commit, said))
        }
        (_, true) if path.is_dir() => Ok(Meant::Folder(path.to_owned())),
        (_, true) => Ok(Meant::File(path.to_owned())),
        (None, false) => Err(Refusal::new(
            format!("`{words}` is no date, no revision, no file and no folder"),
            "a date is written 2026-09-30, 2026-09 or \"last month\"; a revision like HEAD~2 or a branch's name",
        )),
    }
}

/// `main...` and `main...topic`: where a branch left another one.
fn parted(one: &str, other: &str, repository: &Repository, now: &ZonedDateTime) -> Result<Meant, Refusal> {
    let or_head = |name: &str| {
        if name.is_empty() {
            "HEAD".to_owned()
        } else {
            name.to_owned()
        }
    };
    let (one, other) = (or_head(one.trim()), or_head(other.trim()));
    let found = |name: &str| {
        repository.commit(name)?.ok_or_else(|| {
            Refusal::new(
                format!("`{name}` is no revision of this repository"),
                "`main...` means the commit in which this branch left the branch `main`",
            )
        })
    };
    let Some(commit) = repository.parted(&found(&one)?, &found(&other)?)? else {
        return Err(if repository.is_shallow {
            Refusal::new(
                format!(
                    "where `{other}` left `{one}` lies before the history here begins: it is a shallow clone"
                ),
                "fetch the whole of it with `git fetch --unshallow`",
            )
        } else {
            Refusal::new(
                format!("`{one}` and `{other}` have no commit in common"),
                format!("compare with the branch as it is: `--from {one}`"),
            )
        });
    };
    let said = format!(
        "where {} left {one} ({}, {})",
        if other == "HEAD" { "this branch" } else { &other },
        moment::day_of(commit.seconds, now),
        commit.subject
    );
    Ok(Meant::Commit(commit, said))
}

/// Reads the ledger as it was at what is meant.
///
/// # Errors
/// [`Refusal`] where that can't be read.
pub fn read(meant: Meant, root: &Path) -> Result<Revised, Refusal> {
    match meant {
        Meant::WorkingCopy => Ok(Revised {
            said: "the working copy".to_owned(),
            commit: None,
            snapshot: Snapshot::of_contents(working_copy(root)?),
        }),
        Meant::Staged => {
            let repository = required(root)?;
            let mut stored = Stored::open(&repository)?;
            let files = stored.staged(&repository.staged()?)?;
            let contents: Result<Vec<_>, Refusal> = files
                .iter()
                .map(|file| Ok((file.path.clone(), stored.content(file)?)))
                .collect();
            Ok(Revised {
                said: "what is staged".to_owned(),
                commit: None,
                snapshot: Snapshot::of_contents(contents?),
            })
        }
        Meant::Commit(commit, said) => {
            let snapshot = Snapshot::of_contents(contents(&required(root)?, &commit)?);
            Ok(Revised {
                said,
                commit: Some(commit),
                snapshot,
            })
        }
        Meant::Folder(folder) => {
            let said = folder.display().to_string();
            let found = workspace::find(&folder).ok_or_else(|| {
                Refusal::new(
                    format!("there is no ledger in `{said}`"),
                    "name the folder of a ledger: one with `.scruple` files",
                )
            })?;
            Ok(Revised {
                snapshot: Snapshot::read(&found.root),
                said,
                commit: None,
            })
        }
        Meant::File(file) => Ok(Revised {
            said: file.display().to_string(),
            commit: None,
            snapshot: Snapshot::read_with(root, &file),
        }),
    }
}

/// The files as they lie in the folder, and those that git was told not to lay out there: what a sparse
/// checkout leaves out has not been left out of the ledger.
fn working_copy(root: &Path) -> Result<Vec<(String, Content)>, Refusal> {
    let mut found = workspace::contents(root);
    // Without git, or with one that does not work here, there is what lies there.
    let Ok(Some(repository)) = Repository::of(root) else {
        return Ok(found);
    };
    let absent = repository.not_laid_out().unwrap_or_default();
    if absent.is_empty() {
        return Ok(found);
    }
    let mut stored = Stored::open(&repository)?;
    for file in stored.staged_here(&absent)? {
        if !found.iter().any(|(path, _)| *path == file.path) {
            let content = stored.content(&file)?;
            found.push((file.path, content));
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(found)
}

/// The last commit.
///
/// # Errors
/// [`Refusal`] where there is none.
pub fn last_commit(root: &Path) -> Result<Meant, Refusal> {
    let repository = required(root)?;
    match repository.commit("HEAD")? {
        Some(commit) => {
            let said = format!("the last commit ({})", commit.subject);
            Ok(Meant::Commit(commit, said))
        }
        None => Err(Refusal::new(
            "nothing has been committed yet, so there is nothing to compare with",
            "commit the ledger once: `git add .` and `git commit -m \"first formulas\"`",
        )),
    }
}

/// The files of the ledger at a commit, wherever its folder lay then.
///
/// # Errors
/// [`Refusal`] where git can't read them.
pub fn contents(repository: &Repository, commit: &Commit) -> Result<Vec<(String, Content)>, Refusal> {
    let mut stored = Stored::open(repository)?;
    let files = stored.files(&commit.tree)?;
    files
        .iter()
        .map(|file| Ok((file.path.clone(), stored.content(file)?)))
        .collect()
}

/// The repository, which must be there.
///
/// # Errors
/// [`Refusal`] where the folder lies in none.
pub fn required(root: &Path) -> Result<Repository, Refusal> {
    Repository::of(root)?.ok_or_else(|| {
        Refusal::new(
            format!("`{}` lies in no git repository, so it has no earlier revisions", root.display()),
            "`git init` and a first commit start one; two folders can be compared without: `--from FOLDER --to FOLDER`",
        )
    })
}

fn too_early(repository: &Repository, said: &str, now: &ZonedDateTime) -> Result<Refusal, Refusal> {
    let Some(first) = repository.first_commit()? else {
        return Ok(Refusal::new(
            "nothing has been committed yet, so there is no earlier revision",
            "commit the ledger once: `git add .` and `git commit -m \"first formulas\"`",
        ));
    };
    let begins = moment::day_of(first.seconds, now);
    Ok(if repository.is_shallow {
        Refusal::new(
            format!("the history here begins on {begins}, after {said}: it is a shallow clone"),
            "fetch the whole of it with `git fetch --unshallow`",
        )
    } else {
        Refusal::new(
            format!("the first commit of this ledger is of {begins}, after {said}"),
            format!(
                "name a later date, or compare with the first commit: `--from {}`",
                first.short()
            ),
        )
    })
}
