//! Each physics crate opens with an example that names that crate alone, so that one dependency is enough to use it. The
//! examples themselves run as documentation tests.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::{fs, path::Path};

const PHYSICS: [&str; 6] = ["environment", "electrical", "tether", "rotor", "optics", "vehicle"];

/// Lines of the first example in the crate's own documentation.
fn opening_example(name: &str) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("../crates/{name}/src/lib.rs"));
    let text = fs::read_to_string(path).unwrap();
    text.lines()
        .map_while(|line| line.strip_prefix("//!"))
        .map(str::trim)
        .skip_while(|line| *line != "```")
        .skip(1)
        .take_while(|line| *line != "```")
        .map(str::to_owned)
        .collect()
}

/// Crates of ours, and those that their signatures name, which an example reaches by a path of its own.
fn crates_named(example: &[String]) -> Vec<&str> {
    let words = |line| str::split(line, |c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
    let mut named: Vec<&str> = example
        .iter()
        .flat_map(|line| words(line))
        .filter_map(|path| path.split("::").next())
        .filter(|root| root.starts_with("beamstay_"))
        .collect();
    named.extend(example.iter().filter(|line| line.starts_with("use nalgebra")).map(String::as_str));
    named.sort_unstable();
    named.dedup();
    named
}

#[test]
fn every_physics_crate_opens_with_an_example_of_itself_alone() {
    for name in PHYSICS {
        let example = opening_example(name);
        assert!(example.iter().any(|line| line.contains("assert")), "{name}: its example shows no result");
        assert_eq!(crates_named(&example), [format!("beamstay_{name}")], "{name}");
    }
}

#[test]
fn a_second_crate_is_seen() {
    let example =
        ["use beamstay_tether::Line;", "use nalgebra::Vector3;", "beamstay_environment::Water::fresh()"]
            .map(str::to_owned);
    assert_eq!(crates_named(&example), ["beamstay_environment", "beamstay_tether", "use nalgebra::Vector3;"]);
}
