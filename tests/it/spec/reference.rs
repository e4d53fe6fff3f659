//! The reference of the language, `grammar/README.md`.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use scruple::quantity::Decimal;
use scruple::quantity::unit::{self, Dimension, FixedUnit, Household};
use scruple::syntax::tree::Kind;

use super::runner::{blocks, mismatches};
use super::{assert_nothing, keep_between, read, root};

fn reference() -> String {
    read(&root().join("grammar/README.md"))
}

#[test]
fn every_block_of_the_reference_gives_what_it_says() {
    let text = reference();
    let ledgers = blocks(&text).iter().filter(|block| block.is_ledger()).count();
    assert!(ledgers >= 10, "the reference has only {ledgers} ledgers to run");
    let faults: Vec<String> = mismatches(&text)
        .into_iter()
        .map(|fault| format!("grammar/README.md, {fault}"))
        .collect();
    assert_nothing("the reference and the program part:", &faults);
}

/// What stands under a heading, up to the next of the same or a higher rank.
fn under(text: &str, heading: &str) -> String {
    let rank = |line: &str| line.chars().take_while(|letter| *letter == '#').count();
    let mut fenced = false;
    let mut inside = false;
    let mut out = String::new();
    for line in text.lines() {
        if line.starts_with("```") {
            fenced = !fenced;
        }
        if !fenced && line.starts_with('#') {
            if line == heading {
                inside = true;
                continue;
            }
            inside = inside && rank(line) > rank(heading);
        }
        if inside {
            out.push_str(line);
            out.push('\n');
        }
    }
    assert!(!out.is_empty(), "grammar/README.md has nothing under `{heading}`");
    out
}

/// The words between backticks in a text.
fn quoted(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

/// The line words that the reference's table of a kind has, each with whether it may repeat.
fn tabled(section: &str) -> BTreeSet<(String, bool)> {
    section
        .lines()
        .filter(|line| line.starts_with("| `"))
        .flat_map(|line| {
            let mut cells = line.split('|').map(str::trim).skip(1);
            let words = quoted(cells.next().unwrap_or_default());
            let repeats = cells.next() == Some("again");
            words.into_iter().map(move |word| (word.to_owned(), repeats))
        })
        .collect()
}

#[test]
fn the_reference_has_every_kind_and_every_line_word() {
    let text = reference();
    let mut faults = Vec::new();
    for kind in Kind::ALL {
        // Herbs and materials have the same lines.
        let heading = match kind {
            Kind::Herb | Kind::Material => "### `herb` and `material`".to_owned(),
            other => format!("### `{}`", other.word()),
        };
        let described = tabled(&under(&text, &heading));
        let known: BTreeSet<(String, bool)> = kind
            .line_words()
            .iter()
            .map(|word| (word.word.to_owned(), word.repeats))
            .collect();
        for (word, repeats) in known.difference(&described) {
            faults.push(format!(
                "{heading}: `{word}` is missing, or is not said to stand {}",
                often(*repeats)
            ));
        }
        for (word, repeats) in described.difference(&known) {
            faults.push(format!(
                "{heading}: `{word}`, {}, is not what src/syntax/words.rs says",
                often(*repeats)
            ));
        }
    }
    assert_nothing("the reference's tables of line words:", &faults);
}

fn often(repeats: bool) -> &'static str {
    if repeats { "again" } else { "once" }
}

const UNITS: [&str; 2] = [
    "<!-- units: written by tests/it/spec from src/quantity/unit.rs -->\n",
    "<!-- end of units -->\n",
];

fn value(unit: &FixedUnit) -> String {
    let base = match unit.dimension {
        Dimension::Mass => "g",
        Dimension::Volume => "ml",
        Dimension::Time => "min",
    };
    // Not by the program's printing, which drops digits: these are all of them.
    let (above, below) = unit.value;
    if below == Decimal::ONE {
        format!("{} {base}", above.normalize())
    } else {
        format!("{} / {} {base}", above.normalize(), below.normalize())
    }
}

fn table_of_units() -> String {
    let mut out =
        "| one | written | also read | is exactly | UCUM | by |\n| --- | --- | --- | --- | --- | --- |\n"
            .to_owned();
    for unit in unit::UNITS {
        let also = unit
            .also
            .iter()
            .map(|word| format!("`{word}`"))
            .collect::<Vec<_>>()
            .join(", ");
        let _ = writeln!(
            out,
            "| `{}` | `{}` | {also} | {} | {} | {} |",
            unit.one,
            unit.many,
            value(unit),
            unit.ucum
                .map_or_else(|| "none".to_owned(), |ucum| format!("`{ucum}`")),
            unit.standard,
        );
    }
    out
}

#[test]
fn the_reference_has_every_unit_with_its_value() {
    keep_between(&root().join("grammar/README.md"), UNITS, &table_of_units());
}

#[test]
fn the_reference_has_every_household_measure() {
    let text = reference();
    let section = under(&text, "### Household measures");
    let missing: Vec<&str> = Household::ALL
        .into_iter()
        .filter(|measure| {
            let holds = measure.metric_millilitres().map_or_else(
                || "no volume of its own".to_owned(),
                |volume| format!("{volume} ml"),
            );
            !section
                .lines()
                .any(|line| line.starts_with(&format!("| `{}` |", measure.one())) && line.contains(&holds))
        })
        .map(Household::one)
        .collect();
    assert!(
        missing.is_empty(),
        "household measures that the reference lacks, or with another volume: {missing:?}"
    );
}

/// The name by which a link reaches a heading.
fn anchor(heading: &str) -> String {
    heading
        .trim_start_matches('#')
        .trim()
        .to_lowercase()
        .chars()
        .filter_map(|letter| match letter {
            ' ' | '-' => Some('-'),
            _ => letter.is_alphanumeric().then_some(letter),
        })
        .collect()
}

#[test]
fn every_link_leads_somewhere() {
    let folder = root().join("grammar");
    let mut faults = Vec::new();
    for name in ["README.md", "cautions.md", "privacy.md", "findings.md"] {
        let text = read(&folder.join(name));
        let links: Vec<&str> = text
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split_once(')').map(|(link, _)| link))
            .collect();
        assert!(!links.is_empty(), "grammar/{name} has links");
        for link in links {
            let (page, place) = link.split_once('#').unwrap_or((link, ""));
            let page = if page.is_empty() { name } else { page };
            let there = folder.join(page);
            let leads = there.is_file()
                && (place.is_empty()
                    || read(&there)
                        .lines()
                        .any(|line| line.starts_with('#') && anchor(line) == place));
            if !leads {
                faults.push(format!("grammar/{name}: {link}"));
            }
        }
    }
    assert_nothing("links that lead nowhere:", &faults);
    let text = reference();
    for page in ["](findings/", "](cautions.md", "](privacy.md"] {
        assert!(text.contains(page), "the reference sends to `{page}`");
    }
}
