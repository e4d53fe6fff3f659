//! What differs between two revisions of a ledger, as data for programs; `page.rs` makes the document.

mod page;
mod words;

use serde::Serialize;

pub use page::{document, phrases};
pub(in crate::view) use words::caution_words;

use super::sheet::Figure;
use super::standing;
use crate::compare::entries::{EntryChange, EntryFate};
use crate::compare::portrait::{Cautioned, Dosed, Found, HerbDosed, Item, Within};
use crate::compare::{self, Comparison, Fate, FormulaChange, Pair};
use crate::compute::Totals;
use crate::difference::{Stretch, words};
use crate::quantity::Spread;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;

/// What differs, as data; `grammar/compare.schema.json` describes it. `was` is before, `is` after;
/// either is missing where there was or is nothing.
#[derive(Debug, Clone, Serialize)]
pub struct Differences {
    /// What the earlier revision is called.
    pub from: String,
    /// What the later revision is called.
    pub to: String,
    /// Formulas that came, went or changed.
    pub formulas: Vec<FormulaDifference>,
    /// Herbs, materials, the practice and other entries that came, went or changed.
    pub entries: Vec<EntryDifference>,
    /// How many formulas are the same.
    pub unchanged_formulas: usize,
    /// Files that could not be read before and after: what stands in them looks as if it were not there.
    pub unread: Unread,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// Files that could not be read, each with the reason.
#[derive(Debug, Clone, Serialize)]
pub struct Unread {
    /// Before.
    pub was: Vec<String>,
    /// After.
    pub is: Vec<String>,
}

/// What changed in one formula.
#[derive(Debug, Clone, Serialize)]
pub struct FormulaDifference {
    /// Its name now, or the last one that it had.
    pub name: String,
    /// The name that it had before, if that was another.
    pub former_name: Option<String>,
    /// `added`, `left out`, `renamed` or `changed`.
    pub fate: &'static str,
    /// Every ingredient.
    pub ingredients: Vec<Ingredient>,
    /// Whether it takes the same in another order.
    pub order_differs: bool,
    /// What of each herb is in it through the formulas that it takes, in grams, or in parts of a
    /// formula without a size; empty where it takes none.
    pub within: Vec<WithinDifference>,
    /// What all of it comes to.
    pub total: Both<Total>,
    /// What a person takes.
    pub dose: Both<DoseFigures>,
    /// What a person takes of each herb.
    pub herbs: Vec<HerbDifference>,
    /// Cautions that came.
    pub cautions_come: Vec<CautionWords>,
    /// Cautions that went.
    pub cautions_gone: Vec<CautionWords>,
    /// Findings that came.
    pub findings_come: Vec<FindingWords>,
    /// Findings that went.
    pub findings_gone: Vec<FindingWords>,
    /// Preparation, directions and so on.
    pub words: Vec<WordDifference>,
    /// Whether its own lines say something else.
    pub own_lines_differ: bool,
    /// Where else a change comes from, in words.
    pub because: Vec<String>,
}

/// Something before and after.
#[derive(Debug, Clone, Serialize)]
pub struct Both<T> {
    /// Before.
    pub was: Option<T>,
    /// After.
    pub is: Option<T>,
}

/// One ingredient.
#[derive(Debug, Clone, Serialize)]
pub struct Ingredient {
    /// Its name.
    pub name: String,
    /// Whether anything about it differs.
    pub differs: bool,
    /// Before.
    pub was: Option<Amount>,
    /// After.
    pub is: Option<Amount>,
    /// By how many grams it differs, where both are known in grams.
    pub by_grams: Option<String>,
}

/// The amount of an ingredient.
#[derive(Debug, Clone, Serialize)]
pub struct Amount {
    /// As written.
    pub written: String,
    /// In grams.
    pub grams: Option<Figure>,
    /// In millilitres.
    pub millilitres: Option<Figure>,
    /// In parts of a formula without a size.
    pub parts: Option<Figure>,
    /// Percent of the total.
    pub share: Option<String>,
    /// Strength, processing and role.
    pub manner: String,
}

/// What of a herb is in a formula in all.
#[derive(Debug, Clone, Serialize)]
pub struct WithinDifference {
    /// The herb.
    pub herb: String,
    /// Before.
    pub was: Option<Figure>,
    /// After.
    pub is: Option<Figure>,
}

/// What all of it comes to.
#[derive(Debug, Clone, Serialize)]
pub struct Total {
    /// In grams.
    pub grams: Option<Figure>,
    /// In millilitres, what is known by volume only.
    pub millilitres: Option<Figure>,
    /// In parts.
    pub parts: Option<Figure>,
    /// The volume that it is made up to or yields.
    pub volume: Option<Figure>,
}

/// What a person takes.
#[derive(Debug, Clone, Serialize)]
pub struct DoseFigures {
    /// Of the blend at a time, in grams.
    pub blend_at_once: Option<Figure>,
    /// Of a liquid at a time, in millilitres.
    pub liquid_at_once: Option<Figure>,
    /// How often a day.
    pub times_a_day: Option<Figure>,
    /// How many days its own size lasts one person.
    pub lasts_days: Option<Figure>,
}

/// What a person takes of one herb, in grams.
#[derive(Debug, Clone, Serialize)]
pub struct HerbDifference {
    /// The herb.
    pub herb: String,
    /// At a time.
    pub at_once: Both<Figure>,
    /// In a day.
    pub a_day: Both<Figure>,
}

/// A caution.
#[derive(Debug, Clone, Serialize)]
pub struct CautionWords {
    /// `avoid`, `consult` or `mind`.
    pub level: &'static str,
    /// About what.
    pub topic: String,
    /// Of which herb.
    pub herb: String,
    /// What is said.
    pub text: Option<String>,
    /// The reason for which it is accepted.
    pub accepted: Option<String>,
}

/// A finding.
#[derive(Debug, Clone, Serialize)]
pub struct FindingWords {
    /// `error`, `warning` or `notice`.
    pub severity: &'static str,
    /// Which kind.
    pub code: &'static str,
    /// What is wrong.
    pub message: String,
}

/// Words that differ.
#[derive(Debug, Clone, Serialize)]
pub struct WordDifference {
    /// The line word.
    pub line: String,
    /// Before.
    pub was: Option<String>,
    /// After.
    pub is: Option<String>,
    /// The words before, in stretches, where both texts are there.
    pub was_words: Vec<Words>,
    /// The words after.
    pub is_words: Vec<Words>,
}

/// A stretch of words.
#[derive(Debug, Clone, Serialize)]
pub struct Words {
    /// The words.
    pub text: String,
    /// Whether only this side has them.
    pub differs: bool,
}

/// An entry, other than a formula, that differs.
#[derive(Debug, Clone, Serialize)]
pub struct EntryDifference {
    /// `herb`, `practice` and so on.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// `added`, `left out` or `changed`.
    pub fate: &'static str,
    /// Its lines that differ.
    pub lines: Vec<WordDifference>,
}

/// Puts the data together.
pub fn differences(from: &str, to: &str, comparison: &Comparison) -> Differences {
    let [unread_was, unread_is] = comparison.unread.clone();
    Differences {
        from: from.to_owned(),
        to: to.to_owned(),
        formulas: comparison
            .formulas
            .iter()
            .map(|change| formula(change, &comparison.entries))
            .collect(),
        entries: comparison.entries.iter().map(entry).collect(),
        unchanged_formulas: comparison.unchanged,
        unread: Unread {
            was: unread_was,
            is: unread_is,
        },
        standing: standing::CAUTIONS,
    }
}

fn both<T, U>(pair: &Pair<T>, form: impl Fn(&T) -> U) -> Both<U> {
    Both {
        was: pair.was.as_ref().map(&form),
        is: pair.is.as_ref().map(&form),
    }
}

fn figure(spread: Option<&Spread>) -> Option<Figure> {
    spread.map(Figure::from)
}

/// What changed in one formula, as data.
pub fn formula(change: &FormulaChange, entries: &[EntryChange]) -> FormulaDifference {
    FormulaDifference {
        name: change.name.clone(),
        former_name: change.former_name.clone(),
        fate: change.fate.words(),
        ingredients: change.items.iter().map(|pair| ingredient(change, pair)).collect(),
        order_differs: change.order_differs,
        within: change.within.iter().filter_map(within).collect(),
        total: both(&change.totals, total),
        dose: both(&change.intake, dose_figures),
        herbs: change.herbs.iter().filter_map(herb).collect(),
        cautions_come: change.cautions_come.iter().map(caution).collect(),
        cautions_gone: change.cautions_gone.iter().map(caution).collect(),
        findings_come: change.findings_come.iter().map(finding).collect(),
        findings_gone: change.findings_gone.iter().map(finding).collect(),
        words: change.words.iter().map(word).collect(),
        own_lines_differ: change.says_otherwise,
        because: causes(change, entries),
    }
}

fn ingredient(change: &FormulaChange, pair: &Pair<Item>) -> Ingredient {
    let amount = |item: &Item| Amount {
        written: item.written.clone(),
        grams: figure(item.amounts.grams.as_ref()),
        millilitres: figure(item.amounts.millilitres.as_ref()),
        parts: figure(item.amounts.parts.as_ref()),
        share: item.share.map(|share| digits(to_places(share, 6))),
        manner: item.manner.clone(),
    };
    let Both { was, is } = both(pair, amount);
    Ingredient {
        name: name_of(pair),
        differs: !pair.is_same(),
        by_grams: change.grams_by(pair).map(digits),
        was,
        is,
    }
}

fn name_of(pair: &Pair<Item>) -> String {
    pair.is
        .as_ref()
        .or(pair.was.as_ref())
        .map(|item| item.name.clone())
        .unwrap_or_default()
}

fn total(totals: &Totals) -> Total {
    Total {
        grams: figure(totals.grams.map(|one| one.settled()).as_ref()),
        millilitres: figure(totals.millilitres.map(|one| one.settled()).as_ref()),
        parts: figure(totals.parts.map(|one| one.settled()).as_ref()),
        volume: figure(totals.volume.map(|one| one.settled()).as_ref()),
    }
}

fn dose_figures(dosed: &Dosed) -> DoseFigures {
    DoseFigures {
        blend_at_once: figure(dosed.blend_at_once.as_ref()),
        liquid_at_once: figure(dosed.liquid_at_once.as_ref()),
        times_a_day: figure(dosed.times.as_ref()),
        lasts_days: figure(dosed.lasts_days.as_ref()),
    }
}

fn within(pair: &Pair<Within>) -> Option<WithinDifference> {
    let Both { was, is } = both(pair, |one| Figure::from(&one.amount));
    Some(WithinDifference {
        herb: pair.is.as_ref().or(pair.was.as_ref())?.herb.clone(),
        was,
        is,
    })
}

fn herb(pair: &Pair<HerbDosed>) -> Option<HerbDifference> {
    let a_day = |one: &Option<HerbDosed>| figure(one.as_ref().and_then(|one| one.a_day.as_ref()));
    Some(HerbDifference {
        herb: pair.is.as_ref().or(pair.was.as_ref())?.herb.clone(),
        at_once: both(pair, |one| Figure::from(&one.at_once)),
        a_day: Both {
            was: a_day(&pair.was),
            is: a_day(&pair.is),
        },
    })
}

pub(in crate::view) fn caution(one: &Cautioned) -> CautionWords {
    CautionWords {
        level: one.level.word(),
        topic: one.topic.clone(),
        herb: one.herb.clone(),
        text: one.text.clone(),
        accepted: one.accepted.clone(),
    }
}

fn finding(one: &Found) -> FindingWords {
    FindingWords {
        severity: one.severity.word(),
        code: one.code.name(),
        message: one.message.clone(),
    }
}

fn word(one: &compare::Word) -> WordDifference {
    let (was_words, is_words) = match (&one.was, &one.is) {
        (Some(was), Some(is)) => words(was, is),
        _ => Default::default(),
    };
    let data = |stretches: Vec<Stretch>| {
        stretches
            .into_iter()
            .map(|one| Words {
                text: one.text,
                differs: one.differs,
            })
            .collect()
    };
    WordDifference {
        line: one.label.clone(),
        was: one.was.clone(),
        is: one.is.clone(),
        was_words: data(was_words),
        is_words: data(is_words),
    }
}

fn entry(change: &EntryChange) -> EntryDifference {
    EntryDifference {
        kind: change.kind.word(),
        name: change.name.clone(),
        fate: match change.fate {
            EntryFate::Came => Fate::Added.words(),
            EntryFate::Went => Fate::LeftOut.words(),
            EntryFate::Changed => Fate::Changed.words(),
        },
        lines: change.lines.iter().map(word).collect(),
    }
}

/// Where else a change comes from, a sentence each.
fn causes(change: &FormulaChange, entries: &[EntryChange]) -> Vec<String> {
    let of_entries = change.causes.entries.iter().filter_map(|at| entries.get(*at));
    let said = |text: &Option<String>| text.clone().unwrap_or_else(|| "nothing".to_owned());
    let mut because: Vec<String> = of_entries
        .flat_map(|entry| {
            let name = [entry.kind.word(), entry.name.as_str()]
                .join(" ")
                .trim_end()
                .to_owned();
            let came_or_went = match entry.fate {
                EntryFate::Came => Some(format!("{name} was added")),
                EntryFate::Went => Some(format!("{name} was left out")),
                EntryFate::Changed => None,
            };
            let lines = entry.telling_lines().map(move |line| {
                format!(
                    "{name}: {} is {}, was {}",
                    line.label,
                    said(&line.is),
                    said(&line.was)
                )
            });
            came_or_went.into_iter().chain(lines)
        })
        .collect();
    because.extend(
        change
            .causes
            .formulas
            .iter()
            .map(|name| format!("{name}, which it takes or adapts, changed")),
    );
    because
}
