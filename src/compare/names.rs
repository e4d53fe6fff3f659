//! Finds out which herb or formula of the earlier ledger is there under another name in the later one.

use std::collections::{BTreeMap, BTreeSet};

use super::portrait::Portrait;
use crate::model::{Bound, Looked, Substance};
use crate::naming::folded;
use crate::workspace::Snapshot;

/// What was called one name and is called another now: each former name, folded, with the name of today.
#[derive(Debug, Clone, Default)]
pub struct NewNames(BTreeMap<String, String>);

impl NewNames {
    /// The herbs and materials that were renamed and still answer to their former name.
    ///
    /// Somebody who writes `herb peppermint` with `also mint`, where there was a herb mint, says that
    /// the two are one. Where there was a peppermint already, or two herbs became one, nothing is taken
    /// for the same.
    pub fn of_substances(before: &Snapshot, after: &Snapshot) -> Self {
        let declared = |snapshot: &Snapshot| -> BTreeSet<String> {
            let all = snapshot.ledger.substances.iter();
            all.filter(|one| one.span.is_some())
                .map(|one| folded(&one.name))
                .collect()
        };
        let (was, is) = (declared(before), declared(after));
        let now_called = |old: &Substance| {
            let Looked::Found(Bound::Substance(at)) = after.ledger.names.look(&old.name) else {
                return None;
            };
            let new = after.ledger.substances.get(at)?;
            let is_new = new.kind == old.kind && !was.contains(&folded(&new.name));
            is_new.then(|| new.name.clone())
        };
        let mut found: BTreeMap<String, String> = BTreeMap::new();
        for old in before.ledger.substances.iter().filter(|one| one.span.is_some()) {
            let former = folded(&old.name);
            if !is.contains(&former)
                && let Some(name) = now_called(old)
            {
                found.insert(former, name);
            }
        }
        let mut times: BTreeMap<String, usize> = BTreeMap::new();
        for name in found.values() {
            let count = times.entry(folded(name)).or_default();
            *count = count.saturating_add(1);
        }
        found.retain(|_, name| times.get(&folded(name)) == Some(&1));
        Self(found)
    }

    /// Notes a new name.
    pub fn add(&mut self, former: &str, name: &str) {
        self.0.insert(folded(former), name.to_owned());
    }

    /// The name of today.
    pub fn of<'a>(&'a self, name: &'a str) -> &'a str {
        self.0.get(&folded(name)).map_or(name, String::as_str)
    }

    /// A portrait in which everything bears its name of today.
    pub fn applied(&self, portrait: &Portrait) -> Portrait {
        let mut portrait = portrait.clone();
        if self.0.is_empty() {
            return portrait;
        }
        let rename = |name: &mut String| {
            if let Some(new) = self.0.get(&folded(name)) {
                name.clone_from(new);
            }
        };
        portrait.items.iter_mut().for_each(|one| rename(&mut one.name));
        portrait.within.iter_mut().for_each(|one| rename(&mut one.herb));
        let dosed = portrait.intake.iter_mut();
        dosed
            .flat_map(|dosed| &mut dosed.herbs)
            .for_each(|one| rename(&mut one.herb));
        let cautions = std::mem::take(&mut portrait.cautions).into_iter();
        portrait.cautions = cautions
            .map(|mut one| {
                rename(&mut one.herb);
                one
            })
            .collect();
        portrait
    }
}
