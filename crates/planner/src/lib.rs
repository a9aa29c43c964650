//! A scenario in; the coupled operating point, its limits and what to change out. Reads no file, clock or terminal.

mod caution;
pub mod compare;
pub mod curve;
pub mod diagnostic;
pub mod digest;
pub mod document;
pub mod effect;
pub mod endurance;
mod error;
pub mod formula;
pub mod hang;
pub mod hazard;
mod ledger;
pub mod lever;
pub mod light_detail;
pub mod lightloss;
pub mod limit;
mod limit_words;
pub mod margin_grid;
mod nearest;
mod operate;
pub mod optimise;
pub mod point;
pub mod receiver;
pub mod region;
pub mod remedy;
mod report;
pub mod risk;
pub mod rotors;
pub mod scenario;
pub mod schema;
pub mod search;
pub mod study;
pub mod sweep;
pub mod system;
pub mod tether_detail;
mod tree;
pub mod units;
pub mod winds;

use serde_json::Value;

pub use beamstay_environment::WeatherSeries;
pub use caution::cautions;
pub use curve::{TetherCurve, tether_curves};
pub use diagnostic::{Conflict, Diagnostic, Fault};
pub use document::Document;
pub use endurance::{EnduranceReport, endurance_report};
pub use error::PlanError;
pub use hazard::{HazardStudy, hazard_study};
pub use lightloss::{LightLossReport, light_loss_report};
pub use limit_words::Words;
pub use operate::{Hanging, Solved, Tethers};
pub use point::OperatingPoint;
pub use report::{PointReport, point_report};
pub use scenario::Scenario;
pub use schema::DefaultUsed;
pub use system::{Place, System};

/// A scenario that passed every check, and the defaults it left to the program.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The scenario.
    pub scenario: Scenario,
    /// The defaults taken.
    pub defaults: Vec<DefaultUsed>,
}

/// Reads a scenario from a document.
///
/// # Errors
/// Every fault found, in the order of the text.
pub fn load(document: &Document) -> Result<Loaded, Vec<Diagnostic>> {
    let checked = schema::check(document);
    if !checked.faults.is_empty() {
        return Err(checked.faults);
    }
    let scenario = from_value(&document.value).map_err(|fault| vec![*fault])?;
    risk::uncertain_numbers(&scenario)
        .map_err(|faults| placed(document, risk::left_without_place(document, &scenario, faults)))?;
    Ok(Loaded { scenario, defaults: checked.defaults })
}

/// Faults with their places in the text.
fn placed(document: &Document, mut faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    faults.iter_mut().for_each(|fault| fault.span = document.span(&fault.pointer));
    faults
}

/// Reads a scenario from a tree of values that has passed [`schema::check`] before; for sweeps.
///
/// # Errors
/// The first fault of type or key; ranges are not looked at.
pub fn from_value(value: &Value) -> Result<Scenario, Box<Diagnostic>> {
    serde_path_to_error::deserialize(value).map_err(|error| {
        let pointer = error.path().iter().map(|step| format!("/{step}")).collect::<String>();
        let fault = Fault::Model { detail: error.into_inner().to_string() };
        Box::new(Diagnostic::new(pointer, fault))
    })
}
