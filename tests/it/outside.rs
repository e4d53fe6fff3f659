//! Figures that other people printed, held against what the program makes of them.
//!
//! Every figure comes from a table in `tests/outside/`, with its source in the same row; the README
//! there says what the tables are. Nothing in them was worked out by the program. What a test itself
//! reckons (a definition, a sum in print) is reckoned in fractions of whole numbers, not with the
//! program's own arithmetic.

mod density;
mod printed;
mod shares;
mod spoons;
mod spreads;
mod traps;
mod units;
mod worked;

use std::collections::HashMap;
use std::path::PathBuf;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Pow, Zero};
use scruple::compute::batch::{self, Batch, BatchLine};
use scruple::compute::{Composition, make};
use scruple::diagnostic::{Diagnostic, Severity};
use scruple::model::Bound;
use scruple::quantity::Decimal;
use scruple::source::Sources;
use scruple::syntax;
use scruple::workspace::Snapshot;

/// One row of a table, by the names of its columns.
struct Row<'t> {
    place: usize,
    cells: HashMap<&'t str, &'t str>,
}

impl<'t> Row<'t> {
    fn get(&self, column: &str) -> &'t str {
        self.cells
            .get(column)
            .unwrap_or_else(|| panic!("row {} has no column `{column}`", self.place))
    }
}

/// Reads a tab-separated table with one header row and no quoting.
fn table(text: &str) -> Vec<Row<'_>> {
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap().split('\t').collect();
    let mut rows = Vec::new();
    for (place, line) in lines.enumerate() {
        let cells: Vec<&str> = line.split('\t').collect();
        assert_eq!(cells.len(), head.len(), "row {}: {line}", place + 2);
        rows.push(Row {
            place: place + 2,
            cells: head.iter().copied().zip(cells).collect(),
        });
    }
    assert!(!rows.is_empty());
    rows
}

/// A whole number, a decimal or a fraction as an exact ratio.
fn exact(text: &str) -> BigRational {
    let text = text.trim();
    if let Some((whole, part)) = text.split_once(' ') {
        return exact(whole) + exact(part);
    }
    if let Some((above, below)) = text.split_once('/') {
        return exact(above) / exact(below);
    }
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let digits: BigInt = format!("{whole}{decimals}")
        .parse()
        .unwrap_or_else(|_| panic!("`{text}` is no number"));
    BigRational::new(digits, ten(decimals.len()))
}

fn whole(number: i64) -> BigRational {
    BigRational::from_integer(number.into())
}

fn ten(power: usize) -> BigInt {
    Pow::pow(BigInt::from(10), power)
}

/// A figure of the program as an exact ratio.
fn ratio(value: Decimal) -> BigRational {
    BigRational::new(value.mantissa().into(), ten(value.scale() as usize))
}

/// The decimals that a printed number has.
fn decimals(text: &str) -> usize {
    text.split_once('.').map_or(0, |(_, decimals)| decimals.len())
}

/// Half a unit of the last digit that a printed number has.
fn half_unit(text: &str) -> BigRational {
    BigRational::new(BigInt::one(), ten(decimals(text)) * 2)
}

/// Whether two figures agree to the twelfth decimal, which is where the program's figures end.
fn same(got: Decimal, wanted: &BigRational) -> bool {
    distance(&ratio(got), wanted) * BigRational::from_integer(ten(12)) <= BigRational::new(1.into(), 2.into())
}

fn distance(a: &BigRational, b: &BigRational) -> BigRational {
    let apart = a - b;
    if apart < BigRational::zero() {
        -apart
    } else {
        apart
    }
}

/// A ratio with so many decimals that people see what it is; for messages only.
fn shown(value: &BigRational) -> String {
    let scaled = (value * BigRational::from_integer(ten(15))).round().to_integer();
    let sign = if scaled < BigInt::zero() { "-" } else { "" };
    let digits = format!("{:0>16}", scaled.magnitude().to_string());
    let (whole, rest) = digits.split_at(digits.len() - 15);
    format!("{sign}{whole}.{rest}")
        .trim_end_matches('0')
        .trim_end_matches('.')
        .to_owned()
}

/// Where the tables lie.
fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/outside")
}

/// A whole ledger in one file, through every stage.
fn ledger(text: &str) -> Snapshot {
    Snapshot::of([("practice.scruple".to_owned(), text.into())])
}

fn errors(snapshot: &Snapshot) -> Vec<&Diagnostic> {
    snapshot
        .diagnostics
        .iter()
        .filter(|one| one.severity == Severity::Error)
        .collect()
}

/// A finding in one line, for messages.
fn told(snapshot: &Snapshot, finding: &Diagnostic) -> String {
    format!(
        "{} {} at `{}`: {}",
        finding.severity.word(),
        finding.code,
        snapshot.sources.text(finding.span),
        finding.message
    )
}

/// A ledger that must have no error.
fn sound(text: &str) -> Snapshot {
    let snapshot = ledger(text);
    let found: Vec<String> = errors(&snapshot).iter().map(|one| told(&snapshot, one)).collect();
    assert!(found.is_empty(), "{text}\n{found:#?}");
    snapshot
}

/// The figures of a formula at its own size.
fn figures<'s>(snapshot: &'s Snapshot, formula: &str) -> &'s Composition {
    let at = snapshot
        .formula(formula)
        .unwrap_or_else(|| panic!("no formula is called {formula}"));
    snapshot
        .figures
        .of(at)
        .unwrap_or_else(|| panic!("{formula} has no figures"))
}

/// What is to be made of a formula for `asked`, by the same steps as the weighing sheet.
fn batch(snapshot: &Snapshot, formula: &str, asked: &str) -> Batch {
    let target = plan(snapshot, formula, asked);
    batch::make(&snapshot.ledger, figures(snapshot, formula), target)
        .unwrap_or_else(|refusal| panic!("{formula}, {asked}: {}", refusal.message))
}

/// How much has to be made for `asked`.
fn plan(snapshot: &Snapshot, formula: &str, asked: &str) -> batch::Target {
    let mut typed = Sources::default();
    let file = typed.add("--make", asked.into());
    let wanted =
        syntax::parse_make(file, asked).unwrap_or_else(|finding| panic!("{asked}: {}", finding.message));
    let at = snapshot.formula(formula).unwrap();
    make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted)
        .unwrap_or_else(|refusal| panic!("{formula}, {asked}: {} ({})", refusal.message, refusal.help))
        .target
}

/// The name under which a herb, material or formula is declared.
fn declared(snapshot: &Snapshot, what: Bound) -> &str {
    match what {
        Bound::Substance(at) => &snapshot.ledger.substances[at].name,
        Bound::Formula(at) => &snapshot.ledger.formulas[at].name.text,
        Bound::Unknown => "",
    }
}

/// The one line of a batch that takes something.
fn line<'b>(snapshot: &Snapshot, batch: &'b Batch, name: &str) -> &'b BatchLine {
    let mut found = batch
        .lines
        .iter()
        .filter(|line| declared(snapshot, line.figure.taken.what) == name);
    let line = found.next().unwrap_or_else(|| panic!("no line takes {name}"));
    assert!(found.next().is_none(), "several lines take {name}");
    line
}
