//! Worked examples of counting doses and days (`worked.tsv`), through what a dose is reckoned to be.
//!
//! The same rows are put to the weighing sheet elsewhere; here they go the other way, from a formula of a
//! given size and its dose to how many doses it holds and how long it lasts.

use super::{R, dec, exactly, ledger, r, reckoned, table};

const ROWS: &str = include_str!("../../outside/worked.tsv");

/// What a row is here: a formula, and what is read off it.
struct Case {
    id: &'static str,
    formula: &'static str,
    read: fn(&scruple::compute::intake::Intake) -> Vec<R>,
}

fn doses_held(intake: &scruple::compute::intake::Intake) -> Vec<R> {
    vec![exactly(intake.doses_held.unwrap().nominal)]
}

fn days(intake: &scruple::compute::intake::Intake) -> Vec<R> {
    vec![exactly(intake.lasts_days.unwrap().nominal)]
}

fn doses_and_days(intake: &scruple::compute::intake::Intake) -> Vec<R> {
    [doses_held(intake), days(intake)].concat()
}

/// All drugs of one dose together, in grams.
fn drugs(intake: &scruple::compute::intake::Intake) -> Vec<R> {
    vec![
        intake
            .herbs
            .iter()
            .map(|herb| exactly(herb.at_once.nominal))
            .sum(),
    ]
}

const CASES: &[Case] = &[
    Case {
        id: "ds01",
        formula: "take  drug 10 g\n  dose  100 mg",
        read: doses_held,
    },
    // Turned round: 100 ml in doses of a teaspoon of 5 ml are 20 doses, the row's input.
    Case {
        id: "ds02",
        formula: "take  drug 10 g\n  makes  100 ml\n  dose  1 teaspoon",
        read: |intake| {
            assert_eq!(exactly(intake.liquid_at_once.unwrap().nominal), r(5, 1));
            vec![r(100, 1) / &doses_held(intake)[0]]
        },
    },
    Case {
        id: "ds03",
        formula: "take  drug 2.8 g\n  dose  40 mg",
        read: |intake| vec![&doses_held(intake)[0] * exactly(intake.blend_at_once.unwrap().nominal)],
    },
    Case {
        id: "ds04",
        formula: "take  drug 1000 mg\n  dose  20 mg, 4 times a day",
        read: days,
    },
    Case {
        id: "ds05",
        formula: "take  drug 1500 mg\n  dose  20 mg, once a day",
        read: days,
    },
    Case {
        id: "ds07",
        formula: "take  drug 10 g\n  makes  240 ml\n  dose  1 tablespoon, 3 times a day",
        read: doses_and_days,
    },
    Case {
        id: "ds08",
        formula: "take  drug 10 g\n  makes  30 ml\n  dose  15 drops, 3 times a day",
        read: days,
    },
    // Two drachms in four portions: half a drachm of 60 grains (a drachm is 3.8879346 g).
    Case {
        id: "ds10",
        formula: "take  drug 2 drachms\n  divide  into 4 powders\n  dose  1 powder",
        read: |intake| vec![&drugs(intake)[0] / dec("3.8879346")],
    },
    // A pint of a syrup that holds 72 apothecary ounces in 16 pints.
    Case {
        id: "ds12",
        formula: "take  drug 72 apothecary ounces\n  makes  16 US pints\n  dose  1 US pint",
        read: |intake| {
            assert!(intake.drawn_out);
            vec![&drugs(intake)[0] / dec("31.1034768")]
        },
    },
    Case {
        id: "ds13",
        formula: "take\n    drug 13 g\n    second drug 10 g\n    third drug 6 g\n  divide  into 100 pills\n  dose  1 pill",
        read: drugs,
    },
];

/// The first numbers of an answer: `16 dose / 5.33`, `0.5 drachm; 45 min`.
fn numbers(answer: &str) -> Vec<&str> {
    answer
        .split(['/', ';'])
        .filter_map(|part| part.split_whitespace().next())
        .filter(|word| word.starts_with(|first: char| first.is_ascii_digit()))
        .collect()
}

#[test]
fn doses_held_and_days_it_lasts() {
    let rows = table(ROWS);
    for case in CASES {
        let row = rows.iter().find(|row| row.get("id") == case.id).unwrap();
        let text = format!(
            "herb drug\n\nherb second drug\n\nherb third drug\n\nformula some powder\n  {}\n",
            case.formula
        );
        let found = (case.read)(&reckoned(&ledger(&text), "some powder"));
        let printed = numbers(row.get("answer"));
        for (value, print) in found.iter().zip(&printed) {
            let places = print.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            let half = r(1, 2) / r(10_i64.pow(u32::try_from(places).unwrap()), 1);
            let off = value - dec(print);
            assert!(
                off <= half.clone() && -off <= half,
                "{}: {value} instead of {print}",
                case.id
            );
        }
        // The time between portions (ds10) is not reckoned.
        assert_eq!(
            found.len(),
            if case.id == "ds10" { 1 } else { printed.len() },
            "{}",
            case.id
        );
    }
    let counting = rows
        .iter()
        .filter(|row| ["dose_count", "days_supply", "unit_dose", "course"].contains(&row.get("topic")))
        .count();
    assert_eq!(CASES.len(), counting, "every row of these topics is run");
}

/// 1:5, 2 ml, and 1:10, 5 ml three times a day: the dried herb behind a dose of a tincture (textbook
/// exercises with numbers of their own, from memory; rows ti01 and ti02 of the collection).
#[test]
fn the_herb_behind_a_dose_of_tincture() {
    let text = "herb drug\n\n\
        formula one\n  take  drug 100 g\n  macerate  1:5 in 60% spirit for 14 days\n  makes  500 ml\n  dose  2 ml\n\n\
        formula two\n  take  drug 100 g\n  macerate  1:10 in 60% spirit for 14 days\n  makes  1 litre\n  dose  5 ml, 3 times a day\n\n\
        material spirit\n";
    let snapshot = ledger(text);
    let one = reckoned(&snapshot, "one");
    assert!(one.drawn_out);
    assert_eq!(exactly(one.herbs[0].at_once.nominal), r(4, 10));
    let two = reckoned(&snapshot, "two");
    assert_eq!(exactly(two.herbs[0].a_day.unwrap().nominal), r(15, 10));
}
