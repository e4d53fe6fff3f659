//! Turns text into lines of at most so many display columns.

use crate::render::escape::runs_left;
use std::borrow::Cow;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// The display columns that a text takes up.
pub(super) fn columns(text: &str) -> usize {
    text.width()
}

/// The display columns of the widest word of a text.
pub(super) fn widest_word(text: &str) -> usize {
    text.split(' ').map(columns).max().unwrap_or(0)
}

/// So many blanks.
pub(super) fn blanks(count: usize) -> String {
    " ".repeat(count)
}

/// Breaks a text into lines, of which the first may be of another width than the rest.
///
/// Lines break at blanks, though not between a figure and its unit if that can be helped: "1.5" at
/// the end of a line is read without its "g". A word too wide for a line is cut. Widths are at
/// least 2, so that a wide character always finds room. A text without words has no lines.
pub(super) fn wrap(text: &str, first: usize, rest: usize) -> Vec<String> {
    let rest = rest.max(2);
    let mut room = first.max(2);
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut used = 0_usize;
    let mut words = text.split(' ').filter(|word| !word.is_empty()).peekable();
    while let Some(word) = words.next() {
        let width = columns(word);
        let unit = match words.peek() {
            Some(next) if is_figure(word) && !is_figure(next) => columns(next).saturating_add(1),
            _ => 0,
        };
        let together = width.saturating_add(unit);
        let wanted = if together <= rest { together } else { width };
        let no_room = if line.is_empty() {
            // A word is not cut to fit a short first line if a line of its own can hold it.
            width > room && width <= rest
        } else {
            used.saturating_add(wanted) >= room
        };
        if no_room {
            lines.push(std::mem::take(&mut line));
            used = 0;
            room = rest;
        }
        if !line.is_empty() {
            line.push(' ');
            used = used.saturating_add(1);
        }
        if width <= room {
            line.push_str(word);
            used = used.saturating_add(width);
            continue;
        }
        // Counting character by character never comes to less than the width of the whole.
        for character in word.chars() {
            let width = character.width().unwrap_or(0);
            if used.saturating_add(width) > room {
                lines.push(std::mem::take(&mut line));
                used = 0;
                room = rest;
            }
            line.push(character);
            used = used.saturating_add(width);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// Whether a word is a bare number, which says nothing without the word after it.
fn is_figure(word: &str) -> bool {
    word.ends_with(char::is_numeric)
        && word
            .chars()
            .all(|character| character.is_numeric() || "./-–−+(".contains(character))
}

/// Keeps text that runs from right to left inside its own column.
///
/// A terminal that reorders such text would otherwise draw a figure in the next column to the far
/// side of the name before it. A left-to-right mark on either side, itself without width, ends the
/// reordering. Only this module adds such marks; those in the text were made visible before.
pub(super) fn in_place(text: &str) -> Cow<'_, str> {
    if text.chars().any(runs_left) {
        Cow::Owned(format!("\u{200e}{text}\u{200e}"))
    } else {
        Cow::Borrowed(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn breaks_at_blanks_and_fills_the_line() {
        assert_eq!(wrap("aa bb  cc dd", 5, 5), ["aa bb", "cc dd"]);
        assert_eq!(wrap("aa bb cc dd", 2, 8), ["aa", "bb cc dd"]);
        assert_eq!(wrap(" aa ", 5, 5), ["aa"]);
        assert!(wrap("  ", 5, 5).is_empty());
    }

    #[test]
    fn keeps_a_figure_with_its_unit() {
        assert_eq!(wrap("take 1.5 g daily", 8, 8), ["take", "1.5 g", "daily"]);
        assert_eq!(wrap("take 1.5 to 2 g", 10, 10), ["take", "1.5 to 2 g"]);
        // A sentence may end in a number.
        assert_eq!(wrap("take 15. Then", 8, 8), ["take 15.", "Then"]);
        // Where there is no room for both, the width comes first.
        assert_eq!(wrap("a 12 teaspoons", 9, 9), ["a 12", "teaspoons"]);
    }

    #[test]
    fn cuts_what_is_too_wide() {
        assert_eq!(wrap("abcdefgh i", 3, 3), ["abc", "def", "gh", "i"]);
        assert_eq!(wrap("a 紅茶紅茶", 5, 5), ["a", "紅茶", "紅茶"]);
        // A combining mark stays with its letter.
        assert_eq!(
            wrap("e\u{301}e\u{301}e\u{301}", 2, 2),
            ["e\u{301}e\u{301}", "e\u{301}"]
        );
        // Not for the sake of a short first line, which is left blank instead.
        assert_eq!(wrap("abcdef g", 3, 8), ["", "abcdef g"]);
        assert_eq!(wrap("紅茶", 0, 0), ["紅", "茶"]);
    }

    #[test]
    fn a_no_break_space_holds_words_together() {
        assert_eq!(wrap("aa b\u{a0}c", 5, 5), ["aa", "b\u{a0}c"]);
    }

    #[test]
    fn only_right_to_left_text_is_fenced() {
        assert_eq!(in_place("mint"), "mint");
        assert_eq!(in_place("שלום"), "\u{200e}שלום\u{200e}");
        assert_eq!(columns(&in_place("שלום")), 4);
    }
}
