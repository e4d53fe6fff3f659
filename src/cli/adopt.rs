//! `adopt`: copies a herb of the built-in reference into the ledger, with its sources.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::editor::{self, Adopted, NotAdopted};
use crate::naming::nearest;
use crate::reference;
use crate::render::Document;
use crate::view::standing;
use crate::workspace::{self, Snapshot};

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
        let Some(wanted) = &self.herb else {
            return list(arguments, terminal);
        };
        if reference::knows(wanted).is_none() {
            return Err(refused(NotAdopted::Unknown, wanted));
        }
        let root = arguments.root()?;
        let adopted = editor::adopted(&Snapshot::read(&root), wanted).map_err(|why| refused(why, wanted))?;
        let path = if root.is_file() {
            root.clone()
        } else {
            root.join(Adopted::FILE)
        };
        workspace::append(&path, Adopted::HEADING, &adopted.text).map_err(|error| {
            Failure::new(
                format!("`{}` can't be written: {error}", path.display()),
                "nothing was changed",
            )
        })?;
        if arguments.form == Form::Json {
            terminal::data(&serde_json::json!({
                "herb": adopted.name, "file": path.display().to_string(), "sources": adopted.sources,
            }))?;
        } else {
            let mut page = Document::new();
            page.title(format!("{} is adopted", adopted.name));
            page.paragraph(format!("Written to {}:", path.display()));
            terminal.document(&page)?;
            // As it stands in the file, so that it can be copied from here too.
            terminal::safe_text(&format!(
                "
{}
",
                terminal::lines_made_safe(&adopted.text)
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

fn refused(why: NotAdopted, wanted: &str) -> Failure {
    match why {
        NotAdopted::Unknown => {
            let names = reference::names();
            Failure::new(
                format!("the built-in reference has no `{wanted}`"),
                match nearest(wanted, names.iter().copied()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => "`scruple adopt` lists what it knows".to_owned(),
                },
            )
        }
        NotAdopted::IsThere(name) => Failure::new(
            format!("this ledger has `{name}` already"),
            "nothing was written; your own entry stays as it is",
        ),
        NotAdopted::OtherSource(name) => Failure::new(
            format!("this ledger has another source `{name}`, and the figures of the entry would cite it"),
            "nothing was written; rename your own source first",
        ),
        NotAdopted::DoesNotFit(error) => Failure::new(
            format!("the entry does not fit into this ledger: {error}"),
            "nothing was written; rename the entry of yours that clashes, or write the herb by hand",
        ),
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
