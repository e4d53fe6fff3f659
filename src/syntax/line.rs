//! Reads one line by the pattern of its line word.

use super::dose;
use super::explain;
use super::grammar::{self, Node, Rule};
use super::lower::{Lower, Lowered, fold_blanks, missing};
use super::preparation;
use super::tree::{Body, Counted, Divide, Kind, Make, Money, Name, Pack, Per, Quantity, Weighed, Weighing};
use super::words::{self, Pattern};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::Number;
use crate::source::{FileId, Span};

pub(super) const BLANKS: [char; 5] = [' ', '\t', '\u{a0}', '\n', '\r'];

/// Cuts the blanks off a text and says where what is left begins.
pub(super) fn trimmed<'a>(lower: &Lower, text: &'a str) -> (Lower, &'a str) {
    let body = text.trim_start_matches(BLANKS);
    let skipped = text.len().saturating_sub(body.len());
    (lower.further(skipped), body.trim_end_matches(BLANKS))
}

/// Reads a text by a rule, or explains why it can't be read.
pub(super) fn read<'a>(lower: &Lower, rule: Rule, text: &'a str, wanted: &str) -> Lowered<Node<'a>> {
    grammar::read(rule, text).map_err(|at| explain::line(lower, text, at, wanted))
}

/// What stands before and after the gap in front of `source` at a line's end.
pub fn split_source(file: FileId, start: usize, text: &str) -> (&str, Option<Name>) {
    words::places_of(text, "source")
        .rev()
        .find_map(|at| {
            let before = text.get(..at)?;
            let from = at.saturating_add("source".len());
            let after = text.get(from..)?;
            let gap = before.ends_with('\t') || before.ends_with("  ") || before.ends_with(" \u{a0}");
            let content = before.trim_end_matches(BLANKS);
            let name = after.trim_matches(BLANKS);
            if !gap || content.is_empty() || !after.starts_with(BLANKS) || name.is_empty() {
                return None;
            }
            let lead = after.len().saturating_sub(after.trim_start_matches(BLANKS).len());
            let from = start.saturating_add(from).saturating_add(lead);
            let span = Span::new(file, from, from.saturating_add(name.len()));
            Some((
                content,
                Some(Name {
                    text: fold_blanks(name.trim_matches('"')),
                    span,
                }),
            ))
        })
        .unwrap_or((text, None))
}

/// Reads what stands after a line word, by its pattern.
#[expect(
    clippy::too_many_lines,
    reason = "one arm for each pattern, most of a line or two"
)]
pub fn body(lower: &Lower, word: &str, word_span: Span, pattern: Pattern, text: &str) -> Lowered<Body> {
    let (lower, text) = trimmed(lower, text);
    let lower = &lower;
    if pattern == Pattern::Flag {
        return if text.is_empty() {
            Ok(Body::Flag)
        } else {
            Err(Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                lower.range(0, text.len()),
                format!("nothing stands after `{word}`"),
            )
            .help("put what you have to say into a `note`"))
        };
    }
    if text.is_empty() {
        return Err(Diagnostic::error(
            code::LINE_NOT_UNDERSTOOD,
            word_span,
            format!("`{word}` says nothing"),
        )
        .help(format!("after it comes {}", pattern.example())));
    }
    if pattern.is_measured()
        && let Some((before, name)) = text.rsplit_once(" source ")
        && !name.contains(BLANKS)
    {
        let from = before.len().saturating_add(1);
        return Err(explain::source_too_near(lower.range(from, text.len()), name));
    }
    let wanted = pattern.example();
    let node = |rule| read(lower, rule, text, wanted);
    Ok(match pattern {
        Pattern::Flag => Body::Flag,
        Pattern::Words => Body::Words(Name {
            text: fold_blanks(text),
            span: lower.range(0, text.len()),
        }),
        Pattern::Names => Body::Names(
            node(Rule::names_line)?
                .into_inner()
                .filter(|part| part.as_rule() == Rule::listed)
                .map(|part| lower.name(&part))
                .collect(),
        ),
        Pattern::Weighing => Body::Weighing(weighing(lower, &node(Rule::weighing_line)?)?),
        Pattern::Quantity => Body::Quantity(lower.inner_quantity(&node(Rule::quantity_line)?)?),
        Pattern::Factor => {
            let line = node(Rule::factor_line)?;
            let inner = line.into_inner().next().ok_or_else(|| missing(word_span))?;
            Body::Factor(lower.numbers(&inner)?)
        }
        Pattern::Percent => {
            let line = node(Rule::percent_line)?;
            let inner = line.into_inner().next().ok_or_else(|| missing(word_span))?;
            Body::Percent(lower.number(&inner)?)
        }
        Pattern::Density => {
            let line = node(Rule::density_line)?;
            let unit = inner(&line, Rule::unit).ok_or_else(|| missing(word_span))?;
            Body::Density(lower.inner_quantity(&line)?, lower.name(&unit))
        }
        Pattern::Money => Body::Money(money(lower, &node(Rule::money_line)?)?),
        Pattern::Strength => {
            for part in node(Rule::strength_line)?.into_inner().flatten() {
                if part.as_rule() == Rule::number {
                    lower.number(&part)?;
                }
            }
            Body::Strength(Name {
                text: fold_blanks(text),
                span: lower.range(0, text.len()),
            })
        }
        Pattern::Dose => Body::Dose(Box::new(dose::read(lower, &node(Rule::dose_line)?)?)),
        Pattern::Most => {
            let line = node(Rule::most_line)?;
            let per = if inner(&line, Rule::a_day).is_some() {
                Per::Day
            } else if inner(&line, Rule::at_once).is_some() {
                Per::Dose
            } else {
                Per::Unsaid
            };
            let ages = inner(&line, Rule::dose_age);
            let ages = ages.map(|ages| dose::age(lower, &ages)).transpose()?;
            Body::Most(lower.inner_quantity(&line)?, per, ages)
        }
        Pattern::Caution => {
            let line = node(Rule::caution_line)?;
            let topic = inner(&line, Rule::topic).ok_or_else(|| missing(word_span))?;
            Body::Caution(
                lower.name(&topic),
                inner(&line, Rule::words).map(|words| lower.name(&words)),
            )
        }
        Pattern::Preparation => Body::Preparation(Box::new(preparation::read(
            lower,
            &node(Rule::preparation_line)?,
        )?)),
        Pattern::Divide => Body::Divide(divide(lower, &node(Rule::divide_line)?)?),
        Pattern::Adapts => {
            let line = node(Rule::adapts_line)?;
            let name = inner(&line, Rule::adapted).ok_or_else(|| missing(word_span))?;
            let share = inner(&line, Rule::number)
                .map(|at| lower.number(&at))
                .transpose()?;
            Body::Adapts(lower.name(&name), share)
        }
        Pattern::Date => Body::Date(super::head::date(lower, text)?),
        Pattern::Make => Body::Make(make(lower, text)?),
        Pattern::Age => {
            let line = node(Rule::age_line)?;
            let number = inner(&line, Rule::number).ok_or_else(|| missing(word_span))?;
            Body::Age(
                lower.number(&number)?,
                inner(&line, Rule::unit).map(|unit| lower.name(&unit)),
            )
        }
        Pattern::Counted => Body::Counted(counted(lower, &node(Rule::counted_line)?)?),
        Pattern::Pack => Body::Pack(pack(lower, &node(Rule::pack_line)?)?),
        Pattern::Take | Pattern::Used => Body::Broken,
    })
}

/// The first node of a rule directly inside another.
pub fn inner<'a>(node: &Node<'a>, rule: Rule) -> Option<Node<'a>> {
    node.clone().into_inner().find(|part| part.as_rule() == rule)
}

fn weighing(lower: &Lower, line: &Node<'_>) -> Lowered<Weighing> {
    if let Some(quantity) = inner(line, Rule::quantity) {
        return Ok(Weighing::Stated(lower.quantity(&quantity)?));
    }
    let mut weighed = Vec::new();
    for item in line
        .clone()
        .into_inner()
        .filter(|part| part.as_rule() == Rule::weighed)
    {
        let term = inner(&item, Rule::term).ok_or_else(|| missing(lower.span(&item)))?;
        weighed.push(Weighed {
            term: lower.list_term(&term)?,
            count: inner(&item, Rule::number)
                .map(|count| lower.number(&count))
                .transpose()?,
        });
    }
    Ok(Weighing::Weighed(weighed))
}

fn money(lower: &Lower, line: &Node<'_>) -> Lowered<Money> {
    let span = lower.span(line);
    let number = inner(line, Rule::number).ok_or_else(|| missing(span))?;
    let per = match (inner(line, Rule::quantity), inner(line, Rule::unit)) {
        (Some(quantity), _) => Some(lower.quantity(&quantity)?),
        (None, Some(unit)) => Some(one_of(lower, &unit)),
        (None, None) => None,
    };
    Ok(Money {
        number: lower.number(&number)?,
        currency: inner(line, Rule::currency).map(|currency| lower.name(&currency)),
        per,
        span,
    })
}

/// An amount on a day.
fn counted(lower: &Lower, line: &Node<'_>) -> Lowered<Counted> {
    let span = lower.span(line);
    let day = inner(line, Rule::day_written).ok_or_else(|| missing(span))?;
    Ok(Counted {
        amount: lower.inner_quantity(line)?,
        day: super::head::date(&lower.further(day.as_span().start()), day.as_str())?,
        notes: line
            .clone()
            .into_inner()
            .filter(|part| part.as_rule() == Rule::clause)
            .map(|part| lower.name(&part))
            .collect(),
    })
}

/// What is sold at once.
fn pack(lower: &Lower, line: &Node<'_>) -> Lowered<Pack> {
    Ok(Pack {
        amount: lower.inner_quantity(line)?,
        money: inner(line, Rule::pack_price)
            .map(|price| money(lower, &price))
            .transpose()?,
        seller: inner(line, Rule::seller).map(|seller| lower.name(&seller)),
    })
}

/// One of a measure, as in `per kg`.
fn one_of(lower: &Lower, unit: &Node<'_>) -> Quantity {
    let span = lower.span(unit);
    let number = Number {
        value: crate::quantity::Decimal::ONE,
        decimals: None,
    };
    Quantity {
        low: vec![super::tree::Term {
            number,
            unit: Some(lower.name(unit)),
            span,
        }],
        high: None,
        span,
    }
}

fn divide(lower: &Lower, line: &Node<'_>) -> Lowered<Divide> {
    let quantity = lower.inner_quantity(line)?;
    Ok(match inner(line, Rule::thing_piece) {
        Some(piece) => Divide::Sized(lower.name(&piece), quantity),
        None => Divide::Counted(quantity),
    })
}

/// Reads how much to make.
pub fn make(lower: &Lower, text: &str) -> Lowered<Make> {
    let (lower, text) = trimmed(lower, text);
    let line = read(&lower, Rule::make_line, text, Pattern::Make.example())?;
    let span = lower.span(&line);
    let node = line.into_inner().next().ok_or_else(|| missing(span))?;
    let numbers = || -> Lowered<Vec<Number>> {
        node.clone()
            .into_inner()
            .filter(|part| part.as_rule() == Rule::number)
            .map(|part| lower.number(&part))
            .collect()
    };
    Ok(match node.as_rule() {
        Rule::all_stock => Make::AllStock,
        Rule::people => {
            let one = Number {
                value: crate::quantity::Decimal::ONE,
                decimals: None,
            };
            let found = numbers()?;
            let (people, mut days) = match found.as_slice() {
                [people, days] => (*people, *days),
                [days] => (one, *days),
                _ => return Err(missing(span)),
            };
            if inner(&node, Rule::week).is_some() {
                let seven = crate::quantity::Decimal::from(7_u32);
                days.value = days.value.checked_mul(seven).ok_or_else(|| {
                    Diagnostic::error(
                        code::NUMBER_OVERFLOW,
                        span,
                        "these are more days than can be reckoned",
                    )
                })?;
            }
            Make::People { people, days }
        }
        Rule::times => Make::Times(*numbers()?.first().ok_or_else(|| missing(span))?),
        Rule::vessels => Make::Vessels {
            count: *numbers()?.first().ok_or_else(|| missing(span))?,
            vessel: lower.name(&inner(&node, Rule::vessel).ok_or_else(|| missing(span))?),
            each: lower.inner_quantity(&node)?,
        },
        _ => Make::Quantity(lower.quantity(&node)?),
    })
}

/// Reads an amount that stands alone.
pub fn quantity(lower: &Lower, text: &str) -> Lowered<Quantity> {
    let (lower, text) = trimmed(lower, text);
    lower.inner_quantity(&read(
        &lower,
        Rule::quantity_line,
        text,
        Pattern::Quantity.example(),
    )?)
}

/// Reads a line whose first words are no line word: a piece of the entry's own, or a slip.
pub fn piece(
    file: FileId,
    span: Span,
    kind: Kind,
    text: &str,
) -> Result<(Name, Weighing), (Name, Box<Diagnostic>)> {
    let start = span.first_byte();
    let number_at = text
        .find(|c: char| c.is_ascii_digit() || "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞".contains(c))
        .map(|at| {
            // `.5` is a number too, though one that is refused.
            let before = text.get(..at).unwrap_or_default();
            if before.ends_with(" .") {
                at.saturating_sub(1)
            } else {
                at
            }
        });
    let weighed_at = words::places_of(text, "weighed")
        .find(|at| text.get(..*at).is_some_and(|before| before.ends_with(BLANKS)));
    let value_at = weighed_at.or(number_at);
    let words = text
        .get(..value_at.unwrap_or(text.len()))
        .unwrap_or_default()
        .trim_end_matches(BLANKS);
    let first = text.split(BLANKS).next().unwrap_or_default();
    let is_piece = kind.has_pieces()
        && !words.is_empty()
        && words.split(BLANKS).filter(|word| !word.is_empty()).count() <= 3
        && !words.contains([',', ':', '"']);
    let name_of = |words: &str| Name {
        text: fold_blanks(words),
        span: Span::new(file, start, start.saturating_add(words.len())),
    };
    // A near miss of a line word is more likely than a piece of that name.
    let near = naming::nearest(words, kind.line_words().iter().map(|word| word.word))
        .or_else(|| naming::nearest(first, kind.line_words().iter().map(|word| word.word)));
    if is_piece
        && near.is_none()
        && let Some(at) = value_at
    {
        let lower = Lower::new(file, start.saturating_add(at));
        let value = text.get(at..).unwrap_or_default();
        // A number without a measure weighs nothing: then the words are no piece.
        let node = grammar::read(Rule::weighing_line, value.trim_end_matches(BLANKS))
            .ok()
            .filter(|node| {
                node.clone()
                    .into_inner()
                    .flatten()
                    .any(|part| part.as_rule() == Rule::unit)
            });
        if let Some(node) = node {
            let name = name_of(words);
            return match weighing(&lower, &node) {
                Ok(weighing) => Ok((name, weighing)),
                Err(slip) => Err((name, Box::new(slip))),
            };
        }
    }
    let word = name_of(first);
    let mut finding = Diagnostic::error(
        code::UNKNOWN_LINE_WORD,
        word.span,
        format!("`{first}` opens no line of a {}", kind.word()),
    );
    finding = match near {
        Some(near) => {
            let meant = if naming::nearest(words, std::iter::once(near)).is_some() && !words.is_empty() {
                name_of(words).span
            } else {
                word.span
            };
            finding
                .help(format!("did you mean `{near}`?"))
                .fix(format!("write `{near}`"), meant, near)
        }
        None if kind == Kind::Formula => finding
            .help("herbs stand under `take`, indented further than it; words of your own stand after `note`"),
        None => finding.help(format!(
            "a {} has the lines: {}",
            kind.word(),
            kind.line_words()
                .iter()
                .map(|word| word.word)
                .filter(|word| !word.starts_with("level ")
                    && !word.starts_with("rounded ")
                    && !word.starts_with("heaped "))
                .collect::<Vec<_>>()
                .join(", ")
        )),
    };
    Err((word, Box::new(finding)))
}
