//! The global start: samples from all sides, the best of them apart from each other, and a finish from each.

use beamstay_numerics::sobol::Sobol;
use rayon::prelude::*;

use super::{
    Bound, Problem, Trial,
    climb::climb,
    sequential::{Finish, finish},
};

/// How a global search goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Samples; a power of two is evenest.
    pub samples_count: usize,
    /// Starts of a local finish.
    pub starts_count: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// How each start is finished.
    pub finish: Finish,
}

impl Settings {
    /// For a number of free coordinates.
    pub fn for_dimensions(count: usize, seed: u64) -> Self {
        let samples_count = match count {
            0 | 1 => 32,
            2 => 128,
            3 => 256,
            _ => 512,
        };
        Self { samples_count, starts_count: 4 + 2 * count.min(4), seed, finish: Finish::default() }
    }
}

/// What a search found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The best point in the unit cube: feasible if any was, else the least infeasible.
    pub unit: Vec<f64>,
    /// Its evaluation.
    pub trial: Trial,
    /// Starts that were finished.
    pub starts_count: usize,
    /// Starts that ended at the same goal, to one part in a thousand.
    pub agreeing_count: usize,
}

/// Samples that one problem evaluates in a row; fixed, so that the thread count changes nothing.
const CHUNK: usize = 16;
/// Least distance between two starts in the widest coordinate.
const APART: f64 = 0.15;
/// Steps of the climb from a start where a stage is missing or a limit broken.
const CLIMB_STEPS: u64 = 60;

/// The best point of the unit cube of `dimensions`, also from `first` if it is given.
pub fn best<P: Problem>(
    make: impl Fn() -> P + Sync,
    dimensions: usize,
    first: Option<Vec<f64>>,
    settings: &Settings,
) -> Found {
    let samples = samples(dimensions, first, settings);
    let tried: Vec<(Vec<f64>, Trial)> = samples
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut problem = make();
            chunk.iter().map(|unit| (unit.clone(), problem.evaluate(unit))).collect::<Vec<_>>()
        })
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    let starts = apart(tried, settings.starts_count);
    from_starts(make, dimensions, starts, &settings.finish)
}

/// The best of finishes from given starts.
pub fn from_starts<P: Problem>(
    make: impl Fn() -> P + Sync,
    dimensions: usize,
    starts: Vec<(Vec<f64>, Trial)>,
    how: &Finish,
) -> Found {
    let bounds = vec![(0.0, 1.0); dimensions];
    let ends: Vec<(Vec<f64>, Trial)> =
        starts.into_par_iter().map(|start| end(&mut make(), start, &bounds, how)).collect();
    let mut best = (Vec::new(), Trial::missing(f64::NEG_INFINITY));
    for end in &ends {
        if best.0.is_empty() || end.1.beats(&best.1) {
            best = end.clone();
        }
    }
    let near = |t: &Trial| (t.goal - best.1.goal).abs() <= 1e-3 * best.1.goal.abs().max(1e-9);
    let agreeing_count = ends.iter().filter(|(_, t)| t.is_feasible() && near(t)).count();
    Found { unit: best.0, trial: best.1, starts_count: ends.len(), agreeing_count }
}

/// One start to its end. A start far from the feasible climbs first.
fn end<P: Problem>(
    problem: &mut P,
    start: (Vec<f64>, Trial),
    bounds: &[Bound],
    how: &Finish,
) -> (Vec<f64>, Trial) {
    let start = if start.1.is_complete() { start } else { climb(problem, start, bounds, CLIMB_STEPS) };
    let mut end = finish(problem, start, bounds, how);
    if !end.1.is_feasible() {
        end = climb(problem, end, bounds, CLIMB_STEPS);
        end = finish(problem, end, bounds, how);
    }
    // Where a limit binds that bends, a wider margin of safety brings the end inside it.
    for wider in [10.0, 100.0, 1000.0] {
        if end.1.is_feasible() {
            break;
        }
        end = finish(problem, end, bounds, &Finish { backoff: wider * how.backoff, ..*how });
    }
    end
}

fn samples(dimensions: usize, first: Option<Vec<f64>>, settings: &Settings) -> Vec<Vec<f64>> {
    let mut samples: Vec<Vec<f64>> = first.into_iter().collect();
    samples.push(vec![0.5; dimensions]);
    let Ok(sequence) = Sobol::scrambled(dimensions, settings.seed) else { return samples };
    for index in 0..settings.samples_count {
        let mut point = vec![0.0; dimensions];
        sequence.point(index as u32, &mut point);
        samples.push(point);
    }
    samples
}

/// The best samples that stand apart from each other; a given first sample is always kept.
fn apart(tried: Vec<(Vec<f64>, Trial)>, count: usize) -> Vec<(Vec<f64>, Trial)> {
    let mut order: Vec<usize> = (0..tried.len()).collect();
    order.sort_by(|a, b| tried[*a].1.compare(&tried[*b].1));
    let mut chosen: Vec<(Vec<f64>, Trial)> = tried.first().cloned().into_iter().collect();
    for index in order {
        if chosen.len() >= count {
            break;
        }
        let (unit, trial) = &tried[index];
        let near =
            |other: &[f64]| unit.iter().zip(other).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) < APART;
        if !chosen.iter().any(|(other, _)| near(other)) {
            chosen.push((unit.clone(), trial.clone()));
        }
    }
    chosen
}
