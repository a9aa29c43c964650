//! Wires, batteries, converters and ground supplies in; currents, voltages, losses, masses and endurance out.
//!
//! Every model stands alone and knows nothing of the others' neighbours: powers in watts and temperatures in kelvin
//! come in as plain numbers. Formulas, sources and weaknesses are listed in `docs/models/electrical.md`.
//!
//! # Examples
//! 600 W to an aircraft over 100 m of copper pair at 400 V in a light wind, and how long a battery lasts when the line fails:
//! ```
//! use beamstay_electrical::{
//!     Battery, BatterySpec, Conductor, Cooling, Line, LineSurroundings, Metal, Plastic, Wall,
//! };
//!
//! let wire = Conductor::gauge(Metal::COPPER, 24)?;
//! let line = Line::new(wire, Wall::new(Plastic::ETFE, 0.25e-3)?, 100.0, 400.0)?;
//! let air = LineSurroundings::all_paid_out(Cooling::in_wind(293.15, 2.0)?);
//! let work = *line.operate(600.0, &air)?.served().ok_or("the line does not carry it")?;
//! assert!((work.source_w - work.load_w - work.loss_w()).abs() < 1e-9 && work.insulation_holds);
//! assert!(work.loss_w() > 30.0 && work.loss_w() < 50.0);
//!
//! let battery = Battery::new(BatterySpec::polymer(100.0 * 3600.0, 12))?;
//! let usable_j = battery.stored_j(1.0) - battery.stored_j(battery.spec().floor_ratio);
//! assert!(battery.discharge_limit(1.0, 600.0).is_none() && usable_j > 70.0 * 3600.0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod battery;
pub mod chiller;
pub mod conductor;
pub mod converter;
pub mod cooling;
pub mod drum;
pub mod endurance;
mod error;
pub mod generator;
pub mod insulation;
pub mod line;
pub mod load;
pub mod optimum;
pub mod supply;

pub use battery::{Battery, BatteryLimit, BatterySpec, BatteryStep, Discharge, OpenCircuitCurve};
pub use chiller::{Chiller, CoefficientOfPerformance};
pub use conductor::{Conductor, ConductorClass, Metal, Stranding};
pub use converter::{Converter, ConverterSpec};
pub use cooling::{Convection, Cooling};
pub use drum::{DeratingTable, Winding};
pub use error::ElectricalError;
pub use generator::Generator;
pub use insulation::{Plastic, Wall, WallRule};
pub use line::{CopperDelivery, DeliveryOperation, Line, LineOperation, LineSurroundings, Outcome};
pub use load::{ConstantPowerLoad, LoadPoint};
pub use optimum::{
    AreaChoice, AreaLimits, BindingConstraint, LineDemand, PricedOptimum, SelfLift, VoltageOptimum,
};
pub use supply::{GroundLoad, GroundSupply, WallPower};

// Of other crates, what the signatures here name.
pub use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};
