//! A set of a thousand formulas published from cold, and again when one of them was changed.

use std::path::Path;

use scruple::publish::publish;
use scruple::view::site::Site;
use scruple::workspace::{Snapshot, this_program};

use super::ledger::{base, formulas};
use super::{Times, report};

const FILES: u64 = 20;
const EACH: u64 = 50;

/// A set that holds every formula.
fn set() -> String {
    let names: Vec<String> = (0..FILES)
        .flat_map(|file| (0..EACH).map(move |number| format!("tea {file}-{number}")))
        .collect();
    format!(
        "set the whole shelf\n  holds        {}\n  lesson       the shelf: from the first jar to the last\n",
        names.join(",\n               ")
    )
}

fn published(ledger: &Path, to: &Path) -> (usize, usize) {
    let snapshot = Snapshot::read_figures(ledger);
    let program = this_program();
    let site = Site::new(&snapshot, &snapshot.ledger.sets[0], "1", &program);
    let told = publish(&site, to, &|_, _| {}).unwrap();
    assert!(told.left.is_empty());
    (told.written.len(), told.same)
}

pub fn run() {
    println!("a published set{:>54} {:>10}", "median", "slowest %");
    let place = tempfile::tempdir().unwrap();
    let ledger = place.path().join("ledger");
    std::fs::create_dir(&ledger).unwrap();
    for (path, text) in base() {
        std::fs::write(ledger.join(path), text).unwrap();
    }
    for file in 0..FILES {
        std::fs::write(
            ledger.join(format!("teas-{file}.scruple")),
            formulas(file, EACH, 0),
        )
        .unwrap();
    }
    std::fs::write(ledger.join("set.scruple"), set()).unwrap();
    let reading = Times::of(5, || drop(Snapshot::read(&ledger)));
    report("a ledger of 1,000 formulas read and checked", &reading, None);
    let figures = Times::of(5, || drop(Snapshot::read_figures(&ledger)));
    report(
        "read as far as its figures",
        &figures,
        Some(("checked too", &reading)),
    );
    let mut turn = 0;
    let cold = Times::of(5, || {
        turn += 1;
        let (written, _) = published(&ledger, &place.path().join(format!("cold-{turn}")));
        assert!(written > 1_000);
    });
    report(
        "published from cold (goal: 2 s)",
        &cold,
        Some(("reading it", &reading)),
    );
    let to = place.path().join("cold-1");
    let same = Times::of(5, || assert_eq!(published(&ledger, &to).0, 0));
    report(
        "published again, nothing changed",
        &same,
        Some(("reading it", &reading)),
    );
    let again = Times::of(7, || {
        turn += 1;
        std::fs::write(ledger.join("teas-3.scruple"), formulas(3, EACH, turn)).unwrap();
        let (written, _) = published(&ledger, &to);
        assert!((1..8).contains(&written), "{written} files were written");
    });
    report(
        "one formula changed, published again (goal: 100 ms)",
        &again,
        Some(("reading it", &reading)),
    );
}
