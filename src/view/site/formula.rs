//! Turns a formula into its page: what is in it, how it is made, its sheets, a dose, cautions, sources.

use super::sheets::{named, sheets};
use super::{Held, Site};
use crate::compute::{Composition, How};
use crate::model::Bound;
use crate::quantity::print::{short, spread};
use crate::render::site::{Link, Part, SitePage, slug};
use crate::render::{Block, Column, Document, Table};
use crate::view::doses::{self, Doses, Parts};
use crate::view::pictures;

/// The page of one formula.
pub(super) fn page(site: &Site<'_>, at: usize) -> SitePage {
    let Some(held) = site.formulas.get(at) else {
        return site.empty("", "../");
    };
    let mut page = site.empty(&held.name, "../");
    let near = |held: &Held| Link::new(&held.name, format!("{}.html", held.slug));
    page.before = at.checked_sub(1).and_then(|at| site.formulas.get(at)).map(near);
    page.after = at.checked_add(1).and_then(|at| site.formulas.get(at)).map(near);
    let Some(composition) = site.snapshot.figures.of(held.formula) else {
        return page;
    };
    page.lead = composition.formula.purpose.as_deref().map(super::lists::lead);
    holds(site, composition, &mut page.parts);
    made(site, composition, &mut page.parts);
    bench(site, composition, &mut page.parts);
    let _ = doses::for_anyone(site.snapshot, held.formula, |parts, data| {
        dose(site, parts, data, &mut page.parts);
    });
    let herbs = site.within(held);
    page.parts.push(Part::Seen {
        words: "More about".to_owned(),
        links: herbs
            .into_iter()
            .map(|herb| {
                let link = site.to_herb(herb);
                Link::new(link.text, format!("../{}", link.to))
            })
            .collect(),
    });
    page
}

/// The heading of a part of a formula's page.
pub(super) fn section(heading: &str) -> Part {
    Part::Section {
        heading: heading.to_owned(),
        name: slug(heading),
        new_page: false,
    }
}

fn holds(site: &Site<'_>, composition: &Composition, parts: &mut Vec<Part>) {
    parts.push(section("What is in it"));
    let mut table = Table::new([
        Column::left("take"),
        Column::left("botanical name").with_importance(1),
        Column::left("as written"),
        Column::decimal("comes to"),
        Column::decimal("share"),
    ]);
    for line in &composition.lines {
        let taken = &line.taken;
        let latin = match taken.what {
            Bound::Substance(at) => site
                .snapshot
                .ledger
                .substances
                .get(at)
                .and_then(|one| one.latin.clone()),
            _ => None,
        };
        let comes_to = match (line.amounts.grams, line.amounts.millilitres, line.how) {
            (_, _, How::Uncounted) => "as needed".to_owned(),
            (_, _, How::ToTheMark) => "to the mark".to_owned(),
            (Some(grams), _, _) => spread(&grams.settled(), 2, "g"),
            (None, Some(volume), _) => spread(&volume.settled(), 2, "ml"),
            (None, None, _) => String::new(),
        };
        let role = taken
            .role
            .as_ref()
            .map(|role| format!(" ({role})"))
            .unwrap_or_default();
        table.row([
            format!("{}{role}", named(site, taken)),
            latin.unwrap_or_default(),
            taken.written(&site.snapshot.sources),
            comes_to,
            line.share
                .map(|share| format!("{} %", short(share, 1)))
                .unwrap_or_default(),
        ]);
    }
    if let Some(total) = &composition.totals.grams {
        table.total([
            "in all".to_owned(),
            String::new(),
            String::new(),
            spread(&total.settled(), 2, "g"),
            if composition.is_all_grams() {
                "100 %".to_owned()
            } else {
                String::new()
            },
        ]);
    }
    parts.push(Part::Block(Block::Table(table)));
    if composition.is_all_grams() || composition.is_unsized() {
        let mut shares: Vec<(String, _)> = composition
            .lines
            .iter()
            .filter_map(|line| Some((named(site, &line.taken), line.share?)))
            .collect();
        shares.sort_by_key(|(_, share)| std::cmp::Reverse(*share));
        parts.extend(pictures::composition(&shares).map(|one| Part::Block(Block::Picture(one))));
    }
}

fn made(site: &Site<'_>, composition: &Composition, parts: &mut Vec<Part>) {
    let formula = &composition.formula;
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut fact = |label: &str, text: String| facts.push((label.to_owned(), text));
    for mix in &formula.mix {
        fact("mix", mix.text.clone());
    }
    for step in &formula.steps {
        fact(step.word, site.snapshot.sources.words(step.preparation.span));
    }
    if let Some(divide) = &formula.divide {
        let words = site.snapshot.sources.words(divide.span);
        fact(
            "divide",
            words.strip_prefix("divide ").unwrap_or(&words).to_owned(),
        );
    }
    if let Some(given) = &formula.given {
        fact("given", given.clone());
    }
    for dose in &formula.doses {
        fact("dose", site.snapshot.sources.words(dose.dose.span));
    }
    if let Some(sign) = &formula.sign {
        fact("told", sign.clone());
    }
    if let Some(keep) = &formula.keep {
        fact("keep", keep.clone());
    }
    if !facts.is_empty() {
        parts.push(section("How it is made and taken"));
        parts.push(Part::Block(Block::Facts(facts)));
    }
}

fn bench(site: &Site<'_>, composition: &Composition, parts: &mut Vec<Part>) {
    let sheets = sheets(site, composition);
    if sheets.is_empty() {
        return;
    }
    parts.push(section("Weighing sheets"));
    parts.push(Part::Block(Block::Paragraph(
        "In the order of the bench, rounded to the scales so that the lines add up.".to_owned(),
    )));
    let groups = sheets.into_iter().map(|sheet| {
        let mut group = vec![Part::Under {
            name: slug(&sheet.heading),
            heading: sheet.heading,
            beside: None,
        }];
        group.push(Part::Block(Block::Table(sheet.table)));
        if !sheet.notes.is_empty() {
            group.push(Part::Block(Block::Notes(sheet.notes)));
        }
        group
    });
    parts.push(Part::Beside(groups.collect()));
}

/// The dose, its picture, cautions and sources, as `doses` shows them.
fn dose(site: &Site<'_>, shown: &Parts<'_>, data: &Doses, parts: &mut Vec<Part>) {
    parts.push(section("In a dose"));
    let mut facts = doses::facts(shown, data);
    // A page for a class is for nobody in particular.
    facts.retain(|(label, _)| label != "for");
    parts.push(Part::Block(Block::Facts(facts)));
    if let Ok(intake) = &shown.intake
        && !data.drawn_out
        && !data.herbs.is_empty()
    {
        let name = |at: usize| site.herb(at).to_owned();
        parts.extend(pictures::dose(intake, name).map(|one| Part::Block(Block::Picture(one))));
        parts.push(Part::Block(Block::Table(doses::table(intake, data))));
    }
    let notes = doses::notes(data);
    if !notes.is_empty() {
        parts.push(Part::Block(Block::Notes(notes)));
    }
    let mut rest = Document::new();
    doses::cautions(&mut rest, data, &["everyone", "others"]);
    doses::sources(&mut rest, data);
    parts.extend(blocks(rest));
}

/// The blocks of a document as parts of a page.
pub(super) fn blocks(document: Document) -> impl Iterator<Item = Part> {
    document.blocks.into_iter().map(|block| match block {
        Block::Heading(heading) | Block::Title(heading) => section(&heading),
        block => Part::Block(block),
    })
}
