//! How long one waits while one types: findings and hover, in a ledger of ten thousand formulas.
//!
//! The client sits in the same process as the server; what the operating system's pipes add is not
//! measured. `SCRUPLE_BENCH_EDITS` says how many keystrokes are typed, a thousand if it says nothing.

use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use lsp_server::{Connection, Message, Notification, Request, RequestId};
use serde_json::{Value, json};

use super::{Times, ledger, report};

const FILES: u64 = 200;
const FORMULAS: u64 = 50;
/// Every fifth formula takes this herb by the spoon: two thousand of ten thousand.
const EVERY: usize = 5;
const HERB: &str = "\nherb common leaf\n  teaspoon   1.5 g\n";

/// A client that waits.
struct Editor {
    connection: Connection,
    version: i64,
    next: i32,
}

impl Editor {
    fn tell(&self, method: &str, params: Value) {
        let message = Message::Notification(Notification {
            method: method.to_owned(),
            params,
        });
        self.connection.sender.send(message).unwrap();
    }

    fn ask(&mut self, method: &str, params: Value) -> Value {
        self.next += 1;
        let id = RequestId::from(self.next);
        let request = Request {
            id: id.clone(),
            method: method.to_owned(),
            params,
        };
        self.connection.sender.send(Message::Request(request)).unwrap();
        loop {
            if let Message::Response(response) = self.connection.receiver.recv().unwrap()
                && response.id == id
            {
                return response.response_result.unwrap();
            }
        }
    }

    fn open(&mut self, path: &Path, text: &str) -> String {
        let uri = format!("file://{}", path.display());
        self.tell(
            "textDocument/didOpen",
            json!({ "textDocument": { "uri": uri, "languageId": "scruple", "version": 0, "text": text } }),
        );
        uri
    }

    /// Types something in the place of some letters of a line.
    fn type_over(&mut self, uri: &str, line: u64, from: u64, to: u64, text: &str) {
        self.version += 1;
        self.tell(
            "textDocument/didChange",
            json!({
                "textDocument": { "uri": uri, "version": self.version },
                "contentChanges": [{
                    "range": { "start": { "line": line, "character": from }, "end": { "line": line, "character": to } },
                    "text": text,
                }],
            }),
        );
    }

    /// Waits until the findings of a file are told.
    fn until(&self, uri: &str) {
        while self.next_told().as_deref() != Some(uri) {}
    }

    /// The next file that is told of.
    fn next_told(&self) -> Option<String> {
        match self.connection.receiver.recv().unwrap() {
            Message::Notification(note) if note.method == "textDocument/publishDiagnostics" => {
                Some(note.params["uri"].as_str().unwrap().to_owned())
            }
            _ => None,
        }
    }

    /// How many files are told of until nothing more comes.
    fn drain(&self) -> usize {
        let mut count = 0;
        while let Ok(message) = self.connection.receiver.recv_timeout(Duration::from_secs(3)) {
            let told = matches!(&message, Message::Notification(note) if note.method == "textDocument/publishDiagnostics");
            count += usize::from(told);
        }
        count
    }
}

/// Memory of this process in MB: what is resident now, and the most that ever was.
fn memory() -> (u64, u64) {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let of = |name: &str| {
        let line = status.lines().find(|line| line.starts_with(name))?;
        line.split_whitespace().nth(1)?.parse::<u64>().ok()
    };
    (of("VmRSS:").unwrap_or(0) / 1024, of("VmHWM:").unwrap_or(0) / 1024)
}

fn text_of(file: u64) -> String {
    let text = ledger::formulas(file, FORMULAS, 0);
    let mut out = String::with_capacity(text.len());
    for (number, formula) in text.split_inclusive("  take\n").enumerate() {
        out.push_str(formula);
        if number % EVERY == 0 && formula.ends_with("  take\n") {
            out.push_str("    common leaf   1 teaspoon\n");
        }
    }
    out
}

fn write_ledger(root: &Path) {
    for (name, text) in ledger::base() {
        std::fs::write(root.join(name), text).unwrap();
    }
    std::fs::write(root.join("common.scruple"), HERB).unwrap();
    for file in 0..FILES {
        std::fs::write(root.join(format!("teas-{file}.scruple")), text_of(file)).unwrap();
    }
}

pub fn run() {
    let edits: usize = std::env::var("SCRUPLE_BENCH_EDITS")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(1000);
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().canonicalize().unwrap();
    write_ledger(&root);
    let (before, _) = memory();
    let (own, theirs) = Connection::memory();
    thread::spawn(move || scruple::lsp::over(theirs));
    let mut editor = Editor {
        connection: own,
        version: 0,
        next: 0,
    };
    let begun = Instant::now();
    editor.ask(
        "initialize",
        json!({ "rootUri": format!("file://{}", root.display()), "capabilities": {} }),
    );
    editor.tell("initialized", json!({}));
    let teas = editor.open(&root.join("teas-0.scruple"), &text_of(0));
    let common = editor.open(&root.join("common.scruple"), HERB);
    editor.ask(
        "textDocument/hover",
        json!({ "textDocument": { "uri": common }, "position": { "line": 1, "character": 6 } }),
    );
    println!(
        "\nwhile one types: {} formulas in {FILES} files, {edits} keystrokes    median    slowest of a hundredth",
        FILES * FORMULAS
    );
    println!(
        "{:<58} {:>7} ms",
        "until the first hover after the start",
        begun.elapsed().as_millis()
    );
    editor.drain();

    // A herb's name in a formula: with a letter too many it is unknown, and each keystroke tells the other.
    let line = u64::try_from(
        text_of(0)
            .lines()
            .position(|line| line.contains("as base"))
            .unwrap(),
    )
    .unwrap();
    let mut is_slip = false;
    let own = Times::of(edits, || {
        is_slip = !is_slip;
        let (to, text) = if is_slip { (4, "x") } else { (5, "") };
        editor.type_over(&teas, line, 4, to, text);
        editor.until(&teas);
    });
    report("a keystroke in a formula: findings of the open file", &own, None);
    if is_slip {
        editor.type_over(&teas, line, 4, 5, "");
    }
    editor.drain();

    in_a_herb(&mut editor, &common, edits);

    let hover = json!({ "textDocument": { "uri": teas }, "position": { "line": 0, "character": 10 } });
    let mut number = 0;
    let typed = Times::of(edits, || {
        number += 1;
        let (to, text) = if number % 2 == 1 { (4, "x") } else { (5, "") };
        editor.type_over(&teas, line, 4, to, text);
        editor.ask("textDocument/hover", hover.clone());
    });
    report("hover right after a keystroke", &typed, None);
    editor.drain();
    let still = Times::of(edits, || {
        editor.ask("textDocument/hover", hover.clone());
    });
    report("hover when nothing was typed", &still, None);
    let (now, most) = memory();
    println!(
        "{:<58} {:>7} MB, at the most {most} MB",
        "memory with the ledger open",
        now.saturating_sub(before)
    );
}

/// Keystrokes in a herb that two thousand formulas take.
fn in_a_herb(editor: &mut Editor, common: &str, edits: usize) {
    // The weight of a spoon that two thousand formulas take.
    editor.type_over(common, 2, 17, 17, "g");
    let files = editor.drain();
    editor.type_over(common, 2, 17, 18, "");
    assert_eq!(editor.drain(), files, "each keystroke tells of the same files");
    let mut times = (Vec::new(), Vec::new());
    for number in 0..edits {
        let (to, text) = if number % 2 == 0 { (17, "g") } else { (18, "") };
        let begun = Instant::now();
        editor.type_over(common, 2, 17, to, text);
        let mut told = 0;
        while told < files {
            let uri = editor.next_told();
            told += usize::from(uri.is_some());
            if uri.as_deref() == Some(common) {
                times.0.push(begun.elapsed());
            }
        }
        times.1.push(begun.elapsed());
    }
    report(
        "a keystroke in a herb of 2,000: findings of the open file",
        &Times::from(times.0),
        None,
    );
    report(
        &format!("the same: findings of all {files} files"),
        &Times::from(times.1),
        None,
    );
}
