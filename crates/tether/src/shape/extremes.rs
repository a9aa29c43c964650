//! Where along a shape something is largest or smallest: sought between the solver's nodes, because it seldom lies on
//! one and often not at an end.

use beamstay_numerics::minimum::brent;
use nalgebra::Vector3;

use super::Shape;

impl Shape {
    /// Largest tension anywhere on the line, N, and its distance from the drum, m of unstretched length.
    pub fn max_tension(&self) -> (f64, f64) {
        let (s_m, negative_n) = self.least(|s_m| -self.tension_n(s_m));
        (-negative_n, s_m)
    }

    /// Smallest radius of curvature of the stretched line, m, and its distance from the drum, m of unstretched length:
    /// T (1 + T/EA) / |q − (q·t) t|. Very large where the line is straight.
    pub fn min_bend_radius(&self) -> (f64, f64) {
        let (s_m, radius_m) = self.least(|s_m| self.bend_radius_m(s_m));
        (radius_m, s_m)
    }

    /// Lowest point of the line, m from the drum exit.
    pub fn lowest_point(&self) -> Vector3<f64> {
        self.point(self.least(|s_m| self.point(s_m).z).0)
    }

    /// Radius of curvature at `s_m` of unstretched length from the drum, m.
    pub fn bend_radius_m(&self, s_m: f64) -> f64 {
        let force_n = self.force_n(s_m);
        let tension_n = force_n.norm().max(f64::MIN_POSITIVE);
        let tangent = force_n / tension_n;
        let load = self.load_n_per_m(s_m);
        let across = (load - load.dot(&tangent) * tangent).norm();
        let radius_m = tension_n * (1.0 + tension_n * self.compliance_per_n) / across;
        if radius_m.is_finite() { radius_m } else { f64::MAX }
    }

    /// Place and value where `value` is least: the best of nodes and ends, then between its neighbours.
    fn least(&self, value: impl Fn(f64) -> f64) -> (f64, f64) {
        let mut before = (0.0, value(0.0));
        let mut best = before;
        let (mut lo, mut hi) = (0.0, 0.0);
        let mut widen = true;
        for s_m in self.places_m().chain([self.length_m]) {
            let here = (s_m, value(s_m));
            if widen {
                hi = s_m;
                widen = false;
            }
            if here.1 < best.1 {
                best = here;
                lo = before.0;
                hi = s_m;
                widen = true;
            }
            before = here;
        }
        let refined = brent(&value, lo, hi, 1e-7 * self.length_m);
        if refined.f < best.1 { (refined.x, refined.f) } else { best }
    }

    fn places_m(&self) -> impl Iterator<Item = f64> + '_ {
        self.mesh
            .elements()
            .iter()
            .flat_map(move |element| (0..element.order).map(move |i| element.place_ratio(i) * self.length_m))
    }
}
