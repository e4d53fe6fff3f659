//! Turns what the system tells (files touched, the watch lost, Ctrl-C) into the moments to look and to end.
//!
//! What an event says about a file is never trusted: it only means that it is time to look.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, SyncSender, sync_channel};
use std::thread;
use std::time::Duration;

use notify::event::{AccessKind, AccessMode};
use notify::{Event, EventKind, RecommendedWatcher, RecursiveMode, Watcher};

/// For how long nothing may happen before it is looked: an editor saves in several steps.
const QUIET: Duration = Duration::from_millis(40);
/// How often that is waited for, at the most: half a second.
const PATIENCE: usize = 12;
/// How often it is looked although nothing was told. Some file systems tell nothing, and a watch may fall silent.
const TOLD: Duration = Duration::from_secs(4);
/// The same where the system tells nothing at all.
const UNTOLD: Duration = Duration::from_secs(1);

/// Why it is time to do something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// Something in the folder was touched.
    Touched,
    /// Nothing was told for a while.
    Silence,
    /// The system no longer tells.
    Lost,
    /// It is to end.
    Stop,
}

/// Where signals come in.
pub struct Signals {
    sender: SyncSender<Signal>,
    receiver: Receiver<Signal>,
    stop: Arc<AtomicBool>,
    watcher: Option<RecommendedWatcher>,
}

impl Signals {
    /// Listens for Ctrl-C and for the wish of the system to end, and for nothing else yet.
    pub fn new() -> Self {
        let signals = Self::of_files();
        let (flag, telling) = (Arc::clone(&signals.stop), signals.sender.clone());
        // Should this not be possible, Ctrl-C ends the process as it ends any other.
        let _ = ctrlc::set_handler(move || {
            flag.store(true, Ordering::SeqCst);
            let _ = telling.try_send(Signal::Stop);
        });
        signals
    }

    /// Listens for nothing yet, and never for Ctrl-C: for a program that is ended in another way.
    pub fn of_files() -> Self {
        // Signals of one kind mean the same however many there are, so a full channel may lose some.
        let (sender, receiver) = sync_channel(64);
        Self {
            sender,
            receiver,
            stop: Arc::new(AtomicBool::new(false)),
            watcher: None,
        }
    }

    /// Listens for what happens below a folder, or to one file: anew, if it did before. Whether the
    /// system agrees to tell.
    pub fn attach(&mut self, root: &Path) -> bool {
        self.watcher = None;
        // An editor puts a new file in the place of the old one, so it is the folder that is listened to.
        let (folder, mode) = if root.is_file() {
            (root.parent().unwrap_or(root), RecursiveMode::NonRecursive)
        } else {
            (root, RecursiveMode::Recursive)
        };
        let (telling, below) = (self.sender.clone(), folder.to_owned());
        let told = move |event: notify::Result<Event>| {
            let signal = match event {
                Ok(event) if event.need_rescan() || means_a_change(&event, &below) => Signal::Touched,
                Ok(_) => return,
                Err(_) => Signal::Lost,
            };
            let _ = telling.try_send(signal);
        };
        self.watcher = notify::recommended_watcher(told)
            .and_then(|mut watcher| watcher.watch(folder, mode).map(|()| watcher))
            .ok();
        self.is_attached()
    }

    /// No longer listens for what happens in the folder.
    pub fn detach(&mut self) {
        self.watcher = None;
    }

    /// Whether the system tells what happens.
    pub fn is_attached(&self) -> bool {
        self.watcher.is_some()
    }

    /// The next signal; [`Signal::Silence`] if there is none for a while.
    pub fn next(&self) -> Signal {
        let patience = if self.is_attached() { TOLD } else { UNTOLD };
        let signal = match self.receiver.recv_timeout(patience) {
            Ok(signal) => signal,
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => Signal::Silence,
        };
        if self.is_to_stop() { Signal::Stop } else { signal }
    }

    /// Waits until nothing has happened for a short while, or for half a second; whether the watch was
    /// lost meanwhile.
    pub fn settle(&self) -> bool {
        let mut lost = false;
        for _ in 0..PATIENCE {
            thread::sleep(QUIET);
            let more: Vec<Signal> = self.receiver.try_iter().collect();
            lost |= more.contains(&Signal::Lost);
            if more.is_empty() || self.is_to_stop() {
                break;
            }
        }
        lost
    }

    /// Whether somebody wants it to end.
    pub fn is_to_stop(&self) -> bool {
        self.stop.load(Ordering::SeqCst)
    }
}

impl Default for Signals {
    fn default() -> Self {
        Self::new()
    }
}

/// Whether an event may mean that a file of the ledger is another now. Reading is none: it would tell
/// of our own looks. Hidden files are none of the ledger: git and editors work in them.
fn means_a_change(event: &Event, below: &Path) -> bool {
    let is_reading = match event.kind {
        EventKind::Access(AccessKind::Close(AccessMode::Write)) => false,
        EventKind::Access(_) => true,
        _ => false,
    };
    let is_hidden = |path: &Path| {
        path.strip_prefix(below)
            .is_ok_and(|inside| inside.iter().any(|part| part.to_string_lossy().starts_with('.')))
    };
    let all_hidden = !event.paths.is_empty() && event.paths.iter().all(|path| is_hidden(path));
    !is_reading && !all_hidden
}
