//! Whom a caution is for: facts and topics that a ledger adds, facts with a slip in them, acceptances with
//! and without a reason and an object, formulas inside formulas, and what adds up.

use scruple::compute::caution::{Bearing, assess};
use scruple::diagnostic::Severity;
use scruple::model::Person;
use scruple::workspace::Snapshot;

use super::{codes_of, findings_of, ledger, listed, on_disk, run, somebody, sound};

const HERBS: &str = "herb mild leaf\n  consult   pregnancy: not studied\n\n\
    herb strong root\n  avoid   pregnancy: not to be taken\n  mind   driving: may make drowsy\n\n\
    herb plain flower\n\n";

/// A formula for somebody, after `check` looked for them.
fn looked(text: &str, person: &Person) -> Snapshot {
    let mut snapshot = sound(text);
    snapshot.look_for(person);
    snapshot
}

fn pregnant() -> Person {
    somebody(Some("30"), &["is pregnant"])
}

// ---- acceptances -------------------------------------------------------------------------------

#[test]
fn an_acceptance_softens_by_one_step_and_keeps_its_reason_in_sight() {
    for (herb, accept, code) in [
        ("mild leaf", "", "warning ask-first-for-this-person"),
        (
            "mild leaf",
            "  accept   pregnancy: two cups a week, midwife asked\n",
            "notice ask-first-for-this-person",
        ),
        ("strong root", "", "error not-for-this-person"),
        (
            "strong root",
            "  accept   pregnancy: two cups a week, midwife asked\n",
            "warning not-for-this-person",
        ),
    ] {
        let snapshot = looked(
            &format!("{HERBS}formula tea\n  take   {herb} 10 g\n{accept}"),
            &pregnant(),
        );
        assert_eq!(codes_of(&snapshot, "tea"), [code], "{herb} {accept}");
        if !accept.is_empty() {
            assert!(
                findings_of(&snapshot, "tea")[0]
                    .message
                    .contains("two cups a week, midwife asked")
            );
        }
    }
}

#[test]
fn an_acceptance_without_a_reason_counts_for_nothing_and_is_said() {
    for accept in ["pregnancy", "pregnancy:", "pregnancy:   "] {
        let text = format!("{HERBS}formula tea\n  take   strong root 10 g\n  accept   {accept}\n");
        let snapshot = looked(&text, &pregnant());
        assert_eq!(
            codes_of(&snapshot, "tea"),
            ["error not-for-this-person", "warning accepted-without-a-reason"],
            "`{accept}`"
        );
    }
}

#[test]
fn an_acceptance_goes_by_any_name_of_its_topic_and_by_no_other_topic() {
    let text = |topic: &str| {
        format!(
            "herb thin root\n  consult   anticoagulants: thins the blood\n  consult   age under 12\n\nformula tea\n  take   thin root 10 g\n  accept   {topic}: asked the doctor\n"
        )
    };
    let person = somebody(Some("30"), &["takes warfarin"]);
    for topic in [
        "anticoagulants",
        "Anticoagulants",
        "anticoagulant",
        "blood thinners",
    ] {
        assert_eq!(
            codes_of(&looked(&text(topic), &person), "tea"),
            ["notice ask-first-for-this-person"],
            "{topic}"
        );
    }
    for topic in ["driving", "pregnancy", "age under 18", "age"] {
        let snapshot = looked(&text(topic), &person);
        assert_eq!(
            codes_of(&snapshot, "tea"),
            ["warning ask-first-for-this-person", "warning nothing-to-accept"],
            "{topic}"
        );
    }
    let child = somebody(Some("8"), &[]);
    assert_eq!(
        codes_of(&looked(&text("age under 12"), &child), "tea"),
        ["notice ask-first-for-this-person"]
    );
    assert_eq!(
        codes_of(&looked(&text("age under 12 years"), &child), "tea"),
        ["notice ask-first-for-this-person"]
    );
}

#[test]
fn an_acceptance_without_an_object_is_a_finding() {
    let text = format!("{HERBS}formula tea\n  take   plain flower 10 g\n  accept   pregnancy: person told\n");
    assert_eq!(codes_of(&sound(&text), "tea"), ["warning nothing-to-accept"]);
    // A slip of the pen is offered.
    let text = format!("{HERBS}formula tea\n  take   mild leaf 10 g\n  accept   pregnansy: person told\n");
    let snapshot = sound(&text);
    assert_eq!(codes_of(&snapshot, "tea"), ["warning nothing-to-accept"]);
    assert!(
        findings_of(&snapshot, "tea")[0]
            .help
            .clone()
            .unwrap()
            .contains("`pregnancy`")
    );
}

#[test]
fn an_adaptation_keeps_what_was_accepted() {
    let text = format!(
        "{HERBS}formula base tea\n  take   mild leaf 10 g\n  accept   pregnancy: two cups a week\n\n\
         formula tea\n  adapts   base tea\n  take\n    plain flower   10 g\n"
    );
    let snapshot = looked(&text, &pregnant());
    let about: Vec<_> = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.code.name() == "ask-first-for-this-person")
        .collect();
    // One for the formula that is adapted, one for the adaptation.
    assert_eq!(about.len(), 2, "{}", listed(&snapshot.diagnostics));
    for one in about {
        assert_eq!(one.severity, Severity::Notice);
        assert!(one.message.contains("two cups a week"), "{}", one.message);
    }
}

/// What was accepted for a herb to ask about first was not accepted for one that is not to be taken at all.
#[test]
fn an_acceptance_does_not_reach_a_graver_caution_that_came_later() {
    let text = format!(
        "{HERBS}formula base tea\n  take   mild leaf 10 g\n  accept   pregnancy: a pinch of mild leaf, person told\n\n\
         formula tea\n  adapts   base tea\n  take\n    strong root   10 g\n"
    );
    let snapshot = looked(&text, &pregnant());
    let of_root: Vec<_> = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.code.name() == "not-for-this-person")
        .collect();
    assert_eq!(of_root.len(), 1, "{}", listed(&snapshot.diagnostics));
    assert_eq!(of_root[0].severity, Severity::Error, "{}", of_root[0].message);
}

/// What an inner formula accepted is not accepted for the one that takes it.
#[test]
fn an_acceptance_of_an_inner_formula_is_its_own() {
    let text = format!(
        "{HERBS}formula inner tea\n  take   strong root 10 g\n  accept   pregnancy: only a little\n\n\
         formula tea\n  take   inner tea, plain flower of each 10 g\n"
    );
    let snapshot = looked(&text, &pregnant());
    assert_eq!(codes_of(&snapshot, "tea"), ["error not-for-this-person"]);
}

#[test]
fn an_allergy_by_kinship_may_be_accepted_also_for_a_herb_inside() {
    let herbs = "herb chicory root\n  family   Asteraceae\n\nherb plain flower\n\nformula inner tea\n  take   chicory root 10 g\n\n";
    let person = somebody(Some("30"), &["allergic Asteraceae"]);
    for take in ["chicory root", "inner tea"] {
        let text = format!(
            "{herbs}formula tea\n  take   {take} 10 g\n  accept   allergy Asteraceae: tested, bears chicory well\n"
        );
        let snapshot = looked(&text, &person);
        assert_eq!(
            codes_of(&snapshot, "tea"),
            ["warning not-for-this-person"],
            "{take}"
        );
    }
}

// ---- formulas inside formulas ------------------------------------------------------------------

#[test]
fn a_herb_inside_a_formula_inside_a_formula_is_found() {
    let text = format!(
        "{HERBS}formula inner tea\n  take   strong root, plain flower of each 10 g\n\n\
         formula middle tea\n  take   inner tea, plain flower of each 10 g\n\n\
         formula tea\n  take   middle tea, plain flower of each 10 g\n"
    );
    let snapshot = looked(&text, &pregnant());
    for formula in ["inner tea", "middle tea", "tea"] {
        assert_eq!(
            codes_of(&snapshot, formula),
            ["error not-for-this-person"],
            "{formula}"
        );
    }
}

/// Through a tincture by the millilitre, a salve, a syrup, something by judgement, and something without a weight.
#[test]
fn a_herb_is_found_however_it_went_in() {
    let before = "herb strong root\n  avoid   pregnancy: not to be taken\n\nmaterial spirit\n\nmaterial wax\n\nmaterial oil\n\n\
        formula strong drops\n  take   strong root 10 g\n  macerate   1:5 in spirit for 14 days\n  makes   50 ml\n\n";
    for lines in [
        "take\n    strong drops   5 ml\n    water   q.s. to 100 ml",
        "take\n    strong root   q.s.\n    wax   10 g",
        "take\n    strong root   q.s., about 1 g\n    wax   10 g",
        "take\n    strong root   10 g\n    oil   50 ml\n  given   on the skin",
        "take   strong drops 5 ml\n  given   as a gargle",
    ] {
        let snapshot = looked(&format!("{before}formula tea\n  {lines}\n"), &pregnant());
        let codes = codes_of(&snapshot, "tea");
        assert!(
            codes.contains(&"error not-for-this-person".to_owned()),
            "{lines}: {codes:?}"
        );
    }
}

/// A liquid that only a step brings in is in it all the same: the wine, the spirit, another formula.
#[test]
fn what_a_step_brings_in_is_found_too() {
    let before = "herb plain flower\n\nherb strong root\n  avoid   pregnancy: not to be taken\n\n\
        material strong wine\n  avoid   pregnancy: alcohol\n\nmaterial spirit\n  avoid   pregnancy: alcohol\n\n\
        formula strong drops\n  take   strong root 10 g\n  macerate   1:5 in oil for 14 days\n  makes   50 ml\n\nmaterial oil\n\n";
    let mut missed = Vec::new();
    for step in [
        "macerate   1:5 in strong wine for 3 days",
        "macerate   1:5 in 60% spirit for 3 days",
        "infuse   2 g in 100 ml of strong wine for 10 minutes",
        "decoct   plain flower in 100 ml of water and 50 ml of strong wine for 10 minutes",
        "macerate   1:5 in strong drops for 3 days",
    ] {
        let snapshot = looked(
            &format!("{before}formula tea\n  take   plain flower 10 g\n  {step}\n"),
            &pregnant(),
        );
        if !codes_of(&snapshot, "tea").contains(&"error not-for-this-person".to_owned()) {
            missed.push(step);
        }
    }
    assert!(missed.is_empty(), "missed: {missed:?}");
}

#[test]
fn two_of_one_effect_are_added_up_and_three_are_one_finding() {
    let herbs = "herb first herb\n  mind   driving: drowsy\n\nherb second herb\n  consult   sedatives: adds to them\n\n\
        herb third herb\n  mind   alcohol: deepens it\n\nherb fourth herb\n  mind   anticoagulants\n\nherb fifth herb\n  avoid   anticoagulants\n\n\
        formula inner tea\n  take   first herb 10 g\n\n";
    for (take, said) in [
        ("first herb", vec![]),
        ("first herb, second herb", vec!["2 herbs"]),
        ("first herb, second herb, third herb", vec!["3 herbs"]),
        ("inner tea, second herb", vec!["2 herbs"]),
        ("first herb, fourth herb", vec![]),
        ("fourth herb, fifth herb", vec!["2 herbs"]),
        (
            "first herb, second herb, fourth herb, fifth herb",
            vec!["2 herbs", "2 herbs"],
        ),
    ] {
        let snapshot = sound(&format!("{herbs}formula tea\n  take   {take} of each 10 g\n"));
        let own = findings_of(&snapshot, "tea");
        let messages: Vec<&str> = own
            .iter()
            .filter(|one| one.code.name() == "same-effect-twice")
            .map(|one| one.message.as_str())
            .collect();
        assert_eq!(messages.len(), said.len(), "{take}: {messages:?}");
        for (message, said) in messages.iter().zip(said) {
            assert!(message.contains(said), "{message}");
        }
    }
}

// ---- topics of the ledger's own -----------------------------------------------------------------

#[test]
fn a_topic_of_the_ledgers_own() {
    let text = "topic hay fever\n  also   pollen\n  when   is prone to hay fever, takes antihistamines\n  effect   may bring on sneezing\n\n\
        herb first herb\n  avoid   hay fever: makes it worse\n\nherb second herb\n  mind   pollen\n\n\
        formula tea\n  take   first herb, second herb of each 10 g\n";
    for fact in [
        "is prone to hay fever",
        "takes antihistamines",
        "is hay fever",
        "is pollen",
    ] {
        let snapshot = looked(text, &somebody(Some("30"), &[fact]));
        assert_eq!(
            codes_of(&snapshot, "tea"),
            [
                "error not-for-this-person",
                "notice mind-for-this-person",
                "notice same-effect-twice"
            ],
            "{fact}"
        );
    }
    let snapshot = looked(text, &somebody(Some("30"), &["is driving"]));
    assert_eq!(codes_of(&snapshot, "tea"), ["notice same-effect-twice"]);
}

/// `topics.scruple`: what is missing there, a ledger adds with a topic of the same name. What it adds to must
/// go on being met: a medicine that the program has known so far may not be forgotten over it.
#[test]
fn a_topic_that_adds_to_one_of_the_programs_forgets_nothing() {
    let herb = "herb thin root\n  consult   anticoagulants: thins the blood\n\nformula tea\n  take   thin root 10 g\n";
    let mut missed = Vec::new();
    for added in [
        "",
        "topic anticoagulants\n  when   takes fish oil\n\n",
        "topic anticoagulants\n  also   fish oil\n\n",
        "topic blood thinners\n  when   takes fish oil\n\n",
    ] {
        let mut facts = vec!["takes warfarin", "takes anticoagulants", "takes blood thinners"];
        if !added.is_empty() {
            facts.push("takes fish oil");
        }
        for fact in facts {
            // `also fish oil` with no `when` says of nobody in particular how it is taken; the words are enough.
            let snapshot = looked(&format!("{added}{herb}"), &somebody(Some("30"), &[fact]));
            if !codes_of(&snapshot, "tea").contains(&"warning ask-first-for-this-person".to_owned()) {
                missed.push(format!("{} and {fact}", added.replace('\n', " ").trim()));
            }
        }
    }
    assert!(missed.is_empty(), "missed:\n{}", missed.join("\n"));
}

/// A `when` that is not understood is said: the topic would concern nobody, and its cautions would be silent.
#[test]
fn a_topic_that_concerns_nobody_is_a_finding() {
    let mut silent = Vec::new();
    for lines in [
        "  when   pregnant\n",
        "  when   takes\n",
        "  when   if pregnant\n",
        "  note   nothing more\n",
        "",
    ] {
        let text = format!(
            "topic hay fever\n{lines}\nherb thin root\n  avoid   hay fever: never\n\nformula tea\n  take   thin root 10 g\n"
        );
        let snapshot = ledger(&text);
        if snapshot
            .diagnostics
            .iter()
            .all(|one| one.severity == Severity::Notice)
        {
            silent.push(lines.trim());
        }
    }
    assert!(silent.is_empty(), "nothing is said of topics with {silent:?}");
}

/// A topic that nobody has described may concern anyone: it is shown to everyone, and it is said.
#[test]
fn an_unknown_topic_is_said_and_shown_to_everyone() {
    let text = "herb thin root\n  avoid   pregnansy: never\n  consult   age under six months: never\n\nformula tea\n  take   thin root 10 g\n";
    let snapshot = ledger(text);
    let topics: Vec<_> = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.code.name() == "unknown-topic")
        .collect();
    assert_eq!(topics.len(), 2, "{}", listed(&snapshot.diagnostics));
    assert!(topics[0].help.clone().unwrap().contains("pregnancy"));
    let composition = snapshot.figures.of(snapshot.formula("tea").unwrap()).unwrap();
    for person in [pregnant(), somebody(Some("30"), &[])] {
        let found = assess(&snapshot.ledger, &snapshot.figures, composition, Some(&person));
        assert!(found.iter().all(|one| one.bearing == Bearing::Everyone));
        assert_eq!(found.len(), 2);
    }
}

/// `age under 6 months` is half a year, and `age over 65` begins after 65 years.
#[test]
fn ages_in_months_and_ages_from_above() {
    let text = "herb first herb\n  avoid   age under 6 months: never\n\nherb second herb\n  consult   age over 65: less\n\n\
        formula tea\n  take   first herb, second herb of each 10 g\n";
    let snapshot = ledger(text);
    assert!(
        snapshot
            .diagnostics
            .iter()
            .all(|one| one.severity == Severity::Notice),
        "{}",
        listed(&snapshot.diagnostics)
    );
    for (age, codes) in [
        ("0.4", &["error not-for-this-person"][..]),
        ("0.5", &[]),
        ("34", &[]),
        ("65", &[]),
        ("66", &["warning ask-first-for-this-person"]),
    ] {
        assert_eq!(
            codes_of(&looked(text, &somebody(Some(age), &[])), "tea"),
            codes,
            "{age}"
        );
    }
}

// ---- people in the ledger -----------------------------------------------------------------------

/// A formula that is made for a person is looked at for that person, with nobody named.
#[test]
fn a_formula_made_for_a_person_is_looked_at_for_them() {
    let text = format!(
        "{HERBS}person 005\n  age   30\n  is   pregnant\n\nformula tea\n  person   005\n  take   strong root 10 g\n"
    );
    let snapshot = sound(&text);
    assert_eq!(codes_of(&snapshot, "tea"), ["error not-for-this-person"]);
    assert!(findings_of(&snapshot, "tea")[0].message.contains("person 005"));
    let folder = on_disk(&[("practice.scruple", &text)]);
    let ran = run(folder.path(), &["doses", "tea"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.flat().contains("person 005: 30 years, is pregnant"),
        "{}",
        ran.out
    );
}

/// A slip in a fact hides a caution, so it is said wherever the person is asked for: by `check` and by `doses`.
#[test]
fn a_fact_that_no_topic_knows_is_said_by_every_command() {
    let text = "herb thin root\n  consult   anticoagulants: thins the blood\n\nperson 005\n  takes   warfarine\n\nformula tea\n  take   thin root 10 g\n";
    let folder = on_disk(&[("practice.scruple", text)]);
    let mut silent = Vec::new();
    for arguments in [
        &["check"][..],
        &["check", "--person", "005"],
        &["doses", "tea", "--person", "005"],
    ] {
        let ran = run(folder.path(), arguments);
        let said = ran.flat() + &ran.err;
        if !said.contains("warfarin`") || ran.code == 0 {
            silent.push(format!("{arguments:?}: exit {}\n{}", ran.code, ran.out));
        }
    }
    assert!(silent.is_empty(), "{}", silent.join("\n"));
}

/// Where a line of a person was refused, nothing can be said to be right for them.
#[test]
fn a_person_with_an_error_is_not_looked_at_by_half() {
    let text = "herb thin root\n  avoid   age under 12: never\n\nperson 005\n  age   acht\n\nformula tea\n  person   005\n  take   thin root 10 g\n";
    let folder = on_disk(&[("practice.scruple", text)]);
    for arguments in [
        &["check"][..],
        &["check", "--person", "005"],
        &["doses", "tea", "--person", "005"],
        &["doses", "tea"],
    ] {
        let ran = run(folder.path(), arguments);
        assert_ne!(ran.code, 0, "{arguments:?}\n{}", ran.out);
        assert!(
            !ran.flat().contains("None of the stated cautions does"),
            "{arguments:?}\n{}",
            ran.out
        );
    }
}

/// What looks like a name does not belong into a ledger; the codes of the examples do not look like one.
#[test]
fn names_are_found_and_codes_are_not() {
    for (code, found) in [
        ("017", false),
        ("K-12", false),
        ("2026-017", false),
        ("A17", false),
        ("Ada Example", true),
        ("ada", true),
        ("ada@example.org", true),
        ("1990-05-17", true),
        ("17.5.1990", true),
        ("19900517", true),
    ] {
        let snapshot = ledger(&format!("person {code}\n  age   30\n"));
        let said = snapshot
            .diagnostics
            .iter()
            .any(|one| one.code.name() == "looks-like-a-name" && one.severity == Severity::Warning);
        assert_eq!(said, found, "{code}: {}", listed(&snapshot.diagnostics));
    }
}

/// A birth date or an address may stand in a note as well as in the code.
#[test]
fn what_gives_a_person_away_is_found_in_their_lines_too() {
    let mut silent = Vec::new();
    for line in [
        "note   born 1990-05-17",
        "note   ada@example.org",
        "note   born on 17.5.1990",
    ] {
        let snapshot = ledger(&format!("person 017\n  {line}\n"));
        if !snapshot
            .diagnostics
            .iter()
            .any(|one| one.code.name() == "looks-like-a-name")
        {
            silent.push(line);
        }
    }
    assert!(silent.is_empty(), "nothing is said of {silent:?}");
}

// ---- by tradition -------------------------------------------------------------------------------

/// Summed by weight, and a hint only where it runs the person's own way by more than half.
#[test]
fn natures_are_summed_by_weight() {
    let herbs = "herb hot root\n  nature   warming, drying\n\nherb cold leaf\n  nature   cooling\n\n";
    for (hot, cold, nature, hint) in [
        (30, 10, "warm", true),
        (30, 10, "cold", false),
        (10, 30, "cold", true),
        (20, 20, "warm", false),
        (30, 10, "dry", true),
    ] {
        let text = format!(
            "{herbs}person 005\n  nature   {nature}\n\nformula tea\n  person   005\n  take\n    hot root   {hot} g\n    cold leaf  {cold} g\n"
        );
        let snapshot = sound(&text);
        let codes = codes_of(&snapshot, "tea");
        assert_eq!(
            codes == ["notice against-the-nature"],
            hint,
            "{hot} {cold} {nature}: {codes:?}"
        );
        if hint {
            assert!(findings_of(&snapshot, "tea")[0].message.contains("75 %"));
            assert!(
                findings_of(&snapshot, "tea")[0]
                    .help
                    .clone()
                    .unwrap()
                    .contains("traditional")
            );
        }
    }
}
