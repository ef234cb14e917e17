//! Random numbers, reproducible on every machine and for any number of threads.

/// A stream of random numbers from a seed: SplitMix64 (Steele, Lea and Flood, OOPSLA 2014). Each draw of a simulation
/// has its own stream, so the order of the draws does not matter.
#[derive(Debug, Clone)]
pub struct Random {
    state: u64,
    spare: Option<f64>,
}

/// Step of the state: the golden ratio in 64 bits, made odd.
const STEP: u64 = 0x9e37_79b9_7f4a_7c15;

impl Random {
    /// The stream for a seed.
    pub fn new(seed: u64) -> Self {
        Self { state: seed, spare: None }
    }

    /// The stream of one draw among many with the same seed.
    pub fn for_draw(seed: u64, draw: u64) -> Self {
        let mut mixing = Self::new(seed ^ draw.wrapping_mul(STEP));
        Self::new(mixing.bits())
    }

    fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(STEP);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform on [0, 1).
    pub fn uniform(&mut self) -> f64 {
        // The upper 53 bits: the precision of a double.
        (self.bits() >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }

    /// Uniform integer below `count`; 0 if `count` is 0.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// Standard normal number (Box and Muller 1958).
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        // 1 - u lies in (0, 1], where the logarithm is finite.
        let radius = (-2.0 * libm::log(1.0 - self.uniform())).sqrt();
        let (sin, cos) = libm::sincos(std::f64::consts::TAU * self.uniform());
        self.spare = Some(radius * sin);
        radius * cos
    }
}

/// Standard normal distribution function, within 1.5e-7 (Abramowitz and Stegun, Handbook of Mathematical Functions, 1964,
/// equation 7.1.26 for the error function; coefficients from memory, checked by a test).
pub(crate) fn normal_distribution(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x.abs() * std::f64::consts::FRAC_1_SQRT_2);
    let series = [1.061_405_429, -1.453_152_027, 1.421_413_741, -0.284_496_736, 0.254_829_592];
    let tail = 0.5 * t * series.iter().fold(0.0, |sum, c| sum * t + c) * libm::exp(-0.5 * x * x);
    if x < 0.0 { tail } else { 1.0 - tail }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Quantiles from printed tables of the normal distribution (from memory).
    #[test]
    fn the_normal_distribution_has_its_tabled_quantiles() {
        for (p, x) in [(0.5, 0.0), (0.9, 1.281_552), (0.95, 1.644_854), (0.975, 1.959_964), (0.999, 3.090_232)] {
            assert!((normal_distribution(x) - p).abs() < 3e-7, "{p}");
            assert!((normal_distribution(-x) - (1.0 - p)).abs() < 3e-7, "{p}");
        }
        assert_eq!((normal_distribution(f64::NEG_INFINITY), normal_distribution(f64::INFINITY)), (0.0, 1.0));
    }

    /// First outputs of SplitMix64 for the seed 1234567, as published with implementations in many languages (from
    /// memory).
    #[test]
    fn the_stream_is_the_published_one() {
        let mut random = Random::new(1_234_567);
        let expected = [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423];
        assert_eq!(expected.map(|_| random.bits()), expected);
    }

    #[test]
    fn whole_numbers_are_spread_evenly() {
        let mut random = Random::new(7);
        let mut hits = [0_usize; 10];
        (0..10_000).for_each(|_| hits[random.below(10)] += 1);
        // Five standard deviations of 30.
        assert!(hits.iter().all(|h| h.abs_diff(1000) < 150), "{hits:?}");
        assert_eq!(random.below(0), 0);
    }

    #[test]
    fn normal_numbers_have_the_moments_of_the_normal_distribution() {
        let n = 200_000;
        let (mut sums, mut beyond) = ([0.0; 4], 0);
        for draw in 0..n {
            let x = Random::for_draw(7, draw).normal();
            for (power, sum) in (1..=4).zip(&mut sums) {
                *sum += x.powi(power) / n as f64;
            }
            beyond += u32::from(x > 1.644_853_6);
        }
        // Five standard errors of each moment for this many numbers.
        for ((sum, expected), error) in sums.into_iter().zip([0.0, 1.0, 0.0, 3.0]).zip([1.0, 1.41, 3.87, 9.8]) {
            assert!((sum - expected).abs() < 5.0 * error / (n as f64).sqrt(), "{sums:?}");
        }
        assert!((f64::from(beyond) / n as f64 - 0.05).abs() < 5.0 * (0.05 * 0.95 / n as f64).sqrt());
    }

    #[test]
    fn draws_differ_whatever_the_seed() {
        for seed in [0, 1, u64::MAX] {
            let firsts: Vec<u64> = (0..50).map(|draw| Random::for_draw(seed, draw).bits()).collect();
            let mut apart = firsts.clone();
            apart.sort_unstable();
            apart.dedup();
            assert_eq!(apart.len(), firsts.len(), "{seed}");
        }
    }
}
