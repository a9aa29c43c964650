//! The same aircraft, payload and height on fiber, free beam, copper and battery alone, sized alike and side by side, and a map
//! of height and power that shows which lifts least and which draws least.
//!
//! Each way is sized for the demand that it makes itself: its parts weigh, they raise the demand, and the loop is closed. The
//! aircraft's balance is that of the plan; the tether's pull is its weight and half of its drag, for every kind of line alike.

mod copper;
mod map;
mod ways;

use serde::Serialize;

pub use copper::CopperChoice;
pub use map::{Cell, CrossoverMap};

use crate::{
    Loaded,
    caution::cautions,
    digest::digest,
    document::Document,
    error::PlanError,
    scenario::{Delivery, Scenario, Vehicle},
    system::System,
};
use ways::{Bench, Sized};

/// How the power comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Light through a fiber that is also the tether.
    Fiber,
    /// Light through free air.
    FreeBeam,
    /// Direct current through a pair of wires that is also the tether.
    Copper,
    /// A battery and nothing else.
    Battery,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Fiber, Self::FreeBeam, Self::Copper, Self::Battery];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Fiber => "fiber",
            Self::FreeBeam => "free beam",
            Self::Copper => "copper",
            Self::Battery => "battery alone",
        }
    }

    /// What it endangers, the gravest first.
    pub fn hazards(self) -> &'static [&'static str] {
        match self {
            Self::Fiber => &[
                "class 4 laser: a broken end burns and blinds",
                "glass breaks without warning",
                "no conductor: no shock, no lightning path, no radio noise on the line",
            ],
            Self::FreeBeam => &[
                "class 4 laser in the open: people, aircraft and satellites in and behind the beam",
                "cloud, fog and birds interrupt it",
                "needs notice to, and often approval by, the aviation authority",
            ],
            Self::Copper => &[
                "high voltage on line and drum kills",
                "a wire to the sky invites lightning and a charge in dry wind",
                "the line radiates and receives: converters at both ends need filters",
                "the drum heats: all of the line carries all of the current",
            ],
            Self::Battery => &[
                "short flights: somebody changes batteries and launches over and over",
                "batteries burn when crushed, cold-charged or overloaded",
            ],
        }
    }
}

/// One way at the height and payload of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alternative {
    /// Which.
    pub kind: Kind,
    /// Where its parts come from.
    pub parts: &'static str,
    /// Whether it holds the aircraft with the thrust reserve asked for.
    pub feasible: bool,
    /// Why not; empty if it does.
    pub reason: String,
    /// Power drawn from the bus, W.
    pub demand_w: f64,
    /// Power from the wall, W: while flying, or for the battery the mean of charging it again and again.
    pub wall_w: f64,
    /// Bus over wall.
    pub efficiency_ratio: f64,
    /// Mass of receiver, converter or battery on board, kg.
    pub source_mass_kg: f64,
    /// Mass of line that hangs, kg.
    pub line_mass_kg: f64,
    /// Diameter of the line, m; 0 without one.
    pub line_diameter_m: f64,
    /// Thrust over weight of aircraft and payload alone.
    pub thrust_ratio: f64,
    /// Largest thrust in the gust over the thrust needed.
    pub thrust_reserve_ratio: f64,
    /// Greatest height at which it still holds this payload, m; the largest looked at where nothing stops it.
    pub height_limit_m: Option<f64>,
    /// What stops it there.
    pub height_limited_by: String,
    /// How long it stays up, min; none where the supply lasts as long as the weather does.
    pub endurance_min: Option<f64>,
    /// The copper line, if it is one.
    pub copper: Option<CopperChoice>,
    /// What it endangers.
    pub hazards: &'static [&'static str],
}

impl Alternative {
    /// Mass that the way of the power puts on the aircraft, kg.
    pub fn lifted_kg(&self) -> f64 {
        self.source_mass_kg + self.line_mass_kg
    }
}

/// The ways side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CompareReport {
    /// Title of the scenario.
    pub title: String,
    /// Height over ground, m.
    pub height_m: f64,
    /// Mass of aircraft and payload without any source, kg.
    pub bare_mass_kg: f64,
    /// Power of the payload, W.
    pub payload_w: f64,
    /// The ways, as in [`Kind::ALL`].
    pub alternatives: Vec<Alternative>,
    /// Hours that the mission asks for; a battery that ends sooner does not win.
    pub mission_h: f64,
    /// Who wins where.
    pub map: CrossoverMap,
    /// Cautions, the gravest first.
    pub cautions: Vec<&'static str>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

/// Sizes the four ways for a plan and maps who wins.
///
/// `mission_h` is how long the mission lasts, h.
///
/// # Errors
/// [`PlanError`]: a vehicle that is not held by rotors, parts that do not go together.
pub fn compare_report(
    document: &Document,
    loaded: &Loaded,
    mission_h: f64,
) -> Result<CompareReport, PlanError> {
    let scenario = &loaded.scenario;
    if !matches!(scenario.vehicle, Vehicle::Multirotor(_)) {
        let reason = match scenario.vehicle {
            Vehicle::FixedWing(_) => {
                "a comparison of ways with a circling wing, which winds up every line, so that only beam and battery are left,"
            }
            Vehicle::Underwater(_) => {
                "a comparison of ways under water, where no beam goes far and weight is not what limits,"
            }
            _ => "a comparison of ways for a load that stands and lifts nothing",
        };
        return Err(PlanError::needs("/vehicle", reason, "\"multirotor\" in vehicle"));
    }
    let bench = Bench::new(scenario)?;
    let system = System::new(scenario)?;
    let point = system.operate(&system.place(&scenario.station)?)?;
    let height_m = scenario.station.height_m;
    let payload_w = scenario.payload.power_w;
    let alternatives = Kind::ALL
        .iter()
        .map(|kind| alternative(&bench, *kind, height_m, payload_w))
        .collect::<Result<_, _>>()?;
    Ok(CompareReport {
        title: scenario.title.clone(),
        height_m,
        bare_mass_kg: bench.bare_mass_kg,
        payload_w,
        alternatives,
        mission_h,
        map: map::crossover(&bench, height_m, mission_h)?,
        cautions: cautions(scenario, &point),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    })
}

fn alternative(bench: &Bench, kind: Kind, height_m: f64, payload_w: f64) -> Result<Alternative, PlanError> {
    let sized = bench.size(kind, height_m, payload_w)?;
    let (height_limit_m, height_limited_by) = bench.height_limit(kind, payload_w)?;
    let Sized { demand_w, wall_w, source_mass_kg, line_mass_kg, .. } = sized;
    Ok(Alternative {
        kind,
        parts: bench.parts(kind),
        feasible: sized.reason.is_empty(),
        reason: sized.reason,
        demand_w,
        wall_w,
        efficiency_ratio: if wall_w > 0.0 { demand_w / wall_w } else { 0.0 },
        source_mass_kg,
        line_mass_kg,
        line_diameter_m: sized.line_diameter_m,
        thrust_ratio: sized.thrust_ratio,
        thrust_reserve_ratio: sized.thrust_reserve_ratio,
        height_limit_m,
        height_limited_by,
        endurance_min: sized.endurance_min,
        copper: sized.copper,
        hazards: kind.hazards(),
    })
}

/// Whether a scenario has parts of its own for a way.
fn own_parts(scenario: &Scenario, kind: Kind) -> bool {
    matches!(
        (&scenario.delivery, kind),
        (Delivery::Fiber(_), Kind::Fiber)
            | (Delivery::FreeBeam(_), Kind::FreeBeam)
            | (Delivery::Copper(_), Kind::Copper)
            | (Delivery::None {}, Kind::Battery)
    )
}

#[cfg(test)]
mod tests;
