//! Walks the trees twice: first every name is declared, then every line is bound.

use std::collections::HashMap;

use super::names::{Bound, Looked};
use super::{Book, Formula, Ledger, Record, Substance, Topic};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::source::Span;
use crate::syntax::tree::{Entry, Kind, Name, Tree};

/// The ledger while it is put together.
pub(super) struct Builder<'a> {
    pub ledger: Ledger,
    pub diagnostics: Vec<Diagnostic>,
    pub ounce_noted: bool,
    books: HashMap<String, usize>,
    /// People by their folded case codes.
    pub people: HashMap<String, usize>,
    others: HashMap<(Kind, String), Span>,
    // Unknown names that have been reported: each slip is said once.
    unknown: HashMap<String, Span>,
    trees: Vec<&'a Tree>,
}

pub(super) fn build(trees: Vec<&Tree>) -> (Ledger, Vec<Diagnostic>) {
    let mut builder = Builder {
        ledger: Ledger::default(),
        diagnostics: Vec::new(),
        ounce_noted: false,
        books: HashMap::new(),
        people: HashMap::new(),
        others: HashMap::new(),
        unknown: HashMap::new(),
        trees,
    };
    builder.practice();
    let declared = builder.declare();
    builder.bind_all(&declared);
    (builder.ledger, builder.diagnostics)
}

/// An entry and where in the ledger it went.
enum Declared<'a> {
    Book(usize, &'a Entry),
    Substance(usize, &'a Entry),
    Formula(usize, &'a Entry),
    Record(&'a Entry),
    Topic(&'a Entry),
}

impl<'a> Builder<'a> {
    fn entries(&self) -> impl Iterator<Item = &'a Entry> + use<'a> {
        self.trees.clone().into_iter().flat_map(|tree| &tree.entries)
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

    fn declare(&mut self) -> Vec<Declared<'a>> {
        let mut declared = Vec::new();
        for entry in self.entries() {
            let Some(name) = &entry.name else { continue };
            match entry.kind {
                Kind::Practice => {}
                Kind::Source => {
                    let place = self.ledger.books.len();
                    let key = naming::folded(&name.text);
                    if let Some(first) = self.books.get(&key).and_then(|at| self.ledger.books.get(*at)) {
                        let first = first.name.span;
                        self.twice(name, first);
                    } else {
                        self.books.insert(key, place);
                        self.ledger.books.push(Book {
                            name: name.clone(),
                            citation: String::new(),
                            from_memory: false,
                            span: entry.span,
                        });
                        declared.push(Declared::Book(place, entry));
                    }
                }
                Kind::Herb | Kind::Material => {
                    let place = self.ledger.substances.len();
                    self.ledger.substances.push(Substance {
                        span: Some(name.span),
                        entry: Some(entry.span),
                        ..Substance::empty(entry.kind, &name.text)
                    });
                    if self.declare_name(name, Bound::Substance(place)) {
                        declared.push(Declared::Substance(place, entry));
                    }
                }
                Kind::Formula => {
                    let place = self.ledger.formulas.len();
                    // Should the name be taken already, this stays: an entry that is left out.
                    self.ledger.formulas.push(Formula {
                        refused: true,
                        ..Formula::empty(name.clone(), entry)
                    });
                    if self.declare_name(name, Bound::Formula(place)) {
                        declared.push(Declared::Formula(place, entry));
                    }
                }
                Kind::Topic => declared.push(Declared::Topic(entry)),
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
                            continue;
                        }
                    }
                    declared.push(Declared::Record(entry));
                }
            }
        }
        // Other names come after all first names, so that a clash is told of the alias.
        for item in &declared {
            if let Declared::Substance(place, entry) = item {
                self.declare_aliases(*place, entry);
            }
        }
        self.declare_water();
        declared
    }

    /// Water needs no entry; a ledger may still write one.
    fn declare_water(&mut self) {
        let place = self.ledger.substances.len();
        if self.ledger.names.look("water") == Looked::Nothing {
            self.ledger
                .substances
                .push(Substance::empty(Kind::Material, "water"));
            self.ledger.names.declare("water", Bound::Substance(place));
        }
    }

    pub(super) fn declare_name(&mut self, name: &Name, bound: Bound) -> bool {
        match self.ledger.names.declare(&name.text, bound) {
            None => true,
            Some(other) if other == bound => true,
            Some(other) => {
                match self.span_of(other) {
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

    /// Where something is declared.
    pub(super) fn span_of(&self, bound: Bound) -> Option<Span> {
        match bound {
            Bound::Substance(at) => self.ledger.substances.get(at)?.span,
            Bound::Formula(at) => Some(self.ledger.formulas.get(at)?.name.span),
            Bound::Unknown => None,
        }
    }

    fn bind_all(&mut self, declared: &[Declared<'_>]) {
        // Topics and people first: formulas and cautions speak of them.
        for item in declared {
            match item {
                Declared::Topic(entry) => self.read_topic(entry),
                Declared::Record(entry) if entry.kind == Kind::Person => self.read_person(entry),
                _ => {}
            }
        }
        // A topic of the ledger adds to the one of that name that is built in.
        for known in super::topic::built_in() {
            match self
                .ledger
                .topics
                .iter_mut()
                .find(|own| known.is_called(&own.name))
            {
                Some(own) => own.join(known),
                None => self.ledger.topics.push(known.clone()),
            }
        }
        for item in declared {
            match item {
                Declared::Book(place, entry) => self.read_book(*place, entry),
                Declared::Substance(place, entry) => self.read_substance(*place, entry),
                Declared::Formula(place, entry) => self.read_formula(*place, entry),
                Declared::Record(entry) => match entry.kind {
                    Kind::Batch => self.read_batch(entry),
                    Kind::Lot => self.read_lot(entry),
                    Kind::Supply => self.read_supply(entry),
                    Kind::Set => self.read_set(entry),
                    _ => {}
                },
                Declared::Topic(_) => {}
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
        self.ledger.topics.push(topic);
    }

    /// Whether a name is declared.
    pub(super) fn knows(&self, name: &Name) -> bool {
        !matches!(self.ledger.names.look(&name.text), Looked::Nothing)
    }

    /// What a name means; a name that is not declared is reported at its first use.
    pub(super) fn bind(&mut self, name: &Name) -> Bound {
        match self.ledger.names.look(&name.text) {
            Looked::Found(bound) => bound,
            Looked::Several(bounds) => {
                let mut finding = Diagnostic::error(
                    code::AMBIGUOUS_NAME,
                    name.span,
                    format!("`{}` may mean several declared names", name.text),
                )
                .help("write the name as it is declared");
                for bound in bounds {
                    if let Some(span) = self.span_of(bound) {
                        finding = finding.related(span, "this may be meant");
                    }
                }
                self.diagnostics.push(finding);
                Bound::Unknown
            }
            Looked::Nothing => {
                self.report_unknown(name);
                Bound::Unknown
            }
            Looked::Clash => Bound::Unknown,
        }
    }

    fn report_unknown(&mut self, name: &Name) {
        let key = naming::folded(&name.text);
        if self.unknown.contains_key(&key) {
            return;
        }
        self.unknown.insert(key, name.span);
        let mut finding = Diagnostic::error(
            code::UNKNOWN_NAME,
            name.span,
            format!("`{}` is declared nowhere in this ledger", name.text),
        );
        finding = match self.ledger.names.nearest(&name.text).map(str::to_owned) {
            Some(near) => finding
                .help(format!(
                    "did you mean `{near}`? else declare it: `herb {}`",
                    name.text
                ))
                .fix(format!("write `{near}`"), name.span, near),
            None => finding.help(format!(
                "declare it in the first column, `herb {}`, or `material` if it is no herb",
                name.text
            )),
        };
        self.diagnostics.push(finding);
    }

    /// The book that a line cites; one that is not declared is reported.
    pub(super) fn book(&mut self, cited: Option<&Name>) -> Option<usize> {
        let cited = cited?;
        let found = self.books.get(&naming::folded(&cited.text)).copied();
        if found.is_none() {
            let near = naming::nearest(
                &cited.text,
                self.ledger.books.iter().map(|book| book.name.text.as_str()),
            )
            .map(str::to_owned);
            let mut finding = Diagnostic::warning(
                code::SOURCE_NOT_DECLARED,
                cited.span,
                format!("the source `{}` is declared nowhere", cited.text),
            );
            finding = match near {
                Some(near) => finding
                    .help(format!(
                        "did you mean `{near}`? a figure whose source can't be found can't be checked"
                    ))
                    .fix(format!("write `{near}`"), cited.span, near),
                None => finding.help(format!(
                    "declare it in the first column, `source {}`, with its title and reference below",
                    cited.text
                )),
            };
            self.diagnostics.push(finding);
        }
        found
    }

    pub(super) fn record(&mut self, record: Record) {
        self.ledger.records.push(record);
    }
}
