//! The tether of one operating point: hung in the mean wind and in the gust, over the ground, and what its limits read.

use beamstay_tether::{
    Ground, Line, Near, Options, Shape, TensionOverGround, TensionSolution, TetherError,
    limits::{LoadDuration, bend_stress_pa, touchdown_bend_radius_m},
    solve_for_drum_tension, solve_for_drum_tension_near, solve_for_drum_tension_over_ground,
    solve_for_length, solve_for_length_near, solve_for_length_over_ground,
};
use nalgebra::Vector3;

use crate::{
    error::PlanError,
    limit::{LimitCode, LimitRow},
    point::{Branch, Lies, TetherPoint},
    scenario::{GustResponse, Limits, Winch},
    system::{line::TetherLine, surroundings::Stream},
};

/// Length over which a free drum exit may be nearer to the ground than the clearance asks, m.
pub(crate) const EXIT_FREE_M: f64 = 2.0;
/// Depth under the ground, relative to the length, that rounding may cause.
const TOUCH_RATIO: f64 = 1e-7;
/// Drum tension that a winch can hold, N.
const LEAST_TENSION_N: f64 = 1e-5;
/// A vehicle must be so high for its line to be laid on the ground, m.
const LEAST_HEIGHT_M: f64 = 0.01;

/// A tether that hangs, or why it does not.
#[derive(Debug, Clone)]
pub enum Hung {
    /// It hangs, free or with a part on the ground.
    Holds(Held),
    /// The row that says why not.
    Broken(LimitRow),
}

/// A tether that hangs.
#[derive(Debug, Clone)]
pub struct Held {
    /// Its shape.
    pub shape: Box<Shape>,
    /// Which of the lengths that give its drum tension.
    pub branch: Branch,
    /// The least drum tension with which it would hang free, N, where the winch holds less.
    pub least_free_drum_tension_n: Option<f64>,
}

impl Held {
    fn free(shape: Shape, branch: Branch) -> Self {
        Self { shape: Box::new(shape), branch, least_free_drum_tension_n: None }
    }
}

/// The ground under a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Under {
    /// Where it is and how it rubs.
    pub ground: Ground,
    /// What becomes of a line that reaches it.
    pub touch: Touch,
}

/// What becomes of a line that reaches the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Touch {
    /// A part of it lies there. If that cannot be solved it is an error.
    Lies,
    /// As [`Self::Lies`], but what cannot be solved hangs through the ground: for plans whose line may not lie.
    LiesOrThrough,
    /// It hangs through the ground: a hundred times cheaper, and as good where only the verdict counts and a line may not
    /// lie, for what hangs below the ground is 0 just where what would lie on it is.
    Through,
}

/// Hangs the line in `stream` with what the winch holds, over the ground `under` it, if there is one.
pub fn hang(
    line: &TetherLine,
    stream: &Stream,
    under: Option<&Under>,
    position_m: Vector3<f64>,
    winch: Winch,
    warm: Option<&Shape>,
) -> Result<Hung, PlanError> {
    let laid = under.filter(|under| {
        under.touch != Touch::Through && position_m.z - under.ground.height_m > LEAST_HEIGHT_M
    });
    if let Some(under) = laid {
        match hang_over(line, stream, under, position_m, winch, warm) {
            Err(
                TetherError::NotConverged { .. }
                | TetherError::WorkSpent { .. }
                | TetherError::TouchesTwice { .. },
            ) if under.touch == Touch::LiesOrThrough => {}
            other => return other.or_else(unreached),
        }
    }
    let free_warm = warm.filter(|shape| shape.lying().is_none());
    hang_free(line, stream, position_m, winch, free_warm).or_else(unreached)
}

/// As [`hang`] through any ground, by the quick sweeps alone: none where they do not reach it.
pub fn hang_quickly(
    line: &TetherLine,
    stream: &Stream,
    position_m: Vector3<f64>,
    winch: Winch,
) -> Option<Held> {
    let (line, options) = (&line.line, Options { most_evaluations_count: 0, ..Options::default() });
    // As in `hang_free`.
    match winch {
        Winch::PaidOut { paid_out_m } => {
            match solve_for_length(line, stream, position_m, paid_out_m, &options, None) {
                Ok(shape) => Some(Held::free(shape, Branch::Only)),
                Err(_) => None,
            }
        }
        Winch::DrumTension { drum_tension_n } => {
            match solve_for_drum_tension(line, stream, position_m, drum_tension_n, &options, None) {
                Ok(TensionSolution::Hangs { shape, .. }) => Some(Held::free(shape, Branch::Short)),
                _ => None,
            }
        }
    }
}

/// As [`hang`] through any ground, from a line nearby: the quickest where it is all but limp, or where its tension is held. None where
/// that does not lead to it.
pub fn hang_near(
    line: &TetherLine,
    stream: &Stream,
    position_m: Vector3<f64>,
    winch: Winch,
    near: &Near,
) -> Option<Held> {
    let (line, options) = (&line.line, Options::default());
    // As in `hang_free`.
    match winch {
        Winch::PaidOut { paid_out_m } => {
            match solve_for_length_near(line, stream, position_m, paid_out_m, near, &options) {
                Ok(Some(shape)) => Some(Held::free(shape, Branch::Only)),
                _ => None,
            }
        }
        Winch::DrumTension { drum_tension_n } => {
            match solve_for_drum_tension_near(line, stream, position_m, drum_tension_n, near, &options) {
                Ok(Some(shape)) => Some(Held::free(shape, Branch::Short)),
                _ => None,
            }
        }
    }
}

/// Without a ground.
fn hang_free(
    line: &TetherLine,
    stream: &Stream,
    position_m: Vector3<f64>,
    winch: Winch,
    warm: Option<&Shape>,
) -> Result<Hung, TetherError> {
    let options = Options::default();
    // Matched in one go: a shape is large, and a question mark would copy it.
    match winch {
        Winch::PaidOut { paid_out_m } => {
            match solve_for_length(&line.line, stream, position_m, paid_out_m, &options, warm) {
                Ok(shape) => Ok(Hung::Holds(Held::free(shape, Branch::Only))),
                Err(error) => Err(error),
            }
        }
        Winch::DrumTension { drum_tension_n } => {
            match solve_for_drum_tension(&line.line, stream, position_m, drum_tension_n, &options, warm) {
                Ok(TensionSolution::Hangs { shape, .. }) => Ok(Hung::Holds(Held::free(shape, Branch::Short))),
                Ok(TensionSolution::NoneExists { least_drum_tension_n, .. }) => {
                    Ok(Hung::Broken(too_little(drum_tension_n, least_drum_tension_n)))
                }
                Err(error) => Err(error),
            }
        }
    }
}

/// With a ground that it may reach.
fn hang_over(
    line: &TetherLine,
    stream: &Stream,
    under: &Under,
    position_m: Vector3<f64>,
    winch: Winch,
    warm: Option<&Shape>,
) -> Result<Hung, TetherError> {
    let line = &line.line;
    match winch {
        Winch::PaidOut { paid_out_m } => {
            let options = Options::default();
            let ground = &under.ground;
            // As in `hang_free`.
            match solve_for_length_over_ground(line, stream, ground, position_m, paid_out_m, &options, warm) {
                Ok(shape) => Ok(Hung::Holds(Held::free(shape, Branch::Only))),
                Err(error) => Err(error),
            }
        }
        Winch::DrumTension { drum_tension_n } => {
            hang_over_by_tension(line, stream, under, position_m, drum_tension_n, warm)
        }
    }
}

/// The same with a drum tension.
fn hang_over_by_tension(
    line: &Line,
    stream: &Stream,
    under: &Under,
    position_m: Vector3<f64>,
    drum_tension_n: f64,
    warm: Option<&Shape>,
) -> Result<Hung, TetherError> {
    let (ground, options) = (&under.ground, Options::default());
    match solve_for_drum_tension_over_ground(line, stream, ground, position_m, drum_tension_n, &options, warm)
    {
        Ok(TensionOverGround::Free(shape)) => Ok(Hung::Holds(Held::free(shape, Branch::Short))),
        Ok(TensionOverGround::Lies { shape, least_free_drum_tension_n }) => Ok(Hung::Holds(Held {
            least_free_drum_tension_n: Some(least_free_drum_tension_n),
            ..Held::free(shape, Branch::Only)
        })),
        Ok(TensionOverGround::RunsOut { least_drum_tension_n, least_free_drum_tension_n }) => {
            Ok(Hung::Broken(match under.touch {
                Touch::Lies => too_little(drum_tension_n, least_drum_tension_n),
                _ => too_little(drum_tension_n, least_free_drum_tension_n),
            }))
        }
        Err(error) => Err(error),
    }
}

fn too_little(drum_tension_n: f64, least_drum_tension_n: f64) -> LimitRow {
    LimitRow::at_least(LimitCode::DrumTension, drum_tension_n, least_drum_tension_n, "N")
}

/// A line that is too short has a row; anything else is an error.
fn unreached(error: TetherError) -> Result<Hung, PlanError> {
    match error {
        TetherError::TooShort { length_m, distance_m } => {
            Ok(Hung::Broken(LimitRow::at_least(LimitCode::TetherReach, length_m, distance_m, "m")))
        }
        error => Err(tether_error(error)),
    }
}

/// What the winch holds in the gust, given the shape in the mean wind.
pub fn winch_in_gust(response: GustResponse, mean: &Shape) -> Winch {
    match response {
        GustResponse::HoldsLength => Winch::PaidOut { paid_out_m: mean.paid_out_m() },
        // Where friction on the ground holds all the pull, there is no tension to hold.
        GustResponse::HoldsTension
            if mean.drum_tension_n() <= (1e-6 * mean.top_tension_n()).max(LEAST_TENSION_N) =>
        {
            Winch::PaidOut { paid_out_m: mean.paid_out_m() }
        }
        GustResponse::HoldsTension => Winch::DrumTension { drum_tension_n: mean.drum_tension_n() },
    }
}

fn tether_error(error: TetherError) -> PlanError {
    match error {
        TetherError::NotConverged { .. } | TetherError::WorkSpent { .. } => {
            PlanError::NotConverged { stage: "tether shape", detail: error.to_string() }
        }
        other => PlanError::model("/station", other),
    }
}

/// The tether as it is handed out; `under` the ground, if there is one.
pub fn tether_point(
    line: &TetherLine,
    held: &Held,
    under: Option<&Under>,
    exit_height_m: f64,
) -> TetherPoint {
    let shape = &held.shape;
    let (max_tension_n, max_tension_at_m) = shape.max_tension();
    let lies = lies(held);
    let lowest_point_m = shape.lowest_point().z + exit_height_m;
    TetherPoint {
        paid_out_m: shape.paid_out_m(),
        force_on_vehicle_n: without_dust(shape.force_on_vehicle_n()),
        force_at_drum_n: without_dust(shape.force_at_drum_n()),
        top_tension_n: shape.top_tension_n(),
        drum_tension_n: shape.drum_tension_n(),
        max_tension_n,
        max_tension_at_m,
        drum_elevation_deg: shape.drum_elevation_deg(),
        min_bend_radius_m: bend_radius_m(line, shape),
        lowest_point_m: if lies.is_some() { lowest_point_m.max(0.0) } else { lowest_point_m },
        on_ground_m: match (shape.lying(), under) {
            (Some(lying), _) => lying.length_m(),
            (None, Some(under)) if lowest_point_m < 0.0 => below_m(shape, under.ground.height_m),
            (None, _) => 0.0,
        },
        lies,
        branch: held.branch,
    }
}

/// A force whose parts that are only rounding are 0, N.
fn without_dust(force_n: Vector3<f64>) -> [f64; 3] {
    let dust_n = 1e-13 * force_n.norm();
    force_n.map(|part| if part.abs() < dust_n { 0.0 } else { part }).into()
}

/// Where the line lies, if it does.
fn lies(held: &Held) -> Option<Lies> {
    let lying = held.shape.lying()?;
    let touchdown_m = held.shape.point(lying.to_m);
    Some(Lies {
        from_m: lying.from_m,
        to_m: lying.to_m,
        loose_m: lying.loose_m,
        touchdown_m: touchdown_m.xy().into(),
        touchdown_distance_m: touchdown_m.xy().norm(),
        least_free_drum_tension_n: held.least_free_drum_tension_n,
    })
}

/// Smallest bend radius in the air, m. Where a line comes down on the ground with little tension its own stiffness keeps it from
/// a kink; the glass gives the least of that, and a loose line without glass is not judged there.
fn bend_radius_m(line: &TetherLine, shape: &Shape) -> f64 {
    let flexible_m = shape.min_bend_radius().0;
    let radius_m = match shape.lying() {
        Some(_) if line.glass_diameter_m > 0.0 => {
            let weight_n_per_m =
                line.line.mass_kg_per_m * beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
            flexible_m.max(touchdown_bend_radius_m(line.glass_diameter_m, weight_n_per_m).unwrap_or(0.0))
        }
        Some(lying) if lying.loose_m > 0.0 => f64::MAX,
        _ => flexible_m,
    };
    radius_m.min(1e9)
}

/// Unstretched length that hangs below the ground, m; 0 for a line that only touches it.
fn below_m(shape: &Shape, ground_z_m: f64) -> f64 {
    let depth_m = -shape.clearance_m(ground_z_m, 0.0);
    if depth_m <= TOUCH_RATIO * shape.paid_out_m() {
        return 0.0;
    }
    let mut below_m = 0.0;
    let mut before = (0.0, -ground_z_m);
    for node in shape.nodes() {
        let here = (node.s_m, node.position_m.z - ground_z_m);
        let (upper, lower) = (f64::max(before.1, here.1), f64::min(before.1, here.1));
        if lower < 0.0 {
            let share = if upper > 0.0 { -lower / (upper - lower) } else { 1.0 };
            below_m += share * (here.0 - before.0);
        }
        before = here;
    }
    // Between two nodes the line may dip where both are above.
    below_m.max(depth_m)
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
    // A winch that holds the tension pays out in the gust, and can give no more than it has.
    let paid_out_m = mean.paid_out_m.max(gust.paid_out_m);
    rows.push(LimitRow::at_most(LimitCode::LineLength, paid_out_m, line.total_length_m, "m"));
    let capacity_m = line.winding.capacity_m();
    rows.push(LimitRow::at_most(LimitCode::DrumCapacity, line.total_length_m, capacity_m, "m"));
    on_ground(limits, mean, gust, rows);
    let allowed_n = line.breaking_load_n / limits.break_load_factor;
    rows.push(LimitRow::at_most(LimitCode::BreakingLoad, gust.max_tension_n, allowed_n, "N"));
    if let Some(max_strain_ratio) = limits.max_strain_ratio {
        let strain_ratio = gust.max_tension_n / line.axial_stiffness_n;
        rows.push(LimitRow::at_most(LimitCode::Strain, strain_ratio, max_strain_ratio, ""));
    }
    let drum_radius_m = line.winding.innermost_bend_radius_m();
    let bend_m = drum_radius_m.min(1e-3 * limits.sheave_radius_mm).min(mean.min_bend_radius_m);
    rows.push(LimitRow::at_least(LimitCode::BendRadius, bend_m, limits.bend_ratio * line.diameter_m, "m"));
    if line.glass_diameter_m > 0.0 {
        glass(line, limits, mean, gust, rows)?;
    }
    Ok(())
}

/// What lies on the ground, and the elevation at the drum, which a line that may lie and does need not have.
fn on_ground(limits: &Limits, mean: &TetherPoint, gust: &TetherPoint, rows: &mut Vec<LimitRow>) {
    let (lying_m, allowed_m) = (mean.on_ground_m.max(gust.on_ground_m), limits.max_length_on_ground_m);
    if lying_m > 0.0 || allowed_m > 0.0 {
        rows.push(LimitRow::at_most(LimitCode::LineOnGround, lying_m, allowed_m, "m"));
    }
    let may_lie = allowed_m > 0.0;
    if !(may_lie && mean.lies.is_some()) {
        let (elevation_deg, least_deg) = (mean.drum_elevation_deg, limits.min_drum_elevation_deg);
        rows.push(LimitRow::at_least(LimitCode::DrumElevation, elevation_deg, least_deg, "°"));
    }
    let shortest = [mean, gust]
        .into_iter()
        .filter_map(|point| Some((point.drum_tension_n, point.lies?.least_free_drum_tension_n?)))
        .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
    if let Some((tension_n, least_n)) = shortest.filter(|_| !may_lie) {
        rows.push(too_little(tension_n, least_n));
    }
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
    // What is wound stays bent for years, however short the flights are.
    push(LimitCode::GlassStressOnDrum, on_drum_pa, allowed(LoadDuration::Years));
    Ok(())
}

/// Lowest point over ground beyond the first metres at the drum, m; 0 for a line that lies.
pub fn clearance_m(shape: &Shape, exit_height_m: f64) -> f64 {
    let free_m = EXIT_FREE_M.min(0.5 * shape.paid_out_m());
    let clearance_m = shape.clearance_m(-exit_height_m, free_m);
    if shape.lying().is_some() { clearance_m.max(0.0) } else { clearance_m }
}

#[cfg(test)]
mod tests;
