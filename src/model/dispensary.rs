//! Deliveries, batches and supplies: what the dispensary's book says, with names bound and units known.

use super::entries::positive;
use super::heads::Builder;
use super::measure;
use super::read::Reader;
use super::{Bound, Gain, Portion, Stated};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::{Currency, Decimal};
use crate::source::Span;
use crate::syntax::tree::{self, Body, Date, Entry, Line, Make, Money, Name, Quantity};

type Found<T> = Result<T, Diagnostic>;

/// What something costs by the price list.
#[derive(Debug, Clone)]
pub struct Price {
    /// In the practice's money.
    pub money: Decimal,
    /// For so much.
    pub per: Portion,
    /// The line.
    pub span: Span,
}

/// What a seller sells at once.
#[derive(Debug, Clone)]
pub struct Pack {
    /// How much.
    pub amount: Portion,
    /// What it costs, in the practice's money.
    pub money: Option<Decimal>,
    /// Who sells it.
    pub seller: Option<String>,
    /// The line.
    pub span: Span,
}

/// What lay on the shelf at the end of a day, or was thrown away on it.
#[derive(Debug, Clone)]
pub struct Count {
    /// Whether it was thrown away; else it is what was there.
    pub is_discarded: bool,
    /// How much.
    pub amount: Portion,
    /// On which day.
    pub day: Date,
    /// What else is said.
    pub notes: Vec<String>,
    /// The line.
    pub span: Span,
}

/// A delivery.
#[derive(Debug, Clone)]
pub struct Lot {
    /// Its id.
    pub id: Name,
    /// Of what.
    pub name: Name,
    /// What that name means.
    pub what: Bound,
    /// The day on which it came in; nothing while it is on its way.
    pub received: Option<Date>,
    /// How much came in.
    pub amount: Option<Stated<Portion>>,
    /// What all of it cost, in the practice's money.
    pub cost: Option<Stated<Decimal>>,
    /// Until when it is good.
    pub best_before: Option<Date>,
    /// Who sent it.
    pub supplier: Option<String>,
    /// Counts of the shelf, and what was thrown away.
    pub counts: Vec<Count>,
    /// What else is written.
    pub notes: Vec<String>,
    /// The entry's first line.
    pub head: Span,
    /// The entry.
    pub span: Span,
}

/// How much went in, and from where.
#[derive(Debug, Clone)]
pub struct UsedPortion {
    /// How much.
    pub amount: Portion,
    /// Where the amount stands.
    pub amount_span: Span,
    /// The id of a lot; for a blend that was made here, the day of its batch.
    pub from: Option<Name>,
}

/// One line under `used`.
#[derive(Debug, Clone)]
pub struct Used {
    /// Of what.
    pub name: Name,
    /// What that name means.
    pub what: Bound,
    /// How much from where.
    pub portions: Vec<UsedPortion>,
    /// The line.
    pub span: Span,
}

/// A blend that was made, or is planned.
#[derive(Debug, Clone)]
pub struct Batch {
    /// Of which formula.
    pub name: Name,
    /// What that name means.
    pub what: Bound,
    /// On which day.
    pub day: Date,
    /// How much was to be made, and the line that says so.
    pub make: Option<(Make, Span)>,
    /// What went in.
    pub used: Vec<Used>,
    /// Where `used` stands.
    pub used_span: Option<Span>,
    /// Whether a line of the list was refused, so that what went in is not wholly known.
    pub refused: bool,
    /// What came out.
    pub yielded: Option<Stated<Portion>>,
    /// Who weighed it.
    pub weighed_by: Option<String>,
    /// Who checked it.
    pub checked_by: Option<String>,
    /// Until when it is good.
    pub best_before: Option<Date>,
    /// Counts of the shelf, and what was thrown away.
    pub counts: Vec<Count>,
    /// What else is written.
    pub notes: Vec<String>,
    /// The entry's first line.
    pub head: Span,
    /// The entry.
    pub span: Span,
}

impl Batch {
    /// Whether it was made; else it is planned.
    pub fn is_made(&self) -> bool {
        self.used_span.is_some() || self.yielded.is_some()
    }

    /// As people call it: `after-supper tea on 2026-11-03`.
    pub fn called(&self) -> String {
        format!("{} on {}", self.name.text, self.day.written())
    }
}

/// What was handed out.
#[derive(Debug, Clone)]
pub struct Supply {
    /// Of what.
    pub name: Name,
    /// What that name means.
    pub what: Bound,
    /// On which day.
    pub day: Date,
    /// How much.
    pub amount: Option<Stated<Portion>>,
    /// The day of the batch that it came from.
    pub from_batch: Option<Date>,
    /// The lot that it came from.
    pub from_lot: Option<Name>,
    /// The case code of whom it went to, and their place in the ledger.
    pub person: Option<(Name, Option<usize>)>,
    /// What else is written.
    pub notes: Vec<String>,
    /// The entry's first line.
    pub head: Span,
    /// The entry.
    pub span: Span,
}

impl Builder<'_> {
    /// The lines of a practice that are about losses and prices.
    pub(super) fn percent_of_money(&mut self, word: &str, percent: Decimal, span: Span) -> Found<()> {
        let practice = &mut self.ledger.practice;
        if word == "loss" {
            practice.loss = Stated {
                value: percent,
                span: Some(span),
            };
            return Ok(());
        }
        if let Some(first) = &practice.gain {
            let finding = Diagnostic::error(
                code::SAID_TWICE,
                span,
                "a price has a mark-up or a margin, and this practice says both",
            )
            .help("keep one of them: a mark-up is a part of the cost, a margin a part of the price");
            return Err(match first.span {
                Some(first) => finding.related(first, "this counts"),
                None => finding,
            });
        }
        let value = if word == "margin" {
            if percent >= Decimal::ONE_HUNDRED {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    span,
                    "a margin is a part of the price, so it is below 100 %",
                )
                .help("write `margin   30%`; what is added to the cost is a `mark-up`"));
            }
            Gain::Margin(percent)
        } else {
            Gain::MarkUp(percent)
        };
        practice.gain = Some(Stated {
            value,
            span: Some(span),
        });
        Ok(())
    }
}

impl Reader<'_> {
    /// Money in the practice's own; in any other it is reported, and not reckoned with.
    pub(super) fn money(&mut self, money: &Money) -> Option<Decimal> {
        let Some(said) = &money.currency else {
            return Some(money.number.value);
        };
        let own = self.ledger.practice.money.as_ref();
        if own.is_some() && own == Currency::read(&said.text).as_ref() {
            return Some(money.number.value);
        }
        let (message, help) = match own {
            Some(own) => (
                format!(
                    "`{}` is not the money of this practice, {}",
                    said.text,
                    own.code()
                ),
                format!(
                    "write what it came to in {}: sums over several moneys would be wrong, so this line is not reckoned with",
                    own.code()
                ),
            ),
            None => (
                "nothing says which money this practice reckons in".to_owned(),
                format!(
                    "add it to the practice: `money   {}`; until then this line is not reckoned with",
                    said.text
                ),
            ),
        };
        self.diagnostics
            .push(Diagnostic::warning(code::ANOTHER_MONEY, money.span, message).help(help));
        None
    }

    pub(super) fn pack(&mut self, pack: &tree::Pack, span: Span) -> Found<Pack> {
        Ok(Pack {
            amount: self.some(&pack.amount)?,
            money: pack.money.as_ref().and_then(|money| self.money(money)),
            seller: pack.seller.as_ref().map(|seller| seller.text.clone()),
            span,
        })
    }

    /// An amount above zero that can be weighed, measured or counted.
    fn some(&self, quantity: &Quantity) -> Found<Portion> {
        let portion = self.any(quantity)?;
        if portion.is_zero() {
            positive(Decimal::ZERO, quantity.span)?;
        }
        Ok(portion)
    }

    /// An amount that can be weighed, measured or counted; it may be zero.
    fn any(&self, quantity: &Quantity) -> Found<Portion> {
        let portion = measure::portion(quantity, self.ledger.practice.settled)?;
        match portion {
            Portion::Parts(_) | Portion::Percent(..) | Portion::Minutes(_) => Err(Diagnostic::error(
                code::WRONG_SORT_OF_MEASURE,
                quantity.span,
                "nothing in the book can be kept by this measure",
            )
            .help("write a weight or a volume: `298.2 g`, `460 ml`")),
            portion => Ok(portion),
        }
    }

    fn count(&mut self, line: &Line, counted: &tree::Counted) -> Option<Count> {
        let is_discarded = line.word.text == "discarded";
        let read = if is_discarded {
            self.some(&counted.amount)
        } else {
            self.any(&counted.amount)
        };
        Some(Count {
            is_discarded,
            amount: self.keep(read)?,
            day: counted.day,
            notes: counted.notes.iter().map(|note| note.text.clone()).collect(),
            span: line.span,
        })
    }

    /// An amount on a line of its own.
    fn stated(&mut self, quantity: &Quantity, line: &Line) -> Option<Stated<Portion>> {
        let read = self.some(quantity);
        Some(Stated {
            value: self.keep(read)?,
            span: Some(line.span),
        })
    }

    pub(super) fn read_lot(&mut self, entry: &Entry) -> Option<Lot> {
        let (Some(name), Some(id)) = (&entry.name, &entry.id) else {
            return None;
        };
        let mut lot = Lot {
            id: id.clone(),
            name: name.clone(),
            what: self.bind(name),
            received: None,
            amount: None,
            cost: None,
            best_before: None,
            supplier: None,
            counts: Vec::new(),
            notes: Vec::new(),
            head: entry.head,
            span: entry.span,
        };
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match (&line.body, line.word.text.as_str()) {
                (Body::Date(day), "received") => lot.received = Some(*day),
                (Body::Date(day), _) => lot.best_before = Some(*day),
                (Body::Quantity(quantity), _) => lot.amount = self.stated(quantity, line),
                (Body::Money(money), _) => lot.cost = self.cost(money, &lot, line),
                (Body::Counted(counted), _) => lot.counts.extend(self.count(line, counted)),
                (Body::Words(words), "supplier") => lot.supplier = Some(words.text.clone()),
                (Body::Words(words), _) => lot.notes.push(words.text.clone()),
                _ => {}
            }
        }
        Some(lot)
    }

    /// What a whole lot cost, also where it is written by weight.
    fn cost(&mut self, money: &Money, lot: &Lot, line: &Line) -> Option<Stated<Decimal>> {
        if money.per.is_some() {
            self.diagnostics.push(
                Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    money.span,
                    "the cost of a lot is what all of it cost",
                )
                .help(format!(
                    "write one sum, `cost   24.00`; what {} costs by weight stands in its own entry: `price   31.00 per kg`",
                    lot.name.text
                )),
            );
            return None;
        }
        Some(Stated {
            value: self.money(money)?,
            span: Some(line.span),
        })
    }

    pub(super) fn read_batch(&mut self, entry: &Entry) -> Option<Batch> {
        let (Some(name), Some(day)) = (&entry.name, entry.date) else {
            return None;
        };
        let mut batch = Batch {
            name: name.clone(),
            what: self.bind(name),
            day,
            make: None,
            used: Vec::new(),
            used_span: None,
            refused: false,
            yielded: None,
            weighed_by: None,
            checked_by: None,
            best_before: None,
            counts: Vec::new(),
            notes: Vec::new(),
            head: entry.head,
            span: entry.span,
        };
        if matches!(batch.what, Bound::Substance(_)) {
            self.diagnostics.push(
                Diagnostic::error(
                    code::UNKNOWN_NAME,
                    name.span,
                    format!("`{}` is no formula, so no batch of it can be made", name.text),
                )
                .help(format!(
                    "a delivery is a lot, `lot PM-114 of {0}`; what is made from {0} needs a `formula`",
                    name.text
                )),
            );
        }
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match (&line.body, line.word.text.as_str()) {
                (Body::Make(make), _) => {
                    self.size(make);
                    batch.make = Some((make.clone(), line.span));
                }
                (Body::Used(used, refused), _) => {
                    batch.used_span = Some(line.word.span);
                    batch.refused |= *refused > 0;
                    for one in used {
                        match self.used(one) {
                            Some(one) => batch.used.push(one),
                            None => batch.refused = true,
                        }
                    }
                }
                (Body::Broken, "used") => batch.refused = true,
                (Body::Quantity(quantity), _) => batch.yielded = self.stated(quantity, line),
                (Body::Date(day), _) => batch.best_before = Some(*day),
                (Body::Counted(counted), _) => batch.counts.extend(self.count(line, counted)),
                (Body::Words(words), "weighed by") => batch.weighed_by = Some(words.text.clone()),
                (Body::Words(words), "checked by") => batch.checked_by = Some(words.text.clone()),
                (Body::Words(words), _) => batch.notes.push(words.text.clone()),
                _ => {}
            }
        }
        Some(batch)
    }

    /// Every measure of a size must be known.
    fn size(&mut self, make: &Make) {
        let quantity = match make {
            Make::Quantity(quantity) | Make::Vessels { each: quantity, .. } => quantity,
            Make::AllStock | Make::People { .. } | Make::Times(_) => return,
        };
        let read = measure::portion(quantity, self.ledger.practice.settled);
        self.keep(read);
    }

    fn used(&mut self, used: &tree::UsedLine) -> Option<Used> {
        let what = self.bind(&used.name);
        let mut portions = Vec::with_capacity(used.portions.len());
        let mut whole = true;
        for (quantity, from) in &used.portions {
            let read = self.some(quantity);
            match self.keep(read) {
                Some(amount) => portions.push(UsedPortion {
                    amount,
                    amount_span: quantity.span,
                    from: from.clone(),
                }),
                None => whole = false,
            }
        }
        whole.then(|| Used {
            name: used.name.clone(),
            what,
            portions,
            span: used.span,
        })
    }

    pub(super) fn read_supply(&mut self, entry: &Entry) -> Option<Supply> {
        let (Some(name), Some(day)) = (&entry.name, entry.date) else {
            return None;
        };
        let mut supply = Supply {
            name: name.clone(),
            what: self.bind(name),
            day,
            amount: None,
            from_batch: None,
            from_lot: None,
            person: None,
            notes: Vec::new(),
            head: entry.head,
            span: entry.span,
        };
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match (&line.body, line.word.text.as_str()) {
                (Body::Quantity(quantity), _) => supply.amount = self.stated(quantity, line),
                (Body::Date(day), _) => supply.from_batch = Some(*day),
                (Body::Names(names), "from lot") => supply.from_lot = names.first().cloned(),
                (Body::Names(names), _) => {
                    supply.person = names.first().map(|code| (code.clone(), self.person(code)));
                }
                (Body::Words(words), _) => supply.notes.push(words.text.clone()),
                _ => {}
            }
        }
        Some(supply)
    }
}
