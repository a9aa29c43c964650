//! Hover near the ground: height in, thrust at equal power or induced power at equal thrust out.

/// Least height over rotor radius at which the formula is used; nearer to the ground it is held (it over-predicts there).
pub const LEAST_HEIGHT_RATIO: f64 = 0.5;

/// Thrust near the ground ÷ thrust far from it at equal power: 1/(1 − (R/4z)²/(1 + (V/v_i)²)) (I. C. Cheeseman and
/// W. E. Bennett, *The effect of the ground on a helicopter rotor in forward flight*, ARC R&M 3021, 1955). z is the height
/// of the disk over the ground, V the edgewise speed and v_i the induced velocity. Held at z/R = 0.5 below it; 1 for a
/// height that is not a number.
///
/// # Examples
/// ```
/// use beamstay_rotor::ground_effect::thrust_ratio;
/// assert!((thrust_ratio(1.0, 0.0) - 1.066_667).abs() < 1e-6);
/// assert_eq!(thrust_ratio(0.1, 0.0), thrust_ratio(0.5, 0.0));
/// ```
pub fn thrust_ratio(height_over_radius: f64, edgewise_over_induced: f64) -> f64 {
    1.0 / induced_power_ratio(height_over_radius, edgewise_over_induced)
}

/// Induced power near the ground ÷ induced power far from it at equal thrust: the inverse of [`thrust_ratio`].
///
/// # Examples
/// ```
/// assert!((beamstay_rotor::ground_effect::induced_power_ratio(2.0, 0.0) - 0.984_375).abs() < 1e-12);
/// ```
pub fn induced_power_ratio(height_over_radius: f64, edgewise_over_induced: f64) -> f64 {
    if height_over_radius.is_nan() {
        return 1.0;
    }
    let near = 0.25 / height_over_radius.max(LEAST_HEIGHT_RATIO);
    let swept = 1.0 + edgewise_over_induced * edgewise_over_induced;
    let ratio = 1.0 - near * near / swept;
    if ratio.is_finite() { ratio } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn held_below_half_a_radius_and_without_effect_far_away() {
        assert!((thrust_ratio(-3.0, 0.0) - 4.0 / 3.0).abs() < 1e-12);
        assert!((thrust_ratio(f64::INFINITY, 0.0) - 1.0).abs() < 1e-12);
        assert!((thrust_ratio(f64::NAN, 0.0) - 1.0).abs() < 1e-12);
        assert!((thrust_ratio(1.0, f64::INFINITY) - 1.0).abs() < 1e-12);
        assert!(thrust_ratio(1.0, 2.0) < thrust_ratio(1.0, 0.0));
    }
}
