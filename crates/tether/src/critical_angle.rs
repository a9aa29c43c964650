//! The angle at which a long straight line hangs in an even flow.

use beamstay_numerics::domain::in_range;

use crate::error::TetherError;

/// Angle between the flow and the straight part of a long line, degrees, 0 to 90: where the weight across the line balances the
/// drag across it, R sin²φ = |w| cos φ, so that cos φ = √(1 + k²/4) − k/2 with k = |w|/R (L. Pode, DTMB Report 687, 1951; E. E. Zajac,
/// *Bell Syst. Tech. J.* 36, 1957; formula from memory). For a light line it is near √k.
///
/// Arguments: weight less buoyancy per metre, N/m, either sign, size up to 1000; drag per metre of a line square to the flow,
/// ½ ρ Cn d V², N/m, above 0 to 10⁵. In an even flow without friction along the line its upper part cannot lean
/// further, however long it is.
///
/// # Errors
/// [`TetherError::OutOfRange`].
///
/// # Examples
/// 10 g/m of 3 mm at 12 m/s with Cn 1.1 in air of 1.225 kg/m³:
/// ```
/// let drag = 0.5 * 1.225 * 1.1 * 0.003 * 12.0 * 12.0;
/// let angle_deg = beamstay_tether::critical_angle_deg(0.0980665, drag).unwrap();
/// assert!((angle_deg - 32.260883371).abs() < 1e-8);
/// ```
pub fn critical_angle_deg(weight_n_per_m: f64, drag_n_per_m: f64) -> Result<f64, TetherError> {
    in_range("weight less buoyancy", "N/m", weight_n_per_m, -1e3, 1e3)?;
    in_range("drag square to the flow", "N/m", drag_n_per_m, 1e-12, 1e5)?;
    let k = weight_n_per_m.abs() / drag_n_per_m;
    // The difference of two large numbers for a heavy line, written as a quotient.
    let cosine = 1.0 / ((1.0 + 0.25 * k * k).sqrt() + 0.5 * k);
    Ok(cosine.acos().to_degrees())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_along_the_flow_and_plumb() {
        assert!(critical_angle_deg(0.0, 1.0).unwrap() < 1e-6);
        assert!((critical_angle_deg(-1e3, 1e-9).unwrap() - 90.0).abs() < 1e-6);
        assert!(critical_angle_deg(1.0, 0.0).is_err() && critical_angle_deg(f64::NAN, 1.0).is_err());
    }

    #[test]
    fn the_balance_holds() {
        for (weight, drag) in [(0.1, 0.3), (-0.3, 3.0), (5.0, 0.1)] {
            let angle: f64 = critical_angle_deg(weight, drag).unwrap().to_radians();
            assert!((drag * angle.sin().powi(2) - f64::abs(weight) * angle.cos()).abs() < 1e-12);
        }
    }
}
