//! Turns a place in a text that is being typed into what may stand there.
//!
//! A line that is only half typed has no tree yet, so this looks at the text: at the first line of
//! the entry, at how far lines are indented, at the line word, at what stands before the cursor.

use super::Here;
use super::amounts::line_start;
use crate::syntax::tree::Kind;
use crate::syntax::words::{self, LineWord, Pattern};
use crate::syntax::written_lines;

/// What may stand at a place.
#[derive(Debug)]
pub enum Context<'t> {
    /// The word that opens an entry.
    Kind(Typed<'t>),
    /// What follows it.
    Head(Kind, Typed<'t>),
    /// A line word.
    LineWord(Kind, Typed<'t>),
    /// What follows a line word.
    Value(Kind, &'static LineWord, Typed<'t>),
    /// A line of a list: of what is taken or was used.
    Item(Pattern, Typed<'t>),
    /// Nothing that is known beforehand: a comment, or free words.
    Nothing,
}

/// What is typed already, from where it counts up to the cursor.
#[derive(Debug, Clone, Copy)]
pub struct Typed<'t> {
    /// The words, blanks at the end kept.
    pub words: &'t str,
    /// The byte of the file at which they begin.
    pub start: usize,
}

impl Typed<'_> {
    /// What is left of it from a byte of it on.
    pub fn from(self, at: usize) -> Self {
        Self {
            words: self.words.get(at..).unwrap_or_default(),
            start: self.start.saturating_add(at),
        }
    }

    /// The same without blanks before it.
    pub fn trimmed(self) -> Self {
        let bare = self.words.trim_start_matches(is_blank);
        self.from(self.words.len().saturating_sub(bare.len()))
    }

    /// What stands behind the last of some letter, without blanks before it.
    pub fn after_last(self, letter: char) -> Self {
        match self.words.rfind(letter) {
            Some(at) => self.from(at.saturating_add(letter.len_utf8())).trimmed(),
            None => self,
        }
    }
}

pub fn is_blank(letter: char) -> bool {
    matches!(letter, ' ' | '\t' | '\u{a0}')
}

/// What may stand at a place.
pub fn context<'a>(here: &Here<'a>) -> Context<'a> {
    let text = here.text();
    let start = line_start(text, here.at);
    let Some(typed) = text.get(start..here.at) else {
        return Context::Nothing;
    };
    let own = written_lines(here.file, typed).next();
    if own.as_ref().is_some_and(|line| line.comment.is_some()) {
        return Context::Nothing;
    }
    let typed = Typed { words: typed, start };
    let above = text.get(..start).unwrap_or_default();
    if !typed.words.starts_with(is_blank) {
        return in_the_first_column(typed);
    }
    let Some((kind, entry)) = entry_above(above) else {
        return Context::Nothing;
    };
    let indent = own.map_or(0, |line| line.indent);
    let Above { word, goes_on, items } = lines_above(here, kind, entry, indent);
    match (word, goes_on || items) {
        (Some(word), true) if matches!(word.pattern, Pattern::Take | Pattern::Used) => {
            Context::Item(word.pattern, typed.trimmed())
        }
        (Some(word), true) => Context::Value(kind, word, typed.trimmed()),
        _ => in_a_line(kind, typed.trimmed()),
    }
}

fn in_the_first_column(typed: Typed<'_>) -> Context<'_> {
    match typed.words.find(is_blank) {
        None => Context::Kind(typed),
        Some(end) => {
            let word = typed.words.get(..end).unwrap_or_default();
            match kind_named(word) {
                Some(kind) => Context::Head(kind, typed.from(end).trimmed()),
                None => Context::Nothing,
            }
        }
    }
}

fn in_a_line(kind: Kind, typed: Typed<'_>) -> Context<'_> {
    match words::find(kind, typed.words) {
        Some((word, taken)) if taken < typed.words.len() => {
            let rest = typed.from(taken).trimmed();
            match word.pattern {
                Pattern::Take | Pattern::Used => Context::Item(word.pattern, rest),
                // `heaped` may be on its way to `heaped teaspoon`.
                _ if is_longer_word(kind, typed.words) => Context::LineWord(kind, typed),
                _ => Context::Value(kind, word, rest),
            }
        }
        _ => Context::LineWord(kind, typed),
    }
}

fn is_longer_word(kind: Kind, typed: &str) -> bool {
    let typed = typed.to_lowercase();
    kind.line_words()
        .iter()
        .any(|word| word.word.len() > typed.len() && word.word.starts_with(&typed) && !typed.ends_with("  "))
}

fn kind_named(word: &str) -> Option<Kind> {
    Kind::ALL
        .into_iter()
        .find(|kind| kind.word().eq_ignore_ascii_case(word))
}

/// The kind of the entry that stands above, and its text from its first line on.
fn entry_above(above: &str) -> Option<(Kind, &str)> {
    let mut from = above.len();
    for line in above.rsplit_inclusive_lines() {
        from = from.saturating_sub(line.len());
        let opens = line
            .chars()
            .next()
            .is_some_and(|letter| !is_blank(letter) && !matches!(letter, '#' | '\n' | '\r' | '\u{feff}'));
        if opens {
            let word = line
                .split(|letter: char| letter.is_whitespace())
                .next()
                .unwrap_or_default();
            return Some((kind_named(word)?, above.get(from..)?));
        }
    }
    None
}

trait Lines {
    fn rsplit_inclusive_lines(&self) -> std::iter::Rev<std::str::SplitInclusive<'_, char>>;
}

impl Lines for str {
    fn rsplit_inclusive_lines(&self) -> std::iter::Rev<std::str::SplitInclusive<'_, char>> {
        self.split_inclusive('\n').rev()
    }
}

/// What the lines above say about a line.
struct Above {
    /// The line word of the line above that is indented least.
    word: Option<&'static LineWord>,
    /// Whether the last line goes on in this one.
    goes_on: bool,
    /// Whether this one is indented further, so that it belongs to it.
    items: bool,
}

fn lines_above(here: &Here<'_>, kind: Kind, entry: &str, indent: usize) -> Above {
    let mut word = None;
    let mut top: Option<usize> = None;
    let mut goes_on = false;
    for line in written_lines(here.file, entry).skip(1) {
        let said = entry
            .get(line.content.first_byte()..line.content.end_byte())
            .unwrap_or_default();
        if said.is_empty() {
            continue;
        }
        let belongs = goes_on || top.is_some_and(|top| line.indent > top);
        if !belongs {
            word = words::find(kind, said).map(|(word, _)| word);
            top = Some(line.indent);
        }
        goes_on = said.ends_with(',');
    }
    Above {
        word,
        goes_on,
        items: top.is_some_and(|top| indent > top),
    }
}
