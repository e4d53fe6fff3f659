//! Turns what lies in a ledger's folder, time after time, into the news since the last look.
//!
//! Nothing here touches a disk, a clock or a screen: contents and the time of day come in, news
//! goes out. What tells that it is time to look is in `signals.rs`.

pub mod signals;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::code::Code;
use crate::compare::{self, Comparison};
use crate::diagnostic::Severity;
use crate::workspace::{Content, Desk, Snapshot};

/// A ledger that is looked at again and again.
#[derive(Debug, Default)]
pub struct Watch {
    desk: Desk,
    /// What lay in the folder at the last look.
    seen: Option<Vec<(String, Content)>>,
    /// Of each file what could last be reckoned with.
    good: BTreeMap<String, Good>,
    /// The ledger by whose figures the last news went.
    standing: Option<Arc<Snapshot>>,
    found: Vec<Finding>,
}

#[derive(Debug, Clone)]
struct Good {
    content: Content,
    /// The time of day at which it was first seen so.
    at: String,
}

/// What became of a file since the last look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileFate {
    /// It was not there before.
    Came,
    /// It is no longer there.
    Went,
    /// It was saved with another text.
    Saved,
}

/// A file whose text can't be reckoned with just now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Its path.
    pub file: String,
    /// What is the matter with it.
    pub why: Why,
    /// The time of day of the text by whose figures it goes on; nothing if there was none.
    pub figures_of: Option<String>,
}

/// What is the matter with a broken file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It holds an error that withholds figures.
    Error,
    /// It held entries, and now it holds none.
    Empty,
}

/// A finding without its place in the text, so that it is the same one when lines are added above it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub severity: Severity,
    /// Which kind.
    pub code: Code,
    /// What is wrong.
    pub message: String,
    /// The file.
    pub file: String,
    /// The line, counted from one.
    pub line: usize,
}

impl Finding {
    fn is_same(&self, other: &Self) -> bool {
        (self.severity, self.code, &self.message, &self.file)
            == (other.severity, other.code, &other.message, &other.file)
    }
}

/// What a look has shown.
#[derive(Debug)]
pub struct News {
    /// The time of day.
    pub at: String,
    /// Whether it is the first look: then everything is new, and nothing is said of it.
    pub is_first: bool,
    /// Files that came, went or were saved.
    pub files: Vec<(String, FileFate)>,
    /// What differs in what the ledger comes to.
    pub comparison: Comparison,
    /// Findings that came, the gravest first.
    pub come: Vec<Finding>,
    /// Findings that went.
    pub gone: Vec<Finding>,
    /// How many findings of each weight there are now: errors, warnings, notices.
    pub counts: [usize; 3],
    /// Files that are broken now.
    pub broken: Vec<Broken>,
    /// The ledger by whose figures it goes: with the last good text of what is broken.
    pub standing: Arc<Snapshot>,
}

impl Watch {
    /// Looks at the contents of a ledger; nothing if they are what they were.
    pub fn look(&mut self, contents: Vec<(String, Content)>, at: &str) -> Option<News> {
        if self.seen.as_ref() == Some(&contents) {
            return None;
        }
        let now = self.desk.snapshot(contents.iter().cloned());
        let broken = self.broken(&now, &contents);
        for (path, content) in contents.iter().filter(|(path, _)| !broken.contains_key(path)) {
            let known = self.good.get(path).is_some_and(|good| good.content == *content);
            if !known {
                let good = Good {
                    content: content.clone(),
                    at: at.to_owned(),
                };
                self.good.insert(path.clone(), good);
            }
        }
        let is_there = |path: &String| contents.iter().any(|(other, _)| other == path);
        self.good.retain(|path, _| is_there(path));
        let counts = [Severity::Error, Severity::Warning, Severity::Notice]
            .map(|severity| now.diagnostics.iter().filter(|one| one.severity == severity).count());
        let found = findings(&now);
        let (broken, standing) = self.standing(broken, &contents, now);
        self.desk.keep(&standing);
        let standing = Arc::new(standing);
        let before = self.standing.replace(Arc::clone(&standing));
        let news = News {
            at: at.to_owned(),
            is_first: self.seen.is_none(),
            files: fates(self.seen.as_deref().unwrap_or_default(), &contents),
            comparison: before.map_or_else(Comparison::default, |before| compare::compare(&before, &standing)),
            come: only_in(&found, &self.found),
            gone: only_in(&self.found, &found),
            counts,
            broken,
            standing,
        };
        self.found = found;
        self.seen = Some(contents);
        Some(news)
    }

    /// The files that can't be reckoned with, each with what is the matter.
    fn broken(&mut self, now: &Snapshot, contents: &[(String, Content)]) -> BTreeMap<String, Why> {
        let mut broken: BTreeMap<String, Why> = now
            .broken()
            .into_iter()
            .map(|path| (path, Why::Error))
            .collect();
        for (path, content) in contents {
            let Some(good) = self.good.get(path).filter(|good| good.content != *content) else {
                continue;
            };
            // Many a save begins by emptying the file.
            let was = good.content.clone();
            if !self.has_entries(path, content) && self.has_entries(path, &was) {
                broken.entry(path.clone()).or_insert(Why::Empty);
            }
        }
        broken
    }

    fn has_entries(&mut self, path: &str, content: &Content) -> bool {
        let (tree, _) = self.desk.tree(path, content);
        tree.is_some_and(|tree| !tree.entries.is_empty())
    }

    /// The ledger with the last good text of every broken file in its place.
    fn standing(
        &mut self,
        broken: BTreeMap<String, Why>,
        contents: &[(String, Content)],
        now: Snapshot,
    ) -> (Vec<Broken>, Snapshot) {
        let mut stays = false;
        let mut told = Vec::new();
        let mut mixed = Vec::new();
        for (path, content) in contents {
            let why = broken.get(path).copied();
            let other = why
                .and(self.good.get(path))
                .filter(|good| good.content != *content);
            told.extend(why.map(|why| Broken {
                file: path.clone(),
                why,
                figures_of: other.map(|good| good.at.clone()),
            }));
            stays |= other.is_some();
            let stands = other.map_or_else(|| content.clone(), |good| good.content.clone());
            mixed.push((path.clone(), stands));
        }
        let standing = if stays { self.desk.snapshot(mixed) } else { now };
        (told, standing)
    }
}

impl News {
    /// The files whose totals are not to be written now: those that are broken, and those in which a
    /// formula has no figures because something that it needs is broken.
    pub fn untrusted(&self) -> BTreeSet<String> {
        let snapshot = &self.standing;
        let withheld = snapshot
            .ledger
            .formulas
            .iter()
            .enumerate()
            .filter(|(at, _)| snapshot.figures.of(*at).is_none())
            .map(|(_, formula)| snapshot.sources.path(formula.head).to_owned());
        self.broken
            .iter()
            .map(|one| one.file.clone())
            .chain(withheld)
            .collect()
    }
}

fn findings(snapshot: &Snapshot) -> Vec<Finding> {
    let mut found: Vec<Finding> = snapshot
        .diagnostics
        .iter()
        .map(|one| Finding {
            severity: one.severity,
            code: one.code,
            message: one.message.clone(),
            file: snapshot.sources.path(one.span).to_owned(),
            line: snapshot.sources.place(one.span).line,
        })
        .collect();
    found.sort_by_key(|one| std::cmp::Reverse(one.severity));
    found
}

/// What only the first list holds; of several that are the same, as many as it has more.
fn only_in(own: &[Finding], others: &[Finding]) -> Vec<Finding> {
    let mut others: Vec<&Finding> = others.iter().collect();
    own.iter()
        .filter(|one| match others.iter().position(|other| one.is_same(other)) {
            Some(at) => {
                others.swap_remove(at);
                false
            }
            None => true,
        })
        .cloned()
        .collect()
}

fn fates(was: &[(String, Content)], is: &[(String, Content)]) -> Vec<(String, FileFate)> {
    let was: BTreeMap<&String, &Content> = was.iter().map(|(path, content)| (path, content)).collect();
    let is: BTreeMap<&String, &Content> = is.iter().map(|(path, content)| (path, content)).collect();
    let gone = was.keys().filter(|path| !is.contains_key(**path));
    let mut fates: Vec<(String, FileFate)> = gone.map(|path| ((*path).clone(), FileFate::Went)).collect();
    fates.extend(is.iter().filter_map(|(path, content)| match was.get(*path) {
        None => Some(((*path).clone(), FileFate::Came)),
        Some(before) if before != content => Some(((*path).clone(), FileFate::Saved)),
        Some(_) => None,
    }));
    fates.sort_by(|a, b| a.0.cmp(&b.0));
    fates
}
