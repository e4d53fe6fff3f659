//! Runs the blocks of a page and says where the page and the program part.

use std::sync::Arc;

use scruple::code::{self, Code};
use scruple::diagnostic::{Diagnostic, Severity};
use scruple::model::Bound;
use scruple::source::Span;
use scruple::workspace::Snapshot;

/// A finding as a page tells it: its line in the page, its severity, its code.
pub(super) type Finding = (usize, String, String);

/// A fenced block of a page.
#[derive(Debug, Clone)]
pub(super) struct Block {
    /// The heading that it stands under.
    pub(super) section: String,
    /// What stands after the fence.
    pub(super) info: String,
    /// The line of the page that its first line is.
    first_line: usize,
    pub(super) text: String,
}

impl Block {
    pub(super) fn is_ledger(&self) -> bool {
        self.info == "scruple" || self.goes_on()
    }

    fn goes_on(&self) -> bool {
        self.info == "scruple goes on"
    }
}

pub(super) fn blocks(page: &str) -> Vec<Block> {
    let mut found = Vec::new();
    let mut section = String::new();
    let mut open: Option<Block> = None;
    for (number, line) in (1_usize..).zip(page.lines()) {
        match (&mut open, line.strip_prefix("```")) {
            (Some(_), Some(_)) => found.extend(open.take()),
            (Some(block), None) => {
                block.text.push_str(line);
                block.text.push('\n');
            }
            (None, Some(info)) => {
                open = Some(Block {
                    section: section.clone(),
                    info: info.trim().to_owned(),
                    first_line: number.saturating_add(1),
                    text: String::new(),
                });
            }
            (None, None) => {
                if let Some(heading) = line.strip_prefix("## ") {
                    heading.trim().clone_into(&mut section);
                }
            }
        }
    }
    assert!(open.is_none(), "a fence is opened and not closed");
    found
}

/// What a page says about its blocks; words that are no annotation are given back as problems.
pub(super) fn annotated(block: &Block) -> (Vec<Finding>, Vec<String>) {
    let mut expected = Vec::new();
    let mut problems = Vec::new();
    let mut spoken_of = block.first_line;
    for (number, line) in (block.first_line..).zip(block.text.lines()) {
        let above = line.starts_with("#^");
        if !above {
            spoken_of = number;
        }
        let Some((_, comment)) = line.rsplit_once('#') else {
            continue;
        };
        let comment = comment.trim_start_matches('^').trim();
        if !["error:", "warning:", "notice:"]
            .iter()
            .any(|word| comment.starts_with(word))
        {
            continue;
        }
        for item in comment.split(',') {
            let named = item
                .split_once(':')
                .map(|(severity, code)| (severity.trim(), code.trim()))
                .filter(|(severity, code)| {
                    ["error", "warning", "notice"].contains(severity) && Code::named(code).is_some()
                });
            match named {
                Some((severity, code)) => expected.push((spoken_of, severity.to_owned(), code.to_owned())),
                None => problems.push(format!("line {number}: `{}` is no annotation", item.trim())),
            }
        }
    }
    (expected, problems)
}

/// The text of a block as a ledger's file: its stand-ins become the characters they stand for.
pub(super) fn as_file(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("<U+") {
        out.push_str(before);
        let letter = after
            .split_once('>')
            .and_then(|(digits, left)| Some((char::from_u32(u32::from_str_radix(digits, 16).ok()?)?, left)));
        let Some((letter, left)) = letter else {
            panic!("`<U+` opens no stand-in: {after:.20}")
        };
        out.push(letter);
        rest = left;
    }
    out.push_str(rest);
    out
}

/// The blocks of a page that are read together, and what is wrong with their fences.
pub(super) fn ledgers(page: &str) -> (Vec<Vec<Block>>, Vec<String>) {
    let mut ledgers: Vec<Vec<Block>> = Vec::new();
    let mut problems = Vec::new();
    for block in blocks(page).into_iter().filter(Block::is_ledger) {
        match ledgers.last_mut() {
            Some(ledger) if block.goes_on() => ledger.push(block),
            _ if block.goes_on() => {
                problems.push(format!("line {}: goes on from no block", block.first_line));
            }
            _ => ledgers.push(vec![block]),
        }
    }
    (ledgers, problems)
}

pub(super) fn file_name(at: usize) -> String {
    format!("block-{at:03}.scruple")
}

/// Some blocks, read together as the files of one ledger.
pub(super) fn run(blocks: &[Block]) -> Snapshot {
    Snapshot::of(
        blocks
            .iter()
            .enumerate()
            .map(|(at, block)| (file_name(at), Arc::<str>::from(as_file(&block.text)))),
    )
}

/// The line of the page that a span begins in.
pub(super) fn line_of(span: Span, snapshot: &Snapshot, blocks: &[Block]) -> usize {
    let path = snapshot.sources.path(span);
    let Some((_, block)) = blocks.iter().enumerate().find(|(at, _)| file_name(*at) == path) else {
        panic!("a finding lies in `{path}`, which is no block of the page")
    };
    block
        .first_line
        .saturating_add(snapshot.sources.place(span).line)
        .saturating_sub(1)
}

/// Runs all blocks of a page and says, line by line, where the page and the program part.
pub(super) fn mismatches(page: &str) -> Vec<String> {
    let (ledgers, mut said) = ledgers(page);
    for ledger in &ledgers {
        let mut expected = Vec::new();
        for block in ledger {
            let (findings, problems) = annotated(block);
            expected.extend(findings);
            said.extend(problems);
        }
        let snapshot = run(ledger);
        for one in &snapshot.diagnostics {
            let line = line_of(one.span, &snapshot, ledger);
            let finding = (line, one.severity.word().to_owned(), one.code.name().to_owned());
            match expected.iter().position(|other| *other == finding) {
                Some(at) => {
                    expected.swap_remove(at);
                }
                None => said.push(format!(
                    "line {line}: found, and not on the page: {}: {} ({})",
                    finding.1, finding.2, one.message
                )),
            }
        }
        expected.sort();
        for (line, severity, code) in expected {
            said.push(format!(
                "line {line}: on the page, and not found: {severity}: {code}"
            ));
        }
    }
    said
}

/// Errors about what a person would take: the figures that they rest on are given beside them.
const BESIDE_FIGURES: [Code; 3] = [
    code::OVER_THE_DAILY_MOST,
    code::NOT_FOR_THIS_PERSON,
    code::NOT_FOR_ANYONE,
];

/// Runs all blocks of a page and says which formulas have figures that they must not have, and
/// which lack them without a reason.
pub(super) fn figures_amiss(page: &str) -> Vec<String> {
    let mut said = Vec::new();
    for blocks in &ledgers(page).0 {
        let snapshot = run(blocks);
        let errors: Vec<&Diagnostic> = snapshot
            .diagnostics
            .iter()
            .filter(|one| one.severity == Severity::Error && !BESIDE_FIGURES.contains(&one.code))
            .collect();
        for (at, formula) in snapshot.ledger.formulas.iter().enumerate() {
            let line = line_of(formula.head, &snapshot, blocks);
            let has_figures = snapshot.figures.of(at).is_some();
            let entry = snapshot
                .trees
                .iter()
                .flat_map(|tree| &tree.entries)
                .find(|entry| entry.head == formula.head);
            let slip = entry
                .into_iter()
                .flat_map(|entry| &entry.lines)
                .filter(|line| ["take", "makes", "one part", "adapts"].contains(&line.word.text.as_str()))
                .find_map(|line| errors.iter().find(|one| covers(line.span, one.span)));
            let stands_on = formula
                .taken
                .iter()
                .filter_map(|taken| match taken.what {
                    Bound::Formula(inner) => Some(inner),
                    _ => None,
                })
                .chain(formula.adapts.iter().filter_map(|adapts| adapts.formula))
                .find(|inner| snapshot.figures.of(*inner).is_none());
            match (slip, stands_on) {
                (Some(slip), _) if has_figures => {
                    said.push(format!("line {line}: has figures in spite of {}", slip.code));
                }
                (None, Some(_)) if has_figures => said.push(format!(
                    "line {line}: has figures, and stands on a formula that has none"
                )),
                (None, None) if !has_figures && errors.is_empty() => {
                    said.push(format!("line {line}: has no figures, and nothing says why"));
                }
                _ => {}
            }
        }
    }
    said
}

pub(super) fn covers(line: Span, place: Span) -> bool {
    line.file == place.file && line.start <= place.start && place.start <= line.end
}

#[test]
fn the_runner_sees_what_is_missing_and_what_is_too_much() {
    let page = "```scruple\nherb\nherb fennel fruit  # error: unknown-name\n#^ notice: listed-twice, sad: news\n```\n";
    assert_eq!(
        mismatches(page),
        [
            "line 4: `sad: news` is no annotation",
            "line 2: found, and not on the page: error: entry-without-a-name (this herb has no name)",
            "line 3: on the page, and not found: error: unknown-name",
            "line 3: on the page, and not found: notice: listed-twice",
        ]
    );
}
