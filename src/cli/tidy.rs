//! `tidy`: writes the files of a ledger in the one way.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use clap::Args;

use super::difference;
use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, report};
use crate::diagnostic::Diagnostic;
use crate::render::escape;
use crate::source::Sources;
use crate::tidy::{self, Untidied};
use crate::view::findings::{self, Finding};
use crate::view::tidying::{self, Change, State, TidyFile, Tidying};
use crate::workspace::{self, OnDisk};

/// Writes the files of a ledger in one way: columns, measures, ranges, blank lines
///
/// Names, free words, numbers and comments stay as they are, and all of it means afterwards what
/// it meant before. A file with errors of form is named and left alone, and the others are tidied.
///
/// Exits with 0 if all files are tidy now, with 1 if one was left alone or, with --check, if one
/// would be changed, and with 2 if nothing could be done at all.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple tidy --check --in examples/low-barn\n  scruple tidy examples/low-barn/formulas/supper.scruple"
)]
pub struct Tidy {
    /// Files or folders; without them, the whole ledger
    #[arg(value_name = "FILES")]
    files: Vec<PathBuf>,

    /// Write nothing; show what would be changed, and exit with 1 if anything would
    #[arg(long)]
    check: bool,
}

impl Tidy {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        arguments.without_markdown("tidy")?;
        let files = self.read(arguments)?;
        let mut tidying = Tidying {
            check: self.check,
            tidy: 0,
            tidied: 0,
            left: 0,
            files: Vec::new(),
        };
        let mut slips: Vec<Diagnostic> = Vec::new();
        // One file may stand in a ledger twice, as itself and by a link.
        let mut done: HashSet<PathBuf> = HashSet::new();
        let mut sources = Sources::default();
        for one in files {
            let real = one.path.canonicalize().unwrap_or_else(|_| one.path.clone());
            if !done.insert(real) {
                continue;
            }
            let file = self.one(one, &mut sources, &mut slips);
            match file.state {
                State::Tidy => tidying.tidy += 1,
                State::Tidied | State::WouldChange => tidying.tidied += 1,
                State::Left => tidying.left += 1,
            }
            tidying.files.push(file);
        }
        if arguments.form == Form::Json {
            terminal::data(&tidying)?;
        } else {
            if !slips.is_empty() {
                terminal::safe_text(&report::print(&slips, &sources, &terminal.page))?;
            }
            if self.check {
                for file in &tidying.files {
                    terminal::safe_text(&difference_of(file, terminal))?;
                }
            }
            terminal.document(&tidying::summary(&tidying))?;
        }
        let would_change = self.check && tidying.tidied > 0;
        Ok(if tidying.left > 0 || would_change {
            Outcome::Findings
        } else {
            Outcome::Clean
        })
    }

    /// Reads what was named, or the whole ledger.
    fn read(&self, arguments: &Arguments) -> Result<Vec<OnDisk>, Failure> {
        if self.files.is_empty() {
            let root = arguments.root()?;
            return Ok(workspace::read_files(&root, &root));
        }
        let mut places = Vec::new();
        for named in &self.files {
            places.push(place(named, arguments.ledger_folder.as_deref())?);
        }
        let files: Vec<OnDisk> = places
            .iter()
            .flat_map(|place| workspace::read_files(Path::new("."), place))
            .collect();
        if files.is_empty() {
            return Err(Failure::new(
                "no file of a ledger lies there",
                "the files of a ledger end in `.scruple`",
            ));
        }
        Ok(files)
    }

    fn one(&self, one: OnDisk, sources: &mut Sources, slips: &mut Vec<Diagnostic>) -> TidyFile {
        let left = |why: String, findings: Vec<Finding>| TidyFile {
            file: one.shown.clone(),
            state: State::Left,
            why: Some(why),
            findings,
            changes: Vec::new(),
        };
        let (id, text) = workspace::add(sources, &one.shown, one.content);
        let written = match text {
            Ok(text) => text,
            Err(finding) => {
                let data = vec![findings::finding(sources, &finding)];
                slips.push(finding);
                return left("it can't be read".to_owned(), data);
            }
        };
        let written = &written;
        let tidied = match tidy::text(id, written) {
            Ok(tidied) => tidied,
            Err(Untidied::WouldSayElse) => {
                return left(
                    "tidied, it would no longer be read as it is read now; perhaps a line would become too long"
                        .to_owned(),
                    Vec::new(),
                );
            }
            Err(Untidied::Slips(own)) => {
                let data = own
                    .iter()
                    .map(|finding| findings::finding(sources, finding))
                    .collect();
                let why = match own.len() {
                    1 => "it holds an error".to_owned(),
                    count => format!("it holds {count} errors"),
                };
                slips.extend(own);
                return left(format!("{why}, and what is not understood can't be tidied"), data);
            }
        };
        let mut file = TidyFile {
            file: one.shown.clone(),
            state: State::Tidy,
            why: None,
            findings: Vec::new(),
            changes: Vec::new(),
        };
        if tidied.text == **written {
            return file;
        }
        file.changes = tidying::changes(written, &tidied);
        if self.check {
            file.state = State::WouldChange;
            return file;
        }
        match workspace::replace(&one.path, written, &tidied.text) {
            Ok(()) => {
                file.state = State::Tidied;
                file
            }
            Err(error) => left(format!("it can't be written: {error}"), Vec::new()),
        }
    }
}

/// Where a file or folder lies that was named: below the ledger that was named too, or else from here.
fn place(named: &Path, ledger: Option<&Path>) -> Result<PathBuf, Failure> {
    let below = ledger.map(|ledger| ledger.join(named));
    let there = below
        .into_iter()
        .chain([named.to_owned()])
        .find(|path| path.exists());
    match there {
        None => Err(Failure::new(
            format!("there is no file `{}`", named.display()),
            "nothing was changed; look at its spelling, or leave it out to tidy the whole ledger",
        )),
        Some(path) if path.is_dir() || workspace::is_ledger_file(&path) => Ok(path),
        Some(_) => Err(Failure::new(
            format!("`{}` is no file of a ledger", named.display()),
            "nothing was changed; the files of a ledger end in `.scruple`",
        )),
    }
}

/// What would become of a file, line by line: what stands there, and what would.
fn difference_of(file: &TidyFile, terminal: &Terminal) -> String {
    if file.state != State::WouldChange {
        return String::new();
    }
    let mut out = format!("{}\n", escape::terminal(&file.file));
    if file.changes.is_empty() {
        out.push_str("  only the ends of its lines, or what stands before its first letter\n");
    }
    for Change { line, was, becomes } in &file.changes {
        let number = line.map_or_else(String::new, |line| line.to_string());
        let (was, becomes) = difference::lines(was.as_deref(), becomes.as_deref(), &terminal.page);
        let sides = [('-', was, number.as_str()), ('+', becomes, "")];
        for (sign, text, number) in sides {
            let Some(text) = text else { continue };
            out.push_str(format!("{number:>6} {sign} {text}").trim_end());
            out.push('\n');
        }
    }
    out.push('\n');
    out
}
