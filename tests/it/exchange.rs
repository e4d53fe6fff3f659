//! Rows for spreadsheets and data for programs, out; and rows of herbs in, all of them or none.

use crate::sandbox::{Sandbox, in_project};

/// Rows as a reader of its own takes them: cells in quotes, doubled quotes (RFC 4180).
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
            '\n' if !quoted => rows.push(vec![String::new()]),
            _ => row.last_mut().unwrap().push(letter),
        }
    }
    assert_eq!(rows.pop(), Some(vec![String::new()]), "the last line has its end");
    rows
}

#[test]
fn a_formula_is_a_row_an_ingredient() {
    let ran = in_project(["export", "after-supper tea", "--in", "examples/low-barn"]).run();
    ran.status(0);
    let rows = cells(&ran.stdout);
    assert_eq!(rows.len(), 8);
    let ginger = rows.iter().find(|row| row[2] == "ginger rhizome").unwrap();
    let expected = [
        "after-supper tea",
        "6",
        "ginger rhizome",
        "herb",
        "Zingiber officinale Roscoe",
        "",
        "",
        "1 heaped teaspoon",
        "spooned",
        // 14.9 g for five heaped spoons.
        "2.98",
        "2.98",
        "2.98",
        "g",
    ];
    assert_eq!(ginger[..13], expected);
    assert_eq!(ran.stdout.lines().count(), 8);
}

#[test]
fn no_name_becomes_a_formula_of_a_spreadsheet() {
    let sandbox = Sandbox::new().file(
        "l.scruple",
        "herb \"=HYPERLINK(1)\"\nherb \"+1\"\nherb @SUM\n\nformula \"-1+2 tea\"\n  take\n    \"=HYPERLINK(1)\"   3 g, \"cut\"\n    \"+1\"   2 g\n    @SUM   1 g\n",
    );
    let ran = sandbox.run(["export"]);
    ran.status(0);
    for row in &cells(&ran.stdout)[1..] {
        assert_eq!(row[0], "'-1+2 tea");
        assert!(
            ["'=HYPERLINK(1)", "'+1", "'@SUM"].contains(&row[2].as_str()),
            "{row:?}"
        );
    }
}

#[test]
fn what_holds_an_error_is_left_out_and_named() {
    let sandbox = Sandbox::new().file(
        "l.scruple",
        "herb mint leaf\n\nformula good tea\n  take mint leaf 3 g\n\nformula bad tea\n  take mint leaf 3 spoons\n",
    );
    let ran = sandbox.run(["export"]);
    ran.status(1).complains("bad tea is left out");
    assert_eq!(cells(&ran.stdout).len(), 2);
    let data = sandbox.run(["export", "--as", "json"]).json();
    assert_eq!(data["withheld"], serde_json::json!(["bad tea"]));
}

#[test]
fn units_are_codes_of_ucum() {
    let data = in_project(["export", "--as", "json", "--in", "examples/low-barn"])
        .run()
        .json();
    let mut seen: Vec<String> = data["formulas"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|formula| formula["ingredients"].as_array().unwrap())
        .filter_map(|one| Some(one["amount"]["ucum"].as_str()?.to_owned()))
        .collect();
    seen.sort();
    seen.dedup();
    // UCUM 2024-06-17: gram, millilitre, and an annotation in braces for what has no unit.
    assert_eq!(seen, ["g", "mL", "{part}"]);
}

const HERBS: &str = "herb,latin,teaspoon,price,also\r\nlime flower,Tilia cordata Mill.,\"weighed 0.9, 1.0 g\",42.00 per kg,\"linden, linden flower\"\r\nsage leaf,Salvia officinalis L.,,,\r\n";

#[test]
fn herbs_come_in_as_they_would_be_typed() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("herbs.csv", format!("\u{feff}{HERBS}"));
    sandbox
        .run(["import", "herbs.csv"])
        .status(0)
        .says("herb lime flower")
        .says("weighed 0.9, 1.0 g");
    assert_eq!(sandbox.files().len(), 2, "nothing is written without `--to`");
    sandbox
        .run(["import", "herbs.csv", "--to", "materia/new.scruple"])
        .status(0);
    sandbox.run(["check"]).status(0);
    let text = std::fs::read_to_string(sandbox.path().join("materia/new.scruple")).unwrap();
    assert!(
        text.contains("also              linden, linden flower\n"),
        "{text}"
    );
    // A second time the names are taken, and nothing is written over.
    sandbox
        .run(["import", "herbs.csv", "--to", "materia/new.scruple"])
        .status(1)
        .says("row 2")
        .says("row 3");
    let again = std::fs::read_to_string(sandbox.path().join("materia/new.scruple")).unwrap();
    assert_eq!(again, text);
}

#[test]
fn every_bad_row_is_named_and_nothing_comes_in_halfway() {
    for (rows, said) in [
        (
            "herb,teaspoon\ngood leaf,1 g\nbad leaf,1 sack\n",
            "row 3, column `teaspoon`",
        ),
        ("herb,latin\nmint leaf,Mentha\nmint leaf,Mentha\n", "row 3"),
        ("herb,latin\n,Mentha\n", "row 2: this row has no name"),
        ("herb,smell\nmint leaf,fresh\n", "`smell` is no line of a herb"),
        ("latin\nMentha\n", "one column must hold the names"),
        ("herb,latin\nmint leaf,a,b\n", "row 2: this row has 3 cells"),
        ("herb,latin\nmint leaf,\"a\n  mind x\"\n", "line break"),
        ("herb,keep\nmint leaf,dark # and dry\n", "would not be read"),
        ("herb,latin\n\"a \"\"b\"\" c\",x\n", "can't be a name"),
        ("herb,latin\nfennel fruit,x\n", "row 2"),
        ("herb,mind\nmint leaf,reflux  source nowhere\n", "row 2"),
        ("herb,price\nmint leaf,\"1,5 per kg\"\n", "row 2, column `price`"),
    ] {
        let sandbox = Sandbox::new()
            .file("practice.scruple", "practice\n\nherb fennel fruit\n")
            .file("herbs.csv", rows);
        sandbox
            .run(["import", "herbs.csv", "--to", "new.scruple"])
            .status(1)
            .says(said)
            .says("Nothing imported");
        assert!(!sandbox.path().join("new.scruple").exists(), "{rows}");
    }
}

#[test]
fn a_file_outside_the_ledger_is_refused() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("herbs.csv", HERBS);
    for to in ["../new.scruple", "/new.scruple", "new.txt", ".hidden/new.scruple"] {
        sandbox
            .run(["import", "herbs.csv", "--to", to])
            .status(2)
            .fails("is no file of this ledger");
    }
}
