//! Cuts a text into entries, their lines and the items of lists, without losing a byte.

use crate::diagnostic::Severity;
use crate::naming::folded;
use crate::source::{Sources, Span};
use crate::syntax;
use crate::syntax::tree::{Body, Entry, Kind, Line, Tree};

/// A text in pieces: `lead`, `body` and `children` of each, then the tail, are the whole text.
#[derive(Debug, Clone)]
pub struct Cut {
    /// The entries.
    pub entries: Vec<Node>,
    /// Comments and blank lines after the last entry.
    pub tail: String,
}

/// An entry, a line of it, or an item of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// What it is told from its neighbours by: kind and name, line word, or what is taken.
    pub key: String,
    /// What people call it; for an entry its kind and name.
    pub said: String,
    /// Whether it is a formula.
    pub is_formula: bool,
    /// Whether several with this key may stand beside one another.
    pub repeats: bool,
    /// Comments and blank lines above it.
    pub lead: String,
    /// Its own lines with their ends, without the children's.
    pub body: String,
    /// What the body says, without comments.
    pub words: String,
    /// Its lines, or the items of its list.
    pub children: Vec<Node>,
}

impl Node {
    /// Its text without the lead.
    pub fn text(&self) -> String {
        let mut out = self.body.clone();
        for child in &self.children {
            end_line(&mut out);
            out.push_str(&child.lead);
            out.push_str(&child.text());
        }
        out
    }

    /// What it says, line by line, each with its depth.
    pub fn outline(&self, depth: usize) -> Outline {
        let mut out = vec![(depth, self.words.clone())];
        for child in &self.children {
            out.extend(child.outline(depth.saturating_add(1)));
        }
        out
    }

    /// Its words and comments, the leads of its parts included, with single blanks.
    pub fn bare(&self) -> String {
        single_blanks(&self.text())
    }
}

/// What an entry says, line by line, each with its depth.
pub type Outline = Vec<(usize, String)>;

/// A text with single blanks.
pub fn single_blanks(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Ends the last line of a text that has no end yet.
pub fn end_line(text: &mut String) {
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
}

/// Cuts a text; nothing if it holds an error of form, because what is not understood can't be told apart.
pub fn cut(text: &str) -> Option<Cut> {
    // A carriage return alone ends a line, too; no editor of today writes it.
    if text.replace("\r\n", "").contains('\r') {
        return None;
    }
    let file = Sources::default().add("", text.into());
    let (tree, found) = syntax::parse(file, text);
    if found.iter().any(|one| one.severity == Severity::Error) {
        return None;
    }
    let mut cutter = Cutter {
        text,
        tree: &tree,
        done: 0,
    };
    let entries = tree.entries.iter().map(|one| cutter.entry(one)).collect();
    Some(Cut {
        entries,
        tail: text.get(cutter.done..).unwrap_or_default().to_owned(),
    })
}

struct Cutter<'a> {
    text: &'a str,
    tree: &'a Tree,
    /// The first byte that is in no piece yet.
    done: usize,
}

impl Cutter<'_> {
    fn entry(&mut self, entry: &Entry) -> Node {
        let name = |name: &Option<syntax::tree::Name>| {
            name.as_ref().map_or("", |name| name.text.as_str()).to_owned()
        };
        let mut said = vec![entry.kind.word().to_owned()];
        // There is one practice, whatever it is called.
        let mut key = said.clone();
        for part in [name(&entry.id), name(&entry.name)] {
            if entry.kind != Kind::Practice {
                key.push(folded(&part));
            }
            said.push(part);
        }
        if let Some(date) = &entry.date {
            key.push(date.first.to_string());
            said.push(format!("on {}", date.first));
        }
        said.retain(|part| !part.is_empty());
        let mut node = self.node(entry.head, key.join("\u{0}"), said.join(" "));
        node.is_formula = entry.kind == Kind::Formula;
        node.children = entry
            .lines
            .iter()
            .map(|line| self.line(entry.kind, line))
            .collect();
        node
    }

    fn line(&mut self, kind: Kind, line: &Line) -> Node {
        let word = line.word.text.to_lowercase();
        let repeats = kind
            .line_words()
            .iter()
            .any(|known| known.word == word && known.repeats);
        let items: Vec<(Span, String)> = match &line.body {
            Body::Take(taken, _) => taken
                .iter()
                .map(|one| {
                    let names: Vec<String> = one.names.iter().map(|name| folded(&name.text)).collect();
                    let without = if one.without { "without " } else { "" };
                    (one.span, format!("{without}{}", names.join(", ")))
                })
                .collect(),
            Body::Used(used, _) => used
                .iter()
                .map(|one| (one.span, folded(&one.name.text)))
                .collect(),
            _ => Vec::new(),
        };
        let own = match items.first() {
            Some((first, _)) => Span {
                end: line.word.span.end.max(
                    // An item beside the word is part of its line.
                    if self.line_end(line.word.span.end_byte()) > first.first_byte() {
                        first.end
                    } else {
                        0
                    },
                ),
                ..line.span
            },
            None => line.span,
        };
        let mut node = self.node(own, word.clone(), word);
        node.repeats = repeats;
        for (span, key) in items {
            if self.line_start(span.first_byte()) >= self.done {
                let item = self.node(span, key.clone(), key);
                node.children.push(item);
            }
        }
        node
    }

    fn node(&mut self, span: Span, key: String, said: String) -> Node {
        let from = self.line_start(span.first_byte()).max(self.done);
        let to = self.line_end(span.end_byte()).max(from);
        let piece = |from: usize, to: usize| self.text.get(from..to).unwrap_or_default().to_owned();
        let node = Node {
            key,
            said,
            is_formula: false,
            repeats: false,
            lead: piece(self.done, from),
            body: piece(from, to),
            words: syntax::said(self.text, span, &self.tree.comments),
            children: Vec::new(),
        };
        self.done = to;
        node
    }

    fn line_start(&self, at: usize) -> usize {
        let before = self.text.get(..at).unwrap_or_default();
        before.rfind('\n').map_or(0, |end| end.saturating_add(1))
    }

    fn line_end(&self, at: usize) -> usize {
        let after = self.text.get(at..).unwrap_or_default();
        after
            .find('\n')
            .map_or(self.text.len(), |end| at.saturating_add(end).saturating_add(1))
    }
}
