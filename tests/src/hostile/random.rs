//! Numbers from a seed.

/// xorshift64* (Vigna 2016), its seed spread by SplitMix64 so that neighbouring seeds have nothing in common.
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

    /// One of a list that is not empty.
    pub fn pick<'a, T: ?Sized>(&mut self, list: &[&'a T]) -> &'a T {
        list[self.below(list.len())]
    }

    /// Between two numbers, by their logarithms where both are above 0, half of the time.
    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        if lo > 0.0 && self.chance(0.5) {
            (lo.ln() + (hi.ln() - lo.ln()) * self.unit()).exp().clamp(lo, hi)
        } else {
            (lo + (hi - lo) * self.unit()).clamp(lo, hi)
        }
    }
}
