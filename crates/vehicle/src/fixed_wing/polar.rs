//! Drag polar of an aeroplane, CD = CD0 + k CL², and the lift coefficients of its best points (Anderson, *Introduction to Flight*, ch. 6).

use beamstay_numerics::domain::in_range;

use crate::error::VehicleError;

/// Parabolic polar: drag coefficient = zero-lift part + k × lift coefficient², up to a largest lift coefficient.
///
/// # Examples
/// ```
/// use beamstay_vehicle::Polar;
/// // Light aircraft of Anderson, Introduction to Flight: CD0 0.025, aspect ratio 7.3657, e 0.8.
/// let polar = Polar::from_span_efficiency(0.025, 7.3657, 0.8, 1.6)?;
/// assert!((polar.largest_lift_to_drag() - 13.606).abs() < 1e-3);
/// # Ok::<(), beamstay_vehicle::VehicleError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Polar {
    zero_lift_drag: f64,
    induced_factor: f64,
    largest_lift: f64,
}

impl Polar {
    /// A polar from its zero-lift drag coefficient (0.001 to 1), the factor k of the square of the lift coefficient
    /// (0.001 to 2) and the largest lift coefficient (0.1 to 5).
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn new(zero_lift_drag: f64, induced_factor: f64, largest_lift: f64) -> Result<Self, VehicleError> {
        Ok(Self {
            zero_lift_drag: in_range("zero-lift drag coefficient", "", zero_lift_drag, 0.001, 1.0)?,
            induced_factor: in_range("induced drag factor", "", induced_factor, 0.001, 2.0)?,
            largest_lift: in_range("largest lift coefficient", "", largest_lift, 0.1, 5.0)?,
        })
    }

    /// A polar with k = 1/(π e AR) (Prandtl; Anderson, *Introduction to Flight*, ch. 6) from the aspect ratio (1 to
    /// 60) and Oswald's span efficiency e (0.2 to 1).
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`].
    pub fn from_span_efficiency(
        zero_lift_drag: f64,
        aspect_ratio: f64,
        span_efficiency: f64,
        largest_lift: f64,
    ) -> Result<Self, VehicleError> {
        let aspect_ratio = in_range("aspect ratio", "", aspect_ratio, 1.0, 60.0)?;
        let efficiency = in_range("span efficiency", "", span_efficiency, 0.2, 1.0)?;
        Self::new(zero_lift_drag, 1.0 / (std::f64::consts::PI * efficiency * aspect_ratio), largest_lift)
    }

    /// Drag coefficient at a lift coefficient of either sign. Beyond the largest lift coefficient the parabola is
    /// continued; a real wing has stalled there.
    pub fn drag_coefficient(&self, lift_coefficient: f64) -> f64 {
        self.zero_lift_drag + self.induced_factor * lift_coefficient * lift_coefficient
    }

    /// Largest lift coefficient.
    pub fn largest_lift(&self) -> f64 {
        self.largest_lift
    }

    /// Lift coefficient of least drag, √(CD0/k), whether or not the wing reaches it.
    pub fn least_drag_lift(&self) -> f64 {
        (self.zero_lift_drag / self.induced_factor).sqrt()
    }

    /// Lift coefficient of least power, √(3 CD0/k), whether or not the wing reaches it.
    pub fn least_power_lift(&self) -> f64 {
        (3.0 * self.zero_lift_drag / self.induced_factor).sqrt()
    }

    /// Largest lift over drag, 1/(2 √(k CD0)).
    pub fn largest_lift_to_drag(&self) -> f64 {
        0.5 / (self.induced_factor * self.zero_lift_drag).sqrt()
    }

    /// Largest CL^1.5/CD, (3 CD0/k)^¾ / (4 CD0): what endurance on a given power goes by.
    pub fn largest_endurance_factor(&self) -> f64 {
        self.least_power_lift().powf(1.5) / (4.0 * self.zero_lift_drag)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_kept() {
        assert!(Polar::new(0.001, 0.001, 0.1).is_ok());
        for bad in [0.0, -0.1, 7.0, f64::NAN] {
            assert!(Polar::new(bad, 0.05, 1.5).is_err(), "{bad}");
            assert!(Polar::new(0.03, bad, 1.5).is_err(), "{bad}");
            assert!(Polar::new(0.03, 0.05, bad).is_err(), "{bad}");
        }
        assert!(Polar::from_span_efficiency(0.03, 0.9, 0.8, 1.5).is_err());
        assert!(Polar::from_span_efficiency(0.03, 8.0, 1.01, 1.5).is_err());
    }

    #[test]
    fn best_points_are_where_they_must_be() {
        let polar = Polar::new(0.03, 0.05, 1.5).unwrap();
        let drag_point = polar.least_drag_lift();
        assert!((polar.drag_coefficient(drag_point) - 0.06).abs() < 1e-15);
        assert!((polar.drag_coefficient(polar.least_power_lift()) - 0.12).abs() < 1e-15);
        assert!(
            (drag_point / polar.drag_coefficient(drag_point) - polar.largest_lift_to_drag()).abs() < 1e-12
        );
    }
}
