//! Decibels to ratios and back. Decibels of losses in a row add; ratios multiply.

use std::f64::consts::LN_10;

/// Power out per power in for a loss in dB, `10^(−dB/10)` (by definition).
///
/// # Examples
/// ```
/// // 3 dB is not one half.
/// assert!((beamstay_optics::decibel::ratio_of_loss(3.0) - 0.501_187_23).abs() < 1e-8);
/// ```
pub fn ratio_of_loss(loss_db: f64) -> f64 {
    (-loss_db * (LN_10 / 10.0)).exp()
}

/// Loss in dB for power out per power in, `−10 log₁₀`; a ratio below the smallest normal number counts as that
/// number (3076.5 dB), so that the answer is finite.
///
/// # Examples
/// ```
/// assert!((beamstay_optics::decibel::loss_of_ratio(0.5) - 3.010_299_957).abs() < 1e-9);
/// ```
pub fn loss_of_ratio(transmission_ratio: f64) -> f64 {
    // `+ 0.0` turns the negative zero of a lossless stage into zero.
    -10.0 * transmission_ratio.max(f64::MIN_POSITIVE).log10() + 0.0
}

/// Attenuation in 1/m for one in dB/km: `dB/km · ln 10/10⁴` (by definition).
///
/// # Examples
/// ```
/// assert!((beamstay_optics::decibel::per_m_of_db_per_km(1.0) - 2.302_585e-4).abs() < 1e-10);
/// ```
pub fn per_m_of_db_per_km(attenuation_db_per_km: f64) -> f64 {
    attenuation_db_per_km * (LN_10 / 10_000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decibels_and_ratios_undo_each_other() {
        for loss_db in [0.0, 0.3, 3.0, 40.0, 300.0] {
            assert!((loss_of_ratio(ratio_of_loss(loss_db)) - loss_db).abs() < 1e-11, "{loss_db}");
        }
    }

    #[test]
    fn no_light_is_a_large_but_finite_loss() {
        assert!((loss_of_ratio(0.0) - 3076.5).abs() < 0.1);
        assert!(loss_of_ratio(1.0).is_sign_positive());
    }
}
