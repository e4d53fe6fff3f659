//! Puts amounts, totals, doses and cautions before and after into words that tell the two apart.

use super::{CautionWords, FormulaDifference};
use crate::compare::portrait::Item;
use crate::compare::{Fate, FormulaChange, Pair};
use crate::compute::{Amounts, Totals};
use crate::quantity::print::{dose_places, short, spread, telling_places};
use crate::quantity::{Decimal, Spread};
use crate::render::NoteKind;

/// A figure that was written, before and after: with two decimals, or as many as tell the two apart.
fn written(was: Option<&Spread>, is: Option<&Spread>, unit: &str) -> [Option<String>; 2] {
    let known: Vec<Spread> = [was, is].into_iter().flatten().copied().collect();
    let places = telling_places(&known, 2);
    [was, is].map(|value| value.map(|value| spread(value, places, unit)))
}

/// A figure that follows from others, before and after: with so many decimals, or as many as a small
/// one needs to be seen. What moved by less is not told: it moves whenever anything does.
pub fn reckoned(was: Option<&Spread>, is: Option<&Spread>, unit: &str, least: u32) -> [Option<String>; 2] {
    [was, is].map(|value| {
        value.map(|value| {
            let small = value.nominal.abs() < Decimal::new(1, 1);
            let places = if small { dose_places(value.nominal) } else { least };
            spread(value, places, unit)
        })
    })
}

/// Grams of a dose before and after.
pub fn doses(was: Option<&Spread>, is: Option<&Spread>) -> [Option<String>; 2] {
    reckoned(was, is, "g", 2)
}

/// The amount of an ingredient before and after: reckoned, else as written.
pub fn amounts(pair: &Pair<Item>) -> [Option<String>; 2] {
    let measured = |item: &Option<Item>| item.as_ref().and_then(|item| measured(&item.amounts));
    let (was, is) = (measured(&pair.was), measured(&pair.is));
    let [was, is] = match (was, is) {
        (Some((was, unit)), Some((is, other))) if unit == other => written(Some(&was), Some(&is), unit),
        (was, is) => [was, is].map(|one| {
            let (value, unit) = one?;
            let [alone, _] = written(Some(&value), None, unit);
            alone
        }),
    };
    let in_words = |item: &Option<Item>| item.as_ref().map(|item| item.written.clone());
    [
        was.or_else(|| in_words(&pair.was)),
        is.or_else(|| in_words(&pair.is)),
    ]
}

fn measured(amounts: &Amounts) -> Option<(Spread, &'static str)> {
    let with = |value: Option<Spread>, unit: &'static str| value.map(|value| (value, unit));
    with(amounts.grams, "g")
        .or_else(|| with(amounts.millilitres, "ml"))
        .or_else(|| with(amounts.parts, "parts"))
}

/// What all of it comes to, before and after.
pub fn totals(pair: &Pair<Totals>) -> [String; 2] {
    let of = |get: fn(&Totals) -> Option<Spread>, unit: &str, word: &str| {
        let value = |totals: &Option<Totals>| totals.as_ref().and_then(get).map(|one| one.settled());
        written(value(&pair.was).as_ref(), value(&pair.is).as_ref(), unit)
            .map(|text| text.map(|text| format!("{word}{text}")))
    };
    let all = [
        of(|totals| totals.grams, "g", ""),
        of(|totals| totals.millilitres, "ml", ""),
        of(|totals| totals.parts, "parts", ""),
        of(|totals| totals.volume, "ml", "makes "),
    ];
    let (mut was, mut is) = (Vec::new(), Vec::new());
    for [before, after] in all {
        was.extend(before);
        is.extend(after);
    }
    [was.join(", "), is.join(", ")]
}

/// By how much it differs, with its sign; nothing where it doesn't.
pub fn by_grams(by: Decimal) -> Option<String> {
    let places = telling_places(&[Spread::exact(by)], 2);
    let sign = if by.is_sign_negative() { "-" } else { "+" };
    (!by.is_zero()).then(|| format!("{sign}{} g", short(by.abs(), places)))
}

/// What became of the cautions, a sentence each, the gravest first; one that is only accepted, or no
/// longer, has neither come nor gone.
pub fn cautions(change: &FormulaChange, data: &FormulaDifference) -> Vec<(NoteKind, String)> {
    let same = |one: &CautionWords, other: &CautionWords| {
        (one.level, &one.topic, &one.herb, &one.text) == (other.level, &other.topic, &other.herb, &other.text)
    };
    let one_sided = matches!(change.fate, Fate::Added | Fate::LeftOut);
    let [was_withheld, _] = change.is_withheld;
    let mut said = Vec::new();
    for one in &data.cautions_come {
        let was_there = data.cautions_gone.iter().any(|other| same(one, other));
        let what = match &one.accepted {
            _ if one_sided => "caution",
            // Whether it is new nobody knows.
            _ if was_withheld => "caution now",
            Some(_) if was_there => "caution accepted now",
            None if was_there => "caution no longer accepted",
            _ => "new caution",
        };
        let kind = if one.level == "avoid" {
            NoteKind::Warning
        } else {
            NoteKind::Mind
        };
        said.push((kind, format!("{what}: {}", caution_words(one))));
    }
    if change.fate != Fate::LeftOut {
        let gone = data
            .cautions_gone
            .iter()
            .filter(|one| !data.cautions_come.iter().any(|other| same(one, other)));
        said.extend(gone.map(|one| (NoteKind::Plain, format!("caution gone: {}", caution_words(one)))));
    }
    said
}

/// A caution in one line: how strong, about what, of which herb, and whether it was accepted.
pub fn caution_words(one: &CautionWords) -> String {
    let text = one
        .text
        .as_ref()
        .map(|text| format!(" ({text})"))
        .unwrap_or_default();
    let accepted = match one.accepted.as_deref() {
        None => String::new(),
        Some("") => "; accepted without a reason".to_owned(),
        Some(reason) => format!("; accepted: {reason}"),
    };
    format!("{} {}, {}{text}{accepted}", one.level, one.topic, one.herb)
}
