//! Puts the book together: every line of a lot, a batch and a supply onto its shelf.

use std::collections::HashMap;

use super::{
    Amount, DayBook, Holder, Moved, Movement, Origin, Shelf, Taking, Unit, in_unit, keeping, unit_of,
};
use crate::code;
use crate::compute::{Amounts, Figures, amount_of};
use crate::diagnostic::Diagnostic;
use crate::model::{Batch, Bound, Count, Faults, Formula, Ledger, Lot, Portion, Stated, Used, UsedPortion};
use crate::naming::folded;
use crate::quantity::Decimal;
use crate::source::Span;
use crate::syntax::day::{self, Day};
use crate::syntax::tree::{Date, Name};

impl DayBook {
    /// Reads the lots, batches and supplies of a ledger.
    pub fn of(ledger: &Ledger, faults: &Faults, figures: &Figures) -> Self {
        if ledger.lots.is_empty() && ledger.batches.is_empty() && ledger.supplies.is_empty() {
            return Self::default();
        }
        let mut desk = Desk {
            ledger,
            faults,
            figures,
            book: Self::default(),
            moves: HashMap::new(),
        };
        desk.declare();
        for (at, lot) in ledger.lots.iter().enumerate() {
            desk.lot(at, lot);
        }
        for (at, batch) in ledger.batches.iter().enumerate() {
            desk.batch(at, batch);
        }
        for at in 0..ledger.supplies.len() {
            desk.supply(at);
        }
        desk.counts();
        desk.run();
        desk.book.in_order = super::own::in_order(&desk.book.inputs);
        desk.best_before();
        desk.book
    }
}

/// A movement before what is left is known. A count says what is left.
#[derive(Debug, Clone)]
struct Move {
    day: Day,
    moved: Moved,
    amount: Decimal,
    span: Span,
}

impl Move {
    /// Within a day what comes in is there first, and a count is made in the evening.
    fn turn(&self) -> u8 {
        match self.moved {
            Moved::Received | Moved::Made => 0,
            Moved::Used(_) | Moved::Supplied(_) | Moved::Discarded => 1,
            Moved::Counted => 2,
        }
    }
}

struct Desk<'a> {
    ledger: &'a Ledger,
    faults: &'a Faults,
    figures: &'a Figures,
    book: DayBook,
    moves: HashMap<Holder, Vec<Move>>,
}

impl<'a> Desk<'a> {
    /// Gives every lot and every batch its shelf.
    fn declare(&mut self) {
        for (at, lot) in self.ledger.lots.iter().enumerate() {
            self.book.ids.entry(folded(&lot.id.text)).or_insert(at);
            self.book.lots.push(Shelf {
                holder: Holder::Lot(at),
                what: lot.what,
                unit: None,
                best_before: lot.best_before.map(|date| date.last()),
                movements: Vec::new(),
            });
        }
        for (at, batch) in self.ledger.batches.iter().enumerate() {
            let key = (batch.what, batch.day.first, batch.day.month_only);
            self.book.days.entry(key).or_insert(at);
            self.book.batches.push(Shelf {
                holder: Holder::Batch(at),
                what: batch.what,
                unit: None,
                best_before: batch.best_before.map(|date| date.last()),
                movements: Vec::new(),
            });
        }
    }

    /// An amount of something; one that can't be reckoned is reported.
    fn amounts(&mut self, of: (&Name, Bound), span: Span, portion: &Portion) -> Option<Amounts> {
        let exact = match portion {
            // Most are weights, and need nothing looked up.
            Portion::Grams(grams) => Amounts {
                grams: Some(*grams),
                ..Amounts::default()
            },
            _ if of.1 == Bound::Unknown => return None,
            _ => match amount_of(self.ledger, self.faults, self.figures, of, span, portion) {
                Ok(amounts) => amounts,
                Err(finding) => {
                    self.book.refused.push(finding);
                    return None;
                }
            },
        };
        Some(exact)
    }

    fn shelf_mut(&mut self, holder: Holder) -> Option<&mut Shelf> {
        match holder {
            Holder::Lot(at) => self.book.lots.get_mut(at),
            Holder::Batch(at) => self.book.batches.get_mut(at),
        }
    }

    fn moved(&mut self, holder: Holder, day: Day, moved: Moved, amount: Decimal, span: Span) {
        self.moves.entry(holder).or_default().push(Move {
            day,
            moved,
            amount,
            span,
        });
    }

    fn lot(&mut self, at: usize, lot: &'a Lot) {
        let Some(Stated {
            value,
            span: Some(span),
        }) = &lot.amount
        else {
            return;
        };
        let Some(amounts) = self.amounts((&lot.name, lot.what), *span, value) else {
            return;
        };
        let Some(unit) = unit_of(value, &amounts) else {
            return;
        };
        let Some(amount) = in_unit(&amounts, unit, None) else {
            return;
        };
        let holder = Holder::Lot(at);
        if let Some(shelf) = self.shelf_mut(holder) {
            shelf.unit = Some(unit);
        }
        // What is on its way is not on the shelf.
        if let Some(received) = lot.received {
            self.moved(holder, received.first, Moved::Received, amount, *span);
        }
    }

    fn batch(&mut self, at: usize, batch: &'a Batch) {
        let inputs: Vec<Taking> = batch
            .used
            .iter()
            .flat_map(|used| used.portions.iter().map(move |portion| (used, portion)))
            .map(|(used, portion)| self.taking_of(used, portion))
            .collect();
        for taking in &inputs {
            self.take(taking, batch.day.first, Moved::Used(at));
        }
        let made = self.made(batch, &inputs);
        if let Some((amount, span)) = made {
            let holder = Holder::Batch(at);
            if let Some(shelf) = self.shelf_mut(holder) {
                shelf.unit = Some(amount.unit);
            }
            self.moved(holder, batch.day.first, Moved::Made, amount.value, span);
        }
        self.book.inputs.push(inputs);
    }

    /// What came out: as written, else all that went in, where that can be added.
    fn made(&mut self, batch: &Batch, inputs: &[Taking]) -> Option<(Amount, Span)> {
        if let Some(Stated {
            value,
            span: Some(span),
        }) = &batch.yielded
        {
            let amounts = self.amounts((&batch.name, batch.what), *span, value)?;
            let unit = unit_of(value, &amounts)?;
            let value = in_unit(&amounts, unit, None)?;
            return Some((Amount { unit, value }, *span));
        }
        if batch.refused || inputs.is_empty() {
            return None;
        }
        let total = super::own::sum(inputs.iter().map(|taking| taking.amount))?;
        Some((total, batch.used_span?))
    }

    fn taking_of(&mut self, used: &Used, portion: &UsedPortion) -> Taking {
        let origin = match &portion.from {
            Some(from) => self.origin(used.what, from),
            None => Origin::Unsaid,
        };
        let of = (&used.name, used.what);
        let amount = self.taken(of, portion.amount_span, &portion.amount, origin);
        Taking {
            what: used.what,
            amount,
            origin,
            span: portion.amount_span,
        }
    }

    /// What `from` names: a lot, or for a blend that was made here the day of its batch.
    fn origin(&self, what: Bound, from: &Name) -> Origin {
        if what == Bound::Unknown {
            return Origin::Unsaid;
        }
        if matches!(what, Bound::Formula(_))
            && let Some(last) = day::read(&from.text)
        {
            let month_only = from.text.len() < "2026-11-03".len();
            let first = if month_only { last.first_of_month() } else { last };
            let found = self.book.batch(what, first, month_only);
            return found.map_or(Origin::Unknown, |at| Origin::Shelf(Holder::Batch(at)));
        }
        self.lot_named(what, &from.text)
    }

    fn lot_named(&self, what: Bound, id: &str) -> Origin {
        match self.book.lot(id) {
            None => Origin::Unknown,
            Some(at) => match self.book.lots.get(at).map(|shelf| shelf.what) {
                Some(own) if own == what => Origin::Shelf(Holder::Lot(at)),
                // A name that is declared nowhere has been reported.
                Some(Bound::Unknown) | None => Origin::Unsaid,
                Some(_) => Origin::Other(Holder::Lot(at)),
            },
        }
    }

    /// An amount in the unit of the shelf that it comes from.
    fn taken(&mut self, of: (&Name, Bound), span: Span, portion: &Portion, origin: Origin) -> Option<Amount> {
        let amounts = self.amounts(of, span, portion)?;
        let Origin::Shelf(holder) = origin else {
            let unit = unit_of(portion, &amounts)?;
            let value = in_unit(&amounts, unit, None)?;
            return Some(Amount { unit, value });
        };
        let unit = self
            .book
            .shelf(holder)
            .and_then(|shelf| shelf.unit)
            .or_else(|| self.unit_of_planned(holder))
            .or(unit_of(portion, &amounts))?;
        let value = in_unit(&amounts, unit, super::density(self.ledger, of.1));
        if value.is_none() {
            let (has, wants) = match unit {
                Unit::Grams => ("weight", "volume"),
                Unit::Millilitres => ("volume", "weight"),
            };
            self.book.refused.push(
                Diagnostic::error(
                    code::WRONG_SORT_OF_MEASURE,
                    span,
                    format!(
                        "{} is kept by {has} and taken by {wants}, and nothing says what a millilitre weighs",
                        of.0.text
                    ),
                )
                .help(format!(
                    "write both in the same measure; or give {} a density: `density   1.42 g per ml`",
                    of.0.text
                )),
            );
        }
        Some(Amount { unit, value: value? })
    }

    /// Batches are read one after the other, and one may be taken from before its own turn.
    fn unit_of_planned(&self, holder: Holder) -> Option<Unit> {
        let Holder::Batch(at) = holder else { return None };
        let batch = self.ledger.batches.get(at)?;
        match &batch.yielded.as_ref()?.value {
            Portion::Millilitres(_) | Portion::Drops(_) => Some(Unit::Millilitres),
            _ => Some(Unit::Grams),
        }
    }

    fn take(&mut self, taking: &Taking, on: Day, moved: Moved) {
        if let (Origin::Shelf(holder), Some(amount)) = (taking.origin, taking.amount)
            && let Some(change) = Decimal::ZERO.checked_sub(amount.value)
        {
            self.moved(holder, on, moved, change, taking.span);
        }
    }

    fn supply(&mut self, at: usize) {
        let Some(supply) = self.ledger.supplies.get(at) else {
            return;
        };
        let origin = match (&supply.from_batch, &supply.from_lot) {
            _ if supply.what == Bound::Unknown => Origin::Unsaid,
            (
                Some(Date {
                    first, month_only, ..
                }),
                _,
            ) => self
                .book
                .batch(supply.what, *first, *month_only)
                .map_or(Origin::Unknown, |at| Origin::Shelf(Holder::Batch(at))),
            (None, Some(lot)) => self.lot_named(supply.what, &lot.text),
            (None, None) => Origin::Unsaid,
        };
        let mut taking = Taking {
            what: supply.what,
            amount: None,
            origin,
            span: supply.head,
        };
        if let Some(Stated {
            value,
            span: Some(span),
        }) = &supply.amount
        {
            taking.amount = self.taken((&supply.name, supply.what), *span, value, origin);
            taking.span = *span;
        }
        self.take(&taking, supply.day.first, Moved::Supplied(at));
        self.book.supplies.push(taking);
    }

    /// What was counted, and what was thrown away.
    fn counts(&mut self) {
        let ledger = self.ledger;
        for (at, lot) in ledger.lots.iter().enumerate() {
            self.counted(Holder::Lot(at), (&lot.name, lot.what), &lot.counts);
        }
        for (at, batch) in ledger.batches.iter().enumerate() {
            self.counted(Holder::Batch(at), (&batch.name, batch.what), &batch.counts);
        }
    }

    fn counted(&mut self, holder: Holder, of: (&Name, Bound), counts: &[Count]) {
        for count in counts {
            let taken = self.taken(of, count.span, &count.amount, Origin::Shelf(holder));
            let Some(Amount { value, .. }) = taken else {
                continue;
            };
            let (moved, amount) = if count.is_discarded {
                (
                    Moved::Discarded,
                    Decimal::ZERO.checked_sub(value).unwrap_or_default(),
                )
            } else {
                (Moved::Counted, value)
            };
            self.moved(holder, count.day.last(), moved, amount, count.span);
        }
    }

    /// Puts the movements in order and reckons what is left after each.
    fn run(&mut self) {
        for (holder, mut moves) in std::mem::take(&mut self.moves) {
            // Two movements that differ in nothing here change nothing by changing places.
            moves.sort_by(|a, b| {
                (a.day, a.turn(), a.moved, a.amount, a.span).cmp(&(
                    b.day,
                    b.turn(),
                    b.moved,
                    b.amount,
                    b.span,
                ))
            });
            let mut left = Decimal::ZERO;
            let mut movements = Vec::with_capacity(moves.len());
            let mut fits = true;
            for one in moves {
                let after = if one.moved == Moved::Counted {
                    Some(one.amount)
                } else {
                    left.checked_add(one.amount)
                };
                let change = after.and_then(|after| after.checked_sub(left));
                let (Some(after), Some(change)) = (after, change) else {
                    fits = false;
                    self.book.refused.push(crate::model::measure::overflow(one.span));
                    break;
                };
                left = after;
                movements.push(Movement {
                    day: one.day,
                    moved: one.moved,
                    change,
                    left,
                    span: one.span,
                });
            }
            if let Some(shelf) = self.shelf_mut(holder) {
                shelf.movements = movements;
                if !fits {
                    shelf.unit = None;
                }
            }
        }
    }

    /// A batch that doesn't say until when it is good is as good as what went in, and as its formula keeps.
    fn best_before(&mut self) {
        for at in self.book.in_order.clone() {
            let Some(batch) = self.ledger.batches.get(at) else {
                continue;
            };
            if batch.best_before.is_some() {
                continue;
            }
            let last = self.earliest(at, batch);
            if let Some(shelf) = self.book.batches.get_mut(at) {
                shelf.best_before = last;
            }
        }
    }

    fn earliest(&self, at: usize, batch: &Batch) -> Option<Day> {
        let (kept, inside) = limits(self.ledger, self.figures, &self.book, at, batch);
        kept.into_iter().chain(inside.map(|(_, last)| last)).min()
    }
}

/// Until when a batch is good by what its formula keeps, and by the first of what went in to expire.
pub fn limits(
    ledger: &Ledger,
    figures: &Figures,
    book: &DayBook,
    at: usize,
    batch: &Batch,
) -> (Option<Day>, Option<(Holder, Day)>) {
    let formula: Option<&Formula> = match batch.what {
        Bound::Formula(formula) => figures
            .of(formula)
            .map(|composition| &composition.formula)
            .or(ledger.formulas.get(formula).map(AsRef::as_ref)),
        _ => None,
    };
    let kept = formula
        .and_then(|formula| formula.keep.as_deref())
        .and_then(|keep| keeping::until(batch.day.first, keep));
    let inside = book
        .inputs
        .get(at)
        .into_iter()
        .flatten()
        .filter_map(|taking| match taking.origin {
            Origin::Shelf(holder) => Some((holder, book.shelf(holder)?.best_before?)),
            _ => None,
        })
        .min_by_key(|(holder, last)| (*last, *holder));
    (kept, inside)
}
