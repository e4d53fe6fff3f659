//! Worked examples of textbooks, lectures and old books, put to the program as little ledgers.
//!
//! Each row of `worked.tsv` becomes a ledger that holds its inputs; the program makes it at the size
//! that is asked for, and its figure is compared with the printed answer: in full where the answer
//! is exact, else rounded to the digits in print. Only answers that the program's own arithmetic gave
//! are counted; what is done here besides is to change the unit, or to take a rest by whole ounces.

use std::collections::HashMap;
use std::fmt::Write as _;

use num_rational::BigRational;
use num_traits::Zero;
use scruple::book::size::Reckoned;
use scruple::book::weighing;
use scruple::compute::How;
use scruple::compute::batch::Target;
use scruple::quantity::print::column;
use scruple::workspace::Snapshot;

use super::{
    Row, batch, decimals, distance, exact, figures, folder, line, plan, ratio, shown, sound, table, ten,
    whole,
};

const TABLE: &str = include_str!("../../outside/worked.tsv");
const UNITS: &str = include_str!("../../outside/units.tsv");

/// Rows that are run in part, with how many of the answer's numbers are the program's.
const IN_PART: &[(&str, usize, &str)] = &[
    (
        "ds10",
        1,
        "the size of a portion; the time from the first to the last is not reckoned",
    ),
    (
        "ap08",
        1,
        "the exact weight; the old custom of 60 mg to the grain is not one of ours",
    ),
];

/// Rows that the program has no code for.
const LEFT_OUT: &[(&str, &str)] = &[
    (
        "er06",
        "the error in percent of one weighing: only the least weighable is reckoned",
    ),
    (
        "er10",
        "the aliquot method: the sheet says that a line is too small, and the pre-blend is written by hand",
    ),
];

/// Counting rows, at the least.
const LEAST: usize = 40;

#[test]
fn every_worked_example_comes_out_as_printed() {
    let mut counted = 0;
    let mut wrong = Vec::new();
    for row in table(TABLE) {
        let id = row.get("id");
        if LEFT_OUT.iter().any(|(left, _)| *left == id) {
            continue;
        }
        let got = answer(&row);
        let printed = numbers(row.get("answer"));
        let in_part = IN_PART.iter().find(|(part, ..)| *part == id);
        let wanted: Vec<&str> = match in_part {
            // Of these two rows ds10 begins with the program's number and ap08 ends with it.
            Some((_, count, _)) if id == "ap08" => printed[printed.len() - count..].to_vec(),
            Some((_, count, _)) => printed[..*count].to_vec(),
            // One answer may stand for several equal lines.
            None if printed.len() == 1 => vec![printed[0]; got.len()],
            None => printed,
        };
        assert!(!wanted.is_empty(), "{id} has no answer");
        let agree = got.len() == wanted.len()
            && got.iter().zip(&wanted).all(|(got, wanted)| {
                if row.get("exact") == "yes" {
                    agrees(got, &exact(wanted))
                } else {
                    rounded(got, decimals(wanted)) == exact(wanted)
                }
            });
        if !agree {
            let got: Vec<String> = got.iter().map(shown).collect();
            wrong.push(format!("{id}: {got:?}, printed {wanted:?}"));
        } else if in_part.is_none() {
            counted += 1;
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(counted >= LEAST, "only {counted} rows are counted");
}

/// A thirteenth decimal may be left over from a division.
fn agrees(got: &BigRational, wanted: &BigRational) -> bool {
    distance(got, wanted) * BigRational::from_integer(ten(12)) < whole(1)
}

/// Half away from zero, as books round; all figures here are above zero.
fn rounded(value: &BigRational, places: usize) -> BigRational {
    let unit = BigRational::from_integer(ten(places));
    (value * &unit + exact("1/2")).floor() / unit
}

/// The numbers of an answer such as `18.75/3.75/q.s. to 250` or `33 fl_oz 391 minim`.
fn numbers(answer: &str) -> Vec<&str> {
    answer
        .split(|letter: char| !(letter.is_ascii_digit() || letter == '.'))
        .filter(|word| word.contains(|letter: char| letter.is_ascii_digit()))
        .collect()
}

/// The inputs of a row by their names.
fn inputs<'t>(row: &Row<'t>) -> Vec<(&'t str, &'t str)> {
    row.get("inputs")
        .split(';')
        .map(|input| input.split_once('=').unwrap_or((input, "")))
        .map(|(key, value)| (key.trim(), value.trim()))
        .collect()
}

fn input<'t>(row: &Row<'t>, key: &str) -> &'t str {
    inputs(row)
        .into_iter()
        .find(|(name, _)| *name == key)
        .unwrap_or_else(|| panic!("{} has no input {key}", row.get("id")))
        .1
}

fn answer(row: &Row<'_>) -> Vec<BigRational> {
    match row.get("id") {
        "pct05" => ratio_strength(row),
        "pct11" | "pct13" => percentage(row),
        "sc01" | "sc02" => reduced_by_volume(row),
        "sc04" => made_up_to_volume(row),
        "sc05" => reduced_by_weight(row),
        "sc06" => from_print(row, "composition powder", "g"),
        "sc07" => from_print(row, "old USP compound powder of glycyrrhiza", "g"),
        "sc10" => pills(row),
        "pt01" | "pt04" => parts_to_grams(row),
        "pt06" => shares(row),
        "lr01" | "lr02" | "lr04" | "lr05" => largest_remainder(row),
        "ti14" => vec![how_many(
            &format!("{} ml", input(row, "concentrate_ml")),
            &format!("{} ml", input(row, "to_ml")),
        )],
        "ds01" => vec![how_many(
            &format!("{} mg", input(row, "dose_mg")),
            &format!("{} g", input(row, "total_g")),
        )],
        "ds02" => size_of_a_dose(row),
        "ds03" => total_of_doses(row),
        "ds04" | "ds05" => days(
            row,
            "mg",
            input(row, "total_mg"),
            &format!("{} mg", input(row, "dose_mg")),
        ),
        "ds07" => bottle(row),
        "ds08" => days(
            row,
            "ml",
            input(row, "bottle_ml"),
            &format!("{} drops", input(row, "dose_drops")),
        ),
        "ds10" => portions(row),
        "ds12" => drugs_in_a_pint(row),
        "ds13" => drugs_in_a_pill(row),
        "hm01" => teaspoons_in_a_tablespoon(row),
        "ap01" => vec![weight(input(row, "amount")) / unit("grain")],
        "ap03" | "ap04" | "ap05" => apothecaries_weight(row),
        "ap07" => apothecaries_measure(row),
        "ap08" => vec![weight(&format!("{} grains", input(row, "grains"))) * whole(1000)],
        "ap09" => ounces_and_rest("US minim", "US fl oz", &format!("{} ml", input(row, "volume_ml"))),
        "ap11" => ounces_and_rest("grain", "oz", &format!("{} g", input(row, "mass_g"))),
        "ap13" => vec![how_many("1 grain", &format!("{} g", input(row, "mass_g")))],
        "ap14" => vec![how_many("1 US minim", &format!("{} ml", input(row, "volume_ml")))],
        "ap15" => vec![how_many("1 US pint", "1 imperial pint")],
        "ap19" => in_a_hundred(row, "rhubarb", "grains"),
        "ap20" => in_a_hundred(row, "anethol", "imperial minims"),
        "er01" | "er03" | "er04" => least_weighable(row),
        "er08" => error_of_a_weighing(row),
        "er11" => smallest_batch(row),
        other => panic!("{other} is neither run nor left out"),
    }
}

/// What a unit is in grams or millilitres by `units.tsv`.
fn unit(name: &str) -> BigRational {
    table(UNITS)
        .iter()
        .find(|row| row.get("unit") == name)
        .map_or_else(
            || panic!("units.tsv has no {name}"),
            |row| exact(row.get("fraction")),
        )
}

/// A formula of its own with declared names, and further lines after `take`.
fn formula(practice: &str, lines: &[(&str, String)], more: &str) -> Snapshot {
    let mut text = format!("practice\n{practice}\n");
    for (name, _) in lines {
        writeln!(text, "material {name}").unwrap();
    }
    text.push_str("formula example\n  take\n");
    for (name, amount) in lines {
        writeln!(text, "    {name}   {amount}").unwrap();
    }
    writeln!(text, "{more}").unwrap();
    sound(&text)
}

/// How many times `each` goes into `size`: a mark of 1 mg in `each`, and what the mark weighs when
/// `size` is made.
fn how_many(each: &str, size: &str) -> BigRational {
    let snapshot = formula(
        "",
        &[("mark", "1 mg".into()), ("base", format!("q.s. to {each}"))],
        "",
    );
    let made = batch(&snapshot, "example", size);
    ratio(line(&snapshot, &made, "mark").grams.unwrap().nominal) * whole(1000)
}

/// What an amount weighs, in grams.
fn weight(amount: &str) -> BigRational {
    let snapshot = formula("", &[("drug", amount.to_owned())], "");
    ratio(figures(&snapshot, "example").totals.grams.unwrap().nominal)
}

fn grams(snapshot: &Snapshot, asked: &str, name: &str) -> BigRational {
    let made = batch(snapshot, "example", asked);
    ratio(line(snapshot, &made, name).grams.unwrap().nominal)
}

fn millilitres(snapshot: &Snapshot, asked: &str, name: &str) -> BigRational {
    let made = batch(snapshot, "example", asked);
    ratio(line(snapshot, &made, name).millilitres.unwrap().nominal)
}

/// The amounts of a row that are named with their unit, such as `zinc_oxide_g=75`.
fn named(row: &Row<'_>) -> Vec<(String, String)> {
    inputs(row)
        .iter()
        .filter(|(key, _)| {
            !["formula_", "to_", "desired_", "amount_"]
                .iter()
                .any(|start| key.starts_with(start))
        })
        .filter_map(|(key, value)| {
            let (name, unit) = key.rsplit_once('_')?;
            ["g", "ml"]
                .contains(&unit)
                .then(|| (name.replace('_', " "), format!("{value} {unit}")))
        })
        .collect()
}

fn borrowed(lines: &[(String, String)]) -> Vec<(&str, String)> {
    lines
        .iter()
        .map(|(name, amount)| (name.as_str(), amount.clone()))
        .collect()
}

const HERBS: [&str; 7] = ["alpha", "beta", "gamma", "delta", "epsilon", "zeta", "eta"];

/// `8/3/1/4/2/2` or `1x7`: a herb to each part.
fn parts(row: &Row<'_>) -> Vec<(&'static str, String)> {
    let text = input(row, "parts");
    let counts: Vec<&str> = match text.split_once('x') {
        Some((count, times)) => vec![count; times.parse().unwrap()],
        None => text.split('/').collect(),
    };
    assert!(counts.len() <= HERBS.len());
    HERBS
        .iter()
        .copied()
        .zip(counts.iter().map(|count| format!("{count} parts")))
        .collect()
}

fn ratio_strength(row: &Row<'_>) -> Vec<BigRational> {
    let (drug, all) = input(row, "ratio").split_once(':').unwrap();
    let lines = [
        ("drug", format!("{drug} part")),
        ("base", format!("q.s. to {all} parts")),
    ];
    let snapshot = formula("", &lines, "");
    vec![ratio(figures(&snapshot, "example").lines[0].share.unwrap())]
}

fn percentage(row: &Row<'_>) -> Vec<BigRational> {
    let lines = [
        ("drug", format!("{}%", input(row, "percent"))),
        ("base", "q.s. to 100%".to_owned()),
    ];
    let snapshot = formula("", &lines, "");
    let drug = grams(&snapshot, &format!("{} g", input(row, "mass_g")), "drug");
    match row.get("answer_unit") {
        "g" => vec![drug],
        "mg" => vec![drug * whole(1000)],
        other => panic!("{other}"),
    }
}

fn reduced_by_volume(row: &Row<'_>) -> Vec<BigRational> {
    let lines = [
        ("drug", format!("{} g", input(row, "amount_g"))),
        ("vehicle", format!("q.s. to {} ml", input(row, "formula_ml"))),
    ];
    let snapshot = formula("", &lines, "");
    vec![grams(
        &snapshot,
        &format!("{} ml", input(row, "desired_ml")),
        "drug",
    )]
}

fn made_up_to_volume(row: &Row<'_>) -> Vec<BigRational> {
    let named = named(row);
    let mut lines = borrowed(&named);
    lines.push(("vehicle", format!("q.s. to {} ml", input(row, "to_ml"))));
    let snapshot = formula("", &lines, "");
    let made = batch(&snapshot, "example", &format!("{} ml", input(row, "desired_ml")));
    let mut got = Vec::new();
    for (name, amount) in &named {
        let own = line(&snapshot, &made, name);
        let spread = if amount.ends_with("ml") {
            own.millilitres
        } else {
            own.grams
        };
        got.push(ratio(spread.unwrap().nominal));
    }
    // What is made up to the mark has no figure; the mark itself is scaled.
    let last = line(&snapshot, &made, "vehicle");
    assert!(last.figure.how == How::ToTheMark && last.grams.is_none() && last.millilitres.is_none());
    got.push(ratio(made.volume.unwrap().nominal));
    got
}

fn reduced_by_weight(row: &Row<'_>) -> Vec<BigRational> {
    let named = named(row);
    let snapshot = formula("", &borrowed(&named), "");
    let asked = format!("{} g", input(row, "desired_g"));
    named
        .iter()
        .map(|(name, _)| grams(&snapshot, &asked, name))
        .collect()
}

/// A formula of the printed ledger, whose amounts must be those of the row.
fn from_print(row: &Row<'_>, name: &str, unit: &str) -> Vec<BigRational> {
    let snapshot = Snapshot::read(&folder().join("printed"));
    let composition = figures(&snapshot, name);
    let (_, amounts) = input(row, "formula")
        .split(" = ")
        .next()
        .unwrap()
        .rsplit_once(' ')
        .unwrap();
    let given: Vec<BigRational> = amounts.split('/').map(exact).collect();
    let own: Vec<BigRational> = composition
        .lines
        .iter()
        .map(|line| ratio(line.amounts.grams.unwrap().nominal))
        .collect();
    assert_eq!(own, given, "{name}");
    let made = batch(&snapshot, name, &format!("{} {unit}", input(row, "desired_g")));
    let mut lines: Vec<_> = made.lines.iter().collect();
    lines.sort_by_key(|line| line.place);
    lines
        .iter()
        .map(|line| ratio(line.grams.unwrap().nominal))
        .collect()
}

fn pills(row: &Row<'_>) -> Vec<BigRational> {
    let named = named(row);
    let divide = format!("  divide   into {} pills", input(row, "per_pill_total"));
    let snapshot = formula("", &borrowed(&named), &divide);
    let asked = format!("{} pills", input(row, "desired_pills"));
    named
        .iter()
        .map(|(name, amount)| {
            if amount.ends_with("ml") {
                millilitres(&snapshot, &asked, name)
            } else {
                grams(&snapshot, &asked, name)
            }
        })
        .collect()
}

fn parts_to_grams(row: &Row<'_>) -> Vec<BigRational> {
    let asked = match inputs(row).iter().find(|(key, _)| *key == "batch_g") {
        Some((_, grams)) => format!("{grams} g"),
        None => input(row, "batch").replace("lb_av", "lb"),
    };
    let parts = parts(row);
    let snapshot = formula("", &parts, "");
    parts
        .iter()
        .map(|(name, _)| grams(&snapshot, &asked, name))
        .collect()
}

fn shares(row: &Row<'_>) -> Vec<BigRational> {
    let snapshot = formula("", &parts(row), "");
    let places = u32::try_from(decimals(numbers(row.get("answer"))[0])).unwrap();
    figures(&snapshot, "example")
        .lines
        .iter()
        .map(|line| exact(&column(line.share.unwrap(), places)))
        .collect()
}

fn largest_remainder(row: &Row<'_>) -> Vec<BigRational> {
    let practice = format!("  scales   {} g", input(row, "step_g"));
    let parts = parts(row);
    let snapshot = formula(&practice, &parts, "");
    let size = input(row, "batch_g");
    let made = batch(&snapshot, "example", &format!("{size} g"));
    let targets: Vec<BigRational> = parts
        .iter()
        .map(|(name, _)| ratio(line(&snapshot, &made, name).target.unwrap()))
        .collect();
    let sum = targets
        .iter()
        .fold(BigRational::zero(), |sum, target| sum + target);
    assert_eq!(sum, exact(size));
    targets
}

fn size_of_a_dose(row: &Row<'_>) -> Vec<BigRational> {
    let divide = format!("  divide   into {} portions", input(row, "doses"));
    let lines = [("mixture", format!("{} ml", input(row, "total_ml")))];
    let snapshot = formula("", &lines, &divide);
    let size = millilitres(&snapshot, "1 portion", "mixture");
    // In teaspoons of the household.
    let spoons = how_many("1 teaspoon", &format!("{} ml", column_of(&size)));
    vec![size, spoons]
}

/// A whole number as text.
fn column_of(value: &BigRational) -> String {
    assert!(value.is_integer());
    value.to_integer().to_string()
}

fn total_of_doses(row: &Row<'_>) -> Vec<BigRational> {
    let dose = format!("  dose   {} mg", input(row, "dose_mg"));
    let snapshot = formula("", &[("drug", "1 g".into())], &dose);
    vec![grams(
        &snapshot,
        &format!("{} doses", input(row, "doses")),
        "drug",
    )]
}

/// How long a bottle lasts: what one person takes in a day, and how often that goes into it.
fn days(row: &Row<'_>, measure: &str, total: &str, dose: &str) -> Vec<BigRational> {
    let size = format!("{total} {measure}");
    let makes = if measure == "ml" {
        format!("  makes   {size}\n")
    } else {
        String::new()
    };
    let more = format!(
        "{makes}  dose   {dose}, {} times a day",
        input(row, "times_per_day")
    );
    let snapshot = formula("", &[("medicine", size.clone())], &more);
    let a_day = match plan(&snapshot, "example", "1 person for 1 day") {
        Target::Grams(grams) => format!("{} g", grams.normalize()),
        Target::Millilitres(volume) => format!("{} ml", volume.normalize()),
        other => panic!("{other:?}"),
    };
    vec![how_many(&a_day, &size)]
}

fn bottle(row: &Row<'_>) -> Vec<BigRational> {
    let dose = input(row, "dose").split_once(" (").unwrap().0;
    let total = input(row, "bottle_ml");
    let more = format!("  makes   {total} ml\n  dose   {dose}, 3 times a day");
    let snapshot = formula("", &[("medicine", format!("{total} ml"))], &more);
    let Target::Millilitres(one) = plan(&snapshot, "example", "1 dose") else {
        panic!("a dose of a bottle is a volume");
    };
    let mut got = vec![how_many(
        &format!("{} ml", one.normalize()),
        &format!("{total} ml"),
    )];
    got.extend(days(row, "ml", total, dose));
    got
}

fn portions(row: &Row<'_>) -> Vec<BigRational> {
    let divide = format!("  divide   into {} powders", input(row, "portions"));
    let lines = [("powder", format!("{} drachms", input(row, "drachms")))];
    let snapshot = formula("", &lines, &divide);
    vec![grams(&snapshot, "1 powder", "powder") / unit("drachm (apothecary)")]
}

fn drugs_in_a_pint(row: &Row<'_>) -> Vec<BigRational> {
    let name = "compound syrup of aralia";
    let snapshot = Snapshot::read(&folder().join("printed"));
    let drugs = |asked: &str| {
        let made = batch(&snapshot, name, asked);
        let sum = made
            .lines
            .iter()
            .filter(|line| super::declared(&snapshot, line.figure.taken.what) != "refined sugar")
            .filter_map(|line| line.grams)
            .fold(BigRational::zero(), |sum, grams| sum + ratio(grams.nominal));
        sum / unit("ounce (apothecary)")
    };
    let whole = drugs(&format!("{} US pints", input(row, "syrup_pints")));
    assert!(
        agrees(&whole, &exact(input(row, "drug_total_oz"))),
        "{}",
        shown(&whole)
    );
    vec![drugs("1 US pint")]
}

fn drugs_in_a_pill(row: &Row<'_>) -> Vec<BigRational> {
    let lines: Vec<(&str, String)> = HERBS
        .iter()
        .copied()
        .zip(input(row, "drug_g").split('+').map(|grams| format!("{grams} g")))
        .collect();
    let snapshot = formula(
        "",
        &lines,
        &format!("  divide   into {} pills", input(row, "pills")),
    );
    vec![ratio(
        batch(&snapshot, "example", "1 pill").grams.unwrap().nominal,
    )]
}

/// A herb that weighs a gram to the teaspoon, by the tablespoon.
fn teaspoons_in_a_tablespoon(row: &Row<'_>) -> Vec<BigRational> {
    let snapshot = sound(&format!(
        "practice\n  teaspoon   {} ml\n  tablespoon   {} ml\nherb rue herb\n  teaspoon   1 g\nformula example\n  take\n    rue herb   1 tablespoon\n",
        input(row, "teaspoon_ml"),
        input(row, "tablespoon_ml")
    ));
    vec![ratio(figures(&snapshot, "example").totals.grams.unwrap().nominal)]
}

fn apothecaries_weight(row: &Row<'_>) -> Vec<BigRational> {
    let words = HashMap::from([
        ("scruple", "scruple"),
        ("drachm", "drachm"),
        ("oz_ap", "apothecary ounce"),
    ]);
    vec![weight(&format!("1 {}", words[input(row, "unit")]))]
}

fn apothecaries_measure(row: &Row<'_>) -> Vec<BigRational> {
    let system = HashMap::from([("us", "US"), ("imperial", "imperial")])[input(row, "system")];
    let amount = input(row, "volume").replace('_', " ");
    let snapshot = formula(&format!("  measures   {system}"), &[("liquor", amount)], "");
    vec![ratio(
        figures(&snapshot, "example").totals.millilitres.unwrap().nominal,
    )]
}

/// So many ounces, and the rest in the small measure to the nearest whole one.
fn ounces_and_rest(small: &str, ounce: &str, size: &str) -> Vec<BigRational> {
    let all = how_many(&format!("1 {small}"), size);
    let to_the_ounce = how_many(&format!("1 {small}"), &format!("1 {ounce}"));
    let ounces = (&all / &to_the_ounce).floor();
    let rest = rounded(&(all - &ounces * to_the_ounce), 0);
    vec![ounces, rest]
}

/// The column of the old Codex: what a hundred millilitres of an imperial formula hold.
fn in_a_hundred(row: &Row<'_>, drug: &str, words: &str) -> Vec<BigRational> {
    let count = input(row, drug).split(' ').next().unwrap();
    let to = input(row, "to").split(' ').next().unwrap();
    let lines = [
        ("drug", format!("{count} {words}")),
        ("vehicle", format!("q.s. to {to} imperial fl oz")),
    ];
    let snapshot = formula("", &lines, "");
    if words == "grains" {
        vec![grams(&snapshot, "100 ml", "drug")]
    } else {
        vec![millilitres(&snapshot, "100 ml", "drug")]
    }
}

fn least_weighable(row: &Row<'_>) -> Vec<BigRational> {
    let practice = format!(
        "  scales   {} mg\n  error   {}%",
        input(row, "sensitivity_mg"),
        input(row, "max_error_percent")
    );
    let snapshot = formula(&practice, &[("drug", "1 g".into())], "");
    vec![ratio(batch(&snapshot, "example", "1 g").least) * whole(1000)]
}

/// The smallest batch whose least line the scales can weigh. The row takes the error of reading, half
/// a division; so that is the step that the practice is given.
fn smallest_batch(row: &Row<'_>) -> Vec<BigRational> {
    let practice = format!(
        "  scales   {} g\n  error   {}%",
        input(row, "readability_error_g"),
        input(row, "max_error_percent")
    );
    let (part, all) = input(row, "formula")
        .rsplit_once(' ')
        .unwrap()
        .1
        .split_once('/')
        .unwrap();
    let lines = [
        ("orris", format!("{part} part")),
        ("rest", format!("q.s. to {all} parts")),
    ];
    let snapshot = formula(&practice, &lines, "");
    let too_small = |tenths: u32| {
        let made = batch(
            &snapshot,
            "example",
            &format!("{}.{} g", tenths / 10, tenths % 10),
        );
        line(&snapshot, &made, "orris").below_least
    };
    let smallest = (1..1000).find(|tenths| !too_small(*tenths)).unwrap();
    assert!((smallest..1000).all(|tenths| !too_small(tenths)));
    vec![whole(i64::from(smallest)) / whole(10)]
}

/// The error of what was weighed for a batch, in percent of what its formula asks for.
fn error_of_a_weighing(row: &Row<'_>) -> Vec<BigRational> {
    let text = format!(
        "herb drug\nformula powder\n  take drug {0} g\nbatch powder on 2026-11-03\n  make {0} g\n  used\n    drug {1} g\n",
        input(row, "intended_g"),
        input(row, "true_g"),
    );
    let snapshot = Snapshot::of([("practice.scruple".to_owned(), text.as_str().into())]);
    let reckoned = Reckoned {
        ledger: &snapshot.ledger,
        faults: &snapshot.faults,
        figures: &snapshot.figures,
    };
    let compared = weighing::compare(reckoned, &snapshot.book, 0, &snapshot.ledger.batches[0]).unwrap();
    vec![exact(&compared.lines[0].error_percent.to_string())]
}
