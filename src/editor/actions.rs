//! Turns a place into what can be done there: mendings of what was found, and other ways of writing.

use super::amounts::{line_end, line_start};
use super::{Here, NotAdopted, adopted, parts};
use crate::code;
use crate::diagnostic::{Diagnostic, Edit};
use crate::model::{Bound, Formula, Measure, Portion, Taken, TakenAmount};
use crate::quantity::{Heap, Unit};
use crate::reference;
use crate::source::{FileId, Span};
use crate::syntax::tree::{Body, Entry, Ingredient, Kind, Line};
use crate::workspace::Snapshot;

/// What can be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Deed {
    /// Mend what was found, as the finding offers.
    Fix,
    /// Copy the entry of a herb from the built-in reference.
    Adopt,
    /// Add a line for one's own weighings to a herb.
    Weigh,
    /// Write the parts of a formula in grams.
    IntoGrams,
    /// Write the grams of a formula in parts.
    IntoParts,
    /// Give each name after `of each` a line of its own.
    Split,
}

impl Deed {
    /// Its name where a program keeps it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Fix => "fix",
            Self::Adopt => "adopt",
            Self::Weigh => "weigh",
            Self::IntoGrams => "into-grams",
            Self::IntoParts => "into-parts",
            Self::Split => "split",
        }
    }

    /// The deed with this name.
    pub fn named(name: &str) -> Option<Self> {
        let all = [
            Self::Fix,
            Self::Adopt,
            Self::Weigh,
            Self::IntoGrams,
            Self::IntoParts,
            Self::Split,
        ];
        all.into_iter().find(|deed| deed.name() == name)
    }
}

/// Something that can be done at a place.
#[derive(Debug, Clone)]
pub struct Action<'a> {
    /// What it does, in a few words.
    pub title: String,
    /// What is done.
    pub deed: Deed,
    /// The byte at which it is done.
    pub at: usize,
    /// The finding that it mends.
    pub mends: Option<&'a Diagnostic>,
}

/// What a deed changes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Change {
    /// Edits of files that are there.
    pub edits: Vec<Edit>,
    /// Text that a file of the ledger begins with, if it must be made.
    pub added: Option<Added>,
}

/// Text for the end of a file that may not be there yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Added {
    /// The file's path in the ledger.
    pub path: &'static str,
    /// What it begins with, if it is new.
    pub heading: &'static str,
    /// The text.
    pub text: String,
}

/// What can be done in a span of a file.
pub fn actions(snapshot: &Snapshot, within: Span) -> Vec<Action<'_>> {
    let mut found: Vec<Action<'_>> = Vec::new();
    let touches =
        |span: Span| span.file == within.file && span.start <= within.end && within.start <= span.end;
    for finding in snapshot.diagnostics.iter().filter(|one| touches(one.span)) {
        let mut put = |title: String, deed: Deed| {
            found.push(Action {
                title,
                deed,
                at: finding.span.first_byte(),
                mends: Some(finding),
            });
        };
        if let Some(fix) = &finding.fix {
            put(fix.title.clone(), Deed::Fix);
        }
        if finding.code == code::UNKNOWN_NAME
            && let Some(name) = reference::knows(snapshot.sources.text(finding.span).trim_matches('"'))
        {
            put(format!("adopt {name} from the built-in reference"), Deed::Adopt);
        }
        if is_unweighed(finding)
            && let Some((_, taken, measure)) = unweighed(snapshot, finding.span)
        {
            put(
                format!(
                    "add a line to {} for your own weighings of a {measure}",
                    taken.name.text
                ),
                Deed::Weigh,
            );
        }
    }
    let here = Here {
        snapshot,
        file: within.file,
        at: within.first_byte(),
    };
    let mut put = |title: &str, deed: Deed| {
        found.push(Action {
            title: title.to_owned(),
            deed,
            at: here.at,
            mends: None,
        });
    };
    if let Some((_, formula)) = formula_here(&here) {
        if parts::has_sized_parts(snapshot, formula) {
            put("write its parts in grams, at this size", Deed::IntoGrams);
        }
        if parts::has_grams_only(formula) {
            put("write its grams in parts", Deed::IntoParts);
        }
    }
    if item_here(&here).is_some_and(|(_, item)| can_split(item)) {
        put("give each of these a line of its own", Deed::Split);
    }
    found
}

/// What a deed changes at a place.
///
/// # Errors
/// In plain words, why nothing is changed.
pub fn change(here: &Here<'_>, deed: Deed, finding: Option<&Diagnostic>) -> Result<Change, String> {
    let edits = |edits: Vec<Edit>| Change { edits, added: None };
    let gone = || "there is nothing of the kind here any more".to_owned();
    match deed {
        Deed::Fix => {
            let fix = finding
                .and_then(|finding| finding.fix.as_ref())
                .ok_or_else(gone)?;
            Ok(edits(fix.edits.clone()))
        }
        Deed::Adopt => adopt(here),
        Deed::Weigh => {
            let (entry, _, measure) = here
                .snapshot
                .diagnostics
                .iter()
                .filter(|one| here.is_in(one.span) && is_unweighed(one))
                .find_map(|one| unweighed(here.snapshot, one.span))
                .ok_or_else(gone)?;
            Ok(edits(vec![line_for_weighings(here.snapshot, entry, &measure)]))
        }
        Deed::IntoGrams | Deed::IntoParts => {
            let (entry, formula) = formula_here(here).ok_or_else(gone)?;
            let made = if deed == Deed::IntoGrams {
                parts::into_grams(here.snapshot, entry, formula)
            } else {
                parts::into_parts(here.snapshot, entry, formula)
            };
            made.map(edits)
        }
        Deed::Split => {
            let (line, item) = item_here(here).ok_or_else(gone)?;
            parts::checked(here.snapshot, vec![split(here, line, item).ok_or_else(gone)?]).map(edits)
        }
    }
}

fn formula_here<'a>(here: &Here<'a>) -> Option<(&'a Entry, &'a Formula)> {
    let entry = here.entry()?;
    let formula = here
        .snapshot
        .ledger
        .formulas
        .get(super::formula_at(here.snapshot, entry.head)?)?;
    Some((entry, formula))
}

// ---- adopting --------------------------------------------------------------------------------

fn adopt(here: &Here<'_>) -> Result<Change, String> {
    let name = here
        .snapshot
        .diagnostics
        .iter()
        .find(|one| one.code == code::UNKNOWN_NAME && here.is_in(one.span))
        .map(|one| here.snapshot.sources.text(one.span).trim_matches('"'))
        .ok_or("there is no unknown name here any more")?;
    let adopted = adopted(here.snapshot, name).map_err(|why| match why {
        NotAdopted::Unknown => format!("the built-in reference has no `{name}`"),
        NotAdopted::IsThere(name) => format!("this ledger has `{name}` already"),
        NotAdopted::OtherSource(name) => {
            format!(
                "this ledger has another source `{name}`, and the figures would cite it: rename yours first"
            )
        }
        NotAdopted::DoesNotFit(why) => format!("the entry does not fit into this ledger: {why}"),
    })?;
    let there = here
        .snapshot
        .sources
        .iter()
        .find(|(_, source)| *source.path == *super::Adopted::FILE);
    Ok(match there {
        Some((file, source)) => Change {
            edits: vec![at_the_end(file, &source.text, &adopted.text)],
            added: None,
        },
        None => Change {
            edits: Vec::new(),
            added: Some(Added {
                path: super::Adopted::FILE,
                heading: super::Adopted::HEADING,
                text: adopted.text,
            }),
        },
    })
}

/// The edit that adds text behind a file, with a blank line before it.
pub fn at_the_end(file: FileId, text: &str, added: &str) -> Edit {
    let gap = if text.is_empty() {
        ""
    } else if text.ends_with('\n') {
        "\n"
    } else {
        "\n\n"
    };
    Edit {
        span: Span::new(file, text.len(), text.len()),
        text: format!("{gap}{added}"),
    }
}

// ---- weighings -------------------------------------------------------------------------------

fn is_unweighed(finding: &Diagnostic) -> bool {
    [
        code::SPOON_WITHOUT_WEIGHT,
        code::PIECE_WITHOUT_WEIGHT,
        code::HEAP_WITHOUT_SIZE,
        code::SPOON_FROM_ANOTHER_SPOON,
    ]
    .contains(&finding.code)
}

/// The entry of the herb that a finding speaks of, the line that takes it, and the measure that lacks a weight.
fn unweighed(snapshot: &Snapshot, span: Span) -> Option<(&Entry, &Taken, String)> {
    let taken = snapshot
        .ledger
        .formulas
        .iter()
        .filter(|formula| formula.entry.file == span.file)
        .flat_map(|formula| &formula.taken)
        .find(|taken| taken.amount_span.start <= span.start && span.end <= taken.amount_span.end)?;
    let Bound::Substance(at) = taken.what else {
        return None;
    };
    let own = snapshot.ledger.substances.get(at)?;
    let entry_span = own.entry?;
    let (TakenAmount::Portion(portion) | TakenAmount::About(portion)) = taken.amount.as_ref()? else {
        return None;
    };
    let measure = measure_of(portion)?;
    let has_it = own.weights.iter().any(|weight| weight.measure == measure);
    let words = match measure {
        Measure::Household(heap, measure) => Unit::Household(heap, measure).words(false),
        Measure::Piece(piece) => piece,
    };
    let entry = super::tree(snapshot, entry_span.file)?
        .entries
        .iter()
        .find(|entry| entry.span == entry_span)?;
    (!has_it).then_some((entry, taken, words))
}

fn measure_of(portion: &Portion) -> Option<Measure> {
    match portion {
        Portion::Household(_, heap, measure) => Some(Measure::Household(*heap, *measure)),
        Portion::Pieces(_, piece) => Some(Measure::Piece(
            crate::naming::singulars(piece)
                .pop()
                .unwrap_or_else(|| piece.clone()),
        )),
        Portion::Sum(all) => all.iter().find_map(|one| {
            measure_of(one).filter(|measure| !matches!(measure, Measure::Household(Heap::Level, _)))
        }),
        _ => None,
    }
}

/// A line for the figures of one's own scales. It holds none: a weight is never made up.
fn line_for_weighings(snapshot: &Snapshot, entry: &Entry, measure: &str) -> Edit {
    let is_early = |line: &&Line| {
        matches!(line.body, Body::Weighing(_))
            || matches!(line.word.text.as_str(), "latin" | "also" | "part" | "family")
    };
    let above = entry
        .lines
        .iter()
        .rfind(is_early)
        .map_or(entry.head, |line| line.span);
    let text = snapshot
        .sources
        .get(entry.span.file)
        .map_or("", |source| &source.text);
    let at = line_end(text, above.end_byte());
    Edit {
        span: Span::new(entry.span.file, at, at),
        text: format!("\n  {:<18}weighed ", format!("{measure} ")),
    }
}

// ---- of each ---------------------------------------------------------------------------------

fn item_here<'a>(here: &Here<'a>) -> Option<(&'a Line, &'a Ingredient)> {
    let entry = here.entry().filter(|entry| entry.kind == Kind::Formula)?;
    entry.lines.iter().find_map(|line| match &line.body {
        Body::Take(items, _) => items
            .iter()
            .find(|item| here.is_in(item.span))
            .map(|item| (line, item)),
        _ => None,
    })
}

fn can_split(item: &Ingredient) -> bool {
    item.names.len() > 1 && item.amount.as_ref().is_some_and(|amount| amount.each)
}

/// The column in which amounts stand under `take`.
const AMOUNTS: usize = 34;

fn split(here: &Here<'_>, take: &Line, item: &Ingredient) -> Option<Edit> {
    if !can_split(item) || take.word.span.end > item.span.start {
        return None;
    }
    let text = here.text();
    let start = item.span.first_byte();
    let begins = line_start(text, start);
    let indent = text.get(begins..start)?;
    let end = item.source.as_ref().map_or(item.span.end_byte(), |source| {
        source.span.end_byte().max(item.span.end_byte())
    });
    let said = text.get(start..end)?;
    // What goes over several lines, or shares its line with `take`, is left to a person.
    if said.contains(['\n', '\r']) || !indent.trim().is_empty() {
        return None;
    }
    let amount = item.amount.as_ref()?;
    let written = text.get(amount.span.first_byte()..end)?;
    let lower = written.to_lowercase();
    let each = if lower.starts_with("of each") {
        "of each".len()
    } else {
        "āā".len()
    };
    let rest = written.get(each..)?.trim_start();
    let lines: Vec<String> = item
        .names
        .iter()
        .map(|name| {
            let name = here.snapshot.sources.text(name.span);
            let width = crate::render::columns(indent).saturating_add(crate::render::columns(name));
            let gap = AMOUNTS.saturating_sub(width).max(2);
            format!("{name}{}{rest}", " ".repeat(gap))
        })
        .collect();
    Some(Edit {
        span: Span::new(here.file, start, end),
        text: lines.join(&format!("\n{indent}")),
    })
}
