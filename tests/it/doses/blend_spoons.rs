//! What a spoon of a blend weighs, worked out from the spoons of its herbs: the ends by hand, in exact fractions.
//!
//! The rule is the language's own (`grammar/README.md`, household measures): the blend's grams over the spoons that its herbs fill.
//! That a spoonful has one weight, in the grams and in the volume alike, is arithmetic; so no table stands behind it.

use super::{R, exactly, on_disk, r, reckoned, run, sound};

const HERBS: &str = "\
herb light
  teaspoon   1 to 1.2 g
herb heavy
  teaspoon   3 g
herb wide
  teaspoon   1 to 2 g
  tablespoon 4 g
herb by tablespoon
  tablespoon 3 to 3.6 g
practice
  heaped     2 level spoons
";

/// The level teaspoon of a blend: low, nominal, high.
fn spoon(lines: &str) -> [R; 3] {
    let snapshot = sound(&format!(
        "{HERBS}\nformula blend\n  take\n{lines}\n  infuse 1 teaspoon in 1 cup of boiling water\n  dose 1 cup\n"
    ));
    let blend = reckoned(&snapshot, "blend").blend_at_once.unwrap();
    [blend.low, blend.nominal, blend.high].map(exactly)
}

fn is(lines: &str, wanted: &[R; 3]) {
    let found = spoon(lines);
    for (found, wanted) in found.iter().zip(wanted) {
        assert!(super::near(found, wanted), "{lines}\n{found} must be {wanted}");
    }
}

#[test]
fn what_was_spooned_fills_its_spoons_whatever_they_weigh() {
    // (10 × 1 + 5 × 3) / 15, (10 × 1.1 + 15) / 15, (10 × 1.2 + 15) / 15.
    is(
        "    light   10 teaspoons\n    heavy   5 teaspoons",
        &[r(25, 15), r(26, 15), r(27, 15)],
    );
    // A heap of an exact factor, and two measures added, are spoons as well.
    is(
        "    light   5 heaped teaspoons\n    heavy   5 teaspoons",
        &[r(25, 15), r(26, 15), r(27, 15)],
    );
    is(
        "    light   3 tablespoons 1 teaspoon\n    heavy   5 teaspoons",
        &[r(25, 15), r(26, 15), r(27, 15)],
    );
    // Tablespoons of 15 ml of a herb that is weighed by the tablespoon: three teaspoons each of 1 to 1.2 g.
    is(
        "    by tablespoon   3 tablespoons\n    by tablespoon   1 teaspoon, cut\n    heavy   5 teaspoons",
        &[r(25, 15), r(26, 15), r(27, 15)],
    );
    // A volume of it: 50 ml are ten teaspoons of 5 ml.
    is(
        "    light   50 ml\n    heavy   5 teaspoons",
        &[r(25, 15), r(26, 15), r(27, 15)],
    );
}

#[test]
fn of_what_was_weighed_the_spoons_vary() {
    // 12 g fill 12 to 10 teaspoons, at the middle 12/1.1; 15 g of the heavy one fill 5.
    is(
        "    light   12 g\n    heavy   15 g",
        &[r(27, 17), r(27, 1) / (r(120, 11) + r(5, 1)), r(27, 15)],
    );
    // Weighed beside spooned.
    is(
        "    light   12 g\n    heavy   5 teaspoons",
        &[r(27, 17), r(27, 1) / (r(120, 11) + r(5, 1)), r(27, 15)],
    );
}

#[test]
fn how_much_there_is_and_what_it_weighs_are_two_things() {
    // 5 to 10 spoons of the light: the blend is lightest with ten light ones of 1 g, heaviest with five of 1.2 g.
    is(
        "    light   5 to 10 teaspoons\n    heavy   5 teaspoons",
        &[r(25, 15), (r(33, 4) + r(15, 1)) / r(25, 2), r(21, 10)],
    );
    // Two weighings of one herb are two figures: 2 tablespoons are 8 g, and those fill 8 to 4 teaspoons.
    is(
        "    wide    2 tablespoons\n    heavy   5 teaspoons",
        &[r(23, 13), r(23, 1) / (r(16, 3) + r(5, 1)), r(23, 9)],
    );
}

#[test]
fn one_herb_alone_has_the_spread_of_its_own_spoon() {
    is("    light   10 teaspoons", &[r(1, 1), r(11, 10), r(12, 10)]);
    is("    light   10 g", &[r(1, 1), r(11, 10), r(12, 10)]);
    is(
        "    light   10 g\n    light   3 teaspoons, cut",
        &[r(1, 1), r(11, 10), r(12, 10)],
    );
}

#[test]
fn its_working_is_shown() {
    let text = format!(
        "{HERBS}  teaspoon 5 ml\n\nformula blend\n  take\n    light   10 teaspoons\n    heavy   15 g\n  infuse 1 teaspoon in 1 cup of boiling water\n  dose 1 cup\n"
    );
    let folder = on_disk(&[("practice.scruple", &text)]);
    let why = run(folder.path(), &["why", "blend"]);
    let flat = why.flat();
    for said in [
        "light: a teaspoon weighs 1.1 g (1 to 1.2 g)",
        "light: 10 teaspoons at 1.1 g (1 to 1.2 g) each",
        "heavy: 15 g at 3 g a level teaspoon fill 5 of them",
        "26 by weight over 15 teaspoons = 1.733333 g (1.666667 to 1.8 g)",
    ] {
        assert!(flat.contains(said), "{said}\n{}\n{}", why.out, why.err);
    }
}
