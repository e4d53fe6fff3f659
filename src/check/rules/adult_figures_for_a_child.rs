//! Reports a child's dose beside which only figures for adults are stated.

use crate::check::{Scope, here};
use crate::check::rules::dose_bounds::ages;
use crate::code;
use crate::compute::Composition;
use crate::compute::intake::{HerbIntake, Intake, Whom};
use crate::diagnostic::Diagnostic;
use crate::model::{AgeTopic, Level};
use crate::quantity::{Decimal, print};
use crate::source::Span;

/// A gap: the herbs for which nothing is stated for the ages of some dose lines.
struct Gap<'a> {
    herbs: Vec<&'a HerbIntake>,
    /// Whose doses meet it, in words, each once.
    whose: Vec<String>,
    lines: Vec<Span>,
}

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for (composition, intakes) in scope.dosed() {
        let mut gaps: Vec<Gap<'_>> = Vec::new();
        for intake in intakes {
            let Some((herbs, whose)) = gap(scope, intake) else { continue };
            let of = |herbs: &[&HerbIntake]| -> Vec<usize> { herbs.iter().map(|herb| herb.substance).collect() };
            // Several lines meet the same gap: what is missing is one thing, and said once.
            if let Some(known) = gaps.iter_mut().find(|known| {
                let known = of(&known.herbs);
                of(&herbs).iter().all(|herb| known.contains(herb))
            }) {
                if !known.whose.contains(&whose) {
                    known.whose.push(whose);
                }
                known.lines.push(intake.line);
            } else {
                gaps.push(Gap {
                    herbs,
                    whose: vec![whose],
                    lines: vec![intake.line],
                });
            }
        }
        report.extend(gaps.iter().filter_map(|gap| finding(scope, composition, gap)));
    }
}

/// The herbs of a dose line for which only figures for adults are stated, and whose line it is.
fn gap<'a>(scope: &Scope<'_>, intake: &'a Intake) -> Option<(Vec<&'a HerbIntake>, String)> {
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
    let whose = match years {
        Some(years) => format!("somebody of {}", print::count(years, 2, "years")),
        None => ages(intake)?,
    };
    (!herbs.is_empty()).then_some((herbs, whose))
}

fn finding(scope: &Scope<'_>, composition: &Composition, gap: &Gap<'_>) -> Option<Diagnostic> {
    let first = gap.herbs.first()?;
    let (line, others) = gap.lines.split_first()?;
    let names: Vec<&str> = gap.herbs.iter().map(|herb| scope.herb(herb.substance)).collect();
    let published = &first.published;
    let stated = published.most_a_day.or(published.most_at_once).or(published.least_at_once);
    let mut finding = Diagnostic::warning(
        code::ADULT_FIGURES_FOR_A_CHILD,
        here(&composition.formula, *line),
        format!(
            "{} for {}: nothing is stated for {}, only for adults, of {}",
            composition.formula.name.text,
            gap.whose.join(", "),
            if gap.whose.len() > 1 { "these ages" } else { "this age" },
            names.join(", ")
        ),
    )
    .help("a child takes less: look up a dose for the age and write it into the herb, as `dose   age 6 to 12: …`, or leave the herb out");
    for line in others {
        finding = finding.related(*line, "this dose meets it, too");
    }
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
