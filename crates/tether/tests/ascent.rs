//! A line that is followed from the drum is the one that hangs between the same ends with the same length.

#![allow(clippy::unwrap_used, reason = "a test stops where something is wrong")]

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_tether::{Ascending, Line, NormalDrag, Options, ascend, ascend_past, solve_for_length};
use nalgebra::Vector3;
use proptest::prelude::*;

fn wind(speed_m_s: f64, veer_deg_per_m: f64) -> AirFlow {
    let shape = ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent: 0.2 };
    let profile = Profile { veer_deg_per_m, exit_height_m: 1.5, ..Profile::new(shape).unwrap() };
    AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap()
}

fn line(axial_stiffness_n: Option<f64>) -> Line {
    Line {
        mass_kg_per_m: 0.0034,
        diameter_m: 0.002,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n,
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.01,
    }
}

proptest! {
    #[test]
    fn prop_an_ascent_hangs(
        speed_m_s in 0.0..14.0f64, veer in prop_oneof![Just(0.0), -0.1..0.1f64], height_m in 15.0..150.0f64,
        log_tension in -2.5..2.0f64, elevation_deg in 5.0..175.0f64, stretches in any::<bool>(),
    ) {
        let (flow, line) = (wind(speed_m_s, veer), line(stretches.then_some(92_000.0)));
        let (sin, cos) = elevation_deg.to_radians().sin_cos();
        let drum_n = 10_f64.powf(log_tension) * Vector3::new(cos, 0.0, sin);
        let asked = Ascending { longest_m: 6.0 * height_m, counted_from_m: 2.0, deepest_m: -50.0 };
        let ascent = ascend(&line, &flow, drum_n, height_m, &asked).unwrap();
        // Lines that the wind holds down do not climb; were there many, the test would end for want of cases.
        prop_assume!(ascent.is_some());
        let ascent = ascent.unwrap();
        prop_assert!((ascent.end_m.z - height_m).abs() < 1e-7 * height_m);
        let shape = solve_for_length(&line, &flow, ascent.end_m, ascent.paid_out_m, &Options::default(), None);
        prop_assume!(shape.is_ok());
        let shape = shape.unwrap();
        // What hangs there is followed back to where it hangs.
        let again = ascend(&line, &flow, shape.force_at_drum_n(), height_m, &asked).unwrap();
        prop_assume!(again.is_some());
        let again = again.unwrap();
        // Fourth order with steps of 0.2 rad: worst where a line leaves the drum level and turns round in a strong wind; the largest
        // tension and the lowest place are those of its steps, and less exact.
        let far_m = ascent.paid_out_m;
        prop_assert!((again.end_m - ascent.end_m).norm() < 4e-4 * far_m, "{again:?} {ascent:?}");
        prop_assert!((again.paid_out_m - ascent.paid_out_m).abs() < 4e-4 * far_m, "{again:?} {ascent:?}");
        let largest_n = shape.max_tension().0;
        prop_assert!((shape.force_on_vehicle_n() + again.top_force_n).norm() < 4e-4 * largest_n, "{again:?}");
        prop_assert!((largest_n - again.max_tension_n).abs() < 1e-3 * largest_n, "{again:?}");
        prop_assert!((shape.clearance_m(0.0, 2.0) - again.lowest_m).abs() < 2e-3 * far_m, "{again:?}");
    }
}

proptest! {
    #[test]
    fn prop_many_heights_are_passed_as_each_alone(
        speed_m_s in 0.0..7.0f64, heights in proptest::collection::vec(0.3..60.0f64, 2..6),
        log_tension in -0.5..2.0f64, elevation_deg in 5.0..175.0f64,
    ) {
        let (flow, line) = (wind(speed_m_s, 0.0), line(Some(92_000.0)));
        let (sin, cos) = elevation_deg.to_radians().sin_cos();
        let drum_n = 10_f64.powf(log_tension) * Vector3::new(cos, 0.0, sin);
        let heights_m: Vec<f64> =
            heights.iter().scan(5.0, |at, rise| { *at += rise; Some(*at) }).collect();
        let asked = Ascending { longest_m: 900.0, counted_from_m: 2.0, deepest_m: -50.0 };
        let past = ascend_past(&line, &flow, drum_n, &heights_m, &asked).unwrap();
        prop_assume!(!past.is_empty());
        for (ascent, height_m) in past.iter().zip(&heights_m) {
            // Steps are laid for the lowest height; both are good to some 10⁻⁴, but for limp lines in a wind that rules them, for which
            // that is worse.
            let alone = ascend(&line, &flow, drum_n, *height_m, &asked).unwrap().unwrap();
            let far_m = alone.paid_out_m;
            prop_assert!((ascent.end_m - alone.end_m).norm() < 4e-4 * far_m, "{ascent:?} {alone:?}");
            prop_assert!((ascent.paid_out_m - alone.paid_out_m).abs() < 4e-4 * far_m, "{ascent:?} {alone:?}");
            let off_n = (ascent.top_force_n - alone.top_force_n).norm();
            prop_assert!(off_n < 4e-4 * alone.max_tension_n, "{ascent:?} {alone:?}");
        }
    }
}

#[test]
fn heights_that_do_not_rise_are_refused() {
    let asked = Ascending { longest_m: 900.0, counted_from_m: 2.0, deepest_m: -50.0 };
    let drum_n = Vector3::new(0.0, 0.0, 5.0);
    assert!(ascend_past(&line(None), &wind(3.0, 0.0), drum_n, &[20.0, 20.0], &asked).is_err());
    assert!(ascend_past(&line(None), &wind(3.0, 0.0), drum_n, &[], &asked).unwrap().is_empty());
}
