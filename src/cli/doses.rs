//! `doses`: what is in one cup and in a day, and whether it is right for a person.

use clap::Args;

use super::failure::Failure;
use super::person::ForWhom;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, cautions, formula, weigh};
use crate::check;
use crate::compute;
use crate::compute::caution::{Assessed, Bearing, assess, natures};
use crate::compute::child;
use crate::compute::intake;
use crate::compute::within::opened;
use crate::diagnostic::{self, Severity};
use crate::model::{AgeTopic, ChildRule, Level, Person};
use crate::quantity::Decimal;
use crate::quantity::print::short;
use crate::view::doses;
use crate::workspace::Snapshot;

/// Shows what is in one dose and in a day, beside what is published, and which cautions bear on a person
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple doses \"after-supper tea\" --in examples/low-barn\n  scruple doses \"after-supper tea\" --is pregnant --age 34 --in examples/low-barn"
)]
pub struct Doses {
    /// The formula's name
    #[arg(value_name = "FORMULA")]
    formula: String,

    #[command(flatten)]
    whom: ForWhom,
}

impl Doses {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = arguments.ledger()?;
        let at = formula(&snapshot, &self.formula)?;
        let Some(composition) = snapshot.figures.of(at) else {
            let person = self.whom.person(&snapshot)?;
            if matches!(arguments.form, Form::Json) {
                terminal::data(&without_figures(&snapshot, at, person.as_ref()))?;
                return Ok(Outcome::Findings);
            }
            let ended = weigh::withheld(&snapshot, at, arguments, terminal)?;
            cautions::of_withheld(&snapshot, at, person.as_ref(), terminal)?;
            return Ok(ended);
        };
        let own = snapshot.ledger.person_of(&composition.formula);
        let person = self.whom.person(&snapshot)?.or_else(|| own.cloned());
        let person = person.as_ref();
        let years = person.and_then(|person| person.years);
        let intake = intake::intake(
            &snapshot.ledger,
            &snapshot.faults,
            &snapshot.figures,
            at,
            years,
            false,
        );
        let lines = intake::every_line(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, years)
            .unwrap_or_default();
        let as_needed = compute::as_needed(&snapshot.figures, composition);
        let cautions = assess(&snapshot.ledger, &snapshot.figures, composition, person);
        let natures = natures(&snapshot.ledger, &snapshot.figures, composition).unwrap_or_default();
        let mut findings =
            check::at_the_desk(&snapshot.ledger, &snapshot.figures, &snapshot.faults, person, at);
        diagnostic::sort(&mut findings, &snapshot.sources);
        findings.sort_by_key(|one| std::cmp::Reverse(one.severity));
        let limits = age_limits(&snapshot, &cautions);
        let rule = snapshot.ledger.practice.children.map(|(rule, _)| rule);
        let young = person.filter(|person| child::is_child(person)).zip(rule);
        let written = intake.as_ref().is_ok_and(|intake| intake.dose.age.is_some());
        let (child, child_withheld) = match young {
            None => (None, None),
            Some((person, rule)) => within_the_stated(
                &snapshot,
                offered(person, rule, &limits, written),
                intake.as_ref().ok(),
            ),
        };
        let child_dose = child
            .as_ref()
            .and_then(|child| child_dose(child, intake.as_ref().ok()?));
        let parts = doses::Parts {
            snapshot: &snapshot,
            composition,
            person,
            intake: intake.as_ref().map_err(|refusal| refusal.message.clone()),
            lines: &lines,
            as_needed: &as_needed,
            cautions: &cautions,
            natures: &natures,
            child: child.as_ref().map(|child| (child, child_dose)),
            child_withheld,
            findings: &findings,
        };
        let data = doses::doses(&parts);
        match arguments.form {
            Form::Json => terminal::data(&data)?,
            _ => terminal.document(&doses::document(&parts, &data))?,
        }
        let grave = findings.iter().any(|one| one.severity > Severity::Notice);
        Ok(if grave { Outcome::Findings } else { Outcome::Clean })
    }
}

/// The data of a formula that has no figures: its errors, and its cautions as far as they can be read.
fn without_figures(snapshot: &Snapshot, at: usize, person: Option<&Person>) -> Option<doses::Doses> {
    let composition = opened(&snapshot.ledger, &snapshot.figures, at)?;
    let composition = composition.as_ref();
    let person = person.or_else(|| snapshot.ledger.person_of(&composition.formula));
    let mut findings: Vec<_> = snapshot.faults_of(at).into_iter().cloned().collect();
    findings.extend(check::at_the_desk(
        &snapshot.ledger,
        &snapshot.figures,
        &snapshot.faults,
        person,
        at,
    ));
    Some(doses::doses(&doses::Parts {
        snapshot,
        composition,
        person,
        intake: Err("no figures are given until its errors are mended".to_owned()),
        lines: &[],
        as_needed: &[],
        cautions: &assess(&snapshot.ledger, &snapshot.figures, composition, person),
        natures: &[],
        child: None,
        child_withheld: None,
        findings: &findings,
    }))
}

/// The herbs whose stated age limits this person does not reach, each with the limit.
fn age_limits(snapshot: &Snapshot, cautions: &[Assessed]) -> Vec<String> {
    cautions
        .iter()
        .filter(|one| one.level > Level::Mind && matches!(one.bearing, Bearing::ThisPerson(_)))
        .filter(|one| AgeTopic::read(&one.topic).is_some())
        .filter_map(|one| {
            let herb = snapshot.ledger.substances.get(one.substance)?;
            Some(format!("{} ({} {})", herb.name, one.level.word(), one.topic))
        })
        .collect()
}

/// A child's share by the rule that the practice asks for, or why none is offered.
fn offered(
    person: &Person,
    rule: ChildRule,
    limits: &[String],
    written: bool,
) -> (Option<child::ChildShare>, Option<String>) {
    let name = rule.name();
    if !limits.is_empty() {
        // An age limit of a herb always comes before a rule of thumb.
        let limits = limits.join(", ");
        return (
            None,
            Some(format!(
                "No share by {name} is offered: age limits are stated for {limits}."
            )),
        );
    }
    if written {
        return (
            None,
            Some(format!(
                "No share by {name} is offered: the formula has a dose for this age."
            )),
        );
    }
    if let Ok(Some(share)) = child::share(rule, person) {
        return (Some(share), None);
    }
    let needs = match rule {
        ChildRule::Clark => "a weight",
        ChildRule::Fried => "an age of two years at the most",
        ChildRule::Young | ChildRule::Cowling => "an age",
    };
    (
        None,
        Some(format!("No share by {name} can be worked out: it needs {needs}.")),
    )
}

/// A share, unless it gives more than a herb's own dose for this age.
fn within_the_stated(
    snapshot: &Snapshot,
    offer: (Option<child::ChildShare>, Option<String>),
    intake: Option<&intake::Intake>,
) -> (Option<child::ChildShare>, Option<String>) {
    let (Some(share), Some(intake)) = (&offer.0, intake) else {
        return offer;
    };
    let name = share.rule.name();
    let Ok(passed) = child::passed(share.share, intake) else {
        return (
            None,
            Some(format!(
                "No share by {name} can be worked out: its figures are too large."
            )),
        );
    };
    if passed.is_empty() {
        return offer;
    }
    let said: Vec<String> = passed
        .iter()
        .map(|one| {
            let herb = snapshot.ledger.substances.get(one.substance);
            format!(
                "{} g of {} {}, where {} g is the most stated for this age",
                short(one.gives, 3),
                herb.map_or("", |herb| herb.name.as_str()),
                if one.a_day { "a day" } else { "at once" },
                short(one.most, 6)
            )
        })
        .collect();
    (
        None,
        Some(format!(
            "No share by {name} is offered: it would give {}.",
            said.join(", and ")
        )),
    )
}

/// The child's dose in words.
fn child_dose(child: &child::ChildShare, intake: &intake::Intake) -> Option<String> {
    let of = |spread: crate::quantity::Spread, unit: &str| {
        let dose = spread.scaled(child.share).ok()?;
        Some(format!(
            "{} {unit}",
            short(dose.nominal, if dose.nominal < Decimal::ONE { 4 } else { 2 })
        ))
    };
    intake
        .blend_at_once
        .and_then(|blend| of(blend, "g of the blend"))
        .or_else(|| intake.liquid_at_once.and_then(|volume| of(volume, "ml")))
}
