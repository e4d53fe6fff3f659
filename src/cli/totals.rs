//! `totals`: writes the totals of each file as a text, and says which are stale.

use std::collections::BTreeSet;

use clap::Args;
use serde::Serialize;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::model::TotalsPlace;
use crate::render::{Document, Note};
use crate::totals::{self, Planned, State, Wanted};
use crate::workspace::{self, Snapshot};

/// Writes the totals of each file as a text: amounts, shares, doses, cautions, for reading and for `git diff`
///
/// Each text lies beside its file, or where the practice says: `totals in totals`, `totals none`.
/// Only what differs is written. A text that is not marked as made by scruple is never touched;
/// one that is, and whose file is gone, is taken away.
///
/// Exits with 0 if all are right now, with 1 if one was left alone or, with --check, if one would
/// be written or taken away, and with 2 if nothing could be done at all.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple totals --check --in examples/low-barn\n  scruple totals --in my-ledger"
)]
pub struct Totals {
    /// Write nothing; say what would be written, and exit with 1 if anything would
    #[arg(long)]
    check: bool,
}

/// What `totals` did or would do, as data; `grammar/totals.schema.json` describes it.
#[derive(Debug, Serialize)]
struct Told {
    /// Whether nothing was to be written: `--check`.
    check: bool,
    /// How many say what they should already.
    same: usize,
    /// The others.
    files: Vec<ToldFile>,
}

/// One file of totals.
#[derive(Debug, Serialize)]
struct ToldFile {
    /// Its path, below the ledger's folder.
    file: String,
    /// The file that it is made from.
    from: String,
    /// `written`, `taken-away`, `would-be-written`, `would-be-taken-away`, `left` or `kept`.
    state: &'static str,
    /// Why it was left alone.
    why: Option<String>,
}

impl Totals {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let root = arguments.root()?;
        let snapshot = Snapshot::read(&root);
        if snapshot.faults.practice {
            return Err(Failure::new(
                "an error lies in the practice, so it can't be told where totals belong and what its measures hold",
                "nothing was written; `scruple check` shows the error",
            ));
        }
        let on_disk = workspace::read_totals(&root);
        let planned = totals::plan(&snapshot, &on_disk, Wanted::All, &BTreeSet::new());
        let mut told = Told {
            check: self.check,
            same: 0,
            files: Vec::new(),
        };
        for one in planned {
            if one.state == State::Same {
                told.same = told.same.saturating_add(1);
            } else {
                let file = self.one(&root, one);
                told.files.push(file);
            }
        }
        let amiss = |one: &ToldFile| one.state != "kept" && (self.check || one.state == "left");
        let outcome = if told.files.iter().any(amiss) {
            Outcome::Findings
        } else {
            Outcome::Clean
        };
        match arguments.form {
            Form::Json => terminal::data(&told)?,
            _ => terminal.document(&self.document(&snapshot, &told))?,
        }
        Ok(outcome)
    }

    fn one(&self, root: &std::path::Path, planned: Planned) -> ToldFile {
        let left = |why: String| ("left", Some(why));
        let (state, why) = match &planned.state {
            State::Left(why) => left(why.clone()),
            State::Kept => ("kept", None),
            State::Orphan(_) if self.check => ("would-be-taken-away", None),
            _ if self.check => ("would-be-written", None),
            state => match totals::carry_out(root, &planned) {
                Err(error) => left(format!("it can't be written: {error}")),
                Ok(_) if matches!(state, State::Orphan(_)) => ("taken-away", None),
                Ok(_) => ("written", None),
            },
        };
        ToldFile {
            file: planned.path,
            from: planned.from,
            state,
            why,
        }
    }

    fn document(&self, snapshot: &Snapshot, told: &Told) -> Document {
        let mut page = Document::new();
        let notes: Vec<Note> = told
            .files
            .iter()
            .map(|one| match (one.state, &one.why) {
                ("written", _) => Note::plain(format!("{}: written", one.file)),
                ("taken-away", _) => Note::plain(format!(
                    "{}: taken away; {} holds no formulas now, is gone, or has its totals elsewhere",
                    one.file, one.from
                )),
                ("would-be-written", _) => Note::warning(format!(
                    "{}: missing, or not what {} comes to now",
                    one.file, one.from
                )),
                ("would-be-taken-away", _) => Note::warning(format!(
                    "{}: {} holds no formulas now, is gone, or has its totals elsewhere",
                    one.file, one.from
                )),
                ("kept", _) => Note::plain(format!(
                    "{}: a copy made from {}, in a place of its own; it is left as it is and says what was so then",
                    one.file, one.from
                )),
                (_, why) => Note::warning(format!(
                    "{}: left as it is; {}",
                    one.file,
                    why.as_deref().unwrap_or_default()
                )),
            })
            .collect();
        if !notes.is_empty() {
            page.notes(notes);
        }
        let others = told.files.iter().filter(|one| one.state != "kept").count();
        let right = match told.same {
            0 => "none was as it should be".to_owned(),
            1 => "1 was as it should be".to_owned(),
            many => format!("{many} were as they should be"),
        };
        page.paragraph(if snapshot.ledger.practice.totals == Some(TotalsPlace::Nowhere) {
            "The practice says `totals none`, so none are kept.".to_owned()
        } else if others == 0 && told.same == 0 {
            "This ledger has no formulas yet, so there are no totals.".to_owned()
        } else if others == 0 {
            format!("All totals say what they should: {}.", files(told.same))
        } else if self.check {
            format!(
                "{} to renew, {right}; `scruple totals` renews them.",
                files(others)
            )
        } else {
            format!("{}; {right}.", files(others))
        });
        page
    }
}

fn files(count: usize) -> String {
    match count {
        1 => "1 file".to_owned(),
        _ => format!("{count} files"),
    }
}
