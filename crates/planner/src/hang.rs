//! The tether of one operating point: hung in the mean wind and in the gust, and what its limits read.

use beamstay_tether::{
    Options, Shape, TensionSolution, TetherError,
    limits::{LoadDuration, bend_stress_pa},
    solve_for_drum_tension, solve_for_length,
};
use nalgebra::Vector3;

use crate::{
    error::PlanError,
    limit::{LimitCode, LimitRow},
    point::{Branch, TetherPoint},
    scenario::{GustResponse, Limits, Winch},
    system::{line::TetherLine, surroundings::Stream},
};

/// Length over which a free drum exit may be nearer to the ground than the clearance asks, m.
const EXIT_FREE_M: f64 = 2.0;

/// A tether that hangs, or why it does not.
#[derive(Debug, Clone)]
pub enum Hung {
    /// It hangs.
    Free(Box<Shape>, Branch),
    /// The row that says why not.
    Broken(LimitRow),
}

/// Hangs the line in `stream` with what the winch holds.
pub fn hang(
    line: &TetherLine,
    stream: &Stream,
    position_m: Vector3<f64>,
    winch: Winch,
    warm: Option<&Shape>,
) -> Result<Hung, PlanError> {
    let options = Options::default();
    match winch {
        Winch::PaidOut { paid_out_m } => {
            match solve_for_length(&line.line, stream, position_m, paid_out_m, &options, warm) {
                Ok(shape) => Ok(Hung::Free(Box::new(shape), Branch::Only)),
                Err(TetherError::TooShort { length_m, distance_m }) => {
                    Ok(Hung::Broken(LimitRow::at_least(LimitCode::TetherReach, length_m, distance_m, "m")))
                }
                Err(error) => Err(tether_error(error)),
            }
        }
        Winch::DrumTension { drum_tension_n } => {
            match solve_for_drum_tension(&line.line, stream, position_m, drum_tension_n, &options, warm) {
                Ok(TensionSolution::Hangs { shape, .. }) => Ok(Hung::Free(Box::new(shape), Branch::Short)),
                Ok(TensionSolution::NoneExists { least_drum_tension_n, .. }) => Ok(Hung::Broken(
                    LimitRow::at_least(LimitCode::DrumTension, drum_tension_n, least_drum_tension_n, "N"),
                )),
                Err(error) => Err(tether_error(error)),
            }
        }
    }
}

/// What the winch holds in the gust, given the shape in the mean wind.
pub fn winch_in_gust(response: GustResponse, mean: &Shape) -> Winch {
    match response {
        GustResponse::HoldsLength => Winch::PaidOut { paid_out_m: mean.paid_out_m() },
        GustResponse::HoldsTension => Winch::DrumTension { drum_tension_n: mean.drum_tension_n() },
    }
}

fn tether_error(error: TetherError) -> PlanError {
    match error {
        TetherError::NotConverged { .. } => {
            PlanError::NotConverged { stage: "tether shape", detail: error.to_string() }
        }
        other => PlanError::model("/station", other),
    }
}

/// The shape as it is handed out.
pub fn tether_point(shape: &Shape, branch: Branch, exit_height_m: f64) -> TetherPoint {
    let (max_tension_n, max_tension_at_m) = shape.max_tension();
    TetherPoint {
        paid_out_m: shape.paid_out_m(),
        force_on_vehicle_n: shape.force_on_vehicle_n().into(),
        force_at_drum_n: shape.force_at_drum_n().into(),
        top_tension_n: shape.top_tension_n(),
        drum_tension_n: shape.drum_tension_n(),
        max_tension_n,
        max_tension_at_m,
        drum_elevation_deg: shape.drum_elevation_deg(),
        min_bend_radius_m: shape.min_bend_radius().0.min(1e9),
        lowest_point_m: shape.lowest_point().z + exit_height_m,
        branch,
    }
}

/// Force on the whole tether that no part accounts for, over the largest tension: what pulls at both ends against what
/// weight and flow do to every metre.
pub fn closure_ratio(shape: &Shape) -> f64 {
    let ends_n = shape.force_on_vehicle_n() + shape.force_at_drum_n();
    (ends_n - shape.load_on_line_n()).norm() / shape.max_tension().0.max(f64::MIN_POSITIVE)
}

/// Limits of the line in mean wind and gust.
pub fn limits(
    line: &TetherLine,
    limits: &Limits,
    mean: &TetherPoint,
    gust: &TetherPoint,
    rows: &mut Vec<LimitRow>,
) -> Result<(), PlanError> {
    rows.push(LimitRow::at_most(LimitCode::LineLength, mean.paid_out_m, line.total_length_m, "m"));
    let capacity_m = line.winding.capacity_m();
    rows.push(LimitRow::at_most(LimitCode::DrumCapacity, line.total_length_m, capacity_m, "m"));
    let elevation_deg = mean.drum_elevation_deg;
    rows.push(LimitRow::at_least(
        LimitCode::DrumElevation,
        elevation_deg,
        limits.min_drum_elevation_deg,
        "°",
    ));
    let allowed_n = line.breaking_load_n / limits.break_load_factor;
    rows.push(LimitRow::at_most(LimitCode::BreakingLoad, gust.max_tension_n, allowed_n, "N"));
    let drum_radius_m = line.winding.innermost_bend_radius_m();
    let bend_m = drum_radius_m.min(1e-3 * limits.sheave_radius_mm).min(mean.min_bend_radius_m);
    rows.push(LimitRow::at_least(LimitCode::BendRadius, bend_m, limits.bend_ratio * line.diameter_m, "m"));
    if line.glass_diameter_m > 0.0 {
        glass(line, limits, mean, gust, rows)?;
    }
    Ok(())
}

fn glass(
    line: &TetherLine,
    limits: &Limits,
    mean: &TetherPoint,
    gust: &TetherPoint,
    rows: &mut Vec<LimitRow>,
) -> Result<(), PlanError> {
    let bent = |radius_m: f64| {
        bend_stress_pa(line.glass_diameter_m, radius_m)
            .map_err(|e| PlanError::model("/limits/sheave_radius_mm", e))
    };
    let sheave_m = 1e-3 * limits.sheave_radius_mm;
    let allowed = |duration: LoadDuration| line.proof_stress_pa * duration.allowed_fraction_of_proof();
    let mut push = |code, stress_pa: f64, allowed_pa: f64| {
        rows.push(LimitRow::at_most(code, 1e-6 * stress_pa, 1e-6 * allowed_pa, "MPa"));
    };
    // At sheave and outlet the bend adds to the pull there; in the air the largest pull meets the tightest bend, which is
    // on the safe side.
    let stress = |point: &TetherPoint| -> Result<f64, PlanError> {
        let at_sheave = line.glass_stress_pa(point.drum_tension_n.max(point.top_tension_n)) + bent(sheave_m)?;
        let in_air = line.glass_stress_pa(point.max_tension_n) + bent(point.min_bend_radius_m)?;
        Ok(at_sheave.max(in_air))
    };
    push(LimitCode::GlassStress, stress(mean)?, allowed(line.duration));
    push(LimitCode::GlassStressInGust, stress(gust)?, allowed(LoadDuration::Seconds));
    let on_drum_pa =
        line.glass_stress_pa(mean.drum_tension_n) + bent(line.winding.innermost_bend_radius_m())?;
    push(LimitCode::GlassStressOnDrum, on_drum_pa, allowed(line.duration));
    Ok(())
}

/// Lowest point over ground beyond the first metres at the drum, m.
pub fn clearance_m(shape: &Shape, exit_height_m: f64) -> f64 {
    let free_m = EXIT_FREE_M.min(0.5 * shape.paid_out_m());
    shape.clearance_m(-exit_height_m, free_m)
}
