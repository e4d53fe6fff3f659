//! Turns the herbs and materials of a set into its materia medica.

use super::Site;
use crate::compute::caution::{Assessed, Bearing};
use crate::model::{Level, Substance};
use crate::render::Block;
use crate::render::site::{Part, SitePage, slug};
use crate::source::Span;
use crate::view::doses;

/// The page of all herbs and materials.
pub(super) fn page(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("The herbs", "");
    page.lead = Some("What is in the blends of this set, by name: what is stated, and where.".to_owned());
    for (at, formulas) in site.herbs() {
        let Some(herb) = site.snapshot.ledger.substances.get(at) else {
            continue;
        };
        page.parts.push(Part::Section {
            heading: herb.name.clone(),
            name: slug(&herb.name),
            new_page: false,
        });
        page.parts.push(Part::Block(Block::Facts(facts(site, herb))));
        let cautions = cautions(site, at, herb);
        if !cautions.is_empty() {
            page.parts.push(Part::Block(Block::Facts(cautions)));
        }
        page.parts.push(Part::Seen {
            words: "In".to_owned(),
            links: formulas.into_iter().map(Site::to).collect(),
        });
    }
    page
}

/// What a line says behind its line word, without its source.
fn said(site: &Site<'_>, span: Span) -> String {
    let words = site.snapshot.sources.words(span);
    let words = words.split(" source ").next().unwrap_or(&words);
    words.split(" #").next().unwrap_or(words).trim().to_owned()
}

fn facts(site: &Site<'_>, herb: &Substance) -> Vec<(String, String)> {
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |label: &str, text: String| {
        if !text.is_empty() {
            facts.push((label.to_owned(), text));
        }
    };
    fact("botanical name", herb.latin.clone().unwrap_or_default());
    fact("also called", herb.also.join(", "));
    fact("family", herb.family.clone().unwrap_or_default());
    fact("part", herb.parts.join(", "));
    fact("for", herb.purpose.clone().unwrap_or_default());
    fact("taste", herb.taste.join(", "));
    fact("by tradition", herb.nature.join(", "));
    let cited = |book: Option<usize>| {
        let book = book.and_then(|book| site.snapshot.ledger.books.get(book));
        book.map(|book| {
            let memory = if book.from_memory { ", from memory" } else { "" };
            format!(" ({}{memory})", book.name.text)
        })
        .unwrap_or_default()
    };
    for dose in &herb.doses {
        fact(
            "stated dose",
            format!(
                "{}{}",
                site.snapshot.sources.words(dose.dose.span),
                cited(dose.book)
            ),
        );
    }
    for most in &herb.mosts {
        let words = said(site, most.span);
        let words = words.strip_prefix("most ").unwrap_or(&words).to_owned();
        fact("at the most", format!("{words}{}", cited(most.book)));
    }
    let spoons: Vec<String> = herb
        .weights
        .iter()
        .map(|weight| said(site, weight.span))
        .collect();
    fact("spoons", spoons.join("; "));
    fact("keeps", herb.keep.clone().unwrap_or_default());
    facts
}

/// The cautions as stated, by topic, the gravest first.
fn cautions(site: &Site<'_>, at: usize, herb: &Substance) -> Vec<(String, String)> {
    let mut all: Vec<_> = herb.cautions.iter().collect();
    all.sort_by_key(|one| std::cmp::Reverse(one.level));
    let mut rows: Vec<(Level, String, Vec<String>)> = Vec::new();
    for one in all {
        let shown = doses::caution(
            site.snapshot,
            &Assessed {
                substance: at,
                level: one.level,
                topic: one.topic.text.clone(),
                text: one.text.clone(),
                span: Some(one.span),
                book: one.book,
                bearing: Bearing::Others,
                accepted: None,
                lapsed: None,
            },
        );
        let text = match shown.text {
            Some(text) => format!("{}: {text}", shown.topic),
            None => shown.topic,
        };
        match rows.iter_mut().find(|(level, ..)| *level == one.level) {
            Some((_, _, said)) => said.push(text),
            None => rows.push((one.level, one.level.word().to_owned(), vec![text])),
        }
    }
    rows.into_iter()
        .map(|(_, level, said)| (level, said.join("; ")))
        .collect()
}
