//! Where the vehicle is held, what it carries and what it rests on.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// Where the vehicle is held, measured from the ground under the drum exit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// Height above ground; negative is depth under the surface for an underwater vehicle.
    #[schemars(range(min = -6000.0, max = 5000.0))]
    pub height_m: f64,
    /// Offset downwind of the drum; negative is upwind.
    #[serde(default)]
    #[schemars(range(min = -5000.0, max = 5000.0))]
    pub downwind_m: f64,
    /// Offset to the left of the wind, seen from above looking downwind.
    #[serde(default)]
    #[schemars(range(min = -5000.0, max = 5000.0))]
    pub crosswind_m: f64,
    /// What the winch holds: the tension at the drum (the better lever) or the length paid out. Needed with a tether.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub winch: Option<Winch>,
}

/// What the winch holds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Winch {
    /// Tension at the drum; the shorter of the two lengths that give it is taken.
    DrumTension {
        /// Tension at the drum.
        #[schemars(range(min = 0.0, max = 100000.0))]
        drum_tension_n: f64,
    },
    /// Length paid out, unstretched.
    PaidOut {
        /// Length paid out.
        #[schemars(range(min = 0.1, max = 10000.0))]
        paid_out_m: f64,
    },
}

/// What the flight is for.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Payload {
    /// Mass of the payload.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 5000.0))]
    pub mass_kg: f64,
    /// Electrical power of the payload.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub power_w: f64,
}

/// Battery on board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Battery {
    /// Cells in series.
    #[schemars(range(min = 1, max = 500))]
    pub series_count: u32,
    /// Capacity of the pack.
    #[schemars(range(min = 0.05, max = 1000.0))]
    pub capacity_ah: f64,
    /// Resistance of one cell of the pack (parallel cells counted together) at 25 °C, new.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub cell_resistance_mohm: f64,
    /// Energy per mass of the whole pack. Default 150 Wh/kg: lithium polymer 150 to 200 (an aero-electric textbook
    /// chapter), packs less.
    #[serde(default = "defaults::pack_specific_energy_wh_per_kg")]
    #[schemars(range(min = 20.0, max = 500.0))]
    pub specific_energy_wh_per_kg: f64,
    /// Share of the capacity that may be used. Default 0.8 (input table of a 2019 study of vertical take-off).
    #[serde(default = "defaults::depth_of_discharge_ratio")]
    #[schemars(range(min = 0.05, max = 1.0))]
    pub depth_of_discharge_ratio: f64,
    /// Largest discharge current over capacity. Default 10 (from memory; see the cell's sheet).
    #[serde(default = "defaults::max_c_rate_count")]
    #[schemars(range(min = 0.1, max = 100.0))]
    pub max_c_rate_count: f64,
    /// Energy stored over energy taken while charging. Default 0.95 (charge and discharge together 0.90 in the same
    /// study).
    #[serde(default = "defaults::charge_efficiency_ratio")]
    #[schemars(range(min = 0.3, max = 1.0))]
    pub charge_efficiency_ratio: f64,
}
