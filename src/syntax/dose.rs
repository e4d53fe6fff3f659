//! Reads what stands after `dose`.

use super::explain;
use super::grammar::{Node, Rule};
use super::line::inner;
use super::lower::{Lower, Lowered, missing, once};
use super::tree::{Dose, Frequency, Name, Numbers};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::{Decimal, Number};

/// Reads a dose.
pub fn read(lower: &Lower, line: &Node<'_>) -> Lowered<Dose> {
    let mut dose = Dose {
        age: None,
        amount: lower.inner_quantity(line)?,
        vehicle: None,
        frequency: None,
        apart: None,
        lasting: None,
        clauses: Vec::new(),
        span: lower.span(line),
    };
    let mut every = None;
    for part in line.clone().into_inner() {
        let span = lower.span(&part);
        match part.as_rule() {
            Rule::dose_age => dose.age = Some(age(lower, &part)?),
            Rule::vehicle => {
                if let Some(amount) = inner(&part, Rule::quantity) {
                    once(&mut dose.vehicle, lower.quantity(&amount)?, span, "in how much")?;
                }
                dose.clauses.push(lower.name(&part));
            }
            Rule::frequency => once(&mut dose.frequency, frequency(lower, &part)?, span, "how often")?,
            Rule::every => once(&mut every, lower.inner_quantity(&part)?, span, "how often")?,
            Rule::lasting => once(&mut dose.lasting, lower.inner_quantity(&part)?, span, "how long")?,
            Rule::clause => {
                explain::heap_in_words(lower, &part)?;
                dose.clauses.push(lower.name(&part));
            }
            _ => {}
        }
    }
    // A number of times a day is a cap on `every 2 hours`, wherever it stands.
    if dose.frequency.is_some() {
        dose.apart = every;
    } else {
        dose.frequency = every.map(Frequency::Every);
    }
    match dose
        .clauses
        .iter()
        .find(|clause| speaks_of_time(&clause.text, dose.frequency.is_some()))
    {
        Some(clause) => Err(how_often(clause)),
        None => Ok(dose),
    }
}

/// Whether free words say how often or how long after all: left unread, no day could be counted.
fn speaks_of_time(text: &str, counted: bool) -> bool {
    let text = text.to_lowercase();
    // Books say so, and mean no number.
    if text.contains("several times") {
        return false;
    }
    let words: Vec<&str> = text.split([' ', '/']).filter(|word| !word.is_empty()).collect();
    let has = |wanted: &[&str]| words.iter().any(|word| wanted.contains(word));
    let numbered = words
        .iter()
        .any(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    let often = has(&["times", "daily", "thrice", "hourly", "hours", "hour"])
        || words
            .windows(2)
            .any(|pair| matches!(pair, ["a" | "per" | "each" | "every", "day" | "night" | "week"]));
    let long = matches!(words.as_slice(), ["for" | "up", ..])
        && has(&["day", "days", "week", "weeks", "month", "months"]);
    let parts_of_the_day = has(&["morning", "noon", "evening", "night"]) && !counted;
    // The abbreviations of prescriptions, from memory.
    let in_short = words.iter().any(|word| {
        let bare = word.replace('.', "");
        matches!(
            bare.trim_end_matches([';', ')']),
            "od" | "qd" | "bd" | "bid" | "tds" | "tid" | "qds" | "qid" | "qh" | "mane" | "nocte"
        )
    });
    in_short || (often && (!counted || numbered)) || long || parts_of_the_day
}

fn how_often(clause: &Name) -> Diagnostic {
    Diagnostic::error(
        code::LINE_NOT_UNDERSTOOD,
        clause.span,
        format!("`{}` says how often or how long in words that can't be counted", clause.text),
    )
    .help("write `3 times a day`, `up to 3 times a day`, `every 2 hours` or `for 7 days`; words for the person stand after `sign`")
}

/// The ages that a line is for, and whether it says `under`.
pub fn age(lower: &Lower, node: &Node<'_>) -> Lowered<(Numbers, bool)> {
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
