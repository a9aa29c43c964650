//! A circle over the ground in a wind.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{constants::STANDARD_GRAVITY_M_S2, domain::in_range};

use super::{FixedWing, LevelFlight, WingLoad, check_air};
use crate::{
    error::VehicleError,
    limit::{Limit, LimitKind},
};

/// Points on the circle; the mean of a smooth periodic function over equal steps converges faster than any power.
const POINTS_COUNT: u32 = 72;
/// Least ground speed over airspeed: below it the aircraft hangs in the wind instead of circling.
pub(super) const LEAST_GROUND_RATIO: f64 = 0.05;

/// Angle between track and wind at point `i`, rad.
fn angle_rad(i: u32) -> f64 {
    std::f64::consts::TAU * f64::from(i) / f64::from(POINTS_COUNT)
}

/// A circle over the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orbit {
    /// Radius over the ground, m, 1 to 1e5.
    pub radius_m: f64,
    /// Horizontal wind at the height of the circle, m/s, 0 to 150.
    pub wind_m_s: f64,
}

/// One flight round the circle at constant airspeed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loiter {
    /// Airspeed, m/s.
    pub airspeed_m_s: f64,
    /// Time for one circle, s.
    pub period_s: f64,
    /// Ground speed straight into the wind, m/s.
    pub least_ground_speed_m_s: f64,
    /// Ground speed with the wind behind, m/s.
    pub largest_ground_speed_m_s: f64,
    /// Circumference over period, m/s.
    pub mean_ground_speed_m_s: f64,
    /// Largest bank on the circle, degrees.
    pub largest_bank_deg: f64,
    /// Largest lift over weight on the circle.
    pub largest_load_factor: f64,
    /// Largest lift coefficient on the circle.
    pub largest_lift_coefficient: f64,
    /// Least airspeed over stall speed on the circle.
    pub least_stall_ratio: f64,
    /// Demand averaged over the time of one circle, W: decides energy.
    pub mean_demand_w: f64,
    /// Shaft power averaged over the time of one circle, W.
    pub mean_shaft_w: f64,
    /// Drag without lift × airspeed, averaged, W.
    pub mean_profile_w: f64,
    /// Drag of the lift × airspeed, averaged, W.
    pub mean_induced_w: f64,
    /// Largest demand on the circle, W: decides the supply.
    pub largest_demand_w: f64,
    /// Largest thrust on the circle, N.
    pub largest_thrust_n: f64,
    /// Least thrust on the circle, N; negative where the tether pulls the aircraft along faster than its drag holds.
    pub least_thrust_n: f64,
    /// Largest shaft power on the circle, W.
    pub largest_shaft_w: f64,
    /// The limit that is used most, anywhere on the circle.
    pub binding_limit: Limit,
}

/// Motion at one point of the circle.
struct Point {
    ground_speed_m_s: f64,
    /// Cosine and sine of the angle from track to heading, inward positive.
    crab: (f64, f64),
    /// Acceleration across the heading, m/s².
    across_m_s2: f64,
}

impl Orbit {
    pub(super) fn check(&self) -> Result<(), VehicleError> {
        in_range("orbit radius", "m", self.radius_m, 1.0, 1e5)?;
        in_range("wind", "m/s", self.wind_m_s, 0.0, 150.0)?;
        Ok(())
    }

    /// The point where the track makes `angle_rad` with the wind. Constant airspeed V: the heading cancels the wind
    /// across the track, so that ground speed is w cos a + √(V² − w² sin² a). The acceleration is at right angles to
    /// the heading (V is constant) and its part across the track is ground speed²/radius.
    fn point(&self, angle_rad: f64, airspeed_m_s: f64) -> Point {
        let (sin, cos) = angle_rad.sin_cos();
        let across_ratio = self.wind_m_s * sin / airspeed_m_s;
        let crab = ((1.0 - across_ratio * across_ratio).max(0.0).sqrt(), across_ratio);
        let ground_speed_m_s = self.wind_m_s * cos + airspeed_m_s * crab.0;
        let across_m_s2 = ground_speed_m_s * ground_speed_m_s / (self.radius_m * crab.0);
        Point { ground_speed_m_s, crab, across_m_s2 }
    }
}

impl FixedWing {
    /// One circle at constant airspeed (0.1 to 150 m/s) and height, refused if a limit is passed anywhere on it.
    ///
    /// Quasi-steady at each of 72 points: the lift makes the turn (less the inward pull of the tether) and carries
    /// the weight and the downward pull, bank = atan(horizontal/vertical part); thrust balances drag and what the
    /// tether pulls along the heading. Elementary mechanics of a circular ground track in uniform wind; a turn
    /// without wind has load factor √(1 + (V²/gr)²). The wind is uniform, gusts are not in it.
    ///
    /// # Errors
    /// [`VehicleError::WindTooStrong`], [`VehicleError::Stall`], [`VehicleError::BankExceeded`],
    /// [`VehicleError::LoadFactorExceeded`], a limit of the drive, or a number outside its range.
    pub fn loiter(
        &self,
        load: &WingLoad,
        orbit: &Orbit,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<Loiter, VehicleError> {
        let loiter = self.loiter_beyond_limits(load, orbit, airspeed_m_s, fluid)?;
        match loiter.binding_limit.exceeded() {
            Some(error) => Err(error),
            None => Ok(loiter),
        }
    }

    /// As [`Self::loiter`], but a limit that is passed is only reported.
    ///
    /// # Errors
    /// [`VehicleError::WindTooStrong`], a number outside its range, or a rotor model without an answer.
    pub fn loiter_beyond_limits(
        &self,
        load: &WingLoad,
        orbit: &Orbit,
        airspeed_m_s: f64,
        fluid: &Fluid,
    ) -> Result<Loiter, VehicleError> {
        load.check()?;
        orbit.check()?;
        check_air(airspeed_m_s, fluid)?;
        let least_ground_speed_m_s = airspeed_m_s - orbit.wind_m_s;
        if least_ground_speed_m_s < LEAST_GROUND_RATIO * airspeed_m_s {
            let wind_m_s = orbit.wind_m_s;
            return Err(VehicleError::WindTooStrong { wind_m_s, airspeed_m_s, least_ground_speed_m_s });
        }
        let mut round = Round::default();
        for i in 0..POINTS_COUNT {
            self.fly_point(load, &orbit.point(angle_rad(i), airspeed_m_s), airspeed_m_s, fluid, &mut round)?;
        }
        round.finish(orbit, airspeed_m_s)
    }

    /// Mean demand of a circle that keeps all limits, W, infinite for one that does not: given up at the first point
    /// where one is passed, the first being the one with the wind behind, which is the steepest.
    pub(super) fn mean_demand_w(
        &self,
        load: &WingLoad,
        orbit: &Orbit,
        airspeed_m_s: f64,
        fluid: &Fluid,
        stride: usize,
    ) -> f64 {
        if airspeed_m_s - orbit.wind_m_s < LEAST_GROUND_RATIO * airspeed_m_s {
            return f64::INFINITY;
        }
        let mut round = Round::default();
        for i in (0..POINTS_COUNT).step_by(stride) {
            let point = orbit.point(angle_rad(i), airspeed_m_s);
            let flown = self.fly_point(load, &point, airspeed_m_s, fluid, &mut round);
            if flown.is_err() || round.limit.is_some_and(|l| l.exceeded().is_some()) {
                return f64::INFINITY;
            }
        }
        round.energy_weight / round.time_weight
    }

    fn fly_point(
        &self,
        load: &WingLoad,
        point: &Point,
        airspeed_m_s: f64,
        fluid: &Fluid,
        round: &mut Round,
    ) -> Result<(), VehicleError> {
        let weight_n = load.mass_kg * STANDARD_GRAVITY_M_S2;
        let (cos, sin) = point.crab;
        let forward_n = load.pull_inward_n * sin - load.pull_back_n * cos;
        let (across_n, vertical_n) = lift_parts_n(load, point);
        let lift_n = across_n.hypot(vertical_n);
        let flight = self.carry(lift_n, forward_n, airspeed_m_s, fluid)?;
        let bank_deg = across_n.abs().atan2(vertical_n).to_degrees();
        let load_factor = lift_n / weight_n;
        let bank = Limit::upper(LimitKind::Bank, bank_deg, self.inputs.max_bank_deg);
        let structure = Limit::upper(LimitKind::LoadFactor, load_factor, self.inputs.max_load_factor);
        let limit = flight.binding_limit().tighter(bank).tighter(structure);
        round.add(&flight, limit, bank_deg, load_factor, point.ground_speed_m_s);
        Ok(())
    }
}

/// Lift across the heading and upwards at a point of the circle, N.
fn lift_parts_n(load: &WingLoad, point: &Point) -> (f64, f64) {
    let (cos, sin) = point.crab;
    let inward_n = load.pull_inward_n * cos + load.pull_back_n * sin;
    let across_n = load.mass_kg * point.across_m_s2 - inward_n;
    (across_n, load.mass_kg * STANDARD_GRAVITY_M_S2 + load.pull_down_n)
}

/// Lift with the wind behind, N.
pub(super) fn lift_downwind_n(load: &WingLoad, orbit: &Orbit, airspeed_m_s: f64) -> f64 {
    let (across_n, vertical_n) = lift_parts_n(load, &orbit.point(0.0, airspeed_m_s));
    across_n.hypot(vertical_n)
}

/// Sums and extremes while going round.
#[derive(Debug, Default)]
struct Round {
    time_weight: f64,
    energy_weight: f64,
    shaft_weight: f64,
    profile_weight: f64,
    induced_weight: f64,
    largest_ground_m_s: f64,
    least_ground_m_s: Option<f64>,
    bank_deg: f64,
    load_factor: f64,
    lift_coefficient: f64,
    stall_ratio: Option<f64>,
    demand_w: f64,
    thrust_n: Option<(f64, f64)>,
    shaft_w: f64,
    limit: Option<Limit>,
}

impl Round {
    fn add(&mut self, flight: &LevelFlight, limit: Limit, bank_deg: f64, load_factor: f64, ground_m_s: f64) {
        self.time_weight += 1.0 / ground_m_s;
        self.energy_weight += flight.demand_w / ground_m_s;
        self.shaft_weight += flight.shaft_w / ground_m_s;
        let airspeed_m_s = flight.airspeed_m_s;
        self.profile_weight += (flight.drag_n - flight.induced_drag_n) * airspeed_m_s / ground_m_s;
        self.induced_weight += flight.induced_drag_n * airspeed_m_s / ground_m_s;
        self.largest_ground_m_s = self.largest_ground_m_s.max(ground_m_s);
        self.least_ground_m_s = Some(self.least_ground_m_s.map_or(ground_m_s, |g| g.min(ground_m_s)));
        self.bank_deg = self.bank_deg.max(bank_deg);
        self.load_factor = self.load_factor.max(load_factor);
        self.lift_coefficient = self.lift_coefficient.max(flight.lift_coefficient);
        let stall_ratio = flight.airspeed_m_s / flight.stall_speed_m_s.max(1e-9);
        self.stall_ratio = Some(self.stall_ratio.map_or(stall_ratio, |s| s.min(stall_ratio)));
        self.demand_w = self.demand_w.max(flight.demand_w);
        let (least_n, largest_n) = self.thrust_n.unwrap_or((flight.thrust_n, flight.thrust_n));
        self.thrust_n = Some((least_n.min(flight.thrust_n), largest_n.max(flight.thrust_n)));
        self.shaft_w = self.shaft_w.max(flight.shaft_w);
        self.limit = Some(self.limit.map_or(limit, |l| l.tighter(limit)));
    }

    fn finish(self, orbit: &Orbit, airspeed_m_s: f64) -> Result<Loiter, VehicleError> {
        let incomplete = VehicleError::NotFinite { quantity: "demand on the circle" };
        let (least_thrust_n, largest_thrust_n) = self.thrust_n.ok_or(incomplete)?;
        let mean_demand_w = self.energy_weight / self.time_weight;
        if !mean_demand_w.is_finite() || !self.lift_coefficient.is_finite() {
            return Err(incomplete);
        }
        let mean_ground_speed_m_s = f64::from(POINTS_COUNT) / self.time_weight;
        Ok(Loiter {
            airspeed_m_s,
            period_s: std::f64::consts::TAU * orbit.radius_m / mean_ground_speed_m_s,
            least_ground_speed_m_s: self.least_ground_m_s.ok_or(incomplete)?,
            largest_ground_speed_m_s: self.largest_ground_m_s,
            mean_ground_speed_m_s,
            largest_bank_deg: self.bank_deg,
            largest_load_factor: self.load_factor,
            largest_lift_coefficient: self.lift_coefficient,
            least_stall_ratio: self.stall_ratio.ok_or(incomplete)?,
            mean_demand_w,
            mean_shaft_w: self.shaft_weight / self.time_weight,
            mean_profile_w: self.profile_weight / self.time_weight,
            mean_induced_w: self.induced_weight / self.time_weight,
            largest_demand_w: self.demand_w,
            largest_thrust_n,
            least_thrust_n,
            largest_shaft_w: self.shaft_w,
            binding_limit: self.limit.ok_or(incomplete)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_is_the_rate_at_which_the_velocity_through_the_air_changes() {
        let orbit = Orbit { radius_m: 150.0, wind_m_s: 9.0 };
        let airspeed_m_s = 20.0;
        let through_air = |angle_rad: f64| {
            let ground_speed_m_s = orbit.point(angle_rad, airspeed_m_s).ground_speed_m_s;
            let (sin, cos) = angle_rad.sin_cos();
            (ground_speed_m_s * cos - orbit.wind_m_s, ground_speed_m_s * sin)
        };
        for i in 0..16 {
            let angle_rad = 0.4 * f64::from(i);
            let point = orbit.point(angle_rad, airspeed_m_s);
            let (x, y) = through_air(angle_rad);
            assert!((x.hypot(y) - airspeed_m_s).abs() < 1e-12);
            let (before, after) = (through_air(angle_rad - 1e-5), through_air(angle_rad + 1e-5));
            let turned_m_s = (after.0 - before.0).hypot(after.1 - before.1);
            let rate_m_s2 = turned_m_s / 2e-5 * point.ground_speed_m_s / orbit.radius_m;
            assert!((rate_m_s2 / point.across_m_s2 - 1.0).abs() < 1e-6, "{rate_m_s2} {}", point.across_m_s2);
        }
    }
}
