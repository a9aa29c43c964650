//! Sensitivities of the margin and of the verdict to each uncertain number.

use std::ops::Range;

use beamstay_numerics::sensitivity::SensitivitySums;
use serde::Serialize;

use super::draw::{Drawing, compute};

/// Parts of the samples whose spread gives the error of an index.
const PARTS_COUNT: usize = 16;

/// Sums over the margin, W, and over the verdict, 1 where the plan closes.
#[derive(Debug, Clone)]
pub struct Sums {
    margin: SensitivitySums,
    verdict: SensitivitySums,
    /// Samples without a margin at one of their points; they count for the verdict alone.
    pub without_margin_count: u64,
}

/// Sensitivities of one output to one number.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Index {
    /// Share of the variance that the number causes by itself.
    pub first_order_ratio: f64,
    /// Standard error of that.
    pub first_order_error_ratio: f64,
    /// Share that it causes by itself and together with others.
    pub total_ratio: f64,
    /// Standard error of that.
    pub total_error_ratio: f64,
}

impl Sums {
    /// No sample yet.
    pub fn new(numbers_count: usize) -> Self {
        Self {
            margin: SensitivitySums::new(numbers_count),
            verdict: SensitivitySums::new(numbers_count),
            without_margin_count: 0,
        }
    }

    fn merge(&mut self, other: &Self) {
        self.margin.merge(&other.margin);
        self.verdict.merge(&other.verdict);
        self.without_margin_count += other.without_margin_count;
    }
}

impl Drawing<'_> {
    /// Sums over a range of base samples. Each costs two more points than there are numbers.
    pub fn sums(&self, range: Range<u32>) -> Sums {
        let count = self.numbers.len();
        let mut worker = self.study.worker();
        let mut sums = Sums::new(count);
        let mut point = vec![0.0; 2 * count];
        let (mut first, mut second) = (vec![0.0; count], vec![0.0; count]);
        for index in range {
            self.sequence.point(index, &mut point);
            self.values(&point[..count], &mut first);
            self.values(&point[count..], &mut second);
            let at_first = compute(&mut worker, &first);
            let mixed: Vec<_> = (0..count)
                .map(|number| {
                    let kept = std::mem::replace(&mut first[number], second[number]);
                    let draw = compute(&mut worker, &first);
                    first[number] = kept;
                    draw
                })
                .collect();
            let at_second = compute(&mut worker, &second);
            let verdict = |closes: bool| f64::from(u8::from(closes));
            let verdicts: Vec<f64> = mixed.iter().map(|draw| verdict(draw.closes)).collect();
            sums.verdict.add(verdict(at_first.closes), verdict(at_second.closes), &verdicts);
            let margins: Option<Vec<f64>> = mixed.iter().map(|draw| draw.margin_w).collect();
            match (at_first.margin_w, at_second.margin_w, margins) {
                (Some(first), Some(second), Some(mixed)) => sums.margin.add(first, second, &mixed),
                _ => sums.without_margin_count += 1,
            }
        }
        sums
    }
}

/// Sums of all pieces, kept as a few parts in their order.
#[derive(Debug, Clone)]
pub struct Parts {
    parts: Vec<Sums>,
    pieces_count: usize,
    numbers_count: usize,
}

/// Sensitivities of one output: one for every number, or none where the output does not vary.
pub type Indices = Vec<Option<Index>>;

impl Parts {
    /// No piece yet of `pieces_count`.
    pub fn new(numbers_count: usize, pieces_count: usize) -> Self {
        let count = PARTS_COUNT.min(pieces_count).max(1);
        Self { parts: vec![Sums::new(numbers_count); count], pieces_count, numbers_count }
    }

    /// Adds the piece at a place.
    pub fn add(&mut self, place: usize, piece: &Sums) {
        let part = place * self.parts.len() / self.pieces_count.max(1);
        if let Some(part) = self.parts.get_mut(part) {
            part.merge(piece);
        }
    }

    /// Samples without a margin, and the indices of margin and verdict.
    pub fn indices(&self) -> (u64, Indices, Indices) {
        let mut all = Sums::new(self.numbers_count);
        self.parts.iter().for_each(|part| all.merge(part));
        let of = |select: fn(&Sums) -> &SensitivitySums| {
            let parts: Vec<&SensitivitySums> = self.parts.iter().map(select).collect();
            with_errors(select(&all), &parts, self.numbers_count)
        };
        (all.without_margin_count, of(|sums| &sums.margin), of(|sums| &sums.verdict))
    }
}

/// Indices of all samples, with the standard error that the spread among parts of them suggests. Low-discrepancy points in
/// all do better than their parts, so that the error is rather too large.
fn with_errors(all: &SensitivitySums, parts: &[&SensitivitySums], count: usize) -> Indices {
    let Some(indices) = all.indices() else { return vec![None; count] };
    let of_parts: Vec<_> = parts.iter().filter_map(|part| part.indices()).collect();
    let error = |value: &dyn Fn(usize) -> f64| {
        let n = of_parts.len() as f64;
        let mean = (0..of_parts.len()).map(value).sum::<f64>() / n.max(1.0);
        let squares = (0..of_parts.len()).map(|part| (value(part) - mean).powi(2)).sum::<f64>();
        // One part alone says nothing of the error: the whole share is unsure.
        if n > 1.0 { (squares / (n * (n - 1.0))).sqrt() } else { 1.0 }
    };
    indices
        .iter()
        .enumerate()
        .map(|(number, index)| {
            Some(Index {
                first_order_ratio: index.first_order,
                first_order_error_ratio: error(&|part| of_parts[part][number].first_order),
                total_ratio: index.total,
                total_error_ratio: error(&|part| of_parts[part][number].total),
            })
        })
        .collect()
}
