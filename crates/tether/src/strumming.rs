//! Strumming of a tether by its own vortex street: speed, diameter and amplitude in, frequency, drag amplification
//! and bend radius out.
//!
//! Nothing here predicts the amplitude; it has to be measured or assumed. An amplitude of half a diameter doubles
//! the drag.

use std::f64::consts::{PI, SQRT_2};

use beamstay_numerics::domain::{OutOfRange, in_range};

/// Largest amplitude, in diameters, that the amplification formulas are used for.
const MAX_AMPLITUDE_RATIO: f64 = 1.5;

/// Strouhal number f·d/V of a cylinder across the flow.
///
/// 0.212 (1 − 21.2/Re) for Re 50 to 150 and 0.212 (1 − 12.7/Re) for Re 300 to 2000 (A. Roshko, NACA TR 1191, 1954,
/// from memory). Between the two, where the street turns irregular, a straight line joins them; above 2000 the last
/// value (0.2107) is held, the flat part of the curve (common practice, no source).
///
/// # Errors
/// [`OutOfRange`] below Re 50, where there is no regular street to speak of, and above 2·10⁵.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::strouhal_number;
/// assert!((strouhal_number(1000.0).unwrap() - 0.2093).abs() < 1e-4);
/// assert!(strouhal_number(40.0).is_err());
/// ```
pub fn strouhal_number(reynolds: f64) -> Result<f64, OutOfRange> {
    let re = in_range("Reynolds number of the vortex street", "", reynolds, 50.0, 2e5)?;
    let laminar = |re: f64| 0.212 * (1.0 - 21.2 / re);
    let turbulent = |re: f64| 0.212 * (1.0 - 12.7 / re);
    Ok(if re <= 150.0 {
        laminar(re)
    } else if re < 300.0 {
        laminar(150.0) + (turbulent(300.0) - laminar(150.0)) * (re - 150.0) / 150.0
    } else {
        turbulent(re.min(2000.0))
    })
}

/// Frequency in Hz at which vortices leave a line: St·V/d. Speed across the line 0 to 500 m/s, diameter 10 µm to
/// 0.5 m, Strouhal number 0 to 1.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::shedding_frequency_hz;
/// assert_eq!(shedding_frequency_hz(0.2, 10.0, 0.002).unwrap(), 1000.0);
/// ```
pub fn shedding_frequency_hz(
    strouhal_number: f64,
    normal_speed_m_s: f64,
    diameter_m: f64,
) -> Result<f64, OutOfRange> {
    in_range("Strouhal number", "", strouhal_number, 0.0, 1.0)?;
    in_range("speed across the line", "m/s", normal_speed_m_s, 0.0, 500.0)?;
    in_range("tether diameter", "m", diameter_m, 1e-5, 0.5)?;
    Ok(strouhal_number * normal_speed_m_s / diameter_m)
}

/// Drag of a strumming line over that of a still one: 1 + 1.043 (2 y_rms/d)^0.65 (J. K. Vandiver, *Drag coefficients
/// of long flexible cylinders*, OTC 4490, 1983, from memory). The argument is the root-mean-square displacement
/// across the flow in diameters, 0 to 1.5. Good to about 20 %.
///
/// # Errors
/// [`OutOfRange`] for an amplitude outside 0 to 1.5.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::vandiver_amplification;
/// assert!((vandiver_amplification(0.25).unwrap() - 1.6647).abs() < 1e-4);
/// ```
pub fn vandiver_amplification(rms_amplitude_ratio: f64) -> Result<f64, OutOfRange> {
    in_range("rms amplitude over diameter", "", rms_amplitude_ratio, 0.0, MAX_AMPLITUDE_RATIO)?;
    Ok(1.0 + 1.043 * (2.0 * rms_amplitude_ratio).powf(0.65))
}

/// Drag of a strumming line over that of a still one: 1 + 2.1 A/d (R. D. Blevins, *Flow-Induced Vibration*, from
/// memory). The argument is the peak displacement to one side in diameters, 0 to 1.5. Good to about 20 %.
///
/// # Errors
/// [`OutOfRange`] for an amplitude outside 0 to 1.5.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::blevins_amplification;
/// assert_eq!(blevins_amplification(0.5).unwrap(), 2.05);
/// ```
pub fn blevins_amplification(peak_amplitude_ratio: f64) -> Result<f64, OutOfRange> {
    in_range("peak amplitude over diameter", "", peak_amplitude_ratio, 0.0, MAX_AMPLITUDE_RATIO)?;
    Ok(1.0 + 2.1 * peak_amplitude_ratio)
}

/// The larger of [`vandiver_amplification`] and [`blevins_amplification`] for a sinusoidal motion of the given peak
/// displacement in diameters (rms = peak/√2). The two cross at A/d 0.26; below it Vandiver's is the larger.
///
/// # Errors
/// [`OutOfRange`] for an amplitude outside 0 to 1.5.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::{blevins_amplification, cautious_amplification};
/// assert_eq!(cautious_amplification(1.0), blevins_amplification(1.0));
/// assert!(cautious_amplification(0.1).unwrap() > blevins_amplification(0.1).unwrap());
/// ```
pub fn cautious_amplification(peak_amplitude_ratio: f64) -> Result<f64, OutOfRange> {
    let blevins = blevins_amplification(peak_amplitude_ratio)?;
    Ok(vandiver_amplification(peak_amplitude_ratio / SQRT_2)?.max(blevins))
}

/// Smallest radius of curvature in m of a line that strums at one frequency, 1/(A k²) with the wave number
/// k = 2π f √(m/T) of a travelling or standing wave on a taut string. Bending stiffness, which would lengthen the
/// wave, is left out: the radius is on the short, cautious side. Infinite curvature does not occur; a line at rest
/// (amplitude or frequency 0) gives [`f64::MAX`].
///
/// Arguments: peak displacement 0 to 1 m, frequency 0 to 10⁵ Hz, tension 1 mN to 1 MN, mass with any added mass of
/// the fluid 10⁻⁶ to 100 kg/m.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::strumming::strumming_bend_radius_m;
/// // 3 mm and 10 g/m at 40 N, 667 Hz, half a diameter: close to the bend limit of a 440 µm glass.
/// let radius_m = strumming_bend_radius_m(0.0015, 667.0, 40.0, 0.010).unwrap();
/// assert!((radius_m - 0.1518).abs() < 1e-4);
/// ```
pub fn strumming_bend_radius_m(
    peak_amplitude_m: f64,
    frequency_hz: f64,
    tension_n: f64,
    mass_kg_per_m: f64,
) -> Result<f64, OutOfRange> {
    in_range("strumming amplitude", "m", peak_amplitude_m, 0.0, 1.0)?;
    in_range("strumming frequency", "Hz", frequency_hz, 0.0, 1e5)?;
    in_range("tension", "N", tension_n, 1e-3, 1e6)?;
    in_range("mass per metre", "kg/m", mass_kg_per_m, 1e-6, 100.0)?;
    let wave_number_squared_per_m2 = (2.0 * PI * frequency_hz).powi(2) * mass_kg_per_m / tension_n;
    Ok((1.0 / (peak_amplitude_m * wave_number_squared_per_m2)).min(f64::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn strouhal_is_continuous_and_bounded() {
        for re in [150.0, 300.0, 2000.0] {
            let step =
                strouhal_number(re * (1.0 + 1e-9)).unwrap() - strouhal_number(re * (1.0 - 1e-9)).unwrap();
            assert!(step.abs() < 1e-9, "Re {re}: step {step}");
        }
        assert!(strouhal_number(50.0).is_ok() && strouhal_number(2e5).is_ok());
        for re in [49.999, 2.0001e5, f64::NAN] {
            assert!(strouhal_number(re).is_err(), "{re}");
        }
    }

    #[test]
    fn a_still_line_is_not_amplified() {
        for amplification in [vandiver_amplification, blevins_amplification, cautious_amplification] {
            assert!((amplification(0.0).unwrap() - 1.0).abs() < f64::EPSILON);
            assert!(amplification(1.5).is_ok());
            assert!(amplification(1.5001).is_err() && amplification(-1e-9).is_err());
        }
        assert!(strumming_bend_radius_m(0.0, 100.0, 10.0, 0.01).unwrap() > 1e300);
    }

    proptest! {
        #[test]
        fn prop_more_strumming_means_more_drag_and_a_tighter_bend(a in 1e-3..1.4f64, f in 1.0..2000.0f64) {
            prop_assert!(cautious_amplification(a * 1.01).unwrap() > cautious_amplification(a).unwrap());
            let radius = |a: f64, f: f64| strumming_bend_radius_m(a * 1e-3, f, 40.0, 0.01).unwrap();
            prop_assert!(radius(a * 1.01, f) < radius(a, f) && radius(a, f * 1.01) < radius(a, f));
        }
    }
}
