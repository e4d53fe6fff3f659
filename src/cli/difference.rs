//! Turns two texts into what differs between them, word by word: the one door to similar.

use similar::{ChangeTag, TextDiff};

use crate::render::escape;
use crate::render::text::Page;

/// Longer texts are shown whole, without marks: nobody looks for a word in them.
const LONGEST: usize = 2000;

/// A stretch of a text, and whether the other text has it too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// The text.
    pub text: String,
    /// Whether only this side has it.
    pub differs: bool,
}

/// What differs between two texts: the stretches of the one and those of the other. Blanks don't differ.
pub fn words(one: &str, other: &str) -> (Vec<Stretch>, Vec<Stretch>) {
    let whole = |text: &str| {
        vec![Stretch {
            text: text.to_owned(),
            differs: false,
        }]
    };
    if one.len() > LONGEST || other.len() > LONGEST {
        return (whole(one), whole(other));
    }
    // Blanks would be matched with one another, and tear words apart that are the same.
    let bare = |text| -> Vec<&str> { str::split_whitespace(text).collect() };
    let (mine, theirs) = (bare(one), bare(other));
    let changes: Vec<ChangeTag> = TextDiff::from_slices(&mine, &theirs)
        .iter_all_changes()
        .map(|change| change.tag())
        .collect();
    let side = |text, others: ChangeTag| {
        stretches(
            text,
            changes
                .iter()
                .filter(|tag| **tag != others)
                .map(|tag| *tag != ChangeTag::Equal),
        )
    };
    (side(one, ChangeTag::Insert), side(other, ChangeTag::Delete))
}

/// A text in stretches, when it is known of each word whether it differs.
fn stretches(text: &str, mut differs: impl Iterator<Item = bool>) -> Vec<Stretch> {
    let mut out = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let word = rest.trim_start();
        let (blanks, after) = rest
            .split_at_checked(rest.len().saturating_sub(word.len()))
            .unwrap_or((rest, ""));
        if !blanks.is_empty() {
            push(&mut out, blanks, false);
        }
        let end = after.find(char::is_whitespace).unwrap_or(after.len());
        let (word, after) = after.split_at_checked(end).unwrap_or((after, ""));
        if !word.is_empty() {
            push(&mut out, word, differs.next().unwrap_or(false));
        }
        rest = after;
    }
    out
}

/// Words that differ and have one blank between them are one stretch.
fn push(stretches: &mut Vec<Stretch>, text: &str, differs: bool) {
    if let [.., before, gap] = stretches.as_mut_slice()
        && differs
        && before.differs
        && gap.text == " "
    {
        before.text.push(' ');
        before.text.push_str(text);
        stretches.pop();
        return;
    }
    if let Some(last) = stretches.last_mut()
        && last.differs == differs
    {
        last.text.push_str(text);
        return;
    }
    stretches.push(Stretch {
        text: text.to_owned(),
        differs,
    });
}

/// The two sides of a difference as lines: what differs stands in brackets, and on a screen also
/// in colour. The texts are made safe for a terminal.
pub fn lines(one: Option<&str>, other: Option<&str>, page: &Page) -> (Option<String>, Option<String>) {
    match (one, other) {
        (Some(one), Some(other)) => {
            let (mine, theirs) = words(one, other);
            (Some(shown(&mine, RED, page)), Some(shown(&theirs, GREEN, page)))
        }
        (one, other) => {
            let safe = |text: &str| escape::terminal(text).into_owned();
            (one.map(safe), other.map(safe))
        }
    }
}

const RED: &str = "\u{1b}[31m";
const GREEN: &str = "\u{1b}[32m";
const PLAIN: &str = "\u{1b}[0m";

fn shown(stretches: &[Stretch], colour: &str, page: &Page) -> String {
    let mut out = String::new();
    for stretch in stretches {
        let safe = escape::terminal(&stretch.text);
        match (stretch.differs, page.colour) {
            (false, _) => out.push_str(&safe),
            (true, false) => out.extend(["[", &safe, "]"]),
            (true, true) => out.extend([colour, "[", &safe, "]", PLAIN]),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::lines;
    use crate::render::text::Page;

    fn both(one: &str, other: &str, colour: bool) -> (String, String) {
        let page = Page {
            colour,
            ..Page::default()
        };
        let (one, other) = lines(Some(one), Some(other), &page);
        (one.unwrap(), other.unwrap())
    }

    #[test]
    fn words_that_differ_stand_in_brackets() {
        assert_eq!(
            both(
                "rose petal 10–15 gm as aroma",
                "rose petal   10 to 15 g   as aroma",
                false
            ),
            (
                "rose petal [10–15 gm] as aroma".to_owned(),
                "rose petal   [10 to 15 g]   as aroma".to_owned()
            )
        );
    }

    #[test]
    fn blanks_are_no_difference() {
        assert_eq!(
            both("  take  a ", "  take a", false),
            ("  take  a ".to_owned(), "  take a".to_owned())
        );
    }

    #[test]
    fn colour_comes_with_the_brackets() {
        assert_eq!(both("½ g", "1/2 g", true).0, "\u{1b}[31m[½]\u{1b}[0m g");
    }

    #[test]
    fn nothing_reaches_a_terminal_raw() {
        let (one, other) = both("a \u{1b}[2J b", "a \u{202e} b", false);
        assert!(!one.contains('\u{1b}') && !other.contains('\u{202e}'));
    }

    #[test]
    fn a_very_long_text_is_shown_whole() {
        let long = "word ".repeat(2000);
        assert_eq!(both(&long, "word", false).0, long);
    }
}
