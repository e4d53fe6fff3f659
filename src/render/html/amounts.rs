//! Turns amounts into bars: a full bar for the figure, a line for how far it may reach, a dashed frame for what is stated.
//!
//! Labels and figures are running text, so that they wrap on a phone, grow with the reader's own
//! size of text, and are read aloud as a list; the drawing says nothing that they don't.

use super::picture::percent;
use super::writer::Writer;
use crate::render::picture::{Amount, Amounts};

/// Draws the bars.
pub(super) fn write(writer: &mut Writer, picture: &Amounts) {
    writer.open("ul", &[("class", "bars"), ("role", "list")]);
    for row in &picture.rows {
        writer
            .open("li", &[])
            .element("span", &[("class", "label")], &row.label)
            .raw(" ")
            .element("span", &[("class", "figure")], &row.measure.words);
        bar(writer, row);
        writer.close();
    }
    writer.close();
}

fn bar(writer: &mut Writer, row: &Amount) {
    let place = |length: u16| percent(u32::from(length).saturating_mul(100));
    let wide = |from: u16, to: u16| percent(u32::from(to.saturating_sub(from)).saturating_mul(100));
    writer.open(
        "svg",
        &[("aria-hidden", "true"), ("width", "100%"), ("height", "1.1em")],
    );
    if let Some(length) = row.measure.length {
        let width = place(length);
        let place = [("class", "second"), ("x", "0"), ("y", ".2em")];
        let size = [("width", width.as_str()), ("height", ".7em")];
        writer.leaf("rect", &[place.as_slice(), size.as_slice()].concat());
    }
    if let Some((from, to)) = row.stated {
        let (x, width) = (place(from), wide(from, to));
        let place = [("class", "stated"), ("x", x.as_str()), ("y", ".05em")];
        let size = [("width", width.as_str()), ("height", "1em")];
        writer.leaf("rect", &[place.as_slice(), size.as_slice()].concat());
    }
    if let Some((from, to)) = row.reach {
        let (from, to) = (place(from), place(to));
        // On the bar the line would not be seen without a light edge.
        for class in ["halo", "reach"] {
            writer.leaf(
                "line",
                &[
                    ("class", class),
                    ("x1", &from),
                    ("x2", &to),
                    ("y1", ".55em"),
                    ("y2", ".55em"),
                ],
            );
        }
    }
    writer.close();
}
