//! A shape from a line nearby is the one that is found without.

#![allow(clippy::unwrap_used, reason = "a test stops where something is wrong")]

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_tether::{
    Ascending, Line, Near, NormalDrag, Options, TensionSolution, ascend, solve_for_drum_tension,
    solve_for_drum_tension_near, solve_for_length, solve_for_length_near,
};
use nalgebra::Vector3;
use proptest::prelude::*;

fn wind(speed_m_s: f64) -> AirFlow {
    let shape = ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent: 0.2 };
    AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), Profile::new(shape).unwrap()).unwrap()
}

fn line() -> Line {
    Line {
        mass_kg_per_m: 0.0034,
        diameter_m: 0.002,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: Some(92_000.0),
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.01,
    }
}

proptest! {
    #[test]
    fn prop_a_line_nearby_leads_to_the_same_shape(
        speed_m_s in 0.0..14.0f64, height_m in 15.0..150.0f64, log_tension in -2.0..0.0f64,
        elevation_deg in 10.0..170.0f64, off in -1e-3..1e-3f64,
    ) {
        let (flow, line, options) = (wind(speed_m_s), line(), Options::default());
        let (sin, cos) = elevation_deg.to_radians().sin_cos();
        let drum_n = 10_f64.powf(log_tension) * Vector3::new(cos, 0.0, sin);
        let asked = Ascending { longest_m: 3.0 * height_m, counted_from_m: 2.0, deepest_m: -50.0 };
        let ascent = ascend(&line, &flow, drum_n, height_m, &asked).unwrap();
        prop_assume!(ascent.is_some());
        let ascent = ascent.unwrap();
        let (end_m, length_m) = (ascent.end_m, ascent.paid_out_m * (1.0 + 1e-2 * off));
        let near = Near { drum_force_n: (1.0 + off) * drum_n, paid_out_m: ascent.paid_out_m };
        let met = solve_for_length_near(&line, &flow, end_m, length_m, &near, &options).unwrap();
        prop_assume!(met.is_some());
        let met = met.unwrap();
        let wanted = solve_for_length(&line, &flow, end_m, length_m, &options, None);
        prop_assume!(wanted.is_ok());
        let wanted = wanted.unwrap();
        let largest_n = wanted.max_tension().0;
        // Both are solved to 10⁻⁶ of the smaller end force.
        let off_n = (met.force_on_vehicle_n() - wanted.force_on_vehicle_n()).norm();
        prop_assert!(off_n < 4e-6 * largest_n, "{off_n} of {largest_n}");

        // The same by its tension.
        let tension_n = met.drum_tension_n();
        let by_tension =
            solve_for_drum_tension_near(&line, &flow, end_m, tension_n, &near, &options).unwrap();
        if let Some(by_tension) = by_tension {
            let off_n = (by_tension.force_on_vehicle_n() - met.force_on_vehicle_n()).norm();
            prop_assert!(off_n < 1e-4 * largest_n, "{off_n} of {largest_n}");
            // Next to the least tension the search from nothing may not end.
            if let Ok(TensionSolution::Hangs { shape, .. }) =
                solve_for_drum_tension(&line, &flow, end_m, tension_n, &options, None)
            {
                prop_assert!((by_tension.paid_out_m() - shape.paid_out_m()).abs() < 1e-4 * length_m);
            }
        }
    }
}

#[test]
fn what_leads_nowhere_is_none() {
    let (flow, line, options) = (wind(5.0), line(), Options::default());
    let end_m = Vector3::new(0.0, 0.0, 80.0);
    for drum_force_n in [Vector3::zeros(), Vector3::new(f64::NAN, 0.0, 1.0)] {
        let near = Near { drum_force_n, paid_out_m: 82.0 };
        assert!(solve_for_length_near(&line, &flow, end_m, 82.0, &near, &options).unwrap().is_none());
        assert!(solve_for_drum_tension_near(&line, &flow, end_m, 3.0, &near, &options).unwrap().is_none());
    }
    let near = Near { drum_force_n: Vector3::new(0.0, 0.0, 1.0), paid_out_m: 82.0 };
    assert!(solve_for_length_near(&line, &flow, end_m, f64::NAN, &near, &options).is_err());
    assert!(solve_for_drum_tension_near(&line, &flow, end_m, -1.0, &near, &options).is_err());
}
