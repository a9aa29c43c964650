//! The scenario: everything a plan depends on, as it stands in one JSON document. Each field carries its meaning,
//! range and default here and nowhere else; the schema, the checks, `--explain` and the reference page read them.
//!
//! Every key of a number ends in its unit, in the unit of the trade (`diameter_mm`); [`crate::system`] converts to
//! SI once.

mod defaults;
mod delivery;
mod ground;
mod hazard;
mod light_loss;
mod limits;
mod operations;
mod part;
mod receiver;
mod rotor;
mod site;
mod station;
mod tether;
mod uncertainty;
mod vehicle;

pub use delivery::*;
pub use ground::*;
pub use hazard::*;
pub use light_loss::*;
pub use limits::*;
pub use operations::*;
pub(crate) use part::{Part, Parts, Target};
pub use receiver::*;
pub use rotor::*;
pub use site::*;
pub use station::*;
pub use tether::*;
pub use uncertainty::*;
pub use vehicle::*;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One plan: site, ground station, way of the power, receiver, vehicle, payload, battery and station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Where the schema of this document stands; for editors.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    pub schema: Option<String>,
    /// Name of the plan, one line.
    pub title: String,
    /// The story behind the plan.
    #[serde(default)]
    pub note: String,
    /// Where it flies: height of the ground, air or water, wind or current.
    pub site: Site,
    /// What stands on the ground: laser, chiller, drum, supply.
    #[serde(default)]
    pub ground: Ground,
    /// The way the power takes.
    pub delivery: Delivery,
    /// What turns light into electric power on board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub receiver: Option<Receiver>,
    /// What is held up there.
    pub vehicle: Vehicle,
    /// What the flight is for.
    #[serde(default)]
    pub payload: Payload,
    /// Battery on board. Without one, loss of power is loss of the aircraft.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub battery: Option<Battery>,
    /// Where the vehicle is held.
    pub station: Station,
    /// How near to the edge the plan may go.
    #[serde(default)]
    pub limits: Limits,
    /// What is done when the power from the ground is lost.
    #[serde(default)]
    pub light_loss: LightLoss,
    /// What is not known for sure; only `risk` reads it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Uncertainty>,
    /// What the hazard of the light is counted with; only where there is light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hazard: Option<Hazard>,
    /// How the flight is run over days.
    #[serde(default)]
    pub operations: Operations,
}
