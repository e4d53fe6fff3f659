//! Every command on good and bad input: what it prints, what it refuses, how it ends.

use std::collections::BTreeSet;
use std::path::Path;

use crate::repository::git_in;
use crate::sandbox::{Sandbox, first_line_only, in_project, project};

const DEMO: &str = "examples/low-barn";

const STANDING: &str = "\
For use by or with a qualified practitioner. Local law and licensed practice
come first. In an emergency call for help.
";

/// A small ledger without a fault.
fn seeds() -> Sandbox {
    Sandbox::new()
        .file(
            "practice.scruple",
            "practice\n  cup 250 ml\n  heaped 2 level spoons\n  scales 0.1 g\n  error 5%\n",
        )
        .file(
            "materia/fruits.scruple",
            "herb fennel fruit\n  also fennel seed\n  teaspoon 2 g\nherb caraway fruit\n  teaspoon 2.2 g\n",
        )
        .file(
            "formulas/seeds.scruple",
            "formula seed tea\n  take\n    fennel fruit    20 g\n    caraway fruit   10 g\n\
             formula bean tea\n  take fennel fruit, caraway fruit as 2 : 1\n",
        )
}

// ---- which ledger ---------------------------------------------------------------------------

#[test]
fn a_clean_ledger_ends_with_0() {
    seeds().run(["check"]).status(0).stderr("").stdout(&format!(
        "\
no errors, no warnings, no notices in 3 files with 2 herbs and materials and
2 formulas.

{STANDING}"
    ));
}

#[test]
fn the_ledger_is_found_from_any_folder_in_it() {
    let sandbox = seeds().folder("formulas/old");
    let whole = sandbox.run(["check"]);
    for below in ["formulas", "formulas/old", "materia"] {
        let from = sandbox.command(["check"]).below(below).run();
        from.status(0).stdout(&whole.stdout);
        sandbox
            .run(["check", "--in", below])
            .status(0)
            .stdout(&whole.stdout);
    }
}

#[test]
fn a_file_of_a_ledger_stands_for_the_whole_ledger() {
    let sandbox = seeds();
    let whole = sandbox.run(["check"]);
    sandbox
        .run(["check", "--in", "formulas/seeds.scruple"])
        .status(0)
        .stdout(&whole.stdout);
}

#[test]
fn one_file_alone_is_a_ledger_too() {
    Sandbox::new()
        .file(
            "tea.scruple",
            "herb fennel fruit\nformula seed tea\n  take fennel fruit 20 g\n",
        )
        .run(["check", "--in", "tea.scruple"])
        .status(0)
        .says("no errors, no warnings, no notices in 1 file with 1 herb")
        .says("1 formula.");
}

#[test]
fn options_may_stand_before_or_after_the_command() {
    let before = in_project(["--in", DEMO, "--as", "json", "check"]).run();
    let after = in_project(["check", "--as", "json", "--in", DEMO]).run();
    assert_eq!(before.status(0).json(), after.status(0).json());
}

#[test]
fn where_there_is_no_ledger_nothing_runs() {
    let sandbox = Sandbox::new().folder("empty").file("notes.txt", "nothing for us");
    for arguments in [
        &["check"][..],
        &["weigh", "garden tea"],
        &["why", "garden tea"],
        &["check", "--in", "empty"],
    ] {
        sandbox.run(arguments).fails("there is no ledger in");
    }
    sandbox
        .run(["check", "--in", "elsewhere"])
        .fails("there is no folder `elsewhere`");
    sandbox
        .run(["check", "--in", "elsewhere.scruple"])
        .fails("`elsewhere.scruple`");
    sandbox
        .run(["check", "--in", ""])
        .status(2)
        .stdout("")
        .complains("--in <FOLDER>");
}

#[test]
fn a_file_that_is_named_outright_must_be_a_ledger_file() {
    // Somebody who slips in the name must not be told that all is well.
    let sandbox = Sandbox::new().file("letter.txt", "Dear all,\nthe tea was good.\n");
    let ran = sandbox.run(["check", "--in", "letter.txt"]);
    assert_ne!(ran.status, 0, "{}", ran.stdout);
}

// ---- what is typed --------------------------------------------------------------------------

#[test]
fn what_is_not_understood_ends_with_2_and_is_said_on_the_error_stream() {
    for arguments in [
        &[][..],
        &["chek"],
        &["check", "more"],
        &["weigh"],
        &["weigh", "a", "b"],
        &["weigh", "a", "--make"],
        &["weigh", "a", "--made", "500 g"],
        &["why"],
        &["why", "a", "b", "c"],
        &["begin", "a", "b"],
        &["check", "--in"],
        &["check", "--as"],
        &["check", "--as", "yaml"],
        &["check", "--as", "json", "--as", "text"],
        &["check", "--in", ".", "--in", "."],
    ] {
        let ran = in_project(arguments).run();
        ran.status(2).stdout("");
        assert!(!ran.stderr.trim().is_empty(), "{arguments:?} says nothing");
    }
}

#[test]
fn only_check_prints_sarif() {
    for arguments in [
        &["weigh", "garden tea", "--as", "sarif", "--in", DEMO][..],
        &["why", "garden tea", "--as", "sarif", "--in", DEMO],
        &["why", "percent-off", "--as", "sarif", "--in", DEMO],
    ] {
        in_project(arguments).run().fails("only `check` prints SARIF");
    }
    let sandbox = Sandbox::new();
    sandbox
        .run(["begin", "--as", "sarif"])
        .fails("only `check` prints SARIF");
    assert!(sandbox.files().is_empty());
}

#[test]
fn the_version_is_the_packages() {
    in_project(["--version"])
        .run()
        .status(0)
        .stdout(&format!("scruple {}\n", env!("CARGO_PKG_VERSION")));
}

// ---- help -----------------------------------------------------------------------------------

/// The commands, as the help lists them.
fn commands() -> Vec<String> {
    let help = in_project(["--help"]).columns(100).run().stdout;
    let listed = help
        .split("Commands:\n")
        .nth(1)
        .unwrap()
        .split("\n\n")
        .next()
        .unwrap();
    let found: Vec<String> = listed
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .map(|line| line.split_whitespace().next().unwrap().to_owned())
        .filter(|command| command != "help")
        .collect();
    for known in ["begin", "check", "weigh", "why"] {
        assert!(
            found.iter().any(|one| one == known),
            "{known} is not listed:\n{help}"
        );
    }
    found
}

#[test]
fn every_command_is_listed_and_has_help() {
    let all = in_project(["--help"]).run();
    all.status(0).says("In an emergency call for help.");
    for command in &commands() {
        let long = in_project([command, "--help"]).run();
        let by_word = in_project(["help", command]).run();
        long.status(0).stderr("").says("Example");
        by_word.status(0).stdout(&long.stdout);
    }
}

#[test]
fn every_command_offers_the_options_that_all_have() {
    for command in &commands() {
        in_project([command, "--help"])
            .run()
            .says("--in <FOLDER>")
            .says("--as <FORM>");
    }
}

#[test]
fn help_breaks_its_lines_where_the_page_ends_and_nowhere_else() {
    for command in &commands() {
        for width in [60, 80, 100] {
            let help = in_project([command, "--help"]).columns(width).run().stdout;
            let prose = help.split("\nUsage:").next().unwrap();
            for pair in prose.lines().collect::<Vec<_>>().windows(2) {
                let (line, next) = (pair[0], pair[1]);
                assert!(line.chars().count() <= width, "{command} at {width}: {line:?}");
                // A word that would have fitted on the line above was broken off by hand.
                let first = next.split(' ').next().unwrap();
                assert!(
                    line.is_empty()
                        || first.is_empty()
                        || line.starts_with("  ")
                        || line.chars().count() + 1 + first.chars().count() > width,
                    "{command} at {width}: `{first}` would fit after {line:?}"
                );
            }
        }
    }
}

/// The commands that the help shows, as they would be typed.
fn shown_commands(help: &str) -> Vec<Vec<String>> {
    help.lines()
        .filter_map(|line| line.strip_prefix("  scruple "))
        .map(words)
        .collect()
}

/// Splits at blanks, but for what stands between quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (place, piece) in line.split('"').enumerate() {
        if place % 2 == 1 {
            words.push(piece.to_owned());
        } else {
            words.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// A folder in which the examples of the help run: the demo ledger lies where they say, kept in git
/// since September.
fn with_demo() -> Sandbox {
    let sandbox = Sandbox::new();
    let demo = sandbox.path().join(DEMO);
    copy(&project().join(DEMO), &demo);
    let day = "2026-09-10T12:00:00+0000";
    for arguments in [
        &["init", "--quiet", "--initial-branch", "main"][..],
        &["add", "--all"],
        &["commit", "--quiet", "--message", "the first formulas"],
    ] {
        let (fine, said) = git_in(
            &demo,
            arguments,
            &[("GIT_AUTHOR_DATE", day), ("GIT_COMMITTER_DATE", day)],
        );
        assert!(fine, "{said}");
    }
    sandbox
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

#[test]
fn the_examples_in_the_help_run() {
    for command in &commands() {
        let help = in_project([command, "--help"]).columns(100).run().stdout;
        let shown = shown_commands(&help);
        assert!(!shown.is_empty(), "the help of {command} shows no example");
        let sandbox = with_demo();
        if command != "begin" {
            // The ledger that the example of `begin` begins.
            sandbox.run(["begin", "my-ledger"]).status(0);
        }
        for arguments in shown {
            assert_eq!(&arguments[0], command, "{arguments:?}");
            if command == "watch" {
                // It goes on until it is ended: that it begins is enough here.
                let mut child = sandbox.command(&arguments).prepare().spawn().unwrap();
                let mut line = String::new();
                let out = child.stdout.take().unwrap();
                std::io::BufRead::read_line(&mut std::io::BufReader::new(out), &mut line).unwrap();
                child.kill().unwrap();
                child.wait().unwrap();
                assert!(line.contains("watching"), "{line}");
                continue;
            }
            if command == "lsp" {
                // It speaks only when it is spoken to; that nobody was there shows in the exit code.
                sandbox.run(&arguments).status(1).stdout("").stderr("");
                continue;
            }
            let ran = sandbox.run(&arguments);
            // An example may show findings: that is what it is for.
            assert!(ran.status <= 1, "{arguments:?}: {}", ran.stderr);
            ran.stderr("");
            assert!(!ran.stdout.is_empty());
        }
    }
}

#[test]
fn splitting_keeps_quoted_words_together() {
    assert_eq!(
        words("weigh \"after-supper tea\" --make \"500 g\" --in x"),
        ["weigh", "after-supper tea", "--make", "500 g", "--in", "x"]
    );
}

// ---- check ----------------------------------------------------------------------------------

#[test]
fn findings_end_with_1_and_notices_alone_with_0() {
    let with = |text: &str| {
        Sandbox::new()
            .file(
                "a.scruple",
                format!("herb fennel fruit\n  teaspoon 2 g\nherb caraway fruit\n{text}"),
            )
            .run(["check"])
    };
    with("formula a tea\n  take fennel fruit 20 g\n")
        .status(0)
        .stderr("");
    with("formula a tea\n  take fennel fruit 2 tablespoons\n")
        .status(0)
        .says("spoon-from-another-spoon")
        .says("no errors, no warnings, 1 notice in 1 file");
    with("formula a tea\n  take\n    fennel fruit 20 g\n    fennel fruit 10 g\n")
        .status(1)
        .stderr("")
        .says("listed-twice")
        .says("no errors, 1 warning, no notices in 1 file");
    with("formula a tea\n  take caraway fruit 1 teaspoon\n")
        .status(1)
        .stderr("")
        .says("spoon-without-weight")
        .says("1 error, no warnings, no notices in 1 file");
}

#[test]
fn the_address_in_a_report_is_that_of_the_fault() {
    // In JSON and in words one and the same place is named, also where another place is shown.
    let findings = in_project(["check", "--in", "examples/broken", "--as", "json"])
        .run()
        .json();
    let reports = in_project(["check", "--in", "examples/broken"]).run().stdout;
    let mut wrong = Vec::new();
    for one in findings["findings"].as_array().unwrap() {
        let address = format!(
            "[{}:{}:{}]",
            one["at"]["file"].as_str().unwrap(),
            one["at"]["line"],
            one["at"]["column"]
        );
        if !reports.contains(&address) {
            wrong.push(format!("{} {address}", one["code"].as_str().unwrap()));
        }
    }
    assert!(wrong.is_empty(), "not at the fault: {wrong:#?}");
}

#[test]
fn no_line_of_a_report_ends_in_blanks() {
    let reports = in_project(["check", "--in", "examples/broken"]).run().stdout;
    let bad: Vec<&str> = reports
        .lines()
        // An empty line of the ledger is drawn as its number and one blank.
        .filter(|line| line.ends_with(' ') && !line.ends_with("│ "))
        .collect();
    assert!(bad.is_empty(), "{bad:#?}");
}

#[test]
fn the_examples_are_clean() {
    for ledger in ["examples/low-barn", "examples/first-blend"] {
        in_project(["check", "--in", ledger])
            .run()
            .status(0)
            .says("no errors, no warnings");
    }
    // The notebook of the demo writes thirds as 33.3 %.
    let codes = in_project(["check", "--in", DEMO, "--as", "json"]).run().codes();
    assert_eq!(
        codes.iter().filter(|code| *code == "percent-by-printing").count(),
        1
    );
}

#[test]
fn each_broken_example_has_exactly_its_finding() {
    let folder = project().join("examples/broken");
    let expected = std::fs::read_to_string(folder.join("expected.tsv")).unwrap();
    let mut lines = expected.lines();
    assert_eq!(lines.next(), Some("file\tline\tseverity\tcode"));
    let expected: Vec<&str> = lines.collect();
    let ran = in_project(["check", "--in", "examples/broken", "--as", "json"]).run();
    let found: Vec<String> = ran.status(1).json()["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            format!(
                "{}\t{}\t{}\t{}",
                one["at"]["file"].as_str().unwrap(),
                one["at"]["line"],
                one["severity"].as_str().unwrap(),
                one["code"].as_str().unwrap()
            )
        })
        .collect();
    let (expected, found) = (expected.join("\n") + "\n", found.join("\n") + "\n");
    assert!(
        expected == found,
        "{}",
        similar::TextDiff::from_lines(&expected, &found).unified_diff()
    );
}

#[test]
fn every_broken_example_is_expected_and_named_after_its_code() {
    let folder = project().join("examples/broken");
    let expected = std::fs::read_to_string(folder.join("expected.tsv")).unwrap();
    let listed: BTreeSet<String> = expected
        .lines()
        .skip(1)
        .map(|line| {
            let fields: Vec<&str> = line.split('\t').collect();
            assert_eq!(fields[0], format!("{}.scruple", fields[3]));
            fields[0].to_owned()
        })
        .collect();
    let there: BTreeSet<String> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !["practice.scruple", "herbs.scruple", "expected.tsv"].contains(&name.as_str()))
        .collect();
    assert_eq!(listed, there);
    let without: BTreeSet<&str> = scruple::code::ALL
        .iter()
        .map(|code| code.name())
        .filter(|name| !there.contains(&format!("{name}.scruple")))
        .collect();
    let known = WITHOUT_A_BROKEN_EXAMPLE.map(|(code, _)| code);
    assert_eq!(without, BTreeSet::from(known));
}

/// The codes that no file among the broken examples can show, and why.
const WITHOUT_A_BROKEN_EXAMPLE: [(&str, &str); 11] = [
    (
        "alcohol-without-cautions",
        "the entry of `spirit` that the other files lean on speaks for all alcohol",
    ),
    ("below-least-weighable", "only the weighing sheet says so"),
    ("below-the-least-dose", "only the page of doses says so"),
    ("file-too-large", "it takes a file of sixteen megabytes"),
    ("label-too-small", "only a sheet of labels says so"),
    ("line-too-long", "it takes a line of sixteen kilobytes"),
    ("nested-too-deep", "it takes more than a hundred formulas"),
    (
        "replaces-several-lines",
        "the formula that is adapted has a finding of its own: its herb stands on two lines",
    ),
    ("set-holds-a-persons", "only what is published says so"),
    (
        "stale-totals",
        "it takes a text beside the file, which any run of `totals` would mend",
    ),
    (
        "unreadable-file",
        "it takes a dead link, or a file that may not be read",
    ),
];

#[test]
fn findings_as_json_say_where_and_how_many() {
    let ran = in_project(["check", "--in", "examples/broken", "--as", "json"]).run();
    let json = ran.status(1).stderr("").json();
    let findings = json["findings"].as_array().unwrap();
    for severity in ["error", "warning", "notice"] {
        let count = findings.iter().filter(|one| one["severity"] == severity).count();
        assert!(count > 0);
        assert_eq!(json[format!("{severity}s")], count);
    }
    let comma = findings
        .iter()
        .find(|one| one["code"] == "comma-in-a-number")
        .unwrap();
    // "    fennel fruit     22,5 g": four blanks, the name, five blanks, then column 22.
    assert_eq!(
        comma["at"],
        serde_json::json!({
            "file": "comma-in-a-number.scruple", "line": 3, "column": 22, "end_line": 3, "end_column": 26
        })
    );
    assert_eq!(comma["fix"]["edits"][0]["text"], "22.5");
    assert_eq!(comma["fix"]["edits"][0]["at"], comma["at"]);
    for one in findings {
        assert!(one["message"].as_str().is_some_and(|text| !text.is_empty()));
        assert!(one["help"].as_str().is_some_and(|text| !text.is_empty()), "{one}");
    }
}

#[test]
fn a_fix_mends_what_it_was_offered_for() {
    // Every mending that is offered for the broken examples is applied to a copy, one at a time.
    let ledger = project().join("examples/broken");
    let findings = in_project(["check", "--in", "examples/broken", "--as", "json"])
        .run()
        .json();
    let mut mended = 0;
    for one in findings["findings"].as_array().unwrap() {
        let Some(edits) = one["fix"]["edits"].as_array() else {
            continue;
        };
        let file = one["at"]["file"].as_str().unwrap();
        let code = one["code"].as_str().unwrap();
        let text = std::fs::read_to_string(ledger.join(file)).unwrap();
        let mut lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
        for edit in edits.iter().rev() {
            let number = |field: &str| usize::try_from(edit["at"][field].as_u64().unwrap()).unwrap();
            assert_eq!(number("line"), number("end_line"), "{code}");
            let line = &mut lines[number("line") - 1];
            line.splice(
                number("column") - 1..number("end_column") - 1,
                edit["text"].as_str().unwrap().chars(),
            );
        }
        let text: String = lines
            .iter()
            .map(|line| line.iter().collect::<String>() + "\n")
            .collect();
        let sandbox = Sandbox::new();
        copy(&ledger, sandbox.path());
        let sandbox = sandbox.file(file, &text);
        let left = sandbox.run(["check", "--as", "json"]).json();
        let here: Vec<&str> = left["findings"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|other| other["at"]["file"] == file)
            .map(|other| other["code"].as_str().unwrap())
            .collect();
        assert!(here.is_empty(), "mending {code} left {here:?} in\n{text}");
        mended += 1;
    }
    assert!(mended >= 11, "only {mended} findings offer a mending");
}

// ---- SARIF ----------------------------------------------------------------------------------

#[test]
fn findings_as_sarif_are_what_the_standard_says() {
    // Read with a library of the standard's own types: OASIS SARIF 2.1.0.
    let ran = in_project(["check", "--in", "examples/broken", "--as", "sarif"]).run();
    let sarif: serde_sarif::sarif::Sarif = serde_json::from_str(&ran.status(1).stderr("").stdout).unwrap();
    let json = in_project(["check", "--in", "examples/broken", "--as", "json"])
        .run()
        .json();
    let findings = json["findings"].as_array().unwrap();
    assert_eq!(ran.json()["version"], "2.1.0");
    assert_eq!(sarif.runs.len(), 1);
    let run = &sarif.runs[0];
    assert_eq!(run.tool.driver.name, "scruple");
    assert_eq!(run.column_kind, Some(serde_json::json!("unicodeCodePoints")));
    let rules = run.tool.driver.rules.as_ref().unwrap();
    let codes: BTreeSet<&str> = rules.iter().map(|rule| rule.id.as_str()).collect();
    assert_eq!(codes.len(), rules.len(), "a rule is listed twice");
    for rule in rules {
        assert!(scruple::code::Code::named(&rule.id).is_some(), "{}", rule.id);
        let short = &rule.short_description.as_ref().unwrap().text;
        assert!(
            !short.is_empty() && !short.contains('\n'),
            "{}: {short:?}",
            rule.id
        );
    }
    let results = run.results.as_ref().unwrap();
    assert_eq!(results.len(), findings.len());
    for (result, finding) in results.iter().zip(findings) {
        let id = result.rule_id.as_ref().unwrap();
        assert_eq!(id, finding["code"].as_str().unwrap());
        let index = usize::try_from(result.rule_index.unwrap()).unwrap();
        assert_eq!(&rules[index].id, id);
        let level = match finding["severity"].as_str().unwrap() {
            "notice" => "note",
            other => other,
        };
        assert_eq!(serde_json::to_value(result.level).unwrap(), level);
        assert!(
            result
                .message
                .text
                .as_ref()
                .unwrap()
                .starts_with(finding["message"].as_str().unwrap())
        );
        let locations = result.locations.as_ref().unwrap();
        assert_eq!(locations.len(), 1);
        let place = locations[0].physical_location.as_ref().unwrap();
        let uri = place.artifact_location.as_ref().unwrap().uri.as_ref().unwrap();
        assert_eq!(uri, finding["at"]["file"].as_str().unwrap());
        let region = place.region.as_ref().unwrap();
        assert_eq!(
            region.start_line.unwrap(),
            finding["at"]["line"].as_i64().unwrap()
        );
        assert_eq!(
            region.start_column.unwrap(),
            finding["at"]["column"].as_i64().unwrap()
        );
        assert_eq!(
            region.end_line.unwrap(),
            finding["at"]["end_line"].as_i64().unwrap()
        );
        assert_eq!(
            region.end_column.unwrap(),
            finding["at"]["end_column"].as_i64().unwrap()
        );
    }
}

#[test]
fn a_clean_ledger_as_sarif_has_no_results() {
    let ran = seeds().run(["check", "--as", "sarif"]);
    let sarif: serde_sarif::sarif::Sarif = serde_json::from_str(&ran.status(0).stdout).unwrap();
    // An empty list says that it was looked for; a missing one that it was not (SARIF 2.1.0, 3.14.23).
    assert_eq!(sarif.runs[0].results.as_ref().map(Vec::len), Some(0));
}

#[test]
fn a_path_in_sarif_is_a_uri() {
    let ran = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("my teas/ä & 50%.scruple", "formla x\n")
        .run(["check", "--as", "sarif"]);
    assert_eq!(
        ran.status(1).json()["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
            ["uri"],
        // RFC 3986: all but letters, digits and -._~/ as the bytes of UTF-8.
        "my%20teas/%C3%A4%20%26%2050%25.scruple"
    );
}

// ---- weigh ----------------------------------------------------------------------------------

#[test]
fn a_formula_is_weighed_at_its_own_size_and_at_another() {
    let sandbox = seeds();
    let own = sandbox.run(["weigh", "seed tea", "--as", "json"]);
    let own = own.status(0).stderr("").json();
    assert_eq!(own["total"]["grams"], "30");
    let other = sandbox.run(["weigh", "seed tea", "--make", "45 g", "--as", "json"]);
    let other = other.status(0).stderr("").json();
    assert_eq!(other["total"]["grams"], "45");
    assert_eq!(other["lines"][0]["grams"], "30");
    assert_eq!(other["lines"][1]["grams"], "15");
    assert_eq!(other["lines"][1]["in_the_bowl"], "45");
}

#[test]
fn a_formula_in_parts_asks_for_a_size() {
    let sandbox = seeds();
    sandbox
        .run(["weigh", "bean tea"])
        .fails("bean tea is written in parts and has no size of its own");
    let ran = sandbox.run(["weigh", "bean tea", "--make", "1.5 kg", "--as", "json"]);
    assert_eq!(ran.status(0).json()["lines"][0]["grams"], "1000");
}

#[test]
fn a_name_may_be_spelled_as_it_binds() {
    let sandbox = seeds();
    let plain = sandbox.run(["weigh", "seed tea"]);
    plain.status(0);
    for name in [
        "Seed Tea",
        "SEED TEA",
        "seed  tea",
        " seed tea ",
        "seed-tea",
        "seed teas",
    ] {
        sandbox.run(["weigh", name]).status(0).stdout(&plain.stdout);
    }
}

#[test]
fn an_unknown_formula_is_answered_with_the_nearest() {
    let sandbox = seeds();
    for command in ["weigh", "why"] {
        sandbox
            .run([command, "sead tea"])
            .fails("there is no formula `sead tea` in this ledger")
            .complains("did you mean \"seed tea\"?");
        sandbox
            .run([command, "quite another thing"])
            .fails("there is no formula `quite another thing`")
            .complains("the ledger has: bean tea, seed tea");
        sandbox.run([command, ""]).fails("there is no formula ``");
    }
    // A herb is no formula, and is not weighed as one.
    sandbox
        .run(["weigh", "fennel fruit"])
        .fails("there is no formula `fennel fruit`");
    Sandbox::new()
        .file("a.scruple", "herb fennel fruit\n")
        .run(["weigh", "seed tea"])
        .fails("there is no formula")
        .complains("this ledger has no formulas yet");
}

#[test]
fn a_formula_with_a_fault_is_not_weighed() {
    let sandbox = Sandbox::new().file(
        "a.scruple",
        "herb ginger rhizome\nherb fennel fruit\n\
         formula ginger tea\n  take\n    ginger rhizome 1 teaspoon\n    fennel fruit 20 g\n\
         formula tea of tea\n  take\n    ginger tea 10 g\n    fennel fruit 20 g\n\
         formula fennel tea\n  take fennel fruit 20 g\n",
    );
    for command in ["weigh", "why"] {
        for name in ["ginger tea", "tea of tea"] {
            sandbox
                .run([command, name])
                .status(1)
                .says("spoon-without-weight")
                .complains(&format!("no figures are given for {name} until this is mended"));
        }
        // The fault of one formula is no fault of another.
        sandbox.run([command, "fennel tea"]).status(0).stderr("");
    }
}

/// A line that is not understood might have been any amount of anything.
#[test]
fn a_formula_with_a_line_that_is_not_understood_is_not_weighed() {
    for line in [
        "caraway fruit 10 g bruised",
        "caraway fruit 10",
        "caraway fruit",
        "caraway fruit 10,5 g",
        "caraway fruit .5 g",
        "caraway fruit 10 gramms",
        "caraway fruit 20 to 10 g",
        "caraway fruit 0 g",
        "caraway fruit 10 gr",
        "caraway fruit ij drachms",
        "caraway fruit 2 T",
        "caraway fruit 1 ounce",
        "karaway fruit 10 g",
        "caraway fruit, rose petal 10 g",
        "\"caraway fruit 10 g",
        "caraway fruit 33.333333333333333333 g",
    ] {
        let ran = Sandbox::new()
            .file(
                "a.scruple",
                format!(
                    "herb fennel fruit\nherb caraway fruit\nherb rose petal\n\
                     formula seed tea\n  take\n    fennel fruit 10 g\n    {line}\n"
                ),
            )
            .run(["weigh", "seed tea"]);
        assert_eq!(ran.status, 1, "with `{line}` it is weighed:\n{}", ran.stdout);
        ran.complains("no figures are given for seed tea");
    }
}

#[test]
fn a_formula_with_two_lists_is_not_weighed() {
    Sandbox::new()
        .file(
            "a.scruple",
            "herb fennel fruit\nherb caraway fruit\nformula seed tea\n  take\n    fennel fruit 10 g\n  \
             take\n    caraway fruit 10 g\n",
        )
        .run(["weigh", "seed tea"])
        .status(1)
        .says("said-twice")
        .complains("no figures are given");
}

#[test]
fn a_formula_that_depends_on_an_error_elsewhere_is_not_weighed() {
    // The weight of its spoon is said twice; and a name of what it takes means two things.
    for (text, code) in [
        (
            "herb fennel fruit\n  teaspoon 2 g\n  teaspoon 3 g\n",
            "said-twice",
        ),
        (
            "herb fennel root\n  also fennel\nherb fennel fruit\n  also fennel\n  teaspoon 2 g\n",
            "name-taken-twice",
        ),
    ] {
        let taken = if code == "said-twice" {
            "fennel fruit"
        } else {
            "fennel"
        };
        let amount = if code == "said-twice" {
            "1 teaspoon"
        } else {
            "10 g"
        };
        Sandbox::new()
            .file(
                "a.scruple",
                format!("{text}formula seed tea\n  take\n    {taken} {amount}\n"),
            )
            .run(["weigh", "seed tea"])
            .status(1)
            .says(code)
            .complains("no figures are given");
    }
}

#[test]
fn a_herb_whose_entry_has_an_error_is_named_on_the_sheet() {
    // `avoyd pregnancy` is a caution that is not read: the sheet must not look complete.
    Sandbox::new()
        .file(
            "a.scruple",
            "herb fennel fruit\n  avoyd pregnancy\nformula seed tea\n  take fennel fruit 10 g\n",
        )
        .run(["weigh", "seed tea"])
        .says("a.scruple:2");
}

#[test]
fn one_slip_in_a_spoon_weight_is_one_finding() {
    let ran = Sandbox::new()
        .file(
            "a.scruple",
            "herb fennel fruit\n  teaspoon 2,5 g\nformula seed tea\n  take fennel fruit 1 teaspoon\n",
        )
        .run(["check", "--as", "json"]);
    assert_eq!(ran.status(1).codes(), ["comma-in-a-number"]);
}

#[test]
fn a_size_may_be_asked_for_in_many_ways() {
    // (formula, what is asked for, grams or millilitres): worked by hand from the demo ledger.
    for (formula, asked, expected) in [
        ("after-supper tea", "500 g", "500"),
        ("after-supper tea", "500g", "500"),
        ("after-supper tea", "500 G", "500"),
        ("after-supper tea", "0.5 kg", "500"),
        ("after-supper tea", "1/2 kg", "500"),
        ("after-supper tea", "½ kg", "500"),
        ("after-supper tea", "500000 mg", "500"),
        // 453.59237 g the pound and 28.349523125 g the ounce (NIST SP 811, appendix B.8)
        ("after-supper tea", "1 lb 2 oz", "510.29141625"),
        ("after-supper tea", "1 lb", "453.59237"),
        ("after-supper tea", "3 jars of 80 g", "240"),
        ("after-supper tea", "3 tins of 80 g", "240"),
        // a cup takes two heaped spoons of the blend: weighed 4.3/3 g level, a heap is two levels
        // at the middle, so 5.7333… g
        ("after-supper tea", "60 cups", "344"),
        ("after-supper tea", "60 doses", "344"),
        // up to 3 cups a day
        ("after-supper tea", "2 people for 10 days", "344"),
        ("after-supper tea", "20 days", "344"),
        ("after-supper tea", "1 person for 3 weeks", "361.2"),
        ("three-seed tea", "30 filter bags", "60"),
        ("three-seed tea", "1 filter bag", "2"),
        // 2 bags in a cup
        ("three-seed tea", "10 cups", "40"),
    ] {
        let ran = in_project(["weigh", formula, "--make", asked, "--in", DEMO, "--as", "json"]).run();
        let json = ran.status(0).stderr("").json();
        assert_eq!(json["total"]["grams"], expected, "{formula} {asked}");
        assert_eq!(json["asked"], asked);
    }
    for (formula, asked, field, expected) in [
        ("throat drops", "180 ml", "millilitres", "180"),
        ("throat drops", "20 doses", "millilitres", "80"),
        // 40 drops of 0.05 ml make 2 ml
        ("low barn bitters", "50 doses", "makes_millilitres", "100"),
        ("low barn bitters", "2 litres", "makes_millilitres", "2000"),
        ("plantain syrup", "750 ml", "makes_millilitres", "750"),
    ] {
        let ran = in_project(["weigh", formula, "--make", asked, "--in", DEMO, "--as", "json"]).run();
        let json = ran.status(0).stderr("").json();
        assert_eq!(json["total"][field]["nominal"], expected, "{formula} {asked}");
    }
}

#[test]
fn a_size_that_makes_no_sense_is_refused() {
    let nines = "9".repeat(400);
    let long = format!("{nines} g");
    let fraction = format!("1/{nines} g");
    let mut wrong = Vec::new();
    for asked in [
        "",
        " ",
        "5",
        "g",
        "0 g",
        "0.0 g",
        "0 cups",
        "0 jars of 80 g",
        "3 jars of 0 g",
        "0 people for 7 days",
        "2 people for 0 days",
        "-5 g",
        "−5 g",
        "- 5 g",
        "five cups",
        "1e9 g",
        "1e9",
        "500 g please",
        "500 gramms",
        "1,000 g",
        "1.000.000 g",
        "1 000 g",
        ".5 kg",
        "1-1/2 kg",
        "1/0 kg",
        "0/5 kg",
        "∞ g",
        "NaN g",
        "12%",
        "4 parts",
        "q.s.",
        "as 1 : 2",
        "20 to 10 g",
        "2 heaped teaspoons",
        "3 filter bags",
        "3 jars",
        "3 jars of",
        "3 jars of 2 cups",
        "500 gr",
        "1 T",
        "500 ml",
        "5 minutes",
        "20 °C",
        "\u{1b}[31m500 g",
        "500 g\u{202e}",
        "500\u{0b}g\n500 g",
        &long,
        &fraction,
    ] {
        let ran = in_project(["weigh", "after-supper tea", "--make", asked, "--in", DEMO]).run();
        let shown = crate::sandbox::shortened(asked);
        if ran.status != 2 {
            wrong.push(format!("`{shown}` is weighed"));
            continue;
        }
        if !ran.stderr.starts_with("scruple: ") || !ran.stderr.contains("\n  help: ") {
            wrong.push(format!("`{shown}` gets no way out: {}", ran.stderr));
        }
        // What is refused is answered with sizes, not with spoons or parts, which are no size.
        if ran.stderr.contains("`3 parts`") || ran.stderr.contains("2 teaspoons`") {
            wrong.push(format!(
                "`{shown}` is answered with what would be refused as well: {}",
                ran.stderr
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_size_that_a_refusal_offers_is_accepted_as_a_form() {
    let ran = in_project(["weigh", "after-supper tea", "--make", "five", "--in", DEMO]).run();
    let offered: Vec<&str> = ran
        .stderr
        .split('`')
        .skip(1)
        .step_by(2)
        .filter(|one| !one.contains("make"))
        .collect();
    assert!(offered.len() >= 3, "{}", ran.stderr);
    for asked in offered {
        in_project(["weigh", "after-supper tea", "--make", asked, "--in", DEMO])
            .run()
            .status(0);
    }
}

#[test]
fn a_size_that_no_bench_makes_is_remarked() {
    // One line of this size would be remarked by `absurd-size`.
    let ran = in_project([
        "weigh",
        "after-supper tea",
        "--make",
        "99999999999 kg",
        "--in",
        DEMO,
    ])
    .run();
    assert!(
        ran.status != 0 || ran.stdout.contains("tonne"),
        "99999999999 kg are weighed without a word:\n{}",
        ran.stdout
    );
}

#[test]
fn a_range_asked_for_says_at_what_it_is_worked() {
    in_project([
        "weigh",
        "after-supper tea",
        "--make",
        "400 to 500 g",
        "--in",
        DEMO,
    ])
    .run()
    .status(0)
    .says("450 g");
}

#[test]
fn what_a_preparation_brings_in_is_not_left_at_its_own_size() {
    // Twice the blend, and a line that still says 700 ml: it must be said that this is for once.
    let ran = in_project(["weigh", "root and flower tea", "--make", "60 g", "--in", DEMO]).run();
    ran.status(0).says("24.0 g").says("700 ml");
    assert!(
        ran.stdout.contains("1400 ml") || ran.stdout.contains("own size") || ran.stdout.contains("2 times"),
        "nothing says that the water is for half of this:\n{}",
        ran.stdout
    );
}

#[test]
fn cautions_come_along_with_a_formula_inside() {
    for (formula, asked, caution) in [
        ("throat drops", "90 ml", "thyme herb"),
        ("hall tea", "2 kg", "nettle leaf"),
    ] {
        let ran = in_project(["weigh", formula, "--make", asked, "--in", DEMO, "--as", "json"]).run();
        let json = ran.status(0).json();
        let herbs: BTreeSet<&str> = json["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["herb"].as_str().unwrap())
            .collect();
        assert!(herbs.contains(caution), "{formula} lacks {caution}: {herbs:?}");
    }
    let ran = in_project(["weigh", "yarrow salve", "--in", DEMO, "--as", "json"]).run();
    let json = ran.status(0).json();
    assert!(
        json["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .any(|one| one["topic"] == "allergy Asteraceae" && one["herb"] == "yarrow herb"),
        "the salve is made of yarrow oil, and says nothing about yarrow"
    );
}

#[test]
fn cautions_come_along_with_what_was_bought_made_of_a_herb() {
    // `material sage tincture` says `strength 1:5 of sage leaf`: what sage leaf asks for holds for it.
    let ran = in_project(["weigh", "throat drops", "--in", DEMO, "--as", "json"]).run();
    let json = ran.status(0).json();
    assert!(
        json["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .any(|one| one["herb"].as_str().unwrap().contains("sage")),
        "the drops hold a tincture of sage, and say nothing about sage"
    );
}

#[test]
fn the_figures_of_a_sheet_are_decimal_strings() {
    let decimal = |value: &serde_json::Value| {
        value.as_str().is_some_and(|text| {
            let digits = text.strip_prefix('-').unwrap_or(text);
            let (whole, rest) = digits.split_once('.').unwrap_or((digits, "0"));
            !whole.is_empty()
                && whole.bytes().all(|byte| byte.is_ascii_digit())
                && !rest.is_empty()
                && rest.bytes().all(|byte| byte.is_ascii_digit())
        })
    };
    let mut seen = 0;
    for (formula, make) in crate::golden::formulas() {
        let mut arguments = vec!["weigh", &formula, "--as", "json", "--in", DEMO];
        if let Some(make) = &make {
            arguments.extend(["--make", make]);
        }
        let json = in_project(arguments).run().status(0).json();
        let mut figures = vec![
            &json["scales"]["step"],
            &json["scales"]["least"],
            &json["scales"]["error_percent"],
            &json["total"]["grams"],
            &json["total"]["low"],
            &json["total"]["high"],
            &json["total"]["target"],
            &json["total"]["weighed"],
        ];
        for name in ["millilitres", "makes_millilitres", "spooned", "by_judgement"] {
            for field in ["nominal", "low", "high"] {
                figures.push(&json["total"][name][field]);
            }
        }
        for line in json["lines"].as_array().unwrap() {
            for field in [
                "grams",
                "low",
                "high",
                "share",
                "target",
                "in_the_bowl",
                "rounded_by",
            ] {
                figures.push(&line[field]);
            }
        }
        for figure in figures.into_iter().filter(|figure| !figure.is_null()) {
            assert!(decimal(figure), "{formula}: {figure} is no decimal string");
            seen += 1;
        }
        no_bare_fractions(&json);
    }
    assert!(seen > 300, "only {seen} figures were looked at");
}

/// No number in the data has a fraction: such numbers lose digits on their way.
fn no_bare_fractions(value: &serde_json::Value) {
    match value {
        serde_json::Value::Number(number) => assert!(number.is_u64(), "{number}"),
        serde_json::Value::Array(all) => all.iter().for_each(no_bare_fractions),
        serde_json::Value::Object(all) => all.values().for_each(no_bare_fractions),
        _ => {}
    }
}

#[test]
fn rounded_weights_add_up_on_every_sheet() {
    for (formula, make) in crate::golden::formulas() {
        let mut arguments = vec!["weigh", &formula, "--as", "json", "--in", DEMO];
        if let Some(make) = &make {
            arguments.extend(["--make", make]);
        }
        let json = in_project(arguments).run().status(0).json();
        let number = |value: &serde_json::Value| -> num_rational::BigRational {
            let text = value.as_str().unwrap();
            let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
            num_rational::BigRational::new(
                format!("{whole}{rest}").parse().unwrap(),
                num_bigint::BigInt::from(10).pow(u32::try_from(rest.len()).unwrap()),
            )
        };
        let lines: Vec<_> = json["lines"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|line| !line["grams"].is_null())
            .collect();
        if lines.is_empty() {
            continue;
        }
        let sum: num_rational::BigRational = lines.iter().map(|line| number(&line["target"])).sum();
        assert_eq!(sum, number(&json["total"]["target"]), "{formula}");
        assert_eq!(
            sum,
            number(&lines.last().unwrap()["in_the_bowl"]),
            "{formula}: the last line fills the bowl"
        );
        for line in lines {
            let moved = number(&line["target"]) - number(&line["grams"]);
            assert_eq!(moved, number(&line["rounded_by"]), "{formula}: {}", line["name"]);
        }
    }
}

// ---- why ------------------------------------------------------------------------------------

#[test]
fn every_code_has_a_page() {
    for code in scruple::code::ALL {
        let ran = Sandbox::new().run(["why", code.name()]);
        ran.status(0).stderr("").says(code.name()).says("Why it matters");
        let json = Sandbox::new().run(["why", code.name(), "--as", "json"]);
        let json = json.status(0).json();
        assert_eq!(json["code"], code.name());
        assert_eq!(json["page"], code.page());
    }
}

#[test]
fn the_working_names_the_lines_that_it_rests_on() {
    let sandbox = Sandbox::new()
        .file("a.scruple", "source bench\n  title our own bench\n  from memory\nherb fennel fruit\n  teaspoon weighed 2.0, 2.2, 2.4 g   source bench\n")
        .file("b.scruple", "formula seed tea\n  take\n    fennel fruit 3 teaspoons\n");
    sandbox
        .run(["why", "seed tea"])
        .status(0)
        .stderr("")
        // 3 × the mean of 2.0, 2.2 and 2.4; the spread from the least to the most
        .says("6.6 g (6 to 7.2 g)")
        .says("a.scruple:5")
        .says("b.scruple:3")
        .says("bench: our own bench")
        .says("from memory");
    let json = sandbox.run(["why", "seed tea", "--as", "json"]);
    let json = json.status(0).json();
    assert_eq!(json["formula"], "seed tea");
    let steps = json["lines"][0]["steps"].as_array().unwrap();
    assert!(
        steps
            .iter()
            .any(|step| step["at"]["file"] == "a.scruple" && step["at"]["line"] == 5),
        "{steps:#?}"
    );
    assert!(steps.iter().any(|step| step["source"]["from_memory"] == true));
}

#[test]
fn the_working_shows_how_an_old_measure_became_grams() {
    // A figure that can be traced says what was written, and what one of it weighs.
    for (formula, ingredient, written, grams) in [
        (
            "low barn bitters",
            "gentian root",
            "1 apothecary ounce",
            "31.103477",
        ),
        (
            "low barn bitters",
            "coriander fruit",
            "3 drachms 20 grains",
            "12.959782",
        ),
        ("hall tea", "spearmint leaf", "2 lb 10 oz", "1190.679971"),
        ("plantain syrup", "water", "2 US pints", "946.352946"),
    ] {
        in_project(["why", formula, ingredient, "--in", DEMO])
            .run()
            .status(0)
            .says(grams)
            .says(written);
    }
}

#[test]
fn the_working_of_an_adaptation_shows_the_adapting() {
    // 1.5 kg stands in the line that is named, and 150 g come out: the tenth must be there.
    in_project(["why", "hall tea for one table", "garden tea", "--in", DEMO])
        .run()
        .status(0)
        .says("150 g")
        .says("1/10")
        .says("formulas/hall.scruple:17");
}

#[test]
fn every_line_of_a_working_has_a_step() {
    for (formula, _) in crate::golden::formulas() {
        let json = in_project(["why", &formula, "--as", "json", "--in", DEMO])
            .run()
            .status(0)
            .json();
        for line in json["lines"].as_array().unwrap() {
            assert!(
                !line["steps"].as_array().unwrap().is_empty(),
                "{formula}: nothing says how {} came about",
                line["name"]
            );
            assert!(!line.to_string().contains("1 parts"), "{formula}: {line}");
        }
    }
}

#[test]
fn the_working_of_one_ingredient_speaks_of_it_alone() {
    let sandbox = seeds();
    let ran = sandbox.run(["why", "seed tea", "fennel fruit"]);
    ran.status(0).says("fennel fruit").never_says("caraway");
    // By any of its names.
    sandbox
        .run(["why", "seed tea", "Fennel Seeds"])
        .status(0)
        .stdout(&ran.stdout);
    sandbox
        .run(["why", "seed tea", "fenel fruit"])
        .fails("seed tea takes no `fenel fruit`")
        .complains("did you mean \"fennel fruit\"?");
    sandbox
        .run(["why", "seed tea", "seed tea"])
        .fails("seed tea takes no `seed tea`");
    sandbox
        .run(["why", "percent-off", "fennel fruit"])
        .fails("there is no formula `percent-off`");
}

#[test]
fn what_is_nearly_a_code_is_answered_with_it() {
    seeds()
        .run(["why", "percent-of"])
        .fails("`percent-of` is neither a finding's code nor a formula of this ledger")
        .complains("did you mean `percent-off`?");
    Sandbox::new()
        .run(["why", "spoon-without-wieght"])
        .fails("spoon-without-wieght")
        .complains("did you mean `spoon-without-weight`?");
}

// ---- begin ----------------------------------------------------------------------------------

const BEGUN: [&str; 4] = [
    "formulas/first-blends.scruple",
    "materia/herbs.scruple",
    "practice.scruple",
    "sources.scruple",
];

fn names(sandbox: &Sandbox) -> Vec<String> {
    sandbox.files().into_iter().map(|(name, _)| name).collect()
}

#[test]
fn a_ledger_is_begun_in_an_empty_folder() {
    let sandbox = Sandbox::new();
    sandbox
        .run(["begin"])
        .status(0)
        .stderr("")
        .says("scruple check\n");
    assert_eq!(names(&sandbox), BEGUN);
}

#[test]
fn a_ledger_is_begun_in_a_new_folder_of_this_very_name() {
    let sandbox = Sandbox::new();
    sandbox
        .run(["begin", "my-ledger"])
        .status(0)
        .stderr("")
        .says("scruple check --in my-ledger\n");
    assert_eq!(names(&sandbox), BEGUN.map(|name| format!("my-ledger/{name}")));
    let json = sandbox.run(["begin", "a/deep/one", "--as", "json"]);
    let json = json.status(0).json();
    assert_eq!(json["folder"], "a/deep/one");
    assert_eq!(json["files"].as_array().unwrap().len(), 4);
    assert!(sandbox.path().join("a/deep/one/practice.scruple").is_file());
}

#[test]
fn a_begun_ledger_is_clean_and_its_formulas_weigh() {
    let sandbox = Sandbox::new();
    sandbox.run(["begin"]).status(0);
    let ran = sandbox.run(["check", "--as", "json"]);
    let json = ran.status(0).json();
    assert_eq!(json["findings"], serde_json::json!([]));
    assert_eq!(json["formulas"], 2);
    for asked in ["200 g", "20 cups", "2 people for 7 days"] {
        for formula in ["garden tea", "seed tea"] {
            sandbox
                .run(["weigh", formula, "--make", asked])
                .status(0)
                .stderr("");
        }
    }
    sandbox.run(["weigh", "garden tea"]).status(0);
    for formula in ["garden tea", "seed tea"] {
        sandbox.run(["why", formula]).status(0);
    }
}

#[test]
fn the_closing_words_of_begin_can_be_typed_as_they_stand() {
    for folder in [
        None,
        Some("my-ledger"),
        Some("my ledger"),
        Some("a/b c/d"),
        Some("it's"),
    ] {
        let sandbox = Sandbox::new();
        let arguments: Vec<&str> = ["begin"].into_iter().chain(folder).collect();
        let said = sandbox.run(arguments);
        let lines: Vec<&str> = said
            .status(0)
            .stdout
            .lines()
            .map(str::trim)
            .filter(|line| line.starts_with("scruple "))
            .collect();
        assert_eq!(lines.len(), 3, "{}", said.stdout);
        for line in lines {
            // The shell takes the line apart, as it would for the one who types it.
            let out = std::process::Command::new("sh")
                .args(["-c", &line.replacen("scruple", "\"$0\"", 1)])
                .arg(env!("CARGO_BIN_EXE_scruple"))
                .current_dir(sandbox.path())
                .output()
                .unwrap();
            assert_eq!(
                out.status.code(),
                Some(0),
                "`{line}` does not run: {}",
                String::from_utf8_lossy(&out.stderr)
            );
        }
    }
}

#[test]
fn a_begun_ledger_says_that_its_spoons_are_examples() {
    let sandbox = Sandbox::new();
    sandbox
        .run(["begin"])
        .says("The spoon weights in it are examples");
    let herbs = std::fs::read_to_string(sandbox.path().join("materia/herbs.scruple")).unwrap();
    assert!(herbs.contains("THE SPOON WEIGHTS ARE EXAMPLES"));
    for line in herbs
        .lines()
        .filter(|line| line.trim_start().starts_with("teaspoon") && !line.starts_with('#'))
    {
        assert!(line.ends_with("source example-weighings"), "{line}");
    }
}

#[test]
fn begin_overwrites_nothing() {
    for there in [
        "notes.txt",
        "practice.scruple",
        "materia/mine.scruple",
        "photos/.keep",
    ] {
        let sandbox = Sandbox::new().file(there, "mine");
        sandbox.run(["begin"]).fails("is not empty: it holds `");
        assert_eq!(sandbox.files(), [(there.to_owned(), b"mine".to_vec())]);
    }
    let sandbox = Sandbox::new();
    sandbox.run(["begin", "one"]).status(0);
    let before = sandbox.files();
    sandbox.run(["begin", "one"]).fails("is not empty");
    assert_eq!(sandbox.files(), before);
    // A file where the folder should be.
    let sandbox = Sandbox::new().file("one", "mine");
    sandbox.run(["begin", "one"]).fails("`one`");
    sandbox.run(["begin", "one/two"]).fails("`one/two`");
    assert_eq!(sandbox.files(), [("one".to_owned(), b"mine".to_vec())]);
}

#[test]
fn what_is_hidden_does_not_hinder_begin_and_is_left_alone() {
    let sandbox = Sandbox::new().file(".git/HEAD", "ref: refs/heads/main\n");
    sandbox.run(["begin"]).status(0);
    assert_eq!(
        std::fs::read(sandbox.path().join(".git/HEAD")).unwrap(),
        b"ref: refs/heads/main\n"
    );
    assert_eq!(names(&sandbox).len(), 5);
}

#[test]
fn begin_inside_a_ledger_says_that_there_is_one() {
    // A ledger within a ledger has two practices, and no one would look there for the reason.
    let sandbox = seeds();
    let ran = sandbox.run(["begin", "second"]);
    let left = sandbox.run(["check", "--as", "json"]).json();
    assert!(
        ran.status == 2 || left["errors"] == 0,
        "a ledger was begun inside another one, and now it has {} errors",
        left["errors"]
    );
}

#[test]
fn begin_and_in_go_together() {
    let sandbox = Sandbox::new();
    let ran = sandbox.run(["begin", "--in", "there"]);
    ran.status(0);
    assert!(
        sandbox.path().join("there/practice.scruple").is_file(),
        "{:?}",
        names(&sandbox)
    );
}

#[cfg(unix)]
#[test]
fn begin_leaves_nothing_half_written_where_it_may_not_write() {
    // Anybody may look into the folder, and nobody but its owner may write.
    let sandbox = Sandbox::new()
        .folder("locked")
        .allow(".", 0o755)
        .allow("locked", 0o555);
    for folder in ["locked", "locked/my-ledger"] {
        sandbox
            .command(["begin", folder])
            .unprivileged()
            .run()
            .fails(&format!("`{folder}"))
            .complains("nothing was written");
        assert!(sandbox.files().is_empty());
    }
    // A folder that may not be looked into is not taken for an empty one.
    let sandbox = sandbox.folder("closed").allow("closed", 0o000);
    sandbox
        .command(["begin", "closed"])
        .unprivileged()
        .run()
        .fails("`closed`")
        .complains("nothing was written");
    let sandbox = sandbox.allow("closed", 0o755).allow("locked", 0o755);
    assert!(sandbox.files().is_empty());
}

// ---- the page -------------------------------------------------------------------------------

/// How many columns a line takes; all that the demo prints takes one column a letter.
fn columns(line: &str) -> usize {
    unicode_width::UnicodeWidthStr::width(line)
}

#[test]
fn no_line_is_wider_than_the_page() {
    let mut runs: Vec<Vec<String>> = Vec::new();
    for (formula, make) in crate::golden::formulas() {
        let mut arguments = vec!["weigh".to_owned(), formula.clone()];
        if let Some(make) = make {
            arguments.extend(["--make".to_owned(), make]);
        }
        runs.push(arguments);
        runs.push(vec!["why".to_owned(), formula]);
    }
    // Of the workings, which all look alike, one in three is enough.
    let mut place = 0;
    runs.retain(|arguments| {
        place += 1;
        arguments[0] == "weigh" || place % 3 == 0
    });
    let mut wide = Vec::new();
    for width in [20, 40, 80, 120, 200] {
        for arguments in &runs {
            let ran = in_project(arguments.iter().map(String::as_str).chain(["--in", DEMO]))
                .columns(width)
                .run();
            ran.status(0);
            for line in ran.stdout.lines().filter(|line| columns(line) > width) {
                wide.push(format!(
                    "{arguments:?} at {width}: {} columns: {line:?}",
                    columns(line)
                ));
            }
        }
    }
    assert!(
        wide.is_empty(),
        "{} lines too wide, such as {:#?}",
        wide.len(),
        &wide[..wide.len().min(5)]
    );
}

#[test]
fn no_line_of_check_is_wider_than_the_page() {
    // From 80 columns on: below, the lines of the ledger that are drawn are wider themselves.
    for width in [80, 120, 200] {
        let ran = in_project(["check", "--in", "examples/broken"])
            .columns(width)
            .run();
        for line in ran
            .stdout
            .lines()
            .filter(|line| !line.contains(" │ ") && !line.contains('·'))
        {
            assert!(columns(line) <= width, "{} at {width}: {line:?}", columns(line));
        }
    }
}

#[test]
fn no_line_of_a_page_is_wider_than_the_page() {
    for code in scruple::code::ALL {
        for width in [40, 80, 120] {
            let ran = in_project(["why", code.name()]).columns(width).run();
            // The lines of an example are kept as they are typed.
            for line in ran.stdout.lines().filter(|line| columns(line) > width) {
                assert!(code.page().contains(line.trim()), "{code} at {width}: {line:?}");
            }
        }
    }
}

#[test]
fn no_weight_is_left_out_at_any_width() {
    for (formula, make) in crate::golden::formulas() {
        let mut arguments = vec!["weigh", &formula, "--in", DEMO];
        if let Some(make) = &make {
            arguments.extend(["--make", make]);
        }
        let data = in_project(arguments.iter().copied().chain(["--as", "json"]))
            .run()
            .json();
        // As the scales and the cylinder of the demo show them: one decimal.
        let targets: Vec<String> = data["lines"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(|line| {
                let target = line["target"].as_str()?;
                let unit = if line["grams"].is_null() { "ml" } else { "g" };
                let tenths = if target.contains('.') { "" } else { ".0" };
                Some(format!("{target}{tenths} {unit}"))
            })
            .collect();
        assert!(!targets.is_empty());
        for width in [20, 40, 80, 200] {
            let page = in_project(arguments.clone()).columns(width).run().stdout;
            for target in &targets {
                assert!(
                    page.contains(target),
                    "{formula} at {width} lacks {target}\n{page}"
                );
            }
        }
    }
}

#[test]
fn a_page_that_is_nonsense_is_taken_as_usual() {
    let usual = in_project(["weigh", "garden tea", "--in", DEMO]).run().stdout;
    for width in ["", "wide", "-5", "80.5", "99999999999999999999999"] {
        in_project(["weigh", "garden tea", "--in", DEMO])
            .environment("COLUMNS", width)
            .run()
            .status(0)
            .stdout(&usual);
    }
    // Narrower than any page, and wider: brought to what can be set.
    let narrow = in_project(["weigh", "garden tea", "--in", DEMO])
        .columns(20)
        .run()
        .stdout;
    in_project(["weigh", "garden tea", "--in", DEMO])
        .columns(0)
        .run()
        .status(0)
        .stdout(&narrow);
}

#[test]
fn in_a_plain_locale_rules_are_plain() {
    for (variables, plain) in [
        (&[("LC_ALL", "C")][..], true),
        (&[("LC_ALL", "POSIX")], true),
        (
            &[("LC_ALL", ""), ("LC_CTYPE", "C"), ("LANG", "en_GB.UTF-8")],
            true,
        ),
        (&[("LC_ALL", ""), ("LC_CTYPE", ""), ("LANG", "C")], true),
        (&[("LC_ALL", "C.UTF-8")], false),
        (&[("LC_ALL", ""), ("LC_CTYPE", ""), ("LANG", "")], false),
    ] {
        for arguments in [
            &["weigh", "garden tea", "--in", DEMO][..],
            &["why", "garden tea", "--in", DEMO],
            &["why", "percent-off"],
            &["check", "--in", DEMO],
        ] {
            let mut run = in_project(arguments);
            for (name, value) in variables {
                run = run.environment(name, value);
            }
            let ran = run.run();
            ran.status(0);
            assert_eq!(
                !ran.stdout.contains('─'),
                plain,
                "{arguments:?} with {variables:?}\n{}",
                ran.stdout
            );
            if plain {
                // What is ours is plain; what stands in the ledger is not ours.
                let strange: BTreeSet<char> =
                    ran.stdout.chars().filter(|letter| !letter.is_ascii()).collect();
                assert!(
                    strange.is_empty(),
                    "{arguments:?} with {variables:?}: {strange:?}"
                );
            }
        }
    }
}

#[test]
fn colour_is_for_screens_only() {
    for colours in [
        ("NO_COLOR", ""),
        ("CLICOLOR_FORCE", "1"),
        ("TERM", "xterm-256color"),
    ] {
        // The sandbox looks for escape characters itself.
        in_project(["check", "--in", "examples/broken"])
            .environment("NO_COLOR", "")
            .environment(colours.0, colours.1)
            .run()
            .status(1);
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    for (arguments, code) in [
        (&["check", "--in", "examples/broken"][..], 1),
        (&["check", "--in", "examples/broken", "--as", "json"], 1),
        (&["check", "--in", "examples/broken", "--as", "sarif"], 1),
        (&["weigh", "after-supper tea", "--in", DEMO], 0),
        (&["why", "percent-off"], 0),
        (&["weigh", "--help"], 0),
    ] {
        let (status, said) = first_line_only(&in_project(arguments));
        assert_eq!(
            status,
            Some(code),
            "{arguments:?}: {}",
            String::from_utf8_lossy(&said)
        );
        assert!(said.is_empty(), "{}", String::from_utf8_lossy(&said));
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_a_failure() {
    for arguments in [
        &["check", "--in", DEMO][..],
        &["weigh", "garden tea", "--in", DEMO],
        &["why", "percent-off"],
    ] {
        let out = in_project(arguments)
            .prepare()
            .stdout(std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap())
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{said}");
        assert!(said.contains("the output can't be written"), "{said}");
    }
}

#[test]
fn the_same_text_prints_the_same_twice() {
    for arguments in [
        &["check", "--in", "examples/broken"][..],
        &["check", "--in", "examples/broken", "--as", "sarif"],
        &["weigh", "hall tea", "--in", DEMO],
        &["weigh", "hall tea", "--in", DEMO, "--as", "json"],
        &["why", "hall tea", "--in", DEMO],
    ] {
        let once = in_project(arguments).run();
        in_project(arguments)
            .environment("TZ", "Pacific/Auckland")
            .environment("LANG", "de_DE.UTF-8")
            .run()
            .stdout(&once.stdout);
    }
}

#[test]
fn figures_do_not_hang_on_where_entries_stand() {
    // The same entries in other files and in another order: the same sheets, but for places.
    let sandbox = Sandbox::new();
    let mut texts: Vec<(String, String)> = Vec::new();
    let mut folders = vec![project().join(DEMO)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                texts.push((
                    path.display().to_string(),
                    std::fs::read_to_string(&path).unwrap(),
                ));
            }
        }
    }
    texts.sort();
    texts.reverse();
    let one: String = texts.into_iter().map(|(_, text)| text + "\n").collect();
    let sandbox = sandbox.file("practice.scruple", one);
    for (formula, make) in crate::golden::formulas() {
        let sheet = |in_folder: &Path| {
            let mut arguments = vec![
                "weigh",
                &formula,
                "--as",
                "json",
                "--in",
                in_folder.to_str().unwrap(),
            ];
            if let Some(make) = &make {
                arguments.extend(["--make", make]);
            }
            let json = in_project(arguments).run().status(0).json();
            (
                json["total"].clone(),
                json["lines"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|line| (line["name"].clone(), line["target"].clone(), line["low"].clone()))
                    .collect::<Vec<_>>(),
            )
        };
        assert_eq!(sheet(&project().join(DEMO)), sheet(sandbox.path()), "{formula}");
    }
}

// ---- what is in the repository --------------------------------------------------------------

#[test]
fn nothing_printed_uses_what_it_refuses() {
    // What is refused on the way in is not printed on the way out: no naked point, no comma
    // between digits, no trailing point.
    for (formula, make) in crate::golden::formulas() {
        let mut arguments = vec!["weigh", &formula, "--in", DEMO];
        if let Some(make) = &make {
            arguments.extend(["--make", make]);
        }
        let page = in_project(arguments).columns(120).run().stdout;
        let letters: Vec<char> = page.chars().collect();
        for window in letters.windows(3) {
            let digit = |at: usize| window[at].is_ascii_digit();
            let blank = |at: usize| window[at].is_whitespace() || window[at] == '(';
            assert!(
                !(blank(0) && window[1] == '.' && digit(2)),
                "{formula}: naked point"
            );
            assert!(
                !(digit(0) && window[1] == ',' && digit(2)),
                "{formula}: comma in a number"
            );
        }
        // A figure that is nothing has no sign.
        assert!(
            !page.contains("−0 ") && !page.contains("−0\n"),
            "{formula}:\n{page}"
        );
    }
}

#[test]
fn counts_agree_with_their_words() {
    for (asked, wrong) in [
        ("1 cup", "1 cups"),
        ("1 dose", "1 doses"),
        ("1 person for 1 day", "1 days"),
        ("1 jar of 80 g", "1 jars"),
    ] {
        in_project(["weigh", "after-supper tea", "--make", asked, "--in", DEMO])
            .run()
            .status(0)
            .never_says(wrong);
    }
}

#[test]
fn a_sheet_follows_its_own_mix_line() {
    let ledger = |mix: &str| {
        format!(
            "practice\n  scales 0.1 g\nherb burdock root\n  part root\nherb rose petal\nherb thyme herb\n\
             formula tea\n  take\n    thyme herb 10 g\n    rose petal 40 g\n    burdock root 20 g\n  mix {mix}\n"
        )
    };
    let order = |mix: &str| -> (Vec<String>, String) {
        let sandbox = Sandbox::new().file("practice.scruple", ledger(mix));
        let json = sandbox.run(["weigh", "tea", "--as", "json"]).status(0).json();
        let names = json["lines"].as_array().unwrap().iter();
        let names = names
            .map(|line| line["name"].as_str().unwrap().to_owned())
            .collect();
        (names, sandbox.run(["weigh", "tea"]).stdout)
    };
    // Heavy first, petals last, unless `mix` says otherwise.
    assert_eq!(order("turn over").0, ["burdock root", "thyme herb", "rose petal"]);
    assert_eq!(
        order("petals first").0,
        ["rose petal", "burdock root", "thyme herb"]
    );
    assert_eq!(
        order("roots last").0,
        ["thyme herb", "rose petal", "burdock root"]
    );
    assert_eq!(
        order("in the order written").0,
        ["thyme herb", "rose petal", "burdock root"]
    );
    // Half understood is not understood: the lines stay as written, and that is said.
    let (names, sheet) = order("roots and spices first, then the flowers");
    assert_eq!(names, ["thyme herb", "rose petal", "burdock root"]);
    assert!(sheet.contains("follow `mix`"), "{sheet}");
}

#[test]
fn a_reason_is_given_for_what_it_was_written_for() {
    // "liquorice is a tenth of the blend" was accepted for liquorice, not for fennel.
    let ran = in_project([
        "weigh",
        "chest tea",
        "--make",
        "500 g",
        "--in",
        DEMO,
        "--as",
        "json",
    ])
    .run();
    let json = ran.status(0).json();
    for caution in json["cautions"].as_array().unwrap() {
        if let Some(reason) = caution["accepted"].as_str() {
            // A reason is written for a topic: it must speak for every herb that it covers.
            assert!(
                !reason.contains("liquorice") || reason.contains("fennel"),
                "{}: {reason}",
                caution["herb"]
            );
        }
    }
}

#[test]
fn the_least_age_comes_first() {
    // Under 4, under 12, under 18: by age, and not as words are sorted; the graver level first.
    let ran = in_project(["weigh", "after-supper tea", "--in", DEMO, "--as", "json"]).run();
    let json = ran.status(0).json();
    let ages_of = |level: &str| -> Vec<u32> {
        json["cautions"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|one| one["level"] == level)
            .filter_map(|one| {
                one["topic"]
                    .as_str()
                    .unwrap()
                    .strip_prefix("age under ")?
                    .parse()
                    .ok()
            })
            .collect()
    };
    let ages = ages_of("consult");
    assert!(ages.len() >= 3, "{ages:?}");
    assert!(ages.is_sorted(), "{ages:?}");
    assert_eq!(ages_of("mind"), [12]);
}

#[test]
fn an_adapted_amount_is_not_shown_as_if_it_were_taken_whole() {
    // `adapts hall tea at 1/10`: 150 g beside "1.5 kg" looks like a slip.
    let ran = in_project(["weigh", "hall tea for one table", "--in", DEMO, "--as", "json"]).run();
    let json = ran.status(0).json();
    let line = &json["lines"][0];
    assert_eq!(line["grams"], "150");
    assert_ne!(line["written"], "1.5 kg");
}

#[test]
fn an_estimate_is_shown_as_it_was_written() {
    let ran = in_project(["weigh", "yarrow salve", "--in", DEMO, "--as", "json"]).run();
    let json = ran.status(0).json();
    let wax = json["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|line| line["name"] == "beeswax")
        .unwrap()
        .clone();
    assert_eq!(wax["written"], "q.s., about 25 g");
}

#[test]
fn a_refused_size_offers_only_what_would_work() {
    // The salve has a volume and an estimate: neither 100 g nor 100 ml can be reached, and each
    // refusal must not send on to the other.
    for (asked, other) in [("100 g", "ml"), ("100 ml", "500 g")] {
        let ran = in_project(["weigh", "yarrow salve", "--make", asked, "--in", DEMO]).run();
        if ran.status == 2 {
            assert!(
                !ran.stderr.contains(&format!("--make \"{other}"))
                    && !ran.stderr.contains("`--make \"500 ml\"`"),
                "{asked}: {}",
                ran.stderr
            );
        }
    }
}

#[test]
fn a_measure_stated_wrongly_is_not_called_unstated() {
    let ran = Sandbox::new()
        .file(
            "practice.scruple",
            "practice\n  scales 0,01 g\nherb fennel fruit\nformula seed tea\n  take fennel fruit 10 g\n",
        )
        .run(["weigh", "seed tea"]);
    ran.never_says("0.1 g (not stated, assumed)");
}
