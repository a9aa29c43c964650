//! Prints how many microseconds of processor time one operating point of a scenario takes, warm, on one core: the figure that
//! `tests/peers/operating_point.py` divides its own time by.

use std::{env, error::Error, fs, hint::black_box, process::ExitCode};

use beamstay_planner::{System, from_value};
use beamstay_tests::clock::quickest_s;

/// Least processor time of a measurement, s.
const MEASURED_S: f64 = 0.05;
/// Measurements of which the quickest counts.
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
    let point = || {
        black_box(system.operate(black_box(&place))).ok();
    };
    Ok(1e6 * quickest_s(ROUNDS_COUNT, MEASURED_S, point))
}
