//! Turns a dose into a picture: what it holds of each herb, against what is stated at once.

use super::pictures::thousandths;
use crate::compute::intake::{HerbIntake, Intake};
use crate::quantity::print::{dose, dose_places, range, short};
use crate::quantity::{Decimal, Spread};
use crate::render::Picture;
use crate::render::picture::{Range, Ranges, Stretch};

/// A row for each herb that has a stated dose; nothing where none has. `name` gives the name of a herb.
pub fn bars(intake: &Intake, name: impl Fn(usize) -> String) -> Option<Picture> {
    let rows: Vec<Range> = intake
        .herbs
        .iter()
        .filter_map(|herb| row(herb, name(herb.substance)))
        .collect();
    (!rows.is_empty()).then(|| {
        Picture::Ranges(Ranges {
            title: "a dose against what is stated at once".to_owned(),
            first: "stated".to_owned(),
            second: "this dose".to_owned(),
            rows,
        })
    })
}

/// Whether anything in the picture is stated for adults and drawn for a child.
pub fn any_for_adults(intake: &Intake) -> bool {
    intake.herbs.iter().any(is_adults)
}

/// Whether it is a child's dose, and the bar goes to what is stated for adults.
fn is_adults(herb: &HerbIntake) -> bool {
    herb.published
        .most_at_once
        .is_some_and(|(_, line)| herb.published.is_for_grown_ups(line))
}

fn row(herb: &HerbIntake, label: String) -> Option<Range> {
    let (most, _) = herb.published.most_at_once?;
    let least = herb
        .published
        .least_at_once
        .map_or(Decimal::ZERO, |(least, _)| least);
    let end = most.max(herb.at_once.high);
    if end.is_zero() {
        return None;
    }
    let adult = if is_adults(herb) { " adult" } else { "" };
    let stretch = |low: Decimal, high: Decimal, words: String| {
        Some(Stretch {
            from: thousandths(low, end).ok()?,
            to: thousandths(high, end).ok()?,
            words,
        })
    };
    let stated = Spread {
        nominal: most,
        low: least,
        high: most,
    };
    let stated = if least.is_zero() {
        format!("at most {} g", short(most, dose_places(most)))
    } else {
        range(&stated, dose_places(least), "g")
    };
    Some(Range {
        label,
        end: format!("{} g{adult}", short(end, dose_places(end))),
        first: stretch(least, most, format!("{stated}{adult}"))?,
        second: stretch(herb.at_once.low, herb.at_once.high, dose(&herb.at_once))?,
    })
}
