//! Turns what an editor says of the texts that it holds into those texts, saved or not.

use std::path::PathBuf;

use lsp_types::TextDocumentContentChangeEvent;

use super::positions::{Encoding, Lines};
use crate::source::line_starts;

/// A text that an editor holds.
#[derive(Debug, Clone)]
pub struct Document {
    /// Where it lies or would lie; nothing for a text that has no place on a disk.
    pub path: Option<PathBuf>,
    /// The editor's count of its changes.
    pub version: i32,
    /// The text.
    pub text: String,
    /// The ledger that it belongs to, and its path there.
    pub place: Option<(String, String)>,
}

impl Document {
    /// Makes the changes that an editor tells of, in their order.
    pub fn change(&mut self, version: i32, changes: Vec<TextDocumentContentChangeEvent>, encoding: Encoding) {
        self.version = version;
        for change in changes {
            let Some(range) = change.range else {
                self.text = change.text;
                continue;
            };
            let starts = line_starts(&self.text);
            let lines = Lines::new(&self.text, &starts, encoding);
            let (one, other) = (lines.byte(range.start), lines.byte(range.end));
            let (start, end) = (one.min(other), one.max(other));
            if self.text.is_char_boundary(start) && self.text.is_char_boundary(end) {
                self.text.replace_range(start..end, &change.text);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Document, Encoding};
    use lsp_types::{Position, Range, TextDocumentContentChangeEvent};

    #[test]
    fn changes_are_made_in_their_order() {
        let mut document = Document {
            path: None,
            version: 1,
            text: "a 🌿 b\nc".to_owned(),
            place: None,
        };
        let change = |from: (u32, u32), to: (u32, u32), text: &str| TextDocumentContentChangeEvent {
            range: Some(Range {
                start: Position {
                    line: from.0,
                    character: from.1,
                },
                end: Position {
                    line: to.0,
                    character: to.1,
                },
            }),
            range_length: None,
            text: text.to_owned(),
        };
        let changes = vec![
            change((0, 2), (0, 4), "rue"),
            change((1, 0), (0, 5), ""),
            change((9, 9), (9, 9), "!"),
        ];
        document.change(2, changes, Encoding::Utf16);
        assert_eq!(document.text, "a ruec!");
        let whole = TextDocumentContentChangeEvent {
            range: None,
            range_length: None,
            text: "x".to_owned(),
        };
        document.change(3, vec![whole], Encoding::Utf16);
        assert_eq!(document.text, "x");
    }
}
