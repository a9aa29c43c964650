//! Whether a shape is as exact as was asked for: random lines in sheared, veering wind against the same lines solved much more closely.

#![allow(missing_docs, clippy::unwrap_used, reason = "a test fails by panicking")]

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_numerics::random::Random;
use beamstay_tether::{Line, NormalDrag, Options, Shape, solve_for_length};
use nalgebra::Vector3;

struct Case {
    wind: AirFlow,
    line: Line,
    end_m: Vector3<f64>,
    length_m: f64,
}

impl Case {
    fn random(random: &mut Random) -> Self {
        let speed_m_s = random.between(0.0, 25.0);
        let law = if random.chance(0.5) {
            let exponent = random.between(0.1, 0.3);
            ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent }
        } else {
            ProfileShape::Logarithmic { speed_m_s, reference_height_m: 10.0, roughness_m: 0.03 }
        };
        let profile = Profile {
            veer_deg_per_m: random.between(-0.15, 0.15),
            floor_height_m: random.between(0.5, 3.5),
            ..Profile::new(law).unwrap()
        };
        let height_m = random.between(20.0, 300.0);
        let (x, y) = (random.between(-1.0, 1.0), random.between(-0.5, 0.5));
        let end_m = Vector3::new(height_m * x, height_m * y, height_m);
        Self {
            wind: AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap(),
            line: Line {
                mass_kg_per_m: random.between(0.003, 0.023),
                diameter_m: random.between(0.001, 0.005),
                buoyancy_area_m2: 0.0,
                axial_stiffness_n: Some(9e4),
                normal_drag: NormalDrag::constant(1.1).unwrap(),
                tangential_coefficient: 0.02,
            },
            end_m,
            length_m: end_m.norm() * (1.0 + 0.3 * random.unit().powi(2)),
        }
    }

    fn solve(&self, end_m: Vector3<f64>, relative_tolerance: f64, warm: Option<&Shape>) -> Option<Shape> {
        let options = Options { relative_tolerance, ..Options::default() };
        solve_for_length(&self.line, &self.wind, end_m, self.length_m, &options, warm).ok()
    }
}

/// Larger difference of the two end forces, over the smaller of them or a thousandth of the larger.
fn off_ratio(shape: &Shape, truth: &Shape) -> f64 {
    let drum_n = (shape.force_at_drum_n() - truth.force_at_drum_n()).norm();
    let top_n = (shape.force_on_vehicle_n() - truth.force_on_vehicle_n()).norm();
    let (a_n, b_n) = (truth.drum_tension_n(), truth.top_tension_n());
    drum_n.max(top_n) / a_n.min(b_n).max(1e-3 * a_n.max(b_n))
}

/// An estimate is not a bound: seen were, of 3,000 lines at 1e-6, a median of a fiftieth of the tolerance, one cold and two warm
/// shapes beyond it, the worst by 2.4 times; slow sweeps on a slack line are what deceives it.
#[test]
fn shapes_are_as_exact_as_was_asked_for() {
    let mut random = Random::new(20);
    for tolerance in [1e-4, 1e-6, 1e-8] {
        let mut off = Vec::new();
        for _ in 0..250 {
            let case = Case::random(&mut random);
            let beside_m = case.end_m + 0.003 * case.end_m.z * Vector3::x();
            let Some(truth) = case.solve(case.end_m, 1e-10, None) else { continue };
            let neighbour = case.solve(beside_m, tolerance, None);
            for warm in [None, neighbour.as_ref()] {
                let shape = case.solve(case.end_m, tolerance, warm).unwrap();
                off.push(off_ratio(&shape, &truth) / tolerance);
            }
        }
        off.sort_by(f64::total_cmp);
        let at = |share: f64| off[((off.len() - 1) as f64 * share) as usize];
        assert!(off.len() > 480, "{} of 500 hang", off.len());
        assert!(at(0.5) < 0.1 && at(0.99) < 1.0, "{tolerance}: {} {}", at(0.5), at(0.99));
    }
}
