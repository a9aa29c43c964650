//! Prints free-hanging lines with our solutions and how long they take, as JSON for `tests/peers/tether_shape.py`: the cases of
//! `tests/data/tether-cases.json`, then as many random ones in sheared, veering winds as the first argument says (24), in the
//! form of that file.

use std::{env, error::Error, f64::consts::TAU, hint::black_box, process::ExitCode};

use beamstay_numerics::random::Random;
use beamstay_tests::{
    clock::quickest_s,
    models::tether::{Reference, reference_cases},
};
use nalgebra::Vector3;
use serde_json::{Value, json};

/// Asked of the solver, its default.
const TOLERANCE: f64 = 1e-6;
/// Least processor time of a measurement, s: some ticks of the clock.
const MEASURED_S: f64 = 0.02;
/// Measurements of which the quickest counts.
const ROUNDS_COUNT: u32 = 7;
/// Random lines if nothing is said.
const LINES_COUNT: u64 = 24;

fn main() -> ExitCode {
    match printed() {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn printed() -> Result<String, Box<dyn Error>> {
    let lines_count = env::args().nth(1).map_or(Ok(LINES_COUNT), |count| count.parse())?;
    let random = (1..=lines_count).map(random_case);
    let solved: Result<Vec<Value>, _> = reference_cases().iter().cloned().chain(random).map(solved).collect();
    Ok(serde_json::to_string_pretty(&solved?)?)
}

/// A case with what came of it under `ours`.
fn solved(mut case: Value) -> Result<Value, Box<dyn Error>> {
    let name = case["id"].to_string();
    let problem = Reference::new(&case).ok_or_else(|| format!("{name} cannot be read"))?;
    let shape = problem.solve(TOLERANCE).ok_or_else(|| format!("{name} is not solved"))?;
    let vector = |v: Vector3<f64>| json!([v.x, v.y, v.z]);
    case["ours"] = json!({
        "F_base_N": vector(shape.force_at_drum_n()),
        "F_top_N": vector(-shape.force_on_vehicle_n()),
        "L0_m": shape.paid_out_m(),
        "r_half_m": vector(shape.point(0.5 * shape.paid_out_m())),
        "time_us": quickest_us(&problem),
    });
    Ok(case)
}

/// Quickest of some measurements of a solution from nothing, µs.
fn quickest_us(problem: &Reference) -> f64 {
    let solve = || {
        black_box(black_box(problem).solve(TOLERANCE));
    };
    1e6 * quickest_s(ROUNDS_COUNT, MEASURED_S, solve)
}

/// A vehicle in the air on a light line, wind with shear and veer from any side.
fn random_case(seed: u64) -> Value {
    let mut random = Random::new(seed);
    let mut between = |lo: f64, hi: f64| random.between(lo, hi);
    let (up, level, azimuth) = (between(40.0, 400.0), between(0.0, 0.8), between(0.0, TAU));
    let end_m = Vector3::new(level * azimuth.cos(), level * azimuth.sin(), 1.0) * up;
    let stiffness_n = between(4e3, 1e5);
    json!({
        "id": format!("random-{seed:02}"),
        "problem": "ends",
        "inputs": {
            "P_m": [end_m.x, end_m.y, end_m.z],
            "L0_m": end_m.norm() * (1.0 + between(0.01, 0.12)),
            "m_kg_per_m": between(0.004, 0.02),
            "d_m": between(0.0012, 0.004),
            "EA_N": if seed.is_multiple_of(3) { Value::Null } else { json!(stiffness_n) },
            "rho_buoy_kg_m3": 0.0,
            "cn": if seed.is_multiple_of(2) {
                json!({"type": "const", "value": between(0.9, 1.3)})
            } else {
                json!({"type": "white", "mu": 1.79e-5})
            },
            "ct": between(0.0, 0.03),
            "flow": {
                "type": "power",
                "v_ref": between(3.0, 14.0),
                "z_ref": 10.0,
                "alpha": between(0.1, 0.3),
                "z_min": between(0.5, 3.0),
                "dir0_deg": between(-180.0, 180.0),
                "veer_deg_per_m": between(-0.15, 0.15),
            },
            "density": {"type": "isa", "station_alt_m": between(0.0, 1500.0)},
        },
    })
}
