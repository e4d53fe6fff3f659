//! The pages on cautions and on privacy, and the list of topics in the first of them.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use scruple::model::FactKind;
use scruple::model::topic::built_in;
use scruple::naming::folded;
use scruple::source::Sources;
use scruple::syntax;
use scruple::syntax::tree::{Body, Entry, Kind, Name};

use super::runner::mismatches;
use super::{assert_nothing, keep_between, read, root};

const TOPICS: [&str; 2] = [
    "<!-- topics: written by tests/it/spec from src/reference/topics.scruple -->\n",
    "<!-- end of topics -->\n",
];

/// A topic as it is written, with the heading that it stands under.
struct Written {
    heading: Option<String>,
    entry: Entry,
}

impl Written {
    fn name(&self) -> &str {
        self.entry.name.as_ref().map_or("", |name| &name.text)
    }

    /// The names after a line word, over all its lines.
    fn names(&self, word: &str) -> Vec<&str> {
        self.lines(word)
            .filter_map(|body| match body {
                Body::Names(names) => Some(names),
                _ => None,
            })
            .flatten()
            .map(|name| name.text.as_str())
            .collect()
    }

    /// The free words after a line word.
    fn words(&self, word: &str) -> Option<&str> {
        self.lines(word).find_map(|body| match body {
            Body::Words(Name { text, .. }) => Some(text.as_str()),
            _ => None,
        })
    }

    fn lines(&self, word: &str) -> impl Iterator<Item = &Body> {
        self.entry
            .lines
            .iter()
            .filter(move |line| line.word.text == word)
            .map(|line| &line.body)
    }
}

/// The topics in the order of the file. A comment that stands alone between blank lines is the
/// heading of those below it.
fn written() -> Vec<Written> {
    let text = read(&root().join("src/reference/topics.scruple"));
    let mut sources = Sources::default();
    let file = sources.add("topics.scruple", text.as_str().into());
    let (tree, findings) = syntax::parse(file, &text);
    assert_eq!(findings, [], "the topics are written without a slip");
    let lines: Vec<&str> = text.lines().collect();
    let blank = |at: Option<usize>| at.and_then(|at| lines.get(at)).is_none_or(|line| line.is_empty());
    let headings: Vec<(usize, &str)> = lines
        .iter()
        .enumerate()
        .filter(|(at, _)| blank(at.checked_sub(1)) && blank(at.checked_add(1)))
        .filter_map(|(at, line)| Some((at, line.strip_prefix("# ")?)))
        .collect();
    tree.entries
        .into_iter()
        .filter(|entry| entry.kind == Kind::Topic)
        .map(|entry| {
            let line = sources.place(entry.head).line;
            let heading = headings.iter().rev().find(|(at, _)| *at < line);
            Written {
                heading: heading.map(|(_, words)| (*words).to_owned()),
                entry,
            }
        })
        .collect()
}

fn coded(words: &[&str]) -> String {
    words
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(", ")
}

fn list_of_topics() -> String {
    let mut out = String::new();
    let mut under = None;
    for topic in written() {
        if topic.heading != under {
            let _ = write!(out, "### {}\n\n", topic.heading.as_deref().unwrap_or("Others"));
            under.clone_from(&topic.heading);
        }
        let _ = write!(out, "#### {}\n\n", topic.name());
        if let Some(note) = topic.words("note") {
            let mut letters = note.chars();
            let first: String = letters.next().into_iter().flat_map(char::to_uppercase).collect();
            let _ = write!(out, "{first}{}.\n\n", letters.as_str());
        }
        let also = topic.names("also");
        if !also.is_empty() {
            let _ = writeln!(out, "- also: {}", coded(&also));
        }
        let _ = writeln!(out, "- concerns: {}", coded(&topic.names("when")));
        if let Some(effect) = topic.words("effect") {
            let _ = writeln!(out, "- its herbs: {effect}");
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

#[test]
fn the_page_on_cautions_has_every_topic() {
    keep_between(&root().join("grammar/cautions.md"), TOPICS, &list_of_topics());
}

#[test]
fn what_is_written_of_a_topic_is_what_the_program_knows() {
    let written = written();
    assert!(written.len() > 30, "only {} topics are written", written.len());
    assert_eq!(written.len(), built_in().len());
    for (topic, known) in written.iter().zip(built_in()) {
        assert_eq!(topic.name(), known.name);
        let names: Vec<String> = [topic.name()]
            .into_iter()
            .chain(topic.names("also"))
            .map(folded)
            .collect();
        assert_eq!(known.names, names, "{}", known.name);
        assert_eq!(known.effect.as_deref(), topic.words("effect"), "{}", known.name);
        let facts: Vec<(FactKind, String)> = topic
            .names("when")
            .into_iter()
            .filter(|fact| *fact != "everyone")
            .map(|fact| {
                let (word, words) = fact.split_once(' ').unwrap_or((fact, ""));
                let kind = FactKind::named(word);
                (
                    kind.unwrap_or_else(|| panic!("{}: `{fact}` is no fact", known.name)),
                    folded(words),
                )
            })
            .collect();
        assert_eq!(known.when, facts, "{}", known.name);
        assert_eq!(
            known.everyone,
            topic.names("when").contains(&"everyone"),
            "{}",
            known.name
        );
        assert!(
            known.everyone || !known.when.is_empty(),
            "{} concerns nobody",
            known.name
        );
    }
}

#[test]
fn no_name_means_two_topics() {
    let mut owners: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for topic in built_in() {
        for name in &topic.names {
            owners.entry(name).or_default().push(&topic.name);
        }
    }
    owners.retain(|_, topics| topics.len() > 1);
    assert!(owners.is_empty(), "names of several topics: {owners:?}");
}

#[test]
fn the_pages_on_cautions_and_privacy_are_true() {
    for name in ["cautions.md", "privacy.md"] {
        let text = read(&root().join("grammar").join(name));
        let faults: Vec<String> = mismatches(&text)
            .into_iter()
            .map(|fault| format!("grammar/{name}, {fault}"))
            .collect();
        assert_nothing("the page and the program part:", &faults);
        assert!(text.contains("```scruple\n"), "grammar/{name} shows a ledger");
    }
}
