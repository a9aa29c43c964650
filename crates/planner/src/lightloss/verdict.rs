//! How a drill ends: its flight ridden on a battery.

use beamstay_electrical::Battery;

use super::{
    Drill, Leg, Outcome,
    battery::emptied,
    ride::{Ride, ride},
    scene::Scene,
};
use crate::error::{At, PlanError};

/// How a ride ends.
pub(super) struct Verdict {
    pub outcome: Outcome,
    pub reason: String,
    pub ride: Ride,
    pub start_ratio: f64,
    pub peak_available_w: f64,
}

/// Rides legs on a battery: first with what must stay untouched left alone, then, if that fails, with all it has.
pub(super) fn judge(
    battery: &Battery,
    start_ratio: f64,
    legs: &[Leg],
    peak_w: f64,
) -> Result<Verdict, PlanError> {
    let start_ratio = start_ratio.min(battery.full_ratio());
    let whole = emptied(battery)?;
    let kept = ride(battery, start_ratio, legs)?;
    let peak_available_w = whole.max_discharge_w(kept.end_charge_ratio);
    if kept.gave_up.is_none() {
        let enough = peak_available_w >= peak_w;
        let reason = if enough {
            String::new()
        } else {
            "at its weakest the battery cannot give the power of the gust".into()
        };
        let outcome = if enough { Outcome::Lands } else { Outcome::LandsOnReserve };
        return Ok(Verdict { outcome, reason, ride: kept, start_ratio, peak_available_w });
    }
    let all = ride(&whole, start_ratio, legs)?;
    let peak_available_w = whole.max_discharge_w(all.end_charge_ratio);
    let (outcome, reason) = match all.gave_up {
        Some(end) if end.height_m > 0.0 => (
            Outcome::Falls,
            format!("{} after {:.0} s, {:.0} m above ground", end.by.words(), end.time_s, end.height_m),
        ),
        Some(_) => (Outcome::LandsOnReserve, "the battery ends during the landing hover".to_owned()),
        None => (
            Outcome::LandsOnReserve,
            format!(
                "{:.0} % of the charge is left where {:.0} % were to stay untouched",
                100.0 * all.end_charge_ratio,
                100.0 * battery.spec().floor_ratio
            ),
        ),
    };
    Ok(Verdict { outcome, reason, ride: all, start_ratio, peak_available_w })
}

impl Scene<'_> {
    /// Rides the drill on a battery and says how it ends.
    pub(super) fn judge(&self, drill: &mut Drill, battery: &Battery) -> Result<(), PlanError> {
        let verdict = judge(battery, self.scenario.light_loss.start_charge_ratio, &drill.legs, drill.peak_w)?;
        drill.outcome = verdict.outcome;
        drill.reason = verdict.reason;
        drill.peak_available_w = verdict.peak_available_w;
        drill.end_charge_ratio = Some(verdict.ride.end_charge_ratio);
        drill.floor_ratio = Some(battery.spec().floor_ratio);
        drill.least_voltage_v = Some(verdict.ride.least_voltage_v);
        drill.cutoff_v = Some(battery.spec().cutoff_v * f64::from(battery.spec().series_count));
        drill.gave_up = verdict.ride.gave_up;
        let asked_j: f64 = drill.legs.iter().map(|leg| leg.power_w * leg.duration_s).sum();
        if verdict.ride.gave_up.is_none() && asked_j > 0.0 {
            drill.energy_closure_ratio = (verdict.ride.delivered_j - asked_j).abs() / asked_j;
        }
        let closes_j = verdict.ride.delivered_j + verdict.ride.heat_j - verdict.ride.stored_j;
        drill.energy_closure_ratio =
            drill.energy_closure_ratio.max(closes_j.abs() / verdict.ride.stored_j.max(f64::MIN_POSITIVE));
        if drill.time_s > 0.0 && asked_j > 0.0 {
            let mean_w = (asked_j / drill.time_s).max(1e-6);
            let start = verdict.start_ratio;
            drill.usable_j = battery.usable_j(start, mean_w).at("/battery")?;
        }
        drill.rows = verdict.ride.rows;
        Ok(())
    }
}
