//! Each answer to an editor, asked over the demo ledger.

use serde_json::{Value, json};

use super::client::{Client, address, edited};
use crate::sandbox::{Sandbox, project};

fn demo() -> std::path::PathBuf {
    project().join("examples/low-barn")
}

/// The demo, with one of its files open.
fn open(file: &str) -> (Client, String) {
    let mut client = Client::new(&demo());
    let uri = client.open_file(&demo().join(file));
    (client, uri)
}

fn supper() -> (Client, String) {
    open("formulas/supper.scruple")
}

fn hover(client: &mut Client, uri: &str, piece: &str) -> String {
    let found = client.ask_at("textDocument/hover", uri, piece);
    found["contents"]["value"].as_str().unwrap_or_default().to_owned()
}

fn says(text: &str, all: &[&str]) {
    for one in all {
        assert!(text.contains(one), "no `{one}` in\n{text}");
    }
}

#[test]
fn hover_says_what_a_herb_weighs_and_what_is_published_of_it() {
    let (mut client, uri) = open("materia/roots.scruple");
    let text = hover(&mut client, &uri, "herb ginger rhi|zome");
    says(
        &text,
        &[
            "**ginger rhizome**",
            "Zingiber officinale Roscoe",
            "heaped teaspoon",
            "2.98 g",
            "5.233 g (5.1 to 5.4 g), 3 weighings",
            "0.5 to 1 g in 150 ml, 2 to 4 times a day",
            "4 g a day",
            "ginger-texts (from memory)",
            "may cause heartburn",
            "qualified practitioner",
        ],
    );
    client.end();
}

#[test]
fn hover_says_what_a_line_comes_to_and_how() {
    let (mut client, uri) = supper();
    let amount = hover(&mut client, &uri, "1 heaped tea|spoon");
    says(
        &amount,
        &[
            "2.98 g, 3.21 % of the total",
            "1 heaped teaspoon × 2.98 g",
            "our-own-weighings",
        ],
    );
    let name = hover(&mut client, &uri, "    orange pe|el  ");
    says(&name, &["4.2 g (4 to 4.4 g)", "**orange peel**", "ulcer"]);
    let formula = hover(&mut client, &uri, "formula after-supp|er tea");
    says(
        &formula,
        &[
            "92.93 g (92.58 to 93.28 g)",
            "a cup takes",
            "5.73 g (4.2 to 7.5 g)",
            "cups",
        ],
    );
    let word = hover(&mut client, &uri, "  acc|ept ");
    says(
        &word,
        &[
            "a caution that was weighed up",
            "After it: a topic, a colon, a reason",
        ],
    );
    let kind = hover(&mut client, &uri, "form|ula after");
    assert!(kind.starts_with("**formula**"), "{kind}");
    let dose = hover(&mut client, &uri, "dose         1 c|up, up");
    says(&dose, &["a dose takes", "qualified practitioner"]);
    let topic = hover(&mut client, &uri, "accept       ref|lux");
    says(&topic, &["ginger rhizome (mind)", "peppermint leaf (mind)"]);
    let spoon = hover(&mut client, &uri, "teaspoon     weigh|ed 1.4");
    says(&spoon, &["1.433333 g (1.4 to 1.5 g)", "mean of 3 weighings"]);
    client.end();
}

#[test]
fn hover_on_a_slip_says_why_it_matters() {
    let root = project().join("examples/broken");
    let mut client = Client::new(&root);
    let uri = client.open_file(&root.join("spoon-without-weight.scruple"));
    let text = hover(&mut client, &uri, "1 tea|spoon");
    says(
        &text,
        &[
            "**`spoon-without-weight`**",
            "A level teaspoon of dried spearmint leaf weighs 0.5 g",
        ],
    );
    client.end();
}

/// What is offered at a place of the demo's tea file, after a text was typed there.
fn offered(typed: &str, piece: &str) -> Vec<Value> {
    let (mut client, uri) = supper();
    client.replace(
        &uri,
        "formula three-seed tea",
        &format!("{typed}\nformula three-seed tea"),
    );
    let found = client.ask_at("textDocument/completion", &uri, piece);
    client.end();
    found["items"].as_array().unwrap().clone()
}

fn labels(items: &[Value]) -> Vec<&str> {
    items.iter().map(|one| one["label"].as_str().unwrap()).collect()
}

fn holds(items: &[Value], all: &[&str]) {
    let own = labels(items);
    for one in all {
        assert!(own.contains(one), "no `{one}` among {own:?}");
    }
}

#[test]
fn completion_offers_entries_and_the_line_words_of_each() {
    holds(&offered("for", "for|\nformula three"), &["formula"]);
    let lines = offered("formula x\n  ", "formula x\n  |");
    holds(&lines, &["take", "for", "infuse", "dose", "heaped teaspoon"]);
    assert!(!labels(&lines).contains(&"latin"));
    let standing = offered("formula x\n  for  a cold\n  ", "for  a cold\n  |");
    assert!(!labels(&standing).contains(&"for"), "it stands there already");
    let typed = offered("formula x\n  inf", "  inf|\n");
    assert_eq!(labels(&typed), ["infuse"]);
    assert_eq!(typed[0]["textEdit"]["newText"], "infuse       ");
    assert!(
        typed[0]["documentation"]["value"]
            .as_str()
            .unwrap()
            .contains("in the order written")
    );
}

#[test]
fn completion_offers_herbs_by_any_of_their_names() {
    let all = offered("formula x\n  take\n    ", "take\n    |\n");
    holds(
        &all,
        &["peppermint leaf", "ginger rhizome", "ginger root", "chest tea"],
    );
    let ginger = offered("formula x\n  take\n    ging", "    ging|\n");
    assert_eq!(labels(&ginger), ["ginger rhizome", "ginger", "ginger root"]);
    assert_eq!(ginger[0]["detail"], "Zingiber officinale Roscoe");
    assert_eq!(ginger[1]["detail"], "is ginger rhizome");
    // The amount stands in its column.
    let new = ginger[0]["textEdit"]["newText"].as_str().unwrap();
    assert_eq!(new.len(), 30, "{new:?}");
    // By a word inside, and after a comma.
    holds(
        &offered("formula x\n  take\n    rhiz", "    rhiz|\n"),
        &["ginger rhizome"],
    );
    let second = offered("formula x\n  take\n    fennel fruit, cara", "fruit, cara|\n");
    assert_eq!(labels(&second), ["caraway fruit", "caraway", "caraway seed"]);
}

#[test]
fn completion_offers_the_measures_that_a_herb_has() {
    let after = offered("formula x\n  take\n    ginger rhizome   2 ", "rhizome   2 |\n");
    holds(
        &after,
        &[
            "teaspoons",
            "tablespoons",
            "heaped teaspoons",
            "slices",
            "g",
            "parts",
        ],
    );
    let of = |label: &str| after.iter().find(|one| one["label"] == label).unwrap()["detail"].clone();
    assert_eq!(of("heaped teaspoons"), "5.96 g");
    assert_eq!(of("teaspoons"), "3.6 g (3.4 to 3.8 g)");
    assert_eq!(of("slices"), "4 g");
    // A herb that nobody weighed by the slice has none.
    let other = offered("formula x\n  take\n    peppermint leaf   2 ", "leaf   2 |\n");
    assert!(!labels(&other).contains(&"slices"));
    let whole = offered("formula x\n  take\n    ginger rhizome   ", "rhizome   |\n");
    holds(&whole, &["1 heaped teaspoon", "q.s. to 100 g"]);
    let each = offered(
        "formula x\n  take\n    anise fruit, fennel fruit   ",
        "fennel fruit   |\n",
    );
    holds(&each, &["of each"]);
    let role = offered("formula x\n  take\n    ginger rhizome   20 g as ", "20 g as |\n");
    holds(&role, &["base", "aroma"]);
}

#[test]
fn completion_offers_topics_sources_people_and_formulas() {
    let topics = offered("herb x\n  avoid             pre", "avoid             pre|\n");
    assert_eq!(labels(&topics), ["pregnancy", "preparation"]);
    let accepted = offered(
        "formula x\n  take\n    ginger rhizome   20 g\n  accept       ",
        "accept       |\n",
    );
    holds(&accepted, &["reflux", "anticoagulants", "bile"]);
    assert!(
        !labels(&accepted).contains(&"allergy Apiaceae"),
        "ginger has no such caution"
    );
    let sources = offered("herb x\n  dose   1 to 2 g  source ging", "source ging|\n");
    assert_eq!(labels(&sources), ["ginger-texts"]);
    assert!(sources[0]["detail"].as_str().unwrap().contains("from memory"));
    let people = offered("formula x\n  person ", "  person |\n");
    holds(&people, &["017"]);
    let adapted = offered("formula x\n  adapts chest", "adapts chest|\n");
    holds(&adapted, &["chest tea"]);
    let facts = offered("person 9\n  takes        anti", "takes        anti|\n");
    holds(&facts, &["anticoagulants"]);
    holds(&offered("batch chest", "batch chest|\n"), &["chest tea"]);
    holds(&offered("lot AB-1 of gin", "of gin|\n"), &["ginger rhizome"]);
    // In a comment nothing is offered.
    assert!(offered("formula x\n  take # pepp", "# pepp|\n").is_empty());
}

#[test]
fn a_name_leads_to_its_declaration_and_to_all_its_uses() {
    let (mut client, uri) = supper();
    let found = client.ask_at(
        "textDocument/definition",
        &uri,
        "    ginger rhi|zome                1 heaped",
    );
    assert_eq!(found["uri"], address(&demo().join("materia/roots.scruple")));
    assert_eq!(found["range"]["start"]["character"], 5);
    let formula = client.ask_at("textDocument/definition", &uri, "formula three-|seed tea");
    assert_eq!(formula["uri"], *uri);
    let mut at = client.at(&uri, "    ginger rhi|zome                1 heaped");
    at["context"] = json!({ "includeDeclaration": true });
    let all = client.ask("textDocument/references", at.clone()).unwrap();
    at["context"] = json!({ "includeDeclaration": false });
    let uses = client.ask("textDocument/references", at).unwrap();
    // `also ginger, ginger root` gives it two names more.
    assert_eq!(all.as_array().unwrap().len(), uses.as_array().unwrap().len() + 3);
    assert!(uses.as_array().unwrap().len() >= 2, "{uses}");
    let here = client.ask_at("textDocument/documentHighlight", &uri, "fennel fr|uit, caraway");
    assert_eq!(here.as_array().unwrap().len(), 3);
    let mixed = client.ask_at("textDocument/hover", &uri, "cinnamon b|ark last");
    assert!(
        mixed["contents"]["value"]
            .as_str()
            .unwrap()
            .contains("cinnamon bark")
    );
    client.end();
}

#[test]
fn the_outline_and_the_search_name_what_is_there() {
    let (mut client, uri) = supper();
    let outline = client
        .ask(
            "textDocument/documentSymbol",
            json!({ "textDocument": { "uri": uri } }),
        )
        .unwrap();
    let names: Vec<&str> = outline
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(
        names,
        ["after-supper tea", "three-seed tea", "seed and spice tea"]
    );
    assert_eq!(outline[0]["children"][1]["name"], "fennel fruit, caraway fruit");
    assert_eq!(outline[0]["children"][1]["detail"], "of each 20 g");
    let found = client
        .ask("workspace/symbol", json!({ "query": "ginger" }))
        .unwrap();
    let names: Vec<&str> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["name"].as_str().unwrap())
        .collect();
    assert_eq!(names[..3], ["ginger", "ginger rhizome", "ginger root"]);
    client.end();
}

#[test]
fn entries_lists_and_comments_fold() {
    let (mut client, uri) = open("practice.scruple");
    let folds = client
        .ask(
            "textDocument/foldingRange",
            json!({ "textDocument": { "uri": uri } }),
        )
        .unwrap();
    let lines = |one: &Value| {
        (
            one["startLine"].as_u64().unwrap(),
            one["endLine"].as_u64().unwrap(),
        )
    };
    let all: Vec<_> = folds.as_array().unwrap().iter().map(lines).collect();
    assert_eq!(all, [(5, 19), (0, 3)]);
    assert_eq!(folds[1]["kind"], "comment");
    client.end();
}

#[test]
fn words_are_coloured_by_what_they_are() {
    let (mut client, uri) = supper();
    let begun = client.ask("initialize", json!({}));
    assert!(begun.is_err(), "it has begun already");
    let found = client
        .ask(
            "textDocument/semanticTokens/full",
            json!({ "textDocument": { "uri": uri } }),
        )
        .unwrap();
    let data: Vec<u64> = found["data"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one.as_u64().unwrap())
        .collect();
    let lines: Vec<&str> = client.text(&uri).lines().collect();
    let (mut line, mut column) = (0, 0);
    let mut words: Vec<(String, u64, u64)> = Vec::new();
    for token in data.chunks(5) {
        let step = usize::try_from(token[0]).unwrap();
        line += step;
        let start = usize::try_from(token[1]).unwrap();
        column = if step == 0 { column + start } else { start };
        let length = usize::try_from(token[2]).unwrap();
        words.push((
            lines[line][column..column + length].to_owned(),
            token[3],
            token[4],
        ));
    }
    let kind = |word: &str| {
        words
            .iter()
            .find(|(own, ..)| own == word)
            .map(|(_, kind, declares)| (*kind, *declares))
    };
    assert_eq!(kind("# After-supper and seed teas."), Some((11, 0)));
    assert_eq!(kind("formula"), Some((0, 0)));
    assert_eq!(kind("after-supper tea"), Some((3, 1)));
    assert_eq!(kind("take"), Some((1, 0)));
    assert_eq!(kind("peppermint leaf"), Some((2, 0)));
    assert_eq!(kind("heaped teaspoon"), Some((8, 0)));
    assert_eq!(kind("base"), Some((10, 0)));
    assert_eq!(kind("reflux"), Some((5, 0)));
    assert_eq!(kind("bruised"), Some((9, 0)));
    // A part of it is the same part.
    let mut part = client.whole(&uri);
    part["range"]["start"] = json!({ "line": 2, "character": 0 });
    part["range"]["end"] = json!({ "line": 3, "character": 0 });
    let part = client.ask("textDocument/semanticTokens/range", part).unwrap();
    assert_eq!(part["data"], json!([2, 0, 7, 0, 0, 0, 8, 16, 3, 1]));
    client.end();
}

#[test]
fn weights_and_shares_stand_behind_the_lines() {
    let (mut client, uri) = supper();
    let whole = client.whole(&uri);
    let hints = client.ask("textDocument/inlayHint", whole).unwrap();
    let all: Vec<(u64, &str)> = hints
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            (
                one["position"]["line"].as_u64().unwrap() + 1,
                one["label"].as_str().unwrap(),
            )
        })
        .collect();
    // The figures are those that `weigh` prints for the formula's own size.
    assert_eq!(
        all[..6],
        [
            (6, "32.3 %"),
            (7, "21.5 %"),
            (8, "16.1 %"),
            (9, "4.2 g, 4.5 %"),
            (10, "2.98 g, 3.2 %"),
            (11, "0.75 g, 0.81 %"),
        ]
    );
    client.end();
}

#[test]
fn a_line_above_each_formula_says_what_it_comes_to() {
    let (mut client, uri) = supper();
    let found = client
        .ask("textDocument/codeLens", json!({ "textDocument": { "uri": uri } }))
        .unwrap();
    let says: Vec<&str> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["command"]["title"].as_str().unwrap())
        .collect();
    assert_eq!(says.len(), 3);
    assert!(
        says[0].starts_with("92.93 g (92.58 to 93.28 g) · 16.2 cups ("),
        "{says:?}"
    );
    assert!(
        says[0].ends_with("no findings") || says[0].ends_with("finding") || says[0].ends_with("findings")
    );
    client.end();
}

#[test]
fn a_selection_grows_from_the_word_to_the_file() {
    let (mut client, uri) = supper();
    let at = client.at(&uri, "1 heaped teas|poon");
    let found = client
        .ask(
            "textDocument/selectionRange",
            json!({ "textDocument": at["textDocument"], "positions": [at["position"]] }),
        )
        .unwrap();
    let mut sizes = Vec::new();
    let mut next = &found[0];
    while !next.is_null() {
        let range = &next["range"];
        sizes.push((range["start"].clone(), range["end"].clone()));
        next = &next["parent"];
    }
    let nine = |from: u64, to: u64| {
        (
            json!({ "line": 9, "character": from }),
            json!({ "line": 9, "character": to }),
        )
    };
    assert_eq!(sizes[0], nine(43, 51), "teaspoon");
    assert_eq!(sizes[1], nine(36, 51), "heaped teaspoon");
    assert_eq!(sizes[2], nine(34, 51), "1 heaped teaspoon");
    assert_eq!(sizes[3], nine(4, 51), "the item");
    assert_eq!(
        sizes.len(),
        7,
        "then `take` with its list, the formula, the file: {sizes:?}"
    );
    client.end();
}

#[test]
fn sources_that_give_an_address_are_links() {
    let sandbox = Sandbox::new().file(
        "practice.scruple",
        "practice\n\nsource a-paper\n  reference    10.1/x, doi:10.1000/xyz(1), see (https://example.org/a%20b).\n\nherb rue\n  note         a   source a-paper\n",
    );
    let root = sandbox.path().canonicalize().unwrap();
    let mut client = Client::new(&root);
    let uri = client.open_file(&root.join("practice.scruple"));
    let found = client
        .ask(
            "textDocument/documentLink",
            json!({ "textDocument": { "uri": uri } }),
        )
        .unwrap();
    let all: Vec<(u64, &str)> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            (
                one["range"]["start"]["line"].as_u64().unwrap(),
                one["target"].as_str().unwrap(),
            )
        })
        .collect();
    assert_eq!(
        all,
        [
            (2, "https://doi.org/10.1000/xyz(1"),
            (3, "https://doi.org/10.1000/xyz(1"),
            (3, "https://example.org/a%20b"),
            (6, "https://doi.org/10.1000/xyz(1"),
        ]
    );
    client.end();
}

#[test]
fn tidying_is_formatting() {
    let messy = "herb fennel fruit\n   teaspoon 2–2.2grams # own scales\nherb rose petal\nFormula  seed tea\n   take\n       fennel fruit 1½ tsp,bruised as base\n       rose petal to 10gram\n\n\n   infuse 2 tsp in 1 cup of boiling water for 10–15 min";
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("tea.scruple", messy);
    let root = sandbox.path().canonicalize().unwrap();
    let mut client = Client::new(&root);
    let uri = client.open_file(&root.join("tea.scruple"));
    let options = json!({ "tabSize": 2, "insertSpaces": true });
    let edits = client
        .ask(
            "textDocument/formatting",
            json!({ "textDocument": { "uri": uri }, "options": options }),
        )
        .unwrap();
    let tidied = client.edited(&uri, &edits);
    assert_eq!(sandbox.run(["tidy", "tea.scruple"]).status, 0);
    assert_eq!(tidied, std::fs::read_to_string(root.join("tea.scruple")).unwrap());
    // A part of it: only its lines.
    let mut params = client.whole(&uri);
    params["options"] = options.clone();
    params["range"] = json!({ "start": { "line": 5, "character": 0 }, "end": { "line": 5, "character": 5 } });
    let edits = client.ask("textDocument/rangeFormatting", params).unwrap();
    assert_eq!(
        edited(messy, &edits),
        messy.replace(
            "       fennel fruit 1½ tsp,bruised as base",
            "    fennel fruit                  1 1/2 teaspoons, bruised  as base"
        )
    );
    // What is not understood is left alone, and that is said.
    client.replace(&uri, "to 10gram", "40,0 g");
    let none = client
        .ask(
            "textDocument/formatting",
            json!({ "textDocument": { "uri": uri }, "options": options }),
        )
        .unwrap();
    assert!(none.is_null());
    let said = client
        .said
        .iter()
        .find(|one| one["method"] == "window/showMessage")
        .unwrap();
    assert!(
        said["params"]["message"]
            .as_str()
            .unwrap()
            .starts_with("not tidied, for something")
    );
    client.end();
}
