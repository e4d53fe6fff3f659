//! The lines of a formula while it is sized: which are fixed, which relative, which fill up to a total.

use super::shares::{grams_made, need_a_size};
use super::trace::Trace;
use super::{Amounts, How, Totals};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Formula, Portion, Taken, TakenAmount};
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow, Spread, print};
use crate::source::Span;

/// The lines of a formula while it is sized.
pub(super) struct Sizing {
    pub(super) lines: Vec<(Amounts, How)>,
    /// Parts or percentages, by line.
    pub(super) relative: Vec<Option<Spread>>,
    pub(super) parts: usize,
    pub(super) percents: usize,
    pub(super) fixed: usize,
    /// How far printed percentages may be off.
    pub(super) printing: Decimal,
    pub(super) enough: Option<(usize, Portion, Span)>,
    pub(super) second_enough: Option<Span>,
    /// The total, where it is exact though lines have a spread.
    pub(super) exact_total: Option<Spread>,
    /// The parts that a `q.s. to` fills up to.
    pub(super) exact_parts: Option<Spread>,
    /// The volume, where it is exact though lines have a spread.
    pub(super) exact_volume: Option<Spread>,
    /// The first line that is taken by judgement without an estimate.
    pub(super) by_eye: Option<usize>,
    /// The volume that a `q.s. to` makes up to.
    pub(super) mark: Option<Spread>,
}

impl Sizing {
    /// Sorts the lines by the kind of their amounts; nothing if an amount was refused.
    pub(super) fn sort(formula: &Formula) -> Option<Self> {
        let mut sizing = Self {
            lines: vec![(Amounts::default(), How::Uncounted); formula.taken.len()],
            relative: vec![None; formula.taken.len()],
            parts: 0,
            percents: 0,
            fixed: 0,
            printing: Decimal::ZERO,
            enough: None,
            second_enough: None,
            exact_total: None,
            exact_parts: None,
            exact_volume: None,
            by_eye: None,
            mark: None,
        };
        for (line, taken) in formula.taken.iter().enumerate() {
            sizing.sort_line(line, taken)?;
        }
        Some(sizing)
    }

    pub(super) fn sort_line(&mut self, line: usize, taken: &Taken) -> Option<()> {
        match taken.amount.as_ref() {
            Some(TakenAmount::Portion(Portion::Parts(count)) | TakenAmount::About(Portion::Parts(count))) => {
                self.parts = self.parts.saturating_add(1);
                self.set_relative(line, *count);
            }
            Some(
                TakenAmount::Portion(Portion::Percent(count, off))
                | TakenAmount::About(Portion::Percent(count, off)),
            ) => {
                self.percents = self.percents.saturating_add(1);
                self.printing = self.printing.checked_add(*off)?;
                self.set_relative(line, *count);
            }
            Some(TakenAmount::Portion(_) | TakenAmount::About(_)) => {
                self.fixed = self.fixed.saturating_add(1);
            }
            Some(TakenAmount::EnoughTo(target)) => {
                if self.enough.is_some() {
                    self.second_enough = Some(taken.amount_span);
                } else {
                    self.enough = Some((line, target.clone(), taken.amount_span));
                }
            }
            Some(TakenAmount::Enough) => self.by_eye = self.by_eye.or(Some(line)),
            None => {}
        }
        Some(())
    }

    /// Kinds of amounts that can't stand in one formula.
    pub(super) fn clashes(&self, formula: &Formula) -> Option<Diagnostic> {
        let first = |wanted: fn(&TakenAmount) -> bool| {
            formula
                .taken
                .iter()
                .find(|taken| taken.amount.as_ref().is_some_and(wanted))
                .map_or(formula.name.span, |taken| taken.amount_span)
        };
        if let (Some(again), Some((_, _, span))) = (self.second_enough, &self.enough) {
            let finding = Diagnostic::error(
                code::ENOUGH_TWICE,
                again,
                if again == *span {
                    "`q.s. to` stands for several names"
                } else {
                    "`q.s. to` stands twice in this formula"
                },
            );
            let finding = if again == *span {
                finding
            } else {
                finding.related(*span, "it stands here first")
            };
            return Some(finding.help("only one line can take what is missing: give the others an amount"));
        }
        let fills_up = matches!(&self.enough, Some((_, target, _)) if !matches!(target, Portion::Parts(_)));
        if self.parts > 0
            && self.percents == 0
            && (self.fixed > 0 || fills_up)
            && formula.one_part.is_none()
            && grams_made(formula).is_none()
        {
            return Some(need_a_size(formula, self));
        }
        if self.parts > 0 && self.percents > 0 {
            return Some(
                Diagnostic::error(
                    code::PARTS_BESIDE_PERCENT,
                    first(|amount| matches!(amount, TakenAmount::Portion(Portion::Percent(..)))),
                    "percentages stand beside parts",
                )
                .related(
                    first(|amount| matches!(amount, TakenAmount::Portion(Portion::Parts(_)))),
                    "these are parts",
                )
                .help("write all of them as parts or all as percentages: a part of what, and a hundredth of what?"),
            );
        }
        None
    }

    /// What is missing to a total, where another line takes of it by judgement: then all that is
    /// known is the most that it may be.
    pub(super) fn open_to(&self, rest: Spread) -> Spread {
        if self.by_eye.is_some() {
            Spread {
                low: Decimal::ZERO,
                ..rest
            }
        } else {
            rest
        }
    }

    pub(super) fn has_parts(&self) -> bool {
        self.parts > 0
    }

    pub(super) fn has_percent(&self) -> bool {
        self.percents > 0
    }

    pub(super) fn has_fixed(&self) -> bool {
        self.fixed > 0
    }

    pub(super) fn put(&mut self, line: usize, amounts: Amounts, how: How) {
        if let Some(slot) = self.lines.get_mut(line) {
            *slot = (amounts, how);
        }
    }

    pub(super) fn put_grams(&mut self, line: usize, grams: Spread) {
        self.put(
            line,
            Amounts {
                grams: Some(grams),
                ..Amounts::default()
            },
            How::Shared,
        );
    }

    pub(super) fn set_relative(&mut self, line: usize, count: Spread) {
        if let Some(slot) = self.relative.get_mut(line) {
            *slot = Some(count);
        }
        self.put(
            line,
            Amounts {
                parts: Some(count),
                ..Amounts::default()
            },
            How::Shared,
        );
    }

    pub(super) fn relatives(&self) -> Vec<(usize, Spread)> {
        self.relative
            .iter()
            .enumerate()
            .filter_map(|(line, count)| Some((line, (*count)?)))
            .collect()
    }

    pub(super) fn relative_sum(&self) -> Checked<Spread> {
        self.relative
            .iter()
            .flatten()
            .try_fold(Spread::ZERO, |sum, count| sum.plus(count))
    }

    /// Shares out what is left for the parts, or the whole for percentages: each takes its
    /// proportion of the sum, and its spread from its own range against that of the others.
    pub(super) fn share_out(&mut self, whole: &Spread, span: Option<Span>, trace: &mut Trace) -> Checked<()> {
        let sum = self.relative_sum()?;
        for (line, count) in self.relatives() {
            let nominal = quotient(
                whole.nominal.checked_mul(count.nominal).ok_or(Overflow)?,
                sum.nominal,
            )?;
            let others = |own: Decimal, all: Decimal| all.checked_sub(own).ok_or(Overflow);
            let end = |whole: Decimal, own: Decimal, rest: Decimal| {
                quotient(
                    whole.checked_mul(own).ok_or(Overflow)?,
                    own.checked_add(rest).ok_or(Overflow)?,
                )
            };
            let (low, high) = match &self.exact_parts {
                Some(total) => (
                    quotient(whole.low.checked_mul(count.low).ok_or(Overflow)?, total.nominal)?,
                    quotient(whole.high.checked_mul(count.high).ok_or(Overflow)?, total.nominal)?,
                ),
                None => (
                    end(whole.low, count.low, others(count.high, sum.high)?)?,
                    end(whole.high, count.high, others(count.low, sum.low)?)?,
                ),
            };
            let grams = Spread {
                nominal,
                low: low.min(nominal),
                high: high.max(nominal),
            };
            trace.note(line, span, None, || {
                format!(
                    "{} out of {}, of {} in all = {}",
                    print::short(count.nominal, 6),
                    print::short(sum.nominal, 6),
                    print::spread(whole, 6, "g"),
                    print::spread(&grams, 6, "g")
                )
            });
            self.put_grams(line, grams);
        }
        Ok(())
    }

    /// The fixed lines in grams; nothing if one of them has no weight.
    pub(super) fn fixed_grams(&self) -> Checked<Option<Spread>> {
        self.sum_where(
            |line, _| self.relative.get(line).is_some_and(Option::is_none),
            |amounts| amounts.grams,
        )
    }

    pub(super) fn other_grams(&self, own: usize) -> Checked<Option<Spread>> {
        self.sum_where(|line, _| line != own, |amounts| amounts.grams)
    }

    pub(super) fn other_millilitres(&self, own: usize) -> Checked<Option<Spread>> {
        self.sum_where(|line, _| line != own, |amounts| amounts.millilitres)
    }

    /// The sum of some lines; nothing if one of them that counts has no such figure.
    pub(super) fn sum_where(
        &self,
        wanted: impl Fn(usize, &Amounts) -> bool,
        get: impl Fn(&Amounts) -> Option<Spread>,
    ) -> Checked<Option<Spread>> {
        let enough = self.enough.as_ref().map(|(line, ..)| *line);
        let mut sum = Spread::ZERO;
        for (line, (amounts, how)) in self.lines.iter().enumerate() {
            if !wanted(line, amounts) || (*how == How::Uncounted) || Some(line) == enough {
                continue;
            }
            match get(amounts) {
                Some(spread) => sum = sum.plus(&spread)?,
                None => return Ok(None),
            }
        }
        Ok(Some(sum))
    }

    pub(super) fn totals(&self) -> Checked<Totals> {
        let mut totals = Totals::default();
        let add = |sum: &mut Option<Spread>, more: &Spread| -> Checked<()> {
            *sum = Some(sum.unwrap_or(Spread::ZERO).plus(more)?);
            Ok(())
        };
        for (amounts, how) in &self.lines {
            if *how == How::Uncounted {
                continue;
            }
            match (&amounts.grams, &amounts.millilitres, &amounts.parts) {
                (Some(grams), _, _) => add(&mut totals.grams, grams)?,
                (None, Some(volume), _) => add(&mut totals.millilitres, volume)?,
                (None, None, Some(parts)) => add(&mut totals.parts, parts)?,
                (None, None, None) => {}
            }
        }
        Ok(totals)
    }
}
