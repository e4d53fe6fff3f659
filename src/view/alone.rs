//! One file by itself as text to be compared: in the one way of writing, with what can be reckoned from it alone.

use std::fmt::Write;

use super::pictures::percent;
use crate::compare::portrait::{Portrait, portrait};
use crate::naming::folded;
use crate::quantity::print::{spread, telling_places};
use crate::source::Sources;
use crate::syntax;
use crate::syntax::tree::{AmountKind, Body, Entry, Ingredient, Kind, Quantity};
use crate::tidy::{self, Untidied};
use crate::workspace::Snapshot;

/// What stands above a file that is shown as it was written.
const AS_WRITTEN: &str =
    "! this file holds errors of form, so it is shown as it is written: `scruple check` explains them";
const AS_IT_IS: &str = "! this file can't be set in the one way of writing, so it is shown as it is written";

/// The text of a file as it is compared. Figures that need other files are not given, and it says so.
pub fn text(written: &str) -> String {
    let file = Sources::default().add("", written.into());
    let tidied = match tidy::text(file, written) {
        Ok(tidied) => tidied.text,
        Err(Untidied::Slips(_)) => return format!("{AS_WRITTEN}\n{written}"),
        Err(Untidied::WouldSayElse) => return format!("{AS_IT_IS}\n{written}"),
    };
    let (tree, _) = syntax::parse(file, &tidied);
    let formulas: Vec<&Entry> = tree
        .entries
        .iter()
        .filter(|entry| entry.kind == Kind::Formula)
        .collect();
    let weighed: Vec<Option<Vec<&Ingredient>>> = formulas.iter().map(|entry| weighed(entry)).collect();
    let snapshot = reckoned(&tidied, &weighed);
    let mut out = String::new();
    let mut done = 0_usize;
    for (place, (entry, items)) in formulas.iter().zip(&weighed).enumerate() {
        let end = tidied
            .get(entry.span.end_byte()..)
            .and_then(|rest| rest.find('\n'))
            .map_or(tidied.len(), |at| {
                entry.span.end_byte().saturating_add(at).saturating_add(1)
            });
        out.push_str(tidied.get(done..end).unwrap_or_default());
        if !out.ends_with('\n') {
            out.push('\n');
        }
        done = end;
        let figures = items.as_ref().and_then(|items| {
            let at = snapshot.formula(&formula_name(place))?;
            Some((items, portrait(&snapshot, at)?))
        });
        match figures.and_then(|(items, portrait)| lines(items, &portrait)) {
            Some(lines) => out.push_str(&lines),
            None => {
                out.push_str("  = its figures need the rest of the ledger: `scruple compare` gives them\n");
            }
        }
    }
    out.push_str(tidied.get(done..).unwrap_or_default());
    without_inner_blanks(&out)
}

/// The text without blank lines inside entries: they are spacing.
fn without_inner_blanks(text: &str) -> String {
    let mut lines = text.lines().peekable();
    let mut out = String::with_capacity(text.len());
    while let Some(line) = lines.next() {
        let goes_on = lines.peek().is_some_and(|next| next.starts_with(' '));
        if line.is_empty() && goes_on {
            continue;
        }
        out.push_str(line);
        out.push('\n');
    }
    out
}

/// What a formula takes, if every line is weighed in metric grams: such figures lean on no herb, no
/// practice and no other formula.
fn weighed(entry: &Entry) -> Option<Vec<&Ingredient>> {
    let mut items = Vec::new();
    for line in &entry.lines {
        match &line.body {
            Body::Take(taken, 0) => items.extend(taken),
            Body::Adapts(..) | Body::Broken | Body::Take(..) => return None,
            _ => {}
        }
    }
    let all = items.iter().all(|one| {
        let amount = one.amount.as_ref();
        !one.without
            && one.names.len() == 1
            && one.strength.is_none()
            && amount.is_some_and(|amount| {
                !amount.each
                    && !amount.or_enough
                    && matches!(&amount.kind, AmountKind::Quantity(quantity) if is_metric(quantity))
            })
    });
    (all && !items.is_empty()).then_some(items)
}

fn is_metric(quantity: &Quantity) -> bool {
    const GRAMS: [&str; 3] = ["g", "mg", "kg"];
    // In `8 to 10 g` the first number has no unit of its own.
    let known = |unit: &Option<syntax::tree::Name>| {
        unit.as_ref()
            .is_none_or(|unit| GRAMS.contains(&unit.text.as_str()))
    };
    let mut terms = quantity
        .low
        .iter()
        .chain(quantity.high.iter().flatten())
        .peekable();
    terms.peek().is_some()
        && terms.all(|term| known(&term.unit))
        && quantity
            .high
            .as_ref()
            .unwrap_or(&quantity.low)
            .iter()
            .all(|term| term.unit.is_some())
}

fn formula_name(place: usize) -> String {
    format!("blend k{place}k")
}

/// A ledger of these formulas, in which the things that they take bear names that mean nothing else.
fn reckoned(text: &str, formulas: &[Option<Vec<&Ingredient>>]) -> Snapshot {
    let mut ledger = String::new();
    let mut most = 0_usize;
    for (place, items) in formulas.iter().enumerate() {
        let Some(items) = items else { continue };
        let _ = writeln!(ledger, "formula {}\n  take", formula_name(place));
        for (at, item) in items.iter().enumerate() {
            let amount = item.amount.as_ref().map_or("", |amount| {
                text.get(amount.span.first_byte()..amount.span.end_byte())
                    .unwrap_or_default()
            });
            let _ = writeln!(
                ledger,
                "    thing k{at}k   {}",
                amount.split_whitespace().collect::<Vec<_>>().join(" ")
            );
            most = most.max(at.saturating_add(1));
        }
        ledger.push('\n');
    }
    for at in 0..most {
        let _ = writeln!(ledger, "material thing k{at}k\n");
    }
    Snapshot::of([("alone.scruple".to_owned(), ledger.into())])
}

/// Grams and share of each thing; nothing where the reckoning has not all of them.
fn lines(items: &[&Ingredient], portrait: &Portrait) -> Option<String> {
    let total = portrait.totals?.grams?.settled();
    let places = telling_places(&[total], 2);
    let mut out = format!("  = takes {} in all\n", spread(&total, places, "g"));
    for (at, item) in items.iter().enumerate() {
        let wanted = folded(&format!("thing k{at}k"));
        let found = portrait.items.iter().find(|one| folded(&one.name) == wanted)?;
        let grams = found.amounts.grams?;
        let share = found
            .share
            .map(|share| format!(", {}", percent(share)))
            .unwrap_or_default();
        let name = item.names.first()?;
        let places = telling_places(&[grams], 2);
        let _ = writeln!(out, "  = {}: {}{share}", name.text, spread(&grams, places, "g"));
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::text;

    /// 30 g and 20 g are 60 % and 40 % of 50 g; 8 to 10 g has its middle at 9 g: 9 of 10 g are 90 %.
    #[test]
    fn what_is_weighed_is_reckoned_and_the_rest_says_so() {
        let shown = text(
            "formula plain tea\n take\n  sage leaf 30 g\n  thyme herb 0.02 kg # from the loft\n\n\n\
             formula ranged tea\n take\n  sage leaf 8 to 10 g\n  thyme herb 1 g\n\
             formula spooned tea\n take\n  sage leaf 2 teaspoons\n  thyme herb 1 g\n",
        );
        assert!(
            shown.contains("  = takes 50 g in all\n  = sage leaf: 30 g, 60 %\n  = thyme herb: 20 g, 40 %\n"),
            "{shown}"
        );
        assert!(
            shown.contains("  = sage leaf: 9 g (8 to 10 g), 90 %\n"),
            "{shown}"
        );
        assert!(shown.contains("# from the loft"), "{shown}");
        assert_eq!(shown.matches("need the rest of the ledger").count(), 1, "{shown}");
    }

    #[test]
    fn spacing_makes_no_difference_and_an_ounce_is_not_guessed() {
        let one = text("formula t\n take\n  sage leaf 30 g\n");
        assert_eq!(
            one,
            text("formula   t\n\n    take\n        sage leaf      30 g\n")
        );
        assert!(text("formula t\n  take\n    sage leaf   1 ounce\n").contains("need the rest of the ledger"));
    }

    #[test]
    fn a_file_with_slips_is_shown_as_it_is() {
        let shown = text("formula t\n take\n  sage leaf 30,5 g\n");
        assert!(shown.starts_with("! this file holds errors of form"), "{shown}");
        assert!(
            shown.ends_with("formula t\n take\n  sage leaf 30,5 g\n"),
            "{shown}"
        );
    }
}
