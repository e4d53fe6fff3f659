//! Comparing revisions, and the history of a formula beside git's own log of its file.

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use scruple::compare;
use scruple::history::of_formula;
use scruple::revision::{self, Meant, git::Repository};
use scruple::workspace::Snapshot;

use super::ledger::{base, formulas};
use super::{Times, report};

pub fn run() {
    println!("revisions{:>60} {:>10}", "median", "slowest %");
    compared();
    for (commits, every, what) in [
        (1_000, 1, "its file changed in each of 1,000 commits"),
        (5_000, 50, "its file changed in 100 of 5,000 commits"),
    ] {
        looked_back(commits, every, what);
    }
}

fn compared() {
    let mut was = base();
    was.extend((0..200).map(|file| (format!("teas/{file}.scruple"), formulas(file, 50, 0))));
    let mut is = was.clone();
    for file in 0..5_u64 {
        let place = is
            .iter()
            .position(|(path, _)| *path == format!("teas/{file}.scruple"))
            .unwrap();
        is[place].1 = formulas(file, 50, 7);
    }
    let snapshot = |files: &[(String, String)]| {
        Snapshot::of(
            files
                .iter()
                .map(|(path, text)| (path.clone(), text.as_str().into())),
        )
    };
    let reading = Times::of(5, || drop(snapshot(&was)));
    let (before, after) = (snapshot(&was), snapshot(&is));
    assert!(
        before.figures.formulas.iter().all(Option::is_some),
        "every formula has figures"
    );
    assert_eq!(compare::compare(&before, &after).formulas.len(), 5);
    let comparing = Times::of(7, || drop(compare::compare(&before, &after)));
    report("a ledger of 10,000 formulas read and checked", &reading, None);
    report(
        "two such ledgers compared",
        &comparing,
        Some(("reading one", &reading)),
    );
}

fn looked_back(commits: u64, every: u64, what: &str) {
    let folder = tempfile::tempdir().unwrap();
    history(folder.path(), commits, every);
    let repository = Repository::of(folder.path()).unwrap().unwrap();
    let newest = repository.commit("HEAD").unwrap().unwrap();
    let log = Times::of(5, || {
        let output = Command::new("git")
            .args(["log", "-p", "--", "teas.scruple"])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(output.status.success() && !output.stdout.is_empty());
    });
    let mut revisions = 0;
    let own = Times::of(5, || {
        let found = of_formula(&repository, &newest, "tea 0-0", &mut |_, _| {}).unwrap();
        revisions = found.revisions.len();
    });
    report(&format!("history: {what}"), &own, Some(("git log -p", &log)));
    assert_eq!(
        revisions,
        usize::try_from(commits / every).unwrap(),
        "every change is a revision"
    );
    let read = Times::of(5, || {
        let at = revision::read(Meant::Commit(newest.clone(), String::new()), folder.path()).unwrap();
        assert!(at.snapshot.formula("tea 0-0").is_some());
    });
    report("  the ledger read at its newest commit", &read, None);
}

/// A repository whose file of teas changes in every so manieth commit, and another file in the others.
fn history(folder: &Path, commits: u64, every: u64) {
    let git = |arguments: &[&str]| {
        assert!(
            Command::new("git")
                .args(arguments)
                .current_dir(folder)
                .status()
                .unwrap()
                .success()
        );
    };
    git(&["init", "--quiet", "--initial-branch", "main"]);
    let mut child = Command::new("git")
        .args(["fast-import", "--quiet"])
        .current_dir(folder)
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut into = child.stdin.take().unwrap();
    for number in 0..commits {
        writeln!(
            into,
            "commit refs/heads/main\ncommitter The Barn <barn@example.org> {} +0000\ndata 6\nchange",
            1_700_000_000 + number * 600
        )
        .unwrap();
        let mut put = |path: &str, text: &str| {
            writeln!(into, "M 100644 inline {path}\ndata {}\n{text}", text.len()).unwrap();
        };
        if number == 0 {
            for (path, text) in base() {
                put(&path, &text);
            }
        }
        if number % every == 0 {
            put("teas.scruple", &formulas(0, 5, number / every));
        } else {
            put("others.scruple", &formulas(1, 5, number));
        }
    }
    drop(into);
    assert!(child.wait().unwrap().success());
    git(&["repack", "--quiet", "-ad"]);
}
