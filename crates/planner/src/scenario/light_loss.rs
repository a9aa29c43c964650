//! What is done when the power from the ground is lost.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// What is done when the power from the ground is lost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LightLoss {
    /// The cause to plan for; left out, every cause that the delivery has is worked through.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cause: Option<LossCause>,
    /// Time from the loss until the vehicle starts down: noticing, waiting for the light to come back. Default 5 s, our
    /// choice.
    #[serde(default = "defaults::decision_time_s")]
    #[schemars(range(min = 0.0, max = 3600.0))]
    pub decision_time_s: f64,
    /// Fastest descent that controller and operator allow. Default 5 m/s (common practice, no source).
    #[serde(default = "defaults::max_descent_rate_m_s")]
    #[schemars(range(min = 0.05, max = 50.0))]
    pub max_descent_rate_m_s: f64,
    /// Share of the rate at which the vortex ring state begins in calm air that may be used. Default 0.8, our choice.
    #[serde(default = "defaults::vortex_ring_share_ratio")]
    #[schemars(range(min = 0.05, max = 1.0))]
    pub vortex_ring_share_ratio: f64,
    /// Hover near the ground that is kept for the landing itself; a wing circles that long. Default 120 s (common practice,
    /// from memory).
    #[serde(default = "defaults::landing_hover_s")]
    #[schemars(range(min = 0.0, max = 3600.0))]
    pub landing_hover_s: f64,
    /// Charge of the battery when the light is lost, over full. Default 1; a battery that has just carried gusts has less.
    #[serde(default = "defaults::one")]
    #[schemars(range(min = 0.05, max = 1.0))]
    pub start_charge_ratio: f64,
    /// Whether the payload is switched off when the descent begins. Default no, the harder case.
    #[serde(default)]
    pub sheds_payload: bool,
}

impl Default for LightLoss {
    fn default() -> Self {
        Self {
            cause: None,
            decision_time_s: defaults::decision_time_s(),
            max_descent_rate_m_s: defaults::max_descent_rate_m_s(),
            vortex_ring_share_ratio: defaults::vortex_ring_share_ratio(),
            landing_hover_s: defaults::landing_hover_s(),
            start_charge_ratio: defaults::one(),
            sheds_payload: false,
        }
    }
}

/// Why the power from the ground is lost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum LossCause {
    /// The source on the ground stops: laser interlock, mains, generator.
    SourceTrip,
    /// The line is cut through, strength member and all. The vehicle keeps the upper piece.
    LineCut {
        /// Where, along the line from the drum exit; beyond what is paid out it counts as at the vehicle.
        #[schemars(range(min = 0.0, max = 20000.0))]
        at_m: f64,
    },
    /// A connector lets go while the line holds.
    Connector {
        /// Which end.
        end: LineEnd,
    },
    /// The converter on board fails. The light still comes and all of it turns to heat until it is shut off.
    ConverterFault,
    /// A free beam no longer meets the receiver: it is blocked or points elsewhere.
    BeamLost,
}

/// One end of the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum LineEnd {
    /// On the ground, before the drum.
    Ground,
    /// On the vehicle.
    Vehicle,
}
