//! Balance of forces of a vehicle that pushes along one axis: which way it leans and how hard it pushes.

use beamstay_numerics::root::{Tolerance, bracketed};
use nalgebra::Vector3;

use crate::error::VehicleError;

/// Attitude and thrust at which thrust + weight + external force + drag vanish.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ForceBalance {
    /// Thrust of all rotors, N, 0 or more.
    pub thrust_n: f64,
    /// Direction in which the rotors push the vehicle: a unit vector, straight up when nothing is needed.
    pub axis: Vector3<f64>,
    /// Thrust along [`Self::axis`], N.
    pub thrust_vector_n: Vector3<f64>,
    /// Drag of the body (and its guard rings) at that attitude, N.
    pub body_drag_n: Vector3<f64>,
    /// Force of the rotors in their own plane, N.
    pub rotor_drag_n: Vector3<f64>,
    /// Angle between the axis and the vertical, degrees, 0 to 180.
    pub tilt_deg: f64,
    /// Direction toward which the axis leans, degrees from +x (downwind) toward +y, −180 to 180; 0 when upright.
    pub azimuth_deg: f64,
    /// Speed of the air through the rotor plane in the direction of the wake, m/s: positive when climbing or
    /// leaning into the wind, negative when the wind comes from below the rotors.
    pub axial_inflow_m_s: f64,
    /// Speed of the air along the rotor plane, m/s.
    pub edgewise_m_s: f64,
    /// What is left of the sum of all forces, N: rounding.
    pub residual_n: f64,
    /// Evaluations of the attitude equation.
    pub evaluations_count: u32,
}

/// Largest in-plane force over thrust that the balance counts with; a linear law means nothing beyond it.
const MOST_IN_PLANE: f64 = 0.5;

/// What the balance is struck between.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Surroundings {
    /// Minus the sum of weight, buoyancy and external forces, N.
    pub required_n: Vector3<f64>,
    /// Velocity of the fluid relative to the vehicle, m/s.
    pub relative_wind_m_s: Vector3<f64>,
    /// Density of the fluid, kg/m³.
    pub density_kg_m3: f64,
    /// In-plane rotor force over thrust and edgewise speed, s/m.
    pub rotor_drag_s_per_m: f64,
}

impl Surroundings {
    /// Strikes the balance for a body with drag area `area_m2(sin of incidence)`.
    ///
    /// With û the direction of the relative wind and s = −û·axis the sine of its incidence, drag is q A(s) û and the
    /// in-plane force k T (û + s axis), k = rotor drag × speed. Then T ((1 + k s) axis + k û) = required − q A(s) û
    /// gives axis and T for a trial s, so that s alone is unknown. The map s → −û·axis(s) goes from −1..1 into
    /// −1..1, so a solution always exists; it is iterated from the level attitude with Aitken's Δ² (Steffensen's
    /// method, any numerical analysis textbook) and bracketed if that does not settle.
    ///
    /// # Errors
    /// [`VehicleError::NotConverged`] if neither settles; none was found for finite inputs.
    pub fn balance(&self, area_m2: impl Fn(f64) -> f64) -> Result<ForceBalance, VehicleError> {
        let speed_m_s = self.relative_wind_m_s.norm();
        let direction = if speed_m_s > 0.0 { self.relative_wind_m_s / speed_m_s } else { Vector3::zeros() };
        let pressure_pa = 0.5 * self.density_kg_m3 * speed_m_s * speed_m_s;
        let in_plane = (self.rotor_drag_s_per_m * speed_m_s).min(MOST_IN_PLANE);
        let attitude = |sin_incidence: f64| {
            let net_n = self.required_n - direction * (pressure_pa * area_m2(sin_incidence));
            thrust_along(net_n, direction, in_plane, sin_incidence)
        };
        let (sin_incidence, evaluations_count) = if speed_m_s > 0.0 {
            settle(|s| (-direction.dot(&attitude(s).0)).clamp(-1.0, 1.0))
        } else {
            (0.0, 0)
        };
        let (axis, thrust_n) = attitude(sin_incidence);
        let sin_final = -direction.dot(&axis);
        let body_drag_n = direction * (pressure_pa * area_m2(sin_final));
        let rotor_drag_n = (direction + axis * sin_final) * (in_plane * thrust_n);
        let thrust_vector_n = axis * thrust_n;
        let residual_n = (thrust_vector_n - self.required_n + body_drag_n + rotor_drag_n).norm();
        let scale_n = self.required_n.norm() + body_drag_n.norm();
        let closed = residual_n <= 1e-9 * scale_n.max(1e-9);
        if !closed {
            let residual_ratio = residual_n / scale_n;
            return Err(VehicleError::NotConverged { residual_ratio, evaluations_count });
        }
        let lean = axis.x.hypot(axis.y);
        Ok(ForceBalance {
            thrust_n,
            axis,
            thrust_vector_n,
            body_drag_n,
            rotor_drag_n,
            tilt_deg: lean.atan2(axis.z).to_degrees(),
            azimuth_deg: if lean > 0.0 { axis.y.atan2(axis.x).to_degrees() } else { 0.0 },
            axial_inflow_m_s: speed_m_s * sin_final,
            edgewise_m_s: self.relative_wind_m_s.cross(&axis).norm(),
            residual_n,
            evaluations_count,
        })
    }
}

/// Axis and thrust that give the force `net_n` together with the in-plane force: T from the quadratic
/// |net/T − k û| = 1 + k s.
fn thrust_along(
    net_n: Vector3<f64>,
    direction: Vector3<f64>,
    in_plane: f64,
    sin_incidence: f64,
) -> (Vector3<f64>, f64) {
    let net_squared = net_n.norm_squared();
    if net_squared <= f64::MIN_POSITIVE {
        return (Vector3::z(), 0.0);
    }
    if in_plane == 0.0 {
        let thrust_n = net_squared.sqrt();
        return (net_n / thrust_n, thrust_n);
    }
    let along = in_plane * net_n.dot(&direction);
    let stretch = 1.0 + in_plane * sin_incidence;
    let root = (along * along + net_squared * (stretch * stretch - in_plane * in_plane)).max(0.0).sqrt();
    let inverse_thrust = (along + root) / net_squared;
    if inverse_thrust <= 0.0 || inverse_thrust.is_nan() {
        return (Vector3::z(), 0.0);
    }
    let axis = (net_n * inverse_thrust - direction * in_plane) / stretch;
    (axis, 1.0 / inverse_thrust)
}

/// Fixed point of `map` on −1..1 and the evaluations it took.
fn settle(map: impl Fn(f64) -> f64) -> (f64, u32) {
    const SETTLED: f64 = 1e-15;
    let mut s = map(0.0);
    let mut evaluations_count = 1;
    for _ in 0..8 {
        let first = map(s);
        evaluations_count += 1;
        if (first - s).abs() <= SETTLED {
            return (first, evaluations_count);
        }
        let second = map(first);
        evaluations_count += 1;
        if (second - first).abs() <= SETTLED {
            return (second, evaluations_count);
        }
        let accelerated = s - (first - s) * (first - s) / (second - 2.0 * first + s);
        s = if accelerated.abs() <= 1.0 { accelerated } else { second };
    }
    match bracketed(|s| s - map(s), -1.0, 1.0, Tolerance::default()) {
        Ok(root) => (root.x, evaluations_count + root.evaluations_count),
        Err(_) => (s, evaluations_count),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drag_area::DragArea;
    use proptest::prelude::*;

    fn surroundings(required_n: [f64; 3], wind_m_s: [f64; 3], rotor_drag_s_per_m: f64) -> Surroundings {
        Surroundings {
            required_n: required_n.into(),
            relative_wind_m_s: wind_m_s.into(),
            density_kg_m3: 1.225,
            rotor_drag_s_per_m,
        }
    }

    #[test]
    fn calm_hover_pushes_straight_up() {
        let balance = surroundings([0.0, 0.0, 49.0], [0.0; 3], 0.0).balance(|_| 0.03).unwrap();
        assert!((balance.thrust_n - 49.0).abs() < 1e-13);
        assert_eq!(balance.axis, Vector3::z());
        assert_eq!((balance.tilt_deg, balance.azimuth_deg), (0.0, 0.0));
    }

    #[test]
    fn constant_area_in_wind_has_the_closed_form() {
        let balance = surroundings([0.0, 0.0, 30.0], [12.0, 0.0, 0.0], 0.0).balance(|_| 0.05).unwrap();
        let drag_n: f64 = 0.5 * 1.225 * 144.0 * 0.05;
        assert!((balance.thrust_n - drag_n.hypot(30.0)).abs() < 1e-13);
        assert!((balance.tilt_deg - (drag_n / 30.0).atan().to_degrees()).abs() < 1e-12);
        assert!((balance.azimuth_deg - 180.0).abs() < 1e-12);
        let sin_tilt = drag_n / drag_n.hypot(30.0);
        assert!((balance.axial_inflow_m_s - 12.0 * sin_tilt).abs() < 1e-13);
        assert!((balance.edgewise_m_s - 12.0 * (1.0 - sin_tilt * sin_tilt).sqrt()).abs() < 1e-13);
    }

    #[test]
    fn climb_and_descent_have_the_sign_of_the_trade() {
        let climb = surroundings([0.0, 0.0, 30.0], [0.0, 0.0, -3.0], 0.0).balance(|_| 0.05).unwrap();
        assert!((climb.axial_inflow_m_s - 3.0).abs() < 1e-15 && climb.edgewise_m_s == 0.0);
        assert!(climb.thrust_n > 30.0);
        let descent = surroundings([0.0, 0.0, 30.0], [0.0, 0.0, 3.0], 0.0).balance(|_| 0.05).unwrap();
        assert!((descent.axial_inflow_m_s + 3.0).abs() < 1e-15);
        assert!(descent.thrust_n < 30.0);
    }

    #[test]
    fn the_steep_attitude_in_a_storm_is_found() {
        let body = DragArea::spheroid(0.02, 0.4).unwrap();
        let balance = surroundings([0.0, 0.0, 15.0], [40.0, 0.0, 0.0], 0.0)
            .balance(|s| body.at_sin_incidence(s))
            .unwrap();
        assert!(balance.tilt_deg > 60.0 && balance.residual_n < 1e-12 * balance.thrust_n, "{balance:?}");
    }

    #[test]
    fn nothing_required_needs_no_thrust() {
        let balance = surroundings([0.0; 3], [0.0; 3], 0.0).balance(|_| 0.03).unwrap();
        assert_eq!((balance.thrust_n, balance.tilt_deg), (0.0, 0.0));
    }

    #[test]
    fn settling_is_quick_for_an_ordinary_aircraft() {
        let body = DragArea::spheroid(0.025, 0.06).unwrap();
        let balance = surroundings([10.0, 2.0, 60.0], [10.0, 1.0, 0.0], 0.0)
            .balance(|s| body.at_sin_incidence(s))
            .unwrap();
        assert!(balance.evaluations_count <= 6, "{balance:?}");
    }

    proptest! {
        #[test]
        fn prop_forces_close_to_rounding(
            fx in -500.0..500.0f64, fy in -500.0..500.0f64, fz in -500.0..500.0f64,
            ux in -60.0..60.0f64, uy in -60.0..60.0f64, uz in -60.0..60.0f64,
            level in 0.0..3.0f64, plan in 0.0..3.0f64, rotor_drag in 0.0..0.004f64,
        ) {
            let body = DragArea::spheroid(level, plan).unwrap();
            let balance =
                surroundings([fx, fy, fz], [ux, uy, uz], rotor_drag).balance(|s| body.at_sin_incidence(s)).unwrap();
            let scale = Vector3::new(fx, fy, fz).norm() + balance.body_drag_n.norm();
            prop_assert!(balance.residual_n <= 1e-12 * scale, "{:?}", balance);
            prop_assert!((balance.axis.norm() - 1.0).abs() < 1e-9);
            let wind = Vector3::new(ux, uy, uz).norm();
            prop_assert!((balance.axial_inflow_m_s.hypot(balance.edgewise_m_s) / wind - 1.0).abs() < 1e-9);
        }
    }
}
