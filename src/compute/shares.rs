//! Sizes what is relative: parts by a part's weight or the whole, percentages by the finished total.

use super::sizing::Sizing;
use super::trace::Trace;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::overflow;
use crate::model::{Formula, Portion};
use crate::quantity::rounding::settled;
use crate::quantity::{Decimal, Overflow, Spread, print};
use crate::source::Span;
use crate::syntax::tree::Subject;

/// How far percentages may miss 100 by printing alone, at the most.
const MOST_OFF: Decimal = Decimal::TWO;

pub(super) fn parts(
    formula: &Formula,
    sizing: &mut Sizing,
    trace: &mut Trace,
) -> Result<(), Box<Diagnostic>> {
    let overflowed = |Overflow| Box::new(overflow(formula.name.span));
    if let Some((line, Portion::Parts(to), span)) = sizing.enough.clone() {
        let sum = sizing.relative_sum().map_err(overflowed)?;
        let rest = sum.missing_to(to.nominal).map_err(overflowed)?;
        not_negative(&rest, span, "parts", &sum, to.nominal)?;
        trace.note(line, Some(span), None, || {
            format!(
                "what is missing to {} parts: {} − {} = {}",
                print::short(to.nominal, 6),
                print::short(to.nominal, 6),
                print::short(sum.nominal, 6),
                print::spread(&rest, 6, "parts")
            )
        });
        sizing.exact_parts = Some(Spread::exact(to.nominal));
        sizing.set_relative(line, sizing.open_to(rest));
        sizing.enough = None;
    }
    let makes = grams_made(formula);
    if let Some(part) = formula.one_part {
        for (line, count) in sizing.relatives() {
            let grams = count.times(&part.value).map_err(overflowed)?;
            trace.note(line, part.span, None, || {
                format!(
                    "{} × {} a part = {}",
                    print::spread(&count, 6, "parts"),
                    print::spread(&part.value, 6, "g"),
                    print::spread(&grams, 6, "g")
                )
            });
            sizing.put_grams(line, grams);
        }
        if let Some(parts) = sizing.exact_parts {
            let fixed = sizing.fixed_grams().map_err(overflowed)?;
            let sized = parts.times(&part.value).map_err(overflowed)?;
            if let Some(fixed) = fixed {
                sizing.exact_total = Some(sized.plus(&fixed).map_err(overflowed)?);
            }
        }
        return Ok(());
    }
    if let Some((total, makes_span)) = makes {
        let fixed = sizing.fixed_grams().map_err(overflowed)?;
        let Some(fixed) = fixed else {
            return Err(Box::new(need_a_size(formula, sizing)));
        };
        let rest = total.minus_spread(&fixed).map_err(overflowed)?;
        let rest_settled = rest.settled();
        if rest_settled.low.is_sign_negative() && !rest_settled.low.is_zero()
            || rest_settled.nominal.is_zero()
        {
            return Err(Box::new(
                Diagnostic::error(
                    code::MAKES_DISAGREES,
                    makes_span.unwrap_or(formula.name.span),
                    format!(
                        "the fixed amounts already come to {}, so nothing is left for the parts",
                        print::spread(&fixed, 3, "g")
                    ),
                )
                .help("make more, or lower the fixed amounts"),
            ));
        }
        sizing.share_out(&rest, makes_span, trace).map_err(overflowed)?;
        sizing.exact_total = Some(total);
        return Ok(());
    }
    note_shares(formula, sizing, "parts", trace);
    Ok(())
}

pub(super) fn percent(
    formula: &Formula,
    sizing: &mut Sizing,
    trace: &mut Trace,
) -> Result<Option<Diagnostic>, Box<Diagnostic>> {
    let overflowed = |Overflow| Box::new(overflow(formula.name.span));
    let hundred = Decimal::ONE_HUNDRED;
    if let Some((line, Portion::Percent(to, _), span)) = sizing.enough.clone() {
        let sum = sizing.relative_sum().map_err(overflowed)?;
        let rest = sum.missing_to(to.nominal).map_err(overflowed)?;
        not_negative(&rest, span, "%", &sum, to.nominal)?;
        trace.note(line, Some(span), None, || {
            format!(
                "what is missing to {} %: {}",
                print::short(to.nominal, 6),
                print::spread(&rest, 6, "%")
            )
        });
        sizing.exact_parts = Some(Spread::exact(to.nominal));
        sizing.set_relative(line, sizing.open_to(rest));
        sizing.enough = None;
    }
    let sum = sizing.relative_sum().map_err(overflowed)?;
    if sizing.has_fixed() || sizing.enough.is_some() {
        return beside_fixed(formula, sizing, &sum, trace).map(|()| None);
    }
    let missed = settled(
        hundred
            .checked_sub(sum.nominal)
            .ok_or(Overflow)
            .map_err(overflowed)?,
    )
    .abs();
    let mut notice = None;
    if !missed.is_zero() {
        let allowed = sizing.printing.min(MOST_OFF);
        if missed > allowed {
            return Err(Box::new(percent_off(formula, sizing, sum.nominal)));
        }
        notice = Some(
            Diagnostic::notice(
                code::PERCENT_BY_PRINTING,
                formula.take_span.unwrap_or(formula.name.span),
                format!(
                    "the percentages of {} come to {} %, as printed figures do",
                    formula.name.text,
                    print::digits(sum.nominal)
                ),
            )
            .help("each is divided by that sum; write them as parts if that is what is meant: `equal parts`"),
        );
    }
    match grams_made(formula) {
        Some((total, span)) => {
            sizing.share_out(&total, span, trace).map_err(overflowed)?;
            sizing.exact_total = Some(total);
        }
        None => note_shares(formula, sizing, "%", trace),
    }
    Ok(notice)
}

/// Percentages are of the finished total; the fixed weights are what they leave.
fn beside_fixed(
    formula: &Formula,
    sizing: &mut Sizing,
    sum: &Spread,
    trace: &mut Trace,
) -> Result<(), Box<Diagnostic>> {
    let overflowed = |Overflow| Box::new(overflow(formula.name.span));
    let hundred = Decimal::ONE_HUNDRED;
    if sum.high >= hundred {
        return Err(Box::new(percent_off(formula, sizing, sum.nominal)));
    }
    let total = match &sizing.enough {
        Some((_, Portion::Grams(total), _)) => Spread::exact(total.nominal),
        Some((_, _, span)) => {
            return Err(Box::new(
                Diagnostic::error(
                    code::WRONG_SORT_OF_MEASURE,
                    *span,
                    "beside percentages, a total is a weight or 100 %",
                )
                .help("write `q.s. to 100%` or `q.s. to 500 g`"),
            ));
        }
        None => {
            let Some(fixed) = sizing.fixed_grams().map_err(overflowed)? else {
                return Err(Box::new(
                    Diagnostic::error(
                        code::WRONG_SORT_OF_MEASURE,
                        formula.take_span.unwrap_or(formula.name.span),
                        "percentages by weight stand beside a volume whose weight is not known",
                    )
                    .help("give the liquid a `density`, or take it by weight"),
                ));
            };
            // The more percent the others have, the more the whole weighs.
            sum.missing_to(hundred)
                .and_then(|left| fixed.scaled(hundred)?.over(&left))
                .map_err(overflowed)?
        }
    };
    for (line, percent) in sizing.relatives() {
        let grams = total
            .times(&percent)
            .and_then(|spread| spread.proportion(Decimal::ONE, hundred))
            .map_err(overflowed)?;
        trace.note(line, None, None, || {
            format!(
                "{} of the finished {} = {}",
                print::spread(&percent, 6, "%"),
                print::spread(&total, 6, "g"),
                print::spread(&grams, 6, "g")
            )
        });
        sizing.put_grams(line, grams);
    }
    if sizing.enough.is_none() {
        sizing.exact_total = Some(total);
    }
    Ok(())
}

fn note_shares(formula: &Formula, sizing: &Sizing, unit: &str, trace: &mut Trace) {
    for (line, count) in sizing.relatives() {
        let span = formula.taken.get(line).map(|taken| taken.amount_span);
        trace.note(line, span, None, || {
            format!(
                "{}, in a formula without a size of its own",
                print::spread(&count, 6, print::unit_for(&count, unit))
            )
        });
    }
}

pub(super) fn not_negative(
    rest: &Spread,
    span: Span,
    unit: &str,
    sum: &Spread,
    total: Decimal,
) -> Result<(), Box<Diagnostic>> {
    if settled(rest.low).is_sign_negative() && !settled(rest.low).is_zero() {
        return Err(Box::new(
            Diagnostic::error(
                code::ENOUGH_IS_NEGATIVE,
                span,
                format!(
                    "the other lines come to {}, more than the {} {unit} that this fills up to",
                    print::spread(sum, 3, unit),
                    print::short(total, 3)
                ),
            )
            .help("raise the total or lower the other amounts: nothing is left for this line"),
        ));
    }
    Ok(())
}

/// What a dry mix makes in grams, and the line that says so. After a preparation what it makes is
/// the yield, which sizes nothing that was taken.
pub(super) fn grams_made(formula: &Formula) -> Option<(Spread, Option<Span>)> {
    if !is_dry(formula) {
        return None;
    }
    stated_grams(formula)
}

/// What is made in grams by a preparation.
pub(super) fn grams_yielded(formula: &Formula) -> Option<Spread> {
    if is_dry(formula) {
        return None;
    }
    stated_grams(formula).map(|(grams, _)| grams)
}

/// Whether nothing is done to the whole: a tea that is infused by the spoon is a dry mix.
fn is_dry(formula: &Formula) -> bool {
    formula.steps.iter().all(|step| {
        matches!(step.word, "infuse" | "decoct" | "macerate")
            && matches!(step.preparation.subject, Subject::Amount(..))
    })
}

fn stated_grams(formula: &Formula) -> Option<(Spread, Option<Span>)> {
    match &formula.makes {
        Some(crate::model::Stated {
            value: Portion::Grams(grams),
            span,
        }) => Some((*grams, *span)),
        _ => None,
    }
}

pub(super) fn need_a_size(formula: &Formula, sizing: &Sizing) -> Diagnostic {
    let of = |wanted: bool| {
        formula
            .taken
            .iter()
            .enumerate()
            .find(|(line, _)| sizing.relative.get(*line).is_some_and(Option::is_some) == wanted)
            .map(|(_, taken)| taken)
    };
    let part = of(true);
    let mut finding = Diagnostic::error(
        code::PARTS_NEED_A_SIZE,
        part.map_or(formula.name.span, |taken| taken.amount_span),
        "parts stand beside other amounts, and nothing says how big a part is",
    );
    if let Some(fixed) = of(false) {
        finding = finding.related(fixed.amount_span, "this is no part");
    }
    finding.help("add a line `one part   5 g`, or what the whole weighs, `makes   500 g`")
}

fn percent_off(formula: &Formula, sizing: &Sizing, sum: Decimal) -> Diagnostic {
    let mut finding = Diagnostic::error(
        code::PERCENT_OFF,
        formula.take_span.unwrap_or(formula.name.span),
        if settled(sum) >= Decimal::ONE_HUNDRED && (sizing.has_fixed() || sizing.enough.is_some()) {
            format!(
                "the percentages come to {} % already, and other amounts stand beside them",
                print::digits(sum)
            )
        } else {
            format!("the percentages come to {} %, not 100 %", print::digits(sum))
        },
    );
    for (taken, relative) in formula.taken.iter().zip(&sizing.relative) {
        if relative.is_some() && !taken.each {
            finding = finding.related(taken.amount_span, "counted");
        }
    }
    finding.help("mend them; or let one line be `q.s. to 100%`; or write parts, which need no sum")
}
