//! Chance that is the same on every machine and in every run.

/// A sequence of numbers that look random and depend on the seed alone: the SplitMix64 generator (Steele, Lea and
/// Flood, Fast Splittable Pseudorandom Number Generators, 2014, figure 17; from memory).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Chance(u64);

impl Chance {
    /// A sequence of its own for every seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 up to but not including 1.
    pub fn share(&mut self) -> f64 {
        // 53 bits: as many as a number holds.
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A whole number below `count`; 0 where `count` is 0.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count.saturating_sub(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_sequence_is_met() {
        // First outputs for the seed 1234567, as listed with the reference implementation (from memory).
        let mut chance = Chance::new(1_234_567);
        assert_eq!(chance.next(), 6_457_827_717_110_365_317);
        assert_eq!(chance.next(), 3_203_168_211_198_807_973);
    }

    #[test]
    fn shares_fill_the_unit_interval_evenly() {
        let mut chance = Chance::new(7);
        let mut hits = [0_usize; 10];
        (0..10_000).for_each(|_| hits[chance.below(10)] += 1);
        // Standard deviation of a bin is 30; five of them are never left by chance.
        assert!(hits.iter().all(|h| h.abs_diff(1000) < 150), "{hits:?}");
    }
}
