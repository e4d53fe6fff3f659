//! `compare`: what changed between two revisions of the ledger, in the trade's terms.

use std::path::Path;

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::compare::{self, Comparison};
use crate::naming::folded;
use crate::revision::{self, Meant, Revised};
use crate::view;

/// Shows what changed between two revisions: amounts, shares, doses, cautions, directions, and why
///
/// Without `--from` the working copy is compared with the last commit. A revision is a date
/// (2026-09-30, 2026-09, 2026: as the ledger stood when that had ended), words like "yesterday",
/// "last week", "last month" or "3 days ago", "staged" (what the next commit would hold), a git
/// revision, or a file or folder. `main...` is the commit in which this branch left `main`.
///
/// Exits with 0 if nothing differs, with 1 if anything does, and with 2 if it could not be told.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, where the demo ledger is kept in git:\n\n  scruple compare --in examples/low-barn\n  scruple compare --from \"last month\" --in examples/low-barn\n  scruple compare \"after-supper tea\" --from 2026-09 --to 2026-10 --in examples/low-barn\n  scruple compare --from main... --to HEAD --as markdown --in examples/low-barn"
)]
pub struct Compare {
    /// Only this formula
    #[arg(value_name = "FORMULA")]
    formula: Option<String>,

    /// The earlier revision; without it, the last commit
    #[arg(long, value_name = "REVISION")]
    from: Option<String>,

    /// The later revision; without it, the files as they lie in the folder
    #[arg(long, value_name = "REVISION")]
    to: Option<String>,
}

impl Compare {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let root = arguments.root_or_repository(self.to.is_some())?;
        let (from, to) = self.sides(&root)?;
        let mut comparison = compare::compare(&from.snapshot, &to.snapshot);
        if let Some(name) = &self.formula {
            narrow(&mut comparison, name, [&from, &to])?;
        }
        let differs = !comparison.formulas.is_empty() || !comparison.entries.is_empty();
        let data = view::compare::differences(&from.said, &to.said, &comparison);
        match arguments.form {
            Form::Json => terminal::data(&data)?,
            _ => terminal.document(&view::compare::document(&data, &comparison))?,
        }
        Ok(if differs {
            Outcome::Findings
        } else {
            Outcome::Clean
        })
    }

    fn sides(&self, root: &Path) -> Result<(Revised, Revised), Failure> {
        let now = revision::now();
        let meant = |words: &Option<String>, otherwise: &dyn Fn() -> Result<Meant, Failure>| match words {
            Some(words) => Ok(revision::meant(words, root, &now)?),
            None => otherwise(),
        };
        let from = meant(&self.from, &|| Ok(revision::last_commit(root)?))?;
        let to = meant(&self.to, &|| Ok(Meant::WorkingCopy))?;
        Ok((revision::read(from, root)?, revision::read(to, root)?))
    }
}

/// Leaves one formula in a comparison, and of the other entries those that it leans on.
fn narrow(comparison: &mut Comparison, name: &str, sides: [&Revised; 2]) -> Result<(), Failure> {
    let place = sides.iter().find_map(|side| {
        let at = side.snapshot.formula(name)?;
        side.snapshot.ledger.formulas.get(at)
    });
    let Some(formula) = place else {
        let [_, to] = sides;
        super::formula(&to.snapshot, name)?;
        return Ok(());
    };
    let wanted = folded(&formula.name.text);
    let is_wanted = |name: &str| folded(name) == wanted;
    comparison
        .formulas
        .retain(|one| is_wanted(&one.name) || one.former_name.as_deref().is_some_and(is_wanted));
    let leaned_on: Vec<usize> = comparison
        .formulas
        .iter()
        .flat_map(|one| one.causes.entries.iter().copied())
        .collect();
    let mut place = 0_usize;
    let mut kept = Vec::new();
    comparison.entries.retain(|_| {
        let keep = leaned_on.contains(&place);
        if keep {
            kept.push(place);
        }
        place = place.saturating_add(1);
        keep
    });
    for one in &mut comparison.formulas {
        for at in &mut one.causes.entries {
            *at = kept.iter().position(|old| old == at).unwrap_or(*at);
        }
    }
    comparison.unchanged = usize::from(comparison.formulas.is_empty());
    Ok(())
}
