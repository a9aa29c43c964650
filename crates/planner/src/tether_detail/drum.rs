//! The line on the drum.

use serde::Serialize;

use crate::{point::TetherPoint, system::line::TetherLine};

/// The line on the drum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DrumDetail {
    /// Layers that fit.
    pub layers_count: u64,
    /// Length that fits, m.
    pub capacity_m: f64,
    /// All the line there is, m.
    pub line_m: f64,
    /// Mass of all the line, kg.
    pub line_kg: f64,
    /// Innermost bend radius, mm.
    pub innermost_bend_radius_mm: f64,
    /// Diameter over the line with all of it wound, mm; absent if it does not fit.
    pub full_diameter_mm: Option<f64>,
    /// Length that stays wound at this point, m.
    pub stays_wound_m: f64,
    /// Its mass, kg.
    pub stays_wound_kg: f64,
    /// Layer from which the line leaves at this point, 1 on the barrel; absent if it does not fit.
    pub leaves_layer: Option<u64>,
    /// Diameter over the line at this point, mm; absent if it does not fit.
    pub diameter_mm: Option<f64>,
    /// Pull of the same torque at this point over that with all the line wound; absent if it does not fit.
    pub pull_gain_ratio: Option<f64>,
}

pub(super) fn drum(line: &TetherLine, mean: &TetherPoint) -> DrumDetail {
    let (total_m, winding) = (line.total_length_m, &line.winding);
    let full = winding.wound(total_m, 0.0).ok();
    let now = winding.wound(total_m, mean.paid_out_m.clamp(0.0, total_m)).ok();
    let stays_wound_m = (total_m - mean.paid_out_m).max(0.0);
    DrumDetail {
        layers_count: winding.layers_count(),
        capacity_m: winding.capacity_m(),
        line_m: total_m,
        line_kg: line.bare_mass_kg_per_m * total_m,
        innermost_bend_radius_mm: 1e3 * winding.innermost_bend_radius_m(),
        full_diameter_mm: full.map(|wound| 1e3 * wound.outer_diameter_m),
        stays_wound_m,
        stays_wound_kg: line.bare_mass_kg_per_m * stays_wound_m,
        leaves_layer: now.map(|wound| wound.outermost_layer),
        diameter_mm: now.map(|wound| 1e3 * wound.outer_diameter_m),
        pull_gain_ratio: full.zip(now).map(|(full, now)| full.lever_radius_m / now.lever_radius_m),
    }
}
