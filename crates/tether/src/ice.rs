//! Ice on a line: thickness, class or mass of ice in; heavier, thicker and draggier line out. And how fast it grows.
//!
//! Ice raises weight, diameter and drag coefficient at the same time. One millimetre of glaze doubles the weight of a
//! 10 g/m tether of 3 mm; the lightest class of ISO 12494 makes it 37 times heavier.

use std::f64::consts::PI;

use beamstay_numerics::domain::{OutOfRange, in_range};

use crate::{
    drag::{DragCurve, NormalDrag},
    error::TetherError,
    line::Line,
};

/// Density of glaze, kg/m³ (AS/NZS 7000 as quoted; ISO 12494). Line-design documents use 913 (57 lb/ft³).
pub const GLAZE_DENSITY_KG_M3: f64 = 900.0;

/// Least drag coefficient of an iced line: rime and icicles leave no circular cylinder (ISO 12494 lets bars rise to
/// 1.4 in the heavy classes; from memory).
pub const ICED_DRAG_COEFFICIENT: f64 = 1.4;

/// Glaze classes of ISO 12494: thickness of a clear sleeve all round, at 900 kg/m³ (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GlazeClass {
    /// 10 mm.
    G1,
    /// 20 mm.
    G2,
    /// 30 mm.
    G3,
    /// 40 mm.
    G4,
    /// 50 mm.
    G5,
}

impl GlazeClass {
    /// Thickness of the sleeve, m.
    pub const fn thickness_m(self) -> f64 {
        match self {
            Self::G1 => 0.010,
            Self::G2 => 0.020,
            Self::G3 => 0.030,
            Self::G4 => 0.040,
            Self::G5 => 0.050,
        }
    }
}

/// Rime classes of ISO 12494: mass per metre that a 30 mm cylinder collects; the standard takes the same mass on
/// every object up to 300 mm (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RimeClass {
    /// 0.5 kg/m.
    R1,
    /// 0.9 kg/m.
    R2,
    /// 1.6 kg/m.
    R3,
    /// 2.8 kg/m.
    R4,
    /// 5.0 kg/m.
    R5,
    /// 8.9 kg/m.
    R6,
    /// 16 kg/m.
    R7,
    /// 28 kg/m.
    R8,
    /// 50 kg/m.
    R9,
}

impl RimeClass {
    /// Mass of the rime, kg/m.
    pub const fn mass_kg_per_m(self) -> f64 {
        match self {
            Self::R1 => 0.5,
            Self::R2 => 0.9,
            Self::R3 => 1.6,
            Self::R4 => 2.8,
            Self::R5 => 5.0,
            Self::R6 => 8.9,
            Self::R7 => 16.0,
            Self::R8 => 28.0,
            Self::R9 => 50.0,
        }
    }
}

/// A round sleeve of ice on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IceSleeve {
    mass_kg_per_m: f64,
    inner_diameter_m: f64,
    outer_diameter_m: f64,
}

impl IceSleeve {
    /// A sleeve of even thickness: m = ρ π t (d + t). Line 10 µm to 1 m, thickness 0 to 0.5 m, density 50 to
    /// 920 kg/m³.
    ///
    /// # Errors
    /// [`OutOfRange`] for an argument outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::ice::{GLAZE_DENSITY_KG_M3, IceSleeve};
    /// let ice = IceSleeve::of_thickness(0.003, 0.001, GLAZE_DENSITY_KG_M3).unwrap();
    /// assert!((ice.mass_kg_per_m() - 0.01130973).abs() < 1e-8);
    /// assert!((ice.outer_diameter_m() - 0.005).abs() < 1e-15);
    /// ```
    pub fn of_thickness(
        line_diameter_m: f64,
        thickness_m: f64,
        density_kg_m3: f64,
    ) -> Result<Self, OutOfRange> {
        check_line(line_diameter_m, density_kg_m3)?;
        in_range("ice thickness", "m", thickness_m, 0.0, 0.5)?;
        Ok(Self {
            mass_kg_per_m: density_kg_m3 * PI * thickness_m * (line_diameter_m + thickness_m),
            inner_diameter_m: line_diameter_m,
            outer_diameter_m: line_diameter_m + 2.0 * thickness_m,
        })
    }

    /// A sleeve of known mass: outer diameter √(d² + 4 m/(π ρ)). Mass 0 to 200 kg/m, otherwise as
    /// [`Self::of_thickness`].
    ///
    /// # Errors
    /// [`OutOfRange`] for an argument outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::ice::{IceSleeve, RimeClass};
    /// let rime = IceSleeve::of_mass(0.030, RimeClass::R5.mass_kg_per_m(), 500.0).unwrap();
    /// assert!((rime.outer_diameter_m() - 0.1168).abs() < 1e-4);
    /// ```
    pub fn of_mass(line_diameter_m: f64, mass_kg_per_m: f64, density_kg_m3: f64) -> Result<Self, OutOfRange> {
        check_line(line_diameter_m, density_kg_m3)?;
        in_range("ice mass per metre", "kg/m", mass_kg_per_m, 0.0, 200.0)?;
        let area_m2 = mass_kg_per_m / density_kg_m3;
        Ok(Self {
            mass_kg_per_m,
            inner_diameter_m: line_diameter_m,
            outer_diameter_m: (line_diameter_m * line_diameter_m + 4.0 / PI * area_m2).sqrt(),
        })
    }

    /// Glaze of a class of ISO 12494.
    ///
    /// # Errors
    /// [`OutOfRange`] if the line is not 10 µm to 1 m.
    pub fn glaze(line_diameter_m: f64, class: GlazeClass) -> Result<Self, OutOfRange> {
        Self::of_thickness(line_diameter_m, class.thickness_m(), GLAZE_DENSITY_KG_M3)
    }

    /// Mass of the ice alone, kg/m.
    pub fn mass_kg_per_m(&self) -> f64 {
        self.mass_kg_per_m
    }

    /// Diameter over the ice, m.
    pub fn outer_diameter_m(&self) -> f64 {
        self.outer_diameter_m
    }

    /// The iced line in air: heavier by the ice, as thick as the sleeve, with a drag coefficient of
    /// [`ICED_DRAG_COEFFICIENT`] or the constant of the bare line if that is larger, its amplification kept. The ice
    /// adds no stiffness. A class that leaves the ranges of [`Line::check`] (100 kg/m, 1 m) is refused.
    ///
    /// # Errors
    /// [`TetherError::OutOfRange`] if the sleeve was made for another diameter than that of `line`, or the iced line
    /// does not pass its check.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::ice::IceSleeve;
    /// use beamstay_tether::{DragCurve, Line, NormalDrag};
    /// let bare = Line {
    ///     mass_kg_per_m: 0.010,
    ///     diameter_m: 0.003,
    ///     buoyancy_area_m2: 0.0,
    ///     axial_stiffness_n: None,
    ///     normal_drag: NormalDrag::new(DragCurve::Cheng, 1.5).unwrap(),
    ///     tangential_coefficient: 0.02,
    /// };
    /// let iced = IceSleeve::of_thickness(0.003, 0.001, 900.0).unwrap().on(&bare).unwrap();
    /// assert!((iced.mass_kg_per_m - 0.02131).abs() < 1e-5);
    /// assert!((iced.normal_drag.coefficient(1000.0) - 1.5 * 1.4).abs() < 1e-12);
    /// ```
    pub fn on(&self, line: &Line) -> Result<Line, TetherError> {
        let slack_m = 1e-9 * self.inner_diameter_m;
        let (min_m, max_m) = (self.inner_diameter_m - slack_m, self.inner_diameter_m + slack_m);
        in_range("diameter of the line under the ice", "m", line.diameter_m, min_m, max_m)?;
        let coefficient = match line.normal_drag.curve() {
            DragCurve::Constant(bare) => bare.max(ICED_DRAG_COEFFICIENT),
            _ => ICED_DRAG_COEFFICIENT,
        };
        let amplification_ratio = line.normal_drag.amplification_ratio();
        let iced = Line {
            mass_kg_per_m: line.mass_kg_per_m + self.mass_kg_per_m,
            diameter_m: self.outer_diameter_m,
            normal_drag: NormalDrag::new(DragCurve::Constant(coefficient), amplification_ratio)?,
            ..*line
        };
        iced.check()?;
        Ok(iced)
    }
}

fn check_line(diameter_m: f64, density_kg_m3: f64) -> Result<(), OutOfRange> {
    in_range("tether diameter", "m", diameter_m, 1e-5, 1.0)?;
    in_range("ice density", "kg/m³", density_kg_m3, 50.0, 920.0)?;
    Ok(())
}

/// Drops in a moving cloud and the line they meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IcingFlow {
    /// Median volume diameter of the drops, m (1 µm to 0.5 mm).
    pub drop_diameter_m: f64,
    /// Speed of the air across the line, m/s (0.1 to 100).
    pub speed_m_s: f64,
    /// Diameter of the line with the ice that it already bears, m (10 µm to 1 m).
    pub line_diameter_m: f64,
    /// Density of the air, kg/m³ (0.1 to 2).
    pub air_density_kg_m3: f64,
    /// Dynamic viscosity of the air, Pa·s (10⁻⁶ to 10⁻⁴).
    pub dynamic_viscosity_pa_s: f64,
}

/// Density of the drops, kg/m³.
const DROP_DENSITY_KG_M3: f64 = 1000.0;

impl IcingFlow {
    /// Checks the ranges of the fields.
    ///
    /// # Errors
    /// [`OutOfRange`] for the first number outside its range.
    pub fn check(&self) -> Result<(), OutOfRange> {
        in_range("drop diameter", "m", self.drop_diameter_m, 1e-6, 5e-4)?;
        in_range("speed across the line", "m/s", self.speed_m_s, 0.1, 100.0)?;
        in_range("tether diameter", "m", self.line_diameter_m, 1e-5, 1.0)?;
        in_range("air density", "kg/m³", self.air_density_kg_m3, 0.1, 2.0)?;
        in_range("dynamic viscosity", "Pa·s", self.dynamic_viscosity_pa_s, 1e-6, 1e-4)?;
        Ok(())
    }

    /// Inertia parameter K = ρ_w d_d² V/(9 μ d).
    pub fn inertia_parameter(&self) -> f64 {
        DROP_DENSITY_KG_M3 * self.drop_diameter_m.powi(2) * self.speed_m_s
            / (9.0 * self.dynamic_viscosity_pa_s * self.line_diameter_m)
    }

    /// Langmuir's parameter φ = Re²/K with the Reynolds number of the drop; it equals 9 ρ_a² V d/(μ ρ_w), whatever
    /// the drop.
    pub fn langmuir_parameter(&self) -> f64 {
        9.0 * self.air_density_kg_m3.powi(2) * self.speed_m_s * self.line_diameter_m
            / (self.dynamic_viscosity_pa_s * DROP_DENSITY_KG_M3)
    }

    /// Share of the drops in the path of the line that hit it (K. J. Finstad, E. P. Lozowski and E. M. Gates, *J.
    /// Atmos. Oceanic Technol.* 5, 160, 1988; from memory), about 10 % wide for the spectrum of drops:
    /// α = A − 0.028 − C (B − 0.0454), A = 1.066 K^−0.00616 e^(−1.103 K^−0.688), B = 3.641 K^−0.498 e^(−1.497 K^−0.694),
    /// C = 0.00637 (φ − 100)^0.381.
    ///
    /// # Errors
    /// [`OutOfRange`] outside the fit, K 0.25 to 1000 and φ 100 to 10⁴, and for a field outside its range. A line
    /// below 11.5 mm at 10 m/s is outside whatever the drops; see [`Self::thin_line_collision_ratio`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::ice::IcingFlow;
    /// let flow = IcingFlow {
    ///     drop_diameter_m: 20e-6,
    ///     speed_m_s: 10.0,
    ///     line_diameter_m: 0.030,
    ///     air_density_kg_m3: 1.29,
    ///     dynamic_viscosity_pa_s: 1.72e-5,
    /// };
    /// assert!((flow.collision_ratio().unwrap() - 0.255356).abs() < 1e-6);
    /// assert!(IcingFlow { line_diameter_m: 0.003, ..flow }.collision_ratio().is_err());
    /// ```
    pub fn collision_ratio(&self) -> Result<f64, OutOfRange> {
        self.check()?;
        let phi = in_range("Langmuir parameter of icing", "", self.langmuir_parameter(), 100.0, 1e4)?;
        self.finstad(0.006_37 * (phi - 100.0).powf(0.381))
    }

    /// As [`Self::collision_ratio`] for a line too thin for the fit (φ below 100), with C held at the 0 that it has at
    /// φ = 100. C only takes away, so this is the cautious side.
    ///
    /// # Errors
    /// [`OutOfRange`] if φ is above 100 or K outside 0.25 to 1000, and for a field outside its range.
    pub fn thin_line_collision_ratio(&self) -> Result<f64, OutOfRange> {
        self.check()?;
        in_range("Langmuir parameter of icing", "", self.langmuir_parameter(), 0.0, 100.0)?;
        self.finstad(0.0)
    }

    /// The fit in its own symbols, C given.
    fn finstad(&self, c: f64) -> Result<f64, OutOfRange> {
        let k = in_range("inertia parameter of icing", "", self.inertia_parameter(), 0.25, 1e3)?;
        let a = 1.066 * k.powf(-0.006_16) * (-1.103 * k.powf(-0.688)).exp();
        let b = 3.641 * k.powf(-0.498) * (-1.497 * k.powf(-0.694)).exp();
        Ok((a - 0.028 - c * (b - 0.0454)).clamp(0.0, 1.0))
    }
}

/// Growth of ice in kg/(m·s): α₁ α₂ α₃ w V d (L. Makkonen; ISO 12494, C.2). α₁ share of drops that hit, α₂ that stick
/// (1 for drops), α₃ that freeze (1 for rime), each 0 to 1; w liquid water content 0 to 10⁻² kg/m³; speed across the
/// line 0 to 100 m/s; diameter 10 µm to 1 m with the ice that is already there.
///
/// # Errors
/// [`OutOfRange`] for an argument outside its range.
///
/// # Examples
/// ```
/// use beamstay_tether::ice::accretion_rate_kg_per_m_s;
/// let rate = accretion_rate_kg_per_m_s(0.790677, 1.0, 1.0, 0.3e-3, 10.0, 0.003).unwrap();
/// assert!((rate * 3600.0 - 0.025618).abs() < 1e-6);
/// ```
pub fn accretion_rate_kg_per_m_s(
    collision_ratio: f64,
    sticking_ratio: f64,
    freezing_ratio: f64,
    liquid_water_content_kg_m3: f64,
    speed_m_s: f64,
    diameter_m: f64,
) -> Result<f64, OutOfRange> {
    in_range("collision efficiency", "", collision_ratio, 0.0, 1.0)?;
    in_range("sticking efficiency", "", sticking_ratio, 0.0, 1.0)?;
    in_range("accretion efficiency", "", freezing_ratio, 0.0, 1.0)?;
    in_range("liquid water content", "kg/m³", liquid_water_content_kg_m3, 0.0, 1e-2)?;
    in_range("speed across the line", "m/s", speed_m_s, 0.0, 100.0)?;
    in_range("tether diameter", "m", diameter_m, 1e-5, 1.0)?;
    let collected_ratio = collision_ratio * sticking_ratio * freezing_ratio;
    Ok(collected_ratio * liquid_water_content_kg_m3 * speed_m_s * diameter_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const FLOW: IcingFlow = IcingFlow {
        drop_diameter_m: 20e-6,
        speed_m_s: 10.0,
        line_diameter_m: 0.030,
        air_density_kg_m3: 1.29,
        dynamic_viscosity_pa_s: 1.72e-5,
    };

    #[test]
    fn fit_and_thin_line_meet_where_the_fit_ends() {
        let at_phi = |phi: f64| IcingFlow { line_diameter_m: phi / 261.225 * 0.030, ..FLOW };
        let inside = at_phi(100.0001).collision_ratio().unwrap();
        let outside = at_phi(99.9999).thin_line_collision_ratio().unwrap();
        assert!((inside - outside).abs() < 1e-3, "{inside} and {outside}");
        assert!(at_phi(99.9999).collision_ratio().is_err());
        assert!(at_phi(100.01).thin_line_collision_ratio().is_err());
    }

    #[test]
    fn a_slow_or_fine_cloud_is_outside_the_fit() {
        assert!(IcingFlow { drop_diameter_m: 10e-6, ..FLOW }.collision_ratio().is_err());
        assert!(IcingFlow { drop_diameter_m: 0.6e-3, ..FLOW }.check().is_err());
        assert!(IcingFlow { speed_m_s: f64::NAN, ..FLOW }.thin_line_collision_ratio().is_err());
    }

    #[test]
    fn guards() {
        assert!(IceSleeve::of_thickness(0.003, 0.51, 900.0).is_err());
        assert!(IceSleeve::of_thickness(0.003, -1e-9, 900.0).is_err());
        assert!(IceSleeve::of_thickness(0.0, 0.01, 900.0).is_err());
        assert!(IceSleeve::of_thickness(0.003, 0.01, 921.0).is_err());
        assert!(IceSleeve::of_mass(0.003, 201.0, 900.0).is_err());
        assert!(accretion_rate_kg_per_m_s(1.01, 1.0, 1.0, 1e-3, 1.0, 0.01).is_err());
        let line = Line {
            mass_kg_per_m: 0.01,
            diameter_m: 0.004,
            buoyancy_area_m2: 0.0,
            axial_stiffness_n: None,
            normal_drag: NormalDrag::constant(1.5).unwrap(),
            tangential_coefficient: 0.02,
        };
        assert!(IceSleeve::glaze(0.003, GlazeClass::G1).unwrap().on(&line).is_err(), "another diameter");
        let iced = IceSleeve::glaze(0.004, GlazeClass::G1).unwrap().on(&line).unwrap();
        assert_relative_eq!(iced.normal_drag.coefficient(1.0), 1.5);
    }

    proptest! {
        #[test]
        fn prop_mass_and_thickness_agree(d in 1e-4..0.1f64, t in 0.0..0.4f64, rho in 60.0..920.0f64) {
            let by_thickness = IceSleeve::of_thickness(d, t, rho).unwrap();
            if by_thickness.mass_kg_per_m() <= 200.0 {
                let by_mass = IceSleeve::of_mass(d, by_thickness.mass_kg_per_m(), rho).unwrap();
                assert_relative_eq!(by_mass.outer_diameter_m(), by_thickness.outer_diameter_m(), max_relative = 1e-9);
            }
        }

        #[test]
        fn prop_collision_ratio_is_a_share(drop in 5e-6..1e-4f64, v in 1.0..40.0f64, d in 1e-3..0.2f64) {
            let flow = IcingFlow { drop_diameter_m: drop, speed_m_s: v, line_diameter_m: d, ..FLOW };
            for ratio in [flow.collision_ratio(), flow.thin_line_collision_ratio()].into_iter().flatten() {
                prop_assert!((0.0..=1.0).contains(&ratio));
            }
        }
    }
}
