//! Turns exercises into the answer book that the teacher keeps.

use super::exercises::{across, asked, sort};
use super::sheets::{named, table};
use super::{CLASS, Site};
use crate::compute::batch::Target;
use crate::exercise::Task;
use crate::quantity::print::{self, short};
use crate::render::site::{Link, Part, SitePage};
use crate::render::{Block, Note};

/// The answers, each below its question.
pub(super) fn page(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("Answers", "");
    page.lead = Some(format!(
        "To sheet {} of the exercises. For the teacher: hand out the folder {CLASS} without this one.",
        site.seed
    ));
    page.ways = vec![across(Link::new(site.title(), "index.html"))];
    let mut last = "";
    for (number, exercise) in (1_usize..).zip(site.exercises()) {
        let sort = sort(&exercise.task);
        if sort != last {
            page.parts.push(super::formula::section(sort));
            last = sort;
        }
        let asked = asked(site, number, &exercise).into_iter().map(|part| match part {
            Part::Seen { words, links } => Part::Seen {
                words,
                links: links.into_iter().map(across).collect(),
            },
            other => other,
        });
        let mut parts: Vec<Part> = asked.collect();
        parts.push(Part::Block(Block::Notes(vec![Note::plain(answer(
            site,
            exercise.formula,
            &exercise.task,
        ))])));
        if let Task::Scale { batch, .. } = &exercise.task {
            parts.push(Part::Block(Block::Table(table(site, batch, None))));
        }
        page.parts.push(Part::Together(parts));
    }
    page
}

/// An answer in words.
fn answer(site: &Site<'_>, formula: usize, task: &Task) -> String {
    let composition = site.snapshot.figures.of(formula);
    match task {
        Task::Scale { .. } => {
            "Answer: as in the table; what is left over in rounding went to the lines that lost most."
                .to_owned()
        }
        Task::Part {
            grams,
            line,
            share,
            weight,
        } => {
            let name = composition
                .and_then(|composition| composition.lines.get(*line))
                .map(|line| named(site, &line.taken))
                .unwrap_or_default();
            format!(
                "Answer: {} % of the whole is {name}, and {} g of it is in {} g.",
                short(*share, 1),
                short(*weight, 2),
                short(*grams, 2)
            )
        }
        Task::Cup {
            herb,
            blend,
            share,
            at_once,
            a_day,
        } => {
            let day = a_day
                .map(|day| {
                    format!(
                        "; in a day at the most {} g",
                        short(day.nominal, print::dose_places(day.nominal))
                    )
                })
                .unwrap_or_default();
            format!(
                "Answer: {} g × {} % = {} g of {} in a dose{day}. Spoons differ, so a dose may hold {}.",
                short(blend.nominal, 3),
                short(*share, 2),
                short(at_once.nominal, print::dose_places(at_once.nominal)),
                site.herb(*herb),
                print::range(at_once, print::dose_places(at_once.nominal), "g"),
            )
        }
        Task::Make { plan, .. } => {
            let amount = match plan.target {
                Target::Grams(grams) => format!("{} g", short(grams, 1)),
                Target::Millilitres(volume) => format!("{} ml", short(volume, 1)),
                Target::Times(times) => format!("{} times the formula", short(times, 2)),
                Target::Own => String::new(),
            };
            format!("Answer: {amount}. {}", plan.working.join("; "))
        }
        Task::Mistake {
            batch,
            line,
            wrong,
            slip,
            ..
        } => {
            let right = batch.lines.get(*line);
            let name = right
                .map(|line| named(site, &line.figure.taken))
                .unwrap_or_default();
            let should = right.and_then(|line| line.target).unwrap_or_default();
            format!(
                "Answer: {name}. It says {} g and should say {} g: {}.",
                short(*wrong, 4),
                short(should, 4),
                slip.words()
            )
        }
    }
}
