//! Turns the messages of an editor, one after the other, into answers and findings.
//!
//! Everything that has come in is taken in before anything is reckoned: so a request that was taken
//! back costs nothing, and ten quick keystrokes are reckoned once. Findings of the files that are
//! open go out before those of the others, and what comes in between goes first.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender};
use std::thread;

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response, ResponseError};
use lsp_types::{
    DidChangeTextDocumentParams, DidChangeWorkspaceFoldersParams, DidCloseTextDocumentParams,
    DidOpenTextDocumentParams, InitializeParams, PublishDiagnosticsParams, WorkspaceFolder,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::abilities::{self, Client};
use super::documents::Document;
use super::findings::{self, Wording};
use super::ledgers::{self, Current, Ledger, Told};
use super::{Ended, address};
use crate::source::FileId;
use crate::watch::signals::{Signal, Signals};
use crate::workspace;

/// Something that happens.
#[derive(Debug)]
pub enum Event {
    /// The editor says something.
    Message(Message),
    /// The editor says something that can't be read.
    Unreadable(String),
    /// Files may have been changed by others.
    Touched,
    /// The editor is gone.
    Closed,
}

/// How far a session has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Begun,
    Running,
    Ending,
}

pub(super) type Answered = Result<Value, ResponseError>;

/// A session with an editor.
pub struct Server<O> {
    out: O,
    events: Sender<Event>,
    queue: VecDeque<Message>,
    stage: Stage,
    ended: Option<Ended>,
    is_closed: bool,
    /// Whether the disk is to be looked at.
    is_touched: bool,
    pub(super) client: Client,
    folders: Vec<PathBuf>,
    pub(super) documents: BTreeMap<String, Document>,
    pub(super) ledgers: BTreeMap<String, Ledger>,
    /// Ledgers of which only the open files were told.
    half_told: BTreeSet<String>,
    /// How many requests were sent.
    sent: i32,
}

/// A file that is asked about.
pub(super) struct Asked {
    /// The ledger's key.
    pub key: String,
    /// The ledger as it is now.
    pub current: Current,
    /// The file.
    pub file: FileId,
}

impl<O: FnMut(Message) -> bool> Server<O> {
    /// A session that has not begun; `out` says whether anybody hears.
    pub fn new(events: Sender<Event>, out: O) -> Self {
        Self {
            out,
            events,
            queue: VecDeque::new(),
            stage: Stage::Begun,
            ended: None,
            is_closed: false,
            is_touched: false,
            client: Client::of(&lsp_types::ClientCapabilities::default()),
            folders: Vec::new(),
            documents: BTreeMap::new(),
            ledgers: BTreeMap::new(),
            half_told: BTreeSet::new(),
            sent: 0,
        }
    }

    /// Goes on until the editor ends it.
    pub fn run(mut self, inbox: &Receiver<Event>) -> Ended {
        loop {
            if self.queue.is_empty() && !self.has_work() && !self.is_closed {
                match inbox.recv() {
                    Ok(event) => self.take(event),
                    Err(_) => self.is_closed = true,
                }
            }
            while let Ok(event) = inbox.try_recv() {
                self.take(event);
            }
            match self.queue.pop_front() {
                Some(message) => self.handle(message),
                None if self.is_closed => {
                    let agreed = self.stage == Stage::Ending;
                    return if agreed { Ended::AsAgreed } else { Ended::Abruptly };
                }
                None => self.work(),
            }
            if let Some(ended) = self.ended {
                return ended;
            }
        }
    }

    fn take(&mut self, event: Event) {
        match event {
            Event::Message(Message::Notification(note)) if note.method == "$/cancelRequest" => {
                self.cancel(note.params.get("id"));
            }
            Event::Message(message) => self.queue.push_back(message),
            Event::Unreadable(why) => self.log(&why),
            Event::Touched => self.is_touched = true,
            Event::Closed => self.is_closed = true,
        }
    }

    /// Takes a request back that nobody has begun to answer.
    fn cancel(&mut self, id: Option<&Value>) {
        let Some(id) = id.and_then(|id| serde_json::from_value::<RequestId>(id.clone()).ok()) else {
            return;
        };
        let is_it = |message: &Message| matches!(message, Message::Request(request) if request.id == id);
        if let Some(at) = self.queue.iter().position(is_it) {
            self.queue.remove(at);
            self.send(Message::Response(Response::new_err(
                id,
                code(ErrorCode::RequestCanceled),
                "taken back".to_owned(),
            )));
        }
    }

    fn handle(&mut self, message: Message) {
        match message {
            Message::Request(request) => self.request(request),
            Message::Notification(note) => {
                if note.method == "exit" {
                    let agreed = self.stage == Stage::Ending;
                    self.ended = Some(if agreed { Ended::AsAgreed } else { Ended::Abruptly });
                } else if self.stage == Stage::Running {
                    self.notice(note);
                }
            }
            // What it answers to our requests changes nothing.
            Message::Response(_) => {}
        }
    }

    fn request(&mut self, request: Request) {
        let Request { id, method, params } = request;
        let answered = match (self.stage, method.as_str()) {
            (Stage::Begun, "initialize") => Ok(self.begin(params)),
            (Stage::Begun, _) => Err(error(
                ErrorCode::ServerNotInitialized,
                "the session has not begun",
            )),
            (Stage::Running, "shutdown") => {
                self.stage = Stage::Ending;
                Ok(Value::Null)
            }
            (Stage::Running, "initialize") => {
                Err(error(ErrorCode::InvalidRequest, "the session has begun already"))
            }
            (Stage::Running, _) => {
                // Nothing here panics; should it all the same, one answer is lost and not the session.
                let answer = AssertUnwindSafe(|| self.answer(&method, params));
                catch_unwind(answer).unwrap_or_else(|_| {
                    Err(error(
                        ErrorCode::InternalError,
                        "this could not be answered; please report it",
                    ))
                })
            }
            (Stage::Ending, _) => Err(error(ErrorCode::InvalidRequest, "the session is ending")),
        };
        self.send(Message::Response(Response {
            id,
            response_result: answered,
        }));
    }

    fn begin(&mut self, params: Value) -> Value {
        self.stage = Stage::Running;
        let params: InitializeParams = serde_json::from_value(params).unwrap_or_default();
        self.client = Client::of(&params.capabilities);
        #[expect(deprecated, reason = "editors that know no folders in the plural say it so")]
        let single = params.root_uri.map(|uri| WorkspaceFolder {
            uri,
            name: String::new(),
        });
        let folders = params.workspace_folders.unwrap_or_default();
        self.add_folders(folders.into_iter().chain(single));
        json!({
            "capabilities": abilities::offered(self.client),
            "serverInfo": { "name": "scruple", "version": env!("CARGO_PKG_VERSION") },
        })
    }

    fn add_folders(&mut self, folders: impl IntoIterator<Item = WorkspaceFolder>) {
        for folder in folders {
            if let Some(path) = address::path(folder.uri.as_str()) {
                let path = workspace::real(&path);
                if !self.folders.contains(&path) {
                    self.folders.push(path);
                }
            }
        }
    }

    fn notice(&mut self, note: Notification) {
        match note.method.as_str() {
            "initialized" => self.initialized(),
            "textDocument/didOpen" => {
                if let Some(params) = self.params::<DidOpenTextDocumentParams>(note) {
                    self.open(params);
                }
            }
            "textDocument/didChange" => {
                if let Some(params) = self.params::<DidChangeTextDocumentParams>(note) {
                    let encoding = self.client.encoding;
                    if let Some(document) = self.documents.get_mut(params.text_document.uri.as_str()) {
                        document.change(params.text_document.version, params.content_changes, encoding);
                        if let Some((key, _)) = &document.place
                            && let Some(ledger) = self.ledgers.get_mut(key)
                        {
                            ledger.changed();
                        }
                    }
                }
            }
            "textDocument/didClose" => {
                if let Some(params) = self.params::<DidCloseTextDocumentParams>(note) {
                    self.close(params.text_document.uri.as_str());
                }
            }
            "workspace/didChangeWorkspaceFolders" => {
                if let Some(params) = self.params::<DidChangeWorkspaceFoldersParams>(note) {
                    let gone: Vec<PathBuf> = params
                        .event
                        .removed
                        .iter()
                        .filter_map(|folder| address::path(folder.uri.as_str()))
                        .map(|path| workspace::real(&path))
                        .collect();
                    self.folders.retain(|folder| !gone.contains(folder));
                    self.add_folders(params.event.added);
                    self.open_folders();
                    self.is_touched = true;
                }
            }
            "textDocument/didSave"
            | "workspace/didChangeWatchedFiles"
            | "workspace/didCreateFiles"
            | "workspace/didRenameFiles"
            | "workspace/didDeleteFiles" => self.is_touched = true,
            _ => {}
        }
    }

    fn initialized(&mut self) {
        if self.client.tells_of_files {
            let watchers = json!([{ "globPattern": "**/*.scruple" }, { "globPattern": "**/*.totals.txt" }]);
            self.ask(
                "client/registerCapability",
                json!({ "registrations": [{
                    "id": "files",
                    "method": "workspace/didChangeWatchedFiles",
                    "registerOptions": { "watchers": watchers },
                }] }),
            );
        }
        self.open_folders();
    }

    /// Opens the ledgers of the editor's folders that have a practice; others wait for a file of theirs.
    fn open_folders(&mut self) {
        for folder in self.folders.clone() {
            if folder.join("practice.scruple").is_file() {
                self.ledger(folder);
            }
        }
    }

    /// The key of the ledger in a folder, which is opened if it isn't yet.
    fn ledger(&mut self, root: PathBuf) -> String {
        let key = root.to_string_lossy().into_owned();
        if !self.ledgers.contains_key(&key) {
            let mut ledger = Ledger::new(Some(root.clone()));
            ledger.look();
            self.ledgers.insert(key.clone(), ledger);
            watch(root, self.events.clone());
        }
        key
    }

    // ---- documents ---------------------------------------------------------------------------

    fn open(&mut self, params: DidOpenTextDocumentParams) {
        let uri = params.text_document.uri.as_str().to_owned();
        let path = address::path(&uri);
        let document = Document {
            path: path.as_ref().map(|path| match (path.parent(), path.file_name()) {
                (Some(folder), Some(name)) => workspace::real(folder).join(name),
                _ => path.clone(),
            }),
            version: params.text_document.version,
            text: params.text_document.text,
            place: None,
        };
        self.documents.insert(uri.clone(), document);
        self.put_in_place(&uri);
        self.is_touched = true;
    }

    /// Finds the ledger of a document, which may be another than before.
    fn put_in_place(&mut self, uri: &str) {
        let Some(document) = self.documents.get(uri) else {
            return;
        };
        let before = document.place.clone();
        let root = document
            .path
            .as_ref()
            .and_then(|path| ledgers::root_of(path, &self.folders));
        let place = match (&document.path, root) {
            (Some(path), Some(root)) => ledgers::shown(&root, path)
                .filter(|shown| workspace::is_of_a_ledger(shown))
                .map(|shown| (self.ledger(root), shown)),
            (Some(path), None) if !workspace::is_ledger_file(path) => None,
            // A text that was never saved is a ledger of its own.
            _ => {
                self.ledgers
                    .entry(uri.to_owned())
                    .or_insert_with(|| Ledger::new(None));
                Some((uri.to_owned(), "unsaved.scruple".to_owned()))
            }
        };
        for (key, shown) in [&before, &place].into_iter().flatten() {
            if let Some(ledger) = self.ledgers.get_mut(key) {
                ledger.goes_by(uri, shown);
                ledger.changed();
            }
        }
        if let Some(document) = self.documents.get_mut(uri) {
            document.place = place;
        }
    }

    fn close(&mut self, uri: &str) {
        let Some(document) = self.documents.remove(uri) else {
            return;
        };
        let Some((key, _)) = document.place else { return };
        if let Some(ledger) = self.ledgers.get_mut(&key) {
            ledger.changed();
            ledger.look();
            if ledger.root.is_none() {
                self.ledgers.remove(&key);
                self.publish(uri, Vec::new(), None);
            }
        }
    }

    // ---- what is done when nothing is asked ------------------------------------------------------

    fn has_work(&self) -> bool {
        self.stage == Stage::Running
            && (self.is_touched
                || !self.half_told.is_empty()
                || self.ledgers.values().any(|one| one.is_untold))
    }

    /// One step of the work that nobody waits for.
    fn work(&mut self) {
        if self.is_touched {
            self.is_touched = false;
            self.look();
            return;
        }
        let untold = self.ledgers.iter().find(|(_, ledger)| ledger.is_untold);
        if let Some(key) = untold.map(|(key, _)| key.clone()) {
            self.tell(&key, true);
            self.half_told.insert(key);
        } else if let Some(key) = self.half_told.pop_first() {
            self.tell(&key, false);
            self.let_ask_again(&key);
        }
    }

    /// Looks at the disk: files may have come, gone, or been changed by others.
    fn look(&mut self) {
        for ledger in self.ledgers.values_mut() {
            ledger.look();
        }
        let folders = self.folders.clone();
        let moved: Vec<String> = self
            .documents
            .iter()
            .filter(|(_, document)| {
                let root = document
                    .path
                    .as_ref()
                    .and_then(|path| ledgers::root_of(path, &folders));
                let key = root.map(|root| root.to_string_lossy().into_owned());
                document.place.is_some()
                    && key.is_some()
                    && key != document.place.as_ref().map(|(key, _)| key.clone())
            })
            .map(|(uri, _)| uri.clone())
            .collect();
        for uri in &moved {
            self.put_in_place(uri);
        }
    }

    /// Tells the findings of a ledger that differ from those told before: of open files, or of the others.
    fn tell(&mut self, key: &str, open: bool) {
        let Some(ledger) = self.ledgers.get_mut(key) else {
            return;
        };
        if open {
            ledger.is_untold = false;
        }
        let Current { snapshot, files } = ledger.current(&self.documents, key);
        let versions: BTreeMap<&String, i32> = self
            .documents
            .values()
            .filter_map(|document| match &document.place {
                Some((own, shown)) if own == key => Some((shown, document.version)),
                _ => None,
            })
            .collect();
        let mut all: BTreeSet<&String> = if open {
            versions.keys().copied().collect()
        } else {
            files.keys().chain(ledger.told.keys()).collect()
        };
        all.retain(|path| open || !versions.contains_key(path));
        let mut messages = Vec::new();
        let mut told = Vec::new();
        for path in all {
            let found = ledger.findings(&snapshot, path);
            let before = ledger.told.get(path).copied();
            let sum = findings::sum(&found);
            if before.is_some_and(|before| before.found == sum) || (before.is_none() && found.is_empty()) {
                continue;
            }
            let wording = Wording {
                ledger,
                snapshot: &snapshot,
                encoding: self.client.encoding,
                shows_related: self.client.shows_related,
            };
            let shown: Vec<_> = found
                .iter()
                .filter_map(|finding| wording.shown(finding))
                .collect();
            let sent = findings::sum_of_shown(&shown);
            told.push((path.clone(), Told { found: sum, sent }));
            if before.is_none_or(|before| before.sent != sent) {
                messages.push((ledger.uri(path), shown, versions.get(path).copied()));
            }
        }
        ledger.told.extend(told);
        for (uri, shown, version) in messages {
            self.publish(&uri, shown, version);
        }
    }

    fn publish(&mut self, uri: &str, diagnostics: Vec<lsp_types::Diagnostic>, version: Option<i32>) {
        if let Some(uri) = address::uri(uri) {
            self.tell_editor(
                "textDocument/publishDiagnostics",
                PublishDiagnosticsParams {
                    uri,
                    diagnostics,
                    version,
                },
            );
        }
    }

    /// Figures beside the lines of one file may be others because of a change in another.
    fn let_ask_again(&mut self, key: &str) {
        let is_of = |document: &&Document| document.place.as_ref().is_some_and(|(own, _)| own == key);
        if self.documents.values().filter(is_of).count() < 2 {
            return;
        }
        let all = [
            "workspace/inlayHint/refresh",
            "workspace/codeLens/refresh",
            "workspace/semanticTokens/refresh",
        ];
        for (method, can) in all.into_iter().zip(self.client.asks_again) {
            if can {
                self.ask(method, Value::Null);
            }
        }
    }

    // ---- talking ---------------------------------------------------------------------------------

    fn send(&mut self, message: Message) {
        if !(self.out)(message) {
            self.is_closed = true;
        }
    }

    pub(super) fn tell_editor(&mut self, method: &str, params: impl Serialize) {
        if let Ok(params) = serde_json::to_value(params) {
            self.send(Message::Notification(Notification {
                method: method.to_owned(),
                params,
            }));
        }
    }

    fn ask(&mut self, method: &str, params: Value) {
        self.sent = self.sent.wrapping_add(1);
        self.send(Message::Request(Request {
            id: RequestId::from(self.sent),
            method: method.to_owned(),
            params,
        }));
    }

    fn log(&mut self, words: &str) {
        self.tell_editor("window/logMessage", json!({ "type": 2, "message": words }));
    }

    fn params<P: DeserializeOwned>(&mut self, note: Notification) -> Option<P> {
        match serde_json::from_value(note.params) {
            Ok(params) => Some(params),
            Err(why) => {
                self.log(&format!("{} can't be read: {why}", note.method));
                None
            }
        }
    }

    /// The file with an address, as it is now; nothing for one that belongs to no ledger.
    pub(super) fn asked(&mut self, uri: &str) -> Option<Asked> {
        let place = if let Some(document) = self.documents.get(uri) {
            document.place.clone()
        } else {
            let path = workspace::real(&address::path(uri)?);
            let root = ledgers::root_of(&path, &self.folders)?;
            let shown = ledgers::shown(&root, &path)?;
            // Only what is open opens a ledger.
            let key = root.to_string_lossy().into_owned();
            self.ledgers.contains_key(&key).then_some((key, shown))
        };
        let (key, shown) = place?;
        let current = self.ledgers.get_mut(&key)?.current(&self.documents, &key);
        let file = *current.files.get(&shown)?;
        Some(Asked { key, current, file })
    }
}

pub(super) fn code(code: ErrorCode) -> i32 {
    match code {
        ErrorCode::ServerNotInitialized => -32002,
        ErrorCode::InvalidRequest => -32600,
        ErrorCode::MethodNotFound => -32601,
        ErrorCode::InvalidParams => -32602,
        ErrorCode::RequestCanceled => -32800,
        ErrorCode::ContentModified => -32801,
        ErrorCode::RequestFailed => -32803,
        _ => -32603,
    }
}

pub(super) fn error(kind: ErrorCode, message: &str) -> ResponseError {
    ResponseError {
        code: code(kind),
        message: message.to_owned(),
        data: None,
    }
}

/// Tells, until nobody listens, when files below a folder may have been changed.
fn watch(root: PathBuf, events: Sender<Event>) {
    thread::spawn(move || {
        let mut signals = Signals::of_files();
        signals.attach(&root);
        loop {
            match signals.next() {
                Signal::Touched => {
                    if signals.settle() {
                        signals.detach();
                    }
                }
                Signal::Lost => signals.detach(),
                Signal::Silence => {}
                Signal::Stop => return,
            }
            if events.send(Event::Touched).is_err() {
                return;
            }
        }
    });
}
