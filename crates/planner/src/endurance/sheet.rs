//! Operating points of one air temperature over wind and gust: powers at winds so near that a straight line between two of them
//! does, limits on a grid.

use beamstay_tether::Shape;

use super::curve::Powers;
use crate::{
    error::PlanError,
    limit::LimitCode,
    operate::Hanging,
    point::OperatingPoint,
    scenario::Scenario,
    system::{Place, System, Way, surroundings::Surroundings},
};

/// Closeness under which a limit is far broken.
const FAR_BROKEN: f64 = -0.3;
/// Half way between two winds a straight line may miss the powers by this share of them; more, and the wind between is a
/// knot too,
const NEAR_RATIO: f64 = 2e-3;
/// down to this step, m/s.
const LEAST_STEP_M_S: f64 = 0.02;
/// Limits of energy: the battery rides over them, so they bring nothing down by themselves.
pub(super) const OF_ENERGY: [LimitCode; 3] = [LimitCode::Power, LimitCode::LaserPower, LimitCode::LightPeak];

/// Winds and gusts of the grid, and what makes the speeds of the profile of them.
#[derive(Debug, Clone)]
pub(super) struct Axes {
    /// Mean winds at the anemometer, m/s.
    pub winds_m_s: Vec<f64>,
    /// Gusts over the mean at the anemometer, m/s.
    pub excesses_m_s: Vec<f64>,
    /// Reference speed of the profile over the speed at the anemometer.
    pub reference_ratio: f64,
}

/// Closeness of every limit, the unknown ones not a number.
pub(super) type Closeness = [f64; LimitCode::ALL.len()];

/// Powers at one mean wind; none where nothing flies.
type Knot = (f64, Option<Powers>);

/// The operating points of one air temperature.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    /// Air temperature offset, K.
    pub offset_k: f64,
    /// Points whose solver did not converge.
    pub unconverged_count: u32,
    knots: Vec<Knot>,
    /// By wind, then by gust.
    closeness: Vec<Closeness>,
    /// Tethers in the mean winds of the grid, from which those of another temperature are soon found.
    shapes: Vec<Option<Box<Shape>>>,
}

impl Sheet {
    /// Computes the points at a place; `near` is another temperature, if one is computed already.
    pub fn new(
        scenario: &Scenario,
        place: &Place,
        axes: &Axes,
        offset_k: f64,
        near: Option<&Self>,
    ) -> Result<Self, PlanError> {
        let mut warmer = scenario.clone();
        warmer.site.temperature_offset_k = offset_k;
        let system = System::new(&warmer)?;
        let surroundings = system.surroundings.clone();
        let reference_ratio = axes.reference_ratio;
        let mut solver = Solver { system, surroundings, place, reference_ratio, unconverged_count: 0 };
        let mut sheet = Self {
            offset_k,
            unconverged_count: 0,
            knots: Vec::with_capacity(4 * axes.winds_m_s.len()),
            closeness: Vec::with_capacity(axes.winds_m_s.len() * axes.excesses_m_s.len()),
            shapes: Vec::with_capacity(axes.winds_m_s.len()),
        };
        for (i, wind_m_s) in axes.winds_m_s.iter().enumerate() {
            // Far beyond a limit the solvers only cost time: what is stronger is held to be as bad. Calm is not the end of a
            // scale: light winds may be better.
            let here = match sheet.beyond(axes, i) {
                true => sheet.held(axes, i - 1),
                false => {
                    let like = near.and_then(|near| near.shapes[i].as_deref());
                    let before = sheet.shapes.last().and_then(Option::as_deref);
                    solver.mean(*wind_m_s, like.or(before))?
                }
            };
            if i > 0 && here.is_carried() {
                sheet.refine(&mut solver, (*wind_m_s, here.powers), here.shape())?;
            }
            sheet.knots.push((*wind_m_s, here.powers));
            sheet.gusts(&mut solver, axes, *wind_m_s, &here)?;
            sheet.shapes.push(here.hanging.into_mean());
        }
        sheet.unconverged_count = solver.unconverged_count;
        Ok(sheet)
    }

    /// Whether nothing flies in the two winds before wind `i`, or a limit is far broken in both and the demand rises: past the
    /// wind of the least demand more wind is worse.
    fn beyond(&self, axes: &Axes, i: usize) -> bool {
        i >= 2 && {
            let worst_at = |i| worst(self.closeness(axes, i, 0));
            match (self.demand_w(axes, i - 2), self.demand_w(axes, i - 1)) {
                (None, None) => worst_at(i - 2) < 0.0 && worst_at(i - 1) < 0.0,
                (before, last) => {
                    worst_at(i - 2).max(worst_at(i - 1)) < FAR_BROKEN
                        && last.is_none_or(|last_w| before.is_some_and(|before_w| last_w >= before_w))
                }
            }
        }
    }

    /// Demand at wind `i` of the grid, W.
    fn demand_w(&self, axes: &Axes, i: usize) -> Option<f64> {
        let wind_m_s = axes.winds_m_s[i];
        let knot = self.knots.iter().rev().find(|knot| knot.0 <= wind_m_s)?;
        knot.1.map(|powers| powers.demand_w)
    }

    /// What stands at wind `i`, for a stronger one.
    fn held(&self, axes: &Axes, i: usize) -> Solved {
        Solved {
            powers: self.knots.last().and_then(|knot| knot.1),
            closeness: *self.closeness(axes, i, 0),
            hanging: Hanging::Without,
        }
    }

    /// The limits at one mean wind in all gusts.
    fn gusts(
        &mut self,
        solver: &mut Solver,
        axes: &Axes,
        wind_m_s: f64,
        mean: &Solved,
    ) -> Result<(), PlanError> {
        self.closeness.push(mean.closeness);
        let mut last = mean.closeness;
        for excess_m_s in &axes.excesses_m_s[1..] {
            if worst(&last) >= FAR_BROKEN {
                last = solver.gust(wind_m_s, *excess_m_s, mean)?;
            }
            self.closeness.push(last);
        }
        Ok(())
    }

    /// Puts knots between the last one and `next` until straight lines between them do.
    fn refine(&mut self, solver: &mut Solver, next: Knot, warm: Option<&Shape>) -> Result<(), PlanError> {
        let Some(last) = self.knots.last().copied() else { return Ok(()) };
        let (Some(below), Some(above)) = (last.1, next.1) else { return Ok(()) };
        if next.0 - last.0 < 2.0 * LEAST_STEP_M_S {
            return Ok(());
        }
        let middle_m_s = 0.5 * (last.0 + next.0);
        let middle = solver.mean(middle_m_s, warm)?;
        let Some(powers) = middle.powers else { return Ok(()) };
        let knot = (middle_m_s, Some(powers));
        if below.towards(&above, 0.5).difference_ratio(&powers) <= NEAR_RATIO {
            self.knots.push(knot);
            return Ok(());
        }
        let warm = middle.shape().or(warm);
        self.refine(solver, knot, warm)?;
        self.knots.push(knot);
        self.refine(solver, next, warm)
    }

    /// Powers at a mean wind, straight between two knots; none where no point near has them.
    pub fn powers(&self, wind_m_s: f64) -> Option<Powers> {
        let last = self.knots.len() - 1;
        let upper = self.knots.partition_point(|knot| knot.0 <= wind_m_s).min(last);
        let (below, above) = (&self.knots[upper.saturating_sub(1)], &self.knots[upper]);
        match (below.1, above.1) {
            (Some(lower), Some(higher)) if above.0 > below.0 => {
                let f = ((wind_m_s - below.0) / (above.0 - below.0)).clamp(0.0, 1.0);
                Some(lower.towards(&higher, f))
            }
            (one, other) => one.or(other),
        }
    }

    /// The winds in which the supply carries most of what is needed, with the powers.
    pub fn carried(&self) -> impl Iterator<Item = (f64, Powers)> {
        let known = self.knots.iter().filter_map(|(wind_m_s, powers)| powers.map(|p| (*wind_m_s, p)));
        known.filter(|(_, powers)| is_carried(powers))
    }

    /// Closeness of the limits at a node; held at the ends.
    pub fn closeness(&self, axes: &Axes, wind: usize, excess: usize) -> &Closeness {
        let (winds_count, excesses_count) = (axes.winds_m_s.len(), axes.excesses_m_s.len());
        &self.closeness[wind.min(winds_count - 1) * excesses_count + excess.min(excesses_count - 1)]
    }
}

/// Closeness of the limit that is broken most, or nearest.
fn worst(closeness: &Closeness) -> f64 {
    closeness.iter().copied().fold(f64::INFINITY, f64::min)
}

/// One solved point.
struct Solved {
    powers: Option<Powers>,
    closeness: Closeness,
    hanging: Hanging,
}

impl Solved {
    /// A point without a solution.
    const UNKNOWN: Self =
        Self { powers: None, closeness: [f64::NAN; LimitCode::ALL.len()], hanging: Hanging::Without };

    /// The tether in the mean wind.
    fn shape(&self) -> Option<&Shape> {
        self.hanging.tethers().map(|tethers| tethers.mean.as_ref())
    }

    /// Whether no limit is far broken and the supply carries most of what is needed: there powers must be near.
    fn is_carried(&self) -> bool {
        worst(&self.closeness) >= FAR_BROKEN && self.powers.is_some_and(|powers| is_carried(&powers))
    }
}

/// The system of one temperature in other winds.
struct Solver<'a> {
    system: System,
    surroundings: Surroundings,
    place: &'a Place,
    reference_ratio: f64,
    unconverged_count: u32,
}

impl Solver<'_> {
    /// A point in a mean wind without a gust.
    fn mean(&mut self, wind_m_s: f64, warm: Option<&Shape>) -> Result<Solved, PlanError> {
        self.blow(wind_m_s, 0.0)?;
        let hanging = self.system.hang_for_search(self.place, warm);
        self.solved(hanging)
    }

    /// The limits in a gust on a mean wind that is solved.
    fn gust(&mut self, wind_m_s: f64, excess_m_s: f64, mean: &Solved) -> Result<Closeness, PlanError> {
        self.blow(wind_m_s, excess_m_s)?;
        let hanging = match &mean.hanging {
            Hanging::Free(tethers) => self.system.hang_in_other_gust(self.place, tethers),
            other => Ok(other.clone()),
        };
        Ok(self.solved(hanging)?.closeness)
    }

    fn blow(&mut self, wind_m_s: f64, excess_m_s: f64) -> Result<(), PlanError> {
        let (mean_m_s, gust_m_s) =
            (self.reference_ratio * wind_m_s, self.reference_ratio * (wind_m_s + excess_m_s));
        self.system.surroundings = self.surroundings.with_winds(mean_m_s, gust_m_s)?;
        Ok(())
    }

    fn solved(&mut self, hanging: Result<Hanging, PlanError>) -> Result<Solved, PlanError> {
        let operated = hanging.and_then(|hanging| {
            let point = self.system.operate_on(self.place, &hanging)?;
            Ok((point, hanging))
        });
        match operated {
            Ok((point, hanging)) => Ok(Solved {
                powers: powers(&point, matches!(self.system.way, Way::Battery)),
                closeness: closeness(&point),
                hanging,
            }),
            Err(PlanError::NotConverged { .. }) => {
                self.unconverged_count += 1;
                Ok(Solved::UNKNOWN)
            }
            Err(error) => Err(error),
        }
    }
}

fn is_carried(powers: &Powers) -> bool {
    powers.available_w >= (1.0 + FAR_BROKEN) * powers.demand_w
}

fn powers(point: &OperatingPoint, battery_alone: bool) -> Option<Powers> {
    Some(Powers {
        demand_w: point.demand_w?,
        // A battery alone is no supply: all that is drawn comes from it.
        available_w: if battery_alone { 0.0 } else { point.available_w? },
        wall_w: point.wall_w?,
    })
}

fn closeness(point: &OperatingPoint) -> Closeness {
    let mut closeness = Solved::UNKNOWN.closeness;
    let index_of = |code: LimitCode| LimitCode::ALL.iter().position(|c| *c == code);
    for row in point.limits.iter().filter(|row| !OF_ENERGY.contains(&row.code)) {
        if let Some(index) = index_of(row.code) {
            // A limit that holds on its very bound must not be lost to rounding.
            closeness[index] = if row.ok { row.closeness().max(0.0) } else { row.closeness().min(-1e-12) };
        }
    }
    // Where nothing lies the limit has no row: how far the line is from the ground stands in, so that the weather in which it
    // begins to lie is found between two nodes.
    let clearance = point.limits.iter().find(|row| row.code == LimitCode::Clearance);
    if let (Some(index), Some(clearance)) = (index_of(LimitCode::LineOnGround), clearance)
        && closeness[index].is_nan()
    {
        closeness[index] = clearance.value.max(0.0);
    }
    closeness
}

/// Node below and share of the way to the next; held at the ends.
pub(super) fn spot(axis: &[f64], value: f64) -> (usize, f64) {
    let last = axis.len() - 1;
    let upper = axis.partition_point(|node| *node <= value).min(last);
    let lower = upper.saturating_sub(1);
    if upper == lower {
        return (0, 0.0);
    }
    (lower, ((value - axis[lower]) / (axis[upper] - axis[lower])).clamp(0.0, 1.0))
}
