//! What an editor changes: mendings, other ways of writing, renaming.

use std::collections::BTreeMap;
use std::path::Path;

use scruple::workspace::Snapshot;
use serde_json::{Value, json};

use super::client::{Client, able, address, edited};
use crate::sandbox::{Sandbox, project};

/// The texts that an edit of the workspace makes, by address; texts that are not open are read.
fn made(client: &Client, open: &[&str], edit: &Value) -> BTreeMap<String, String> {
    let mut made = BTreeMap::new();
    for change in edit["documentChanges"].as_array().unwrap() {
        if change["kind"] == "create" {
            made.insert(change["uri"].as_str().unwrap().to_owned(), String::new());
            continue;
        }
        let uri = change["textDocument"]["uri"].as_str().unwrap();
        let text = match made.get(uri) {
            Some(text) => text.clone(),
            None if open.contains(&uri) => client.text(uri).to_owned(),
            None => std::fs::read_to_string(uri.strip_prefix("file://").unwrap()).unwrap(),
        };
        made.insert(uri.to_owned(), edited(&text, &change["edits"]));
    }
    made
}

fn actions(client: &mut Client, uri: &str, piece: &str) -> Vec<Value> {
    let at = client.at(uri, piece);
    let found = client
        .ask(
            "textDocument/codeAction",
            json!({
                "textDocument": at["textDocument"],
                "range": { "start": at["position"], "end": at["position"] },
                "context": { "diagnostics": [] },
            }),
        )
        .unwrap();
    found.as_array().unwrap().clone()
}

/// The action with a title, with its edits.
fn chosen(client: &mut Client, uri: &str, piece: &str, title: &str) -> Result<Value, Value> {
    let all = actions(client, uri, piece);
    let titles: Vec<String> = all.iter().map(|one| one["title"].to_string()).collect();
    let one = all
        .into_iter()
        .find(|one| one["title"].as_str().unwrap().contains(title))
        .unwrap_or_else(|| panic!("no `{title}` among {titles:?}"));
    if one["edit"].is_null() {
        client.ask("codeAction/resolve", one)
    } else {
        Ok(one)
    }
}

#[test]
fn every_finding_with_a_fix_offers_it_and_it_mends() {
    let root = project().join("examples/broken");
    let snapshot = Snapshot::read(&root);
    let mut client = Client::new(&root);
    let mut fixed = 0;
    for finding in snapshot.diagnostics.iter().filter(|one| one.fix.is_some()) {
        let source = snapshot.sources.get(finding.span.file).unwrap();
        let uri = address(&root.join(&*source.path));
        client.open(&uri, &source.text);
        let place = |at: usize| super::client::position(&source.text, at);
        let found = client
            .ask(
                "textDocument/codeAction",
                json!({
                    "textDocument": { "uri": uri },
                    "range": { "start": place(finding.span.first_byte()), "end": place(finding.span.end_byte()) },
                    "context": { "diagnostics": [], "only": ["quickfix"] },
                }),
            )
            .unwrap();
        let fix = finding.fix.as_ref().unwrap();
        let own = found
            .as_array()
            .unwrap()
            .iter()
            .find(|one| one["title"] == *fix.title && one["diagnostics"][0]["code"] == finding.code.name())
            .unwrap_or_else(|| panic!("{} is not offered: {found}", finding.code));
        let text = &made(&client, &[&uri], &own["edit"])[&uri];
        // With the fix the ledger has fewer of this finding.
        let texts = snapshot.sources.iter().map(|(_, other)| {
            let is_it = other.path == source.path;
            (
                other.path.to_string(),
                if is_it {
                    text.as_str().into()
                } else {
                    other.text.clone()
                },
            )
        });
        let after = Snapshot::of(texts.collect::<Vec<_>>());
        let count = |of: &Snapshot| {
            of.diagnostics
                .iter()
                .filter(|one| one.code == finding.code)
                .count()
        };
        assert!(
            count(&after) < count(&snapshot),
            "{} is not mended by\n{text}",
            finding.code
        );
        fixed += 1;
    }
    assert!(fixed > 10, "only {fixed} fixes");
    client.end();
}

fn ledger() -> Sandbox {
    Sandbox::new()
        .file(
            "practice.scruple",
            "practice\n  heaped   1.5 to 2.5 level spoons\n",
        )
        .file(
            "herbs.scruple",
            "source bench\n  title        our bench\n\n\
             herb mint leaf\n  also              mint, peppermint\n  teaspoon          1 g      source bench\n\n\
             herb fennel fruit\n\nherb caraway fruit\n\nherb rose petal\n\nmaterial mint tincture\n  strength          1:5 of mint leaf, 60%\n\n\
             person 017\n  age          34\n\nlot MI-1 of mint leaf\n  received     2026-10-01\n  amount       1 kg\n\nlot FE-1 of fennel fruit\n  received     2026-10-01\n  amount       1 kg\n\nlot CA-1 of caraway fruit\n  received     2026-10-01\n  amount       1 kg\n\nlot RP-1 of rose petal\n  received     2026-10-01\n  amount       1 kg\n",
        )
        .file(
            "teas.scruple",
            "formula seed tea\n  take\n    fennel fruit, caraway fruit   of each 20 g, bruised   as base   # both\n    \
             Mint leaves                   15 g\n    rose petals                   5 g\n  \
             mix          rose petals last; turn over\n  infuse       mint leaf in 200 ml of water for 5 minutes\n\n\
             formula part tea\n  person 017\n  take\n    mint                          4 parts\n    fennel fruit                  3 parts\n    seed tea                      q.s. to 10 parts\n  one part     2.5 g\n\n\
             batch seed tea on 2026-11-03\n  used\n    mint leaf    15 g from MI-1\n    fennel fruit 20 g from FE-1\n    caraway fruit 20 g from CA-1\n    rose petal   5 g from RP-1\n\nset class\n  holds        seed tea\n",
        )
}

fn opened(sandbox: &Sandbox) -> (Client, String) {
    let root = sandbox.path().canonicalize().unwrap();
    let mut client = Client::new(&root);
    let uri = client.open_file(&root.join("teas.scruple"));
    (client, uri)
}

#[test]
fn the_ledger_of_these_tests_is_sound() {
    assert_eq!(
        ledger().run(["check", "--as", "json"]).codes(),
        Vec::<String>::new()
    );
}

#[test]
fn of_each_is_split_into_lines() {
    let sandbox = ledger();
    let (mut client, uri) = opened(&sandbox);
    let action = chosen(&mut client, &uri, "fennel fr|uit, caraway", "a line of its own").unwrap();
    let text = &made(&client, &[&uri], &action["edit"])[&uri];
    assert!(
        text.contains(
            "    fennel fruit                  20 g, bruised   as base\n    caraway fruit                 20 g, bruised   as base   # both\n"
        ),
        "{text}"
    );
    client.end();
}

#[test]
fn grams_become_parts_and_parts_grams() {
    let sandbox = ledger();
    let (mut client, uri) = opened(&sandbox);
    let action = chosen(&mut client, &uri, "formula seed t|ea", "grams in parts").unwrap();
    let text = made(&client, &[&uri], &action["edit"])[&uri].clone();
    assert!(text.contains("of each 4 parts, bruised"), "{text}");
    assert!(text.contains("Mint leaves                   3 parts\n    rose petals                   1 part\n  one part     5 g\n"), "{text}");
    // And back: the same amounts.
    let length = client.text(&uri).len();
    client.type_over(&uri, 0, length, &text);
    let action = chosen(&mut client, &uri, "formula seed t|ea", "parts in grams").unwrap();
    let back = &made(&client, &[&uri], &action["edit"])[&uri];
    assert_eq!(
        *back,
        std::fs::read_to_string(sandbox.path().join("teas.scruple")).unwrap()
    );
    // What is missing to a total stays that.
    let action = chosen(&mut client, &uri, "formula part t|ea", "parts in grams").unwrap();
    let grams = &made(&client, &[&uri], &action["edit"])[&uri];
    assert!(grams.contains("mint                          10 g\n    fennel fruit                  7.5 g\n    seed tea                      q.s. to 25 g\n\nbatch"), "{grams}");
    client.end();
}

#[test]
fn a_line_for_ones_own_weighings_holds_no_figure() {
    let sandbox = ledger();
    let (mut client, uri) = opened(&sandbox);
    client.replace(
        &uri,
        "rose petals                   5 g",
        "rose petals                   2 heaped teaspoons",
    );
    let action = chosen(
        &mut client,
        &uri,
        "2 heaped tea|spoons",
        "your own weighings of a heaped teaspoon",
    )
    .unwrap();
    let herbs = address(&sandbox.path().canonicalize().unwrap().join("herbs.scruple"));
    let text = &made(&client, &[&uri], &action["edit"])[&herbs];
    assert!(
        text.contains("herb rose petal\n  heaped teaspoon   weighed \n\nmaterial"),
        "{text}"
    );
    client.end();
}

#[test]
fn a_herb_is_adopted_into_a_file_of_its_own_or_to_the_end_of_it() {
    let sandbox = ledger();
    let (mut client, uri) = opened(&sandbox);
    client.replace(
        &uri,
        "rose petals                   5 g",
        "chamomile flower              5 g",
    );
    client.replace(&uri, "  mix          rose petals last; turn over\n", "");
    let action = chosen(&mut client, &uri, "chamo|mile", "adopt chamomile flower").unwrap();
    let root = sandbox.path().canonicalize().unwrap();
    let adopted = address(&root.join("materia/adopted.scruple"));
    let text = made(&client, &[&uri], &action["edit"])[&adopted].clone();
    assert!(
        text.starts_with("# Adopted from the built-in reference"),
        "{text}"
    );
    assert!(text.contains("\nherb chamomile flower\n"), "{text}");
    // It is what the command would write.
    sandbox.run(["adopt", "chamomile flower"]).status(0);
    assert_eq!(
        std::fs::read_to_string(root.join("materia/adopted.scruple")).unwrap(),
        text
    );
    // An editor that makes no files gets it at the end of the text at hand.
    std::fs::remove_file(root.join("materia/adopted.scruple")).unwrap();
    let mut plain = able();
    plain["workspace"] = json!({});
    plain["textDocument"]["codeAction"] = json!({});
    let mut client = Client::with(&root, &plain);
    let uri = client.open_file(&root.join("teas.scruple"));
    client.replace(
        &uri,
        "rose petals                   5 g",
        "chamomile flower              5 g",
    );
    client.replace(&uri, "  mix          rose petals last; turn over\n", "");
    let action = chosen(&mut client, &uri, "chamo|mile", "adopt chamomile flower").unwrap();
    let after = edited(client.text(&uri), &action["edit"]["changes"][&uri]);
    assert!(after.contains("holds        seed tea\n\nsource"), "{after}");
    client.end();
}

// ---- renaming --------------------------------------------------------------------------------------

fn renamed(client: &mut Client, uri: &str, piece: &str, name: &str) -> Result<Value, String> {
    let mut at = client.at(uri, piece);
    let prepared = client.ask("textDocument/prepareRename", at.clone());
    prepared.map_err(|error| error["message"].as_str().unwrap().to_owned())?;
    at["newName"] = json!(name);
    client
        .ask("textDocument/rename", at)
        .map_err(|error| error["message"].as_str().unwrap().to_owned())
}

fn check(root: &Path, texts: &BTreeMap<String, String>) {
    for (uri, text) in texts {
        std::fs::write(uri.strip_prefix("file://").unwrap(), text).unwrap();
    }
    let after = Snapshot::read(root);
    let found: Vec<_> = after.diagnostics.iter().map(|one| &one.message).collect();
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn a_herb_is_renamed_by_the_name_that_is_pointed_at() {
    let sandbox = ledger();
    let root = sandbox.path().canonicalize().unwrap();
    let (mut client, uri) = opened(&sandbox);
    let herbs = address(&root.join("herbs.scruple"));
    let edit = renamed(&mut client, &uri, "Mint lea|ves", "spearmint leaf").unwrap();
    let texts = made(&client, &[&uri], &edit);
    // Another name of it stays; the plural, the step, the lot and the tincture are found.
    says(
        &texts[&herbs],
        &[
            "herb spearmint leaf\n  also              mint, peppermint",
            "lot MI-1 of spearmint leaf",
            "1:5 of spearmint leaf, 60%",
        ],
    );
    says(
        &texts[&uri],
        &[
            "    spearmint leaf                   15 g",
            "    mint                          4 parts",
            "    spearmint leaf    15 g from MI-1",
            "infuse       spearmint leaf in 200 ml",
        ],
    );
    // A name that needs quotes gets them; where it can't be said even so, it is refused.
    let edit = renamed(&mut client, &uri, "fennel fr|uit,", "fennel, 3 years old").unwrap();
    let texts = made(&client, &[&uri], &edit);
    says(&texts[&herbs], &["herb \"fennel, 3 years old\"\n"]);
    says(
        &texts[&uri],
        &["    \"fennel, 3 years old\", caraway fruit   of each 20 g"],
    );
    check(&root, &texts);
    let why = renamed(&mut client, &uri, "Mint lea|ves", "mint, dried").unwrap_err();
    says(
        &why,
        &["some line would mean something else, so nothing is changed"],
    );
    client.end();
}

fn says(text: &str, all: &[&str]) {
    for one in all {
        assert!(text.contains(one), "no `{one}` in\n{text}");
    }
}

#[test]
fn formulas_sources_people_lots_and_other_names_are_renamed() {
    for (piece, name, expected) in [
        (
            "formula seed t|ea",
            "garden seeds",
            "garden seeds                      q.s. to 10 parts",
        ),
        (
            "holds        seed t|ea",
            "garden seeds",
            "batch garden seeds on 2026-11-03",
        ),
        ("person 0|17", "23-b", "person 23-b"),
        ("from MI|-1", "MI-2", "15 g from MI-2"),
        (
            "    min|t    ",
            "spear mint",
            "    spear mint                          4 parts",
        ),
        ("rose pe|tals last", "damask rose", "damask rose last; turn over"),
    ] {
        let sandbox = ledger();
        let root = sandbox.path().canonicalize().unwrap();
        let (mut client, uri) = opened(&sandbox);
        let edit = renamed(&mut client, &uri, piece, name).unwrap_or_else(|why| panic!("{piece}: {why}"));
        let texts = made(&client, &[&uri], &edit);
        says(&texts[&uri], &[expected]);
        check(&root, &texts);
        client.end();
    }
    let sandbox = ledger();
    let root = sandbox.path().canonicalize().unwrap();
    let mut client = Client::new(&root);
    let herbs = client.open_file(&root.join("herbs.scruple"));
    let edit = renamed(&mut client, &herbs, "source ben|ch\n", "our-scales").unwrap();
    let texts = made(&client, &[&herbs], &edit);
    says(
        &texts[&herbs],
        &["source our-scales\n", "1 g      source our-scales"],
    );
    check(&root, &texts);
    client.end();
}

#[test]
fn a_name_that_would_change_a_meaning_is_refused_kindly() {
    let sandbox = ledger();
    let (mut client, uri) = opened(&sandbox);
    let why = |client: &mut Client, piece: &str, name: &str| renamed(client, &uri, piece, name).unwrap_err();
    says(
        &why(&mut client, "fennel fr|uit,", "rose petals"),
        &["means something else in this ledger already"],
    );
    says(
        &why(&mut client, "Mint lea|ves", "peppermint"),
        &["it is called `peppermint` already"],
    );
    says(
        &why(&mut client, "fennel fr|uit,", "  "),
        &["a name can't be empty"],
    );
    says(
        &why(&mut client, "fennel fr|uit,", "a\nb\"c"),
        &["without quotation marks"],
    );
    says(&why(&mut client, "from MI|-1", "MI 2"), &["nothing is changed"]);
    says(&why(&mut client, "turn ov|er", "x"), &["no name stands here"]);
    says(&why(&mut client, "of wa|ter", "x"), &["comes with the program"]);
    client.end();
}
