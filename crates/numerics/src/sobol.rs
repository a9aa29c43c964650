//! Low-discrepancy points of the unit cube: an index in, one point out, so that any thread can draw any part.

mod directions;

use directions::DIRECTIONS;

use crate::domain::{OutOfRange, in_range};

/// Binary digits of a coordinate.
const BITS: usize = 32;

/// Most dimensions of a sequence.
pub const MOST_DIMENSIONS: usize = DIRECTIONS.len() + 1;

/// A Sobol sequence (I. M. Sobol, USSR Computational Mathematics and Mathematical Physics 7, 86, 1967) in the order of
/// the Gray code (I. A. Antonov, V. M. Saleev, same journal, 19, 252, 1979) with the direction numbers of Joe and Kuo
/// (2008). Any 2^m points in a row from a multiple of 2^m on fill the cube evenly; other counts less so.
#[derive(Debug, Clone, PartialEq)]
pub struct Sobol {
    directions: Vec<[u32; BITS]>,
    /// Added digit by digit; none leaves the published points as they are.
    shifts: Option<Vec<u32>>,
}

impl Sobol {
    /// The published sequence, whose first point is the corner 0.
    ///
    /// # Errors
    /// [`OutOfRange`] for no dimension or more than [`MOST_DIMENSIONS`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::sobol::Sobol;
    /// let sequence = Sobol::new(3).unwrap();
    /// let mut point = [0.0; 3];
    /// sequence.point(4, &mut point);
    /// assert_eq!(point, [0.375, 0.375, 0.625]);
    /// ```
    pub fn new(dimensions_count: usize) -> Result<Self, OutOfRange> {
        in_range("dimensions of a Sobol sequence", "", dimensions_count as f64, 1.0, MOST_DIMENSIONS as f64)?;
        Ok(Self { directions: (0..dimensions_count).map(direction_numbers).collect(), shifts: None })
    }

    /// The sequence scrambled by a random lower triangular matrix and a random shift for each dimension (J. Matoušek,
    /// Journal of Complexity 14, 527, 1998). It is as even as the published one, each point alone is uniform, and no
    /// coordinate is 0 or 1. The same seed gives the same points.
    ///
    /// # Errors
    /// As [`Self::new`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_numerics::sobol::Sobol;
    /// let sequence = Sobol::scrambled(2, 1).unwrap();
    /// let mut point = [0.0; 2];
    /// // Eight points in a row from 0 on fall into eight different eighths of each axis.
    /// let mut eighths = (0..8).map(|i| { sequence.point(i, &mut point); (8.0 * point[1]) as u32 }).collect::<Vec<_>>();
    /// eighths.sort();
    /// assert_eq!(eighths, [0, 1, 2, 3, 4, 5, 6, 7]);
    /// ```
    pub fn scrambled(dimensions_count: usize, seed: u64) -> Result<Self, OutOfRange> {
        let mut plain = Self::new(dimensions_count)?;
        let mut random = SplitMix::new(seed);
        let mut shifts = Vec::with_capacity(dimensions_count);
        for numbers in &mut plain.directions {
            let rows: [u32; BITS] = std::array::from_fn(|digit| triangular_row(digit, random.next_u32()));
            for number in numbers.iter_mut() {
                *number = product(&rows, *number);
            }
            shifts.push(random.next_u32());
        }
        Ok(Self { shifts: Some(shifts), ..plain })
    }

    /// Dimensions of a point.
    pub fn dimensions_count(&self) -> usize {
        self.directions.len()
    }

    /// Writes point `index` into `coordinates`: 0 ≤ x < 1, and 0 < x < 1 if scrambled. Coordinates beyond the
    /// dimensions stay as they are.
    pub fn point(&self, index: u32, coordinates: &mut [f64]) {
        let gray = index ^ (index >> 1);
        for (dimension, (coordinate, numbers)) in coordinates.iter_mut().zip(&self.directions).enumerate() {
            let mut digits = 0;
            let mut rest = gray;
            while rest != 0 {
                digits ^= numbers[rest.trailing_zeros() as usize];
                rest &= rest - 1;
            }
            *coordinate = match &self.shifts {
                None => f64::from(digits) * UNIT,
                // The middle of the smallest interval.
                Some(shifts) => (f64::from(digits ^ shifts[dimension]) + 0.5) * UNIT,
            };
        }
    }
}

/// 2^-32.
const UNIT: f64 = 1.0 / 4_294_967_296.0;

/// Direction numbers of a dimension, digit 1 in the highest bit.
fn direction_numbers(dimension: usize) -> [u32; BITS] {
    let mut numbers = std::array::from_fn(|k| 1 << (BITS - 1 - k));
    let Some((polynomial, initial)) = dimension.checked_sub(1).and_then(|row| DIRECTIONS.get(row)) else {
        return numbers;
    };
    let degree = initial.len();
    for (k, m) in initial.iter().enumerate() {
        numbers[k] = m << (BITS - 1 - k);
    }
    for k in degree..BITS {
        let mut number = numbers[k - degree] ^ (numbers[k - degree] >> degree);
        for lag in 1..degree {
            if polynomial >> (degree - lag) & 1 == 1 {
                number ^= numbers[k - lag];
            }
        }
        numbers[k] = number;
    }
    numbers
}

/// Row of a lower triangular matrix with ones on its diagonal; digit 0 is the highest bit.
fn triangular_row(digit: usize, random: u32) -> u32 {
    let diagonal = 1_u32 << (BITS - 1 - digit);
    let before = !(diagonal | (diagonal - 1));
    (random & before) | diagonal
}

/// Matrix times digits, modulo 2.
fn product(rows: &[u32; BITS], digits: u32) -> u32 {
    rows.iter()
        .enumerate()
        .fold(0, |result, (digit, row)| result | (((row & digits).count_ones() & 1) << (BITS - 1 - digit)))
}

/// The generator SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom number generators,
/// OOPSLA 2014): the same seed gives the same numbers everywhere.
#[derive(Debug, Clone)]
struct SplitMix {
    state: u64,
}

impl SplitMix {
    fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    fn next_u32(&mut self) -> u32 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 32) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn points(sequence: &Sobol, indices: std::ops::Range<u32>) -> Vec<Vec<f64>> {
        indices
            .map(|index| {
                let mut point = vec![0.0; sequence.dimensions_count()];
                sequence.point(index, &mut point);
                point
            })
            .collect()
    }

    #[test]
    fn numbers_of_the_generator_are_the_published_ones() {
        // First output of SplitMix64 for seed 1234567: 6457827717110365317 (Rosetta Code, "Pseudo-random numbers/Splitmix64").
        assert_eq!(SplitMix::new(1_234_567).next_u32(), (6_457_827_717_110_365_317_u64 >> 32) as u32);
    }

    #[test]
    fn dimensions_out_of_range_are_refused() {
        assert!(Sobol::new(0).is_err() && Sobol::new(MOST_DIMENSIONS + 1).is_err());
        assert!(Sobol::scrambled(MOST_DIMENSIONS, 7).is_ok());
    }

    #[test]
    fn seeds_differ_and_repeat() {
        let first = points(&Sobol::scrambled(3, 5).unwrap(), 0..4);
        assert_eq!(first, points(&Sobol::scrambled(3, 5).unwrap(), 0..4));
        assert_ne!(first, points(&Sobol::scrambled(3, 6).unwrap(), 0..4));
    }

    #[test]
    fn evenness_beats_random_draws() {
        // The mean of (x − 1/2)² is 1/12.
        let sequence = Sobol::scrambled(20, 3).unwrap();
        let sum: f64 = points(&sequence, 0..4096)
            .iter()
            .map(|p| p.iter().map(|x| (x - 0.5) * (x - 0.5)).sum::<f64>())
            .sum();
        // Random draws would be off by about sqrt(20/180)/64 = 0.005.
        assert!((sum / 4096.0 - 20.0 / 12.0).abs() < 1e-4);
    }

    proptest! {
        #[test]
        fn prop_each_stratum_is_hit_once(seed: u64, power in 1_u32..11, dimension in 0..MOST_DIMENSIONS) {
            let sequence = Sobol::scrambled(MOST_DIMENSIONS, seed).unwrap();
            let count = 1 << power;
            let mut hit = vec![false; count];
            for point in points(&sequence, 0..count as u32) {
                let stratum = (point[dimension] * count as f64) as usize;
                prop_assert!(!hit[stratum]);
                hit[stratum] = true;
            }
        }

        #[test]
        fn prop_coordinates_are_inside(seed: u64, index: u32) {
            let sequence = Sobol::scrambled(8, seed).unwrap();
            for point in points(&sequence, index..index.saturating_add(1)) {
                prop_assert!(point.iter().all(|x| *x > 0.0 && *x < 1.0));
            }
        }
    }
}
