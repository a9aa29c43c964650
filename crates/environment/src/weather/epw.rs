//! Reads weather from EPW text.

use std::collections::BTreeSet;

use super::{
    CivilHour, Collector, Field, HIGHEST_MEAN_WIND_M_S, PressureLevel, TimeBase, WeatherHour, WeatherSeries,
    shortened,
};
use crate::error::EnvironmentError;

/// Header lines of the format, in order.
const HEADERS: [&str; 8] = [
    "LOCATION",
    "DESIGN CONDITIONS",
    "TYPICAL/EXTREME PERIODS",
    "GROUND TEMPERATURES",
    "HOLIDAYS/DAYLIGHT SAVINGS",
    "COMMENTS 1",
    "COMMENTS 2",
    "DATA PERIODS",
];
/// Fields of a row that must be there: up to and with the wind speed.
const LEAST_FIELDS_COUNT: usize = 22;

/// Where an EPW record was taken.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct EpwSite {
    /// Name of the place.
    pub name: String,
    /// Latitude, degrees north.
    pub latitude_deg: f64,
    /// Longitude, degrees east.
    pub longitude_deg: f64,
    /// Local standard time minus universal time, hours.
    pub time_zone_h: f64,
    /// Elevation above sea level, m.
    pub elevation_m: f64,
}

pub(super) fn read(text: &str) -> Result<WeatherSeries, EnvironmentError> {
    let text = text.trim_start_matches('\u{feff}');
    let mut lines = (1_u64..).zip(text.lines());
    let mut site = None;
    for (expected, (line, content)) in HEADERS.iter().zip(lines.by_ref().take(HEADERS.len())) {
        let fields: Vec<&str> = content.split(',').map(str::trim).collect();
        if !fields[0].eq_ignore_ascii_case(expected) {
            return Err(EnvironmentError::EpwHeader { line, expected });
        }
        match *expected {
            "LOCATION" => site = Some(location(&fields, line)?),
            "DATA PERIODS" => one_record_per_hour(&fields, line)?,
            _ => {}
        }
    }
    let rows = lines
        .filter(|(_, content)| !content.trim().is_empty())
        .map(|(line, content)| row(content, line).map(|hour| (line, hour)))
        .collect::<Result<Vec<_>, _>>()?;
    let collector = in_order(&rows)?;
    if collector.hours.is_empty() {
        return Err(EnvironmentError::NoHours);
    }
    Ok(WeatherSeries {
        hours: collector.hours,
        time_base: TimeBase::LocalStandard,
        pressure_level: PressureLevel::Station,
        missing_rows_count: collector.missing_rows_count,
        site,
    })
}

fn location(fields: &[&str], line: u64) -> Result<EpwSite, EnvironmentError> {
    require_fields(fields, 10, line)?;
    let number = |index: usize, name, unit, min, max| {
        Field { line, column: index + 1, name, text: fields[index] }.number(unit, min, max)
    };
    Ok(EpwSite {
        name: shortened(fields[1]),
        latitude_deg: number(6, "latitude", "°", -90.0, 90.0)?,
        longitude_deg: number(7, "longitude", "°", -180.0, 180.0)?,
        time_zone_h: number(8, "time zone", "h", -12.0, 14.0)?,
        elevation_m: number(9, "elevation", "m", -1_000.0, 9_000.0)?,
    })
}

fn one_record_per_hour(fields: &[&str], line: u64) -> Result<(), EnvironmentError> {
    require_fields(fields, 3, line)?;
    let per_hour = Field { line, column: 3, name: "records per hour", text: fields[2] };
    per_hour.number("", 1.0, 1.0).map(|_| ())
}

fn require_fields(fields: &[&str], expected_count: usize, line: u64) -> Result<(), EnvironmentError> {
    if fields.len() >= expected_count {
        return Ok(());
    }
    Err(EnvironmentError::FieldsCount { line, expected_count, found_count: fields.len() })
}

fn row(content: &str, line: u64) -> Result<WeatherHour, EnvironmentError> {
    let mut fields = [""; LEAST_FIELDS_COUNT];
    let mut found_count = 0;
    for (slot, text) in fields.iter_mut().zip(content.split(',')) {
        *slot = text.trim();
        found_count += 1;
    }
    require_fields(&fields[..found_count], LEAST_FIELDS_COUNT, line)?;
    let field = |index: usize, name| Field { line, column: index + 1, name, text: fields[index] };
    // The format writes "missing" as a number at or above a code.
    let number = |index, name, unit, min, max, missing_from: f64| {
        let raw = field(index, name).number(unit, f64::MIN, f64::MAX)?;
        if raw >= missing_from { Ok(None) } else { field(index, name).number(unit, min, max).map(Some) }
    };
    let whole = |index, name, min: f64, max: f64| field(index, name).number("", min, max).map(|n| n as i32);
    let (year, month) = (whole(0, "year", 1800.0, 2999.0)?, whole(1, "month", 1.0, 12.0)?);
    let (day, hour) = (whole(2, "day", 1.0, 31.0)?, whole(3, "hour", 1.0, 24.0)?);
    let civil = CivilHour::new(year, month as u8, day as u8, hour as u8 - 1).ok_or_else(|| {
        EnvironmentError::NotATime { line, column: 1, text: format!("{year}-{month}-{day} hour {hour}") }
    })?;
    let humidity_percent = number(8, "relative humidity", "%", 0.0, 110.0, 999.0)?;
    Ok(WeatherHour {
        start: civil,
        wind_m_s: number(21, "wind speed", "m/s", 0.0, HIGHEST_MEAN_WIND_M_S, 999.0)?,
        wind_gust_m_s: None,
        wind_from_deg: number(20, "wind direction", "°", 0.0, 360.0, 999.0)?,
        temperature_c: number(6, "dry bulb temperature", "°C", -90.0, 60.0, 99.9)?,
        pressure_pa: number(9, "station pressure", "Pa", 45_000.0, 110_000.0, 999_999.0)?,
        relative_humidity_ratio: humidity_percent.map(|percent| (percent / 100.0).min(1.0)),
    })
}

/// Puts rows behind each other by hour of the year, whatever their year says; December may be followed by January.
fn in_order(rows: &[(u64, WeatherHour)]) -> Result<Collector, EnvironmentError> {
    let leap_years: BTreeSet<i32> = rows
        .iter()
        .filter(|(_, hour)| (hour.start.month, hour.start.day) == (2, 29))
        .map(|(_, hour)| hour.start.year)
        .collect();
    let mut collector = Collector::new();
    for (line, hour) in rows {
        let Some(last) = collector.hours.last().map(|last| last.start) else {
            collector.push(*hour, 1, |_| false, *line)?;
            continue;
        };
        let leap = leap_years.contains(&last.year) || leap_years.contains(&hour.start.year);
        let (before, now) = (last.hour_of_year(leap), hour.start.hour_of_year(leap));
        let steps = if last.month == 12 && hour.start.month == 1 {
            now + 24 * (365 + usize::from(leap)) - before
        } else {
            now.checked_sub(before)
                .filter(|steps| *steps > 0)
                .ok_or(EnvironmentError::TimeDoesNotRise { line: *line })?
        };
        collector.push(*hour, steps, |_| leap, *line)?;
    }
    Ok(collector)
}
