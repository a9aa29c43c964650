//! A mesh that is no finer than it must be, for shapes that bend in several places or hang through many kinks: from a shape that
//! is nearly solved, element by element, each as long as its error allows.

use beamstay_environment::flow::Flow;
use nalgebra::Vector3;

use super::{
    Shape,
    adapt::{Allowed, Errors},
    gauss::{MAX_ORDER, rule},
    lanes::Axes,
    load::{Pull, load_n_per_m},
    mesh::{Boundary, Crowding, Element, Mesh},
    relax::Problem,
};

/// Nodes of an element at least, and how many more than are found to do.
const LEAST_ORDER: usize = 4;
const SPARE: usize = 1;
/// Share of the allowed error for one element.
const SHARE: f64 = 1.0 / 12.0;
/// How much shorter an element is tried, and the shortest, over the line.
const SHORTER: f64 = 0.7;
const SHORTEST: f64 = 1e-9;
/// Bends that elements crowd at, and the width over the line below which they do.
const BENDS: usize = 8;
const SHARP: f64 = 0.1;

/// Where the tension is least among its neighbours, and over what length the line turns there, as shares of the line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn {
    place: f64,
    width: f64,
}

impl Turn {
    /// The turn of a line with a force at a place, which falls by `load_n` over the whole length.
    pub(super) fn of(place: f64, force_n: &Vector3<f64>, load_n: &Vector3<f64>) -> Self {
        let square = load_n.norm_squared().max(f64::MIN_POSITIVE);
        let on = force_n.dot(load_n) / square;
        let width = (force_n - on * load_n).norm() / square.sqrt();
        Self { place: place + on, width: width.max(1e-12) }
    }

    /// Whether nodes must crowd there.
    pub(super) fn is_sharp(&self) -> bool {
        self.width < SHARP
    }

    /// How the nodes of an element between two places crowd there.
    pub(super) fn crowding(&self, from: f64, to: f64) -> Crowding {
        let at = |place: f64| ((place - self.place) / self.width).asinh();
        Crowding::Bend(at(from), at(to))
    }
}

/// Lays the mesh.
struct Packer<'a, 'b, F: Flow> {
    shape: &'b Shape,
    problem: &'b Problem<'a, F>,
    allowed: Allowed,
    nodes_limit: usize,
    turns: [Turn; BENDS],
    turns_count: usize,
}

/// A mesh for a shape that is nearly solved, with the ends of its elements that stand for kinks; `None` if it does not fit.
pub(super) fn packed<F: Flow>(
    shape: &Shape,
    problem: &Problem<'_, F>,
    allowed: Allowed,
    nodes_limit: usize,
) -> Option<Mesh> {
    let mut packer = Packer {
        shape,
        problem,
        allowed,
        nodes_limit,
        turns: [Turn { place: 0.0, width: 1.0 }; BENDS],
        turns_count: 0,
    };
    packer.find_turns();
    let mut mesh = Mesh::empty();
    let mut start = 0.0;
    let elements = shape.mesh.elements();
    for (e, element) in elements.iter().enumerate() {
        let last = e + 1 == elements.len();
        if element.boundary == Boundary::Free && !last {
            continue;
        }
        let end = if last { 1.0 } else { element.start_ratio + element.span_ratio };
        packer.stretch(&mut mesh, start, end, element.boundary)?;
        start = end;
    }
    Some(mesh)
}

impl<F: Flow> Packer<'_, '_, F> {
    fn find_turns(&mut self) {
        let shape = self.shape;
        let (mut before_n, mut falls) = (shape.drum_tension_n(), true);
        let mut last: Option<Turn> = None;
        for element in shape.mesh.elements() {
            for (i, node) in element.nodes().enumerate() {
                let (force_n, load_n) = (shape.force_n[node], shape.length_m * shape.load_n_per_m[node]);
                let tension_n = force_n.norm();
                let turns = falls && tension_n > before_n && self.turns_count < BENDS;
                if let Some(turn) = last.filter(|turn| turns && turn.is_sharp()) {
                    self.turns[self.turns_count] = turn;
                    self.turns_count += 1;
                }
                falls = tension_n <= before_n;
                before_n = tension_n;
                last = Some(Turn::of(element.place_ratio(i), &force_n, &load_n));
            }
        }
    }

    /// Lays elements over a stretch without kinks.
    fn stretch(&self, mesh: &mut Mesh, start: f64, end: f64, boundary: Boundary) -> Option<()> {
        let mut from = start;
        while from < end {
            let (element, to) = self.longest(from, end)?;
            let last = to >= end;
            let boundary = if last { boundary } else { Boundary::Free };
            mesh.push(Element { boundary, ..element }, self.nodes_limit).then_some(())?;
            from = to;
        }
        Some(())
    }

    /// The longest element from a place whose error is allowed, with as few nodes as that takes, and its end.
    fn longest(&self, from: f64, end: f64) -> Option<(Element, f64)> {
        let mut to = end;
        while to - from > SHORTEST {
            for crowding in [self.crowding(from, to), Some(Crowding::Even)].into_iter().flatten() {
                let element = Element { crowding, ..Element::even(from, to, MAX_ORDER) };
                if let Some(order) = self.order(&element) {
                    return Some((Element { order, ..element }, to));
                }
            }
            to = from + SHORTER * (to - from);
            // No short rest at the end.
            if end - to < 0.1 * (to - from) {
                to = from + 0.5 * (end - from);
            }
        }
        None
    }

    /// How nodes crowd at the turn next to an element.
    fn crowding(&self, from: f64, to: f64) -> Option<Crowding> {
        let away = |turn: &Turn| (from - turn.place).max(turn.place - to).max(0.0) + turn.width;
        let turn = self.turns[..self.turns_count].iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
        Some(turn.crowding(from, to))
    }

    /// Fewest nodes with which the error of an element is allowed.
    fn order(&self, element: &Element) -> Option<usize> {
        let (rule, spread) = (rule(MAX_ORDER), element.spread());
        let length_m = self.shape.length_m;
        let mut loads = Axes::<MAX_ORDER>::zeros();
        let mut gradients = Axes::<MAX_ORDER>::zeros();
        for i in 0..MAX_ORDER {
            let (share, slope) = spread.share(rule.nodes[i]);
            let s_m = length_m * (element.start_ratio + element.span_ratio * share);
            let pull = Pull::new(&self.shape.force_n(s_m), self.problem.compliance_per_n);
            let sample = self.problem.flow.at(self.shape.point(s_m).z);
            loads.set(i, slope * load_n_per_m(self.problem.line, &sample, &pull));
            gradients.set(i, slope * pull.gradient());
        }
        let nodes = 0..MAX_ORDER;
        let errors = Errors::of(loads.rows(&nodes), gradients.rows(&nodes));
        let stiffness = self.shape.slopes.stiffness_n_per_m.norm();
        let fits = |order: usize| {
            let (end_n, end_m, inside_m) = errors.at_order(order, length_m * element.span_ratio);
            end_n + stiffness * end_m <= SHARE * self.allowed.force_n && inside_m <= self.allowed.position_m
        };
        let order = (LEAST_ORDER..=MAX_ORDER).find(|order| fits(*order))?;
        Some((order + SPARE).min(MAX_ORDER))
    }
}
