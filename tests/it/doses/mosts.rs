//! A most that names an age holds for it, beside those that name none; the smaller counts.
//!
//! The figures of fennel are the Commission Decision 2008/911/EC, Annex II: children from 4 to 12 take 3 to 5 g a day,
//! for less than one week (from memory, as in `tests/outside/herbs.tsv`).

use super::{findings_of, on_disk, r, run, sound, with_reference};

const HERB: &str = "\
source handbook
  title    a handbook, invented for this page
herb fennel fruit
  dose     1 to 2 g, 3 times a day   source handbook
  most     14 days                   source handbook
  most     age 4 to 12: 6 days       source handbook
  most     age 4 to 12: 3 g a day    source handbook
  most     age 4 to 12: 1.5 g at once   source handbook
";

fn codes(lines: &str, person: &str) -> Vec<String> {
    let text = format!(
        "{HERB}\n{person}\nformula tea\n  take fennel fruit 30 g\n  infuse 1.2 g in 1 cup of water\n{lines}\n"
    );
    let snapshot = sound(&text);
    findings_of(&snapshot, "tea")
        .iter()
        .map(|one| format!("{}: {}", one.code.name(), one.message))
        .collect()
}

fn has(found: &[String], code: &str) -> bool {
    found.iter().any(|one| one.starts_with(code))
}

#[test]
fn a_childs_course_is_held_against_the_childs_days() {
    let dose = "  dose 1 cup, 2 times a day, for 10 days";
    let child = "person 055\n  age 8";
    let for_child = format!("{dose}\n  person 055");
    assert!(
        codes(dose, "").is_empty(),
        "grown-ups have 14 days: {:?}",
        codes(dose, "")
    );
    let found = codes(&for_child, child);
    assert!(has(&found, "taken-too-long"), "{found:?}");
    assert!(found.iter().any(|one| one.contains("is 6 days")), "{found:?}");
    // Six days are within it, and a child of 3 or of 13 has no line of its own.
    let six = "  dose 1 cup, 2 times a day, for 6 days\n  person 055";
    assert!(!has(&codes(six, child), "taken-too-long"));
    for age in ["3", "13"] {
        let found = codes(&for_child, &format!("person 055\n  age {age}"));
        assert!(!has(&found, "taken-too-long"), "{age}: {found:?}");
    }
    // Up to the thirteenth birthday, as a dose's age is.
    assert!(has(&codes(&for_child, "person 055\n  age 12"), "taken-too-long"));
    // A dose line for ages is held against it whoever asks.
    let found = codes(
        "  dose 1 cup, 2 times a day\n  dose age 6 to 14: 1 cup, once a day, for 10 days",
        "",
    );
    assert!(has(&found, "taken-too-long"), "{found:?}");
}

#[test]
fn a_childs_day_is_held_against_the_childs_grams() {
    // 3.6 g a day: within the grown-ups' 6 g that follow from the dose, over the child's 3 g.
    let dose = "  dose 1 cup, 3 times a day";
    assert!(codes(dose, "").is_empty());
    let found = codes(&format!("{dose}\n  person 055"), "person 055\n  age 8");
    assert!(has(&found, "over-the-daily-most"), "{found:?}");
    assert!(
        found
            .iter()
            .any(|one| one.ends_with("the most that is stated is 3 g")),
        "it is no figure for adults: {found:?}"
    );
    assert!(
        !has(&found, "adult-figures-for-a-child"),
        "something is stated for the age: {found:?}"
    );
}

#[test]
fn of_a_most_for_the_age_and_one_for_none_the_smaller_counts() {
    for (general, childs, wanted) in [("2", "5", "2"), ("5", "2", "2")] {
        let text = format!(
            "source handbook\n  title invented\nherb fennel fruit\n  most {general} g a day   source handbook\n  most age 4 to 12: {childs} g a day   source handbook\n\
             formula tea\n  take fennel fruit 30 g\n  infuse 3 g in 1 cup of water\n  dose age 6: 1 cup, once a day\n"
        );
        let snapshot = sound(&text);
        let found: Vec<String> = findings_of(&snapshot, "tea")
            .iter()
            .map(|one| one.message.clone())
            .collect();
        assert!(
            found.iter().any(|one| one.contains(&format!("is {wanted} g"))),
            "{found:?}"
        );
    }
    // What follows from a grown-up's doses is not loosened by a child's most that is larger.
    let text = "source handbook\n  title invented\nherb fennel fruit\n  dose 1 g, 3 times a day   source handbook\n  most age 4 to 12: 5 g a day   source handbook\n\
                formula tea\n  take fennel fruit 30 g\n  infuse 1 g in 1 cup of water\n  dose age 6: 1 cup, 4 times a day\n";
    let snapshot = sound(text);
    assert!(
        findings_of(&snapshot, "tea")
            .iter()
            .any(|one| one.code.name() == "over-the-daily-most")
    );
    // A line for grown-ups alone is a child's upper limit, where nothing else is stated, and is marked.
    let text = "source handbook\n  title invented\nherb fennel fruit\n  most age 18: 2 g a day   source handbook\n\
                formula tea\n  take fennel fruit 30 g\n  infuse 3 g in 1 cup of water\n  dose age 6: 1 cup, once a day\n";
    for (text, whose) in [
        (text.to_owned(), "is 2 g for adults"),
        (text.replace("dose age 6:", "dose"), "is 2 g"),
    ] {
        let snapshot = sound(&text);
        let found: Vec<String> = findings_of(&snapshot, "tea")
            .iter()
            .map(|one| one.message.clone())
            .collect();
        assert!(found.iter().any(|one| one.ends_with(whose)), "{whose}: {found:?}");
    }
}

#[test]
fn fennel_of_the_reference_holds_its_childs_week_and_day() {
    let tea = "person 055\n  age 8\nformula tea\n  person 055\n  take fennel fruit 30 g\n  infuse 2 g in 1 cup of water\n  dose 1 cup, 3 times a day, for 7 days\n";
    let snapshot = with_reference(tea);
    let found: Vec<&str> = findings_of(&snapshot, "tea")
        .iter()
        .map(|one| one.code.name())
        .collect();
    // Less than one week are six whole days; 6 g a day are more than 5 g.
    assert!(found.contains(&"taken-too-long"), "{found:?}");
    assert!(found.contains(&"over-the-daily-most"), "{found:?}");
    let grown = with_reference(&tea.replace("age 8", "age 30"));
    let found: Vec<&str> = findings_of(&grown, "tea")
        .iter()
        .map(|one| one.code.name())
        .collect();
    assert!(
        !found.contains(&"taken-too-long") && !found.contains(&"over-the-daily-most"),
        "{found:?}"
    );
}

#[test]
fn the_page_shows_which_figure_is_whose() {
    let text = format!(
        "practice\n{HERB}\nformula tea\n  take fennel fruit 30 g\n  infuse 1.2 g in 1 cup of water\n  dose 1 cup, once a day\n"
    );
    let folder = on_disk(&[("practice.scruple", &text)]);
    let child = run(folder.path(), &["doses", "tea", "--age", "8", "--as", "json"]).json();
    let herb = &child["herbs"][0];
    assert_eq!(herb["least_at_once"]["for_adults"], true);
    assert_eq!(herb["most_at_once"]["for_adults"], false);
    assert_eq!(super::figure(&herb["most_at_once"]["value"]), r(3, 2));
    assert_eq!(herb["most_a_day"]["for_adults"], false);
    assert_eq!(super::figure(&herb["most_days"]["value"]), r(6, 1));
    let grown = run(folder.path(), &["doses", "tea", "--as", "json"]).json();
    let herb = &grown["herbs"][0];
    assert_eq!(super::figure(&herb["most_at_once"]["value"]), r(2, 1));
    assert_eq!(super::figure(&herb["most_days"]["value"]), r(14, 1));
}
