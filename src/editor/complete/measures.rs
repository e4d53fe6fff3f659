//! Offers what may stand in a line under `take`: names, then amounts in the measures that the herb has.

use super::{Offers, Sort, Typed, names};
use crate::editor::context::is_blank;
use crate::model::{Bound, Looked, Measure, PieceSize, Weight};
use crate::quantity::number;
use crate::quantity::{Decimal, Heap, Household, Spread, Unit, print};

/// The column in which amounts stand under `take`.
const AMOUNTS: usize = 34;
/// How far an item is indented.
const ITEMS: usize = 4;

/// A line of a list, as far as it is typed.
pub fn item(offers: &mut Offers<'_, '_>, is_take: bool, typed: Typed<'_>) {
    let typed = match typed.words.strip_prefix("without ") {
        Some(rest) if is_take => typed.from(typed.words.len().saturating_sub(rest.len())).trimmed(),
        _ => typed,
    };
    match amount_begins(typed.words) {
        None => name(offers, is_take, typed),
        Some(at) => {
            let what = last_name(typed.words.get(..at).unwrap_or_default());
            let of = match offers.here.snapshot.ledger.names.look(what) {
                Looked::Found(bound) => Some(bound),
                _ => None,
            };
            let amount = typed.from(at);
            if is_take {
                amount_of(offers, of, amount);
            } else {
                portion_of(offers, of, amount);
            }
        }
    }
}

/// The last of several names with commas between them.
fn last_name(names: &str) -> &str {
    names.rsplit(',').next().unwrap_or(names).trim().trim_matches('"')
}

/// Where a name ends and its amount begins, by the rule of the language.
fn amount_begins(line: &str) -> Option<usize> {
    let mut at = 0_usize;
    let mut is_quoted = false;
    for word in line.split_inclusive(is_blank) {
        let start = at;
        at = at.saturating_add(word.len());
        let bare = word.trim_end_matches(is_blank);
        let opens_quote = bare.matches('"').count();
        if !is_quoted && opens_quote == 0 {
            let rest = line.get(start..).unwrap_or_default().to_lowercase();
            let begins = bare.starts_with(|letter: char| letter.is_numeric())
                || matches!(bare.to_lowercase().as_str(), "q.s." | "about" | "āā")
                || ["of each ", "to ", "equal ", "in equal ", "as "]
                    .iter()
                    .any(|words| {
                        rest.strip_prefix(words).is_some_and(|rest| {
                            !matches!(*words, "to " | "as ")
                                || rest.trim_start().starts_with(|letter: char| letter.is_numeric())
                        })
                    })
                || (matches!(bare, "a" | "an") && start > 0);
            if begins {
                return Some(start);
            }
        }
        if opens_quote == 1 {
            is_quoted = !is_quoted;
        }
    }
    None
}

fn name(offers: &mut Offers<'_, '_>, is_take: bool, typed: Typed<'_>) {
    let own = typed.after_last(',');
    let several = own.start != typed.start;
    let known = offers
        .here
        .snapshot
        .ledger
        .names
        .look(own.words.trim().trim_matches('"'));
    if let (Looked::Found(bound), true) = (&known, own.words.ends_with(is_blank)) {
        openings(
            offers,
            *bound,
            several && is_take,
            Typed {
                words: "",
                start: offers.here.at,
            },
        );
    }
    let ends = offers.at_line_end();
    let before = own.start.saturating_sub(typed.start).saturating_add(ITEMS);
    let padded = |name: &str| {
        if !ends {
            return name.to_owned();
        }
        let width = before.saturating_add(crate::render::columns(name));
        let gap = AMOUNTS.saturating_sub(width).max(2);
        format!("{name}{}", " ".repeat(gap))
    };
    names::taken(offers, own, &padded);
}

/// How an amount of something may begin.
fn openings(offers: &mut Offers<'_, '_>, of: Bound, several: bool, typed: Typed<'_>) {
    for (words, each) in measures_of(offers, of, Decimal::ONE) {
        offers.put(typed, Sort::Measure, &format!("1 {words}"), each);
    }
    if several {
        offers.put_as(
            typed,
            Sort::Value,
            "of each",
            "of each ",
            Some("the same amount for each name".to_owned()),
        );
        offers.put(
            typed,
            Sort::Value,
            "equal parts",
            Some("one part of each".to_owned()),
        );
    }
    for (label, says) in [
        ("q.s. to 100 g", "what is missing to a total"),
        ("q.s.", "enough, by judgement: kept out of every total"),
    ] {
        offers.put(typed, Sort::Value, label, Some(says.to_owned()));
    }
}

/// An amount under `take` that has begun: its measure, then its role.
fn amount_of(offers: &mut Offers<'_, '_>, of: Option<Bound>, amount: Typed<'_>) {
    if let Some(at) = amount.words.rfind(" as ") {
        let role = amount.from(at.saturating_add(" as ".len())).trimmed();
        names::roles(offers, role, str::to_owned);
        return;
    }
    let clause = amount.after_last(',');
    if clause.start != amount.start {
        processings(offers, clause);
        return;
    }
    if matches!(amount.words.trim().to_lowercase().as_str(), "of each") {
        return;
    }
    if let Some((number, unit)) = number_and_unit(amount) {
        if unit.words.ends_with(is_blank) && is_unit(unit.words.trim()) {
            let at = Typed {
                words: "",
                start: offers.here.at,
            };
            names::roles(offers, at, |role| format!("as {role}"));
            return;
        }
        let count = number::read(number).map_or(Decimal::ONE, |number| number.value);
        // Weights first: what is taken by mistake should not be a great many spoons.
        offers.put(unit, Sort::Measure, "g", Some("grams".to_owned()));
        if let Some(of) = of {
            for (words, each) in measures_of(offers, of, count) {
                offers.put(unit, Sort::Measure, &words, each);
            }
        }
        units(offers, unit, count);
    }
}

/// An amount under `used`: its measure, then the lot.
fn portion_of(offers: &mut Offers<'_, '_>, of: Option<Bound>, amount: Typed<'_>) {
    let portion = amount.after_last(',');
    if let Some(at) = portion.words.rfind("from ") {
        names::lots(
            offers,
            portion.from(at.saturating_add("from ".len())).trimmed(),
            of,
        );
        return;
    }
    if let Some((_, unit)) = number_and_unit(portion) {
        if unit.words.ends_with(is_blank) && is_unit(unit.words.trim()) {
            let at = Typed {
                words: "",
                start: offers.here.at,
            };
            offers.put_as(
                at,
                Sort::Value,
                "from",
                "from ",
                Some("from which lot".to_owned()),
            );
            return;
        }
        units(offers, unit, Decimal::TWO);
    }
}

/// The last number of what is typed, and what is typed of its measure; nothing where no blank follows the number.
pub fn number_and_unit(typed: Typed<'_>) -> Option<(&str, Typed<'_>)> {
    let last = typed.words.rfind(|letter: char| letter.is_numeric())?;
    let digits_end = last.saturating_add(typed.words.get(last..)?.chars().next()?.len_utf8());
    let after = typed.words.get(digits_end..)?;
    if !after.starts_with(is_blank) {
        return None;
    }
    let before = typed.words.get(..digits_end)?;
    let start = before
        .rfind(|letter: char| is_blank(letter) || letter == ',')
        .map_or(0, |at| at.saturating_add(1));
    Some((before.get(start..)?, typed.from(digits_end).trimmed()))
}

fn is_unit(words: &str) -> bool {
    use crate::quantity::unit::{Reading, read};
    !words.is_empty()
        && matches!(
            read(words, crate::quantity::unit::Settled::default()),
            Reading::Known(_)
        )
}

/// Units that stand for anything.
pub fn units(offers: &mut Offers<'_, '_>, typed: Typed<'_>, count: Decimal) {
    let parts = if count == Decimal::ONE { "part" } else { "parts" };
    for (unit, says) in [
        ("g", "grams"),
        (parts, "relative: gets its size from the whole"),
        ("%", "of the finished total, by weight"),
        ("ml", "millilitres, of a liquid"),
        ("kg", "kilograms"),
        ("mg", "milligrams"),
        ("litres", "of a liquid"),
        ("oz", "28.35 g"),
        ("drops", "of a liquid"),
    ] {
        offers.put(typed, Sort::Measure, unit, Some(says.to_owned()));
    }
}

/// What is done to a herb in other lines of the ledger.
fn processings(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    let mut known: Vec<&str> = Vec::new();
    let formulas = &offers.here.snapshot.ledger.formulas;
    for said in formulas
        .iter()
        .flat_map(|one| &one.taken)
        .flat_map(|taken| &taken.processing)
    {
        if !known.contains(&said.as_str()) {
            known.push(said);
        }
    }
    known.sort_unstable();
    for said in known {
        offers.put(typed, Sort::Value, said, None::<String>);
    }
}

/// The measures that something has, in words for a count, each with what that many of it weigh.
pub fn measures_of(offers: &Offers<'_, '_>, of: Bound, count: Decimal) -> Vec<(String, Option<String>)> {
    let ledger = &offers.here.snapshot.ledger;
    let mut found: Vec<(String, Option<String>)> = Vec::new();
    let several = count != Decimal::ONE;
    let weights: &[Weight] = match of {
        Bound::Substance(at) => ledger
            .substances
            .get(at)
            .map_or(&[], |one| one.weights.as_slice()),
        Bound::Formula(at) => ledger.formulas.get(at).map_or(&[], |one| one.weights.as_slice()),
        Bound::Unknown => &[],
    };
    let in_words = |each: &Spread| {
        let all = each.scaled(count).ok()?;
        Some(print::dose(&all.settled()))
    };
    for weight in weights {
        let words = match &weight.measure {
            Measure::Household(heap, measure) => Unit::Household(*heap, *measure).words(several),
            Measure::Piece(piece) if several && !piece.ends_with('s') => format!("{piece}s"),
            Measure::Piece(piece) => piece.clone(),
        };
        found.push((words, in_words(&weight.grams)));
    }
    // A heaped spoon may be told from a level one, where the practice says how.
    for heap in [Heap::Rounded, Heap::Heaped] {
        let Some(factor) = ledger.practice.heap(heap) else {
            continue;
        };
        for measure in Household::ALL {
            let level = weights
                .iter()
                .find(|weight| weight.measure == Measure::Household(Heap::Level, measure));
            let own = weights
                .iter()
                .any(|weight| weight.measure == Measure::Household(heap, measure));
            if let Some(level) = level
                && !own
                && measure.is_spoon()
                && measure != Household::Pinch
                && measure != Household::Handful
            {
                let all = level.grams.times(&factor.value).ok();
                found.push((
                    Unit::Household(heap, measure).words(several),
                    all.as_ref().and_then(in_words),
                ));
            }
        }
    }
    if let Bound::Formula(at) = of
        && let Some(pieces) = ledger
            .formulas
            .get(at)
            .and_then(|formula| formula.divide.as_ref())
    {
        let each = match &pieces.size {
            PieceSize::Grams(grams) => in_words(grams),
            PieceSize::Count(_) => None,
        };
        found.push((pieces.name.clone(), each));
    }
    found
}
