//! Turns text from files into text that a terminal can only show, never obey.

use std::borrow::Cow;

/// Makes every character visible that could move the cursor, hide text or turn its order round.
///
/// Controls, marks and overrides of direction, and characters that leave no trace on the page
/// become escapes such as `\u{202e}`. A line break or a tab becomes one blank. Everything else is
/// kept as it is, so that text made safe once is not changed by making it safe again.
pub fn terminal(text: &str) -> Cow<'_, str> {
    if !text.chars().any(must_change) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len().saturating_mul(2));
    let mut characters = text.chars().peekable();
    while let Some(character) = characters.next() {
        match character {
            '\n' | '\t' => safe.push(' '),
            // A line break of two characters is one break; the second gives the blank.
            '\r' if characters.peek() == Some(&'\n') => {}
            _ if must_change(character) => safe.extend(character.escape_unicode()),
            _ => safe.push(character),
        }
    }
    Cow::Owned(safe)
}

fn must_change(character: char) -> bool {
    character.is_control() || is_unseen(character)
}

/// Whether a character prints nothing of its own.
///
/// From memory of the Unicode Character Database: the code points that are ignorable by default,
/// and the separators, annotations and format controls that are not among them. The joiners of
/// Persian and Indic writing are here too: they show as escapes, because between Latin letters
/// they make two names look like one.
fn is_unseen(character: char) -> bool {
    matches!(character,
        '\u{ad}'
        | '\u{34f}'
        | '\u{61c}'
        | '\u{70f}'
        | '\u{115f}'..='\u{1160}'
        | '\u{17b4}'..='\u{17b5}'
        | '\u{180b}'..='\u{180f}'
        | '\u{200b}'..='\u{200f}'
        | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{3164}'
        | '\u{fe00}'..='\u{fe0f}'
        | '\u{feff}'
        | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}'
        | '\u{13430}'..='\u{1343f}'
        | '\u{1bca0}'..='\u{1bca3}'
        | '\u{1d173}'..='\u{1d17a}'
        | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinary_text_is_borrowed_unchanged() {
        for text in [
            "",
            "Mentha × piperita, 1.5 g",
            "naïve cafe\u{301}",
            "紅茶 שלום شاي",
            "½ back\\slash \\u{202e}",
            "a\u{a0}b",
        ] {
            assert!(matches!(terminal(text), Cow::Borrowed(same) if same == text));
        }
    }

    #[test]
    fn controls_become_visible() {
        assert_eq!(
            terminal("a\u{1b}[31mred\u{1b}[0m\u{7}\u{8}\u{0}\u{7f}\u{9b}2J"),
            "a\\u{1b}[31mred\\u{1b}[0m\\u{7}\\u{8}\\u{0}\\u{7f}\\u{9b}2J"
        );
    }

    #[test]
    fn every_control_character_is_caught() {
        for code in (0..0x20).chain(0x7f..0xa0) {
            let Some(character) = char::from_u32(code) else {
                continue;
            };
            let safe = terminal(character.encode_utf8(&mut [0; 4])).into_owned();
            let expected = match character {
                '\n' | '\t' => String::from(" "),
                _ => format!("\\u{{{code:x}}}"),
            };
            assert_eq!(safe, expected);
        }
    }

    #[test]
    fn overrides_isolates_and_unseen_characters_become_visible() {
        for code in [
            0xad, 0x61c, 0x200b, 0x200c, 0x200d, 0x200e, 0x200f, 0x2028, 0x2029, 0x202a, 0x202d, 0x202e,
            0x2060, 0x2066, 0x2069, 0x3164, 0xfe0f, 0xfeff, 0xfffb, 0xe0041,
        ] {
            let Some(character) = char::from_u32(code) else {
                continue;
            };
            assert_eq!(
                terminal(&format!("2{character}0 g")),
                format!("2\\u{{{code:x}}}0 g")
            );
        }
    }

    #[test]
    fn breaks_and_tabs_become_one_blank() {
        assert_eq!(terminal("a\nb\tc\r\nd"), "a b c d");
        // Alone, it would send the cursor back over what is already printed.
        assert_eq!(terminal("100 g\r1"), "100 g\\u{d}1");
    }

    #[test]
    fn safe_text_stays_as_it_is() {
        let once = terminal("\u{1b}\u{202e}\n").into_owned();
        assert_eq!(terminal(&once), once);
    }
}
