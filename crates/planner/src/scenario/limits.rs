//! How near to the edge the plan may go.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// Limits that are the planner's choice; those of physics and of the parts stand with the parts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// Share of the demand that must be left over at the bus. Default 0.05, our choice.
    #[serde(default = "defaults::power_reserve_ratio")]
    #[schemars(range(min = 0.0, max = 5.0))]
    pub power_reserve_ratio: f64,
    /// Largest thrust over thrust needed in the gust. Default 1.3, our choice; 1.8 to 2 over calm hover is common
    /// practice, no source.
    #[serde(default = "defaults::thrust_reserve_ratio")]
    #[schemars(range(min = 1.0, max = 5.0))]
    pub thrust_reserve_ratio: f64,
    /// Breaking load over largest tension in the gust. Default 5 (common practice, no source; slings of fiber 6 to 9 by
    /// OSHA).
    #[serde(default = "defaults::break_load_factor")]
    #[schemars(range(min = 1.0, max = 20.0))]
    pub break_load_factor: f64,
    /// Smallest elevation of the tether at the drum. Default 5°, our choice.
    #[serde(default = "defaults::min_drum_elevation_deg")]
    #[schemars(range(min = -90.0, max = 90.0))]
    pub min_drum_elevation_deg: f64,
    /// Smallest height of the hanging tether above ground, beyond the first 2 m at the drum: the height of what stands under it
    /// and a margin. Default 0 m.
    #[serde(default = "defaults::min_clearance_m")]
    #[schemars(range(min = -6000.0, max = 1000.0))]
    pub min_clearance_m: f64,
    /// Most length of the tether that may lie on the ground. Default 0 m: none. Where it may lie and does, no elevation at the
    /// drum is asked; the clearance, which is 0 then, still is.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 10000.0))]
    pub max_length_on_ground_m: f64,
    /// Bend radius of sheave and vehicle outlet, the smaller. Default 150 mm, our choice.
    #[serde(default = "defaults::sheave_radius_mm")]
    #[schemars(range(min = 1.0, max = 5000.0))]
    pub sheave_radius_mm: f64,
    /// Smallest bend radius under tension over tether diameter. Default 20 (FOA reference guide).
    #[serde(default = "defaults::jacket_bend_ratio")]
    #[schemars(range(min = 1.0, max = 100.0))]
    pub bend_ratio: f64,
    /// Largest strain of the line in the gust. Left out, nothing is asked: glass is held against its stress, yarn against the
    /// breaking load.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.00001, max = 0.5))]
    pub max_strain_ratio: Option<f64>,
    /// How long the mean load lasts; sets the share of the proof stress that the glass may carry.
    #[serde(default)]
    pub load_duration: LoadDuration,
    /// Largest share of the light of a free beam that may pass beside the receiver. Default 0.5, our choice; what passes
    /// goes on and is a hazard.
    #[serde(default = "defaults::max_spill_over_ratio")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub max_spill_over_ratio: f64,
    /// Share of the battery that stays untouched. Default 0.2 (common practice, no source).
    #[serde(default = "defaults::battery_untouched_ratio")]
    #[schemars(range(min = 0.0, max = 0.9))]
    pub battery_untouched_ratio: f64,
    /// What must still be possible with rotors lost; left out, nothing is asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rotors_lost: Option<RotorsLost>,
    /// Rate at which the craft is to come down in calm air, held against the vortex ring state; left out, nothing is asked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.01, max = 50.0))]
    pub descent_rate_m_s: Option<f64>,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            power_reserve_ratio: defaults::power_reserve_ratio(),
            thrust_reserve_ratio: defaults::thrust_reserve_ratio(),
            break_load_factor: defaults::break_load_factor(),
            min_drum_elevation_deg: defaults::min_drum_elevation_deg(),
            min_clearance_m: defaults::min_clearance_m(),
            max_length_on_ground_m: 0.0,
            sheave_radius_mm: defaults::sheave_radius_mm(),
            bend_ratio: defaults::jacket_bend_ratio(),
            max_strain_ratio: None,
            load_duration: LoadDuration::default(),
            max_spill_over_ratio: defaults::max_spill_over_ratio(),
            battery_untouched_ratio: defaults::battery_untouched_ratio(),
            rotors_lost: None,
            descent_rate_m_s: None,
        }
    }
}

/// How long the mean load lasts.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum LoadDuration {
    /// Hours in all: a third of the proof stress.
    Hours,
    /// Years in all: a fifth of the proof stress.
    #[default]
    Years,
}

/// What must still be possible with rotors lost, in the gust.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RotorsLost {
    /// What has failed.
    pub failure: RotorFailure,
    /// What must still be possible. Default: to land.
    #[serde(default)]
    pub task: RotorTask,
    /// How well the craft must be held meanwhile. Default: level, though it may turn.
    #[serde(default)]
    pub control: RotorControl,
}

/// What has failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RotorFailure {
    /// One rotor; in a coaxial pair the other goes on.
    OneRotor,
    /// One rotor and the one opposite.
    OpposingPair,
}

/// What must still be possible.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RotorTask {
    /// To come down, the tether slack.
    #[default]
    Land,
    /// To stay, with the pull of the tether.
    Hold,
}

/// How well a craft must be held with rotors lost.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum RotorControl {
    /// Level and on its heading.
    Heading,
    /// Level, but it may turn and wind up its tether.
    #[default]
    Level,
    /// By its lift alone: it spins, and needs a flight controller made for that.
    Spinning,
}
