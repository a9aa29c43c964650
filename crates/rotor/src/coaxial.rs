//! Two equal rotors on one axis, turning against each other: spacing in, interference and powers of the pair out.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;

use crate::{
    Rotor,
    error::RotorError,
    operation::{Inflow, Operation},
};

/// Interference factor of two disks in one plane, √2: both thrusts on one disk (momentum theory).
pub const COPLANAR_FACTOR: f64 = std::f64::consts::SQRT_2;

/// Interference factor far apart, equal thrusts, inner half of the lower disk in the fully contracted wake of the upper:
/// (1 + (√17 − 1)/2)/2 = 1.28078 (momentum theory, Leishman, *Principles of Helicopter Aerodynamics*, 2nd ed., section 2.15).
pub const FULL_WAKE_FACTOR: f64 = 1.280_776_406_404_415_1;

/// Interference factor that the measurements of a close pair give: rotor 1 of R. D. Harrington, NACA TN-2318 (1951), 1.42 to
/// 1.48 at a spacing of 0.093 diameters.
const MEASURED_FACTOR: f64 = 1.45;
/// Spacing of that rotor over its radius, 2.33 ft/12.5 ft.
const MEASURED_SPACING: f64 = 0.1864;

/// Induced power of the pair over that of its two rotors alone, at equal thrusts and a distance between the disks in rotor
/// diameters, 0 or more.
///
/// Between the close limit and [`FULL_WAKE_FACTOR`] the factor falls with the growth of the velocity in the wake of a vortex
/// cylinder, 1 − z/√(z² + R²). The close end is set by Harrington's measurement (1.45 at 0.093 diameters), which lies above
/// the coplanar limit √2 of momentum theory, because it holds the unsteady losses of tip vortices passing the lower rotor: the
/// larger one is used. The way in between is our choice; measurements at other spacings were not at hand.
///
/// # Examples
/// ```
/// use beamstay_rotor::coaxial::interference_factor;
/// assert!((interference_factor(0.0932) - 1.45).abs() < 1e-3);
/// assert!(interference_factor(0.3) < interference_factor(0.1));
/// ```
pub fn interference_factor(spacing_over_diameter: f64) -> f64 {
    let close = (MEASURED_FACTOR - FULL_WAKE_FACTOR) / undeveloped(MEASURED_SPACING);
    FULL_WAKE_FACTOR + close * undeveloped(2.0 * spacing_over_diameter.max(0.0))
}

/// Share of the wake contraction that is still to come at z/R below the disk.
fn undeveloped(height_over_radius: f64) -> f64 {
    if height_over_radius < 1e6 {
        1.0 - height_over_radius / (height_over_radius * height_over_radius + 1.0).sqrt()
    } else {
        0.0
    }
}

/// A pair of equal rotors.
#[derive(Debug, Clone, PartialEq)]
pub struct CoaxialPair {
    rotor: Rotor,
    interference: f64,
}

/// What a pair does.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct CoaxialOperation {
    /// One of the two rotors; the loss by interference is shared evenly.
    pub each: Operation,
    /// Thrust of both, N.
    pub thrust_n: f64,
    /// Shaft power of both, W.
    pub shaft_w: f64,
    /// Ideal hover power of the whole thrust on ONE disk ÷ (induced + profile power of both): the convention of NACA TN-2318.
    /// Counted on two disks it is smaller by √2.
    pub figure_of_merit_on_one_disk: f64,
}

impl CoaxialPair {
    /// Two of `rotor` at a distance in diameters, 0 to 2.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn new(rotor: Rotor, spacing_over_diameter: f64) -> Result<Self, RotorError> {
        in_range("rotor spacing over diameter", "", spacing_over_diameter, 0.0, 2.0)?;
        Ok(Self { rotor, interference: interference_factor(spacing_over_diameter) })
    }

    /// Two of `rotor` with a known interference factor, 1 to 2.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn with_interference(rotor: Rotor, interference: f64) -> Result<Self, RotorError> {
        in_range("coaxial interference", "", interference, 1.0, 2.0)?;
        Ok(Self { rotor, interference })
    }

    /// Induced power of the pair over that of its two rotors alone.
    pub fn interference(&self) -> f64 {
        self.interference
    }

    /// Both rotors at half the thrust each, the induced power raised by the interference factor. The factor is that of
    /// hover in any stream: edgewise the wakes part and the true loss is smaller, so the power is not told too low.
    ///
    /// # Errors
    /// As [`Rotor::operate`].
    pub fn operate(
        &self,
        thrust_n: f64,
        inflow: Inflow,
        fluid: &Fluid,
    ) -> Result<CoaxialOperation, RotorError> {
        let alone = self.rotor.operate(0.5 * thrust_n, inflow, fluid)?;
        let induced_w = alone.induced_w * self.interference;
        let spent_w = induced_w + alone.profile_w;
        let shaft_w = spent_w + alone.axial_w;
        let shared = if spent_w > 0.0 { (alone.induced_w + alone.profile_w) / spent_w } else { 1.0 };
        let each = Operation {
            induced_velocity_m_s: alone.induced_velocity_m_s * self.interference,
            induced_w,
            shaft_w,
            torque_n_m: alone.speed_rad_s.map(|speed| shaft_w / speed),
            figure_of_merit: alone.figure_of_merit * shared,
            ..alone
        };
        Ok(CoaxialOperation {
            each,
            thrust_n,
            shaft_w: 2.0 * shaft_w,
            figure_of_merit_on_one_disk: each.figure_of_merit * std::f64::consts::SQRT_2,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::AIR;
    use crate::{DiskRotor, DiskRotorInputs, SpeedLaw};

    #[test]
    fn factor_falls_from_close_to_far() {
        let spacings = [0.0, 0.05, 0.1, 0.3, 1.0, 10.0, 1e9];
        for pair in spacings.windows(2) {
            assert!(interference_factor(pair[1]) < interference_factor(pair[0]));
        }
        assert!(interference_factor(0.0) < 1.5 && interference_factor(-1.0) < 1.5);
        assert!((interference_factor(1e9) - FULL_WAKE_FACTOR).abs() < 1e-12);
    }

    #[test]
    fn pair_without_interference_is_two_rotors() {
        let rotor = Rotor::Disk(DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.4, 0.65)).unwrap());
        let alone_w = rotor.operate(10.0, Inflow::HOVER, &AIR).unwrap().shaft_w;
        let pair = |factor| {
            let pair = CoaxialPair::with_interference(rotor.clone(), factor).unwrap();
            pair.operate(20.0, Inflow::HOVER, &AIR).unwrap()
        };
        assert!((pair(1.0).shaft_w - 2.0 * alone_w).abs() < 1e-9);
        assert!((pair(1.0).figure_of_merit_on_one_disk - 0.65 * 2.0_f64.sqrt()).abs() < 1e-9);
        assert!(pair(1.4).shaft_w > pair(1.2).shaft_w);
        assert!(CoaxialPair::with_interference(rotor.clone(), 0.9).is_err());
        assert!(CoaxialPair::new(rotor, 2.1).is_err());
    }

    #[test]
    fn each_rotor_of_a_pair_spends_the_interference_more_on_its_induced_flow() {
        let mut inputs = DiskRotorInputs::with_figure_of_merit(0.4, 0.7);
        inputs.speed = Some(SpeedLaw::ThrustCoefficient(0.0125));
        let rotor = DiskRotor::new(inputs).unwrap();
        let climb = Inflow::axial(2.0);
        let alone = rotor.operate(10.0, climb, &AIR).unwrap();
        let pair = CoaxialPair::with_interference(Rotor::Disk(rotor), 1.3).unwrap();
        let each = pair.operate(20.0, climb, &AIR).unwrap().each;
        let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-12, "{a} {b}");
        near(each.induced_w, 1.3 * alone.induced_w);
        near(each.induced_velocity_m_s, 1.3 * alone.induced_velocity_m_s);
        near(each.shaft_w, each.induced_w + each.profile_w + each.axial_w);
        near(each.torque_n_m.unwrap() * each.speed_rad_s.unwrap(), each.shaft_w);
        // The ideal power stays what it is.
        let ideal_w = |o: &Operation| o.figure_of_merit * (o.induced_w + o.profile_w);
        near(ideal_w(&each), ideal_w(&alone));
    }
}
