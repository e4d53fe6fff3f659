//! Keeps what was read and reckoned, so that a ledger that changes is looked at again only where it changed.

use std::collections::HashMap;
use std::sync::Arc;

use super::content::{self, Content};
use super::{Mark, Snapshot, syntax};
use crate::book::DayBook;
use crate::check;
use crate::compute::within::leanings;
use crate::compute::{self, Earlier, Reckoned};
use crate::diagnostic::{Diagnostic, Severity};
use crate::model::{Binding, Faults};
use crate::parallel;
use crate::source::{FileId, Sources};
use crate::syntax::tree::Tree;

/// Files as they were read, and what the last of the ledgers made of them came to: for a ledger that is
/// read again and again, in a watch, in an editor or through its history.
///
/// A snapshot taken from here equals one that is read from nothing.
#[derive(Debug, Default)]
pub struct Desk {
    sources: Sources,
    /// By path: its contents, the newest last.
    read: HashMap<String, Vec<(Content, Read)>>,
    binding: Option<Binding>,
    last: Option<Last>,
}

#[derive(Debug, Clone)]
struct Read {
    file: FileId,
    tree: Option<Arc<Tree>>,
    found: Vec<Diagnostic>,
}

/// What the last whole snapshot came to.
#[derive(Debug)]
struct Last {
    binding: Binding,
    faults: Faults,
    reckoned: Reckoned,
    /// For each formula.
    marks: Vec<Mark>,
    /// What the checks found in each formula.
    of_formulas: Vec<Arc<[Diagnostic]>>,
    /// What they found elsewhere.
    of_the_ledger: Arc<[Diagnostic]>,
}

impl Desk {
    /// Takes contents, each with its path, as far as their trees and names: without figures.
    pub fn bound(&mut self, files: impl IntoIterator<Item = (String, Content)>) -> Snapshot {
        let files: Vec<(String, Content)> = files.into_iter().collect();
        self.open_all(&files);
        let mut snapshot = Snapshot::default();
        let mut kept = Vec::new();
        for (path, content) in &files {
            let Some(read) = self.known(path, content) else {
                continue;
            };
            kept.push(read.file);
            snapshot.trees.extend(read.tree.clone());
            snapshot.diagnostics.extend(read.found.iter().cloned());
        }
        snapshot.sources = self.sources.only(&kept);
        let binding = Binding::of(&snapshot.trees, self.binding.as_ref());
        snapshot.diagnostics.extend(binding.found().cloned());
        snapshot.faults = Faults::of(&binding.ledger, snapshot.diagnostics.iter());
        snapshot.ledger = binding.ledger.clone();
        self.binding = Some(binding);
        snapshot
    }

    /// Takes contents, each with its path in the ledger, through every stage.
    pub fn snapshot(&mut self, files: impl IntoIterator<Item = (String, Content)>) -> Snapshot {
        let mut snapshot = self.bound(files);
        let Some(binding) = self.binding.clone() else {
            return snapshot;
        };
        let last = self.last.take();
        let same = Same::of(&binding, &snapshot.faults, last.as_ref());
        let is_kept = |at: usize| same.is_kept(at);
        let reckoned = compute::reckon(
            &snapshot.ledger,
            &snapshot.faults,
            |_| true,
            last.as_ref().map(|last| Earlier {
                ledger: &last.binding.ledger,
                reckoned: &last.reckoned,
                is_kept: &is_kept,
            }),
        );
        snapshot.figures = reckoned.figures.clone();
        snapshot.diagnostics.extend(reckoned.found().cloned());
        let last = Last::looked_over(binding, reckoned, &snapshot.faults, last, &same);
        snapshot.marks.clone_from(&last.marks);
        snapshot.binding = Some(last.binding.clone());
        let (ledger, figures) = (&snapshot.ledger, &snapshot.figures);
        snapshot.book = DayBook::of(ledger, &snapshot.faults, figures);
        let of_the_book = check::of_the_book(ledger, figures, &snapshot.faults, &snapshot.book);
        let of_formulas = last.of_formulas.iter().flat_map(|found| found.iter());
        snapshot.look_over(last.of_the_ledger.iter().chain(&of_the_book).chain(of_formulas));
        self.last = Some(last);
        snapshot
    }

    /// The tree of a file, if its text can be read, and whether nothing in it was refused.
    pub fn tree(&mut self, path: &str, content: &Content) -> (Option<Arc<Tree>>, bool) {
        self.open_all(&[(path.to_owned(), content.clone())]);
        let Some(read) = self.known(path, content) else {
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
        self.read.retain(|_, versions| {
            versions.retain(|(_, read)| snapshot.sources.get(read.file).is_some());
            !versions.is_empty()
        });
        self.sources = snapshot.sources.clone();
    }

    fn known(&self, path: &str, content: &Content) -> Option<&Read> {
        let versions = self.read.get(path)?;
        let same = versions.iter().rev().find(|(known, _)| known == content);
        same.map(|(_, read)| read)
    }

    /// Reads what was not read yet.
    fn open_all(&mut self, files: &[(String, Content)]) {
        let mut texts = Vec::new();
        for (path, content) in files {
            if self.known(path, content).is_some() {
                continue;
            }
            let (file, text) = content::add(&mut self.sources, path, content.clone());
            let mut read = Read {
                file,
                tree: None,
                found: Vec::new(),
            };
            match text {
                Ok(text) => texts.push((path, text, file)),
                Err(finding) => read.found.push(finding),
            }
            self.read
                .entry(path.clone())
                .or_default()
                .push((content.clone(), read));
        }
        let trees = parallel::map(&texts, |(_, text, file)| syntax::parse(*file, text));
        for ((path, _, file), (tree, found)) in texts.into_iter().zip(trees) {
            let versions = self.read.get_mut(path).into_iter().flatten();
            if let Some((_, read)) = versions.rev().find(|(_, read)| read.file == file) {
                read.tree = Some(Arc::new(tree));
                read.found = found;
            }
        }
    }
}

/// What of the last snapshot is still right.
struct Same {
    /// Whether the formula with this place and all that it leans on are the same.
    formulas: Vec<bool>,
    /// Whether all herbs and materials are.
    all_substances: bool,
}

impl Same {
    fn of(binding: &Binding, faults: &Faults, last: Option<&Last>) -> Self {
        let Some(last) = last
            .filter(|last| binding.declares_alike(&last.binding) && faults.practice == last.faults.practice)
        else {
            return Self {
                formulas: Vec::new(),
                all_substances: false,
            };
        };
        let (now, before) = (&binding.ledger, &last.binding.ledger);
        let substances = unchanged((&now.substances, &before.substances), |at| {
            faults.substances.contains(&at) == last.faults.substances.contains(&at)
        });
        let own = unchanged((&now.formulas, &before.formulas), |at| {
            faults.formulas.contains(&at) == last.faults.formulas.contains(&at)
        });
        let all = |places: &[usize], same: &[bool]| {
            places.iter().all(|at| same.get(*at).copied().unwrap_or_default())
        };
        Self {
            formulas: last
                .marks
                .iter()
                .map(|Mark(leanings)| all(&leanings.formulas, &own) && all(&leanings.substances, &substances))
                .collect(),
            all_substances: substances.iter().all(|same| *same),
        }
    }

    fn is_kept(&self, formula: usize) -> bool {
        self.formulas.get(formula).copied().unwrap_or_default()
    }
}

fn unchanged<T>((now, before): (&[Arc<T>], &[Arc<T>]), same_faults: impl Fn(usize) -> bool) -> Vec<bool> {
    now.iter()
        .zip(before)
        .enumerate()
        .map(|(at, (now, before))| Arc::ptr_eq(now, before) && same_faults(at))
        .collect()
}

impl Last {
    /// Runs the checks where something changed.
    fn looked_over(
        binding: Binding,
        reckoned: Reckoned,
        faults: &Faults,
        before: Option<Self>,
        same: &Same,
    ) -> Self {
        let (ledger, figures) = (&binding.ledger, &reckoned.figures);
        // What is drunk or drawn out with alcohol and has no entry of its own leans on that of spirit.
        let before = before.filter(|before| figures.alcohol_is_said_alike(&before.reckoned.figures));
        let of_the_ledger = match &before {
            Some(before) if same.all_substances => Arc::clone(&before.of_the_ledger),
            _ => check::of_the_ledger(ledger, figures, faults).into(),
        };
        let is_comparable = before.is_some();
        let mut marks: Vec<Mark> = Vec::new();
        let mut of_formulas: Vec<Arc<[Diagnostic]>> = Vec::new();
        if let Some(before) = before {
            marks = before.marks;
            of_formulas = before.of_formulas;
        }
        marks.resize_with(ledger.formulas.len(), Mark::default);
        of_formulas.resize_with(ledger.formulas.len(), Arc::default);
        let anew: Vec<usize> = (0..ledger.formulas.len())
            .filter(|at| !(is_comparable && same.is_kept(*at)))
            .collect();
        let looked = parallel::map(&anew, |at| {
            (
                Mark(Arc::new(leanings(ledger, figures, *at))),
                check::of_a_formula(ledger, figures, faults, None, *at),
            )
        });
        for (at, (own, found)) in anew.into_iter().zip(looked) {
            if let (Some(mark), Some(slot)) = (marks.get_mut(at), of_formulas.get_mut(at)) {
                *mark = own;
                *slot = found.into();
            }
        }
        Self {
            faults: faults.clone(),
            marks,
            of_formulas,
            of_the_ledger,
            binding,
            reckoned,
        }
    }
}
