//! One column of a map: its scenario, its cells and its boundary.

use serde_json::Value;

use super::{
    BoundaryPoint, RegionCell, RegionQuestion, column,
    follow::{End, extreme, inner},
    loaded::Loaded,
};
use crate::{
    System,
    error::PlanError,
    limit::LimitCode,
    scenario::Scenario,
    search::{Counter, DOWNWIND, Free, Goal, PAYLOAD, Sense, TENSION, Target},
    study::{Output, Quantity, Span, Study, complete},
};

/// Share of the axis beyond the boundary at which it is read what binds.
const BEYOND: f64 = 1e-3;

pub(super) struct Column {
    pub cells: Vec<RegionCell>,
    pub boundary: Vec<BoundaryPoint>,
}

/// Maps one column: the scenario with `x` and the layer set.
pub(super) struct Mapper<'a> {
    scenario: Scenario,
    y: Span,
    station: &'a [Span],
    x: f64,
    counter: &'a Counter,
}

impl<'a> Mapper<'a> {
    pub(super) fn new(
        scenario: &Scenario,
        question: &RegionQuestion,
        station: &'a [Span],
        (x, layer): (f64, f64),
        counter: &'a Counter,
    ) -> Result<Self, PlanError> {
        let mut value = complete(scenario);
        for (input, number) in [(&question.x.input, x), (&question.layers.input, layer)] {
            let number = if input.whole { Value::from(number.round() as i64) } else { Value::from(number) };
            crate::document::set_value(&mut value, &input.pointer, number).map_err(PlanError::Refused)?;
        }
        let scenario = crate::from_value(&value).map_err(PlanError::Refused)?;
        Ok(Self { scenario, y: question.y.clone(), station, x, counter })
    }

    pub(super) fn map(&self, values: &[f64]) -> Result<Column, PlanError> {
        let system = System::new(&self.scenario)?;
        let lo = values.iter().copied().fold(f64::INFINITY, f64::min);
        let hi = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let y_span = Span { lo, hi, ..self.y.clone() };
        let spans = std::iter::once(y_span).chain(self.station.iter().cloned());
        let free: Vec<Free> = spans.map(|span| Free::new(span, &system)).collect();
        let study = Study::new(&self.scenario, free.iter().map(|f| f.span.input.clone()).collect())?;
        let margin = Goal { sense: Sense::Max, quantity: Quantity::Output(margin_output()?), times: None };
        let mut target = Target::new(&study, &free, &margin).counted(self.counter);
        let units: Vec<f64> = values.iter().map(|y| free[0].unit(*y).unwrap_or(0.0)).collect();
        let most = self.goal(Sense::Max);
        let mut climber = Target::new(&study, &free, &most).counted(self.counter);
        let hung = if self.hangs_once() { Loaded::hang(system, &self.scenario.station, &free) } else { None };
        let chosen =
            hung.and_then(|mut loaded| column::chosen(&mut loaded, &mut target, &mut climber, &units));
        let (ends, tops) = chosen.unwrap_or_else(|| inner(&mut target, &mut climber, &units));
        let cells = ends.iter().map(|end| self.cell(&mut target, end)).collect();
        let boundary = self.boundary(&study, &free, &units, &ends, &tops);
        Ok(Column { cells, boundary })
    }

    /// Whether the tether of a station hangs the same all along the column, and is chosen by offset and drum tension.
    fn hangs_once(&self) -> bool {
        let pointers: Vec<&str> = self.station.iter().map(|span| span.input.pointer.as_str()).collect();
        self.y.input.pointer == PAYLOAD && pointers == [DOWNWIND, TENSION]
    }

    fn cell(&self, target: &mut Target<'_>, (unit, trial): &End) -> RegionCell {
        let point = target.point(unit).ok();
        let standing = point.as_ref().map(crate::study::standing_of);
        RegionCell {
            feasible: trial.is_feasible(),
            margin_w: point.as_ref().and_then(|p| p.margin_w),
            margin_ratio: standing.map_or(crate::study::NOTHING_COMPUTED, |s| s.level),
            tightest: standing.and_then(|s| s.code),
            station: target.values()[1..].to_vec(),
        }
    }

    fn goal(&self, sense: Sense) -> Goal {
        Goal { sense, quantity: Quantity::Input(Box::new(self.y.input.clone())), times: None }
    }

    /// Between a cell that closes and a neighbour that does not, the last value that does.
    fn boundary(
        &self,
        study: &Study,
        free: &[Free],
        units: &[f64],
        ends: &[End],
        tops: &[Option<Vec<f64>>],
    ) -> Vec<BoundaryPoint> {
        let (most, least) = (self.goal(Sense::Max), self.goal(Sense::Min));
        let mut list = Vec::new();
        for i in 1..ends.len() {
            let upper = match (ends[i - 1].1.is_feasible(), ends[i].1.is_feasible()) {
                (true, false) => true,
                (false, true) => false,
                _ => continue,
            };
            let goal = if upper { &most } else { &least };
            let mut target = Target::new(study, free, goal).counted(self.counter);
            let unit = match &tops[i] {
                Some(top) if upper => top.clone(),
                _ => extreme(&mut target, &ends[if upper { i - 1 } else { i }].0, (units[i - 1], units[i])).0,
            };
            let limit = binding(&mut target, &unit, upper);
            list.push(BoundaryPoint {
                x: self.x,
                y: free[0].value_at(unit[0]),
                upper,
                limit,
                station: target.values()[1..].to_vec(),
            });
        }
        list
    }
}

/// The limit that breaks first beyond a place of the boundary: of those that all but bind there, many stay as they are.
fn binding(target: &mut Target<'_>, unit: &[f64], upper: bool) -> Option<LimitCode> {
    let mut beyond = unit.to_vec();
    beyond[0] += if upper { BEYOND } else { -BEYOND };
    let point = target.point(&beyond).ok()?;
    crate::study::standing_of(&point).code
}

fn margin_output() -> Result<&'static Output, PlanError> {
    Output::find("margin_w").map_err(PlanError::Refused)
}
