//! From which revision of its formula a batch was made, with the real git.

use serde_json::Value;

use crate::repository::Repository;
use crate::sandbox::project;

const HERBS: &str = "herb mint\nherb fennel\n";

fn tea(mint: u32) -> String {
    format!("formula tea\n  take\n    mint {mint} g\n    fennel 10 g\n")
}

fn asked(repository: &Repository, batch: &str, status: i32) -> Value {
    let ran = repository.run(&["trace", batch, "--revision", "--as", "json"]);
    ran.status(status).stderr("").json()
}

#[test]
fn a_formula_that_changed_since_the_batch_is_told() {
    let repository = Repository::new();
    let book = "batch tea on 2026-09-05\n  used\n    mint 20 g\n    fennel 10 g\nbatch tea on 2026-09-25\n  used\n    mint 30 g\n    fennel 10 g\nbatch tea on 2026-08-01\n  used\n    mint 20 g\n    fennel 10 g\n";
    repository
        .write("practice.scruple", HERBS)
        .write("tea.scruple", &tea(20));
    repository.commit("2026-09-01", "first");
    // Spacing is no change of meaning.
    repository.write("tea.scruple", &tea(20).replace("mint 20", "mint    20"));
    repository.commit("2026-09-10", "columns");
    repository
        .write("tea.scruple", &tea(30))
        .write("book.scruple", book);
    repository.commit("2026-09-20", "more mint");
    let schema: Value = serde_json::from_str(
        &std::fs::read_to_string(project().join("grammar/revised.schema.json")).unwrap(),
    )
    .unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    for (day, status, from, since) in [
        ("2026-09-05", 1, Some("first"), &["more mint"][..]),
        ("2026-09-25", 0, Some("more mint"), &[]),
        ("2026-08-01", 1, None, &["more mint", "first"]),
    ] {
        let report = asked(&repository, &format!("tea on {day}"), status);
        assert!(schema.is_valid(&report), "{report:#}");
        assert_eq!(report["made_from"]["subject"].as_str(), from, "{day}");
        let told: Vec<&str> = report["changed_since"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["subject"].as_str().unwrap())
            .collect();
        assert_eq!(told, since, "{day}");
    }
}
