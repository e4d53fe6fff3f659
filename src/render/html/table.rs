//! Turns a table into markup that stands in columns where there is room and folds where there is not.

use super::writer::{Attribute, Writer};
use crate::render::{Align, Row, RowStyle, Table, at_point, columns};

/// A table that asks for more letters than this folds on a phone: each row becomes a small list.
const NARROW: usize = 40;
/// A cell of text wraps, so it asks for no more than this.
const TEXT: usize = 18;

/// A longer piece than this is broken like any text.
const KEPT: usize = 26;

/// A column, as the cells below it need it.
struct Column<'a> {
    heading: &'a str,
    align: Align,
    /// The most letters that stand before a decimal point.
    before: usize,
    /// The letters that the widest cell asks for.
    width: usize,
}

/// Writes a table. It is named after the heading above it and its first column.
pub(super) fn write(writer: &mut Writer, table: &Table, above: &str, name: &str) {
    let columns = measured(table);
    if columns.is_empty() {
        return;
    }
    let gaps = columns.len().saturating_sub(1).saturating_mul(2);
    let width = columns
        .iter()
        .map(|column| column.width)
        .fold(gaps, usize::saturating_add);
    let mut set = Setter {
        writer,
        folds: width > NARROW,
        columns,
    };
    let first = set.columns.first().map_or("", |column| column.heading);
    let caption = [above, first]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join(": ");
    let wide = [
        ("class", "box wide"),
        ("role", "region"),
        ("aria-labelledby", name),
        ("tabindex", "0"),
    ];
    let narrow = [("class", "box")];
    set.writer.open("div", if set.folds { &wide } else { &narrow });
    set.open("table", "table", &[]);
    set.writer
        .element("caption", &[("id", name), ("class", "unseen")], &caption);
    set.headings();
    set.rows(&table.rows);
    set.writer.close().close();
}

fn measured(table: &Table) -> Vec<Column<'_>> {
    let rows = || table.rows.iter().filter(|row| row.style != RowStyle::Section);
    let most = rows().map(|row| row.cells.len()).max().unwrap_or(0);
    // Sections alone need a column to stand in.
    let least = usize::from(!table.rows.is_empty());
    let count = most.max(table.columns.len()).max(least);
    (0..count)
        .map(|at| {
            let column = table.columns.get(at);
            let align = column.map_or(Align::Left, |column| column.align);
            let heading = column.map_or("", |column| column.heading.as_str());
            let cells = || rows().filter_map(|row| row.cells.get(at));
            let width = cells().map(|cell| columns(cell)).max().unwrap_or(0);
            let before = cells().filter_map(|cell| at_point(cell));
            Column {
                heading,
                align,
                before: before.map(|(before, _)| columns(before)).max().unwrap_or(0),
                width: match align {
                    Align::Left => width.min(TEXT),
                    Align::Right | Align::Decimal => width,
                },
            }
        })
        .collect()
}

struct Setter<'a, 'b> {
    writer: &'a mut Writer,
    columns: Vec<Column<'b>>,
    folds: bool,
}

impl Setter<'_, '_> {
    /// Opens a piece of a table. One that folds says what it is, because browsers forget that it is
    /// a table when its cells are no longer drawn as such.
    fn open(&mut self, element: &'static str, role: &'static str, attributes: &[Attribute<'_>]) {
        let role = self.folds.then_some(("role", role));
        let all: Vec<Attribute<'_>> = role.into_iter().chain(attributes.iter().copied()).collect();
        self.writer.open(element, &all);
    }

    fn headings(&mut self) {
        if self.columns.iter().all(|column| column.heading.is_empty()) {
            return;
        }
        self.open("thead", "rowgroup", &[]);
        self.open("tr", "row", &[]);
        for at in 0..self.columns.len() {
            let Some(Column { heading, align, .. }) = self.columns.get(at) else {
                continue;
            };
            let (heading, class) = (*heading, class(*align));
            if heading.is_empty() {
                self.open("td", "cell", &[]);
            } else {
                self.open("th", "columnheader", &[("scope", "col"), ("class", class)]);
            }
            self.writer.text(heading).close();
        }
        self.writer.close().close();
    }

    fn rows(&mut self, rows: &[Row]) {
        let span = self.columns.len().to_string();
        self.open("tbody", "rowgroup", &[]);
        if rows.is_empty() {
            self.open("tr", "row", &[]);
            self.open("td", "cell", &[("colspan", &span)]);
            self.writer.text("none").close().close();
        }
        let mut above = None;
        for row in rows {
            if row.style == RowStyle::Section {
                if above.is_some() {
                    self.writer.close();
                    self.open("tbody", "rowgroup", &[]);
                }
                self.open("tr", "row", &[("class", "section")]);
                self.open("th", "rowheader", &[("scope", "rowgroup"), ("colspan", &span)]);
                self.writer.text(&row.cells.join(" ")).close().close();
            } else {
                self.row(row, above == Some(RowStyle::Total));
            }
            above = Some(row.style);
        }
        self.writer.close();
    }

    fn row(&mut self, row: &Row, after_total: bool) {
        let class = match row.style {
            // Totals that follow each other share one rule.
            RowStyle::Total if after_total => "total more",
            RowStyle::Total => "total",
            RowStyle::Quiet => "quiet",
            RowStyle::Plain | RowStyle::Section => "row",
        };
        self.open("tr", "row", &[("class", class)]);
        for at in 0..self.columns.len() {
            let cell = row.cells.get(at).map_or("", String::as_str);
            self.cell(at, cell);
        }
        self.writer.close();
    }

    fn cell(&mut self, at: usize, cell: &str) {
        let Some(column) = self.columns.get(at) else {
            return;
        };
        let (heading, align, before) = (column.heading, column.align, column.before);
        if at == 0 && !cell.is_empty() {
            self.open("th", "rowheader", &[("scope", "row"), ("class", class(align))]);
        } else if self.folds {
            self.open("td", "cell", &[("class", class(align)), ("data-label", heading)]);
        } else {
            self.open("td", "cell", &[("class", class(align))]);
        }
        match align {
            Align::Left | Align::Right => self.figures(cell),
            Align::Decimal => self.on_the_point(cell, before),
        }
        self.writer.close();
    }

    /// What stands before the point gets the same width in every cell. A cell without a number ends
    /// where a whole number ends, if there is room.
    fn on_the_point(&mut self, cell: &str, before: usize) {
        let (whole, rest) = match at_point(cell) {
            Some(parts) => parts,
            None if columns(cell) <= before => (cell, ""),
            None => ("", cell),
        };
        if whole.is_empty() {
            return self.figures(rest);
        }
        let (rest, spread, after) = divided(rest);
        let style = format!("min-width:{before}ch");
        self.writer
            .open("span", &[("class", "keep")])
            .element("span", &[("class", "whole"), ("style", &style)], whole)
            .text(rest)
            .close();
        self.spread(spread, after);
    }

    /// A cell whose figures keep their units, and a spread its brackets, where the cell is broken
    /// into lines: "1.5" at the end of a line is read without its "g".
    fn figures(&mut self, cell: &str) {
        let (before, spread, after) = divided(cell);
        if before.starts_with(|letter: char| letter.is_ascii_digit()) && columns(before) <= KEPT {
            self.writer.element("span", &[("class", "keep")], before);
        } else {
            self.writer.text(before);
        }
        self.spread(spread, after);
    }

    fn spread(&mut self, spread: &str, after: &str) {
        if !spread.is_empty() {
            self.writer
                .raw(" ")
                .element("span", &[("class", "keep")], spread)
                .text(after);
        }
    }
}

/// A text as it divides into what stands before a spread in brackets, the spread, and the rest.
/// Without a spread all of it is before.
fn divided(cell: &str) -> (&str, &str, &str) {
    let parts = || {
        let (before, rest) = cell.split_once(" (")?;
        let open = cell.get(before.len().saturating_add(1)..)?;
        let end = open.find(')')?.saturating_add(1);
        let (spread, after) = open.split_at_checked(end)?;
        let figures = rest.starts_with(|letter: char| letter.is_ascii_digit());
        (figures && columns(spread) <= KEPT).then_some((before, spread, after))
    };
    parts().unwrap_or((cell, "", ""))
}

fn class(align: Align) -> &'static str {
    match align {
        Align::Left => "left",
        Align::Right => "right",
        Align::Decimal => "decimal",
    }
}
