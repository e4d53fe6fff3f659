//! Turns the columns of a table and the width of a page into columns that fit.

use super::wrap::{columns, widest_word};
use crate::render::{Align, Column, RowStyle, Table, at_point};

/// Wider text than this wraps before a column of figures is left out.
const COMFORTABLE: usize = 36;
/// Text is wrapped down to this width, or to what its widest word needs if that is more.
const NARROWEST: usize = 10;
/// A wider word than this is cut rather than given more room.
const WIDEST_WORD: usize = 18;
/// The lines of a wrapped cell after its first are set in by this, or they would be read as rows.
pub(super) const HANG: usize = 2;

/// The columns that a page has room for.
pub(super) struct Plan<'a> {
    /// The columns that are printed, each with its final width.
    pub(super) columns: Vec<Measured<'a>>,
    /// The headings that are not, in the order of the table.
    pub(super) left_out: Vec<&'a str>,
    /// The blanks between two columns.
    pub(super) gap: usize,
    /// Whether even the columns that must stay do not fit side by side.
    pub(super) stacked: bool,
}

/// A column and what its cells ask for.
#[derive(Debug, Clone)]
pub(super) struct Measured<'a> {
    pub(super) heading: &'a str,
    pub(super) align: Align,
    /// Which cell of each row stands in this column.
    pub(super) at: usize,
    /// The display columns up to the decimal point, and from it.
    pub(super) point: (usize, usize),
    pub(super) width: usize,
    importance: u8,
    cells: usize,
    word: usize,
}

/// Chooses columns and widths: all of them in full if there is room, else with long text and
/// headings wrapped, else without the least important.
pub(super) fn plan(table: &Table, width: usize) -> Plan<'_> {
    let mut kept = measured(table);
    let mut dropped: Vec<Measured<'_>> = Vec::new();
    let (gap, stacked) = loop {
        let fits = |ask: &dyn Fn(&Measured<'_>) -> usize, gap| total(&kept, ask, gap) <= width;
        let full = |column: &Measured<'_>| column.full();
        if let Some(gap) = [3, 2].into_iter().find(|&gap| fits(&full, gap)) {
            for column in &mut kept {
                column.width = column.full();
            }
            break (gap, false);
        }
        if fits(&|column| column.least(COMFORTABLE), 2) {
            fill(&mut kept, width, 2);
            break (2, false);
        }
        if let Some(least) = least_important(&kept) {
            dropped.push(kept.remove(least));
            continue;
        }
        let stacked = !fits(&|column| column.least(NARROWEST), 2);
        fill(&mut kept, width, 2);
        break (2, stacked);
    };
    dropped.sort_by_key(|column| column.at);
    Plan {
        columns: kept,
        left_out: dropped.into_iter().map(|column| column.heading).collect(),
        gap,
        stacked,
    }
}

impl Measured<'_> {
    /// The width at which neither heading nor cells wrap.
    fn full(&self) -> usize {
        self.cells.max(columns(self.heading))
    }

    /// The least width, if text is given no more than `limit`. Figures never wrap.
    fn least(&self, limit: usize) -> usize {
        match self.align {
            Align::Left => {
                let word = self.word.min(WIDEST_WORD).saturating_add(HANG);
                self.full().min(limit.max(word))
            }
            Align::Right | Align::Decimal => self.cells.max(widest_word(self.heading)),
        }
    }
}

fn measured(table: &Table) -> Vec<Measured<'_>> {
    let rows = || table.rows.iter().filter(|row| row.style != RowStyle::Section);
    let count = rows()
        .map(|row| row.cells.len())
        .max()
        .unwrap_or(0)
        .max(table.columns.len());
    (0..count)
        .map(|at| {
            let cells = rows().filter_map(|row| row.cells.get(at));
            measure(table.columns.get(at), at, cells.map(String::as_str))
        })
        .collect()
}

fn measure<'a>(column: Option<&'a Column>, at: usize, cells: impl Iterator<Item = &'a str>) -> Measured<'a> {
    let mut measured = Measured {
        heading: column.map_or("", |column| column.heading.as_str()),
        align: column.map_or(Align::Left, |column| column.align),
        importance: column.map_or(0, |column| column.importance),
        at,
        point: (0, 0),
        width: 0,
        cells: 0,
        word: 0,
    };
    measured.word = widest_word(measured.heading);
    for cell in cells {
        measured.cells = measured.cells.max(columns(cell));
        measured.word = measured.word.max(widest_word(cell));
        if let (Align::Decimal, Some((before, from))) = (measured.align, at_point(cell)) {
            let (most_before, most_from) = measured.point;
            measured.point = (most_before.max(columns(before)), most_from.max(columns(from)));
        }
    }
    let (before, from) = measured.point;
    measured.cells = measured.cells.max(before.saturating_add(from));
    measured
}

fn total(kept: &[Measured<'_>], ask: &dyn Fn(&Measured<'_>) -> usize, gap: usize) -> usize {
    let gaps = kept.len().saturating_sub(1).saturating_mul(gap);
    kept.iter().map(ask).fold(gaps, usize::saturating_add)
}

/// The column to leave out next: the highest number, and of equals the one furthest to the right.
fn least_important(kept: &[Measured<'_>]) -> Option<usize> {
    kept.iter()
        .enumerate()
        .filter(|(_, column)| column.importance > 0)
        // Of equals this takes the last.
        .max_by_key(|(_, column)| column.importance)
        .map(|(index, _)| index)
}

/// Gives each column its least width, and shares out what is left: to text first, as evenly as its
/// columns can use it, then to headings that come to stand on one line with it.
fn fill(kept: &mut [Measured<'_>], width: usize, gap: usize) {
    for column in kept.iter_mut() {
        column.width = column.least(NARROWEST);
    }
    let mut left = width.saturating_sub(total(kept, &|column| column.width, gap));
    let (mut text, figures): (Vec<_>, Vec<_>) =
        kept.iter_mut().partition(|column| column.align == Align::Left);
    text.sort_by_key(|column| column.full());
    let mut waiting = text.len();
    for column in text {
        let share = left.checked_div(waiting).unwrap_or(0);
        let more = column.full().saturating_sub(column.width).min(share);
        column.width = column.width.saturating_add(more);
        left = left.saturating_sub(more);
        waiting = waiting.saturating_sub(1);
    }
    for column in figures {
        let more = column.full().saturating_sub(column.width);
        if more <= left {
            column.width = column.width.saturating_add(more);
            left = left.saturating_sub(more);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> Table {
        let mut table = Table::new([
            Column::left("herb"),
            Column::decimal("weight"),
            Column::decimal("spread").with_importance(2),
            Column::right("share").with_importance(2),
            Column::left("lot").with_importance(1),
        ]);
        table.row(["marshmallow root", "20.5 g", "± 0.1 g", "41 %", "LB-0412"]);
        table
    }

    fn left_out(width: usize) -> Vec<String> {
        plan(&table(), width)
            .left_out
            .into_iter()
            .map(String::from)
            .collect()
    }

    #[test]
    fn the_least_important_go_first_and_the_rightmost_of_equals() {
        let none: [&str; 0] = [];
        // 16 + 6 + 7 + 5 + 7, and four gaps of 2.
        assert_eq!(left_out(49), none);
        assert_eq!(left_out(48), ["share"]);
        assert_eq!(left_out(41), ["spread", "share"]);
        assert_eq!(left_out(32), ["spread", "share", "lot"]);
        assert_eq!(left_out(2), ["spread", "share", "lot"]);
    }

    #[test]
    fn text_wraps_only_after_the_columns_are_left_out() {
        let table = table();
        let plan = plan(&table, 22);
        let widths: Vec<_> = plan.columns.iter().map(|column| column.width).collect();
        assert_eq!((widths, plan.stacked), (vec![14, 6], false));
    }

    #[test]
    fn what_cannot_stand_side_by_side_is_stacked() {
        // "marshmallow" and its indent, the gap, the weight: 13 + 2 + 6.
        assert!(!plan(&table(), 21).stacked);
        assert!(plan(&table(), 20).stacked);
    }

    #[test]
    fn long_text_wraps_before_figures_go() {
        let mut table = Table::new([
            Column::left("herb"),
            Column::left("why").with_importance(1),
            Column::decimal("weight").with_importance(2),
        ]);
        table.row([
            "fennel seed",
            "rounds off what the bitters leave sharp, and does so without sweetening the cup",
            "20.5 g",
        ]);
        let plan = plan(&table, 60);
        let widths: Vec<_> = plan.columns.iter().map(|column| column.width).collect();
        assert_eq!(widths, [11, 39, 6]);
    }
}
