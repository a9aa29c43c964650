//! A battery carried through the legs of a descent, second by second.

use beamstay_electrical::{Battery, BatteryLimit};
use serde::Serialize;

use super::Phase;
use crate::error::{At, PlanError};

/// Longest step of the battery, s.
const STEP_S: f64 = 5.0;
/// Most steps of one leg.
const MOST_STEPS: f64 = 400.0;

/// A stretch of time at one power.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Leg {
    /// What is done.
    pub phase: Phase,
    /// How long, s.
    pub duration_s: f64,
    /// Power drawn from the battery, W.
    pub power_w: f64,
    /// Height at its start, m.
    pub from_height_m: f64,
    /// Height at its end, m.
    pub to_height_m: f64,
}

/// The battery at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RideRow {
    /// Time since the light was lost, s.
    pub time_s: f64,
    /// What is done.
    pub phase: Phase,
    /// Height, m.
    pub height_m: f64,
    /// Power drawn, W.
    pub power_w: f64,
    /// Charge left, over full.
    pub charge_ratio: f64,
    /// Voltage at the terminals, V.
    pub voltage_v: f64,
}

/// Where the battery gave up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GaveUp {
    /// Time since the light was lost, s.
    pub time_s: f64,
    /// Height, m.
    pub height_m: f64,
    /// What ended it.
    pub by: BatteryEnd,
}

/// What ended a discharge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum BatteryEnd {
    /// Only the part to be left untouched is left, or nothing.
    Charge,
    /// The cells fall under their lowest voltage.
    Voltage,
    /// The current is over the allowed rate.
    Current,
    /// No current gives that power through the cells' resistance.
    PowerTransfer,
    /// The cells are too cold or too hot.
    Temperature,
}

impl BatteryEnd {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Charge => "its charge is used up",
            Self::Voltage => "its voltage falls under the least allowed",
            Self::Current => "its current is over the allowed rate",
            Self::PowerTransfer => "no current gives that power through its resistance",
            Self::Temperature => "its cells are outside their temperatures",
        }
    }
}

impl From<BatteryLimit> for BatteryEnd {
    fn from(limit: BatteryLimit) -> Self {
        match limit {
            BatteryLimit::Voltage => Self::Voltage,
            BatteryLimit::Current => Self::Current,
            BatteryLimit::PowerTransfer => Self::PowerTransfer,
            BatteryLimit::Temperature => Self::Temperature,
            BatteryLimit::Depth | BatteryLimit::Full => Self::Charge,
        }
    }
}

/// A ride through all legs, or until the battery gives up.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ride {
    pub rows: Vec<RideRow>,
    pub delivered_j: f64,
    pub heat_j: f64,
    /// Fall of the energy stored in the cells, J.
    pub stored_j: f64,
    pub end_charge_ratio: f64,
    pub least_voltage_v: f64,
    pub gave_up: Option<GaveUp>,
}

/// Draws the legs one after the other from a state of charge.
pub(super) fn ride(battery: &Battery, start_ratio: f64, legs: &[Leg]) -> Result<Ride, PlanError> {
    let mut charge = start_ratio;
    let mut ride = Ride {
        rows: Vec::with_capacity(legs.len() + 16),
        delivered_j: 0.0,
        heat_j: 0.0,
        stored_j: 0.0,
        end_charge_ratio: charge,
        least_voltage_v: battery.open_circuit_v(charge),
        gave_up: None,
    };
    let mut time_s = 0.0;
    for leg in legs.iter().filter(|leg| leg.duration_s > 0.0) {
        let steps = (leg.duration_s / STEP_S).ceil().clamp(1.0, MOST_STEPS);
        let step_s = leg.duration_s / steps;
        for i in 0..steps as u32 {
            let step = battery.step(charge, leg.power_w, step_s).at("/battery")?;
            charge = step.state_of_charge;
            ride.delivered_j += step.delivered_j;
            ride.heat_j += step.loss_j;
            ride.stored_j -= step.stored_change_j;
            let share = if leg.power_w > 0.0 { step.delivered_j / (leg.power_w * step_s) } else { 1.0 };
            time_s += step_s * share;
            let done = (f64::from(i) + share) / steps;
            let height_m = leg.from_height_m + (leg.to_height_m - leg.from_height_m) * done;
            ride.least_voltage_v = ride.least_voltage_v.min(step.voltage_v);
            ride.end_charge_ratio = charge;
            ride.rows.push(RideRow {
                time_s,
                phase: leg.phase,
                height_m,
                power_w: leg.power_w,
                charge_ratio: charge,
                voltage_v: step.voltage_v,
            });
            if let Some(limit) = step.limit {
                ride.gave_up = Some(GaveUp { time_s, height_m, by: limit.into() });
                return Ok(ride);
            }
        }
    }
    Ok(ride)
}
