//! What a program does with a file: reads, computes, writes; and what must not be in the result.

use std::fmt::Debug;

use beamstay_environment::WeatherSeries;
use beamstay_planner::{Document, PlanError, System, load, point_report, tether_curves};

/// How a case ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// With a result, of a plan that closes or not.
    Answered,
    /// With a message.
    Refused,
    /// With the message that a solver did not converge.
    NotConverged,
}

/// Every one of so many answered plans is reported in full, with levers and curves.
const FULL_EVERY: usize = 16;
/// No quantity of a plan is as large; a number beyond is a stand-in that escaped.
const LARGEST: f64 = 1e30;

/// Reads a scenario, computes its operating point and looks at all that is handed out.
///
/// # Errors
/// What must not happen, in words.
pub fn scenario_text(bytes: &[u8]) -> Result<End, String> {
    let Ok(text) = std::str::from_utf8(bytes) else { return Ok(End::Refused) };
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(fault) => return told(&fault.to_string()),
    };
    let loaded = match load(&document) {
        Ok(loaded) => loaded,
        Err(faults) if faults.is_empty() => return Err("refused without a fault".into()),
        Err(faults) => {
            for fault in &faults {
                told(&fault.to_string())?;
                told(&fault.help())?;
            }
            return Ok(End::Refused);
        }
    };
    let point = System::new(&loaded.scenario)
        .and_then(|system| Ok((system.place(&loaded.scenario.station)?, system)))
        .and_then(|(place, system)| Ok(system.solve(&place, None)?.checked()));
    let point = match point {
        Ok(point) => point,
        Err(error @ PlanError::NotConverged { .. }) => {
            told(&error.to_string())?;
            return Ok(End::NotConverged);
        }
        Err(error) => return told(&error.to_string()),
    };
    only_numbers(&point)?;
    if let Some(ratio) = point.energy_closure_ratio.filter(|ratio| *ratio > 1e-9) {
        return Err(format!("energy closes to {ratio:e}"));
    }
    if text.len() % FULL_EVERY == 0 {
        let report =
            point_report(&document, &loaded).map_err(|error| format!("the report fails: {error}"))?;
        serde_json::to_string(&report).map_err(|error| format!("the report is no JSON: {error}"))?;
        only_numbers(&report.levers)?;
        only_numbers(&tether_curves(&loaded).map_err(|error| format!("the curves fail: {error}"))?)?;
    }
    Ok(End::Answered)
}

/// Reads weather both ways and takes every statistic of it.
///
/// # Errors
/// What must not happen, in words.
pub fn weather_text(bytes: &[u8]) -> Result<End, String> {
    let series = match bytes.starts_with(b"LOCATION") {
        true => WeatherSeries::from_epw_reader(bytes),
        false => WeatherSeries::from_csv_reader(bytes),
    };
    let series = match series {
        Ok(series) => series,
        Err(error) => return told(&error.to_string()),
    };
    only_numbers(&series.hours)?;
    only_numbers(&series.wind_percentile_m_s(99.0))?;
    only_numbers(&series.calm())?;
    only_numbers(&series.exceedance(10.0, |hour| hour.highest_wind_m_s()))?;
    only_numbers(&series.persistence(6, |hour| hour.wind_m_s.map(|wind| wind < 10.0)))?;
    only_numbers(&series.gust_ratios().collect::<Vec<_>>())?;
    Ok(End::Answered)
}

/// A refusal must say something, in one piece that fits a screen.
fn told(message: &str) -> Result<End, String> {
    match message.len() {
        0 => Err("refused without a word".into()),
        1..=2000 => Ok(End::Refused),
        length => Err(format!("a message of {length} bytes")),
    }
}

/// Refuses NaN, infinity and numbers that no quantity reaches, anywhere in a result.
fn only_numbers(result: &impl Debug) -> Result<(), String> {
    let text = format!("{result:?}");
    let is_part = |c: char| c.is_ascii_alphanumeric() || "._+-".contains(c);
    let bad = text.split(|c: char| !is_part(c)).find(|word| {
        matches!(*word, "NaN" | "inf" | "-inf")
            || word.parse::<f64>().is_ok_and(|number| number.abs() > LARGEST)
    });
    match bad {
        None => Ok(()),
        Some(word) => {
            let at = text.find(word).unwrap_or_default();
            let from = text[..at].char_indices().rev().nth(160).map_or(0, |(i, _)| i);
            Err(format!("hands out {word}: …{}", &text[from..at + word.len()]))
        }
    }
}
