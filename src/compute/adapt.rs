//! Fills in what a formula keeps of the one that it adapts.

use super::Reckoner;
use super::caution::same_topic;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::overflow;
use crate::model::{Bound, Formula, Ledger, PieceSize, Pieces, Taken};
use crate::naming;
use crate::quantity::{Decimal, Overflow};
use crate::syntax::tree::{Preparation, Subject};

/// Whether two lines take the same thing.
fn same(a: &Taken, b: &Taken) -> bool {
    match (a.what, b.what) {
        (Bound::Unknown, _) | (_, Bound::Unknown) => {
            naming::same_but_for_number(&naming::folded(&a.name.text), &naming::folded(&b.name.text))
        }
        (a, b) => a == b,
    }
}

impl Reckoner<'_> {
    /// The formula with every line that it keeps of the adapted one; nothing if that has a fault.
    pub(super) fn effective(&mut self, formula: &Formula) -> Option<Formula> {
        let Some(adapts) = &formula.adapts else {
            for (name, _) in &formula.without {
                self.diagnostics.push(
                    Diagnostic::error(
                        code::UNUSED_WITHOUT,
                        name.span,
                        "`without` has nothing to leave out: this formula adapts no other",
                    )
                    .help("say which formula it changes, `adapts chest tea`, or take the line out"),
                );
            }
            return Some(formula.clone());
        };
        let base = self.done.get(adapts.formula?)?.as_ref()?;
        let base_name = base.formula.name.text.clone();
        let mut kept = base.formula.clone();
        let mut fine = true;
        for (name, bound) in &formula.without {
            let taken = base.formula.taken.iter().any(|taken| taken.what == *bound);
            kept.taken
                .retain(|taken| taken.what != *bound || *bound == Bound::Unknown);
            if !taken && *bound != Bound::Unknown {
                fine = false;
                self.diagnostics.push(
                    Diagnostic::error(
                        code::UNUSED_WITHOUT,
                        name.span,
                        format!("`{base_name}` takes no `{}`, so it can't be left out", name.text),
                    )
                    .related(adapts.name.span, "the formula that is adapted")
                    .help("take the line out, or look whether another name is meant"),
                );
            }
        }
        if !fine {
            return None;
        }
        if scale(&mut kept, adapts.share).is_err() {
            self.diagnostics.push(overflow(adapts.name.span));
            return None;
        }
        Some(merge(self.ledger, kept, formula))
    }
}

/// `at 1/10`: each amount, what a `q.s. to` makes up to, and what it makes.
fn scale(kept: &mut Formula, share: Decimal) -> Result<(), Overflow> {
    if share == Decimal::ONE {
        return Ok(());
    }
    for taken in &mut kept.taken {
        taken.amount = taken
            .amount
            .as_ref()
            .map(|amount| amount.scaled(share))
            .transpose()?;
        let before = taken.share_of_adapted.unwrap_or(Decimal::ONE);
        taken.share_of_adapted = Some(before.checked_mul(share).ok_or(Overflow)?);
    }
    for step in &mut kept.steps {
        scale_step(&mut step.preparation, share)?;
    }
    // Fewer pieces of the same size.
    if let Some(Pieces {
        size: PieceSize::Count(count),
        ..
    }) = &mut kept.divide
    {
        *count = count.checked_mul(share).ok_or(Overflow)?;
    }
    if let Some(makes) = &mut kept.makes {
        makes.value = makes.value.scaled(share)?;
    }
    Ok(())
}

/// The liquids of a step that takes everything grow and shrink with it; `2 teaspoons in 1 cup` and a
/// ratio stay what they are.
fn scale_step(step: &mut Preparation, share: Decimal) -> Result<(), Overflow> {
    if matches!(step.subject, Subject::Amount(..) | Subject::Ratio(..)) {
        return Ok(());
    }
    let liquids = step.media.iter_mut().filter_map(|liquid| liquid.amount.as_mut());
    for quantity in liquids.chain(step.down_to.as_mut()) {
        for term in quantity.low.iter_mut().chain(quantity.high.iter_mut().flatten()) {
            term.number.value = term.number.value.checked_mul(share).ok_or(Overflow)?;
        }
    }
    Ok(())
}

/// A formula with what it keeps of another.
pub(super) fn merge(ledger: &Ledger, mut kept: Formula, own: &Formula) -> Formula {
    let mut added: Vec<Taken> = Vec::new();
    for taken in &own.taken {
        let place = kept.taken.iter().position(|old| same(old, taken));
        match place {
            Some(at) if !added.iter().any(|new| same(new, taken)) => {
                kept.taken.retain({
                    let mut seen = 0_usize;
                    move |old| {
                        let here = seen;
                        seen = seen.saturating_add(1);
                        here == at || !same(old, taken)
                    }
                });
                if let Some(slot) = kept.taken.get_mut(at) {
                    *slot = taken.clone();
                }
            }
            _ => kept.taken.push(taken.clone()),
        }
        added.push(taken.clone());
    }
    for weight in &own.weights {
        kept.weights.retain(|old| old.measure != weight.measure);
        kept.weights.push(weight.clone());
    }
    let mut accepts = own.accepts.clone();
    accepts.extend(kept.accepts.into_iter().filter(|(topic, _)| {
        !own.accepts
            .iter()
            .any(|(mine, _)| same_topic(ledger, &mine.text, &topic.text))
    }));
    Formula {
        name: own.name.clone(),
        head: own.head,
        entry: own.entry,
        refused: own.refused,
        adapts: own.adapts.clone(),
        taken: kept.taken,
        without: own.without.clone(),
        take_span: own.take_span.or(kept.take_span),
        one_part: own.one_part.or(kept.one_part),
        makes: own.makes.clone().or(kept.makes),
        weights: kept.weights,
        mix: if own.mix.is_empty() {
            kept.mix
        } else {
            own.mix.clone()
        },
        steps: if own.steps.is_empty() {
            kept.steps
        } else {
            own.steps.clone()
        },
        divide: own.divide.clone().or(kept.divide),
        doses: if own.doses.is_empty() {
            kept.doses
        } else {
            own.doses.clone()
        },
        sign: own.sign.clone().or(kept.sign),
        purpose: own.purpose.clone().or(kept.purpose),
        given: own.given.clone().or(kept.given),
        keep: own.keep.clone().or(kept.keep),
        accepts,
        books: own.books.clone(),
        person: own.person.clone().or(kept.person),
    }
}
