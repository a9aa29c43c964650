//! What can be wrong with the numbers that describe air, water, wind and weather.

use beamstay_numerics::domain::OutOfRange;
use thiserror::Error;

/// Why a model of air, water, wind or weather was refused.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum EnvironmentError {
    /// A number is not finite or outside the range of its model.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A logarithmic profile whose reference lies in the roughness itself.
    #[error(
        "reference height {reference_height_m} m does not lie above the roughness length {roughness_m} m"
    )]
    ReferenceInRoughness {
        /// Reference height, m.
        reference_height_m: f64,
        /// Roughness length, m.
        roughness_m: f64,
    },
}
