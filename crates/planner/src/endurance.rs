//! A plan flown through time: hours of wind and gust in; hours on station, stays, outages, energy and fuel out.
//!
//! The operating points over wind, gust and temperature are computed once; each hour then is an interpolation, and inside it
//! the wind is spread as its gust says. The planner reads no file: a weather record comes in as a series.

mod curve;
mod duty;
mod flight;
mod hours;
mod log;
mod sheet;
mod simulate;

use beamstay_electrical::Generator;
use beamstay_environment::WeatherSeries;
use serde::Serialize;

pub use duty::{DutySchedule, Turn};
pub use hours::Record;
pub use log::{Handover, HourRow, KeptDown, Stay, StayEnd, Totals};

use crate::{
    Loaded,
    caution::cautions,
    digest::digest,
    document::Document,
    error::{At, PlanError},
    scenario::{OperationMode, Scenario, Weather},
    system::{System, Way},
};
use curve::Curve;
use log::Run;
use simulate::Simulator;

/// Upper ends of the classes of stays, h; the last class has none.
pub const STAY_CLASSES_H: [f64; 7] = [1.0, 3.0, 6.0, 12.0, 24.0, 72.0, 168.0];
/// Lengths for which the chance of an unbroken stay is counted, h.
const WINDOWS_H: [usize; 3] = [6, 24, 72];

/// How many stays or outages there are, and how long.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Distribution {
    /// How many.
    pub count: usize,
    /// Longest, h.
    pub longest_h: f64,
    /// Median, h.
    pub median_h: f64,
    /// Mean, h.
    pub mean_h: f64,
    /// How many in each class: up to 1, 3, 6, 12, 24, 72, 168 h, and longer.
    pub classes_count: [usize; 8],
}

/// How often what ended a stay.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EndRow {
    /// What.
    pub ended_by: StayEnd,
    /// How often.
    pub count: usize,
}

/// How long what kept it on the ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct KeptRow {
    /// What.
    pub kept_down_by: KeptDown,
    /// How long, h.
    pub duration_h: f64,
}

/// Chance that consecutive hours are all spent on station; in turns of work and recharge, in the air.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Window {
    /// Length, h.
    pub length_h: usize,
    /// Share of the windows without a gap in which it stays all the time.
    pub share: f64,
    /// What it would be if hours were independent; they are not.
    pub if_independent: f64,
    /// Windows.
    pub windows_count: usize,
}

/// Fuel of the generator.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fuel {
    /// Fuel in all, L.
    pub fuel_l: f64,
    /// Fuel per hour in the mean, L/h.
    pub mean_l_per_h: f64,
    /// Hours on a tank in the mean.
    pub tank_h: f64,
    /// Largest mean wall power of an hour over the rating.
    pub largest_load_ratio: f64,
}

/// A plan flown through time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EnduranceReport {
    /// Title of the scenario.
    pub title: String,
    /// Where the hours come from.
    pub record: Record,
    /// Sums.
    pub totals: Totals,
    /// Time on station over time with a record.
    pub on_station_ratio: f64,
    /// Wall power while on station and waiting, in the mean, W.
    pub mean_wall_w: f64,
    /// Stays on station.
    pub stays: Distribution,
    /// Outages between them.
    pub outages: Distribution,
    /// What ended the stays, the commonest first.
    pub ended_by: Vec<EndRow>,
    /// What kept it on the ground, the longest first.
    pub kept_down_by: Vec<KeptRow>,
    /// Chances of unbroken stays.
    pub windows: Vec<Window>,
    /// Lowest charge of the battery, over full; none without one.
    pub lowest_charge_ratio: Option<f64>,
    /// Charge at which it comes down, over full.
    pub recovery_charge_ratio: Option<f64>,
    /// Fuel; none without a generator.
    pub fuel: Option<Fuel>,
    /// Work and recharge in turns in steady weather, where the scenario asks for it; in changing weather the hours tell.
    pub duty: Option<DutySchedule>,
    /// Operating points of the curve that did not converge.
    pub unconverged_count: u32,
    /// What the next run begins with.
    pub handover: Handover,
    /// All stays.
    pub all_stays: Vec<Stay>,
    /// Hour by hour; not part of the JSON.
    #[serde(skip)]
    pub rows: Vec<HourRow>,
    /// Label of each hour.
    #[serde(skip)]
    pub labels: Vec<String>,
    /// Cautions, the gravest first.
    pub cautions: Vec<&'static str>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

impl EnduranceReport {
    /// Whether it can do its work at all.
    pub fn flies(&self) -> bool {
        match &self.duty {
            Some(duty) => duty.duty_ratio > 0.0,
            None => self.totals.on_station_h > 0.0,
        }
    }
}

/// Flies a scenario through its weather; `series` is the record that the scenario names.
///
/// # Errors
/// [`PlanError`]: a record that is named and not given, turns of work and recharge without a battery, parts that
/// do not go together.
pub fn endurance_report(
    document: &Document,
    loaded: &Loaded,
    series: Option<&WeatherSeries>,
) -> Result<EnduranceReport, PlanError> {
    let prepared = Prepared::new(&loaded.scenario, series)?;
    let simulator = prepared.simulator(&loaded.scenario)?;
    let mets: Vec<_> = prepared.hours.hours.iter().map(|hour| hour.met).collect();
    let (run, handover) = simulator.fly(&mets, &simulator.begin(), true)?;
    let scenario = &loaded.scenario;
    let point = prepared.system.operate(&prepared.place)?;
    let known_h = run.totals.known_h();
    let lowest = run.rows.iter().map(|row| row.charge_ratio).fold(f64::INFINITY, f64::min);
    Ok(EnduranceReport {
        title: scenario.title.clone(),
        on_station_ratio: if known_h > 0.0 { run.totals.on_station_h / known_h } else { 0.0 },
        mean_wall_w: if known_h > 0.0 { run.totals.wall_wh / known_h } else { 0.0 },
        stays: distribution(run.stays.iter().map(|stay| stay.duration_h)),
        outages: distribution(run.outages_h.iter().copied()),
        ended_by: ends(&run),
        kept_down_by: kept_down(&run),
        windows: windows(&run),
        lowest_charge_ratio: prepared.system.battery.is_some().then_some(lowest).filter(|l| l.is_finite()),
        recovery_charge_ratio: simulator.recovery_ratio(),
        fuel: fuel(scenario, &run),
        duty: prepared.duty(scenario)?,
        unconverged_count: prepared.curve.unconverged_count,
        totals: run.totals,
        handover,
        all_stays: run.stays,
        rows: run.rows,
        labels: prepared.hours.labels,
        record: prepared.hours.record,
        cautions: cautions(scenario, &point),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// Everything that is computed before the first hour.
struct Prepared {
    system: System,
    place: crate::Place,
    curve: Curve,
    hours: hours::Hours,
}

impl Prepared {
    fn new(scenario: &Scenario, series: Option<&WeatherSeries>) -> Result<Self, PlanError> {
        let in_turns = matches!(scenario.operations.mode, OperationMode::DutyCycle { .. });
        if in_turns && scenario.battery.is_none() {
            return Err(PlanError::needs("/operations/mode", "turns of work and recharge", "\"battery\""));
        }
        let system = System::new(scenario)?;
        let place = system.place(&scenario.station)?;
        let station_ratio = curve::station_ratio(scenario, &system, &place);
        let hours = hours::hours(scenario, &system, &place, station_ratio, series)?;
        let (most, coldest_k) = hours.extremes();
        // The launch rule looks at stronger winds than any recorded.
        let factor = 1.0 + scenario.operations.launch_margin_ratio;
        let most = curve::Met {
            wind_m_s: factor * most.wind_m_s + 0.5 * most.excess_m_s,
            excess_m_s: factor * most.excess_m_s,
            ..most
        };
        Ok(Self { curve: Curve::new(scenario, most, coldest_k)?, system, place, hours })
    }

    fn simulator<'a>(&'a self, scenario: &'a Scenario) -> Result<Simulator<'a>, PlanError> {
        let height_m = (self.place.position_m.z + self.system.surroundings.exit_height_m).abs();
        let demand_w = self.curve.powers(0.0, scenario.site.temperature_offset_k).map_or(0.0, |p| p.demand_w);
        let recovery_j = if self.system.craft.is_held() {
            demand_w * height_m / scenario.operations.recovery_rate_m_s
        } else {
            0.0
        };
        let generator = scenario
            .ground
            .generator
            .as_ref()
            .map(|set| Generator::new(set.rated_w, set.no_load_l_per_h, set.slope_l_per_kwh))
            .transpose()
            .at("/ground/generator")?;
        Simulator::new(
            &self.curve,
            &scenario.operations,
            self.system.battery.as_ref(),
            recovery_j,
            generator,
            self.system.housekeeping_w,
            scenario.operations.launches_on_deficit || matches!(self.system.way, Way::Battery),
        )
    }

    fn duty(&self, scenario: &Scenario) -> Result<Option<DutySchedule>, PlanError> {
        let OperationMode::DutyCycle { supply_at_work_ratio, rest_power_w } = scenario.operations.mode else {
            return Ok(None);
        };
        let changing =
            matches!(scenario.site.weather, Some(Weather::File { .. } | Weather::GustPattern { .. }));
        let Some(battery) = self.system.battery.as_ref().filter(|_| !changing) else { return Ok(None) };
        let met = self.hours.hours.first().and_then(|hour| hour.met);
        let powers = met.and_then(|met| self.curve.powers(met.wind_m_s, met.offset_k));
        match powers {
            Some(powers) => duty::schedule(
                battery,
                &powers,
                supply_at_work_ratio,
                rest_power_w,
                scenario.operations.launch_charge_ratio,
            ),
            None => Ok(None),
        }
    }
}

fn distribution(durations_h: impl Iterator<Item = f64>) -> Distribution {
    let mut sorted: Vec<f64> = durations_h.collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let count = sorted.len();
    let mut classes_count = [0; 8];
    for duration_h in &sorted {
        let class = STAY_CLASSES_H.iter().position(|end| duration_h <= end).unwrap_or(STAY_CLASSES_H.len());
        classes_count[class] += 1;
    }
    let median_h = match count {
        0 => 0.0,
        n => 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]),
    };
    Distribution {
        count,
        longest_h: sorted.last().copied().unwrap_or(0.0),
        median_h,
        mean_h: if count > 0 { sorted.iter().sum::<f64>() / count as f64 } else { 0.0 },
        classes_count,
    }
}

fn ends(run: &Run) -> Vec<EndRow> {
    let mut rows: Vec<EndRow> = Vec::new();
    for stay in &run.stays {
        match rows.iter_mut().find(|row| row.ended_by == stay.ended_by) {
            Some(row) => row.count += 1,
            None => rows.push(EndRow { ended_by: stay.ended_by, count: 1 }),
        }
    }
    rows.sort_by(|a, b| b.count.cmp(&a.count).then(a.ended_by.cmp(&b.ended_by)));
    rows
}

fn kept_down(run: &Run) -> Vec<KeptRow> {
    let row = |(kept_down_by, duration_h): &(KeptDown, f64)| KeptRow {
        kept_down_by: *kept_down_by,
        duration_h: *duration_h,
    };
    let mut rows: Vec<KeptRow> = run.kept_down.iter().map(row).collect();
    rows.sort_by(|a, b| b.duration_h.total_cmp(&a.duration_h));
    rows
}

fn windows(run: &Run) -> Vec<Window> {
    let whole = |row: &HourRow| row.wind_m_s.map(|_| row.on_station_s + row.recharging_s > 3600.0 - 1e-3);
    let known: Vec<Option<bool>> = run.rows.iter().map(whole).collect();
    let counted = known.iter().flatten().count().max(1) as f64;
    let hourly = known.iter().flatten().filter(|good| **good).count() as f64 / counted;
    WINDOWS_H
        .iter()
        .filter_map(|length| {
            let (mut known_run, mut good_run, mut windows_count, mut good_count) = (0, 0, 0_usize, 0_usize);
            for hour in &known {
                known_run = if hour.is_some() { known_run + 1 } else { 0 };
                good_run = if *hour == Some(true) { good_run + 1 } else { 0 };
                windows_count += usize::from(known_run >= *length);
                good_count += usize::from(good_run >= *length);
            }
            (windows_count > 0).then(|| Window {
                length_h: *length,
                share: good_count as f64 / windows_count as f64,
                if_independent: hourly.powi(*length as i32),
                windows_count,
            })
        })
        .collect()
}

fn fuel(scenario: &Scenario, run: &Run) -> Option<Fuel> {
    let set = scenario.ground.generator.as_ref()?;
    let known_h = run.totals.known_h();
    let mean_l_per_h = if known_h > 0.0 { run.totals.fuel_l / known_h } else { 0.0 };
    Some(Fuel {
        fuel_l: run.totals.fuel_l,
        mean_l_per_h,
        tank_h: if mean_l_per_h > 0.0 { set.tank_l / mean_l_per_h } else { f64::MAX },
        largest_load_ratio: run.totals.largest_wall_w / set.rated_w,
    })
}

#[cfg(test)]
mod tests;
