//! What a person takes, beside what is published, and which cautions bear on them: data and document.

mod facts;
mod page;

use serde::Serialize;

use super::findings::{At, Finding, at, finding};
use super::sheet::Figure;
use super::standing;
use super::why::WhySource;
use crate::check;
use crate::compute::batch::Refusal;
use crate::compute::caution::{Assessed, Bearing, assess, natures};
use crate::compute::child::{ChildShare, is_child};
use crate::compute::intake::{self, BoughtIntake, HerbIntake, Intake, LineIntake};
use crate::compute::{self, AsNeeded, Composition};
use crate::diagnostic::{self, Diagnostic};
use crate::model::Person;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;
use crate::quantity::{Decimal, Spread};
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;
pub(in crate::view) use facts::facts;
pub use page::document;
pub(super) use page::{cautions, notes, rows, sources, table};

/// A published bound.
#[derive(Debug, Clone, Serialize)]
pub struct Bound {
    /// In grams, or in days for a length of use.
    pub value: String,
    /// The line that states it.
    pub at: At,
    /// Whether it was written from memory.
    pub from_memory: bool,
    /// Whether it is for adults, and asked for a child: nothing is stated for the child's age.
    pub for_adults: bool,
}

/// What stands behind something that is drawn out; grams as decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct BehindDose {
    /// The herb.
    pub herb: String,
    /// Behind one dose.
    pub at_once: Figure,
    /// Behind a day.
    pub a_day: Option<Figure>,
}

/// Something bought ready-made of a herb, taken by volume; millilitres as decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct BoughtDose {
    /// Its name.
    pub name: String,
    /// What it was made of; how much of that is in it is not reckoned.
    pub made_of: String,
    /// In one dose.
    pub at_once: Figure,
    /// In a day.
    pub a_day: Option<Figure>,
}

/// One dose line of the formula.
#[derive(Debug, Clone, Serialize)]
pub struct DoseLine {
    /// The line as written.
    pub dose: String,
    /// The ages that it names, in its own words.
    pub ages: Option<String>,
    /// Where it stands.
    pub at: At,
    /// Whether the figures of the page are for this line.
    pub shown: bool,
    /// Grams of the blend in one dose.
    pub blend_at_once: Option<Figure>,
    /// Millilitres of a liquid in one dose.
    pub liquid_at_once: Option<Figure>,
    /// How often a day.
    pub times_a_day: Option<Figure>,
    /// Why it can't be reckoned.
    pub not_reckoned: Option<String>,
}

/// Something of which there is enough by judgement: it stands in no figure.
#[derive(Debug, Clone, Serialize)]
pub struct Needed {
    /// Its name.
    pub name: String,
    /// The formula inside which it stands, if it is another.
    pub within: Option<String>,
    /// Where it stands.
    pub at: At,
}

/// One herb in the dose; grams as decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct HerbDose {
    /// The herb.
    pub herb: String,
    /// Percent of the blend by weight; nothing where some of it has no weight.
    pub share: Option<String>,
    /// In one dose.
    pub at_once: Figure,
    /// In a day; the nominal at the most often that is directed.
    pub a_day: Option<Figure>,
    /// The least single dose stated.
    pub least_at_once: Option<Bound>,
    /// The greatest single dose stated.
    pub most_at_once: Option<Bound>,
    /// The most a day stated.
    pub most_a_day: Option<Bound>,
    /// The longest use stated, in days.
    pub most_days: Option<Bound>,
    /// The books behind them.
    pub sources: Vec<WhySource>,
}

/// A caution and whom it bears on.
#[derive(Debug, Clone, Serialize)]
pub struct DoseCaution {
    /// `this person`, `everyone`, `not known` or `others`.
    pub bears_on: &'static str,
    /// The fact by which it bears on this person.
    pub because: Option<String>,
    /// `avoid`, `consult` or `mind`.
    pub level: &'static str,
    /// About what.
    pub topic: String,
    /// Of which herb.
    pub herb: String,
    /// What is said.
    pub text: Option<String>,
    /// Whether it was accepted for this formula, with a reason: without one it counts for nothing.
    pub accepted: bool,
    /// Why.
    pub reason: Option<String>,
    /// Whether a line accepts it and says no reason, so that it counts for nothing.
    pub without_a_reason: bool,
    /// The adapted formula of which the acceptance doesn't hold here.
    pub accepted_only_in: Option<String>,
    /// The line; nothing for what follows from the plant family.
    pub at: Option<At>,
    /// The book that the line cites.
    pub source: Option<WhySource>,
}

/// A child's share of the adult's dose, by the rule that the practice asks for.
#[derive(Debug, Clone, Serialize)]
pub struct ChildDose {
    /// The rule.
    pub rule: &'static str,
    /// The share of the adult's dose, in percent.
    pub share_percent: String,
    /// How it was worked out.
    pub working: String,
    /// The dose of the blend in grams, or of a liquid in millilitres.
    pub dose: Option<String>,
    /// Always: that a practitioner decides.
    pub mind: &'static str,
}

/// What a formula gives a person, as data; `grammar/doses.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct Doses {
    /// The formula.
    pub formula: String,
    /// Whom it was looked at for.
    pub person: Option<String>,
    /// The dose as written.
    pub dose: Option<String>,
    /// Every dose line, first the one that is shown. Each is compared by itself; they are not added.
    pub dose_lines: Vec<DoseLine>,
    /// How it is given, if not by mouth.
    pub given: Option<String>,
    /// Why no dose could be reckoned.
    pub not_reckoned: Option<String>,
    /// Grams of the blend in one dose.
    pub blend_at_once: Option<Figure>,
    /// Millilitres of a liquid in one dose.
    pub liquid_at_once: Option<Figure>,
    /// Grams of the blend in a cup.
    pub blend_a_cup: Option<Figure>,
    /// Grams of the blend to a hundred millilitres of water.
    pub grams_in_100_ml: Option<Figure>,
    /// How often a day.
    pub times_a_day: Option<Figure>,
    /// How many doses the formula's own size holds.
    #[expect(clippy::struct_field_names, reason = "the name is published")]
    pub doses_held: Option<Figure>,
    /// How many days that lasts one person.
    pub lasts_days: Option<Figure>,
    /// Whether herbs are drawn out into a liquid: published doses of the herb don't apply.
    pub drawn_out: bool,
    /// The names of what is drawn out and taken into it.
    pub drawn_by: Vec<String>,
    /// Each herb, the most first; where a part is drawn out, only of what is taken as it is.
    pub herbs: Vec<HerbDose>,
    /// What stands behind the part that is drawn out, where only a part is.
    pub behind: Vec<BehindDose>,
    /// What is bought ready-made of a herb and taken by volume.
    pub bought: Vec<BoughtDose>,
    /// Lines without a weight, reckoned as if they weighed nothing: figures are the most that they can be.
    pub unweighed: Vec<String>,
    /// What is taken and has no weight that can be told: it stands in no figure and is not compared.
    pub not_compared: Vec<String>,
    /// Herbs for which no dose is stated.
    pub nothing_stated: Vec<String>,
    /// What is taken as needed, and not counted.
    pub as_needed: Vec<Needed>,
    /// What the blend does by tradition, in percent of its weight.
    pub natures: Vec<Nature>,
    /// Whether the person is a child and only an adult's dose is written.
    pub adult_dose_for_a_child: bool,
    /// A child's share, where the practice asks for a rule and the person is a child.
    pub child: Option<ChildDose>,
    /// Why no child's share is offered, where the practice asks for a rule.
    pub child_withheld: Option<String>,
    /// Every caution: first what bears on this person.
    pub cautions: Vec<DoseCaution>,
    /// What `check` says.
    pub findings: Vec<Finding>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// A word of tradition and how much of the blend has it.
#[derive(Debug, Clone, Serialize)]
pub struct Nature {
    /// `warming`, `drying`.
    pub word: String,
    /// In percent of the weight.
    pub percent: String,
}

/// What the data is put together from.
pub struct Parts<'a> {
    /// The ledger.
    pub snapshot: &'a Snapshot,
    /// The formula.
    pub composition: &'a Composition,
    /// The person.
    pub person: Option<&'a Person>,
    /// The dose, or why there is none.
    pub intake: Result<&'a Intake, String>,
    /// Every dose line, first the one that counts for the person.
    pub lines: &'a [LineIntake],
    /// What is taken as needed.
    pub as_needed: &'a [AsNeeded],
    /// The cautions.
    pub cautions: &'a [Assessed],
    /// By tradition.
    pub natures: &'a [(String, Decimal)],
    /// A child's share, and the dose that it gives in words.
    pub child: Option<(&'a ChildShare, Option<String>)>,
    /// Why none is offered.
    pub child_withheld: Option<String>,
    /// What `check` found.
    pub findings: &'a [Diagnostic],
}

/// What a formula gives nobody in particular, taken up by `make`; nothing where it has no figures.
pub fn for_anyone<T>(
    snapshot: &Snapshot,
    formula: usize,
    make: impl FnOnce(&Parts<'_>, &Doses) -> T,
) -> Option<T> {
    let (ledger, faults, figures) = (&snapshot.ledger, &snapshot.faults, &snapshot.figures);
    let composition = figures.of(formula)?;
    let intake = intake::intake(ledger, faults, figures, formula, None, false);
    let lines = intake::every_line(ledger, faults, figures, formula, None).unwrap_or_default();
    let mut findings = check::at_the_desk(ledger, figures, faults, None, formula);
    diagnostic::sort(&mut findings, &snapshot.sources);
    findings.sort_by_key(|one| std::cmp::Reverse(one.severity));
    let parts = Parts {
        snapshot,
        composition,
        person: None,
        intake: intake.as_ref().map_err(|refusal| refusal.message.clone()),
        lines: &lines,
        as_needed: &compute::as_needed(figures, composition),
        cautions: &assess(ledger, figures, composition, None),
        natures: &natures(ledger, figures, composition).unwrap_or_default(),
        child: None,
        child_withheld: None,
        findings: &findings,
    };
    let data = doses(&parts);
    Some(make(&parts, &data))
}

/// What a formula gives the person it is made for, or why that can't be told; and what is said of it in short.
pub fn for_its_person(
    snapshot: &Snapshot,
    formula: usize,
    composition: &Composition,
) -> (Result<Intake, Refusal>, Vec<(String, String)>) {
    let person = snapshot.ledger.person_of(&composition.formula);
    let years = person.and_then(|person| person.years);
    let (ledger, faults, figures) = (&snapshot.ledger, &snapshot.faults, &snapshot.figures);
    let intake = intake::intake(ledger, faults, figures, formula, years, false);
    let lines = intake::every_line(ledger, faults, figures, formula, years).unwrap_or_default();
    let parts = Parts {
        snapshot,
        composition,
        person,
        intake: intake.as_ref().map_err(|refusal| refusal.message.clone()),
        lines: &lines,
        as_needed: &compute::as_needed(figures, composition),
        cautions: &assess(ledger, figures, composition, person),
        natures: &[],
        child: None,
        child_withheld: None,
        findings: &[],
    };
    let mut told = facts(&parts, &doses(&parts));
    told.retain(|(label, _)| label != "for" || person.is_some());
    (intake, told)
}

/// What is said beside every child's dose.
const CHILD_MIND: &str = "A rule of thumb that decides nothing: only a qualified practitioner does. An age limit of a herb always comes first.";

/// Puts the data together.
pub fn doses(parts: &Parts<'_>) -> Doses {
    let intake = parts.intake.as_ref().ok();
    let figure = |get: fn(&Intake) -> Option<Spread>| {
        intake
            .and_then(|intake| get(intake))
            .map(|spread| Figure::from(&spread.settled()))
    };
    let sources = &parts.snapshot.sources;
    Doses {
        formula: parts.composition.formula.name.text.clone(),
        person: parts.person.map(Person::described),
        dose: intake.map(|intake| parts.snapshot.sources.words(intake.dose.span)),
        dose_lines: dose_lines(parts),
        given: parts.composition.formula.given.clone(),
        not_reckoned: parts.intake.as_ref().err().cloned(),
        blend_at_once: figure(|intake| intake.blend_at_once),
        liquid_at_once: figure(|intake| intake.liquid_at_once),
        blend_a_cup: figure(|intake| intake.blend_a_cup.filter(|_| !intake.drawn_out)),
        grams_in_100_ml: figure(|intake| intake.grams_in_100_ml.filter(|_| !intake.drawn_out)),
        times_a_day: figure(|intake| intake.times),
        doses_held: figure(|intake| intake.doses_held),
        lasts_days: figure(|intake| intake.lasts_days),
        drawn_out: intake.is_some_and(|intake| intake.drawn_out),
        drawn_by: intake.map(|intake| intake.drawn_by.clone()).unwrap_or_default(),
        herbs: of_each(
            intake,
            |intake| &intake.herbs,
            |herb| herb_dose(parts.snapshot, herb),
        ),
        behind: of_each(
            intake,
            |intake| &intake.behind,
            |herb| BehindDose {
                herb: name(parts.snapshot, herb.substance),
                at_once: Figure::from(&herb.at_once),
                a_day: herb.a_day.as_ref().map(Figure::from),
            },
        ),
        bought: intake.map_or_else(Vec::new, |intake| {
            let of = |one: &BoughtIntake| BoughtDose {
                name: name(parts.snapshot, one.substance),
                made_of: name(parts.snapshot, one.made_of),
                at_once: Figure::from(&one.at_once),
                a_day: one.a_day.as_ref().map(Figure::from),
            };
            intake.bought.iter().map(of).collect()
        }),
        unweighed: intake.map(|intake| intake.unweighed.clone()).unwrap_or_default(),
        not_compared: intake.map(|intake| intake.unknown.clone()).unwrap_or_default(),
        nothing_stated: nothing_stated(parts),
        as_needed: parts
            .as_needed
            .iter()
            .map(|one| Needed {
                name: one.name.clone(),
                within: one.within.clone(),
                at: at(sources, one.span),
            })
            .collect(),
        natures: parts
            .natures
            .iter()
            .map(|(word, share)| Nature {
                word: word.clone(),
                percent: digits(to_places(*share, 3)),
            })
            .collect(),
        adult_dose_for_a_child: parts.person.is_some_and(is_child)
            && intake.is_some_and(|intake| intake.dose.age.is_none()),
        child: parts.child.as_ref().map(|(share, dose)| ChildDose {
            rule: share.rule.name(),
            share_percent: digits(to_places(
                share.share.checked_mul(Decimal::ONE_HUNDRED).unwrap_or_default(),
                3,
            )),
            working: share.working.clone(),
            dose: dose.clone(),
            mind: CHILD_MIND,
        }),
        child_withheld: parts.child_withheld.clone(),
        cautions: parts
            .cautions
            .iter()
            .map(|one| caution(parts.snapshot, one))
            .collect(),
        findings: parts.findings.iter().map(|one| finding(sources, one)).collect(),
        standing: standing::CAUTIONS,
    }
}

/// What is made of each herb of a dose; nothing without one.
fn of_each<T>(
    intake: Option<&&Intake>,
    herbs: fn(&Intake) -> &[HerbIntake],
    make: impl Fn(&HerbIntake) -> T,
) -> Vec<T> {
    intake.map_or_else(Vec::new, |intake| herbs(intake).iter().map(make).collect())
}

fn dose_lines(parts: &Parts<'_>) -> Vec<DoseLine> {
    let figure = |spread: Option<Spread>| spread.map(|spread| Figure::from(&spread.settled()));
    let shown = parts.intake.as_ref().ok().map(|intake| intake.line);
    let doses = &parts.composition.formula.doses;
    let lines = parts.lines.iter().filter_map(|one| {
        let written = &doses.iter().find(|line| line.span == one.line)?.dose;
        let intake = one.intake.as_ref().ok();
        Some(DoseLine {
            dose: parts.snapshot.sources.words(written.span),
            ages: written.age.as_ref().map(|(numbers, under)| {
                let under = if *under { "under " } else { "" };
                format!("{under}{}", parts.snapshot.sources.words(numbers.span))
            }),
            at: at(&parts.snapshot.sources, one.line),
            shown: shown == Some(one.line),
            blend_at_once: figure(intake.and_then(|intake| intake.blend_at_once)),
            liquid_at_once: figure(intake.and_then(|intake| intake.liquid_at_once)),
            times_a_day: figure(intake.and_then(|intake| intake.times)),
            not_reckoned: one.intake.as_ref().err().map(|refusal| refusal.message.clone()),
        })
    });
    lines.collect()
}

/// Herbs for which no dose is stated, where doses are compared.
fn nothing_stated(parts: &Parts<'_>) -> Vec<String> {
    let Ok(intake) = &parts.intake else {
        return Vec::new();
    };
    if intake.drawn_out || intake.given.is_some() {
        return Vec::new();
    }
    let is_herb = |place: usize| {
        let substance = parts.snapshot.ledger.substances.get(place);
        substance.is_some_and(|substance| substance.kind == Kind::Herb)
    };
    intake
        .herbs
        .iter()
        .filter(|herb| herb.published.is_silent() && is_herb(herb.substance))
        .map(|herb| name(parts.snapshot, herb.substance))
        .collect()
}

fn source(snapshot: &Snapshot, book: usize) -> Option<WhySource> {
    snapshot.ledger.books.get(book).map(|book| WhySource {
        name: book.name.text.clone(),
        citation: book.citation.clone(),
        from_memory: book.from_memory,
    })
}

fn herb_dose(snapshot: &Snapshot, herb: &HerbIntake) -> HerbDose {
    let bound = |bound: Option<(Decimal, crate::source::Span)>| {
        bound.map(|(value, span)| Bound {
            value: digits(value),
            at: at(&snapshot.sources, span),
            from_memory: herb.published.is_from_memory(span),
            for_adults: herb.published.is_for_grown_ups(span),
        })
    };
    HerbDose {
        herb: name(snapshot, herb.substance),
        share: herb.share.map(|share| digits(to_places(share, 6))),
        at_once: Figure::from(&herb.at_once),
        a_day: herb.a_day.as_ref().map(Figure::from),
        least_at_once: bound(herb.published.least_at_once),
        most_at_once: bound(herb.published.most_at_once),
        most_a_day: bound(herb.published.most_a_day),
        most_days: bound(herb.published.most_days),
        sources: herb
            .published
            .books
            .iter()
            .filter_map(|book| source(snapshot, *book))
            .collect(),
    }
}

fn name(snapshot: &Snapshot, substance: usize) -> String {
    snapshot
        .ledger
        .substances
        .get(substance)
        .map(|one| one.name.clone())
        .unwrap_or_default()
}

/// A caution as data.
pub(super) fn caution(snapshot: &Snapshot, one: &Assessed) -> DoseCaution {
    let (bears_on, because) = match &one.bearing {
        Bearing::ThisPerson(because) => ("this person", Some(because.clone())),
        Bearing::Everyone => ("everyone", None),
        Bearing::NotKnown => ("not known", None),
        Bearing::Others => ("others", None),
    };
    let reason = one
        .accepted
        .as_ref()
        .and_then(|acceptance| acceptance.reason.clone());
    DoseCaution {
        bears_on,
        because,
        level: one.level.word(),
        topic: one.topic.clone(),
        herb: name(snapshot, one.substance),
        text: one.text.clone(),
        accepted: reason.is_some(),
        without_a_reason: one.accepted.is_some() && reason.is_none(),
        accepted_only_in: one.lapsed.as_ref().map(|lapsed| lapsed.formula.clone()),
        reason,
        at: one.span.map(|span| at(&snapshot.sources, span)),
        source: one.book.and_then(|book| source(snapshot, book)),
    }
}
