//! Common sense of plans under search: what can only help, what can only hurt, and what is neither; a search from all sides
//! against local ones; the same answer on any number of threads.

#![allow(clippy::unwrap_used, clippy::expect_used, missing_docs, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, Loaded, System, load,
    optimise::{Finish, Problem, finish},
    region::{RegionQuestion, region},
    search::{Free, Target, question, search},
    study::{Input, Study, complete},
    sweep::{SweepQuestion, sweep},
};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");
const WIND: &str = "/site/wind/profile/power_law/speed_m_s";
const OFFSET: &str = "/station/downwind_m=-150..150";
const TENSION: &str = "/station/winch/drum_tension/drum_tension_n=0..120";

fn breakwater() -> (Document, Loaded) {
    let document = Document::parse(BREAKWATER).unwrap();
    let loaded = load(&document).unwrap();
    (document, loaded)
}

/// Demand and power available over values of one input, at the station of the plan.
fn along(pointer: &str, values: impl Iterator<Item = f64>) -> Vec<(f64, f64)> {
    let (_, loaded) = breakwater();
    let input = Input::find(&complete(&loaded.scenario), pointer).unwrap();
    let study = Study::new(&loaded.scenario, vec![input]).unwrap();
    let mut worker = study.worker();
    values
        .map(|value| {
            let point = worker.evaluate(&[value]).unwrap();
            (point.demand_w.unwrap(), point.available_w.unwrap())
        })
        .collect()
}

#[test]
fn prop_less_attenuation_never_hurts() {
    let pointer = "/delivery/fiber/attenuation/measured/attenuation_db_per_km";
    let found = along(pointer, (0..12).map(|i| 6.4 - 0.4 * f64::from(i)));
    assert!(found.windows(2).all(|w| w[1].1 >= w[0].1 - 1e-9 && w[1].0 == w[0].0), "{found:?}");
    assert!(found[11].1 > found[0].1);
}

#[test]
fn prop_more_cooling_of_the_cells_never_hurts() {
    let pointer = "/receiver/sink/junction_to_base_k_per_w";
    let found = along(pointer, (0..12).map(|i| 0.06 - 0.005 * f64::from(i)));
    assert!(found.windows(2).all(|w| w[1].1 >= w[0].1 - 1e-9), "{found:?}");
    assert!(found[11].1 > found[0].1);
}

#[test]
fn prop_mean_wind_helps_first_and_hurts_then() {
    let found = along(WIND, (0..16).map(f64::from));
    let demand_w: Vec<f64> = found.iter().map(|f| f.0).collect();
    let least = (0..16).min_by(|a, b| demand_w[*a].total_cmp(&demand_w[*b])).unwrap();
    assert!((1..15).contains(&least), "{demand_w:?}");
    assert!(demand_w[least] < 0.98 * demand_w[0] && demand_w[15] > demand_w[least], "{demand_w:?}");
}

#[test]
fn val_no_local_search_from_one_side_beats_the_search() {
    let (_, loaded) = breakwater();
    let free = [OFFSET, TENSION].map(str::to_owned);
    let asked = question(&loaded, "max:margin_w", &free, 1).unwrap();
    let answer = search(&loaded, &asked).unwrap();
    let best_w = answer.value.filter(|_| answer.feasible).unwrap();
    let system = System::new(&loaded.scenario).unwrap();
    let spans: Vec<Free> = asked.free.iter().map(|span| Free::new(span.clone(), &system)).collect();
    let inputs = asked.free.iter().map(|span| span.input.clone()).collect();
    let study = Study::new(&loaded.scenario, inputs).unwrap();
    let (mut beaten, mut closing) = (0, 0);
    for (side, start) in [("upwind", [0.3, 0.6]), ("overhead", [0.5, 0.45]), ("downwind", [0.65, 0.5])] {
        let mut target = Target::new(&study, &spans, &asked.goal);
        let trial = target.evaluate(&start);
        let end = finish(&mut target, (start.to_vec(), trial), &[(0.0, 1.0); 2], &Finish::default()).1;
        println!("{side}: {} ({}), search {best_w}", end.goal, end.is_feasible());
        if end.is_feasible() {
            closing += 1;
            assert!(best_w >= end.goal - 1e-5 * best_w.abs(), "{side}: {} against {best_w}", end.goal);
        }
        beaten += u32::from(!end.is_feasible() || end.goal < best_w - 1e-3 * best_w.abs());
    }
    println!("{beaten} of three local searches end elsewhere");
    assert!(closing > 0, "no local search ends where the plan closes");
}

#[test]
fn the_answer_does_not_depend_on_the_threads() {
    let (document, loaded) = breakwater();
    let free = ["/station/height_m=20..150", OFFSET].map(str::to_owned);
    let asked = question(&loaded, "max:/station/height_m", &free, 3).unwrap();
    let (x, y) = ("/station/height_m=40..120:3", "/payload/mass_kg=0.5..2.5:4");
    let map = RegionQuestion::parse(&loaded, Some(x), Some(y), Some("0,10")).unwrap();
    let vary = ["/station/height_m=40..140:6".to_owned(), "/payload/mass_kg=0..3:4".to_owned()];
    let swept = SweepQuestion::parse(&loaded, &vary, &[]).unwrap();
    let all = || {
        let searched = search(&loaded, &asked).unwrap();
        let mapped = region(&document, &loaded, &map, &|_, _| {}).unwrap();
        let rows = sweep(&document, &loaded, &swept, &|_, _| {}).unwrap();
        (
            serde_json::to_string(&searched).unwrap(),
            serde_json::to_string(&mapped).unwrap(),
            serde_json::to_string(&rows).unwrap(),
        )
    };
    let on = |count: usize| rayon::ThreadPoolBuilder::new().num_threads(count).build().unwrap().install(all);
    let one = on(1);
    assert!(one == on(2) && one == on(8));
}
