//! One or two inputs over their values, and any results at each.

use rayon::prelude::*;
use serde::Serialize;

use crate::{
    Loaded,
    diagnostic::Diagnostic,
    document::Document,
    error::PlanError,
    limit::LimitCode,
    study::{Output, Provenance, Span, Study, Watch, complete, standing},
};

/// Values of an input where the user does not say how many.
const DEFAULT_COUNT: usize = 21;
/// Rows that one worker computes in a row; fixed, so that the thread count changes nothing.
const CHUNK: usize = 16;

/// What to sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepQuestion {
    /// One or two inputs; the first one varies slowest.
    pub vary: Vec<Span>,
    /// What to show.
    pub show: Vec<&'static Output>,
}

impl SweepQuestion {
    /// Reads `/pointer=lo..hi:count` for each input and names of results.
    ///
    /// # Errors
    /// Every fault of any text.
    pub fn parse(loaded: &Loaded, vary: &[String], show: &[String]) -> Result<Self, Vec<Diagnostic>> {
        let complete = complete(&loaded.scenario);
        let mut faults = Vec::new();
        let mut spans = Vec::new();
        for text in vary {
            match Span::parse(&complete, text) {
                Ok(span) => spans.push(span),
                Err(fault) => faults.push(*fault),
            }
        }
        let mut outputs = Vec::new();
        for name in show {
            match Output::find(name.trim()) {
                Ok(output) => outputs.push(output),
                Err(fault) => faults.push(*fault),
            }
        }
        if faults.is_empty() { Ok(Self { vary: spans, show: outputs }) } else { Err(faults) }
    }
}

/// A swept input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweptInput {
    /// Which input.
    pub pointer: String,
    /// Its unit.
    pub unit: String,
    /// Its values.
    pub values: Vec<f64>,
}

/// A result that is shown.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// Its name; ends in its unit.
    pub name: String,
    /// Its unit.
    pub unit: &'static str,
    /// What it is.
    pub meaning: String,
}

/// One point of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepRow {
    /// Values of the inputs, in their order and units.
    pub inputs: Vec<f64>,
    /// Results, in their order and units; absent where the point does not have one.
    pub outputs: Vec<Option<f64>>,
    /// Whether every limit holds.
    pub feasible: bool,
    /// Least margin ratio; below 0 where a limit is broken.
    pub margin_ratio: f64,
    /// The limit nearest or most broken.
    pub tightest: Option<LimitCode>,
    /// Why the point could not be computed.
    pub error: Option<String>,
}

/// A sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepReport {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// The inputs.
    pub inputs: Vec<SweptInput>,
    /// The results.
    pub outputs: Vec<Shown>,
    /// The points: the last input varies fastest.
    pub rows: Vec<SweepRow>,
}

/// Computes a sweep; `watch` hears how many of how many rows are done.
///
/// # Errors
/// [`PlanError::Refused`] if parts of the scenario do not go together. A point that cannot be computed is a row that says so.
pub fn sweep(
    document: &Document,
    loaded: &Loaded,
    question: &SweepQuestion,
    watch: Watch<'_>,
) -> Result<SweepReport, PlanError> {
    let study = Study::new(&loaded.scenario, question.vary.iter().map(|s| s.input.clone()).collect())?;
    let inputs: Vec<SweptInput> = question
        .vary
        .iter()
        .map(|span| SweptInput {
            pointer: span.input.pointer.clone(),
            unit: span.input.unit.clone(),
            values: span.values(DEFAULT_COUNT),
        })
        .collect();
    let points = grid(&inputs);
    let done = std::sync::atomic::AtomicUsize::new(0);
    let rows = points
        .par_chunks(CHUNK)
        .map(|chunk| {
            let mut worker = study.worker().in_full();
            let rows: Vec<SweepRow> = chunk
                .iter()
                .map(|values| {
                    let outcome = worker.evaluate(values);
                    let standing = standing(&outcome);
                    SweepRow {
                        inputs: values.clone(),
                        outputs: question
                            .show
                            .iter()
                            .map(|o| outcome.as_ref().ok().and_then(|p| o.of(p)))
                            .collect(),
                        feasible: outcome.as_ref().is_ok_and(|p| p.feasible),
                        margin_ratio: standing.level,
                        tightest: standing.code,
                        error: outcome.err().map(|error| error.to_string()),
                    }
                })
                .collect();
            let before = done.fetch_add(rows.len(), std::sync::atomic::Ordering::Relaxed);
            watch((before + rows.len()) as u64, points.len() as u64);
            rows
        })
        .collect::<Vec<_>>()
        .into_iter()
        .flatten()
        .collect();
    let outputs = question
        .show
        .iter()
        .map(|o| Shown { name: o.name.clone(), unit: o.unit, meaning: o.meaning.clone() })
        .collect();
    Ok(SweepReport { provenance: Provenance::of(document, loaded), inputs, outputs, rows })
}

/// All combinations, the last input fastest.
fn grid(inputs: &[SweptInput]) -> Vec<Vec<f64>> {
    inputs.iter().fold(vec![Vec::new()], |points, input| {
        points
            .iter()
            .flat_map(|point| {
                input.values.iter().map(move |value| point.iter().copied().chain([*value]).collect())
            })
            .collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load;

    fn run(vary: &[&str]) -> SweepReport {
        let text = include_str!("../../../scenarios/breakwater-lookout.json");
        let document = Document::parse(text).unwrap();
        let loaded = load(&document).unwrap();
        let own = |words: &[&str]| words.iter().map(|w| (*w).to_owned()).collect::<Vec<_>>();
        let show = own(&["margin_w", "cell_temp_c", "paid_out_m"]);
        let question = SweepQuestion::parse(&loaded, &own(vary), &show).unwrap();
        sweep(&document, &loaded, &question, &|_, _| {}).unwrap()
    }

    #[test]
    fn rows_stand_in_order_and_fall_with_the_payload() {
        let report = run(&["/payload/mass_kg=0..2:41"]);
        assert_eq!(report.rows.len(), 41);
        for pair in report.rows.windows(2) {
            assert!(pair[0].inputs[0] < pair[1].inputs[0]);
            assert!(pair[0].outputs[0] > pair[1].outputs[0]);
        }
    }

    #[test]
    fn mean_wind_helps_before_it_hurts() {
        let report = run(&["/site/wind/profile/power_law/speed_m_s=0..14:15"]);
        let margin: Vec<f64> = report.rows.iter().filter_map(|r| r.outputs[0]).collect();
        let best = margin.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        assert!(best > margin[0] + 10.0 && best > margin[margin.len() - 1] + 10.0, "{margin:?}");
    }

    #[test]
    fn two_inputs_make_a_grid_and_threads_change_no_byte() {
        let wide = run(&["/payload/mass_kg=0..1:7", "/station/height_m=50..120:8"]);
        assert_eq!(wide.rows.len(), 56);
        assert_eq!((wide.rows[1].inputs[0], wide.rows[1].inputs[1]), (0.0, 60.0));
        let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
        let alone = one.install(|| run(&["/payload/mass_kg=0..1:7", "/station/height_m=50..120:8"]));
        assert_eq!(serde_json::to_string(&alone).unwrap(), serde_json::to_string(&wide).unwrap());
    }
}
