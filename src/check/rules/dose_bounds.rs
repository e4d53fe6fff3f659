//! Reports doses that lie outside what is published for a herb, or that are too uncertain to tell.

use crate::check::Scope;
use crate::code;
use crate::compute::Composition;
use crate::compute::intake::{Against, HerbIntake, Intake, against_most};
use crate::diagnostic::Diagnostic;
use crate::model::Measure;
use crate::quantity::{Decimal, Spread, print};
use crate::source::Span;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    report.extend(scope.unreckoned.iter().filter_map(|(at, why)| unreckoned(scope, *at, why)));
    for (composition, intake) in scope.dosed() {
        let mut unsure = Vec::new();
        for herb in &intake.herbs {
            // One dose alone may pass the most of a day, however often it is taken.
            let day = Some(herb.a_day.as_ref().unwrap_or(&herb.at_once)).zip(herb.published.most_a_day);
            if let Some((figure, (most, span))) = day {
                match against_most(figure, most) {
                    Against::Over => report.push(over_the_day(scope, composition, herb, figure, most, span)),
                    Against::NotSure => unsure.push((herb, *figure, most, "a day", span)),
                    Against::Within => {}
                }
            }
            if let Some((most, span)) = herb.published.most_at_once {
                match against_most(&herb.at_once, most) {
                    Against::Over => report.push(above_at_once(scope, composition, herb, most, span)),
                    Against::NotSure => unsure.push((herb, herb.at_once, most, "at once", span)),
                    Against::Within => {}
                }
            }
        }
        report.extend(not_sure(scope, composition, &unsure));
        // In a blend of several herbs hardly any reaches the dose that it has alone: worth knowing at
        // the desk, and no news in a check of the whole ledger.
        if scope.only.is_some() {
            report.extend(below(scope, composition, intake));
        }
    }
}

/// A dose that can't be reckoned is compared with nothing: that must be said.
fn unreckoned(scope: &Scope<'_>, at: usize, why: &str) -> Option<Diagnostic> {
    let formula = &scope.figures.of(at)?.formula;
    if formula.given.as_ref().is_some_and(|given| !crate::naming::folded(given).starts_with("by mouth")) {
        return None;
    }
    let line = formula.doses.first()?;
    Some(
        Diagnostic::notice(
            code::DOSE_NOT_SURE,
            line.span,
            format!("the dose of {} is compared with nothing: {why}", formula.name.text),
        )
        .help("say how much goes into a cup: `infuse   2 teaspoons in 1 cup of boiling water for 10 minutes`"),
    )
}

fn dose_span(composition: &Composition) -> Span {
    composition
        .formula
        .doses
        .first()
        .map_or(composition.formula.head, |line| line.span)
}

fn over_the_day(
    scope: &Scope<'_>,
    composition: &Composition,
    herb: &HerbIntake,
    figure: &Spread,
    most: Decimal,
    span: Span,
) -> Diagnostic {
    // Single dose × times, where no most of the day is stated itself.
    let derived = scope
        .ledger
        .substances
        .get(herb.substance)
        .is_some_and(|substance| substance.doses.iter().any(|line| line.span == span));
    Diagnostic::error(
        code::OVER_THE_DAILY_MOST,
        scope.line_of(composition, herb.substance),
        format!(
            "{} gives {} of {} a day; the most that {} is {} g",
            composition.formula.name.text,
            print::dose(figure),
            scope.herb(herb.substance),
            if derived { "follows from the stated dose" } else { "is stated" },
            print::short(most, 6)
        ),
    )
    .related(span, "stated here")
    .related(dose_span(composition), "by this dose, at the most that it directs")
    .help("take less of the herb into the blend, make the cup weaker, or direct it less often")
}

fn above_at_once(
    scope: &Scope<'_>,
    composition: &Composition,
    herb: &HerbIntake,
    most: Decimal,
    span: Span,
) -> Diagnostic {
    Diagnostic::warning(
        code::ABOVE_THE_MOST_AT_ONCE,
        scope.line_of(composition, herb.substance),
        format!(
            "a dose of {} holds {} of {}; the most that is stated at once is {} g",
            composition.formula.name.text,
            print::dose(&herb.at_once),
            scope.herb(herb.substance),
            print::short(most, 6)
        ),
    )
    .related(span, "stated here")
    .help("take less of the herb into the blend, or make the dose smaller")
}

type Unsure<'a> = (&'a HerbIntake, Spread, Decimal, &'static str, Span);

/// One finding for a formula: which herbs may pass a bound, and what weighing would settle it.
fn not_sure(scope: &Scope<'_>, composition: &Composition, unsure: &[Unsure<'_>]) -> Option<Diagnostic> {
    let (first, ..) = unsure.first()?;
    let said: Vec<String> = unsure
        .iter()
        .map(|(herb, figure, most, over, _)| {
            format!(
                "{} {} {over} against {} g",
                print::range(figure, print::dose_places(figure.nominal), "g"),
                scope.herb(herb.substance),
                print::short(*most, 6)
            )
        })
        .collect();
    let mut finding = Diagnostic::notice(
        code::DOSE_NOT_SURE,
        scope.line_of(composition, first.substance),
        format!(
            "a dose of {} spreads so wide that a stated most may be passed: {}",
            composition.formula.name.text,
            said.join("; ")
        ),
    );
    for (_, _, _, _, span) in unsure.iter().take(3) {
        finding = finding.related(*span, "stated here");
    }
    Some(finding.help(settled_by(composition)))
}

/// The weighing that would narrow the spread most.
fn settled_by(composition: &Composition) -> String {
    use crate::quantity::Unit;
    use crate::quantity::unit::{self, Reading, Settled};
    use crate::syntax::tree::Subject;
    let spoon = composition.formula.steps.iter().find_map(|step| match &step.preparation.subject {
        Subject::Amount(amount, None) => amount.low.first()?.unit.clone(),
        _ => None,
    });
    match spoon.map(|words| unit::read(&words.text, Settled::default())) {
        Some(Reading::Known(Unit::Household(heap, measure))) => {
            let wanted = Unit::Household(heap, measure);
            let own = crate::model::measure::stated(&composition.formula.weights, &Measure::Household(heap, measure));
            if own.is_some() {
                "weigh that spoon of the finished blend a few more times, or direct the cup by weight".to_owned()
            } else {
                format!(
                    "weigh three {} of the finished blend, and add to the formula: `{}   weighed …`; or direct the cup by weight",
                    wanted.words(true),
                    wanted.words(false)
                )
            }
        }
        _ => "weigh the spooned herbs instead of spooning them, and direct one amount instead of a range".to_owned(),
    }
}

/// One notice for a formula: which herbs stay below what is stated for them alone.
fn below(scope: &Scope<'_>, composition: &Composition, intake: &Intake) -> Option<Diagnostic> {
    let small: Vec<&HerbIntake> = intake
        .herbs
        .iter()
        .filter(|herb| herb.published.least_at_once.is_some_and(|(least, _)| herb.at_once.high < least))
        .collect();
    let first = small.first()?;
    let said: Vec<String> = small
        .iter()
        .map(|herb| {
            let least = herb.published.least_at_once.map_or(Decimal::ZERO, |(least, _)| least);
            format!(
                "{} {} (from {} g)",
                scope.herb(herb.substance),
                print::short(herb.at_once.nominal, print::dose_places(herb.at_once.nominal)),
                print::short(least, 6)
            )
        })
        .collect();
    Some(
        Diagnostic::notice(
            code::BELOW_THE_LEAST_DOSE,
            scope.line_of(composition, first.substance),
            format!(
                "a dose of {} holds less of some herbs than is stated for them alone, in grams: {}",
                composition.formula.name.text,
                said.join(", ")
            ),
        )
        .help("in a blend herbs share the work, so this may be meant; a herb that is to act alone needs more"),
    )
}
