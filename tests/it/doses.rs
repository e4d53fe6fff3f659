//! What a person takes and whether it is right for them, held against figures that others published,
//! against a slow second reckoning, and against the rules of common practice.
//!
//! Tables are in `tests/outside/`: `herbs.tsv` (doses of 81 herbs), `cautions.tsv` (what each herb is to be
//! careful of) and `child.tsv` (worked examples of the rules for children), each row with its source and
//! with whether it was read (`verified`) or remembered (`memory`).

mod acceptances;
mod adopting;
mod alcohol;
mod blend_spoons;
mod bought;
mod cautions;
mod children;
mod command;
mod common_practice;
mod directions;
mod herbs;
mod lines;
mod mosts;
mod odd;
mod people;
mod plainly;
mod readable;
mod reasons;
mod schema;
mod slips;
mod slow;
mod strangers;
mod vehicles;
mod worked;

use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, LazyLock};

use num_bigint::BigInt;
use num_rational::BigRational;
use scruple::compute::intake::{self, Intake};
use scruple::diagnostic::{Diagnostic, Severity};
use scruple::model::Person;
use scruple::quantity::Decimal;
use scruple::workspace::Snapshot;

/// An exact fraction.
type R = BigRational;

fn r(above: i64, below: i64) -> R {
    R::new(BigInt::from(above), BigInt::from(below))
}

/// A fraction from decimal digits.
fn dec(text: &str) -> R {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let digits: BigInt = format!("{whole}{decimals}")
        .parse()
        .unwrap_or_else(|_| panic!("`{text}` is no number"));
    R::new(
        digits,
        BigInt::from(10).pow(u32::try_from(decimals.len()).unwrap()),
    )
}

fn exactly(value: Decimal) -> R {
    dec(&value.to_string())
}

/// A figure as JSON has it.
fn figure(value: &serde_json::Value) -> R {
    dec(value.as_str().unwrap_or_else(|| panic!("{value} is no figure")))
}

/// Whether two figures agree as far as 28 digits can.
fn near(a: &R, b: &R) -> bool {
    let off = if a > b { a - b } else { b - a };
    off < r(1, 1_000_000_000)
}

/// One row of a table, by the names of its columns.
struct Row<'t> {
    cells: HashMap<&'t str, &'t str>,
}

impl<'t> Row<'t> {
    fn get(&self, column: &str) -> &'t str {
        self.cells
            .get(column)
            .unwrap_or_else(|| panic!("there is no column `{column}`"))
    }

    /// A cell that may be empty, as a figure.
    fn maybe(&self, column: &str) -> Option<R> {
        let cell = self.get(column);
        (!cell.is_empty()).then(|| dec(cell))
    }
}

/// Reads a tab-separated table with one header row and no quoting; `#` at a line's start is a comment.
fn table(text: &str) -> Vec<Row<'_>> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let head: Vec<&str> = lines.next().unwrap().split('\t').collect();
    let rows: Vec<Row<'_>> = lines
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            assert_eq!(cells.len(), head.len(), "{line}");
            Row {
                cells: head.iter().copied().zip(cells).collect(),
            }
        })
        .collect();
    assert!(!rows.is_empty());
    rows
}

fn herb_rows() -> &'static [Row<'static>] {
    static ROWS: LazyLock<Vec<Row<'_>>> = LazyLock::new(|| table(include_str!("../outside/herbs.tsv")));
    &ROWS
}

fn caution_rows() -> &'static [Row<'static>] {
    static ROWS: LazyLock<Vec<Row<'_>>> = LazyLock::new(|| table(include_str!("../outside/cautions.tsv")));
    &ROWS
}

/// The built-in reference's name for a key of the tables. Keys leave out apostrophes, and once an `and`.
fn reference_name(key: &str) -> &'static str {
    static NAMES: LazyLock<HashMap<String, &str>> = LazyLock::new(|| {
        let names = scruple::reference::names();
        names
            .into_iter()
            .map(|name| (name.replace(' ', "-").replace('\'', "").to_lowercase(), name))
            .collect()
    });
    let key = if key == "hawthorn-leaf-flower" {
        "hawthorn-leaf-and-flower"
    } else {
        key
    };
    NAMES
        .get(key)
        .unwrap_or_else(|| panic!("the reference has no {key}"))
}

/// A ledger of one text.
fn ledger(text: &str) -> Snapshot {
    Snapshot::of([("ledger.scruple".to_owned(), Arc::from(text))])
}

/// All texts of the reference, and one text of one's own.
fn with_reference(text: &str) -> Snapshot {
    let texts = scruple::reference::texts().map(|(name, text)| (name.to_owned(), Arc::from(text)));
    Snapshot::of(texts.chain([("ledger.scruple".to_owned(), Arc::from(text))]))
}

/// What a formula gives, for nobody in particular.
fn reckoned(snapshot: &Snapshot, formula: &str) -> Intake {
    reckoned_for(snapshot, formula, None)
}

/// What a formula gives someone of an age.
fn reckoned_for(snapshot: &Snapshot, formula: &str, years: Option<&str>) -> Intake {
    let at = snapshot
        .formula(formula)
        .unwrap_or_else(|| panic!("there is no {formula}"));
    let years = years.map(|years| years.parse().unwrap());
    intake::intake(
        &snapshot.ledger,
        &snapshot.faults,
        &snapshot.figures,
        at,
        years,
        false,
    )
    .unwrap_or_else(|refusal| {
        panic!(
            "{formula}: {}\n{}",
            refusal.message,
            listed(&snapshot.diagnostics)
        )
    })
}

fn listed(findings: &[Diagnostic]) -> String {
    let lines: Vec<String> = findings
        .iter()
        .map(|one| format!("{} {}: {}", one.severity.word(), one.code, one.message))
        .collect();
    lines.join("\n")
}

/// The findings that stand in a formula's own entry.
fn findings_of<'s>(snapshot: &'s Snapshot, formula: &str) -> Vec<&'s Diagnostic> {
    let at = snapshot.formula(formula).unwrap();
    let entry = snapshot.ledger.formulas[at].entry;
    snapshot
        .diagnostics
        .iter()
        .filter(|one| {
            one.span.file == entry.file && entry.start <= one.span.start && one.span.start < entry.end
        })
        .collect()
}

/// What `doses` says of a formula: all that `check` says of it, and what is news at the desk only.
fn at_the_desk(snapshot: &Snapshot, formula: &str) -> Vec<Diagnostic> {
    let at = snapshot.formula(formula).unwrap();
    scruple::check::at_the_desk(&snapshot.ledger, &snapshot.figures, &snapshot.faults, None, at)
}

/// Their codes with their severities, sorted.
fn codes_at_the_desk(snapshot: &Snapshot, formula: &str) -> Vec<String> {
    let mut codes: Vec<String> = at_the_desk(snapshot, formula)
        .iter()
        .map(|one| format!("{} {}", one.severity.word(), one.code))
        .collect();
    codes.sort();
    codes
}

/// Their codes with their severities, sorted.
fn codes_of(snapshot: &Snapshot, formula: &str) -> Vec<String> {
    let mut codes: Vec<String> = findings_of(snapshot, formula)
        .iter()
        .map(|one| format!("{} {}", one.severity.word(), one.code))
        .collect();
    codes.sort();
    codes
}

/// A ledger without a fault in it, so that what a test finds missing is not missing by a slip of the test.
fn sound(text: &str) -> Snapshot {
    let snapshot = ledger(text);
    for code in [
        "unknown-topic",
        "unknown-fact",
        "unknown-line-word",
        "line-not-understood",
    ] {
        assert!(
            snapshot.diagnostics.iter().all(|one| one.code.name() != code),
            "{}\n{text}",
            listed(&snapshot.diagnostics)
        );
    }
    let broken = [
        "unknown-name",
        "name-taken-twice",
        "spoon-without-weight",
        "nothing-taken",
        "number-overflow",
    ];
    assert!(
        snapshot
            .diagnostics
            .iter()
            .all(|one| !broken.contains(&one.code.name())),
        "{}\n{text}",
        listed(&snapshot.diagnostics)
    );
    snapshot
}

/// Somebody of whom certain facts are known.
fn somebody(age: Option<&str>, facts: &[&str]) -> Person {
    use scruple::model::{Fact, FactKind};
    let facts = facts
        .iter()
        .map(|fact| {
            let (word, words) = fact.split_once(' ').unwrap();
            Fact {
                kind: FactKind::named(word).unwrap(),
                words: words.to_owned(),
                span: None,
            }
        })
        .collect();
    Person {
        years: age.map(|age| age.parse().unwrap()),
        facts,
        ..Person::default()
    }
}

// ---- the command --------------------------------------------------------------------------------

/// What a command printed and how it ended.
struct Ran {
    code: i32,
    out: String,
    err: String,
}

impl Ran {
    fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}\n{}\n{}", self.out, self.err))
    }

    /// The text with every run of blanks and line ends made one blank.
    fn flat(&self) -> String {
        flat(&self.out)
    }
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn run_wide(folder: &Path, width: usize, arguments: &[&str]) -> Ran {
    let output = Command::new(env!("CARGO_BIN_EXE_scruple"))
        .args(arguments)
        .current_dir(folder)
        .env("COLUMNS", width.to_string())
        .env("NO_COLOR", "1")
        .env("LC_ALL", "C.UTF-8")
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn run(folder: &Path, arguments: &[&str]) -> Ran {
    run_wide(folder, 100, arguments)
}

fn low_barn() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/low-barn")
}

/// A ledger on disk, gone when it is dropped.
fn on_disk(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// The cautions of `doses --as json`, by whom they bear on: `level topic: herb`.
fn cautions_by(doses: &serde_json::Value) -> BTreeMap<String, Vec<String>> {
    let mut by: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let said = |value: &serde_json::Value| value.as_str().unwrap().to_owned();
    for one in doses["cautions"].as_array().unwrap() {
        by.entry(said(&one["bears_on"])).or_default().push(format!(
            "{} {}: {}",
            said(&one["level"]),
            said(&one["topic"]),
            said(&one["herb"])
        ));
    }
    for list in by.values_mut() {
        list.sort();
    }
    by
}

/// How many findings of a severity there are.
fn count(findings: &[&Diagnostic], severity: Severity) -> usize {
    findings.iter().filter(|one| one.severity == severity).count()
}
