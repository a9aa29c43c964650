//! A tether as a map reads it: its numbers in one wind, without its shape.

use nalgebra::Vector3;

use crate::{
    point::{Branch, TetherPoint},
    scenario::Winch,
    search::Free,
    system::Place,
};

/// Numbers of a tether in one wind.
pub(super) const NUMBERS_COUNT: usize = 11;

/// Numbers of a tether in one wind: the pull on vehicle and drum, N, the largest tension, N, the drum tension over the smallest bend
/// radius, N/m, the clearance, m, the length paid out, m, and the lowest point over ground, m. All are smooth where the pull at the drum fades, while its size and angle are not.
pub(super) type Numbers = [f64; NUMBERS_COUNT];

/// What the limits of a tether and the vehicle read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// In mean wind and gust.
    pub points: (TetherPoint, TetherPoint),
    /// Lowest point of both over ground beyond the first metres, m.
    pub clearance_m: f64,
    /// Drum tension over the least that hangs in the gust, less 1, where the winch holds it: below 0 nothing hangs.
    pub over_least_ratio: f64,
    /// Part of the pull at the drum that shrinks as the line is paid out, over the pull at the vehicle. Where it is below 0 a
    /// shorter line has the same drum tension, and that is the one that a winch has.
    pub shrinking_ratio: f64,
}

impl Spot {
    /// How far the line leaves the drum above an elevation, as part of the pull there, over the pull at the vehicle: it has the
    /// sign of the difference, and goes through 0 with the pull instead of turning about.
    pub(super) fn above_ratio(&self, least_deg: f64) -> f64 {
        let mean = &self.points.0;
        let pull_n = Vector3::from(mean.force_at_drum_n);
        let (sin, cos) = least_deg.to_radians().sin_cos();
        (pull_n.z * cos - pull_n.xy().norm() * sin) / mean.top_tension_n.max(1e-9)
    }
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
    /// A vehicle and the length of its line, m, by the coordinate of its slack.
    pub(super) fn line(&self, free: &[Free], downwind_m: f64, slack_unit: f64) -> (Vector3<f64>, f64) {
        let position_m = Vector3::new(downwind_m, self.crosswind_m, self.height_m);
        let slack_ratio = free[2].slack_ratio(slack_unit).unwrap_or(0.0);
        (position_m, position_m.norm() * (1.0 + slack_ratio))
    }

    /// A station, by the coordinate of its slack.
    pub(super) fn place(&self, free: &[Free], downwind_m: f64, slack_unit: f64) -> Place {
        let (position_m, paid_out_m) = self.line(free, downwind_m, slack_unit);
        Place { position_m, winch: Some(Winch::PaidOut { paid_out_m }) }
    }
}

/// The numbers of a tether.
pub(super) fn numbers(point: &TetherPoint, clearance_m: f64) -> Numbers {
    let (pull_n, drum_n) = (&point.force_on_vehicle_n, &point.force_at_drum_n);
    let bent_n_per_m = point.drum_tension_n / point.min_bend_radius_m;
    let [x_n, y_n, z_n] = *drum_n;
    let [pull_x_n, pull_y_n, pull_z_n] = *pull_n;
    let (most_n, paid_out_m, lowest_m) = (point.max_tension_n, point.paid_out_m, point.lowest_point_m);
    [pull_x_n, pull_y_n, pull_z_n, x_n, y_n, z_n, most_n, bent_n_per_m, clearance_m, paid_out_m, lowest_m]
}

/// The pull at the drum among numbers, N.
fn drum_pull_n(numbers: &Numbers) -> Vector3<f64> {
    Vector3::new(numbers[3], numbers[4], numbers[5])
}

/// A tether of interpolated numbers, and its clearance, m; what limits do not ask for is 0.
pub(super) fn tether(numbers: &Numbers) -> (TetherPoint, f64) {
    let [x_n, y_n, z_n, .., max_tension_n, bent_n_per_m, clearance_m, paid_out_m, lowest_m] = *numbers;
    let drum_n = drum_pull_n(numbers);
    let (top_tension_n, drum_tension_n) = (Vector3::new(x_n, y_n, z_n).norm(), drum_n.norm());
    let point = TetherPoint {
        paid_out_m,
        force_on_vehicle_n: [x_n, y_n, z_n],
        force_at_drum_n: drum_n.into(),
        top_tension_n,
        drum_tension_n,
        max_tension_n: max_tension_n.max(top_tension_n).max(drum_tension_n),
        max_tension_at_m: 0.0,
        drum_elevation_deg: drum_n.z.atan2(drum_n.xy().norm()).to_degrees(),
        min_bend_radius_m: drum_tension_n / bent_n_per_m.max(1e-9 * drum_tension_n).max(1e-300),
        lowest_point_m: lowest_m,
        on_ground_m: 0.0,
        lies: None,
        branch: Branch::Only,
    };
    (point, clearance_m)
}
