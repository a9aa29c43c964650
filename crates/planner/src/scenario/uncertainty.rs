//! What is not known for sure.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What is not known for sure; `risk` draws from it, every other command takes the numbers as they stand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Uncertainty {
    /// The numbers of this scenario that are uncertain. They are drawn independently of each other: where two move together,
    /// name the one that moves both.
    #[schemars(length(min = 1, max = 32))]
    pub inputs: Vec<UncertainInput>,
}

/// A number of the scenario that is not known for sure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UncertainInput {
    /// Where the number stands in this scenario, as a JSON Pointer (RFC 6901) such as `/payload/mass_kg`. Numbers that are
    /// left out and have a default may be named too; numbers that count whole things may not.
    pub pointer: String,
    /// Whether the numbers of the distribution are multiples of the number that stands there, instead of being in its
    /// unit: 1 is the number itself.
    #[serde(default)]
    pub relative: bool,
    /// How it is distributed. What is drawn outside the range of the number is set to the end of the range, counted and told; more than
    /// 1 % outside is refused.
    pub distribution: InputDistribution,
    /// Where the distribution comes from.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Distribution of an uncertain number. Its numbers are in the unit of that number, or multiples of it if `relative`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum InputDistribution {
    /// Normal: many small causes.
    Normal {
        /// Mean; left out, the number that stands in the scenario.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = -1e12, max = 1e12))]
        mean: Option<f64>,
        /// Standard deviation: 68 % lie within one, 95 % within two.
        #[schemars(range(min = 1e-30, max = 1e12))]
        deviation: f64,
    },
    /// Anywhere between two ends alike: a tolerance of which no more is known.
    Uniform {
        /// Lower end.
        #[schemars(range(min = -1e12, max = 1e12))]
        low: f64,
        /// Upper end.
        #[schemars(range(min = -1e12, max = 1e12))]
        high: f64,
    },
    /// Between two ends, most likely at the mode: a judgement.
    Triangular {
        /// Lower end.
        #[schemars(range(min = -1e12, max = 1e12))]
        low: f64,
        /// Most likely value; left out, the number that stands in the scenario.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = -1e12, max = 1e12))]
        mode: Option<f64>,
        /// Upper end.
        #[schemars(range(min = -1e12, max = 1e12))]
        high: f64,
    },
    /// Its logarithm is normal: many small factors, never below 0.
    Lognormal {
        /// Median; left out, the number that stands in the scenario.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 1e-30, max = 1e12))]
        median: Option<f64>,
        /// Standard deviation of the natural logarithm; 0.1 is about ten percent.
        #[schemars(range(min = 1e-6, max = 3.0))]
        log_deviation: f64,
    },
    /// Wind speed over a year.
    Weibull {
        /// Scale: the value that 36.8 % exceed. Not the mean, which is 0.886 of it at shape 2.
        #[schemars(range(min = 1e-30, max = 1e12))]
        scale: f64,
        /// Shape; 2 is usual for wind.
        #[schemars(range(min = 0.5, max = 20.0))]
        shape: f64,
    },
}
