//! Keeps what was read, so that a ledger that changes is read again only where it changed.

use std::collections::HashMap;
use std::sync::Arc;

use super::content::{self, Content};
use super::{Snapshot, syntax};
use crate::diagnostic::{Diagnostic, Severity};
use crate::source::{FileId, Sources};
use crate::syntax::tree::Tree;

/// Files as they were read: for a ledger that is read again and again, in a watch or through its history.
///
/// A snapshot taken from here equals one that is read from nothing.
#[derive(Debug, Default)]
pub struct Desk {
    sources: Sources,
    /// By path and content.
    read: HashMap<(String, Content), Read>,
}

#[derive(Debug, Clone)]
struct Read {
    file: FileId,
    tree: Option<Arc<Tree>>,
    found: Vec<Diagnostic>,
}

impl Desk {
    /// Takes contents, each with its path, as far as their trees and names: without figures.
    pub fn bound(&mut self, files: impl IntoIterator<Item = (String, Content)>) -> Snapshot {
        let mut snapshot = Snapshot::default();
        let mut kept = Vec::new();
        for key in files {
            let read = match self.read.get(&key) {
                Some(read) => read.clone(),
                None => self.open(key),
            };
            kept.push(read.file);
            snapshot.trees.extend(read.tree);
            snapshot.diagnostics.extend(read.found);
        }
        snapshot.sources = self.sources.only(&kept);
        snapshot.bind();
        snapshot
    }

    /// Takes contents, each with its path in the ledger, through every stage.
    pub fn snapshot(&mut self, files: impl IntoIterator<Item = (String, Content)>) -> Snapshot {
        let mut snapshot = self.bound(files);
        snapshot.figure(|_| true);
        snapshot.look_over();
        snapshot
    }

    /// The tree of a file, if its text can be read, and whether nothing in it was refused.
    pub fn tree(&mut self, path: &str, content: &Content) -> (Option<Arc<Tree>>, bool) {
        let key = (path.to_owned(), content.clone());
        let read = match self.read.get(&key) {
            Some(read) => read.clone(),
            None => self.open(key),
        };
        let is_whole = read.found.iter().all(|one| one.severity < Severity::Error);
        (read.tree, is_whole)
    }

    /// All files that were read.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// Forgets all files but those of a snapshot.
    pub fn keep(&mut self, snapshot: &Snapshot) {
        self.read
            .retain(|_, read| snapshot.sources.get(read.file).is_some());
        self.sources = snapshot.sources.clone();
    }

    fn open(&mut self, (path, content): (String, Content)) -> Read {
        let (file, text) = content::add(&mut self.sources, &path, content.clone());
        let read = match text {
            Ok(text) => {
                let (tree, found) = syntax::parse(file, &text);
                Read {
                    file,
                    tree: Some(Arc::new(tree)),
                    found,
                }
            }
            Err(finding) => Read {
                file,
                tree: None,
                found: vec![finding],
            },
        };
        self.read.insert((path, content), read.clone());
        read
    }
}
