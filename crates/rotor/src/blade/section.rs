//! The blade section: angle of attack, Reynolds and Mach number in, lift and drag coefficient out.

use std::f64::consts::FRAC_PI_2;

use beamstay_numerics::domain::in_range;

use crate::error::RotorError;

/// Reynolds number at which lift loss and least drag are stated.
pub const REFERENCE_REYNOLDS: f64 = 1e5;
/// Smallest share of the lift that the loss with Reynolds number leaves (our choice, keeps the slope positive).
const LEAST_LIFT_SHARE: f64 = 0.3;
/// Lift over the largest lift at which the section begins to turn into a flat plate, and the width of the change.
const SEPARATION_START: f64 = 1.2;
const SEPARATION_WIDTH: f64 = 1.5;
/// Flat plate at angle α: C_l = 1.1 sin 2α, C_d = 1.8 sin² α (S. F. Hoerner, *Fluid-Dynamic Drag*, 1965, ch. 3 gives C_d near 2 at 90° for
/// a two-dimensional plate and 1.2 for a short one; the value between them is from memory).
const PLATE_LIFT: f64 = 1.1;
const PLATE_DRAG: f64 = 1.8;
/// Mach number above which the Prandtl-Glauert factor is held, and above which wave drag 20 (M − M_d)⁴ is added (Lock's law,
/// from memory).
const COMPRESSIBLE_END: f64 = 0.75;
const DRAG_DIVERGENCE: f64 = 0.72;

/// Polar of a blade section.
///
/// Attached flow: `lin = slope · (α − α₀) / √(1 − M²)`, rounded off at the largest lift as `lin / (1 + |lin/C_max|⁴)^¼`; of that a low
/// Reynolds number leaves the share `1 − loss · √(10⁵/Re)`, so that stall keeps its angle; drag
/// `C_d0 (10⁵/Re)^n + k (C_l − C_l0)²`, plus `stall_drag · (|lin/C_max| − onset)²` near stall. Beyond 1.2 times the largest lift the section changes smoothly into a flat plate. Rotation delays stall
/// inboard: `rotation · (c/r)²` of the lift that stall took is given back (H. Snel et al., *Sectional prediction of 3D effects for
/// stalled flow on rotating blades*, 1993: 3 (c/r)²).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Lift slope, 1/rad, at high Reynolds number and low Mach number, 1 to 8.
    pub lift_slope_per_rad: f64,
    /// Share of the lift lost at Re 10⁵, growing as 1/√Re, 0 to 0.5.
    pub lift_loss_ratio: f64,
    /// Angle of attack without lift, rad, −0.3 to 0.3.
    pub zero_lift_rad: f64,
    /// Largest lift coefficient, upright, 0.3 to 20 (20: no stall).
    pub max_lift_coefficient: f64,
    /// Largest lift coefficient, inverted, as a positive number, 0.2 to 20.
    pub max_inverted_lift_coefficient: f64,
    /// Least drag coefficient at Re 10⁵, 0.001 to 0.2.
    pub least_drag_coefficient: f64,
    /// Exponent n of the growth of the least drag with falling Reynolds number, 0 to 1.
    pub drag_exponent: f64,
    /// Growth k of drag with lift away from [`Self::least_drag_lift`], 0 to 1.
    pub lift_drag_factor: f64,
    /// Lift coefficient with the least drag, −1 to 1.
    pub least_drag_lift: f64,
    /// Drag rise near stall, 0 to 10.
    pub stall_drag_factor: f64,
    /// Lift over the largest lift at which that rise begins, 0.3 to 1.5.
    pub stall_onset_ratio: f64,
    /// Strength of the stall delay by rotation, 0 (none) to 5; 3 by Snel.
    pub rotation_factor: f64,
}

impl Section {
    /// Thin cambered section of a small propeller at Reynolds numbers of 15,000 to 150,000.
    ///
    /// Zero-lift angle, lift loss, largest lift, drag and its rise at stall are FITTED to the four propellers with geometry of the
    /// UIUC Propeller Database (Brandt, Deters, Ananda, Dantsker, Selig) together: static thrust and power above 3,000 rpm with
    /// weight 1, below with 0.4, advance-ratio sweeps with 0.3. The zero-lift angle of −8° is thus effective: it holds camber, the
    /// twist of flexible blades under load and the offset of the reference line of the measured pitch; the least drag holds the
    /// drag of laminar bubbles. Slope 2π (thin airfoil), rotation factor 3 (Snel) and drag exponent 1/5 (turbulent plate) were held.
    /// Use it for thrust and power of hovering propellers; at advance ratios above 0.2 it gives blades with little camber too much
    /// thrust and power (see the model page).
    pub const SMALL_PROPELLER: Self = Self {
        lift_slope_per_rad: std::f64::consts::TAU,
        lift_loss_ratio: 0.18,
        zero_lift_rad: -0.139,
        max_lift_coefficient: 1.70,
        max_inverted_lift_coefficient: 0.8,
        least_drag_coefficient: 0.0295,
        drag_exponent: 0.2,
        lift_drag_factor: 0.0,
        least_drag_lift: 0.0,
        stall_drag_factor: 0.86,
        stall_onset_ratio: 0.9,
        rotation_factor: 3.0,
    };

    /// A symmetric section with a parabolic drag law and no stall, as the classical rotor reports state it:
    /// C_l = a α, C_d = δ₀ + δ₂ α².
    ///
    /// # Examples
    /// ```
    /// use beamstay_rotor::blade::Section;
    /// // NACA 0015 of NACA TN-626.
    /// let (lift, drag) = Section::symmetric(5.75, 0.0113, 1.25).coefficients(0.1, 2.7e5, 0.0, 0.0);
    /// assert!((lift - 0.575).abs() < 1e-4 && (drag - 0.0238).abs() < 1e-5);
    /// ```
    pub fn symmetric(slope_per_rad: f64, drag_constant: f64, drag_per_rad2: f64) -> Self {
        Self {
            lift_slope_per_rad: slope_per_rad,
            lift_loss_ratio: 0.0,
            zero_lift_rad: 0.0,
            max_lift_coefficient: 20.0,
            max_inverted_lift_coefficient: 20.0,
            least_drag_coefficient: drag_constant,
            drag_exponent: 0.0,
            lift_drag_factor: drag_per_rad2 / (slope_per_rad * slope_per_rad),
            least_drag_lift: 0.0,
            stall_drag_factor: 0.0,
            stall_onset_ratio: 1.0,
            rotation_factor: 0.0,
        }
    }

    /// Checks every number against its range.
    ///
    /// # Errors
    /// [`RotorError::OutOfRange`].
    pub fn check(&self) -> Result<(), RotorError> {
        in_range("lift slope", "1/rad", self.lift_slope_per_rad, 1.0, 8.0)?;
        in_range("lift loss", "", self.lift_loss_ratio, 0.0, 0.5)?;
        in_range("zero-lift angle", "rad", self.zero_lift_rad, -0.3, 0.3)?;
        in_range("largest lift coefficient", "", self.max_lift_coefficient, 0.3, 20.0)?;
        in_range("largest inverted lift coefficient", "", self.max_inverted_lift_coefficient, 0.2, 20.0)?;
        in_range("least drag coefficient", "", self.least_drag_coefficient, 1e-3, 0.2)?;
        in_range("drag exponent", "", self.drag_exponent, 0.0, 1.0)?;
        in_range("lift drag factor", "", self.lift_drag_factor, 0.0, 1.0)?;
        in_range("lift of least drag", "", self.least_drag_lift, -1.0, 1.0)?;
        in_range("stall drag factor", "", self.stall_drag_factor, 0.0, 10.0)?;
        in_range("stall onset", "", self.stall_onset_ratio, 0.3, 1.5)?;
        in_range("stall delay by rotation", "", self.rotation_factor, 0.0, 5.0)?;
        Ok(())
    }

    /// Lift and drag coefficient at an angle of attack (rad, −π to π), Reynolds number, Mach number, and chord over radius of the
    /// place on the blade (0 for a section that does not rotate).
    pub fn coefficients(
        &self,
        attack_rad: f64,
        reynolds: f64,
        mach: f64,
        chord_over_radius: f64,
    ) -> (f64, f64) {
        let share = self.rotation_share(chord_over_radius);
        self.condition(self.reynolds_factor(reynolds), reynolds, mach).coefficients(self, attack_rad, share)
    }

    /// (10⁵/Re)^n.
    pub(crate) fn reynolds_factor(&self, reynolds: f64) -> f64 {
        if self.drag_exponent > 0.0 {
            (REFERENCE_REYNOLDS / reynolds.max(1.0)).powf(self.drag_exponent)
        } else {
            1.0
        }
    }

    /// Share of the lift lost by stall that rotation gives back.
    pub(crate) fn rotation_share(&self, chord_over_radius: f64) -> f64 {
        (self.rotation_factor * chord_over_radius * chord_over_radius).min(1.0)
    }

    /// What stays the same while the angle of attack is sought.
    pub(crate) fn condition(&self, drag_growth: f64, reynolds: f64, mach: f64) -> Condition {
        let loss = self.lift_loss_ratio * (REFERENCE_REYNOLDS / reynolds.max(1.0)).sqrt();
        let held = mach.min(COMPRESSIBLE_END);
        let wave = (mach - DRAG_DIVERGENCE).clamp(0.0, 0.5).powi(4) * 20.0;
        Condition {
            slope_per_rad: self.lift_slope_per_rad / (1.0 - held * held).sqrt(),
            lift_share: (1.0 - loss).max(LEAST_LIFT_SHARE),
            least_drag: self.least_drag_coefficient * drag_growth + wave,
        }
    }
}

/// Reynolds and Mach number, digested.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Condition {
    slope_per_rad: f64,
    lift_share: f64,
    least_drag: f64,
}

impl Condition {
    /// Lift and drag coefficient.
    pub(crate) fn coefficients(&self, section: &Section, attack_rad: f64, rotation_share: f64) -> (f64, f64) {
        let linear = self.slope_per_rad * (attack_rad - section.zero_lift_rad);
        let largest =
            if linear > 0.0 { section.max_lift_coefficient } else { section.max_inverted_lift_coefficient };
        let load = (linear / largest).abs();
        let load_squared = load * load;
        let attached = self.lift_share * linear / (1.0 + load_squared * load_squared).sqrt().sqrt();
        let from_least = attached - section.least_drag_lift;
        let mut drag = self.least_drag + section.lift_drag_factor * from_least * from_least;
        let rise = (load - section.stall_onset_ratio).clamp(0.0, 1.0);
        drag += section.stall_drag_factor * rise * rise;
        let mut lift = attached;
        if load > SEPARATION_START {
            let t = ((load - SEPARATION_START) / SEPARATION_WIDTH).min(1.0);
            let plate = t * t * (3.0 - 2.0 * t);
            let (sin, cos) = attack_rad.sin_cos();
            lift += plate * (2.0 * PLATE_LIFT * sin * cos - attached);
            drag += plate * ((PLATE_DRAG * sin * sin).max(self.least_drag) - drag);
        }
        if linear > 0.0 {
            let upright = ((FRAC_PI_2 - attack_rad.abs()) / (0.5 * FRAC_PI_2)).clamp(0.0, 1.0);
            lift += rotation_share * upright * (self.lift_share * linear - lift);
        }
        (lift, drag)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lift_is_continuous_and_drag_positive_over_the_whole_circle() {
        for (reynolds, mach) in [(2e4, 0.0), (1e5, 0.3), (1e6, 0.7)] {
            let at = |degrees: f64| {
                Section::SMALL_PROPELLER.coefficients(degrees.to_radians(), reynolds, mach, 0.3)
            };
            for i in -1800..1800 {
                let (here, next) = (at(f64::from(i) * 0.1), at(f64::from(i + 1) * 0.1));
                assert!((here.0 - next.0).abs() < 0.03, "lift jumps at {i}: {here:?} {next:?}");
                assert!((here.1 - next.1).abs() < 0.03 && here.1 > 0.0, "drag at {i}: {here:?} {next:?}");
            }
        }
    }

    #[test]
    fn zero_lift_is_at_the_zero_lift_angle() {
        let section = Section::SMALL_PROPELLER;
        assert!(section.coefficients(section.zero_lift_rad, 1e5, 0.2, 0.2).0.abs() < 1e-12);
    }

    #[test]
    fn drag_falls_and_lift_rises_with_reynolds_number() {
        let at = |reynolds: f64| Section::SMALL_PROPELLER.coefficients(0.02, reynolds, 0.0, 0.0);
        assert!(at(3e4).1 > at(6e4).1 && at(6e4).1 > at(1e5).1);
        assert!(at(3e4).0 < at(6e4).0 && at(6e4).0 < at(1e5).0);
    }

    #[test]
    fn compressible_slope_is_prandtl_glauert() {
        let section = Section::symmetric(5.7, 0.01, 0.0);
        let ratio = section.coefficients(0.01, 1e6, 0.6, 0.0).0 / section.coefficients(0.01, 1e6, 0.0, 0.0).0;
        assert!((ratio - 1.25).abs() < 1e-6, "{ratio}");
    }

    #[test]
    fn each_number_is_checked() {
        let good = Section::SMALL_PROPELLER;
        assert!(good.check().is_ok());
        let bad = [
            Section { lift_slope_per_rad: 0.9, ..good },
            Section { lift_loss_ratio: 0.51, ..good },
            Section { zero_lift_rad: f64::NAN, ..good },
            Section { max_lift_coefficient: 0.2, ..good },
            Section { max_inverted_lift_coefficient: 21.0, ..good },
            Section { least_drag_coefficient: 0.0, ..good },
            Section { drag_exponent: -0.1, ..good },
            Section { lift_drag_factor: 1.1, ..good },
            Section { least_drag_lift: 2.0, ..good },
            Section { stall_drag_factor: -1.0, ..good },
            Section { stall_onset_ratio: 0.2, ..good },
            Section { rotation_factor: 6.0, ..good },
        ];
        for section in bad {
            assert!(section.check().is_err(), "{section:?}");
        }
    }
}
