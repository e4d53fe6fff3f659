//! Bulk densities: what five and fifteen millilitres of a herb weigh.

use std::collections::BTreeSet;

use num_rational::BigRational;

use super::{Row, decimals, exact, figures, half_unit, ratio, sound, table};

const TABLE: &str = include_str!("../../outside/bulk_density.tsv");

/// Figures that come from a density with more digits than are printed.
const FROM_MORE_DIGITS: &[(&str, &str)] = &[("fennel seed", "grams_per_15_ml")];

fn ledger(density: &str, amount: &str) -> String {
    format!(
        "practice\n  teaspoon     5 ml\n  tablespoon   15 ml\nherb example herb\n  density      {density} g per ml\nformula example\n  take\n    example herb   {amount}\n"
    )
}

/// What an amount weighs: the least, the figure and the most.
fn grams(density: &str, amount: &str) -> [BigRational; 3] {
    let snapshot = sound(&ledger(density, amount));
    let spread = figures(&snapshot, "example").totals.grams.unwrap();
    [spread.low, spread.nominal, spread.high].map(ratio)
}

/// Half away from zero, as in print.
fn rounded(value: &BigRational, text: &str) -> BigRational {
    let unit = half_unit(text) * super::whole(2);
    (value / &unit + exact("1/2")).floor() * unit
}

/// The density between the values that are all printed like it.
fn printed_range(row: &Row<'_>) -> String {
    let text = row.get("density_g_ml");
    let (value, half) = (exact(text), half_unit(text));
    let shown = |value: BigRational| {
        let digits = decimals(text) + 1;
        let scaled = (value * BigRational::from_integer(super::ten(digits))).to_integer();
        format!("0.{scaled:0>digits$}", scaled = scaled.to_string())
    };
    format!("{} to {}", shown(&value - &half), shown(value + half))
}

#[test]
fn a_spoon_of_a_herb_weighs_what_its_density_says() {
    let mut odd = BTreeSet::new();
    for row in table(TABLE) {
        let herb = row.get("herb");
        for (column, volume, spoon) in [
            ("grams_per_5_ml", "5", "1 teaspoon"),
            ("grams_per_15_ml", "15", "1 tablespoon"),
        ] {
            let printed = row.get(column);
            let density = row.get("density_g_ml");
            let [low, nominal, high] = grams(density, &format!("{volume} ml"));
            assert_eq!(nominal, exact(density) * exact(volume), "{herb}");
            assert!(low == nominal && high == nominal, "{herb}");
            assert_eq!(grams(density, spoon)[1], nominal, "{herb} by the spoon");
            if rounded(&nominal, printed) != exact(printed) {
                odd.insert((herb, column));
                // Then it must at least lie where the print of the density leaves it.
                let [low, _, high] = grams(&printed_range(&row), &format!("{volume} ml"));
                let half = half_unit(printed);
                let printed = exact(printed);
                assert!(
                    low - &half <= printed && printed <= high + &half,
                    "{herb}: {column}"
                );
            }
        }
    }
    assert_eq!(odd, FROM_MORE_DIGITS.iter().copied().collect());
}
