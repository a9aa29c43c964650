//! `sweep`, `search` and `region` on the main scenario.

use std::fs;

use super::{folder, json, root, run, run_in, text};

const MAIN: &str = "scenarios/breakwater-lookout.json";

#[test]
fn a_sweep_is_a_table_a_csv_and_a_figure() {
    let folder = folder("sweep");
    let scenario = root().join(MAIN);
    let scenario = scenario.to_str().unwrap();
    let vary = "/payload/mass_kg=0..2:5";
    let arguments = ["sweep", scenario, "--vary", vary, "--show", "margin_w,cell_temp_c", "--plot", "s.svg"];
    let output = run_in(&folder, &arguments, b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("power at the bus"));
    assert!(output.stderr.is_empty(), "no progress in a pipe");
    let figure = fs::read_to_string(folder.join("s.svg")).unwrap();
    assert!(figure.contains("role=\"img\"") && figure.contains("margin_w, W"));
    let csv = text(&run(&["sweep", MAIN, "--vary", vary, "--show", "margin_w", "--format", "csv"]).stdout);
    let lines: Vec<&str> = csv.lines().collect();
    assert_eq!(lines[0], "/payload/mass_kg,margin_w,feasible,tightest,error");
    assert_eq!(lines.len(), 6);
}

#[test]
fn a_sweep_is_the_same_on_any_number_of_threads() {
    let run_on = |threads: &str| {
        let arguments =
            ["sweep", MAIN, "--vary", "/payload/mass_kg=0..2:33", "--vary", "/station/height_m=60,100"];
        run(&[&arguments[..], &["--format", "json", "--threads", threads]].concat()).stdout
    };
    assert_eq!(run_on("1"), run_on("3"));
}

#[test]
fn what_is_wrong_on_the_command_line_is_told_with_a_hint() {
    let refused = |arguments: &[&str]| {
        let output = run(arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        text(&output.stderr)
    };
    let sweep = |vary: &str, show: &str| refused(&["sweep", MAIN, "--vary", vary, "--show", show]);
    assert!(sweep("/paylod/mass_kg=0..1:3", "margin_w").contains("did you mean /payload?"));
    assert!(sweep("/payload/mass_kg=0..1:3", "margn_w").contains("did you mean margin_w?"));
    assert!(sweep("/payload/mass_kg=1..0", "margin_w").contains("E0403"));
    assert!(sweep("/payload/mass_kg=-1..1", "margin_w").contains("E0103"));
    assert!(refused(&["search", MAIN, "--goal", "best:wall_w"]).contains("E0405"));
    let fixed =
        refused(&["search", MAIN, "--goal", "max:/payload/mass_kg", "--free", "/station/downwind_m=-9..9"]);
    assert!(fixed.contains("add --free /payload/mass_kg=lo..hi"), "{fixed}");
    assert!(refused(&["region", MAIN, "--x", "/station/hieght_m=1..2"]).contains("did you mean"));
}

#[test]
fn a_search_says_what_is_best_what_binds_and_what_it_is_worth() {
    let arguments = ["search", MAIN, "--goal", "max:/payload/mass_kg", "--free", "/payload/mass_kg=0..3"];
    let value = json(&run(&[&arguments[..], &["--format", "json"]].concat()));
    let answer = &value["answers"][0];
    assert_eq!(answer["feasible"], true);
    let best_kg = answer["value"].as_f64().unwrap();
    assert!((1.0..1.5).contains(&best_kg), "{best_kg}");
    assert_eq!(answer["point"]["feasible"], true);
    assert!(answer["binding"][0]["gain_per_percent"].as_f64().unwrap() > 0.0);
    assert!(value["digest"].is_string() && value["version"].is_string());
    let set = format!("/payload/mass_kg={best_kg}");
    assert_eq!(run(&["point", MAIN, "--set", &set]).status.code(), Some(0), "set in the scenario it closes");
    let more = format!("/payload/mass_kg={}", 1.001 * best_kg);
    assert_eq!(run(&["point", MAIN, "--set", &more]).status.code(), Some(1), "a little more does not");
    let screen = text(&run(&arguments).stdout);
    assert!(screen.contains("Held back by") && screen.lines().all(|l| l.chars().count() <= 90), "{screen}");
}

#[test]
fn a_search_without_a_feasible_point_ends_with_1() {
    let arguments = ["search", MAIN, "--set", "/ground/laser/rated_w=50", "--goal", "max:margin_w"];
    let output = run(&[&arguments[..], &["--free", "/station/downwind_m=-20..20"]].concat());
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stdout).contains("NOTHING CLOSES"));
}

#[test]
fn a_region_is_a_table_a_csv_and_a_figure() {
    let folder = folder("region");
    let scenario = root().join(MAIN);
    let axes = ["--x", "/station/height_m=60..140:3", "--y", "/payload/mass_kg=0..3:6", "--winds", "8"];
    let arguments = [&["region", scenario.to_str().unwrap()][..], &axes, &["--plot", "r.svg"]].concat();
    let output = run_in(&folder, &arguments, b"");
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("what binds there"));
    assert!(fs::read_to_string(folder.join("r.svg")).unwrap().contains("broken: "));
    let csv = text(&run(&[&["region", MAIN][..], &axes, &["--format", "csv"]].concat()).stdout);
    assert_eq!(csv.lines().count(), 1 + 3 * 6);
}
