//! What flies through the hours, and what each of them offers it.

use beamstay_electrical::{Battery, BatterySpec, Generator};

use super::{
    curve::{Curve, Met, Powers},
    flight::Flight,
    log::{Handover, HourRow, KeptDown, Run, StayEnd},
};
use crate::{
    error::{At, PlanError},
    limit::LimitCode,
    scenario::{OperationMode, Operations},
};

/// Parts of a block of an hour.
pub(super) const PARTS_COUNT: usize = 5;
/// Wind of each part of equal length, in standard deviations over the mean: a normal distribution in five equal shares,
/// scaled to its own deviation.
const PARTS: [f64; PARTS_COUNT] = [1.463, 0.599, 0.0, -0.599, -1.463];
/// Peak of the gust over the mean, in standard deviations; 3 is usual (MIL-F-8785C practice).
const PEAK_DEVIATIONS: f64 = 3.0;
/// Least power that is reckoned with at rest, W.
const LEAST_REST_W: f64 = 1e-3;

/// What flies.
pub(super) struct Simulator<'a> {
    curve: &'a Curve,
    pub rules: &'a Operations,
    pub battery: Option<Battery>,
    pub generator: Option<Generator>,
    pub housekeeping_w: f64,
    /// Whether it launches in hours in which the supply alone does not carry it.
    rides_deficit: bool,
}

/// What an hour offers.
pub(super) struct Sky {
    pub broken: Option<LimitCode>,
    /// What forbids a launch.
    pub kept_down: Option<KeptDown>,
    pub parts: [Powers; PARTS_COUNT],
}

impl<'a> Simulator<'a> {
    /// A vehicle that comes down while the battery still holds `recovery_j`.
    pub fn new(
        curve: &'a Curve,
        rules: &'a Operations,
        battery: Option<&Battery>,
        recovery_j: f64,
        generator: Option<Generator>,
        housekeeping_w: f64,
        rides_deficit: bool,
    ) -> Result<Self, PlanError> {
        let battery = battery.map(|battery| kept_for_recovery(battery, recovery_j)).transpose()?;
        Ok(Self { curve, rules, battery, generator, housekeeping_w, rides_deficit })
    }

    /// The state before the first hour: on the ground, fully charged, the weather before held to have been good.
    pub fn begin(&self) -> Handover {
        Handover {
            charge_ratio: self.battery.as_ref().map_or(0.0, Battery::full_ratio),
            in_the_air: false,
            recharging: false,
            stay_s: 0.0,
            began_hour: 0,
            outage_s: 0.0,
            good_hours_count: self.rules.launch_good_hours_count,
            hours_done: 0,
        }
    }

    /// Charge at which it comes down, over full.
    pub fn recovery_ratio(&self) -> Option<f64> {
        self.battery.as_ref().map(|battery| battery.spec().floor_ratio)
    }

    /// Flies hours from a state. With `last` the stays that go on are closed at the end.
    pub fn fly(
        &self,
        hours: &[Option<Met>],
        from: &Handover,
        last: bool,
    ) -> Result<(Run, Handover), PlanError> {
        let mut flight = Flight { simulator: self, state: *from, run: Run::default(), row: HourRow::blank() };
        flight.run.rows.reserve(hours.len());
        for met in hours {
            flight.hour(*met)?;
        }
        if last {
            flight.end_stay(StayEnd::RecordEnd);
            flight.end_outage();
        }
        Ok((flight.run, flight.state))
    }

    /// Powers at work: of the supply only the share that reaches it there.
    pub(super) fn at_work(&self, powers: Powers) -> Powers {
        match self.rules.mode {
            OperationMode::Continuous => powers,
            OperationMode::DutyCycle { supply_at_work_ratio, .. } => {
                let own_w = supply_at_work_ratio * (powers.wall_w - self.housekeeping_w);
                Powers {
                    available_w: supply_at_work_ratio * powers.available_w,
                    wall_w: self.housekeeping_w + own_w,
                    ..powers
                }
            }
        }
    }

    /// Powers while it recharges.
    pub(super) fn resting(&self, powers: Powers) -> Powers {
        match self.rules.mode {
            OperationMode::DutyCycle { rest_power_w: Some(rest_w), .. } => {
                // Never nothing, so that wall power per watt stays known.
                let rest_w = rest_w.max(LEAST_REST_W);
                let own_w =
                    (powers.wall_w - self.housekeeping_w) * rest_w / powers.demand_w.max(LEAST_REST_W);
                Powers { demand_w: rest_w, wall_w: self.housekeeping_w + own_w, ..powers }
            }
            _ => powers,
        }
    }

    /// What an hour offers; none where neither powers nor a broken limit are known.
    pub(super) fn sky(&self, met: Met) -> Option<Sky> {
        let broken = self.curve.broken(met);
        let deviation_m_s = met.excess_m_s / PEAK_DEVIATIONS;
        let mut parts = [Powers { demand_w: 0.0, available_w: 0.0, wall_w: 0.0 }; PARTS_COUNT];
        for (part, deviations) in parts.iter_mut().zip(PARTS) {
            let wind_m_s = (met.wind_m_s + deviations * deviation_m_s).max(0.0);
            match self.curve.powers(wind_m_s, met.offset_k) {
                Some(powers) => *part = powers,
                // Nothing flies in a wind that has no balance; its powers do not count.
                None if broken.is_some() => {}
                None => return None,
            }
        }
        parts.sort_by(|a, b| (b.demand_w - b.available_w).total_cmp(&(a.demand_w - a.available_w)));
        let factor = 1.0 + self.rules.launch_margin_ratio;
        let harder = Met { wind_m_s: factor * met.wind_m_s, excess_m_s: factor * met.excess_m_s, ..met };
        let short_w: f64 =
            parts.iter().map(|part| self.resting(*part)).map(|p| p.demand_w - p.available_w).sum();
        let powered = match self.battery {
            Some(_) => self.rides_deficit || short_w <= 0.0,
            None => parts[0].demand_w <= parts[0].available_w,
        };
        let kept_down = match (broken, self.curve.broken(harder)) {
            (Some(code), _) => Some(KeptDown::Limit(code)),
            (None, _) if !powered => Some(KeptDown::Supply),
            (None, harder) => harder.map(KeptDown::LaunchMargin),
        };
        Some(Sky { kept_down, broken, parts })
    }
}

/// The battery with a floor that leaves `recovery_j` above the old one.
fn kept_for_recovery(battery: &Battery, recovery_j: f64) -> Result<Battery, PlanError> {
    let spec = battery.spec();
    let stored_j = battery.stored_j(1.0) - battery.stored_j(0.0);
    let floor_ratio = (spec.floor_ratio + recovery_j / stored_j.max(1.0)).min(0.95);
    Battery::new(BatterySpec { floor_ratio, ..spec.clone() }).at("/battery")
}
