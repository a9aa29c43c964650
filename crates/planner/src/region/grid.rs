//! Lines that hang in one wind on a grid of offsets and slacks, and what lies between them, by cubics through the four nearest
//! in each direction. Coordinates count steps of the grid.

use nalgebra::Vector3;

use super::spot::{NUMBERS_COUNT, Numbers, drum_pull_n};

/// Lines in one wind.
#[derive(Debug, Clone, Default)]
pub(super) struct Grid {
    offsets: Vec<Lines>,
}

/// Neighbouring lines of one offset that hang, from tight to slack.
#[derive(Debug, Clone, Default)]
pub(super) struct Lines {
    /// Place of the tightest.
    pub first: usize,
    /// From tight to slack.
    pub numbers: Vec<Numbers>,
}

impl Lines {
    fn last(&self) -> usize {
        self.first + self.numbers.len() - 1
    }

    /// Whether a coordinate lies between lines, or next to one.
    fn covers(&self, at: f64) -> bool {
        self.numbers.len() >= 3 && at >= self.first as f64 - 0.5 && at <= self.last() as f64 + 0.25
    }

    /// The place of the least drum tension.
    pub(super) fn loosest(&self) -> Option<usize> {
        let tension_n = |i: &usize| drum_pull_n(&self.numbers[*i]).norm();
        (0..self.numbers.len()).min_by(|a, b| tension_n(a).total_cmp(&tension_n(b)))
    }
}

/// Pulls at the drum of the lines at one offset, and their sizes.
#[derive(Debug, Clone)]
pub(super) struct Tensions {
    first: usize,
    each_n: Vec<Vector3<f64>>,
    /// Coordinate of the least, and the least, N.
    least: (f64, f64),
}

impl Grid {
    pub(super) fn push(&mut self, lines: Lines) {
        self.offsets.push(lines);
    }

    pub(super) fn count(&self) -> usize {
        self.offsets.len()
    }

    /// The numbers at a place between lines.
    pub(super) fn between(&self, u: f64, v: f64) -> Option<Numbers> {
        let (from, count) = self.across(u, &|lines| lines.covers(v))?;
        let across = weights(u - from as f64, count);
        let mut sum = [0.0; NUMBERS_COUNT];
        for (lines, by) in self.offsets[from..from + count].iter().zip(&across) {
            let v = v - lines.first as f64;
            let (first, many) = stencil(v, 0, lines.numbers.len() - 1);
            let along = weights(v - first as f64, many);
            for (numbers, of) in lines.numbers[first..first + many].iter().zip(&along) {
                for (total, number) in sum.iter_mut().zip(numbers) {
                    *total += by * of * number;
                }
            }
        }
        Some(sum)
    }

    /// The place of the grid nearest to one that may lie beyond its lines: on an offset, among its lines.
    pub(super) fn nearest(&self, u: f64, v: f64) -> Option<(f64, f64)> {
        let place = |i: usize| {
            let lines = &self.offsets[i];
            let among = v.clamp(lines.first as f64, lines.last() as f64);
            (i as f64, among, (u - i as f64).hypot(v - among))
        };
        let long = (0..self.count()).filter(|i| self.offsets[*i].numbers.len() >= 3);
        let found = long.map(place).min_by(|a, b| a.2.total_cmp(&b.2))?;
        Some((found.0, found.1))
    }

    /// The drum tensions at an offset between those of the grid.
    pub(super) fn tensions(&self, u: f64) -> Option<Tensions> {
        let (from, count) = self.across(u, &|lines| lines.numbers.len() >= 3)?;
        let of = &self.offsets[from..from + count];
        let first = of.iter().map(|lines| lines.first).max()?;
        let last = of.iter().map(Lines::last).min()?;
        if last < first + 2 {
            return None;
        }
        let across = weights(u - from as f64, count);
        let at = |j: usize| -> Vector3<f64> {
            of.iter().zip(&across).map(|(lines, by)| *by * drum_pull_n(&lines.numbers[j - lines.first])).sum()
        };
        Some(Tensions::new(first, (first..=last).map(at).collect()))
    }

    /// First offset and number of offsets of the cubic around `u`, of those that are `fit`.
    fn across(&self, u: f64, fit: &dyn Fn(&Lines) -> bool) -> Option<(usize, usize)> {
        let fits = |i: &usize| fit(&self.offsets[*i]);
        let left = (u.floor().max(0.0) as usize).min(self.count() - 2);
        let (lo, hi) = match (fits(&left), fits(&(left + 1))) {
            (true, true) => (left, left + 1),
            // Next to a line, one side is enough.
            (true, false) if u - left as f64 <= 0.5 => (left, left),
            (false, true) if u - left as f64 >= 0.5 => (left + 1, left + 1),
            _ => return None,
        };
        let lo = (lo.saturating_sub(3)..=lo).rev().take_while(fits).last()?;
        let hi = (hi..self.count().min(hi + 4)).take_while(fits).last()?;
        (hi - lo >= 2).then(|| stencil(u, lo, hi))
    }
}

/// Halvings to the place of the least tension.
const HALVINGS: usize = 24;
/// Steps to the place of a tension.
const STEPS: usize = 30;
/// Share of a tension to which its place is found.
const CLOSE: f64 = 1e-9;

impl Tensions {
    fn new(first: usize, each_n: Vec<Vector3<f64>>) -> Self {
        let mut all = Self { first, each_n, least: (0.0, 0.0) };
        all.least = all.find_least();
        all
    }

    /// Coordinate of the least, and the least, N.
    pub(super) fn least(&self) -> (f64, f64) {
        self.least
    }

    fn at(&self, v: f64) -> f64 {
        let v = v - self.first as f64;
        let (from, many) = stencil(v, 0, self.each_n.len() - 1);
        let along = weights(v - from as f64, many);
        let pull_n: Vector3<f64> =
            self.each_n[from..from + many].iter().zip(&along).map(|(each, of)| each * *of).sum();
        pull_n.norm()
    }

    /// Slope of the logarithm of the tension by its coordinate.
    pub(super) fn slope(&self, v: f64) -> f64 {
        let (above, below) = (self.at(v + 0.01), self.at(v - 0.01));
        (above - below) / (0.01 * (above + below).abs().max(1e-12))
    }

    /// By thirds around the least of the lines.
    fn find_least(&self) -> (f64, f64) {
        let tension_n = |i: &usize| self.each_n[*i].norm();
        let place = (0..self.each_n.len()).min_by(|a, b| tension_n(a).total_cmp(&tension_n(b))).unwrap_or(0);
        let end = (self.each_n.len() - 1) as f64;
        let first = self.first as f64;
        let (mut lo, mut hi) = ((place as f64 - 1.0).max(0.0) + first, (place as f64 + 1.0).min(end) + first);
        for _ in 0..HALVINGS {
            let third = (hi - lo) / 3.0;
            if self.at(lo + third) < self.at(hi - third) { hi -= third } else { lo += third }
        }
        let middle = 0.5 * (lo + hi);
        (middle, self.at(middle))
    }

    /// Coordinate of the tightest line with a tension; that of the least where all have more. None for more than the
    /// tightest has by more than half a step.
    pub(super) fn coordinate(&self, tension_n: f64) -> Option<f64> {
        let (end, least_n) = self.least;
        if tension_n <= least_n {
            return Some(end);
        }
        let first = self.first as f64;
        let after = self.each_n.iter().position(|each_n| each_n.norm() < tension_n);
        let (mut lo, mut hi) = match after {
            Some(0) => (first - 0.5, first),
            Some(j) => (first + (j - 1) as f64, (first + j as f64).min(end)),
            None => (end.floor().max(first), end),
        };
        let (mut over, mut under) = (self.at(lo) - tension_n, self.at(hi) - tension_n);
        if over < 0.0 {
            return None;
        }
        // By the straight between the ends, an end that stays twice counting half (Illinois).
        let mut side = 0;
        for _ in 0..STEPS {
            if over - under <= CLOSE * tension_n || hi - lo < 1e-12 {
                break;
            }
            let middle = lo + (hi - lo) * over / (over - under);
            let here = self.at(middle) - tension_n;
            if here.abs() <= CLOSE * tension_n {
                return Some(middle);
            }
            if here >= 0.0 {
                (lo, over) = (middle, here);
                under *= if side == 1 { 0.5 } else { 1.0 };
                side = 1;
            } else {
                (hi, under) = (middle, here);
                over *= if side == -1 { 0.5 } else { 1.0 };
                side = -1;
            }
        }
        Some(0.5 * (lo + hi))
    }
}

/// First node and number of nodes of the cubic around `at`, of those from `lo` to `hi`.
fn stencil(at: f64, lo: usize, hi: usize) -> (usize, usize) {
    let count = (hi - lo + 1).min(4);
    let below = at.floor().max(1.0) as usize - 1;
    (below.clamp(lo, hi + 1 - count), count)
}

/// Lagrange's weights of `count` nodes at 0, 1, 2, 3.
fn weights(at: f64, count: usize) -> [f64; 4] {
    if count == 4 {
        let (a, b, c, d) = (at, at - 1.0, at - 2.0, at - 3.0);
        return [b * c * d / -6.0, a * c * d / 2.0, a * b * d / -2.0, a * b * c / 6.0];
    }
    let mut weights = [0.0; 4];
    for (i, weight) in weights.iter_mut().enumerate().take(count) {
        *weight = 1.0;
        for k in (0..count).filter(|k| *k != i) {
            *weight *= (at - k as f64) / (i as f64 - k as f64);
        }
    }
    weights
}
