//! The drill for the loss of light: from the instant it is lost to the vehicle on the ground, or not.
//!
//! The vehicle rides on its battery while the loss is noticed, comes down at the best rate that keeps clear of the vortex
//! ring state and of its own tether, and hovers a while for the landing. Each power is that of flight in the mean wind at
//! its height, never less than hover; the battery must also be able to give the power of the gust at its weakest moment.

mod battery;
mod cause;
mod descent;
mod reach;
mod ride;
mod scene;
mod unpowered;
mod verdict;

use serde::Serialize;

pub use battery::SmallestBattery;
pub use cause::CauseRow;
pub use descent::{BestRate, RateBound, RateRow};
pub use reach::{Reach, TetherReach};
pub use ride::{BatteryEnd, GaveUp, Leg, RideRow};

use crate::{
    Loaded, caution::cautions, digest::digest, document::Document, error::PlanError, system::System,
};
use scene::Scene;

/// What is done at a moment of the drill.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Holds its place while the loss is noticed and the light is waited for.
    Hold,
    /// Comes down (of a swimmer: up).
    Descent,
    /// Hovers or circles for the landing.
    Landing,
}

/// How it ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Lands with everything that was asked for.
    Lands,
    /// Reaches the ground, but only on the part of the battery or of the landing time that was to stay untouched.
    LandsOnReserve,
    /// The battery ends in the air.
    Falls,
    /// No battery is on board.
    Lost,
    /// Comes to the surface by its own buoyancy.
    Floats,
    /// Sinks, and is held and hauled up by its tether.
    Hauled,
    /// Does not fly: it stands without power once its battery is empty.
    Stands,
}

impl Outcome {
    /// Whether the vehicle comes back as it should.
    pub fn is_safe(self) -> bool {
        matches!(self, Self::Lands | Self::Floats | Self::Hauled | Self::Stands)
    }

    /// In words, for a verdict.
    pub fn words(self) -> &'static str {
        match self {
            Self::Lands => "LANDS",
            Self::LandsOnReserve => "DOES NOT LAND SAFELY: it lands only on what was to stay untouched",
            Self::Falls => "DOES NOT LAND: IT FALLS",
            Self::Lost => "NO BATTERY: LOSS OF LIGHT IS LOSS OF THE AIRCRAFT",
            Self::Floats => "COMES UP BY ITSELF",
            Self::Hauled => "SINKS AND IS HAULED UP BY ITS TETHER",
            Self::Stands => "STANDS WITHOUT POWER",
        }
    }
}

/// One cause worked through.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drill {
    /// The cause.
    pub cause: CauseRow,
    /// How it ends.
    pub outcome: Outcome,
    /// Why it does not end well, in words; empty if it does.
    pub reason: String,
    /// Rate of descent, of a vehicle that flies.
    pub rate: Option<BestRate>,
    /// Whether the rotors are in the vortex ring state somewhere on the way: never planned, told if limits force it.
    pub in_vortex_ring: bool,
    /// Speed at which the winch must reel in so that the tether stays clear of the rotors, m/s; none without one to reel.
    pub reel_speed_m_s: Option<f64>,
    /// Time from the loss to the ground, landing hover included, s.
    pub time_s: f64,
    /// Energy that takes at the terminals of the battery, J.
    pub needed_j: f64,
    /// Energy that the battery gives at the mean of that power from the charge it starts with down to the part left untouched,
    /// J; 0 without a battery.
    pub usable_j: f64,
    /// Power of the gust, which the battery must give at its weakest moment, W.
    pub peak_w: f64,
    /// What it can give then, W.
    pub peak_available_w: f64,
    /// Charge at the end, over full.
    pub end_charge_ratio: Option<f64>,
    /// Charge to be left untouched.
    pub floor_ratio: Option<f64>,
    /// Lowest voltage at the terminals, V, and the lowest allowed.
    pub least_voltage_v: Option<f64>,
    /// Lowest voltage allowed, V.
    pub cutoff_v: Option<f64>,
    /// Where the battery gives up with nothing left untouched; none if it does not.
    pub gave_up: Option<GaveUp>,
    /// The stretches of time.
    pub legs: Vec<Leg>,
    /// The battery over time.
    pub rows: Vec<RideRow>,
    /// Energy drawn less energy of the legs, over the latter; 0 if it closes.
    pub energy_closure_ratio: f64,
    /// Where vehicle and tether can come down.
    pub reach: Reach,
}

/// The drill of a scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightLossReport {
    /// Title of the scenario.
    pub title: String,
    /// Whether every cause ends well.
    pub safe: bool,
    /// The causes, the worst first.
    pub drills: Vec<Drill>,
    /// Time and energy over the rate of descent for the worst cause; empty for what does not hover.
    pub rates: Vec<RateRow>,
    /// The smallest battery with which every cause ends well; none if none does or none is needed.
    pub smallest_battery: Option<SmallestBattery>,
    /// Whether the operating point itself closes.
    pub point_closes: bool,
    /// Cautions, the gravest first.
    pub cautions: Vec<&'static str>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

impl LightLossReport {
    /// The worst cause.
    pub fn worst(&self) -> Option<&Drill> {
        self.drills.first()
    }
}

/// Works through the loss of light.
///
/// # Errors
/// [`PlanError`]: a delivery that cannot be lost, a cause that it does not have, parts that do not go together.
pub fn light_loss_report(document: &Document, loaded: &Loaded) -> Result<LightLossReport, PlanError> {
    let scenario = &loaded.scenario;
    let system = System::new(scenario)?;
    let place = system.place(&scenario.station)?;
    let solved = system.solve(&place, None)?;
    let gust = system.surroundings.gust_at(place.position_m.z)?;
    let scene = Scene { scenario, system: &system, place, solved: &solved, gust };
    let worked = scene.work_through()?;
    let mut drills: Vec<Drill> = worked.drills;
    drills.sort_by(|a, b| severity(b).total_cmp(&severity(a)));
    Ok(LightLossReport {
        title: scenario.title.clone(),
        safe: drills.iter().all(|drill| drill.outcome.is_safe()),
        rates: worked.rates,
        smallest_battery: worked.smallest,
        drills,
        point_closes: solved.point.feasible,
        cautions: cautions(scenario, &solved.point),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// How bad a drill ends; the larger, the worse.
fn severity(drill: &Drill) -> f64 {
    let rank = match drill.outcome {
        Outcome::Lost => 4.0,
        Outcome::Falls => 3.0,
        Outcome::LandsOnReserve => 2.0,
        _ => 1.0,
    };
    // Of equals, the one that takes most energy, then the one that lets most light out.
    1e9 * rank + drill.needed_j + 1e-6 * drill.cause.escaping_w
}

#[cfg(test)]
mod tests;
