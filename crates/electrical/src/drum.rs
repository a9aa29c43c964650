//! Wire that is still on the drum: it carries the whole current, makes its full heat and is cooled worst.

use crate::ElectricalError;
use beamstay_numerics::domain::in_range;
use std::f64::consts::PI;

/// Published table of current reduction for wire wound on a drum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum DeratingTable {
    /// Cylindrical drum, IEC 60204-1 (from memory): 0.85, 0.65, 0.45, 0.35 for 1 to 4 layers. The stricter one from the
    /// third layer on.
    #[default]
    Iec60204,
    /// DIN VDE 0298-4 (from memory): 0.80, 0.61, 0.49, 0.42, 0.38 for 1 to 5 layers.
    Vde0298,
}

impl DeratingTable {
    /// Allowed current on the drum over allowed current in free air, for wire wound in `layers_count` layers; 1 for none.
    /// `None` for more layers than the table holds: there is no published factor, so ask for a heat-flow estimate
    /// ([`Winding`]) or forced cooling.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::DeratingTable;
    /// assert_eq!(DeratingTable::Iec60204.factor_ratio(2), Some(0.65));
    /// assert_eq!(DeratingTable::Iec60204.factor_ratio(5), None);
    /// ```
    pub fn factor_ratio(self, layers_count: u32) -> Option<f64> {
        let factors: &[f64] = match self {
            Self::Iec60204 => &[1.0, 0.85, 0.65, 0.45, 0.35],
            Self::Vde0298 => &[1.0, 0.80, 0.61, 0.49, 0.42, 0.38],
        };
        factors.get(usize::try_from(layers_count).ok()?).copied()
    }
}

/// The smaller of both published factors, `None` where neither table reaches; 0.38 for the fifth layer stands only in one
/// of them, which then exceeds the fourth of the other and is left out.
///
/// # Examples
/// ```
/// use beamstay_electrical::drum::strictest_factor_ratio;
/// assert_eq!(strictest_factor_ratio(1), Some(0.80));
/// assert_eq!(strictest_factor_ratio(4), Some(0.35));
/// assert_eq!(strictest_factor_ratio(5), None);
/// ```
pub fn strictest_factor_ratio(layers_count: u32) -> Option<f64> {
    let iec = DeratingTable::Iec60204.factor_ratio(layers_count)?;
    Some(DeratingTable::Vde0298.factor_ratio(layers_count)?.min(iec))
}

/// A wound drum as a ring that makes heat evenly, is insulated inside (core and cheeks) and cooled on its outer face: a
/// heat-flow estimate for windings deeper than the tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Winding {
    /// Radius of the core, m; 0.005 to 5.
    pub core_radius_m: f64,
    /// Radius over the last layer, m; from the core's to 5.
    pub outer_radius_m: f64,
    /// Width between the cheeks, m; 0.005 to 10.
    pub width_m: f64,
    /// Conductivity of wire and air gaps across the winding, W/(m·K); 0.02 to 10.
    pub conductivity_w_per_m_k: f64,
    /// Heat given by the outer face per area and kelvin, W/(m²·K); 1 to 1000.
    pub surface_coefficient_w_per_m2_k: f64,
}

impl Winding {
    /// A winding in still air: 0.15 W/(m·K) across (plastic-covered wire with air gaps) and 8 W/(m²·K) from the face (free
    /// convection and radiation); common practice, no source.
    ///
    /// # Errors
    /// As [`Winding::check`].
    pub fn in_still_air(
        core_radius_m: f64,
        outer_radius_m: f64,
        width_m: f64,
    ) -> Result<Self, ElectricalError> {
        Self {
            core_radius_m,
            outer_radius_m,
            width_m,
            conductivity_w_per_m_k: 0.15,
            surface_coefficient_w_per_m2_k: 8.0,
        }
        .check()
    }

    /// Returns the winding if every number is inside the range given at its field.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] otherwise.
    pub fn check(self) -> Result<Self, ElectricalError> {
        in_range("drum core radius", "m", self.core_radius_m, 0.005, 5.0)?;
        in_range("winding outer radius", "m", self.outer_radius_m, self.core_radius_m, 5.0)?;
        in_range("drum width", "m", self.width_m, 0.005, 10.0)?;
        in_range("winding conductivity", "W/(m*K)", self.conductivity_w_per_m_k, 0.02, 10.0)?;
        in_range("drum surface coefficient", "W/(m2*K)", self.surface_coefficient_w_per_m2_k, 1.0, 1000.0)?;
        Ok(self)
    }

    /// Rise of the hottest wire (at the core) over the air per watt in the whole winding, K/W: face
    /// `1/(h·2πr_o·b)` plus the ring with even heat and a closed inner face,
    /// `[1 − 2r_i²·ln(r_o/r_i)/(r_o² − r_i²)]/(4πkb)` (steady conduction in a cylinder with an even source, closed form: Incropera and others, ch. 3).
    ///
    /// # Examples
    /// ```
    /// let winding = beamstay_electrical::Winding::in_still_air(0.1, 0.1, 0.2).unwrap();
    /// // A single layer has no depth: only the face counts.
    /// assert!((winding.rise_k_per_w() - 1.0 / (8.0 * 0.04 * std::f64::consts::PI)).abs() < 1e-12);
    /// ```
    pub fn rise_k_per_w(&self) -> f64 {
        let (inner, outer) = (self.core_radius_m, self.outer_radius_m);
        let face = 1.0 / (self.surface_coefficient_w_per_m2_k * 2.0 * PI * outer * self.width_m);
        let depth = (outer - inner) / inner;
        // ln(r_o/r_i)/((r_o/r_i)² − 1) tends to 1/2 for a thin winding; the difference would be lost to rounding there.
        let shape = if depth < 1e-5 { depth } else { 1.0 - 2.0 * depth.ln_1p() / (depth * (2.0 + depth)) };
        face + shape / (4.0 * PI * self.conductivity_w_per_m_k * self.width_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn each_argument_is_checked() {
        let good = Winding::in_still_air(0.1, 0.15, 0.2).unwrap();
        for wrong in [
            Winding { core_radius_m: 0.0, ..good },
            Winding { outer_radius_m: 0.0999, ..good },
            Winding { width_m: f64::NAN, ..good },
            Winding { conductivity_w_per_m_k: 0.019, ..good },
            Winding { surface_coefficient_w_per_m2_k: 0.9, ..good },
        ] {
            assert!(wrong.check().is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn beyond_the_tables_there_is_no_factor() {
        assert_eq!(DeratingTable::Vde0298.factor_ratio(5), Some(0.38));
        assert_eq!(DeratingTable::Vde0298.factor_ratio(6), None);
        assert_eq!(DeratingTable::Iec60204.factor_ratio(u32::MAX), None);
    }

    #[test]
    fn thin_winding_tends_to_the_flat_wall() {
        // Flat wall with even heat and one cooled face: rise t/(2kA) per watt.
        let winding = Winding::in_still_air(0.2, 0.2 * (1.0 + 1e-3), 0.3).unwrap();
        let thickness_m = winding.outer_radius_m - winding.core_radius_m;
        let area_m2 = 2.0 * PI * 0.2 * 0.3;
        let flat = thickness_m / (2.0 * 0.15 * area_m2) + 1.0 / (8.0 * area_m2);
        assert!((winding.rise_k_per_w() / flat - 1.0).abs() < 1.1e-3);
    }

    proptest! {
        #[test]
        fn prop_deeper_winding_is_hotter_at_equal_face(inner in 0.01..1.0f64, depth in 0.0..2.0f64, step in 1e-9..0.5f64) {
            let ring = |depth: f64| {
                let outer_radius_m = inner * (1.0 + depth);
                let winding = Winding::in_still_air(inner, outer_radius_m, 0.2).unwrap();
                winding.rise_k_per_w() - 1.0 / (8.0 * 2.0 * PI * outer_radius_m * 0.2)
            };
            prop_assert!(ring(depth + step) >= ring(depth) - 1e-9 && ring(depth) >= -1e-9);
        }
    }
}
