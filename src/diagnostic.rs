//! Turns a fault found in the text into one plain record, and records into printed reports.

use std::collections::HashSet;

use crate::code::Code;
use crate::source::{Sources, Span};

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; nothing is wrong.
    Notice,
    /// Probably wrong; figures are still given.
    Warning,
    /// Wrong; the figures that depend on it are withheld.
    Error,
}

impl Severity {
    /// The word that people see.
    pub fn word(self) -> &'static str {
        match self {
            Self::Notice => "notice",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// One text edit of a fix.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; an empty span inserts.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// A mending that can be applied as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fix {
    /// What it does, in a few words.
    pub title: String,
    /// Its edits, none overlapping another.
    pub edits: Vec<Edit>,
}

/// One finding: what is wrong, where, why it matters and what to type instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Which kind of finding it is.
    pub code: Code,
    /// How much it weighs.
    pub severity: Severity,
    /// What is wrong, in the reader's words; lower case, no full stop.
    pub message: String,
    /// Where.
    pub span: Span,
    /// What stands under the mark, if anything.
    pub label: Option<String>,
    /// Other places that explain it, in any file.
    pub related: Vec<(Span, String)>,
    /// What to do, and why it matters.
    pub help: Option<String>,
    /// A mending that a program can apply.
    pub fix: Option<Fix>,
    /// What it is about, where one finding about it stands for all: of those with the same words here
    /// only the first is shown, so that one slip costs one message however often it is made.
    pub once: Option<String>,
}

impl Diagnostic {
    /// A finding that withholds figures.
    pub fn error(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, span, message)
    }

    /// A finding that lets figures stand.
    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, span, message)
    }

    /// A remark.
    pub fn notice(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self::new(Severity::Notice, code, span, message)
    }

    fn new(severity: Severity, code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity,
            message: message.into(),
            span,
            label: None,
            related: Vec::new(),
            help: None,
            fix: None,
            once: None,
        }
    }

    /// Says what stands under the mark.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.label = Some(text.into());
        self
    }

    /// Points to another place.
    #[must_use]
    pub fn related(mut self, span: Span, text: impl Into<String>) -> Self {
        self.related.push((span, text.into()));
        self
    }

    /// Says what to do.
    #[must_use]
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = Some(text.into());
        self
    }

    /// Of all findings of this code about this, only the first is shown.
    #[must_use]
    pub fn said_once(mut self, about: impl Into<String>) -> Self {
        self.once = Some(about.into());
        self
    }

    /// Offers to replace the text under a span.
    #[must_use]
    pub fn fix(mut self, title: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        self.fix = Some(Fix {
            title: title.into(),
            edits: vec![Edit {
                span,
                text: text.into(),
            }],
        });
        self
    }
}

/// Puts findings in the order of the files' names and lines, the graver first at one place.
pub fn sort(diagnostics: &mut [Diagnostic], sources: &Sources) {
    diagnostics.sort_by(|a, b| {
        (sources.path(a.span), a.span.start, b.severity, a.code).cmp(&(
            sources.path(b.span),
            b.span.start,
            a.severity,
            b.code,
        ))
    });
}

/// Of findings in their order, takes out and gives those that say again what one before them says for all.
pub fn take_repetitions(diagnostics: &mut Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut said: HashSet<(Code, String)> = HashSet::new();
    let is_repetition = |one: &mut Diagnostic| match &one.once {
        Some(about) => !said.insert((one.code, about.clone())),
        None => false,
    };
    diagnostics.extract_if(.., is_repetition).collect()
}
