//! What holds alcohol raises what alcohol asks for, on every way into a formula; and where no entry says it, that is said.

use scruple::diagnostic::Severity;
use scruple::workspace::Snapshot;

use super::{codes_of, findings_of, ledger, listed, somebody, sound};

/// Spirit with what the European guideline on excipients has for ethanol (from memory).
const SPIRIT: &str = "material spirit\n  strength   96%\n  consult   pregnancy: holds alcohol\n  consult   age under 18: holds alcohol\n  consult   liver\n  \
    mind   driving\n  avoid   alcohol dependence\n  avoid   alcohol-barred medicines\n\n";

const HERBS: &str = "herb plain leaf\n\nherb other leaf\n\n";

/// Formulas that hold alcohol by one way each; `tea` is the one that is asked about.
const WAYS: &[(&str, &str)] = &[
    (
        "a step",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in 60% spirit for 14 days\n  makes 40 ml\n",
    ),
    (
        "a step without a strength",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in spirit for 14 days\n  makes 40 ml\n",
    ),
    (
        "percolated",
        "formula tea\n  take plain leaf 10 g\n  percolate 1:5 with 45% spirit\n  makes 40 ml\n",
    ),
    (
        "taken",
        "formula tea\n  take\n    plain leaf 10 g\n    spirit 50 ml\n",
    ),
    (
        "by judgement",
        "formula tea\n  take\n    plain leaf 10 g\n    spirit q.s.\n",
    ),
    (
        "a liquid that is not declared",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in brandy for 14 days\n  makes 40 ml\n",
    ),
    (
        "a percentage of something else",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in 40% grain drink for 14 days\n  makes 40 ml\n",
    ),
    (
        "wine with an entry of its own",
        "material white wine\n\nformula tea\n  take plain leaf 10 g\n  infuse plain leaf in 100 ml of white wine for 3 days\n  makes 90 ml\n",
    ),
    (
        "a tincture bought ready-made",
        "material leaf tincture\n  strength   1:5 of other leaf, 60%\n\nformula tea\n  take\n    plain leaf 10 g\n    leaf tincture 5 ml\n",
    ),
    (
        "a formula inside a formula",
        "formula drops\n  take plain leaf 10 g\n  macerate 1:5 in 60% spirit for 14 days\n  makes 40 ml\n\n\
        formula mixture\n  take\n    drops 10 ml\n    water q.s. to 50 ml\n\nformula tea\n  take\n    mixture 20 ml\n    water q.s. to 100 ml\n",
    ),
    (
        "an adaptation",
        "formula drops\n  take plain leaf 10 g\n  macerate 1:5 in 60% spirit for 14 days\n  makes 40 ml\n\nformula tea\n  adapts drops\n  take other leaf 2 g\n",
    ),
];

fn raised(text: &str, age: Option<&str>, facts: &[&str]) -> (Snapshot, Vec<String>) {
    let mut snapshot = sound(text);
    snapshot.look_for(&somebody(age, facts));
    let codes = codes_of(&snapshot, "tea");
    (snapshot, codes)
}

#[test]
fn alcohol_is_raised_on_every_way_in() {
    let mut missed = Vec::new();
    for (way, formulas) in WAYS {
        let text = format!("{HERBS}{SPIRIT}{formulas}");
        for (age, facts, code) in [
            (Some("8"), &[][..], "warning ask-first-for-this-person"),
            (Some("30"), &["is pregnant"], "warning ask-first-for-this-person"),
            (
                Some("50"),
                &["is living with liver disease"],
                "warning ask-first-for-this-person",
            ),
            (Some("50"), &["is driving"], "notice mind-for-this-person"),
            (
                Some("50"),
                &["is dependent on alcohol"],
                "error not-for-this-person",
            ),
            (Some("50"), &["takes disulfiram"], "error not-for-this-person"),
        ] {
            let (snapshot, codes) = raised(&text, age, facts);
            if codes.iter().filter(|own| *own == code).count() != 1 {
                missed.push(format!(
                    "{way}, {age:?} {facts:?}:\n{}",
                    listed(&snapshot.diagnostics)
                ));
            }
        }
        // A grown man of whom nothing is known is asked nothing.
        let (_, codes) = raised(&text, Some("40"), &[]);
        let about: Vec<&String> = codes
            .iter()
            .filter(|one| one.ends_with("-for-this-person") || one.contains("alcohol"))
            .collect();
        assert!(about.is_empty(), "{way}: {about:?}");
    }
    assert!(missed.is_empty(), "{}", missed.join("\n\n"));
}

#[test]
fn alcohol_of_which_nothing_is_said_is_a_finding_on_every_way_in() {
    for (way, formulas) in WAYS {
        let text = format!("{HERBS}material spirit\n\n{formulas}");
        let snapshot = sound(&text);
        let own: Vec<Severity> = findings_of(&snapshot, "tea")
            .iter()
            .filter(|one| one.code.name() == "alcohol-without-cautions")
            .map(|one| one.severity)
            .collect();
        assert_eq!(
            own,
            [Severity::Notice],
            "{way}: {}",
            listed(&snapshot.diagnostics)
        );
        let (_, codes) = raised(&text, Some("8"), &[]);
        assert!(
            codes.contains(&"warning alcohol-without-cautions".to_owned()),
            "{way}: {codes:?}"
        );
    }
}

#[test]
fn what_holds_no_alcohol_is_let_be() {
    for formulas in [
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in olive oil for 14 days\n  makes 40 ml\n",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in wine vinegar for 14 days\n  makes 40 ml\n",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in 5% vinegar for 14 days\n  makes 40 ml\n",
        "formula tea\n  take plain leaf 10 g\n  macerate 1:5 in 60% glycerol for 14 days\n  makes 40 ml\n",
        "formula tea\n  take plain leaf 10 g\n  infuse 2 g in 1 cup of boiling water for 10 minutes\n",
        "material alcohol-free wine\n\nformula tea\n  take\n    plain leaf 10 g\n    alcohol-free wine 50 ml\n",
    ] {
        let codes = codes_of(&ledger(&format!("{HERBS}{formulas}")), "tea");
        assert!(
            !codes.iter().any(|one| one.contains("alcohol")),
            "{formulas}: {codes:?}"
        );
        let (_, codes) = raised(&format!("{HERBS}{SPIRIT}{formulas}"), Some("8"), &[]);
        assert!(
            !codes.iter().any(|one| one.contains("ask-first")),
            "{formulas}: {codes:?}"
        );
    }
}

/// An entry that speaks for itself is not spoken for: its own words count, mild as they are.
#[test]
fn wine_that_says_what_it_asks_for_needs_no_spirit() {
    let text = format!(
        "{HERBS}{SPIRIT}material white wine\n  mind   pregnancy: a spoonful only\n\n\
         formula tea\n  take plain leaf 10 g\n  infuse plain leaf in 100 ml of white wine for 3 days\n  makes 90 ml\n"
    );
    let (_, codes) = raised(&text, Some("30"), &["is pregnant"]);
    assert_eq!(codes, ["notice mind-for-this-person"]);
}

/// The cautions of a bought tincture are the herb's, so they don't speak of its alcohol.
#[test]
fn a_tinctures_cautions_of_the_herb_do_not_stand_for_its_alcohol() {
    let tincture = |line: &str| {
        format!(
            "{HERBS}{SPIRIT}material leaf tincture\n  strength   1:5 of other leaf, 60%\n  {line}\n\n\
             formula tea\n  take\n    leaf tincture 5 ml\n    water 50 ml\n"
        )
    };
    let (_, codes) = raised(&tincture("mind   reflux: sharp"), Some("8"), &[]);
    assert_eq!(codes, ["warning ask-first-for-this-person"]);
    let (_, codes) = raised(
        &tincture("consult   age under 12: holds alcohol"),
        Some("14"),
        &[],
    );
    assert!(codes.is_empty(), "{codes:?}");
}

/// The demo ledger: every tincture, and what is made with one, is asked about for a child and in pregnancy.
#[test]
fn no_tincture_of_the_demo_ledger_is_silent() {
    let mut snapshot = Snapshot::read(&super::low_barn());
    for (person, topic) in [
        (somebody(Some("8"), &[]), "age under 18"),
        (somebody(Some("30"), &["is pregnant"]), "pregnancy"),
    ] {
        snapshot.look_for(&person);
        for formula in [
            "thyme tincture",
            "throat drops",
            "hall gargle",
            "low barn bitters",
        ] {
            let said = findings_of(&snapshot, formula).iter().any(|one| {
                one.severity > Severity::Notice
                    && one.message.contains(topic)
                    && one.message.contains("spirit")
            });
            assert!(said, "{formula}: {topic}");
        }
    }
}
