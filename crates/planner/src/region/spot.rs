//! A tether as a map reads it: its numbers in mean wind and gust, without its shape.

use nalgebra::Vector3;

use crate::{
    point::{Branch, TetherPoint},
    scenario::Winch,
    search::Free,
    system::Place,
};

/// Numbers of a tether in one wind.
const EACH: usize = 9;
/// Numbers of a tether in mean wind and gust, and its clearance.
pub(super) const NUMBERS_COUNT: usize = 2 * EACH + 1;

/// Numbers of a tether in mean wind and gust, and its clearance.
pub(super) type Numbers = [f64; NUMBERS_COUNT];

/// What the limits of a tether and the vehicle read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// In mean wind and gust.
    pub points: (TetherPoint, TetherPoint),
    /// Lowest point of both over ground beyond the first metres, m.
    pub clearance_m: f64,
}

/// Where the stations of a column are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground {
    /// Over the drum exit, m.
    pub height_m: f64,
    /// To the left of the wind, m.
    pub crosswind_m: f64,
}

impl Ground {
    /// A station, by the coordinate of its slack.
    pub(super) fn place(&self, free: &[Free], downwind_m: f64, slack_unit: f64) -> Place {
        let position_m = Vector3::new(downwind_m, self.crosswind_m, self.height_m);
        let slack_ratio = free[2].slack_ratio(slack_unit).unwrap_or(0.0);
        let paid_out_m = position_m.norm() * (1.0 + slack_ratio);
        Place { position_m, winch: Some(Winch::PaidOut { paid_out_m }) }
    }
}

/// The numbers of a tether.
pub(super) fn numbers(points: &(TetherPoint, TetherPoint), clearance_m: f64) -> Numbers {
    let mut all = [clearance_m; NUMBERS_COUNT];
    for (part, point) in all.chunks_exact_mut(EACH).zip([&points.0, &points.1]) {
        part[..3].copy_from_slice(&point.force_on_vehicle_n);
        part[3..].copy_from_slice(&[
            point.paid_out_m,
            point.top_tension_n,
            point.drum_tension_n,
            point.max_tension_n,
            point.drum_elevation_deg,
            1.0 / point.min_bend_radius_m,
        ]);
    }
    all
}

/// A tether of interpolated numbers; what limits do not ask for is 0.
pub(super) fn spot(all: &Numbers) -> Spot {
    let point = |part: &[f64]| TetherPoint {
        paid_out_m: part[3],
        force_on_vehicle_n: [part[0], part[1], part[2]],
        force_at_drum_n: [0.0; 3],
        top_tension_n: part[4],
        drum_tension_n: part[5],
        max_tension_n: part[6],
        max_tension_at_m: 0.0,
        drum_elevation_deg: part[7],
        min_bend_radius_m: 1.0 / part[8].max(1e-9),
        lowest_point_m: 0.0,
        on_ground_m: 0.0,
        lies: None,
        branch: Branch::Only,
    };
    Spot { points: (point(&all[..EACH]), point(&all[EACH..2 * EACH])), clearance_m: all[2 * EACH] }
}
