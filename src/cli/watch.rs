//! `watch`: after every save checks again, renews the totals, and says what changed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use clap::Args;

use super::failure::Failure;
use super::terminal::Terminal;
use super::{Arguments, Form, Outcome};
use crate::compare;
use crate::compute::batch::Refusal;
use crate::render::Document;
use crate::revision::{self, git::Repository};
use crate::totals::{self, State, Texts, Wanted};
use crate::view::standing;
use crate::view::watching::{self, Beside};
use crate::watch;
use crate::watch::News;
use crate::watch::signals::{Signal, Signals};
use crate::workspace::{self, Snapshot};

/// After every save checks again, renews the totals, and says what changed
///
/// What changed since the last save and since the last commit, which findings came and which are
/// mended. While a file is broken, its last good figures stay, and that is said. Totals are written
/// where the practice asks for them (`totals beside`); else those that are there are renewed.
///
/// Ctrl-C ends it, with 0; nothing is left half written.
#[derive(Debug, Args)]
#[command(after_help = "Example:\n\n  scruple watch --in my-ledger")]
pub struct Watch {}

impl Watch {
    #[expect(
        clippy::unused_self,
        reason = "every command is run alike; this one has nothing to choose"
    )]
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        if !terminal.is_text() || !matches!(arguments.form, Form::Document(_)) {
            return Err(Failure::new(
                "`watch` prints text only: it goes on until you end it",
                "for programs there are `scruple check --as json` and `scruple totals --as json`",
            ));
        }
        let mut watching = Watching {
            root: arguments.root()?,
            terminal,
            watch: watch::Watch::default(),
            committed: None,
            texts: Texts::default(),
            is_gone: false,
        };
        let mut signals = Signals::new();
        // Listened for before the first look, so that no save falls between the two.
        let told = signals.attach(&watching.root);
        let mut is_read = watching.look()?.is_read;
        if !told {
            is_read = is_read && watching.say(UNTOLD)?;
        }
        while is_read {
            let signal = signals.next();
            let mut lost = signal == Signal::Lost;
            if signal == Signal::Stop {
                break;
            }
            if signal == Signal::Touched {
                lost |= signals.settle();
                if signals.is_to_stop() {
                    break;
                }
            }
            let looked = watching.look()?;
            is_read = looked.is_read;
            if lost && signals.is_attached() {
                signals.detach();
                is_read = is_read && watching.say(UNTOLD)?;
            } else if looked.came_back || (signal == Signal::Silence && looked.has_news && told) {
                // What was not told shows that the watch has fallen silent: it is set up anew.
                signals.attach(&watching.root);
            }
        }
        Ok(Outcome::Clean)
    }
}

const UNTOLD: &str = "The system does not tell of saves here, so the folder is looked through every second.";

struct Watching<'a> {
    root: PathBuf,
    terminal: &'a Terminal,
    watch: watch::Watch,
    /// The last commit's id, and the ledger as it was then.
    committed: Option<(String, Snapshot)>,
    texts: Texts,
    is_gone: bool,
}

/// What a look came to.
#[derive(Default)]
struct Looked {
    /// Whether anybody reads what is printed.
    is_read: bool,
    /// Whether anything in the ledger is another than before.
    has_news: bool,
    /// Whether the folder was gone and is there again.
    came_back: bool,
}

impl Watching<'_> {
    fn say(&self, words: &str) -> Result<bool, Failure> {
        let mut page = Document::new();
        page.paragraph(words);
        self.terminal.goes_on(&page)
    }

    fn look(&mut self) -> Result<Looked, Failure> {
        let mut looked = Looked {
            is_read: true,
            ..Looked::default()
        };
        let at = revision::time_of_day(&revision::now());
        let was_gone = self.is_gone;
        self.is_gone = !self.root.exists();
        if self.is_gone {
            if !was_gone {
                looked.is_read = self.say(&format!(
                    "{at}  `{}` is gone; its last figures stay, and it is waited for.",
                    self.root.display()
                ))?;
            }
            return Ok(looked);
        }
        looked.came_back = was_gone;
        if was_gone {
            looked.is_read = self.say(&format!("{at}  `{}` is there again.", self.root.display()))?;
        }
        let contents = workspace::contents(&self.root);
        // Should the folder have gone meanwhile, this is no look at the ledger.
        if !self.root.exists() {
            return Ok(looked);
        }
        if let Some(news) = self.watch.look(contents, &at) {
            looked.has_news = true;
            let beside = Beside {
                totals: renew(&self.root, &news, &mut self.texts),
                since_commit: self.since_commit(&news),
            };
            let page = if news.is_first {
                first(&self.root, &news, &beside)
            } else {
                watching::document(&news, &beside)
            };
            looked.is_read = self.terminal.goes_on(&page)? && looked.is_read;
        }
        Ok(looked)
    }

    /// What differs from the last commit; nothing where there is none.
    fn since_commit(&mut self, news: &News) -> Option<String> {
        match self.committed() {
            Ok(before) => {
                let comparison = compare::compare(before?, &news.standing);
                Some(watching::since_commit(&comparison))
            }
            Err(refusal) => Some(format!("since the last commit: not told; {}", refusal.message)),
        }
    }

    /// The ledger at the last commit, read again only when there is another.
    fn committed(&mut self) -> Result<Option<&Snapshot>, Refusal> {
        let Some(repository) = Repository::of(&self.root)? else {
            return Ok(None);
        };
        let Some(commit) = repository.commit("HEAD")? else {
            return Ok(None);
        };
        if self.committed.as_ref().is_none_or(|(id, _)| *id != commit.id) {
            let snapshot = self.watch.beside(revision::contents(&repository, &commit)?);
            self.committed = Some((commit.id, snapshot));
        }
        Ok(self.committed.as_ref().map(|(_, snapshot)| snapshot))
    }
}

/// Writes the totals that differ; what became of them, a line each.
fn renew(root: &Path, news: &News, texts: &mut Texts) -> Vec<String> {
    let on_disk = workspace::read_totals(root);
    let planned = totals::plan_again(
        &news.standing,
        &on_disk,
        Wanted::AsThePracticeSays,
        &news.untrusted(),
        texts,
    );
    let mut written = Vec::new();
    let mut said = Vec::new();
    // A full disk is one piece of news, however many texts wait for it.
    let mut failed: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for one in planned {
        match &one.state {
            State::Same | State::Kept => {}
            // Its file is named as broken above.
            State::Left(_) if news.untrusted().contains(&one.from) => {}
            State::Left(why) => said.push(format!("{} is left as it is: {why}", one.path)),
            State::Orphan(_) => said.push(format!(
                "{} is made from {}, which has no totals there now: `scruple totals` takes it away",
                one.path, one.from
            )),
            State::New(_) | State::Stale(..) => match totals::carry_out(root, &one) {
                Ok(_) => written.push(one.path),
                Err(error) => failed.entry(error.to_string()).or_default().push(one.path),
            },
        }
    }
    said.extend(failed.into_iter().map(|(why, paths)| match paths.as_slice() {
        [path] => format!("{path} can't be written, and is tried again at the next save: {why}"),
        many => format!(
            "{} texts with totals can't be written, and are tried again at the next save: {why}",
            many.len()
        ),
    }));
    match written.len() {
        0 => {}
        1..=3 => said.insert(0, format!("totals written: {}", written.join(", "))),
        many => said.insert(0, format!("totals written: {many} files")),
    }
    said
}

/// What is said at the beginning.
fn first(root: &Path, news: &News, beside: &Beside) -> Document {
    let mut page = Document::new();
    page.paragraph(format!(
        "{}  watching `{}`: {} files, {} formulas. Ctrl-C ends it.",
        news.at,
        root.display(),
        news.standing.sources.iter().count(),
        news.standing.ledger.formulas.len()
    ));
    let said = news
        .broken
        .iter()
        .map(watching::broken)
        .chain(beside.totals.iter().cloned())
        .chain(beside.since_commit.clone());
    for line in said {
        page.paragraph(line);
    }
    page.paragraph(watching::counts(news.counts) + "; `scruple check` shows them");
    page.small_print(standing::paragraph());
    page
}
