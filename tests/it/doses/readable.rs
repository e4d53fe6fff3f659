//! A formula without figures: its cautions are said as far as they can be read, and that some may be missing.

use std::fmt::Write as _;

use scruple::compute::caution::{Bearing, assess};
use scruple::compute::within::opened;
use scruple::diagnostic::Severity;
use scruple::model::{Level, Person};
use scruple::workspace::Snapshot;

use super::{codes_of, ledger, listed, low_barn, on_disk, run, somebody, with_reference};
use crate::doses::{caution_rows, reference_name};

const SLIP: &str = "herb strong root\n  teaspoon   weighed, oops\n  avoid   pregnancy: not to be taken\n\n\
    herb mild leaf\n  consult   age under 12\n\nformula inner tea\n  take strong root 10 g\n\n";

/// Whether `check` says that a formula is not for the person.
fn is_refused(snapshot: &Snapshot, formula: &str) -> bool {
    snapshot.diagnostics.iter().any(|one| {
        one.code.name() == "not-for-this-person"
            && one.severity == Severity::Error
            && one
                .message
                .starts_with(&format!("{formula} is not for this person"))
    })
}

#[test]
fn a_slip_in_a_herb_does_not_silence_its_cautions() {
    for formula in [
        "formula tea\n  take strong root 1 teaspoon\n",
        "formula tea\n  take strong root 10 g\n  oops   nothing\n",
        "formula tea\n  take\n    inner tea 5 g\n    mild leaf two heaps\n",
        "formula tea\n  adapts inner tea\n  take\n    mild leaf two heaps\n",
        "formula tea\n  take\n    strong root 10 g\n    unheard-of leaf 10 g\n",
    ] {
        let mut snapshot = ledger(&format!("{SLIP}{formula}"));
        snapshot.look_for(&somebody(Some("30"), &["is pregnant"]));
        let at = snapshot.formula("tea").unwrap();
        assert!(snapshot.figures.of(at).is_none(), "{formula}");
        assert!(
            is_refused(&snapshot, "tea"),
            "{formula}: {}",
            listed(&snapshot.diagnostics)
        );
    }
}

#[test]
fn without_leaves_a_herb_out_also_where_nothing_is_reckoned() {
    let text = format!(
        "{SLIP}formula tea\n  adapts inner tea\n  take\n    without strong root\n    mild leaf two heaps\n"
    );
    let mut snapshot = ledger(&text);
    snapshot.look_for(&somebody(Some("30"), &["is pregnant"]));
    assert!(
        !codes_of(&snapshot, "tea")
            .iter()
            .any(|one| one.contains("for-this-person"))
    );
}

#[test]
fn formulas_in_a_circle_come_to_an_end() {
    let text = "herb strong root\n  avoid   pregnancy\n\nformula one tea\n  take\n    other tea 5 g\n    strong root 5 g\n\n\
        formula other tea\n  take one tea 5 g\n\nformula third tea\n  adapts fourth tea\n  take strong root 5 g\n\nformula fourth tea\n  adapts third tea\n";
    let mut snapshot = ledger(text);
    snapshot.look_for(&somebody(Some("30"), &["is pregnant"]));
    for formula in ["one tea", "other tea", "third tea", "fourth tea"] {
        assert!(
            is_refused(&snapshot, formula),
            "{formula}: {}",
            listed(&snapshot.diagnostics)
        );
    }
}

#[test]
fn doses_and_why_say_what_can_be_read_and_that_it_may_not_be_all() {
    let text = format!("{SLIP}formula tea\n  take\n    strong root 10 g\n    mild leaf two heaps\n");
    let folder = on_disk(&[("ledger.scruple", &text)]);
    let ran = run(folder.path(), &["doses", "tea", "--is", "pregnant"]);
    assert_eq!(ran.code, 1);
    let flat = ran.flat();
    assert!(
        flat.contains("Cautions that bear on this person avoid pregnancy strong root: not to be taken"),
        "{}",
        ran.out
    );
    assert!(
        flat.contains("a caution that stands in such a line is missing here"),
        "{}",
        ran.out
    );
    assert!(!flat.contains("in a dose"), "{}", ran.out);
    let ran = run(
        folder.path(),
        &[
            "why",
            "tea",
            "--caution",
            "pregnancy",
            "--is",
            "pregnant",
            "--as",
            "json",
        ],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    let json = ran.json();
    assert!(json["incomplete"].as_str().unwrap().contains("missing here"));
    assert_eq!(json["cautions"][0]["herb"], "strong root");
    // A formula without a fault is whole.
    let json = run(
        &low_barn(),
        &["why", "hall tea", "--caution", "pregnancy", "--as", "json"],
    )
    .json();
    assert!(json["incomplete"].is_null());
    let ran = run(folder.path(), &["check", "--is", "pregnant"]);
    assert!(
        ran.flat().contains("of their cautions only what can be read"),
        "{}",
        ran.out
    );
}

/// The levels of what bears on a person.
fn levels(snapshot: &Snapshot, formula: &str, person: &Person) -> Vec<Level> {
    let composition = opened(
        &snapshot.ledger,
        &snapshot.figures,
        snapshot.formula(formula).unwrap(),
    )
    .unwrap();
    assess(&snapshot.ledger, &snapshot.figures, &composition, Some(person))
        .into_iter()
        .filter(|one| matches!(one.bearing, Bearing::ThisPerson(_)))
        .map(|one| one.level)
        .collect()
}

/// Every herb of the table that is to be avoided by somebody, inside a formula inside a formula that holds an
/// error: the same is raised as where the figures stand, for everyone whom a row concerns and for nobody else.
#[test]
fn every_caution_to_avoid_is_raised_through_two_formulas_with_and_without_figures() {
    let mut rows = 0;
    for fault in ["", "  oops   nothing\n"] {
        let mut text = String::from("herb unlisted leaf\n\n");
        let mut herbs: Vec<&str> = caution_rows().iter().map(|row| row.get("herb_key")).collect();
        herbs.sort_unstable();
        herbs.dedup();
        for key in &herbs {
            let herb = reference_name(key);
            write!(
                text,
                "formula inner {herb}\n  take {herb} 10 g\n\nformula outer {herb}\n  take\n    inner {herb} 5 g\n    unlisted leaf 5 g\n{fault}\n"
            ).unwrap();
        }
        let snapshot = with_reference(&text);
        for (topic, fact) in [
            ("pregnancy", "is pregnant"),
            ("lactation", "is breast-feeding"),
            ("anticoagulants", "takes warfarin"),
            ("antidepressants", "takes sertraline"),
            ("immunosuppressants", "takes tacrolimus"),
            ("hormonal-contraceptives", "takes the pill"),
            ("cyp-medicines", "takes simvastatin"),
            ("allergy-asteraceae", "allergic Compositae"),
            ("allergy-apiaceae", "allergic Umbelliferae"),
            ("allergy-salicylate", "allergic salicylates"),
            ("bile", "is living with gallstones"),
            ("liver", "is living with liver disease"),
            ("kidney", "is living with kidney disease"),
            ("heart", "is ill of the heart"),
            ("fluid-restriction", "is on limited fluids"),
            ("hypertension", "is hypertensive"),
            ("low-potassium", "is low in potassium"),
            ("ulcer", "is living with an ulcer"),
            ("bowel", "is living with bowel disease"),
            ("epilepsy", "is epileptic"),
            ("asthma", "is asthmatic"),
            ("g6pd", "is G6PD-deficient"),
        ] {
            let person = somebody(Some("34"), &[fact]);
            for key in &herbs {
                let stated = caution_rows().iter().any(|row| {
                    row.get("herb_key") == *key && row.get("topic") == topic && row.get("level") == "avoid"
                });
                rows += usize::from(stated);
                let outer = format!("outer {}", reference_name(key));
                let raised = levels(&snapshot, &outer, &person).contains(&Level::Avoid);
                // Of a plant family every herb is raised, warned of or not.
                if stated || !topic.starts_with("allergy-") {
                    assert_eq!(raised, stated, "{outer}: {topic}");
                }
            }
        }
        let nothing = somebody(Some("34"), &[]);
        for key in &herbs {
            let outer = format!("outer {}", reference_name(key));
            assert_eq!(levels(&snapshot, &outer, &nothing), [], "{key}");
        }
    }
    assert!(rows > 100, "{rows}");
}
