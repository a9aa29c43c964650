//! What can be wrong with an electrical model's input.

use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};
use thiserror::Error;

/// Why an electrical part cannot be built or asked what it was asked.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ElectricalError {
    /// A number is not finite or outside the range of the model.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// The no-load loss alone is more than the whole loss at rated output.
    #[error("standby loss {standby_w} W is more than the whole loss at rated output, {rated_loss_w} W")]
    StandbyAboveRatedLoss {
        /// No-load loss, W.
        standby_w: f64,
        /// Loss at rated output that follows from the efficiency, W.
        rated_loss_w: f64,
    },
    /// A nominal area that is not in the table of IEC 60228.
    #[error("nominal area {nominal_area_m2} m2 is not one of 0.5, 0.75, 1, 1.5, 2.5 or 4 mm2")]
    UnknownNominalArea {
        /// The area asked for, m².
        nominal_area_m2: f64,
    },
    /// A table of cell voltage whose columns do not fit.
    #[error("cell voltage table: {0}")]
    Table(#[from] TableError),
    /// A cell voltage that falls while the state of charge rises.
    #[error("cell voltage falls at row {row} of the table, counted from 0")]
    FallingVoltage {
        /// Row number, from 0.
        row: usize,
    },
    /// Even the thickest wire is hotter than its insulation stands.
    #[error("no wire up to 1000 mm2 keeps its insulation under {max_temp_k} K")]
    NoWireIsCoolEnough {
        /// Limit of the insulation, K.
        max_temp_k: f64,
    },
}
