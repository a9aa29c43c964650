//! `beamstay rotor`.

use std::fs;

use super::{folder, json, root, run, run_in, text};

const QUARRY: &str = "scenarios/quarry-watch.json";

#[test]
fn it_tells_launch_descent_bounds_and_lost_rotors() {
    let output = run(&["rotor", QUARRY]);
    let screen = text(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{screen}");
    for part in
        ["Rotors", "Largest thrust in the gust", "Launch", "Descent", "Rotors lost", "speed of rotation"]
    {
        assert!(screen.contains(part), "{part}: {screen}");
    }
    assert!(screen.lines().any(|l| l.contains("one rotor: land") && l.contains("yes")), "{screen}");
    let wide = screen.lines().find(|line| line.chars().count() > 84);
    assert_eq!(wide, None, "too wide for a terminal");
}

#[test]
fn json_carries_the_states_with_their_units() {
    let value = json(&run(&["rotor", QUARRY, "--format", "json"]));
    let states = &value["states"];
    assert!(states["launch"].as_array().unwrap().len() == 5 && states["digest"].is_string());
    assert!(states["descent"]["safe_rate_m_s"].as_f64().unwrap() > 1.0);
    assert_eq!(states["lost"][0]["failure"], "one_rotor");
    assert_eq!(states["thrust_bounds"][0]["bound"], "rotor");
    assert!(value["vehicle"]["rotor_torque_n_m"].as_f64().unwrap() > 0.0);
}

#[test]
fn the_figure_is_written_whole() {
    let folder = folder("rotor-figure");
    let scenario = root().join(QUARRY);
    let output = run_in(&folder, &["rotor", scenario.to_str().unwrap(), "--plot", "power.svg"], b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let svg = fs::read_to_string(folder.join("power.svg")).unwrap();
    assert!(svg.contains("<title>Quarry watch") && svg.trim_end().ends_with("</svg>"));
    assert!(svg.contains("vortex ring state") && svg.contains("wind at the station, m/s"));
}

#[test]
fn without_rotors_there_is_no_figure_and_no_states() {
    let folder = folder("rotor-none");
    let scenario = root().join("scenarios/switchyard-sensor.json");
    let arguments = ["rotor", scenario.to_str().unwrap(), "--plot", "power.svg"];
    let output = run_in(&folder, &arguments, b"");
    assert_eq!(output.status.code(), Some(3));
    assert!(!folder.join("power.svg").exists());
    let value = json(&run(&["rotor", "scenarios/switchyard-sensor.json", "--format", "json"]));
    assert!(value["states"].is_null());
}

#[test]
fn missing_thrust_is_told_in_newtons_with_what_bounds_it() {
    let output = run(&["point", "scenarios/breakwater-lookout.json", "--set", "/payload/mass_kg=9"]);
    assert_eq!(output.status.code(), Some(1));
    let screen = text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        screen.contains("the gust needs") && screen.contains("the declared largest thrust gives"),
        "{screen}"
    );
    let output = run(&["point", QUARRY, "--set", "/vehicle/multirotor/drive/motor/max_current_a=3"]);
    let screen = text(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        screen.contains("motor current in the gust, 5.") && screen.contains("at most 3.000 A"),
        "{screen}"
    );
}
