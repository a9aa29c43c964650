//! Lines that reach the ground. The free parts are shapes like any other; between them a part lies straight on a level ground,
//! out of the wind, held back by friction or by nothing.
//!
//! Where a taut line lifts off it is level and its pull points along the part that lies, so that the places where it lands and
//! lifts off and the lengths of the parts follow from Newton's method on a handful of equations. Where more length is out than
//! the line can use, the free parts hang from their upper ends alone; see [`loose`].

use beamstay_environment::flow::Flow;
use beamstay_numerics::domain::in_range;
use nalgebra::Vector3;

use super::{
    LENGTHS_M, Options, Shape, TensionSolution, budget::Budget, check, closed, quick, solve_checked,
    tension::by_tension,
};
use crate::{
    error::TetherError,
    line::Line,
    shape::relax::{Grid, Held, Problem},
};
use at_once::{AtOnce, freely, rises_clear};
use contact::{Goal, Places};
use site::Site;

mod at_once;
mod compose;
mod contact;
mod loose;
mod raised;
mod rise;
mod site;
mod stiff;

/// Depth under the ground, relative to the length, that rounding may cause.
const TOUCH_RATIO: f64 = 1e-7;
/// A level ground.
///
/// # Examples
/// ```
/// let meadow = beamstay_tether::Ground::new(-0.5, 0.3)?;
/// assert!(beamstay_tether::Ground::new(0.5, 0.3).is_err()); // the drum would be under it
/// # assert!(meadow.friction_ratio > 0.0);
/// # Ok::<(), beamstay_tether::TetherError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// Height relative to the drum exit, m; 0 or less. A drum exit less than 5 cm over it counts as on it.
    pub height_m: f64,
    /// Friction on a lying metre over its weight; 0 for none.
    pub friction_ratio: f64,
}

impl Ground {
    /// A ground `height_m` above the drum exit (−10 km to 0) with a coefficient of friction from 0 to 5.
    ///
    /// # Errors
    /// [`TetherError::OutOfRange`].
    pub fn new(height_m: f64, friction_ratio: f64) -> Result<Self, TetherError> {
        let ground = Self { height_m, friction_ratio };
        ground.check()?;
        Ok(ground)
    }

    fn check(&self) -> Result<(), TetherError> {
        in_range("height of the ground over the drum exit", "m", self.height_m, -1e4, 0.0)?;
        in_range("coefficient of friction on the ground", "", self.friction_ratio, 0.0, 5.0)?;
        Ok(())
    }
}

/// What of a line lies on the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lying {
    /// Unstretched length from the drum exit at which the line lands, m; 0 if the drum exit is on the ground.
    pub from_m: f64,
    /// The same where it lifts off, m.
    pub to_m: f64,
    /// Unstretched length of the lying part that carries no tension, m. Where it lies is not determined; it is drawn between
    /// the taut parts, in folds if it is longer than their distance.
    pub loose_m: f64,
}

impl Lying {
    /// Unstretched length that lies on the ground, m.
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }
}

/// What a line does that a winch holds over a ground.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a shape lives on the stack so that solving allocates nothing")]
pub enum TensionOverGround {
    /// It hangs free of the ground.
    Free(Shape),
    /// The drum tension is too small for that: a part lies on the ground.
    Lies {
        /// The shape with what lies.
        shape: Shape,
        /// The least drum tension with which the line hangs free, N.
        least_free_drum_tension_n: f64,
    },
    /// The drum tension does not even carry what hangs from the drum exit down to the ground: the line runs out.
    RunsOut {
        /// The least drum tension that holds the line, N.
        least_drum_tension_n: f64,
        /// The least drum tension with which it hangs free, N.
        least_free_drum_tension_n: f64,
    },
}

/// Shape of a tether of which `length_m`, unstretched, is paid out over `ground`: as
/// [`solve_for_length`](super::solve_for_length) where it hangs free, otherwise with a part on the ground, which
/// [`Shape::lying`] tells.
///
/// The lying part is straight, feels no wind, and friction holds it back by the coefficient times its weight until no tension is
/// left (the law of a mooring line on a level sea bed: J. M. Jonkman, *Dynamics Modeling and Loads Analysis of an Offshore
/// Floating Wind Turbine*, NREL/TP-500-41958, 2007, section 2.5.1). With a friction of 0 the drum feels all of the horizontal pull.
///
/// # Errors
/// As [`solve_for_length`](super::solve_for_length); also [`TetherError::TouchesTwice`] and, for a vehicle that is not above
/// the ground that its line reaches, [`TetherError::OutOfRange`].
///
/// # Examples
/// 130 m of 10 g/m to a vehicle 100 m away and 50 m up in still air. With H = a w the free part is √(z² + 2az) long and reaches
/// a acosh(1 + z/a) far, so that a = 16.97868 m, 65.20905 m lie and the drum feels 1.665039 N:
/// ```
/// use beamstay_environment::{Atmosphere, UniformFlow};
/// use beamstay_tether::{Ground, Line, NormalDrag, Options, solve_for_length_over_ground};
/// use nalgebra::Vector3;
///
/// let air = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::zeros())?;
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.02,
/// };
/// let ground = Ground::new(0.0, 0.0)?;
/// let vehicle_m = Vector3::new(100.0, 0.0, 50.0);
/// let shape =
///     solve_for_length_over_ground(&line, &air, &ground, vehicle_m, 130.0, &Options::default(), None)?;
/// let lying = shape.lying().unwrap();
/// let (a, free_m) = (shape.drum_tension_n() / 0.0980665, 130.0 - lying.length_m());
/// assert!((shape.drum_tension_n() - 1.665039).abs() < 1e-5);
/// assert!((free_m - (50.0 * 50.0 + 100.0 * a).sqrt()).abs() < 1e-4);
/// assert!((lying.length_m() + a * (1.0 + 50.0 / a).acosh() - 100.0).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_for_length_over_ground(
    line: &Line,
    flow: &impl Flow,
    ground: &Ground,
    end_m: Vector3<f64>,
    length_m: f64,
    options: &Options,
    warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    ground.check()?;
    check(line, &end_m, options)?;
    let budget = Budget::new(options.most_evaluations_count);
    let problem = Problem::new(line, flow, end_m, Held::Length, &budget);
    check_length(&problem, length_m)?;
    let free_warm = warm.filter(|shape| shape.lying.is_none());
    let mut grid = Grid::<{ quick::FEW_NODES }>::new(length_m);
    // Taut lines, which most are, first: they are solved at once. A slack one is found sooner on the ground than through it.
    let free = match closed::solve(&problem, length_m) {
        Ok(None) => match quick::settle(&mut grid, &problem, options.relative_tolerance, free_warm) {
            // Made where it is handed out: a shape is large.
            Ok((errors, scale_n)) if !grid.is_doubtful && rises_clear(&grid, &problem, ground) => {
                return Ok(Shape::of(&grid, &problem, errors, scale_n));
            }
            end => freely(end, &grid, &problem, options, free_warm),
        },
        Ok(closed) => closed,
        Err(error) => return Err(error),
    };
    by_length(&problem, ground, length_m, options, free, warm).map_err(|error| budget.cause(error))
}

/// The same from what hangs free, if that came at once.
fn by_length<F: Flow>(
    problem: &Problem<'_, F>,
    ground: &Ground,
    length_m: f64,
    options: &Options,
    free: Option<Shape>,
    warm: Option<&Shape>,
) -> Result<Shape, TetherError> {
    if let Some(free) = &free
        && is_clear(free, ground)
    {
        return Ok(*free);
    }
    let Problem { line, flow, end_m, budget, .. } = *problem;
    let site = Site::new(line, flow, ground, end_m, options, budget)?;
    // In one go, as below: a shape is large, and a question mark would copy it.
    match laid_directly(&site, length_m, warm) {
        Ok(Some(shape)) => return Ok(shape),
        Ok(None) => {}
        Err(error) => return Err(error),
    }
    let site = site.finer();
    if let Some(free) = &free {
        return site.by_length(length_m, || site.touching_places(free));
    }
    match solve_checked(problem, length_m, options.relative_tolerance, None) {
        Ok(free) if is_clear(&free, ground) => Ok(free),
        Ok(free) => site.by_length(length_m, || site.touching_places(&free)),
        Err(error) => site.directly(length_m)?.ok_or(error),
    }
}

/// A line with a part on the ground, where its shape comes without a start or from a neighbour of which a part lies too.
fn laid_directly<F: Flow>(
    site: &Site<'_, F>,
    length_m: f64,
    warm: Option<&Shape>,
) -> Result<Option<Shape>, TetherError> {
    match site.directly(length_m) {
        Ok(None) => match warm.filter(|shape| shape.lying.is_some()) {
            Some(lying) => Ok(site.reached(length_m, Places::of(lying)).ok()),
            None => Ok(None),
        },
        // Loose, but not known well enough.
        Err(TetherError::NotConverged { .. }) => Ok(site.finer().directly(length_m).unwrap_or(None)),
        known => known,
    }
}

/// Whether a length is one to solve for, and reaches the vehicle.
fn check_length<F: Flow>(problem: &Problem<'_, F>, length_m: f64) -> Result<(), TetherError> {
    in_range("unstretched tether length", "m", length_m, LENGTHS_M.0, LENGTHS_M.1)?;
    let distance_m = problem.end_m.norm();
    if problem.line.axial_stiffness_n.is_none() && length_m < distance_m {
        return Err(TetherError::TooShort { length_m, distance_m });
    }
    Ok(())
}

/// What a tether does that the winch holds with `drum_tension_n` over `ground`: as
/// [`solve_for_drum_tension`](super::solve_for_drum_tension) where it hangs free, otherwise with a part on the ground or
/// running out. The model of the ground is that of [`solve_for_length_over_ground`].
///
/// # Errors
/// As [`solve_for_length_over_ground`].
///
/// # Examples
/// The vehicle of that function again. 2 N are too little to hang free, which takes 10.5 N:
/// ```
/// use beamstay_environment::{Atmosphere, UniformFlow};
/// use beamstay_tether::{
///     Ground, Line, NormalDrag, Options, TensionOverGround, solve_for_drum_tension_over_ground,
/// };
/// use nalgebra::Vector3;
///
/// let air = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::zeros())?;
/// let line = Line {
///     mass_kg_per_m: 0.010,
///     diameter_m: 0.003,
///     buoyancy_area_m2: 0.0,
///     axial_stiffness_n: None,
///     normal_drag: NormalDrag::constant(1.1)?,
///     tangential_coefficient: 0.02,
/// };
/// let (ground, vehicle_m) = (Ground::new(0.0, 0.0)?, Vector3::new(100.0, 0.0, 50.0));
/// let held = solve_for_drum_tension_over_ground(
///     &line, &air, &ground, vehicle_m, 2.0, &Options::default(), None,
/// )?;
/// let TensionOverGround::Lies { shape, least_free_drum_tension_n } = held else { panic!() };
/// let free_m = shape.paid_out_m() - shape.lying().unwrap().length_m();
/// let a: f64 = 2.0 / 0.0980665;
/// assert!((free_m - (2500.0 + 100.0 * a).sqrt()).abs() < 1e-3);
/// // Level at the drum: 100 m = a acosh(1 + 50 m/a).
/// let level_a = least_free_drum_tension_n / 0.0980665;
/// assert!((level_a * (1.0 + 50.0 / level_a).acosh() - 100.0).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_for_drum_tension_over_ground(
    line: &Line,
    flow: &impl Flow,
    ground: &Ground,
    end_m: Vector3<f64>,
    drum_tension_n: f64,
    options: &Options,
    warm: Option<&Shape>,
) -> Result<TensionOverGround, TetherError> {
    ground.check()?;
    let free_warm = warm.filter(|shape| shape.lying.is_none());
    in_range("drum tension", "N", drum_tension_n, 1e-6, 1e9)?;
    let budget = Budget::new(options.most_evaluations_count);
    let site = Site::new(line, flow, ground, end_m, options, &budget)?;
    let held = Problem::new(line, flow, end_m, Held::DrumTension(drum_tension_n), &budget);
    let mut grid = Grid::<{ quick::FEW_NODES }>::new(free_warm.map_or(end_m.norm(), Shape::paid_out_m));
    let known = if closed::solve_for_drum_tension(&held, drum_tension_n).is_some() {
        AtOnce::Unknown
    } else {
        match quick::settle(&mut grid, &held, options.relative_tolerance, free_warm) {
            // Made where it is handed out: a shape is large.
            Ok((errors, scale_n))
                if rises_clear(&grid, &held, ground) && grid.slopes.is_steep(&grid.drum_force_n) =>
            {
                return Ok(TensionOverGround::Free(Shape::of(&grid, &held, errors, scale_n)));
            }
            end => site.at_once(&held, drum_tension_n, (end, &grid), free_warm),
        }
    };
    held_over_ground(&site, drum_tension_n, known, free_warm).map_err(|error| budget.cause(error))
}

/// The same from what is known at once.
fn held_over_ground<F: Flow>(
    site: &Site<'_, F>,
    drum_tension_n: f64,
    known: AtOnce,
    free_warm: Option<&Shape>,
) -> Result<TensionOverGround, TetherError> {
    match known {
        AtOnce::Hangs(shape) => return Ok(TensionOverGround::Free(shape)),
        AtOnce::Lies { least_free_drum_tension_n } => {
            if let Some(held) = laid_at_once(site, drum_tension_n, least_free_drum_tension_n)? {
                return Ok(held);
            }
        }
        AtOnce::Unknown => {}
    }
    held_by_the_curve(site, drum_tension_n, free_warm)
}

/// What is less than the least that hangs free, where the shape comes without a start.
fn laid_at_once<F: Flow>(
    site: &Site<'_, F>,
    drum_tension_n: f64,
    least_free_drum_tension_n: f64,
) -> Result<Option<TensionOverGround>, TetherError> {
    let least_drum_tension_n = site.least_drum_tension_n()?;
    if drum_tension_n <= least_drum_tension_n {
        return Ok(Some(TensionOverGround::RunsOut { least_drum_tension_n, least_free_drum_tension_n }));
    }
    match site.shot(Goal::Tension(drum_tension_n), None) {
        Some(shape) => Ok(Some(TensionOverGround::Lies { shape, least_free_drum_tension_n })),
        None => Ok(None),
    }
}

/// By the whole curve of tension over length, as if there were no ground, and from where it touches that.
fn held_by_the_curve<F: Flow>(
    site: &Site<'_, F>,
    drum_tension_n: f64,
    free_warm: Option<&Shape>,
) -> Result<TensionOverGround, TetherError> {
    let Site { line, flow, ground, end_m, options, budget, .. } = *site;
    match by_tension(line, flow, end_m, drum_tension_n, &options, free_warm, budget) {
        Ok(TensionSolution::Hangs { shape, .. }) if is_clear(&shape, ground) => {
            Ok(TensionOverGround::Free(shape))
        }
        Ok(TensionSolution::Hangs { shape, .. }) => laid(site, drum_tension_n, &shape, None),
        Ok(TensionSolution::NoneExists { shape, least_drum_tension_n, .. }) => {
            let clear = is_clear(&shape, ground);
            laid(site, drum_tension_n, &shape, clear.then_some(least_drum_tension_n))
        }
        Err(error) => Err(error),
    }
}

/// With a part on the ground, from the shape that only just touches it; `slack` hangs through it, and `least_free_n` is the least drum
/// tension that hangs free, where it is not that of the touching one.
fn laid<F: Flow>(
    site: &Site<'_, F>,
    drum_tension_n: f64,
    slack: &Shape,
    least_free_n: Option<f64>,
) -> Result<TensionOverGround, TetherError> {
    let places = |touching: Shape| (Places::touching(&touching), touching.drum_tension_n());
    let (start, touching_n) = site.touching(slack).map(places)?;
    let least_free_drum_tension_n = least_free_n.unwrap_or(touching_n);
    if let Some(held) = laid_at_once(site, drum_tension_n, least_free_drum_tension_n)? {
        return Ok(held);
    }
    let (from, to) = (Goal::Tension(touching_n), Goal::Tension(drum_tension_n));
    let shape = site.contact(site.friction_n_per_m()).reach(start, from, to)?;
    Ok(TensionOverGround::Lies { shape: site.finished(shape)?, least_free_drum_tension_n })
}

/// Whether a free shape stays above the ground.
fn is_clear(shape: &Shape, ground: &Ground) -> bool {
    shape.clearance_m(ground.height_m, 0.0) >= -TOUCH_RATIO * shape.paid_out_m()
}
