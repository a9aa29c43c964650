//! Numbers from a seed, the same on every machine: for tests that draw their cases, not for statistics (those take
//! [`crate::sobol`]).

/// xorshift64* (S. Vigna, *An experimental exploration of Marsaglia's xorshift generators, scrambled*, ACM TOMS 42, 2016),
/// its seed spread by SplitMix64 so that neighbouring seeds have nothing in common.
///
/// # Examples
/// ```
/// use beamstay_numerics::random::Random;
/// let (mut once, mut again) = (Random::new(7), Random::new(7));
/// let number = once.between(10.0, 20.0);
/// assert!((10.0..20.0).contains(&number));
/// assert_eq!(number, again.between(10.0, 20.0));
/// ```
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        let mut z = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        Self((z ^ (z >> 31)).max(1))
    }

    /// 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    /// From 0 to below 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From 0 to below `count`; 0 for a count of 0.
    pub fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, probability_ratio: f64) -> bool {
        self.unit() < probability_ratio
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        (lo + (hi - lo) * self.unit()).clamp(lo.min(hi), hi.max(lo))
    }

    /// Between two numbers above 0, evenly in the logarithm.
    pub fn spread(&mut self, lo: f64, hi: f64) -> f64 {
        (lo.ln() + (hi.ln() - lo.ln()) * self.unit()).exp().clamp(lo.min(hi), hi.max(lo))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_fill_their_range_evenly() {
        let mut random = Random::new(0);
        let mut tenths = [0; 10];
        for _ in 0..10_000 {
            tenths[random.below(10)] += 1;
            let spread = random.spread(1e-3, 1e3);
            assert!((1e-3..=1e3).contains(&spread));
        }
        assert!(tenths.iter().all(|count| (850..1150).contains(count)), "{tenths:?}");
        assert_ne!(Random::new(1).bits(), Random::new(2).bits());
    }
}
