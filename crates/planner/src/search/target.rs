//! A scenario as a problem over the unit cube.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::defaults::TENSION;
use super::{Goal, Sense};
use crate::{
    System,
    error::PlanError,
    limit::{LimitCode, LimitRow},
    optimise::{Problem, Trial},
    point::OperatingPoint,
    study::{NOTHING_COMPUTED, Quantity, Span, Study, Worker, binding_rows, standing, standing_of},
    system::line::TetherLine,
};

/// Least share of the distance that the coordinate of a line stands off its tightest length.
const TIGHTEST: f64 = 1e-4;
/// Largest slack that is searched: a line twice as long as the distance.
const SLACKEST: f64 = 1.0;

/// Place of the margin to the lower end of a drum tension, before that to the upper one.
pub(super) const TENSION_ENDS: usize = LimitCode::ALL.len() + 1;

/// A free input between its bounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Free {
    /// The input and its bounds.
    pub span: Span,
    /// For a drum tension: strain of the line at the largest tension that it may carry. The coordinate is then the logarithm
    /// of the slack over that: every slack hangs, while of the drum tensions below a least one none does.
    strain_ratio: Option<f64>,
}

impl Free {
    /// Between the bounds of a span, for a scenario whose models are built.
    pub fn new(span: Span, system: &System) -> Self {
        let by_slack = span.input.pointer == TENSION;
        let strain = |line: &TetherLine| span.hi.min(line.breaking_load_n) / line.axial_stiffness_n;
        Self { strain_ratio: system.line.as_deref().filter(|_| by_slack).map(strain), span }
    }

    /// Value at a coordinate; beyond 0 and 1 it goes on. For a drum tension, which follows from the slack, what stands in
    /// the scenario.
    fn value(&self, unit: f64) -> f64 {
        let (lo, hi) = (self.span.lo, self.span.hi);
        if self.strain_ratio.is_some() {
            return self.span.input.value.unwrap_or(lo);
        }
        let value = lo + unit * (hi - lo);
        // Rounding may not carry a bound over itself.
        if (0.0..=1.0).contains(&unit) { value.clamp(lo, hi) } else { value }
    }

    /// As [`Self::value`], for what is not a drum tension.
    pub(crate) fn value_at(&self, unit: f64) -> f64 {
        self.value(unit)
    }

    /// Coordinate of a value; none for a drum tension.
    pub fn unit(&self, value: f64) -> Option<f64> {
        let (lo, hi) = (self.span.lo, self.span.hi);
        self.strain_ratio.is_none().then(|| (value - lo) / (hi - lo))
    }

    /// Slack at a coordinate, of a drum tension.
    pub(crate) fn slack_ratio(&self, unit: f64) -> Option<f64> {
        let (from, to) = (TIGHTEST.ln(), SLACKEST.ln());
        self.strain_ratio.map(|strain| (from + unit * (to - from)).exp() - strain)
    }

    /// Coordinate of a slack, of a drum tension.
    pub fn unit_of_slack(&self, slack_ratio: f64) -> Option<f64> {
        let (from, to) = (TIGHTEST.ln(), SLACKEST.ln());
        self.strain_ratio.map(|strain| ((slack_ratio + strain).max(TIGHTEST).ln() - from) / (to - from))
    }

    /// Whether its coordinate is the slack of the line.
    pub fn is_slack(&self) -> bool {
        self.strain_ratio.is_some()
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

    /// One more.
    pub(crate) fn count_one(&self) {
        self.0.fetch_add(1, Ordering::Relaxed);
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
    /// Ends between which a drum tension that follows from the slack must come out, where they are not those of its span, N.
    pub(super) tension_ends_n: Option<(f64, f64)>,
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
            tension_ends_n: None,
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
        self.worker.hold_slack(self.free.iter().zip(unit).find_map(|(f, u)| f.slack_ratio(*u)));
        if let Some(counter) = self.counter {
            counter.count_one();
        }
        let point = self.worker.evaluate(&self.values)?;
        // A drum tension that follows from the slack is read where it stands.
        for (value, free) in self.values.iter_mut().zip(self.free) {
            if let (true, Some(tether)) = (free.is_slack(), &point.tether) {
                *value = tether.drum_tension_n;
            }
        }
        Ok(point)
    }

    /// Values of the free inputs at the place that was computed last.
    pub(crate) fn values(&self) -> &[f64] {
        &self.values
    }

    /// Free inputs.
    pub(crate) fn count(&self) -> usize {
        self.free.len()
    }

    /// Values of the free inputs at a place of the unit cube.
    pub fn values_at(&mut self, unit: &[f64]) -> Vec<f64> {
        let _ = self.point(unit);
        self.values.clone()
    }

    /// The point as the scenario with these values has it: with the drum tension held, where that is what the winch holds.
    ///
    /// # Errors
    /// As [`Worker::evaluate`].
    pub fn point_of_values(&mut self, values: &[f64]) -> Result<OperatingPoint, PlanError> {
        self.values.clear();
        self.values.extend_from_slice(values);
        self.worker.hold_slack(None);
        self.worker.evaluate(values)
    }

    /// The trial of a point of [`Self::point_of_values`].
    pub(super) fn trial_of_values(&mut self, values: &[f64]) -> (Trial, Option<OperatingPoint>) {
        match self.point_of_values(values) {
            Ok(point) => {
                let level = standing_of(&point).level;
                let trial = self.trial(&point).unwrap_or_else(|| Trial::missing(level.min(-1.0)));
                (trial, Some(point))
            }
            Err(_) => (Trial::missing(NOTHING_COMPUTED), None),
        }
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

    fn trial(&self, point: &OperatingPoint) -> Option<Trial> {
        point.vehicle?;
        let goal = self.goal_of(point)?;
        let tension_n = self.free.iter().zip(&self.values).find(|(free, _)| free.is_slack());
        let tension_n = tension_n.map(|(free, value)| {
            let ends_n = self.tension_ends_n.unwrap_or((free.span.lo, free.span.hi));
            (ends_n, *value)
        });
        let (mut margins, mut holds) = margins_of(&point.limits, tension_n, self.relaxed);
        let goal = match self.aim {
            Aim::Goal => goal,
            Aim::LessFiber { least_goal } | Aim::Coordinate { least_goal, .. } => {
                let margin = (goal - least_goal) / (goal.abs() + least_goal.abs()).max(1e-12);
                holds &= margin >= 0.0;
                margins[LimitCode::ALL.len()] = margin;
                match self.aim {
                    Aim::Coordinate { index, upward, .. } => {
                        let span = &self.free[index].span;
                        let at = (self.values[index] - span.lo) / (span.hi - span.lo);
                        if upward { at } else { -at }
                    }
                    _ => -point.tether.map_or(0.0, |t| t.paid_out_m),
                }
            }
        };
        let plain = self.relaxed.is_none() && self.aim == Aim::Goal;
        let level = if plain && (holds || !point.feasible) {
            standing_of(point).level
        } else {
            margins.iter().copied().fold(1.0, f64::min)
        };
        Some(Trial { goal, margins, level: if holds { level.max(0.0) } else { level.min(-1e-300) } })
    }
}

/// Margins of all limits on the scale of a search, each at the place of its code, then one that is free and those of a
/// drum tension to its ends; and whether all hold.
pub(crate) fn margins_of(
    rows: &[LimitRow],
    tension_n: Option<((f64, f64), f64)>,
    relaxed: Option<(LimitCode, f64)>,
) -> (Vec<f64>, bool) {
    let mut margins = vec![1.0; LimitCode::ALL.len() + 3];
    let mut holds = true;
    if let Some(((lo, hi), value)) = tension_n {
        let within = [(value - lo) / (hi - lo), (hi - value) / (hi - lo)];
        margins[TENSION_ENDS..].copy_from_slice(&within);
        holds &= within[0] >= 0.0 && within[1] >= 0.0;
    }
    for row in binding_rows(rows) {
        let given = relaxed.filter(|(code, _)| *code == row.code).map_or(0.0, |(_, by)| by);
        let closeness = row.closeness() + given;
        holds &= closeness >= 0.0;
        margins[row.code as usize] = closeness / (1.0 + closeness.abs());
    }
    (margins, holds)
}

impl Problem for Target<'_> {
    fn evaluate(&mut self, unit: &[f64]) -> Trial {
        let outcome = self.point(unit);
        let level = standing(&outcome).level;
        match outcome {
            Ok(point) => self.trial(&point).unwrap_or_else(|| Trial::missing(level.min(-1.0))),
            Err(_) => Trial::missing(NOTHING_COMPUTED),
        }
    }
}
