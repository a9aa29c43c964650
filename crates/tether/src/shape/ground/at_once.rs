//! What a drum tension does over a ground, where that is known without the whole curve of tension over length.

use beamstay_environment::flow::Flow;

use super::{
    super::{
        Shape, closed, quick,
        relax::{Held, Problem},
        solve_checked,
    },
    is_clear, rise,
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

impl<F: Flow> Site<'_, F> {
    /// What a drum tension does, where that is known at once.
    pub(super) fn at_once(&self, drum_tension_n: f64, warm: Option<&Shape>) -> AtOnce {
        let held =
            Problem::new(self.line, self.flow, self.end_m, Held::DrumTension(drum_tension_n), self.budget);
        if closed::solve_for_drum_tension(&held, drum_tension_n).is_some() {
            return AtOnce::Unknown;
        }
        let (distance_m, tolerance) = (self.end_m.norm(), self.options.relative_tolerance);
        let length_m = warm.map_or(distance_m, Shape::paid_out_m);
        // Step by step: a shape is large, and every adapter would copy it.
        let mut free = quick::solve(&held, length_m, tolerance, warm);
        if free.is_err() {
            free = quick::solve(&held, distance_m, tolerance, None);
        }
        match free {
            Ok(free) if is_clear(&free, self.ground) => {
                // Far on the taut side no other length can have this tension and be shorter.
                let falls =
                    free.slopes.tension_by_growth_n(&free.force_at_drum_n()) < -2.0 * free.drum_tension_n();
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
