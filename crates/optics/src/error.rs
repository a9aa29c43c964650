//! Why a part of the light's way gives no answer.

use beamstay_numerics::{domain::OutOfRange, root::RootError};
use thiserror::Error;

/// Everything that this crate can refuse, with the numbers that made it refuse.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum OpticsError {
    /// A quantity is not finite or outside the range its model is meant for.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),

    /// A solver inside a model found no root.
    #[error(transparent)]
    Root(#[from] RootError),

    /// More light is asked for than the laser is rated for.
    #[error("laser power {requested_w} W is above its rating {rated_w} W")]
    AboveRatedPower {
        /// Optical power asked for, W.
        requested_w: f64,
        /// Rated optical power, W.
        rated_w: f64,
    },

    /// The light needs more current than the diodes are rated for.
    #[error("laser current {required_a} A is above its rating {rated_a} A")]
    AboveRatedCurrent {
        /// Current that the light needs, A.
        required_a: f64,
        /// Rated current, A.
        rated_a: f64,
    },

    /// A diode cannot give more than one photon per electron.
    #[error("slope {slope_w_per_a} W/A is above one photon per electron, {limit_w_per_a} W/A")]
    SlopeAboveQuantumLimit {
        /// Slope of one emitter at the temperature in question, W/A.
        slope_w_per_a: f64,
        /// `h·c/(q·λ)`, W/A.
        limit_w_per_a: f64,
    },

    /// The numbers of the laser give more light than they take electrical power.
    #[error("laser would give {optical_w} W of light from {electrical_w} W")]
    EfficiencyAboveOne {
        /// Optical power, W.
        optical_w: f64,
        /// Electrical power into the laser, W.
        electrical_w: f64,
    },

    /// The attenuation is less than what scattering in glass alone costs.
    #[error(
        "attenuation {attenuation_db_per_km} dB/km is below the Rayleigh floor of silica, \
         {floor_db_per_km} dB/km at {wavelength_m} m"
    )]
    BelowRayleighFloor {
        /// The attenuation given, dB/km.
        attenuation_db_per_km: f64,
        /// Least possible at this wavelength, dB/km.
        floor_db_per_km: f64,
        /// Vacuum wavelength, m.
        wavelength_m: f64,
    },

    /// The bend is so tight that the fiber guides nothing.
    #[error("no light is guided round a bend of {bend_radius_m} m; the limit is {limit_m} m")]
    BendGuidesNothing {
        /// Bend radius, m.
        bend_radius_m: f64,
        /// Radius at which the last mode is lost, m.
        limit_m: f64,
    },

    /// Étendue matching counts rays; this fiber carries one mode.
    #[error("the fiber carries one mode (V {v_number}); give a Gaussian source or a measured coupling")]
    SingleModeLaunch {
        /// Normalised frequency of the fiber.
        v_number: f64,
    },

    /// Saturation current and ideality of a cell promise more voltage than thermodynamics allows.
    #[error(
        "the cell would give {open_circuit_v} V at 1 A/cm², above the detailed-balance limit of its gap, {limit_v} V"
    )]
    VoltageAboveDetailedBalance {
        /// Open-circuit voltage of the cell, V.
        open_circuit_v: f64,
        /// Limit, V.
        limit_v: f64,
    },
}
