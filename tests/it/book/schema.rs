//! What the book's commands print for programs is what their schemas say, and the schemas let nothing else through.

use serde_json::{Value, json};

use crate::sandbox::{in_project, project};

const DEMO: &str = "examples/low-barn";

fn validator(name: &str) -> jsonschema::Validator {
    let path = project().join("grammar").join(format!("{name}.schema.json"));
    let schema: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    jsonschema::draft202012::new(&schema).unwrap()
}

fn printed(arguments: &[&str]) -> Value {
    in_project(arguments.iter().chain(&["--as", "json", "--in", DEMO]))
        .run()
        .json()
}

/// The places of all objects inside a value.
fn objects(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            found.push(at.to_owned());
            for (name, field) in fields {
                objects(field, &format!("{at}/{name}"), found);
            }
        }
        Value::Array(items) => {
            for (place, item) in items.iter().enumerate().take(3) {
                objects(item, &format!("{at}/{place}"), found);
            }
        }
        _ => {}
    }
}

#[test]
fn what_is_printed_is_what_the_schemas_say() {
    let on = ["--on", "2026-11-30"];
    for (name, arguments) in [
        ("stock", &["stock", on[0], on[1]][..]),
        ("trace", &["trace", "FE-198", on[0], on[1]]),
        (
            "trace",
            &["trace", "hall tea for one table on 2026-09-29", on[0], on[1]],
        ),
        (
            "trace",
            &["trace", "supply after-supper tea on 2026-11-05", on[0], on[1]],
        ),
        ("order", &["order", on[0], on[1]]),
        ("cost", &["cost", "after-supper tea", "--make", "3 jars of 80 g"]),
        ("cost", &["cost", "yarrow salve on 2026-09-23"]),
        ("expires", &["expires", on[0], on[1]]),
    ] {
        let schema = validator(name);
        let value = printed(arguments);
        let faults: Vec<String> = schema
            .iter_errors(&value)
            .map(|fault| fault.to_string())
            .collect();
        assert!(faults.is_empty(), "{arguments:?}: {faults:#?}");
        let mut places = Vec::new();
        objects(&value, "", &mut places);
        for place in places {
            let mut more = value.clone();
            more.pointer_mut(&place).unwrap()["more"] = json!(1);
            assert!(!schema.is_valid(&more), "{arguments:?}: {place} takes anything");
            let fields: Vec<String> = value
                .pointer(&place)
                .unwrap()
                .as_object()
                .unwrap()
                .keys()
                .cloned()
                .collect();
            for field in fields {
                let mut less = value.clone();
                less.pointer_mut(&place)
                    .unwrap()
                    .as_object_mut()
                    .unwrap()
                    .remove(&field);
                assert!(
                    !schema.is_valid(&less),
                    "{arguments:?}: {place}/{field} may be missing"
                );
            }
        }
    }
}
