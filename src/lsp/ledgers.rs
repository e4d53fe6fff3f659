//! Turns the files below a folder, with the unsaved texts of an editor laid over them, into a ledger.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::address;
use super::documents::Document;
use super::findings;
use super::reader::Reader;
use crate::diagnostic::{self, Diagnostic};
use crate::source::{FileId, Span};
use crate::totals;
use crate::workspace::{self, Content, Snapshot};

/// A ledger that is being looked at.
#[derive(Debug)]
pub struct Ledger {
    /// Its folder; nothing for a text that has no place on a disk.
    pub root: Option<PathBuf>,
    /// The address of its folder as the editor writes it, without a slash at its end.
    base: String,
    /// The addresses of files that the editor has opened, as it writes them.
    names: HashMap<String, String>,
    /// The files as they lie on the disk, in the order in which they are read.
    on_disk: Vec<(String, Content)>,
    reader: Reader,
    current: Option<Current>,
    /// What is stale beside the files as they are saved, by the paths of those files.
    stale: Vec<(String, Diagnostic)>,
    /// What the editor was told of each file.
    pub told: BTreeMap<String, Told>,
    /// Whether something may have to be told.
    pub is_untold: bool,
}

/// What an editor was told of the findings of a file, as two sums: of what was found, and of what was sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Told {
    /// Of what was found, by its places in this reading.
    pub found: u64,
    /// Of what was sent.
    pub sent: u64,
}

/// A ledger as it is now, with the numbers of its files.
#[derive(Debug, Clone)]
pub struct Current {
    /// The ledger.
    pub snapshot: Arc<Snapshot>,
    /// Its files by their paths.
    pub files: Arc<HashMap<String, FileId>>,
}

/// In which ledger a file lies: the folder that holds its practice; else the editor's own folder
/// around it; else the folder that it lies in. Nothing where that would be a whole home or disk:
/// the file is then a ledger of its own.
pub fn root_of(file: &Path, folders: &[PathBuf]) -> Option<PathBuf> {
    let folder = file.parent()?;
    let there = folder.ancestors().find(|above| above.is_dir())?;
    if let Some(found) = workspace::find(there)
        && found.root.join("practice.scruple").is_file()
    {
        return Some(found.root);
    }
    if let Some(own) = folders.iter().find(|own| folder.starts_with(own)) {
        return Some(own.clone());
    }
    let home = std::env::var_os("HOME").map(PathBuf::from);
    let is_large = folder.parent().is_none() || home.is_some_and(|home| home.starts_with(folder));
    (!is_large).then(|| folder.to_owned())
}

/// A path below a ledger's folder, as people see it.
pub fn shown(root: &Path, path: &Path) -> Option<String> {
    let below = path.strip_prefix(root).ok()?;
    let parts: Vec<_> = below.iter().map(|part| part.to_string_lossy()).collect();
    (!parts.is_empty()).then(|| parts.join("/"))
}

impl Ledger {
    /// The ledger in a folder, or one for a text without a place.
    pub fn new(root: Option<PathBuf>) -> Self {
        let base = root.as_deref().map(address::of_path).unwrap_or_default();
        Self {
            root,
            base: base.trim_end_matches('/').to_owned(),
            names: HashMap::new(),
            on_disk: Vec::new(),
            reader: Reader::default(),
            current: None,
            stale: Vec::new(),
            told: BTreeMap::new(),
            is_untold: true,
        }
    }

    /// Goes by the way in which an editor writes the address of one of its files.
    pub fn goes_by(&mut self, uri: &str, shown: &str) {
        if let Some(base) = uri
            .strip_suffix(&address::encoded(shown))
            .and_then(|base| base.strip_suffix('/'))
        {
            base.clone_into(&mut self.base);
        }
        self.names.insert(shown.to_owned(), uri.to_owned());
    }

    /// The address of one of its files.
    pub fn uri(&self, shown: &str) -> String {
        match self.names.get(shown) {
            Some(uri) => uri.clone(),
            None => format!("{}/{}", self.base, address::encoded(shown)),
        }
    }

    /// Looks at the disk; whether anything is another than it was.
    pub fn look(&mut self) -> bool {
        let Some(root) = &self.root else { return false };
        let now = workspace::contents(root);
        if now == self.on_disk {
            return false;
        }
        self.on_disk = now;
        self.changed();
        true
    }

    /// Forgets what was read, for a text is another now.
    pub fn changed(&mut self) {
        self.current = None;
        self.is_untold = true;
    }

    /// The ledger as it is now, with the texts that an editor holds over those on the disk.
    pub fn current(&mut self, documents: &BTreeMap<String, Document>, key: &str) -> Current {
        if let Some(current) = &self.current {
            return current.clone();
        }
        let mut files = self.on_disk.clone();
        let own = documents.values().filter_map(|document| match &document.place {
            Some((ledger, shown)) if ledger == key => Some((shown, document)),
            _ => None,
        });
        for (shown, document) in own {
            let content: Content = Ok(document.text.clone().into_bytes());
            if let Some((_, on_disk)) = files.iter_mut().find(|(path, _)| path == shown) {
                *on_disk = content;
            } else {
                let at = files.partition_point(|(path, _)| Path::new(path) < Path::new(shown));
                files.insert(at, (shown.clone(), content));
            }
        }
        let is_saved = files == self.on_disk;
        let snapshot = self.reader.read(files);
        if is_saved {
            self.find_stale(&snapshot);
        }
        let all = snapshot.sources.iter();
        let current = Current {
            files: Arc::new(
                all.map(|(file, source)| (source.path.to_string(), file))
                    .collect(),
            ),
            snapshot,
        };
        self.current = Some(current.clone());
        current
    }

    /// Holds the texts with totals against what the ledger comes to, as `check` does; while a text is
    /// not saved that says nothing, so it is done for saved ones only.
    fn find_stale(&mut self, snapshot: &Snapshot) {
        let totals = match &self.root {
            Some(root) => workspace::read_totals(root),
            None => Vec::new(),
        };
        let found = if totals.is_empty() {
            Vec::new()
        } else {
            totals::stale(snapshot, &totals)
        };
        self.stale = found
            .into_iter()
            .map(|finding| (snapshot.sources.path(finding.span).to_owned(), finding))
            .collect();
    }

    /// The findings of a file in their order, with what is stale beside it.
    pub fn findings<'s>(&self, snapshot: &'s Snapshot, path: &str) -> Cow<'s, [Diagnostic]> {
        let found = findings::of_file(snapshot, path);
        let mut stale = self.stale.iter().filter(|(own, _)| own == path).peekable();
        let Some(file) = stale.peek().and_then(|_| self.file(path)) else {
            return Cow::Borrowed(found);
        };
        let mut all = found.to_vec();
        all.extend(stale.map(|(_, finding)| Diagnostic {
            span: Span::new(file, 0, 0),
            ..finding.clone()
        }));
        diagnostic::sort(&mut all, &snapshot.sources);
        Cow::Owned(all)
    }

    fn file(&self, path: &str) -> Option<FileId> {
        self.current.as_ref()?.files.get(path).copied()
    }
}
