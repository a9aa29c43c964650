//! A power of many numbers with one exponent, as the nodes of a tether ask for in a power-law wind: less than half the time of the
//! library's call, and several nodes side by side.
//!
//! With x = 2^e c (1 + δ), c the middle of the eighth of 1..2 that holds the mantissa, x^a = 2^(ea) c^a (1 + δ)^a: two factors from
//! tables and the binomial series, |δ| ≤ 1/17.

use wide::f64x4;

use crate::lane::Lane;

/// Terms of the binomial series; the first one left out is below 4e-17 for exponents from 0 to 1.
const TERMS_COUNT: usize = 12;
/// Parts of the mantissa's range.
const PARTS_COUNT: usize = 8;
/// Powers of two in the table, and the lowest: from 2⁻⁸ to below 2¹⁶.
const TWOS_COUNT: usize = 24;
const LOWEST_TWO: u64 = 1023 - 8;
const MANTISSA_BITS: u32 = 52;
const PART_BITS: u32 = MANTISSA_BITS - 3;
/// Bits of the mantissa, of the part it lies in, of the number 1, and of the middle of the part that begins there.
const MANTISSA: u64 = (1 << MANTISSA_BITS) - 1;
const PART: u64 = MANTISSA & !((1 << PART_BITS) - 1);
const ONE: u64 = 1023 << MANTISSA_BITS;
const ONE_AND_HALF_A_PART: u64 = ONE | (1 << (PART_BITS - 1));

/// x^a for one exponent a from 0 to 1 and x ≥ 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Power {
    exponent: f64,
    twos: [f64; TWOS_COUNT],
    parts: [f64; PARTS_COUNT],
    binomial: [f64; TERMS_COUNT],
}

impl Power {
    /// With this exponent.
    pub(crate) fn new(exponent: f64) -> Self {
        let mut binomial = [1.0; TERMS_COUNT];
        for k in 1..TERMS_COUNT {
            binomial[k] = binomial[k - 1] * (exponent - (k - 1) as f64) / k as f64;
        }
        let two = |i: usize| ((i as f64 + LOWEST_TWO as f64 - 1023.0) * exponent).exp2();
        Self {
            exponent,
            twos: std::array::from_fn(two),
            parts: std::array::from_fn(|part| middle(part).powf(exponent)),
            binomial,
        }
    }

    /// The exponent.
    pub(crate) fn exponent(&self) -> f64 {
        self.exponent
    }

    /// The power of `x`; from the library where the tables end.
    #[inline]
    pub(crate) fn of(&self, x: f64) -> f64 {
        match self.tabled(x) {
            Some(factor) => factor * self.series(offset(x)),
            None => x.powf(self.exponent),
        }
    }

    /// The powers of four numbers, each as [`Self::of`] gives it.
    #[inline]
    pub(crate) fn of_four(&self, x: f64x4) -> f64x4 {
        let mut factors = [0.0; 4];
        for (factor, one) in factors.iter_mut().zip(x.to_array()) {
            let Some(tabled) = self.tabled(one) else { return f64x4::new(x.to_array().map(|x| self.of(x))) };
            *factor = tabled;
        }
        f64x4::new(factors) * self.series(offsets(x))
    }

    /// 2^(ea) c^a, where the tables hold it.
    #[inline]
    fn tabled(&self, x: f64) -> Option<f64> {
        let bits = x.to_bits();
        let two = self.twos.get((bits >> MANTISSA_BITS).wrapping_sub(LOWEST_TWO) as usize)?;
        Some(two * self.parts[(bits >> PART_BITS) as usize % PARTS_COUNT])
    }

    /// (1 + δ)^a.
    #[inline]
    fn series<T: Lane>(&self, offset: T) -> T {
        let b = |k: usize| T::of(self.binomial[k]);
        // Two interleaved Horner chains: half the latency of one.
        let square = offset * offset;
        let even = ((((b(10) * square + b(8)) * square + b(6)) * square + b(4)) * square + b(2)) * square;
        let odd =
            ((((b(11) * square + b(9)) * square + b(7)) * square + b(5)) * square + b(3)) * square + b(1);
        T::of(1.0) + (odd * offset + even)
    }
}

/// δ of a number: how far its mantissa is from the middle of its part.
#[inline]
fn offset(x: f64) -> f64 {
    let bits = x.to_bits();
    let mantissa = f64::from_bits((bits & MANTISSA) | ONE);
    let middle = f64::from_bits((bits & PART) | ONE_AND_HALF_A_PART);
    (mantissa - middle) / middle
}

/// The same of four numbers.
#[inline]
fn offsets(x: f64x4) -> f64x4 {
    let bits = |bits: u64| f64x4::splat(f64::from_bits(bits));
    let mantissa = (x & bits(MANTISSA)) | bits(ONE);
    let middle = (x & bits(PART)) | bits(ONE_AND_HALF_A_PART);
    (mantissa - middle) / middle
}

/// Middle of a part of 1..2.
const fn middle(part: usize) -> f64 {
    1.0 + (2 * part + 1) as f64 / (2 * PARTS_COUNT) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn prop_powers_are_those_of_the_library(ln in -8.0..14.0_f64, exponent in 0.0..1.0_f64) {
            let (x, power) = (ln.exp(), Power::new(exponent));
            prop_assert!((power.of(x) / x.powf(exponent) - 1.0).abs() < 1e-15);
        }

        #[test]
        fn prop_four_powers_are_those_of_each(ln in prop::array::uniform4(-12.0..14.0_f64), exponent in 0.0..1.0_f64) {
            let (x, power) = (ln.map(f64::exp), Power::new(exponent));
            prop_assert_eq!(power.of_four(f64x4::new(x)).to_array(), x.map(|x| power.of(x)));
        }
    }

    #[test]
    fn powers_hold_at_the_ends_of_every_part_and_outside_the_tables() {
        for exponent in [0.0, 0.05, 0.143, 0.5, 0.9, 1.0] {
            let power = Power::new(exponent);
            for eighths in 8..=64 {
                for x in [f64::from(eighths) / 8.0, (f64::from(eighths) / 8.0).next_down()] {
                    assert!((power.of(x) / x.powf(exponent) - 1.0).abs() < 1e-15, "{x}^{exponent}");
                }
            }
            for x in [1e-9, 1e9] {
                assert!((power.of(x) / x.powf(exponent) - 1.0).abs() < 1e-15, "{x}^{exponent}");
            }
        }
        assert!(Power::new(0.2).of(0.0).abs() < f64::MIN_POSITIVE);
        assert!(Power::new(0.2).of(f64::NAN).is_nan() && Power::new(0.2).of(f64::INFINITY).is_infinite());
    }
}
