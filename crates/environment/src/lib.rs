//! Air, water, wind, gusts and weather: site, temperature and wind go in; density, viscosity, velocity at each height,
//! peak speeds and hourly series come out.
//!
//! # Examples
//! Wind pressure 60 m above a site at 1000 m on a day 10 K warmer than standard, in a mean wind of 8 m/s at 10 m and in its
//! gust:
//! ```
//! use beamstay_environment::{AirFlow, Atmosphere, Flow, GustModel, Profile, ProfileShape};
//!
//! let shape = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.143 };
//! let wind = AirFlow::new(Atmosphere::new(1000.0, 10.0)?, Profile::new(shape)?)?;
//! let there = wind.at(60.0);
//! let pressure_pa = |speed_m_s: f64| 0.5 * there.density_kg_m3 * speed_m_s * speed_m_s;
//! let mean_m_s = there.velocity_m_s.norm();
//! let peak_m_s = GustModel::Factor { ratio: 1.5 }.peak_speed_m_s(mean_m_s, 60.0)?;
//! // 1.06718 kg/m³ by the standard atmosphere, 8 · 6^0.143 = 10.33631 m/s
//! assert!((pressure_pa(mean_m_s) - 57.0086).abs() < 1e-3);
//! assert!((pressure_pa(peak_m_s) - 128.2692).abs() < 1e-3);
//! # Ok::<(), beamstay_environment::EnvironmentError>(())
//! ```

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

// Of other crates, what the signatures here name.
pub use beamstay_numerics::domain::OutOfRange;
pub use nalgebra;
