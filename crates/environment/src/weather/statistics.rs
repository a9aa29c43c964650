//! Statistics of an hourly series.

use beamstay_numerics::domain::in_range;

use super::{WeatherHour, WeatherSeries};
use crate::error::EnvironmentError;

/// A mean wind below this is calm, m/s: no anemometer turns, and a gust over it is no ratio.
const LEAST_MEAN_M_S: f64 = 0.1;

/// Mean, spread and extremes of recorded values.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Summary {
    /// How many values were recorded.
    pub count: usize,
    /// Mean, in the unit of the values, as all that follows.
    pub mean: f64,
    /// Standard deviation with n − 1; 0 for one value.
    pub deviation: f64,
    /// Smallest value.
    pub min: f64,
    /// Largest value.
    pub max: f64,
}

impl Summary {
    /// Summary of finite values in their own unit; `None` if there are none. Mean and deviation by definition.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::weather::Summary;
    /// let summary = Summary::of([2.0, 4.0, 6.0]).unwrap();
    /// assert_eq!((summary.mean, summary.deviation, summary.max), (4.0, 2.0, 6.0));
    /// ```
    pub fn of(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        // Welford's update: no cancellation for a small spread on a large mean.
        let mut summary =
            Self { count: 0, mean: 0.0, deviation: 0.0, min: f64::INFINITY, max: f64::NEG_INFINITY };
        let mut squares = 0.0;
        for value in values {
            summary.count += 1;
            let before = value - summary.mean;
            summary.mean += before / summary.count as f64;
            squares += before * (value - summary.mean);
            summary.min = summary.min.min(value);
            summary.max = summary.max.max(value);
        }
        if summary.count > 1 {
            summary.deviation = (squares / (summary.count - 1) as f64).sqrt();
        }
        (summary.count > 0).then_some(summary)
    }
}

/// Chance that a number of consecutive hours all stay within a limit, counted over every window of a record that has no gap.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Persistence {
    /// Share of the windows in which no hour exceeds the limit.
    pub share: f64,
    /// Windows without a gap.
    pub windows_count: usize,
}

/// Percentile of values, linear between neighbours (definition 7 of Hyndman and Fan, Am. Stat. 50, 1996); `None` if there
/// are no values. Values must be finite; the slice is sorted.
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] for a percentage outside 0 to 100.
///
/// # Examples
/// ```
/// let mut speeds = [4.0, 1.0, 3.0, 2.0];
/// assert_eq!(beamstay_environment::weather::percentile(&mut speeds, 50.0).unwrap(), Some(2.5));
/// ```
pub fn percentile(values: &mut [f64], percent: f64) -> Result<Option<f64>, EnvironmentError> {
    in_range("percentile", "%", percent, 0.0, 100.0)?;
    values.sort_unstable_by(f64::total_cmp);
    let Some(last) = values.len().checked_sub(1) else {
        return Ok(None);
    };
    let place = percent / 100.0 * last as f64;
    let below = (place.floor() as usize).min(last);
    let above = (below + 1).min(last);
    Ok(Some(values[below] + (place - below as f64) * (values[above] - values[below])))
}

impl WeatherSeries {
    /// The recorded mean winds, m/s, without the gaps.
    pub fn winds_m_s(&self) -> impl Iterator<Item = f64> + '_ {
        self.hours.iter().filter_map(|hour| hour.wind_m_s)
    }

    /// Percentile of the recorded mean winds, m/s; `None` if none is recorded.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] for a percentage outside 0 to 100.
    pub fn wind_percentile_m_s(&self, percent: f64) -> Result<Option<f64>, EnvironmentError> {
        percentile(&mut self.winds_m_s().collect::<Vec<_>>(), percent)
    }

    /// Hours whose mean wind is recorded as 0, and their share of the hours with a recorded mean; `None` if none is
    /// recorded. Airport stations write 2 kt and less as 0.
    pub fn calm(&self) -> Option<(usize, f64)> {
        let recorded_count = self.winds_m_s().count();
        let calm_count = self.winds_m_s().filter(|speed| *speed <= 0.0).count();
        (recorded_count > 0).then(|| (calm_count, calm_count as f64 / recorded_count as f64))
    }

    /// Hours, and their share of the hours with a recorded value, in which `value` (a speed, a gust, anything of the hour)
    /// exceeds `limit`; `None` if no hour has a value.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::{WeatherSeries, weather::WeatherHour};
    /// let text = "time,wind_m_s,wind_gust_m_s\n2024-01-01T00:00Z,9,13\n2024-01-01T01:00Z,8,\n";
    /// let series = WeatherSeries::from_csv_str(text).unwrap();
    /// assert_eq!(series.exceedance(12.0, |hour| hour.wind_m_s), Some((0, 0.0)));
    /// assert_eq!(series.exceedance(12.0, WeatherHour::highest_wind_m_s), Some((1, 0.5)));
    /// ```
    pub fn exceedance(
        &self,
        limit: f64,
        value: impl Fn(&WeatherHour) -> Option<f64>,
    ) -> Option<(usize, f64)> {
        let mut recorded_count = 0_usize;
        let mut above_count = 0_usize;
        for found in self.hours.iter().filter_map(value) {
            recorded_count += 1;
            above_count += usize::from(found > limit);
        }
        (recorded_count > 0).then(|| (above_count, above_count as f64 / recorded_count as f64))
    }

    /// Chance that `window_hours_count` consecutive hours all hold `within`; `None` if no window is free of gaps. Hours are
    /// not independent: the power of the hourly chance understates a day's stay by a factor of two.
    ///
    /// `within` says of an hour whether it is good, or `None` where the record does not tell.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::WeatherSeries;
    /// let text = "time,wind_m_s\n2024-01-01T00:00Z,9\n2024-01-01T01:00Z,8\n2024-01-01T02:00Z,12\n";
    /// let series = WeatherSeries::from_csv_str(text).unwrap();
    /// let stay = series.persistence(2, |hour| hour.wind_m_s.map(|speed| speed <= 10.0)).unwrap();
    /// assert_eq!((stay.share, stay.windows_count), (0.5, 2));
    /// ```
    pub fn persistence(
        &self,
        window_hours_count: usize,
        within: impl Fn(&WeatherHour) -> Option<bool>,
    ) -> Option<Persistence> {
        let window = window_hours_count.max(1);
        let (mut known_run, mut good_run) = (0, 0);
        let (mut windows_count, mut good_count) = (0_usize, 0_usize);
        for hour in &self.hours {
            let good = within(hour);
            known_run = if good.is_some() { known_run + 1 } else { 0 };
            good_run = if good == Some(true) { good_run + 1 } else { 0 };
            windows_count += usize::from(known_run >= window);
            good_count += usize::from(good_run >= window);
        }
        (windows_count > 0)
            .then(|| Persistence { share: good_count as f64 / windows_count as f64, windows_count })
    }

    /// Reported gust over mean wind of every hour that has both and a mean of at least 0.1 m/s. Gusts are reported in gusty hours
    /// only, so these ratios are higher than those of all hours.
    pub fn gust_ratios(&self) -> impl Iterator<Item = f64> + '_ {
        self.hours.iter().filter_map(|hour| match (hour.wind_gust_m_s, hour.wind_m_s) {
            (Some(gust), Some(mean)) if mean >= LEAST_MEAN_M_S => Some(gust / mean),
            _ => None,
        })
    }
}
