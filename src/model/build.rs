//! Puts a ledger together: first every name is declared, then every line is read; what did not change
//! since the last time is taken from there.

use std::sync::Arc;

use super::heads::{Heads, Place, declare_alike};
use super::read::Reader;
use super::{Batch, Formula, Ledger, Lot, Set, Substance, Supply};
use crate::diagnostic::Diagnostic;
use crate::parallel;
use crate::syntax::tree::{Kind, Tree};

/// What the entries of one file come to.
#[derive(Debug, Default)]
struct OfAFile {
    substances: Vec<(usize, Arc<Substance>)>,
    formulas: Vec<(usize, Arc<Formula>)>,
    lots: Vec<Arc<Lot>>,
    batches: Vec<Arc<Batch>>,
    supplies: Vec<Arc<Supply>>,
    sets: Vec<Arc<Set>>,
    found: Vec<Diagnostic>,
}

/// A ledger, and all that it takes to put it together again quickly when a file changes.
#[derive(Debug, Clone, Default)]
pub struct Binding {
    /// The ledger.
    pub ledger: Ledger,
    trees: Vec<Arc<Tree>>,
    heads: Arc<Heads>,
    files: Vec<Arc<OfAFile>>,
}

impl Binding {
    /// Binds trees; what an earlier binding holds of the same trees is taken over. The result is the
    /// same as without it.
    pub fn of(trees: &[Arc<Tree>], before: Option<&Self>) -> Self {
        let plain: Vec<&Tree> = trees.iter().map(AsRef::as_ref).collect();
        if let Some(before) = before.filter(|before| before.has_the_heads_of(trees)) {
            return before.again(trees, &plain);
        }
        let heads = Heads::of(&plain);
        let files = read_all(&heads, &plain);
        Self {
            ledger: assembled(&heads, &files),
            trees: trees.to_vec(),
            heads: Arc::new(heads),
            files,
        }
    }

    /// What was found.
    pub fn found(&self) -> impl Iterator<Item = &Diagnostic> {
        let of_files = self.files.iter().flat_map(|file| &file.found);
        self.heads.found.iter().chain(of_files)
    }

    /// Whether names, practice, sources, topics and people are the same as in another, and what is
    /// declared has the same places.
    pub fn declares_alike(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.heads, &other.heads)
    }

    fn has_the_heads_of(&self, trees: &[Arc<Tree>]) -> bool {
        trees.len() == self.trees.len()
            && trees
                .iter()
                .zip(&self.trees)
                .all(|(now, before)| Arc::ptr_eq(now, before) || declare_alike(now, before))
            && !self.points_into(&self.heads.found, trees)
    }

    /// Whether a finding points into a file that is another now.
    fn points_into(&self, found: &[Diagnostic], trees: &[Arc<Tree>]) -> bool {
        let replaced = |file| {
            let mut pairs = trees.iter().zip(&self.trees);
            pairs.any(|(now, before)| before.file == file && !Arc::ptr_eq(now, before))
        };
        found
            .iter()
            .any(|one| replaced(one.span.file) || one.related.iter().any(|(span, _)| replaced(span.file)))
    }

    /// Binds trees that declare what these declare.
    fn again(&self, trees: &[Arc<Tree>], plain: &[&Tree]) -> Self {
        let mut files = self.files.clone();
        let mut ledger = self.ledger.clone();
        let mut has_records = false;
        for (at, (now, before)) in trees.iter().zip(&self.trees).enumerate() {
            let Some(file) = files.get_mut(at) else { continue };
            if Arc::ptr_eq(now, before) && !self.points_into(&file.found, trees) {
                continue;
            }
            let read = read_one(&self.heads, plain, at);
            has_records |= read.has_records() || file.has_records();
            put(&mut ledger, &read);
            *file = Arc::new(read);
        }
        if has_records {
            put_records(&mut ledger, &files);
        }
        Self {
            ledger,
            trees: trees.to_vec(),
            heads: Arc::clone(&self.heads),
            files,
        }
    }
}

/// Binds trees once.
pub(super) fn build(trees: &[&Tree]) -> (Ledger, Vec<Diagnostic>) {
    let heads = Heads::of(trees);
    let files = read_all(&heads, trees);
    let ledger = assembled(&heads, &files);
    let mut found = heads.found;
    found.extend(files.iter().flat_map(|file| file.found.iter().cloned()));
    (ledger, found)
}

fn read_all(heads: &Heads, trees: &[&Tree]) -> Vec<Arc<OfAFile>> {
    let all: Vec<usize> = (0..trees.len()).collect();
    parallel::map(&all, |at| Arc::new(read_one(heads, trees, *at)))
}

fn read_one(heads: &Heads, trees: &[&Tree], at: usize) -> OfAFile {
    let mut reader = Reader::new(heads, trees);
    let mut file = OfAFile::default();
    let entries = trees.get(at).into_iter().flat_map(|tree| &tree.entries);
    for (entry, place) in entries.zip(heads.places.get(at).into_iter().flatten()) {
        let Some(name) = &entry.name else { continue };
        match *place {
            Place::Substance(place, is_free) => {
                let mut substance = Substance {
                    span: Some(name.span),
                    entry: Some(entry.span),
                    ..Substance::empty(entry.kind, &name.text)
                };
                if is_free {
                    reader.read_substance(&mut substance, entry);
                }
                file.substances.push((place, Arc::new(substance)));
            }
            Place::Formula(place, is_free) => {
                // Should the name be taken already, this stays: an entry that is left out.
                let mut formula = Formula {
                    refused: !is_free,
                    ..Formula::empty(name.clone(), entry)
                };
                if is_free {
                    reader.read_formula(&mut formula, entry);
                }
                file.formulas.push((place, Arc::new(formula)));
            }
            Place::Record => match entry.kind {
                Kind::Batch => file.batches.extend(reader.read_batch(entry).map(Arc::new)),
                Kind::Lot => file.lots.extend(reader.read_lot(entry).map(Arc::new)),
                Kind::Supply => file.supplies.extend(reader.read_supply(entry).map(Arc::new)),
                _ => file.sets.extend(reader.read_set(entry).map(Arc::new)),
            },
            Place::Read => {}
        }
    }
    file.found = reader.diagnostics;
    file
}

fn assembled(heads: &Heads, files: &[Arc<OfAFile>]) -> Ledger {
    let water = Arc::new(Substance::empty(Kind::Material, "water"));
    let mut ledger = heads.ledger.clone();
    ledger.substances = vec![water; heads.substances.len()];
    let nameless = files.iter().flat_map(|file| &file.formulas);
    ledger.formulas = nameless.map(|(_, formula)| Arc::clone(formula)).collect();
    for file in files {
        put(&mut ledger, file);
    }
    put_records(&mut ledger, files);
    ledger
}

fn put(ledger: &mut Ledger, file: &OfAFile) {
    for (at, substance) in &file.substances {
        ledger.look_up_topics(substance.cautions.iter().map(|caution| &caution.topic));
        if let Some(slot) = ledger.substances.get_mut(*at) {
            *slot = Arc::clone(substance);
        }
    }
    for (at, formula) in &file.formulas {
        ledger.look_up_topics(formula.accepts.iter().map(|(topic, _)| topic));
        if let Some(slot) = ledger.formulas.get_mut(*at) {
            *slot = Arc::clone(formula);
        }
    }
}

fn put_records(ledger: &mut Ledger, files: &[Arc<OfAFile>]) {
    let files = || files.iter();
    ledger.lots = files().flat_map(|file| file.lots.iter().cloned()).collect();
    ledger.batches = files().flat_map(|file| file.batches.iter().cloned()).collect();
    ledger.supplies = files().flat_map(|file| file.supplies.iter().cloned()).collect();
    ledger.sets = files().flat_map(|file| file.sets.iter().cloned()).collect();
}

impl OfAFile {
    fn has_records(&self) -> bool {
        !(self.lots.is_empty() && self.batches.is_empty() && self.supplies.is_empty() && self.sets.is_empty())
    }
}
