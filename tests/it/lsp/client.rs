//! A client over a pair of channels, and over the standard streams of the real program.

use std::collections::HashMap;
use std::path::Path;
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use lsp_server::{Connection, Message, Notification, Request, RequestId};
use scruple::lsp::{self, Ended};
use serde_json::{Value, json};

/// How long an answer may take before the test fails; generous, since it only has to catch a hang.
const PATIENCE: Duration = Duration::from_secs(60);

/// What most editors can do.
pub fn able() -> Value {
    json!({
        "general": { "positionEncodings": ["utf-16"] },
        "workspace": { "workspaceEdit": { "documentChanges": true, "resourceOperations": ["create"] } },
        "textDocument": {
            "publishDiagnostics": { "relatedInformation": true },
            "documentSymbol": { "hierarchicalDocumentSymbolSupport": true },
            "codeAction": { "resolveSupport": { "properties": ["edit"] } },
        },
    })
}

/// An editor as far as the protocol sees it.
pub struct Client {
    connection: Option<Connection>,
    server: Option<JoinHandle<Ended>>,
    texts: HashMap<String, (i64, String)>,
    /// The findings told last, by address.
    pub told: HashMap<String, Vec<Value>>,
    /// In which order files were told.
    pub order: Vec<String>,
    /// What else the server said.
    pub said: Vec<Value>,
    next: i32,
}

/// The address of a file.
pub fn address(path: &Path) -> String {
    format!("file://{}", path.display())
}

impl Client {
    /// A session that has begun, with a folder open.
    pub fn new(folder: &Path) -> Self {
        Self::with(folder, &able())
    }

    /// The same for an editor that can do just so much.
    pub fn with(folder: &Path, capabilities: &Value) -> Self {
        let mut client = Self::silent();
        let begun = client.ask(
            "initialize",
            json!({ "processId": null, "rootUri": address(folder), "capabilities": capabilities }),
        );
        assert!(begun.unwrap()["capabilities"]["hoverProvider"].as_bool().unwrap());
        client.tell("initialized", json!({}));
        client
    }

    /// A session that has not begun.
    pub fn silent() -> Self {
        let (own, theirs) = Connection::memory();
        Self {
            connection: Some(own),
            server: Some(thread::spawn(move || lsp::over(theirs))),
            texts: HashMap::new(),
            told: HashMap::new(),
            order: Vec::new(),
            said: Vec::new(),
            next: 0,
        }
    }

    pub fn send(&self, message: Message) {
        // Whether the server still listens shows in what it answers.
        let _ = self.connection.as_ref().unwrap().sender.send(message);
    }

    pub fn tell(&self, method: &str, params: Value) {
        self.send(Message::Notification(Notification {
            method: method.to_owned(),
            params,
        }));
    }

    /// Sends a request without waiting, and gives its number.
    pub fn begin(&mut self, method: &str, params: Value) -> i32 {
        self.next += 1;
        self.send(Message::Request(Request {
            id: RequestId::from(self.next),
            method: method.to_owned(),
            params,
        }));
        self.next
    }

    /// Waits for the answer to a request.
    pub fn answer(&mut self, id: i32) -> Result<Value, Value> {
        let end = Instant::now() + PATIENCE;
        loop {
            match self
                .hear(end)
                .unwrap_or_else(|| panic!("no answer to request {id}"))
            {
                Message::Response(response) if response.id == RequestId::from(id) => {
                    return response
                        .response_result
                        .map_err(|error| json!({ "code": error.code, "message": error.message }));
                }
                Message::Response(_) | Message::Request(_) | Message::Notification(_) => {}
            }
        }
    }

    pub fn ask(&mut self, method: &str, params: Value) -> Result<Value, Value> {
        let id = self.begin(method, params);
        self.answer(id)
    }

    /// The next message; findings are taken note of.
    fn hear(&mut self, end: Instant) -> Option<Message> {
        let rest = end.saturating_duration_since(Instant::now());
        let message = self.connection.as_ref()?.receiver.recv_timeout(rest).ok()?;
        match &message {
            Message::Notification(note) if note.method == "textDocument/publishDiagnostics" => {
                let uri = note.params["uri"].as_str().unwrap().to_owned();
                self.order.push(uri.clone());
                self.told
                    .insert(uri, note.params["diagnostics"].as_array().unwrap().clone());
            }
            Message::Notification(note) => self
                .said
                .push(json!({ "method": note.method, "params": note.params })),
            Message::Request(request) => {
                self.said
                    .push(json!({ "method": request.method, "params": request.params }));
            }
            Message::Response(_) => {}
        }
        Some(message)
    }

    /// Waits until what was told fits.
    pub fn until(&mut self, what: &str, mut fits: impl FnMut(&Self) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !fits(self) {
            assert!(
                self.hear(end).is_some(),
                "never came: {what}; told {:?}",
                self.told
            );
        }
    }

    /// The codes told of a file, in their order.
    pub fn codes(&self, uri: &str) -> Vec<String> {
        let all = self.told.get(uri).map_or(&[][..], Vec::as_slice);
        all.iter()
            .map(|one| one["code"].as_str().unwrap().to_owned())
            .collect()
    }

    // ---- texts -----------------------------------------------------------------------------------

    /// Opens a text.
    pub fn open(&mut self, uri: &str, text: &str) {
        self.texts.insert(uri.to_owned(), (1, text.to_owned()));
        self.tell(
            "textDocument/didOpen",
            json!({ "textDocument": { "uri": uri, "languageId": "scruple", "version": 1, "text": text } }),
        );
    }

    /// Opens a file as it lies there, and gives its address.
    pub fn open_file(&mut self, path: &Path) -> String {
        let uri = address(path);
        self.open(&uri, &std::fs::read_to_string(path).unwrap());
        uri
    }

    pub fn text(&self, uri: &str) -> &str {
        &self.texts[uri].1
    }

    /// Types a text in the place of another, by the smallest change.
    pub fn replace(&mut self, uri: &str, old: &str, new: &str) {
        let text = self.text(uri);
        let at = text.find(old).unwrap_or_else(|| panic!("no `{old}` in\n{text}"));
        self.type_over(uri, at, at + old.len(), new);
    }

    /// Types a text in the place of what stands from one byte to another.
    pub fn type_over(&mut self, uri: &str, start: usize, end: usize, new: &str) {
        let (version, text) = self.texts.get_mut(uri).unwrap();
        *version += 1;
        let range = json!({ "start": position(text, start), "end": position(text, end) });
        text.replace_range(start..end, new);
        let version = *version;
        self.tell(
            "textDocument/didChange",
            json!({
                "textDocument": { "uri": uri, "version": version },
                "contentChanges": [{ "range": range, "text": new }],
            }),
        );
    }

    /// The place of the bar in a piece of a text, as parameters.
    pub fn at(&self, uri: &str, piece: &str) -> Value {
        let (before, after) = piece.split_once('|').expect("a bar for the cursor");
        let text = self.text(uri);
        let at = text
            .find(&format!("{before}{after}"))
            .unwrap_or_else(|| panic!("no `{piece}` in\n{text}"));
        json!({ "textDocument": { "uri": uri }, "position": position(text, at + before.len()) })
    }

    /// The whole of a text, as parameters.
    pub fn whole(&self, uri: &str) -> Value {
        let end = position(self.text(uri), self.text(uri).len());
        json!({ "textDocument": { "uri": uri }, "range": { "start": { "line": 0, "character": 0 }, "end": end } })
    }

    /// Asks about a place and expects an answer.
    pub fn ask_at(&mut self, method: &str, uri: &str, piece: &str) -> Value {
        let at = self.at(uri, piece);
        self.ask(method, at).unwrap()
    }

    /// A text with edits of the protocol made.
    pub fn edited(&self, uri: &str, edits: &Value) -> String {
        edited(self.text(uri), edits)
    }

    /// Ends the session as it should end.
    pub fn end(mut self) {
        assert_eq!(self.ask("shutdown", Value::Null), Ok(Value::Null));
        self.tell("exit", Value::Null);
        assert_eq!(self.ended(), Ended::AsAgreed);
    }

    /// How the server ended.
    pub fn ended(&mut self) -> Ended {
        self.connection = None;
        self.server.take().unwrap().join().expect("no panic, ever")
    }
}

/// A byte's place in units of UTF-16.
pub fn position(text: &str, byte: usize) -> Value {
    let before = &text[..byte];
    let line = before.matches('\n').count();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    json!({ "line": line, "character": before[start..].encode_utf16().count() })
}

fn byte(text: &str, position: &Value) -> usize {
    let line = usize::try_from(position["line"].as_u64().unwrap()).unwrap();
    let wanted = usize::try_from(position["character"].as_u64().unwrap()).unwrap();
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut units = 0;
    for (at, letter) in text[start..].char_indices() {
        if units >= wanted {
            return start + at;
        }
        units += letter.len_utf16();
    }
    text.len()
}

/// A text with edits made, from the last to the first.
pub fn edited(text: &str, edits: &Value) -> String {
    let mut all: Vec<(usize, usize, &str)> = edits
        .as_array()
        .unwrap()
        .iter()
        .map(|edit| {
            (
                byte(text, &edit["range"]["start"]),
                byte(text, &edit["range"]["end"]),
                edit["newText"].as_str().unwrap(),
            )
        })
        .collect();
    all.sort_unstable();
    let mut out = text.to_owned();
    for (start, end, new) in all.into_iter().rev() {
        out.replace_range(start..end, new);
    }
    out
}
