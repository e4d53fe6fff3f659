//! The facts at the head of a page of doses: for whom, which dose, how much of it, how long it lasts.

use super::{DoseLine, Doses, Parts};
use crate::compute::intake::{HerbIntake, Whom};
use crate::quantity::Decimal;
use crate::quantity::print::{count, range, short, spread};

#[expect(
    clippy::too_many_lines,
    reason = "a list of facts in the order they are printed"
)]
pub(in crate::view) fn facts(parts: &Parts<'_>, data: &Doses) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    let mut fact = |label: &str, value: String| facts.push((label.to_owned(), value));
    fact(
        "for",
        data.person
            .clone()
            .unwrap_or_else(|| "nobody in particular: name a person to see what bears on them".to_owned()),
    );
    if let Some(reason) = &data.not_reckoned {
        fact("dose", format!("not reckoned: {reason}"));
    }
    if let Some(dose) = &data.dose {
        fact("dose", format!("{dose}{}", which(parts, data)));
    }
    let several = data.dose_lines.len() > 1;
    for line in data.dose_lines.iter().filter(|line| several && !line.shown) {
        fact("another dose line", other(line));
    }
    if !data.as_needed.is_empty() {
        let names: Vec<String> = data
            .as_needed
            .iter()
            .map(|one| match &one.within {
                Some(within) => format!("{} (in {within})", one.name),
                None => one.name.clone(),
            })
            .collect();
        fact("as needed, not counted", names.join(", "));
    }
    let Ok(intake) = &parts.intake else { return facts };
    if let Some(given) = &data.given {
        fact(
            "given",
            format!("{given}; published doses are for the mouth, so they are not compared"),
        );
    }
    if let Some(blend) = &intake.blend_at_once {
        fact(
            "a dose takes",
            format!("{} of the blend", spread(&blend.settled(), 2, "g")),
        );
    }
    if let Some(volume) = &intake.liquid_at_once {
        fact("a dose takes", spread(&volume.settled(), 2, "ml"));
    }
    if let Some(cup) = intake.blend_a_cup.as_ref().filter(|_| !intake.drawn_out) {
        fact(
            "a cup takes",
            format!("{} of the blend", spread(&cup.settled(), 2, "g")),
        );
    }
    if let Some(strength) = intake.grams_in_100_ml.as_ref().filter(|_| !intake.drawn_out) {
        fact(
            "strength",
            format!("{} to 100 ml of water", spread(&strength.settled(), 2, "g")),
        );
    }
    for (one, shown) in intake.bought.iter().zip(&data.bought) {
        let day = one
            .a_day
            .as_ref()
            .map(|day| format!(", {} in a day", spread(day, 2, "ml")))
            .unwrap_or_default();
        fact(
            "bought ready-made",
            format!(
                "{} {} in a dose{day}; what it holds of {} is not reckoned",
                shown.name,
                spread(&one.at_once, 2, "ml"),
                shown.made_of
            ),
        );
    }
    if let Some(times) = &intake.times {
        let often = if times.is_exact() {
            count(times.nominal, 1, "times")
        } else {
            format!("{}, reckoned at the most", range(times, 1, "times"))
        };
        fact("a day", often);
    }
    if let Some(held) = &intake.doses_held {
        fact("its own size holds", spread(&held.settled(), 1, "doses"));
    }
    if let Some(days) = &intake.lasts_days {
        let two = days
            .proportion(Decimal::ONE, Decimal::TWO)
            .map(|two| two.settled());
        let two = two
            .map(|two| format!("; two for {}", spread(&two, 1, "days")))
            .unwrap_or_default();
        fact(
            "lasts",
            format!("one person for {}{two}", spread(&days.settled(), 1, "days")),
        );
    }
    if !data.nothing_stated.is_empty() {
        fact("no dose is stated for", data.nothing_stated.join(", "));
    }
    // What is taken as it is and drawn out as well is named once.
    let only_behind = |herb: &&HerbIntake| intake.herbs.iter().all(|one| one.substance != herb.substance);
    let longest: Vec<String> = intake
        .herbs
        .iter()
        .chain(intake.behind.iter().filter(only_behind))
        .filter_map(|herb| {
            let (days, line) = herb.published.most_days?;
            let name = parts
                .snapshot
                .ledger
                .substances
                .get(herb.substance)?
                .name
                .as_str();
            let memory = if herb.published.is_from_memory(line) {
                " (from memory)"
            } else {
                ""
            };
            Some(format!("{name} {}{memory}", count(days, 1, "days")))
        })
        .collect();
    if !longest.is_empty() {
        fact("longest use stated", longest.join(", "));
    }
    if !data.natures.is_empty() {
        let said: Vec<String> = data
            .natures
            .iter()
            .map(|nature| {
                format!(
                    "{} {} %",
                    nature.word,
                    nature
                        .percent
                        .parse::<Decimal>()
                        .map(|percent| short(percent, 0))
                        .unwrap_or_default()
                )
            })
            .collect();
        fact(
            "by tradition",
            format!("{} of its weight (traditional knowledge)", said.join(", ")),
        );
    }
    facts
}

/// Which of several dose lines the figures are for, and that the others are looked at as well.
fn which(parts: &Parts<'_>, data: &Doses) -> String {
    if data.dose_lines.len() < 2 {
        return String::new();
    }
    let Ok(intake) = &parts.intake else {
        return String::new();
    };
    let why = match (intake.whom, &intake.dose.age) {
        (Whom::Years(_), Some(_)) => "the line for this age",
        (_, Some(_)) => "no line is for grown-ups",
        _ if data.dose_lines.iter().filter(|line| line.ages.is_none()).count() > 1 => {
            "of the lines for no age in particular the one that gives most in a day"
        }
        _ => "the line for no age in particular",
    };
    format!(" ({why}; every line is compared, each by itself: they are not added)")
}

/// A dose line that the table does not show.
fn other(line: &DoseLine) -> String {
    let text = &line.dose;
    if let Some(reason) = &line.not_reckoned {
        return format!("{text}: not reckoned, {reason}");
    }
    let amount = |figure: &Option<super::Figure>, unit: &str| {
        let nominal = figure.as_ref()?.nominal.parse::<Decimal>().ok()?;
        Some(format!("{text}: {} {unit}", short(nominal, 2)))
    };
    amount(&line.blend_at_once, "g of the blend at once")
        .or_else(|| amount(&line.liquid_at_once, "ml at once"))
        .unwrap_or_else(|| text.clone())
}
