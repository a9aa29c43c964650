//! Air, water, wind, gusts and weather: site, temperature and wind go in; density, viscosity, velocity at each height,
//! peak speeds and hourly series come out.

pub mod atmosphere;
pub mod beaufort;
pub mod error;
pub mod flow;
pub mod fluid;
pub mod gust;
mod lane;
mod polynomial;
mod power;
pub mod roughness;
pub mod water;
pub mod weather;
pub mod weibull;
pub mod wind;

pub use atmosphere::Atmosphere;
pub use error::EnvironmentError;
pub use flow::{AirFlow, Flow, FlowSample, FourSamples, UniformFlow, WaterFlow};
pub use fluid::Fluid;
pub use gust::GustModel;
pub use roughness::Terrain;
pub use water::Water;
pub use weather::{WeatherHour, WeatherSeries};
pub use weibull::Weibull;
pub use wind::{Profile, ProfileShape};
