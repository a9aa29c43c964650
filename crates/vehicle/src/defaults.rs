//! Figures to start from when the aircraft has not been measured, and how far each can be trusted.

use crate::{drag_area::DragArea, error::VehicleError};

/// Figure of merit of a small propeller in hover. Measured: 0.62 to 0.73 for fixed-pitch propellers of 0.25 to 0.4 m
/// (UIUC Propeller Database, static runs). The value here is at the low end because the database propellers were
/// alone in free air, without arms and body in the wake.
pub const FIGURE_OF_MERIT: f64 = 0.63;

/// Motor efficiency, shaft over terminals. Range 0.70 to 0.90 (common practice, no source).
pub const MOTOR_RATIO: f64 = 0.77;

/// Controller efficiency, terminals over bus. Range 0.85 to 0.98, falling at part throttle (common practice, no
/// source).
pub const CONTROLLER_RATIO: f64 = 0.89;

/// Ideal induced power over electrical power in hover that the three losses above give together: 0.432. They were
/// chosen so that this product lies in the middle of four measured quadrotors, 0.364 to 0.513 (Russell et al.,
/// NASA/TM-2018-219758): a calibration, not a prediction.
pub const OVERALL_HOVER_RATIO: f64 = FIGURE_OF_MERIT * MOTOR_RATIO * CONTROLLER_RATIO;

/// Induced power of a coaxial pair over that of its two rotors alone, when the distance between the disks is not known:
/// that of a close pair, 0.093 diameters, as measured (Harrington, NACA TN-2318, 1951: 1.42 to 1.48), which is the safe
/// side. [`crate::Arrangement::coaxial`] takes a known distance.
pub const COAXIAL_INTERFERENCE: f64 = 1.45;

/// Largest tilt, degrees (common practice, no source).
pub const MAX_TILT_DEG: f64 = 30.0;

/// Force of a rotor in its own plane over thrust and edgewise speed, s/m.
///
/// The rotor constants of a widely copied open flight simulator (force 8.06428e-5 N·s²/m/rad per rotor speed and edgewise speed,
/// thrust 8.54858e-6 N·s²/rad² per rotor speed squared, after Furrer, Burri, Achtelik and Siegwart, *RotorS*, 2016; the
/// constants seen in copies, the book chapter not) give 9.43 s/m/rad over rotor speed: 0.0144 at the hover speed of its aircraft of
/// 1.5 kg, 656 rad/s. Blade-element theory for rigid blades without flapping, (1.5 λ + 0.19 σa + 2 C_P0/C_T)/ΩR, gives
/// 0.0045 for a small propeller at 65 m/s tip speed; fits to flights of small quadrotors 0.03 to 0.05, body drag included (from
/// memory). The middle one is taken: it also keeps the power at 10 to 12 m/s near that of hover, as is seen in flight,
/// where induced power with a constant factor would let it fall by a fifth.
pub const ROTOR_DRAG_S_PER_M: f64 = 0.014;

/// Thrust available over thrust needed, everything on board and the tether included, that is usually asked for;
/// 1.8 is the floor for large machines and 1.5 refuses work in gusts (common practice, no source).
pub const THRUST_RESERVE_RATIO: f64 = 2.0;

/// Share of the vortex-ring boundary that a planned descent uses (ours; the boundary itself is uncertain by more than
/// 10 %).
pub const DESCENT_MARGIN_RATIO: f64 = 0.8;

/// Level drag area over flying mass to the power 2/3, m²/kg^⅔: geometric similarity through the four airframes of
/// [`body_drag`].
const LEVEL_DRAG_M2_PER_KG23: f64 = 0.016;

/// Drag area from above over level drag area: the steepest of the four airframes of [`body_drag`].
const PLAN_OVER_LEVEL: f64 = 3.0;

/// Drag area of the body of a multirotor of `airframe_mass_kg`, 0.1 to 100 kg, propellers not counted.
///
/// 0.016 m² × (mass/kg)^⅔ level and three times that from above. The first number passes within 16 % of the four
/// airframes of 1.2 to 2.9 kg that were measured (Russell et al., AHS Forum 72, paper 374, 2016, Fig. 30: 0.0167 to
/// 0.0279 m²); the factor 3 is that of the steepest of them, three others have 0.9 to 2.6. Count on ±30 % inside
/// that range of mass and on the order of magnitude outside it.
///
/// # Errors
/// [`VehicleError::OutOfRange`].
///
/// # Examples
/// ```
/// let body = beamstay_vehicle::defaults::body_drag(2.9)?;
/// assert!((body.at_sin_incidence(0.0) - 0.0325).abs() < 1e-4);
/// # Ok::<(), beamstay_vehicle::VehicleError>(())
/// ```
pub fn body_drag(airframe_mass_kg: f64) -> Result<DragArea, VehicleError> {
    let mass = beamstay_numerics::domain::in_range("airframe mass", "kg", airframe_mass_kg, 0.1, 100.0)?;
    let level_m2 = LEVEL_DRAG_M2_PER_KG23 * mass.cbrt().powi(2);
    DragArea::spheroid(level_m2, PLAN_OVER_LEVEL * level_m2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn default_pair_is_a_close_one() {
        let close = beamstay_rotor::coaxial::interference_factor(0.0932);
        assert!((COAXIAL_INTERFERENCE - close).abs() < 1e-3);
    }

    #[test]
    fn default_drag_passes_near_the_measured_airframes() {
        // Russell et al. 2016, Fig. 30, pitch 0: mass, drag area.
        for (mass_kg, area_m2) in [(1.5, 0.0209), (1.2, 0.0203), (1.3, 0.0167), (2.9, 0.0279)] {
            let level = body_drag(mass_kg).unwrap().at_sin_incidence(0.0);
            assert!((level / area_m2 - 1.0).abs() < 0.17, "{mass_kg} kg: {level}");
        }
        assert!(body_drag(0.09).is_err() && body_drag(f64::NAN).is_err());
    }
}
