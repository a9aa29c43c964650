//! Where a plan closes over two inputs, by default height and payload, for several winds, with the station chosen anew at
//! every place: feasible or not, the margin, what binds, and the boundary itself.

use rayon::prelude::*;
use serde::Serialize;
use serde_json::Value;

use crate::{
    Loaded, System,
    diagnostic::Diagnostic,
    document::Document,
    error::PlanError,
    limit::LimitCode,
    optimise::{Finish, Problem, Trial, finish},
    scenario::{Scenario, WindProfile},
    search::{Free, Goal, Sense, Target, default_free, station_free},
    study::{Output, Provenance, Quantity, Span, Study, Watch, complete},
};

/// Values along each axis where the user does not say how many.
const DEFAULT_COUNT: usize = 21;
/// Winds at the reference height of the profile, m/s, where the user does not say which.
pub const DEFAULT_WINDS_M_S: [f64; 4] = [0.0, 5.0, 10.0, 15.0];

/// What to map.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionQuestion {
    /// Along the map, by default the height.
    pub x: Span,
    /// Up the map, by default the payload. Work is least where it does not move the tether.
    pub y: Span,
    /// The wind, or what else makes one map after the other; the values are listed.
    pub layers: Span,
}

impl RegionQuestion {
    /// Reads the axes and winds from their texts; what is left out has its default.
    ///
    /// # Errors
    /// Every fault of any text.
    pub fn parse(
        loaded: &Loaded,
        x: Option<&str>,
        y: Option<&str>,
        winds: Option<&str>,
    ) -> Result<Self, Vec<Diagnostic>> {
        let scenario = &loaded.scenario;
        let complete = complete(scenario);
        let mut faults = Vec::new();
        let mut axis = |text: Option<&str>, pointer: &str| {
            let span = match text {
                Some(text) => Span::parse(&complete, text),
                None => default_axis(scenario, &complete, pointer),
            };
            span.map_err(|fault| faults.push(*fault)).ok()
        };
        let x = axis(x, "/station/height_m");
        let y = axis(y, "/payload/mass_kg");
        let winds = match winds {
            Some(text) if text.starts_with('/') => text.to_owned(),
            Some(text) => format!("{}={text}", wind_pointer(scenario)),
            None => {
                let listed = DEFAULT_WINDS_M_S.map(|w| w.to_string()).join(",");
                format!("{}={listed}", wind_pointer(scenario))
            }
        };
        let layers = axis(Some(&winds), "");
        match (x, y, layers) {
            (Some(x), Some(y), Some(layers)) => Ok(Self { x, y, layers }),
            _ => Err(faults),
        }
    }
}

impl RegionQuestion {
    /// Few places, for a reader who waits: the default axes with `x_count` and `y_count` values, in calm air (or still
    /// water) and in the plan's own flow. The boundary between two places is as exact as on a fine map.
    ///
    /// # Errors
    /// As [`RegionQuestion::parse`].
    pub fn coarse(loaded: &Loaded, x_count: usize, y_count: usize) -> Result<Self, Vec<Diagnostic>> {
        let mut question = Self::parse(loaded, None, None, None)?;
        question.x.count = Some(x_count);
        question.y.count = Some(y_count);
        let span = &question.layers;
        if let Some(flow) = span.input.value.filter(|flow| *flow > 0.0) {
            question.layers = Span { lo: 0.0, hi: flow, listed: Some(vec![0.0, flow]), ..span.clone() };
        }
        Ok(question)
    }
}

/// From nearly nothing to what could never close.
fn default_axis(scenario: &Scenario, complete: &Value, pointer: &str) -> Result<Span, Box<Diagnostic>> {
    let mut spans = default_free(scenario, complete, &[pointer])?;
    let span = spans.pop().map_or_else(|| Span::parse(complete, pointer), Ok)?;
    if pointer != "/payload/mass_kg" {
        return Ok(span);
    }
    // A payload that the thrust could lift is far more than power allows; four times the plan's fills the map better.
    let value = span.input.value.unwrap_or(0.0);
    let hi = if value > 0.0 { (4.0 * value).min(span.hi) } else { span.hi };
    Span::new(span.input, span.lo, hi)
}

/// Where the speed of the wind stands, or of the current for a vehicle in water.
fn wind_pointer(scenario: &Scenario) -> &'static str {
    use crate::scenario::Current;
    match (&scenario.site.water, &scenario.site.wind.profile) {
        (Some(water), _) => match water.current {
            Current::Uniform { .. } => "/site/water/current/uniform/speed_m_s",
            Current::SurfaceExponential { .. } => "/site/water/current/surface_exponential/surface_speed_m_s",
            Current::DepthPower { .. } => "/site/water/current/depth_power/surface_speed_m_s",
        },
        (None, WindProfile::Uniform { .. }) => "/site/wind/profile/uniform/speed_m_s",
        (None, WindProfile::PowerLaw { .. }) => "/site/wind/profile/power_law/speed_m_s",
        (None, WindProfile::Logarithmic { .. }) => "/site/wind/profile/logarithmic/speed_m_s",
    }
}

/// An axis of the map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RegionAxis {
    /// Which input.
    pub pointer: String,
    /// Its unit.
    pub unit: String,
    /// Its values.
    pub values: Vec<f64>,
    /// The plan's own value, where the scenario has one.
    pub plan: Option<f64>,
}

/// One place of the map, with the best station there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RegionCell {
    /// Whether some station closes.
    pub feasible: bool,
    /// Power margin there, W; absent where it could not be computed.
    pub margin_w: Option<f64>,
    /// Least margin ratio of all limits there; below 0 where none closes.
    pub margin_ratio: f64,
    /// The limit nearest or most broken there.
    pub tightest: Option<LimitCode>,
    /// Values of the inputs that choose the station, in the order of [`RegionReport::station`].
    pub station: Vec<f64>,
}

/// A place where the plan just closes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoundaryPoint {
    /// Along the map.
    pub x: f64,
    /// Up the map.
    pub y: f64,
    /// Whether it closes below and not above.
    pub upper: bool,
    /// What binds there.
    pub limit: Option<LimitCode>,
}

/// The map for one wind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RegionLayer {
    /// The wind, or what else was varied.
    pub value: f64,
    /// Cells: `x` slowest, `y` fastest.
    pub cells: Vec<RegionCell>,
    /// The boundary, in the order of `x`.
    pub boundary: Vec<BoundaryPoint>,
}

/// A feasible region.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RegionReport {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// Along the map.
    pub x: RegionAxis,
    /// Up the map.
    pub y: RegionAxis,
    /// What the layers differ in.
    pub layer: RegionAxis,
    /// Inputs that are chosen anew at every place.
    pub station: Vec<String>,
    /// One map for each.
    pub layers: Vec<RegionLayer>,
    /// Points computed.
    pub evaluations_count: usize,
}

/// Maps the feasible region; `watch` hears how many columns are done.
///
/// # Errors
/// [`PlanError::Refused`] if parts of the scenario do not go together.
pub fn region(
    document: &Document,
    loaded: &Loaded,
    question: &RegionQuestion,
    watch: Watch<'_>,
) -> Result<RegionReport, PlanError> {
    let scenario = &loaded.scenario;
    let complete = complete(scenario);
    let fixed = [&question.x, &question.y, &question.layers];
    let pointers: Vec<&str> = station_free(scenario)
        .into_iter()
        .filter(|p| fixed.iter().all(|span| span.input.pointer != *p))
        .collect();
    let station = default_free(scenario, &complete, &pointers).map_err(PlanError::Refused)?;
    let axis = |span: &Span| RegionAxis {
        pointer: span.input.pointer.clone(),
        unit: span.input.unit.clone(),
        values: span.values(DEFAULT_COUNT),
        plan: span.input.value,
    };
    let (x, y, layer) = (axis(&question.x), axis(&question.y), axis(&question.layers));
    let columns: Vec<(f64, f64)> =
        layer.values.iter().flat_map(|l| x.values.iter().map(move |x| (*l, *x))).collect();
    let counter = crate::search::Counter::default();
    let done = std::sync::atomic::AtomicU64::new(0);
    let mapped: Vec<Column> = columns
        .par_iter()
        .map(|(layer, at)| {
            let column = Mapper::new(scenario, question, &station, (*at, *layer), &counter)?.map(&y.values);
            let before = done.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            watch(before + 1, columns.len() as u64);
            column
        })
        .collect::<Result<_, _>>()?;
    let mut mapped = mapped.into_iter();
    let layers = layer
        .values
        .iter()
        .map(|value| {
            let (mut cells, mut boundary) = (Vec::new(), Vec::new());
            for column in mapped.by_ref().take(x.values.len()) {
                cells.extend(column.cells);
                boundary.extend(column.boundary);
            }
            RegionLayer { value: *value, cells, boundary }
        })
        .collect();
    Ok(RegionReport {
        provenance: Provenance::of(document, loaded),
        x,
        y,
        layer,
        station: pointers.iter().map(|p| (*p).to_owned()).collect(),
        layers,
        evaluations_count: counter.count(),
    })
}

struct Column {
    cells: Vec<RegionCell>,
    boundary: Vec<BoundaryPoint>,
}

/// Maps one column: the scenario with `x` and the layer set.
struct Mapper<'a> {
    scenario: Scenario,
    y: Span,
    station: &'a [Span],
    x: f64,
    counter: &'a crate::search::Counter,
}

impl<'a> Mapper<'a> {
    fn new(
        scenario: &Scenario,
        question: &RegionQuestion,
        station: &'a [Span],
        (x, layer): (f64, f64),
        counter: &'a crate::search::Counter,
    ) -> Result<Self, PlanError> {
        let mut value = complete(scenario);
        for (input, number) in [(&question.x.input, x), (&question.layers.input, layer)] {
            let number = if input.whole { Value::from(number.round() as i64) } else { Value::from(number) };
            crate::document::set_value(&mut value, &input.pointer, number).map_err(PlanError::Refused)?;
        }
        let scenario = crate::from_value(&value).map_err(PlanError::Refused)?;
        Ok(Self { scenario, y: question.y.clone(), station, x, counter })
    }

    fn map(&self, values: &[f64]) -> Result<Column, PlanError> {
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
        let (ends, tops) = inner(&mut target, &mut climber, &units);
        let cells = ends.iter().map(|end| self.cell(&mut target, end)).collect();
        let boundary = self.boundary(&study, &free, &units, &ends, &tops);
        Ok(Column { cells, boundary })
    }

    fn cell(&self, target: &mut Target<'_>, (unit, trial): &(Vec<f64>, Trial)) -> RegionCell {
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
        ends: &[(Vec<f64>, Trial)],
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
            let limit = target.point(&unit).ok().and_then(|p| crate::study::standing_of(&p).code);
            list.push(BoundaryPoint { x: self.x, y: free[0].value_at(unit[0]), upper, limit });
        }
        list
    }
}

/// Goes from a place that closes as far along the first coordinate as any station closes, within `between`.
fn extreme(target: &mut Target<'_>, from: &[f64], between: (f64, f64)) -> (Vec<f64>, Trial) {
    let mut bounds = vec![(0.0, 1.0); target.count()];
    bounds[0] = between;
    let start = target.evaluate(from);
    let how = Finish { backoff: 1e-6, tolerance: 1e-7, iterations: 40, central: false, ..Finish::default() };
    finish(target, (from.to_vec(), start), &bounds, &how)
}

/// The largest first coordinate at which any station closes, from the last place that does and from all sides there.
fn top(climber: &mut Target<'_>, from: &[f64]) -> (Vec<f64>, Trial) {
    let count = climber.count();
    let mut best = extreme(climber, from, (from[0], 1.0));
    for station in TRIED.iter().step_by(2) {
        let unit: Vec<f64> = std::iter::once(from[0]).chain(station.iter().copied()).take(count).collect();
        let end = extreme(climber, &unit, (from[0], 1.0));
        if end.1.beats(&best.1) {
            best = end;
        }
    }
    best
}

fn margin_output() -> Result<&'static Output, PlanError> {
    Output::find("margin_w").map_err(PlanError::Refused)
}

/// A place of the unit cube and its evaluation.
type End = (Vec<f64>, Trial);

/// Stations tried at each few values: upwind, overhead and downwind, tight and slack, in the unit cube of the station.
const TRIED: [[f64; 2]; 7] =
    [[0.5, 0.45], [0.42, 0.5], [0.35, 0.6], [0.25, 0.65], [0.58, 0.4], [0.65, 0.5], [0.5, 0.65]];
/// Those of [`TRIED`] that compete for one start.
const SIDES: [std::ops::Range<usize>; 3] = [0..2, 2..4, 4..7];
/// Values from one global start to the next.
const GLOBAL_EVERY: usize = 13;
/// Values from one new choice of the station to the next; between them the last one stays while it closes.
const CHOSEN_EVERY: usize = 4;

/// The best station at each value of the first coordinate: found from all sides at some, followed from there to the rest.
/// Before a value is called one that does not close, the largest one that does is searched: both are returned.
fn inner(
    target: &mut Target<'_>,
    climber: &mut Target<'_>,
    units: &[f64],
) -> (Vec<End>, Vec<Option<Vec<f64>>>) {
    let mut tops: Vec<Option<Vec<f64>>> = vec![None; units.len()];
    let mut ends: Vec<(Vec<f64>, Trial)> = Vec::with_capacity(units.len());
    for (index, y) in units.iter().enumerate() {
        let mut best = ends.last().map(|(unit, before)| follow(target, unit, before, *y, index));
        if index.is_multiple_of(GLOBAL_EVERY) {
            let before = best.as_ref().map(|(_, trial)| trial.level);
            for end in from_all_sides(target, *y, before) {
                if best.as_ref().is_none_or(|b| end.1.beats(&b.1)) {
                    best = Some(end);
                }
            }
        }
        let missing = || {
            let unit = std::iter::once(*y).chain(vec![0.5; target.count() - 1]).collect();
            (unit, Trial::missing(crate::study::NOTHING_COMPUTED))
        };
        let mut end = best.unwrap_or_else(missing);
        if let Some((before, _)) = ends.last().filter(|(_, t)| t.is_feasible() && !end.1.is_feasible()) {
            let known = tops[index - 1].clone();
            let highest = known.unwrap_or_else(|| top(climber, before).0);
            if highest[0] >= *y {
                let mut unit = highest.clone();
                unit[0] = *y;
                let trial = target.evaluate(&unit);
                if trial.beats(&end.1) {
                    end = (unit, trial);
                }
            }
            tops[index] = Some(highest);
        }
        ends.push(end);
    }
    back_down(target, units, &mut ends);
    (ends, tops)
}

/// A station that closes at one value may close at the one before, where another one was followed that did not.
fn back_down(target: &mut Target<'_>, units: &[f64], ends: &mut [(Vec<f64>, Trial)]) {
    for index in (1..ends.len()).rev() {
        if ends[index].1.is_feasible() && !ends[index - 1].1.is_feasible() {
            let mut unit = ends[index].0.clone();
            unit[0] = units[index - 1];
            let trial = target.evaluate(&unit);
            if trial.is_feasible() {
                ends[index - 1] = (unit, trial);
            }
        }
    }
}

/// The station of one value at the next: kept while it closes and was chosen not long ago, or far beyond where any closes;
/// chosen anew otherwise.
fn follow(target: &mut Target<'_>, unit: &[f64], before: &Trial, y: f64, index: usize) -> (Vec<f64>, Trial) {
    let mut unit = unit.to_vec();
    unit[0] = y;
    let start = target.evaluate(&unit);
    let chosen = index.is_multiple_of(CHOSEN_EVERY);
    let kept = start.is_feasible() && !chosen;
    let nearer = chosen && start.level > before.level;
    let beyond = !(start.is_feasible() || before.is_feasible() || nearer);
    if kept || beyond {
        return (unit, start);
    }
    finish(target, (unit, start), &only(y, target.count()), &few(if before.is_feasible() { 3 } else { 6 }))
}

/// Ends of short searches upwind, overhead and downwind; where the last station is `level` below what closes, of those
/// alone that start nearer.
fn from_all_sides(target: &mut Target<'_>, y: f64, level: Option<f64>) -> Vec<(Vec<f64>, Trial)> {
    let count = target.count();
    let tried: Vec<(Vec<f64>, Trial)> = TRIED
        .iter()
        .map(|station| {
            let unit: Vec<f64> = std::iter::once(y).chain(station.iter().copied()).take(count).collect();
            let trial = target.evaluate(&unit);
            (unit, trial)
        })
        .collect();
    SIDES
        .iter()
        .filter_map(|side| {
            let first = tried[side.clone()]
                .iter()
                .reduce(|best, other| if other.1.beats(&best.1) { other } else { best })?;
            let promising = level.is_none_or(|level| level >= 0.0 || first.1.level > level);
            (promising && first.1.is_complete())
                .then(|| finish(target, first.clone(), &only(y, count), &few(12)))
        })
        .collect()
}

/// Bounds that hold the first coordinate.
fn only(y: f64, count: usize) -> Vec<(f64, f64)> {
    let mut bounds = vec![(0.0, 1.0); count];
    bounds[0] = (y, y);
    bounds
}

/// A short finish.
fn few(iterations: u64) -> Finish {
    Finish {
        central: false,
        backoff: 1e-6,
        iterations,
        reach: 0.15,
        tolerance: 1e-4,
        halvings: 4,
        ..Finish::default()
    }
}
