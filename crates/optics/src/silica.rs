//! Fused silica: from wavelength to refractive index, group index, facet reflectance and scattering floor.

use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Shortest wavelength of Malitson's fit, m.
pub const SHORTEST_WAVELENGTH_M: f64 = 0.21e-6;

/// Longest wavelength of Malitson's fit, m.
pub const LONGEST_WAVELENGTH_M: f64 = 3.71e-6;

/// Strengths of Malitson's three oscillators.
const STRENGTHS: [f64; 3] = [0.696_166_3, 0.407_942_6, 0.897_479_4];

/// Resonance wavelengths of Malitson's three oscillators, µm.
const RESONANCES_UM: [f64; 3] = [0.068_404_3, 0.116_241_4, 9.896_161];

/// Rayleigh scattering of the quietest silica, dB·µm⁴/km: the lower end of 0.7 to 0.9 (G. P. Agrawal,
/// *Fiber-Optic Communication Systems*, chapter 2).
pub const RAYLEIGH_FLOOR_DB_UM4_PER_KM: f64 = 0.7;

/// Refractive index of fused silica at 20 °C.
///
/// `n² − 1 = Σ Bᵢ λ²/(λ² − λᵢ²)` (I. H. Malitson, J. Opt. Soc. Am. 55, 1205, 1965). Holds for 0.21 to 3.71 µm in
/// vacuum wavelength; samples of glass differ by about 3·10⁻⁵.
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside that range.
///
/// # Examples
/// ```
/// let index = beamstay_optics::silica::refractive_index(1.55e-6)?;
/// assert!((index - 1.444_023_6).abs() < 1e-7);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn refractive_index(wavelength_m: f64) -> Result<f64, OpticsError> {
    let wavelength_m = check_wavelength(wavelength_m)?;
    Ok(index_and_slope(wavelength_m * 1e6).0)
}

/// Group index of fused silica at 20 °C, `n − λ dn/dλ`, from Malitson's formula.
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside 0.21 to 3.71 µm.
///
/// # Examples
/// ```
/// let index = beamstay_optics::silica::group_index(0.85e-6)?;
/// assert!((index - 1.465_724).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn group_index(wavelength_m: f64) -> Result<f64, OpticsError> {
    let wavelength_um = check_wavelength(wavelength_m)? * 1e6;
    let (index, slope_per_um) = index_and_slope(wavelength_um);
    Ok(index - wavelength_um * slope_per_um)
}

/// Share of the power that one bare facet between silica and air reflects at normal incidence,
/// `((n − 1)/(n + 1))²` (Fresnel).
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside 0.21 to 3.71 µm.
///
/// # Examples
/// ```
/// let reflectance = beamstay_optics::silica::facet_reflectance_ratio(0.808e-6)?;
/// assert!((reflectance - 0.034_125_8).abs() < 1e-7);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn facet_reflectance_ratio(wavelength_m: f64) -> Result<f64, OpticsError> {
    Ok(fresnel_reflectance_ratio(refractive_index(wavelength_m)?))
}

/// Reflectance of one surface between air and a medium of the given index, normal incidence: `((n − 1)/(n + 1))²` (Fresnel; any
/// textbook of optics).
///
/// # Examples
/// ```
/// use beamstay_optics::silica::fresnel_reflectance_ratio;
/// assert!((fresnel_reflectance_ratio(1.5) - 0.04).abs() < 1e-15);
/// ```
pub fn fresnel_reflectance_ratio(refractive_index: f64) -> f64 {
    ((refractive_index - 1.0) / (refractive_index + 1.0)).powi(2)
}

/// Power through two bare facets of silica with air between, per power in: `(1 − R)/(1 + R)`, the sum of all passes
/// without interference. A gap of few wavelengths interferes and swings between 0 and 4R.
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside 0.21 to 3.71 µm.
///
/// # Examples
/// ```
/// let ratio = beamstay_optics::silica::air_gap_transmission_ratio(0.808e-6)?;
/// assert!((-10.0 * ratio.log10() - 0.296_528).abs() < 1e-5);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn air_gap_transmission_ratio(wavelength_m: f64) -> Result<f64, OpticsError> {
    let reflectance_ratio = facet_reflectance_ratio(wavelength_m)?;
    Ok((1.0 - reflectance_ratio) / (1.0 + reflectance_ratio))
}

/// Least attenuation that silica can have at a wavelength, dB/km: Rayleigh scattering alone, `0.7/λ⁴` with λ in
/// µm. A figure below it cannot be true.
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside 0.21 to 3.71 µm.
///
/// # Examples
/// ```
/// let floor = beamstay_optics::silica::rayleigh_floor_db_per_km(0.808e-6)?;
/// assert!((floor - 1.6423).abs() < 1e-4);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn rayleigh_floor_db_per_km(wavelength_m: f64) -> Result<f64, OpticsError> {
    let wavelength_um = check_wavelength(wavelength_m)? * 1e6;
    Ok(RAYLEIGH_FLOOR_DB_UM4_PER_KM / wavelength_um.powi(4))
}

/// The wavelength, if Malitson's formula holds there.
pub(crate) fn check_wavelength(wavelength_m: f64) -> Result<f64, OpticsError> {
    Ok(in_range("wavelength", "m", wavelength_m, SHORTEST_WAVELENGTH_M, LONGEST_WAVELENGTH_M)?)
}

/// Index and its slope per µm at a checked wavelength.
fn index_and_slope(wavelength_um: f64) -> (f64, f64) {
    let square = wavelength_um * wavelength_um;
    let (mut sum, mut slope_of_sum) = (0.0, 0.0);
    for (strength, resonance_um) in STRENGTHS.iter().zip(RESONANCES_UM) {
        let distance = square - resonance_um * resonance_um;
        sum += strength * square / distance;
        slope_of_sum -= 2.0 * strength * wavelength_um * resonance_um * resonance_um / (distance * distance);
    }
    let index = (1.0 + sum).sqrt();
    (index, slope_of_sum / (2.0 * index))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wavelengths_outside_the_fit_are_refused() {
        for wavelength_m in [0.0, 0.2099e-6, 3.711e-6, f64::NAN, f64::INFINITY, -1e-6] {
            assert!(refractive_index(wavelength_m).is_err(), "{wavelength_m}");
            assert!(group_index(wavelength_m).is_err(), "{wavelength_m}");
            assert!(rayleigh_floor_db_per_km(wavelength_m).is_err(), "{wavelength_m}");
            assert!(air_gap_transmission_ratio(wavelength_m).is_err(), "{wavelength_m}");
        }
        assert!(refractive_index(SHORTEST_WAVELENGTH_M).is_ok());
        assert!(refractive_index(LONGEST_WAVELENGTH_M).is_ok());
    }

    #[test]
    fn group_index_is_the_index_less_the_slope() {
        let (wavelength_m, step_m) = (1.064e-6, 1e-11);
        let slope = (refractive_index(wavelength_m + step_m).unwrap()
            - refractive_index(wavelength_m - step_m).unwrap())
            / (2.0 * step_m);
        let expected = refractive_index(wavelength_m).unwrap() - wavelength_m * slope;
        assert!((group_index(wavelength_m).unwrap() - expected).abs() < 1e-8);
    }
}
