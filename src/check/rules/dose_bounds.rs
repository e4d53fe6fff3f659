//! Reports doses that lie outside what is published for a herb, or that are too uncertain to tell.

use crate::check::{Scope, here};
use crate::code;
use crate::compute::Composition;
use crate::compute::intake::{Against, HerbIntake, Intake, against_most};
use crate::diagnostic::Diagnostic;
use crate::model::Measure;
use crate::quantity::{Decimal, Spread, print};
use crate::source::Span;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    unreckoned(scope, report);
    for (composition, intakes) in scope.dosed() {
        let passed = all_passed(&intakes);
        report.extend(passed.iter().filter(|one| one.is_over).map(|one| match one.over {
            Over::ADay => over_the_day(scope, composition, one),
            Over::AtOnce => above_at_once(scope, composition, one),
        }));
        let unsure: Vec<&Passed<'_>> = passed.iter().filter(|one| !one.is_over).collect();
        report.extend(not_sure(scope, composition, &unsure));
        report.extend(intakes.first().and_then(|intake| in_part(composition, intake)));
        // In a blend of several herbs hardly any reaches the dose that it has alone: worth knowing at
        // the desk, and no news in a check of the whole ledger.
        if scope.at_the_desk {
            report.extend(intakes.first().and_then(|intake| below(scope, composition, intake)));
        }
    }
}

/// Over what time a bound is.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Over {
    ADay,
    AtOnce,
}

impl Over {
    fn words(self) -> &'static str {
        match self {
            Self::ADay => "a day",
            Self::AtOnce => "at once",
        }
    }
}

/// A bound that a dose line passes, or may pass.
struct Passed<'a> {
    intake: &'a Intake,
    herb: &'a HerbIntake,
    figure: Spread,
    most: Decimal,
    /// The line that states the bound.
    stated: Span,
    over: Over,
    /// Whether it is passed for certain.
    is_over: bool,
    /// Other dose lines that pass it.
    also: Vec<Span>,
}

/// What the dose lines of a formula pass, first what the line passes that counts. Several lines that pass
/// one bound of a herb are one slip: the first of them stands for all.
fn all_passed<'a>(intakes: &[&'a Intake]) -> Vec<Passed<'a>> {
    let mut found: Vec<Passed<'a>> = Vec::new();
    for intake in intakes {
        for one in intake.herbs.iter().flat_map(|herb| passed(intake, herb)) {
            let same = found.iter_mut().find(|known| {
                (known.herb.substance, known.stated) == (one.herb.substance, one.stated)
                    && (known.over, known.is_over) == (one.over, one.is_over)
            });
            match same {
                Some(known) => known.also.push(one.intake.line),
                None => found.push(one),
            }
        }
    }
    found
}

fn passed<'a>(intake: &'a Intake, herb: &'a HerbIntake) -> Vec<Passed<'a>> {
    // One dose alone may pass the most of a day, however often it is taken.
    let a_day = *herb.a_day.as_ref().unwrap_or(&herb.at_once);
    let bounds = [
        (a_day, herb.published.most_a_day, Over::ADay),
        (herb.at_once, herb.published.most_at_once, Over::AtOnce),
    ];
    bounds
        .into_iter()
        .filter_map(|(figure, bound, over)| {
            let (most, stated) = bound?;
            let is_over = match against_most(&figure, most) {
                Against::Within => return None,
                Against::NotSure => false,
                Against::Over => true,
            };
            Some(Passed {
                intake,
                herb,
                figure,
                most,
                stated,
                over,
                is_over,
                also: Vec::new(),
            })
        })
        .collect()
}

impl Passed<'_> {
    /// The bound in words: `6 g`, `6 g for adults, from memory`.
    fn bound(&self) -> String {
        let published = &self.herb.published;
        let adults = if published.is_for_grown_ups(self.stated) { " for adults" } else { "" };
        let memory = if published.is_from_memory(self.stated) { ", from memory" } else { "" };
        format!("{} g{adults}{memory}", print::short(self.most, 6))
    }

    /// That other dose lines pass it as well.
    fn others(&self) -> &'static str {
        match self.also.len() {
            0 => "",
            1 => "; another dose line passes it, too",
            _ => "; other dose lines pass it, too",
        }
    }

    /// The figure, and that it is the most there can be where something has no weight.
    fn amount(&self) -> String {
        let at_most = if self.intake.unweighed.is_empty() { "" } else { "up to " };
        format!("{at_most}{}", print::dose(&self.figure))
    }

    /// The formula, and for whom, where the line is for an age.
    fn of_what(&self, composition: &Composition) -> String {
        let name = &composition.formula.name.text;
        match ages(self.intake) {
            Some(ages) => format!("{name}, {ages},"),
            None => name.clone(),
        }
    }

    /// The finding with the lines that it rests on.
    fn resting(&self, finding: Diagnostic) -> Diagnostic {
        let mut finding = finding
            .related(self.stated, "stated here")
            .related(self.intake.line, "by this dose, at the most that it directs");
        for line in &self.also {
            finding = finding.related(*line, "this dose passes it, too");
        }
        finding
    }
}

/// The ages of a dose line in words.
pub(super) fn ages(intake: &Intake) -> Option<String> {
    let (numbers, under) = intake.dose.age.as_ref()?;
    let number = |value: Decimal| print::short(value, 6);
    Some(match (&numbers.high, under) {
        (_, true) => format!("age under {}", number(numbers.low.value)),
        (Some(high), false) => format!("age {} to {}", number(numbers.low.value), number(high.value)),
        (None, false) => format!("age {}", number(numbers.low.value)),
    })
}

/// A dose that can't be reckoned is compared with nothing: that must be said, once for each reason.
fn unreckoned(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    let mut said: Vec<(usize, &str)> = Vec::new();
    for (at, line, why) in &scope.unreckoned {
        let Some(composition) = scope.figures.of(*at) else { continue };
        let formula = &composition.formula;
        let elsewhere = formula
            .given
            .as_ref()
            .is_some_and(|given| !crate::naming::folded(given).starts_with("by mouth"));
        if elsewhere || said.contains(&(*at, &why.message)) {
            continue;
        }
        said.push((*at, &why.message));
        let finding = Diagnostic::notice(
            code::DOSE_NOT_SURE,
            here(formula, *line),
            format!("the dose of {} is compared with nothing: {}", formula.name.text, why.message),
        );
        report.push(if why.help.is_empty() { finding } else { finding.help(why.help.as_str()) });
    }
}

/// Beside what is compared something may stand that can't be: that must be said, too.
fn in_part(composition: &Composition, intake: &Intake) -> Option<Diagnostic> {
    (!intake.unknown.is_empty()).then(|| {
        Diagnostic::notice(
            code::DOSE_NOT_SURE,
            here(&composition.formula, intake.line),
            format!(
                "a part of {} is compared with nothing, since how much of it is taken can't be told: {}",
                composition.formula.name.text,
                intake.unknown.join(", ")
            ),
        )
        .help("weigh it: `5 g` in place of a volume or a piece, and in what it is made of as well")
    })
}

fn over_the_day(scope: &Scope<'_>, composition: &Composition, one: &Passed<'_>) -> Diagnostic {
    // Single dose × times, where no most of the day is stated itself.
    let derived = scope
        .ledger
        .substances
        .get(one.herb.substance)
        .is_some_and(|substance| substance.doses.iter().any(|line| line.span == one.stated));
    one.resting(Diagnostic::error(
        code::OVER_THE_DAILY_MOST,
        scope.line_of(composition, one.herb.substance),
        format!(
            "{} gives {} of {} a day; the most that {} is {}{}",
            one.of_what(composition),
            one.amount(),
            scope.herb(one.herb.substance),
            if derived { "follows from the stated dose" } else { "is stated" },
            one.bound(),
            one.others()
        ),
    ))
    .help("take less of the herb into the blend, make the cup weaker, or direct it less often")
}

fn above_at_once(scope: &Scope<'_>, composition: &Composition, one: &Passed<'_>) -> Diagnostic {
    one.resting(Diagnostic::warning(
        code::ABOVE_THE_MOST_AT_ONCE,
        scope.line_of(composition, one.herb.substance),
        format!(
            "a dose of {} holds {} of {}; the most that is stated at once is {}{}",
            one.of_what(composition),
            one.amount(),
            scope.herb(one.herb.substance),
            one.bound(),
            one.others()
        ),
    ))
    .help("take less of the herb into the blend, or make the dose smaller")
}

/// One finding for a formula: which herbs may pass a bound, and what weighing would settle it.
fn not_sure(scope: &Scope<'_>, composition: &Composition, unsure: &[&Passed<'_>]) -> Option<Diagnostic> {
    let first = unsure.first()?;
    let said: Vec<String> = unsure
        .iter()
        .map(|one| {
            format!(
                "{} {} {} against {}",
                print::range(&one.figure, print::dose_places(one.figure.nominal), "g"),
                scope.herb(one.herb.substance),
                one.over.words(),
                one.bound()
            )
        })
        .collect();
    let mut finding = Diagnostic::notice(
        code::DOSE_NOT_SURE,
        scope.line_of(composition, first.herb.substance),
        format!(
            "a dose of {} spreads so wide that a stated most may be passed: {}",
            composition.formula.name.text,
            said.join("; ")
        ),
    );
    for one in unsure.iter().take(3) {
        finding = finding.related(one.stated, "stated here");
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
            let published = &herb.published;
            let (least, memory, adults) = published.least_at_once.map_or((Decimal::ZERO, false, false), |(least, line)| {
                (least, published.is_from_memory(line), published.is_for_grown_ups(line))
            });
            format!(
                "{} {} (from {} g{}{})",
                scope.herb(herb.substance),
                print::short(herb.at_once.nominal, print::dose_places(herb.at_once.nominal)),
                print::short(least, 6),
                if adults { " for adults" } else { "" },
                if memory { ", from memory" } else { "" }
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
