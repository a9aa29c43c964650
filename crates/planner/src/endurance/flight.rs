//! Hours flown one after the other: on station, riding on the battery, forced down, waiting.

use super::{
    curve::{Met, Powers},
    log::{Handover, HourRow, KeptDown, Run, Stay, StayEnd},
    simulate::{PARTS_COUNT, Simulator, Sky},
};
use crate::{
    error::{At, PlanError},
    scenario::OperationMode,
};

/// Blocks of an hour: in each the part of the strongest wind comes first, which is the harder order for the battery. Ten
/// minutes is the time over which a mean wind is taken; gusts are shorter (the gap of the wind's spectrum, van der Hoven 1957,
/// from memory).
const BLOCKS_COUNT: u32 = 6;
/// Power into the charger over power from the wall, on the ground (common practice, no source).
const GROUND_CHARGER_RATIO: f64 = 0.9;
const HOUR_S: f64 = 3600.0;
/// Changes between work and recharge, and steps of recharge, within a part of a block, at most; and such a step, s.
const MOST_TURNS: u32 = 64;
const RECHARGE_STEP_S: f64 = 20.0;

/// A run under way.
pub(super) struct Flight<'a, 'b> {
    pub simulator: &'b Simulator<'a>,
    pub state: Handover,
    pub run: Run,
    pub row: HourRow,
}

impl Flight<'_, '_> {
    pub(super) fn hour(&mut self, met: Option<Met>) -> Result<(), PlanError> {
        self.row = HourRow::blank();
        let sky = met.and_then(|met| self.simulator.sky(met));
        match (met, sky) {
            (Some(met), Some(sky)) => {
                self.row.wind_m_s = Some(met.wind_m_s);
                self.row.gust_m_s = Some(met.wind_m_s + met.excess_m_s);
                self.row.broken = sky.broken;
                self.known_hour(&sky)?;
            }
            // No wind, or no solution near: what happens is not known. The stay is closed, the vehicle stays as it is.
            _ => {
                self.end_stay(StayEnd::Gap);
                self.end_outage();
                self.run.totals.gap_h += 1.0;
            }
        }
        self.row.charge_ratio = self.state.charge_ratio;
        self.run.rows.push(self.row);
        self.state.hours_done += 1;
        Ok(())
    }

    fn known_hour(&mut self, sky: &Sky) -> Result<(), PlanError> {
        let wall_before_wh = self.run.totals.wall_wh;
        self.state.good_hours_count =
            if sky.kept_down.is_none() { self.state.good_hours_count.saturating_add(1) } else { 0 };
        if let Some(code) = sky.broken
            && self.state.in_the_air
        {
            self.run.totals.forced_down_count += 1;
            self.come_down(StayEnd::Limit(code));
        }
        for _ in 0..BLOCKS_COUNT {
            self.block(sky)?;
        }
        let wall_w = self.run.totals.wall_wh - wall_before_wh;
        self.row.wall_w = wall_w;
        self.run.totals.largest_wall_w = self.run.totals.largest_wall_w.max(wall_w);
        if let Some(generator) = &self.simulator.generator {
            self.run.totals.fuel_l += generator.fuel_l_per_h(wall_w);
        }
        Ok(())
    }

    fn block(&mut self, sky: &Sky) -> Result<(), PlanError> {
        let part_s = HOUR_S / f64::from(BLOCKS_COUNT) / PARTS_COUNT as f64;
        if !self.state.in_the_air && self.may_launch(sky) {
            self.state.in_the_air = true;
            self.run.totals.launches_count += 1;
            self.end_outage();
            self.state.stay_s = 0.0;
            self.state.began_hour = self.state.hours_done;
        }
        for powers in sky.parts {
            let flown_s = match (self.state.in_the_air, &self.simulator.rules.mode) {
                (false, _) => 0.0,
                (true, OperationMode::Continuous) => self.in_the_air(powers, part_s)?,
                (true, OperationMode::DutyCycle { .. }) => self.in_turns(powers, part_s)?,
            };
            if part_s - flown_s > 1e-6 {
                self.on_the_ground(sky, part_s - flown_s)?;
            }
        }
        Ok(())
    }

    fn may_launch(&self, sky: &Sky) -> bool {
        let charged = self.simulator.battery.as_ref().is_none_or(|battery| {
            self.state.charge_ratio
                >= self.simulator.rules.launch_charge_ratio.min(battery.full_ratio() - 1e-9)
        });
        sky.kept_down.is_none()
            && charged
            && self.state.good_hours_count >= self.simulator.rules.launch_good_hours_count
    }

    /// Flies one part in turns: works until the battery is down to what is kept for the recovery, recharges at the supply until it
    /// may be launched again. How long it was in the air, s.
    fn in_turns(&mut self, powers: Powers, part_s: f64) -> Result<f64, PlanError> {
        let full_ratio = match &self.simulator.battery {
            Some(battery) => self.simulator.rules.launch_charge_ratio.min(battery.full_ratio()) - 1e-9,
            None => return self.in_the_air(self.simulator.at_work(powers), part_s),
        };
        let mut left_s = part_s;
        for _ in 0..MOST_TURNS {
            if left_s <= 1e-6 || !self.state.in_the_air {
                break;
            }
            if self.state.recharging {
                let resting = self.simulator.resting(powers);
                left_s -= self.in_the_air(resting, left_s.min(RECHARGE_STEP_S))?;
                self.state.recharging = self.state.in_the_air && self.state.charge_ratio < full_ratio;
            } else {
                left_s -= self.in_the_air(self.simulator.at_work(powers), left_s)?;
            }
        }
        Ok(part_s - left_s.max(0.0))
    }

    /// Flies one part; how long it stayed, s.
    fn in_the_air(&mut self, powers: Powers, part_s: f64) -> Result<f64, PlanError> {
        let short_w = powers.demand_w - powers.available_w;
        let mut flown_s = part_s;
        if short_w > 0.0 {
            let Some(battery) = &self.simulator.battery else {
                self.come_down(StayEnd::Power);
                return Ok(0.0);
            };
            let step = battery.step(self.state.charge_ratio, short_w, part_s).at("/battery")?;
            self.state.charge_ratio = step.state_of_charge;
            // A battery that holds through gives all but rounding.
            let given_ratio = (step.delivered_j / (short_w * part_s)).clamp(0.0, 1.0);
            flown_s = if given_ratio > 1.0 - 1e-9 { part_s } else { part_s * given_ratio };
            self.run.totals.battery_out_wh += step.delivered_j / HOUR_S;
            self.run.totals.riding_h += flown_s / HOUR_S;
            self.row.riding_s += flown_s;
            self.count(powers, flown_s, powers.available_w, powers.wall_w);
            if step.limit.is_some() {
                self.battery_down();
            }
            return Ok(flown_s);
        }
        let mut taken_w = 0.0;
        if let Some(battery) = &self.simulator.battery
            && self.state.charge_ratio < battery.full_ratio()
        {
            let step = battery.step(self.state.charge_ratio, short_w, part_s).at("/battery")?;
            self.state.charge_ratio = step.state_of_charge;
            taken_w = step.taken_j / part_s;
            self.run.totals.battery_in_wh += step.taken_j / HOUR_S;
        }
        // More at the bus costs more at the wall in the same proportion.
        let own_w = (powers.wall_w - self.simulator.housekeeping_w).max(0.0);
        let wall_w = powers.wall_w + own_w * taken_w / powers.demand_w.max(1e-9);
        self.count(powers, flown_s, powers.demand_w + taken_w, wall_w);
        Ok(flown_s)
    }

    fn count(&mut self, powers: Powers, flown_s: f64, delivered_w: f64, wall_w: f64) {
        let hours = flown_s / HOUR_S;
        if self.state.recharging {
            self.run.totals.recharging_h += hours;
            self.row.recharging_s += flown_s;
        } else {
            self.run.totals.on_station_h += hours;
            self.row.on_station_s += flown_s;
        }
        self.run.totals.demand_wh += powers.demand_w * hours;
        self.run.totals.delivered_wh += delivered_w * hours;
        self.run.totals.wall_wh += wall_w * hours;
        self.state.stay_s += flown_s;
    }

    fn on_the_ground(&mut self, sky: &Sky, time_s: f64) -> Result<(), PlanError> {
        let hours = time_s / HOUR_S;
        let mut wall_w = self.simulator.housekeeping_w;
        let mut charged = true;
        if let Some(battery) = &self.simulator.battery
            && self.state.charge_ratio < battery.full_ratio()
        {
            charged = self.state.charge_ratio >= self.simulator.rules.launch_charge_ratio;
            let offered_w = battery.max_charge_w(self.state.charge_ratio);
            let step = battery.step(self.state.charge_ratio, -offered_w, time_s).at("/battery")?;
            self.state.charge_ratio = step.state_of_charge;
            wall_w += step.taken_j / time_s / GROUND_CHARGER_RATIO;
            self.run.totals.battery_in_wh += step.taken_j / HOUR_S;
        }
        self.run.totals.wall_wh += wall_w * hours;
        self.state.outage_s += time_s;
        let short_of_hours = self.state.good_hours_count < self.simulator.rules.launch_good_hours_count;
        let kept_down = match sky.kept_down {
            Some(kept_down) => kept_down,
            None if short_of_hours => KeptDown::GoodHours,
            None => KeptDown::Charge,
        };
        match self.run.kept_down.iter_mut().find(|(known, _)| *known == kept_down) {
            Some((_, sum_h)) => *sum_h += hours,
            None => self.run.kept_down.push((kept_down, hours)),
        }
        let weather = kept_down != KeptDown::Charge;
        if weather || charged {
            self.run.totals.waiting_weather_h += hours;
        } else {
            self.run.totals.waiting_charge_h += hours;
        }
        Ok(())
    }

    /// The battery is down to what the recovery needs: from work it goes to the supply, from there it comes down.
    fn battery_down(&mut self) {
        let in_turns = matches!(self.simulator.rules.mode, OperationMode::DutyCycle { .. });
        if in_turns && !self.state.recharging {
            self.state.recharging = true;
        } else {
            self.come_down(StayEnd::Battery);
        }
    }

    fn come_down(&mut self, why: StayEnd) {
        self.end_stay(why);
        self.state.in_the_air = false;
        self.state.recharging = false;
    }

    pub(super) fn end_stay(&mut self, ended_by: StayEnd) {
        if self.state.in_the_air && self.state.stay_s > 0.0 {
            self.run.stays.push(Stay {
                began_hour: self.state.began_hour,
                duration_h: self.state.stay_s / HOUR_S,
                ended_by,
            });
        }
        self.state.stay_s = 0.0;
        // Where the stay goes on behind a gap it begins anew.
        self.state.began_hour = self.state.hours_done + 1;
    }

    pub(super) fn end_outage(&mut self) {
        if self.state.outage_s > 0.0 {
            self.run.outages_h.push(self.state.outage_s / HOUR_S);
        }
        self.state.outage_s = 0.0;
    }
}
