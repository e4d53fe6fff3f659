//! A slow oracle: random ledgers whose figures are reckoned a second time, in exact fractions.
//!
//! It is written from the language, not from the program: it knows no interval arithmetic. One
//! function says what a formula comes to when every uncertain amount has one certain value; the
//! spread of any figure is the least and the greatest of what that function gives at all corners
//! of the uncertain amounts. (Every figure is a quotient of sums that are linear in each amount
//! alone, so its extremes lie in the corners.)
//!
//! Values of units are put together here from their definitions: the international pound of
//! 0.45359237 kg, of 7000 grains (NIST SP 811, appendix B.8); the imperial gallon of 4.54609 l
//! (same place); the US gallon of 231 cubic inches of 2.54 cm (same place); a drop of 0.05 ml
//! (UCUM 2024-06-17, `[drp]`); teaspoon and tablespoon of 5 and 15 ml (UCUM, `[tsp_m]`, `[tbs_m]`).
#![allow(
    clippy::too_many_lines,
    clippy::unused_self,
    reason = "what a formula comes to is told in one piece"
)]

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Signed, Zero};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngSeed};

use scruple::compute::batch;
use scruple::compute::{self, Composition, make};
use scruple::diagnostic::Severity;
use scruple::model::Bound;
use scruple::quantity::{Decimal, Spread};
use scruple::source::Sources;
use scruple::syntax;
use scruple::workspace::Snapshot;

/// An exact fraction.
pub type R = BigRational;

pub fn r(above: i64, below: i64) -> R {
    R::new(BigInt::from(above), BigInt::from(below))
}

/// A fraction from decimal digits.
pub fn dec(text: &str) -> R {
    let (whole, decimals) = text.split_once('.').unwrap_or((text, ""));
    let digits: BigInt = format!("{whole}{decimals}").parse().unwrap();
    R::new(
        digits,
        BigInt::from(10).pow(u32::try_from(decimals.len()).unwrap()),
    )
}

pub fn exactly(value: Decimal) -> R {
    dec(&value.to_string())
}

/// A run that is the same on every machine; `PROPTEST_RNG_SEED` and `PROPTEST_CASES` change it.
pub fn config(cases: u32) -> Config {
    let asked = Config::default();
    Config {
        cases: if std::env::var_os("PROPTEST_CASES").is_some() {
            asked.cases
        } else {
            cases
        },
        rng_seed: match asked.rng_seed {
            RngSeed::Random => RngSeed::Fixed(20),
            fixed @ RngSeed::Fixed(_) => fixed,
        },
        failure_persistence: None,
        max_shrink_iters: 4000,
        ..asked
    }
}

// ---- a tape of random choices ----------------------------------------------------------------

/// Choices read off a list of random numbers; an exhausted list gives the first choice always,
/// so that a shorter list with smaller numbers makes a simpler ledger.
pub struct Tape<'a> {
    left: std::slice::Iter<'a, u16>,
}

impl<'a> Tape<'a> {
    pub fn new(numbers: &'a [u16]) -> Self {
        Self { left: numbers.iter() }
    }

    /// A number below `bound`.
    pub fn below(&mut self, bound: usize) -> usize {
        let drawn = usize::from(self.left.next().copied().unwrap_or(0));
        drawn * bound / 65536
    }

    pub fn between(&mut self, low: usize, high: usize) -> usize {
        low + self.below(high - low + 1)
    }

    /// True `times` in `of`; false when the tape is at its end.
    pub fn chance(&mut self, times: usize, of: usize) -> bool {
        self.below(of) >= of - times
    }

    pub fn pick<'t, T>(&mut self, list: &'t [T]) -> &'t T {
        &list[self.below(list.len())]
    }
}

/// The numbers of a tape; a failing case prints the ledger that they draw.
#[derive(Clone)]
pub struct Drawn(Vec<u16>);

impl Drawn {
    pub fn tape(&self) -> Tape<'_> {
        Tape::new(&self.0)
    }

    pub fn sample(&self) -> Sample {
        sample(&mut self.tape())
    }
}

impl std::fmt::Debug for Drawn {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the ledger\n\n{}", self.sample().text())
    }
}

pub fn drawn() -> impl Strategy<Value = Drawn> {
    prop::collection::vec(any::<u16>(), 100..400).prop_map(Drawn)
}

// ---- values -----------------------------------------------------------------------------------

/// A value with its spread.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct I3 {
    pub nominal: R,
    pub low: R,
    pub high: R,
}

impl I3 {
    pub fn exact(value: R) -> Self {
        Self {
            nominal: value.clone(),
            low: value.clone(),
            high: value,
        }
    }

    pub fn between(low: R, high: R) -> Self {
        Self {
            nominal: (&low + &high) / r(2, 1),
            low,
            high,
        }
    }

    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// Of values that are not negative.
    pub fn times(&self, other: &Self) -> Self {
        Self {
            nominal: &self.nominal * &other.nominal,
            low: &self.low * &other.low,
            high: &self.high * &other.high,
        }
    }

    pub fn scaled(&self, factor: &R) -> Self {
        self.times(&Self::exact(factor.clone()))
    }

    pub fn plus(&self, other: &Self) -> Self {
        Self {
            nominal: &self.nominal + &other.nominal,
            low: &self.low + &other.low,
            high: &self.high + &other.high,
        }
    }
}

/// What `find` gives at the nominal values, and its least and greatest at all corners.
///
/// Figures that `find` does not give stay nothing; it must give the same ones everywhere.
type Find<'a> = dyn FnMut(&[R]) -> Result<Vec<Option<R>>, Fault> + 'a;

fn corners(inputs: &[I3], find: &mut Find<'_>) -> Result<Vec<Option<I3>>, Fault> {
    let nominal: Vec<R> = inputs.iter().map(|input| input.nominal.clone()).collect();
    let mut found: Vec<Option<I3>> = find(&nominal)?
        .into_iter()
        .map(|value| value.map(I3::exact))
        .collect();
    let open: Vec<usize> = (0..inputs.len()).filter(|at| !inputs[*at].is_exact()).collect();
    assert!(open.len() <= 12, "too many corners to look at");
    let mut point = nominal;
    for corner in 0..1_u32 << open.len() {
        for (bit, at) in open.iter().enumerate() {
            let input = &inputs[*at];
            point[*at] = if corner >> bit & 1 == 1 {
                input.high.clone()
            } else {
                input.low.clone()
            };
        }
        for (figure, value) in found.iter_mut().zip(find(&point)?) {
            if let (Some(figure), Some(value)) = (figure, value) {
                if value < figure.low {
                    figure.low = value.clone();
                }
                if value > figure.high {
                    figure.high = value;
                }
            }
        }
    }
    Ok(found)
}

// ---- what is written, and what it means ---------------------------------------------------------

/// A number as written and its value.
#[derive(Debug, Clone)]
pub struct Num {
    pub text: String,
    pub value: R,
}

fn whole(value: usize) -> Num {
    Num {
        text: value.to_string(),
        value: r(i64::try_from(value).unwrap(), 1),
    }
}

/// A positive number up to about `most`, in any of the spellings.
pub fn number(tape: &mut Tape<'_>, most: usize) -> Num {
    match tape.below(6) {
        0 | 1 => whole(tape.between(1, most)),
        2 => {
            let text = format!("{}.{}", tape.below(most), tape.between(1, 9));
            Num {
                value: dec(&text),
                text,
            }
        }
        3 => {
            let text = format!("{}.{:02}", tape.below(most), tape.between(1, 99));
            Num {
                value: dec(&text),
                text,
            }
        }
        4 => {
            let below = *tape.pick(&[2, 3, 4, 7, 8]);
            let above = tape.between(1, below - 1);
            let part = r(i64::try_from(above).unwrap(), i64::try_from(below).unwrap());
            match tape.below(most) {
                0 => Num {
                    text: format!("{above}/{below}"),
                    value: part,
                },
                whole => Num {
                    text: format!("{whole} {above}/{below}"),
                    value: part + r(i64::try_from(whole).unwrap(), 1),
                },
            }
        }
        _ => {
            let (letter, above, below) = *tape.pick(&[('½', 1, 2), ('⅓', 1, 3), ('¾', 3, 4), ('⅞', 7, 8)]);
            match tape.below(most) {
                0 => Num {
                    text: letter.to_string(),
                    value: r(above, below),
                },
                whole => Num {
                    text: format!("{whole}{letter}"),
                    value: r(above, below) + r(i64::try_from(whole).unwrap(), 1),
                },
            }
        }
    }
}

/// Units of mass in grams, as their definitions say.
fn masses() -> Vec<(&'static str, R)> {
    let pound = dec("453.59237");
    let grain = &pound / r(7000, 1);
    let of_grains = |count: i64| &grain * r(count, 1);
    vec![
        ("g", r(1, 1)),
        ("mg", r(1, 1000)),
        ("kg", r(1000, 1)),
        ("grams", r(1, 1)),
        ("oz", &pound / r(16, 1)),
        ("grains", grain.clone()),
        ("drachms", of_grains(60)),
        ("scruples", of_grains(20)),
        ("apothecary ounces", of_grains(480)),
        ("troy ounces", of_grains(480)),
        ("pennyweights", of_grains(24)),
        ("lb", pound.clone()),
        ("apothecary pounds", of_grains(5760)),
        ("avoirdupois drams", &pound / r(256, 1)),
        ("micrograms", r(1, 1_000_000)),
        ("stone", &pound * r(14, 1)),
    ]
}

/// Units of volume in millilitres, as their definitions say.
fn volumes() -> Vec<(&'static str, R)> {
    let imperial = dec("4546.09");
    let inch = dec("2.54");
    let us = &inch * &inch * &inch * r(231, 1);
    vec![
        ("ml", r(1, 1)),
        ("cl", r(10, 1)),
        ("litres", r(1000, 1)),
        ("imperial fl oz", &imperial / r(160, 1)),
        ("US fl oz", &us / r(128, 1)),
        ("imperial fl drachms", &imperial / r(1280, 1)),
        ("US fl drachms", &us / r(1024, 1)),
        ("imperial minims", &imperial / r(76800, 1)),
        ("US minims", &us / r(61440, 1)),
        ("imperial pints", &imperial / r(8, 1)),
        ("US pints", &us / r(8, 1)),
        ("US gills", &us / r(32, 1)),
    ]
}

/// An amount as written and its value in the base unit.
#[derive(Debug, Clone)]
pub struct Written {
    pub text: String,
    pub value: I3,
}

/// An amount in one of these units: plain, a sum of two, or a range.
fn measured(tape: &mut Tape<'_>, units: &[(&'static str, R)], most: usize) -> Written {
    // The plainer units stand first in the lists and are drawn more often.
    let unit = |tape: &mut Tape<'_>| {
        let at = tape.below(units.len() * 2);
        units[if at >= units.len() { 0 } else { at }].clone()
    };
    let (name, size) = unit(tape);
    // Large units are taken in small numbers.
    let most = if size > r(100, 1) {
        2
    } else if size > r(20, 1) {
        most.min(9)
    } else {
        most
    };
    match tape.below(8) {
        0..=4 => {
            let number = number(tape, most);
            Written {
                text: format!("{} {name}", number.text),
                value: I3::exact(number.value * size),
            }
        }
        5 => {
            let smaller: Vec<&(&str, R)> = units.iter().filter(|(_, other)| *other < size).collect();
            let first = number(tape, most);
            if smaller.is_empty() {
                return Written {
                    text: format!("{} {name}", first.text),
                    value: I3::exact(first.value * size),
                };
            }
            let (other, small) = tape.pick(&smaller);
            let second = number(tape, 9);
            Written {
                text: format!("{} {name} {} {other}", first.text, second.text),
                value: I3::exact(first.value * size + second.value * small),
            }
        }
        6 => {
            let low = number(tape, most);
            let high = whole(most + tape.between(1, 5));
            let join = *tape.pick(&["to", "or"]);
            Written {
                text: format!("{} {join} {} {name}", low.text, high.text),
                value: I3::between(low.value * &size, high.value * size),
            }
        }
        _ => {
            let low = tape.between(1, most);
            let high = low + tape.between(1, 5);
            let join = *tape.pick(&["–", "-", " to "]);
            Written {
                text: if tape.chance(1, 2) {
                    format!("{low}{join}{high} {name}")
                } else {
                    format!("{low} {name} to {high} {name}")
                },
                value: I3::between(whole(low).value * &size, whole(high).value * size),
            }
        }
    }
}

/// A count: plain or a range.
fn count(tape: &mut Tape<'_>, most: usize) -> Written {
    if tape.chance(1, 4) {
        let low = number(tape, most);
        let high = whole(most + tape.between(1, 3));
        Written {
            text: format!("{} to {}", low.text, high.text),
            value: I3::between(low.value, high.value),
        }
    } else {
        let number = number(tape, most);
        Written {
            text: number.text,
            value: I3::exact(number.value),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spoon {
    Tea,
    Table,
}

impl Spoon {
    fn word(self) -> &'static str {
        match self {
            Self::Tea => "teaspoon",
            Self::Table => "tablespoon",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Heap {
    Level,
    Rounded,
    Heaped,
}

impl Heap {
    fn word(self) -> &'static str {
        match self {
            Self::Level => "",
            Self::Rounded => "rounded ",
            Self::Heaped => "heaped ",
        }
    }
}

/// A herb or a liquid.
#[derive(Debug, Clone)]
pub struct Thing {
    pub name: &'static str,
    pub liquid: bool,
    pub spoons: Vec<(Heap, Spoon, Written)>,
    pub piece: Option<(&'static str, Written)>,
    pub density: Option<Written>,
    pub drop: Option<Num>,
}

/// What is taken: a thing or an earlier formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ref {
    Thing(usize),
    Formula(usize),
}

/// What an amount means.
#[derive(Debug, Clone)]
pub enum Amount {
    Mass(I3),
    Volume(I3),
    Drops(I3),
    /// Several add up.
    Spoons(Vec<(I3, Heap, Spoon)>),
    Pieces(I3),
    Parts(I3),
    /// With half a unit of the last printed digit.
    Percent(I3, R),
    About(Box<Amount>),
    Enough,
    ToGrams(R),
    ToMillilitres(R),
    ToParts(R),
    ToPercent(R),
}

impl Amount {
    /// A share of the finished total stays what it is; everything else is taken `factor` times.
    fn scaled(&self, factor: &R) -> Self {
        match self {
            Self::Mass(value) => Self::Mass(value.scaled(factor)),
            Self::Volume(value) => Self::Volume(value.scaled(factor)),
            Self::Drops(value) => Self::Drops(value.scaled(factor)),
            Self::Spoons(list) => Self::Spoons(
                list.iter()
                    .map(|(count, heap, spoon)| (count.scaled(factor), *heap, *spoon))
                    .collect(),
            ),
            Self::Pieces(value) => Self::Pieces(value.scaled(factor)),
            Self::Parts(value) => Self::Parts(value.scaled(factor)),
            Self::About(inner) => Self::About(Box::new(inner.scaled(factor))),
            Self::ToGrams(total) => Self::ToGrams(total * factor),
            Self::ToMillilitres(total) => Self::ToMillilitres(total * factor),
            Self::ToParts(total) => Self::ToParts(total * factor),
            Self::Percent(..) | Self::Enough | Self::ToPercent(_) => self.clone(),
        }
    }
}

/// One line under `take`, perhaps with several names.
#[derive(Debug, Clone)]
pub struct Group {
    pub names: Vec<Ref>,
    /// The amount as it stands behind all names.
    pub text: String,
    /// The amount of each name as it would stand on a line of its own.
    pub own_texts: Vec<String>,
    pub amounts: Vec<Amount>,
    pub tail: &'static str,
}

#[derive(Debug, Clone)]
pub enum Makes {
    Grams(Written),
    Millilitres(Written),
}

/// A formula as written.
#[derive(Debug, Clone, Default)]
pub struct Recipe {
    pub name: String,
    pub adapts: Option<(usize, Num)>,
    pub without: Vec<Ref>,
    pub groups: Vec<Group>,
    pub one_part: Option<Written>,
    pub makes: Option<Makes>,
    pub spoon: Option<(Spoon, Written)>,
    pub divide: Option<(&'static str, Num)>,
}

/// A formula with what it keeps of the one that it adapts.
#[derive(Debug, Clone, Default)]
pub struct Whole {
    pub lines: Vec<(Ref, Amount)>,
    one_part: Option<I3>,
    makes_grams: Option<I3>,
    makes_millilitres: Option<I3>,
    spoons: Vec<(Spoon, I3)>,
    divide: Option<(&'static str, R)>,
}

/// A ledger.
#[derive(Debug, Clone)]
pub struct Sample {
    pub teaspoon: Num,
    pub tablespoon: Num,
    pub rounded: Written,
    pub heaped: Written,
    pub step: Num,
    pub things: Vec<Thing>,
    pub recipes: Vec<Recipe>,
    /// What each formula comes to, or why it comes to nothing.
    pub done: Vec<Result<Done, Fault>>,
}

/// What a formula comes to.
#[derive(Debug, Clone)]
pub struct Done {
    pub whole: Whole,
    pub lines: Vec<Line>,
    pub grams: Option<I3>,
    pub millilitres: Option<I3>,
    pub parts: Option<I3>,
    pub volume: Option<I3>,
    /// What of each thing is in it; nothing where some of it has no weight.
    pub contents: Option<BTreeMap<usize, I3>>,
    /// What of each thing is in it, as a share of the whole.
    shares: Option<BTreeMap<usize, I3>>,
    pub off_by_printing: bool,
}

#[derive(Debug, Clone, Default)]
pub struct Line {
    pub grams: Option<I3>,
    pub millilitres: Option<I3>,
    pub parts: Option<I3>,
}

/// Why a formula has no figures.
pub type Fault = &'static str;

/// A line before it is sized.
#[derive(Debug, Clone)]
enum Input {
    Grams(I3),
    /// With what a millilitre weighs, where that is known.
    Liquid(I3, Option<I3>),
    Relative(I3),
    Nothing,
    /// What is missing, with what a millilitre of it weighs.
    Missing(Amount, Option<I3>),
}

/// What is inside a line.
enum Inside<'a> {
    /// The thing itself.
    Itself(usize),
    /// Things, each as a share of its weight.
    ByWeight(&'a BTreeMap<usize, I3>),
    /// Things, each in grams for a millilitre.
    ByVolume(BTreeMap<usize, I3>),
    Unknown,
}

/// One value for each figure of a formula.
struct Point {
    grams: Vec<Option<R>>,
    millilitres: Vec<Option<R>>,
    parts: Vec<Option<R>>,
}

impl Sample {
    fn holds(&self, spoon: Spoon) -> &R {
        match spoon {
            Spoon::Tea => &self.teaspoon.value,
            Spoon::Table => &self.tablespoon.value,
        }
    }

    fn done(&self, formula: usize) -> Option<&Done> {
        self.done.get(formula)?.as_ref().ok()
    }

    /// What a level spoon of something weighs: its own weighing, or its other spoon by volume.
    fn level_spoon(&self, of: Ref, spoon: Spoon) -> Option<I3> {
        let weighed: Vec<(Spoon, I3)> = match of {
            Ref::Thing(at) => self.things[at]
                .spoons
                .iter()
                .filter(|(heap, ..)| *heap == Heap::Level)
                .map(|(_, spoon, weight)| (*spoon, weight.value.clone()))
                .collect(),
            Ref::Formula(at) => self.done(at)?.whole.spoons.clone(),
        };
        if let Some((_, own)) = weighed.iter().find(|(other, _)| *other == spoon) {
            return Some(own.clone());
        }
        if let [(other, weight)] = weighed.as_slice() {
            return Some(weight.scaled(&(self.holds(spoon) / self.holds(*other))));
        }
        match of {
            Ref::Formula(at) => self.spoon_of_blend(at, spoon),
            Ref::Thing(_) => None,
        }
    }

    /// What a level spoon of a blend weighs: its herbs fill the spoon in their proportions. Each
    /// line may be as much as it says, and a spoon of each herb may weigh what that herb says. What was
    /// spooned by that very weighing is so many spoons, and weighs what they weigh.
    fn spoon_of_blend(&self, formula: usize, spoon: Spoon) -> Option<I3> {
        let done = self.done(formula)?;
        if done.volume.is_some() {
            return None;
        }
        let mut variables = Vec::new();
        let mut by_spoons = Vec::new();
        for ((of, amount), line) in done.whole.lines.iter().zip(&done.lines) {
            match (line.grams.as_ref().or(line.parts.as_ref()), &line.millilitres) {
                (Some(weight), _) => {
                    let spoons = self.spoons_of(*of, amount, spoon);
                    by_spoons.push(spoons.is_some());
                    variables.extend([spoons.unwrap_or(weight.clone()), self.level_spoon(*of, spoon)?]);
                }
                (None, Some(_)) => return None,
                (None, None) => {}
            }
        }
        if variables.iter().filter(|one| !one.is_exact()).count() > 9 {
            return None;
        }
        let mut weigh = |point: &[R]| {
            let both = |line: &[R], by_spoons: bool| {
                if by_spoons {
                    (&line[0] * &line[1], line[0].clone())
                } else {
                    (line[0].clone(), &line[0] / &line[1])
                }
            };
            let lines = || point.chunks(2).zip(&by_spoons).map(|(line, by)| both(line, *by));
            let grams: R = lines().map(|(grams, _)| grams).sum();
            let filled: R = lines().map(|(_, filled)| filled).sum();
            Ok(vec![(!filled.is_zero()).then(|| grams / filled)])
        };
        corners(&variables, &mut weigh).ok()?.remove(0)
    }

    /// How many level spoons a line is, if it is measured by the weighing by which such a spoon is known.
    fn spoons_of(&self, of: Ref, amount: &Amount, wanted: Spoon) -> Option<I3> {
        let same = |taken: Spoon| {
            let Ref::Thing(at) = of else {
                return taken == wanted;
            };
            let levels = self.things[at]
                .spoons
                .iter()
                .filter(|(heap, ..)| *heap == Heap::Level);
            taken == wanted || levels.count() == 1
        };
        match amount {
            Amount::About(inner) => self.spoons_of(of, inner, wanted),
            Amount::Spoons(list) => {
                let mut sum = I3::exact(R::zero());
                for (count, heap, taken) in list {
                    let own_heap = matches!(of, Ref::Thing(at) if *heap != Heap::Level
                        && self.things[at].spoons.iter().any(|(h, s, _)| (h, s) == (heap, taken)));
                    if own_heap || !same(*taken) {
                        return None;
                    }
                    let spoons = count.times(&self.heap(*heap));
                    sum = sum.plus(&spoons.scaled(&(self.holds(*taken) / self.holds(wanted))));
                }
                Some(sum)
            }
            // Of something dry a volume goes by its teaspoon.
            Amount::Volume(volume) if matches!(of, Ref::Thing(at) if self.things[at].density.is_none()) => {
                same(Spoon::Tea).then(|| volume.scaled(&self.holds(wanted).recip()))
            }
            _ => None,
        }
    }

    /// What a millilitre of something weighs.
    fn density(&self, of: Ref) -> Option<I3> {
        match of {
            Ref::Thing(at) => self.things[at]
                .density
                .as_ref()
                .map(|density| density.value.clone()),
            Ref::Formula(_) => None,
        }
    }

    fn is_liquid(&self, of: Ref) -> bool {
        match of {
            Ref::Thing(at) => self.things[at].liquid,
            Ref::Formula(at) => self.done(at).is_some_and(|done| done.volume.is_some()),
        }
    }

    fn drop(&self, of: Ref) -> R {
        match of {
            Ref::Thing(at) => self.things[at]
                .drop
                .as_ref()
                .map_or(dec("0.05"), |drop| drop.value.clone()),
            Ref::Formula(_) => dec("0.05"),
        }
    }

    fn heap(&self, heap: Heap) -> I3 {
        match heap {
            Heap::Level => I3::exact(R::one()),
            Heap::Rounded => self.rounded.value.clone(),
            Heap::Heaped => self.heaped.value.clone(),
        }
    }

    /// A volume of something.
    fn poured(&self, of: Ref, volume: I3) -> Option<Input> {
        if self.is_liquid(of) {
            return Some(Input::Liquid(volume, self.density(of)));
        }
        // Dry things are measured like a spoon: a blend needs a weighing of its own for that.
        if let Ref::Formula(at) = of {
            self.done(at)?.whole.spoons.first()?;
        }
        let weight = self.level_spoon(of, Spoon::Tea)?;
        Some(Input::Grams(
            volume.times(&weight).scaled(&self.holds(Spoon::Tea).recip()),
        ))
    }

    fn spooned(&self, of: Ref, count: &I3, heap: Heap, spoon: Spoon) -> Option<Input> {
        if let Ref::Thing(at) = of
            && let Some((.., own)) = self.things[at]
                .spoons
                .iter()
                .find(|(h, s, _)| (*h, *s) == (heap, spoon))
        {
            return Some(Input::Grams(count.times(&own.value)));
        }
        let weighed = matches!(of, Ref::Formula(at) if !self.done(at)?.whole.spoons.is_empty());
        if self.is_liquid(of) && !weighed {
            // A liquid can't be heaped: a full spoon is a full spoon.
            return self.poured(of, count.scaled(self.holds(spoon)));
        }
        Some(Input::Grams(
            count.times(&self.level_spoon(of, spoon)?).times(&self.heap(heap)),
        ))
    }

    /// What an amount means before the formula is sized; nothing if the herb lacks a weighing.
    fn input(&self, of: Ref, amount: &Amount) -> Option<Input> {
        Some(match amount {
            Amount::Mass(grams) => Input::Grams(grams.clone()),
            Amount::Volume(volume) => self.poured(of, volume.clone())?,
            Amount::Drops(count) => self.poured(of, count.scaled(&self.drop(of)))?,
            Amount::Spoons(list) => {
                let mut sum: Option<Input> = None;
                for (count, heap, spoon) in list {
                    let more = self.spooned(of, count, *heap, *spoon)?;
                    sum = Some(match (sum, more) {
                        (None, more) => more,
                        (Some(Input::Grams(a)), Input::Grams(b)) => Input::Grams(a.plus(&b)),
                        (Some(Input::Liquid(a, density)), Input::Liquid(b, _)) => {
                            Input::Liquid(a.plus(&b), density)
                        }
                        _ => return None,
                    });
                }
                sum?
            }
            Amount::Pieces(count) => match of {
                Ref::Thing(at) => Input::Grams(count.times(&self.things[at].piece.as_ref()?.1.value)),
                Ref::Formula(at) => Input::Grams(count.scaled(&self.done(at)?.whole.divide.as_ref()?.1)),
            },
            Amount::Parts(share) | Amount::Percent(share, _) => Input::Relative(share.clone()),
            Amount::About(inner) => self.input(of, inner)?,
            Amount::Enough => Input::Nothing,
            to => Input::Missing(to.clone(), self.density(of)),
        })
    }

    fn inputs(&self, whole: &Whole) -> Result<(Vec<Input>, bool), Fault> {
        let mut inputs = Vec::new();
        for (of, amount) in &whole.lines {
            if let Ref::Formula(at) = of
                && self.done(*at).is_none()
            {
                return Err("takes a formula with a fault");
            }
            inputs.push(self.input(*of, amount).ok_or("no weight")?);
        }
        let has = |wanted: fn(&Amount) -> bool| whole.lines.iter().any(|(_, amount)| wanted(amount));
        let percents = has(|amount| matches!(amount, Amount::Percent(..)));
        let parts = has(|amount| matches!(amount, Amount::Parts(_)));
        if percents && parts {
            return Err("parts beside percent");
        }
        let missing = whole
            .lines
            .iter()
            .filter(|(_, amount)| {
                matches!(
                    amount,
                    Amount::ToGrams(_) | Amount::ToMillilitres(_) | Amount::ToParts(_) | Amount::ToPercent(_)
                )
            })
            .count();
        if missing > 1 {
            return Err("what is missing stands twice");
        }
        if !percents && has(|amount| matches!(amount, Amount::ToPercent(_)))
            || !parts && has(|amount| matches!(amount, Amount::ToParts(_)))
        {
            return Err("a total of another sort");
        }
        Ok((inputs, percents))
    }

    /// What is inside a line, however it is measured.
    fn inside(&self, of: Ref, input: &Input) -> Inside<'_> {
        let at = match of {
            Ref::Thing(at) => return Inside::Itself(at),
            Ref::Formula(at) => at,
        };
        let Some(done) = self.done(at) else {
            return Inside::Unknown;
        };
        match (input, &done.volume) {
            (Input::Liquid(..) | Input::Missing(Amount::ToMillilitres(_), _), Some(volume)) => {
                match &done.contents {
                    Some(held) if !volume.nominal.is_zero() => {
                        let each = volume.nominal.recip();
                        Inside::ByVolume(
                            held.iter()
                                .map(|(thing, grams)| (*thing, grams.scaled(&each)))
                                .collect(),
                        )
                    }
                    _ => Inside::Unknown,
                }
            }
            // Of something that is made up by volume a weight says nothing of what is in it.
            (_, Some(_)) => Inside::Unknown,
            (_, None) => done.shares.as_ref().map_or(Inside::Unknown, Inside::ByWeight),
        }
    }

    /// Everything that may vary in a formula, in the order in which [`Self::solve`] reads it.
    fn variables(&self, inputs: &[Input], whole: &Whole) -> Vec<I3> {
        let mut variables = Vec::new();
        for input in inputs {
            match input {
                Input::Grams(value) | Input::Relative(value) => variables.push(value.clone()),
                Input::Liquid(volume, density) => {
                    variables.push(volume.clone());
                    variables.extend(density.clone());
                }
                Input::Missing(_, density) => variables.extend(density.clone()),
                Input::Nothing => {}
            }
        }
        variables.extend(whole.one_part.clone());
        variables.extend(whole.makes_grams.clone());
        variables
    }

    /// What the lines of a formula come to when everything that may vary has one value.
    fn solve(&self, inputs: &[Input], whole: &Whole, point: &[R]) -> Result<Point, Fault> {
        let lines = inputs.len();
        let mut solved = Point {
            grams: vec![None; lines],
            millilitres: vec![None; lines],
            parts: vec![None; lines],
        };
        let mut values = point.iter().cloned();
        let mut next = || values.next().unwrap();
        let mut relative: Vec<(usize, R)> = Vec::new();
        let mut missing: Option<(usize, Amount, Option<R>)> = None;
        for (at, input) in inputs.iter().enumerate() {
            match input {
                Input::Grams(_) => solved.grams[at] = Some(next()),
                Input::Liquid(_, density) => {
                    let volume = next();
                    if density.is_some() {
                        solved.grams[at] = Some(&volume * next());
                    }
                    solved.millilitres[at] = Some(volume);
                }
                Input::Relative(_) => relative.push((at, next())),
                Input::Nothing => {}
                Input::Missing(to, density) => {
                    missing = Some((at, to.clone(), density.as_ref().map(|_| next())));
                }
            }
        }
        let part = whole.one_part.as_ref().map(|_| next());
        let made = whole.makes_grams.as_ref().map(|_| next());
        let sum = |list: &[(usize, R)]| list.iter().fold(R::zero(), |sum, (_, value)| sum + value);
        if let Some((at, Amount::ToParts(total) | Amount::ToPercent(total), _)) = &missing {
            let rest = total - sum(&relative);
            if rest.is_negative() {
                return Err("nothing is left to fill up");
            }
            relative.push((*at, rest));
            missing = None;
        }
        // Lines that stand by themselves, all in grams; nothing if one of them has no weight.
        let alone = |solved: &Point| {
            let mut total = R::zero();
            for (at, input) in inputs.iter().enumerate() {
                match input {
                    Input::Grams(_) | Input::Liquid(..) => total += solved.grams[at].as_ref()?,
                    _ => {}
                }
            }
            Some(total)
        };
        let fixed = inputs
            .iter()
            .any(|input| matches!(input, Input::Grams(_) | Input::Liquid(..)));
        let all = sum(&relative);
        let hundred = r(100, 1);
        if whole
            .lines
            .iter()
            .any(|(_, amount)| matches!(amount, Amount::Percent(..)))
        {
            if fixed || missing.is_some() {
                if all >= hundred {
                    return Err("the percentages leave nothing");
                }
                let total = match &missing {
                    Some((_, Amount::ToGrams(total), _)) => total.clone(),
                    Some(_) => return Err("a total of another sort"),
                    None => alone(&solved).ok_or("a volume without a weight")? * &hundred / (&hundred - &all),
                };
                for (at, percent) in &relative {
                    solved.grams[*at] = Some(&total * percent / &hundred);
                }
            } else {
                for (at, percent) in relative {
                    match &made {
                        Some(total) => solved.grams[at] = Some(total * percent / &all),
                        None => solved.parts[at] = Some(percent),
                    }
                }
            }
        } else if !relative.is_empty() {
            if let Some(part) = part {
                for (at, count) in relative {
                    solved.grams[at] = Some(count * &part);
                }
            } else if let Some(total) = &made {
                let rest = total - alone(&solved).ok_or("a volume without a weight")?;
                if rest.is_negative() || rest.is_zero() {
                    return Err("nothing is left for the parts");
                }
                for (at, count) in relative {
                    solved.grams[at] = Some(&rest * count / &all);
                }
            } else if fixed || missing.is_some() {
                return Err("parts need a size");
            } else {
                for (at, count) in relative {
                    solved.parts[at] = Some(count);
                }
            }
        }
        match missing {
            Some((at, Amount::ToGrams(total), _)) => {
                let mut rest = total;
                for (other, grams) in solved.grams.iter().enumerate() {
                    match (&inputs[other], grams) {
                        (Input::Nothing | Input::Missing(..), _) => {}
                        (_, Some(grams)) => rest -= grams,
                        (_, None) => return Err("a volume without a weight"),
                    }
                }
                if rest.is_negative() {
                    return Err("nothing is left to fill up");
                }
                solved.grams[at] = Some(rest);
            }
            Some((at, Amount::ToMillilitres(total), density)) => {
                let mut rest = Some(total);
                for (other, volume) in solved.millilitres.iter().enumerate() {
                    match &inputs[other] {
                        Input::Nothing | Input::Missing(..) => {}
                        _ => rest = rest.zip(volume.as_ref()).map(|(rest, volume)| rest - volume),
                    }
                }
                // Beside weights it is made up to the mark, and how much that takes is not known.
                if let Some(rest) = rest {
                    if rest.is_negative() {
                        return Err("nothing is left to fill up");
                    }
                    solved.grams[at] = density.map(|density| &rest * density);
                    solved.millilitres[at] = Some(rest);
                }
            }
            _ => {}
        }
        Ok(solved)
    }

    /// Reckons a formula.
    pub fn reckon(&self, whole: Whole) -> Result<Done, Fault> {
        if whole.lines.is_empty() {
            return Err("takes nothing");
        }
        let (inputs, percents) = self.inputs(&whole)?;
        let lines = inputs.len();
        let mut off_by_printing = false;
        if percents {
            off_by_printing = percentages(&whole, &inputs)?;
        }
        let inner: Vec<Inside<'_>> = whole
            .lines
            .iter()
            .zip(&inputs)
            .map(|((of, _), input)| self.inside(*of, input))
            .collect();
        let mut find = |point: &[R]| {
            let solved = self.solve(&inputs, &whole, point)?;
            let mut figures: Vec<Option<R>> = Vec::new();
            let total = |list: &[Option<R>]| {
                let counted: Vec<&R> = list.iter().flatten().collect();
                (!counted.is_empty()).then(|| counted.into_iter().sum::<R>())
            };
            figures.push(total(&solved.grams));
            let only: Vec<Option<R>> = (0..lines)
                .map(|at| {
                    solved.millilitres[at]
                        .clone()
                        .filter(|_| solved.grams[at].is_none())
                })
                .collect();
            figures.push(total(&only));
            figures.push(total(&solved.parts));
            let weights: Vec<Option<R>> = (0..lines)
                .map(|at| solved.grams[at].clone().or(solved.parts[at].clone()))
                .collect();
            let poured = solved.millilitres.clone();
            figures.extend(solved.grams);
            figures.extend(solved.millilitres);
            figures.extend(solved.parts);
            // Least and most of what is in it, with inner shares at their least and most.
            let all = total(&weights).unwrap_or_default();
            for thing in 0..self.things.len() {
                for end in 0..3 {
                    let mut held = R::zero();
                    for at in 0..lines {
                        let (amount, of) = match &inner[at] {
                            Inside::Itself(own) if *own == thing => (&weights[at], None),
                            Inside::ByWeight(shares) => (&weights[at], shares.get(&thing)),
                            Inside::ByVolume(shares) => (&poured[at], shares.get(&thing)),
                            Inside::Itself(_) | Inside::Unknown => continue,
                        };
                        let itself = I3::exact(R::one());
                        let share = match (&inner[at], of) {
                            (Inside::Itself(_), _) => &itself,
                            (_, Some(share)) => share,
                            (_, None) => continue,
                        };
                        if let Some(amount) = amount {
                            held += amount * [&share.nominal, &share.low, &share.high][end];
                        }
                    }
                    figures.push((!all.is_zero()).then(|| &held / &all));
                    figures.push(Some(held));
                }
            }
            Ok(figures)
        };
        let variables = self.variables(&inputs, &whole);
        let figures = corners(&variables, &mut find)?;
        let has_weight = |at: usize| figures[3 + at].is_some() || figures[3 + 2 * lines + at].is_some();
        let known = (0..lines).all(|at| {
            matches!(inputs[at], Input::Nothing)
                || match inner[at] {
                    Inside::Itself(_) | Inside::ByWeight(_) => has_weight(at),
                    Inside::ByVolume(_) => figures[3 + lines + at].is_some(),
                    Inside::Unknown => false,
                }
        });
        // Only where every line has a weight is there a whole to take shares of.
        let weighed = known && (0..lines).all(|at| matches!(inputs[at], Input::Nothing) || has_weight(at));
        let mut contents = BTreeMap::new();
        let mut shares = BTreeMap::new();
        for thing in 0..self.things.len() {
            let base = 3 + 3 * lines + 6 * thing;
            let ends = |offset: usize| {
                Some(I3 {
                    nominal: figures[base + offset].as_ref()?.nominal.clone(),
                    low: figures[base + 2 + offset].as_ref()?.low.clone(),
                    high: figures[base + 4 + offset].as_ref()?.high.clone(),
                })
            };
            if let (Some(share), Some(held)) = (ends(0), ends(1))
                && held.high.is_positive()
            {
                shares.insert(thing, share);
                contents.insert(thing, held);
            }
        }
        let volume = whole
            .lines
            .iter()
            .find_map(|(_, amount)| match amount {
                Amount::ToMillilitres(total) => Some(I3::exact(total.clone())),
                _ => None,
            })
            .or(whole.makes_millilitres.clone());
        Ok(Done {
            lines: (0..lines)
                .map(|at| Line {
                    grams: figures[3 + at].clone(),
                    millilitres: figures[3 + lines + at].clone(),
                    parts: figures[3 + 2 * lines + at].clone(),
                })
                .collect(),
            grams: figures[0].clone(),
            millilitres: figures[1].clone(),
            parts: figures[2].clone(),
            volume,
            contents: known.then_some(contents),
            shares: (weighed && !shares.is_empty()).then_some(shares),
            off_by_printing,
            whole,
        })
    }

    /// A formula with what it keeps of the one that it adapts.
    pub fn whole(&self, recipe: &Recipe) -> Result<Whole, Fault> {
        let own: Vec<(Ref, Amount)> = recipe
            .groups
            .iter()
            .flat_map(|group| group.names.iter().copied().zip(group.amounts.iter().cloned()))
            .collect();
        let mut whole = match &recipe.adapts {
            None => Whole {
                lines: own,
                ..Whole::default()
            },
            Some((base, share)) => {
                let mut kept = self
                    .done(*base)
                    .ok_or("adapts a formula with a fault")?
                    .whole
                    .clone();
                kept.lines.retain(|(of, _)| !recipe.without.contains(of));
                for (_, amount) in &mut kept.lines {
                    *amount = amount.scaled(&share.value);
                }
                kept.makes_grams = kept.makes_grams.map(|grams| grams.scaled(&share.value));
                kept.makes_millilitres = kept.makes_millilitres.map(|volume| volume.scaled(&share.value));
                for (of, amount) in own {
                    let place = kept.lines.iter().position(|(other, _)| *other == of);
                    match place {
                        None => kept.lines.push((of, amount)),
                        Some(place) => {
                            kept.lines[place].1 = amount;
                            let mut at = 0;
                            kept.lines.retain(|(other, _)| {
                                at += 1;
                                *other != of || at - 1 == place
                            });
                        }
                    }
                }
                kept
            }
        };
        if let Some(part) = &recipe.one_part {
            whole.one_part = Some(part.value.clone());
        }
        match &recipe.makes {
            Some(Makes::Grams(grams)) => {
                whole.makes_grams = Some(grams.value.clone());
                whole.makes_millilitres = None;
            }
            Some(Makes::Millilitres(volume)) => {
                whole.makes_millilitres = Some(volume.value.clone());
                whole.makes_grams = None;
            }
            None => {}
        }
        if let Some((spoon, weight)) = &recipe.spoon {
            whole.spoons.retain(|(other, _)| other != spoon);
            whole.spoons.push((*spoon, weight.value.clone()));
        }
        if let Some((name, size)) = &recipe.divide {
            whole.divide = Some((name, size.value.clone()));
        }
        Ok(whole)
    }
}

/// Whether percentages miss 100 by printing alone; a fault if they miss it by more.
fn percentages(whole: &Whole, inputs: &[Input]) -> Result<bool, Fault> {
    let hundred = r(100, 1);
    let mut sum = R::zero();
    let mut printing = R::zero();
    let mut greatest = R::zero();
    for (_, amount) in &whole.lines {
        if let Amount::Percent(percent, half_unit) = amount {
            sum += &percent.nominal;
            greatest += &percent.high;
            printing += half_unit;
        }
    }
    let beside = inputs.iter().any(|input| {
        matches!(
            input,
            Input::Grams(_)
                | Input::Liquid(..)
                | Input::Missing(Amount::ToGrams(_) | Amount::ToMillilitres(_), _)
        )
    });
    if beside {
        return if greatest >= hundred {
            Err("the percentages leave nothing")
        } else {
            Ok(false)
        };
    }
    if whole
        .lines
        .iter()
        .any(|(_, amount)| matches!(amount, Amount::ToPercent(_)))
    {
        return Ok(false);
    }
    let missed = (hundred - sum).abs();
    if missed > printing.min(r(2, 1)) {
        return Err("the percentages are off");
    }
    Ok(!missed.is_zero())
}

// ---- printing -----------------------------------------------------------------------------------

impl Sample {
    pub fn name(&self, of: Ref) -> &str {
        match of {
            Ref::Thing(at) => self.things[at].name,
            Ref::Formula(at) => &self.recipes[at].name,
        }
    }

    /// The entries of the ledger, each as text; `split` writes a line for each name.
    pub fn entries(&self, split: bool) -> Vec<String> {
        let mut entries = vec![format!(
            "practice\n  teaspoon  {} ml\n  tablespoon  {} ml\n  heaped  {} level spoons\n  rounded  {} level spoons\n  scales  {} g\n",
            self.teaspoon.text, self.tablespoon.text, self.heaped.text, self.rounded.text, self.step.text
        )];
        for thing in &self.things {
            let kind = if thing.liquid { "material" } else { "herb" };
            let mut text = format!("{kind} {}\n", thing.name);
            for (heap, spoon, weight) in &thing.spoons {
                let _ = writeln!(text, "  {}{}   {}", heap.word(), spoon.word(), weight.text);
            }
            if let Some((piece, weight)) = &thing.piece {
                let _ = writeln!(text, "  {piece}   {}", weight.text);
            }
            if let Some(density) = &thing.density {
                let _ = writeln!(text, "  density   {} per ml", density.text);
            }
            if let Some(drop) = &thing.drop {
                let _ = writeln!(text, "  drop   {} ml", drop.text);
            }
            entries.push(text);
        }
        for recipe in &self.recipes {
            entries.push(self.recipe_text(recipe, split));
        }
        entries
    }

    fn recipe_text(&self, recipe: &Recipe, split: bool) -> String {
        let mut text = format!("formula {}\n", recipe.name);
        if let Some((base, share)) = &recipe.adapts {
            let name = self.name(Ref::Formula(*base));
            let _ = if share.value.is_one() && share.text == "1" {
                writeln!(text, "  adapts  {name}")
            } else {
                writeln!(text, "  adapts  {name} at {}", share.text)
            };
        }
        if !recipe.groups.is_empty() || !recipe.without.is_empty() {
            text.push_str("  take\n");
        }
        for of in &recipe.without {
            let _ = writeln!(text, "    without {}", self.name(*of));
        }
        for group in &recipe.groups {
            let names: Vec<&str> = group.names.iter().map(|of| self.name(*of)).collect();
            if split {
                for (name, own) in names.iter().zip(&group.own_texts) {
                    let _ = writeln!(text, "    {name}   {own}{}", group.tail);
                }
            } else {
                let _ = writeln!(text, "    {}   {}{}", names.join(", "), group.text, group.tail);
            }
        }
        if let Some(part) = &recipe.one_part {
            let _ = writeln!(text, "  one part  {}", part.text);
        }
        match &recipe.makes {
            Some(Makes::Grams(made) | Makes::Millilitres(made)) => {
                let _ = writeln!(text, "  makes  {}", made.text);
            }
            None => {}
        }
        if let Some((spoon, weight)) = &recipe.spoon {
            let _ = writeln!(text, "  {}   {}", spoon.word(), weight.text);
        }
        if let Some((piece, size)) = &recipe.divide {
            let _ = writeln!(text, "  divide  into {piece} of {} g", size.text);
        }
        text
    }

    pub fn text(&self) -> String {
        self.entries(false).join("\n")
    }
}

pub fn snapshot(text: &str) -> Snapshot {
    Snapshot::of([("ledger.scruple".to_owned(), Arc::from(text))])
}

// ---- random ledgers -------------------------------------------------------------------------------

const HERBS: [&str; 6] = [
    "peppermint leaf",
    "fennel fruit",
    "ginger rhizome",
    "lady's mantle herb",
    "кипрей",
    "rose petal",
];
const LIQUIDS: [&str; 3] = ["glycerol", "rose water", "olive oil"];
const TAILS: [&str; 5] = ["", "", ", bruised", " as base", ", cut, sieved as aroma"];

/// What a measure weighs, in any of the ways to say it.
fn weighing(tape: &mut Tape<'_>, most: usize) -> Written {
    match tape.below(5) {
        0 => {
            let number = number(tape, most);
            Written {
                text: format!("{} g", number.text),
                value: I3::exact(number.value),
            }
        }
        1 => {
            let low = number(tape, most);
            let high = whole(most + tape.between(1, 2));
            Written {
                text: format!("{} to {} g", low.text, high.text),
                value: I3::between(low.value, high.value),
            }
        }
        2 | 3 => {
            let list: Vec<Num> = (0..tape.between(1, 4))
                .map(|_| {
                    let text = format!("{}.{}", tape.below(most), tape.between(1, 9));
                    Num {
                        value: dec(&text),
                        text,
                    }
                })
                .collect();
            let sum: R = list.iter().map(|one| &one.value).sum();
            let least = list.iter().map(|one| one.value.clone()).min().unwrap();
            let greatest = list.iter().map(|one| one.value.clone()).max().unwrap();
            let texts: Vec<&str> = list.iter().map(|one| one.text.as_str()).collect();
            Written {
                text: format!("weighed {} g", texts.join(", ")),
                value: I3 {
                    nominal: sum / r(i64::try_from(list.len()).unwrap(), 1),
                    low: least,
                    high: greatest,
                },
            }
        }
        _ => {
            let number = number(tape, most * 5);
            let of = tape.between(2, 7);
            Written {
                text: format!("weighed {} g for {of}", number.text),
                value: I3::exact(number.value / whole(of).value),
            }
        }
    }
}

fn heaps(tape: &mut Tape<'_>) -> Written {
    if tape.chance(1, 3) {
        Written {
            text: "2".to_owned(),
            value: I3::exact(r(2, 1)),
        }
    } else {
        let (low, high) = *tape.pick(&[("1.5", "2.5"), ("1.4", "2"), ("2", "3 1/3")]);
        let top = if high == "3 1/3" { r(10, 3) } else { dec(high) };
        Written {
            text: format!("{low} to {high}"),
            value: I3::between(dec(low), top),
        }
    }
}

fn thing(tape: &mut Tape<'_>, name: &'static str, liquid: bool) -> Thing {
    let mut thing = Thing {
        name,
        liquid,
        spoons: Vec::new(),
        piece: None,
        density: None,
        drop: None,
    };
    if liquid {
        if tape.chance(1, 2) {
            let low = *tape.pick(&["0.92", "1.26", "1.42"]);
            thing.density = Some(if tape.chance(1, 3) {
                let high = dec(low) + r(1, 10);
                Written {
                    text: format!(
                        "{low} to {} g",
                        if low == "0.92" {
                            "1.02"
                        } else if low == "1.26" {
                            "1.36"
                        } else {
                            "1.52"
                        }
                    ),
                    value: I3::between(dec(low), high),
                }
            } else {
                Written {
                    text: format!("{low} g"),
                    value: I3::exact(dec(low)),
                }
            });
        }
        if tape.chance(1, 3) {
            thing.drop = Some(Num {
                text: "0.03".to_owned(),
                value: dec("0.03"),
            });
        }
        return thing;
    }
    match tape.below(5) {
        0 => thing.spoons.push((Heap::Level, Spoon::Tea, weighing(tape, 3))),
        1 => thing.spoons.push((Heap::Level, Spoon::Table, weighing(tape, 8))),
        2 => {
            thing.spoons.push((Heap::Level, Spoon::Tea, weighing(tape, 3)));
            thing.spoons.push((Heap::Level, Spoon::Table, weighing(tape, 8)));
        }
        3 => {
            thing.spoons.push((Heap::Level, Spoon::Tea, weighing(tape, 3)));
            thing.spoons.push((Heap::Heaped, Spoon::Tea, weighing(tape, 6)));
        }
        _ => {}
    }
    if tape.chance(1, 3) {
        thing.piece = Some(("slice", weighing(tape, 2)));
    }
    thing
}

/// A practice, herbs and formulas that may stand on one another.
pub fn sample(tape: &mut Tape<'_>) -> Sample {
    let teaspoon = if tape.chance(1, 5) { whole(4) } else { whole(5) };
    let tablespoon = if tape.chance(1, 5) { whole(20) } else { whole(15) };
    let step = *tape.pick(&["0.1", "1", "0.05", "0.01", "0.2", "5"]);
    let mut things = Vec::new();
    for name in HERBS.iter().take(tape.between(3, HERBS.len())) {
        things.push(thing(tape, name, false));
    }
    for name in LIQUIDS.iter().take(tape.between(0, LIQUIDS.len())) {
        things.push(thing(tape, name, true));
    }
    let mut sample = Sample {
        teaspoon,
        tablespoon,
        rounded: heaps(tape),
        heaped: heaps(tape),
        step: Num {
            text: step.to_owned(),
            value: dec(step),
        },
        things,
        recipes: Vec::new(),
        done: Vec::new(),
    };
    for at in 0..tape.between(1, 5) {
        let name = format!("blend {}", ["one", "two", "three", "four", "five"][at]);
        let mut recipe = if at > 0 && tape.chance(1, 3) {
            adaptation(tape, &sample)
        } else {
            recipe(tape, &sample)
        };
        recipe.name = name;
        // Judgement beside a `q.s. to` leaves open what is missing: that has a test of its own.
        let enough = |amount: &Amount| matches!(amount, Amount::Enough);
        let missing = |amount: &Amount| {
            matches!(
                amount,
                Amount::ToGrams(_) | Amount::ToMillilitres(_) | Amount::ToParts(_) | Amount::ToPercent(_)
            )
        };
        if recipe
            .groups
            .iter()
            .any(|group| group.amounts.iter().any(missing))
        {
            recipe.groups.retain(|group| !group.amounts.iter().any(enough));
        }
        let done = sample.whole(&recipe).and_then(|whole| sample.reckon(whole));
        sample.recipes.push(recipe);
        sample.done.push(done);
    }
    sample
}

/// What may be taken: things, and formulas that have figures.
fn takeable(sample: &Sample) -> Vec<Ref> {
    let things = (0..sample.things.len()).map(Ref::Thing);
    let formulas = (0..sample.done.len())
        .filter(|at| sample.done[*at].is_ok())
        .map(Ref::Formula);
    things.chain(formulas).collect()
}

/// Something not taken yet.
fn another(tape: &mut Tape<'_>, sample: &Sample, taken: &[Ref]) -> Ref {
    let all = takeable(sample);
    let left: Vec<Ref> = all.iter().copied().filter(|of| !taken.contains(of)).collect();
    let formulas: Vec<Ref> = left
        .iter()
        .copied()
        .filter(|of| matches!(of, Ref::Formula(_)))
        .collect();
    match tape.below(12) {
        _ if left.is_empty() => *tape.pick(&all),
        9 | 10 if !formulas.is_empty() => *tape.pick(&formulas),
        11 => *tape.pick(&all),
        _ => *tape.pick(&left),
    }
}

/// An amount by itself: a weight, a volume, spoons or pieces, as far as it can be reckoned.
fn alone(tape: &mut Tape<'_>, sample: &Sample, of: Ref, grams_only: bool) -> (String, Amount) {
    let (text, amount) = match tape.below(8) {
        0..=2 => {
            let mass = measured(tape, &masses(), 40);
            (mass.text, Amount::Mass(mass.value))
        }
        3 => {
            let volume = measured(tape, &volumes(), 30);
            (volume.text, Amount::Volume(volume.value))
        }
        4 => {
            let count = count(tape, 30);
            (format!("{} drops", count.text), Amount::Drops(count.value))
        }
        5 => {
            let count = count(tape, 6);
            let piece = match of {
                Ref::Thing(_) => "slices",
                Ref::Formula(_) => "filter bags",
            };
            (format!("{} {piece}", count.text), Amount::Pieces(count.value))
        }
        _ => {
            let spoon = *tape.pick(&[Spoon::Tea, Spoon::Table]);
            if tape.chance(1, 6) {
                let (first, second) = (number(tape, 3), number(tape, 2));
                (
                    format!("{} tablespoons {} teaspoons", first.text, second.text),
                    Amount::Spoons(vec![
                        (I3::exact(first.value), Heap::Level, Spoon::Table),
                        (I3::exact(second.value), Heap::Level, Spoon::Tea),
                    ]),
                )
            } else {
                let heap = *tape.pick(&[Heap::Level, Heap::Heaped, Heap::Rounded]);
                let count = count(tape, 4);
                let spell = if heap == Heap::Level && tape.chance(1, 4) {
                    "level "
                } else {
                    heap.word()
                };
                (
                    format!("{} {spell}{}s", count.text, spoon.word()),
                    Amount::Spoons(vec![(count.value, heap, spoon)]),
                )
            }
        }
    };
    let fits = match sample.input(of, &amount) {
        Some(Input::Grams(_)) => true,
        Some(Input::Liquid(_, density)) => !grams_only || density.is_some(),
        _ => false,
    };
    if fits {
        let open = matches!(&amount, Amount::Mass(_) | Amount::Spoons(_) | Amount::Pieces(_));
        return match tape.below(14) {
            12 if open => (format!("about {text}"), Amount::About(Box::new(amount))),
            13 if open => (format!("q.s., about {text}"), Amount::About(Box::new(amount))),
            _ => (text, amount),
        };
    }
    let grams = number(tape, 50);
    (format!("{} g", grams.text), Amount::Mass(I3::exact(grams.value)))
}

fn single(of: Ref, text: String, amount: Amount, tail: &'static str) -> Group {
    Group {
        names: vec![of],
        own_texts: vec![text.clone()],
        text,
        amounts: vec![amount],
        tail,
    }
}

fn each(names: Vec<Ref>, text: &str, amount: &Amount, sign: &str, tail: &'static str) -> Group {
    Group {
        own_texts: vec![text.to_owned(); names.len()],
        text: format!("{sign} {text}"),
        amounts: vec![amount.clone(); names.len()],
        names,
        tail,
    }
}

/// Lines with amounts of their own.
fn alone_lines(
    tape: &mut Tape<'_>,
    sample: &Sample,
    groups: &mut Vec<Group>,
    lines: usize,
    grams_only: bool,
) {
    for _ in 0..lines {
        let taken: Vec<Ref> = groups.iter().flat_map(|group| group.names.clone()).collect();
        let of = another(tape, sample, &taken);
        let tail = *tape.pick(&TAILS);
        if tape.chance(1, 5) {
            let second = another(tape, sample, &[taken, vec![of]].concat());
            if second != of {
                let mass = measured(tape, &masses(), 30);
                let sign = *tape.pick(&["of each", "āā"]);
                groups.push(each(
                    vec![of, second],
                    &mass.text,
                    &Amount::Mass(mass.value),
                    sign,
                    tail,
                ));
                continue;
            }
        }
        if tape.chance(1, 20) {
            groups.push(single(of, "q.s.".to_owned(), Amount::Enough, ""));
            continue;
        }
        let (text, amount) = alone(tape, sample, of, grams_only);
        // A role or processing after an estimate reads as before; keep those lines bare.
        let tail = if matches!(amount, Amount::About(_)) {
            ""
        } else {
            tail
        };
        groups.push(single(of, text, amount, tail));
    }
}

/// The most that the lines so far may come to, in grams or millilitres.
fn most(sample: &Sample, groups: &[Group], millilitres: bool) -> Option<R> {
    let mut sum = R::zero();
    for group in groups {
        for (of, amount) in group.names.iter().zip(&group.amounts) {
            match sample.input(*of, amount)? {
                Input::Grams(grams) if !millilitres => sum += grams.high,
                Input::Liquid(volume, Some(density)) if !millilitres => sum += volume.times(&density).high,
                Input::Liquid(volume, _) if millilitres => sum += volume.high,
                Input::Nothing => {}
                _ => return None,
            }
        }
    }
    Some(sum)
}

/// A whole number above a value.
fn above(tape: &mut Tape<'_>, value: &R) -> Num {
    let up = value.ceil().to_integer();
    let more = BigInt::from(tape.between(1, 60));
    let total = up + more;
    Num {
        text: total.to_string(),
        value: R::from(total),
    }
}

fn recipe(tape: &mut Tape<'_>, sample: &Sample) -> Recipe {
    let mut recipe = Recipe::default();
    let liquids: Vec<Ref> = takeable(sample)
        .into_iter()
        .filter(|of| matches!(of, Ref::Thing(_)) && sample.is_liquid(*of))
        .collect();
    match tape.below(11) {
        0..=3 => fixed_recipe(tape, sample, &mut recipe),
        4..=7 => parts_recipe(tape, sample, &mut recipe),
        8 if liquids.len() > 1 => liquid_recipe(tape, sample, &liquids, &mut recipe),
        _ => percent_recipe(tape, sample, &mut recipe),
    }
    if tape.chance(1, 4) {
        let spoon = *tape.pick(&[Spoon::Tea, Spoon::Table]);
        recipe.spoon = Some((spoon, weighing(tape, 3)));
    }
    if tape.chance(1, 3) {
        recipe.divide = Some(("filter bags", number(tape, 3)));
    }
    recipe
}

fn fixed_recipe(tape: &mut Tape<'_>, sample: &Sample, recipe: &mut Recipe) {
    let grams_only = tape.chance(2, 3);
    let lines = tape.between(1, 4);
    alone_lines(tape, sample, &mut recipe.groups, lines, grams_only);
    let taken: Vec<Ref> = recipe
        .groups
        .iter()
        .flat_map(|group| group.names.clone())
        .collect();
    let more = another(tape, sample, &taken);
    let spelled = if tape.chance(1, 4) { "to" } else { "q.s. to" };
    match tape.below(5) {
        0 | 1 => {
            if let Some(sum) = most(sample, &recipe.groups, false) {
                let total = above(tape, &sum);
                recipe.groups.push(single(
                    more,
                    format!("{spelled} {} g", total.text),
                    Amount::ToGrams(total.value),
                    "",
                ));
            }
        }
        2 if sample.is_liquid(more) && matches!(more, Ref::Thing(_)) => {
            let sum = most(sample, &recipe.groups, true).unwrap_or(r(500, 1));
            let total = above(tape, &sum);
            recipe.groups.push(single(
                more,
                format!("{spelled} {} ml", total.text),
                Amount::ToMillilitres(total.value),
                "",
            ));
        }
        3 if tape.chance(1, 2) => {
            let made = number(tape, 500);
            recipe.makes = Some(Makes::Millilitres(Written {
                text: format!("{} ml", made.text),
                value: I3::exact(made.value),
            }));
        }
        _ => {}
    }
}

/// A mixture of liquids, measured and perhaps filled up.
fn liquid_recipe(tape: &mut Tape<'_>, sample: &Sample, liquids: &[Ref], recipe: &mut Recipe) {
    let (last, others) = liquids.split_last().unwrap();
    for of in others {
        let (mut text, mut amount) = alone(tape, sample, *of, false);
        if matches!(amount, Amount::Mass(_) | Amount::About(_)) {
            let volume = measured(tape, &volumes(), 30);
            (text, amount) = (volume.text, Amount::Volume(volume.value));
        }
        recipe.groups.push(single(*of, text, amount, ""));
    }
    if tape.chance(3, 4) {
        let sum = most(sample, &recipe.groups, true).unwrap_or(r(500, 1));
        let total = above(tape, &sum);
        recipe.groups.push(single(
            *last,
            format!("q.s. to {} ml", total.text),
            Amount::ToMillilitres(total.value),
            "",
        ));
    }
}

fn parts_recipe(tape: &mut Tape<'_>, sample: &Sample, recipe: &mut Recipe) {
    let mut taken: Vec<Ref> = Vec::new();
    let fresh = |tape: &mut Tape<'_>, taken: &mut Vec<Ref>| {
        let of = another(tape, sample, taken);
        taken.push(of);
        of
    };
    let part = |count: &str| if count == "1" { "part" } else { "parts" };
    let mut most_parts = R::zero();
    for _ in 0..tape.between(1, 3) {
        let tail = *tape.pick(&TAILS);
        match tape.below(6) {
            0..=2 => {
                let of = fresh(tape, &mut taken);
                let count = count(tape, 8);
                most_parts += &count.value.high;
                let text = format!("{} {}", count.text, part(&count.text));
                recipe
                    .groups
                    .push(single(of, text, Amount::Parts(count.value), tail));
            }
            3 => {
                let names = vec![fresh(tape, &mut taken), fresh(tape, &mut taken)];
                let count = number(tape, 6);
                most_parts += &count.value * r(2, 1);
                let text = format!("{} {}", count.text, part(&count.text));
                recipe.groups.push(each(
                    names,
                    &text,
                    &Amount::Parts(I3::exact(count.value)),
                    "of each",
                    tail,
                ));
            }
            4 => {
                let names: Vec<Ref> = (0..3).map(|_| fresh(tape, &mut taken)).collect();
                let counts: Vec<Num> = (0..3).map(|_| whole(tape.between(1, 7))).collect();
                most_parts += counts.iter().map(|count| &count.value).sum::<R>();
                let texts: Vec<&str> = counts.iter().map(|count| count.text.as_str()).collect();
                recipe.groups.push(Group {
                    names,
                    text: format!("as {}", texts.join(" : ")),
                    own_texts: counts
                        .iter()
                        .map(|count| format!("{} {}", count.text, part(&count.text)))
                        .collect(),
                    amounts: counts
                        .iter()
                        .map(|count| Amount::Parts(I3::exact(count.value.clone())))
                        .collect(),
                    tail: "",
                });
            }
            _ => {
                let names = vec![fresh(tape, &mut taken), fresh(tape, &mut taken)];
                most_parts += r(2, 1);
                recipe.groups.push(Group {
                    own_texts: vec!["1 part".to_owned(); 2],
                    text: "equal parts".to_owned(),
                    amounts: vec![Amount::Parts(I3::exact(R::one())); 2],
                    names,
                    tail: "",
                });
            }
        }
    }
    if tape.chance(1, 3) {
        let of = fresh(tape, &mut taken);
        let total = above(tape, &most_parts);
        recipe.groups.push(single(
            of,
            format!("q.s. to {} parts", total.text),
            Amount::ToParts(total.value),
            "",
        ));
    }
    let mut fixed = Vec::new();
    let beside = tape.chance(1, 2);
    match tape.below(3) {
        0 => {}
        1 => {
            recipe.one_part = Some(measured(tape, &masses()[..5], 6));
            if beside {
                let lines = tape.between(1, 2);
                alone_lines(tape, sample, &mut fixed, lines, true);
            }
        }
        _ => {
            if beside {
                let lines = tape.between(1, 2);
                alone_lines(tape, sample, &mut fixed, lines, true);
            }
            let sum = most(sample, &fixed, false).unwrap_or(r(1000, 1));
            let total = above(tape, &sum);
            recipe.makes = Some(Makes::Grams(made(tape, total)));
        }
    }
    recipe.groups.extend(fixed);
}

/// Percentages that come to a hundred exactly, or as nearly as they are printed.
fn hundred_percent(tape: &mut Tape<'_>, lines: usize, decimals: usize, exact: bool) -> Vec<(String, R)> {
    let unit = 10_i64.pow(u32::try_from(decimals).unwrap());
    let shares: Vec<i64> = (0..lines)
        .map(|_| i64::try_from(tape.between(1, 9)).unwrap())
        .collect();
    let sum: i64 = shares.iter().sum();
    let mut printed: Vec<i64> = shares
        .iter()
        .map(|share| (2 * 100 * unit * share + sum) / (2 * sum))
        .collect();
    if exact {
        let rest: i64 = printed.iter().skip(1).sum();
        printed[0] = 100 * unit - rest;
    }
    printed
        .into_iter()
        .map(|value| {
            let text = if decimals == 0 {
                value.to_string()
            } else {
                format!("{}.{:0decimals$}", value / unit, value % unit)
            };
            (text, r(value, unit))
        })
        .collect()
}

fn percent_recipe(tape: &mut Tape<'_>, sample: &Sample, recipe: &mut Recipe) {
    let lines = tape.between(1, 4);
    let decimals = tape.below(3);
    let half_unit = r(1, 2 * 10_i64.pow(u32::try_from(decimals).unwrap()));
    let style = tape.below(5);
    let mut taken: Vec<Ref> = Vec::new();
    let exact = style > 0 || tape.chance(1, 3);
    let mut list = hundred_percent(tape, lines + 1, decimals, exact);
    let one_more = list.pop().unwrap();
    if style == 0 {
        list.push(one_more);
    }
    for (text, value) in list {
        let of = another(tape, sample, &taken);
        taken.push(of);
        let sign = *tape.pick(&["%", " %"]);
        // A range about the share, so that the middle stays.
        if decimals == 0 && value > r(4, 1) && tape.chance(1, 5) {
            let (low, high) = (&value - r(2, 1), &value + r(2, 1));
            let text = format!("{} to {}{sign}", low.to_integer(), high.to_integer());
            recipe.groups.push(single(
                of,
                text,
                Amount::Percent(I3::between(low, high), half_unit.clone()),
                "",
            ));
            continue;
        }
        recipe.groups.push(single(
            of,
            format!("{text}{sign}"),
            Amount::Percent(I3::exact(value), half_unit.clone()),
            "",
        ));
    }
    let more = another(tape, sample, &taken);
    match style {
        1 => recipe.groups.push(single(
            more,
            "q.s. to 100%".to_owned(),
            Amount::ToPercent(r(100, 1)),
            "",
        )),
        2 | 3 => {
            let lines = tape.between(1, 2);
            let mut fixed = Vec::new();
            alone_lines(tape, sample, &mut fixed, lines, true);
            recipe.groups.extend(fixed);
        }
        4 => {
            let mut fixed = Vec::new();
            if tape.chance(1, 2) {
                alone_lines(tape, sample, &mut fixed, 1, true);
            }
            // What the percentages leave of the total must hold the fixed lines.
            let sum = most(sample, &fixed, false).unwrap_or_default() * r(100, 1);
            let total = above(tape, &sum);
            recipe.groups.extend(fixed);
            recipe.groups.push(single(
                more,
                format!("q.s. to {} g", total.text),
                Amount::ToGrams(total.value),
                "",
            ));
        }
        _ => {}
    }
    if style < 2 && tape.chance(1, 2) {
        let total = number(tape, 400);
        recipe.makes = Some(Makes::Grams(made(tape, total)));
    }
}

/// What is made, at least so much.
fn made(tape: &mut Tape<'_>, least: Num) -> Written {
    if tape.chance(1, 5) {
        let most = (&least.value + r(30, 1)).ceil().to_integer();
        Written {
            text: format!("{} to {most} g", least.text),
            value: I3::between(least.value, R::from(most)),
        }
    } else {
        Written {
            text: format!("{} g", least.text),
            value: I3::exact(least.value),
        }
    }
}

fn adaptation(tape: &mut Tape<'_>, sample: &Sample) -> Recipe {
    let base = tape.below(sample.recipes.len());
    let share = match tape.below(7) {
        0 => whole(1),
        1 | 2 => Num {
            text: "1/10".to_owned(),
            value: r(1, 10),
        },
        3 => Num {
            text: "1/3".to_owned(),
            value: r(1, 3),
        },
        4 => Num {
            text: "2 1/2".to_owned(),
            value: r(5, 2),
        },
        5 => Num {
            text: "0.3".to_owned(),
            value: r(3, 10),
        },
        _ => whole(7),
    };
    let mut recipe = Recipe {
        adapts: Some((base, share)),
        ..Recipe::default()
    };
    let Some(done) = sample.done(base) else {
        return recipe;
    };
    let mut names: Vec<Ref> = done.whole.lines.iter().map(|(of, _)| *of).collect();
    if names.len() > 1 && tape.chance(1, 3) {
        let of = *tape.pick(&names);
        names.retain(|other| *other != of);
        recipe.without.push(of);
    }
    // A line written again, and a line added, in the manner of the first line.
    let relative = |amount: &Amount| match amount {
        Amount::Parts(_) => 1,
        Amount::Percent(..) => 2,
        _ => 0,
    };
    let manner = done.whole.lines.first().map_or(0, |(_, amount)| relative(amount));
    let mut wanted = Vec::new();
    if tape.chance(1, 2) && !names.is_empty() {
        wanted.push(*tape.pick(&names));
    }
    if tape.chance(1, 3) {
        let of = another(tape, sample, &names);
        if !wanted.contains(&of) && !recipe.without.contains(&of) {
            wanted.push(of);
        }
    }
    for of in wanted {
        let (text, amount) = match manner {
            1 => {
                let count = number(tape, 4);
                (
                    format!("{} parts", count.text),
                    Amount::Parts(I3::exact(count.value)),
                )
            }
            2 => continue,
            _ => alone(tape, sample, of, true),
        };
        recipe.groups.push(single(of, text, amount, ""));
    }
    if manner == 1 && tape.chance(1, 3) {
        let total = whole(tape.between(300, 600));
        recipe.makes = Some(Makes::Grams(Written {
            text: format!("{} g", total.text),
            value: I3::exact(total.value),
        }));
    }
    if tape.chance(1, 4) {
        recipe.spoon = Some((Spoon::Tea, weighing(tape, 2)));
    }
    recipe
}

// ---- comparing --------------------------------------------------------------------------------------

/// Equal, but for what 28 digits can't hold.
fn near(found: Decimal, wanted: &R) -> bool {
    let off = (exactly(found) - wanted).abs();
    off <= wanted.abs() * r(1, 1_000_000_000_000_000) + r(1, 1_000_000_000_000_000_000)
}

/// The nominal value is right, and the true range lies inside the spread.
fn holds(found: &Spread, wanted: &I3) -> bool {
    let slack = |value: &R| value.abs() * r(1, 1_000_000_000_000_000) + r(1, 1_000_000_000_000_000);
    near(found.nominal, &wanted.nominal)
        && exactly(found.low) <= &wanted.low + slack(&wanted.low)
        && exactly(found.high) >= &wanted.high - slack(&wanted.high)
}

fn same(what: &str, found: Option<Spread>, wanted: Option<&I3>) -> Result<(), String> {
    let fine = match (&found, wanted) {
        (None, None) => true,
        (Some(found), Some(wanted)) => {
            near(found.nominal, &wanted.nominal)
                && near(found.low, &wanted.low)
                && near(found.high, &wanted.high)
        }
        _ => false,
    };
    if fine {
        return Ok(());
    }
    let wanted = wanted.map_or("nothing".to_owned(), |wanted| {
        format!(
            "{} ({} to {})",
            about(&wanted.nominal),
            about(&wanted.low),
            about(&wanted.high)
        )
    });
    let found = found.map_or("nothing".to_owned(), |found| {
        format!("{} ({} to {})", found.nominal, found.low, found.high)
    });
    Err(format!("{what}: the program says {found}; it is {wanted}"))
}

/// A fraction as people read it.
fn about(value: &R) -> String {
    let digits = (value * r(1_000_000_000_000, 1)).round().to_integer();
    let sign = if digits.is_negative() { "-" } else { "" };
    let digits = format!("{:013}", digits.abs());
    let (whole, decimals) = digits.split_at(digits.len() - 12);
    format!("{sign}{whole}.{decimals}")
}

/// Compares the figures of every formula.
fn figures_agree(sample: &Sample, snapshot: &Snapshot) -> Result<(), String> {
    for (at, done) in sample.done.iter().enumerate() {
        let name = &sample.recipes[at].name;
        let found = snapshot.figures.of(at);
        let (done, found) = match (done, found) {
            (Ok(done), Some(found)) => (done, found),
            (Err(_), None) => continue,
            (Err(fault), Some(_)) => return Err(format!("{name} has figures, though: {fault}")),
            (Ok(_), None) => return Err(format!("{name} has no figures")),
        };
        if found.lines.len() != done.lines.len() {
            return Err(format!("{name} has {} lines", found.lines.len()));
        }
        for (position, (line, wanted)) in found.lines.iter().zip(&done.lines).enumerate() {
            let what = format!("{name}, line {} ({})", position + 1, line.taken.name.text);
            let of = match line.taken.what {
                Bound::Substance(at) => Ref::Thing(at),
                Bound::Formula(at) => Ref::Formula(at),
                Bound::Unknown => return Err(format!("{what} is unknown")),
            };
            if of != done.whole.lines[position].0 {
                return Err(format!("{what} stands in the wrong place"));
            }
            same(
                &format!("{what} in grams"),
                line.amounts.grams,
                wanted.grams.as_ref(),
            )?;
            same(
                &format!("{what} in ml"),
                line.amounts.millilitres,
                wanted.millilitres.as_ref(),
            )?;
            same(
                &format!("{what} in parts"),
                line.amounts.parts,
                wanted.parts.as_ref(),
            )?;
        }
        // Filled up by volume, a mixture weighs more or less as its liquids displace one another;
        // there the spread of its weight may be wider than it need be, and never narrower.
        let filled = done
            .whole
            .lines
            .iter()
            .any(|(_, amount)| matches!(amount, Amount::ToMillilitres(_)));
        let holds = match (found.totals.grams, &done.grams) {
            (Some(found), Some(wanted)) => filled && holds(&found, wanted),
            _ => false,
        };
        if !holds {
            same(
                &format!("{name}, total in grams"),
                found.totals.grams,
                done.grams.as_ref(),
            )?;
        }
        same(
            &format!("{name}, total in ml"),
            found.totals.millilitres,
            done.millilitres.as_ref(),
        )?;
        same(
            &format!("{name}, total in parts"),
            found.totals.parts,
            done.parts.as_ref(),
        )?;
        same(
            &format!("{name}, its volume"),
            found.totals.volume,
            done.volume.as_ref(),
        )?;
        shares_agree(name, found, done)?;
    }
    Ok(())
}

/// Shares are percent of the nominal total: by weight, else by volume, else by parts.
fn shares_agree(name: &str, found: &Composition, done: &Done) -> Result<(), String> {
    let pick: [fn(&Line) -> Option<&I3>; 3] = [
        |line| line.grams.as_ref(),
        |line| line.millilitres.as_ref(),
        |line| line.parts.as_ref(),
    ];
    let counted = |at: usize| !matches!(done.whole.lines[at].1, Amount::Enough);
    let mut wanted: Vec<Option<R>> = vec![None; done.lines.len()];
    for get in pick {
        let all = (0..done.lines.len())
            .filter(|at| counted(*at))
            .map(|at| get(&done.lines[at]));
        let Some(sum) = all
            .map(|figure| figure.map(|figure| figure.nominal.clone()))
            .sum::<Option<R>>()
        else {
            continue;
        };
        if sum.is_zero() {
            continue;
        }
        for (at, line) in done.lines.iter().enumerate() {
            wanted[at] = get(line).map(|figure| &figure.nominal * r(100, 1) / &sum);
        }
        break;
    }
    for (line, wanted) in found.lines.iter().zip(&wanted) {
        let fine = match (line.share, wanted) {
            (None, None) => true,
            (Some(found), Some(wanted)) => near(found, wanted),
            _ => false,
        };
        if !fine {
            return Err(format!(
                "{name}: the share of {} is {:?}",
                line.taken.name.text, line.share
            ));
        }
    }
    Ok(())
}

/// What of each thing is in each formula: the nominal amounts agree, and the true range lies inside the spread.
fn contents_agree(sample: &Sample, snapshot: &Snapshot) -> Result<(), String> {
    for (at, done) in sample.done.iter().enumerate() {
        let (Ok(done), Some(found)) = (done, snapshot.figures.of(at)) else {
            continue;
        };
        let name = &sample.recipes[at].name;
        let Some(held) =
            compute::contents(&snapshot.figures, found).map_err(|_| format!("{name}: overflow"))?
        else {
            if done.contents.is_some() {
                return Err(format!("what is in {name} is not known"));
            }
            continue;
        };
        let Some(wanted) = &done.contents else {
            return Err(format!("what is in {name} is known"));
        };
        for (thing, held) in &held {
            let nothing = I3::exact(R::zero());
            let wanted = wanted.get(thing).unwrap_or(&nothing);
            if !holds(held, wanted) {
                same(
                    &format!("{name}, its {}", sample.things[*thing].name),
                    Some(*held),
                    Some(wanted),
                )?;
            }
        }
        if let Some(thing) = wanted.keys().find(|thing| !held.contains_key(thing)) {
            return Err(format!("{name} holds {}", sample.things[*thing].name));
        }
    }
    Ok(())
}

/// Largest remainders in exact fractions: the earlier line first where two lost the same.
fn rounded(values: &[R], total: &R, step: &R) -> Vec<R> {
    let half = r(1, 2);
    let steps = (total / step + half).floor();
    let mut whole: Vec<R> = values.iter().map(|value| (value / step).floor()).collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    let lost: Vec<R> = values
        .iter()
        .zip(&whole)
        .map(|(value, floor)| value / step - floor)
        .collect();
    order.sort_by(|a, b| lost[*b].cmp(&lost[*a]).then(a.cmp(b)));
    let mut missing = steps - whole.iter().sum::<R>();
    for at in order {
        if !missing.is_positive() {
            break;
        }
        whole[at] += R::one();
        missing -= R::one();
    }
    whole.into_iter().map(|count| count * step).collect()
}

/// Compares the weighing sheet of one formula at one size.
fn targets_agree(sample: &Sample, snapshot: &Snapshot, at: usize, asked: &Num) -> Result<(), String> {
    let (Ok(done), Some(found)) = (&sample.done[at], snapshot.figures.of(at)) else {
        return Ok(());
    };
    let Some(total) = done.grams.as_ref().or(done.parts.as_ref()) else {
        return Ok(());
    };
    let to_the_mark = done.volume.is_some();
    if done.millilitres.is_some() || to_the_mark || total.nominal.is_zero() {
        return Ok(());
    }
    let text = format!("{} g", asked.text);
    let what = format!("{}, made as {text}", sample.recipes[at].name);
    let mut typed = Sources::default();
    let file = typed.add("--make", text.as_str().into());
    let wanted = syntax::parse_make(file, &text).map_err(|finding| finding.message)?;
    let plan = make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted)
        .map_err(|refusal| refusal.message)?;
    let made = batch::make(&snapshot.ledger, found, plan.target).map_err(|refusal| refusal.message)?;
    let factor = &asked.value / &total.nominal;
    let settled = |found: Decimal, wanted: &R| (exactly(found) - wanted).abs() <= r(1, 1_000_000_000_000);
    let figure = |line: &Line| line.grams.clone().or(line.parts.clone());
    let exact: Vec<(usize, I3)> = done
        .lines
        .iter()
        .enumerate()
        .filter_map(|(place, line)| Some((place, figure(line)?.scaled(&factor))))
        .collect();
    let values: Vec<R> = exact.iter().map(|(_, value)| value.nominal.clone()).collect();
    let targets = rounded(&values, &asked.value, &sample.step.value);
    for ((place, wanted), target) in exact.iter().zip(&targets) {
        let line = made
            .lines
            .iter()
            .find(|line| line.place == *place)
            .ok_or("a line is missing")?;
        let grams = line.grams.ok_or("a line has no grams")?;
        if !(settled(grams.nominal, &wanted.nominal)
            && settled(grams.low, &wanted.low)
            && settled(grams.high, &wanted.high))
        {
            same(&format!("{what}, line {}", place + 1), Some(grams), Some(wanted))?;
        }
        let found = line.target.ok_or("a line has no target")?;
        if exactly(found) != *target {
            return Err(format!(
                "{what}, line {}: the target is {found}, not {}",
                place + 1,
                about(target)
            ));
        }
    }
    let sum: R = targets.iter().sum();
    if made.target.map(exactly) != Some(sum.clone()) {
        return Err(format!(
            "{what}: the targets come to {:?}, not {}",
            made.target,
            about(&sum)
        ));
    }
    let bowl = made.lines.iter().filter_map(|line| line.in_the_bowl).next_back();
    if bowl.map(exactly) != Some(sum) {
        return Err(format!("{what}: {bowl:?} lies in the bowl"));
    }
    Ok(())
}

/// Findings that a sound random ledger may have.
const HARMLESS: [&str; 7] = [
    "absurd-size",
    "percent-by-printing",
    "spoon-from-another-spoon",
    "spoons-disagree",
    "listed-twice",
    "same-line-twice",
    "make-up-to-the-mark",
];

fn findings_agree(sample: &Sample, snapshot: &Snapshot) -> Result<(), String> {
    let sound = sample.done.iter().all(Result::is_ok);
    for one in &snapshot.diagnostics {
        let makes = one.code.name() == "makes-disagrees"
            && sample.recipes.iter().any(|recipe| recipe.adapts.is_some());
        if sound && !makes && !HARMLESS.contains(&one.code.name()) && one.severity > Severity::Notice {
            return Err(format!("{}: {}", one.code, one.message));
        }
    }
    if !sound
        && !snapshot
            .diagnostics
            .iter()
            .any(|one| one.severity == Severity::Error)
    {
        return Err("a formula has a fault, and nothing is said".to_owned());
    }
    let printed = sample
        .done
        .iter()
        .filter(|done| done.as_ref().is_ok_and(|done| done.off_by_printing))
        .count();
    let said = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.code.name() == "percent-by-printing")
        .count();
    if printed != said {
        return Err(format!(
            "{printed} formulas are off by printing, {said} are said to be"
        ));
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(250))]

    /// Lines, totals, volumes and shares, with their spreads.
    #[test]
    fn figures_equal_the_fractions(drawn in drawn()) {
        let sample = drawn.sample();
        let text = sample.text();
        let snapshot = snapshot(&text);
        let agreed = figures_agree(&sample, &snapshot).and_then(|()| findings_agree(&sample, &snapshot));
        prop_assert!(agreed.is_ok(), "{}", agreed.unwrap_err());
    }

    /// What of each herb is in a blend, through blends inside it.
    #[test]
    fn contents_hold_the_fractions(drawn in drawn()) {
        let sample = drawn.sample();
        let text = sample.text();
        let agreed = contents_agree(&sample, &snapshot(&text));
        prop_assert!(agreed.is_ok(), "{}", agreed.unwrap_err());
    }

    /// The weighing sheet at another size, rounded to the scales.
    #[test]
    fn targets_equal_the_largest_remainders(drawn in drawn(), halves in 1_i64..4000, at_random in number_of_grams()) {
        let sample = drawn.sample();
        let text = sample.text();
        let snapshot = snapshot(&text);
        // Sizes on half a step are where rounding is decided.
        let half = &sample.step.value * r(halves, 2);
        let asked = [Num { text: plain(&half), value: half }, at_random];
        for at in 0..sample.recipes.len() {
            for asked in &asked {
                let agreed = targets_agree(&sample, &snapshot, at, asked);
                prop_assert!(agreed.is_ok(), "{}", agreed.unwrap_err());
            }
        }
    }
}

fn number_of_grams() -> impl Strategy<Value = Num> {
    (1_i64..5_000_000, 0_u32..4).prop_map(|(digits, decimals)| {
        let value = r(digits, 10_i64.pow(decimals));
        Num {
            text: plain(&value),
            value,
        }
    })
}

/// A finite decimal fraction in digits.
fn plain(value: &R) -> String {
    let text = about(value);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The random ledgers reach what they are meant to reach; else the tests above would prove little.
#[test]
fn random_ledgers_reach_every_sort_of_line() {
    let mut reached: BTreeMap<&str, usize> = BTreeMap::new();
    let mut count = |what| *reached.entry(what).or_default() += 1;
    let mut runner = proptest::test_runner::TestRunner::new(config(1));
    for _ in 0..600 {
        let sample = drawn().new_tree(&mut runner).unwrap().current().sample();
        for (recipe, done) in sample.recipes.iter().zip(&sample.done) {
            let Ok(done) = done else {
                count("a fault");
                continue;
            };
            if done.off_by_printing {
                count("off by printing");
            }
            if recipe.adapts.is_some() {
                count("an adaptation");
            }
            if done.grams.as_ref().is_some_and(|total| !total.is_exact()) {
                count("a total with a spread");
            }
            let percents = done
                .whole
                .lines
                .iter()
                .any(|(_, amount)| matches!(amount, Amount::Percent(..)));
            for (of, amount) in &done.whole.lines {
                let nested = matches!(of, Ref::Formula(_));
                count(match amount {
                    Amount::Mass(_) if percents => "a weight beside percentages",
                    Amount::Mass(_) if nested => "a blend by weight",
                    Amount::Mass(_) => "a weight",
                    Amount::Volume(_) if nested => "a blend by volume",
                    Amount::Volume(_) if sample.is_liquid(*of) => "a liquid",
                    Amount::Volume(_) => "a herb by volume",
                    Amount::Drops(_) => "drops",
                    Amount::Spoons(_) if nested => "a blend by the spoon",
                    Amount::Spoons(_) if sample.is_liquid(*of) => "a liquid by the spoon",
                    Amount::Spoons(_) => "a herb by the spoon",
                    Amount::Pieces(_) if nested => "a blend by the piece",
                    Amount::Pieces(_) => "a herb by the piece",
                    Amount::Parts(_) if nested => "a blend by parts",
                    Amount::Parts(_) if done.parts.is_some() => "parts without a size",
                    Amount::Parts(_) => "parts with a size",
                    Amount::Percent(..) if nested => "a blend by percent",
                    Amount::Percent(..) => "percent",
                    Amount::About(_) => "an estimate",
                    Amount::Enough => "q.s.",
                    Amount::ToGrams(_) => "q.s. to a weight",
                    Amount::ToMillilitres(_) => "q.s. to a volume",
                    Amount::ToParts(_) => "q.s. to parts",
                    Amount::ToPercent(_) => "q.s. to percent",
                });
            }
        }
    }
    assert!(
        reached.len() >= 27 && reached.values().all(|times| *times > 0),
        "{reached:#?}"
    );
}

/// The target of a third of 500.05 g is rounded with the others to 500.1 g, not to 500 g: thirds
/// that are cut off at the last digit must not pull the total below the half.
#[test]
fn thirds_add_up_to_the_rounded_total() {
    let snapshot = snapshot(
        "practice\n  scales 0.1 g\nherb mint\nherb sage\nherb thyme\n\
         formula thirds\n  take mint, sage, thyme in equal parts\n",
    );
    let found = snapshot.figures.of(0).unwrap();
    let made = batch::make(
        &snapshot.ledger,
        found,
        batch::Target::Grams(Decimal::new(50005, 2)),
    )
    .unwrap();
    assert_eq!(made.target, Some(Decimal::new(5001, 1)));
    let sum: Decimal = made.lines.iter().filter_map(|line| line.target).sum();
    assert_eq!(sum, Decimal::new(5001, 1));
}

/// An estimate is counted at the estimate, in parts as in grams.
#[test]
fn an_estimate_in_parts_is_counted() {
    let snapshot = snapshot(
        "herb mint\nherb sage\nformula tea\n  take\n    mint  3 parts\n    sage  about 1 part\n  makes 100 g\n",
    );
    let found = snapshot.figures.of(0).expect("`about 1 part` is reckoned with");
    assert_eq!(
        found.lines[1].amounts.grams,
        Some(Spread::exact(Decimal::new(25, 0)))
    );
}

/// `at 1/10` takes a tenth of each amount, so a cup of the tenth is as strong as a cup of the whole.
#[test]
fn a_tenth_of_a_tea_makes_cups_as_strong() {
    let snapshot = snapshot(
        "herb burdock root\n  part root\n\
         formula root tea\n  take\n    burdock root  120 g\n  \
         decoct  the roots in 7 litres of water for 20 minutes, down to 5 litres\n\
         formula small tea\n  adapts root tea at 1/10\n",
    );
    let grams = |at: usize| {
        let mut typed = Sources::default();
        let file = typed.add("--make", "2 cups".into());
        let wanted = syntax::parse_make(file, "2 cups").unwrap();
        let plan = make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted).unwrap();
        batch::make(&snapshot.ledger, snapshot.figures.of(at).unwrap(), plan.target)
            .unwrap()
            .grams
            .unwrap()
            .nominal
    };
    // 120 g in 5000 ml, so 12 g in 500 ml.
    assert_eq!((grams(0), grams(1)), (Decimal::new(12, 0), Decimal::new(12, 0)));
}

/// Where one line is taken by judgement and another fills up, the second is known at the most only.
#[test]
fn judgement_leaves_open_what_fills_up() {
    let snapshot = snapshot(
        "herb mint\nherb sage\nherb thyme\nformula tea\n  take\n    mint  30 g\n    sage  q.s.\n    thyme  q.s. to 100 g\n",
    );
    let found = snapshot.figures.of(0).unwrap();
    let missing = found.lines[2].amounts.grams.unwrap();
    assert_eq!((missing.low, missing.high), (Decimal::ZERO, Decimal::new(70, 0)));
    assert_eq!(found.totals.grams, Some(Spread::exact(Decimal::new(100, 0))));
}
