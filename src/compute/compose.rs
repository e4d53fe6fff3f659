//! Sizes a formula: fixed amounts first, then parts, percentages, and what is missing to a total.

use super::measure::{Use, yield_of};
use super::sizing::Sizing;
use super::trace::Trace;
use super::{Amounts, Composition, How, LineFigure, Reckoner, Totals};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::overflow;
use crate::model::{Bound, Formula, Portion, Taken, TakenAmount};
use crate::quantity::rounding::{quotient, settled};
use crate::quantity::{Checked, Decimal, Overflow, Spread, print};
use crate::source::Span;

/// How far percentages may miss 100 by printing alone, at the most.
const MOST_OFF: Decimal = Decimal::TWO;

impl Reckoner<'_> {
    /// Reckons one formula; nothing if it has a fault, which has then been reported.
    pub(super) fn formula(&mut self, at: usize, trace: &mut Trace) -> Option<Composition> {
        let formula = self.effective(self.ledger.formulas.get(at)?)?;
        if formula.taken.is_empty() {
            if self.ledger.formulas.get(at)?.take_span.is_none() {
                self.diagnostics.push(
                    Diagnostic::error(
                        code::NOTHING_TAKEN,
                        formula.head,
                        format!("{} takes nothing", formula.name.text),
                    )
                    .help("write `take` and, indented below it, each herb with its amount"),
                );
            }
            return None;
        }
        trace.begin(formula.taken.len());
        let mut sizing = Sizing::sort(&formula)?;
        if let Some(finding) = sizing.clashes(&formula) {
            self.diagnostics.push(finding);
            return None;
        }
        let fixed = self.fixed(&formula, &mut sizing, trace);
        // An unknown name or an amount that was refused has been reported where it stands.
        let whole = fixed
            && formula
                .taken
                .iter()
                .all(|taken| taken.what != Bound::Unknown && taken.amount.is_some());
        if !whole {
            return None;
        }
        match self.size(&formula, &mut sizing, trace) {
            Ok(totals) => Some(finish(formula, &sizing, totals)),
            Err(finding) => {
                self.diagnostics.push(*finding);
                None
            }
        }
    }

    /// Amounts that need no other line: weights, volumes, spoons, pieces and estimates.
    fn fixed(&mut self, formula: &Formula, sizing: &mut Sizing, trace: &mut Trace) -> bool {
        let mut fine = true;
        for (line, taken) in formula.taken.iter().enumerate() {
            let (portion, judged) = match &taken.amount {
                Some(TakenAmount::Portion(Portion::Parts(_) | Portion::Percent(..))) => continue,
                Some(TakenAmount::Portion(portion)) => (portion, false),
                Some(TakenAmount::About(portion)) => (portion, true),
                _ => continue,
            };
            // A weight needs no herb; anything else of an unknown name can't be reckoned.
            if taken.what == Bound::Unknown {
                fine = false;
                continue;
            }
            let of = Use {
                name: &taken.name,
                what: taken.what,
                span: taken.amount_span,
                line,
            };
            // A formula with a fault has been reported at its own lines.
            if let Bound::Formula(inner) = taken.what
                && self.done.get(inner).is_none_or(Option::is_none)
            {
                fine = false;
                continue;
            }
            match self.amounts(&of, portion, trace) {
                Ok((amounts, how)) => {
                    if judged {
                        trace.note(line, Some(taken.amount_span), None, || {
                            "by judgement: counted at the estimate".to_owned()
                        });
                    }
                    sizing.put(line, amounts, if judged { How::Judged } else { how });
                }
                Err(finding) => {
                    fine = false;
                    self.diagnostics.push(finding);
                }
            }
        }
        // A faulty formula may also be taken by the part.
        fine && formula.taken.iter().all(|taken| match taken.what {
            Bound::Formula(inner) => self.done.get(inner).is_some_and(Option::is_some),
            _ => true,
        })
    }

    fn size(
        &mut self,
        formula: &Formula,
        sizing: &mut Sizing,
        trace: &mut Trace,
    ) -> Result<Totals, Box<Diagnostic>> {
        let overflowed = |Overflow| Box::new(overflow(formula.name.span));
        if sizing.has_percent() {
            self.percent(formula, sizing, trace)?;
        } else if sizing.has_parts() {
            self.parts(formula, sizing, trace)?;
        }
        if let Some((line, target, span)) = sizing.enough.clone() {
            self.enough(formula, sizing, line, &target, span, trace)?;
        }
        let mut totals = sizing.totals().map_err(overflowed)?;
        if let Some(total) = sizing.exact_total {
            totals.grams = Some(total);
        }
        totals.volume = sizing
            .mark
            .or_else(|| yield_of(formula).map(|(volume, _)| volume));
        self.makes_agrees(formula, sizing, &totals);
        Ok(totals)
    }

    fn parts(
        &mut self,
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
            sizing.set_relative(line, rest);
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
            return Ok(());
        }
        if let Some((total, makes_span)) = makes {
            let fixed = sizing.fixed_grams().map_err(overflowed)?;
            let Some(fixed) = fixed else {
                return Err(Box::new(need_a_size(formula, sizing)));
            };
            let rest = fixed.missing_to(total.nominal).map_err(overflowed)?;
            if rest.low.is_sign_negative() || rest.nominal.is_zero() {
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
            sizing.exact_total = Some(Spread::exact(total.nominal));
            return Ok(());
        }
        if sizing.has_fixed()
            || matches!(
                sizing.enough,
                Some((_, Portion::Grams(_) | Portion::Millilitres(_), _))
            )
        {
            return Err(Box::new(need_a_size(formula, sizing)));
        }
        note_shares(sizing, "parts", trace);
        Ok(())
    }

    fn percent(
        &mut self,
        formula: &Formula,
        sizing: &mut Sizing,
        trace: &mut Trace,
    ) -> Result<(), Box<Diagnostic>> {
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
            sizing.set_relative(line, rest);
            sizing.enough = None;
        }
        let sum = sizing.relative_sum().map_err(overflowed)?;
        if sizing.has_fixed() || sizing.enough.is_some() {
            return self.percent_beside_fixed(formula, sizing, &sum, trace);
        }
        let missed = settled(
            hundred
                .checked_sub(sum.nominal)
                .ok_or(Overflow)
                .map_err(overflowed)?,
        )
        .abs();
        if !missed.is_zero() {
            let allowed = sizing.printing.min(MOST_OFF);
            if missed > allowed {
                return Err(Box::new(percent_off(formula, sizing, sum.nominal)));
            }
            self.diagnostics.push(
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
                sizing
                    .share_out(&Spread::exact(total.nominal), span, trace)
                    .map_err(overflowed)?;
                sizing.exact_total = Some(Spread::exact(total.nominal));
            }
            None => note_shares(sizing, "%", trace),
        }
        Ok(())
    }

    /// Percentages are of the finished total; the fixed weights are what they leave.
    fn percent_beside_fixed(
        &mut self,
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
                let left = hundred
                    .checked_sub(sum.nominal)
                    .ok_or(Overflow)
                    .map_err(overflowed)?;
                fixed.proportion(hundred, left).map_err(overflowed)?
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

    /// `q.s. to` a weight or a volume.
    fn enough(
        &mut self,
        formula: &Formula,
        sizing: &mut Sizing,
        line: usize,
        target: &Portion,
        span: Span,
        trace: &mut Trace,
    ) -> Result<(), Box<Diagnostic>> {
        let overflowed = |Overflow| Box::new(overflow(formula.name.span));
        let wrong = |message: &str| {
            Box::new(
                Diagnostic::error(code::WRONG_SORT_OF_MEASURE, span, message)
                    .help("write a total like the other amounts: `q.s. to 100 g` beside weights, `q.s. to 500 ml` beside volumes"),
            )
        };
        let taken = formula.taken.get(line);
        match target {
            Portion::Grams(total) => {
                let Some(sum) = sizing.other_grams(line).map_err(overflowed)? else {
                    return Err(wrong(
                        "what is missing to a weight can't be worked out beside a volume whose weight is not known",
                    ));
                };
                let rest = sum.missing_to(total.nominal).map_err(overflowed)?;
                not_negative(&rest, span, "g", &sum, total.nominal)?;
                trace.note(line, Some(span), None, || {
                    missing_words(total.nominal, &sum, &rest, "g")
                });
                sizing.put(
                    line,
                    Amounts {
                        grams: Some(rest),
                        ..Amounts::default()
                    },
                    How::WorkedOut,
                );
                sizing.exact_total = Some(Spread::exact(total.nominal));
            }
            Portion::Millilitres(_) | Portion::Household(..) | Portion::Drops(_) => {
                let Some(taken) = taken else { return Ok(()) };
                let of = Use {
                    name: &taken.name,
                    what: taken.what,
                    span,
                    line,
                };
                let (amounts, _) = self
                    .amounts(&of, target, &mut Trace::silent())
                    .map_err(Box::new)?;
                let Some(total) = amounts.millilitres else {
                    return Err(wrong("this is no volume of a liquid"));
                };
                match sizing.other_millilitres(line).map_err(overflowed)? {
                    Some(sum) => {
                        let rest = sum.missing_to(total.nominal).map_err(overflowed)?;
                        not_negative(&rest, span, "ml", &sum, total.nominal)?;
                        trace.note(line, Some(span), None, || {
                            missing_words(total.nominal, &sum, &rest, "ml")
                        });
                        let (amounts, _) = self
                            .amounts(&of, &Portion::Millilitres(rest), &mut Trace::silent())
                            .map_err(Box::new)?;
                        sizing.put(line, amounts, How::WorkedOut);
                    }
                    None => {
                        trace.note(line, Some(span), None, || {
                            format!(
                                "made up to the mark of {}: weights and volumes don't add",
                                print::spread(&total, 6, "ml")
                            )
                        });
                        self.diagnostics.push(
                            Diagnostic::notice(
                                code::MAKE_UP_TO_THE_MARK,
                                span,
                                format!(
                                    "how much {} this takes can't be worked out beside weights: make up to the mark",
                                    taken.name.text
                                ),
                            )
                            .help("pour it in last, up to the line of the measure; it is kept out of the sums"),
                        );
                        sizing.put(line, Amounts::default(), How::ToTheMark);
                    }
                }
                sizing.mark = Some(Spread::exact(total.nominal));
            }
            Portion::Parts(_) | Portion::Percent(..) => {
                return Err(wrong(
                    "a total in parts or percent stands beside no parts or percentages",
                ));
            }
            Portion::Pieces(..) | Portion::Minutes(_) | Portion::Sum(_) => {
                return Err(wrong("a total is a weight, a volume, parts or 100 %"));
            }
        }
        Ok(())
    }

    /// Beside fixed weights, what a dry mix makes must agree with their sum.
    fn makes_agrees(&mut self, formula: &Formula, sizing: &Sizing, totals: &Totals) {
        let Some((made, span)) = grams_made(formula) else {
            return;
        };
        let Some(total) = totals.grams else { return };
        let dry = formula
            .steps
            .iter()
            .all(|step| step.word == "infuse" && !is_whole_step(&step.preparation));
        let complete = sizing
            .lines
            .iter()
            .all(|(amounts, how)| amounts.grams.is_some() || *how == How::Uncounted);
        if !dry || !complete {
            return;
        }
        let (total, made) = (total.settled(), made.settled());
        if made.high < total.low || made.low > total.high {
            self.diagnostics.push(
                Diagnostic::warning(
                    code::MAKES_DISAGREES,
                    span.unwrap_or(formula.name.span),
                    format!(
                        "{} says that it makes {}, but what it takes comes to {}",
                        formula.name.text,
                        print::spread(&made, 3, "g"),
                        print::spread(&total, 3, "g")
                    ),
                )
                .help("mend the amounts, or take `makes` out: the sum is worked with"),
            );
        }
    }
}

/// Whether a step takes everything, so that what comes out is no dry mix any more.
fn is_whole_step(preparation: &crate::syntax::tree::Preparation) -> bool {
    !matches!(preparation.subject, crate::syntax::tree::Subject::Amount(..))
}

fn missing_words(total: Decimal, sum: &Spread, rest: &Spread, unit: &str) -> String {
    format!(
        "what is missing to {} {unit}: the others come to {}, so {}",
        print::short(total, 6),
        print::spread(sum, 6, unit),
        print::spread(rest, 6, unit)
    )
}

fn note_shares(sizing: &Sizing, unit: &str, trace: &mut Trace) {
    for (line, count) in sizing.relatives() {
        trace.note(line, None, None, || {
            format!(
                "{} of a formula without a size of its own",
                print::spread(&count, 6, unit)
            )
        });
    }
}

fn not_negative(
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

fn grams_made(formula: &Formula) -> Option<(Spread, Option<Span>)> {
    match &formula.makes {
        Some(crate::model::Stated {
            value: Portion::Grams(grams),
            span,
        }) => Some((*grams, *span)),
        _ => None,
    }
}

fn need_a_size(formula: &Formula, sizing: &Sizing) -> Diagnostic {
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
        format!("the percentages come to {} %, not 100 %", print::digits(sum)),
    );
    for (taken, relative) in formula.taken.iter().zip(&sizing.relative) {
        if relative.is_some() && !taken.each {
            finding = finding.related(taken.amount_span, taken.name.text.clone());
        }
    }
    finding.help("mend them; or let one line be `q.s. to 100%`; or write parts, which need no sum")
}

fn finish(formula: Formula, sizing: &Sizing, totals: Totals) -> Composition {
    let sum = |get: fn(&Amounts) -> Option<Spread>| -> Option<Decimal> {
        let counted = sizing.lines.iter().filter(|(_, how)| *how != How::Uncounted);
        let mut total = Decimal::ZERO;
        for (amounts, _) in counted {
            total = total.checked_add(get(amounts)?.nominal)?;
        }
        (!total.is_zero()).then_some(total)
    };
    // Shares are by weight where all lines have one; else by volume; else by parts.
    let measures: [fn(&Amounts) -> Option<Spread>; 3] = [|a| a.grams, |a| a.millilitres, |a| a.parts];
    let measure = measures.into_iter().find_map(|get| Some((get, sum(get)?)));
    let lines = formula
        .taken
        .iter()
        .zip(&sizing.lines)
        .map(|(taken, (amounts, how))| LineFigure {
            taken: taken.clone(),
            amounts: *amounts,
            how: *how,
            share: measure.and_then(|(get, total)| {
                let value = get(amounts)?.nominal.checked_mul(Decimal::ONE_HUNDRED)?;
                quotient(value, total).ok()
            }),
        })
        .collect();
    Composition {
        formula,
        lines,
        totals,
    }
}
