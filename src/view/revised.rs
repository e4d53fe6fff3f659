//! From which revision of its formula a batch was made, and what changed since, as data and a document.

use serde::Serialize;

use super::standing;
use crate::history::History;
use crate::render::{Column, Document, Note, Table};
use crate::revision::git::Commit;

/// A revision in which the meaning of a formula changed.
#[derive(Debug, Clone, Serialize)]
pub struct RevisionOf {
    /// The commit.
    pub commit: String,
    /// Its day, by the calendar of whoever asks.
    pub day: String,
    /// Who wrote it.
    pub author: String,
    /// The first line of its message.
    pub subject: String,
}

/// What `trace BATCH --revision --as json` prints; `grammar/revised.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct RevisedReport {
    /// The batch.
    pub batch: String,
    /// The revision that held at the end of its day; nothing where the history begins later.
    pub made_from: Option<RevisionOf>,
    /// Those that changed the formula since, the newest first.
    pub changed_since: Vec<RevisionOf>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// Puts a report together; `told` says of a commit whether it was there at the end of the batch's day,
/// and its own day.
pub fn report(batch: &str, history: &History, told: impl Fn(&Commit) -> (bool, String)) -> RevisedReport {
    let mut report = RevisedReport {
        batch: batch.to_owned(),
        made_from: None,
        changed_since: Vec::new(),
        standing: standing::CAUTIONS,
    };
    for revision in &history.revisions {
        let (was_there, day) = told(&revision.commit);
        let one = RevisionOf {
            commit: revision.commit.short().to_owned(),
            day,
            author: revision.commit.author.clone(),
            subject: revision.commit.subject.clone(),
        };
        if was_there {
            report.made_from = Some(one);
            break;
        }
        report.changed_since.push(one);
    }
    report
}

/// The report as a document.
pub fn document(report: &RevisedReport) -> Document {
    let mut page = Document::new();
    page.title(format!("The formula of {}", report.batch));
    let said = |one: &RevisionOf| format!("{} of {}: {} ({})", one.commit, one.day, one.subject, one.author);
    page.facts([(
        "made from",
        report.made_from.as_ref().map_or_else(
            || "the history has no revision of it up to that day".to_owned(),
            said,
        ),
    )]);
    if report.changed_since.is_empty() {
        page.paragraph("It has not changed since.");
    } else {
        page.heading("What changed it since");
        let mut table = Table::new([
            Column::left("day"),
            Column::left("commit"),
            Column::left("who").with_importance(1),
            Column::left("what"),
        ]);
        for one in &report.changed_since {
            table.row([
                one.day.clone(),
                one.commit.clone(),
                one.author.clone(),
                one.subject.clone(),
            ]);
        }
        page.table(table);
        page.notes([Note::mind(
            "targets, doses and cautions that are shown for this batch are those of the formula as it is now: `scruple compare --from DAY` shows what differs",
        )]);
    }
    page.small_print(standing::paragraph());
    page
}
