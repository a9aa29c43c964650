//! One scenario computed over and over with a few of its numbers changed.

use beamstay_tether::Shape;
use serde::Deserialize;
use serde_json::{Number, Value};

use super::{Input, Study};
use crate::{
    Scenario,
    document::set_value,
    error::PlanError,
    from_value,
    operate::Hanging,
    point::OperatingPoint,
    scenario::{Payload, Station, Winch},
    system::{Place, System},
};

/// Hanging tethers kept: a step of a search and its neighbours come back to the same places.
const KEPT_COUNT: usize = 32;

/// Computes points of a [`Study`] one after the other and keeps what the next one can use: models that did not change, and
/// tethers that hang already. Only site, line, winch and place move a tether.
#[derive(Debug, Clone)]
pub struct Worker<'a> {
    study: &'a Study,
    value: Value,
    at: Vec<Option<f64>>,
    scenario: Scenario,
    /// Models of the scenario; none if they could not be built.
    system: Option<System>,
    kept: Vec<(Place, Hanging)>,
    next_kept: usize,
    /// Length paid out over the distance, less one, that takes the place of what the winch holds.
    slack_ratio: Option<f64>,
    /// Whether what reaches the ground lies on it where the plan does not let it.
    in_full: bool,
    /// A shape of before the last change of the line or the flow.
    warm: Option<Box<Shape>>,
}

/// How far a change reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Reach {
    Nothing,
    Station,
    Payload,
    Models,
}

impl<'a> Worker<'a> {
    pub(super) fn new(study: &'a Study) -> Self {
        Self {
            study,
            value: study.value().clone(),
            at: study.inputs().iter().map(|input| input.value).collect(),
            scenario: study.scenario().clone(),
            system: System::new(study.scenario()).ok(),
            kept: Vec::with_capacity(KEPT_COUNT),
            next_kept: 0,
            slack_ratio: None,
            in_full: false,
            warm: None,
        }
    }

    /// The operating point with the inputs of the study at `values`.
    ///
    /// # Errors
    /// [`PlanError::Refused`] for a value that the scenario or a model does not take, [`PlanError::NotConverged`]. A plan
    /// that does not close is not an error.
    /// Values that are missing stay as they were; values too many are passed over.
    pub fn evaluate(&mut self, values: &[f64]) -> Result<OperatingPoint, PlanError> {
        self.set(values)?;
        self.operate()
    }

    /// Puts a length paid out in the place of what the winch holds: that much longer than the distance. Unlike a drum
    /// tension, every length hangs.
    pub(crate) fn hold_slack(&mut self, slack_ratio: Option<f64>) {
        self.slack_ratio = slack_ratio;
    }

    /// Lays what reaches the ground on it where the plan does not let it lie either, for points that are shown.
    pub(crate) fn in_full(mut self) -> Self {
        self.in_full = true;
        self
    }

    /// The models with the inputs as they were set last.
    pub fn system(&self) -> Option<&System> {
        self.system.as_ref()
    }

    /// The scenario with the inputs as they were set last.
    pub fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    fn operate(&mut self) -> Result<OperatingPoint, PlanError> {
        let Some(system) = &self.system else { return Err(self.refusal()) };
        let mut place = system.place(&self.scenario.station)?;
        if let (Some(slack_ratio), Some(_)) = (self.slack_ratio, place.winch) {
            let paid_out_m = place.position_m.norm() * (1.0 + slack_ratio);
            place.winch = Some(Winch::PaidOut { paid_out_m });
        }
        if let Some((_, hanging)) = self.kept.iter().find(|(kept, _)| *kept == place) {
            return system.operate_on(&place, hanging);
        }
        let nearest = self.nearest(&place);
        let hang = |warm| match self.in_full {
            true => system.hang(&place, warm),
            false => system.hang_for_search(&place, warm),
        };
        let hanging = match hang(nearest) {
            // A neighbour can lead astray; without one the solver starts from its own guess.
            Err(PlanError::NotConverged { .. }) if nearest.is_some() => hang(None)?,
            other => other?,
        };
        let point = system.operate_on(&place, &hanging);
        if self.kept.len() < KEPT_COUNT {
            self.kept.push((place, hanging));
        } else {
            self.kept[self.next_kept] = (place, hanging);
        }
        self.next_kept = (self.next_kept + 1) % KEPT_COUNT;
        point
    }

    /// Shape of the kept place that is nearest.
    fn nearest(&self, place: &Place) -> Option<&Shape> {
        let distance = |kept: &Place| (kept.position_m - place.position_m).norm_squared();
        self.kept
            .iter()
            .filter_map(|(kept, hanging)| hanging.tethers().map(|tethers| (distance(kept), &tethers.mean)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, shape)| shape.as_ref())
            .or(self.warm.as_deref())
    }

    fn set(&mut self, values: &[f64]) -> Result<(), PlanError> {
        let mut reach = Reach::Nothing;
        let study = self.study;
        for (input, value) in study.inputs().iter().zip(values) {
            input.check(*value).map_err(PlanError::Refused)?;
        }
        for (index, (input, value)) in study.inputs().iter().zip(values).enumerate() {
            if self.at[index] != Some(*value) {
                self.write(input, *value);
                self.at[index] = Some(*value);
                reach = reach.max(reach_of(&input.pointer));
            }
        }
        match reach {
            Reach::Nothing => {}
            Reach::Station => self.read_station(),
            Reach::Payload => {
                self.read_station();
                self.read_payload();
            }
            Reach::Models => self.read_all(),
        }
        Ok(())
    }

    fn write(&mut self, input: &Input, value: f64) {
        let number = if input.whole {
            Value::from(value.round() as i64)
        } else {
            Number::from_f64(value).map_or(Value::Null, Value::Number)
        };
        match self.value.pointer_mut(&input.pointer) {
            Some(place) => *place = number,
            None => {
                // An optional number that was left out; the object around it was found when the input was.
                let _ = set_value(&mut self.value, &input.pointer, number);
            }
        }
    }

    fn read_station(&mut self) {
        if let Ok(station) = Station::deserialize(&self.value["station"]) {
            self.scenario.station = station;
        }
    }

    fn read_payload(&mut self) {
        if let Ok(payload) = Payload::deserialize(&self.value["payload"]) {
            self.scenario.payload = payload;
        }
        if let Some(system) = &mut self.system {
            system.load(&self.scenario.payload);
        }
    }

    fn read_all(&mut self) {
        let read = Scenario::deserialize(&self.value).ok();
        let system = read.as_ref().and_then(|scenario| System::new(scenario).ok());
        let same_line = match (&self.system, &system) {
            (Some(old), Some(new)) => old.hangs_like(new),
            _ => false,
        };
        if !same_line {
            self.warm = self
                .kept
                .drain(..)
                .rev()
                .find_map(|(_, hanging)| match hanging {
                    Hanging::Free(tethers) => Some(tethers.mean),
                    Hanging::Without | Hanging::Broken(_) => None,
                })
                .or_else(|| self.warm.take());
            self.next_kept = 0;
        }
        self.scenario = read.unwrap_or_else(|| self.scenario.clone());
        self.system = system;
    }

    /// Why the models could not be built.
    fn refusal(&self) -> PlanError {
        match from_value(&self.value) {
            Err(fault) => PlanError::Refused(fault),
            Ok(scenario) => match System::new(&scenario) {
                Err(error) => error,
                Ok(_) => PlanError::NotConverged { stage: "models", detail: String::new() },
            },
        }
    }
}

fn reach_of(pointer: &str) -> Reach {
    if pointer.starts_with("/station/") {
        Reach::Station
    } else if pointer.starts_with("/payload/") {
        Reach::Payload
    } else {
        Reach::Models
    }
}
