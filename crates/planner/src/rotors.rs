//! What the rotors of a plan can do beside holding the station: launch, climb, descent, other winds, rotors lost.

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{Inflow, Regime, vortex_ring::boundary_ratio};
use beamstay_vehicle::{
    DescentPlan, Failure, Load, Multirotor, Remaining, Trim, VehicleError, Verdict,
    rotor_out::ALLOCATION_MARGIN_RATIO,
};
use serde::Serialize;

use crate::{
    Loaded,
    digest::digest,
    document::Document,
    error::{At, PlanError},
    operate::Hanging,
    point::ThrustBound,
    scenario::{RotorFailure, RotorTask},
    system::{
        Place, System,
        craft::{Acting, Craft},
    },
};

/// Heights of the rotor planes over the ground at the launch, over the rotor radius.
const LAUNCH_RATIOS: [f64; 4] = [0.5, 1.0, 2.0, 4.0];
/// Winds looked at, from calm to the strongest, and vertical speeds.
const WINDS_COUNT: u32 = 40;
const RATES_COUNT: u32 = 80;
/// Strongest wind looked at, over the gust at the station, and at least, m/s.
const BEYOND_GUST: f64 = 1.3;
const LEAST_WIND_M_S: f64 = 15.0;
/// Fastest descent and climb looked at, over the hover induced velocity.
const RATE_RATIOS: (f64, f64) = (-2.4, 1.0);

/// What the rotors can do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RotorStates {
    /// Title of the scenario.
    pub title: String,
    /// Largest thrust in the gust by each bound that is known.
    pub thrust_bounds: Vec<BoundRow>,
    /// Hover over the ground at the launch, in calm air, the tether slack.
    pub launch: Vec<LaunchRow>,
    /// Coming down in calm air, the tether slack.
    pub descent: DescentStates,
    /// Climb (positive) and descent in calm air, the tether slack.
    pub vertical: Vec<VerticalRow>,
    /// At the station, the wind at its height from calm to beyond the gust, the tether hung anew in each.
    pub wind: Vec<WindRow>,
    /// With rotors lost, in the gust.
    pub lost: Vec<LostRow>,
    /// Digest of the scenario.
    pub digest: String,
    /// Version of the program.
    pub version: &'static str,
}

/// A bound of the thrust.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BoundRow {
    /// What bounds.
    pub bound: ThrustBound,
    /// Largest thrust of all rotors, N.
    pub largest_thrust_n: f64,
    /// That over the thrust that the gust asks for.
    pub reserve_ratio: f64,
}

/// Hover over the ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LaunchRow {
    /// Height of the rotor planes over the ground, m; absent for out of ground effect.
    pub rotor_height_m: Option<f64>,
    /// That over the rotor radius.
    pub height_over_radius_ratio: Option<f64>,
    /// Induced power, W.
    pub induced_w: f64,
    /// Shaft power, W.
    pub shaft_w: f64,
    /// Power that the craft draws, payload not counted, W.
    pub demand_w: f64,
}

/// Coming down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DescentStates {
    /// Induced velocity of hover, the scale of all these, m/s.
    pub hover_velocity_m_s: f64,
    /// Rate at which the vortex ring state begins, m/s.
    pub vortex_ring_from_m_s: f64,
    /// Rate at which it ends, m/s.
    pub vortex_ring_to_m_s: f64,
    /// Fastest rate to plan with, m/s: 0.8 of the first.
    pub safe_rate_m_s: f64,
    /// Power to plan that descent with, W: that of the descent or of hover, whichever is more.
    pub planning_w: f64,
    /// Energy of a descent from the station at that rate and power, Wh.
    pub energy_wh: f64,
}

/// One vertical speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct VerticalRow {
    /// Vertical speed, m/s: positive when climbing.
    pub rate_m_s: f64,
    /// Thrust of all rotors, N: less than the weight where the body's own drag brakes the descent.
    pub thrust_n: f64,
    /// Induced power, W.
    pub induced_w: f64,
    /// Profile power, W.
    pub profile_w: f64,
    /// Thrust times axial inflow, W.
    pub axial_w: f64,
    /// Shaft power, W.
    pub shaft_w: f64,
    /// State of the flow.
    pub state: &'static str,
}

/// One wind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WindRow {
    /// Wind at the height of the station, m/s.
    pub wind_m_s: f64,
    /// Induced power, W.
    pub induced_w: f64,
    /// Profile power, W.
    pub profile_w: f64,
    /// Drag of the body times wind, W: part of the axial power.
    pub body_w: f64,
    /// The rest of the axial power, W: drag of the rotors in their plane and pull of the tether.
    pub tether_and_rotor_drag_w: f64,
    /// Shaft power, W.
    pub shaft_w: f64,
    /// Tilt, °.
    pub tilt_deg: f64,
    /// Power that the craft draws with its payload, W.
    pub demand_w: f64,
}

/// What is left with rotors lost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LostRow {
    /// What has failed.
    pub failure: RotorFailure,
    /// What is to be done.
    pub task: RotorTask,
    /// Whether it can be done with the craft held level, with the margin that a plain flight controller needs.
    pub possible: bool,
    /// How the craft can be held.
    pub held: &'static str,
    /// Thrust that the task needs, N.
    pub needed_n: f64,
    /// Thrust that the rest can make without roll and pitch moment, N.
    pub available_n: f64,
    /// Available over needed thrust, less 1. A controller that shares thrust by a plain pseudo-inverse needs 0.11.
    pub margin_ratio: f64,
}

/// What the rotors of a plan can do; none for a vehicle that rotors do not carry, or whose station has no balance in calm air or
/// the gust.
///
/// # Errors
/// As [`crate::point_report`].
pub fn rotor_states(document: &Document, loaded: &Loaded) -> Result<Option<RotorStates>, PlanError> {
    let scenario = &loaded.scenario;
    let system = System::new(scenario)?;
    let Craft::Multirotor(model) = &system.craft else { return Ok(None) };
    let place = system.place(&scenario.station)?;
    let hanging = system.hang(&place, None)?;
    if matches!(hanging, Hanging::Broken(_)) {
        return Ok(None);
    }
    let gust_stream = system.surroundings.gust_at(place.position_m.z)?;
    let gust = system.acting(&place, &gust_stream, hanging.tethers().map(|t| t.gust.as_ref()));
    let at_station = system.surroundings.mean.fluid_at(place.position_m.z);
    let calm = Load::hover(system.masses.total_kg());
    let (Ok(hover), Ok(thrust_bounds)) = (model.trim_beyond_limits(&calm, &at_station), bounds(model, &gust))
    else {
        return Ok(None);
    };
    Ok(Some(RotorStates {
        title: scenario.title.clone(),
        thrust_bounds,
        launch: launch(model, &system),
        descent: descent(model, &calm, &hover, &at_station, scenario.station.height_m),
        vertical: vertical(model, &calm, &hover, &at_station),
        wind: winds(&system, &place, gust.load().air_velocity_m_s.norm())?,
        lost: lost(model, &gust),
        digest: digest(&document.value),
        version: env!("CARGO_PKG_VERSION"),
    }))
}

fn bounds(model: &Multirotor, gust: &Acting<'_>) -> Result<Vec<BoundRow>, VehicleError> {
    let fluid = gust.fluid();
    let balance = model.balance(&gust.load(), &fluid)?;
    let inflow = Inflow { axial_m_s: balance.axial_inflow_m_s, edgewise_m_s: balance.edgewise_m_s };
    let bounds = model.inputs().rotors.thrust_bounds(inflow, &fluid)?;
    let mut rows: Vec<BoundRow> = bounds
        .into_iter()
        .filter_map(|(largest_thrust_n, kind)| {
            let reserve_ratio = largest_thrust_n / balance.thrust_n.max(1e-9);
            Some(BoundRow { bound: ThrustBound::of(kind)?, largest_thrust_n, reserve_ratio })
        })
        .collect();
    rows.sort_by(|a, b| a.largest_thrust_n.total_cmp(&b.largest_thrust_n));
    Ok(rows)
}

fn launch(model: &Multirotor, system: &System) -> Vec<LaunchRow> {
    let fluid = system.surroundings.mean.fluid_at(0.0);
    let mass_kg = system.masses.total_kg();
    let radius_m = 0.5 * model.inputs().rotors.inputs().rotor.diameter_m();
    let row = |ratio: Option<f64>, trim: Trim| LaunchRow {
        rotor_height_m: ratio.map(|r| r * radius_m),
        height_over_radius_ratio: ratio,
        induced_w: trim.induced_w,
        shaft_w: trim.shaft_w,
        demand_w: trim.demand_w,
    };
    let near = LAUNCH_RATIOS.iter().filter_map(|&ratio| {
        let trim = model.hover_over_ground(mass_kg, ratio * radius_m, &fluid).ok()?;
        Some(row(Some(ratio), trim))
    });
    let far = model.trim_beyond_limits(&Load::hover(mass_kg), &fluid).ok().map(|trim| row(None, trim));
    near.chain(far).collect()
}

fn descent(model: &Multirotor, calm: &Load, hover: &Trim, fluid: &Fluid, height_m: f64) -> DescentStates {
    let hover_velocity_m_s = hover.hover_velocity_m_s;
    let (from, to) = boundary_ratio(0.0).map_or((0.0, 0.0), |(upper, lower)| (-upper, -lower));
    let plan = DescentPlan { max_rate_m_s: 50.0, ..DescentPlan::default() };
    let safe = model.fastest_safe_descent(calm, &plan, fluid).ok();
    DescentStates {
        hover_velocity_m_s,
        vortex_ring_from_m_s: from * hover_velocity_m_s,
        vortex_ring_to_m_s: to * hover_velocity_m_s,
        safe_rate_m_s: safe.map_or(0.0, |d| d.rate_m_s),
        planning_w: safe.map_or(hover.demand_w, |d| d.planning_w),
        energy_wh: safe.and_then(|d| d.energy_j(height_m.max(0.0))).unwrap_or(0.0) / 3600.0,
    }
}

fn vertical(model: &Multirotor, calm: &Load, hover: &Trim, fluid: &Fluid) -> Vec<VerticalRow> {
    let (fastest_down, fastest_up) = RATE_RATIOS;
    let rate_m_s = |i: u32| {
        let share = f64::from(i) / f64::from(RATES_COUNT);
        (fastest_down + (fastest_up - fastest_down) * share) * hover.hover_velocity_m_s
    };
    (0..=RATES_COUNT)
        .map(rate_m_s)
        .filter_map(|rate_m_s| {
            let trim = model.trim_beyond_limits(&calm.with_velocity([0.0, 0.0, rate_m_s]), fluid).ok()?;
            Some(VerticalRow {
                rate_m_s,
                thrust_n: trim.thrust_n,
                induced_w: trim.induced_w,
                profile_w: trim.profile_w,
                axial_w: trim.axial_w,
                shaft_w: trim.shaft_w,
                state: state(trim.regime),
            })
        })
        .collect()
}

/// The state of the flow in words.
pub(crate) const fn state(regime: Regime) -> &'static str {
    match regime {
        Regime::Hover => "hover",
        Regime::Climb => "climb",
        Regime::Edgewise => "edgewise",
        Regime::Descent => "descent",
        Regime::VortexRing => "vortex_ring",
        Regime::TurbulentWake => "turbulent_wake",
        Regime::Windmill => "windmill",
        _ => "other",
    }
}

/// Winds in which the tether does not hang or the vehicle finds no balance are left out.
fn winds(system: &System, place: &Place, gust_m_s: f64) -> Result<Vec<WindRow>, PlanError> {
    let strongest_m_s = (BEYOND_GUST * gust_m_s).max(LEAST_WIND_M_S);
    let mut blown = system.clone();
    let mut rows = Vec::new();
    for i in 0..=WINDS_COUNT {
        let wind_m_s = strongest_m_s * f64::from(i) / f64::from(WINDS_COUNT);
        blown.surroundings.mean = system.surroundings.stream_with(place.position_m.z, wind_m_s)?;
        let point = blown.operate(place).at("/site/wind")?;
        let (Some(vehicle), Some(demand_w)) = (point.vehicle, point.demand_w) else { continue };
        let body_w = vehicle.body_drag_n * wind_m_s;
        rows.push(WindRow {
            wind_m_s,
            induced_w: vehicle.induced_w,
            profile_w: vehicle.profile_w,
            body_w,
            tether_and_rotor_drag_w: vehicle.axial_w - body_w,
            shaft_w: vehicle.shaft_w,
            tilt_deg: vehicle.tilt_deg,
            demand_w,
        });
    }
    Ok(rows)
}

fn lost(model: &Multirotor, gust: &Acting<'_>) -> Vec<LostRow> {
    let mut rows = Vec::new();
    let failures =
        [(RotorFailure::OneRotor, Failure::OneRotor), (RotorFailure::OpposingPair, Failure::OpposingPair)];
    for (failure, lost) in failures {
        // Too few rotors to judge, or no balance: nothing to tell.
        let Ok(out) = model.rotor_out(&gust.load(), lost, &gust.fluid()) else { continue };
        for (task, left) in [(RotorTask::Hold, out.hold), (RotorTask::Land, out.land)] {
            rows.push(lost_row(failure, task, &left));
        }
    }
    rows
}

fn lost_row(failure: RotorFailure, task: RotorTask, left: &Remaining) -> LostRow {
    let held = match left.verdict {
        Verdict::KeepsHeading => "level, on its heading",
        Verdict::TurnsSlowly => "level, but it turns",
        Verdict::SpinsOnly => "spinning only",
        _ => "not at all",
    };
    LostRow {
        failure,
        task,
        possible: left.verdict <= Verdict::TurnsSlowly && left.margin_ratio >= ALLOCATION_MARGIN_RATIO,
        held,
        needed_n: left.needed_n,
        available_n: left.available_n,
        margin_ratio: left.margin_ratio,
    }
}

#[cfg(test)]
mod tests;
