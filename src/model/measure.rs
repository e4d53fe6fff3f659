//! Turns amounts as written into amounts with known units, or says which measure is unclear.

use super::Weight;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Dimension, Reading, Settled};
use crate::quantity::{Checked, Decimal, Heap, Household, Number, Overflow, Spread, Unit};
use crate::source::Span;
use crate::syntax::tree::{Name, Quantity, Term, Weighed, Weighing};

/// An amount whose unit is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Portion {
    /// A mass.
    Grams(Spread),
    /// A volume.
    Millilitres(Spread),
    /// Drops; a material may say what its drop holds.
    Drops(Spread),
    /// A time.
    Minutes(Spread),
    /// So many household measures.
    Household(Spread, Heap, Household),
    /// So many pieces.
    Pieces(Spread, String),
    /// Parts.
    Parts(Spread),
    /// Percent of the finished total, and how far the print may be off.
    Percent(Spread, Decimal),
    /// Several portions added: `1 tablespoon 1 teaspoon`.
    Sum(Vec<Portion>),
}

impl Portion {
    /// The portion taken so many times over.
    pub fn scaled(&self, factor: Decimal) -> Checked<Self> {
        Ok(match self {
            Self::Grams(spread) => Self::Grams(spread.scaled(factor)?),
            Self::Millilitres(spread) => Self::Millilitres(spread.scaled(factor)?),
            Self::Drops(spread) => Self::Drops(spread.scaled(factor)?),
            Self::Minutes(spread) => Self::Minutes(spread.scaled(factor)?),
            Self::Household(spread, heap, measure) => {
                Self::Household(spread.scaled(factor)?, *heap, *measure)
            }
            Self::Pieces(spread, name) => Self::Pieces(spread.scaled(factor)?, name.clone()),
            Self::Parts(spread) => Self::Parts(spread.scaled(factor)?),
            // A share of the total stays what it is, however much is made.
            Self::Percent(..) => self.clone(),
            Self::Sum(portions) => Self::Sum(
                portions
                    .iter()
                    .map(|portion| portion.scaled(factor))
                    .collect::<Checked<_>>()?,
            ),
        })
    }

    /// Whether nothing at all is asked for.
    pub fn is_zero(&self) -> bool {
        match self {
            Self::Grams(s)
            | Self::Millilitres(s)
            | Self::Drops(s)
            | Self::Minutes(s)
            | Self::Household(s, ..)
            | Self::Pieces(s, _)
            | Self::Parts(s)
            | Self::Percent(s, _) => s.high.is_zero(),
            Self::Sum(portions) => portions.iter().all(Self::is_zero),
        }
    }
}

/// What an operation that does not fit is called in a finding.
pub fn overflow(span: Span) -> Diagnostic {
    Diagnostic::error(
        code::NUMBER_OVERFLOW,
        span,
        "this comes to more than can be reckoned exactly",
    )
    .help("figures have at most 28 digits; look for a slip in the number or its measure")
}

/// Reads a unit's words.
pub fn unit(name: &Name, settled: Settled) -> Result<Unit, Diagnostic> {
    match unit::read(&name.text, settled) {
        Reading::Known(unit) => Ok(unit),
        Reading::Unclear(readings) => Err(unclear(name, readings)),
        Reading::SpoonLetter => Err(spoon_letter(name)),
        Reading::ErrorProne { why, instead } => {
            let offered = instead
                .iter()
                .map(|word| format!("`{word}`"))
                .collect::<Vec<_>>()
                .join(" or ");
            let finding = Diagnostic::error(
                code::ERROR_PRONE_UNIT,
                name.span,
                format!("`{}` is not read: {why}", name.text),
            )
            .help(format!("write {offered}"));
            Err(match instead {
                [only] => finding.fix(format!("write `{only}`"), name.span, *only),
                _ => finding,
            })
        }
    }
}

fn unclear(name: &Name, readings: &[&str]) -> Diagnostic {
    let offered = readings
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(", ");
    let key = match readings {
        ["oz", ..] => "`ounce avoirdupois`",
        ["drachm", ..] => "`dram apothecary`",
        _ => "`measures imperial`",
    };
    Diagnostic::error(
        code::UNCLEAR_OLD_MEASURE,
        name.span,
        format!("`{}` may mean several measures", name.text),
    )
    .help(format!(
        "write which one: {offered}; or settle it once for the ledger with a line under `practice`, such as {key}"
    ))
}

fn spoon_letter(name: &Name) -> Diagnostic {
    let meant = if name.text.starts_with('T') {
        "tablespoon"
    } else {
        "teaspoon"
    };
    Diagnostic::error(
        code::SPOON_LETTER,
        name.span,
        format!(
            "`{}` for a spoon is not read: T and t differ threefold and look alike",
            name.text
        ),
    )
    .help(format!("write `{meant}`, if that is meant"))
    .fix(format!("write `{meant}`"), name.span, meant)
}

/// Reads a whole amount.
pub fn portion(quantity: &Quantity, settled: Settled) -> Result<Portion, Diagnostic> {
    let span = quantity.span;
    let high_unit = quantity
        .high
        .as_ref()
        .and_then(|terms| terms.last())
        .and_then(|term| term.unit.as_ref());
    let low = side(&quantity.low, high_unit, settled, span)?;
    let Some(high) = &quantity.high else {
        return Ok(low);
    };
    let high = side(high, None, settled, span)?;
    range(low, high, span)
}

fn side(
    terms: &[Term],
    fallback: Option<&Name>,
    settled: Settled,
    span: Span,
) -> Result<Portion, Diagnostic> {
    let mut portions = Vec::with_capacity(terms.len());
    let mut before: Option<Decimal> = None;
    for term in terms {
        let Some(name) = term.unit.as_ref().or(fallback) else {
            return Err(bare_number(term));
        };
        let unit = unit(name, settled)?;
        if let Unit::Fixed(fixed) = &unit {
            let size = fixed.to_base(Decimal::ONE).map_err(|Overflow| overflow(span))?;
            if before.is_some_and(|before| before <= size) {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    span,
                    "amounts that add up are written with the larger measure first",
                )
                .help("write `2 lb 10 oz`; two different amounts need two lines"));
            }
            before = Some(size);
        }
        portions.push(one(term, unit).map_err(|Overflow| overflow(span))?);
    }
    sum(portions).map_err(|fault| match fault {
        SumFault::Overflow => overflow(span),
        SumFault::Mixed => Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            span,
            "two amounts of different sorts stand side by side",
        )
        .help("amounts that add up are both weights, both volumes or both spoons: `2 lb 10 oz`"),
    })
}

fn bare_number(term: &Term) -> Diagnostic {
    Diagnostic::error(code::UNKNOWN_UNIT, term.span, "a number without a measure")
        .label("of what?")
        .help("write the measure after the number: `20 g`, `2 teaspoons`, `3 parts`")
}

fn one(term: &Term, unit: Unit) -> Checked<Portion> {
    let count = Spread::exact(term.number.value);
    Ok(match unit {
        Unit::Fixed(fixed) if fixed.one == "drop" => Portion::Drops(count),
        Unit::Fixed(fixed) => {
            let base = Spread::exact(fixed.to_base(term.number.value)?);
            match fixed.dimension {
                Dimension::Mass => Portion::Grams(base),
                Dimension::Volume => Portion::Millilitres(base),
                Dimension::Time => Portion::Minutes(base),
            }
        }
        Unit::Household(heap, measure) => Portion::Household(count, heap, measure),
        Unit::Part => Portion::Parts(count),
        Unit::Percent => Portion::Percent(count, term.number.half_unit()?),
        Unit::Piece(name) => Portion::Pieces(count, name),
    })
}

enum SumFault {
    Overflow,
    Mixed,
}

impl From<Overflow> for SumFault {
    fn from(Overflow: Overflow) -> Self {
        Self::Overflow
    }
}

fn sum(mut portions: Vec<Portion>) -> Result<Portion, SumFault> {
    if portions.len() == 1
        && let Some(only) = portions.pop()
    {
        return Ok(only);
    }
    let mut grams = Spread::ZERO;
    let mut millilitres = Spread::ZERO;
    let mut sorts = [false; 3];
    for portion in &portions {
        match portion {
            Portion::Grams(spread) => {
                grams = grams.plus(spread)?;
                sorts[0] = true;
            }
            Portion::Millilitres(spread) => {
                millilitres = millilitres.plus(spread)?;
                sorts[1] = true;
            }
            Portion::Household(..) | Portion::Pieces(..) | Portion::Drops(_) => sorts[2] = true,
            _ => return Err(SumFault::Mixed),
        }
    }
    match sorts {
        [true, false, false] => Ok(Portion::Grams(grams)),
        [false, true, false] => Ok(Portion::Millilitres(millilitres)),
        [false, false, true] => Ok(Portion::Sum(portions)),
        _ => Err(SumFault::Mixed),
    }
}

fn range(low: Portion, high: Portion, span: Span) -> Result<Portion, Diagnostic> {
    let between = |low: &Spread, high: &Spread| {
        if high.nominal <= low.nominal {
            return Err(
                Diagnostic::error(code::RANGE_NOT_RISING, span, "this range does not rise")
                    .help("write the smaller amount first: `8 to 10 g`"),
            );
        }
        Spread::between(low.nominal, high.nominal).map_err(|Overflow| overflow(span))
    };
    Ok(match (low, high) {
        (Portion::Grams(a), Portion::Grams(b)) => Portion::Grams(between(&a, &b)?),
        (Portion::Millilitres(a), Portion::Millilitres(b)) => Portion::Millilitres(between(&a, &b)?),
        (Portion::Drops(a), Portion::Drops(b)) => Portion::Drops(between(&a, &b)?),
        (Portion::Minutes(a), Portion::Minutes(b)) => Portion::Minutes(between(&a, &b)?),
        (Portion::Parts(a), Portion::Parts(b)) => Portion::Parts(between(&a, &b)?),
        (Portion::Percent(a, x), Portion::Percent(b, y)) => Portion::Percent(between(&a, &b)?, x.max(y)),
        (Portion::Household(a, heap, measure), Portion::Household(b, other_heap, other))
            if heap == other_heap && measure == other =>
        {
            Portion::Household(between(&a, &b)?, heap, measure)
        }
        (Portion::Pieces(a, name), Portion::Pieces(b, other))
            if naming::same_but_for_number(&name, &other) =>
        {
            Portion::Pieces(between(&a, &b)?, other)
        }
        _ => {
            return Err(Diagnostic::error(
                code::WRONG_SORT_OF_MEASURE,
                span,
                "the two ends of this range are measured in different ways",
            )
            .help("give both in the same measure: `1 to 2 teaspoons`, `500 mg to 1 g`"));
        }
    })
}

/// What a measure weighs, in grams, and how many weighings say so.
pub fn weight(weighing: &Weighing, span: Span, settled: Settled) -> Result<(Spread, usize), Diagnostic> {
    match weighing {
        Weighing::Stated(quantity) => Ok((grams(quantity, settled)?, 0)),
        Weighing::Weighed(list) => {
            let last_unit = list.last().and_then(|weighed| weighed.term.unit.as_ref());
            let mut values = Vec::with_capacity(list.len());
            // As one unit at the end holds for all, so does one `for 5`.
            let shared = match list.split_last() {
                Some((final_one, others))
                    if others
                        .iter()
                        .all(|one| one.count.is_none() && one.term.unit.is_none()) =>
                {
                    final_one.count
                }
                _ => None,
            };
            for weighed in list {
                values.push(one_weighing(weighed, last_unit, shared, settled)?);
            }
            let spread = Spread::of_weighings(&values).map_err(|Overflow| overflow(span))?;
            Ok((spread, values.len()))
        }
    }
}

fn one_weighing(
    weighed: &Weighed,
    last_unit: Option<&Name>,
    shared: Option<Number>,
    settled: Settled,
) -> Result<Decimal, Diagnostic> {
    let span = weighed.term.span;
    let name = weighed
        .term
        .unit
        .as_ref()
        .or(last_unit)
        .ok_or_else(|| bare_number(&weighed.term))?;
    let Portion::Grams(grams) =
        one(&weighed.term, unit(name, settled)?).map_err(|Overflow| overflow(span))?
    else {
        return Err(not_a_mass(span));
    };
    match weighed.count.or(shared) {
        None => Ok(grams.nominal),
        Some(count) => crate::quantity::rounding::quotient(grams.nominal, count.value).map_err(|Overflow| {
            Diagnostic::error(
                code::ZERO_AMOUNT,
                span,
                "nothing was weighed: the number of measures is zero",
            )
            .help("say how many lay on the scales: `weighed 14.9 g for 5`")
        }),
    }
}

fn not_a_mass(span: Span) -> Diagnostic {
    Diagnostic::error(code::WRONG_SORT_OF_MEASURE, span, "this is not a weight")
        .help("write what it weighs: `1.8 g`")
}

/// An amount that must be a mass.
pub fn grams(quantity: &Quantity, settled: Settled) -> Result<Spread, Diagnostic> {
    match portion(quantity, settled)? {
        Portion::Grams(spread) => Ok(spread),
        _ => Err(not_a_mass(quantity.span)),
    }
}

/// An amount that must be a volume.
pub fn millilitres(quantity: &Quantity, settled: Settled) -> Result<Spread, Diagnostic> {
    match portion(quantity, settled)? {
        Portion::Millilitres(spread) => Ok(spread),
        _ => Err(
            Diagnostic::error(code::WRONG_SORT_OF_MEASURE, quantity.span, "this is not a volume")
                .help("write what it holds: `5 ml`"),
        ),
    }
}

/// The weight of a measure, if it is stated.
pub fn stated<'a>(weights: &'a [Weight], measure: &super::Measure) -> Option<&'a Weight> {
    weights.iter().find(|weight| match (&weight.measure, measure) {
        (super::Measure::Piece(a), super::Measure::Piece(b)) => naming::same_but_for_number(a, b),
        (a, b) => a == b,
    })
}
