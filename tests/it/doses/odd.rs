//! Odd formulas that are still plausible, each reckoned by hand beside it: what is in a dose and in a day, and
//! which findings there must be. Invented for these tests.

use super::{R, codes_of, exactly, listed, on_disk, r, reckoned, run, sound};
use scruple::quantity::Spread;
use scruple::workspace::Snapshot;

/// At most 2 g at once and 6 g a day.
const START: &str = "practice\n  cup   200 to 300 ml\n\nsource book\n  title   a book\n\n\
    herb root\n  dose   1 to 2 g, 3 times a day   source book\n\n\
    herb leaf\n  teaspoon   0.7 to 0.9 g\n\nmaterial spirit\n  consult   alcohol dependence\n\nmaterial honey\n  density   1.4 g per ml\n\n";

fn odd(text: &str) -> Snapshot {
    sound(&format!("{START}{text}"))
}

fn ends(spread: Spread) -> [R; 3] {
    [spread.low, spread.nominal, spread.high].map(exactly)
}

/// Of a herb: at once and in a day.
fn of(snapshot: &Snapshot, herb: &str) -> ([R; 3], Option<[R; 3]>) {
    let intake = reckoned(snapshot, "odd");
    let own = intake
        .herbs
        .iter()
        .find(|one| snapshot.ledger.substances[one.substance].name == herb)
        .unwrap();
    (ends(own.at_once), own.a_day.map(ends))
}

fn near(found: &[R; 3], wanted: &[R; 3]) -> bool {
    found.iter().zip(wanted).all(|(a, b)| super::near(a, b))
}

/// Four spoons of 0.7 to 0.9 g are 2.8 to 3.6 g, 3.2 g in the middle, beside 6.8 g; 5 g of it.
#[test]
fn spoons_with_a_spread_in_a_dose_by_weight() {
    let snapshot =
        odd("formula odd\n  take\n    leaf   4 teaspoons\n    root   6.8 g\n  dose   5 g, 2 times a day\n");
    let (leaf, _) = of(&snapshot, "leaf");
    assert!(
        near(&leaf, &[r(14, 1) / r(96, 10), r(16, 10), r(18, 1) / r(104, 10)]),
        "{leaf:?}"
    );
    // 5 g × 6.8 / 10 = 3.4 g; at the least among 3.6 g of leaf, at the most among 2.8 g.
    let (root, day) = of(&snapshot, "root");
    let wanted = [r(34, 1) / r(104, 10), r(34, 10), r(34, 1) / r(96, 10)];
    assert!(near(&root, &wanted), "{root:?}");
    assert!(near(&day.unwrap(), &wanted.map(|one| one * r(2, 1))));
    assert_eq!(
        codes_of(&snapshot, "odd"),
        ["error over-the-daily-most", "warning above-the-most-at-once"]
    );
}

/// 10 g in a litre boiled down to half: 5 g in 250 ml, 4 to 6 g in a cup of 200 to 300 ml.
#[test]
fn a_decoction_boiled_down_taken_by_a_cup_of_uncertain_size() {
    let snapshot = odd(
        "formula odd\n  take   root 10 g\n  decoct   root in 1 litre of water for 20 minutes, down to 500 ml\n  dose   1 cup, 2 to 3 times a day\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(4, 1), r(5, 1), r(6, 1)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(8, 1), r(15, 1), r(18, 1)]));
    let intake = reckoned(&snapshot, "odd");
    // 500 ml are two cups, or 1 2/3 to 2 1/2.
    assert!(near(
        &ends(intake.doses_held.unwrap()),
        &[r(5, 3), r(2, 1), r(5, 2)]
    ));
    // Its strength does not hang on the cup.
    assert!(near(
        &ends(intake.grams_in_100_ml.unwrap()),
        &[r(2, 1), r(2, 1), r(2, 1)]
    ));
}

/// The same by a yield of its own, and 100 ml at a time: 2 g, whatever the cup is.
#[test]
fn a_decoction_that_says_what_it_makes_taken_by_volume() {
    let snapshot = odd(
        "formula odd\n  take   root 10 g\n  decoct   root in 1 litre of water for 20 minutes\n  makes   500 ml\n  dose   100 ml, every 8 hours\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(2, 1), r(2, 1), r(2, 1)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(6, 1), r(6, 1), r(6, 1)]));
    assert_eq!(codes_of(&snapshot, "odd"), Vec::<String>::new());
}

/// 12 g in 60 pills of 0.2 g; one to three of them.
#[test]
fn one_to_three_pills() {
    let snapshot = odd(
        "formula odd\n  take\n    root   9 g\n    leaf   3 g\n  divide   into 60 pills\n  dose   1 to 3 pills, up to 2 times a day\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(15, 100), r(45, 100), r(45, 100)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(15, 100), r(9, 10), r(9, 10)]));
    let held = ends(reckoned(&snapshot, "odd").doses_held.unwrap());
    assert!(near(&held, &[r(20, 1), r(20, 1), r(60, 1)]), "{held:?}");
}

/// Twenty drops are 1 ml of 100 ml that hold 20 g: 0.2 g behind a dose, compared with nothing.
#[test]
fn drops_of_a_tincture() {
    let snapshot = odd(
        "formula odd\n  take   root 2 kg\n  macerate   1:5 in spirit for 14 days\n  makes   10 litres\n  dose   20 to 30 drops, 3 times a day\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(2, 10), r(3, 10), r(3, 10)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(6, 10), r(9, 10), r(9, 10)]));
    assert!(reckoned(&snapshot, "odd").drawn_out);
}

/// Half a tea of halves: a quarter of the root, beside its own.
#[test]
fn nested_twice_with_parts_and_a_spoon_of_the_whole() {
    let snapshot = odd(
        "formula inner\n  take   root, leaf of each 1 part\n  one part   10 g\n\n\
         formula middle\n  take\n    inner   10 g\n    leaf   10 g\n\n\
         formula odd\n  take\n    middle   8 g\n    root   2 g\n  teaspoon   2 to 3 g\n  infuse   2 teaspoons in 250 ml of boiling water for 10 minutes\n  dose   125 to 250 ml, 2 times a day\n",
    );
    // 8 g of middle hold 2 g of root: 4 g of 10 g. Two spoons are 4 to 6 g, half of that with 125 ml.
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(8, 10), r(2, 1), r(24, 10)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(16, 10), r(4, 1), r(48, 10)]));
    assert_eq!(
        codes_of(&snapshot, "odd"),
        ["notice dose-not-sure"],
        "{}",
        listed(&snapshot.diagnostics)
    );
}

/// Without a word on how often there is no day, but one dose alone passes 6 g.
#[test]
fn no_word_on_how_often() {
    let snapshot = odd("formula odd\n  take   root 20 g\n  dose   7 g\n");
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(7, 1), r(7, 1), r(7, 1)]));
    assert_eq!(day, None);
    assert_eq!(
        codes_of(&snapshot, "odd"),
        ["error over-the-daily-most", "warning above-the-most-at-once"]
    );
}

/// Honey by the spoon is stirred in: 5 ml of 1.4 g are 7 g beside 7 g of root.
#[test]
fn an_electuary_with_honey_by_volume() {
    let snapshot =
        odd("formula odd\n  take\n    root   7 g\n    honey   5 ml\n  dose   2 g, 3 times a day\n");
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(1, 1), r(1, 1), r(1, 1)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(3, 1), r(3, 1), r(3, 1)]));
}

/// What adapts another takes its dose line along, and the dose is of its own blend.
#[test]
fn a_dose_line_that_is_taken_over() {
    let snapshot = odd(
        "formula first\n  take\n    root   10 g\n    leaf   30 g\n  dose   4 g, 2 times a day\n\n\
         formula odd\n  adapts   first\n  take   without leaf\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(4, 1), r(4, 1), r(4, 1)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(8, 1), r(8, 1), r(8, 1)]));
    // What is said is said of this formula; the first holds 1 g of it at once, 2 g a day.
    assert_eq!(snapshot.diagnostics.len(), 2, "{}", listed(&snapshot.diagnostics));
    for finding in &snapshot.diagnostics {
        assert!(finding.message.contains("odd"), "{}", finding.message);
    }
}

/// Every four to six hours is four to six times a day; a step's water and another's make one pot of a litre.
#[test]
fn two_pots_poured_together_every_few_hours() {
    let snapshot = odd(
        "formula odd\n  take\n    root   5 g\n    leaf   5 g\n  decoct   root in 1 litre of water for 20 minutes, down to 750 ml\n  \
         infuse   leaf in 250 ml of boiling water for 10 minutes\n  dose   200 ml, every 4 to 6 hours\n",
    );
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(1, 1), r(1, 1), r(1, 1)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(4, 1), r(6, 1), r(6, 1)]));
    assert_eq!(codes_of(&snapshot, "odd"), Vec::<String>::new());
}

/// A dry infusion with a tincture in it: of 60 g with 10 ml beside them 3 g hold 1.5 g of each herb at the
/// most; five cups are 7.5 g. The longest use of a herb is said once, though it comes in by two ways.
#[test]
fn a_tea_with_a_tincture_in_it() {
    let text = "formula drops\n  take   root 10 g\n  macerate   1:10 in spirit for 14 days\n  makes   100 ml\n\n\
        formula odd\n  take\n    root   30 g\n    leaf   30 g\n    drops   10 ml\n  infuse   3 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 5 times a day, for 21 days\n";
    let text = text.replace(
        "formula drops",
        "herb bark\n  most   14 days   source book\n\nformula drops",
    );
    let text = text.replace("root", "bark");
    let snapshot = odd(&text);
    let (bark, day) = of(&snapshot, "bark");
    assert_eq!((&bark[1], &day.unwrap()[1]), (&r(15, 10), &r(75, 10)));
    let intake = reckoned(&snapshot, "odd");
    // 10 ml of drops hold 1 g: a sixtieth of what is known in grams, times three.
    assert_eq!(exactly(intake.behind[0].at_once.nominal), r(5, 100));
    assert_eq!(intake.unweighed, ["drops"]);
    assert_eq!(codes_of(&snapshot, "odd"), ["warning taken-too-long"]);
}

/// A tincture poured together from two: 2 ml of 100 ml that hold 5 g and 10 g.
#[test]
fn two_tinctures_poured_together() {
    let snapshot = odd(
        "formula strong\n  take   root 20 g\n  macerate   1:5 in spirit for 14 days\n  makes   100 ml\n\n\
         formula weak\n  take   leaf 10 g\n  macerate   1:10 in spirit for 14 days\n  makes   100 ml\n\n\
         formula odd\n  take   strong, weak of each 50 ml\n  dose   2 ml, 3 times a day\n",
    );
    assert!(reckoned(&snapshot, "odd").drawn_out);
    let (root, day) = of(&snapshot, "root");
    assert!(near(&root, &[r(2, 10), r(2, 10), r(2, 10)]), "{root:?}");
    assert!(near(&day.unwrap(), &[r(6, 10), r(6, 10), r(6, 10)]));
    // Fifty doses, three a day.
    let days = reckoned(&snapshot, "odd").lasts_days.unwrap();
    assert!(near(&ends(days), &[r(50, 3), r(50, 3), r(50, 3)]));
}

/// What a dose lacks is what the help asks for: the heap, and not an infusion that is there.
#[test]
fn the_help_is_about_what_is_missing() {
    let snapshot = odd(
        "formula odd\n  take   leaf 30 g\n  teaspoon   2 g\n  infuse   1 heaped teaspoon in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n",
    );
    let finding = super::findings_of(&snapshot, "odd")
        .into_iter()
        .find(|one| one.code.name() == "dose-not-sure")
        .unwrap();
    assert!(finding.message.contains("heaped teaspoon"), "{}", finding.message);
    let help = finding.help.as_deref().unwrap();
    assert!(
        help.contains("heaped") && !help.contains("2 teaspoons in 1 cup"),
        "{help}"
    );
}

/// Two people for a week take of the line that the page shows: 2 × 7 × 2 doses of 4 g are 112 g.
#[test]
fn two_people_take_the_dose_that_is_shown() {
    let text = format!(
        "{START}formula odd\n  take   leaf 50 g\n  dose   4 g, once a day\n  dose   3 to 4 g, 2 times a day\n  dose   age 6 to 12: 20 g, 5 times a day\n"
    );
    let folder = on_disk(&[("practice.scruple", &text)]);
    let json = run(folder.path(), &["doses", "odd", "--as", "json"]).json();
    assert_eq!(json["dose"], "3 to 4 g, 2 times a day");
    // 50 g in doses of 3 to 4 g twice a day.
    assert_eq!(json["lasts_days"]["nominal"], "6.25");
    let sheet = run(folder.path(), &["weigh", "odd", "--make", "2 people for 7 days"]);
    assert!(sheet.flat().contains("112 g"), "{}", sheet.out);
}
