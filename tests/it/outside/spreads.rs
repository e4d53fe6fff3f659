//! Spreads and parts of a whole that no book prints, by their definitions in fractions.
//!
//! No source beyond the definition beside each: the least and the most that the written amounts
//! leave open are worked out here from their ends.

use num_rational::BigRational;
use scruple::compute::How;
use scruple::diagnostic::Severity;
use scruple::quantity::Spread;

use super::{batch, errors, exact, figures, ledger, ratio, same, shown, sound, whole};

fn ends(spread: Spread) -> [BigRational; 3] {
    [spread.low, spread.nominal, spread.high].map(ratio)
}

fn assert_ends(what: &str, spread: Spread, low: &str, nominal: &str, high: &str) {
    let got = ends(spread);
    let wanted = [low, nominal, high].map(exact);
    for ((got, wanted), end) in got.iter().zip(&wanted).zip(["least", "figure", "most"]) {
        assert!(
            super::distance(got, wanted) < exact("0.000000001"),
            "{what}: the {end} is {}, by its definition {}",
            shown(got),
            shown(wanted)
        );
    }
}

/// A percentage is of the finished total, and the 100 g are the rest of it: with 8 percent the whole
/// is 100 / 0.92 g, with 10 percent 100 / 0.90 g.
#[test]
fn an_open_percentage_beside_a_weight_spreads_the_whole() {
    let snapshot = sound(
        "herb sage leaf\nherb thyme herb\nformula gargle tea\n  take\n    sage leaf    8 to 10%\n    thyme herb   100 g\n",
    );
    let composition = figures(&snapshot, "gargle tea");
    assert_ends(
        "sage",
        composition.lines[0].amounts.grams.unwrap(),
        "800/92",
        "900/91",
        "1000/90",
    );
    assert_ends(
        "the whole",
        composition.totals.grams.unwrap(),
        "10000/92",
        "10000/91",
        "10000/90",
    );
}

/// What a formula makes is as open as it says.
#[test]
fn an_open_size_spreads_what_it_is_made_of() {
    let snapshot = sound(
        "herb sage leaf\nherb thyme herb\nformula gargle tea\n  take\n    sage leaf    8 parts\n    thyme herb   2 parts\n  makes        90 to 110 g\n",
    );
    let composition = figures(&snapshot, "gargle tea");
    assert_ends("the whole", composition.totals.grams.unwrap(), "90", "100", "110");
    assert_ends(
        "sage",
        composition.lines[0].amounts.grams.unwrap(),
        "72",
        "80",
        "88",
    );
}

/// Made up to 100 ml it is 100 ml, whatever the drops hold; as by weight.
#[test]
fn what_is_made_up_to_a_total_is_that_total() {
    for (unit, other) in [("g", "1 to 2 g"), ("ml", "20 to 30 drops")] {
        let snapshot = sound(&format!(
            "material sage tincture\n  drop   0.03 to 0.05 ml\nformula throat drops\n  take\n    sage tincture   {other}\n    water           q.s. to 100 {unit}\n"
        ));
        let totals = figures(&snapshot, "throat drops").totals;
        let total = if unit == "g" {
            totals.grams
        } else {
            totals.millilitres
        };
        assert_ends(
            &format!("the whole in {unit}"),
            total.unwrap(),
            "100",
            "100",
            "100",
        );
    }
}

/// Ten of a hundred pills hold a tenth of everything in them (compound pills of rhubarb, U.S.P. IX
/// 1916: rhubarb 13 g, aloes 10 g, myrrh 6 g, oil of peppermint 0.5 ml). Whoever opens ten of them may
/// be refused, but not be told that they hold no oil.
#[test]
fn a_piece_of_a_formula_holds_its_share_of_everything() {
    let snapshot = ledger(
        "material rhubarb\nmaterial aloes\nmaterial myrrh\nmaterial oil of peppermint\n\
         formula rhubarb pills\n  take\n    rhubarb   13 g\n    aloes   10 g\n    myrrh   6 g\n    oil of peppermint   0.5 ml\n  divide   into 100 pills\n\
         formula small box\n  take\n    rhubarb pills   10 pills\n    rhubarb   1 g\n",
    );
    let at = snapshot.formula("small box").unwrap();
    match snapshot.figures.of(at) {
        None => assert!(!errors(&snapshot).is_empty()),
        Some(composition) => {
            assert!(same(composition.totals.grams.unwrap().nominal, &exact("3.9")));
            let oil = composition
                .totals
                .millilitres
                .expect("the oil of ten pills is lost");
            assert!(same(oil.nominal, &exact("0.05")));
            assert!(composition.lines.iter().all(|line| line.share.is_none()));
        }
    }
}

/// A mixture of 100 ml divided into twenty is 5 ml a time, also where another formula takes it.
#[test]
fn a_piece_of_a_liquid_is_its_share_of_the_volume() {
    let snapshot = ledger(
        "material wine\nformula cordial\n  take\n    wine   100 ml\n  divide   into 20 portions\n\
         formula cup\n  take\n    cordial   10 portions\n    water   50 ml\n",
    );
    let found: Vec<&str> = errors(&snapshot).iter().map(|one| one.message.as_str()).collect();
    assert!(found.is_empty(), "{found:?}");
    let volume = figures(&snapshot, "cup").totals.millilitres.unwrap();
    assert_ends("the cup", volume, "100", "100", "100");
}

/// With an unmeasured alcohol in the same 100 ml, the water is at most 90 ml (so in the compound syrup
/// of sarsaparilla, U.S.P. 1880, whose 176 parts of water are water and diluted alcohol). A figure
/// that looks exact has to be taken back somewhere: by a finding, or by a spread.
#[test]
fn what_is_missing_beside_an_unmeasured_line_is_no_exact_figure() {
    let snapshot = ledger(
        "material oil of anise\nmaterial alcohol\nformula spirit of anise\n  take\n    oil of anise   10 ml\n    alcohol        q.s.\n    water          q.s. to 100 ml\n",
    );
    let composition = figures(&snapshot, "spirit of anise");
    let water = &composition.lines[2];
    let exact_figure =
        water.how == How::WorkedOut && water.amounts.millilitres.is_some_and(|volume| volume.is_exact());
    let said = snapshot
        .diagnostics
        .iter()
        .any(|one| one.severity >= Severity::Notice && snapshot.sources.text(one.span).contains("q.s."));
    assert!(
        !exact_figure || said,
        "90 ml of water, without a word about the alcohol among them"
    );
}

/// Thirds of 100 g are 100 g again, however the sheet splits them by how they were arrived at.
#[test]
fn what_was_weighed_spooned_and_judged_is_the_whole() {
    let snapshot = sound(
        "herb alpha\nherb beta\nherb gamma\nformula thirds\n  take\n    alpha, beta, gamma   equal parts\n",
    );
    for size in ["100 g", "1 kg", "0.2 g", "1 stone"] {
        let made = batch(&snapshot, "thirds", size);
        let sum = ratio(made.weighed.unwrap())
            + made.spooned.map_or(whole(0), |spread| ratio(spread.nominal))
            + made.judged.map_or(whole(0), |spread| ratio(spread.nominal));
        assert_eq!(shown(&sum), shown(&ratio(made.grams.unwrap().nominal)), "{size}");
    }
}

/// 700 ml of water and 300 ml of wine are a litre, which four cups of 250 ml empty.
#[test]
fn two_liquids_of_one_step_are_poured_together() {
    for (step, all) in [
        (
            "decoct   in 700 ml of water and 300 ml of wine for 20 minutes",
            "30",
        ),
        (
            "infuse   6 g in 150 ml of water and 100 ml of wine for 10 minutes",
            "24",
        ),
    ] {
        let snapshot = sound(&format!(
            "material wine\nherb thyme herb\nformula strong tea\n  take\n    thyme herb   30 g\n  {step}\n"
        ));
        let made = batch(&snapshot, "strong tea", "4 cups");
        assert_eq!(shown(&ratio(made.grams.unwrap().nominal)), all, "{step}");
    }
}
