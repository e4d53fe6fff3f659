//! Turns a set into its cover, its index and its page of sources.

use std::collections::BTreeMap;

use super::{Held, Site};
use crate::compute::caution::assess;
use crate::model::Level;
use crate::render::Block;
use crate::render::site::{Entry, Link, Part, SitePage, slug};
use crate::view::site::formula::section;

/// The first page.
pub(super) fn cover(site: &Site<'_>) -> SitePage {
    let mut page = site.empty(site.title(), "");
    page.above.clone_from(&site.snapshot.ledger.practice.name);
    page.lead = site.set.purpose.as_deref().map(lead);
    page.ways = Vec::new();
    page.is_cover = true;
    if !site.set.lessons.is_empty() {
        page.parts.push(section("Lessons"));
        let lessons = (1_usize..).zip(&site.set.lessons).map(|(number, lesson)| {
            let to = format!("lessons.html#{}", slug(&lesson.heading));
            Entry::new(
                Link::new(format!("{number}. {}", capital(&lesson.heading)), to),
                None,
            )
        });
        page.parts.push(Part::Contents(lessons.collect()));
    }
    page.parts.push(section("Blends"));
    let formulas = site.formulas.iter().map(|held| {
        let formula = site.snapshot.ledger.formulas.get(held.formula);
        Entry::new(
            Site::to(held),
            formula.and_then(|formula| formula.purpose.clone()),
        )
    });
    page.parts.push(Part::Contents(formulas.collect()));
    page.parts.push(section("To work with"));
    let more = [
        (
            "Exercises",
            "exercises.html",
            "scale it, find the part, what is in a cup, find the mistake",
        ),
        (
            "The herbs",
            "herbs.html",
            "every herb of the set, with what is stated and where",
        ),
        ("Index", "by-word.html", "by herb, by purpose, by caution"),
        (
            "Sources",
            "sources.html",
            "the books and papers behind the figures",
        ),
    ];
    let more = more.map(|(text, to, words)| Entry::new(Link::new(text, to), Some(words.to_owned())));
    page.parts.push(Part::Contents(more.to_vec()));
    page
}

/// What something is for, as a line below its title.
pub(super) fn lead(purpose: &str) -> String {
    format!("For {purpose}")
}

/// A text that begins with a capital letter.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// Herbs, purposes and cautions, each with its formulas.
pub(super) fn index(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("Index", "");
    page.parts.push(section("By herb"));
    let herbs = site.herbs().into_iter().map(|(herb, formulas)| Entry {
        head: site.to_herb(herb),
        words: None,
        more: links(&formulas),
    });
    page.parts.push(Part::Contents(herbs.collect()));
    page.parts.push(section("By purpose"));
    let mut purposes: BTreeMap<String, Vec<&Held>> = BTreeMap::new();
    for held in &site.formulas {
        let formula = site.snapshot.ledger.formulas.get(held.formula);
        if let Some(purpose) = formula.and_then(|formula| formula.purpose.clone()) {
            purposes.entry(purpose).or_default().push(held);
        }
    }
    page.parts.push(Part::Contents(words(purposes)));
    page.parts.push(section("By caution"));
    page.parts.push(Part::Block(Block::Paragraph(
        "Which blends hold something that has such a caution, whatever its strength. The page of a blend says more."
            .to_owned(),
    )));
    let mut topics: BTreeMap<String, (Level, Vec<&Held>)> = BTreeMap::new();
    for held in &site.formulas {
        let Some(composition) = site.snapshot.figures.of(held.formula) else {
            continue;
        };
        for one in assess(&site.snapshot.ledger, &site.snapshot.figures, composition, None) {
            let (level, formulas) = topics.entry(one.topic).or_insert_with(|| (one.level, Vec::new()));
            *level = one.level.max(*level);
            if formulas.last().is_none_or(|last| last.formula != held.formula) {
                formulas.push(held);
            }
        }
    }
    let topics = topics
        .into_iter()
        .map(|(topic, (level, formulas))| (format!("{topic} ({})", level.word()), formulas));
    page.parts.push(Part::Contents(words(topics.collect())));
    page
}

fn words(entries: BTreeMap<String, Vec<&Held>>) -> Vec<Entry> {
    let entry = |(word, formulas): (String, Vec<&Held>)| Entry {
        head: Link::new(word, ""),
        words: None,
        more: links(&formulas),
    };
    entries.into_iter().map(entry).collect()
}

fn links(formulas: &[&Held]) -> Vec<Link> {
    formulas.iter().map(|held| Site::to(held)).collect()
}

/// The books behind the figures.
pub(super) fn sources(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("Sources", "");
    page.lead = Some("Where the figures and cautions of this set come from.".to_owned());
    let groups = [
        (false, "Read", "The figure or sentence that is cited was seen."),
        (
            true,
            "From memory",
            "What is cited was written down from memory: look it up before you rely on it.",
        ),
    ];
    for (memory, heading, words) in groups {
        let books = site.books().into_iter().filter_map(|at| {
            let book = site.snapshot.ledger.books.get(at)?;
            (book.from_memory == memory).then(|| (book.name.text.clone(), book.citation.clone()))
        });
        let mut books: Vec<(String, String)> = books.collect();
        if books.is_empty() {
            continue;
        }
        books.sort();
        page.parts.push(section(heading));
        page.parts.push(Part::Block(Block::Paragraph(words.to_owned())));
        page.parts.push(Part::Block(Block::Facts(books)));
    }
    page
}
