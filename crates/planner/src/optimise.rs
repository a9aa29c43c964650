//! The best point under limits: a problem over the unit cube in, the best feasible point out. Samples from all sides,
//! climbs into the feasible where no sample is, and finishes by sequential quadratic programming on argmin's interface, since
//! argmin itself knows no limits.

mod climb;
mod global;
mod quadratic;
mod sequential;

pub use global::{Found, Settings, best, from_starts};
pub use sequential::{Finish, finish};

/// One evaluation of a problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// What is maximised; minus infinity where it could not be computed.
    pub goal: f64,
    /// Margins of the limits, always the same ones in the same order; not negative where a limit holds.
    pub margins: Vec<f64>,
    /// Not negative if and only if every limit holds; the lower, the farther from that.
    pub level: f64,
}

impl Trial {
    /// A point of which nothing could be computed but how far off it is.
    pub fn missing(level: f64) -> Self {
        Self { goal: f64::NEG_INFINITY, margins: Vec::new(), level: level.min(-f64::MIN_POSITIVE) }
    }

    /// Whether every limit holds.
    pub fn is_feasible(&self) -> bool {
        self.level >= 0.0 && self.goal.is_finite()
    }

    /// Whether goal and margins could be computed.
    pub fn is_complete(&self) -> bool {
        self.goal.is_finite()
    }

    /// Whether this is the better one: any feasible point before any that is not, then by goal, or by how far off.
    pub fn beats(&self, other: &Self) -> bool {
        match (self.is_feasible(), other.is_feasible()) {
            (true, true) => self.goal > other.goal,
            (false, false) => self.level > other.level,
            (mine, _) => mine,
        }
    }

    /// The better one first, as [`Self::beats`].
    pub fn compare(&self, other: &Self) -> std::cmp::Ordering {
        match (self.beats(other), other.beats(self)) {
            (true, _) => std::cmp::Ordering::Less,
            (_, true) => std::cmp::Ordering::Greater,
            _ => std::cmp::Ordering::Equal,
        }
    }
}

/// What is maximised, over the unit cube.
pub trait Problem {
    /// Computes one point. Coordinates may lie a little outside the cube only where the caller of a finish says so.
    fn evaluate(&mut self, unit: &[f64]) -> Trial;
}

/// Bounds of one coordinate.
pub type Bound = (f64, f64);

#[cfg(test)]
mod tests;
