//! Turns a table into lines: a rule under the headings, one above the totals, and nothing else drawn.

use super::fit::{self, HANG, Measured, Plan};
use super::line::{Ink, Line};
use super::wrap::{self, blanks, columns};
use super::{Page, facts};
use crate::render::{Align, Row, RowStyle, Table, at_point};

/// Sets a table within the width of the page.
pub(super) fn set(table: &Table, page: &Page) -> Vec<Line> {
    let plan = fit::plan(table, page.width);
    if plan.columns.is_empty() {
        return sections_only(table, page);
    }
    let mut lines = if plan.stacked {
        Vec::new()
    } else {
        headings(&plan, page)
    };
    if table.rows.is_empty() {
        if plan.stacked {
            lines = stacked_headings(&plan, page);
        }
        lines.push(Line::plain("none"));
    }
    let mut above: Option<RowStyle> = None;
    for row in &table.rows {
        match row.style {
            RowStyle::Section if above.is_some() => lines.push(Line::empty()),
            // Totals that follow each other share one rule; the first row is under one already.
            RowStyle::Total if above.is_some_and(|above| above != RowStyle::Total) => {
                lines.push(Line::rule(plan.width(page), page.unicode));
            }
            _ => {}
        }
        lines.extend(if row.style == RowStyle::Section {
            section(row, page)
        } else if plan.stacked {
            stacked_row(row, &plan, page)
        } else {
            cells(row, &plan)
        });
        above = Some(row.style);
    }
    lines.extend(left_out(&plan, page));
    lines
}

impl Plan<'_> {
    /// The display columns of the whole table.
    fn width(&self, page: &Page) -> usize {
        if self.stacked {
            return page.measure();
        }
        let gaps = self.columns.len().saturating_sub(1).saturating_mul(self.gap);
        self.columns
            .iter()
            .map(|column| column.width)
            .fold(gaps, usize::saturating_add)
    }
}

fn ink(style: RowStyle) -> Ink {
    match style {
        RowStyle::Plain => Ink::Plain,
        RowStyle::Total | RowStyle::Section => Ink::Bold,
        RowStyle::Quiet => Ink::Dim,
    }
}

fn headings(plan: &Plan<'_>, page: &Page) -> Vec<Line> {
    let set = plan.columns.iter().map(|column| {
        let lines = wrap::wrap(column.heading, column.width, column.width);
        let aligned = lines.iter().map(|line| match column.align {
            Align::Left => flush_left(line, column.width),
            Align::Right | Align::Decimal => flush_right(line, column.width),
        });
        aligned.collect::<Vec<_>>()
    });
    let mut set: Vec<_> = set.collect();
    let height = set.iter().map(Vec::len).max().unwrap_or(0);
    if height == 0 {
        return Vec::new();
    }
    // A short heading stands on the rule, beside the last line of a long one.
    for lines in &mut set {
        let missing = height.saturating_sub(lines.len());
        lines.splice(0..0, std::iter::repeat_n(String::new(), missing));
    }
    let mut lines = side_by_side(&set, plan, Ink::Plain);
    lines.push(Line::rule(plan.width(page), page.unicode));
    lines
}

fn cells(row: &Row, plan: &Plan<'_>) -> Vec<Line> {
    let set = plan.columns.iter().map(|column| {
        let cell = row.cells.get(column.at).map_or("", String::as_str);
        match column.align {
            Align::Left => wrapped(cell, column.width),
            Align::Right => vec![flush_right(cell, column.width)],
            Align::Decimal => vec![on_the_point(cell, column)],
        }
    });
    side_by_side(&set.collect::<Vec<_>>(), plan, ink(row.style))
}

/// Wraps a cell with a hanging indent.
fn wrapped(cell: &str, width: usize) -> Vec<String> {
    let hang = if columns(cell) > width { HANG } else { 0 };
    let rest = width.saturating_sub(hang);
    wrap::wrap(cell, width, rest)
        .iter()
        .enumerate()
        .map(|(at, line)| match at {
            0 => flush_left(line, width),
            _ => blanks(hang) + &flush_left(line, rest),
        })
        .collect()
}

/// Joins the lines of each column, one column beside the other.
fn side_by_side(set: &[Vec<String>], plan: &Plan<'_>, ink: Ink) -> Vec<Line> {
    let height = set.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let gap = blanks(plan.gap);
    let line = |at: usize| {
        let pieces = plan.columns.iter().zip(set).map(|(column, lines)| {
            let piece = lines.get(at).filter(|piece| !piece.is_empty());
            piece.cloned().unwrap_or_else(|| blanks(column.width))
        });
        Line::new(ink, pieces.collect::<Vec<_>>().join(&gap))
    };
    (0..height).map(line).collect()
}

fn flush_left(text: &str, width: usize) -> String {
    let after = blanks(width.saturating_sub(columns(text)));
    format!("{}{after}", wrap::in_place(text))
}

fn flush_right(text: &str, width: usize) -> String {
    let before = blanks(width.saturating_sub(columns(text)));
    format!("{before}{}", wrap::in_place(text))
}

/// Sets a cell so that its decimal point comes under those of the other cells.
///
/// A cell without a number ends where a whole number ends, as a dash for "nothing" should; one that
/// is too wide for that is flush right.
fn on_the_point(cell: &str, column: &Measured<'_>) -> String {
    let (before, from) = column.point;
    let point = column.width.saturating_sub(from);
    let own = match at_point(cell) {
        Some((own, _)) => columns(own),
        None if columns(cell) <= before => columns(cell),
        None => return flush_right(cell, column.width),
    };
    let text = format!("{}{}", blanks(point.saturating_sub(own)), wrap::in_place(cell));
    let after = blanks(column.width.saturating_sub(columns(&text)));
    format!("{text}{after}")
}

fn section(row: &Row, page: &Page) -> Vec<Line> {
    let text = row.cells.join(" ");
    wrap::wrap(&text, page.width, page.width)
        .into_iter()
        .map(|line| Line::new(ink(RowStyle::Section), line))
        .collect()
}

/// Sets a row as a small list: its first cell, and the others under it beside their headings.
fn stacked_row(row: &Row, plan: &Plan<'_>, page: &Page) -> Vec<Line> {
    let cell = |column: &Measured<'_>| row.cells.get(column.at).cloned().unwrap_or_default();
    let mut kept = plan.columns.iter();
    let first = kept.next().map(cell).unwrap_or_default();
    let facts: Vec<_> = kept
        .map(|column| (String::from(column.heading), cell(column)))
        .filter(|(_, value)| !value.is_empty())
        .collect();
    let indent = 2;
    wrapped(&first, page.width)
        .into_iter()
        .map(|line| Line::new(ink(row.style), line))
        .chain(
            facts::set(&facts, page.width.saturating_sub(indent))
                .into_iter()
                .map(|line| line.indented(indent)),
        )
        .collect()
}

fn stacked_headings(plan: &Plan<'_>, page: &Page) -> Vec<Line> {
    let named = plan.columns.iter().map(|column| column.heading);
    let named: Vec<_> = named.filter(|heading| !heading.is_empty()).collect();
    wrap::wrap(&named.join(", "), page.width, page.width)
        .into_iter()
        .map(Line::plain)
        .chain(std::iter::once(Line::rule(plan.width(page), page.unicode)))
        .collect()
}

fn sections_only(table: &Table, page: &Page) -> Vec<Line> {
    let rows = table.rows.iter();
    rows.flat_map(|row| section(row, page)).collect()
}

/// Says in words which columns the page has no room for.
fn left_out(plan: &Plan<'_>, page: &Page) -> Vec<Line> {
    if plan.left_out.is_empty() {
        return Vec::new();
    }
    let named = plan.left_out.iter().map(|heading| match *heading {
        "" => "a column without a heading",
        heading => heading,
    });
    let named = named.collect::<Vec<_>>().join(", ");
    let width = page.measure();
    let text = format!("left out at this width: {named}");
    std::iter::once(Line::empty())
        .chain(
            wrap::wrap(&text, width, width)
                .into_iter()
                .map(|line| Line::new(Ink::Dim, line)),
        )
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::{Column, Document, text};

    fn table_at(width: usize, table: Table) -> String {
        let page = Page {
            width,
            ..Page::default()
        };
        text::print(Document::new().table(table), &page)
    }

    /// The display column at which a text begins on the line that holds it.
    fn column_of(page: &str, text: &str) -> Option<usize> {
        let (before, _) = page.split_once(text)?;
        before.lines().last().map(columns)
    }

    #[test]
    fn decimals_line_up_at_the_point_of_the_first_number() {
        let mut table = Table::new([Column::decimal("a day"), Column::left("of")]);
        for amount in ["1.5 to 2 g", "12 g", "0.25 g", "–", "as needed", "100"] {
            table.row([amount, "mint"]);
        }
        assert_eq!(
            table_at(80, table),
            "\
\x20      a day   of
───────────────────
  1.5 to 2 g   mint
 12 g          mint
  0.25 g       mint
  –            mint
   as needed   mint
100            mint
"
        );
    }

    #[test]
    fn wide_and_combining_characters_keep_the_columns() {
        let mut table = Table::new([Column::left("herb"), Column::right("weight")]);
        table
            .row(["紅茶", "1 g"])
            .row(["cafe\u{301}", "2 g"])
            .row(["mint", "3 g"]);
        assert_eq!(
            table_at(80, table),
            "\
herb   weight
─────────────
紅茶      1 g
cafe\u{301}      2 g
mint      3 g
"
        );
    }

    #[test]
    fn right_to_left_text_keeps_the_columns() {
        let mut table = Table::new([Column::left("herb"), Column::decimal("weight")]);
        table.row(["נענע", "12.5 g"]).row(["mint", "3 g"]);
        let page = table_at(80, table);
        // Marks on both sides, so that the figure stays to the right of the name.
        assert!(page.contains("\u{200e}נענע\u{200e}   12.5 g\n"), "{page}");
        assert_eq!(column_of(&page, "12.5"), Some(7));
        assert_eq!(column_of(&page, "3 g"), Some(8));
    }

    #[test]
    fn a_column_without_heading_is_left_out_in_words_too() {
        let mut table = Table::new([Column::right("weight"), Column::right("").with_importance(1)]);
        table.row(["1 g", "of a great many things, I fear"]);
        assert_eq!(
            table_at(20, table),
            "\
weight
──────
   1 g

left out at this
width: a column
without a heading
"
        );
    }

    #[test]
    fn a_wrapped_cell_hangs_so_that_it_is_not_read_as_a_row() {
        let mut table = Table::new([Column::left("herb"), Column::decimal("target")]);
        table
            .row(["peppermint leaf, cut", "60 g"])
            .row(["fennel", "2.5 g"]);
        assert_eq!(
            table_at(24, table),
            "\
herb              target
────────────────────────
peppermint leaf,  60 g
  cut
fennel             2.5 g
"
        );
    }

    #[test]
    fn columns_that_must_stay_are_stacked_when_nothing_else_helps() {
        let mut table = Table::new([
            Column::left("herb"),
            Column::decimal("target"),
            Column::decimal("running"),
        ]);
        table
            .row(["marshmallow root", "60.0 g", "160.0 g"])
            .section("By the spoon")
            .quiet(["fennel", "2 g", ""])
            .total(["together", "", "162.0 g"]);
        assert_eq!(
            table_at(20, table),
            "\
marshmallow root
  target    60.0 g
  running   160.0 g

By the spoon
fennel
  target   2 g
────────────────────
together
  running   162.0 g
"
        );
    }

    #[test]
    fn totals_that_follow_each_other_share_a_rule() {
        let mut table = Table::new([Column::left(""), Column::right("")]);
        table
            .row(["mint", "2 g"])
            .total(["by weight", "2 g"])
            .total(["by measure", "5 ml"]);
        assert_eq!(
            table_at(80, table),
            "\
mint          2 g
─────────────────
by weight     2 g
by measure   5 ml
"
        );
    }

    #[test]
    fn a_total_that_comes_first_is_under_one_rule_only() {
        let mut table = Table::new([Column::left("herb"), Column::right("weight")]);
        table.total(["together", "0 g"]);
        assert_eq!(
            table_at(80, table),
            "herb       weight\n─────────────────\ntogether      0 g\n"
        );
    }

    #[test]
    fn an_empty_table_says_so() {
        let empty = || Table::new([Column::left("herb"), Column::right("weight")]);
        assert_eq!(table_at(80, empty()), "herb   weight\n─────────────\nnone\n");
        assert_eq!(table_at(11, empty()), "herb,\nweight\n───────────\nnone\n");
        assert_eq!(table_at(80, Table::default()), "");
    }

    #[test]
    fn cells_beyond_the_last_column_are_not_lost() {
        let mut table = Table::new([Column::left("herb")]);
        table.row(["mint", "2 g"]).row(["sage"]);
        assert_eq!(table_at(80, table), "herb\n──────────\nmint   2 g\nsage\n");
    }
}
