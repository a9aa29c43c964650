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
