//! Reads one line by the pattern of its line word.

use super::dose;
use super::explain;
use super::grammar::{self, Node, Rule};
use super::lower::{Lower, Lowered, fold_blanks, missing};
use super::preparation;
use super::tree::{
    Amount, AmountKind, Body, Date, Divide, Ingredient, Kind, Make, Money, Name, Per, Quantity, UsedLine,
    Weighed, Weighing,
};
use super::words::Pattern;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::Number;
use crate::source::{FileId, Span};

const BLANKS: [char; 5] = [' ', '\t', '\u{a0}', '\n', '\r'];

/// Cuts the blanks off a text and says where what is left begins.
fn trimmed<'a>(lower: &Lower, text: &'a str) -> (Lower, &'a str) {
    let body = text.trim_start_matches(BLANKS);
    let skipped = text.len().saturating_sub(body.len());
    (lower.further(skipped), body.trim_end_matches(BLANKS))
}

/// Reads a text by a rule, or explains why it can't be read.
fn read<'a>(lower: &Lower, rule: Rule, text: &'a str, wanted: &str) -> Lowered<Node<'a>> {
    grammar::read(rule, text).map_err(|at| explain::line(lower, text, at, wanted))
}

/// What stands before and after the gap in front of `source` at a line's end.
pub fn split_source(file: FileId, start: usize, text: &str) -> (&str, Option<Name>) {
    text.rmatch_indices("source")
        .find_map(|(at, word)| {
            let before = text.get(..at)?;
            let from = at.saturating_add(word.len());
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

/// A whole head line as an example.
pub fn head_example(kind: Kind) -> &'static str {
    match kind {
        Kind::Practice => "practice",
        Kind::Source => "source herbal-handbook",
        Kind::Herb => "herb ginger rhizome",
        Kind::Material => "material honey",
        Kind::Formula => "formula after-supper tea",
        Kind::Person => "person 017",
        Kind::Batch => "batch after-supper tea on 2026-11-03",
        Kind::Lot => "lot PM-114 of peppermint leaf",
        Kind::Supply => "supply after-supper tea on 2026-11-05",
        Kind::Set => "set winter evening class",
    }
}

type Head = (Option<Name>, Option<Name>, Option<Date>);

/// Reads what stands after the kind: a name, a lot's id, a day.
pub fn head(lower: &Lower, kind: Kind, text: &str) -> Lowered<Head> {
    let (lower, text) = trimmed(lower, text);
    if text.is_empty() {
        return Ok((None, None, None));
    }
    match kind {
        Kind::Lot => {
            let id_length = text.find(BLANKS).unwrap_or(text.len());
            let id = text.get(..id_length).unwrap_or_default();
            let rest = text.get(id_length..).unwrap_or_default();
            let (rest_lower, rest) = trimmed(&lower.further(id_length), rest);
            let of = super::words::opens_with(rest, "of").filter(|of| *of < rest.len());
            let Some(of) = of else {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    lower.range(0, text.len()),
                    "this lot does not say of what it is",
                )
                .help(format!(
                    "a lot has an id of one word, `of` and a name: `{}`",
                    head_example(kind)
                )));
            };
            let (name_lower, name) = trimmed(&rest_lower.further(of), rest.get(of..).unwrap_or_default());
            let id = Name {
                text: id.to_owned(),
                span: lower.range(0, id_length),
            };
            Ok((Some(plain_name(&name_lower, name)?), Some(id), None))
        }
        Kind::Batch | Kind::Supply => {
            let (name, date) = match last_on(text) {
                Some((before, at)) => {
                    let (date_lower, words) = trimmed(&lower.further(at), text.get(at..).unwrap_or_default());
                    (before, Some(date(&date_lower, words)?))
                }
                None => (text, None),
            };
            if date.is_none() {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    lower.range(0, text.len()),
                    format!("this {} does not say on which day", kind.word()),
                )
                .help(format!("write the day at the end: `{}`", head_example(kind))));
            }
            Ok((Some(plain_name(&lower, name)?), None, date))
        }
        _ => Ok((Some(plain_name(&lower, text)?), None, None)),
    }
}

/// Splits at the last ` on ` that something like a date follows; gives where that begins.
fn last_on(text: &str) -> Option<(&str, usize)> {
    text.rmatch_indices("on").find_map(|(at, word)| {
        let before = text.get(..at)?;
        let from = at.saturating_add(word.len());
        let after = text.get(from..)?;
        let date = after.trim_start_matches(BLANKS);
        (before.ends_with(BLANKS)
            && after.starts_with(BLANKS)
            && date.starts_with(|c: char| c.is_ascii_digit()))
        .then(|| (before.trim_end_matches(BLANKS), from))
    })
}

fn plain_name(lower: &Lower, text: &str) -> Lowered<Name> {
    let text = text.trim_end_matches(BLANKS);
    let span = lower.range(0, text.len());
    let bare = match text.strip_prefix('"') {
        Some(rest) => rest.strip_suffix('"').filter(|name| !name.contains('"')),
        None => Some(text).filter(|name| !name.contains('"')),
    };
    let Some(bare) = bare else {
        return Err(explain::unclosed_quote(span));
    };
    if !text.starts_with('"') && bare.contains([',', ':']) {
        return Err(Diagnostic::error(
            code::LINE_NOT_UNDERSTOOD,
            span,
            "a name with a comma or a colon in it stands in quotes",
        )
        .help(format!("write `\"{bare}\"`"))
        .fix("put the name in quotes", span, format!("\"{bare}\"")));
    }
    let folded = fold_blanks(bare);
    if folded.is_empty() {
        return Err(
            Diagnostic::error(code::ENTRY_WITHOUT_A_NAME, span, "this name is empty")
                .help("write a name between the quotes"),
        );
    }
    Ok(Name { text: folded, span })
}

/// Reads a date, `2026-11-03` or `2026-11`.
pub fn date(lower: &Lower, text: &str) -> Lowered<Date> {
    let (lower, text) = trimmed(lower, text);
    let span = lower.range(0, text.len());
    if text.contains(['/', '.']) {
        return Err(Diagnostic::error(
            code::SLASHED_DATE,
            span,
            format!("`{text}` may be day, month, year or month, day, year"),
        )
        .help("write a date as year-month-day: `2026-11-03`"));
    }
    let month_only = text.matches('-').count() == 1;
    let whole = if month_only {
        format!("{text}-01")
    } else {
        text.to_owned()
    };
    // The letters are checked first: the library would also take longer ISO forms.
    let shaped = whole.len() == 10 && whole.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    match whole.parse::<jiff::civil::Date>() {
        Ok(first) if shaped => Ok(Date {
            first,
            month_only,
            span,
        }),
        _ => Err(Diagnostic::error(
            code::IMPOSSIBLE_DATE,
            span,
            if shaped {
                format!("`{text}` is no day in the calendar")
            } else {
                format!("`{text}` is no date")
            },
        )
        .help("write a date as year-month-day, `2026-11-03`, or year-month, `2026-11`")),
    }
}

/// Reads what stands after a line word, by its pattern.
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
            node(Rule::strength_line)?;
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
            Body::Most(lower.inner_quantity(&line)?, per)
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
        Pattern::Date => Body::Date(date(lower, text)?),
        Pattern::Make => Body::Make(make(lower, text)?),
        Pattern::Age => {
            let line = node(Rule::age_line)?;
            let number = inner(&line, Rule::number).ok_or_else(|| missing(word_span))?;
            Body::Age(
                lower.number(&number)?,
                inner(&line, Rule::unit).map(|unit| lower.name(&unit)),
            )
        }
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

/// Reads a line under `take`, or the one on it.
pub fn ingredient(lower: &Lower, text: &str) -> Lowered<Ingredient> {
    let (lower, text) = trimmed(lower, text);
    let lower = &lower;
    let span = lower.range(0, text.len());
    let without = super::words::opens_with(text, "without").is_some();
    let rule = if without {
        Rule::without_line
    } else {
        Rule::ingredient_line
    };
    let line = grammar::read(rule, text).map_err(|at| explain::ingredient(lower, text, at))?;
    let mut ingredient = Ingredient {
        without,
        names: Vec::new(),
        strength: None,
        amount: None,
        processing: Vec::new(),
        role: None,
        source: None,
        span,
    };
    let mut about = None;
    let mut or_enough = false;
    for part in line.into_inner() {
        match part.as_rule() {
            Rule::name => ingredient.names.push(lower.name(&part)),
            Rule::strength => {
                let number = inner(&part, Rule::number).ok_or_else(|| missing(span))?;
                ingredient.strength = Some(lower.number(&number)?);
            }
            Rule::amount => ingredient.amount = Some(lower.amount(&part)?),
            Rule::estimate => about = Some(lower.inner_quantity(&part)?),
            Rule::or_enough => or_enough = true,
            Rule::clause => ingredient.processing.push(lower.name(&part)),
            Rule::role => {
                ingredient.role = inner(&part, Rule::role_words).map(|words| lower.name(&words));
            }
            _ => {}
        }
    }
    if let Some(amount) = ingredient.amount.as_mut() {
        amount.or_enough = or_enough;
        settle_estimate(amount, about)?;
        explain::stray_unit_words(lower, text, amount)?;
    } else if !without {
        return Err(explain::no_amount(lower, text, &ingredient));
    }
    Ok(ingredient)
}

/// `q.s., about 25 g`: the estimate belongs to the amount before it.
fn settle_estimate(amount: &mut Amount, about: Option<Quantity>) -> Lowered<()> {
    let Some(about) = about else { return Ok(()) };
    if let AmountKind::Enough(estimate @ None) = &mut amount.kind {
        *estimate = Some(about);
        return Ok(());
    }
    Err(Diagnostic::error(
        code::LINE_NOT_UNDERSTOOD,
        about.span,
        "an estimate stands only after `q.s.`",
    )
    .related(amount.span, "this is an amount already")
    .help("keep one of the two; `q.s., about 25 g` is enough by judgement, counted as 25 g"))
}

/// Reads a line under `used`.
pub fn used(lower: &Lower, text: &str) -> Lowered<UsedLine> {
    let (lower, text) = trimmed(lower, text);
    let span = lower.range(0, text.len());
    let line = read(
        &lower,
        Rule::used_line,
        text,
        "a herb and how much from which lot: `peppermint leaf  60 g from PM-114`",
    )?;
    let name = inner(&line, Rule::name).ok_or_else(|| missing(span))?;
    let mut used = UsedLine {
        name: lower.name(&name),
        portions: Vec::new(),
        notes: Vec::new(),
        span,
    };
    for part in line.into_inner() {
        match part.as_rule() {
            Rule::portion => used.portions.push((
                lower.inner_quantity(&part)?,
                inner(&part, Rule::word).map(|lot| lower.name(&lot)),
            )),
            Rule::clause => used.notes.push(lower.name(&part)),
            _ => {}
        }
    }
    Ok(used)
}

/// Reads a line whose first words are no line word: a piece of the entry's own, or a slip.
pub fn piece(
    file: FileId,
    span: Span,
    kind: Kind,
    text: &str,
) -> Result<(Name, Weighing), (Name, Box<Diagnostic>)> {
    let start = span.first_byte();
    let number_at = text.find(|c: char| c.is_ascii_digit());
    let weighed_at = text
        .match_indices("weighed")
        .map(|(at, _)| at)
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
        if let Ok(node) = grammar::read(Rule::weighing_line, value.trim_end_matches(BLANKS)) {
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
