//! Calendar hours (proleptic Gregorian).

/// A calendar hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct CivilHour {
    /// Year.
    pub year: i32,
    /// Month, 1 to 12.
    pub month: u8,
    /// Day of the month, from 1.
    pub day: u8,
    /// Hour, 0 to 23.
    pub hour: u8,
}

impl CivilHour {
    /// The hour if it exists in the calendar.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::weather::CivilHour;
    /// assert!(CivilHour::new(2024, 2, 29, 0).is_some());
    /// assert!(CivilHour::new(2023, 2, 29, 0).is_none());
    /// ```
    pub fn new(year: i32, month: u8, day: u8, hour: u8) -> Option<Self> {
        let exists = (1..=12).contains(&month)
            && day >= 1
            && day <= days_in_month(month, is_leap(year))
            && hour < 24
            && (1800..=2999).contains(&year);
        exists.then_some(Self { year, month, day, hour })
    }

    /// Hours since 1970-01-01T00 (H. Hinnant's algorithm for days from a civil date).
    pub(super) fn since_epoch(self) -> i64 {
        let shifted_year = i64::from(self.year) - i64::from(self.month <= 2);
        let era = shifted_year.div_euclid(400);
        let year_of_era = shifted_year.rem_euclid(400);
        let shifted_month = (i64::from(self.month) + 9) % 12;
        let day_of_year = (153 * shifted_month + 2) / 5 + i64::from(self.day) - 1;
        let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
        (era * 146_097 + day_of_era - 719_468) * 24 + i64::from(self.hour)
    }

    /// Inverse of [`Self::since_epoch`].
    pub(super) fn from_epoch(hours: i64) -> Self {
        let days = hours.div_euclid(24) + 719_468;
        let era = days.div_euclid(146_097);
        let day_of_era = days.rem_euclid(146_097);
        let year_of_era =
            (day_of_era - day_of_era / 1_460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let shifted_month = (5 * day_of_year + 2) / 153;
        let month = if shifted_month < 10 { shifted_month + 3 } else { shifted_month - 9 };
        Self {
            year: (year_of_era + era * 400 + i64::from(month <= 2)) as i32,
            month: month as u8,
            day: (day_of_year - (153 * shifted_month + 2) / 5 + 1) as u8,
            hour: hours.rem_euclid(24) as u8,
        }
    }

    /// Hours since the start of a year with or without 29 February.
    pub(super) fn hour_of_year(self, leap: bool) -> usize {
        let days: usize = (1..self.month).map(|month| usize::from(days_in_month(month, leap))).sum::<usize>()
            + usize::from(self.day)
            - 1;
        days * 24 + usize::from(self.hour)
    }

    /// The next hour, where February has 29 days if `leap`.
    pub(super) fn next(self, leap: bool) -> Self {
        let mut next = Self { hour: self.hour + 1, ..self };
        if next.hour == 24 {
            (next.hour, next.day) = (0, self.day + 1);
        }
        if next.day > days_in_month(self.month, leap) {
            (next.day, next.month) = (1, self.month + 1);
        }
        if next.month == 13 {
            (next.month, next.year) = (1, self.year + 1);
        }
        next
    }
}

pub(super) fn is_leap(year: i32) -> bool {
    year % 4 == 0 && (year % 100 != 0 || year % 400 == 0)
}

pub(super) fn days_in_month(month: u8, leap: bool) -> u8 {
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn known_instants() {
        assert_eq!(CivilHour::new(1970, 1, 1, 0).unwrap().since_epoch(), 0);
        assert_eq!(CivilHour::new(2000, 3, 1, 0).unwrap().since_epoch(), 11_017 * 24);
        assert_eq!(CivilHour::new(1969, 12, 31, 23).unwrap().since_epoch(), -1);
        assert!(CivilHour::new(1900, 2, 29, 0).is_none() && CivilHour::new(2000, 2, 29, 0).is_some());
        assert!(CivilHour::new(2020, 13, 1, 0).is_none() && CivilHour::new(2020, 1, 1, 24).is_none());
    }

    proptest! {
        #[test]
        fn prop_epoch_round_trip_and_next(hours in -1_000_000i64..8_000_000) {
            let civil = CivilHour::from_epoch(hours);
            prop_assert_eq!(civil.since_epoch(), hours);
            prop_assert_eq!(civil.next(is_leap(civil.year)), CivilHour::from_epoch(hours + 1));
        }
    }
}
