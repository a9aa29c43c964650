//! `endurance`, `lightloss` and `compare` on the shipped scenarios and on bad weather.

use std::fs;

use serde_json::{Value, json};

use super::{folder, json, root, run, run_in, text};

fn scenario(name: &str) -> Value {
    serde_json::from_str(&fs::read_to_string(root().join(format!("scenarios/{name}.json"))).unwrap()).unwrap()
}

#[test]
fn light_loss_lands_and_draws() {
    let place = folder("light_loss");
    let plan = root().join("scenarios/breakwater-lookout.json");
    let output = run_in(&place, &["lightloss", plan.to_str().unwrap(), "--plot", "drill.svg"], b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.contains("LANDS") && screen.contains("The smallest battery that lands"), "{screen}");
    let svg = fs::read_to_string(place.join("drill.svg")).unwrap();
    assert!(svg.contains("<title>") && svg.contains("rate of descent, m/s"));
}

#[test]
fn without_a_battery_the_words_say_so() {
    let mut plan = scenario("breakwater-lookout");
    plan.as_object_mut().unwrap().remove("battery");
    let output = run_in(&root(), &["lightloss", "-"], plan.to_string().as_bytes());
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.contains("NO BATTERY: LOSS OF LIGHT IS LOSS OF THE AIRCRAFT"), "{screen}");
    assert!(!screen.contains('\x1b'), "no colour in a pipe");
}

#[test]
fn a_year_of_weather_is_flown() {
    let place = folder("a_year");
    let plan = root().join("scenarios/breakwater-year.json");
    let output =
        run_in(&place, &["endurance", plan.to_str().unwrap(), "--format", "json", "--plot", "year.svg"], b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let value = json(&output);
    let number = |pointer: &str| value.pointer(pointer).and_then(Value::as_f64).unwrap();
    let known_h = number("/totals/on_station_h")
        + number("/totals/waiting_weather_h")
        + number("/totals/waiting_charge_h");
    assert!((known_h + number("/totals/gap_h") - 8730.0).abs() < 1e-6);
    assert!((number("/totals/gap_h") - 27.0).abs() < 1e-9, "24 hours absent and 3 winds blank");
    assert!(number("/on_station_ratio") > 0.1 && number("/stays/longest_h") > 24.0);
    assert!(fs::read_to_string(place.join("year.svg")).unwrap().contains("stays and outages"));
}

#[test]
fn a_wind_of_a_thousand_miles_per_hour_names_its_row() {
    let place = folder("too_much_wind");
    let mut plan = scenario("breakwater-lookout");
    plan["site"]["weather"] = json!({ "file": { "path": "w.csv" } });
    fs::write(place.join("plan.json"), plan.to_string()).unwrap();
    // 1048.36 mph in m/s.
    let record = "time,wind_m_s\n2013-02-12T07:00Z,5\n2013-02-12T08:00Z,468.66\n";
    fs::write(place.join("w.csv"), record).unwrap();
    let output = run_in(&place, &["endurance", "plan.json"], b"");
    assert_eq!(output.status.code(), Some(2));
    let message = text(&output.stderr);
    assert!(message.contains("line 3, column 2: wind_m_s 468.66 m/s is outside 0 to 75 m/s"), "{message}");
    assert!(message.contains("/site/weather/file/path"), "{message}");
}

#[test]
fn weather_stays_in_the_scenarios_folder() {
    let place = folder("weather_outside");
    fs::create_dir_all(place.join("plans")).unwrap();
    fs::write(place.join("w.csv"), "time,wind_m_s\n2024-01-01T00:00Z,5\n2024-01-01T01:00Z,5\n").unwrap();
    let mut plan = scenario("breakwater-lookout");
    plan["site"]["weather"] = json!({ "file": { "path": "../w.csv" } });
    fs::write(place.join("plans/plan.json"), plan.to_string()).unwrap();
    let refused = run_in(&place, &["endurance", "plans/plan.json"], b"");
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        text(&refused.stderr).contains("lies outside the scenario's folder"),
        "{}",
        text(&refused.stderr)
    );
    let allowed =
        run_in(&place, &["endurance", "plans/plan.json", "--allow-outside", "--format", "csv"], b"");
    assert!(matches!(allowed.status.code(), Some(0 | 1)), "{}", text(&allowed.stderr));
    assert_eq!(text(&allowed.stdout).lines().count(), 3);
}

#[test]
fn turns_of_work_and_recharge_are_scheduled() {
    let value = json(&run(&["endurance", "scenarios/beam-recharge.json", "--format", "json"]));
    let ratio = |pointer: &str| value.pointer(pointer).and_then(Value::as_f64).unwrap();
    assert!((ratio("/duty/duty_ratio") - ratio("/duty/closed_form_duty_ratio")).abs() < 1e-6);
}

#[test]
fn what_keeps_it_down_is_told() {
    let mut plan = scenario("breakwater-lookout");
    plan.as_object_mut().unwrap().remove("battery");
    plan["ground"]["laser"]["rated_w"] = json!(300.0);
    let output = run_in(&root(), &["endurance", "-"], plan.to_string().as_bytes());
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.contains("NEVER ON STATION") && screen.contains("What kept it on the ground"), "{screen}");
    assert!(screen.contains("power in the gust") || screen.contains("supply short"), "{screen}");
    assert!(screen.contains("NO BATTERY"), "in words, without colour");
}

#[test]
fn turns_go_through_changing_weather() {
    let place = folder("turns_in_weather");
    let mut plan = scenario("beam-recharge");
    plan["site"]["weather"] = json!({ "gust_pattern": {
        "duration_h": 48.0, "quiet_m_s": 3.0, "strong_m_s": 40.0, "quiet_h": 6.0, "strong_h": 2.0 } });
    fs::write(place.join("plan.json"), plan.to_string()).unwrap();
    let output = run_in(&place, &["endurance", "plan.json"], b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.contains("in the air to recharge, between turns of work"), "{screen}");
    let value = json(&run_in(&place, &["endurance", "plan.json", "--format", "json"], b""));
    let hours = |name: &str| value["totals"][name].as_f64().unwrap();
    assert!(hours("on_station_h") > 1.0 && hours("recharging_h") > 1.0);
    assert!(hours("waiting_weather_h") >= 12.0, "down in every strong spell: {}", hours("waiting_weather_h"));
    assert!(value["duty"].is_null());
}

#[test]
fn a_wing_is_not_compared_and_the_reason_is_told() {
    let refused = run(&["compare", "scenarios/free-beam-loiter.json"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("winds up every line"), "{}", text(&refused.stderr));
}

#[test]
fn ways_are_compared_honestly() {
    let output = run(&["compare", "scenarios/harvest-market.json", "--mission-h", "6"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let screen = text(&output.stdout);
    assert!(screen.contains("Least from the wall: copper"), "{screen}");
    assert!(screen.contains("battery alone") && screen.contains("lightning"), "{screen}");
    let refused = run(&["compare", "scenarios/harvest-market.json", "--mission-h", "-1"]);
    assert_eq!(refused.status.code(), Some(2));
}
