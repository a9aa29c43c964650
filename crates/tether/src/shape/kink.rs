//! Places on the tether where the load is not smooth: at heights that the flow names, where the flow along the tether changes
//! its sign (the friction u|u| has a jump in its second derivative), and where the flow across it vanishes and comes back from
//! the other side (the same for the normal drag).

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    adapt::Allowed,
    gauss::{MAX_ORDER, rule},
    load::Pull,
    mesh::{Boundary, Element, MAX_ELEMENTS},
    relax::{Grid, Problem},
};

/// Share of the allowed error for one kink.
const SHARE: f64 = 0.5;

/// Inner coordinates at which an element must be cut.
pub(super) struct Breaks {
    at: [(f64, Boundary); Self::MOST],
    count: usize,
    /// Nodes that a kink left inside needs.
    least_order: f64,
}

/// One place of an element.
#[derive(Debug, Clone, Copy)]
struct Place {
    xi: f64,
    z_m: f64,
    /// Change of the height with the inner coordinate, m.
    climb_m: f64,
    /// Flow along the tether and across it, unknown at ends that are kinks themselves.
    flow_m_s: Option<(f64, Vector3<f64>)>,
}

impl Breaks {
    const MOST: usize = 8;

    /// Where element `e` must be cut: nowhere if a cheap look sees no reason.
    pub(super) fn of<const N: usize>(
        grid: &Grid<N>,
        problem: &Problem<'_, impl Flow>,
        e: usize,
        allowed: Allowed,
    ) -> Self {
        let mut breaks = Self { at: [(0.0, Boundary::Free); Self::MOST], count: 0, least_order: 0.0 };
        if !suspicious(grid, problem, e) {
            return breaks;
        }
        let elements = grid.mesh.elements();
        let element = &elements[e];
        let rule = rule(element.order);
        let below = e.checked_sub(1).map_or(Boundary::Free, |below| elements[below].boundary);
        let kinks =
            Kinks { below, above: element.boundary, strength: strength(grid, problem, element), allowed };
        let end_z_m = end_height_m(grid, e);
        let start_flow = e.checked_sub(1).and_then(|below| flow_at_end(grid, below));
        let span_m = grid.length_m * element.span_ratio;
        let climb_m = |slope: f64, force_n: &Vector3<f64>| {
            span_m * slope * Pull::new(force_n, problem.compliance_per_n).gradient().z
        };
        let (start_n, end_n) = (grid.start_force_n[e], end_force_n(grid, e));
        let mut before = Place {
            xi: 0.0,
            z_m: grid.start_position_m[e].z,
            climb_m: climb_m(element.share(0.0).1, &start_n),
            flow_m_s: start_flow,
        };
        for (i, node) in element.nodes().enumerate() {
            let here = Place {
                xi: rule.nodes[i],
                z_m: grid.z_m[node],
                climb_m: climb_m(grid.share[node].1, &grid.force_n.at(node)),
                flow_m_s: Some(flow_at(grid, node)),
            };
            breaks.between(grid, problem, element, &kinks, (before, here));
            before = here;
        }
        let end_climb_m = climb_m(element.share(1.0).1, &end_n);
        let end = Place { xi: 1.0, z_m: end_z_m, climb_m: end_climb_m, flow_m_s: flow_at_end(grid, e) };
        breaks.between(grid, problem, element, &kinks, (before, end));
        breaks
    }

    fn between<const N: usize>(
        &mut self,
        grid: &Grid<N>,
        problem: &Problem<'_, impl Flow>,
        element: &Element,
        kinks: &Kinks,
        (lo, hi): (Place, Place),
    ) {
        let first = self.count;
        for &kink_m in problem.flow.kink_heights_m() {
            let kink = Boundary::Height(kink_m);
            let crossings = if (lo.z_m - kink_m) * (hi.z_m - kink_m) < 0.0 {
                [Some((kink_m - lo.z_m) / (hi.z_m - lo.z_m)), None]
            } else {
                dips(&lo, &hi, kink_m)
            };
            for at in crossings.into_iter().flatten().map(|part| lo.xi + (hi.xi - lo.xi) * part) {
                // An end of the element that belongs to the kink is on its way there.
                let nearby = (at < 0.2 && kinks.below == kink) || (at > 0.8 && kinks.above == kink);
                if !nearby {
                    self.add(at, kink);
                }
            }
        }
        if let (Some(a), Some(b)) = (lo.flow_m_s, hi.flow_m_s) {
            for kind in [Boundary::Crosswise, Boundary::Alongside] {
                let (x, y) = signed(kind, a, b);
                if x * y >= 0.0 {
                    continue;
                }
                let order = kinks.order(kind, (y - x) / (hi.xi - lo.xi), element, grid.length_m);
                if order > MAX_ORDER as f64 {
                    self.add(lo.xi + (hi.xi - lo.xi) * x / (x - y), kind);
                } else {
                    self.least_order = self.least_order.max(order);
                }
            }
        }
        if self.count > first + 1 {
            self.at[first..self.count].sort_by(|a, b| a.0.total_cmp(&b.0));
        }
    }

    fn add(&mut self, at: f64, boundary: Boundary) {
        if self.count < Self::MOST {
            self.at[self.count] = (at, boundary);
            self.count += 1;
        }
    }

    /// Fewest nodes for the kinks that are left inside.
    pub(super) fn least_order(&self) -> usize {
        self.least_order as usize
    }

    /// Inner coordinates, rising.
    pub(super) fn iter(&self) -> impl Iterator<Item = (f64, Boundary)> {
        self.at[..self.count].iter().copied()
    }
}

/// Where a line whose height turns between two places dips through a height beyond both, as shares of the way: the height is taken
/// for a parabola.
fn dips(lo: &Place, hi: &Place, kink_m: f64) -> [Option<f64>; 2] {
    let (rise_m, over_m) = (lo.climb_m * (hi.xi - lo.xi), lo.z_m - kink_m);
    let bend_m = (hi.climb_m - lo.climb_m) * (hi.xi - lo.xi);
    let square = rise_m * rise_m - 2.0 * bend_m * over_m;
    if lo.climb_m * hi.climb_m >= 0.0 || rise_m * over_m > 0.0 || square <= 0.0 {
        return [None, None];
    }
    let at = |root: f64| Some((root - rise_m) / bend_m).filter(|at| *at > 0.0 && *at < 1.0);
    let root = square.sqrt().copysign(bend_m);
    [at(-root), at(root)]
}

/// What is known of the kinks of one element.
struct Kinks {
    below: Boundary,
    above: Boundary,
    /// Force per metre over the square of the speed, kg/m²: along the tether, across it.
    strength: (f64, f64),
    allowed: Allowed,
}

impl Kinks {
    /// Nodes with which a kink inside costs no more than it may: what a Gauss rule loses at a jump of the second derivative.
    fn order(&self, kind: Boundary, slope_m_s: f64, element: &Element, length_m: f64) -> f64 {
        let strength = if kind == Boundary::Crosswise { self.strength.0 } else { self.strength.1 };
        let span_m = length_m * element.span_ratio;
        (0.4 * span_m * strength * slope_m_s * slope_m_s / (SHARE * self.allowed.force_n)).cbrt().ceil()
    }
}

/// Whether an element has a kink inside that costs more than it may.
pub(super) fn any<const N: usize>(
    grid: &Grid<N>,
    problem: &Problem<'_, impl Flow>,
    allowed: Allowed,
) -> bool {
    (0..grid.mesh.elements().len()).any(|e| {
        let breaks = Breaks::of(grid, problem, e, allowed);
        breaks.count > 0 || breaks.least_order() > grid.mesh.elements()[e].order
    })
}

/// A cheap look whether an element may have a kink.
fn suspicious<const N: usize>(grid: &Grid<N>, problem: &Problem<'_, impl Flow>, e: usize) -> bool {
    let elements = grid.mesh.elements();
    let element = &elements[e];
    // The ends too: a kink may lie between an end and the first node.
    let (start_m, end_m) = (grid.start_position_m[e].z, end_height_m(grid, e));
    let (mut least_m, mut most_m) = (start_m.min(end_m), start_m.max(end_m));
    let (mut with, mut against, mut near) = (false, false, false);
    let mut before_n = grid.start_force_n[e];
    let mut before = (0.0, start_m);
    let mut turns = |force_n: &Vector3<f64>, share: f64, z_m: f64| {
        if force_n.z * before_n.z < 0.0 {
            let way_m = grid.length_m * element.span_ratio * (share - before.0);
            let turn_m = turning_height_m(&before_n, force_n, before.1, way_m);
            (least_m, most_m) = (least_m.min(turn_m), most_m.max(turn_m));
        }
        (before_n, before) = (*force_n, (share, z_m));
        (least_m, most_m) = (least_m.min(z_m), most_m.max(z_m));
    };
    for node in element.nodes() {
        let (force_n, velocity_m_s) = (grid.force_n.at(node), grid.velocity_m_s.at(node));
        let product = force_n.dot(&velocity_m_s);
        with |= product > 0.0;
        against |= product < 0.0;
        near |= product * product > 0.8 * force_n.norm_squared() * velocity_m_s.norm_squared();
        turns(&force_n, grid.share[node].0, grid.z_m[node]);
    }
    turns(&end_force_n(grid, e), 1.0, end_m);
    // The cosine between flow and tether: it changes its sign, or its square comes near one.
    with && against
        || near
        || problem.flow.kink_heights_m().iter().any(|z_m| {
            let own = Boundary::Height(*z_m);
            let is_end = element.boundary == own || (e > 0 && elements[e - 1].boundary == own);
            !is_end && *z_m > least_m && *z_m < most_m
        })
}

/// Height of the upper end of element `e`, m.
fn end_height_m<const N: usize>(grid: &Grid<N>, e: usize) -> f64 {
    if e + 1 < grid.mesh.elements().len() { grid.start_position_m[e + 1].z } else { grid.end_position_m.z }
}

/// Whether an end of an element that stands for a kink of the flow is not at its height, as far as it matters.
pub(super) fn is_missed<const N: usize>(grid: &Grid<N>, allowed_m: f64) -> bool {
    let pairs = grid.mesh.elements().iter().zip(&grid.start_position_m[1..]);
    pairs.take(grid.mesh.elements().len().saturating_sub(1)).any(|(element, end_m)| {
        matches!(element.boundary, Boundary::Height(height_m) if (end_m.z - height_m).abs() > allowed_m)
    })
}

/// Reynolds numbers nearer to an end of a drag curve than by this factor count as beyond it too: density and viscosity change with
/// the height.
const NEAR_END: f64 = 1.5;

/// Whether the Reynolds number across the line comes to an end of its drag curve, where the load has a kink that no node shows.
/// Arguments: force, N, and velocity of the flow, m/s, at places of the line.
pub(super) fn meets_end_of_curve(
    problem: &Problem<'_, impl Flow>,
    places: impl Iterator<Item = (Vector3<f64>, Vector3<f64>)>,
) -> bool {
    let drag = &problem.line.normal_drag;
    if drag.constant_coefficient().is_some() {
        return false;
    }
    let sample = problem.flow.at(problem.end_m.z);
    let by_speed = sample.density_kg_m3 * problem.line.diameter_m / sample.dynamic_viscosity_pa_s;
    let (mut least, mut most) = (f64::INFINITY, 0.0_f64);
    for (force_n, velocity_m_s) in places {
        let along = force_n.dot(&velocity_m_s);
        let square = velocity_m_s.norm_squared() - along * along / force_n.norm_squared();
        (least, most) = (least.min(square), most.max(square));
    }
    let reynolds = [least, most].map(|square| by_speed * square.max(0.0).sqrt());
    let (first, last) = drag.curve().reynolds_range();
    [first, last].iter().any(|end| reynolds[0] < NEAR_END * end && NEAR_END * reynolds[1] > *end)
}

/// Height at which a line turns from rising to falling, or back, between two places `way_m` apart of which the first is at `z_m`, m.
fn turning_height_m(from_n: &Vector3<f64>, to_n: &Vector3<f64>, z_m: f64, way_m: f64) -> f64 {
    let (from, to) = (Pull::new(from_n, 0.0).tangent.z, Pull::new(to_n, 0.0).tangent.z);
    z_m + 0.5 * way_m * from * from / (from - to)
}

/// Force at the upper end of element `e`, N.
fn end_force_n<const N: usize>(grid: &Grid<N>, e: usize) -> Vector3<f64> {
    if e + 1 < grid.mesh.elements().len() { grid.start_force_n[e + 1] } else { grid.top_force_n }
}

/// Moves element ends to the kinks of the drag that they stand for, if that they were not there costs more than `allowed_n` of
/// the end force; whether it did.
pub(super) fn follow<const N: usize>(
    grid: &mut Grid<N>,
    problem: &Problem<'_, impl Flow>,
    allowed_n: f64,
) -> bool {
    let mut error_n = 0.0;
    let mut shifts = [0.0; MAX_ELEMENTS];
    for (e, shift) in shifts.iter_mut().enumerate().take(grid.mesh.elements().len().saturating_sub(1)) {
        let (below, above) = (grid.mesh.elements()[e], grid.mesh.elements()[e + 1]);
        if !matches!(below.boundary, Boundary::Crosswise | Boundary::Alongside) {
            continue;
        }
        let (lo, hi) = (above.first - 1, above.first);
        let lo_place = below.start_ratio + below.span_ratio * grid.share[lo].0;
        let hi_place = above.start_ratio + above.span_ratio * grid.share[hi].0;
        let (a, b) = signed(below.boundary, flow_at(grid, lo), flow_at(grid, hi));
        if a * b >= 0.0 {
            continue;
        }
        *shift = lo_place + (hi_place - lo_place) * a / (a - b) - above.start_ratio;
        let slope = (b - a) / (hi_place - lo_place);
        let (along, across) = strength(grid, problem, &below);
        let strength = if below.boundary == Boundary::Crosswise { along } else { across };
        error_n += strength * slope * slope * shift.abs().powi(3) * grid.length_m;
    }
    if error_n <= allowed_n {
        return false;
    }
    for (e, shift) in shifts.into_iter().enumerate() {
        if shift != 0.0 {
            grid.shift_boundary(e, shift);
        }
    }
    true
}

/// Force per metre over the square of the speed, kg/m²: along the tether, across it.
fn strength<const N: usize>(
    grid: &Grid<N>,
    problem: &Problem<'_, impl Flow>,
    element: &Element,
) -> (f64, f64) {
    let node = element.first + element.order / 2;
    let sample = problem.flow.at(grid.z_m[node]);
    let half_rho_d = 0.5 * sample.density_kg_m3 * problem.line.diameter_m;
    let speed_m_s = flow_at(grid, node).1.norm().max(1e-3);
    let factor = problem.line.normal_drag.force_factor(
        speed_m_s,
        sample.density_kg_m3,
        problem.line.diameter_m,
        sample.dynamic_viscosity_pa_s,
    );
    (half_rho_d * problem.line.tangential_coefficient, half_rho_d * factor / speed_m_s)
}

/// Flow along the tether and across it at a node.
fn flow_at<const N: usize>(grid: &Grid<N>, node: usize) -> (f64, Vector3<f64>) {
    let tangent = Pull::new(&grid.force_n.at(node), 0.0).tangent;
    let velocity_m_s = grid.velocity_m_s.at(node);
    let along_m_s = velocity_m_s.dot(&tangent);
    (along_m_s, velocity_m_s - along_m_s * tangent)
}

/// The same at the upper end of element `e`, from the nodes next to it; `None` at the vehicle and where there is a kink.
fn flow_at_end<const N: usize>(grid: &Grid<N>, e: usize) -> Option<(f64, Vector3<f64>)> {
    let (below, above) = (grid.mesh.elements().get(e)?, grid.mesh.elements().get(e + 1)?);
    let (lo, hi) = (above.first - 1, above.first);
    let below_ratio = (1.0 - grid.share[lo].0) * below.span_ratio;
    let above_ratio = grid.share[hi].0 * above.span_ratio;
    let part = below_ratio / (below_ratio + above_ratio);
    let (a, b) = (flow_at(grid, lo), flow_at(grid, hi));
    matches!(below.boundary, Boundary::Free | Boundary::Height(_))
        .then(|| (a.0 + part * (b.0 - a.0), a.1 + part * (b.1 - a.1)))
}

/// The quantity that changes its sign at a kink, at two places.
fn signed(kind: Boundary, a: (f64, Vector3<f64>), b: (f64, Vector3<f64>)) -> (f64, f64) {
    if kind == Boundary::Crosswise {
        return (a.0, b.0);
    }
    let size = a.1.norm().max(f64::MIN_POSITIVE);
    (size, a.1.dot(&b.1) / size)
}
