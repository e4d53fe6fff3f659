//! `git`: makes git show and merge a ledger by what it means, and look at it before a commit.

mod attributes;
mod hook;
mod merge;
mod merged;
mod set_up;
mod show;

use clap::{Args, Subcommand};

pub use merged::say as say_what_merging_made;

use super::failure::Failure;
use super::terminal::Terminal;
use super::{Arguments, Outcome};

/// Sets git up for the ledger: differences, merges, and a look before each commit
///
/// `git diff`, `git log -p` and `git show` then show the ledger in one way of writing with what
/// can be reckoned from one file; `git merge` merges by entries and lines, and stops where two
/// people changed one formula; `git commit` checks what is staged, and stops at errors
/// (`git commit --no-verify` commits all the same).
///
/// It writes to `.gitattributes` in the ledger's folder (commit that file), to the repository's own
/// settings, and to its `pre-commit` hook if there is none yet. The settings and the hook do not
/// travel with a clone: run this once in each. A second run changes nothing.
#[derive(Debug, Args)]
#[command(
    args_conflicts_with_subcommands = true,
    after_help = "Examples, where the demo ledger is kept in git:\n\n  scruple git --show --in examples/low-barn\n  scruple git --in examples/low-barn\n  scruple git --remove --in examples/low-barn"
)]
pub struct Git {
    /// Write nothing; show what would be written
    #[arg(long, conflicts_with = "remove")]
    show: bool,

    /// Take away what this command has written, and nothing else
    #[arg(long)]
    remove: bool,

    #[command(subcommand)]
    called: Option<Called>,
}

/// What git calls by itself.
#[derive(Debug, Subcommand)]
enum Called {
    Text(show::Text),
    Merge(merge::Merge),
    Merged(merged::Merged),
}

impl Git {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        match &self.called {
            Some(Called::Text(text)) => text.run(),
            Some(Called::Merge(merge)) => merge.run(),
            Some(Called::Merged(_)) => merged::Merged::run(arguments),
            None if self.remove => set_up::remove(arguments, terminal),
            None => set_up::set_up(arguments, terminal, self.show),
        }
    }
}

/// A text as one word for a shell.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn a_shell_reads_one_word() {
        assert_eq!(quoted("a b"), "'a b'");
        assert_eq!(quoted("it's $HOME `x`"), "'it'\\''s $HOME `x`'");
    }
}
