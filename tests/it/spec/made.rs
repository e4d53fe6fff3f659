//! Findings that no block of a page can show.

use std::fmt::Write as _;
use std::fs;
use std::sync::Arc;

use scruple::code;
use scruple::compute::batch::{self, Target};
use scruple::quantity::Decimal;
use scruple::workspace::{LARGEST_FILE, Snapshot};

use super::runner::blocks;
use super::{page_path, read};

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

#[test]
fn what_is_below_the_least_dose_is_said_by_doses_and_not_by_check() {
    let page = read(&page_path(code::BELOW_THE_LEAST_DOSE));
    let of_doses = |section: &str| {
        let blocks = blocks(&page);
        let block = blocks
            .iter()
            .find(|block| block.section == section)
            .expect("a block");
        let ledger = block.text.split("scruple doses").next().unwrap_or_default();
        let snapshot = Snapshot::of([("page.scruple".to_owned(), Arc::<str>::from(ledger))]);
        assert_eq!(snapshot.diagnostics, [], "the check of the ledger is silent");
        let at = snapshot.formula("seed tea").expect("the formula of the page");
        scruple::check::at_the_desk(&snapshot.ledger, &snapshot.figures, &snapshot.faults, None, at)
            .iter()
            .map(|finding| (finding.severity.word(), finding.code.name()))
            .collect::<Vec<_>>()
    };
    assert_eq!(of_doses("Example"), [("notice", "below-the-least-dose")]);
    assert_eq!(of_doses("Mended"), []);
}
