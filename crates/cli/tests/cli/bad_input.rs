//! Every kind of bad input gives its exact message and exit code 2, and nothing on standard output.

use std::fs;

use super::{folder, json, root, run, run_in, text};

fn scenario() -> String {
    fs::read_to_string(root().join("scenarios/breakwater-lookout.json")).unwrap()
}

/// The scenario with one piece of text replaced; the piece must be there.
fn with(from: &str, to: &str) -> String {
    let scenario = scenario();
    assert!(scenario.contains(from), "{from}");
    scenario.replacen(from, to, 1)
}

/// Runs `point` on `bytes` in a file `plan.json` and compares the whole message.
#[track_caller]
fn refused(name: &str, bytes: impl AsRef<[u8]>, message: &str) {
    let folder = folder(name);
    fs::write(folder.join("plan.json"), bytes).unwrap();
    let output = run_in(&folder, &["point", "plan.json"], b"");
    assert_eq!(text(&output.stderr).trim_end(), message.trim_start_matches('\n').trim_end());
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(text(&output.stdout), "");
}

#[test]
fn truncated_file() {
    let whole = scenario();
    let cut = whole.find("\"elevation_m\"").unwrap();
    refused(
        "truncated",
        &whole[..cut],
        r#"
error[E0101]: this is not JSON: EOF while parsing an object
 --> plan.json:5:4
  |
5 |     
  |    ^ here
  |
  = help: the text ends too early; is the file cut off, or a bracket or quote not closed?"#,
    );
}

#[test]
fn wrong_type() {
    refused(
        "wrong-type",
        with("\"mass_kg\": 0.9, \"power_w\"", "\"mass_kg\": \"0.9 kg\", \"power_w\""),
        r#"
error[E0102]: found text where a number in kg belongs
  --> plan.json:79:27
   |
79 |   "payload": { "mass_kg": "0.9 kg", "power_w": 25 },
   |                           ^^^^^^^^ /payload/mass_kg
   |
   = help: write the number without quotes and without its unit: the key carries the unit"#,
    );
}

#[test]
fn unknown_key_with_a_near_miss() {
    refused(
        "unknown-key",
        with("\"mass_kg\": 0.9, \"power_w\"", "\"masss_kg\": 0.9, \"power_w\""),
        r#"
error[E0104]: unknown key "masss_kg"
  --> plan.json:79:16
   |
79 |   "payload": { "masss_kg": 0.9, "power_w": 25 },
   |                ^^^^^^^^^^ /payload/masss_kg
   |
   = help: did you mean "mass_kg"?"#,
    );
}

#[test]
fn wrong_unit_suffix() {
    refused(
        "wrong-suffix",
        with("\"diameter_mm\": 2.0", "\"diameter_cm\": 0.2"),
        r#"
error[E0104]: unknown key "diameter_cm"
  --> plan.json:33:46
   |
33 |           "measured": { "mass_g_per_m": 3.4, "diameter_cm": 0.2, "breaking_load_n": 1600, "axial_stiffness_n": 92000 }
   |                                              ^^^^^^^^^^^^^ /delivery/fiber/tether/construction/measured/diameter_cm
   |
   = help: every key ends in its unit; write "diameter_mm" and convert the number"#,
    );
}

#[test]
fn missing_part() {
    let whole = scenario();
    let cut = whole.find(",\n  \"station\"").unwrap();
    refused(
        "missing",
        format!("{}\n}}\n", &whole[..cut]),
        r#"
error[E0105]: missing key "station"
 --> plan.json:1:1
  |
1 | {
  | ^ here
  |
  = help: add "station": Where the vehicle is held."#,
    );
}

#[test]
fn missing_receiver_is_found_by_the_planner() {
    let mut value: serde_json::Value = serde_json::from_str(&scenario()).unwrap();
    let object = value.as_object_mut().unwrap();
    object.remove("receiver");
    // It names numbers of the receiver, and would be refused first.
    object.remove("uncertainty");
    refused(
        "no-receiver",
        "{\n".to_owned() + &value.to_string()[1..],
        r#"
error[E0201]: light needs "receiver" in the scenario
 --> plan.json:1:1
  |
1 | {
  | ^ here
  |
  = help: add "receiver" in the scenario"#,
    );
}

#[test]
fn negative_mass() {
    refused(
        "negative",
        with("\"mass_kg\": 0.9, \"power_w\"", "\"mass_kg\": -0.9, \"power_w\""),
        r#"
error[E0103]: mass -0.9 kg is outside 0 to 5000 kg
  --> plan.json:79:27
   |
79 |   "payload": { "mass_kg": -0.9, "power_w": 25 },
   |                           ^^^^ /payload/mass_kg
   |
   = help: the value is in kg; was 0.9 meant?"#,
    );
}

#[test]
fn not_a_number_and_too_large_a_number() {
    for (name, word, mark) in [("nan", "NaN", "^^^"), ("huge", "1e400", "^^^^^")] {
        refused(
            name,
            with("\"mass_kg\": 0.9, \"power_w\"", &format!("\"mass_kg\": {word}, \"power_w\"")),
            &format!(
                r#"
error[E0108]: {word} is not a finite number
  --> plan.json:79:27
   |
79 |   "payload": {{ "mass_kg": {word}, "power_w": 25 }},
   |                           {mark} here
   |
   = help: write a finite number; leave an optional key out where there is none"#
            ),
        );
    }
}

#[test]
fn unknown_choice() {
    refused(
        "choice",
        with("\"multirotor\": {", "\"multirotr\": {"),
        r#"
error[E0106]: unknown choice "multirotr"
  --> plan.json:67:5
   |
67 |     "multirotr": {
   |     ^^^^^^^^^^^ /vehicle/multirotr
   |
   = help: did you mean "multirotor"?"#,
    );
}

#[test]
fn key_that_stands_twice() {
    refused(
        "twice",
        with("\"rated_w\": 1600,", "\"rated_w\": 1600, \"rated_w\": 1700,"),
        r#"
error[E0107]: key "rated_w" stands twice
  --> plan.json:14:24
   |
14 |       "rated_w": 1600, "rated_w": 1700,
   |                        ^^^^^^^^^ /ground/laser/rated_w
   |
   = help: keep one "rated_w" and delete the other"#,
    );
}

#[test]
fn several_faults_are_told_in_one_run() {
    let text_of = with("\"mass_kg\": 0.9, \"power_w\"", "\"mass_kg\": -0.9, \"powr_w\"").replacen(
        "\"height_m\": 100",
        "\"height_m\": \"high\"",
        1,
    );
    let folder = folder("several");
    fs::write(folder.join("plan.json"), text_of).unwrap();
    let output = run_in(&folder, &["point", "plan.json", "--format", "json"], b"");
    let errors = json(&output)["errors"].as_array().unwrap().clone();
    let codes: Vec<&str> = errors.iter().map(|e| e["code"].as_str().unwrap()).collect();
    assert_eq!(codes, ["E0103", "E0104", "E0102"]);
    assert_eq!((&errors[0]["line"], &errors[0]["column"]), (&79.into(), &27.into()));
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn empty_file() {
    refused(
        "empty",
        "",
        r#"
error[E0004]: plan.json is empty
 |
 = help: `beamstay new` writes a scenario to begin with"#,
    );
}

#[test]
fn binary_file() {
    refused(
        "binary",
        [b'{', b'"', 0xff, 0xfe, 0x00],
        r#"
error[E0005]: plan.json is not text: byte 2 is not UTF-8
 |
 = help: save the scenario as JSON text in UTF-8"#,
    );
}

#[test]
fn fifty_megabyte_file() {
    refused(
        "large",
        vec![b' '; 50_000_000],
        r#"
error[E0003]: plan.json is larger than 4 MiB
 |
 = help: is this the right file? a scenario is a few kilobytes"#,
    );
}

#[test]
fn deep_nesting() {
    let folder = folder("deep");
    fs::write(folder.join("plan.json"), "[".repeat(100_000)).unwrap();
    let output = run_in(&folder, &["point", "plan.json"], b"");
    let message = text(&output.stderr);
    assert!(message.starts_with("error[E0101]: this is not JSON: recursion limit exceeded\n"), "{message}");
    assert!(
        message.trim_end().ends_with("= help: brackets may stand 128 deep; a scenario needs ten"),
        "{message}"
    );
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn file_not_there() {
    let output = run_in(&folder("nowhere"), &["point", "plan.json"], b"");
    assert_eq!(
        text(&output.stderr),
        "error[E0001]: there is no file plan.json\n |\n = help: check the path; `beamstay new` writes a scenario to begin with\n"
    );
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn folder_instead_of_a_file() {
    let output = run_in(&folder("is-folder"), &["point", "."], b"");
    assert_eq!(
        text(&output.stderr),
        "error[E0002]: . is a folder, not a file\n |\n = help: name a file in it, such as ./plan.json\n"
    );
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn bad_assignments() {
    let point = |assignment: &str| {
        let output = run(&["point", "scenarios/breakwater-lookout.json", "--set", assignment]);
        assert_eq!(output.status.code(), Some(2), "{assignment}");
        text(&output.stderr)
    };
    assert_eq!(
        point("payload=3"),
        "error[E0402]: \"payload=3\" is not of the form /pointer=value\n |\n = note: on the command line\n = help: write it like --set /payload/mass_kg=1.2\n"
    );
    assert_eq!(
        point("/payload/mass=3"),
        "error[E0104]: unknown key \"mass\"\n |\n = note: at /payload/mass, given by --set\n = help: every key ends in its unit; write \"mass_kg\" and convert the number\n"
    );
    assert_eq!(
        point("/paylod/mass_kg=3"),
        "error[E0401]: the scenario has no \"paylod\"\n |\n = note: at /paylod/mass_kg, given by --set\n = help: did you mean /payload?\n"
    );
    assert_eq!(
        point("/payload/mass_kg=-3"),
        "error[E0103]: mass -3 kg is outside 0 to 5000 kg\n |\n = note: at /payload/mass_kg, given by --set\n = help: the value is in kg; was 3 meant?\n"
    );
}

#[test]
fn byte_mutations_never_panic() {
    // A small seeded sample; the state of the generator is all it needs.
    let whole = scenario().into_bytes();
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    let mut next = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % below as u64) as usize
    };
    for _ in 0..200 {
        let mut bytes = whole.clone();
        for _ in 0..=next(3) {
            let at = next(bytes.len());
            bytes[at] = next(256) as u8;
        }
        let output = run_in(&root(), &["point", "-", "--format", "json"], &bytes);
        let code = output.status.code();
        assert!(matches!(code, Some(0..=3)), "{code:?} {}", text(&output.stderr));
        assert!(!text(&output.stderr).contains("panicked"), "{}", text(&output.stderr));
    }
}
