//! What differs between two revisions of a ledger, as a document for people.

use super::super::pictures::{SharePair, before_and_after, percent};
use super::super::standing;
use super::words;
use super::{Differences, FindingWords, FormulaDifference, WordDifference, name_of};
use crate::compare::portrait::{Dosed, Item, Within};
use crate::compare::{Comparison, Fate, FormulaChange, Pair};
use crate::compute::Totals;
use crate::difference::{self, bracketed};
use crate::quantity::Spread;
use crate::render::{Column, Document, Note, NoteKind, Picture, Table};

/// What stands for an ingredient that came.
const NOT_IN_IT: &str = "not in it";
/// What stands for an ingredient that went.
const LEFT_OUT: &str = "left out";
/// What stands for an ingredient that is not seen on a side whose figures an error withholds.
const NOT_SEEN: &str = "not there, or not understood";
/// What is said where only the order of the lines is another.
const ORDER: &str = "its lines stand in another order";

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
    if change.order_differs {
        page.paragraph(format!("{}.", first_letter_large(ORDER)));
    }
    match (one_sided, change.is_withheld) {
        (true, _) | (_, [false, false]) => {}
        (_, [_, true]) => {
            page.notes([Note::error(
                "an error withholds the figures now; `scruple check` says which. Its doses and cautions can't be compared",
            )]);
        }
        (_, [true, false]) => {
            page.notes([Note::plain(
                "its figures were withheld by an error before, so its doses and cautions can't be compared",
            )]);
        }
    }
    if !one_sided && change.within.iter().any(|pair| !pair.is_same()) {
        page.table(within_table(change));
    }
    if change.doses_differ() {
        doses(page, change, one_sided);
    }
    let mut notes = Vec::new();
    notes.extend(
        words::cautions(change, data)
            .into_iter()
            .map(|(kind, text)| Note::new(kind, text)),
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
            was: side(&pair.was, none_was(change)),
            is: side(&pair.is, none_is(change)),
        })
        .collect();
    before_and_after(&pairs)
}

/// What stands for an ingredient that was not there before.
fn none_was(change: &FormulaChange) -> &'static str {
    let [was_withheld, _] = change.is_withheld;
    if was_withheld { NOT_SEEN } else { NOT_IN_IT }
}

/// What stands for an ingredient that is not there now.
fn none_is(change: &FormulaChange) -> &'static str {
    let [_, is_withheld] = change.is_withheld;
    if is_withheld { NOT_SEEN } else { LEFT_OUT }
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
        let [was, is] = words::amounts(pair);
        let manners_differ =
            pair.was.as_ref().map(|one| &one.manner) != pair.is.as_ref().map(|one| &one.manner);
        let cell = |item: &Option<Item>, amount: Option<String>, none: &str| match (item, amount) {
            (Some(item), Some(amount)) if manners_differ && !item.manner.is_empty() => {
                format!("{amount}, {}", item.manner)
            }
            (_, amount) => amount.unwrap_or_else(|| none.to_owned()),
        };
        let by = change.grams_by(pair).and_then(words::by_grams);
        let cells = [
            name_of(pair),
            cell(&pair.was, was, none_was(change)),
            cell(&pair.is, is, none_is(change)),
            by.unwrap_or_default(),
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
    let [was, is] = words::totals(&change.totals);
    table.total(["total".to_owned(), was, is]);
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
        let amount = |one: &Option<_>| one.as_ref().map(|one: &Within| one.amount);
        let [was, is] = words::reckoned(amount(&pair.was).as_ref(), amount(&pair.is).as_ref(), unit, 2);
        if let Some(either) = pair.is.as_ref().or(pair.was.as_ref()) {
            table.row([
                either.herb.clone(),
                was.unwrap_or_else(|| NOT_IN_IT.to_owned()),
                is.unwrap_or_else(|| "no longer".to_owned()),
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
            let [was, is] = words::amounts(pair);
            table.row([item.name.clone(), is.or(was).unwrap_or_default(), share(item)]);
        }
    }
    let [was, is] = words::totals(&change.totals);
    let total = if is.is_empty() { was } else { is };
    if !total.is_empty() {
        table.total(["total".to_owned(), total]);
    }
    table
}

fn doses(page: &mut Document, change: &FormulaChange, one_sided: bool) {
    let none = || "not reckoned".to_owned();
    let mut facts = Vec::new();
    for (label, [was, is]) in taken(&change.intake) {
        if one_sided {
            facts.extend(is.or(was).map(|one| (label.to_owned(), one)));
        } else if was != is {
            facts.push((
                label.to_owned(),
                format!("{}, was {}", is.unwrap_or_else(none), was.unwrap_or_else(none)),
            ));
        }
    }
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
    for pair in change.herbs.iter().filter(|pair| !pair.is_same() || one_sided) {
        let (was, is) = (pair.was.as_ref(), pair.is.as_ref());
        let Some(either) = is.or(was) else { continue };
        let at_once = words::doses(was.map(|one| &one.at_once), is.map(|one| &one.at_once));
        let a_day = words::doses(
            was.and_then(|one| one.a_day.as_ref()),
            is.and_then(|one| one.a_day.as_ref()),
        );
        let mut cells = vec![either.herb.clone()];
        for [was, is] in [at_once, a_day] {
            if one_sided {
                cells.push(is.or(was).unwrap_or_default());
            } else {
                cells.extend([was, is].map(Option::unwrap_or_default));
            }
        }
        table.row(cells);
    }
    if !table.rows.is_empty() {
        page.table(table);
    }
}

/// What a person takes, how often, and how long it lasts, before and after.
fn taken(intake: &Pair<Dosed>) -> [(&'static str, [Option<String>; 2]); 3] {
    let both = |get: fn(&Dosed) -> Option<Spread>| [&intake.was, &intake.is].map(|one| get(one.as_ref()?));
    let in_words = |get: fn(&Dosed) -> Option<Spread>, unit: &str, least: u32| {
        let [was, is] = both(get);
        words::reckoned(was.as_ref(), is.as_ref(), unit, least)
    };
    let [blend_was, blend_is] = both(|dosed| dosed.blend_at_once);
    let [of_blend_was, of_blend_is] = words::doses(blend_was.as_ref(), blend_is.as_ref());
    let [of_liquid_was, of_liquid_is] = in_words(|dosed| dosed.liquid_at_once, "ml", 2);
    [
        (
            "a dose takes",
            [of_blend_was.or(of_liquid_was), of_blend_is.or(of_liquid_is)],
        ),
        ("a day", in_words(|dosed| dosed.times, "times", 1)),
        (
            "its own size lasts",
            in_words(|dosed| dosed.lasts_days, "days", 1),
        ),
    ]
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
        said.extend(item_phrase(change, pair));
    }
    if change.order_differs {
        said.push(ORDER.to_owned());
    }
    match (&change.totals.was, &change.totals.is) {
        (Some(_), None) => said.push("an error withholds its figures".to_owned()),
        (None, Some(_)) => said.push("its figures are given again".to_owned()),
        _ => {}
    }
    if change.intake.was.is_some() && change.intake.is.is_some() {
        let [(label, both), ..] = taken(&change.intake);
        if let [Some(was), Some(is)] = both
            && was != is
        {
            said.push(format!("{label} {is}, was {was}"));
        }
    }
    said.extend(data.words.iter().map(|word| match (&word.was, &word.is) {
        (Some(was), Some(is)) => format!("{}: {is}, was {was}", word.line),
        (Some(was), None) => format!("{}: nothing, was {was}", word.line),
        (None, is) => format!("{}: {}", word.line, is.as_deref().unwrap_or_default()),
    }));
    said.extend(words::cautions(change, data).into_iter().map(|(_, text)| text));
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

fn item_phrase(change: &FormulaChange, pair: &Pair<Item>) -> Option<String> {
    let same_manner = matches!((&pair.was, &pair.is), (Some(was), Some(is)) if was.manner == is.manner);
    let with_manner = |item: &Option<Item>, amount: Option<String>| {
        let (item, amount) = (item.as_ref()?, amount?);
        Some(if item.manner.is_empty() || same_manner {
            amount
        } else {
            format!("{amount}, {}", item.manner)
        })
    };
    let [was, is] = words::amounts(pair);
    let name = name_of(pair);
    let [was_withheld, is_withheld] = change.is_withheld;
    Some(match (with_manner(&pair.was, was), with_manner(&pair.is, is)) {
        (Some(was), None) if is_withheld => format!("{name} {NOT_SEEN}, was {was}"),
        (Some(was), None) => format!("{name} left out, was {was}"),
        (None, Some(is)) if was_withheld => format!("{name} {is}, before {NOT_SEEN}"),
        (None, Some(is)) => format!("{name} added, {is}"),
        // Where both are the same only its share moved, because others did.
        (Some(was), Some(is)) if was == is => return None,
        (Some(was), Some(is)) => format!("{name} {is}, was {was}"),
        (None, None) => return None,
    })
}
