//! The risk of a plan: repeatable, in its bounds, and right where the answer is known.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, load,
    risk::{RiskOptions, RiskReport, risk},
};
use serde_json::{Value, json};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");
const LOITER: &str = include_str!("../../../scenarios/free-beam-loiter.json");

fn document(text: &str, changes: &[(&str, Value)]) -> Document {
    let mut document = Document::parse(text).unwrap();
    for (pointer, value) in changes {
        document.set(pointer, value.clone()).unwrap();
    }
    document
}

fn run(document: &Document, draws_count: u32, samples_count: u32) -> RiskReport {
    let options = RiskOptions { draws_count, samples_count, seed: 1 };
    risk(document, &load(document).unwrap(), &options, &|_, _| {}).unwrap()
}

/// Text of the report with the threads limited to `threads`.
fn text_with(threads: usize, text: &str) -> String {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    pool.install(|| serde_json::to_string(&run(&document(text, &[]), 1000, 96)).unwrap())
}

#[test]
fn the_same_bytes_whatever_the_threads() {
    for text in [BREAKWATER, LOITER] {
        let one = text_with(1, text);
        for threads in [2, 5, 8] {
            assert_eq!(one, text_with(threads, text), "{threads} threads");
        }
    }
}

#[test]
fn one_uniform_number_is_counted_as_it_is() {
    // The plan closes up to some payload; the share of a uniform payload below it is known.
    let payload = |low: f64, high: f64| json!({"inputs": [{"pointer": "/payload/mass_kg", "distribution": {"uniform": {"low": low, "high": high}}}]});
    let report = run(&document(BREAKWATER, &[("/uncertainty", payload(0.5, 4.0))]), 1 << 14, 256);
    let closes = |mass: f64| {
        let document = document(BREAKWATER, &[("/payload/mass_kg", json!(mass))]);
        let scenario = load(&document).unwrap().scenario;
        let system = beamstay_planner::System::new(&scenario).unwrap();
        system.operate(&system.place(&scenario.station).unwrap()).unwrap().feasible
    };
    let (mut low, mut high) = (0.5, 4.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if closes(middle) { low = middle } else { high = middle }
    }
    let exact = (low - 0.5) / 3.5;
    assert!((report.closes_ratio - exact).abs() < 2e-4, "{} {exact}", report.closes_ratio);
    // One number causes all of the variance.
    let index = report.numbers[0].of_verdict.unwrap();
    assert!(
        (index.first_order_ratio - 1.0).abs() < 0.05 && (index.total_ratio - 1.0).abs() < 0.05,
        "{index:?}"
    );
}

#[test]
fn a_number_that_does_nothing_has_no_share() {
    let part = json!({"inputs": [
        {"pointer": "/payload/mass_kg", "distribution": {"normal": {"deviation": 0.05}}},
        {"pointer": "/limits/break_load_factor", "relative": true, "distribution": {"uniform": {"low": 0.99, "high": 1.01}}},
    ]});
    let report = run(&document(BREAKWATER, &[("/uncertainty", part)]), 256, 128);
    assert_eq!(report.numbers[0].pointer, "/payload/mass_kg");
    let idle = report.numbers[1].of_margin.unwrap();
    assert!(idle.first_order_ratio.abs() < 1e-6 && idle.total_ratio < 1e-6, "{idle:?}");
}

#[test]
fn shares_and_percentiles_agree() {
    for text in [BREAKWATER, LOITER] {
        let report = run(&document(text, &[]), 2048, 128);
        assert!(
            report.closes_low_ratio <= report.closes_ratio && report.closes_ratio <= report.closes_high_ratio
        );
        assert_eq!(report.closes_ratio, report.closes_count as f64 / 2048.0);
        // The plan closes exactly where the least margin is not negative.
        for percentile in &report.percentiles {
            let share = 0.01 * percentile.share_percent;
            let closes = percentile.least_margin_ratio.unwrap() >= 0.0;
            assert_eq!(closes, share > 1.0 - report.closes_ratio, "{percentile:?} {}", report.closes_ratio);
        }
        let margins: Vec<f64> = report.percentiles.iter().filter_map(|p| p.margin_w).collect();
        assert!(margins.windows(2).all(|w| w[0] <= w[1]));
        let tightest: f64 = report.limits.iter().map(|l| l.tightest_ratio).sum();
        assert!((tightest - 1.0).abs() < 0.01, "{tightest}");
    }
}

#[test]
fn a_better_laser_never_lowers_the_chance() {
    let chance = |rated: f64| {
        run(&document(BREAKWATER, &[("/ground/laser/rated_w", json!(rated))]), 512, 0).closes_ratio
    };
    assert!(chance(1200.0) <= chance(1600.0) && chance(1600.0) <= chance(2200.0));
}

#[test]
fn faults_of_the_part_are_told_with_their_place() {
    let fault = |input: Value| {
        let document = document(BREAKWATER, &[("/uncertainty", json!({"inputs": [input]}))]);
        let faults = load(&document).unwrap_err();
        (faults[0].pointer.clone(), format!("{} {}", faults[0], faults[0].help()))
    };
    let uniform = |low: f64, high: f64| json!({"uniform": {"low": low, "high": high}});
    let cases = [
        (
            json!({"pointer": "/payload/mas_kg", "distribution": uniform(0.0, 1.0)}),
            "/uncertainty/inputs/0/pointer",
            "/payload/mass_kg",
        ),
        (
            json!({"pointer": "/title", "distribution": uniform(0.0, 1.0)}),
            "/uncertainty/inputs/0/pointer",
            "number",
        ),
        (
            json!({"pointer": "/receiver/sink/fins_count", "distribution": uniform(2.0, 9.0)}),
            "/uncertainty/inputs/0/pointer",
            "whole",
        ),
        (
            json!({"pointer": "/payload/mass_kg", "distribution": uniform(1.0, 0.5)}),
            "/uncertainty/inputs/0/distribution",
            "upper end",
        ),
        (
            json!({"pointer": "/payload/mass_kg", "distribution": uniform(-1.0, 1.0)}),
            "/uncertainty/inputs/0/distribution",
            "50.0 %",
        ),
        (
            json!({"pointer": "/site/temperature_offset_k", "relative": true, "distribution": uniform(0.5, 1.0)}),
            "/uncertainty/inputs/0/relative",
            "multiples",
        ),
    ];
    for (input, pointer, word) in cases {
        let (at, text) = fault(input);
        assert!(at == pointer && text.contains(word), "{at}: {text}");
    }
    let twice = json!({"pointer": "/payload/mass_kg", "distribution": uniform(0.5, 1.0)});
    let document = document(BREAKWATER, &[("/uncertainty", json!({"inputs": [twice.clone(), twice]}))]);
    assert!(load(&document).unwrap_err()[0].to_string().contains("twice"));
}

#[test]
fn draws_beyond_the_range_are_counted() {
    // 0.5 % of this payload would be negative.
    let part = json!({"inputs": [{"pointer": "/payload/mass_kg", "distribution": {"normal": {"mean": 0.5, "deviation": 0.194}}}]});
    let report = run(&document(BREAKWATER, &[("/uncertainty", part)]), 4096, 0);
    assert!((15..30).contains(&report.numbers[0].clipped_count), "{}", report.numbers[0].clipped_count);
    assert_eq!(report.numbers[0].of_margin, None);
}
