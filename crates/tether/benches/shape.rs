//! How long one shape takes in a sheared, veering wind, cold and from a neighbouring solution.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench of a case that does not solve must stop")]

use std::hint::black_box;

use beamstay_environment::{AirFlow, Atmosphere, Profile, ProfileShape};
use beamstay_tether::{Line, NormalDrag, Options, TensionSolution, solve_for_drum_tension, solve_for_length};
use criterion::{Criterion, criterion_group, criterion_main};
use nalgebra::Vector3;

fn shape(c: &mut Criterion) {
    let law = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.143 };
    let profile = Profile { veer_deg_per_m: 0.05, floor_height_m: 2.0, ..Profile::new(law).unwrap() };
    let wind = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap();
    let line = Line {
        mass_kg_per_m: 0.006,
        diameter_m: 0.002,
        buoyancy_area_m2: 0.0,
        axial_stiffness_n: Some(9e4),
        normal_drag: NormalDrag::constant(1.1).unwrap(),
        tangential_coefficient: 0.02,
    };
    let options = Options::default();
    let here = Vector3::new(40.0, 25.0, 150.0);
    let beside = Vector3::new(40.5, 25.0, 150.0);
    let neighbour = solve_for_length(&line, &wind, beside, 165.0, &options, None).unwrap();
    c.bench_function("shape/length/cold", |b| {
        b.iter(|| solve_for_length(&line, &wind, black_box(here), 165.0, &options, None));
    });
    c.bench_function("shape/length/warm", |b| {
        b.iter(|| solve_for_length(&line, &wind, black_box(here), 165.0, &options, Some(&neighbour)));
    });
    let tension_n = neighbour.drum_tension_n();
    let TensionSolution::Hangs { shape: held, .. } =
        solve_for_drum_tension(&line, &wind, beside, tension_n, &options, None).unwrap()
    else {
        return;
    };
    c.bench_function("shape/tension/cold", |b| {
        b.iter(|| solve_for_drum_tension(&line, &wind, black_box(here), tension_n, &options, None));
    });
    c.bench_function("shape/tension/warm", |b| {
        b.iter(|| solve_for_drum_tension(&line, &wind, black_box(here), tension_n, &options, Some(&held)));
    });
}

criterion_group!(benches, shape);
criterion_main!(benches);
