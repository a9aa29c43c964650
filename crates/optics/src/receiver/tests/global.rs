//! The highest of several maxima of bypassed strings in parallel, held against scans of the whole curve.
//!
//! Why a scan can be trusted: at a given voltage the bypassed cells of a string are its dimmest, and with those fixed its
//! current is concave in the voltage. Between the voltages where a bypass diode of any string switches, power is therefore
//! concave: one maximum in each of at most cells − strings + 1 intervals, each far wider than the step of the scan.

use super::super::{Diode, DiodeSpec, Shares, UnevenArray, series::OneString};

const BYPASS_V: f64 = 0.4;

fn cell(photocurrent_a: f64, shunt_resistance_ohm: f64) -> Diode {
    Diode::new(DiodeSpec {
        photocurrent_a,
        saturation_current_a: 2e-19,
        ideality: 1.05,
        series_resistance_ohm: 0.02,
        shunt_resistance_ohm,
        cells_in_series: 1,
        temperature_k: 298.15,
    })
    .unwrap()
}

/// Current of a string at a voltage by bisection: its voltage falls with its current.
fn current_a(string: &OneString<'_>, voltage_v: f64) -> f64 {
    let (mut low_a, mut high_a) = (-string.photocurrent_a, 2.0 * string.photocurrent_a);
    for _ in 0..44 {
        let middle_a = 0.5 * (low_a + high_a);
        if string.voltage(middle_a).v > voltage_v {
            low_a = middle_a;
        } else {
            high_a = middle_a;
        }
    }
    0.5 * (low_a + high_a)
}

/// Largest power of a scan with each of its peaks looked at closely.
fn scanned_w(array: &UnevenArray<'_>, steps_count: u32) -> f64 {
    let top_v = 1.25 * array.series_count as f64;
    let power_w = |voltage_v: f64| voltage_v * array.strings().map(|s| current_a(&s, voltage_v)).sum::<f64>();
    let step_v = top_v / f64::from(steps_count);
    let curve: Vec<f64> = (0..=steps_count).map(|i| power_w(step_v * f64::from(i))).collect();
    let mut best_w: f64 = 0.0;
    for i in 1..curve.len() - 1 {
        if curve[i] >= curve[i - 1] && curve[i] >= curve[i + 1] && curve[i] > 0.97 * best_w {
            let (mut low_v, mut high_v) = (step_v * (i as f64 - 1.0), step_v * (i as f64 + 1.0));
            for _ in 0..24 {
                let (left_v, right_v) = (low_v + 0.382 * (high_v - low_v), low_v + 0.618 * (high_v - low_v));
                if power_w(left_v) < power_w(right_v) {
                    low_v = left_v;
                } else {
                    high_v = right_v;
                }
            }
            best_w = best_w.max(power_w(0.5 * (low_v + high_v)));
        }
    }
    best_w
}

/// Every way to give `count` cells of a string one of the levels, order aside.
fn strings_of(levels: &[f64], count: usize) -> Vec<Vec<f64>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut all = Vec::new();
    for (i, level) in levels.iter().enumerate() {
        for mut rest in strings_of(&levels[i..], count - 1) {
            rest.push(*level);
            all.push(rest);
        }
    }
    all
}

fn compare(shares: &[f64], series_count: usize, shunt_ohm: f64, steps_count: u32) {
    let cell = cell(shares.iter().sum(), shunt_ohm);
    let shared = Shares::in_proportion(shares).unwrap();
    let array = UnevenArray::new(&cell, &shared, series_count, Some(BYPASS_V)).unwrap();
    let (found_w, scanned_w) = (array.maximum_power().power_w, scanned_w(&array, steps_count));
    assert!((found_w / scanned_w - 1.0).abs() < 1e-6, "{shares:?} in {series_count}: {found_w} {scanned_w}");
}

#[test]
fn val_every_pair_of_strings_of_three_gives_its_highest_maximum() {
    let strings = strings_of(&[0.06, 0.3, 0.62, 1.0], 3);
    for (i, first) in strings.iter().enumerate() {
        for second in &strings[..=i] {
            compare(&[first.as_slice(), second.as_slice()].concat(), 3, 1000.0, 90);
        }
    }
}

#[test]
fn val_every_three_strings_of_two_give_their_highest_maximum() {
    let strings = strings_of(&[0.1, 0.45, 1.0], 2);
    for (i, first) in strings.iter().enumerate() {
        for (j, second) in strings[..=i].iter().enumerate() {
            for third in &strings[..=j] {
                compare(&[first.as_slice(), second.as_slice(), third.as_slice()].concat(), 2, 50.0, 60);
            }
        }
    }
}

#[test]
fn val_every_string_of_six_gives_its_highest_maximum() {
    for string in strings_of(&[0.1, 0.45, 1.0], 6) {
        compare(&string, 6, 1000.0, 150);
    }
}
