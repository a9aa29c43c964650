//! The tethers of one column of a map, followed once from the drum on a net of drum forces, in the mean wind and in the gust. Between
//! them the loads, lengths and places are interpolated. To each line in the mean wind belongs the one that the winch has in the gust:
//! with its length or with its drum tension.

use nalgebra::Vector3;

use super::{
    bundle::{Bundle, Bundles, Shared},
    lines::{CHORD, CLOSE, Forces, LINE, SLACK, TILT, found, nearest},
    net::Net,
    spot::{Ground, NUMBERS_COUNT, Numbers, Spot, numbers, tether},
};
use crate::{
    System,
    point::TetherPoint,
    scenario::GustResponse,
    search::Free,
    system::{Place, surroundings::Stream},
};

/// Drum tension that is added before one in the gust is taken by that in the mean wind, of that in which the net is even.
const ADDED: f64 = 5.0;
/// Tensions at which it is known how far lines reach, to a step of the net.
const ROWS_TO_A_STEP: usize = 4;
/// [`Table::shorter_ratio`] from which on a line is surely the shorter one, and drum tension over the least in the gust from which on it
/// surely hangs.
const SURELY_SHORT: f64 = 0.05;
const SURELY_OVER: f64 = 1.05;

/// Numbers of the line that belongs to one in the gust: its pull at the drum, scaled (3), the load on it, N (3), its largest tension over
/// that at the vehicle, drum tension over the smallest bend radius, N/m, lowest place beyond the first metres and of all, m, and logarithm of its slack.
const IN_GUST_TOO: usize = 11;

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
    /// Follows them, or takes the lines that are `shared`; `free` are the payload, the offset and the drum tension. None where no line
    /// reaches, for a vehicle that is not over ground and for a line that may lie there.
    pub(super) fn hang(
        system: &System,
        gust: &Stream,
        place: &Place,
        free: &[Free],
        shared: &Shared,
    ) -> Option<Self> {
        let ground = Ground { height_m: place.position_m.z, crosswind_m: place.position_m.y };
        let heights_m = [ground.height_m];
        let bundles = Bundles::new(system, free, &heights_m, ground.crosswind_m)?;
        let of_shared = |bundle: &Option<Bundle>| bundle.as_ref()?.past(ground.height_m);
        let (forces, mean) =
            of_shared(&shared.mean).or_else(|| bundles.in_mean(gust)?.past(ground.height_m))?;
        let (forces_in_gust, in_gust) =
            of_shared(&shared.gust).or_else(|| bundles.in_gust(gust)?.past(ground.height_m))?;
        let span = &free.get(1)?.span;
        let mut table = Self {
            ground,
            response: system.gust_response,
            slack: free.get(2)?.clone(),
            strain_ratio: bundles.strain_ratio(),
            offsets_m: (span.lo, span.hi),
            exit_height_m: system.surroundings.exit_height_m,
            forces,
            forces_in_gust,
            mean,
            gust: in_gust,
            in_gust_too: Net::new([0, 0], |_| None),
            reaches: Vec::new(),
            off: [[0.0; NUMBERS_COUNT]; 2],
        };
        if table.response == GustResponse::HoldsTension {
            table.reaches = table.reaches();
        }
        let mut last = None;
        table.in_gust_too = Net::new(forces.counts, |at| {
            let there = table.belonging(at, last);
            last = there.or(last);
            table.in_gust_too(at, there?)
        });
        Some(table)
    }

    /// The place of the line in the gust that belongs to one in the mean wind; `near` is where one was found before.
    fn belonging(&self, at: [usize; 2], near: Option<[f64; 2]>) -> Option<[f64; 2]> {
        let mean = self.mean.place(at)?;
        let (chord_rad, slack) = (mean[CHORD], mean[SLACK]);
        match self.response {
            GustResponse::HoldsLength => near
                .and_then(|from| found(&self.gust, chord_rad, slack, from))
                .or_else(|| found(&self.gust, chord_rad, slack, nearest(&self.gust, chord_rad, slack)?)),
            GustResponse::HoldsTension => self.in_gust(chord_rad, self.forces.tension_n(at[1] as f64)),
        }
    }

    /// The line in the gust, at a place of its net, that belongs to one in the mean wind.
    fn in_gust_too(&self, at: [usize; 2], there: [f64; 2]) -> Option<[f64; IN_GUST_TOO]> {
        let tension_n = self.forces.tension_n(at[1] as f64);
        let gust = self.gust.between(there)?;
        let pull_n =
            self.forces_in_gust.force_n(there, gust[TILT]) / (tension_n + ADDED * self.forces.even_n);
        let [_, slack, x_n, y_n, z_n, _, most, bent_n_per_m, lowest_m, of_all_m] = gust;
        Some([pull_n.x, pull_n.y, pull_n.z, x_n, y_n, z_n, most, bent_n_per_m, lowest_m, of_all_m, slack])
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

    /// Places to look at first: those of the net.
    pub(super) fn places(&self) -> Vec<[f64; 2]> {
        self.in_gust_too.known().map(|(at, _)| at.map(|k| k as f64)).collect()
    }

    /// Offset, m, and coordinate of the slack of a place.
    pub(super) fn station(&self, at: [f64; 2]) -> Option<(f64, f64)> {
        let line = self.mean.between(at)?;
        Some((self.offset_m(&line), self.slack.unit_of_slack(line[SLACK].exp() - self.strain_ratio)?))
    }

    fn offset_m(&self, line: &[f64; LINE]) -> f64 {
        self.ground.height_m / line[CHORD].tan()
    }

    fn paid_out_m(&self, line: &[f64; LINE], slack: f64) -> f64 {
        let ground = &self.ground;
        let distance_m = ground.height_m.hypot(ground.crosswind_m).hypot(self.offset_m(line));
        distance_m * (1.0 + slack.exp() - self.strain_ratio)
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
        let paid_out_m = self.paid_out_m(line, line[SLACK]);
        let (mean, above_m) = self.tether(
            0,
            drum_n,
            [line[2], line[3], line[4]],
            [line[6], line[7], line[8], line[9], paid_out_m],
        );
        let drum_in_gust_n =
            (tension_n + ADDED * self.forces.even_n) * Vector3::new(gust[0], gust[1], gust[2]);
        let paid_out_m = match self.response {
            GustResponse::HoldsLength => paid_out_m,
            GustResponse::HoldsTension => self.paid_out_m(line, gust[10]),
        };
        let rest = [gust[6], gust[7], gust[8], gust[9], paid_out_m];
        let (gust, above_in_gust_m) = self.tether(1, drum_in_gust_n, [gust[3], gust[4], gust[5]], rest);
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
        [most, bent_n_per_m, lowest_m, of_all_m, paid_out_m]: [f64; 5],
    ) -> (TetherPoint, f64) {
        let pull_n = Vector3::from(load_n) - drum_n;
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
            paid_out_m,
            of_all_m + self.exit_height_m,
        ];
        for (number, off) in numbers.iter_mut().zip(&self.off[stream]) {
            *number += off;
        }
        tether(&numbers)
    }

    /// Part of a pull at the drum that shrinks as the line is paid out, over the pull at the vehicle, see [`Spot::shrinking_ratio`].
    fn shrinking_ratio(&self, at: [f64; 2], top_tension_n: f64) -> Option<f64> {
        Some(self.shorter_ratio(at)? * self.forces.tension_n(at[1]) / top_tension_n.max(1e-9))
    }

    /// The same over the pull at the drum itself: how the force at the drum changes as more is paid out to a vehicle at rest, 1 where it
    /// only grows less, 0 where it only turns.
    fn shorter_ratio(&self, at: [f64; 2]) -> Option<f64> {
        let [[_, chord_by_u, chord_by_v], [_, slack_by_u, slack_by_v]] =
            self.mean.sloped(at, [CHORD, SLACK])?;
        let (turn, growth) = (self.forces.elevation.1, self.forces.growth(at[1]));
        let chord = (chord_by_u / turn, chord_by_v / growth);
        let slack = (slack_by_u / turn, slack_by_v / growth);
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
}
