//! One way of writing: twice equals once, nothing is lost, and everything means what it meant.

#![allow(
    clippy::format_collect,
    reason = "ledgers are put together as text, and speed is no matter here"
)]

mod command;
mod style;

use std::path::{Path, PathBuf};

use proptest::prelude::*;
use scruple::diagnostic::Severity;
use scruple::source::Sources;
use scruple::syntax;
use scruple::tidy::{self, Tidied, Untidied};
use scruple::workspace::Snapshot;

use crate::hostile::ledger_like;
use crate::oracle::{config, drawn};
use crate::properties::{annotated, disturbed, figures, seed, text_of_scraps};
use crate::sandbox::project;

/// Tidies a text, which must hold no errors of form.
#[track_caller]
fn tidied(text: &str) -> String {
    match attempt(text) {
        Ok(tidied) => tidied.text,
        Err(why) => panic!("{why:?}\n{text}"),
    }
}

fn attempt(text: &str) -> Result<Tidied, Untidied> {
    let mut sources = Sources::default();
    let file = sources.add("a.scruple", text.into());
    tidy::text(file, text)
}

/// Whether a text holds an error of form, asked of the reader and not of what is tested here.
fn holds_a_slip(text: &str) -> bool {
    let mut sources = Sources::default();
    let file = sources.add("a.scruple", text.into());
    let (_, found) = syntax::parse(file, text);
    found.iter().any(|one| one.severity == Severity::Error)
}

/// The codes of what is found in a ledger, but for those about what cannot be seen: tidying takes
/// tabs and stray marks away, and what goes on is then seen to go on.
fn codes(snapshot: &Snapshot) -> Vec<&'static str> {
    let unseen = ["mixed-indentation", "hidden-character"];
    let mut codes: Vec<&str> = snapshot
        .diagnostics
        .iter()
        .map(|one| one.code.name())
        .filter(|code| !unseen.contains(code))
        .collect();
    codes.sort_unstable();
    codes
}

/// Comments, found by hand: what stands behind the first ` #` of a line. Only for texts without quotes.
fn comments(text: &str) -> Vec<String> {
    text.replace('\r', "\n")
        .lines()
        .filter_map(|line| {
            let line = format!(" {}", line.trim_start_matches('\u{feff}'));
            let at = [" #", "\t#", "\u{a0}#"]
                .iter()
                .filter_map(|sign| Some(line.find(sign)? + sign.len() - 1))
                .min()?;
            Some(line[at..].trim_end_matches([' ', '\t', '\u{a0}']).to_owned())
        })
        .collect()
}

/// What holds for every text: either it has an error of form and is left alone, or it is tidied,
/// and then twice equals once, and it says what it said. Gives the tidied text.
fn holds(text: &str) -> Result<Option<String>, TestCaseError> {
    let tidied = match attempt(text) {
        Err(Untidied::Slips(_)) => {
            prop_assert!(holds_a_slip(text), "sound, and refused:\n{text}");
            return Ok(None);
        }
        Err(Untidied::WouldSayElse) => {
            return Err(TestCaseError::fail(format!(
                "it would say something else:\n{text}"
            )));
        }
        Ok(tidied) => tidied,
    };
    prop_assert!(!holds_a_slip(text), "tidied, though it holds a slip:\n{text}");
    let once = &tidied.text;
    match attempt(once) {
        Ok(twice) => prop_assert_eq!(&twice.text, once, "twice is not once; written was\n{}", text),
        Err(why) => return Err(TestCaseError::fail(format!("{why:?}\n{once}"))),
    }
    let end = if once.contains("\r\n") { "\r\n" } else { "\n" };
    let joined: String = tidied
        .lines
        .iter()
        .flat_map(|line| [line.text.as_str(), end])
        .collect();
    prop_assert_eq!(&joined, once);
    for (line, next) in tidied.lines.iter().zip(tidied.lines.iter().skip(1)) {
        prop_assert!(
            !line.text.is_empty() || !next.text.is_empty(),
            "two blank lines:\n{}",
            once
        );
    }
    if let (Some(first), Some(last)) = (tidied.lines.first(), tidied.lines.last()) {
        prop_assert!(
            !first.text.is_empty() && !last.text.is_empty(),
            "a blank edge:\n{}",
            once
        );
    }
    for line in &tidied.lines {
        prop_assert!(
            !line.text.ends_with([' ', '\t']),
            "blanks at an end: {:?}",
            line.text
        );
        prop_assert!(
            line.text.contains('#') || !line.text.contains(['\t', '\u{a0}']),
            "an odd blank: {:?}",
            line.text
        );
    }
    // No sign of a comment comes or goes, whatever the reader of comments says.
    prop_assert_eq!(text.matches('#').count(), once.matches('#').count());
    if !text.contains('"') {
        prop_assert_eq!(comments(text), comments(once));
    }
    let (before, after) = (alone(text), alone(once));
    prop_assert_eq!(figures(&before), figures(&after), "{}", once);
    prop_assert_eq!(codes(&before), codes(&after), "{}", once);
    Ok(Some(tidied.text))
}

fn alone(text: &str) -> Snapshot {
    Snapshot::of([("a.scruple".to_owned(), text.into())])
}

#[track_caller]
fn held(name: &str, text: &str) -> Option<String> {
    match holds(text) {
        Ok(tidied) => tidied,
        Err(fault) => panic!("{name}: {fault}"),
    }
}

/// Every ledger file below a folder of the project that is text.
fn files(folder: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut folders: Vec<PathBuf> = vec![project().join(folder)];
    while let Some(open) = folders.pop() {
        for entry in std::fs::read_dir(&open).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "scruple")
                && let Ok(text) = std::fs::read_to_string(&path)
            {
                found.push((path.display().to_string(), text));
            }
        }
    }
    found.sort();
    assert!(!found.is_empty(), "{folder} holds no ledger");
    found
}

/// The blocks of a page that are ledgers.
fn blocks(page: &Path) -> Vec<(String, String)> {
    let text = std::fs::read_to_string(page).unwrap();
    text.split("```scruple")
        .skip(1)
        .filter_map(|rest| rest.split_once('\n')?.1.split("\n```").next())
        .map(|block| {
            (
                page.display().to_string(),
                // The pages write this character so that it can be seen.
                block.replace("<U+200B>", "\u{200b}"),
            )
        })
        .collect()
}

fn pages() -> Vec<PathBuf> {
    let mut pages = vec![
        project().join("README.md"),
        project().join("grammar/README.md"),
        project().join("grammar/cautions.md"),
        project().join("grammar/privacy.md"),
    ];
    for entry in std::fs::read_dir(project().join("grammar/findings")).unwrap() {
        pages.push(entry.unwrap().path());
    }
    pages
}

#[test]
fn every_example_keeps_its_meaning() {
    let mut sound = 0;
    for folder in ["examples", "src/reference", "tests/outside"] {
        for (name, text) in files(folder) {
            sound += usize::from(held(&name, &text).is_some());
        }
    }
    assert!(sound > 70, "only {sound} files are sound");
}

#[test]
fn every_block_of_the_pages_keeps_its_meaning() {
    let (mut sound, mut all) = (0, 0);
    for page in pages() {
        for (name, text) in blocks(&page) {
            all += 1;
            sound += usize::from(held(&name, &text).is_some());
        }
    }
    assert!(sound > 100 && all > sound, "{sound} of {all} blocks are sound");
}

/// A whole ledger reads the same afterwards: figures, and every finding but for its place.
#[test]
fn every_example_ledger_gives_the_same_figures() {
    for folder in [
        "examples/low-barn",
        "examples/broken",
        "src/reference/begin",
        "tests/outside/printed",
    ] {
        let written = files(folder);
        let tidied = written.iter().map(|(name, text)| {
            (
                name.clone(),
                attempt(text).map_or_else(|_| text.clone(), |one| one.text),
            )
        });
        let read = |files: Vec<(String, String)>| {
            Snapshot::of(files.into_iter().map(|(name, text)| (name, text.into())))
        };
        let (before, after) = (read(written.clone()), read(tidied.collect()));
        assert_eq!(figures(&before), figures(&after), "{folder}");
        assert_eq!(codes(&before), codes(&after), "{folder}");
    }
}

#[test]
fn what_we_publish_is_tidy() {
    for folder in [
        "examples/low-barn",
        "examples/first-blend",
        "src/reference/begin",
        "src/reference/materia",
    ] {
        for (name, text) in files(folder) {
            assert_eq!(tidied(&text), text, "{name}");
        }
    }
}

proptest! {
    #![proptest_config(config(120))]

    /// Random ledgers with comments and blank lines anywhere.
    #[test]
    fn random_ledgers_are_tidied(drawn in drawn(), seed in seed(300)) {
        let noted = annotated(&mut seed.tape(), &drawn.sample().text());
        prop_assert!(holds(&noted)?.is_some(), "a sound ledger is refused:\n{}", noted);
    }

    /// The same with blanks and line ends of every sort between the words.
    #[test]
    fn random_spacing_is_tidied(drawn in drawn(), seed in seed(2000)) {
        let mut tape = seed.tape();
        let plain = drawn.sample().text();
        let end: &str = tape.pick::<&str>(&["\n", "\r\n", "\r", "\n\n", " \t\n"]);
        let mut spaced = String::new();
        for line in plain.lines() {
            let words = line.trim_start();
            let indent = line.len() - words.len();
            spaced.push_str(&" ".repeat(indent));
            if tape.chance(1, 6) && indent == 2 {
                spaced.truncate(spaced.len() - 2);
                spaced.push('\t');
            } else if tape.chance(1, 6) && indent == 4 {
                spaced.push_str(&" ".repeat(tape.between(0, 9)));
            }
            for letter in words.chars() {
                match letter {
                    ' ' if !words.starts_with('#') => {
                        let gap: &&str = tape.pick(&[" ", " ", "  ", "\t", "\u{a0}", "     "]);
                        spaced.push_str(gap);
                    }
                    _ => spaced.push(letter),
                }
            }
            spaced.push_str(end);
        }
        holds(&spaced)?;
    }

    /// Two writers of one ledger write the same text.
    #[test]
    fn spacing_leaves_no_trace(drawn in drawn(), seed in seed(2000)) {
        let plain = drawn.sample().text();
        let mut tape = seed.tape();
        let spaced: String = plain
            .lines()
            .map(|line| {
                let words = line.trim_start();
                let gaps: String = words
                    .split(' ')
                    .enumerate()
                    .map(|(at, word)| if at == 0 { word.to_owned() } else { format!("{}{word}", " ".repeat(tape.between(1, 5))) })
                    .collect();
                format!("{}{gaps}{}\n", " ".repeat(line.len() - words.len()), " ".repeat(tape.between(0, 2)))
            })
            .collect();
        prop_assert_eq!(tidied(&spaced), tidied(&plain));
    }
}

proptest! {
    #![proptest_config(config(400))]

    #[test]
    fn any_text_is_tidied_or_left_alone(text in any::<String>()) {
        holds(&text)?;
    }

    #[test]
    fn scraps_are_tidied_or_left_alone(text in text_of_scraps()) {
        holds(&text)?;
    }

    #[test]
    fn slips_are_left_alone(text in disturbed()) {
        holds(&text)?;
    }

    #[test]
    fn what_looks_like_a_ledger_is_tidied_or_left_alone(text in ledger_like()) {
        holds(&text)?;
    }
}
