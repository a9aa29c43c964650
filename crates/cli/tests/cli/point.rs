//! `point` and its parts on the shipped scenarios.

use std::fs;

use super::{folder, json, root, run, run_in, text};

const MAIN: &str = "scenarios/breakwater-lookout.json";

#[test]
fn the_main_scenario_closes_and_says_so_first() {
    let output = run(&["point", MAIN]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.lines().nth(1).unwrap().starts_with("CLOSES: "), "{screen}");
    assert!(!screen.contains('\x1b'), "no colour in a pipe");
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
}

#[test]
fn json_has_the_keys_that_others_build_on() {
    let value = json(&run(&["point", MAIN, "--format", "json"]));
    for pointer in [
        "/feasible",
        "/margin_w",
        "/demand_w",
        "/available_w",
        "/wall_w",
        "/laser_setting_w",
        "/tether/paid_out_m",
        "/tether/force_on_vehicle_n/2",
        "/tether/force_at_drum_n/2",
        "/tether/top_tension_n",
        "/tether/drum_tension_n",
        "/tether/drum_elevation_deg",
        "/tether/min_bend_radius_m",
        "/tether/lowest_point_m",
        "/vehicle/thrust_n",
        "/vehicle/tilt_deg",
        "/vehicle/induced_w",
        "/vehicle/profile_w",
        "/vehicle/shaft_w",
        "/light/launched_w",
        "/light/arriving_w",
        "/light/cell_temp_c",
        "/light/cell_temp_load_lost_c",
        "/light/cells_w",
        "/light/bus_w",
        "/limits/0/code",
        "/limits/0/value",
        "/limits/0/limit",
        "/limits/0/unit",
        "/limits/0/margin_ratio",
        "/limits/0/ok",
        "/defaults_used/0/pointer",
        "/cautions/0",
        "/energy_closure_ratio",
        "/digest",
        "/version",
    ] {
        let found = value.pointer(pointer);
        assert!(found.is_some_and(|v| !v.is_null()), "{pointer}: {found:?}");
    }
    assert!(value["energy_closure_ratio"].as_f64().unwrap() < 1e-9);
    assert!(value["force_closure_ratio"].as_f64().unwrap() < 1e-9);
}

#[test]
fn a_plan_that_does_not_close_ends_with_1_and_names_what_binds() {
    let output = run(&["point", MAIN, "--set", "/payload/mass_kg=3"]);
    assert_eq!(output.status.code(), Some(1));
    let screen = text(&output.stdout);
    assert!(screen.contains("DOES NOT CLOSE: "), "{screen}");
    assert!(screen.contains("Broken: power at the bus"), "{screen}");
    assert!(screen.contains("Change first: "), "{screen}");
}

#[test]
fn assignments_take_negative_numbers() {
    let output = run(&["point", MAIN, "--set", "/station/downwind_m=-15", "--format", "json"]);
    let pull = json(&output)["tether"]["force_on_vehicle_n"][0].as_f64().unwrap();
    assert!(pull > 4.0, "upwind of the drum the tether pulls strongly downwind: {pull} N");
}

#[test]
fn explain_lists_defaults_and_sources() {
    let screen = text(&run(&["point", MAIN, "--explain"]).stdout);
    assert!(screen.contains("/delivery/fiber/tether/tangential_coefficient = 0.02"), "{screen}");
    assert!(screen.contains("Hoerner"), "{screen}");
}

#[test]
fn the_bench_craft_is_held_by_75_watts() {
    // Common practice, no source: such a craft asks for 55 to 80 W.
    let value = json(&run(&["point", "scenarios/bench-hover.json", "--format", "json"]));
    let demand_w = value["demand_w"].as_f64().unwrap();
    let available_w = value["available_w"].as_f64().unwrap();
    assert!((55.0..=80.0).contains(&demand_w), "{demand_w} W");
    assert!(available_w >= demand_w && value["feasible"] == true, "{available_w} W");
}

#[test]
fn every_scenario_runs_to_a_verdict_in_every_part() {
    for entry in fs::read_dir(root().join("scenarios")).unwrap() {
        let path = entry.unwrap().path();
        // The weather years stand in a folder beside the scenarios.
        if path.is_dir() {
            continue;
        }
        let path = path.to_str().unwrap();
        for command in ["point", "tether", "rotor", "light"] {
            let output = run(&[command, path]);
            assert!(
                matches!(output.status.code(), Some(0 | 1)),
                "{command} {path}: {}",
                text(&output.stderr)
            );
            let output = run(&[command, path, "--format", "json"]);
            assert!(json(&output)["digest"].is_string(), "{command} {path}");
        }
    }
}

#[test]
fn the_tether_is_drawn_whole_or_not_at_all() {
    let folder = folder("plot");
    let scenario = root().join(MAIN);
    let scenario = scenario.to_str().unwrap();
    let output =
        run_in(&folder, &["tether", scenario, "--plot", "tether.svg", "--set", "/title=<script>'\"&"], b"");
    assert!(matches!(output.status.code(), Some(0)), "{}", text(&output.stderr));
    let svg = fs::read_to_string(folder.join("tether.svg")).unwrap();
    assert!(svg.contains("<title>&lt;script&gt;&#39;&quot;&amp;</title>"), "{}", &svg[..400]);
    assert!(svg.contains("role=\"img\"") && svg.trim_end().ends_with("</svg>"));
    let output = run_in(&folder, &["tether", scenario, "--plot", "no/such/folder.svg"], b"");
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}

#[test]
fn standard_input_is_read() {
    let bytes = fs::read(root().join(MAIN)).unwrap();
    let from_pipe = run_in(&root(), &["point", "-"], &bytes);
    assert_eq!(text(&from_pipe.stdout), text(&run(&["point", MAIN]).stdout));
}

#[test]
fn new_writes_a_plan_that_runs_and_never_overwrites() {
    let folder = folder("new");
    let output = run_in(&folder, &["new", "plan.json"], b"");
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(run_in(&folder, &["point", "plan.json"], b"").status.code(), Some(0));
    fs::write(folder.join("plan.json"), "mine").unwrap();
    let output = run_in(&folder, &["new", "plan.json"], b"");
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read_to_string(folder.join("plan.json")).unwrap(), "mine");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "nothing half written");
}

#[test]
fn the_schema_is_the_committed_one() {
    let printed = json(&run(&["schema"]));
    let committed = fs::read_to_string(root().join("docs/scenario.schema.json")).unwrap();
    let committed: serde_json::Value = serde_json::from_str(&committed).unwrap();
    assert_eq!(printed, committed, "run `cargo run --release -- schema > docs/scenario.schema.json`");
}
