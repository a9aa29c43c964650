//! The inputs of a scenario that a remedy may change: every number in it, defaults too.

use serde::Serialize;
use serde_json::Value;

use crate::{
    Scenario,
    document::escape,
    study::{Input, complete},
};

/// Who decides an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Group {
    /// The designer: ground station, delivery, receiver, vehicle, payload, battery.
    Design,
    /// The pilot: where the vehicle stands and what the winch holds.
    Station,
    /// Nobody: the site.
    Site,
    /// The planner's own caution. To relax it makes no plan safer.
    Allowance,
}

/// An input of the scenario that may be changed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// Where it stands.
    pub pointer: String,
    /// Its unit, empty for a pure number.
    pub unit: String,
    /// Who decides it.
    pub group: Group,
    /// Its present value.
    pub from: f64,
    /// What a change is measured by, in its unit; 0 where there is nothing to measure by.
    #[serde(skip)]
    pub(crate) measure: f64,
    /// The input itself.
    #[serde(skip)]
    pub(crate) input: Input,
}

impl Lever {
    /// Change to `value` over what it is measured by.
    pub fn change_ratio(&self, value: f64) -> Option<f64> {
        (self.measure > 0.0).then(|| (value - self.from) / self.measure)
    }
}

/// Every number of a scenario, in its order.
pub fn levers(scenario: &Scenario) -> Vec<Lever> {
    let values = complete(scenario);
    let mut pointers = Vec::new();
    numbers(&values, String::new(), &mut pointers);
    let height_m = scenario.station.height_m.abs();
    pointers
        .into_iter()
        .filter_map(|pointer| {
            let input = Input::find(&values, &pointer).ok()?;
            let from = input.value?;
            let measure = measure(&input, from, height_m);
            let (unit, group) = (input.unit.clone(), group(&pointer));
            Some(Lever { pointer, unit, group, from, measure, input })
        })
        .collect()
}

fn numbers(value: &Value, pointer: String, found: &mut Vec<String>) {
    match value {
        Value::Object(object) => {
            for (key, inner) in object {
                numbers(inner, format!("{pointer}/{}", escape(key)), found);
            }
        }
        Value::Array(array) => {
            for (index, inner) in array.iter().enumerate() {
                numbers(inner, format!("{pointer}/{index}"), found);
            }
        }
        Value::Number(_) => found.push(pointer),
        _ => {}
    }
}

/// A temperature is measured from absolute zero, an offset of the station against the height where that is more.
fn measure(input: &Input, from: f64, height_m: f64) -> f64 {
    match input.pointer.as_str() {
        "/station/downwind_m" | "/station/crosswind_m" => from.abs().max(height_m),
        _ if input.unit == "°C" => from + beamstay_numerics::constants::ZERO_CELSIUS_K,
        _ => from.abs(),
    }
}

fn group(pointer: &str) -> Group {
    match pointer.split('/').nth(1) {
        Some("site") => Group::Site,
        Some("station") => Group::Station,
        Some("limits") => Group::Allowance,
        _ => Group::Design,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Document, load};

    #[test]
    fn a_change_is_told_over_what_it_is_measured_by_or_not_at_all() {
        let text = include_str!("../../../../scenarios/breakwater-lookout.json");
        let scenario = load(&Document::parse(text).unwrap()).unwrap().scenario;
        let levers = levers(&scenario);
        let of = |pointer: &str| levers.iter().find(|lever| lever.pointer == pointer).unwrap();
        // Twice the payload; 50 m across the wind, half the height; nothing is a share of none.
        let payload = of("/payload/mass_kg");
        assert!((payload.change_ratio(2.0 * payload.from).unwrap() - 1.0).abs() < 1e-12);
        assert!((of("/station/crosswind_m").change_ratio(-50.0).unwrap() + 0.5).abs() < 1e-12);
        let offset = of("/site/temperature_offset_k");
        assert_eq!((offset.from, offset.change_ratio(1.0)), (0.0, None));
    }
}
