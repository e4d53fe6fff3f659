//! Binds names to what they mean: exactly first, then with the last word in singular or plural.

use std::collections::{HashMap, HashSet};

use crate::naming::{folded, nearest, singulars};

/// What a name means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Bound {
    /// A herb or material, by its place in the ledger.
    Substance(usize),
    /// A formula, by its place in the ledger.
    Formula(usize),
    /// Nothing that is declared; a finding has been made.
    Unknown,
}

/// What looking a name up gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Looked {
    /// One thing.
    Found(Bound),
    /// Several things differ from it in singular and plural only.
    Several(Vec<Bound>),
    /// Nothing.
    Nothing,
    /// A name that was declared for two things: it means neither, and has been reported.
    Clash,
}

/// All names that an ingredient may have.
#[derive(Debug, Clone, Default)]
pub struct Names {
    exact: HashMap<String, Bound>,
    singular: HashMap<String, Vec<Bound>>,
    written: Vec<String>,
    clashes: HashSet<String>,
}

impl Names {
    /// Declares a name; gives what has it already.
    pub fn declare(&mut self, name: &str, bound: Bound) -> Option<Bound> {
        let key = folded(name);
        if let Some(other) = self.exact.get(&key) {
            if *other != bound {
                self.clashes.insert(key);
            }
            return Some(*other);
        }
        for form in singulars(&key) {
            let bounds = self.singular.entry(form).or_default();
            if !bounds.contains(&bound) {
                bounds.push(bound);
            }
        }
        self.exact.insert(key, bound);
        self.written.push(name.to_owned());
        None
    }

    /// Looks a name up.
    pub fn look(&self, name: &str) -> Looked {
        let key = folded(name);
        if self.clashes.contains(&key) {
            return Looked::Clash;
        }
        if let Some(bound) = self.exact.get(&key) {
            return Looked::Found(*bound);
        }
        let mut found: Vec<Bound> = Vec::new();
        for form in singulars(&key) {
            for bound in self.singular.get(&form).into_iter().flatten() {
                if !found.contains(bound) {
                    found.push(*bound);
                }
            }
        }
        match found.as_slice() {
            [] => Looked::Nothing,
            [one] => Looked::Found(*one),
            _ => Looked::Several(found),
        }
    }

    /// Every name, folded, with what it means, in no order.
    pub fn all(&self) -> impl Iterator<Item = (&str, Bound)> {
        self.exact.iter().map(|(name, bound)| (name.as_str(), *bound))
    }

    /// The declared name nearest to a slip of the pen.
    pub fn nearest(&self, name: &str) -> Option<&str> {
        nearest(name, self.written.iter().map(String::as_str))
    }
}
