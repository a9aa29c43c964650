//! Where elements end, how many nodes they get, and how large the error is.
//!
//! The Legendre coefficients of load and tangent on an element fall off like a power of some ratio; an element with n nodes is
//! integrated to its end without error up to degree 2n − 1, so that the last coefficients and their ratio tell what is lost.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;
use wide::f64x4;

use super::{
    gauss::{MAX_ORDER, rule},
    kink::Breaks,
    lanes::dot,
    mesh::{Boundary, Crowding, Element, MAX_ELEMENTS, Mesh},
    relax::{Grid, Problem},
};

/// How strongly nodes crowd where shear is strongest.
const LOWER: f64 = 0.5;
/// Fewest nodes of an element.
const MIN_ORDER: usize = 3;

/// How the coefficients of a quantity fall off on an element: like `size`·`ratio`^degree.
#[derive(Debug, Clone, Copy)]
struct Decay {
    size: f64,
    ratio: f64,
}

impl Decay {
    /// Of a quantity that has three components, each a row of its values at the nodes.
    fn of(rows: [&[f64]; 3]) -> Self {
        let order = rows[0].len();
        let (last, middle) = (order - 1, order / 2);
        let mut coefficients = [f64x4::ZERO; 3];
        for (j, share) in rule(order).tail.iter().enumerate().take(order) {
            for (coefficient, row) in coefficients.iter_mut().zip(rows) {
                *coefficient += f64x4::new(*share) * f64x4::splat(row[j]);
            }
        }
        let [a, b, c, d] = dot(coefficients, coefficients).sqrt().to_array();
        let (last_size, middle_size) = (a.max(b), c.max(d));
        let ratio = if last_size < middle_size {
            (last_size / middle_size).powf(1.0 / (last - middle).max(1) as f64)
        } else {
            1.0
        };
        let ratio = ratio.max(1e-3);
        Self { size: last_size / ratio.powi(last as i32), ratio }
    }

    /// Size of the coefficient of a degree.
    fn at(&self, degree: usize) -> f64 {
        self.size * self.ratio.powi(degree as i32)
    }

    /// On a fraction of the element.
    fn on_piece(&self, fraction: f64) -> Self {
        Self { size: self.size, ratio: self.ratio * fraction.sqrt() }
    }
}

/// Estimated errors of one element.
#[derive(Debug, Clone, Copy)]
pub(super) struct Errors {
    load: Decay,
    gradient: Decay,
}

/// First mesh, before anything is known of the shape: an element for each stretch of smooth flow, with nodes for a tether that
/// is neither very slack nor in a strange flow; fewer where so many stretches leave no room, and one element if even that is too
/// much.
pub(super) fn first_mesh(flow: &impl Flow, end_z_m: f64, tolerance: f64, nodes_limit: usize) -> Mesh {
    let stretches_count = flow.kink_heights_m().len() + 1;
    let laid = |most_order| first_mesh_of(flow, end_z_m, tolerance, nodes_limit, most_order);
    laid(MAX_ORDER).or_else(|| laid((nodes_limit / stretches_count).max(MIN_ORDER))).unwrap_or_else(|| {
        let mut mesh = Mesh::empty();
        mesh.push(Element::even(0.0, 1.0, nodes_limit.min(MAX_ORDER)), nodes_limit);
        mesh
    })
}

/// A first mesh with no more than `most_order` nodes in an element; `None` if it does not fit.
fn first_mesh_of(
    flow: &impl Flow,
    end_z_m: f64,
    tolerance: f64,
    nodes_limit: usize,
    most_order: usize,
) -> Option<Mesh> {
    let mut mesh = Mesh::empty();
    let mut push = |element: Element| {
        let element = Element { order: element.order.min(most_order), ..element };
        mesh.push(element, nodes_limit).then_some(())
    };
    let mut start_ratio = 0.0;
    let mut below_m = None;
    let kinks_m = flow.kink_heights_m();
    for k in 0..kinks_m.len() {
        let kink_m = if end_z_m > 0.0 { kinks_m[k] } else { kinks_m[kinks_m.len() - 1 - k] };
        let place_ratio = kink_m / end_z_m;
        if place_ratio > start_ratio + 1e-6 && place_ratio < 1.0 - 1e-6 {
            let element = smooth(below_m, start_ratio, place_ratio, end_z_m, tolerance);
            push(Element { boundary: Boundary::Height(kink_m), ..element })?;
            start_ratio = place_ratio;
            below_m = Some(kink_m);
        } else if place_ratio <= 0.0 {
            below_m = Some(kink_m);
        }
    }
    push(smooth(below_m, start_ratio, 1.0, end_z_m, tolerance))?;
    Some(mesh)
}

/// An element over smooth flow, its nodes drawn towards a kink below it, where shear is strongest.
fn smooth(below_m: Option<f64>, start_ratio: f64, end_ratio: f64, end_z_m: f64, tolerance: f64) -> Element {
    let digits = -tolerance.log10();
    let span_ratio = end_ratio - start_ratio;
    let order = |least: f64, by_digit: f64| (least + by_digit * digits).clamp(3.0, MAX_ORDER as f64) as usize;
    match below_m {
        Some(kink_m) if end_z_m > 0.0 => {
            let away_m = (start_ratio * end_z_m - kink_m).abs() + kink_m.abs().max(1e-3 * end_z_m);
            let reach = (1.0 + span_ratio * end_z_m / away_m).sqrt() - 1.0;
            let crowding = Crowding::Lower(LOWER * reach);
            Element { crowding, ..Element::even(start_ratio, end_ratio, order(3.0, 1.5)) }
        }
        // A short piece needs few nodes.
        _ if span_ratio < 0.1 => Element::even(start_ratio, end_ratio, order(1.0, 0.5)),
        _ => Element::even(start_ratio, end_ratio, order(2.0, 1.0)),
    }
}

/// Allowed errors.
#[derive(Debug, Clone, Copy)]
pub(super) struct Allowed {
    /// Of the forces at the ends, N.
    pub force_n: f64,
    /// Of positions, m.
    pub position_m: f64,
}

impl Allowed {
    /// Whether both are no larger than allowed.
    pub(super) fn within(&self, allowed: Self) -> bool {
        self.force_n <= allowed.force_n && self.position_m <= allowed.position_m
    }
}

/// Estimated errors of each element.
pub(super) struct Estimate([Errors; MAX_ELEMENTS]);

impl Estimate {
    /// Of the elements as the last sweep left them.
    pub(super) fn of<const N: usize>(grid: &Grid<N>) -> Self {
        let none = Decay { size: 0.0, ratio: 1.0 };
        let mut each = [Errors { load: none, gradient: none }; MAX_ELEMENTS];
        for (errors, element) in each.iter_mut().zip(grid.mesh.elements()) {
            let (lanes, nodes) = (&grid.lanes, element.nodes());
            *errors = Errors::of(lanes.part_n.rows(&nodes), lanes.climb_m.rows(&nodes));
        }
        Self(each)
    }

    /// Errors of the end forces, N, and of positions, m.
    pub(super) fn sum<const N: usize>(&self, grid: &Grid<N>) -> Allowed {
        let stiffness = grid.stiffness_n_per_m().norm();
        let mut sum = Allowed { force_n: 0.0, position_m: 0.0 };
        for (errors, element) in self.0.iter().zip(grid.mesh.elements()) {
            let (end_n, end_m, inside_m) = errors.at_order(element.order, 1.0);
            sum.force_n += end_n + stiffness * end_m;
            sum.position_m = sum.position_m.max(inside_m);
        }
        sum
    }
}

/// Estimated errors of the end forces, N, and of positions, m.
pub(super) fn errors<const N: usize>(grid: &Grid<N>) -> Allowed {
    Estimate::of(grid).sum(grid)
}

/// A mesh that should meet the allowed errors, from a solution on another; `None` if it does not fit. `attempt` counts from 0;
/// the mesh of the first is rough and says little, after that elements only get finer.
pub(super) fn adapted<const N: usize>(
    grid: &Grid<N>,
    problem: &Problem<'_, impl Flow>,
    allowed: Allowed,
    attempt: u32,
) -> Option<Mesh> {
    adapted_by(&Estimate::of(grid), grid, problem, allowed, attempt)
}

/// The same where the errors were already estimated.
pub(super) fn adapted_by<const N: usize>(
    estimate: &Estimate,
    grid: &Grid<N>,
    problem: &Problem<'_, impl Flow>,
    allowed: Allowed,
    attempt: u32,
) -> Option<Mesh> {
    let bend = Bend::of(grid);
    if attempt < 3 && bend.is_sharp() && !bend.fits(&grid.mesh) {
        return bend.mesh(&grid.mesh, N);
    }
    let mut mesh = Mesh::empty();
    let share = 1.0 / grid.mesh.elements().len() as f64;
    let stiffness = grid.stiffness_n_per_m().norm();
    for (e, (element, errors)) in grid.mesh.elements().iter().zip(&estimate.0).enumerate() {
        let breaks = Breaks::of(grid, problem, e, allowed);
        let mut lower = 0.0;
        for (upper, boundary) in breaks.iter().chain([(1.0, element.boundary)]) {
            let piece = errors.on_piece(upper - lower);
            let fits = |parts: usize, order: usize| {
                let part = piece.on_piece(1.0 / parts as f64);
                let (end_n, end_m, inside_m) = part.at_order(order, (upper - lower) / parts as f64);
                end_n + stiffness * end_m <= share * allowed.force_n && inside_m <= allowed.position_m
            };
            let whole = (lower, upper) == (0.0, 1.0);
            let least = breaks.least_order();
            let (parts, order) = match division(element.order, fits) {
                (1, order) if attempt > 0 && whole && order <= element.order => {
                    let (end_n, end_m, inside_m) = errors.at_order(element.order, 1.0);
                    let good = end_n + stiffness * end_m <= share * allowed.force_n
                        && inside_m <= 0.9 * allowed.position_m;
                    if good || least > element.order {
                        (1, element.order.max(least))
                    } else if element.order + 2 <= MAX_ORDER {
                        (1, element.order + 2)
                    } else {
                        (2, MAX_ORDER - 4)
                    }
                }
                other => other,
            };
            for part in 0..parts {
                let at = |k: usize| lower + (upper - lower) * k as f64 / parts as f64;
                let last = part + 1 == parts;
                let boundary = if last { boundary } else { Boundary::Free };
                let cut =
                    Element { order: order.max(least), boundary, ..element.cut(at(part), at(part + 1)) };
                if !mesh.push(cut, N) {
                    return None;
                }
            }
            lower = upper;
        }
    }
    Some(mesh)
}

/// Where the tension is least, and over what length the tether turns there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bend {
    place_ratio: f64,
    width_ratio: f64,
}

impl Bend {
    /// Largest range of [`Element::crowding`] of an element.
    const RANGE: f64 = 4.0;
    /// Nodes of an element at first.
    const ORDER: usize = 10;

    /// The bend of a tether with `force_n` at the place 0, which falls by `load_n` over the whole length.
    pub(super) fn under_constant_load(force_n: &Vector3<f64>, load_n: &Vector3<f64>) -> Self {
        let square = load_n.norm_squared().max(f64::MIN_POSITIVE);
        let place_ratio = force_n.dot(load_n) / square;
        let width_ratio = (force_n - place_ratio * load_n).norm() / square.sqrt();
        Self { place_ratio, width_ratio: width_ratio.max(1e-12) }
    }

    pub(super) fn of<const N: usize>(grid: &Grid<N>) -> Self {
        let mut least_n = f64::INFINITY;
        let mut bend = Self { place_ratio: 0.0, width_ratio: 1.0 };
        for element in grid.mesh.elements() {
            for node in element.nodes() {
                let force_n = grid.force_n.at(node);
                let tension_n = force_n.norm();
                if tension_n < least_n {
                    least_n = tension_n;
                    bend = Self::under_constant_load(&force_n, &(grid.length_m * grid.load_n_per_m.at(node)));
                    bend.place_ratio += element.start_ratio + element.span_ratio * grid.share[node].0;
                }
            }
        }
        bend
    }

    /// Whether nodes must crowd at the bend.
    pub(super) fn is_sharp(&self) -> bool {
        self.width_ratio < 0.1 && self.place_ratio > -0.05 && self.place_ratio < 1.05
    }

    fn crowding(&self, start_ratio: f64, end_ratio: f64) -> (f64, f64) {
        let at = |place_ratio: f64| ((place_ratio - self.place_ratio) / self.width_ratio).asinh();
        (at(start_ratio), at(end_ratio))
    }

    /// Whether the nodes of a mesh already crowd there.
    fn fits(&self, mesh: &Mesh) -> bool {
        mesh.elements().iter().all(|element| {
            let (lower, upper) = self.crowding(element.start_ratio, element.start_ratio + element.span_ratio);
            matches!(element.crowding, Crowding::Bend(a, b)
                if (lower - a).abs() < 1.0 && (upper - b).abs() < 1.0 && upper - lower < 1.4 * Self::RANGE)
        })
    }

    /// A mesh with the ends of the old one where the flow is not smooth, crowded at the bend.
    pub(super) fn mesh(&self, old: &Mesh, nodes_limit: usize) -> Option<Mesh> {
        let mut mesh = Mesh::empty();
        let mut start_ratio = 0.0;
        let elements = old.elements();
        for (e, element) in elements.iter().enumerate() {
            let last = e + 1 == elements.len();
            if element.boundary == Boundary::Free && !last {
                continue;
            }
            let end_ratio = if last { 1.0 } else { element.start_ratio + element.span_ratio };
            let crowding = self.crowding(start_ratio, end_ratio);
            let whole = Element {
                crowding: Crowding::Bend(crowding.0, crowding.1),
                ..Element::even(start_ratio, end_ratio, Self::ORDER)
            };
            let parts = ((crowding.1 - crowding.0) / Self::RANGE).ceil().clamp(1.0, 30.0) as usize;
            for part in 0..parts {
                let at = |k: usize| k as f64 / parts as f64;
                let boundary = if part + 1 == parts { element.boundary } else { Boundary::Free };
                let piece = Element { boundary, ..whole.cut(at(part), at(part + 1)) };
                if !mesh.push(piece, nodes_limit) {
                    return None;
                }
            }
            start_ratio = end_ratio;
        }
        Some(mesh)
    }
}

/// Into how many parts and nodes an element goes.
fn division(order: usize, fits: impl Fn(usize, usize) -> bool) -> (usize, usize) {
    // Few nodes say little about how the coefficients fall off: no more than twice as many at a time.
    let (most, most_parts) = if order < 8 { ((2 * order + 2).min(MAX_ORDER), 1) } else { (MAX_ORDER, 4) };
    for parts in 1..=most_parts {
        if !fits(parts, most) {
            continue;
        }
        let (mut lo, mut hi) = (MIN_ORDER - 1, most);
        while hi - lo > 1 {
            let middle = lo.midpoint(hi);
            if fits(parts, middle) { hi = middle } else { lo = middle }
        }
        return (parts, hi);
    }
    if order < 8 { (1, most) } else { (4, 12) }
}

impl Errors {
    /// From the load and the change of place with the inner coordinate: rows of their components at every node of an element.
    pub(super) fn of(load: [&[f64]; 3], gradient: [&[f64]; 3]) -> Self {
        Self { load: Decay::of(load), gradient: Decay::of(gradient) }
    }

    fn on_piece(&self, fraction: f64) -> Self {
        Self { load: self.load.on_piece(fraction), gradient: self.gradient.on_piece(fraction) }
    }

    /// Error of the integrals of load and tangent over a part of the element with `order` nodes, and of a position inside.
    pub(super) fn at_order(&self, order: usize, part: f64) -> (f64, f64, f64) {
        // The true loss is the coefficient at twice the order; one and a half times is on the safe side.
        let beyond = order + order / 2;
        let inside_m = part * self.gradient.at(order) / (2.0 * order as f64);
        (part * self.load.at(beyond), part * self.gradient.at(beyond), inside_m)
    }
}
