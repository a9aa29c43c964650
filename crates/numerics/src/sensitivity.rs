//! Variance-based sensitivities: how much of the spread of an output each uncertain input causes, alone and together with
//! the others.

/// Share of the variance of the output that one input causes.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SensitivityIndex {
    /// By itself: what the variance would lose on average if the input were known.
    pub first_order: f64,
    /// By itself and in every interaction: what would be left if all others were known.
    pub total: f64,
}

/// Sums over samples; two samples that share no coordinate, and the first with one coordinate after the other taken from
/// the second.
#[derive(Debug, Clone, PartialEq)]
pub struct SensitivitySums {
    count: f64,
    /// Of both samples.
    sum: f64,
    sum_of_squares: f64,
    inputs: Vec<InputSums>,
}

/// Sums of one input.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct InputSums {
    change: f64,
    second_times_change: f64,
    change_squared: f64,
}

impl SensitivitySums {
    /// No sample yet.
    pub fn new(inputs_count: usize) -> Self {
        Self { count: 0.0, sum: 0.0, sum_of_squares: 0.0, inputs: vec![InputSums::default(); inputs_count] }
    }

    /// Adds one pair of samples: the output at the first, at the second, and at the first with input i from the second.
    pub fn add(&mut self, first: f64, second: f64, mixed: &[f64]) {
        self.count += 1.0;
        self.sum += first + second;
        self.sum_of_squares += first * first + second * second;
        for (sums, mixed) in self.inputs.iter_mut().zip(mixed) {
            let change = mixed - first;
            sums.change += change;
            sums.second_times_change += second * change;
            sums.change_squared += change * change;
        }
    }

    /// Adds the samples of another part.
    pub fn merge(&mut self, other: &Self) {
        self.count += other.count;
        self.sum += other.sum;
        self.sum_of_squares += other.sum_of_squares;
        for (sums, other) in self.inputs.iter_mut().zip(&other.inputs) {
            sums.change += other.change;
            sums.second_times_change += other.second_times_change;
            sums.change_squared += other.change_squared;
        }
    }

    /// Pairs of samples added.
    pub fn count(&self) -> f64 {
        self.count
    }

    /// Mean of the output over both samples, in its unit (by definition).
    pub fn mean(&self) -> f64 {
        self.sum / (2.0 * self.count).max(1.0)
    }

    /// Variance of the output over both samples, in the square of its unit (by definition).
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        (self.sum_of_squares / (2.0 * self.count).max(1.0) - mean * mean).max(0.0)
    }

    /// Indices of all inputs; none where the output does not vary. First order after A. Saltelli et al. (Computer Physics
    /// Communications 181, 259, 2010, table 2 b), with the mean taken off; total after M. J. W. Jansen (Computer Physics
    /// Communications 117, 35, 1999; table 2 f of the former). An index that is small may come out slightly below 0: that is the
    /// error of the estimate.
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::{sensitivity::SensitivitySums, sobol::Sobol};
    /// // y = 3 a + b: the variances are as 9 to 1.
    /// let sequence = Sobol::scrambled(4, 1).unwrap();
    /// let (mut sums, mut x) = (SensitivitySums::new(2), [0.0; 4]);
    /// for index in 0..1024 {
    ///     sequence.point(index, &mut x);
    ///     let y = |a: f64, b: f64| 3.0 * a + b;
    ///     sums.add(y(x[0], x[1]), y(x[2], x[3]), &[y(x[2], x[1]), y(x[0], x[3])]);
    /// }
    /// let indices = sums.indices().unwrap();
    /// assert!((indices[0].first_order - 0.9).abs() < 0.01 && (indices[1].total - 0.1).abs() < 0.01);
    /// ```
    pub fn indices(&self) -> Option<Vec<SensitivityIndex>> {
        let (mean, variance) = (self.mean(), self.variance());
        // Rounding leaves this much variance where there is none.
        if self.count == 0.0 || variance <= 1e-14 * mean * mean {
            return None;
        }
        let index = |sums: &InputSums| SensitivityIndex {
            first_order: (sums.second_times_change - mean * sums.change) / (self.count * variance),
            total: 0.5 * sums.change_squared / (self.count * variance),
        };
        Some(self.inputs.iter().map(index).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_added_to_the_output_changes_no_index() {
        // The indices are ratios of variances. A seeded walk stands in for samples: the identity holds for any.
        let indices = |offset: f64| {
            let (mut sums, mut x) = (SensitivitySums::new(2), 0.1234_f64);
            let mut next = || {
                x = (x * 997.0 + 0.317).fract();
                x
            };
            let y = |a: f64, b: f64| offset + 3.0 * a + b * b;
            for _ in 0..500 {
                let (a, b, c, d) = (next(), next(), next(), next());
                sums.add(y(a, b), y(c, d), &[y(c, b), y(a, d)]);
            }
            sums.indices().unwrap()
        };
        for (plain, lifted) in indices(0.0).iter().zip(&indices(50.0)) {
            assert!((plain.first_order - lifted.first_order).abs() < 1e-8, "{plain:?} {lifted:?}");
            assert!((plain.total - lifted.total).abs() < 1e-8, "{plain:?} {lifted:?}");
        }
    }

    #[test]
    fn an_output_that_does_not_vary_has_no_indices() {
        let mut sums = SensitivitySums::new(1);
        assert_eq!(sums.indices(), None);
        for _ in 0..10 {
            sums.add(3.7, 3.7, &[3.7]);
        }
        assert_eq!(sums.indices(), None);
    }

    #[test]
    fn parts_add_up() {
        let pair = |i: i32| (f64::from(i).sin(), f64::from(i).cos(), [f64::from(i * i).sin()]);
        let (mut whole, mut left, mut right) =
            (SensitivitySums::new(1), SensitivitySums::new(1), SensitivitySums::new(1));
        for i in 0..100 {
            let (first, second, mixed) = pair(i);
            whole.add(first, second, &mixed);
            if i < 40 { &mut left } else { &mut right }.add(first, second, &mixed);
        }
        left.merge(&right);
        assert_eq!(left.count(), 100.0);
        let (a, b) = (whole.indices().unwrap()[0], left.indices().unwrap()[0]);
        assert!((a.first_order - b.first_order).abs() < 1e-12 && (a.total - b.total).abs() < 1e-12);
    }
}
