//! Reading a ledger from nothing, stage after stage, beside plain readers of the same content.

use std::sync::Arc;
use std::time::Duration;

use scruple::book::DayBook;
use scruple::model::Faults;
use scruple::source::Sources;
use scruple::workspace::Snapshot;
use scruple::{check, compute, model, syntax};

use super::ledger::{base, formulas};
use super::{Times, report};

pub fn run() {
    println!("reading, {:>58} {:>10}", "median", "slowest %");
    let mut files = base();
    files.extend((0..200).map(|file| (format!("teas/{file}.scruple"), formulas(file, 50, 0))));
    let texts: Vec<(String, Arc<str>)> = files
        .into_iter()
        .map(|(path, text)| (path, Arc::from(text)))
        .collect();
    let whole = Times::of(5, || drop(Snapshot::of(texts.clone())));
    report("10,000 formulas, all stages", &whole, None);
    let mut sources = Sources::default();
    let ids: Vec<_> = texts
        .iter()
        .map(|(path, text)| (sources.add(path, Arc::clone(text)), Arc::clone(text)))
        .collect();
    let mut trees = Vec::new();
    let parsing = Times::of(5, || {
        trees = ids.iter().map(|(id, text)| syntax::parse(*id, text).0).collect();
    });
    report("  text into trees", &parsing, Some(("all", &whole)));
    let (mut ledger, mut found) = model::build(&trees);
    let binding = Times::of(5, || (ledger, found) = model::build(&trees));
    report("  trees into a ledger", &binding, Some(("all", &whole)));
    let faults = Faults::of(&ledger, found.iter());
    let (mut figures, _) = compute::some(&ledger, &faults, |_| true);
    let figuring = Times::of(5, || (figures, _) = compute::some(&ledger, &faults, |_| true));
    report("  figures", &figuring, Some(("all", &whole)));
    let checking = Times::of(5, || {
        drop(check::run(&ledger, &figures, &faults, &DayBook::default(), None));
    });
    report("  checks", &checking, Some(("all", &whole)));
    assert!(whole.median() > Duration::ZERO && figures.formulas.iter().all(Option::is_some));
}
