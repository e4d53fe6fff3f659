//! Turns the words of a measure into the ones that the tool itself prints.

use crate::quantity::unit::{self, Heap, Reading, Settled, Unit};
use crate::quantity::{Decimal, Household};

/// The plain words for so many of a measure.
///
/// A word is never taken away, so that `avoirdupois ounces` stays as clear as it was written; and
/// whoever wrote `wine pint` copied it from a book, so that stays too. What is no known unit, or
/// one that the practice must settle, stays as it is.
pub fn plain(words: &str, count: Decimal) -> String {
    let several = count > Decimal::ONE;
    let plain = match unit::read(words, Settled::default()) {
        Reading::Known(Unit::Percent) => return "%".to_owned(),
        Reading::Known(Unit::Fixed(fixed)) if several => fixed.many.to_owned(),
        Reading::Known(Unit::Fixed(fixed)) => fixed.many.strip_suffix('s').unwrap_or(fixed.many).to_owned(),
        Reading::Known(Unit::Household(Heap::Level, measure)) if is_said_level(words) => {
            format!("level {}", named(measure, several))
        }
        Reading::Known(known @ (Unit::Household(..) | Unit::Part)) => known.words(several),
        _ => return words.to_owned(),
    };
    let is_as_long = words.split(' ').count() == plain.split(' ').count();
    let is_wine = words
        .split(' ')
        .any(|word| word.trim_end_matches('.').eq_ignore_ascii_case("wine"));
    if is_as_long && !is_wine {
        plain
    } else {
        words.to_owned()
    }
}

fn is_said_level(words: &str) -> bool {
    words
        .split(' ')
        .next()
        .is_some_and(|first| first.trim_end_matches('.').eq_ignore_ascii_case("level"))
}

fn named(measure: Household, several: bool) -> &'static str {
    if several { measure.many() } else { measure.one() }
}

/// What the words of a measure mean, alike for all spellings of one unit.
pub fn meaning(words: &str) -> String {
    match unit::read(words, Settled::default()) {
        Reading::Known(Unit::Fixed(fixed)) => fixed.one.to_owned(),
        Reading::Known(known @ (Unit::Household(..) | Unit::Part | Unit::Percent)) => known.words(false),
        _ => words.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::{meaning, plain};
    use crate::quantity::Decimal;

    #[test]
    fn one_word_for_each_measure() {
        for (words, one, two) in [
            ("gram", "g", "g"),
            ("Grammes", "g", "g"),
            ("lbs", "lb", "lb"),
            ("kilo", "kg", "kg"),
            ("mcg", "microgram", "micrograms"),
            ("l", "litre", "litres"),
            ("min", "minute", "minutes"),
            ("hrs", "hour", "hours"),
            ("drachm", "drachm", "drachms"),
            ("tsp", "teaspoon", "teaspoons"),
            ("teaspoonfuls", "teaspoon", "teaspoons"),
            ("level Tsp", "level teaspoon", "level teaspoons"),
            ("heaping tbsp", "heaped tablespoon", "heaped tablespoons"),
            ("Parts", "part", "parts"),
            ("per cent", "%", "%"),
            ("US fl. oz.", "US fl oz", "US fl oz"),
            ("apothecaries' ounces", "apothecary ounce", "apothecary ounces"),
        ] {
            assert_eq!(plain(words, Decimal::ONE), one, "{words}");
            assert_eq!(plain(words, Decimal::from(2_u32)), two, "{words}");
        }
    }

    #[test]
    fn what_says_more_or_means_several_things_stays() {
        for words in [
            "avoirdupois ounces",
            "apothecary drachm",
            "wine pint",
            "pint",
            "ounces",
            "fl. oz.",
            "Slices",
            "°C",
            "gr",
            "T",
        ] {
            assert_eq!(plain(words, Decimal::ONE), words);
            assert_eq!(plain(words, Decimal::from(2_u32)), words);
        }
    }

    #[test]
    fn a_plain_word_means_the_same() {
        for unit in crate::quantity::unit::UNITS {
            for words in [unit.one, unit.many].iter().chain(unit.also) {
                for count in [Decimal::ONE, Decimal::from(3_u32)] {
                    assert_eq!(meaning(&plain(words, count)), unit.one, "{words}");
                }
            }
        }
    }
}
