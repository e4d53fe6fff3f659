//! Turns the page of the language into what a word of it means, so that an editor and the page say the same.

use crate::syntax::tree::Kind;

const LANGUAGE: &str = include_str!("../../grammar/README.md");

/// What the language says about one line word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meaning {
    /// What stands after it.
    pub after: String,
    /// What it says; empty where the word says it itself.
    pub says: String,
    /// Whether it may stand more than once in an entry.
    pub repeats: bool,
}

/// The part of the page about one kind of entry.
fn section(kind: Kind) -> Option<&'static str> {
    let word = format!("`{}`", kind.word());
    LANGUAGE.split("\n### ").skip(1).find(|section| {
        section
            .lines()
            .next()
            .is_some_and(|heading| heading.contains(&word))
    })
}

/// What a kind of entry is.
pub fn kind(kind: Kind) -> String {
    let lines = section(kind).into_iter().flat_map(str::lines).skip(2);
    let paragraph: Vec<&str> = lines.take_while(|line| !line.is_empty()).collect();
    without_links(&paragraph.join(" "))
}

/// What a line word of a kind of entry means.
pub fn line_word(kind: Kind, word: &str) -> Option<Meaning> {
    let wanted = format!("`{word}`");
    section(kind)?.lines().find_map(|line| {
        let mut cells = line.strip_prefix("| ")?.strip_suffix('|')?.split(" | ");
        let words = cells.next()?;
        if !words.split(", ").any(|own| own.trim() == wanted) {
            return None;
        }
        let mut cell = || without_links(cells.next().unwrap_or_default().trim());
        let (again, after, says) = (cell(), cell(), cell());
        Some(Meaning {
            after,
            says,
            repeats: again == "again",
        })
    })
}

/// A text in Markdown with only the words of its links: a page that is shown in an editor has no neighbours.
pub fn without_links(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('[') {
        out.push_str(before);
        match after.split_once("](").and_then(|(words, target)| {
            let (_, behind) = target.split_once(')')?;
            Some((words, behind))
        }) {
            Some((words, behind)) if !words.contains('[') => {
                out.push_str(words);
                rest = behind;
            }
            _ => {
                out.push('[');
                rest = after;
            }
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::{kind, line_word};
    use crate::syntax::tree::Kind;

    #[test]
    fn every_line_word_means_something() {
        for of in Kind::ALL {
            assert!(!kind(of).is_empty(), "{of:?}");
            for word in of.line_words() {
                let meaning = line_word(of, word.word);
                let meaning = meaning.unwrap_or_else(|| panic!("{of:?} {}", word.word));
                assert_eq!(meaning.repeats, word.repeats, "{of:?} {}", word.word);
                assert!(!meaning.after.contains("]("), "{}", meaning.after);
            }
        }
    }
}
