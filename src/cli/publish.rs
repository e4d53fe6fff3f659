//! `publish`: a teacher's set as pages that work from a folder.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use clap::Args;
use serde::Serialize;

use super::failure::Failure;
use super::terminal::{self, Progress, Terminal};
use super::{Arguments, Form, Outcome};
use crate::model::Set;
use crate::naming::{folded, nearest};
use crate::publish::{self, Told};
use crate::render::site::slug;
use crate::render::{Document, Note};
use crate::view::site::{CLASS, Site, TEACHER};
use crate::view::standing;
use crate::workspace::{self, Snapshot};

/// Publishes a set as pages for a class: lessons, blends, herbs, exercises, and the answers apart
///
/// The pages need no server and no network: open them from the folder, print them, hand them out.
/// The folder `class` is for the class, `teacher` holds the answers. Published again, only what
/// changed is written. A file that `publish` did not make, or that somebody changed since, is never
/// written over and never taken away.
///
/// Exits with 0 if all is published, with 1 if something was left out or left alone.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple publish \"winter evening class\" --to my-class --in examples/low-barn\n  scruple publish \"winter evening class\" --seed \"group B\" --to group-b --in examples/low-barn"
)]
pub struct Publish {
    /// The set's name; without it, the only set of the ledger
    #[arg(value_name = "SET")]
    set: Option<String>,

    /// The folder that is written to; without it, one named after the set, here
    #[arg(long, value_name = "FOLDER")]
    to: Option<PathBuf>,

    /// Words that choose the exercises: each group gets its own sheet
    #[arg(long, value_name = "WORDS", default_value = "1")]
    seed: String,

    /// Opens the first page when all is written
    #[arg(long)]
    open: bool,
}

/// What `publish` did, as data; `grammar/publish.schema.json` describes it.
#[derive(Debug, Serialize)]
struct Published {
    /// The set.
    set: String,
    /// The first page.
    first_page: String,
    /// The answers.
    answers: String,
    /// Which files were written.
    written: Vec<String>,
    /// How many were as they should be.
    same: usize,
    /// Which were taken away.
    taken_away: Vec<String>,
    /// Which were left alone, and why.
    left: Vec<Left>,
    /// Which formulas of the set were left out, and why.
    left_out: Vec<Left>,
}

/// Something that was left, and why.
#[derive(Debug, Serialize)]
struct Left {
    /// A file or a formula.
    what: String,
    /// Why.
    why: String,
}

impl Publish {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = Snapshot::read_figures(&arguments.root()?);
        let set = self.set(&snapshot)?;
        let folder = self
            .to
            .clone()
            .unwrap_or_else(|| PathBuf::from(slug(&set.name.text)));
        let program = workspace::this_program();
        let site = Site::new(&snapshot, set, &self.seed, &program);
        let progress = Progress::begin("pages");
        let told =
            publish::publish(&site, &folder, &|done, all| progress.at(done, all)).map_err(|error| {
                Failure::new(
                    format!("`{}` can't be published into: {error}", folder.display()),
                    "what was written is whole; name another folder with `--to`",
                )
            })?;
        drop(progress);
        let first = folder.join(CLASS).join("index.html");
        if self.open && !open(&first) {
            terminal::remark(&format!("open `{}` in a browser", first.display()));
        }
        let published = published(&site, set, &told, &folder);
        let whole = published.left.is_empty() && published.left_out.is_empty();
        match arguments.form {
            Form::Json => terminal::data(&published)?,
            _ => terminal.document(&document(&published))?,
        }
        Ok(if whole { Outcome::Clean } else { Outcome::Findings })
    }

    fn set<'a>(&self, snapshot: &'a Snapshot) -> Result<&'a Set, Failure> {
        let sets = &snapshot.ledger.sets;
        let names = || sets.iter().map(|set| set.name.text.as_str());
        let all = || names().collect::<Vec<_>>().join(", ");
        let Some(name) = &self.set else {
            return match sets.as_slice() {
                [only] => Ok(only),
                [] => Err(Failure::new(
                    "this ledger has no set to publish",
                    "write one: `set winter evening class`, and below it `holds` with the formulas",
                )),
                _ => Err(Failure::new(
                    "which set is to be published?",
                    format!("the ledger has: {}", all()),
                )),
            };
        };
        let wanted = folded(name);
        sets.iter()
            .map(AsRef::as_ref)
            .find(|set| folded(&set.name.text) == wanted)
            .ok_or_else(|| {
                let help = match nearest(name, names()) {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None if sets.is_empty() => "this ledger has no sets yet".to_owned(),
                    None => format!("the ledger has: {}", all()),
                };
                Failure::new(format!("there is no set `{name}` in this ledger"), help)
            })
    }
}

fn published(site: &Site<'_>, set: &Set, told: &Told, folder: &Path) -> Published {
    let left = |what: &String, why: &str| Left {
        what: what.clone(),
        why: why.to_owned(),
    };
    Published {
        set: set.name.text.clone(),
        first_page: folder.join(CLASS).join("index.html").display().to_string(),
        answers: folder.join(TEACHER).join("answers.html").display().to_string(),
        written: told.written.clone(),
        same: told.same,
        taken_away: told.taken_away.clone(),
        left: told.left.iter().map(|(what, why)| left(what, why)).collect(),
        left_out: site.left_out.iter().map(|(what, why)| left(what, why)).collect(),
    }
}

fn document(published: &Published) -> Document {
    let files = |count: usize| match count {
        1 => "1 file".to_owned(),
        _ => format!("{count} files"),
    };
    let mut page = Document::new();
    page.title(format!("Published: {}", published.set));
    page.facts([
        ("for the class", published.first_page.clone()),
        ("for the teacher", published.answers.clone()),
        ("written", files(published.written.len())),
        ("as they were", files(published.same)),
    ]);
    let mut notes: Vec<Note> = Vec::new();
    notes.extend(
        published
            .taken_away
            .iter()
            .map(|path| Note::plain(format!("{path}: taken away, the set has no such page any more"))),
    );
    notes.extend(
        published
            .left_out
            .iter()
            .map(|one| Note::warning(format!("{}: left out; {}", one.what, one.why))),
    );
    notes.extend(
        published
            .left
            .iter()
            .map(|one| Note::warning(format!("{}: left as it is; {}", one.what, one.why))),
    );
    page.notes(notes);
    page.small_print(standing::paragraph());
    page
}

/// Asks the system to show a page; whether it could be asked.
fn open(page: &Path) -> bool {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    Command::new(program)
        .arg(page)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .is_ok()
}
