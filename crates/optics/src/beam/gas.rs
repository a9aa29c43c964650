//! Absorption by water vapour and oxygen, which visibility does not see: wavelength in, dB/km out.

use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Shortest wavelength of the table, m.
pub const SHORTEST_WAVELENGTH_M: f64 = 700e-9;

/// Longest wavelength of the table, m.
pub const LONGEST_WAVELENGTH_M: f64 = 1700e-9;

/// Largest loss in each band of 10 nm, dB over a level path of 1 km at sea level, rows of 100 nm from 700 nm.
const LARGEST_DB_PER_KM: [[f64; 10]; 10] = [
    [0.42, 1.28, 1.28, 0.83, 0.18, 2.5, 2.59, 0.06, 0.25, 0.29],
    [0.24, 0.83, 0.96, 0.45, 0.21, 0.12, 0.02, 0.04, 0.07, 1.5],
    [1.57, 1.69, 2.51, 6.53, 4.51, 3.57, 2.25, 1.14, 0.62, 0.12],
    [0.19, 0.19, 0.11, 0.04, 0.01, 0.05, 0.12, 0.31, 0.5, 1.53],
    [1.84, 7.88, 9.32, 10.1, 6.53, 4.77, 1.72, 0.91, 1.04, 0.83],
    [0.79, 0.61, 0.32, 0.14, 0.04, 0.11, 0.25, 0.23, 0.4, 0.69],
    [1.31, 2.52, 4.82, 5.7, 17.89, 53.53, 63.14, 56.51, 56.9, 39.94],
    [32.89, 20.48, 13.63, 11.7, 9.91, 9.41, 9.33, 9.59, 6.3, 3.03],
    [1.47, 0.9, 0.55, 0.3, 0.15, 0.09, 0.16, 0.18, 0.15, 0.16],
    [0.17, 0.16, 0.07, 0.11, 0.16, 0.17, 0.17, 0.15, 0.18, 0.22],
];

/// Loss to gases at sea level, dB/km: the largest that LOWTRAN7 (US Air Force, 1989; no aerosol, molecular scattering
/// included) gives in the band of 10 nm round the wavelength, over all of its six model atmospheres and 1 km. The
/// tropical one decides almost everywhere.
///
/// Water vapour makes 930 to 960 nm a bad choice outdoors: 3.6 to 6.5 dB/km, against 1.1 at 976 nm and 0.1 at
/// 1064 nm. LOWTRAN averages over some 2 nm; a line narrower than that may fall on or between absorption lines, and
/// over much less than 1 km the loss per km is larger than over 1 km. Measure where it matters, and give the figure.
///
/// # Errors
/// [`OpticsError::OutOfRange`] outside 700 to 1700 nm, where a figure must be given.
///
/// # Examples
/// ```
/// use beamstay_optics::beam::gas::absorption_db_per_km;
/// assert_eq!(absorption_db_per_km(936e-9)?, 6.53);
/// assert_eq!(absorption_db_per_km(1064e-9)?, 0.12);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn absorption_db_per_km(wavelength_m: f64) -> Result<f64, OpticsError> {
    let wavelength_m = in_range(
        "wavelength of the table of gas absorption",
        "m",
        wavelength_m,
        SHORTEST_WAVELENGTH_M,
        LONGEST_WAVELENGTH_M,
    )?;
    // The addend keeps 850 nm, not exact in binary, in the band that starts there.
    let band = ((wavelength_m - SHORTEST_WAVELENGTH_M) * 1e8 + 1e-9) as usize;
    Ok(LARGEST_DB_PER_KM.as_flattened()[band.min(99)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_wavelength_falls_in_its_band() {
        for (wavelength_nm, expected) in [
            (700.0, 0.42),
            (785.0, 0.25),
            (808.0, 0.24),
            (850.0, 0.12),
            (849.9, 0.21),
            (976.0, 1.14),
            (1550.0, 0.09),
            (1700.0, 0.22),
        ] {
            let found = absorption_db_per_km(wavelength_nm * 1e-9).unwrap();
            assert!((found - expected).abs() < 1e-12, "{wavelength_nm} nm: {found}");
        }
    }

    #[test]
    fn outside_the_table_a_figure_must_be_given() {
        for wavelength_nm in [532.0, 699.9, 1700.1, 2000.0, f64::NAN] {
            assert!(absorption_db_per_km(wavelength_nm * 1e-9).is_err(), "{wavelength_nm}");
        }
    }
}
