//! Every unit that the language knows, against `units.tsv` and a general unit library.

use std::collections::HashSet;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Zero};
use scruple::model::Portion;
use scruple::model::measure::portion;
use scruple::quantity::unit::{Dimension, FixedUnit, Reading, Settled, System, UNITS, Unit, Weights, read};
use scruple::quantity::{Heap, Household};
use scruple::source::Sources;
use scruple::syntax;

use super::{Row, errors, exact, figures, ledger, ratio, same, shown, sound, table, ten, whole};

const TABLE: &str = include_str!("../../outside/units.tsv");

/// Rows of the table and every way in which one would write the unit.
const KNOWN: &[(&str, &[&str])] = &[
    ("microgram", &["microgram", "micrograms", "mcg"]),
    ("milligram", &["mg", "milligram", "milligrams", "MG"]),
    ("centigram", &["cg", "centigrams"]),
    ("decigram", &["dg", "decigrams"]),
    ("gram", &["g", "gram", "grams", "gramme", "grammes", "G"]),
    ("kilogram", &["kg", "kilogram", "kilograms", "kilo"]),
    ("grain", &["grain", "grains"]),
    (
        "scruple (apothecary)",
        &["scruple", "scruples", "apothecary scruples"],
    ),
    (
        "drachm (apothecary)",
        &["drachm", "drachms", "apothecary drachms", "apothecary dram"],
    ),
    ("dram (avoirdupois)", &["avoirdupois dram", "avoirdupois drams"]),
    ("pennyweight (troy)", &["pennyweight", "pennyweights"]),
    (
        "ounce (avoirdupois)",
        &[
            "oz",
            "oz.",
            "avoirdupois ounce",
            "avoirdupois ounces",
            "avoirdupois oz",
        ],
    ),
    (
        "ounce (apothecary)",
        &[
            "apothecary ounce",
            "apothecary ounces",
            "apothecaries' ounces",
            "apothecaries’ ounces",
        ],
    ),
    ("ounce (troy)", &["troy ounce", "troy ounces", "troy oz"]),
    (
        "pound (avoirdupois)",
        &["lb", "lbs", "lb.", "pound", "pounds", "avoirdupois pounds"],
    ),
    (
        "pound (apothecary)",
        &["apothecary pound", "apothecary pounds", "apothecaries' pounds"],
    ),
    ("pound (troy)", &["troy pound", "troy pounds", "troy lb"]),
    ("stone", &["stone", "stones"]),
    ("microlitre", &["microlitre", "microlitres", "microliters"]),
    (
        "millilitre",
        &["ml", "mL", "ML", "millilitre", "millilitres", "milliliters"],
    ),
    ("centilitre", &["cl", "centilitres"]),
    ("decilitre", &["dl", "decilitres"]),
    ("litre", &["l", "L", "litre", "litres", "liter", "liters"]),
    ("drop (20 per ml)", &["drop", "drops"]),
    ("minim (US)", &["US minim", "US minims", "wine minims"]),
    ("minim (UK)", &["imperial minim", "imperial minims"]),
    (
        "fluid scruple (UK)",
        &["imperial fluid scruple", "imperial fl scruples"],
    ),
    (
        "fluid drachm (US)",
        &["US fl drachm", "US fluid drachms", "US fl dram"],
    ),
    (
        "fluid drachm (UK)",
        &["imperial fl drachm", "imperial fluid drachms"],
    ),
    (
        "fluid ounce (US)",
        &[
            "US fl oz",
            "US fl. oz.",
            "US fluid ounce",
            "US fluid ounces",
            "us fl oz",
        ],
    ),
    (
        "fluid ounce (UK)",
        &["imperial fl oz", "imperial fluid ounces", "Imperial fl. oz."],
    ),
    ("gill (US)", &["US gill", "US gills"]),
    ("gill (UK)", &["imperial gill", "imperial gills"]),
    ("pint (US)", &["US pint", "US pints", "wine pint", "wine pints"]),
    ("pint (UK)", &["imperial pint", "imperial pints"]),
    ("quart (US)", &["US quart", "US quarts", "wine quart"]),
    ("quart (UK)", &["imperial quart", "imperial quarts"]),
    ("gallon (US)", &["US gallon", "US gallons", "wine gallon"]),
    ("gallon (UK)", &["imperial gallon", "imperial gallons"]),
    ("second", &["second", "seconds"]),
    ("minute", &["minute", "minutes", "min"]),
    ("hour", &["hour", "hours", "h"]),
    ("day", &["day", "days"]),
    ("week", &["week", "weeks"]),
    ("month (mean Julian)", &["month", "months"]),
    ("year (Julian)", &["year", "years"]),
];

/// Rows that a practice settles for its own spoons and cups: the line that it writes, or none where
/// the row is what an unsettled practice has. Several lines of one row must come to the same.
const SETTLED_BY_THE_PRACTICE: &[(&str, Household, &[Option<&str>])] = &[
    ("teaspoon (metric)", Household::Teaspoon, &[None, Some("5 ml")]),
    (
        "dessertspoon (metric)",
        Household::Dessertspoon,
        &[None, Some("10 ml"), Some("1 cl")],
    ),
    (
        "tablespoon (metric)",
        Household::Tablespoon,
        &[None, Some("15 ml")],
    ),
    (
        "cup (metric)",
        Household::Cup,
        &[None, Some("250 ml"), Some("1/4 litre")],
    ),
    (
        "teaspoon (US customary)",
        Household::Teaspoon,
        &[Some("4.92892159375 ml"), Some("1/6 US fl oz")],
    ),
    (
        "tablespoon (US customary)",
        Household::Tablespoon,
        &[Some("14.78676478125 ml"), Some("1/2 US fl oz")],
    ),
    (
        "cup (US customary)",
        Household::Cup,
        &[Some("8 US fl oz"), Some("1/2 US pint")],
    ),
    (
        "teaspoon (US nutrition label)",
        Household::Teaspoon,
        &[Some("5 ml")],
    ),
    (
        "tablespoon (US nutrition label)",
        Household::Tablespoon,
        &[Some("15 ml")],
    ),
    ("cup (US nutrition label)", Household::Cup, &[Some("240 ml")]),
    ("teaspoon (Australia)", Household::Teaspoon, &[None, Some("5 ml")]),
    ("dessertspoon (Australia)", Household::Dessertspoon, &[None]),
    ("tablespoon (Australia)", Household::Tablespoon, &[Some("20 ml")]),
    ("cup (Australia)", Household::Cup, &[None, Some("250 ml")]),
    (
        "cup (UK half pint)",
        Household::Cup,
        &[Some("1/2 imperial pint"), Some("10 imperial fl oz")],
    ),
    ("cup (Japan)", Household::Cup, &[Some("200 ml")]),
    (
        "teaspoonful (historical imperial)",
        Household::Teaspoon,
        &[Some("1 imperial fl drachm")],
    ),
    (
        "dessertspoonful (historical imperial)",
        Household::Dessertspoon,
        &[Some("2 imperial fl drachms")],
    ),
    (
        "tablespoonful (historical imperial)",
        Household::Tablespoon,
        &[Some("4 imperial fl drachms"), Some("1/2 imperial fl oz")],
    ),
    (
        "wineglassful (historical imperial)",
        Household::Wineglass,
        &[Some("2 imperial fl oz")],
    ),
    (
        "teacupful (historical imperial)",
        Household::Teacup,
        &[Some("5 imperial fl oz"), Some("1 imperial gill")],
    ),
    (
        "teaspoonful (historical US)",
        Household::Teaspoon,
        &[Some("1 US fl drachm"), Some("60 US minims")],
    ),
    (
        "dessertspoonful (historical US)",
        Household::Dessertspoon,
        &[Some("2 US fl drachms")],
    ),
    (
        "tablespoonful (historical US)",
        Household::Tablespoon,
        &[Some("4 US fl drachms")],
    ),
    (
        "wineglassful (historical US)",
        Household::Wineglass,
        &[Some("2 US fl oz")],
    ),
    (
        "teacupful (historical US)",
        Household::Teacup,
        &[Some("4 US fl oz"), Some("1 US gill")],
    ),
    (
        "teaspoonful (eclectic pharmacy 1905)",
        Household::Teaspoon,
        &[Some("5 ml")],
    ),
    (
        "tablespoonful (eclectic pharmacy 1905)",
        Household::Tablespoon,
        &[Some("20 ml")],
    ),
    (
        "pinch (US measuring sets)",
        Household::Pinch,
        &[Some("1/96 US fl oz")],
    ),
];

/// Rows that the language does not have: what one might write, and why it isn't read. Each must be
/// refused, so that a row leaves this list as soon as the language learns it.
const LACKING: &[(&str, &[&str], &str)] = &[
    (
        "ounce (US nutrition label)",
        &["[oz_m]", "label ounces"],
        "a rounding for food labels: it is 28 g, and is written so",
    ),
    (
        "momme (Japan)",
        &["momme", "匁"],
        "a weight of another trade: write grams",
    ),
    (
        "tola (British India)",
        &["tola", "tolas"],
        "a weight of another trade: write grams",
    ),
    (
        "tael or liang (Hong Kong)",
        &["tael", "liang", "兩"],
        "differs from place to place: write grams",
    ),
    (
        "qian (China, 16-liang market system)",
        &["qian", "钱"],
        "differs with the system: write grams",
    ),
    (
        "cubic centimetre",
        &["cc", "CC", "ccm", "cm3"],
        "an error-prone abbreviation: write ml",
    ),
    (
        "fluid ounce (US nutrition label)",
        &["[foz_m]", "label fl oz"],
        "a rounding for food labels: it is 30 ml, and is written so",
    ),
    (
        "tumblerful (historical imperial)",
        &["tumbler", "tumblerfuls"],
        "no household measure of the language: write the ounces",
    ),
    ("tumblerful (historical US)", &["tumbler"], "the same"),
    (
        "saltspoon (US)",
        &["saltspoon", "saltspoons"],
        "no household measure of the language: write a quarter teaspoon",
    ),
    (
        "dash (US measuring sets)",
        &["dash", "dashes"],
        "not settled: a herb may declare its own `dash`",
    ),
    ("micrometre", &["um", "micrometres"], "nothing is taken by length"),
    ("millimetre", &["mm", "millimetres"], "nothing is taken by length"),
    (
        "centimetre",
        &["cm", "centimetres"],
        "nothing is taken by length; a herb may declare a `cm`",
    ),
    ("metre", &["metres"], "nothing is taken by length"),
    (
        "inch",
        &["inch", "inches"],
        "nothing is taken by length; a herb may declare an `inch`",
    ),
    ("foot", &["foot", "feet"], "nothing is taken by length"),
    (
        "degree Celsius",
        &["°C"],
        "temperatures of a preparation are kept as written, not reckoned with",
    ),
    ("kelvin", &["kelvin"], "the same"),
    ("degree Fahrenheit", &["°F"], "the same"),
    (
        "lunar month (synodal)",
        &["lunar months"],
        "a month is a calendar's mean month",
    ),
    (
        "percent by volume at 20 C",
        &["% vol", "%vol"],
        "strengths are read with their liquid and not reckoned with",
    ),
    ("percent by mass", &["% mas"], "the same"),
    (
        "percent weight in volume",
        &["% w/v", "g%"],
        "no pure ratio: write grams in millilitres",
    ),
    ("per mille", &["‰"], "write a percentage"),
    ("part per million", &["ppm"], "write a weight"),
    (
        "degree proof (US)",
        &["proof"],
        "two systems of one name: write percent by volume",
    ),
    ("degree proof (UK, Sikes)", &["proof"], "the same"),
];

fn fixed(words: &str, settled: Settled) -> Option<&'static FixedUnit> {
    match read(words, settled) {
        Reading::Known(Unit::Fixed(unit)) => Some(unit),
        _ => None,
    }
}

fn value(unit: &FixedUnit) -> BigRational {
    ratio(unit.value.0) / ratio(unit.value.1)
}

/// What `text` comes to in grams, millilitres or minutes; drops by twenty to the millilitre.
fn amount(text: &str) -> BigRational {
    let mut typed = Sources::default();
    let file = typed.add("typed", text.into());
    let quantity =
        syntax::parse_quantity(file, text).unwrap_or_else(|slip| panic!("{text}: {}", slip.message));
    match portion(&quantity, Settled::default()).unwrap_or_else(|slip| panic!("{text}: {}", slip.message)) {
        Portion::Grams(spread) | Portion::Millilitres(spread) | Portion::Minutes(spread) => {
            ratio(spread.nominal)
        }
        Portion::Drops(spread) => ratio(spread.nominal) / whole(20),
        other => panic!("{text} is read as {other:?}"),
    }
}

fn row<'r>(rows: &'r [Row<'static>], name: &str) -> &'r Row<'static> {
    rows.iter()
        .find(|row| row.get("unit") == name)
        .unwrap_or_else(|| panic!("units.tsv has no row `{name}`"))
}

#[test]
fn the_table_of_units_agrees_with_itself() {
    for row in table(TABLE) {
        let (fraction, decimal) = (exact(row.get("fraction")), exact(row.get("value_in_base")));
        if row.get("exact") == "yes" {
            assert_eq!(fraction, decimal, "{}", row.get("unit"));
        } else {
            // A repeating decimal is printed to eighteen significant digits.
            let apart = super::distance(&fraction, &decimal) / &fraction;
            assert!(
                apart < BigRational::new(BigInt::one(), ten(16)),
                "{}",
                row.get("unit")
            );
        }
    }
}

#[test]
fn every_row_is_known_settled_or_lacking() {
    let rows = table(TABLE);
    let mut placed = HashSet::new();
    let names = KNOWN
        .iter()
        .map(|(name, _)| *name)
        .chain(SETTLED_BY_THE_PRACTICE.iter().map(|(name, ..)| *name))
        .chain(LACKING.iter().map(|(name, ..)| *name))
        // Read as a percentage of the finished total; see below.
        .chain(["percent"]);
    for name in names {
        row(&rows, name);
        assert!(placed.insert(name), "{name} stands in two lists");
    }
    let missing: Vec<&str> = rows
        .iter()
        .map(|row| row.get("unit"))
        .filter(|name| !placed.contains(name))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn every_known_unit_has_the_value_and_the_code_of_its_row() {
    let rows = table(TABLE);
    let mut covered = HashSet::new();
    let mut wrong = Vec::new();
    for (name, spellings) in KNOWN {
        let row = row(&rows, name);
        let wanted = exact(row.get("fraction"));
        for words in *spellings {
            let Some(unit) = fixed(words, Settled::default()) else {
                wrong.push(format!("`{words}` is not read as {name}"));
                continue;
            };
            covered.insert(unit.one);
            // Both are fractions: no digit is dropped on the way.
            if value(unit) != wanted {
                wrong.push(format!(
                    "{words}: {} instead of {}",
                    shown(&value(unit)),
                    shown(&wanted)
                ));
            }
            let code = Some(row.get("ucum_code")).filter(|code| *code != "-");
            if unit.ucum != code {
                wrong.push(format!("{words}: UCUM {:?} instead of {code:?}", unit.ucum));
            }
            let dimension = match unit.dimension {
                Dimension::Mass => "mass",
                Dimension::Volume => "volume",
                Dimension::Time => "time",
            };
            assert_eq!(dimension, row.get("dimension"), "{words}");
            // As an amount in a ledger is read: once, seven times, a third, and a decimal.
            for count in ["1", "7", "1/3", "2 1/2", "0.04"] {
                let got = amount(&format!("{count} {words}"));
                let apart = super::distance(&got, &(exact(count) * &wanted));
                let allowed = BigRational::new(BigInt::one(), ten(12) * 2);
                if apart > allowed {
                    wrong.push(format!("{count} {words} comes to {}", shown(&got)));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    // Every fixed unit of ours stands in the table; there is no exception.
    let uncovered: Vec<&str> = UNITS
        .iter()
        .map(|unit| unit.one)
        .filter(|one| !covered.contains(one))
        .collect();
    assert!(uncovered.is_empty(), "{uncovered:?}");
}

#[test]
fn every_spelling_of_a_unit_is_read_as_that_unit() {
    for unit in UNITS {
        for words in unit.also.iter().chain([&unit.one, &unit.many]) {
            assert_eq!(fixed(words, Settled::default()), Some(unit), "{words}");
        }
    }
}

#[test]
fn household_measures_hold_what_the_practice_says() {
    let rows = table(TABLE);
    for (name, measure, lines) in SETTLED_BY_THE_PRACTICE {
        let wanted = exact(row(&rows, name).get("fraction"));
        for line in *lines {
            let practice = line.map_or(String::new(), |holds| format!("  {}  {holds}\n", measure.one()));
            let snapshot = sound(&format!(
                "practice\n{practice}material spring water\nformula draught\n  take\n    spring water   3 {}\n",
                measure.many()
            ));
            let volume = figures(&snapshot, "draught").totals.millilitres.unwrap();
            assert!(volume.is_exact());
            assert!(
                same(volume.nominal, &(whole(3) * &wanted)),
                "three of {name} by `{practice}` are {}",
                volume.nominal
            );
        }
    }
    for measure in Household::ALL {
        let unsettled = SETTLED_BY_THE_PRACTICE
            .iter()
            .any(|(_, of, lines)| *of == measure && lines.contains(&None));
        assert_eq!(measure.metric_millilitres().is_some(), unsettled, "{measure:?}");
    }
}

#[test]
fn percent_is_a_hundredth_of_the_finished_total() {
    assert_eq!(
        exact(row(&table(TABLE), "percent").get("fraction")),
        exact("1/100")
    );
    let snapshot = sound(
        "herb sage leaf\nherb thyme herb\nformula gargle tea\n  take\n    sage leaf    1%\n    thyme herb   99 g\n",
    );
    let total = figures(&snapshot, "gargle tea").lines[0].amounts.grams.unwrap();
    assert_eq!(ratio(total.nominal), whole(1));
}

#[test]
fn what_the_language_lacks_is_refused() {
    let rows = table(TABLE);
    let mut wrong = Vec::new();
    for (name, spellings, reason) in LACKING {
        assert!(!reason.is_empty());
        let code = row(&rows, name).get("ucum_code");
        assert!(
            code == "-" || UNITS.iter().all(|unit| unit.ucum != Some(code)),
            "{name} is known by now"
        );
        for words in *spellings {
            let reading = read(words, Settled::default());
            if !matches!(
                reading,
                Reading::Known(Unit::Piece(_)) | Reading::ErrorProne { .. }
            ) {
                wrong.push(format!("{words} is read as {reading:?}"));
            }
            let snapshot = ledger(&format!(
                "herb sage leaf\n  teaspoon  1 g\nformula gargle tea\n  take\n    sage leaf    2 {words}\n"
            ));
            let at = snapshot.formula("gargle tea").unwrap();
            if errors(&snapshot).is_empty() || snapshot.figures.of(at).is_some() {
                wrong.push(format!("2 {words} of sage are taken without an error"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The definitions: UK Weights and Measures Act 1985, sch. 1; NIST SP 811 (2008), app. B; the
/// apothecaries' tables in the books that the rows of `units.tsv` name.
#[test]
fn units_stand_to_each_other_as_they_are_defined() {
    for (big, many) in [
        ("1 lb", "7000 grains"),
        ("1 lb", "16 oz"),
        ("1 lb", "256 avoirdupois drams"),
        ("1 lb", "453.59237 g"),
        ("1 stone", "14 lb"),
        ("1 oz", "437.5 grains"),
        ("1 scruple", "20 grains"),
        ("1 drachm", "3 scruples"),
        ("1 apothecary ounce", "8 drachms"),
        ("1 apothecary ounce", "480 grains"),
        ("1 apothecary pound", "12 apothecary ounces"),
        ("1 apothecary pound", "5760 grains"),
        ("1 troy ounce", "1 apothecary ounce"),
        ("1 troy ounce", "20 pennyweights"),
        ("175 troy ounces", "12 lb"),
        ("1 troy pound", "12 troy ounces"),
        ("1 imperial gallon", "4.54609 litres"),
        ("1 imperial gallon", "4 imperial quarts"),
        ("1 imperial gallon", "8 imperial pints"),
        ("1 imperial gallon", "32 imperial gills"),
        ("1 imperial gallon", "160 imperial fl oz"),
        ("1 imperial fl oz", "8 imperial fl drachms"),
        ("1 imperial fl drachm", "3 imperial fl scruples"),
        ("1 imperial fl scruple", "20 imperial minims"),
        ("1 imperial pint", "20 imperial fl oz"),
        ("1 US gallon", "4 US quarts"),
        ("1 US gallon", "8 US pints"),
        ("1 US gallon", "32 US gills"),
        ("1 US gallon", "128 US fl oz"),
        ("1 US fl oz", "8 US fl drachms"),
        ("1 US fl drachm", "60 US minims"),
        ("1 US pint", "16 US fl oz"),
        ("1 litre", "10 dl"),
        ("1 litre", "100 cl"),
        ("1 ml", "20 drops"),
        ("1 kg", "1000 g"),
        ("1 g", "1000000 micrograms"),
        ("1 week", "7 days"),
        ("1 day", "24 hours"),
        ("1 hour", "3600 seconds"),
        ("1 year", "12 months"),
        ("4 years", "1461 days"),
        ("2 lb 10 oz", "42 oz"),
        ("1 oz 103 grains", "540.5 grains"),
        ("1 apothecary ounce 2 drachms 1 scruple", "620 grains"),
    ] {
        let (left, right) = (amount(big), amount(many));
        let apart = super::distance(&left, &right);
        // Thirds are rounded at the twenty-eighth digit.
        assert!(
            apart < BigRational::new(BigInt::one(), ten(18)),
            "{big} is not {many}"
        );
    }
    // The US gallon is 231 cubic inches of 2.54 cm: NIST SP 811, app. B.6.
    let inch = exact("2.54");
    assert_eq!(amount("1 US gallon"), whole(231) * &inch * &inch * &inch);
}

#[test]
fn old_names_mean_what_the_practice_settles() {
    for (settled, system) in [("imperial", System::Imperial), ("US", System::Us)] {
        for name in [
            "pint",
            "quarts",
            "gallon",
            "gills",
            "minims",
            "fl oz",
            "fluid ounces",
            "fl drachms",
            "fluid dram",
        ] {
            let open = Settled {
                measures: Some(system),
                ..Settled::default()
            };
            let said = fixed(&format!("{settled} {name}"), Settled::default());
            assert!(said.is_some(), "{settled} {name}");
            assert_eq!(fixed(name, open), said, "{name} under `measures {settled}`");
            let snapshot = sound(&format!(
                "practice\n  measures   {settled}\nmaterial wine\nformula cup\n  take\n    wine   3 {name}\n"
            ));
            let volume = figures(&snapshot, "cup").totals.millilitres.unwrap().nominal;
            assert!(
                same(volume, &(whole(3) * value(said.unwrap()))),
                "3 {name} of {settled} are {volume} ml"
            );
        }
    }
    for (line, name, meant) in [
        ("ounce avoirdupois", "ounces", "oz"),
        ("ounce apothecary", "ounces", "apothecary ounce"),
        ("dram avoirdupois", "drams", "avoirdupois dram"),
        ("dram apothecary", "drams", "drachm"),
    ] {
        let weights = if line.ends_with("apothecary") {
            Weights::Apothecary
        } else {
            Weights::Avoirdupois
        };
        let open = Settled {
            ounce: Some(weights),
            dram: Some(weights),
            ..Settled::default()
        };
        let said = fixed(meant, Settled::default()).unwrap();
        assert_eq!(fixed(name, open), Some(said));
        let snapshot = sound(&format!(
            "practice\n  {line}\nherb rue herb\nformula powder\n  take\n    rue herb   3 {name}\n"
        ));
        let grams = figures(&snapshot, "powder").totals.grams.unwrap().nominal;
        assert_eq!(ratio(grams), whole(3) * value(said), "{line}");
    }
}

#[test]
fn a_heap_is_no_unit_of_its_own() {
    for words in ["heaped teaspoons", "heaping teaspoon", "heaped tsp"] {
        assert_eq!(
            read(words, Settled::default()),
            Reading::Known(Unit::Household(Heap::Heaped, Household::Teaspoon)),
            "{words}"
        );
    }
}

/// What uom 0.38 has of our units, in its own base (kilogram, cubic metre, second).
///
/// It prints its factors to seven significant digits (those of NIST SP 811, app. B), so our value
/// is rounded to seven digits and must then be the same. It lacks: scruple, drachm, avoirdupois
/// dram, apothecary ounce and pound (its troy ounce and pound are the same), stone, all minims,
/// fluid scruples and fluid drachms, the imperial pint and quart, drop, week and month. Its year
/// has 365 days, ours (as UCUM's) 365.25.
#[test]
fn a_general_unit_library_has_the_same_values() {
    use uom::si::bigrational::{Mass, Time, Volume};
    use uom::si::{mass, time, volume};

    fn one() -> BigRational {
        BigRational::one()
    }
    let masses = [
        ("microgram", Mass::new::<mass::microgram>(one())),
        ("mg", Mass::new::<mass::milligram>(one())),
        ("cg", Mass::new::<mass::centigram>(one())),
        ("dg", Mass::new::<mass::decigram>(one())),
        ("g", Mass::new::<mass::gram>(one())),
        ("kg", Mass::new::<mass::kilogram>(one())),
        ("grain", Mass::new::<mass::grain>(one())),
        ("pennyweight", Mass::new::<mass::pennyweight>(one())),
        ("oz", Mass::new::<mass::ounce>(one())),
        ("troy ounce", Mass::new::<mass::ounce_troy>(one())),
        ("apothecary ounce", Mass::new::<mass::ounce_troy>(one())),
        ("lb", Mass::new::<mass::pound>(one())),
        ("troy pound", Mass::new::<mass::pound_troy>(one())),
        ("apothecary pound", Mass::new::<mass::pound_troy>(one())),
    ];
    let volumes = [
        ("microlitre", Volume::new::<volume::microliter>(one())),
        ("ml", Volume::new::<volume::milliliter>(one())),
        ("cl", Volume::new::<volume::centiliter>(one())),
        ("dl", Volume::new::<volume::deciliter>(one())),
        ("litre", Volume::new::<volume::liter>(one())),
        ("US fl oz", Volume::new::<volume::fluid_ounce>(one())),
        (
            "imperial fl oz",
            Volume::new::<volume::fluid_ounce_imperial>(one()),
        ),
        ("US gill", Volume::new::<volume::gill>(one())),
        ("imperial gill", Volume::new::<volume::gill_imperial>(one())),
        ("US pint", Volume::new::<volume::pint_liquid>(one())),
        ("US quart", Volume::new::<volume::quart_liquid>(one())),
        ("US gallon", Volume::new::<volume::gallon>(one())),
        ("imperial gallon", Volume::new::<volume::gallon_imperial>(one())),
    ];
    let times = [
        ("second", Time::new::<time::second>(one())),
        ("minute", Time::new::<time::minute>(one())),
        ("hour", Time::new::<time::hour>(one())),
        ("day", Time::new::<time::day>(one())),
    ];
    // From our bases to theirs.
    let (kilogram, cubic_metre, second) = (exact("1/1000"), exact("1/1000000"), whole(60));
    let theirs = masses
        .map(|(words, mass)| (words, mass.value, &kilogram))
        .into_iter()
        .chain(volumes.map(|(words, volume)| (words, volume.value, &cubic_metre)))
        .chain(times.map(|(words, time)| (words, time.value, &second)));
    let agree = |ours: &BigRational, theirs: &BigRational| {
        // Its factors pass through binary fractions, which are off by less than this.
        super::distance(theirs, &seven_digits(ours)) < ours / BigRational::from_integer(ten(14))
    };
    let mut compared = 0;
    for (words, theirs, base) in theirs {
        let ours = value(fixed(words, Settled::default()).unwrap()) * base;
        assert!(
            agree(&ours, &theirs),
            "{words}: {} here, {} there",
            shown(&ours),
            shown(&theirs)
        );
        compared += 1;
    }
    assert_eq!(compared, 31);
    for (text, theirs) in [
        ("1/6 US fl oz", Volume::new::<volume::teaspoon>(one())),
        ("1/2 US fl oz", Volume::new::<volume::tablespoon>(one())),
        ("8 US fl oz", Volume::new::<volume::cup>(one())),
    ] {
        assert!(agree(&(amount(text) * &cubic_metre), &theirs.value), "{text}");
    }
    let year = Time::new::<time::year>(one()).value / &second;
    let quarter_day = exact("0.25") * whole(24 * 60);
    assert!(super::distance(&(year + quarter_day), &amount("1 year")) < exact("0.000001"));
}

/// Rounded to seven significant digits, half away from zero.
fn seven_digits(value: &BigRational) -> BigRational {
    assert!(*value > BigRational::zero());
    let (low, high) = (
        BigRational::from_integer(ten(6)),
        BigRational::from_integer(ten(7)),
    );
    let mut scale = BigRational::one();
    while value * &scale < low {
        scale *= whole(10);
    }
    while value * &scale >= high {
        scale /= whole(10);
    }
    (value * &scale).round() / scale
}
