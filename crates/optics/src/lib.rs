//! Laser to electrical bus, through fiber or free air, with its heat and its hazard.

mod error;
pub mod silica;

pub use error::OpticsError;
