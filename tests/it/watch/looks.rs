//! Contents in, news out: no disk, no clock, no process.

use proptest::prelude::*;
use scruple::render::{Page, text};
use scruple::view::watching::{Beside, document};
use scruple::watch::{FileFate, News, Watch, Why};
use scruple::workspace::{Content, Snapshot};

pub const HERBS: &str = "herb peppermint leaf\n\nherb fennel fruit\n";

fn tea(grams: &str) -> String {
    format!("formula mint tea\n  take\n    peppermint leaf   {grams}\n    fennel fruit   10 g\n")
}

fn contents(files: &[(&str, &str)]) -> Vec<(String, Content)> {
    files
        .iter()
        .map(|(path, text)| ((*path).to_owned(), Ok(text.as_bytes().to_vec())))
        .collect()
}

fn printed(news: &News) -> String {
    text::print(&document(news, &Beside::default()), &Page::default())
}

/// The same without the ends of lines.
fn said(news: &News) -> String {
    printed(news).split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Looks at a good ledger.
fn begun() -> Watch {
    let mut watch = Watch::default();
    let news = watch
        .look(
            contents(&[("a.scruple", HERBS), ("tea.scruple", &tea("30 g"))]),
            "12:00:00",
        )
        .unwrap();
    assert!(news.is_first && news.broken.is_empty());
    watch
}

fn look(watch: &mut Watch, tea: &str, at: &str) -> News {
    watch
        .look(contents(&[("a.scruple", HERBS), ("tea.scruple", tea)]), at)
        .unwrap()
}

/// The grams of peppermint by which the news goes.
fn grams(news: &News) -> Option<String> {
    let snapshot = &news.standing;
    let composition = snapshot.figures.of(snapshot.formula("mint tea")?)?;
    Some(
        composition.lines[0]
            .amounts
            .grams?
            .nominal
            .normalize()
            .to_string(),
    )
}

#[test]
fn the_same_contents_are_no_news() {
    let mut watch = begun();
    let same = contents(&[("a.scruple", HERBS), ("tea.scruple", &tea("30 g"))]);
    assert!(watch.look(same, "12:00:01").is_none());
}

#[test]
fn a_save_says_what_changed_and_when() {
    let news = look(&mut begun(), &tea("40 g"), "12:04:10");
    assert_eq!(news.files, [("tea.scruple".to_owned(), FileFate::Saved)]);
    assert_eq!(
        printed(&news),
        "12:04:10 tea.scruple\n  mint tea\n    peppermint leaf 40 g, was 30 g\n  now no errors, no warnings, no notices\n"
    );
}

#[test]
fn a_save_that_changes_no_meaning_says_so() {
    let news = look(&mut begun(), &format!("# a remark\n{}", tea("30 g")), "12:04:10");
    assert!(
        printed(&news).contains("nothing that it comes to has changed"),
        "{}",
        printed(&news)
    );
}

#[test]
fn while_a_file_is_broken_its_last_good_figures_stay() {
    let mut watch = begun();
    look(&mut watch, &tea("40 g"), "12:04:10");
    let broken = look(&mut watch, &tea("4O g"), "12:05:00");
    assert_eq!(grams(&broken).as_deref(), Some("40"));
    assert_eq!(broken.broken.len(), 1);
    assert_eq!(broken.broken[0].figures_of.as_deref(), Some("12:04:10"));
    assert_eq!(broken.broken[0].why, Why::Error);
    assert!(broken.untrusted().contains("tea.scruple"));
    assert!(broken.comparison.formulas.is_empty(), "{}", printed(&broken));
    assert_eq!(broken.come.len(), 1);
    assert!(said(&broken).contains("its figures of 12:04:10 stay"));
    // Broken in another way it is still broken, and the figures are still the same.
    let again = look(&mut watch, "formula mint tea\n  take\n", "12:05:30");
    assert_eq!(grams(&again).as_deref(), Some("40"));
    assert_eq!(again.broken[0].figures_of.as_deref(), Some("12:04:10"));
    let mended = look(&mut watch, &tea("45 g"), "12:06:00");
    assert!(mended.broken.is_empty() && mended.untrusted().is_empty());
    assert_eq!(grams(&mended).as_deref(), Some("45"));
    assert!(printed(&mended).contains("peppermint leaf 45 g, was 40 g"));
    assert_eq!(mended.counts, [0, 0, 0]);
}

#[test]
fn a_file_that_is_empty_at_its_first_event_was_not_emptied() {
    let mut watch = begun();
    for half in ["", "\n  \n", "# only a remark\n"] {
        let news = look(&mut watch, half, "12:01:00");
        assert_eq!(news.broken[0].why, Why::Empty);
        assert_eq!(grams(&news).as_deref(), Some("30"));
        assert!(news.come.is_empty(), "{:?}", news.come);
        assert!(printed(&news).contains("is empty: its figures of 12:00:00 stay"));
    }
    let news = look(&mut watch, &tea("30 g"), "12:01:01");
    assert!(news.broken.is_empty() && news.comparison.formulas.is_empty());
}

#[test]
fn an_emptied_file_of_herbs_breaks_nothing_else() {
    let mut watch = begun();
    let news = watch
        .look(
            contents(&[("a.scruple", ""), ("tea.scruple", &tea("40 g"))]),
            "12:01:00",
        )
        .unwrap();
    assert_eq!(news.broken.len(), 1);
    assert_eq!(
        grams(&news).as_deref(),
        Some("40"),
        "the other file's save counts"
    );
    assert!(news.come.is_empty());
}

#[test]
fn a_broken_file_of_herbs_withholds_nothing_of_what_takes_them() {
    let mut watch = begun();
    let half = "herb pepp\n\nherb fennel fruit\n  teaspoon   1.7\n";
    let news = watch
        .look(
            contents(&[("a.scruple", half), ("tea.scruple", &tea("40 g"))]),
            "12:01:00",
        )
        .unwrap();
    assert_eq!(grams(&news).as_deref(), Some("40"));
    let named: Vec<&str> = news.broken.iter().map(|one| one.file.as_str()).collect();
    assert_eq!(named, ["a.scruple"]);
    assert!(!news.come.is_empty(), "what is wrong is said");
}

#[test]
fn a_formula_saved_while_its_herbs_are_broken_keeps_counting() {
    let mut watch = begun();
    let half = "herb pepp\n\nherb fennel fruit\n  teaspoon   1.7\n";
    let files = |tea: &str| contents(&[("a.scruple", half), ("tea.scruple", tea)]);
    watch.look(files(&tea("30 g")), "12:01:00");
    let news = watch.look(files(&tea("42 g")), "12:02:00").unwrap();
    assert_eq!(grams(&news).as_deref(), Some("42"));
    // A slip in the formula itself is its own, and its last good figures are those just saved.
    let news = watch.look(files(&tea("4O g")), "12:03:00").unwrap();
    assert_eq!(grams(&news).as_deref(), Some("42"));
    assert_eq!(news.broken.len(), 2);
}

#[test]
fn an_unreadable_file_keeps_its_figures_too() {
    let mut watch = begun();
    let files = vec![
        ("a.scruple".to_owned(), Ok(HERBS.as_bytes().to_vec())),
        (
            "tea.scruple".to_owned(),
            Err("you have no permission to read it".to_owned()),
        ),
    ];
    let news = watch.look(files, "12:02:00").unwrap();
    assert_eq!(grams(&news).as_deref(), Some("30"));
    assert_eq!(news.broken[0].figures_of.as_deref(), Some("12:00:00"));
    assert_eq!(news.come[0].code.name(), "unreadable-file");
}

#[test]
fn a_deleted_file_is_gone_and_not_broken() {
    let mut watch = begun();
    let news = watch.look(contents(&[("a.scruple", HERBS)]), "12:02:00").unwrap();
    assert_eq!(news.files, [("tea.scruple".to_owned(), FileFate::Went)]);
    assert!(news.broken.is_empty());
    assert!(printed(&news).contains("left out"));
    let back = look(&mut watch, &tea("30 g"), "12:03:00");
    assert_eq!(back.files, [("tea.scruple".to_owned(), FileFate::Came)]);
    assert!(printed(&back).contains("added"));
}

#[test]
fn an_error_from_the_beginning_has_no_figures_to_keep() {
    let mut watch = Watch::default();
    let news = look(&mut watch, &tea("4O g"), "12:00:00");
    assert_eq!(news.broken[0].figures_of, None);
    assert_eq!(grams(&news), None);
    assert!(news.untrusted().contains("tea.scruple"));
}

#[test]
fn findings_are_the_same_ones_when_lines_are_added_above() {
    let mut watch = Watch::default();
    let doubled = format!("{}    fennel fruit   5 g\n", tea("30 g"));
    let first = look(&mut watch, &doubled, "12:00:00");
    assert_ne!(first.counts, [0, 0, 0], "listed twice");
    let moved = look(&mut watch, &format!("\n\n\n{doubled}"), "12:01:00");
    assert!(moved.come.is_empty() && moved.gone.is_empty());
}

#[test]
fn many_files_at_once_are_counted() {
    let mut watch = begun();
    let mut files = contents(&[("a.scruple", HERBS), ("tea.scruple", &tea("30 g"))]);
    for number in 0..50 {
        let text = tea("30 g").replace("mint tea", &format!("tea {number}"));
        files.push((format!("teas/{number}.scruple"), Ok(text.into_bytes())));
    }
    let said = printed(&watch.look(files, "12:01:00").unwrap());
    assert!(said.starts_with("12:01:00 50 files: 50 new\n"), "{said}");
    assert!(said.contains("50 formulas added"), "{said}");
    assert!(said.lines().count() < 12, "{said}");
}

/// What can be saved: good, half-written, empty, gone.
fn states() -> impl Strategy<Value = Vec<(bool, u8, u8)>> {
    prop::collection::vec((any::<bool>(), 0_u8..8, 0_u8..6), 1..12)
}

fn tea_as(state: u8) -> String {
    match state {
        0 => String::new(),
        1 => "formula mint tea\n  take\n    pepper".to_owned(),
        2 => tea("4O g"),
        3 => tea("12 spoons"),
        other => tea(&format!("{other} g")),
    }
}

fn herbs_as(state: u8) -> String {
    match state {
        0 => String::new(),
        1 => "herb peppermint leaf\n".to_owned(),
        2 => "herb peppermint leaf\n  teaspoon   1,7 g\n\nherb fennel fruit\n".to_owned(),
        other => format!("herb peppermint leaf\n  note   {other}\n\nherb fennel fruit\n"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// What was kept from look to look never shows: where nothing is broken, the figures and the
    /// findings are those of a ledger that is read from nothing.
    #[test]
    fn what_is_kept_equals_what_is_read_anew(saves in states()) {
        let mut watch = begun();
        for (of_tea, tea_state, herb_state) in saves {
            let (tea, herbs) = (tea_as(tea_state), herbs_as(if of_tea { 5 } else { herb_state }));
            let files = contents(&[("a.scruple", &herbs), ("tea.scruple", &tea)]);
            let Some(news) = watch.look(files.clone(), "12:00:00") else { continue };
            let fresh = Snapshot::of_contents(files);
            let counted: usize = news.counts.iter().sum();
            let has_empty = news.broken.iter().any(|one| one.why == Why::Empty);
            if !has_empty {
                prop_assert_eq!(counted, fresh.diagnostics.len());
            }
            if news.broken.is_empty() {
                let of = |snapshot: &Snapshot| {
                    (0..snapshot.ledger.formulas.len())
                        .map(|at| scruple::compare::portrait::portrait(snapshot, at))
                        .collect::<Vec<_>>()
                };
                prop_assert_eq!(of(&news.standing), of(&fresh));
            }
        }
    }
}
