//! Git as people use it, with the real git: set up and taken away, differences, merges, commits.

use std::path::Path;

use super::repository::{PRACTICE, Repository, git_in};
use super::sandbox::Ran;

const HERBS: &str = "herb sage leaf\n  teaspoon   1.5 g\n\nherb thyme herb\n  teaspoon   1 g\n\nherb plantain leaf\n  teaspoon   0.8 g\n\n\
    herb mallow flower\n  teaspoon   0.5 g\n";

const TEAS: &str = "formula throat tea\n  take\n    sage leaf        30 g\n    thyme herb       20 g\n    plantain leaf    10 g\n  \
    sign         1 cup in the evening\n\n\
    # for the spring\nformula plain tea\n  take\n    thyme herb       10 g\n    plantain leaf    10 g\n";

/// A ledger in git, below a folder of the repository; nothing is set up yet.
fn barn_below(folder: &str) -> Repository {
    let barn = Repository::new();
    barn.write(&format!("{folder}practice.scruple"), PRACTICE)
        .write(&format!("{folder}herbs.scruple"), HERBS)
        .write(&format!("{folder}teas.scruple"), TEAS);
    barn.commit("2026-09-10", "first teas");
    barn
}

/// A ledger at the top of its repository, for which git is set up.
fn barn() -> Repository {
    let barn = barn_below("");
    barn.run(&["git"]).status(0).stderr("");
    barn.commit("2026-09-11", "attributes");
    barn
}

fn read(barn: &Repository, path: &str) -> String {
    std::fs::read_to_string(barn.sandbox.path().join(path)).unwrap()
}

fn teas(barn: &Repository) -> String {
    read(barn, "teas.scruple")
}

/// Everything below the repository but what git stores and notes of its own.
fn all_files(barn: &Repository) -> Vec<(String, Vec<u8>)> {
    barn.sandbox
        .files()
        .into_iter()
        .filter(|(name, _)| {
            !name.starts_with(".git/") || name == ".git/config" || name.starts_with(".git/hooks/")
        })
        .collect()
}

/// Changes on a branch and on main, merged: whether git was content, and what it said.
fn merged(barn: &Repository, theirs: &[(&str, &str)], ours: &[(&str, &str)]) -> (bool, String) {
    barn.git(&["checkout", "--quiet", "-b", "topic"]);
    for (from, to) in theirs {
        barn.edit("teas.scruple", from, to);
    }
    barn.commit("2026-09-12", "theirs");
    barn.git(&["checkout", "--quiet", "main"]);
    for (from, to) in ours {
        barn.edit("teas.scruple", from, to);
    }
    barn.commit("2026-09-13", "ours");
    merge(barn)
}

fn merge(barn: &Repository) -> (bool, String) {
    let output = std::process::Command::new("git")
        .args(["merge", "--no-edit", "topic"])
        .current_dir(barn.sandbox.path())
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .envs([
            ("GIT_AUTHOR_NAME", "The Barn"),
            ("GIT_AUTHOR_EMAIL", "barn@example.org"),
        ])
        .envs([
            ("GIT_COMMITTER_NAME", "The Barn"),
            ("GIT_COMMITTER_EMAIL", "barn@example.org"),
        ])
        .env("LC_ALL", "C")
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(said).unwrap())
}

fn try_commit(folder: &Path, more: &[&str]) -> (bool, String) {
    let mut arguments = vec!["commit", "--quiet", "--message", "next"];
    arguments.extend(more);
    git_in(folder, &arguments, &[])
}

// ---- setting up and taking away -----------------------------------------------------------------

#[test]
fn what_is_set_up_can_be_shown_first_and_taken_away_to_the_byte() {
    for folder in ["", "our ledger's/of the barn/"] {
        let barn = barn_below(folder);
        let inside = if folder.is_empty() { "." } else { folder };
        for before in [None, Some("*.png binary\n"), Some("*.png binary"), Some("")] {
            if let Some(text) = before {
                barn.write(&format!("{folder}.gitattributes"), text);
            }
            let untouched = all_files(&barn);
            let shown = barn.command(&["git", "--show"]).below(inside).columns(400).run();
            shown.status(0).stderr("");
            let words: Vec<&str> = shown.stdout.split_whitespace().collect();
            let at = words.iter().position(|word| *word == "`*.scruple");
            assert!(
                at.is_some_and(|at| words[at + 1] == "diff=scruple"),
                "{}",
                shown.stdout
            );
            assert_eq!(all_files(&barn), untouched, "showing writes nothing");

            let first = barn.command(&["git"]).below(inside).run();
            first.status(0).stderr("");
            let set_up = all_files(&barn);
            assert_ne!(set_up, untouched);
            let second = barn.command(&["git"]).below(inside).run();
            second.status(0).stderr("");
            assert!(second.stdout.contains("set up already"), "{}", second.stdout);
            assert_eq!(all_files(&barn), set_up, "a second time changes nothing");

            barn.command(&["git", "--remove"])
                .below(inside)
                .run()
                .status(0)
                .stderr("");
            assert_eq!(all_files(&barn), untouched, "{folder:?} {before:?}");
            let again = barn.command(&["git", "--remove"]).below(inside).run();
            again.status(0);
            assert!(
                again.stdout.contains("nothing was taken away"),
                "{}",
                again.stdout
            );
        }
    }
}

#[test]
fn two_ledgers_of_one_repository_come_and_go_by_themselves() {
    let barn = barn_below("teas/");
    barn.write("salves/practice.scruple", PRACTICE)
        .write("salves/herbs.scruple", HERBS);
    barn.commit("2026-09-11", "salves");
    let none = all_files(&barn);
    barn.run(&["git", "--in", "teas"]).status(0);
    let one = all_files(&barn);
    barn.run(&["git", "--in", "salves"]).status(0);
    barn.run(&["git", "--remove", "--in", "salves"]).status(0);
    assert_eq!(all_files(&barn), one);
    barn.run(&["git", "--remove", "--in", "teas"]).status(0);
    assert_eq!(all_files(&barn), none);
}

#[test]
fn somebody_elses_hook_stays_and_the_line_for_it_is_said() {
    let barn = barn_below("");
    barn.write(".git/hooks/pre-commit", "#!/bin/sh\necho mine\n");
    let ran = barn.command(&["git"]).columns(400).run();
    ran.status(0);
    assert!(ran.stdout.contains("For you to do by hand"), "{}", ran.stdout);
    assert!(
        ran.stdout
            .contains("check --staged --let-warnings-pass --in './'"),
        "{}",
        ran.stdout
    );
    assert_eq!(read(&barn, ".git/hooks/pre-commit"), "#!/bin/sh\necho mine\n");
    barn.run(&["git", "--remove"]).status(0);
    assert_eq!(read(&barn, ".git/hooks/pre-commit"), "#!/bin/sh\necho mine\n");
}

#[test]
fn hooks_that_are_managed_elsewhere_stay_as_they_are() {
    let barn = barn_below("");
    barn.git(&["config", "core.hooksPath", "their-hooks"]);
    let ran = barn.command(&["git"]).columns(400).run();
    ran.status(0);
    assert!(ran.stdout.contains("core.hooksPath"), "{}", ran.stdout);
    assert!(!barn.sandbox.path().join("their-hooks").exists());
    assert!(!barn.sandbox.path().join(".git/hooks/pre-commit").exists());
}

#[test]
fn a_setting_of_somebody_else_stays() {
    let barn = barn_below("");
    barn.git(&["config", "diff.scruple.textconv", "their own"]);
    let ran = barn.command(&["git"]).columns(400).run();
    ran.status(0);
    assert!(ran.stdout.contains("`their own` and stays so"), "{}", ran.stdout);
    barn.run(&["git", "--remove"]).status(0);
    assert_eq!(barn.git(&["config", "diff.scruple.textconv"]), "their own");
}

#[test]
fn no_repository_and_a_bare_one_are_refused() {
    let lone = super::sandbox::Sandbox::new().file("practice.scruple", PRACTICE);
    let ran = lone
        .command(["git"])
        .environment(
            "GIT_CEILING_DIRECTORIES",
            lone.path().parent().unwrap().to_str().unwrap(),
        )
        .run();
    ran.status(2);
    assert!(ran.stderr.contains("lies in no git repository"), "{}", ran.stderr);
    let bare = super::sandbox::Sandbox::new().file("practice.scruple", PRACTICE);
    assert!(git_in(bare.path(), &["init", "--quiet", "--bare"], &[]).0);
    let ran = bare.run(["git"]);
    ran.status(2);
    assert!(ran.stderr.contains("bare repository"), "{}", ran.stderr);
}

#[test]
fn a_linked_working_copy_shares_settings_and_hook() {
    let barn = barn_below("ledger/");
    barn.git(&["worktree", "add", "--quiet", "-b", "side", "side"]);
    barn.run(&["git", "--in", "side/ledger"]).status(0).stderr("");
    assert!(barn.sandbox.path().join(".git/hooks/pre-commit").exists());
    let side = barn.sandbox.path().join("side");
    barn.edit("side/ledger/teas.scruple", "30 g", "30,5 g");
    assert!(git_in(&side, &["add", "--all"], &[]).0);
    let (fine, said) = try_commit(&side, &[]);
    assert!(!fine && said.contains("comma-in-a-number"), "{said}");
    barn.edit("side/ledger/teas.scruple", "30,5 g", "30.5 g");
    assert!(git_in(&side, &["add", "--all"], &[]).0);
    let (fine, said) = try_commit(&side, &[]);
    assert!(fine, "{said}");
}

// ---- differences --------------------------------------------------------------------------------

#[test]
fn a_difference_shows_what_the_lines_mean() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf        30 g", "sage leaf     20 g");
    let shown = barn.git(&["diff"]);
    // 30 of 60 g are 50 %, 20 of 50 g are 40 %.
    for line in [
        "-    sage leaf                     30 g",
        "-  = takes 60 g in all",
        "-  = sage leaf: 30 g, 50 %",
        "+    sage leaf                     20 g",
        "+  = takes 50 g in all",
        "+  = sage leaf: 20 g, 40 %",
    ] {
        assert!(shown.lines().any(|shown| shown == line), "{line}\n{shown}");
    }
    barn.git(&["checkout", "--quiet", "."]);
    barn.edit(
        "teas.scruple",
        "sage leaf        30 g",
        "sage leaf                  30 g",
    );
    assert_eq!(
        barn.git(&["diff"])
            .lines()
            .filter(|line| line.starts_with(['+', '-']))
            .count(),
        0
    );
}

#[test]
fn a_difference_obeys_nothing_that_stands_in_a_file() {
    let barn = barn();
    barn.edit(
        "teas.scruple",
        "1 cup in the evening",
        "1 cup \u{1b}[2J\u{202e} early",
    );
    let shown = barn.git(&["diff"]);
    assert!(shown.contains("\\u{1b}[2J\\u{202e}"), "{shown}");
    assert!(!shown.contains('\u{1b}') && !shown.contains('\u{202e}'));
}

// ---- merges -------------------------------------------------------------------------------------

#[test]
fn changes_to_different_formulas_merge_and_it_is_said() {
    let barn = barn();
    let (fine, said) = merged(
        &barn,
        &[("30 g", "25 g")],
        &[("thyme herb       10 g", "thyme herb       12 g")],
    );
    assert!(fine, "{said}");
    assert!(
        said.contains("we changed formula plain tea; they changed formula throat tea"),
        "{said}"
    );
    assert_eq!(
        teas(&barn),
        TEAS.replace("30 g", "25 g")
            .replace("thyme herb       10 g", "thyme herb       12 g")
    );
}

#[test]
fn changes_to_different_lines_of_one_formula_merge_and_stop() {
    let barn = barn();
    let (fine, said) = merged(&barn, &[("30 g", "25 g")], &[("20 g", "22 g")]);
    assert!(!fine, "a formula that neither wrote needs a person: {said}");
    assert!(said.contains("two people changed formula throat tea"), "{said}");
    let looked_for = TEAS.replace("30 g", "25 g").replace("20 g", "22 g");
    let mark = "# merged: two people changed this formula; look at it before you use it\n";
    assert_eq!(teas(&barn), format!("{mark}{looked_for}"));
    assert!(barn.git(&["status", "--short"]).contains("UU teas.scruple"));
    // The person looks, takes the comment out, and commits.
    barn.write("teas.scruple", &looked_for);
    barn.git(&["add", "teas.scruple"]);
    let (fine, said) = try_commit(barn.sandbox.path(), &[]);
    assert!(fine, "{said}");
}

#[test]
fn a_line_that_both_changed_stands_twice_between_marks() {
    let barn = barn();
    let (fine, said) = merged(&barn, &[("30 g", "25 g")], &[("30 g", "35 g")]);
    assert!(!fine);
    assert!(said.contains("one place was changed by both"), "{said}");
    assert_eq!(
        teas(&barn),
        TEAS.replace(
            "    sage leaf        30 g\n",
            "<<<<<<< ours\n    sage leaf        35 g\n=======\n    sage leaf        25 g\n>>>>>>> theirs\n"
        )
    );
    let ran = barn.run(&["check"]);
    ran.status(1);
    assert!(ran.stdout.contains("merge-conflict-marks"), "{}", ran.stdout);
    // Neither version is weighed as if nothing were the matter.
    let ran = barn.run(&["weigh", "throat tea"]);
    ran.status(1);
    assert!(!ran.stdout.contains("to make"), "{}", ran.stdout);
    barn.git(&["add", "teas.scruple"]);
    let (fine, said) = try_commit(barn.sandbox.path(), &[]);
    assert!(!fine && said.contains("merge-conflict-marks"), "{said}");
}

#[test]
fn a_formula_taken_out_by_one_and_changed_by_the_other_is_not_lost() {
    let barn = barn();
    let (at, _) = TEAS.match_indices("\n# for the spring").next().unwrap();
    let plain = TEAS[at..].to_owned();
    let (fine, said) = merged(
        &barn,
        &[(&plain, "")],
        &[("thyme herb       10 g", "thyme herb       12 g")],
    );
    assert!(!fine, "{said}");
    let text = teas(&barn);
    assert!(text.contains("<<<<<<< ours\nformula plain tea"), "{text}");
    assert!(text.contains("thyme herb       12 g"), "{text}");
}

#[test]
fn two_new_formulas_at_the_end_both_stand() {
    let barn = barn();
    let end = "    plantain leaf    10 g\n";
    let last = TEAS.rfind(end).unwrap();
    let with = |more: &str| format!("{}\n{more}", &TEAS[..last + end.len()]);
    barn.git(&["checkout", "--quiet", "-b", "topic"]);
    barn.write(
        "teas.scruple",
        &with("formula third tea\n  take\n    sage leaf   5 g\n"),
    );
    barn.commit("2026-09-12", "theirs");
    barn.git(&["checkout", "--quiet", "main"]);
    barn.write(
        "teas.scruple",
        &with("formula fourth tea\n  take\n    thyme herb   5 g\n"),
    );
    barn.commit("2026-09-13", "ours");
    let (fine, said) = merge(&barn);
    assert!(fine, "{said}");
    assert_eq!(
        teas(&barn),
        with(
            "formula fourth tea\n  take\n    thyme herb   5 g\n\nformula third tea\n  take\n    sage leaf   5 g\n"
        )
    );
}

#[test]
fn what_can_not_be_read_is_merged_by_lines_and_never_quietly() {
    let barn = barn();
    barn.edit("teas.scruple", "10 g\n  sign", "10,5 g\n  sign");
    barn.git(&["add", "--all"]);
    let (fine, said) = try_commit(barn.sandbox.path(), &["--no-verify"]);
    assert!(fine, "{said}");
    barn.git(&["config", "core.hooksPath", "/dev/null"]);
    let (fine, said) = merged(
        &barn,
        &[("sage leaf        30 g", "sage leaf        25 g")],
        &[("    plantain leaf    10 g\n", "    plantain leaf    11 g\n")],
    );
    assert!(!fine);
    assert!(said.contains("merged line by line"), "{said}");
    let text = teas(&barn);
    assert!(text.starts_with("# merged line by line"), "{text}");
    assert!(text.contains("25 g") && text.contains("11 g"), "{text}");
}

// ---- commits ------------------------------------------------------------------------------------

#[test]
fn a_commit_with_errors_is_stopped_and_one_with_warnings_is_not() {
    let barn = barn();
    let top = barn.sandbox.path();
    barn.edit("teas.scruple", "sage leaf        30 g", "sagge leaf        30 g");
    // What lies in the folder is not what is committed.
    barn.write("notes.txt", "nothing of the ledger");
    barn.git(&["add", "notes.txt"]);
    let (fine, said) = try_commit(top, &[]);
    assert!(fine, "{said}");
    barn.git(&["add", "teas.scruple"]);
    barn.write("teas.scruple", TEAS);
    let (fine, said) = try_commit(top, &[]);
    assert!(!fine);
    assert!(
        said.contains("unknown-name") && said.contains("--no-verify"),
        "{said}"
    );
    let (fine, said) = try_commit(top, &["--no-verify"]);
    assert!(fine, "{said}");
    // Back to what is sound, but for a line that only warns.
    barn.edit(
        "teas.scruple",
        "1 cup in the evening",
        "1 cup in the evening   source nobody",
    );
    barn.git(&["add", "--all"]);
    let warned: Ran = barn.run(&["check", "--staged"]);
    warned.status(1);
    assert!(warned.stdout.contains("source-not-declared"), "{}", warned.stdout);
    let (fine, said) = try_commit(top, &[]);
    assert!(fine, "{said}");
}

#[test]
fn a_commit_of_named_files_is_checked_as_it_will_be() {
    let barn = barn();
    barn.edit("teas.scruple", "sage leaf        30 g", "sagge leaf        30 g");
    let (fine, said) = try_commit(barn.sandbox.path(), &["teas.scruple"]);
    assert!(!fine && said.contains("unknown-name"), "{said}");
    let (fine, said) = try_commit(barn.sandbox.path(), &["--all"]);
    assert!(!fine && said.contains("unknown-name"), "{said}");
}

// ---- what a branch changes ----------------------------------------------------------------------

#[test]
fn a_branch_is_compared_with_where_it_left_and_told_in_markdown() {
    let barn = barn();
    barn.git(&["checkout", "--quiet", "-b", "topic"]);
    barn.edit("teas.scruple", "30 g", "25 g")
        .edit("teas.scruple", "in the evening", "for @somebody | <b>");
    barn.commit("2026-09-12", "less sage");
    barn.git(&["checkout", "--quiet", "main"]);
    barn.edit("teas.scruple", "thyme herb       10 g", "thyme herb       12 g");
    barn.commit("2026-09-13", "more thyme");
    barn.git(&["checkout", "--quiet", "topic"]);
    let ran = barn.run(&["compare", "--from", "main...", "--to", "HEAD", "--as", "markdown"]);
    ran.status(1).stderr("");
    for text in [
        "# From where this branch left main (2026-09-11, attributes) to HEAD",
        "## throat tea, changed",
        "| sage leaf | 30 g | 25 g | -5 g | 50 % | 45.5 % |",
        "| :--- | :--- | :--- | ---: | ---: | ---: |",
        "@<!-- -->somebody",
        "\\<b\\>",
    ] {
        assert!(ran.stdout.contains(text), "{text}\n{}", ran.stdout);
    }
    assert!(
        !ran.stdout.contains("plain tea"),
        "what main changed since is not the branch's: {}",
        ran.stdout
    );
    let named = barn.run(&["compare", "--from", "main...topic", "--to", "topic"]);
    named.status(1);
    assert!(named.stdout.contains("where topic left main"), "{}", named.stdout);
    barn.run(&["compare", "--from", "nowhere..."]).status(2);
    let found = barn.run(&["check", "--as", "markdown"]);
    assert!(found.stdout.starts_with("# What check finds"), "{}", found.stdout);
}

#[test]
fn what_is_staged_is_a_revision() {
    let barn = barn();
    barn.edit("teas.scruple", "30 g", "25 g");
    barn.git(&["add", "--all"]);
    barn.edit("teas.scruple", "25 g", "40 g");
    let ran = barn.run(&["compare", "--to", "staged"]);
    ran.status(1);
    assert!(
        ran.stdout.contains("25 g") && !ran.stdout.contains("40 g"),
        "{}",
        ran.stdout
    );
}

// ---- what a hostile reader tried ----------------------------------------------------------------

/// What one side changed in one file may bear on what the other changed in another; git merges the two
/// files without asking anybody.
#[test]
fn a_merge_across_files_says_which_formulas_nobody_had_so() {
    let barn = barn();
    barn.edit(
        "teas.scruple",
        "thyme herb       10 g",
        "thyme herb       10 teaspoons",
    );
    barn.commit("2026-09-11", "by the spoon");
    barn.git(&["checkout", "--quiet", "-b", "topic"]);
    barn.edit("herbs.scruple", "teaspoon   1 g", "teaspoon   2 g");
    barn.commit("2026-09-12", "weighed again");
    barn.git(&["checkout", "--quiet", "main"]);
    barn.edit("teas.scruple", "10 teaspoons", "12 teaspoons");
    barn.commit("2026-09-13", "more thyme");
    let (fine, said) = merge(&barn);
    assert!(fine, "{said}");
    assert!(said.contains("no side had plain tea as it is now"), "{said}");
    assert!(!said.contains("throat tea"), "only what both bear on: {said}");
    // A merge of things that have nothing to do with one another says nothing.
    barn.git(&["checkout", "--quiet", "-B", "topic"]);
    barn.edit("teas.scruple", "sage leaf        30 g", "sage leaf        31 g");
    barn.commit("2026-09-14", "sage");
    barn.git(&["checkout", "--quiet", "main"]);
    barn.edit("herbs.scruple", "teaspoon   0.5 g", "teaspoon   0.6 g");
    barn.commit("2026-09-15", "mallow");
    let (fine, said) = merge(&barn);
    assert!(fine && !said.contains("no side had"), "{said}");
}

#[test]
fn a_staged_formula_that_nobody_has_looked_at_is_warned_of() {
    let barn = barn();
    let (fine, _) = merged(&barn, &[("30 g", "25 g")], &[("20 g", "22 g")]);
    assert!(!fine);
    barn.git(&["add", "teas.scruple"]);
    let ran = barn.run(&["check", "--staged"]);
    ran.status(1).says("merged-and-not-looked-at");
    assert!(
        ran.stderr.contains("no side had throat tea as it is now"),
        "{}",
        ran.stderr
    );
    let text = teas(&barn);
    barn.write("teas.scruple", text.split_once('\n').unwrap().1);
    barn.git(&["add", "teas.scruple"]);
    barn.run(&["check", "--staged"]).status(0);
}

#[test]
fn a_folder_that_begins_with_a_dash_is_shown_and_merged() {
    let barn = barn_below("-d/");
    barn.run(&["git", "--in", "./-d"]).status(0);
    barn.commit("2026-09-11", "attributes");
    barn.git(&["checkout", "--quiet", "-b", "topic"]);
    barn.edit("-d/teas.scruple", "30 g", "25 g");
    let shown = barn.git(&["diff"]);
    assert!(shown.contains("= sage leaf: 25 g"), "{shown}");
    barn.commit("2026-09-12", "theirs");
    barn.git(&["checkout", "--quiet", "main"]);
    barn.edit("-d/teas.scruple", "20 g", "22 g");
    barn.commit("2026-09-13", "ours");
    let (fine, said) = merge(&barn);
    assert!(
        !fine && said.contains("two people changed formula throat tea"),
        "{said}"
    );
    let text = read(&barn, "-d/teas.scruple");
    assert!(text.contains("25 g") && text.contains("22 g"), "{text}");
}

#[test]
fn a_ledger_that_was_moved_is_not_passed_over_in_silence() {
    let barn = barn_below("teas/");
    barn.run(&["git", "--in", "teas"]).status(0);
    barn.commit("2026-09-11", "attributes");
    barn.git(&["mv", "teas", "blends"]);
    let output = std::process::Command::new("git")
        .args(["commit", "--quiet", "--message", "moved"])
        .current_dir(barn.sandbox.path())
        .envs([("GIT_CONFIG_NOSYSTEM", "1"), ("GIT_CONFIG_GLOBAL", "/dev/null")])
        .envs([("GIT_AUTHOR_NAME", "B"), ("GIT_AUTHOR_EMAIL", "b@example.org")])
        .envs([
            ("GIT_COMMITTER_NAME", "B"),
            ("GIT_COMMITTER_EMAIL", "b@example.org"),
        ])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains("there is no ledger in './teas', so nothing was checked there"),
        "{said}"
    );
}

#[test]
fn the_data_of_the_set_up_is_what_its_schema_says() {
    let text = std::fs::read_to_string(super::sandbox::project().join("grammar/git.schema.json")).unwrap();
    let schema = jsonschema::draft202012::new(&serde_json::from_str(&text).unwrap()).unwrap();
    let barn = barn_below("");
    barn.git(&["config", "merge.scruple.name", "somebody else's"]);
    for (more, done, steps) in [
        (&["--show"][..], "shown", true),
        (&[], "set-up", true),
        (&[], "set-up", false),
        (&["--remove"], "taken-away", true),
    ] {
        let mut arguments = vec!["git", "--as", "json"];
        arguments.extend(more);
        let data = barn.run(&arguments).json();
        assert!(schema.is_valid(&data), "{data:#}");
        assert_eq!(data["done"], done);
        assert_eq!(!data["steps"].as_array().unwrap().is_empty(), steps, "{data:#}");
        if done != "taken-away" {
            assert!(
                data["by_hand"][0]["line"]
                    .as_str()
                    .unwrap()
                    .starts_with("git config"),
                "{data:#}"
            );
        }
    }
}
