//! Wind and current as a function of height: shape of the speed, direction and veer.

use beamstay_numerics::domain::in_range;
use nalgebra::Vector3;

use wide::f64x4;

use crate::{error::EnvironmentError, lane::Lane, power::Power};

/// Highest speed that any profile accepts, m/s.
pub const HIGHEST_SPEED_M_S: f64 = 100.0;
/// Greatest distance from the ground or the surface that a profile is meant for, m.
const HIGHEST_HEIGHT_M: f64 = 11_500.0;

/// How the speed changes with height above the ground (air) or depth below the surface (water).
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum ProfileShape {
    /// The same speed everywhere.
    Uniform {
        /// Speed, m/s.
        speed_m_s: f64,
    },
    /// Power law (Hellman): speed × (height / reference height)^exponent.
    PowerLaw {
        /// Speed at the reference height, m/s.
        speed_m_s: f64,
        /// Height above the ground at which the speed is given, m; 10 for a weather station.
        reference_height_m: f64,
        /// Exponent, 0 to 1; 1/7 over open land, 0.2 in IEC 61400-1.
        exponent: f64,
    },
    /// Logarithmic law of the neutral surface layer without displacement height: speed × ln(height / roughness) /
    /// ln(reference height / roughness); 0 below the roughness length.
    Logarithmic {
        /// Speed at the reference height, m/s.
        speed_m_s: f64,
        /// Height above the ground at which the speed is given, m.
        reference_height_m: f64,
        /// Roughness length, m; see [`crate::roughness`].
        roughness_m: f64,
    },
    /// Current that decays from the surface: surface speed × exp(−depth / decay depth).
    SurfaceExponential {
        /// Speed at the surface, m/s.
        surface_speed_m_s: f64,
        /// Depth at which 1/e of the speed is left, m.
        decay_depth_m: f64,
    },
    /// Current over a bed: surface speed × (height above the bed / water depth)^exponent; 0 below the bed.
    DepthPower {
        /// Speed at the surface, m/s.
        surface_speed_m_s: f64,
        /// Depth of the water, m.
        depth_m: f64,
        /// Exponent, 0 to 1; 1/7 is usual for a tidal stream.
        exponent: f64,
    },
}

impl ProfileShape {
    /// Height above ground or surface at which speed and direction are given, m: the reference height of the two wind
    /// laws, otherwise 0.
    pub fn reference_height_m(&self) -> f64 {
        match *self {
            Self::PowerLaw { reference_height_m, .. } | Self::Logarithmic { reference_height_m, .. } => {
                reference_height_m
            }
            Self::Uniform { .. } | Self::SurfaceExponential { .. } | Self::DepthPower { .. } => 0.0,
        }
    }

    /// Speed at the reference height (air) or at the surface (water), m/s.
    pub fn reference_speed_m_s(&self) -> f64 {
        match *self {
            Self::Uniform { speed_m_s }
            | Self::PowerLaw { speed_m_s, .. }
            | Self::Logarithmic { speed_m_s, .. } => speed_m_s,
            Self::SurfaceExponential { surface_speed_m_s, .. }
            | Self::DepthPower { surface_speed_m_s, .. } => surface_speed_m_s,
        }
    }

    fn set_reference_speed_m_s(&mut self, new_m_s: f64) {
        match self {
            Self::Uniform { speed_m_s }
            | Self::PowerLaw { speed_m_s, .. }
            | Self::Logarithmic { speed_m_s, .. } => *speed_m_s = new_m_s,
            Self::SurfaceExponential { surface_speed_m_s, .. }
            | Self::DepthPower { surface_speed_m_s, .. } => {
                *surface_speed_m_s = new_m_s;
            }
        }
    }

    fn check(&self) -> Result<(), EnvironmentError> {
        in_range("speed", "m/s", self.reference_speed_m_s(), 0.0, HIGHEST_SPEED_M_S)?;
        match *self {
            Self::Uniform { .. } => {}
            Self::PowerLaw { reference_height_m, exponent, .. } => {
                in_range("reference height", "m", reference_height_m, 0.1, HIGHEST_HEIGHT_M)?;
                in_range("shear exponent", "", exponent, 0.0, 1.0)?;
            }
            Self::Logarithmic { reference_height_m, roughness_m, .. } => {
                in_range("reference height", "m", reference_height_m, 0.1, HIGHEST_HEIGHT_M)?;
                in_range("roughness length", "m", roughness_m, 1e-6, 10.0)?;
                if reference_height_m <= 1.1 * roughness_m {
                    return Err(EnvironmentError::ReferenceInRoughness { reference_height_m, roughness_m });
                }
            }
            Self::SurfaceExponential { decay_depth_m, .. } => {
                in_range("decay depth", "m", decay_depth_m, 0.1, 1e6)?;
            }
            Self::DepthPower { depth_m, exponent, .. } => {
                in_range("water depth", "m", depth_m, 0.1, HIGHEST_HEIGHT_M)?;
                in_range("shear exponent", "", exponent, 0.0, 1.0)?;
            }
        }
        Ok(())
    }
}

/// A speed profile with direction and veer, placed under a drum.
///
/// Heights above ground (water: above the surface, negative below it) are `z_m + exit_height_m`, where `z_m` counts
/// from the drum exit. Below `floor_height_m` the two wind laws keep the *speed* they have there. Water keeps its
/// surface speed above the surface. The direction turns evenly with height everywhere, the floor included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Profile {
    /// How the speed changes with height.
    pub shape: ProfileShape,
    /// Direction toward which the fluid moves at the reference height of the shape, degrees from +x toward +y.
    pub direction_deg: f64,
    /// Veer, degrees per metre of height: positive turns the flow clockwise seen from above (toward −y) as height rises.
    pub veer_deg_per_m: f64,
    /// Height above the ground below which the speed of the two wind laws no longer falls, m.
    pub floor_height_m: f64,
    /// Height of the drum exit above the ground (water: above the surface), m; negative for a drum under water.
    pub exit_height_m: f64,
}

impl Profile {
    /// A profile along +x without veer, floor at 0.5 m, drum exit at height 0.
    ///
    /// # Errors
    /// [`EnvironmentError`] if a number of the shape is outside its range: speed 0 to 100 m/s, heights 0.1 to 11500 m,
    /// exponent 0 to 1, roughness 1e-6 to 10 m and below the reference height by a tenth at least.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::{Profile, ProfileShape};
    /// let shape = ProfileShape::PowerLaw { speed_m_s: 10.0, reference_height_m: 10.0, exponent: 1.0 / 7.0 };
    /// let profile = Profile::new(shape).unwrap();
    /// assert!((profile.speed_m_s(100.0) - 13.89495).abs() < 1e-5);
    /// ```
    pub fn new(shape: ProfileShape) -> Result<Self, EnvironmentError> {
        let profile =
            Self { shape, direction_deg: 0.0, veer_deg_per_m: 0.0, floor_height_m: 0.5, exit_height_m: 0.0 };
        profile.check()?;
        Ok(profile)
    }

    /// Repeats the checks of [`Profile::new`] and checks the fields that were set by hand: direction −360 to 360°, veer
    /// −5 to 5 °/m, floor 0.001 to 100 m, drum exit −11500 to 11500 m.
    ///
    /// # Errors
    /// [`EnvironmentError`] naming the field.
    pub fn check(&self) -> Result<(), EnvironmentError> {
        self.shape.check()?;
        in_range("flow direction", "°", self.direction_deg, -360.0, 360.0)?;
        in_range("veer", "°/m", self.veer_deg_per_m, -5.0, 5.0)?;
        in_range("floor height of the wind profile", "m", self.floor_height_m, 1e-3, 100.0)?;
        in_range("height of the drum exit", "m", self.exit_height_m, -HIGHEST_HEIGHT_M, HIGHEST_HEIGHT_M)?;
        Ok(())
    }

    /// The same profile scaled to another speed at its reference height.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside 0 to 100 m/s.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::{Profile, ProfileShape};
    /// let calm = Profile::new(ProfileShape::Uniform { speed_m_s: 0.0 }).unwrap();
    /// assert_eq!(calm.with_speed_m_s(7.0).unwrap().speed_m_s(30.0), 7.0);
    /// ```
    pub fn with_speed_m_s(mut self, speed_m_s: f64) -> Result<Self, EnvironmentError> {
        in_range("speed", "m/s", speed_m_s, 0.0, HIGHEST_SPEED_M_S)?;
        self.shape.set_reference_speed_m_s(speed_m_s);
        Ok(self)
    }

    /// Speed, m/s, at a height above the ground (water: above the surface, so negative under it), m.
    pub fn speed_m_s(&self, height_m: f64) -> f64 {
        Compiled::new(self).speed_m_s(height_m)
    }

    /// Velocity, m/s, at `z_m` above the drum exit; horizontal, so its third component is 0.
    ///
    /// # Examples
    /// ```
    /// use beamstay_environment::{Profile, ProfileShape};
    /// let mut profile = Profile::new(ProfileShape::Uniform { speed_m_s: 10.0 }).unwrap();
    /// profile.veer_deg_per_m = 0.3;
    /// let velocity = profile.velocity_m_s(100.0);
    /// assert!((velocity.x - 8.660254).abs() < 1e-6 && (velocity.y + 5.0).abs() < 1e-6, "turned 30° toward −y");
    /// ```
    pub fn velocity_m_s(&self, z_m: f64) -> Vector3<f64> {
        Compiled::new(self).velocity_m_s(z_m)
    }

    /// Heights above the drum exit at which the profile is not smooth, m, rising, and how many of the three count. A current that
    /// decays from the surface may be gone within a small part of the depth: the depths between which most of it does so count
    /// too, so that no one looks past it.
    pub(crate) fn kinks_m(&self) -> ([f64; 3], usize) {
        let exit_m = self.exit_height_m;
        match self.shape {
            ProfileShape::Uniform { .. } => ([0.0; 3], 0),
            ProfileShape::PowerLaw { exponent: 0.0, .. } => ([0.0; 3], 0),
            ProfileShape::PowerLaw { .. } => ([self.floor_height_m - exit_m, 0.0, 0.0], 1),
            ProfileShape::Logarithmic { roughness_m, .. } => {
                ([self.floor_height_m.max(roughness_m) - exit_m, 0.0, 0.0], 1)
            }
            ProfileShape::SurfaceExponential { decay_depth_m, .. } => {
                ([-8.0 * decay_depth_m - exit_m, -2.0 * decay_depth_m - exit_m, -exit_m], 3)
            }
            ProfileShape::DepthPower { depth_m, .. } => ([-depth_m - exit_m, -exit_m, 0.0], 2),
        }
    }
}

/// A profile with all that does not depend on height worked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Compiled {
    law: Law,
    exit_height_m: f64,
    /// Unit vector at height 0 above the drum exit.
    direction: (f64, f64),
    turn_rad_per_m: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Law {
    Uniform { speed_m_s: f64 },
    Power { scale: f64, power: Power, floor_m: f64, floor_m_s: f64 },
    Logarithmic { scale_m_s: f64, log_roughness: f64, floor_m: f64 },
    Exponential { surface_m_s: f64, per_m: f64 },
    Depth { scale: f64, depth_m: f64, power: Power },
}

impl Law {
    /// Of a profile; `power` makes the tables of an exponent.
    fn new(profile: &Profile, power: impl Fn(f64) -> Power) -> Self {
        let floor_m = profile.floor_height_m;
        match profile.shape {
            ProfileShape::Uniform { speed_m_s } => Self::Uniform { speed_m_s },
            ProfileShape::PowerLaw { speed_m_s, exponent: 0.0, .. } => Self::Uniform { speed_m_s },
            ProfileShape::PowerLaw { speed_m_s, reference_height_m, exponent } => {
                let scale = speed_m_s / reference_height_m.powf(exponent);
                let power = power(exponent);
                Self::Power { scale, power, floor_m, floor_m_s: scale * power.of(floor_m) }
            }
            ProfileShape::Logarithmic { speed_m_s, reference_height_m, roughness_m } => Self::Logarithmic {
                scale_m_s: speed_m_s / (reference_height_m / roughness_m).ln(),
                log_roughness: roughness_m.ln(),
                floor_m: floor_m.max(roughness_m),
            },
            ProfileShape::SurfaceExponential { surface_speed_m_s, decay_depth_m } => {
                Self::Exponential { surface_m_s: surface_speed_m_s, per_m: 1.0 / decay_depth_m }
            }
            ProfileShape::DepthPower { surface_speed_m_s, depth_m, exponent } => {
                let scale = surface_speed_m_s / depth_m.powf(exponent);
                Self::Depth { scale, depth_m, power: power(exponent) }
            }
        }
    }
}

impl Compiled {
    pub(crate) fn new(profile: &Profile) -> Self {
        Self::with_power(profile, Power::new)
    }

    /// Of another profile; the tables of a power are kept where its exponent is the same.
    pub(crate) fn renewed(&self, profile: &Profile) -> Self {
        Self::with_power(profile, |exponent| match self.law {
            Law::Power { power, .. } | Law::Depth { power, .. } if power.exponent() == exponent => power,
            _ => Power::new(exponent),
        })
    }

    fn with_power(profile: &Profile, power: impl Fn(f64) -> Power) -> Self {
        let turn_rad_per_m = -profile.veer_deg_per_m.to_radians();
        let height_over_reference_m = profile.exit_height_m - profile.shape.reference_height_m();
        let direction_rad = profile.direction_deg.to_radians() + turn_rad_per_m * height_over_reference_m;
        let (sin, cos) = direction_rad.sin_cos();
        Self {
            law: Law::new(profile, power),
            exit_height_m: profile.exit_height_m,
            direction: (cos, sin),
            turn_rad_per_m,
        }
    }

    #[inline]
    pub(crate) fn speed_m_s(&self, height_m: f64) -> f64 {
        match self.law {
            Law::Uniform { speed_m_s } => speed_m_s,
            Law::Power { floor_m, floor_m_s, .. } if height_m <= floor_m => floor_m_s,
            Law::Power { scale, ref power, .. } => scale * power.of(height_m),
            Law::Logarithmic { scale_m_s, log_roughness, floor_m } => {
                scale_m_s * (height_m.max(floor_m).ln() - log_roughness).max(0.0)
            }
            Law::Exponential { surface_m_s, per_m } => surface_m_s * (height_m.min(0.0) * per_m).exp(),
            Law::Depth { scale, depth_m, ref power } => {
                scale * power.of((height_m.min(0.0) + depth_m).max(0.0))
            }
        }
    }

    #[inline]
    pub(crate) fn velocity_m_s(&self, z_m: f64) -> Vector3<f64> {
        let speed_m_s = self.speed_m_s(z_m + self.exit_height_m);
        let (cos, sin) = if self.turn_rad_per_m == 0.0 {
            self.direction
        } else {
            let (sin, cos) = sin_cos(self.turn_rad_per_m * z_m);
            let (x, y) = self.direction;
            (x * cos - y * sin, x * sin + y * cos)
        };
        Vector3::new(speed_m_s * cos, speed_m_s * sin, 0.0)
    }

    /// Both horizontal components at four heights, each as [`Self::velocity_m_s`] gives it.
    #[inline]
    pub(crate) fn four_velocities_m_s(&self, z_m: f64x4) -> (f64x4, f64x4) {
        let speed_m_s = self.four_speeds_m_s(z_m + f64x4::splat(self.exit_height_m));
        let (x, y) = (f64x4::splat(self.direction.0), f64x4::splat(self.direction.1));
        if self.turn_rad_per_m == 0.0 {
            return (speed_m_s * x, speed_m_s * y);
        }
        let angle_rad = f64x4::splat(self.turn_rad_per_m) * z_m;
        let (sin, cos) = if angle_rad.abs().simd_gt(f64x4::splat(SMALL_RAD)).any() {
            let both = angle_rad.to_array().map(sin_cos);
            (f64x4::new(both.map(|(sin, _)| sin)), f64x4::new(both.map(|(_, cos)| cos)))
        } else {
            small_sin_cos(angle_rad)
        };
        (speed_m_s * (x * cos - y * sin), speed_m_s * (x * sin + y * cos))
    }

    #[inline]
    fn four_speeds_m_s(&self, height_m: f64x4) -> f64x4 {
        match self.law {
            Law::Uniform { speed_m_s } => f64x4::splat(speed_m_s),
            Law::Power { scale, ref power, floor_m, .. } => {
                let floor_m = f64x4::splat(floor_m);
                let height_m = height_m.simd_le(floor_m).select(floor_m, height_m);
                f64x4::splat(scale) * power.of_four(height_m)
            }
            _ => f64x4::new(height_m.to_array().map(|height_m| self.speed_m_s(height_m))),
        }
    }
}

/// Angle up to which [`small_sin_cos`] holds.
const SMALL_RAD: f64 = 0.5;

/// Sine and cosine by their series, for angles up to [`SMALL_RAD`], as those of veer are: half the time of the library's call, and
/// several nodes of a solver side by side. The first term left out is below 3e-17.
#[inline]
fn small_sin_cos<T: Lane>(angle_rad: T) -> (T, T) {
    let square = angle_rad * angle_rad;
    let one = T::of(1.0);
    let series =
        |shares: [f64; 7]| shares.iter().rev().fold(one, |sum, share| one - T::of(*share) * square * sum);
    let sin = series([1.0 / 6.0, 1.0 / 20.0, 1.0 / 42.0, 1.0 / 72.0, 1.0 / 110.0, 1.0 / 156.0, 1.0 / 210.0]);
    let cos = series([1.0 / 2.0, 1.0 / 12.0, 1.0 / 30.0, 1.0 / 56.0, 1.0 / 90.0, 1.0 / 132.0, 1.0 / 182.0]);
    (angle_rad * sin, cos)
}

/// Sine and cosine of any angle.
#[inline]
fn sin_cos(angle_rad: f64) -> (f64, f64) {
    if angle_rad.abs() > SMALL_RAD { angle_rad.sin_cos() } else { small_sin_cos(angle_rad) }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "values that are held must be held exactly")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn log_law(roughness_m: f64) -> Profile {
        Profile::new(ProfileShape::Logarithmic { speed_m_s: 10.0, reference_height_m: 10.0, roughness_m })
            .unwrap()
    }

    proptest! {
        #[test]
        fn prop_turns_are_those_of_the_library(angle_rad in -1.0..1.0_f64) {
            let (sin, cos) = sin_cos(angle_rad);
            prop_assert!((sin - angle_rad.sin()).abs() < 3e-16 && (cos - angle_rad.cos()).abs() < 3e-16);
        }
    }

    #[test]
    fn below_the_floor_the_speed_is_held_and_the_direction_turns() {
        let shape = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.2 };
        let mut profile = Profile::new(shape).unwrap();
        profile.floor_height_m = 2.0;
        profile.veer_deg_per_m = 0.1;
        assert_eq!(profile.speed_m_s(0.0), profile.speed_m_s(2.0));
        assert_eq!(profile.speed_m_s(-5.0), profile.speed_m_s(2.0));
        assert!(profile.speed_m_s(2.001) > profile.speed_m_s(2.0));
        let (low, high) = (profile.velocity_m_s(0.0), profile.velocity_m_s(1.0));
        assert!(low.y > high.y, "veer turns toward −y with height");
    }

    #[test]
    fn direction_holds_at_the_reference_height_whatever_the_drum_exit() {
        for exit_height_m in [0.0, 3.0] {
            let shape = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.2 };
            let mut profile = Profile::new(shape).unwrap();
            (profile.direction_deg, profile.veer_deg_per_m, profile.exit_height_m) =
                (30.0, 0.2, exit_height_m);
            let velocity = profile.velocity_m_s(10.0 - exit_height_m);
            assert!((velocity.y.atan2(velocity.x).to_degrees() - 30.0).abs() < 1e-12);
            assert!((velocity.norm() - 8.0).abs() < 1e-12);
        }
    }

    #[test]
    fn inside_a_high_roughness_the_wind_is_zero_not_negative() {
        let profile = log_law(2.0);
        assert_eq!(profile.speed_m_s(0.5), 0.0);
        assert!(profile.speed_m_s(2.1) > 0.0);
        assert_eq!(profile.kinks_m(), ([2.0, 0.0, 0.0], 1));
    }

    #[test]
    fn water_holds_its_surface_speed_above_and_nothing_under_the_bed() {
        let decay = ProfileShape::SurfaceExponential { surface_speed_m_s: 0.8, decay_depth_m: 80.0 };
        let decay = Profile::new(decay).unwrap();
        assert_eq!(decay.speed_m_s(5.0), 0.8);
        assert!((decay.speed_m_s(-80.0) - 0.8 * (-1.0_f64).exp()).abs() < 1e-15);
        let bed = ProfileShape::DepthPower { surface_speed_m_s: 0.6, depth_m: 200.0, exponent: 1.0 / 7.0 };
        let bed = Profile::new(bed).unwrap();
        assert!((bed.speed_m_s(5.0) - 0.6).abs() < 1e-15);
        assert!((bed.speed_m_s(-100.0) - 0.6 * 0.5_f64.powf(1.0 / 7.0)).abs() < 1e-15);
        assert_eq!(bed.speed_m_s(-201.0), 0.0);
        assert_eq!(bed.kinks_m(), ([-200.0, 0.0, 0.0], 2));
        assert_eq!(decay.kinks_m(), ([-640.0, -160.0, 0.0], 3));
    }

    #[test]
    fn bad_profiles_are_refused_by_name() {
        let shape = ProfileShape::Logarithmic { speed_m_s: 5.0, reference_height_m: 2.0, roughness_m: 2.0 };
        assert_eq!(
            Profile::new(shape).unwrap_err().to_string(),
            "reference height 2 m does not lie above the roughness length 2 m"
        );
        let shape = ProfileShape::PowerLaw { speed_m_s: 101.0, reference_height_m: 10.0, exponent: 0.1 };
        assert!(Profile::new(shape).is_err());
        let mut profile = log_law(0.03);
        assert!(profile.with_speed_m_s(f64::NAN).is_err());
        profile.floor_height_m = 0.0;
        assert!(profile.check().is_err());
    }

    proptest! {
        #[test]
        fn prop_scaling_scales_every_height(speed in 0.1..50.0f64, z in -50.0..500.0f64, exponent in 0.0..0.6f64) {
            let shape = ProfileShape::PowerLaw { speed_m_s: speed, reference_height_m: 10.0, exponent };
            let profile = Profile::new(shape).unwrap();
            let double = profile.with_speed_m_s(2.0 * speed).unwrap();
            let (one, two) = (profile.velocity_m_s(z), double.velocity_m_s(z));
            prop_assert!((two - one * 2.0).norm() <= 1e-12 * two.norm());
        }

        #[test]
        fn prop_wind_never_falls_with_height(roughness in 1e-5..1.0f64, z in -2.0..400.0f64) {
            let profile = log_law(roughness);
            prop_assert!(profile.speed_m_s(z + 1.0) >= profile.speed_m_s(z));
            prop_assert!(profile.speed_m_s(z) >= 0.0);
        }
    }
}
