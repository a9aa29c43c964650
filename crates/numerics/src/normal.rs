//! The standard normal distribution: cumulative probability and its inverse.

#![allow(clippy::excessive_precision, reason = "the digits are those of the publication")]

use std::f64::consts::FRAC_1_SQRT_2;

/// Probability that a standard normal variable is at most `x`: erfc(−x/√2)/2 (Abramowitz and Stegun, 26.2.29).
///
/// # Examples
/// ```
/// let p = beamstay_numerics::normal::cumulative(1.959_963_984_540_054);
/// assert!((p - 0.975).abs() < 1e-15);
/// ```
pub fn cumulative(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// The value that a standard normal variable stays below with `probability`; −∞ at 0, +∞ at 1, NaN outside. Algorithm
/// AS 241, PPND16 (M. J. Wichura, Applied Statistics 37, 477, 1988): relative error about 1e-16.
///
/// # Examples
/// ```
/// let x = beamstay_numerics::normal::quantile(0.975);
/// assert!((x - 1.959_963_984_540_054).abs() < 1e-15);
/// ```
pub fn quantile(probability: f64) -> f64 {
    if !(0.0..=1.0).contains(&probability) {
        return f64::NAN;
    }
    let q = probability - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(0.180_625 - q * q, &A, &B);
    }
    let tail = if q < 0.0 { probability } else { 1.0 - probability };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 { ratio(r - 1.6, &C, &D) } else { ratio(r - 5.0, &E, &F) };
    size.copysign(q)
}

/// Ratio of two polynomials, lowest power first.
fn ratio(x: f64, numerator: &[f64; 8], denominator: &[f64; 8]) -> f64 {
    let horner = |terms: &[f64; 8]| terms.iter().rev().fold(0.0, |sum, term| sum * x + term);
    horner(numerator) / horner(denominator)
}

const A: [f64; 8] = [
    3.387_132_872_796_366_608,
    133.141_667_891_784_377_45,
    1_971.590_950_306_551_442_7,
    13_731.693_765_509_461_125,
    45_921.953_931_549_871_457,
    67_265.770_927_008_700_853,
    33_430.575_583_588_128_105,
    2_509.080_928_730_122_672_7,
];
const B: [f64; 8] = [
    1.0,
    42.313_330_701_600_911_252,
    687.187_007_492_057_908_3,
    5_394.196_021_424_751_107_7,
    21_213.794_301_586_595_867,
    39_307.895_800_092_710_61,
    28_729.085_735_721_942_674,
    5_226.495_278_852_854_561,
];
const C: [f64; 8] = [
    1.423_437_110_749_683_577_34,
    4.630_337_846_156_545_295_9,
    5.769_497_221_460_691_405_5,
    3.647_848_324_763_204_605_04,
    1.270_458_252_452_368_382_58,
    0.241_780_725_177_450_611_77,
    0.022_723_844_989_269_184_583_3,
    7.745_450_142_783_414_076_4e-4,
];
const D: [f64; 8] = [
    1.0,
    2.053_191_626_637_758_821_87,
    1.676_384_830_183_803_849_4,
    0.689_767_334_985_100_004_55,
    0.148_103_976_427_480_074_59,
    0.015_198_666_563_616_457_196_6,
    5.475_938_084_995_344_946e-4,
    1.050_750_071_644_416_843_24e-9,
];
const E: [f64; 8] = [
    6.657_904_643_501_103_777_2,
    5.463_784_911_164_114_369_9,
    1.784_826_539_917_291_335_8,
    0.296_560_571_828_504_891_23,
    0.026_532_189_526_576_123_093,
    1.242_660_947_388_078_438_6e-3,
    2.711_555_568_743_487_578_15e-5,
    2.010_334_399_292_288_132_65e-7,
];
const F: [f64; 8] = [
    1.0,
    0.599_832_206_555_887_937_69,
    0.136_929_880_922_735_805_31,
    0.014_875_361_290_850_615_025,
    7.868_691_311_456_132_591e-4,
    1.846_318_317_510_054_681_8e-5,
    1.421_511_758_316_445_888_7e-7,
    2.044_263_103_389_939_785_64e-15,
];

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ends_are_infinite_and_outside_is_no_number() {
        assert_eq!(quantile(0.0), f64::NEG_INFINITY);
        assert_eq!(quantile(1.0), f64::INFINITY);
        assert!(quantile(-0.1).is_nan() && quantile(1.1).is_nan() && quantile(f64::NAN).is_nan());
        assert_eq!(quantile(0.5), 0.0);
    }

    #[test]
    fn branches_join() {
        for edge in [0.075, 0.925, (-25.0_f64).exp()] {
            let (below, above) = (quantile(edge * (1.0 - 1e-12)), quantile(edge * (1.0 + 1e-12)));
            assert!((above - below).abs() < 1e-10, "{edge}: {below} {above}");
        }
    }

    proptest! {
        #[test]
        fn prop_inverse_of_the_cumulative(x in -8.0..5.0_f64) {
            // Above 5 the probability itself has lost the digits.
            prop_assert!((quantile(cumulative(x)) - x).abs() < 1e-9);
        }
    }
}
