//! What `doses --as json` prints is what `grammar/doses.schema.json` says, and that lets nothing else through.

use jsonschema::Validator;
use serde_json::{Value, json};

use super::{low_barn, on_disk, run};

fn schema() -> Value {
    serde_json::from_str(include_str!("../../../grammar/doses.schema.json")).unwrap()
}

fn validator() -> Validator {
    jsonschema::draft202012::new(&schema()).unwrap()
}

fn assert_valid(validator: &Validator, value: &Value, what: &str) {
    let faults: Vec<String> = validator
        .iter_errors(value)
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{what}:\n  {}", faults.join("\n  "));
}

/// The formulas of the example ledger that show every shape: dry, drawn out, for the skin, without a dose,
/// with a formula inside, made for a person.
const FORMULAS: [&str; 8] = [
    "after-supper tea",
    "chest tea for the hoarse",
    "hall tea",
    "low barn bitters",
    "plantain syrup",
    "three-seed tea",
    "throat drops",
    "yarrow salve",
];

const CHILDREN: &str = "practice\n  children   by Clark\n\nsource book\n  title   a book\n  from memory\n\n\
    herb mild leaf\n  family   Asteraceae\n  nature   warming\n  dose   1 to 2 g, 3 times a day   source book\n  most   14 days   source book\n  avoid   age under 4   source book\n\n\
    formula leaf tea\n  take   mild leaf 20 g\n  infuse   2 g in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n  accept   age under 4\n\n\
    formula no tea\n  take   mild leaf 20 g\n\n\
    material spirit\n\nmaterial oil\n\n\
    formula leaf drops\n  take   mild leaf 10 g\n  macerate   1:2 in spirit for 14 days\n  makes   20 ml\n\n\
    formula mixed tea\n  take\n    mild leaf   20 g\n    leaf drops   2 ml\n    oil   q.s.\n  dose   2 g, 3 times a day\n  dose   1 handful\n  dose   age under 6: 1 g\n\n\
    formula oily tea\n  take\n    mild leaf   20 g\n    leaf drops   2 ml\n    oil   5 ml\n  dose   2 g, 3 times a day\n";

/// All that is printed: of the example ledger for its people, and of a small one for children.
fn printed() -> Vec<(String, Value)> {
    let mut all = Vec::new();
    for formula in FORMULAS {
        let people = [None, Some("064"), Some("088")];
        for person in people
            .into_iter()
            .take(if formula == FORMULAS[0] { 3 } else { 1 })
        {
            let mut arguments = vec!["doses", formula, "--as", "json"];
            arguments.extend(person.iter().flat_map(|code| ["--person", code]));
            all.push((
                format!("{formula} for {person:?}"),
                run(&low_barn(), &arguments).json(),
            ));
        }
    }
    let folder = on_disk(&[("practice.scruple", CHILDREN)]);
    for facts in [
        &[][..],
        &["--age", "8", "--weight", "26 kg"],
        &["--age", "3"],
        &["--allergic", "Asteraceae"],
    ] {
        for formula in ["leaf tea", "no tea", "mixed tea", "oily tea"] {
            let arguments: Vec<&str> = ["doses", formula, "--as", "json"]
                .iter()
                .chain(facts)
                .copied()
                .collect();
            all.push((
                format!("{formula} for {facts:?}"),
                run(folder.path(), &arguments).json(),
            ));
        }
    }
    all
}

/// What a schema of single fields can't say.
fn assert_consistent(value: &Value, what: &str) {
    let refused = value["not_reckoned"].is_string();
    assert_eq!(
        value["dose"].is_null(),
        refused,
        "{what}: a dose, or why there is none"
    );
    if refused {
        for field in [
            "blend_at_once",
            "liquid_at_once",
            "times_a_day",
            "doses_held",
            "lasts_days",
        ] {
            assert!(value[field].is_null(), "{what}: `{field}` beside a refusal");
        }
        assert_eq!(value["herbs"], json!([]), "{what}");
    }
    for one in value["cautions"].as_array().unwrap() {
        assert_eq!(
            one["because"].is_string(),
            one["bears_on"] == "this person",
            "{what}: {one}"
        );
        assert!(
            one["accepted"] == true || one["reason"].is_null(),
            "{what}: {one}"
        );
    }
    let ordered = |figure: &Value| {
        let [low, nominal, high] = ["low", "nominal", "high"].map(|end| super::figure(&figure[end]));
        assert!(low <= nominal && nominal <= high, "{what}: {figure}");
    };
    for field in [
        "blend_at_once",
        "blend_a_cup",
        "times_a_day",
        "doses_held",
        "lasts_days",
    ] {
        if !value[field].is_null() {
            ordered(&value[field]);
        }
    }
    for herb in value["herbs"].as_array().unwrap() {
        ordered(&herb["at_once"]);
        if !herb["a_day"].is_null() {
            ordered(&herb["a_day"]);
        }
    }
}

/// Whether a value has something other than nothing at every step of a path; `*` is any element.
fn reaches(value: &Value, path: &[&str]) -> bool {
    match path.split_first() {
        None => !value.is_null() && value != &json!([]),
        Some((&"*", rest)) => value
            .as_array()
            .is_some_and(|all| all.iter().any(|one| reaches(one, rest))),
        Some((name, rest)) => value.get(*name).is_some_and(|inner| reaches(inner, rest)),
    }
}

#[test]
fn all_that_is_printed_is_what_the_schema_says() {
    let validator = validator();
    let all = printed();
    for (what, value) in &all {
        assert_valid(&validator, value, what);
        assert_consistent(value, what);
    }
    // The examples must fill every field at least once, or the schema is not tried.
    for field in schema()["properties"].as_object().unwrap().keys() {
        assert!(
            all.iter().any(|(_, value)| reaches(value, &[field])),
            "nothing prints `{field}`"
        );
    }
    for path in [
        &["herbs", "*", "a_day"][..],
        &["herbs", "*", "least_at_once"],
        &["herbs", "*", "most_a_day"],
        &["herbs", "*", "most_days"],
        &["herbs", "*", "sources"],
        &["dose_lines", "*", "ages"],
        &["dose_lines", "*", "not_reckoned"],
        &["behind", "*", "a_day"],
        &["cautions", "*", "because"],
        &["cautions", "*", "reason"],
        &["cautions", "*", "source"],
        &["child", "dose"],
    ] {
        assert!(
            all.iter().any(|(_, value)| reaches(value, path)),
            "nothing prints {path:?}"
        );
    }
    for bears_on in ["this person", "everyone", "not known", "others"] {
        let any = |value: &Value| {
            value["cautions"]
                .as_array()
                .unwrap()
                .iter()
                .any(|one| one["bears_on"] == bears_on)
        };
        assert!(
            all.iter().any(|(_, value)| any(value)),
            "nothing bears on {bears_on}"
        );
    }
}

/// Every object is closed, every property required and described.
#[test]
fn every_field_is_described_required_and_alone() {
    fn walk(value: &Value, path: &str, objects: &mut usize, fields: &mut usize) {
        if let Value::Array(all) = value {
            for (at, one) in all.iter().enumerate() {
                walk(one, &format!("{path}/{at}"), objects, fields);
            }
        }
        let Some(object) = value.as_object() else { return };
        if object.get("type") == Some(&json!("object")) {
            *objects += 1;
            assert_eq!(object.get("additionalProperties"), Some(&json!(false)), "{path}");
            assert!(object.contains_key("description"), "{path}");
            let names: Vec<&String> = object["properties"].as_object().unwrap().keys().collect();
            let required: Vec<&str> = object["required"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| one.as_str().unwrap())
                .collect();
            for name in &names {
                assert!(
                    required.contains(&name.as_str()),
                    "{path}: {name} is not required"
                );
            }
        }
        if let Some(properties) = object.get("properties").and_then(Value::as_object) {
            for (name, field) in properties {
                *fields += 1;
                let said = field["description"].as_str().unwrap_or_default();
                assert!(said.len() > 5 && said.ends_with('.'), "{path}/{name}: `{said}`");
            }
        }
        for (name, inner) in object {
            walk(inner, &format!("{path}/{name}"), objects, fields);
        }
    }
    let (mut objects, mut fields) = (0, 0);
    walk(&schema(), "", &mut objects, &mut fields);
    assert!(objects >= 9 && fields >= 60, "{objects} {fields}");
}

/// Each damage to a good page is refused.
#[test]
fn what_is_damaged_is_refused() {
    let validator = validator();
    let good = run(
        &low_barn(),
        &["doses", "after-supper tea", "--person", "064", "--as", "json"],
    )
    .json();
    assert_valid(&validator, &good, "the page itself");
    let mut tried = 0;
    let mut refused = |what: &str, change: &dyn Fn(&mut Value)| {
        let mut bad = good.clone();
        change(&mut bad);
        assert_ne!(bad, good, "{what} changes nothing");
        assert!(!validator.is_valid(&bad), "{what} goes through");
        tried += 1;
    };
    for field in good.as_object().unwrap().keys() {
        refused(&format!("without {field}"), &|value| {
            value.as_object_mut().unwrap().remove(field);
        });
    }
    refused("something besides", &|value| value["more"] = json!(1));
    refused("a number for a figure", &|value| {
        value["blend_at_once"]["nominal"] = json!(5.73);
    });
    refused("a comma", &|value| {
        value["blend_at_once"]["nominal"] = json!("5,73");
    });
    refused("a naked point", &|value| {
        value["herbs"][0]["at_once"]["low"] = json!(".5");
    });
    refused("a trailing zero", &|value| {
        value["herbs"][0]["at_once"]["low"] = json!("1.50");
    });
    refused("a figure below nothing", &|value| {
        value["herbs"][0]["at_once"]["low"] = json!("-1");
    });
    refused("a unit in a figure", &|value| {
        value["herbs"][0]["at_once"]["high"] = json!("2 g");
    });
    refused("a level of its own", &|value| {
        value["cautions"][0]["level"] = json!("forbid");
    });
    refused("whom it bears on", &|value| {
        value["cautions"][0]["bears_on"] = json!("someone");
    });
    refused("a severity of its own", &|value| {
        value["findings"][0]["severity"] = json!("fatal");
    });
    refused("line nought", &|value| {
        value["findings"][0]["at"]["line"] = json!(0);
    });
    refused("a caution without a herb", &|value| {
        value["cautions"][0]["herb"] = json!("");
    });
    refused("two lines of what stands on every sheet", &|value| {
        value["standing"].as_array_mut().unwrap().pop();
    });
    refused("a rule of its own", &|value| {
        value["child"] = json!({ "rule": "Dilling", "share_percent": "40", "working": "8 / 20", "dose": null, "mind": "no" });
    });
    assert!(tried > 30, "{tried}");
}

/// What several schemas define means the same in each.
#[test]
fn it_agrees_with_the_other_schemas() {
    let own = schema();
    let others = [
        include_str!("../../../grammar/findings.schema.json"),
        include_str!("../../../grammar/weighing-sheet.schema.json"),
        include_str!("../../../grammar/working.schema.json"),
    ];
    let mut shared = 0;
    for other in others {
        let other: Value = serde_json::from_str(other).unwrap();
        for (name, definition) in other["$defs"].as_object().unwrap() {
            if let Some(mine) = own["$defs"].get(name) {
                assert_eq!(mine, definition, "{name}");
                shared += 1;
            }
        }
    }
    assert!(shared >= 8, "{shared}");
}
