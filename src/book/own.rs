//! What the parts of the book share: sums of amounts, and batches in the order in which they can be made.

use super::{Amount, Holder, Origin, Taking};
use crate::quantity::Decimal;

/// The sum of amounts; nothing where one is not known, or where weights stand beside volumes.
pub fn sum(amounts: impl IntoIterator<Item = Option<Amount>>) -> Option<Amount> {
    let mut total: Option<Amount> = None;
    for amount in amounts {
        let amount = amount?;
        total = Some(match total {
            None => amount,
            Some(before) if before.unit == amount.unit => Amount {
                unit: before.unit,
                value: before.value.checked_add(amount.value)?,
            },
            Some(_) => return None,
        });
    }
    total
}

/// Batches, each after those that went into it. One that went into itself is left out, and so is
/// what was made of it.
pub fn in_order(inputs: &[Vec<Taking>]) -> Vec<usize> {
    let mut needs = vec![0_usize; inputs.len()];
    let mut feeds: Vec<Vec<usize>> = vec![Vec::new(); inputs.len()];
    for (at, takings) in inputs.iter().enumerate() {
        for taking in takings {
            if let Origin::Shelf(Holder::Batch(from)) = taking.origin
                && let (Some(feeds), Some(needs)) = (feeds.get_mut(from), needs.get_mut(at))
            {
                feeds.push(at);
                *needs = needs.saturating_add(1);
            }
        }
    }
    let mut ready: Vec<usize> = (0..inputs.len())
        .rev()
        .filter(|at| needs.get(*at) == Some(&0))
        .collect();
    let mut order = Vec::with_capacity(inputs.len());
    while let Some(at) = ready.pop() {
        order.push(at);
        for fed in feeds.get(at).into_iter().flatten() {
            if let Some(open) = needs.get_mut(*fed) {
                *open = open.saturating_sub(1);
                if *open == 0 {
                    ready.push(*fed);
                }
            }
        }
    }
    order
}

/// `part` of `whole` in a hundred.
pub fn percent(part: Decimal, whole: Decimal) -> Option<Decimal> {
    crate::quantity::rounding::quotient(part.checked_mul(Decimal::ONE_HUNDRED)?, whole).ok()
}
