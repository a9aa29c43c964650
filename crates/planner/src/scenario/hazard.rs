//! What the hazard of the light is counted with.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the hazard of the light is counted with. Planning figures: the laser safety officer decides.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// Time from a break of the fiber, or from the moment when the beam leaves its receiver, to dark: detection, switching
    /// and stored light together. Left out, no shut-off is counted. The distances without it are given in any case: they
    /// hold when the shut-off fails.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0001, max = 1000000.0))]
    pub shut_off_ms: Option<f64>,
    /// Radius round drum or ground optic inside which nobody is without protection. Left out, none is held against the
    /// distances.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1000000.0))]
    pub working_area_radius_m: Option<f64>,
}
