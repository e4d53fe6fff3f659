//! The working of a figure: kept only when it is asked for, by the same code that reckons.

use crate::source::Span;

/// One step of a working.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What was done, with its figures.
    pub says: String,
    /// The line that it rests on.
    pub span: Option<Span>,
    /// The book that the line cites.
    pub book: Option<usize>,
}

/// Where steps go.
#[derive(Debug)]
pub struct Trace {
    recording: bool,
    /// The steps of each line.
    pub lines: Vec<Vec<Step>>,
}

impl Trace {
    /// Keeps nothing.
    pub fn silent() -> Self {
        Self {
            recording: false,
            lines: Vec::new(),
        }
    }

    /// Keeps every step.
    pub fn recording() -> Self {
        Self {
            recording: true,
            lines: Vec::new(),
        }
    }

    /// Whether steps are kept.
    pub fn is_recording(&self) -> bool {
        self.recording
    }

    /// Another one beside it, for steps that are looked at before they are kept: it has room for a line
    /// if this one has.
    #[must_use]
    pub fn aside(&self, line: usize) -> Self {
        let lines = if self.recording {
            vec![Vec::new(); line.saturating_add(1)]
        } else {
            Vec::new()
        };
        Self {
            recording: self.recording,
            lines,
        }
    }

    /// Makes room for so many lines.
    pub fn begin(&mut self, lines: usize) {
        if self.recording {
            self.lines = vec![Vec::new(); lines];
        }
    }

    /// Keeps a step of a line; the words are made only if they are kept.
    pub fn note(
        &mut self,
        line: usize,
        span: Option<Span>,
        book: Option<usize>,
        says: impl FnOnce() -> String,
    ) {
        if self.recording
            && let Some(steps) = self.lines.get_mut(line)
        {
            steps.push(Step {
                says: says(),
                span,
                book,
            });
        }
    }
}
