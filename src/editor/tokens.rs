//! Turns a file into its words by what they are, so that an editor may colour them as it colours anything.

use super::mentions::{self, Meanings, Thing};
use super::tree;
use crate::source::{FileId, Span};
use crate::syntax::tree::Body;
use crate::syntax::walk::{self, Piece};
use crate::workspace::Snapshot;

/// What a piece of text is: of the kinds that every editor's theme knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The word that opens an entry.
    Keyword,
    /// The word that opens a line.
    Property,
    /// A herb or material.
    Class,
    /// A formula.
    Function,
    /// A source.
    Namespace,
    /// A topic of cautions, or a fact.
    EnumMember,
    /// A person, a lot, a set.
    Variable,
    /// A number.
    Number,
    /// A measure.
    Type,
    /// Free words.
    String,
    /// A role.
    Modifier,
    /// A comment.
    Comment,
}

impl Kind {
    /// All kinds, each at the place of its number.
    pub const ALL: [Self; 12] = [
        Self::Keyword,
        Self::Property,
        Self::Class,
        Self::Function,
        Self::Namespace,
        Self::EnumMember,
        Self::Variable,
        Self::Number,
        Self::Type,
        Self::String,
        Self::Modifier,
        Self::Comment,
    ];
}

/// A piece of text within one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Token {
    /// Where.
    pub span: Span,
    /// What it is.
    pub kind: Kind,
    /// Whether something gets its name here.
    pub declares: bool,
}

/// What is known of a file, as colours one over the other: the later covers the earlier.
struct Paint {
    span: Span,
    kind: Kind,
    declares: bool,
}

/// The pieces of a file in their order, none over another.
pub fn tokens(snapshot: &Snapshot, file: FileId) -> Vec<Token> {
    let (Some(source), Some(tree)) = (snapshot.sources.get(file), tree(snapshot, file)) else {
        return Vec::new();
    };
    let meanings = Meanings::of(&snapshot.ledger);
    let mut found: Vec<Token> = Vec::new();
    for entry in &tree.entries {
        let mut paints: Vec<Paint> = Vec::new();
        let mut put = |span: Span, kind: Kind| {
            paints.push(Paint {
                span,
                kind,
                declares: false,
            });
        };
        let mut copy = entry.clone();
        let mut measures: Vec<Span> = Vec::new();
        walk::entry(&mut copy, &mut |piece| match piece {
            Piece::Own(span) => put(*span, Kind::String),
            Piece::Amount(span) => put(*span, Kind::Number),
            Piece::Measure(name, _) => measures.push(name.span),
            Piece::Opens(span) if span.start == entry.kind_span.start => put(*span, Kind::Keyword),
            Piece::Opens(span) => put(*span, Kind::Property),
            Piece::Source(span) => put(*span, Kind::Namespace),
            Piece::Whole(_) => {}
        });
        for span in measures {
            put(span, Kind::Type);
        }
        if let Some(date) = &entry.date {
            put(date.span, Kind::Number);
        }
        for line in &entry.lines {
            match &line.body {
                Body::Take(items, _) => {
                    let roles = items.iter().filter_map(|item| item.role.as_ref());
                    roles.for_each(|role| put(role.span, Kind::Modifier));
                }
                Body::Date(date) => put(date.span, Kind::Number),
                _ => {}
            }
        }
        for mention in mentions::of_entry(&source.text, entry) {
            if let Some(thing) = meanings.meant(&mention) {
                paints.push(Paint {
                    span: mention.name.span,
                    kind: kind_of(thing),
                    declares: mention.declares,
                });
            }
        }
        flatten(&paints, entry.span, &mut found);
    }
    found.extend(tree.comments.iter().map(|comment| Token {
        span: *comment,
        kind: Kind::Comment,
        declares: false,
    }));
    found.sort_by_key(|token| token.span);
    let lines = found
        .into_iter()
        .flat_map(|token| within_lines(&source.text, token));
    let mut apart: Vec<Token> = Vec::new();
    for token in lines {
        // A comment may stand inside of words that go on below it.
        if apart.last().is_none_or(|last| last.span.end <= token.span.start) {
            apart.push(token);
        } else if token.kind == Kind::Comment
            && let Some(last) = apart.last_mut()
        {
            last.span.end = token.span.start;
            apart.push(token);
        }
    }
    apart.retain(|token| token.span.length() > 0);
    apart
}

fn kind_of(thing: Thing) -> Kind {
    match thing {
        Thing::Substance(_) => Kind::Class,
        Thing::Formula(_) => Kind::Function,
        Thing::Book(_) => Kind::Namespace,
        Thing::Topic(_) => Kind::EnumMember,
        Thing::Person(_) | Thing::Lot(_) | Thing::Set(_) => Kind::Variable,
    }
}

/// Lays colours over one another and gives what is seen.
fn flatten(paints: &[Paint], within: Span, found: &mut Vec<Token>) {
    let start = within.first_byte();
    let mut seen: Vec<Option<usize>> = vec![None; within.length()];
    for (at, paint) in paints.iter().enumerate() {
        let from = paint.span.first_byte().saturating_sub(start);
        let to = paint.span.end_byte().saturating_sub(start);
        for place in seen.iter_mut().take(to).skip(from) {
            *place = Some(at);
        }
    }
    let mut run: Option<(usize, usize)> = None;
    let mut close = |run: Option<(usize, usize)>, end: usize| {
        if let Some((from, at)) = run
            && let Some(paint) = paints.get(at)
        {
            found.push(Token {
                span: Span::new(within.file, start.saturating_add(from), start.saturating_add(end)),
                kind: paint.kind,
                declares: paint.declares,
            });
        }
    };
    for (offset, paint) in seen.iter().enumerate() {
        if run.map(|(_, at)| at) != *paint {
            close(run, offset);
            run = paint.map(|at| (offset, at));
        }
    }
    close(run, seen.len());
}

/// A token in pieces of one line each, without the blanks at their ends.
fn within_lines(text: &str, token: Token) -> Vec<Token> {
    let mut at = token.span.first_byte();
    let said = text.get(at..token.span.end_byte()).unwrap_or_default();
    let mut found = Vec::new();
    for line in said.split_inclusive(['\n', '\r']) {
        let start = at;
        at = at.saturating_add(line.len());
        let bare = line.trim_start();
        let start = start.saturating_add(line.len().saturating_sub(bare.len()));
        let bare = bare.trim_end();
        if !bare.is_empty() {
            found.push(Token {
                span: Span::new(token.span.file, start, start.saturating_add(bare.len())),
                ..token
            });
        }
    }
    found
}
