//! What every study of a scenario stands on: numbers of the scenario that may be changed ([`Input`]), numbers that come
//! out ([`Output`]), and a [`Worker`] that computes one from the other quickly and over and over.

mod input;
mod measure;
mod output;
mod worker;

use serde::Serialize;
use serde_json::Value;

pub use input::{Input, Span};
pub use measure::{NOTHING_COMPUTED, Standing, squash, standing, standing_of};
pub(crate) use measure::{binding_rows, tightest_level};
pub use output::{Output, Quantity, outputs};
pub use worker::Worker;

use crate::{Loaded, Scenario, digest::digest, document::Document, error::PlanError};

/// Told how far the work has come: what is done, and of how much. Called from several threads.
pub type Watch<'a> = &'a (dyn Fn(u64, u64) + Sync);

/// Which scenario and which program a result comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Provenance {
    /// Title of the scenario.
    pub title: String,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

impl Provenance {
    /// Of a scenario as it was read.
    pub fn of(document: &Document, loaded: &Loaded) -> Self {
        Self {
            title: loaded.scenario.title.clone(),
            digest: digest(&document.value),
            version: env!("CARGO_PKG_VERSION"),
        }
    }
}

/// A scenario and the inputs that a study changes.
///
/// # Examples
/// ```
/// use beamstay_planner::{Document, load, study::{Input, Study, complete}};
/// let text = include_str!("../../../scenarios/breakwater-lookout.json");
/// let document = Document::parse(text).unwrap();
/// let loaded = load(&document).unwrap();
/// let payload = Input::find(&complete(&loaded.scenario), "/payload/mass_kg").unwrap();
/// let study = Study::new(&loaded.scenario, vec![payload]).unwrap();
/// let mut worker = study.worker();
/// assert!(worker.evaluate(&[0.9]).unwrap().feasible);
/// assert!(!worker.evaluate(&[3.0]).unwrap().feasible);
/// ```
#[derive(Debug, Clone)]
pub struct Study {
    scenario: Scenario,
    value: Value,
    inputs: Vec<Input>,
}

impl Study {
    /// A study of a scenario over inputs found in [`complete`] of it.
    ///
    /// # Errors
    /// [`PlanError::Refused`] if parts of the scenario do not go together, or an input stands there twice.
    pub fn new(scenario: &Scenario, inputs: Vec<Input>) -> Result<Self, PlanError> {
        for (index, input) in inputs.iter().enumerate() {
            if inputs[..index].iter().any(|earlier| earlier.pointer == input.pointer) {
                return Err(PlanError::excludes(
                    &input.pointer,
                    "one range of an input",
                    "another of the same",
                ));
            }
        }
        let study = Self { scenario: scenario.clone(), value: complete(scenario), inputs };
        let system = crate::System::new(scenario)?;
        system.place(&scenario.station)?;
        Ok(study)
    }

    /// The inputs that are changed, in the order in which their values are given.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// The scenario that is changed.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// A worker. Results of one worker depend in their last digits on what it computed before: give each piece of the work
    /// its own, cut the same whatever the number of threads.
    pub fn worker(&self) -> Worker<'_> {
        Worker::new(self)
    }

    pub(crate) fn value(&self) -> &Value {
        &self.value
    }
}

/// A scenario as a tree of values with every default written out.
pub fn complete(scenario: &Scenario) -> Value {
    // A scenario holds no map with keys that are not text, so that this cannot fail; an empty tree has no inputs.
    serde_json::to_value(scenario).unwrap_or(Value::Null)
}
