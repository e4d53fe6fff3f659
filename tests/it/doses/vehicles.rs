//! What a dose is taken in brings its cautions, as a liquid of a step does.

use super::{codes_of, ledger, listed, somebody, sound};

const START: &str = "herb plain leaf\n\nherb sage leaf\n  avoid   pregnancy\n\nmaterial honey\n  avoid   age under 1\n\n\
    material spirit\n  strength   96%\n  consult   pregnancy: holds alcohol\n  avoid   alcohol dependence\n\n\
    formula sage tea\n  take sage leaf 10 g\n\n";

fn raised(dose: &str, age: Option<&str>, facts: &[&str]) -> Vec<String> {
    let mut snapshot = sound(&format!(
        "{START}formula probe\n  take plain leaf 10 g\n  dose   {dose}\n"
    ));
    snapshot.look_for(&somebody(age, facts));
    codes_of(&snapshot, "probe")
        .into_iter()
        .filter(|code| code.ends_with("-for-this-person"))
        .collect()
}

#[test]
fn a_material_that_a_dose_is_taken_in() {
    for dose in [
        "1 g in honey, 3 times a day",
        "1 g in a little honey, 3 times a day",
        "1 g in 5 ml of honey, 3 times a day",
        "1 g, 3 times a day, in warm milk with honey",
        "1 g, 3 times a day, with honey after meals",
        "1 g, 3 times a day, stirred into honey",
    ] {
        assert_eq!(
            raised(dose, Some("0.5"), &[]),
            ["error not-for-this-person"],
            "{dose}"
        );
        assert!(raised(dose, Some("40"), &[]).is_empty(), "{dose}");
    }
}

#[test]
fn a_drink_with_alcohol_that_a_dose_is_taken_in() {
    for drink in [
        "wine",
        "brandy",
        "a glass of red wine",
        "50 ml of port",
        "schnapps",
        "a little aqua vitae",
        "eau de vie",
        "spirit",
    ] {
        let dose = format!("1 g in {drink}, 3 times a day");
        assert_eq!(
            raised(&dose, Some("40"), &["is dependent on alcohol"]),
            ["error not-for-this-person"],
            "{dose}"
        );
        assert_eq!(
            raised(&dose, Some("30"), &["is pregnant"]),
            ["warning ask-first-for-this-person"],
            "{dose}"
        );
    }
    // Without an entry that speaks of alcohol, that is said.
    let snapshot = ledger(
        "herb plain leaf\n\nformula probe\n  take plain leaf 10 g\n  dose   1 g in a glass of red wine, 3 times a day\n",
    );
    let found = listed(&snapshot.diagnostics);
    assert!(
        found.contains("notice alcohol-without-cautions: red wine in probe holds alcohol"),
        "{found}"
    );
}

#[test]
fn a_formula_of_the_ledger_that_a_dose_is_taken_in() {
    for dose in [
        "1 g in sage tea, 3 times a day",
        "1 g in 150 ml of warm sage tea, 3 times a day",
    ] {
        assert_eq!(
            raised(dose, Some("30"), &["is pregnant"]),
            ["error not-for-this-person"],
            "{dose}"
        );
    }
}

#[test]
fn water_and_what_nobody_declared_are_let_be() {
    for dose in [
        "1 g in a little water, 3 times a day",
        "1 g in 150 ml, 3 times a day",
        "1 g in 1 cup of boiling water, 3 times a day",
        "1 g in juice, 3 times a day",
        "1 g in the morning, once a day",
        "1 g, 3 times a day, with meals",
        "1 g in alcohol-free wine, 3 times a day",
        "1 g in wine vinegar, 3 times a day",
        "1 g, 3 times a day, before honey",
    ] {
        for (age, facts) in [
            (Some("0.5"), &[][..]),
            (Some("30"), &["is pregnant"]),
            (Some("40"), &["is dependent on alcohol"]),
        ] {
            assert!(raised(dose, age, facts).is_empty(), "{dose} {facts:?}");
        }
    }
}

/// Names of what is drunk: common practice, no source.
#[test]
fn names_of_drinks_with_alcohol() {
    for drink in [
        "port",
        "ruby port",
        "aqua vitae",
        "kvass",
        "schnapps",
        "ouzo",
        "arrack",
        "sake",
        "grog",
        "punch",
        "rum punch",
        "eau de vie",
        "cherry liqueur",
        "madeira",
        "marsala",
        "champagne",
        "prosecco",
        "perry",
        "stout",
        "lager",
        "porter",
        "cognac",
    ] {
        for steps in [
            format!("take plain leaf 10 g\n  macerate   1:5 in {drink} for 14 days\n  makes   40 ml"),
            format!("take\n    plain leaf   10 g\n    {drink}   50 ml"),
        ] {
            let text = format!("herb plain leaf\n\nmaterial {drink}\n\nformula probe\n  {steps}\n");
            assert!(
                codes_of(&ledger(&text), "probe").contains(&"notice alcohol-without-cautions".to_owned()),
                "{text}"
            );
        }
    }
    for none in ["support", "alcohol-free punch", "aqua vitae vinegar"] {
        let text = format!(
            "herb plain leaf\n\nmaterial {none}\n\nformula probe\n  take\n    plain leaf 10 g\n    {none} 5 g\n"
        );
        assert!(
            !codes_of(&ledger(&text), "probe")
                .iter()
                .any(|code| code.contains("alcohol")),
            "{text}"
        );
    }
}
