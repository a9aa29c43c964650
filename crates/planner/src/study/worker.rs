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
    hang::Touch,
    operate::{Hanging, Tethers},
    point::OperatingPoint,
    scenario::{Parts, Target, Winch},
    system::{Place, System},
    tree::Route,
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
    /// Where each input stands in the tree, and what to read again after it changed; none for what stands nowhere yet or in no
    /// part.
    routes: Vec<Option<Route>>,
    targets: Vec<Option<Target>>,
    scenario: Scenario,
    /// Models of the scenario; none if they could not be built.
    system: Option<System>,
    kept: Vec<(Place, Hanging)>,
    next_kept: usize,
    /// Length paid out over the distance, less one, that takes the place of what the winch holds.
    slack_ratio: Option<f64>,
    /// Whether what reaches the ground lies on it where the plan does not let it.
    in_full: bool,
    /// What hung before the last change of the line or the flow.
    before: Option<Box<Tethers>>,
}

impl<'a> Worker<'a> {
    pub(super) fn new(study: &'a Study) -> Self {
        let pointers = || study.inputs().iter().map(|input| input.pointer.as_str());
        Self {
            study,
            value: study.value().clone(),
            routes: pointers().map(|pointer| Route::find(study.value(), pointer)).collect(),
            targets: pointers().map(|pointer| study.scenario().target(study.value(), pointer)).collect(),
            at: study.inputs().iter().map(|input| input.value).collect(),
            scenario: study.scenario().clone(),
            system: System::new(study.scenario()).ok(),
            kept: Vec::with_capacity(KEPT_COUNT),
            next_kept: 0,
            slack_ratio: None,
            in_full: false,
            before: None,
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
        let hang = |warm| match self.in_full {
            true => system.hang(&place, warm),
            false => system.hang_for_search(&place, warm),
        };
        let touch = if self.in_full { Touch::LiesOrThrough } else { Touch::Through };
        let (nearest, before) = (self.nearest(&place), self.before.as_deref());
        let near = match (nearest, before) {
            (None, Some(before)) => system.hang_after(&place, touch, before),
            _ => hang(nearest),
        };
        let hanging = match near {
            // A neighbour can lead astray; without one the solver starts from its own guess.
            Err(PlanError::NotConverged { .. }) if nearest.is_some() || before.is_some() => hang(None)?,
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
    }

    fn set(&mut self, values: &[f64]) -> Result<(), PlanError> {
        let study = self.study;
        for (input, value) in study.inputs().iter().zip(values) {
            input.check(*value).map_err(PlanError::Refused)?;
        }
        let (mut parts, mut read) = (Parts::default(), true);
        let mut changed = Vec::with_capacity(values.len());
        for (index, (input, value)) in study.inputs().iter().zip(values).enumerate() {
            if self.at[index] != Some(*value) {
                self.write(index, input, *value);
                self.at[index] = Some(*value);
                changed.push(index);
            }
        }
        for (nth, index) in changed.iter().enumerate() {
            let target = &self.targets[*index];
            // What two inputs stand in is read once.
            if changed[..nth].iter().any(|before| self.targets[*before] == *target) {
                continue;
            }
            let part = target.as_ref().and_then(|target| self.scenario.read_again(&self.value, target));
            match part {
                Some(part) => parts = parts.with(part),
                None => read = false,
            }
        }
        if !read || (self.system.is_none() && !parts.is_empty()) {
            self.read_all();
        } else if !parts.is_empty() {
            self.renew(parts);
        }
        Ok(())
    }

    /// Builds what stands on the parts that were read again.
    fn renew(&mut self, parts: Parts) {
        match self.system.as_mut().map(|system| system.renew(&self.scenario, parts)) {
            Some(Ok(true)) => {}
            Some(Ok(false)) => self.let_go(),
            Some(Err(_)) | None => {
                self.let_go();
                self.system = None;
            }
        }
    }

    fn write(&mut self, index: usize, input: &Input, value: f64) {
        let number = if input.whole {
            Value::from(value.round() as i64)
        } else {
            Number::from_f64(value).map_or(Value::Null, Value::Number)
        };
        match self.routes[index].as_ref().and_then(|route| route.at_mut(&mut self.value)) {
            Some(place) => *place = number,
            None => {
                // An optional number that was left out; the object around it was found when the input was.
                let _ = set_value(&mut self.value, &input.pointer, number);
            }
        }
    }

    fn read_all(&mut self) {
        if let Ok(scenario) = Scenario::deserialize(&self.value) {
            self.system = System::new(&scenario).ok();
            self.scenario = scenario;
        } else {
            self.system = None;
        }
        self.let_go();
    }

    /// Lets the tethers go that hang in another flow or on another line; those of one place are kept to start from.
    fn let_go(&mut self) {
        self.before = self
            .kept
            .drain(..)
            .rev()
            .find_map(|(_, hanging)| hanging.into_tethers())
            .or_else(|| self.before.take());
        self.next_kept = 0;
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, load, remedy::scenario_inputs, study::complete};

    const SCENARIOS: [&str; 5] = [
        include_str!("../../../../scenarios/breakwater-lookout.json"),
        include_str!("../../../../scenarios/free-beam-loiter.json"),
        include_str!("../../../../scenarios/quarry-watch.json"),
        include_str!("../../../../scenarios/ridge-relay.json"),
        include_str!("../../../../scenarios/reservoir-inspector.json"),
    ];

    /// Every number of a scenario moved, by itself and with those before it: the models renewed part by part are those that
    /// are built from the beginning.
    #[test]
    fn models_renewed_by_parts_are_those_built_anew() {
        for text in SCENARIOS {
            let document = Document::parse(text).unwrap();
            let scenario = Scenario { uncertainty: None, ..load(&document).unwrap().scenario };
            let inputs: Vec<Input> = scenario_inputs(&scenario).into_iter().filter(|i| !i.whole).collect();
            assert!(inputs.len() > 40);
            let study = Study::new(&scenario, inputs.clone()).unwrap();
            let mut worker = study.worker();
            let mut values: Vec<f64> = inputs.iter().map(|input| input.value.unwrap()).collect();
            let mut expected = complete(&scenario);
            for (place, input) in inputs.iter().enumerate() {
                let moved = 1.001 * values[place] + if values[place] == 0.0 { 1e-3 } else { 0.0 };
                if input.check(moved).is_err() {
                    continue;
                }
                values[place] = moved;
                *expected.pointer_mut(&input.pointer).unwrap() = moved.into();
                worker.set(&values).unwrap();
                let scenario = from_value(&expected).unwrap();
                assert_eq!(worker.scenario(), &scenario, "{}", input.pointer);
                let (built, renewed) = (System::new(&scenario).ok(), worker.system());
                assert_eq!(format!("{built:?}"), format!("{:?}", renewed.cloned()), "{}", input.pointer);
            }
        }
    }
}
