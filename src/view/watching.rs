//! What changed since the last save, as a document: one calm block a save.

use super::compare;
use crate::compare::entries::{EntryChange, EntryFate};
use crate::compare::{Comparison, Fate, FormulaChange};
use crate::diagnostic::Severity;
use crate::render::{Block, Document, TreeLine};
use crate::watch::{Broken, FileFate, Finding, News, Why};

/// More files than this are counted, not named: a branch switch changes many at once.
const NAMED: usize = 6;
/// More formulas than this are named, and not told one by one.
const TOLD: usize = 12;
/// More findings than this are counted.
const FOUND: usize = 8;

/// What is said beside the news itself.
#[derive(Debug, Default)]
pub struct Beside {
    /// What became of the totals, a line each.
    pub totals: Vec<String>,
    /// What differs from the last commit, where there is one.
    pub since_commit: Option<String>,
}

/// The news as a document.
pub fn document(news: &News, beside: &Beside) -> Document {
    let mut lines = vec![TreeLine::new(0, format!("{}  {}", news.at, files(&news.files)))];
    let mut line = |depth: usize, text: String| lines.push(TreeLine::new(depth, text));
    for one in &news.broken {
        line(1, broken(one));
    }
    let (changes, entries) = (changes(&news.comparison), &news.comparison.entries);
    if changes.len() > TOLD {
        for fate in [Fate::Changed, Fate::Added, Fate::LeftOut, Fate::Renamed] {
            let of_fate: Vec<&FormulaChange> =
                changes.iter().copied().filter(|one| one.fate == fate).collect();
            let count = match of_fate.len() {
                0 => continue,
                1 => "1 formula".to_owned(),
                many => format!("{many} formulas"),
            };
            line(1, format!("{count} {}: {}", fate.words(), named(&of_fate)));
        }
    } else {
        for change in &changes {
            line(1, change.name.clone());
            for phrase in compare::phrases(change, &compare::formula(change, entries)) {
                line(2, phrase);
            }
        }
    }
    let told: Vec<String> = entries.iter().map(entry).collect();
    if !told.is_empty() {
        line(1, told.join("; "));
    }
    for (word, findings) in [("new", &news.come), ("gone", &news.gone)] {
        // Where much came or went at once its notices did, too; what is graver is told all the same.
        let is_told = |one: &&Finding| changes.len() <= TOLD || one.severity > Severity::Notice;
        let shown: Vec<&Finding> = findings.iter().filter(is_told).take(FOUND).collect();
        for finding in &shown {
            line(1, format!("{word}: {}", found(finding)));
        }
        match findings.len().saturating_sub(shown.len()) {
            0 => {}
            all if shown.is_empty() => line(1, format!("{word}: {all} notices; `scruple check` shows all")),
            more => line(1, format!("{word}: {more} more; `scruple check` shows all")),
        }
    }
    if changes.is_empty() && told.is_empty() && news.broken.is_empty() {
        line(1, "nothing that it comes to has changed".to_owned());
    }
    for text in beside.totals.iter().chain(&beside.since_commit) {
        line(1, text.clone());
    }
    line(1, counts(news.counts));
    let mut page = Document::new();
    page.push(Block::Tree(lines));
    page
}

/// How many findings there are, in words.
pub fn counts([errors, warnings, notices]: [usize; 3]) -> String {
    let several = |count: usize, word: &str| match count {
        0 => format!("no {word}s"),
        1 => format!("1 {word}"),
        _ => format!("{count} {word}s"),
    };
    format!(
        "now {}, {}, {}",
        several(errors, Severity::Error.word()),
        several(warnings, Severity::Warning.word()),
        several(notices, Severity::Notice.word())
    )
}

/// A file that is broken, and by which figures it goes on.
pub fn broken(one: &Broken) -> String {
    let what = match one.why {
        Why::Error => "holds an error that withholds figures",
        Why::Empty => "is empty",
    };
    match &one.figures_of {
        Some(at) => format!("{} {what}: its figures of {at} stay, and its totals", one.file),
        None => format!("{} {what}; its totals are left as they are", one.file),
    }
}

/// What differs from the last commit, in one line.
pub fn since_commit(comparison: &Comparison) -> String {
    let changes = changes(comparison);
    let entries = match comparison.entries.len() {
        0 => String::new(),
        1 => "; 1 other entry differs".to_owned(),
        many => format!("; {many} other entries differ"),
    };
    match changes.len() {
        0 => format!("since the last commit: no formula differs{entries}"),
        1 => format!(
            "since the last commit: 1 formula differs: {}{entries}",
            named(&changes)
        ),
        many => format!(
            "since the last commit: {many} formulas differ: {}{entries}",
            named(&changes)
        ),
    }
}

/// The formulas of which more differs than what `check` says of them.
fn changes(comparison: &Comparison) -> Vec<&FormulaChange> {
    comparison
        .formulas
        .iter()
        .filter(|change| change.is_more_than_findings())
        .collect()
}

fn named(changes: &[&FormulaChange]) -> String {
    let names: Vec<&str> = changes
        .iter()
        .take(TOLD)
        .map(|change| change.name.as_str())
        .collect();
    let more = changes.len().saturating_sub(TOLD);
    if more > 0 {
        format!("{} and {more} more", names.join(", "))
    } else {
        names.join(", ")
    }
}

fn files(files: &[(String, FileFate)]) -> String {
    if files.len() > NAMED {
        let fates = [
            (FileFate::Saved, "saved"),
            (FileFate::Came, "new"),
            (FileFate::Went, "gone"),
        ];
        let counted = fates.into_iter().filter_map(|(fate, word)| {
            let count = files.iter().filter(|(_, other)| *other == fate).count();
            (count > 0).then(|| format!("{count} {word}"))
        });
        return format!(
            "{} files: {}",
            files.len(),
            counted.collect::<Vec<_>>().join(", ")
        );
    }
    let said: Vec<String> = files
        .iter()
        .map(|(path, fate)| match fate {
            FileFate::Came => format!("{path} (new)"),
            FileFate::Went => format!("{path} (gone)"),
            FileFate::Saved => path.clone(),
        })
        .collect();
    said.join(", ")
}

fn entry(change: &EntryChange) -> String {
    let name = format!("{} {}", change.kind.word(), change.name);
    let name = name.trim_end();
    match change.fate {
        EntryFate::Came => format!("{name} added"),
        EntryFate::Went => format!("{name} left out"),
        EntryFate::Changed => {
            let lines: Vec<String> = change
                .lines
                .iter()
                .map(|line| match (&line.was, &line.is) {
                    (Some(was), Some(is)) => format!("{} {is}, was {was}", line.label),
                    (Some(was), None) => format!("{} left out, was {was}", line.label),
                    (None, is) => format!("{} {}", line.label, is.as_deref().unwrap_or_default()),
                })
                .collect();
            format!("{name}: {}", lines.join(", "))
        }
    }
}

fn found(one: &Finding) -> String {
    format!(
        "{} {}: {} ({}:{})",
        one.severity.word(),
        one.code,
        one.message,
        one.file,
        one.line
    )
}
