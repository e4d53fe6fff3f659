//! Findings as one types: those of the command line, no more and no fewer.

use std::collections::BTreeMap;
use std::path::Path;

use scruple::source::Sources;
use scruple::workspace::Snapshot;
use serde_json::{Value, json};

use super::client::{Client, address, position};
use crate::sandbox::{Sandbox, project};

/// What the command line finds: of each file the code, the place and the words.
fn found(snapshot: &Snapshot, root: &Path) -> BTreeMap<String, Vec<(String, Value, String)>> {
    let mut all: BTreeMap<String, Vec<_>> = BTreeMap::new();
    let sources: &Sources = &snapshot.sources;
    for one in &snapshot.diagnostics {
        let source = sources.get(one.span.file).unwrap();
        let place = |at: usize| position(&source.text, at);
        let uri = address(&root.join(&*source.path));
        let range = json!({ "start": place(one.span.first_byte()), "end": place(one.span.end_byte()) });
        all.entry(uri)
            .or_default()
            .push((one.code.name().to_owned(), range, one.message.clone()));
    }
    all
}

fn equals(client: &Client, expected: &BTreeMap<String, Vec<(String, Value, String)>>) -> bool {
    let told = client.told.iter().filter(|(_, all)| !all.is_empty());
    told.count() == expected.len()
        && expected.iter().all(|(uri, expected)| {
            let told = client.told.get(uri).map_or(&[][..], Vec::as_slice);
            told.len() == expected.len()
                && told.iter().zip(expected).all(|(told, (code, range, message))| {
                    told["code"] == **code
                        && told["range"] == *range
                        && told["message"].as_str().unwrap().starts_with(message.as_str())
                })
        })
}

#[test]
fn over_every_example_they_are_those_of_the_command_line() {
    for (example, first) in [
        ("low-barn", "formulas/supper.scruple"),
        ("first-blend", "practice.scruple"),
        ("broken", "spoon-without-weight.scruple"),
    ] {
        let root = project().join("examples").join(example);
        let expected = found(&Snapshot::read(&root), &root);
        let mut client = Client::new(&root);
        client.open_file(&root.join(first));
        client.until(example, |client| equals(client, &expected));
        if let Some(all) = client.told.values().find(|all| !all.is_empty()) {
            let code = all[0]["code"].as_str().unwrap().to_owned();
            let href = all[0]["codeDescription"]["href"].as_str().unwrap().to_owned();
            let page = client.ask("scruple/page", json!({ "uri": href })).unwrap();
            assert!(page["text"].as_str().unwrap().starts_with(&format!("# {code}\n")));
        }
        client.end();
    }
}

fn tea() -> Sandbox {
    Sandbox::new()
        .file(
            "practice.scruple",
            "practice\n  heaped   1.5 to 2.5 level spoons\n",
        )
        .file(
            "herbs.scruple",
            "herb mint leaf\n  teaspoon   1 g\nherb fennel fruit\n",
        )
        .file(
            "teas/one.scruple",
            "formula one tea\n  take\n    mint leaf   20 g\n",
        )
        .file(
            "teas/two.scruple",
            "formula two tea\n  take\n    mint leaf   2 teaspoons\n",
        )
}

fn real(sandbox: &Sandbox) -> std::path::PathBuf {
    sandbox.path().canonicalize().unwrap()
}

#[test]
fn an_unsaved_text_lies_over_the_file() {
    let sandbox = tea();
    let root = real(&sandbox);
    let mut client = Client::new(&root);
    let herbs = client.open_file(&root.join("herbs.scruple"));
    let two = address(&root.join("teas/two.scruple"));
    // The weight of the spoon goes while one types: the formula that needs it says so, unsaved.
    client.replace(&herbs, "  teaspoon   1 g\n", "");
    client.until("the spoon", |client| {
        client.codes(&two) == ["spoon-without-weight"]
    });
    let related = &client.told[&two][0]["relatedInformation"][0];
    assert_eq!(related["location"]["uri"], *herbs);
    client.replace(
        &herbs,
        "herb mint leaf\n",
        "herb mint leaf\n  teaspoon   weighed 1.1, 1.2 g\n",
    );
    client.until("mended", |client| client.codes(&two).is_empty());
    // What is closed without being saved is as it lies on the disk.
    client.replace(&herbs, "  teaspoon   weighed 1.1, 1.2 g\n", "");
    client.until("gone again", |client| {
        client.codes(&two) == ["spoon-without-weight"]
    });
    client.tell(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": herbs } }),
    );
    client.until("closed", |client| client.codes(&two).is_empty());
    client.end();
}

#[test]
fn the_open_file_is_told_before_the_others() {
    let sandbox = tea();
    let root = real(&sandbox);
    let mut client = Client::new(&root);
    client.open_file(&root.join("teas/two.scruple"));
    let herbs = address(&root.join("herbs.scruple"));
    let one = address(&root.join("teas/one.scruple"));
    client.tell(
        "textDocument/didOpen",
        json!({ "textDocument": {
        "uri": herbs, "languageId": "scruple", "version": 1, "text": "herb fennel fruit\n  also\n",
    } }),
    );
    // An unknown name is told where it first stands, which is in a file that is not open.
    client.until("all", |client| {
        !client.codes(&one).is_empty() && !client.codes(&herbs).is_empty()
    });
    let place = |uri: &str| client.order.iter().position(|own| own == uri);
    assert!(place(&herbs) < place(&one), "{:?}", client.order);
    client.end();
}

#[test]
fn files_that_come_go_and_are_changed_outside_are_seen() {
    let sandbox = tea();
    let root = real(&sandbox);
    let mut client = Client::new(&root);
    client.open_file(&root.join("teas/one.scruple"));
    let two = address(&root.join("teas/two.scruple"));
    let three = address(&root.join("teas/three.scruple"));
    std::fs::write(
        root.join("teas/three.scruple"),
        "formula three tea\n  take\n    rue   1 g\n",
    )
    .unwrap();
    client.until("a file that came", |client| {
        client.codes(&three) == ["unknown-name"]
    });
    std::fs::rename(root.join("teas/three.scruple"), root.join("teas/four.scruple")).unwrap();
    let four = address(&root.join("teas/four.scruple"));
    client.until("a file with another name", |client| {
        client.codes(&three).is_empty() && client.codes(&four) == ["unknown-name"]
    });
    std::fs::write(root.join("herbs.scruple"), "herb mint leaf\nherb rue\n").unwrap();
    client.until("a file that was saved", |client| {
        client.codes(&four).is_empty() && client.codes(&two) == ["spoon-without-weight"]
    });
    std::fs::remove_file(root.join("teas/two.scruple")).unwrap();
    client.until("a file that went", |client| client.codes(&two).is_empty());
    client.end();
}

#[test]
fn a_new_text_belongs_to_the_ledger_before_it_is_saved() {
    let sandbox = tea();
    let root = real(&sandbox);
    let mut client = Client::new(&root);
    let new = address(&root.join("teas/new/later.scruple"));
    client.open(
        &new,
        "formula later tea\n  take\n    mint leaf   1 g\n    ru   1 g\n",
    );
    client.until("an unknown name only", |client| {
        client.codes(&new) == ["unknown-name"]
    });
    // One that has no place on the disk at all is a ledger of its own.
    client.open("untitled:Untitled-1", "formula x\n  take\n    mint leaf   1 g\n");
    client.until("alone", |client| {
        client.codes("untitled:Untitled-1") == ["unknown-name"]
    });
    client.end();
}

#[test]
fn totals_that_are_stale_are_told_of_what_is_saved() {
    let sandbox = tea();
    let root = real(&sandbox);
    sandbox.run(["totals", "--as", "json"]).status(0);
    std::fs::write(
        root.join("teas/one.scruple"),
        "formula one tea\n  take\n    mint leaf   30 g\n",
    )
    .unwrap();
    let expected = sandbox.run(["check", "--as", "json"]).codes();
    assert_eq!(expected, ["stale-totals"]);
    let mut client = Client::new(&root);
    let one = client.open_file(&root.join("teas/one.scruple"));
    client.until("stale", |client| client.codes(&one) == ["stale-totals"]);
    client.end();
}

/// A sequence of numbers, the same on every run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        usize::try_from(self.0 >> 33).unwrap() % most.max(1)
    }
}

#[test]
fn typing_at_random_ends_where_reading_anew_ends() {
    let root = project().join("examples/low-barn");
    let pieces = [
        "",
        " ",
        "\n",
        "\n  ",
        "x",
        "2 teaspoons",
        "herb ",
        "formula new\n  take\n    rue  1 g\n",
        "🌿",
        "½",
        ",",
        "# ",
        "\r\n",
        "\"",
        "source ginger-texts",
        "  accept   reflux: x\n",
        "20 g",
    ];
    let file = "formulas/supper.scruple";
    for seed in 1..4 {
        let mut dice = Dice(seed);
        let mut client = Client::new(&root);
        let uri = client.open_file(&root.join(file));
        for _ in 0..30 {
            let text = client.text(&uri).to_owned();
            let boundary = |mut at: usize| {
                while !text.is_char_boundary(at) {
                    at += 1;
                }
                at
            };
            let start = boundary(dice.below(text.len()));
            let end = boundary((start + dice.below(12)).min(text.len()));
            client.type_over(&uri, start, end, pieces[dice.below(pieces.len())]);
        }
        let typed = client.text(&uri).to_owned();
        let contents = scruple::workspace::contents(&root)
            .into_iter()
            .map(|(path, content)| {
                let own = path == file;
                (
                    path,
                    if own {
                        Ok(typed.clone().into_bytes())
                    } else {
                        content
                    },
                )
            });
        let expected = found(&Snapshot::of_contents(contents), &root);
        client.until(&format!("the same as reading anew, seed {seed}"), |client| {
            equals(client, &expected)
        });
        client.end();
    }
}

#[test]
fn characters_are_counted_as_the_editor_counts() {
    let text = "herb é🌿 leaf\n\nformula tea\n  take\n    é🌿 leaf   2 g   # é🌿\n    rue   1 g\n";
    for (encoding, character) in [("utf-8", 11), ("utf-16", 8), ("utf-32", 7)] {
        let sandbox = Sandbox::new().file("practice.scruple", "practice\n");
        let root = real(&sandbox);
        let mut capabilities = super::client::able();
        capabilities["general"]["positionEncodings"] = json!([encoding, "utf-16"]);
        let mut client = Client::with(&root, &capabilities);
        let uri = address(&root.join("tea.scruple"));
        client.open(&uri, text);
        let place = json!({ "line": 4, "character": character });
        let found = client
            .ask(
                "textDocument/definition",
                json!({ "textDocument": { "uri": uri }, "position": place }),
            )
            .unwrap();
        let end = found["range"]["end"]["character"].as_u64().unwrap();
        // `herb ` and the name, in that encoding: 2 and 4 bytes, 1 and 2 units, 1 and 1 characters.
        assert_eq!(
            end,
            match encoding {
                "utf-8" => 16,
                "utf-16" => 13,
                _ => 12,
            },
            "{encoding}"
        );
        client.end();
    }
}
