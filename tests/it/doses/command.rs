//! The command line: four people of the example ledger for whom one tea is four different stories, facts that
//! are typed, and what stands on every page.
//!
//! What must be in each story was put together by hand from the entries of the herbs in the ledger.

use std::collections::BTreeSet;

use super::{R, Ran, cautions_by, flat, low_barn, on_disk, r, run, run_wide};

fn doses(formula: &str, arguments: &[&str]) -> Ran {
    let all: Vec<&str> = ["doses", formula].iter().chain(arguments).copied().collect();
    run(&low_barn(), &all)
}

fn doses_json(formula: &str, arguments: &[&str]) -> serde_json::Value {
    let all: Vec<&str> = arguments.iter().copied().chain(["--as", "json"]).collect();
    doses(formula, &all).json()
}

fn codes(value: &serde_json::Value) -> Vec<String> {
    let mut codes: Vec<String> = value["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            format!(
                "{} {}",
                one["severity"].as_str().unwrap(),
                one["code"].as_str().unwrap()
            )
        })
        .collect();
    codes.sort();
    codes
}

/// What bears on the person, and nothing if nothing does.
fn own(value: &serde_json::Value) -> Vec<String> {
    cautions_by(value).remove("this person").unwrap_or_default()
}

const TEA: &str = "after-supper tea";

// ---- four stories of one tea ---------------------------------------------------------------------

/// An adult of whom nothing is known that matters.
#[test]
fn nothing_bears_on_an_adult_with_nothing() {
    let ran = doses(TEA, &["--person", "040"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    let said = ran.flat();
    assert!(said.contains("person 040: 45 years, 82 kg"), "{said}");
    assert!(
        said.contains("Cautions that bear on this person None of the stated cautions does."),
        "{said}"
    );
    let json = doses_json(TEA, &["--person", "040"]);
    assert_eq!(own(&json), Vec::<String>::new());
    assert!(
        codes(&json)
            .iter()
            .all(|code| code.starts_with("notice") && !code.contains("person")),
        "{:?}",
        codes(&json)
    );
    // All of the other cautions are there all the same.
    let by = cautions_by(&json);
    assert!(by["others"].contains(&"consult pregnancy: fennel fruit".to_owned()));
    assert!(by["everyone"].contains(&"consult duration: fennel fruit".to_owned()));
    assert!(!by.contains_key("not known"));
}

#[test]
fn a_pregnant_person_is_to_ask_first() {
    let ran = doses(TEA, &["--person", "064"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    let json = doses_json(TEA, &["--person", "064"]);
    let herbs = [
        "caraway fruit",
        "fennel fruit",
        "ginger rhizome",
        "lemon balm leaf",
        "orange peel",
        "peppermint leaf",
        "rose petal",
    ];
    assert_eq!(own(&json), herbs.map(|herb| format!("consult pregnancy: {herb}")));
    assert!(
        codes(&json).contains(&"warning ask-first-for-this-person".to_owned()),
        "{:?}",
        codes(&json)
    );
    assert!(!codes(&json).iter().any(|code| code.starts_with("error")));
    // What concerns the person comes before what concerns others and before the figures.
    let said = ran.flat();
    let place = |words: &str| {
        said.find(words)
            .unwrap_or_else(|| panic!("no `{words}` in {said}"))
    };
    assert!(place("consult pregnancy") < place("Cautions for everyone"));
    assert!(place("Cautions for everyone") < place("Cautions for others"));
    // The breast-feeding lines of the same herbs bear on others.
    assert!(cautions_by(&json)["others"].contains(&"consult lactation: fennel fruit".to_owned()));
}

#[test]
fn one_on_blood_thinners_who_drives_is_told_of_both() {
    let ran = doses(TEA, &["--person", "052"]);
    // To be told of something is no warning.
    assert_eq!(ran.code, 0, "{}", ran.out);
    let json = doses_json(TEA, &["--person", "052"]);
    assert_eq!(
        own(&json),
        [
            "mind anticoagulants: ginger rhizome",
            "mind driving: lemon balm leaf"
        ]
    );
    assert_eq!(
        codes(&json)
            .iter()
            .filter(|code| *code == "notice mind-for-this-person")
            .count(),
        2,
        "{:?}",
        codes(&json)
    );
    let said = ran.flat();
    assert!(
        said.contains("ginger rhizome: may add to blood thinners, have clotting checked"),
        "{said}"
    );
    assert!(
        said.contains("lemon balm leaf: calming mixtures can slow reactions"),
        "{said}"
    );
}

#[test]
fn a_child_of_eight_is_under_five_herbs_limits() {
    let ran = doses(TEA, &["--person", "088"]);
    assert_eq!(ran.code, 1, "{}", ran.out);
    let json = doses_json(TEA, &["--person", "088"]);
    assert_eq!(
        own(&json),
        [
            "consult age under 12: caraway fruit",
            "consult age under 12: lemon balm leaf",
            "consult age under 18: ginger rhizome",
            "consult age under 18: rose petal",
            "mind age under 12: fennel fruit",
        ]
    );
    assert_eq!(
        codes(&json)
            .iter()
            .filter(|code| *code == "warning ask-first-for-this-person")
            .count(),
        2,
        "{:?}",
        codes(&json)
    );
    // Limits of 4 years are passed, and bear on others.
    assert!(cautions_by(&json)["others"].contains(&"consult age under 4: fennel fruit".to_owned()));
    // Nobody may read the adult's dose as the child's.
    let said = ran.flat();
    assert!(said.contains("the adult's") && said.contains("a child"), "{said}");
    assert!(said.contains("from 4 on, for less than one week"), "{said}");
}

#[test]
fn the_four_stories_differ() {
    let stories: BTreeSet<String> = ["040", "052", "064", "088"]
        .iter()
        .map(|code| format!("{:?}", own(&doses_json(TEA, &["--person", code]))))
        .collect();
    assert_eq!(stories.len(), 4);
    // The figures are the same for all: they are the tea's.
    let figures: BTreeSet<String> = ["040", "052", "064"]
        .iter()
        .map(|code| doses_json(TEA, &["--person", code])["herbs"].to_string())
        .collect();
    assert_eq!(figures.len(), 1);
}

/// A cup of the blend's own weighing (1.4, 1.5, 1.4 g; two heaped spoons of 1.5 to 2.5 level ones), and of it
/// 30 g of peppermint in 30 + 20 + 20 + 15 g, 2 spoons of orange peel (2.0 to 2.2 g), one heaped of ginger
/// (14.9 g for 5) and 1 1/2 of petals (0.4 to 0.6 g).
#[test]
fn the_figures_of_the_story_by_hand() {
    let json = doses_json(TEA, &[]);
    let figure = |value: &serde_json::Value| super::figure(value);
    let is = |value: &serde_json::Value, wanted: R| {
        assert!(
            super::near(&figure(value), &wanted),
            "{value} instead of {wanted}"
        );
    };
    let cup = r(43, 30) * r(4, 1);
    is(&json["blend_at_once"]["nominal"], cup.clone());
    is(&json["blend_at_once"]["low"], r(14, 10) * r(3, 1));
    is(&json["blend_at_once"]["high"], r(15, 10) * r(5, 1));
    is(&json["grams_in_100_ml"]["nominal"], &cup / r(5, 2));
    let total = r(85, 1) + r(42, 10) + r(149, 50) + r(75, 100);
    let mint = json["herbs"]
        .as_array()
        .unwrap()
        .iter()
        .find(|herb| herb["herb"] == "peppermint leaf")
        .unwrap();
    is(&mint["at_once"]["nominal"], &cup * r(30, 1) / &total);
    is(&mint["a_day"]["nominal"], &cup * r(90, 1) / &total);
    is(&mint["least_at_once"]["value"], r(15, 10));
    is(&mint["most_at_once"]["value"], r(3, 1));
    is(&mint["most_a_day"]["value"], r(9, 1));
    assert_eq!(mint["sources"][0]["name"], "peppermint-texts");
    assert_eq!(mint["sources"][0]["from_memory"], true);
    is(&json["doses_held"]["nominal"], &total / &cup);
    is(&json["lasts_days"]["nominal"], &total / &cup / r(3, 1));
}

// ---- the whole ledger for one person ----------------------------------------------------------------

/// `check --person`: severity, formula and topic of every finding about the person.
fn about_the_person(code: &str) -> (i32, BTreeSet<String>) {
    let formulas: Vec<String> = scruple::workspace::Snapshot::read(&low_barn())
        .ledger
        .formulas
        .iter()
        .map(|formula| formula.name.text.clone())
        .collect();
    let ran = run(&low_barn(), &["check", "--person", code, "--as", "json"]);
    let found = ran.json()["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["code"].as_str().unwrap().ends_with("-for-this-person"))
        .map(|one| {
            let message = one["message"].as_str().unwrap();
            let formula = formulas
                .iter()
                .filter(|name| message.contains(name.as_str()))
                .max_by_key(|name| name.len());
            // `..., pregnancy (person 064 is pregnant): ...`
            let (before, _) = message
                .split_once(&format!(" (person {code} "))
                .unwrap_or_else(|| panic!("{message}"));
            let topic = before
                .rsplit([':', ','])
                .next()
                .unwrap()
                .trim()
                .rsplit(" for ")
                .next()
                .unwrap();
            format!(
                "{} {}: {topic}",
                one["severity"].as_str().unwrap(),
                formula.unwrap_or_else(|| panic!("{message}"))
            )
        })
        .collect();
    (ran.code, found)
}

fn set(all: &[&str]) -> BTreeSet<String> {
    all.iter().map(|one| (*one).to_owned()).collect()
}

#[test]
fn the_ledger_for_an_adult_with_nothing() {
    assert_eq!(about_the_person("040"), (0, BTreeSet::new()));
}

#[test]
fn the_ledger_for_a_pregnant_person() {
    let expected = set(&[
        // Liquorice, and wormwood with gentian.
        "error chest tea: pregnancy",
        "error chest tea for the hoarse: pregnancy",
        "error low barn bitters: pregnancy",
        "warning after-supper tea: pregnancy",
        "warning chest tea: pregnancy",
        "warning chest tea for the hoarse: pregnancy",
        "warning garden tea: pregnancy",
        "warning hall tea: pregnancy",
        "warning hall tea for one table: pregnancy",
        "warning hedgerow tea: pregnancy",
        "warning low barn bitters: pregnancy",
        "warning market morning tea: pregnancy",
        "warning orchard tea: pregnancy",
        "warning plantain syrup: pregnancy",
        "warning root and flower tea: pregnancy",
        "warning seed and spice tea: pregnancy",
        "warning three-seed tea: pregnancy",
        "warning throat drops: pregnancy",
        "warning thyme tincture: pregnancy",
        "warning yarrow oil: pregnancy",
        "warning yarrow salve: pregnancy",
        // Spearmint: as food it is usual.
        "notice garden tea: pregnancy",
        "notice hall tea: pregnancy",
        "notice hall tea for one table: pregnancy",
        "notice market morning tea: pregnancy",
    ]);
    let (code, found) = about_the_person("064");
    assert_eq!(code, 1);
    let missing: Vec<_> = expected.difference(&found).collect();
    assert!(missing.is_empty(), "MISSED: {missing:?}");
    // What else is said may come only from liquids, of which the ledger may say more one day.
    assert!(found.iter().all(|one| one.ends_with(": pregnancy")), "{found:?}");
    let errors = found.iter().filter(|one| one.starts_with("error")).count();
    assert!(errors >= 3, "{found:?}");
}

#[test]
fn the_ledger_for_one_on_blood_thinners_who_drives() {
    let expected = set(&[
        // Meadowsweet: salicylates.
        "warning root and flower tea: anticoagulants",
        // Ginger.
        "notice after-supper tea: anticoagulants",
        "notice seed and spice tea: anticoagulants",
        // Lemon balm, lemon verbena, sage in the bought tincture's formula is not in it: a tincture is a material.
        "notice after-supper tea: driving",
        "notice garden tea: driving",
        "notice hall tea: driving",
        "notice hall tea for one table: driving",
        "notice market morning tea: driving",
    ]);
    let (code, found) = about_the_person("052");
    assert_eq!(code, 1);
    let missing: Vec<_> = expected.difference(&found).collect();
    assert!(missing.is_empty(), "MISSED: {missing:?}");
    assert!(
        found
            .iter()
            .all(|one| one.ends_with(": anticoagulants") || one.ends_with(": driving")),
        "{found:?}"
    );
}

#[test]
fn the_ledger_for_a_child_of_eight() {
    let expected = set(&[
        "warning after-supper tea: age under 12",
        "warning after-supper tea: age under 18",
        "warning chest tea: age under 12",
        "warning chest tea: age under 18",
        "warning chest tea for the hoarse: age under 12",
        "warning chest tea for the hoarse: age under 18",
        "warning garden tea: age under 12",
        "warning hall tea: age under 12",
        "warning hall tea for one table: age under 12",
        "warning hedgerow tea: age under 12",
        "warning hedgerow tea: age under 18",
        "warning low barn bitters: age under 18",
        "warning orchard tea: age under 18",
        "warning plantain syrup: age under 12",
        "warning root and flower tea: age under 18",
        "warning seed and spice tea: age under 12",
        "warning seed and spice tea: age under 18",
        "warning three-seed tea: age under 12",
        "warning throat drops: age under 12",
        "warning thyme tincture: age under 12",
        "warning yarrow oil: age under 12",
        "warning yarrow salve: age under 12",
    ]);
    let (code, found) = about_the_person("088");
    assert_eq!(code, 1);
    let missing: Vec<_> = expected.difference(&found).collect();
    assert!(missing.is_empty(), "MISSED: {missing:?}");
    assert!(found.iter().all(|one| one.contains(": age under 1")), "{found:?}");
    // Market morning tea has no herb with a limit above four years.
    assert!(
        !found.iter().any(|one| one.contains("market morning tea")),
        "{found:?}"
    );
}

/// The example ledger says nothing of these people while nobody asks for them, and stays clean.
#[test]
fn the_ledger_itself_stays_clean() {
    let ran = run(&low_barn(), &["check", "--as", "json"]);
    assert_eq!(ran.code, 0, "{}", ran.out);
    let json = ran.json();
    assert_eq!((&json["errors"], &json["warnings"]), (&0.into(), &0.into()));
    for code in ["040", "052", "064", "088"] {
        assert!(!ran.out.contains(&format!("person {code}")), "{code}");
    }
}

/// Each line of the stories can be asked `why`: the code has a page, and the figure has its working.
#[test]
fn each_line_can_be_asked_why() {
    for code in [
        "not-for-this-person",
        "ask-first-for-this-person",
        "mind-for-this-person",
        "same-effect-twice",
        "below-the-least-dose",
        "dose-not-sure",
    ] {
        let ran = run(&low_barn(), &["why", code]);
        assert_eq!(ran.code, 0, "{code}: {}", ran.err);
        assert!(
            ran.out.lines().count() > 10,
            "{code} has no page yet:\n{}",
            ran.out
        );
    }
    let ran = run(&low_barn(), &["why", TEA, "ginger rhizome"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let said = ran.flat();
    for part in [
        "2.98 g (one weighing)",
        "formulas/supper.scruple:13",
        "practice.scruple",
        "ginger-texts",
        "from memory",
        "4 g a day",
    ] {
        assert!(said.contains(part), "`{part}` is missing:\n{}", ran.out);
    }
}

// ---- facts typed on the line ------------------------------------------------------------------------

/// The same facts, typed or written down as a person, give the same cautions.
#[test]
fn typed_facts_are_as_good_as_a_person() {
    for (code, typed) in [
        ("064", &["--is", "pregnant", "--age", "31"][..]),
        (
            "052",
            &["--is", "driving", "--takes", "anticoagulants", "--age", "58"],
        ),
        ("088", &["--age", "8", "--weight", "26 kg"]),
        ("040", &["--age", "45"]),
    ] {
        for formula in [TEA, "low barn bitters"] {
            assert_eq!(
                own(&doses_json(formula, typed)),
                own(&doses_json(formula, &["--person", code])),
                "{formula}, {code}"
            );
        }
    }
}

#[test]
fn several_facts_with_commas_or_one_by_one() {
    let commas = own(&doses_json(
        "garden tea",
        &["--is", "pregnant,driving", "--age", "30"],
    ));
    let singly = own(&doses_json(
        "garden tea",
        &["--is", "pregnant", "--is", "driving", "--age", "30"],
    ));
    let blanks = own(&doses_json(
        "garden tea",
        &["--is", "pregnant, driving", "--age", "30"],
    ));
    assert_eq!(commas, singly);
    assert_eq!(commas, blanks);
    assert!(
        commas.contains(&"mind driving: lemon balm leaf".to_owned()),
        "{commas:?}"
    );
    assert!(
        commas.contains(&"consult pregnancy: nettle leaf".to_owned()),
        "{commas:?}"
    );
}

#[test]
fn facts_typed_beside_a_person_are_added() {
    let own = own(&doses_json(TEA, &["--person", "064", "--takes", "warfarin"]));
    assert!(
        own.contains(&"mind anticoagulants: ginger rhizome".to_owned()),
        "{own:?}"
    );
    assert!(
        own.contains(&"consult pregnancy: ginger rhizome".to_owned()),
        "{own:?}"
    );
}

#[test]
fn a_medicine_by_its_generic_name_meets_its_class() {
    for medicine in [
        "warfarin",
        "Warfarin",
        "phenprocoumon",
        "apixaban",
        "anticoagulant",
        "blood thinners",
    ] {
        let own = own(&doses_json(TEA, &["--takes", medicine, "--age", "50"]));
        assert_eq!(own, ["mind anticoagulants: ginger rhizome"], "{medicine}");
    }
    let own = own(&doses_json(
        "chest tea",
        &["--takes", "furosemide,digoxin", "--age", "50"],
    ));
    assert_eq!(
        own,
        [
            "consult diuretics: liquorice root",
            "consult heart medicines: liquorice root"
        ]
    );
}

/// A slip would hide a caution: it is refused, nothing is printed, and the nearest is offered.
#[test]
fn facts_with_a_slip_are_refused() {
    for (arguments, offered) in [
        (&["--is", "pregnent"][..], "pregnant"),
        (&["--is", "drivving"], "driving"),
        (&["--takes", "warfarine"], "warfarin"),
        (&["--takes", "anticoagulents"], "anticoagulants"),
        (&["--allergic", "Asteracae"], "Asteraceae"),
        (&["--takes", "warfarin", "--is", "pregnent"], "pregnant"),
        (&["--is", "pregnant,drivving"], "driving"),
    ] {
        for command in [&["check"][..], &["doses", TEA]]
            .into_iter()
            .skip(usize::from(offered != "warfarin"))
        {
            let all: Vec<&str> = command.iter().chain(arguments).copied().collect();
            let ran = run(&low_barn(), &all);
            assert_eq!(ran.code, 2, "{all:?}: {}", ran.out);
            assert!(ran.out.is_empty(), "{all:?}: {}", ran.out);
            let said = flat(&ran.err).to_lowercase();
            assert!(
                said.contains(&format!("did you mean `{}`?", offered.to_lowercase())),
                "{all:?}: {}",
                ran.err
            );
        }
    }
    let mut taken = Vec::new();
    for arguments in [
        &["--is", "warfarin"][..],
        &["--takes", "driving"],
        &["--is", ""],
        &["--takes", "my usual tablets"],
        // A formula is nothing that somebody can be allergic to so that a caution would meet it.
        &["--allergic", "garden tea"],
        &["--age", "eight"],
        &["--age=-3"],
        &["--age", "400"],
        &["--weight", "26"],
        &["--weight", "26 cups"],
        &["--person", "999"],
    ] {
        let all: Vec<&str> = ["doses", TEA].iter().chain(arguments).copied().collect();
        let ran = run(&low_barn(), &all);
        if ran.code != 2 || ran.err.is_empty() || !ran.out.is_empty() {
            taken.push(format!("{arguments:?}"));
        }
    }
    assert!(taken.is_empty(), "taken as if it were understood: {taken:?}");
}

/// An age may be typed in months, as it may be written.
#[test]
fn an_age_in_months() {
    let ran = doses(TEA, &["--age", "8 months"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert!(
        own(&doses_json(TEA, &["--age", "8 months"]))
            .contains(&"consult age under 4: fennel fruit".to_owned())
    );
}

/// What is printed of an age that lies just below a limit may not say that it has been reached.
#[test]
fn an_age_just_below_a_limit_is_not_printed_as_the_limit() {
    let json = doses_json(TEA, &["--age", "11.99"]);
    let because: Vec<&str> = json["cautions"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["topic"] == "age under 12")
        .filter_map(|one| one["because"].as_str())
        .collect();
    assert!(!because.is_empty());
    assert!(
        because.iter().all(|because| !because.contains(" 12 years")),
        "under 12, since {}",
        because[0]
    );
}

// ---- what stands on every page ------------------------------------------------------------------------

const STANDING: [&str; 3] = [
    "For use by or with a qualified practitioner.",
    "Local law and licensed practice come first.",
    "In an emergency call for help.",
];

#[test]
fn every_page_says_for_whom_it_is_and_what_comes_first() {
    let empty = tempfile::tempdir().unwrap();
    let barn = low_barn();
    let fresh = on_disk(&[("practice.scruple", "practice\n  cup   250 ml\n")]);
    let broken = on_disk(&[(
        "practice.scruple",
        "herb plain leaf\n\nformula tea\n  take   plain leef 10 g\n",
    )]);
    let first = on_disk(&[("practice.scruple", "herb plain leaf\n")]);
    for width in [30, 80] {
        let pages: &[(&std::path::Path, &[&str])] = &[
            (&barn, &["check"]),
            (&barn, &["check", "--person", "064"]),
            (&barn, &["doses", TEA]),
            (&barn, &["doses", TEA, "--person", "088"]),
            (&barn, &["doses", "yarrow oil"]),
            (&barn, &["weigh", TEA]),
            (&barn, &["weigh", TEA, "--make", "2 people for 7 days"]),
            (&barn, &["why", TEA]),
            (&barn, &["why", TEA, "ginger rhizome"]),
            (&barn, &["adopt"]),
            (first.path(), &["check"]),
            (broken.path(), &["check"]),
        ];
        for (folder, arguments) in pages {
            let ran = run_wide(folder, width, arguments);
            let said = ran.flat();
            for words in STANDING {
                assert!(
                    said.contains(words),
                    "{arguments:?} at {width} lacks `{words}`:\n{}",
                    ran.out
                );
            }
        }
    }
    let said = run(empty.path(), &["begin", "my-ledger"]).flat();
    assert!(STANDING.iter().all(|words| said.contains(words)), "{said}");
    let said = run(fresh.path(), &["adopt", "chamomile flower"]).flat();
    assert!(STANDING.iter().all(|words| said.contains(words)), "{said}");
}

#[test]
fn the_page_of_a_finding_says_it_too() {
    let said = run(&low_barn(), &["why", "not-for-this-person"]).flat();
    assert!(STANDING.iter().all(|words| said.contains(words)), "{said}");
}

#[test]
fn the_data_of_sheets_says_it_too() {
    for arguments in [
        &["doses", TEA][..],
        &["doses", TEA, "--person", "064"],
        &["weigh", TEA],
    ] {
        let all: Vec<&str> = arguments.iter().copied().chain(["--as", "json"]).collect();
        let json = run(&low_barn(), &all).json();
        assert_eq!(json["standing"], serde_json::json!(STANDING), "{arguments:?}");
    }
}

/// The files that `begin` writes carry it too, since they are what is read most.
#[test]
fn what_begin_writes_says_it_too() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(folder.path(), &["begin", "my-ledger"]).code, 0);
    let practice = std::fs::read_to_string(folder.path().join("my-ledger/practice.scruple")).unwrap();
    let said = flat(&practice.replace('#', " "));
    assert!(STANDING.iter().all(|words| said.contains(words)), "{said}");
}

/// At the width of a narrow screen what matters most is still there: the cautions, and the most of a day.
#[test]
fn at_eighty_columns_the_most_of_a_day_is_shown() {
    for width in [80, 100, 120] {
        let ran = run_wide(&low_barn(), width, &["doses", TEA, "--person", "052"]);
        assert!(
            ran.out.lines().all(|line| line.chars().count() <= width),
            "{width}:\n{}",
            ran.out
        );
        let said = ran.flat();
        for words in ["mind anticoagulants", "mind driving", "13.5 g", "7.5 g", "0.18 g"] {
            assert!(
                said.contains(words),
                "{width}: `{words}` is missing:\n{}",
                ran.out
            );
        }
    }
}

/// The picture: every herb with a stated dose, one bar each, all of one length, and a line that explains it.
#[test]
fn the_picture_of_doses() {
    let ran = run_wide(&low_barn(), 80, &["doses", TEA]);
    let bars: Vec<&str> = ran.out.lines().filter(|line| line.contains('|')).collect();
    assert_eq!(bars.len(), 6, "{}", ran.out);
    for bar in &bars {
        let (_, rest) = bar.split_once('|').unwrap();
        let (cells, end) = rest.split_once('|').unwrap();
        assert_eq!(cells.chars().count(), 36, "{bar}");
        assert!(cells.chars().all(|cell| " -=#".contains(cell)), "{bar}");
        assert!(end.trim().ends_with(" g"), "{bar}");
    }
    // Peppermint: 1.35 to 2.43 g against 1.5 to 3 g; the bar ends at 3 g. 12 cells to the gram.
    let mint = bars.iter().find(|bar| bar.starts_with("peppermint")).unwrap();
    let cells: Vec<char> = mint.split('|').nth(1).unwrap().chars().collect();
    assert_eq!(cells[15], ' ', "1.25 g to 1.33 g: {mint}");
    assert_eq!(cells[17], '=', "1.42 to 1.5 g: below what is stated: {mint}");
    assert_eq!(cells[20], '#', "1.67 g: both: {mint}");
    assert_eq!(cells[32], '-', "2.67 g: stated, and not taken: {mint}");
    // Orange peel: 0.18 to 0.35 g against 2 g.
    let peel = bars.iter().find(|bar| bar.starts_with("orange")).unwrap();
    assert!(
        peel.contains('=') && peel.contains('-') && !peel.contains('#'),
        "{peel}"
    );
    assert!(ran.out.contains("- stated, = this dose, # both"), "{}", ran.out);
}
