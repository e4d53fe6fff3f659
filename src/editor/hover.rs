//! Turns what stands under the cursor into what one wants to know of it, in Markdown.

use super::find::mention;
use super::mentions::{Meanings, Mention, Sort, Thing};
use super::{Here, teach};
use crate::compute::intake;
use crate::diagnostic::Diagnostic;
use crate::model::{Measure, Taken, Weight};
use crate::quantity::unit::{self, Reading};
use crate::quantity::{Unit, print};
use crate::render::{self, Document};
use crate::source::Span;
use crate::syntax::tree::{Body, Line};
use crate::view::findings::first_sentence;
use crate::view::glance;

/// What is said of a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hover {
    /// In Markdown.
    pub text: String,
    /// What it is said of.
    pub span: Span,
}

/// What is to be said of a place; below it, why what was found there matters.
pub fn hover(here: &Here<'_>) -> Option<Hover> {
    let own = own(here);
    let mut pages: Vec<(Span, String)> = here
        .snapshot
        .diagnostics
        .iter()
        .filter(|finding| here.is_in(finding.span) && finding.span.length() > 0)
        .map(|finding| (finding.span, why_it_matters(finding)))
        .collect();
    pages.dedup_by(|a, b| a.1 == b.1);
    let span = own
        .as_ref()
        .map(|own| own.span)
        .or_else(|| pages.first().map(|(span, _)| *span))?;
    let texts: Vec<String> = own
        .map(|own| own.text)
        .into_iter()
        .chain(pages.into_iter().map(|(_, page)| page))
        .collect();
    Some(Hover {
        text: texts.join("\n---\n\n"),
        span,
    })
}

/// The page of a finding as far as it says what it is and why it matters.
fn why_it_matters(finding: &Diagnostic) -> String {
    let page = finding.code.page();
    let matters = page
        .split("\n## Why it matters\n")
        .nth(1)
        .and_then(|rest| rest.split("\n## ").next())
        .unwrap_or_default()
        .trim();
    teach::without_links(&format!(
        "**`{}`** – {}\n\n{matters}\n",
        finding.code,
        first_sentence(page)
    ))
}

fn own(here: &Here<'_>) -> Option<Hover> {
    let entry = here.entry()?;
    if here.is_in(entry.kind_span) {
        return Some(Hover {
            text: format!("**{}**\n\n{}\n", entry.kind.word(), teach::kind(entry.kind)),
            span: entry.kind_span,
        });
    }
    let meanings = Meanings::of(&here.snapshot.ledger);
    if let Some((mention, thing)) = mention(here, &meanings) {
        return of_name(here, &mention, thing);
    }
    let line = here.line()?;
    if here.is_in(line.word.span) {
        return of_line_word(here, line);
    }
    if let Some((formula, taken)) = taken_at(here) {
        let page = glance::line(here.snapshot, formula, taken.span, &taken.name.text)?;
        return Some(Hover {
            text: markdown(&page),
            span: taken.amount_span,
        });
    }
    weighed(here, line)
        .or_else(|| dosed(here, line))
        .or_else(|| unit_at(here))
}

/// A document in Markdown, with its title as a line of its own: a heading is too loud beside a cursor.
fn markdown(page: &Document) -> String {
    let text = render::markdown::print(page);
    match text.strip_prefix("# ").and_then(|rest| rest.split_once('\n')) {
        Some((title, rest)) => format!("**{title}**\n{rest}"),
        None => text,
    }
}

fn of_name(here: &Here<'_>, mention: &Mention<'_>, thing: Thing) -> Option<Hover> {
    let snapshot = here.snapshot;
    let page = match thing {
        Thing::Substance(at) => glance::substance(snapshot, at),
        Thing::Formula(at) => glance::formula(snapshot, at),
        Thing::Book(at) => glance::book(snapshot, at),
        Thing::Person(at) => glance::person(snapshot, at),
        Thing::Topic(at) => glance::topic(snapshot, at),
        Thing::Lot(at) => glance::lot(snapshot, at),
        Thing::Set(at) => glance::set(snapshot, at),
    }?;
    let mut text = markdown(&page);
    // In a formula one wants to know first what this line comes to.
    if mention.sort == Sort::Taken
        && !mention.declares
        && let Some((formula, taken)) = taken_by_name(here, mention.name.span)
        && let Some(line) = glance::line(snapshot, formula, taken.span, &taken.name.text)
    {
        text = format!("{}\n---\n\n{text}", markdown(&line));
    }
    Some(Hover {
        text,
        span: mention.name.span,
    })
}

fn taken_by_name<'a>(here: &Here<'a>, name: Span) -> Option<(usize, &'a Taken)> {
    let formula = here.formula()?;
    let all = &here.snapshot.ledger.formulas.get(formula)?.taken;
    Some((formula, all.iter().find(|taken| taken.name.span == name)?))
}

/// The line of what is taken whose amount the cursor is in.
fn taken_at<'a>(here: &Here<'a>) -> Option<(usize, &'a Taken)> {
    let formula = here.formula()?;
    let all = &here.snapshot.ledger.formulas.get(formula)?.taken;
    Some((formula, all.iter().find(|taken| here.is_in(taken.amount_span))?))
}

fn of_line_word(here: &Here<'_>, line: &Line) -> Option<Hover> {
    let kind = here.entry()?.kind;
    let word = &line.word.text;
    let text = match teach::line_word(kind, word) {
        Some(meaning) => {
            let says = if meaning.says.is_empty() {
                String::new()
            } else {
                format!("{}\n\n", meaning.says)
            };
            let again = if meaning.repeats {
                "; the line may stand more than once"
            } else {
                ""
            };
            format!(
                "**{word}** (in a {})\n\n{says}After it: {}{again}.\n",
                kind.word(),
                meaning.after
            )
        }
        None if matches!(line.body, Body::Weighing(_)) => {
            format!("**{word}**\n\nA piece of its own: what one weighs.\n")
        }
        None => return None,
    };
    Some(Hover {
        text,
        span: line.word.span,
    })
}

/// What a measure of this herb or blend weighs, where the line says so.
fn weighed(here: &Here<'_>, line: &Line) -> Option<Hover> {
    let ledger = &here.snapshot.ledger;
    let entry = here.entry()?.span;
    let weights: &[Weight] = ledger
        .substances
        .iter()
        .find(|one| one.entry == Some(entry))
        .map(|one| one.weights.as_slice())
        .or_else(|| {
            ledger
                .formulas
                .iter()
                .find(|one| one.entry == entry)
                .map(|one| one.weights.as_slice())
        })?;
    let weight = weights.iter().find(|weight| weight.span == line.span)?;
    let measure = match &weight.measure {
        Measure::Household(heap, measure) => Unit::Household(*heap, *measure).words(false),
        Measure::Piece(piece) => piece.clone(),
    };
    let from = match weight.weighings {
        0 => "as stated".to_owned(),
        1 => "one weighing, so nothing is known of its spread".to_owned(),
        several => format!("the mean of {several} weighings, with their least and greatest"),
    };
    Some(Hover {
        text: format!(
            "a {measure} weighs {}: {from}\n",
            print::spread(&weight.grams.settled(), 6, "g")
        ),
        span: line.span,
    })
}

/// What a dose line of a formula gives.
fn dosed(here: &Here<'_>, line: &Line) -> Option<Hover> {
    if !matches!(line.body, Body::Dose(_) | Body::Preparation(_)) {
        return None;
    }
    let formula = here.formula()?;
    let snapshot = here.snapshot;
    let lines = intake::every_line(
        &snapshot.ledger,
        &snapshot.faults,
        &snapshot.figures,
        formula,
        None,
    )
    .ok()?;
    if let Some(one) = lines.iter().find(|one| one.line == line.span)
        && let Err(refusal) = &one.intake
    {
        return Some(Hover {
            text: format!("not reckoned: {}\n", refusal.message),
            span: line.span,
        });
    }
    Some(Hover {
        text: markdown(&glance::formula(snapshot, formula)?),
        span: line.span,
    })
}

/// What the unit under the cursor is worth, and by which standard.
fn unit_at(here: &Here<'_>) -> Option<Hover> {
    let text = here.text();
    let is_word = |letter: char| letter.is_alphabetic();
    let before = text.get(..here.at)?;
    let length = before
        .chars()
        .rev()
        .take_while(|letter| is_word(*letter))
        .map(char::len_utf8)
        .sum::<usize>();
    let start = here.at.saturating_sub(length);
    let word: String = text
        .get(start..)?
        .chars()
        .take_while(|letter| is_word(*letter))
        .collect();
    if word.is_empty() {
        return None;
    }
    match unit::read(&word, here.snapshot.ledger.practice.settled) {
        Reading::Known(Unit::Fixed(unit)) => {
            let base = match unit.dimension {
                unit::Dimension::Mass => "g",
                unit::Dimension::Volume => "ml",
                unit::Dimension::Time => "minutes",
            };
            let value = unit.to_base(crate::quantity::Decimal::ONE).ok()?;
            Some(Hover {
                text: format!(
                    "1 {} is {} {base}: {}\n",
                    unit.one,
                    print::digits(value),
                    unit.standard
                ),
                span: Span::new(here.file, start, start.saturating_add(word.len())),
            })
        }
        _ => None,
    }
}
