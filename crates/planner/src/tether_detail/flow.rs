//! What the flow does to the line: drag, strumming, ice.

use beamstay_environment::flow::Flow;
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{
    limits::bend_stress_pa,
    strumming::{shedding_frequency_hz, strouhal_number, strumming_bend_radius_m},
};
use serde::Serialize;

use crate::{
    error::PlanError,
    point::TetherPoint,
    scenario,
    system::{System, line::TetherLine},
};

/// Flow, strumming and ice at the height of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DragDetail {
    /// Speed of the mean flow, m/s.
    pub speed_m_s: f64,
    /// Reynolds number of the line across it.
    pub reynolds: f64,
    /// Law of the drag coefficient over the Reynolds number.
    pub law: &'static str,
    /// Drag coefficient across the line, strumming and ice included.
    pub coefficient: f64,
    /// Drag on a metre square to the flow, N/m.
    pub drag_n_per_m: f64,
    /// Weight of a metre, ice included and buoyancy taken off, N/m.
    pub weight_n_per_m: f64,
    /// What strumming multiplies the drag by; 1 where it is off.
    pub amplification_ratio: f64,
    /// Frequency at which vortices leave a line square to the flow, Hz; absent where there is no vortex street.
    pub shedding_hz: Option<f64>,
    /// Amplitude of the strumming over the diameter; 0 where it is off or only its drag is given.
    pub strumming_amplitude_ratio: f64,
    /// Bend radius of the strumming line at that frequency and the tension at the vehicle, m; absent without an amplitude.
    pub strumming_bend_radius_m: Option<f64>,
    /// Stress that this bend adds in the glass, MPa; absent without an amplitude or without glass. No limit counts it.
    pub strumming_stress_mpa: Option<f64>,
    /// Mass of the ice, g/m.
    pub ice_g_per_m: f64,
    /// Diameter with the ice, mm.
    pub iced_diameter_mm: f64,
}

pub(super) fn drag(
    system: &System,
    line: &TetherLine,
    tether: &scenario::Tether,
    height_m: f64,
    mean: &TetherPoint,
) -> Result<DragDetail, PlanError> {
    let z_m = height_m - system.surroundings.exit_height_m;
    let sample = system.surroundings.mean.at(z_m);
    let (speed_m_s, iced) = (sample.velocity_m_s.norm(), &line.line);
    let reynolds_of = |diameter_m: f64| {
        sample.density_kg_m3 * speed_m_s * diameter_m / sample.dynamic_viscosity_pa_s.max(f64::MIN_POSITIVE)
    };
    let half_n_per_m = 0.5 * sample.density_kg_m3 * iced.diameter_m * speed_m_s * speed_m_s;
    let coefficient = iced.normal_drag.coefficient(reynolds_of(iced.diameter_m));
    let shedding_hz = strouhal_number(reynolds_of(iced.diameter_m))
        .and_then(|strouhal| shedding_frequency_hz(strouhal, speed_m_s, iced.diameter_m))
        .ok();
    let amplitude_ratio = tether.strumming_amplitude_ratio;
    let bend_m = shedding_hz.filter(|_| amplitude_ratio > 0.0).and_then(|hz| {
        let amplitude_m = amplitude_ratio * iced.diameter_m;
        strumming_bend_radius_m(amplitude_m, hz, mean.top_tension_n, iced.mass_kg_per_m).ok()
    });
    let stress_mpa = bend_m
        .filter(|_| line.glass_diameter_m > 0.0)
        .and_then(|radius_m| Some(1e-6 * bend_stress_pa(line.glass_diameter_m, radius_m).ok()?));
    Ok(DragDetail {
        speed_m_s,
        reynolds: reynolds_of(iced.diameter_m),
        law: law_words(&tether.normal_drag),
        coefficient,
        drag_n_per_m: half_n_per_m * coefficient,
        weight_n_per_m: (iced.mass_kg_per_m - sample.density_kg_m3 * iced.buoyancy_area_m2)
            * STANDARD_GRAVITY_M_S2,
        amplification_ratio: iced.normal_drag.amplification_ratio(),
        shedding_hz,
        strumming_amplitude_ratio: amplitude_ratio,
        strumming_bend_radius_m: bend_m,
        strumming_stress_mpa: stress_mpa,
        ice_g_per_m: 1e3 * (iced.mass_kg_per_m - line.bare_mass_kg_per_m),
        iced_diameter_mm: 1e3 * iced.diameter_m,
    })
}

fn law_words(law: &scenario::NormalDrag) -> &'static str {
    match law {
        scenario::NormalDrag::Constant { .. } => "the same at every speed",
        scenario::NormalDrag::White => "White",
        scenario::NormalDrag::Cheng => "Cheng 2013",
        scenario::NormalDrag::SuckerBrauer => "Sucker and Brauer 1975",
    }
}
