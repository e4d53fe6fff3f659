//! Finds the files of a ledger, reads them, and takes them through every stage.

mod disk;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::check;
use crate::compute::{self, Figures};
use crate::diagnostic::{self, Diagnostic};
use crate::model::{self, Faults, Ledger};
use crate::source::{FileId, Sources};
use crate::syntax;
use crate::syntax::tree::Tree;

pub use disk::{LARGEST_FILE, append, find, is_ledger_file, read_files, replace, visible_entries, write_new};

/// A ledger as it is at one moment: its text, what the text says, what it comes to, what is wrong.
#[derive(Debug, Default)]
pub struct Snapshot {
    /// The files.
    pub sources: Sources,
    /// Their entries.
    pub trees: Vec<Tree>,
    /// Names bound.
    pub ledger: Ledger,
    /// What has errors, and so no figures.
    pub faults: Faults,
    /// Figures.
    pub figures: Figures,
    /// Everything found, in the order of files and lines.
    pub diagnostics: Vec<Diagnostic>,
    /// What was found before the checks.
    before_checks: Vec<Diagnostic>,
}

impl Snapshot {
    /// Takes texts, each with its path in the ledger, through every stage.
    pub fn of(files: impl IntoIterator<Item = (String, Arc<str>)>) -> Self {
        let mut snapshot = Self::default();
        for (path, text) in files {
            let file = snapshot.sources.add(&path, Arc::clone(&text));
            snapshot.parse(file, &text);
        }
        snapshot.finish();
        snapshot.offer_reference();
        snapshot
    }

    /// A herb that is not declared and that the built-in reference knows may be adopted.
    fn offer_reference(&mut self) {
        let sources = &self.sources;
        for finding in self.diagnostics.iter_mut().chain(&mut self.before_checks) {
            if finding.code != crate::code::UNKNOWN_NAME {
                continue;
            }
            if let Some(name) = crate::reference::knows(sources.text(finding.span).trim_matches('"')) {
                let help = finding.help.take().unwrap_or_default();
                finding.help = Some(format!(
                    "{help}; the built-in reference knows it: `scruple adopt \"{name}\"` copies its entry into the ledger"
                ));
            }
        }
    }

    /// Reads the ledger in a folder, or in one file.
    pub fn read(root: &Path) -> Self {
        let mut files = Files::default();
        disk::read_files(root, root, &mut files);
        let mut snapshot = Self {
            sources: files.sources,
            diagnostics: files.findings,
            ..Self::default()
        };
        for one in &files.all {
            if let Some(text) = &one.text {
                snapshot.parse(one.file, text);
            }
        }
        snapshot.finish();
        snapshot.offer_reference();
        snapshot
    }

    /// Looks at every formula for this person, instead of for those they are made for.
    pub fn look_for(&mut self, person: &model::Person) {
        self.diagnostics.truncate(0);
        self.diagnostics.extend_from_slice(&self.before_checks);
        self.diagnostics.extend(check::run(
            &self.ledger,
            &self.figures,
            &self.faults,
            Some(person),
        ));
        diagnostic::sort(&mut self.diagnostics, &self.sources);
    }

    fn parse(&mut self, file: FileId, text: &str) {
        let (tree, found) = syntax::parse(file, text);
        self.trees.push(tree);
        self.diagnostics.extend(found);
    }

    fn finish(&mut self) {
        let (ledger, found) = model::build(&self.trees);
        self.ledger = ledger;
        self.diagnostics.extend(found);
        self.faults = Faults::of(&self.ledger, &self.diagnostics);
        let (figures, found) = compute::all(&self.ledger, &self.faults);
        self.figures = figures;
        self.diagnostics.extend(found);
        self.before_checks.clone_from(&self.diagnostics);
        self.diagnostics
            .extend(check::run(&self.ledger, &self.figures, &self.faults, None));
        diagnostic::sort(&mut self.diagnostics, &self.sources);
    }

    /// The errors that keep a formula from having figures: its own, and those of what it takes
    /// or adapts; all errors of the ledger, should none of them lie there.
    pub fn faults_of(&self, formula: usize) -> Vec<&Diagnostic> {
        let mut wanted = vec![formula];
        let mut looked = 0;
        while let Some(at) = wanted.get(looked).copied() {
            looked += 1;
            for need in self.ledger.needs(at) {
                if !wanted.contains(&need) {
                    wanted.push(need);
                }
            }
        }
        let heads: Vec<_> = wanted
            .iter()
            .filter_map(|at| self.ledger.formulas.get(*at))
            .map(|formula| formula.head)
            .collect();
        let entries: Vec<_> = self
            .trees
            .iter()
            .flat_map(|tree| &tree.entries)
            .filter(|entry| heads.contains(&entry.head))
            .map(|entry| entry.span)
            .collect();
        let inside = |span: crate::source::Span| {
            entries
                .iter()
                .any(|entry| entry.file == span.file && entry.start <= span.start && span.start <= entry.end)
        };
        let errors = || {
            self.diagnostics
                .iter()
                .filter(|one| one.severity == diagnostic::Severity::Error)
        };
        let own: Vec<&Diagnostic> = errors()
            .filter(|one| inside(one.span) || one.related.iter().any(|(span, _)| inside(*span)))
            .collect();
        if own.is_empty() { errors().collect() } else { own }
    }

    /// The formula with this name, in any spelling that binds.
    pub fn formula(&self, name: &str) -> Option<usize> {
        match self.ledger.names.look(name) {
            model::Looked::Found(model::Bound::Formula(at)) => Some(at),
            _ => None,
        }
    }
}

/// The files of a ledger as they lie on the disk.
#[derive(Debug, Default)]
pub struct Files {
    /// Their texts, for reports.
    pub sources: Sources,
    /// All of them, in the order of names.
    pub all: Vec<OnDisk>,
    /// Why some of them can't be read.
    pub findings: Vec<Diagnostic>,
}

impl Files {
    fn add(&mut self, shown: &str, path: &Path, file: FileId, text: Option<Arc<str>>) {
        self.all.push(OnDisk {
            shown: shown.to_owned(),
            path: path.to_owned(),
            file,
            text,
        });
    }
}

/// One file.
#[derive(Debug, Clone)]
pub struct OnDisk {
    /// Its path as people see it, below the ledger's root.
    pub shown: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Its number among the sources.
    pub file: FileId,
    /// Its text; nothing where it can't be read, and a finding says why.
    pub text: Option<Arc<str>>,
}

/// Where a ledger was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The folder, or the one file.
    pub root: PathBuf,
}
