//! Turns a tree into the names in it, each with what it may be the name of.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::HashMap;

use crate::compute::caution;
use crate::model::{Bound, FactKind, Ledger, Looked};
use crate::naming::{folded, same_but_for_number};
use crate::source::Span;
use crate::syntax::fold_blanks;
use crate::syntax::tree::{Body, Entry, Kind, Line, Name, Preparation, Subject};

/// What a name in a certain place may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A herb, a material or a formula.
    Taken,
    /// A source.
    Book,
    /// A person.
    Person,
    /// What a caution is about.
    Topic,
    /// A fact of a person, which a topic asks for.
    Fact(FactKind),
    /// A delivery.
    Lot,
    /// A teacher's set.
    Set,
}

/// Something that has a name, by its place in the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Thing {
    /// A herb or a material.
    Substance(usize),
    /// A formula.
    Formula(usize),
    /// A source.
    Book(usize),
    /// A person.
    Person(usize),
    /// A topic.
    Topic(usize),
    /// A delivery.
    Lot(usize),
    /// A set.
    Set(usize),
}

/// A name somewhere in a text.
#[derive(Debug, Clone)]
pub struct Mention<'t> {
    /// What it may name.
    pub sort: Sort,
    /// The name and its place, quotes included.
    pub name: Cow<'t, Name>,
    /// Whether the thing gets this name here.
    pub declares: bool,
}

/// The names in an entry, in no order.
pub fn of_entry<'t>(text: &str, entry: &'t Entry) -> Vec<Mention<'t>> {
    let mut found = Vec::new();
    let mut put = |sort: Sort, name: Cow<'t, Name>, declares: bool| {
        found.push(Mention { sort, name, declares });
    };
    if let Some(name) = &entry.name {
        let sort = match entry.kind {
            Kind::Herb | Kind::Material | Kind::Formula => Some((Sort::Taken, true)),
            Kind::Batch | Kind::Lot | Kind::Supply => Some((Sort::Taken, false)),
            Kind::Source => Some((Sort::Book, true)),
            Kind::Person => Some((Sort::Person, true)),
            Kind::Topic => Some((Sort::Topic, true)),
            Kind::Set => Some((Sort::Set, true)),
            Kind::Practice => None,
        };
        if let Some((sort, declares)) = sort {
            put(sort, Cow::Borrowed(name), declares);
        }
    }
    if let Some(id) = &entry.id {
        put(Sort::Lot, Cow::Borrowed(id), true);
    }
    for line in &entry.lines {
        of_line(text, entry.kind, line, &mut put);
    }
    found
}

type Put<'p, 't> = dyn FnMut(Sort, Cow<'t, Name>, bool) + 'p;

fn of_line<'t>(text: &str, kind: Kind, line: &'t Line, put: &mut Put<'_, 't>) {
    if let Some(source) = &line.source {
        put(Sort::Book, Cow::Borrowed(source), false);
    }
    match &line.body {
        Body::Names(names) => {
            let sort = match (kind, line.word.text.as_str()) {
                (Kind::Herb | Kind::Material, "also") => Some((Sort::Taken, true)),
                (Kind::Topic, "also") => Some((Sort::Topic, true)),
                (_, "source") => Some((Sort::Book, false)),
                (Kind::Formula, "person") | (Kind::Supply, "to person") => Some((Sort::Person, false)),
                (Kind::Set, "holds") => Some((Sort::Taken, false)),
                (Kind::Person, word) => FactKind::named(word).map(|kind| (Sort::Fact(kind), false)),
                _ => None,
            };
            if let Some((sort, declares)) = sort {
                for name in names {
                    put(sort, Cow::Borrowed(name), declares);
                }
            }
        }
        Body::Adapts(name, _) => put(Sort::Taken, Cow::Borrowed(name), false),
        Body::Caution(topic, _) => put(Sort::Topic, Cow::Borrowed(topic), false),
        Body::Strength(words) => {
            let said = slice(text, words.span);
            if let Some((before, rest)) = said.split_once(" of ") {
                let name = rest.split(',').next().unwrap_or(rest);
                put(
                    Sort::Taken,
                    Cow::Owned(part(
                        words.span,
                        said,
                        before.len().saturating_add(" of ".len()),
                        name,
                    )),
                    false,
                );
            }
        }
        Body::Take(taken, _) => {
            for ingredient in taken {
                for name in &ingredient.names {
                    put(Sort::Taken, Cow::Borrowed(name), false);
                }
                if let Some(source) = ingredient
                    .source
                    .as_ref()
                    .filter(|own| line.source.as_ref() != Some(own))
                {
                    put(Sort::Book, Cow::Borrowed(source), false);
                }
            }
        }
        Body::Used(used, _) => {
            for one in used {
                put(Sort::Taken, Cow::Borrowed(&one.name), false);
                for lot in one.portions.iter().filter_map(|(_, lot)| lot.as_ref()) {
                    put(Sort::Lot, Cow::Borrowed(lot), false);
                }
            }
        }
        Body::Preparation(step) => of_preparation(text, step, put),
        Body::Words(words) if kind == Kind::Formula && line.word.text == "mix" => of_mix(text, words, put),
        _ => {}
    }
}

/// What a step prepares and in what, without the article before it.
fn of_preparation<'t>(text: &str, step: &'t Preparation, put: &mut Put<'_, 't>) {
    let things: &[Name] = match &step.subject {
        Subject::Things(names) => names,
        Subject::Amount(_, Some(name)) => std::slice::from_ref(name),
        Subject::All | Subject::Ratio(..) | Subject::Amount(_, None) => &[],
    };
    let media = step.media.iter().filter_map(|liquid| liquid.name.as_ref());
    for name in things.iter().chain(media) {
        put(Sort::Taken, without_article(text, name), false);
    }
}

fn without_article<'t>(text: &str, name: &'t Name) -> Cow<'t, Name> {
    let said = slice(text, name.span);
    match said.get(..4).filter(|start| start.eq_ignore_ascii_case("the ")) {
        Some(article) => {
            let rest = said.get(article.len()..).unwrap_or_default();
            Cow::Owned(part(name.span, said, article.len(), rest))
        }
        None => Cow::Borrowed(name),
    }
}

/// The names in the clauses of `mix` that are understood: `X last`, `X and Y first`.
fn of_mix<'t>(text: &str, words: &'t Name, put: &mut Put<'_, 't>) {
    let said = slice(text, words.span);
    let mut from = 0_usize;
    for clause in said.split_inclusive([';', ',', '.']) {
        let start = from;
        from = from.saturating_add(clause.len());
        let clause = clause.trim_end_matches([';', ',', '.', ' ']);
        let Some(names) = clause
            .strip_suffix(" first")
            .or_else(|| clause.strip_suffix(" last"))
        else {
            continue;
        };
        let mut at = start;
        for name in names.split(" and ") {
            let begins = at;
            at = at.saturating_add(name.len()).saturating_add(" and ".len());
            let bare = name.trim_start();
            let mut skipped = name.len().saturating_sub(bare.len());
            let bare = match bare.strip_prefix("the ") {
                Some(rest) => {
                    skipped = skipped.saturating_add("the ".len());
                    rest
                }
                None => bare,
            };
            put(
                Sort::Taken,
                Cow::Owned(part(words.span, said, begins.saturating_add(skipped), bare)),
                false,
            );
        }
    }
}

fn slice(text: &str, span: Span) -> &str {
    text.get(span.first_byte()..span.end_byte()).unwrap_or_default()
}

/// A piece of what is said under a span, without the blanks around it, as a name of its own.
fn part(whole: Span, said: &str, from: usize, piece: &str) -> Name {
    let bare = piece.trim_start();
    let from = from.saturating_add(piece.len().saturating_sub(bare.len()));
    let bare = bare.trim_end();
    let start = whole.first_byte().saturating_add(from.min(said.len()));
    Name {
        // Quotes mean nothing in such places, so a name in quotes is another name.
        text: fold_blanks(bare),
        span: Span::new(whole.file, start, start.saturating_add(bare.len())),
    }
}

/// Finds what names mean, in one ledger; for one question, since it remembers.
pub struct Meanings<'a> {
    ledger: &'a Ledger,
    books: HashMap<String, usize>,
    people: HashMap<String, usize>,
    lots: HashMap<String, usize>,
    topics: RefCell<HashMap<String, Option<usize>>>,
}

impl<'a> Meanings<'a> {
    /// Of a ledger.
    pub fn of(ledger: &'a Ledger) -> Self {
        let books = ledger.books.iter().enumerate();
        let people = ledger.people.iter().enumerate();
        let lots = ledger.lots.iter().enumerate();
        Self {
            ledger,
            books: first_of(books.map(|(at, book)| (folded(&book.name.text), at))),
            people: first_of(people.filter_map(|(at, person)| Some((folded(person.code.as_ref()?), at)))),
            lots: first_of(lots.map(|(at, lot)| (folded(&lot.id.text), at))),
            topics: RefCell::default(),
        }
    }

    /// What a mention names; nothing where nothing is declared under that name.
    pub fn meant(&self, mention: &Mention<'_>) -> Option<Thing> {
        self.look(mention.sort, &mention.name.text)
    }

    /// What a name names in a place for such names.
    pub fn look(&self, sort: Sort, name: &str) -> Option<Thing> {
        match sort {
            Sort::Taken => match self.ledger.names.look(name) {
                Looked::Found(Bound::Substance(at)) => Some(Thing::Substance(at)),
                Looked::Found(Bound::Formula(at)) => Some(Thing::Formula(at)),
                _ => None,
            },
            Sort::Book => self.books.get(&folded(name)).copied().map(Thing::Book),
            Sort::Person => self.people.get(&folded(name)).copied().map(Thing::Person),
            Sort::Lot => self.lots.get(&folded(name)).copied().map(Thing::Lot),
            Sort::Set => self
                .ledger
                .sets
                .iter()
                .position(|set| folded(&set.name.text) == folded(name))
                .map(Thing::Set),
            Sort::Topic => {
                let known = self.topics.borrow().get(name).copied();
                let found = known.unwrap_or_else(|| {
                    let topic = caution::topic(self.ledger, name);
                    let found = topic
                        .and_then(|topic| self.ledger.topics.iter().position(|own| std::ptr::eq(own, topic)));
                    self.topics.borrow_mut().insert(name.to_owned(), found);
                    found
                });
                found.map(Thing::Topic)
            }
            Sort::Fact(kind) => self
                .ledger
                .topics
                .iter()
                .position(|topic| topic.concerns(kind, name))
                .map(Thing::Topic),
        }
    }

    /// Where a thing gets its own name; nothing for what comes with the program.
    pub fn declared(&self, thing: Thing) -> Option<Span> {
        let ledger = self.ledger;
        match thing {
            Thing::Substance(at) => ledger.substances.get(at)?.span,
            Thing::Formula(at) => Some(ledger.formulas.get(at)?.name.span),
            Thing::Book(at) => Some(ledger.books.get(at)?.name.span),
            Thing::Person(at) => ledger.people.get(at)?.span,
            Thing::Topic(at) => ledger.topics.get(at)?.span,
            Thing::Lot(at) => Some(ledger.lots.get(at)?.id.span),
            Thing::Set(at) => Some(ledger.sets.get(at)?.name.span),
        }
    }
}

fn first_of(all: impl Iterator<Item = (String, usize)>) -> HashMap<String, usize> {
    let mut found = HashMap::new();
    for (name, at) in all {
        found.entry(name).or_insert(at);
    }
    found
}

/// Whether two spellings of one name are the same but for case, blanks and number.
pub fn is_spelled(one: &str, other: &str) -> bool {
    same_but_for_number(&folded(one), &folded(other))
}
