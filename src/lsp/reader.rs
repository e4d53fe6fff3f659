//! Turns the contents of a ledger, changed again and again, into snapshots; the one place that says how.

use std::sync::Arc;

use crate::workspace::{Content, Desk, Snapshot};

/// Reads one ledger again and again.
#[derive(Debug, Default)]
pub struct Reader {
    desk: Desk,
}

impl Reader {
    /// The ledger with these contents.
    pub fn read(&mut self, files: Vec<(String, Content)>) -> Arc<Snapshot> {
        let snapshot = self.desk.snapshot(files);
        self.desk.keep(&snapshot);
        Arc::new(snapshot)
    }
}
