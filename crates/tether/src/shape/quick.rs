//! The quick solver at work: sweeps on one mesh, then on a better one, until change and estimated error are small.

use beamstay_environment::flow::Flow;

use super::{
    Shape,
    adapt::{self, Allowed, Bend},
    kink,
    mesh::Mesh,
    mixer::Mixer,
    pack,
    relax::{Grid, Held, Problem, UNKNOWN_RATIO},
    start,
    taut::Taut,
};

/// Nodes that do for most tethers; little room is quickly cleared.
pub(super) const FEW_NODES: usize = 32;
/// Most nodes of the quick solver.
const MORE_NODES: usize = 128;
/// Most sweeps; who needs more is better served by Newton's method.
const SWEEPS: u32 = 40;
/// Sweeps after which changes as large as the forces mean that there will be no solution.
const PATIENCE: u32 = 12;
/// Change of the forces, relative to them, that is good enough for a first mesh.
const ROUGH_RATIO: f64 = 3e-3;

/// Ratio of a change to the one before beyond which sweeps are mixed: the mixture is of nodes that move with their element's ends,
/// which makes up for less than it costs below that.
const SLOW_RATIO: f64 = 0.4;

/// Ratio that is taken for a guess before two sweeps were made.
const FIRST_RATIO: f64 = 0.25;

/// Least ratio that is believed.
const LEAST_RATIO: f64 = 0.05;

/// Nodes of a shape up to which its error is as estimated; more mean that the load has kinks.
const SURE_NODES: usize = 64;

/// How the changes shrink from sweep to sweep.
struct Contraction {
    before_n: f64,
    ratio: f64,
    /// Worst ratio on this mesh.
    worst_ratio: f64,
}

impl Contraction {
    /// Of sweeps that are taken to have a ratio.
    fn new(ratio: f64) -> Self {
        Self { before_n: f64::INFINITY, ratio, worst_ratio: 0.0 }
    }

    /// Takes the change of a sweep; the sum of all that are still to come if they go on to shrink in the same ratio.
    fn remaining_n(&mut self, change_n: f64) -> f64 {
        if self.before_n.is_finite() {
            let now_ratio = change_n / self.before_n;
            // Mixed sweeps shrink by fits and starts.
            let kept = if self.is_slow() { 0.7 } else { 0.3 };
            self.ratio = now_ratio.max(kept * self.ratio).clamp(LEAST_RATIO, 0.9);
            self.worst_ratio = self.worst_ratio.max(self.ratio);
        }
        self.before_n = change_n;
        change_n * self.ratio / (1.0 - self.ratio)
    }

    /// Whether mixing the last sweeps gains more than it costs: while the changes still shrink fast, what it carries over from
    /// larger ones is worse than the newest.
    fn is_slow(&self) -> bool {
        self.ratio > SLOW_RATIO
    }

    fn new_mesh(&mut self) {
        self.before_n = f64::INFINITY;
        self.worst_ratio = 0.0;
    }
}

/// What the mesh that is swept on came from.
struct Meshes {
    /// Whether it is a first one, on which changes need not become small.
    rough: bool,
    /// How many there were before it.
    attempt: u32,
    /// Whether a first one was among them.
    afresh: bool,
}

impl Meshes {
    /// Moves to a mesh that should do, made from the errors on this one; where it has no room among few nodes, to a first one again,
    /// once.
    fn next<const N: usize, F: Flow>(
        &mut self,
        estimate: &adapt::Estimate,
        grid: &mut Grid<N>,
        problem: &Problem<'_, F>,
        allowed: Allowed,
        errors: Allowed,
        tolerance: f64,
    ) -> Result<(), Stop> {
        let attempt = self.attempt + u32::from(!self.rough);
        let mesh = adapt::adapted_by(estimate, grid, problem, allowed, attempt)
            .or_else(|| tight(grid, problem, allowed, errors));
        match mesh {
            Some(mesh) => {
                grid.move_to(&mesh);
                (self.rough, self.attempt) = (false, self.attempt + 1);
            }
            None if self.afresh || N > FEW_NODES => return Err(Stop::Coarse),
            None => {
                begin_afresh(grid, problem, tolerance);
                *self = Self { rough: true, attempt: 0, afresh: true };
            }
        }
        Ok(())
    }
}

/// Why the quick solver gave up.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stop {
    /// The sweeps do not converge, or not fast enough.
    Diverges,
    /// The mesh has no room, and nothing was swept.
    NeedsNodes,
    /// The mesh has no room, but the sweeps came to an end on a coarser one.
    Coarse,
}

/// Solves from a guess or from a neighbouring shape.
pub(super) fn solve<F: Flow>(
    problem: &Problem<'_, F>,
    length_m: f64,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Result<Shape, Stop> {
    let mut grid = Grid::<FEW_NODES>::new(length_m);
    let end = settle(&mut grid, problem, tolerance, warm);
    ended(end, &grid, problem, tolerance, warm)
}

/// How sweeps on a grid end: with the estimated errors, and the force to which they are related, N.
pub(super) type End = Result<(Allowed, f64), Stop>;

/// The shape that sweeps on `grid` ended with, or what more nodes lead to.
pub(super) fn ended<F: Flow>(
    end: End,
    grid: &Grid<FEW_NODES>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Result<Shape, Stop> {
    match end {
        Ok((errors, scale_n)) => Ok(Shape::of(grid, problem, errors, scale_n)),
        Err(stop) => solve_after(stop, grid, problem, tolerance, warm),
    }
}

/// The same after few nodes, which led to `grid`, did not do.
pub(super) fn solve_after<F: Flow>(
    stop: Stop,
    grid: &Grid<FEW_NODES>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    warm: Option<&Shape>,
) -> Result<Shape, Stop> {
    let mut larger = Grid::<MORE_NODES>::new(grid.length_m);
    let (errors, scale_n) = match stop {
        Stop::Diverges => return Err(stop),
        Stop::Coarse => {
            larger.take_over(grid);
            begin_afresh(&mut larger, problem, tolerance);
            sweep_on(&mut larger, problem, tolerance, true, UNKNOWN_RATIO)?
        }
        Stop::NeedsNodes => {
            let nodes_count = |shape: &&Shape| shape.mesh.nodes_count();
            let fits = |shape: &&Shape| nodes_count(shape) > FEW_NODES && nodes_count(shape) <= MORE_NODES;
            settle(&mut larger, problem, tolerance, warm.filter(fits))?
        }
    };
    Ok(Shape::of(&larger, problem, errors, scale_n))
}

/// Sweeps on a new grid, which is not moved when it is done.
pub(super) fn settle<const N: usize, F: Flow>(
    grid: &mut Grid<N>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    warm: Option<&Shape>,
) -> End {
    match warm {
        Some(shape) if shape.mesh.nodes_count() > N => Err(Stop::NeedsNodes),
        Some(shape) => {
            grid.start_from(shape, problem);
            sweep_on(grid, problem, tolerance, false, shape.contraction_ratio)
        }
        None => {
            start_from_guess(grid, problem, tolerance);
            sweep_on(grid, problem, tolerance, true, FIRST_RATIO)
        }
    }
}

/// Solves for a nearly straight line from the loads along it; `None` if that does not converge, or it is not nearly straight.
pub(super) fn solve_taut<F: Flow>(problem: &Problem<'_, F>, length_m: f64, tolerance: f64) -> Option<Shape> {
    let taut = Taut::new(problem);
    let (tension_n, length_m) = match problem.held {
        Held::Length => (taut.tension_at_length_n(length_m)?, length_m),
        Held::DrumTension(tension_n) => {
            let mean_tension_n = taut.mean_tension_n(tension_n);
            (mean_tension_n, taut.length_m(mean_tension_n)?)
        }
    };
    let mut grid = Grid::<MORE_NODES>::new(length_m);
    grid.lay(&adapt::first_mesh(problem.flow, problem.end_m.z, tolerance, MORE_NODES));
    grid.set_force(|place| taut.force_n(tension_n, place));
    grid.gives_way = matches!(problem.held, Held::DrumTension(_));
    let (errors, scale_n) = sweep_on(&mut grid, problem, tolerance, true, FIRST_RATIO).ok()?;
    Some(Shape::of(&grid, problem, errors, scale_n))
}

/// Sweeps from what the grid holds, to a `rough` end at first if that is only a guess; `ratio` is that in which changes are taken to
/// shrink.
fn sweep_on<const N: usize, F: Flow>(
    grid: &mut Grid<N>,
    problem: &Problem<'_, F>,
    tolerance: f64,
    rough: bool,
    ratio: f64,
) -> End {
    let mut mixer: Option<Mixer<N>> = None;
    let mut contraction = Contraction::new(ratio);
    let mut meshes = Meshes { rough, attempt: 0, afresh: rough };
    for sweep in 0..SWEEPS {
        let progress = grid.sweep(problem);
        let (scale_n, largest_n) = grid.end_scales_n();
        let allowed = Allowed { force_n: tolerance * scale_n, position_m: tolerance * grid.length_m };
        if !progress.is_finite() || (sweep > PATIENCE && progress.change_n > 0.3 * largest_n) {
            return Err(Stop::Diverges);
        }
        let goal_n = if meshes.rough { ROUGH_RATIO * scale_n } else { 0.15 * allowed.force_n };
        let remaining_n = contraction.remaining_n(progress.change_n);
        let near = progress.missed_m <= 1e-2 * grid.length_m;
        let length_stands =
            meshes.rough || progress.growth_ratio.abs() * grid.length_m <= 0.2 * allowed.position_m;
        if !(near && length_stands && remaining_n <= goal_n) {
            if contraction.is_slow() {
                mixer.get_or_insert_with(Mixer::new).mix(grid);
            }
            grid.advance();
            grid.move_to_heights(problem.compliance_per_n);
            continue;
        }
        grid.advance();
        let estimate = adapt::Estimate::of(grid);
        let mut errors = estimate.sum(grid);
        errors.force_n = errors.force_n / (1.0 - contraction.ratio.min(0.8)) + remaining_n;
        if meshes.rough {
            errors.force_n -= remaining_n;
        }
        let good = errors.within(allowed) && !kink::any(grid, problem, allowed);
        if good && meshes.rough {
            meshes.rough = false;
            grid.move_to_heights(problem.compliance_per_n);
            continue;
        }
        if good {
            if kink::follow(grid, problem, 0.3 * allowed.force_n) {
                mixer = None;
                continue;
            }
            let missed_m = grid.renew_positions(problem);
            let off_n = (grid.stiffness_n_per_m() * missed_m).norm();
            let held = problem.is_held(&grid.drum_force_n, tolerance);
            if held && missed_m.norm() <= allowed.position_m && off_n <= 0.3 * allowed.force_n {
                grid.contraction_ratio = contraction.worst_ratio.max(LEAST_RATIO);
                grid.is_doubtful = is_doubtful(grid, problem, allowed);
                return Ok((errors, scale_n));
            }
            continue;
        }
        meshes.next(&estimate, grid, problem, allowed, errors, tolerance)?;
        mixer = None;
        contraction.new_mesh();
    }
    Err(Stop::Diverges)
}

/// Whether the error of what converged may be larger than it looks.
fn is_doubtful<const N: usize>(grid: &Grid<N>, problem: &Problem<'_, impl Flow>, allowed: Allowed) -> bool {
    grid.mesh.nodes_count() > SURE_NODES
        || N > FEW_NODES && Bend::of(grid).is_sharp()
        || kink::is_missed(grid, allowed.position_m)
        || kink::meets_end_of_curve(problem, grid.flows())
}

/// A mesh that is no finer than it must be, where one that is only finer has no room on the larger grid.
fn tight<const N: usize, F: Flow>(
    grid: &Grid<N>,
    problem: &Problem<'_, F>,
    allowed: Allowed,
    errors: Allowed,
) -> Option<Mesh> {
    let held = Allowed { force_n: 0.3 * allowed.force_n, position_m: 0.3 * allowed.position_m };
    let shape = || Shape::of(grid, problem, errors, 1.0);
    if N > FEW_NODES { pack::packed(&shape(), problem, held, N) } else { None }
}

/// Puts what was swept on a first mesh again: meshes that were made finer and finer, from neighbour to neighbour, have more nodes
/// than the tether needs.
fn begin_afresh<const N: usize>(grid: &mut Grid<N>, problem: &Problem<'_, impl Flow>, tolerance: f64) {
    let mesh = adapt::first_mesh(problem.flow, problem.end_m.z, tolerance, N);
    let bend = Bend::of(grid);
    let crowded = if bend.is_sharp() { bend.mesh(&mesh, N) } else { None };
    grid.move_to(&crowded.unwrap_or(mesh));
}

/// Lays a first mesh and guesses the forces on it.
pub(super) fn start_from_guess<const N: usize>(
    grid: &mut Grid<N>,
    problem: &Problem<'_, impl Flow>,
    tolerance: f64,
) {
    let load = start::ChordLoad::new(problem.line, problem.flow, &problem.end_m);
    let (mean, sharp) = (load.mean_n_per_m, start_under(grid, problem, &load.mean_n_per_m, tolerance));
    if !sharp {
        let length_m = grid.length_m;
        let drum_n = grid.drum_force_n + length_m * load.drum_surplus_n_per_m(&problem.end_m);
        grid.set_force(|place| drum_n - length_m * (place * mean + load.surplus_n_per_m(place)));
    }
}

/// The same, with the load of which the guess is made, the same on every metre; whether the tether turns sharply somewhere.
pub(super) fn start_under<const N: usize>(
    grid: &mut Grid<N>,
    problem: &Problem<'_, impl Flow>,
    load_n_per_m: &nalgebra::Vector3<f64>,
    tolerance: f64,
) -> bool {
    if let Held::DrumTension(tension_n) = problem.held {
        let slack = start::slack_ratio(load_n_per_m, &problem.end_m, tension_n, problem.compliance_per_n);
        grid.length_m = problem.end_m.norm() * (1.0 + slack);
    }
    let length_m = grid.length_m;
    let drum_n = start::drum_force_n(load_n_per_m, &problem.end_m, length_m, problem.compliance_per_n);
    let mesh = adapt::first_mesh(problem.flow, problem.end_m.z, tolerance, N);
    let bend = Bend::under_constant_load(&drum_n, &(length_m * load_n_per_m));
    let crowded = if bend.is_sharp() { bend.mesh(&mesh, N) } else { None };
    grid.lay(&crowded.unwrap_or(mesh));
    grid.set_force(|place| drum_n - place * length_m * load_n_per_m);
    bend.is_sharp()
}
