//! Beaufort force of a mean wind.

use beamstay_numerics::domain::in_range;

use crate::error::EnvironmentError;

/// Lowest 10-minute mean at 10 m that belongs to each force, m/s (WMO-No. 8, Guide to Instruments and Methods of
/// Observation, the Beaufort table; forces 1 to 3 from memory).
pub const LOWER_BOUNDS_M_S: [f64; 13] =
    [0.0, 0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7];

/// Beaufort force, 0 to 12, of a mean wind at 10 m.
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] outside 0 to 100 m/s.
///
/// # Examples
/// ```
/// use beamstay_environment::beaufort::force;
/// assert_eq!(force(12.0).unwrap(), 6);
/// ```
pub fn force(speed_m_s: f64) -> Result<u8, EnvironmentError> {
    in_range("wind speed", "m/s", speed_m_s, 0.0, 100.0)?;
    let above_count = LOWER_BOUNDS_M_S.iter().filter(|bound| speed_m_s >= **bound).count();
    Ok(above_count as u8 - 1)
}

/// Mean wind at 10 m in the middle of a force, m/s: 0.836 force^1.5 (the empirical law of 1906; from memory).
///
/// # Errors
/// [`EnvironmentError::OutOfRange`] for a force above 12.
///
/// # Examples
/// ```
/// let speed_m_s = beamstay_environment::beaufort::middle_speed_m_s(6).unwrap();
/// assert!((speed_m_s - 12.29).abs() < 0.01);
/// ```
pub fn middle_speed_m_s(force: u8) -> Result<f64, EnvironmentError> {
    in_range("Beaufort force", "", f64::from(force), 0.0, 12.0)?;
    Ok(0.836 * f64::from(force).powf(1.5))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bounds_belong_to_the_force_they_open() {
        for (index, bound) in LOWER_BOUNDS_M_S.iter().enumerate() {
            assert_eq!(usize::from(force(*bound).unwrap()), index);
            if index > 0 {
                assert_eq!(usize::from(force(bound - 1e-9).unwrap()), index - 1);
            }
        }
        assert!(force(-0.1).is_err() && force(f64::NAN).is_err() && middle_speed_m_s(13).is_err());
    }

    #[test]
    fn the_law_lies_inside_its_force() {
        for number in 1..=12 {
            assert_eq!(force(middle_speed_m_s(number).unwrap()).unwrap(), number);
        }
    }
}
