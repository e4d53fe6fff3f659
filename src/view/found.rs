//! Turns findings into the blocks of a document: what is wrong, the line, and what to type instead.
//!
//! On a screen they are drawn as reports instead, which show more than one place at once.

use crate::diagnostic::{Diagnostic, Severity};
use crate::render::{self, Document, Note};
use crate::source::{Sources, Span};

/// Lines longer than this are not shown; their place is named all the same.
const WIDEST_LINE: usize = 400;

/// Adds a heading for each finding and what there is to say about it.
pub fn findings<'a>(
    page: &mut Document,
    diagnostics: impl IntoIterator<Item = &'a Diagnostic>,
    sources: &Sources,
) {
    for diagnostic in diagnostics {
        finding(page, diagnostic, sources);
    }
}

fn finding(page: &mut Document, diagnostic: &Diagnostic, sources: &Sources) {
    page.heading(format!(
        "{}, {}",
        sources.address(diagnostic.span),
        diagnostic.code
    ));
    let message = diagnostic.message.as_str();
    page.notes([match diagnostic.severity {
        Severity::Error => Note::error(message),
        Severity::Warning => Note::warning(message),
        // A remark that stands alone has no word in front of it, so this one brings its own.
        Severity::Notice => Note::plain(format!("notice: {message}")),
    }]);
    if let Some(lines) = shown(diagnostic.span, diagnostic.label.as_deref(), sources) {
        page.preformatted(&lines);
    }
    let mut facts: Vec<(&str, String)> = Vec::new();
    facts.extend(diagnostic.help.clone().map(|help| ("what helps", help)));
    facts.extend(
        diagnostic
            .related
            .iter()
            .map(|(span, text)| ("see also", format!("{}: {text}", sources.address(*span)))),
    );
    if !facts.is_empty() {
        page.facts(facts);
    }
}

/// The line that a finding speaks of, and below it a mark under what is meant.
fn shown(span: Span, label: Option<&str>, sources: &Sources) -> Option<String> {
    let text = &sources.get(span.file)?.text;
    let from = span.first_byte();
    let start = text.get(..from)?.rfind('\n').map_or(0, |at| at.saturating_add(1));
    let line = text.get(start..)?.lines().next()?;
    if line.trim().is_empty() || line.len() > WIDEST_LINE {
        return None;
    }
    let number = sources.place(span).line.to_string();
    let line = line.replace('\t', " ");
    let before = line.get(..from.saturating_sub(start))?;
    let end = before.len().saturating_add(span.length()).min(line.len());
    let meant = line.get(before.len()..end)?;
    let blanks = |count: usize| " ".repeat(count);
    let under = blanks(render::columns(before));
    let marks = "^".repeat(render::columns(meant).max(1));
    let label = label.unwrap_or_default();
    let margin = blanks(render::columns(&number));
    Some(
        format!("{number} | {line}\n{margin} | {under}{marks} {label}")
            .trim_end()
            .to_owned(),
    )
}
