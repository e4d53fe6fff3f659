//! Turns a label into sheets of labels that print in millimetres.

use std::fmt::Write;

use super::writer::Writer;
use super::{POLICY, opening};
use crate::render::code::Code;
use crate::render::label::{self, Label, Paragraph, Size, Style};

/// The look of sheets of labels.
const STYLE: &str = include_str!("label.css");
/// The page's own margins would move every label.
const PAPER: [(&str, &str); 2] = [
    ("A4", "@page { size: A4; margin: 0; }\n"),
    ("letter", "@page { size: letter; margin: 0; }\n"),
];

/// As many copies of a label as fill whole sheets, or as are wanted.
///
/// `points` is the size of type in tenths of a point, as [`label::fit`] gives it.
pub fn labels(title: &str, label: &Label, size: &Size, points: u32, copies: Option<u32>) -> String {
    let mut writer = Writer::default();
    opening(&mut writer, title, POLICY);
    let paper = PAPER.iter().find(|(name, _)| *name == size.paper);
    writer
        .open("style", &[])
        .raw("\n")
        .raw(paper.map_or("", |(_, rule)| rule))
        .raw(STYLE)
        .close()
        .close();
    writer
        .open("body", &[])
        .open("main", &[])
        .element("h1", &[], title);
    let (across, down) = size.count;
    let on_a_sheet = across.saturating_mul(down).max(1);
    let mut left = copies.unwrap_or(on_a_sheet);
    while left > 0 {
        let here = left.min(on_a_sheet);
        sheet(&mut writer, label, size, points, here);
        left = left.saturating_sub(here);
    }
    writer.finish()
}

fn sheet(writer: &mut Writer, label: &Label, size: &Size, points: u32, count: u32) {
    let (wide, high) = size.sheet;
    let place = format!("width:{};height:{}", millimetres(wide), millimetres(high));
    writer.open("div", &[("class", "sheet"), ("style", &place)]);
    let (across, down) = size.count;
    let (width, height) = size.label;
    let gaps = size.gap.saturating_mul(across.saturating_sub(1));
    let left = wide
        .saturating_sub(width.saturating_mul(across))
        .saturating_sub(gaps)
        / 2;
    let top = high.saturating_sub(height.saturating_mul(down)) / 2;
    for at in 0..count {
        let column = at.checked_rem(across).unwrap_or(0);
        let row = at.checked_div(across).unwrap_or(0);
        let x = left.saturating_add(width.saturating_add(size.gap).saturating_mul(column));
        let y = top.saturating_add(height.saturating_mul(row));
        let style = format!(
            "left:{};top:{};width:{};height:{};font-size:{}.{}pt",
            millimetres(x),
            millimetres(y),
            millimetres(width),
            millimetres(height),
            points / 10,
            points % 10
        );
        // One label is read aloud; its copies are the same.
        let hidden = if at == 0 { "false" } else { "true" };
        writer.open(
            "div",
            &[("class", "label"), ("style", &style), ("aria-hidden", hidden)],
        );
        if let Some(code) = &label.code {
            draw(writer, code, label::code_side(size), at == 0);
        }
        // Beside a code the text keeps its own column, so that it takes as many lines as were reckoned.
        let column = label
            .code
            .as_ref()
            .map_or(0, |_| label::code_side(size).saturating_add(label::BESIDE_CODE));
        let column = format!("margin-right:{}", millimetres(column));
        writer.open("div", &[("class", "text"), ("style", &column)]);
        for one in &label.paragraphs {
            paragraph(writer, one);
        }
        writer.close().close();
    }
    writer.close();
}

fn paragraph(writer: &mut Writer, paragraph: &Paragraph) {
    let name = [("class", "name")];
    writer.open("p", if paragraph.is_name { &name } else { &[] });
    for run in &paragraph.runs {
        match run.style {
            Style::Plain => writer.text(&run.text),
            Style::Strong => writer.element("strong", &[], &run.text),
            Style::Slanted => writer.element("em", &[], &run.text),
        };
    }
    writer.close();
}

/// The dark modules as one path, row by row, with the free edge of four modules that readers need.
fn draw(writer: &mut Writer, code: &Code, side: u32, spoken: bool) {
    const EDGE: usize = 4;
    let modules = code.rows.len().saturating_add(EDGE.saturating_mul(2));
    let view = format!("0 0 {modules} {modules}");
    let mut path = String::new();
    for (y, row) in code.rows.iter().enumerate() {
        for (x, _) in row.iter().enumerate().filter(|(_, dark)| **dark) {
            let (x, y) = (x.saturating_add(EDGE), y.saturating_add(EDGE));
            let _ = write!(path, "M{x} {y}h1v1h-1z");
        }
    }
    let side = millimetres(side);
    let title = format!("code: {}", code.words);
    let role = if spoken { "img" } else { "presentation" };
    writer
        .open(
            "svg",
            &[
                ("class", "code"),
                ("role", role),
                ("aria-label", &title),
                ("viewBox", &view),
                ("width", &side),
                ("height", &side),
                ("shape-rendering", "crispEdges"),
            ],
        )
        .leaf("path", &[("d", &path), ("fill", "#000000")])
        .close();
}

/// Thousandths of a millimetre as a length.
fn millimetres(thousandths: u32) -> String {
    format!("{}.{:03}mm", thousandths / 1000, thousandths % 1000)
}
