//! `begin`: starts a ledger in an empty folder.

use std::path::{Path, PathBuf};

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Outcome};
use crate::render::Document;
use crate::view::standing;
use crate::workspace;

/// The files of a new ledger.
const FILES: [(&str, &str); 4] = [
    (
        "practice.scruple",
        include_str!("../reference/begin/practice.scruple"),
    ),
    (
        "sources.scruple",
        include_str!("../reference/begin/sources.scruple"),
    ),
    (
        "materia/herbs.scruple",
        include_str!("../reference/begin/materia/herbs.scruple"),
    ),
    (
        "formulas/first-blends.scruple",
        include_str!("../reference/begin/formulas/first-blends.scruple"),
    ),
];

/// Starts a ledger in a new or empty folder; never overwrites anything
#[derive(Debug, Args)]
#[command(after_help = "Example:\n\n  scruple begin my-ledger")]
pub struct Begin {
    /// The folder; without it, the current one
    #[arg(value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

impl Begin {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let folder = match (&arguments.ledger_folder, &self.folder) {
            (Some(base), Some(folder)) => base.join(folder),
            (Some(folder), None) | (None, Some(folder)) => folder.clone(),
            (None, None) => PathBuf::from("."),
        };
        must_be_empty(&folder)?;
        must_be_apart(&folder)?;
        let mut written = Vec::new();
        for (name, text) in FILES {
            let path = folder.join(name);
            workspace::write_new(&path, text).map_err(|error| {
                Failure::new(
                    format!("`{}` can't be written: {error}", path.display()),
                    if written.is_empty() {
                        "nothing was written; choose a folder that you may write to".to_owned()
                    } else {
                        format!("already written, and left as they are: {}", written.join(", "))
                    },
                )
            })?;
            written.push(name);
        }
        let shown = folder.display().to_string();
        if arguments.form == super::Form::Json {
            terminal::data(&serde_json::json!({ "folder": shown, "files": written }))?;
        } else {
            terminal.document(&next_steps(&shown, &written))?;
        }
        Ok(Outcome::Clean)
    }
}

/// A folder with anything in it is somebody's; hidden things such as `.git` do not count.
fn must_be_empty(folder: &Path) -> Result<(), Failure> {
    match workspace::visible_entries(folder) {
        Ok(names) => match names.first() {
            None => Ok(()),
            Some(first) => Err(Failure::new(
                format!("`{}` is not empty: it holds `{first}`", folder.display()),
                "nothing was written; name a new folder: `scruple begin my-ledger`",
            )),
        },
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(Failure::new(
            format!("`{}` can't be looked into: {error}", folder.display()),
            "nothing was written; name a new folder: `scruple begin my-ledger`",
        )),
    }
}

/// A ledger inside a ledger would be read as part of it, with a second practice.
fn must_be_apart(folder: &Path) -> Result<(), Failure> {
    let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    let around = absolute
        .ancestors()
        .skip(1)
        .find(|above| above.join("practice.scruple").exists());
    match around {
        None => Ok(()),
        Some(above) => Err(Failure::new(
            format!(
                "`{}` lies inside the ledger `{}`",
                folder.display(),
                above.display()
            ),
            "nothing was written; begin a ledger beside it, not in it",
        )),
    }
}

fn next_steps(folder: &str, written: &[&str]) -> Document {
    let mut page = Document::new();
    page.title("A ledger is begun");
    page.facts(written.iter().map(|name| (*name, what_for(name))));
    page.paragraph("Try it:");
    let place = if folder == "." {
        String::new()
    } else {
        format!(" --in {}", quoted(folder))
    };
    page.preformatted(&format!(
        "  scruple check{place}\n  scruple weigh \"garden tea\" --make \"200 g\"{place}\n  scruple why \"garden tea\"{place}"
    ));
    page.paragraph(
        "The spoon weights in it are examples: weigh your own herbs, three level spoons each, and write down what your scales say.",
    );
    page.small_print(standing::paragraph());
    page
}

/// A folder as one types it.
fn quoted(folder: &str) -> String {
    if folder
        .chars()
        .all(|letter| letter.is_alphanumeric() || matches!(letter, '/' | '.' | '-' | '_'))
    {
        folder.to_owned()
    } else {
        format!("\"{folder}\"")
    }
}

fn what_for(name: &str) -> &'static str {
    match name {
        "practice.scruple" => "your measures and scales",
        "sources.scruple" => "where figures come from",
        "materia/herbs.scruple" => "the herbs, with what their spoons weigh",
        _ => "two blends to begin with",
    }
}
