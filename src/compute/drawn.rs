//! Tells what is drawn out into a liquid from what is taken as the herb itself or as its tea.

use super::Composition;
use crate::model::Step;
use crate::naming;
use crate::syntax::tree::Subject;

/// Tinctures, oils and the like hold what was drawn out of a herb, not the herb. A tea is compared,
/// whether made by the cup or by the jug: published doses are for infusions and decoctions in water.
/// What is taken into it is looked at by itself.
pub fn is_drawn_out(composition: &Composition) -> bool {
    let steps = &composition.formula.steps;
    let watery = !steps.is_empty() && steps.iter().all(is_watery);
    let drawn = steps
        .iter()
        .any(|step| matches!(step.word, "macerate" | "percolate" | "syrup") && !is_watery(step));
    drawn || (composition.totals.volume.is_some() && !watery)
}

/// Whether a step is made with water alone: published doses are for such.
fn is_watery(step: &Step) -> bool {
    matches!(step.word, "infuse" | "decoct" | "macerate")
        && !matches!(step.preparation.subject, Subject::Ratio(..))
        && step.preparation.media.iter().all(|liquid| {
            liquid.strength.is_none()
                && liquid.name.as_ref().is_none_or(|name| {
                    let name = naming::folded(&name.text);
                    name == "it" || name.ends_with("water")
                })
        })
}
