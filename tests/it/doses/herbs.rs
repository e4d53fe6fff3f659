//! Every row of `herbs.tsv`: the bounds that the program keeps are the row's own, and a cup at, below and
//! above each of them gives the finding that it must, and no other.
//!
//! Each row is put to the program twice: as the entry of the built-in reference, and as `dose` and `most`
//! lines written here from the row's figures. All 81 rows are run, the 18 `verified` ones among them; a
//! remembered figure proves the comparison, not the dose. Where single dose times how often comes to more
//! than the stated most of a day, the stated most rules (a remark at the top of `cautions.tsv`).

use std::collections::BTreeSet;
use std::fmt::Write as _;

use num_traits::ToPrimitive;
use scruple::workspace::Snapshot;

use super::{
    R, Row, codes_at_the_desk, codes_of, dec, exactly, herb_rows, ledger, r, reckoned, reference_name,
};

/// What a row says of the amounts.
struct Stated {
    least: Option<R>,
    most: Option<R>,
    day: Option<R>,
    days: Option<R>,
    times: i64,
}

fn stated(row: &Row<'_>) -> Stated {
    let most = row.maybe("single_max_g");
    let times = row.maybe("times_per_day_max");
    let by_times = most.clone().zip(times.clone()).map(|(most, times)| most * times);
    Stated {
        least: row.maybe("single_min_g"),
        most,
        day: row.maybe("daily_max_g").or(by_times),
        days: row.maybe("max_duration_days"),
        times: times.map_or(3, |times| times.to_integer().to_i64().unwrap()),
    }
}

/// `1.5 to 3 g`, `1.5 g`.
fn between(low: &str, high: &str, unit: &str) -> String {
    match (low, high) {
        ("", high) => format!("{high}{unit}"),
        (low, "") => format!("{low}{unit}"),
        (low, high) if dec(low) == dec(high) => format!("{low}{unit}"),
        _ => format!("{low} to {high}{unit}"),
    }
}

fn word(row: &Row<'_>) -> &'static str {
    match row.get("preparation") {
        "infusion" => "infuse",
        "decoction" => "decoct",
        "cold maceration" => "macerate",
        other => panic!("{other}"),
    }
}

/// The row as an entry.
fn as_entry(row: &Row<'_>) -> String {
    let mut text = format!(
        "source table\n  title   {}\n\nherb test herb\n",
        row.get("source")
    );
    if !row.get("single_min_g").is_empty() {
        let water = match (row.get("water_ml_min"), row.get("water_ml_max")) {
            ("", "") => String::new(),
            (low, high) => format!(" in {}", between(low, high, " ml")),
        };
        let times = match (row.get("times_per_day_min"), row.get("times_per_day_max")) {
            ("", "") => String::new(),
            ("", most) => format!(", up to {most} times a day"),
            (low, high) => format!(", {} times a day", between(low, high, "")),
        };
        let amount = between(row.get("single_min_g"), row.get("single_max_g"), " g");
        writeln!(text, "  dose   {amount}{water}{times}   source table").unwrap();
    }
    if !row.get("daily_max_g").is_empty() {
        writeln!(text, "  most   {} g a day   source table", row.get("daily_max_g")).unwrap();
    }
    if !row.get("max_duration_days").is_empty() {
        writeln!(
            text,
            "  most   {} days   source table",
            row.get("max_duration_days")
        )
        .unwrap();
    }
    if !row.get("steep_min_minutes").is_empty() {
        let minutes = between(
            row.get("steep_min_minutes"),
            row.get("steep_max_minutes"),
            " minutes",
        );
        writeln!(text, "  {}   in water for {minutes}   source table", word(row)).unwrap();
    }
    text
}

/// The row's entry of the built-in reference with its sources, under its own name.
fn as_reference(row: &Row<'_>) -> (String, &'static str) {
    let name = reference_name(row.get("key"));
    let entry = scruple::reference::entry(name).unwrap();
    let mut text = String::new();
    for (_, source) in &entry.sources {
        text += source;
        text += "\n\n";
    }
    (text + entry.text + "\n", name)
}

/// Herbs whose row is for rinsing and compresses. The reference gives them no dose for the mouth, but a caution.
const NOT_DRUNK: [&str; 2] = ["calendula-flower", "rose-petal"];

/// One cup: milligrams of the herb, how often a day, and what must be said of it.
struct Probe {
    milligrams: i64,
    times: i64,
    said: BTreeSet<&'static str>,
}

/// Cups around every bound, and what the row says of each.
fn probes(bounds: &Stated) -> Vec<Probe> {
    let milligrams = |grams: &R| (grams * r(1000, 1)).floor().to_integer().to_i64().unwrap();
    let mut probes = Vec::new();
    for times in [1, bounds.times, bounds.times + 1] {
        let mut amounts = BTreeSet::new();
        for bound in [&bounds.least, &bounds.most].into_iter().flatten() {
            amounts.extend([milligrams(bound) - 1, milligrams(bound), milligrams(bound) + 1]);
        }
        if let (Some(least), Some(most)) = (&bounds.least, &bounds.most) {
            amounts.insert(i64::midpoint(milligrams(least), milligrams(most)));
        }
        if let Some(day) = &bounds.day {
            let at = milligrams(&(day / r(times, 1)));
            amounts.extend([at - 1, at, at + 1]);
        }
        for milligrams in amounts.into_iter().filter(|amount| *amount > 0) {
            let grams = r(milligrams, 1000);
            let mut said = BTreeSet::new();
            if bounds.least.as_ref().is_some_and(|least| grams < *least) {
                said.insert("notice below-the-least-dose");
            }
            if bounds.most.as_ref().is_some_and(|most| grams > *most) {
                said.insert("warning above-the-most-at-once");
            }
            if bounds.day.as_ref().is_some_and(|day| &grams * r(times, 1) > *day) {
                said.insert("error over-the-daily-most");
            }
            probes.push(Probe {
                milligrams,
                times,
                said,
            });
        }
    }
    probes
}

const DOSE_CODES: [&str; 8] = [
    "over-the-daily-most",
    "above-the-most-at-once",
    "below-the-least-dose",
    "dose-not-sure",
    "steeps-too-short",
    "steeps-too-long",
    "taken-too-long",
    "figure-without-a-source",
];

/// What is said about the dose of a formula: by `doses`; and `check` says the same, but for what is too little.
fn about_the_dose(snapshot: &Snapshot, formula: &str) -> BTreeSet<String> {
    let about = |codes: Vec<String>| -> BTreeSet<String> {
        codes
            .into_iter()
            .filter(|code| DOSE_CODES.iter().any(|known| code.ends_with(known)))
            .collect()
    };
    let desk = about(codes_at_the_desk(snapshot, formula));
    let mut but_for_too_little = desk.clone();
    but_for_too_little.remove("notice below-the-least-dose");
    let mut check = about(codes_of(snapshot, formula));
    check.remove("notice below-the-least-dose");
    assert_eq!(check, but_for_too_little, "`check` and `doses` say the same");
    desk
}

/// Runs a row's probes over an entry, and gives how many of them there were.
fn run_probes(row: &Row<'_>, entry: &str, herb: &str) -> usize {
    let bounds = stated(row);
    let probes = probes(&bounds);
    let minutes = row
        .maybe("steep_min_minutes")
        .map_or("10".to_owned(), |least| least.to_string());
    let mut text = entry.to_owned();
    for (at, probe) in probes.iter().enumerate() {
        let Probe {
            milligrams, times, ..
        } = probe;
        writeln!(
            text,
            "\nformula probe {at} x\n  take   {herb} 1 kg\n  {} {milligrams} mg in 1 cup of water for {minutes} minutes\n  \
             dose   1 cup, {times} times a day",
            word(row)
        )
        .unwrap();
    }
    let snapshot = ledger(&text);
    for (at, probe) in probes.iter().enumerate() {
        let formula = format!("probe {at} x");
        let intake = reckoned(&snapshot, &formula);
        let own = &intake.herbs[0];
        assert_eq!(exactly(own.at_once.nominal), r(probe.milligrams, 1000), "{herb}");
        assert_eq!(
            exactly(own.a_day.unwrap().nominal),
            r(probe.milligrams * probe.times, 1000),
            "{herb}"
        );
        let said = about_the_dose(&snapshot, &formula);
        let wanted: BTreeSet<String> = probe.said.iter().map(|code| (*code).to_owned()).collect();
        assert_eq!(
            said, wanted,
            "{herb}: {} mg, {} times a day\n{entry}",
            probe.milligrams, probe.times
        );
    }
    probes.len()
}

/// The bounds that the program keeps for an entry.
fn kept(entry: &str, herb: &str) -> [Option<R>; 4] {
    let text = format!("{entry}\nformula probe\n  take {herb} 100 g\n  dose 1 g, once a day\n");
    let intake = reckoned(&ledger(&text), "probe");
    let published = &intake.herbs[0].published;
    [
        published.least_at_once,
        published.most_at_once,
        published.most_a_day,
        published.most_days,
    ]
    .map(|bound| bound.map(|(value, _)| exactly(value)))
}

#[test]
fn bounds_are_those_of_the_row() {
    let rows = herb_rows();
    assert_eq!(rows.len(), 81);
    let mut verified = 0;
    let mut wrong = Vec::new();
    for row in rows {
        let bounds = stated(row);
        let wanted = [bounds.least, bounds.most, bounds.day, bounds.days];
        let (entry, herb) = as_reference(row);
        if NOT_DRUNK.contains(&row.get("key")) {
            assert!(
                row.get("note").contains("not a drink") || row.get("note").contains("only"),
                "{herb}"
            );
            assert_eq!(kept(&entry, herb)[..3], [None, None, None]);
            let snapshot = ledger(&entry);
            let cautions = &snapshot
                .ledger
                .substances
                .iter()
                .find(|one| one.name == herb)
                .unwrap()
                .cautions;
            assert!(
                cautions.iter().any(|caution| caution.topic.text == "not oral"),
                "{herb}"
            );
            assert_eq!(kept(&as_entry(row), "test herb"), wanted);
            continue;
        }
        for (kept, how) in [
            (kept(&as_entry(row), "test herb"), "as lines"),
            (kept(&entry, herb), "by the reference"),
        ] {
            if kept != wanted {
                let show = |all: &[Option<R>; 4]| {
                    all.iter()
                        .map(|one| one.as_ref().map_or("-".to_owned(), ToString::to_string))
                        .collect::<Vec<_>>()
                };
                wrong.push(format!(
                    "{herb} {how}: {:?} instead of {:?}",
                    show(&kept),
                    show(&wanted)
                ));
            }
        }
        verified += usize::from(row.get("source_status") == "verified");
    }
    assert_eq!(verified, 18);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_cup_around_each_bound_written_as_lines() {
    let rows = herb_rows();
    let probes: usize = rows
        .iter()
        .map(|row| run_probes(row, &as_entry(row), "test herb"))
        .sum();
    assert!(probes > 1000, "{probes}");
}

#[test]
fn a_cup_around_each_bound_by_the_reference() {
    let rows = herb_rows();
    let mut probes = 0;
    for row in rows.iter().filter(|row| !NOT_DRUNK.contains(&row.get("key"))) {
        let (entry, herb) = as_reference(row);
        probes += run_probes(row, &entry, herb);
    }
    assert!(probes > 1000, "{probes}");
}

/// Rows in which the greatest dose, taken as often as is stated, is more than the stated most of a day.
#[test]
fn where_single_times_often_is_more_than_the_most_of_a_day_the_most_rules() {
    let mut met = 0;
    for row in herb_rows() {
        let (Some(most), Some(times), Some(day)) = (
            row.maybe("single_max_g"),
            row.maybe("times_per_day_max"),
            row.maybe("daily_max_g"),
        ) else {
            continue;
        };
        if &most * &times <= day {
            continue;
        }
        met += 1;
        let (reference, herb) = as_reference(row);
        for (entry, herb) in [(as_entry(row), "test herb"), (reference, herb)] {
            let text = format!(
                "{entry}\nformula probe\n  take {herb} 1 kg\n  {} {} g in 1 cup of water\n  dose 1 cup, {times} times a day\n",
                word(row),
                row.get("single_max_g"),
            );
            let said = about_the_dose(&ledger(&text), "probe");
            assert_eq!(
                said,
                BTreeSet::from(["error over-the-daily-most".to_owned()]),
                "{herb}\n{text}"
            );
        }
    }
    assert!(met >= 5, "{met}");
}

#[test]
fn how_long_it_stands_and_how_long_it_is_taken() {
    let mut steeped = 0;
    let mut lasting = 0;
    for row in herb_rows() {
        let bounds = stated(row);
        let amount = bounds
            .most
            .as_ref()
            .map_or("1 mg".to_owned(), |_| format!("{} g", row.get("single_max_g")));
        let (least, most) = (row.maybe("steep_min_minutes"), row.maybe("steep_max_minutes"));
        let ten = least.clone().unwrap_or_else(|| r(10, 1));
        // Minutes, days if any are directed, and what must be said.
        let mut cases: Vec<(R, Option<R>, Option<&str>)> = Vec::new();
        if let (Some(least), Some(most)) = (&least, &most) {
            steeped += 1;
            cases.push((least - r(1, 1), None, Some("notice steeps-too-short")));
            cases.push((least.clone(), None, None));
            cases.push((most.clone(), None, None));
            cases.push((most + r(1, 1), None, Some("notice steeps-too-long")));
        }
        if let Some(days) = &bounds.days {
            lasting += 1;
            cases.push((ten.clone(), Some(days.clone()), None));
            cases.push((ten.clone(), Some(days + r(1, 1)), Some("warning taken-too-long")));
        }
        let (reference, name) = as_reference(row);
        for (entry, herb) in [(as_entry(row), "test herb"), (reference, name)] {
            let mut text = entry;
            for (at, (minutes, days, _)) in cases.iter().enumerate() {
                let days = days
                    .as_ref()
                    .map_or(String::new(), |days| format!(", for {days} days"));
                writeln!(
                    text,
                    "\nformula probe {at} x\n  take {herb} 1 kg\n  {} {amount} in 1 cup of water for {minutes} minutes\n  dose 1 cup, once a day{days}",
                    word(row)
                )
                .unwrap();
            }
            let snapshot = ledger(&text);
            for (at, (minutes, days, code)) in cases.iter().enumerate() {
                let said = about_the_dose(&snapshot, &format!("probe {at} x"));
                let wanted: BTreeSet<String> = code.iter().map(|code| (*code).to_owned()).collect();
                assert_eq!(said, wanted, "{herb}: {minutes} minutes, {days:?} days");
            }
        }
    }
    assert!(steeped >= 70 && lasting >= 50, "{steeped} {lasting}");
}

/// Every figure of the reference says where it comes from, and whether it was remembered as the table says.
#[test]
fn the_reference_marks_what_was_remembered() {
    let mut figures = 0;
    for row in herb_rows() {
        let (entry, herb) = as_reference(row);
        let snapshot = ledger(&entry);
        let substance = snapshot
            .ledger
            .substances
            .iter()
            .find(|one| one.name == herb)
            .unwrap();
        let books = substance
            .doses
            .iter()
            .map(|line| line.book)
            .chain(substance.mosts.iter().map(|line| line.book));
        for book in books {
            figures += 1;
            let book = &snapshot.ledger.books
                [book.unwrap_or_else(|| panic!("{herb} has a figure without a source"))];
            assert!(!book.citation.trim().is_empty(), "{herb}: {}", book.name.text);
            if row.get("source_status") == "memory" && book.from_memory {
                continue;
            }
            // What was read is said to have been read only where the table says so: in the status, or in the note.
            assert!(
                book.from_memory || row.get("source_status") == "verified" || row.get("note").contains("een"),
                "{herb}: {} counts as read, and the table says nothing of that",
                book.name.text
            );
        }
    }
    assert!(figures > 150, "{figures}");
}

/// What the notes of the table give for children: fennel, 4 to 12 years, 3 to 5 g a day (verified); lime flower,
/// 4 to 12 years, 1 g at once (from memory). As three, and as two to four, doses a day; held against a line for that
/// age without anybody named, and against the tea of somebody of eight.
#[test]
fn the_children_of_the_notes() {
    for (key, note, dose, milligrams, times) in [
        (
            "fennel-fruit",
            "child 4-12: 3-5 g a day",
            "1 to 1.6 g, 3 times a day",
            1600,
            3,
        ),
        (
            "lime-flower",
            "Child 4-12: 1 g",
            "1 g, 2 to 4 times a day",
            1000,
            4,
        ),
    ] {
        let row = herb_rows().iter().find(|row| row.get("key") == key).unwrap();
        assert!(row.get("note").contains(note), "{key}: {}", row.get("note"));
        let entry = as_entry(row) + &format!("  dose   age 4 to 12: {dose}   source table\n");
        for (more, expected) in [(0, false), (1, true)] {
            let cup = milligrams + more;
            let text = format!(
                "{entry}\nformula probe\n  take   test herb 100 g\n  infuse   {cup} mg in 1 cup of water for {} minutes\n  \
                 dose   1 cup, once a day\n  dose   age 6 to 9: 1 cup, {times} times a day\n",
                row.get("steep_min_minutes")
            );
            let wanted: BTreeSet<String> = if expected {
                ["error over-the-daily-most", "warning above-the-most-at-once"]
                    .map(str::to_owned)
                    .into()
            } else {
                BTreeSet::new()
            };
            let mut said = about_the_dose(&ledger(&text), "probe");
            // A cup of a child is little for a grown-up.
            said.remove("notice below-the-least-dose");
            assert_eq!(said, wanted, "{key}: {cup} mg");
            let own = super::reckoned_for(&ledger(&text), "probe", Some("8"));
            let most = own.herbs[0].published.most_at_once.unwrap().0;
            assert_eq!(exactly(most), r(milligrams, 1000));
        }
    }
}
