//! What things cost: by the lot that they came from, else by the price list. Nothing is rounded here.

use std::collections::HashMap;

use super::{Amount, DayBook, Holder, Origin, Unit, name_of};
use crate::compute::batch::Batch;
use crate::compute::{Composition, Figures};
use crate::model::{Bound, Faults, Gain, Ledger, Practice};
use crate::quantity::rounding::quotient;
use crate::quantity::{Checked, Decimal, Overflow};

/// By what a cost was reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// By what a lot or a batch cost.
    Shelf(Holder),
    /// By the price list.
    PriceList,
    /// By what the newest lot cost, since there is no price.
    NewestLot(usize),
    /// It comes from the tap.
    Nothing,
}

/// What one thing that went in cost.
#[derive(Debug, Clone)]
pub struct CostLine {
    /// What.
    pub what: Bound,
    /// How much of it.
    pub amount: Option<Amount>,
    /// What that cost, exact, and by what; nothing where nothing says.
    pub cost: Option<(Decimal, By)>,
}

/// What a batch or a formula costs.
#[derive(Debug, Clone, Default)]
pub struct Cost {
    /// What went in, in the order written.
    pub lines: Vec<CostLine>,
    /// The sum; nothing where a line has no cost.
    pub total: Option<Decimal>,
}

impl Cost {
    fn of(lines: Vec<CostLine>) -> Self {
        let total = lines
            .iter()
            .try_fold(Decimal::ZERO, |sum, line| sum.checked_add(line.cost.as_ref()?.0));
        Self { lines, total }
    }

    /// The names of what has no cost.
    pub fn unknown<'a>(&self, ledger: &'a Ledger) -> Vec<&'a str> {
        let mut names: Vec<&str> = Vec::new();
        for line in self.lines.iter().filter(|line| line.cost.is_none()) {
            let name = name_of(ledger, line.what);
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names
    }
}

/// Prices of everything that the ledger has.
pub struct Prices<'a> {
    ledger: &'a Ledger,
    faults: &'a Faults,
    figures: &'a Figures,
    book: &'a DayBook,
    /// What each batch cost, as far as it was asked for.
    batches: HashMap<usize, Option<Decimal>>,
    newest: HashMap<Bound, usize>,
}

impl<'a> Prices<'a> {
    /// Prices of a ledger; those of batches are reckoned at once, each after those that went into it.
    pub fn of(ledger: &'a Ledger, faults: &'a Faults, figures: &'a Figures, book: &'a DayBook) -> Self {
        let mut prices = Self::listed_of(ledger, faults, figures, book);
        for at in &book.in_order {
            let total = prices.batch(*at).total;
            prices.batches.insert(*at, total);
        }
        prices
    }

    /// Prices of herbs and materials only, as formulas are reckoned by.
    pub fn listed_of(
        ledger: &'a Ledger,
        faults: &'a Faults,
        figures: &'a Figures,
        book: &'a DayBook,
    ) -> Self {
        let mut newest: HashMap<Bound, usize> = HashMap::new();
        for (at, lot) in ledger.lots.iter().enumerate() {
            let (Some(received), Some(_)) = (lot.received, &lot.cost) else {
                continue;
            };
            let later = newest
                .get(&lot.what)
                .and_then(|other| ledger.lots.get(*other))
                .and_then(|other| other.received)
                .is_none_or(|other| other.first < received.first);
            if later {
                newest.insert(lot.what, at);
            }
        }
        Self {
            ledger,
            faults,
            figures,
            book,
            batches: HashMap::new(),
            newest,
        }
    }

    /// What went into a batch cost.
    pub fn batch(&self, at: usize) -> Cost {
        let inputs = self.book.inputs.get(at).map(Vec::as_slice).unwrap_or_default();
        let refused = self.ledger.batches.get(at).is_none_or(|batch| batch.refused);
        let mut cost = Cost::of(
            inputs
                .iter()
                .map(|taking| CostLine {
                    what: taking.what,
                    amount: taking.amount,
                    cost: taking
                        .amount
                        .and_then(|amount| self.taken(taking.what, amount, taking.origin)),
                })
                .collect(),
        );
        if refused || inputs.is_empty() {
            cost.total = None;
        }
        cost
    }

    fn taken(&self, what: Bound, amount: Amount, origin: Origin) -> Option<(Decimal, By)> {
        if let Origin::Shelf(holder) = origin {
            let whole = match holder {
                Holder::Lot(at) => self.ledger.lots.get(at)?.cost.as_ref().map(|cost| cost.value),
                Holder::Batch(at) => self.batches.get(&at).copied().flatten(),
            };
            let came_in = self
                .book
                .shelf(holder)
                .filter(|shelf| shelf.unit == Some(amount.unit))
                .and_then(|shelf| self.amount_of(shelf.holder));
            if let (Some(whole), Some(came_in)) = (whole, came_in) {
                let cost = share(whole, amount.value, came_in.value).ok()?;
                return Some((cost, By::Shelf(holder)));
            }
        }
        self.listed(what, amount)
    }

    /// How much a lot or batch was, also of a lot that is on its way.
    fn amount_of(&self, holder: Holder) -> Option<Amount> {
        self.book.shelf(holder)?.came_in()
    }

    /// What something costs by the price list, or as the newest lot did.
    pub fn listed(&self, what: Bound, amount: Amount) -> Option<(Decimal, By)> {
        if super::stock::is_tap_water(self.ledger, what) {
            return Some((Decimal::ZERO, By::Nothing));
        }
        if let Bound::Substance(at) = what
            && let Some(price) = self.ledger.substances.get(at)?.prices.first()
        {
            let substance = self.ledger.substances.get(at)?;
            let name = crate::syntax::tree::Name {
                text: substance.name.clone(),
                span: price.span,
            };
            let per = crate::compute::amount_of(
                self.ledger,
                self.faults,
                self.figures,
                (&name, what),
                price.span,
                &price.per,
            )
            .ok()?;
            let per = super::in_unit(&per, amount.unit, super::density(self.ledger, what))?;
            return Some((share(price.money, amount.value, per).ok()?, By::PriceList));
        }
        let newest = *self.newest.get(&what)?;
        let lot = self.ledger.lots.get(newest)?;
        let came_in = self.amount_of(Holder::Lot(newest))?;
        (came_in.unit == amount.unit)
            .then(|| share(lot.cost.as_ref()?.value, amount.value, came_in.value).ok())
            .flatten()
            .map(|cost| (cost, By::NewestLot(newest)))
    }

    /// What a formula costs at a size, by the price list.
    pub fn formula(&self, composition: &Composition, sheet: &Batch) -> Cost {
        let mut lines: Vec<_> = sheet.lines.iter().collect();
        lines.sort_by_key(|line| line.place);
        let mut costs: Vec<CostLine> = lines
            .into_iter()
            .filter(|line| line.grams.is_some() || line.millilitres.is_some())
            .map(|line| {
                let what = line.figure.taken.what;
                let amount = match (line.grams, line.millilitres) {
                    (Some(grams), _) => Amount {
                        unit: Unit::Grams,
                        value: grams.nominal,
                    },
                    (None, volume) => Amount {
                        unit: Unit::Millilitres,
                        value: volume.map_or(Decimal::ZERO, |volume| volume.nominal),
                    },
                };
                CostLine {
                    what,
                    amount: Some(amount),
                    cost: self.needed(what, amount, 0),
                }
            })
            .collect();
        // How much of the oil or spirit of a step goes in is not reckoned, so it has no cost.
        costs.extend(self.unreckoned(composition).map(|what| CostLine {
            what,
            amount: None,
            cost: None,
        }));
        let mut cost = Cost::of(costs);
        let uncounted = composition.lines.iter().any(|line| {
            line.amounts.grams.is_none() && line.amounts.millilitres.is_none() && line.amounts.parts.is_none()
        });
        if uncounted {
            cost.total = None;
        }
        cost
    }

    /// What steps bring in and no line takes; water from the tap costs nothing.
    fn unreckoned(&self, composition: &Composition) -> impl Iterator<Item = Bound> {
        super::weighing::brought_in(self.ledger, composition)
            .into_iter()
            .filter(|what| {
                let is_taken = composition.lines.iter().any(|line| line.taken.what == *what);
                !is_taken && !super::stock::is_tap_water(self.ledger, *what)
            })
    }

    /// What an ingredient costs; of a blend that is made here, what its own ingredients do.
    fn needed(&self, what: Bound, amount: Amount, depth: usize) -> Option<(Decimal, By)> {
        let Bound::Formula(at) = what else {
            return self.listed(what, amount);
        };
        let composition = self.figures.of(at).filter(|_| depth < 100)?;
        if self.unreckoned(composition).next().is_some() {
            return None;
        }
        let own = match amount.unit {
            Unit::Grams => composition
                .totals
                .finished
                .or(composition.totals.grams)
                .or(composition.totals.parts),
            Unit::Millilitres => composition.totals.volume.or(composition.totals.millilitres),
        }?;
        let mut total = Decimal::ZERO;
        for line in &composition.lines {
            let inner = match (
                line.amounts.grams.or(line.amounts.parts),
                line.amounts.millilitres,
            ) {
                (Some(grams), _) => Amount {
                    unit: Unit::Grams,
                    value: grams.nominal,
                },
                (None, Some(volume)) => Amount {
                    unit: Unit::Millilitres,
                    value: volume.nominal,
                },
                (None, None) => return None,
            };
            let (cost, _) = self.needed(line.taken.what, inner, depth.saturating_add(1))?;
            total = total.checked_add(cost)?;
        }
        Some((share(total, amount.value, own.nominal).ok()?, By::PriceList))
    }
}

/// So much of a whole that cost so much: one division, at the end.
///
/// # Errors
/// [`Overflow`] where the whole is nothing, or a figure doesn't fit.
pub fn share(cost: Decimal, part: Decimal, whole: Decimal) -> Checked<Decimal> {
    quotient(cost.checked_mul(part).ok_or(Overflow)?, whole)
}

/// The price for a cost, as the practice sets its mark-up or its margin; exact.
///
/// # Errors
/// [`Overflow`] where a figure doesn't fit.
pub fn price(practice: &Practice, cost: Decimal) -> Checked<Option<Decimal>> {
    let hundred = Decimal::ONE_HUNDRED;
    match practice.gain.map(|stated| stated.value) {
        None => Ok(None),
        Some(Gain::MarkUp(percent)) => {
            let whole = hundred.checked_add(percent).ok_or(Overflow)?;
            share(cost, whole, hundred).map(Some)
        }
        Some(Gain::Margin(percent)) => {
            let rest = hundred.checked_sub(percent).ok_or(Overflow)?;
            share(cost, hundred, rest).map(Some)
        }
    }
}

/// What batches of a formula lost so far, as grams that went in for grams that came out; nothing where
/// no batch says both.
pub fn loss_so_far(ledger: &Ledger, book: &DayBook, what: Bound) -> Option<(Amount, Amount)> {
    let mut sums: Option<(Amount, Amount)> = None;
    for (at, batch) in ledger.batches.iter().enumerate() {
        if batch.what != what || batch.yielded.is_none() || batch.refused {
            continue;
        }
        let went_in = super::own::sum(book.inputs.get(at)?.iter().map(|taking| taking.amount));
        let came_out = book.batches.get(at).and_then(super::Shelf::came_in);
        let (Some(went_in), Some(came_out)) = (went_in, came_out) else {
            continue;
        };
        if went_in.unit != came_out.unit {
            continue;
        }
        let (before_in, before_out) = sums.unwrap_or((
            Amount {
                value: Decimal::ZERO,
                ..went_in
            },
            Amount {
                value: Decimal::ZERO,
                ..came_out
            },
        ));
        sums = Some((
            super::own::sum([Some(before_in), Some(went_in)])?,
            super::own::sum([Some(before_out), Some(came_out)])?,
        ));
    }
    sums
}

/// One portion of what is made, and what it costs.
#[derive(Debug, Clone)]
pub struct Per {
    /// `100 g`, `jar of 80 g`, `cup`, `dose`, `day`.
    pub portion: String,
    /// How much of what is made that is.
    pub amount: Amount,
    /// What it costs, exact.
    pub cost: Decimal,
    /// What is asked for it, as the practice sets its mark-up or margin; exact.
    pub price: Option<Decimal>,
}

/// What is made for a cost: how much, and what its portions cost.
#[derive(Debug, Clone, Default)]
pub struct Portions {
    /// How much comes out.
    pub comes_out: Option<Amount>,
    /// Its portions.
    pub per: Vec<Per>,
}

/// What portions of something made cost.
///
/// `jar` is what a vessel is called and holds, where the size was said in vessels.
///
/// # Errors
/// [`Overflow`] where a figure doesn't fit.
pub fn portions(
    practice: &Practice,
    (total, comes_out): (Decimal, Amount),
    jar: Option<(String, Decimal)>,
    intake: Option<&crate::compute::intake::Intake>,
) -> Checked<Portions> {
    let mut found = Portions {
        comes_out: Some(comes_out),
        per: Vec::new(),
    };
    if comes_out.value.is_zero() {
        return Ok(found);
    }
    let mut wanted: Vec<(String, Decimal)> =
        vec![(format!("100 {}", comes_out.unit.word()), Decimal::ONE_HUNDRED)];
    wanted.extend(jar);
    if let Some(intake) = intake {
        let (cup, dose) = match comes_out.unit {
            Unit::Grams => (intake.blend_a_cup, intake.blend_at_once),
            Unit::Millilitres => (None, intake.liquid_at_once),
        };
        wanted.extend(cup.map(|cup| ("cup".to_owned(), cup.nominal)));
        wanted.extend(dose.map(|dose| ("dose".to_owned(), dose.nominal)));
        if let (Some(dose), Some(times)) = (dose, intake.times) {
            let a_day = dose.nominal.checked_mul(times.nominal).ok_or(Overflow)?;
            wanted.push(("day, at the most".to_owned(), a_day));
        }
    }
    for (portion, value) in wanted {
        let cost = share(total, value, comes_out.value)?;
        found.per.push(Per {
            portion,
            amount: Amount {
                unit: comes_out.unit,
                value,
            },
            cost,
            price: price(practice, cost)?,
        });
    }
    Ok(found)
}
