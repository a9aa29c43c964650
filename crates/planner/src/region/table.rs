//! The tethers of one column of a map, hung once on a grid of offsets and slacks, in the mean wind and in the gust. Between them
//! the pull of the tether, its lengths and what its limits read are interpolated. What the winch holds in the gust is found
//! among the lines of the gust: every length hangs, while of the drum tensions below a least one none does.

use beamstay_tether::{Options, Shape};
use nalgebra::Vector3;

use super::{
    grid::{Grid, Lines, Tensions},
    spot::{Ground, Spot, drum_pull_n, numbers, tether},
};
use crate::{
    System,
    hang::Touch,
    point::TetherPoint,
    scenario::GustResponse,
    search::Free,
    system::{Place, surroundings::Stream},
};

/// Offsets over the height are spread evenly in the inverse hyperbolic sine of so many times themselves: a line that hangs all but
/// straight down pulls with a sharp bend in its tension.
const SPREAD: f64 = 6.0;
/// Widest step between two offsets in that.
const WIDEST_STEP: f64 = 0.36;
/// Offsets of the grid.
const OFFSETS_COUNT: std::ops::RangeInclusive<usize> = 7..=27;
/// Slacks of the grid.
const SLACKS_COUNT: usize = 15;
/// Coordinates of the tightest and the slackest line of the grid.
const SLACKS: (f64, f64) = (0.08, 0.92);
/// Largest offset of the grid over the height.
const MOST_OFFSET_RATIO: f64 = 10.0;
/// Lines slacker than that with the least drum tension that are hung.
const BEYOND_LEAST: usize = 3;
/// Tolerance of the lines; what lies between them is less exact.
const ROUGHLY: f64 = 1e-4;
/// Work for a line that the quick sweeps do not reach, in evaluations of the flow.
const MOST_WORK: u64 = 20_000;
/// Depth under the ground, of the distance to the vehicle, beyond which no slacker line is hung.
const DEEP_RATIO: f64 = 0.15;
/// Step over which a slope is taken, in steps of the grid.
const SLOPE_STEP: f64 = 0.02;

/// A line in the gust whose drum tension is held.
#[derive(Debug, Clone, Copy)]
pub(super) struct InGust {
    /// Coordinate of its slack.
    pub slack_unit: f64,
    /// The least drum tension that hangs there, N.
    pub least_n: f64,
    /// The drum tension over the least, less 1.
    pub over_least_ratio: f64,
    /// Slope of the logarithm of the drum tension by the coordinate of the slack.
    pub falls_by: f64,
}

/// The tethers of one column.
#[derive(Debug, Clone)]
pub(super) struct Table {
    ground: Ground,
    response: GustResponse,
    /// Coordinate of the slack.
    slack: Free,
    /// Of the first offset, and the step.
    spread: (f64, f64),
    mean: Grid,
    gust: Grid,
}

impl Table {
    /// Hangs them; `free` are the payload, the offset and the drum tension. None where no line reaches, for a vehicle that is
    /// not over ground and for a line that may lie there.
    pub(super) fn hang(system: &System, gust: &Stream, place: &Place, free: &[Free]) -> Option<Self> {
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
        let spread = |offset_m: f64| (SPREAD * offset_m / ground.height_m).asinh();
        let (lo, hi) = (spread(lo_m), spread(hi_m));
        let count = ((hi - lo) / WIDEST_STEP).ceil() as usize + 1;
        let count = count.clamp(*OFFSETS_COUNT.start(), *OFFSETS_COUNT.end());
        let mut table = Self {
            ground,
            response: system.gust_response,
            slack: free.get(2)?.clone(),
            spread: (lo, (hi - lo) / (count - 1) as f64),
            mean: Grid::default(),
            gust: Grid::default(),
        };
        table.mean = table.grid(system, &system.surroundings.mean, free, count);
        table.gust = table.grid(system, gust, free, count);
        Some(table)
    }

    fn grid(&self, system: &System, stream: &Stream, free: &[Free], count: usize) -> Grid {
        let (mut grid, mut first) = (Grid::default(), None);
        for index in 0..count {
            grid.push(self.lines(system, stream, free, index, &mut first));
        }
        grid
    }

    /// Lines at one offset, from tight to slack, each from the one before; `first` is the tightest of the offset before. A line
    /// whose drum tension rises with its length stands beyond one that has it too and is shorter.
    fn lines(
        &self,
        system: &System,
        stream: &Stream,
        free: &[Free],
        index: usize,
        first: &mut Option<Box<Shape>>,
    ) -> Lines {
        let mut lines = Lines::default();
        let options =
            Options { relative_tolerance: ROUGHLY, most_evaluations_count: 0, ..Options::default() };
        let thorough = Options { most_evaluations_count: MOST_WORK, ..options };
        let mut last: Option<Box<Shape>> = None;
        for j in 0..SLACKS_COUNT {
            let line = self.ground.line(free, self.offset_m(index as f64), slack_unit(j as f64));
            let warm = last.as_deref().or(first.as_deref());
            let quick = system.hang_alone(stream, line.0, line.1, &options, warm);
            // One that the quick sweeps do not reach is worth more where it parts those that they do.
            let alone = quick.or_else(|| {
                lines.numbers.last()?;
                system.hang_alone(stream, line.0, line.1, &thorough, warm)
            });
            let Some(alone) = alone else { if lines.numbers.is_empty() { continue } else { break } };
            if lines.numbers.is_empty() {
                lines.first = j;
                *first = Some(alone.shape.clone());
            }
            lines.numbers.push(numbers(&alone.point, alone.clearance_m));
            let past_least = lines.loosest().is_some_and(|least| lines.numbers.len() > least + BEYOND_LEAST);
            if past_least || alone.clearance_m < -DEEP_RATIO * line.0.norm() {
                break;
            }
            last = Some(alone.shape);
        }
        lines
    }

    fn offset_m(&self, at: f64) -> f64 {
        self.ground.height_m / SPREAD * (self.spread.0 + self.spread.1 * at).sinh()
    }

    /// Coordinate of an offset, in steps.
    fn step_of(&self, downwind_m: f64) -> f64 {
        ((SPREAD * downwind_m / self.ground.height_m).asinh() - self.spread.0) / self.spread.1
    }

    pub(super) fn ground(&self) -> Ground {
        self.ground
    }

    /// Bounds of offset and slack coordinates.
    pub(super) fn bounds(&self, free: &[Free]) -> [(f64, f64); 2] {
        let unit = |at: f64| free[1].unit(self.offset_m(at)).unwrap_or(0.5).clamp(0.0, 1.0);
        [(unit(0.0), unit((self.mean.count() - 1) as f64)), SLACKS]
    }

    /// Places to look at first, in steps: those of the grid and halfway between two, and at each offset the slackest line that a winch
    /// can hold, with the least drum tension.
    pub(super) fn lattice(&self) -> Vec<[f64; 2]> {
        let mut all = Vec::new();
        for i in 0..2 * self.mean.count() - 1 {
            let u = 0.5 * i as f64;
            let slacks = (0..2 * SLACKS_COUNT - 1).map(|j| 0.5 * j as f64);
            let least = self.mean.tensions(u).map(|tensions| tensions.least().0);
            let limp = least.iter().flat_map(|v| [v - 0.02, v - 0.1, v - 0.3]);
            all.extend(slacks.chain(limp).map(|v| [u, v]));
        }
        all
    }

    /// Offset, m, and coordinate of the slack of a place in steps.
    pub(super) fn station(&self, at: [f64; 2]) -> (f64, f64) {
        (self.offset_m(at[0]), slack_unit(at[1]))
    }

    /// A place in steps, of an offset, m, and a coordinate of the slack.
    pub(super) fn steps(&self, downwind_m: f64, slack_unit: f64) -> [f64; 2] {
        [self.step_of(downwind_m), (slack_unit - SLACKS.0) / slack_step()]
    }

    /// The tether at a place in steps, and its offset, m.
    pub(super) fn at(&self, at: [f64; 2]) -> Option<(f64, Spot)> {
        let within = (0.0..=(self.mean.count() - 1) as f64).contains(&at[0]);
        Some((self.offset_m(at[0]), self.spot_at(at[0], at[1]).filter(|_| within)?))
    }

    /// The tether at a place between those of the grid.
    pub(super) fn between(&self, downwind_m: f64, slack_unit: f64) -> Option<Spot> {
        let [u, v] = self.steps(downwind_m, slack_unit);
        self.spot_at(u, v)
    }

    fn spot_at(&self, u: f64, v: f64) -> Option<Spot> {
        let tensions = match self.response {
            GustResponse::HoldsLength => None,
            GustResponse::HoldsTension => Some(self.gust.tensions(u)?),
        };
        self.spot(u, v, tensions.as_ref())
    }

    /// What hangs in the gust with a drum tension held, as the table has it.
    pub(super) fn held_in_gust(&self, downwind_m: f64, drum_tension_n: f64) -> Option<InGust> {
        let tensions = self.gust.tensions(self.step_of(downwind_m))?;
        let at = tensions.coordinate(drum_tension_n)?;
        let over_least_ratio = drum_tension_n / tensions.least().1.max(1e-9) - 1.0;
        let falls_by = tensions.slope(at) / slack_step();
        Some(InGust { slack_unit: slack_unit(at), least_n: tensions.least().1, over_least_ratio, falls_by })
    }

    /// `tensions` of the lines in the gust where the winch holds the drum tension.
    fn spot(&self, u: f64, v: f64, tensions: Option<&Tensions>) -> Option<Spot> {
        let (mean, above_m) = tether(&self.mean.between(u, v)?, self.paid_out_m(u, v));
        let shrinking_ratio = self.shrinking_ratio(u, v, &mean)?;
        let (in_gust, over_least_ratio) = match tensions {
            None => (v, 1.0),
            Some(tensions) => {
                let tension_n = mean.drum_tension_n;
                (tensions.coordinate(tension_n)?, tension_n / tensions.least().1.max(1e-9) - 1.0)
            }
        };
        let (gust, above_in_gust_m) = tether(&self.gust.between(u, in_gust)?, self.paid_out_m(u, in_gust));
        let clearance_m = above_m.min(above_in_gust_m);
        Some(Spot { points: (mean, gust), clearance_m, over_least_ratio, shrinking_ratio })
    }

    fn paid_out_m(&self, u: f64, v: f64) -> f64 {
        let ground = &self.ground;
        let distance_m = ground.height_m.hypot(ground.crosswind_m).hypot(self.offset_m(u));
        distance_m * (1.0 + self.slack.slack_ratio(slack_unit(v)).unwrap_or(0.0))
    }

    /// Part of a pull at the drum that shrinks as the line is paid out, over the pull at the vehicle, see [`Spot::shrinking_ratio`]:
    /// of the tether `hung` at a place, which is that of the table or nearly so.
    fn shrinking_ratio(&self, u: f64, v: f64, hung: &TetherPoint) -> Option<f64> {
        // A line that hangs beyond those of the table changes as the nearest of them does.
        let change_n = self.change_n(u, v).or_else(|| {
            let (u, v) = self.mean.nearest(u, v)?;
            self.change_n(u, v)
        })?;
        let along_n = -Vector3::from(hung.force_at_drum_n).dot(&change_n) / change_n.norm().max(1e-12);
        Some(along_n / hung.top_tension_n.max(1e-9))
    }

    /// How the pull at the drum changes over a small step to the slacker, N.
    fn change_n(&self, u: f64, v: f64) -> Option<Vector3<f64>> {
        let pull_n = |v: f64| Some(drum_pull_n(&self.mean.between(u, v)?));
        let here_n = pull_n(v)?;
        match pull_n(v + SLOPE_STEP) {
            Some(slacker_n) => Some(slacker_n - here_n),
            None => Some(here_n - pull_n(v - SLOPE_STEP)?),
        }
    }

    /// The same at a station.
    pub(super) fn shrinking_ratio_of(
        &self,
        downwind_m: f64,
        slack_unit: f64,
        hung: &TetherPoint,
    ) -> Option<f64> {
        let [u, v] = self.steps(downwind_m, slack_unit);
        self.shrinking_ratio(u, v, hung)
    }
}

fn slack_step() -> f64 {
    (SLACKS.1 - SLACKS.0) / (SLACKS_COUNT - 1) as f64
}

fn slack_unit(at: f64) -> f64 {
    SLACKS.0 + slack_step() * at
}
