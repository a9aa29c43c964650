//! Wires, batteries, converters and ground supplies in; currents, voltages, losses, masses and endurance out.
//!
//! Every model stands alone and knows nothing of the others' neighbours: powers in watts and temperatures in kelvin
//! come in as plain numbers. Formulas, sources and weaknesses are listed in `docs/models/electrical.md`.

pub mod chiller;
pub mod converter;
mod error;

pub use chiller::{Chiller, CoefficientOfPerformance};
pub use converter::{Converter, ConverterSpec};
pub use error::ElectricalError;
