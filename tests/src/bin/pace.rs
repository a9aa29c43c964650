//! Prints how many microseconds one operating point of a scenario takes, warm, on one core: the figure that
//! `tests/peers/operating_point.py` divides its own time by.

use std::{env, error::Error, fs, hint::black_box, process::ExitCode, time::Instant};

use beamstay_planner::{System, from_value};

/// Shortest time that a measurement takes, s.
const MEASURED_S: f64 = 0.05;
/// Measurements of which the quickest counts: what disturbs a measurement only ever adds.
const ROUNDS_COUNT: u32 = 5;

fn main() -> ExitCode {
    match env::args().nth(1).ok_or_else(|| "needs a scenario file".into()).and_then(|file| quickest_us(&file))
    {
        Ok(us) => {
            println!("{us:.2} us");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

/// Quickest of some measurements of a point from nothing, µs.
fn quickest_us(file: &str) -> Result<f64, Box<dyn Error>> {
    let value = serde_json::from_str(&fs::read_to_string(file)?)?;
    let scenario = from_value(&value).map_err(|fault| fault.to_string())?;
    let system = System::new(&scenario)?;
    let place = system.place(&scenario.station)?;
    system.operate(&place)?;
    let round_us = |_| {
        let start = Instant::now();
        let mut points_count = 0_u32;
        while start.elapsed().as_secs_f64() < MEASURED_S {
            black_box(system.operate(black_box(&place))).ok();
            points_count += 1;
        }
        1e6 * start.elapsed().as_secs_f64() / f64::from(points_count)
    };
    Ok((0..ROUNDS_COUNT).map(round_us).fold(f64::INFINITY, f64::min))
}
