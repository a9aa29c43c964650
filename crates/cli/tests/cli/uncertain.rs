//! `beamstay risk`, `remedy` and `receiver` as they are run.

use std::fs;

use super::{folder, json, run, run_in, text};

#[test]
fn risk_says_the_same_on_any_number_of_threads() {
    let with = |threads: &str| {
        let file = "scenarios/free-beam-loiter.json";
        run(&["risk", file, "--draws", "300", "--samples", "32", "--format", "json", "--threads", threads])
    };
    let (one, three) = (with("1"), with("3"));
    assert_eq!(one.status.code(), Some(0), "{}", text(&one.stderr));
    assert_eq!(one.stdout, three.stdout);
    let report = json(&one);
    assert_eq!(report["draws_count"], 300);
    assert!(report["closes_low_ratio"].as_f64() <= report["closes_ratio"].as_f64());
}

#[test]
fn risk_needs_uncertain_numbers() {
    let refused = run(&["risk", "scenarios/ridge-relay.json"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(text(&refused.stderr).contains("\"uncertainty\""), "{}", text(&refused.stderr));
}

#[test]
fn another_delivery_says_once_which_uncertain_numbers_it_takes_away() {
    let file = "scenarios/breakwater-lookout.json";
    let without = r#"/delivery={"none":{}}"#;
    for command in ["point", "risk"] {
        let refused = run(&[command, file, "--set", without]);
        assert_eq!((refused.status.code(), refused.stdout.len()), (Some(2), 0));
        let told = text(&refused.stderr);
        assert_eq!(told.matches("error[").count(), 1, "{told}");
        for word in ["/delivery", "/delivery/fiber/tether/drag_amplification_ratio", "/uncertainty", "null"] {
            assert!(told.contains(word), "{word}: {told}");
        }
    }
    let left_out = ["--set", "/uncertainty=null", "--set", "/station/winch=null"];
    let point = run(&[&["point", file, "--set", without], &left_out[..]].concat());
    assert!(matches!(point.status.code(), Some(0 | 1)), "{}", text(&point.stderr));
}

#[test]
fn a_verdict_tells_the_winds_it_holds_for() {
    let told = text(&run(&["point", "scenarios/breakwater-lookout.json"]).stdout);
    let line = told.lines().skip_while(|line| !line.starts_with("For ")).take(2).collect::<String>();
    assert!(line.contains("of wind; closes from ") && line.contains("beamstay risk"), "{told}");
    let broken = run(&["point", "scenarios/breakwater-lookout.json", "--set", "/payload/mass_kg=3"]);
    assert!(!text(&broken.stdout).contains("of wind; closes"));
}

#[test]
fn a_stated_remedy_set_in_the_scenario_closes_the_plan() {
    let thick = "/delivery/free_beam/visibility_km=1";
    let file = "scenarios/free-beam-loiter.json";
    let found = run(&["remedy", file, "--set", thick, "--format", "json"]);
    assert_eq!(found.status.code(), Some(1), "{}", text(&found.stderr));
    let report = json(&found);
    let remedies = report["remedies"].as_array().unwrap();
    assert!(!remedies.is_empty());
    for remedy in remedies.iter().take(4) {
        let (pointer, value) = (remedy["pointer"].as_str().unwrap(), remedy["closes_at"].as_f64().unwrap());
        // A number that counts whole things is written as one.
        let value = if pointer.ends_with("_count") { format!("{value:.0}") } else { value.to_string() };
        let assignment = format!("{pointer}={value}");
        let point = run(&["point", file, "--set", thick, "--set", &assignment]);
        // A default that the file leaves out may lack its parent; then the change has no place.
        let code = point.status.code();
        assert!(code == Some(0) || text(&point.stderr).contains("has no"), "{assignment}: {code:?}");
    }
}

#[test]
fn a_receiver_is_traded_in_every_form() {
    let folder = folder("receiver-trade");
    let file = super::root().join("scenarios/free-beam-loiter.json");
    let file = file.to_str().unwrap();
    let plotted = run_in(&folder, &["receiver", file, "--format", "csv", "--plot", "curve.svg"], b"");
    assert_eq!(plotted.status.code(), Some(0), "{}", text(&plotted.stderr));
    let table = text(&plotted.stdout);
    assert!(table.starts_with("mass_kg,delivered_w,") && table.lines().count() > 10, "{table}");
    let svg = fs::read_to_string(folder.join("curve.svg")).unwrap();
    assert!(svg.contains("<title>") && svg.contains("mass of the receiver, kg"));
}

#[test]
fn a_copper_line_has_no_receiver() {
    let refused = run(&["receiver", "scenarios/harvest-market.json"]);
    assert_eq!(refused.status.code(), Some(2), "{}", text(&refused.stdout));
    assert!(text(&refused.stderr).contains("receiver trade"), "{}", text(&refused.stderr));
}
