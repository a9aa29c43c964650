//! Insulation of a wire: wall thickness that a voltage asks for, mass and diameter of the wall.
//!
//! The wall follows from the stress that wire standards really use, not from the dielectric strength of the plastic:
//! standards stay 6 to 19 times below the short-time strength of thick PTFE (about 20 kV/mm), which covers pinholes,
//! abrasion, ageing and water.

use crate::{ElectricalError, conductor::circle_area_m2};
use beamstay_numerics::domain::in_range;

/// Thinnest wall that is used unless the user asks for a thinner one, m (judgement: handling and abrasion).
pub const LEAST_WALL_M: f64 = 0.25e-3;

/// Average wall of appliance wire, UL 758 style 10390, 36 to 12 AWG, m (10 mil) at [`UL_STYLE_10390_VOLTAGE_V`].
pub const UL_STYLE_10390_WALL_M: f64 = 0.254e-3;

/// Rated voltage of UL 758 style 10390, V rms.
pub const UL_STYLE_10390_VOLTAGE_V: f64 = 600.0;

/// Nominal wall of cross-linked polyethylene, IEC 60502-1, 0.6/1 kV, 1.5 to 16 mm², m.
pub const IEC_60502_WALL_M: f64 = 0.7e-3;

/// Highest direct voltage between conductors of a 0.6/1 kV cable to IEC 60502-1, V (draft edition's scope).
pub const IEC_60502_DC_VOLTAGE_V: f64 = 1500.0;

/// Short-time dielectric strength of PTFE thicker than 0.1 mm, V/m (secondary source). For comparison only: walls are
/// not designed from it.
pub const PTFE_SHORT_TIME_STRENGTH_V_PER_M: f64 = 20e6;

/// Voltage above which voids and thin air gaps can discharge at sea level, V peak (Paschen minimum of air, from memory).
/// Less than that is no proof either: "partial discharge to be tested" belongs on every design above it.
pub const PASCHEN_MINIMUM_AIR_V: f64 = 327.0;

/// Peak stress that UL 758 style 10390 implies, V/m: 600·√2 V over 0.254 mm.
pub fn ul_style_10390_stress_v_per_m() -> f64 {
    UL_STYLE_10390_VOLTAGE_V * std::f64::consts::SQRT_2 / UL_STYLE_10390_WALL_M
}

/// Stress that IEC 60502-1 implies on direct voltage, V/m: 1500 V over two walls of 0.7 mm.
pub fn iec_60502_stress_v_per_m() -> f64 {
    IEC_60502_DC_VOLTAGE_V / (2.0 * IEC_60502_WALL_M)
}

/// Insulating plastic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plastic {
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Thermal conductivity, W/(m·K).
    pub thermal_conductivity_w_per_m_k: f64,
    /// Highest continuous temperature, K.
    pub max_temp_k: f64,
}

impl Plastic {
    /// ETFE: 1700 kg/m³, 150 °C (aerospace wire of that class), 0.24 W/(m·K); density and conductivity from memory.
    pub const ETFE: Self =
        Self { density_kg_m3: 1700.0, thermal_conductivity_w_per_m_k: 0.24, max_temp_k: 423.15 };
    /// FEP: 2140 kg/m³, 200 °C, 0.2 W/(m·K); limit and conductivity from memory.
    pub const FEP: Self =
        Self { density_kg_m3: 2140.0, thermal_conductivity_w_per_m_k: 0.2, max_temp_k: 473.15 };
    /// PTFE: 2170 kg/m³, 260 °C, 0.25 W/(m·K); from memory.
    pub const PTFE: Self =
        Self { density_kg_m3: 2170.0, thermal_conductivity_w_per_m_k: 0.25, max_temp_k: 533.15 };
    /// Cross-linked polyethylene: 920 kg/m³, 90 °C, 0.29 W/(m·K); from memory.
    pub const XLPE: Self =
        Self { density_kg_m3: 920.0, thermal_conductivity_w_per_m_k: 0.29, max_temp_k: 363.15 };
}

/// Rule that gives the wall for a voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallRule {
    /// Voltage over wall thickness, V/m; 1e5 to 2e7.
    pub design_stress_v_per_m: f64,
    /// Thinnest wall, m; 0 to 0.01.
    pub least_wall_m: f64,
}

impl Default for WallRule {
    /// The stress of UL 758 style 10390 (3.34 kV/mm), never under 0.25 mm.
    fn default() -> Self {
        Self { design_stress_v_per_m: ul_style_10390_stress_v_per_m(), least_wall_m: LEAST_WALL_M }
    }
}

impl WallRule {
    /// The rule with a stress (V/m, 1e5 to 2e7) and a thinnest wall (m, 0 to 0.01). A thinnest wall under
    /// [`LEAST_WALL_M`] is the user's own risk.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside those ranges.
    pub fn new(design_stress_v_per_m: f64, least_wall_m: f64) -> Result<Self, ElectricalError> {
        in_range("insulation design stress", "V/m", design_stress_v_per_m, 1e5, 2e7)?;
        in_range("thinnest insulation wall", "m", least_wall_m, 0.0, 0.01)?;
        Ok(Self { design_stress_v_per_m, least_wall_m })
    }

    /// Wall on each wire for `voltage_v` between the wires (peak or direct), m: V/E, never under the thinnest.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::WallRule;
    /// assert!((WallRule::default().wall_m(1500.0) - 0.44901e-3).abs() < 1e-8);
    /// assert_eq!(WallRule::default().wall_m(48.0), 0.25e-3);
    /// ```
    pub fn wall_m(&self, voltage_v: f64) -> f64 {
        (voltage_v / self.design_stress_v_per_m).max(self.least_wall_m)
    }

    /// Voltage up to which the thinnest wall holds, V.
    pub fn least_wall_voltage_v(&self) -> f64 {
        self.design_stress_v_per_m * self.least_wall_m
    }
}

/// Wall around a round conductor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// The plastic.
    pub plastic: Plastic,
    /// Thickness, m.
    pub thickness_m: f64,
}

impl Wall {
    /// A wall of `thickness_m` (m, 0 to 0.01).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for the thickness or a number of the plastic (density 100 to 5000 kg/m³,
    /// conductivity 0.01 to 10 W/(m·K), temperature 273.15 to 700 K).
    pub fn new(plastic: Plastic, thickness_m: f64) -> Result<Self, ElectricalError> {
        in_range("insulation wall", "m", thickness_m, 0.0, 0.01)?;
        in_range("insulation density", "kg/m3", plastic.density_kg_m3, 100.0, 5000.0)?;
        in_range(
            "insulation thermal conductivity",
            "W/(m*K)",
            plastic.thermal_conductivity_w_per_m_k,
            0.01,
            10.0,
        )?;
        in_range("insulation temperature limit", "K", plastic.max_temp_k, 273.15, 700.0)?;
        Ok(Self { plastic, thickness_m })
    }

    /// Diameter over the wall, m, on a conductor of `conductor_diameter_m`.
    pub fn outer_diameter_m(&self, conductor_diameter_m: f64) -> f64 {
        conductor_diameter_m + 2.0 * self.thickness_m
    }

    /// Mass of the wall, kg/m: ρ·π(t·d + t²).
    pub fn mass_kg_per_m(&self, conductor_diameter_m: f64) -> f64 {
        let outer_m2 = circle_area_m2(self.outer_diameter_m(conductor_diameter_m));
        self.plastic.density_kg_m3 * (outer_m2 - circle_area_m2(conductor_diameter_m))
    }

    /// Temperature drop through the wall per heat per metre, K·m/W: ln(D/d)/(2πk) (Fourier, round wall).
    pub fn thermal_resistance_k_m_per_w(&self, conductor_diameter_m: f64) -> f64 {
        let ratio = self.outer_diameter_m(conductor_diameter_m) / conductor_diameter_m;
        ratio.ln() / (2.0 * std::f64::consts::PI * self.plastic.thermal_conductivity_w_per_m_k)
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits are exact")]
mod tests {
    use super::*;

    #[test]
    fn the_thinnest_wall_holds_up_to_its_voltage() {
        let rule = WallRule::default();
        let voltage_v = rule.least_wall_voltage_v();
        assert_eq!(rule.wall_m(voltage_v), LEAST_WALL_M);
        assert!(rule.wall_m(voltage_v * 1.001) > LEAST_WALL_M);
        assert_eq!(rule.wall_m(voltage_v * 0.5), LEAST_WALL_M);
    }

    #[test]
    fn each_argument_is_checked() {
        assert!(WallRule::new(0.99e5, 0.0).is_err() && WallRule::new(1e5, 0.0).is_ok());
        assert!(WallRule::new(1e6, -1e-9).is_err() && WallRule::new(1e6, f64::NAN).is_err());
        assert!(Wall::new(Plastic::ETFE, 0.0101).is_err() && Wall::new(Plastic::ETFE, 0.0).is_ok());
        for plastic in [
            Plastic { density_kg_m3: 99.0, ..Plastic::ETFE },
            Plastic { thermal_conductivity_w_per_m_k: 0.0, ..Plastic::ETFE },
            Plastic { max_temp_k: 701.0, ..Plastic::ETFE },
        ] {
            assert!(Wall::new(plastic, 1e-4).is_err(), "{plastic:?}");
        }
    }

    #[test]
    fn wall_mass_is_the_ring() {
        let wall = Wall::new(Plastic::ETFE, 0.25e-3).unwrap();
        let ring_m2 = std::f64::consts::PI * (0.25e-3 * 0.8e-3 + 0.25e-3 * 0.25e-3);
        assert!((wall.mass_kg_per_m(0.8e-3) - 1700.0 * ring_m2).abs() < 1e-12);
        assert!((wall.outer_diameter_m(0.8e-3) - 1.3e-3).abs() < 1e-15);
        assert_eq!(Wall::new(Plastic::ETFE, 0.0).unwrap().thermal_resistance_k_m_per_w(1e-3), 0.0);
    }
}
