//! Finds in the free words of a dose what it is taken in.

use super::alcohol;
use crate::naming::folded;
use crate::syntax::tree::Dose;

/// Words after which a thing stands that the dose is taken in.
const BEFORE: [&str; 3] = ["in", "into", "with"];

/// Words with which something else begins: when, and for what.
const AFTER: [&str; 14] = [
    "before", "after", "at", "on", "for", "when", "while", "until", "during", "to", "as", "if", "then",
    "between",
];

/// Words between things that are taken together.
const BETWEEN: [&str; 4] = ["and", "or", "with", "plus"];

/// Words that say how much of it, and how warm.
const OPENERS: [&str; 14] = [
    "a", "an", "the", "some", "little", "any", "more", "much", "plenty", "warm", "hot", "cold", "cool",
    "good",
];

/// The things that a dose is taken in, folded, as far as its words tell: `a glass of red wine`.
pub(super) fn vehicles(dose: &Dose) -> Vec<String> {
    let mut found = Vec::new();
    for clause in &dose.clauses {
        let text = folded(&clause.text);
        let mut words = text.split(' ').skip_while(|word| !BEFORE.contains(word));
        words.next();
        let mut thing: Vec<&str> = Vec::new();
        for word in words.take_while(|word| !AFTER.contains(word)) {
            if BETWEEN.contains(&word) || BEFORE.contains(&word) {
                found.push(thing.join(" "));
                thing.clear();
            } else {
                thing.push(word.trim_matches(|c: char| !c.is_alphanumeric() && c != '%'));
            }
        }
        found.push(thing.join(" "));
    }
    found.retain(|thing| !thing.is_empty());
    found
}

/// Words behind a drink that make another thing of it.
const NO_DRINK: [&str; 14] = [
    "vinegar", "glass", "glasses", "glassful", "cup", "cupful", "bottle", "jelly", "sauce", "cake", "gum",
    "lozenge", "lozenges", "yeast",
];

/// A thing with more and more of its last words left off, which may say what is done with it: `red wine
/// diluted`, `port well warmed`.
pub(super) fn readings(thing: &str) -> Vec<String> {
    let words: Vec<&str> = thing.split(' ').collect();
    let mut found = vec![thing.to_owned()];
    if alcohol::is_without(thing) {
        return found;
    }
    for to in (1..words.len()).rev() {
        if words.get(to).is_some_and(|dropped| NO_DRINK.contains(dropped)) {
            break;
        }
        if words
            .get(to.saturating_sub(1))
            .is_some_and(|last| *last == "of" || OPENERS.contains(last))
        {
            break;
        }
        found.push(words.get(..to).unwrap_or_default().join(" "));
    }
    found
}

/// The reading of a thing that is a drink with alcohol.
pub(super) fn liquor(readings: &[String]) -> Option<&String> {
    let is_one = |thing: &str| alcohol::is_a_liquor(thing) || alcohol::is_a_liquor(&bare(thing));
    readings.iter().find(|one| is_one(one))
}

/// The thing alone, without how much of it: `red wine`.
pub(super) fn bare(thing: &str) -> String {
    let last = thing.rsplit(" of ").next().unwrap_or(thing);
    let words: Vec<&str> = last
        .split(' ')
        .skip_while(|word| OPENERS.contains(word))
        .collect();
    words.join(" ")
}
