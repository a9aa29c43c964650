//! Thrust and power coefficients in the two conventions of the trade, and the bridge between them.
//!
//! Helicopter: CT = T/(ρA(ΩR)²), CP = CQ = P/(ρA(ΩR)³). Propeller: CT = T/(ρn²D⁴), CP = P/(ρn³D⁵), n in revolutions per
//! second; these are definitions (both conventions: Leishman, *Principles of Helicopter Aerodynamics*, 2nd ed., ch. 2). The figure of merit is
//! the same number in both.

use std::f64::consts::{PI, SQRT_2};

/// CT_helicopter ÷ CT_propeller = 4/π³.
pub const THRUST_BRIDGE: f64 = 4.0 / (PI * PI * PI);
/// CP_helicopter ÷ CP_propeller = 4/π⁴.
pub const POWER_BRIDGE: f64 = 4.0 / (PI * PI * PI * PI);

/// Coefficients in the propeller convention.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PropellerCoefficients {
    /// T/(ρn²D⁴).
    pub thrust: f64,
    /// P/(ρn³D⁵).
    pub power: f64,
}

/// Coefficients in the helicopter convention.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HelicopterCoefficients {
    /// T/(ρA(ΩR)²).
    pub thrust: f64,
    /// P/(ρA(ΩR)³), the same number as the torque coefficient Q/(ρAR(ΩR)²).
    pub power: f64,
}

impl PropellerCoefficients {
    /// Of a measurement: thrust (N), shaft power (W), speed (rad/s), diameter (m), density (kg/m³).
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::coefficients::PropellerCoefficients;
    /// // 10 x 4.7 at 5147 rpm (UIUC Propeller Database).
    /// let speed = 5147.0 * std::f64::consts::PI / 30.0;
    /// let c = PropellerCoefficients::measured(4.6414, 40.877, speed, 0.254, 1.225);
    /// assert!((c.thrust - 0.1237).abs() < 1e-5 && (c.power - 0.0500).abs() < 1e-5);
    /// ```
    pub fn measured(
        thrust_n: f64,
        shaft_w: f64,
        speed_rad_s: f64,
        diameter_m: f64,
        density_kg_m3: f64,
    ) -> Self {
        let n = speed_rad_s / (2.0 * PI);
        let scale = density_kg_m3 * n * n * diameter_m.powi(4);
        Self { thrust: thrust_n / scale, power: shaft_w / (scale * n * diameter_m) }
    }

    /// Thrust, N, at a speed (rad/s), diameter (m) and density (kg/m³).
    pub fn thrust_n(&self, speed_rad_s: f64, diameter_m: f64, density_kg_m3: f64) -> f64 {
        let n = speed_rad_s / (2.0 * PI);
        self.thrust * density_kg_m3 * n * n * diameter_m.powi(4)
    }

    /// Shaft power, W, at a speed (rad/s), diameter (m) and density (kg/m³).
    pub fn shaft_w(&self, speed_rad_s: f64, diameter_m: f64, density_kg_m3: f64) -> f64 {
        let n = speed_rad_s / (2.0 * PI);
        self.power * density_kg_m3 * n.powi(3) * diameter_m.powi(5)
    }

    /// Figure of merit CT^1.5 √(2/π)/CP; NaN-free for CP > 0.
    pub fn figure_of_merit(&self) -> f64 {
        self.thrust.max(0.0).powf(1.5) * (2.0 / PI).sqrt() / self.power
    }

    /// Torque coefficient Q/(ρn²D⁵) = CP/(2π).
    pub fn torque(&self) -> f64 {
        self.power / (2.0 * PI)
    }

    /// In the helicopter convention.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::coefficients::PropellerCoefficients;
    /// let propeller = PropellerCoefficients { thrust: 0.1237, power: 0.0500 };
    /// let helicopter = propeller.to_helicopter();
    /// assert!((helicopter.thrust - 0.015_958_1).abs() < 1e-7);
    /// assert!((helicopter.figure_of_merit() - propeller.figure_of_merit()).abs() < 1e-12);
    /// ```
    pub fn to_helicopter(self) -> HelicopterCoefficients {
        HelicopterCoefficients { thrust: THRUST_BRIDGE * self.thrust, power: POWER_BRIDGE * self.power }
    }
}

impl HelicopterCoefficients {
    /// Figure of merit CT^1.5/(√2 CP), CP > 0.
    pub fn figure_of_merit(&self) -> f64 {
        self.thrust.max(0.0).powf(1.5) / (SQRT_2 * self.power)
    }

    /// In the propeller convention.
    pub fn to_propeller(self) -> PropellerCoefficients {
        PropellerCoefficients { thrust: self.thrust / THRUST_BRIDGE, power: self.power / POWER_BRIDGE }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn prop_the_figure_of_merit_is_the_same_in_both_conventions(
            thrust in 1e-4..1.0f64, power in 1e-5..1.0f64,
        ) {
            let propeller = PropellerCoefficients { thrust, power };
            let helicopter = propeller.to_helicopter();
            prop_assert!((helicopter.figure_of_merit() / propeller.figure_of_merit() - 1.0).abs() < 1e-12);
            let back = helicopter.to_propeller();
            prop_assert!((back.thrust / thrust - 1.0).abs() < 1e-14 && (back.power / power - 1.0).abs() < 1e-14);
        }
    }

    #[test]
    fn thrust_and_power_come_back_from_their_coefficients() {
        let found = PropellerCoefficients::measured(7.0, 90.0, 600.0, 0.3, 1.2);
        assert!((found.thrust_n(600.0, 0.3, 1.2) / 7.0 - 1.0).abs() < 1e-12);
        assert!((found.shaft_w(600.0, 0.3, 1.2) / 90.0 - 1.0).abs() < 1e-12);
    }
}
