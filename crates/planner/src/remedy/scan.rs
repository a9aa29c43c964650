//! The least margin along one input, outwards from its present value, and the first place where the verdict turns.

use super::Lever;
use crate::{
    limit::LimitCode,
    study::{Standing, Worker, squash, standing},
};

/// First step over the measure of an input.
const FIRST_STEP_RATIO: f64 = 1e-3;
/// How near before and beyond are brought to each other, over their size.
const BISECTION_RATIO: f64 = 1e-5;
/// How far a stated value may be rounded, over its size.
const ROUNDING_RATIO: f64 = 2e-3;
/// Evaluations for the top of a bulge.
const BULGE_EVALUATIONS: usize = 16;
/// Difference of two least margins that is no more than the tolerance of the tether leaves: an input that moves nothing is flat.
const FLAT_RATIO: f64 = 1e-7;

/// Where the verdict turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The last value with the verdict of the present one.
    pub before: f64,
    /// The first value with the other verdict.
    pub beyond: f64,
    /// The limit that decides on the side that does not close; none if nothing could be computed there.
    pub limit: Option<LimitCode>,
}

/// A point on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Value of the input.
    pub value: f64,
    /// How the plan stands there.
    pub standing: Standing,
    /// Margin of each limit on the squashed scale; none where a stage is missing.
    pub margins: Option<Vec<(LimitCode, f64)>>,
}

/// One side of the present value.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Side {
    /// Points on the way, outwards.
    pub steps: Vec<Step>,
    /// Where the verdict turns first.
    pub crossing: Option<Crossing>,
}

/// Both sides.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// Below the present value.
    pub down: Side,
    /// Above it.
    pub up: Side,
    /// The value that stands best, and how.
    pub best: (f64, Standing),
    /// Points computed.
    pub evaluations_count: u64,
}

impl Scan {
    /// Scans one input of a study of which `stated` has computed the plan as it stands.
    pub fn of(stated: &Worker, levers: &[Lever], place: usize, present: Standing) -> Self {
        let lever = &levers[place];
        let mut probe = Probe::new(stated, levers, place, present);
        let down = probe.side(-1.0);
        let up = probe.side(1.0);
        let stay = (lever.from, present);
        let best = down
            .steps
            .iter()
            .chain(&up.steps)
            .map(|step| (step.value, step.standing))
            .fold(stay, |best, step| if step.1.level > best.1.level + FLAT_RATIO { step } else { best });
        Self { down, up, best, evaluations_count: probe.evaluations_count }
    }
}

/// Computes points along one input.
pub struct Probe<'a> {
    worker: Worker<'a>,
    values: Vec<f64>,
    place: usize,
    lever: &'a Lever,
    present: Standing,
    /// Points computed.
    pub evaluations_count: u64,
}

impl<'a> Probe<'a> {
    /// Along the input at `place`, the others as they stand; `stated` has computed the plan as it stands.
    pub fn new(stated: &Worker<'a>, levers: &'a [Lever], place: usize, present: Standing) -> Self {
        Self {
            worker: stated.clone(),
            values: levers.iter().map(|lever| lever.from).collect(),
            place,
            lever: &levers[place],
            present,
            evaluations_count: 0,
        }
    }

    /// The same with another input at `value`.
    pub fn with(mut self, other: usize, value: f64) -> Self {
        self.values[other] = value;
        self
    }

    /// The point with the input at `value`.
    pub fn at(&mut self, value: f64) -> Step {
        self.evaluations_count += 1;
        self.values[self.place] = value;
        let outcome = self.worker.evaluate(&self.values);
        let standing = standing(&outcome);
        let margins = outcome
            .ok()
            .filter(|point| point.vehicle.is_some())
            .map(|point| point.limits.iter().map(|row| (row.code, squash(row.closeness()))).collect());
        Step { value, standing, margins }
    }

    fn turns(&self, standing: &Standing) -> bool {
        closes(standing) != closes(&self.present)
    }

    /// Outwards to the first turn of the verdict, or to the end of the range.
    pub fn side(&mut self, sign: f64) -> Side {
        let mut side = Side::default();
        let mut last = (self.lever.from, self.present);
        let mut before_last: Option<(f64, Standing)> = None;
        for value in ways_out(self.lever, sign) {
            let step = self.at(value);
            let now = (value, step.standing);
            side.steps.push(step);
            if self.turns(&now.1) {
                side.crossing = Some(self.bisect(last.0, now));
                return side;
            }
            if let Some(first) = before_last
                && let Some(top) = self.bulge(first, last, now)
            {
                side.crossing = Some(self.bisect(first.0, top));
                return side;
            }
            before_last = Some(last);
            last = now;
        }
        side
    }

    /// Between three values whose middle stands nearer to the other verdict than both: its top, if the verdict turns there.
    fn bulge(
        &mut self,
        first: (f64, Standing),
        middle: (f64, Standing),
        last: (f64, Standing),
    ) -> Option<(f64, Standing)> {
        let sign = if closes(&self.present) { -1.0 } else { 1.0 };
        let height = |standing: &Standing| sign * standing.level;
        let hopeless = height(&middle.1) < -0.5;
        if self.lever.input.whole
            || hopeless
            || height(&middle.1) <= height(&first.1) + FLAT_RATIO
            || height(&middle.1) < height(&last.1) + FLAT_RATIO
        {
            return None;
        }
        let (mut a, mut b, mut top) = (first.0, last.0, middle);
        for _ in 0..BULGE_EVALUATIONS {
            // The middle of the longer part: robust where the margin has an edge.
            let value =
                if (top.0 - a).abs() > (b - top.0).abs() { 0.5 * (a + top.0) } else { 0.5 * (top.0 + b) };
            let standing = self.at(value).standing;
            if self.turns(&standing) {
                return Some((value, standing));
            }
            let between_a = (value - a) * (top.0 - value) > 0.0;
            match (height(&standing) > height(&top.1), between_a) {
                (true, true) => (b, top) = (top.0, (value, standing)),
                (true, false) => (a, top) = (top.0, (value, standing)),
                (false, true) => a = value,
                (false, false) => b = value,
            }
        }
        None
    }

    /// Brings both ends together and rounds them to numbers that can be said, each tried on its side.
    pub fn bisect(&mut self, before: f64, beyond: (f64, Standing)) -> Crossing {
        let (mut before, mut beyond) = (before, beyond);
        let whole = self.lever.input.whole;
        let tiny = 1e-12 * self.lever.measure.max(f64::MIN_POSITIVE);
        for _ in 0..80 {
            let gap = (beyond.0 - before).abs();
            if gap <= BISECTION_RATIO * beyond.0.abs().max(before.abs()) + tiny || (whole && gap <= 1.0) {
                break;
            }
            let middle = 0.5 * (before + beyond.0);
            let middle = if whole { middle.round() } else { middle };
            let standing = self.at(middle).standing;
            if self.turns(&standing) {
                beyond = (middle, standing);
            } else {
                before = middle;
            }
        }
        let broken = if closes(&self.present) { beyond.1 } else { self.at(before).standing };
        let (stated_before, stated_beyond) = if whole {
            (before, beyond.0)
        } else {
            (self.rounded(before, beyond.0, false), self.rounded(beyond.0, before, true))
        };
        Crossing { before: stated_before, beyond: stated_beyond, limit: broken.code }
    }

    /// The shortest number beyond `value`, away from `other`, that still has the verdict.
    fn rounded(&mut self, value: f64, other: f64, turned: bool) -> f64 {
        let away = (value - other).signum();
        for digits in 2..=9 {
            let candidate = round_away(value, away, digits);
            let near = (candidate - other).abs() <= ROUNDING_RATIO * other.abs();
            let passed_present = (candidate - self.lever.from) * (value - self.lever.from) < 0.0;
            if !near || passed_present || self.lever.input.check(candidate).is_err() {
                continue;
            }
            let standing = self.at(candidate).standing;
            if self.turns(&standing) == turned {
                return candidate;
            }
        }
        value
    }
}

/// Whether every limit holds.
pub fn closes(standing: &Standing) -> bool {
    standing.level >= 0.0
}

/// `value` at `digits` significant digits, rounded upwards if `away` is positive, else downwards.
fn round_away(value: f64, away: f64, digits: i32) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let places = digits - 1 - value.abs().log10().floor() as i32;
    // Through text, so that the number is the one that is read back.
    let scaled = value * 10f64.powi(places);
    let scaled = if away > 0.0 { scaled.ceil() } else { scaled.floor() };
    format!("{scaled:.0}e{}", -places).parse().unwrap_or(value)
}

/// Values from the present one outwards to the end of its range, steps growing.
fn ways_out(lever: &Lever, sign: f64) -> Vec<f64> {
    let input = &lever.input;
    let span = input.max.unwrap_or(1e12) - input.min.unwrap_or(-1e12);
    let measure = if lever.measure > 0.0 { lever.measure } else { 1e-3 * span };
    let bound = if sign > 0.0 { input.max } else { input.min };
    let end = bound.unwrap_or(lever.from + sign * 1e4 * measure);
    let inside = |value: f64| sign * (end - value) > 0.0;
    let mut values = Vec::new();
    let mut ratio = if input.whole { 1.0 / measure } else { FIRST_STEP_RATIO };
    for _ in 0..400 {
        let mut value = lever.from + sign * measure * ratio;
        // Towards 0 a number shrinks by a factor instead.
        let towards_zero = sign * lever.from < 0.0 && end * lever.from >= 0.0 && input.unit != "°C";
        if towards_zero && ratio > 0.5 {
            let last = values.last().copied().unwrap_or(lever.from);
            value = 0.7 * last;
            if value.abs() < 1e-6 * lever.from.abs() {
                break;
            }
        }
        if input.whole {
            value = value.round();
        }
        if !inside(value) {
            break;
        }
        values.push(value);
        ratio *= match ratio {
            r if r < 0.02 => 1.6,
            r if r < 1.0 => 1.15,
            _ => 1.4,
        };
        if input.whole {
            ratio = ratio.max(((value - lever.from).abs() + 1.0) / measure);
        }
    }
    if sign * (end - lever.from) > 0.0 {
        values.push(end);
    }
    values.dedup();
    values
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_goes_away_and_reads_back() {
        assert_eq!(round_away(0.912_34, 1.0, 3), 0.913);
        assert_eq!(round_away(0.912_34, -1.0, 3), 0.912);
        assert_eq!(round_away(-12.34, 1.0, 3), -12.3);
        assert_eq!(round_away(12_345.6, 1.0, 2), 13_000.0);
        assert_eq!(round_away(2.3e-19, -1.0, 1), 2e-19);
        assert_eq!(round_away(0.0, 1.0, 3), 0.0);
    }
}
