//! Turns one formula of a ledger into what can be compared: its meaning without its places in the text.

use std::collections::BTreeSet;

use crate::code::Code;
use crate::compute::caution::assess;
use crate::compute::intake::{Intake, intake};
use crate::compute::{Amounts, Composition, LineFigure, Totals, held};
use crate::diagnostic::Severity;
use crate::model::{Bound, Formula, Level, Taken};
use crate::naming::folded;
use crate::quantity::{Decimal, Spread};
use crate::source::Span;
use crate::workspace::Snapshot;

/// A formula as far as its meaning goes. Two portraits are equal if nothing that a practitioner
/// would act on differs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Portrait {
    /// Its name as declared.
    pub name: String,
    /// What it takes, in the order written, with everything that it adapts filled in.
    pub items: Vec<Item>,
    /// What of each herb is in it through the formulas that it takes; empty where it takes none.
    pub within: Vec<Within>,
    /// What all of it comes to; nothing while an error withholds the figures.
    pub totals: Option<Totals>,
    /// What a person takes, where the formula says enough.
    pub intake: Option<Dosed>,
    /// The cautions of everything in it.
    pub cautions: BTreeSet<Cautioned>,
    /// What `check` finds in it, but for notices: some are said once for a whole ledger, wherever that is.
    pub findings: BTreeSet<Found>,
    /// How it is prepared, dosed, kept and so on: a label and the words, in the order of the bench.
    pub words: Vec<(&'static str, String)>,
}

/// One thing that is taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Its name as declared, whatever name the line uses.
    pub name: String,
    /// The amount as written.
    pub written: String,
    /// What it comes to.
    pub amounts: Amounts,
    /// Its share of the total in percent, where all lines are alike.
    pub share: Option<Decimal>,
    /// Strength, processing and role, as far as they are said.
    pub manner: String,
}

/// What of a herb is in a formula in all, also through the formulas that it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Within {
    /// The herb.
    pub herb: String,
    /// In grams, or in parts of a formula without a size.
    pub amount: Spread,
}

/// What one dose and one day hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dosed {
    /// Of the blend, in grams.
    pub blend_at_once: Option<Spread>,
    /// Of a liquid, in millilitres.
    pub liquid_at_once: Option<Spread>,
    /// How often a day.
    pub times: Option<Spread>,
    /// How many days the formula's own size lasts one person.
    pub lasts_days: Option<Spread>,
    /// Of each herb.
    pub herbs: Vec<HerbDosed>,
}

/// What a person takes of one herb, in grams.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HerbDosed {
    /// The herb.
    pub herb: String,
    /// At a time.
    pub at_once: Spread,
    /// In a day.
    pub a_day: Option<Spread>,
}

/// A caution of one herb in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cautioned {
    /// How strong.
    pub level: Level,
    /// About what.
    pub topic: String,
    /// Of which herb.
    pub herb: String,
    /// What is said about it.
    pub text: Option<String>,
    /// The reason for which it was accepted, if it was.
    pub accepted: Option<String>,
}

/// A finding without its place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Found {
    /// How much it weighs.
    pub severity: Severity,
    /// Which kind.
    pub code: Code,
    /// What is wrong.
    pub message: String,
}

impl Portrait {
    /// Whether nothing differs but how names are spelled: in large or small letters, or with a hyphen.
    pub fn is_spelled_otherwise(&self, other: &Self) -> bool {
        let plain = |portrait: &Self| {
            let mut portrait = portrait.clone();
            let fold = |name: &mut String| *name = folded(name);
            fold(&mut portrait.name);
            portrait.items.iter_mut().for_each(|one| fold(&mut one.name));
            portrait.within.iter_mut().for_each(|one| fold(&mut one.herb));
            let dosed = portrait.intake.iter_mut();
            dosed
                .flat_map(|dosed| &mut dosed.herbs)
                .for_each(|one| fold(&mut one.herb));
            let cautions = std::mem::take(&mut portrait.cautions).into_iter();
            portrait.cautions = cautions
                .map(|mut one| {
                    fold(&mut one.herb);
                    one
                })
                .collect();
            portrait
        };
        folded(&self.name) == folded(&other.name) && plain(self) == plain(other)
    }
}

/// The portrait of one formula.
pub fn portrait(snapshot: &Snapshot, at: usize) -> Option<Portrait> {
    let written = snapshot.ledger.formulas.get(at)?;
    let composition = snapshot.figures.of(at);
    let formula = composition.map_or(written.as_ref(), |composition| &composition.formula);
    let intake = composition.and_then(|composition| dosed(snapshot, composition, at));
    Some(Portrait {
        name: written.name.text.clone(),
        items: match composition {
            Some(composition) => composition
                .lines
                .iter()
                .map(|line| figured(snapshot, line))
                .collect(),
            None => written.taken.iter().map(|taken| item(snapshot, taken)).collect(),
        },
        within: composition.map_or_else(Vec::new, |composition| within(snapshot, composition)),
        totals: composition.map(|composition| composition.totals),
        intake: intake.map(|intake| read_intake(snapshot, &intake)),
        cautions: composition.map_or_else(BTreeSet::new, |composition| cautions(snapshot, composition)),
        findings: findings(snapshot, written),
        words: words(snapshot, formula),
    })
}

fn item(snapshot: &Snapshot, taken: &Taken) -> Item {
    let mut manner: Vec<String> = taken
        .strength
        .map(|strength| format!("{}%", crate::quantity::print::digits(strength)))
        .into_iter()
        .chain(taken.processing.iter().map(|words| single_blanks(words)))
        .collect();
    manner.extend(
        taken
            .role
            .iter()
            .map(|role| format!("as {}", single_blanks(role))),
    );
    Item {
        name: called(snapshot, taken),
        written: taken.written(&snapshot.sources),
        amounts: Amounts::default(),
        share: None,
        manner: manner.join(", "),
    }
}

fn figured(snapshot: &Snapshot, line: &LineFigure) -> Item {
    let settled = |spread: Option<Spread>| spread.map(|spread| spread.settled());
    Item {
        amounts: Amounts {
            grams: settled(line.amounts.grams),
            millilitres: settled(line.amounts.millilitres),
            parts: settled(line.amounts.parts),
        },
        share: line.share.map(crate::quantity::rounding::settled),
        ..item(snapshot, &line.taken)
    }
}

fn within(snapshot: &Snapshot, composition: &Composition) -> Vec<Within> {
    let is_formula = |line: &LineFigure| matches!(line.taken.what, Bound::Formula(_));
    if !composition.lines.iter().any(is_formula) {
        return Vec::new();
    }
    let held = held(&snapshot.figures, composition).unwrap_or_default();
    held.contents
        .into_iter()
        .filter_map(|(herb, amount)| {
            Some(Within {
                herb: snapshot.ledger.substances.get(herb)?.name.clone(),
                amount: amount.settled(),
            })
        })
        .collect()
}

/// The declared name of what is taken.
fn called(snapshot: &Snapshot, taken: &Taken) -> String {
    let declared = match taken.what {
        Bound::Substance(at) => snapshot.ledger.substances.get(at).map(|one| &one.name),
        Bound::Formula(at) => snapshot.ledger.formulas.get(at).map(|one| &one.name.text),
        Bound::Unknown => None,
    };
    declared.unwrap_or(&taken.name.text).clone()
}

/// The dose for the person whom the formula is for, else for an adult.
fn dosed(snapshot: &Snapshot, composition: &Composition, at: usize) -> Option<Intake> {
    let years = snapshot
        .ledger
        .person_of(&composition.formula)
        .and_then(|person| person.years);
    intake(
        &snapshot.ledger,
        &snapshot.faults,
        &snapshot.figures,
        at,
        years,
        false,
    )
    .ok()
}

fn read_intake(snapshot: &Snapshot, intake: &Intake) -> Dosed {
    let settled = |spread: Option<Spread>| spread.map(|spread| spread.settled());
    Dosed {
        blend_at_once: settled(intake.blend_at_once),
        liquid_at_once: settled(intake.liquid_at_once),
        times: settled(intake.times),
        lasts_days: settled(intake.lasts_days),
        herbs: intake
            .herbs
            .iter()
            .filter_map(|herb| {
                Some(HerbDosed {
                    herb: snapshot.ledger.substances.get(herb.substance)?.name.clone(),
                    at_once: herb.at_once.settled(),
                    a_day: settled(herb.a_day),
                })
            })
            .collect(),
    }
}

fn cautions(snapshot: &Snapshot, composition: &Composition) -> BTreeSet<Cautioned> {
    let person = snapshot.ledger.person_of(&composition.formula);
    assess(&snapshot.ledger, &snapshot.figures, composition, person)
        .into_iter()
        .filter_map(|one| {
            Some(Cautioned {
                level: one.level,
                topic: one.topic,
                herb: snapshot.ledger.substances.get(one.substance)?.name.clone(),
                text: one.text.as_deref().map(single_blanks),
                accepted: one
                    .accepted
                    .map(|acceptance| acceptance.reason.unwrap_or_default()),
            })
        })
        .collect()
}

fn findings(snapshot: &Snapshot, formula: &Formula) -> BTreeSet<Found> {
    snapshot
        .found_in(formula.entry)
        .filter(|one| one.severity > Severity::Notice)
        .map(|one| Found {
            severity: one.severity,
            code: one.code,
            message: one.message.clone(),
        })
        .collect()
}

/// What stands beside the ingredients.
fn words(snapshot: &Snapshot, formula: &Formula) -> Vec<(&'static str, String)> {
    let under = |span: Span| snapshot.sources.words(span);
    let mut words: Vec<(&'static str, String)> = Vec::new();
    let said = |label, text: &Option<String>| text.as_ref().map(|text| (label, single_blanks(text)));
    words.extend(
        formula
            .adapts
            .iter()
            .map(|adapts| ("adapts", single_blanks(&adapts.name.text))),
    );
    words.extend(
        formula
            .person
            .iter()
            .map(|(name, _)| ("person", single_blanks(&name.text))),
    );
    words.extend(said("for", &formula.purpose));
    words.extend(
        formula
            .one_part
            .and_then(|stated| stated.span)
            .map(|span| ("one part", without_its_word(&under(span), "one part"))),
    );
    words.extend(
        formula
            .makes
            .as_ref()
            .and_then(|stated| stated.span)
            .map(|span| ("makes", without_its_word(&under(span), "makes"))),
    );
    words.extend(formula.mix.iter().map(|mix| ("mix", single_blanks(&mix.text))));
    words.extend(
        formula
            .weights
            .iter()
            .map(|weight| ("weighs", under(weight.span))),
    );
    words.extend(
        formula
            .steps
            .iter()
            .map(|step| (step.word, under(step.preparation.span))),
    );
    words.extend(
        formula
            .divide
            .iter()
            .map(|divide| ("divide", without_its_word(&under(divide.span), "divide"))),
    );
    words.extend(said("given", &formula.given));
    words.extend(
        formula
            .doses
            .iter()
            .map(|dose| ("dose", without_its_word(&under(dose.span), "dose"))),
    );
    words.extend(said("sign", &formula.sign));
    words.extend(said("keep", &formula.keep));
    words.extend(formula.accepts.iter().map(|(topic, reason)| {
        let reason = reason
            .as_ref()
            .map(|reason| format!(": {}", single_blanks(reason)))
            .unwrap_or_default();
        ("accept", format!("{}{reason}", single_blanks(&topic.text)))
    }));
    words
}

fn without_its_word(line: &str, word: &str) -> String {
    match line.split_at_checked(word.len()) {
        Some((first, rest)) if folded(first) == word => rest.trim_start().to_owned(),
        _ => line.to_owned(),
    }
}

fn single_blanks(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
