//! A horizontal flow that changes with height: what a tether hangs in and a vehicle flies in.

use nalgebra::Vector3;
use wide::f64x4;

use crate::{
    atmosphere::{Atmosphere, HIGHEST_ALTITUDE_M, LOWEST_ALTITUDE_M},
    error::EnvironmentError,
    fluid::Fluid,
    polynomial::Polynomial,
    wind::{Compiled, Profile},
};

/// Velocity and state of the fluid at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowSample {
    /// Velocity of the fluid over the ground, m/s; x downwind at the reference height, y to its left, z up.
    pub velocity_m_s: Vector3<f64>,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa·s.
    pub dynamic_viscosity_pa_s: f64,
}

/// Velocity and state of the fluid at four heights, a list for each quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourSamples {
    /// Velocity of the fluid over the ground, m/s: the four x, the four y, the four z.
    pub velocity_m_s: [[f64; 4]; 3],
    /// Density, kg/m³.
    pub density_kg_m3: [f64; 4],
    /// Dynamic viscosity, Pa·s.
    pub dynamic_viscosity_pa_s: [f64; 4],
}

/// A steady flow that depends on height alone.
pub trait Flow {
    /// The flow at `z_m` above the drum exit, m (negative below it).
    fn at(&self, z_m: f64) -> FlowSample;

    /// The flow at four heights: what [`Self::at`] gives for each, but for rounding. A solver asks so; a flow that can work out
    /// four faster than one after the other says how.
    #[inline]
    fn at_four(&self, z_m: &[f64; 4]) -> FourSamples {
        let each = z_m.map(|z_m| self.at(z_m));
        FourSamples {
            velocity_m_s: std::array::from_fn(|axis| each.map(|sample| sample.velocity_m_s[axis])),
            density_kg_m3: each.map(|sample| sample.density_kg_m3),
            dynamic_viscosity_pa_s: each.map(|sample| sample.dynamic_viscosity_pa_s),
        }
    }

    /// Heights at which the profile is not smooth, or between which it changes much faster than elsewhere, m above the drum exit,
    /// rising; a solver breaks its elements there.
    fn kink_heights_m(&self) -> &[f64];
}

/// Wind in an atmosphere.
///
/// From 500 m below to 2 km above the drum exit, density and viscosity come from polynomials fitted once to the
/// [`Atmosphere`] and within 1e-10 of it, so that [`Flow::at`] costs tens of nanoseconds; further away from the atmosphere
/// itself.
///
/// # Examples
/// ```
/// use beamstay_environment::{AirFlow, Atmosphere, Flow, Profile, ProfileShape};
/// let shape = ProfileShape::PowerLaw { speed_m_s: 10.0, reference_height_m: 10.0, exponent: 0.2 };
/// let flow = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), Profile::new(shape).unwrap()).unwrap();
/// let sample = flow.at(100.0);
/// assert!((sample.velocity_m_s.x - 15.84893).abs() < 1e-5);
/// assert!((sample.density_kg_m3 - 1.213283).abs() < 1e-5);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct AirFlow {
    atmosphere: Atmosphere,
    profile: Profile,
    wind: Compiled,
    kinks: Kinks,
    density_kg_m3: Polynomial,
    viscosity_pa_s: Polynomial,
    /// Lowest and highest altitude of the two polynomials, m above sea level.
    fitted_m: (f64, f64),
    exit_altitude_m: f64,
}

impl AirFlow {
    /// Puts a wind profile into an atmosphere.
    ///
    /// # Errors
    /// [`EnvironmentError`] if either holds a number outside its range.
    pub fn new(atmosphere: Atmosphere, profile: Profile) -> Result<Self, EnvironmentError> {
        atmosphere.check()?;
        profile.check()?;
        let exit_altitude_m = atmosphere.site_elevation_m + profile.exit_height_m;
        // The ends of the atmosphere stay outside: it is not smooth there.
        let lowest_m = (exit_altitude_m - 500.0).clamp(LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M - 1.0);
        let highest_m = (exit_altitude_m + 2_000.0).clamp(lowest_m + 1.0, HIGHEST_ALTITUDE_M);
        let fitted_m = (lowest_m, highest_m);
        let air = Polynomial::nodes(fitted_m)
            .map(|altitude_m| atmosphere.at(altitude_m - atmosphere.site_elevation_m));
        Ok(Self {
            atmosphere,
            profile,
            wind: Compiled::new(&profile),
            kinks: Kinks::new(&profile),
            density_kg_m3: Polynomial::through(fitted_m, &air.map(|fluid| fluid.density_kg_m3)),
            viscosity_pa_s: Polynomial::through(fitted_m, &air.map(|fluid| fluid.dynamic_viscosity_pa_s)),
            fitted_m,
            exit_altitude_m,
        })
    }

    /// The same air with the wind scaled to another speed at its reference height; cheaper than [`AirFlow::new`].
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside 0 to 100 m/s.
    pub fn with_speed_m_s(mut self, speed_m_s: f64) -> Result<Self, EnvironmentError> {
        self.profile = self.profile.with_speed_m_s(speed_m_s)?;
        self.wind = self.wind.renewed(&self.profile);
        Ok(self)
    }

    /// The atmosphere.
    pub fn atmosphere(&self) -> &Atmosphere {
        &self.atmosphere
    }

    /// The wind profile.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// Every property of the air at `z_m` above the drum exit.
    pub fn fluid_at(&self, z_m: f64) -> Fluid {
        self.atmosphere.at(z_m + self.profile.exit_height_m)
    }
}

impl Flow for AirFlow {
    #[inline]
    fn at(&self, z_m: f64) -> FlowSample {
        let altitude_m = z_m + self.exit_altitude_m;
        let velocity_m_s = self.wind.velocity_m_s(z_m);
        let (density_kg_m3, dynamic_viscosity_pa_s) =
            if altitude_m >= self.fitted_m.0 && altitude_m <= self.fitted_m.1 {
                (self.density_kg_m3.at(altitude_m), self.viscosity_pa_s.at(altitude_m))
            } else {
                let air = self.fluid_at(z_m);
                (air.density_kg_m3, air.dynamic_viscosity_pa_s)
            };
        FlowSample { velocity_m_s, density_kg_m3, dynamic_viscosity_pa_s }
    }

    #[inline]
    fn at_four(&self, z_m: &[f64; 4]) -> FourSamples {
        let z4_m = f64x4::new(*z_m);
        let (x_m_s, y_m_s) = self.wind.four_velocities_m_s(z4_m);
        let altitude_m = z4_m + f64x4::splat(self.exit_altitude_m);
        let (lo_m, hi_m) = (f64x4::splat(self.fitted_m.0), f64x4::splat(self.fitted_m.1));
        let (density_kg_m3, dynamic_viscosity_pa_s) =
            if (altitude_m.simd_ge(lo_m) & altitude_m.simd_le(hi_m)).all() {
                (self.density_kg_m3.at(altitude_m).to_array(), self.viscosity_pa_s.at(altitude_m).to_array())
            } else {
                let each = z_m.map(|z_m| self.at(z_m));
                (each.map(|s| s.density_kg_m3), each.map(|s| s.dynamic_viscosity_pa_s))
            };
        let velocity_m_s = [x_m_s.to_array(), y_m_s.to_array(), [0.0; 4]];
        FourSamples { velocity_m_s, density_kg_m3, dynamic_viscosity_pa_s }
    }

    fn kink_heights_m(&self) -> &[f64] {
        self.kinks.as_slice()
    }
}

/// A current in water of one density, or any profile in a fluid whose state was measured.
///
/// Water is taken as equally dense at every depth (1 km of sea compresses it by 0.45 %): give the fluid at the middle of
/// the depth range.
///
/// # Examples
/// ```
/// use beamstay_environment::{Flow, Profile, ProfileShape, Water, WaterFlow};
/// let shape = ProfileShape::SurfaceExponential { surface_speed_m_s: 0.8, decay_depth_m: 80.0 };
/// let sea = Water::sea(15.0).unwrap().fluid(50.0);
/// let flow = WaterFlow::new(sea, Profile::new(shape).unwrap()).unwrap();
/// assert!((flow.at(-80.0).velocity_m_s.x - 0.294304).abs() < 1e-6);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct WaterFlow {
    fluid: Fluid,
    profile: Profile,
    current: Compiled,
    kinks: Kinks,
}

impl WaterFlow {
    /// Puts a profile into a fluid.
    ///
    /// # Errors
    /// [`EnvironmentError`] if the profile holds a number outside its range, or the fluid a density or viscosity that is
    /// not positive and finite.
    pub fn new(fluid: Fluid, profile: Profile) -> Result<Self, EnvironmentError> {
        fluid.check()?;
        profile.check()?;
        Ok(Self { fluid, profile, current: Compiled::new(&profile), kinks: Kinks::new(&profile) })
    }

    /// The same water with the current scaled to another speed at the surface.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] outside 0 to 100 m/s.
    pub fn with_speed_m_s(mut self, speed_m_s: f64) -> Result<Self, EnvironmentError> {
        self.profile = self.profile.with_speed_m_s(speed_m_s)?;
        self.current = self.current.renewed(&self.profile);
        Ok(self)
    }

    /// The fluid.
    pub fn fluid(&self) -> &Fluid {
        &self.fluid
    }

    /// The profile of the current.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }
}

impl Flow for WaterFlow {
    #[inline]
    fn at(&self, z_m: f64) -> FlowSample {
        FlowSample {
            velocity_m_s: self.current.velocity_m_s(z_m),
            density_kg_m3: self.fluid.density_kg_m3,
            dynamic_viscosity_pa_s: self.fluid.dynamic_viscosity_pa_s,
        }
    }

    #[inline]
    fn at_four(&self, z_m: &[f64; 4]) -> FourSamples {
        let (x_m_s, y_m_s) = self.current.four_velocities_m_s(f64x4::new(*z_m));
        FourSamples {
            velocity_m_s: [x_m_s.to_array(), y_m_s.to_array(), [0.0; 4]],
            density_kg_m3: [self.fluid.density_kg_m3; 4],
            dynamic_viscosity_pa_s: [self.fluid.dynamic_viscosity_pa_s; 4],
        }
    }

    fn kink_heights_m(&self) -> &[f64] {
        self.kinks.as_slice()
    }
}

/// One velocity and one fluid everywhere.
///
/// # Examples
/// ```
/// use beamstay_environment::{Atmosphere, Flow, UniformFlow};
/// use nalgebra::Vector3;
/// let air = Atmosphere::new(0.0, 0.0).unwrap().at(0.0);
/// let flow = UniformFlow::new(air, Vector3::new(8.0, 0.0, 0.0)).unwrap();
/// assert_eq!(flow.at(50.0), flow.at(0.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniformFlow {
    sample: FlowSample,
}

impl UniformFlow {
    /// A flow of `velocity_m_s` (each component −100 to 100 m/s) in `fluid`.
    ///
    /// # Errors
    /// [`EnvironmentError::OutOfRange`] for a component outside its range, or a density or viscosity that is not
    /// positive and finite.
    pub fn new(fluid: Fluid, velocity_m_s: Vector3<f64>) -> Result<Self, EnvironmentError> {
        fluid.check()?;
        for component in velocity_m_s.iter() {
            beamstay_numerics::domain::in_range("velocity component", "m/s", *component, -100.0, 100.0)?;
        }
        let (density_kg_m3, dynamic_viscosity_pa_s) = (fluid.density_kg_m3, fluid.dynamic_viscosity_pa_s);
        Ok(Self { sample: FlowSample { velocity_m_s, density_kg_m3, dynamic_viscosity_pa_s } })
    }
}

impl Flow for UniformFlow {
    #[inline]
    fn at(&self, _z_m: f64) -> FlowSample {
        self.sample
    }

    fn kink_heights_m(&self) -> &[f64] {
        &[]
    }
}

/// Up to three kink heights, without a heap.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Kinks {
    heights_m: [f64; 3],
    count: usize,
}

impl Kinks {
    fn new(profile: &Profile) -> Self {
        let (heights_m, count) = profile.kinks_m();
        Self { heights_m, count }
    }

    fn as_slice(&self) -> &[f64] {
        &self.heights_m[..self.count]
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "values that are held must be held exactly")]
mod tests {
    use super::*;
    use crate::wind::ProfileShape;
    use proptest::prelude::*;

    fn power_law() -> Profile {
        let shape = ProfileShape::PowerLaw { speed_m_s: 8.0, reference_height_m: 10.0, exponent: 0.143 };
        Profile::new(shape).unwrap()
    }

    #[test]
    fn kinks_count_from_the_drum_exit() {
        let mut profile = power_law();
        profile.exit_height_m = 2.0;
        let flow = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), profile).unwrap();
        assert_eq!(flow.kink_heights_m(), [-1.5]);
        let uniform = Profile::new(ProfileShape::Uniform { speed_m_s: 5.0 }).unwrap();
        let flow = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), uniform).unwrap();
        assert!(flow.kink_heights_m().is_empty());
    }

    #[test]
    fn scaling_a_flow_equals_building_it() {
        let air = Atmosphere::new(200.0, 3.0).unwrap();
        let scaled = AirFlow::new(air, power_law()).unwrap().with_speed_m_s(3.0).unwrap();
        let built = AirFlow::new(air, power_law().with_speed_m_s(3.0).unwrap()).unwrap();
        assert_eq!(scaled, built);
        assert!(scaled.with_speed_m_s(-1.0).is_err());
    }

    #[test]
    fn bad_fluids_are_refused() {
        let mut fluid = Atmosphere::new(0.0, 0.0).unwrap().at(0.0);
        fluid.density_kg_m3 = 0.0;
        assert!(WaterFlow::new(fluid, power_law()).is_err());
        assert!(UniformFlow::new(fluid, Vector3::zeros()).is_err());
    }

    /// Whether four heights at once give the bits of each.
    fn four_are_each(flow: &impl Flow, z_m: [f64; 4]) -> bool {
        let four = flow.at_four(&z_m);
        (0..4).all(|i| {
            let one = flow.at(z_m[i]);
            (0..3).all(|axis| four.velocity_m_s[axis][i] == one.velocity_m_s[axis])
                && four.density_kg_m3[i] == one.density_kg_m3
                && four.dynamic_viscosity_pa_s[i] == one.dynamic_viscosity_pa_s
        })
    }

    #[test]
    fn what_is_not_a_height_gives_no_velocity() {
        let flow = AirFlow::new(Atmosphere::new(0.0, 0.0).unwrap(), power_law()).unwrap();
        let velocity_m_s = flow.at_four(&[1.0, f64::NAN, 3.0, 4.0]).velocity_m_s;
        assert!(velocity_m_s[0][1].is_nan() && velocity_m_s[0][2] > 0.0);
    }

    proptest! {
        #[test]
        fn prop_four_heights_at_once_are_each_of_them(
            z in prop::array::uniform4(prop_oneof![-3.0..400.0f64, -600.0..13_000.0f64]),
            law in 0usize..5, veer in prop_oneof![Just(0.0), -0.3..0.3f64], direction in -180.0..180.0f64,
        ) {
            let speed_m_s = 8.0;
            let shape = [
                ProfileShape::Uniform { speed_m_s },
                ProfileShape::PowerLaw { speed_m_s, reference_height_m: 10.0, exponent: 0.2 },
                ProfileShape::Logarithmic { speed_m_s, reference_height_m: 10.0, roughness_m: 0.03 },
                ProfileShape::SurfaceExponential { surface_speed_m_s: speed_m_s, decay_depth_m: 80.0 },
                ProfileShape::DepthPower { surface_speed_m_s: speed_m_s, depth_m: 200.0, exponent: 0.2 },
            ][law];
            let profile =
                Profile { veer_deg_per_m: veer, direction_deg: direction, ..Profile::new(shape).unwrap() };
            let air = Atmosphere::new(0.0, 0.0).unwrap();
            prop_assert!(four_are_each(&AirFlow::new(air, profile).unwrap(), z));
            prop_assert!(four_are_each(&WaterFlow::new(air.at(0.0), profile).unwrap(), z));
            let uniform = UniformFlow::new(air.at(0.0), Vector3::new(3.0, -2.0, 0.5)).unwrap();
            prop_assert!(four_are_each(&uniform, z));
        }

        #[test]
        fn prop_fitted_air_is_the_atmosphere(
            site in -500.0..9_000.0f64, offset in -60.0..60.0f64, humidity in prop::option::of(0.0..1.0f64), exit in -100.0..11_500.0f64,
            z in prop_oneof![-500.0..2_000.0f64, -600.0..13_000.0f64],
        ) {
            let air = Atmosphere { site_elevation_m: site, temperature_offset_k: offset, relative_humidity_ratio: humidity };
            let mut profile = power_law();
            profile.exit_height_m = exit;
            let flow = AirFlow::new(air, profile).unwrap();
            let (fitted, exact) = (flow.at(z), flow.fluid_at(z));
            prop_assert!((fitted.density_kg_m3 / exact.density_kg_m3 - 1.0).abs() < 1e-10);
            prop_assert!((fitted.dynamic_viscosity_pa_s / exact.dynamic_viscosity_pa_s - 1.0).abs() < 1e-10);
        }
    }
}
