//! Turns what lies in a ledger's folder, time after time, into the news since the last look.
//!
//! Nothing here touches a disk, a clock or a screen: contents and the time of day come in, news
//! goes out. What tells that it is time to look is in `signals.rs`.

pub mod signals;

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

use crate::code::Code;
use crate::compare::{self, Comparison};
use crate::diagnostic::Severity;
use crate::workspace::{Content, Desk, Snapshot};

/// More files in error than this are not tried one by one.
const MOST_TRIED: usize = 8;

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
    /// What makes two of them the same.
    fn what(&self) -> (Severity, Code, &str, &str) {
        (self.severity, self.code, &self.message, &self.file)
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
        let emptied = self.emptied(&contents);
        // What stands while a save has only begun: an emptied file says nothing about the ledger.
        let begun = self.with_good(&contents, |path| emptied.contains(path));
        let now = self.desk.snapshot(begun.clone());
        let in_error = self.at_fault(&begun, now.broken());
        let is_broken = |path: &String| emptied.contains(path) || in_error.contains(path);
        for (path, content) in contents.iter().filter(|(path, _)| !is_broken(path)) {
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
        let counts = [Severity::Error, Severity::Warning, Severity::Notice].map(|severity| {
            let all = now.diagnostics.iter();
            all.filter(|one| one.severity == severity).count()
        });
        let mut found = findings(&now);
        let mixed = self.with_good(&contents, is_broken);
        let standing = if mixed == begun {
            now
        } else {
            let standing = self.desk.snapshot(mixed);
            // What was found in formulas whose figures stay has not gone because a line above was broken.
            found = joined(found, &findings(&standing));
            standing
        };
        let broken = self.told(&contents, &emptied, &in_error, &standing);
        self.desk.keep(&standing);
        let standing = Arc::new(standing);
        let before = self.standing.replace(Arc::clone(&standing));
        let news = News {
            at: at.to_owned(),
            is_first: self.seen.is_none(),
            files: fates(self.seen.as_deref().unwrap_or_default(), &contents),
            comparison: before
                .map_or_else(Comparison::default, |before| compare::compare(&before, &standing)),
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

    /// The ledger that some contents say, such as those of the last commit; what they have in common
    /// with the ledger that is watched is not reckoned again.
    pub fn beside(&mut self, contents: Vec<(String, Content)>) -> Snapshot {
        self.desk.snapshot(contents)
    }

    /// The files that held entries and now hold none: many a save begins by emptying the file.
    fn emptied(&mut self, contents: &[(String, Content)]) -> BTreeSet<String> {
        let mut emptied = BTreeSet::new();
        for (path, content) in contents {
            let Some(good) = self.good.get(path).filter(|good| good.content != *content) else {
                continue;
            };
            let was = good.content.clone();
            // What can't be read is in error, and told as that.
            if content.is_ok() && !self.has_entries(path, content) && self.has_entries(path, &was) {
                emptied.insert(path.clone());
            }
        }
        emptied
    }

    /// Of the files in error those whose own text is to blame: an unknown name may stand in one file
    /// because another, in which it is declared, is broken just now.
    fn at_fault(&mut self, contents: &[(String, Content)], in_error: BTreeSet<String>) -> BTreeSet<String> {
        let is_new = |(path, content): &&(String, Content)| {
            in_error.contains(path) && self.good.get(path).is_some_and(|good| good.content != *content)
        };
        let new: BTreeSet<String> = contents
            .iter()
            .filter(is_new)
            .map(|(path, _)| path.clone())
            .collect();
        // Seldom is more than one file saved with an error at once, and each is tried by itself.
        if in_error.len() < 2 || new.len() > MOST_TRIED {
            return in_error;
        }
        let blameless: Vec<String> = new
            .iter()
            .filter(|path| {
                let tried = self.with_good(contents, |other| other != *path && new.contains(other));
                !self.desk.snapshot(tried).broken().contains(*path)
            })
            .cloned()
            .collect();
        // Where each alone is fine, it is together that they are not.
        if blameless.len() == new.len() {
            return in_error;
        }
        in_error
            .into_iter()
            .filter(|path| !blameless.contains(path))
            .collect()
    }

    fn has_entries(&mut self, path: &str, content: &Content) -> bool {
        let (tree, whole) = self.desk.tree(path, content);
        // A text of which nothing is understood is in error, not empty.
        !whole || tree.is_some_and(|tree| !tree.entries.is_empty())
    }

    /// The contents with the last good text in the place of some files'.
    fn with_good(
        &self,
        contents: &[(String, Content)],
        replaced: impl Fn(&String) -> bool,
    ) -> Vec<(String, Content)> {
        let stands = |path: &String, content: &Content| match self.good.get(path) {
            Some(good) if replaced(path) => good.content.clone(),
            _ => content.clone(),
        };
        contents
            .iter()
            .map(|(path, content)| (path.clone(), stands(path, content)))
            .collect()
    }

    /// The files that are broken themselves, and not only for want of another that is.
    fn told(
        &self,
        contents: &[(String, Content)],
        emptied: &BTreeSet<String>,
        in_error: &BTreeSet<String>,
        standing: &Snapshot,
    ) -> Vec<Broken> {
        let still = standing.broken();
        let mut told = Vec::new();
        for (path, content) in contents {
            let other = self.good.get(path).filter(|good| good.content != *content);
            let why = if emptied.contains(path) {
                Why::Empty
            } else if in_error.contains(path) && (other.is_some() || still.contains(path)) {
                Why::Error
            } else {
                continue;
            };
            told.push(Broken {
                file: path.clone(),
                why,
                figures_of: other
                    .filter(|_| !still.contains(path))
                    .map(|good| good.at.clone()),
            });
        }
        told
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

/// Both lists, with what stands in both only once.
fn joined(own: Vec<Finding>, others: &[Finding]) -> Vec<Finding> {
    let more = only_in(others, &own);
    let mut all = own;
    all.extend(more);
    all.sort_by_key(|one| std::cmp::Reverse(one.severity));
    all
}

/// What only the first list holds; of several that are the same, as many as it has more.
fn only_in(own: &[Finding], others: &[Finding]) -> Vec<Finding> {
    // Nearly all of them stand in both lists in the same order.
    let same = |(one, other): &(&Finding, &Finding)| one.what() == other.what();
    let before = own.iter().zip(others).take_while(same).count();
    let (own, others) = (
        own.get(before..).unwrap_or_default(),
        others.get(before..).unwrap_or_default(),
    );
    let behind = own.iter().rev().zip(others.iter().rev()).take_while(same).count();
    let own = own.get(..own.len().saturating_sub(behind)).unwrap_or_default();
    let others = others
        .get(..others.len().saturating_sub(behind))
        .unwrap_or_default();
    let mut left: HashMap<_, usize> = HashMap::new();
    for other in others {
        let count = left.entry(other.what()).or_default();
        *count = count.saturating_add(1);
    }
    own.iter()
        .filter(|one| match left.get_mut(&one.what()) {
            Some(count) if *count > 0 => {
                *count = count.saturating_sub(1);
                false
            }
            _ => true,
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
