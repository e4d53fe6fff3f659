//! `why`: of a finding its page; of a formula's figures their working.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, formula, weigh};
use crate::code::Code;
use crate::compute;
use crate::compute::intake;
use crate::model::{Bound, Looked};
use crate::naming;
use crate::render::Document;
use crate::view::why;
use crate::workspace::Snapshot;

/// Explains a figure, line by line with its sources, or the code of a finding
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple why \"after-supper tea\" \"ginger rhizome\" --in examples/low-barn\n  scruple why spoon-without-weight"
)]
pub struct Why {
    /// The code of a finding, or a formula's name
    #[arg(value_name = "CODE OR FORMULA")]
    about: String,

    /// One ingredient of the formula
    #[arg(value_name = "INGREDIENT")]
    ingredient: Option<String>,
}

impl Why {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        if let (Some(code), None) = (Code::named(&self.about), &self.ingredient) {
            return page(code, arguments, terminal);
        }
        let snapshot = match arguments.ledger() {
            Ok(snapshot) => snapshot,
            Err(failure) => return Err(self.unknown_code().unwrap_or(failure)),
        };
        let at = formula(&snapshot, &self.about).map_err(|failure| self.unknown_code().unwrap_or(failure))?;
        let Some(composition) = snapshot.figures.of(at) else {
            return weigh::withheld(&snapshot, at, terminal);
        };
        let only = self
            .ingredient
            .as_deref()
            .map(|name| ingredient(&snapshot, composition, name))
            .transpose()?;
        let working = compute::working(&snapshot.ledger, &snapshot.figures, at);
        let years = snapshot
            .ledger
            .person_of(&composition.formula)
            .and_then(|person| person.years);
        let intake = intake::intake(
            &snapshot.ledger,
            &snapshot.faults,
            &snapshot.figures,
            at,
            years,
            true,
        )
        .ok();
        let why = why::why(&snapshot, composition, &working, only, intake.as_ref());
        match arguments.form {
            Form::Json => terminal::data(&why)?,
            _ => terminal.document(&why::document(&why))?,
        }
        Ok(Outcome::Clean)
    }

    /// Something that looks like a code and is none.
    fn unknown_code(&self) -> Option<Failure> {
        let near = naming::nearest(&self.about, crate::code::ALL.iter().map(|code| code.name()))?;
        self.ingredient.is_none().then(|| {
            Failure::new(
                format!(
                    "`{}` is neither a finding's code nor a formula of this ledger",
                    self.about
                ),
                format!("did you mean `{near}`?"),
            )
        })
    }
}

fn ingredient(snapshot: &Snapshot, composition: &compute::Composition, name: &str) -> Result<Bound, Failure> {
    let taken = || composition.lines.iter().map(|line| &line.taken);
    match snapshot.ledger.names.look(name) {
        Looked::Found(bound) if taken().any(|one| one.what == bound) => Ok(bound),
        _ => {
            let names: Vec<&str> = taken().map(|one| one.name.text.as_str()).collect();
            let help = match naming::nearest(name, names.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("it takes: {}", names.join(", ")),
            };
            Err(Failure::new(
                format!("{} takes no `{name}`", composition.formula.name.text),
                help,
            ))
        }
    }
}

/// The page of a finding.
fn page(code: Code, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
    if arguments.form == Form::Json {
        terminal::data(&serde_json::json!({ "code": code.name(), "page": code.page() }))?;
    } else {
        let mut page = markdown(code.page());
        page.small_print(crate::view::standing::paragraph());
        terminal.document(&page)?;
    }
    Ok(Outcome::Clean)
}

/// Our own pages as a document: headings, paragraphs, and blocks that stay as they are.
fn markdown(text: &str) -> Document {
    let mut page = Document::new();
    let mut paragraph: Vec<&str> = Vec::new();
    let mut block: Option<Vec<&str>> = None;
    for line in text.lines() {
        if let Some(lines) = &mut block {
            if line.starts_with("```") {
                page.preformatted(&lines.join("\n"));
                block = None;
            } else {
                lines.push(line);
            }
            continue;
        }
        let special = line.is_empty() || line.starts_with('#') || line.starts_with("```");
        if special && !paragraph.is_empty() {
            page.paragraph(paragraph.join(" "));
            paragraph.clear();
        }
        if let Some(heading) = line.strip_prefix("## ") {
            page.heading(heading);
        } else if let Some(title) = line.strip_prefix("# ") {
            page.title(title);
        } else if line.starts_with("```") {
            block = Some(Vec::new());
        } else if !line.is_empty() {
            paragraph.push(line);
        }
    }
    if !paragraph.is_empty() {
        page.paragraph(paragraph.join(" "));
    }
    page
}
