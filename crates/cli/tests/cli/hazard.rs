//! `beamstay hazard`.

use super::{folder, json, run, run_in, text};

const FIBER: &str = "scenarios/breakwater-lookout.json";
const BEAM: &str = "scenarios/beam-hover.json";

#[test]
fn edition_time_base_aperture_and_status_stand_beside_every_distance() {
    for file in [FIBER, BEAM] {
        let output = run(&["hazard", file, "--set", "/hazard={\"shut_off_ms\":10}"]);
        assert_eq!(output.status.code(), Some(0));
        let page = text(&output.stdout);
        let of_skin: Vec<&str> = page.lines().filter(|l| l.starts_with("    skin ")).collect();
        assert!(of_skin.len() >= 4, "{page}");
        for line in of_skin {
            assert!(line.contains("2014") || line.contains("2007"), "{line}");
            assert!((line.contains(" s ") || line.contains(" ms ")) && line.contains("3.5"), "{line}");
            assert!(line.ends_with("seen") || line.ends_with("from memory"), "{line}");
        }
        assert!(page.contains("IEC 60825-1:2014"), "{page}");
        assert!(
            page.contains("laser safety officer decides") && page.contains("aviation authority"),
            "{page}"
        );
        assert!(page.contains("Outside the model"), "{page}");
    }
}

#[test]
fn lines_fit_a_terminal() {
    for file in [FIBER, BEAM] {
        let page = text(
            &run(&["hazard", file, "--set", "/hazard={\"shut_off_ms\":0.01,\"working_area_radius_m\":20}"])
                .stdout,
        );
        for line in page.lines() {
            assert!(line.chars().count() <= 100, "{line}");
        }
    }
}

#[test]
fn a_working_area_that_is_too_small_is_told_by_the_exit_code() {
    let exit = |radius_m: &str| {
        let set = format!("/hazard={{\"working_area_radius_m\":{radius_m}}}");
        run(&["hazard", FIBER, "--set", &set]).status.code()
    };
    assert_eq!(exit("20"), Some(1));
    assert_eq!(exit("500"), Some(0));
}

#[test]
fn json_and_text_say_the_same() {
    let value = json(&run(&["hazard", FIBER, "--format", "json"]));
    let eye = &value["sources"][0]["without_shut_off"]["eye"];
    assert!(eye["distance_m"].as_f64().unwrap() > 40.0);
    assert_eq!(eye["basis"]["aperture_mm"], 7.0);
    assert_eq!(eye["basis"]["status"], "seen");
    assert_eq!(value["class"]["class"], "4");
    assert!(value["digest"].is_string() && value["version"].is_string());
    let page = text(&run(&["hazard", FIBER]).stdout);
    let metres = format!("{:.2} m", eye["distance_m"].as_f64().unwrap());
    assert!(page.contains(&metres), "{metres}: {page}");
}

#[test]
fn the_plan_view_is_drawn() {
    let folder = folder("hazard-plot");
    let scenario = std::fs::canonicalize(super::root().join(BEAM)).unwrap();
    let output = run_in(&folder, &["hazard", scenario.to_str().unwrap(), "--plot", "plan.svg"], b"");
    assert_eq!(output.status.code(), Some(0));
    let svg = std::fs::read_to_string(folder.join("plan.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    assert!(svg.contains("seen from above") && svg.contains("role=\"img\""));
}

#[test]
fn a_plan_without_light_is_refused_with_a_reason() {
    let output = run(&["hazard", "scenarios/harvest-market.json"]);
    assert_eq!(output.status.code(), Some(2));
    let message = text(&output.stderr);
    assert!(message.contains("a hazard of light needs"), "{message}");
    let output = run(&["point", "scenarios/harvest-market.json", "--set", "/hazard={\"shut_off_ms\":1}"]);
    assert_eq!(output.status.code(), Some(2));
}
