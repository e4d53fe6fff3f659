//! Turns one amount of one thing into grams or millilitres, through its own weighings.

use super::spoon::{Filled, faulty};
use super::trace::Trace;
use super::{Amounts, Figures, How, Reckoner, volume_of};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::{overflow, stated};
use crate::model::{Bound, Faults, Ledger, Measure, PieceSize, Portion, Stated, Weight};
use crate::quantity::print;
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Heap, Overflow, Spread, Unit};
use crate::source::Span;
use crate::syntax::tree::{Kind, Name};

/// What is measured, where, and which line of the working it belongs to.
pub(super) struct Use<'n> {
    pub name: &'n Name,
    pub what: Bound,
    pub span: Span,
    pub line: usize,
}

type Found<T> = Result<T, Diagnostic>;

/// One amount of one thing in grams, in millilitres, or in both.
///
/// # Errors
/// A finding at `span` where its own weighings don't say.
pub fn amount_of(
    ledger: &Ledger,
    faults: &Faults,
    figures: &Figures,
    (name, what): (&Name, Bound),
    span: Span,
    portion: &Portion,
) -> Result<Amounts, Diagnostic> {
    let of = Use {
        name,
        what,
        span,
        line: 0,
    };
    let mut reckoner = Reckoner::over(ledger, figures, faults);
    let (amounts, _) = reckoner.amounts(&of, portion, &mut Trace::silent())?;
    Ok(amounts)
}

impl Reckoner<'_> {
    /// An amount in grams, in millilitres, or in both.
    pub(super) fn amounts(
        &mut self,
        of: &Use<'_>,
        portion: &Portion,
        trace: &mut Trace,
    ) -> Found<(Amounts, How)> {
        match portion {
            Portion::Grams(grams) => {
                trace.note(of.line, Some(of.span), None, || {
                    format!("written as a weight: {}", print::spread(grams, 6, "g"))
                });
                Ok((in_grams(*grams), How::Weighed))
            }
            Portion::Millilitres(volume) => Ok((self.volume(of, volume, trace)?, How::Measured)),
            Portion::Drops(count) => {
                let drop = self.drop_volume(of.what);
                let volume = count.times(&drop.value).map_err(|Overflow| overflow(of.span))?;
                trace.note(of.line, drop.span, None, || {
                    format!(
                        "{} drops of {} = {}",
                        print::short(count.nominal, 3),
                        print::spread(&drop.value, 6, "ml"),
                        print::spread(&volume, 6, "ml")
                    )
                });
                Ok((self.volume(of, &volume, trace)?, How::Measured))
            }
            Portion::Household(count, heap, measure) => {
                let each = self.filled(of, *heap, *measure, trace)?;
                let words = Unit::Household(*heap, *measure).words(count.nominal != Decimal::ONE);
                match each {
                    Filled::Grams(weight) => {
                        let grams = count.times(&weight).map_err(|Overflow| overflow(of.span))?;
                        trace.note(of.line, Some(of.span), None, || {
                            format!(
                                "{} {words} × {} = {}",
                                print::short(count.nominal, 6),
                                print::spread(&weight, 6, "g"),
                                print::spread(&grams, 6, "g")
                            )
                        });
                        Ok((in_grams(grams), How::Spooned))
                    }
                    Filled::Liquid(volume) => {
                        let volume = count.times(&volume).map_err(|Overflow| overflow(of.span))?;
                        trace.note(of.line, Some(of.span), None, || {
                            format!(
                                "{} {words} of a liquid = {}",
                                print::short(count.nominal, 6),
                                print::spread(&volume, 6, "ml")
                            )
                        });
                        // With a density it has a weight beside its volume.
                        if matches!(of.what, Bound::Substance(_)) {
                            return Ok((self.volume(of, &volume, trace)?, How::Measured));
                        }
                        Ok((in_millilitres(volume), How::Measured))
                    }
                }
            }
            Portion::Pieces(count, piece) => {
                let each = self.piece(of, piece, trace)?;
                let times = |amount: Option<Spread>| {
                    amount
                        .map(|amount| count.times(&amount).map_err(|Overflow| overflow(of.span)))
                        .transpose()
                };
                let amounts = Amounts {
                    grams: times(each.grams)?,
                    millilitres: times(each.millilitres)?,
                    parts: None,
                };
                trace.note(of.line, Some(of.span), None, || {
                    format!(
                        "{} {piece} × {} = {}",
                        print::short(count.nominal, 6),
                        amount_words(&each),
                        amount_words(&amounts)
                    )
                });
                Ok((amounts, How::Counted))
            }
            Portion::Sum(portions) => self.sum(of, portions, trace),
            Portion::Parts(_) | Portion::Percent(..) | Portion::Minutes(_) => Err(wrong_sort(of)),
        }
    }

    fn sum(&mut self, of: &Use<'_>, portions: &[Portion], trace: &mut Trace) -> Found<(Amounts, How)> {
        let mut total: Option<(Amounts, How)> = None;
        for portion in portions {
            let (amounts, how) = self.amounts(of, portion, trace)?;
            total = Some(match total {
                None => (amounts, how),
                Some((before, _)) => {
                    let add = |a: Option<Spread>, b: Option<Spread>| match (a, b) {
                        (Some(a), Some(b)) => a.plus(&b).map(Some),
                        _ => Ok(None),
                    };
                    let grams = add(before.grams, amounts.grams).map_err(|Overflow| overflow(of.span))?;
                    let millilitres =
                        add(before.millilitres, amounts.millilitres).map_err(|Overflow| overflow(of.span))?;
                    if grams.is_none() && millilitres.is_none() {
                        return Err(wrong_sort(of));
                    }
                    (
                        Amounts {
                            grams,
                            millilitres,
                            parts: None,
                        },
                        how,
                    )
                }
            });
        }
        total.ok_or_else(|| wrong_sort(of))
    }

    /// What a drop of something holds.
    fn drop_volume(&self, what: Bound) -> Stated<Spread> {
        let own = match what {
            Bound::Substance(at) => self
                .ledger
                .substances
                .get(at)
                .and_then(|substance| substance.drop),
            _ => None,
        };
        // Twenty drops to the millilitre: UCUM 2024-06-17 [drp]; USP 32 <1101> gives 45 to 55 mg of water.
        own.unwrap_or(Stated {
            value: Spread::exact(Decimal::new(5, 2)),
            span: None,
        })
    }

    /// A volume: of a liquid it stays one, and has a weight beside it where a density is known;
    /// of anything dry it is reckoned like a spoon.
    fn volume(&mut self, of: &Use<'_>, volume: &Spread, trace: &mut Trace) -> Found<Amounts> {
        if self.is_faulty(of.what) {
            return Err(faulty(of));
        }
        match of.what {
            Bound::Substance(at) => {
                let Some(substance) = self.ledger.substances.get(at) else {
                    return Err(wrong_sort(of));
                };
                if let Some(density) = substance.density {
                    let grams = volume
                        .times(&density.value)
                        .map_err(|Overflow| overflow(of.span))?;
                    trace.note(of.line, density.span, None, || {
                        format!(
                            "{} × {} per ml = {}",
                            print::spread(volume, 6, "ml"),
                            print::spread(&density.value, 6, "g"),
                            print::spread(&grams, 6, "g")
                        )
                    });
                    return Ok(Amounts {
                        grams: Some(grams),
                        millilitres: Some(*volume),
                        parts: None,
                    });
                }
                if substance.kind == Kind::Material && substance.weights.is_empty() {
                    trace.note(of.line, Some(of.span), None, || {
                        format!(
                            "a volume without a density stays one: {}",
                            print::spread(volume, 6, "ml")
                        )
                    });
                    return Ok(in_millilitres(*volume));
                }
            }
            Bound::Formula(at) => {
                let Some(inner) = self.done.get(at).and_then(Option::as_ref) else {
                    return Err(wrong_sort(of));
                };
                if inner.totals.volume.is_some() {
                    trace.note(of.line, Some(of.span), None, || {
                        format!(
                            "a volume of what the formula makes: {}",
                            print::spread(volume, 6, "ml")
                        )
                    });
                    return Ok(in_millilitres(*volume));
                }
                if inner.formula.weights.is_empty() {
                    return Err(liquid_without_makes(of));
                }
            }
            Bound::Unknown => return Err(wrong_sort(of)),
        }
        // Like a spoon: the nearest level measure whose volume is known.
        let (measure, weight) = self.any_spoon(of)?;
        let holds = self
            .ledger
            .practice
            .volume(measure)
            .ok_or_else(|| self.no_weight(of, Heap::Level, measure))?;
        let grams = volume
            .times(&weight.grams)
            .and_then(|grams| grams.over(&holds.value))
            .map_err(|Overflow| overflow(of.span))?;
        trace.note(of.line, Some(weight.span), weight.book, || {
            format!(
                "{} at {} a {} of {} = {}",
                print::spread(volume, 6, "ml"),
                print::spread(&weight.grams, 6, "g"),
                measure.one(),
                print::spread(&holds.value, 6, "ml"),
                print::spread(&grams, 6, "g")
            )
        });
        // A liquid that was weighed by the spoon is known both ways.
        let liquid = matches!(of.what, Bound::Substance(at)
            if self.ledger.substances.get(at).is_some_and(|substance| substance.kind == Kind::Material));
        Ok(Amounts {
            millilitres: liquid.then_some(*volume),
            ..in_grams(grams)
        })
    }

    pub(super) fn weights(&self, what: Bound) -> &[Weight] {
        match what {
            Bound::Substance(at) => self
                .ledger
                .substances
                .get(at)
                .map_or(&[], |substance| substance.weights.as_slice()),
            Bound::Formula(at) => self
                .done
                .get(at)
                .and_then(Option::as_ref)
                .map_or(&[], |inner| inner.formula.weights.as_slice()),
            Bound::Unknown => &[],
        }
    }

    /// What one piece of something weighs.
    fn piece(&mut self, of: &Use<'_>, piece: &str, trace: &mut Trace) -> Found<Amounts> {
        if self.is_faulty(of.what) {
            return Err(faulty(of));
        }
        if let Some(own) = stated(self.weights(of.what), &Measure::Piece(piece.to_owned())).cloned() {
            trace.note(of.line, Some(own.span), own.book, || {
                format!("one {piece} weighs {}", print::spread(&own.grams, 6, "g"))
            });
            return Ok(in_grams(own.grams));
        }
        if let Bound::Formula(at) = of.what
            && let Some(inner) = self.done.get(at).and_then(Option::as_ref)
            && let Some(pieces) = &inner.formula.divide
            && crate::naming::same_but_for_number(&pieces.name, piece)
        {
            let each = match pieces.size {
                PieceSize::Grams(grams) => Some(in_grams(grams)),
                PieceSize::Count(count) => one_of(&inner.totals, count),
            };
            let Some(each) = each else {
                return Err(mixed_pieces(of, piece));
            };
            trace.note(of.line, Some(pieces.span), None, || {
                format!("one {piece} holds {}", amount_words(&each))
            });
            return Ok(each);
        }
        Err(self.no_piece(of, piece))
    }

    fn no_piece(&self, of: &Use<'_>, piece: &str) -> Diagnostic {
        if piece.starts_with('°') {
            return wrong_sort(of);
        }
        if let Some(near) = crate::quantity::unit::nearest(piece) {
            return Diagnostic::error(code::UNKNOWN_UNIT, of.span, format!("`{piece}` is no measure"))
                .help(format!("did you mean `{near}`?"));
        }
        let mut finding = Diagnostic::error(
            code::PIECE_WITHOUT_WEIGHT,
            of.span,
            format!(
                "{} is counted in `{piece}`, but nothing says what one of them weighs",
                of.name.text
            ),
        )
        .label("this can't become grams")
        .help(format!(
            "weigh some, and add to the herb: `{}   weighed 5.8 g for 3`",
            crate::naming::singulars(piece)
                .last()
                .map_or(piece, String::as_str)
        ));
        if let Some(declared) = self.declared(of.what) {
            finding = finding.related(declared, "declared here, without such a piece");
        }
        finding
    }

    pub(super) fn declared(&self, what: Bound) -> Option<Span> {
        match what {
            Bound::Substance(at) => self.ledger.substances.get(at)?.span,
            Bound::Formula(at) => Some(self.ledger.formulas.get(at)?.name.span),
            Bound::Unknown => None,
        }
    }
}

fn in_grams(grams: Spread) -> Amounts {
    Amounts {
        grams: Some(grams),
        ..Amounts::default()
    }
}

fn in_millilitres(volume: Spread) -> Amounts {
    Amounts {
        millilitres: Some(volume),
        ..Amounts::default()
    }
}

/// An amount in words, in whichever measure it is known.
fn amount_words(amounts: &Amounts) -> String {
    let known = [(amounts.grams, "g"), (amounts.millilitres, "ml")];
    known
        .into_iter()
        .filter_map(|(spread, unit)| Some(print::spread(&spread?, 6, unit)))
        .collect::<Vec<_>>()
        .join(", ")
}

/// One piece of a whole that is divided into so many; nothing where the whole is partly weighed and
/// partly measured, since a piece then is neither so many grams nor so many millilitres.
fn one_of(totals: &super::Totals, count: Decimal) -> Option<Amounts> {
    let whole = match (totals.grams, totals.millilitres, totals.volume) {
        (Some(grams), None, None) => in_grams(grams),
        (None, Some(volume), None) | (_, _, Some(volume)) => in_millilitres(volume),
        _ => return None,
    };
    let share = |amount: Option<Spread>| {
        amount
            .map(|amount| amount.proportion(Decimal::ONE, count))
            .transpose()
    };
    Some(Amounts {
        grams: share(whole.grams).ok()?,
        millilitres: share(whole.millilitres).ok()?,
        parts: None,
    })
}

fn mixed_pieces(of: &Use<'_>, piece: &str) -> Diagnostic {
    Diagnostic::error(
        code::PIECE_WITHOUT_WEIGHT,
        of.span,
        format!(
            "what one of `{piece}` of {} weighs is not known: it is partly weighed and partly measured",
            of.name.text
        ),
    )
    .help("take it by part or weight; or say what a piece weighs: `divide   into pills of 3 grains`")
}

pub(super) fn wrong_sort(of: &Use<'_>) -> Diagnostic {
    Diagnostic::error(
        code::WRONG_SORT_OF_MEASURE,
        of.span,
        format!("{} can't be taken by this measure", of.name.text),
    )
    .help("take it by weight, volume, spoon, piece, part or percentage")
}

fn liquid_without_makes(of: &Use<'_>) -> Diagnostic {
    Diagnostic::error(
        code::LIQUID_WITHOUT_MAKES,
        of.span,
        format!("{} is taken by volume, but nothing says how much of it is made", of.name.text),
    )
    .help(format!(
        "add what it yields to the formula {}, such as `makes 460 ml`; a dry blend is taken by weight, or needs a `teaspoon` weighing",
        of.name.text
    ))
}

/// The volume that a finished formula has, if it says one; and the line that says so.
pub(super) fn yield_of(formula: &crate::model::Formula) -> Option<(Spread, Option<Span>)> {
    volume_of(formula.makes.as_ref())
}

/// One piece of a formula as a part of the whole, where pieces are counted.
pub(super) fn piece_share(count: Decimal) -> Result<Decimal, Overflow> {
    quotient(Decimal::ONE, count)
}
