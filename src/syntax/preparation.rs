//! Reads what stands after `infuse`, `decoct`, `macerate`, `percolate` and `syrup`.

use super::explain;
use super::grammar::{Node, Rule};
use super::line::inner;
use super::lower::{Lower, Lowered, missing, once};
use super::tree::{Liquid, Name, Preparation, Subject};
use crate::quantity::Number;

/// Reads one step.
pub fn read(lower: &Lower, line: &Node<'_>) -> Lowered<Preparation> {
    let mut step = Preparation {
        subject: Subject::All,
        media: Vec::new(),
        lasting: None,
        heat: None,
        down_to: None,
        clauses: Vec::new(),
        span: lower.span(line),
    };
    for part in line.clone().into_inner() {
        let span = lower.span(&part);
        match part.as_rule() {
            Rule::subject => step.subject = subject(lower, &part)?,
            Rule::medium => {
                for liquid in part
                    .clone()
                    .into_inner()
                    .filter(|inside| inside.as_rule() == Rule::liquid)
                {
                    step.media.push(self::liquid(lower, &liquid)?);
                }
            }
            Rule::lasting => once(&mut step.lasting, lower.inner_quantity(&part)?, span, "how long")?,
            Rule::heat => once(&mut step.heat, lower.inner_quantity(&part)?, span, "how hot")?,
            Rule::reduced => once(
                &mut step.down_to,
                lower.inner_quantity(&part)?,
                span,
                "down to how much",
            )?,
            Rule::clause => {
                explain::heap_in_words(lower, &part)?;
                step.clauses.push(lower.name(&part));
            }
            _ => {}
        }
    }
    Ok(step)
}

fn subject(lower: &Lower, node: &Node<'_>) -> Lowered<Subject> {
    if inner(node, Rule::ratio).is_some() {
        let by_weight = inner(node, Rule::by_weight).is_some();
        return Ok(Subject::Ratio(lower.ratio(node)?, by_weight));
    }
    if let Some(quantity) = inner(node, Rule::quantity) {
        let of = inner(node, Rule::thing).map(|thing| lower.name(&thing));
        return Ok(Subject::Amount(lower.quantity(&quantity)?, of));
    }
    Ok(Subject::Things(things(lower, node)))
}

fn things(lower: &Lower, node: &Node<'_>) -> Vec<Name> {
    node.clone()
        .into_inner()
        .filter(|part| part.as_rule() == Rule::taken)
        .map(|thing| lower.name(&thing))
        .collect()
}

fn liquid(lower: &Lower, node: &Node<'_>) -> Lowered<Liquid> {
    let strength = inner(node, Rule::strength)
        .map(|part| strength(lower, &part))
        .transpose()?;
    let amount = node
        .clone()
        .into_inner()
        .find(|part| matches!(part.as_rule(), Rule::quantity | Rule::article_quantity))
        .map(|quantity| lower.quantity(&quantity))
        .transpose()?;
    Ok(Liquid {
        amount,
        strength,
        name: inner(node, Rule::thing).map(|thing| lower.name(&thing)),
    })
}

fn strength(lower: &Lower, node: &Node<'_>) -> Lowered<(Number, bool)> {
    let number = inner(node, Rule::number).ok_or_else(|| missing(lower.span(node)))?;
    Ok((lower.number(&number)?, inner(node, Rule::by_weight).is_some()))
}
