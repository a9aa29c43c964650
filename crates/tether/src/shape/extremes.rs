//! Where along a shape something is largest or smallest: sought between the solver's nodes, because it seldom lies on
//! one and often not at an end.

use beamstay_numerics::{
    minimum::{brent, brent_from},
    root::{Tolerance, bracketed_from},
};
use nalgebra::Vector3;

use super::{Shape, load::Pull, solution::Reader};

/// Places are found to this part of the length; where a quantity is stationary its own error is the square of that.
const PLACE_RATIO: f64 = 1e-6;

/// Force and load at one place.
struct Loaded {
    force_n: Vector3<f64>,
    load_n_per_m: Vector3<f64>,
}

impl Shape {
    /// Largest tension anywhere on the line, N, and its distance from the drum, m of unstretched length.
    pub fn max_tension(&self) -> (f64, f64) {
        let mut best = (self.drum_tension_n(), 0.0);
        if self.top_tension_n() > best.0 {
            best = (self.top_tension_n(), self.length_m);
        }
        // Inside, the tension is largest where the load along the line turns from pulling the rest down to holding it.
        let mut reader = Reader::new(self);
        let mut rise = |s_m: f64| {
            let (force_n, load_n_per_m) = reader.at(s_m);
            -load_n_per_m.dot(&force_n)
        };
        self.each_change(
            |force_n, load| -load.dot(force_n),
            |(lo_m, lo), (hi_m, hi)| {
                if lo > 0.0 && hi < 0.0 {
                    let s_m = self.change(&mut rise, (lo_m, lo), (hi_m, hi));
                    let tension_n = self.tension_n(s_m);
                    if tension_n > best.0 {
                        best = (tension_n, s_m);
                    }
                }
            },
        );
        best
    }

    /// Lowest point of the line, m from the drum exit.
    pub fn lowest_point(&self) -> Vector3<f64> {
        let mut lowest_m = if self.end_m.z < 0.0 { self.end_m } else { Vector3::zeros() };
        if let Some(landing_m) = self.lying.map(|lying| self.point(lying.from_m))
            && landing_m.z < lowest_m.z
        {
            lowest_m = landing_m;
        }
        self.each_low(|_, point_m| {
            if point_m.z < lowest_m.z {
                lowest_m = point_m;
            }
        });
        lowest_m
    }

    /// Unstretched length from the drum to the lowest point of a line that leaves the drum downwards, m.
    pub(super) fn lowest_s_m(&self) -> f64 {
        let mut lowest = (0.0, 0.0);
        self.each_low(|s_m, point_m| {
            if point_m.z < lowest.1 {
                lowest = (s_m, point_m.z);
            }
        });
        lowest.0
    }

    /// Smallest height of the line above a level ground, m; the part nearer than `from_m` of unstretched length to the drum,
    /// which a drum near the ground cannot keep clear, is left out.
    ///
    /// Arguments: height of the ground relative to the drum exit, m (0 or less); length that is left out, m.
    pub fn clearance_m(&self, ground_z_m: f64, from_m: f64) -> f64 {
        let from_m = from_m.clamp(0.0, self.length_m);
        let start_m = if from_m > 0.0 { self.point(from_m).z } else { 0.0 };
        let mut lowest_m = start_m.min(self.end_m.z);
        if let Some(lying) = self.lying.filter(|lying| lying.to_m >= from_m) {
            lowest_m = lowest_m.min(self.point(lying.to_m).z);
        }
        self.each_low(|s_m, point_m| {
            if s_m >= from_m {
                lowest_m = lowest_m.min(point_m.z);
            }
        });
        lowest_m - ground_z_m
    }

    /// Hands every place where the line turns from falling to rising to `take`: unstretched length from the drum, m, and point.
    fn each_low(&self, mut take: impl FnMut(f64, Vector3<f64>)) {
        let falls = |force_n: &Vector3<f64>| force_n.z < 0.0;
        // Most lines fall nowhere, which is seen at once.
        if !falls(&self.start_force_n[0]) && !self.force_n[..self.mesh.nodes_count()].iter().any(falls) {
            return;
        }
        self.each_change(
            |force_n, _| force_n.z,
            |(lo_m, lo), (hi_m, hi)| {
                if lo < 0.0 && hi > 0.0 {
                    let s_m = self.change(|s_m| self.force_n(s_m).z, (lo_m, lo), (hi_m, hi));
                    take(s_m, self.point(s_m));
                }
            },
        );
    }

    /// Smallest radius of curvature of the stretched line, m, and its distance from the drum, m of unstretched length:
    /// T (1 + T/EA) / |q − (q·t) t|. Very large where the line is straight.
    pub fn min_bend_radius(&self) -> (f64, f64) {
        let mut reader = Reader::new(self);
        let anywhere = |s_m: f64| {
            let (force_n, load_n_per_m) = reader.at(s_m);
            self.radius_m(&force_n, &load_n_per_m)
        };
        self.least(|_, node| self.radius_m(&node.force_n, &node.load_n_per_m), anywhere, 1e-4)
    }

    /// Radius of curvature at `s_m` of unstretched length from the drum, m.
    pub fn bend_radius_m(&self, s_m: f64) -> f64 {
        self.radius_m(&self.force_n(s_m), &self.load_n_per_m(s_m))
    }

    fn radius_m(&self, force_n: &Vector3<f64>, load_n_per_m: &Vector3<f64>) -> f64 {
        let pull = Pull::new(force_n, self.compliance_per_n);
        let across = (load_n_per_m - load_n_per_m.dot(&pull.tangent) * pull.tangent).norm();
        let radius_m = pull.tension_n * pull.stretch_ratio / across;
        if radius_m.is_finite() { radius_m } else { f64::MAX }
    }

    /// Largest distance of the line from the straight between its ends, m.
    pub fn sag_perp_m(&self) -> f64 {
        let chord = self.end_m / self.end_m.norm();
        let off_m = |s_m: f64| {
            let point_m = self.point(s_m);
            (point_m - point_m.dot(&chord) * chord).norm()
        };
        -self.least(|s_m, _| -off_m(s_m), |s_m| -off_m(s_m), 1e-5).0
    }

    /// Least value of a quantity and its place: the best of nodes and ends, then between its neighbours, to a part of the
    /// length.
    fn least(
        &self,
        at_node: impl Fn(f64, &Loaded) -> f64,
        mut anywhere: impl FnMut(f64) -> f64,
        place_ratio: f64,
    ) -> (f64, f64) {
        let nowhere = (0.0, f64::INFINITY);
        let (mut before, mut lo, mut best, mut hi) = (nowhere, nowhere, nowhere, nowhere);
        let mut open = false;
        self.each(|s_m, loaded| {
            let here = (s_m, at_node(s_m, loaded));
            if open {
                (hi, open) = (here, false);
            }
            if here.1 < best.1 {
                (lo, best, hi, open) = (before, here, here, true);
            }
            before = here;
        });
        let near_m = place_ratio * self.length_m;
        let inward_m = match best.0 {
            s_m if s_m <= 0.0 => Some(near_m),
            s_m if s_m >= self.length_m => Some(self.length_m - near_m),
            _ => None,
        };
        let refined = match inward_m {
            // Where the quantity rises from an end of the line, the end has the least.
            Some(s_m) if anywhere(s_m) > best.1 => return (best.1, best.0),
            Some(_) => brent(anywhere, lo.0, hi.0, near_m),
            None => brent_from(anywhere, [lo, best, hi], near_m),
        };
        if refined.f < best.1 { (refined.f, refined.x) } else { (best.1, best.0) }
    }

    /// Hands every end and node, from drum to vehicle, to `take`.
    fn each(&self, mut take: impl FnMut(f64, &Loaded)) {
        let [first_n_per_m, last_n_per_m] = self.end_loads_n_per_m();
        take(0.0, &Loaded { force_n: self.start_force_n[0], load_n_per_m: first_n_per_m });
        for element in self.mesh.elements() {
            for (i, node) in element.nodes().enumerate() {
                let here = Loaded { force_n: self.force_n[node], load_n_per_m: self.load_n_per_m[node] };
                take(element.place_ratio(i) * self.length_m, &here);
            }
        }
        take(self.length_m, &Loaded { force_n: self.top_force_n, load_n_per_m: last_n_per_m });
    }

    /// Hands every interval between neighbouring nodes or ends to `take`, with the quantity at both of its ends.
    fn each_change(
        &self,
        quantity: impl Fn(&Vector3<f64>, &Vector3<f64>) -> f64,
        mut take: impl FnMut((f64, f64), (f64, f64)),
    ) {
        let mut before: Option<(f64, f64)> = None;
        self.each(|s_m, loaded| {
            let here = (s_m, quantity(&loaded.force_n, &loaded.load_n_per_m));
            if let Some(before) = before {
                take(before, here);
            }
            before = Some(here);
        });
    }

    /// Place where a quantity changes its sign between two places.
    fn change(&self, quantity: impl FnMut(f64) -> f64, lo: (f64, f64), hi: (f64, f64)) -> f64 {
        let tolerance =
            Tolerance { x_abs: PLACE_RATIO * self.length_m, x_rel: 0.0, max_evaluations_count: 40 };
        bracketed_from(quantity, lo, hi, tolerance).map_or(0.5 * (lo.0 + hi.0), |root| root.x)
    }
}
