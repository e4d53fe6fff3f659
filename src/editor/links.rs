//! Turns the sources of a file into links: to the address that a source gives, if it gives one.

use super::mentions::{self, Meanings, Sort, Thing};
use super::tree;
use crate::source::{FileId, Span};
use crate::workspace::Snapshot;

/// A link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// What is linked.
    pub span: Span,
    /// Where it leads.
    pub address: String,
    /// What is said of it.
    pub says: String,
}

/// The addresses in a file, and the sources it cites that give one.
pub fn links(snapshot: &Snapshot, file: FileId) -> Vec<Link> {
    let (Some(source), Some(tree)) = (snapshot.sources.get(file), tree(snapshot, file)) else {
        return Vec::new();
    };
    let mut found: Vec<Link> = addresses(&source.text)
        .map(|(at, written, address)| Link {
            span: Span::new(file, at, at.saturating_add(written.len())),
            says: format!("open {address}"),
            address,
        })
        .collect();
    let meanings = Meanings::of(&snapshot.ledger);
    for mention in tree
        .entries
        .iter()
        .flat_map(|entry| mentions::of_entry(&source.text, entry))
    {
        if mention.sort == Sort::Book
            && let Some(Thing::Book(at)) = meanings.meant(&mention)
            && let Some(book) = snapshot.ledger.books.get(at)
            && let Some((_, _, address)) = addresses(snapshot.sources.text(book.span)).next()
        {
            found.push(Link {
                span: mention.name.span,
                says: book.citation.clone(),
                address,
            });
        }
    }
    found.sort_by_key(|link| link.span);
    found
}

/// What begins an address, and what stands before it where it is opened.
const BEGINNINGS: [(&str, &str); 4] = [
    ("https://", ""),
    ("http://", ""),
    ("doi:", "https://doi.org/"),
    ("doi.org/", "https://"),
];

/// The addresses in a text, each with its place, as written and as it is opened.
fn addresses(text: &str) -> impl Iterator<Item = (usize, &str, String)> {
    let mut at = 0_usize;
    text.split_inclusive([' ', '\t', '\n', '\r', '\u{a0}', ',', ';'])
        .filter_map(move |piece| {
            let start = at;
            at = at.saturating_add(piece.len());
            let written = piece.trim_end_matches(|letter: char| {
                letter.is_whitespace() || matches!(letter, ',' | ';' | '.' | ')')
            });
            let opened = written.trim_start_matches('(');
            let start = start.saturating_add(written.len().saturating_sub(opened.len()));
            let (beginning, before) = BEGINNINGS
                .iter()
                .find(|(beginning, _)| opened.len() > beginning.len() && opened.starts_with(beginning))?;
            let rest = if *beginning == "doi:" {
                opened.strip_prefix("doi:")?
            } else {
                opened
            };
            let is_safe = rest.chars().all(|letter| {
                letter.is_ascii_graphic()
                    && !matches!(letter, '"' | '<' | '>' | '\\' | '^' | '`' | '{' | '|' | '}')
            });
            is_safe.then(|| (start, opened, format!("{before}{rest}")))
        })
}
