//! Force of weight and flow on a metre of tether.

use std::ops::{Mul, Sub};

use beamstay_environment::flow::{Flow, FlowSample};
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use nalgebra::{Matrix3, Vector3};

use crate::line::Line;

/// The tension at one place, split into what the equations need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pull {
    /// Magnitude, N.
    pub tension_n: f64,
    /// Unit tangent towards the vehicle.
    pub tangent: Vector3<f64>,
    /// Stretched over unstretched length, 1 + T/EA.
    pub stretch_ratio: f64,
}

impl Pull {
    #[inline]
    pub(super) fn new(force_n: &Vector3<f64>, compliance_per_n: f64) -> Self {
        let tension_n = force_n.norm().max(f64::MIN_POSITIVE);
        Self { tension_n, tangent: force_n / tension_n, stretch_ratio: 1.0 + tension_n * compliance_per_n }
    }

    /// Change of position per unstretched metre, (1 + T/EA) t.
    #[inline]
    pub(super) fn gradient(&self) -> Vector3<f64> {
        self.stretch_ratio * self.tangent
    }

    /// Change of (1 + T/EA) t with the force, 1/N: (I − ttᵀ)/T + I/EA.
    pub(super) fn flexibility(&self, compliance_per_n: f64) -> Matrix3<f64> {
        let across = 1.0 / self.tension_n;
        Matrix3::from_diagonal_element(across + compliance_per_n)
            - across * self.tangent * self.tangent.transpose()
    }
}

/// Force of flow and weight per unstretched metre, N/m: q = (1 + T/EA)(f_n + f_t) − w ẑ by the cross-flow principle, with
/// f_n = ½ ρ Cn d |u_n| u_n and f_t = ½ ρ Ct d |u·t| (u·t) t (S. F. Hoerner, *Fluid-Dynamic Drag*, 1965, ch. III;
/// L. Pode, DTMB Report 687, 1951, has the same normal law).
#[inline]
pub(super) fn load_n_per_m(line: &Line, flow: &FlowSample, pull: &Pull) -> Vector3<f64> {
    let half_rho_d = 0.5 * flow.density_kg_m3 * line.diameter_m;
    let along_m_s = flow.velocity_m_s.dot(&pull.tangent);
    let across_m_s = flow.velocity_m_s - along_m_s * pull.tangent;
    let normal = half_rho_d
        * line.normal_drag.force_factor(
            across_m_s.norm(),
            flow.density_kg_m3,
            line.diameter_m,
            flow.dynamic_viscosity_pa_s,
        );
    let tangential = half_rho_d * line.tangential_coefficient * along_m_s.abs() * along_m_s;
    let mut load = pull.stretch_ratio * (normal * across_m_s + tangential * pull.tangent);
    load.z -= weight_n_per_m(line, flow.density_kg_m3);
    load
}

/// Weight less buoyancy per unstretched metre, N/m, in one density or in several; negative for a line that floats.
#[inline]
pub(super) fn weight_n_per_m<T>(line: &Line, density_kg_m3: T) -> T
where
    T: From<f64> + Sub<Output = T> + Mul<Output = T>,
{
    let of = T::from;
    (of(line.mass_kg_per_m) - density_kg_m3 * of(line.buoyancy_area_m2)) * of(STANDARD_GRAVITY_M_S2)
}

/// How the load changes with the pull and with the height.
#[derive(Debug, Clone, Copy)]
pub(super) struct LoadSlope {
    /// Change with the force, 1/m.
    pub by_force: Matrix3<f64>,
    /// Change with the height, N/m².
    pub by_height: Vector3<f64>,
}

impl LoadSlope {
    pub(super) fn zero() -> Self {
        Self { by_force: Matrix3::zeros(), by_height: Vector3::zeros() }
    }

    /// At one place; the changes with height and with the Reynolds number by differences.
    pub(super) fn of(line: &Line, flow: &impl Flow, z_m: f64, pull: &Pull, compliance_per_n: f64) -> Self {
        let sample = flow.at(z_m);
        let step_m = 1e-5 * z_m.abs().max(1.0);
        let difference = load_n_per_m(line, &flow.at(z_m + step_m), pull)
            - load_n_per_m(line, &flow.at(z_m - step_m), pull);
        Self {
            by_force: Self::by_force(line, &sample, pull, compliance_per_n),
            by_height: difference / (2.0 * step_m),
        }
    }

    fn by_force(line: &Line, flow: &FlowSample, pull: &Pull, compliance_per_n: f64) -> Matrix3<f64> {
        let half_rho_d = 0.5 * flow.density_kg_m3 * line.diameter_m;
        let (u, t) = (&flow.velocity_m_s, &pull.tangent);
        let along_m_s = u.dot(t);
        let across_m_s = u - along_m_s * t;
        let speed_m_s = across_m_s.norm();
        let factor = |speed_m_s: f64| {
            line.normal_drag.force_factor(
                speed_m_s,
                flow.density_kg_m3,
                line.diameter_m,
                flow.dynamic_viscosity_pa_s,
            )
        };
        let step_m_s = 1e-4 * speed_m_s;
        let factor_slope = if step_m_s > 0.0 {
            (factor(speed_m_s + step_m_s) - factor(speed_m_s - step_m_s)) / (2.0 * step_m_s)
        } else {
            0.0
        };
        // With the tangent: across = u − (u·t) t, |across| falls as the tangent leans into it.
        let tilt = t * u.transpose() + Matrix3::from_diagonal_element(along_m_s);
        let unit = if speed_m_s > 0.0 { across_m_s / speed_m_s } else { Vector3::zeros() };
        let normal = -factor_slope * along_m_s * across_m_s * unit.transpose() - factor(speed_m_s) * tilt;
        let tangential = line.tangential_coefficient
            * along_m_s.abs()
            * (2.0 * t * u.transpose() + Matrix3::from_diagonal_element(along_m_s));
        let by_tangent = pull.stretch_ratio * half_rho_d * (normal + tangential);
        let turn = (Matrix3::identity() - t * t.transpose()) / pull.tension_n;
        let drag = half_rho_d
            * (factor(speed_m_s) * across_m_s
                + line.tangential_coefficient * along_m_s.abs() * along_m_s * t);
        by_tangent * turn + compliance_per_n * drag * t.transpose()
    }
}
