//! Sizes a formula: fixed amounts first, then parts, percentages, and what is missing to a total.

use super::measure::{Use, yield_of};
use super::prepared;
use super::shares::{self, grams_made, grams_yielded, not_negative};
use super::sizing::Sizing;
use super::trace::Trace;
use super::{Amounts, Composition, How, LineFigure, Reckoner, Totals};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::overflow;
use crate::model::{Bound, Formula, Portion, TakenAmount};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Overflow, Spread, print};
use crate::source::Span;

impl Reckoner<'_> {
    /// Reckons one formula; nothing if it has a fault, which has then been reported.
    pub(super) fn formula(&mut self, at: usize, trace: &mut Trace) -> Option<Composition> {
        let before = self.diagnostics.len();
        let composition = self.reckon(at, trace);
        self.name_adaptation(at, before);
        composition
    }

    /// A fault that shows only in an adaptation lies at a line of the adapted formula: says where from.
    fn name_adaptation(&mut self, at: usize, since: usize) {
        let Some(formula) = self
            .ledger
            .formulas
            .get(at)
            .filter(|formula| formula.adapts.is_some())
        else {
            return;
        };
        let entry = formula.entry;
        for finding in self.diagnostics.iter_mut().skip(since) {
            let inside =
                finding.span.file == entry.file && (entry.start..=entry.end).contains(&finding.span.start);
            if !inside {
                finding.related.push((
                    formula.head,
                    format!("this shows in {}, which adapts it", formula.name.text),
                ));
            }
        }
    }

    fn reckon(&mut self, at: usize, trace: &mut Trace) -> Option<Composition> {
        let formula = self.effective(self.ledger.formulas.get(at)?)?;
        if formula.taken.is_empty() {
            if !formula.refused {
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
        let complete = !formula.refused
            && self.takes_what_it_prepares(&formula)
            && formula.taken.iter().all(|taken| taken.amount.is_some());
        let known = formula.taken.iter().all(|taken| taken.what != Bound::Unknown);
        if !complete {
            return None;
        }
        if !fixed || !known {
            // Percentages add up or not, whatever the names mean.
            if sizing.has_percent()
                && !sizing.has_fixed()
                && let Err(finding) = shares::percent(&formula, &mut sizing, &mut Trace::silent())
            {
                self.diagnostics.push(*finding);
            }
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

    /// Whether everything that a step names is taken; what is not is reported.
    fn takes_what_it_prepares(&mut self, formula: &Formula) -> bool {
        let strangers = prepared::strangers(self.ledger, formula);
        for prepared::Stranger { name, meant } in &strangers {
            let mut finding = Diagnostic::error(
                code::PREPARED_BUT_NOT_TAKEN,
                name.span,
                format!(
                    "`{}` is prepared here, and {} does not take it, so it is in no figure",
                    name.text, formula.name.text
                ),
            )
            .help(format!(
                "add it under `take` with its amount: `{}   10 g`; or name what is taken",
                name.text
            ));
            if let Some(span) = formula.take_span {
                finding = finding.related(span, "this is what it takes");
            }
            if meant.is_empty() {
                finding
                    .message
                    .push_str("; nothing of that name is declared, so no caution is known");
            }
            self.diagnostics.push(finding);
        }
        strangers.is_empty()
    }

    /// Amounts that need no other line: weights, volumes, spoons, pieces and estimates.
    fn fixed(&mut self, formula: &Formula, sizing: &mut Sizing, trace: &mut Trace) -> bool {
        let mut fine = true;
        for (line, taken) in formula.taken.iter().enumerate() {
            let (portion, judged) = match &taken.amount {
                Some(
                    TakenAmount::Portion(Portion::Parts(_) | Portion::Percent(..))
                    | TakenAmount::About(Portion::Parts(_) | Portion::Percent(..)),
                ) => continue,
                Some(TakenAmount::Portion(portion)) => (portion, false),
                Some(TakenAmount::About(portion)) => (portion, true),
                Some(TakenAmount::Enough) => {
                    trace.note(line, Some(taken.amount_span), None, || {
                        "as much as is needed, by judgement: kept out of every total".to_owned()
                    });
                    continue;
                }
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
            // A herb with a fault has been reported too. Its weight would be known, but the line that
            // was refused may be a caution.
            if self.is_faulty(taken.what) {
                fine = false;
                continue;
            }
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
            Bound::Substance(_) => !self.is_faulty(taken.what),
            Bound::Unknown => true,
        })
    }

    fn size(
        &mut self,
        formula: &Formula,
        sizing: &mut Sizing,
        trace: &mut Trace,
    ) -> Result<Totals, Box<Diagnostic>> {
        let overflowed = |Overflow| Box::new(overflow(formula.name.span));
        if let (Some(line), Some((_, _, span))) = (sizing.by_eye, &sizing.enough) {
            self.diagnostics.push(beside_judgement(formula, line, *span));
        }
        if sizing.has_percent() {
            self.diagnostics.extend(shares::percent(formula, sizing, trace)?);
        } else if sizing.has_parts() {
            shares::parts(formula, sizing, trace)?;
        }
        if let Some((line, target, span)) = sizing.enough.clone() {
            self.enough(formula, sizing, line, &target, span, trace)?;
        }
        let mut totals = sizing.totals().map_err(overflowed)?;
        if let Some(total) = sizing.exact_total {
            totals.grams = Some(total);
        }
        if let (Some(total), Some(_)) = (sizing.exact_parts, totals.parts) {
            totals.parts = Some(total);
        }
        // What is filled up to, less what is summed in grams.
        if let (Some(total), Some(_)) = (sizing.exact_volume, totals.millilitres) {
            let mut weighed = Spread::ZERO;
            for (amounts, _) in sizing.lines.iter().filter(|(amounts, _)| amounts.grams.is_some()) {
                if let Some(volume) = amounts.millilitres {
                    weighed = weighed.plus(&volume).map_err(overflowed)?;
                }
            }
            totals.millilitres = Some(weighed.missing_to(total.nominal).map_err(overflowed)?);
        }
        totals.volume = sizing
            .mark
            .or_else(|| yield_of(formula).map(|(volume, _)| volume));
        totals.finished = grams_yielded(formula);
        self.makes_agrees(formula, sizing, &totals);
        Ok(totals)
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
                        grams: Some(sizing.open_to(rest)),
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
                self.fill_up(sizing, &of, &total, trace)?;
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

    /// Fills up to a volume: worked out among volumes, else left to the mark of the measure.
    fn fill_up(
        &mut self,
        sizing: &mut Sizing,
        of: &Use<'_>,
        total: &Spread,
        trace: &mut Trace,
    ) -> Result<(), Box<Diagnostic>> {
        let overflowed = |Overflow| Box::new(overflow(of.span));
        if let Some(sum) = sizing.other_millilitres(of.line).map_err(overflowed)? {
            let rest = sum.missing_to(total.nominal).map_err(overflowed)?;
            not_negative(&rest, of.span, "ml", &sum, total.nominal)?;
            trace.note(of.line, Some(of.span), None, || {
                missing_words(total.nominal, &sum, &rest, "ml")
            });
            let (amounts, _) = self
                .amounts(
                    of,
                    &Portion::Millilitres(sizing.open_to(rest)),
                    &mut Trace::silent(),
                )
                .map_err(Box::new)?;
            sizing.put(of.line, amounts, How::WorkedOut);
            if amounts.grams.is_none() {
                sizing.exact_volume = Some(Spread::exact(total.nominal));
            }
            return Ok(());
        }
        trace.note(of.line, Some(of.span), None, || {
            format!(
                "made up to the mark of {}: weights and volumes don't add",
                print::spread(total, 6, "ml")
            )
        });
        self.diagnostics.push(
            Diagnostic::notice(
                code::MAKE_UP_TO_THE_MARK,
                of.span,
                format!(
                    "how much {} this takes can't be worked out beside weights: make up to the mark",
                    of.name.text
                ),
            )
            .help("pour it in last, up to the line of the measure; it is kept out of the sums"),
        );
        sizing.put(of.line, Amounts::default(), How::ToTheMark);
        Ok(())
    }

    /// Beside fixed weights, what a dry mix makes must agree with their sum.
    fn makes_agrees(&mut self, formula: &Formula, sizing: &Sizing, totals: &Totals) {
        let Some((made, span)) = grams_made(formula) else {
            return;
        };
        let Some(total) = totals.grams else { return };
        let complete = sizing
            .lines
            .iter()
            .all(|(amounts, how)| amounts.grams.is_some() || *how == How::Uncounted);
        if !complete {
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

/// What is missing to a total can't be told beside a line that takes of it by judgement.
fn beside_judgement(formula: &Formula, line: usize, span: Span) -> Diagnostic {
    let name = formula
        .taken
        .get(line)
        .map_or("", |taken| taken.name.text.as_str());
    let finding = Diagnostic::notice(
        code::MAKE_UP_TO_THE_MARK,
        span,
        format!("{name} is taken by judgement, so what is missing to this total is known only as a most"),
    )
    .help("pour it in last, up to the mark; or give the other an estimate: `q.s., about 25 ml`");
    match formula.taken.get(line) {
        Some(taken) => finding.related(taken.amount_span, "as much as is needed"),
        None => finding,
    }
}

fn missing_words(total: Decimal, sum: &Spread, rest: &Spread, unit: &str) -> String {
    format!(
        "what is missing to {} {unit}: the others come to {}, so {}",
        print::short(total, 6),
        print::spread(sum, 6, unit),
        print::spread(rest, 6, unit)
    )
}

#[expect(
    clippy::large_types_passed_by_value,
    reason = "the composition keeps the totals"
)]
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
