//! Text of a scenario is text wherever it is told: in pages, figures, tables and JSON it cannot become markup, and in a
//! weather path it cannot lead out of the scenario's folder.

use std::{collections::BTreeSet, fs, path::Path};

use serde_json::{Value, json};

use super::{folder, json, root, run, run_in, text};

/// Every place of the schema where any text may stand.
const TEXTS: [&str; 6] = [
    "/$defs/UncertainInput/properties/note",
    "/$defs/UncertainInput/properties/pointer",
    "/$defs/Weather/oneOf/2/properties/file/properties/path",
    "/properties/$schema",
    "/properties/note",
    "/properties/title",
];

/// Markup with every character that ends a text somewhere, told apart by a number.
fn markup(number: usize) -> String {
    format!("<script>alert({number})</script>\"'&")
}

fn texts(schema: &Value, at: &str, found: &mut BTreeSet<String>) {
    match schema {
        Value::Object(parts) => {
            let is_text = match parts.get("type") {
                Some(Value::String(kind)) => kind == "string",
                Some(Value::Array(kinds)) => kinds.iter().any(|kind| kind == "string"),
                _ => false,
            };
            if is_text && !parts.contains_key("enum") && !parts.contains_key("const") {
                found.insert(at.to_owned());
            }
            parts.iter().for_each(|(key, part)| texts(part, &format!("{at}/{key}"), found));
        }
        Value::Array(parts) => {
            parts.iter().enumerate().for_each(|(i, part)| texts(part, &format!("{at}/{i}"), found));
        }
        _ => {}
    }
}

/// A plan with markup in every text that a plan which runs can hold, beside its weather.
fn plan(place: &Path) -> Value {
    let source = fs::read_to_string(root().join("scenarios/breakwater-lookout.json")).unwrap();
    let mut plan: Value = serde_json::from_str(&source).unwrap();
    let weather = format!("{}.csv", markup(0));
    let file = place.join(&weather);
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(file, "time,wind_m_s\n2024-01-01T00:00Z,5\n2024-01-01T01:00Z,7\n2024-01-01T02:00Z,6\n")
        .unwrap();
    plan["site"]["weather"] = json!({ "file": { "path": weather } });
    plan["title"] = json!(markup(1));
    plan["note"] = json!(markup(2));
    plan["$schema"] = json!(markup(3));
    for input in plan["uncertainty"]["inputs"].as_array_mut().unwrap() {
        input["note"] = json!(markup(4));
    }
    plan
}

/// Fails where the markup of a text stands in a page or a figure as it was written.
fn only_escaped(name: &str, written: &str) {
    for raw in ["<script>alert", "alert(0)</", "alert(1)</", "alert(2)</", "alert(3)</", "alert(4)</"] {
        let at = written
            .find(raw)
            .map(|at| written[at.saturating_sub(60)..].chars().take(160).collect::<String>());
        assert_eq!(at, None, "{name} holds {raw}");
    }
}

/// Fails where a quote inside a cell is not doubled.
fn cells_are_closed(name: &str, table: &str) {
    let quotes_count = table.matches('"').count();
    assert_eq!(quotes_count % 2, 0, "{name}: a cell is not closed");
    assert_eq!(table.matches("</script>\"").count(), table.matches("</script>\"\"'&").count(), "{name}");
}

#[test]
fn every_text_of_the_schema_is_tried() {
    let mut found = BTreeSet::new();
    texts(&json(&run(&["schema"])), "", &mut found);
    assert_eq!(
        found,
        TEXTS.into_iter().map(str::to_owned).collect(),
        "a new text belongs in `plan` of this file"
    );
}

#[test]
fn markup_of_a_plan_stays_text_in_its_report() {
    let place = folder("markup-report");
    // The name of the file is text of the user too.
    fs::write(place.join("<b onclick='alert(5)'>&.json"), plan(&place).to_string()).unwrap();
    let output = run_in(&place, &["report", "<b onclick='alert(5)'>&.json", "-o", "out"], b"");
    assert!(matches!(output.status.code(), Some(0 | 1)), "{}", text(&output.stderr));
    let (mut pages_count, mut figures_count, mut tables_count, mut told_count) = (0, 0, 0, 0);
    for entry in fs::read_dir(place.join("out")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let written = fs::read_to_string(&path).unwrap();
        assert!(!written.contains("NaN") && !written.contains("Infinity"), "{name}");
        match path.extension().and_then(|end| end.to_str()) {
            Some("html") => {
                only_escaped(&name, &written);
                assert!(!written.contains("<b onclick"), "{name}");
                told_count += written.matches("&lt;script&gt;alert(1)").count();
                told_count += written.matches("&#60;script&#62;alert(1)").count();
                pages_count += 1;
            }
            Some("svg") => {
                only_escaped(&name, &written);
                figures_count += 1;
            }
            Some("csv") => {
                cells_are_closed(&name, &written);
                tables_count += 1;
            }
            _ => {
                let read: Value = serde_json::from_str(&written).unwrap();
                assert_eq!(read.pointer("/point/title"), Some(&json!(markup(1))), "{name}");
            }
        }
    }
    assert!(
        pages_count == 1 && figures_count > 5 && tables_count > 5,
        "{pages_count} {figures_count} {tables_count}"
    );
    assert!(told_count > 0, "the page tells the title");
}

#[test]
fn markup_of_a_plan_stays_text_in_every_figure() {
    let place = folder("markup-figures");
    fs::write(place.join("plan.json"), plan(&place).to_string()).unwrap();
    for words in [
        "tether plan.json",
        "rotor plan.json",
        "hazard plan.json",
        "receiver plan.json",
        "compare plan.json",
        "endurance plan.json",
        "lightloss plan.json",
        "risk plan.json --draws 8 --samples 0",
        "sweep plan.json --vary /payload/mass_kg=0.5,0.9",
    ] {
        let mut words: Vec<&str> = words.split(' ').collect();
        words.extend(["--plot", "figure.svg"]);
        let output = run_in(&place, &words, b"");
        assert!(matches!(output.status.code(), Some(0 | 1)), "{words:?}: {}", text(&output.stderr));
        let svg = fs::read_to_string(place.join("figure.svg")).unwrap();
        assert!(svg.contains("&lt;script&gt;alert(1)"), "{words:?}: the figure tells the title");
        only_escaped(words[0], &svg);
        fs::remove_file(place.join("figure.svg")).unwrap();
    }
    for words in
        ["endurance plan.json", "receiver plan.json", "sweep plan.json --vary /payload/mass_kg=0.5,0.9"]
    {
        let mut words: Vec<&str> = words.split(' ').collect();
        words.extend(["--format", "csv"]);
        let output = run_in(&place, &words, b"");
        assert!(matches!(output.status.code(), Some(0 | 1)), "{words:?}: {}", text(&output.stderr));
        cells_are_closed(words[0], &text(&output.stdout));
    }
}

#[test]
fn markup_in_a_pointer_is_refused_and_told_as_text() {
    let place = folder("markup-pointer");
    let mut plan = plan(&place);
    plan["uncertainty"]["inputs"][0]["pointer"] = json!(format!("/{}", markup(6)));
    fs::write(place.join("plan.json"), plan.to_string()).unwrap();
    let output = run_in(&place, &["report", "plan.json", "-o", "out"], b"");
    assert_eq!(output.status.code(), Some(2), "{}", text(&output.stderr));
    assert!(!place.join("out").exists());
}

#[cfg(unix)]
#[test]
fn a_weather_path_cannot_leave_its_folder() {
    let outside = folder("weather-outside");
    fs::write(outside.join("secret.csv"), "time,wind_m_s\n2024-01-01T00:00Z,5\n").unwrap();
    fs::write(outside.join("secret.txt"), "the word is mellon").unwrap();
    let place = outside.join("plans");
    fs::create_dir_all(place.join("inner")).unwrap();
    std::os::unix::fs::symlink(outside.join("secret.csv"), place.join("link.csv")).unwrap();
    std::os::unix::fs::symlink(&outside, place.join("around")).unwrap();
    std::os::unix::fs::symlink("loop.csv", place.join("loop.csv")).unwrap();
    let absolute = outside.join("secret.csv").to_string_lossy().into_owned();
    for path in [
        "../secret.csv",
        "../secret.txt",
        "inner/../../secret.csv",
        "link.csv",
        "around/secret.csv",
        "loop.csv",
        "inner",
        "",
        "/dev/zero",
        "/proc/self/environ",
        &absolute,
    ] {
        let source = fs::read_to_string(root().join("scenarios/breakwater-lookout.json")).unwrap();
        let mut plan: Value = serde_json::from_str(&source).unwrap();
        plan["site"]["weather"] = json!({ "file": { "path": path } });
        fs::write(place.join("plan.json"), plan.to_string()).unwrap();
        for words in [&["endurance", "plan.json"][..], &["report", "plan.json", "-o", "out"]] {
            let output = run_in(&place, words, b"");
            assert_eq!(output.status.code(), Some(2), "{path}: {}", text(&output.stderr));
            assert!(!text(&output.stderr).contains("mellon"), "{path}");
            assert!(!place.join("out").exists(), "{path}");
        }
    }
}

#[cfg(unix)]
#[test]
fn a_pipe_instead_of_weather_does_not_wait() {
    let place = folder("weather-pipe");
    let made = std::process::Command::new("mkfifo").arg(place.join("pipe.csv")).status();
    if !made.is_ok_and(|status| status.success()) {
        return;
    }
    let source = fs::read_to_string(root().join("scenarios/breakwater-lookout.json")).unwrap();
    let mut plan: Value = serde_json::from_str(&source).unwrap();
    plan["site"]["weather"] = json!({ "file": { "path": "pipe.csv" } });
    fs::write(place.join("plan.json"), plan.to_string()).unwrap();
    let output = run_in(&place, &["endurance", "plan.json"], b"");
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("is not a file"), "{}", text(&output.stderr));
}
