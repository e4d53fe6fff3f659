//! Turns the lines under `take` into one bound name and one known amount each.

use super::measure::{self, Portion};
use super::names::Bound;
use super::read::Reader;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::{Decimal, Number, Spread, print};
use crate::source::{Sources, Span};
use crate::syntax::tree::{Amount, AmountKind, Ingredient, Name, Quantity};
use crate::syntax::words::{opens_with, places_of};

/// One thing that a formula takes.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The name as written.
    pub name: Name,
    /// What it means.
    pub what: Bound,
    /// How much of it; nothing where a finding withholds it.
    pub amount: Option<TakenAmount>,
    /// Whether the amount stands after `of each`.
    pub each: bool,
    /// Where the amount stands.
    pub amount_span: Span,
    /// A strength before the name, in percent by volume.
    pub strength: Option<Decimal>,
    /// Processing in free words.
    pub processing: Vec<String>,
    /// Its role.
    pub role: Option<String>,
    /// The whole line.
    pub span: Span,
    /// The book that the line cites.
    pub book: Option<usize>,
    /// The part of the written amount that an adaptation takes, if it takes another size.
    pub share_of_adapted: Option<Decimal>,
}

/// How much is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TakenAmount {
    /// So much.
    Portion(Portion),
    /// About so much, by judgement.
    About(Portion),
    /// What is missing to a total.
    EnoughTo(Portion),
    /// Enough, by judgement, without an estimate.
    Enough,
}

impl TakenAmount {
    /// The amount taken so many times over; percentages and judgement stay as they are.
    pub fn scaled(&self, factor: Decimal) -> crate::quantity::Checked<Self> {
        Ok(match self {
            Self::Portion(portion) => Self::Portion(portion.scaled(factor)?),
            Self::About(portion) => Self::About(portion.scaled(factor)?),
            Self::EnoughTo(portion) => Self::EnoughTo(portion.scaled(factor)?),
            Self::Enough => Self::Enough,
        })
    }
}

impl Taken {
    /// The amount as it stands in the ledger; for `as 1 : 1 : 2`, the parts of this line.
    pub fn written(&self, sources: &Sources) -> String {
        let text = sources.text(self.amount_span);
        match &self.amount {
            Some(TakenAmount::Portion(Portion::Parts(count)))
                if opens_with(text, "as").is_some() || places_of(text, "equal").next().is_some() =>
            {
                let word = if count.nominal == Decimal::ONE {
                    "part"
                } else {
                    "parts"
                };
                format!("{} {word}", print::short(count.nominal, 6))
            }
            _ => {
                let words = sources.words(self.amount_span);
                match self.share_of_adapted {
                    Some(share) => format!("{words} × {}", print::share(share)),
                    None => words,
                }
            }
        }
    }
}

impl Reader<'_> {
    /// Splits and binds one line under `take`.
    pub(super) fn taken(&mut self, ingredient: &Ingredient, in_a_book: bool) -> Vec<Taken> {
        let Some(amount) = &ingredient.amount else {
            return Vec::new();
        };
        if let Some(finding) = self.two_names(ingredient, amount) {
            self.diagnostics.push(finding);
            return Vec::new();
        }
        let book = self.book(ingredient.source.as_ref());
        let amounts = self.amounts(ingredient, amount, in_a_book);
        let (amounts, refused) = match amounts {
            Ok(amounts) => (amounts, false),
            Err(finding) => {
                self.diagnostics.push(*finding);
                (Vec::new(), true)
            }
        };
        ingredient
            .names
            .iter()
            .enumerate()
            .map(|(position, name)| Taken {
                name: name.clone(),
                what: self.bind(name),
                amount: if refused {
                    None
                } else {
                    amounts.get(position).or_else(|| amounts.last()).cloned()
                },
                each: amount.each,
                strength: ingredient.strength.map(|number| number.value),
                amount_span: amount.span,
                processing: ingredient
                    .processing
                    .iter()
                    .map(|words| words.text.clone())
                    .collect(),
                role: ingredient.role.as_ref().map(|role| role.text.clone()),
                span: ingredient.span,
                book,
                share_of_adapted: None,
            })
            .collect()
    }

    /// Two names before one amount that does not say for which.
    fn two_names(&self, ingredient: &Ingredient, amount: &Amount) -> Option<Diagnostic> {
        let (first, others) = ingredient.names.split_first()?;
        let shared = amount.each || matches!(amount.kind, AmountKind::EqualParts | AmountKind::Shares(_));
        let (second, _) = others.split_first()?;
        if shared {
            return None;
        }
        let span = first.span.to(others.last().map_or(first.span, |name| name.span));
        let all_known = ingredient.names.iter().all(|name| self.knows(name));
        let finding = Diagnostic::error(
            code::TWO_NAMES_ONE_AMOUNT,
            span,
            format!("{} names stand before one amount", ingredient.names.len()),
        );
        Some(if all_known {
            finding
                .help("write `of each` before the amount if each is taken so, or give each a line of its own")
                .fix("write `of each`", amount.span.before(), "of each ")
        } else {
            finding.help(format!(
                "how it is processed stands after the amount, as in `{}   5 g, {}`; two herbs need `of each`",
                first.text, second.text
            ))
        })
    }

    /// The amounts for the names of a line: one for all, or one for each.
    fn amounts(
        &mut self,
        ingredient: &Ingredient,
        amount: &Amount,
        in_a_book: bool,
    ) -> Result<Vec<TakenAmount>, Box<Diagnostic>> {
        let mut read = |quantity: &Quantity| self.portion(quantity, in_a_book).map_err(Box::new);
        let one = |value: TakenAmount| Ok(vec![value]);
        match &amount.kind {
            AmountKind::Quantity(quantity) if amount.or_enough => one(TakenAmount::About(read(quantity)?)),
            AmountKind::Quantity(quantity) => one(TakenAmount::Portion(read(quantity)?)),
            AmountKind::About(quantity) | AmountKind::Enough(Some(quantity)) => {
                one(TakenAmount::About(read(quantity)?))
            }
            AmountKind::Enough(None) => one(TakenAmount::Enough),
            AmountKind::EnoughTo(quantity) => one(TakenAmount::EnoughTo(read(quantity)?)),
            AmountKind::EqualParts => one(TakenAmount::Portion(parts(Decimal::ONE))),
            AmountKind::Shares(shares) => {
                if shares.len() != ingredient.names.len() {
                    return Err(Box::new(
                        Diagnostic::error(
                            code::TWO_NAMES_ONE_AMOUNT,
                            amount.span,
                            format!("{} names and {} shares", ingredient.names.len(), shares.len()),
                        )
                        .help("give one number for each name, in the same order: `anise, fennel as 1 : 2`"),
                    ));
                }
                Ok(shares
                    .iter()
                    .map(|Number { value, .. }| TakenAmount::Portion(parts(*value)))
                    .collect())
            }
        }
    }

    /// An amount of what is taken: checked for nothing and for far too much.
    fn portion(&mut self, quantity: &Quantity, in_a_book: bool) -> Result<Portion, Diagnostic> {
        let mut settled = self.ledger.practice.settled;
        if in_a_book && settled.ounce.is_none() && self.note_ounce_in_a_book(quantity) {
            settled.ounce = Some(crate::quantity::unit::Weights::Avoirdupois);
        }
        let portion = measure::portion(quantity, settled)?;
        if portion.is_zero() {
            return Err(
                Diagnostic::error(code::ZERO_AMOUNT, quantity.span, "nothing of it is taken")
                    .help("give an amount above zero, or leave the line out"),
            );
        }
        if let Some(much) = absurd(&portion) {
            self.diagnostics.push(
                Diagnostic::warning(
                    code::ABSURD_SIZE,
                    quantity.span,
                    format!("this comes to {much}, more than a dispensary makes"),
                )
                .help("look for a slip in the number or its measure: kg for g, litres for ml"),
            );
        }
        Ok(portion)
    }

    /// A bare ounce in a formula that comes from a book: read as avoirdupois, and said once.
    fn note_ounce_in_a_book(&mut self, quantity: &Quantity) -> bool {
        let bare = quantity
            .low
            .iter()
            .chain(quantity.high.iter().flatten())
            .filter_map(|term| term.unit.as_ref())
            .find(|unit| matches!(unit.text.to_lowercase().as_str(), "ounce" | "ounces"));
        let Some(unit) = bare else { return false };
        self.diagnostics.push(
                Diagnostic::notice(
                    code::OUNCE_IN_A_BOOK,
                    unit.span,
                    "the book does not say which ounce; it is read as avoirdupois, 28.35 g (an apothecary ounce is 31.1 g)",
                )
                .help("write `oz` or `apothecary ounces` where you know; or settle it with `ounce avoirdupois` under `practice`; this is said once for the whole ledger")
                .said_once("an ounce in a book"),
        );
        true
    }
}

fn parts(value: Decimal) -> Portion {
    Portion::Parts(Spread::exact(value))
}

/// More than a tonne, a thousand litres or ten thousand spoons.
fn absurd(portion: &Portion) -> Option<String> {
    let million = Decimal::from(1_000_000_u32);
    let ten_thousand = Decimal::from(10_000_u32);
    let many = |spread: &Spread, bound: Decimal| spread.high > bound;
    match portion {
        Portion::Grams(spread) if many(spread, million) => Some("more than a tonne".to_owned()),
        Portion::Millilitres(spread) if many(spread, million) => {
            Some("more than a thousand litres".to_owned())
        }
        Portion::Household(spread, _, measure) if many(spread, ten_thousand) => {
            Some(format!("more than ten thousand {}", measure.many()))
        }
        Portion::Pieces(spread, name) if many(spread, ten_thousand) => {
            Some(format!("more than ten thousand {name}"))
        }
        _ => None,
    }
}
