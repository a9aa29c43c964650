//! The search against other seeds, against its guards and against common sense.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs,
    reason = "a test fails by panicking"
)]

use beamstay_planner::{
    Document, Loaded, System,
    limit::LimitCode,
    load,
    search::{Answer, question, search},
    study::{Input, Study, complete, standing},
};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");

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

/// Strong rotors and enough line in a fresh wind: the least demand is where the wind would drive the rotors.
#[test]
fn the_windmill_is_guarded_and_limits_bind() {
    let loaded = read(
        BREAKWATER,
        &[
            ("/site/wind/profile/power_law/speed_m_s", 14.0),
            ("/vehicle/multirotor/max_thrust_n", 80.0),
            ("/vehicle/multirotor/max_tilt_deg", 60.0),
            ("/delivery/fiber/total_length_m", 250.0),
            ("/ground/drum/flange_diameter_mm", 700.0),
        ],
    );
    let answer = ask(&loaded, "min:demand_w", &[OFFSET_SPAN, TENSION_SPAN], 1);
    let found = answer.point.as_ref().unwrap();
    let vehicle = found.vehicle.unwrap();
    assert!(answer.feasible && vehicle.axial_inflow_m_s >= 0.0 && vehicle.shaft_w > 0.0);
    assert!(!answer.interior, "{answer:?}");
    assert!(answer.binding.iter().any(|b| b.limit == Some(LimitCode::AxialInflow)), "{:?}", answer.binding);
    // Beyond the guard, and beyond it alone, less would do.
    let pointers = [OFFSET_SPAN, TENSION_SPAN].map(|span| span.split('=').next().unwrap());
    let inputs = pointers.map(|pointer| Input::find(&complete(&loaded.scenario), pointer).unwrap());
    let study = Study::new(&loaded.scenario, inputs.to_vec()).unwrap();
    let beyond = study.worker().evaluate(&[answer.free[0].value, 1.02 * answer.free[1].value]).unwrap();
    let broken: Vec<LimitCode> = beyond.limits.iter().filter(|row| !row.ok).map(|row| row.code).collect();
    assert_eq!(broken, [LimitCode::AxialInflow]);
    assert!(beyond.demand_w.unwrap() < found.demand_w.unwrap() - 0.1);
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
fn the_end_of_a_drum_tension_binds_and_is_worth_what_the_goal_gains_beyond_it() {
    let loaded = read(BREAKWATER, &[]);
    let best = |least_n: f64| {
        let tension = format!("/station/winch/drum_tension/drum_tension_n={least_n}..40");
        ask(&loaded, "max:margin_w", &["/station/downwind_m=-60..60", &tension], 1)
    };
    let (answer, freer) = (best(1.0), best(0.99));
    assert!(!answer.interior);
    let found =
        answer.binding.iter().find(|b| b.bound.as_ref().is_some_and(|b| b.pointer == TENSION)).unwrap();
    let bound = found.bound.as_ref().unwrap();
    assert!(!bound.upper && bound.value == 1.0, "{bound:?}");
    let (told_w, gain_w) = (found.gain_per_percent.unwrap(), freer.value.unwrap() - answer.value.unwrap());
    // Each search ends within a millionth of some 200 W.
    assert!(gain_w > 0.0 && (told_w - gain_w).abs() < 4e-4, "{told_w} {gain_w}");
}

#[test]
fn a_limit_is_worth_what_the_goal_gains_where_it_gives_way_by_a_percent() {
    let stated = read(BREAKWATER, &[("/site/wind/profile/power_law/speed_m_s", 14.0)]);
    let mut looser = stated.clone();
    looser.scenario.limits.thrust_reserve_ratio *= 0.99;
    let free = [OFFSET_SPAN, TENSION_SPAN];
    let [answer, freer] = [&stated, &looser].map(|loaded| ask(loaded, "min:demand_w", &free, 1));
    let found = answer.binding.iter().find(|b| b.limit == Some(LimitCode::ThrustReserve)).unwrap();
    let gain_w = answer.value.unwrap() - freer.value.unwrap();
    // Each search ends within a millionth of some 600 W.
    let told_w = found.gain_per_percent.unwrap();
    assert!(gain_w > 1.0 && (told_w / gain_w - 1.0).abs() < 2e-3, "{told_w} {gain_w}");
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
    let codes = [LimitCode::ThrustReserve, LimitCode::BreakingLoad, LimitCode::GlassStressInGust];
    let mut margins = |factor: f64| {
        let point = worker.evaluate(&[factor]).unwrap();
        codes.map(|code| point.limits.iter().find(|row| row.code == code).unwrap().margin)
    };
    let first = margins(1.0);
    let mut last = first;
    for step in 1..12 {
        let now = margins(1.0 + 0.1 * f64::from(step));
        assert!(now.iter().zip(&last).all(|(n, l)| *n <= l + 1e-9), "{now:?} after {last:?}");
        last = now;
    }
    assert!(last.iter().zip(&first).all(|(l, f)| l < f), "{last:?} {first:?}");
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
    assert!(available.windows(2).any(|w| w[1] > w[0] + 1.0), "{available:?}");
    assert!(available.windows(2).any(|w| w[1] < w[0] - 1.0), "{available:?}");
}

#[test]
fn where_nothing_closes_the_least_infeasible_point_is_told() {
    let loaded = read(BREAKWATER, &[("/ground/laser/rated_w", 100.0)]);
    let answer = ask(&loaded, "max:margin_w", &[OFFSET_SPAN, TENSION_SPAN], 1);
    assert!(!answer.feasible && answer.tightest.is_some() && answer.margin_ratio < 0.0);
    assert_eq!(answer.free[1].pointer, TENSION);
    assert!(answer.free.iter().all(|f| f.pointer != HEIGHT));
    // No place of a grid is less infeasible.
    let inputs = answer.free.iter().map(|f| Input::find(&complete(&loaded.scenario), &f.pointer).unwrap());
    let study = Study::new(&loaded.scenario, inputs.collect()).unwrap();
    let mut worker = study.worker();
    let ends = [(-150.0, 150.0), (1.0, 60.0)];
    let best = (0..400)
        .map(|place| [place % 20, place / 20].map(|step| f64::from(step) / 19.0))
        .map(|share| [0, 1].map(|axis| ends[axis].0 + share[axis] * (ends[axis].1 - ends[axis].0)))
        .map(|values| standing(&worker.evaluate(&values)).level)
        .fold(f64::NEG_INFINITY, f64::max);
    assert!(best > -1.0 && answer.margin_ratio >= best, "{best} {}", answer.margin_ratio);
}
