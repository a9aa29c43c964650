//! Why a rotor or a drive cannot answer.

use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};
use thiserror::Error;

/// Errors of this crate.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum RotorError {
    /// A number is not finite or outside the range of the model.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A table of a rotor or a blade is not usable.
    #[error("{table}: {cause}")]
    Table {
        /// Which table, for example `blade stations`.
        table: &'static str,
        /// What is wrong with it.
        #[source]
        cause: TableError,
    },
    /// The rotor cannot make this thrust in this flow.
    #[error("thrust {thrust_n} N is above the {max_thrust_n} N that the rotor can make here")]
    ThrustAboveLimit {
        /// Thrust asked for, N.
        thrust_n: f64,
        /// Largest thrust, N.
        max_thrust_n: f64,
    },
    /// The table of the rotor, or its control, does not reach down to this thrust.
    #[error("thrust {thrust_n} N is below the {min_thrust_n} N that the rotor is known for here")]
    ThrustBelowLimit {
        /// Thrust asked for, N.
        thrust_n: f64,
        /// Smallest thrust, N.
        min_thrust_n: f64,
    },
}
