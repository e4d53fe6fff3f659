//! Turns the pages of the findings and the reference of the language into checks: every block
//! is run, and what it gives is compared with what the page says that it gives.
//!
//! A block fenced as `scruple` is a ledger. A line's comment `# error: code` (`warning`,
//! `notice`; several with commas) says what that line gives; where a comment can't stand at the
//! end of the line, the next line says it after `#^`. Nothing else may be found. A block fenced
//! as `scruple goes on` is read together with the blocks before it. `<U+200B>` stands for that
//! character.
//!
//! What is made from the pages and from the tables of the code (`grammar/findings.md`, the table
//! of units in `grammar/README.md`) is compared here; with `UPDATE_GENERATED=1` it is rewritten.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use scruple::code::{self, Code};
use scruple::compute::batch::{self, Target};
use scruple::diagnostic::{Diagnostic, Severity};
use scruple::model::Bound;
use scruple::quantity::Decimal;
use scruple::quantity::unit::{Dimension, FixedUnit, Household, UNITS};
use scruple::source::Span;
use scruple::syntax::tree::Kind;
use scruple::workspace::{LARGEST_FILE, Snapshot};

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
];

/// A finding as a page tells it: its line in the page, its severity, its code.
type Finding = (usize, String, String);

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &Path) -> String {
    match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) => panic!("{}: {error}", path.display()),
    }
}

fn page_path(code: Code) -> PathBuf {
    root()
        .join("grammar/findings")
        .join(format!("{}.md", code.name()))
}

// ---- pages ------------------------------------------------------------------------------------

/// A fenced block of a page.
#[derive(Debug, Clone)]
struct Block {
    /// The heading that it stands under.
    section: String,
    /// What stands after the fence.
    info: String,
    /// The line of the page that its first line is.
    first_line: usize,
    text: String,
}

impl Block {
    fn is_ledger(&self) -> bool {
        self.info == "scruple" || self.goes_on()
    }

    fn goes_on(&self) -> bool {
        self.info == "scruple goes on"
    }
}

fn blocks(page: &str) -> Vec<Block> {
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
fn annotated(block: &Block) -> (Vec<Finding>, Vec<String>) {
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
fn as_file(text: &str) -> String {
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
fn ledgers(page: &str) -> (Vec<Vec<Block>>, Vec<String>) {
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

fn file_name(at: usize) -> String {
    format!("block-{at:03}.scruple")
}

/// Some blocks, read together as the files of one ledger.
fn run(blocks: &[Block]) -> Snapshot {
    Snapshot::of(
        blocks
            .iter()
            .enumerate()
            .map(|(at, block)| (file_name(at), Arc::<str>::from(as_file(&block.text)))),
    )
}

/// The line of the page that a span begins in.
fn line_of(span: Span, snapshot: &Snapshot, blocks: &[Block]) -> usize {
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
fn mismatches(page: &str) -> Vec<String> {
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

/// Runs all blocks of a page and says which formulas have figures that they must not have, and
/// which lack them without a reason.
fn figures_amiss(page: &str) -> Vec<String> {
    let mut said = Vec::new();
    for blocks in &ledgers(page).0 {
        let snapshot = run(blocks);
        let errors: Vec<&Diagnostic> = snapshot
            .diagnostics
            .iter()
            .filter(|one| one.severity == Severity::Error)
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

fn covers(line: Span, place: Span) -> bool {
    line.file == place.file && line.start <= place.start && place.start <= line.end
}

fn assert_nothing(title: &str, faults: &[String]) {
    assert!(faults.is_empty(), "{title}\n  {}\n", faults.join("\n  "));
}

// ---- what the pages must hold -----------------------------------------------------------------

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

// ---- findings that no block can show ----------------------------------------------------------

/// The findings of one text, as severity and code.
fn findings_of(text: String) -> Vec<(&'static str, &'static str)> {
    let snapshot = Snapshot::of([("made.scruple".to_owned(), Arc::<str>::from(text))]);
    snapshot
        .diagnostics
        .iter()
        .map(|finding| (finding.severity.word(), finding.code.name()))
        .collect()
}

#[test]
fn a_line_is_read_up_to_its_bound_and_left_out_beyond_it() {
    let note = |bytes: usize| {
        let start = "  note ";
        let words = "x".repeat(bytes.saturating_sub(start.len()).saturating_sub(1));
        format!("herb fennel fruit\n{start}{words}\n  teaspoon 2 g\n")
    };
    assert_eq!(findings_of(note(16 * 1024)), []);
    assert_eq!(findings_of(note(16 * 1024 + 1)), [("error", "line-too-long")]);
}

#[test]
fn formulas_stand_a_hundred_deep_and_no_deeper() {
    let chain = |formulas: usize| {
        let mut text = "herb fennel fruit\nformula tea-0\n  take fennel fruit 20 g\n".to_owned();
        for at in 1..=formulas {
            let below = at.saturating_sub(1);
            writeln!(text, "formula tea-{at}\n  take \"tea-{below}\" 20 g").expect("writing to a string");
        }
        text
    };
    assert_eq!(findings_of(chain(100)), []);
    assert_eq!(
        findings_of(chain(102)),
        [("error", "nested-too-deep")],
        "said once, at the first that is too deep"
    );
}

#[test]
fn what_the_disk_holds_is_named_and_left_out() {
    let folder = tempfile::tempdir().expect("a folder for a ledger");
    let put =
        |name: &str, bytes: &[u8]| fs::write(folder.path().join(name), bytes).expect("a file of the ledger");
    put("practice.scruple", b"practice\n");
    put("herbs.scruple", b"herb fennel fruit\n");
    put("old.scruple", b"herb p\xf6lei\n");
    let bound = usize::try_from(LARGEST_FILE).expect("a bound that fits");
    let comment = format!("#{}\n", "x".repeat(10_000));
    let mut large = b"herb caraway fruit\n".to_vec();
    large.extend(comment.bytes().cycle().take(bound.saturating_sub(large.len())));
    put("at-the-bound.scruple", &large);
    large.push(b'x');
    put("beyond.scruple", &large);
    #[cfg(unix)]
    std::os::unix::fs::symlink("nowhere", folder.path().join("gone.scruple")).expect("a link");

    let snapshot = Snapshot::read(folder.path());
    let found: Vec<(&str, &str, &str)> = snapshot
        .diagnostics
        .iter()
        .map(|one| {
            (
                snapshot.sources.path(one.span),
                one.severity.word(),
                one.code.name(),
            )
        })
        .collect();
    let mut expected = vec![("beyond.scruple", "error", "file-too-large")];
    if cfg!(unix) {
        expected.push(("gone.scruple", "error", "unreadable-file"));
    }
    expected.push(("old.scruple", "error", "not-utf-8"));
    assert_eq!(found, expected);
    let herbs: Vec<&str> = snapshot
        .ledger
        .substances
        .iter()
        .map(|herb| herb.name.as_str())
        .collect();
    assert_eq!(
        herbs,
        ["caraway fruit", "fennel fruit", "water"],
        "the other files are read"
    );
}

#[test]
fn the_least_weighable_is_what_its_page_says() {
    let page = read(&page_path(code::BELOW_LEAST_WEIGHABLE));
    let blocks = blocks(&page);
    let example = blocks
        .iter()
        .find(|block| block.section == "Example")
        .expect("an example");
    let (ledger, command) = example
        .text
        .split_once("scruple weigh")
        .expect("a ledger, then a command");
    assert!(
        command.contains("--make \"50 g\""),
        "the example weighs 50 g: {command}"
    );
    let mended = blocks
        .iter()
        .find(|block| block.section == "Mended")
        .expect("what to do");
    assert!(
        mended.text.contains("--make \"100 g\""),
        "what is mended weighs 100 g"
    );

    let snapshot = Snapshot::of([("page.scruple".to_owned(), Arc::<str>::from(ledger))]);
    assert_eq!(snapshot.diagnostics, [], "the ledger itself is in order");
    let at = snapshot.formula("bitters tea").expect("the formula of the page");
    let composition = snapshot.figures.of(at).expect("its figures");
    let small = |grams: u32| -> Vec<String> {
        let target = Target::Grams(Decimal::from(grams));
        batch::make(&snapshot.ledger, composition, target)
            .expect("a sheet")
            .lines
            .iter()
            .filter(|line| line.below_least)
            .map(|line| line.figure.taken.name.text.clone())
            .collect()
    };
    assert_eq!(small(50), ["wormwood herb"]);
    assert_eq!(small(100), [""; 0], "2 g of it are enough for these scales");
}

// ---- the list of findings ---------------------------------------------------------------------

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
        why it matters, an example, and the example mended. An error withholds the figures that hang on it,\n\
        a warning lets them stand, a notice is only worth knowing.\n\n\
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

/// Compares what is generated with what is kept, or rewrites it.
fn keep(path: &Path, generated: &str) {
    if std::env::var_os("UPDATE_GENERATED").is_some() {
        // Other tests read the page meanwhile, so it changes at one stroke.
        let beside = path.with_extension("md.new");
        if let Err(error) = fs::write(&beside, generated).and_then(|()| fs::rename(&beside, path)) {
            panic!("{}: {error}", path.display());
        }
        return;
    }
    let kept = read(path);
    let differs = (1_usize..)
        .zip(kept.lines().zip(generated.lines()))
        .find(|(_, (kept, generated))| kept != generated);
    assert!(
        kept == generated,
        "{} is not what the pages and the code say (first at {differs:?}); run again with UPDATE_GENERATED=1",
        path.display()
    );
}

#[test]
fn the_list_of_findings_is_what_the_pages_say() {
    keep(&root().join("grammar/findings.md"), &list_of_findings());
}

// ---- the reference of the language ------------------------------------------------------------

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

const UNITS_BEGIN: &str = "<!-- units: written by tests/it/spec.rs from src/quantity/unit.rs -->\n";
const UNITS_END: &str = "<!-- end of units -->\n";

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
    for unit in UNITS {
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
    let text = reference();
    let parts = text.split_once(UNITS_BEGIN).and_then(|(before, rest)| {
        let (_, after) = rest.split_once(UNITS_END)?;
        Some(format!(
            "{before}{UNITS_BEGIN}\n{}\n{UNITS_END}{after}",
            table_of_units()
        ))
    });
    let Some(generated) = parts else {
        panic!("grammar/README.md has no place for the units")
    };
    keep(&root().join("grammar/README.md"), &generated);
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

#[test]
fn the_reference_sends_to_pages_that_exist() {
    let text = reference();
    let unknown: Vec<&str> = text
        .split("](findings/")
        .skip(1)
        .filter_map(|rest| rest.split_once(".md)").map(|(name, _)| name))
        .filter(|name| Code::named(name).is_none())
        .collect();
    assert!(unknown.is_empty(), "no such findings: {unknown:?}");
    assert!(
        text.contains("](findings/"),
        "the reference names the findings by their pages"
    );
}
