//! What the counts over all draws say.

use beamstay_numerics::{distribution::Distribution, proportion::wilson};

use super::{
    CONFIDENCE_RATIO, Histogram, LimitShare, NumberShare, Percentile, UncertainNumber, draw::Tally,
    indices::Indices,
};
use crate::{error::PlanError, limit::LimitCode};

/// Bins of the histogram of the margin.
const HISTOGRAM_BINS: usize = 40;
/// Percentiles that are told, percent.
const PERCENTILES: [f64; 9] = [1.0, 5.0, 10.0, 25.0, 50.0, 75.0, 90.0, 95.0, 99.0];

/// Share and its Wilson interval.
pub fn share(count: u64, of: u64) -> Result<(f64, f64, f64), PlanError> {
    let (low, high) = wilson(count, of, CONFIDENCE_RATIO).map_err(|error| PlanError::model("", error))?;
    Ok((count as f64 / of as f64, low, high))
}

/// Percentiles of margin and least margin.
pub fn percentiles(tally: &Tally) -> Vec<Percentile> {
    let percentile = |percent: f64| Percentile {
        share_percent: percent,
        margin_w: tally.margin_w.at(0.01 * percent),
        least_margin_ratio: tally.level.at(0.01 * percent),
    };
    PERCENTILES.into_iter().map(percentile).collect()
}

/// Histogram of the margin, without the outermost thousandth on either side.
pub fn histogram(tally: &Tally) -> Option<Histogram> {
    let (least_w, greatest_w) = tally.margin_w.range()?;
    let absent_ratio = tally.margin_w.absent_count() as f64 / tally.margin_w.count() as f64;
    let at = |share: f64| tally.margin_w.at(absent_ratio + share * (1.0 - absent_ratio));
    let (low_w, high_w) = (at(0.001).unwrap_or(least_w), at(0.999).unwrap_or(greatest_w));
    (high_w > low_w).then(|| Histogram {
        low_w,
        high_w,
        share_ratios: tally.margin_w.histogram(low_w, high_w, HISTOGRAM_BINS),
    })
}

/// Limits that were ever broken or tightest, the most often broken first.
pub fn limits(tally: &Tally) -> Result<Vec<LimitShare>, PlanError> {
    let mut shares = Vec::new();
    for (place, limit) in LimitCode::ALL.into_iter().enumerate() {
        let (broken_count, tightest_count) = (tally.broken_counts[place], tally.tightest_counts[place]);
        if broken_count == 0 && tightest_count == 0 {
            continue;
        }
        let (broken_ratio, broken_low_ratio, broken_high_ratio) = share(broken_count, tally.draws_count)?;
        let tightest_ratio = tightest_count as f64 / tally.draws_count as f64;
        shares.push(LimitShare {
            limit,
            broken_count,
            broken_ratio,
            broken_low_ratio,
            broken_high_ratio,
            tightest_ratio,
        });
    }
    let rank = |share: &LimitShare| (share.broken_ratio, share.tightest_ratio);
    shares.sort_by(|a, b| {
        let (a, b) = (rank(a), rank(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
    Ok(shares)
}

/// What each number does, the one with the largest total share of the margin's variance first.
pub fn number_shares(
    numbers: &[UncertainNumber],
    tally: &Tally,
    of_margin: &Indices,
    of_verdict: &Indices,
) -> Vec<NumberShare> {
    let mut shares: Vec<NumberShare> = numbers
        .iter()
        .enumerate()
        .map(|(place, number)| NumberShare {
            pointer: number.input.pointer.clone(),
            unit: number.input.unit.clone(),
            distribution: words(&number.distribution),
            value: number.input.value,
            low_value: number.draw(0.05).0,
            median_value: number.draw(0.5).0,
            high_value: number.draw(0.95).0,
            clipped_count: tally.clipped_counts[place],
            of_margin: of_margin[place],
            of_verdict: of_verdict[place],
        })
        .collect();
    let total = |share: &NumberShare| share.of_margin.map_or(0.0, |index| index.total_ratio);
    shares.sort_by(|a, b| total(b).total_cmp(&total(a)));
    shares
}

fn words(distribution: &Distribution) -> String {
    match distribution {
        Distribution::Normal { .. } => "normal",
        Distribution::Uniform { .. } => "uniform",
        Distribution::Triangular { .. } => "triangular",
        Distribution::Lognormal { .. } => "lognormal",
        Distribution::Weibull { .. } => "Weibull",
    }
    .to_owned()
}
