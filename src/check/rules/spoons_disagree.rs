//! Reports level measures of one herb, and its density, whose weights don't go with what the measures hold.

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Measure, Substance};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Heap, Household, Spread, print};
use crate::source::Span;

/// How far two measures may be apart before it is said, in percent.
const ALLOWED: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

/// What is known of one level measure, or of a millilitre by the density.
struct Known {
    /// Which measure; none for a density.
    measure: Option<Household>,
    /// What it holds, in millilitres.
    holds: Spread,
    /// What it weighs, in grams.
    grams: Spread,
    /// Where that is said.
    span: Option<Span>,
}

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for substance in &scope.ledger.substances {
        let level = weighed(scope, substance);
        let before = report.len();
        for pair in level.windows(2) {
            if let [small, big] = pair {
                report.extend(finding(substance, small, big));
            }
        }
        // A volume is reckoned by the smallest measure: many small steps may be one large one.
        if let Some((smallest, bigger)) = level.split_first()
            && report.len() == before
        {
            report.extend(bigger.iter().find_map(|big| finding(substance, smallest, big)));
        }
        if let Some(density) = substance.density {
            let millilitre = Known {
                measure: None,
                holds: Spread::exact(Decimal::ONE),
                grams: density.value,
                span: density.span,
            };
            report.extend(level.iter().find_map(|one| finding(substance, &millilitre, one)));
        }
    }
}

/// The level measures whose volumes are known, the smaller first.
fn weighed(scope: &Scope<'_>, substance: &Substance) -> Vec<Known> {
    let mut level: Vec<Known> = substance
        .weights
        .iter()
        .filter_map(|weight| match weight.measure {
            Measure::Household(Heap::Level, measure) => Some(Known {
                measure: Some(measure),
                holds: scope.ledger.practice.volume(measure)?.value,
                grams: weight.grams,
                span: Some(weight.span),
            }),
            _ => None,
        })
        .collect();
    level.sort_by_key(|known| known.measure);
    level
}

fn finding(substance: &Substance, light: &Known, heavy: &Known) -> Option<Diagnostic> {
    // Of a measure that was weighed in two lines it has been said already.
    if light.measure == heavy.measure {
        return None;
    }
    let (expected, off) = apart(light, heavy)?;
    let finding = Diagnostic::notice(
        code::SPOONS_DISAGREE,
        heavy.span?,
        format!(
            "by its {} a {} of {} would weigh {}; it is said to weigh {}, {} % {}",
            light.measure.map_or("density", Household::one),
            heavy.measure?.one(),
            substance.name,
            print::spread(&expected, 4, "g"),
            print::spread(&heavy.grams, 4, "g"),
            print::short(off.abs(), 0),
            if off.is_sign_negative() { "less" } else { "more" }
        ),
    );
    let finding = match light.span {
        Some(span) if light.measure.is_none() => finding.related(span, "its density"),
        Some(span) => finding.related(span, "the other weighing"),
        None => finding,
    };
    Some(finding.help(if light.measure.is_none() {
        "spoons are reckoned by their own weighings and millilitres by the density, so the two give different weights; weigh again, and take the one out that is wrong"
    } else {
        "both may be right, since herbs pack differently; weigh three level spoons of each to be sure"
    }))
}

/// What the bigger measure would weigh by the smaller one, and by how many percent it differs;
/// nothing if the spreads meet or the difference is small.
fn apart(light: &Known, heavy: &Known) -> Option<(Spread, Decimal)> {
    let expected = light
        .grams
        .proportion(heavy.holds.nominal, light.holds.nominal)
        .ok()?;
    let meet = expected.low <= heavy.grams.high && heavy.grams.low <= expected.high;
    let ratio = quotient(heavy.grams.nominal, expected.nominal).ok()?;
    let off = ratio.checked_sub(Decimal::ONE)?.checked_mul(Decimal::ONE_HUNDRED)?;
    (!meet && off.abs() > ALLOWED).then_some((expected, off))
}
