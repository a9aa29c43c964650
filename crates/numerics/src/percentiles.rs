//! Percentiles of a stream of numbers in memory that does not grow with their count.

/// Largest relative error of a percentile.
pub const RELATIVE_ERROR: f64 = 5e-4;
/// Sizes that are told apart, from the smallest to the largest.
const SIZES: (f64, f64) = (1e-6, 1e12);

/// Counts of numbers in bins whose width grows in proportion to the number (after C. Masson, J. E. Rim, H. K. Lee,
/// DDSketch, Proceedings of the VLDB Endowment 12, 2195, 2019): any percentile is known to a part in 2,000 of itself. Below
/// 1e-6 a number counts as 0. Counts are whole, so that the order in which numbers come changes nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Percentiles {
    /// Negative numbers from the largest size to the smallest, zeros, positive numbers.
    counts: Vec<u64>,
    absent_count: u64,
    total_count: u64,
    least: f64,
    greatest: f64,
}

/// Growth of the bins.
fn growth_ln() -> f64 {
    ((1.0 + RELATIVE_ERROR) / (1.0 - RELATIVE_ERROR)).ln()
}

/// Bins on one side of 0.
fn side_bins() -> usize {
    ((SIZES.1 / SIZES.0).ln() / growth_ln()).ceil() as usize + 1
}

impl Default for Percentiles {
    fn default() -> Self {
        Self {
            counts: vec![0; 2 * side_bins() + 1],
            absent_count: 0,
            total_count: 0,
            least: f64::INFINITY,
            greatest: f64::NEG_INFINITY,
        }
    }
}

impl Percentiles {
    /// Counts a number. One that is absent, or not a number, counts as below all others.
    pub fn add(&mut self, value: Option<f64>) {
        self.total_count += 1;
        match value.filter(|v| !v.is_nan()) {
            None => self.absent_count += 1,
            Some(value) => {
                self.least = self.least.min(value);
                self.greatest = self.greatest.max(value);
                let bin = Self::bin(value);
                self.counts[bin] += 1;
            }
        }
    }

    /// Numbers counted, absent ones too.
    pub fn count(&self) -> u64 {
        self.total_count
    }

    /// Numbers that were absent.
    pub fn absent_count(&self) -> u64 {
        self.absent_count
    }

    /// Smallest and largest number; none if all were absent.
    pub fn range(&self) -> Option<(f64, f64)> {
        (self.total_count > self.absent_count).then_some((self.least, self.greatest))
    }

    /// The number that `share` (0 to 1) of all do not exceed: the smallest whose rank is at least share times count
    /// (R. J. Hyndman, Y. Fan, The American Statistician 50, 361, 1996, definition 1); absent where that is an absent one,
    /// or nothing was counted.
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::percentiles::Percentiles;
    /// let mut hundred = Percentiles::default();
    /// (1..=100).for_each(|i| hundred.add(Some(f64::from(i))));
    /// assert!((hundred.at(0.05).unwrap() - 5.0).abs() < 5.0 * 5e-4);
    /// assert_eq!(hundred.at(1.0), Some(100.0));
    /// ```
    pub fn at(&self, share: f64) -> Option<f64> {
        let rank = ((share * self.total_count as f64).ceil() as u64).clamp(1, self.total_count.max(1));
        let mut passed = self.absent_count;
        if rank <= passed {
            return None;
        }
        if rank == self.total_count {
            return self.range().map(|(_, greatest)| greatest);
        }
        for (bin, count) in self.counts.iter().enumerate() {
            passed += count;
            if passed >= rank {
                return Some(Self::middle(bin).clamp(self.least, self.greatest));
            }
        }
        None
    }

    /// Share of the numbers in each of `bins_count` (at least 1) bins of equal width from `low` to `high`; what lies beyond
    /// the ends is left out. Exact but for numbers within a part in 2,000 of an edge.
    pub fn histogram(&self, low: f64, high: f64, bins_count: usize) -> Vec<f64> {
        let mut shares = vec![0.0; bins_count.max(1)];
        let width = (high - low) / shares.len() as f64;
        for (bin, count) in self.counts.iter().enumerate().filter(|(_, count)| **count > 0) {
            let value = Self::middle(bin).clamp(self.least, self.greatest);
            if value >= low && value <= high && width > 0.0 {
                let place = (((value - low) / width) as usize).min(shares.len() - 1);
                shares[place] += *count as f64 / self.total_count as f64;
            }
        }
        shares
    }

    fn bin(value: f64) -> usize {
        let side = side_bins();
        if value.abs() < SIZES.0 {
            return side;
        }
        let steps = ((value.abs().min(SIZES.1) / SIZES.0).ln() / growth_ln()).floor() as usize;
        let steps = steps.min(side - 1);
        if value > 0.0 { side + 1 + steps } else { side - 1 - steps }
    }

    /// The number that is the same part away from both edges of a bin.
    fn middle(bin: usize) -> f64 {
        let side = side_bins();
        let size = |steps: usize| SIZES.0 * (growth_ln() * steps as f64).exp() * (1.0 + RELATIVE_ERROR);
        match bin.cmp(&side) {
            std::cmp::Ordering::Less => -size(side - 1 - bin),
            std::cmp::Ordering::Equal => 0.0,
            std::cmp::Ordering::Greater => size(bin - side - 1),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_counted_has_no_percentile() {
        let empty = Percentiles::default();
        assert_eq!((empty.at(0.5), empty.range(), empty.count()), (None, None, 0));
    }

    #[test]
    fn absent_numbers_stand_below_all() {
        let mut some = Percentiles::default();
        some.add(None);
        some.add(Some(f64::NAN));
        some.add(Some(-3.0));
        some.add(Some(7.0));
        assert_eq!(some.at(0.5), None);
        assert!((some.at(0.75).unwrap() + 3.0).abs() < 3.0 * RELATIVE_ERROR);
        assert_eq!(some.range(), Some((-3.0, 7.0)));
    }

    #[test]
    fn all_numbers_are_in_some_bin() {
        let mut all = Percentiles::default();
        for value in [f64::MAX, f64::MIN, 1e12, -1e12, 1e-6, 0.0, -0.0, 1e-300, f64::INFINITY] {
            all.add(Some(value));
        }
        assert_eq!(all.counts.iter().sum::<u64>(), 9);
    }

    #[test]
    fn the_histogram_holds_all_shares() {
        let mut numbers = Percentiles::default();
        (0..1000).for_each(|i| numbers.add(Some(0.1 * f64::from(i) - 20.0)));
        let shares = numbers.histogram(-20.0, 80.0, 10);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        assert!(shares.iter().all(|s| (s - 0.1).abs() < 0.002), "{shares:?}");
    }

    proptest! {
        #[test]
        fn prop_within_its_error_of_the_sorted_numbers(
            mut values in prop::collection::vec(-1e6..1e6_f64, 1..200),
            share in 0.0..=1.0_f64,
        ) {
            let mut counted = Percentiles::default();
            values.iter().for_each(|v| counted.add(Some(*v)));
            values.sort_by(f64::total_cmp);
            let rank = ((share * values.len() as f64).ceil() as usize).clamp(1, values.len());
            let exact = values[rank - 1];
            prop_assert!((counted.at(share).unwrap() - exact).abs() <= 1.01 * RELATIVE_ERROR * exact.abs() + 1e-6);
        }
    }
}
