//! The tethers of one column of a map, hung once on a grid of offsets and slacks. Between them the pull of the tether, its
//! lengths and what its limits read are interpolated.

use beamstay_tether::Shape;

use super::spot::{Ground, NUMBERS_COUNT, Numbers, numbers, spot};
use crate::{
    System,
    hang::Touch,
    limit::{LimitCode, LimitRow},
    operate::Hanging,
    point::TetherPoint,
    search::Free,
    study::{NOTHING_COMPUTED, binding_rows, squash},
    system::Place,
};

/// Widest step between two offsets, in inverse hyperbolic sines of offset over height.
const WIDEST_STEP: f64 = 0.35;
/// Offsets of the grid.
const OFFSETS_COUNT: std::ops::RangeInclusive<usize> = 7..=19;
/// Slacks of the grid.
const SLACKS_COUNT: usize = 15;
/// Coordinates of the tightest and the slackest line of the grid.
const SLACKS: (f64, f64) = (0.08, 0.92);
/// Largest offset of the grid over the height.
const MOST_OFFSET_RATIO: f64 = 10.0;
/// Level of the tether alone below which its gust is not looked at.
const PASSED_OVER: f64 = -0.2;
/// Level of what hangs too low beyond which no slacker line is tried.
const SAGS_FAR: f64 = -0.5;

/// Step of the coordinate of the slack over which a slope is taken.
const SLOPE_STEP: f64 = 1e-3;

/// Neighbouring lines of one offset that hang, from tight to slack.
#[derive(Debug, Clone, Default)]
struct Lines {
    first: usize,
    numbers: Vec<Numbers>,
}

impl Lines {
    /// Whether a coordinate in steps lies between lines, or next to one.
    fn covers(&self, at: f64) -> bool {
        let last = self.first as f64 + self.numbers.len() as f64 - 1.0;
        self.numbers.len() >= 3 && at >= self.first as f64 - 0.5 && at <= last + 0.25
    }
}

/// The tethers of one column.
#[derive(Debug, Clone)]
pub(super) struct Table {
    ground: Ground,
    /// Inverse hyperbolic sines of offset over height, the first and the step.
    spread: (f64, f64),
    offsets: Vec<Lines>,
}

impl Table {
    /// Hangs them; `free` are the payload, the offset and the drum tension. None where no line reaches, for a vehicle that is
    /// not over ground and for a line that may lie there.
    pub(super) fn hang(system: &System, place: &Place, free: &[Free]) -> Option<Self> {
        let ground = Ground { height_m: place.position_m.z, crosswind_m: place.position_m.y };
        let total_m = system.line.as_ref()?.total_length_m;
        let may_lie = system.limits.max_length_on_ground_m > 0.0;
        let reach_m2 = (1.02 * total_m).powi(2) - ground.height_m.powi(2) - ground.crosswind_m.powi(2);
        if may_lie || ground.height_m < 0.1 || reach_m2 <= 0.0 || system.under(Touch::Through).is_none() {
            return None;
        }
        let most_m = reach_m2.sqrt().min(MOST_OFFSET_RATIO * ground.height_m).max(0.02 * ground.height_m);
        let span = &free.get(1)?.span;
        let (lo_m, hi_m) = (span.lo.max(-most_m), span.hi.min(most_m));
        if lo_m >= hi_m {
            return None;
        }
        let (lo, hi) = ((lo_m / ground.height_m).asinh(), (hi_m / ground.height_m).asinh());
        let count = ((hi - lo) / WIDEST_STEP).ceil() as usize + 1;
        let count = count.clamp(*OFFSETS_COUNT.start(), *OFFSETS_COUNT.end());
        let mut table = Self { ground, spread: (lo, (hi - lo) / (count - 1) as f64), offsets: Vec::new() };
        let mut warm = None;
        for index in 0..count {
            let offset = table.lines(system, free, index, &mut warm);
            table.offsets.push(offset);
        }
        Some(table)
    }

    /// Lines at one offset, from tight to slack, each from the one before; `first` is the tightest of the offset before.
    fn lines(&self, system: &System, free: &[Free], index: usize, first: &mut Option<Box<Shape>>) -> Lines {
        let mut lines = Lines::default();
        let mut last: Option<Box<Shape>> = None;
        for j in 0..SLACKS_COUNT {
            let place = self.ground.place(free, self.offset_m(index as f64), slack_unit(j as f64));
            let warm = last.as_deref().or(first.as_deref());
            let Ok(Some((shape, point, clearance_m))) = system.hang_in_mean_for_search(&place, warm) else {
                if lines.numbers.is_empty() { continue } else { break }
            };
            let (level, sag) = levels(system, &(point, point), clearance_m);
            if sag < SAGS_FAR {
                break;
            }
            if level < PASSED_OVER && sag >= level && lines.numbers.is_empty() {
                lines.first = j + 1;
            } else {
                let Ok(Hanging::Free(tethers)) = system.hang_in_gust_for_search(&place, &shape, point) else {
                    if lines.numbers.is_empty() {
                        lines.first = j + 1;
                        continue;
                    } else {
                        break;
                    }
                };
                lines.numbers.push(numbers(&tethers.points, tethers.clearance_m));
                if sag < PASSED_OVER {
                    break;
                }
            }
            if last.is_none() {
                *first = Some(shape.clone());
            }
            last = Some(shape);
        }
        lines
    }

    fn offset_m(&self, at: f64) -> f64 {
        self.ground.height_m * (self.spread.0 + self.spread.1 * at).sinh()
    }

    pub(super) fn ground(&self) -> Ground {
        self.ground
    }

    /// Bounds of offset and slack coordinates.
    pub(super) fn bounds(&self, free: &[Free]) -> [(f64, f64); 2] {
        let unit = |at: f64| free[1].unit(self.offset_m(at)).unwrap_or(0.5).clamp(0.0, 1.0);
        [(unit(0.0), unit((self.offsets.len() - 1) as f64)), SLACKS]
    }

    /// Coordinates of the places of a lattice `finer` times as fine as the grid, in (offset, slack), with their numbers.
    pub(super) fn lattice(&self, finer: (usize, usize)) -> Vec<((usize, usize), f64, f64, Numbers)> {
        let mut all = Vec::new();
        for i in 0..=(self.offsets.len() - 1) * finer.0 {
            let u = i as f64 / finer.0 as f64;
            for j in 0..=(SLACKS_COUNT - 1) * finer.1 {
                let v = j as f64 / finer.1 as f64;
                if let Some(numbers) = self.between_steps(u, v) {
                    all.push(((i, j), self.offset_m(u), slack_unit(v), numbers));
                }
            }
        }
        all
    }

    /// The tether at a place between those of the grid.
    pub(super) fn between(&self, downwind_m: f64, slack_unit: f64) -> Option<Numbers> {
        let u = ((downwind_m / self.ground.height_m).asinh() - self.spread.0) / self.spread.1;
        self.between_steps(u, (slack_unit - SLACKS.0) / slack_step())
    }

    /// How much of itself the drum tension falls with the coordinate of the slack. Where it rises a shorter line has the same
    /// tension, and that is the one a winch that holds it has.
    pub(super) fn tension_falls_ratio(&self, downwind_m: f64, slack_unit: f64) -> Option<f64> {
        let tension_n = |at: f64| self.between(downwind_m, at).map(|all| spot(&all).points.0.drum_tension_n);
        let here_n = tension_n(slack_unit)?;
        let (other_n, step) = match tension_n(slack_unit + SLOPE_STEP) {
            Some(other_n) => (other_n, SLOPE_STEP),
            None => (tension_n(slack_unit - SLOPE_STEP)?, -SLOPE_STEP),
        };
        Some((here_n - other_n) / (step * here_n.abs().max(1e-6)))
    }

    /// By cubics through the four nearest in each direction, or as many as hang.
    fn between_steps(&self, u: f64, v: f64) -> Option<Numbers> {
        let count = self.offsets.len();
        let covers = |i: &usize| self.offsets[*i].covers(v);
        let left = (u.floor().max(0.0) as usize).min(count - 2);
        let (lo, hi) = match (covers(&left), covers(&(left + 1))) {
            (true, true) => (left, left + 1),
            // Next to a line, one side is enough.
            (true, false) if u - left as f64 <= 0.5 => (left, left),
            (false, true) if u - left as f64 >= 0.5 => (left + 1, left + 1),
            _ => return None,
        };
        let lo = (0..=lo).rev().take_while(covers).last()?;
        let hi = (hi..count).take_while(covers).last()?;
        if hi - lo < 2 {
            return None;
        }
        let (from, count) = stencil(u, lo, hi);
        let across = weights(u - from as f64, count);
        let mut sum = [0.0; NUMBERS_COUNT];
        for (i, by) in across.iter().enumerate().take(count) {
            let lines = &self.offsets[from + i];
            let v = v - lines.first as f64;
            let (first, many) = stencil(v, 0, lines.numbers.len() - 1);
            let along = weights(v - first as f64, many);
            for (j, of) in along.iter().enumerate().take(many) {
                for (total, number) in sum.iter_mut().zip(&lines.numbers[first + j]) {
                    *total += by * of * number;
                }
            }
        }
        Some(sum)
    }
}

/// Level of the limits of the tether alone, and of those that a line breaks by hanging low.
fn levels(system: &System, points: &(TetherPoint, TetherPoint), clearance_m: f64) -> (f64, f64) {
    let mut rows: Vec<LimitRow> = Vec::with_capacity(16);
    let Some(line) = system.line.as_deref() else { return (0.0, 0.0) };
    if system.limits_of_tether(line, points, clearance_m, &mut rows).is_err() {
        return (NOTHING_COMPUTED, NOTHING_COMPUTED);
    }
    let least = |rows: &mut dyn Iterator<Item = &LimitRow>| {
        rows.map(|row| squash(row.closeness())).fold(1.0, f64::min)
    };
    let low = |row: &&LimitRow| matches!(row.code, LimitCode::Clearance | LimitCode::DrumElevation);
    (least(&mut binding_rows(&rows)), least(&mut rows.iter().filter(low)))
}

fn slack_step() -> f64 {
    (SLACKS.1 - SLACKS.0) / (SLACKS_COUNT - 1) as f64
}

fn slack_unit(at: f64) -> f64 {
    SLACKS.0 + slack_step() * at
}

/// First node and number of nodes of the cubic around `at`, of those from `lo` to `hi`.
fn stencil(at: f64, lo: usize, hi: usize) -> (usize, usize) {
    let count = (hi - lo + 1).min(4);
    let below = at.floor().max(1.0) as usize - 1;
    (below.clamp(lo, hi + 1 - count), count)
}

/// Lagrange's weights of `count` nodes at 0, 1, 2, 3.
fn weights(at: f64, count: usize) -> [f64; 4] {
    let mut weights = [0.0; 4];
    for (i, weight) in weights.iter_mut().enumerate().take(count) {
        *weight = 1.0;
        for k in (0..count).filter(|k| *k != i) {
            *weight *= (at - k as f64) / (i as f64 - k as f64);
        }
    }
    weights
}
