//! Holds every amount of a dose, a step or a piece to a measure that is known and of the right sort.

use super::entries::positive;
use super::measure;
use super::read::Reader;
use super::{PieceSize, Pieces, Portion};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled};
use crate::quantity::{Decimal, Unit};
use crate::source::Span;
use crate::syntax::tree::{
    Body, Divide, Dose, Entry, Frequency, Liquid, Name, Preparation, Quantity, Subject,
};

type Found<T> = Result<T, Diagnostic>;

impl Reader<'_> {
    /// Every measure of a dose must be known, though doses are reckoned elsewhere.
    pub(super) fn check_dose(&mut self, dose: &Dose, pieces: &[String]) -> Found<()> {
        let settled = self.ledger.practice.settled;
        taken_by(&dose.amount, settled, pieces)?;
        if let Some(vehicle) = &dose.vehicle {
            poured_by(vehicle, settled)?;
        }
        let every = match &dose.frequency {
            Some(Frequency::Every(quantity)) => Some(quantity),
            _ => None,
        };
        for time in [dose.lasting.as_ref(), every, dose.apart.as_ref()]
            .into_iter()
            .flatten()
        {
            lasts_by(time, settled)?;
        }
        self.diagnostics.extend(too_often(dose, settled));
        Ok(())
    }

    /// Every measure of a step must be known. Temperatures have units of their own.
    pub(super) fn check_preparation(&mut self, preparation: &Preparation, pieces: &[String]) -> Found<()> {
        let settled = self.ledger.practice.settled;
        if let Subject::Amount(quantity, of) = &preparation.subject {
            if of.is_some() {
                measure::portion(quantity, settled)?;
            } else {
                taken_by(quantity, settled, pieces)?;
            }
        }
        let poured = preparation
            .media
            .iter()
            .filter_map(|liquid: &Liquid| liquid.amount.as_ref());
        for quantity in poured.chain(&preparation.down_to) {
            poured_by(quantity, settled)?;
        }
        if let Some(lasting) = &preparation.lasting {
            lasts_by(lasting, settled)?;
        }
        Ok(())
    }
}

/// More times a day than the time between two leaves room for.
fn too_often(dose: &Dose, settled: Settled) -> Option<Diagnostic> {
    const DAY_IN_MINUTES: u32 = 1440;
    let (Some(Frequency::TimesADay(times, _)), Some(apart)) = (&dose.frequency, &dose.apart) else {
        return None;
    };
    let Ok(Portion::Minutes(minutes)) = measure::portion(apart, settled) else {
        return None;
    };
    let most = times.high.unwrap_or(times.low).value;
    let taken = most.checked_mul(minutes.low)?;
    (taken > Decimal::from(DAY_IN_MINUTES)).then(|| {
        Diagnostic::warning(
            code::TIMES_AND_HOURS_DISAGREE,
            times.span,
            "a day is too short for so many times so far apart",
        )
        .related(apart.span, "this is how far apart they are")
        .help(
            "the times a day are what is counted: write as many as there is time for, or fewer hours between",
        )
    })
}

/// An amount that is taken: a weight, a volume, a spoon, or a piece that the entry has.
pub(super) fn taken_by(quantity: &Quantity, settled: Settled, pieces: &[String]) -> Found<()> {
    let piece = match measure::portion(quantity, settled)? {
        Portion::Pieces(_, piece) => piece,
        Portion::Parts(_) | Portion::Percent(..) | Portion::Minutes(_) => {
            return Err(Diagnostic::error(
                code::WRONG_SORT_OF_MEASURE,
                quantity.span,
                "nothing can be taken by this measure",
            )
            .help("write a weight, a volume, a spoon or a piece: `4 g`, `10 ml`, `2 teaspoons`, `2 filter bags`"));
        }
        _ => return Ok(()),
    };
    if pieces.iter().any(|own| naming::same_but_for_number(own, &piece)) {
        return Ok(());
    }
    let finding = Diagnostic::error(
        code::UNKNOWN_UNIT,
        quantity.span,
        format!("`{piece}` is no measure"),
    );
    Err(match unit::nearest(&piece) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help(format!(
            "write a measure such as `g`, `ml` or `teaspoons`; a piece must be declared in the same entry: `divide   into {piece} of 2 g`"
        )),
    })
}

/// An amount of liquid.
pub(super) fn poured_by(quantity: &Quantity, settled: Settled) -> Found<()> {
    match measure::portion(quantity, settled)? {
        // Water may be weighed, too.
        Portion::Millilitres(_) | Portion::Household(..) | Portion::Drops(_) | Portion::Grams(_) => Ok(()),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            quantity.span,
            "this is no volume of a liquid",
        )
        .help("write `1 cup`, `250 ml` or `1 litre`")),
    }
}

/// A length of time.
pub(super) fn lasts_by(quantity: &Quantity, settled: Settled) -> Found<()> {
    match measure::portion(quantity, settled)? {
        Portion::Minutes(_) => Ok(()),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            quantity.span,
            "this is not a length of time",
        )
        .help("write how long: `for 10 to 15 minutes`, `for 14 days`")),
    }
}

/// The pieces that an entry declares, in a line of their own or after `divide`.
pub(super) fn pieces_of(entry: &Entry) -> Vec<String> {
    let known = entry.kind.line_words();
    entry
        .lines
        .iter()
        .filter_map(|line| match &line.body {
            Body::Weighing(_) if known.iter().all(|word| word.word != line.word.text) => {
                Some(naming::folded(&line.word.text))
            }
            Body::Divide(Divide::Sized(name, _)) => Some(naming::folded(&name.text)),
            Body::Divide(Divide::Counted(quantity)) => {
                let unit = quantity.low.last()?.unit.as_ref()?;
                Some(naming::folded(&unit.text))
            }
            _ => None,
        })
        .collect()
}

/// The name of a piece; one that is a measure already would be read as that measure.
pub(super) fn piece_name(name: &Name) -> Found<String> {
    match unit::read(&name.text, Settled::default()) {
        unit::Reading::Known(Unit::Piece(piece)) => Ok(piece),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            name.span,
            format!("`{}` is a measure already, so it can't be a piece", name.text),
        )
        .help("give the piece another name, such as `kernel` for a stone")),
    }
}

pub(super) fn divided(divide: &Divide, span: Span, settled: Settled) -> Found<Pieces> {
    match divide {
        Divide::Sized(name, quantity) => {
            let grams = measure::grams(quantity, settled)?;
            positive(grams.low, quantity.span)?;
            Ok(Pieces {
                name: piece_name(name)?,
                size: PieceSize::Grams(grams),
                span,
            })
        }
        Divide::Counted(quantity) => match measure::portion(quantity, settled)? {
            Portion::Pieces(count, name) => {
                positive(count.low, quantity.span)?;
                Ok(Pieces {
                    name,
                    size: PieceSize::Count(count.nominal),
                    span,
                })
            }
            _ => Err(
                Diagnostic::error(code::WRONG_SORT_OF_MEASURE, quantity.span, "this says no pieces")
                    .help("write `into 24 powders` or `into filter bags of 2 g`"),
            ),
        },
    }
}
