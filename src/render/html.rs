//! Turns a document into one web page that needs nothing but itself: no script, no other file.
//!
//! The markup is well-formed XML too, so that a strict reader can check it. Whoever reads it aloud
//! finds a language, landmarks, headings in order, and a name for every table and picture.

mod amounts;
mod label;
mod picture;
pub mod site;
mod table;
mod writer;

use super::{Block, Document, Form, Note, NoteKind, TreeLine};
pub use label::labels;
use writer::Writer;

/// Documents as web pages.
pub const FORM: Form = Form {
    name: "html",
    purpose: "A web page in one file, for a browser or to print",
    print: |document, _| print(document),
};

/// The look of every page.
const STYLE: &str = include_str!("html/page.css");

/// What a leaflet has beside it.
const LEAFLET: &str = include_str!("html/leaflet.css");

/// Should anything from a file ever get through after all, it still may do nothing.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; form-action 'none'; base-uri 'none'";

/// Begins a page: all of its head but the style, which is left open.
fn opening(writer: &mut Writer, title: &str, policy: &str) {
    writer
        .raw("<!DOCTYPE html>\n")
        .open("html", &[("lang", "en"), ("dir", "ltr")])
        .open("head", &[])
        .leaf("meta", &[("charset", "utf-8")])
        .leaf(
            "meta",
            &[
                ("name", "viewport"),
                ("content", "width=device-width, initial-scale=1"),
            ],
        )
        .leaf("meta", &[("name", "color-scheme"), ("content", "light dark")])
        .leaf(
            "meta",
            &[("http-equiv", "Content-Security-Policy"), ("content", policy)],
        )
        .element("title", &[], title);
}

/// What a page is called whose document has no title.
const UNTITLED: &str = "scruple";

/// Prints a document as a page.
pub fn print(document: &Document) -> String {
    print_with(document, "")
}

/// Prints a document as a leaflet: on paper in two columns, with a line to fold it at.
pub fn leaflet(document: &Document) -> String {
    print_with(document, LEAFLET)
}

/// Prints a document as a page, with more to say about its look.
fn print_with(document: &Document, style: &'static str) -> String {
    let mut page = Page::default();
    page.head(document, style);
    let (body, foot) = parts(&document.blocks);
    page.writer.open("body", &[]).open("main", &[]);
    if !matches!(body.first(), Some(Block::Title(_))) {
        page.writer.element("h1", &[("class", "unseen")], UNTITLED);
        UNTITLED.clone_into(&mut page.above);
    }
    for block in body {
        page.block(block);
    }
    page.end_section();
    page.writer.close();
    if !foot.is_empty() {
        page.writer.open("footer", &[]);
        for block in foot {
            page.block(block);
        }
        page.writer.close();
    }
    page.writer.finish()
}

/// The document without the small print at its end, and that.
fn parts(blocks: &[Block]) -> (&[Block], &[Block]) {
    let small = blocks
        .iter()
        .rev()
        .take_while(|block| matches!(block, Block::SmallPrint(_)))
        .count();
    blocks
        .split_at_checked(blocks.len().saturating_sub(small))
        .unwrap_or((blocks, &[]))
}

/// A page that is being written.
#[derive(Default)]
struct Page {
    writer: Writer,
    /// The nearest title or heading above, by which tables are named.
    above: String,
    /// Whether a section is open.
    in_section: bool,
    /// How many names have been given to elements.
    names: usize,
}

impl Page {
    fn head(&mut self, document: &Document, style: &'static str) {
        let title = document.blocks.iter().find_map(|block| match block {
            Block::Title(text) => Some(text.as_str()),
            _ => None,
        });
        opening(&mut self.writer, title.unwrap_or(UNTITLED), POLICY);
        self.writer
            .open("style", &[])
            .raw("\n")
            .raw(STYLE)
            .raw(style)
            .close()
            .close();
    }

    /// A name for an element that no other element of the page has.
    fn name(&mut self, kind: &str) -> String {
        self.names = self.names.saturating_add(1);
        format!("{kind}-{}", self.names)
    }

    fn end_section(&mut self) {
        if std::mem::take(&mut self.in_section) {
            self.writer.close();
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Title(text) => {
                self.end_section();
                self.above.clone_from(text);
                self.writer.element("h1", &[], text);
            }
            Block::Heading(text) => {
                self.end_section();
                self.above.clone_from(text);
                let name = self.name("part");
                self.writer
                    .open("section", &[("aria-labelledby", &name)])
                    .element("h2", &[("id", &name)], text);
                self.in_section = true;
            }
            Block::Paragraph(text) => {
                self.writer.element("p", &[], text);
            }
            Block::SmallPrint(text) => {
                self.writer.element("p", &[("class", "small")], text);
            }
            Block::Facts(facts) => self.facts(facts),
            Block::Table(table) => {
                let name = self.name("table");
                table::write(&mut self.writer, table, &self.above, &name);
            }
            Block::Notes(notes) => self.notes(notes),
            Block::Tree(lines) => self.tree(lines),
            Block::Preformatted(lines) => self.preformatted(lines),
            Block::Picture(picture) => {
                let name = self.name("picture");
                picture::write(&mut self.writer, picture, &name);
            }
        }
    }

    fn facts(&mut self, facts: &[(String, String)]) {
        if facts.is_empty() {
            return;
        }
        self.writer.open("dl", &[]);
        for (label, value) in facts {
            self.writer
                .open("div", &[])
                .element("dt", &[], label)
                .element("dd", &[], value)
                .close();
        }
        self.writer.close();
    }

    fn notes(&mut self, notes: &[Note]) {
        if notes.is_empty() {
            return;
        }
        let all_plain = notes.iter().all(|note| note.kind == NoteKind::Plain);
        // Lists whose marks are taken off say that they are lists, or some readers do not.
        self.writer.open("ul", &[("class", "notes"), ("role", "list")]);
        for note in notes {
            let class = match note.kind {
                NoteKind::Plain => "plain",
                NoteKind::Mind => "mind",
                NoteKind::Warning => "warning",
                NoteKind::Error => "error",
            };
            self.writer.open("li", &[("class", class)]);
            if !all_plain {
                self.writer
                    .open("strong", &[])
                    .raw(note.kind.word())
                    .raw(":")
                    .close()
                    .raw(" ");
            }
            self.writer.text(&note.text).close();
        }
        self.writer.close();
    }

    /// Lists in lists. However far a line is set in, it lies one list deeper than the line above at
    /// the most, so that no depth can bury the page.
    fn tree(&mut self, lines: &[TreeLine]) {
        let mut depths: Vec<usize> = Vec::new();
        for line in lines {
            let shallower = depths
                .iter()
                .rev()
                .take_while(|depth| **depth > line.depth)
                .count();
            // The outermost list stays open, whatever comes after it.
            let closed = shallower.min(depths.len().saturating_sub(1));
            for _ in 0..closed {
                self.writer.close().close();
                depths.pop();
            }
            if depths.last().is_none_or(|depth| *depth < line.depth) {
                let class = if depths.is_empty() { "tree" } else { "inner" };
                self.writer.open("ul", &[("class", class), ("role", "list")]);
                depths.push(line.depth);
            } else {
                self.writer.close();
            }
            self.writer.open("li", &[]).text(&line.text);
        }
        for _ in depths {
            self.writer.close().close();
        }
    }

    fn preformatted(&mut self, lines: &[String]) {
        if lines.is_empty() {
            return;
        }
        // It may be wider than a phone; then it scrolls in its own box, also by the keyboard.
        let name = format!("{}: lines as they are written", self.above);
        self.writer.open(
            "pre",
            &[("tabindex", "0"), ("role", "region"), ("aria-label", &name)],
        );
        for (at, line) in lines.iter().enumerate() {
            // A browser drops a line break that a block begins with, so an empty first line has two.
            if at > 0 || line.is_empty() {
                self.writer.raw("\n");
            }
            self.writer.text(line);
        }
        self.writer.close();
    }
}

#[cfg(test)]
mod tests;
