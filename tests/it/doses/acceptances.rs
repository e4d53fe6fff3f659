//! What a formula accepts, and what an adaptation takes over of it: never an `avoid`, nothing for a herb that it
//! brings in, and nothing without saying so (common practice, no source: a reason is written for what was there).

use scruple::diagnostic::Diagnostic;

use super::{at_the_desk, codes_of, findings_of, on_disk, run, sound};

const HERBS: &str = "\
source handbook
  title    a handbook, invented for this page

herb sage leaf
  avoid    pregnancy   source handbook
herb peppermint leaf
  mind     reflux      source handbook
  consult  bile        source handbook
herb ginger rhizome
  consult  bile        source handbook
herb mallow leaf

person 021
  is       pregnant
person 022
  is       prone to gallstones

formula hall tea
  take
    sage leaf         5 g
    peppermint leaf   5 g
    mallow leaf      20 g
  accept   pregnancy: for gargling only, the midwife decided
  accept   bile: a cup a day, the physician has looked
  accept   reflux: small amount
";

/// A finding of a code that stands in a formula.
fn found(text: &str, formula: &str, code: &str) -> Vec<Diagnostic> {
    let snapshot = sound(&format!("{HERBS}\n{text}"));
    findings_of(&snapshot, formula)
        .into_iter()
        .filter(|one| one.code.name() == code)
        .cloned()
        .collect()
}

/// The codes in a formula's entry.
fn codes(text: &str, formula: &str) -> Vec<String> {
    codes_of(&sound(&format!("{HERBS}\n{text}")), formula)
}

#[test]
fn an_avoid_that_the_base_accepts_is_no_silent_drop() {
    let adapted = "formula strong hall tea\n  adapts hall tea\n  take\n    sage leaf   20 g\n";
    assert_eq!(
        codes(adapted, "strong hall tea"),
        ["notice acceptance-not-taken-over"]
    );
    let found = found(adapted, "strong hall tea", "acceptance-not-taken-over");
    assert!(
        found[0].message.contains("hall tea accepts `pregnancy`"),
        "{}",
        found[0].message
    );
    assert_eq!(found[0].related.len(), 1, "the base's line is shown");
    // At the desk, too.
    let snapshot = sound(&format!("{HERBS}\n{adapted}"));
    assert!(
        at_the_desk(&snapshot, "strong hall tea")
            .iter()
            .any(|one| one.code.name() == "acceptance-not-taken-over")
    );
    // Written again it holds, and the notice is gone.
    let again = format!("{adapted}  accept   expecting: asked anew\n");
    assert!(codes(&again, "strong hall tea").is_empty());
}

#[test]
fn for_the_person_whom_it_concerns_the_error_says_so_and_shows_the_line() {
    let adapted = "formula hers\n  adapts hall tea\n  person 021\n";
    assert_eq!(codes(adapted, "hers"), ["error not-for-this-person"]);
    let error = &found(adapted, "hers", "not-for-this-person")[0];
    let help = error.help.as_deref().unwrap_or_default();
    assert!(help.contains("hall tea accepts it"), "{help}");
    assert!(help.contains("`accept   pregnancy: …`"), "{help}");
    assert_eq!(error.related.len(), 2, "the herb's line and the base's");
    let again =
        "formula hers\n  adapts hall tea\n  person 021\n  accept pregnancy: the midwife was asked anew\n";
    assert_eq!(codes(again, "hers"), ["warning not-for-this-person"]);
}

#[test]
fn a_herb_that_the_adaptation_brings_in_is_not_accepted_already() {
    // What the base had is accepted as before, for the same person.
    let same = "formula his\n  adapts hall tea\n  person 022\n  take\n    without sage leaf\n";
    assert!(codes(same, "his").contains(&"notice ask-first-for-this-person".to_owned()));
    assert!(!codes(same, "his").contains(&"warning ask-first-for-this-person".to_owned()));
    let brought = "formula his\n  adapts hall tea\n  person 022\n  take\n    without sage leaf\n    ginger rhizome   5 g\n";
    let of = found(brought, "his", "ask-first-for-this-person");
    let said: Vec<&str> = of.iter().map(|one| one.message.as_str()).collect();
    assert_eq!(of.len(), 2, "{said:?}");
    assert!(
        of.iter().any(|one| one.severity.word() == "warning"
            && one.message.contains("ginger rhizome")
            && !one.message.contains("peppermint")),
        "{said:?}"
    );
    // With nobody in particular it is a notice.
    let nobody =
        "formula other\n  adapts hall tea\n  take\n    without sage leaf\n    ginger rhizome   5 g\n";
    let of = found(nobody, "other", "acceptance-not-taken-over");
    assert_eq!(of.len(), 1);
    assert!(
        of[0].message.contains("without ginger rhizome in it"),
        "{}",
        of[0].message
    );
}

#[test]
fn two_names_of_one_topic_are_one_acceptance() {
    // The base's reason is not added under its other name.
    let adapted = "formula hers\n  adapts hall tea\n  person 022\n  accept gallstones: another reason\n";
    let of = found(adapted, "hers", "ask-first-for-this-person");
    assert_eq!(of.len(), 1);
    assert!(of[0].message.contains("another reason"), "{}", of[0].message);
    assert!(!of[0].message.contains("physician"), "{}", of[0].message);
    // Without a reason its own line counts for nothing, and takes the base's place.
    let bare = "formula hers\n  adapts hall tea\n  person 022\n  accept gallstones\n";
    assert_eq!(
        codes(bare, "hers"),
        [
            "notice acceptance-not-taken-over",
            "warning accepted-without-a-reason",
            "warning ask-first-for-this-person"
        ]
    );
    // Of two lines on one topic in one entry the one with a reason speaks, in whichever order.
    for lines in [
        "  accept expecting\n  accept pregnancy: asked\n",
        "  accept pregnancy: asked\n  accept expecting\n",
    ] {
        let text = format!("formula hers\n  person 021\n  take\n    sage leaf   5 g\n{lines}");
        assert!(
            codes(&text, "hers").contains(&"warning not-for-this-person".to_owned()),
            "{lines}"
        );
    }
}

#[test]
fn an_acceptance_left_without_an_object_falls_away_and_that_is_said() {
    let adapted =
        "formula mild tea\n  adapts hall tea\n  take\n    without peppermint leaf\n    without sage leaf\n";
    let of = found(adapted, "mild tea", "nothing-to-accept");
    let mut said: Vec<&str> = of.iter().map(|one| one.message.as_str()).collect();
    said.sort_unstable();
    assert_eq!(of.len(), 3, "{said:?}");
    assert!(
        of.iter()
            .all(|one| one.severity.word() == "notice" && one.related.len() == 1)
    );
    assert!(said[0].contains("`bile`"), "{said:?}");
}

#[test]
fn every_view_tells_the_same_of_an_acceptance_without_a_reason() {
    let text = format!(
        "{HERBS}\nformula bare tea\n  person 022\n  take\n    peppermint leaf   5 g\n  infuse 2 g in 1 cup of water\n  dose 1 cup\n  accept bile\n\
         \nformula its child\n  adapts hall tea\n  infuse 2 g in 1 cup of water\n  dose 1 cup\n"
    );
    let folder = on_disk(&[("practice.scruple", "practice\n"), ("one.scruple", &text)]);
    let doses = run(folder.path(), &["doses", "bare tea"]);
    assert!(
        doses
            .flat()
            .contains("accepted without a reason, which counts for nothing"),
        "{}",
        doses.out
    );
    let bile = |command: &[&str]| {
        let json = run(folder.path(), command).json();
        let all = json["cautions"].as_array().unwrap().clone();
        all.into_iter().find(|one| one["topic"] == "bile").unwrap()
    };
    let data = bile(&["doses", "bare tea", "--as", "json"]);
    assert_eq!(data["accepted"], false);
    assert_eq!(data["without_a_reason"], true);
    assert!(data["reason"].is_null());
    let why = bile(&["why", "bare tea", "--caution", "bile", "--as", "json"]);
    assert_eq!(why["accepted"], false);
    let sheet = bile(&["weigh", "bare tea", "--as", "json"]);
    assert!(sheet["accepted"].is_null(), "{sheet}");
    // What the base accepts, and doesn't hold in the adaptation, is shown with the caution.
    let child = run(folder.path(), &["doses", "its child"]);
    assert!(
        child
            .flat()
            .contains("accepted in hall tea, which doesn't hold here"),
        "{}",
        child.out
    );
    let why = run(folder.path(), &["why", "its child", "--caution", "pregnancy"]);
    assert!(
        why.flat().contains("what is to be avoided is weighed up anew"),
        "{}",
        why.out
    );
}

#[test]
fn what_is_found_of_an_adaptation_stands_in_its_own_entry_and_on_its_sheet() {
    let text = "\
source handbook
  title    a handbook, invented for this page
herb sage leaf
  dose     1 g, 3 times a day   source handbook
  most     2 days               source handbook
  avoid    pregnancy            source handbook
  infuse   for 20 minutes       source handbook
person 021
  is       pregnant
  age      8
formula hall tea
  take sage leaf 30 g
  infuse   3 g in 1 cup of boiling water for 10 minutes
  dose     1 cup, 3 times a day, for 5 days
formula hers
  adapts   hall tea
  person   021
";
    let snapshot = sound(text);
    assert_eq!(
        codes_of(&snapshot, "hers"),
        [
            "error not-for-this-person",
            "error over-the-daily-most",
            "notice steeps-too-short",
            "warning above-the-most-at-once",
            "warning adult-figures-for-a-child",
            "warning taken-too-long",
        ]
    );
    assert!(
        codes_of(&snapshot, "hall tea")
            .iter()
            .all(|one| !one.ends_with("not-for-this-person")),
        "what concerns her is no finding of the formula for nobody"
    );
    let folder = on_disk(&[("practice.scruple", "practice\n"), ("one.scruple", text)]);
    let sheet = run(folder.path(), &["weigh", "hers", "--make", "30 g"]);
    assert!(
        sheet.flat().contains("hers is not for person 021"),
        "{}",
        sheet.out
    );
}
