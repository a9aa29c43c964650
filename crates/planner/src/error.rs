//! Why a plan cannot be computed. A plan that does not close is a result, not an error.

use std::fmt::Display;

use thiserror::Error;

use crate::diagnostic::{Conflict, Diagnostic, Fault};

/// Why a plan cannot be computed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The scenario is refused: parts that do not go together, or a model outside its range.
    #[error("{place}: {0}", place = .0.pointer)]
    Refused(Box<Diagnostic>),
    /// A solver did not converge; the scenario may be fine.
    #[error("the {stage} did not converge: {detail}")]
    NotConverged {
        /// Which part of the computation.
        stage: &'static str,
        /// The solver's own words, with its numbers.
        detail: String,
    },
}

impl PlanError {
    /// A part that is missing.
    pub(crate) fn needs(pointer: &str, part: &'static str, needed: &'static str) -> Self {
        Self::Refused(Box::new(Diagnostic::new(pointer, Fault::Conflict(Conflict::Needs { part, needed }))))
    }

    /// Two parts that exclude each other.
    pub(crate) fn excludes(pointer: &str, part: &'static str, other: &'static str) -> Self {
        Self::Refused(Box::new(Diagnostic::new(pointer, Fault::Conflict(Conflict::Excludes { part, other }))))
    }

    /// A model that refused what stands at `pointer`.
    pub(crate) fn model(pointer: &str, detail: impl Display) -> Self {
        Self::Refused(Box::new(Diagnostic::new(pointer, Fault::Model { detail: detail.to_string() })))
    }
}

/// Says at which pointer a model's refusal arose.
pub(crate) trait At<T> {
    /// Turns the model's error into a [`PlanError::Refused`] at `pointer`.
    fn at(self, pointer: &str) -> Result<T, PlanError>;
}

impl<T, E: Display> At<T> for Result<T, E> {
    fn at(self, pointer: &str) -> Result<T, PlanError> {
        self.map_err(|error| PlanError::model(pointer, error))
    }
}
