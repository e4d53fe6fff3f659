//! Small ledgers that say what a dose or a caution comes to, where the pages have no room for it.
//! They are annotated and run like the blocks of a page.

use std::fmt::Write as _;
use std::sync::Arc;

use scruple::code;
use scruple::model::FactKind;
use scruple::model::topic::built_in;
use scruple::workspace::Snapshot;

use super::assert_nothing;
use super::runner::mismatches;

const BOOKS: &str = "source handbook\n  title  invented\nsource second-book\n  title  invented\n";

/// Runs a ledger and compares what it gives with its annotations.
fn holds(ledger: &str) {
    let page = format!("```scruple\n{BOOKS}{ledger}```\n");
    assert_nothing(&page, &mismatches(&page));
}

// ---- doses ------------------------------------------------------------------------------------

#[test]
fn of_several_books_the_strictest_counts() {
    holds(
        "herb sage leaf
  most 6 g a day   source handbook
  most 4 g a day   source second-book
formula hall tea
  take sage leaf 50 g   # error: over-the-daily-most
  infuse 1.5 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 3 times a day
",
    );
}

#[test]
fn a_stated_most_a_day_rules_over_the_single_dose_times_how_often() {
    holds(
        "herb sage leaf
  dose 1 to 2 g, 4 times a day   source handbook
  most 6 g a day   source handbook
herb mallow leaf
  dose 1 to 2 g, 3 times a day   source handbook
formula hall tea
  take sage leaf 50 g   # error: over-the-daily-most
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 4 times a day
formula garden tea
  take mallow leaf 50 g   # error: over-the-daily-most
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 4 times a day
formula garden tea three times
  take mallow leaf 50 g
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 3 times a day
",
    );
}

#[test]
fn a_herb_by_several_ways_is_added_up() {
    holds(
        "herb sage leaf
  most 6 g a day   source handbook
herb mallow leaf
formula inside
  take sage leaf, mallow leaf of each 20 g
formula hall tea
  take
    sage leaf 20 g   # error: over-the-daily-most
    inside 20 g
  infuse 3 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 3 times a day
",
    );
}

#[test]
fn the_most_that_is_directed_is_compared() {
    // Four grams at once and twelve a day, if the person does as directed.
    holds(
        "herb sage leaf
  most 10 g a day   source handbook
  most 3 g at once   source handbook
formula cups
  take sage leaf 50 g   # error: over-the-daily-most, warning: above-the-most-at-once
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 to 2 cups, 3 times a day
formula bags
  take sage leaf 50 g   # error: over-the-daily-most, warning: above-the-most-at-once
  divide into filter bags of 2 g
  dose 1 or 2 filter bags in 1 cup, 3 times a day
",
    );
}

#[test]
fn a_most_by_the_spoon_is_compared() {
    holds(
        "herb sage leaf
  teaspoon 1 g
  most 2 teaspoons a day   source handbook
formula hall tea
  take sage leaf 50 g   # error: over-the-daily-most
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, 3 times a day
",
    );
}

#[test]
fn parts_without_a_size_are_no_grams() {
    // What a powder of it weighs nobody can tell, so there is nothing to compare.
    holds(
        "herb sage leaf
  most 0.3 g a day   source handbook
formula sage powders
  take sage leaf 5 parts
  divide into 24 powders
  dose 1 powder, 3 times a day   # notice: dose-not-sure
",
    );
}

#[test]
fn a_spoon_of_the_blend_in_a_cup_is_dry() {
    holds(
        "herb sage leaf
  teaspoon 1 g
  most 5 g a day   source handbook
formula hall tea
  take sage leaf 50 g   # error: over-the-daily-most
  infuse 2 teaspoons in 1 cup of boiling water for 10 minutes
  dose 2 teaspoons in 1 cup, 3 times a day
",
    );
}

#[test]
fn for_a_child_what_is_stated_for_its_age_bounds_the_day() {
    holds(
        "person 031
  age 8
herb sage leaf
  dose 2 g, 3 times a day   source handbook
  dose age 6 to 12: 1 g, 3 times a day   source handbook
  most 6 g a day   source handbook
formula hall tea
  person 031
  take sage leaf 50 g   # error: over-the-daily-most
  infuse 1 g in 1 cup of boiling water for 10 minutes
  dose age 6 to 12: 1 cup, 5 times a day
",
    );
}

#[test]
fn a_tea_made_by_the_jug_is_compared() {
    holds(
        "herb sage leaf
  most 6 g a day   source handbook
formula hall tea
  take sage leaf 30 g   # error: over-the-daily-most
  infuse in 1 litre of boiling water for 10 minutes
  makes 1 litre
  dose 250 ml, 3 times a day
",
    );
}

#[test]
fn what_is_drawn_out_or_not_swallowed_is_not_compared() {
    holds(
        "herb sage leaf
  most 1 g a day   source handbook
formula sage tincture
  take sage leaf 100 g
  macerate 1:5 in 60% spirit for 14 days   # notice: alcohol-without-cautions
  makes 450 ml
  dose 20 ml, 3 times a day
formula sage bath
  take sage leaf 100 g
  infuse in 2 litres of boiling water for 10 minutes
  dose 1 litre, once a day
  given as a foot bath
formula sage tea
  take sage leaf 100 g   # error: over-the-daily-most
  infuse 2 g in 1 cup of boiling water for 10 minutes
  dose 1 cup, once a day
  given by mouth, warm
",
    );
}

#[test]
fn the_sources_of_a_whole_entry_are_sources_of_its_doses() {
    holds(
        "herb sage leaf
  dose 1 to 2 g, 3 times a day
  source handbook
",
    );
}

// ---- cautions ---------------------------------------------------------------------------------

#[test]
fn an_age_meets_its_bounds() {
    holds(
        "herb sage leaf
  avoid age under 12
  mind age over 65
person 031
  age 11.9
person 032
  age 12
person 033
  age 65
person 034
  age 66
formula tea for the first
  person 031
  take sage leaf 50 g   # error: not-for-this-person
formula tea for the second
  person 032
  take sage leaf 50 g
formula tea for the third
  person 033
  take sage leaf 50 g
formula tea for the fourth
  person 034
  take sage leaf 50 g   # notice: mind-for-this-person
",
    );
}

#[test]
fn an_allergy_to_a_family_reaches_each_of_its_herbs() {
    holds(
        "herb yarrow herb
  family Asteraceae
herb mallow leaf
  family Malvaceae
person 041
  allergic Asteraceae
person 042
  allergic Compositae
person 043
  allergic yarrow herb
formula first
  person 041
  take yarrow herb, mallow leaf of each 50 g   # error: not-for-this-person
formula second
  person 042
  take yarrow herb, mallow leaf of each 50 g   # error: not-for-this-person
formula third
  person 043
  take yarrow herb, mallow leaf of each 50 g   # error: not-for-this-person
",
    );
}

#[test]
fn an_allergy_to_the_herb_itself_is_no_small_matter() {
    // That its entry only says `mind` of its family makes it no milder for whom it is certain.
    holds(
        "herb chamomile flower
  also chamomile
  family Asteraceae
  mind allergy Asteraceae
person 041
  allergic chamomile
formula garden tea
  person 041
  take chamomile flower 50 g   # error: not-for-this-person
",
    );
}

#[test]
fn an_acceptance_of_one_blend_says_nothing_of_another() {
    holds(
        "herb peppermint leaf
  consult reflux
person 024
  is prone to reflux
formula base
  take peppermint leaf 50 g
  accept reflux: asked the physician
formula adapted   # notice: ask-first-for-this-person
  adapts base
  person 024
formula around
  person 024
  take base 50 g   # warning: ask-first-for-this-person
",
    );
}

#[test]
fn an_acceptance_of_an_allergy_has_an_object() {
    holds(
        "herb yarrow herb
  family Asteraceae
person 041
  allergic Asteraceae
person 043
  allergic yarrow herb
formula inside
  take yarrow herb 5 g
formula around
  person 041
  take inside 5 g   # warning: not-for-this-person
  accept allergy Asteraceae: tested under supervision
formula itself
  person 043
  take yarrow herb 5 g   # warning: not-for-this-person
  accept allergy yarrow herb: tested under supervision
",
    );
}

#[test]
fn a_topic_of_the_ledger_adds_to_the_one_that_is_built_in() {
    holds(
        "topic anticoagulants
  also fluindione
herb ginger rhizome
  consult anticoagulants
person 051
  takes fluindione
person 052
  takes warfarin
formula first
  person 051
  take ginger rhizome 50 g   # warning: ask-first-for-this-person
formula second
  person 052
  take ginger rhizome 50 g   # warning: ask-first-for-this-person
",
    );
}

/// The words by which a person may state a fact that a topic concerns.
fn facts(topic: &scruple::model::Topic) -> Vec<String> {
    let by_name = [FactKind::Is, FactKind::Takes, FactKind::Allergic]
        .into_iter()
        .filter(|kind| topic.when.iter().any(|(own, _)| own == kind))
        .flat_map(|kind| topic.names.iter().map(move |name| (kind, name)));
    let stated = topic.when.iter().map(|(kind, words)| (*kind, words));
    by_name
        .chain(stated)
        .map(|(kind, words)| format!("{} {words}", kind.word()))
        .collect()
}

#[test]
fn every_fact_meets_every_caution_about_it_and_no_other() {
    let mut tried = 0_usize;
    for topic in built_in() {
        let facts = facts(topic);
        let mut ledger = format!("herb sage leaf\n  avoid {}\nperson 0\n  age 40\n", topic.name);
        for (at, fact) in (1_usize..).zip(&facts) {
            writeln!(
                ledger,
                "person {at}\n  {fact}\nformula tea-{at}\n  person {at}\n  take sage leaf 5 g"
            )
            .unwrap();
        }
        ledger.push_str("formula tea for nobody in particular\n  person 0\n  take sage leaf 5 g\n");
        let snapshot = Snapshot::of([("topic.scruple".to_owned(), Arc::<str>::from(ledger.as_str()))]);
        let met: Vec<&str> = snapshot
            .diagnostics
            .iter()
            .filter(|one| one.code == code::NOT_FOR_THIS_PERSON)
            .map(|one| one.message.as_str())
            .collect();
        let others: Vec<&str> = snapshot
            .diagnostics
            .iter()
            .filter(|one| one.code != code::NOT_FOR_THIS_PERSON && one.code != code::NOT_FOR_ANYONE)
            .map(|one| one.message.as_str())
            .collect();
        assert!(others.is_empty(), "{}: {others:?}", topic.name);
        assert_eq!(met.len(), facts.len(), "{}: {met:?}\nof {facts:?}", topic.name);
        assert!(
            met.iter()
                .all(|message| !message.contains("nobody in particular")),
            "{}: {met:?}",
            topic.name
        );
        tried = tried.saturating_add(facts.len());
    }
    assert!(tried > 200, "only {tried} facts were tried");
}
