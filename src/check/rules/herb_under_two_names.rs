//! Reports a herb that one formula takes under two of its names.

use crate::code;
use std::collections::HashMap;

use crate::check::Scope;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Taken};
use crate::naming::{folded, singulars};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for formula in scope.written() {
        let mut first: HashMap<Bound, (&Taken, String)> = HashMap::new();
        for taken in formula.taken.iter().filter(|taken| taken.what != Bound::Unknown) {
            let name = singulars(&folded(&taken.name.text)).pop().unwrap_or_default();
            let (first, known) = first.entry(taken.what).or_insert_with(|| (taken, name.clone()));
            if *known != name {
                report.push(
                    Diagnostic::warning(
                        code::HERB_UNDER_TWO_NAMES,
                        taken.name.span,
                        format!("`{}` is `{}` under another name", taken.name.text, first.name.text),
                    )
                    .related(first.name.span, "taken here already")
                    .help("the two amounts are added; write both lines with one name, or add them on one line"),
                );
            }
        }
    }
}
