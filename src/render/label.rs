//! Labels on sheets: common sizes in millimetres, and whether a text has room on one.
//!
//! All lengths are whole thousandths of a millimetre, all sizes of type whole tenths of a point, so
//! that nothing is rounded twice. The widths of letters are the widest of several common fonts.

use super::code::Code;

/// A sheet of labels, in the middle of its paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// What it is called: the size of one label, and how many there are.
    pub name: &'static str,
    /// The paper, as style sheets know it.
    pub paper: &'static str,
    /// The width and height of the paper.
    pub sheet: (u32, u32),
    /// How many side by side, and how many rows.
    pub count: (u32, u32),
    /// The width and height of one label.
    pub label: (u32, u32),
    /// What lies between two labels side by side.
    pub gap: u32,
}

const A4: (&str, (u32, u32)) = ("A4", (210_000, 297_000));
const LETTER: (&str, (u32, u32)) = ("letter", (215_900, 279_400));

const fn size(
    name: &'static str,
    paper: (&'static str, (u32, u32)),
    count: (u32, u32),
    label: (u32, u32),
    gap: u32,
) -> Size {
    Size {
        name,
        paper: paper.0,
        sheet: paper.1,
        count,
        label,
        gap,
    }
}

/// The sizes that are known, the largest first. Cut sheets of these sizes are sold everywhere;
/// every one lies in the middle of its paper (common practice, no source).
pub static SIZES: [Size; 10] = [
    size("105 x 148 mm, 4 on A4", A4, (2, 2), (105_000, 148_000), 0),
    size("105 x 74 mm, 8 on A4", A4, (2, 4), (105_000, 74_000), 0),
    size("99.1 x 67.7 mm, 8 on A4", A4, (2, 4), (99_100, 67_700), 2_500),
    size("105 x 57 mm, 10 on A4", A4, (2, 5), (105_000, 57_000), 0),
    size(
        "101.6 x 50.8 mm, 10 on letter",
        LETTER,
        (2, 5),
        (101_600, 50_800),
        4_000,
    ),
    size("70 x 50.8 mm, 15 on A4", A4, (3, 5), (70_000, 50_800), 0),
    size("70 x 42.3 mm, 21 on A4", A4, (3, 7), (70_000, 42_300), 0),
    size("70 x 37 mm, 24 on A4", A4, (3, 8), (70_000, 37_000), 0),
    size("63.5 x 38.1 mm, 21 on A4", A4, (3, 7), (63_500, 38_100), 2_500),
    size("52.5 x 29.7 mm, 40 on A4", A4, (4, 10), (52_500, 29_700), 0),
];

/// What stays free along each edge of a label.
pub const EDGE: u32 = 3_000;
/// What lies between a code and the text.
pub const BESIDE_CODE: u32 = 2_000;
/// The sizes of type that are tried, in tenths of a point, the largest first. Below seven points
/// the small letters of common fonts are lower than 1.2 mm (the least that Regulation (EU) No
/// 1169/2011, Article 13, asks of labels of food; from memory).
pub const TYPE: [u32; 5] = [100, 90, 80, 75, 70];
/// How much larger the name is, in hundredths.
pub const NAME: u32 = 150;
/// From one line to the next, in hundredths of the size of type.
pub const LINE: u32 = 122;
/// What lies between paragraphs, in hundredths of the size of type.
pub const BETWEEN: u32 = 35;
/// Thousandths of a millimetre in a tenth of a point, times a hundred.
const TENTH: u64 = 3_528;

/// A label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// Its paragraphs from top to bottom.
    pub paragraphs: Vec<Paragraph>,
    /// A code at its right.
    pub code: Option<Code>,
}

/// A paragraph of a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Paragraph {
    /// Whether it is the name of what is in the jar.
    pub is_name: bool,
    /// Its text, piece by piece.
    pub runs: Vec<Run>,
}

/// A piece of text in one style.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// The text.
    pub text: String,
    /// How it is set.
    pub style: Style,
}

/// How a piece of text is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Upright.
    Plain,
    /// Bold.
    Strong,
    /// Slanted, as botanical names are.
    Slanted,
}

impl Paragraph {
    /// A paragraph of pieces, each with its style.
    pub fn new(runs: impl IntoIterator<Item = (Style, String)>) -> Self {
        Self {
            is_name: false,
            runs: runs
                .into_iter()
                .map(|(style, text)| Run { text, style })
                .collect(),
        }
    }

    /// The name of what is in the jar.
    pub fn name(text: &str) -> Self {
        Self {
            is_name: true,
            runs: vec![Run {
                text: text.to_owned(),
                style: Style::Strong,
            }],
        }
    }
}

/// A size of label by what a person calls it: its whole name, or only its measures.
pub fn named(words: &str) -> Option<&'static Size> {
    let plain = |text: &str| -> String {
        text.to_lowercase()
            .replace('×', "x")
            .chars()
            .filter(|letter| !letter.is_whitespace())
            .collect()
    };
    let wanted = plain(words);
    SIZES.iter().find(|size| {
        let name = plain(size.name);
        let measures = name.split("mm").next().unwrap_or_default();
        name == wanted || measures == wanted.trim_end_matches("mm")
    })
}

/// The side of the code on a label of this size.
pub fn code_side(size: &Size) -> u32 {
    let (width, height) = size.label;
    let room = height.saturating_sub(EDGE.saturating_mul(2));
    room.min(width.saturating_sub(EDGE.saturating_mul(2)) / 3)
        .min(22_000)
}

/// The largest type in which a label's text has room, in tenths of a point; nothing where it has
/// none even in the smallest.
pub fn fit(label: &Label, size: &Size) -> Option<u32> {
    let (width, height) = size.label;
    let edges = EDGE.saturating_mul(2);
    let code = label
        .code
        .as_ref()
        .map_or(0, |_| code_side(size).saturating_add(BESIDE_CODE));
    let width = width.saturating_sub(edges).saturating_sub(code);
    let height = height.saturating_sub(edges);
    TYPE.into_iter()
        .find(|points| needed(&label.paragraphs, *points, width) <= u64::from(height))
}

/// How high paragraphs stand when they are set in this size and width.
pub fn needed(paragraphs: &[Paragraph], points: u32, width: u32) -> u64 {
    let between = length(points, BETWEEN);
    let gaps = u64::try_from(paragraphs.len().saturating_sub(1)).unwrap_or(u64::MAX);
    paragraphs
        .iter()
        .map(|paragraph| {
            let points = if paragraph.is_name {
                points.saturating_mul(NAME) / 100
            } else {
                points
            };
            lines(paragraph, points, width).saturating_mul(length(points, LINE))
        })
        .fold(between.saturating_mul(gaps), u64::saturating_add)
}

/// Hundredths of a size of type as a length.
fn length(points: u32, hundredths: u32) -> u64 {
    let whole = u64::from(points)
        .saturating_mul(TENTH)
        .saturating_mul(u64::from(hundredths));
    whole.div_ceil(10_000)
}

/// How many lines a paragraph takes: each word goes where it has room, and one that is wider than
/// the label is broken.
fn lines(paragraph: &Paragraph, points: u32, width: u32) -> u64 {
    let em = length(points, 100);
    let room = u64::from(width).saturating_mul(1_000);
    let mut lines = 1_u64;
    let mut used = 0_u64;
    let mut word = 0_u64;
    let mut place = |word: &mut u64, used: &mut u64, blank: u64| {
        if *word == 0 {
            return;
        }
        if *used > 0 && used.saturating_add(*word) > room {
            lines = lines.saturating_add(1);
            *used = 0;
        }
        let more = word.saturating_sub(1).checked_div(room.max(1)).unwrap_or(0);
        lines = lines.saturating_add(more);
        *used = used
            .saturating_add(*word)
            .saturating_sub(more.saturating_mul(room))
            .saturating_add(blank);
        *word = 0;
    };
    for run in &paragraph.runs {
        for letter in run.text.chars() {
            let wide = u64::from(wide(letter, run.style)).saturating_mul(em);
            if letter == ' ' {
                place(&mut word, &mut used, wide);
            } else {
                word = word.saturating_add(wide);
            }
        }
    }
    place(&mut word, &mut used, 0);
    lines
}

/// Letters by their width in thousandths of the size of type, upright (or slanted) and bold: the
/// widest of `DejaVu` Sans and Liberation Sans, which has the widths of Helvetica and Arial. Read from
/// those fonts; a test has a browser set them.
const WIDTHS: [(u32, u32, &str); 30] = [
    (295, 373, "'ijlI"),
    (318, 380, " ,.·’‘"),
    (337, 400, "/\\|:;"),
    (361, 436, "f-\u{2011}"),
    (393, 479, "()[]t"),
    (412, 494, "!r"),
    (460, 523, "\"`°*“”"),
    (500, 557, "J"),
    (525, 596, "sz"),
    (557, 611, "_–?"),
    (558, 638, "Lc"),
    (580, 666, "k"),
    (592, 652, "xvy"),
    (611, 684, "TF"),
    (613, 688, "oöaäáàâãåóòôõ"),
    (616, 679, "eéèêë"),
    (635, 720, "hnuübdgpqßñúùû"),
    (637, 712, "0123456789${}"),
    (667, 733, "ESYP"),
    (685, 775, "AVKÄ"),
    (686, 771, "ZX"),
    (687, 763, "B"),
    (723, 771, "CR"),
    (752, 837, "UNH"),
    (780, 873, "DG&"),
    (788, 851, "OQ"),
    (838, 924, "w#+<=>^~×"),
    (863, 996, "M"),
    (975, 1042, "m½¼¾%"),
    (989, 1104, "W"),
];

fn wide(letter: char, style: Style) -> u32 {
    // Anything else may come from any font: a full square, and two for wide scripts' sake none is wider.
    let (upright, bold) = WIDTHS
        .iter()
        .find(|(_, _, letters)| letters.contains(letter))
        .map_or((1_020, 1_110), |(upright, bold, _)| (*upright, *bold));
    match style {
        Style::Plain | Style::Slanted => upright,
        Style::Strong => bold,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sheet_has_room_for_its_labels() {
        for size in &SIZES {
            let (across, down) = size.count;
            let wide = across * size.label.0 + (across - 1) * size.gap;
            assert!(wide <= size.sheet.0, "{}", size.name);
            assert!(down * size.label.1 <= size.sheet.1, "{}", size.name);
            assert!(
                size.name.ends_with(&format!(
                    "{} on {}",
                    across * down,
                    if size.paper == "A4" { "A4" } else { "letter" }
                )),
                "{}",
                size.name
            );
        }
    }

    #[test]
    fn sizes_are_found_by_their_measures() {
        for (words, name) in [
            ("70 x 37", "70 x 37 mm, 24 on A4"),
            ("70x37mm", "70 x 37 mm, 24 on A4"),
            ("70 × 37 mm, 24 on A4", "70 x 37 mm, 24 on A4"),
        ] {
            assert_eq!(named(words).map(|size| size.name), Some(name));
        }
        assert_eq!(named("7 x 37"), None);
        assert_eq!(named(""), None);
    }

    /// Ten letters m in 10 points (3.528 mm) are 10 × 0.975 × 3.528 = 34.4 mm.
    #[test]
    fn words_are_set_in_lines() {
        let paragraph = |text: &str| Paragraph::new([(Style::Plain, text.to_owned())]);
        let word = "mmmmmmmmmm";
        assert_eq!(lines(&paragraph(word), 100, 35_000), 1);
        assert_eq!(lines(&paragraph(word), 100, 34_000), 2);
        assert_eq!(lines(&paragraph(&format!("{word} {word}")), 100, 69_000), 2);
        assert_eq!(lines(&paragraph(&format!("{word} {word}")), 100, 71_000), 1);
        assert_eq!(lines(&paragraph(""), 100, 10_000), 1);
        // One line of 10 points stands 1.22 × 3.528 = 4.304 mm high, rounded up.
        assert_eq!(needed(&[paragraph("m")], 100, 10_000), 4_305);
    }

    #[test]
    fn more_words_take_smaller_type_until_there_is_no_room() {
        let Some(size) = named("70 x 37") else {
            panic!("no size")
        };
        let label = |count: usize| Label {
            paragraphs: vec![Paragraph::new([(Style::Plain, "thyme herb ".repeat(count))])],
            code: None,
        };
        let fits: Vec<Option<u32>> = [1, 20, 30, 80].map(|count| fit(&label(count), size)).to_vec();
        assert_eq!(fits.first(), Some(&Some(100)));
        assert_eq!(fits.last(), Some(&None));
        assert!(fits.windows(2).all(|pair| pair[0] >= pair[1]), "{fits:?}");
        let with_code = Label {
            code: Code::of("thyme"),
            ..label(20)
        };
        assert!(fit(&with_code, size) < fit(&label(20), size));
    }
}
