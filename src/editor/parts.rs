//! Turns the parts of a formula that has a size into grams, and grams into parts; every result is
//! read again and must come to the same figures.

use super::{formula_at, same};
use crate::diagnostic::Edit;
use crate::model::{Formula, Portion, Taken, TakenAmount};
use crate::quantity::{Decimal, Spread, print, rounding};
use crate::source::Span;
use crate::syntax::tree::{Entry, Line};
use crate::workspace::Snapshot;

/// Nobody weighs by more digits than this many behind the point.
const MOST_PLACES: u32 = 6;
/// A line of more parts than this is no simpler than its grams.
const MOST_PARTS: u32 = 200;

/// Whether parts of this formula may be turned into grams.
pub fn has_sized_parts(snapshot: &Snapshot, formula: &Formula) -> bool {
    let parts = |taken: &Taken| matches!(taken.amount, Some(TakenAmount::Portion(Portion::Parts(_))));
    formula.adapts.is_none()
        && formula.taken.iter().any(parts)
        && formula_at(snapshot, formula.head)
            .and_then(|at| snapshot.figures.of(at))
            .is_some_and(|composition| composition.totals.grams.is_some())
}

/// Whether grams of this formula may be turned into parts.
pub fn has_grams_only(formula: &Formula) -> bool {
    formula.adapts.is_none()
        && formula.one_part.is_none()
        && formula.taken.len() > 1
        && formula.taken.iter().all(|taken| grams(taken).is_some())
}

/// The edits that write every part of a formula in grams, at the size that its parts have.
///
/// # Errors
/// In plain words, why that can't be done.
pub fn into_grams(snapshot: &Snapshot, entry: &Entry, formula: &Formula) -> Result<Vec<Edit>, String> {
    let composition = formula_at(snapshot, formula.head)
        .and_then(|at| snapshot.figures.of(at))
        .ok_or("an error withholds the figures of this formula: mend it first")?;
    let mut edits: Vec<Edit> = Vec::new();
    let mut one_part = formula.one_part.as_ref().map(|stated| stated.value.nominal);
    for line in &composition.lines {
        let taken = &line.taken;
        let Some(TakenAmount::Portion(Portion::Parts(count))) = &taken.amount else {
            continue;
        };
        let grams = line
            .amounts
            .grams
            .filter(Spread::is_exact)
            .map(|grams| rounding::settled(grams.nominal))
            .filter(|grams| grams.scale() <= MOST_PLACES)
            .ok_or_else(|| {
                format!(
                    "{} does not come to a round weight at this size, so parts say it better",
                    taken.name.text
                )
            })?;
        one_part = one_part.or_else(|| rounding::quotient(grams, count.nominal).ok());
        let written = snapshot.sources.text(taken.amount_span);
        if written.contains(':') || written.contains("equal") {
            return Err("give each herb a line of its own first".to_owned());
        }
        let text = format!("{}{} g", each(taken), print::digits(grams));
        put(&mut edits, taken.amount_span, text);
    }
    for taken in &formula.taken {
        if let (Some(TakenAmount::EnoughTo(Portion::Parts(total))), Some(part)) = (&taken.amount, one_part) {
            let grams = total
                .nominal
                .checked_mul(part)
                .ok_or("this comes to too large a number")?;
            put(
                &mut edits,
                taken.amount_span,
                format!("q.s. to {} g", print::digits(grams)),
            );
        }
    }
    let sized_by = entry.lines.iter().find(|line| line.word.text == "one part");
    edits.extend(sized_by.map(|line| taken_out(snapshot, line)));
    checked(snapshot, edits)
}

/// The edits that write every weight of a formula in parts of a size that is a whole number of times in each.
///
/// # Errors
/// In plain words, why that can't be done.
pub fn into_parts(snapshot: &Snapshot, entry: &Entry, formula: &Formula) -> Result<Vec<Edit>, String> {
    let all: Vec<Decimal> = formula.taken.iter().filter_map(grams).collect();
    let size = common(&all).ok_or("these weights have no part in common")?;
    let mut edits: Vec<Edit> = Vec::new();
    for taken in &formula.taken {
        let Some(count) = grams(taken).and_then(|grams| rounding::quotient(grams, size).ok()) else {
            continue;
        };
        if count > Decimal::from(MOST_PARTS) {
            return Err(
                "the weights have only a very small part in common, so grams say it better".to_owned(),
            );
        }
        let word = if count == Decimal::ONE { "part" } else { "parts" };
        let text = format!("{}{} {word}", each(taken), print::digits(count));
        put(&mut edits, taken.amount_span, text);
    }
    let take = entry
        .lines
        .iter()
        .find(|line| line.word.text == "take")
        .ok_or("nothing is taken")?;
    let text = &snapshot
        .sources
        .get(take.span.file)
        .ok_or("the file is gone")?
        .text;
    let below = super::amounts::line_end(text, take.span.end_byte());
    edits.push(Edit {
        span: Span::new(take.span.file, below, below),
        text: format!("\n  one part     {} g", print::digits(size)),
    });
    checked(snapshot, edits)
}

fn each(taken: &Taken) -> &'static str {
    if taken.each { "of each " } else { "" }
}

/// Names that share an amount share its edit.
fn put(edits: &mut Vec<Edit>, span: Span, text: String) {
    if !edits.iter().any(|edit| edit.span == span) {
        edits.push(Edit { span, text });
    }
}

fn grams(taken: &Taken) -> Option<Decimal> {
    match &taken.amount {
        Some(TakenAmount::Portion(Portion::Grams(grams))) if grams.is_exact() => Some(grams.nominal),
        _ => None,
    }
}

/// The largest weight that is a whole number of times in each.
fn common(all: &[Decimal]) -> Option<Decimal> {
    let mut found = *all.first()?;
    for other in all {
        let (mut large, mut small) = (found.max(*other), found.min(*other));
        while !small.is_zero() {
            let rest = large.checked_rem(small)?;
            (large, small) = (small, rest);
        }
        found = large;
    }
    (!found.is_zero()).then(|| rounding::settled(found))
}

/// The edit that takes a line out, with its end.
fn taken_out(snapshot: &Snapshot, line: &Line) -> Edit {
    let text = snapshot
        .sources
        .get(line.span.file)
        .map_or("", |source| &source.text);
    let start = super::amounts::line_start(text, line.span.first_byte());
    let end = super::amounts::line_end(text, line.span.end_byte());
    Edit {
        span: Span::new(line.span.file, start, end.saturating_add(1).min(text.len())),
        text: String::new(),
    }
}

/// The edits, if the ledger comes to the same with them.
pub fn checked(snapshot: &Snapshot, edits: Vec<Edit>) -> Result<Vec<Edit>, String> {
    let after = same::after(snapshot, &edits);
    if let Some(finding) = same::new_finding(snapshot, &after) {
        return Err(format!("nothing is changed, for then {}", finding.message));
    }
    if same::figures_are_the_same(snapshot, &after) {
        Ok(edits)
    } else {
        Err("nothing is changed, for the formula would come to something else".to_owned())
    }
}
