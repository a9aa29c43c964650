//! Range checks at the border of every model: a number is finite and inside its named range, or the caller gets
//! an [`OutOfRange`] that says what was found and what is allowed.

use std::fmt;

/// A quantity that is not finite or lies outside the range a model is meant for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// Name of the quantity in the words of the trade, for example `tether diameter`.
    pub quantity: &'static str,
    /// The value found, in [`Self::unit`]; may be NaN or infinite.
    pub value: f64,
    /// Smallest allowed value, in [`Self::unit`].
    pub min: f64,
    /// Largest allowed value, in [`Self::unit`].
    pub max: f64,
    /// Unit of all three numbers, empty for a pure number.
    pub unit: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let space = if self.unit.is_empty() { "" } else { " " };
        write!(
            f,
            "{} {}{space}{} is outside {} to {}{space}{}",
            self.quantity, self.value, self.unit, self.min, self.max, self.unit
        )
    }
}

impl std::error::Error for OutOfRange {}

/// Returns `value` if it is finite and in `min..=max`.
///
/// # Errors
/// [`OutOfRange`] otherwise, NaN included.
///
/// # Examples
/// ```
/// use beamstay_numerics::domain::in_range;
/// assert_eq!(in_range("tether diameter", "m", 0.002, 1e-5, 0.2), Ok(0.002));
/// let error = in_range("tether diameter", "m", f64::NAN, 1e-5, 0.2).unwrap_err();
/// assert_eq!(error.to_string(), "tether diameter NaN m is outside 0.00001 to 0.2 m");
/// ```
pub fn in_range(
    quantity: &'static str,
    unit: &'static str,
    value: f64,
    min: f64,
    max: f64,
) -> Result<f64, OutOfRange> {
    if value >= min && value <= max && value.is_finite() {
        Ok(value)
    } else {
        Err(OutOfRange { quantity, value, min, max, unit })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_belong_to_the_range() {
        assert!(in_range("x", "", 0.0, 0.0, 1.0).is_ok());
        assert!(in_range("x", "", 1.0, 0.0, 1.0).is_ok());
    }

    #[test]
    fn just_outside_nan_and_infinity_are_refused() {
        for value in [-f64::MIN_POSITIVE, 1.0 + f64::EPSILON, f64::NAN, f64::INFINITY] {
            assert!(in_range("x", "", value, 0.0, 1.0).is_err(), "{value}");
        }
        assert!(in_range("x", "", f64::INFINITY, 0.0, f64::INFINITY).is_err());
    }
}
