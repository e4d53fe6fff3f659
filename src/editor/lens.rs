//! Turns each formula of a file into the line above it: what it comes to, cups, findings.

use super::formulas_of;
use crate::compute::intake;
use crate::quantity::{Spread, print};
use crate::source::{FileId, Span};
use crate::workspace::Snapshot;

/// A line above a formula.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lens {
    /// The formula's first line.
    pub head: Span,
    /// What it says.
    pub says: String,
}

/// The lines above the formulas of a file.
pub fn lenses(snapshot: &Snapshot, file: FileId) -> Vec<Lens> {
    formulas_of(snapshot, file)
        .map(|(at, formula)| {
            let mut says: Vec<String> = Vec::new();
            match snapshot.figures.of(at) {
                Some(composition) => {
                    let totals = &composition.totals;
                    let size = |spread: Option<Spread>, places: u32, unit: &str| {
                        spread.map(|spread| print::spread(&spread.settled(), places, unit))
                    };
                    says.extend(size(totals.grams, 2, "g"));
                    says.extend(size(totals.millilitres, 2, "ml"));
                    says.extend(size(totals.parts, 2, "parts"));
                    says.extend(size(totals.volume, 1, "ml").map(|made| format!("makes {made}")));
                    says.extend(held(snapshot, at));
                }
                None => says.push("no figures: an error withholds them".to_owned()),
            }
            let count = snapshot
                .diagnostics
                .iter()
                .filter(|finding| {
                    finding.span.file == file
                        && formula.entry.start <= finding.span.start
                        && finding.span.start <= formula.entry.end
                })
                .count();
            says.push(match count {
                0 => "no findings".to_owned(),
                1 => "1 finding".to_owned(),
                several => format!("{several} findings"),
            });
            Lens {
                head: formula.head,
                says: says.join(" · "),
            }
        })
        .collect()
}

/// How many cups, or else doses, the formula's own size holds.
fn held(snapshot: &Snapshot, at: usize) -> Option<String> {
    let (ledger, faults, figures) = (&snapshot.ledger, &snapshot.faults, &snapshot.figures);
    let intake = intake::intake(ledger, faults, figures, at, None, false).ok()?;
    let count = |held: Option<Spread>, word: &str| Some(print::spread(&held?.settled(), 1, word));
    count(intake.cups_held, "cups").or_else(|| count(intake.doses_held, "doses"))
}
