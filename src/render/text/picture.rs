//! Turns a picture into lines of plain letters, so that it needs neither colour nor a special font.

use super::line::{Ink, Line};
use super::wrap::{self, blanks, columns};
use super::{Page, running};
use crate::render::Picture;
use crate::render::picture::{Amounts, Measure, Moment, Pairs, Ranges, Stretch, ThroughTime, WHOLE};

/// The longest that a bar is drawn.
const LONGEST: usize = 36;
/// A label has no more room beside its bars than this; a longer one stands above them.
const WIDEST_LABEL: usize = 28;
/// A bar that has less room than this beside its label goes under it.
const SHORTEST: usize = 16;
/// The letters of the bars before and after.
const LETTERS: [char; 2] = ['-', '#'];

/// Sets a picture within the width of the page.
pub(super) fn set(picture: &Picture, page: &Page) -> Vec<Line> {
    match picture {
        Picture::Pairs(picture) => pairs(picture, page),
        Picture::ThroughTime(picture) => through_time(picture, page),
        Picture::Ranges(picture) => ranges(picture, page),
        Picture::Amounts(picture) => amounts(picture, page),
    }
}

/// How many letters a length takes: rounded, but one at least for what is there at all.
fn letters(length: u16, cells: usize) -> usize {
    let exact = usize::from(length).saturating_mul(cells);
    let whole = usize::from(WHOLE);
    let rounded = exact.saturating_add(whole / 2).checked_div(whole).unwrap_or(0);
    rounded.max(usize::from(length > 0)).min(cells)
}

/// The width of the labels, if there is room for bars beside them.
fn beside<'a>(labels: impl Iterator<Item = &'a str>, others: usize, page: &Page) -> Option<usize> {
    let label = labels.map(columns).max().unwrap_or(0);
    let least = label.saturating_add(others).saturating_add(SHORTEST);
    (label <= WIDEST_LABEL && least <= page.measure()).then_some(label)
}

fn pairs(picture: &Pairs, page: &Page) -> Vec<Line> {
    let called = columns(&picture.first).max(columns(&picture.second));
    let figures = picture
        .rows
        .iter()
        .flat_map(|pair| [&pair.first, &pair.second])
        .map(|measure| columns(&measure.words))
        .max()
        .unwrap_or(0);
    // Two blanks after the label, one after the name of the bar, the line at nothing, and one blank
    // before the figure.
    let others = called.saturating_add(figures).saturating_add(5);
    let labels = picture.rows.iter().map(|pair| pair.label.as_str());
    let label = beside(labels, others, page);
    let margin = label.map_or(2, |label| label.saturating_add(2));
    let used = others.saturating_sub(2).saturating_add(margin);
    let cells = page.measure().saturating_sub(used).clamp(1, LONGEST);

    let heading = format!(
        "{}: {} {}, {} {}; {}",
        picture.title, LETTERS[0], picture.first, LETTERS[1], picture.second, picture.axis
    );
    let mut lines = running(&heading, Ink::Plain, page.measure());
    for pair in &picture.rows {
        if label.is_none() {
            lines.extend(running(&pair.label, Ink::Plain, page.measure()));
        }
        let bars = [
            (&pair.label, &picture.first, &pair.first, LETTERS[0]),
            (&String::new(), &picture.second, &pair.second, LETTERS[1]),
        ];
        for (beside, name, measure, letter) in bars {
            let before = match label {
                Some(width) => padded(beside, width.saturating_add(2)),
                None => blanks(2),
            };
            let bar = bar(measure, letter, cells);
            let line = format!("{before}{} {bar}", padded(name, called));
            lines.extend(kept(&line, page));
        }
    }
    lines
}

fn amounts(picture: &Amounts, page: &Page) -> Vec<Line> {
    let figures = picture.rows.iter().map(|row| columns(&row.measure.words)).max();
    let others = figures.unwrap_or(0).saturating_add(4);
    let label = beside(picture.rows.iter().map(|row| row.label.as_str()), others, page);
    let margin = label.map_or(2, |label| label.saturating_add(2));
    let used = others.saturating_sub(2).saturating_add(margin);
    let cells = page.measure().saturating_sub(used).clamp(1, LONGEST);
    let heading = format!("{}; {}", picture.title, picture.axis);
    let mut lines = running(&heading, Ink::Plain, page.measure());
    for row in &picture.rows {
        let before = if let Some(width) = label {
            padded(&row.label, width.saturating_add(2))
        } else {
            lines.extend(running(&row.label, Ink::Plain, page.measure()));
            blanks(2)
        };
        lines.extend(kept(
            &format!("{before}{}", bar(&row.measure, LETTERS[1], cells)),
            page,
        ));
    }
    lines
}

fn bar(measure: &Measure, letter: char, cells: usize) -> String {
    let drawn = measure.length.map_or(0, |length| letters(length, cells));
    let bar: String = std::iter::repeat_n(letter, drawn).collect();
    format!("|{bar} {}", measure.words)
}

fn through_time(picture: &ThroughTime, page: &Page) -> Vec<Line> {
    let labels = picture.moments.iter().map(|moment| moment.label.as_str());
    let label = beside(labels, 4, page);
    let margin = label.map_or(2, |label| label.saturating_add(2));
    let cells = page.measure().saturating_sub(margin.saturating_add(2));
    let cells = cells.clamp(1, LONGEST.saturating_mul(2));

    let heading = format!("{}: each line from 0 to 100 %", picture.title);
    let mut lines = running(&heading, Ink::Plain, page.measure());
    for moment in &picture.moments {
        let before = if let Some(width) = label {
            padded(&moment.label, width.saturating_add(2))
        } else {
            lines.extend(running(&moment.label, Ink::Plain, page.measure()));
            blanks(2)
        };
        let bar = stack(moment, cells);
        let rest = blanks(cells.saturating_sub(columns(&bar)));
        lines.extend(kept(&format!("{before}|{bar}{rest}|"), page));
    }
    let key: Vec<String> = picture
        .parts
        .iter()
        .enumerate()
        .map(|(at, part)| format!("{} {part}", ThroughTime::sign(at)))
        .collect();
    lines.extend(running(&key.join(", "), Ink::Plain, page.measure()));
    lines
}

/// The letters of one moment. Each part ends where its share ends, to the nearest letter, except
/// that what is there at all has a letter, which the longest part gives up.
fn stack(moment: &Moment, cells: usize) -> String {
    let mut drawn: Vec<(usize, usize)> = moment
        .stretches()
        .map(|(part, from, length)| {
            let end = letters(from.saturating_add(length), cells);
            let start = if from == 0 { 0 } else { letters(from, cells) };
            (part, end.saturating_sub(start).max(1))
        })
        .collect();
    let all = |drawn: &[(usize, usize)]| drawn.iter().map(|(_, count)| *count).sum::<usize>();
    while all(&drawn) > cells {
        match drawn.iter_mut().max_by_key(|(_, count)| *count) {
            Some((_, count)) if *count > 1 => *count = count.saturating_sub(1),
            // More parts than letters: those that come last have no room.
            _ => drawn.truncate(cells),
        }
    }
    drawn
        .into_iter()
        .flat_map(|(part, count)| std::iter::repeat_n(ThroughTime::sign(part), count))
        .collect()
}

/// One line for each label: both stretches over one another. What the letters mean stands below.
fn ranges(picture: &Ranges, page: &Page) -> Vec<Line> {
    let [first, second] = [LETTERS[0], '='];
    let both = LETTERS[1];
    let labels = picture.rows.iter().map(|row| columns(&row.label));
    let width = labels.max().unwrap_or(0).min(WIDEST_LABEL);
    let mut lines = Vec::new();
    for row in &picture.rows {
        let bar: String = (0..LONGEST)
            .map(|at| match (holds(&row.first, at), holds(&row.second, at)) {
                (true, true) => both,
                (true, false) => first,
                (false, true) => second,
                (false, false) => ' ',
            })
            .collect();
        let line = format!("{}  |{bar}| {}", padded(&row.label, width), row.end);
        lines.extend(kept(&line, page));
    }
    if !lines.is_empty() {
        let key = format!(
            "{first} {}, {second} {}, {both} both; each bar from 0 to the figure at its end",
            picture.first, picture.second
        );
        lines.push(Line::plain(""));
        lines.extend(running(&key, Ink::Plain, page.measure()));
    }
    lines
}

/// Whether a stretch covers a letter of a bar; it takes one letter at least.
fn holds(stretch: &Stretch, at: usize) -> bool {
    let cell = |value: u16| {
        let exact = usize::from(value).saturating_mul(LONGEST);
        let whole = usize::from(WHOLE);
        exact.saturating_add(whole / 2).checked_div(whole).unwrap_or(0)
    };
    let from = cell(stretch.from).min(LONGEST.saturating_sub(1));
    (from..cell(stretch.to).max(from.saturating_add(1))).contains(&at)
}

fn padded(text: &str, width: usize) -> String {
    let after = blanks(width.saturating_sub(columns(text)));
    format!("{}{after}", wrap::in_place(text))
}

/// A drawn line, or on a page that is too narrow for it, its words.
fn kept(line: &str, page: &Page) -> Vec<Line> {
    if columns(line.trim_end()) <= page.width {
        vec![Line::plain(line)]
    } else {
        running(line, Ink::Plain, page.measure())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::picture::Pair;
    use crate::render::{Document, text};

    fn print(picture: Picture, width: usize) -> String {
        let page = Page {
            width,
            unicode: false,
            ..Page::default()
        };
        text::print(Document::new().picture(picture), &page)
    }

    fn two_herbs() -> Picture {
        let pair = |label: &str, first, second| Pair {
            label: label.to_owned(),
            first,
            second,
        };
        Picture::pairs(
            "share",
            "bars from 0 to 40 %",
            ["was", "is"],
            [
                pair(
                    "peppermint leaf",
                    Measure::new(1000, "40 %"),
                    Measure::new(500, "20 %"),
                ),
                pair(
                    "rose petal",
                    Measure::nothing("not in it"),
                    Measure::new(1, "0.04 %"),
                ),
            ],
        )
    }

    fn three_moments() -> Picture {
        let moment = |label: &str, shares: &[u16]| Moment {
            label: label.to_owned(),
            shares: shares.iter().map(|share| Measure::new(*share, "")).collect(),
        };
        Picture::through_time(
            "shares",
            ["mint", "fennel", "rose"].map(str::to_owned),
            [
                moment("2026-03", &[500, 500]),
                moment("2026-06", &[250, 749, 1]),
                moment("2026-09", &[0, 600, 300]),
            ],
        )
    }

    #[test]
    fn pairs_stand_one_under_the_other() {
        assert_eq!(
            print(two_herbs(), 80),
            "\
share: - was, # is; bars from 0 to 40 %
peppermint leaf  was |------------------------------------ 40 %
                 is  |################## 20 %
rose petal       was | not in it
                 is  |# 0.04 %
"
        );
    }

    #[test]
    fn on_a_narrow_page_labels_stand_above() {
        assert_eq!(
            print(two_herbs(), 30),
            "\
share: - was, # is; bars from
0 to 40 %
peppermint leaf
  was |------------- 40 %
  is  |####### 20 %
rose petal
  was | not in it
  is  |# 0.04 %
"
        );
    }

    #[test]
    fn shares_through_time_are_letters() {
        assert_eq!(
            print(three_moments(), 31),
            "\
shares: each line from 0 to
100 %
2026-03  |aaaaaaaaaabbbbbbbbbb|
2026-06  |aaaaabbbbbbbbbbbbbbc|
2026-09  |bbbbbbbbbbbbcccccc  |
a mint, b fennel, c rose
"
        );
    }

    #[test]
    fn no_page_is_too_narrow() {
        for width in 0..90 {
            for picture in [two_herbs(), three_moments()] {
                let printed = print(picture, width);
                assert!(
                    printed.lines().all(|line| columns(line) <= width.max(10)),
                    "{width}:\n{printed}"
                );
            }
        }
    }

    #[test]
    fn a_crowd_of_parts_keeps_within_the_line() {
        let shares = (0..90).map(|_| Measure::new(11, "")).collect();
        let moment = Moment {
            label: "x".to_owned(),
            shares,
        };
        assert_eq!(stack(&moment, 20).len(), 20);
        assert_eq!(stack(&moment, 72).len(), 72);
        assert!(stack(&moment, 200).contains('*'));
    }

    #[test]
    fn lengths_are_rounded_and_never_vanish() {
        assert_eq!(letters(0, 36), 0);
        assert_eq!(letters(1, 36), 1);
        assert_eq!(letters(500, 36), 18);
        assert_eq!(letters(1000, 36), 36);
        // 0.6 of a letter is a letter.
        assert_eq!(letters(16, 100), 2);
        assert_eq!(letters(14, 100), 1);
    }
}
