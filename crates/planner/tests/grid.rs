//! The search against dense grids, on every shipped scenario with two and with three free inputs.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test fails by panicking"
)]

use beamstay_planner::{
    Document, Loaded, load,
    search::{Question, question, search},
    study::{Input, Quantity, Study},
};
use rayon::prelude::*;

const BEAM: &str = include_str!("../../../scenarios/beam-hover.json");
const RECHARGE: &str = include_str!("../../../scenarios/beam-recharge.json");
const BENCH: &str = include_str!("../../../scenarios/bench-hover.json");
const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");
const YEAR: &str = include_str!("../../../scenarios/breakwater-year.json");
const LOITER: &str = include_str!("../../../scenarios/free-beam-loiter.json");
const COPPER: &str = include_str!("../../../scenarios/harvest-market.json");
const QUARRY: &str = include_str!("../../../scenarios/quarry-watch.json");
const WATER: &str = include_str!("../../../scenarios/reservoir-inspector.json");
const RIDGE: &str = include_str!("../../../scenarios/ridge-relay.json");
const SENSOR: &str = include_str!("../../../scenarios/switchyard-sensor.json");

/// A search: a name, a scenario, a goal and what is free.
struct Case(&'static str, &'static str, &'static str, &'static [&'static str]);

const OFFSET: &str = "/station/downwind_m=-60..60";
const TENSION: &str = "/station/winch/drum_tension/drum_tension_n=1..40";

const CASES: [Case; 22] = [
    Case("breakwater, 2", BREAKWATER, "max:margin_w", &[OFFSET, TENSION]),
    Case("breakwater, 3", BREAKWATER, "max:/payload/mass_kg", &["/payload/mass_kg=0..4", OFFSET, TENSION]),
    Case(
        "year, 2",
        YEAR,
        "min:/delivery/fiber/total_length_m",
        &["/delivery/fiber/total_length_m=100..400", TENSION],
    ),
    Case("year, 3", YEAR, "max:/station/height_m", &["/station/height_m=20..200", OFFSET, TENSION]),
    Case("quarry, 2", QUARRY, "max:margin_w", &[OFFSET, TENSION]),
    Case("quarry, 3", QUARRY, "max:/payload/mass_kg", &["/payload/mass_kg=0..4", OFFSET, TENSION]),
    Case("ridge, 2", RIDGE, "max:margin_w", &[OFFSET, TENSION]),
    Case("ridge, 3", RIDGE, "max:/station/height_m", &["/station/height_m=40..215", OFFSET, TENSION]),
    Case(
        "beam, 2",
        BEAM,
        "max:/station/height_m",
        &["/station/height_m=10..3000", "/station/downwind_m=-40..40"],
    ),
    Case(
        "beam, 3",
        BEAM,
        "max:/payload/mass_kg",
        &["/payload/mass_kg=0..3", "/station/height_m=40..200", "/station/downwind_m=-40..40"],
    ),
    Case(
        "recharge, 2",
        RECHARGE,
        "max:/station/height_m",
        &["/station/height_m=10..3000", "/delivery/free_beam/beam_radius_mm=10..95"],
    ),
    Case(
        "recharge, 3",
        RECHARGE,
        "min:/ground/laser/rated_w",
        &[
            "/ground/laser/rated_w=200..3000",
            "/delivery/free_beam/beam_radius_mm=10..95",
            "/station/downwind_m=-40..40",
        ],
    ),
    Case(
        "loiter, 2",
        LOITER,
        "max:/payload/mass_kg",
        &["/payload/mass_kg=0..30", "/station/height_m=300..900"],
    ),
    Case(
        "loiter, 3",
        LOITER,
        "min:wall_w",
        &[
            "/station/height_m=300..900",
            "/vehicle/fixed_wing/loiter_radius_m=60..400",
            "/payload/mass_kg=0.4..2",
        ],
    ),
    Case(
        "copper, 2",
        COPPER,
        "max:margin_w",
        &["/station/downwind_m=-15..15", "/station/winch/drum_tension/drum_tension_n=0.5..30"],
    ),
    Case(
        "copper, 3",
        COPPER,
        "max:/payload/mass_kg",
        &[
            "/payload/mass_kg=0..6",
            "/station/downwind_m=-15..15",
            "/station/winch/drum_tension/drum_tension_n=0.5..30",
        ],
    ),
    Case(
        "water, 2",
        WATER,
        "max:margin_w",
        &["/station/downwind_m=-20..30", "/station/winch/paid_out/paid_out_m=36..60"],
    ),
    Case(
        "water, 3",
        WATER,
        "min:demand_w",
        &[
            "/station/height_m=-39..-20",
            "/station/downwind_m=-20..30",
            "/station/winch/paid_out/paid_out_m=21..60",
        ],
    ),
    Case(
        "sensor, 2",
        SENSOR,
        "min:/ground/laser/rated_w",
        &["/ground/laser/rated_w=0.2..40", "/vehicle/fixed_load/power_w=0.1..1"],
    ),
    Case(
        "sensor, 3",
        SENSOR,
        "max:/vehicle/fixed_load/power_w",
        &[
            "/vehicle/fixed_load/power_w=0.1..20",
            "/ground/laser/rated_w=0.2..40",
            "/ground/laser/coolant_temperature_c=10..40",
        ],
    ),
    Case(
        "bench, 2",
        BENCH,
        "max:/station/height_m",
        &["/station/height_m=1..150", "/station/winch/drum_tension/drum_tension_n=0.05..3"],
    ),
    Case(
        "bench, 3",
        BENCH,
        "max:margin_w",
        &[
            "/station/height_m=1..6",
            "/station/downwind_m=-2..2",
            "/station/winch/drum_tension/drum_tension_n=0.05..3",
        ],
    ),
];

/// 1 where the goal is to be large, -1 where it is to be small.
fn sign(goal: &str) -> f64 {
    if goal.starts_with("max") { 1.0 } else { -1.0 }
}

/// Values of all inputs but the last at a place of the grid, the last of them changing first.
fn values_at(axes: &[Vec<f64>], mut place: usize) -> Vec<f64> {
    let mut values: Vec<f64> = axes
        .iter()
        .rev()
        .map(|axis| {
            let value = axis[place % axis.len()];
            place /= axis.len();
            value
        })
        .collect();
    values.reverse();
    values
}

/// The best goal along the last input, the others held, where all limits hold.
fn best_along(study: &Study, question: &Question, held: &[f64], last: &[f64]) -> Option<f64> {
    let mut worker = study.worker();
    let goals = last.iter().filter_map(|value| {
        let values = [held, &[*value]].concat();
        let point = worker.evaluate(&values).ok().filter(|point| point.feasible)?;
        match &question.goal.quantity {
            Quantity::Output(output) => output.of(&point),
            Quantity::Input(input) => {
                let place = question.free.iter().position(|span| span.input.pointer == input.pointer);
                place.map(|index| values[index])
            }
        }
    });
    let sign = sign(&question.goal.text());
    goals.max_by(|a, b| (sign * a).total_cmp(&(sign * b)))
}

/// Best goal over a grid of `count` values for each free input; none if nothing is feasible.
fn best_of_grid(loaded: &Loaded, question: &Question, count: usize) -> Option<f64> {
    let inputs: Vec<Input> = question.free.iter().map(|span| span.input.clone()).collect();
    let study = Study::new(&loaded.scenario, inputs).unwrap();
    let mut axes: Vec<Vec<f64>> = question.free.iter().map(|span| span.values(count)).collect();
    let last = axes.pop().unwrap();
    let lines_count: usize = axes.iter().map(Vec::len).product();
    let bests: Vec<Option<f64>> = (0..lines_count)
        .into_par_iter()
        .map(|place| best_along(&study, question, &values_at(&axes, place), &last))
        .collect();
    let sign = sign(&question.goal.text());
    bests.into_iter().flatten().max_by(|a, b| (sign * a).total_cmp(&(sign * b)))
}

fn holds_against_grid(case: &Case, points_count: usize) {
    let Case(name, text, goal, free) = case;
    let loaded = load(&Document::parse(text).unwrap()).unwrap();
    let free: Vec<String> = free.iter().map(|f| (*f).to_owned()).collect();
    let question = question(&loaded, goal, &free, 1).unwrap();
    let count = (points_count as f64).powf(1.0 / free.len() as f64).ceil() as usize;
    let answer = search(&loaded, &question).unwrap();
    let found = answer.value.filter(|_| answer.feasible);
    let best = best_of_grid(&loaded, &question, count);
    let dimensions_count = free.len();
    println!(
        "{name}: grid of {count}^{dimensions_count} {best:?}, search {found:?} in {}",
        answer.evaluations_count
    );
    let Some(best) = best else { return };
    let found = found.unwrap_or_else(|| panic!("{name}: the grid has {best}, the search nothing"));
    assert!(answer.point.as_ref().is_some_and(|point| point.feasible), "{name}");
    assert!(sign(goal) * (found - best) >= -1e-3 * best.abs(), "{name}: grid {best}, search {found}");
}

/// Points of each grid from `BEAMSTAY_GRID`, and of the cases those whose names begin with `BEAMSTAY_CASE`:
/// `BEAMSTAY_GRID=200000 cargo test --release -p beamstay-planner --test grid -- --nocapture`.
#[test]
fn val_no_grid_beats_the_search() {
    let points_count = std::env::var("BEAMSTAY_GRID").map_or(200, |count| count.parse().unwrap());
    let wanted = std::env::var("BEAMSTAY_CASE").unwrap_or_default();
    let mut run_count = 0;
    for case in CASES.iter().filter(|case| case.0.starts_with(&wanted)) {
        holds_against_grid(case, points_count);
        run_count += 1;
    }
    assert!(run_count > 0, "no case begins with {wanted}");
}
