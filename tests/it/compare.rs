//! Two revisions of a ledger against each other: what changed, by how much, and why; with the real git.

use serde_json::Value;

use super::repository::{PRACTICE, Repository, git_in};
use super::sandbox::{Ran, Sandbox, project};

const HERBS: &str = "source book\n  title   a book\n\n\
    herb sage leaf\n  teaspoon   1.5 g\n  dose   1 to 2 g, 3 times a day   source book\n  \
    avoid   pregnancy   source book\n\n\
    herb thyme herb\n  teaspoon   1 g\n\nherb plantain leaf\n  teaspoon   0.8 g\n";

const TEAS: &str = "formula throat tea\n  take\n    sage leaf   30 g\n    thyme herb   20 g\n  \
    infuse   2 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n  sign   1 cup, up to 3 a day\n\n\
    formula spooned tea\n  take\n    sage leaf   4 teaspoons\n    plantain leaf   5 teaspoons\n\n\
    formula plain tea\n  take\n    thyme herb   10 g\n    plantain leaf   10 g\n";

fn barn() -> Repository {
    let barn = Repository::new();
    barn.write("practice.scruple", PRACTICE)
        .write("herbs.scruple", HERBS)
        .write("teas.scruple", TEAS);
    barn.commit("2026-09-10", "first teas");
    barn
}

fn json(ran: &Ran) -> Value {
    serde_json::from_str(&ran.stdout)
        .unwrap_or_else(|error| panic!("{error}\n{}\n{}", ran.stdout, ran.stderr))
}

/// The differences, checked against the published schema.
fn differences(barn: &Repository, arguments: &[&str]) -> Value {
    let mut all = vec!["compare", "--as", "json"];
    all.extend(arguments);
    let value = json(&barn.run(&all));
    let schema = std::fs::read_to_string(project().join("grammar/compare.schema.json")).unwrap();
    let schema = jsonschema::draft202012::new(&serde_json::from_str(&schema).unwrap()).unwrap();
    let faults: Vec<String> = schema
        .iter_errors(&value)
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{faults:#?}");
    value
}

fn names(value: &Value) -> Vec<(String, String)> {
    let text = |one: &Value, field: &str| one[field].as_str().unwrap().to_owned();
    value["formulas"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| (text(one, "fate"), text(one, "name")))
        .collect()
}

fn formula<'a>(value: &'a Value, name: &str) -> &'a Value {
    value["formulas"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["name"] == name)
        .unwrap_or_else(|| panic!("{name} is not in {value:#}"))
}

#[test]
fn nothing_differs_right_after_a_commit() {
    let barn = barn();
    let ran = barn.run(&["compare"]);
    ran.status(0);
    assert!(
        ran.stdout
            .contains("No formula differs. 3 formulas are the same."),
        "{}",
        ran.stdout
    );
}

/// 30 g and 20 g are 60 % and 40 %; 24 g and 20 g are 54.54… % and 45.45… %; of 2 g in a cup that is 1.2 g and 1.0909… g.
#[test]
fn amounts_shares_and_doses_are_compared() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   24 g");
    let all = differences(&barn, &[]);
    assert_eq!(names(&all), [("changed".to_owned(), "throat tea".to_owned())]);
    let tea = formula(&all, "throat tea");
    let sage = &tea["ingredients"][0];
    assert_eq!(sage["by_grams"], "-6");
    assert_eq!(sage["was"]["share"], "60");
    assert_eq!(sage["is"]["share"], "54.545455");
    assert_eq!(tea["total"]["was"]["grams"]["nominal"], "50");
    assert_eq!(tea["total"]["is"]["grams"]["nominal"], "44");
    let herb = tea["herbs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["herb"] == "sage leaf")
        .unwrap();
    assert_eq!(herb["at_once"]["was"]["nominal"], "1.2");
    assert!(
        herb["at_once"]["is"]["nominal"]
            .as_str()
            .unwrap()
            .starts_with("1.0909"),
        "{herb}"
    );
    assert_eq!(herb["a_day"]["was"]["nominal"], "3.6");
    assert_eq!(tea["own_lines_differ"], true);
    assert_eq!(tea["because"].as_array().unwrap().len(), 0);
    let said = barn.run(&["compare"]);
    said.status(1);
    for wanted in [
        "30 g",
        "24 g",
        "-6 g",
        "1.2 g",
        "1.09 g",
        "In an emergency call for help.",
    ] {
        assert!(said.stdout.contains(wanted), "{wanted}\n{}", said.stdout);
    }
}

/// A spoon of sage weighed again moves what is spooned, and only that: 4 × 1.5 g = 6 g, 4 × 1.8 g = 7.2 g.
#[test]
fn the_cause_is_named_when_it_lies_in_a_herb() {
    let barn = barn();
    barn.edit("herbs.scruple", "teaspoon   1.5 g", "teaspoon   1.8 g");
    let all = differences(&barn, &[]);
    assert_eq!(names(&all), [("changed".to_owned(), "spooned tea".to_owned())]);
    let tea = formula(&all, "spooned tea");
    assert_eq!(tea["own_lines_differ"], false);
    assert_eq!(tea["ingredients"][0]["by_grams"], "1.2");
    assert_eq!(tea["because"][0], "herb sage leaf: teaspoon is 1.8 g, was 1.5 g");
    let said = barn.run(&["compare"]).stdout;
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("Its own lines are the same, but herb sage leaf: teaspoon is 1.8 g, was 1.5 g."),
        "{said}"
    );
}

#[test]
fn a_cause_in_an_inner_formula_and_in_the_practice_is_named() {
    let barn = barn();
    barn.write(
        "more.scruple",
        "formula double tea\n  take\n    throat tea   10 g\n    plantain leaf   1 teaspoon\n",
    );
    barn.commit("2026-09-11", "a blend of a blend");
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   24 g");
    let all = differences(&barn, &[]);
    let tea = formula(&all, "double tea");
    assert_eq!(tea["own_lines_differ"], false);
    assert_eq!(tea["because"][0], "throat tea, which it takes or adapts, changed");
    // 10 g of it held 6 g of sage, and hold 10 × 24/44 g now.
    let sage = tea["within"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["herb"] == "sage leaf")
        .unwrap();
    assert_eq!(sage["was"]["nominal"], "6");
    assert!(
        sage["is"]["nominal"].as_str().unwrap().starts_with("5.4545454"),
        "{sage}"
    );
    barn.commit("2026-09-12", "less sage");
    barn.edit("practice.scruple", "teaspoon   5 ml", "teaspoon   6 ml");
    barn.edit(
        "herbs.scruple",
        "plantain leaf\n  teaspoon   0.8 g",
        "plantain leaf\n  tablespoon   2.4 g",
    );
    let all = differences(&barn, &[]);
    let because = formula(&all, "spooned tea")["because"].clone();
    assert!(
        because
            .as_array()
            .unwrap()
            .iter()
            .any(|one| one == "practice: teaspoon is 6 ml, was 5 ml"),
        "{because}"
    );
}

#[test]
fn what_came_went_and_was_renamed() {
    let barn = barn();
    barn.edit("teas.scruple", "formula plain tea", "formula evening tea")
        .edit(
            "teas.scruple",
            "formula spooned tea\n  take\n    sage leaf   4 teaspoons\n    plantain leaf   5 teaspoons\n\n",
            "",
        )
        .write(
            "new.scruple",
            "formula new tea\n  take\n    thyme herb   1 g\n    sage leaf   2 g\n    plantain leaf   3 g\n",
        );
    let all = differences(&barn, &[]);
    assert_eq!(
        names(&all),
        [
            ("renamed", "evening tea"),
            ("added", "new tea"),
            ("left out", "spooned tea")
        ]
        .map(|(a, b)| (a.to_owned(), b.to_owned()))
    );
    assert_eq!(formula(&all, "evening tea")["former_name"], "plain tea");
}

/// Spacing, comments, another file, another order of entries: the same meaning.
#[test]
fn moving_and_spacing_and_comments_are_no_difference() {
    let barn = barn();
    barn.remove("teas.scruple").write(
        "deeper/other.scruple",
        &format!(
            "# moved\n{}",
            TEAS.replace("   ", "     ")
                .replace("20 g\n", "20 g   # by the jar\n")
        ),
    );
    barn.run(&["compare"]).status(0);
}

#[test]
fn cautions_that_come_and_go_are_said() {
    let barn = barn();
    barn.edit("teas.scruple", "thyme herb   10 g", "sage leaf   10 g");
    let all = differences(&barn, &[]);
    let come = formula(&all, "plain tea")["cautions_come"].clone();
    assert_eq!(
        (come[0]["level"].as_str(), come[0]["topic"].as_str()),
        (Some("avoid"), Some("pregnancy"))
    );
    barn.commit("2026-09-12", "sage for thyme");
    barn.edit("herbs.scruple", "avoid   pregnancy   source book\n", "\n");
    let all = differences(&barn, &[]);
    for tea in ["plain tea", "throat tea", "spooned tea"] {
        assert_eq!(
            formula(&all, tea)["cautions_gone"][0]["topic"],
            "pregnancy",
            "{tea}"
        );
    }
}

#[test]
fn directions_are_compared_word_by_word() {
    let barn = barn();
    barn.edit("teas.scruple", "1 cup, up to 3 a day", "1 cup, twice a day");
    let said = barn.run(&["compare"]).stdout;
    assert!(said.contains("sign was   1 cup, [up to 3] a day"), "{said}");
    assert!(said.contains("sign is    1 cup, [twice] a day"), "{said}");
}

#[test]
fn figures_withheld_by_a_slip_are_not_called_nothing() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   30 gg");
    let ran = barn.run(&["compare"]);
    ran.status(1);
    assert!(
        ran.stdout.contains("an error withholds the figures now"),
        "{}",
        ran.stdout
    );
    assert!(ran.stdout.contains("new error"), "{}", ran.stdout);
}

#[test]
fn months_and_days_are_as_the_ledger_stood_when_they_ended() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   29 g");
    barn.commit("2026-09-30", "late in September");
    barn.edit("teas.scruple", "sage leaf   29 g", "sage leaf   28 g");
    barn.commit("2026-10-01", "early in October");
    let by = |from: &str, to: &str| -> String {
        let all = differences(&barn, &["--from", from, "--to", to]);
        all["formulas"][0]["ingredients"][0]["by_grams"]
            .as_str()
            .unwrap_or("the same")
            .to_owned()
    };
    assert_eq!(by("2026-09", "2026-10"), "-1");
    assert_eq!(by("2026-09-29", "2026-09-30"), "-1");
    assert_eq!(by("2026-09-29", "2026-10"), "-2");
    assert_eq!(by("2026-09-30", "2026-09-30"), "the same");
    assert_eq!(by("HEAD~2", "HEAD"), "-2");
    assert_eq!(by("2026-09-10", "now"), "-2");
    // Noon in Greenwich is already the next day in Kiritimati.
    let ran = barn
        .sandbox
        .command(["compare", "--from", "2026-09-30", "--to", "now", "--as", "json"]);
    let there = json(&ran.environment("TZ", "Pacific/Kiritimati").run());
    assert_eq!(there["formulas"][0]["ingredients"][0]["by_grams"], "-2");
}

#[test]
fn a_time_before_the_first_commit_is_refused_and_a_shallow_clone_says_so() {
    let barn = barn();
    barn.edit("teas.scruple", "30 g", "31 g");
    barn.commit("2026-10-02", "more");
    let ran = barn.run(&["compare", "--from", "2025"]);
    ran.status(2);
    let said = "scruple: the first commit of this ledger is of 2026-09-10, after the end of 2025\n  help: name a later date";
    assert!(ran.stderr.starts_with(said), "{}", ran.stderr);
}

#[test]
fn a_shallow_clone_a_bare_one_and_a_linked_tree() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   31 g");
    barn.commit("2026-10-02", "more");
    let other = Sandbox::new();
    let from = format!("file://{}", barn.sandbox.path().display());
    for arguments in [
        &["clone", "--quiet", "--depth", "1", &from, "shallow"][..],
        &["clone", "--quiet", "--bare", &from, "bare"][..],
    ] {
        let (fine, said) = git_in(other.path(), arguments, &[]);
        assert!(fine, "{said}");
    }
    let shallow = other
        .command(["compare", "--from", "2026-09", "--in", "shallow"])
        .environment("TZ", "UTC")
        .run();
    shallow.status(2);
    assert!(
        shallow.stderr.contains("it is a shallow clone") && shallow.stderr.contains("git fetch --unshallow"),
        "{}",
        shallow.stderr
    );
    other.run(["compare", "--in", "shallow"]).status(0);
    let mirror = other
        .command([
            "compare", "--from", "2026-09", "--to", "HEAD", "--in", "bare", "--as", "json",
        ])
        .environment("TZ", "UTC")
        .run();
    assert_eq!(json(&mirror)["formulas"][0]["ingredients"][0]["by_grams"], "1");
}

#[test]
fn a_ledger_below_the_top_of_the_repository_is_found_where_it_lay() {
    let barn = Repository::new();
    for (path, text) in [
        ("practice.scruple", PRACTICE),
        ("herbs.scruple", HERBS),
        ("teas.scruple", TEAS),
    ] {
        barn.write(&format!("old place/{path}"), text);
    }
    barn.commit("2026-09-10", "first");
    barn.git(&["mv", "old place", "new"]);
    barn.edit("new/teas.scruple", "sage leaf   30 g", "sage leaf   33 g");
    barn.commit("2026-10-10", "moved");
    let all = differences(&barn, &["--in", "new", "--from", "2026-09"]);
    assert_eq!(names(&all), [("changed".to_owned(), "throat tea".to_owned())]);
    assert_eq!(all["formulas"][0]["ingredients"][0]["by_grams"], "3");
}

#[test]
fn without_git_without_a_repository_and_without_a_commit() {
    let plain = Sandbox::new()
        .file("practice.scruple", PRACTICE)
        .file("a.scruple", HERBS);
    let ran = plain.run(["compare"]);
    ran.status(2);
    assert!(ran.stderr.contains("lies in no git repository"), "{}", ran.stderr);
    let ran = plain.command(["compare"]).environment("PATH", "/nowhere").run();
    ran.status(2);
    assert!(ran.stderr.contains("git is not installed"), "{}", ran.stderr);
    // Everything else still works.
    plain
        .command(["check"])
        .environment("PATH", "/nowhere")
        .run()
        .status(0);
    let fresh = Repository::new();
    fresh.write("practice.scruple", PRACTICE);
    let ran = fresh.run(&["compare"]);
    ran.status(2);
    assert!(
        ran.stderr.contains("nothing has been committed yet"),
        "{}",
        ran.stderr
    );
}

#[test]
fn folders_and_files_are_compared_without_git() {
    let place = Sandbox::new()
        .file("a/practice.scruple", PRACTICE)
        .file("a/herbs.scruple", HERBS)
        .file("a/teas.scruple", TEAS)
        .file("b/practice.scruple", PRACTICE)
        .file("b/herbs.scruple", HERBS)
        .file(
            "b/teas.scruple",
            TEAS.replace("sage leaf   30 g", "sage leaf   35 g"),
        )
        .file(
            "older.scruple",
            TEAS.replace("sage leaf   30 g", "sage leaf   20 g"),
        );
    let by = |arguments: &[&str]| {
        let mut all = vec!["compare", "--as", "json", "--in", "a"];
        all.extend(arguments);
        let value = json(&place.run(&all));
        assert_eq!(value["formulas"].as_array().unwrap().len(), 1, "{value:#}");
        value["formulas"][0]["ingredients"][0]["by_grams"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    assert_eq!(by(&["--from", "a", "--to", "b"]), "5");
    assert_eq!(by(&["--from", "b"]), "-5");
    assert_eq!(by(&["--from", "older.scruple"]), "10");
}

#[test]
fn one_formula_alone() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   24 g")
        .edit("teas.scruple", "plantain leaf   10 g", "plantain leaf   11 g");
    let all = differences(&barn, &["Throat Tea"]);
    assert_eq!(names(&all), [("changed".to_owned(), "throat tea".to_owned())]);
    barn.run(&["compare", "spooned tea"]).status(0);
    let ran = barn.run(&["compare", "throt tea"]);
    ran.status(2);
    assert!(
        ran.stderr.contains("did you mean \"throat tea\"?"),
        "{}",
        ran.stderr
    );
}

#[test]
fn a_name_that_means_two_things_is_refused() {
    let barn = barn();
    barn.git(&["branch", "spring"]);
    barn.write("spring/practice.scruple", PRACTICE);
    let ran = barn.run(&["compare", "--from", "spring"]);
    ran.status(2);
    assert!(
        ran.stderr
            .contains("is a revision of the ledger, and there is a file or folder of that name"),
        "{}",
        ran.stderr
    );
    barn.run(&["compare", "--from", "refs/heads/spring"]).status(0);
    for odd in ["--output=x", "-1", "HEAD..HEAD", "", "\u{1b}[31m", "a\nb"] {
        let ran = barn.run(&["compare", &format!("--from={odd}")]);
        ran.status(2);
    }
    assert!(!barn.sandbox.path().join("x").exists());
}

/// What stands in a commit may be hostile, and what a file was called, too.
#[cfg(unix)]
#[test]
fn hostile_commits_are_read_and_escaped() {
    let barn = barn();
    std::os::unix::fs::symlink("../../../etc/passwd", barn.sandbox.path().join("link.scruple")).unwrap();
    std::os::unix::fs::symlink("teas.scruple", barn.sandbox.path().join("again.scruple")).unwrap();
    barn.write(
        "new\nline \u{1b}[31m.scruple",
        "formula odd tea\n  take\n    sage leaf   1 g\n    thyme herb   2 g\n",
    );
    barn.commit("2026-09-12", "evil \u{1b}]0;title\u{7} \u{202e}message");
    barn.remove("link.scruple").remove("again.scruple");
    let ran = barn.run(&["compare"]);
    assert!(ran.status < 2, "{}", ran.stderr);
    let ran = barn.run(&["compare", "--from", "2026-09-11", "--to", "HEAD", "odd tea"]);
    ran.status(1);
    assert!(ran.stdout.contains("odd tea, added"), "{}", ran.stdout);
}

#[test]
fn a_damaged_repository_is_told_and_nothing_is_made_up() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf   30 g", "sage leaf   31 g");
    let blob = barn.git(&["rev-parse", "HEAD:teas.scruple"]);
    let path = barn
        .sandbox
        .path()
        .join(".git/objects")
        .join(&blob[..2])
        .join(&blob[2..]);
    std::fs::remove_file(path).unwrap();
    let ran = barn.run(&["compare"]);
    ran.status(1);
    let said = ran.stdout.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("`teas.scruple` is left out: git does not have its content here"),
        "{said}"
    );
}
