//! Finds the files of a ledger, reads them, and takes them through every stage.

mod content;
mod desk;
mod disk;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::book::DayBook;
use crate::check;
use crate::compute::within::Leanings;
use crate::compute::{self, Figures};
use crate::diagnostic::{self, Diagnostic};
use crate::model::{self, Binding, Faults, Ledger};
use crate::source::{Sources, Span};
use crate::syntax;
use crate::syntax::tree::Tree;

pub use content::{Content, LARGEST_FILE, add};
pub use desk::Desk;
pub use disk::{
    TOTALS_ENDING, append, find, is_ledger_file, is_of_a_ledger, length, make_executable, read_files,
    read_one, read_totals, real, remove, remove_made, replace, this_program, visible_entries, write_made,
    write_new,
};

/// A ledger as it is at one moment: its text, what the text says, what it comes to, what is wrong.
#[derive(Debug, Default)]
pub struct Snapshot {
    /// The files.
    pub sources: Sources,
    /// Their entries.
    pub trees: Vec<Arc<Tree>>,
    /// Names bound.
    pub ledger: Ledger,
    /// What has errors, and so no figures.
    pub faults: Faults,
    /// Figures.
    pub figures: Figures,
    /// What lies on the shelves, as the dispensary's book says.
    pub book: DayBook,
    /// Everything found, in the order of files and lines.
    pub diagnostics: Vec<Diagnostic>,
    /// What was found before the checks.
    before_checks: Vec<Diagnostic>,
    /// Findings that are not shown because another says the same for all.
    repeated: Vec<Diagnostic>,
    /// What the herbs and formulas were bound by.
    binding: Option<Binding>,
    marks: Vec<Mark>,
}

/// Stands for a formula with all that it leans on as they are: of two snapshots that were taken one
/// after the other from one desk, equal marks mean that nothing in them differs.
#[derive(Debug, Clone, Default)]
pub struct Mark(Arc<Leanings>);

impl PartialEq for Mark {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

impl Snapshot {
    /// Takes texts, each with its path in the ledger, through every stage.
    pub fn of(files: impl IntoIterator<Item = (String, Arc<str>)>) -> Self {
        Self::of_contents(
            files
                .into_iter()
                .map(|(path, text)| (path, Ok(text.as_bytes().to_vec()))),
        )
    }

    /// Takes contents, each with its path in the ledger, through every stage; what can't be read
    /// becomes a finding.
    pub fn of_contents(files: impl IntoIterator<Item = (String, Content)>) -> Self {
        Desk::default().snapshot(files)
    }

    /// Reads the ledger in a folder, or in one file.
    pub fn read(root: &Path) -> Self {
        Self::of_contents(contents(root))
    }

    /// Reads the ledger in a folder, or in one file, as far as its figures: what is only likely to
    /// be a mistake is not looked for. For what looks at each formula by itself.
    pub fn read_figures(root: &Path) -> Self {
        let mut snapshot = Desk::default().bound(contents(root));
        snapshot.figure(|_| true);
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

    /// Reads the ledger in a folder with one file laid over it: those files of the ledger that
    /// have entries in common with it are left out.
    pub fn read_with(root: &Path, file: &Path) -> Self {
        let entries = |tree: &Tree| -> Vec<(syntax::tree::Kind, String)> {
            tree.entries
                .iter()
                .filter_map(|entry| Some((entry.kind, crate::naming::folded(&entry.name.as_ref()?.text))))
                .collect()
        };
        let mut desk = Desk::default();
        let mut of = |(path, content): &(String, Content)| {
            let (tree, _) = desk.tree(path, content);
            tree.map_or_else(Vec::new, |tree| entries(&tree))
        };
        let alone = contents(file);
        let own: Vec<_> = alone.iter().flat_map(&mut of).collect();
        // What can't be read stays, so that it is told; it stands in the place of a file of its name.
        let in_place = |path: &String| own.is_empty() && alone.iter().any(|(other, _)| other == path);
        let mut kept: Vec<(String, Content)> = contents(root)
            .into_iter()
            .filter(|one| !of(one).iter().any(|entry| own.contains(entry)) && !in_place(&one.0))
            .collect();
        kept.extend(alone);
        Self::of_contents(kept)
    }

    /// Looks at every formula for this person, instead of for those they are made for.
    pub fn look_for(&mut self, person: &model::Person) {
        self.diagnostics.truncate(0);
        self.diagnostics.extend_from_slice(&self.before_checks);
        self.diagnostics.extend(check::run(
            &self.ledger,
            &self.figures,
            &self.faults,
            &self.book,
            Some(person),
        ));
        self.settle();
    }

    /// Reckons the formulas that are wanted, and what they take or adapt.
    pub(crate) fn figure(&mut self, is_wanted: impl Fn(usize) -> bool) {
        let (figures, found) = compute::some(&self.ledger, &self.faults, is_wanted);
        self.figures = figures;
        self.diagnostics.extend(found);
        self.settle();
    }

    /// Puts everything that was found in order, after what the checks found.
    fn look_over<'a>(&mut self, checked: impl Iterator<Item = &'a Diagnostic>) {
        self.before_checks.clone_from(&self.diagnostics);
        self.diagnostics.extend(checked.cloned());
        self.settle();
        self.offer_reference();
    }

    fn settle(&mut self) {
        diagnostic::sort(&mut self.diagnostics, &self.sources);
        self.repeated = diagnostic::take_repetitions(&mut self.diagnostics);
    }

    /// What was found in an entry, also where it is shown in another one only.
    pub fn found_in(&self, entry: Span) -> impl Iterator<Item = &Diagnostic> {
        let path = self.sources.path(entry);
        let place = |one: &Diagnostic| (self.sources.path(one.span), one.span.start);
        let first = self
            .diagnostics
            .partition_point(|one| place(one) < (path, entry.start));
        let shown = self
            .diagnostics
            .iter()
            .skip(first)
            .take_while(move |one| one.span.file == entry.file && one.span.start <= entry.end);
        let repeated = self.repeated.iter().filter(move |one| {
            one.span.file == entry.file && (entry.start..=entry.end).contains(&one.span.start)
        });
        shown.chain(repeated)
    }

    /// The formulas, by their places in both ledgers, that may come to something else than in another
    /// ledger; nothing where that can't be told, for they were not read one after the other.
    pub fn may_differ_from(&self, other: &Self) -> Option<Vec<usize>> {
        let (own, others) = (self.binding.as_ref()?, other.binding.as_ref()?);
        (own.declares_alike(others) && self.marks.len() == other.marks.len()).then(|| {
            let pairs = self.marks.iter().zip(&other.marks);
            pairs
                .enumerate()
                .filter(|(_, (own, others))| own != others)
                .map(|(at, _)| at)
                .collect()
        })
    }

    /// The mark of a formula; nothing where figures were not reckoned for the whole ledger.
    pub fn mark(&self, formula: usize) -> Option<&Mark> {
        self.marks.get(formula)
    }

    /// The errors that keep a formula from having figures: its own, and those of what it takes
    /// or adapts; all errors of the ledger, should none of them lie there.
    pub fn faults_of(&self, formula: usize) -> Vec<&Diagnostic> {
        let wanted = self.ledger.all_needs(formula);
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

    /// The files in which an error lies that withholds figures, by their paths.
    pub fn broken(&self) -> BTreeSet<String> {
        self.before_checks
            .iter()
            .filter(|one| one.severity == diagnostic::Severity::Error)
            .map(|one| self.sources.path(one.span).to_owned())
            .collect()
    }

    /// The formula with this name, in any spelling that binds.
    pub fn formula(&self, name: &str) -> Option<usize> {
        match self.ledger.names.look(name) {
            model::Looked::Found(model::Bound::Formula(at)) => Some(at),
            _ => None,
        }
    }
}

/// One file of a ledger as it lies on the disk.
#[derive(Debug, Clone)]
pub struct OnDisk {
    /// Its path as people see it, below the ledger's root.
    pub shown: String,
    /// Where it lies.
    pub path: PathBuf,
    /// Its bytes, or why they can't be had.
    pub content: Content,
}

/// The files of a ledger, each with its path below the ledger's root.
pub fn contents(root: &Path) -> Vec<(String, Content)> {
    read_files(root, root)
        .into_iter()
        .map(|file| (file.shown, file.content))
        .collect()
}

/// The folder that the paths of a ledger's files begin in: its own, or the one that its one file lies in.
pub fn home(root: &Path) -> &Path {
    if root.is_file() {
        root.parent().unwrap_or(root)
    } else {
        root
    }
}

/// Where a ledger was found.
#[derive(Debug, Clone)]
pub struct Found {
    /// The folder, or the one file.
    pub root: PathBuf,
}
