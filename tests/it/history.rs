//! The history of a formula, in repositories made with the real git: every revision that changed its
//! meaning, and no other; the same as a slow walk that compares whole ledgers commit by commit.

use std::path::Path;

use serde_json::Value;

use super::repository::{PRACTICE, Repository, git_in};
use super::sandbox::{Sandbox, project};
use scruple::compare;
use scruple::history::of_formula;
use scruple::revision::{self, Meant, git};

const HERBS: &str = "herb sage leaf\n  teaspoon   1.5 g\n\nherb thyme herb\n  teaspoon   1 g\n\nherb plantain leaf\n  teaspoon   0.8 g\n";
const TEA: &str = "formula throat tea\n  take\n    sage leaf   30 g\n    thyme herb   2 teaspoons\n";
const OTHER: &str = "formula other tea\n  take\n    plantain leaf   10 g\n    thyme herb   3 g\n";

fn barn() -> Repository {
    let barn = Repository::new();
    barn.write("practice.scruple", PRACTICE)
        .write("herbs.scruple", HERBS)
        .write("tea.scruple", TEA)
        .write("other.scruple", OTHER);
    barn.commit("2026-01-10", "the first teas");
    barn
}

fn history(barn: &Repository, arguments: &[&str]) -> Value {
    let mut all = vec!["history", "--as", "json"];
    all.extend(arguments);
    let ran = barn.run(&all);
    ran.status(0);
    let value: Value = serde_json::from_str(&ran.stdout).unwrap();
    let schema = std::fs::read_to_string(project().join("grammar/history.schema.json")).unwrap();
    let schema = jsonschema::draft202012::new(&serde_json::from_str(&schema).unwrap()).unwrap();
    let faults: Vec<String> = schema
        .iter_errors(&value)
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
    value
}

fn messages(value: &Value) -> Vec<&str> {
    value["revisions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["message"].as_str().unwrap())
        .collect()
}

#[test]
fn only_what_changed_the_meaning_is_a_revision() {
    let barn = barn();
    barn.edit("tea.scruple", "sage leaf   30 g", "sage leaf   25 g");
    barn.commit("2026-02-01", "less sage");
    barn.edit(
        "tea.scruple",
        "sage leaf   25 g",
        "sage leaf      25 g   # from the garden",
    );
    barn.commit("2026-02-02", "spacing and a comment");
    barn.edit("other.scruple", "3 g", "4 g");
    barn.commit("2026-02-03", "another formula");
    barn.edit("herbs.scruple", "teaspoon   0.8 g", "teaspoon   0.9 g");
    barn.commit("2026-02-04", "a spoon that it does not use");
    barn.edit("herbs.scruple", "teaspoon   1 g", "teaspoon   1.2 g");
    barn.commit("2026-02-05", "a spoon that it uses");
    barn.git(&["mv", "tea.scruple", "throat.scruple"]);
    barn.commit("2026-02-06", "another file");
    barn.edit("throat.scruple", "throat tea", "tea for the throat");
    barn.commit("2026-02-07", "another name");
    barn.edit("throat.scruple", "2 teaspoons", "3 teaspoons");
    barn.commit("2026-02-08", "more thyme");
    let all = history(&barn, &["tea for the throat"]);
    assert_eq!(
        messages(&all),
        [
            "more thyme",
            "another name",
            "a spoon that it uses",
            "less sage",
            "the first teas"
        ]
    );
    let revisions = all["revisions"].as_array().unwrap();
    assert_eq!(revisions[1]["change"]["former_name"], "throat tea");
    assert_eq!(
        revisions[2]["change"]["because"][0],
        "herb thyme herb: teaspoon is 1.2 g, was 1 g"
    );
    assert_eq!(revisions[2]["change"]["own_lines_differ"], false);
    assert_eq!(revisions[3]["change"]["ingredients"][0]["by_grams"], "-5");
    assert_eq!(revisions[4]["change"]["fate"], "added");
    assert_eq!(revisions[3]["day"], "2026-02-01");
    assert_eq!(revisions[3]["author"], "The Barn");
    // 25 g and 2 × 1.2 g: 25/27.4.
    assert_eq!(revisions[2]["after"][0]["share"], "91.240876");
    let said = barn.run(&["history", "tea for the throat"]);
    said.status(0);
    for wanted in [
        "less sage",
        "sage leaf 25 g, was 30 g",
        "renamed from throat tea",
        "5 revisions in 9 commits",
    ] {
        assert!(said.stdout.contains(wanted), "{wanted}\n{}", said.stdout);
    }
}

#[test]
fn a_formula_that_was_left_out_and_came_back() {
    let barn = barn();
    barn.remove("tea.scruple");
    barn.commit("2026-02-01", "left out");
    barn.write("tea.scruple", &TEA.replace("30 g", "20 g"));
    barn.commit("2026-02-02", "back again");
    let all = history(&barn, &["throat tea"]);
    assert_eq!(messages(&all), ["back again", "left out", "the first teas"]);
    assert_eq!(all["revisions"][1]["after"], Value::Null);
}

#[test]
fn a_merge_is_a_revision_only_where_it_differs_from_all_that_it_joins() {
    let barn = barn();
    barn.git(&["branch", "side"]);
    barn.edit("tea.scruple", "30 g", "28 g");
    barn.commit("2026-02-01", "on the main line");
    barn.git(&["checkout", "--quiet", "side"]);
    barn.edit("other.scruple", "10 g", "11 g");
    barn.commit("2026-02-02", "beside it");
    barn.git(&["checkout", "--quiet", "main"]);
    let (fine, said) = git_in(
        barn.sandbox.path(),
        &["merge", "--quiet", "--no-ff", "--message", "joined", "side"],
        &[
            ("GIT_COMMITTER_DATE", "2026-02-03T12:00:00+0000"),
            ("GIT_AUTHOR_DATE", "2026-02-03T12:00:00+0000"),
        ],
    );
    assert!(fine, "{said}");
    assert_eq!(
        messages(&history(&barn, &["throat tea"])),
        ["on the main line", "the first teas"]
    );
    assert_eq!(
        messages(&history(&barn, &["other tea"])),
        ["beside it", "the first teas"]
    );
}

#[test]
fn a_name_that_is_none_is_refused_with_the_nearest() {
    let barn = barn();
    let ran = barn.run(&["history", "throt tea"]);
    ran.status(2);
    assert!(
        ran.stderr.contains("did you mean \"throat tea\"?"),
        "{}",
        ran.stderr
    );
    let plain = Sandbox::new().file("practice.scruple", PRACTICE);
    plain.run(["history", "throat tea"]).status(2);
}

#[test]
fn a_shallow_clone_says_that_there_may_be_more_and_a_bare_one_is_read() {
    let barn = barn();
    barn.edit("tea.scruple", "30 g", "28 g");
    barn.commit("2026-02-01", "less sage");
    let other = Sandbox::new();
    let from = format!("file://{}", barn.sandbox.path().display());
    for arguments in [
        &["clone", "--quiet", "--depth", "1", &from, "shallow"][..],
        &["clone", "--quiet", "--bare", &from, "whole"][..],
    ] {
        assert!(git_in(other.path(), arguments, &[]).0);
    }
    let ran = other.run(["history", "throat tea", "--in", "shallow"]);
    ran.status(0);
    assert!(ran.stdout.contains("shallow clone"), "{}", ran.stdout);
    let ran = other.run(["history", "throat tea", "--in", "whole", "--to", "HEAD"]);
    ran.status(0);
    assert!(ran.stdout.contains("2 revisions in 2 commits"), "{}", ran.stdout);
}

/// A cheap sequence of numbers, the same on every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

/// What a random ledger of a random history may hold: herbs and formulas that lean on one another,
/// names that come and go, slips, spacing.
fn random_commits(barn: &Repository, dice: &mut Dice, count: u64) {
    let mut spoons = [15_u64, 10, 8];
    let mut amounts = [30_u64, 2, 10, 3];
    let mut slip = false;
    let mut inner = false;
    let mut plural = false;
    let mut practice = 5;
    for number in 0..count {
        match dice.below(9) {
            0 => spoons[usize::try_from(dice.below(3)).unwrap()] = 5 + dice.below(15),
            1 | 2 => amounts[usize::try_from(dice.below(4)).unwrap()] = 1 + dice.below(40),
            3 => slip = !slip,
            4 => inner = !inner,
            5 => plural = !plural,
            6 => practice = 4 + dice.below(3),
            _ => {}
        }
        let [sage, thyme, plantain] = spoons.map(|tenths| format!("{}.{} g", tenths / 10, tenths % 10));
        let blanks = " ".repeat(usize::try_from(1 + dice.below(3)).unwrap());
        barn.write(
            "practice.scruple",
            &PRACTICE.replace("5 ml", &format!("{practice} ml")),
        );
        barn.write(
            "herbs.scruple",
            &format!(
                "herb sage leaf\n  teaspoon   {sage}\n\nherb thyme herb\n  teaspoon   {thyme}\n\nherb plantain leaf\n  teaspoon{blanks}{plantain}\n{}",
                // A second name of the same plural makes the name in the tea ambiguous.
                if plural { "\nherb sage leave\n  teaspoon   1 g\n" } else { "" }
            ),
        );
        let extra = if inner { "    other tea   5 g\n" } else { "" };
        let unit = if slip { "gg" } else { "g" };
        barn.write(
            "tea.scruple",
            &format!(
                "formula throat tea\n  take\n    sage leaves{blanks}{} g\n    thyme herb   {} teaspoons\n{extra}",
                amounts[0], amounts[1]
            ),
        );
        barn.write(
            "other.scruple",
            &format!(
                "formula other tea\n  take\n    plantain leaf   {} {unit}\n    thyme herb   {} teaspoons\n",
                amounts[2], amounts[3]
            ),
        );
        barn.commit("2026-03-01", &format!("change {number}"));
    }
}

/// The slow way: whole ledgers, one commit after another.
fn slowly(folder: &Path, name: &str) -> Vec<String> {
    let repository = git::Repository::of(folder).unwrap().unwrap();
    let newest = repository.commit("HEAD").unwrap().unwrap();
    let commits = repository.history(&newest).unwrap();
    let at = |commit: &git::Commit| {
        let snapshot = revision::read(Meant::Commit(commit.clone(), String::new()), folder)
            .unwrap()
            .snapshot;
        let place = snapshot.formula(name).unwrap();
        let mut portrait = compare::portrait::portrait(&snapshot, place).unwrap();
        portrait.findings.clear();
        portrait
    };
    let mut changed = Vec::new();
    for pair in commits.windows(2) {
        if at(&pair[0]) != at(&pair[1]) {
            changed.push(pair[0].id.clone());
        }
    }
    changed.push(commits.last().unwrap().id.clone());
    changed
}

#[test]
fn the_quick_walk_finds_what_a_slow_one_finds() {
    let mut skipped = 0;
    for seed in 0..4 {
        let barn = Repository::new();
        random_commits(&barn, &mut Dice(seed * 77 + 5), 40);
        let folder = barn.sandbox.path();
        let repository = git::Repository::of(folder).unwrap().unwrap();
        let newest = repository.commit("HEAD").unwrap().unwrap();
        for name in ["throat tea", "other tea"] {
            let quick = of_formula(&repository, &newest, name, &mut |_, _| {}).unwrap();
            let ids: Vec<String> = quick.revisions.iter().map(|one| one.commit.id.clone()).collect();
            assert_eq!(ids, slowly(folder, name), "seed {seed}, {name}");
            skipped += quick.commits - quick.looked_at.min(quick.commits);
        }
    }
    assert!(
        skipped > 40,
        "nothing was saved: only {skipped} commits were passed over"
    );
}

/// The year of revisions that the README tours: it ends as the demo is, and its story is told.
#[test]
fn a_year_of_revisions() {
    let place = Sandbox::new();
    let script = project().join("examples/a-year-of-revisions.sh");
    let make = || {
        std::process::Command::new("sh")
            .arg(&script)
            .arg("year")
            .current_dir(place.path())
            .output()
            .unwrap()
    };
    let first = make();
    assert!(
        first.status.success(),
        "{}",
        String::from_utf8_lossy(&first.stderr)
    );
    assert!(!make().status.success(), "what is there is not overwritten");
    let folder = place.path().join("year");
    let demo = scruple::workspace::contents(&project().join("examples/low-barn"));
    assert_eq!(scruple::workspace::contents(&folder), demo);
    let value = |arguments: &[&str]| -> Value {
        let mut all = vec!["--as", "json", "--in", "year"];
        all.extend(arguments);
        let ran = place.command(all).environment("TZ", "UTC").run();
        serde_json::from_str(&ran.stdout).unwrap_or_else(|_| panic!("{}", ran.stderr))
    };
    let months = value(&["compare", "--from", "2026-09", "--to", "2026-10"]);
    let changed: Vec<&str> = months["formulas"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(changed, ["after-supper tea"]);
    assert_eq!(months["formulas"][0]["ingredients"][0]["by_grams"], "-10");
    let days = |name: &str| -> Vec<String> {
        value(&["history", name])["revisions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["day"].as_str().unwrap().to_owned())
            .collect()
    };
    assert_eq!(
        days("after-supper tea"),
        [
            "2026-10-23",
            "2026-10-09",
            "2026-09-25",
            "2026-06-19",
            "2026-03-13",
            "2025-12-12",
            "2025-11-24"
        ]
    );
    assert_eq!(days("chest tea"), ["2026-01-09", "2025-11-24"]);
    assert_eq!(days("three-seed tea"), ["2026-02-06", "2025-11-24"]);
}
