//! Hourly weather: CSV or EPW text goes in, a series of hours with explicit gaps comes out, with the statistics that
//! availability needs.

mod civil;
mod columns;
mod epw;
mod statistics;

pub use civil::CivilHour;
pub use epw::EpwSite;
pub use statistics::{Persistence, Summary, percentile};

use std::io::Read;

use crate::error::EnvironmentError;

/// Highest mean wind that a record may hold, m/s. Faster ones are typing errors until proved otherwise: a well-known public
/// record holds one of 469 m/s.
pub const HIGHEST_MEAN_WIND_M_S: f64 = 75.0;
/// Highest gust that a record may hold, m/s; the strongest ever measured outside tornadoes is 113.
pub const HIGHEST_GUST_M_S: f64 = 115.0;
/// Most hours that one series may span, gaps included (57 years).
pub const MOST_HOURS_COUNT: usize = 500_000;

/// One hour of weather. `None` is "not recorded", never zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherHour {
    /// Start of the hour, or the time of the observation to the nearest hour.
    pub start: CivilHour,
    /// Mean wind speed, m/s, at the height of the anemometer (usually 10 m); averaged over 2, 10 or 60 minutes,
    /// depending on the source.
    pub wind_m_s: Option<f64>,
    /// Reported gust, m/s. Airport stations report one only when the wind fluctuates strongly, so `None` is not calm.
    pub wind_gust_m_s: Option<f64>,
    /// Direction from which the wind comes, degrees clockwise from north.
    pub wind_from_deg: Option<f64>,
    /// Dry-bulb temperature, °C.
    pub temperature_c: Option<f64>,
    /// Air pressure, Pa; see [`WeatherSeries::pressure_level`].
    pub pressure_pa: Option<f64>,
    /// Relative humidity, 0 to 1.
    pub relative_humidity_ratio: Option<f64>,
}

impl WeatherHour {
    /// An hour of which nothing is known.
    pub fn gap(start: CivilHour) -> Self {
        Self {
            start,
            wind_m_s: None,
            wind_gust_m_s: None,
            wind_from_deg: None,
            temperature_c: None,
            pressure_pa: None,
            relative_humidity_ratio: None,
        }
    }

    /// The larger of mean wind and reported gust, m/s; `None` if the mean is missing.
    pub fn highest_wind_m_s(&self) -> Option<f64> {
        self.wind_m_s.map(|mean| self.wind_gust_m_s.map_or(mean, |gust| gust.max(mean)))
    }
}

/// What the times of a series mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum TimeBase {
    /// Universal time.
    Utc,
    /// Local standard time all year, no summer time.
    LocalStandard,
}

/// To which level the pressures of a series belong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureLevel {
    /// The station itself: use it for density.
    Station,
    /// Reduced to mean sea level: not the pressure of the air at the station.
    SeaLevel,
}

/// Consecutive hours of weather.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherSeries {
    /// Every hour from the first to the last of the record; an hour that the record lacks is there, all `None`.
    pub hours: Vec<WeatherHour>,
    /// What the times mean.
    pub time_base: TimeBase,
    /// To which level the pressures belong.
    pub pressure_level: PressureLevel,
    /// Hours that the record lacked as rows.
    pub missing_rows_count: usize,
    /// Place of an EPW record.
    pub site: Option<EpwSite>,
}

impl WeatherSeries {
    /// Reads CSV text.
    ///
    /// The first row names the columns, in any order:
    ///
    /// | column | meaning | range |
    /// |---|---|---|
    /// | `time` | ISO 8601, `2013-01-01T06:00:00Z`, `2013-01-01 06:00` or with `±hh:mm`; rounded to the hour; with `Z` or offset universal time, otherwise local standard time | 1800 to 2999 |
    /// | `wind_m_s` | mean wind | 0 to 75 |
    /// | `wind_gust_m_s` | optional, gust | 0 to 115 |
    /// | `wind_from_deg` | optional, direction it comes from, clockwise from north | 0 to 360 |
    /// | `temperature_c` | optional, dry bulb | −90 to 60 |
    /// | `pressure_hpa` | optional, at the station | 450 to 1100 |
    /// | `pressure`, `sea_level_pressure_hpa` | optional, hPa reduced to sea level, in place of `pressure_hpa` | 450 to 1100 |
    /// | `relative_humidity_percent` | optional, over 100 is taken as 100 | 0 to 110 |
    ///
    /// Blank, `NA` and `NaN` are "not recorded". Rows must rise in time, one per hour; absent hours become gaps.
    ///
    /// # Errors
    /// [`EnvironmentError`] naming line (from 1, the header), column (from 1) and field: a column that is unknown, missing
    /// or double, a row with another number of fields, text that is no number or time, a number outside its range, times
    /// that do not rise, a span above [`MOST_HOURS_COUNT`], no rows.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::WeatherSeries;
    /// let text = "time,wind_m_s,temperature_c\n2024-01-01T00:00Z,5.0,3\n2024-01-01T02:00Z,,4\n";
    /// let series = WeatherSeries::from_csv_str(text).unwrap();
    /// assert_eq!(series.hours.len(), 3);
    /// assert_eq!(series.hours[1].temperature_c, None, "01:00 is a gap");
    /// let error = WeatherSeries::from_csv_str("time,wind_m_s\n2024-01-01T00:00Z,469\n").unwrap_err();
    /// assert_eq!(error.to_string(), "line 2, column 2: wind_m_s 469 m/s is outside 0 to 75 m/s");
    /// ```
    pub fn from_csv_str(text: &str) -> Result<Self, EnvironmentError> {
        columns::read(text.as_bytes())
    }

    /// As [`Self::from_csv_str`], from a reader of UTF-8 text.
    ///
    /// # Errors
    /// As [`Self::from_csv_str`], and if the reader fails.
    pub fn from_csv_reader(reader: impl Read) -> Result<Self, EnvironmentError> {
        columns::read(reader)
    }

    /// Reads EPW text (EnergyPlus weather format: eight header lines, then hours 1 to 24 of local standard time with 35
    /// comma-separated fields, of which this reads date, temperature, humidity, pressure, wind direction and speed).
    ///
    /// The missing-value codes of the format (99.9, 999, 999999) become `None`. Rows follow each other by month, day
    /// and hour; the year is kept as a label, because a typical year is spliced from months of different years.
    /// 29 February may be absent in any year. Wind in a typical year is no guide to extremes: its months were chosen mostly for
    /// sun and temperature.
    ///
    /// # Errors
    /// [`EnvironmentError`] naming line, column and field, as for CSV; and if a header line is missing or the file has other
    /// than one record per hour.
    pub fn from_epw_str(text: &str) -> Result<Self, EnvironmentError> {
        epw::read(text)
    }

    /// As [`Self::from_epw_str`], from a reader; bytes that are not UTF-8 (place names) are replaced.
    ///
    /// # Errors
    /// As [`Self::from_epw_str`], and if the reader fails.
    pub fn from_epw_reader(mut reader: impl Read) -> Result<Self, EnvironmentError> {
        let mut bytes = Vec::new();
        reader
            .read_to_end(&mut bytes)
            .map_err(|error| EnvironmentError::Unreadable { kind: error.kind() })?;
        epw::read(&String::from_utf8_lossy(&bytes))
    }
}

/// One field of a text file: where it stands, what it is called, what it holds.
#[derive(Debug, Clone, Copy)]
struct Field<'a> {
    line: u64,
    column: usize,
    name: &'static str,
    text: &'a str,
}

impl Field<'_> {
    /// The number in the field, checked against its range.
    fn number(&self, unit: &'static str, min: f64, max: f64) -> Result<f64, EnvironmentError> {
        let value: f64 = self.text.parse().map_err(|_| EnvironmentError::NotANumber {
            line: self.line,
            column: self.column,
            field: self.name,
            text: shortened(self.text),
        })?;
        beamstay_numerics::domain::in_range(self.name, unit, value, min, max).map_err(|range| {
            EnvironmentError::WeatherOutOfRange { line: self.line, column: self.column, range }
        })
    }
}

/// Text for an error message: a file may hold a field of a megabyte.
fn shortened(text: &str) -> String {
    const MOST_CHARS: usize = 40;
    if text.chars().count() <= MOST_CHARS {
        return text.to_owned();
    }
    text.chars().take(MOST_CHARS).chain(['…']).collect()
}

/// Hours collected in order, with gaps filled in.
struct Collector {
    hours: Vec<WeatherHour>,
    missing_rows_count: usize,
}

impl Collector {
    fn new() -> Self {
        Self { hours: Vec::new(), missing_rows_count: 0 }
    }

    /// Appends `hour`, which starts `steps` hours after the last; `has_leap_day` tells whether the
    /// February of a year between has 29 days.
    fn push(
        &mut self,
        hour: WeatherHour,
        steps: usize,
        has_leap_day: impl Fn(i32) -> bool,
        line: u64,
    ) -> Result<(), EnvironmentError> {
        if let Some(last) = self.hours.last() {
            if steps > MOST_HOURS_COUNT - self.hours.len().min(MOST_HOURS_COUNT) {
                return Err(EnvironmentError::SeriesTooLong { line, most_count: MOST_HOURS_COUNT });
            }
            let mut start = last.start;
            for _ in 1..steps {
                start = start.next(has_leap_day(start.year));
                self.hours.push(WeatherHour::gap(start));
                self.missing_rows_count += 1;
            }
        }
        self.hours.push(hour);
        Ok(())
    }
}

#[cfg(test)]
mod tests;
