//! Reads people.

use std::sync::Arc;

use super::heads::Builder;
use super::measure;
use super::read::Reader;
use super::{Fact, FactKind, Person};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled};
use crate::quantity::{Decimal, Overflow, Unit};
use crate::source::Span;
use crate::syntax::tree::{Body, Entry, Line, Name, Quantity};

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
        let found = self.heads.person(&code.text);
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
