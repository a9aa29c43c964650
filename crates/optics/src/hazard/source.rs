//! Where the light comes from, and how far from there its irradiance falls to a limit.

use std::{
    f64::consts::{PI, SQRT_2},
    fmt,
};

use beamstay_numerics::domain::in_range;

use super::Status;
use crate::OpticsError;

mod beam;

pub use beam::CollimatedBeam;

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
#[non_exhaustive]
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
#[non_exhaustive]
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
#[non_exhaustive]
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
mod tests;
