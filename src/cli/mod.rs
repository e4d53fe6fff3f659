//! What people type: one file a command.

mod adopt;
mod asked;
mod begin;
mod cautions;
mod check;
mod compare;
mod cost;
mod difference;
mod doses;
mod expires;
mod export;
mod failure;
mod form;
mod git;
mod history;
mod import;
mod label;
mod lsp;
mod order;
mod person;
mod publish;
mod record;
mod report;
mod stock;
mod terminal;
mod tidy;
mod totals;
mod trace;
mod watch;
mod weigh;
mod why;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::revision::git::Repository;
use crate::workspace::{self, Snapshot};
use failure::Failure;
use form::Form;
use terminal::Terminal;

/// A plain-text formula ledger for herbal practitioners.
///
/// You write herbs and formulas as text files; scruple reads them, reckons exact weights for any
/// size of batch, says where every figure comes from, and explains every mistake.
///
/// For use by or with a qualified practitioner. Local law and licensed practice come first.
/// In an emergency call for help.
#[derive(Debug, Parser)]
#[command(name = "scruple", version, max_term_width = 100)]
struct Arguments {
    /// The ledger's folder, or one file; without it, the nearest ledger from here upwards
    #[arg(long = "in", value_name = "FOLDER", global = true)]
    ledger_folder: Option<PathBuf>,

    /// The form of the output
    #[arg(long = "as", value_name = "FORM", global = true, default_value = "text")]
    form: Form,

    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Begin(begin::Begin),
    Check(check::Check),
    Weigh(weigh::Weigh),
    Doses(doses::Doses),
    Label(label::Label),
    Publish(publish::Publish),
    Export(export::Export),
    Import(import::Import),
    Why(why::Why),
    Compare(compare::Compare),
    History(history::History),
    Adopt(adopt::Adopt),
    Tidy(tidy::Tidy),
    Git(git::Git),
    Totals(totals::Totals),
    Watch(watch::Watch),
    Lsp(lsp::Lsp),
    Stock(stock::Stock),
    Trace(trace::Trace),
    Order(order::Order),
    Cost(cost::Cost),
    Expires(expires::Expires),
    Record(record::Record),
}

/// How a command ended, when it could do its work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// Nothing to complain of.
    Clean,
    /// There are findings.
    Findings,
}

/// Runs the program and gives its exit code: 0 clean, 1 findings, 2 could not run.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are no failures; clap knows which stream is whose.
            let failed = error.use_stderr();
            terminal::refuse(&error.render().to_string(), failed);
            return ExitCode::from(if failed { 2 } else { 0 });
        }
    };
    let terminal = Terminal::of_this_process(arguments.form.of_documents());
    let ended = match &arguments.command {
        Command::Begin(begin) => begin.run(&arguments, &terminal),
        Command::Check(check) => check.run(&arguments, &terminal),
        Command::Weigh(weigh) => weigh.run(&arguments, &terminal),
        Command::Doses(doses) => doses.run(&arguments, &terminal),
        Command::Label(label) => label.run(&arguments, &terminal),
        Command::Publish(publish) => publish.run(&arguments, &terminal),
        Command::Export(export) => export.run(&arguments, &terminal),
        Command::Import(import) => import.run(&arguments, &terminal),
        Command::Why(why) => why.run(&arguments, &terminal),
        Command::Compare(compare) => compare.run(&arguments, &terminal),
        Command::History(history) => history.run(&arguments, &terminal),
        Command::Adopt(adopt) => adopt.run(&arguments, &terminal),
        Command::Tidy(tidy) => tidy.run(&arguments, &terminal),
        Command::Git(git) => git.run(&arguments, &terminal),
        Command::Totals(totals) => totals.run(&arguments, &terminal),
        Command::Watch(watch) => watch.run(&arguments, &terminal),
        Command::Lsp(lsp) => lsp.run(&arguments),
        Command::Stock(stock) => stock.run(&arguments, &terminal),
        Command::Trace(trace) => trace.run(&arguments, &terminal),
        Command::Order(order) => order.run(&arguments, &terminal),
        Command::Cost(cost) => cost.run(&arguments, &terminal),
        Command::Expires(expires) => expires.run(&arguments, &terminal),
        Command::Record(record) => record.run(&arguments, &terminal),
    };
    match ended {
        Ok(Outcome::Clean) => ExitCode::SUCCESS,
        Ok(Outcome::Findings) => ExitCode::from(1),
        Err(failure) => {
            terminal::fail(&failure);
            ExitCode::from(2)
        }
    }
}

impl Arguments {
    /// Finds and reads the ledger.
    fn ledger(&self) -> Result<Snapshot, Failure> {
        Ok(Snapshot::read(&self.root()?))
    }

    /// The folder or file from which the ledger is looked for.
    fn start(&self) -> Result<PathBuf, Failure> {
        let start = match &self.ledger_folder {
            Some(folder) => folder.clone(),
            None => std::env::current_dir().map_err(|error| {
                Failure::new(
                    format!("the current folder can't be read: {error}"),
                    "name a ledger with `--in FOLDER`",
                )
            })?,
        };
        if !start.exists() {
            return Err(Failure::new(
                format!("there is no folder `{}`", start.display()),
                "look at its spelling; `--in` names the folder of a ledger",
            ));
        }
        Ok(start)
    }

    /// Finds the ledger.
    fn root(&self) -> Result<PathBuf, Failure> {
        let start = self.start()?;
        let found = workspace::find(&start).ok_or_else(|| {
            Failure::new(
                format!("there is no ledger in `{}`", start.display()),
                "a ledger is a folder with `.scruple` files: start one with `scruple begin`, or name one with `--in FOLDER`",
            )
        })?;
        Ok(found.root)
    }

    /// Finds the ledger; where the files as they lie in a folder are not needed, a bare repository
    /// will do.
    fn root_or_repository(&self, without_files: bool) -> Result<PathBuf, Failure> {
        let found = self.root();
        if found.is_err()
            && without_files
            && let Ok(start) = self.start()
            && Repository::of(&start)?.is_some()
        {
            return Ok(start);
        }
        found
    }

    /// Refuses the forms that only some commands have.
    fn without_sarif(&self) -> Result<(), Failure> {
        self.without_calendar()?;
        if self.form == Form::Csv {
            return Err(Failure::new(
                "only `stock`, `trace`, `order` and `expires` print rows for a spreadsheet",
                "use `--as text`, `--as html` or `--as json` here",
            ));
        }
        Ok(())
    }

    /// Refuses what only `check` and `expires` print.
    fn without_calendar(&self) -> Result<(), Failure> {
        let only = match self.form {
            Form::Sarif => "only `check` prints SARIF",
            Form::Calendar => "only `expires` prints a calendar",
            Form::Document(_) | Form::Json | Form::Csv => return Ok(()),
        };
        Err(Failure::new(
            only,
            "use `--as text`, `--as html` or `--as json` here",
        ))
    }
}

/// The formula that a person named, or the nearest one offered.
fn formula(snapshot: &Snapshot, name: &str) -> Result<usize, Failure> {
    if let Some(at) = snapshot.formula(name) {
        return Ok(at);
    }
    if matches!(snapshot.ledger.names.look(name), crate::model::Looked::Clash) {
        return Err(Failure::new(
            format!("`{name}` is declared twice in this ledger, so it means nothing"),
            "`scruple check` shows where: rename one of them",
        ));
    }
    let names = || {
        snapshot
            .ledger
            .formulas
            .iter()
            .map(|formula| formula.name.text.as_str())
    };
    let help = match crate::naming::nearest(name, names()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names().next().is_none() => "this ledger has no formulas yet".to_owned(),
        None => {
            let mut all: Vec<&str> = names().collect();
            all.sort_unstable();
            let more = all.len().saturating_sub(12);
            all.truncate(12);
            let rest = if more > 0 {
                format!(" and {more} more")
            } else {
                String::new()
            };
            format!("the ledger has: {}{rest}", all.join(", "))
        }
    };
    Err(Failure::new(
        format!("there is no formula `{name}` in this ledger"),
        help,
    ))
}
