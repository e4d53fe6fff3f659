//! Looks over a ledger for what is written correctly and is still likely to be a mistake.
//!
//! Each rule is one file in `rules/`, named like its finding.

mod rules;

use crate::compute::Figures;
use crate::diagnostic::Diagnostic;
use crate::model::Ledger;

/// Runs every rule.
pub fn run(ledger: &Ledger, figures: &Figures) -> Vec<Diagnostic> {
    let mut diagnostics = Vec::new();
    for rule in rules::ALL {
        rule(ledger, figures, &mut diagnostics);
    }
    diagnostics
}
