//! `why … --caution`: each caution that `doses` lists can be asked, and the answer names its herb, line, source,
//! topic, fact and acceptance.

use scruple::compute::caution::{Assessed, assess};
use scruple::view::why_caution::why_cautions;
use scruple::workspace::Snapshot;
use serde_json::Value;

use super::{low_barn, on_disk, run};

fn steps(one: &Value) -> Vec<String> {
    one["steps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|step| step["says"].as_str().unwrap().to_owned())
        .collect()
}

/// Every line of `doses` of every formula, for four people and nobody: `why` has the same caution, with a reason
/// that ends at the line that states it.
#[test]
fn every_line_of_doses_can_be_asked_why() {
    let mut asked = 0;
    let snapshot = Snapshot::read(&low_barn());
    for formula in [
        "after-supper tea",
        "hall gargle",
        "hall tea for one table",
        "yarrow salve",
    ] {
        for code in ["", "040", "064", "052", "088"] {
            let mut arguments = vec!["doses", formula, "--as", "json"];
            if !code.is_empty() {
                arguments.extend(["--person", code]);
            }
            let doses = run(&low_barn(), &arguments).json();
            let listed = doses["cautions"].as_array().unwrap().clone();
            assert!(!listed.is_empty());
            let mut topics: Vec<&str> = listed.iter().map(|one| one["topic"].as_str().unwrap()).collect();
            topics.sort_unstable();
            topics.dedup();
            let person = snapshot
                .ledger
                .people
                .iter()
                .find(|one| one.code.as_deref() == Some(code));
            let composition = snapshot.figures.of(snapshot.formula(formula).unwrap()).unwrap();
            let all = assess(&snapshot.ledger, &snapshot.figures, composition, person);
            for topic in topics {
                let asked_for: Vec<Assessed> = all.iter().filter(|one| one.topic == topic).cloned().collect();
                let why = why_cautions(&snapshot, composition, person, topic, &asked_for, false);
                let why = serde_json::to_value(&why).unwrap();
                let mut own = why["cautions"].as_array().unwrap().clone();
                for one in &own {
                    let says = steps(one);
                    let herb = one["herb"].as_str().unwrap();
                    assert!(
                        says.iter().any(|step| step.starts_with(formula)),
                        "{formula} {topic}: {says:?}"
                    );
                    let level = one["level"].as_str().unwrap();
                    let stated = one["steps"].as_array().unwrap().iter().find(|step| {
                        let says = step["says"].as_str().unwrap();
                        says.starts_with(&format!("{herb} says `{level} {topic}"))
                    });
                    let stated = stated.unwrap_or_else(|| panic!("{formula} {topic}: {says:?}"));
                    assert_eq!(stated["at"], one["at"]);
                    assert_eq!(stated["source"], one["source"]);
                    if one["accepted"] == true {
                        let reason = one["reason"].as_str().unwrap();
                        assert!(
                            says.iter()
                                .any(|step| step.ends_with(&format!("accepts it: {reason}")))
                        );
                    }
                    if let Some(because) = one["because"].as_str() {
                        assert!(says.iter().any(|step| step.contains(because)), "{says:?}");
                    }
                    asked += 1;
                }
                for one in &mut own {
                    one.as_object_mut().unwrap().remove("steps");
                }
                let same: Vec<Value> = listed
                    .iter()
                    .filter(|one| one["topic"] == topic)
                    .cloned()
                    .collect();
                assert_eq!(own, same, "{formula} {topic}");
            }
        }
    }
    assert!(asked > 200, "{asked}");
}

#[test]
fn the_way_in_goes_through_formulas_liquids_and_what_is_bought() {
    let json = run(
        &low_barn(),
        &[
            "why",
            "hall gargle",
            "--caution",
            "age under 18",
            "--person",
            "088",
            "--as",
            "json",
        ],
    )
    .json();
    let of = |herb: &str| {
        let all = json["cautions"].as_array().unwrap();
        steps(all.iter().find(|one| one["herb"] == herb).unwrap())
    };
    assert_eq!(
        of("sage leaf")[..3],
        [
            "hall gargle takes sage tincture",
            "sage tincture is bought ready-made of sage leaf",
            "sage leaf says `consult age under 18`"
        ]
    );
    assert_eq!(
        of("spirit")[..4],
        [
            "hall gargle takes thyme tincture",
            "thyme tincture is prepared in spirit",
            "hall gargle takes sage tincture",
            "sage tincture holds alcohol, and what that asks for is said of spirit",
        ]
    );
    assert!(of("spirit").contains(&"person 088 is 8 years old, so it bears on them".to_owned()));
}

#[test]
fn a_fact_by_another_name_says_by_which_topic_it_meets() {
    let said = |arguments: &[&str]| {
        let ran = run(&low_barn(), arguments);
        assert_eq!(ran.code, 0, "{}", ran.err);
        ran.flat()
    };
    let warfarin = said(&[
        "why",
        "after-supper tea",
        "--caution",
        "blood thinners",
        "--takes",
        "warfarin",
    ]);
    assert!(warfarin.contains("this person takes warfarin, and `warfarin` is one of the names of the topic `anticoagulants`, so it bears on them"), "{warfarin}");
    let kin = said(&[
        "why",
        "hall tea",
        "--caution",
        "allergy Labiatae",
        "--allergic",
        "Labiatae",
    ]);
    assert!(
        kin.contains("no line of lemon balm leaf warns of it; its entry says `family Lamiaceae`"),
        "{kin}"
    );
    assert!(kin.contains("this person is allergic to Labiatae"), "{kin}");
    assert!(kin.contains("`avoid`: not at all, an error in `check`"), "{kin}");
    let alone = said(&["why", "after-supper tea", "ginger rhizome", "--caution", "reflux"]);
    assert!(
        alone.contains("ginger") && !alone.contains("peppermint leaf says"),
        "{alone}"
    );
    assert!(alone.contains("nobody in particular is asked about"), "{alone}");
}

/// The reason that an acceptance gives, one without a reason, a caution without a source, a softened allergy.
#[test]
fn acceptances_sources_and_softened_allergies_are_said() {
    let text = "source book\n  title   a book\n  from memory\n\nherb first leaf\n  consult   pregnancy   source book\n  consult   driving\n  \
        avoid   allergy other: an allergy to resin\n\n\
        formula tea\n  take first leaf 10 g\n  accept   pregnancy: two cups, midwife asked\n  accept   driving\n";
    let folder = on_disk(&[("ledger.scruple", text)]);
    let said = |arguments: &[&str]| run(folder.path(), arguments).flat();
    let pregnant = said(&["why", "tea", "--caution", "pregnancy", "--is", "pregnant"]);
    assert!(
        pregnant.contains("source book: a book (from memory)"),
        "{pregnant}"
    );
    assert!(
        pregnant.contains("tea accepts it: two cups, midwife asked [ledger.scruple:12]"),
        "{pregnant}"
    );
    assert!(
        pregnant.contains("`consult`, accepted with a reason: a notice in `check`"),
        "{pregnant}"
    );
    let driving = said(&["why", "tea", "--caution", "driving", "--is", "driving"]);
    assert!(driving.contains("no source is cited for it"), "{driving}");
    assert!(
        driving.contains("accepts it without a reason, which counts for nothing"),
        "{driving}"
    );
    assert!(
        driving.contains("`consult`: only with advice, a warning in `check`"),
        "{driving}"
    );
    let other = said(&[
        "why",
        "tea",
        "--caution",
        "allergy other",
        "--allergic",
        "menthol",
    ]);
    assert!(
        other.contains("first leaf says `avoid allergy other: an allergy to resin`"),
        "{other}"
    );
    assert!(other.contains("asked about and not forbidden"), "{other}");
    // Birch has a family of its own, by which its herbs are found.
    let birch = said(&["why", "tea", "--caution", "allergy other", "--allergic", "birch"]);
    assert!(
        birch.contains("its words name nothing of this person's"),
        "{birch}"
    );
    assert!(!birch.contains("nothing that is known"), "{birch}");
}

#[test]
fn what_is_not_there_is_refused_with_what_is() {
    for (arguments, said) in [
        (
            &["why", "after-supper tea", "--caution", "reflus"][..],
            "did you mean \"reflux\"?",
        ),
        (
            &["why", "after-supper tea", "--caution", "g6pd"],
            "it has cautions about: ",
        ),
        (
            &["why", "after-supper tea", "yarrow herb", "--caution", "reflux"],
            "cautions stand for: ",
        ),
        (
            &["why", "after-supper tea", "reflux"],
            "of a caution ask `--caution \"reflux\"`",
        ),
        (
            &["why", "percent-off", "--caution", "reflux"],
            "there is no formula",
        ),
        (
            &["why", "after-supper tea", "--caution", "reflux", "--is", "purple"],
            "no topic asks for",
        ),
    ] {
        let ran = run(&low_barn(), arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.out);
        assert!(ran.err.contains(said), "{arguments:?}: {}", ran.err);
    }
}

// ---- formulas inside formulas -------------------------------------------------------------------

#[test]
fn why_opens_the_formulas_inside() {
    let json = run(&low_barn(), &["why", "hall tea for one table", "--as", "json"]).json();
    let inner = json["inner"].as_array().unwrap();
    assert_eq!(inner.len(), 1);
    assert_eq!(inner[0]["formula"], "garden tea");
    // The working inside is that formula's own.
    let own = run(&low_barn(), &["why", "garden tea", "--as", "json"]).json();
    assert_eq!(inner[0]["lines"], own["lines"]);
    assert_eq!(inner[0]["total"], own["total"]);
    assert_eq!(own["inner"].as_array().unwrap().len(), 0);
}

#[test]
fn one_herb_is_followed_through_the_formulas_that_hold_it() {
    let text = "herb one leaf\n\nherb two leaf\n\nformula core\n  take\n    one leaf 10 g\n    two leaf 30 g\n\n\
        formula middle\n  take\n    core 20 g\n    two leaf 20 g\n\nformula outer\n  take\n    middle 10 g\n    two leaf 10 g\n    core 4 g\n";
    let folder = on_disk(&[("ledger.scruple", text)]);
    let names = |lines: &Value| -> Vec<String> {
        lines
            .as_array()
            .unwrap()
            .iter()
            .map(|line| line["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let json = run(folder.path(), &["why", "outer", "one leaf", "--as", "json"]).json();
    assert_eq!(names(&json["lines"]), ["middle", "core"]);
    let inner = json["inner"].as_array().unwrap();
    assert_eq!(inner[0]["formula"], "middle");
    assert_eq!(names(&inner[0]["lines"]), ["core"]);
    assert_eq!(inner[1]["formula"], "core");
    assert_eq!(names(&inner[1]["lines"]), ["one leaf"]);
    let json = run(folder.path(), &["why", "outer", "core", "--as", "json"]).json();
    assert_eq!(names(&json["lines"]), ["middle", "core"]);
    assert_eq!(names(&json["inner"][1]["lines"]), ["one leaf", "two leaf"]);
    let json = run(folder.path(), &["why", "outer", "--as", "json"]).json();
    assert_eq!(names(&json["inner"][0]["lines"]), ["core", "two leaf"]);
    assert_eq!(json["inner"].as_array().unwrap().len(), 2);
}
