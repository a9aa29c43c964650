//! A beam through free air: waist, divergence and focus in; hazard distances out.

use std::f64::consts::{PI, SQRT_2};

use beamstay_numerics::domain::in_range;

use super::{Form, Forms, HIGHEST_POWER_W, positive};
use crate::OpticsError;

/// A beam through free air, Gaussian or treated as one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CollimatedBeam {
    pub(super) power_w: f64,
    pub(super) wavelength_m: f64,
    waist_diameter_1e_m: f64,
    divergence_1e_rad: f64,
    waist_distance_m: f64,
}

impl CollimatedBeam {
    /// `power_w` (0 to 10 MW) with the *1/e* diameter at the waist (10 µm to 10 m) and the *full 1/e* divergence (0.1 µrad
    /// to 1 rad); both are 1/√2 of the 1/e² figures. The waist is at the aperture.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{CollimatedBeam, Form};
    /// let beam = CollimatedBeam::new(1000.0, 1064e-9, 0.0707, 1e-3).unwrap();
    /// let forms = beam.forms(50.0);
    /// assert!((forms.distance_m(Form::CollimatedIec).unwrap() - 4975.565).abs() < 1e-3);
    /// assert!((forms.distance_m(Form::CollimatedAnsi).unwrap() - 5039.345).abs() < 1e-3);
    /// ```
    pub fn new(
        power_w: f64,
        wavelength_m: f64,
        waist_diameter_1e_m: f64,
        divergence_1e_rad: f64,
    ) -> Result<Self, OpticsError> {
        in_range("light power", "W", power_w, 0.0, HIGHEST_POWER_W)?;
        in_range("laser wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        in_range("beam diameter", "m", waist_diameter_1e_m, 1e-5, 10.0)?;
        in_range("beam divergence", "rad", divergence_1e_rad, 1e-7, 1.0)?;
        Ok(Self { power_w, wavelength_m, waist_diameter_1e_m, divergence_1e_rad, waist_distance_m: 0.0 })
    }

    /// From the 1/e² radius at the waist, m, and the beam quality M² (1 to 10000): divergence √2 M² λ/(π w₀).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] as [`Self::new`], and for an M² outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{CollimatedBeam, Form};
    /// let beam = CollimatedBeam::from_waist(1000.0, 1064e-9, 0.05, 10.0).unwrap();
    /// let distance_m = beam.forms(50.0).distance_m(Form::GaussianPeak).unwrap();
    /// assert!((distance_m - 52673.32).abs() < 0.01);
    /// ```
    pub fn from_waist(
        power_w: f64,
        wavelength_m: f64,
        waist_radius_m: f64,
        beam_quality_ratio: f64,
    ) -> Result<Self, OpticsError> {
        in_range("beam quality M²", "", beam_quality_ratio, 1.0, 1e4)?;
        in_range("waist radius", "m", waist_radius_m, 1e-5, 10.0)?;
        let divergence_1e_rad = SQRT_2 * beam_quality_ratio * wavelength_m / (PI * waist_radius_m);
        Self::new(power_w, wavelength_m, SQRT_2 * waist_radius_m, divergence_1e_rad)
    }

    /// A beam of 1/e² radius `launch_radius_m` (10 µm to 10 m) and quality M² (1 to 10000) at an optic that focuses it to
    /// `focus_m` (0.1 m to 1000 km): waist and divergence follow from the curved wave front,
    /// `θ² = (w/F)² + (M²λ/(πw))²`. Distances count from the optic. Beyond its focus such a beam widens faster than a
    /// collimated one.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{CollimatedBeam, Form};
    /// let beam = CollimatedBeam::focused_at(1000.0, 808e-9, 0.07, 60.0, 80.0).unwrap();
    /// // w² = 0.07² (1 − z/80)² + (60·808e-9 z/(π·0.07))² is 2P/(πE) at 6970.74 m.
    /// assert!((beam.forms(16.4437).distance_m(Form::GaussianPeak).unwrap() - 6970.74).abs() < 0.01);
    /// ```
    pub fn focused_at(
        power_w: f64,
        wavelength_m: f64,
        launch_radius_m: f64,
        beam_quality_ratio: f64,
        focus_m: f64,
    ) -> Result<Self, OpticsError> {
        in_range("beam quality M²", "", beam_quality_ratio, 1.0, 1e4)?;
        in_range("radius on the optic", "m", launch_radius_m, 1e-5, 10.0)?;
        in_range("distance of the focus", "m", focus_m, 0.1, 1e6)?;
        let collimated = Self::from_waist(power_w, wavelength_m, launch_radius_m, beam_quality_ratio)?;
        let spread_rad = beam_quality_ratio * wavelength_m / (PI * launch_radius_m);
        let converging_rad = launch_radius_m / focus_m;
        let square = converging_rad * converging_rad + spread_rad * spread_rad;
        // The waist may be as small as a wave: the ranges of a beam at an aperture do not hold for it.
        Ok(Self {
            waist_diameter_1e_m: SQRT_2 * launch_radius_m * spread_rad / square.sqrt(),
            divergence_1e_rad: SQRT_2 * square.sqrt(),
            waist_distance_m: launch_radius_m * converging_rad / square,
            ..collimated
        })
    }

    /// The longest of all the beams that an optic with a movable focus can send: focused wherever that keeps the
    /// irradiance up farthest, so that its radius there is `M²λz/(πw)`. For a director whose focus follows an aircraft, since
    /// a fault may leave the focus anywhere.
    ///
    /// # Errors
    /// As [`Self::from_waist`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{CollimatedBeam, Form};
    /// let anywhere = CollimatedBeam::focused_anywhere(1000.0, 808e-9, 0.07, 60.0).unwrap();
    /// // √(2P/(πE)) · πw/(M²λ)
    /// assert!((anywhere.forms(16.4437).longest_m() - 28_224.46).abs() < 0.01);
    /// ```
    pub fn focused_anywhere(
        power_w: f64,
        wavelength_m: f64,
        launch_radius_m: f64,
        beam_quality_ratio: f64,
    ) -> Result<Self, OpticsError> {
        let collimated = Self::from_waist(power_w, wavelength_m, launch_radius_m, beam_quality_ratio)?;
        Ok(Self { waist_diameter_1e_m: 0.0, ..collimated })
    }

    /// The same beam focused so that its waist lies `waist_distance_m` (0 to 1000 km) beyond the aperture. Distances still
    /// count from the aperture.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn with_waist_at_m(self, waist_distance_m: f64) -> Result<Self, OpticsError> {
        in_range("distance of the waist", "m", waist_distance_m, 0.0, 1e6)?;
        Ok(Self { waist_distance_m, ..self })
    }

    /// The beam after a flat mirror of `reflectance_ratio` (0 to 1). Distances then count along the folded path from the
    /// aperture: subtract the way to the mirror. A concave mirror can focus and is not covered.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn reflected(self, reflectance_ratio: f64) -> Result<Self, OpticsError> {
        in_range("reflectance", "", reflectance_ratio, 0.0, 1.0)?;
        Ok(Self { power_w: self.power_w * reflectance_ratio, ..self })
    }

    /// What goes on past a receiver that takes `capture_ratio` (0 to 1) of the power: a beam of the same divergence with the
    /// rest. For a round receiver centred in a Gaussian beam its peak is the irradiance at the receiver's edge, and the
    /// light behind the receiver does not exceed it. While the beam can wander off the receiver, the whole beam's
    /// distance counts, not this one.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn spilled(self, capture_ratio: f64) -> Result<Self, OpticsError> {
        in_range("captured share", "", capture_ratio, 0.0, 1.0)?;
        Ok(Self { power_w: self.power_w * (1.0 - capture_ratio), ..self })
    }

    /// Distances from the aperture beyond which the irradiance stays below `limit_w_m2`; a limit that is not positive counts
    /// as 1e-9 W/m².
    ///
    /// With 1/e diameter a and full 1/e divergence φ: IEC (√(4P/(πE)) − a)/φ; ANSI √(1.27 P/E − a²)/φ; peak of the
    /// Gaussian √(4P/(πE) − a²)/φ, the longest.
    pub fn forms(&self, limit_w_m2: f64) -> Forms {
        let ratio_m2 = self.power_w / positive(limit_w_m2);
        let (a, phi) = (self.waist_diameter_1e_m, self.divergence_1e_rad);
        let from_aperture = |from_waist_m: f64| {
            if from_waist_m > 0.0 { self.waist_distance_m + from_waist_m } else { 0.0 }
        };
        let hyperbola = |square_m2: f64| from_aperture((square_m2 - a * a).max(0.0).sqrt() / phi);
        Forms::new([
            (Form::CollimatedIec, from_aperture(((4.0 / PI * ratio_m2).sqrt() - a) / phi)),
            (Form::CollimatedAnsi, hyperbola(1.27 * ratio_m2)),
            (Form::GaussianPeak, hyperbola(4.0 / PI * ratio_m2)),
        ])
    }
}
