//! Declares every name of a ledger, and reads what all of its lines lean on: practice, sources, topics, people.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::names::{Bound, Looked};
use super::{Book, Ledger, Topic};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::source::Span;
use crate::syntax::tree::{Body, Entry, Kind, Name, Tree};

/// Where in the ledger an entry went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// Among the herbs and materials; whether its name was free, for else its lines are not read.
    Substance(usize, bool),
    /// Among the formulas; whether its name was free.
    Formula(usize, bool),
    /// Among the records.
    Record,
    /// It was read when names were declared, or it has no name.
    Read,
}

/// Every name, and what all lines lean on. It stays the same while entries change that declare what
/// they declared before.
#[derive(Debug, Default)]
pub(super) struct Heads {
    /// Practice, sources, topics, people and names; no herbs, formulas or records yet.
    pub ledger: Ledger,
    /// What was found on the way.
    pub found: Vec<Diagnostic>,
    /// The places of the entries of each tree, in their order.
    pub places: Vec<Vec<Place>>,
    /// Which entry of which tree each herb or material is; none for water, which everyone knows.
    pub substances: Vec<Option<(usize, usize)>>,
    /// Which entry of which tree each formula is.
    pub formulas: Vec<(usize, usize)>,
    books: HashMap<String, usize>,
    /// People by their folded case codes; a code that is declared twice means the first.
    people: HashMap<String, usize>,
    /// The declared name nearest to one that is declared nowhere: looking for it takes long, and a slip is
    /// often made many times.
    near: Mutex<HashMap<String, Option<String>>>,
}

impl Heads {
    pub fn of(trees: &[&Tree]) -> Self {
        let mut builder = Builder {
            ledger: Ledger::default(),
            diagnostics: Vec::new(),
            heads: Self::default(),
            others: HashMap::new(),
            trees,
        };
        builder.practice();
        builder.declare();
        builder.people_and_topics();
        let codes = builder.ledger.people.iter().map(|person| person.code.as_deref());
        let mut people = HashMap::new();
        for (at, code) in codes.enumerate() {
            people
                .entry(naming::folded(code.unwrap_or_default()))
                .or_insert(at);
        }
        Self {
            people,
            ledger: builder.ledger,
            found: builder.diagnostics,
            ..builder.heads
        }
    }

    /// The place of the source with this name.
    pub fn book(&self, name: &str) -> Option<usize> {
        self.books.get(&naming::folded(name)).copied()
    }

    /// The place of the person with this case code.
    pub fn person(&self, code: &str) -> Option<usize> {
        self.people.get(&naming::folded(code)).copied()
    }

    /// The declared name nearest to one that is declared nowhere.
    pub fn nearest(&self, name: &str) -> Option<String> {
        // Whoever panicked while it held the lock had put nothing in by halves.
        let mut near = self.near.lock().unwrap_or_else(PoisonError::into_inner);
        near.entry(name.to_owned())
            .or_insert_with(|| self.ledger.names.nearest(name).map(str::to_owned))
            .clone()
    }
}

/// Whether a tree can stand in the place of another without a name or anything else that is read
/// beforehand being different.
pub(super) fn declare_alike(one: &Tree, other: &Tree) -> bool {
    one.entries.len() == other.entries.len()
        && one.entries.iter().zip(&other.entries).all(|(one, other)| {
            let name = |entry: &Entry| {
                let text = |name: &Option<Name>| name.as_ref().map(|name| name.text.clone());
                (
                    entry.kind,
                    text(&entry.name),
                    text(&entry.id),
                    entry.date.map(|date| date.first),
                )
            };
            is_read_later(one.kind) && name(one) == name(other) && also(one).eq(also(other))
        })
}

fn is_read_later(kind: Kind) -> bool {
    match kind {
        Kind::Herb | Kind::Material | Kind::Formula | Kind::Batch | Kind::Lot | Kind::Supply | Kind::Set => {
            true
        }
        Kind::Practice | Kind::Source | Kind::Topic | Kind::Person => false,
    }
}

/// The other names of a herb, as written.
fn also(entry: &Entry) -> impl Iterator<Item = &str> {
    entry
        .lines
        .iter()
        .filter(|line| line.word.text == "also")
        .filter_map(|line| match &line.body {
            Body::Names(names) => Some(names),
            _ => None,
        })
        .flatten()
        .map(|name| name.text.as_str())
}

/// The ledger while its names are declared.
pub(super) struct Builder<'a> {
    pub ledger: Ledger,
    pub diagnostics: Vec<Diagnostic>,
    heads: Heads,
    others: HashMap<(Kind, String), Span>,
    trees: &'a [&'a Tree],
}

impl<'a> Builder<'a> {
    fn entries(&self) -> impl Iterator<Item = &'a Entry> + use<'a> {
        self.trees.iter().flat_map(|tree| &tree.entries)
    }

    /// The one practice; it is read first because it settles what measures mean.
    fn practice(&mut self) {
        let mut first: Option<Span> = None;
        for entry in self.entries().filter(|entry| entry.kind == Kind::Practice) {
            if let Some(first) = first {
                self.diagnostics.push(
                    Diagnostic::error(code::SECOND_PRACTICE, entry.head, "this ledger has a practice already")
                        .related(first, "declared here first; this one counts")
                        .help("keep one practice for the whole ledger: two would measure the same spoon differently"),
                );
            } else {
                first = Some(entry.head);
                self.read_practice(entry);
            }
        }
    }

    fn declare(&mut self) {
        for (tree, entries) in self.trees.iter().enumerate() {
            let mut places = Vec::with_capacity(entries.entries.len());
            for (at, entry) in entries.entries.iter().enumerate() {
                let place = match &entry.name {
                    Some(name) => self.declare_entry((tree, at), entry, name),
                    None => Place::Read,
                };
                places.push(place);
            }
            self.heads.places.push(places);
        }
        // Other names come after all first names, so that a clash is told of the alias.
        for (entry, place) in self.entries().zip(self.heads.places.concat()) {
            if let Place::Substance(place, true) = place {
                self.declare_aliases(place, entry);
            }
        }
        // Water needs no entry; a ledger may still write one.
        if self.ledger.names.look("water") == Looked::Nothing {
            let place = self.heads.substances.len();
            self.heads.substances.push(None);
            Arc::make_mut(&mut self.ledger.names).declare("water", Bound::Substance(place));
        }
    }

    fn declare_entry(&mut self, at: (usize, usize), entry: &Entry, name: &Name) -> Place {
        match entry.kind {
            Kind::Practice | Kind::Topic => Place::Read,
            Kind::Source => {
                let place = self.ledger.books.len();
                let key = naming::folded(&name.text);
                if let Some(first) = self
                    .heads
                    .books
                    .get(&key)
                    .and_then(|at| self.ledger.books.get(*at))
                {
                    let first = first.name.span;
                    self.twice(name, first);
                } else {
                    self.heads.books.insert(key, place);
                    Arc::make_mut(&mut self.ledger.books).push(Book::read(name, entry));
                }
                Place::Read
            }
            Kind::Herb | Kind::Material => {
                let place = self.heads.substances.len();
                self.heads.substances.push(Some(at));
                Place::Substance(place, self.declare_name(name, Bound::Substance(place)))
            }
            Kind::Formula => {
                let place = self.heads.formulas.len();
                self.heads.formulas.push(at);
                Place::Formula(place, self.declare_name(name, Bound::Formula(place)))
            }
            Kind::Person | Kind::Batch | Kind::Lot | Kind::Supply | Kind::Set => {
                let own = entry.id.as_ref().unwrap_or(name);
                let key = match entry.date {
                    Some(date) => format!("{} {}", naming::folded(&own.text), date.first),
                    None => naming::folded(&own.text),
                };
                // A blend may be handed out twice on one day, so supplies have no names to clash.
                if entry.kind != Kind::Supply
                    && let Some(first) = self.others.insert((entry.kind, key), own.span)
                {
                    self.twice(own, first);
                    if matches!(entry.kind, Kind::Batch | Kind::Lot) {
                        return Place::Read;
                    }
                }
                if entry.kind == Kind::Person {
                    Place::Read
                } else {
                    Place::Record
                }
            }
        }
    }

    fn declare_aliases(&mut self, place: usize, entry: &Entry) {
        for line in entry.lines.iter().filter(|line| line.word.text == "also") {
            if let Body::Names(names) = &line.body {
                for name in names {
                    self.declare_name(name, Bound::Substance(place));
                }
            }
        }
    }

    fn declare_name(&mut self, name: &Name, bound: Bound) -> bool {
        match Arc::make_mut(&mut self.ledger.names).declare(&name.text, bound) {
            None => true,
            Some(other) if other == bound => true,
            Some(other) => {
                match span_of(&self.heads, self.trees, other) {
                    Some(first) => self.twice(name, first),
                    None => self.twice(name, name.span),
                }
                false
            }
        }
    }

    fn twice(&mut self, name: &Name, first: Span) {
        self.diagnostics.push(
            Diagnostic::error(
                code::NAME_TAKEN_TWICE,
                name.span,
                format!("`{}` is declared twice", name.text),
            )
            .label("so this name is not read")
            .related(first, "declared here first")
            .help("rename one of them: a name that means two things is no name"),
        );
    }

    /// Formulas and cautions speak of people and topics, so these are read before them.
    fn people_and_topics(&mut self) {
        for entry in self.entries() {
            match entry.kind {
                Kind::Topic => self.read_topic(entry),
                Kind::Person => self.read_person(entry),
                _ => {}
            }
        }
        // A topic of the ledger adds to the one of that name that is built in.
        let topics = Arc::make_mut(&mut self.ledger.topics);
        for known in super::topic::built_in() {
            match topics.iter_mut().find(|own| known.is_called(&own.name)) {
                Some(own) => own.join(known),
                None => topics.push(known.clone()),
            }
        }
    }

    fn read_topic(&mut self, entry: &Entry) {
        let mut slips = Vec::new();
        let Some(mut topic) = Topic::read(entry, false, &mut slips) else {
            return;
        };
        for slip in slips {
            self.diagnostics.push(
                Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    slip.span,
                    format!("`{}` is no fact of a person", slip.text),
                )
                .help("write `is pregnant`, `takes anticoagulants`, `allergic Asteraceae` or `everyone`"),
            );
        }
        if let (Some(name), Some(first)) = (
            &entry.name,
            self.ledger
                .topics
                .iter()
                .find(|own| own.is_called(&topic.name))
                .and_then(|own| own.span),
        ) {
            self.twice(name, first);
            return;
        }
        let extends = super::topic::built_in()
            .iter()
            .any(|known| known.is_called(&topic.name));
        if topic.when.is_empty() && !topic.everyone && !extends {
            // Whom it concerns was not said, so it is kept from nobody.
            topic.everyone = true;
            self.diagnostics.push(
                Diagnostic::warning(
                    code::UNKNOWN_TOPIC,
                    entry.head,
                    format!(
                        "`{}` does not say whom it concerns, so it is shown to everyone",
                        topic.name
                    ),
                )
                .help("add a line `when   is …`, `takes …`, `allergic …` or `everyone`"),
            );
        }
        Arc::make_mut(&mut self.ledger.topics).push(topic);
    }

    pub(super) fn keep<T>(&mut self, read: Result<T, Diagnostic>) -> Option<T> {
        read.map_err(|finding| self.diagnostics.push(finding)).ok()
    }
}

/// Where something is declared.
pub(super) fn span_of(heads: &Heads, trees: &[&Tree], bound: Bound) -> Option<Span> {
    let (tree, entry) = match bound {
        Bound::Substance(at) => (*heads.substances.get(at)?)?,
        Bound::Formula(at) => *heads.formulas.get(at)?,
        Bound::Unknown => return None,
    };
    let entry = trees.get(tree)?.entries.get(entry)?;
    Some(entry.name.as_ref()?.span)
}
