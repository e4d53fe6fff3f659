//! What must hold for every ledger: what changes no figure, what every tree and every figure obeys.
#![allow(
    clippy::format_push_string,
    clippy::format_collect,
    reason = "ledgers are put together as text, and speed is no matter here"
)]

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, LazyLock};

use num_traits::{One, Signed, Zero};
use proptest::prelude::*;
use proptest::test_runner::Config;

use scruple::compute::{self, batch};
use scruple::model::Bound;
use scruple::quantity::{Decimal, Spread};
use scruple::source::{Source, Span};
use scruple::syntax::tree::{Body, Entry, Ingredient, Name, Quantity, Tree};
use scruple::workspace::Snapshot;

use super::oracle::{R, Tape, config, dec, drawn, exactly, r, snapshot};

// ---- what is compared ---------------------------------------------------------------------------

/// The figures of all formulas, by name: lines in order, then totals.
pub fn figures(snapshot: &Snapshot) -> BTreeMap<String, Option<Vec<String>>> {
    let mut all = BTreeMap::new();
    for (at, formula) in snapshot.ledger.formulas.iter().enumerate() {
        let found = snapshot.figures.of(at).map(|found| {
            let mut said: Vec<String> = found
                .lines
                .iter()
                .map(|line| {
                    format!(
                        "{}: {:?} {:?} {:?}",
                        line.taken.name.text, line.amounts, line.how, line.share
                    )
                })
                .collect();
            said.push(format!("{:?}", found.totals));
            said
        });
        all.insert(formula.name.text.clone(), found);
    }
    all
}

/// What is found, wherever it stands.
fn findings(snapshot: &Snapshot) -> Vec<String> {
    let mut all: Vec<String> = snapshot
        .diagnostics
        .iter()
        .map(|one| format!("{} {}: {}", one.severity.word(), one.code, one.message))
        .collect();
    all.sort();
    all
}

fn ledger_of(files: &[(String, String)]) -> Snapshot {
    Snapshot::of(
        files
            .iter()
            .map(|(path, text)| (path.clone(), Arc::from(text.as_str()))),
    )
}

/// All files of an example ledger.
pub fn example(name: &str) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let mut files = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for item in std::fs::read_dir(folder).unwrap() {
            let path = item.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "scruple") {
                let inside = path.strip_prefix(&root).unwrap().to_string_lossy().into_owned();
                files.push((inside, std::fs::read_to_string(&path).unwrap()));
            }
        }
    }
    files.sort();
    files
}

static LOW_BARN: LazyLock<Vec<(String, String)>> = LazyLock::new(|| example("low-barn"));

/// The entries of a text: what starts in the first column, with what is indented below it.
fn cut(text: &str) -> Vec<String> {
    let mut entries: Vec<String> = Vec::new();
    for line in text.lines() {
        let opens = line.starts_with(|letter: char| !letter.is_whitespace() && letter != '#');
        match entries.last_mut() {
            Some(entry) if !opens => {
                entry.push_str(line);
                entry.push('\n');
            }
            _ => entries.push(format!("{line}\n")),
        }
    }
    entries
}

/// A sound ledger is hard to disturb: this one holds slips that many places share.
const FAULTY: &str = "
practice
  heaped  2 level spoons
herb borage herb
  tablespoon  weighed 3, 3.2, 3.1 g
herb hyssop herb
  teaspoon  1 g
source old-book
  title  an old book
formula by the spoon
  take
    borage herb  2 teaspoons
    hysop herb  1 teaspoon
formula by the spoon again
  take
    borage herb  1 teaspoon
    hysop herb  3 g
formula out of a book
  source old-book
  take
    borage herb  2 ounces
formula out of the same book
  source old-book
  take
    hyssop herb  1 ounce
formula first of a circle
  take
    second of a circle  10 g
formula second of a circle
  take
    third of a circle  10 g
formula third of a circle
  take
    first of a circle  10 g
formula on a circle
  take
    third of a circle  10 g
    hyssop herb  1 handful
formula by the blend
  take
    spooned blend  2 teaspoons
    borage herb  2 slices
formula by the blend again
  take
    spooned blend  1 heaped teaspoon
formula spooned blend
  take
    borage herb  1 part
    hyssop herb  2 parts
batch by the spoon on 2026-11-03
  make  500 g
lot B-1 of sorrel leaf
  amount  1 kg
";

/// Random numbers that say nothing to a reader.
#[derive(Clone)]
pub struct Seed(Vec<u16>);

impl std::fmt::Debug for Seed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} random numbers", self.0.len())
    }
}

impl Seed {
    pub fn tape(&self) -> Tape<'_> {
        Tape::new(&self.0)
    }
}

pub fn seed(numbers: usize) -> impl Strategy<Value = Seed> {
    prop::collection::vec(any::<u16>(), numbers).prop_map(Seed)
}

/// Few runs over much text, and little time for making a failing case smaller.
fn few(cases: u32) -> Config {
    Config {
        max_shrink_iters: 60,
        ..config(cases)
    }
}

// ---- order, comments, blanks -----------------------------------------------------------------------

fn shuffled(tape: &mut Tape<'_>, mut entries: Vec<String>) -> Vec<(String, String)> {
    for at in (1..entries.len()).rev() {
        entries.swap(at, tape.below(at + 1));
    }
    let names = ["b.scruple", "a.scruple", "sub/c.scruple"];
    let mut files: Vec<(String, String)> = names
        .iter()
        .take(tape.between(1, 3))
        .map(|name| ((*name).to_owned(), String::new()))
        .collect();
    for entry in entries {
        let at = tape.below(files.len());
        files[at].1.push_str(&entry);
    }
    files
}

/// Comments at line ends and on lines of their own, and blank lines, wherever they may stand.
pub fn annotated(tape: &mut Tape<'_>, text: &str) -> String {
    let notes = [
        "# note",
        "# take 5 g",
        "#",
        "# \"quoted",
        "# a # b",
        "# formula x",
        "#   , ends with,",
    ];
    let mut out = String::new();
    for line in text.lines() {
        match tape.below(8) {
            0 => out.push('\n'),
            1 => out.push_str("   \n"),
            2 => {
                out.push_str(&" ".repeat(tape.below(9)));
                out.push_str(notes[tape.below(notes.len())]);
                out.push('\n');
            }
            _ => {}
        }
        out.push_str(line);
        if !line.is_empty() && tape.chance(1, 4) {
            out.push_str(&" ".repeat(tape.between(1, 4)));
            out.push_str(notes[tape.below(notes.len())]);
        }
        out.push('\n');
    }
    out
}

/// Two ledgers with the same figures and the same findings.
fn alike(one: &Snapshot, other: &Snapshot) -> Result<(), TestCaseError> {
    let (mine, theirs) = (figures(one), figures(other));
    for (name, lines) in &mine {
        prop_assert_eq!(Some(lines), theirs.get(name), "{}", name);
    }
    prop_assert_eq!(mine.len(), theirs.len());
    let (mine, theirs) = (findings(one), findings(other));
    let only = |these: &[String], those: &[String]| -> String {
        these
            .iter()
            .filter(|finding| !those.contains(finding))
            .map(|finding| format!("\n  {finding}"))
            .collect()
    };
    prop_assert!(
        mine == theirs,
        "{} findings and {}; only in the one:{}\nonly in the other:{}",
        mine.len(),
        theirs.len(),
        only(&mine, &theirs),
        only(&theirs, &mine)
    );
    Ok(())
}

proptest! {
    #![proptest_config(config(120))]

    /// Neither the order of entries nor which file holds them makes a difference.
    #[test]
    fn order_changes_nothing(drawn in drawn(), seed in seed(120)) {
        let sample = drawn.sample();
        let mut tape = seed.tape();
        alike(&snapshot(&sample.text()), &ledger_of(&shuffled(&mut tape, sample.entries(false))))?;
    }

    /// The same for a ledger with slips that several formulas share.
    #[test]
    fn order_changes_no_finding(seed in seed(60)) {
        alike(&snapshot(FAULTY), &ledger_of(&shuffled(&mut seed.tape(), cut(FAULTY))))?;
    }

    /// Comments and blank lines change nothing, nor do line ends of another system.
    #[test]
    fn comments_change_nothing(drawn in drawn(), seed in seed(300)) {
        let text = drawn.sample().text();
        let mut noted = annotated(&mut seed.tape(), &text);
        if seed.0[0] % 3 == 0 {
            noted = noted.replace('\n', "\r\n");
        }
        let (plain, noted) = (snapshot(&text), snapshot(&noted));
        alike(&plain, &noted)?;
    }

    /// `of each`, `as 1 : 2` and `equal parts` say no more than a line for each name.
    #[test]
    fn splitting_changes_nothing(drawn in drawn()) {
        let sample = drawn.sample();
        let split = sample.entries(true).join("\n");
        let (one, other) = (snapshot(&sample.text()), snapshot(&split));
        alike(&one, &other)?;
    }
}

proptest! {
    #![proptest_config(few(10))]

    /// The whole example ledger, its entries shuffled over other files.
    #[test]
    fn order_changes_no_example(seed in seed(400)) {
        let entries: Vec<String> = LOW_BARN.iter().flat_map(|(_, text)| cut(text)).collect();
        alike(&ledger_of(&LOW_BARN), &ledger_of(&shuffled(&mut seed.tape(), entries)))?;
    }

    /// The whole example ledger, annotated.
    #[test]
    fn comments_change_no_example(seed in seed(2000)) {
        let mut tape = seed.tape();
        let noted: Vec<(String, String)> =
            LOW_BARN.iter().map(|(path, text)| (path.clone(), annotated(&mut tape, text))).collect();
        alike(&ledger_of(&LOW_BARN), &ledger_of(&noted))?;
    }
}

// ---- scaling ------------------------------------------------------------------------------------------

/// Equal in every digit that a settled figure shows, and ten more.
fn nearly(a: Decimal, b: Decimal) -> bool {
    let (a, b) = (exactly(a), exactly(b));
    (&a - &b).abs() <= (a.abs() + R::one()) * dec("0.0000000000000000000001")
}

fn nearly_same(a: Option<Spread>, b: Option<Spread>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => nearly(a.nominal, b.nominal) && nearly(a.low, b.low) && nearly(a.high, b.high),
        (None, None) => true,
        _ => false,
    }
}

proptest! {
    #![proptest_config(config(150))]

    /// A formula taken `at k`, and that one `at 1/k`, is the formula again.
    #[test]
    fn scaling_there_and_back_changes_nothing(drawn in drawn(), pick in 0_usize..6) {
        let (there, back) = [("1/10", "10"), ("1/3", "3"), ("7", "1/7"), ("3/11", "11/3"), ("2.5", "0.4"), ("1000", "0.001")][pick];
        let sample = drawn.sample();
        let mut text = sample.text();
        for recipe in &sample.recipes {
            let name = &recipe.name;
            text.push_str(&format!("\nformula {name} there\n  adapts {name} at {there}\n"));
            text.push_str(&format!("\nformula {name} and back\n  adapts {name} there at {back}\n"));
        }
        let snapshot = snapshot(&text);
        let count = sample.recipes.len();
        for at in 0..count {
            let (own, returned) = (snapshot.figures.of(at), snapshot.figures.of(count + 2 * at + 1));
            prop_assert_eq!(own.is_some(), returned.is_some());
            let (Some(own), Some(returned)) = (own, returned) else { continue };
            let name = &sample.recipes[at].name;
            prop_assert!(nearly_same(own.totals.grams, returned.totals.grams), "{}: {:?} {:?}", name, own.totals, returned.totals);
            prop_assert!(nearly_same(own.totals.millilitres, returned.totals.millilitres), "{}", name);
            prop_assert!(nearly_same(own.totals.parts, returned.totals.parts), "{}", name);
            prop_assert!(nearly_same(own.totals.volume, returned.totals.volume), "{}", name);
            for (a, b) in own.lines.iter().zip(&returned.lines) {
                prop_assert!(nearly_same(a.amounts.grams, b.amounts.grams), "{}, {}", name, a.taken.name.text);
                prop_assert!(nearly_same(a.amounts.millilitres, b.amounts.millilitres), "{}, {}", name, a.taken.name.text);
                prop_assert!(nearly_same(a.amounts.parts, b.amounts.parts), "{}, {}", name, a.taken.name.text);
            }
        }
    }
}

// ---- inlining -------------------------------------------------------------------------------------------

/// A blend and a formula that takes some of it; and the formula with the blend's lines in its place.
#[derive(Debug, Clone)]
struct Nested {
    nested: String,
    inlined: String,
}

fn fraction(value: &R) -> String {
    if value.is_integer() {
        value.to_string()
    } else {
        format!("{}/{}", value.numer(), value.denom())
    }
}

fn nested(seed: &Seed) -> Nested {
    let mut tape = seed.tape();
    let herbs = ["mint leaf", "sage leaf", "thyme herb", "anise fruit"];
    let spoons: Vec<i64> = herbs
        .iter()
        .map(|_| 5 + i64::try_from(tape.below(40)).unwrap())
        .collect();
    let mut entries = String::from("practice\n  heaped 1.5 to 2.5 level spoons\n");
    for (herb, tenths) in herbs.iter().zip(&spoons) {
        // A spread about a middle of so many tenths.
        entries.push_str(&format!(
            "herb {herb}\n  teaspoon {}.{} to {}.{} g\n",
            (tenths - 2) / 10,
            (tenths - 2) % 10,
            (tenths + 2) / 10,
            (tenths + 2) % 10
        ));
    }
    let in_parts = tape.chance(1, 3);
    let mut inner: Vec<(usize, R, &str)> = Vec::new();
    let mut total = R::zero();
    for _ in 0..tape.between(1, 4) {
        let herb = tape.below(herbs.len());
        let count = r(i64::try_from(tape.between(1, 40)).unwrap(), 1);
        if in_parts {
            total += &count;
            inner.push((herb, count, "parts"));
        } else if tape.chance(1, 3) {
            total += &count * r(spoons[herb], 10);
            inner.push((herb, count, "teaspoons"));
        } else {
            total += &count;
            inner.push((herb, count, "g"));
        }
    }
    let list = |lines: &[(usize, R, &str)]| -> String {
        lines
            .iter()
            .map(|(herb, count, unit)| format!("    {}  {} {unit}\n", herbs[*herb], fraction(count)))
            .collect()
    };
    let mut weighing = "";
    // How much of the blend, in grams, and how that is written.
    let (written, grams) = match tape.below(4) {
        0 | 1 => {
            let grams = i64::try_from(tape.between(1, 90)).unwrap();
            (format!("{grams} g"), r(grams, 1))
        }
        2 => {
            weighing = "  teaspoon weighed 1.4, 1.6, 1.5 g\n";
            let spoons = i64::try_from(tape.between(1, 9)).unwrap();
            (format!("{spoons} teaspoons"), r(spoons * 3, 2))
        }
        _ => {
            weighing = "  divide into filter bags of 2.5 g\n";
            let bags = i64::try_from(tape.between(1, 20)).unwrap();
            (format!("{bags} filter bags"), r(bags * 5, 2))
        }
    };
    entries.push_str(&format!("formula blend\n  take\n{}{weighing}", list(&inner)));
    let factor = &grams / &total;
    let unit = if in_parts { "g" } else { "" };
    let scaled: Vec<(usize, R, &str)> = inner
        .iter()
        .map(|(herb, count, own)| (*herb, count * &factor, if in_parts { unit } else { *own }))
        .collect();
    let own = format!(
        "    {}  {} g\n    {}  {} teaspoons\n",
        tape.pick(&herbs),
        tape.between(1, 30),
        tape.pick(&herbs),
        tape.between(1, 5)
    );
    let end = match tape.below(3) {
        0 => format!("    {}  q.s. to 1000 g\n", tape.pick(&herbs)),
        1 => format!("    {}  {}%\n", tape.pick(&herbs), tape.between(1, 60)),
        _ => String::new(),
    };
    Nested {
        nested: format!("{entries}formula outer\n  take\n    blend  {written}\n{own}{end}"),
        inlined: format!("{entries}formula outer\n  take\n{}{own}{end}", list(&scaled)),
    }
}

proptest! {
    #![proptest_config(config(200))]

    /// A blend taken whole is no more and no less than its herbs in their proportions.
    #[test]
    fn inlining_changes_no_total(nested in seed(40).prop_map(|seed| nested(&seed))) {
        let (one, other) = (snapshot(&nested.nested), snapshot(&nested.inlined));
        let at = one.formula("outer").unwrap();
        let (whole, flat) = (one.figures.of(at).unwrap(), other.figures.of(at).unwrap());
        let total = |spread: Option<Spread>| spread.unwrap().nominal;
        prop_assert!(nearly(total(whole.totals.grams), total(flat.totals.grams)));
        let held = |snapshot: &Snapshot, found| compute::contents(&snapshot.figures, found).unwrap().unwrap();
        let (whole, flat) = (held(&one, whole), held(&other, flat));
        prop_assert_eq!(whole.keys().collect::<Vec<_>>(), flat.keys().collect::<Vec<_>>());
        for (herb, grams) in &whole {
            prop_assert!(nearly(grams.nominal, flat[herb].nominal), "{}: {:?} {:?}", herb, grams, flat[herb]);
        }
    }
}

// ---- rounding -----------------------------------------------------------------------------------------------

/// A value as a multiple of the step, cut down, and what the cut takes off.
fn cut_down(value: &R, step: &R) -> (R, R) {
    let floor = (value / step).floor();
    let rest = value / step - &floor;
    (floor, rest)
}

proptest! {
    #![proptest_config(config(150))]

    /// What is weighed adds up to the rounded total, and no line moves by a step or more.
    #[test]
    fn rounding_loses_nothing(drawn in drawn(), halves in 1_i64..9000) {
        let sample = drawn.sample();
        let snapshot = snapshot(&sample.text());
        let step = &sample.step.value;
        let asked = step * r(halves, 2);
        let digits: Decimal = (&asked * r(1000, 1)).to_integer().to_string().parse().unwrap();
        for (at, recipe) in sample.recipes.iter().enumerate() {
            let Some(found) = snapshot.figures.of(at) else { continue };
            let wanted = batch::Target::Grams(digits / Decimal::from(1000));
            for target in [batch::Target::Own, wanted] {
                let Ok(made) = batch::make(&snapshot.ledger, found, target) else { continue };
                let Some(total) = made.target.map(exactly) else { continue };
                let weighed = || made.lines.iter().filter(|line| line.grams.is_some());
                let sum: R = weighed().map(|line| exactly(line.target.unwrap())).sum();
                prop_assert_eq!(&sum, &total, "{}: {:?}", recipe.name, made.target);
                let whole = exactly(made.grams.unwrap().nominal);
                // Half a step upwards; what is settled away is less than a billionth.
                let off = (&total - &whole) / step;
                let slack = r(1, 1_000_000_000) / step;
                prop_assert!(off > r(-1, 2) - &slack && off <= r(1, 2) + slack, "{}: {} is rounded to {}", recipe.name, whole, total);
                for line in weighed() {
                    let (target, exact) = (exactly(line.target.unwrap()), exactly(line.grams.unwrap().nominal));
                    prop_assert!((&target - &exact).abs() < *step, "{}: {} to {}", recipe.name, exact, target);
                    prop_assert!((exactly(line.rounded_by.unwrap()) - (target - exact)).abs() <= dec("0.000000000001"));
                }
            }
        }
    }

    /// Lines that lost the same get what is missing in the order in which they are written.
    #[test]
    fn ties_go_to_the_earlier_line(counts in prop::collection::vec(1_i64..4, 2..7), tenths in 1_i64..4000) {
        let names = ["mint", "sage", "thyme", "anise", "fennel", "caraway", "hyssop"];
        let mut text = String::from("practice\n  scales 0.1 g\n");
        for name in names {
            text.push_str(&format!("herb {name}\n"));
        }
        text.push_str("formula tea\n  take\n");
        for (name, count) in names.iter().zip(&counts) {
            text.push_str(&format!("    {name}  {count} parts\n"));
        }
        let snapshot = snapshot(&text);
        let found = snapshot.figures.of(0).unwrap();
        let made = batch::make(&snapshot.ledger, found, batch::Target::Grams(Decimal::new(tenths, 1))).unwrap();
        let sum: i64 = counts.iter().sum();
        let step = r(1, 10);
        let mut lines: Vec<(usize, R, R)> = Vec::new();
        for line in &made.lines {
            let (floor, rest) = cut_down(&(r(tenths, 10) * r(counts[line.place], sum)), &step);
            lines.push((line.place, rest, exactly(line.target.unwrap()) / &step - floor));
        }
        lines.sort_by_key(|(place, ..)| *place);
        for (early, early_rest, early_got) in &lines {
            for (late, late_rest, late_got) in &lines {
                if early < late && early_rest == late_rest {
                    prop_assert!(early_got >= late_got, "line {} got {}, line {} got {}", early, early_got, late, late_got);
                }
                if early_rest < late_rest {
                    prop_assert!(early_got <= late_got);
                }
            }
        }
    }
}

// ---- every text ------------------------------------------------------------------------------------------------

/// Pieces of ledgers, whole and broken, for texts that are nearly right.
const SCRAPS: &[&str] = &[
    "formula ",
    "herb ",
    "material ",
    "practice\n",
    "source ",
    "person 017\n",
    "batch ",
    "lot ",
    "set ",
    "supply ",
    "  take\n",
    "  take ",
    "    ",
    "  ",
    "\n",
    "\n\n",
    "\t",
    ", ",
    "# ",
    "\"",
    "\"E 330\"",
    "mint leaf",
    "lady’s mantle",
    "кипрей",
    "  20 g",
    " 1 1/2 teaspoons",
    " ½ oz",
    "1½",
    " of each ",
    " as 1 : 2 : 3",
    " q.s. to 100 g",
    " q.s., about 25 g",
    "33.3%",
    " 8 to 10 g",
    "10–15 g",
    " heaped tablespoon",
    " a pinch",
    "40,0",
    ".5 g",
    "1-1/2",
    " T",
    " gr",
    " ij",
    "  teaspoon weighed 1.4, 1.5, 1.4 g",
    "  density 1.42 g per ml",
    "  adapts mint tea at 1/10",
    "  without mint leaf",
    "  infuse 2 teaspoons in 1 cup of boiling water for 10 to 15 minutes, covered",
    "  dose 1 cup, up to 3 times a day",
    "  makes 500 g",
    "  one part 5 g",
    "  divide into filter bags of 2 g",
    "  mind reflux: take care    source some-book",
    " on 2026-11-03",
    "of ",
    "\r\n",
    "\u{a0}",
    "\u{200b}",
    "é",
    "漢字",
    "🌿",
    "\u{feff}",
    "9999999999999 kg",
    "0 g",
    "-5 g",
];

pub fn text_of_scraps() -> impl Strategy<Value = String> {
    prop::collection::vec(prop_oneof![4 => prop::sample::select(SCRAPS).prop_map(str::to_owned), 1 => any::<char>().prop_map(String::from)], 0..60)
        .prop_map(|scraps| scraps.concat())
}

/// A file of the example with lines taken out, doubled, swapped, cut short or changed in a letter.
pub fn disturbed() -> impl Strategy<Value = String> {
    (
        any::<prop::sample::Index>(),
        prop::collection::vec((any::<u16>(), 0_u8..7, any::<char>()), 1..12),
    )
        .prop_map(|(file, changes)| {
            let text = &file.get(&LOW_BARN).1;
            let from = text.lines().count();
            let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
            // A part of a long file is as good as the whole, and faster.
            let start = usize::from(changes[0].0) * from / 65536;
            lines = lines.split_off(start.min(from.saturating_sub(1)));
            lines.truncate(40);
            for (place, change, letter) in changes {
                let at = usize::from(place) * lines.len() / 65536;
                let Some(line) = lines.get(at).cloned() else {
                    continue;
                };
                let middle = line
                    .char_indices()
                    .nth(line.chars().count() / 2)
                    .map_or(0, |(byte, _)| byte);
                match change {
                    0 => drop(lines.remove(at)),
                    1 => lines.insert(at, line),
                    2 => line.trim_start().clone_into(&mut lines[at]),
                    3 => lines[at] = format!("  {line}"),
                    4 => lines[at].truncate(middle),
                    5 => lines[at].insert(middle, letter),
                    _ => lines.swap(at, 0),
                }
            }
            lines.join("\n")
        })
}

/// A span lies in the file and begins and ends between characters.
fn within(source: &Source, span: Span, what: &str) -> Result<(), TestCaseError> {
    let (start, end) = (span.first_byte(), span.end_byte());
    prop_assert!(
        start <= end && end <= source.text.len(),
        "{}: {}..{} of {}",
        what,
        start,
        end,
        source.text.len()
    );
    prop_assert!(
        source.text.is_char_boundary(start) && source.text.is_char_boundary(end),
        "{} cuts a letter",
        what
    );
    Ok(())
}

fn inside(outer: Span, inner: Span) -> bool {
    outer.file == inner.file && outer.start <= inner.start && inner.end <= outer.end
}

/// The text under a span without its comments, with blanks folded and quotes taken off.
fn said(source: &Source, tree: &Tree, span: Span) -> String {
    let mut text = String::new();
    let mut at = span.first_byte();
    for comment in tree.comments.iter().filter(|comment| inside(span, **comment)) {
        text.push_str(&source.text[at..comment.first_byte()]);
        at = comment.end_byte();
    }
    text.push_str(&source.text[at..span.end_byte()]);
    bare(&text)
}

/// Without quotes at the ends; one that is never closed is taken off too, and reported.
fn bare(text: &str) -> String {
    folded(folded(text).trim_matches('"'))
}

fn folded(text: &str) -> String {
    text.split([' ', '\t', '\n', '\r', '\u{a0}'])
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// Every name of a line, with the quantities that it holds.
fn pieces(body: &Body) -> (Vec<&Name>, Vec<&Quantity>) {
    let mut names: Vec<&Name> = Vec::new();
    let mut quantities: Vec<&Quantity> = Vec::new();
    match body {
        Body::Words(name) | Body::Strength(name) | Body::Adapts(name, _) => names.push(name),
        Body::Names(list) => names.extend(list),
        Body::Caution(topic, text) => {
            names.push(topic);
            names.extend(text);
        }
        Body::Take(list, ..) => {
            for Ingredient {
                names: taken,
                processing,
                role,
                source,
                ..
            } in list
            {
                names.extend(taken.iter().chain(processing).chain(role).chain(source));
            }
        }
        Body::Used(list, _) => {
            for used in list {
                names.push(&used.name);
                names.extend(&used.notes);
                for (quantity, lot) in &used.portions {
                    quantities.push(quantity);
                    names.extend(lot);
                }
            }
        }
        Body::Quantity(quantity) | Body::Most(quantity, ..) | Body::Density(quantity, _) => {
            quantities.push(quantity);
        }
        Body::Dose(dose) => {
            names.extend(&dose.clauses);
            quantities.push(&dose.amount);
            quantities.extend(dose.vehicle.iter().chain(&dose.lasting));
        }
        Body::Preparation(step) => {
            names.extend(&step.clauses);
            names.extend(step.media.iter().filter_map(|liquid| liquid.name.as_ref()));
            quantities.extend(step.lasting.iter().chain(&step.heat).chain(&step.down_to));
        }
        _ => {}
    }
    for quantity in &quantities {
        names.extend(
            quantity
                .low
                .iter()
                .chain(quantity.high.iter().flatten())
                .filter_map(|term| term.unit.as_ref()),
        );
    }
    (names, quantities)
}

fn entry_holds(source: &Source, tree: &Tree, entry: &Entry) -> Result<(), TestCaseError> {
    within(source, entry.span, "an entry")?;
    prop_assert!(inside(entry.span, entry.head), "a head lies outside its entry");
    prop_assert!(
        inside(entry.head, entry.kind_span),
        "a kind lies outside its head"
    );
    prop_assert_eq!(source.slice(entry.kind_span).to_lowercase(), entry.kind.word());
    for name in entry.name.iter().chain(&entry.id) {
        within(source, name.span, "a name")?;
        prop_assert!(inside(entry.head, name.span), "a name lies outside its head");
        prop_assert_eq!(said(source, tree, name.span), bare(&name.text));
    }
    let mut end = entry.head.end;
    for line in &entry.lines {
        within(source, line.span, "a line")?;
        prop_assert!(inside(entry.span, line.span), "a line lies outside its entry");
        prop_assert!(
            line.span.start >= end,
            "a line begins before the one above it ends"
        );
        end = line.span.end;
        prop_assert!(
            inside(line.span, line.word.span),
            "a line word lies outside its line"
        );
        let (names, quantities) = pieces(&line.body);
        for name in names.into_iter().chain(&line.source) {
            within(source, name.span, "a name")?;
            prop_assert!(
                inside(line.span, name.span),
                "`{}` lies outside its line",
                name.text
            );
            prop_assert_eq!(said(source, tree, name.span), bare(&name.text));
        }
        for quantity in quantities {
            within(source, quantity.span, "an amount")?;
            prop_assert!(
                inside(line.span, quantity.span),
                "an amount lies outside its line"
            );
        }
        if let Body::Take(list, ..) = &line.body {
            for ingredient in list {
                within(source, ingredient.span, "an ingredient")?;
                prop_assert!(
                    inside(line.span, ingredient.span),
                    "an ingredient lies outside its list"
                );
                if let Some(amount) = &ingredient.amount {
                    within(source, amount.span, "an amount")?;
                    prop_assert!(
                        inside(ingredient.span, amount.span),
                        "an amount lies outside its ingredient"
                    );
                }
            }
        }
    }
    Ok(())
}

/// What holds for every snapshot, sound or not.
fn holds(snapshot: &Snapshot) -> Result<(), TestCaseError> {
    for tree in &snapshot.trees {
        let source = snapshot.sources.get(tree.file).unwrap();
        for comment in &tree.comments {
            within(source, *comment, "a comment")?;
            prop_assert!(source.slice(*comment).starts_with('#') && !source.slice(*comment).contains('\n'));
        }
        let mut end = 0;
        for entry in &tree.entries {
            prop_assert!(
                entry.span.start >= end,
                "an entry begins before the one above it ends"
            );
            end = entry.span.end;
            entry_holds(source, tree, entry)?;
        }
    }
    for one in &snapshot.diagnostics {
        let edits = one.fix.iter().flat_map(|fix| &fix.edits).map(|edit| edit.span);
        let related = one.related.iter().map(|(span, _)| *span);
        for span in std::iter::once(one.span).chain(related).chain(edits) {
            within(snapshot.sources.get(span.file).unwrap(), span, one.code.name())?;
        }
        prop_assert!(!one.message.trim().is_empty());
    }
    spreads_rise(snapshot)
}

/// Low is never above nominal, and nominal never above high; nothing is below zero.
fn spreads_rise(snapshot: &Snapshot) -> Result<(), TestCaseError> {
    let rises = |what: &str, spread: Option<Spread>| {
        if let Some(spread) = spread {
            prop_assert!(
                spread.low <= spread.nominal
                    && spread.nominal <= spread.high
                    && !spread.low.is_sign_negative(),
                "{}: {:?}",
                what,
                spread
            );
        }
        Ok(())
    };
    for found in snapshot.figures.formulas.iter().flatten() {
        let name = &found.formula.name.text;
        for line in &found.lines {
            let what = format!("{name}, {}", line.taken.name.text);
            rises(&what, line.amounts.grams)?;
            rises(&what, line.amounts.millilitres)?;
            rises(&what, line.amounts.parts)?;
            prop_assert!(
                line.taken.what != Bound::Unknown,
                "{what} is unknown and has figures"
            );
        }
        for total in [
            found.totals.grams,
            found.totals.millilitres,
            found.totals.parts,
            found.totals.volume,
        ] {
            rises(name, total)?;
        }
        if let Ok(Some(held)) = compute::contents(&snapshot.figures, found) {
            for grams in held.into_values() {
                rises(name, Some(grams))?;
            }
        }
        for target in [batch::Target::Own, batch::Target::Grams(Decimal::new(3333, 1))] {
            if let Ok(made) = batch::make(&snapshot.ledger, found, target) {
                rises(name, made.grams)?;
                rises(name, made.spooned)?;
                rises(name, made.judged)?;
                for line in &made.lines {
                    rises(name, line.grams)?;
                    rises(name, line.millilitres)?;
                }
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(250))]

    /// Scraps of ledgers in any order never stop the program, and every span fits.
    #[test]
    fn scraps_are_survived(text in text_of_scraps()) {
        holds(&snapshot(&text))?;
    }

    /// Neither does any text at all.
    #[test]
    fn any_text_is_survived(text in any::<String>()) {
        holds(&snapshot(&text))?;
    }

    /// Example files with slips in them.
    #[test]
    fn slips_are_survived(text in disturbed()) {
        holds(&snapshot(&text))?;
    }

    /// Sound random ledgers.
    #[test]
    fn spreads_of_random_ledgers_rise(drawn in drawn()) {
        holds(&snapshot(&drawn.sample().text()))?;
    }
}

/// The examples themselves.
#[test]
fn examples_hold() {
    for name in ["low-barn", "first-blend"] {
        let snapshot = ledger_of(&example(name));
        if let Err(fault) = holds(&snapshot) {
            panic!("{name}: {fault}");
        }
    }
}

/// A number keeps its point and its fraction wherever it stands; what is left of one is no name.
#[test]
fn a_piece_weighs_what_is_written() {
    let weight = |line: &str| {
        let snapshot = snapshot(&format!(
            "herb ginger rhizome\n  {line}\nformula tea\n  take\n    ginger rhizome  2 slices\n"
        ));
        snapshot
            .figures
            .of(0)
            .map(|found| found.totals.grams.unwrap().nominal.normalize().to_string())
    };
    assert_eq!(weight("slice 0.5 g").as_deref(), Some("1"));
    assert_eq!(weight("slice 1/2 g").as_deref(), Some("1"));
    assert_eq!(weight("slice ½ g").as_deref(), Some("1"));
    assert_eq!(weight("slice 1½ g").as_deref(), Some("3"));
    let refused = snapshot("herb ginger rhizome\n  slice .5 g\n");
    let codes: Vec<&str> = refused.diagnostics.iter().map(|one| one.code.name()).collect();
    assert_eq!(codes, ["naked-decimal-point"]);
}

/// Thirds that are cut off at the 28th digit leave nothing below nothing.
#[test]
fn what_is_left_is_never_below_nothing() {
    let snapshot = snapshot(
        "herb mint\nherb sage\nherb thyme\nherb anise\n\
         formula whole\n  take\n    mint, sage, thyme  as 1 : 1 : 3\n    anise  q.s. to 7 parts\n  one part  1000.1 g\n\
         formula third\n  adapts whole at 1/3\n  take\n    without mint\n    thyme  2 parts\n",
    );
    spreads_rise(&snapshot).unwrap();
    let left = snapshot
        .figures
        .of(1)
        .unwrap()
        .lines
        .last()
        .unwrap()
        .amounts
        .grams
        .unwrap();
    assert!(left.nominal.is_zero(), "{left:?}");
}
