//! Gaussian beam of quality M² behind an aperture: launch radius and range in, radius and transmission out (A. E. Siegman, *Lasers*,
//! 1986, ch. 17, from memory; M² by the definition of ISO 11146).

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::{OpticsError, silica::check_wavelength};

/// A beam as it leaves the last optic. `radius` is always where the intensity is 1/e² of its peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    /// 1/e² radius on the last optic, m; 0.1 mm to 10 m.
    pub launch_radius_m: f64,
    /// Beam quality M², 1 to 10 000.
    pub beam_quality_m2_ratio: f64,
    /// Where the optic focuses.
    pub focus: Focus,
    /// Radius of the clear aperture of the last optic, m; `None` if it cuts nothing. Not below 0.3 of the launch
    /// radius.
    pub aperture_radius_m: Option<f64>,
}

/// Curvature of the wave front on the last optic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Focus {
    /// Plane: the waist lies on the optic.
    Collimated,
    /// Converging to a point at this range, m; 1 m to 1000 km.
    At {
        /// Range of the focus, m.
        range_m: f64,
    },
    /// Converging to the receiver wherever it is.
    AtReceiver,
}

impl Beam {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("launch radius", "m", self.launch_radius_m, 1e-4, 10.0)?;
        in_range("beam quality M²", "", self.beam_quality_m2_ratio, 1.0, 1e4)?;
        if let Focus::At { range_m } = self.focus {
            in_range("range of the focus", "m", range_m, 1.0, 1e6)?;
        }
        if let Some(radius_m) = self.aperture_radius_m {
            in_range("launch aperture radius", "m", radius_m, 0.3 * self.launch_radius_m, 100.0)?;
        }
        Ok(())
    }

    /// Power through the launch aperture per power on it, `1 − exp(−2a²/w²)`.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Beam, Focus};
    /// let beam = Beam { launch_radius_m: 0.1, beam_quality_m2_ratio: 1.0, focus: Focus::Collimated,
    ///     aperture_radius_m: Some(0.15) };
    /// assert!((beam.truncation_ratio() - 0.988_891).abs() < 1e-6);
    /// ```
    pub fn truncation_ratio(&self) -> f64 {
        match self.aperture_radius_m {
            Some(radius_m) => -(-2.0 * (radius_m / self.launch_radius_m).powi(2)).exp_m1(),
            None => 1.0,
        }
    }

    /// 1/e² radius in vacuum at `range_m`, m.
    ///
    /// `w² = w₀²(1 − z/F)² + (λz/(πw₀))² (M⁴ + coth(T²/2) − 1)`: the Gaussian beam of quality M² with its wave front
    /// curved to F, and the divergence that an aperture of radius `T·w₀` adds. For M² = 1 the last factor gives the
    /// peak of the far field of a truncated Gaussian exactly (B. Klein and J. Degnan, Appl. Opt. 13, 2134, 1974, without
    /// obscuration); for larger M² the two spreads add as squares. The Gaussian of the same peak puts less light into
    /// the rings than the true pattern of a hard edge: a receiver of 1.5 to 2 beam radii is credited with too
    /// much, by 0.4 % of the power at T = 1.5, 4 % at T = 1 and 14 % at T = 0.3 (far field, numerical integration).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`]: range 0 to 1000 km, the wavelength, the beam.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Beam, Focus};
    /// let beam = Beam { launch_radius_m: 0.05, beam_quality_m2_ratio: 10.0, focus: Focus::Collimated,
    ///     aperture_radius_m: None };
    /// assert!((beam.radius_m(1000.0, 1064e-9)? - 0.084_191_52).abs() < 1e-8);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn radius_m(&self, range_m: f64, wavelength_m: f64) -> Result<f64, OpticsError> {
        self.check()?;
        let wavelength_m = check_wavelength(wavelength_m)?;
        let range_m = in_range("range", "m", range_m, 0.0, 1e6)?;
        let convergence = match self.focus {
            Focus::Collimated => 1.0,
            Focus::At { range_m: focus_m } => 1.0 - range_m / focus_m,
            Focus::AtReceiver => 0.0,
        };
        let geometric_m =
            if range_m > 0.0 { self.launch_radius_m * convergence } else { self.launch_radius_m };
        let diffraction_m = wavelength_m * range_m / (PI * self.launch_radius_m);
        let spread_squared = self.beam_quality_m2_ratio.powi(2) + self.edge_spread();
        Ok((geometric_m * geometric_m + diffraction_m * diffraction_m * spread_squared).sqrt())
    }

    /// `coth(T²/2) − 1 = 2/(exp(T²) − 1)`.
    fn edge_spread(&self) -> f64 {
        match self.aperture_radius_m {
            Some(radius_m) => 2.0 / (radius_m / self.launch_radius_m).powi(2).exp_m1(),
            None => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beam() -> Beam {
        Beam {
            launch_radius_m: 0.1,
            beam_quality_m2_ratio: 2.0,
            focus: Focus::Collimated,
            aperture_radius_m: None,
        }
    }

    #[test]
    fn a_beam_leaves_as_wide_as_it_is_launched() {
        for focus in [Focus::Collimated, Focus::At { range_m: 500.0 }, Focus::AtReceiver] {
            assert_eq!(Beam { focus, ..beam() }.radius_m(0.0, 1e-6), Ok(0.1));
        }
    }

    #[test]
    fn focus_at_the_receiver_is_focus_at_its_range() {
        let fixed = Beam { focus: Focus::At { range_m: 1000.0 }, ..beam() };
        let follows = Beam { focus: Focus::AtReceiver, ..beam() };
        assert_eq!(fixed.radius_m(1000.0, 1e-6), follows.radius_m(1000.0, 1e-6));
        assert!(fixed.radius_m(2000.0, 1e-6).unwrap() > follows.radius_m(2000.0, 1e-6).unwrap());
    }

    #[test]
    fn an_aperture_that_cuts_nothing_changes_nothing() {
        let open = Beam { aperture_radius_m: Some(1.0), ..beam() };
        assert!((open.truncation_ratio() - 1.0).abs() < f64::EPSILON);
        assert_eq!(open.radius_m(1000.0, 1e-6), beam().radius_m(1000.0, 1e-6));
        let tight = Beam { aperture_radius_m: Some(0.08), ..beam() };
        assert!(tight.radius_m(1e4, 1e-6).unwrap() > beam().radius_m(1e4, 1e-6).unwrap());
    }

    #[test]
    fn each_figure_out_of_range_is_refused() {
        for bad in [
            Beam { launch_radius_m: 0.0, ..beam() },
            Beam { launch_radius_m: f64::NAN, ..beam() },
            Beam { beam_quality_m2_ratio: 0.99, ..beam() },
            Beam { focus: Focus::At { range_m: 0.0 }, ..beam() },
            Beam { aperture_radius_m: Some(0.029), ..beam() },
        ] {
            assert!(bad.radius_m(100.0, 1e-6).is_err(), "{bad:?}");
        }
        assert!(Beam { aperture_radius_m: Some(0.03), ..beam() }.check().is_ok());
        assert!(beam().radius_m(-1.0, 1e-6).is_err() && beam().radius_m(1.0, 5e-6).is_err());
    }
}
