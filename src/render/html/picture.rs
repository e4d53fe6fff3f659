//! Turns a picture into drawn figures (SVG) that keep the size of their letters on any width of page.
//!
//! Lengths across the page are percentages, so that bars shrink with it; all that is down the page
//! is measured in the height of a letter, so that it grows with the reader's own size of text.

use super::writer::Writer;
use crate::render::picture::{Measure, Pair, Pairs, Ranges, ThroughTime};
use crate::render::{Picture, columns};

/// How much of the width the longest bar takes, in hundredths; the rest is for its figure.
const LONGEST: u32 = 60;
/// A label that is longer is cut: the table has it in full.
const LABEL: usize = 40;
/// Parts that are shorter than this (in thousandths) have no room for their sign.
const ROOM_FOR_A_SIGN: u16 = 45;
/// How many tones tell parts apart, besides their signs.
const TONES: [&str; 6] = ["tone-a", "tone-b", "tone-c", "tone-d", "tone-e", "tone-f"];

/// Heights in tenths of a letter's height.
mod height {
    /// From the top of a line of text to the foot of its letters.
    pub const FOOT: u32 = 10;
    /// A line of text.
    pub const LINE: u32 = 14;
    /// A bar with its figure beside it.
    pub const ROW: u32 = 13;
    /// A bar.
    pub const BAR: u32 = 9;
    /// A bar that has signs in it.
    pub const STACK: u32 = 17;
    /// What parts one label from the next.
    pub const GAP: u32 = 7;
}

/// Writes a picture with its caption.
pub(super) fn write(writer: &mut Writer, picture: &Picture, name: &str) {
    let (kind, caption) = match picture {
        Picture::Pairs(picture) => ("pairs", format!("{}; {}", picture.title, picture.axis)),
        Picture::ThroughTime(picture) => (
            "through-time",
            format!("{}; each line from 0 to 100 %", picture.title),
        ),
        Picture::Ranges(picture) => (
            "pairs",
            format!(
                "{}; the bars of each from 0 to the greater of its figures",
                picture.title
            ),
        ),
        Picture::Amounts(picture) => ("amounts", format!("{}; {}", picture.title, picture.axis)),
    };
    writer
        .open("figure", &[("class", kind)])
        .element("figcaption", &[], &caption);
    match picture {
        Picture::Pairs(picture) => pairs(writer, picture, name),
        Picture::Ranges(picture) => ranges(writer, picture, name),
        Picture::ThroughTime(picture) => {
            through_time(writer, picture, name);
            key(writer, picture);
        }
        Picture::Amounts(picture) => super::amounts::write(writer, picture),
    }
    writer.close();
}

/// Opens the drawing with what is read out in its place.
fn open(writer: &mut Writer, name: &str, height: u32, title: &str, description: &str) {
    let (title_name, description_name) = (format!("{name}-title"), format!("{name}-words"));
    let read = format!("{title_name} {description_name}");
    writer
        .open(
            "svg",
            &[
                ("role", "img"),
                ("aria-labelledby", &read),
                ("width", "100%"),
                ("height", &em(height)),
            ],
        )
        .element("title", &[("id", &title_name)], title)
        .element("desc", &[("id", &description_name)], description);
}

fn pairs(writer: &mut Writer, picture: &Pairs, name: &str) {
    let of_one = [height::LINE, height::ROW, height::ROW, height::GAP].iter().sum();
    let said: Vec<String> = picture
        .rows
        .iter()
        .map(|pair| {
            format!(
                "{}: {} {}, {} {}",
                pair.label, picture.first, pair.first.words, picture.second, pair.second.words
            )
        })
        .collect();
    let title = format!("{}, {} and {}", picture.title, picture.first, picture.second);
    let all = rows(picture.rows.len(), of_one);
    open(writer, name, all, &title, &said.join("; "));
    let hatch = format!("{name}-hatch");
    pattern(writer, &hatch);
    let mut top = 0_u32;
    for Pair { label, first, second } in &picture.rows {
        text(
            writer,
            top.saturating_add(height::FOOT),
            "0",
            "label",
            &cut(label),
        );
        let bars = top.saturating_add(height::LINE);
        bar(writer, bars, &picture.first, first, Some(&hatch));
        bar(
            writer,
            bars.saturating_add(height::ROW),
            &picture.second,
            second,
            None,
        );
        top = top.saturating_add(of_one);
    }
    writer.close();
}

fn ranges(writer: &mut Writer, picture: &Ranges, name: &str) {
    let of_one = [height::LINE, height::ROW, height::ROW, height::GAP].iter().sum();
    let called = [&picture.first, &picture.second];
    let said: Vec<String> = picture
        .rows
        .iter()
        .map(|row| {
            format!(
                "{}: {} {}, {} {}",
                row.label, picture.first, row.first.words, picture.second, row.second.words
            )
        })
        .collect();
    let all = rows(picture.rows.len(), of_one);
    open(writer, name, all, &picture.title, &said.join("; "));
    let hatch = format!("{name}-hatch");
    pattern(writer, &hatch);
    let mut top = 0_u32;
    for row in &picture.rows {
        let label = cut(&row.label);
        text(writer, top.saturating_add(height::FOOT), "0", "label", &label);
        let mut line = top.saturating_add(height::LINE);
        for ((stretch, called), hatch) in [&row.first, &row.second]
            .into_iter()
            .zip(called)
            .zip([Some(hatch.as_str()), None])
        {
            drawn(writer, line, (stretch.from, stretch.to), hatch);
            let end = percent(u32::from(stretch.to).saturating_mul(LONGEST));
            let words = format!("{called} {}", stretch.words);
            text(writer, line.saturating_add(height::BAR), &end, "figure", &words);
            line = line.saturating_add(height::ROW);
        }
        top = top.saturating_add(of_one);
    }
    writer.close();
}

/// Slanted lines, so that the two bars differ without colour.
fn pattern(writer: &mut Writer, name: &str) {
    writer
        .open("defs", &[])
        .open(
            "pattern",
            &[
                ("id", name),
                ("width", "5"),
                ("height", "5"),
                ("patternUnits", "userSpaceOnUse"),
                ("patternTransform", "rotate(45)"),
            ],
        )
        .leaf("rect", &[("class", "hatch"), ("width", "2"), ("height", "5")])
        .close()
        .close();
}

/// A bar with its figure at its end; hatched within an outline, or full.
fn bar(writer: &mut Writer, top: u32, name: &str, measure: &Measure, hatch: Option<&str>) {
    if let Some(length) = measure.length {
        drawn(writer, top, (0, length), hatch);
    }
    let end = percent(u32::from(measure.length.unwrap_or(0)).saturating_mul(LONGEST));
    let words = format!("{name} {}", measure.words);
    text(writer, top.saturating_add(height::BAR), &end, "figure", &words);
}

/// A bar between two places of the axis, in thousandths; hatched within an outline, or full.
fn drawn(writer: &mut Writer, top: u32, (from, to): (u16, u16), hatch: Option<&str>) {
    let at = |value: u16| percent(u32::from(value).saturating_mul(LONGEST));
    let fill = hatch.map_or_else(String::new, |hatch| format!("fill:url(#{hatch})"));
    let place = [
        ("class", if hatch.is_some() { "first" } else { "second" }),
        ("x", if from == 0 { "0" } else { &at(from) }),
        ("y", &em(top)),
        ("width", &at(to.saturating_sub(from))),
        ("height", &em(height::BAR)),
        ("style", &fill),
    ];
    let own = place.len().saturating_sub(usize::from(hatch.is_none()));
    writer.leaf("rect", place.get(..own).unwrap_or(&place));
}

fn through_time(writer: &mut Writer, picture: &ThroughTime, name: &str) {
    let of_one = [height::LINE, height::STACK, height::GAP].iter().sum();
    let said: Vec<String> = picture
        .moments
        .iter()
        .map(|moment| {
            let shares: Vec<String> = moment
                .shares
                .iter()
                .zip(&picture.parts)
                .filter(|(share, _)| share.length.is_some())
                .map(|(share, part)| format!("{part} {}", share.words))
                .collect();
            format!("{}: {}", moment.label, shares.join(", "))
        })
        .collect();
    let all = rows(picture.moments.len(), of_one);
    open(writer, name, all, &picture.title, &said.join("; "));
    let mut top = 0_u32;
    for moment in &picture.moments {
        let label = cut(&moment.label);
        text(writer, top.saturating_add(height::FOOT), "0", "label", &label);
        let bar = top.saturating_add(height::LINE);
        for (part, from, length) in moment.stretches() {
            let (from, wide) = (u32::from(from), u32::from(length));
            writer.leaf(
                "rect",
                &[
                    ("class", tone(part)),
                    ("x", &percent(from.saturating_mul(100))),
                    ("y", &em(bar)),
                    ("width", &percent(wide.saturating_mul(100))),
                    ("height", &em(height::STACK)),
                ],
            );
            if length >= ROOM_FOR_A_SIGN {
                let middle = percent(from.saturating_mul(100).saturating_add(wide.saturating_mul(50)));
                sign(writer, part, &middle, bar.saturating_add(12));
            }
        }
        top = top.saturating_add(of_one);
    }
    writer.close();
}

/// What the signs mean, each in the tone of its part.
fn key(writer: &mut Writer, picture: &ThroughTime) {
    writer.open("ul", &[("class", "key"), ("role", "list")]);
    for (at, part) in picture.parts.iter().enumerate() {
        let size = em(height::STACK);
        writer
            .open("li", &[])
            .open(
                "svg",
                &[("aria-hidden", "true"), ("width", &size), ("height", &size)],
            )
            .leaf(
                "rect",
                &[("class", tone(at)), ("width", "100%"), ("height", "100%")],
            );
        sign(writer, at, "50%", 12);
        writer.close().text(part).close();
    }
    writer.close();
}

fn sign(writer: &mut Writer, part: usize, middle: &str, foot: u32) {
    let sign = ThroughTime::sign(part).to_string();
    writer.element(
        "text",
        &[
            ("class", "sign"),
            ("x", middle),
            ("y", &em(foot)),
            ("text-anchor", "middle"),
        ],
        &sign,
    );
}

fn text(writer: &mut Writer, foot: u32, x: &str, class: &str, words: &str) {
    let place = [("class", class), ("x", x), ("y", &em(foot))];
    writer.element("text", &place, words);
}

fn tone(part: usize) -> &'static str {
    TONES.iter().cycle().nth(part).copied().unwrap_or_default()
}

/// A label as far as it has room.
fn cut(label: &str) -> String {
    if columns(label) <= LABEL {
        return label.to_owned();
    }
    let mut short = String::new();
    for letter in label.chars() {
        short.push(letter);
        if columns(&short) >= LABEL {
            break;
        }
    }
    short.push('…');
    short
}

/// The height of so many labels.
fn rows(count: usize, of_one: u32) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX).saturating_mul(of_one)
}

/// Tenths of a letter's height as a length.
fn em(tenths: u32) -> String {
    format!("{}.{}em", tenths / 10, tenths % 10)
}

/// Thousandths of a hundredth of the width as a length.
pub(super) fn percent(thousandths: u32) -> String {
    format!("{}.{:03}%", thousandths / 1000, thousandths % 1000)
}
