//! What `git` writes, and how it is taken away: the ledger's attributes, the repository's settings, its hook.

use std::path::{Path, PathBuf};

use serde::Serialize;

use super::super::failure::Failure;
use super::super::terminal::{self, Terminal};
use super::super::{Arguments, Form, Outcome};
use super::hook::{HOOKS, Hook, Without};
use super::{attributes, quoted};
use crate::render::Document;
use crate::revision::git::Repository;
use crate::view::standing;
use crate::workspace;

/// A setting that names the ledgers for which this was done, each by its folder.
const LEDGERS: &str = "scruple.ledger";

/// How git calls the program to show a file. The name of a file may begin with a dash.
const TEXT: &str = " git text --";
/// How git calls it to merge one.
const MERGE: &str = " git merge %O %A %B --marks %L --path=%P";
/// The two as earlier versions wrote them.
const EARLIER: [&str; 2] = [" git text", " git merge %O %A %B --marks %L --path %P"];

/// The ledger, its repository, and how the program is called from there.
struct Place {
    ledger: PathBuf,
    repository: Repository,
    program: String,
}

/// What was done, as data; `grammar/git.schema.json` describes it.
#[derive(Debug, Serialize)]
struct SetUp<'a> {
    done: Done,
    steps: &'a [Step],
    by_hand: Vec<ByHand<'a>>,
    standing: [&'static str; 3],
}

/// What was asked for.
#[derive(Debug, Clone, Copy, Serialize)]
#[serde(rename_all = "kebab-case")]
enum Done {
    Shown,
    SetUp,
    TakenAway,
}

/// One thing that was or would be done, and where.
#[derive(Debug, Serialize)]
struct Step {
    place: String,
    what: String,
}

/// What is left for a person, and the line to type or to write.
#[derive(Debug, Serialize)]
struct ByHand<'a> {
    what: &'a str,
    line: Option<&'a str>,
}

fn title_of(done: Done) -> &'static str {
    match done {
        Done::Shown => "What would be written",
        Done::SetUp => "Git is set up",
        Done::TakenAway => "Taken away",
    }
}

impl Place {
    fn of(arguments: &Arguments) -> Result<Self, Failure> {
        let root = arguments.root()?;
        let ledger = if root.is_file() {
            root.parent().unwrap_or(Path::new(".")).to_owned()
        } else {
            root
        };
        let Some(repository) = Repository::of(&ledger)? else {
            return Err(Failure::new(
                format!("`{}` lies in no git repository", ledger.display()),
                "`git init` makes the folder one; then run this again",
            ));
        };
        if repository.top()?.is_none() {
            return Err(Failure::new(
                format!(
                    "`{}` lies in a bare repository, in which nobody edits",
                    ledger.display()
                ),
                "run this in a clone of it",
            ));
        }
        Ok(Self {
            ledger,
            repository,
            program: program(),
        })
    }

    /// The folder of the ledger as the settings name it.
    fn name(&self) -> &str {
        match self.repository.prefix.as_str() {
            "" => "./",
            prefix => prefix,
        }
    }

    fn attributes(&self) -> PathBuf {
        self.ledger.join(".gitattributes")
    }

    /// The settings: each with its value.
    fn settings(&self) -> [(&'static str, String); 3] {
        [
            ("diff.scruple.textconv", format!("{}{TEXT}", self.program)),
            (
                "merge.scruple.name",
                "herbs and formulas, entry by entry".to_owned(),
            ),
            ("merge.scruple.driver", format!("{}{MERGE}", self.program)),
        ]
    }
}

/// The program as a shell calls it: by its plain name where that finds it, else by its place.
fn program() -> String {
    let Ok(own) = std::env::current_exe() else {
        return quoted("scruple");
    };
    let real = |path: &Path| path.canonicalize().ok();
    let found = std::env::var_os("PATH").and_then(|path| {
        std::env::split_paths(&path)
            .map(|folder| folder.join("scruple"))
            .find(|one| one.is_file())
    });
    if found.is_some_and(|found| real(&found) == real(&own)) {
        quoted("scruple")
    } else {
        quoted(&own.to_string_lossy())
    }
}

/// Whether a setting holds what this command writes, from here or from another place of the program.
fn is_ours(name: &str, value: &str) -> bool {
    let [earlier_text, earlier_merge] = EARLIER;
    let calls = |ways: [&str; 2]| ways.iter().any(|way| value.ends_with(&format!("'{way}")));
    match name {
        "diff.scruple.textconv" => calls([TEXT, earlier_text]),
        "merge.scruple.driver" => calls([MERGE, earlier_merge]),
        _ => value == "herbs and formulas, entry by entry",
    }
}

/// Sets git up, or shows what that would do.
pub fn set_up(arguments: &Arguments, terminal: &Terminal, only_show: bool) -> Result<Outcome, Failure> {
    let place = Place::of(arguments)?;
    let repository = &place.repository;
    let mut steps = Vec::new();
    let mut by_hand = Vec::new();
    let path = place.attributes();
    let before = text(&path)?;
    if let Some(after) = attributes::added(before.as_deref()) {
        steps.push(Step {
            place: path.display().to_string(),
            what: "`*.scruple diff=scruple merge=scruple`, between two comments; commit this file".to_owned(),
        });
        if !only_show {
            write(&path, before.as_deref(), Some(&after))?;
        }
    }
    for (name, value) in place.settings() {
        let now = repository.setting(name)?;
        if now.as_deref() == Some(value.as_str()) {
            continue;
        }
        if let Some(now) = now.filter(|now| !is_ours(name, now)) {
            by_hand.push((
                format!("the setting `{name}` is `{now}` and stays so; this would make it ours:"),
                format!("git config {name} {}", quoted(&value)),
            ));
            continue;
        }
        steps.push(Step {
            place: format!("the setting `{name}`"),
            what: value.clone(),
        });
        if !only_show {
            repository.set(name, &value)?;
        }
    }
    if !repository
        .settings(LEDGERS)?
        .iter()
        .any(|one| one == place.name())
    {
        steps.push(Step {
            place: format!("the setting `{LEDGERS}`"),
            what: format!(
                "{}, so that it is known for which ledgers this was done",
                place.name()
            ),
        });
        if !only_show {
            repository.add_setting(LEDGERS, place.name())?;
        }
    }
    for hook in &HOOKS {
        set_up_hook(&place, hook, only_show, &mut steps, &mut by_hand)?;
    }
    let done = if only_show { Done::Shown } else { Done::SetUp };
    print(
        arguments,
        terminal,
        done,
        &steps,
        &by_hand,
        "Everything is set up already: nothing is to be written.",
    )
}

/// Sets one script up, or says which line to add to the one that is there.
fn set_up_hook(
    place: &Place,
    hook: &Hook,
    only_show: bool,
    steps: &mut Vec<Step>,
    by_hand: &mut Vec<(String, String)>,
) -> Result<(), Failure> {
    let repository = &place.repository;
    if repository.prefix.contains(['\n', char::REPLACEMENT_CHARACTER]) {
        by_hand.push((
            format!(
                "the name of this ledger's folder holds the end of a line, or is not written in UTF-8, and no script can hold it; rename the folder for {}",
                hook.when
            ),
            String::new(),
        ));
        return Ok(());
    }
    let line = hook.line(&place.program, &repository.prefix);
    let script = repository.hook(hook.name)?;
    let is_managed = repository.effective_setting("core.hooksPath")?.is_some();
    let before = text(&script)?;
    let (shown, when) = (script.display(), hook.when);
    match hook.with(before.as_deref(), &place.program, &repository.prefix) {
        _ if is_managed => by_hand.push((
            format!(
                "the hooks of this repository are managed by `core.hooksPath`; for {when} add this line to `{shown}`:"
            ),
            line,
        )),
        None if before.as_deref().is_some_and(|script| script.contains(&line)) => {}
        None => by_hand.push((
            format!(
                "there is a hook already, and it stays as it is; for {when} add this line to `{shown}`:"
            ),
            line,
        )),
        Some(after) if before.as_deref() == Some(after.as_str()) => {}
        Some(after) => {
            steps.push(Step {
                place: script.display().to_string(),
                what: hook.purpose.to_owned(),
            });
            if !only_show {
                write(&script, before.as_deref(), Some(&after))?;
                workspace::make_executable(&script).map_err(|error| unwritable(&script, &error))?;
            }
        }
    }
    Ok(())
}

/// Takes away what was set up.
pub fn remove(arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
    let place = Place::of(arguments)?;
    let repository = &place.repository;
    let mut steps = Vec::new();
    let mut by_hand = Vec::new();
    let taken = |place: String, what: &str| Step {
        place,
        what: what.to_owned(),
    };
    let path = place.attributes();
    if let Some(before) = text(&path)? {
        match attributes::removed(&before) {
            attributes::Without::Same => {}
            attributes::Without::NoFile => {
                write(&path, Some(&before), None)?;
                steps.push(taken(
                    path.display().to_string(),
                    "the whole file, which was ours",
                ));
            }
            attributes::Without::Text(after) => {
                write(&path, Some(&before), Some(&after))?;
                steps.push(taken(path.display().to_string(), "our lines"));
            }
        }
    }
    if repository
        .settings(LEDGERS)?
        .iter()
        .any(|one| one == place.name())
    {
        repository.unset(LEDGERS, place.name())?;
        steps.push(taken(format!("the setting `{LEDGERS}`"), "this ledger"));
    }
    // Other ledgers of the repository may still need the rest.
    if repository.settings(LEDGERS)?.is_empty() {
        for (name, _) in place.settings() {
            if let Some(value) = repository.setting(name)?.filter(|value| is_ours(name, value)) {
                repository.unset(name, &value)?;
                steps.push(taken(format!("the setting `{name}`"), "the whole of it"));
            }
        }
    }
    for hook in &HOOKS {
        let script = repository.hook(hook.name)?;
        let Some(before) = text(&script)? else { continue };
        match hook.without(&before, &repository.prefix) {
            Without::NoFile => {
                write(&script, Some(&before), None)?;
                steps.push(taken(
                    script.display().to_string(),
                    "the whole script, which was ours",
                ));
            }
            Without::Text(after) => {
                write(&script, Some(&before), Some(&after))?;
                steps.push(taken(script.display().to_string(), "the line for this ledger"));
            }
            Without::Same if !hook.is_ours(&before) && before.contains(hook.asks) => {
                by_hand.push((
                    format!(
                        "the hook `{}` is not ours and stays as it is; take the line with `{}` out of it yourself",
                        script.display(),
                        hook.asks
                    ),
                    String::new(),
                ));
            }
            Without::Same => {}
        }
    }
    print(
        arguments,
        terminal,
        Done::TakenAway,
        &steps,
        &by_hand,
        "Nothing of this stands here: nothing was taken away.",
    )
}

fn print(
    arguments: &Arguments,
    terminal: &Terminal,
    done: Done,
    steps: &[Step],
    by_hand: &[(String, String)],
    nothing: &str,
) -> Result<Outcome, Failure> {
    if arguments.form == Form::Json {
        terminal::data(&SetUp {
            done,
            steps,
            by_hand: by_hand
                .iter()
                .map(|(what, line)| ByHand {
                    what,
                    line: Some(line.as_str()).filter(|line| !line.is_empty()),
                })
                .collect(),
            standing: standing::CAUTIONS,
        })?;
        return Ok(Outcome::Clean);
    }
    let mut page = Document::new();
    page.title(title_of(done));
    if steps.is_empty() {
        page.paragraph(nothing);
    } else {
        page.facts(steps.iter().map(|step| (step.place.clone(), step.what.clone())));
    }
    if !by_hand.is_empty() {
        page.heading("For you to do by hand");
        for (words, line) in by_hand {
            page.paragraph(words.clone());
            page.preformatted(line);
        }
    }
    page.small_print(standing::paragraph());
    terminal.document(&page)?;
    Ok(Outcome::Clean)
}

fn text(path: &Path) -> Result<Option<String>, Failure> {
    if !path.exists() {
        return Ok(None);
    }
    let refused = |why: &str| {
        Failure::new(
            format!("`{}` can't be read: {why}", path.display()),
            "look at that file; it was left as it is",
        )
    };
    let bytes = workspace::read_one(path).map_err(|why| refused(&why))?;
    String::from_utf8(bytes)
        .map(Some)
        .map_err(|_| refused("it is not written in UTF-8"))
}

/// Writes a file anew, in the place of what was read, or takes it away.
fn write(path: &Path, before: Option<&str>, after: Option<&str>) -> Result<(), Failure> {
    match (before, after) {
        (None, Some(after)) => workspace::write_new(path, after),
        (Some(before), Some(after)) => workspace::replace(path, before, after),
        (Some(before), None) => workspace::remove(path, before),
        (None, None) => Ok(()),
    }
    .map_err(|error| unwritable(path, &error))
}

fn unwritable(path: &Path, error: &std::io::Error) -> Failure {
    Failure::new(
        format!("`{}` can't be written: {error}", path.display()),
        "what was done before this stays; run the command again when that is mended, or with `--remove`",
    )
}
