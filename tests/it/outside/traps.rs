//! Short measure words that other programs, books or people read as something else.
//!
//! Sources: `unit_traps.tsv` (what four general unit readers make of each text); the lists of
//! error-prone abbreviations of the Institute for Safe Medication Practices and the Joint
//! Commission's "Do Not Use" list (memory); the apothecaries' signs by the books in `units.tsv`.

use std::collections::HashSet;

use scruple::diagnostic::Diagnostic;
use scruple::workspace::Snapshot;

use super::{errors, exact, figures, ledger, ratio, table, told};

const TABLE: &str = include_str!("../../outside/unit_traps.tsv");

/// What becomes of `2 X` of a dry herb whose teaspoon weighs 2 g.
enum Meant {
    /// So many grams.
    Grams(&'static str),
    /// Parts.
    Parts,
    /// Read as a percentage: alone it does not come to a hundred.
    Percent,
    /// An old name: it must say which.
    Unclear,
    /// T or t.
    SpoonLetter,
    /// A notation that has hurt people.
    ErrorProne,
    /// A measure, but nothing is taken by it: a time, or a vessel that the herb was not weighed by.
    NotByThis,
    /// No measure of the language: refused, whatever it is called.
    NoMeasure,
}
use Meant::*;

/// Every text of the table.
const TEXTS: &[(&str, Meant)] = &[
    ("tsp", Grams("4")),
    ("tbsp", Grams("12")),
    ("T", SpoonLetter),
    ("c", NoMeasure),
    ("cup", Grams("200")),
    ("C", NoMeasure),
    ("F", NoMeasure),
    ("M", NoMeasure),
    ("pt", NoMeasure),
    ("ft", NoMeasure),
    ("st", NoMeasure),
    ("dr", Unclear),
    ("dram", Unclear),
    ("drachm", Grams("7.7758692")),
    ("gr", ErrorProne),
    ("min", NotByThis),
    ("minim", Unclear),
    ("scruple", Grams("2.5919564")),
    ("oz", Grams("56.69904625")),
    ("lb", Grams("907.18474")),
    ("gal", NoMeasure),
    ("qt", NoMeasure),
    ("a", NoMeasure),
    ("d", NoMeasure),
    ("h", NotByThis),
    // Units ignore case, but for T and t: nobody takes megalitres or megagauss of a herb.
    ("ML", Grams("0.8")),
    ("ml", Grams("0.8")),
    ("MG", Grams("0.002")),
    ("mcg", Grams("0.000002")),
    ("g%", NoMeasure),
    ("%", Percent),
    ("[cup_m]", NoMeasure),
    ("[foz_m]", NoMeasure),
    ("[oz_m]", NoMeasure),
    ("[drp]", NoMeasure),
    ("drop", Grams("0.04")),
    ("gtt", NoMeasure),
    ("wineglass", NotByThis),
    ("teacup", NotByThis),
    ("tablespoon", Grams("12")),
    ("teaspoon", Grams("4")),
    ("dessertspoon", Grams("8")),
    ("month", NotByThis),
    ("year", NotByThis),
    ("proof", NoMeasure),
    ("stone", Grams("12700.58636")),
    ("in", NoMeasure),
    ("l", Grams("800")),
    ("t", SpoonLetter),
    ("Cel", NoMeasure),
    ("m", NoMeasure),
    ("P", NoMeasure),
    ("G", Grams("2")),
    ("[pt_us]", NoMeasure),
    ("[min_us]", NoMeasure),
    ("teaspoonful", Grams("4")),
    ("cc", ErrorProne),
    ("u", NoMeasure),
    ("U", NoMeasure),
    ("IU", NoMeasure),
    ("part", Parts),
];

/// Other spellings of the same traps.
const MORE: &[(&str, Meant)] = &[
    ("Ts", SpoonLetter),
    ("ts", SpoonLetter),
    ("T.", SpoonLetter),
    ("t.", SpoonLetter),
    ("Tb", NoMeasure),
    ("tb", NoMeasure),
    ("Tbs", NoMeasure),
    ("tbl", NoMeasure),
    ("TSP", Grams("4")),
    ("TBSP", Grams("12")),
    ("Tbsp.", Grams("12")),
    ("gr.", ErrorProne),
    ("Gr", ErrorProne),
    ("GR", ErrorProne),
    ("grs", ErrorProne),
    ("CC", ErrorProne),
    ("ccm", ErrorProne),
    ("c.c.", NoMeasure),
    ("\u{b5}g", ErrorProne),
    ("\u{3bc}g", ErrorProne),
    ("ug", ErrorProne),
    // An old sign of the microgram, a million times less than the g that it resembles.
    ("\u{3b3}", NoMeasure),
    ("\u{b5}l", NoMeasure),
    ("℥", ErrorProne),
    ("ʒ", ErrorProne),
    ("℈", ErrorProne),
    ("℔", ErrorProne),
    ("ʒi", NoMeasure),
    ("ʒ ij", NoMeasure),
    ("♏", NoMeasure),
    ("ounce", Unclear),
    ("ounces", Unclear),
    ("drams", Unclear),
    ("dr.", Unclear),
    ("fl oz", Unclear),
    ("fl. oz.", Unclear),
    ("fluid ounce", Unclear),
    ("fluid dram", Unclear),
    ("pint", Unclear),
    ("quarts", Unclear),
    ("gallon", Unclear),
    ("gills", Unclear),
    ("floz", NoMeasure),
    ("fl dr", NoMeasure),
    ("gi", NoMeasure),
    ("pts", NoMeasure),
    ("qts", NoMeasure),
    ("gals", NoMeasure),
    ("gtts", NoMeasure),
    ("dwt", NoMeasure),
    ("oz t", NoMeasure),
    ("lb t", NoMeasure),
    ("oz ap", NoMeasure),
    ("gm", NoMeasure),
    ("gms", NoMeasure),
    ("ozs", NoMeasure),
    ("mgs", NoMeasure),
    ("mls", NoMeasure),
    ("hl", NoMeasure),
    ("cwt", NoMeasure),
    ("s", NoMeasure),
    ("k", NoMeasure),
    ("glass", NoMeasure),
    ("spoon", NoMeasure),
    ("2 T", NoMeasure),
    ("heaped T", NoMeasure),
    ("level t", NoMeasure),
];

/// Texts that can only be a slip of the pen for the measure that may be offered instead.
const SLIPS: &[(&str, &str)] = &[
    ("gm", "g"),
    ("gms", "g"),
    ("ozs", "oz"),
    ("mgs", "mg"),
    ("mls", "ml"),
];

fn taken(words: &str) -> Snapshot {
    ledger(&format!(
        "herb anise fruit
  teaspoon     2 g
  tablespoon   6 g
  cup          100 g
formula plain tea
  take
    anise fruit   2 {words}
"
    ))
}

fn codes(found: &[&Diagnostic]) -> Vec<&'static str> {
    found.iter().map(|one| one.code.name()).collect()
}

#[test]
fn every_trap_of_the_table_is_placed() {
    let listed: HashSet<&str> = table(TABLE).iter().map(|row| row.get("text")).collect();
    let placed: HashSet<&str> = TEXTS.iter().map(|(text, _)| *text).collect();
    assert_eq!(placed.len(), TEXTS.len(), "a text stands twice");
    assert_eq!(listed, placed);
}

#[test]
fn no_short_measure_word_is_misread() {
    let mut wrong = Vec::new();
    for (text, meant) in TEXTS.iter().chain(MORE) {
        let snapshot = taken(text);
        let found = errors(&snapshot);
        let codes = codes(&found);
        let told: Vec<String> = found.iter().map(|one| told(&snapshot, one)).collect();
        let at = snapshot.formula("plain tea").unwrap();
        let totals = snapshot.figures.of(at).map(|composition| composition.totals);
        let only = |code: &str| codes == [code] && totals.is_none();
        let as_meant = match meant {
            Grams(grams) => {
                found.is_empty()
                    && totals
                        .and_then(|totals| totals.grams)
                        .is_some_and(|total| total.is_exact() && ratio(total.nominal) == exact(grams))
            }
            Parts => found.is_empty() && totals.is_some_and(|totals| totals.parts.is_some()),
            Percent => only("percent-off"),
            Unclear => only("unclear-old-measure"),
            SpoonLetter => only("spoon-letter"),
            ErrorProne => only("error-prone-unit"),
            NotByThis => only("wrong-sort-of-measure") || only("spoon-without-weight"),
            NoMeasure => !codes.is_empty() && totals.is_none(),
        };
        if !as_meant {
            wrong.push(format!("2 {text}: {told:?} {totals:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The same of a liquid, where pints and ounces of volume are at home.
#[test]
fn no_short_measure_word_of_a_liquid_is_misread() {
    let of = |words: &str| {
        ledger(&format!(
            "material vinegar\nformula dressing\n  take\n    vinegar   2 {words}\n"
        ))
    };
    for (text, millilitres) in [
        ("ml", "2"),
        ("ML", "2"),
        ("l", "2000"),
        ("tsp", "10"),
        ("tbsp", "30"),
        ("cups", "500"),
        ("drops", "0.1"),
    ] {
        let snapshot = of(text);
        let total = figures(&snapshot, "dressing").totals.millilitres.unwrap();
        assert_eq!(ratio(total.nominal), exact(millilitres), "2 {text}");
    }
    for text in [
        "pt", "qt", "gal", "gi", "fl oz", "floz", "min", "minim", "cc", "T", "t", "c", "gtt", "dr", "ounces",
        "IU",
    ] {
        let snapshot = of(text);
        let at = snapshot.formula("dressing").unwrap();
        assert!(!errors(&snapshot).is_empty(), "2 {text} of a liquid is read");
        assert!(
            snapshot.figures.of(at).is_none(),
            "2 {text} of a liquid has figures"
        );
    }
}

/// A word of one or two letters is near to every unit of one letter, and `g` for a cup, a drop or a
/// microgram is worse than no offer.
#[test]
fn no_other_measure_is_offered_for_a_word_that_is_none() {
    let mut wrong = Vec::new();
    for (text, meant) in TEXTS.iter().chain(MORE) {
        if !matches!(meant, NoMeasure) {
            continue;
        }
        let snapshot = taken(text);
        for finding in errors(&snapshot) {
            let offer = finding
                .help
                .as_deref()
                .and_then(|help| help.strip_prefix("did you mean `"))
                .and_then(|rest| rest.split('`').next());
            if let Some(offer) = offer
                && !SLIPS.contains(&(*text, offer))
            {
                wrong.push(format!("{text}: {offer}?"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn letters_and_signs_are_refused_wherever_an_amount_may_stand() {
    let places = [
        "formula dressing\n  take vinegar 3 ml\n  infuse   2 X in 1 cup of boiling water for 10 minutes",
        "formula dressing\n  take vinegar 3 ml\n  infuse   2 g in 10 X of boiling water for 10 minutes",
        "formula dressing\n  take vinegar 3 ml\n  decoct   in 500 ml of water, down to 20 X",
        "formula dressing\n  take vinegar 3 ml\n  dose     2 X, 3 times a day",
        "formula dressing\n  take vinegar 3 ml\n  dose     2 ml in 20 X of water",
        "formula dressing\n  take vinegar 3 ml\n  dose     age 6 to 12: 2 X",
        "formula dressing\n  take vinegar 3 ml\n  makes    3 X",
        "formula dressing\n  take anise fruit 3 parts\n  one part 3 X",
        "formula dressing\n  take anise fruit 3 g\n  divide   into bags of 2 X",
        "formula dressing\n  take\n    vinegar   3 ml\n    water     q.s. to 3 X",
        "formula dressing\n  take\n    vinegar   q.s., about 3 X",
        "formula dressing\n  take\n    vinegar   2 to 3 X",
        "formula dressing\n  take\n    vinegar   2X",
        "formula dressing\n  take\n    vinegar   a X",
        "formula dressing\n  take\n    vinegar, water   of each 1/2 X",
        "formula dressing\n  take\n    vinegar   1 tablespoon 2 X",
        "herb rue herb\n  teaspoon   2 X",
        "herb rue herb\n  teaspoon   weighed 2 X, 3 g",
        "herb rue herb\n  slice      2 X",
        "herb rue herb\n  dose       2 X, 3 times a day",
        "herb rue herb\n  most       2 X a day",
        "herb rue herb\n  infuse     2 X in 150 ml of boiling water",
        "herb rue herb\n  price      31.00 per 100 X",
        "material oil\n  density    0.92 g per X",
        "material oil\n  drop       0.03 X",
        "practice\n  teaspoon   5 X",
        "practice\n  scales     0.1 X",
        "practice\n  cylinder   1 X",
        "lot A-1 of anise fruit\n  amount     2 X",
        "supply plain tea on 2026-11-05\n  amount     2 X",
        "batch plain tea on 2026-11-05\n  make       20 X",
        "batch plain tea on 2026-11-05\n  make       3 jars of 20 X",
        "batch plain tea on 2026-11-05\n  yielded    20 X",
        "batch plain tea on 2026-11-05\n  used\n    anise fruit   20 X from A-1",
        "person 017\n  weight     61 X",
    ];
    let mut wrong = Vec::new();
    for (text, code) in [
        ("T", "spoon-letter"),
        ("t", "spoon-letter"),
        ("gr", "error-prone-unit"),
        ("cc", "error-prone-unit"),
        ("µg", "error-prone-unit"),
        ("ʒ", "error-prone-unit"),
        ("dram", "unclear-old-measure"),
        ("minims", "unclear-old-measure"),
    ] {
        for place in places {
            let snapshot = ledger(&format!(
                "herb anise fruit\nmaterial vinegar\nformula plain tea\n  take\n    anise fruit   20 g\n{}\n",
                place.replace('X', text)
            ));
            if !codes(&errors(&snapshot)).contains(&code) {
                wrong.push(format!("{text} in `{}`", place.replace('\n', " /")));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A dose of `2 min` was two minims in old books; a dose of `2 gm` was two grams. Neither is read, so
/// neither may pass as if it were.
#[test]
fn a_dose_or_an_infusion_by_no_measure_is_refused() {
    let mut wrong = Vec::new();
    for text in ["min", "gm", "pt", "gtt", "gal", "IU", "tbs"] {
        for place in [
            "herb rue herb\n  dose       2 X, 3 times a day",
            "herb rue herb\n  most       2 X a day",
            "herb rue herb\n  infuse     2 X in 150 ml of boiling water",
            "herb rue herb\n  infuse     2 g in 10 X of boiling water",
            "formula dressing\n  take anise fruit 3 g\n  dose       2 X, 3 times a day",
            "formula dressing\n  take anise fruit 3 g\n  infuse     2 X in 1 cup of boiling water",
            "formula dressing\n  take anise fruit 3 g\n  infuse     2 g in 10 X of boiling water",
        ] {
            let snapshot = ledger(&format!("herb anise fruit\n{}\n", place.replace('X', text)));
            if errors(&snapshot).is_empty() {
                wrong.push(format!("{text} in `{}`", place.replace('\n', " /")));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// A cherry has a stone and barley has grains; `3 stones` of it must not become 19 kg in silence.
#[test]
fn a_piece_may_not_bear_the_name_of_a_unit() {
    let mut wrong = Vec::new();
    for (piece, count) in [
        ("stone", "3 stones"),
        ("grain", "5 grains"),
        ("scruple", "2 scruples"),
        ("pound", "2 pounds"),
        ("litre", "2 litres"),
    ] {
        let snapshot = ledger(&format!(
            "herb anise fruit\n  {piece}   0.5 g\nformula plain tea\n  take\n    anise fruit   {count}\n"
        ));
        let told = snapshot.diagnostics.iter().any(|one| {
            one.severity != scruple::diagnostic::Severity::Notice
                && snapshot.sources.text(one.span).contains(piece)
        });
        if !told {
            wrong.push(format!(
                "{count}, each of 0.5 g, come to {:?} g without a word",
                snapshot
                    .formula("plain tea")
                    .and_then(|at| snapshot.figures.of(at))
                    .and_then(|composition| composition.totals.grams)
                    .map(|grams| grams.nominal.to_string())
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
