//! The boundary of the feasible region against root finding for the payload at every station of a grid and of ever finer ones.

#![allow(clippy::unwrap_used, missing_docs, reason = "a test fails by panicking")]

use beamstay_planner::{
    Document, Hanging, Place, System, load,
    region::{RegionQuestion, region},
    scenario::{Station, Winch, WindProfile},
};

const BREAKWATER: &str = include_str!("../../../scenarios/breakwater-lookout.json");

/// Stations of one height and wind, by offset and slack, each hung anew.
struct Scan {
    system: System,
    station: Station,
    height_m: f64,
}

/// A station and the largest payload that closes there.
#[derive(Clone, Copy)]
struct Held {
    spread: f64,
    log_slack: f64,
    downwind_m: f64,
    drum_tension_n: f64,
    payload_kg: f64,
}

/// Heaviest payload that is tried, kg.
const HEAVIEST_KG: f64 = 6.0;

impl Scan {
    fn new(height_m: f64, wind_m_s: f64) -> Self {
        let mut scenario = load(&Document::parse(BREAKWATER).unwrap()).unwrap().scenario;
        if let WindProfile::PowerLaw { speed_m_s, .. } = &mut scenario.site.wind.profile {
            *speed_m_s = wind_m_s;
        }
        Self { system: System::new(&scenario).unwrap(), station: scenario.station.clone(), height_m }
    }

    /// Largest payload that closes at an offset and a slack, if it is more than `least_kg`, to a millionth: the winch holds the
    /// drum tension of that line.
    fn held(&mut self, spread: f64, log_slack: f64, least_kg: f64) -> Option<Held> {
        let over_exit_m = self.height_m - 0.5;
        let downwind_m = over_exit_m * spread.sinh();
        let paid_out_m = f64::hypot(downwind_m, over_exit_m) * (1.0 + log_slack.exp());
        if paid_out_m > 150.0 {
            return None;
        }
        let place = self.place(downwind_m, Winch::PaidOut { paid_out_m });
        let hanging = self.system.hang_for_search(&place, None).ok()?;
        if !self.closes(&place, &hanging, least_kg) {
            return None;
        }
        let drum_tension_n = hanging.tethers()?.points.0.drum_tension_n;
        let payload_kg = self.at_tension(downwind_m, drum_tension_n, least_kg)?;
        Some(Held { spread, log_slack, downwind_m, drum_tension_n, payload_kg })
    }

    /// Largest payload that closes at an offset and a drum tension, if it is more than `least_kg`.
    fn at_tension(&mut self, downwind_m: f64, drum_tension_n: f64, least_kg: f64) -> Option<f64> {
        let place = self.place(downwind_m, Winch::DrumTension { drum_tension_n });
        let hanging = self.system.hang_for_search(&place, None).ok()?;
        if !self.closes(&place, &hanging, least_kg) {
            return None;
        }
        let (mut lo, mut hi) = (least_kg, HEAVIEST_KG);
        while hi - lo > 1e-6 {
            let middle = 0.5 * (lo + hi);
            if self.closes(&place, &hanging, middle) { lo = middle } else { hi = middle }
        }
        Some(lo)
    }

    fn place(&mut self, downwind_m: f64, winch: Winch) -> Place {
        self.station.height_m = self.height_m;
        self.station.downwind_m = downwind_m;
        self.station.winch = Some(winch);
        self.system.place(&self.station).unwrap()
    }

    fn closes(&mut self, place: &Place, hanging: &Hanging, payload_kg: f64) -> bool {
        self.system.masses.payload_kg = payload_kg;
        self.system.operate_on(place, hanging).is_ok_and(|point| point.feasible)
    }
}

/// Largest payload over all stations: every station of an even grid, then ever finer grids around each of the best that
/// stand apart.
fn scanned_kg(scan: &mut Scan, (across, along, basins): (i32, i32, usize)) -> Held {
    let (wide, tight, slack) = (2.4, 2e-4_f64.ln(), 0.6_f64.ln());
    let (step_across, step_along) = (2.0 * wide / f64::from(across), (slack - tight) / f64::from(along));
    let mut all: Vec<Held> = Vec::new();
    for i in 0..=across {
        for j in 0..=along {
            let (spread, log_slack) = (-wide + step_across * f64::from(i), tight + step_along * f64::from(j));
            all.extend(scan.held(spread, log_slack, 0.0));
        }
    }
    all.sort_by(|a, b| b.payload_kg.total_cmp(&a.payload_kg));
    let mut best: Vec<Held> = Vec::new();
    for held in all {
        let near = |other: &Held| {
            (other.spread - held.spread).abs() < 2.5 * step_across
                && (other.log_slack - held.log_slack).abs() < 2.5 * step_along
        };
        if best.len() < basins && !best.iter().any(near) {
            best.push(held);
        }
    }
    best.into_iter()
        .map(|held| refined(scan, held, (step_across, step_along)))
        .max_by(|a, b| a.payload_kg.total_cmp(&b.payload_kg))
        .unwrap()
}

fn refined(scan: &mut Scan, from: Held, (mut across, mut along): (f64, f64)) -> Held {
    let mut best = from;
    for _ in 0..16 {
        let centre = best;
        for i in -4..=4 {
            for j in -4..=4 {
                let at = |k: i32| 0.3 * f64::from(k);
                let (spread, log_slack) = (centre.spread + across * at(i), centre.log_slack + along * at(j));
                if let Some(held) = scan.held(spread, log_slack, best.payload_kg + 1e-6) {
                    best = held;
                }
            }
        }
        across *= 0.5;
        along *= 0.5;
    }
    best
}

fn boundary_holds(places: &[(f64, f64)], grid: (i32, i32, usize)) {
    let document = Document::parse(BREAKWATER).unwrap();
    let loaded = load(&document).unwrap();
    let mut missed = 0;
    for (height_m, wind_m_s) in places {
        let x = format!("/station/height_m={height_m}");
        let winds = wind_m_s.to_string();
        let question =
            RegionQuestion::parse(&loaded, Some(&x), Some("/payload/mass_kg=0..5:26"), Some(&winds)).unwrap();
        let report = region(&document, &loaded, &question, &|_, _| {}).unwrap();
        let boundary = report.layers[0].boundary.iter().filter(|p| p.upper);
        let top = boundary.max_by(|a, b| a.y.total_cmp(&b.y)).unwrap();
        let mut scan = Scan::new(*height_m, *wind_m_s);
        let scanned = scanned_kg(&mut scan, grid);
        // What a scan misses must be real: its root is found at the station of the boundary too, with nothing known before.
        // Not from lighter ones on: a light vehicle may let the wind drive its rotors where a heavy one does not, and of some stations
        // the payloads that close are within a ten-thousandth.
        let there_kg = scan.at_tension(top.station[0], top.station[1], top.y * (1.0 - 1e-5)).unwrap_or(0.0);
        let most_kg = scanned.payload_kg.max(there_kg);
        let apart = (top.y - most_kg) / most_kg;
        println!(
            "height {height_m:.3} m, wind {wind_m_s:.3} m/s: boundary {:.6} kg at {:.3?}, by root finding {there_kg:.6} kg \
             there and {:.6} kg at [{:.3}, {:.3}], apart {:.4} %",
            top.y,
            top.station,
            scanned.payload_kg,
            scanned.downwind_m,
            scanned.drum_tension_n,
            100.0 * apart
        );
        missed += u32::from(apart.abs() > 1e-3);
        let cell = report.layers[0].cells.iter().filter(|c| c.feasible).count();
        assert!(cell > 0);
    }
    assert_eq!(missed, 0, "of {}", places.len());
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

/// At 50 places, each scanned more finely: `BEAMSTAY_PLACES=50 cargo test --release -p beamstay-planner --test region -- --nocapture`.
#[test]
fn val_the_boundary_is_where_root_finding_puts_it() {
    let count = std::env::var("BEAMSTAY_PLACES").ok().and_then(|n| n.parse().ok()).unwrap_or(2);
    boundary_holds(&places(count), if count > 2 { (48, 32, 6) } else { (24, 16, 2) });
}

/// Stations that once were missed: wind, height, payload, offset and drum tension.
const HELD: [[f64; 5]; 7] = [
    [10.0, 24.153846153846153, 2.5846153846153848, 87.3625741489958, 9.266061630147592],
    [10.0, 13.538461538461538, 2.123076923076923, 56.895297032890255, 7.46464952953491],
    [10.0, 41.84615384615385, 2.7692307692307696, 124.59612931909493, 10.68402027943938],
    [5.0, 10.0, 1.1076923076923078, 27.918716526376784, 2.0099451095498804],
    [5.0, 13.538461538461538, 1.2, 35.83472134072673, 2.390575681262479],
    [15.0, 10.0, 2.7692307692307696, 55.847882118771594, 12.702996864938708],
    [15.0, 17.076923076923077, 3.230769230769231, 83.28270287609064, 14.667552262250931],
];

/// The largest payload of a boundary at a height, in a wind, kg.
fn boundary_kg(document: &Document, height_m: f64, wind_m_s: f64) -> f64 {
    let loaded = load(document).unwrap();
    let x = format!("/station/height_m={height_m}");
    let winds = wind_m_s.to_string();
    let question =
        RegionQuestion::parse(&loaded, Some(&x), Some("/payload/mass_kg=0..3.6:13"), Some(&winds)).unwrap();
    let report = region(document, &loaded, &question, &|_, _| {}).unwrap();
    report.layers[0].boundary.iter().map(|p| p.y).fold(0.0, f64::max)
}

#[test]
fn regress_the_boundary_is_not_below_a_station_that_closes() {
    let document = Document::parse(BREAKWATER).unwrap();
    let mut missed = 0;
    for [wind_m_s, height_m, payload_kg, downwind_m, drum_tension_n] in HELD {
        let mut scan = Scan::new(height_m, wind_m_s);
        assert!(scan.at_tension(downwind_m, drum_tension_n, payload_kg).is_some(), "{height_m} m");
        let most_kg = boundary_kg(&document, height_m, wind_m_s);
        println!("{height_m} m, {wind_m_s} m/s: {most_kg} kg of {payload_kg}");
        missed += u32::from(most_kg < payload_kg);
    }
    assert_eq!(missed, 0);
}

/// Payloads that close where the winch holds the drum tension in the gust, with a line that is all but limp: wind, height and payload,
/// by an earlier program that searched each column from more sides.
const HELD_BY_TENSION: [[f64; 3]; 3] = [
    [0.0, 140.0, 0.926_669_513_483_226],
    [5.0, 110.0, 2.025_455_193_637_43],
    [10.0, 110.0, 1.502_358_715_235_021],
];

#[test]
fn regress_the_boundary_of_limp_lines_whose_tension_is_held_in_the_gust() {
    let mut document = Document::parse(BREAKWATER).unwrap();
    document.set("/ground/drum/gust_response", "holds_tension".into()).unwrap();
    for [wind_m_s, height_m, payload_kg] in HELD_BY_TENSION {
        let most_kg = boundary_kg(&document, height_m, wind_m_s);
        assert!(
            most_kg > payload_kg * (1.0 - 1e-3),
            "{height_m} m, {wind_m_s} m/s: {most_kg} kg of {payload_kg}"
        );
    }
}

#[test]
fn regress_a_drum_tension_just_over_the_least_has_its_shorter_length() {
    // With 1.8 mN less no tether hangs here; a hand longer it leaves the drum downwards with the same tension.
    let mut scan = Scan::new(82.5, 7.0);
    let drum_tension_n = 0.002_182_137_967_699_380_5;
    let place = scan.place(-85.151_980_560_941_21, Winch::DrumTension { drum_tension_n });
    let hanging = scan.system.hang_for_search(&place, None).unwrap();
    let tether = hanging.tethers().unwrap().points.0;
    assert!((tether.drum_tension_n / drum_tension_n - 1.0).abs() < 1e-5, "{}", tether.drum_tension_n);
    assert!(tether.drum_elevation_deg > 0.0, "{} m", tether.paid_out_m);
}
