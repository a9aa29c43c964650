//! The search against dense grids, against a purely local search, and against common sense.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test fails by panicking"
)]

use beamstay_planner::{
    Document, Loaded, System, load,
    search::{Answer, Question, question, search},
    study::{Input, Quantity, Span, Study, complete},
};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");
const RIDGE: &str = include_str!("../../../scenarios/ridge-relay.json");
const BEAM: &str = include_str!("../../../scenarios/beam-hover.json");
const LOITER: &str = include_str!("../../../scenarios/free-beam-loiter.json");
const COPPER: &str = include_str!("../../../scenarios/harvest-market.json");
const WATER: &str = include_str!("../../../scenarios/reservoir-inspector.json");
const SENSOR: &str = include_str!("../../../scenarios/switchyard-sensor.json");
const BENCH: &str = include_str!("../../../scenarios/bench-hover.json");

const HEIGHT: &str = "/station/height_m";
const TENSION: &str = "/station/winch/drum_tension/drum_tension_n";

fn read(text: &str, changes: &[(&str, f64)]) -> Loaded {
    let mut document = Document::parse(text).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, serde_json::json!(value)).unwrap();
    }
    load(&document).unwrap()
}

fn ask(loaded: &Loaded, goal: &str, free: &[&str], seed: u64) -> Answer {
    let free: Vec<String> = free.iter().map(|f| (*f).to_owned()).collect();
    search(loaded, &question(loaded, goal, &free, seed).unwrap()).unwrap()
}

/// Best goal over a grid of `count` values for each free input; none if nothing is feasible.
fn grid(loaded: &Loaded, question: &Question, count: usize) -> Option<f64> {
    let inputs: Vec<Input> = question.free.iter().map(|span| span.input.clone()).collect();
    let study = Study::new(&loaded.scenario, inputs).unwrap();
    let mut worker = study.worker();
    let axes: Vec<Vec<f64>> = question.free.iter().map(|span: &Span| span.values(count)).collect();
    let sign = if question.goal.text().starts_with("max") { 1.0 } else { -1.0 };
    let mut best: Option<f64> = None;
    for index in 0..count.pow(axes.len() as u32) {
        let mut rest = index;
        let mut values = Vec::new();
        for axis in axes.iter().rev() {
            values.push(axis[(rest % count).min(axis.len() - 1)]);
            rest /= count;
        }
        values.reverse();
        let Ok(point) = worker.evaluate(&values) else { continue };
        if !point.feasible {
            continue;
        }
        let goal = match &question.goal.quantity {
            Quantity::Output(output) => output.of(&point),
            Quantity::Input(input) => {
                let place = question.free.iter().position(|s| s.input.pointer == input.pointer);
                place.map(|index| values[index])
            }
        };
        if let Some(goal) = goal.map(|g| sign * g) {
            best = Some(best.map_or(goal, |b: f64| b.max(goal)));
        }
    }
    best.map(|b| sign * b)
}

/// Cases: a name, a scenario, a goal and what is free.
fn cases() -> Vec<(&'static str, &'static str, &'static str, Vec<&'static str>)> {
    let tension = "/station/winch/drum_tension/drum_tension_n=1..40";
    let offset = "/station/downwind_m=-60..60";
    vec![
        ("breakwater, 2", BREAKWATER, "max:margin_w", vec![offset, tension]),
        ("breakwater, 3", BREAKWATER, "max:/payload/mass_kg", vec!["/payload/mass_kg=0..4", offset, tension]),
        ("ridge, 2", RIDGE, "max:margin_w", vec![offset, tension]),
        ("ridge, 3", RIDGE, "max:/station/height_m", vec!["/station/height_m=40..215", offset, tension]),
        (
            "beam, 2",
            BEAM,
            "max:/station/height_m",
            vec!["/station/height_m=10..400", "/station/downwind_m=-40..40"],
        ),
        (
            "beam, 3",
            BEAM,
            "max:/payload/mass_kg",
            vec!["/payload/mass_kg=0..3", "/station/height_m=40..200", "/station/downwind_m=-40..40"],
        ),
        (
            "loiter, 2",
            LOITER,
            "max:/payload/mass_kg",
            vec!["/payload/mass_kg=0..4", "/station/height_m=300..900"],
        ),
        (
            "loiter, 3",
            LOITER,
            "min:wall_w",
            vec![
                "/station/height_m=300..900",
                "/vehicle/fixed_wing/loiter_radius_m=60..400",
                "/payload/mass_kg=0.4..2",
            ],
        ),
        (
            "copper, 2",
            COPPER,
            "max:margin_w",
            vec!["/station/downwind_m=-15..15", "/station/winch/drum_tension/drum_tension_n=0.5..30"],
        ),
        (
            "copper, 3",
            COPPER,
            "max:/payload/mass_kg",
            vec![
                "/payload/mass_kg=0..6",
                "/station/downwind_m=-15..15",
                "/station/winch/drum_tension/drum_tension_n=0.5..30",
            ],
        ),
        (
            "water, 2",
            WATER,
            "max:margin_w",
            vec!["/station/downwind_m=-20..30", "/station/winch/paid_out/paid_out_m=36..60"],
        ),
        (
            "water, 3",
            WATER,
            "min:demand_w",
            vec![
                "/station/height_m=-39..-20",
                "/station/downwind_m=-20..30",
                "/station/winch/paid_out/paid_out_m=21..60",
            ],
        ),
        (
            "sensor, 2",
            SENSOR,
            "min:/ground/laser/rated_w",
            vec!["/ground/laser/rated_w=0.2..40", "/vehicle/fixed_load/power_w=0.1..1"],
        ),
        (
            "sensor, 3",
            SENSOR,
            "max:/vehicle/fixed_load/power_w",
            vec![
                "/vehicle/fixed_load/power_w=0.1..20",
                "/ground/laser/rated_w=0.2..40",
                "/ground/laser/coolant_temperature_c=10..40",
            ],
        ),
        (
            "bench, 2",
            BENCH,
            "max:/station/height_m",
            vec!["/station/height_m=1..6", "/station/winch/drum_tension/drum_tension_n=0.05..3"],
        ),
        (
            "bench, 3",
            BENCH,
            "max:margin_w",
            vec![
                "/station/height_m=1..6",
                "/station/downwind_m=-2..2",
                "/station/winch/drum_tension/drum_tension_n=0.05..3",
            ],
        ),
    ]
}

fn holds_against_grid(points: usize) {
    for (name, text, goal, free) in cases() {
        let loaded = read(text, &[]);
        let free: Vec<String> = free.iter().map(|f| (*f).to_owned()).collect();
        let question = question(&loaded, goal, &free, 1).unwrap();
        let count = (points as f64).powf(1.0 / free.len() as f64).ceil() as usize;
        let best = grid(&loaded, &question, count);
        let answer = search(&loaded, &question).unwrap();
        let found = answer.value.filter(|_| answer.feasible);
        println!(
            "{name}: grid of {count}^{} {best:?}, search {found:?} in {}",
            free.len(),
            answer.evaluations_count
        );
        let Some(best) = best else { continue };
        let found = found.unwrap_or_else(|| panic!("{name}: the grid has {best}, the search nothing"));
        assert!(answer.point.as_ref().is_some_and(|p| p.feasible), "{name}");
        let sign = if goal.starts_with("max") { 1.0 } else { -1.0 };
        assert!(sign * (found - best) >= -1e-3 * best.abs(), "{name}: grid {best}, search {found}");
    }
}

/// Points of each grid from `BEAMSTAY_GRID`: 200,000 take hours of processor time, so
/// `BEAMSTAY_GRID=200000 cargo test --release -p beamstay-planner --test search no_grid -- --nocapture`.
#[test]
fn val_no_grid_beats_the_search() {
    holds_against_grid(std::env::var("BEAMSTAY_GRID").ok().and_then(|n| n.parse().ok()).unwrap_or(200));
}

#[test]
fn ten_seeds_find_one_optimum() {
    let loaded = read(BREAKWATER, &[]);
    let free = [HEIGHT_SPAN, OFFSET_SPAN, TENSION_SPAN];
    let found: Vec<f64> =
        (0..10).map(|seed| ask(&loaded, "max:/station/height_m", &free, seed).value.unwrap()).collect();
    for value in &found {
        assert!((value / found[0] - 1.0).abs() < 1e-3, "{found:?}");
    }
}

const HEIGHT_SPAN: &str = "/station/height_m=1..150";
const OFFSET_SPAN: &str = "/station/downwind_m=-150..150";
const TENSION_SPAN: &str = "/station/winch/drum_tension/drum_tension_n=0..120";

#[test]
fn the_windmill_is_guarded_and_limits_bind() {
    let loaded = read(BREAKWATER, &[]);
    let answer = ask(&loaded, "min:demand_w", &[OFFSET_SPAN, TENSION_SPAN], 1);
    let point = answer.point.as_ref().unwrap();
    let vehicle = point.vehicle.unwrap();
    assert!(answer.feasible && vehicle.axial_inflow_m_s >= 0.0 && vehicle.shaft_w > 0.0);
    assert!(!answer.interior && !answer.binding.is_empty(), "{answer:?}");
}

#[test]
fn a_bound_is_worth_what_the_goal_gains_where_it_gives_way_by_a_percent() {
    let margin_w = |payload_kg: f64| {
        let scenario = read(BREAKWATER, &[("/payload/mass_kg", payload_kg)]).scenario;
        let system = System::new(&scenario).unwrap();
        system.operate(&system.place(&scenario.station).unwrap()).unwrap().margin_w.unwrap()
    };
    let answer = ask(&read(BREAKWATER, &[]), "max:margin_w", &["/payload/mass_kg=0.5..0.9"], 1);
    let found = answer.binding.iter().find(|binding| binding.bound.is_some()).unwrap();
    let bound = found.bound.as_ref().unwrap();
    assert!(!bound.upper && bound.value == 0.5, "{bound:?}");
    let gain_w = margin_w(0.495) - margin_w(0.5);
    assert!(
        gain_w > 0.3 && (found.gain_per_percent.unwrap() / gain_w - 1.0).abs() < 1e-3,
        "{found:?} {gain_w}"
    );
}

#[test]
fn prop_common_sense_of_the_greatest_height() {
    let best = |text: &str, changes: &[(&str, f64)]| {
        let answer =
            ask(&read(text, changes), "max:/station/height_m", &[HEIGHT_SPAN, OFFSET_SPAN, TENSION_SPAN], 1);
        answer.value.filter(|_| answer.feasible).unwrap_or(0.0)
    };
    let slack = 1e-3;
    let heights: Vec<f64> =
        [0.9, 2.0, 2.3].iter().map(|kg| best(BREAKWATER, &[("/payload/mass_kg", *kg)])).collect();
    assert!(heights.windows(2).all(|w| w[1] <= w[0] * (1.0 + slack)), "payload: {heights:?}");
    let laser: Vec<f64> =
        [1100.0, 1300.0, 1800.0].iter().map(|w| best(BREAKWATER, &[("/ground/laser/rated_w", *w)])).collect();
    assert!(laser.windows(2).all(|w| w[1] >= w[0] * (1.0 - slack)), "laser: {laser:?}");
}

#[test]
fn a_stronger_gust_loosens_no_limit_of_thrust_or_tension() {
    let loaded = read(BREAKWATER, &[]);
    let input = Input::find(&complete(&loaded.scenario), "/site/wind/gust/factor/ratio").unwrap();
    let study = Study::new(&loaded.scenario, vec![input]).unwrap();
    let mut worker = study.worker();
    let mut last = [f64::INFINITY; 2];
    for step in 0..12 {
        let point = worker.evaluate(&[1.0 + 0.1 * f64::from(step)]).unwrap();
        let margin = |name: &str| {
            point.limits.iter().find(|row| row.code.code() == name).map_or(f64::INFINITY, |row| row.margin)
        };
        let now = [margin("thrust_reserve"), margin("breaking_load")];
        assert!(now.iter().zip(&last).all(|(n, l)| *n <= l + 1e-9), "{now:?} after {last:?}");
        last = now;
    }
}

#[test]
fn more_light_on_a_hot_receiver_is_not_more_power() {
    let loaded = read(BREAKWATER, &[("/receiver/cells/max_temperature_c", 200.0)]);
    let input = Input::find(&complete(&loaded.scenario), "/ground/laser/rated_w").unwrap();
    let steady = {
        let mut scenario = loaded.scenario.clone();
        if let Some(laser) = &mut scenario.ground.laser {
            laser.control = beamstay_planner::scenario::LaserControl::Steady;
        }
        scenario
    };
    let study = Study::new(&steady, vec![input]).unwrap();
    let mut worker = study.worker();
    let available: Vec<f64> = (1..=20)
        .filter_map(|i| worker.evaluate(&[800.0 * f64::from(i)]).ok().and_then(|p| p.available_w))
        .collect();
    assert!(available.windows(2).any(|w| w[1] < w[0] - 1.0), "{available:?}");
}

#[test]
fn where_nothing_closes_the_least_infeasible_point_is_told() {
    let loaded = read(BREAKWATER, &[("/ground/laser/rated_w", 100.0)]);
    let answer = ask(&loaded, "max:margin_w", &[OFFSET_SPAN, TENSION_SPAN], 1);
    assert!(!answer.feasible && answer.tightest.is_some() && answer.margin_ratio < 0.0);
    assert_eq!(answer.free[1].pointer, TENSION);
    assert!(answer.free.iter().all(|f| f.pointer != HEIGHT));
}
