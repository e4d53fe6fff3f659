//! Merges of texts by entries and lines: nothing lost, nothing made up, for any changes.

use std::fmt::Write;

use proptest::prelude::*;

use scruple::merge::{LOOK, Marks, Merged, Versions, merge};

fn marks() -> Marks {
    Marks {
        size: 7,
        ours: "ours".to_owned(),
        theirs: "theirs".to_owned(),
    }
}

fn merged(base: &str, ours: &str, theirs: &str) -> Merged {
    merge(Versions { base, ours, theirs }, &marks())
}

/// The number of a formula, its herbs with grams, and its notes.
type Tea = (u8, Vec<(u8, u8)>, Vec<u8>);

/// A small ledger of such formulas.
#[derive(Debug, Clone, PartialEq)]
struct Book(Vec<Tea>);

impl Book {
    fn text(&self) -> String {
        let mut out = Vec::new();
        for (name, herbs, notes) in &self.0 {
            let mut one = format!("formula tea k{name}k\n  take\n");
            for (herb, grams) in herbs {
                writeln!(one, "    herb h{herb}h   {grams} g").unwrap();
            }
            for note in notes {
                writeln!(one, "  note   words n{note}n").unwrap();
            }
            out.push(one);
        }
        out.join("\n")
    }

    /// Every line that says something, with the formula that it stands in.
    fn lines(&self) -> Vec<String> {
        lines(&self.text())
    }
}

fn lines(text: &str) -> Vec<String> {
    let mut head = "";
    let mut out = Vec::new();
    for line in text
        .lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'))
    {
        if !line.starts_with(' ') {
            head = line;
        }
        out.push(format!("{head}: {}", line.trim()));
    }
    out.sort();
    out
}

fn distinct<T: PartialEq>(items: Vec<T>, same: impl Fn(&T, &T) -> bool) -> Vec<T> {
    let mut out: Vec<T> = Vec::new();
    for item in items {
        if !out.iter().any(|one| same(one, &item)) {
            out.push(item);
        }
    }
    out
}

fn book() -> impl Strategy<Value = Book> {
    let herbs = prop::collection::vec((0_u8..6, 1_u8..9), 1..5)
        .prop_map(|herbs| distinct(herbs, |one, other| one.0 == other.0));
    let notes =
        prop::collection::vec(0_u8..8, 0..3).prop_map(|notes| distinct(notes, |one, other| one == other));
    prop::collection::vec((0_u8..6, herbs, notes), 1..5)
        .prop_map(|formulas| Book(distinct(formulas, |one, other| one.0 == other.0)))
}

/// A change: a grams figure, a herb or a formula taken out, one put in.
fn changed(book: &Book, changes: &[(u8, u8, u8, u8)]) -> Book {
    let mut book = book.clone();
    for (kind, which, place, value) in changes {
        let count = book.0.len();
        if count == 0 {
            break;
        }
        let at = usize::from(*which) % count;
        match kind % 5 {
            0 => {
                let herbs = &mut book.0[at].1;
                let place = usize::from(*place) % herbs.len();
                herbs[place].1 = value % 9 + 1;
            }
            1 if book.0[at].1.len() > 1 => {
                let place = usize::from(*place) % book.0[at].1.len();
                book.0[at].1.remove(place);
            }
            2 if book.0[at].1.iter().all(|(herb, _)| *herb != 6 + value % 4) => {
                book.0[at].1.push((6 + value % 4, place % 9 + 1));
            }
            3 if count > 1 => {
                book.0.remove(at);
            }
            4 if book.0.iter().all(|(name, ..)| *name != 6 + value % 4) => {
                book.0.insert(at, (6 + value % 4, vec![(place % 6, 3)], vec![]));
            }
            _ => {}
        }
    }
    book
}

fn changes() -> impl Strategy<Value = Vec<(u8, u8, u8, u8)>> {
    prop::collection::vec((any::<u8>(), any::<u8>(), any::<u8>(), any::<u8>()), 1..5)
}

/// The formulas of a text, each with its lines.
fn formulas(text: &str) -> Vec<Vec<String>> {
    let mut out: Vec<Vec<String>> = Vec::new();
    for line in text
        .lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'))
    {
        if line.starts_with("formula") {
            out.push(Vec::new());
        }
        if let Some(last) = out.last_mut() {
            last.push(line.trim().to_owned());
        }
    }
    out
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_side_that_changed_nothing_gives_the_other_to_the_byte(book in book(), changes in changes()) {
        let (base, other) = (book.text(), changed(&book, &changes).text());
        prop_assert_eq!(merged(&base, &base, &other).text, other.clone());
        prop_assert_eq!(merged(&base, &other, &base).text, other.clone());
        prop_assert_eq!(merged(&base, &other, &other).text, other);
    }

    /// What one side put in is there, what one took out is gone unless the other changed it; and a
    /// formula that neither side has is never there without its comment.
    #[test]
    fn nothing_is_lost_and_nothing_made_up(book in book(), mine in changes(), other in changes()) {
        let (ours, theirs) = (changed(&book, &mine), changed(&book, &other));
        let (base, ours_text, theirs_text) = (book.text(), ours.text(), theirs.text());
        let result = merged(&base, &ours_text, &theirs_text);
        prop_assert!(!result.by_lines, "{}", result.text);
        let got = lines(&result.text.lines().filter(|line| {
            !line.starts_with("<<<<<<<") && !line.starts_with("=======") && !line.starts_with(">>>>>>>")
        }).collect::<Vec<_>>().join("\n"));
        let (was, mine, other) = (book.lines(), ours.lines(), theirs.lines());
        for line in mine.iter().chain(&other).filter(|line| !was.contains(line)) {
            prop_assert!(got.contains(line), "`{}` is lost:\n{}", line, result.text);
        }
        for line in &got {
            prop_assert!(mine.contains(line) || other.contains(line), "`{}` is made up:\n{}", line, result.text);
        }
        if result.conflicts == 0 {
            for line in &got {
                let taken_out = was.contains(line) && !(mine.contains(line) && other.contains(line));
                prop_assert!(!taken_out, "`{}` was taken out:\n{}", line, result.text);
            }
            let known: Vec<Vec<String>> = [formulas(&ours_text), formulas(&theirs_text)].concat();
            let new = formulas(&result.text).into_iter().filter(|one| !known.contains(one)).count();
            prop_assert_eq!(new, result.formulas.len(), "{}", &result.text);
            prop_assert_eq!(new, result.text.matches(LOOK).count(), "{}", &result.text);
            // The other way round the same lines stand in it.
            let turned = merged(&base, &theirs_text, &ours_text);
            prop_assert_eq!(lines(&turned.text), got);
            prop_assert_eq!(turned.formulas.len(), result.formulas.len());
        } else {
            prop_assert!(result.needs_a_person());
            let turned = merged(&base, &theirs_text, &ours_text);
            prop_assert_eq!(turned.conflicts, result.conflicts);
        }
    }

    #[test]
    fn any_text_at_all_is_merged_or_left_to_a_person(base in ".{0,80}", ours in ".{0,80}", theirs in ".{0,80}") {
        let result = merged(&base, &ours, &theirs);
        prop_assert!(base == ours || base == theirs || ours == theirs || result.needs_a_person() || !result.text.contains("formula"));
    }
}

const BASE: &str = "# the barn's teas\n\nformula throat tea\n  take\n    sage leaf   30 g\n    thyme herb   20 g\n  infuse   2 g in 1 cup of boiling water\n\nherb sage leaf\n  note   one\n  note   two\n";

#[test]
fn comments_and_spacing_of_both_sides_stay() {
    let ours = BASE.replace(
        "    sage leaf   30 g\n",
        "    # cut, not ground\n    sage leaf   30 g\n",
    );
    let theirs = BASE.replace("thyme herb   20 g", "thyme herb   25 g   # as last year");
    let result = merged(BASE, &ours, &theirs);
    assert_eq!(
        (result.conflicts, result.formulas.len()),
        (0, 0),
        "a comment makes no other formula"
    );
    assert!(
        result
            .text
            .contains("# cut, not ground\n    sage leaf   30 g\n    thyme herb   25 g   # as last year\n"),
        "{}",
        result.text
    );
}

#[test]
fn setting_in_another_way_is_no_change() {
    let ours = BASE.replace("sage leaf   30 g", "sage leaf          30 g");
    let theirs = BASE.replace("sage leaf   30 g", "sage leaf   35 g");
    let result = merged(BASE, &ours, &theirs);
    assert_eq!(result.text, theirs);
    assert!(!result.needs_a_person());
}

#[test]
fn lines_that_may_stand_again_are_told_apart_by_what_they_say() {
    let ours = BASE.replace("  note   one\n", "");
    let theirs = BASE.replace("  note   two\n", "");
    let result = merged(BASE, &ours, &theirs);
    assert!(!result.text.contains("note"), "{}", result.text);
    assert_eq!(result.entries, ["herb sage leaf"]);
    assert!(!result.needs_a_person());
}

/// A step added by one and a herb added by the other: the herb does not slip below the step.
#[test]
fn a_new_line_does_not_cut_a_list_in_two() {
    let ours = BASE.replace(
        "    thyme herb   20 g\n",
        "    thyme herb   20 g\n    mallow flower   5 g\n",
    );
    let theirs = BASE.replace(
        "    thyme herb   20 g\n",
        "    thyme herb   20 g\n  mix   turn over\n",
    );
    let result = merged(BASE, &ours, &theirs);
    assert!(
        result
            .text
            .contains("    thyme herb   20 g\n    mallow flower   5 g\n  mix   turn over\n  infuse"),
        "{}",
        result.text
    );
    assert_eq!(result.formulas, ["formula throat tea"]);
    assert!(result.needs_a_person());
}

/// Indented by two here and by six there, the step would be read as words of the line above it.
#[test]
fn indentation_that_would_change_what_is_read_is_not_trusted() {
    let ours = BASE
        .replace("\n    sage leaf   30 g", "\n        sage leaf   31 g")
        .replace("\n    thyme", "\n        thyme")
        .replace("\n  take", "\n      take")
        .replace("\n  infuse   2 g", "\n      infuse   3 g");
    let theirs = BASE.replace("\n  infuse", "\n  sign   at night\n  infuse");
    let result = merged(BASE, &ours, &theirs);
    assert!(result.by_lines && result.needs_a_person(), "{}", result.text);
    assert!(
        result.text.contains("at night") && result.text.contains("31 g"),
        "{}",
        result.text
    );
}

#[test]
fn line_ends_and_the_mark_before_the_text_are_ours() {
    let ours = format!("\u{feff}{}", BASE.replace("30 g", "31 g").replace('\n', "\r\n"));
    let theirs = BASE.replace("  note   two", "  note   three");
    let result = merged(BASE, &ours, &theirs);
    assert!(!result.needs_a_person(), "{}", result.text);
    assert!(result.text.starts_with('\u{feff}'));
    assert_eq!(
        result.text.matches('\n').count(),
        result.text.matches("\r\n").count()
    );
    assert!(result.text.contains("31 g") && result.text.contains("three"));
}
