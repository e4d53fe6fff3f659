//! Finds in the free words of a dose what it is taken in.

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

/// The thing alone, without how much of it: `red wine`.
pub(super) fn bare(thing: &str) -> String {
    let last = thing.rsplit(" of ").next().unwrap_or(thing);
    let words: Vec<&str> = last
        .split(' ')
        .skip_while(|word| OPENERS.contains(word))
        .collect();
    words.join(" ")
}
