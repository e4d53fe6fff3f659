//! Reports a child's dose beside which only figures for adults are stated.

use crate::check::{Scope, here};
use crate::check::rules::dose_bounds::ages;
use crate::code;
use crate::compute::Composition;
use crate::compute::intake::{HerbIntake, Intake, Whom};
use crate::diagnostic::Diagnostic;
use crate::model::{AgeTopic, Level};
use crate::quantity::{Decimal, print};

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for (composition, intakes) in scope.dosed() {
        let mut of_the_person = false;
        for intake in intakes {
            // Several lines for one person meet the same gap.
            let is_the_persons = matches!(intake.whom, Whom::Years(_));
            if is_the_persons && std::mem::replace(&mut of_the_person, true) {
                continue;
            }
            report.extend(finding(scope, composition, intake));
        }
    }
}

fn finding(scope: &Scope<'_>, composition: &Composition, intake: &Intake) -> Option<Diagnostic> {
    let years = match intake.whom {
        Whom::Years(years) => Some(years),
        Whom::Ages(_) | Whom::Anyone => None,
    };
    let herbs: Vec<&HerbIntake> = intake
        .herbs
        .iter()
        .filter(|herb| herb.published.for_adults)
        .filter(|herb| years.is_none_or(|years| !is_limited(scope, herb.substance, years)))
        .collect();
    let first = herbs.first()?;
    let names: Vec<&str> = herbs.iter().map(|herb| scope.herb(herb.substance)).collect();
    let whose = match years {
        Some(years) => format!("somebody of {} years", print::short(years, 2)),
        None => ages(intake)?,
    };
    let published = &first.published;
    let stated = published.most_a_day.or(published.most_at_once).or(published.least_at_once);
    let finding = Diagnostic::warning(
        code::ADULT_FIGURES_FOR_A_CHILD,
        here(&composition.formula, intake.line),
        format!(
            "{} for {whose}: nothing is stated for this age, only for adults, of {}",
            composition.formula.name.text,
            names.join(", ")
        ),
    )
    .help("a child takes less: look up a dose for the age and write it into the herb, as `dose   age 6 to 12: …`, or leave the herb out");
    Some(match stated {
        Some((_, line)) => finding.related(line, "stated for adults"),
        None => finding,
    })
}

/// Whether the herb has an age limit that somebody does not reach: that is reported by itself.
fn is_limited(scope: &Scope<'_>, herb: usize, years: Decimal) -> bool {
    scope.ledger.substances.get(herb).is_some_and(|substance| {
        substance.cautions.iter().any(|caution| {
            caution.level > Level::Mind
                && matches!(AgeTopic::read(&caution.topic.text), Some(limit @ AgeTopic::Under(_)) if limit.concerns(years))
        })
    })
}
