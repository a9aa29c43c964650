//! How far a point stands from its limits, on one scale that goes on where a stage has no solution.

use crate::{
    error::PlanError,
    limit::{LimitCode, LimitRow},
    point::OperatingPoint,
};

/// Level, a margin as a ratio, of a point of which nothing could be computed.
pub const NOTHING_COMPUTED: f64 = -4.0;

/// How far a point stands from its limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Not below 0 where every limit holds: then the least margin ratio. Between -1 and 0 where everything could be
    /// computed and a limit is broken; down to -2 where the vehicle finds no balance, down to -3 where the tether does not
    /// hang, [`NOTHING_COMPUTED`] beyond that. Each scale falls as the plan moves away from what would help.
    pub level: f64,
    /// The limit that says so.
    pub code: Option<LimitCode>,
}

/// Margin ratio on a scale that ends at -1: the ratio itself from 0 on, `c / (1 - c)` below, smooth where they meet.
pub fn squash(closeness: f64) -> f64 {
    if closeness >= 0.0 { closeness } else { closeness / (1.0 - closeness) }
}

/// How far a point stands from its limits. The level is continuous wherever the same stages have solutions, and below that
/// of every point that has them all where one is missing.
pub fn standing(outcome: &Result<OperatingPoint, PlanError>) -> Standing {
    match outcome {
        Ok(point) => standing_of(point),
        Err(_) => Standing { level: NOTHING_COMPUTED, code: None },
    }
}

/// As [`standing`], of a point that could be computed at least in part.
pub fn standing_of(point: &OperatingPoint) -> Standing {
    let base = missing_stages(point);
    match tightest_level(&point.limits) {
        Some((level, code)) if base < 0.0 => Standing { level: base + level.min(0.0), code: Some(code) },
        Some((level, code)) => Standing { level, code: Some(code) },
        None => Standing { level: base, code: None },
    }
}

/// Level of the nearest or most broken limit of those that count.
pub(crate) fn tightest_level(rows: &[LimitRow]) -> Option<(f64, LimitCode)> {
    binding_rows(rows).map(|row| (squash(row.closeness()), row.code)).min_by(|a, b| a.0.total_cmp(&b.0))
}

/// 0 where everything could be computed, -1 where the vehicle finds no balance, -2 where the tether does not hang.
fn missing_stages(point: &OperatingPoint) -> f64 {
    match (&point.vehicle, point.hangs_not()) {
        (Some(_), _) => 0.0,
        (None, false) => -1.0,
        (None, true) => -2.0,
    }
}

/// The rows that count. A laser that is too weak also breaks the power at the bus, which goes on where no setting closes at
/// all; the setting itself does not, and steps aside.
pub(crate) fn binding_rows(rows: &[LimitRow]) -> impl Iterator<Item = &LimitRow> {
    let power_broken = rows.iter().any(|row| row.code == LimitCode::Power && !row.ok);
    rows.iter().filter(move |row| !(power_broken && row.code == LimitCode::LaserPower && !row.ok))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Document, load,
        study::{Input, Study, complete},
    };

    fn levels(pointer: &str, values: impl Iterator<Item = f64>) -> Vec<Standing> {
        let text = include_str!("../../../../scenarios/breakwater-lookout.json");
        let scenario = load(&Document::parse(text).unwrap()).unwrap().scenario;
        let input = Input::find(&complete(&scenario), pointer).unwrap();
        let study = Study::new(&scenario, vec![input]).unwrap();
        let mut worker = study.worker();
        values.map(|v| standing(&worker.evaluate(&[v]))).collect()
    }

    #[test]
    fn the_scale_is_smooth_at_zero_and_ends_at_minus_one() {
        assert_eq!(squash(0.3), 0.3);
        assert!((squash(-1e-9) + 1e-9).abs() < 1e-17);
        assert_eq!(squash(-f64::MAX), -1.0);
    }

    #[test]
    fn a_heavier_payload_falls_without_a_jump_through_zero() {
        let found = levels("/payload/mass_kg", (0..400).map(|i| 0.01 * f64::from(i)));
        assert!(found[0].level > 0.0 && found[399].level < -0.05);
        for pair in found.windows(2) {
            assert!(pair[1].level <= pair[0].level + 1e-9);
            let same_stages = pair[0].level.min(pair[1].level) > -1.0;
            assert!(!same_stages || pair[0].level - pair[1].level < 0.03, "{pair:?}");
        }
    }

    #[test]
    fn without_a_shape_more_tension_still_shows_as_better() {
        let pointer = "/station/winch/drum_tension/drum_tension_n";
        let found = levels(pointer, (0..60).map(|i| 0.02 * f64::from(i)));
        let missing: Vec<f64> = found.iter().map(|s| s.level).filter(|l| *l <= -2.0).collect();
        assert!(missing.len() > 2 && missing.windows(2).all(|w| w[1] >= w[0]), "{missing:?}");
    }
}
