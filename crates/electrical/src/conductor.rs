//! A wire by gauge, by area or by standard class: resistance at a temperature, mass and diameter per metre.

use crate::ElectricalError;
use beamstay_numerics::domain::in_range;
use std::f64::consts::PI;

/// Temperature to which tabulated resistivities refer, K (20 °C).
pub const REFERENCE_TEMPERATURE_K: f64 = 293.15;

/// A conductor metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Metal {
    /// Resistivity at 20 °C, Ω·m.
    pub resistivity_ohm_m: f64,
    /// Relative rise of the resistivity per kelvin, referred to 20 °C, 1/K.
    pub temperature_coefficient_per_k: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Breaking stress of the soft metal, Pa (handbook figures, from memory; do not use without a safety factor).
    pub breaking_stress_pa: f64,
}

impl Metal {
    /// Annealed copper, 100 % IACS: 0.017241 Ω·mm²/m (ASTM B233, note), 0.00393 /K.
    pub const COPPER: Self = Self {
        resistivity_ohm_m: 1.7241e-8,
        temperature_coefficient_per_k: 0.00393,
        density_kg_m3: 8890.0,
        breaking_stress_pa: 200e6,
    };
    /// Aluminium 1350-O, 61.8 % IACS (ASTM B233, note); density from memory.
    pub const ALUMINIUM: Self = Self {
        resistivity_ohm_m: 2.7899e-8,
        temperature_coefficient_per_k: 0.00403,
        density_kg_m3: 2705.0,
        breaking_stress_pa: 60e6,
    };
    /// Copper-clad aluminium, 10 % copper by volume, 62.9 % IACS (data sheet to ASTM B566).
    pub const COPPER_CLAD_ALUMINIUM_10: Self = Self {
        resistivity_ohm_m: 2.7410e-8,
        temperature_coefficient_per_k: 0.00403,
        density_kg_m3: 3320.0,
        breaking_stress_pa: 95e6,
    };
    /// Copper-clad aluminium, 15 % copper by volume, 64.4 % IACS (data sheet to ASTM B566).
    pub const COPPER_CLAD_ALUMINIUM_15: Self = Self {
        resistivity_ohm_m: 2.6772e-8,
        temperature_coefficient_per_k: 0.00403,
        density_kg_m3: 3630.0,
        breaking_stress_pa: 100e6,
    };

    /// Resistance at `temp_k` over resistance at 20 °C: 1 + α(T − 20 °C). Linear, good to about 1 % between −60 and
    /// 200 °C; held at 0.1 below the temperature where the line would give that.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Metal;
    /// assert!((Metal::COPPER.resistance_ratio(348.15) - 1.21615).abs() < 1e-12);
    /// ```
    pub fn resistance_ratio(&self, temp_k: f64) -> f64 {
        let ratio = 1.0 + self.temperature_coefficient_per_k * (temp_k - REFERENCE_TEMPERATURE_K);
        // Not `max`: a temperature that is not a number must not pass for a cold wire.
        if ratio < 0.1 { 0.1 } else { ratio }
    }

    /// Mass of this metal over mass of `other` for the same resistance.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Metal;
    /// assert!((Metal::ALUMINIUM.mass_ratio_to(&Metal::COPPER) - 0.4924).abs() < 1e-4);
    /// ```
    pub fn mass_ratio_to(&self, other: &Metal) -> f64 {
        self.resistivity_ohm_m * self.density_kg_m3 / (other.resistivity_ohm_m * other.density_kg_m3)
    }

    /// Diameter of this metal over diameter of `other` for the same resistance: what the lighter wire costs in drag.
    pub fn diameter_ratio_to(&self, other: &Metal) -> f64 {
        (self.resistivity_ohm_m / other.resistivity_ohm_m).sqrt()
    }

    pub(crate) fn check(&self) -> Result<(), ElectricalError> {
        in_range("conductor resistivity", "ohm*m", self.resistivity_ohm_m, 1e-9, 1e-5)?;
        in_range(
            "temperature coefficient of resistance",
            "1/K",
            self.temperature_coefficient_per_k,
            0.0,
            0.02,
        )?;
        in_range("conductor density", "kg/m3", self.density_kg_m3, 500.0, 25_000.0)?;
        in_range("conductor breaking stress", "Pa", self.breaking_stress_pa, 1e6, 1e10)?;
        Ok(())
    }
}

/// Diameter of a solid wire of American gauge `gauge`, m: 0.127 mm · 92^((36 − n)/39) (ASTM B258 rule). 0 is 1/0, −3 is
/// 4/0.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] outside −3 to 50.
///
/// # Examples
/// ```
/// let diameter_m = beamstay_electrical::conductor::gauge_diameter_m(20).unwrap();
/// assert!((diameter_m - 0.8118e-3).abs() < 1e-7);
/// ```
pub fn gauge_diameter_m(gauge: i32) -> Result<f64, ElectricalError> {
    let gauge = in_range("American wire gauge", "", f64::from(gauge), -3.0, 50.0)?;
    Ok(0.127e-3 * 92f64.powf((36.0 - gauge) / 39.0))
}

/// Finest gauge (largest number) whose solid wire has at least `area_m2` of metal; `None` if that would be thicker than
/// 4/0 or the area is not a positive number.
///
/// # Examples
/// ```
/// assert_eq!(beamstay_electrical::conductor::gauge_for_area(0.5e-6), Some(20));
/// ```
pub fn gauge_for_area(area_m2: f64) -> Option<i32> {
    if area_m2.is_nan() || area_m2 <= 0.0 {
        return None;
    }
    (-3..=50)
        .rev()
        .find(|&gauge| gauge_diameter_m(gauge).is_ok_and(|diameter_m| circle_area_m2(diameter_m) >= area_m2))
}

/// Conductor class of IEC 60228.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ConductorClass {
    /// Classes 1 and 2: solid and stranded, for fixed installation.
    Fixed,
    /// Classes 5 and 6: flexible and extra flexible.
    Flexible,
}

/// IEC 60228: nominal area mm², largest resistance at 20 °C of plain copper in Ω/km for classes 1/2 and 5/6.
const IEC_60228: [(f64, f64, f64); 6] = [
    (0.5, 36.0, 39.0),
    (0.75, 24.5, 26.0),
    (1.0, 18.1, 19.5),
    (1.5, 12.1, 13.3),
    (2.5, 7.41, 7.98),
    (4.0, 4.61, 4.95),
];

/// Largest resistance at 20 °C that IEC 60228 allows a plain copper conductor of a nominal area, Ω/m. The standard
/// fixes resistance, not area of metal: a flexible conductor may resist 13 to 16 % more than its nominal area would.
/// `None` for an area that the table (0.5, 0.75, 1, 1.5, 2.5, 4 mm²) does not hold.
///
/// # Examples
/// ```
/// use beamstay_electrical::conductor::{ConductorClass, iec_60228_resistance_ohm_per_m};
/// let resistance_ohm_per_m = iec_60228_resistance_ohm_per_m(1.5e-6, ConductorClass::Flexible).unwrap();
/// assert!((resistance_ohm_per_m - 13.3e-3).abs() < 1e-15);
/// ```
pub fn iec_60228_resistance_ohm_per_m(nominal_area_m2: f64, class: ConductorClass) -> Option<f64> {
    let (_, fixed, flexible) =
        IEC_60228.iter().find(|(mm2, ..)| (mm2 * 1e-6 - nominal_area_m2).abs() <= 1e-9 * nominal_area_m2)?;
    let ohm_per_km = match class {
        ConductorClass::Fixed => fixed,
        ConductorClass::Flexible => flexible,
    };
    Some(ohm_per_km / 1000.0)
}

/// How the metal of a conductor is divided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stranding {
    /// Length of the single wires over length of the conductor; 1 to 1.2. Resistance and mass grow by it.
    pub lay_ratio: f64,
    /// Area of metal over area of the circle around the conductor; 0.3 to 1.
    pub fill_ratio: f64,
}

impl Stranding {
    /// One round wire.
    pub const SOLID: Self = Self { lay_ratio: 1.0, fill_ratio: 1.0 };
    /// Concentric strand: 2 % longer wires (ASTM B8, from memory), seven wires in a circle fill 7/9 of it (geometry).
    pub const CONCENTRIC: Self = Self { lay_ratio: 1.02, fill_ratio: 7.0 / 9.0 };
    /// Bunched flexible strand: 2 % longer wires, 65 % filled (common practice, no source).
    pub const BUNCHED: Self = Self { lay_ratio: 1.02, fill_ratio: 0.65 };
}

/// A bare conductor, per metre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductor {
    metal: Metal,
    area_m2: f64,
    resistance_20c_ohm_per_m: f64,
    mass_kg_per_m: f64,
    diameter_m: f64,
}

impl Conductor {
    /// A conductor with `area_m2` of metal across (m², 1e-10 to 1e-3; across the strand, not along its spiral).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for an area, stranding or metal outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Conductor, Metal, conductor::Stranding};
    /// let wire = Conductor::new(Metal::COPPER, 0.5e-6, Stranding::CONCENTRIC).unwrap();
    /// assert!((wire.resistance_ohm_per_m(293.15) - 0.0344820 * 1.02).abs() < 1e-9);
    /// ```
    pub fn new(metal: Metal, area_m2: f64, stranding: Stranding) -> Result<Self, ElectricalError> {
        metal.check()?;
        in_range("conductor area", "m2", area_m2, 1e-10, 1e-3)?;
        let lay_ratio = in_range("strand lay factor", "", stranding.lay_ratio, 1.0, 1.2)?;
        let fill_ratio = in_range("strand fill", "", stranding.fill_ratio, 0.3, 1.0)?;
        Ok(Self {
            metal,
            area_m2,
            resistance_20c_ohm_per_m: metal.resistivity_ohm_m * lay_ratio / area_m2,
            mass_kg_per_m: metal.density_kg_m3 * lay_ratio * area_m2,
            diameter_m: (4.0 * area_m2 / (PI * fill_ratio)).sqrt(),
        })
    }

    /// A solid wire of American gauge (−3 to 50).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for another gauge.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Conductor, Metal};
    /// let wire = Conductor::gauge(Metal::COPPER, 20).unwrap();
    /// assert!((wire.resistance_ohm_per_m(293.15) - 0.033308).abs() < 1e-6);
    /// ```
    pub fn gauge(metal: Metal, gauge: i32) -> Result<Self, ElectricalError> {
        Self::new(metal, circle_area_m2(gauge_diameter_m(gauge)?), Stranding::SOLID)
    }

    /// A copper conductor of IEC 60228, taken on the safe side: the largest resistance that the class allows, and the
    /// mass of the whole nominal area (a maker may use less metal).
    ///
    /// # Errors
    /// [`ElectricalError::UnknownNominalArea`] for an area that is not in the table.
    pub fn iec_60228(nominal_area_m2: f64, class: ConductorClass) -> Result<Self, ElectricalError> {
        let resistance_20c_ohm_per_m = iec_60228_resistance_ohm_per_m(nominal_area_m2, class)
            .ok_or(ElectricalError::UnknownNominalArea { nominal_area_m2 })?;
        let stranding = match class {
            ConductorClass::Fixed => Stranding::CONCENTRIC,
            ConductorClass::Flexible => Stranding::BUNCHED,
        };
        Ok(Self { resistance_20c_ohm_per_m, ..Self::new(Metal::COPPER, nominal_area_m2, stranding)? })
    }

    /// Resistance at `temp_k`, Ω/m.
    pub fn resistance_ohm_per_m(&self, temp_k: f64) -> f64 {
        self.resistance_20c_ohm_per_m * self.metal.resistance_ratio(temp_k)
    }

    /// Mass, kg/m.
    pub fn mass_kg_per_m(&self) -> f64 {
        self.mass_kg_per_m
    }

    /// Diameter of the circle around the bare metal, m.
    pub fn diameter_m(&self) -> f64 {
        self.diameter_m
    }

    /// Area of metal across, m².
    pub fn area_m2(&self) -> f64 {
        self.area_m2
    }

    /// Force that breaks the soft metal, N. A strand's loss by its lay is left out, so keep a factor.
    pub fn breaking_load_n(&self) -> f64 {
        self.area_m2 * self.metal.breaking_stress_pa
    }

    /// The metal.
    pub fn metal(&self) -> &Metal {
        &self.metal
    }
}

/// Area of a circle, m².
pub(crate) fn circle_area_m2(diameter_m: f64) -> f64 {
    0.25 * PI * diameter_m * diameter_m
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and table entries are exact")]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn val_area_and_breaking_load_of_one_gauge() {
        // ASTM B258: 10 AWG is 5.261 mm².
        let wire = Conductor::gauge(Metal::COPPER, 10).unwrap();
        assert!((wire.area_m2() - 5.261e-6).abs() < 5e-10, "{}", wire.area_m2());
        assert!((wire.breaking_load_n() / wire.area_m2() - wire.metal().breaking_stress_pa).abs() < 1e-3);
    }

    #[test]
    fn gauges_end_where_the_rule_does() {
        assert!(gauge_diameter_m(-3).is_ok() && gauge_diameter_m(50).is_ok());
        assert!(gauge_diameter_m(-4).is_err() && gauge_diameter_m(51).is_err());
        // The two ends that define the rule: 4/0 is 0.46 inch, 36 is 0.005 inch.
        assert!((gauge_diameter_m(-3).unwrap() - 0.46 * 0.0254).abs() < 1e-9);
        assert!((gauge_diameter_m(36).unwrap() - 0.005 * 0.0254).abs() < 1e-12);
    }

    #[test]
    fn gauge_for_area_never_has_less_metal() {
        assert_eq!(gauge_for_area(0.0), None);
        assert_eq!(gauge_for_area(f64::NAN), None);
        assert_eq!(gauge_for_area(1.0), None);
        let exact_m2 = circle_area_m2(gauge_diameter_m(24).unwrap());
        assert_eq!(gauge_for_area(exact_m2), Some(24));
        assert_eq!(gauge_for_area(exact_m2 * (1.0 + 1e-12)), Some(23));
    }

    #[test]
    fn only_areas_of_the_standard_are_known() {
        assert_eq!(iec_60228_resistance_ohm_per_m(0.6e-6, ConductorClass::Fixed), None);
        assert_eq!(iec_60228_resistance_ohm_per_m(f64::NAN, ConductorClass::Fixed), None);
        assert!(matches!(
            Conductor::iec_60228(3e-6, ConductorClass::Flexible),
            Err(ElectricalError::UnknownNominalArea { .. })
        ));
        let wire = Conductor::iec_60228(4e-6, ConductorClass::Flexible).unwrap();
        assert_eq!(wire.resistance_ohm_per_m(REFERENCE_TEMPERATURE_K), 4.95e-3);
        assert!(wire.mass_kg_per_m() > 8890.0 * 4e-6);
    }

    #[test]
    fn each_argument_is_checked() {
        let solid = Stranding::SOLID;
        assert!(Conductor::new(Metal::COPPER, 0.99e-10, solid).is_err());
        assert!(Conductor::new(Metal::COPPER, 1.01e-3, solid).is_err());
        assert!(Conductor::new(Metal::COPPER, 1e-6, Stranding { lay_ratio: 0.99, ..solid }).is_err());
        assert!(Conductor::new(Metal::COPPER, 1e-6, Stranding { fill_ratio: 0.29, ..solid }).is_err());
        for metal in [
            Metal { resistivity_ohm_m: 0.0, ..Metal::COPPER },
            Metal { temperature_coefficient_per_k: -1e-3, ..Metal::COPPER },
            Metal { density_kg_m3: f64::NAN, ..Metal::COPPER },
            Metal { breaking_stress_pa: 0.0, ..Metal::COPPER },
        ] {
            assert!(Conductor::new(metal, 1e-6, solid).is_err(), "{metal:?}");
        }
    }

    proptest! {
        #[test]
        fn prop_resistance_rises_with_temperature_and_falls_with_area(
            area_mm2 in 0.01..10.0f64, temp_k in 220.0..420.0f64, step in 1.01..2.0f64
        ) {
            let thin = Conductor::new(Metal::COPPER, area_mm2 * 1e-6, Stranding::SOLID).unwrap();
            let thick = Conductor::new(Metal::COPPER, step * area_mm2 * 1e-6, Stranding::SOLID).unwrap();
            prop_assert!(thin.resistance_ohm_per_m(temp_k) > thick.resistance_ohm_per_m(temp_k));
            prop_assert!(thin.resistance_ohm_per_m(temp_k + 1.0) > thin.resistance_ohm_per_m(temp_k));
            prop_assert!(thin.mass_kg_per_m() < thick.mass_kg_per_m());
        }
    }
}
