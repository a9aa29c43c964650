//! A scenario as a problem over the unit cube.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::{Goal, Sense};
use crate::{
    error::PlanError,
    limit::LimitCode,
    optimise::{Problem, Trial},
    point::OperatingPoint,
    study::{NOTHING_COMPUTED, Quantity, Span, Study, Worker, binding_rows, standing, standing_of},
};

/// Tension over its upper bound below which a step of tension is even, above which it grows with the tension.
const EVEN_SHARE: f64 = 0.02;

/// A free input between its bounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Free {
    /// The input and its bounds.
    pub span: Span,
    /// Value from which on equal steps are equal ratios; none for even steps.
    bend: Option<f64>,
}

impl Free {
    /// Between the bounds of a span. A drum tension, whose best values lie far below its largest, is stepped by ratio.
    pub fn new(span: Span) -> Self {
        let by_ratio = span.input.key() == "drum_tension_n" && span.lo >= 0.0;
        Self { bend: by_ratio.then_some(EVEN_SHARE * span.hi), span }
    }

    /// Value at a coordinate; beyond 0 and 1 it goes on.
    pub fn value(&self, unit: f64) -> f64 {
        let (lo, hi) = (self.span.lo, self.span.hi);
        let value = match self.bend {
            Some(bend) => (lo + bend) * ((hi + bend) / (lo + bend)).powf(unit) - bend,
            None => lo + unit * (hi - lo),
        };
        // Rounding may not carry a bound over itself.
        if (0.0..=1.0).contains(&unit) { value.clamp(lo, hi) } else { value }
    }

    /// Coordinate of a value.
    pub fn unit(&self, value: f64) -> f64 {
        let (lo, hi) = (self.span.lo, self.span.hi);
        match self.bend {
            Some(bend) => ((value + bend) / (lo + bend)).ln() / ((hi + bend) / (lo + bend)).ln(),
            None => (value - lo) / (hi - lo),
        }
    }
}

/// Points computed, over all threads.
#[derive(Debug, Default)]
pub struct Counter(AtomicUsize);

impl Counter {
    /// How many.
    pub fn count(&self) -> usize {
        self.0.load(Ordering::Relaxed)
    }
}

/// What a target asks for beside its goal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Aim {
    /// The goal itself.
    Goal,
    /// Little fiber, the goal no worse than this.
    LessFiber { least_goal: f64 },
    /// Little or much of one coordinate, the goal no worse than this.
    Coordinate { index: usize, upward: bool, least_goal: f64 },
}

/// A scenario with a goal over free inputs.
#[derive(Debug, Clone)]
pub struct Target<'a> {
    worker: Worker<'a>,
    pub(super) free: &'a [Free],
    goal: &'a Goal,
    counter: Option<&'a Counter>,
    values: Vec<f64>,
    pub(super) aim: Aim,
    /// A limit that gives way, and by how much of itself.
    pub(super) relaxed: Option<(LimitCode, f64)>,
}

impl<'a> Target<'a> {
    /// A target of its own worker.
    pub fn new(study: &'a Study, free: &'a [Free], goal: &'a Goal) -> Self {
        Self {
            worker: study.worker(),
            free,
            goal,
            counter: None,
            values: Vec::with_capacity(free.len()),
            aim: Aim::Goal,
            relaxed: None,
        }
    }

    /// Counts its points.
    pub fn counted(mut self, counter: &'a Counter) -> Self {
        self.counter = Some(counter);
        self
    }

    /// 1 where the goal is to be large, -1 where small.
    pub fn sign(&self) -> f64 {
        match self.goal.sense {
            Sense::Max => 1.0,
            Sense::Min => -1.0,
        }
    }

    /// The operating point at a place of the unit cube.
    ///
    /// # Errors
    /// As [`Worker::evaluate`].
    pub fn point(&mut self, unit: &[f64]) -> Result<OperatingPoint, PlanError> {
        self.values.clear();
        self.values.extend(self.free.iter().zip(unit).map(|(f, u)| f.value(*u)));
        if let Some(counter) = self.counter {
            counter.0.fetch_add(1, Ordering::Relaxed);
        }
        self.worker.evaluate(&self.values)
    }

    /// Index of the free input that is the goal itself.
    pub(super) fn goal_index(&self) -> Option<usize> {
        let Quantity::Input(input) = &self.goal.quantity else { return None };
        if self.goal.times.is_some() {
            return None;
        }
        self.free.iter().position(|f| f.span.input.pointer == input.pointer)
    }

    fn goal_of(&self, point: &OperatingPoint) -> Option<f64> {
        let value = |quantity: &Quantity| match quantity {
            Quantity::Output(output) => output.of(point),
            Quantity::Input(input) => {
                let free = self.free.iter().position(|f| f.span.input.pointer == input.pointer);
                free.map_or(input.value, |index| Some(self.values[index]))
            }
        };
        let times = self.goal.times.as_ref().map_or(Some(1.0), value)?;
        Some(self.sign() * value(&self.goal.quantity)? * times)
    }

    fn trial(&self, point: &OperatingPoint, unit: &[f64]) -> Option<Trial> {
        point.vehicle?;
        let goal = self.goal_of(point)?;
        let mut margins = vec![1.0; LimitCode::ALL.len() + 1];
        let mut holds = true;
        for row in binding_rows(&point.limits) {
            let given = self.relaxed.filter(|(code, _)| *code == row.code).map_or(0.0, |(_, by)| by);
            let closeness = row.closeness() + given;
            holds &= closeness >= 0.0;
            margins[row.code as usize] = closeness / (1.0 + closeness.abs());
        }
        let goal = match self.aim {
            Aim::Goal => goal,
            Aim::LessFiber { least_goal } | Aim::Coordinate { least_goal, .. } => {
                let margin = (goal - least_goal) / (goal.abs() + least_goal.abs()).max(1e-12);
                holds &= margin >= 0.0;
                margins[LimitCode::ALL.len()] = margin;
                match self.aim {
                    Aim::Coordinate { index, upward, .. } => {
                        if upward {
                            unit[index]
                        } else {
                            -unit[index]
                        }
                    }
                    _ => -point.tether.map_or(0.0, |t| t.paid_out_m),
                }
            }
        };
        let level = if self.relaxed.is_none() && self.aim == Aim::Goal {
            standing_of(point).level
        } else {
            margins.iter().copied().fold(1.0, f64::min)
        };
        Some(Trial { goal, margins, level: if holds { level.max(0.0) } else { level.min(-1e-300) } })
    }
}

impl Problem for Target<'_> {
    fn evaluate(&mut self, unit: &[f64]) -> Trial {
        let outcome = self.point(unit);
        let level = standing(&outcome).level;
        match outcome {
            Ok(point) => self.trial(&point, unit).unwrap_or_else(|| Trial::missing(level.min(-1.0))),
            Err(_) => Trial::missing(NOTHING_COMPUTED),
        }
    }
}
