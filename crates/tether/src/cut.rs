//! A tether that has been cut: where it can fall, how fast and with what energy.
//!
//! No published figure for a cut aerial tether was found; what is here is elementary mechanics with the faster, the
//! harder or the farther answer taken where there is a choice. Read [`CAUTION`].

use beamstay_numerics::{
    constants::STANDARD_GRAVITY_M_S2,
    domain::{OutOfRange, in_range},
    root::{Tolerance, bracketed},
};

use crate::{
    drag::{DragCurve, NormalDrag},
    error::TetherError,
    line::Line,
};

/// To be printed beside every figure of this module.
pub const CAUTION: &str = "A cut tether can whip: the end recoils with the energy that the tension has stored, and a \
    weighted or end-on piece falls many times faster than a broadside one. A line across a road, a power line, a \
    rotor or a person's neck is dangerous at any of these speeds. These are planning figures, not a safety case.";

/// Smallest drag coefficient that bounds the terminal speed from above; every curve stays above it.
const LEAST_COEFFICIENT: f64 = 0.2;

/// Terminal speed in m/s of a loose piece that falls broadside, √(2 w/(ρ Cn d)) with w the weight net of buoyancy, Cn taken
/// at the Reynolds number of that speed. An amplification above 1 is left out: a falling piece need not strum, and
/// without it the fall is faster. About 8 % wide for 15 % in Cn. Density 0.001 to 2000 kg/m³, dynamic viscosity
/// 10⁻⁷ to 1 Pa·s.
///
/// # Errors
/// [`TetherError::OutOfRange`] if the line floats or does not pass [`Line::check`], its constant coefficient is below
/// 0.001, or the fluid is outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::cut::broadside_speed_m_s;
/// use beamstay_tether::{DragCurve, Line, NormalDrag};
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::new(DragCurve::Cheng, 1.0).unwrap(),
///     tangential_coefficient: 0.02,
/// };
/// let speed_m_s = broadside_speed_m_s(&line, 1.225, 1.7894e-5).unwrap();
/// assert!((speed_m_s - 7.595871).abs() < 1e-6);
/// ```
pub fn broadside_speed_m_s(
    line: &Line,
    density_kg_m3: f64,
    dynamic_viscosity_pa_s: f64,
) -> Result<f64, TetherError> {
    let amplification_ratio = line.normal_drag.amplification_ratio().min(1.0);
    let drag = line.normal_drag.amplified(amplification_ratio)?;
    broadside(line, drag, density_kg_m3, dynamic_viscosity_pa_s)
}

/// Terminal speed in m/s of a piece that falls along its own axis, √(2 w/(ρ Ct d)): an upper bound for a piece with a
/// weight at its lower end, not for the weight alone. Arguments and errors as [`broadside_speed_m_s`]; a tangential
/// coefficient below 0.001 is refused, for its speed has no bound.
///
/// # Errors
/// [`TetherError::OutOfRange`] as said.
///
/// # Examples
/// ```
/// use beamstay_tether::cut::end_on_speed_m_s;
/// use beamstay_tether::{Line, NormalDrag};
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1).unwrap(),
///     tangential_coefficient: 0.02,
/// };
/// assert!((end_on_speed_m_s(&line, 1.225).unwrap() - 51.66).abs() < 0.005);
/// ```
pub fn end_on_speed_m_s(line: &Line, density_kg_m3: f64) -> Result<f64, TetherError> {
    let weight_n_per_m = net_weight_n_per_m(line, density_kg_m3)?;
    let coefficient = in_range(
        "tangential drag coefficient of a falling line",
        "",
        line.tangential_coefficient,
        1e-3,
        5.0,
    )?;
    Ok((2.0 * weight_n_per_m / (density_kg_m3 * coefficient * line.diameter_m)).sqrt())
}

/// Kinetic energy in J of a metre of line at a speed, m V²/2. Mass 0 to 100 kg/m, speed 0 to 1000 m/s. Water that moves
/// with the line is not counted.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::cut::kinetic_energy_j_per_m;
/// assert!((kinetic_energy_j_per_m(0.010, 6.965468).unwrap() - 0.2426).abs() < 1e-4);
/// ```
pub fn kinetic_energy_j_per_m(mass_kg_per_m: f64, speed_m_s: f64) -> Result<f64, OutOfRange> {
    in_range("tether mass per metre", "kg/m", mass_kg_per_m, 0.0, 100.0)?;
    in_range("speed of the falling line", "m/s", speed_m_s, 0.0, 1000.0)?;
    Ok(0.5 * mass_kg_per_m * speed_m_s * speed_m_s)
}

/// A cut to be looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    /// Length paid out, m (0 to 10⁶).
    pub paid_out_length_m: f64,
    /// Where it is cut, m along the tether from the drum exit (0 to the paid-out length).
    pub cut_at_m: f64,
    /// Height of the vehicle over the lowest ground that the tether can reach, m (0 to 10⁵).
    pub vehicle_height_m: f64,
    /// Horizontal distance of the vehicle from the drum exit, m (0 to 10⁶).
    pub vehicle_distance_m: f64,
    /// Strongest wind between ground and vehicle, m/s (0 to 100).
    pub wind_speed_m_s: f64,
}

/// Where the pieces of a cut tether can come down.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct CutReach {
    /// Radius about the drum within which the piece on the drum can fall, m: its full length, in any direction.
    pub attached_radius_m: f64,
    /// Radius about the drum within which the piece at the vehicle can fall if the vehicle lets go of it where it is:
    /// distance of the vehicle, drift and full length of the piece, m. If the vehicle flies on with it, nothing bounds
    /// the radius.
    pub loose_radius_m: f64,
    /// Time of the slowest fall, s.
    pub loose_fall_time_s: f64,
    /// How far the wind carries the loose piece in that time, m.
    pub loose_drift_m: f64,
}

/// Where the pieces of a cut tether can come down. The loose piece drifts with the wind for the time of its slowest
/// fall, broadside with all its amplified drag; both pieces may lie stretched out in the worst direction.
///
/// # Errors
/// [`TetherError::OutOfRange`] for a field of `cut` outside its range, and as [`broadside_speed_m_s`].
///
/// # Examples
/// ```
/// use beamstay_tether::cut::{Cut, cut_reach};
/// use beamstay_tether::{Line, NormalDrag};
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1).unwrap(),
///     tangential_coefficient: 0.02,
/// };
/// let cut = Cut {
///     paid_out_length_m: 110.0,
///     cut_at_m: 10.0,
///     vehicle_height_m: 100.0,
///     vehicle_distance_m: 30.0,
///     wind_speed_m_s: 8.0,
/// };
/// let reach = cut_reach(&line, &cut, 1.225, 1.8e-5).unwrap();
/// assert_eq!(reach.attached_radius_m, 10.0);
/// assert!((reach.loose_drift_m - 8.0 * 100.0 / 6.965468).abs() < 1e-3);
/// assert!((reach.loose_radius_m - (30.0 + 100.0 + reach.loose_drift_m)).abs() < 1e-9);
/// ```
pub fn cut_reach(
    line: &Line,
    cut: &Cut,
    density_kg_m3: f64,
    dynamic_viscosity_pa_s: f64,
) -> Result<CutReach, TetherError> {
    in_range("paid-out length", "m", cut.paid_out_length_m, 0.0, 1e6)?;
    in_range("place of the cut along the tether", "m", cut.cut_at_m, 0.0, cut.paid_out_length_m)?;
    in_range("height of the vehicle", "m", cut.vehicle_height_m, 0.0, 1e5)?;
    in_range("distance of the vehicle", "m", cut.vehicle_distance_m, 0.0, 1e6)?;
    in_range("wind speed", "m/s", cut.wind_speed_m_s, 0.0, 100.0)?;
    let slow_drag = line.normal_drag.amplified(line.normal_drag.amplification_ratio().max(1.0))?;
    let slowest_m_s = broadside(line, slow_drag, density_kg_m3, dynamic_viscosity_pa_s)?;
    let loose_fall_time_s = cut.vehicle_height_m / slowest_m_s;
    let loose_drift_m = cut.wind_speed_m_s * loose_fall_time_s;
    let loose_length_m = cut.paid_out_length_m - cut.cut_at_m;
    Ok(CutReach {
        attached_radius_m: cut.cut_at_m,
        loose_radius_m: cut.vehicle_distance_m + loose_drift_m + loose_length_m,
        loose_fall_time_s,
        loose_drift_m,
    })
}

/// Weight per metre net of buoyancy, all inputs of a fall checked.
fn net_weight_n_per_m(line: &Line, density_kg_m3: f64) -> Result<f64, TetherError> {
    line.check()?;
    in_range("density of the fluid", "kg/m³", density_kg_m3, 1e-3, 2000.0)?;
    let net_mass_kg_per_m = line.mass_kg_per_m - density_kg_m3 * line.buoyancy_area_m2;
    let weight_n_per_m = net_mass_kg_per_m * STANDARD_GRAVITY_M_S2;
    Ok(in_range("weight of a falling line less buoyancy", "N/m", weight_n_per_m, 1e-9, 1e3)?)
}

fn broadside(
    line: &Line,
    drag: NormalDrag,
    density_kg_m3: f64,
    viscosity_pa_s: f64,
) -> Result<f64, TetherError> {
    let weight_n_per_m = net_weight_n_per_m(line, density_kg_m3)?;
    in_range("dynamic viscosity", "Pa·s", viscosity_pa_s, 1e-7, 1.0)?;
    let speed_at =
        |coefficient: f64| (2.0 * weight_n_per_m / (density_kg_m3 * line.diameter_m * coefficient)).sqrt();
    if let DragCurve::Constant(coefficient) = drag.curve() {
        in_range("normal drag coefficient of a falling line", "", coefficient, 1e-3, 20.0)?;
        return Ok(speed_at(coefficient * drag.amplification_ratio()));
    }
    let excess_n_per_m = |speed_m_s: f64| {
        let factor_m_s = drag.force_factor(speed_m_s, density_kg_m3, line.diameter_m, viscosity_pa_s);
        0.5 * density_kg_m3 * line.diameter_m * factor_m_s * speed_m_s - weight_n_per_m
    };
    let fastest_m_s = speed_at(LEAST_COEFFICIENT * drag.amplification_ratio());
    // The drag is below the weight at rest and above it at the upper end, so a root exists; were the finder to fail, the
    // upper end would be the safe answer.
    Ok(bracketed(excess_n_per_m, 0.0, fastest_m_s, Tolerance::default()).map_or(fastest_m_s, |root| root.x))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const AIR: (f64, f64) = (1.225, 1.7894e-5);

    fn line(curve: DragCurve, amplification: f64) -> Line {
        Line {
            mass_kg_per_m: 0.010,
            diameter_m: 0.003,
            buoyancy_area_m2: 0.0,
            axial_stiffness_n: None,
            normal_drag: NormalDrag::new(curve, amplification).unwrap(),
            tangential_coefficient: 0.02,
        }
    }

    const CUT: Cut = Cut {
        paid_out_length_m: 110.0,
        cut_at_m: 0.0,
        vehicle_height_m: 100.0,
        vehicle_distance_m: 0.0,
        wind_speed_m_s: 8.0,
    };

    #[test]
    fn strumming_never_slows_the_impact_but_lengthens_the_drift() {
        let calm = line(DragCurve::Cheng, 1.0);
        let strumming = line(DragCurve::Cheng, 2.0);
        let speed = |l: &Line| broadside_speed_m_s(l, AIR.0, AIR.1).unwrap();
        assert_relative_eq!(speed(&calm), speed(&strumming));
        let drift = |l: &Line| cut_reach(l, &CUT, AIR.0, AIR.1).unwrap().loose_drift_m;
        assert!(drift(&strumming) > 1.3 * drift(&calm));
    }

    #[test]
    fn a_floating_line_and_a_dragless_line_are_refused() {
        let floating = Line { buoyancy_area_m2: 1e-5, ..line(DragCurve::Cheng, 1.0) };
        assert!(broadside_speed_m_s(&floating, 1025.0, 1e-3).is_err());
        assert!(broadside_speed_m_s(&line(DragCurve::Constant(0.0), 1.0), AIR.0, AIR.1).is_err());
        let slippery = Line { tangential_coefficient: 0.0, ..line(DragCurve::Cheng, 1.0) };
        assert!(end_on_speed_m_s(&slippery, AIR.0).is_err());
    }

    #[test]
    fn guards() {
        let l = line(DragCurve::Cheng, 1.0);
        for cut in [
            Cut { paid_out_length_m: -1.0, ..CUT },
            Cut { cut_at_m: 110.1, ..CUT },
            Cut { vehicle_height_m: f64::NAN, ..CUT },
            Cut { vehicle_distance_m: -1.0, ..CUT },
            Cut { wind_speed_m_s: 101.0, ..CUT },
        ] {
            assert!(cut_reach(&l, &cut, AIR.0, AIR.1).is_err(), "{cut:?}");
        }
        assert!(broadside_speed_m_s(&l, 0.0, AIR.1).is_err());
        assert!(broadside_speed_m_s(&l, AIR.0, 0.0).is_err());
        assert!(kinetic_energy_j_per_m(0.01, -1.0).is_err());
    }

    proptest! {
        #[test]
        fn prop_drag_carries_the_weight_at_terminal_speed(m in 1e-4..10.0f64, d in 1e-4..0.1f64, which in 0usize..4) {
            let curve = [DragCurve::White, DragCurve::SuckerBrauer, DragCurve::Cheng, DragCurve::Sharpe][which];
            let l = Line { mass_kg_per_m: m, diameter_m: d, ..line(curve, 1.0) };
            let v = broadside_speed_m_s(&l, AIR.0, AIR.1).unwrap();
            let drag = 0.5 * AIR.0 * d * l.normal_drag.force_factor(v, AIR.0, d, AIR.1) * v;
            prop_assert!((drag / (m * STANDARD_GRAVITY_M_S2) - 1.0).abs() < 1e-9);
        }
    }
}
