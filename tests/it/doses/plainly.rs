//! Topics said in plain words: children, length of use, plant families by any of their names; and what is not understood is said.

use scruple::compute::caution::{Bearing, assess};
use scruple::diagnostic::Severity;

use super::{codes_of, ledger, listed, low_barn, run, somebody};

/// Which bearing a caution has for somebody.
fn bearing(lines: &str, age: Option<&str>, facts: &[&str]) -> Vec<Bearing> {
    let snapshot = ledger(&format!(
        "herb some leaf\n{lines}\nformula tea\n  take some leaf 10 g\n"
    ));
    let at = snapshot.formula("tea").unwrap();
    let composition = snapshot
        .figures
        .of(at)
        .unwrap_or_else(|| panic!("{}", listed(&snapshot.diagnostics)));
    let person = somebody(age, facts);
    assess(&snapshot.ledger, &snapshot.figures, composition, Some(&person))
        .into_iter()
        .map(|one| one.bearing)
        .collect()
}

/// Ages from memory: ICH E11 (infants and toddlers up to 23 months), the Convention on the Rights of the Child
/// (under eighteen), ICH E7 (65 and over). Small children under six: common practice, no source.
#[test]
fn words_for_ages_meet_an_age() {
    for (topic, meets, not) in [
        ("children", "17.9", "18"),
        ("child", "8", "18"),
        ("not for children", "8", "18"),
        ("Children and adolescents", "17", "18"),
        ("small children", "5", "6"),
        ("infants", "1.9", "2"),
        ("babies", "0.5", "2"),
        ("children under 12", "11", "12"),
        ("not for children under 12 years", "11", "12"),
        ("infants under 6 months", "0.4", "0.5"),
        ("under 12", "11", "12"),
        ("the elderly", "65", "64"),
        ("older people", "80", "40"),
        ("people over 70", "71", "70"),
    ] {
        let line = format!("  avoid   {topic}: as published\n");
        assert!(
            matches!(bearing(&line, Some(meets), &[])[..], [Bearing::ThisPerson(_)]),
            "{topic} at {meets}"
        );
        assert_eq!(
            bearing(&line, Some(not), &[]),
            [Bearing::Others],
            "{topic} at {not}"
        );
        assert_eq!(
            bearing(&line, None, &["is driving"]),
            [Bearing::NotKnown],
            "{topic}"
        );
        let snapshot = ledger(&format!("herb some leaf\n{line}"));
        assert!(
            snapshot.diagnostics.is_empty(),
            "{topic}: {}",
            listed(&snapshot.diagnostics)
        );
    }
}

#[test]
fn words_for_the_length_of_use_are_told_to_everyone() {
    for topic in [
        "duration",
        "length of use",
        "long use",
        "not for long use",
        "long-term use",
        "prolonged use",
        "not longer than two weeks",
        "no longer than 14 days",
        "for at most three months",
    ] {
        let line = format!("  mind   {topic}\n");
        assert_eq!(bearing(&line, Some("40"), &[]), [Bearing::Everyone], "{topic}");
        let snapshot = ledger(&format!("herb some leaf\n{line}"));
        assert!(
            snapshot.diagnostics.is_empty(),
            "{topic}: {}",
            listed(&snapshot.diagnostics)
        );
    }
}

#[test]
fn small_words_before_a_topic_do_not_hide_it() {
    for (topic, fact) in [
        ("in pregnancy", "is pregnant"),
        ("not in pregnancy", "is pregnant"),
        ("during pregnancy", "is pregnant"),
        ("not during lactation", "is breast-feeding"),
        ("with blood thinners", "takes warfarin"),
        ("not with blood thinners", "takes apixaban"),
        ("in epilepsy", "is epileptic"),
    ] {
        let line = format!("  avoid   {topic}\n");
        assert!(
            matches!(bearing(&line, Some("40"), &[fact])[..], [Bearing::ThisPerson(_)]),
            "{topic}"
        );
        assert_eq!(bearing(&line, Some("40"), &[]), [Bearing::Others], "{topic}");
        // An acceptance goes by the plain name.
        let snapshot = ledger(&format!(
            "herb some leaf\n{line}\nformula tea\n  take some leaf 10 g\n  accept   {topic}: asked\n"
        ));
        assert!(
            snapshot.diagnostics.is_empty(),
            "{topic}: {}",
            listed(&snapshot.diagnostics)
        );
    }
}

#[test]
fn what_is_not_understood_is_said_and_shown_to_everyone() {
    for topic in [
        "kids at school",
        "age of reason",
        "not longer than a song",
        "moonlight",
    ] {
        let line = format!("  mind   {topic}: as heard\n");
        assert_eq!(bearing(&line, Some("40"), &[]), [Bearing::Everyone], "{topic}");
        let snapshot = ledger(&format!("herb some leaf\n{line}"));
        let said: Vec<_> = snapshot
            .diagnostics
            .iter()
            .filter(|one| one.code.name() == "unknown-topic")
            .collect();
        assert!(
            matches!(said[..], [one] if one.severity == Severity::Warning),
            "{topic}"
        );
    }
}

#[test]
fn free_words_beside_their_topic_are_a_finding() {
    let codes = |lines: &str| -> Vec<String> {
        ledger(&format!("herb some leaf\n{lines}"))
            .diagnostics
            .iter()
            .map(|one| one.code.name().to_owned())
            .collect()
    };
    for line in [
        "  mind   driving: not for children\n",
        "  consult   reflux: infants spit it out\n",
        "  mind   toxicity: harms babies\n",
        "  mind   driving: not longer than two weeks\n",
        "  consult   epilepsy: not for long use\n",
    ] {
        assert_eq!(codes(line), ["caution-beside-its-topic"], "{line}");
    }
    for lines in [
        "  consult   pregnancy: may harm the unborn child\n",
        "  consult   lactation: reaches the child\n",
        "  consult   age under 12: not for children\n",
        "  mind   driving: not for children\n  consult   age under 12\n",
        "  mind   toxicity: not longer than two weeks\n",
        "  mind   driving: not longer than two weeks\n  mind   duration: two weeks\n",
        "  mind   warning signs: diarrhoea over 3 days, see a doctor\n",
    ] {
        assert_eq!(codes(lines), Vec::<String>::new(), "{lines}");
    }
}

/// A topic of the ledger's own by the name of an age adds to the age and takes nothing away.
#[test]
fn a_topic_named_children_of_ones_own() {
    let text = "topic children\n  when   is at school\n\nherb some leaf\n  avoid   children\n\nformula tea\n  take some leaf 10 g\n";
    for (age, facts, met) in [
        (Some("8"), &[][..], true),
        (Some("40"), &["is at school"], true),
        (Some("40"), &[], false),
    ] {
        let mut snapshot = ledger(text);
        snapshot.look_for(&somebody(age, facts));
        let codes = codes_of(&snapshot, "tea");
        assert_eq!(
            codes.contains(&"error not-for-this-person".to_owned()),
            met,
            "{age:?} {facts:?}: {codes:?}"
        );
    }
}

// ---- plant families ------------------------------------------------------------------------------

/// The alternative names that the International Code of Nomenclature for algae, fungi, and plants (Shenzhen Code,
/// article 18.5, and 18.6 for Papilionaceae) conserves, written from memory; after them English names of common
/// use, no source.
const FAMILIES: &[(&str, &[&str])] = &[
    (
        "Asteraceae",
        &[
            "Compositae",
            "daisy family",
            "aster family",
            "sunflower family",
            "composite family",
        ],
    ),
    (
        "Brassicaceae",
        &["Cruciferae", "mustard family", "cabbage family"],
    ),
    ("Poaceae", &["Gramineae", "grass family"]),
    ("Clusiaceae", &["Guttiferae"]),
    ("Lamiaceae", &["Labiatae", "mint family", "deadnettle family"]),
    (
        "Fabaceae",
        &[
            "Leguminosae",
            "Papilionaceae",
            "pea family",
            "bean family",
            "legume family",
        ],
    ),
    ("Arecaceae", &["Palmae", "palm family"]),
    (
        "Apiaceae",
        &["Umbelliferae", "carrot family", "parsley family", "celery family"],
    ),
    ("Rosaceae", &["rose family"]),
    ("Zingiberaceae", &["ginger family"]),
    ("Malvaceae", &["mallow family", "Tiliaceae"]),
    ("Caprifoliaceae", &["honeysuckle family", "Valerianaceae"]),
    ("Urticaceae", &["nettle family"]),
    ("Araliaceae", &["ivy family", "ginseng family"]),
];

#[test]
fn a_family_is_met_by_all_its_names_in_the_entry_and_on_the_person() {
    for (family, others) in FAMILIES {
        let names: Vec<&str> = std::iter::once(*family).chain(others.iter().copied()).collect();
        for written in &names {
            for fact in &names {
                let line = format!("  family   {written}\n");
                let fact = format!("allergic {fact}");
                assert!(
                    matches!(bearing(&line, Some("40"), &[&fact])[..], [Bearing::ThisPerson(_)]),
                    "`family {written}` and `{fact}`"
                );
            }
            // A warning by any of the names, too.
            let line = format!("  avoid   allergy {written}\n");
            let fact = format!("allergic {family}");
            assert!(
                matches!(bearing(&line, Some("40"), &[&fact])[..], [Bearing::ThisPerson(_)]),
                "`avoid allergy {written}` and `{fact}`"
            );
        }
        // And by no name of another family.
        for (other, its) in FAMILIES.iter().filter(|(other, _)| other != family) {
            for fact in std::iter::once(other).chain(*its) {
                let line = format!("  family   {family}\n");
                assert_eq!(
                    bearing(&line, Some("40"), &[&format!("allergic {fact}")]),
                    [],
                    "`family {family}` and `allergic {fact}`"
                );
            }
        }
    }
}

/// A caution on other allergies doesn't stand in the way of what the family says.
#[test]
fn another_allergy_of_the_herb_does_not_hide_its_family() {
    let line = "  family   Lamiaceae\n  consult   allergy other: allergy to resins\n";
    let found = bearing(line, Some("40"), &["allergic mint family"]);
    assert!(found.iter().any(|one| matches!(one, Bearing::ThisPerson(_))));
    let snapshot = ledger(&format!(
        "herb some leaf\n{line}\nformula tea\n  take some leaf 10 g\n"
    ));
    let mut snapshot = snapshot;
    snapshot.look_for(&somebody(Some("40"), &["allergic mint family"]));
    assert!(codes_of(&snapshot, "tea").contains(&"error not-for-this-person".to_owned()));
}

#[test]
fn a_family_that_nobody_knows_is_refused_or_a_finding() {
    let ran = run(&low_barn(), &["doses", "hall tea", "--allergic", "Labiateae"]);
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.to_lowercase().contains("did you mean `labiatae`"),
        "{}",
        ran.err
    );
    let ran = run(&low_barn(), &["doses", "hall tea", "--allergic", "dragon family"]);
    assert_eq!(ran.code, 2, "{}", ran.err);
    let snapshot =
        ledger("person 001\n  allergic   Labiateae\n\nperson 002\n  allergic   Labiatae, legume family\n");
    let codes: Vec<&str> = snapshot.diagnostics.iter().map(|one| one.code.name()).collect();
    assert_eq!(codes, ["unknown-fact"]);
}

/// The words of an allergy to a plant and the family that is asked about; the families from memory (common
/// botanical knowledge).
#[test]
fn an_allergy_to_a_plant_reaches_its_family() {
    for (plant, family) in [
        ("mint", "Lamiaceae"),
        ("peanut", "Fabaceae"),
        ("chickpea", "Fabaceae"),
        ("soya", "Fabaceae"),
        ("liquorice", "Leguminosae"),
        ("grass", "Poaceae"),
        ("grass pollen", "Gramineae"),
        ("ivy", "Araliaceae"),
        ("birch", "Betulaceae"),
        ("birch pollen", "Betulaceae"),
        ("plantain", "Plantaginaceae"),
        ("psyllium", "Plantaginaceae"),
        ("ispaghula", "Plantaginaceae"),
        ("primula", "Primulaceae"),
        ("primrose", "Primulaceae"),
        ("cowslip", "Primulaceae"),
        ("olive", "Oleaceae"),
    ] {
        let fact = format!("allergic {plant}");
        let mut snapshot = ledger(&format!(
            "herb some leaf\n  family   {family}\n\nherb far leaf\n  family   Rosaceae\n  mind   allergy other: rare skin reactions\n\n\
             formula tea\n  take some leaf 10 g\n\nformula far tea\n  take far leaf 10 g\n"
        ));
        snapshot.look_for(&somebody(Some("40"), &[&fact]));
        assert_eq!(
            codes_of(&snapshot, "tea"),
            ["warning ask-first-for-this-person"],
            "{plant}"
        );
        // What names nothing of theirs isn't told as theirs.
        assert_eq!(codes_of(&snapshot, "far tea"), Vec::<String>::new(), "{plant}");
    }
    // An allergy that nobody has named may be any of them.
    let line = "  mind   allergy other: rare skin reactions\n";
    for fact in ["allergic other", "allergic menthol"] {
        assert!(
            matches!(bearing(line, Some("40"), &[fact])[..], [Bearing::ThisPerson(_)]),
            "{fact}"
        );
    }
    // A plant of the same family in its words is near enough: a cowslip is a primula.
    let line = "  avoid   allergy other: an allergy to primula\n";
    assert!(matches!(
        bearing(line, Some("40"), &["allergic cowslip"])[..],
        [Bearing::ThisPerson(_)]
    ));
    assert_eq!(bearing(line, Some("40"), &["allergic birch"]), [Bearing::Others]);
}

#[test]
fn the_plant_itself_is_to_be_avoided() {
    for (fact, herb, lines) in [
        ("allergic birch pollen", "birch leaf", "  family   Betulaceae\n"),
        ("allergic birch", "birch leaf", "  part   leaf\n"),
        ("allergic mint", "spearmint leaf", "  family   Lamiaceae\n"),
        ("allergic olive", "olive leaf", "  family   Oleaceae\n"),
    ] {
        let mut snapshot = ledger(&format!(
            "herb {herb}\n{lines}\nformula tea\n  take {herb} 10 g\n"
        ));
        snapshot.look_for(&somebody(Some("40"), &[fact]));
        assert_eq!(
            codes_of(&snapshot, "tea"),
            ["error not-for-this-person"],
            "{fact}"
        );
    }
    // Evening primrose is no primrose (Onagraceae, from memory).
    let mut snapshot = ledger(
        "herb evening primrose seed\n  family   Onagraceae\n\nformula tea\n  take evening primrose seed 10 g\n",
    );
    snapshot.look_for(&somebody(Some("40"), &["allergic primrose"]));
    assert_eq!(codes_of(&snapshot, "tea"), Vec::<String>::new());
}

#[test]
fn mint_finds_the_mints_of_the_garden_tea_and_no_nettle() {
    let ran = run(
        &low_barn(),
        &["doses", "garden tea", "--allergic", "mint", "--as", "json"],
    );
    let own: Vec<String> = super::cautions_by(&ran.json())
        .remove("this person")
        .unwrap_or_default();
    assert!(own.iter().any(|one| one.contains("spearmint")), "{own:?}");
    assert!(own.iter().any(|one| one.contains("lemon balm")), "{own:?}");
    assert!(!own.iter().any(|one| one.contains("nettle")), "{own:?}");
}

/// One slip is one finding: what is not understood is not to be avoided by everyone.
#[test]
fn a_topic_that_is_not_understood_is_one_finding() {
    for (topic, help) in [
        (
            "pregnancy, lactation",
            "`avoid   pregnancy` and `avoid   lactation`",
        ),
        (
            "in pregnancy and lactation",
            "`avoid   in pregnancy` and `avoid   lactation`",
        ),
        ("pregnansy", "did you mean `pregnancy`?"),
        ("breast feding", "did you mean `breast feeding`?"),
    ] {
        let mut snapshot = ledger(&format!(
            "herb some leaf\n  avoid   {topic}\n\nformula tea\n  take some leaf 10 g\n"
        ));
        snapshot.look_for(&somebody(Some("40"), &["is male"]));
        let codes: Vec<&str> = snapshot.diagnostics.iter().map(|one| one.code.name()).collect();
        assert_eq!(
            codes,
            ["unknown-topic"],
            "{topic}: {}",
            listed(&snapshot.diagnostics)
        );
        let said = snapshot.diagnostics[0].help.clone().unwrap_or_default();
        assert!(said.contains(help), "{topic}: {said}");
        // It is still shown to everyone.
        let line = format!("  avoid   {topic}\n");
        assert_eq!(bearing(&line, Some("40"), &["is male"]), [Bearing::Everyone]);
    }
    for (topic, fact) in [
        ("breast feeding", "is breast-feeding"),
        ("breast-feeding", "is breastfeeding"),
        ("breastfeeding", "is breast feeding"),
        ("blood thinning medicines", "takes warfarin"),
        ("blood-thinning medicines", "takes warfarin"),
        ("anticoagulants", "takes aspirin"),
    ] {
        let line = format!("  avoid   {topic}\n");
        assert!(
            matches!(bearing(&line, Some("40"), &[fact])[..], [Bearing::ThisPerson(_)]),
            "{topic}"
        );
        assert_eq!(
            bearing(&line, Some("40"), &["is male"]),
            [Bearing::Others],
            "{topic}"
        );
    }
}

/// Fennel's length of use for children is said to the child of eight and not to the man of 45 (Commission
/// Decision 2008/911/EC, annex II: children 4 to 12, less than one week).
#[test]
fn a_childs_length_of_use_is_told_for_the_child() {
    for (person, theirs) in [("088", true), ("040", false)] {
        let ran = run(
            &low_barn(),
            &["doses", "chest tea", "--person", person, "--as", "json"],
        );
        let by = super::cautions_by(&ran.json());
        let told = by.get("this person").is_some_and(|own| {
            own.iter()
                .any(|one| one.contains("age under 12") && one.contains("fennel"))
        });
        assert_eq!(told, theirs, "{person}: {by:?}");
    }
}
