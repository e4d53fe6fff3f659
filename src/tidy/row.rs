//! Turns the lines of entries into rows: what begins where, and in which columns it is set.

use super::words::{Sort, Word};
use crate::render::columns;
use crate::syntax::tree::{Body, Entry, Ingredient, Kind, Line};
use crate::syntax::words::opens_with;

/// The column of amounts below `take` and `used`.
const AMOUNTS: usize = 34;
/// The column of roles, and of comments behind items and heads.
const ROLES: usize = 55;
/// How far behind the column of values comments stand.
const COMMENTS: usize = 30;

/// What a row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// The first line of an entry.
    Head,
    /// A line of an entry.
    Line,
    /// An item of a list.
    Item,
}

impl Level {
    /// How far such a row is indented.
    pub fn indent(self) -> usize {
        match self {
            Self::Head => 0,
            Self::Line => 2,
            Self::Item => 4,
        }
    }
}

/// How a colon is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Colons {
    /// `1 : 1 : 2`
    Apart,
    /// `1:5`
    Close,
    /// `reflux: may worsen heartburn`
    Behind,
}

/// A line of an entry as the language sees it; it may go on over several lines of the file.
#[derive(Debug)]
pub struct Row {
    /// The byte where it begins.
    pub start: usize,
    /// What it is.
    pub level: Level,
    /// Which entry it belongs to.
    pub entry: usize,
    /// Whether its text is prose, however long: then its source takes no part in the column.
    pub is_prose: bool,
    /// The word that opens it, and the byte where what follows begins.
    opens: Option<(String, usize)>,
    /// Where what follows the word stands; nothing where one blank parts them.
    values: Option<usize>,
    colons: Colons,
    /// Where the amount begins.
    amount_at: Option<usize>,
    /// Where the words of the role begin.
    role_at: Option<usize>,
}

/// The rows of an entry, in the order of the text.
pub fn of(entry: &Entry, at: usize, rows: &mut Vec<Row>) {
    let kind = entry.kind.word();
    rows.push(Row {
        start: entry.head.first_byte(),
        level: Level::Head,
        entry: at,
        is_prose: false,
        opens: Some((kind.to_owned(), entry.kind_span.end_byte())),
        values: None,
        colons: Colons::Behind,
        amount_at: None,
        role_at: None,
    });
    for line in &entry.lines {
        rows.push(of_line(entry.kind, line, at));
        match &line.body {
            Body::Take(list, _) => rows.extend(list.iter().map(|item| of_ingredient(item, at))),
            Body::Used(list, _) => rows.extend(list.iter().map(|item| {
                let amount_at = item.portions.first().map(|(amount, _)| amount.span.first_byte());
                of_item(item.span.first_byte(), amount_at, None, at)
            })),
            _ => {}
        }
    }
}

fn of_line(kind: Kind, line: &Line, at: usize) -> Row {
    // Whoever reads `take thyme herb 100 g` or `adapts chest tea` reads a sentence.
    let is_sentence = match &line.body {
        Body::Take(..) | Body::Used(..) | Body::Adapts(..) => true,
        Body::Names(_) => kind == Kind::Formula && line.word.text == "person",
        _ => false,
    };
    Row {
        start: line.span.first_byte(),
        level: Level::Line,
        entry: at,
        is_prose: line.word.text == "note",
        opens: Some((line.word.text.clone(), line.word.span.end_byte())),
        values: (!is_sentence).then(|| values(kind)),
        colons: match &line.body {
            Body::Take(..) => Colons::Apart,
            Body::Preparation(_) => Colons::Close,
            _ => Colons::Behind,
        },
        amount_at: None,
        role_at: None,
    }
}

fn of_ingredient(item: &Ingredient, at: usize) -> Row {
    of_item(
        item.span.first_byte(),
        item.amount.as_ref().map(|amount| amount.span.first_byte()),
        item.role.as_ref().map(|role| role.span.first_byte()),
        at,
    )
}

fn of_item(start: usize, amount_at: Option<usize>, role_at: Option<usize>, entry: usize) -> Row {
    Row {
        start,
        level: Level::Item,
        entry,
        is_prose: false,
        opens: None,
        values: Some(AMOUNTS),
        colons: Colons::Apart,
        amount_at,
        role_at,
    }
}

/// The column in which what follows a line word stands: herbs have longer line words.
fn values(kind: Kind) -> usize {
    match kind {
        Kind::Herb | Kind::Material => 20,
        _ => 15,
    }
}

impl Row {
    /// The column of a comment behind it.
    pub fn comments(&self) -> usize {
        match (self.level, self.values) {
            (Level::Line, Some(values)) => values.saturating_add(COMMENTS),
            (Level::Line, None) => values(Kind::Formula).saturating_add(COMMENTS),
            _ => ROLES,
        }
    }

    /// How far a line is indented that goes on with this row, its own text beginning at a byte.
    pub fn goes_on(&self, at: usize) -> usize {
        match (self.level, self.amount_at) {
            (Level::Item, Some(amount)) if amount >= at => 6,
            (Level::Item, _) => AMOUNTS,
            _ => self.values.unwrap_or(values(Kind::Formula)),
        }
    }

    /// Sets a line of the row: the first, which begins with its word, or one that goes on at a byte.
    pub fn set(&self, words: &[Word], goes_on: Option<usize>) -> String {
        let mut line = " ".repeat(match goes_on {
            Some(at) => self.goes_on(at),
            None => self.level.indent(),
        });
        let mut words = words;
        if goes_on.is_none()
            && let Some((opens, _)) = &self.opens
        {
            line.push_str(opens);
            let Some((first, rest)) = words.split_first() else {
                return line;
            };
            self.gap_before_value(first, &mut line);
            line.push_str(&first.text);
            words = rest;
            self.run(Some(first), words, &mut line);
        } else {
            self.run(None, words, &mut line);
        }
        line
    }

    /// Where the words of the row's first line begin, behind the word that opens it.
    pub fn words_from(&self) -> usize {
        self.opens.as_ref().map_or(self.start, |(_, end)| *end)
    }

    fn gap_before_value(&self, first: &Word, line: &mut String) {
        // Behind two blanks `source` would say where the line comes from.
        let reads_as_source = opens_with(&first.text, "source").is_some();
        match self.values {
            Some(values) if !reads_as_source => {
                // A word that just fits keeps one blank, a longer one stands out by two.
                let fits = columns(line) < values;
                pad(line, values, if fits { 1 } else { 2 });
            }
            _ => line.push(' '),
        }
    }

    fn run(&self, first: Option<&Word>, words: &[Word], line: &mut String) {
        let mut before = first;
        for (place, word) in words.iter().enumerate() {
            let opens_role = words
                .get(place.saturating_add(1))
                .is_some_and(|next| self.role_at == Some(next.at) && next.sort == Sort::Own);
            match before {
                None => {}
                // The amount may begin with a `q.s.` that was left out: it has the same place.
                Some(last) if self.amount_at == Some(word.at) && last.at < word.at => pad(line, AMOUNTS, 2),
                Some(_) if opens_role && self.level == Level::Item => pad(line, ROLES, 2),
                Some(last) if self.is_close(last, word) => {}
                Some(_) => line.push(' '),
            }
            line.push_str(&word.text);
            before = Some(word);
        }
    }

    /// Whether no blank stands between two words.
    fn is_close(&self, last: &Word, word: &Word) -> bool {
        let after_colon = last.sort == Sort::Colon && self.colons == Colons::Close;
        match word.sort {
            Sort::Comma => true,
            Sort::Colon => self.colons != Colons::Apart,
            Sort::Measure | Sort::Small if word.text == "%" => true,
            // A blank before it would make it a comment.
            _ => after_colon || word.text.starts_with('#'),
        }
    }
}

/// Fills a line up to a column, by so many blanks at the least.
pub fn pad(line: &mut String, column: usize, least: usize) {
    let blanks = column.saturating_sub(columns(line)).max(least);
    line.extend(std::iter::repeat_n(' ', blanks));
}
