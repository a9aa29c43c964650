//! How sure a counted proportion is.

use crate::{
    domain::{OutOfRange, in_range},
    normal,
};

/// Lower and upper end of the Wilson score interval for `successes_count` out of `trials_count` at a `confidence_ratio`
/// (0 to 1, such as 0.95), from independent trials (E. B. Wilson, Journal of the American Statistical Association 22, 209,
/// 1927). Unlike the plain interval it stays inside 0 to 1 and is not empty where no trial, or each, succeeds.
///
/// # Errors
/// [`OutOfRange`] for no trial, more successes than trials, or a confidence that is not between 0 and 1.
///
/// # Examples
/// ```
/// let (low, high) = beamstay_numerics::proportion::wilson(0, 20, 0.95).unwrap();
/// assert!(low == 0.0 && (high - 0.161125).abs() < 1e-6);
/// ```
pub fn wilson(
    successes_count: u64,
    trials_count: u64,
    confidence_ratio: f64,
) -> Result<(f64, f64), OutOfRange> {
    let n = in_range("trials", "", trials_count as f64, 1.0, u64::MAX as f64)?;
    let p = in_range("successes", "", successes_count as f64, 0.0, n)? / n;
    in_range("confidence", "", confidence_ratio, 1e-6, 1.0 - 1e-12)?;
    let z = normal::quantile(0.5 + 0.5 * confidence_ratio);
    let share = z * z / n;
    let middle = (p + 0.5 * share) / (1.0 + share);
    let half = z * (p * (1.0 - p) / n + 0.25 * share / n).sqrt() / (1.0 + share);
    // Both ends are exact where nothing or everything succeeds.
    let low = if successes_count == 0 { 0.0 } else { (middle - half).max(0.0) };
    let high = if successes_count == trials_count { 1.0 } else { (middle + half).min(1.0) };
    Ok((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn senseless_counts_are_refused() {
        assert!(wilson(0, 0, 0.95).is_err());
        assert!(wilson(3, 2, 0.95).is_err());
        assert!(wilson(1, 2, 1.0).is_err());
    }

    proptest! {
        #[test]
        fn prop_holds_the_share_and_mirrors(n in 1_u64..1_000_000, part in 0.0..=1.0_f64) {
            let k = (part * n as f64) as u64;
            let (low, high) = wilson(k, n, 0.95).unwrap();
            let share = k as f64 / n as f64;
            prop_assert!(0.0 <= low && low <= share && share <= high && high <= 1.0);
            let (mirror_low, mirror_high) = wilson(n - k, n, 0.95).unwrap();
            prop_assert!((low - (1.0 - mirror_high)).abs() < 1e-12 && (high - (1.0 - mirror_low)).abs() < 1e-12);
        }

        /// Wilson's own condition: seen from either end, the share counted lies z deviations of that end away.
        #[test]
        fn prop_each_end_is_z_deviations_from_the_share(n in 1_u64..1_000_000, part in 0.0..=1.0_f64) {
            const Z: f64 = 1.959_963_984_540_054;
            let k = (part * n as f64) as u64;
            let (low, high) = wilson(k, n, 0.95).unwrap();
            let share = k as f64 / n as f64;
            for end in [low, high] {
                let off = (share - end) * (share - end) * n as f64 - Z * Z * end * (1.0 - end);
                prop_assert!(off.abs() < 1e-10, "{k} of {n}: {end} {off:e}");
            }
        }
    }
}
