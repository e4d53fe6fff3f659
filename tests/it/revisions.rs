//! What a hostile reader tried on revisions: figures too small to see, errors on one side, other ledgers
//! in the repository, names that changed, years before git.

use serde_json::Value;

use super::repository::Repository;
use super::sandbox::Ran;

const HERBS: &str = "herb mint\n  teaspoon   1 g\n  avoid   reflux: heartburn\n\nherb sage\n  teaspoon   2 g\n  mind   driving\n";

const TEAS: &str = "formula inner\n  take\n    mint   2 g\n    sage   1 g\n\n\
    formula outer\n  take\n    inner   10 g\n    sage   3 teaspoons\n  dose   1 g, 2 times a day\n";

fn barn() -> Repository {
    let barn = Repository::new();
    barn.write("practice.scruple", "practice\n")
        .write("herbs.scruple", HERBS)
        .write("teas.scruple", TEAS);
    barn.commit("2026-09-10", "first teas");
    barn
}

fn said(barn: &Repository, arguments: &[&str]) -> String {
    // One line, so that where a text is broken makes no difference.
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    words(&barn.run(arguments).stdout)
}

fn data(ran: &Ran) -> Value {
    serde_json::from_str(&ran.stdout).unwrap_or_else(|error| panic!("{error}\n{}", ran.stderr))
}

fn one<'a>(all: &'a Value, name: &str) -> &'a Value {
    let found = all["formulas"].as_array().unwrap().iter();
    found
        .into_iter()
        .find(|one| one["name"] == name)
        .unwrap_or_else(|| panic!("{name} is not in {all:#}"))
}

/// One milligram is a thousandth of a gram: four are no less of a change for being small.
#[test]
fn the_fourfold_of_a_milligram_is_seen_everywhere() {
    let barn = barn();
    barn.edit("teas.scruple", "sage   1 g", "sage   1 mg");
    barn.commit("2026-09-11", "hardly any");
    barn.edit("teas.scruple", "sage   1 mg", "sage   4 mg");
    let compared = said(&barn, &["compare", "inner"]);
    assert!(compared.contains("sage 0.001 g 0.004 g +0.003 g"), "{compared}");
    assert!(!compared.contains(" 0 g"), "{compared}");
    barn.commit("2026-09-12", "four times as much");
    let history = said(&barn, &["history", "inner"]);
    assert!(history.contains("sage 0.004 g, was 0.001 g"), "{history}");
    let shown = said(&barn, &["git", "text", "teas.scruple"]);
    assert!(shown.contains("= sage: 0.004 g"), "{shown}");
}

/// 2 g of a blend of 1 g and 20 micrograms hold 40 micrograms.
#[test]
fn no_dose_is_printed_as_nothing() {
    let barn = barn();
    barn.write(
        "teas.scruple",
        "formula inner\n  take\n    mint   1000 g\n    sage   10 mg\n  dose   2 g, 2 times a day\n",
    );
    let doses = said(&barn, &["doses", "inner"]);
    assert!(doses.contains("sage 0.00002 g"), "{doses}");
}

#[test]
fn what_an_error_hides_has_not_gone() {
    let barn = barn();
    barn.edit("teas.scruple", "mint   2 g", "mint   2,5 g");
    let compared = said(&barn, &["compare"]);
    for wrong in ["caution gone", "left out", "no longer", "-2 g"] {
        assert!(!compared.contains(wrong), "{wrong}: {compared}");
    }
    assert!(
        compared.contains("mint 2 g not there, or not understood"),
        "{compared}"
    );
    assert!(compared.contains("cautions can't be compared"), "{compared}");
    let all = data(&barn.run(&["compare", "--as", "json"]));
    assert_eq!(one(&all, "inner")["ingredients"][1]["by_grams"], Value::Null);
    assert_eq!(one(&all, "outer")["within"].as_array().unwrap().len(), 0);
    barn.commit("2026-09-11", "a comma");
    barn.edit("teas.scruple", "mint   2,5 g", "mint   2.5 g");
    barn.commit("2026-09-12", "mended");
    let history = said(&barn, &["history", "inner"]);
    for wrong in ["caution gone", "new caution", "left out", "mint added"] {
        assert!(!history.contains(wrong), "{wrong}: {history}");
    }
    assert!(
        history.contains("mint 2.5 g, before not there, or not understood"),
        "{history}"
    );
    assert!(
        history.contains("caution now: avoid reflux, mint (heartburn)"),
        "{history}"
    );
}

#[test]
fn a_herb_that_keeps_its_old_name_as_another_one_is_the_same_herb() {
    let barn = barn();
    barn.edit("herbs.scruple", "herb mint\n", "herb peppermint\n  also   mint\n");
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("No formula differs. 2 formulas are the same."),
        "{compared}"
    );
    assert!(
        compared.contains("name was [mint] name is [peppermint]"),
        "{compared}"
    );
    assert!(!compared.contains("caution"), "{compared}");
    // What changed with the name is still found, and its cause is named.
    barn.edit(
        "herbs.scruple",
        "avoid   reflux: heartburn",
        "avoid   reflux: heartburn\n  consult   ulcer",
    );
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("new caution: consult ulcer, peppermint"),
        "{compared}"
    );
    assert!(
        compared.contains("herb peppermint: consult is ulcer, was nothing"),
        "{compared}"
    );
    // A herb that takes the place of another is another one.
    barn.edit("herbs.scruple", "  also   mint\n", "");
    barn.edit("teas.scruple", "mint   2 g", "peppermint   2 g");
    let compared = said(&barn, &["compare", "inner"]);
    assert!(compared.contains("mint 2 g left out"), "{compared}");
}

#[test]
fn a_formula_renamed_inside_another_changes_nothing_in_it() {
    let barn = barn();
    barn.edit("teas.scruple", "inner", "kernel");
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("Renamed: kernel (was inner). 1 formula is the same."),
        "{compared}"
    );
}

/// Of several that could have had another name, the one with the same amounts is it.
#[test]
fn the_closest_former_name_is_taken() {
    let barn = barn();
    let two = |first: &str, second: &str| {
        format!(
            "formula {first}\n  take\n    mint   1 g\n    sage   5 g\n\n\
             formula {second}\n  take\n    mint   10 g\n    sage   20 g\n"
        )
    };
    barn.write(
        "teas.scruple",
        &two("bark tea", "apple tea").replace("5 g", "2 g"),
    );
    barn.commit("2026-09-11", "two teas");
    barn.write("teas.scruple", &two("cellar tea", "dusk tea"));
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("cellar tea (was bark tea), dusk tea (was apple tea)"),
        "{compared}"
    );
}

#[test]
fn of_a_formula_that_is_declared_twice_both_are_compared() {
    let barn = barn();
    let twice = |grams: &str| {
        format!("formula inner\n  take\n    mint   {grams} g\n\nformula inner\n  take\n    sage   1 g\n")
    };
    barn.write("teas.scruple", &twice("2"));
    barn.commit("2026-09-11", "twice");
    barn.write("teas.scruple", &twice("5"));
    let compared = said(&barn, &["compare"]);
    assert!(compared.contains("mint 2 g 5 g"), "{compared}");
}

#[test]
fn a_practice_that_got_a_name_is_the_same_practice_and_a_new_one_is_a_cause() {
    let barn = barn();
    barn.edit("teas.scruple", "3 teaspoons", "3 heaped teaspoons")
        .write("practice.scruple", "practice\n  heaped   2 level spoons\n");
    barn.commit("2026-09-11", "heaped");
    barn.write("practice.scruple", "practice Barn\n  heaped   3 level spoons\n");
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("practice Barn: heaped is 3 level spoons, was 2 level spoons."),
        "{compared}"
    );
    barn.remove("practice.scruple");
    let compared = said(&barn, &["compare"]);
    assert!(
        compared.contains("Its own lines are the same, but practice was left out."),
        "{compared}"
    );
}

#[test]
fn another_order_is_said_and_another_spelling_of_a_name_is_no_change() {
    let barn = barn();
    barn.edit(
        "teas.scruple",
        "mint   2 g\n    sage   1 g",
        "sage   1 g\n    mint   2 g",
    );
    let compared = said(&barn, &["compare", "inner"]);
    assert!(
        compared.contains("Its lines stand in another order."),
        "{compared}"
    );
    let all = data(&barn.run(&["compare", "--as", "json"]));
    assert_eq!(one(&all, "inner")["order_differs"], true);
    barn.git(&["checkout", "--quiet", "."]);
    barn.edit("herbs.scruple", "herb mint", "herb Mint").edit(
        "teas.scruple",
        "formula inner",
        "formula Inner",
    );
    barn.run(&["compare", "Inner"]).status(0);
}

#[test]
fn an_accepted_caution_has_neither_come_nor_gone() {
    let barn = barn();
    barn.edit(
        "teas.scruple",
        "formula inner\n",
        "formula inner\n  accept   reflux: a small cup\n",
    );
    let compared = said(&barn, &["compare", "inner"]);
    assert!(
        compared.contains("caution accepted now: avoid reflux, mint (heartburn); accepted: a small cup"),
        "{compared}"
    );
    assert!(
        !compared.contains("caution gone") && !compared.contains("new caution"),
        "{compared}"
    );
    barn.commit("2026-09-11", "accepted");
    barn.edit("teas.scruple", "  accept   reflux: a small cup\n", "");
    let compared = said(&barn, &["compare", "inner"]);
    assert!(
        compared.contains("caution no longer accepted: avoid reflux, mint"),
        "{compared}"
    );
}

/// An unknown name is reported once in a ledger, where it first stands.
#[test]
fn an_unknown_name_does_not_move_from_one_formula_to_another() {
    let barn = barn();
    barn.write(
        "teas.scruple",
        "formula one\n  take\n    woad   2 g\n\nformula two\n  take\n    woad   3 g\n",
    );
    barn.commit("2026-09-11", "woad");
    barn.edit("teas.scruple", "woad   2 g", "mint   2 g");
    let all = data(&barn.run(&["compare", "--as", "json"]));
    assert_eq!(all["formulas"].as_array().unwrap().len(), 1, "{all:#}");
    assert_eq!(one(&all, "one")["findings_gone"][0]["code"], "unknown-name");
}

const TEA: &str = "herb mint\nherb sage\n\nformula tea\n  take\n    mint   99 g\n    sage   5 g\n";

/// The doses of one ledger are never read as the former doses of another.
#[test]
fn another_ledger_of_the_repository_is_another_ledger() {
    let barn = Repository::new();
    barn.write("low/practice.scruple", "practice Low\n")
        .write("low/teas.scruple", TEA);
    barn.commit("2026-09-10", "low");
    // One without a practice of its own.
    barn.write("loose/teas.scruple", &TEA.replace("99", "10"));
    barn.commit("2026-09-11", "loose");
    barn.run(&["compare", "--in", "loose"]).status(0);
    // One that is newer than the other.
    barn.write("high/practice.scruple", "practice High\n")
        .write("high/teas.scruple", &TEA.replace("99", "10"));
    barn.commit("2026-09-12", "high");
    let compared = said(&barn, &["compare", "--in", "high", "--from", "2026-09-11"]);
    assert!(
        compared.contains("Added: tea.") && !compared.contains("99 g"),
        "{compared}"
    );
    let history = said(&barn, &["history", "tea", "--in", "high"]);
    assert!(history.contains("One revision in 3 commits"), "{history}");
    // One that was moved is the same, also before the move is committed.
    std::fs::rename(barn.sandbox.path().join("high"), barn.sandbox.path().join("hall")).unwrap();
    barn.run(&["compare", "--in", "hall"]).status(0);
}

#[test]
fn years_before_git_and_numbers_beyond_the_calendar_are_refused() {
    let barn = barn();
    for year in ["1960", "1969", "1969-12-31"] {
        let ran = barn.run(&["compare", "--from", year]);
        ran.status(2);
        assert!(
            ran.stderr
                .contains("the first commit of this ledger is of 2026-09-10"),
            "{}",
            ran.stderr
        );
    }
    let ran = barn.run(&["compare", "--from", "60000 years ago"]);
    ran.status(2);
    assert!(ran.stderr.contains("is no date"), "{}", ran.stderr);
    let empty = Repository::new();
    empty.write("teas.scruple", TEA);
    let ran = empty.run(&["compare", "--from", "2020"]);
    ran.status(2);
    assert!(
        ran.stderr.contains("nothing has been committed yet"),
        "{}",
        ran.stderr
    );
}

#[test]
fn a_file_that_cant_be_read_is_told_wherever_it_stands_in_for_others() {
    let barn = barn();
    std::fs::write(barn.sandbox.path().join("old.txt"), b"formula x\xff").unwrap();
    let ran = barn.run(&["compare", "--from", "old.txt"]);
    assert!(
        ran.stdout.contains("`old.txt` is not written in UTF-8"),
        "{}",
        ran.stdout
    );
    // A ledger with such a file of its own.
    std::fs::write(barn.sandbox.path().join("broken.scruple"), b"formula x\xff").unwrap();
    barn.write("mine.txt", TEAS);
    let ran = barn.run(&["compare", "--from", "mine.txt"]);
    assert!(
        ran.stdout
            .contains("in mine.txt, `broken.scruple` is not written"),
        "{}",
        ran.stdout
    );
}

#[test]
fn a_history_says_what_it_could_not_read() {
    let barn = barn();
    std::fs::write(barn.sandbox.path().join("teas.scruple"), b"formula \xff").unwrap();
    barn.commit("2026-09-11", "saved in another way");
    barn.write("teas.scruple", TEAS);
    barn.commit("2026-09-12", "saved rightly");
    let ran = barn.run(&["history", "inner", "--as", "json"]);
    let all = data(&ran);
    let unread: Vec<usize> = all["revisions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["unread"].as_array().unwrap().len())
        .collect();
    assert_eq!(unread, [1, 1, 0]);
    let history = said(&barn, &["history", "inner"]);
    assert!(
        history.contains("`teas.scruple` is not written in UTF-8"),
        "{history}"
    );
}

#[test]
fn what_a_sparse_checkout_leaves_out_is_not_left_out_of_the_ledger() {
    let barn = barn();
    barn.write(
        "more/spring.scruple",
        "formula spring tea\n  take\n    mint   1 g\n",
    );
    barn.commit("2026-09-11", "spring");
    barn.git(&["sparse-checkout", "set", "nothing"]);
    assert!(!barn.sandbox.path().join("more/spring.scruple").exists());
    barn.run(&["compare"]).status(0);
    barn.edit("herbs.scruple", "avoid   reflux", "consult   reflux");
    let compared = said(&barn, &["compare", "spring tea"]);
    assert!(
        compared.contains("caution gone: avoid reflux, mint"),
        "{compared}"
    );
}

#[test]
fn odd_places_a_bare_repository_from_within_one_file_and_settings_that_are_broken() {
    let barn = barn();
    barn.edit("teas.scruple", "mint   2 g", "mint   3 g");
    barn.commit("2026-09-11", "more mint");
    barn.git(&["clone", "--quiet", "--bare", ".", "bare.git"]);
    let inside = |arguments: &[&str]| barn.command(arguments).below("bare.git").run();
    let ran = inside(&["compare", "--from", "HEAD~1", "--to", "HEAD"]);
    assert!(
        ran.stdout.contains("Changed: inner, outer."),
        "{}{}",
        ran.stdout,
        ran.stderr
    );
    let ran = inside(&["history", "inner"]);
    assert!(ran.stdout.contains("2 revisions"), "{}{}", ran.stdout, ran.stderr);
    // A ledger of one file.
    let alone = Repository::new();
    alone
        .write("teas.scruple", TEA)
        .write("other.scruple", "formula other tea\n  take\n    dill 1 g\n");
    alone.commit("2026-09-11", "one file");
    alone.edit("teas.scruple", "99 g", "98 g");
    let compared = said(&alone, &["compare", "--in", "teas.scruple"]);
    assert!(
        compared.contains("Changed: tea.") && !compared.contains("other tea"),
        "{compared}"
    );
    alone.write(".git/config", "[core\n");
    let ran = alone.run(&["compare"]);
    ran.status(2);
    assert!(
        ran.stderr.contains("git can't read its settings here"),
        "{}",
        ran.stderr
    );
}

#[test]
#[cfg(unix)]
fn a_ledger_in_a_folder_whose_name_holds_the_end_of_a_line() {
    let barn = Repository::new();
    let place = "two\nlines";
    barn.write(&format!("{place}/practice.scruple"), "practice\n")
        .write(&format!("{place}/teas.scruple"), TEA);
    barn.commit("2026-09-10", "odd");
    barn.edit(&format!("{place}/teas.scruple"), "99 g", "98 g");
    let compared = said(&barn, &["compare", "--in", place]);
    assert!(compared.contains("mint 99 g 98 g -1 g"), "{compared}");
    // No script can hold such a name, and a check that never runs would be worse than none.
    let set_up = said(&barn, &["git", "--in", place]);
    assert!(
        set_up.contains("no script can hold it; rename the folder"),
        "{set_up}"
    );
    assert!(!barn.sandbox.path().join(".git/hooks/pre-commit").exists());
}
