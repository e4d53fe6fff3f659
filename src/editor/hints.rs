//! Turns the lines of a file's formulas into what each comes to: its weight and its share.

use super::{amounts, formulas_of};
use crate::compute::How;
use crate::source::{FileId, Span};
use crate::workspace::Snapshot;

/// A few words behind an amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hint {
    /// The byte behind which it is shown.
    pub at: usize,
    /// What it says.
    pub says: String,
    /// What is said of it when one looks closer.
    pub about: String,
}

/// The hints of a file that lie in a span of it.
pub fn hints(snapshot: &Snapshot, file: FileId, within: Span) -> Vec<Hint> {
    let mut found: Vec<Hint> = Vec::new();
    for (at, formula) in formulas_of(snapshot, file) {
        if formula.entry.end < within.start || within.end < formula.entry.start {
            continue;
        }
        let Some(composition) = snapshot.figures.of(at) else {
            continue;
        };
        let mut lines: Vec<(Span, Vec<String>, String)> = Vec::new();
        for line in &composition.lines {
            let span = line.taken.amount_span;
            // An adaptation has lines that stand in another formula.
            if span.file != file || span.start < formula.entry.start || formula.entry.end < span.end {
                continue;
            }
            let weight = amounts::short(&line.amounts).filter(|_| line.how != How::Weighed);
            let share = line.share.map(amounts::share);
            let said: Vec<String> = weight.into_iter().chain(share).collect();
            if said.is_empty() {
                continue;
            }
            let full = amounts::said(&line.amounts).unwrap_or_default();
            let about = format!("{}: {full}, {}", line.taken.name.text, line.how.words());
            match lines.iter_mut().find(|(other, _, _)| *other == span) {
                Some((_, words, all)) => {
                    let said = said.join(", ");
                    if !words.contains(&said) {
                        words.push(said);
                    }
                    all.push('\n');
                    all.push_str(&about);
                }
                None => lines.push((span, vec![said.join(", ")], about)),
            }
        }
        found.extend(lines.into_iter().map(|(span, words, about)| Hint {
            at: span.end_byte(),
            says: words.join("; "),
            about,
        }));
    }
    found.retain(|hint| within.first_byte() <= hint.at && hint.at <= within.end_byte());
    found
}
