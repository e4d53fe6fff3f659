//! What a dose line directs: each way of writing it, and what it comes to. Whatever is directed at the most
//! must be met by the bounds of a herb, or it must be said that it is not.

use std::fmt::Write as _;

use super::{
    R, codes_at_the_desk, count, exactly, findings_of, ledger, listed, near, on_disk, r, reckoned, run, sound,
};
use scruple::diagnostic::Severity;
use scruple::workspace::Snapshot;

/// At most 2 g at once and 6 g a day; a level teaspoon is 2 g.
const HERB: &str = "source book\n  title   a book\n\nherb some root\n  teaspoon   2 g\n  \
    dose   1 to 2 g, 3 times a day   source book\n  most   6 g a day   source book\n\n";

fn tea(lines: &[&str]) -> Snapshot {
    tea_with("", lines)
}

fn tea_with(before: &str, lines: &[&str]) -> Snapshot {
    let mut text = format!("{before}{HERB}formula some tea\n  take   some root 200 g\n");
    for line in lines {
        writeln!(text, "  {line}").unwrap();
    }
    sound(&text)
}

/// Grams of the herb at once: the least, the value worked with, the most.
fn at_once(snapshot: &Snapshot) -> [R; 3] {
    let spread = reckoned(snapshot, "some tea").herbs[0].at_once;
    [spread.low, spread.nominal, spread.high].map(exactly)
}

/// Grams of the herb in a day.
fn a_day(snapshot: &Snapshot) -> [R; 3] {
    let spread = reckoned(snapshot, "some tea").herbs[0].a_day.unwrap();
    [spread.low, spread.nominal, spread.high].map(exactly)
}

fn is_grave(snapshot: &Snapshot) -> bool {
    findings_of(snapshot, "some tea")
        .iter()
        .any(|one| one.severity > Severity::Notice)
}

fn whole(grams: i64) -> [R; 3] {
    [r(grams, 1), r(grams, 1), r(grams, 1)]
}

const TWO_GRAMS: &str = "infuse   2 g in 1 cup of boiling water for 10 minutes";

#[test]
fn plain_directions() {
    let cases: &[(&[&str], R)] = &[
        (&[TWO_GRAMS, "dose   1 cup, 3 times a day"], r(2, 1)),
        (&[TWO_GRAMS, "dose   1/2 cup, 3 times a day"], r(1, 1)),
        (&[TWO_GRAMS, "dose   125 ml, 3 times a day"], r(1, 1)),
        (&[TWO_GRAMS, "dose   1 tablespoon, 3 times a day"], r(12, 100)),
        (
            &[
                "infuse   16 g in 2 litres of boiling water for 10 minutes",
                "dose   1 cup, 3 times a day",
            ],
            r(2, 1),
        ),
        (&["dose   2 g in 1 cup, 3 times a day"], r(2, 1)),
        (&["dose   2 g, 3 times a day"], r(2, 1)),
        (
            &[
                "divide   into filter bags of 1 g",
                "dose   2 filter bags in 1 cup, 3 times a day",
            ],
            r(2, 1),
        ),
        (
            &["divide   into 100 powders", "dose   1 powder, 3 times a day"],
            r(2, 1),
        ),
        (
            &[
                "decoct   some root in 25 litres of water for 10 minutes",
                "dose   1 cup, 3 times a day",
            ],
            r(2, 1),
        ),
        (
            &[
                "decoct   some root in 30 litres of water for 10 minutes, down to 25 litres",
                "dose   1 cup, 3 times a day",
            ],
            r(2, 1),
        ),
    ];
    for (lines, grams) in cases {
        let snapshot = tea(lines);
        let [low, nominal, high] = at_once(&snapshot);
        assert!(
            near(&low, grams) && near(&nominal, grams) && near(&high, grams),
            "{lines:?}: {nominal}"
        );
        assert!(near(&a_day(&snapshot)[1], &(grams * r(3, 1))), "{lines:?}");
    }
}

#[test]
fn how_often() {
    for (how, low, most) in [
        ("once a day", 1, 1),
        ("twice daily", 2, 2),
        ("3 times a day", 3, 3),
        ("2 or 3 times a day", 2, 3),
        ("2 to 4 times a day", 2, 4),
        ("up to 3 times a day", 1, 3),
        ("every 2 hours", 12, 12),
        ("every 4 hours", 6, 6),
    ] {
        let snapshot = tea(&[
            "infuse   1 g in 1 cup of boiling water for 10 minutes",
            &format!("dose   1 cup, {how}"),
        ]);
        assert_eq!(a_day(&snapshot), [r(low, 1), r(most, 1), r(most, 1)], "{how}");
        let over = findings_of(&snapshot, "some tea")
            .iter()
            .any(|one| one.code.name() == "over-the-daily-most");
        assert_eq!(over, most > 6, "{how}");
    }
}

/// A spoon that is a range between whole bounds: within, unsure, over; said once, and with what would settle it.
#[test]
fn a_spread_that_reaches_over_a_bound() {
    for (spoon, code) in [
        ("1.6 to 2 g", None),
        ("1.8 to 2.1 g", Some("notice dose-not-sure")),
        ("1.9 to 2.3 g", Some("warning above-the-most-at-once")),
        ("0.5 to 1.5 g", None),
        ("0.5 to 0.9 g", Some("notice below-the-least-dose")),
    ] {
        let snapshot = tea(&[
            &format!("teaspoon   {spoon}"),
            "infuse   1 teaspoon in 1 cup of boiling water for 10 minutes",
            "dose   1 cup, once a day",
        ]);
        assert_eq!(
            codes_at_the_desk(&snapshot, "some tea"),
            code.map(str::to_owned).into_iter().collect::<Vec<_>>(),
            "{spoon}"
        );
        if code == Some("notice dose-not-sure") {
            let finding = findings_of(&snapshot, "some tea")[0].clone();
            assert!(finding.help.unwrap().contains("weigh"), "{}", finding.message);
        }
    }
}

// ---- directions that allow more than their middle ---------------------------------------------

/// `dose 1 to 3 cups`: three cups are directed too, and they hold 3 g where 2 g are the most.
#[test]
fn a_range_of_cups_reaches_to_its_upper_end() {
    let snapshot = tea(&[
        "infuse   1 g in 1 cup of boiling water for 10 minutes",
        "dose   1 to 3 cups, once a day",
    ]);
    assert!(
        at_once(&snapshot)[2] >= r(3, 1),
        "the most at once is {} g",
        at_once(&snapshot)[2]
    );
    assert!(!findings_of(&snapshot, "some tea").is_empty());
}

/// What is left to the person is the most that is directed, as with `2 to 4 times a day`: more than a notice.
#[test]
fn a_range_of_grams_is_reckoned_at_the_most_that_is_directed() {
    let snapshot = tea(&["dose   1 to 3 g, once a day"]);
    assert!(at_once(&snapshot)[2] >= r(3, 1));
    assert!(
        is_grave(&snapshot),
        "3 g at once are directed, 2 g are the most:\n{}",
        listed(&snapshot.diagnostics)
    );
}

/// `in 150 to 250 ml`: with the least water a cup holds most.
#[test]
fn a_range_of_water_is_a_spread_of_the_cup() {
    let snapshot = tea(&[
        "infuse   2 g in 150 to 250 ml of boiling water for 10 minutes",
        "dose   150 ml, once a day",
    ]);
    let [low, _, high] = at_once(&snapshot);
    assert!(
        high >= r(2, 1) && low <= r(12, 10),
        "{low} to {high} g, instead of 1.2 to 2 g"
    );
}

/// A practice may know its cups only roughly.
#[test]
fn a_range_of_the_cup_is_a_spread_of_the_dose() {
    let snapshot = tea_with(
        "practice\n  cup   200 to 300 ml\n\n",
        &[
            "infuse   8 g in 1 litre of boiling water for 10 minutes",
            "dose   1 cup, once a day",
        ],
    );
    let [low, nominal, high] = at_once(&snapshot);
    assert_eq!(nominal, r(2, 1));
    assert!(
        low <= r(16, 10) && high >= r(24, 10),
        "{low} to {high} g, instead of 1.6 to 2.4 g"
    );
}

// ---- directions that must not be taken for something smaller -----------------------------------

/// Two teaspoons of the blend in a cup are 4 g of it, and no 10 ml of tea.
#[test]
fn spoons_of_the_blend_in_a_cup_are_spoons_of_the_blend() {
    for lines in [
        &["dose   2 teaspoons in 1 cup of boiling water, once a day"][..],
        &[
            "infuse   2 teaspoons in 1 cup of boiling water for 10 minutes",
            "dose   2 teaspoons in 1 cup, once a day",
        ],
        &[
            "infuse   2 teaspoons in 1 cup of boiling water for 10 minutes",
            "dose   1 heaped teaspoon in 1 cup, once a day",
        ],
    ] {
        let heap = "practice\n  heaped   2 to 2 level spoons\n\n".replace("2 to 2", "2");
        let snapshot = tea_with(&heap, lines);
        assert_eq!(at_once(&snapshot), whole(4), "{lines:?}");
    }
}

/// What boils down is stronger: 8 g in what is left of a litre, half of it, are 4 g in a cup.
#[test]
fn what_is_boiled_down_is_stronger() {
    let snapshot = tea(&[
        "decoct   8 g in 1 litre of water for 20 minutes, down to 500 ml",
        "dose   1 cup, once a day",
    ]);
    assert_eq!(at_once(&snapshot), whole(4));
}

/// Two steps with an amount of the blend each, the second in what the first made.
#[test]
fn amounts_of_two_steps_are_added() {
    let snapshot = tea(&[
        "decoct   2 g in 1 cup of water for 20 minutes",
        "infuse   2 g in it for 10 minutes",
        "dose   1 cup, once a day",
    ]);
    assert_eq!(at_once(&snapshot), whole(4));
}

/// `given by mouth, with honey` is by mouth.
#[test]
fn by_mouth_with_more_words_is_by_mouth() {
    for (given, compared) in [
        ("by mouth", true),
        ("by mouth, with honey", true),
        ("by mouth after meals", true),
        ("By Mouth", true),
        ("as a gargle", false),
        ("on the skin", false),
        ("as a foot bath", false),
    ] {
        let snapshot = tea(&[
            "infuse   20 g in 1 cup of boiling water for 10 minutes",
            "dose   1 cup, 3 times a day",
            &format!("given   {given}"),
        ]);
        let over = findings_of(&snapshot, "some tea")
            .iter()
            .any(|one| one.code.name() == "over-the-daily-most");
        assert_eq!(over, compared, "given {given}: 60 g a day where 6 g are the most");
    }
}

/// Of several dose lines for grown-ups each is directed, so each is compared.
#[test]
fn every_dose_line_is_compared() {
    for second in [
        "dose   5 cups, 6 times a day, in the evening",
        "dose   age 6 to 12: 5 cups, 3 times a day",
        "dose   age under 6: 20 g, 3 times a day",
    ] {
        let snapshot = tea(&[TWO_GRAMS, "dose   1 cup, once a day", second]);
        assert!(
            is_grave(&snapshot),
            "nothing is said of `{second}`:\n{}",
            listed(&snapshot.diagnostics)
        );
    }
}

/// Without a word on how often, one dose alone may be more than a day's most.
#[test]
fn one_dose_above_the_most_of_a_day_is_over_it_however_often() {
    let text = "source book\n  title   a book\n\nherb cardamom seed\n  most   1.5 g a day   source book\n\n\
        formula some tea\n  take   cardamom seed 100 g\n  infuse   3 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup\n";
    let snapshot = sound(text);
    assert!(
        is_grave(&snapshot),
        "3 g at once where 1.5 g a day are the most:\n{}",
        listed(&snapshot.diagnostics)
    );
}

/// A tea of which the yield is written in another way is the same tea.
#[test]
fn a_decoction_that_says_what_it_makes_is_compared_like_one_that_says_what_is_left() {
    let mut silent = Vec::new();
    for last in [
        "decoct   some root in 30 litres of water for 20 minutes, down to 5 litres",
        "makes   5 litres",
    ] {
        let lines: &[&str] = if last.starts_with("makes") {
            &[
                "decoct   some root in 30 litres of water for 20 minutes",
                last,
                "dose   1 cup, 3 times a day",
            ]
        } else {
            &[last, "dose   1 cup, 3 times a day"]
        };
        let snapshot = tea(lines);
        assert_eq!(at_once(&snapshot), whole(10), "{last}");
        if !is_grave(&snapshot) {
            silent.push(last);
        }
    }
    assert!(
        silent.is_empty(),
        "nothing is said of 30 g a day, where 6 g are the most, with {silent:?}"
    );
}

/// A soak in cold water is a tea: marshmallow root and linseed are published as such.
#[test]
fn a_soak_in_cold_water_is_compared() {
    let snapshot = tea(&[
        "macerate   20 g in 1 cup of cold water for 8 hours",
        "dose   1 cup, 3 times a day",
    ]);
    assert_eq!(at_once(&snapshot), whole(20));
    assert!(
        is_grave(&snapshot),
        "60 g a day where 6 g are the most, and nothing is said"
    );
}

/// What goes in dry is taken whole, whatever tincture or syrup stands beside it.
#[test]
fn the_dry_part_is_compared_beside_what_is_drawn_out() {
    let candied =
        "formula candied root\n  take   some root 100 g\n  syrup   2:1 with sugar\n\nmaterial sugar\n\n";
    let drops = "formula root drops\n  take   some root 10 g\n  macerate   1:2 in spirit for 14 days\n  makes   20 ml\n\nmaterial spirit\n\n";
    let mut silent = Vec::new();
    for (inner, taken) in [(candied, "candied root   50 g"), (drops, "root drops   2 ml")] {
        let text = format!(
            "{HERB}{inner}formula some tea\n  take\n    some root   50 g\n    {taken}\n  dose   20 g, 3 times a day\n"
        );
        let snapshot = sound(&text);
        if !is_grave(&snapshot) {
            silent.push(taken);
        }
    }
    assert!(
        silent.is_empty(),
        "30 g and more of the dry root a day, 6 g are the most, and nothing is said beside {silent:?}"
    );
}

/// A most may be written in any measure that the herb has a weight for, or it must be said that it isn't used.
#[test]
fn a_most_in_spoons_counts_like_one_in_grams() {
    let mut silent = Vec::new();
    for most in [
        "3 teaspoons a day",
        "6 g a day",
        "1 teaspoon at once",
        "2 g at once",
        "2 slices a day",
    ] {
        let text = format!(
            "source book\n  title   a book\n\nherb some root\n  teaspoon   2 g\n  slice   3 g\n  most   {most}   source book\n\n\
             formula some tea\n  take   some root 100 g\n  infuse   5 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n"
        );
        let snapshot = sound(&text);
        if !is_grave(&snapshot) {
            silent.push(most);
        }
    }
    assert!(
        silent.is_empty(),
        "15 g a day, 5 g at once, and nothing is said of {silent:?}"
    );
}

/// A most that does not say of what is refused, or counts.
#[test]
fn a_most_that_says_nothing_of_how_often_is_no_most_that_is_passed_over() {
    let text = "source book\n  title   a book\n\nherb some root\n  most   3 g   source book\n\n\
        formula some tea\n  take   some root 100 g\n  dose   30 g, 3 times a day\n";
    let snapshot = super::ledger(text);
    assert!(
        snapshot
            .diagnostics
            .iter()
            .any(|one| one.severity > Severity::Notice),
        "`most 3 g` is neither refused nor compared:\n{}",
        listed(&snapshot.diagnostics)
    );
}

/// Where something has no weight the doses can't be told, and that is said by `check` and by `doses`.
#[test]
fn what_cannot_be_reckoned_is_said() {
    let cases = [
        // Oil without a density in a dry blend.
        (
            "  take\n    some root 100 g\n    some oil 5 ml\n  infuse   20 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n",
            "a liquid",
        ),
        // No word of how much goes into a cup.
        (
            "  take   some root 100 g\n  dose   1 cup, 3 times a day\n",
            "no infuse line",
        ),
        // A cup of something that is drawn out, without a yield.
        (
            "  take   some root 100 g\n  infuse   2 g in some water for 10 minutes\n  dose   1 cup, 3 times a day\n",
            "no volume",
        ),
    ];
    let mut silent = Vec::new();
    for (lines, what) in cases {
        let text = format!("{HERB}material some oil\n\nformula some tea\n{lines}");
        let snapshot = super::ledger(&text);
        if findings_of(&snapshot, "some tea").is_empty() {
            silent.push(format!("check: {what}"));
        }
        let folder = on_disk(&[("practice.scruple", &text)]);
        let ran = run(folder.path(), &["doses", "some tea"]);
        if ![
            "not reckoned",
            "can't be",
            "cannot be",
            "not compared",
            "without a weight",
        ]
        .iter()
        .any(|words| ran.flat().contains(words))
        {
            silent.push(format!("doses: {what}"));
        }
    }
    assert!(silent.is_empty(), "nothing is said: {silent:?}");
}

/// Figures of a few milligrams are not printed as nothing.
#[test]
fn small_doses_are_not_printed_as_nothing() {
    let text = "source book\n  title   a book\n\nherb strong root\n  dose   2 to 3 mg, 3 times a day   source book\n\nherb mild leaf\n\n\
        formula some powder\n  take\n    strong root 1 g\n    mild leaf 499 g\n  dose   2 g, 3 times a day\n";
    let folder = on_disk(&[("practice.scruple", text)]);
    let ran = run(folder.path(), &["doses", "some powder"]);
    let line = ran
        .out
        .lines()
        .find(|line| line.starts_with("strong root"))
        .unwrap();
    assert!(
        !line.contains(" 0 g"),
        "4 mg at once, where 2 to 3 mg are stated, are printed so:\n{line}"
    );
    assert!(line.contains("0.004 g") || line.contains("4 mg"), "{line}");
    let finding = ran.flat();
    assert!(!finding.contains("holds 0 g"), "{finding}");
}

// ---- the same herb by several ways --------------------------------------------------------------

/// By a line of its own, by a formula that is taken, and by a formula inside that: 1/2 + 1/4 + 1/8 of it.
#[test]
fn the_same_herb_by_several_ways_is_added_up() {
    let text = format!(
        "{HERB}herb mild leaf\n\n\
         formula inner tea\n  take   some root, mild leaf of each 10 g\n\n\
         formula middle tea\n  take   inner tea, mild leaf of each 10 g\n\n\
         formula some tea\n  take\n    some root   20 g\n    inner tea   10 g\n    middle tea  10 g\n  dose   4 g, 2 times a day\n"
    );
    let snapshot = sound(&text);
    let intake = reckoned(&snapshot, "some tea");
    // 20 g of 40 g, half of 10 g, a quarter of 10 g: 27.5 g of 40 g.
    let roots: Vec<_> = intake
        .herbs
        .iter()
        .filter(|herb| snapshot.ledger.substances[herb.substance].name == "some root")
        .collect();
    assert_eq!(roots.len(), 1);
    assert_eq!(exactly(roots[0].at_once.nominal), r(275, 100));
    assert_eq!(exactly(roots[0].a_day.unwrap().nominal), r(55, 10));
    let own = findings_of(&snapshot, "some tea");
    assert_eq!(
        count(&own, Severity::Warning),
        1,
        "{}",
        listed(&snapshot.diagnostics)
    );
    // No way alone would pass the bound: 2 g, 1/2 g and 1/4 g.
    assert!(
        own.iter()
            .any(|one| one.code.name() == "above-the-most-at-once" && one.message.contains("2.75 g"))
    );
}

/// Every 4 hours is six times a day: 6 × 500 mg are 3 g.
#[test]
fn a_published_dose_every_few_hours_bounds_the_day() {
    let over = |published: &str, formula: &str| {
        let snapshot = ledger(&format!(
            "herb some leaf\n  dose   {published}\n\nformula tea\n  take some leaf 100 g\n  dose   {formula}\n"
        ));
        snapshot
            .diagnostics
            .iter()
            .any(|one| one.code.name() == "over-the-daily-most")
    };
    assert!(over("500 mg, every 4 hours", "500 mg, 20 times a day"));
    assert!(over("500 mg, every 4 hours", "500 mg, 7 times a day"));
    assert!(!over("500 mg, every 4 hours", "500 mg, 6 times a day"));
    assert!(!over("500 mg, every 4 hours", "500 mg, every 4 hours"));
    assert!(over("500 mg, every 4 hours", "500 mg, every 2 hours"));
    // The most that is published: the shortest time between two.
    assert!(!over("500 mg, every 4 to 6 hours", "500 mg, 6 times a day"));
}
