//! Turns one thing of a ledger into a short document: what one wants to know of it at a glance.

use super::doses;
use super::standing;
use super::why::{tree_of_steps, why};
use crate::book::{Holder, Shelf};
use crate::model::{Measure, Substance};
use crate::quantity::{Unit, print};
use crate::render::Document;
use crate::source::Span;
use crate::syntax::day::Day;
use crate::workspace::Snapshot;

/// A herb or a material: what its measures weigh, what is published of it, what to be careful of.
pub fn substance(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let substance = snapshot.ledger.substances.get(at)?;
    let mut page = Document::new();
    page.title(&substance.name);
    let mut facts: Vec<(&str, String)> = Vec::new();
    let mut fact = |label: &'static str, value: Option<String>| {
        facts.extend(
            value
                .filter(|value| !value.is_empty())
                .map(|value| (label, value)),
        );
    };
    fact("latin", substance.latin.clone());
    fact("family", substance.family.clone());
    fact("part", Some(substance.parts.join(", ")));
    fact("nature", Some(substance.nature.join(", ")));
    fact(
        "density",
        substance
            .density
            .map(|density| print::spread(&density.value.settled(), 3, "g per ml")),
    );
    fact(
        "made of",
        substance
            .made_of
            .and_then(|herb| snapshot.ledger.substances.get(herb))
            .map(|herb| herb.name.clone()),
    );
    fact(
        "declared in",
        substance.span.map(|span| snapshot.sources.address(span)),
    );
    if !facts.is_empty() {
        page.facts(facts);
    }
    let groups = [
        weights(snapshot, substance),
        published(snapshot, substance),
        cautions(snapshot, substance),
    ];
    // A list is read in a small window of any editor, where a table is not.
    for group in groups.into_iter().filter(|group| !group.is_empty()) {
        page.facts(group);
    }
    page.small_print(standing::paragraph());
    Some(page)
}

/// What the measures of something weigh.
fn weights(snapshot: &Snapshot, substance: &Substance) -> Vec<(String, String)> {
    let weights = substance.weights.iter().map(|weight| {
        let measure = match &weight.measure {
            Measure::Household(heap, measure) => Unit::Household(*heap, *measure).words(false),
            Measure::Piece(piece) => piece.clone(),
        };
        let weighings = match weight.weighings {
            0 => String::new(),
            1 => ", one weighing".to_owned(),
            several => format!(", {several} weighings"),
        };
        let weighs = print::spread(&weight.grams.settled(), 3, "g");
        (
            measure,
            format!("{weighs}{weighings}{}", cited(snapshot, weight.book)),
        )
    });
    weights.collect()
}

/// Published doses, as they are written.
fn published(snapshot: &Snapshot, substance: &Substance) -> Vec<(String, String)> {
    let doses = substance
        .doses
        .iter()
        .map(|one| ("dose", one.dose.span, one.book));
    let mosts = substance.mosts.iter().map(|one| ("most", one.span, one.book));
    let all = doses.chain(mosts).map(|(word, span, book)| {
        let said = snapshot.sources.words(span);
        let said = said.strip_prefix("most ").unwrap_or(&said);
        // A whole line names its source at its end.
        let said = said.split(" source ").next().unwrap_or(said);
        (word.to_owned(), format!("{said}{}", cited(snapshot, book)))
    });
    all.collect()
}

/// What to be careful of, the gravest first.
fn cautions(snapshot: &Snapshot, substance: &Substance) -> Vec<(String, String)> {
    let mut cautions: Vec<_> = substance.cautions.iter().collect();
    cautions.sort_by_key(|caution| std::cmp::Reverse(caution.level));
    let all = cautions.into_iter().map(|caution| {
        let says = caution
            .text
            .as_ref()
            .map(|text| format!(": {text}"))
            .unwrap_or_default();
        let source = cited(snapshot, caution.book);
        (
            caution.level.word().to_owned(),
            format!("{}{says}{source}", caution.topic.text),
        )
    });
    all.collect()
}

/// The source that a line cites, behind what it says.
fn cited(snapshot: &Snapshot, book: Option<usize>) -> String {
    book.and_then(|at| snapshot.ledger.books.get(at))
        .map(|book| {
            let memory = if book.from_memory { " (from memory)" } else { "" };
            format!(" [{}{memory}]", book.name.text)
        })
        .unwrap_or_default()
}

/// A formula: what it comes to, and what a dose and a cup take.
pub fn formula(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let formula = snapshot.ledger.formulas.get(at)?;
    let mut page = Document::new();
    page.title(&formula.name.text);
    if let Some(purpose) = &formula.purpose {
        page.facts([("for", purpose.clone())]);
    }
    let Some(composition) = snapshot.figures.of(at) else {
        let faults = snapshot.faults_of(at);
        let first = faults
            .first()
            .map(|fault| format!(": {}", fault.message))
            .unwrap_or_default();
        page.paragraph(format!(
            "No figures are given, for an error withholds them{first}."
        ));
        page.small_print(standing::paragraph());
        return Some(page);
    };
    let mut facts: Vec<(String, String)> = vec![("in all".to_owned(), super::why::total(composition))];
    let (reckoned, told) = doses::for_its_person(snapshot, at, composition);
    facts.extend(told);
    if let Ok(intake) = &reckoned
        && let Some(cups) = &intake.cups_held
    {
        facts.push((
            "its own size makes".to_owned(),
            print::spread(&cups.settled(), 1, "cups"),
        ));
    }
    page.facts(facts);
    page.small_print(standing::paragraph());
    Some(page)
}

/// A line of what a formula takes: what it comes to, with the working.
pub fn line(snapshot: &Snapshot, formula: usize, taken: Span, name: &str) -> Option<Document> {
    let composition = snapshot.figures.of(formula)?;
    let at = composition
        .lines
        .iter()
        .position(|line| line.taken.span == taken && line.taken.name.text == name)?;
    let why = why(snapshot, formula, None, None)?;
    let line = why.lines.get(at)?;
    let mut page = Document::new();
    page.title(&line.name);
    page.paragraph(format!("{} of {}.", line.result, why.formula));
    page.tree(tree_of_steps(&line.steps, None).into_iter().map(|mut step| {
        step.depth = step.depth.saturating_sub(1);
        step
    }));
    Some(page)
}

/// A source: what it is, and whether its figures are from memory.
pub fn book(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let book = snapshot.ledger.books.get(at)?;
    let mut page = Document::new();
    page.title(format!("source {}", book.name.text));
    page.paragraph(&book.citation);
    if book.from_memory {
        page.paragraph("Its figures were written from memory: look them up before you rely on them.");
    }
    Some(page)
}

/// A person: what the checks know of them.
pub fn person(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let person = snapshot.ledger.people.get(at)?;
    let mut page = Document::new();
    page.paragraph(person.described());
    Some(page)
}

/// A topic: whom it concerns, and which herbs speak of it.
pub fn topic(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let ledger = &snapshot.ledger;
    let topic = ledger.topics.get(at)?;
    let mut page = Document::new();
    page.title(&topic.name);
    let mut facts: Vec<(&str, String)> = Vec::new();
    let mut asked: Vec<String> = topic
        .when
        .iter()
        .map(|(kind, fact)| format!("{} {fact}", kind.word()))
        .collect();
    asked.dedup();
    let concerns = if topic.everyone {
        "everyone".to_owned()
    } else {
        asked.join(", ")
    };
    facts.push(("concerns", concerns));
    facts.extend(topic.effect.clone().map(|effect| ("effect", effect)));
    let herbs: Vec<String> = ledger
        .substances
        .iter()
        .filter_map(|substance| {
            let own = substance
                .cautions
                .iter()
                .filter(|one| topic.is_called(&one.topic.text));
            let level = own.map(|one| one.level).max()?;
            Some(format!("{} ({})", substance.name, level.word()))
        })
        .collect();
    if !herbs.is_empty() {
        facts.push(("spoken of by", herbs.join(", ")));
    }
    facts.push((
        "declared in",
        topic.span.map_or_else(
            || "the program: every ledger knows it".to_owned(),
            |span| snapshot.sources.address(span),
        ),
    ));
    page.facts(facts);
    Some(page)
}

/// A delivery: what the entry says, and what is left of it at the end of all that is written.
pub fn lot(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let lot = snapshot.ledger.lots.get(at)?;
    let mut page = Document::new();
    page.title(format!("lot {} of {}", lot.id.text, lot.name.text));
    let mut facts = Vec::new();
    facts.extend(lot.received.map(|day| ("received", day.first.to_string())));
    facts.extend(lot.supplier.clone().map(|supplier| ("supplier", supplier)));
    facts.extend(lot.best_before.map(|day| ("best before", day.first.to_string())));
    let shelf = snapshot.book.shelf(Holder::Lot(at));
    let came_in = shelf.and_then(Shelf::came_in);
    facts.extend(came_in.map(|amount| ("came in", amount.written())));
    let left = shelf.and_then(|shelf| shelf.left(Day::MAX));
    facts.extend(left.map(|amount| ("left", amount.written())));
    page.facts(facts);
    Some(page)
}

/// A set: for whom it is, and what it holds.
pub fn set(snapshot: &Snapshot, at: usize) -> Option<Document> {
    let set = snapshot.ledger.sets.get(at)?;
    let mut page = Document::new();
    page.title(format!("set {}", set.name.text));
    let mut facts = Vec::new();
    facts.extend(set.title.clone().map(|title| ("title", title)));
    facts.extend(set.purpose.clone().map(|purpose| ("for", purpose)));
    let held: Vec<&str> = set.holds.iter().map(|(name, _)| name.text.as_str()).collect();
    if !held.is_empty() {
        facts.push(("holds", held.join(", ")));
    }
    page.facts(facts);
    Some(page)
}
