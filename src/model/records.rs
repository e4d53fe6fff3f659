//! Reads people, and keeps sets, which are reckoned with later.

use super::build::Builder;
use super::measure;
use super::{Fact, FactKind, Person, Record};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled};
use crate::quantity::{Decimal, Overflow, Unit};
use crate::source::Span;
use crate::syntax::tree::{Body, Entry, Line, Name};

type Found<T> = Result<T, Diagnostic>;

impl Builder<'_> {
    /// The person with a case code; one that is not declared is reported.
    pub(super) fn person(&mut self, code: &Name) -> Option<usize> {
        let found = self.people.get(&naming::folded(&code.text)).copied();
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
        // A code that is declared twice means the first.
        self.people
            .entry(naming::folded(&name.text))
            .or_insert(self.ledger.people.len());
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

    /// A set holds formulas; its names must be declared.
    pub(super) fn read_set(&mut self, entry: &Entry) {
        let Some(name) = entry.name.clone() else { return };
        for line in &entry.lines {
            self.book(line.source.as_ref());
            if let Body::Names(held) = &line.body {
                for one in held {
                    self.bind(one);
                }
            }
        }
        self.record(Record {
            kind: entry.kind,
            name,
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
