//! Printed percentages: what the program rounds its shares to is what the books print.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use num_rational::BigRational;
use num_traits::Zero;
use scruple::compute::Composition;
use scruple::quantity::print::column;
use scruple::workspace::Snapshot;

use super::{batch, decimals, declared, exact, figures, folder, line, ratio, sound, table};

/// A herb and its percentage as printed.
type Printed = Vec<(String, String)>;

/// The percentages in print of every formula that has them, in the order of the table.
fn printed(text: &str) -> BTreeMap<&str, Printed> {
    let mut formulas: BTreeMap<&str, Printed> = BTreeMap::new();
    for row in table(text) {
        if row.get("kind") == "share_percent" && row.get("note").starts_with("printed") {
            formulas
                .entry(row.get("formula"))
                .or_default()
                .push((row.get("ingredient").to_owned(), row.get("value").to_owned()));
        }
    }
    formulas
}

fn expected() -> String {
    std::fs::read_to_string(folder().join("printed/expected.tsv")).unwrap()
}

/// The shares of a formula, each rounded by the program to the digits of the print.
fn rounded(snapshot: &Snapshot, composition: &Composition, print: &Printed) -> Vec<String> {
    print
        .iter()
        .map(|(herb, percent)| {
            let line = composition
                .lines
                .iter()
                .find(|line| declared(snapshot, line.taken.what) == herb)
                .unwrap_or_else(|| panic!("no line takes {herb}"));
            column(line.share.unwrap(), u32::try_from(decimals(percent)).unwrap())
        })
        .collect()
}

#[test]
fn shares_round_to_the_printed_percentages() {
    let text = expected();
    let snapshot = Snapshot::read(&folder().join("printed"));
    let formulas = printed(&text);
    assert!(formulas.len() >= 4);
    for (name, print) in &formulas {
        let composition = figures(&snapshot, name);
        assert_eq!(
            composition.lines.len(),
            print.len(),
            "{name} prints all of its shares"
        );
        let wanted: Vec<&str> = print.iter().map(|(_, percent)| percent.as_str()).collect();
        assert_eq!(rounded(&snapshot, composition, print), wanted, "{name}");
    }
}

/// The small whole numbers that printed percentages stand for: 50, 33.3 and 16.7 are 3 : 2 : 1.
fn in_parts(print: &Printed) -> Vec<u32> {
    (1..=20_u32)
        .find_map(|whole| {
            let parts: Vec<u32> = print
                .iter()
                .map(|(_, percent)| {
                    let share = exact(percent) * super::whole(i64::from(whole)) / super::whole(100);
                    share.round().to_integer().try_into().unwrap()
                })
                .collect();
            let right = parts.iter().sum::<u32>() == whole
                && parts.iter().zip(print).all(|(part, (_, percent))| {
                    let exactly =
                        super::whole(i64::from(*part)) * super::whole(100) / super::whole(i64::from(whole));
                    super::distance(&exactly, &exact(percent)) <= super::half_unit(percent)
                });
            right.then_some(parts)
        })
        .unwrap_or_else(|| panic!("{print:?} are no small parts"))
}

/// The same formulas written by the part: each share, rounded like the print, is the print; and a
/// hundred grams on scales of that step are weighed as the print says, and add up.
#[test]
fn parts_round_to_the_percentages_that_were_printed_for_them() {
    let text = expected();
    let mut formulas = printed(&text);
    // British Pharmaceutical Codex 1911 (see the README): 22.22, 66.66 and 11.11 are 2 : 6 : 1, of
    // which the second is cut short in print, and rounds to 66.67.
    let codex = [
        ("rhubarb root", "22.22"),
        ("magnesium carbonate", "66.67"),
        ("ginger", "11.11"),
    ];
    formulas.insert(
        "rhubarb powder with magnesia",
        codex
            .map(|(name, percent)| (name.to_owned(), percent.to_owned()))
            .to_vec(),
    );
    for (name, print) in &formulas {
        let parts = in_parts(print);
        let places = print.iter().map(|(_, percent)| decimals(percent)).max().unwrap();
        let step = if places == 0 {
            "1".to_owned()
        } else {
            format!("0.{:0>places$}", 1)
        };
        let mut ledger = format!("practice\n  scales   {step} g\n");
        for (herb, _) in print {
            writeln!(ledger, "herb {herb}").unwrap();
        }
        ledger.push_str("formula by the part\n  take\n");
        for ((herb, _), part) in print.iter().zip(&parts) {
            writeln!(ledger, "    {herb}   {part} parts").unwrap();
        }
        let snapshot = sound(&ledger);
        let wanted: Vec<&str> = print.iter().map(|(_, percent)| percent.as_str()).collect();
        assert_eq!(
            rounded(&snapshot, figures(&snapshot, "by the part"), print),
            wanted,
            "{name} as {parts:?}"
        );
        let made = batch(&snapshot, "by the part", "100 g");
        let mut sum = BigRational::zero();
        for (herb, percent) in print {
            let target = ratio(line(&snapshot, &made, herb).target.unwrap());
            assert_eq!(target, exact(percent), "{herb} of {name}");
            sum += target;
        }
        assert_eq!(sum, super::whole(100), "{name}");
    }
}

/// A column in print that misses a hundred by its rounding is read as what it stands for; one that is
/// wrong is not.
#[test]
fn a_rounded_column_is_divided_by_its_own_sum() {
    let with = |percents: [&str; 3]| {
        let [one, two, three] = percents;
        super::ledger(&format!(
            "herb alpha\nherb beta\nherb gamma\nformula example\n  take\n    alpha   {one}%\n    beta   {two}%\n    gamma   {three}%\n"
        ))
    };
    // Thirds, printed to one decimal, come to 99.9.
    let thirds = with(["33.3", "33.3", "33.3"]);
    assert_eq!(
        thirds
            .diagnostics
            .iter()
            .map(|one| one.code.name())
            .collect::<Vec<_>>(),
        ["percent-by-printing"]
    );
    for line in &figures(&thirds, "example").lines {
        assert!(super::same(line.share.unwrap(), &exact("100/3")));
    }
    // The Codex's column comes to 99.99 and stands for ninths.
    let codex = with(["22.22", "66.66", "11.11"]);
    assert_eq!(
        codex
            .diagnostics
            .iter()
            .map(|one| one.code.name())
            .collect::<Vec<_>>(),
        ["percent-by-printing"]
    );
    let shares: Vec<String> = figures(&codex, "example")
        .lines
        .iter()
        .map(|line| column(line.share.unwrap(), 2))
        .collect();
    assert_eq!(shares, ["22.22", "66.67", "11.11"]);
    // A slip of one in the last digit but one is no rounding.
    let slip = with(["32.3", "33.3", "33.3"]);
    assert_eq!(
        super::errors(&slip)
            .iter()
            .map(|one| one.code.name())
            .collect::<Vec<_>>(),
        ["percent-off"]
    );
}
