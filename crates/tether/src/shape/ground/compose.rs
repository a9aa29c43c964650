//! One shape made of parts: what hangs at the drum, what lies, what rises to the vehicle.

use nalgebra::Vector3;

use super::{
    super::{
        gauss::rule,
        mesh::{Element, MAX_ELEMENTS, Mesh},
        relax::UNKNOWN_RATIO,
        slopes::DrumSlopes,
        solution::MAX_NODES,
    },
    Lying, Shape,
    loose::Loose,
};
use crate::{error::TetherError, line::Line};

/// Folds of a loose part that is longer than the way.
const FOLDS: usize = 4;
/// Most elements of what hangs loose at the drum, how much shorter an element is tried, and what may be open in one over the tension
/// at its upper end, in tolerances and at least.
const MOST_AT_DRUM: usize = 8;
const SHORTER: f64 = 0.5;
const OPEN_TOLERANCES: f64 = 0.3;
const LEAST_OPEN_RATIO: f64 = 2e-8;
/// Nodes of an element of a loose line.
const ORDER: usize = 8;

/// The parts so far.
pub(super) struct Parts {
    shape: Shape,
    /// Unstretched length so far, m.
    at_m: f64,
    /// Where it ends, m.
    position_m: Vector3<f64>,
    /// A force that only gives a direction, N.
    nothing_n: f64,
    /// What may be open in an element of a loose line, over the tension at its upper end.
    open_ratio: f64,
}

impl Parts {
    pub(super) fn new(line: &Line, end_m: Vector3<f64>, length_m: f64, tolerance: f64) -> Self {
        let shape = Shape {
            mesh: Mesh::empty(),
            length_m,
            compliance_per_n: line.compliance_per_n(),
            start_force_n: [Vector3::zeros(); MAX_ELEMENTS],
            start_position_m: [Vector3::zeros(); MAX_ELEMENTS],
            force_n: [Vector3::zeros(); MAX_NODES],
            load_n_per_m: [Vector3::zeros(); MAX_NODES],
            top_force_n: Vector3::zeros(),
            end_m,
            stretched_m: 0.0,
            slopes: DrumSlopes::unknown(),
            contraction_ratio: UNKNOWN_RATIO,
            is_doubtful: false,
            error_estimate_ratio: 0.0,
            iterations_count: 0,
            flow_evaluations_count: 0,
            lying: Some(Lying { from_m: 0.0, to_m: 0.0, loose_m: 0.0 }),
        };
        Self {
            shape,
            at_m: 0.0,
            position_m: Vector3::zeros(),
            nothing_n: 1e-12 * line.mass_kg_per_m * length_m,
            open_ratio: (OPEN_TOLERANCES * tolerance).max(LEAST_OPEN_RATIO),
        }
    }

    /// Adds a free part.
    pub(super) fn free(&mut self, part: &Shape) -> Result<(), TetherError> {
        for (e, element) in part.mesh.elements().iter().enumerate() {
            let placed = Element {
                start_ratio: (self.at_m + element.start_ratio * part.length_m) / self.shape.length_m,
                span_ratio: element.span_ratio * part.length_m / self.shape.length_m,
                ..*element
            };
            let (index, first) = self.push(placed)?;
            self.shape.start_force_n[index] = part.start_force_n[e];
            self.shape.start_position_m[index] = self.position_m + part.start_position_m[e];
            for (i, node) in element.nodes().enumerate() {
                self.shape.force_n[first + i] = part.force_n[node];
                self.shape.load_n_per_m[first + i] = part.load_n_per_m[node];
            }
        }
        self.shape.top_force_n = part.top_force_n;
        self.shape.stretched_m += part.stretched_m;
        self.shape.error_estimate_ratio = self.shape.error_estimate_ratio.max(part.error_estimate_ratio);
        self.count(part);
        self.at_m += part.length_m;
        self.position_m += part.end_m;
        Ok(())
    }

    /// Counts the work of a part.
    pub(super) fn count(&mut self, part: &Shape) {
        self.shape.iterations_count += part.iterations_count;
        self.shape.flow_evaluations_count += part.flow_evaluations_count;
    }

    /// Adds a straight part on the ground up to `to_m`, with the pull `force_n` at its far end, held back by friction. Where a
    /// part before it arrives with `arriving_n`, the ground takes the difference, so that the forces on the whole line close.
    pub(super) fn lying(
        &mut self,
        length_m: f64,
        force_n: Vector3<f64>,
        friction_n_per_m: f64,
        arriving_n: Option<Vector3<f64>>,
        to_m: Vector3<f64>,
    ) -> Result<(), TetherError> {
        let tension_n = force_n.norm();
        let along = force_n / tension_n;
        let held_m = if friction_n_per_m > 0.0 { tension_n / friction_n_per_m } else { f64::INFINITY };
        let loose_m = (length_m - held_m).max(0.0);
        self.lands(length_m, loose_m);
        if loose_m > 0.0 {
            self.straight(loose_m, &along, Vector3::zeros(), Vector3::zeros())?;
        }
        let taut_m = length_m - loose_m;
        if taut_m > 0.0 {
            let by_law_n = (tension_n - friction_n_per_m * taut_m).max(0.0) * along;
            let start_n = arriving_n.filter(|_| loose_m <= 0.0).unwrap_or(by_law_n);
            self.straight(taut_m, &along, start_n, force_n)?;
        }
        self.position_m = to_m;
        Ok(())
    }

    /// Adds a loose part on the ground that ends at `to_m`.
    pub(super) fn folded(&mut self, length_m: f64, to_m: Vector3<f64>) -> Result<(), TetherError> {
        self.lands(length_m, length_m);
        let way_m = to_m - self.position_m;
        let gap_m = way_m.norm();
        let along = way_m.try_normalize(0.0).unwrap_or_else(Vector3::x);
        let spare_m = length_m - gap_m;
        let folds = if spare_m > 1e-9 * length_m { FOLDS } else { 1 };
        let (forth_m, back_m) = (0.5 * (length_m + gap_m) / folds as f64, 0.5 * spare_m / folds as f64);
        for _ in 0..folds {
            self.straight(forth_m, &along, Vector3::zeros(), Vector3::zeros())?;
            if folds > 1 {
                self.straight(back_m, &-along, Vector3::zeros(), Vector3::zeros())?;
            }
        }
        self.position_m = to_m;
        Ok(())
    }

    /// Adds a line that hangs from its upper end, which is the drum (`downwards`) or the vehicle; `load` tells the load at a height
    /// over the ground and a pull upwards.
    pub(super) fn hanging(
        &mut self,
        loose: &Loose,
        lower_m: Vector3<f64>,
        downwards: bool,
        load: impl Fn(f64, &Vector3<f64>) -> Vector3<f64>,
    ) -> Result<(), TetherError> {
        let length_m = loose.length_m();
        let from_m = if downwards { lower_m } else { self.position_m };
        let sign = if downwards { -1.0 } else { 1.0 };
        let place = |s_m: f64| if downwards { length_m - s_m } else { s_m };
        let mut start_m = 0.0;
        let stretches = loose.smooth_m().count();
        let mut spare = if downwards { MOST_AT_DRUM } else { self.room() }.saturating_sub(stretches);
        while let Some(break_m) = next_break_m(loose, start_m, downwards) {
            let mut end_m = break_m;
            let mut element = Piece::new(loose, (start_m, end_m), place, &load);
            while spare > 0 && element.error_ratio(loose) > self.open_ratio {
                end_m = start_m + SHORTER * (end_m - start_m);
                element = Piece::new(loose, (start_m, end_m), place, &load);
                if end_m - start_m < 1e-9 * length_m {
                    break;
                }
            }
            if end_m < break_m {
                spare -= 1;
            }
            let (index, first) = self.push(Element::even(
                (self.at_m + start_m) / self.shape.length_m,
                (self.at_m + end_m) / self.shape.length_m,
                ORDER,
            ))?;
            let (here_m, here_n) = between(loose, place(start_m));
            self.shape.start_force_n[index] = sign * here_n;
            self.shape.start_position_m[index] =
                if downwards { from_m + here_m - loose.reach_m() } else { from_m + here_m };
            let open_n_per_m = element.open_n / (end_m - start_m);
            for i in 0..ORDER {
                self.shape.force_n[first + i] = sign * element.force_n[i];
                // Load and pulls at both ends close; what was open counts as error.
                self.shape.load_n_per_m[first + i] = element.load_n_per_m[i] + open_n_per_m;
            }
            self.shape.error_estimate_ratio = self.shape.error_estimate_ratio.max(element.error_ratio(loose));
            start_m = end_m;
        }
        let (reach_m, top_n) = between(loose, length_m);
        self.shape.top_force_n = top_n;
        self.shape.stretched_m += loose.stretched_m();
        self.at_m += length_m;
        self.position_m = if downwards { from_m - reach_m } else { from_m + reach_m };
        Ok(())
    }

    /// Elements of a loose line that still have room.
    fn room(&self) -> usize {
        let mesh = &self.shape.mesh;
        (MAX_ELEMENTS - mesh.elements().len()).min((MAX_NODES - mesh.nodes_count()) / ORDER)
    }

    pub(super) fn finish(self) -> Shape {
        self.shape
    }

    fn lands(&mut self, length_m: f64, loose_m: f64) {
        self.shape.lying = Some(Lying { from_m: self.at_m, to_m: self.at_m + length_m, loose_m });
    }

    /// A straight element `along` a direction, with the pulls `start_n` and `end_n` where it starts and ends.
    fn straight(
        &mut self,
        length_m: f64,
        along: &Vector3<f64>,
        start_n: Vector3<f64>,
        end_n: Vector3<f64>,
    ) -> Result<(), TetherError> {
        let total_m = self.shape.length_m;
        let (index, first) =
            self.push(Element::even(self.at_m / total_m, (self.at_m + length_m) / total_m, 2))?;
        let nothing_n = self.nothing_n * along;
        let pull_n = |share: f64| start_n + share * (end_n - start_n) + nothing_n;
        self.shape.start_force_n[index] = pull_n(0.0);
        self.shape.start_position_m[index] = self.position_m;
        for i in 0..2 {
            self.shape.force_n[first + i] = pull_n(rule(2).nodes[i]);
            self.shape.load_n_per_m[first + i] = (start_n - end_n) / length_m;
        }
        let mean_n = 0.5 * (start_n.norm() + end_n.norm());
        let stretched_m = length_m * (1.0 + self.shape.compliance_per_n * mean_n);
        self.shape.stretched_m += stretched_m;
        self.at_m += length_m;
        self.position_m += stretched_m * along;
        Ok(())
    }

    /// Adds an element; its number and that of its first node.
    fn push(&mut self, element: Element) -> Result<(usize, usize), TetherError> {
        let index = self.shape.mesh.elements().len();
        if !self.shape.mesh.push(element, MAX_NODES) {
            return Err(TetherError::NotConverged {
                iterations_count: self.shape.iterations_count,
                force_error_ratio: self.shape.error_estimate_ratio,
                end_error_m: 0.0,
            });
        }
        Ok((index, self.shape.mesh.elements()[index].first))
    }
}

/// An element of a loose line.
struct Piece {
    force_n: [Vector3<f64>; ORDER],
    load_n_per_m: [Vector3<f64>; ORDER],
    /// What the sum of the load lacks to the change of the pull, N.
    open_n: Vector3<f64>,
    /// What pull and place lack inside at most, N and m.
    inside: (f64, f64),
}

impl Piece {
    /// The element between two lengths; `place` tells the length from the lower end.
    fn new(
        loose: &Loose,
        (start_m, end_m): (f64, f64),
        place: impl Fn(f64) -> f64,
        load: impl Fn(f64, &Vector3<f64>) -> Vector3<f64>,
    ) -> Self {
        let (mut force_n, mut load_n_per_m) = ([Vector3::zeros(); ORDER], [Vector3::zeros(); ORDER]);
        let rule = rule(ORDER);
        let mut sum_n = Vector3::zeros();
        // The last Legendre coefficients of load and way are what a polynomial more would change.
        let mut last = [(Vector3::zeros(), Vector3::zeros()); 2];
        for i in 0..ORDER {
            let (place_m, pull_n) = between(loose, place(start_m + (end_m - start_m) * rule.nodes[i]));
            force_n[i] = pull_n;
            load_n_per_m[i] = load(place_m.z, &pull_n);
            sum_n += (end_m - start_m) * rule.weights[i] * load_n_per_m[i];
            for (degree, (load, way)) in last.iter_mut().enumerate() {
                let share = rule.spectrum[ORDER - 1 - degree][i];
                *load += share * load_n_per_m[i];
                *way += share * loose.gradient(&pull_n);
            }
        }
        let half_m = (end_m - start_m) / (2.0 * ORDER as f64);
        let inside = last.map(|(load, way)| (half_m * load.norm(), half_m * way.norm()));
        let inside = (inside[0].0.max(inside[1].0), inside[0].1.max(inside[1].1));
        let turned = if place(end_m) < place(start_m) { -1.0 } else { 1.0 };
        let change_n = turned * (between(loose, place(start_m)).1 - between(loose, place(end_m)).1);
        Self { force_n, load_n_per_m, open_n: change_n - sum_n, inside }
    }

    /// What is open over the tension at the upper end and over the length.
    fn error_ratio(&self, loose: &Loose) -> f64 {
        let open_ratio = self.open_n.norm().max(self.inside.0) / loose.top_tension_n();
        open_ratio.max(self.inside.1 / loose.length_m())
    }
}

/// Where the stretch of smooth flow ends in which an element starts at `from_m`, counted from the upper end of the line or from its
/// lower one.
fn next_break_m(loose: &Loose, from_m: f64, downwards: bool) -> Option<f64> {
    let length_m = loose.length_m();
    let tiny_m = 1e-9 * length_m;
    loose
        .smooth_m()
        .map(|(_, end_m)| end_m)
        .chain([0.0])
        .map(|s_m| if downwards { length_m - s_m } else { s_m })
        .filter(|s_m| *s_m > from_m + tiny_m)
        .min_by(f64::total_cmp)
}

/// Place and pull of a loose line between its steps: cubics through both and their slopes.
pub(super) fn between(loose: &Loose, s_m: f64) -> (Vector3<f64>, Vector3<f64>) {
    let stations = loose.stations();
    let last = stations.len() - 1;
    let hi = stations.partition_point(|station| station.s_m < s_m).clamp(1, last);
    let (a, b) = (&stations[hi - 1], &stations[hi]);
    let span_m = b.s_m - a.s_m;
    let t = ((s_m - a.s_m) / span_m).clamp(0.0, 1.0);
    let cubic = |from: Vector3<f64>, to: Vector3<f64>, from_slope: Vector3<f64>, to_slope: Vector3<f64>| {
        let step = to - from;
        let (lo, up) = (span_m * from_slope - step, step - span_m * to_slope);
        from + t * step + t * (1.0 - t) * ((1.0 - t) * lo + t * up)
    };
    let force_n = cubic(a.force_n, b.force_n, -a.load_n_per_m, -b.load_n_per_m);
    let gradient = |force_n: &Vector3<f64>| loose.gradient(force_n);
    let position_m = cubic(a.position_m, b.position_m, gradient(&a.force_n), gradient(&b.force_n));
    (position_m, force_n)
}
