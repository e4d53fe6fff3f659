//! The pages of the findings: what each must hold, and the list that is made of them.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;

use scruple::code::{self, Code};

use super::runner::{annotated, blocks, figures_amiss, mismatches};
use super::{assert_nothing, keep, page_path, read, root};

/// Findings that no block can show, each with its severity and the reason. Tests further down
/// make them.
const NOT_IN_A_BLOCK: &[(Code, &str, &str)] = &[
    (
        code::UNREADABLE_FILE,
        "error",
        "comes from the disk, not from a text",
    ),
    (code::NOT_UTF_8, "error", "a page is UTF-8 itself"),
    (code::FILE_TOO_LARGE, "error", "takes more than 16 MiB"),
    (code::LINE_TOO_LONG, "error", "takes more than 16 KiB"),
    (
        code::NESTED_TOO_DEEP,
        "error",
        "takes more than a hundred formulas",
    ),
    (
        code::BELOW_LEAST_WEIGHABLE,
        "warning",
        "depends on the size that `weigh` is asked for",
    ),
    (
        code::STALE_TOTALS,
        "warning",
        "compares a file on the disk that is no part of the ledger",
    ),
    (
        code::LABEL_TOO_SMALL,
        "error",
        "depends on the size that `label` is asked for",
    ),
    (code::BELOW_THE_LEAST_DOSE, "notice", "is said by `doses` only"),
];

/// The sentence that says what a finding reports, on one line.
fn first_sentence(page: &str) -> String {
    page.lines()
        .skip(1)
        .skip_while(|line| line.is_empty())
        .take_while(|line| !line.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// What is wrong with the shape of a page.
fn misshapen(code: Code, page: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let mut fault = |wrong: bool, words: &str| {
        if wrong {
            faults.push(words.to_owned());
        }
    };
    fault(
        page.lines().next() != Some(format!("# {}", code.name()).as_str()),
        "the first line is not its name",
    );
    let sentence = first_sentence(page);
    fault(
        sentence.starts_with('#') || !sentence.ends_with('.') || sentence.contains(". "),
        "what it reports is not said in one sentence",
    );
    let headings: Vec<&str> = page.lines().filter_map(|line| line.strip_prefix("## ")).collect();
    fault(
        headings != ["Why it matters", "Example", "Mended"],
        "its parts are not `Why it matters`, `Example` and `Mended`, in this order",
    );
    let why = page
        .split_once("## Why it matters\n")
        .and_then(|(_, rest)| rest.split_once("## Example"))
        .map_or("", |(why, _)| why.trim());
    fault(
        why.split_whitespace().count() < 20,
        "why it matters is hardly said",
    );
    let mut fenced = false;
    for line in page.lines() {
        if line.starts_with("```") {
            fenced = !fenced;
        }
        fault(
            line.chars().count() > 78,
            "a line is wider than 78 columns, too wide for a terminal",
        );
        fault(
            !fenced
                && (line.starts_with(['|', '<', '>', '-', '*', ' '])
                    || line.contains("</")
                    || line.contains("](")),
            "a page has headings, paragraphs and blocks only: it is printed in a terminal",
        );
    }
    let blocks = blocks(page);
    let in_block = !NOT_IN_A_BLOCK.iter().any(|(other, ..)| *other == code);
    let info = if in_block { "scruple" } else { "text" };
    for section in ["Example", "Mended"] {
        let infos: Vec<&str> = blocks
            .iter()
            .filter(|block| block.section == section)
            .map(|block| block.info.as_str())
            .collect();
        fault(
            infos != [info],
            &format!("`{section}` holds {infos:?} instead of one block of {info}"),
        );
    }
    let codes = |section: &str| -> Vec<String> {
        blocks
            .iter()
            .filter(|block| block.section == section)
            .flat_map(|block| annotated(block).0)
            .map(|(_, _, code)| code)
            .collect()
    };
    fault(
        in_block && !codes("Example").iter().any(|other| other == code.name()),
        "its example does not show it",
    );
    fault(!codes("Mended").is_empty(), "what is mended gives findings");
    faults
}

#[test]
fn every_page_has_its_parts() {
    let mut faults = Vec::new();
    for code in code::ALL {
        for fault in misshapen(*code, code.page()) {
            faults.push(format!("{}: {fault}", code.name()));
        }
    }
    assert_nothing("pages out of shape:", &faults);
}

#[test]
fn every_page_belongs_to_a_code() {
    let mut files = BTreeSet::new();
    for entry in fs::read_dir(root().join("grammar/findings"))
        .into_iter()
        .flatten()
        .flatten()
    {
        files.insert(entry.file_name().to_string_lossy().into_owned());
    }
    let codes: BTreeSet<String> = code::ALL
        .iter()
        .map(|code| format!("{}.md", code.name()))
        .collect();
    assert_eq!(
        files, codes,
        "left: the pages in grammar/findings; right: the codes"
    );
}

#[test]
fn every_page_says_what_the_program_finds() {
    let mut faults = Vec::new();
    for code in code::ALL {
        // The page is read from the disk: the program's own copy is as old as its build.
        for fault in mismatches(&read(&page_path(*code))) {
            faults.push(format!("grammar/findings/{}.md, {fault}", code.name()));
        }
    }
    assert_nothing("the pages and the program part:", &faults);
}

#[test]
fn a_slip_in_an_amount_withholds_the_figures() {
    let mut faults = Vec::new();
    let pages = code::ALL.iter().map(|code| page_path(*code));
    for path in pages.chain([root().join("grammar/README.md")]) {
        for fault in figures_amiss(&read(&path)) {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            faults.push(format!("{name}, {fault}"));
        }
    }
    assert_nothing(
        "figures that must not be given, or that are missing without a reason:",
        &faults,
    );
}

/// The headings of the list in `src/code.rs`, each with its codes.
fn groups() -> Vec<(String, Vec<Code>)> {
    let text = read(&root().join("src/code.rs"));
    let list = text.split_once("\ncodes! {").map_or("", |(_, list)| list);
    let mut groups: Vec<(String, Vec<Code>)> = Vec::new();
    for line in list.lines().map(str::trim) {
        if let Some(heading) = line.strip_prefix("// ") {
            groups.push((heading.trim_end_matches('.').to_owned(), Vec::new()));
        } else if let Some(code) = line.split('"').nth(1).and_then(Code::named) {
            match groups.last_mut() {
                Some((_, codes)) => codes.push(code),
                None => panic!("`{code}` stands under no heading in src/code.rs"),
            }
        }
    }
    let listed: Vec<Code> = groups.iter().flat_map(|(_, codes)| codes.clone()).collect();
    assert_eq!(
        listed,
        code::ALL,
        "every code stands under a heading of src/code.rs"
    );
    groups
}

/// The severities that a page shows for its own code.
fn severities(code: Code, page: &str) -> Vec<String> {
    let mut severities: Vec<String> = blocks(page)
        .iter()
        .flat_map(|block| annotated(block).0)
        .filter(|(_, _, other)| other == code.name())
        .map(|(_, severity, _)| severity)
        .chain(
            NOT_IN_A_BLOCK
                .iter()
                .filter(|(other, ..)| *other == code)
                .map(|(_, severity, _)| (*severity).to_owned()),
        )
        .collect();
    severities.sort();
    severities.dedup();
    severities
}

fn list_of_findings() -> String {
    let mut out = "# Findings\n\n\
        Everything that the program may find in a ledger. `scruple why CODE` prints the page of a finding:\n\
        why it matters, an example, and the example mended. An error withholds the figures that hang on it (one\n\
        about a dose or a person shows them beside it), a warning lets them stand, a notice is only worth knowing.\n\n\
        Made from the pages by `UPDATE_GENERATED=1 cargo test --test it spec`.\n"
        .to_owned();
    for (heading, codes) in groups() {
        let _ = write!(out, "\n## {heading}\n\n");
        for code in codes {
            let page = read(&page_path(code));
            let _ = writeln!(
                out,
                "- [`{name}`](findings/{name}.md), {severity}: {sentence}",
                name = code.name(),
                severity = severities(code, &page).join(" or "),
                sentence = first_sentence(&page),
            );
        }
    }
    out
}

#[test]
fn the_list_of_findings_is_what_the_pages_say() {
    keep(&root().join("grammar/findings.md"), &list_of_findings());
}
