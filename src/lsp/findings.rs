//! Turns the findings of a ledger into what an editor shows beside the lines, file by file.

use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};

use lsp_types::{
    CodeDescription, Diagnostic as Shown, DiagnosticRelatedInformation, DiagnosticSeverity, Location,
    NumberOrString,
};

use super::address;
use super::ledgers::Ledger;
use super::positions::{Encoding, Lines};
use crate::diagnostic::{Diagnostic, Severity};
use crate::source::{FileId, Span};
use crate::workspace::Snapshot;

/// How the address of a finding's page begins; `scruple/page` gives the text.
pub const PAGES: &str = "scruple:/findings/";

/// The address of the page of a kind of finding.
pub fn page(code: &str) -> String {
    format!("{PAGES}{code}.md")
}

/// The findings of a file, which stand together in a snapshot.
pub fn of_file<'a>(snapshot: &'a Snapshot, path: &str) -> &'a [Diagnostic] {
    let all = snapshot.diagnostics.as_slice();
    let sources = &snapshot.sources;
    let start = all.partition_point(|one| sources.path(one.span) < path);
    let end = all.partition_point(|one| sources.path(one.span) <= path);
    all.get(start..end).unwrap_or_default()
}

/// A sum over findings that differs where they differ, or where a file that they speak of was read again.
pub fn sum(found: &[Diagnostic]) -> u64 {
    let mut hasher = DefaultHasher::new();
    for one in found {
        (one.code, one.severity, &one.message, one.span).hash(&mut hasher);
        (&one.label, &one.related, &one.help).hash(&mut hasher);
    }
    hasher.finish()
}

/// The same over what is sent.
pub fn sum_of_shown(shown: &[Shown]) -> u64 {
    let mut hasher = DefaultHasher::new();
    for one in shown {
        let place = |range: &lsp_types::Range| {
            [
                range.start.line,
                range.start.character,
                range.end.line,
                range.end.character,
            ]
        };
        place(&one.range).hash(&mut hasher);
        one.message.hash(&mut hasher);
        if let Some(NumberOrString::String(code)) = &one.code {
            code.hash(&mut hasher);
        }
        for other in one.related_information.iter().flatten() {
            place(&other.location.range).hash(&mut hasher);
            (other.location.uri.as_str(), &other.message).hash(&mut hasher);
        }
    }
    hasher.finish()
}

/// A ledger, and how the editor counts and names.
#[derive(Clone, Copy)]
pub struct Wording<'a> {
    /// The ledger.
    pub ledger: &'a Ledger,
    /// As it is now.
    pub snapshot: &'a Snapshot,
    /// How the editor counts.
    pub encoding: Encoding,
    /// Whether it shows places that explain a finding.
    pub shows_related: bool,
}

impl Wording<'_> {
    /// A span as a place in the editor.
    pub fn location(&self, span: Span) -> Option<Location> {
        let source = self.snapshot.sources.get(span.file)?;
        Some(Location {
            uri: address::uri(&self.ledger.uri(&source.path))?,
            range: Lines::of(source, self.encoding).range(span.first_byte(), span.end_byte()),
        })
    }

    /// The lines of a file.
    pub fn lines(&self, file: FileId) -> Option<Lines<'_>> {
        Some(Lines::of(self.snapshot.sources.get(file)?, self.encoding))
    }

    /// A finding as an editor shows it.
    pub fn shown(&self, finding: &Diagnostic) -> Option<Shown> {
        let range = self
            .lines(finding.span.file)?
            .range(finding.span.first_byte(), finding.span.end_byte());
        let mut message = finding.message.clone();
        if let Some(label) = &finding.label {
            message = format!("{message}: {label}");
        }
        if let Some(help) = &finding.help {
            message = format!("{message}\n{help}");
        }
        let related: Vec<DiagnosticRelatedInformation> = finding
            .related
            .iter()
            .filter(|_| self.shows_related)
            .filter_map(|(span, text)| {
                Some(DiagnosticRelatedInformation {
                    location: self.location(*span)?,
                    message: text.clone(),
                })
            })
            .collect();
        Some(Shown {
            range,
            severity: Some(match finding.severity {
                Severity::Error => DiagnosticSeverity::ERROR,
                Severity::Warning => DiagnosticSeverity::WARNING,
                Severity::Notice => DiagnosticSeverity::INFORMATION,
            }),
            code: Some(NumberOrString::String(finding.code.name().to_owned())),
            code_description: address::uri(&page(finding.code.name())).map(|href| CodeDescription { href }),
            source: Some("scruple".to_owned()),
            message,
            related_information: (!related.is_empty()).then_some(related),
            tags: None,
            data: None,
        })
    }
}
