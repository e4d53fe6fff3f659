//! Several dose lines, lines for an age, a child of whose age nothing is published, what is taken as needed,
//! what is written from memory, and what is drawn out: nothing of it may be decided or left out in silence.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::{
    R, Ran, codes_of, exactly, figure, findings_of, flat, listed, on_disk, r, reckoned_for, run, run_wide,
    sound,
};
use scruple::diagnostic::Severity;

const MINT: &str = "source book\n  title   a book\n\nsource memo\n  title   a remembered book\n  from memory\n\n\
    herb mint\n  dose   1.5 to 3 g, 3 times a day   source book\n  dose   age 4 to 11: 0.5 to 1 g, 3 times a day   source book\n\n\
    herb sage\n  dose   1 to 2 g, 3 times a day   source memo\n\n\
    herb balm\n  dose   1 to 2 g, 3 times a day   source book\n  consult   age under 12   source book\n\n\
    herb plain leaf\n\nmaterial honey\n\nmaterial sugar\n\nmaterial spirit\n  consult   alcohol dependence\n\nmaterial oil\n\n";

fn doses(text: &str, arguments: &[&str]) -> Ran {
    let folder = on_disk(&[("practice.scruple", &format!("{MINT}{text}"))]);
    let all: Vec<&str> = ["doses", "some tea"].iter().chain(arguments).copied().collect();
    run(folder.path(), &all)
}

fn doses_json(text: &str, arguments: &[&str]) -> Value {
    let all: Vec<&str> = arguments.iter().copied().chain(["--as", "json"]).collect();
    doses(text, &all).json()
}

/// Two grams to a cup of 250 ml, of the herbs in equal parts.
fn tea(herbs: &[&str], lines: &[&str]) -> String {
    let mut text = "formula some tea\n  take\n".to_owned();
    for herb in herbs {
        writeln!(text, "    {herb}   10 g").unwrap();
    }
    text += "  infuse   2 g in 250 ml of boiling water for 10 minutes\n";
    for line in lines {
        writeln!(text, "  {line}").unwrap();
    }
    text
}

fn codes(value: &Value) -> Vec<&str> {
    value["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["code"].as_str().unwrap())
        .collect()
}

fn messages(value: &Value, code: &str) -> Vec<String> {
    value["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["code"] == code)
        .map(|one| one["message"].as_str().unwrap().to_owned())
        .collect()
}

// ---- which line --------------------------------------------------------------------------------

/// The page says which line its figures are for, why that one, and what the others come to.
#[test]
fn the_page_says_which_line_it_shows_and_lists_the_others() {
    let text = tea(
        &["mint"],
        &[
            "dose   250 ml, once a day",
            "dose   125 ml, 3 times a day",
            "dose   age 6 to 12: 100 ml, 2 times a day",
            "dose   1 handful, once a day",
        ],
    );
    let said = doses(&text, &[]).flat();
    for words in [
        "dose 125 ml, 3 times a day (of the lines for no age in particular the one that gives most in a day; every line is compared, each by itself: they are not added)",
        "another dose line 250 ml, once a day: 2 g of the blend at once",
        "another dose line age 6 to 12: 100 ml, 2 times a day: 0.8 g of the blend at once",
        "another dose line 1 handful, once a day: not reckoned, ",
    ] {
        assert!(said.contains(words), "`{words}` is missing:\n{said}");
    }
    let child = doses(&text, &["--age", "8"]).flat();
    assert!(
        child.contains("dose age 6 to 12: 100 ml, 2 times a day (the line for this age;"),
        "{child}"
    );
    let json = doses_json(&text, &[]);
    let lines = json["dose_lines"].as_array().unwrap();
    let shown: Vec<&Value> = lines.iter().filter(|line| line["shown"] == true).collect();
    assert_eq!((lines.len(), shown.len()), (4, 1));
    assert_eq!(shown[0]["dose"], json["dose"]);
    assert_eq!(lines[0], *shown[0], "what is shown stands first");
    let aged: Vec<&Value> = lines.iter().filter(|line| line["ages"] == "6 to 12").collect();
    assert_eq!(aged.len(), 1);
    assert_eq!(figure(&aged[0]["blend_at_once"]["nominal"]), r(8, 10));
    // The one that can't be reckoned is no secret of the desk: `check` says so at its line.
    let notices = messages(&json, "dose-not-sure");
    assert_eq!(notices.len(), 1, "{notices:?}");
    assert!(notices[0].contains("compared with nothing"), "{notices:?}");
    // With one line there is nothing to choose.
    let one = doses(&tea(&["mint"], &["dose   250 ml, once a day"]), &[]).flat();
    assert!(one.contains("dose 250 ml, once a day a dose takes"), "{one}");
}

/// Powders and grams are compared by weight: a powder of 5 g is more than 3 g.
#[test]
fn the_line_that_gives_most_is_found_across_measures() {
    for lines in [
        "  dose   1 powder, once a day\n  dose   3 g, once a day\n",
        "  dose   3 g, once a day\n  dose   1 powder, once a day\n",
    ] {
        let text = format!("formula some tea\n  take   mint 100 g\n  divide   into 20 powders\n{lines}");
        let json = doses_json(&text, &[]);
        assert_eq!(json["dose"], "1 powder, once a day");
        assert_eq!(figure(&json["herbs"][0]["at_once"]["nominal"]), r(5, 1));
    }
}

/// The least and the most belong to one line: 0.5 to 5 g, and not 1 to 5 g.
#[test]
fn the_ends_of_a_range_are_of_one_line() {
    let snapshot = sound(
        "herb mint\n\nformula some tea\n  take   mint 100 g\n  dose   1 to 2 g, once a day\n  dose   0.5 to 5 g, once a day\n",
    );
    let at_once = reckoned_for(&snapshot, "some tea", None).herbs[0].at_once;
    assert_eq!(
        [at_once.low, at_once.nominal, at_once.high].map(exactly),
        [r(1, 2), r(5, 1), r(5, 1)]
    );
}

/// One bound that two lines pass is one slip; the line that counts is named, and that there is another.
#[test]
fn lines_that_pass_one_bound_are_one_finding() {
    let text = tea(
        &["mint"],
        &[
            "dose   500 ml, 3 times a day",
            "dose   750 ml, 3 times a day, in winter",
        ],
    );
    let snapshot = sound(&format!("{MINT}{text}"));
    let found = findings_of(&snapshot, "some tea");
    assert_eq!(
        codes_of(&snapshot, "some tea"),
        ["error over-the-daily-most", "warning above-the-most-at-once"],
        "{}",
        listed(&snapshot.diagnostics)
    );
    let day = found
        .iter()
        .find(|one| one.code.name() == "over-the-daily-most")
        .unwrap();
    // 6 g and 4 g three times, where 9 g are the most.
    assert!(day.message.contains("gives 18 g of mint"), "{}", day.message);
    assert!(
        day.message.ends_with("another dose line passes it, too"),
        "{}",
        day.message
    );
}

// ---- lines for an age --------------------------------------------------------------------------

/// A line for an age is held against what is published for that age, without anyone being named.
#[test]
fn a_line_for_an_age_is_held_against_what_is_published_for_it() {
    for (line, expected) in [
        // 1 g is the most for 4 to 11.
        ("age 6 to 11: 125 ml, 3 times a day", &[][..]),
        (
            "age 6 to 11: 250 ml, 3 times a day",
            &["error over-the-daily-most", "warning above-the-most-at-once"],
        ),
        (
            "age 6 to 11: 126 ml, 2 times a day",
            &["warning above-the-most-at-once"],
        ),
        // It reaches over the age for which there is a figure: the stricter counts for all of them.
        (
            "age 10 to 16: 250 ml, once a day",
            &["warning above-the-most-at-once"],
        ),
        // Nothing is published for these, and 2 g are within the adult's 3 g.
        (
            "age 12 to 16: 250 ml, 3 times a day",
            &["warning adult-figures-for-a-child"],
        ),
        (
            "age 12 to 16: 500 ml, 3 times a day",
            &[
                "error over-the-daily-most",
                "warning above-the-most-at-once",
                "warning adult-figures-for-a-child",
            ],
        ),
        ("age 18 to 70: 250 ml, 3 times a day", &[]),
    ] {
        let lines = ["dose   250 ml, once a day", &format!("dose   {line}")];
        let snapshot = sound(&format!("{MINT}{}", tea(&["mint"], &lines)));
        assert_eq!(
            codes_of(&snapshot, "some tea"),
            expected,
            "{line}\n{}",
            listed(&snapshot.diagnostics)
        );
    }
}

/// `age 6:` is for the year from the sixth birthday: neither for a grown-up nor for one of seven.
#[test]
fn a_single_age_is_one_year() {
    let text = tea(
        &["plain leaf"],
        &["dose   250 ml, once a day", "dose   age 6: 50 ml, once a day"],
    );
    let snapshot = sound(&format!("{MINT}{text}"));
    let at = |years: &str| {
        exactly(
            reckoned_for(&snapshot, "some tea", Some(years))
                .blend_at_once
                .unwrap()
                .nominal,
        )
    };
    assert_eq!(
        ["5.9", "6", "6.9", "7", "34"].map(at),
        [2, 0, 0, 2, 2].map(|grams| if grams == 0 { r(4, 10) } else { r(grams, 1) })
    );
}

/// A tea that is for children only is reckoned for them, and a child of another age is told so.
#[test]
fn a_tea_with_doses_for_an_age_only() {
    let text = tea(&["mint"], &["dose   age 6 to 11: 125 ml, 2 times a day"]);
    let json = doses_json(&text, &[]);
    assert_eq!(figure(&json["herbs"][0]["most_at_once"]["value"]), r(1, 1));
    let other = doses_json(&text, &["--age", "3"]);
    assert_eq!(other["not_reckoned"], "some tea has no dose for this age");
}

// ---- a child of whose age nothing is published -------------------------------------------------

/// A warning, and the word beside every figure: in the table, in the picture, in the data.
#[test]
fn an_adults_range_is_marked_wherever_a_child_is_asked_about() {
    let text = tea(&["mint", "sage"], &["dose   125 ml, 2 times a day"]);
    let ran = doses(&text, &["--age", "3"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    let said = ran.flat();
    for words in [
        "– adult 1.5 to 3 g 9 g",
        "– adult, from memory 1 to 2 g 6 g",
        "| 3 g adult",
        "| 2 g adult",
        "adult: stated for adults; for this age nothing is stated",
        "Warning: some tea for somebody of 3 years: nothing is stated for this age, only for adults, of mint, sage",
    ] {
        assert!(said.contains(words), "`{words}` is missing:\n{}", ran.out);
    }
    let json = doses_json(&text, &["--age", "3"]);
    for herb in json["herbs"].as_array().unwrap() {
        for bound in ["least_at_once", "most_at_once", "most_a_day"] {
            assert_eq!(herb[bound]["for_adults"], true, "{herb}");
        }
    }
    // At eight there is a figure for mint, at thirty for both.
    let eight = doses_json(&text, &["--age", "8"]);
    assert_eq!(
        messages(&eight, "adult-figures-for-a-child"),
        ["some tea for somebody of 8 years: nothing is stated for this age, only for adults, of sage"]
    );
    assert_eq!(eight["herbs"][0]["most_at_once"]["for_adults"], false);
    for arguments in [&["--age", "30"][..], &["--age", "18"], &[]] {
        let json = doses_json(&text, arguments);
        assert!(
            !codes(&json).contains(&"adult-figures-for-a-child"),
            "{arguments:?}"
        );
        assert_eq!(json["herbs"][0]["most_at_once"]["for_adults"], false);
    }
}

/// Where the herb has an age limit that is not reached, that is the finding; the figures are marked all the same.
#[test]
fn an_age_limit_takes_the_place_of_the_warning() {
    let text = tea(&["balm"], &["dose   125 ml, 2 times a day"]);
    let limited = doses_json(&text, &["--age", "8"]);
    assert_eq!(codes(&limited), ["ask-first-for-this-person"]);
    assert_eq!(limited["herbs"][0]["most_a_day"]["for_adults"], true);
    // From twelve on the limit says nothing, and a dose for the age is still not stated.
    let older = doses_json(&text, &["--age", "13"]);
    assert_eq!(codes(&older), ["adult-figures-for-a-child"]);
}

/// A child's dose above the adult's most is over it, whatever else is known.
#[test]
fn a_child_above_the_adults_most_is_over_it() {
    let text = tea(&["sage"], &["dose   500 ml, 3 times a day"]);
    let json = doses_json(&text, &["--age", "8"]);
    let over = messages(&json, "over-the-daily-most");
    assert_eq!(over.len(), 1);
    assert!(
        over[0].contains("the most that follows from the stated dose is 6 g for adults, from memory"),
        "{over:?}"
    );
}

// ---- from memory -------------------------------------------------------------------------------

#[test]
fn from_memory_stands_beside_the_figure() {
    let text = tea(&["mint", "sage"], &["dose   1 litre, 3 times a day"]);
    let json = doses_json(&text, &[]);
    for (herb, memory) in [("mint", false), ("sage", true)] {
        for code in ["over-the-daily-most", "above-the-most-at-once"] {
            let own: Vec<String> = messages(&json, code)
                .into_iter()
                .filter(|message| message.contains(herb))
                .collect();
            assert_eq!(own.len(), 1, "{own:?}");
            assert_eq!(own[0].ends_with(" g, from memory"), memory, "{own:?}");
        }
        let entry = json["herbs"]
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["herb"] == herb);
        assert_eq!(entry.unwrap()["most_a_day"]["from_memory"], memory);
        assert_eq!(entry.unwrap()["least_at_once"]["from_memory"], memory);
    }
    let ran = doses(&text, &[]);
    assert!(ran.flat().contains("– stated 1.5 to 3 g 9 g sage"), "{}", ran.out);
    assert!(
        ran.flat().contains("– stated, from memory 1 to 2 g 6 g"),
        "{}",
        ran.out
    );
    assert!(ran.flat().contains("Stated from memory: sage."), "{}", ran.out);
}

/// Of two books with one figure the one that was read is shown.
#[test]
fn what_was_read_goes_before_what_is_remembered() {
    for (first, second) in [("book", "memo"), ("memo", "book")] {
        let text = format!(
            "herb both\n  most   6 g a day   source {first}\n  most   6 g a day   source {second}\n\n{}",
            tea(&["both"], &["dose   250 ml, once a day"])
        );
        assert_eq!(
            doses_json(&text, &[])["herbs"][0]["most_a_day"]["from_memory"],
            false
        );
    }
}

/// At the width of a narrow screen no stated figure is left out, a child's neither.
#[test]
fn a_narrow_screen_shows_what_is_stated() {
    let text = tea(
        &["mint", "sage", "balm"],
        &["dose   125 to 250 ml, 2 to 3 times a day"],
    );
    let folder = on_disk(&[("practice.scruple", &format!("{MINT}{text}"))]);
    for arguments in [&["doses", "some tea"][..], &["doses", "some tea", "--age", "13"]] {
        for width in [66, 80, 100] {
            let ran = run_wide(folder.path(), width, arguments);
            for words in ["1.5 to 3 g", "9 g", "6 g", "from memory"] {
                assert!(
                    flat(&ran.out).contains(words),
                    "`{words}` at {width}:\n{}",
                    ran.out
                );
            }
        }
    }
}

// ---- nothing left out --------------------------------------------------------------------------

#[test]
fn what_is_taken_as_needed_is_listed() {
    let text = "formula inner tea\n  take\n    mint   10 g\n    sugar   q.s.\n\n\
        formula some tea\n  take\n    inner tea   10 g\n    honey   q.s.\n  dose   2 g, once a day\n";
    let said = doses(text, &[]).flat();
    assert!(
        said.contains("as needed, not counted honey, sugar (in inner tea)"),
        "{said}"
    );
    let json = doses_json(text, &[]);
    let names: Vec<[&Value; 2]> = json["as_needed"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| [&one["name"], &one["within"]])
        .collect();
    assert_eq!(
        names,
        [
            [&json!("honey"), &Value::Null],
            [&json!("sugar"), &json!("inner tea")]
        ]
    );
    // Also where no dose can be told.
    let without = "formula some tea\n  take\n    mint   10 g\n    honey   q.s.\n";
    assert!(
        doses(without, &[])
            .flat()
            .contains("as needed, not counted honey")
    );
}

#[test]
fn herbs_without_a_stated_dose_are_listed() {
    let text = tea(&["mint", "plain leaf", "honey"], &["dose   250 ml, once a day"]);
    let ran = doses(&text, &[]);
    assert!(
        ran.flat().contains("no dose is stated for plain leaf"),
        "{}",
        ran.out
    );
    assert_eq!(doses_json(&text, &[])["nothing_stated"], json!(["plain leaf"]));
}

// ---- beside what is drawn out ------------------------------------------------------------------

/// 50 g of sage in 100 g of the blend, and 10 g of a blend that holds 5 g of it dry and 5 g as candied sage.
#[test]
fn what_is_taken_as_it_is_is_reckoned_by_itself() {
    let text = "formula candied sage\n  take   sage 100 g\n  syrup   2:1 with sugar\n\n\
        formula inner tea\n  take\n    sage   50 g\n    candied sage   50 g\n\n\
        formula some tea\n  take\n    sage   50 g\n    plain leaf   40 g\n    inner tea   10 g\n  dose   10 g, 2 times a day\n";
    let json = doses_json(text, &[]);
    let of = |list: &str, field: &str| -> Vec<(String, R)> {
        json[list]
            .as_array()
            .unwrap()
            .iter()
            .map(|herb| {
                (
                    herb["herb"].as_str().unwrap().to_owned(),
                    figure(&herb[field]["nominal"]),
                )
            })
            .collect()
    };
    assert_eq!(
        of("herbs", "at_once"),
        [("sage".to_owned(), r(55, 10)), ("plain leaf".to_owned(), r(4, 1))]
    );
    assert_eq!(of("behind", "at_once"), [("sage".to_owned(), r(1, 2))]);
    assert_eq!(json["drawn_by"], json!(["candied sage"]));
    assert_eq!(json["drawn_out"], false);
    assert!(
        codes(&json).contains(&"over-the-daily-most"),
        "11 g a day, 6 g are the most: {json}"
    );
    let said = doses(text, &[]).flat();
    assert!(said.contains("Behind what is drawn out: candied sage"), "{said}");
    assert!(said.contains("what it holds is compared with nothing"), "{said}");
}

/// Drops by volume have no weight: the dry herb is reckoned as if they weighed nothing, and it is said.
#[test]
fn beside_drops_without_a_weight_figures_are_the_most_they_can_be() {
    let text = "formula sage drops\n  take   sage 10 g\n  macerate   1:2 in spirit for 14 days\n  makes   20 ml\n\n\
        formula some tea\n  take\n    sage   50 g\n    sage drops   2 ml\n  dose   2 g, 3 times a day\n";
    let json = doses_json(text, &[]);
    assert_eq!(figure(&json["herbs"][0]["at_once"]["nominal"]), r(2, 1));
    assert_eq!(json["unweighed"], json!(["sage drops"]));
    assert!(codes(&json).is_empty(), "{json}");
    let said = doses(text, &[]).flat();
    assert!(said.contains("each figure is the most that it can be"), "{said}");
    let more = doses_json(&text.replace("dose   2 g", "dose   3 g"), &[]);
    assert!(
        messages(&more, "over-the-daily-most")[0].contains("gives up to 9 g of sage"),
        "{more}"
    );
}

/// What has no weight beside it is named, by `check` as well.
#[test]
fn what_cannot_be_compared_is_named() {
    let text = "formula sage drops\n  take   sage 10 g\n  macerate   1:2 in spirit for 14 days\n  makes   20 ml\n\n\
        formula some tea\n  take\n    sage   50 g\n    oil   5 ml\n    sage drops   2 ml\n  dose   1 g, 3 times a day\n";
    let snapshot = sound(&format!("{MINT}{text}"));
    let found = findings_of(&snapshot, "some tea");
    assert!(
        found.iter().any(|one| one.severity == Severity::Notice
            && one.code.name() == "dose-not-sure"
            && one
                .message
                .contains("a part of some tea is compared with nothing")
            && one.message.ends_with(": oil")),
        "{}",
        listed(&snapshot.diagnostics)
    );
    assert_eq!(doses_json(text, &[])["not_compared"], json!(["oil"]));
}

/// A tincture of tinctures holds nothing dry: it is drawn out as a whole, as before.
#[test]
fn drops_of_drops_are_drawn_out_as_a_whole() {
    let text = "formula sage drops\n  take   sage 10 g\n  macerate   1:2 in spirit for 14 days\n  makes   20 ml\n\n\
        formula some tea\n  take   sage drops 50 ml\n  dose   2 ml, 3 times a day\n";
    let json = doses_json(text, &[]);
    assert_eq!(json["drawn_out"], true);
    assert_eq!(json["behind"], json!([]));
    assert_eq!(figure(&json["herbs"][0]["at_once"]["nominal"]), r(1, 1));
    assert!(codes(&json).is_empty(), "{json}");
}
