//! Where a plan closes over two inputs, by default height and payload, for several winds, with the station chosen anew at
//! every place: feasible or not, the margin, what binds, and the boundary itself.

mod bundle;
mod column;
mod follow;
mod full;
mod lines;
mod loaded;
mod mapper;
mod net;
mod question;
mod slopes;
mod spot;
mod summit;
mod supply;
mod table;

use rayon::prelude::*;
use serde::Serialize;

use bundle::Shared;
use mapper::{Column, Mapper};
pub use question::{DEFAULT_WINDS_M_S, RegionQuestion};

use crate::{
    Loaded,
    document::Document,
    error::PlanError,
    limit::LimitCode,
    search::{default_free, station_free},
    study::{Provenance, Span, Watch, complete},
};

/// Values along each axis where the user does not say how many.
const DEFAULT_COUNT: usize = 21;

/// The input whose columns share the lines of a wind.
const HEIGHT: &str = "/station/height_m";

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
    /// What breaks first beyond it.
    pub limit: Option<LimitCode>,
    /// Values of the inputs that choose the station, in the order of [`RegionReport::station`].
    pub station: Vec<f64>,
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
    let counter = crate::search::Counter::default();
    let shared: Vec<Shared> = layer
        .values
        .iter()
        .map(|layer| match x.values.last() {
            Some(at) if x.pointer == HEIGHT => {
                Mapper::new(&complete, question, &station, (*at, *layer), &counter)?
                    .shared(&y.values, &x.values)
            }
            _ => Ok(Shared::default()),
        })
        .collect::<Result<_, _>>()?;
    let layers = layer.values.iter().zip(&shared);
    let columns: Vec<(f64, &Shared, f64)> =
        layers.flat_map(|(l, shared)| x.values.iter().map(move |x| (*l, shared, *x))).collect();
    let done = std::sync::atomic::AtomicU64::new(0);
    let mapped: Vec<Column> = columns
        .par_iter()
        // Columns differ a lot: each by itself, so that no thread has many left while another has none.
        .with_max_len(1)
        .map(|(layer, shared, at)| {
            let column =
                Mapper::new(&complete, question, &station, (*at, *layer), &counter)?.map(&y.values, shared);
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
