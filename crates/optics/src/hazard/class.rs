//! Accessible emission limits and the class of a continuous laser.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use super::exposure_limit::{
    Basis, Edition, Exposure, Rules, Status, anterior_limit, c4, c7, nanometres, skin_limit,
};
use crate::OpticsError;

/// Time base for classification of invisible light that nobody is meant to look into, s.
const TIME_BASE_S: f64 = 100.0;
/// Upper limit of class 3B, W.
const CLASS_3B_W: f64 = 0.5;

/// Laser class after IEC 60825-1. Classes 1M, 1C, 2 and 2M are not told apart: this planner has no use for a system that
/// is safe only without optics, and class 2 is for visible light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum LaserClass {
    /// Safe.
    One,
    /// Direct viewing may harm.
    ThreeR,
    /// Direct viewing harms the eye.
    ThreeB,
    /// Direct and diffusely reflected light harms eye and skin, and sets fire.
    Four,
}

/// Largest accessible power of each class.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct EmissionLimits {
    /// Class 1, W.
    pub class_1_w: f64,
    /// Class 3R, W.
    pub class_3r_w: f64,
    /// Class 3B, W; above it class 4.
    pub class_3b_w: f64,
    /// What they rest on: the aperture through which accessible power is measured, time base 100 s.
    pub basis: Basis,
}

impl EmissionLimits {
    /// Limits for continuous light from a point source (IEC 60825-1 tables 3, 6, 8): class 1 0.39 C4 C7 mW, class 3R 2 C4
    /// C7 mW below 1400 nm, 10 and 50 mW above; class 3B 0.5 W. From 1200 to 1400 nm the 2014 rules are capped by the
    /// cornea and skin limits over a 3.5 mm aperture.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside 700 to 1800 nm.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{Edition, EmissionLimits, LaserClass};
    /// let limits = EmissionLimits::new(850e-9, Edition::MoreRestrictive).unwrap();
    /// assert!((limits.class_1_w - 0.778152e-3).abs() < 1e-9);
    /// assert_eq!(limits.class_of(200.0).unwrap(), LaserClass::Four);
    /// ```
    pub fn new(wavelength_m: f64, edition: Edition) -> Result<Self, OpticsError> {
        Exposure::new(wavelength_m, TIME_BASE_S)?;
        let nm = nanometres(wavelength_m);
        Ok(match edition {
            Edition::Iec2014 => Self::by(Rules::Iec2014, nm),
            Edition::Iec2007 => Self::by(Rules::Iec2007, nm),
            Edition::MoreRestrictive => {
                let (newer, older) = (Self::by(Rules::Iec2014, nm), Self::by(Rules::Iec2007, nm));
                if older.class_1_w < newer.class_1_w { older } else { newer }
            }
        })
    }

    fn by(rules: Rules, nm: f64) -> Self {
        let basis = |aperture_mm, status| Basis {
            edition: rules.edition(),
            time_base_s: TIME_BASE_S,
            aperture_mm,
            status,
        };
        if nm >= 1400.0 {
            let basis = basis(3.5, Status::FromMemory);
            return Self { class_1_w: 0.010, class_3r_w: 0.050, class_3b_w: CLASS_3B_W, basis };
        }
        let unit_w = 1e-3 * c4(nm) * c7(rules, nm);
        let retinal = Self {
            class_1_w: 0.39 * unit_w,
            class_3r_w: (2.0 * unit_w).min(CLASS_3B_W),
            class_3b_w: CLASS_3B_W,
            basis: basis(7.0, Status::Seen),
        };
        let cap_w = anterior_cap_w(nm);
        if rules == Rules::Iec2007 || nm < 1200.0 || retinal.class_1_w <= cap_w {
            return retinal;
        }
        let class_3r_w = retinal.class_3r_w.min(5.0 * cap_w);
        Self { class_1_w: cap_w, class_3r_w, basis: basis(3.5, Status::Assumed), ..retinal }
    }

    /// Class of a product whose accessible power is `accessible_power_w` (0 to 10 MW). The whole power of the laser is the
    /// safe reading: what passes the measuring aperture of the standard is never more.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn class_of(&self, accessible_power_w: f64) -> Result<LaserClass, OpticsError> {
        in_range("accessible power", "W", accessible_power_w, 0.0, 1e7)?;
        Ok(if accessible_power_w <= self.class_1_w {
            LaserClass::One
        } else if accessible_power_w <= self.class_3r_w {
            LaserClass::ThreeR
        } else if accessible_power_w <= self.class_3b_w {
            LaserClass::ThreeB
        } else {
            LaserClass::Four
        })
    }
}

/// Power through 3.5 mm at the cornea or skin limit, whichever is lower, W.
fn anterior_cap_w(nm: f64) -> f64 {
    let cornea = anterior_limit(nm, TIME_BASE_S).irradiance_w_m2;
    let skin = skin_limit(Rules::Iec2014, nm, TIME_BASE_S).irradiance_w_m2;
    cornea.min(skin) * PI * 3.5e-3_f64.powi(2) / 4.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn limits_belong_to_their_class() {
        let limits = EmissionLimits::new(1550e-9, Edition::MoreRestrictive).unwrap();
        assert_eq!(limits.class_of(0.0).unwrap(), LaserClass::One);
        assert_eq!(limits.class_of(0.010).unwrap(), LaserClass::One);
        assert_eq!(limits.class_of(0.0101).unwrap(), LaserClass::ThreeR);
        assert_eq!(limits.class_of(0.0501).unwrap(), LaserClass::ThreeB);
        assert_eq!(limits.class_of(0.5).unwrap(), LaserClass::ThreeB);
        assert_eq!(limits.class_of(0.5001).unwrap(), LaserClass::Four);
        assert!(limits.class_of(f64::NAN).is_err() && limits.class_of(-1.0).is_err());
        assert_eq!(limits.basis.status, Status::FromMemory);
    }

    proptest! {
        #[test]
        fn prop_classes_rise_and_never_pass_the_exposure_limit_by_more_than_rounding(
            nm in 700.0..1800.0f64, newer in any::<bool>(),
        ) {
            let edition = if newer { Edition::Iec2014 } else { Edition::Iec2007 };
            let limits = EmissionLimits::new(nm * 1e-9, edition).unwrap();
            prop_assert!(limits.class_1_w < limits.class_3r_w && limits.class_3r_w <= limits.class_3b_w);
            let eye = Exposure::new(nm * 1e-9, TIME_BASE_S).unwrap().eye(edition);
            // The eye limit holds for the pupil below 1400 nm, for 3.5 mm of cornea above.
            let aperture_m: f64 = if nm < 1400.0 { 7e-3 } else { 3.5e-3 };
            let area_m2 = PI * aperture_m.powi(2) / 4.0;
            prop_assert!(limits.class_1_w <= 1.04 * eye.irradiance_w_m2 * area_m2);
        }
    }
}
