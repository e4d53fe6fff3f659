//! Reports a formula that is directed for longer than is stated for one of its herbs.

use crate::check::{Scope, here};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::print;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for (composition, intake) in scope.directed() {
        let Some(days) = intake.days else { continue };
        // A herb that is taken as it is and drawn out as well is one herb.
        let behind = intake
            .behind
            .iter()
            .filter(|herb| intake.herbs.iter().all(|one| one.substance != herb.substance));
        for herb in intake.herbs.iter().chain(behind) {
            let Some((most, span)) = herb.published.most_days else { continue };
            if days.high > most {
                report.push(
                    Diagnostic::warning(
                        code::TAKEN_TOO_LONG,
                        here(&composition.formula, intake.line),
                        format!(
                            "{} is directed for {}; the longest use stated for {} is {}{}",
                            composition.formula.name.text,
                            print::range(&days, 1, "days"),
                            scope.herb(herb.substance),
                            print::count(most, 1, "days"),
                            if herb.published.is_from_memory(span) { ", from memory" } else { "" }
                        ),
                    )
                    .related(span, "stated here")
                    .help("direct a shorter course and a pause, or look whether advice is needed first"),
                );
            }
        }
    }
}
