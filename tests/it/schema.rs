//! What programs are given is what the published schemas say, and the schemas let nothing else through.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use jsonschema::Validator;
use serde_json::{Value, json};

use scruple::workspace::Snapshot;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn low_barn() -> PathBuf {
    root().join("examples/low-barn")
}

fn schema(name: &str) -> Value {
    let path = root().join("grammar").join(format!("{name}.schema.json"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn validator(name: &str) -> Validator {
    jsonschema::draft202012::new(&schema(name)).unwrap()
}

/// Every published schema.
const SCHEMAS: [&str; 6] = [
    "weighing-sheet",
    "findings",
    "working",
    "tidying",
    "label",
    "export",
];

fn scruple(arguments: &[&str], ledger: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scruple"))
        .args(arguments)
        .arg("--in")
        .arg(ledger)
        .args(["--as", "json"])
        .output()
        .unwrap()
}

fn printed(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| {
        panic!("{error}\n{}", String::from_utf8_lossy(&output.stderr));
    })
}

fn assert_valid(schema: &Validator, value: &Value, what: &str) {
    let faults: Vec<String> = schema
        .iter_errors(value)
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect();
    assert!(faults.is_empty(), "{what}:\n  {}", faults.join("\n  "));
}

fn formulas() -> Vec<String> {
    let snapshot = Snapshot::read(&low_barn());
    let names: Vec<String> = snapshot
        .ledger
        .formulas
        .iter()
        .map(|formula| formula.name.text.clone())
        .collect();
    assert!(names.len() > 10);
    names
}

/// The sheets of a formula: at its own size where it has one, and at other sizes that it allows.
fn sheets(formula: &str) -> Vec<(String, Value)> {
    let mut found = Vec::new();
    for size in [
        None,
        Some("200 g"),
        Some("500 ml"),
        Some("3 doses"),
        Some("2 people for 7 days"),
    ] {
        let mut arguments = vec!["weigh", formula];
        arguments.extend(size.iter().flat_map(|size| ["--make", size]));
        let output = scruple(&arguments, &low_barn());
        if output.status.success() {
            found.push((
                format!("{formula}, {}", size.unwrap_or("its own size")),
                printed(&output),
            ));
        }
    }
    assert!(!found.is_empty(), "{formula} can be made in no size");
    found
}

/// A ledger with slips that are errors, warnings and notices, with and without a mending.
const BROKEN: &str = "\
practice
  scales 0.1 g
herb mint leaf
  tablespoon 2 g
herb sage leaf
  latin Salvia
  latin Salvia again
herb thyme herb
formula first tea
  take
    mint leef   20 g
    sage leaf   1 teaspoon
    mint leaf   40,0 g
formula second tea
  take
    mint leaf, sage leaf   10 g
    mint leaf   2 teaspoons
formula third tea
  take
    mint leaf   33.3%
    thyme herb   33.3%
    mint leaf   33.3%
  makes 100 g
nonsense here
";

fn broken() -> Value {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("practice.scruple"), BROKEN).unwrap();
    let output = scruple(&["check"], folder.path());
    assert_eq!(
        output.status.code(),
        Some(1),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    printed(&output)
}

#[test]
fn sheets_are_what_their_schema_says() {
    let schema = validator("weighing-sheet");
    let mut hows = BTreeSet::new();
    for formula in formulas() {
        for (what, sheet) in sheets(&formula) {
            assert_valid(&schema, &sheet, &what);
            for line in sheet["lines"].as_array().unwrap() {
                hows.insert(line["how"].as_str().unwrap().to_owned());
            }
        }
    }
    // The example ledger must show the schema more than weights.
    assert!(hows.len() >= 6, "{hows:?}");
}

#[test]
fn findings_are_what_their_schema_says() {
    let schema = validator("findings");
    let clean = scruple(&["check"], &low_barn());
    assert_eq!(clean.status.code(), Some(0));
    assert_valid(&schema, &printed(&clean), "the example ledger");
    let broken = broken();
    assert_valid(&schema, &broken, "a broken ledger");
    let findings = broken["findings"].as_array().unwrap();
    let severities: BTreeSet<&str> = findings
        .iter()
        .map(|one| one["severity"].as_str().unwrap())
        .collect();
    assert_eq!(
        severities.into_iter().collect::<Vec<_>>(),
        ["error", "notice", "warning"],
        "{broken:#}"
    );
    assert!(
        findings.iter().any(|one| one["fix"].is_object()) && findings.iter().any(|one| one["fix"].is_null())
    );
    assert!(
        findings
            .iter()
            .any(|one| !one["related"].as_array().unwrap().is_empty())
    );
    for (word, count) in [
        ("error", "errors"),
        ("warning", "warnings"),
        ("notice", "notices"),
    ] {
        let found = findings.iter().filter(|one| one["severity"] == word).count();
        assert_eq!(broken[count], json!(found));
    }
    for one in findings {
        let code = one["code"].as_str().unwrap();
        assert!(scruple::code::Code::named(code).is_some(), "`{code}` is no code");
    }
}

#[test]
fn labels_exports_sets_and_imports_are_what_their_schemas_say() {
    let export = printed(&scruple(&["export"], &low_barn()));
    assert_valid(&validator("export"), &export, "every formula");
    assert!(export["formulas"].as_array().unwrap().len() > 10);
    let label = validator("label");
    for formula in formulas() {
        let data = printed(&scruple(&["label", &formula, "--on", "105 x 57"], &low_barn()));
        assert_valid(&label, &data, &formula);
    }
    let place = tempfile::tempdir().unwrap();
    let to = place.path().join("class");
    for _ in 0..2 {
        let told = printed(&scruple(&["publish", "--to", to.to_str().unwrap()], &low_barn()));
        assert_valid(&validator("publish"), &told, "a set");
    }
    let rows = place.path().join("herbs.csv");
    for (text, entries) in [("herb,latin\nlime flower,Tilia\n", 1), ("herb,smell\nx,y\n", 0)] {
        std::fs::write(&rows, text).unwrap();
        let told = printed(&scruple(&["import", rows.to_str().unwrap()], &low_barn()));
        assert_valid(&validator("import"), &told, text);
        assert_eq!(told["entries"], json!(entries));
    }
}

#[test]
fn workings_are_what_their_schema_says() {
    let schema = validator("working");
    for formula in formulas() {
        let output = scruple(&["why", &formula], &low_barn());
        assert!(output.status.success(), "{formula}");
        let working = printed(&output);
        assert_valid(&schema, &working, &formula);
        assert!(
            working["lines"].as_array().is_some_and(|lines| !lines.is_empty()),
            "{formula}"
        );
    }
    for (formula, caution) in [
        ("after-supper tea", "reflux"),
        ("hall tea", "pregnancy"),
        ("throat drops", "age"),
    ] {
        for person in [&[][..], &["--person", "064"], &["--person", "088"]] {
            let arguments: Vec<&str> = ["why", formula, "--caution", caution]
                .into_iter()
                .chain(person.iter().copied())
                .collect();
            assert_valid(&schema, &printed(&scruple(&arguments, &low_barn())), formula);
        }
    }
    for code in ["spoon-without-weight", "percent-by-printing"] {
        let page = printed(&scruple(&["why", code], &low_barn()));
        assert_valid(&schema, &page, code);
        assert_eq!(page["code"], code);
    }
}

/// One value that is valid for each schema, and holds every kind of object that the schema knows.
fn samples() -> Vec<(&'static str, Value)> {
    let mut sheet = sheets("after-supper tea").remove(0).1;
    let broken = broken();
    let findings = broken["findings"].as_array().unwrap();
    let with_fix = findings
        .iter()
        .find(|one| one["fix"].is_object())
        .unwrap()
        .clone();
    let related = findings
        .iter()
        .find(|one| one["related"].as_array().is_some_and(|list| !list.is_empty()))
        .unwrap();
    sheet["findings"] = json!([with_fix, related]);
    sheet["steps"] = json!([{ "word": "then", "text": "strain", "for_the_whole": false }]);
    sheet["total"]["millilitres"] = json!({ "nominal": "5", "low": "4.5", "high": "5.5" });
    let working = printed(&scruple(&["why", "hall tea"], &low_barn()));
    let reasons = printed(&scruple(
        &["why", "after-supper tea", "--caution", "reflux"],
        &low_barn(),
    ));
    let page = printed(&scruple(&["why", "spoon-without-weight"], &low_barn()));
    vec![
        ("weighing-sheet", sheet),
        ("findings", broken),
        ("working", working),
        ("working", reasons),
        ("working", page),
    ]
}

/// The JSON pointers of everything inside a value.
fn inside(value: &Value, at: &str, found: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                let place = format!("{at}/{name}");
                inside(field, &place, found);
                found.push(place);
            }
        }
        Value::Array(items) => {
            for (position, item) in items.iter().enumerate() {
                let place = format!("{at}/{position}");
                inside(item, &place, found);
                found.push(place);
            }
        }
        _ => {}
    }
}

#[test]
fn schemas_refuse_what_is_wrong() {
    for (name, sample) in samples() {
        let schema = validator(name);
        assert_valid(&schema, &sample, name);
        let mut places = vec![String::new()];
        inside(&sample, "", &mut places);
        assert!(places.len() > 2, "{name}");
        for place in &places {
            let field = sample.pointer(place).unwrap();
            let refused = |changed: Value, why: &str| {
                let mut copy = sample.clone();
                *copy.pointer_mut(place).unwrap() = changed;
                assert!(!schema.is_valid(&copy), "{name} lets {why} through at `{place}`");
            };
            // No figure is ever a binary fraction, and no two kinds of values stand for each other.
            refused(json!(0.5), "a float");
            refused(json!([{}]), "a list of something else");
            if let Value::Object(fields) = field {
                let mut more = fields.clone();
                more.insert("extra".to_owned(), json!("x"));
                refused(Value::Object(more), "a field that is not published");
                for left_out in fields.keys() {
                    let mut less = fields.clone();
                    less.remove(left_out);
                    refused(Value::Object(less), &format!("an object without `{left_out}`"));
                }
            }
        }
    }
}

#[test]
fn amounts_are_plain_decimals() {
    let schema = validator("weighing-sheet");
    let (_, sample) = samples().remove(0);
    let with = |place: &str, text: &str| {
        let mut copy = sample.clone();
        *copy.pointer_mut(place).unwrap() = json!(text);
        schema.is_valid(&copy)
    };
    for place in [
        "/total/grams",
        "/lines/0/grams",
        "/lines/0/target",
        "/scales/step",
        "/total/spooned/low",
    ] {
        for fine in ["0", "0.5", "12", "31.1034768", "100", "0.000000000001"] {
            assert!(with(place, fine), "{place}: {fine}");
        }
        for wrong in [
            "", "1.50", "1.", ".5", "007", "1e3", "1,5", "-1", "+1", " 1", "1 g", "NaN", "0.0", "1/2", "½",
        ] {
            assert!(!with(place, wrong), "{place}: {wrong}");
        }
    }
    for fine in ["-0.04", "0", "0.05", "-3"] {
        assert!(with("/lines/0/rounded_by", fine), "{fine}");
    }
    for wrong in ["-0", "-0.0", "+0.05", "-.5"] {
        assert!(!with("/lines/0/rounded_by", wrong), "{wrong}");
    }
}

/// Every object in a schema, with its place.
fn objects<'a>(value: &'a Value, at: &str, found: &mut Vec<(String, &'a Value)>) {
    match value {
        Value::Object(fields) => {
            found.push((at.to_owned(), value));
            for (name, field) in fields {
                objects(field, &format!("{at}/{name}"), found);
            }
        }
        Value::Array(items) => {
            for (position, item) in items.iter().enumerate() {
                objects(item, &format!("{at}/{position}"), found);
            }
        }
        _ => {}
    }
}

#[test]
fn schemas_describe_every_field() {
    for name in SCHEMAS {
        let schema = schema(name);
        assert!(jsonschema::meta::is_valid(&schema), "{name} is no schema");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
        let mut all = Vec::new();
        objects(&schema, "", &mut all);
        let mut described = 0;
        for (at, object) in all {
            let Some(properties) = object.get("properties").and_then(Value::as_object) else {
                continue;
            };
            assert_eq!(
                object["additionalProperties"],
                json!(false),
                "{name}{at} lets other fields through"
            );
            let required: BTreeSet<&str> = object["required"]
                .as_array()
                .unwrap()
                .iter()
                .filter_map(Value::as_str)
                .collect();
            for (field, says) in properties {
                assert!(
                    required.contains(field.as_str()),
                    "{name}{at}: `{field}` may be missing"
                );
                let text = says["description"].as_str().unwrap_or_default();
                assert!(
                    text.len() > 5 && text.ends_with('.'),
                    "{name}{at}: `{field}` is not described"
                );
                described += 1;
            }
        }
        assert!(described > 10, "{name}");
    }
}

/// What several schemas define means the same in each.
#[test]
fn schemas_agree_with_one_another() {
    let all: Vec<Value> = SCHEMAS.iter().map(|name| schema(name)).collect();
    for one in &all {
        for (name, definition) in one["$defs"].as_object().unwrap() {
            for other in all.iter().filter_map(|other| other["$defs"].get(name)) {
                assert_eq!(other, definition, "`{name}`");
            }
        }
    }
}
