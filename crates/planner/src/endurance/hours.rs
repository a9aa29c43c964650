//! Hours of weather as the curve takes them: wind, gust and temperature, or a gap.

use beamstay_environment::{WeatherSeries, atmosphere::Atmosphere, weather::PressureLevel};
use serde::Serialize;

use super::curve::Met;
use crate::{
    error::{At, PlanError},
    scenario::{Scenario, Weather},
    system::{Place, System, surroundings::Stream},
};

/// Where the hours come from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Record {
    /// In words.
    pub source: String,
    /// Hours in all.
    pub hours_count: usize,
    /// Hours without a recorded wind.
    pub gaps_count: usize,
    /// Hours with a recorded gust; the others take the site's rule.
    pub gusts_count: usize,
    /// Strongest recorded mean wind at the anemometer, m/s.
    pub strongest_mean_m_s: f64,
    /// Strongest recorded gust, m/s; 0 without any.
    pub strongest_gust_m_s: f64,
}

/// One hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hour {
    /// None in a gap.
    pub met: Option<Met>,
}

/// The hours of a scenario, and their labels.
pub(super) struct Hours {
    pub hours: Vec<Hour>,
    pub labels: Vec<String>,
    pub record: Record,
}

impl Hours {
    /// The largest of each quantity, and the coldest offset.
    pub fn extremes(&self) -> (Met, f64) {
        let mut most = Met { wind_m_s: 0.0, excess_m_s: 0.0, offset_k: f64::NEG_INFINITY };
        let mut coldest_k = f64::INFINITY;
        for met in self.hours.iter().filter_map(|hour| hour.met) {
            most.wind_m_s = most.wind_m_s.max(met.wind_m_s);
            most.excess_m_s = most.excess_m_s.max(met.excess_m_s);
            most.offset_k = most.offset_k.max(met.offset_k);
            coldest_k = coldest_k.min(met.offset_k);
        }
        if coldest_k > most.offset_k {
            (most.offset_k, coldest_k) = (0.0, 0.0);
        }
        (most, coldest_k)
    }
}

/// The hours that a scenario asks for.
pub(super) fn hours(
    scenario: &Scenario,
    system: &System,
    place: &Place,
    station_ratio: f64,
    series: Option<&WeatherSeries>,
) -> Result<Hours, PlanError> {
    let gust = |wind_m_s: f64| -> Result<f64, PlanError> {
        if !matches!(system.surroundings.mean, Stream::Air(_)) || station_ratio <= 0.0 {
            return Ok(0.0);
        }
        let mean_m_s = station_ratio * wind_m_s;
        let peak_m_s = system.surroundings.gust_peak_m_s(place.position_m.z, mean_m_s)?;
        Ok((peak_m_s / station_ratio - wind_m_s).max(0.0))
    };
    let offset_k = scenario.site.temperature_offset_k;
    match (&scenario.site.weather, series) {
        (Some(Weather::File { path, .. }), Some(series)) => recorded(scenario, series, path, gust),
        (Some(Weather::File { .. }), None) => {
            Err(PlanError::needs("/site/weather/file", "a weather file", "the hours of that file"))
        }
        (Some(Weather::GustPattern { duration_h, quiet_m_s, strong_m_s, quiet_h, strong_h, .. }), _) => {
            let period_h = quiet_h.round() + strong_h.round();
            steady(*duration_h, offset_k, gust, "a pattern of quiet and strong wind", |hour| {
                if hour % period_h < quiet_h.round() { *quiet_m_s } else { *strong_m_s }
            })
        }
        (weather, _) => {
            let duration_h = match weather {
                Some(Weather::Constant { duration_h }) => *duration_h,
                _ => 24.0,
            };
            let wind_m_s = match &system.surroundings.mean {
                Stream::Air(flow) => flow.profile().shape.reference_speed_m_s(),
                Stream::Water(_) => 0.0,
            };
            steady(duration_h, offset_k, gust, "the wind of the site all the time", |_| wind_m_s)
        }
    }
}

fn steady(
    duration_h: f64,
    offset_k: f64,
    gust: impl Fn(f64) -> Result<f64, PlanError>,
    source: &str,
    wind_m_s: impl Fn(f64) -> f64,
) -> Result<Hours, PlanError> {
    let count = duration_h.ceil() as usize;
    let mut hours = Vec::with_capacity(count);
    for i in 0..count {
        let wind_m_s = wind_m_s(i as f64);
        hours.push(Hour { met: Some(Met { wind_m_s, excess_m_s: gust(wind_m_s)?, offset_k }) });
    }
    let strongest_mean_m_s = hours.iter().filter_map(|h| h.met).map(|m| m.wind_m_s).fold(0.0, f64::max);
    Ok(Hours {
        labels: (0..count).map(|i| format!("hour {i}")).collect(),
        record: Record {
            source: source.to_owned(),
            hours_count: count,
            gaps_count: 0,
            gusts_count: 0,
            strongest_mean_m_s,
            strongest_gust_m_s: 0.0,
        },
        hours,
    })
}

fn recorded(
    scenario: &Scenario,
    series: &WeatherSeries,
    path: &str,
    gust: impl Fn(f64) -> Result<f64, PlanError>,
) -> Result<Hours, PlanError> {
    let standard = Atmosphere::new(scenario.site.elevation_m, 0.0).at("/site/elevation_m")?.at(0.0);
    let sea = Atmosphere::new(0.0, 0.0).at("/site/elevation_m")?.at(0.0);
    let to_station_ratio = match series.pressure_level {
        PressureLevel::Station => 1.0,
        PressureLevel::SeaLevel => standard.pressure_pa / sea.pressure_pa,
    };
    let mut list = Hours {
        hours: Vec::with_capacity(series.hours.len()),
        labels: Vec::with_capacity(series.hours.len()),
        record: Record {
            source: path.to_owned(),
            hours_count: series.hours.len(),
            gaps_count: 0,
            gusts_count: 0,
            strongest_mean_m_s: 0.0,
            strongest_gust_m_s: 0.0,
        },
    };
    for hour in &series.hours {
        let start = hour.start;
        list.labels
            .push(format!("{:04}-{:02}-{:02} {:02}:00", start.year, start.month, start.day, start.hour));
        let Some(wind_m_s) = hour.wind_m_s else {
            list.record.gaps_count += 1;
            list.hours.push(Hour { met: None });
            continue;
        };
        let excess_m_s = match hour.wind_gust_m_s {
            Some(gust_m_s) => {
                list.record.gusts_count += 1;
                list.record.strongest_gust_m_s = list.record.strongest_gust_m_s.max(gust_m_s);
                (gust_m_s - wind_m_s).max(0.0)
            }
            // No reported gust is not no gust.
            None => gust(wind_m_s)?,
        };
        list.record.strongest_mean_m_s = list.record.strongest_mean_m_s.max(wind_m_s);
        // Thin air is counted as warm air; dense air helps no cell, so the temperature is never counted below what it is.
        let offset_k = hour.temperature_c.map_or(scenario.site.temperature_offset_k, |celsius| {
            let temperature_k = celsius + beamstay_numerics::constants::ZERO_CELSIUS_K;
            let pressure_pa = hour.pressure_pa.map_or(standard.pressure_pa, |p| p * to_station_ratio);
            let equivalent_k = temperature_k * standard.pressure_pa / pressure_pa;
            temperature_k.max(equivalent_k) - standard.temperature_k
        });
        list.hours.push(Hour { met: Some(Met { wind_m_s, excess_m_s, offset_k }) });
    }
    Ok(list)
}
