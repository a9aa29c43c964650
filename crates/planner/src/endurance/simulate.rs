//! Hours flown one after the other: on station, riding on the battery, forced down, waiting.

use beamstay_electrical::{Battery, BatterySpec, Generator};
use serde::Serialize;

use super::curve::{Curve, Met, Powers};
use crate::{
    error::{At, PlanError},
    limit::LimitCode,
    scenario::{OperationMode, Operations},
};

/// Blocks of an hour, and parts of a block: in each block the part of the strongest wind comes first, which is the harder
/// order for the battery. Ten minutes is the time over which a mean wind is taken; gusts are shorter (the gap of the wind's
/// spectrum, van der Hoven 1957, from memory).
const BLOCKS_COUNT: u32 = 6;
const PARTS_COUNT: usize = 5;
/// Wind of each part of equal length, in standard deviations over the mean: a normal distribution in five equal shares,
/// scaled to its own deviation.
const PARTS: [f64; PARTS_COUNT] = [1.463, 0.599, 0.0, -0.599, -1.463];
/// Peak of the gust over the mean, in standard deviations; 3 is usual (MIL-F-8785C practice).
const PEAK_DEVIATIONS: f64 = 3.0;
/// Power into the charger over power from the wall, on the ground (common practice, no source).
const GROUND_CHARGER_RATIO: f64 = 0.9;
const HOUR_S: f64 = 3600.0;
/// Changes between work and recharge, and steps of recharge, within a part of a block, at most; and such a step, s.
const MOST_TURNS: u32 = 64;
const RECHARGE_STEP_S: f64 = 20.0;
/// Least power that is reckoned with at rest, W.
const LEAST_REST_W: f64 = 1e-3;

/// Why a stay ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StayEnd {
    /// A limit would have been broken.
    Limit(LimitCode),
    /// The battery came down to what is kept for the recovery.
    Battery,
    /// The delivery fell short and no battery is on board.
    Power,
    /// The record has a gap: what happened then is not known.
    Gap,
    /// The record ends; the stay may have gone on.
    RecordEnd,
}

impl StayEnd {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Limit(code) => code.words().name,
            Self::Battery => "battery down to what the recovery needs",
            Self::Power => "power short, no battery on board",
            Self::Gap => "gap in the record",
            Self::RecordEnd => "end of the record",
        }
    }
}

/// Why it waits on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum KeptDown {
    /// A limit is broken.
    Limit(LimitCode),
    /// A limit would be broken in winds stronger by the launch margin.
    LaunchMargin(LimitCode),
    /// The supply does not carry the hour.
    Supply,
    /// The weather is good, but not for long enough yet.
    GoodHours,
    /// The battery is not charged enough for a launch.
    Charge,
}

impl KeptDown {
    /// In words.
    pub fn words(self) -> String {
        match self {
            Self::Limit(code) => code.words().name.to_owned(),
            Self::LaunchMargin(code) => format!("{} within the launch margin", code.words().name),
            Self::Supply => "supply short of what it needs".into(),
            Self::GoodHours => "good weather, not yet for long enough".into(),
            Self::Charge => "battery not charged for a launch".into(),
        }
    }
}

/// One stay on station.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stay {
    /// Hour in which it began, counted over all runs from 0.
    pub began_hour: usize,
    /// How long, h.
    pub duration_h: f64,
    /// What ended it.
    pub ended_by: StayEnd,
}

/// What is handed over from one run to the next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Handover {
    /// Charge of the battery, over full; 0 without one.
    pub charge_ratio: f64,
    /// Whether it is in the air.
    pub in_the_air: bool,
    /// Whether it is at the supply to recharge, in turns of work and recharge.
    pub recharging: bool,
    /// Length of the stay that goes on, s.
    pub stay_s: f64,
    /// Hour in which it began.
    pub began_hour: usize,
    /// Length of the outage that goes on, s.
    pub outage_s: f64,
    /// Hours in a row that were good enough for a launch.
    pub good_hours_count: u32,
    /// Hours flown in all runs.
    pub hours_done: usize,
}

/// Sums over a run.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize)]
pub struct Totals {
    /// Time on station, h; riding on the battery is part of it. In turns of work and recharge: time at work.
    pub on_station_h: f64,
    /// Time in the air at the supply to recharge, between two turns of work, h; 0 in continuous operation.
    pub recharging_h: f64,
    /// Time on station with the battery giving what the delivery lacks, h.
    pub riding_h: f64,
    /// Time on the ground for the weather, h.
    pub waiting_weather_h: f64,
    /// Time on the ground for the battery, h.
    pub waiting_charge_h: f64,
    /// Time without a record, h.
    pub gap_h: f64,
    /// Times it was forced down by a limit.
    pub forced_down_count: usize,
    /// Launches.
    pub launches_count: usize,
    /// Energy drawn by vehicle and payload on station, Wh.
    pub demand_wh: f64,
    /// Energy from the delivery, charging included, Wh.
    pub delivered_wh: f64,
    /// Energy that the battery gave, Wh.
    pub battery_out_wh: f64,
    /// Energy that the battery took, in the air and on the ground, Wh.
    pub battery_in_wh: f64,
    /// Energy from the wall, Wh.
    pub wall_wh: f64,
    /// Fuel, L; 0 without a generator.
    pub fuel_l: f64,
    /// Largest mean wall power of an hour, W.
    pub largest_wall_w: f64,
}

impl Totals {
    /// Time with a record, h.
    pub fn known_h(&self) -> f64 {
        self.on_station_h + self.recharging_h + self.waiting_weather_h + self.waiting_charge_h
    }
}

/// One hour of the timeline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HourRow {
    /// Mean wind at the anemometer, m/s; none in a gap.
    pub wind_m_s: Option<f64>,
    /// Gust at the anemometer, m/s.
    pub gust_m_s: Option<f64>,
    /// Time on station, s.
    pub on_station_s: f64,
    /// Time riding on the battery, s.
    pub riding_s: f64,
    /// Time in the air to recharge between turns of work, s.
    pub recharging_s: f64,
    /// Charge at the end, over full.
    pub charge_ratio: f64,
    /// Mean wall power, W.
    pub wall_w: f64,
    /// Limit that forbids to stay, if one does.
    pub broken: Option<LimitCode>,
}

/// A run through hours.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Run {
    pub totals: Totals,
    pub stays: Vec<Stay>,
    pub outages_h: Vec<f64>,
    /// Hours on the ground by reason.
    pub kept_down: Vec<(KeptDown, f64)>,
    pub rows: Vec<HourRow>,
}

/// What flies.
pub(super) struct Simulator<'a> {
    curve: &'a Curve,
    rules: &'a Operations,
    battery: Option<Battery>,
    generator: Option<Generator>,
    housekeeping_w: f64,
    /// Whether it launches in hours in which the supply alone does not carry it.
    rides_deficit: bool,
}

/// What an hour offers.
struct Sky {
    broken: Option<LimitCode>,
    /// What forbids a launch.
    kept_down: Option<KeptDown>,
    parts: [Powers; PARTS_COUNT],
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
        let mut flight = Flight { simulator: self, state: *from, run: Run::default(), row: blank() };
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
    fn at_work(&self, powers: Powers) -> Powers {
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
    fn resting(&self, powers: Powers) -> Powers {
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
    fn sky(&self, met: Met) -> Option<Sky> {
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

fn blank() -> HourRow {
    HourRow {
        wind_m_s: None,
        gust_m_s: None,
        on_station_s: 0.0,
        riding_s: 0.0,
        recharging_s: 0.0,
        charge_ratio: 0.0,
        wall_w: 0.0,
        broken: None,
    }
}

struct Flight<'a, 'b> {
    simulator: &'b Simulator<'a>,
    state: Handover,
    run: Run,
    row: HourRow,
}

impl Flight<'_, '_> {
    fn hour(&mut self, met: Option<Met>) -> Result<(), PlanError> {
        self.row = blank();
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

    fn end_stay(&mut self, ended_by: StayEnd) {
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

    fn end_outage(&mut self) {
        if self.state.outage_s > 0.0 {
            self.run.outages_h.push(self.state.outage_s / HOUR_S);
        }
        self.state.outage_s = 0.0;
    }
}
