//! Turns the data of a label into paragraphs for the jar, and into documents for the desk and the leaflet.

use super::{Label, LabelCaution, Sheet};
use crate::code;
use crate::compute::Composition;
use crate::diagnostic::Diagnostic;
use crate::render::code::Code;
use crate::render::label::{self, Paragraph, SIZES, Style};
use crate::render::{Document, Note};
use crate::view::standing;

/// What stands where nothing is known, to be written in by hand.
const BY_HAND: &str = "________";

/// What a level of caution says to whoever holds the jar.
fn told(level: &str) -> &'static str {
    match level {
        "avoid" => "Do not take with",
        "consult" => "Ask first about",
        _ => "Mind",
    }
}

/// The gravest first, and what is no level last.
fn rank(words: &str) -> usize {
    let levels = ["avoid", "consult", "mind"];
    let at = levels.iter().position(|level| told(level) == words);
    at.unwrap_or(levels.len())
}

/// The topics of each level, with their words where they bear on the person.
fn caution_lines(cautions: &[&LabelCaution], in_full: bool) -> Vec<(String, String)> {
    let mut lines = Vec::new();
    for level in ["avoid", "consult", "mind"] {
        let topics: Vec<String> = cautions
            .iter()
            .filter(|one| one.level == level)
            .map(|one| {
                let mut said: Vec<&str> = one.of.iter().filter_map(|of| of.text.as_deref()).collect();
                said.dedup();
                if in_full && !said.is_empty() {
                    format!("{} ({})", one.topic, said.join("; "))
                } else {
                    one.topic.clone()
                }
            })
            .collect();
        if !topics.is_empty() {
            lines.push((told(level).to_owned(), topics.join(", ")));
        }
    }
    lines
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// What is printed on the jar.
pub fn paragraphs(data: &Label, sheet: &Sheet) -> label::Label {
    let mut all = vec![Paragraph::name(&capital(&data.formula))];
    let mut held = vec![(Style::Strong, "Ingredients: ".to_owned())];
    for (at, one) in data.ingredients.iter().enumerate() {
        let before = if at == 0 { "" } else { ", " };
        held.push((Style::Plain, format!("{before}{}", one.words())));
        if let Some(latin) = &one.latin {
            held.push((Style::Plain, " (".to_owned()));
            held.push((Style::Slanted, latin.clone()));
            held.push((Style::Plain, ")".to_owned()));
        }
    }
    if !data.made_with.is_empty() {
        held.push((Style::Plain, format!("; made with {}", data.made_with.join(", "))));
    }
    all.push(Paragraph::new(held));
    let mut line = |label: &str, text: String| {
        all.push(Paragraph::new([
            (Style::Strong, format!("{label}: ")),
            (Style::Plain, text),
        ]));
    };
    if let Some(person) = &data.person {
        line("For", person.clone());
    }
    if let Some(given) = &data.given {
        line("Use", given.clone());
    }
    if let Some(directions) = &data.directions {
        line("Directions", directions.clone());
    }
    if !data.prepare.is_empty() {
        line("Prepare", data.prepare.join("; "));
    }
    if let Some(before) = data.before_use {
        all.push(Paragraph::new([(Style::Plain, capital(before))]));
    }
    let bears: Vec<&LabelCaution> = data.cautions.iter().filter(|one| one.bears).collect();
    let others: Vec<&LabelCaution> = data.cautions.iter().filter(|one| !one.bears).collect();
    let mut cautions = caution_lines(&bears, true);
    if sheet.with_leaflet && !others.is_empty() {
        cautions.push(("Cautions".to_owned(), "read the leaflet before use".to_owned()));
    } else {
        for (told, topics) in caution_lines(&others, false) {
            match cautions.iter_mut().find(|(known, _)| *known == told) {
                Some((_, known)) => {
                    known.push_str(", ");
                    known.push_str(&topics);
                }
                None => cautions.push((told, topics)),
            }
        }
    }
    cautions.sort_by_key(|(told, _)| rank(told));
    for (told, topics) in cautions {
        all.push(Paragraph::new([
            (Style::Strong, format!("{told}: ")),
            (Style::Plain, topics),
        ]));
    }
    if let Some(keep) = &data.keep {
        all.push(Paragraph::new([
            (Style::Strong, "Keep: ".to_owned()),
            (Style::Plain, keep.clone()),
        ]));
    }
    // A date that is broken at its hyphen is read as two.
    let or_by_hand = |value: &Option<String>| {
        let value = value.as_ref().map(|value| value.replace('-', "\u{2011}"));
        value.unwrap_or_else(|| BY_HAND.to_owned())
    };
    all.push(Paragraph::new([
        (Style::Strong, "Net ".to_owned()),
        (Style::Plain, or_by_hand(&data.net)),
        (Style::Strong, " Batch ".to_owned()),
        (Style::Plain, or_by_hand(&data.batch)),
        (Style::Strong, " Best before ".to_owned()),
        (Style::Plain, or_by_hand(&data.best_before)),
    ]));
    all.extend(maker(data).map(|maker| Paragraph::new([(Style::Plain, maker)])));
    all.push(Paragraph::new([(Style::Plain, standing::paragraph())]));
    label::Label {
        paragraphs: all,
        code: sheet
            .with_code
            .then(|| Code::of(&super::code_words(data)))
            .flatten(),
    }
}

fn maker(data: &Label) -> Option<String> {
    let words: Vec<&str> = [&data.maker.name, &data.maker.address]
        .into_iter()
        .filter_map(|one| one.as_deref())
        .collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// That a text has no room on a size of label, with the sizes that have.
pub fn too_small(composition: &Composition, data: &Label, sheet: &Sheet) -> Diagnostic {
    let fits = SIZES
        .iter()
        .rev()
        .find(|size| label::fit(&paragraphs(data, &Sheet { size, ..*sheet }), size).is_some());
    let leaflet = !sheet.with_leaflet && {
        let sheet = Sheet {
            with_leaflet: true,
            ..*sheet
        };
        label::fit(&paragraphs(data, &sheet), sheet.size).is_some()
    };
    let help = match (leaflet, fits) {
        (true, _) => {
            "hand the leaflet out with it and say so: `--with-leaflet` leaves the cautions for others to that"
                .to_owned()
        }
        (false, Some(size)) => format!("take a larger label: `--on \"{}\"`", size.name),
        (false, None) => "hand the leaflet out with it: `--with-leaflet`, on a larger label".to_owned(),
    };
    Diagnostic::error(
        code::LABEL_TOO_SMALL,
        composition.formula.name.span,
        format!(
            "the label of {} has no room on {} in type that can be read, and nothing of it may be left away",
            data.formula, sheet.size.name
        ),
    )
    .help(help)
}

/// The label for the desk: every line of it, and what is wrong with it.
pub fn document(data: &Label, sheet: &Sheet, points: Option<u32>) -> Document {
    let mut page = Document::new();
    let mut lines = paragraphs(data, sheet).paragraphs.into_iter();
    page.title(capital(&data.formula));
    lines.next();
    let mut facts: Vec<(String, String)> = Vec::new();
    for paragraph in lines {
        let mut own: Vec<(String, String)> = Vec::new();
        for run in paragraph.runs {
            match own.last_mut() {
                _ if run.style == Style::Strong => {
                    let label = run.text.trim().trim_end_matches(':').to_lowercase();
                    own.push((label, String::new()));
                }
                Some((_, text)) => text.push_str(&run.text),
                None => own.push((String::new(), run.text)),
            }
        }
        facts.extend(own);
    }
    page.facts(facts);
    page.notes(notes(data));
    if let Some(points) = points {
        page.small_print(format!(
            "Has room on {}, in type of {} points. `--as html` prints the sheet, `--leaflet` the leaflet.",
            sheet.size.name,
            crate::quantity::print::digits(crate::quantity::Decimal::new(i64::from(points), 1))
        ));
    }
    page
}

fn notes(data: &Label) -> Vec<Note> {
    data.findings
        .iter()
        .map(|one| {
            let help = one
                .help
                .as_ref()
                .map(|help| format!("; {help}"))
                .unwrap_or_default();
            let text = format!("{}{help} ({})", one.message, one.code);
            match one.severity {
                "error" => Note::error(text),
                "warning" => Note::warning(text),
                _ => Note::plain(text),
            }
        })
        .collect()
}

/// The leaflet: everything that the label says, and every caution in its own words.
pub fn leaflet(data: &Label) -> Document {
    let mut page = Document::new();
    page.title(capital(&data.formula));
    let mut facts: Vec<(&str, String)> = Vec::new();
    if let Some(purpose) = &data.purpose {
        facts.push(("made for", purpose.clone()));
    }
    if let Some(person) = &data.person {
        facts.push(("for", person.clone()));
    }
    let or_by_hand = |value: &Option<String>| value.clone().unwrap_or_else(|| BY_HAND.to_owned());
    facts.push(("net", or_by_hand(&data.net)));
    facts.push(("batch", or_by_hand(&data.batch)));
    facts.push(("best before", or_by_hand(&data.best_before)));
    page.facts(facts);
    page.heading("What is in it");
    page.paragraph("In falling order of weight.");
    page.facts(
        data.ingredients
            .iter()
            .map(|one| (one.words(), one.latin.clone().unwrap_or_default())),
    );
    if !data.made_with.is_empty() {
        page.paragraph(format!("Made with {}.", data.made_with.join(", ")));
    }
    page.heading("How to take it");
    let mut how: Vec<(String, String)> = Vec::new();
    let mut add = |label: &str, text: &str| how.push((label.to_owned(), text.to_owned()));
    if let Some(given) = &data.given {
        add("use", given);
    }
    for step in &data.prepare {
        add("prepare", step);
    }
    if let Some(directions) = &data.directions {
        add("directions", directions);
    }
    if let Some(before) = data.before_use {
        add("each time", before);
    }
    if let Some(keep) = &data.keep {
        add("keep", keep);
    }
    page.facts(how);
    let groups = [
        (
            true,
            if data.person.is_some() {
                "For you"
            } else {
                "For everyone"
            },
        ),
        (false, "For some"),
    ];
    for (bears, heading) in groups {
        let of: Vec<&LabelCaution> = data.cautions.iter().filter(|one| one.bears == bears).collect();
        for level in ["avoid", "consult", "mind"] {
            let of: Vec<&&LabelCaution> = of.iter().filter(|one| one.level == level).collect();
            if of.is_empty() {
                continue;
            }
            page.heading(format!("{heading}: {}", told(level).to_lowercase()));
            page.facts(of.iter().map(|one| {
                let said: Vec<String> = one
                    .of
                    .iter()
                    .map(|of| match &of.text {
                        Some(text) => format!("{}: {text}", of.name),
                        None => of.name.clone(),
                    })
                    .collect();
                (one.topic.clone(), said.join("; "))
            }));
        }
    }
    page.notes(notes(data));
    if let Some(maker) = maker(data) {
        page.heading("Made by");
        page.paragraph(maker);
    }
    page.small_print(standing::paragraph());
    page
}
