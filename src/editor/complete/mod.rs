//! Turns what is being typed into what may stand there: words of the language, and names of the ledger.

mod measures;
mod names;
mod values;

use std::collections::HashSet;

use super::Here;
use super::context::{self, Context, Typed};
use super::teach;
use crate::naming::folded;
use crate::source::Span;
use crate::syntax::tree::Kind;
use crate::syntax::words::{LineWord, Pattern};

/// More than this are not offered at once; typing on brings the others.
pub const MOST: usize = 300;

/// What sort of thing is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A word that opens an entry.
    Kind,
    /// A word that opens a line.
    LineWord,
    /// A herb or a material.
    Substance,
    /// A formula.
    Formula,
    /// A measure.
    Measure,
    /// A topic of cautions, or a fact of a person.
    Topic,
    /// A source.
    Source,
    /// A person's case code, or a lot.
    Person,
    /// A role.
    Role,
    /// Anything else that may stand there.
    Value,
    /// An example of the form, whose numbers are to be typed over.
    Example,
}

/// Something that may be typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// What people choose by.
    pub label: String,
    /// What is said beside it, in a few words.
    pub detail: Option<String>,
    /// What is said about it, in Markdown.
    pub about: Option<String>,
    /// What is written.
    pub insert: String,
    /// What it takes the place of, up to the cursor.
    pub replaced: Span,
    /// What it is.
    pub sort: Sort,
}

/// What may be typed at a place, the likeliest first; and whether there is more than is offered.
pub fn complete(here: &Here<'_>) -> (Vec<Completion>, bool) {
    let offers = &mut Offers {
        here,
        found: Vec::new(),
    };
    match context::context(here) {
        Context::Kind(typed) => kinds(offers, typed),
        Context::Head(kind, typed) => names::head(offers, kind, typed),
        Context::LineWord(kind, typed) => line_words(offers, kind, typed),
        Context::Value(kind, word, typed) => {
            if !names::cited(offers, typed) {
                values::after(offers, kind, word, typed);
            }
        }
        Context::Item(list, typed) => {
            if !names::cited(offers, typed) {
                measures::item(offers, list == Pattern::Take, typed);
            }
        }
        Context::Nothing => {}
    }
    let mut seen = HashSet::new();
    offers
        .found
        .retain(|one| seen.insert((one.label.clone(), one.replaced)));
    let more = offers.found.len() > MOST;
    offers.found.truncate(MOST);
    (std::mem::take(&mut offers.found), more)
}

/// What is offered so far.
struct Offers<'o, 'a> {
    here: &'o Here<'a>,
    found: Vec<Completion>,
}

impl Offers<'_, '_> {
    /// Offers something that takes the place of what is typed, if what is typed may become it.
    fn put(
        &mut self,
        typed: Typed<'_>,
        sort: Sort,
        label: &str,
        detail: Option<String>,
    ) -> Option<&mut Completion> {
        self.put_as(typed, sort, label, label, detail)
    }

    /// The same, with another text written.
    fn put_as(
        &mut self,
        typed: Typed<'_>,
        sort: Sort,
        label: &str,
        insert: &str,
        detail: Option<String>,
    ) -> Option<&mut Completion> {
        if !may_become(typed.words, label) {
            return None;
        }
        self.found.push(Completion {
            label: label.to_owned(),
            detail,
            about: None,
            insert: insert.to_owned(),
            replaced: Span::new(self.here.file, typed.start, self.here.at),
            sort,
        });
        self.found.last_mut()
    }

    /// Whether nothing but a comment stands behind the cursor in its line.
    fn at_line_end(&self) -> bool {
        let text = self.here.text();
        let end = super::amounts::line_end(text, self.here.at);
        let rest = text.get(self.here.at..end).unwrap_or_default().trim_start();
        rest.is_empty() || rest.starts_with('#')
    }
}

/// Whether what is typed begins a name, or a word in it.
fn may_become(typed: &str, name: &str) -> bool {
    let typed = folded(typed.trim_start_matches('"'));
    if typed.is_empty() {
        return true;
    }
    let name = folded(name);
    name.starts_with(&typed)
        || name.match_indices(' ').any(|(at, _)| {
            name.get(at.saturating_add(1)..)
                .is_some_and(|rest| rest.starts_with(&typed))
        })
}

fn kinds(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    for kind in Kind::ALL {
        let about = teach::kind(kind);
        let written = format!("{} ", kind.word());
        if let Some(offer) = offers.put_as(typed, Sort::Kind, kind.word(), &written, None) {
            offer.about = Some(about);
        }
    }
}

/// The column in which what follows a line word stands.
fn value_column(kind: Kind) -> usize {
    if matches!(kind, Kind::Herb | Kind::Material) {
        20
    } else {
        15
    }
}

fn line_words(offers: &mut Offers<'_, '_>, kind: Kind, typed: Typed<'_>) {
    let standing: Vec<&str> = offers
        .here
        .entry_above()
        .filter(|entry| entry.kind == kind)
        .into_iter()
        .flat_map(|entry| &entry.lines)
        .filter(|line| !offers.here.is_in(line.word.span))
        .map(|line| line.word.text.as_str())
        .collect();
    let all = kind.line_words();
    let open = |word: &&LineWord| word.repeats || !standing.contains(&word.word);
    // Words of one kind are taught in an order of their own; measures are many, so they come last.
    let is_measure = |word: &LineWord| word.pattern == Pattern::Weighing;
    let first = all.iter().filter(|word| !is_measure(word));
    let then = all.iter().filter(|word| is_measure(word));
    let ends = offers.at_line_end();
    for word in first.chain(then).filter(open) {
        let meaning = teach::line_word(kind, word.word);
        let written = match word.pattern {
            Pattern::Take | Pattern::Used | Pattern::Flag => word.word.to_owned(),
            _ if ends => {
                let width = value_column(kind).saturating_sub(2);
                format!("{:<width$}", format!("{} ", word.word))
            }
            _ => word.word.to_owned(),
        };
        let detail = meaning.as_ref().map(|meaning| meaning.says.clone());
        let detail = detail.filter(|says| !says.is_empty());
        if let Some(offer) = offers.put_as(typed, Sort::LineWord, word.word, &written, detail) {
            offer.about = Some(match meaning {
                Some(meaning) => format!("after it: {}\n\n{}", meaning.after, meaning.says),
                None => format!("after it: {}", word.pattern.example()),
            });
        }
    }
}
