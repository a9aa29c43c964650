//! Laser to electrical bus, through fiber or free air, with its heat and its hazard.

pub mod beam;
pub mod connector;
pub mod data_link;
pub mod decibel;
mod error;
pub mod fiber;
#[cfg(test)]
mod fixture;
pub mod hazard;
pub mod laser;
pub mod launch;
pub mod receiver;
pub mod silica;
mod stage;

pub use error::OpticsError;
pub use stage::{Fate, Itemised, Stage, StageKind};
