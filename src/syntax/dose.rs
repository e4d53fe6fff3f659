//! Reads what stands after `dose`.

use super::grammar::{Node, Rule};
use super::line::inner;
use super::lower::{Lower, Lowered, missing};
use super::tree::{Dose, Frequency, Numbers};
use crate::quantity::{Decimal, Number};

/// Reads a dose.
pub fn read(lower: &Lower, line: &Node<'_>) -> Lowered<Dose> {
    let mut dose = Dose {
        age: None,
        amount: lower.inner_quantity(line)?,
        vehicle: None,
        frequency: None,
        lasting: None,
        clauses: Vec::new(),
        span: lower.span(line),
    };
    for part in line.clone().into_inner() {
        match part.as_rule() {
            Rule::dose_age => dose.age = Some(age(lower, &part)?),
            Rule::vehicle => {
                dose.vehicle = inner(&part, Rule::quantity)
                    .map(|amount| lower.quantity(&amount))
                    .transpose()?;
                dose.clauses.push(lower.name(&part));
            }
            Rule::frequency => dose.frequency = Some(frequency(lower, &part)?),
            // A number of times a day is a cap on `every 2 hours`, wherever it stands.
            Rule::every => {
                let every = Frequency::Every(lower.inner_quantity(&part)?);
                dose.frequency = dose.frequency.take().or(Some(every));
            }
            Rule::lasting => dose.lasting = Some(lower.inner_quantity(&part)?),
            Rule::clause => dose.clauses.push(lower.name(&part)),
            _ => {}
        }
    }
    Ok(dose)
}

fn age(lower: &Lower, node: &Node<'_>) -> Lowered<(Numbers, bool)> {
    let span = lower.span(node);
    if let Some(numbers) = inner(node, Rule::numbers) {
        return Ok((lower.numbers(&numbers)?, false));
    }
    let number = inner(node, Rule::number).ok_or_else(|| missing(span))?;
    let low = lower.number(&number)?;
    Ok((
        Numbers {
            low,
            high: None,
            span,
        },
        true,
    ))
}

fn frequency(lower: &Lower, node: &Node<'_>) -> Lowered<Frequency> {
    let span = lower.span(node);
    let up_to = inner(node, Rule::up_to).is_some();
    let times = |times: u32| Numbers {
        low: Number {
            value: Decimal::from(times),
            decimals: None,
        },
        high: None,
        span,
    };
    let numbers = match inner(node, Rule::numbers) {
        Some(numbers) => lower.numbers(&numbers)?,
        None if inner(node, Rule::twice).is_some() => times(2),
        None => times(1),
    };
    Ok(Frequency::TimesADay(numbers, up_to))
}
