//! Keeps what was read, so that a ledger that changes is read again only where it changed.

use std::collections::HashMap;
use std::sync::Arc;

use super::content::{self, Content};
use super::{Snapshot, syntax};
use crate::diagnostic::{Diagnostic, Severity};
use crate::parallel;
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
        let files: Vec<(String, Content)> = files.into_iter().collect();
        self.open_all(&files);
        let mut kept = Vec::new();
        for key in &files {
            let Some(read) = self.read.get(key) else { continue };
            kept.push(read.file);
            snapshot.trees.extend(read.tree.clone());
            snapshot.diagnostics.extend(read.found.iter().cloned());
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
        self.open_all(std::slice::from_ref(&key));
        let Some(read) = self.read.get(&key) else {
            return (None, false);
        };
        let is_whole = read.found.iter().all(|one| one.severity < Severity::Error);
        (read.tree.clone(), is_whole)
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

    /// Reads what was not read yet.
    fn open_all(&mut self, files: &[(String, Content)]) {
        let mut texts = Vec::new();
        for (path, content) in files {
            let key = (path.clone(), content.clone());
            if self.read.contains_key(&key) {
                continue;
            }
            let (file, text) = content::add(&mut self.sources, path, content.clone());
            let mut read = Read {
                file,
                tree: None,
                found: Vec::new(),
            };
            match text {
                Ok(text) => texts.push((key.clone(), text, file)),
                Err(finding) => read.found.push(finding),
            }
            self.read.insert(key, read);
        }
        let trees = parallel::map(&texts, |(_, text, file)| syntax::parse(*file, text));
        for ((key, ..), (tree, found)) in texts.into_iter().zip(trees) {
            if let Some(read) = self.read.get_mut(&key) {
                read.tree = Some(Arc::new(tree));
                read.found = found;
            }
        }
    }
}
