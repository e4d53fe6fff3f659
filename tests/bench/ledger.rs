//! Ledgers of any size, always the same for the same numbers.

use std::fmt::Write;

/// A sequence of numbers, the same on every run.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

const HERBS: u64 = 120;

/// A name of letters alone: a word that begins with a digit would begin an amount.
fn herb(number: u64) -> String {
    let letter = |at: u64| char::from(b'a' + u8::try_from(at % 26).unwrap());
    format!("herb {}{} leaf", letter(number / 26), letter(number))
}

/// The practice and the herbs.
pub fn base() -> Vec<(String, String)> {
    let mut herbs = String::from("source book\n  title   a book\n\n");
    for number in 0..HERBS {
        write!(
            herbs,
            "herb {}\n  teaspoon   {}.{} g\n  dose   1 to {} g, 3 times a day   source book\n  mind   reflux: little   source book\n\n",
            herb(number),
             1 + number % 2,
            1 + number % 9,
            2 + number % 3
        )
        .unwrap();
    }
    vec![
        (
            "practice.scruple".to_owned(),
            "practice\n  teaspoon   5 ml\n  cup   250 ml\n  heaped   1.5 to 2.5 level spoons\n  scales   0.1 g\n".to_owned(),
        ),
        ("herbs.scruple".to_owned(), herbs),
    ]
}

/// One file of formulas; `turn` changes an amount of the first.
pub fn formulas(file: u64, count: u64, turn: u64) -> String {
    let mut dice = Dice(file + 1);
    let mut text = String::new();
    for number in 0..count {
        let first = if number == 0 {
            20 + turn % 30
        } else {
            10 + dice.below(40)
        };
        let first_herb = dice.below(HERBS / 4);
        writeln!(
            text,
            "formula tea {file}-{number}\n  for          an evening\n  take\n    {}   {first} g   as base\n    {}   {} g, cut\n    {}   2 teaspoons\n    {}   1 heaped teaspoon\n  infuse   2 teaspoons in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n  sign   1 cup after meals\n",
            herb(first_herb),
            herb(30 + dice.below(30)),
            5 + dice.below(20),
            herb(60 + dice.below(30)),
            herb(90 + dice.below(30)),
        )
        .unwrap();
    }
    text
}
