//! Turns a file into its outline, and a ledger into the entries that answer to a few letters.

use super::tree;
use crate::naming::folded;
use crate::source::{FileId, Span};
use crate::syntax::tree::{Body, Entry, Kind};
use crate::workspace::Snapshot;

/// An entry, or something in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Symbol {
    /// Its name.
    pub name: String,
    /// What is said beside it.
    pub detail: String,
    /// The kind of entry that it is; nothing for something inside one.
    pub kind: Option<Kind>,
    /// All of it.
    pub span: Span,
    /// Its name's place.
    pub name_span: Span,
    /// What lies in it.
    pub children: Vec<Symbol>,
}

/// The entries of a file with what formulas take.
pub fn outline(snapshot: &Snapshot, file: FileId) -> Vec<Symbol> {
    let entries = tree(snapshot, file).into_iter().flat_map(|tree| &tree.entries);
    entries.map(|entry| symbol(snapshot, entry)).collect()
}

fn symbol(snapshot: &Snapshot, entry: &Entry) -> Symbol {
    let (name, name_span) = named(snapshot, entry);
    let takes = entry.lines.iter().filter_map(|line| match &line.body {
        Body::Take(taken, _) => Some(taken),
        _ => None,
    });
    let children = takes
        .flatten()
        .filter_map(|ingredient| {
            let first = ingredient.names.first()?;
            let last = ingredient.names.last()?;
            let names: Vec<&str> = ingredient.names.iter().map(|name| name.text.as_str()).collect();
            Some(Symbol {
                name: names.join(", "),
                detail: ingredient
                    .amount
                    .as_ref()
                    .map(|amount| snapshot.sources.words(amount.span))
                    .unwrap_or_default(),
                kind: None,
                span: ingredient.span.to(last.span),
                name_span: first.span.to(last.span),
                children: Vec::new(),
            })
        })
        .collect();
    Symbol {
        name,
        detail: entry.kind.word().to_owned(),
        kind: Some(entry.kind),
        span: entry.span,
        name_span,
        children,
    }
}

/// What an entry is called in a list: a batch by its day, a lot by its id.
fn named(snapshot: &Snapshot, entry: &Entry) -> (String, Span) {
    let own = entry.name.as_ref();
    let name = own.map_or_else(|| entry.kind.word().to_owned(), |name| name.text.clone());
    let span = own.map_or(entry.kind_span, |name| name.span);
    if let Some(id) = &entry.id {
        return (format!("{} of {name}", id.text), id.span);
    }
    match entry.date {
        Some(date) => (format!("{name} on {}", snapshot.sources.words(date.span)), span),
        None => (name, span),
    }
}

/// More than this are not named at once.
const MOST: usize = 500;

/// The entries of a ledger whose names hold these letters in their order; those that begin with them first.
pub fn search(snapshot: &Snapshot, letters: &str) -> Vec<Symbol> {
    let wanted = folded(letters);
    let mut found: Vec<(u8, String, Symbol)> = Vec::new();
    for tree in &snapshot.trees {
        for entry in &tree.entries {
            let (name, name_span) = named(snapshot, entry);
            let mut put = |name: String, span: Span| {
                let key = folded(&name);
                if let Some(rank) = rank(&key, &wanted) {
                    let symbol = Symbol {
                        name,
                        detail: entry.kind.word().to_owned(),
                        kind: Some(entry.kind),
                        span: entry.span,
                        name_span: span,
                        children: Vec::new(),
                    };
                    found.push((rank, key, symbol));
                }
            };
            put(name, name_span);
            let also = entry.lines.iter().filter(|line| line.word.text == "also");
            for line in also {
                if let Body::Names(names) = &line.body {
                    for name in names {
                        put(name.text.clone(), name.span);
                    }
                }
            }
        }
    }
    found.sort_by(|a, b| (a.0, &a.1).cmp(&(b.0, &b.1)));
    found.truncate(MOST);
    found.into_iter().map(|(_, _, symbol)| symbol).collect()
}

/// How well a name answers to letters: 0 begins with them, 1 holds them, 2 holds them with others between.
fn rank(name: &str, wanted: &str) -> Option<u8> {
    if name.starts_with(wanted) {
        return Some(0);
    }
    if name.contains(wanted) {
        return Some(1);
    }
    let mut letters = name.chars();
    wanted
        .chars()
        .all(|letter| letters.any(|own| own == letter))
        .then_some(2)
}
