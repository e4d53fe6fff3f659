//! Labels and leaflets: what stands on them, what never may, and whether they have room.

use crate::sandbox::{Sandbox, in_project};

const DEMO: [&str; 2] = ["--in", "examples/low-barn"];

fn label(arguments: &[&str]) -> crate::sandbox::Ran {
    in_project(["label"].iter().chain(arguments).chain(&DEMO)).run()
}

#[test]
fn a_label_holds_what_it_must() {
    let ran = label(&["after-supper tea", "--net", "50 g", "--batch", "2026-11-03"]);
    ran.status(0)
        // In falling order of weight: 30, 20, 20, 15, 4.2, 2.98 and 0.75 g.
        .says("peppermint leaf (Mentha × piperita L.), fennel fruit")
        .says("1 cup after meals, up to 3 a day")
        .says("infuse 2 heaped teaspoons in 1 cup of boiling water")
        .says("net                50 g")
        .says("2026\u{2011}11\u{2011}03")
        // The rose petals' lot is the first to run out.
        .says("2027\u{2011}07")
        .says("Low Barn Dispensary")
        .says("In an emergency call for help.");
    let data = in_project(["label", "after-supper tea", "--as", "json"].iter().chain(&DEMO))
        .run()
        .json();
    let names: Vec<&str> = data["ingredients"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(
        names,
        [
            "peppermint leaf",
            "fennel fruit",
            "caraway fruit",
            "lemon balm leaf",
            "orange peel",
            "ginger rhizome",
            "rose petal"
        ]
    );
    assert_eq!(data["net"], serde_json::Value::Null);
}

#[test]
fn what_is_not_known_is_left_to_be_written_in() {
    label(&["garden tea"])
        .status(0)
        .says("net                ________");
    label(&["garden tea", "--batch", "2026-11-03"])
        .status(2)
        .fails("there is no batch of garden tea on 2026-11-03");
}

#[test]
fn a_label_without_room_is_a_finding_and_nothing_is_printed() {
    let ran = label(&["after-supper tea", "--on", "52.5 x 29.7", "--as", "html"]);
    ran.status(1)
        .never_says("class=\"label\"")
        .says("label-too-small");
    label(&["after-supper tea", "--on", "7 x 3"])
        .status(2)
        .fails("70 x 37 mm, 24 on A4");
}

#[test]
fn without_words_for_the_person_every_dose_line_is_told() {
    Sandbox::new()
        .file(
            "l.scruple",
            "herb mint leaf\n\nformula tea\n  take mint leaf 20 g\n  infuse   2 g in 1 cup of boiling water\n  dose   1 cup, 3 times a day   # grown-ups\n  dose   age 6 to 12: 1/2 cup, 2 times a day\n",
        )
        .run(["label", "tea"])
        .status(0)
        .says("1 cup, 3 times a day; age 6 to 12: 1/2 cup, 2 times a day")
        .never_says("grown-ups");
}

#[test]
fn blends_inside_name_what_they_hold_and_what_they_are_made_with() {
    label(&["throat drops"])
        .status(0)
        .says("thyme tincture (thyme herb, 60 % spirit), sage tincture")
        .says("Shake before use");
    label(&["yarrow salve"]).status(0).says("yarrow oil (yarrow herb");
    label(&["plantain syrup"]).status(0).says("made with sugar");
}

/// Trailing zeros, naked points, and measures that have been misread (lists of the Institute for
/// Safe Medication Practices, from memory).
#[test]
fn error_prone_notation_stays_off_labels() {
    let ledger = |sign: &str| {
        Sandbox::new().file(
            "l.scruple",
            format!("herb mint leaf\n\nformula tea\n  take mint leaf 20.0 g\n  infuse   1.50 g in 1 cup of boiling water\n  sign   {sign}\n"),
        )
    };
    ledger("5.0 ml, or .5 g")
        .run(["label", "tea"])
        .status(0)
        .says("5 ml, or 0.5 g")
        .says("infuse 1.5 g in")
        .never_says("5.0")
        .never_says("1.50");
    for sign in ["5 cc a day", "50 µg", "2 T in water", "3 t, stirred"] {
        ledger(sign)
            .run(["label", "tea"])
            .status(1)
            .says("error-prone-unit");
    }
    ledger("1 cup, with T and cc the cat")
        .run(["label", "tea"])
        .status(0);
}

#[test]
fn the_cautions_of_its_person_stand_first_and_in_full() {
    let ran = label(&["after-supper tea", "--person", "064", "--with-leaflet"]);
    let text = &ran.stdout;
    ran.says("pregnancy").says("read the leaflet before use");
    assert!(!text.contains("66 kg") && !text.contains("31 years"), "{text}");
    let own = text.find("pregnancy").unwrap();
    assert!(own < text.find("read the leaflet").unwrap());
    // Without the leaflet everything stands on the jar.
    label(&["after-supper tea"]).says("ulcer").says("sedatives");
}

#[test]
fn leaflets_hold_every_caution_in_its_words() {
    for form in ["text", "html", "markdown"] {
        let ran = label(&["low barn bitters", "--leaflet", "--as", form]);
        ran.says("gentian root")
            .says("Gentiana lutea")
            .says("In an emergency call for help.");
        assert!(ran.stdout.contains("wormwood herb"), "{form}");
    }
}

#[test]
fn sheets_are_full_or_as_many_as_are_wanted() {
    let count = |arguments: &[&str]| {
        let mut all = vec!["garden tea", "--as", "html"];
        all.extend(arguments);
        let ran = label(&all);
        ran.status(0);
        roxmltree::Document::parse_with_options(
            &ran.stdout,
            roxmltree::ParsingOptions {
                allow_dtd: true,
                ..Default::default()
            },
        )
        .unwrap();
        (
            ran.stdout.matches("class=\"label\"").count(),
            ran.stdout.matches("class=\"sheet\"").count(),
        )
    };
    assert_eq!(count(&[]), (4, 1));
    assert_eq!(count(&["--copies", "5"]), (5, 2));
    assert_eq!(count(&["--on", "105 x 74", "--with-leaflet", "--code"]), (8, 1));
}
