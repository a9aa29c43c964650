//! Air, water, wind, gusts and weather: site, temperature and wind go in; density, viscosity, velocity at each height,
//! peak speeds and hourly series come out.

pub mod atmosphere;
pub mod error;
pub mod flow;
pub mod fluid;
mod polynomial;
pub mod water;
pub mod wind;

pub use atmosphere::Atmosphere;
pub use error::EnvironmentError;
pub use flow::{AirFlow, Flow, FlowSample, UniformFlow, WaterFlow};
pub use fluid::Fluid;
pub use water::Water;
pub use wind::{Profile, ProfileShape};
