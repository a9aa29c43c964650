//! Points of drawn scenarios, piece by piece: the same pieces whatever the number of threads, and folded in their order.

use std::ops::Range;

use beamstay_numerics::{percentiles::Percentiles, sobol::Sobol};

use super::uncertain::UncertainNumber;
use crate::{
    limit::LimitCode,
    study::{Study, Worker, standing},
};

/// What a draw came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// Whether every limit holds.
    pub closes: bool,
    /// Whether the point could not be computed; it counts as one that does not close.
    pub failed: bool,
    /// Power available less the demand, W; none where the vehicle finds no balance or the tether does not hang.
    pub margin_w: Option<f64>,
    /// Least margin of all limits, as [`standing`] has it.
    pub level: f64,
    /// Limits that are broken, one bit each in the order of [`LimitCode::ALL`].
    broken: u64,
    /// Place of the tightest limit in the same order.
    tightest: Option<usize>,
    /// Numbers that were set to the end of their range, one bit each.
    clipped: u64,
}

/// Draws of a scenario.
pub struct Drawing<'a> {
    /// The scenario with its uncertain numbers as inputs.
    pub study: &'a Study,
    /// The numbers.
    pub numbers: &'a [UncertainNumber],
    /// The points; twice as many dimensions as numbers.
    pub sequence: &'a Sobol,
}

impl Drawing<'_> {
    /// Draws a range of points. They are computed in the order of the wind, which moves a tether most, so that each begins from
    /// a neighbour.
    pub fn piece(&self, range: Range<u32>) -> Vec<Draw> {
        let mut worker = self.study.worker();
        let mut point = vec![0.0; self.numbers.len()];
        let mut drawn: Vec<(u64, Vec<f64>)> = range
            .map(|index| {
                self.sequence.point(index, &mut point);
                let mut values = vec![0.0; self.numbers.len()];
                (self.values(&point, &mut values), values)
            })
            .collect();
        let is_wind = |number: &UncertainNumber| {
            number.input.pointer.starts_with("/site/") && number.input.unit == "m/s"
        };
        if let Some(wind) = self.numbers.iter().position(is_wind) {
            drawn.sort_by(|a, b| a.1[wind].total_cmp(&b.1[wind]));
        }
        drawn
            .iter()
            .map(|(clipped, values)| Draw { clipped: *clipped, ..compute(&mut worker, values) })
            .collect()
    }

    /// Values at a point of the unit cube; one bit for each that was set to the end of its range.
    pub fn values(&self, point: &[f64], values: &mut [f64]) -> u64 {
        let mut clipped = 0;
        for (index, (number, (probability, value))) in
            self.numbers.iter().zip(point.iter().zip(values)).enumerate()
        {
            let (drawn, outside) = number.draw(*probability);
            *value = drawn;
            clipped |= u64::from(outside) << index;
        }
        clipped
    }
}

/// The point with the inputs at `values`.
pub fn compute(worker: &mut Worker<'_>, values: &[f64]) -> Draw {
    let outcome = worker.evaluate(values);
    let standing = standing(&outcome);
    let place = |code: LimitCode| LimitCode::ALL.iter().position(|known| *known == code);
    let tightest = standing.code.and_then(place);
    let nothing = Draw {
        closes: false,
        failed: true,
        margin_w: None,
        level: standing.level,
        broken: 0,
        tightest,
        clipped: 0,
    };
    let Ok(point) = outcome else { return nothing };
    let broken = point
        .limits
        .iter()
        .filter(|row| !row.ok)
        .filter_map(|row| place(row.code))
        .fold(0, |bits, place| bits | 1_u64 << place);
    Draw { closes: point.feasible, failed: false, margin_w: point.margin_w, broken, ..nothing }
}

/// Counts over draws, in memory that does not grow with them.
#[derive(Debug, Clone)]
pub struct Tally {
    /// Draws.
    pub draws_count: u64,
    /// Draws that close.
    pub closes_count: u64,
    /// Draws that could not be computed.
    pub failed_count: u64,
    /// Margins, W.
    pub margin_w: Percentiles,
    /// Least margins.
    pub level: Percentiles,
    /// How often each limit is broken, in the order of [`LimitCode::ALL`].
    pub broken_counts: Vec<u64>,
    /// How often each limit is the tightest.
    pub tightest_counts: Vec<u64>,
    /// How often each number was set to the end of its range.
    pub clipped_counts: Vec<u64>,
}

impl Tally {
    /// Nothing counted yet.
    pub fn new(numbers_count: usize) -> Self {
        Self {
            draws_count: 0,
            closes_count: 0,
            failed_count: 0,
            margin_w: Percentiles::default(),
            level: Percentiles::default(),
            broken_counts: vec![0; LimitCode::ALL.len()],
            tightest_counts: vec![0; LimitCode::ALL.len()],
            clipped_counts: vec![0; numbers_count],
        }
    }

    /// Counts a draw.
    pub fn add(&mut self, draw: &Draw) {
        self.draws_count += 1;
        self.closes_count += u64::from(draw.closes);
        self.failed_count += u64::from(draw.failed);
        self.margin_w.add(draw.margin_w);
        self.level.add(Some(draw.level));
        add_bits(&mut self.broken_counts, draw.broken);
        add_bits(&mut self.clipped_counts, draw.clipped);
        if let Some(count) = draw.tightest.and_then(|place| self.tightest_counts.get_mut(place)) {
            *count += 1;
        }
    }
}

fn add_bits(counts: &mut [u64], bits: u64) {
    let mut rest = bits;
    while rest != 0 {
        if let Some(count) = counts.get_mut(rest.trailing_zeros() as usize) {
            *count += 1;
        }
        rest &= rest - 1;
    }
}
