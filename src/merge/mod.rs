//! Turns three versions of a file into one: what two people changed since they both had the same text.
//!
//! Entries are merged by kind and name, the lines of an entry by their words, the items of a list by
//! what is taken. Changes to different lines come together; where both changed the same line, it
//! stands in the result twice, between marks. A formula to which both did something is one that
//! neither of them wrote: it is marked by a comment, and the merge counts as unfinished.

mod cut;
mod three;

use crate::difference;
use cut::{Cut, Node, Outline, cut, end_line};
use three::{Lists, Member, Piece, Whose, merged_lead};

pub use crate::syntax::merged::{LOOK, LOOK_AT_ALL};

/// The byte order mark that some editors put before a text.
const MARK: char = '\u{feff}';

/// The three versions of a text.
#[derive(Debug, Clone, Copy)]
pub struct Versions<'a> {
    /// What both began with; empty where there was none.
    pub base: &'a str,
    /// Ours.
    pub ours: &'a str,
    /// Theirs.
    pub theirs: &'a str,
}

/// What the marks around a conflict look like.
#[derive(Debug, Clone)]
pub struct Marks {
    /// How many signs a mark has; git's own have seven.
    pub size: usize,
    /// What our side is called.
    pub ours: String,
    /// What their side is called.
    pub theirs: String,
}

/// A merged text, and what a person must know of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Merged {
    /// The text.
    pub text: String,
    /// How many places stand twice, between marks.
    pub conflicts: usize,
    /// Formulas that both changed, so that the result is one that neither wrote.
    pub formulas: Vec<String>,
    /// Other entries in which both changed something.
    pub entries: Vec<String>,
    /// Entries that only we changed.
    pub only_ours: Vec<String>,
    /// Entries that only they changed.
    pub only_theirs: Vec<String>,
    /// Whether it was merged line by line, because it could not be read entry by entry.
    pub by_lines: bool,
}

impl Merged {
    /// Whether a person has to look before the result may be used.
    pub fn needs_a_person(&self) -> bool {
        self.conflicts > 0 || !self.formulas.is_empty() || self.by_lines
    }

    fn of(text: &str) -> Self {
        Self {
            text: text.to_owned(),
            ..Self::default()
        }
    }
}

/// Merges three versions of a text.
pub fn merge(versions: Versions<'_>, marks: &Marks) -> Merged {
    let Versions { base, ours, theirs } = versions;
    if ours == base || ours == theirs {
        return Merged::of(theirs);
    }
    if theirs == base {
        return Merged::of(ours);
    }
    // Marks and line ends are ours; they say nothing.
    let (base, theirs) = (like(base, ours), like(theirs, ours));
    let bare_ours = ours.trim_start_matches(MARK);
    let mut merged = by_entries(&base, bare_ours, &theirs, marks)
        .unwrap_or_else(|| by_lines(&base, bare_ours, &theirs, marks));
    if ours.contains("\r\n") {
        merged.text = merged.text.replace("\r\n", "\n").replace('\n', "\r\n");
    }
    if ours.starts_with(MARK) {
        merged.text.insert(0, MARK);
    }
    merged
}

/// A text without a mark before it, with the line ends of another.
fn like(text: &str, other: &str) -> String {
    let text = text.trim_start_matches(MARK);
    let plain = text.replace("\r\n", "\n");
    if other.contains("\r\n") {
        plain.replace('\n', "\r\n")
    } else if other.contains('\n') {
        plain
    } else {
        text.to_owned()
    }
}

/// Merges by entries; nothing where one of the texts can't be cut, or where the result would be
/// read otherwise than it was put together.
fn by_entries(base: &str, ours: &str, theirs: &str, marks: &Marks) -> Option<Merged> {
    let (base, ours, theirs) = (cut(base)?, cut(ours)?, cut(theirs)?);
    let lists = Lists {
        base: &base.entries,
        ours: &ours.entries,
        theirs: &theirs.entries,
    };
    let members = three::members(lists, 0)?;
    let mut merged = Merged::default();
    let mut pieces = Vec::new();
    for member in members {
        pieces.extend(described(member, &mut merged));
    }
    pieces.push(Piece::Settled(three::Side {
        text: merged_lead(&base.tail, &ours.tail, &theirs.tail),
        outline: Vec::new(),
    }));
    merged.conflicts = pieces
        .iter()
        .filter(|piece| matches!(piece, Piece::Conflict(..)))
        .count();
    for whose in [Whose::Ours, Whose::Theirs] {
        let (text, outline) = taken(&pieces, whose);
        if !reads_as(&text, &outline) {
            return None;
        }
    }
    merged.text = marked(&pieces, marks);
    Some(merged)
}

/// Notes what became of an entry; a formula that neither wrote gets its comment.
fn described(member: Member<'_>, merged: &mut Merged) -> Vec<Piece> {
    let Member {
        mut pieces,
        base,
        ours,
        theirs,
    } = member;
    let Some(node) = ours.or(theirs).or(base) else {
        return pieces;
    };
    let outline = |node: Option<&Node>| node.map_or_else(Vec::new, |node| node.outline(0));
    let (was, mine, other) = (outline(base), outline(ours), outline(theirs));
    if mine == was && other != was {
        merged.only_theirs.push(node.said.clone());
    } else if other == was && mine != was {
        merged.only_ours.push(node.said.clone());
    }
    let is_new = [Whose::Ours, Whose::Theirs].into_iter().any(|whose| {
        let (_, result) = taken(&pieces, whose);
        result != mine && result != other
    });
    if !is_new {
        return pieces;
    }
    if !node.is_formula {
        merged.entries.push(node.said.clone());
        return pieces;
    }
    merged.formulas.push(node.said.clone());
    // The first piece is what stands above the formula.
    if let Some(Piece::Settled(lead)) = pieces.first_mut()
        && !lead.text.lines().any(|line| line.trim() == LOOK)
    {
        end_line(&mut lead.text);
        lead.text.push_str(LOOK);
        lead.text.push('\n');
    }
    pieces
}

/// The text with one side's version of every conflict, and what it is meant to say.
fn taken(pieces: &[Piece], whose: Whose) -> (String, Outline) {
    let mut text = String::new();
    let mut outline = Vec::new();
    for piece in pieces {
        let side = match (piece, whose) {
            (Piece::Settled(side), _)
            | (Piece::Conflict(side, _), Whose::Ours)
            | (Piece::Conflict(_, side), Whose::Theirs) => side,
        };
        if !side.text.is_empty() {
            end_line(&mut text);
        }
        text.push_str(&side.text);
        outline.extend(side.outline.iter().cloned());
    }
    (text, outline)
}

/// Whether a text is read as it is meant.
fn reads_as(text: &str, meant: &Outline) -> bool {
    cut(text).is_some_and(|Cut { entries, .. }| {
        let said: Outline = entries.iter().flat_map(|entry| entry.outline(0)).collect();
        said == *meant
    })
}

/// The text with every conflict between marks.
fn marked(pieces: &[Piece], marks: &Marks) -> String {
    let mark = |sign: &str, label: &str| {
        let label = cut::single_blanks(label);
        format!("{} {label}", sign.repeat(marks.size))
            .trim_end()
            .to_owned()
            + "\n"
    };
    let mut text = String::new();
    let mut push = |piece: &str| {
        if !piece.is_empty() {
            end_line(&mut text);
            text.push_str(piece);
        }
    };
    for piece in pieces {
        match piece {
            Piece::Settled(side) => push(&side.text),
            Piece::Conflict(ours, theirs) => {
                push(&mark("<", &marks.ours));
                push(&ours.text);
                push(&mark("=", ""));
                push(&theirs.text);
                push(&mark(">", &marks.theirs));
            }
        }
    }
    text
}

/// Merges line by line; always for a person to look at.
fn by_lines(base: &str, ours: &str, theirs: &str, marks: &Marks) -> Merged {
    let (text, conflicts) =
        difference::merged_lines([base, ours, theirs], marks.size, [&marks.ours, &marks.theirs]);
    let text = if text.lines().any(|line| line.trim() == LOOK_AT_ALL) {
        text
    } else {
        format!("{LOOK_AT_ALL}\n{text}")
    };
    Merged {
        text,
        conflicts,
        by_lines: true,
        ..Merged::default()
    }
}
