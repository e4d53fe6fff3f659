//! `adopt`: copies a herb of the built-in reference into the ledger, with its sources.

use std::sync::Arc;

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::diagnostic::Severity;
use crate::naming::{folded, nearest};
use crate::reference;
use crate::render::Document;
use crate::view::standing;
use crate::workspace::{self, Snapshot};

/// The file that adopted herbs are written to.
const FILE: &str = "materia/adopted.scruple";

/// Copies a herb of the built-in reference into the ledger, with its sources
///
/// The text then is yours: check every figure, and weigh your own spoons. Without a name it lists
/// what the reference knows.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n\n  scruple adopt\n  scruple adopt \"chamomile flower\" --in my-ledger")]
pub struct Adopt {
    /// The herb, by any of its names
    #[arg(value_name = "HERB")]
    herb: Option<String>,
}

impl Adopt {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        arguments.without_markdown("adopt")?;
        let Some(wanted) = &self.herb else {
            return list(arguments, terminal);
        };
        let Some(found) = reference::entry(wanted) else {
            let names = reference::names();
            return Err(Failure::new(
                format!("the built-in reference has no `{wanted}`"),
                match nearest(wanted, names.iter().copied()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => "`scruple adopt` lists what it knows".to_owned(),
                },
            ));
        };
        let root = arguments.root()?;
        let before = Snapshot::read(&root);
        if let crate::model::Looked::Found(_) = before.ledger.names.look(found.name) {
            return Err(Failure::new(
                format!("this ledger has `{}` already", found.name),
                "nothing was written; your own entry stays as it is",
            ));
        }
        let mut added = String::new();
        let mut sources = Vec::new();
        for (name, text) in &found.sources {
            let own = before
                .ledger
                .books
                .iter()
                .find(|book| folded(&book.name.text) == folded(name));
            if let Some(own) = own
                && !reference::cites_alike(name, &own.citation, own.from_memory)
            {
                return Err(Failure::new(
                    format!(
                        "this ledger has another source `{name}`, and the figures of the entry would cite it"
                    ),
                    "nothing was written; rename your own source first",
                ));
            }
            let declared = before
                .ledger
                .books
                .iter()
                .any(|book| folded(&book.name.text) == folded(name));
            if !declared {
                added.push_str(text);
                added.push_str("\n\n");
                sources.push(*name);
            }
        }
        added.push_str(found.text);
        added.push('\n');
        fits(&before, &added)?;
        let path = if root.is_file() {
            root.clone()
        } else {
            root.join(FILE)
        };
        let heading =
            "# Adopted from the built-in reference of scruple: check every figure before you rely on it.\n";
        workspace::append(&path, heading, &added).map_err(|error| {
            Failure::new(
                format!("`{}` can't be written: {error}", path.display()),
                "nothing was changed",
            )
        })?;
        if arguments.form == Form::Json {
            terminal::data(&serde_json::json!({
                "herb": found.name, "file": path.display().to_string(), "sources": sources,
            }))?;
        } else {
            let mut page = Document::new();
            page.title(format!("{} is adopted", found.name));
            page.paragraph(format!("Written to {}:", path.display()));
            terminal.document(&page)?;
            // As it stands in the file, so that it can be copied from here too.
            terminal::safe_text(&format!(
                "
{}
",
                terminal::lines_made_safe(&added)
            ))?;
            let mut page = Document::new();
            page.paragraph(
                "Its figures are a starter, many from memory: check them, and weigh your own spoons.",
            );
            page.small_print(standing::paragraph());
            terminal.document(&page)?;
        }
        Ok(Outcome::Clean)
    }
}

/// The ledger must be no worse for the new text: a name that clashes is refused, not written.
fn fits(before: &Snapshot, added: &str) -> Result<(), Failure> {
    let texts = before
        .sources
        .iter()
        .map(|(_, source)| (source.path.to_string(), Arc::clone(&source.text)))
        .chain([("adopted".to_owned(), Arc::from(added))]);
    let after = Snapshot::of(texts);
    let new_error = after
        .diagnostics
        .iter()
        .find(|one| one.severity == Severity::Error && after.sources.path(one.span) == "adopted");
    match new_error {
        Some(error) => Err(Failure::new(
            format!("the entry does not fit into this ledger: {}", error.message),
            "nothing was written; rename the entry of yours that clashes, or write the herb by hand",
        )),
        None => Ok(()),
    }
}

fn list(arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
    let names = reference::names();
    if arguments.form == Form::Json {
        terminal::data(&names)?;
        return Ok(Outcome::Clean);
    }
    let mut page = Document::new();
    page.title("The built-in reference");
    page.paragraph(format!("{} herbs: {}.", names.len(), names.join(", ")));
    page.paragraph("Nothing of it is used until it is adopted: `scruple adopt \"chamomile flower\"`.");
    page.small_print(standing::paragraph());
    terminal.document(&page)?;
    Ok(Outcome::Clean)
}
