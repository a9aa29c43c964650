//! Whether a shape holds its load and joins its ends: loads and ways summed again from the flow, at other places than those it was
//! solved at, which a kink between them cannot hide from.

use std::sync::LazyLock;

use beamstay_environment::flow::Flow;
use beamstay_numerics::quadrature::GaussLegendre;
use nalgebra::Vector3;

use super::{
    Shape,
    gauss::{MAX_ORDER, integrals_of, legendre_up_to, rule},
    load::{Pull, load_n_per_m},
    mesh::Spread,
    relax::Problem,
    thorough::Thorough,
};
use crate::line::Line;

/// What may be open of the forces, over the largest, and of the ways, over the length, in tolerances and at least.
const OPEN_TOLERANCES: f64 = 5.0;
const LEAST_OPEN_RATIO: f64 = 1e-9;
/// Halvings of a part of an element.
const HALVINGS: u32 = 12;
/// Evaluations of the flow for an element, at least.
const WORK: usize = 200;
/// Where an element is parted in any case: a kink next to its end, before its first node, would be missed by whole and halves alike.
const PARTS: [f64; 9] = [0.0, 1e-3, 1e-2, 0.1, 0.5, 0.9, 0.99, 0.999, 1.0];
/// Most places at which an element is parted, and halvings towards a crossing of a kink.
const MOST_PARTS: usize = 24;
const CROSSING_HALVINGS: u32 = 40;
/// Places in a part of an element.
static RULE: LazyLock<GaussLegendre<8>> = LazyLock::new(GaussLegendre::new);
/// How much finer a shape is solved that did not hold its load.
const FINER: f64 = 0.03;

/// The shape if it holds its load, or a finer one that does.
pub(super) fn sure<F: Flow>(problem: &Problem<'_, F>, tolerance: f64, shape: Shape) -> Option<Shape> {
    let holds = |shape: &Shape| shape.holds(problem.line, problem.flow, tolerance);
    problem.budget.spend(WORK * shape.mesh.elements().len());
    if holds(&shape) {
        return Some(shape);
    }
    let finer = (FINER * tolerance).max(1e-10);
    let again = Thorough::new(shape.length_m).solve_from(problem, finer, &shape);
    again.ok().filter(holds)
}

/// Load, N, and way, m.
type Sums = (Vector3<f64>, Vector3<f64>);

impl Shape {
    /// Whether the sums close on every part that does not lie.
    pub(super) fn holds(&self, line: &Line, flow: &impl Flow, tolerance: f64) -> bool {
        let most = (OPEN_TOLERANCES * tolerance).max(LEAST_OPEN_RATIO);
        self.open_ratio(line, flow, 0.02 * most) <= most
    }

    /// What is open of the forces over the largest at an end, or of the ways over the length, summed to `agree_ratio` on an element.
    fn open_ratio(&self, line: &Line, flow: &impl Flow, agree_ratio: f64) -> f64 {
        let scale_n = self.drum_tension_n().max(self.top_tension_n());
        let summing = Summing { line, flow, agree: (agree_ratio * scale_n, agree_ratio * self.length_m) };
        let (mut force_n, mut way_m) = (Vector3::zeros(), Vector3::zeros());
        let mut worst: f64 = 0.0;
        let elements = self.mesh.elements();
        for (e, element) in elements.iter().enumerate() {
            let (start_m, end_m) = (element.start_ratio, element.start_ratio + element.span_ratio);
            let middle_m = 0.5 * (start_m + end_m) * self.length_m;
            if self.lying.is_some_and(|lying| (lying.from_m..=lying.to_m).contains(&middle_m)) {
                (force_n, way_m) = (Vector3::zeros(), Vector3::zeros());
                continue;
            }
            let (load_n, ways_m) = summing.whole(&Inside::of(self, e));
            let top = e + 1 == elements.len();
            let after_n = if top { self.top_force_n } else { self.start_force_n[e + 1] };
            let after_m = if top { self.end_m } else { self.start_position_m[e + 1] };
            force_n += self.start_force_n[e] - after_n - load_n;
            way_m += after_m - self.start_position_m[e] - ways_m;
            worst = worst.max(force_n.norm() / scale_n).max(way_m.norm() / self.length_m);
        }
        if worst.is_finite() { worst } else { f64::INFINITY }
    }
}

/// One element of a shape, read at many places from the coefficients of its Legendre polynomials.
struct Inside {
    order: usize,
    spread: Spread,
    compliance_per_n: f64,
    span_m: f64,
    start_n: Vector3<f64>,
    start_m: Vector3<f64>,
    /// Of the load per inner coordinate, N/m.
    load_n_per_m: [Vector3<f64>; MAX_ORDER],
    /// Of the way per inner coordinate.
    way: [Vector3<f64>; MAX_ORDER],
}

impl Inside {
    fn of(shape: &Shape, e: usize) -> Self {
        let element = &shape.mesh.elements()[e];
        let rule = rule(element.order);
        let mut inside = Self {
            order: element.order,
            spread: element.spread(),
            compliance_per_n: shape.compliance_per_n,
            span_m: shape.length_m * element.span_ratio,
            start_n: shape.start_force_n[e],
            start_m: shape.start_position_m[e],
            load_n_per_m: [Vector3::zeros(); MAX_ORDER],
            way: [Vector3::zeros(); MAX_ORDER],
        };
        for (i, node) in element.nodes().enumerate() {
            let slope = inside.spread.share(rule.nodes[i]).1;
            let load_n_per_m = slope * shape.load_n_per_m[node];
            let way = slope * Pull::new(&shape.force_n[node], shape.compliance_per_n).gradient();
            for k in 0..element.order {
                inside.load_n_per_m[k] += rule.spectrum[k][i] * load_n_per_m;
                inside.way[k] += rule.spectrum[k][i] * way;
            }
        }
        inside
    }

    /// Pull of the part above on the part below, N, and position, m, at an inner coordinate.
    fn at(&self, inner: f64) -> (Vector3<f64>, Vector3<f64>) {
        let order = self.order;
        let basis = integrals_of(order, inner, &legendre_up_to(order, 2.0 * inner - 1.0));
        let (mut load, mut way) = (Vector3::zeros(), Vector3::zeros());
        for k in 0..order {
            load += basis[k] * self.load_n_per_m[k];
            way += basis[k] * self.way[k];
        }
        (self.start_n - self.span_m * load, self.start_m + self.span_m * way)
    }
}

/// How loads and ways are summed.
struct Summing<'a, F: Flow> {
    line: &'a Line,
    flow: &'a F,
    /// Load, N, and way, m, to which a part and its halves agree.
    agree: (f64, f64),
}

impl<F: Flow> Summing<'_, F> {
    /// Load on an element, N, and its way, m, summed on parts that are halved until halves and whole agree.
    fn whole(&self, inside: &Inside) -> Sums {
        let (parts, count) = self.parts(inside);
        parts[..count].windows(2).fold((Vector3::zeros(), Vector3::zeros()), |sum, ends| {
            let ends = (ends[0], ends[1]);
            let (load_n, way_m) = self.halved(inside, ends, self.part(inside, ends), HALVINGS);
            (sum.0 + load_n, sum.1 + way_m)
        })
    }

    /// Inner coordinates at which an element is parted, rising, and how many: fixed ones, and where it crosses a kink of the flow.
    fn parts(&self, inside: &Inside) -> ([f64; MOST_PARTS], usize) {
        let (mut parts, mut count) = ([1.0; MOST_PARTS], PARTS.len());
        parts[..count].copy_from_slice(&PARTS);
        let height_m = |inner: f64| inside.at(inner).1.z;
        for ends in PARTS.windows(2) {
            for kink_m in self.flow.kink_heights_m() {
                let (mut lo, mut hi) = (ends[0], ends[1]);
                let below = height_m(lo) < *kink_m;
                if below == (height_m(hi) < *kink_m) || count == MOST_PARTS {
                    continue;
                }
                for _ in 0..CROSSING_HALVINGS {
                    let middle = 0.5 * (lo + hi);
                    if (height_m(middle) < *kink_m) == below { lo = middle } else { hi = middle }
                }
                parts[count] = hi;
                count += 1;
            }
        }
        parts[..count].sort_unstable_by(f64::total_cmp);
        (parts, count)
    }

    fn halved(&self, inside: &Inside, (lo, hi): (f64, f64), whole: Sums, left: u32) -> Sums {
        let middle = 0.5 * (lo + hi);
        let (a, b) = ((lo, middle), (middle, hi));
        let (first, second) = (self.part(inside, a), self.part(inside, b));
        let sum = (first.0 + second.0, first.1 + second.1);
        let (load_n, way_m) = self.agree;
        if left == 0 || ((sum.0 - whole.0).norm() < load_n && (sum.1 - whole.1).norm() < way_m) {
            return sum;
        }
        let first = self.halved(inside, a, first, left - 1);
        let second = self.halved(inside, b, second, left - 1);
        (first.0 + second.0, first.1 + second.1)
    }

    /// The sums over a part of the inner coordinate of an element.
    fn part(&self, inside: &Inside, (lo, hi): (f64, f64)) -> Sums {
        let mut sums = (Vector3::zeros(), Vector3::zeros());
        for (x, weight) in RULE.nodes().iter().zip(RULE.weights()) {
            let inner = 0.5 * (lo + hi) + 0.5 * (hi - lo) * x;
            let step_m = 0.5 * (hi - lo) * weight * inside.spread.share(inner).1 * inside.span_m;
            let (force_n, position_m) = inside.at(inner);
            let pull = Pull::new(&force_n, inside.compliance_per_n);
            sums.0 += step_m * load_n_per_m(self.line, &self.flow.at(position_m.z), &pull);
            sums.1 += step_m * pull.gradient();
        }
        sums
    }
}
