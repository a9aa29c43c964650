//! Laser to electrical bus, through fiber or free air, with its heat and its hazard.

pub mod beam;
pub mod connector;
pub mod decibel;
mod error;
pub mod fiber;
#[cfg(test)]
mod fixture;
pub mod laser;
pub mod launch;
pub mod receiver;
pub mod silica;
mod stage;

pub use error::OpticsError;
pub use stage::{Itemised, Stage, StageKind};
