//! What is done when the quick solver fails: Newton's method on meshes that adapt and, where they have no room, are packed anew;
//! from a guess, a neighbour, a shot or a chain at rest.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Shape,
    adapt::{self, Allowed},
    chain::{Chain, DIVISIONS_OF_MESH},
    kink::{self, Breaks},
    mesh::{Element, Mesh},
    newton::Workspace,
    pack, quick,
    relax::{Grid, Problem},
    shot::Shot,
    solution::MAX_NODES,
};
use crate::error::TetherError;

/// Newton steps on one mesh.
const NEWTON_STEPS: u32 = 20;
/// Meshes for one tether.
const MESHES: u32 = 14;
/// Meshes after which none is laid anew for one bend.
const MESHES_OF_BENDS: u32 = 4;
/// Nodes of what is left of an element that was cut at a kink.
const PIECE_ORDER: usize = 8;
/// Share of the allowed error that a mesh is laid for.
const PACK_MARGIN: f64 = 0.5;
/// Share of an error that a mesh leaves of it at best.
const GAIN: f64 = 1e-3;
/// Residual with which a packed mesh may still help.
const MOST_RESIDUAL: f64 = 1e-3;
/// Residual at which Newton's method ends, over the tolerance; its next step would be far below it.
const NEWTON_SHARE: f64 = 0.03;
/// Lengths that are tried until a line is as high as it must be, and what it may be off, over what is allowed.
const LENGTHS: u32 = 6;
const HEIGHT_SHARE: f64 = 0.03;
/// Tolerance on the way.
const ROUGH: f64 = 1e-3;

/// Grid and workspace of the thorough solver.
pub(super) struct Thorough {
    pub grid: Grid<MAX_NODES>,
    workspace: Workspace<MAX_NODES>,
    /// Residual at which Newton's method ends, over the tolerance.
    newton_share: f64,
}

impl Thorough {
    pub(super) fn new(length_m: f64) -> Self {
        Self { grid: Grid::new(length_m), workspace: Workspace::new(), newton_share: NEWTON_SHARE }
    }

    /// Ends Newton's method so much nearer from now on, over what it is else: where a drum tension changes by as much more than the
    /// length.
    pub(super) fn end_nearer(&mut self, ratio: f64) {
        self.newton_share = NEWTON_SHARE * ratio.min(1.0);
    }

    /// Solves from the first guess.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn solve<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
    ) -> Result<Shape, TetherError> {
        quick::start_from_guess(&mut self.grid, problem, ROUGH);
        let errors = self.settle(problem, tolerance)?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves from a neighbour.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn solve_from<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        warm: &Shape,
    ) -> Result<Shape, TetherError> {
        self.grid.start_from(warm, problem);
        let errors = self.settle_on(Laying::Finer, problem, tolerance)?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves for a place of the curve that was found roughly, from what was shot there.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn solve_near<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        shot: &Shot,
    ) -> Result<Shape, TetherError> {
        quick::start_from_guess(&mut self.grid, problem, ROUGH);
        let length_m = self.grid.length_m;
        self.grid.set_force(|place| shot.force_n(place, length_m));
        let mut settled = self.settle(problem, tolerance);
        if settled.is_err() {
            // The first mesh knows nothing of where a limp line turns.
            self.grid.lay(&shot.mesh());
            self.grid.set_force(|place| shot.force_n(place, length_m));
            settled = self.settle_on(Laying::Packed, problem, tolerance);
        }
        let errors = settled?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves from where a chain of links came to rest.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn solve_at_rest<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        chain: &Chain,
    ) -> Result<Shape, TetherError> {
        let mut last = self.failure(problem, f64::INFINITY);
        for division in DIVISIONS_OF_MESH {
            self.grid.lay(&chain.mesh(division));
            self.grid.set_force(|place| chain.force_n(place));
            match self.settle_on(Laying::Packed, problem, tolerance) {
                Ok(errors) => {
                    let (scale_n, _) = self.grid.end_scales_n();
                    return Ok(Shape::of(&self.grid, problem, errors, scale_n));
                }
                Err(error) => last = error,
            }
        }
        Err(last)
    }

    /// Solves for a line with nothing at its lower end from a mesh and a guess of the force at a place, a share of the length, which
    /// is scaled until the line is as high as the end of the problem.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn hang<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        mesh: &Mesh,
        force_n: impl Fn(f64) -> Vector3<f64>,
    ) -> Result<Shape, TetherError> {
        self.grid.lay(mesh);
        self.grid.set_force(force_n);
        self.grid.drum_force_n = Vector3::zeros();
        for _ in 0..LENGTHS {
            let errors = self.settle_on(Laying::Packed, problem, tolerance)?;
            let height_m = self.grid.end_position_m.z;
            if (height_m - problem.end_m.z).abs() <= HEIGHT_SHARE * tolerance * self.grid.length_m {
                let problem = Problem { end_m: self.grid.end_position_m, ..*problem };
                return Ok(Shape::of(&self.grid, &problem, errors, self.grid.top_force_n.norm()));
            }
            self.grid.length_m *= problem.end_m.z / height_m;
        }
        Err(self.failure(problem, f64::INFINITY))
    }

    /// Solves for another length from what the grid holds.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn again<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        length_m: f64,
    ) -> Result<Shape, TetherError> {
        self.grid.length_m = length_m;
        let errors = self.settle_on(Laying::Finer, problem, tolerance)?;
        let (scale_n, _) = self.grid.end_scales_n();
        Ok(Shape::of(&self.grid, problem, errors, scale_n))
    }

    /// Solves for another length from a neighbour.
    ///
    /// # Errors
    /// As [`Self::settle`].
    pub(super) fn again_from<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
        length_m: f64,
        warm: &Shape,
    ) -> Result<Shape, TetherError> {
        self.grid.length_m = length_m;
        self.solve_from(problem, tolerance, warm)
    }

    /// Solves from what the grid holds, on meshes that adapt until the estimated error is below the tolerance; the estimate.
    pub(super) fn settle<F: Flow>(
        &mut self,
        problem: &Problem<'_, F>,
        tolerance: f64,
    ) -> Result<Allowed, TetherError> {
        self.settle_on(Laying::New, problem, tolerance)
    }

    /// The same with what is known of the mesh.
    fn settle_on<F: Flow>(
        &mut self,
        laying: Laying,
        problem: &Problem<'_, F>,
        tolerance: f64,
    ) -> Result<Allowed, TetherError> {
        let mut force_error_ratio = f64::INFINITY;
        let mut next = Next { laying, number: 0, margin: PACK_MARGIN };
        let mut before_packing = None;
        while next.number < MESHES && !problem.budget.is_spent() {
            let is_first = laying == Laying::New && next.number == 0;
            // The first mesh is only good for a first idea.
            let goal = if is_first { tolerance.max(1e-4) } else { self.newton_share * tolerance };
            let sweeps_before = self.grid.iterations_count;
            let residual = self.workspace.solve(&mut self.grid, problem, goal, NEWTON_STEPS);
            let steps_count = self.grid.iterations_count - sweeps_before;
            problem.budget.spend_steps(steps_count, self.grid.mesh.nodes_count());
            force_error_ratio = residual.size();
            let most = if next.laying == Laying::Packed { MOST_RESIDUAL } else { 0.1 * tolerance };
            if residual.size() > goal.max(most) {
                // From the last good mesh with one that is only finer.
                let Some((good, finer)) = before_packing.take() else { break };
                self.grid = good;
                self.grid.move_to(&finer);
                next.laying = Laying::Finer;
                next.number += 1;
                continue;
            }
            let (smaller_n, largest_n) = self.grid.end_scales_n();
            let scale_n = if problem.is_loose { largest_n } else { smaller_n };
            let allowed =
                Allowed { force_n: tolerance * scale_n, position_m: tolerance * self.grid.length_m };
            let errors = adapt::errors(&self.grid);
            next.number += 1;
            if kink::follow(&mut self.grid, problem, 0.3 * allowed.force_n) {
                continue;
            }
            let mesh = match next.cut(&self.grid, problem, allowed) {
                None if residual.size() <= 0.1 * tolerance && errors.within(allowed) => return Ok(errors),
                None => next.mesh(&self.grid, problem, errors, allowed),
                cut => cut,
            };
            let Some(mesh) = mesh else { break };
            before_packing = match next.laying {
                Laying::Packed => self.with_finer(problem, allowed),
                Laying::New | Laying::Finer => None,
            };
            self.grid.move_to(&mesh);
        }
        Err(self.failure(problem, force_error_ratio))
    }

    /// The grid as it is, and a mesh that is only finer.
    fn with_finer<F: Flow>(
        &self,
        problem: &Problem<'_, F>,
        allowed: Allowed,
    ) -> Option<(Grid<MAX_NODES>, Mesh)> {
        let finer = adapt::adapted(&self.grid, problem, allowed, MESHES)?;
        Some((self.grid.clone(), finer))
    }

    fn failure<F: Flow>(&self, problem: &Problem<'_, F>, force_error_ratio: f64) -> TetherError {
        TetherError::NotConverged {
            iterations_count: self.grid.iterations_count,
            force_error_ratio,
            end_error_m: (problem.end_m - self.grid.end_position_m).norm(),
        }
    }
}

/// How meshes are laid.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Laying {
    /// From a first one that says little.
    New,
    /// Finer and finer.
    Finer,
    /// No finer than they must be, once they are cut at the kinks of the load.
    Packed,
}

/// The next mesh.
struct Next {
    laying: Laying,
    number: u32,
    /// Share of the allowed error that a packed mesh is laid for; it falls if errors were larger than they looked.
    margin: f64,
}

impl Next {
    fn cut<F: Flow>(
        &self,
        grid: &Grid<MAX_NODES>,
        problem: &Problem<'_, F>,
        allowed: Allowed,
    ) -> Option<Mesh> {
        if self.laying == Laying::Packed { cut_at_kinks(grid, problem, allowed) } else { None }
    }

    /// `None` if there is no room.
    fn mesh<F: Flow>(
        &mut self,
        grid: &Grid<MAX_NODES>,
        problem: &Problem<'_, F>,
        errors: Allowed,
        allowed: Allowed,
    ) -> Option<Mesh> {
        if self.laying != Laying::Packed {
            let number =
                if self.laying == Laying::New { self.number - 1 } else { self.number + MESHES_OF_BENDS };
            if let Some(mesh) = adapt::adapted(grid, problem, allowed, number) {
                return Some(mesh);
            }
            self.laying = Laying::Packed;
            if let Some(mesh) = cut_at_kinks(grid, problem, allowed) {
                return Some(mesh);
            }
        }
        // Errors that are far too large are only known well enough to go a part of the way.
        let tighter = Allowed {
            force_n: (self.margin * allowed.force_n).max(GAIN * errors.force_n),
            position_m: (self.margin * allowed.position_m).max(GAIN * errors.position_m),
        };
        self.margin *= 0.5;
        pack::packed(&Shape::of(grid, problem, errors, 1.0), problem, tighter, MAX_NODES)
            .or_else(|| adapt::adapted(grid, problem, allowed, MESHES))
    }
}

/// The mesh of a grid, cut at the kinks of the load; `None` if there are none, or no room. How far an element is off can only be
/// told without them.
fn cut_at_kinks<F: Flow>(grid: &Grid<MAX_NODES>, problem: &Problem<'_, F>, allowed: Allowed) -> Option<Mesh> {
    let mut mesh = Mesh::empty();
    let mut any = false;
    for (e, element) in grid.mesh.elements().iter().enumerate() {
        let breaks = Breaks::of(grid, problem, e, allowed);
        let mut lower = 0.0;
        for (upper, boundary) in breaks.iter().chain([(1.0, element.boundary)]) {
            let whole = (lower, upper) == (0.0, 1.0);
            any |= !whole;
            let order = if whole { element.order } else { element.order.min(PIECE_ORDER) };
            let piece = Element { boundary, order, ..element.cut(lower, upper) };
            mesh.push(piece, MAX_NODES).then_some(())?;
            lower = upper;
        }
    }
    any.then_some(mesh)
}
