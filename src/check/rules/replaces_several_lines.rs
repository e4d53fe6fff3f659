//! Reports a line of an adaptation that takes the place of several lines of the formula that it adapts.

use std::collections::HashMap;

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Formula};
use crate::source::Span;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for own in scope.written() {
        let Some(adapts) = &own.adapts else { continue };
        let Some(base) = adapts.formula.and_then(|at| scope.figures.of(at)) else {
            continue;
        };
        let mut written = lines_of_each(own);
        let mut kept = lines_of_each(&base.formula);
        // Who writes each line again, or leaves all of them out first, has said what is meant.
        for (_, bound) in &own.without {
            kept.remove(bound);
        }
        for taken in &own.taken {
            let (Some(again), Some(replaced)) = (written.remove(&taken.what), kept.remove(&taken.what)) else {
                continue;
            };
            if replaced.len() <= again.len() {
                continue;
            }
            let mut finding = Diagnostic::notice(
                code::REPLACES_SEVERAL_LINES,
                taken.name.span,
                format!(
                    "this takes the place of all {} lines of {} in {}",
                    replaced.len(),
                    taken.name.text,
                    adapts.name.text
                ),
            )
            .help("if one of those lines is to stay, write it here again");
            for span in replaced.into_iter().take(MOST_SHOWN) {
                finding = finding.related(span, "no longer taken");
            }
            report.push(finding);
        }
    }
}

/// Where each thing stands on the lines of a formula.
fn lines_of_each(formula: &Formula) -> HashMap<Bound, Vec<Span>> {
    let mut lines: HashMap<Bound, Vec<Span>> = HashMap::new();
    for taken in formula.taken.iter().filter(|taken| taken.what != Bound::Unknown) {
        lines.entry(taken.what).or_default().push(taken.name.span);
    }
    lines
}

/// So many lines are shown at the most.
const MOST_SHOWN: usize = 4;
