//! The history of a formula: data for programs, a document for people.

use serde::Serialize;

use super::compare::{FormulaDifference, formula, phrases};
use super::pictures::{percent, through_time};
use super::sheet::Figure;
use super::standing;
use crate::history::{History, Revision};
use crate::quantity::Decimal;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;
use crate::render::{Block, Column, Document, Note, Picture, Table};

/// The history of a formula, as data; `grammar/history.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct FormulaHistory {
    /// The formula's name now.
    pub formula: String,
    /// How many commits were looked through.
    pub commits: usize,
    /// Whether the history is cut off, so that there may be more.
    pub is_shallow: bool,
    /// The revisions that changed what it means, the newest first.
    pub revisions: Vec<RevisionData>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// One revision.
#[derive(Debug, Clone, Serialize)]
pub struct RevisionData {
    /// The commit.
    pub commit: String,
    /// The day of the commit, by the calendar of whoever asks.
    pub day: String,
    /// When it was committed, in seconds since 1970 (UTC).
    pub seconds: i64,
    /// Who wrote it.
    pub author: String,
    /// The first line of its message.
    pub message: String,
    /// What changed.
    pub change: FormulaDifference,
    /// What could not be read in this commit or the one before: what stands there looks as if it were not there.
    pub unread: Vec<String>,
    /// What it was made of afterwards; nothing where it was left out.
    pub after: Option<Vec<SharedBy>>,
}

/// An ingredient at one revision.
#[derive(Debug, Clone, Serialize)]
pub struct SharedBy {
    /// Its name.
    pub name: String,
    /// As written.
    pub written: String,
    /// In grams.
    pub grams: Option<Figure>,
    /// Percent of the total, where all lines are alike.
    pub share: Option<String>,
}

/// Puts the data together; `day_of` turns the seconds of a commit into a day.
pub fn history(
    name: &str,
    history: &History,
    is_shallow: bool,
    day_of: impl Fn(i64) -> String,
) -> FormulaHistory {
    FormulaHistory {
        formula: name.to_owned(),
        commits: history.commits,
        is_shallow,
        revisions: history
            .revisions
            .iter()
            .map(|one| revision(one, day_of(one.commit.seconds)))
            .collect(),
        standing: standing::CAUTIONS,
    }
}

fn revision(one: &Revision, day: String) -> RevisionData {
    RevisionData {
        commit: one.commit.id.clone(),
        day,
        seconds: one.commit.seconds,
        author: one.commit.author.clone(),
        message: one.commit.subject.clone(),
        change: formula(&one.change, &one.entries),
        unread: one.unread.clone(),
        after: one.after.as_ref().map(|portrait| {
            portrait
                .items
                .iter()
                .map(|item| SharedBy {
                    name: item.name.clone(),
                    written: item.written.clone(),
                    grams: item.amounts.grams.as_ref().map(Figure::from),
                    share: item.share.map(|share| digits(to_places(share, 6))),
                })
                .collect()
        }),
    }
}

/// The data as a document.
pub fn document(data: &FormulaHistory, history: &History) -> Document {
    let mut page = Document::new();
    page.title(format!("{}: its history", data.formula));
    page.paragraph(match data.revisions.len() {
        0 => format!("No commit of {} changed what it means.", data.commits),
        1 => format!("One revision in {} commits changed what it means.", data.commits),
        many => format!(
            "{many} revisions in {} commits changed what it means; the newest first.",
            data.commits
        ),
    });
    for (revision, data) in history.revisions.iter().zip(&data.revisions) {
        page.heading(format!("{}, {}", data.day, data.author));
        page.facts([
            ("commit", format!("{} {}", revision.commit.short(), data.message)),
            ("what changed", phrases(&revision.change, &data.change).join("; ")),
        ]);
        let unread = data.unread.iter().map(|why| {
            Note::error(format!(
                "here or in the commit before, {why}; what stands in it looks as if it were not there"
            ))
        });
        if unread.len() > 0 {
            page.notes(unread);
        }
    }
    page.heading("Shares through time");
    page.table(shares(history, data));
    if let Some(picture) = picture(history, data) {
        page.push(Block::Picture(picture));
    }
    if data.is_shallow {
        page.paragraph(
            "This is a shallow clone: what happened before is not here. `git fetch --unshallow` fetches it.",
        );
    }
    page.small_print(standing::paragraph());
    page
}

/// The shares at every revision, the oldest first; nothing where fewer than two have any.
fn picture(history: &History, data: &FormulaHistory) -> Option<Picture> {
    let moments: Vec<(String, Vec<(String, Decimal)>)> = history
        .revisions
        .iter()
        .zip(&data.revisions)
        .rev()
        .filter_map(|(revision, data)| {
            let items = &revision.after.as_ref()?.items;
            // Two lines of one herb are one share.
            let mut shares: Vec<(String, Decimal)> = Vec::new();
            for item in items {
                let share = item.share?;
                match shares.iter_mut().find(|(name, _)| *name == item.name) {
                    Some((_, sum)) => *sum = sum.checked_add(share)?,
                    None => shares.push((item.name.clone(), share)),
                }
            }
            Some((data.day.clone(), shares))
        })
        .collect();
    if moments.len() < 2 {
        return None;
    }
    through_time(&format!("Shares of {} through time", data.formula), &moments).ok()
}

/// How many revisions the table of shares shows side by side.
const SIDE_BY_SIDE: usize = 6;

/// The shares of each ingredient at the newest revisions, the oldest of them first.
fn shares(history: &History, data: &FormulaHistory) -> Table {
    let mut shown: Vec<_> = history
        .revisions
        .iter()
        .zip(&data.revisions)
        .filter_map(|(revision, data)| Some((data.day.clone(), revision.after.as_ref()?)))
        .take(SIDE_BY_SIDE)
        .collect();
    shown.reverse();
    let mut names: Vec<&str> = Vec::new();
    for (_, portrait) in shown.iter().rev() {
        for item in &portrait.items {
            if !names.contains(&item.name.as_str()) {
                names.push(&item.name);
            }
        }
    }
    let newest = shown.len();
    let columns = shown.iter().enumerate().map(|(place, (day, _))| {
        let age = u8::try_from(newest.saturating_sub(place)).unwrap_or(u8::MAX);
        Column::decimal(day).with_importance(age.saturating_sub(1))
    });
    let mut table = Table::new(std::iter::once(Column::left("share of the whole")).chain(columns));
    for name in names {
        let cells = shown.iter().map(|(_, portrait)| {
            let item = portrait.items.iter().find(|item| item.name == name);
            match item {
                None => "-".to_owned(),
                Some(item) => item.share.map_or_else(|| item.written.clone(), percent),
            }
        });
        table.row(std::iter::once(name.to_owned()).chain(cells));
    }
    table
}
