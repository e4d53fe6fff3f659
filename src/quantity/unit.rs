//! The units that the language knows, each with its exact value, its UCUM code and its standard.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::rounding::quotient;
use super::{Checked, Decimal, Overflow};
use rust_decimal::dec;

/// What a fixed unit measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Reckoned in grams.
    Mass,
    /// Reckoned in millilitres.
    Volume,
    /// Reckoned in minutes.
    Time,
}

/// A unit with one fixed value.
#[derive(Debug)]
pub struct FixedUnit {
    /// One of it: `gram`.
    pub one: &'static str,
    /// Several of it, as the tool writes them: `g`, `drachms`.
    pub many: &'static str,
    /// Other spellings that are read, in lower case.
    pub also: &'static [&'static str],
    /// The UCUM code (revision 2024-06-17), or nothing where UCUM has none.
    pub ucum: Option<&'static str>,
    /// What it measures.
    pub dimension: Dimension,
    /// Its value in grams, millilitres or minutes, as a fraction where no decimal is exact.
    pub value: (Decimal, Decimal),
    /// Where the value comes from.
    pub standard: &'static str,
}

impl PartialEq for FixedUnit {
    fn eq(&self, other: &Self) -> bool {
        self.one == other.one
    }
}
impl Eq for FixedUnit {}

impl FixedUnit {
    /// An amount of this unit in grams, millilitres or minutes.
    pub fn to_base(&self, amount: Decimal) -> Checked<Decimal> {
        let scaled = amount.checked_mul(self.value.0).ok_or(Overflow)?;
        if self.value.1 == Decimal::ONE {
            Ok(scaled)
        } else {
            quotient(scaled, self.value.1)
        }
    }
}

const SI: &str = "SI prefix; UCUM 2024-06-17";
const AVOIRDUPOIS: &str = "international pound of 0.45359237 kg; UCUM 2024-06-17, NIST SP 811 B.8";
const APOTHECARY: &str = "grain of 64.79891 mg; UCUM 2024-06-17, NIST SP 811 B.8";
const IMPERIAL: &str = "imperial gallon of 4.54609 l; UCUM 2024-06-17, NIST SP 811 B.8";
const US: &str = "US gallon of 231 cubic inches; UCUM 2024-06-17, NIST SP 811 B.8";

macro_rules! units {
    ($($one:literal $many:literal $also:tt $ucum:expr, $dimension:ident, $above:literal / $below:literal, $standard:expr;)*) => {
        /// Every unit with one fixed value.
        pub static UNITS: &[FixedUnit] = &[
            $(FixedUnit {
                one: $one, many: $many, also: &$also, ucum: $ucum,
                dimension: Dimension::$dimension, value: (dec!($above), dec!($below)), standard: $standard,
            }),*
        ];
    };
}

units! {
    "microgram" "micrograms" ["mcg"] Some("ug"), Mass, 0.000001 / 1, SI;
    "milligram" "mg" ["milligrams", "milligramme", "milligrammes"] Some("mg"), Mass, 0.001 / 1, SI;
    "centigram" "cg" ["centigrams"] Some("cg"), Mass, 0.01 / 1, SI;
    "decigram" "dg" ["decigrams"] Some("dg"), Mass, 0.1 / 1, SI;
    "gram" "g" ["grams", "gramme", "grammes"] Some("g"), Mass, 1 / 1, "base unit";
    "kilogram" "kg" ["kilograms", "kilo", "kilos"] Some("kg"), Mass, 1000 / 1, SI;
    "grain" "grains" [] Some("[gr]"), Mass, 0.06479891 / 1, APOTHECARY;
    "scruple" "scruples" ["apothecary scruple", "apothecary scruples"] Some("[sc_ap]"), Mass, 1.2959782 / 1, APOTHECARY;
    "drachm" "drachms" ["apothecary drachm", "apothecary drachms", "apothecary dram", "apothecary drams"] Some("[dr_ap]"), Mass, 3.8879346 / 1, APOTHECARY;
    "apothecary ounce" "apothecary ounces" ["apothecaries' ounce", "apothecaries' ounces", "apothecary oz"] Some("[oz_ap]"), Mass, 31.1034768 / 1, APOTHECARY;
    "apothecary pound" "apothecary pounds" ["apothecaries' pound", "apothecaries' pounds", "apothecary lb"] Some("[lb_ap]"), Mass, 373.2417216 / 1, APOTHECARY;
    "pennyweight" "pennyweights" [] Some("[pwt_tr]"), Mass, 1.55517384 / 1, APOTHECARY;
    "troy ounce" "troy ounces" ["troy oz"] Some("[oz_tr]"), Mass, 31.1034768 / 1, APOTHECARY;
    "troy pound" "troy pounds" ["troy lb"] Some("[lb_tr]"), Mass, 373.2417216 / 1, APOTHECARY;
    "avoirdupois dram" "avoirdupois drams" [] Some("[dr_av]"), Mass, 1.7718451953125 / 1, AVOIRDUPOIS;
    "avoirdupois ounce" "oz" ["avoirdupois ounces", "avoirdupois oz"] Some("[oz_av]"), Mass, 28.349523125 / 1, AVOIRDUPOIS;
    "pound" "lb" ["pounds", "lbs", "avoirdupois pound", "avoirdupois pounds", "avoirdupois lb"] Some("[lb_av]"), Mass, 453.59237 / 1, AVOIRDUPOIS;
    "stone" "stone" ["stones"] Some("[stone_av]"), Mass, 6350.29318 / 1, AVOIRDUPOIS;
    "microlitre" "microlitres" ["microliter", "microliters", "ul"] Some("uL"), Volume, 0.001 / 1, SI;
    "millilitre" "ml" ["millilitres", "milliliter", "milliliters"] Some("mL"), Volume, 1 / 1, "base unit";
    "centilitre" "cl" ["centilitres", "centiliter", "centiliters"] Some("cL"), Volume, 10 / 1, SI;
    "decilitre" "dl" ["decilitres", "deciliter", "deciliters"] Some("dL"), Volume, 100 / 1, SI;
    "litre" "litres" ["l", "liter", "liters"] Some("L"), Volume, 1000 / 1, SI;
    "drop" "drops" [] Some("[drp]"), Volume, 0.05 / 1, "20 drops to the ml; UCUM 2024-06-17 [drp]";
    "imperial minim" "imperial minims" [] Some("[min_br]"), Volume, 4546.09 / 76800, IMPERIAL;
    "imperial fluid scruple" "imperial fl scruples" [] None, Volume, 4546.09 / 3840, IMPERIAL;
    "imperial fluid drachm" "imperial fl drachms" [] Some("[fdr_br]"), Volume, 3.5516328125 / 1, IMPERIAL;
    "imperial fluid ounce" "imperial fl oz" [] Some("[foz_br]"), Volume, 28.4130625 / 1, IMPERIAL;
    "imperial gill" "imperial gills" [] Some("[gil_br]"), Volume, 142.0653125 / 1, IMPERIAL;
    "imperial pint" "imperial pints" [] Some("[pt_br]"), Volume, 568.26125 / 1, IMPERIAL;
    "imperial quart" "imperial quarts" [] Some("[qt_br]"), Volume, 1136.5225 / 1, IMPERIAL;
    "imperial gallon" "imperial gallons" [] Some("[gal_br]"), Volume, 4546.09 / 1, IMPERIAL;
    "US minim" "US minims" [] Some("[min_us]"), Volume, 0.061611519921875 / 1, US;
    "US fluid drachm" "US fl drachms" [] Some("[fdr_us]"), Volume, 3.6966911953125 / 1, US;
    "US fluid ounce" "US fl oz" [] Some("[foz_us]"), Volume, 29.5735295625 / 1, US;
    "US gill" "US gills" [] Some("[gil_us]"), Volume, 118.29411825 / 1, US;
    "US pint" "US pints" [] Some("[pt_us]"), Volume, 473.176473 / 1, US;
    "US quart" "US quarts" [] Some("[qt_us]"), Volume, 946.352946 / 1, US;
    "US gallon" "US gallons" [] Some("[gal_us]"), Volume, 3785.411784 / 1, US;
    "second" "seconds" ["sec"] Some("s"), Time, 1 / 60, "UCUM 2024-06-17";
    "minute" "minutes" ["min", "mins"] Some("min"), Time, 1 / 1, "UCUM 2024-06-17";
    "hour" "hours" ["h", "hrs"] Some("h"), Time, 60 / 1, "UCUM 2024-06-17";
    "day" "days" [] Some("d"), Time, 1440 / 1, "UCUM 2024-06-17";
    "week" "weeks" [] Some("wk"), Time, 10080 / 1, "UCUM 2024-06-17";
    "month" "months" [] Some("mo"), Time, 43830 / 1, "mean month of 30.4375 days; UCUM 2024-06-17";
    "year" "years" [] Some("a"), Time, 525960 / 1, "year of 365.25 days; UCUM 2024-06-17";
}

/// A measure of the household, in rising order of size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Household {
    /// Between two fingers.
    Pinch,
    /// A teaspoon.
    Teaspoon,
    /// A dessertspoon.
    Dessertspoon,
    /// A tablespoon.
    Tablespoon,
    /// A handful.
    Handful,
    /// A wineglass.
    Wineglass,
    /// A teacup.
    Teacup,
    /// A cup.
    Cup,
}

impl Household {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::Pinch,
        Self::Teaspoon,
        Self::Dessertspoon,
        Self::Tablespoon,
        Self::Handful,
        Self::Wineglass,
        Self::Teacup,
        Self::Cup,
    ];

    /// Whether it is a spoon or a pinch, not a vessel that one drinks from.
    pub fn is_spoon(self) -> bool {
        matches!(
            self,
            Self::Pinch | Self::Teaspoon | Self::Dessertspoon | Self::Tablespoon | Self::Handful
        )
    }

    /// One of it.
    pub fn one(self) -> &'static str {
        match self {
            Self::Pinch => "pinch",
            Self::Teaspoon => "teaspoon",
            Self::Dessertspoon => "dessertspoon",
            Self::Tablespoon => "tablespoon",
            Self::Handful => "handful",
            Self::Wineglass => "wineglass",
            Self::Teacup => "teacup",
            Self::Cup => "cup",
        }
    }

    /// Several of it.
    pub fn many(self) -> &'static str {
        match self {
            Self::Pinch => "pinches",
            Self::Teaspoon => "teaspoons",
            Self::Dessertspoon => "dessertspoons",
            Self::Tablespoon => "tablespoons",
            Self::Handful => "handfuls",
            Self::Wineglass => "wineglasses",
            Self::Teacup => "teacups",
            Self::Cup => "cups",
        }
    }

    /// The volume that a metric household measure holds, where a standard gives one.
    ///
    /// Teaspoon and tablespoon: UCUM 2024-06-17 `[tsp_m]`, `[tbs_m]`; dessertspoon of two
    /// teaspoons and cup of 250 ml: the metric kitchen sets of Australia (AS 1325, from memory).
    pub fn metric_millilitres(self) -> Option<Decimal> {
        Some(match self {
            Self::Teaspoon => dec!(5),
            Self::Dessertspoon => dec!(10),
            Self::Tablespoon => dec!(15),
            Self::Cup => dec!(250),
            Self::Pinch | Self::Handful | Self::Wineglass | Self::Teacup => return None,
        })
    }

    fn named(word: &str) -> Option<Self> {
        let word = word
            .strip_suffix("fuls")
            .or_else(|| word.strip_suffix("sful"))
            .or_else(|| word.strip_suffix("ful"))
            .filter(|stem| !stem.is_empty() && *stem != "hand")
            .unwrap_or(word);
        Some(match word {
            "pinch" | "pinches" => Self::Pinch,
            "teaspoon" | "teaspoons" | "tsp" | "tsps" => Self::Teaspoon,
            "dessertspoon" | "dessertspoons" => Self::Dessertspoon,
            "tablespoon" | "tablespoons" | "tbsp" | "tbsps" => Self::Tablespoon,
            "handful" | "handfuls" => Self::Handful,
            "wineglass" | "wineglasses" => Self::Wineglass,
            "teacup" | "teacups" => Self::Teacup,
            "cup" | "cups" => Self::Cup,
            _ => return None,
        })
    }
}

/// How full a household measure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Heap {
    /// Struck off at the rim; also what an unqualified spoon is.
    Level,
    /// As much above the rim as in the bowl, about.
    Rounded,
    /// As much as it holds.
    Heaped,
}

impl Heap {
    /// The word before the measure.
    pub fn word(self) -> &'static str {
        match self {
            Self::Level => "level",
            Self::Rounded => "rounded",
            Self::Heaped => "heaped",
        }
    }

    fn named(word: &str) -> Option<Self> {
        Some(match word {
            "level" => Self::Level,
            "rounded" => Self::Rounded,
            "heaped" | "heaping" => Self::Heaped,
            _ => return None,
        })
    }
}

/// What stands after a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unit {
    /// A unit with one value everywhere.
    Fixed(&'static FixedUnit),
    /// A household measure: its weight is the herb's own.
    Household(Heap, Household),
    /// A part.
    Part,
    /// A percentage by weight of the finished total.
    Percent,
    /// Pieces that the herb or the formula declares: `slices`, `filter bags`; in the singular or plural as written.
    Piece(String),
}

impl Unit {
    /// The unit in words, for one or for several.
    pub fn words(&self, several: bool) -> String {
        match self {
            Self::Fixed(unit) => unit.many.to_owned(),
            Self::Household(heap, measure) => {
                let measure = if several { measure.many() } else { measure.one() };
                match heap {
                    Heap::Level => measure.to_owned(),
                    Heap::Rounded | Heap::Heaped => format!("{} {measure}", heap.word()),
                }
            }
            Self::Part => if several { "parts" } else { "part" }.to_owned(),
            Self::Percent => "%".to_owned(),
            Self::Piece(name) => name.clone(),
        }
    }
}

/// Whose pint, fluid ounce and minim is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum System {
    /// The imperial measures of 1824.
    Imperial,
    /// The US (wine) measures.
    Us,
}

/// Which ounce or dram is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weights {
    /// Sixteen ounces to the pound.
    Avoirdupois,
    /// Twelve ounces to the pound.
    Apothecary,
}

/// What a practice has settled about old names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Settled {
    /// Whose pint, fluid ounce and minim.
    pub measures: Option<System>,
    /// Which ounce.
    pub ounce: Option<Weights>,
    /// Which dram.
    pub dram: Option<Weights>,
}

/// What the words after a number turn out to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reading {
    /// A unit.
    Known(Unit),
    /// An old name that means several things; each meaning, as one would write it.
    Unclear(&'static [&'static str]),
    /// `T` or `t`, which hide three teaspoons.
    SpoonLetter,
    /// A notation that has hurt people, with why and what to write instead.
    ErrorProne {
        /// What it has been mistaken for.
        why: &'static str,
        /// Unambiguous spellings, the likelier first.
        instead: &'static [&'static str],
    },
}

fn apothecary_sign() -> Reading {
    Reading::ErrorProne {
        why: "the apothecaries' signs are mistaken for one another and for figures",
        instead: &["apothecary ounces", "drachms", "scruples", "grains"],
    }
}

/// Folds the spelling of measure words: case, dots, blanks and wine measure.
fn folded(words: &str) -> String {
    if matches!(
        words,
        "g" | "ml" | "mg" | "kg" | "teaspoons" | "parts" | "cup" | "minutes"
    ) {
        return words.to_owned();
    }
    let mut out = String::with_capacity(words.len());
    for word in words.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        let bare = word.replace('.', "").to_lowercase().replace('’', "'");
        out.push_str(match bare.as_str() {
            "wine" => "us",
            "fluid" | "fl" => "fl",
            "ounce" | "ounces" if out.ends_with("fl ") => "oz",
            "drachms" | "dram" | "drams" if out.ends_with("fl ") => "drachm",
            "scruples" if out.ends_with("fl ") => "scruple",
            "apothecaries'" => "apothecary",
            "pt" | "pts" => "pint",
            "qt" | "qts" => "quart",
            "gal" | "gals" => "gallon",
            "floz" => "fl oz",
            "av" | "avdp" => "avoirdupois",
            other => other,
        });
    }
    out
}

const PINTS: &[(&str, &[&str])] = &[
    ("pint", &["imperial pint", "US pint"]),
    ("quart", &["imperial quart", "US quart"]),
    ("gallon", &["imperial gallon", "US gallon"]),
    ("gill", &["imperial gill", "US gill"]),
    ("minim", &["imperial minim", "US minim"]),
    ("fl oz", &["imperial fl oz", "US fl oz"]),
    ("fl drachm", &["imperial fl drachm", "US fl drachm"]),
];

/// Reads the words after a number.
///
/// Words that are no unit become [`Unit::Piece`]: whether such a piece exists is for the herb to say.
pub fn read(words: &str, settled: Settled) -> Reading {
    let mut said = words.split_whitespace().peekable();
    if said
        .peek()
        .is_some_and(|first| Heap::named(&first.to_lowercase()).is_some())
    {
        said.next();
    }
    if said
        .next()
        .is_some_and(|word| matches!(word.trim_end_matches('.'), "T" | "t" | "Ts" | "ts"))
    {
        return Reading::SpoonLetter;
    }
    // `ʒi` and `℥iij` run the sign together with its number.
    if let Some(sign) = words.trim().chars().next()
        && matches!(sign, '℥' | 'ʒ' | '℈' | '℔' | 'Ʒ')
    {
        return apothecary_sign();
    }
    match words.trim().trim_end_matches('.') {
        "%" | "per cent" | "percent" => return Reading::Known(Unit::Percent),
        "µg" | "μg" | "ug" => {
            return Reading::ErrorProne {
                why: "it has been read as mg, a thousand times as much",
                instead: &["micrograms", "mcg"],
            };
        }
        _ => {}
    }
    let folded = folded(words);
    match folded.as_str() {
        "gr" | "grs" => {
            return Reading::ErrorProne {
                why: "it has been read as gram and as grain, and a gram is about 15.4 grains",
                instead: &["g", "grains"],
            };
        }
        "gtt" | "gtts" => {
            return Reading::ErrorProne {
                why: "it has been read as a number and as other signs",
                instead: &["drops"],
            };
        }
        "cc" | "ccm" => {
            return Reading::ErrorProne {
                why: "it has been read as a figure with two noughts",
                instead: &["ml"],
            };
        }
        "part" | "parts" => return Reading::Known(Unit::Part),
        "ounce" | "ounces" => {
            return match settled.ounce {
                Some(Weights::Avoirdupois) => fixed("avoirdupois ounce"),
                Some(Weights::Apothecary) => fixed("apothecary ounce"),
                None => Reading::Unclear(&["oz", "apothecary ounce", "fl oz"]),
            };
        }
        "dram" | "drams" | "dr" => {
            return match settled.dram {
                Some(Weights::Avoirdupois) => fixed("avoirdupois dram"),
                Some(Weights::Apothecary) => fixed("drachm"),
                None => Reading::Unclear(&["drachm", "avoirdupois dram", "fl drachm"]),
            };
        }
        _ => {}
    }
    if let Some(household) = household(&folded) {
        return Reading::Known(household);
    }
    if let Some(unit) = index().get(folded.as_str()) {
        return Reading::Known(Unit::Fixed(unit));
    }
    let singular = folded.strip_suffix('s').unwrap_or(&folded);
    if let Some((_, readings)) = PINTS.iter().find(|(name, _)| *name == singular) {
        return match (settled.measures, readings) {
            (Some(System::Imperial), [imperial, ..]) => read(imperial, settled),
            (Some(System::Us), [_, us, ..]) => read(us, settled),
            _ => Reading::Unclear(readings),
        };
    }
    Reading::Known(Unit::Piece(folded))
}

/// Every spelling of a unit, folded.
fn index() -> &'static HashMap<String, &'static FixedUnit> {
    static INDEX: LazyLock<HashMap<String, &'static FixedUnit>> = LazyLock::new(|| {
        let mut index = HashMap::new();
        for unit in UNITS {
            let spellings = [unit.one, unit.many].into_iter().chain(unit.also.iter().copied());
            for spelling in spellings {
                index.insert(folded(spelling), unit);
            }
        }
        index
    });
    &INDEX
}

fn fixed(one: &str) -> Reading {
    UNITS.iter().find(|unit| unit.one == one).map_or_else(
        || Reading::Known(Unit::Piece(one.to_owned())),
        |unit| Reading::Known(Unit::Fixed(unit)),
    )
}

/// Reads `teaspoons`, `heaped tablespoon`.
fn household(folded: &str) -> Option<Unit> {
    let (heap, measure) = match folded.split_once(' ') {
        Some((first, rest)) => (Heap::named(first)?, rest),
        None => (Heap::Level, folded),
    };
    Some(Unit::Household(heap, Household::named(measure)?))
}

/// The unit that a word was probably meant to be.
///
/// Short words are near to one another whatever they mean, and a wrong offer could multiply a
/// dose: for them only the known slips are offered.
pub fn nearest(word: &str) -> Option<&'static str> {
    match word {
        "gm" | "gms" | "grm" | "grms" => return Some("g"),
        "mgs" | "mgm" | "mgms" => return Some("mg"),
        "kgs" | "kgm" => return Some("kg"),
        "ozs" => return Some("oz"),
        "mls" => return Some("ml"),
        "ltr" | "ltrs" => return Some("litres"),
        _ => {}
    }
    let spellings = UNITS
        .iter()
        .flat_map(|unit| [unit.one, unit.many])
        .chain(Household::ALL.iter().flat_map(|h| [h.one(), h.many()]))
        .chain(["parts"])
        .filter(|spelling| spelling.len() >= 5);
    // A longer word that only begins like a unit is another word.
    crate::naming::nearest(word, spellings)
        .filter(|near| word.chars().count() >= 5 && word.chars().count().abs_diff(near.chars().count()) <= 2)
}

#[cfg(test)]
mod tests {
    use super::{Heap, Household, Reading, Settled, System, Unit, Weights, read};

    fn name(words: &str, settled: Settled) -> String {
        match read(words, settled) {
            Reading::Known(unit) => unit.words(false),
            other => format!("{other:?}").chars().take(11).collect(),
        }
    }

    #[test]
    fn spellings_of_one_measure() {
        let open = Settled::default();
        for words in [
            "tsp",
            "Teaspoon",
            "teaspoonfuls",
            "level teaspoons",
            "teaspoonful",
        ] {
            assert_eq!(
                read(words, open),
                Reading::Known(Unit::Household(Heap::Level, Household::Teaspoon)),
                "{words}"
            );
        }
        assert_eq!(name("heaping Tbsp", open), "heaped tablespoon");
        assert_eq!(name("handfuls", open), "handful");
        assert_eq!(name("apothecaries’ ounces", open), "apothecary ounces");
        assert_eq!(
            name(
                "fl. oz.",
                Settled {
                    measures: Some(System::Us),
                    ..open
                }
            ),
            "US fl oz"
        );
        assert_eq!(
            name(
                "fluid drachms",
                Settled {
                    measures: Some(System::Imperial),
                    ..open
                }
            ),
            "imperial fl drachms"
        );
        assert_eq!(name("wine pint", open), "US pints");
        assert_eq!(
            name(
                "ounces",
                Settled {
                    ounce: Some(Weights::Apothecary),
                    ..open
                }
            ),
            "apothecary ounces"
        );
        assert_eq!(name("slices", open), "slices");
    }

    #[test]
    fn old_names_must_say_which() {
        for words in [
            "ounce",
            "dram",
            "pint",
            "fl oz",
            "minims",
            "gallons",
            "fluid drachm",
        ] {
            assert!(
                matches!(read(words, Settled::default()), Reading::Unclear(_)),
                "{words}"
            );
        }
        for words in ["gr", "cc", "µg", "℥"] {
            assert!(
                matches!(read(words, Settled::default()), Reading::ErrorProne { .. }),
                "{words}"
            );
        }
        assert_eq!(read("T", Settled::default()), Reading::SpoonLetter);
    }
}
