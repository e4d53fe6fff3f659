//! Finds what changed in the entries that formulas lean on: herbs, materials, the practice, people, topics.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Word;
use super::names::NewNames;
use crate::naming::folded;
use crate::source::{FileId, Sources};
use crate::syntax::tree::{Entry, Kind, Line, Tree};
use crate::workspace::Snapshot;

/// How an entry is told from others: its kind and its name, folded; with a lot's id, a batch's day.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    kind: &'static str,
    name: String,
}

impl Key {
    /// The key of an entry of this kind and name.
    pub fn new(kind: Kind, name: &str) -> Self {
        Self {
            kind: kind.word(),
            // There is one practice, whatever it is called.
            name: if kind == Kind::Practice {
                String::new()
            } else {
                folded(name)
            },
        }
    }
}

/// An entry, other than a formula, that is not what it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryChange {
    /// Which entry.
    pub key: Key,
    /// Its kind.
    pub kind: Kind,
    /// Its name as written, where it has one.
    pub name: String,
    /// Whether it came, went, or changed.
    pub fate: EntryFate,
    /// Its lines that differ, each under its line word.
    pub lines: Vec<Word>,
}

impl EntryChange {
    /// Whether it has a say in amounts, doses or cautions.
    pub fn bears_on_figures(&self) -> bool {
        self.fate != EntryFate::Changed || self.telling_lines().next().is_some()
    }

    /// The lines that differ and have a say in amounts, doses or cautions.
    pub fn telling_lines(&self) -> impl Iterator<Item = &Word> {
        const NO_SAY: [&str; 17] = [
            NAME,
            "latin",
            "taste",
            "price",
            "pack",
            "minimum",
            "instead",
            "loss",
            "mark-up",
            "margin",
            "keep",
            "note",
            "title",
            "author",
            "year",
            "reference",
            "totals",
        ];
        self.lines
            .iter()
            .filter(|line| !NO_SAY.contains(&line.label.as_str()))
    }
}

/// The label under which it stands that an entry is called otherwise.
const NAME: &str = "name";

/// What became of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EntryFate {
    /// It was not there before.
    Came,
    /// It is no longer there.
    Went,
    /// Some of its lines differ.
    Changed,
}

/// An entry as it was written: each line under its word, without spacing and comments.
struct Written {
    kind: Kind,
    name: String,
    lines: Vec<(String, String)>,
}

/// Every entry but formulas that differs.
pub fn changed(before: &Snapshot, after: &Snapshot, names: &NewNames) -> Vec<EntryChange> {
    changed_among(before, after, names, |_| true)
}

/// Every wanted entry but formulas that differs; one that was renamed is wanted under either name.
pub fn changed_among(
    before: &Snapshot,
    after: &Snapshot,
    names: &NewNames,
    is_wanted: impl Fn(&Key) -> bool,
) -> Vec<EntryChange> {
    let in_both = in_both(before, after);
    let was = written(
        before,
        &in_both,
        |key, new| is_wanted(key) || is_wanted(new),
        names,
    );
    let is = written(after, &in_both, |key, _| is_wanted(key), &NewNames::default());
    let mut changes = Vec::new();
    for (key, old) in &was {
        let Some(new) = is.get(key) else {
            changes.push(change(key, old, EntryFate::Went, Vec::new()));
            continue;
        };
        let mut lines = differing(&old.lines, &new.lines);
        if folded(&old.name) != folded(&new.name) {
            let said = |name: &str| (!name.is_empty()).then(|| name.to_owned());
            let name = Word {
                label: NAME.to_owned(),
                was: said(&old.name),
                is: said(&new.name),
            };
            lines.insert(0, name);
        }
        if !lines.is_empty() {
            changes.push(change(key, new, EntryFate::Changed, lines));
        }
    }
    for (key, new) in is.iter().filter(|(key, _)| !was.contains_key(*key)) {
        changes.push(change(key, new, EntryFate::Came, Vec::new()));
    }
    changes.sort_by(|a, b| a.key.cmp(&b.key));
    changes
}

fn change(key: &Key, entry: &Written, fate: EntryFate, lines: Vec<Word>) -> EntryChange {
    EntryChange {
        key: key.clone(),
        kind: entry.kind,
        name: entry.name.clone(),
        fate,
        lines,
    }
}

/// The entries of a ledger, each under its name of today; of several with one name the first counts.
/// The files that are the very same in two ledgers that declare the same: nothing differs in them.
fn in_both(before: &Snapshot, after: &Snapshot) -> Vec<FileId> {
    if after.may_differ_from(before).is_none() {
        return Vec::new();
    }
    let pairs = before.trees.iter().zip(&after.trees);
    pairs
        .filter(|(was, is)| Arc::ptr_eq(was, is))
        .map(|(was, _)| was.file)
        .collect()
}

fn written(
    snapshot: &Snapshot,
    left_out: &[FileId],
    is_wanted: impl Fn(&Key, &Key) -> bool,
    names: &NewNames,
) -> BTreeMap<Key, Written> {
    let mut found = BTreeMap::new();
    for tree in snapshot
        .trees
        .iter()
        .filter(|tree| !left_out.contains(&tree.file))
    {
        for entry in tree.entries.iter().filter(|entry| entry.kind != Kind::Formula) {
            let name = name_of(entry);
            let own = Key::new(entry.kind, &name);
            let key = match entry.kind {
                Kind::Herb | Kind::Material => Key::new(entry.kind, names.of(&name)),
                _ => own.clone(),
            };
            if !is_wanted(&own, &key) || found.contains_key(&key) {
                continue;
            }
            let lines = lines(&snapshot.sources, tree, entry);
            found.insert(
                key,
                Written {
                    kind: entry.kind,
                    name,
                    lines,
                },
            );
        }
    }
    found
}

/// The lines of an entry, each under its word, without spacing and comments.
pub fn lines(sources: &Sources, tree: &Tree, entry: &Entry) -> Vec<(String, String)> {
    entry
        .lines
        .iter()
        .map(|line| {
            let word = line.word.text.to_lowercase();
            let text = uncommented(sources, tree, line.span.start, line.span.end);
            // The word is said once, as the label.
            let rest = text
                .split_at_checked(word.len())
                .filter(|(first, _)| first.to_lowercase() == word)
                .map_or(text.as_str(), |(_, rest)| rest.trim_start());
            (word, with_its_source(rest, line))
        })
        .collect()
}

/// `1 g source some-book` as people say it: `1 g (some-book)`.
fn with_its_source(text: &str, line: &Line) -> String {
    let cited = line.source.as_ref().and_then(|source| {
        let before = text.strip_suffix(source.text.as_str())?;
        Some((before.trim_end().strip_suffix("source")?.trim_end(), source))
    });
    match cited {
        Some((before, source)) if !before.is_empty() => format!("{before} ({})", source.text),
        _ => text.to_owned(),
    }
}

/// The name of an entry with what else its first line says.
pub fn name_of(entry: &Entry) -> String {
    let mut name = String::new();
    if let Some(id) = &entry.id {
        name.push_str(&id.text);
        name.push_str(" of ");
    }
    name.push_str(entry.name.as_ref().map_or("", |name| name.text.as_str()));
    if let Some(date) = &entry.date {
        name.push_str(" on ");
        name.push_str(&date.first.to_string());
    }
    name
}

/// The text between two bytes of a file without its comments, with single blanks.
fn uncommented(sources: &Sources, tree: &Tree, start: u32, end: u32) -> String {
    let mut text = String::new();
    let mut from = start;
    let mut take = |from: u32, to: u32| {
        let span = crate::source::Span {
            file: tree.file,
            start: from,
            end: to,
        };
        for word in sources.text(span).split_whitespace() {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(word);
        }
    };
    let first = tree.comments.partition_point(|comment| comment.start < start);
    for comment in tree
        .comments
        .iter()
        .skip(first)
        .take_while(|comment| comment.start < end)
    {
        take(from, comment.start);
        from = comment.end.min(end);
    }
    take(from, end);
    text
}

/// Lines that differ: those with the same word are set against each other in their order, once
/// those that say the same are taken out.
pub fn differing(was: &[(String, String)], is: &[(String, String)]) -> Vec<Word> {
    let mut gone: Vec<&(String, String)> = Vec::new();
    let mut come: Vec<&(String, String)> = is.iter().collect();
    for line in was {
        match come.iter().position(|other| *other == line) {
            Some(same) => {
                come.remove(same);
            }
            None => gone.push(line),
        }
    }
    let mut found: Vec<Word> = gone
        .into_iter()
        .map(|(label, text)| {
            let other = come.iter().position(|(other, _)| other == label);
            Word {
                label: label.clone(),
                was: Some(text.clone()),
                is: other.map(|at| come.remove(at).1.clone()),
            }
        })
        .collect();
    found.extend(come.into_iter().map(|(label, text)| Word {
        label: label.clone(),
        was: None,
        is: Some(text.clone()),
    }));
    found
}
