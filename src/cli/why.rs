//! `why`: of a finding its page; of a formula's figures their working.

use clap::Args;

use super::cautions::{self, Asked};
use super::failure::Failure;
use super::person::ForWhom;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, formula, weigh};
use crate::code::Code;
use crate::compute::caution::topic;
use crate::compute::intake;
use crate::model::{Bound, Looked, Taken};
use crate::naming;
use crate::render::Document;
use crate::view::why;
use crate::workspace::Snapshot;

/// Explains a figure or a caution, line by line with its sources, or the code of a finding
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple why \"after-supper tea\" \"ginger rhizome\" --in examples/low-barn\n  scruple why \"after-supper tea\" --caution pregnancy --person 064 --in examples/low-barn\n  scruple why spoon-without-weight"
)]
pub struct Why {
    /// The code of a finding, or a formula's name
    #[arg(value_name = "CODE OR FORMULA")]
    about: String,

    /// One ingredient of the formula, or of a formula inside it
    #[arg(value_name = "INGREDIENT")]
    ingredient: Option<String>,

    /// What a caution is about: pregnancy, "blood thinners", "age under 12"
    #[arg(long, value_name = "TOPIC")]
    caution: Option<String>,

    #[command(flatten)]
    whom: ForWhom,
}

impl Why {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        if let (Some(code), None, None) = (Code::named(&self.about), &self.ingredient, &self.caution) {
            return page(code, arguments, terminal);
        }
        let snapshot = match arguments.ledger() {
            Ok(snapshot) => snapshot,
            Err(failure) => return Err(self.unknown_code().unwrap_or(failure)),
        };
        let at = formula(&snapshot, &self.about).map_err(|failure| self.unknown_code().unwrap_or(failure))?;
        let person = self.whom.person(&snapshot)?;
        if let Some(topic) = &self.caution {
            let asked = Asked {
                snapshot: &snapshot,
                formula: at,
                topic,
                herb: self.ingredient.as_deref(),
                person: person.as_ref(),
            };
            return cautions::why(&asked, arguments, terminal);
        }
        let Some(composition) = snapshot.figures.of(at) else {
            return weigh::withheld(&snapshot, at, arguments, terminal);
        };
        let only = self
            .ingredient
            .as_deref()
            .map(|name| ingredient(&snapshot, at, name))
            .transpose()?;
        let own = snapshot.ledger.person_of(&composition.formula);
        let years = person.as_ref().or(own).and_then(|person| person.years);
        let intake = intake::intake(
            &snapshot.ledger,
            &snapshot.faults,
            &snapshot.figures,
            at,
            years,
            true,
        )
        .ok();
        let Some(why) = why::why(&snapshot, at, only, intake.as_ref()) else {
            return weigh::withheld(&snapshot, at, arguments, terminal);
        };
        match arguments.form {
            Form::Json => terminal::data(&why)?,
            _ => terminal.document(&why::document(&why))?,
        }
        Ok(Outcome::Clean)
    }

    /// Something that looks like a code and is none.
    fn unknown_code(&self) -> Option<Failure> {
        let near = naming::nearest(&self.about, crate::code::ALL.iter().map(|code| code.name()))?;
        (self.ingredient.is_none() && self.caution.is_none()).then(|| {
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

/// An ingredient of a formula or of one inside it.
fn ingredient(snapshot: &Snapshot, formula: usize, name: &str) -> Result<Bound, Failure> {
    let inner = why::inside(snapshot, formula);
    let taken: Vec<&Taken> = std::iter::once(formula)
        .chain(inner)
        .filter_map(|at| snapshot.figures.of(at))
        .flat_map(|composition| composition.lines.iter().map(|line| &line.taken))
        .collect();
    match snapshot.ledger.names.look(name) {
        Looked::Found(bound) if taken.iter().any(|one| why::is_of(snapshot, one.what, bound)) => Ok(bound),
        _ => {
            let mut names: Vec<&str> = Vec::new();
            for one in &taken {
                if !names.contains(&one.name.text.as_str()) {
                    names.push(&one.name.text);
                }
            }
            let help = match naming::nearest(name, names.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None if topic(&snapshot.ledger, name).is_some() => {
                    format!("of a caution ask `--caution \"{name}\"`")
                }
                None => format!("it takes: {}", names.join(", ")),
            };
            let whole = snapshot.ledger.formulas.get(formula);
            Err(Failure::new(
                format!("{} takes no `{name}`", whole.map_or("", |one| &one.name.text)),
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
