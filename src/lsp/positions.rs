//! Turns bytes into the lines and characters by which an editor counts, and back: here and nowhere else.

use lsp_types::{Position, PositionEncodingKind, Range};

use crate::source::Source;

/// How an editor counts the characters of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// In bytes of UTF-8.
    Utf8,
    /// In units of UTF-16, as every editor can.
    Utf16,
    /// In characters.
    Utf32,
}

impl Encoding {
    /// The best of those that an editor offers: bytes need no counting; else the one that it names first.
    pub fn chosen(offered: Option<&[PositionEncodingKind]>) -> Self {
        let offered = offered.unwrap_or_default();
        let known = [Self::Utf8, Self::Utf16, Self::Utf32];
        let find = |kind: &PositionEncodingKind| known.into_iter().find(|own| own.kind() == *kind);
        if offered.contains(&PositionEncodingKind::UTF8) {
            return Self::Utf8;
        }
        offered.iter().find_map(find).unwrap_or(Self::Utf16)
    }

    /// Its name in the protocol.
    pub fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
            Self::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    fn of(self, letter: char) -> usize {
        match self {
            Self::Utf8 => letter.len_utf8(),
            Self::Utf16 => letter.len_utf16(),
            Self::Utf32 => 1,
        }
    }

    /// How long a piece of a line is.
    pub fn length(self, text: &str) -> u32 {
        let units = if self == Self::Utf8 || text.is_ascii() {
            text.len()
        } else {
            text.chars().map(|letter| self.of(letter)).sum()
        };
        narrow(units)
    }
}

/// A text with its lines, and how an editor counts in it.
#[derive(Debug, Clone, Copy)]
pub struct Lines<'a> {
    text: &'a str,
    starts: &'a [u32],
    encoding: Encoding,
}

impl<'a> Lines<'a> {
    /// Of a text whose lines begin at these bytes.
    pub fn new(text: &'a str, starts: &'a [u32], encoding: Encoding) -> Self {
        Self {
            text,
            starts,
            encoding,
        }
    }

    /// Of a file of a ledger.
    pub fn of(source: &'a Source, encoding: Encoding) -> Self {
        Self::new(&source.text, source.line_starts(), encoding)
    }

    /// A byte's line and character; of one inside a character, that character's.
    pub fn position(&self, byte: usize) -> Position {
        let mut byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte = byte.saturating_sub(1);
        }
        let line = self
            .starts
            .partition_point(|start| wide(*start) <= byte)
            .saturating_sub(1);
        let start = self.starts.get(line).map_or(0, |start| wide(*start));
        let before = self.text.get(start..byte).unwrap_or_default();
        Position {
            line: narrow(line),
            character: self.encoding.length(before),
        }
    }

    /// The range from one byte to another.
    pub fn range(&self, start: usize, end: usize) -> Range {
        Range {
            start: self.position(start),
            end: self.position(end),
        }
    }

    /// The byte of a position; beyond the end of its line that end, beyond the last line the end of the text.
    pub fn byte(&self, position: Position) -> usize {
        let line = wide(position.line);
        let Some(start) = self.starts.get(line).map(|start| wide(*start)) else {
            return self.text.len();
        };
        let end = self
            .starts
            .get(line.saturating_add(1))
            .map_or(self.text.len(), |next| wide(*next));
        let said = self
            .text
            .get(start..end)
            .unwrap_or_default()
            .trim_end_matches(['\n', '\r']);
        let wanted = wide(position.character);
        let mut counted = 0_usize;
        let mut byte = start;
        for letter in said.chars() {
            let units = self.encoding.of(letter);
            if counted.saturating_add(units) > wanted {
                break;
            }
            counted = counted.saturating_add(units);
            byte = byte.saturating_add(letter.len_utf8());
        }
        byte
    }
}

fn narrow(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}

fn wide(value: u32) -> usize {
    usize::try_from(value).unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::{Encoding, Lines};
    use crate::source::line_starts;
    use lsp_types::Position;

    #[test]
    fn there_and_back_in_every_encoding() {
        for text in ["", "a", "a\nb", "кипрей 🌿 x\r\n½ g\rz\n", "\u{feff}herb é\n\n"] {
            let starts = line_starts(text);
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let lines = Lines::new(text, &starts, encoding);
                for (byte, letter) in text.char_indices().chain([(text.len(), ' ')]) {
                    // Between the two signs that end a line there is no place to stand.
                    if letter == '\n' && text.get(..byte).unwrap().ends_with('\r') {
                        continue;
                    }
                    assert_eq!(
                        lines.byte(lines.position(byte)),
                        byte,
                        "{text:?} {byte} {encoding:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn what_no_line_has_is_the_end() {
        let text = "ab\n🌿c\n";
        let starts = line_starts(text);
        let lines = Lines::new(text, &starts, Encoding::Utf16);
        let byte = |line, character| lines.byte(Position { line, character });
        assert_eq!(byte(0, 99), 2);
        assert_eq!(byte(1, 1), 3, "the middle of a character is its start");
        assert_eq!(byte(1, 2), 7);
        assert_eq!(byte(u32::MAX, u32::MAX), text.len());
        assert_eq!(lines.position(5).character, 0);
    }
}
