//! `check`: reads everything and prints every finding.

use std::path::Path;

use clap::Args;

use super::failure::Failure;
use super::person::ForWhom;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, git, report};
use crate::diagnostic::{self, Severity};
use crate::model::Ledger;
use crate::render::{Document, Note};
use crate::revision::{self, Meant};
use crate::totals;
use crate::view::{findings, found, standing};
use crate::workspace::{self, Snapshot};

/// Reads everything and prints every finding
///
/// Exits with 0 if there are none (notices do not count), with 1 if there are errors or
/// warnings, and with 2 if the ledger could not be read at all. With `--staged` it reads what the
/// next commit would hold, in place of the files as they lie in the folder.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple check --in examples/low-barn\n  scruple check --is pregnant --age 34 --in examples/low-barn"
)]
pub struct Check {
    #[command(flatten)]
    whom: ForWhom,

    /// Read what is staged in git for the next commit
    #[arg(long)]
    staged: bool,

    /// Exit with 0 where there are warnings and no errors; both are shown
    #[arg(long)]
    let_warnings_pass: bool,
}

impl Check {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        let (mut snapshot, stale) = if self.staged {
            let root = arguments.root_or_repository(true)?;
            let snapshot = revision::read(Meant::Staged, &root)?.snapshot;
            say_what_is_merged(&root, &snapshot)?;
            (snapshot, Vec::new())
        } else {
            let root = arguments.root()?;
            let snapshot = Snapshot::read(&root);
            // Totals are held against what the ledger comes to for those whom its formulas are made for.
            let stale = totals::stale(&snapshot, &workspace::read_totals(&root));
            (snapshot, stale)
        };
        if let Some(person) = self.whom.person(&snapshot)? {
            snapshot.look_for(&person);
        }
        snapshot.diagnostics.extend(stale);
        diagnostic::sort(&mut snapshot.diagnostics, &snapshot.sources);
        match arguments.form {
            Form::Json => terminal::data(&findings::findings(&snapshot))?,
            Form::Sarif => terminal::data(&findings::sarif(&snapshot))?,
            Form::Csv | Form::Calendar => arguments.without_sarif()?,
            Form::Document(_) => {
                let mut page = Document::new();
                if terminal.is_text() {
                    let reports = report::print(&snapshot.diagnostics, &snapshot.sources, &terminal.page);
                    terminal::safe_text(&reports)?;
                } else {
                    page.title("What check finds");
                    found::findings(&mut page, &snapshot.diagnostics, &snapshot.sources);
                    page.heading("In all");
                }
                summary(&mut page, &snapshot);
                terminal.document(&page)?;
            }
        }
        Ok(self.outcome(&snapshot))
    }

    fn outcome(&self, snapshot: &Snapshot) -> Outcome {
        let passes = if self.let_warnings_pass {
            Severity::Warning
        } else {
            Severity::Notice
        };
        if snapshot.diagnostics.iter().any(|one| one.severity > passes) {
            Outcome::Findings
        } else {
            Outcome::Clean
        }
    }
}

fn several(count: usize, one: &str) -> String {
    match count {
        0 => format!("no {one}s"),
        1 => format!("1 {one}"),
        _ => format!("{count} {one}s"),
    }
}

fn summary(page: &mut Document, snapshot: &Snapshot) {
    let all = &snapshot.diagnostics;
    let count = |severity: Severity| findings::count(all, severity);
    let files = snapshot.sources.iter().count();
    page.paragraph(format!(
        "{}, {}, {} in {} with {} and {}.",
        several(count(Severity::Error), "error"),
        several(count(Severity::Warning), "warning"),
        several(count(Severity::Notice), "notice"),
        several(files, "file"),
        several(substances(&snapshot.ledger), "herb or material")
            .replace("herb or materials", "herbs and materials"),
        several(snapshot.ledger.formulas.len(), "formula"),
    ));
    if let Some(first) = all.first() {
        page.paragraph(format!(
            "`scruple why {}` explains the first of them; every code has such a page.",
            first.code
        ));
    }
    if let Some(unlooked) = unlooked(snapshot) {
        page.notes([Note::warning(unlooked)]);
    }
    if let Some(book) = booked(&snapshot.ledger) {
        page.paragraph(book);
    }
    page.small_print(standing::paragraph());
}

/// Formulas without figures: their doses were not looked at, their cautions as far as they can be read.
fn unlooked(snapshot: &Snapshot) -> Option<String> {
    let names: Vec<&str> = snapshot
        .ledger
        .formulas
        .iter()
        .enumerate()
        .filter(|(at, _)| snapshot.figures.of(*at).is_none())
        .map(|(_, formula)| formula.name.text.as_str())
        .collect();
    let shown: Vec<&str> = names.iter().copied().take(8).collect();
    let more = names.len().saturating_sub(shown.len());
    let rest = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    (!names.is_empty()).then(|| {
        format!(
            "no figures are given for {}{rest}; their doses were not looked at, and of their cautions only what can be read",
            shown.join(", ")
        )
    })
}

/// Herbs and materials that the ledger declares; water declares itself.
fn substances(ledger: &Ledger) -> usize {
    ledger.substances.iter().filter(|one| one.span.is_some()).count()
}

/// What the dispensary's book holds.
fn booked(ledger: &Ledger) -> Option<String> {
    let found: Vec<String> = [
        (ledger.lots.len(), "lot"),
        (ledger.batches.len(), "batch"),
        (ledger.supplies.len(), "supply"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, one)| {
        several(count, one)
            .replace("batchs", "batches")
            .replace("supplys", "supplies")
    })
    .collect();
    (!found.is_empty()).then(|| {
        format!(
            "In the book: {}; `scruple stock` shows what is left.",
            found.join(", ")
        )
    })
}

/// Where a merge is about to be committed, says which formulas neither side had as they are now.
fn say_what_is_merged(root: &Path, staged: &Snapshot) -> Result<(), Failure> {
    let repository = revision::required(root)?;
    let sides = [repository.commit("HEAD")?, repository.commit("MERGE_HEAD")?];
    if let [Some(ours), Some(theirs)] = sides {
        git::say_what_merging_made(&repository, &[ours.id, theirs.id], staged, "HEAD", "staged")?;
    }
    Ok(())
}
