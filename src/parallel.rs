//! Does the same work over many things on all cores, with the results in the order of the things.

use rayon::prelude::*;

/// Fewer things than this are worked on one after the other: waking the other cores costs more.
const FEW: usize = 32;

/// What the work makes of each thing, in the order of the things.
pub fn map<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    if things.len() < FEW {
        things.iter().map(work).collect()
    } else {
        things.par_iter().with_min_len(8).map(&work).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::map;

    #[test]
    fn results_stand_in_the_order_of_the_things() {
        let things: Vec<usize> = (0..1000).collect();
        assert_eq!(
            map(&things, |one| one * 2),
            (0..2000).step_by(2).collect::<Vec<_>>()
        );
        assert_eq!(map(&things[..3], |one| one + 1), [1, 2, 3]);
    }
}
