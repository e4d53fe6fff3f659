//! Turns the data of `doses` into a document: facts, table, picture, remarks, cautions, sources.

use super::facts;
use super::{Bound, DoseCaution, Doses, HerbDose, Parts, name};
use crate::compute::intake::{HerbIntake, Intake};
use crate::quantity::print::{dose, short};
use crate::render::{Column, Document, Note, Table};
use crate::view::bars::{any_for_adults, bars};
use crate::view::standing;

/// The data as a document.
pub fn document(parts: &Parts<'_>, data: &Doses) -> Document {
    let mut page = Document::new();
    page.title(format!("{}: what is in a dose", data.formula));
    page.facts(facts::facts(parts, data));
    // What bears on this person comes before any figure.
    if data.person.is_some() {
        cautions(&mut page, data, &["this person"]);
    }
    if let Ok(intake) = &parts.intake {
        figures(&mut page, parts, intake, data);
    }
    if let Some(why) = &data.child_withheld {
        page.heading("A child's share");
        page.paragraph(why.clone());
    }
    if let Some(child) = &data.child {
        page.heading("A child's share");
        page.paragraph(format!(
            "By {}: {} = {} % of the adult's dose{}. {}",
            child.rule,
            child.working,
            child.share_percent,
            child
                .dose
                .as_ref()
                .map(|dose| format!(", {dose}"))
                .unwrap_or_default(),
            child.mind
        ));
    }
    let notes = notes(data);
    if !notes.is_empty() {
        page.notes(notes);
    }
    cautions(&mut page, data, &["everyone", "not known", "others"]);
    sources(&mut page, data);
    page.small_print(standing::paragraph());
    page
}

/// What of each herb is in a dose: in letters, as a table and as a picture.
fn figures(page: &mut Document, parts: &Parts<'_>, intake: &Intake, data: &Doses) {
    if !data.herbs.is_empty() {
        page.table(if data.drawn_out {
            behind(&intake.herbs, data.herbs.iter().map(|herb| herb.herb.as_str()))
        } else {
            table(intake, data)
        });
    }
    if !intake.behind.is_empty() {
        page.heading(format!("Behind what is drawn out: {}", data.drawn_by.join(", ")));
        page.table(behind(
            &intake.behind,
            data.behind.iter().map(|herb| herb.herb.as_str()),
        ));
    }
    let picture = bars(intake, |place| name(parts.snapshot, place));
    if let Some(picture) = picture.filter(|_| !data.drawn_out) {
        page.heading("A dose against what is stated at once");
        page.picture(picture);
        if any_for_adults(intake) {
            page.paragraph("adult: stated for adults; for this age nothing is stated");
        }
        let remembered: Vec<&str> = data
            .herbs
            .iter()
            .filter(|herb| herb.most_at_once.as_ref().is_some_and(|most| most.from_memory))
            .map(|herb| herb.herb.as_str())
            .collect();
        if !remembered.is_empty() {
            page.paragraph(format!("Stated from memory: {}.", remembered.join(", ")));
        }
    }
}

/// What stands behind a dose of something that is drawn out.
fn behind<'a>(herbs: &[HerbIntake], names: impl Iterator<Item = &'a str>) -> Table {
    let mut table = Table::new([
        Column::left("herb"),
        Column::decimal("behind a dose"),
        Column::decimal("behind a day").with_importance(1),
    ]);
    for (herb, name) in herbs.iter().zip(names) {
        table.row([
            name.to_owned(),
            dose(&herb.at_once),
            herb.a_day.as_ref().map(dose).unwrap_or_default(),
        ]);
    }
    table
}

/// Each herb of a dose, and under it what is stated for it: for whom and whence, in words.
pub(in crate::view) fn table(intake: &Intake, data: &Doses) -> Table {
    let mut table = Table::new([
        Column::left("herb"),
        Column::decimal("in a dose"),
        Column::decimal("in a day").with_importance(1),
        Column::decimal("share").with_importance(5),
    ]);
    for (herb, shown) in intake.herbs.iter().zip(&data.herbs) {
        table.row([
            shown.herb.clone(),
            dose(&herb.at_once),
            herb.a_day.as_ref().map(dose).unwrap_or_default(),
            herb.share
                .map(|share| format!("{} %", short(share, 1)))
                .unwrap_or_default(),
        ]);
        let at_once = at_once(herb, shown);
        let a_day = herb.published.most_a_day.zip(shown.most_a_day.as_ref());
        let a_day = a_day.map(|((most, _), bound)| (format!("{} g", short(most, 6)), whence(&[bound])));
        let rows = match (at_once, a_day) {
            (None, None) => vec![["– nothing is stated".to_owned(), String::new(), String::new()]],
            (Some((once, whence)), Some((day, same))) if whence == same => vec![[whence, once, day]],
            (once, day) => once
                .map(|(once, whence)| [whence, once, String::new()])
                .into_iter()
                .chain(day.map(|(day, whence)| [whence, String::new(), day]))
                .collect(),
        };
        for cells in rows {
            if cells.iter().any(|cell| cell.starts_with("– adult")) {
                // What is not for this age must not be passed over.
                table.row(cells);
            } else {
                table.quiet(cells);
            }
        }
    }
    table
}

/// The stated single dose, and whence it is.
fn at_once(herb: &HerbIntake, shown: &HerbDose) -> Option<(String, String)> {
    let published = &herb.published;
    let (most, _) = published.most_at_once?;
    let figure = match published.least_at_once {
        Some((least, _)) if least != most => format!("{} to {} g", short(least, 6), short(most, 6)),
        _ => format!("{} g", short(most, 6)),
    };
    let bounds: Vec<&Bound> = [&shown.least_at_once, &shown.most_at_once]
        .into_iter()
        .flatten()
        .collect();
    Some((figure, whence(&bounds)))
}

/// For whom figures are stated and whence, where that must not be missed.
fn whence(bounds: &[&Bound]) -> String {
    let adults = if bounds.iter().any(|bound| bound.for_adults) {
        "adult"
    } else {
        "stated"
    };
    let memory = if bounds.iter().any(|bound| bound.from_memory) {
        ", from memory"
    } else {
        ""
    };
    format!("– {adults}{memory}")
}

pub(in crate::view) fn notes(data: &Doses) -> Vec<Note> {
    let mut notes = Vec::new();
    if data.adult_dose_for_a_child {
        notes.push(Note::warning(
            "no dose for this age is written in the formula: the adult's is shown, and a child takes less",
        ));
    }
    if data.drawn_out {
        notes.push(Note::mind(
            "herbs are drawn out into a liquid here: the figures say how much herb stands behind a dose, and published doses of the dried herb are not compared",
        ));
    }
    // The cautions for this person stand above with their words.
    let shown = data
        .findings
        .iter()
        .filter(|one| !one.code.ends_with("-for-this-person"));
    if !data.drawn_out && !data.drawn_by.is_empty() {
        notes.push(Note::mind(format!(
            "{}: drawn out into a liquid, so what it holds is compared with nothing; the table holds what is taken as it is, and that is compared",
            data.drawn_by.join(", ")
        )));
    }
    if !data.unweighed.is_empty() {
        notes.push(Note::mind(format!(
            "without a weight: {}; it is reckoned as if it weighed nothing, so each figure is the most that it can be",
            data.unweighed.join(", ")
        )));
    }
    notes.extend(shown.map(|one| {
        let help = one
            .help
            .as_ref()
            .map(|help| format!("; {help}"))
            .unwrap_or_default();
        let text = format!("{}{help} ({})", one.message, one.code);
        match one.severity {
            "error" => Note::error(text),
            "warning" => Note::warning(text),
            _ => Note::plain(text),
        }
    }));
    notes
}

pub(in crate::view) fn cautions(page: &mut Document, data: &Doses, wanted: &[&str]) {
    let groups = [
        ("this person", "Cautions that bear on this person"),
        ("everyone", "Cautions for everyone"),
        ("not known", "Cautions that can't be told without the age"),
        ("others", "Cautions for others"),
    ];
    for (bears_on, heading) in groups
        .into_iter()
        .filter(|(bears_on, _)| wanted.contains(bears_on))
    {
        let of: Vec<&DoseCaution> = data
            .cautions
            .iter()
            .filter(|one| one.bears_on == bears_on)
            .collect();
        if of.is_empty() {
            if bears_on == "this person" && data.person.is_some() {
                page.heading(heading);
                page.paragraph("None of the stated cautions does.");
            }
            continue;
        }
        // With nobody in particular there are no others.
        let nobody = data.person.is_none() && bears_on == "others";
        page.heading(if nobody {
            "Cautions, for whom they concern"
        } else {
            heading
        });
        page.facts(rows(&of));
    }
}

/// One row for each level and topic.
pub(in crate::view) fn rows(cautions: &[&DoseCaution]) -> Vec<(String, String)> {
    let mut rows: Vec<(String, Vec<String>)> = Vec::new();
    for one in cautions {
        let label = format!("{} {}", one.level, one.topic);
        let mut said = one.herb.clone();
        if let Some(text) = &one.text {
            said = format!("{said}: {text}");
        }
        if let Some(reason) = &one.reason {
            said = format!("{said} (accepted: {reason})");
        } else if one.without_a_reason {
            said = format!("{said} (accepted without a reason, which counts for nothing)");
        }
        if let Some(formula) = &one.accepted_only_in {
            said = format!("{said} (accepted in {formula}, which doesn't hold here)");
        }
        match rows.iter_mut().find(|(known, _)| *known == label) {
            Some((_, herbs)) => herbs.push(said),
            None => rows.push((label, vec![said])),
        }
    }
    rows.into_iter()
        .map(|(label, herbs)| (label, herbs.join("; ")))
        .collect()
}

/// The books behind the figures and cautions, each once, memory marked.
pub(in crate::view) fn sources(page: &mut Document, data: &Doses) {
    let mut seen: Vec<(String, String)> = Vec::new();
    let all = data
        .herbs
        .iter()
        .flat_map(|herb| &herb.sources)
        .chain(data.cautions.iter().filter_map(|one| one.source.as_ref()));
    for source in all {
        if seen.iter().any(|(name, _)| *name == source.name) {
            continue;
        }
        let memory = if source.from_memory { " (from memory)" } else { "" };
        seen.push((source.name.clone(), format!("{}{memory}", source.citation)));
    }
    if !seen.is_empty() {
        page.heading("Sources");
        page.facts(seen);
    }
}
