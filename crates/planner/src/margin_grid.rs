//! The operating point over a grid of flow, height and payload, so that a page can answer "what if" without a program.

use rayon::prelude::*;
use serde::Serialize;
use serde_json::Value;

use crate::{
    Loaded,
    document::Document,
    error::PlanError,
    limit::{LimitCode, tightest},
    study::{Input, Study, Worker, complete},
    units::unit_of_key,
};

/// Where the speed of the flow may stand; the first that a scenario has is taken, water before air.
const FLOW: &[&str] = &[
    "/site/water/current/uniform/speed_m_s",
    "/site/water/current/surface_exponential/surface_speed_m_s",
    "/site/water/current/depth_power/surface_speed_m_s",
    "/site/wind/profile/uniform/speed_m_s",
    "/site/wind/profile/power_law/speed_m_s",
    "/site/wind/profile/logarithmic/speed_m_s",
];
const HEIGHT: &[&str] = &["/station/height_m"];
const PAYLOAD: &[&str] = &["/payload/mass_kg"];

/// The operating point over a grid, with the plan's own point on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarginGrid {
    /// Inputs that vary: flow, height, payload, as far as the scenario has them.
    pub axes: Vec<GridAxis>,
    /// Points; the last axis runs fastest.
    pub points: Vec<GridPoint>,
}

/// One input that varies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GridAxis {
    /// Which input, by JSON Pointer.
    pub pointer: &'static str,
    /// Name in words.
    pub name: &'static str,
    /// Unit.
    pub unit: &'static str,
    /// Values, in this unit, rising.
    pub values: Vec<f64>,
    /// Index of the plan's own value.
    pub plan_index: usize,
}

/// One point of a grid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GridPoint {
    /// Whether every limit holds; none where the point could not be computed.
    pub feasible: Option<bool>,
    /// Power available less demand, W; none where there is no balance.
    pub margin_w: Option<f64>,
    /// The tightest or most broken limit.
    pub binding: Option<LimitCode>,
}

impl MarginGrid {
    /// The point at one index per axis.
    pub fn at(&self, indices: &[usize]) -> Option<&GridPoint> {
        let index = self.axes.iter().zip(indices).try_fold(0, |sum, (axis, index)| {
            (*index < axis.values.len()).then_some(sum * axis.values.len() + index)
        })?;
        self.points.get(index)
    }
}

/// Computes the grid; none for a scenario without anything to vary, such as a load that stands.
///
/// # Errors
/// As [`crate::point_report`], for the plan's own point only; elsewhere a point that cannot be computed says so.
pub fn margin_grid(document: &Document, loaded: &Loaded) -> Result<Option<MarginGrid>, PlanError> {
    if document.value.pointer("/vehicle/fixed_load").is_some() {
        return Ok(None);
    }
    let axes: Vec<GridAxis> = [(FLOW, "mean wind"), (HEIGHT, "height"), (PAYLOAD, "payload")]
        .into_iter()
        .filter_map(|(pointers, name)| axis(&document.value, pointers, name))
        .collect();
    if axes.is_empty() {
        return Ok(None);
    }
    let values = complete(&loaded.scenario);
    let inputs = axes
        .iter()
        .map(|axis| Input::find(&values, axis.pointer).map_err(PlanError::Refused))
        .collect::<Result<Vec<Input>, PlanError>>()?;
    let study = Study::new(&loaded.scenario, inputs)?;
    let count = axes.iter().map(|axis| axis.values.len()).product::<usize>();
    // One worker for each row: along it only the last axis moves, the payload, and the tether hangs as it hung.
    let row = axes.last().map_or(1, |axis| axis.values.len());
    let points = (0..count / row)
        .into_par_iter()
        .flat_map_iter(|first| {
            let mut worker = study.worker();
            let axes = &axes;
            (first * row..(first + 1) * row).map(move |index| point(&mut worker, axes, index))
        })
        .collect();
    Ok(Some(MarginGrid { axes, points }))
}

fn axis(root: &Value, pointers: &[&'static str], name: &'static str) -> Option<GridAxis> {
    let (pointer, plan) = pointers.iter().find_map(|p| Some((*p, root.pointer(p)?.as_f64()?)))?;
    let name = if pointer.starts_with("/site/water") { "current" } else { name };
    let name = if plan < 0.0 { "height (negative: depth)" } else { name };
    let (values, plan_index) = around(plan);
    Some(GridAxis { pointer, name, unit: unit_of_key(pointer).unwrap_or_default(), values, plan_index })
}

/// Round values from 0 to about twice the plan's, its own among them.
fn around(plan: f64) -> (Vec<f64>, usize) {
    let size = if plan == 0.0 { 1.0 } else { plan.abs() };
    let step = round_step(size / 6.0);
    let count = (2.0 * size / step).round() as u32;
    let mut values: Vec<f64> = (0..=count).map(|i| rounded(f64::from(i) * step) * plan.signum()).collect();
    if !values.iter().any(|v| (v - plan).abs() < 1e-9 * size) {
        values.push(plan);
    }
    values.iter_mut().for_each(|v| {
        if (*v - plan).abs() < 1e-9 * size {
            *v = plan
        }
    });
    values.sort_by(f64::total_cmp);
    let plan_index = values.iter().position(|v| *v == plan).unwrap_or(0);
    (values, plan_index)
}

/// The next of 1, 2, 2.5 and 5 times a power of ten.
fn round_step(at_least: f64) -> f64 {
    let power = 10_f64.powf(at_least.log10().floor());
    let factor = [1.0, 2.0, 2.5, 5.0].into_iter().find(|f| f * power >= 0.999 * at_least).unwrap_or(10.0);
    factor * power
}

/// Without the last binary digits, so that 0.1 + 0.2 is shown and computed as 0.3.
fn rounded(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

fn point(worker: &mut Worker<'_>, axes: &[GridAxis], mut index: usize) -> GridPoint {
    let mut values = vec![0.0; axes.len()];
    for (value, axis) in values.iter_mut().zip(axes).rev() {
        *value = axis.values[index % axis.values.len()];
        index /= axis.values.len();
    }
    match worker.evaluate(&values) {
        Ok(point) => GridPoint {
            feasible: Some(point.feasible),
            margin_w: point.margin_w,
            binding: tightest(&point.limits).map(|row| row.code),
        },
        Err(_) => GridPoint { feasible: None, margin_w: None, binding: None },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_round_and_hold_the_plan() {
        let (values, index) = around(8.0);
        assert_eq!(values, [0.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]);
        assert_eq!(index, 4);
        let (values, index) = around(0.9);
        assert_eq!((values[index], values.len()), (0.9, 11));
        assert!(values.windows(2).all(|pair| pair[0] < pair[1]));
        let (values, index) = around(-35.0);
        assert_eq!((values[index], values[0]), (-35.0, -70.0));
        let (values, index) = around(0.0);
        assert_eq!((values[index], index), (0.0, 0));
        assert!(values.len() > 5);
    }

    #[test]
    fn the_plan_itself_is_a_point_of_its_grid() {
        let text = include_str!("../../../scenarios/breakwater-lookout.json");
        let document = Document::parse(text).unwrap();
        let loaded = crate::load(&document).unwrap();
        let report = crate::point_report(&document, &loaded).unwrap();
        let grid = margin_grid(&document, &loaded).unwrap().unwrap();
        let indices: Vec<usize> = grid.axes.iter().map(|axis| axis.plan_index).collect();
        let point = grid.at(&indices).unwrap();
        let (found, plan) = (point.margin_w.unwrap(), report.point.margin_w.unwrap());
        // The worker starts the tether from a neighbour: the last digits differ.
        assert!((found - plan).abs() < 1e-5 * plan.abs(), "{found} {plan}");
        assert_eq!(point.feasible, Some(report.point.feasible));
        assert!(grid.points.iter().any(|p| p.feasible == Some(false)));
        assert_eq!(grid.at(&[99, 0, 0]), None);
    }
}
