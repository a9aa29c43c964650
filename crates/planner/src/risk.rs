//! How sure a plan is: probability of closing, percentiles of the margin, the limits that break, and which uncertain number
//! matters. A scenario with its part `uncertainty` in; the same numbers out for the same seed, whatever the threads.

mod draw;
mod indices;
mod summary;
mod uncertain;

use beamstay_numerics::sobol::Sobol;
use rayon::prelude::*;
use serde::Serialize;

pub use indices::Index;
pub(crate) use uncertain::left_without_place;
pub use uncertain::{MOST_OUTSIDE_RATIO, UncertainNumber, uncertain_numbers};

use crate::{
    Loaded, PlanError, Scenario,
    document::Document,
    limit::LimitCode,
    study::{Provenance, Study, Watch},
};
use draw::{Draw, Drawing, Tally};
use indices::Parts;
use summary::{histogram, limits, number_shares, percentiles, share};

/// Confidence of every interval.
pub const CONFIDENCE_RATIO: f64 = 0.95;
/// Draws of a piece; a worker begins anew with each, so that a result does not depend on the threads.
const PIECE_DRAWS: u32 = 128;
/// Base samples of a piece.
const PIECE_SAMPLES: u32 = 32;
/// Pieces that are held at once.
const ROUND_PIECES: usize = 128;

/// How much is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RiskOptions {
    /// Draws for probability and percentiles; a power of two fills the space most evenly.
    pub draws_count: u32,
    /// Base samples for the sensitivities, each of two more points than there are numbers; 0 leaves them out.
    pub samples_count: u32,
    /// Seed of the scrambling.
    pub seed: u64,
}

impl Default for RiskOptions {
    fn default() -> Self {
        Self { draws_count: 4096, samples_count: 1024, seed: 1 }
    }
}

/// How sure a plan is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RiskReport {
    /// Scenario and program.
    #[serde(flatten)]
    pub provenance: Provenance,
    /// Seed of the scrambling.
    pub seed: u64,
    /// Draws for probability and percentiles.
    pub draws_count: u64,
    /// Whether the plan closes with its numbers as they stand.
    pub closes_as_stated: bool,
    /// Margin with the numbers as they stand, W.
    pub margin_as_stated_w: Option<f64>,
    /// Draws that close.
    pub closes_count: u64,
    /// Share of the draws that close.
    pub closes_ratio: f64,
    /// Lower end of the Wilson interval of that, 95 %.
    pub closes_low_ratio: f64,
    /// Upper end.
    pub closes_high_ratio: f64,
    /// Draws that no model could compute; they count as not closing.
    pub failed_count: u64,
    /// Draws without a margin, because the vehicle finds no balance or the tether does not hang; they stand below every
    /// percentile.
    pub without_margin_count: u64,
    /// Percentiles of the margin.
    pub percentiles: Vec<Percentile>,
    /// Distribution of the margin.
    pub histogram: Option<Histogram>,
    /// Limits that were ever broken or tightest, the most often broken first.
    pub limits: Vec<LimitShare>,
    /// The uncertain numbers and what each does, the one with the largest total share of the margin's variance first.
    pub numbers: Vec<NumberShare>,
    /// Base samples for the sensitivities.
    pub samples_count: u64,
    /// Base samples that the margin's sensitivities had to leave out.
    pub samples_without_margin_count: u64,
    /// Points computed.
    pub evaluations_count: u64,
}

/// One percentile.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Percentile {
    /// Share of the draws at or below, percent.
    pub share_percent: f64,
    /// Power available less the demand, W; none where that share has no balance at all.
    pub margin_w: Option<f64>,
    /// Least margin of all limits over its bound; below 0 on the scale that ends at -1 for each missing stage.
    pub least_margin_ratio: Option<f64>,
}

/// Share of the draws in bins of equal width.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Histogram {
    /// Lower end of the first bin, W.
    pub low_w: f64,
    /// Upper end of the last bin, W.
    pub high_w: f64,
    /// Share of all draws in each bin.
    pub share_ratios: Vec<f64>,
}

/// How often a limit is broken.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LimitShare {
    /// Which.
    pub limit: LimitCode,
    /// Draws in which it is broken.
    pub broken_count: u64,
    /// Their share.
    pub broken_ratio: f64,
    /// Lower end of the Wilson interval of that, 95 %.
    pub broken_low_ratio: f64,
    /// Upper end.
    pub broken_high_ratio: f64,
    /// Share of the draws in which it is the tightest or most broken of all.
    pub tightest_ratio: f64,
}

/// One uncertain number and what it does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumberShare {
    /// Where it stands.
    pub pointer: String,
    /// Unit of the values below, empty for a pure number.
    pub unit: String,
    /// Distribution in words.
    pub distribution: String,
    /// Value in the scenario.
    pub value: Option<f64>,
    /// Value that 5 % of the draws do not exceed.
    pub low_value: f64,
    /// Value that half of the draws do not exceed.
    pub median_value: f64,
    /// Value that 5 % of the draws exceed.
    pub high_value: f64,
    /// Draws that were set to the end of the number's range.
    pub clipped_count: u64,
    /// What it does to the margin; none where the margin does not vary.
    pub of_margin: Option<Index>,
    /// What it does to the verdict; none where all draws agree.
    pub of_verdict: Option<Index>,
}

/// How sure a plan is. Draws are scrambled Sobol points, so that the Wilson interval, which is meant for independent draws, is
/// as a rule too wide.
///
/// # Errors
/// [`PlanError`] if the scenario names no uncertain number, its parts do not go together, or the point as it stands does
/// not converge. A drawn point that cannot be computed counts as one that does not close.
///
/// # Examples
/// ```
/// use beamstay_planner::{Document, load, risk::{RiskOptions, risk}};
/// let text = include_str!("../../../scenarios/breakwater-lookout.json");
/// let document = Document::parse(text).unwrap();
/// let options = RiskOptions { draws_count: 256, samples_count: 0, seed: 1 };
/// let report = risk(&document, &load(&document).unwrap(), &options, &|_, _| {}).unwrap();
/// assert!(report.closes_low_ratio <= report.closes_ratio && report.closes_ratio <= report.closes_high_ratio);
/// ```
pub fn risk(
    document: &Document,
    loaded: &Loaded,
    options: &RiskOptions,
    watch: Watch<'_>,
) -> Result<RiskReport, PlanError> {
    let numbers = uncertain_numbers(&loaded.scenario)
        .map_err(|mut faults| PlanError::Refused(Box::new(faults.swap_remove(0))))?;
    if numbers.is_empty() {
        return Err(PlanError::needs("", "risk", "\"uncertainty\" in the scenario"));
    }
    let scenario = Scenario { uncertainty: None, ..loaded.scenario.clone() };
    let study = Study::new(&scenario, numbers.iter().map(|n| n.input.clone()).collect())?;
    let sequence = Sobol::scrambled(2 * numbers.len(), options.seed)
        .map_err(|error| PlanError::model("/uncertainty/inputs", error))?;
    let stated = study.worker().evaluate(&[])?;
    let drawing = Drawing { study: &study, numbers: &numbers, sequence: &sequence };
    let per_sample = numbers.len() as u64 + 2;
    let all = u64::from(options.draws_count) + per_sample * u64::from(options.samples_count);
    let tally = tally(&drawing, options.draws_count, &|done| watch(done, all));
    let drawn = u64::from(options.draws_count);
    let parts = samples(&drawing, options.samples_count, &|done| watch(drawn + per_sample * done, all));
    let (closes_ratio, closes_low_ratio, closes_high_ratio) = share(tally.closes_count, drawn)?;
    let (samples_without_margin_count, of_margin, of_verdict) = parts.indices();
    Ok(RiskReport {
        provenance: Provenance::of(document, loaded),
        seed: options.seed,
        draws_count: drawn,
        closes_as_stated: stated.feasible,
        margin_as_stated_w: stated.margin_w,
        closes_count: tally.closes_count,
        closes_ratio,
        closes_low_ratio,
        closes_high_ratio,
        failed_count: tally.failed_count,
        without_margin_count: tally.margin_w.absent_count(),
        percentiles: percentiles(&tally),
        histogram: histogram(&tally),
        limits: limits(&tally)?,
        numbers: number_shares(&numbers, &tally, &of_margin, &of_verdict),
        samples_count: u64::from(options.samples_count),
        samples_without_margin_count,
        evaluations_count: all + 1,
    })
}

/// Draws in rounds of pieces, folded in their order.
fn tally(drawing: &Drawing<'_>, draws_count: u32, done: &dyn Fn(u64)) -> Tally {
    let mut tally = Tally::new(drawing.numbers.len());
    rounds(
        draws_count,
        PIECE_DRAWS,
        |range| drawing.piece(range),
        |_, piece: Vec<Draw>| {
            piece.iter().for_each(|draw| tally.add(draw));
            done(tally.draws_count);
        },
    );
    tally
}

/// Base samples in rounds of pieces, folded in their order.
fn samples(drawing: &Drawing<'_>, samples_count: u32, done: &dyn Fn(u64)) -> Parts {
    let pieces_count = samples_count.div_ceil(PIECE_SAMPLES) as usize;
    let mut parts = Parts::new(drawing.numbers.len(), pieces_count);
    rounds(
        samples_count,
        PIECE_SAMPLES,
        |range| drawing.sums(range),
        |place, sums| {
            parts.add(place, &sums);
            done((place as u64 + 1) * u64::from(PIECE_SAMPLES));
        },
    );
    parts
}

/// Computes pieces side by side, some at a time, and folds them in their order, so that memory stays flat.
fn rounds<T: Send>(
    count: u32,
    piece_count: u32,
    compute: impl Fn(std::ops::Range<u32>) -> T + Sync,
    mut fold: impl FnMut(usize, T),
) {
    let pieces_count = count.div_ceil(piece_count) as usize;
    for first in (0..pieces_count).step_by(ROUND_PIECES) {
        let places: Vec<u32> = (first..pieces_count.min(first + ROUND_PIECES)).map(|p| p as u32).collect();
        let pieces: Vec<T> = places
            .par_iter()
            .map(|place| {
                let start = place * piece_count;
                compute(start..start.saturating_add(piece_count).min(count))
            })
            .collect();
        pieces.into_iter().enumerate().for_each(|(place, piece)| fold(first + place, piece));
    }
}
