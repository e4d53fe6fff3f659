//! Findings for people: the one door to miette.

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use miette::{
    GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents, SourceCode,
    SourceSpan, SpanContents,
};

use crate::diagnostic::{Diagnostic, Severity};
use crate::render::{Page, escape};
use crate::source::{FileId, Source, Sources, Span};

/// Lines longer than this are not drawn; their place is named instead.
const WIDEST_LINE: usize = 400;

/// Prints findings as reports with the lines that they speak of.
pub fn print<'a>(
    diagnostics: impl IntoIterator<Item = &'a Diagnostic>,
    sources: &Sources,
    page: &Page,
) -> String {
    let mut theme = match (page.unicode, page.colour) {
        (true, true) => GraphicalTheme::unicode(),
        (true, false) => GraphicalTheme::unicode_nocolor(),
        (false, _) => GraphicalTheme::none(),
    };
    if page.unicode {
        "×".clone_into(&mut theme.characters.error);
    }
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_width(page.width.min(120))
        .with_links(false)
        .with_show_related_as_nested(true);
    let mut printer = Printer {
        sources,
        safe: HashMap::new(),
    };
    let mut out = String::new();
    for diagnostic in diagnostics {
        let report = printer.report(diagnostic);
        // Writing into a string does not fail.
        let _ = handler.render_report(&mut out, &report);
        out.push('\n');
    }
    out
}

struct Printer<'a> {
    sources: &'a Sources,
    /// Texts with every byte kept in its place and nothing that a terminal would obey.
    safe: HashMap<FileId, Arc<Drawn>>,
}

impl Printer<'_> {
    fn report(&mut self, diagnostic: &Diagnostic) -> Report {
        let mut here = vec![(diagnostic.span, diagnostic.label.clone())];
        let mut elsewhere: Vec<(Span, String)> = Vec::new();
        for (span, text) in &diagnostic.related {
            if span.file == diagnostic.span.file {
                here.push((*span, Some(text.clone())));
            } else {
                elsewhere.push((*span, text.clone()));
            }
        }
        let drawn = here.iter().all(|(span, _)| self.is_drawable(*span));
        let message = escape::terminal(&diagnostic.message).into_owned();
        let related = elsewhere
            .into_iter()
            .map(|(span, text)| {
                let text = escape::terminal(&text).into_owned();
                let drawn = self.is_drawable(span);
                Report {
                    message: if drawn {
                        text
                    } else {
                        format!("{} ({})", text, self.address(span))
                    },
                    code: None,
                    severity: miette::Severity::Advice,
                    help: None,
                    labels: if drawn {
                        vec![label(span, None, true)]
                    } else {
                        Vec::new()
                    },
                    source: drawn.then(|| self.text(span.file)).flatten(),
                    related: Vec::new(),
                }
            })
            .collect();
        Report {
            message: if drawn {
                message
            } else {
                format!("{message} ({})", self.address(diagnostic.span))
            },
            code: Some(diagnostic.code.name()),
            severity: match diagnostic.severity {
                Severity::Error => miette::Severity::Error,
                Severity::Warning => miette::Severity::Warning,
                Severity::Notice => miette::Severity::Advice,
            },
            help: diagnostic
                .help
                .as_ref()
                .map(|help| escape::terminal(help).into_owned()),
            labels: if drawn {
                here.into_iter()
                    .enumerate()
                    .map(|(place, (span, text))| label(span, text, place == 0))
                    .collect()
            } else {
                Vec::new()
            },
            source: drawn.then(|| self.text(diagnostic.span.file)).flatten(),
            related,
        }
    }

    fn address(&self, span: Span) -> String {
        escape::terminal(&self.sources.address(span)).into_owned()
    }

    /// Whether the line can be drawn: there is one, and it is not too long.
    fn is_drawable(&self, span: Span) -> bool {
        self.sources.get(span.file).is_some_and(|source| {
            let text = &source.text;
            let from = text.get(..span.first_byte()).map_or(0, |before| {
                before.rfind('\n').map_or(0, |at| at.saturating_add(1))
            });
            let rest = text.get(from..).unwrap_or_default();
            let length = rest.find('\n').unwrap_or(rest.len());
            !text.is_empty() && length <= WIDEST_LINE
        })
    }

    fn text(&mut self, file: FileId) -> Option<Arc<Drawn>> {
        if let Some(known) = self.safe.get(&file) {
            return Some(Arc::clone(known));
        }
        let source = self.sources.get(file)?;
        let made = Arc::new(Drawn::new(
            escape::terminal(&source.path).into_owned(),
            safe(source),
        ));
        self.safe.insert(file, Arc::clone(&made));
        Some(made)
    }
}

/// A text to draw lines of. The library would read it from its first byte for each finding; with the places of its
/// lines known, a report on ten thousand lines takes no longer for each of them than one on ten.
#[derive(Debug)]
struct Drawn {
    name: String,
    text: String,
    /// The first byte of each line.
    lines: Vec<usize>,
}

impl Drawn {
    fn new(name: String, text: String) -> Self {
        let ends = text.match_indices('\n').map(|(at, _)| at.saturating_add(1));
        let lines = std::iter::once(0).chain(ends).collect();
        Self { name, text, lines }
    }
}

impl SourceCode for Drawn {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        lines_before: usize,
        lines_after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let line = self.lines.partition_point(|start| *start <= span.offset());
        // One line more than is shown, so that reading begins as it would further up.
        let above = line.saturating_sub(lines_before.saturating_add(2));
        let from = self.lines.get(above).copied().unwrap_or(0);
        let rest = self.text.get(from..).unwrap_or_default();
        let place = SourceSpan::from((span.offset().saturating_sub(from), span.len()));
        let found = rest.read_span(&place, lines_before, lines_after)?;
        let shown = SourceSpan::from((found.span().offset().saturating_add(from), found.span().len()));
        Ok(Box::new(MietteSpanContents::new_named(
            self.name.clone(),
            found.data(),
            shown,
            found.line().saturating_add(above),
            found.column(),
            found.line_count().saturating_add(above),
        )))
    }
}

/// The text with each letter that a terminal would obey, or that can't be seen, replaced by one
/// of the same number of bytes, so that all places stay right.
fn safe(source: &Source) -> String {
    let mut letters = source.text.chars().peekable();
    std::iter::from_fn(|| {
        let letter = letters.next()?;
        Some((letter, letters.peek() == Some(&'\n')))
    })
    .map(|(letter, before_line_feed)| {
        let one = letter.to_string();
        let kept = matches!(letter, '\n' | '\t') || escape::terminal(&one) == one;
        match (kept, letter.len_utf8()) {
            (true, _) => letter,
            (false, 1) if letter == '\r' => {
                if before_line_feed {
                    ' '
                } else {
                    '\n'
                }
            }
            (false, 1) => '?',
            (false, 2) => '¿',
            (false, 3) => '\u{fffd}',
            (false, _) => '\u{1f533}',
        }
    })
    .collect()
}

fn label(span: Span, text: Option<String>, primary: bool) -> LabeledSpan {
    let text = text.map(|text| escape::terminal(&text).into_owned());
    let place = (span.first_byte(), span.length());
    if primary {
        LabeledSpan::new_primary_with_span(text, place)
    } else {
        LabeledSpan::new_with_span(text, place)
    }
}

fn displayed<'a>(text: &'a impl fmt::Display) -> Box<dyn fmt::Display + 'a> {
    Box::new(text)
}

#[derive(Debug)]
struct Report {
    message: String,
    code: Option<&'static str>,
    severity: miette::Severity,
    help: Option<String>,
    labels: Vec<LabeledSpan>,
    source: Option<Arc<Drawn>>,
    related: Vec<Report>,
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Report {}

impl miette::Diagnostic for Report {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.code.as_ref().map(displayed)
    }

    fn severity(&self) -> Option<miette::Severity> {
        Some(self.severity)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(displayed)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        let source: &dyn SourceCode = self.source.as_deref()?;
        Some(source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        if self.labels.is_empty() {
            return None;
        }
        Some(Box::new(self.labels.iter().cloned()))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn miette::Diagnostic> + 'a>> {
        if self.related.is_empty() {
            return None;
        }
        Some(Box::new(
            self.related.iter().map(|one| -> &dyn miette::Diagnostic { one }),
        ))
    }
}

#[cfg(test)]
mod tests {
    use miette::{SourceCode, SourceSpan};

    use super::Drawn;

    /// Every place of a text is drawn as the library would draw it from the first byte on.
    #[test]
    fn lines_are_read_as_the_library_reads_them() {
        for text in [
            "",
            "one",
            "one\n",
            "\n\n\n",
            "herb a\n  b\n\n  cc\nherb é\n  d\n  e\n\nf",
            "a\nb\nc\nd\ne\nf\ng\n",
        ] {
            let drawn = Drawn::new("a file".to_owned(), text.to_owned());
            for from in 0..=text.len() {
                for length in 0..=text.len() - from {
                    for around in 0..3 {
                        let span = SourceSpan::from((from, length));
                        let told = |source: &dyn SourceCode| {
                            source.read_span(&span, around, around).ok().map(|found| {
                                let (data, span) = (found.data().to_vec(), *found.span());
                                (data, span, found.line(), found.column(), found.line_count())
                            })
                        };
                        assert_eq!(told(&drawn), told(&text), "{text:?} {from} {length} {around}");
                    }
                }
            }
        }
    }
}
