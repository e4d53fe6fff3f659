//! Turns the entry of a set into what a teacher publishes: formulas and lessons.

use super::read::Reader;
use super::{Bound, Looked};
use crate::source::Span;
use crate::syntax::tree::{Body, Entry, Name};

/// What a teacher publishes.
#[derive(Debug, Clone)]
pub struct Set {
    /// Its name.
    pub name: Name,
    /// What is printed above it, if that is not its name.
    pub title: Option<String>,
    /// For whom it is.
    pub purpose: Option<String>,
    /// What it holds, as written, with the formula where one answers to the name.
    pub holds: Vec<(Name, Option<usize>)>,
    /// The lessons in their order.
    pub lessons: Vec<Lesson>,
    /// The whole entry.
    pub entry: Span,
}

/// One lesson of a set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lesson {
    /// What it is about: all of the line, or what stands before the first colon.
    pub heading: String,
    /// What is taught, if the line goes on behind a colon.
    pub text: Option<String>,
}

impl Lesson {
    /// A lesson as its line says it.
    fn read(words: &str) -> Self {
        match words.split_once(": ") {
            Some((heading, text)) if !text.trim().is_empty() => Self {
                heading: heading.trim().to_owned(),
                text: Some(text.trim().to_owned()),
            },
            _ => Self {
                heading: words.trim().trim_end_matches(':').to_owned(),
                text: None,
            },
        }
    }
}

impl Reader<'_> {
    /// A set holds formulas; its names must be declared.
    pub(super) fn read_set(&mut self, entry: &Entry) -> Option<Set> {
        let name = entry.name.as_ref()?;
        let mut set = Set {
            name: name.clone(),
            title: None,
            purpose: None,
            holds: Vec::new(),
            lessons: Vec::new(),
            entry: entry.span,
        };
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match (&line.body, line.word.text.as_str()) {
                (Body::Words(words), "title") => set.title = Some(words.text.clone()),
                (Body::Words(words), "for") => set.purpose = Some(words.text.clone()),
                (Body::Words(words), "lesson") => set.lessons.push(Lesson::read(&words.text)),
                (Body::Names(names), "holds") => {
                    let formula = |name: &Name| match self.ledger.names.look(&name.text) {
                        Looked::Found(Bound::Formula(at)) => Some(at),
                        _ => None,
                    };
                    set.holds
                        .extend(names.iter().map(|name| (name.clone(), formula(name))));
                    for name in names {
                        self.bind(name);
                    }
                }
                _ => {}
            }
        }
        Some(set)
    }
}

#[cfg(test)]
mod tests {
    use super::Lesson;

    #[test]
    fn a_lesson_has_a_heading_and_perhaps_a_text() {
        let read = |words: &str| {
            let lesson = Lesson::read(words);
            (lesson.heading, lesson.text)
        };
        assert_eq!(
            read("why the pot is covered"),
            ("why the pot is covered".to_owned(), None)
        );
        assert_eq!(
            read("the lid: what smells is leaving: cover it"),
            (
                "the lid".to_owned(),
                Some("what smells is leaving: cover it".to_owned())
            )
        );
        // A ratio is no heading.
        assert_eq!(read("shares as 1:2").1, None);
    }
}
