//! Small slips in what is said of herbs and people: each is said kindly, and none of them hides anything.

use scruple::diagnostic::Severity;

use super::{codes_of, findings_of, ledger, listed, on_disk, run, somebody, sound};

fn messages(text: &str) -> Vec<String> {
    ledger(text)
        .diagnostics
        .iter()
        .map(|one| format!("{} {}: {}", one.severity.word(), one.code, one.message))
        .collect()
}

#[test]
fn one_blank_before_a_source_is_said_as_that() {
    for line in [
        "dose   1 to 3 g, 3 times a day source handbook",
        "most   3 g a day source handbook",
        "most   age 6 to 12: 3 g a day source handbook",
        "teaspoon   1 g source handbook",
        "density   1 g per ml source handbook",
        "infuse   1 g in 1 cup of water for 5 minutes source handbook",
        "price   4.00 per kg source handbook",
        "avoid   pregnancy source handbook",
        "consult   pregnancy: never without source handbook",
    ] {
        let text = format!("source handbook\n  title   invented\nherb some leaf\n  {line}\n");
        let found = ledger(&text).diagnostics;
        let said = listed(&found);
        let slip = found
            .iter()
            .find(|one| one.message.starts_with("one blank before `source handbook`"));
        let slip = slip.unwrap_or_else(|| panic!("{line}: {said}"));
        assert_eq!(slip.severity, Severity::Error, "{line}");
        assert_eq!(
            found.iter().filter(|one| one.severity > Severity::Notice).count(),
            1,
            "{line}: {said}"
        );
        // The mending mends it, and is a source then.
        let edit = &slip.fix.as_ref().unwrap().edits[0];
        let mut mended = text.clone();
        mended.replace_range(edit.span.first_byte()..edit.span.end_byte(), &edit.text);
        assert!(
            messages(&mended).is_empty(),
            "{line}: {:?}\n{mended}",
            messages(&mended)
        );
    }
    // The caution stands, though the line is reported.
    let mut snapshot = ledger(
        "source handbook\n  title   invented\nherb some leaf\n  avoid   pregnancy source handbook\nformula tea\n  take some leaf 5 g\n",
    );
    snapshot.look_for(&somebody(None, &["is pregnant"]));
    assert_eq!(codes_of(&snapshot, "tea"), ["error not-for-this-person"]);
    // A source of trouble is no source.
    let text = "source handbook\n  title   invented\nherb some leaf\n  mind   reflux: a source of heartburn   source handbook\n";
    assert!(messages(text).is_empty(), "{:?}", messages(text));
}

#[test]
fn a_person_weighs_something_and_is_no_older_than_people_get() {
    let said = messages("person 017\n  weight   0 kg\n");
    assert_eq!(said, ["error zero-amount: nobody weighs nothing"]);
    let said = messages("person 017\n  age   2015\n");
    assert_eq!(
        said,
        ["error wrong-sort-of-measure: nobody is older than 130 years"]
    );
    let folder = on_disk(&[(
        "practice.scruple",
        "practice\n  children   by Clark\nherb some leaf\n  consult   age under 1\nformula tea\n  take some leaf 5 g\n  infuse 1 g in 1 cup of water\n  dose 1 cup, once a day\n",
    )]);
    let weight = run(folder.path(), &["doses", "tea", "--age", "6", "--weight", "0 kg"]);
    assert_eq!(weight.code, 2, "{}", weight.out);
    assert!(weight.err.contains("nobody weighs nothing"), "{}", weight.err);
    for (age, bears) in [
        ("2 weeks", true),
        ("3 days", true),
        ("11 months", true),
        ("13 months", false),
    ] {
        let json = run(folder.path(), &["doses", "tea", "--age", age, "--as", "json"]).json();
        let on = json["cautions"][0]["bears_on"] == "this person";
        assert_eq!(on, bears, "{age}");
    }
    for age in ["soon", "2 fortnights", "2 grams", "1990", ""] {
        let refused = run(folder.path(), &["doses", "tea", "--age", age]);
        assert_eq!(refused.code, 2, "{age}: {}", refused.out);
        assert!(refused.err.contains("2 weeks"), "{age}: {}", refused.err);
    }
}

#[test]
fn one_is_said_as_one() {
    let folder = on_disk(&[(
        "practice.scruple",
        "practice\nsource handbook\n  title   invented\nherb some leaf\n  most   1 day   source handbook\nformula tea\n  take some leaf 5 g\n  infuse 5 g in 1 cup of water\n  dose 1 cup, once a day, for 2 days\n",
    )]);
    let page = run(folder.path(), &["doses", "tea"]).flat();
    for wanted in [
        "1 dose ",
        "one person for 1 day",
        "a day 1 time",
        "stated for some leaf is 1 day",
    ] {
        assert!(page.contains(wanted), "{wanted}: {page}");
    }
    for wrong in ["1 doses", "1 times", "1 days"] {
        assert!(!page.contains(&format!(" {wrong}")), "{wrong}: {page}");
    }
}

#[test]
fn what_has_no_figures_is_still_data() {
    let folder = on_disk(&[(
        "practice.scruple",
        "practice\nherb some leaf\n  avoid   pregnancy\nformula tea\n  take\n    some leaf 5 teaspoons\n    other leaf 4 g\n",
    )]);
    let doses = run(
        folder.path(),
        &["doses", "tea", "--is", "pregnant", "--as", "json"],
    );
    assert_eq!(doses.code, 1);
    let json = doses.json();
    assert_eq!(json["cautions"][0]["topic"], "pregnancy");
    assert_eq!(json["cautions"][0]["bears_on"], "this person");
    assert!(
        json["not_reckoned"]
            .as_str()
            .unwrap()
            .contains("until its errors are mended")
    );
    let codes: Vec<&str> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["code"].as_str().unwrap())
        .collect();
    assert!(
        codes.contains(&"unknown-name") && codes.contains(&"not-for-this-person"),
        "{codes:?}"
    );
    let schema: serde_json::Value =
        serde_json::from_str(include_str!("../../../grammar/doses.schema.json")).unwrap();
    assert!(
        jsonschema::draft202012::new(&schema).unwrap().is_valid(&json),
        "{json:#}"
    );
    let sheet = run(folder.path(), &["weigh", "tea", "--as", "json"]);
    assert_eq!(
        (sheet.code, sheet.json()["errors"].as_u64()),
        (1, Some(2)),
        "{}",
        sheet.out
    );
    let why = run(folder.path(), &["why", "tea", "--as", "json"]);
    assert_eq!(
        (why.code, why.json()["errors"].as_u64()),
        (1, Some(2)),
        "{}",
        why.out
    );
}

#[test]
fn a_misspelt_family_is_said() {
    for (family, found) in [
        ("Asteracae", true),
        ("Lamiacea", true),
        ("dasy family", true),
        ("Asteraceae", false),
        ("Compositae", false),
        ("daisy family", false),
        ("Astreaceae", true),
        ("Lamiiaceae", true),
        // Rare, and no slip, however near.
        ("Ginkgoaceae", false),
        ("Parmeliaceae", false),
        ("Polygalaceae", false),
    ] {
        let said = messages(&format!("herb some leaf\n  family   {family}\n"));
        let is_said = said.iter().any(|one| one.starts_with("warning unknown-family"));
        assert_eq!(is_said, found, "{family}: {said:?}");
    }
}

#[test]
fn an_avoid_that_no_topic_knows_is_an_error() {
    let said = messages("herb some leaf\n  mind   pregnansy\nherb other leaf\n  avoid   pregnansy\n");
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].starts_with("error unknown-topic"),
        "the gravest speaks: {said:?}"
    );
    let said = messages("herb some leaf\n  consult   pregnansy\n");
    assert!(said[0].starts_with("warning unknown-topic"), "{said:?}");
}

#[test]
fn grass_is_asked_about_and_hides_in_no_other_word() {
    let text = "herb oat straw\n  family   Poaceae\nherb couch grass rhizome\n  family   Poaceae\n\
                herb far leaf\n  avoid   allergy other: fragrances, gradually worse\n\
                formula oat tea\n  take oat straw 5 g\nformula couch tea\n  take couch grass rhizome 5 g\nformula far tea\n  take far leaf 5 g\n";
    for (fact, oats) in [
        ("allergic grass", "warning ask-first-for-this-person"),
        ("allergic grass pollen", "warning ask-first-for-this-person"),
        ("allergic grasses", "error not-for-this-person"),
        ("allergic Poaceae", "error not-for-this-person"),
        ("allergic grass family", "error not-for-this-person"),
    ] {
        let mut snapshot = sound(text);
        snapshot.look_for(&somebody(Some("40"), &[fact]));
        assert_eq!(codes_of(&snapshot, "oat tea"), [oats], "{fact}");
        assert_eq!(
            codes_of(&snapshot, "couch tea"),
            ["error not-for-this-person"],
            "{fact}"
        );
        assert!(
            codes_of(&snapshot, "far tea").is_empty(),
            "{fact}: {:?}",
            codes_of(&snapshot, "far tea")
        );
    }
}

#[test]
fn words_behind_a_vehicle_do_not_hide_it() {
    let start = "herb plain leaf\nmaterial honey\n  avoid   age under 1\nmaterial spirit\n  consult   pregnancy: holds alcohol\n";
    let codes = |dose: &str, age: &str, facts: &[&str]| {
        let mut snapshot = sound(&format!(
            "{start}formula probe\n  take plain leaf 10 g\n  dose   1 g in {dose}, once a day\n"
        ));
        snapshot.look_for(&somebody(Some(age), facts));
        codes_of(&snapshot, "probe")
    };
    for drink in [
        "red wine diluted",
        "a glass of red wine well diluted",
        "brandy warmed through",
        "port mulled",
    ] {
        assert_eq!(
            codes(drink, "30", &["is pregnant"]),
            ["warning ask-first-for-this-person"],
            "{drink}"
        );
    }
    for sweet in ["honey warmed", "a spoon of honey stirred well"] {
        assert_eq!(codes(sweet, "0.5", &[]), ["error not-for-this-person"], "{sweet}");
    }
    for plain in ["a wine glass of water", "cider vinegar", "a little water warmed"] {
        assert!(
            codes(plain, "30", &["is pregnant"]).is_empty(),
            "{plain}: {:?}",
            codes(plain, "30", &["is pregnant"])
        );
    }
}

#[test]
fn a_vehicle_that_adds_to_a_herb_is_no_herb() {
    let text = "herb hop strobile\n  mind   driving\nmaterial spirit\n  mind   driving\n\
                formula drops\n  take hop strobile 10 g\n  macerate 1:5 in 60% spirit for 14 days\n  makes 50 ml\n";
    let snapshot = sound(text);
    let found = findings_of(&snapshot, "drops");
    let same = found
        .iter()
        .find(|one| one.code.name() == "same-effect-twice")
        .unwrap();
    assert!(same.message.contains("2 things in it add up"), "{}", same.message);
}

#[test]
fn one_gap_in_what_is_stated_for_children_is_one_warning() {
    let text = "source handbook\n  title   invented\nherb some leaf\n  dose   1 g, 3 times a day   source handbook\n\
                formula tea\n  take some leaf 10 g\n  infuse 0.1 g in 1 cup of water\n  dose   age 4 to 5: 1/2 cup, once a day\n\
                \x20 dose   age 6 to 11: 1 cup, once a day\n  dose   age 6 to 11: 1/2 cup, twice a day\n  dose   2 cups, once a day\n";
    let mut snapshot = sound(text);
    let warnings = |snapshot: &scruple::workspace::Snapshot| -> Vec<String> {
        let found = findings_of(snapshot, "tea");
        let those = found
            .iter()
            .filter(|one| one.code.name() == "adult-figures-for-a-child");
        those.map(|one| one.message.clone()).collect()
    };
    assert_eq!(
        warnings(&snapshot),
        ["tea for age 4 to 5, age 6 to 11: nothing is stated for these ages, only for adults, of some leaf"]
    );
    snapshot.look_for(&somebody(Some("8"), &[]));
    assert_eq!(warnings(&snapshot).len(), 1, "{:?}", warnings(&snapshot));
    assert!(
        warnings(&snapshot)[0].contains("somebody of 8 years"),
        "{:?}",
        warnings(&snapshot)
    );
}

#[test]
fn what_is_prepared_and_not_taken_is_not_called_a_line_that_is_not_understood() {
    let folder = on_disk(&[(
        "practice.scruple",
        "practice\nherb some leaf\n  avoid   pregnancy\nherb other leaf\n  avoid   pregnancy\nformula tea\n  take some leaf 5 g\n  infuse other leaf in 1 cup of water\n",
    )]);
    let page = run(folder.path(), &["doses", "tea", "--is", "pregnant"]).flat();
    assert!(
        page.contains("An error in this formula or in what it takes withholds its figures."),
        "{page}"
    );
    assert!(
        page.contains("some leaf; other leaf") || page.contains("other leaf; some leaf"),
        "{page}"
    );
}
