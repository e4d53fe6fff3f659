//! Turns the words that differ between two lines into what a terminal shows.

use crate::difference::{Stretch, words};
use crate::render::Page;
use crate::render::escape;

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
    use crate::render::Page;

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
