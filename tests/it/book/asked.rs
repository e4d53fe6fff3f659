//! What can be asked of the book: stock, traces, orders, costs and what expires, in every form.

use std::collections::BTreeSet;

use crate::sandbox::{Sandbox, in_project};

const DEMO: &str = "examples/low-barn";
const ON: [&str; 2] = ["--on", "2026-11-30"];

#[test]
fn stock_goes_back_to_any_day() {
    let left = |day: &str| {
        let json = in_project([
            "stock",
            "spearmint leaf",
            "--on",
            day,
            "--as",
            "json",
            "--in",
            DEMO,
        ])
        .run()
        .json();
        json["things"][0]["left"][0]["amount"]
            .as_str()
            .unwrap_or("none")
            .to_owned()
    };
    assert_eq!(left("2026-08-19"), "none");
    assert_eq!(left("2026-08-20"), "1000");
    // The first garden tea takes 120 g on the fifteenth.
    assert_eq!(left("2026-09-14"), "1000");
    let after: f64 = left("2026-09-15").parse().unwrap();
    assert!((879.0..=881.0).contains(&after), "{after}");
}

#[test]
fn a_recall_is_one_command_and_says_all() {
    let asked = |more: &[&str]| {
        let words = ["trace", "FE-198", "--in", DEMO];
        in_project(words.iter().chain(&ON).chain(more)).run()
    };
    let ran = asked(&["--recall"]).stdout;
    let json = asked(&["--as", "json"]).json();
    let people = json["persons"].as_array().unwrap();
    assert!(people.len() > 5, "{people:?}");
    for code in people {
        assert!(ran.contains(code.as_str().unwrap()));
    }
    let supplies = json["supplies"].as_array().unwrap();
    assert!(ran.contains(&format!(
        "Who got of it: {} supplies to {} people",
        supplies.len(),
        people.len()
    )));
    for shelf in json["on_shelves"].as_array().unwrap() {
        assert!(ran.contains(shelf["called"].as_str().unwrap()), "{shelf}");
    }
    assert!(ran.contains("the seed merchant"));
    assert!(ran.contains("Local law and licensed practice"));
    // The lot is used up, so all of it is elsewhere.
    assert_eq!(json["account"]["left"], "0");
    assert_eq!(json["account"]["came_in"], json["account"]["used"]);
}

#[test]
fn a_supply_is_followed_back_to_its_lots() {
    let words = ["trace", "supply after-supper tea on 2026-11-05", "--in", DEMO];
    in_project(words)
        .run()
        .status(0)
        .says("person 040")
        .says("50 g in the batch of after-supper tea");
    // Two people got of it on that day.
    let json = in_project(words.iter().chain(&["--as", "json"])).run().json();
    let reports = json.as_array().unwrap();
    assert_eq!(reports.len(), 2);
    for report in reports {
        let lots: BTreeSet<(&str, &str, &str)> = report["back"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|one| one["kind"] == "lot")
            .map(|one| {
                let text = |field: &str| one[field].as_str().unwrap();
                (text("called"), text("day"), text("supplier"))
            })
            .collect();
        assert_eq!(lots.len(), 8);
        assert!(lots.contains(&("PM-114", "2026-09-14", "the mint growers")));
        assert!(lots.contains(&("RO-026", "2026-07-11", "the flower picker")));
    }
    // A blend made of a blend: the lots of the garden tea are in the hall tea.
    let ran = in_project(["trace", "hall tea for one table on 2026-09-29", "--in", DEMO]).run();
    ran.status(0)
        .says("in the batch of garden tea on 2026-09-15")
        .says("lot SP-052");
}

#[test]
fn a_name_that_the_book_does_not_have_is_told_with_the_nearest() {
    for (arguments, why, help) in [
        (&["trace", "PM-115"][..], "there is no lot `PM-115`", "PM-11"),
        (
            &["trace", "after-supper tea on 2026-11-04"],
            "there is no batch",
            "2026-11-03",
        ),
        (
            &["trace", "supply garden tea on 2026-01-01"],
            "nothing was handed out",
            "supply",
        ),
        (&["stock", "basil leaf"], "there is no `basil leaf`", ""),
        (
            &["stock", "--on", "30.11.2026"],
            "`30.11.2026` is no day",
            "2026-11-30",
        ),
        (&["cost", "garden tea on 2026-12-02"], "is planned", "price list"),
        (
            &["cost", "garden tea on 2026-11-05", "--make", "1 kg"],
            "a batch has its size",
            "",
        ),
        (
            &["weigh", "garden tea on 2026-11-05", "--make", "1 kg"],
            "a batch has its size",
            "",
        ),
    ] {
        let ran = in_project(arguments.iter().copied().chain(["--in", DEMO])).run();
        ran.fails(why);
        assert!(ran.stderr.contains(help), "{arguments:?}: {}", ran.stderr);
    }
}

#[test]
fn only_the_book_prints_rows_and_calendars() {
    for (arguments, why) in [
        (
            &["weigh", "garden tea", "--as", "csv"][..],
            "print rows for a spreadsheet",
        ),
        (&["check", "--as", "csv"], "print rows for a spreadsheet"),
        (&["check", "--as", "ics"], "only `expires` prints a calendar"),
        (&["stock", "--as", "ics"], "only `expires` prints a calendar"),
        (&["trace", "PM-114", "--as", "sarif"], "only `check` prints SARIF"),
        (&["order", "--as", "sarif"], "only `check` prints SARIF"),
        (
            &["cost", "garden tea", "--as", "csv"],
            "print rows for a spreadsheet",
        ),
    ] {
        in_project(arguments.iter().copied().chain(["--in", DEMO]))
            .run()
            .fails(why);
    }
}

/// Cells of rows by RFC 4180, read here without the program.
fn cells(text: &str) -> Vec<Vec<String>> {
    let mut rows = vec![vec![String::new()]];
    let mut quoted = false;
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        let row = rows.last_mut().unwrap();
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                row.last_mut().unwrap().push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(String::new()),
            '\r' if !quoted => {
                assert_eq!(letters.next(), Some('\n'), "a line ends in CRLF");
                rows.push(vec![String::new()]);
            }
            other => row.last_mut().unwrap().push(other),
        }
    }
    assert_eq!(rows.pop(), Some(vec![String::new()]), "the last row has its end");
    rows
}

#[test]
fn rows_are_whole_and_run_nothing() {
    for arguments in [&["stock"][..], &["trace", "PM-114"], &["order"], &["expires"]] {
        let ran = in_project(
            arguments
                .iter()
                .copied()
                .chain(ON)
                .chain(["--as", "csv", "--in", DEMO]),
        )
        .run();
        let rows = cells(&ran.status(0).stdout);
        assert!(rows.len() > 2, "{arguments:?}");
        assert!(rows.iter().all(|row| row.len() == rows[0].len()), "{arguments:?}");
    }
    let sandbox = Sandbox::new().file(
        "practice.scruple",
        "herb =cmd()\nherb @sum\nlot -L1 of =cmd()\n  received 2026-01-01\n  amount 1 kg\n  supplier +1, \"quoted\"\n  best before 2027-01\n",
    );
    let ran = sandbox.run(["stock", "--as", "csv", "--on", "2026-02-01"]);
    let rows = cells(&ran.status(0).stdout);
    assert_eq!(rows[1][1], "'=cmd()");
    assert_eq!(rows[1][3], "'-L1");
    assert_eq!(rows[1][4], "1000");
    assert_eq!(rows[1][8], "'+1, \"quoted\"");
}

#[test]
fn a_calendar_is_well_formed_and_stays_the_same() {
    let of = |day: &str| {
        let ran = in_project(["expires", "--on", day, "--as", "ics", "--in", DEMO]).run();
        ran.status(0).stdout.clone()
    };
    let text = of("2026-11-30");
    // RFC 5545, section 3.1: lines end in CRLF and are at most 75 octets long.
    assert!(text.ends_with("END:VCALENDAR\r\n"));
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    assert!(text.split("\r\n").all(|line| line.len() <= 75));
    let lines: Vec<String> = text
        .replace("\r\n ", "")
        .split_terminator("\r\n")
        .map(str::to_owned)
        .collect();
    assert_eq!(lines[0], "BEGIN:VCALENDAR");
    assert_eq!(lines[1], "VERSION:2.0");
    let value = |line: &str, name: &str| line.strip_prefix(name).map(str::to_owned);
    let uids: Vec<String> = lines.iter().filter_map(|line| value(line, "UID:")).collect();
    assert_eq!(uids.iter().collect::<BTreeSet<_>>().len(), uids.len());
    let count = |name: &str| lines.iter().filter(|line| line.starts_with(name)).count();
    // Section 3.6.1: UID and DTSTAMP stand in each event, once; DTSTART where there is no METHOD.
    for name in ["BEGIN:VEVENT", "DTSTAMP:", "DTSTART;VALUE=DATE:", "END:VEVENT"] {
        assert_eq!(count(name), uids.len(), "{name}");
    }
    // The clock is in it nowhere: the same day gives the same bytes, and a later day the same names and stamps.
    assert_eq!(text, of("2026-11-30"));
    let stamps = |text: &str| -> BTreeSet<(String, String)> {
        let joined = text.replace("\r\n ", "");
        joined
            .split("BEGIN:VEVENT")
            .skip(1)
            .map(|event| {
                let of = |name: &str| {
                    event
                        .lines()
                        .find_map(|line| line.strip_prefix(name))
                        .unwrap()
                        .to_owned()
                };
                (of("UID:"), of("DTSTAMP:"))
            })
            .collect()
    };
    let (before, after) = (stamps(&text), stamps(&of("2026-12-01")));
    assert!(after.is_subset(&before));
}

#[test]
fn what_is_short_ends_with_1() {
    let sandbox = Sandbox::new().file(
        "practice.scruple",
        "herb mint\nlot M of mint\n  received 2026-01-01\n  amount 10 g\nsupply mint on 2026-01-02\n  amount 11 g\n  from lot M\n",
    );
    sandbox
        .run(["stock", "--on", "2026-01-02"])
        .status(1)
        .says("-1 g")
        .says("more was taken than was there");
    sandbox
        .run(["stock", "--on", "2026-01-01"])
        .status(0)
        .says("10 g");
    sandbox.run(["check"]).status(1).says("more-than-there-was");
}

#[test]
fn every_document_of_the_book_bears_the_cautions_that_stand() {
    for arguments in [
        &["stock"][..],
        &["trace", "PM-114"],
        &["trace", "PM-114", "--recall"],
        &["order"],
        &["expires"],
    ] {
        for form in ["text", "html", "markdown"] {
            let ran = in_project(
                arguments
                    .iter()
                    .copied()
                    .chain(ON)
                    .chain(["--as", form, "--in", DEMO]),
            )
            .run();
            ran.stderr("");
            assert!(ran.stdout.contains("In an emergency"), "{arguments:?} as {form}");
        }
    }
    for form in ["text", "html", "markdown"] {
        let ran = in_project(["cost", "garden tea", "--as", form, "--in", DEMO]).run();
        assert!(ran.stdout.contains("In an emergency"));
    }
}

#[test]
fn a_recall_also_finds_what_may_hold_the_lot_and_says_where_it_may_be_blind() {
    let sandbox = Sandbox::new().file(
        "practice.scruple",
        "herb mint\nherb fennel\nformula tea\n  take\n    mint 10 g\n    fennel 10 g\n\
         lot M of mint\n  received 2026-01-01\n  amount 1 kg\nlot F of fennel\n  received 2026-01-01\n  amount 1 kg\n\
         batch tea on 2026-02-01\n  used\n    mint 10 g from F\n    fennel 10 g from F\n  yielded 20 g\n\
         batch tea on 2026-02-02\n  used\n    mint 10 g from F\n    fennel 10 g\n  yielded 20 g\n\
         supply tea on 2026-02-03\n  amount 5 g\n  from batch 2026-02-01\n  to person 7\n\
         supply tea on 2026-02-03\n  amount 5 g\n  from batch 2026-02-02\n  to person 8\n\
         person 7\n  age 30\nperson 8\n  age 40\n",
    );
    let ran = sandbox.run(["trace", "F", "--recall", "--on", "2026-03-01"]);
    // It is not sure that what is called mint came from the lot of fennel; whoever may have it is named.
    ran.status(0)
        .says("2 supplies to 2 people")
        .says("errors in lots, batches and supplies: 2")
        .says("not known");
    let json = sandbox
        .run(["trace", "F", "--as", "json", "--on", "2026-03-01"])
        .json();
    assert_eq!(json["persons"], serde_json::json!(["7", "8"]));
}
