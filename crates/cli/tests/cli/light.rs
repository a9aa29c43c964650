//! `beamstay light`.

use super::{json, run, text};

const FIBER: &str = "scenarios/breakwater-lookout.json";
const BEAM: &str = "scenarios/free-beam-loiter.json";

fn link(interface: &str) -> String {
    format!("/delivery/fiber/data_link={{\"interface\":\"{interface}\"}}")
}

#[test]
fn the_light_is_told_stage_by_stage() {
    let page = text(&run(&["light", FIBER]).stdout);
    for words in
        ["Rayleigh floor", "Raman threshold", "Gloge 1972", "in the core", "mass of heat sink", "scattered"]
    {
        assert!(page.contains(words), "{words}: {page}");
    }
    let page = text(&run(&["light", BEAM]).stdout);
    for words in [
        "haze, Kruse",
        "haze, Kim",
        "water vapour",
        "Andrews and Phillips",
        "concentration",
        "peak at moments",
    ] {
        assert!(page.contains(words), "{words}: {page}");
    }
}

#[test]
fn all_light_is_accounted_for() {
    for file in [FIBER, BEAM] {
        let value = json(&run(&["light", file, "--format", "json"]));
        let rows = value["detail"].as_array().unwrap();
        let all: Vec<f64> = rows
            .iter()
            .filter(|row| row["part"] == "light in all")
            .map(|row| row["value"].as_f64().unwrap())
            .collect();
        let (source_w, parts_w) = (all[0], all[1..].iter().sum::<f64>());
        assert!((source_w - parts_w).abs() <= 1e-12 * source_w, "{file}: {source_w} {parts_w}");
    }
}

#[test]
fn a_data_link_has_its_margin_and_its_limits() {
    let rows = |interface: &str| {
        let value = json(&run(&["light", FIBER, "--set", &link(interface), "--format", "json"]));
        let limits = value["limits"].as_array().unwrap().clone();
        let of = |code: &str| limits.iter().find(|row| row["code"] == code).unwrap().clone();
        (of("data_link_loss"), of("data_link_length"))
    };
    // 0.4 dB/km over 150 m and two pairs of 0.75 dB against 6.2 dB.
    let (loss, length) = rows("ten_gigabit_lr");
    assert!((loss["margin"].as_f64().unwrap() - (6.2 - 1.5 - 0.06)).abs() < 1e-9, "{loss}");
    assert!(loss["ok"] == true && length["ok"] == true);
    // 25GBASE-SR on OM3 reaches 70 m, and the line is 150 m.
    let (_, length) = rows("twenty_five_gigabit_sr_om3");
    assert!(length["ok"] == false && length["limit"].as_f64().unwrap() <= 70.0, "{length}");
}

#[test]
fn an_attenuation_below_the_rayleigh_floor_is_refused() {
    let set = "/delivery/fiber/attenuation/measured/attenuation_db_per_km=1.0";
    let output = run(&["light", FIBER, "--set", set]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("Rayleigh floor"), "{}", text(&output.stderr));
}
