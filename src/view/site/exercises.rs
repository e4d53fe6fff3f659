//! Turns exercises into the page that a class works on.

use super::Site;
use super::lists::capital;
use super::sheets::{named, table};
use crate::compute::Composition;
use crate::exercise::{Exercise, Task};
use crate::quantity::print::short;
use crate::render::site::{Link, Part, SitePage};
use crate::render::{Block, Column, Table};

/// What a sort of exercise is called.
pub(super) fn sort(task: &Task) -> &'static str {
    match task {
        Task::Scale { .. } => "Scale it",
        Task::Part { .. } => "Find the part",
        Task::Cup { .. } => "What is in a cup",
        Task::Make { .. } => "How much to make",
        Task::Mistake { .. } => "Find the mistake",
    }
}

/// What a whole sort of exercise asks for.
fn asks(task: &Task) -> &'static str {
    match task {
        Task::Scale { .. } => {
            "Reckon what to weigh of each. Round to the scales in such a way that the lines add up to the whole."
        }
        Task::Part { .. } => "Reckon a share in percent of the whole, to one decimal, and a weight in grams.",
        Task::Cup { .. } => "Reckon what a dose holds of one herb, and a day at the most that is directed.",
        Task::Make { .. } => "Reckon how much of the blend is needed.",
        Task::Mistake { .. } => {
            "One line of the sheet is wrong; the sum at its foot is that of the right sheet. Which line is it, and what should it say?"
        }
    }
}

/// The exercises with their numbers, sort by sort.
pub(super) fn page(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("Exercises", "");
    page.lead = Some(format!(
        "Sheet {}. Work with the pages of the blends beside you; your teacher has the answers.",
        site.seed
    ));
    let mut last = "";
    for (number, exercise) in (1_usize..).zip(site.exercises()) {
        let sort = sort(&exercise.task);
        if sort != last {
            page.parts.push(super::formula::section(sort));
            page.parts
                .push(Part::Block(Block::Paragraph(asks(&exercise.task).to_owned())));
            last = sort;
        }
        let mut parts = asked(site, number, &exercise);
        parts.push(Part::Blanks(match exercise.task {
            Task::Scale { .. } | Task::Make { .. } => 5,
            Task::Part { .. } | Task::Cup { .. } | Task::Mistake { .. } => 3,
        }));
        page.parts.push(Part::Together(parts));
    }
    if page.parts.is_empty() {
        page.parts.push(Part::Block(Block::Paragraph(
            "No blend of this set can be made into an exercise: they need weights, and more than one herb."
                .to_owned(),
        )));
    }
    page
}

/// The heading and the question of one exercise.
pub(super) fn asked(site: &Site<'_>, number: usize, exercise: &Exercise) -> Vec<Part> {
    let held = site.formulas.iter().find(|held| held.formula == exercise.formula);
    let Some((held, composition)) = held.zip(site.snapshot.figures.of(exercise.formula)) else {
        return Vec::new();
    };
    let mut parts = vec![Part::Under {
        heading: format!("{number}. {}", capital(&held.name)),
        name: format!("exercise-{number}"),
        beside: None,
    }];
    let paragraph = |text: String| Part::Block(Block::Paragraph(text));
    match &exercise.task {
        Task::Scale { grams, .. } => {
            parts.push(Part::Block(Block::Table(written(site, composition))));
            parts.push(paragraph(format!(
                "How much of each do you weigh for {} g, on scales that show {} g?",
                short(*grams, 2),
                short(site.snapshot.ledger.practice.scales.value, 6)
            )));
        }
        Task::Part { grams, line, .. } => {
            let name = composition
                .lines
                .get(*line)
                .map(|line| named(site, &line.taken))
                .unwrap_or_default();
            parts.push(Part::Block(Block::Table(written(site, composition))));
            parts.push(paragraph(format!(
                "What share of the whole is {name}, and how much of it is in {} g?",
                short(*grams, 2)
            )));
        }
        Task::Cup {
            herb, blend, share, ..
        } => {
            let dose = composition.formula.doses.first();
            let dose = dose.map(|dose| site.snapshot.sources.words(dose.dose.span));
            let herb = site.herb(*herb);
            parts.push(paragraph(format!(
                "The dose is {}. A dose takes {} g of the blend, and {} % of the blend is {herb}. How much {herb} is in a dose, and how much in a day at the most?",
                dose.unwrap_or_default(),
                short(blend.nominal, 3),
                short(*share, 2),
            )));
        }
        Task::Make { asked, .. } => {
            let mut facts: Vec<(String, String)> = Vec::new();
            for step in &composition.formula.steps {
                facts.push((
                    step.word.to_owned(),
                    site.snapshot.sources.words(step.preparation.span),
                ));
            }
            for dose in &composition.formula.doses {
                facts.push(("dose".to_owned(), site.snapshot.sources.words(dose.dose.span)));
            }
            parts.push(Part::Block(Block::Facts(facts)));
            parts.push(paragraph(format!("How much do you make for {asked}?")));
        }
        Task::Mistake {
            grams,
            batch,
            line,
            wrong,
            ..
        } => {
            parts.push(paragraph(format!("A sheet for {} g:", short(*grams, 2))));
            parts.push(Part::Block(Block::Table(table(
                site,
                batch,
                Some((*line, *wrong)),
            ))));
        }
    }
    if !matches!(exercise.task, Task::Scale { .. } | Task::Part { .. }) {
        parts.push(Part::Seen {
            words: "Page:".to_owned(),
            links: vec![Site::to(held)],
        });
    }
    parts
}

/// What a formula takes as written, and, where it has a size, what that comes to.
fn written(site: &Site<'_>, composition: &Composition) -> Table {
    let sized = composition.totals.grams;
    let mut columns = vec![Column::left("take"), Column::left("as written")];
    columns.extend(sized.map(|_| Column::decimal("comes to")));
    let mut table = Table::new(columns);
    for line in &composition.lines {
        let mut cells = vec![
            named(site, &line.taken),
            line.taken.written(&site.snapshot.sources),
        ];
        // Of a spoon more digits are shown than the scales have, so that the class reckons with the same.
        cells.extend(
            line.amounts
                .grams
                .filter(|_| sized.is_some())
                .map(|grams| format!("{} g", short(grams.nominal, 4))),
        );
        table.row(cells);
    }
    match (sized, composition.totals.parts) {
        (Some(total), _) => {
            table.total(["in all", "", &format!("{} g", short(total.nominal, 4))]);
        }
        (None, Some(parts)) => {
            table.total(["in all", &format!("{} parts", short(parts.nominal, 4))]);
        }
        (None, None) => {}
    }
    table
}

/// The way from the teacher's folder to a page of the class.
pub(super) fn across(link: Link) -> Link {
    Link::new(link.text, format!("../{}/{}", super::CLASS, link.to))
}
