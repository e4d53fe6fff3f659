//! Turns amounts into bars: a full bar for the figure, a line for how far it may reach, a dashed frame for what is stated.

use super::picture::{LONGEST, cut, em, height, open, percent, rows, text};
use super::writer::Writer;
use crate::render::picture::{Amount, Amounts};

/// Draws the bars; what is read out says the figures.
pub(super) fn write(writer: &mut Writer, picture: &Amounts, name: &str) {
    let of_one = [height::LINE, height::ROW, height::GAP].iter().sum();
    let said: Vec<String> = picture
        .rows
        .iter()
        .map(|row| format!("{}: {}", row.label, row.measure.words))
        .collect();
    open(
        writer,
        name,
        rows(picture.rows.len(), of_one),
        &picture.title,
        &said.join("; "),
    );
    let mut top = 0_u32;
    for row in &picture.rows {
        let label = cut(&row.label);
        text(writer, top.saturating_add(height::FOOT), "0", "label", &label);
        bar(writer, row, top.saturating_add(height::LINE));
        top = top.saturating_add(of_one);
    }
    writer.close();
}

fn bar(writer: &mut Writer, row: &Amount, top: u32) {
    let place = |length: u16| percent(u32::from(length).saturating_mul(LONGEST));
    let wide = |from: u16, to: u16| percent(u32::from(to.saturating_sub(from)).saturating_mul(LONGEST));
    let length = row.measure.length.unwrap_or(0);
    if row.measure.length.is_some() {
        writer.leaf(
            "rect",
            &[
                ("class", "second"),
                ("x", "0"),
                ("y", &em(top)),
                ("width", &place(length)),
                ("height", &em(height::BAR)),
            ],
        );
    }
    if let Some((from, to)) = row.stated {
        writer.leaf(
            "rect",
            &[
                ("class", "stated"),
                ("x", &place(from)),
                ("y", &em(top.saturating_sub(2))),
                ("width", &wide(from, to)),
                ("height", &em(height::BAR.saturating_add(4))),
            ],
        );
    }
    if let Some((from, to)) = row.reach {
        let middle = em(top.saturating_add(height::BAR / 2));
        writer.leaf(
            "line",
            &[
                ("class", "reach"),
                ("x1", &place(from)),
                ("x2", &place(to)),
                ("y1", &middle),
                ("y2", &middle),
            ],
        );
    }
    // The words stand behind whatever reaches furthest.
    let end = [Some(length), row.reach.map(|reach| reach.1), row.stated.map(|stated| stated.1)]
        .into_iter()
        .flatten()
        .max()
        .unwrap_or(0);
    text(
        writer,
        top.saturating_add(height::BAR),
        &place(end),
        "figure",
        &row.measure.words,
    );
}
