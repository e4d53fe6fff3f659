//! What differs between two revisions of a ledger, as a document for people.

use super::super::pictures::{SharePair, before_and_after, percent};
use super::super::standing;
use super::{CautionWords, Differences, FindingWords, FormulaDifference, WordDifference, name_of};
use crate::compare::portrait::{Dosed, Item, Within};
use crate::compare::{self, Comparison, Fate, FormulaChange, Pair};
use crate::compute::{Amounts, Totals};
use crate::difference::{self, bracketed};
use crate::quantity::Spread;
use crate::quantity::print::{dose, short, spread};
use crate::render::{Column, Document, Note, NoteKind, Picture, Table};

/// What stands for an ingredient that came.
const NOT_IN_IT: &str = "not in it";
/// What stands for an ingredient that went.
const LEFT_OUT: &str = "left out";

/// The comparison as a document.
pub fn document(data: &Differences, comparison: &Comparison) -> Document {
    let mut page = Document::new();
    page.title(format!("From {} to {}", data.from, data.to));
    let unread: Vec<Note> = [(&data.from, &data.unread.was), (&data.to, &data.unread.is)]
        .into_iter()
        .flat_map(|(side, files)| files.iter().map(move |why| (side, why)))
        .map(|(side, why)| {
            Note::error(format!(
                "in {side}, {why}; what stands in it looks as if it were not there"
            ))
        })
        .collect();
    if !unread.is_empty() {
        page.notes(unread);
    }
    page.paragraph(summary(data));
    for (change, data) in comparison.formulas.iter().zip(&data.formulas) {
        of_formula(&mut page, change, data);
    }
    of_entries(&mut page, data);
    let brackets = data
        .formulas
        .iter()
        .flat_map(|one| &one.words)
        .chain(data.entries.iter().flat_map(|one| &one.lines))
        .any(|word| !word.was_words.is_empty());
    if brackets {
        page.paragraph("Words in square brackets differ.");
    }
    page.small_print(standing::paragraph());
    page
}

/// What happened, in one line, and to whom.
fn summary(data: &Differences) -> String {
    let named = |fate: Fate| -> Option<String> {
        let names: Vec<String> = data
            .formulas
            .iter()
            .filter(|one| one.fate == fate.words())
            .map(|one| match &one.former_name {
                Some(former) => format!("{} (was {former})", one.name),
                None => one.name.clone(),
            })
            .collect();
        (!names.is_empty()).then(|| format!("{}: {}.", first_letter_large(fate.words()), names.join(", ")))
    };
    let mut sentences: Vec<String> = [Fate::Changed, Fate::Added, Fate::LeftOut, Fate::Renamed]
        .into_iter()
        .filter_map(named)
        .collect();
    if sentences.is_empty() {
        sentences.push("No formula differs.".to_owned());
    }
    sentences.push(match data.unchanged_formulas {
        0 => String::new(),
        1 => "1 formula is the same.".to_owned(),
        many => format!("{many} formulas are the same."),
    });
    sentences.join(" ").trim_end().to_owned()
}

fn first_letter_large(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

fn of_formula(page: &mut Document, change: &FormulaChange, data: &FormulaDifference) {
    page.heading(match &data.former_name {
        Some(former) => format!("{}, renamed from {former}", data.name),
        None => format!("{}, {}", data.name, data.fate),
    });
    if !data.because.is_empty() && !matches!(change.fate, Fate::Added) {
        let opening = if data.own_lines_differ {
            "It changed itself; and "
        } else {
            "Its own lines are the same, but "
        };
        page.paragraph(format!("{opening}{}.", data.because.join("; ")));
    }
    let one_sided = matches!(change.fate, Fate::Added | Fate::LeftOut);
    if change.amounts_differ() {
        page.table(if one_sided {
            amounts_alone(change)
        } else {
            amounts(change)
        });
        if let Some(picture) = shares(change).filter(|_| !one_sided) {
            page.picture(picture);
        }
    }
    if change.totals.was.is_some() != change.totals.is.is_some() && !one_sided {
        page.notes([if change.totals.is.is_none() {
            Note::error("an error withholds the figures now; `scruple check` says which")
        } else {
            Note::plain("its figures were withheld by an error before")
        }]);
    }
    if !one_sided && change.within.iter().any(|pair| !pair.is_same()) {
        page.table(within_table(change));
    }
    if change.doses_differ() {
        doses(page, change, one_sided);
    }
    let mut notes = Vec::new();
    notes.extend(data.cautions_come.iter().map(|one| {
        Note::new(
            if one.level == "avoid" {
                NoteKind::Warning
            } else {
                NoteKind::Mind
            },
            format!(
                "{}: {}",
                if one_sided { "caution" } else { "new caution" },
                caution_words(one)
            ),
        )
    }));
    notes.extend(
        data.cautions_gone
            .iter()
            .filter(|_| change.fate != Fate::LeftOut)
            .map(|one| Note::plain(format!("caution gone: {}", caution_words(one)))),
    );
    let found = |kind: &str, one: &FindingWords| format!("{kind} {}: {}", one.severity, one.message);
    notes.extend(data.findings_come.iter().map(|one| {
        let kind = match one.severity {
            "error" => NoteKind::Error,
            "warning" => NoteKind::Warning,
            _ => NoteKind::Plain,
        };
        Note::new(kind, found(if one_sided { "check has one" } else { "new" }, one))
    }));
    notes.extend(
        data.findings_gone
            .iter()
            .filter(|_| change.fate != Fate::LeftOut)
            .map(|one| Note::plain(found("gone:", one))),
    );
    if !notes.is_empty() {
        page.notes(notes);
    }
    if change.fate != Fate::LeftOut {
        let facts = word_rows(&data.words);
        if !facts.is_empty() {
            page.facts(facts);
        }
    }
}

/// A caution in one line: how strong, about what, of which herb, and whether it was accepted.
pub(in crate::view) fn caution_words(one: &CautionWords) -> String {
    let text = one
        .text
        .as_ref()
        .map(|text| format!(" ({text})"))
        .unwrap_or_default();
    let accepted = match one.accepted.as_deref() {
        None => String::new(),
        Some("") => "; accepted without a reason".to_owned(),
        Some(reason) => format!("; accepted: {reason}"),
    };
    format!("{} {}, {}{text}{accepted}", one.level, one.topic, one.herb)
}

/// An amount in words.
fn amount(amounts: &Amounts, written: &str) -> String {
    let unit = |value: &Option<Spread>, unit: &str| value.as_ref().map(|value| spread(value, 2, unit));
    unit(&amounts.grams, "g")
        .or_else(|| unit(&amounts.millilitres, "ml"))
        .or_else(|| unit(&amounts.parts, "parts"))
        .unwrap_or_else(|| written.to_owned())
}

fn share(item: &Item) -> String {
    item.share.map(percent).unwrap_or_default()
}

/// The shares of all ingredients as a picture, in the words of the table above it.
fn shares(change: &FormulaChange) -> Option<Picture> {
    let side = |item: &Option<Item>, none: &str| match item {
        None => Err(none.to_owned()),
        Some(item) => item.share.ok_or_else(|| "no share".to_owned()),
    };
    let pairs: Vec<SharePair> = change
        .items
        .iter()
        .map(|pair| SharePair {
            name: name_of(pair),
            was: side(&pair.was, NOT_IN_IT),
            is: side(&pair.is, LEFT_OUT),
        })
        .collect();
    before_and_after(&pairs)
}

fn totals_in_words(totals: &Totals) -> String {
    let mut words = Vec::new();
    for (value, unit) in [
        (&totals.grams, "g"),
        (&totals.millilitres, "ml"),
        (&totals.parts, "parts"),
    ] {
        words.extend(value.as_ref().map(|value| spread(&value.settled(), 2, unit)));
    }
    words.extend(
        totals
            .volume
            .as_ref()
            .map(|value| format!("makes {}", spread(&value.settled(), 2, "ml"))),
    );
    words.join(", ")
}

fn amounts(change: &FormulaChange) -> Table {
    let shares = change
        .items
        .iter()
        .flat_map(|pair| [&pair.was, &pair.is])
        .flatten()
        .any(|item| item.share.is_some());
    let mut columns = vec![
        Column::left("ingredient"),
        Column::left("was"),
        Column::left("is"),
        Column::decimal("by").with_importance(1),
    ];
    if shares {
        columns.push(Column::decimal("share was").with_importance(3));
        columns.push(Column::decimal("share is").with_importance(2));
    }
    let mut table = Table::new(columns);
    for pair in &change.items {
        let cell = |item: &Option<Item>, none: &str| match item {
            None => none.to_owned(),
            Some(item) => {
                let amount = amount(&item.amounts, &item.written);
                let manners_differ =
                    pair.was.as_ref().map(|one| &one.manner) != pair.is.as_ref().map(|one| &one.manner);
                if manners_differ && !item.manner.is_empty() {
                    format!("{amount}, {}", item.manner)
                } else {
                    amount
                }
            }
        };
        let by = compare::grams_by(pair)
            .filter(|by| !by.is_zero())
            .map(|by| {
                format!(
                    "{}{} g",
                    if by.is_sign_negative() { "-" } else { "+" },
                    short(by.abs(), 2)
                )
            })
            .unwrap_or_default();
        let cells = [
            name_of(pair),
            cell(&pair.was, NOT_IN_IT),
            cell(&pair.is, LEFT_OUT),
            by,
            pair.was.as_ref().map(share).unwrap_or_default(),
            pair.is.as_ref().map(share).unwrap_or_default(),
        ];
        let cells = cells.into_iter().take(if shares { 6 } else { 4 });
        if pair.is_same() {
            table.quiet(cells);
        } else {
            table.row(cells);
        }
    }
    let total = |totals: &Option<Totals>| totals.as_ref().map(totals_in_words).unwrap_or_default();
    table.total([
        "total".to_owned(),
        total(&change.totals.was),
        total(&change.totals.is),
    ]);
    table
}

/// What of each herb is in it through the formulas that it takes.
fn within_table(change: &FormulaChange) -> Table {
    let unit = |pair: &Pair<Totals>| {
        let parts = |totals: &Option<Totals>| totals.is_some_and(|totals| totals.parts.is_some());
        if parts(&pair.is) || parts(&pair.was) {
            "parts"
        } else {
            "g"
        }
    };
    let unit = unit(&change.totals);
    let mut table = Table::new([
        Column::left("herb, through all it takes"),
        Column::left("was"),
        Column::left("is"),
    ]);
    for pair in change.within.iter().filter(|pair| !pair.is_same()) {
        let words = |one: &Option<Within>, none: &str| {
            one.as_ref()
                .map_or_else(|| none.to_owned(), |one| spread(&one.amount, 2, unit))
        };
        if let Some(either) = pair.is.as_ref().or(pair.was.as_ref()) {
            table.row([
                either.herb.clone(),
                words(&pair.was, "not in it"),
                words(&pair.is, "no longer"),
            ]);
        }
    }
    table
}

/// The ingredients of a formula that came or went.
fn amounts_alone(change: &FormulaChange) -> Table {
    let mut table = Table::new([
        Column::left("ingredient"),
        Column::left("amount"),
        Column::decimal("share").with_importance(1),
    ]);
    for pair in &change.items {
        if let Some(item) = pair.is.as_ref().or(pair.was.as_ref()) {
            table.row([
                item.name.clone(),
                amount(&item.amounts, &item.written),
                share(item),
            ]);
        }
    }
    if let Some(totals) = change.totals.is.as_ref().or(change.totals.was.as_ref()) {
        table.total(["total".to_owned(), totals_in_words(totals)]);
    }
    table
}

fn doses(page: &mut Document, change: &FormulaChange, one_sided: bool) {
    let at_once = |dosed: &Dosed| {
        dosed
            .blend_at_once
            .as_ref()
            .map(dose)
            .or_else(|| dosed.liquid_at_once.as_ref().map(|one| spread(one, 2, "ml")))
    };
    let times = |dosed: &Dosed| dosed.times.as_ref().map(|one| spread(one, 1, "times"));
    let lasts = |dosed: &Dosed| dosed.lasts_days.as_ref().map(|one| spread(one, 1, "days"));
    let none = || "not reckoned".to_owned();
    let mut facts = Vec::new();
    let mut fact = |label: &str, get: &dyn Fn(&Dosed) -> Option<String>| {
        let was = change.intake.was.as_ref().and_then(get);
        let is = change.intake.is.as_ref().and_then(get);
        if one_sided {
            facts.extend(is.or(was).map(|one| (label.to_owned(), one)));
        } else if was != is {
            facts.push((
                label.to_owned(),
                format!("{}, was {}", is.unwrap_or_else(none), was.unwrap_or_else(none)),
            ));
        }
    };
    fact("a dose takes", &at_once);
    fact("a day", &times);
    fact("its own size lasts", &lasts);
    if !facts.is_empty() {
        page.facts(facts);
    }
    let mut table = Table::new(if one_sided {
        vec![
            Column::left("in a dose and a day"),
            Column::left("at once"),
            Column::left("a day"),
        ]
    } else {
        vec![
            Column::left("in a dose and a day"),
            Column::left("at once was"),
            Column::left("at once is"),
            Column::left("a day was").with_importance(1),
            Column::left("a day is").with_importance(1),
        ]
    });
    let words = |one: Option<&Spread>| one.map(dose).unwrap_or_default();
    for pair in change.herbs.iter().filter(|pair| !pair.is_same() || one_sided) {
        let (was, is) = (pair.was.as_ref(), pair.is.as_ref());
        let Some(either) = is.or(was) else { continue };
        let herb = either.herb.clone();
        if one_sided {
            table.row([herb, words(Some(&either.at_once)), words(either.a_day.as_ref())]);
        } else {
            table.row([
                herb,
                words(was.map(|one| &one.at_once)),
                words(is.map(|one| &one.at_once)),
                words(was.and_then(|one| one.a_day.as_ref())),
                words(is.and_then(|one| one.a_day.as_ref())),
            ]);
        }
    }
    if !table.rows.is_empty() {
        page.table(table);
    }
}

/// Words before and after, what differs in square brackets.
fn word_rows(words: &[WordDifference]) -> Vec<(String, String)> {
    let mut rows = Vec::new();
    for one in words {
        match (&one.was, &one.is) {
            (Some(was), Some(is)) => {
                let (was, is) = difference::words(was, is);
                rows.push((format!("{} was", one.line), bracketed(&was)));
                rows.push((format!("{} is", one.line), bracketed(&is)));
            }
            (Some(was), None) => rows.push((format!("{} was", one.line), format!("{was}; now nothing"))),
            (None, Some(is)) => rows.push((format!("{} is", one.line), is.clone())),
            (None, None) => {}
        }
    }
    rows
}

fn of_entries(page: &mut Document, data: &Differences) {
    if data.entries.is_empty() {
        return;
    }
    page.heading("Herbs, materials and other entries");
    let of_fate = |fate: Fate| -> Vec<String> {
        data.entries
            .iter()
            .filter(|one| one.fate == fate.words())
            .map(|one| format!("{} {}", one.kind, one.name).trim_end().to_owned())
            .collect()
    };
    for fate in [Fate::Added, Fate::LeftOut] {
        let names = of_fate(fate);
        if !names.is_empty() {
            page.paragraph(format!(
                "{}: {}.",
                first_letter_large(fate.words()),
                names.join(", ")
            ));
        }
    }
    for one in data
        .entries
        .iter()
        .filter(|one| one.fate == Fate::Changed.words())
    {
        page.paragraph(format!("{} {}:", one.kind, one.name).replace(" :", ":"));
        page.facts(word_rows(&one.lines));
    }
}

/// What changed in a formula, in short phrases: for a history, a watch, a summary.
pub fn phrases(change: &FormulaChange, data: &FormulaDifference) -> Vec<String> {
    let mut said = Vec::new();
    match change.fate {
        Fate::Added => said.push("added".to_owned()),
        Fate::LeftOut => said.push("left out".to_owned()),
        Fate::Renamed => said.extend(
            data.former_name
                .as_ref()
                .map(|former| format!("renamed from {former}")),
        ),
        Fate::Changed => {}
    }
    if matches!(change.fate, Fate::Added | Fate::LeftOut) {
        return said;
    }
    for pair in change.items.iter().filter(|pair| !pair.is_same()) {
        said.extend(item_phrase(pair));
    }
    match (&change.totals.was, &change.totals.is) {
        (Some(_), None) => said.push("an error withholds its figures".to_owned()),
        (None, Some(_)) => said.push("its figures are given again".to_owned()),
        _ => {}
    }
    if let (Some(was), Some(is)) = (&change.intake.was, &change.intake.is) {
        let taken = |dosed: &Dosed| {
            let volume = || dosed.liquid_at_once.as_ref().map(|one| spread(one, 2, "ml"));
            dosed.blend_at_once.as_ref().map(dose).or_else(volume)
        };
        if let (Some(was), Some(is)) = (taken(was), taken(is))
            && was != is
        {
            said.push(format!("a dose takes {is}, was {was}"));
        }
    }
    said.extend(data.words.iter().map(|word| match (&word.was, &word.is) {
        (Some(was), Some(is)) => format!("{}: {is}, was {was}", word.line),
        (Some(was), None) => format!("{}: nothing, was {was}", word.line),
        (None, is) => format!("{}: {}", word.line, is.as_deref().unwrap_or_default()),
    }));
    said.extend(
        data.cautions_come
            .iter()
            .map(|one| format!("new caution: {}", caution_words(one))),
    );
    said.extend(
        data.cautions_gone
            .iter()
            .map(|one| format!("caution gone: {}", caution_words(one))),
    );
    let found = |word: &str, one: &FindingWords| format!("{word} {}: {}", one.severity, one.message);
    said.extend(data.findings_come.iter().map(|one| found("new", one)));
    said.extend(data.findings_gone.iter().map(|one| found("gone,", one)));
    if !data.own_lines_differ {
        said.extend(data.because.iter().map(|cause| format!("because {cause}")));
    }
    if said.is_empty() {
        said.push("what is in a dose or a formula that it takes".to_owned());
    }
    said
}

fn item_phrase(pair: &Pair<Item>) -> Option<String> {
    let same_manner = matches!((&pair.was, &pair.is), (Some(was), Some(is)) if was.manner == is.manner);
    let words = |item: &Item| {
        let amount = amount(&item.amounts, &item.written);
        if item.manner.is_empty() || same_manner {
            amount
        } else {
            format!("{amount}, {}", item.manner)
        }
    };
    Some(match (&pair.was, &pair.is) {
        (Some(was), None) => format!("{} left out, was {}", was.name, words(was)),
        (None, Some(is)) => format!("{} added, {}", is.name, words(is)),
        (Some(was), Some(is)) => {
            let (before, after) = (words(was), words(is));
            if before == after {
                // Only its share moved, because others did.
                return None;
            }
            format!("{} {after}, was {before}", is.name)
        }
        (None, None) => return None,
    })
}
