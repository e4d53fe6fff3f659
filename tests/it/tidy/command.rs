//! The command as typed: what it says, what it writes, how it ends.

use crate::sandbox::{Sandbox, in_project};

const DEMO: &str = "examples/low-barn";

const UNTIDY: &str = "herb fennel fruit\n\tteaspoon 2grams # own\nformula seed tea\n  take\n    fennel fruit 2–3 tsp,bruised\n";

const TIDY: &str = "herb fennel fruit
  teaspoon          2 g                           # own

formula seed tea
  take
    fennel fruit                  2 to 3 teaspoons, bruised
";

fn text(sandbox: &Sandbox, path: &str) -> String {
    std::fs::read_to_string(sandbox.path().join(path)).unwrap()
}

fn two_files() -> Sandbox {
    Sandbox::new()
        .file("practice.scruple", "practice\n  scales       0.1 g\n")
        .file("formulas/tea.scruple", UNTIDY)
}

// ---- writing --------------------------------------------------------------------------------

#[test]
fn a_ledger_is_tidied_and_is_tidy_then() {
    let sandbox = two_files();
    let before = sandbox
        .run(["weigh", "seed tea", "--make", "50 g", "--as", "json"])
        .json();
    sandbox
        .run(["tidy"])
        .status(0)
        .stderr("")
        .stdout("Tidied 1 of 2 files.\n\ntidied   formulas/tea.scruple\n");
    assert_eq!(text(&sandbox, "formulas/tea.scruple"), TIDY);
    sandbox
        .run(["tidy"])
        .status(0)
        .stderr("")
        .stdout("All 2 files are tidy already.\n");
    let after = sandbox
        .run(["weigh", "seed tea", "--make", "50 g", "--as", "json"])
        .json();
    assert_eq!(before["lines"][0]["grams"], after["lines"][0]["grams"]);
    assert_eq!(before["total"], after["total"]);
}

#[test]
fn only_what_is_named_is_tidied() {
    let sandbox = two_files()
        .file("materia/a.scruple", "herb a\n  keep x\n")
        .file("materia/b.scruple", "herb b\n  keep x\n");
    sandbox
        .run(["tidy", "materia/b.scruple"])
        .status(0)
        .says("Tidied 1 of 1 file.");
    assert_eq!(text(&sandbox, "materia/a.scruple"), "herb a\n  keep x\n");
    assert_eq!(
        text(&sandbox, "materia/b.scruple"),
        "herb b\n  keep              x\n"
    );
    // A folder stands for all that lies in it, and a path may begin at the ledger.
    sandbox
        .command(["tidy", "materia", "--in", ".."])
        .below("formulas")
        .run()
        .status(0)
        .says("Tidied 1 of 2 files.");
    assert_eq!(text(&sandbox, "formulas/tea.scruple"), UNTIDY);
}

#[test]
fn a_name_that_leads_nowhere_changes_nothing() {
    let sandbox = two_files().file("letter.txt", "herb a\n").folder("empty");
    let before = sandbox.files();
    sandbox
        .run(["tidy", "formulas/tea.scruple", "no.scruple"])
        .fails("there is no file `no.scruple`");
    sandbox
        .run(["tidy", "formulas/tea.scruple", "letter.txt"])
        .fails("`letter.txt` is no file of a ledger");
    sandbox
        .run(["tidy", "--as", "sarif"])
        .fails("only `check` prints SARIF");
    Sandbox::new().run(["tidy"]).fails("there is no ledger");
    sandbox
        .run(["tidy", sandbox.path().join("empty").to_str().unwrap()])
        .fails("no file of a ledger lies there");
    assert_eq!(before, sandbox.files());
}

#[test]
fn a_file_with_a_slip_is_named_and_the_others_are_tidied() {
    let sandbox = two_files()
        .file("slip.scruple", "herb a\n  teaspoon 1,5 g\n  keep x\n")
        .file("bytes.scruple", b"herb k\xfcmmel\n  keep x\n");
    let ran = sandbox.run(["tidy"]);
    ran.status(1)
        .stderr("")
        .says("comma-in-a-number")
        .says("not-utf-8")
        .says("Tidied 1 of 4 files.")
        .says("`slip.scruple` is left as it is")
        .says("`bytes.scruple` is left as it is");
    assert_eq!(
        text(&sandbox, "slip.scruple"),
        "herb a\n  teaspoon 1,5 g\n  keep x\n"
    );
    assert_eq!(text(&sandbox, "formulas/tea.scruple"), TIDY);
}

/// A ledger whose names are unknown or whose spoons weigh nothing is written as tidily as any.
#[test]
fn only_errors_of_form_keep_a_file_from_being_tidied() {
    let sandbox = Sandbox::new().file("a.scruple", "formula a\n  take\n    unheard of 2 tsp\n");
    sandbox.run(["check"]).status(1);
    sandbox.run(["tidy"]).status(0);
    assert_eq!(
        text(&sandbox, "a.scruple"),
        "formula a\n  take\n    unheard of                    2 teaspoons\n"
    );
}

// ---- looking first --------------------------------------------------------------------------

#[test]
fn check_shows_the_difference_and_writes_nothing() {
    let sandbox = two_files();
    let before = sandbox.files();
    sandbox.run(["tidy", "--check"]).status(1).stderr("").stdout(
        "formulas/tea.scruple
     2 -  teaspoon [2grams] # own
       +   teaspoon          [2 g]                           # own
       +
     5 -     fennel fruit [2–3 tsp,bruised]
       +     fennel fruit                  [2 to 3 teaspoons, bruised]

Would tidy 1 of 2 files; nothing was written.
",
    );
    assert_eq!(before, sandbox.files());
    sandbox.run(["tidy"]).status(0);
    sandbox
        .run(["tidy", "--check"])
        .status(0)
        .stdout("All 2 files are tidy already.\n");
}

#[test]
fn check_names_what_it_would_leave_alone() {
    let sandbox = Sandbox::new().file("slip.scruple", "nonsense\n");
    sandbox
        .run(["tidy", "--check"])
        .status(1)
        .says("unknown-entry")
        .says("`slip.scruple` is left as it is: it holds an error");
}

#[test]
fn line_ends_alone_are_a_difference_too() {
    let sandbox = Sandbox::new().file("a.scruple", "\u{feff}herb a");
    sandbox.run(["tidy", "--check"]).status(1).says("a.scruple\n");
    sandbox.run(["tidy"]).status(0);
    assert_eq!(text(&sandbox, "a.scruple"), "herb a\n");
    let sandbox = Sandbox::new().file("a.scruple", "herb a");
    sandbox
        .run(["tidy", "--check"])
        .status(1)
        .says("only the ends of its lines");
}

#[test]
fn the_demo_ledger_is_tidy() {
    for ledger in [DEMO, "examples/first-blend"] {
        in_project(["tidy", "--check", "--in", ledger]).run().status(0);
    }
    let sandbox = Sandbox::new();
    sandbox.run(["begin", "my-ledger"]).status(0);
    sandbox.run(["tidy", "--check", "--in", "my-ledger"]).status(0);
    // What `adopt` adds, to a file that is not there and to one that is.
    for herb in ["chamomile flower", "calendula flower", "marshmallow root"] {
        sandbox.run(["adopt", herb, "--in", "my-ledger"]).status(0);
        sandbox
            .run(["tidy", "--check", "--in", "my-ledger"])
            .status(0)
            .says("All 5 files are tidy already.");
    }
}

// ---- data -----------------------------------------------------------------------------------

#[test]
fn data_says_what_became_of_each_file() {
    let sandbox = two_files().file("slip.scruple", "nonsense\n");
    let looked = sandbox.run(["tidy", "--check", "--as", "json"]).status(1).json();
    assert_eq!(looked["check"], true);
    assert_eq!(looked["files"][0]["state"], "would-change");
    assert_eq!(looked["files"][0]["changes"][0]["line"], 2);
    assert_eq!(looked["files"][0]["changes"][0]["was"], "\tteaspoon 2grams # own");
    assert_eq!(looked["files"][0]["changes"][1]["was"], serde_json::Value::Null);
    let done = sandbox.run(["tidy", "--as", "json"]).status(1).json();
    assert_eq!(done["check"], false);
    let states: Vec<&str> = done["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|file| file["state"].as_str().unwrap())
        .collect();
    assert_eq!(states, ["tidied", "tidy", "left"]);
    assert_eq!(done["files"][0]["changes"], looked["files"][0]["changes"]);
    assert_eq!(done["files"][2]["findings"][0]["code"], "unknown-entry");
    assert_eq!(
        (&done["tidy"], &done["tidied"], &done["left"]),
        (&1.into(), &1.into(), &1.into())
    );
    for value in [&looked, &done] {
        let schema: serde_json::Value =
            serde_json::from_str(include_str!("../../../grammar/tidying.schema.json")).unwrap();
        let schema = jsonschema::draft202012::new(&schema).unwrap();
        let faults: Vec<String> = schema.iter_errors(value).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
    }
}

// ---- the disk -------------------------------------------------------------------------------

#[cfg(unix)]
#[test]
fn permissions_stay_as_they_were() {
    use std::os::unix::fs::PermissionsExt;
    for mode in [0o600, 0o644, 0o755, 0o640] {
        let sandbox = Sandbox::new().file("a.scruple", UNTIDY).allow("a.scruple", mode);
        sandbox.run(["tidy"]).status(0);
        assert_eq!(text(&sandbox, "a.scruple"), TIDY);
        let metadata = std::fs::metadata(sandbox.path().join("a.scruple")).unwrap();
        assert_eq!(metadata.permissions().mode() & 0o7777, mode);
        // Nothing else lies there.
        assert_eq!(sandbox.files().len(), 1);
    }
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link() {
    let sandbox = Sandbox::new()
        .file("elsewhere/a.scruple", UNTIDY)
        .folder("ledger")
        .file("ledger/practice.scruple", "practice\n")
        .link("ledger/a.scruple", "../elsewhere/a.scruple")
        .link("ledger/b.scruple", "a.scruple");
    // Two names for one file: it is tidied once.
    sandbox
        .run(["tidy", "--in", "ledger"])
        .status(0)
        .says("Tidied 1 of 2 files.");
    for link in ["ledger/a.scruple", "ledger/b.scruple"] {
        assert!(
            std::fs::symlink_metadata(sandbox.path().join(link))
                .unwrap()
                .is_symlink()
        );
    }
    assert_eq!(text(&sandbox, "elsewhere/a.scruple"), TIDY);
}

#[cfg(unix)]
#[test]
fn a_file_of_several_names_is_left_alone() {
    let sandbox = Sandbox::new().file("a.scruple", UNTIDY);
    std::fs::hard_link(sandbox.path().join("a.scruple"), sandbox.path().join("copy.txt")).unwrap();
    sandbox
        .run(["tidy"])
        .status(1)
        .says("`a.scruple` is left as it is")
        .says("hard links");
    assert_eq!(text(&sandbox, "a.scruple"), UNTIDY);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_written_is_named() {
    let sandbox = two_files()
        .file("locked.scruple", "herb locked\n  keep x\n")
        .allow("locked.scruple", 0o444);
    let ran = sandbox.run(["tidy"]);
    ran.status(1)
        .says("`locked.scruple` is left as it is")
        .says("read-only")
        .says("Tidied 1 of 3 files.");
    assert_eq!(text(&sandbox, "locked.scruple"), "herb locked\n  keep x\n");
    assert_eq!(text(&sandbox, "formulas/tea.scruple"), TIDY);
    // A tidy file that may not be written is no matter.
    let sandbox = Sandbox::new().file("a.scruple", TIDY).allow("a.scruple", 0o444);
    sandbox.run(["tidy"]).status(0);
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_leaves_its_files_whole() {
    let sandbox = Sandbox::new()
        .allow(".", 0o755)
        .file("closed/a.scruple", UNTIDY)
        .allow("closed/a.scruple", 0o666)
        .allow("closed", 0o555);
    let ran = sandbox.command(["tidy"]).unprivileged().run();
    assert_eq!(text(&sandbox, "closed/a.scruple"), UNTIDY);
    ran.status(1).says("`closed/a.scruple` is left as it is");
    let _again = sandbox.allow("closed", 0o755);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_is_named() {
    let sandbox = Sandbox::new()
        .allow(".", 0o755)
        .file("a.scruple", UNTIDY)
        .allow("a.scruple", 0o000)
        .file("b.scruple", TIDY)
        .allow("b.scruple", 0o644);
    sandbox
        .command(["tidy", "--check"])
        .unprivileged()
        .run()
        .status(1)
        .says("unreadable-file")
        .says("`a.scruple` is left as it is");
}

#[test]
fn a_file_that_changed_meanwhile_is_not_written_over() {
    let sandbox = Sandbox::new().file("a.scruple", "saved in an editor just now");
    let path = sandbox.path().join("a.scruple");
    let refused = scruple::workspace::replace(&path, UNTIDY, TIDY).unwrap_err();
    assert_eq!(refused.to_string(), "it was changed by somebody else just now");
    assert_eq!(text(&sandbox, "a.scruple"), "saved in an editor just now");
    assert_eq!(sandbox.files().len(), 1, "something is left over");
}

// ---- what others have written -----------------------------------------------------------------

#[test]
fn nothing_that_a_terminal_obeys_is_printed_raw() {
    // The sandbox looks for such letters in all that is printed.
    let hostile = "herb a\n  note  \u{1b}[2J \u{202e}b   \u{7}\n# \u{9b}31m\nherb \u{200f}x  y\n";
    let sandbox = Sandbox::new().file("a.scruple", hostile);
    sandbox
        .run(["tidy", "--check"])
        .status(1)
        .says("\\u{1b}[2J \\u{202e}b");
    sandbox.run(["tidy", "--check", "--as", "json"]).status(1);
    sandbox.run(["tidy"]).status(0);
    assert_eq!(
        text(&sandbox, "a.scruple"),
        "herb a\n  note              \u{1b}[2J \u{202e}b \u{7}\n\n# \u{9b}31m\nherb \u{200f}x y\n"
    );
}

#[test]
fn a_great_file_is_tidied_in_time() {
    use std::fmt::Write;
    let mut great = String::new();
    for entry in 0..3000 {
        let _ = write!(great, "herb h{entry}\n keep x  source s\n");
    }
    great.push_str("formula f\n take\n");
    for entry in 0..20_000 {
        let _ = writeln!(great, "  h{} 1–2 gm,bruised", entry % 3000);
    }
    let sandbox = Sandbox::new().file("a.scruple", great);
    sandbox.run(["tidy", "--check"]).status(1);
    sandbox.run(["tidy"]).status(0);
    sandbox.run(["tidy"]).status(0).says("tidy already");
}
