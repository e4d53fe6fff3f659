//! Turns a document into text for a terminal, set like a page of a printed formulary.

mod facts;
mod fit;
mod line;
mod picture;
mod table;
mod wrap;

use super::{Block, Document, Form, Note, NoteKind, Page, TreeLine, escape};
use line::{Ink, Line};

/// Running text is not set wider than this, because the eye loses its way back in longer lines.
const WIDEST_TEXT: usize = 100;
/// A page is not set narrower than this; there is nothing to read on such a page.
const NARROWEST_PAGE: usize = 10;
/// The blanks by which each step of a tree is set in.
const STEP: usize = 2;

/// Documents as text.
pub const FORM: Form = Form {
    name: "text",
    purpose: "For people, on a screen",
    print,
};

impl Page {
    /// The width of running text.
    fn measure(&self) -> usize {
        self.width.min(WIDEST_TEXT)
    }
}

/// The signs of our own typography in plain letters; names of any script stay what they are.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '×' => out.push('x'),
            '–' | '—' | '−' => out.push('-'),
            '…' => out.push_str("..."),
            '→' => out.push_str("->"),
            '’' | '‘' => out.push('\''),
            '“' | '”' => out.push('"'),
            _ => out.push(letter),
        }
    }
    out
}

/// Prints a document. No line is wider than the page or ends in a blank.
pub fn print(document: &Document, page: &Page) -> String {
    let page = Page {
        width: page.width.max(NARROWEST_PAGE),
        ..*page
    };
    let safe = document.map_text(|text| {
        let safe = escape::terminal(text).into_owned();
        if page.unicode { safe } else { plain(&safe) }
    });
    let set: Vec<_> = safe
        .blocks
        .iter()
        .map(|block| (block, set(block, &page)))
        .filter(|(_, lines)| !lines.is_empty())
        .collect();
    let widest = set
        .iter()
        .flat_map(|(_, lines)| lines)
        .map(Line::columns)
        .max()
        .unwrap_or(0);

    let mut out = String::new();
    let mut above = None;
    for (block, lines) in set {
        out.push_str(blank_lines(above, block));
        for line in lines {
            line.print(page.colour, &mut out);
        }
        if let Block::Title(_) = block {
            Line::rule(widest, page.unicode).print(page.colour, &mut out);
        }
        above = Some(block);
    }
    out
}

/// What parts a block from the one above: a blank line, and one more before a heading, so that a
/// heading belongs to what follows even where it cannot be bold.
fn blank_lines(above: Option<&Block>, block: &Block) -> &'static str {
    match (above, block) {
        (None, _) => "",
        (Some(Block::Title(_) | Block::Heading(_)), _) => "\n",
        (Some(_), Block::Title(_) | Block::Heading(_)) => "\n\n",
        (Some(_), _) => "\n",
    }
}

fn set(block: &Block, page: &Page) -> Vec<Line> {
    let width = page.measure();
    match block {
        Block::Title(text) | Block::Heading(text) => running(text, Ink::Bold, width),
        Block::Paragraph(text) => running(text, Ink::Plain, width),
        Block::SmallPrint(text) => running(text, Ink::Dim, width),
        Block::Facts(facts) => facts::set(facts, width),
        Block::Table(table) => table::set(table, page),
        Block::Notes(notes) => set_notes(notes, page),
        Block::Tree(lines) => lines.iter().flat_map(|line| branch(line, width)).collect(),
        Block::Preformatted(lines) => lines
            .iter()
            .flat_map(|line| preformatted(line, page.width))
            .collect(),
        Block::Picture(picture) => picture::set(picture, page),
    }
}

fn running(text: &str, ink: Ink, width: usize) -> Vec<Line> {
    wrap::wrap(text, width, width)
        .into_iter()
        .map(|line| Line::new(ink, line))
        .collect()
}

/// Sets remarks with their words in a column of their own, or as a plain list where none needs one.
fn set_notes(notes: &[Note], page: &Page) -> Vec<Line> {
    let all_plain = notes.iter().all(|note| note.kind == NoteKind::Plain);
    let marks: Vec<_> = notes
        .iter()
        .map(|note| match (all_plain, page.unicode) {
            (false, _) => format!("{}:", note.kind.word()),
            (true, true) => String::from("–"),
            (true, false) => String::from("-"),
        })
        .collect();
    let column = marks.iter().map(|mark| wrap::columns(mark)).max();
    let column = column.unwrap_or(0).saturating_add(1);
    // On a narrow page the text runs on under the mark, or it would have no room at all.
    let (hang, start) = if column.saturating_mul(4) <= page.measure() {
        (column, Some(column))
    } else {
        (2, None)
    };
    notes
        .iter()
        .zip(&marks)
        .flat_map(|(note, mark)| {
            let own = wrap::columns(mark).saturating_add(1);
            set_note(note, mark, start.unwrap_or(own), hang, page.measure())
        })
        .collect()
}

fn set_note(note: &Note, mark: &str, start: usize, hang: usize, width: usize) -> Vec<Line> {
    let ink = match note.kind {
        NoteKind::Plain => Ink::Plain,
        NoteKind::Mind => Ink::Bold,
        NoteKind::Warning => Ink::Warning,
        NoteKind::Error => Ink::Error,
    };
    let room = |indent: usize| width.saturating_sub(indent);
    let gap = wrap::blanks(start.saturating_sub(wrap::columns(mark)));
    let mut lines = wrap::wrap(&note.text, room(start), room(hang)).into_iter();
    let first = lines.next().unwrap_or_default();
    let head = Line::new(ink, mark).then(Ink::Plain, gap + &first);
    std::iter::once(head)
        .chain(lines.map(|line| Line::plain(line).indented(hang)))
        .collect()
}

/// Sets a line of a tree; what does not fit goes on further in than the next step would.
fn branch(line: &TreeLine, width: usize) -> Vec<Line> {
    let deepest = width.checked_div(2).unwrap_or(0);
    let indent = line.depth.saturating_mul(STEP).min(deepest);
    let hang = indent
        .saturating_add(STEP.saturating_mul(2))
        .min(deepest.saturating_add(STEP));
    let room = |indent: usize| width.saturating_sub(indent);
    wrap::wrap(&line.text, room(indent), room(hang))
        .into_iter()
        .enumerate()
        .map(|(at, text)| Line::plain(text).indented(if at == 0 { indent } else { hang }))
        .collect()
}

/// Keeps a line as it is if there is room; else wraps it at its own indent.
fn preformatted(line: &str, width: usize) -> Vec<Line> {
    if wrap::columns(line) <= width {
        return vec![Line::plain(line)];
    }
    let text = line.trim_start_matches(' ');
    let indent = line.len().saturating_sub(text.len());
    let indent = indent.min(width.checked_div(2).unwrap_or(0));
    let room = width.saturating_sub(indent);
    let lines = wrap::wrap(text, room, room);
    if lines.is_empty() {
        // A line of blanks only is still a line.
        return vec![Line::empty()];
    }
    lines
        .into_iter()
        .map(|line| Line::plain(line).indented(indent))
        .collect()
}

#[cfg(test)]
mod tests;
