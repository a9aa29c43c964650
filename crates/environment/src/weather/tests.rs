use proptest::prelude::*;

use super::*;

fn csv(text: &str) -> Result<WeatherSeries, EnvironmentError> {
    WeatherSeries::from_csv_str(text)
}

fn message(text: &str) -> String {
    csv(text).unwrap_err().to_string()
}

/// An EPW file with rows made from (year, month, day, hour, wind field).
fn epw(rows: &[(i32, u8, u8, u8, &str)]) -> String {
    let mut text = String::from(
        "LOCATION,Any Place,-,-,-,0,47.5,8.5,1.0,440.0\nDESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\n\
         GROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,\nCOMMENTS 2,\n\
         DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n",
    );
    for (year, month, day, hour, wind) in rows {
        text.push_str(&format!(
            "{year},{month},{day},{hour},60,?9?9,-6.1,-11.7,65,96100,0,0,246,0,0,0,0,0,0,0,999,{wind},10,10\n"
        ));
    }
    text
}

#[test]
fn gaps_are_hours_without_values() {
    let series = csv("time,wind_m_s\n2023-12-31T22:00Z,1\n2024-01-01T01:00Z,2\n").unwrap();
    assert_eq!(series.hours.len(), 4);
    assert_eq!(series.missing_rows_count, 2);
    assert_eq!(series.hours[2], WeatherHour::gap(CivilHour::new(2024, 1, 1, 0).unwrap()));
    assert_eq!(series.time_base, TimeBase::Utc);
}

#[test]
fn a_leap_day_is_filled_when_it_exists() {
    let leap = csv("time,wind_m_s\n2024-02-28T23:00Z,1\n2024-03-01T00:00Z,2\n").unwrap();
    let common = csv("time,wind_m_s\n2023-02-28T23:00Z,1\n2023-03-01T00:00Z,2\n").unwrap();
    assert_eq!((leap.hours.len(), common.hours.len()), (26, 2));
}

#[test]
fn columns_in_any_order_and_missing_codes() {
    let series = csv(
        "\u{feff}relative_humidity_percent, pressure_hpa ,time,wind_from_deg,wind_m_s\n104,955.5,2024-01-01 00:00,NA,\n",
    )
    .unwrap();
    let hour = series.hours[0];
    assert_eq!(hour.relative_humidity_ratio, Some(1.0));
    assert_eq!(hour.pressure_pa, Some(95_550.0));
    assert_eq!((hour.wind_m_s, hour.wind_from_deg), (None, None));
    assert_eq!((series.time_base, series.pressure_level), (TimeBase::LocalStandard, PressureLevel::Station));
}

#[test]
fn faults_of_a_csv_are_named_with_their_place() {
    assert_eq!(message(""), "the weather file holds no hours");
    assert_eq!(message("time,wind_m_s\n"), "the weather file holds no hours");
    assert_eq!(message("time,wind_ms\n"), "line 1, column 2: unknown column `wind_ms`");
    assert_eq!(message("time,temperature_c\n"), "line 1: column wind_m_s is missing");
    assert_eq!(
        message("time,wind_m_s,pressure,pressure_hpa\n"),
        "line 1, column 4: `pressure_hpa` repeats an earlier column"
    );
    let start = "time,wind_m_s\n2024-01-01T00:00Z,5\n";
    assert_eq!(message(&format!("{start}2024-01-01T01:00Z\n")), "line 3: 1 fields where 2 are needed");
    assert_eq!(
        message(&format!("{start}2024-01-01T01:00Z,x\n")),
        "line 3, column 2: wind_m_s `x` is not a number"
    );
    assert_eq!(
        message(&format!("{start}2024-01-01T01:00Z,inf\n")),
        "line 3, column 2: wind_m_s inf m/s is outside 0 to 75 m/s"
    );
    assert_eq!(message(&format!("{start}soon,1\n")), "line 3, column 1: `soon` is not a time");
    assert_eq!(
        message(&format!("{start}2024-01-01T00:20Z,1\n")),
        "line 3: the hour does not come after that of the row before"
    );
    assert_eq!(
        message(&format!("{start}2024-01-01T01:00,1\n")),
        "line 3: universal and local times are mixed"
    );
    assert_eq!(
        message(&format!("{start}2999-01-01T01:00Z,1\n")),
        "line 3: the record spans more than 500000 hours"
    );
}

#[test]
fn bytes_that_are_not_text_are_refused() {
    let error = WeatherSeries::from_csv_reader(&b"time,wind_m_s\n2024-01-01T00:00Z,\xff\n"[..]).unwrap_err();
    assert_eq!(error, EnvironmentError::NotUtf8 { line: 2 });
}

#[test]
fn epw_hours_run_to_24_and_codes_become_gaps() {
    let text = epw(&[(1990, 1, 31, 24, "5.2"), (1985, 2, 1, 1, "999"), (1985, 2, 1, 2, "0.0")]);
    let series = WeatherSeries::from_epw_str(&text).unwrap();
    assert_eq!(series.hours.len(), 3, "months of different years follow each other");
    assert_eq!(series.hours[0].start, CivilHour::new(1990, 1, 31, 23).unwrap());
    assert_eq!(series.hours[0].wind_from_deg, None, "999 is missing");
    assert_eq!(series.hours[1].wind_m_s, None);
    assert_eq!(series.hours[2].wind_m_s, Some(0.0));
    assert_eq!(series.hours[0].pressure_pa, Some(96_100.0));
    assert_eq!(series.time_base, TimeBase::LocalStandard);
    let site = series.site.unwrap();
    assert_eq!((site.elevation_m, site.time_zone_h), (440.0, 1.0));
}

/// The missing codes of the format's field list: 99.9 °C, 999 %, 999999 Pa, 999°, 999 m/s.
#[test]
fn epw_missing_codes_are_gaps_and_never_zeros() {
    let whole = epw(&[(1990, 6, 1, 1, "3.1")]);
    let missing = whole.replace("-6.1,-11.7,65,96100", "99.9,99.9,999,999999").replace("999,3.1", "999,999");
    let hour = WeatherSeries::from_epw_str(&missing).unwrap().hours[0];
    assert_eq!(hour, WeatherHour::gap(CivilHour::new(1990, 6, 1, 0).unwrap()));
    let known = WeatherSeries::from_epw_str(&whole).unwrap().hours[0];
    assert_eq!((known.temperature_c, known.relative_humidity_ratio), (Some(-6.1), Some(0.65)));
    assert_eq!(known.wind_m_s, Some(3.1));
}

/// A whole year of hours 1 to 24: 8,760 of them, 8,784 in a leap year, without a gap and each an hour after the last.
#[test]
fn epw_years_are_whole_leap_or_not() {
    for (year, hours_count) in [(2023, 8760), (2024, 8784)] {
        let days = [31, if year == 2024 { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        let mut rows = Vec::new();
        for (month, days) in (1_u8..).zip(days) {
            rows.extend((1..=days).flat_map(|day| (1..=24).map(move |hour| (year, month, day, hour, "4"))));
        }
        let series = WeatherSeries::from_epw_str(&epw(&rows)).unwrap();
        assert_eq!((series.hours.len(), series.missing_rows_count), (hours_count, 0), "{year}");
        for pair in series.hours.windows(2) {
            assert_eq!(pair[0].start.next(year == 2024), pair[1].start, "{year}");
        }
    }
}

#[test]
fn epw_february_ends_on_28_or_29() {
    let without = epw(&[(1988, 2, 28, 24, "1"), (1988, 3, 1, 1, "1")]);
    assert_eq!(WeatherSeries::from_epw_str(&without).unwrap().hours.len(), 2);
    let with = epw(&[(1988, 2, 28, 24, "1"), (1988, 2, 29, 24, "1"), (1988, 3, 1, 1, "1")]);
    let series = WeatherSeries::from_epw_str(&with).unwrap();
    assert_eq!((series.hours.len(), series.missing_rows_count), (26, 23));
}

#[test]
fn epw_years_may_follow_each_other() {
    let text = epw(&[(2001, 12, 31, 24, "1"), (2002, 1, 1, 1, "1"), (2002, 1, 1, 3, "1")]);
    let series = WeatherSeries::from_epw_str(&text).unwrap();
    assert_eq!((series.hours.len(), series.missing_rows_count), (4, 1));
}

#[test]
fn faults_of_an_epw_are_named_with_their_place() {
    let fault = |text: &str| WeatherSeries::from_epw_str(text).unwrap_err().to_string();
    assert_eq!(fault(""), "the weather file holds no hours");
    assert_eq!(fault("hello"), "line 1: an EPW file has the header `LOCATION` here");
    assert_eq!(
        fault(&epw(&[(2001, 1, 1, 1, "469")])),
        "line 9, column 22: wind speed 469 m/s is outside 0 to 75 m/s"
    );
    assert_eq!(fault(&epw(&[(2001, 1, 1, 25, "4")])), "line 9, column 4: hour 25 is outside 1 to 24");
    assert_eq!(fault(&epw(&[(2001, 2, 29, 1, "4")])), "line 9, column 1: `2001-2-29 hour 1` is not a time");
    assert_eq!(
        fault(&epw(&[(2001, 2, 2, 1, "4"), (2001, 2, 2, 1, "4")])),
        "line 10: the hour does not come after that of the row before"
    );
    let half_hours = epw(&[(2001, 1, 1, 1, "4")]).replace("DATA PERIODS,1,1", "DATA PERIODS,1,2");
    assert_eq!(fault(&half_hours), "line 8, column 3: records per hour 2 is outside 1 to 1");
    assert!(fault(&epw(&[]).replace("47.5", "north")).starts_with("line 1, column 7: latitude"));
}

proptest! {
    #[test]
    fn prop_no_bytes_make_the_readers_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = WeatherSeries::from_csv_reader(&bytes[..]);
        let _ = WeatherSeries::from_epw_reader(&bytes[..]);
        let mut after_header = b"time,wind_m_s\n".to_vec();
        after_header.extend_from_slice(&bytes);
        let _ = WeatherSeries::from_csv_reader(&after_header[..]);
        let mut after_header = epw(&[]).into_bytes();
        after_header.extend_from_slice(&bytes);
        let _ = WeatherSeries::from_epw_reader(&after_header[..]);
    }

    #[test]
    fn prop_times_of_any_text_do_not_panic(text in "[-0-9T:Z+. é]{0,30}") {
        let _ = csv(&format!("time,wind_m_s\n{text},1\n"));
    }
}

#[test]
fn regress_a_gust_over_next_to_nothing_is_no_ratio() {
    let rows = "time,wind_m_s,wind_gust_m_s\n2024-01-01T00:00Z,5e-324,9\n2024-01-01T01:00Z,0.1,9\n2024-01-01T02:00Z,0.099,9\n";
    let ratios: Vec<f64> = csv(rows).unwrap().gust_ratios().collect();
    assert_eq!(ratios, [90.0]);
}
