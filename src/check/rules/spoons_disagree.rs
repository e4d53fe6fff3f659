//! Reports two level measures of one herb whose weights don't go with what the measures hold.

use crate::code;
use crate::check::Scope;
use crate::diagnostic::Diagnostic;
use crate::model::{Measure, Weight};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Heap, Household, Spread, print};

/// How far two spoons may be apart before it is said, in percent.
const ALLOWED: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    let holds = |measure: Household| scope.ledger.practice.volume(measure).map(|volume| volume.value);
    for substance in &scope.ledger.substances {
        let mut level: Vec<(Household, &Weight, Spread)> = substance
            .weights
            .iter()
            .filter_map(|weight| match weight.measure {
                Measure::Household(Heap::Level, measure) => Some((measure, weight, holds(measure)?)),
                _ => None,
            })
            .collect();
        level.sort_by_key(|(measure, ..)| *measure);
        for pair in level.windows(2) {
            if let [(small, light, less), (big, heavy, more)] = pair
                && small != big
                && let Some((expected, off)) = apart(light, less, heavy, more)
            {
                report.push(
                    Diagnostic::notice(
                        code::SPOONS_DISAGREE,
                        heavy.span,
                        format!(
                            "by its {} a {} of {} would weigh {}; it is said to weigh {}, {} % {}",
                            small.one(),
                            big.one(),
                            substance.name,
                            print::spread(&expected, 4, "g"),
                            print::spread(&heavy.grams, 4, "g"),
                            print::short(off.abs(), 0),
                            if off.is_sign_negative() { "less" } else { "more" }
                        ),
                    )
                    .related(light.span, "the other weighing")
                    .help("both may be right, since herbs pack differently; weigh three level spoons of each to be sure"),
                );
            }
        }
    }
}

/// What the bigger measure would weigh by the smaller one, and by how many percent it differs;
/// nothing if the spreads meet or the difference is small.
fn apart(light: &Weight, less: &Spread, heavy: &Weight, more: &Spread) -> Option<(Spread, Decimal)> {
    let expected = light.grams.proportion(more.nominal, less.nominal).ok()?;
    let meet = expected.low <= heavy.grams.high && heavy.grams.low <= expected.high;
    let ratio = quotient(heavy.grams.nominal, expected.nominal).ok()?;
    let off = ratio.checked_sub(Decimal::ONE)?.checked_mul(Decimal::ONE_HUNDRED)?;
    (!meet && off.abs() > ALLOWED).then_some((expected, off))
}
