//! Says of a finished blend whether it must be stirred or shaken before use, because its pieces part again.

use super::{Composition, How, drawn};
use crate::model::{Bound, Ledger, Measure};
use crate::quantity::{Decimal, Heap, Household};

/// What is done before each use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settling {
    /// A dry mix of heavy and light pieces: the heavy ones sink.
    Turn,
    /// A liquid of several things, or one with syrup in it.
    Shake,
}

/// How many times as much a spoon of the heaviest weighs as one of the lightest before a mix is
/// taken to part by itself (common practice, no source).
const APART: Decimal = Decimal::TWO;

/// Whether a blend parts, and what is done about it; nothing where it doesn't or can't be told.
pub fn settling(ledger: &Ledger, composition: &Composition) -> Option<Settling> {
    let counted = composition.lines.iter().filter(|line| line.how != How::Uncounted);
    let formula = &composition.formula;
    if drawn::is_drawn_out(composition) || composition.totals.volume.is_some() {
        let syrup = formula.steps.iter().any(|step| step.word == "syrup");
        return (syrup || counted.count() > 1).then_some(Settling::Shake);
    }
    if !(composition.is_all_grams() || composition.is_unsized()) {
        return None;
    }
    let mut lightest: Option<Decimal> = None;
    let mut heaviest: Option<Decimal> = None;
    for line in counted {
        let Bound::Substance(at) = line.taken.what else {
            continue;
        };
        let spoon = ledger.substances.get(at).and_then(|one| {
            one.weights.iter().find_map(|weight| {
                let level = matches!(
                    weight.measure,
                    Measure::Household(Heap::Level, Household::Teaspoon)
                );
                level.then_some(weight.grams.nominal)
            })
        });
        if let Some(spoon) = spoon {
            lightest = Some(lightest.map_or(spoon, |least| least.min(spoon)));
            heaviest = Some(heaviest.map_or(spoon, |most| most.max(spoon)));
        }
    }
    let parts = heaviest? >= lightest?.checked_mul(APART)?;
    parts.then_some(Settling::Turn)
}
