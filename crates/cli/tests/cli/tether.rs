//! `beamstay tether`: what the layers carry, the glass, the drum, the cut and the ground.

use std::fs;

use serde_json::Value;

use super::{folder, json, root, run, run_in, text};

const MAIN: &str = "scenarios/breakwater-lookout.json";
const COPPER: &str = "scenarios/harvest-market.json";
const WATER: &str = "scenarios/reservoir-inspector.json";
const TETHER: &str = "/delivery/fiber/tether";

/// Too little drum tension for a vehicle upwind of the drum: a part lies on the ground.
const SLACK: [&str; 4] =
    ["--set", "/station/winch/drum_tension/drum_tension_n=0.5", "--set", "/station/downwind_m=-30"];

fn number(value: &Value, pointer: &str) -> f64 {
    value.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} in {value}"))
}

fn row<'a>(value: &'a Value, code: &str) -> Option<&'a Value> {
    value["limits"].as_array().unwrap().iter().find(|row| row["code"] == code)
}

#[test]
fn the_layers_share_the_tension() {
    let value = json(&run(&["tether", COPPER, "--format", "json"]));
    let layers = value["detail"]["layers"].as_array().unwrap();
    let shares: f64 = layers.iter().map(|layer| number(layer, "/load_share_ratio")).sum();
    let loads_n: f64 = layers.iter().map(|layer| number(layer, "/load_in_gust_n")).sum();
    assert!((shares - 1.0).abs() < 1e-12);
    assert!((loads_n - number(&value, "/tether_in_gust/max_tension_n")).abs() < 1e-9);
    let masses: f64 = layers.iter().map(|layer| number(layer, "/mass_g_per_m")).sum();
    assert!((masses - number(&value, "/detail/figures/0/value")).abs() < 1e-9);
    let screen = text(&run(&["tether", COPPER]).stdout);
    assert!(
        screen.contains("strength member  aramid") && screen.contains("conductor        copper"),
        "{screen}"
    );
    assert!(screen.lines().all(|line| line.chars().count() <= 79), "{screen}");
}

#[test]
fn what_was_measured_is_said_beside_what_the_layers_give() {
    let weighed = "/delivery/copper/tether/construction/layers/measured_mass_g_per_m=21";
    let output = run(&["tether", COPPER, "--format", "json", "--set", weighed]);
    let mass = &json(&output)["detail"]["figures"][0];
    assert_eq!((mass["measured"].as_bool(), number(mass, "/value")), (Some(true), 21.0));
    let off = number(mass, "/value") / number(mass, "/computed") - 1.0;
    assert!((number(mass, "/deviation_ratio") - off).abs() < 1e-12);
    let screen = text(&run(&["tether", COPPER, "--set", weighed]).stdout);
    assert!(screen.contains("measured; the layers give 19.25 g/m, it is +9.1 % off"), "{screen}");
    assert!(screen.contains("computed from the layers"), "{screen}");
    // A line that was measured as a whole has no layers to tell of.
    let screen = text(&run(&["tether", MAIN]).stdout);
    assert!(screen.contains("measured as a whole: what each layer carries is not known"), "{screen}");
}

#[test]
fn glass_is_held_against_a_share_of_its_proof_stress_by_how_long() {
    let value = json(&run(&["tether", MAIN, "--format", "json"]));
    let glass = &value["detail"]["glass"];
    let shares: Vec<f64> =
        (0..3).map(|i| number(glass, &format!("/allowed/{i}/share_of_proof_ratio"))).collect();
    assert_eq!(shares, [0.5, 1.0 / 3.0, 0.2]);
    // E r/R on the innermost layer, and the rows of the limits are these places.
    let places = glass["places"].as_array().unwrap();
    let drum = &places[0];
    let bend = 72e3 * 0.5 * 1e-3 * number(glass, "/diameter_um") / number(drum, "/bend_radius_mm");
    assert!((number(drum, "/bend_mpa") - bend).abs() < 1e-9);
    assert!(
        (number(drum, "/total_mpa") - number(row(&value, "glass_stress_on_drum").unwrap(), "/value")).abs()
            < 1e-9
    );
    let of = |key: &str| places[1..].iter().map(|p| number(p, key)).fold(0.0, f64::max);
    assert!((of("/total_mpa") - number(row(&value, "glass_stress").unwrap(), "/value")).abs() < 1e-9);
    assert!(
        (of("/in_gust_mpa") - number(row(&value, "glass_stress_in_gust").unwrap(), "/value")).abs() < 1e-9
    );
    // What is wound stays bent for years, however short the flights are.
    let output = run(&["tether", MAIN, "--format", "json", "--set", "/limits={\"load_duration\":\"hours\"}"]);
    let hours = json(&output);
    let third = number(row(&hours, "glass_stress").unwrap(), "/limit");
    let fifth = number(row(&hours, "glass_stress_on_drum").unwrap(), "/limit");
    assert!((third / fifth - 5.0 / 3.0).abs() < 1e-9);
    let screen = text(&run(&["tether", MAIN]).stdout);
    assert!(screen.contains("years       0.200  137.9 MPa") && screen.contains("AEN 21"), "{screen}");
}

#[test]
fn strain_is_a_limit_where_it_is_asked() {
    let value = json(&run(&["tether", MAIN, "--format", "json"]));
    assert!(row(&value, "strain").is_none());
    let asked = ["tether", MAIN, "--format", "json", "--set", "/limits={\"max_strain_ratio\":0.0001}"];
    let strain = json(&run(&asked));
    let strain = row(&strain, "strain").unwrap();
    let expected = number(&value, "/tether_in_gust/max_tension_n") / 92_000.0;
    assert!((number(strain, "/value") - expected).abs() < 1e-12 && strain["ok"] == false, "{strain}");
}

#[test]
fn strumming_and_ice_are_on_or_off() {
    let drag = |set: &[&str]| {
        let mut arguments = vec!["tether", MAIN, "--format", "json"];
        set.iter().for_each(|one| arguments.extend(["--set", *one]));
        json(&run(&arguments))["detail"]["drag"].clone()
    };
    let bare = drag(&[]);
    assert_eq!(number(&bare, "/amplification_ratio"), 1.0);
    assert!(bare["strumming_bend_radius_m"].is_null() && number(&bare, "/ice_g_per_m") == 0.0);
    // Vandiver at an amplitude of 0.1 diameters: 1 + 1.043 (2 y_rms/d)^0.65, the larger of the two there.
    let strums = drag(&[&format!("{TETHER}/strumming_amplitude_ratio=0.1")]);
    let vandiver = 1.0 + 1.043 * f64::powf(2.0 * 0.1 / f64::sqrt(2.0), 0.65);
    assert!((number(&strums, "/amplification_ratio") - vandiver).abs() < 1e-9, "{strums}");
    assert!((number(&strums, "/coefficient") / number(&bare, "/coefficient") - vandiver).abs() < 1e-9);
    assert!(number(&strums, "/strumming_stress_mpa") > 0.0);
    // Glaze of class 1: 10 mm at 900 kg/m³ all round 2 mm.
    let iced = drag(&[&format!("{TETHER}/ice_class=\"g1\"")]);
    let expected = 900.0 * std::f64::consts::PI * 0.010 * 0.012 * 1e3;
    assert!((number(&iced, "/ice_g_per_m") - expected).abs() < 1e-9, "{iced}");
    assert!((number(&iced, "/iced_diameter_mm") - 22.0).abs() < 1e-9);
    let same = drag(&[&format!("{TETHER}/ice_thickness_mm=10")]);
    assert_eq!(same, iced);
    // Rime of class 1: 0.5 kg/m.
    let rime = drag(&[&format!("{TETHER}/ice_class=\"r1\"")]);
    assert!((number(&rime, "/ice_g_per_m") - 500.0).abs() < 1e-9, "{rime}");
}

#[test]
fn the_drum_keeps_what_is_not_paid_out() {
    let value = json(&run(&["tether", MAIN, "--format", "json"]));
    let drum = &value["detail"]["drum"];
    let paid_out_m = number(&value, "/tether/paid_out_m");
    assert!((number(drum, "/stays_wound_m") + paid_out_m - number(drum, "/line_m")).abs() < 1e-9);
    assert!((number(drum, "/line_kg") - 3.4e-3 * number(drum, "/line_m")).abs() < 1e-9);
    assert!(number(drum, "/full_diameter_mm") >= number(drum, "/diameter_mm"));
    assert!(number(drum, "/pull_gain_ratio") >= 1.0);
    assert!(
        (number(drum, "/capacity_m") - number(row(&value, "drum_capacity").unwrap(), "/limit")).abs() < 1e-9
    );
}

#[test]
fn a_cut_line_falls_no_farther_than_said_and_is_cautioned() {
    let value = json(&run(&["tether", MAIN, "--format", "json"]));
    let cut = &value["detail"]["cut"];
    let (mass, broadside) = (3.4e-3, number(cut, "/broadside_m_s"));
    assert!((number(cut, "/broadside_j_per_m") - 0.5 * mass * broadside * broadside).abs() < 1e-9);
    assert!(number(cut, "/end_on_m_s") > broadside);
    let (at_drum, at_vehicle) = (&cut["cases"][0], &cut["cases"][2]);
    assert_eq!(number(at_drum, "/attached_radius_m"), 0.0);
    assert!((number(at_vehicle, "/attached_radius_m") - number(&value, "/tether/paid_out_m")).abs() < 1e-9);
    assert!(number(at_drum, "/loose_radius_m") > number(at_vehicle, "/loose_radius_m"));
    let screen = text(&run(&["tether", MAIN]).stdout);
    assert!(screen.contains("A cut tether can whip"), "{screen}");
    // In water nothing falls.
    assert!(json(&run(&["tether", WATER, "--format", "json"]))["detail"]["cut"].is_null());
}

#[test]
fn a_slack_line_lies_on_the_ground_and_says_what_would_lift_it() {
    let slack = |more: &[&str]| {
        let mut arguments = vec!["tether", MAIN, "--format", "json"];
        arguments.extend(SLACK);
        arguments.extend(more);
        json(&run(&arguments))
    };
    let value = slack(&[]);
    let lies = &value["tether"]["lies"];
    let lying_m = number(lies, "/to_m") - number(lies, "/from_m");
    assert!(lying_m > 10.0 && (number(&value, "/tether/on_ground_m") - lying_m).abs() < 1e-9);
    let on_ground = row(&value, "line_on_ground").unwrap();
    assert!(on_ground["ok"] == false && (number(on_ground, "/value") - lying_m).abs() < 1e-9);
    assert_eq!(number(&value, "/tether/lowest_point_m"), 0.0);
    assert_eq!(number(row(&value, "clearance").unwrap(), "/value"), 0.0);
    let tension = row(&value, "drum_tension").unwrap();
    let least_n = number(tension, "/limit");
    assert!((least_n - number(lies, "/least_free_drum_tension_n")).abs() < 1e-12 && tension["ok"] == false);
    // A little more than that hangs free, a little less does not.
    for (factor, free) in [(1.01, true), (0.99, false)] {
        let set = format!("/station/winch/drum_tension/drum_tension_n={}", factor * least_n);
        let value = slack(&["--set", &set]);
        assert_eq!(value["tether"]["lies"].is_null(), free, "{factor}: {}", value["tether"]);
        assert_eq!(row(&value, "line_on_ground").is_none(), free);
    }
    // Friction holds back what the drum would feel: with the same tension there more pulls at the lift-off, and less lies.
    let rough = slack(&["--set", &format!("{TETHER}/ground_friction_ratio=0.5")]);
    assert!(number(&rough, "/tether/on_ground_m") < lying_m);
    let screen = text(&run(&[&["tether", MAIN], &SLACK[..]].concat()).stdout);
    for words in
        ["length on the ground", "touches down from the drum at", "least drum tension that hangs free"]
    {
        assert!(screen.contains(words), "{words}: {screen}");
    }
}

#[test]
fn a_plan_may_let_its_line_lie() {
    let mut arguments = vec!["point", MAIN, "--format", "json"];
    arguments.extend(SLACK);
    let output = run(&arguments);
    assert_eq!(output.status.code(), Some(1), "by default no line may lie");
    arguments.extend([
        "--set",
        "/limits={\"max_length_on_ground_m\":200}",
        "--set",
        "/delivery/fiber/total_length_m=300",
    ]);
    let output = run(&arguments);
    let value = json(&output);
    assert_eq!(output.status.code(), Some(0), "{}", value["limits"]);
    assert!(row(&value, "line_on_ground").unwrap()["ok"] == true && row(&value, "drum_elevation").is_none());
    assert!(row(&value, "drum_tension").is_none());
}

#[test]
fn the_figure_shows_where_it_touches_down() {
    let folder = folder("tether");
    let draw = |name: &str, scenario: &str, more: &[&str]| {
        let scenario = root().join(scenario);
        let mut arguments = vec!["tether", scenario.to_str().unwrap(), "--plot", name];
        arguments.extend(more);
        let output = run_in(&folder, &arguments, b"");
        // A line that lies breaks a limit, and is drawn all the same.
        let closes = more.is_empty();
        assert_eq!(output.status.code(), Some(i32::from(!closes)), "{}", text(&output.stderr));
        fs::read_to_string(folder.join(name)).unwrap()
    };
    let slack = draw("slack.svg", MAIN, &SLACK);
    for words in ["touches down", "square: on the ground", "the thicker and lighter the line", "ground"] {
        assert!(slack.contains(words), "{words}");
    }
    assert!(slack.contains("lie on the ground; it touches down"), "the description tells it too");
    let taut = draw("taut.svg", MAIN, &[]);
    assert!(!taut.contains("touches down"));
    let water = draw("water.svg", WATER, &[]);
    assert!(water.contains("water") && !water.contains("touches down"));
}

#[test]
fn a_part_does_not_close_by_its_own_limits_alone() {
    let code = |part: &str, more: &[&str]| {
        let output = run(&[&[part, MAIN, "--format", "json"], more].concat());
        let closes = json(&output)["closes"].as_bool().unwrap();
        assert_eq!(output.status.code(), Some(i32::from(!closes)), "{part} {more:?}");
        closes
    };
    assert!(code("tether", &[]) && code("rotor", &[]) && code("light", &[]));
    assert!(!code("tether", &SLACK));
    // Too little light is no fault of the line.
    let dim = ["--set", "/ground/laser/rated_w=700"];
    assert!(code("tether", &dim) && !code("light", &dim));
    let screen = text(&run(&["tether", MAIN]).stdout);
    assert!(screen.contains("no limit counts it"), "{screen}");
}
