//! What is written down of hours flown: stays and what ended them, sums, rows of the timeline, and what one run hands to the
//! next.

use serde::Serialize;

use crate::limit::LimitCode;

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

impl HourRow {
    /// An hour of which nothing is known yet.
    pub(super) fn blank() -> Self {
        Self {
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
