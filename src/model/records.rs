//! Reads people, and keeps the entries that are reckoned with later: batches, lots, supplies, sets.

use std::sync::Arc;

use super::heads::Builder;
use super::measure;
use super::read::Reader;
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
        Arc::make_mut(&mut self.ledger.people).push(person);
    }

    fn person_line(&mut self, person: &mut Person, line: &Line) -> Found<()> {
        let settled = self.ledger.practice.settled;
        match &line.body {
            Body::Age(number, unit) => person.years = Some(years(number.value, unit.as_ref(), line.span)?),
            Body::Quantity(quantity) => {
                person.grams = Some(weight(quantity, settled)?);
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
}

impl Reader<'_> {
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

    pub(super) fn read_record(&mut self, entry: &Entry) -> Option<Record> {
        let name = entry.name.clone()?;
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
        Some(Record {
            kind: entry.kind,
            name: name.clone(),
            id: entry.id.clone(),
            date: entry.date,
            make,
            span: entry.span,
        })
    }
}

/// What a person weighs, in grams: nobody weighs nothing.
pub fn weight(quantity: &Quantity, settled: Settled) -> Found<Decimal> {
    let grams = measure::grams(quantity, settled)?;
    if grams.low.is_zero() {
        return Err(
            Diagnostic::error(code::ZERO_AMOUNT, quantity.span, "nobody weighs nothing")
                .help("write what the person weighs, `24 kg`, or take the line out if it isn't known"),
        );
    }
    Ok(grams.nominal)
}

/// Nobody grows older; a year of birth would make a grown-up of a child.
const OLDEST: u32 = 130;

/// An age in years.
pub fn years(number: Decimal, unit: Option<&Name>, span: Span) -> Found<Decimal> {
    let year = Decimal::from(525_960_u32);
    let years = match unit {
        None => number,
        Some(unit) => match measure::unit(unit, Settled::default())? {
            Unit::Fixed(fixed) if fixed.dimension == unit::Dimension::Time => fixed
                .to_base(number)
                .and_then(|minutes| crate::quantity::rounding::quotient(minutes, year))
                .map_err(|Overflow| measure::overflow(span))?,
            _ => {
                return Err(Diagnostic::error(
                    code::WRONG_SORT_OF_MEASURE,
                    unit.span,
                    "this is not a length of time",
                )
                .help(AGES));
            }
        },
    };
    if years > Decimal::from(OLDEST) {
        return Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            span,
            format!("nobody is older than {OLDEST} years"),
        )
        .help(AGES));
    }
    Ok(years)
}

/// How an age is written.
pub const AGES: &str = "write an age in years, `34`; a small child's as `8 months`, `2 weeks` or `3 days`";
