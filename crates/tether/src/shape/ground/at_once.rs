//! What a line does over a ground, where that is known without the whole curve of tension over length.

use beamstay_environment::flow::Flow;

use super::{
    super::{
        Options, Shape,
        quick::{self, End},
        relax::{Grid, Held, Problem},
        solve_checked, verify,
    },
    Ground, is_clear, rise,
    site::Site,
};

/// What is known of a drum tension at once.
#[allow(clippy::large_enum_variant, reason = "a shape lives on the stack so that solving allocates nothing")]
pub(super) enum AtOnce {
    /// It hangs free.
    Hangs(Shape),
    /// It is less than the least that hangs free.
    Lies {
        /// That least, N.
        least_free_drum_tension_n: f64,
    },
    /// Nothing.
    Unknown,
}

/// A free line where its solution comes at once; `end` is that of sweeps on `grid`.
pub(super) fn freely<F: Flow>(
    end: End,
    grid: &Grid<{ quick::FEW_NODES }>,
    problem: &Problem<'_, F>,
    options: &Options,
    warm: Option<&Shape>,
) -> Option<Shape> {
    let tolerance = options.relative_tolerance;
    let mut free = quick::ended(end, grid, problem, tolerance, warm);
    if free.is_err() && warm.is_some() {
        free = quick::solve(problem, grid.length_m, tolerance, None);
    }
    match free {
        Ok(shape) if shape.is_doubtful => verify::sure(problem, tolerance, shape),
        Ok(shape) => Some(shape),
        Err(_) => None,
    }
}

/// Whether a line on a grid falls nowhere on its way from the drum to a vehicle above the ground.
pub(super) fn rises_clear<F: Flow>(
    grid: &Grid<{ quick::FEW_NODES }>,
    problem: &Problem<'_, F>,
    ground: &Ground,
) -> bool {
    let rises = |force_z_n: &f64| *force_z_n >= 0.0;
    let inside_z_n = &grid.force_n.0[2][..grid.mesh.nodes_count()];
    problem.end_m.z >= ground.height_m && rises(&grid.drum_force_n.z) && inside_z_n.iter().all(rises)
}

impl<F: Flow> Site<'_, F> {
    /// What a drum tension does, where that is known at once; with the end of sweeps that hold it, and their grid.
    pub(super) fn at_once(
        &self,
        held: &Problem<'_, F>,
        drum_tension_n: f64,
        (end, grid): (End, &Grid<{ quick::FEW_NODES }>),
        warm: Option<&Shape>,
    ) -> AtOnce {
        let (distance_m, tolerance) = (self.end_m.norm(), self.options.relative_tolerance);
        // Step by step: a shape is large, and every adapter would copy it.
        let mut free = quick::ended(end, grid, held, tolerance, warm);
        if free.is_err() {
            free = quick::solve(held, distance_m, tolerance, None);
        }
        match free {
            Ok(free) if is_clear(&free, self.ground) => {
                // Far on the taut side no other length can have this tension and be shorter.
                let falls = free.slopes.is_steep(&free.force_at_drum_n());
                if falls { AtOnce::Hangs(free) } else { AtOnce::Unknown }
            }
            _ => self.below_touching(&held.with(Held::Length), drum_tension_n).unwrap_or(AtOnce::Unknown),
        }
    }

    /// That a drum tension is less than that of the line which only just touches the ground, and less would not hang free with
    /// less line.
    fn below_touching(&self, problem: &Problem<'_, F>, drum_tension_n: f64) -> Option<AtOnce> {
        let length_m = rise::touching_length_m(self)?;
        let tolerance = self.options.relative_tolerance;
        let touching = solve_checked(problem, length_m, tolerance, None).ok()?;
        let least_free_drum_tension_n = touching.drum_tension_n();
        if least_free_drum_tension_n < (1.0 + 1e-3) * drum_tension_n {
            return None;
        }
        // Where it falls with the length up to here, it is the least.
        let shorter = solve_checked(problem, (1.0 - 1e-3) * length_m, tolerance, Some(&touching)).ok()?;
        (shorter.drum_tension_n() > least_free_drum_tension_n)
            .then_some(AtOnce::Lies { least_free_drum_tension_n })
    }
}
