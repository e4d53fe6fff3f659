//! Reads the lines of the two lists: what is taken, and what went into a batch.

use super::explain;
use super::grammar::{self, Rule};
use super::line::{inner, read, trimmed};
use super::lower::{Lower, Lowered, missing};
use super::tree::{Amount, AmountKind, Ingredient, Quantity, UsedLine};
use crate::code;
use crate::diagnostic::Diagnostic;

/// Reads a line under `take`, or the one on it.
pub fn taken(lower: &Lower, text: &str) -> Lowered<Ingredient> {
    let (lower, text) = trimmed(lower, text);
    let lower = &lower;
    let span = lower.range(0, text.len());
    let without = super::words::opens_with(text, "without").is_some();
    explain::sign_in_a_name(lower, text)?;
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
            Rule::manner => {
                explain::another_amount(lower, &part)?;
                ingredient.processing.push(lower.name(&part));
            }
            Rule::role => {
                ingredient.role = inner(&part, Rule::role_words).map(|words| lower.name(&words));
            }
            _ => {}
        }
    }
    explain::sign_beside_a_name(lower, text, &ingredient)?;
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
        amount.span = amount.span.to(about.span);
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
    let mut names = line
        .clone()
        .into_inner()
        .filter(|part| part.as_rule() == Rule::name);
    let name = names.next().ok_or_else(|| missing(span))?;
    if let Some(second) = names.next() {
        return Err(Diagnostic::error(
            code::TWO_NAMES_ONE_AMOUNT,
            lower.span(&second),
            "a second name stands before the amount, and what was used is written herb by herb",
        )
        .help("give each herb a line of its own with what was used of it; what was done to it stands after the amount"));
    }
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
