//! The lightest copper line for a demand: conductor, voltage and insulation together, and what binds.

use beamstay_electrical::{
    BindingConstraint, Conductor, Cooling, LineDemand, Metal, Plastic, Stranding, WallRule, Winding,
    optimum::{AreaLimits, best_voltage, thinnest_wire},
};
use serde::Serialize;

use crate::error::{At, PlanError};

/// Share of the voltage lost; more makes the line lighter and the ground power larger without end, so it is a choice.
const DROP_RATIO: f64 = 0.10;
/// Highest voltage of a line on cable rules for low voltage: 1500 V direct between conductors (IEC 60502-1 class).
const CEILING_V: f64 = 1500.0;
/// Temperature for which resistance is reckoned, K: 75 °C, warm on the drum.
const WIRE_K: f64 = 348.15;
/// Air at the ground in which the wire must stay cool, K.
const HOT_AIR_K: f64 = 313.15;
/// Current on the drum over current in air with one layer left on it (stricter of two tables, from memory).
const DRUM_FACTOR: f64 = 0.80;
/// Strength of aramid yarn that carries the pull, Pa, and its density, kg/m³ (handbook values).
const YARN_PA: f64 = 2.8e9;
const YARN_KG_M3: f64 = 1440.0;
/// Drum for the heat of a line that is all wound on it: core radius and width, m.
const DRUM_M: (f64, f64) = (0.15, 0.15);

/// A sized copper line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CopperChoice {
    /// Voltage at the ground, V.
    pub voltage_v: f64,
    /// What stops the voltage; none at the true minimum.
    pub voltage_bound: Option<&'static str>,
    /// Area of each conductor, mm².
    pub conductor_area_mm2: f64,
    /// What sets the conductor at this voltage: there is no optimum inside, so a constraint binds.
    pub conductor_bound: &'static str,
    /// Wall of insulation, mm.
    pub wall_mm: f64,
    /// Mass of both wires, kg/m.
    pub wires_kg_per_m: f64,
    /// Mass of the strength member, kg/m.
    pub strength_kg_per_m: f64,
    /// Diameter of the pair, m.
    pub diameter_m: f64,
    /// Heat of the whole line, W.
    pub loss_w: f64,
    /// Rise of the hottest wire with all of the line on the drum, K: the pull-up test before a flight.
    pub drum_rise_k: f64,
}

impl CopperChoice {
    /// Mass per length, kg/m.
    pub fn mass_kg_per_m(&self) -> f64 {
        self.wires_kg_per_m + self.strength_kg_per_m
    }
}

fn words(bound: BindingConstraint) -> &'static str {
    match bound {
        BindingConstraint::VoltageDrop => "voltage drop",
        BindingConstraint::PowerTransfer => "power transfer",
        BindingConstraint::Heat => "heat on the drum",
        BindingConstraint::Strength => "strength",
        BindingConstraint::InsulationMinimum => "thinnest insulation",
        BindingConstraint::VoltageCeiling => "highest voltage allowed",
    }
}

/// Sizes a line of `length_m` that delivers `load_w` at its upper end and holds `factored_n`.
pub(super) fn line(length_m: f64, load_w: f64, factored_n: f64) -> Result<CopperChoice, PlanError> {
    let here = "/delivery/copper";
    let demand = LineDemand { length_m, load_w, metal: Metal::COPPER, conductor_temp_k: WIRE_K };
    let rule = WallRule::default();
    let best = best_voltage(&demand, DROP_RATIO, Plastic::ETFE, rule, CEILING_V).at(here)?;
    let limits = AreaLimits {
        max_drop_ratio: DROP_RATIO,
        air: Some(Cooling::in_wind(HOT_AIR_K, 0.0).at(here)?),
        drum_factor_ratio: DRUM_FACTOR,
        ..AreaLimits::usual()
    };
    let choice = thinnest_wire(&demand, best.source_voltage_v, &limits).at(here)?;
    let wire = Conductor::new(Metal::COPPER, choice.area_m2, Stranding::SOLID).at(here)?;
    let wire_diameter_m = wire.diameter_m() + 2.0 * choice.wall_m;
    let strength_m2 = factored_n / YARN_PA;
    // Two wires side by side, the yarn around them as a round of the same area.
    let pair_m = 2.0 * wire_diameter_m;
    let diameter_m = (pair_m * pair_m + 4.0 * strength_m2 / (0.6 * std::f64::consts::PI)).sqrt();
    let loop_ohm = 2.0 * length_m * wire.resistance_ohm_per_m(WIRE_K);
    let current_a = load_w / (best.source_voltage_v * (1.0 - DROP_RATIO));
    let loss_w = current_a * current_a * loop_ohm;
    let (core_m, width_m) = DRUM_M;
    let wound_m3 = length_m * diameter_m * diameter_m / 0.9;
    let outer_m = (core_m * core_m + wound_m3 / (std::f64::consts::PI * width_m)).sqrt();
    let drum = Winding::in_still_air(core_m, outer_m, width_m).at("/ground/drum")?;
    Ok(CopperChoice {
        voltage_v: best.source_voltage_v,
        voltage_bound: best.binding.map(words),
        conductor_area_mm2: 1e6 * choice.area_m2,
        conductor_bound: words(choice.binding),
        wall_mm: 1e3 * choice.wall_m,
        wires_kg_per_m: choice.mass_kg / length_m,
        strength_kg_per_m: YARN_KG_M3 * strength_m2,
        diameter_m,
        loss_w,
        drum_rise_k: loss_w * drum.rise_k_per_w(),
    })
}
