//! `import`: herbs from the rows of a spreadsheet into a new file of the ledger.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::exchange::{RowFault, herbs};
use crate::render::{Document, Note};
use crate::workspace::{self, Snapshot};

/// Takes herbs in from the rows of a spreadsheet (CSV), all of them or none
///
/// The first row names the columns: `herb` (or `material`) for the name, and for the rest line words
/// of a herb as the language has them: `latin`, `also`, `part`, `family`, `teaspoon`, `price`, `keep`.
/// Cells say what would be typed behind the word. Every row is read as the ledger would be, beside
/// the herbs that are there; if anything is wrong, each fault is named by its row and column, and
/// nothing is written.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger:\n\n  scruple import examples/low-barn/new-herbs.csv --in examples/low-barn"
)]
pub struct Import {
    /// The file with the rows
    #[arg(value_name = "FILE")]
    file: PathBuf,

    /// The new file inside the ledger; without it, the entries are printed and nothing is written
    #[arg(long, value_name = "FILE")]
    to: Option<PathBuf>,
}

/// What `import` did, as data; `grammar/import.schema.json` describes it.
#[derive(Debug, Serialize)]
struct Told {
    /// How many entries were made.
    entries: usize,
    /// The file that was written.
    written: Option<String>,
    /// What is wrong with rows; then nothing was made.
    faults: Vec<ToldFault>,
}

/// What is wrong with a row.
#[derive(Debug, Serialize)]
struct ToldFault {
    /// The row as a spreadsheet counts.
    row: usize,
    /// The heading of the column.
    column: Option<String>,
    /// What is wrong.
    message: String,
    /// What to do.
    help: String,
}

impl Import {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let root = arguments.root()?;
        let snapshot = Snapshot::read(&root);
        let shown = self.file.display().to_string();
        if !self.file.exists() {
            return Err(Failure::new(
                format!("there is no file `{shown}`"),
                "look at its spelling; rows are saved as CSV",
            ));
        }
        let bytes = workspace::read_one(&self.file).map_err(|why| {
            Failure::new(format!("`{shown}` can't be read: {why}"), "name a file with rows")
        })?;
        if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > workspace::LARGEST_FILE {
            return Err(Failure::new(
                format!("`{shown}` has more than 16 MiB"),
                "split it",
            ));
        }
        let target = match &self.to {
            None => None,
            Some(to) => Some((workspace::home(&root).join(inside(to)?), to.display().to_string())),
        };
        let mut told = Told {
            entries: 0,
            written: None,
            faults: Vec::new(),
        };
        let text = match herbs(&bytes, &snapshot) {
            Ok(imported) => {
                told.entries = imported.count;
                imported.text
            }
            Err(faults) => {
                told.faults = faults.into_iter().map(told_fault).collect();
                String::new()
            }
        };
        if told.faults.is_empty()
            && let Some((path, name)) = &target
        {
            workspace::write_new(path, &text).map_err(|error| {
                Failure::new(
                    format!("`{name}` can't be written: {error}"),
                    "nothing was written; name a new file after `--to`",
                )
            })?;
            told.written = Some(name.clone());
        }
        match arguments.form {
            Form::Json => terminal::data(&told)?,
            _ => terminal.document(&document(&shown, &told, &text))?,
        }
        Ok(if told.faults.is_empty() {
            Outcome::Clean
        } else {
            Outcome::Findings
        })
    }
}

/// A new file of the ledger: inside its folder, with the ending of its files.
fn inside(to: &std::path::Path) -> Result<&std::path::Path, Failure> {
    let plain = to
        .components()
        .all(|part| matches!(part, std::path::Component::Normal(_)));
    if plain
        && to
            .to_str()
            .is_some_and(|to| workspace::is_of_a_ledger(&to.replace('\\', "/")))
    {
        Ok(to)
    } else {
        Err(Failure::new(
            format!("`{}` is no file of this ledger", to.display()),
            "name it from the ledger's folder, ending in `.scruple`: `--to materia/new-herbs.scruple`",
        ))
    }
}

fn told_fault(fault: RowFault) -> ToldFault {
    ToldFault {
        row: fault.row,
        column: fault.column,
        message: fault.message,
        help: fault.help,
    }
}

fn document(file: &str, told: &Told, text: &str) -> Document {
    let mut page = Document::new();
    if !told.faults.is_empty() {
        page.title(format!("Nothing imported from {file}"));
        page.notes(told.faults.iter().map(|fault| {
            let column = fault
                .column
                .as_ref()
                .map(|column| format!(", column `{column}`"))
                .unwrap_or_default();
            Note::error(format!(
                "row {}{column}: {}; {}",
                fault.row, fault.message, fault.help
            ))
        }));
        return page;
    }
    let entries = match told.entries {
        1 => "1 entry".to_owned(),
        count => format!("{count} entries"),
    };
    if let Some(written) = &told.written {
        page.title(format!("Imported: {entries}"));
        page.facts([("from", file), ("into", written)]);
        page.paragraph("`scruple check` shows what is still missing.");
    } else {
        page.title(format!("Not written yet: {entries}"));
        page.preformatted(text);
        page.paragraph("`--to materia/new-herbs.scruple` writes them into the ledger.");
    }
    page
}
