//! A dispensary's book of 100,000 entries: reading it, stock, and a trace.

use std::fmt::Write;

use scruple::book::stock;
use scruple::book::trace;
use scruple::book::{DayBook, Holder};
use scruple::syntax::day;
use scruple::workspace::Snapshot;

use super::ledger::Dice;
use super::{Times, report};

const LOTS: u64 = 4_000;
const BATCHES: u64 = 16_000;
const SUPPLIES: u64 = 80_000;

pub fn run() {
    println!("book of 100,000 entries{:>46} {:>10}", "median", "slowest %");
    let files = files();
    let read = || {
        Snapshot::of(
            files
                .iter()
                .map(|(path, text)| (path.clone(), text.as_str().into())),
        )
    };
    let reading = Times::of(3, || drop(read()));
    let snapshot = read();
    assert!(
        snapshot.diagnostics.is_empty(),
        "{:?}",
        snapshot.diagnostics.first()
    );
    let entries = snapshot.ledger.lots.len() + snapshot.ledger.batches.len() + snapshot.ledger.supplies.len();
    assert_eq!(entries, 100_000);
    let on = day::read("2060-12-31").unwrap();
    let book = || DayBook::of(&snapshot.ledger, &snapshot.faults, &snapshot.figures);
    let mut kinds = 0;
    let stock = Times::of(9, || {
        kinds = stock::of_everything(&snapshot.ledger, &book(), on).len();
    });
    assert_eq!(kinds, 41);
    let mut reached = 0;
    let traced = Times::of(9, || {
        let book = book();
        reached = trace::forward(&book, &snapshot.ledger, Holder::Lot(0), on)
            .supplies
            .len();
    });
    assert!(reached > 0);
    report("read, reckoned and checked", &reading, None);
    report(
        "the book put together, and stock of it",
        &stock,
        Some(("reading", &reading)),
    );
    report(
        "the book put together, and a lot traced",
        &traced,
        Some(("reading", &reading)),
    );
}

fn herb(number: u64) -> String {
    let letter = |at: u64| char::from(b'a' + u8::try_from(at % 26).unwrap());
    format!("herb {}{} leaf", letter(number / 26), letter(number))
}

/// Forty herbs, one blend; each batch takes three herbs from lots that have them, five supplies each.
fn files() -> Vec<(String, String)> {
    let mut dice = Dice(7);
    let mut first = String::from("practice\n  scales   0.1 g\n\n");
    for number in 0..40 {
        writeln!(first, "herb {}", herb(number)).unwrap();
    }
    first.push_str("\nformula tea\n  take\n");
    for number in 0..3 {
        writeln!(first, "    {}   10 g", herb(number)).unwrap();
    }
    for person in 0..300 {
        write!(first, "\nperson {person:03}\n  age   {}\n", 20 + person % 60).unwrap();
    }
    let mut files = vec![("practice.scruple".to_owned(), first)];
    let mut lots = String::new();
    for number in 0..LOTS {
        write!(
            lots,
            "lot L-{number} of {}\n  received   2000-01-01\n  amount   {} kg\n  cost   {}.00\n  best before   2099-01\n\n",
            herb(number % 40),
            90 + dice.below(9),
            20 + dice.below(9)
        )
        .unwrap();
    }
    files.push(("lots.scruple".to_owned(), lots));
    let mut text = String::new();
    let per_batch = SUPPLIES / BATCHES;
    for number in 0..BATCHES {
        // Four thousand lots of forty herbs: every fortieth holds the same herb.
        let from = |herb: u64, dice: &mut Dice| dice.below(LOTS / 40) * 40 + herb;
        write!(text, "batch tea on {}\n  make   30 g\n  used\n", shown(number)).unwrap();
        for at in 0..3 {
            writeln!(text, "    {}   10 g from L-{}", herb(at), from(at, &mut dice)).unwrap();
        }
        text.push_str("  yielded   29.8 g\n\n");
        for _ in 0..per_batch {
            write!(
                text,
                "supply tea on {0}\n  amount   5 g\n  from batch   {0}\n  to person   {1:03}\n\n",
                shown(number),
                dice.below(300)
            )
            .unwrap();
        }
        if number % 1000 == 999 {
            files.push((format!("book/{number:05}.scruple"), std::mem::take(&mut text)));
        }
    }
    files
}

/// The day of a batch: one a day, for forty-four years.
fn shown(number: u64) -> String {
    let begin = day::read("2001-01-01").unwrap();
    day::days_after(begin, i32::try_from(number).unwrap()).to_string()
}
