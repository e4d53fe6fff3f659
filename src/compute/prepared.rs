//! Holds what the steps of a formula name against what it takes.

use std::collections::HashSet;

use crate::model::{Bound, Formula, Ledger, Looked};
use crate::naming::{folded, same_but_for_number, singulars};
use crate::syntax::tree::{Name, Subject};

/// Words that stand for all that was taken, or for some of it, and words for what is done to it before.
const STANDING_IN: [&str; 72] = [
    "it",
    "them",
    "this",
    "these",
    "the",
    "a",
    "an",
    "of",
    "and",
    "all",
    "both",
    "each",
    "half",
    "everything",
    "rest",
    "remainder",
    "remaining",
    "other",
    "others",
    "whole",
    "same",
    "above",
    "blend",
    "mixture",
    "mix",
    "tea",
    "species",
    "ingredient",
    "herb",
    "plant",
    "drug",
    "simple",
    "spice",
    "solid",
    "powder",
    "piece",
    "part",
    "root",
    "rhizome",
    "bulb",
    "bark",
    "wood",
    "twig",
    "stem",
    "stalk",
    "leaf",
    "flower",
    "blossom",
    "petal",
    "bud",
    "top",
    "fruit",
    "berry",
    "seed",
    "peel",
    "hip",
    "resin",
    "gum",
    "liquid",
    "infusion",
    "decoction",
    "tincture",
    "extract",
    "macerate",
    "marc",
    "residue",
    "syrup",
    "dried",
    "fresh",
    "cut",
    "hard",
    "soft",
];

/// A thing that a step prepares, and that the formula does not take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Stranger {
    /// The name in the step.
    pub name: Name,
    /// All that it may mean; nothing for a name that is declared nowhere.
    pub meant: Vec<Bound>,
}

/// Everything that the steps of a formula name and that it does not take, each name once.
pub(super) fn strangers(ledger: &Ledger, formula: &Formula) -> Vec<Stranger> {
    let mut found: Vec<Stranger> = Vec::new();
    let mut taken: Option<Taken> = None;
    for step in &formula.steps {
        let names: &[Name] = match &step.preparation.subject {
            Subject::Things(names) => names,
            Subject::Amount(_, Some(name)) => std::slice::from_ref(name),
            Subject::All | Subject::Ratio(..) | Subject::Amount(_, None) => &[],
        };
        for name in names {
            let taken = taken.get_or_insert_with(|| Taken::of(ledger, formula));
            for stranger in taken.unknown(ledger, name) {
                if !found
                    .iter()
                    .any(|known| folded(&known.name.text) == folded(&stranger.name.text))
                {
                    found.push(stranger);
                }
            }
        }
    }
    found
}

/// What a formula takes, and what is in that.
struct Taken {
    things: HashSet<Bound>,
    /// Every name of it, folded.
    names: Vec<String>,
    /// The formula's own name, and what is poured on; a word of these alone does not tell what is meant.
    whole: Vec<String>,
}

impl Taken {
    fn of(ledger: &Ledger, formula: &Formula) -> Self {
        let mut things = HashSet::new();
        let mut names = Vec::new();
        let mut whole = vec![folded(&formula.name.text)];
        let mut open: Vec<&Formula> = vec![formula];
        while let Some(one) = open.pop() {
            for line in &one.taken {
                names.push(folded(&line.name.text));
                if line.what != Bound::Unknown
                    && things.insert(line.what)
                    && let Bound::Formula(at) = line.what
                {
                    open.extend(ledger.formulas.get(at).map(AsRef::as_ref));
                }
            }
            // What an inner formula keeps of another is in it, too.
            if let Some(at) = one.adapts.as_ref().and_then(|adapts| adapts.formula)
                && !std::ptr::eq(one, formula)
                && things.insert(Bound::Formula(at))
            {
                open.extend(ledger.formulas.get(at).map(AsRef::as_ref));
            }
        }
        // A step may go on with what an earlier one poured on; its cautions are shown for that already.
        for liquid in formula.steps.iter().flat_map(|step| &step.preparation.media) {
            whole.extend(liquid.name.iter().map(|name| folded(&name.text)));
        }
        names.extend(
            ledger
                .names
                .all()
                .filter(|(_, bound)| things.contains(bound))
                .map(|(name, _)| name.to_owned()),
        );
        Self { things, names, whole }
    }

    /// What of a name in a step is not taken: `mint and sage` may be two things, or one.
    fn unknown(&self, ledger: &Ledger, name: &Name) -> Vec<Stranger> {
        let text = folded(&name.text);
        if self.has(ledger, &text) {
            return Vec::new();
        }
        let whole = meant(ledger, &text);
        let pieces: Vec<&str> = text.split(" and ").collect();
        if !whole.is_empty() || pieces.len() == 1 {
            return vec![Stranger {
                name: name.clone(),
                meant: whole,
            }];
        }
        pieces
            .into_iter()
            .filter(|piece| !self.has(ledger, piece))
            .map(|piece| Stranger {
                name: Name {
                    text: piece.to_owned(),
                    span: name.span,
                },
                meant: meant(ledger, piece),
            })
            .collect()
    }

    /// Whether a folded name is one of what was taken, stands for it, or is a part of such a name.
    fn has(&self, ledger: &Ledger, text: &str) -> bool {
        let bare = text.strip_prefix("the ").unwrap_or(text);
        let mut all = self.names.iter().chain(&self.whole);
        if all.any(|own| same_but_for_number(own, bare)) {
            return true;
        }
        // `boiling water` is water.
        if self
            .whole
            .iter()
            .any(|own| own.ends_with(&format!(" {bare}")) && bare.ends_with("water"))
        {
            return true;
        }
        match ledger.names.look(text) {
            Looked::Found(bound) => return self.things.contains(&bound),
            Looked::Several(bounds) => return bounds.iter().any(|bound| self.things.contains(bound)),
            Looked::Clash => return true,
            Looked::Nothing => {}
        }
        let stands_in = |word: &str| {
            singulars(word)
                .iter()
                .any(|form| STANDING_IN.contains(&form.as_str()))
        };
        let words: Vec<&str> = bare.split(' ').collect();
        if words.iter().all(|word| stands_in(word)) {
            return true;
        }
        self.names.iter().any(|own| {
            // `bruised fennel fruit`, and `the fennel` of `fennel fruit`.
            let tail = words
                .len()
                .checked_sub(own.split(' ').count())
                .and_then(|from| words.get(from..))
                .is_some_and(|tail| same_but_for_number(&tail.join(" "), own));
            tail || has_words(own, &words)
        })
    }
}

/// Whether every word of a short name stands in a long one.
fn has_words(long: &str, words: &[&str]) -> bool {
    words
        .iter()
        .all(|word| long.split(' ').any(|own| same_but_for_number(own, word)))
}

/// All that a name in a step may mean: by its own, with words before it left off, or as part of a longer name.
fn meant(ledger: &Ledger, text: &str) -> Vec<Bound> {
    let words: Vec<&str> = text.split(' ').filter(|word| *word != "the").collect();
    for from in 0..words.len() {
        let tail = words.get(from..).unwrap_or_default().join(" ");
        match ledger.names.look(&tail) {
            Looked::Found(bound) => return vec![bound],
            Looked::Several(bounds) => return bounds,
            Looked::Clash | Looked::Nothing => {}
        }
    }
    let mut found: Vec<Bound> = ledger
        .names
        .all()
        .filter(|(name, _)| has_words(name, &words))
        .map(|(_, bound)| bound)
        .collect();
    found.sort_unstable();
    found.dedup();
    found
}
