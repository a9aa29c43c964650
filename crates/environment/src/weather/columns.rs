//! Reads weather from CSV.

use std::io::Read;

use super::{
    CivilHour, Collector, Field, HIGHEST_GUST_M_S, HIGHEST_MEAN_WIND_M_S, PressureLevel, TimeBase,
    WeatherHour, WeatherSeries, civil::is_leap, shortened,
};
use crate::error::EnvironmentError;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Time,
    Wind,
    Gust,
    WindFrom,
    Temperature,
    StationPressure,
    SeaLevelPressure,
    Humidity,
}

impl Column {
    fn named(name: &str) -> Option<Self> {
        Some(match name {
            "time" => Self::Time,
            "wind_m_s" => Self::Wind,
            "wind_gust_m_s" => Self::Gust,
            "wind_from_deg" => Self::WindFrom,
            "temperature_c" => Self::Temperature,
            "pressure_hpa" => Self::StationPressure,
            "pressure" | "sea_level_pressure_hpa" => Self::SeaLevelPressure,
            "relative_humidity_percent" => Self::Humidity,
            _ => return None,
        })
    }

    /// Two columns of one slot cannot stand in one file.
    fn slot(self) -> usize {
        match self {
            Self::Time => 0,
            Self::Wind => 1,
            Self::Gust => 2,
            Self::WindFrom => 3,
            Self::Temperature => 4,
            Self::StationPressure | Self::SeaLevelPressure => 5,
            Self::Humidity => 6,
        }
    }
}

pub(super) fn read(reader: impl Read) -> Result<WeatherSeries, EnvironmentError> {
    let mut csv =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).trim(csv::Trim::All).from_reader(reader);
    let mut record = csv::StringRecord::new();
    if !next_record(&mut csv, &mut record)? {
        return Err(EnvironmentError::NoHours);
    }
    let columns = header(&record)?;
    let mut collector = Collector::new();
    let mut time_base = None;
    while next_record(&mut csv, &mut record)? {
        let line = record.position().map_or(0, csv::Position::line);
        if record.len() != columns.len() {
            let (expected_count, found_count) = (columns.len(), record.len());
            return Err(EnvironmentError::FieldsCount { line, expected_count, found_count });
        }
        let (hour, base) = row(&columns, &record, line)?;
        if *time_base.get_or_insert(base) != base {
            return Err(EnvironmentError::MixedTimes { line });
        }
        append(&mut collector, hour, line)?;
    }
    finish(collector, time_base, &columns)
}

fn finish(
    collector: Collector,
    time_base: Option<TimeBase>,
    columns: &[Column],
) -> Result<WeatherSeries, EnvironmentError> {
    let time_base = time_base.ok_or(EnvironmentError::NoHours)?;
    let at_sea_level = columns.contains(&Column::SeaLevelPressure);
    Ok(WeatherSeries {
        hours: collector.hours,
        time_base,
        pressure_level: if at_sea_level { PressureLevel::SeaLevel } else { PressureLevel::Station },
        missing_rows_count: collector.missing_rows_count,
        site: None,
    })
}

fn next_record(
    csv: &mut csv::Reader<impl Read>,
    record: &mut csv::StringRecord,
) -> Result<bool, EnvironmentError> {
    csv.read_record(record).map_err(|error| match error.into_kind() {
        csv::ErrorKind::Io(error) => EnvironmentError::Unreadable { kind: error.kind() },
        csv::ErrorKind::Utf8 { pos, .. } => EnvironmentError::NotUtf8 { line: pos.map_or(0, |p| p.line()) },
        _ => EnvironmentError::Unreadable { kind: std::io::ErrorKind::InvalidData },
    })
}

fn header(record: &csv::StringRecord) -> Result<Vec<Column>, EnvironmentError> {
    let mut columns = Vec::with_capacity(record.len());
    let mut taken = [false; 7];
    for (index, name) in record.iter().enumerate() {
        let name = name.trim_start_matches('\u{feff}');
        let Some(column) = Column::named(name) else {
            return Err(EnvironmentError::UnknownColumn { column: index + 1, name: shortened(name) });
        };
        if std::mem::replace(&mut taken[column.slot()], true) {
            return Err(EnvironmentError::DoubleColumn { column: index + 1, name: shortened(name) });
        }
        columns.push(column);
    }
    for (column, name) in [(Column::Time, "time"), (Column::Wind, "wind_m_s")] {
        if !columns.contains(&column) {
            return Err(EnvironmentError::MissingColumn { name });
        }
    }
    Ok(columns)
}

fn row(
    columns: &[Column],
    record: &csv::StringRecord,
    line: u64,
) -> Result<(WeatherHour, TimeBase), EnvironmentError> {
    let mut hour = WeatherHour::gap(CivilHour::from_epoch(0));
    let mut base = TimeBase::Utc;
    for (index, (column, text)) in columns.iter().zip(record).enumerate() {
        let field = |name| Field { line, column: index + 1, name, text };
        let number = |name, unit, min, max| {
            if is_missing(text) { Ok(None) } else { field(name).number(unit, min, max).map(Some) }
        };
        match column {
            Column::Time => {
                (hour.start, base) = time(text).ok_or_else(|| EnvironmentError::NotATime {
                    line,
                    column: index + 1,
                    text: shortened(text),
                })?;
            }
            Column::Wind => hour.wind_m_s = number("wind_m_s", "m/s", 0.0, HIGHEST_MEAN_WIND_M_S)?,
            Column::Gust => hour.wind_gust_m_s = number("wind_gust_m_s", "m/s", 0.0, HIGHEST_GUST_M_S)?,
            Column::WindFrom => hour.wind_from_deg = number("wind_from_deg", "°", 0.0, 360.0)?,
            Column::Temperature => hour.temperature_c = number("temperature_c", "°C", -90.0, 60.0)?,
            Column::StationPressure => {
                hour.pressure_pa = number("pressure_hpa", "hPa", 450.0, 1100.0)?.map(|hpa| 100.0 * hpa);
            }
            Column::SeaLevelPressure => {
                hour.pressure_pa = number("pressure", "hPa", 450.0, 1100.0)?.map(|hpa| 100.0 * hpa);
            }
            Column::Humidity => {
                let percent = number("relative_humidity_percent", "%", 0.0, 110.0)?;
                hour.relative_humidity_ratio = percent.map(|percent| (percent / 100.0).min(1.0));
            }
        }
    }
    Ok((hour, base))
}

fn is_missing(text: &str) -> bool {
    text.is_empty() || text.eq_ignore_ascii_case("na") || text.eq_ignore_ascii_case("nan")
}

fn append(collector: &mut Collector, hour: WeatherHour, line: u64) -> Result<(), EnvironmentError> {
    let Some(last) = collector.hours.last().map(|last| last.start) else {
        return collector.push(hour, 1, is_leap, line);
    };
    let ahead = hour.start.since_epoch() - last.since_epoch();
    let steps = usize::try_from(ahead).ok().filter(|steps| *steps > 0);
    let steps = steps.ok_or(EnvironmentError::TimeDoesNotRise { line })?;
    collector.push(hour, steps, is_leap, line)
}

/// Reads `YYYY-MM-DD[T ]hh:mm[:ss[.fff]][Z|±hh:mm]` and rounds it to the hour.
fn time(text: &str) -> Option<(CivilHour, TimeBase)> {
    let date = text.get(..10)?;
    let rest = text.get(10..)?.strip_prefix(['T', ' '])?;
    let (clock, offset_minutes) = split_offset(rest)?;
    let year = digits(date.get(..4)?)?;
    let separators = (date.get(4..5)?, date.get(7..8)?);
    let (month, day) = (digits(date.get(5..7)?)?, digits(date.get(8..10)?)?);
    if separators != ("-", "-") {
        return None;
    }
    let mut parts = clock.split(':');
    let (hour, minute) = (two_digits(parts.next()?)?, two_digits(parts.next()?)?);
    let second = parts.next().map_or(Some(0), |part| two_digits(part.split('.').next()?))?;
    if parts.next().is_some() || minute > 59 || second > 60 {
        return None;
    }
    let civil = CivilHour::new(year as i32, month as u8, day as u8, u8::try_from(hour).ok()?)?;
    let minutes = i64::from(minute) - i64::from(offset_minutes.unwrap_or(0));
    let rounded = civil.since_epoch() + (minutes + 30).div_euclid(60);
    let base = if offset_minutes.is_some() { TimeBase::Utc } else { TimeBase::LocalStandard };
    Some((CivilHour::from_epoch(rounded), base))
}

/// Splits a clock reading from its offset to universal time, minutes; `None` inside if it has none.
fn split_offset(text: &str) -> Option<(&str, Option<i32>)> {
    if let Some(clock) = text.strip_suffix(['Z', 'z']) {
        return Some((clock, Some(0)));
    }
    let Some(at) = text.find(['+', '-']) else {
        return Some((text, None));
    };
    let (clock, offset) = text.split_at(at);
    let (hours, minutes) = offset.get(1..)?.split_once(':')?;
    let (hours, minutes) = (two_digits(hours)?, two_digits(minutes)?);
    if hours > 15 || minutes > 59 {
        return None;
    }
    let size = (hours * 60 + minutes) as i32;
    Some((clock, Some(if offset.starts_with('-') { -size } else { size })))
}

fn two_digits(text: &str) -> Option<u32> {
    if text.len() == 2 { digits(text) } else { None }
}

/// A number of up to four plain digits, without sign.
fn digits(text: &str) -> Option<u32> {
    let plain = text.len() <= 4 && text.bytes().all(|byte| byte.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_and_rounded() {
        let read = |text| time(text).map(|(hour, base)| (hour.month, hour.day, hour.hour, base));
        assert_eq!(read("2013-01-01T06:00:00Z"), Some((1, 1, 6, TimeBase::Utc)));
        assert_eq!(read("2013-01-01 05:51"), Some((1, 1, 6, TimeBase::LocalStandard)));
        assert_eq!(read("2013-12-31T23:51:00.5Z"), Some((1, 1, 0, TimeBase::Utc)));
        assert_eq!(read("2013-01-01T00:00+05:30"), Some((12, 31, 19, TimeBase::Utc)));
        assert_eq!(read("2013-01-01T00:00-05:00"), Some((1, 1, 5, TimeBase::Utc)));
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in [
            "",
            "2013",
            "2013-02-29T00:00Z",
            "2013-01-01",
            "2013/01/01T00:00Z",
            "2013-01-01T24:00Z",
            "2013-01-01T00:60Z",
            "2013-01-01T00:00:00:00Z",
            "2013-01-01T0:00Z",
            "+013-01-01T00:00Z",
            "2013-01-01T00:00+5",
            "2013-01-01T00:00+99:00",
            "２０１３-01-01T00:00Z",
            "2013-01-01T00:+1Z",
        ] {
            assert_eq!(time(text), None, "{text}");
        }
    }
}
