//! Turns text from files into text that a terminal or a browser can only show, never obey.

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

/// Makes text safe for the content and the attribute values of HTML and SVG, also when they are
/// read as XML.
///
/// What a terminal would not show is made visible in the same way, so that no mark from a file
/// reaches the page; then the five signs of markup are escaped. A stretch of right-to-left writing
/// is put between the two pieces of `isolate`: without that a browser draws a figure beside it on
/// its far side.
pub fn markup(text: &str, [before, after]: [&str; 2]) -> String {
    let safe = terminal(text);
    let mut out = String::with_capacity(safe.len().saturating_mul(2));
    // Blanks and signs inside a stretch belong to it only if more of it follows.
    let mut inside = false;
    let mut waiting = String::new();
    for character in safe.chars() {
        if runs_left(character) {
            if inside {
                out.push_str(&waiting);
            } else {
                out.push_str(before);
            }
            waiting.clear();
            inside = true;
            out.push(character);
            continue;
        }
        if inside && character.is_alphanumeric() {
            out.push_str(after);
            out.push_str(&waiting);
            waiting.clear();
            inside = false;
        }
        let to = if inside { &mut waiting } else { &mut out };
        match character {
            '&' => to.push_str("&amp;"),
            '<' => to.push_str("&lt;"),
            '>' => to.push_str("&gt;"),
            '"' => to.push_str("&quot;"),
            '\'' => to.push_str("&#39;"),
            // No characters at all, and not allowed in XML.
            '\u{fffe}' | '\u{ffff}' => to.extend(character.escape_unicode()),
            _ => to.push(character),
        }
    }
    if inside {
        out.push_str(after);
        out.push_str(&waiting);
    }
    out
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

/// Whether a character is from a block of right-to-left writing (ranges from memory of the
/// Unicode Character Database).
pub(super) fn runs_left(character: char) -> bool {
    matches!(character,
        '\u{590}'..='\u{8ff}'
        | '\u{fb1d}'..='\u{fdff}'
        | '\u{fe70}'..='\u{fefc}'
        | '\u{10800}'..='\u{10fff}'
        | '\u{1e800}'..='\u{1efff}')
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

    #[test]
    fn markup_is_only_shown() {
        for (text, page) in [
            (
                "<script>alert(1)</script>",
                "&lt;script&gt;alert(1)&lt;/script&gt;",
            ),
            ("\" onload='x' &lt;", "&quot; onload=&#39;x&#39; &amp;lt;"),
            ("]]> --> <!-- &#60;", "]]&gt; --&gt; &lt;!-- &amp;#60;"),
            ("2\u{202e}0 g", "2\\u{202e}0 g"),
            ("a\u{2067}b\u{2069}", "a\\u{2067}b\\u{2069}"),
            ("a\u{0}b\nc\u{ffff}", "a\\u{0}b c\\u{ffff}"),
            ("Mentha × piperita", "Mentha × piperita"),
            ("", ""),
        ] {
            assert_eq!(markup(text, ["[", "]"]), page);
        }
    }

    #[test]
    fn stretches_of_right_to_left_writing_are_kept_apart() {
        for (text, page) in [
            ("שלום", "[שלום]"),
            ("take שלום, שלום 12 g", "take [שלום, שלום] 12 g"),
            ("שלום 12 שלום", "[שלום] 12 [שלום]"),
            ("<שלום>", "&lt;[שלום]&gt;"),
            ("שלום<b>שלום", "[שלום]&lt;b&gt;[שלום]"),
        ] {
            assert_eq!(markup(text, ["[", "]"]), page);
        }
    }
}
