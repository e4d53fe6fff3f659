//! Reports a tea that stands shorter or longer than is stated for one of its herbs.

use crate::check::{Scope, here};
use crate::code;
use crate::compute::Composition;
use crate::compute::caution::substances_of;
use crate::diagnostic::Diagnostic;
use crate::model::Step;
use crate::model::measure::portion;
use crate::model::Portion;
use crate::quantity::{Spread, print};
use crate::source::Span;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for composition in scope.formulas() {
        let own: Vec<(&Step, Spread)> = composition
            .formula
            .steps
            .iter()
            .filter_map(|step| Some((step, minutes(scope, step)?)))
            .collect();
        // With several steps it can't be told which herb stands how long.
        let [(step, time)] = own.as_slice() else { continue };
        let mut short = Vec::new();
        let mut long = Vec::new();
        for place in substances_of(scope.ledger, scope.figures, composition) {
            let Some(substance) = scope.ledger.substances.get(place) else { continue };
            let stated = substance
                .steps
                .iter()
                .filter(|stated| stated.word == step.word)
                .find_map(|stated| Some((minutes(scope, stated)?, stated.span)));
            let Some((stated, span)) = stated else { continue };
            let said = format!("{} ({})", substance.name, print::range(&stated, 1, "minutes"));
            if time.high < stated.low {
                short.push((said, span));
            } else if time.low > stated.high {
                long.push((said, span));
            }
        }
        report.extend(finding(composition, step, time, &short, true));
        report.extend(finding(composition, step, time, &long, false));
    }
}

fn minutes(scope: &Scope<'_>, step: &Step) -> Option<Spread> {
    let lasting = step.preparation.lasting.as_ref()?;
    match portion(lasting, scope.ledger.practice.settled).ok()? {
        Portion::Minutes(minutes) => Some(minutes),
        _ => None,
    }
}

fn finding(
    composition: &Composition,
    step: &Step,
    time: &Spread,
    herbs: &[(String, Span)],
    short: bool,
) -> Option<Diagnostic> {
    let (_, first) = herbs.first()?;
    let names: Vec<&str> = herbs.iter().map(|(said, _)| said.as_str()).collect();
    let (code, word) = if short {
        (code::STEEPS_TOO_SHORT, "shorter")
    } else {
        (code::STEEPS_TOO_LONG, "longer")
    };
    Some(
        Diagnostic::notice(
            code,
            here(&composition.formula, step.span),
            format!(
                "{} stands {}, {word} than is stated for {}",
                composition.formula.name.text,
                print::range(time, 1, "minutes"),
                names.join(", ")
            ),
        )
        .related(*first, "stated here")
        .help(if short {
            "less is drawn out of these herbs than their doses count on: let it stand longer, if the others allow it"
        } else {
            "more that is bitter or strong is drawn out: let it stand shorter, if the others allow it"
        }),
    )
}
