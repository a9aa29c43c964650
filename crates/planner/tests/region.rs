//! The boundary of the feasible region against root finding at single places, with a station found by scanning.

#![allow(clippy::unwrap_used, missing_docs, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, System, load,
    region::{RegionQuestion, region},
    scenario::{Winch, WindProfile},
};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");

/// Largest payload that closes at a station, by bisection; none if none does.
fn largest_payload_kg(system: &mut System, height_m: f64, downwind_m: f64, paid_out_m: f64) -> Option<f64> {
    let mut scenario_station = load(&Document::parse(BREAKWATER).unwrap()).unwrap().scenario.station;
    scenario_station.height_m = height_m;
    scenario_station.downwind_m = downwind_m;
    scenario_station.winch = Some(Winch::PaidOut { paid_out_m });
    let place = system.place(&scenario_station).unwrap();
    let hanging = system.hang(&place, None).ok()?;
    let mut closes = |payload_kg: f64| {
        system.masses.payload_kg = payload_kg;
        system.operate_on(&place, &hanging).is_ok_and(|point| point.feasible)
    };
    if !closes(0.0) {
        return None;
    }
    let (mut lo, mut hi) = (0.0, 6.0);
    for _ in 0..40 {
        let middle = 0.5 * (lo + hi);
        if closes(middle) { lo = middle } else { hi = middle }
    }
    Some(lo)
}

/// Largest payload over all stations: a coarse scan, then ever finer ones around the best.
fn scanned_kg(height_m: f64, wind_m_s: f64) -> f64 {
    let mut scenario = load(&Document::parse(BREAKWATER).unwrap()).unwrap().scenario;
    if let WindProfile::PowerLaw { speed_m_s, .. } = &mut scenario.site.wind.profile {
        *speed_m_s = wind_m_s;
    }
    let mut system = System::new(&scenario).unwrap();
    let (mut centre, mut half) = ((0.0, 0.2), (120.0, 0.2));
    let mut best = 0.0;
    for round in 0..9 {
        let count = if round == 0 { 16 } else { 6 };
        let mut here = centre;
        for i in 0..=count {
            for j in 0..=count {
                let at = |k: i32| 2.0 * f64::from(k) / f64::from(count) - 1.0;
                let (x, slack) = (centre.0 + half.0 * at(i), (centre.1 + half.1 * at(j)).max(1e-4));
                let straight_m = f64::hypot(x, height_m - 0.5);
                let paid_out_m = (straight_m * (1.0 + slack)).min(150.0);
                if paid_out_m <= straight_m {
                    continue;
                }
                if let Some(kg) = largest_payload_kg(&mut system, height_m, x, paid_out_m)
                    && kg > best
                {
                    best = kg;
                    here = (x, paid_out_m / straight_m - 1.0);
                }
            }
        }
        centre = here;
        half = (0.45 * half.0, 0.45 * half.1);
    }
    best
}

fn boundary_holds(places: &[(f64, f64)]) {
    let document = Document::parse(BREAKWATER).unwrap();
    let loaded = load(&document).unwrap();
    for (height_m, wind_m_s) in places {
        let x = format!("/station/height_m={height_m}");
        let winds = wind_m_s.to_string();
        let question =
            RegionQuestion::parse(&loaded, Some(&x), Some("/payload/mass_kg=0..5:26"), Some(&winds)).unwrap();
        let report = region(&document, &loaded, &question, &|_, _| {}).unwrap();
        let top = report.layers[0].boundary.iter().filter(|p| p.upper).map(|p| p.y).fold(0.0, f64::max);
        let scanned_kg = scanned_kg(*height_m, *wind_m_s);
        println!(
            "height {height_m:.3} m, wind {wind_m_s:.3} m/s: boundary {top:.5} kg, scanned {scanned_kg:.5} kg"
        );
        assert!(top >= scanned_kg * (1.0 - 1e-3), "{height_m} m, {wind_m_s} m/s: {top} against {scanned_kg}");
        // A scan can only miss; what the map has more must be real.
        let cell = report.layers[0].cells.iter().filter(|c| c.feasible).count();
        assert!(cell > 0 || scanned_kg == 0.0);
    }
}

/// Places spread by the golden ratio.
fn places(count: u32) -> Vec<(f64, f64)> {
    (0..count)
        .map(|i| {
            let spread = |by: f64| (0.5 + by * f64::from(i)).fract();
            (30.0 + 105.0 * spread(0.618_034), 14.0 * spread(0.754_878))
        })
        .collect()
}

#[test]
fn val_the_boundary_is_where_root_finding_puts_it() {
    boundary_holds(&places(2));
}

/// At 50 places: `cargo test --release -p beamstay-planner --test region -- --ignored --nocapture`.
#[test]
#[ignore = "minutes: 50 places, each scanned"]
fn val_the_boundary_holds_at_fifty_places() {
    boundary_holds(&places(50));
}
