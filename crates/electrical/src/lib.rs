//! Wires, batteries, converters and ground supplies in; currents, voltages, losses, masses and endurance out.
//!
//! Every model stands alone and knows nothing of the others' neighbours: powers in watts and temperatures in kelvin
//! come in as plain numbers. Formulas, sources and weaknesses are listed in `docs/models/electrical.md`.

pub mod battery;
pub mod chiller;
pub mod conductor;
pub mod converter;
pub mod cooling;
pub mod drum;
mod error;
pub mod insulation;
pub mod line;
pub mod load;
pub mod optimum;

pub use battery::{Battery, BatteryLimit, BatterySpec, BatteryStep, Discharge, OpenCircuitCurve};
pub use chiller::{Chiller, CoefficientOfPerformance};
pub use conductor::{Conductor, ConductorClass, Metal, Stranding};
pub use converter::{Converter, ConverterSpec};
pub use cooling::{Convection, Cooling};
pub use drum::{DeratingTable, Winding};
pub use error::ElectricalError;
pub use insulation::{Plastic, Wall, WallRule};
pub use line::{CopperDelivery, DeliveryOperation, Line, LineOperation, LineSurroundings, Outcome};
pub use load::{ConstantPowerLoad, LoadPoint};
pub use optimum::{AreaChoice, AreaLimits, BindingConstraint, LineDemand, VoltageOptimum};
