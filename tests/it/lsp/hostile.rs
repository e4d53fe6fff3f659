//! Editors that send what they should not, when they should not: an answer, or none, and never a panic.

use lsp_server::{Message, Notification, Request, RequestId};
use scruple::lsp::Ended;
use serde_json::{Value, json};

use super::client::{Client, able, address};
use crate::sandbox::{Sandbox, project};

const METHODS: [&str; 21] = [
    "textDocument/hover",
    "textDocument/completion",
    "textDocument/definition",
    "textDocument/references",
    "textDocument/documentHighlight",
    "textDocument/prepareRename",
    "textDocument/rename",
    "textDocument/documentSymbol",
    "workspace/symbol",
    "textDocument/foldingRange",
    "textDocument/selectionRange",
    "textDocument/semanticTokens/full",
    "textDocument/semanticTokens/range",
    "textDocument/inlayHint",
    "textDocument/codeLens",
    "textDocument/documentLink",
    "textDocument/formatting",
    "textDocument/rangeFormatting",
    "textDocument/codeAction",
    "codeAction/resolve",
    "scruple/page",
];

/// Everything that any of the methods reads, about one place.
fn everything(uri: &str, line: u32, character: u32) -> Value {
    let place = json!({ "line": line, "character": character });
    let range = json!({ "start": place, "end": { "line": character, "character": line } });
    json!({
        "textDocument": { "uri": uri },
        "position": place,
        "positions": [place, place],
        "range": range,
        "context": { "includeDeclaration": true, "diagnostics": [] },
        "options": { "tabSize": 0, "insertSpaces": false },
        "newName": "x, \u{0} 12 g of each",
        "query": "\u{0}🌿 ",
        "title": "x",
        "code": "no-such-code",
        "data": { "uri": uri, "deed": "split", "at": u64::MAX, "version": 1 },
    })
}

fn inner_fault(answer: &Result<Value, Value>) -> bool {
    answer.as_ref().is_err_and(|error| error["code"] == -32603)
}

#[test]
fn any_place_in_any_text_has_an_answer() {
    let root = project().join("examples/low-barn");
    let mut client = Client::new(&root);
    let supper = client.open_file(&root.join("formulas/supper.scruple"));
    let odd = "\u{feff}\u{0}herb \u{200b}\r\n\tteaspoon\r\r\n formula\u{a0}x\n  take\n    , of each\n   🌿🌿 1½½ g as\n \"\n  mix first and  last; and first\n  adapts x at 1/0\n# \n  strength 1:5 of \n  used\n    x from , from";
    let strange = address(&root.join("strange.scruple"));
    client.open(&strange, odd);
    client.open("untitled:🌿", odd);
    client.open("file:///", odd);
    client.open("file:///%00/x.scruple", odd);
    client.open("nonsense", odd);
    client.open(&address(&root.join("README.md")), "# no ledger");
    for uri in [
        &supper,
        &strange,
        "untitled:🌿",
        "file:///",
        "nonsense",
        "file:///nowhere/at/all.scruple",
        "file:///a%zz",
    ] {
        for place in [(0, 0), (6, 20), (5, 40), (u32::MAX, u32::MAX), (9999, 3)] {
            for method in METHODS {
                let answer = client.ask(method, everything(uri, place.0, place.1));
                assert!(!inner_fault(&answer), "{method} {uri} {place:?}: {answer:?}");
            }
        }
    }
    client.end();
}

#[test]
fn every_place_of_a_broken_text_has_an_answer() {
    let root = project().join("examples/broken");
    let mut client = Client::new(&root);
    for file in [
        "wrong-sort-of-measure",
        "swallowed-line",
        "unclosed-quote",
        "circle-of-formulas",
        "merge-conflict-marks",
    ] {
        let uri = client.open_file(&root.join(format!("{file}.scruple")));
        let lines: Vec<String> = client.text(&uri).lines().map(str::to_owned).collect();
        for (line, text) in lines.iter().enumerate() {
            for character in 0..=text.len() {
                let place = json!({ "line": line, "character": character });
                for method in ["textDocument/completion", "textDocument/hover"] {
                    let answer = client.ask(
                        method,
                        json!({ "textDocument": { "uri": uri }, "position": place }),
                    );
                    assert!(answer.is_ok(), "{method} {file} {place}: {answer:?}");
                }
            }
        }
    }
    client.end();
}

#[test]
fn what_can_not_be_read_is_refused_and_the_session_goes_on() {
    let root = project().join("examples/first-blend");
    let mut client = Client::new(&root);
    for method in METHODS {
        for params in [
            Value::Null,
            json!([]),
            json!("x"),
            json!({ "textDocument": 3 }),
            json!({ "textDocument": { "uri": "a b" } }),
        ] {
            let answer = client.ask(method, params);
            assert!(!inner_fault(&answer), "{method}: {answer:?}");
        }
    }
    assert_eq!(client.ask("no/such", Value::Null).unwrap_err()["code"], -32601);
    for note in [
        "textDocument/didOpen",
        "textDocument/didChange",
        "textDocument/didClose",
        "$/cancelRequest",
        "no/such",
        "$/x",
    ] {
        for params in [
            Value::Null,
            json!({ "id": {} }),
            json!({ "textDocument": { "uri": "file:///unknown", "version": "x" } }),
        ] {
            client.tell(note, params);
        }
    }
    // Changes to a text that was never opened, and a close of it.
    client.tell(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": "file:///never", "version": 9 }, "contentChanges": [{ "text": "x" }] }),
    );
    client.tell(
        "textDocument/didClose",
        json!({ "textDocument": { "uri": "file:///never" } }),
    );
    let uri = client.open_file(&root.join("practice.scruple"));
    // A change that ends before it begins, beyond every end, and inside a character.
    for (start, end) in [
        ((5, 5), (0, 0)),
        ((u32::MAX, 0), (u32::MAX, u32::MAX)),
        ((0, 1), (0, 1)),
    ] {
        client.tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": uri, "version": -1 }, "contentChanges": [{
                "range": { "start": { "line": start.0, "character": start.1 }, "end": { "line": end.0, "character": end.1 } },
                "text": "🌿",
            }] }),
        );
    }
    client.tell(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": uri, "languageId": "", "version": 0, "text": "" } }),
    );
    assert!(client.ask("workspace/symbol", json!({ "query": "" })).is_ok());
    client.end();
}

#[test]
fn messages_out_of_order_are_refused() {
    let mut client = Client::silent();
    assert_eq!(
        client.ask("textDocument/hover", json!({})).unwrap_err()["code"],
        -32002
    );
    assert_eq!(client.ask("shutdown", Value::Null).unwrap_err()["code"], -32002);
    client.tell("initialized", json!({}));
    client.open("file:///x.scruple", "herb x");
    // Parameters that make no sense are taken as those of an editor that can do nothing.
    assert!(client.ask("initialize", json!({ "capabilities": 3 })).is_ok());
    assert_eq!(client.ask("initialize", json!({})).unwrap_err()["code"], -32600);
    assert_eq!(client.ask("shutdown", Value::Null), Ok(Value::Null));
    assert_eq!(
        client.ask("textDocument/hover", json!({})).unwrap_err()["code"],
        -32600
    );
    client.tell("exit", Value::Null);
    assert_eq!(client.ended(), Ended::AsAgreed);
}

#[test]
fn an_exit_without_a_word_and_a_vanished_editor_end_it() {
    let mut client = Client::silent();
    client.tell("exit", Value::Null);
    assert_eq!(client.ended(), Ended::Abruptly);
    let mut client = Client::new(&project().join("examples/first-blend"));
    client.tell("exit", Value::Null);
    assert_eq!(client.ended(), Ended::Abruptly);
    let mut client = Client::new(&project().join("examples/first-blend"));
    assert_eq!(client.ended(), Ended::Abruptly, "the channel is closed");
}

#[test]
fn a_request_that_is_taken_back_is_not_answered() {
    let root = project().join("examples/low-barn");
    let mut client = Client::new(&root);
    let uri = client.open_file(&root.join("formulas/supper.scruple"));
    // The first keeps it busy while the others wait.
    let all: Vec<i32> = (0..20)
        .map(|_| {
            let at = client.at(&uri, "formula after-supp|er tea");
            client.begin("textDocument/hover", at)
        })
        .collect();
    let last = *all.last().unwrap();
    client.tell("$/cancelRequest", json!({ "id": last }));
    match client.answer(last) {
        Err(error) => assert_eq!(error["code"], -32800),
        // It may have been quicker than the wish.
        Ok(answer) => assert!(!answer.is_null()),
    }
    client.tell("$/cancelRequest", json!({ "id": 123_456 }));
    client.end();
}

#[test]
fn a_huge_text_is_told_of_and_not_choked_on() {
    let sandbox = Sandbox::new().file("practice.scruple", "practice\n");
    let root = sandbox.path().canonicalize().unwrap();
    let mut client = Client::new(&root);
    let uri = address(&root.join("huge.scruple"));
    client.open(&uri, &"# a line of a comment\n".repeat(800_000));
    client.until("too large", |client| client.codes(&uri) == ["file-too-large"]);
    for method in METHODS {
        let answer = client.ask(method, everything(&uri, 700_000, 5));
        assert!(!inner_fault(&answer), "{method}: {answer:?}");
    }
    let long = address(&root.join("long.scruple"));
    client.open(&long, &format!("herb {}\n", "x ".repeat(50_000)));
    client.until("too long", |client| client.codes(&long) == ["line-too-long"]);
    client.end();
}

#[test]
fn numbers_of_requests_may_be_words() {
    let mut client = Client::silent();
    client.send(Message::Request(Request {
        id: RequestId::from("first".to_owned()),
        method: "initialize".to_owned(),
        params: json!({ "capabilities": able() }),
    }));
    client.send(Message::Notification(Notification {
        method: "exit".to_owned(),
        params: Value::Null,
    }));
    assert_eq!(client.ended(), Ended::Abruptly);
}
