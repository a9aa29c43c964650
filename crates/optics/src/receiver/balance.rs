//! What thermodynamics allows: radiative saturation current and the limit efficiency of a cell under one wavelength.
//!
//! W. Shockley and H. J. Queisser, *Detailed balance limit of efficiency of p-n junction solar cells*, J. Appl.
//! Phys. 32, 510 (1961), with a step absorber that emits into one hemisphere and monochromatic light.

use super::diode::{Diode, DiodeSpec, thermal_voltage_v};
use crate::OpticsError;
use beamstay_numerics::constants::{BOLTZMANN_J_PER_K, ELEMENTARY_CHARGE_C, PLANCK_J_S, SPEED_OF_LIGHT_M_S};
use beamstay_numerics::domain::in_range;

/// Energy of one photon of vacuum wavelength `wavelength_m`, eV: `h·c/(q·λ)`.
///
/// # Examples
/// ```
/// let energy_ev = beamstay_optics::receiver::balance::photon_energy_ev(1.0e-6);
/// assert!((energy_ev - 1.239_841_984).abs() < 1e-9);
/// ```
pub fn photon_energy_ev(wavelength_m: f64) -> f64 {
    PLANCK_J_S * SPEED_OF_LIGHT_M_S / (ELEMENTARY_CHARGE_C * wavelength_m)
}

/// Current per optical power when every photon gives one electron, A/W: `q·λ/(h·c)`.
///
/// # Examples
/// ```
/// let a_per_w = beamstay_optics::receiver::balance::ideal_responsivity_a_per_w(808e-9);
/// assert!((a_per_w - 0.651_695_95).abs() < 1e-8);
/// ```
pub fn ideal_responsivity_a_per_w(wavelength_m: f64) -> f64 {
    1.0 / photon_energy_ev(wavelength_m)
}

/// Radiative saturation current density of a step absorber with gap `gap_ev` (0.05 to 10 eV) at `temperature_k`
/// (20 to 3000 K) that emits into one hemisphere of air, A/m²:
/// `q·2π/(h³c²)·∫ E²/(exp(E/kT) − 1) dE` from the gap up (Shockley and Queisser 1961, eq. 2.4), summed in closed
/// form. Multiply by 1 + n² for a cell that also emits into a substrate of refractive index n.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_optics::receiver::balance::radiative_saturation_a_per_m2;
/// let density_a_per_m2 = radiative_saturation_a_per_m2(1.424, 298.15)?;
/// assert!((density_a_per_m2 / 7.269_851e-18 - 1.0).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn radiative_saturation_a_per_m2(gap_ev: f64, temperature_k: f64) -> Result<f64, OpticsError> {
    in_range("band gap", "eV", gap_ev, 0.05, 10.0)?;
    in_range("cell temperature", "K", temperature_k, 20.0, 3000.0)?;
    let x = gap_ev / thermal_voltage_v(temperature_k);
    let mut sum = 0.0;
    for m in 1..200 {
        let m = f64::from(m);
        let term = (-m * x).exp() * (x * x / m + 2.0 * x / (m * m) + 2.0 / (m * m * m));
        sum += term;
        if term <= 1e-17 * sum {
            break;
        }
    }
    let thermal_j = BOLTZMANN_J_PER_K * temperature_k;
    let photons = thermal_j / PLANCK_J_S * (thermal_j / (PLANCK_J_S * SPEED_OF_LIGHT_M_S)).powi(2);
    Ok(ELEMENTARY_CHARGE_C * 2.0 * std::f64::consts::PI * photons * sum)
}

/// The detailed-balance limit of one cell under one wavelength.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LimitPerformance {
    /// Electrical over optical power at the maximum power point.
    pub efficiency_ratio: f64,
    /// Open-circuit voltage, V.
    pub open_circuit_v: f64,
    /// Maximum power over open-circuit voltage times short-circuit current.
    pub fill_factor_ratio: f64,
}

/// Limit efficiency of a cell with gap `gap_ev` at `temperature_k` under `irradiance_w_per_m2` (1e-6 to 1e10) of
/// `wavelength_m` (100 nm to 20 µm) with unit quantum efficiency, radiative recombination only and no resistance.
/// `emission_ratio` multiplies the radiative saturation current: 1 for emission into one hemisphere of air, 1 + n²
/// with an absorbing substrate, 1 over the external radiative efficiency for a real material. Light below the gap
/// gives nothing.
///
/// # Errors
/// [`OpticsError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_optics::receiver::balance::limit_performance;
/// let limit = limit_performance(1.424, 298.15, 808e-9, 1e5, 1.0)?;
/// assert!((limit.efficiency_ratio - 0.765_255).abs() < 1e-6);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn limit_performance(
    gap_ev: f64,
    temperature_k: f64,
    wavelength_m: f64,
    irradiance_w_per_m2: f64,
    emission_ratio: f64,
) -> Result<LimitPerformance, OpticsError> {
    in_range("wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
    in_range("irradiance", "W/m²", irradiance_w_per_m2, 1e-6, 1e10)?;
    in_range("emission ratio", "", emission_ratio, 1e-3, 1e12)?;
    let saturation_a = emission_ratio * radiative_saturation_a_per_m2(gap_ev, temperature_k)?;
    if photon_energy_ev(wavelength_m) < gap_ev {
        return Ok(LimitPerformance { efficiency_ratio: 0.0, open_circuit_v: 0.0, fill_factor_ratio: 0.0 });
    }
    // A patch small enough that the current stays in the range of the diode.
    let patch_m2 = (1e5 / irradiance_w_per_m2).min(1.0);
    let photocurrent_a = patch_m2 * irradiance_w_per_m2 * ideal_responsivity_a_per_w(wavelength_m);
    let diode = Diode::new(DiodeSpec {
        photocurrent_a,
        saturation_current_a: (patch_m2 * saturation_a).max(super::diode::SMALLEST_SATURATION_A),
        ideality: 1.0,
        series_resistance_ohm: 0.0,
        shunt_resistance_ohm: 1e18,
        cells_in_series: 1,
        temperature_k,
    })?;
    let (best, open_circuit_v) = (diode.maximum_power(), diode.open_circuit_v());
    Ok(LimitPerformance {
        efficiency_ratio: best.power_w / (patch_m2 * irradiance_w_per_m2),
        open_circuit_v,
        fill_factor_ratio: best.power_w / (open_circuit_v * photocurrent_a),
    })
}

/// Slope of the open-circuit voltage with temperature at constant current, V/K:
/// `(V_oc − E_g0/q − γ·kT/q)/T` with the gap extrapolated to 0 K and the exponent γ of temperature in the saturation
/// current, 3 for a plain junction (M. A. Green, *Solar Cells*, 1982, ch. 5, from memory).
///
/// # Examples
/// ```
/// use beamstay_optics::receiver::balance::open_circuit_slope_v_per_k;
/// assert!((open_circuit_slope_v_per_k(1.05, 1.519, 3.0, 298.15) * 1e3 + 1.8316).abs() < 1e-4);
/// ```
pub fn open_circuit_slope_v_per_k(
    open_circuit_v: f64,
    gap_at_zero_ev: f64,
    temperature_exponent: f64,
    temperature_k: f64,
) -> f64 {
    (open_circuit_v - gap_at_zero_ev - temperature_exponent * thermal_voltage_v(temperature_k))
        / temperature_k
}

/// Fill factor of a cell without resistance losses, `(v − ln(v + 0.72))/(v + 1)` with `v = q·V_oc/(n·k·T)`
/// (M. A. Green, Solar Cells 7, 1982, formula from memory); within 1e-4 for v above 15. It is not meant for v below
/// 5, where the result is held at 0.25 or above.
///
/// # Examples
/// ```
/// let fill = beamstay_optics::receiver::balance::ideal_fill_factor_ratio(1.15, 1.0, 298.15);
/// assert!((fill - 0.894_727_4).abs() < 1e-6);
/// ```
pub fn ideal_fill_factor_ratio(open_circuit_v: f64, ideality: f64, temperature_k: f64) -> f64 {
    let v = (open_circuit_v / (ideality * thermal_voltage_v(temperature_k))).max(0.0);
    ((v - (v + 0.72).ln()) / (v + 1.0)).max(0.25)
}
