//! Every caution of `cautions.tsv`, for exactly the person that it concerns and for those it does not.
//!
//! There is a one-herb formula for each of the 81 herbs of the built-in reference. For each fact the set
//! of all cautions that bear on a person with just that fact must be the set of rows on its topic: nothing
//! missed, nothing besides. What fact is meant by a topic is said here anew, in the words in which somebody
//! would write down a person; the program's own list of topics is not looked at.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::LazyLock;

use scruple::compute::caution::{Bearing, assess};
use scruple::diagnostic::Severity;
use scruple::model::{Level, Person};
use scruple::workspace::Snapshot;

use super::{
    R, caution_rows, dec, findings_of, herb_rows, listed, r, reference_name, somebody, with_reference,
};

/// A caution: which herb, about what, how strong.
type Caution = (String, String, &'static str);

/// What somebody is, takes or does not bear, and the topics of the table that it concerns.
const FACTS: &[(&str, &[&str])] = &[
    ("is pregnant", &["pregnancy"]),
    ("is breast-feeding", &["lactation"]),
    ("is breastfeeding", &["lactation"]),
    ("is driving", &["driving"]),
    ("takes alcohol", &["alcohol"]),
    ("is awaiting surgery", &["surgery"]),
    ("is before an operation", &["surgery"]),
    ("is male", &["sex"]),
    // Medicines, by class.
    ("takes sedatives", &["sedatives"]),
    ("takes sleeping tablets", &["sedatives"]),
    ("takes antidepressants", &["antidepressants"]),
    ("takes anticoagulants", &["anticoagulants"]),
    ("takes blood thinners", &["anticoagulants"]),
    ("takes antihypertensives", &["antihypertensives"]),
    ("takes blood-pressure tablets", &["antihypertensives"]),
    ("takes diuretics", &["diuretics"]),
    ("takes water tablets", &["diuretics"]),
    ("takes heart medicines", &["heart-medicines"]),
    ("takes digitalis", &["heart-medicines"]),
    ("takes diabetes medicines", &["diabetes-medicines"]),
    ("takes hormonal contraceptives", &["hormonal-contraceptives"]),
    ("takes the pill", &["hormonal-contraceptives"]),
    ("takes immunosuppressants", &["immunosuppressants"]),
    ("takes cyp medicines", &["cyp-medicines"]),
    ("takes iron tablets", &["iron-absorption"]),
    // Medicines by their generic names (classes from memory).
    ("takes warfarin", &["anticoagulants"]),
    ("takes phenprocoumon", &["anticoagulants"]),
    ("takes apixaban", &["anticoagulants"]),
    ("takes rivaroxaban", &["anticoagulants"]),
    ("takes heparin", &["anticoagulants"]),
    ("takes diazepam", &["sedatives"]),
    ("takes zopiclone", &["sedatives"]),
    ("takes sertraline", &["antidepressants"]),
    ("takes citalopram", &["antidepressants"]),
    ("takes amlodipine", &["antihypertensives"]),
    ("takes ramipril", &["antihypertensives"]),
    ("takes furosemide", &["diuretics"]),
    ("takes hydrochlorothiazide", &["diuretics"]),
    ("takes digoxin", &["heart-medicines"]),
    ("takes amiodarone", &["heart-medicines"]),
    ("takes insulin", &["diabetes-medicines"]),
    ("takes metformin", &["diabetes-medicines"]),
    ("takes levonorgestrel", &["hormonal-contraceptives"]),
    ("takes ciclosporin", &["immunosuppressants"]),
    ("takes tacrolimus", &["immunosuppressants"]),
    ("takes simvastatin", &["cyp-medicines"]),
    // Allergies by plant family and to salicylates.
    ("allergic Asteraceae", &["allergy-asteraceae"]),
    ("allergic Compositae", &["allergy-asteraceae"]),
    ("allergic daisy family", &["allergy-asteraceae"]),
    ("allergic Apiaceae", &["allergy-apiaceae"]),
    ("allergic Umbelliferae", &["allergy-apiaceae"]),
    ("allergic celery", &["allergy-apiaceae"]),
    ("allergic salicylates", &["allergy-salicylate"]),
    ("allergic acetylsalicylic acid", &["allergy-salicylate"]),
    // Illnesses and complaints.
    ("is asthmatic", &["asthma"]),
    ("is gallstones", &["bile"]),
    ("is living with gallstones", &["bile"]),
    ("is liver disease", &["liver"]),
    ("is living with liver disease", &["liver"]),
    ("is kidney disease", &["kidney"]),
    ("is living with kidney disease", &["kidney"]),
    ("is heart disease", &["heart"]),
    ("is living with heart failure", &["heart", "fluid-restriction"]),
    ("is on limited fluids", &["fluid-restriction"]),
    ("is hypertensive", &["hypertension"]),
    ("is high blood pressure", &["hypertension"]),
    ("is low in potassium", &["low-potassium"]),
    ("is dehydrated", &["low-potassium"]),
    ("is diabetic", &["diabetes"]),
    ("is G6PD deficiency", &["g6pd"]),
    ("is prone to heartburn", &["reflux"]),
    ("is reflux", &["reflux"]),
    ("is stomach ulcer", &["ulcer"]),
    ("is living with an ulcer", &["ulcer"]),
    ("is bowel obstruction", &["bowel"]),
    ("is epileptic", &["epilepsy"]),
    ("is fair-skinned", &["photosensitivity"]),
];

/// Topics that anyone is told of.
const FOR_EVERYONE: &[&str] = &[
    "sex",
    "photosensitivity",
    "medicine-absorption",
    "duration",
    "warning-signs",
    "preparation",
    "not-oral",
    "toxicity",
    "fluid-intake",
];

/// Allergies to something that a caution names, and the herbs whose caution names it.
const NAMED_ALLERGIES: &[(&str, &[&str])] = &[
    ("menthol", &["peppermint-leaf"]),
    ("anethole", &["anise-fruit"]),
    ("mint family", &["thyme-herb"]),
    ("Peru balsam", &["cinnamon-bark"]),
    ("birch pollen", &["birch-leaf"]),
    ("ivy family", &["ivy-leaf"]),
    ("primula", &["primula-root", "primula-flower"]),
    ("peanut", &["fenugreek-seed"]),
    ("chickpea", &["fenugreek-seed"]),
    ("psyllium", &["ispaghula-husk", "psyllium-seed"]),
    ("ispaghula", &["ispaghula-husk", "psyllium-seed"]),
];

/// The reference and a formula for each of its herbs.
fn all_herbs() -> Snapshot {
    static ALL: LazyLock<String> = LazyLock::new(|| {
        let mut text = String::new();
        for row in herb_rows() {
            let herb = reference_name(row.get("key"));
            writeln!(text, "formula tea of {herb}\n  take {herb} 10 g\n").unwrap();
        }
        text
    });
    let snapshot = with_reference(&ALL);
    assert!(
        snapshot
            .diagnostics
            .iter()
            .all(|one| one.severity == Severity::Notice || one.code == scruple::code::NOT_FOR_ANYONE),
        "{}",
        listed(&snapshot.diagnostics)
    );
    snapshot
}

/// The same, for tests that ask for nobody in `check`.
fn shared() -> &'static Snapshot {
    static SHARED: LazyLock<Snapshot> = LazyLock::new(all_herbs);
    &SHARED
}

/// A topic of the table as the language writes it; `age` with its bound.
fn written(topic: &str, below: &str) -> String {
    match topic {
        "age" => format!("age under {below}"),
        _ => topic.replace('-', " "),
    }
}

/// The rows on some topics, as cautions.
fn rows_on(wanted: impl Fn(&str, &str) -> bool) -> BTreeSet<Caution> {
    caution_rows()
        .iter()
        .filter(|row| wanted(row.get("topic"), row.get("age_below_years")))
        .map(|row| {
            (
                reference_name(row.get("herb_key")).to_owned(),
                written(row.get("topic"), row.get("age_below_years")),
                match row.get("level") {
                    "avoid" => "avoid",
                    "consult" => "consult",
                    "mind" => "mind",
                    other => panic!("{other}"),
                },
            )
        })
        .collect()
}

/// The cautions that bear in a certain way on a person, over all herbs.
fn assessed(
    snapshot: &Snapshot,
    person: Option<&Person>,
    wanted: impl Fn(&Bearing) -> bool,
) -> BTreeSet<Caution> {
    let mut found = BTreeSet::new();
    for composition in snapshot.figures.formulas.iter().flatten() {
        for one in assess(&snapshot.ledger, &snapshot.figures, composition, person) {
            if wanted(&one.bearing) {
                let herb = snapshot.ledger.substances[one.substance].name.clone();
                found.insert((herb, one.topic.to_lowercase(), one.level.word()));
            }
        }
    }
    found
}

fn on_this_person(bearing: &Bearing) -> bool {
    matches!(bearing, Bearing::ThisPerson(_))
}

/// What `check` reports of the cautions for a person: each finding by its herb, topic and level.
fn reported(snapshot: &mut Snapshot, person: &Person, expected: &BTreeSet<Caution>) -> Vec<String> {
    snapshot.look_for(person);
    let mut wrong = Vec::new();
    for row in herb_rows() {
        let herb = reference_name(row.get("key"));
        let formula = format!("tea of {herb}");
        let mut findings: Vec<(Severity, &str, String)> = findings_of(snapshot, &formula)
            .into_iter()
            .filter(|one| one.code.name().ends_with("-for-this-person"))
            .map(|one| (one.severity, one.code.name(), one.message.to_lowercase()))
            .collect();
        for (_, topic, level) in expected.iter().filter(|(of, ..)| of == herb) {
            let (severity, code) = match *level {
                "avoid" => (Severity::Error, "not-for-this-person"),
                "consult" => (Severity::Warning, "ask-first-for-this-person"),
                _ => (Severity::Notice, "mind-for-this-person"),
            };
            let place = findings.iter().position(|(own, own_code, message)| {
                *own == severity
                    && *own_code == code
                    && message.contains(&format!("{topic} (this person"))
                    && message.contains(&herb.to_lowercase())
            });
            match place {
                Some(place) => {
                    findings.swap_remove(place);
                }
                None => wrong.push(format!("MISSED: {level} {topic} of {herb}")),
            }
        }
        wrong.extend(
            findings
                .iter()
                .map(|(_, code, message)| format!("besides: {code}: {message}")),
        );
    }
    wrong
}

#[test]
fn each_fact_raises_every_caution_on_its_topic_and_no_other() {
    let mut snapshot = all_herbs();
    let mut pairs = 0;
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    for (fact, topics) in FACTS {
        // 34 years: no age limit of the table bears.
        let person = somebody(Some("34"), &[fact]);
        let expected = rows_on(|topic, _| topics.contains(&topic));
        assert!(!expected.is_empty(), "{fact}");
        pairs += expected.len();
        let found = assessed(&snapshot, Some(&person), on_this_person);
        for (herb, topic, level) in expected.difference(&found) {
            wrong.push(format!("`{fact}` MISSES {level} {topic} of {herb}"));
        }
        for (herb, topic, level) in found.difference(&expected) {
            wrong.push(format!("`{fact}` raises besides {level} {topic} of {herb}"));
        }
        // What `check` reports hangs on the topics alone: once for each is enough.
        if seen.insert(*topics) {
            wrong.extend(
                reported(&mut snapshot, &person, &expected)
                    .into_iter()
                    .map(|one| format!("`{fact}` {one}")),
            );
        }
    }
    assert!(wrong.is_empty(), "{}\n{}", wrong.len(), wrong.join("\n"));
    assert!(pairs > 500 && seen.len() > 30, "{pairs} {}", seen.len());
}

/// Every topic of the table is met by one of the facts, or is told to everyone, or is an age or a named allergy.
#[test]
fn no_topic_of_the_table_is_left_out_of_these_checks() {
    for row in caution_rows() {
        let topic = row.get("topic");
        let met = FACTS.iter().any(|(_, topics)| topics.contains(&topic)) || FOR_EVERYONE.contains(&topic);
        assert!(met || topic == "age" || topic == "allergy-other", "{topic}");
    }
    assert_eq!(caution_rows().len(), 493);
}

#[test]
fn on_somebody_to_whom_nothing_applies_nothing_is_raised() {
    let mut snapshot = all_herbs();
    for person in [somebody(Some("34"), &[]), somebody(Some("18"), &[])] {
        assert_eq!(
            assessed(&snapshot, Some(&person), on_this_person),
            BTreeSet::new()
        );
        assert_eq!(
            reported(&mut snapshot, &person, &BTreeSet::new()),
            Vec::<String>::new()
        );
    }
    // Nor where nobody is asked about, though all of it is listed.
    assert_eq!(assessed(&snapshot, None, on_this_person), BTreeSet::new());
    let all = rows_on(|_, _| true);
    assert_eq!(assessed(&snapshot, None, |_| true), all);
}

/// What concerns anyone is listed for everyone, whoever is asked about.
#[test]
fn what_concerns_anyone_is_told_to_everyone() {
    let snapshot = shared();
    let expected = rows_on(|topic, _| FOR_EVERYONE.contains(&topic));
    assert!(expected.len() > 60, "{}", expected.len());
    let nobody = assessed(snapshot, None, |bearing| *bearing == Bearing::Everyone);
    assert_eq!(nobody, expected);
    let adult = somebody(Some("34"), &["is driving"]);
    let told = assessed(snapshot, Some(&adult), |bearing| *bearing == Bearing::Everyone);
    assert_eq!(told, expected);
}

/// Coltsfoot is in the table for the warning only: withdrawn for what it does to the liver. A formula with it
/// must not be passed over in silence, whoever it is for and whether or not anyone is named.
#[test]
fn what_nobody_should_take_is_a_finding_for_everyone() {
    let mut snapshot = all_herbs();
    let grave = |snapshot: &Snapshot| {
        findings_of(snapshot, "tea of coltsfoot leaf")
            .iter()
            .any(|one| one.severity > Severity::Notice)
    };
    let mut silent = Vec::new();
    if !grave(&snapshot) {
        silent.push("for nobody in particular");
    }
    snapshot.look_for(&somebody(Some("34"), &[]));
    if !grave(&snapshot) {
        silent.push("for a healthy adult");
    }
    assert!(
        silent.is_empty(),
        "nothing is said of coltsfoot {}",
        silent.join(" and ")
    );
}

// ---- ages --------------------------------------------------------------------------------------

/// An age in years, from a whole number of months, as the program reckons it.
fn months(months: u32) -> String {
    (scruple::quantity::Decimal::from(months) / scruple::quantity::Decimal::from(12_u32)).to_string()
}

#[test]
fn an_age_limit_holds_below_it_and_no_longer_at_it() {
    let mut snapshot = all_herbs();
    let bounds: BTreeSet<String> = caution_rows()
        .iter()
        .map(|row| row.get("age_below_years").to_owned())
        .filter(|one| !one.is_empty())
        .collect();
    assert!(bounds.len() >= 7, "{bounds:?}");
    let mut ages: Vec<String> = vec![
        "0".into(),
        "0.01".into(),
        "8".into(),
        "34".into(),
        months(5),
        months(6),
        months(143),
        months(144),
    ];
    for bound in &bounds {
        let at: scruple::quantity::Decimal = bound.parse().unwrap();
        let hundredth = scruple::quantity::Decimal::new(1, 2);
        ages.extend([
            (at - hundredth).to_string(),
            bound.clone(),
            (at + hundredth).to_string(),
        ]);
    }
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    for age in &ages {
        let years: R = dec(age);
        let person = somebody(Some(age), &[]);
        let expected = rows_on(|topic, below| topic == "age" && years < dec(below));
        let found = assessed(&snapshot, Some(&person), on_this_person);
        if found != expected {
            wrong.push(format!(
                "at {age}: {:?}",
                found.symmetric_difference(&expected).collect::<Vec<_>>()
            ));
        }
        if seen.insert(expected.len()) {
            wrong.extend(
                reported(&mut snapshot, &person, &expected)
                    .into_iter()
                    .map(|one| format!("at {age}: {one}")),
            );
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // The middle of the table: a child of eight is under the limits of 12 and 18 and over those of 6 and 4.
    assert!(rows_on(|topic, below| topic == "age" && r(8, 1) < dec(below)).len() > 50);
}

#[test]
fn without_an_age_its_limits_are_said_to_be_unknown() {
    let snapshot = shared();
    let person = somebody(None, &["is driving"]);
    let unknown = assessed(snapshot, Some(&person), |bearing| *bearing == Bearing::NotKnown);
    assert_eq!(unknown, rows_on(|topic, _| topic == "age"));
}

// ---- allergies ---------------------------------------------------------------------------------

/// An allergy to a plant family bears on every herb of the family, whether its entry warns of it or not.
#[test]
fn an_allergy_to_a_family_bears_on_all_of_it_and_on_nothing_else() {
    let mut snapshot = all_herbs();
    let families: BTreeSet<&str> = herb_rows().iter().map(|row| row.get("family")).collect();
    assert!(families.len() > 30);
    let warned = rows_on(|topic, _| topic.starts_with("allergy-"));
    let mut by_kinship = 0;
    let mut wrong = Vec::new();
    for family in families {
        let fact = format!("allergic {family}");
        let person = somebody(Some("34"), &[&fact]);
        let mut herbs = BTreeSet::new();
        for row in herb_rows() {
            if row.get("family") == family {
                herbs.insert(reference_name(row.get("key")).to_owned());
            }
        }
        let found = assessed(&snapshot, Some(&person), on_this_person);
        let met: BTreeSet<String> = found
            .iter()
            .filter(|(_, topic, level)| *level == "avoid" && topic.starts_with("allergy"))
            .map(|(herb, ..)| herb.clone())
            .collect();
        by_kinship += herbs
            .iter()
            .filter(|herb| !warned.iter().any(|(own, ..)| own == *herb))
            .count();
        if met != herbs {
            wrong.push(format!(
                "{fact}: {:?}",
                met.symmetric_difference(&herbs).collect::<Vec<_>>()
            ));
        }
        // Three families are enough for what is reported; the rest is what bears on the person.
        if !["Asteraceae", "Lamiaceae", "Rosaceae"].contains(&family) {
            continue;
        }
        snapshot.look_for(&person);
        for herb in &herbs {
            let errors = findings_of(&snapshot, &format!("tea of {herb}"))
                .iter()
                .filter(|one| one.code.name() == "not-for-this-person" && one.severity == Severity::Error)
                .count();
            if errors != 1 {
                wrong.push(format!("{fact}: {errors} errors for {herb}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(by_kinship > 40, "{by_kinship}");
}

/// An allergy to the herb itself needs no line in its entry.
#[test]
fn an_allergy_to_a_herb_itself_is_never_missed() {
    let snapshot = shared();
    for row in herb_rows() {
        let herb = reference_name(row.get("key"));
        let composition = snapshot
            .figures
            .of(snapshot.formula(&format!("tea of {herb}")).unwrap())
            .unwrap();
        let person = somebody(Some("34"), &[&format!("allergic {herb}")]);
        let found = assess(&snapshot.ledger, &snapshot.figures, composition, Some(&person));
        assert!(
            found
                .iter()
                .any(|one| one.level == Level::Avoid && on_this_person(&one.bearing)),
            "{herb}"
        );
    }
}

#[test]
fn an_allergy_that_a_caution_names_is_never_missed() {
    let snapshot = shared();
    let rows = rows_on(|topic, _| topic == "allergy-other");
    let mut met = BTreeSet::new();
    for (what, keys) in NAMED_ALLERGIES {
        let found = assessed(
            snapshot,
            Some(&somebody(Some("34"), &[&format!("allergic {what}")])),
            on_this_person,
        );
        for key in *keys {
            let herb = reference_name(key).to_owned();
            assert!(
                rows.contains(&(herb.clone(), "allergy other".to_owned(), "avoid")),
                "{key}"
            );
            assert!(
                found.contains(&(herb.clone(), "allergy other".to_owned(), "avoid")),
                "allergic {what}: {herb}"
            );
            met.insert(herb);
        }
    }
    let all: BTreeSet<String> = rows
        .iter()
        .filter(|(.., level)| *level == "avoid")
        .map(|(herb, ..)| herb.clone())
        .collect();
    assert_eq!(
        met, all,
        "every caution of the kind is met by one of these allergies"
    );
}

/// Who is allergic to birch pollen is not told that cinnamon is not for them.
#[test]
fn an_allergy_that_a_caution_does_not_name_is_no_error() {
    let snapshot = shared();
    let mut wrong = Vec::new();
    for (what, keys) in NAMED_ALLERGIES {
        let named: BTreeSet<&str> = keys.iter().map(|key| reference_name(key)).collect();
        for (herb, _, level) in assessed(
            snapshot,
            Some(&somebody(Some("34"), &[&format!("allergic {what}")])),
            on_this_person,
        ) {
            let row = herb_rows()
                .iter()
                .find(|row| reference_name(row.get("key")) == herb)
                .unwrap();
            let kin = matches!(
                (*what, row.get("family")),
                ("mint family", "Lamiaceae") | ("ivy family", "Araliaceae") | ("primula", "Primulaceae")
            );
            if level == "avoid" && !named.contains(herb.as_str()) && !kin {
                wrong.push(format!("allergic {what}: {herb}"));
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "{} false errors:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// The same fact under another of its names reaches herbs that only their family gives away.
#[test]
fn a_family_under_another_name_reaches_its_herbs_too() {
    let text = "herb chicory root\n  family Asteraceae\n\nherb lovage root\n  family Apiaceae\n\n\
        formula root tea\n  take chicory root, lovage root of each 10 g\n";
    let mut missed = Vec::new();
    for (fact, herb) in [
        ("allergic Asteraceae", "chicory root"),
        ("allergic Compositae", "chicory root"),
        ("allergic daisy family", "chicory root"),
        ("allergic ragweed", "chicory root"),
        ("allergic Apiaceae", "lovage root"),
        ("allergic Umbelliferae", "lovage root"),
        ("allergic carrot family", "lovage root"),
        ("allergic celery", "lovage root"),
    ] {
        let snapshot = with_reference(text);
        let found = assessed(&snapshot, Some(&somebody(Some("34"), &[fact])), on_this_person);
        if !found
            .iter()
            .any(|(own, _, level)| own == herb && *level == "avoid")
        {
            missed.push(format!("{fact}: {herb}"));
        }
    }
    assert!(missed.is_empty(), "missed:\n{}", missed.join("\n"));
}

/// The levels of the language and of the table are the same three, in the same order.
#[test]
fn the_levels() {
    assert!(Level::Mind < Level::Consult && Level::Consult < Level::Avoid);
    let said: BTreeSet<&str> = caution_rows()
        .iter()
        .map(|row| row.get("level").to_owned())
        .map(|level| match level.as_str() {
            "avoid" => Level::Avoid.word(),
            "consult" => Level::Consult.word(),
            _ => Level::Mind.word(),
        })
        .collect();
    assert_eq!(said.len(), 3);
}
