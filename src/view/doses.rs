//! What a person takes, beside what is published, and which cautions bear on them: data and document.

use serde::Serialize;

use super::findings::{At, Finding, at, finding};
use super::sheet::Figure;
use super::standing;
use super::why::WhySource;
use crate::compute::Composition;
use crate::compute::caution::{Assessed, Bearing};
use crate::compute::child::{ChildShare, is_child};
use crate::compute::intake::{HerbIntake, Intake};
use crate::diagnostic::Diagnostic;
use crate::model::Person;
use crate::quantity::print::{digits, dose, range, short, spread};
use crate::quantity::rounding::to_places;
use crate::quantity::{Decimal, Spread};
use crate::render::{Column, Document, Note, Table};
use crate::workspace::Snapshot;

/// A published bound.
#[derive(Debug, Clone, Serialize)]
pub struct Bound {
    /// In grams, or in days for a length of use.
    pub value: String,
    /// The line that states it.
    pub at: At,
}

/// One herb in the dose; grams as decimal strings.
#[derive(Debug, Clone, Serialize)]
pub struct HerbDose {
    /// The herb.
    pub herb: String,
    /// Percent of the blend by weight.
    pub share: String,
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
    /// Whether it was accepted for this formula.
    pub accepted: bool,
    /// Why.
    pub reason: Option<String>,
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
    /// Each herb, the most first.
    pub herbs: Vec<HerbDose>,
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
        dose: intake.map(|intake| words(parts.snapshot, intake.dose.span)),
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
        herbs: intake
            .map(|intake| {
                intake
                    .herbs
                    .iter()
                    .map(|herb| herb_dose(parts.snapshot, herb))
                    .collect()
            })
            .unwrap_or_default(),
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

fn words(snapshot: &Snapshot, span: crate::source::Span) -> String {
    snapshot
        .sources
        .text(span)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
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
        })
    };
    HerbDose {
        herb: name(snapshot, herb.substance),
        share: digits(to_places(herb.share, 6)),
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
    DoseCaution {
        bears_on,
        because,
        level: one.level.word(),
        topic: one.topic.clone(),
        herb: name(snapshot, one.substance),
        text: one.text.clone(),
        accepted: one.accepted.is_some(),
        reason: one
            .accepted
            .as_ref()
            .and_then(|acceptance| acceptance.reason.clone()),
        at: one.span.map(|span| at(&snapshot.sources, span)),
        source: one.book.and_then(|book| source(snapshot, book)),
    }
}

/// The data as a document.
pub fn document(parts: &Parts<'_>, data: &Doses) -> Document {
    let mut page = Document::new();
    page.title(format!("{}: what is in a dose", data.formula));
    page.facts(facts(parts, data));
    // What bears on this person comes before any figure.
    if data.person.is_some() {
        cautions(&mut page, data, &["this person"]);
    }
    if let Ok(intake) = &parts.intake {
        if !data.herbs.is_empty() {
            page.table(table(intake, data));
        }
        let bars = super::bars::bars(intake, |place| name(parts.snapshot, place));
        if !bars.is_empty() && !data.drawn_out {
            page.heading("A dose against what is stated at once");
            page.preformatted(&bars.join("\n"));
        }
    }
    if let Some(why) = &data.child_withheld {
        page.heading("A child's share");
        page.paragraph(why.clone());
    }
    if let Some(child) = &data.child {
        page.heading("A child's share");
        page.paragraph(format!(
            "By {}: {} = {} % of the adult's dose{}. {}",
            child.rule,
            child.working,
            child.share_percent,
            child
                .dose
                .as_ref()
                .map(|dose| format!(", {dose}"))
                .unwrap_or_default(),
            child.mind
        ));
    }
    let notes = notes(data);
    if !notes.is_empty() {
        page.notes(notes);
    }
    cautions(&mut page, data, &["everyone", "not known", "others"]);
    sources(&mut page, data);
    page.small_print(standing::paragraph());
    page
}

#[expect(
    clippy::too_many_lines,
    reason = "a list of facts in the order they are printed"
)]
fn facts(parts: &Parts<'_>, data: &Doses) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    let mut fact = |label: &str, value: String| facts.push((label.to_owned(), value));
    fact(
        "for",
        data.person
            .clone()
            .unwrap_or_else(|| "nobody in particular: name a person to see what bears on them".to_owned()),
    );
    if let Some(reason) = &data.not_reckoned {
        fact("dose", format!("not reckoned: {reason}"));
        return facts;
    }
    let Ok(intake) = &parts.intake else { return facts };
    if let Some(dose) = &data.dose {
        fact("dose", dose.clone());
    }
    if let Some(given) = &data.given {
        fact(
            "given",
            format!("{given}; published doses are for the mouth, so they are not compared"),
        );
    }
    if let Some(blend) = &intake.blend_at_once {
        fact(
            "a dose takes",
            format!("{} of the blend", spread(&blend.settled(), 2, "g")),
        );
    }
    if let Some(volume) = &intake.liquid_at_once {
        fact("a dose takes", spread(&volume.settled(), 2, "ml"));
    }
    if let Some(cup) = intake.blend_a_cup.as_ref().filter(|_| !intake.drawn_out) {
        fact(
            "a cup takes",
            format!("{} of the blend", spread(&cup.settled(), 2, "g")),
        );
    }
    if let Some(strength) = intake.grams_in_100_ml.as_ref().filter(|_| !intake.drawn_out) {
        fact(
            "strength",
            format!("{} to 100 ml of water", spread(&strength.settled(), 2, "g")),
        );
    }
    if let Some(times) = &intake.times {
        let often = if times.is_exact() {
            format!("{} times", short(times.nominal, 1))
        } else {
            format!("{}, reckoned at the most", range(times, 1, "times"))
        };
        fact("a day", often);
    }
    if let Some(held) = &intake.doses_held {
        fact("its own size holds", spread(&held.settled(), 1, "doses"));
    }
    if let Some(days) = &intake.lasts_days {
        let two = days
            .proportion(Decimal::ONE, Decimal::TWO)
            .map(|two| two.settled());
        let two = two
            .map(|two| format!("; two for {}", counted(&two)))
            .unwrap_or_default();
        fact(
            "lasts",
            format!("one person for {}{two}", counted(&days.settled())),
        );
    }
    let longest: Vec<String> = intake
        .herbs
        .iter()
        .filter_map(|herb| {
            let (days, _) = herb.published.most_days?;
            let name = parts
                .snapshot
                .ledger
                .substances
                .get(herb.substance)?
                .name
                .as_str();
            Some(format!("{name} {} days", short(days, 1)))
        })
        .collect();
    if !longest.is_empty() {
        fact("longest use stated", longest.join(", "));
    }
    if !data.natures.is_empty() {
        let said: Vec<String> = data
            .natures
            .iter()
            .map(|nature| {
                format!(
                    "{} {} %",
                    nature.word,
                    nature
                        .percent
                        .parse::<Decimal>()
                        .map(|percent| short(percent, 0))
                        .unwrap_or_default()
                )
            })
            .collect();
        fact(
            "by tradition",
            format!("{} of its weight (traditional knowledge)", said.join(", ")),
        );
    }
    facts
}

/// Days in words: `1 day`, `5.4 days (4.1 to 7.4 days)`.
fn counted(days: &Spread) -> String {
    if days.is_exact() && short(days.nominal, 1) == "1" {
        "1 day".to_owned()
    } else {
        spread(days, 1, "days")
    }
}

fn table(intake: &Intake, data: &Doses) -> Table {
    if data.drawn_out {
        let mut table = Table::new([
            Column::left("herb"),
            Column::decimal("behind a dose"),
            Column::decimal("behind a day").with_importance(1),
        ]);
        for (herb, shown) in intake.herbs.iter().zip(&data.herbs) {
            table.row([
                shown.herb.clone(),
                dose(&herb.at_once),
                herb.a_day.as_ref().map(dose).unwrap_or_default(),
            ]);
        }
        return table;
    }
    let mut table = Table::new([
        Column::left("herb"),
        Column::decimal("in a dose"),
        Column::right("stated at once").with_importance(4),
        Column::decimal("in a day").with_importance(1),
        Column::right("stated most a day").with_importance(2),
        Column::decimal("share").with_importance(5),
    ]);
    for (herb, shown) in intake.herbs.iter().zip(&data.herbs) {
        let published = &herb.published;
        let at_once = match (published.least_at_once, published.most_at_once) {
            (Some((least, _)), Some((most, _))) if least != most => {
                format!("{} to {} g", short(least, 6), short(most, 6))
            }
            (_, Some((most, _))) => format!("{} g", short(most, 6)),
            _ => "–".to_owned(),
        };
        table.row([
            shown.herb.clone(),
            dose(&herb.at_once),
            at_once,
            herb.a_day.as_ref().map(dose).unwrap_or_default(),
            published
                .most_a_day
                .map_or_else(|| "–".to_owned(), |(most, _)| format!("{} g", short(most, 6))),
            format!("{} %", short(herb.share, 1)),
        ]);
    }
    table
}

fn notes(data: &Doses) -> Vec<Note> {
    let mut notes = Vec::new();
    if data.adult_dose_for_a_child {
        notes.push(Note::warning(
            "no dose for this age is written in the formula: the adult's is shown, and a child takes less",
        ));
    }
    if data.drawn_out {
        notes.push(Note::mind(
            "herbs are drawn out into a liquid here: the figures say how much herb stands behind a dose, and published doses of the dried herb are not compared",
        ));
    }
    // The cautions for this person stand above with their words.
    let shown = data
        .findings
        .iter()
        .filter(|one| !one.code.ends_with("-for-this-person"));
    notes.extend(shown.map(|one| {
        let help = one
            .help
            .as_ref()
            .map(|help| format!("; {help}"))
            .unwrap_or_default();
        let text = format!("{}{help} ({})", one.message, one.code);
        match one.severity {
            "error" => Note::error(text),
            "warning" => Note::warning(text),
            _ => Note::plain(text),
        }
    }));
    notes
}

fn cautions(page: &mut Document, data: &Doses, wanted: &[&str]) {
    let groups = [
        ("this person", "Cautions that bear on this person"),
        ("everyone", "Cautions for everyone"),
        ("not known", "Cautions that can't be told without the age"),
        ("others", "Cautions for others"),
    ];
    for (bears_on, heading) in groups
        .into_iter()
        .filter(|(bears_on, _)| wanted.contains(bears_on))
    {
        let of: Vec<&DoseCaution> = data
            .cautions
            .iter()
            .filter(|one| one.bears_on == bears_on)
            .collect();
        if of.is_empty() {
            if bears_on == "this person" && data.person.is_some() {
                page.heading(heading);
                page.paragraph("None of the stated cautions does.");
            }
            continue;
        }
        // With nobody in particular there are no others.
        let nobody = data.person.is_none() && bears_on == "others";
        page.heading(if nobody {
            "Cautions, for whom they concern"
        } else {
            heading
        });
        page.facts(rows(&of));
    }
}

/// One row for each level and topic.
pub(super) fn rows(cautions: &[&DoseCaution]) -> Vec<(String, String)> {
    let mut rows: Vec<(String, Vec<String>)> = Vec::new();
    for one in cautions {
        let label = format!("{} {}", one.level, one.topic);
        let mut said = one.herb.clone();
        if let Some(text) = &one.text {
            said = format!("{said}: {text}");
        }
        if one.accepted {
            said = format!(
                "{said} (accepted: {})",
                one.reason.as_deref().unwrap_or("no reason written")
            );
        }
        match rows.iter_mut().find(|(known, _)| *known == label) {
            Some((_, herbs)) => herbs.push(said),
            None => rows.push((label, vec![said])),
        }
    }
    rows.into_iter()
        .map(|(label, herbs)| (label, herbs.join("; ")))
        .collect()
}

/// The books behind the figures and cautions, each once, memory marked.
fn sources(page: &mut Document, data: &Doses) {
    let mut seen: Vec<(String, String)> = Vec::new();
    let all = data
        .herbs
        .iter()
        .flat_map(|herb| &herb.sources)
        .chain(data.cautions.iter().filter_map(|one| one.source.as_ref()));
    for source in all {
        if seen.iter().any(|(name, _)| *name == source.name) {
            continue;
        }
        let memory = if source.from_memory { " (from memory)" } else { "" };
        seen.push((source.name.clone(), format!("{}{memory}", source.citation)));
    }
    if !seen.is_empty() {
        page.heading("Sources");
        page.facts(seen);
    }
}
