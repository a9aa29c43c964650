//! The models under test, by area: each area turns a model name and its inputs into one number.

use serde_json::Value;

mod electrical;
mod environment;
mod hazard;
mod optics_path;
mod planner;
mod receiver;
pub(crate) mod rotor;
mod sampling;
pub mod tether;
mod tether_closed;
mod tether_section;
mod vehicle;

/// What our model says for `model` with `inputs`; `None` if no area knows the model or an input is missing.
pub fn compute(model: &str, inputs: &Value) -> Option<f64> {
    let (area, rest) = model.split_once('.')?;
    match area {
        "electrical" => electrical::compute(rest, inputs),
        "environment" => environment::compute(rest, inputs),
        "hazard" => hazard::compute(rest, inputs),
        "optics_path" => optics_path::compute(rest, inputs),
        "planner" => planner::compute(rest, inputs),
        "receiver" => receiver::compute(rest, inputs),
        "rotor" => rotor::compute(rest, inputs),
        "sampling" => sampling::compute(rest, inputs),
        "tether" => tether::compute(rest, inputs),
        "tether_closed" => tether_closed::compute(rest, inputs),
        "tether_section" => tether_section::compute(rest, inputs),
        "vehicle" => vehicle::compute(rest, inputs),
        _ => None,
    }
}

/// The input `key` as a number.
pub fn number(inputs: &Value, key: &str) -> Option<f64> {
    inputs.get(key)?.as_f64()
}
