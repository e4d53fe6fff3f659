//! `record`: readings from a pipe into the text, whole or not at all.

use std::io::Write;
use std::process::Stdio;

use super::{codes, ledger};
use crate::sandbox::Sandbox;

const HERBS: &str = "\
practice
  scales 0.1 g

herb mint
herb fennel
material \"E 330\"

formula two tea
  take
    mint      30 g
    fennel    20 g
    \"E 330\"   1 g

lot M-1 of mint
  received   2026-09-01
  amount     40 g
  best before  2027-01

lot M-2 of mint
  received   2026-09-01
  amount     1 kg
  best before  2028-01

lot F-1 of fennel
  received   2026-09-01
  amount     1 kg
";

const PLAN: &str = "\
# The plan of December.
batch two tea on 2026-12-01   # before the market
  make         102 g          # two jars
# What comes next is another day's.
batch two tea on 2026-12-02
  make         51 g
";

fn sandbox(plan: &str) -> Sandbox {
    Sandbox::new()
        .file("practice.scruple", HERBS)
        .file("plan.scruple", plan)
}

/// Runs with lines piped in; gives the exit code, what was said, and the plan's text afterwards.
fn record(sandbox: &Sandbox, arguments: &[&str], readings: &str) -> (i32, String, String) {
    let mut all = vec!["record", "two tea on 2026-12-01"];
    all.extend(arguments);
    let mut command = sandbox.command(all).prepare();
    let mut child = command.stdin(Stdio::piped()).spawn().unwrap();
    // A program that refuses early has closed its end.
    let _ = child.stdin.take().unwrap().write_all(readings.as_bytes());
    let output = child.wait_with_output().unwrap();
    let said = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    let text = std::fs::read_to_string(sandbox.path().join("plan.scruple")).unwrap();
    (output.status.code().unwrap(), said, text)
}

#[test]
fn readings_are_written_below_the_batch_and_comments_stay() {
    let sandbox = sandbox(PLAN);
    let (status, said, text) = record(
        &sandbox,
        &["--yielded", "101.2 g", "--weighed-by", "R", "--checked-by", "M"],
        "ST,GS,+  60.10 g\r\n\n40.0 g from F-1\n2.0\n",
    );
    // The scales gave no lots for two of them: a notice.
    assert_eq!(status, 0, "{said}");
    assert!(said.contains("batch-without-lots"), "{said}");
    assert!(said.contains("3 lines were written into plan.scruple"), "{said}");
    assert_eq!(
        text,
        "\
# The plan of December.
batch two tea on 2026-12-01   # before the market
  make         102 g          # two jars
  used
    mint                          60.10 g
    fennel                        40.0 g from F-1
    \"E 330\"                       2.0 g
  yielded      101.2 g
  weighed by   R
  checked by   M
# What comes next is another day's.
batch two tea on 2026-12-02
  make         51 g
"
    );
    // A second time nothing is written over.
    let (status, said, after) = record(&sandbox, &[], "1\n2\n3\n");
    assert_eq!((status, after), (2, text), "{said}");
    assert!(said.contains("has its record already"), "{said}");
}

#[test]
fn the_lots_that_are_proposed_are_taken_only_when_somebody_says_so() {
    let sandbox = sandbox(PLAN);
    let (status, said, text) = record(&sandbox, &["--lots-as-proposed"], "60.0\n40.0\n2.0\n");
    assert_eq!(status, 0, "{said}");
    // M-1 expires first and holds 40 g; of E 330 there is no lot, so none is made up.
    assert!(
        text.contains("    mint                          40 g from M-1, 20 g from M-2\n"),
        "{text}"
    );
    assert!(
        text.contains("    fennel                        40.0 g from F-1\n"),
        "{text}"
    );
    assert!(
        text.contains("    \"E 330\"                       2.0 g\n"),
        "{text}"
    );
}

#[test]
fn a_weighing_off_its_target_is_written_and_told() {
    let sandbox = sandbox(PLAN);
    let (status, said, text) = record(&sandbox, &[], "70 from M-2\n40 from F-1\n2.0\n");
    assert_eq!(status, 1, "{said}");
    assert!(said.contains("weighed-off-target"), "{said}");
    assert!(text.contains("70 g from M-2"), "{text}");
}

#[test]
fn what_is_not_whole_is_not_written() {
    for (arguments, readings, why) in [
        (&[][..], "60\n40\n", "there is no reading for E 330"),
        (&[], "60\n40\n2\n1\n", "more readings than herbs"),
        (&[], "60\nforty\n2\n", "`forty` is no reading"),
        (&[], "60\n40 oz\n2\n", "its unit is another"),
        (&[], "60\n-40\n2\n", "is no reading"),
        (&[], "60\n4,0\n2\n", "is no reading"),
        (&[], "60 from A B\n40\n2\n", "is no lot"),
        (&["--yielded", "a lot"], "60\n40\n2\n", "nothing was written"),
        (&["--yielded", "5 g\nused"], "60\n40\n2\n", "on one line"),
        (&["--weighed-by", "R # M"], "60\n40\n2\n", "without `#`"),
        (&["--weighed-by", "  "], "60\n40\n2\n", "a few words"),
    ] {
        let sandbox = sandbox(PLAN);
        let (status, said, text) = record(&sandbox, arguments, readings);
        assert_eq!(status, 2, "{readings:?}: {said}");
        assert!(said.contains(why), "{readings:?}: {said}");
        assert_eq!(text, PLAN, "{readings:?}");
    }
}

#[test]
fn line_ends_and_a_missing_last_one_are_kept() {
    let plan = "batch two tea on 2026-12-01\r\n\tmake 102 g";
    let sandbox = sandbox(plan);
    let (status, said, text) = record(&sandbox, &[], "60 from M-2\n40 from F-1\n2\n");
    assert_eq!(status, 0, "{said}");
    assert_eq!(
        text,
        "batch two tea on 2026-12-01\r\n\tmake 102 g\r\n\tused\r\n\t\tmint                          60 g from M-2\r\n\t\tfennel                        40 g from F-1\r\n\t\t\"E 330\"                       2 g\r\n"
    );
}

#[test]
fn a_batch_that_is_not_there_is_not_recorded() {
    let sandbox = sandbox(PLAN);
    for (batch, why) in [
        ("two tea on 2026-12-09", "there is no batch"),
        ("three tea on 2026-12-01", "there is no `three tea`"),
        ("two tea", "there is no lot `two tea`"),
    ] {
        sandbox.run(["record", batch]).fails(why);
    }
}

// ---- findings that no page shows --------------------------------------------------------------

const BOOK: &str = "\
herb mint
herb fennel
formula tea
  take
    mint 30 g
    fennel 8 to 12 g
lot M-1 of mint
  received 2026-09-01
  amount 100 g
lot F-1 of fennel
  received 2026-09-01
  amount 100 g
";

fn with(more: &str) -> Vec<&'static str> {
    codes(&ledger(&format!("{BOOK}{more}")))
}

#[test]
fn a_choice_left_open_is_no_error_of_weighing() {
    let batch = |fennel: &str| {
        with(&format!(
            "batch tea on 2026-11-01\n  make 40 g\n  used\n    mint 30 g from M-1\n    fennel {fennel} from F-1\n"
        ))
    };
    // 8 to 12 g, and 5 % of 10 g beyond.
    for fennel in ["8 g", "12 g", "7.5 g", "12.5 g"] {
        assert_eq!(batch(fennel), [""; 0], "{fennel}");
    }
    for fennel in ["7.4 g", "12.6 g"] {
        assert_eq!(batch(fennel), ["weighed-off-target"], "{fennel}");
    }
}

#[test]
fn all_that_stock_allows_is_what_runs_out_first_and_a_made_batch_is_as_large_as_it_was() {
    let planned = format!("{BOOK}batch tea on 2026-11-01\n  make all that stock allows\n");
    let snapshot = ledger(&planned);
    assert_eq!(codes(&snapshot), [""; 0]);
    let sized = scruple::book::size::of_batch(
        super::reckoned(&snapshot),
        &snapshot.book,
        0,
        &snapshot.ledger.batches[0],
    )
    .unwrap();
    // 100 g of mint at 30 g are 3 1/3 times 40 g; of fennel there would be enough for ten.
    assert_eq!(sized.sheet.target.unwrap().to_string(), "133.3");
    assert_eq!(sized.plan.working, ["mint runs out first"]);
    let made = planned + "  used\n    mint 100 g from M-1\n    fennel 33.3 g from F-1\n";
    assert_eq!(codes(&ledger(&made)), [""; 0]);
}

#[test]
fn a_step_of_the_scales_is_no_error() {
    let batch = |grams: &str| {
        codes(&ledger(&format!(
            "herb mint\nherb rose\nformula tea\n  take\n    mint 100 g\n    rose 1 g\n\
             batch tea on 2026-11-01\n  make 101 g\n  used\n    mint 100 g\n    rose {grams} g\n"
        )))
    };
    assert_eq!(batch("1.1"), ["batch-without-lots"]);
    assert_eq!(batch("1.2"), ["batch-without-lots", "weighed-off-target"]);
}

#[test]
fn a_shelf_is_short_in_the_order_of_days_whatever_the_order_of_lines() {
    let supply = |day: u32, grams: u32| {
        format!("supply tea on 2026-11-{day:02}\n  amount {grams} g\n  from batch 2026-11-01\n")
    };
    let batch = "batch tea on 2026-11-01\n  used\n    mint 30 g from M-1\n    fennel 10 g from F-1\n";
    let texts = [supply(9, 20), supply(2, 15), supply(5, 10)];
    for order in [[0, 1, 2], [2, 1, 0], [1, 2, 0]] {
        let parts: Vec<&str> = order.iter().map(|at| texts[*at].as_str()).collect();
        let snapshot = ledger(&format!("{BOOK}{}{batch}", parts.concat()));
        assert_eq!(codes(&snapshot), ["more-than-there-was"]);
        // 15 + 10 + 20 of 40: it is the last, of which 15 were left.
        let finding = &snapshot.diagnostics[0];
        assert_eq!(
            finding.message,
            "this takes 20 g from the batch of tea on 2026-11-01, of which 15 g was left"
        );
        assert_eq!(snapshot.sources.text(finding.span).trim(), "amount 20 g");
    }
}

#[test]
fn a_batch_is_not_taken_from_before_it_is_made_nor_while_it_is_planned() {
    assert_eq!(
        with(
            "batch tea on 2026-11-05\n  used\n    mint 30 g from M-1\n    fennel 10 g from F-1\n\
              supply tea on 2026-11-04\n  amount 10 g\n  from batch 2026-11-05\n"
        ),
        ["not-yet-received"]
    );
    assert_eq!(
        with(
            "batch tea on 2026-11-05\n  make 40 g\nsupply tea on 2026-11-06\n  amount 10 g\n  from batch 2026-11-05\n"
        ),
        ["not-yet-received"]
    );
    assert_eq!(
        with("lot M-9 of mint\n  amount 10 g\nsupply mint on 2026-11-06\n  amount 5 g\n  from lot M-9\n"),
        ["not-yet-received"]
    );
}

#[test]
fn a_batch_in_a_circle_harms_nothing() {
    let snapshot = ledger(
        "herb mint\nformula a\n  take mint 1 g\nformula b\n  take a 1 g\n\
         batch a on 2026-11-01\n  used\n    b 1 g from 2026-11-01\n\
         batch b on 2026-11-01\n  used\n    a 1 g from 2026-11-01\n",
    );
    assert!(snapshot.book.in_order.is_empty());
    assert_eq!(
        codes(&snapshot),
        ["not-what-the-formula-takes", "not-what-the-formula-takes"]
    );
}

#[test]
fn the_oil_of_a_macerate_may_be_used_though_no_line_takes_it() {
    let book = |used: &str| {
        codes(&ledger(&format!(
            "herb yarrow\nmaterial olive oil\nmaterial vinegar\nformula yarrow oil\n  take yarrow 100 g\n  macerate 1:5 in olive oil for 3 days\n  makes 450 ml\n\
             lot Y of yarrow\n  received 2026-01\n  amount 1 kg\nlot O of olive oil\n  received 2026-01\n  amount 2 litres\nlot V of vinegar\n  received 2026-01\n  amount 2 litres\n\
             batch yarrow oil on 2026-02-01\n  make 450 ml\n  used\n    yarrow 100 g from Y\n    {used}\n  yielded 440 ml\n"
        )))
    };
    assert_eq!(book("olive oil 500 ml from O"), [""; 0]);
    assert_eq!(book("vinegar 500 ml from V"), ["not-what-the-formula-takes"]);
}

#[test]
fn a_volume_is_taken_from_a_weight_by_its_density_only() {
    let book = |density: &str| {
        ledger(&format!(
            "material honey\n{density}formula drink\n  take honey 100 ml\nlot H of honey\n  received 2026-01\n  amount 1 kg\n\
             supply honey on 2026-02-01\n  amount 100 ml\n  from lot H\n"
        ))
    };
    assert_eq!(codes(&book("")), ["wrong-sort-of-measure"]);
    let known = book("  density 1.42 g per ml\n");
    assert_eq!(codes(&known), [""; 0]);
    let left = known.book.lots[0].left(super::on("2026-12-31")).unwrap();
    assert_eq!(left.written(), "858 g");
}

#[test]
fn a_batch_is_good_as_long_as_the_first_of_its_limits() {
    let last = |lots: [&str; 2], keep: &str, own: &str| {
        let snapshot = ledger(&format!(
            "herb mint\nherb fennel\nformula tea\n  take\n    mint 1 g\n    fennel 1 g\n{keep}\
             lot M of mint\n  received 2026-01\n  amount 1 kg\n{}lot F of fennel\n  received 2026-01\n  amount 1 kg\n{}\
             batch tea on 2026-02-10\n  used\n    mint 1 g from M\n    fennel 1 g from F\n{own}",
            lots[0], lots[1]
        ));
        snapshot.book.batches[0].best_before.map(|day| day.to_string())
    };
    let keep = "  keep 12 months, sealed jar\n";
    let lots = ["  best before 2026-09\n", "  best before 2026-08-15\n"];
    assert_eq!(last(["", ""], "", ""), None);
    assert_eq!(last(["", ""], keep, "").as_deref(), Some("2027-02-10"));
    assert_eq!(last(lots, keep, "").as_deref(), Some("2026-08-15"));
    assert_eq!(last([lots[0], ""], keep, "").as_deref(), Some("2026-09-30"));
    assert_eq!(
        last(lots, keep, "  best before 2026-06\n").as_deref(),
        Some("2026-06-30")
    );
}
