//! Where the light comes from, and how far from there its irradiance falls to a limit.

use std::{
    f64::consts::{PI, SQRT_2},
    fmt,
};

use beamstay_numerics::domain::in_range;

use super::Status;
use crate::OpticsError;

/// √(ln 20): from the angle at 5 % of the peak to that at 1/e, for a Gaussian.
const FIVE_PERCENT_TO_1E: f64 = 1.730_818_382_602_285;
/// The same as IEC 60825-2 rounds it.
const FIVE_PERCENT_TO_1E_ROUNDED: f64 = 1.7;
/// Highest power that any source accepts, W.
const HIGHEST_POWER_W: f64 = 1e7;

/// A formula for a hazard distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// Multimode fiber end, Gaussian far field, factor 1.7 as printed in IEC 60825-2.
    MultimodeRounded,
    /// Multimode fiber end, Gaussian far field, factor √(ln 20) without rounding.
    MultimodeGaussian,
    /// Multimode fiber end, power spread evenly over the cone of the numerical aperture.
    UniformCone,
    /// Single-mode fiber end, Gaussian far field, peak on the axis.
    SingleMode,
    /// Collimated beam as in IEC 60825-1: the diameter grows in proportion from the aperture.
    CollimatedIec,
    /// Collimated beam as in ANSI Z136.1: the diameter grows as a hyperbola; 1.27 for 4/π.
    CollimatedAnsi,
    /// Peak on the axis of a Gaussian beam.
    GaussianPeak,
    /// Diffuse (Lambertian) reflection seen along its normal.
    Lambertian,
}

impl Form {
    /// How well the formula is known.
    pub fn status(self) -> Status {
        match self {
            Self::MultimodeRounded | Self::CollimatedIec => Status::Seen,
            Self::CollimatedAnsi => Status::FromMemory,
            Self::MultimodeGaussian
            | Self::UniformCone
            | Self::SingleMode
            | Self::GaussianPeak
            | Self::Lambertian => Status::Derived,
        }
    }

    /// The formula and where it comes from.
    pub fn source(self) -> &'static str {
        match self {
            Self::MultimodeRounded => {
                "(1.7/NA) √(P/πE): beam diameter of IEC 60825-2 as in Kolesar and Ehrgott, IEEE 802.3ae, 2000"
            }
            Self::MultimodeGaussian => "(√(ln 20)/NA) √(P/πE): the same without rounding 1.7308 to 1.7",
            Self::UniformCone => "√(P/πE)/tan(asin NA): the light spread evenly over its cone",
            Self::SingleMode => "(πw/λ) √(2P/πE): peak of the Gaussian far field of one mode",
            Self::CollimatedIec => "(√(4P/πE) − a)/φ: IEC 60825-1",
            Self::CollimatedAnsi => "√(1.27 P/E − a²)/φ: ANSI Z136.1",
            Self::GaussianPeak => "√(4P/πE − a²)/φ: peak of a Gaussian beam",
            Self::Lambertian => "√(ρP/πE): a matt surface seen along its normal",
        }
    }
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::MultimodeRounded => "fiber end, 1.7 as printed",
            Self::MultimodeGaussian => "fiber end, Gaussian",
            Self::UniformCone => "fiber end, even cone",
            Self::SingleMode => "fiber end, one mode",
            Self::CollimatedIec => "beam, IEC",
            Self::CollimatedAnsi => "beam, ANSI",
            Self::GaussianPeak => "beam, Gaussian peak",
            Self::Lambertian => "matt surface",
        })
    }
}

/// One formula and its distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormDistance {
    /// The formula.
    pub form: Form,
    /// Distance from the source at which the irradiance has fallen to the limit, m; 0 if it never exceeds it.
    pub distance_m: f64,
}

/// What every formula for one source says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forms {
    all: [Option<FormDistance>; 3],
}

impl Forms {
    fn new<const N: usize>(forms: [(Form, f64); N]) -> Self {
        let mut all = [None; 3];
        for (slot, (form, distance_m)) in all.iter_mut().zip(forms) {
            *slot = Some(FormDistance { form, distance_m });
        }
        Self { all }
    }

    /// Every formula with its distance.
    pub fn iter(&self) -> impl Iterator<Item = FormDistance> + '_ {
        self.all.iter().flatten().copied()
    }

    /// The distance of one formula, m, if it belongs to the source.
    pub fn distance_m(&self, form: Form) -> Option<f64> {
        self.iter().find(|found| found.form == form).map(|found| found.distance_m)
    }

    /// The longest of them, m: the one to use.
    pub fn longest_m(&self) -> f64 {
        self.iter().map(|found| found.distance_m).fold(0.0, f64::max)
    }
}

/// How light leaves a broken fiber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FiberLight {
    /// Many modes.
    Multimode {
        /// Sine of the half-angle at which the far field has fallen to 5 % of its peak: that of the *light*. A fiber that is
        /// not filled to its own aperture has a smaller one and a longer hazard distance.
        numerical_aperture: f64,
    },
    /// One mode.
    SingleMode {
        /// 1/e² radius of the mode in the fiber, m: half the mode field diameter.
        mode_field_radius_m: f64,
    },
}

/// A bare, broken fiber end that shines into the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FiberEnd {
    power_w: f64,
    wavelength_m: f64,
    light: FiberLight,
}

impl FiberEnd {
    /// `power_w` (0 to 10 MW) of light leaving the end at `wavelength_m` (100 nm to 20 µm), numerical aperture 1e-5 to
    /// 0.95 or mode field radius 0.5 µm to 1 mm.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{FiberEnd, FiberLight, Form};
    /// let end = FiberEnd::new(1000.0, 976e-9, FiberLight::Multimode { numerical_aperture: 0.22 }).unwrap();
    /// let forms = end.forms(35.6451);
    /// assert!((forms.distance_m(Form::MultimodeRounded).unwrap() - 23.0915).abs() < 1e-3);
    /// assert!(forms.longest_m() > 23.5, "without the rounding of 1.7");
    /// ```
    pub fn new(power_w: f64, wavelength_m: f64, light: FiberLight) -> Result<Self, OpticsError> {
        in_range("light power", "W", power_w, 0.0, HIGHEST_POWER_W)?;
        in_range("laser wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        match light {
            FiberLight::Multimode { numerical_aperture } => {
                in_range("numerical aperture of the light", "", numerical_aperture, 1e-5, 0.95)?;
            }
            FiberLight::SingleMode { mode_field_radius_m } => {
                in_range("mode field radius", "m", mode_field_radius_m, 5e-7, 1e-3)?;
            }
        }
        Ok(Self { power_w, wavelength_m, light })
    }

    /// Distances at which the irradiance on the axis falls to `limit_w_m2`; a limit that is not positive counts as 1e-9
    /// W/m².
    ///
    /// Multimode (IEC 60825-2): r = (1.7/NA) √(P/(π E)) and the same with √(ln 20); evenly filled cone √(P/(π
    /// E))/tan(asin NA). Single mode: r = (π w₀/λ) √(2 P/(π E)).
    pub fn forms(&self, limit_w_m2: f64) -> Forms {
        let radius_m = (self.power_w / (PI * positive(limit_w_m2))).sqrt();
        match self.light {
            FiberLight::Multimode { numerical_aperture } => Forms::new([
                (Form::MultimodeRounded, FIVE_PERCENT_TO_1E_ROUNDED / numerical_aperture * radius_m),
                (Form::MultimodeGaussian, FIVE_PERCENT_TO_1E / numerical_aperture * radius_m),
                (Form::UniformCone, radius_m / numerical_aperture.asin().tan()),
            ]),
            FiberLight::SingleMode { mode_field_radius_m } => Forms::new([(
                Form::SingleMode,
                SQRT_2 * PI * mode_field_radius_m / self.wavelength_m * radius_m,
            )]),
        }
    }

    /// Diameter that holds 63 % (1 − 1/e) of the light at `distance_m`, m (IEC 60825-2: 2 r NA/1.7; single mode √2 times
    /// the 1/e² radius λ r/(π w₀)).
    pub fn diameter_63_m(&self, distance_m: f64) -> f64 {
        match self.light {
            FiberLight::Multimode { numerical_aperture } => {
                2.0 * distance_m * numerical_aperture / FIVE_PERCENT_TO_1E_ROUNDED
            }
            FiberLight::SingleMode { mode_field_radius_m } => {
                SQRT_2 * self.wavelength_m * distance_m / (PI * mode_field_radius_m)
            }
        }
    }

    /// Share of the light that passes a round aperture of `aperture_m` diameter on the axis at `distance_m`:
    /// 1 − exp(−(aperture/d63)²).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for an aperture outside 0.1 mm to 1 m or a distance outside 1 mm to 100 km.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{FiberEnd, FiberLight};
    /// let end = FiberEnd::new(1e-3, 840e-9, FiberLight::Multimode { numerical_aperture: 0.2 }).unwrap();
    /// assert!((end.share_through(0.007, 0.100).unwrap() - 0.084703).abs() < 1e-6);
    /// ```
    pub fn share_through(&self, aperture_m: f64, distance_m: f64) -> Result<f64, OpticsError> {
        in_range("aperture", "m", aperture_m, 1e-4, 1.0)?;
        in_range("distance", "m", distance_m, 1e-3, 1e5)?;
        Ok(-(-(aperture_m / self.diameter_63_m(distance_m)).powi(2)).exp_m1())
    }
}

/// A beam through free air, Gaussian or treated as one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CollimatedBeam {
    power_w: f64,
    wavelength_m: f64,
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

/// Light scattered by a matt surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiffuseReflection {
    reflected_w: f64,
    wavelength_m: f64,
}

impl DiffuseReflection {
    /// `power_w` (0 to 10 MW) falling on a surface of `reflectance_ratio` (0 to 1; 1 is the safe choice).
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::DiffuseReflection;
    /// let spot = DiffuseReflection::new(500.0, 976e-9, 1.0).unwrap();
    /// assert!((spot.forms(35.6451).longest_m() - 2.1130).abs() < 1e-3);
    /// ```
    pub fn new(power_w: f64, wavelength_m: f64, reflectance_ratio: f64) -> Result<Self, OpticsError> {
        in_range("light power", "W", power_w, 0.0, HIGHEST_POWER_W)?;
        in_range("laser wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        in_range("reflectance", "", reflectance_ratio, 0.0, 1.0)?;
        Ok(Self { reflected_w: power_w * reflectance_ratio, wavelength_m })
    }

    /// Distance along the normal, √(P/(π E)), the spot taken as a point; a limit that is not positive counts as 1e-9 W/m².
    pub fn forms(&self, limit_w_m2: f64) -> Forms {
        Forms::new([(Form::Lambertian, (self.reflected_w / (PI * positive(limit_w_m2))).sqrt())])
    }
}

/// Any source of hazardous light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Source {
    /// A broken fiber end.
    FiberEnd(FiberEnd),
    /// A beam in the air: whole, reflected or spilled.
    Beam(CollimatedBeam),
    /// A diffuse reflection.
    Diffuse(DiffuseReflection),
}

impl Source {
    /// Light that leaves the source, W.
    pub fn power_w(&self) -> f64 {
        match self {
            Self::FiberEnd(end) => end.power_w,
            Self::Beam(beam) => beam.power_w,
            Self::Diffuse(spot) => spot.reflected_w,
        }
    }

    /// Wavelength, m.
    pub fn wavelength_m(&self) -> f64 {
        match self {
            Self::FiberEnd(end) => end.wavelength_m,
            Self::Beam(beam) => beam.wavelength_m,
            Self::Diffuse(spot) => spot.wavelength_m,
        }
    }

    /// Distances at which the irradiance falls to `limit_w_m2`.
    pub fn forms(&self, limit_w_m2: f64) -> Forms {
        match self {
            Self::FiberEnd(end) => end.forms(limit_w_m2),
            Self::Beam(beam) => beam.forms(limit_w_m2),
            Self::Diffuse(spot) => spot.forms(limit_w_m2),
        }
    }
}

/// A limit that can be divided by.
fn positive(limit_w_m2: f64) -> f64 {
    limit_w_m2.max(1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beam::{Beam, Focus};
    use proptest::prelude::*;

    #[test]
    fn val_iec_60825_2_diameter_that_holds_63_percent() {
        // IEC 60825-2: d63 = 2 r NA/1.7 of a multimode end; √2 λ r/(π w0) of a single-mode one.
        let multimode =
            FiberEnd::new(1.0, 808e-9, FiberLight::Multimode { numerical_aperture: 0.2 }).unwrap();
        assert!((multimode.diameter_63_m(1.0) - 0.235_294).abs() < 1e-6);
        assert!((multimode.diameter_63_m(3.0) - 3.0 * 0.235_294).abs() < 1e-5);
        let single =
            FiberEnd::new(1.0, 1550e-9, FiberLight::SingleMode { mode_field_radius_m: 5.2e-6 }).unwrap();
        assert!((single.diameter_63_m(2.0) - 0.268_37).abs() < 1e-4, "{}", single.diameter_63_m(2.0));
    }

    #[test]
    fn a_weak_beam_has_no_hazard_distance_even_if_focused() {
        let beam = CollimatedBeam::new(1.0, 1064e-9, 0.2, 1e-3).unwrap().with_waist_at_m(500.0).unwrap();
        assert!(beam.forms(50.0).longest_m().abs() < f64::MIN_POSITIVE);
        let strong = CollimatedBeam::new(1000.0, 1064e-9, 0.2, 1e-3).unwrap();
        let focused = strong.with_waist_at_m(500.0).unwrap();
        let difference = focused.forms(50.0).longest_m() - strong.forms(50.0).longest_m();
        assert!((difference - 500.0).abs() < 1e-9);
    }

    #[test]
    fn the_gaussian_peak_is_the_longest_form_of_a_beam() {
        let forms = CollimatedBeam::new(500.0, 976e-9, 0.1, 5e-4).unwrap().forms(35.6451);
        assert_eq!(forms.distance_m(Form::GaussianPeak), Some(forms.longest_m()));
        assert_eq!(forms.distance_m(Form::Lambertian), None);
    }

    proptest! {
        #[test]
        fn prop_a_focus_anywhere_is_never_shorter(
            power_w in 1.0..1e5f64, radius_m in 0.005..1.0f64, quality in 1.0..200.0f64, log_focus in 0.0..5.9f64,
            limit_w_m2 in 5.0..2000.0f64,
        ) {
            let anywhere = CollimatedBeam::focused_anywhere(power_w, 1064e-9, radius_m, quality).unwrap();
            let longest_m = anywhere.forms(limit_w_m2).longest_m();
            let focus_m = 10_f64.powf(log_focus);
            let focused = CollimatedBeam::focused_at(power_w, 1064e-9, radius_m, quality, focus_m).unwrap();
            let collimated = CollimatedBeam::from_waist(power_w, 1064e-9, radius_m, quality).unwrap();
            prop_assert!(focused.forms(limit_w_m2).longest_m() <= longest_m * (1.0 + 1e-9));
            prop_assert!(collimated.forms(limit_w_m2).longest_m() <= longest_m * (1.0 + 1e-9));
        }

        #[test]
        fn prop_a_focused_beam_has_the_irradiance_of_its_path(
            radius_m in 0.01..0.5f64, quality in 1.0..200.0f64, focus_m in 20.0..5000.0f64, limit_w_m2 in 5.0..200.0f64,
        ) {
            let hazard = CollimatedBeam::focused_at(1e4, 808e-9, radius_m, quality, focus_m).unwrap();
            let distance_m = hazard.forms(limit_w_m2).distance_m(Form::GaussianPeak).unwrap();
            prop_assume!(distance_m > 0.0 && distance_m < 9e5);
            let beam = Beam {
                launch_radius_m: radius_m,
                beam_quality_m2_ratio: quality,
                focus: Focus::At { range_m: focus_m },
                aperture_radius_m: None,
            };
            let spot_m = beam.radius_m(distance_m, 808e-9).unwrap();
            let peak_w_m2 = 2e4 / (PI * spot_m * spot_m);
            prop_assert!((peak_w_m2 / limit_w_m2 - 1.0).abs() < 1e-7, "{peak_w_m2}");
        }
    }

    #[test]
    fn bad_sources_are_refused() {
        let light = FiberLight::Multimode { numerical_aperture: 0.0 };
        assert!(FiberEnd::new(1.0, 808e-9, light).is_err());
        assert!(FiberEnd::new(f64::NAN, 808e-9, FiberLight::Multimode { numerical_aperture: 0.2 }).is_err());
        assert!(CollimatedBeam::new(1.0, 808e-9, 0.1, 0.0).is_err());
        assert!(CollimatedBeam::from_waist(1.0, 808e-9, 0.1, 0.9).is_err());
        assert!(DiffuseReflection::new(1.0, 808e-9, 1.1).is_err());
        let beam = CollimatedBeam::new(1.0, 808e-9, 0.1, 1e-3).unwrap();
        assert!(beam.spilled(1.01).is_err() && beam.reflected(-0.1).is_err());
        assert!(beam.with_waist_at_m(f64::INFINITY).is_err());
    }

    #[test]
    fn no_limit_at_all_still_gives_a_finite_distance() {
        let end = FiberEnd::new(1e7, 808e-9, FiberLight::Multimode { numerical_aperture: 1e-5 }).unwrap();
        assert!(end.forms(0.0).longest_m().is_finite() && end.forms(f64::NAN).longest_m().is_finite());
    }
}
