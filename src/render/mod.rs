//! Turns what a view has to say into a neutral document, which each form then prints in its own way.
//!
//! A [`Document`] holds plain text and structure only: no colours, no columns counted out, no
//! escapes. Text from files goes in raw; every form makes it safe in the way that its medium needs.
//! Nothing here knows a herb, an amount or a person, and nothing here calculates.

pub mod calendar;
pub mod code;
pub mod escape;
pub mod form;
pub mod html;
pub mod label;
pub mod markdown;
pub mod picture;
pub mod site;
pub mod spreadsheet;
pub mod text;

pub use form::{FORMS, Form, Page};
pub use picture::Picture;

/// A document: blocks, one under the other.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Document {
    /// The blocks in reading order.
    pub blocks: Vec<Block>,
}

/// One block of a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// The name of the whole document.
    Title(String),
    /// The name of what follows, up to the next heading.
    Heading(String),
    /// Running text.
    Paragraph(String),
    /// Labels and their values, in two columns.
    Facts(Vec<(String, String)>),
    /// Rows under headings.
    Table(Table),
    /// Remarks and cautions, the graver ones marked with a word.
    Notes(Vec<Note>),
    /// Lines set in by their depth: the working of a figure.
    Tree(Vec<TreeLine>),
    /// Lines that keep their own blanks.
    Preformatted(Vec<String>),
    /// A picture of figures that a table of the document holds too.
    Picture(Picture),
    /// Text that must be there and need not be read first.
    SmallPrint(String),
}

/// A table: columns and rows.
///
/// A row may have fewer cells than there are columns; what is missing is blank. Cells beyond the
/// last column are printed under a blank heading, so that nothing is lost.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// The columns from left to right.
    pub columns: Vec<Column>,
    /// The rows from top to bottom.
    pub rows: Vec<Row>,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// What stands above the column.
    pub heading: String,
    /// Where its cells line up.
    pub align: Align,
    /// Its rank when room is short: the highest number is left out first, 0 is never left out.
    pub importance: u8,
}

/// Where the cells of a column line up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Text, from the left edge. Only such cells are ever wrapped.
    Left,
    /// At the right edge.
    Right,
    /// At the decimal point of the first number in the cell.
    Decimal,
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The cells, one for each column.
    pub cells: Vec<String>,
    /// What the row is.
    pub style: RowStyle,
}

/// What a row of a table is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowStyle {
    /// An ordinary row.
    Plain,
    /// A total, ruled off from what it adds up.
    Total,
    /// A row of less weight than the others.
    Quiet,
    /// The heading of a group of rows: one cell over the whole width.
    Section,
}

/// A remark.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// How grave it is.
    pub kind: NoteKind,
    /// What it says.
    pub text: String,
}

/// How grave a remark is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteKind {
    /// Something to know.
    Plain,
    /// Something to keep in mind.
    Mind,
    /// Something that may do harm.
    Warning,
    /// Something that is wrong.
    Error,
}

/// A line of a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TreeLine {
    /// How many steps the line is set in; 0 is the outermost.
    pub depth: usize,
    /// What it says.
    pub text: String,
}

impl Document {
    /// A document without blocks.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a block.
    pub fn push(&mut self, block: Block) -> &mut Self {
        self.blocks.push(block);
        self
    }

    /// Adds a title.
    pub fn title(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Title(text.into()))
    }

    /// Adds a heading.
    pub fn heading(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Heading(text.into()))
    }

    /// Adds a paragraph.
    pub fn paragraph(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::Paragraph(text.into()))
    }

    /// Adds labels and their values.
    pub fn facts<L, V>(&mut self, facts: impl IntoIterator<Item = (L, V)>) -> &mut Self
    where
        L: Into<String>,
        V: Into<String>,
    {
        let facts = facts
            .into_iter()
            .map(|(label, value)| (label.into(), value.into()));
        self.push(Block::Facts(facts.collect()))
    }

    /// Adds a table.
    pub fn table(&mut self, table: Table) -> &mut Self {
        self.push(Block::Table(table))
    }

    /// Adds remarks.
    pub fn notes(&mut self, notes: impl IntoIterator<Item = Note>) -> &mut Self {
        self.push(Block::Notes(notes.into_iter().collect()))
    }

    /// Adds lines that are set in by their depth.
    pub fn tree(&mut self, lines: impl IntoIterator<Item = TreeLine>) -> &mut Self {
        self.push(Block::Tree(lines.into_iter().collect()))
    }

    /// Adds a picture.
    pub fn picture(&mut self, picture: Picture) -> &mut Self {
        self.push(Block::Picture(picture))
    }

    /// Adds text of which the lines and blanks are kept.
    pub fn preformatted(&mut self, text: &str) -> &mut Self {
        self.push(Block::Preformatted(text.lines().map(String::from).collect()))
    }

    /// Adds small print.
    pub fn small_print(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Block::SmallPrint(text.into()))
    }

    /// Adds the blocks of another document.
    pub fn append(&mut self, other: Document) -> &mut Self {
        self.blocks.extend(other.blocks);
        self
    }

    /// The same document with every piece of its text passed through `change` once.
    ///
    /// This is where a form makes text safe for its medium: in one place, before it lays anything
    /// out, so that no block can be forgotten and none is escaped twice.
    #[must_use]
    pub fn map_text(&self, change: impl Fn(&str) -> String) -> Self {
        let blocks = self.blocks.iter().map(|block| block.map_text(&change));
        Self {
            blocks: blocks.collect(),
        }
    }
}

impl Block {
    fn map_text(&self, change: &impl Fn(&str) -> String) -> Self {
        match self {
            Self::Title(text) => Self::Title(change(text)),
            Self::Heading(text) => Self::Heading(change(text)),
            Self::Paragraph(text) => Self::Paragraph(change(text)),
            Self::SmallPrint(text) => Self::SmallPrint(change(text)),
            Self::Facts(facts) => Self::Facts(
                facts
                    .iter()
                    .map(|(label, value)| (change(label), change(value)))
                    .collect(),
            ),
            Self::Table(table) => Self::Table(table.map_text(change)),
            Self::Notes(notes) => Self::Notes(
                notes
                    .iter()
                    .map(|Note { kind, text }| Note::new(*kind, change(text)))
                    .collect(),
            ),
            Self::Tree(lines) => Self::Tree(
                lines
                    .iter()
                    .map(|TreeLine { depth, text }| TreeLine::new(*depth, change(text)))
                    .collect(),
            ),
            Self::Preformatted(lines) => Self::Preformatted(lines.iter().map(|line| change(line)).collect()),
            Self::Picture(picture) => Self::Picture(picture.map_text(change)),
        }
    }
}

impl Table {
    /// A table without rows.
    pub fn new(columns: impl IntoIterator<Item = Column>) -> Self {
        Self {
            columns: columns.into_iter().collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row of any style.
    pub fn push(&mut self, row: Row) -> &mut Self {
        self.rows.push(row);
        self
    }

    /// Adds an ordinary row.
    pub fn row<C: Into<String>>(&mut self, cells: impl IntoIterator<Item = C>) -> &mut Self {
        self.push(Row::new(RowStyle::Plain, cells))
    }

    /// Adds a total.
    pub fn total<C: Into<String>>(&mut self, cells: impl IntoIterator<Item = C>) -> &mut Self {
        self.push(Row::new(RowStyle::Total, cells))
    }

    /// Adds a row of less weight.
    pub fn quiet<C: Into<String>>(&mut self, cells: impl IntoIterator<Item = C>) -> &mut Self {
        self.push(Row::new(RowStyle::Quiet, cells))
    }

    /// Adds the heading of a group of rows.
    pub fn section(&mut self, text: impl Into<String>) -> &mut Self {
        self.push(Row::new(RowStyle::Section, [text]))
    }

    fn map_text(&self, change: &impl Fn(&str) -> String) -> Self {
        Self {
            columns: self
                .columns
                .iter()
                .map(|column| Column {
                    heading: change(&column.heading),
                    ..*column
                })
                .collect(),
            rows: self
                .rows
                .iter()
                .map(|row| Row::new(row.style, row.cells.iter().map(|cell| change(cell))))
                .collect(),
        }
    }
}

impl Column {
    /// A column of text.
    pub fn left(heading: impl Into<String>) -> Self {
        Self::new(heading, Align::Left)
    }

    /// A column that is flush right.
    pub fn right(heading: impl Into<String>) -> Self {
        Self::new(heading, Align::Right)
    }

    /// A column of amounts, lined up at the decimal point.
    pub fn decimal(heading: impl Into<String>) -> Self {
        Self::new(heading, Align::Decimal)
    }

    /// The same column with another rank; see [`Column::importance`].
    #[must_use]
    pub fn with_importance(self, importance: u8) -> Self {
        Self { importance, ..self }
    }

    fn new(heading: impl Into<String>, align: Align) -> Self {
        Self {
            heading: heading.into(),
            align,
            importance: 0,
        }
    }
}

impl Row {
    /// A row of the given style.
    pub fn new<C: Into<String>>(style: RowStyle, cells: impl IntoIterator<Item = C>) -> Self {
        Self {
            cells: cells.into_iter().map(Into::into).collect(),
            style,
        }
    }
}

impl Note {
    /// A remark of the given kind.
    pub fn new(kind: NoteKind, text: impl Into<String>) -> Self {
        Self {
            kind,
            text: text.into(),
        }
    }

    /// Something to know.
    pub fn plain(text: impl Into<String>) -> Self {
        Self::new(NoteKind::Plain, text)
    }

    /// Something to keep in mind.
    pub fn mind(text: impl Into<String>) -> Self {
        Self::new(NoteKind::Mind, text)
    }

    /// Something that may do harm.
    pub fn warning(text: impl Into<String>) -> Self {
        Self::new(NoteKind::Warning, text)
    }

    /// Something that is wrong.
    pub fn error(text: impl Into<String>) -> Self {
        Self::new(NoteKind::Error, text)
    }
}

impl NoteKind {
    /// The word that marks a remark of this kind, so that no form has to lean on colour.
    pub fn word(self) -> &'static str {
        match self {
            Self::Plain => "Note",
            Self::Mind => "Mind",
            Self::Warning => "Warning",
            Self::Error => "Error",
        }
    }
}

impl TreeLine {
    /// A line at the given depth.
    pub fn new(depth: usize, text: impl Into<String>) -> Self {
        Self {
            depth,
            text: text.into(),
        }
    }
}

/// How many columns of a terminal a text takes.
pub fn columns(text: &str) -> usize {
    unicode_width::UnicodeWidthStr::width(text)
}

/// A cell as it divides at its decimal point: before and from it. `None` without a number.
///
/// The point comes after the first run of digits, whether or not it is written.
fn at_point(cell: &str) -> Option<(&str, &str)> {
    let start = cell.find(|character: char| character.is_ascii_digit())?;
    let (_, number) = cell.split_at_checked(start)?;
    let digits = number
        .find(|character: char| !character.is_ascii_digit())
        .unwrap_or(number.len());
    cell.split_at_checked(start.saturating_add(digits))
}

#[cfg(test)]
mod tests {
    use super::picture::{Measure, Moment, Pair};
    use super::*;

    #[test]
    fn the_point_follows_the_first_run_of_digits() {
        assert_eq!(at_point("1.5 to 2 g"), Some(("1", ".5 to 2 g")));
        assert_eq!(at_point("about 12 g"), Some(("about 12", " g")));
        assert_eq!(at_point("−0.25"), Some(("−0", ".25")));
        assert_eq!(at_point("7"), Some(("7", "")));
        assert_eq!(at_point("to the mark"), None);
        assert_eq!(at_point(""), None);
    }

    #[test]
    fn builders_keep_the_order_and_the_raw_text() {
        let mut document = Document::new();
        document
            .title("one")
            .facts([("two", "three")])
            .preformatted("four\n  five")
            .small_print("six\u{202e}");
        assert_eq!(
            document.blocks,
            [
                Block::Title("one".into()),
                Block::Facts(vec![("two".into(), "three".into())]),
                Block::Preformatted(vec!["four".into(), "  five".into()]),
                Block::SmallPrint("six\u{202e}".into()),
            ]
        );
    }

    #[test]
    fn map_text_reaches_every_piece_once_and_keeps_the_structure() {
        let build = |mark: &str| {
            let text = |word: &str| format!("{word}{mark}");
            let column = Column::decimal(text("heading")).with_importance(3);
            let mut table = Table::new([column]);
            table
                .row([text("cell")])
                .total([text("total")])
                .quiet([text("quiet")])
                .section(text("section"));
            let pairs = Picture::pairs(
                text("title"),
                text("axis"),
                [&text("was"), &text("is")],
                [Pair {
                    label: text("label"),
                    first: Measure::new(1, text("figure")),
                    second: Measure::nothing(text("none")),
                }],
            );
            let moment = Moment {
                label: text("moment"),
                shares: vec![Measure::new(2, text("share"))],
            };
            let through_time = Picture::through_time(text("title"), [text("part")], [moment]);
            let mut document = Document::new();
            document
                .title(text("title"))
                .heading(text("heading"))
                .paragraph(text("paragraph"))
                .facts([(text("label"), text("value"))])
                .table(table)
                .notes([Note::plain(text("plain")), Note::error(text("error"))])
                .tree([TreeLine::new(2, text("tree"))])
                .preformatted(&text("kept"))
                .picture(pairs)
                .picture(through_time)
                .small_print(text("small"));
            document
        };
        assert_eq!(build("").map_text(|text| format!("{text}!")), build("!"));
    }
}
