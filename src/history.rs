//! Turns the commits of a repository into the revisions in which the meaning of one formula changed.
//!
//! The walk goes from the newest commit to the oldest and follows the formula through its names.
//! A commit is looked at closely only if something differs that the formula leans on: its own
//! lines, its herbs, the formulas in it, the practice, or which names there are at all.

use std::collections::{BTreeSet, HashMap, VecDeque};
use std::fmt::Write;
use std::rc::Rc;

use crate::compare::entries::{self, EntryChange, Key};
use crate::compare::portrait::{Portrait, portrait};
use crate::compare::{self, FormulaChange};
use crate::compute::batch::Refusal;
use crate::naming::folded;
use crate::revision::git::{Commit, Repository};
use crate::revision::stored::{File, Stored};
use crate::syntax::tree::Kind;
use crate::workspace::{Content, Desk, Snapshot};

/// A revision that changed what a formula means.
#[derive(Debug, Clone)]
pub struct Revision {
    /// The commit.
    pub commit: Commit,
    /// What changed.
    pub change: FormulaChange,
    /// The entries that changed with it; the change names its causes by their places here.
    pub entries: Vec<EntryChange>,
    /// What could not be read in the commit or in the one before it: what stands there looks as if it
    /// were not there.
    pub unread: Vec<String>,
    /// The formula after it; nothing where it was left out.
    pub after: Option<Rc<Portrait>>,
}

/// The history of a formula.
#[derive(Debug, Clone, Default)]
pub struct History {
    /// Its revisions, the newest first.
    pub revisions: Vec<Revision>,
    /// How many commits were looked through.
    pub commits: usize,
    /// How many of them were looked at closely.
    pub looked_at: usize,
}

/// Reads the history of a formula up to a commit; `progress` hears how many commits of how many are done.
///
/// # Errors
/// [`Refusal`] where git can't read it.
pub fn of_formula(
    repository: &Repository,
    newest: &Commit,
    name: &str,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<History, Refusal> {
    let commits = repository.history(newest)?;
    let mut reader = Reader::new(Stored::open(repository)?);
    // The name that the formula has at each commit, as its children know it.
    let mut names: HashMap<String, String> = HashMap::from([(newest.id.clone(), name.to_owned())]);
    let trees: HashMap<&str, &str> = commits
        .iter()
        .map(|commit| (commit.id.as_str(), commit.tree.as_str()))
        .collect();
    let mut history = History {
        commits: commits.len(),
        ..History::default()
    };
    for (done, commit) in commits.iter().enumerate() {
        progress(done, commits.len());
        let Some(name) = names.remove(&commit.id) else {
            continue;
        };
        let own = reader.at(&commit.tree, &name)?;
        let mut first = None;
        let mut is_new = true;
        for parent in &commit.parents {
            let Some(tree) = trees.get(parent.as_str()) else {
                continue;
            };
            let before = reader.at(tree, &name)?;
            let change = reader.change(Some(&before), &own, &name)?;
            let former = change.as_ref().and_then(|change| change.0.former_name.clone());
            names
                .entry(parent.clone())
                .or_insert_with(|| former.unwrap_or_else(|| name.clone()));
            // A merge is a revision only where it differs from everything that it joins.
            is_new &= change.is_some();
            first = first.or(change);
        }
        if commit
            .parents
            .iter()
            .all(|parent| !trees.contains_key(parent.as_str()))
        {
            first = reader.change(None, &own, &name)?;
        }
        if let Some((change, entries, unread)) = first.filter(|_| is_new) {
            history.revisions.push(Revision {
                commit: commit.clone(),
                change,
                entries,
                unread,
                after: own.portrait.clone(),
            });
        }
    }
    progress(commits.len(), commits.len());
    history.looked_at = reader.looked_at;
    Ok(history)
}

/// The formula at one commit.
#[derive(Debug, Clone)]
struct Seen {
    tree: String,
    portrait: Option<Rc<Portrait>>,
}

/// What a file says that may concern the formula; numbers stand for texts.
#[derive(Debug, Clone, Default)]
struct Relevant {
    /// The entries that the formula leans on.
    texts: Vec<usize>,
    /// The names that the file declares.
    names: Option<usize>,
}

/// A name of the formula, and which texts and names there are: where these are the same, so is the formula.
type Fingerprint = (String, Vec<usize>, Vec<usize>);

/// What changed in the formula, the entries that changed with it, and what could not be read.
type Change = (FormulaChange, Vec<EntryChange>, Vec<String>);

/// What could not be read in two ledgers, each file once.
fn unread(old: &Snapshot, new: &Snapshot) -> Vec<String> {
    let mut all = compare::unread(old);
    let more = compare::unread(new);
    all.extend(more.into_iter().filter(|one| !compare::unread(old).contains(one)));
    all
}

/// How many ledgers are kept as they were reckoned: a commit and those that it follows.
const KEPT: usize = 4;

struct Reader {
    stored: Stored,
    desk: Desk,
    contents: HashMap<File, Content>,
    numbers: HashMap<String, usize>,
    relevant: HashMap<File, Relevant>,
    /// The entries that the formula was seen to lean on; it only ever grows.
    leaned_on: BTreeSet<Key>,
    known: HashMap<Fingerprint, Option<Rc<Portrait>>>,
    seen: HashMap<(String, String), Option<Rc<Portrait>>>,
    reckoned: VecDeque<(String, Rc<Snapshot>)>,
    looked_at: usize,
}

impl Reader {
    fn new(stored: Stored) -> Self {
        Self {
            stored,
            desk: Desk::default(),
            contents: HashMap::new(),
            numbers: HashMap::new(),
            relevant: HashMap::new(),
            leaned_on: BTreeSet::new(),
            known: HashMap::new(),
            seen: HashMap::new(),
            reckoned: VecDeque::new(),
            looked_at: 0,
        }
    }

    /// The formula of this name in a tree.
    fn at(&mut self, tree: &str, name: &str) -> Result<Seen, Refusal> {
        let key = (tree.to_owned(), folded(name));
        let portrait = if let Some(portrait) = self.seen.get(&key) {
            portrait.clone()
        } else {
            let portrait = self.portrait(tree, name)?;
            self.seen.insert(key, portrait.clone());
            portrait
        };
        Ok(Seen {
            tree: tree.to_owned(),
            portrait,
        })
    }

    fn portrait(&mut self, tree: &str, name: &str) -> Result<Option<Rc<Portrait>>, Refusal> {
        let files = self.stored.files(tree)?;
        let fingerprint = self.fingerprint(&files, name)?;
        if let Some(portrait) = self.known.get(&fingerprint) {
            return Ok(portrait.clone());
        }
        self.looked_at = self.looked_at.saturating_add(1);
        let snapshot = self.reckon(tree, Some(name))?;
        let place = place_of(&snapshot, name);
        let portrait = place.and_then(|at| portrait(&snapshot, at)).map(Rc::new);
        let before = self.leaned_on.len();
        if let Some(at) = place {
            self.leaned_on.extend(compare::leans_on(&snapshot, at));
        }
        self.leaned_on.insert(Key::new(Kind::Formula, name));
        if self.leaned_on.len() > before {
            // What is relevant is more than it was, so what was known by less is asked again.
            self.relevant.clear();
            self.known.clear();
            let fingerprint = self.fingerprint(&files, name)?;
            self.known.insert(fingerprint, portrait.clone());
        } else {
            self.known.insert(fingerprint, portrait.clone());
        }
        Ok(portrait)
    }

    /// The ledger of a tree with the figures of one formula and what it needs; without a name, of all.
    fn reckon(&mut self, tree: &str, name: Option<&str>) -> Result<Rc<Snapshot>, Refusal> {
        let files = self.stored.files(tree)?;
        let mut contents = Vec::with_capacity(files.len());
        for file in files.iter() {
            contents.push((file.path.clone(), self.content(file)?));
        }
        let mut snapshot = self.desk.bound(contents);
        match name {
            None => snapshot.figure(|_| true),
            Some(name) => {
                let wanted: Vec<usize> = place_of(&snapshot, name)
                    .map(|at| snapshot.ledger.all_needs(at))
                    .unwrap_or_default();
                snapshot.figure(|at| wanted.contains(&at));
            }
        }
        let snapshot = Rc::new(snapshot);
        if name.is_some() {
            self.reckoned.push_back((tree.to_owned(), Rc::clone(&snapshot)));
            if self.reckoned.len() > KEPT {
                self.reckoned.pop_front();
            }
        }
        Ok(snapshot)
    }

    fn content(&mut self, file: &File) -> Result<Content, Refusal> {
        if let Some(content) = self.contents.get(file) {
            return Ok(content.clone());
        }
        let content = self.stored.content(file)?;
        self.contents.insert(file.clone(), content.clone());
        Ok(content)
    }

    fn fingerprint(&mut self, files: &[File], name: &str) -> Result<Fingerprint, Refusal> {
        let (mut texts, mut names) = (Vec::new(), Vec::new());
        for file in files {
            if !self.relevant.contains_key(file) {
                let relevant = self.relevant_in(file)?;
                self.relevant.insert(file.clone(), relevant);
            }
            if let Some(relevant) = self.relevant.get(file) {
                texts.extend(&relevant.texts);
                names.extend(relevant.names);
            }
        }
        texts.sort_unstable();
        names.sort_unstable();
        Ok((folded(name), texts, names))
    }

    fn relevant_in(&mut self, file: &File) -> Result<Relevant, Refusal> {
        let content = self.content(file)?;
        let (tree, is_whole) = self.desk.tree(&file.path, &content);
        let Some(tree) = tree.filter(|_| is_whole) else {
            // Whatever is wrong in it may concern the formula.
            let text = format!(
                "{:?}",
                content.map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
            );
            return Ok(Relevant {
                texts: vec![self.number(text)],
                names: None,
            });
        };
        let mut relevant = Relevant::default();
        let mut declared = String::new();
        for entry in &tree.entries {
            let lines = entries::lines(self.desk.sources(), &tree, entry);
            let name = entries::name_of(entry);
            if matches!(entry.kind, Kind::Herb | Kind::Material | Kind::Formula) {
                let also = lines.iter().filter(|(word, _)| word == "also");
                let _ = writeln!(
                    declared,
                    "{:?} {name:?} {:?}",
                    entry.kind,
                    also.collect::<Vec<_>>()
                );
            }
            let always = matches!(
                entry.kind,
                Kind::Practice | Kind::Topic | Kind::Source | Kind::Person
            );
            if always || self.leaned_on.contains(&Key::new(entry.kind, &name)) {
                relevant
                    .texts
                    .push(self.number(format!("{:?} {name:?} {lines:?}", entry.kind)));
            }
        }
        if !declared.is_empty() {
            relevant.names = Some(self.number(declared));
        }
        Ok(relevant)
    }

    fn number(&mut self, text: String) -> usize {
        let next = self.numbers.len();
        *self.numbers.entry(text).or_insert(next)
    }

    /// What a commit changed in the formula, the name being the one that it has afterwards.
    fn change(&mut self, before: Option<&Seen>, after: &Seen, name: &str) -> Result<Option<Change>, Refusal> {
        let was = before.and_then(|before| before.portrait.as_ref());
        if was == after.portrait.as_ref() {
            return Ok(None);
        }
        if let (Some(before), Some(was), Some(is)) = (before, was, after.portrait.as_ref()) {
            let (old, new) = (self.ledger(&before.tree, name)?, self.ledger(&after.tree, name)?);
            let places = place_of(&old, name).zip(place_of(&new, name));
            return Ok(places.and_then(|(old_place, new_place)| {
                let (change, entries) = compare::of_formula((&old, old_place, was), (&new, new_place, is))?;
                Some((change, entries, unread(&old, &new)))
            }));
        }
        // Where it has just come it may have had another name, and any formula may be the one.
        let old = match before {
            Some(before) => self.reckon(&before.tree, None)?,
            None => Rc::default(),
        };
        let new = self.reckon(&after.tree, None)?;
        let comparison = compare::compare(&old, &new);
        let wanted = folded(name);
        let change = comparison
            .formulas
            .into_iter()
            .find(|change| folded(&change.name) == wanted);
        Ok(change.map(|change| (change, comparison.entries, unread(&old, &new))))
    }

    fn ledger(&mut self, tree: &str, name: &str) -> Result<Rc<Snapshot>, Refusal> {
        match self.reckoned.iter().find(|(kept, _)| kept == tree) {
            Some((_, snapshot)) => Ok(Rc::clone(snapshot)),
            None => self.reckon(tree, Some(name)),
        }
    }
}

/// Where the formula of this name stands; a name in the singular is not the one in the plural.
fn place_of(snapshot: &Snapshot, name: &str) -> Option<usize> {
    let wanted = folded(name);
    snapshot
        .ledger
        .formulas
        .iter()
        .position(|formula| folded(&formula.name.text) == wanted)
}
