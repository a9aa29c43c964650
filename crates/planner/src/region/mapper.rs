//! One column of a map: its scenario, its cells and its boundary.

use serde_json::Value;

use super::{
    BoundaryPoint, RegionCell, RegionQuestion,
    bundle::Shared,
    column::{self, Chosen},
    follow::{End, extreme, inner},
    loaded::Loaded,
};
use crate::{
    System,
    error::PlanError,
    limit::LimitCode,
    scenario::Scenario,
    search::{Counter, DOWNWIND, Free, Goal, PAYLOAD, Sense, TENSION, Target},
    study::{Output, Quantity, Span, Study},
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
        complete: &Value,
        question: &RegionQuestion,
        station: &'a [Span],
        (x, layer): (f64, f64),
        counter: &'a Counter,
    ) -> Result<Self, PlanError> {
        let mut value = complete.clone();
        for (input, number) in [(&question.x.input, x), (&question.layers.input, layer)] {
            let number = if input.whole { Value::from(number.round() as i64) } else { Value::from(number) };
            crate::document::set_value(&mut value, &input.pointer, number).map_err(PlanError::Refused)?;
        }
        let scenario = crate::from_value(&value).map_err(PlanError::Refused)?;
        Ok(Self { scenario, y: question.y.clone(), station, x, counter })
    }

    /// The free inputs of a column: what is up the map between its least and largest value, and the station.
    fn free(&self, system: &System, values: &[f64]) -> Vec<Free> {
        let lo = values.iter().copied().fold(f64::INFINITY, f64::min);
        let hi = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let y_span = Span { lo, hi, ..self.y.clone() };
        let spans = std::iter::once(y_span).chain(self.station.iter().cloned());
        spans.map(|span| Free::new(span, system)).collect()
    }

    /// What this column shares with those of other heights in the same wind.
    pub(super) fn shared(&self, values: &[f64], heights_m: &[f64]) -> Result<Shared, PlanError> {
        if !self.hangs_once() {
            return Ok(Shared::default());
        }
        let system = System::new(&self.scenario)?;
        let crosswind_m = system.place(&self.scenario.station)?.position_m.y;
        let over_exit_m: Vec<f64> =
            heights_m.iter().map(|height_m| height_m - system.surroundings.exit_height_m).collect();
        Ok(Shared::new(&system, &self.free(&system, values), &over_exit_m, crosswind_m))
    }

    pub(super) fn map(&self, values: &[f64], shared: &Shared) -> Result<Column, PlanError> {
        let system = System::new(&self.scenario)?;
        let free = self.free(&system, values);
        let units: Vec<f64> = values.iter().map(|y| free[0].unit(*y).unwrap_or(0.0)).collect();
        let study = Study::new(&self.scenario, free.iter().map(|f| f.span.input.clone()).collect())?;
        let most = self.goal(Sense::Max);
        let mut climber = Target::new(&study, &free, &most).counted(self.counter);
        if self.hangs_once()
            && let Some(mut loaded) =
                Loaded::hang(system, &self.scenario.station, &free, shared, self.counter)
            && let Some(chosen) = column::chosen(&mut loaded, &units)
        {
            return Ok(self.of_table(&mut loaded, &study, chosen, &free, &units));
        }
        self.by_points(&study, &mut climber, &free, &units)
    }

    /// Whether the tether of a station hangs the same all along the column, and is chosen by offset and drum tension.
    fn hangs_once(&self) -> bool {
        let pointers: Vec<&str> = self.station.iter().map(|span| span.input.pointer.as_str()).collect();
        self.y.input.pointer == PAYLOAD && pointers == [DOWNWIND, TENSION]
    }

    /// A column whose stations were chosen on hanging tethers.
    fn of_table(
        &self,
        loaded: &mut Loaded<'_>,
        study: &Study,
        chosen: Chosen,
        free: &[Free],
        units: &[f64],
    ) -> Column {
        let edges: Vec<(bool, Vec<f64>)> =
            chosen.told.iter().map(|told| (told.cell.feasible, told.unit.clone())).collect();
        let boundary = changes(&edges)
            .map(|(index, upper)| {
                let between = units[index - 1]..=units[index];
                match chosen.top.as_ref().filter(|top| upper && between.contains(&top.payload)) {
                    Some(top) => BoundaryPoint {
                        x: self.x,
                        y: free[0].value_at(top.payload),
                        upper,
                        limit: loaded.limit_beyond(&top.full, top.payload + BEYOND),
                        station: loaded.told(&top.full, top.payload).cell.station,
                    },
                    None => self.edge(study, free, (index, upper), units, &edges, None),
                }
            })
            .collect();
        Column { cells: chosen.told.into_iter().map(|told| told.cell).collect(), boundary }
    }

    /// A column whose places are computed one by one.
    fn by_points(
        &self,
        study: &Study,
        climber: &mut Target<'_>,
        free: &[Free],
        units: &[f64],
    ) -> Result<Column, PlanError> {
        let margin = Goal { sense: Sense::Max, quantity: Quantity::Output(margin_output()?), times: None };
        let mut target = Target::new(study, free, &margin).counted(self.counter);
        let (ends, tops) = inner(&mut target, climber, units);
        let cells = ends.iter().map(|end| self.cell(&mut target, end)).collect();
        let edges: Vec<(bool, Vec<f64>)> =
            ends.into_iter().map(|(unit, trial)| (trial.is_feasible(), unit)).collect();
        let boundary = changes(&edges)
            .map(|(index, upper)| {
                let top = tops[index].as_ref().filter(|_| upper);
                self.edge(study, free, (index, upper), units, &edges, top)
            })
            .collect();
        Ok(Column { cells, boundary })
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

    /// Between a place that closes and its neighbour that does not, the last one that does: `known`, or searched.
    fn edge(
        &self,
        study: &Study,
        free: &[Free],
        (index, upper): (usize, bool),
        units: &[f64],
        edges: &[(bool, Vec<f64>)],
        known: Option<&Vec<f64>>,
    ) -> BoundaryPoint {
        let goal = self.goal(if upper { Sense::Max } else { Sense::Min });
        let mut target = Target::new(study, free, &goal).counted(self.counter);
        let from = &edges[if upper { index - 1 } else { index }].1;
        let unit = match known {
            Some(known) => known.clone(),
            None => extreme(&mut target, from, (units[index - 1], units[index])).0,
        };
        let limit = binding(&mut target, &unit, upper);
        BoundaryPoint {
            x: self.x,
            y: free[0].value_at(unit[0]),
            upper,
            limit,
            station: target.values()[1..].to_vec(),
        }
    }
}

/// Places where what closes changes from the one before, and whether it closes below and not above.
fn changes(edges: &[(bool, Vec<f64>)]) -> impl Iterator<Item = (usize, bool)> {
    (1..edges.len()).filter(|i| edges[i - 1].0 != edges[*i].0).map(|i| (i, edges[i - 1].0))
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
