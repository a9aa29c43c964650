//! Power of a whole rotary-wing vehicle over its level speed, in the closed form that planners of communication flights use.

/// Parameters of Y. Zeng, J. Xu and R. Zhang, *Energy minimization for wireless communication with rotary-wing UAV*, IEEE Trans. Wireless
/// Commun. 18(4), 2019, eq. 12: P = P₀(1 + 3V²/U²) + P_i √(√(1 + V⁴/4v₀⁴) − V²/2v₀²) + ½ d₀ ρ s A V³.
///
/// Thrust equals weight at all speeds, so it is too low in strong wind; our own vehicle model tilts the thrust. It stands
/// here for comparison with published planning figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotaryWingCurve {
    /// Blade profile power in hover P₀, W.
    pub profile_w: f64,
    /// Induced power in hover P_i, W.
    pub induced_w: f64,
    /// Blade tip speed, m/s.
    pub tip_speed_m_s: f64,
    /// Mean induced velocity in hover, m/s.
    pub hover_velocity_m_s: f64,
    /// Fuselage drag ratio × density × solidity × disk area, kg/m.
    pub parasite_kg_per_m: f64,
}

impl RotaryWingCurve {
    /// From the quantities of that paper's Table I: weight (N), density (kg/m³), disk area (m²), blade speed (rad/s), radius (m), solidity,
    /// profile drag coefficient, induced increment k, v₀ (m/s; the paper rounds √(W/2ρA) to 4.03) and fuselage drag ratio d₀.
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::power_curve::RotaryWingCurve;
    /// let curve = RotaryWingCurve::from_parameters(20.0, 1.225, 0.503, 300.0, 0.4, 0.05, 0.012, 0.1, 4.03, 0.6);
    /// assert!((curve.profile_w - 79.8563).abs() < 1e-3 && (curve.induced_w - 88.6279).abs() < 1e-3);
    /// assert!((curve.power_w(10.0) - 126.029).abs() < 0.01);
    /// ```
    pub fn from_parameters(
        weight_n: f64,
        density_kg_m3: f64,
        disk_area_m2: f64,
        blade_speed_rad_s: f64,
        radius_m: f64,
        solidity: f64,
        drag_coefficient: f64,
        induced_increment: f64,
        hover_velocity_m_s: f64,
        fuselage_drag_ratio: f64,
    ) -> Self {
        let tip_speed_m_s = blade_speed_rad_s * radius_m;
        let blade = density_kg_m3 * solidity * disk_area_m2;
        Self {
            profile_w: 0.125 * drag_coefficient * blade * tip_speed_m_s.powi(3),
            induced_w: (1.0 + induced_increment)
                * crate::momentum::ideal_hover_power_w(weight_n, disk_area_m2, density_kg_m3),
            tip_speed_m_s,
            hover_velocity_m_s,
            parasite_kg_per_m: fuselage_drag_ratio * blade,
        }
    }

    /// Power at a level speed, W; speed in m/s, 0 or more.
    pub fn power_w(&self, speed_m_s: f64) -> f64 {
        let ratio = speed_m_s / self.hover_velocity_m_s;
        self.profile_w * (1.0 + 3.0 * (speed_m_s / self.tip_speed_m_s).powi(2))
            + self.induced_w * crate::momentum::glauert_ratio(0.0, ratio)
            + 0.5 * self.parasite_kg_per_m * speed_m_s.powi(3)
    }
}
