//! Drum tensions that hang only far out on a slack line, or not at all, in winds that carry most of its load.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_tether::{
    Line, NormalDrag, Options, TensionSolution, least_drum_tension, solve_for_drum_tension, solve_for_length,
};
use nalgebra::Vector3;

fn wind(speed_m_s: f64) -> AirFlow {
    let shape = ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent: 0.14 };
    let profile = Profile { floor_height_m: 0.5, ..Profile::new(shape).unwrap() };
    AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap()
}

fn line() -> Line {
    Line {
        mass_kg_per_m: 0.0034,
        diameter_m: 0.002,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: Some(92_000.0),
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.02,
    }
}

/// Every shape hangs with the tension that was asked, on the side where paying out lets it fall. Where none does, no length
/// of a fine scan has less than the least that is told, and one near its length has hardly more.
#[test]
fn a_drum_tension_is_found_or_the_least_is_told() {
    let (line, options) = (line(), Options::default());
    let (mut hangs_count, mut none_count) = (0, 0);
    for speed_m_s in [10.0, 14.0, 18.0, 22.0, 28.0] {
        let flow = wind(speed_m_s);
        for vehicle_m in [Vector3::new(15.0, 0.0, 60.0), Vector3::new(-20.0, 5.0, 140.0)] {
            for drum_tension_n in [2.0, 6.0, 12.0, 24.0] {
                let at_length = |length_m: f64| {
                    solve_for_length(&line, &flow, vehicle_m, length_m, &options, None)
                        .unwrap()
                        .drum_tension_n()
                };
                match solve_for_drum_tension(&line, &flow, vehicle_m, drum_tension_n, &options, None).unwrap()
                {
                    TensionSolution::Hangs { shape, .. } => {
                        hangs_count += 1;
                        assert!((shape.drum_tension_n() / drum_tension_n - 1.0).abs() < 1e-6);
                        let again_n = at_length(shape.paid_out_m());
                        assert!((again_n / drum_tension_n - 1.0).abs() < 1e-5, "{again_n} {drum_tension_n}");
                        assert!(at_length(1.001 * shape.paid_out_m()) < again_n);
                    }
                    TensionSolution::NoneExists { least_drum_tension_n, at_length_m, .. } => {
                        none_count += 1;
                        assert!(least_drum_tension_n > drum_tension_n);
                        for step in 1..60 {
                            let length_m = vehicle_m.norm() * (1.0 + 0.001 * 1.15_f64.powi(step));
                            let here_n = at_length(length_m);
                            eprintln!(
                                "{speed_m_s} {vehicle_m:?} {drum_tension_n}: {here_n:.5} at {length_m:.3}; least {least_drum_tension_n:.5} at {at_length_m:.3}"
                            );
                        }
                        for factor in [0.99, 1.01] {
                            assert!(at_length(factor * at_length_m) < 1.01 * least_drum_tension_n);
                        }
                        let least = least_drum_tension(&line, &flow, vehicle_m, &options).unwrap();
                        assert!((least.shape.drum_tension_n() / least_drum_tension_n - 1.0).abs() < 1e-5);
                    }
                }
            }
        }
    }
    assert!(hangs_count > 10 && none_count > 5, "{hangs_count} {none_count}");
}
