//! Where a lot went and what is in a batch: as data, rows, a tree, and the page for a recall.

use serde::Serialize;

use super::findings::At;
use super::shelves::{Exactly, amount, kind, place};
use super::standing;
use crate::book::trace::{self, Balance, Forward, Node, Step};
use crate::book::{Holder, Unit, called, name_of};
use crate::diagnostic::Severity;
use crate::quantity::print::{digits, short};
use crate::render::{Column, Document, Note, Table, TreeLine, spreadsheet};
use crate::source::Span;
use crate::syntax::day::Day;
use crate::workspace::Snapshot;

/// How many decimals of a gram a part of a blend is given with: milligrams.
const PLACES: u32 = 3;

/// One line of a tree.
#[derive(Debug, Clone, Serialize)]
pub struct Traced {
    /// How many steps from where the tracing began.
    pub depth: usize,
    /// `lot`, `batch`, `supply`, `discarded`, `counted` or `not said`.
    pub kind: &'static str,
    /// A lot's id; a batch's or a supply's name and day.
    pub called: String,
    /// Of what.
    pub name: String,
    /// The day on which it was received, made, handed out, thrown away or counted.
    pub day: Option<String>,
    /// How much moved.
    pub amount: Option<Exactly>,
    /// How much of what is traced that holds, to the milligram; in the unit of what is traced.
    pub of_it: Option<String>,
    /// The case code of whom it went to.
    pub person: Option<String>,
    /// Who sent it.
    pub supplier: Option<String>,
    /// Until when it is good.
    pub best_before: Option<String>,
    /// Whether it stands in the tree already, with what follows from it.
    pub again: bool,
    /// Where it is written.
    pub at: Option<At>,
}

/// What is still on a shelf.
#[derive(Debug, Clone, Serialize)]
pub struct StillThere {
    /// `lot` or `batch`.
    pub kind: &'static str,
    /// A lot's id; a batch's formula and day.
    pub called: String,
    /// How much; nothing where it is not known.
    pub left: Option<Exactly>,
    /// How much of what is traced that holds.
    pub of_it: Option<String>,
}

/// What came in on one shelf, and where it went; decimal strings that add up.
#[derive(Debug, Clone, Serialize)]
pub struct Account {
    /// `g` or `ml`; nothing where it is not known how much came in.
    pub unit: Option<&'static str>,
    /// What came in.
    pub came_in: String,
    /// What went into batches.
    pub used: String,
    /// What was handed out.
    pub supplied: String,
    /// What was thrown away.
    pub discarded: String,
    /// What counts found to be missing; below zero for too much.
    pub astray: String,
    /// What is left.
    pub left: String,
}

impl From<&Balance> for Account {
    fn from(balance: &Balance) -> Self {
        Self {
            unit: balance.unit.map(Unit::word),
            came_in: digits(balance.came_in),
            used: digits(balance.used),
            supplied: digits(balance.supplied),
            discarded: digits(balance.discarded),
            astray: digits(balance.astray),
            left: digits(balance.left),
        }
    }
}

/// What `trace --as json` prints; `grammar/trace.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct TraceReport {
    /// What was traced.
    pub of: Traced,
    /// With what is left at the end of which day.
    pub on: String,
    /// Where it went.
    pub forward: Vec<Traced>,
    /// What is in it.
    pub back: Vec<Traced>,
    /// Every batch that it went into.
    pub batches: Vec<Traced>,
    /// Everyone who got of it.
    pub supplies: Vec<Traced>,
    /// The case codes of those, each once.
    pub persons: Vec<String>,
    /// What is still on shelves.
    pub on_shelves: Vec<StillThere>,
    /// What it came to; nothing for a supply.
    pub account: Option<Account>,
    /// How many errors lie in lots, batches and supplies: what they hold may be missing here.
    pub errors_in_the_book: usize,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

fn traced(snapshot: &Snapshot, node: &Node) -> Traced {
    let ledger = &snapshot.ledger;
    let mut one = Traced {
        depth: node.depth,
        kind: "not said",
        called: String::new(),
        name: String::new(),
        day: None,
        amount: node.amount.map(Exactly::from),
        of_it: node.of_it.map(|part| short(part, PLACES)),
        person: None,
        supplier: None,
        best_before: None,
        again: node.again,
        at: None,
    };
    match node.step {
        Step::Shelf(holder) => {
            one.kind = kind(holder);
            one.called = called(ledger, holder);
            one.at = place(snapshot, holder);
            if let Some(shelf) = snapshot.book.shelf(holder) {
                name_of(ledger, shelf.what).clone_into(&mut one.name);
                one.best_before = shelf.best_before.map(|day| day.to_string());
            }
            match holder {
                Holder::Lot(at) => {
                    let lot = ledger.lots.get(at);
                    one.day = lot.and_then(|lot| lot.received).map(|day| day.written());
                    one.supplier = lot.and_then(|lot| lot.supplier.clone());
                }
                Holder::Batch(at) => one.day = ledger.batches.get(at).map(|batch| batch.day.written()),
            }
        }
        Step::Supply(at) => {
            one.kind = "supply";
            if let Some(supply) = ledger.supplies.get(at) {
                one.called = format!("{} on {}", supply.name.text, supply.day.written());
                one.name.clone_from(&supply.name.text);
                one.day = Some(supply.day.written());
                one.person = supply.person.as_ref().map(|(code, _)| code.text.clone());
                one.at = Some(super::findings::at(&snapshot.sources, supply.head));
                let taken = snapshot.book.supplies.get(at).and_then(|taking| taking.amount);
                one.amount = one.amount.or(taken.map(Exactly::from));
            }
        }
        Step::Discarded(day) => {
            one.kind = "discarded";
            one.day = Some(day.to_string());
        }
        Step::Counted(day) => {
            one.kind = "counted";
            one.day = Some(day.to_string());
        }
        Step::Unsaid(what) => name_of(ledger, what).clone_into(&mut one.name),
    }
    one
}

/// Traces a lot or a batch both ways.
pub fn of_holder(snapshot: &Snapshot, holder: Holder, on: Day) -> TraceReport {
    let found: Forward = trace::forward(&snapshot.book, &snapshot.ledger, holder, on);
    let all = |nodes: &[Node]| nodes.iter().map(|node| traced(snapshot, node)).collect();
    let supplies: Vec<Traced> = all(&found.supplies);
    let back = match holder {
        Holder::Lot(_) => Vec::new(),
        Holder::Batch(_) => all(&trace::back(&snapshot.book, Step::Shelf(holder))),
    };
    let start = Node {
        depth: 0,
        step: Step::Shelf(holder),
        amount: None,
        of_it: None,
        again: false,
    };
    TraceReport {
        of: traced(snapshot, &start),
        on: on.to_string(),
        forward: all(&found.tree),
        back,
        batches: all(&found.batches),
        persons: persons(&supplies),
        supplies,
        on_shelves: found
            .on_shelves
            .iter()
            .map(|one| StillThere {
                kind: kind(one.holder),
                called: called(&snapshot.ledger, one.holder),
                left: one.left.map(Exactly::from),
                of_it: one.of_it.map(|part| short(part, PLACES)),
            })
            .collect(),
        account: Some(Account::from(&found.balance)),
        errors_in_the_book: errors_in_the_book(snapshot),
        standing: standing::CAUTIONS,
    }
}

/// Traces what was handed out back to its lots.
pub fn of_supply(snapshot: &Snapshot, supply: usize, on: Day) -> TraceReport {
    let start = Node {
        depth: 0,
        step: Step::Supply(supply),
        amount: None,
        of_it: None,
        again: false,
    };
    let back = trace::back(&snapshot.book, Step::Supply(supply));
    let of = traced(snapshot, &start);
    TraceReport {
        on: on.to_string(),
        forward: Vec::new(),
        back: back.iter().map(|node| traced(snapshot, node)).collect(),
        batches: Vec::new(),
        persons: of.person.iter().cloned().collect(),
        supplies: Vec::new(),
        on_shelves: Vec::new(),
        account: None,
        errors_in_the_book: errors_in_the_book(snapshot),
        standing: standing::CAUTIONS,
        of,
    }
}

/// How many errors lie in lots, batches and supplies.
fn errors_in_the_book(snapshot: &Snapshot) -> usize {
    let ledger = &snapshot.ledger;
    let lots = ledger.lots.iter().map(|one| one.span);
    let batches = ledger.batches.iter().map(|one| one.span);
    let supplies = ledger.supplies.iter().map(|one| one.span);
    let mut entries: Vec<Span> = lots.chain(batches).chain(supplies).collect();
    entries.sort_unstable();
    let errors = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.severity == Severity::Error);
    errors
        .filter(|one| {
            let after =
                entries.partition_point(|entry| (entry.file, entry.start) <= (one.span.file, one.span.start));
            after
                .checked_sub(1)
                .and_then(|at| entries.get(at))
                .is_some_and(|entry| entry.file == one.span.file && one.span.start <= entry.end)
        })
        .count()
}

fn persons(supplies: &[Traced]) -> Vec<String> {
    let mut codes: Vec<String> = supplies.iter().filter_map(|one| one.person.clone()).collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

fn title(report: &TraceReport) -> String {
    match report.of.kind {
        "lot" => format!("Lot {} of {}", report.of.called, report.of.name),
        _ => report.of.called.clone(),
    }
}

/// The trace as a document with its trees.
pub fn document(report: &TraceReport) -> Document {
    let mut page = Document::new();
    page.title(title(report));
    page.facts(facts(report));
    if !report.back.is_empty() {
        page.heading("What is in it");
        page.tree(report.back.iter().map(line));
    }
    if !report.forward.is_empty() {
        page.heading("Where it went");
        if report.forward.len() > 1 {
            page.tree(report.forward.iter().map(line));
        } else {
            page.paragraph("Nothing was taken of it.");
        }
    }
    still_there(&mut page, report);
    page.small_print(standing::paragraph());
    page
}

fn facts(report: &TraceReport) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |label: &str, value: String| facts.push((label.to_owned(), value));
    if let Some(supplier) = &report.of.supplier {
        fact("from", supplier.clone());
    }
    match (&report.of.day, report.of.kind) {
        (Some(day), "lot") => fact("received", day.clone()),
        (None, "lot") => fact("received", "not yet".to_owned()),
        (Some(day), "batch") => fact("made", day.clone()),
        (Some(day), _) => fact("handed out", day.clone()),
        (None, _) => {}
    }
    if let Some(code) = report.of.person.as_ref().filter(|_| report.of.kind == "supply") {
        fact("to", format!("person {code}"));
    }
    if let Some(day) = &report.of.best_before {
        fact("best before", day.clone());
    }
    if let Some(at) = &report.of.at {
        fact("written in", format!("{}:{}", at.file, at.line));
    }
    if let Some(account) = &report.account {
        for (label, value) in balance(account) {
            fact(label, value);
        }
    }
    facts
}

/// What came in and where it went, as far as anything did.
fn balance(account: &Account) -> Vec<(&'static str, String)> {
    let Some(unit) = account.unit else {
        return vec![("came in", "not known".to_owned())];
    };
    let all = [
        ("came in", &account.came_in),
        ("into batches", &account.used),
        ("handed out", &account.supplied),
        ("thrown away", &account.discarded),
        ("gone astray", &account.astray),
        ("left", &account.left),
    ];
    all.into_iter()
        .filter(|(label, value)| ["came in", "left"].contains(label) || *value != "0")
        .map(|(label, value)| (label, format!("{value} {unit}")))
        .collect()
}

fn line(one: &Traced) -> TreeLine {
    let moved = one
        .amount
        .as_ref()
        .map_or_else(String::new, |one| format!("{} {} ", one.amount, one.unit));
    let part = one
        .of_it
        .as_ref()
        .filter(|part| one.amount.as_ref().is_some_and(|amount| amount.amount != **part))
        .map(|part| format!(", {part} of it"))
        .unwrap_or_default();
    let again = if one.again { " (as above)" } else { "" };
    let day = one.day.as_deref().unwrap_or("an unknown day");
    let text = match (one.kind, one.depth) {
        ("lot", _) => {
            let received = one.day.as_ref().map_or_else(
                || ", not received yet".to_owned(),
                |day| format!(", received {day}"),
            );
            let supplier = one.supplier.as_ref().map(|who| format!(" from {who}"));
            let last = one.best_before.as_ref().map(|day| format!(", good up to {day}"));
            format!(
                "{moved}{} lot {}{received}{}{}",
                one.name,
                one.called,
                supplier.unwrap_or_default(),
                last.unwrap_or_default()
            )
        }
        ("batch", 0) => one.called.clone(),
        ("batch", _) => format!("{moved}in the batch of {}{part}{again}", one.called),
        ("supply", 0) => {
            let whom = one.person.as_ref().map(|code| format!(" to person {code}"));
            format!("{moved}of {}{}", one.called, whom.unwrap_or_default())
        }
        ("supply", _) => {
            let whom = one.person.as_ref().map_or_else(
                || "to nobody named".to_owned(),
                |code| format!("to person {code}"),
            );
            format!("{moved}handed out on {day} {whom}{part}")
        }
        ("discarded", _) => format!("{moved}thrown away on {day}{part}"),
        ("counted", _) => format!("{moved}gone astray by the count of {day}{part}"),
        _ => format!("{moved}{}, from no lot that is named", one.name),
    };
    TreeLine::new(one.depth, text)
}

fn still_there(page: &mut Document, report: &TraceReport) {
    if report.account.is_none() {
        return;
    }
    page.heading(format!("Still on a shelf at the end of {}", report.on));
    if report.on_shelves.is_empty() {
        page.paragraph("Nothing.");
        return;
    }
    let unit = report.account.as_ref().and_then(|account| account.unit);
    let mut table = Table::new([
        Column::left("shelf"),
        Column::decimal("left"),
        Column::decimal("of it"),
    ]);
    for one in &report.on_shelves {
        table.row([
            format!("{} {}", one.kind, one.called),
            amount(one.left.as_ref()),
            of_it(one.of_it.as_deref(), unit),
        ]);
    }
    page.table(table);
}

fn of_it(part: Option<&str>, unit: Option<&str>) -> String {
    match (part, unit) {
        (Some(part), Some(unit)) => format!("{part} {unit}"),
        (Some(part), None) => part.to_owned(),
        (None, _) => "not known".to_owned(),
    }
}

/// The page for a recall: what it is, who got of it, and what is still there.
pub fn recall(report: &TraceReport) -> Document {
    let mut page = Document::new();
    page.title(format!("Recall: {}", title(report)));
    page.facts(facts(report));
    let unit = report.account.as_ref().and_then(|account| account.unit);
    page.heading(format!(
        "Who got of it: {} supplies to {} people",
        report.supplies.len(),
        report.persons.len()
    ));
    if report.supplies.is_empty() {
        page.paragraph("Nobody, as far as the book says.");
    } else {
        let mut table = Table::new([
            Column::left("person"),
            Column::left("day"),
            Column::left("what"),
            Column::decimal("got"),
            Column::decimal("of it"),
        ]);
        for one in &report.supplies {
            table.row([
                one.person.clone().unwrap_or_else(|| "not named".to_owned()),
                one.day.clone().unwrap_or_default(),
                one.name.clone(),
                amount(one.amount.as_ref()),
                of_it(one.of_it.as_deref(), unit),
            ]);
        }
        page.table(table);
    }
    if !report.batches.is_empty() {
        page.heading("The batches that it went into");
        let mut table = Table::new([
            Column::left("batch"),
            Column::decimal("went in"),
            Column::left("good up to").with_importance(1),
        ]);
        for one in &report.batches {
            table.row([
                one.called.clone(),
                amount(one.amount.as_ref()),
                one.best_before.clone().unwrap_or_default(),
            ]);
        }
        page.table(table);
    }
    still_there(&mut page, report);
    page.notes(recall_notes(report));
    page.small_print(standing::paragraph());
    page
}

fn recall_notes(report: &TraceReport) -> Vec<Note> {
    let mut notes = Vec::new();
    if !report.on_shelves.is_empty() {
        notes.push(Note::warning(
            "take what is still on a shelf out of use and mark it",
        ));
    }
    if report.errors_in_the_book > 0 {
        notes.push(Note::error(format!(
            "errors in lots, batches and supplies: {}; what they hold may be missing on this page, so run `scruple check` and mend them first",
            report.errors_in_the_book
        )));
    }
    if report.supplies.iter().any(|one| one.person.is_none()) {
        notes.push(Note::warning(
            "of some supplies the book doesn't say to whom they went: ask, and look into what you have on paper",
        ));
    }
    notes.push(Note::plain(
        "A part of a blend is reckoned as if what is traced were spread evenly in it. What was taken without a lot is not in this page: `scruple stock` says of which herbs that is so.",
    ));
    notes
}

/// Traces as rows for a spreadsheet: the trees, one line a row.
pub fn rows(reports: &[TraceReport]) -> String {
    let rows: Vec<Vec<String>> = reports.iter().flat_map(rows_of).collect();
    spreadsheet::rows(
        &[
            "way",
            "depth",
            "kind",
            "called",
            "name",
            "day",
            "amount",
            "unit",
            "of it",
            "person",
            "supplier",
            "best before",
        ],
        &rows,
    )
}

fn rows_of(report: &TraceReport) -> Vec<Vec<String>> {
    let cells = |way: &str, one: &Traced| {
        let (moved, unit) = one
            .amount
            .as_ref()
            .map_or((String::new(), ""), |one| (one.amount.clone(), one.unit));
        let text = |words: &Option<String>| words.clone().unwrap_or_default();
        vec![
            way.to_owned(),
            one.depth.to_string(),
            one.kind.to_owned(),
            one.called.clone(),
            one.name.clone(),
            text(&one.day),
            moved,
            unit.to_owned(),
            text(&one.of_it),
            text(&one.person),
            text(&one.supplier),
            text(&one.best_before),
        ]
    };
    let mut rows: Vec<Vec<String>> = report.back.iter().map(|one| cells("back", one)).collect();
    rows.extend(report.forward.iter().map(|one| cells("forward", one)));
    for one in &report.on_shelves {
        let (left, unit) = one
            .left
            .as_ref()
            .map_or((String::new(), ""), |one| (one.amount.clone(), one.unit));
        let mut row = vec![String::new(); 12];
        for (at, text) in [
            (0, "on the shelf"),
            (2, one.kind),
            (3, &one.called),
            (5, &report.on),
            (6, &left),
            (7, unit),
            (8, one.of_it.as_deref().unwrap_or_default()),
        ] {
            if let Some(cell) = row.get_mut(at) {
                text.clone_into(cell);
            }
        }
        rows.push(row);
    }
    rows
}
