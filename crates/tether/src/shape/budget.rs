//! How much work one answer may take, counted and never timed, so that the same line ends the same way on every machine.

use std::cell::Cell;

use crate::error::TetherError;

/// Work of one call where the caller asks for no less: evaluations of the flow, or as much of other work as takes as long; some
/// twenty times what a hard line needs.
pub(super) const MOST_WORK: u64 = 5_000_000;
/// A node in a step of Newton's method for all forces costs as much as so many evaluations.
const NEWTON_NODE: u64 = 10;

/// Work spent so far.
#[derive(Debug)]
pub(super) struct Budget {
    most: u64,
    spent: Cell<u64>,
}

impl Budget {
    pub(super) fn new(most: u64) -> Self {
        Self { most, spent: Cell::new(0) }
    }

    /// Counts evaluations of the flow.
    pub(super) fn spend(&self, evaluations_count: usize) {
        self.spent.set(self.spent.get() + evaluations_count as u64);
    }

    /// Counts steps of Newton's method for all forces.
    pub(super) fn spend_steps(&self, steps_count: u32, nodes_count: usize) {
        self.spent.set(self.spent.get() + NEWTON_NODE * u64::from(steps_count) * nodes_count as u64);
    }

    /// Whether no search should begin or go on.
    pub(super) fn is_spent(&self) -> bool {
        self.spent.get() >= self.most
    }

    /// The cause of a failure: that the work is spent, where it is.
    pub(super) fn cause(&self, error: TetherError) -> TetherError {
        match error {
            TetherError::NotConverged { .. } if self.is_spent() => self.spent(),
            other => other,
        }
    }

    /// That the work is spent.
    pub(super) fn spent(&self) -> TetherError {
        TetherError::WorkSpent { evaluations_count: self.spent.get() }
    }
}
