//! A plain picture: what a dose holds of each herb against what is stated, drawn with letters.

use crate::compute::intake::{HerbIntake, Intake};
use crate::quantity::Decimal;
use crate::quantity::print::short;
use crate::quantity::rounding::{quotient, to_places};
use crate::render;

/// How many letters a bar has.
const CELLS: usize = 36;

/// One line for each herb that has a stated dose, and a line that says what the letters mean.
pub fn bars(intake: &Intake, name: impl Fn(usize) -> String) -> Vec<String> {
    let drawn: Vec<&HerbIntake> = intake
        .herbs
        .iter()
        .filter(|herb| herb.published.most_at_once.is_some())
        .collect();
    let names: Vec<String> = drawn.iter().map(|herb| name(herb.substance)).collect();
    let width = names
        .iter()
        .map(|name| render::columns(name))
        .max()
        .unwrap_or(0)
        .min(28);
    let mut lines: Vec<String> = drawn
        .iter()
        .zip(&names)
        .filter_map(|(herb, name)| {
            let (bar, end) = bar(herb)?;
            let pad = " ".repeat(width.saturating_sub(render::columns(name)));
            let adult = if is_adults(herb) { " adult" } else { "" };
            Some(format!(
                "{name}{pad}  |{bar}| {} g{adult}",
                short(end, crate::quantity::print::dose_places(end))
            ))
        })
        .collect();
    if !lines.is_empty() {
        lines.push(String::new());
        lines.push("- stated, = this dose, # both; each bar from 0 to the figure at its end".to_owned());
        if drawn.iter().any(|herb| is_adults(herb)) {
            lines.push("adult: stated for adults; for this age nothing is stated".to_owned());
        }
    }
    lines
}

/// Whether it is a child's dose, and the bar goes to what is stated for adults.
fn is_adults(herb: &HerbIntake) -> bool {
    herb.published
        .most_at_once
        .is_some_and(|(_, line)| herb.published.is_for_grown_ups(line))
}

/// The bar and the figure at its end.
fn bar(herb: &HerbIntake) -> Option<(String, Decimal)> {
    let (most, _) = herb.published.most_at_once?;
    let least = herb
        .published
        .least_at_once
        .map_or(Decimal::ZERO, |(least, _)| least);
    let end = most.max(herb.at_once.high);
    if end.is_zero() {
        return None;
    }
    let cell = |value: Decimal| -> Option<usize> {
        let place = quotient(value.checked_mul(Decimal::from(u64::try_from(CELLS).ok()?))?, end).ok()?;
        usize::try_from(u64::try_from(to_places(place, 0)).ok()?).ok()
    };
    // A range takes one letter at least.
    let span = |low: Decimal, high: Decimal| -> Option<(usize, usize)> {
        let (from, to) = (cell(low)?.min(CELLS.saturating_sub(1)), cell(high)?);
        Some((from, to.max(from.saturating_add(1))))
    };
    let stated = span(least, most)?;
    let taken = span(herb.at_once.low, herb.at_once.high)?;
    let inside = |range: (usize, usize), at: usize| range.0 <= at && at < range.1;
    let bar = (0..CELLS)
        .map(|at| match (inside(stated, at), inside(taken, at)) {
            (true, true) => '#',
            (true, false) => '-',
            (false, true) => '=',
            (false, false) => ' ',
        })
        .collect();
    Some((bar, end))
}
