//! Turns a seed in words into a sequence of choices that is the same on every machine.

use crate::render::site::mark;

/// A sequence of numbers: the generator `SplitMix64`, written down here so that a class gets the same
/// exercises from the same seed for as long as the ledger stays the same.
#[derive(Debug, Clone)]
pub(super) struct Dice(u64);

impl Dice {
    /// The sequence of a seed.
    pub(super) fn new(seed: &str) -> Self {
        Self(mark(seed.as_bytes()))
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below a bound; nothing below nothing.
    pub(super) fn below(&mut self, bound: usize) -> usize {
        let bound = u64::try_from(bound).unwrap_or(u64::MAX);
        usize::try_from(self.next().checked_rem(bound).unwrap_or(0)).unwrap_or(0)
    }

    /// One of several.
    pub(super) fn one<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        let at = self.below(of.len());
        of.get(at)
    }

    /// All of several, in another order.
    pub(super) fn shuffled<T: Clone>(&mut self, of: &[T]) -> Vec<T> {
        let mut left = of.to_vec();
        let mut out = Vec::with_capacity(left.len());
        while !left.is_empty() {
            let at = self.below(left.len());
            out.push(left.swap_remove(at));
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::Dice;

    /// The first numbers of `SplitMix64` from the state 1234567 (published test vector of its authors'
    /// reference program, from memory).
    #[test]
    fn the_sequence_is_the_published_one() {
        let mut dice = Dice(1_234_567);
        let numbers: Vec<u64> = (0..3).map(|_| dice.next()).collect();
        assert_eq!(
            numbers,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423
            ]
        );
    }

    #[test]
    fn shuffling_loses_nothing() {
        let mut dice = Dice::new("autumn");
        let mut shuffled = dice.shuffled(&[1, 2, 3, 4, 5, 6, 7]);
        assert_ne!(shuffled, [1, 2, 3, 4, 5, 6, 7]);
        shuffled.sort_unstable();
        assert_eq!(shuffled, [1, 2, 3, 4, 5, 6, 7]);
        assert_eq!(dice.below(0), 0);
    }
}
