//! Reads people, and keeps the entries that are reckoned with later: batches, lots, supplies, sets.

use super::build::Builder;
use super::measure;
use super::{Fact, FactKind, Person, Record};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled};
use crate::quantity::{Decimal, Overflow, Unit};
use crate::source::Span;
use crate::syntax::tree::{Body, Entry, Kind, Line, Make, Name, Quantity};

type Found<T> = Result<T, Diagnostic>;

impl Builder<'_> {
    /// The person with a case code; one that is not declared is reported.
    pub(super) fn person(&mut self, code: &Name) -> Option<usize> {
        let key = naming::folded(&code.text);
        let found = self
            .ledger
            .people
            .iter()
            .position(|person| person.code.as_ref().is_some_and(|own| naming::folded(own) == key));
        if found.is_none() {
            self.diagnostics.push(
                Diagnostic::error(
                    code::UNKNOWN_NAME,
                    code.span,
                    format!("there is no person `{}` in this ledger", code.text),
                )
                .help(format!(
                    "add an entry `person {}` with what the checks need to know",
                    code.text
                )),
            );
        }
        found
    }

    pub(super) fn read_person(&mut self, entry: &Entry) {
        let Some(name) = &entry.name else { return };
        let mut person = Person {
            code: Some(name.text.clone()),
            span: Some(name.span),
            ..Person::default()
        };
        for line in &entry.lines {
            let read = self.person_line(&mut person, line);
            person.refused |= self.keep(read).is_none() || matches!(line.body, Body::Broken);
        }
        self.ledger.people.push(person);
    }

    fn person_line(&mut self, person: &mut Person, line: &Line) -> Found<()> {
        let settled = self.ledger.practice.settled;
        match &line.body {
            Body::Age(number, unit) => person.years = Some(years(number.value, unit.as_ref(), line.span)?),
            Body::Quantity(quantity) => {
                person.grams = Some(measure::grams(quantity, settled)?.nominal);
            }
            Body::Names(names) => {
                if let Some(kind) = FactKind::named(&line.word.text) {
                    person.facts.extend(names.iter().map(|name| Fact {
                        kind,
                        words: name.text.clone(),
                        span: Some(name.span),
                    }));
                } else {
                    let folded = |name: &Name| naming::folded(&name.text);
                    person.nature = names.iter().map(folded).collect();
                    person.nature_lines = names.iter().map(|name| (folded(name), name.span)).collect();
                }
            }
            Body::Words(words) => person.notes.push((words.text.clone(), words.span)),
            _ => {}
        }
        Ok(())
    }

    pub(super) fn read_record(&mut self, entry: &Entry) {
        let Some(name) = entry.name.clone() else { return };
        let mut names: Vec<&Name> = Vec::new();
        let mut make = None;
        let mut amounts: Vec<&Quantity> = Vec::new();
        match entry.kind {
            Kind::Batch | Kind::Supply | Kind::Lot => names.push(&name),
            _ => {}
        }
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match &line.body {
                Body::Make(wanted) => {
                    make = Some(wanted.clone());
                    let amount = match wanted {
                        Make::Quantity(quantity) | Make::Vessels { each: quantity, .. } => Some(quantity),
                        Make::AllStock | Make::People { .. } | Make::Times(_) => None,
                    };
                    amounts.extend(amount);
                }
                Body::Used(used) => {
                    names.extend(used.iter().map(|used| &used.name));
                    amounts.extend(
                        used.iter()
                            .flat_map(|used| &used.portions)
                            .map(|(quantity, _)| quantity),
                    );
                }
                Body::Money(money) => amounts.extend(&money.per),
                Body::Names(held) if entry.kind == Kind::Set => names.extend(held),
                Body::Quantity(quantity) => amounts.push(quantity),
                _ => {}
            }
        }
        for quantity in amounts {
            let read = measure::portion(quantity, self.ledger.practice.settled);
            self.keep(read);
        }
        for used in names {
            self.bind(used);
        }
        if entry.kind == Kind::Set {
            self.read_set(entry, &name);
        }
        self.record(Record {
            kind: entry.kind,
            name: name.clone(),
            id: entry.id.clone(),
            date: entry.date,
            make,
            span: entry.span,
        });
    }
}

/// An age in years.
pub fn years(number: Decimal, unit: Option<&Name>, span: Span) -> Found<Decimal> {
    let Some(unit) = unit else { return Ok(number) };
    let year = Decimal::from(525_960_u32);
    match measure::unit(unit, Settled::default())? {
        Unit::Fixed(fixed) if fixed.dimension == unit::Dimension::Time => fixed
            .to_base(number)
            .and_then(|minutes| crate::quantity::rounding::quotient(minutes, year))
            .map_err(|Overflow| measure::overflow(span)),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            unit.span,
            "this is not a length of time",
        )
        .help("write an age in years, `34`, or `8 months`")),
    }
}
