//! The smallest battery with which every cause ends well.

use beamstay_electrical::{Battery, BatterySpec};
use serde::Serialize;

use super::{
    Outcome,
    scene::{Prepared, Scene},
    verdict::judge,
};
use crate::error::{At, PlanError};

/// Capacities tried, over that of the battery on board (or of the template): geometric from the least to the largest.
const LEAST_SCALE: f64 = 0.01;
const LARGEST_SCALE: f64 = 100.0;
const SCALES_COUNT: u32 = 33;
/// How near the smallest battery is found, relative.
const TOLERANCE: f64 = 1e-4;
/// Cells in series and energy, Wh, of the template where no battery is on board.
const TEMPLATE_SERIES_COUNT: u32 = 6;
const TEMPLATE_WH: f64 = 100.0;

/// A battery just large enough.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SmallestBattery {
    /// Cells in series.
    pub series_count: u32,
    /// Capacity, Ah.
    pub capacity_ah: f64,
    /// Energy of the full new pack, Wh.
    pub energy_wh: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Mass in the air with it, tether not counted, kg.
    pub total_mass_kg: f64,
    /// Whether the battery on board, if there is one, is at least as large.
    pub on_board_is_enough: bool,
}

/// The same cells with nothing left untouched.
pub(super) fn emptied(battery: &Battery) -> Result<Battery, PlanError> {
    Battery::new(BatterySpec { floor_ratio: 0.0, ..battery.spec().clone() }).at("/battery")
}

/// The same cells with another capacity: resistance goes down and mass goes up with it.
fn scaled(spec: &BatterySpec, scale: f64) -> Result<Battery, PlanError> {
    Battery::new(BatterySpec {
        cell_capacity_coulomb: spec.cell_capacity_coulomb * scale,
        cell_resistance_ohm: spec.cell_resistance_ohm / scale,
        ..spec.clone()
    })
    .at("/battery")
}

impl Scene<'_> {
    /// The smallest battery of the cells on board, or of a common pack where there is none.
    pub(super) fn smallest_battery(
        &self,
        prepared: &[Prepared<'_>],
    ) -> Result<Option<SmallestBattery>, PlanError> {
        if prepared.is_empty() {
            return Ok(None);
        }
        let spec = self.template();
        let lands = |scale: f64| self.lands(prepared, &spec, scale);
        let step = (LARGEST_SCALE / LEAST_SCALE).ln() / f64::from(SCALES_COUNT - 1);
        let mut failing = None;
        for i in 0..SCALES_COUNT {
            let scale = LEAST_SCALE * (step * f64::from(i)).exp();
            if !lands(scale) {
                failing = Some(scale);
                continue;
            }
            let smallest = match failing {
                Some(low) => halve(low, scale, lands),
                None => scale,
            };
            return self.named(&spec, smallest).map(Some);
        }
        Ok(None)
    }

    fn template(&self) -> BatterySpec {
        match &self.system.battery {
            Some(battery) => battery.spec().clone(),
            None => BatterySpec {
                floor_ratio: self.scenario.limits.battery_untouched_ratio,
                ..BatterySpec::polymer(3600.0 * TEMPLATE_WH, TEMPLATE_SERIES_COUNT)
            },
        }
    }

    /// Whether every cause ends well with a battery of that scale. What a model refuses does not.
    fn lands(&self, prepared: &[Prepared<'_>], spec: &BatterySpec, scale: f64) -> bool {
        let Ok(battery) = scaled(spec, scale) else { return false };
        let masses = &self.system.masses;
        let mass_kg = masses.total_kg() - masses.battery_kg + battery.mass_kg();
        prepared.iter().all(|one| {
            let ends = |legs: &[super::Leg], peak_w: f64| {
                judge(&battery, self.scenario.light_loss.start_charge_ratio, legs, peak_w)
                    .is_ok_and(|verdict| verdict.outcome == Outcome::Lands)
            };
            match one {
                Prepared::Rotors { model, way } => {
                    self.fly(model, way, mass_kg).is_ok_and(|flight| ends(&flight.legs, flight.peak_w))
                }
                Prepared::Wing(wing) => {
                    self.glide(wing, mass_kg).is_ok_and(|glide| ends(&glide.flight.legs, glide.flight.peak_w))
                }
            }
        })
    }

    fn named(&self, spec: &BatterySpec, scale: f64) -> Result<SmallestBattery, PlanError> {
        let battery = scaled(spec, scale)?;
        let masses = &self.system.masses;
        let parallel = f64::from(spec.parallel_count);
        Ok(SmallestBattery {
            series_count: spec.series_count,
            capacity_ah: battery.spec().cell_capacity_coulomb * parallel / 3600.0,
            energy_wh: battery.mass_kg() * spec.specific_energy_j_per_kg / 3600.0,
            mass_kg: battery.mass_kg(),
            total_mass_kg: masses.total_kg() - masses.battery_kg + battery.mass_kg(),
            on_board_is_enough: self.system.battery.is_some() && scale <= 1.0,
        })
    }
}

/// The scale at which landing begins, between one that fails and one that lands; the one that lands is handed out.
fn halve(mut fails: f64, mut lands_at: f64, lands: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..60 {
        if lands_at / fails < 1.0 + TOLERANCE {
            break;
        }
        let middle = (fails * lands_at).sqrt();
        if lands(middle) { lands_at = middle } else { fails = middle }
    }
    lands_at
}
