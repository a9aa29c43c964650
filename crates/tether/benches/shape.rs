//! How long one shape takes in a sheared, veering wind, cold and from a neighbouring solution, and what its equations alone cost.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench of a case that does not solve must stop")]

use std::hint::black_box;

use beamstay_environment::{AirFlow, Atmosphere, Flow, Profile, ProfileShape};
use beamstay_numerics::constants::STANDARD_GRAVITY_M_S2;
use beamstay_tether::{
    Line, Node, NormalDrag, Options, Shape, TensionSolution, solve_for_drum_tension, solve_for_length,
};
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
        b.iter(|| {
            // A shape is large: to hand it to the bench would copy it.
            let shape = solve_for_length(&line, &wind, black_box(here), 165.0, &options, None);
            shape.map(|shape| shape.drum_tension_n())
        });
    });
    c.bench_function("shape/length/warm", |b| {
        b.iter(|| {
            let shape = solve_for_length(&line, &wind, black_box(here), 165.0, &options, Some(&neighbour));
            shape.map(|shape| shape.drum_tension_n())
        });
    });
    floor(c, &line, &wind, &solve_for_length(&line, &wind, here, 165.0, &options, None).unwrap());
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

/// What the equations alone cost: the flow, and the load from flow and force, as often as the solver asks for them on its way to
/// `shape`. No solver that makes as many evaluations can be faster.
fn floor(c: &mut Criterion, line: &Line, wind: &AirFlow, shape: &Shape) {
    let nodes: Vec<Node> = shape.nodes().collect();
    let count = shape.flow_evaluations_count() as usize;
    let name = |what: &str| format!("shape/floor/{what}, {count} evaluations");
    c.bench_function(&name("flow"), |b| {
        b.iter(|| {
            let asked = nodes.iter().cycle().take(count);
            asked.map(|node| wind.at(black_box(node.position_m.z)).velocity_m_s).sum::<Vector3<f64>>()
        });
    });
    c.bench_function(&name("flow and load"), |b| {
        b.iter(|| {
            let asked = nodes.iter().cycle().take(count);
            asked.map(|node| load_n_per_m(line, wind, black_box(node))).sum::<Vector3<f64>>()
        });
    });
}

/// The load of the model page on one metre.
fn load_n_per_m(line: &Line, wind: &AirFlow, node: &Node) -> Vector3<f64> {
    let sample = wind.at(node.position_m.z);
    let tension_n = node.force_n.norm();
    let tangent = node.force_n / tension_n;
    let along_m_s = sample.velocity_m_s.dot(&tangent);
    let across_m_s = sample.velocity_m_s - along_m_s * tangent;
    let (density, viscosity) = (sample.density_kg_m3, sample.dynamic_viscosity_pa_s);
    let factor = line.normal_drag.force_factor(across_m_s.norm(), density, line.diameter_m, viscosity);
    let friction = line.tangential_coefficient * along_m_s.abs() * along_m_s;
    let stretch_ratio = 1.0 + tension_n * line.axial_stiffness_n.map_or(0.0, f64::recip);
    let weight_n_per_m = (line.mass_kg_per_m - density * line.buoyancy_area_m2) * STANDARD_GRAVITY_M_S2;
    0.5 * density * line.diameter_m * stretch_ratio * (factor * across_m_s + friction * tangent)
        - weight_n_per_m * Vector3::z()
}

criterion_group!(benches, shape);
criterion_main!(benches);
