//! The tethers of one column of a map, followed once from the drum on a net of drum forces, in the mean wind and in the gust. Between
//! them the loads, lengths and places are interpolated. To each line in the mean wind belongs the one that the winch has in the gust:
//! with its length or with its drum tension.

use beamstay_tether::Ascending;
use nalgebra::Vector3;

use super::{
    lines::{CHORD, CLOSE, Follow, Forces, LINE, SLACK, TILT, found, load_n, nearest},
    net::Net,
    spot::{Ground, NUMBERS_COUNT, Numbers, Spot, numbers, tether},
};
use crate::{
    System,
    hang::{EXIT_FREE_M, Touch},
    point::TetherPoint,
    scenario::GustResponse,
    search::Free,
    system::{Place, surroundings::Stream},
};

/// Elevations beyond the least that a plan allows, °: in the mean wind, and more in the gust.
const BEYOND_DEG: (f64, f64) = (12.0, 30.0);
/// Least drum tension of the net, of the load on a straight line.
const LEAST: f64 = 0.002;
/// Largest drum tension in the gust, of that in the mean wind, and least.
const IN_GUST: (f64, f64) = (4.0, 0.2);
/// Drum tension that is added before one in the gust is taken by that in the mean wind, of that in which the net is even.
const ADDED: f64 = 5.0;
/// Tensions at which it is known how far lines reach, to a step of the net.
const ROWS_TO_A_STEP: usize = 4;
/// Longest line that is followed, of what is on the drum, and depth under the ground, of the height, at which one is given up: what lies
/// between lines is read from those around it, also from some that no plan may have.
const LONGEST: f64 = 4.0;
const DEEP: f64 = 1.0;

/// [`Table::shorter_ratio`] from which on a line is surely the shorter one, and drum tension over the least in the gust from which on it
/// surely hangs.
const SURELY_SHORT: f64 = 0.05;
const SURELY_OVER: f64 = 1.05;

/// Numbers of the line that belongs to one in the gust: its pull at the drum, scaled (3), the load on it, N (3), and the last three
/// as above.
const IN_GUST_TOO: usize = 9;

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
    /// Strain that is added to a slack before its logarithm is taken.
    strain_ratio: f64,
    /// Offsets of the map, m.
    offsets_m: (f64, f64),
    exit_height_m: f64,
    forces: Forces,
    forces_in_gust: Forces,
    mean: Net<LINE>,
    gust: Net<LINE>,
    in_gust_too: Net<IN_GUST_TOO>,
    /// See [`Table::reaches`]; empty where the winch holds the length.
    reaches: Vec<f64>,
    /// What the numbers of both lines are off by at the place that was put right last.
    off: [Numbers; 2],
}

impl Table {
    /// Follows them; `free` are the payload, the offset and the drum tension. None where no line reaches, for a vehicle that is
    /// not over ground and for a line that may lie there.
    pub(super) fn hang(system: &System, gust: &Stream, place: &Place, free: &[Free]) -> Option<Self> {
        let ground = Ground { height_m: place.position_m.z, crosswind_m: place.position_m.y };
        let line = system.line.as_deref()?;
        let may_lie = system.limits.max_length_on_ground_m > 0.0;
        if may_lie || ground.height_m < 0.1 || system.under(Touch::Through).is_none() {
            return None;
        }
        let span = &free.get(1)?.span;
        let exit_height_m = system.surroundings.exit_height_m;
        let most_n = free.get(2)?.span.hi.min(line.breaking_load_n);
        let load_n = load_n(line, gust, ground.height_m);
        if most_n <= 2.0 * LEAST * load_n {
            return None;
        }
        let follow = Follow {
            line,
            asked: Ascending {
                height_m: ground.height_m,
                longest_m: LONGEST * line.total_length_m,
                counted_from_m: EXIT_FREE_M.min(0.5 * ground.height_m),
                deepest_m: -exit_height_m - DEEP * ground.height_m,
            },
            crosswind_m: ground.crosswind_m,
            strain_ratio: 1e-6 + IN_GUST.0 * most_n / line.axial_stiffness_n,
        };
        let lowest_deg = (system.limits.min_drum_elevation_deg - BEYOND_DEG.0).clamp(-30.0, 60.0);
        let forces = Forces::new(lowest_deg, (LEAST * load_n, most_n), load_n);
        let tensions_n = (IN_GUST.1 * LEAST * load_n, IN_GUST.0 * most_n);
        let forces_in_gust = Forces::new(lowest_deg - BEYOND_DEG.1, tensions_n, load_n);
        let mut table = Self {
            ground,
            response: system.gust_response,
            slack: free.get(2)?.clone(),
            strain_ratio: follow.strain_ratio,
            offsets_m: (span.lo, span.hi),
            exit_height_m,
            forces,
            forces_in_gust,
            mean: follow.net(&system.surroundings.mean, &forces),
            gust: follow.net(gust, &forces_in_gust),
            in_gust_too: Net::new([0, 0], |_| None),
            reaches: Vec::new(),
            off: [[0.0; NUMBERS_COUNT]; 2],
        };
        if table.response == GustResponse::HoldsTension {
            table.reaches = table.reaches();
        }
        table.in_gust_too = Net::new(forces.counts, |at| table.in_gust_too(at));
        Some(table)
    }

    /// The line in the gust that belongs to one in the mean wind.
    fn in_gust_too(&self, at: [usize; 2]) -> Option<[f64; IN_GUST_TOO]> {
        let mean = self.mean.place(at)?;
        let tension_n = self.forces.tension_n(at[1] as f64);
        let there = match self.response {
            GustResponse::HoldsLength => {
                found(&self.gust, mean[CHORD], mean[SLACK], nearest(&self.gust, mean[CHORD], mean[SLACK])?)?
            }
            GustResponse::HoldsTension => self.in_gust(mean[CHORD], tension_n)?,
        };
        let gust = self.gust.between(there)?;
        let pull_n =
            self.forces_in_gust.force_n(there, gust[TILT]) / (tension_n + ADDED * self.forces.even_n);
        let [_, _, x_n, y_n, z_n, _, most, bent_n_per_m, lowest_m] = gust;
        Some([pull_n.x, pull_n.y, pull_n.z, x_n, y_n, z_n, most, bent_n_per_m, lowest_m])
    }

    /// Place, in the gust, of the shorter line with a chord and a drum tension.
    fn in_gust(&self, chord_rad: f64, tension_n: f64) -> Option<[f64; 2]> {
        let v = self.forces_in_gust.step_of_tension(tension_n);
        let count = self.gust.counts()[0];
        let over = |u: f64| self.gust.between([u, v]).map(|line| line[CHORD] - chord_rad);
        let each: Vec<Option<f64>> = (0..count).map(|u| over(u as f64)).collect();
        // On the shorter line a steeper departure leads farther upwind.
        let rising = |i: &usize| each[*i].is_some_and(|a| a <= 0.0) && each[i + 1].is_some_and(|b| b > 0.0);
        let i = (0..count - 1).rev().find(rising)?;
        let (mut lo, mut hi) = ((i as f64, each[i]?), (i as f64 + 1.0, each[i + 1]?));
        for step in 0..40 {
            let straight = lo.0 - lo.1 * (hi.0 - lo.0) / (hi.1 - lo.1);
            let middle = if step % 3 == 2 { 0.5 * (lo.0 + hi.0) } else { straight };
            let here = over(middle)?;
            if here.abs() <= CLOSE {
                return Some([middle, v]);
            }
            if here <= 0.0 { lo = (middle, here) } else { hi = (middle, here) }
        }
        Some([0.5 * (lo.0 + hi.0), v])
    }

    /// How far upwind lines reach in the gust, as the largest angle of a chord, at tensions between those of the net.
    fn reaches(&self) -> Vec<f64> {
        let [count, rows] = self.gust.counts();
        let reach = |row: usize| {
            let v = row as f64 / ROWS_TO_A_STEP as f64;
            let chord = |u: usize| self.gust.between([u as f64, v]).map(|line| line[CHORD]);
            let chords: Vec<Option<f64>> = (0..count).map(chord).collect();
            let known = chords.iter().enumerate().filter_map(|(u, chord)| Some((u, (*chord)?)));
            let Some((u, most)) = known.max_by(|a, b| a.1.total_cmp(&b.1)) else { return f64::NEG_INFINITY };
            let beside = |u: Option<usize>| u.and_then(|u| chords.get(u).copied().flatten());
            match (beside(u.checked_sub(1)), beside(Some(u + 1))) {
                // The top of the parabola through the three.
                (Some(before), Some(after)) => {
                    most + (after - before).powi(2) / (8.0 * (2.0 * most - before - after).max(1e-12))
                }
                _ => most,
            }
        };
        (0..=ROWS_TO_A_STEP * (rows - 1)).map(reach).collect()
    }

    /// The least drum tension that hangs in the gust with a chord, N; 0 where all of the net do.
    fn least_in_gust_n(&self, chord_rad: f64) -> f64 {
        let Some(below) = self.reaches.iter().rposition(|reach| *reach < chord_rad) else { return 0.0 };
        let Some(above) = self.reaches.get(below + 1) else { return f64::INFINITY };
        let share = (chord_rad - self.reaches[below]) / (above - self.reaches[below]).max(1e-12);
        self.forces_in_gust.tension_n((below as f64 + share) / ROWS_TO_A_STEP as f64)
    }

    pub(super) fn ground(&self) -> Ground {
        self.ground
    }

    /// How far an offset is within those of the map, of the distance between them.
    pub(super) fn within(&self, offset_m: f64) -> f64 {
        let (lo_m, hi_m) = self.offsets_m;
        (offset_m - lo_m).min(hi_m - offset_m) / (hi_m - lo_m)
    }

    /// A place in the unit square.
    pub(super) fn unit(&self, at: [f64; 2]) -> [f64; 2] {
        std::array::from_fn(|k| at[k] / (self.forces.counts[k] - 1) as f64)
    }

    /// The place of a point of the unit square.
    pub(super) fn place(&self, unit: [f64; 2]) -> [f64; 2] {
        std::array::from_fn(|k| unit[k] * (self.forces.counts[k] - 1) as f64)
    }

    /// Takes from now on off what the lines of a place are off by, of those that hang there.
    pub(super) fn put_right(&mut self, at: [f64; 2], hung: &(TetherPoint, TetherPoint), clearance_m: f64) {
        self.put_back();
        let Some((_, spot)) = self.at(at) else { return };
        let off_by = |hung: &TetherPoint, told: &TetherPoint| {
            let (hung, told) = (numbers(hung, clearance_m), numbers(told, spot.clearance_m));
            std::array::from_fn(|k| hung[k] - told[k])
        };
        self.off = [off_by(&hung.0, &spot.points.0), off_by(&hung.1, &spot.points.1)];
    }

    /// Takes the lines as they were followed.
    pub(super) fn put_back(&mut self) {
        self.off = [[0.0; NUMBERS_COUNT]; 2];
    }

    /// Places to look at first: those of the net, and halfway between two.
    pub(super) fn lattice(&self) -> Vec<[f64; 2]> {
        let at = |[i, j]: [usize; 2]| [i as f64, j as f64];
        let halves = [[0.0, 0.0], [0.5, 0.0], [0.0, 0.5], [0.5, 0.5]];
        self.in_gust_too
            .known()
            .flat_map(|(i, _)| halves.map(|[u, v]| [at(i)[0] + u, at(i)[1] + v]))
            .collect()
    }

    /// Offset, m, and coordinate of the slack of a place.
    pub(super) fn station(&self, at: [f64; 2]) -> Option<(f64, f64)> {
        let line = self.mean.between(at)?;
        Some((self.offset_m(&line), self.slack.unit_of_slack(line[SLACK].exp() - self.strain_ratio)?))
    }

    fn offset_m(&self, line: &[f64; LINE]) -> f64 {
        self.ground.height_m / line[CHORD].tan()
    }

    fn paid_out_m(&self, line: &[f64; LINE]) -> f64 {
        let ground = &self.ground;
        let distance_m = ground.height_m.hypot(ground.crosswind_m).hypot(self.offset_m(line));
        distance_m * (1.0 + line[SLACK].exp() - self.strain_ratio)
    }

    /// The place of an offset, m, and a coordinate of the slack.
    pub(super) fn steps(&self, downwind_m: f64, slack_unit: f64) -> Option<[f64; 2]> {
        let chord_rad = self.ground.height_m.atan2(downwind_m);
        let slack = (self.slack.slack_ratio(slack_unit)? + self.strain_ratio).max(1e-12).ln();
        found(&self.mean, chord_rad, slack, nearest(&self.mean, chord_rad, slack)?)
    }

    /// The tether at a place, and its offset, m.
    pub(super) fn at(&self, at: [f64; 2]) -> Option<(f64, Spot)> {
        let (line, gust) = (&self.mean.between(at)?, self.in_gust_too.between(at)?);
        let offset_m = self.offset_m(line);
        let drum_n = self.forces.force_n(at, line[TILT]);
        let tension_n = drum_n.norm();
        let (mean, above_m) =
            self.tether(0, drum_n, [line[2], line[3], line[4]], &line[6..], self.paid_out_m(line));
        let drum_in_gust_n =
            (tension_n + ADDED * self.forces.even_n) * Vector3::new(gust[0], gust[1], gust[2]);
        let paid_out_m = mean.paid_out_m;
        let (gust, above_in_gust_m) =
            self.tether(1, drum_in_gust_n, [gust[3], gust[4], gust[5]], &gust[6..], paid_out_m);
        let over_least_ratio = match self.response {
            GustResponse::HoldsLength => 1.0,
            GustResponse::HoldsTension => tension_n / self.least_in_gust_n(line[CHORD]).max(1e-9) - 1.0,
        };
        let shrinking_ratio = self.shrinking_ratio(at, mean.top_tension_n)?;
        let clearance_m = above_m.min(above_in_gust_m);
        Some((offset_m, Spot { points: (mean, gust), clearance_m, over_least_ratio, shrinking_ratio }))
    }

    fn tether(
        &self,
        stream: usize,
        drum_n: Vector3<f64>,
        load_n: [f64; 3],
        rest: &[f64],
        paid_out_m: f64,
    ) -> (TetherPoint, f64) {
        let pull_n = Vector3::from(load_n) - drum_n;
        let (most, bent_n_per_m, lowest_m) = (rest[0], rest[1], rest[2]);
        let max_tension_n = most.max(1.0) * pull_n.norm();
        let mut numbers = [
            pull_n.x,
            pull_n.y,
            pull_n.z,
            drum_n.x,
            drum_n.y,
            drum_n.z,
            max_tension_n,
            bent_n_per_m,
            lowest_m + self.exit_height_m,
        ];
        for (number, off) in numbers.iter_mut().zip(&self.off[stream]) {
            *number += off;
        }
        tether(&numbers, paid_out_m)
    }

    /// Part of a pull at the drum that shrinks as the line is paid out, over the pull at the vehicle, see [`Spot::shrinking_ratio`].
    fn shrinking_ratio(&self, at: [f64; 2], top_tension_n: f64) -> Option<f64> {
        Some(self.shorter_ratio(at)? * self.forces.tension_n(at[1]) / top_tension_n.max(1e-9))
    }

    /// The same over the pull at the drum itself: how the force at the drum changes as more is paid out to a vehicle at rest, 1 where it
    /// only grows less, 0 where it only turns.
    fn shorter_ratio(&self, at: [f64; 2]) -> Option<f64> {
        let by_elevation = self.mean.slope(at, 0)?;
        let by_tension = self.mean.slope(at, 1)?;
        let (turn, growth) = (self.forces.elevation.1, self.forces.growth(at[1]));
        let chord = (by_elevation[CHORD] / turn, by_tension[CHORD] / growth);
        let slack = (by_elevation[SLACK] / turn, by_tension[SLACK] / growth);
        let by_slack = slack.1 * chord.0 - slack.0 * chord.1;
        Some(-by_slack.signum() * chord.0 / chord.0.hypot(chord.1).max(1e-12))
    }

    /// Whether a line is surely the shorter one with its drum tension, and hangs with it in the gust where the winch holds it.
    pub(super) fn is_surely_short(&self, downwind_m: f64, slack_unit: f64) -> bool {
        let Some(at) = self.steps(downwind_m, slack_unit) else { return false };
        let hangs_in_gust = match self.response {
            GustResponse::HoldsLength => true,
            GustResponse::HoldsTension => {
                let least_n = self.least_in_gust_n(self.ground.height_m.atan2(downwind_m));
                self.forces.tension_n(at[1]) > SURELY_OVER * least_n
            }
        };
        hangs_in_gust && self.shorter_ratio(at).is_some_and(|ratio| ratio > SURELY_SHORT)
    }

    /// What hangs in the gust with a drum tension held, as the table has it.
    pub(super) fn held_in_gust(&self, downwind_m: f64, drum_tension_n: f64) -> Option<InGust> {
        let chord_rad = self.ground.height_m.atan2(downwind_m);
        let least_n = self.least_in_gust_n(chord_rad).max(1e-9);
        let over_least_ratio = drum_tension_n / least_n - 1.0;
        let slack_unit = |tension_n: f64| {
            let line = self.gust.between(self.in_gust(chord_rad, tension_n)?)?;
            self.slack.unit_of_slack(line[SLACK].exp() - self.strain_ratio)
        };
        let here = slack_unit(drum_tension_n)?;
        let tighter = slack_unit(1.01 * drum_tension_n)?;
        Some(InGust {
            slack_unit: here,
            least_n,
            over_least_ratio,
            falls_by: 0.01_f64.ln_1p() / (tighter - here),
        })
    }
}
