//! The look of what is printed, kept as snapshots that are reviewed in the diff.

use std::collections::BTreeSet;
use std::path::PathBuf;

use crate::sandbox::{in_project, project};

const DEMO: &str = "examples/low-barn";

/// Every formula of the demo ledger; those that have no size of their own with a size.
pub fn formulas() -> Vec<(String, Option<String>)> {
    [
        ("after-supper tea", None),
        ("three-seed tea", Some("500 g")),
        ("seed and spice tea", None),
        ("chest tea", Some("500 g")),
        ("chest tea for the hoarse", Some("500 g")),
        ("plantain syrup", None),
        ("thyme tincture", None),
        ("throat drops", None),
        ("garden tea", None),
        ("orchard tea", None),
        ("hedgerow tea", None),
        ("market morning tea", None),
        ("hall tea", None),
        ("hall tea for one table", None),
        ("root and flower tea", None),
        ("low barn bitters", None),
        ("yarrow oil", None),
        ("yarrow salve", None),
        ("hall gargle", None),
        ("spring tea", Some("500 g")),
        ("seed comfits", None),
    ]
    .into_iter()
    .map(|(name, make)| (name.to_owned(), make.map(str::to_owned)))
    .collect()
}

/// Compares with `tests/golden/NAME.snap`; nothing of the run but its text is kept there.
pub fn golden(name: &str, text: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(project().join("tests/golden"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, text));
}

fn file_name(formula: &str) -> String {
    formula.replace(' ', "-")
}

#[test]
fn every_sheet_looks_as_it_did() {
    for (formula, make) in formulas() {
        let mut arguments = vec!["weigh", &formula, "--in", DEMO];
        if let Some(make) = &make {
            arguments.extend(["--make", make]);
        }
        let ran = in_project(arguments).run();
        ran.status(0).stderr("");
        golden(&format!("weigh-{}", file_name(&formula)), &ran.stdout);
    }
}

#[test]
fn a_wide_and_a_narrow_sheet_look_as_they_did() {
    for width in [40, 120] {
        let ran = in_project([
            "weigh",
            "after-supper tea",
            "--make",
            "2 people for 14 days",
            "--in",
            DEMO,
        ])
        .columns(width)
        .run();
        ran.status(0);
        golden(&format!("weigh-after-supper-tea-at-{width}"), &ran.stdout);
    }
}

#[test]
fn a_working_looks_as_it_did() {
    for (name, arguments) in [
        ("why-after-supper-tea", &["why", "after-supper tea"][..]),
        (
            "why-ginger-in-after-supper-tea",
            &["why", "after-supper tea", "ginger rhizome"],
        ),
        ("why-hall-tea-for-one-table", &["why", "hall tea for one table"]),
        ("why-nettle-in-hall-tea", &["why", "hall tea", "nettle leaf"]),
        ("why-spoon-without-weight", &["why", "spoon-without-weight"]),
    ] {
        let ran = in_project(arguments.iter().copied().chain(["--in", DEMO])).run();
        ran.status(0).stderr("");
        golden(name, &ran.stdout);
    }
}

#[test]
fn the_reports_look_as_they_did() {
    let ran = in_project(["check", "--in", "examples/broken"]).run();
    ran.status(1).stderr("");
    golden("check-broken", &ran.stdout);
    let ran = in_project(["check", "--in", DEMO]).run();
    ran.status(0).stderr("");
    golden("check-low-barn", &ran.stdout);
    let ran = in_project(["check", "--in", "examples/first-blend"]).run();
    ran.status(0).stderr("");
    golden("check-first-blend", &ran.stdout);
}

/// Four people of the demo ledger: nothing known, pregnant, on anticoagulants and driving, a child of eight.
const PEOPLE: [&str; 4] = ["040", "064", "052", "088"];

/// A tea, drops that hold alcohol and a bought tincture, strong bitters, and the one tea without a limit for a child.
const FOR_PEOPLE: [&str; 4] = [
    "after-supper tea",
    "throat drops",
    "low barn bitters",
    "market morning tea",
];

#[test]
fn four_people_are_told_four_stories() {
    let mut told = BTreeSet::new();
    for code in PEOPLE {
        let ran = in_project(["check", "--person", code, "--in", DEMO]).run();
        ran.status(i32::from(code != "040")).stderr("");
        golden(&format!("check-low-barn-for-{code}"), &ran.stdout);
        told.insert(ran.stdout);
        for formula in FOR_PEOPLE {
            let ran = in_project(["doses", formula, "--person", code, "--in", DEMO]).run();
            ran.stderr("");
            golden(&format!("doses-{}-for-{code}", file_name(formula)), &ran.stdout);
        }
    }
    assert_eq!(told.len(), 4);
}

#[test]
fn the_reasons_of_a_caution_look_as_they_did() {
    for (name, arguments) in REASONS {
        let ran = in_project(arguments.iter().copied().chain(["--in", DEMO])).run();
        ran.status(0).stderr("");
        golden(name, &ran.stdout);
    }
}

const REASONS: [(&str, &[&str]); 3] = [
    (
        "why-reflux-in-after-supper-tea",
        &[
            "why",
            "after-supper tea",
            "--caution",
            "reflux",
            "--is",
            "prone to heartburn",
        ],
    ),
    (
        "why-age-in-hall-gargle",
        &["why", "hall gargle", "--caution", "age", "--person", "088"],
    ),
    (
        "why-allergy-in-yarrow-salve",
        &[
            "why",
            "yarrow salve",
            "--caution",
            "allergy",
            "--allergic",
            "composite family",
        ],
    ),
];

#[test]
fn the_first_blend_looks_as_it_did() {
    let ran = in_project(["weigh", "my first blend", "--in", "examples/first-blend"]).run();
    ran.status(0).stderr("");
    golden("weigh-my-first-blend", &ran.stdout);
}

#[test]
fn every_formula_of_the_examples_has_its_sheet() {
    // Found in the text itself, not by the program that is held to it.
    let found: BTreeSet<String> = texts("examples/low-barn")
        .iter()
        .flat_map(|text| text.lines())
        .filter_map(|line| line.strip_prefix("formula "))
        .map(|name| name.trim().to_owned())
        .collect();
    let listed: BTreeSet<String> = formulas().into_iter().map(|(name, _)| name).collect();
    assert_eq!(found, listed);
    let first: Vec<String> = texts("examples/first-blend")
        .iter()
        .flat_map(|text| text.lines())
        .filter_map(|line| line.strip_prefix("formula "))
        .map(str::to_owned)
        .collect();
    assert_eq!(first, ["my first blend"]);
}

#[test]
fn every_snapshot_is_looked_at() {
    let mut expected: BTreeSet<String> = formulas()
        .into_iter()
        .map(|(name, _)| format!("weigh-{}.snap", file_name(&name)))
        .collect();
    for name in [
        "weigh-after-supper-tea-at-40",
        "weigh-after-supper-tea-at-120",
        "weigh-my-first-blend",
        "why-after-supper-tea",
        "why-ginger-in-after-supper-tea",
        "why-hall-tea-for-one-table",
        "why-nettle-in-hall-tea",
        "why-spoon-without-weight",
        "check-broken",
        "check-low-barn",
        "check-first-blend",
        "page-after-supper-tea",
        "page-compare",
        "compare-with-pictures",
        "through-time-as-text",
        "through-time-as-a-page",
    ] {
        expected.insert(format!("{name}.snap"));
    }
    expected.extend(REASONS.iter().map(|(name, _)| format!("{name}.snap")));
    for code in PEOPLE {
        expected.insert(format!("check-low-barn-for-{code}.snap"));
        for formula in FOR_PEOPLE {
            expected.insert(format!("doses-{}-for-{code}.snap", file_name(formula)));
        }
    }
    let there: BTreeSet<String> = std::fs::read_dir(project().join("tests/golden"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| !name.ends_with(".snap.new"))
        .collect();
    assert_eq!(there, expected);
}

fn texts(folder: &str) -> Vec<String> {
    let mut texts = Vec::new();
    let mut folders: Vec<PathBuf> = vec![project().join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "scruple") {
                texts.push(std::fs::read_to_string(&path).unwrap());
            }
        }
    }
    texts
}
