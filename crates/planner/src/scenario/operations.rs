//! How the flight is run over days: the wind it meets, when it launches and comes down, what feeds the ground.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// The wind over time at the site.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Weather {
    /// The wind of the site all the time.
    Constant {
        /// How long.
        #[schemars(range(min = 1.0, max = 100000.0))]
        duration_h: f64,
    },
    /// The mean wind goes up and down like a square wave; gusts follow from the site's rule.
    GustPattern {
        /// How long in all.
        #[schemars(range(min = 1.0, max = 100000.0))]
        duration_h: f64,
        /// Mean wind in the quiet part, at anemometer height.
        #[schemars(range(min = 0.0, max = 60.0))]
        quiet_m_s: f64,
        /// Mean wind in the strong part, at anemometer height.
        #[schemars(range(min = 0.0, max = 60.0))]
        strong_m_s: f64,
        /// Length of the quiet part, whole hours.
        #[schemars(range(min = 1.0, max = 1000.0))]
        quiet_h: f64,
        /// Length of the strong part, whole hours.
        #[schemars(range(min = 1.0, max = 1000.0))]
        strong_h: f64,
        /// Height of the anemometer above ground. Default 10 m (WMO-No. 8).
        #[serde(default = "defaults::reference_height_m")]
        #[schemars(range(min = 0.5, max = 500.0))]
        anemometer_height_m: f64,
    },
    /// Hours from a file beside the scenario: CSV with the columns time, wind_m_s and, as far as known, wind_gust_m_s,
    /// temperature_c, pressure_hpa (at the station) or sea_level_pressure_hpa; or EPW if the name ends so.
    File {
        /// Path from the scenario's folder.
        #[schemars(length(min = 1, max = 1000))]
        path: String,
        /// Height of the anemometer above ground. Default 10 m (WMO-No. 8).
        #[serde(default = "defaults::reference_height_m")]
        #[schemars(range(min = 0.5, max = 500.0))]
        anemometer_height_m: f64,
    },
}

/// Rules of launch and recovery, and how the vehicle is run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Operations {
    /// Continuous, or in turns of work and recharge.
    #[serde(default)]
    pub mode: OperationMode,
    /// Launch only if every limit would hold in winds this much stronger; comes down when one breaks. The difference
    /// keeps it from going up and down with every hour. Default 0.15, our choice.
    #[serde(default = "defaults::launch_margin_ratio")]
    #[schemars(range(min = 0.0, max = 2.0))]
    pub launch_margin_ratio: f64,
    /// Hours in a row that must be good enough before a launch, the hour of the launch included. Default 2, our choice.
    #[serde(default = "defaults::launch_good_hours_count")]
    #[schemars(range(min = 1, max = 240))]
    pub launch_good_hours_count: u32,
    /// Charge needed for a launch, over full. Default 0.9, our choice.
    #[serde(default = "defaults::launch_charge_ratio")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub launch_charge_ratio: f64,
    /// Whether it launches in hours in which the supply alone does not carry it, as with a receiver that only replaces part
    /// of the battery. Default no. Without a delivery it always does.
    #[serde(default)]
    pub launches_on_deficit: bool,
    /// Rate of a recovery, for the charge that is kept for it. Default 1.5 m/s (helicopter practice: not over 300 ft/min
    /// with power below translational lift).
    #[serde(default = "defaults::recovery_rate_m_s")]
    #[schemars(range(min = 0.1, max = 20.0))]
    pub recovery_rate_m_s: f64,
}

impl Default for Operations {
    fn default() -> Self {
        Self {
            mode: OperationMode::default(),
            launch_margin_ratio: defaults::launch_margin_ratio(),
            launch_good_hours_count: defaults::launch_good_hours_count(),
            launch_charge_ratio: defaults::launch_charge_ratio(),
            launches_on_deficit: false,
            recovery_rate_m_s: defaults::recovery_rate_m_s(),
        }
    }
}

/// How the vehicle is run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum OperationMode {
    /// On station as long as it goes.
    #[default]
    Continuous,
    /// In turns: works on the battery, comes back to the supply, recharges.
    DutyCycle {
        /// Share of the supply that reaches it at work. Default 0: away from the beam.
        #[serde(default)]
        #[schemars(range(min = 0.0, max = 1.0))]
        supply_at_work_ratio: f64,
        /// Power drawn while it recharges; left out, it hovers in the beam meanwhile.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 0.0, max = 100000.0))]
        rest_power_w: Option<f64>,
    },
}

/// A generator set that feeds the ground station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GeneratorSet {
    /// Rating.
    #[schemars(range(min = 10.0, max = 10000000.0))]
    pub rated_w: f64,
    /// Fuel without load. Diesel sets 0.08 L/h per kilowatt of rating (rule of thumb, from memory).
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub no_load_l_per_h: f64,
    /// Fuel per energy beyond that. Diesel 0.25 L/kWh (rule of thumb, from memory).
    #[schemars(range(min = 0.05, max = 10.0))]
    pub slope_l_per_kwh: f64,
    /// Tank.
    #[schemars(range(min = 0.1, max = 100000.0))]
    pub tank_l: f64,
}
