//! The line cut.

use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{
    Line,
    cut::{self, Cut, broadside_speed_m_s, cut_reach, end_on_speed_m_s, kinetic_energy_j_per_m},
};
use serde::Serialize;

use crate::{
    error::{At, PlanError},
    point::TetherPoint,
    scenario::Scenario,
    system::{System, line::TetherLine, surroundings::Stream},
};

/// The line cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutDetail {
    /// Where its pieces can come down.
    pub cases: Vec<CutCase>,
    /// Speed of a piece that falls broadside, m/s.
    pub broadside_m_s: f64,
    /// Energy of a metre at that speed, J/m.
    pub broadside_j_per_m: f64,
    /// Speed of a piece that falls end on, m/s: no more than free fall from the vehicle.
    pub end_on_m_s: f64,
    /// Energy of a metre at that speed, J/m.
    pub end_on_j_per_m: f64,
    /// Energy that the tension has stored in the strain of the hanging line in the gust, J: what whips.
    pub stored_j: f64,
    /// What to mind.
    pub caution: &'static str,
}

/// A cut at one place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CutCase {
    /// Where.
    pub place: &'static str,
    /// The same along the line from the drum, m.
    pub at_m: f64,
    /// Radius about the drum that the piece on it sweeps, m.
    pub attached_radius_m: f64,
    /// Radius about the drum for the other piece, if the vehicle lets go of it where it is, m.
    pub loose_radius_m: f64,
    /// How far the wind carries that piece, m.
    pub loose_drift_m: f64,
}

pub(super) fn cut_detail(
    system: &System,
    line: &TetherLine,
    scenario: &Scenario,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Result<Option<CutDetail>, PlanError> {
    let Stream::Air(_) = &system.surroundings.mean else { return Ok(None) };
    let station = &scenario.station;
    let (height_m, exit_m) = (station.height_m.max(0.0), system.surroundings.exit_height_m);
    let air = system.surroundings.mean.fluid_at(0.5 * height_m - exit_m);
    let blows = system.surroundings.gust_at(height_m - exit_m)?;
    let wind_m_s = (0..=20)
        .map(|i| blows.speed_m_s(height_m * f64::from(i) / 20.0 - exit_m))
        .fold(0.0, f64::max)
        .min(100.0);
    let (density, viscosity) = (air.density_kg_m3, air.dynamic_viscosity_pa_s);
    let falling: &Line = &line.line;
    let mut cases = Vec::with_capacity(3);
    for (place, share) in [("at the drum", 0.0), ("half-way", 0.5), ("at the vehicle", 1.0)] {
        let cut = Cut {
            paid_out_length_m: mean.paid_out_m,
            cut_at_m: share * mean.paid_out_m,
            vehicle_height_m: height_m,
            vehicle_distance_m: station.downwind_m.hypot(station.crosswind_m),
            wind_speed_m_s: wind_m_s,
        };
        let reach = cut_reach(falling, &cut, density, viscosity).at("/station")?;
        cases.push(CutCase {
            place,
            at_m: cut.cut_at_m,
            attached_radius_m: reach.attached_radius_m,
            loose_radius_m: reach.loose_radius_m,
            loose_drift_m: reach.loose_drift_m,
        });
    }
    let broadside_m_s = broadside_speed_m_s(falling, density, viscosity).at("/delivery")?;
    // A line without tangential drag has no bound; free fall from the height stands in for it.
    let end_on_m_s = end_on_speed_m_s(falling, density)
        .unwrap_or(f64::MAX)
        .min((2.0 * STANDARD_GRAVITY_M_S2 * height_m).sqrt());
    let energy = |speed_m_s: f64| kinetic_energy_j_per_m(falling.mass_kg_per_m, speed_m_s).at("/delivery");
    Ok(Some(CutDetail {
        cases,
        broadside_m_s,
        broadside_j_per_m: energy(broadside_m_s)?,
        end_on_m_s,
        end_on_j_per_m: energy(end_on_m_s)?,
        // The largest tension all along is more than there is.
        stored_j: 0.5 * gust.max_tension_n * gust.max_tension_n / line.axial_stiffness_n * gust.paid_out_m,
        caution: cut::CAUTION,
    }))
}
