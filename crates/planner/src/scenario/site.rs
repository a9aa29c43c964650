//! Where it flies.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// Height of the ground, air, wind; water and current for a vehicle that swims.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// Height of the ground above sea level. Sets the pressure of the standard atmosphere of 1976.
    #[serde(default)]
    #[schemars(range(min = -430.0, max = 6000.0))]
    pub elevation_m: f64,
    /// Air temperature less that of the standard atmosphere at the same height.
    #[serde(default)]
    #[schemars(range(min = -60.0, max = 40.0))]
    pub temperature_offset_k: f64,
    /// Relative humidity; left out, the air is dry.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 1.0))]
    pub relative_humidity_ratio: Option<f64>,
    /// Mean wind over height and its gusts. Left out, the air is calm.
    #[serde(default)]
    pub wind: Wind,
    /// The wind over time, for the endurance. Left out, the wind of the site for a day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weather: Option<super::Weather>,
    /// Water and its current; needed by an underwater vehicle, excluded by any other.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water: Option<Water>,
}

/// Mean wind over height and its gusts. The x axis points downwind at the reference height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Wind {
    /// Speed over height.
    #[serde(default)]
    pub profile: WindProfile,
    /// Turning of the wind with height, positive clockwise seen from above as height rises.
    #[serde(default)]
    #[schemars(range(min = -1.0, max = 1.0))]
    pub veer_deg_per_m: f64,
    /// Below this height above ground the wind is the one at this height. Default 0.5 m, our convention.
    #[serde(default = "defaults::floor_height_m")]
    #[schemars(range(min = 0.01, max = 50.0))]
    pub floor_height_m: f64,
    /// How the gust is found from the mean.
    #[serde(default)]
    pub gust: Gust,
}

impl Default for Wind {
    fn default() -> Self {
        Self {
            profile: WindProfile::default(),
            veer_deg_per_m: 0.0,
            floor_height_m: defaults::floor_height_m(),
            gust: Gust::default(),
        }
    }
}

/// Mean wind speed over height above ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum WindProfile {
    /// The same at every height; indoors, or for a check by hand.
    Uniform {
        /// Mean speed.
        #[schemars(range(min = 0.0, max = 60.0))]
        speed_m_s: f64,
    },
    /// Power law.
    PowerLaw {
        /// Mean speed at the reference height.
        #[schemars(range(min = 0.0, max = 60.0))]
        speed_m_s: f64,
        /// Height above ground of the speed. Default 10 m, the height of a standard anemometer (WMO-No. 8).
        #[serde(default = "defaults::reference_height_m")]
        #[schemars(range(min = 0.5, max = 500.0))]
        reference_height_m: f64,
        /// Exponent. Default 1/7 (common practice for open ground, no source); IEC 61400-1 uses 0.2.
        #[serde(default = "defaults::shear_exponent")]
        #[schemars(range(min = 0.0, max = 1.0))]
        exponent: f64,
    },
    /// Logarithmic law.
    Logarithmic {
        /// Mean speed at the reference height.
        #[schemars(range(min = 0.0, max = 60.0))]
        speed_m_s: f64,
        /// Height above ground of the speed. Default 10 m, the height of a standard anemometer (WMO-No. 8).
        #[serde(default = "defaults::reference_height_m")]
        #[schemars(range(min = 0.5, max = 500.0))]
        reference_height_m: f64,
        /// Roughness length: 0.0002 m open sea, 0.03 m open land, 0.25 m rough land (Wieringa 1992).
        #[schemars(range(min = 0.00001, max = 2.0))]
        roughness_m: f64,
    },
}

impl Default for WindProfile {
    fn default() -> Self {
        Self::Uniform { speed_m_s: 0.0 }
    }
}

/// How the gust at the vehicle is found from the mean wind there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Gust {
    /// A fixed multiple of the mean.
    Factor {
        /// Gust over mean. Default 1.45: mean of the reported gusts of one airport year (JFK 2013: mean 1.47, median
        /// 1.42, 95th percentile 1.87; hours without a reported gust not counted).
        #[serde(default = "defaults::gust_ratio")]
        #[schemars(range(min = 1.0, max = 4.0))]
        ratio: f64,
    },
    /// Extreme operating gust of IEC 61400-1 edition 3.
    ExtremeOperatingGust {
        /// Wind class: reference wind 50, 42.5 or 37.5 m/s.
        wind_class: WindClass,
        /// Turbulence class: intensity 0.16, 0.14 or 0.12.
        turbulence_class: TurbulenceClass,
    },
    /// Low-altitude turbulence of MIL-F-8785C: mean plus a number of standard deviations along the wind.
    Dryden {
        /// Standard deviations above the mean.
        #[schemars(range(min = 0.0, max = 6.0))]
        deviations_count: f64,
        /// Exponent that brings the mean down to the 20 ft at which the standard counts wind. Default 1/7.
        #[serde(default = "defaults::shear_exponent")]
        #[schemars(range(min = 0.0, max = 1.0))]
        exponent: f64,
    },
}

impl Default for Gust {
    fn default() -> Self {
        Self::Factor { ratio: defaults::gust_ratio() }
    }
}

/// Wind class of IEC 61400-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum WindClass {
    /// Reference wind 50 m/s.
    One,
    /// Reference wind 42.5 m/s.
    Two,
    /// Reference wind 37.5 m/s.
    Three,
}

/// Turbulence class of IEC 61400-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum TurbulenceClass {
    /// Intensity 0.16.
    A,
    /// Intensity 0.14.
    B,
    /// Intensity 0.12.
    C,
}

/// Water and its current. Heights are negative: the drum exit is at the surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Water {
    /// Fresh or salt water.
    #[serde(default)]
    pub kind: WaterKind,
    /// Temperature. Default 10 °C, our choice.
    #[serde(default = "defaults::water_temperature_c")]
    #[schemars(range(min = 0.0, max = 35.0))]
    pub temperature_c: f64,
    /// Depth of the water.
    #[schemars(range(min = 0.5, max = 6000.0))]
    pub depth_m: f64,
    /// Current over depth.
    pub current: Current,
    /// Turning of the current, positive clockwise seen from above as height rises.
    #[serde(default)]
    #[schemars(range(min = -10.0, max = 10.0))]
    pub veer_deg_per_m: f64,
}

/// Fresh or salt water.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum WaterKind {
    /// Fresh water.
    #[default]
    Fresh,
    /// Sea water of 35 g/kg salinity.
    Sea,
}

/// Current over depth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Current {
    /// The same at every depth.
    Uniform {
        /// Speed.
        #[schemars(range(min = 0.0, max = 5.0))]
        speed_m_s: f64,
    },
    /// Falls with depth as an exponential.
    SurfaceExponential {
        /// Speed at the surface.
        #[schemars(range(min = 0.0, max = 5.0))]
        surface_speed_m_s: f64,
        /// Depth at which it has fallen to 1/e.
        #[schemars(range(min = 0.1, max = 2000.0))]
        decay_depth_m: f64,
    },
    /// Power law over the height above the bottom.
    DepthPower {
        /// Speed at the surface.
        #[schemars(range(min = 0.0, max = 5.0))]
        surface_speed_m_s: f64,
        /// Exponent; 1/7 is common practice, no source.
        #[serde(default = "defaults::shear_exponent")]
        #[schemars(range(min = 0.0, max = 1.0))]
        exponent: f64,
    },
}
