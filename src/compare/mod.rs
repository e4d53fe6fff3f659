//! Compares two ledgers in the trade's terms: what of each formula changed, and where the cause lies.
//!
//! Files and places don't matter, only meanings: a formula that moved to another file, was
//! tidied or got a comment is the same formula.

pub mod entries;
mod names;
pub mod portrait;

use std::collections::{BTreeMap, BTreeSet};

use crate::code;
use crate::compute::caution::substances_of;
use crate::compute::{Composition, Totals};
use crate::model::Bound;
use crate::naming::folded;
use crate::parallel;
use crate::quantity::Decimal;
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;
use entries::{EntryChange, EntryFate, Key};
use names::NewNames;
use portrait::{Cautioned, Dosed, Found, HerbDosed, Item, Portrait, Within, portrait};

/// What differs between two ledgers.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// Formulas that came, went or changed, by their names.
    pub formulas: Vec<FormulaChange>,
    /// Other entries that came, went or changed.
    pub entries: Vec<EntryChange>,
    /// How many formulas are the same.
    pub unchanged: usize,
    /// What could not be read on each side: what stands in it looks as if it were not there.
    pub unread: [Vec<String>; 2],
}

/// Something before and after; nothing where it was not there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair<T> {
    /// Before.
    pub was: Option<T>,
    /// After.
    pub is: Option<T>,
}

impl<T: PartialEq> Pair<T> {
    /// Whether both are the same.
    pub fn is_same(&self) -> bool {
        self.was == self.is
    }
}

/// What became of a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fate {
    /// It was not there before.
    Added,
    /// It is no longer there.
    LeftOut,
    /// It is there under another name, with the same herbs.
    Renamed,
    /// It is not what it was.
    Changed,
}

impl Fate {
    /// What people read.
    pub fn words(self) -> &'static str {
        match self {
            Self::Added => "added",
            Self::LeftOut => "left out",
            Self::Renamed => "renamed",
            Self::Changed => "changed",
        }
    }
}

/// Words that differ, under their label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The line word: `sign`, `infuse`, `teaspoon`.
    pub label: String,
    /// Before.
    pub was: Option<String>,
    /// After.
    pub is: Option<String>,
}

/// What changed in one formula.
#[derive(Debug, Clone)]
pub struct FormulaChange {
    /// Its name now, or the last one that it had.
    pub name: String,
    /// The name that it had before, if that was another.
    pub former_name: Option<String>,
    /// What became of it.
    pub fate: Fate,
    /// Every ingredient, before and after, in the order written now, then those left out.
    pub items: Vec<Pair<Item>>,
    /// What of each herb is in it through the formulas that it takes.
    pub within: Vec<Pair<Within>>,
    /// What all of it comes to, where figures are given.
    pub totals: Pair<Totals>,
    /// What a person takes.
    pub intake: Pair<Dosed>,
    /// What a person takes of each herb.
    pub herbs: Vec<Pair<HerbDosed>>,
    /// Cautions that came.
    pub cautions_come: Vec<Cautioned>,
    /// Cautions that went.
    pub cautions_gone: Vec<Cautioned>,
    /// Findings that came.
    pub findings_come: Vec<Found>,
    /// Findings that went.
    pub findings_gone: Vec<Found>,
    /// Preparation, directions and so on that differ.
    pub words: Vec<Word>,
    /// Whether it takes the same in another order: the bench may go by it.
    pub order_differs: bool,
    /// Whether an error withholds the figures, before and now: then what is in it is known only as far
    /// as its lines are understood.
    pub is_withheld: [bool; 2],
    /// Whether its own lines say something else than before.
    pub says_otherwise: bool,
    /// Changed entries that it leans on, by their place in [`Comparison::entries`]; and changed
    /// formulas that it takes or adapts, by name.
    pub causes: Causes,
}

/// Where a change comes from, beside a formula's own lines.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Causes {
    /// Places in [`Comparison::entries`].
    pub entries: Vec<usize>,
    /// Names of formulas that it takes or adapts, and that changed.
    pub formulas: Vec<String>,
}

impl FormulaChange {
    /// Whether any amount differs.
    pub fn amounts_differ(&self) -> bool {
        self.items.iter().any(|pair| !pair.is_same()) || !self.totals.is_same()
    }

    /// Whether anything differs that somebody would make, take or be told otherwise: not only what
    /// `check` says about it.
    pub fn is_more_than_findings(&self) -> bool {
        self.fate != Fate::Changed
            || self.amounts_differ()
            || self.doses_differ()
            || self.within.iter().any(|pair| !pair.is_same())
            || !self.cautions_come.is_empty()
            || !self.cautions_gone.is_empty()
            || !self.words.is_empty()
            || self.order_differs
    }

    /// By how many grams an ingredient differs, where both sides are known in grams; what is not in
    /// it counts as nothing.
    pub fn grams_by(&self, pair: &Pair<Item>) -> Option<Decimal> {
        let grams = |item: &Option<Item>, is_withheld: bool| match item {
            None if is_withheld => None,
            None => Some(Decimal::ZERO),
            Some(item) => item.amounts.grams.map(|grams| grams.nominal),
        };
        let [was, is] = self.is_withheld;
        grams(&pair.is, is)?.checked_sub(grams(&pair.was, was)?)
    }

    /// Whether what a person takes differs.
    pub fn doses_differ(&self) -> bool {
        !self.intake.is_same()
    }
}

/// Compares two ledgers.
pub fn compare(before: &Snapshot, after: &Snapshot) -> Comparison {
    // Of two ledgers that were read one after the other it is known which formulas are the very same.
    let narrowed = after.may_differ_from(before);
    let mut names = match narrowed {
        Some(_) => NewNames::default(),
        None => NewNames::of_substances(before, after),
    };
    let mut was = portraits(before, narrowed.as_deref());
    for one in &mut was {
        one.portrait = names.applied(&one.portrait);
    }
    let is = portraits(after, narrowed.as_deref());
    let mut comparison = Comparison {
        unchanged: narrowed.map_or(0, |places| {
            after.ledger.formulas.len().saturating_sub(places.len())
        }),
        entries: entries::changed(before, after, &names),
        unread: [unread(before), unread(after)],
        ..Comparison::default()
    };
    let pairs = same_formulas(&was, &is);
    for (old, new) in &pairs {
        if let (Some(old), Some(new)) = (old, new)
            && old.key.0 != new.key.0
        {
            names.add(&old.portrait.name, &new.portrait.name);
        }
    }
    // By name, and of several with one name by their order: where each change stands in the later ledger.
    let mut places: Vec<Option<usize>> = Vec::new();
    for (old, new) in pairs {
        let renamed = old.map(|old| names.applied(&old.portrait));
        match change(renamed.as_ref(), new.map(|new| &new.portrait)) {
            Some(mut change) => {
                if let Some(new) = new {
                    change.says_otherwise = old.is_none_or(|old| old.own_words != new.own_words);
                    change.causes.entries = leaned_on(after, new.place, &comparison.entries);
                }
                places.push(new.map(|new| new.place));
                comparison.formulas.push(change);
            }
            None => comparison.unchanged = comparison.unchanged.saturating_add(1),
        }
    }
    let changed: BTreeSet<String> = comparison.formulas.iter().map(|one| folded(&one.name)).collect();
    for (change, place) in comparison.formulas.iter_mut().zip(places) {
        if let Some(place) = place {
            change.causes.formulas = needed(after, place)
                .into_iter()
                .filter(|name| changed.contains(&folded(name)))
                .collect();
        }
    }
    comparison
        .formulas
        .sort_by(|a, b| folded(&a.name).cmp(&folded(&b.name)).then(a.fate.cmp(&b.fate)));
    comparison
}

/// A formula before and after; nothing where it is not there.
type Same<'a> = (Option<&'a Placed>, Option<&'a Placed>);

/// Finds out which formulas are the same: those of one name; else those that took the same amounts
/// of the same herbs, which is looked for first; else those of the same herbs.
fn same_formulas<'a>(was: &'a [Placed], is: &'a [Placed]) -> Vec<Same<'a>> {
    let by_key = |list: &'a [Placed]| -> BTreeMap<&'a (String, usize), &'a Placed> {
        list.iter().map(|one| (&one.key, one)).collect()
    };
    let (old_by_key, new_by_key) = (by_key(was), by_key(is));
    let mut gone: Vec<&Placed> = was
        .iter()
        .filter(|one| !new_by_key.contains_key(&one.key))
        .collect();
    let mut pairs: Vec<Same<'a>> = is
        .iter()
        .map(|new| (old_by_key.get(&new.key).copied(), Some(new)))
        .collect();
    let likenesses: [fn(&Portrait, &Portrait) -> bool; 2] = [|old, new| old.items == new.items, same_herbs];
    for is_alike in likenesses {
        for (old, new) in &mut pairs {
            if let (None, Some(new)) = (&old, &new)
                && let Some(at) = gone.iter().position(|one| is_alike(&one.portrait, &new.portrait))
            {
                *old = Some(gone.remove(at));
            }
        }
    }
    pairs.extend(gone.into_iter().map(|old| (Some(old), None)));
    pairs
}

/// Whether two formulas take the same herbs. One herb alone makes no likeness: a tea and a tincture
/// of thyme are two things.
fn same_herbs(old: &Portrait, new: &Portrait) -> bool {
    let herbs = |portrait: &Portrait| -> BTreeSet<String> {
        portrait.items.iter().map(|item| folded(&item.name)).collect()
    };
    let own = herbs(new);
    own.len() > 1 && herbs(old) == own
}

/// What changed in one formula that is there on both sides, and the entries that it leans on and
/// that changed; nothing else of the ledgers is looked at.
pub fn of_formula(
    before: (&Snapshot, usize, &Portrait),
    after: (&Snapshot, usize, &Portrait),
) -> Option<(FormulaChange, Vec<EntryChange>)> {
    let (old_ledger, old_place, old) = before;
    let (new_ledger, new_place, new) = after;
    let names = NewNames::of_substances(old_ledger, new_ledger);
    let mut change = change(Some(&names.applied(old)), Some(new))?;
    change.says_otherwise = own_words(old_ledger, old_place) != own_words(new_ledger, new_place);
    let mut keys = leans_on(new_ledger, new_place);
    keys.extend(leans_on(old_ledger, old_place));
    let entries = entries::changed_among(old_ledger, new_ledger, &names, |key| keys.contains(key));
    change.causes.entries = leaned_on(new_ledger, new_place, &entries);
    let portrait_of = |ledger: &Snapshot, name: &str| {
        let place = ledger
            .ledger
            .formulas
            .iter()
            .position(|formula| folded(&formula.name.text) == folded(name))?;
        portrait(ledger, place)
    };
    change.causes.formulas = needed(new_ledger, new_place)
        .into_iter()
        .filter(|name| portrait_of(old_ledger, name) != portrait_of(new_ledger, name))
        .collect();
    Some((change, entries))
}

/// The formulas of a merged ledger that none of the ledgers which it joins has as they are now: nobody
/// wrote them so, even where no line of theirs was touched by both.
pub fn made_by_merging(sides: &[Snapshot], merged: &Snapshot) -> Vec<String> {
    let mut made: Option<Vec<String>> = None;
    for side in sides {
        let differs: Vec<String> = compare(side, merged)
            .formulas
            .into_iter()
            .filter(|one| one.fate != Fate::LeftOut)
            .filter(|one| one.is_more_than_findings() || !one.findings_come.is_empty())
            .map(|one| one.name)
            .collect();
        made = Some(match made {
            None => differs,
            Some(made) => made
                .into_iter()
                .filter(|name| differs.iter().any(|other| folded(other) == folded(name)))
                .collect(),
        });
    }
    made.unwrap_or_default()
}

/// The files that were left out, each with the reason.
pub fn unread(snapshot: &Snapshot) -> Vec<String> {
    snapshot
        .diagnostics
        .iter()
        .filter(|one| [code::UNREADABLE_FILE, code::NOT_UTF_8, code::FILE_TOO_LARGE].contains(&one.code))
        .map(|one| one.message.clone())
        .collect()
}

/// A portrait, where in the ledger the formula stands, and what its own lines say.
struct Placed {
    /// Its name, folded, and how many of this name stand before it.
    key: (String, usize),
    place: usize,
    portrait: Portrait,
    own_words: Vec<(String, String)>,
}

/// The portraits of all formulas, or of those with these places.
fn portraits(snapshot: &Snapshot, places: Option<&[usize]>) -> Vec<Placed> {
    let all: Vec<usize> = match places {
        Some(places) => places.to_vec(),
        None => (0..snapshot.ledger.formulas.len()).collect(),
    };
    let drawn = parallel::map(&all, |place| {
        Some((*place, portrait(snapshot, *place)?, own_words(snapshot, *place)))
    });
    let mut times: BTreeMap<String, usize> = BTreeMap::new();
    drawn
        .into_iter()
        .flatten()
        .map(|(place, portrait, own_words)| {
            let name = folded(&portrait.name);
            let before = times.entry(name.clone()).or_default();
            let key = (name, *before);
            *before = before.saturating_add(1);
            Placed {
                key,
                place,
                portrait,
                own_words,
            }
        })
        .collect()
}

/// What a formula's own entry says, without spacing and comments.
fn own_words(snapshot: &Snapshot, place: usize) -> Vec<(String, String)> {
    let Some(formula) = snapshot.ledger.formulas.get(place) else {
        return Vec::new();
    };
    snapshot
        .trees
        .iter()
        .filter(|tree| tree.file == formula.head.file)
        .flat_map(|tree| {
            tree.entries
                .iter()
                .filter(|entry| entry.head == formula.head)
                .map(move |entry| (tree, entry))
        })
        .flat_map(|(tree, entry)| entries::lines(&snapshot.sources, tree, entry))
        .collect()
}

fn change(old: Option<&Portrait>, new: Option<&Portrait>) -> Option<FormulaChange> {
    if old == new
        || old
            .zip(new)
            .is_some_and(|(old, new)| old.is_spelled_otherwise(new))
    {
        return None;
    }
    let name = new.or(old)?.name.clone();
    let former_name = old
        .filter(|old| new.is_some() && folded(&old.name) != folded(&name))
        .map(|old| old.name.clone());
    let fate = match (old, new) {
        (None, _) => Fate::Added,
        (_, None) => Fate::LeftOut,
        _ if former_name.is_some() => Fate::Renamed,
        _ => Fate::Changed,
    };
    let empty = BTreeSet::new();
    let cautions = |one: Option<&Portrait>| one.map_or_else(|| empty.clone(), |one| one.cautions.clone());
    let (cautions_was, cautions_is) = (cautions(old), cautions(new));
    // Of a formula whose figures an error withholds nobody knows what is in it: nothing has gone from
    // it, and it can't be told what is new.
    let is_known = |one: Option<&Portrait>| one.is_none_or(|one| one.totals.is_some());
    let both_known = is_known(old) && is_known(new);
    let findings = |one: Option<&Portrait>| one.map_or_else(BTreeSet::new, |one| one.findings.clone());
    let (findings_was, findings_is) = (findings(old), findings(new));
    let words = |one: Option<&Portrait>| -> Vec<(String, String)> {
        one.into_iter()
            .flat_map(|one| &one.words)
            .map(|(label, text)| ((*label).to_owned(), text.clone()))
            .collect()
    };
    let items = |one: Option<&Portrait>| one.map_or_else(Vec::new, |one| one.items.clone());
    let within = |one: Option<&Portrait>| one.map_or_else(Vec::new, |one| one.within.clone());
    let herbs = |one: Option<&Portrait>| {
        one.and_then(|one| one.intake.as_ref())
            .map_or_else(Vec::new, |intake| intake.herbs.clone())
    };
    Some(FormulaChange {
        name,
        former_name,
        fate,
        items: paired(items(old), items(new), |item| folded(&item.name)),
        within: if both_known {
            paired(within(old), within(new), |one| folded(&one.herb))
        } else {
            Vec::new()
        },
        totals: Pair {
            was: old.and_then(|one| one.totals),
            is: new.and_then(|one| one.totals),
        },
        intake: Pair {
            was: old.and_then(|one| one.intake.clone()),
            is: new.and_then(|one| one.intake.clone()),
        },
        herbs: paired(herbs(old), herbs(new), |herb| folded(&herb.herb)),
        cautions_come: gravest_first(&cautions_is, &cautions_was),
        cautions_gone: if both_known {
            gravest_first(&cautions_was, &cautions_is)
        } else {
            Vec::new()
        },
        findings_come: gravest_first(&findings_is, &findings_was),
        findings_gone: gravest_first(&findings_was, &findings_is),
        words: entries::differing(&words(old), &words(new)),
        order_differs: old.zip(new).is_some_and(|(old, new)| order_differs(old, new)),
        is_withheld: [old, new].map(|one| !is_known(one)),
        says_otherwise: true,
        causes: Causes::default(),
    })
}

/// Whether the same herbs stand in another order.
fn order_differs(old: &Portrait, new: &Portrait) -> bool {
    let order = |portrait: &Portrait| -> Vec<String> {
        portrait.items.iter().map(|item| folded(&item.name)).collect()
    };
    let (mut was, mut is) = (order(old), order(new));
    let differs = was != is;
    was.sort_unstable();
    is.sort_unstable();
    differs && was == is
}

/// What only the first holds, in falling order.
fn gravest_first<T: Ord + Clone>(own: &BTreeSet<T>, others: &BTreeSet<T>) -> Vec<T> {
    own.iter()
        .rev()
        .filter(|one| !others.contains(one))
        .cloned()
        .collect()
}

/// Sets things with the same key against each other: the same before others, else in their order.
fn paired<T: PartialEq + Clone>(was: Vec<T>, is: Vec<T>, key: impl Fn(&T) -> String) -> Vec<Pair<T>> {
    let mut gone = was;
    let mut pairs: Vec<Pair<T>> = Vec::new();
    let reserved: Vec<Option<T>> = is
        .iter()
        .map(|new| gone.iter().position(|old| old == new).map(|at| gone.remove(at)))
        .collect();
    for (new, same) in is.into_iter().zip(reserved) {
        let was = same.or_else(|| {
            gone.iter()
                .position(|old| key(old) == key(&new))
                .map(|at| gone.remove(at))
        });
        pairs.push(Pair { was, is: Some(new) });
    }
    pairs.extend(gone.into_iter().map(|old| Pair {
        was: Some(old),
        is: None,
    }));
    pairs
}

/// The changed entries that a formula leans on.
fn leaned_on(snapshot: &Snapshot, place: usize, changes: &[EntryChange]) -> Vec<usize> {
    let keys = keys_of(snapshot, place);
    changes
        .iter()
        .enumerate()
        .filter(|(_, change)| change.bears_on_figures())
        .filter(|(_, change)| keys.contains(&change.key) || change.kind == Kind::Topic)
        // A herb that came or went is seen by what the formula takes.
        .filter(|(_, change)| {
            change.fate == EntryFate::Changed || !matches!(change.kind, Kind::Herb | Kind::Material)
        })
        .map(|(at, _)| at)
        .collect()
}

/// The entries that a formula leans on: what is in it, the practice, its person.
fn keys_of(snapshot: &Snapshot, place: usize) -> BTreeSet<Key> {
    let ledger = &snapshot.ledger;
    let mut keys = BTreeSet::from([Key::new(Kind::Practice, "")]);
    let substance = |at: usize| {
        let substance = ledger.substances.get(at)?;
        Some(Key::new(substance.kind, &substance.name))
    };
    let composition: Option<&Composition> = snapshot.figures.of(place);
    match composition {
        Some(composition) => {
            let within = substances_of(ledger, &snapshot.figures, composition);
            keys.extend(within.into_iter().filter_map(substance));
        }
        None => keys.extend(
            ledger
                .formulas
                .get(place)
                .into_iter()
                .flat_map(|formula| &formula.taken)
                .filter_map(|taken| match taken.what {
                    Bound::Substance(at) => substance(at),
                    _ => None,
                }),
        ),
    }
    let person = ledger
        .formulas
        .get(place)
        .and_then(|formula| formula.person.as_ref());
    keys.extend(person.map(|(code, _)| Key::new(Kind::Person, &code.text)));
    keys.extend(
        ledger
            .topics
            .iter()
            .map(|topic| Key::new(Kind::Topic, &topic.name)),
    );
    keys
}

/// The names of the formulas that a formula takes or adapts, at any depth.
fn needed(snapshot: &Snapshot, place: usize) -> Vec<String> {
    snapshot
        .ledger
        .all_needs(place)
        .into_iter()
        .skip(1)
        .filter_map(|at| snapshot.ledger.formulas.get(at))
        .map(|formula| formula.name.text.clone())
        .collect()
}

/// Every entry that a formula leans on, at any depth, and itself.
pub fn leans_on(snapshot: &Snapshot, place: usize) -> BTreeSet<Key> {
    let mut keys = BTreeSet::new();
    for at in snapshot.ledger.all_needs(place) {
        keys.extend(keys_of(snapshot, at));
        let formula = snapshot.ledger.formulas.get(at);
        keys.extend(formula.map(|formula| Key::new(Kind::Formula, &formula.name.text)));
    }
    keys
}
