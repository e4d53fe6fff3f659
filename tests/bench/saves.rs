//! From a save to the totals written, in a ledger of 10,000 formulas in 200 files; waiting for the save to end is not counted.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use scruple::totals::{self, State, Texts, Wanted};
use scruple::watch::Watch;
use scruple::workspace;

use super::ledger::{base, formulas};
use super::{Times, report};

const SAVES: usize = 500;

/// A way of saving a text.
type Save = fn(&Path, &str);

pub fn run() {
    println!("saves,   {:>58} {:>10}", "median", "slowest %");
    let folder = tempfile::tempdir().unwrap();
    let put = |path: &str, text: &str| {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    for (path, text) in base() {
        put(
            &path,
            &text.replace("practice\n", "practice\n  totals   beside\n"),
        );
    }
    for file in 0..200 {
        put(&format!("teas/{file}.scruple"), &formulas(file, 50, 0));
    }
    let mut watch = Watch::default();
    let mut texts = Texts::default();
    let first = Times::of(1, || assert!(look(folder.path(), &mut watch, &mut texts) >= 200));
    report("the first look, all totals written", &first, None);
    let only_read = Times::of(20, || drop(workspace::contents(folder.path())));
    report("the files read", &only_read, None);
    let mut turn = 0;
    let kinds: [(&str, Save); 2] = [
        ("a plain save of one of 200 files", |path, text| {
            fs::write(path, text).unwrap();
        }),
        ("a save by rename", |path, text| {
            let beside = path.with_extension("tmp");
            fs::write(&beside, text).unwrap();
            fs::rename(&beside, path).unwrap();
        }),
    ];
    for (what, save) in kinds {
        let mut times = Vec::with_capacity(SAVES);
        for _ in 0..SAVES {
            // Every thirtieth turn writes the amount that the file began with.
            turn += if turn % 30 == 29 { 2 } else { 1 };
            let file = turn % 200;
            save(
                &folder.path().join(format!("teas/{file}.scruple")),
                &formulas(file, 50, turn),
            );
            let begun = std::time::Instant::now();
            assert_eq!(look(folder.path(), &mut watch, &mut texts), 1);
            times.push(begun.elapsed());
        }
        times.sort();
        report(what, &Times(times), Some(("reading the files", &only_read)));
    }
    let herbs = fs::read_to_string(folder.path().join("herbs.scruple")).unwrap();
    let mut heavier = false;
    let herb = Times::of(20, || {
        heavier = !heavier;
        let text = if heavier {
            herbs.replacen("teaspoon   1.", "teaspoon   2.", 1)
        } else {
            herbs.clone()
        };
        fs::write(folder.path().join("herbs.scruple"), text).unwrap();
        assert!(look(folder.path(), &mut watch, &mut texts) > 0);
    });
    report(
        "a save of the one file with every herb",
        &herb,
        Some(("reading the files", &only_read)),
    );
}

/// One look, as `watch` takes it; how many texts with totals were written.
fn look(root: &Path, watch: &mut Watch, texts: &mut Texts) -> usize {
    let news = watch.look(workspace::contents(root), "12:00:00").unwrap();
    assert!(news.broken.is_empty());
    let on_disk = workspace::read_totals(root);
    let planned = totals::plan_again(
        &news.standing,
        &on_disk,
        Wanted::AsThePracticeSays,
        &BTreeSet::new(),
        texts,
    );
    planned
        .iter()
        .filter(|one| matches!(one.state, State::New(_) | State::Stale(..)))
        .map(|one| assert!(totals::carry_out(root, one).unwrap()))
        .count()
}
