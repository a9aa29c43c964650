//! Laser to electrical bus, through fiber or free air, with its heat and its hazard.
//!
//! # Examples
//! 600 W of light at 808 nm through 250 m of fiber of 3 dB/km, 100 m of it on the drum, onto a receiver of 24 cells:
//! ```
//! use beamstay_optics::{
//!     electrical::Converter,
//!     environment::Atmosphere,
//!     fiber::{Attenuation, CoreProfile, Fiber, FiberParts, FiberPath, FiberRun},
//!     launch::{Facet, Launch, Source},
//!     receiver::{Cell, CellSpec, Draw, FinSink, FinSinkSpec, Receiver, ReceiverSpec},
//! };
//!
//! let path = FiberPath::new(FiberParts {
//!     launch: Launch { source: Source::Measured { coupling_ratio: 0.9 }, facet: Facet::Bare },
//!     ground_connections: vec![],
//!     fiber: Fiber {
//!         core_diameter_m: 400e-6,
//!         cladding_diameter_m: 440e-6,
//!         numerical_aperture: 0.22,
//!         profile: CoreProfile::Step,
//!         attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 },
//!         coating_temp_limit_k: 358.15,
//!     },
//!     aircraft_connections: vec![],
//!     output_facet: Facet::Bare,
//! })?;
//! let run = FiberRun { wavelength_m: 808e-9, total_length_m: 250.0, wound_length_m: 100.0, bend_radius_m: None };
//! let arriving_w = path.itemise(600.0, &run)?.arriving_w;
//! // 0.9 of the light is matched, each bare facet passes 0.9658742, the fiber 10^−0.075
//! assert!((arriving_w - 600.0 * 0.9 * 0.9658742_f64.powi(2) * 10_f64.powf(-0.075)).abs() < 1e-3);
//!
//! let receiver = Receiver::new(ReceiverSpec {
//!     cell: Cell::new(CellSpec::gallium_arsenide(2e-4))?,
//!     series_count: 24,
//!     parallel_count: 1,
//!     shares: None,
//!     reflection_ratio: 0.03,
//!     sink: FinSink::new(FinSinkSpec::aluminium(0.20, 0.16, 0.025))?,
//!     junction_to_sink_k_per_w: 0.02,
//!     tracking_efficiency_ratio: 0.99,
//!     converter: Converter::ideal(),
//!     optics_kg: 0.05,
//!     housing_kg: 0.10,
//! })?;
//! let wake = receiver.spec().sink.cooled_by(&Atmosphere::new(0.0, 0.0)?.at(0.0), 8.0)?;
//! let work = receiver.operate(arriving_w, run.wavelength_m, &wake, Draw::MaximumPower)?;
//! let out_w = work.reflected_w + work.cell_heat_w + work.converter_loss_w + work.bus_w;
//! assert!((out_w - arriving_w).abs() < 1e-9 && work.bus_w > 0.5 * arriving_w);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

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

// Of other crates, what the signatures here name.
pub use beamstay_electrical as electrical;
pub use beamstay_environment as environment;
pub use beamstay_numerics::{domain::OutOfRange, root::RootError};
