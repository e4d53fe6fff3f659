//! Turns labels and values into two aligned columns.

use super::line::{Ink, Line};
use super::wrap::{self, blanks, columns};

/// The blanks between a label and its value.
const GAP: usize = 3;
/// A value is set beside its label as long as it has this much room.
const ROOM: usize = 16;

/// Sets facts in two columns, or each value under its label where the page is too narrow for that.
pub(super) fn set(facts: &[(String, String)], width: usize) -> Vec<Line> {
    let labels = facts.iter().map(|(label, _)| columns(label)).max();
    let values = facts.iter().map(|(_, value)| columns(value)).max();
    let start = labels.unwrap_or(0).saturating_add(GAP);
    let room = values.unwrap_or(0).min(ROOM);
    if start.saturating_add(room) <= width {
        facts
            .iter()
            .flat_map(|(label, value)| beside(label, value, start, width))
            .collect()
    } else {
        facts
            .iter()
            .flat_map(|(label, value)| beneath(label, value, width))
            .collect()
    }
}

fn beside(label: &str, value: &str, start: usize, width: usize) -> Vec<Line> {
    let room = width.saturating_sub(start);
    let mut lines = wrap::wrap(value, room, room).into_iter();
    let first = lines.next().unwrap_or_default();
    if label.is_empty() && first.is_empty() {
        return Vec::new();
    }
    let gap = blanks(start.saturating_sub(columns(label)));
    let head = format!("{}{gap}{first}", wrap::in_place(label));
    std::iter::once(Line::plain(head))
        .chain(lines.map(|line| Line::plain(line).indented(start)))
        .collect()
}

fn beneath(label: &str, value: &str, width: usize) -> Vec<Line> {
    let indent = 2;
    let room = width.saturating_sub(indent);
    let labels = wrap::wrap(label, width, width).into_iter();
    let values = wrap::wrap(value, room, room).into_iter();
    labels
        .map(|line| Line::new(Ink::Plain, line))
        .chain(values.map(|line| Line::plain(line).indented(indent)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(facts: &[(&str, &str)], width: usize) -> String {
        let facts: Vec<_> = facts
            .iter()
            .map(|(label, value)| (String::from(*label), String::from(*value)))
            .collect();
        let mut out = String::new();
        for line in set(&facts, width) {
            line.print(false, &mut out);
        }
        out
    }

    #[test]
    fn values_line_up_and_hang() {
        assert_eq!(
            printed(
                &[
                    ("For", "after supper, one cup, sipped"),
                    ("Lasts", ""),
                    ("茶", "x")
                ],
                26
            ),
            "For     after supper, one\n        cup, sipped\nLasts\n茶      x\n"
        );
    }

    #[test]
    fn a_narrow_page_sets_values_under_labels() {
        assert_eq!(
            printed(
                &[("Best before", "the end of next spring"), ("Lot", "LB-0412")],
                20
            ),
            "Best before\n  the end of next\n  spring\nLot\n  LB-0412\n"
        );
        assert_eq!(printed(&[("Best before", "June")], 18), "Best before   June\n");
    }

    #[test]
    fn no_facts_no_lines() {
        assert_eq!(printed(&[], 40), "");
        assert_eq!(printed(&[("", "")], 40), "");
    }
}
