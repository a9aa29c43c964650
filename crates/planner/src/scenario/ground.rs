//! What stands on the ground.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// Laser, chiller, drum and supply.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// The laser; needed by fiber and free beam.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub laser: Option<Laser>,
    /// The chiller that carries away the heat of the laser and its driver, and nothing else.
    #[serde(default)]
    pub chiller: Chiller,
    /// The generator set that feeds it all; left out, mains.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub generator: Option<super::GeneratorSet>,
    /// The drum; needed by fiber and copper.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drum: Option<Drum>,
    /// Wall power for everything else on the ground: control, winch, link.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 20000.0))]
    pub housekeeping_w: f64,
}

/// The laser on the ground. Class 4: its light burns and blinds, directly and by reflection.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Laser {
    /// Wavelength in vacuum at a coolant temperature of 25 °C.
    #[schemars(range(min = 700.0, max = 1800.0))]
    pub wavelength_nm: f64,
    /// Largest optical power.
    #[schemars(range(min = 0.1, max = 50000.0))]
    pub rated_w: f64,
    /// How the light is set.
    #[serde(default)]
    pub control: LaserControl,
    /// How much wall power the light costs.
    pub efficiency: LaserEfficiency,
    /// Temperature of the coolant. Default 20 °C, our choice.
    #[serde(default = "defaults::coolant_temperature_c")]
    #[schemars(range(min = -30.0, max = 70.0))]
    pub coolant_temperature_c: f64,
    /// Drift of the wavelength with coolant temperature. Default 0.3 nm/K, near 805 nm (a pumping study; 0.25 to 0.3).
    #[serde(default = "defaults::wavelength_drift_nm_per_k")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub drift_nm_per_k: f64,
    /// Width of the line; a wide line lifts the Brillouin threshold. Default 2 nm, a free-running diode array (from
    /// memory).
    #[serde(default = "defaults::linewidth_nm")]
    #[schemars(range(min = 0.000001, max = 50.0))]
    pub linewidth_nm: f64,
    /// Loss of the driver, as a share of what it delivers to the diodes.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 0.5))]
    pub driver_loss_ratio: f64,
}

/// How the light is set.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum LaserControl {
    /// Always just enough for the demand, and off at once when the load is lost: the cells never see more light than
    /// they turn into demand.
    DimmedToDemand,
    /// Steady at the rated power: when less is drawn, or nothing, the cells get hotter. The safer assumption.
    #[default]
    Steady,
}

/// Wall power of the laser.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum LaserEfficiency {
    /// One figure: optical power over electrical power of the laser head, at its coolant temperature.
    WallPlug {
        /// Optical over electrical.
        #[schemars(range(min = 0.01, max = 0.85))]
        efficiency_ratio: f64,
    },
    /// Threshold and slope of the diodes at 25 °C, falling with temperature.
    ThresholdSlope {
        /// Threshold current at 25 °C.
        #[schemars(range(min = 0.0, max = 500.0))]
        threshold_a: f64,
        /// Slope at 25 °C; at most the photon energy per charge.
        #[schemars(range(min = 0.01, max = 200.0))]
        slope_w_per_a: f64,
        /// Voltage over the diodes at threshold, all in series.
        #[schemars(range(min = 0.5, max = 1000.0))]
        turn_on_v: f64,
        /// Series resistance of the diodes, all in series.
        #[schemars(range(min = 0.0, max = 100.0))]
        series_resistance_ohm: f64,
        /// Characteristic temperature of the threshold, 120 to 250 K (from memory).
        #[schemars(range(min = 20.0, max = 1000.0))]
        threshold_temperature_k: f64,
        /// Characteristic temperature of the slope, 400 to 1000 K (from memory).
        #[schemars(range(min = 50.0, max = 5000.0))]
        slope_temperature_k: f64,
        /// Diodes in series; the slope is that of all of them.
        #[schemars(range(min = 1, max = 1000))]
        diodes_count: u32,
    },
}

/// The chiller of the laser.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Chiller {
    /// Heat moved per electrical work. Default 3: small air-cooled machines 2 to 4 (from memory), EN 15243 lists 3.1 to
    /// 3.8 at 14 °C water.
    #[serde(default = "defaults::coefficient_of_performance")]
    #[schemars(range(min = 0.5, max = 30.0))]
    pub coefficient_of_performance: f64,
}

impl Default for Chiller {
    fn default() -> Self {
        Self { coefficient_of_performance: defaults::coefficient_of_performance() }
    }
}

/// The drum that pays out the tether.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Drum {
    /// Diameter under the first layer.
    #[schemars(range(min = 20.0, max = 3000.0))]
    pub core_diameter_mm: f64,
    /// Width between the flanges.
    #[schemars(range(min = 5.0, max = 3000.0))]
    pub width_mm: f64,
    /// Diameter of the flanges.
    #[schemars(range(min = 30.0, max = 5000.0))]
    pub flange_diameter_mm: f64,
    /// Share of the winding space lost to loose lay. Default 0.1; up to 0.3 is published for loose winding.
    #[serde(default = "defaults::packing_allowance_ratio")]
    #[schemars(range(min = 0.0, max = 0.6))]
    pub packing_allowance_ratio: f64,
    /// Height of the drum exit above ground, where the tether begins to hang. Default 0.5 m, our choice.
    #[serde(default = "defaults::exit_height_m")]
    #[schemars(range(min = 0.0, max = 200.0))]
    pub exit_height_m: f64,
    /// What the winch does in a gust.
    #[serde(default)]
    pub gust_response: GustResponse,
    /// Fastest reeling in that the winch does, also on its emergency supply; left out, no bound is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.01, max = 100.0))]
    pub max_reel_speed_m_s: Option<f64>,
    /// Heat transfer from the outside of the wound drum. Default 10 W/(m²·K), still air with radiation (from memory).
    #[serde(default = "defaults::drum_heat_transfer_w_per_m2_k")]
    #[schemars(range(min = 0.5, max = 500.0))]
    pub heat_transfer_w_per_m2_k: f64,
    /// Conductivity of the wound pack. Default 0.25 W/(m·K), an estimate between 0.2 and 0.3.
    #[serde(default = "defaults::drum_conductivity_w_per_m_k")]
    #[schemars(range(min = 0.02, max = 50.0))]
    pub conductivity_w_per_m_k: f64,
}

/// What the winch does in a gust.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum GustResponse {
    /// The brake holds: the length stays and the tension rises. The harder case, and the default.
    #[default]
    HoldsLength,
    /// The winch holds the drum tension and pays out.
    HoldsTension,
}
