//! The rules for a child's dose: worked examples of `child.tsv`, through the reckoning and through the command.
//!
//! Young: age / (age + 12). Clark: weight in pounds / 150. Cowling: age at the next birthday / 24. Fried: age
//! in months / 150. (Young, Clark and Cowling as in the rows' own `rule` column; Fried from memory.)

use std::collections::HashMap;

use scruple::compute::child;
use scruple::model::{ChildRule, Person};

use super::{R, Row, dec, exactly, figure, flat, on_disk, r, run, table};

const ROWS: &str = include_str!("../../outside/child.tsv");

/// `adult_mg=30; weight_lb=30`, by name.
fn inputs<'t>(row: &Row<'t>) -> HashMap<&'t str, &'t str> {
    row.get("inputs")
        .split("; ")
        .map(|pair| pair.split_once('=').unwrap())
        .collect()
}

/// An adult's dose and the words of its measure.
fn adult(inputs: &HashMap<&str, &str>) -> (R, &'static str) {
    [("adult_mg", "mg"), ("adult_ml", "ml"), ("adult_drops", "drops")]
        .into_iter()
        .find_map(|(name, unit)| Some((dec(inputs.get(name)?), unit)))
        .unwrap()
}

/// What a row asks for: rule and printed answer.
fn asked(row: &Row<'_>) -> Vec<(ChildRule, String)> {
    let answers = row.get("answer").split('/').map(str::to_owned);
    let rules = match row.get("topic") {
        "clark" => vec![ChildRule::Clark],
        "young" => vec![ChildRule::Young],
        "cowling" => vec![ChildRule::Cowling],
        "compare" => vec![ChildRule::Young, ChildRule::Cowling, ChildRule::Clark],
        other => panic!("{other}"),
    };
    let asked: Vec<_> = rules.into_iter().zip(answers).collect();
    assert_eq!(asked.len(), row.get("answer").split('/').count());
    asked
}

/// Whether a figure, rounded to the digits in print, is the one in print.
fn is_printed(value: &R, printed: &str) -> bool {
    let places = printed.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let half = r(1, 2) / R::from_integer(num_bigint::BigInt::from(10).pow(u32::try_from(places).unwrap()));
    let off = value - dec(printed);
    off <= half.clone() && -off <= half
}

/// The international pound (NIST SP 811, appendix B.8).
fn pounds(pounds: &str) -> scruple::quantity::Decimal {
    pounds.parse::<scruple::quantity::Decimal>().unwrap()
        * "453.59237".parse::<scruple::quantity::Decimal>().unwrap()
}

#[test]
fn worked_examples_by_the_rules() {
    let mut run = 0;
    for row in table(ROWS) {
        let inputs = inputs(&row);
        let (adult, _) = adult(&inputs);
        let person = Person {
            years: inputs.get("age_y").map(|age| age.parse().unwrap()),
            grams: inputs.get("weight_lb").map(|weight| pounds(weight)),
            ..Person::default()
        };
        for (rule, printed) in asked(&row) {
            let share = child::share(rule, &person)
                .unwrap()
                .unwrap_or_else(|| panic!("{} is not reckoned", row.get("id")));
            let dose = exactly(share.share) * &adult;
            assert!(
                is_printed(&dose, &printed),
                "{}: {dose} instead of {printed}",
                row.get("id")
            );
            run += 1;
        }
    }
    assert_eq!(run, 9);
}

/// The same through the command: a practice that asks for the rule, and the child's age and weight. The share
/// in percent has three decimals, so it may be off by half a thousandth.
#[test]
fn worked_examples_by_the_command() {
    let mut wrong = Vec::new();
    for row in table(ROWS) {
        let inputs = inputs(&row);
        let (adult, unit) = adult(&inputs);
        for (rule, printed) in asked(&row) {
            let liquid = if unit == "mg" {
                "take   some root 100 g"
            } else {
                "take   some root 100 g\n  makes   1 litre"
            };
            let text = format!(
                "practice\n  children   by {}\n\nherb some root\n\nformula some drops\n  {liquid}\n  dose   {adult} {unit}, 3 times a day\n",
                rule.name()
            );
            let folder = on_disk(&[("practice.scruple", &text)]);
            let weight = inputs.get("weight_lb").map(|weight| format!("{weight} lb"));
            let mut arguments = vec!["doses", "some drops", "--as", "json"];
            if let Some(age) = inputs.get("age_y") {
                arguments.extend(["--age", age]);
            } else {
                // A weight alone does not say that this is a child; the printed example is about one.
                arguments.extend(["--age", "10"]);
            }
            if let Some(weight) = &weight {
                arguments.extend(["--weight", weight]);
            }
            let ran = run(folder.path(), &arguments);
            let json = ran.json();
            let child = &json["child"];
            assert_eq!(child["rule"], rule.name(), "{}", ran.out);
            assert!(
                child["mind"]
                    .as_str()
                    .unwrap()
                    .contains("only a qualified practitioner does")
            );
            let share = figure(&child["share_percent"]) / r(100, 1);
            let dose = &share * &adult;
            let off = r(1, 200_000) * &adult;
            assert!(
                is_printed(&(&dose - &off), &printed) || is_printed(&(&dose + &off), &printed),
                "{}: {dose} instead of {printed}",
                row.get("id")
            );
            // What is said in words must be the dose too, to a twentieth: 6 mg are not 0.01 g.
            let said = child["dose"]
                .as_str()
                .unwrap_or_else(|| panic!("no dose for {}: {}", row.get("id"), ran.out));
            let (number, measure) = said.split_once(' ').unwrap();
            let in_base = match unit {
                "mg" => &dose / r(1000, 1),
                "ml" => dose.clone(),
                _ => &dose / r(20, 1),
            };
            let gap = dec(number) / in_base - r(1, 1);
            if gap > r(1, 20) || gap < r(-1, 20) {
                wrong.push(format!(
                    "{}, {}: {dose} {unit} are printed as `{number} {measure}`",
                    row.get("id"),
                    rule.name()
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

const FORMULA: &str = "herb some leaf\n  dose   1 to 2 g, 3 times a day\n\n\
    formula leaf tea\n  take   some leaf 100 g\n  infuse   2 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n";

/// Nothing is offered where the ledger does not ask, nor for a grown-up.
#[test]
fn a_rule_is_offered_only_where_the_ledger_asks_and_only_for_a_child() {
    let without = on_disk(&[("practice.scruple", FORMULA)]);
    let json = run(
        without.path(),
        &[
            "doses", "leaf tea", "--age", "8", "--weight", "26 kg", "--as", "json",
        ],
    )
    .json();
    assert!(json["child"].is_null(), "{json}");
    for rule in ["Young", "Clark", "Cowling"] {
        let with = on_disk(&[(
            "practice.scruple",
            &format!("practice\n  children by {rule}\n\n{FORMULA}"),
        )]);
        for (age, expected) in [("8", true), ("17.9", true), ("18", false), ("34", false)] {
            let json = run(
                with.path(),
                &[
                    "doses", "leaf tea", "--age", age, "--weight", "26 kg", "--as", "json",
                ],
            )
            .json();
            assert_eq!(!json["child"].is_null(), expected, "{rule} at {age}");
        }
        assert!(run(with.path(), &["doses", "leaf tea", "--as", "json"]).json()["child"].is_null());
    }
}

/// Fried's rule is for infants; months are exact: 8 months are 8/150.
#[test]
fn months_by_fried() {
    let text = format!("practice\n  children by Fried\n\nperson 005\n  age   8 months\n\n{FORMULA}");
    let folder = on_disk(&[("practice.scruple", &text)]);
    let json = run(
        folder.path(),
        &["doses", "leaf tea", "--person", "005", "--as", "json"],
    )
    .json();
    assert_eq!(json["child"]["rule"], "Fried", "{json}");
    assert_eq!(json["child"]["share_percent"], "5.333", "{json}");
    let older = run(
        folder.path(),
        &["doses", "leaf tea", "--age", "8", "--as", "json"],
    )
    .json();
    assert!(older["child"].is_null(), "{older}");
}

/// A rule that the ledger asks for and that can't be worked out must say what it lacks.
#[test]
fn a_rule_that_lacks_something_says_what() {
    let clark = on_disk(&[(
        "practice.scruple",
        &format!("practice\n  children by Clark\n\n{FORMULA}"),
    )]);
    let ran = run(clark.path(), &["doses", "leaf tea", "--age", "8"]);
    assert!(
        ran.flat().contains("Clark") && ran.flat().contains("weight"),
        "{}",
        ran.out
    );
    let fried = on_disk(&[(
        "practice.scruple",
        &format!("practice\n  children by Fried\n\n{FORMULA}"),
    )]);
    let ran = run(fried.path(), &["doses", "leaf tea", "--age", "8"]);
    assert!(ran.flat().contains("Fried"), "{}", ran.out);
}

/// Where the formula has a dose for the child's own age, a share of the adult's dose is a share of the adult's
/// dose, and not of the child's.
#[test]
fn a_share_is_of_the_adults_dose() {
    let text =
        format!("practice\n  children by Young\n\n{FORMULA}  dose   age 6 to 12: 100 ml, 3 times a day\n");
    let folder = on_disk(&[("practice.scruple", &text)]);
    let json = run(
        folder.path(),
        &["doses", "leaf tea", "--age", "8", "--as", "json"],
    )
    .json();
    // The dose for the age: 100 ml of a cup of 250 ml with 2 g in it.
    assert_eq!(json["blend_at_once"]["nominal"], "0.8");
    // By Young: 8/20 of the adult's 2 g.
    if !json["child"].is_null() {
        assert_eq!(json["child"]["dose"], "0.8 g of the blend", "{}", json["child"]);
    }
}

/// A child whose age lies between two written ages (11 years and a half, with doses for 4 to 11 and for 12 to
/// 17) is no grown-up.
#[test]
fn a_child_between_two_written_ages_does_not_get_the_adults_dose() {
    let text = format!(
        "{FORMULA}  dose   age 4 to 11: 50 ml, 3 times a day\n  dose   age 12 to 17: 100 ml, 3 times a day\n"
    );
    let folder = on_disk(&[("practice.scruple", &text)]);
    let at = |age: &str| {
        let json = run(
            folder.path(),
            &["doses", "leaf tea", "--age", age, "--as", "json"],
        )
        .json();
        json["blend_at_once"]["nominal"].as_str().map(str::to_owned)
    };
    assert_eq!(at("11").as_deref(), Some("0.4"));
    assert_eq!(at("12").as_deref(), Some("0.8"));
    assert_eq!(at("17").as_deref(), Some("0.8"));
    assert_eq!(at("34").as_deref(), Some("2"));
    let mut wrong = Vec::new();
    for (age, child) in [("11.5", "0.4"), ("11.99", "0.4"), ("17.5", "0.8")] {
        let given = at(age);
        if given.as_deref() != Some(child) {
            wrong.push(format!(
                "at {age}: {given:?} g of the blend at once instead of {child}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A child's dose of a herb goes before the adult's, and an age limit before both.
#[test]
fn a_published_dose_for_the_age_goes_before_the_adults() {
    let text = "herb some leaf\n  dose   1.5 to 3 g, 3 times a day\n  dose   age 4 to 11: 0.5 to 1 g, 3 times a day\n  consult   age under 4\n\n\
        formula leaf tea\n  take   some leaf 100 g\n  infuse   2 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n";
    let folder = on_disk(&[("practice.scruple", text)]);
    let codes = |age: &str| {
        let ran = run(
            folder.path(),
            &["doses", "leaf tea", "--age", age, "--as", "json"],
        );
        let json = ran.json();
        let mut codes: Vec<String> = json["findings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["code"].as_str().unwrap().to_owned())
            .filter(|code| code != "figure-without-a-source")
            .collect();
        codes.sort();
        (codes, ran.code)
    };
    assert_eq!(codes("34"), (vec![], 0));
    assert_eq!(
        codes("8"),
        (
            vec!["above-the-most-at-once".into(), "over-the-daily-most".into()],
            1
        )
    );
    assert_eq!(codes("3"), (vec!["ask-first-for-this-person".into()], 1));
}

/// What is said to a child's parents is never said as a fact.
#[test]
fn a_childs_share_is_marked_for_a_decision() {
    let text = format!("practice\n  children by Young\n\n{FORMULA}");
    let folder = on_disk(&[("practice.scruple", &text)]);
    let ran = run(folder.path(), &["doses", "leaf tea", "--age", "8"]);
    let said = flat(&ran.out);
    assert!(
        said.contains("By Young: 8 / (8 + 12) = 40 % of the adult's dose, 0.8 g of the blend."),
        "{said}"
    );
    assert!(
        said.contains("A rule of thumb that decides nothing: only a qualified practitioner does."),
        "{said}"
    );
    assert!(
        said.contains("An age limit of a herb always comes first."),
        "{said}"
    );
}

/// A herb's own dose for the age comes before a rule of thumb. By Young at eight years 8 / 20 of 3 g = 1.2 g,
/// 3.6 g in a day of three doses; at six years 6 / 18 of it = 1 g, 3 g a day: just what is stated.
#[test]
fn no_share_is_offered_above_what_is_stated_for_the_age() {
    let ledger = |lines: &str, dose: &str| {
        format!(
            "practice\n  children   by Young\n\nsource book\n  title   a book\n\nherb mint leaf\n  dose   1 to 3 g, 3 times a day   source book\n{lines}\n\
             formula tea\n  take   mint leaf 100 g\n  dose   {dose}\n"
        )
    };
    let own = "  dose   age 6 to 12: 1 g, 3 times a day   source book\n";
    let asked = |text: &str, age: &str| {
        let folder = on_disk(&[("practice.scruple", text)]);
        run(folder.path(), &["doses", "tea", "--age", age, "--as", "json"]).json()
    };
    let eight = asked(&ledger(own, "3 g, 3 times a day"), "8");
    assert!(eight["child"].is_null(), "{eight:#}");
    assert_eq!(
        eight["child_withheld"],
        "No share by Young is offered: it would give 1.2 g of mint leaf at once, where 1 g is the most stated for this age, \
         and 3.6 g of mint leaf a day, where 3 g is the most stated for this age."
    );
    let six = asked(&ledger(own, "3 g, 3 times a day"), "6");
    assert!(six["child_withheld"].is_null(), "{six:#}");
    assert_eq!(six["child"]["dose"], "1 g of the blend");
    // More often than the herb's own dose: 8 / 20 of 2 g = 0.8 g at once, and 4 g in five of them.
    let often = asked(&ledger(own, "2 g, 5 times a day"), "8");
    assert_eq!(
        often["child_withheld"],
        "No share by Young is offered: it would give 4 g of mint leaf a day, where 3 g is the most stated for this age."
    );
    // Nothing stated for the age: figures for grown-ups withhold nothing.
    let silent = asked(&ledger("", "3 g, 3 times a day"), "8");
    assert_eq!(silent["child"]["dose"], "1.2 g of the blend", "{silent:#}");
}
