//! Turns findings into published data: JSON of our own shape, and SARIF 2.1.0 (an OASIS standard).

use std::fmt::Write;

use serde::Serialize;

use crate::diagnostic::{Diagnostic, Severity};
use crate::source::{Sources, Span};
use crate::workspace::Snapshot;

/// A place in a file; lines and columns begin at one, columns count characters.
#[derive(Debug, Clone, Serialize)]
pub struct At {
    /// The file.
    pub file: String,
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
    /// The line after the last character.
    pub end_line: usize,
    /// The column after the last character.
    pub end_column: usize,
}

/// Where a span stands.
pub fn at(sources: &Sources, span: Span) -> At {
    let start = sources.place(span);
    let end = sources.place(span.after());
    At {
        file: sources.path(span).to_owned(),
        line: start.line,
        column: start.column,
        end_line: end.line,
        end_column: end.column,
    }
}

/// Another place that explains a finding.
#[derive(Debug, Clone, Serialize)]
pub struct Related {
    /// Where.
    pub at: At,
    /// What is there.
    pub text: String,
}

/// A mending that a program can apply.
#[derive(Debug, Clone, Serialize)]
pub struct Mending {
    /// What it does.
    pub title: String,
    /// What is replaced, by what.
    pub edits: Vec<Replacement>,
}

/// One replacement.
#[derive(Debug, Clone, Serialize)]
pub struct Replacement {
    /// Where; an empty range inserts.
    pub at: At,
    /// By what.
    pub text: String,
}

/// One finding.
#[derive(Debug, Clone, Serialize)]
pub struct Finding {
    /// Its code.
    pub code: &'static str,
    /// `error`, `warning` or `notice`.
    pub severity: &'static str,
    /// What is wrong.
    pub message: String,
    /// Where.
    pub at: At,
    /// Other places.
    pub related: Vec<Related>,
    /// What to do.
    pub help: Option<String>,
    /// A mending.
    pub fix: Option<Mending>,
}

/// What `check --as json` prints.
#[derive(Debug, Clone, Serialize)]
pub struct Findings {
    /// How many files were read.
    pub files: usize,
    /// How many formulas they hold.
    pub formulas: usize,
    /// How many errors there are.
    pub errors: usize,
    /// How many warnings.
    pub warnings: usize,
    /// How many notices.
    pub notices: usize,
    /// The findings, by file and line.
    #[expect(clippy::struct_field_names, reason = "the name is published")]
    pub findings: Vec<Finding>,
}

/// One finding as data.
pub fn finding(sources: &Sources, diagnostic: &Diagnostic) -> Finding {
    Finding {
        code: diagnostic.code.name(),
        severity: diagnostic.severity.word(),
        message: diagnostic.message.clone(),
        at: at(sources, diagnostic.span),
        related: diagnostic
            .related
            .iter()
            .map(|(span, text)| Related {
                at: at(sources, *span),
                text: text.clone(),
            })
            .collect(),
        help: diagnostic.help.clone(),
        fix: diagnostic.fix.as_ref().map(|fix| Mending {
            title: fix.title.clone(),
            edits: fix
                .edits
                .iter()
                .map(|edit| Replacement {
                    at: at(sources, edit.span),
                    text: edit.text.clone(),
                })
                .collect(),
        }),
    }
}

/// How many findings there are of a severity.
pub fn count(diagnostics: &[Diagnostic], severity: Severity) -> usize {
    diagnostics.iter().filter(|one| one.severity == severity).count()
}

/// All findings of a ledger as data.
pub fn findings(snapshot: &Snapshot) -> Findings {
    data(snapshot, &snapshot.diagnostics)
}

/// The errors for which a formula has no figures, as data.
pub fn of_faults(snapshot: &Snapshot, formula: usize) -> Findings {
    let faults: Vec<Diagnostic> = snapshot.faults_of(formula).into_iter().cloned().collect();
    data(snapshot, &faults)
}

fn data(snapshot: &Snapshot, all: &[Diagnostic]) -> Findings {
    Findings {
        files: snapshot.sources.iter().count(),
        formulas: snapshot.ledger.formulas.len(),
        errors: count(all, Severity::Error),
        warnings: count(all, Severity::Warning),
        notices: count(all, Severity::Notice),
        findings: all.iter().map(|one| finding(&snapshot.sources, one)).collect(),
    }
}

/// All findings as SARIF 2.1.0.
pub fn sarif(snapshot: &Snapshot) -> serde_json::Value {
    use serde_json::json;
    let region = |at: &At| {
        json!({
            "startLine": at.line, "startColumn": at.column,
            "endLine": at.end_line, "endColumn": at.end_column,
        })
    };
    let location = |at: &At| {
        json!({
            "physicalLocation": {
                "artifactLocation": { "uri": uri(&at.file) },
                "region": region(at),
            }
        })
    };
    let found = findings(snapshot);
    let mut codes: Vec<&str> = found.findings.iter().map(|one| one.code).collect();
    codes.sort_unstable();
    codes.dedup();
    let rules: Vec<_> = codes
        .iter()
        .map(|name| {
            let page = crate::code::Code::named(name).map_or("", crate::code::Code::page);
            json!({
                "id": name,
                "shortDescription": { "text": first_sentence(page) },
                "help": { "text": page, "markdown": page },
            })
        })
        .collect();
    let results: Vec<_> = found
        .findings
        .iter()
        .map(|one| {
            let mut text = one.message.clone();
            if let Some(help) = &one.help {
                text.push_str(". ");
                text.push_str(help);
            }
            let related: Vec<_> = one
                .related
                .iter()
                .map(|other| {
                    let mut place = location(&other.at);
                    if let Some(fields) = place.as_object_mut() {
                        fields.insert("message".to_owned(), json!({ "text": other.text }));
                    }
                    place
                })
                .collect();
            json!({
                "ruleId": one.code,
                "ruleIndex": codes.iter().position(|code| *code == one.code),
                "level": match one.severity { "error" => "error", "warning" => "warning", _ => "note" },
                "message": { "text": text },
                "locations": [location(&one.at)],
                "relatedLocations": related,
            })
        })
        .collect();
    json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "scruple",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules,
            }},
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    })
}

/// A path as a relative URI: what is no plain letter is percent-encoded.
fn uri(path: &str) -> String {
    path.bytes()
        .fold(String::with_capacity(path.len()), |mut out, byte| {
            if byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'-' | b'_' | b'.' | b'~') {
                out.push(char::from(byte));
            } else {
                let _ = write!(out, "%{byte:02X}");
            }
            out
        })
}

/// The first paragraph of a page, under its heading.
pub fn first_sentence(page: &str) -> String {
    page.lines()
        .skip(1)
        .skip_while(|line| line.trim().is_empty())
        .take_while(|line| !line.trim().is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}
