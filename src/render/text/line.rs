//! Turns a set line with its emphasis into characters for the terminal.

use super::wrap;

/// How a stretch of text stands out where colours are wanted; it never carries meaning of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    Plain,
    Bold,
    Dim,
    Warning,
    Error,
}

/// A line that is ready to print.
#[derive(Debug, Clone, Default)]
pub(super) struct Line {
    spans: Vec<(Ink, String)>,
}

impl Ink {
    /// The codes of ECMA-48 "select graphic rendition": 1 bold, 2 faint, 33 yellow.
    fn code(self) -> Option<&'static str> {
        match self {
            Self::Plain => None,
            Self::Bold => Some("\u{1b}[1m"),
            Self::Dim => Some("\u{1b}[2m"),
            Self::Warning => Some("\u{1b}[33m"),
            Self::Error => Some("\u{1b}[1;33m"),
        }
    }
}

impl Line {
    /// A line with nothing on it.
    pub(super) fn empty() -> Self {
        Self::default()
    }

    /// A line in one ink.
    pub(super) fn new(ink: Ink, text: impl Into<String>) -> Self {
        Self::empty().then(ink, text)
    }

    /// A line without emphasis.
    pub(super) fn plain(text: impl Into<String>) -> Self {
        Self::new(Ink::Plain, text)
    }

    /// A thin rule.
    pub(super) fn rule(width: usize, unicode: bool) -> Self {
        Self::new(Ink::Dim, if unicode { "─" } else { "-" }.repeat(width))
    }

    /// The same line with more text at its end.
    pub(super) fn then(mut self, ink: Ink, text: impl Into<String>) -> Self {
        self.spans.push((ink, text.into()));
        self
    }

    /// The same line set in by so many blanks.
    pub(super) fn indented(mut self, by: usize) -> Self {
        self.spans.insert(0, (Ink::Plain, wrap::blanks(by)));
        self
    }

    /// The display columns of the line.
    pub(super) fn columns(&self) -> usize {
        let text: String = self.spans.iter().map(|(_, text)| text.as_str()).collect();
        wrap::columns(text.trim_end())
    }

    /// Writes the line without trailing blanks, and its end.
    pub(super) fn print(mut self, colour: bool, out: &mut String) {
        // Blanks inside emphasis would be hidden behind its end, so they go before it is written.
        while let Some((_, last)) = self.spans.last_mut() {
            last.truncate(last.trim_end().len());
            if !last.is_empty() {
                break;
            }
            self.spans.pop();
        }
        for (ink, text) in self.spans {
            match ink.code() {
                Some(code) if colour && !text.is_empty() => {
                    out.push_str(code);
                    out.push_str(&text);
                    out.push_str("\u{1b}[0m");
                }
                _ => out.push_str(&text),
            }
        }
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(line: Line, colour: bool) -> String {
        let mut out = String::new();
        line.print(colour, &mut out);
        out
    }

    #[test]
    fn trailing_blanks_go_even_inside_emphasis() {
        let line = Line::new(Ink::Bold, "total  ")
            .then(Ink::Dim, "  ")
            .then(Ink::Plain, "");
        assert_eq!(line.columns(), 5);
        assert_eq!(printed(line.clone(), false), "total\n");
        assert_eq!(printed(line, true), "\u{1b}[1mtotal\u{1b}[0m\n");
    }

    #[test]
    fn an_indent_is_not_emphasised() {
        let line = Line::new(Ink::Dim, "x").indented(2);
        assert_eq!(printed(line, true), "  \u{1b}[2mx\u{1b}[0m\n");
        assert_eq!(printed(Line::empty().indented(2), true), "\n");
    }

    #[test]
    fn rules_have_a_plain_form() {
        assert_eq!(printed(Line::rule(3, true), false), "───\n");
        assert_eq!(printed(Line::rule(3, false), false), "---\n");
    }
}
