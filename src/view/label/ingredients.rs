//! Turns a composition into the ingredients of a label, in falling order of weight.

use serde::Serialize;

use crate::compute::{Composition, How};
use crate::model::Bound;
use crate::naming::folded;
use crate::quantity::Decimal;
use crate::workspace::Snapshot;

/// One ingredient; a blend inside the blend names what it holds itself.
#[derive(Debug, Clone, Serialize)]
pub struct LabelIngredient {
    /// Its common name, as the ledger declares it.
    pub name: String,
    /// Its botanical name.
    pub latin: Option<String>,
    /// What it holds, if it is a blend or preparation of this ledger.
    pub of: Vec<LabelIngredient>,
}

impl LabelIngredient {
    /// The ingredient without its botanical name, what it holds in brackets.
    pub fn words(&self) -> String {
        if self.of.is_empty() {
            return self.name.clone();
        }
        let of: Vec<String> = self.of.iter().map(Self::words).collect();
        format!("{} ({})", self.name, of.join(", "))
    }
}

/// What a composition holds, the most first; each thing once. Beside weights a millilitre counts as
/// a gram, for the order alone (common practice, no source); what is taken by judgement stands last.
pub(super) fn ingredients(snapshot: &Snapshot, composition: &Composition) -> Vec<LabelIngredient> {
    let mut sums: Vec<(Bound, &str, Decimal)> = Vec::new();
    for line in &composition.lines {
        let amounts = line.amounts;
        let amount = amounts
            .grams
            .or(amounts.parts)
            .or(amounts.millilitres)
            .map(|spread| spread.nominal)
            .filter(|_| line.how != How::Uncounted);
        let amount = amount.unwrap_or(Decimal::NEGATIVE_ONE);
        let taken = &line.taken;
        match sums.iter_mut().find(|(what, name, _)| {
            *what == taken.what && (taken.what != Bound::Unknown || *name == taken.name.text)
        }) {
            Some((_, _, sum)) => *sum = sum.checked_add(amount.max(Decimal::ZERO)).unwrap_or(Decimal::MAX),
            None => sums.push((taken.what, &taken.name.text, amount)),
        }
    }
    sums.sort_by_key(|(_, _, amount)| std::cmp::Reverse(*amount));
    sums.into_iter()
        .map(|(what, written, _)| match what {
            Bound::Substance(at) => {
                let substance = snapshot.ledger.substances.get(at);
                LabelIngredient {
                    name: substance.map_or_else(|| written.to_owned(), |one| one.name.clone()),
                    latin: substance.and_then(|one| one.latin.clone()),
                    of: Vec::new(),
                }
            }
            // Formulas nest to a bounded depth, which the order of reckoning sees to.
            Bound::Formula(at) => LabelIngredient {
                name: snapshot
                    .ledger
                    .formulas
                    .get(at)
                    .map_or_else(|| written.to_owned(), |one| one.name.text.clone()),
                latin: None,
                of: snapshot
                    .figures
                    .of(at)
                    .map(|inner| with_liquids(snapshot, inner))
                    .unwrap_or_default(),
            },
            Bound::Unknown => LabelIngredient {
                name: written.to_owned(),
                latin: None,
                of: Vec::new(),
            },
        })
        .collect()
}

/// What a preparation inside another holds, and then what its steps bring in.
fn with_liquids(snapshot: &Snapshot, inner: &Composition) -> Vec<LabelIngredient> {
    let mut all = ingredients(snapshot, inner);
    all.extend(made_with(inner).into_iter().map(|name| LabelIngredient {
        name,
        latin: None,
        of: Vec::new(),
    }));
    all
}

/// The liquids and the sugar that steps bring into what is in the jar, as written.
pub(super) fn made_with(composition: &Composition) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let kept = |word: &str| matches!(word, "macerate" | "percolate" | "syrup");
    for step in composition.formula.steps.iter().filter(|step| kept(step.word)) {
        for liquid in &step.preparation.media {
            let Some(name) = &liquid.name else { continue };
            let own = folded(&name.text);
            if own == "it" || own.starts_with("the ") {
                continue;
            }
            let words = match &liquid.strength {
                Some((number, by_weight)) => {
                    let by = if *by_weight { " by weight" } else { "" };
                    format!(
                        "{} %{by} {}",
                        crate::quantity::print::digits(number.value),
                        name.text
                    )
                }
                None => name.text.clone(),
            };
            if !found.contains(&words) {
                found.push(words);
            }
        }
    }
    found
}
