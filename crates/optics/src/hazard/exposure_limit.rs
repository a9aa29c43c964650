//! Maximum permissible exposure of eye and skin.

use std::fmt;

use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Shortest and longest wavelength, nm.
pub const WAVELENGTHS_NM: (f64, f64) = (700.0, 1800.0);
/// Shortest and longest exposure, s.
pub const DURATIONS_S: (f64, f64) = (1e-7, 3e4);
/// Angle below which a source is a point, mrad.
const SMALLEST_ANGLE_MRAD: f64 = 1.5;
/// Beyond this exposure the limits are irradiances, s.
const LONG_EXPOSURE_S: f64 = 10.0;
/// Just short of it, where the rule for short exposures still holds.
const JUST_SHORT_S: f64 = LONG_EXPOSURE_S * (1.0 - 1e-12);
/// Skin and cornea above 1400 nm from 10 s on, W/m².
const LONG_INFRARED_W_M2: f64 = 1_000.0;
/// The same where more than 0.1 m² of the body is exposed, W/m².
const WHOLE_BODY_W_M2: f64 = 100.0;
/// Largest exposed area without reduction, m².
const SMALL_AREA_M2: f64 = 0.01;

/// Which rules apply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum Edition {
    /// IEC 60825-1:2014, ANSI Z136.1-2014 and ICNIRP 2013, which agree in this range.
    Iec2014,
    /// IEC 60825-1:2007, Directive 2006/25/EC and ANSI Z136.1-2007.
    Iec2007,
    /// The lower limit of the two. They differ above 1200 nm, for exposures under 50 µs and for extended sources.
    #[default]
    MoreRestrictive,
}

/// How well a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Status {
    /// Read in a copy of the source, scanned or retyped by others.
    Seen,
    /// Recalled; the printed source was not seen.
    FromMemory,
    /// Our own cautious reading where the sources seen are silent.
    Assumed,
    /// Follows from geometry or from the form of a Gaussian beam; rests on no print.
    Derived,
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Seen => "seen",
            Self::FromMemory => "from memory",
            Self::Assumed => "assumed",
            Self::Derived => "derived",
        })
    }
}

impl fmt::Display for Edition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Iec2014 => "IEC 60825-1:2014, ANSI Z136.1-2014, ICNIRP 2013",
            Self::Iec2007 => "IEC 60825-1:2007, Directive 2006/25/EC, ANSI Z136.1-2007",
            Self::MoreRestrictive => "the stricter of 2014 and 2007 rules",
        })
    }
}

/// What a figure rests on; to be printed beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Basis {
    /// Rules that gave the figure; never [`Edition::MoreRestrictive`].
    pub edition: Edition,
    /// Exposure that the limit allows for, s.
    pub time_base_s: f64,
    /// Diameter over which the exposure may be averaged, mm.
    pub aperture_mm: f64,
    /// How well it is known.
    pub status: Status,
}

/// Highest permissible irradiance at eye or skin.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct ExposureLimit {
    /// Irradiance, W/m², held for the whole time base.
    pub irradiance_w_m2: f64,
    /// What it rests on.
    pub basis: Basis,
}

impl ExposureLimit {
    /// The same limit as energy per area, J/m².
    pub fn radiant_exposure_j_m2(&self) -> f64 {
        self.irradiance_w_m2 * self.basis.time_base_s
    }

    fn lower(self, other: Self) -> Self {
        if other.irradiance_w_m2 < self.irradiance_w_m2 { other } else { self }
    }
}

/// A continuous exposure.
///
/// # Examples
/// ```
/// use beamstay_optics::hazard::{Edition, Exposure};
/// let exposure = Exposure::new(976e-9, 10.0).unwrap();
/// let eye = exposure.eye(Edition::MoreRestrictive);
/// assert!((eye.irradiance_w_m2 - 35.6451).abs() < 1e-4);
/// assert_eq!(eye.basis.aperture_mm, 7.0);
/// assert!((exposure.skin(Edition::MoreRestrictive).irradiance_w_m2 - 7129.02).abs() < 0.01);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    wavelength_m: f64,
    duration_s: f64,
    source_angle_rad: f64,
    exposed_area_m2: f64,
}

impl Exposure {
    /// Light of `wavelength_m` (700 to 1800 nm) from a point source for `duration_s` (0.1 µs to 30000 s) on a small
    /// area.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside these ranges: there is no limit here to compare with.
    pub fn new(wavelength_m: f64, duration_s: f64) -> Result<Self, OpticsError> {
        in_range("laser wavelength", "nm", nanometres(wavelength_m), WAVELENGTHS_NM.0, WAVELENGTHS_NM.1)?;
        in_range("exposure time", "s", duration_s, DURATIONS_S.0, DURATIONS_S.1)?;
        Ok(Self { wavelength_m, duration_s, source_angle_rad: 0.0, exposed_area_m2: 0.0 })
    }

    /// The same with an extended source: the angle that the *apparent source* takes at the eye, rad (0 to 1), never
    /// the divergence of a beam. It relaxes the eye limit from 1.5 mrad to 1400 nm; a lit fiber end is a point at any
    /// real hazard distance.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{Edition, Exposure};
    /// let exposure = Exposure::new(808e-9, 100.0).unwrap().with_source_angle_rad(4e-3).unwrap();
    /// assert!((exposure.eye(Edition::Iec2014).irradiance_w_m2 - 43.7417).abs() < 1e-4);
    /// ```
    pub fn with_source_angle_rad(self, source_angle_rad: f64) -> Result<Self, OpticsError> {
        in_range("angle of the apparent source", "rad", source_angle_rad, 0.0, 1.0)?;
        Ok(Self { source_angle_rad, ..self })
    }

    /// The same with a large exposed area of the body, m² (0 to 10): above 1400 nm the skin limit from 10 s on falls as
    /// 1/area from 0.01 m² to 100 W/m² at 0.1 m².
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn with_exposed_area_m2(self, exposed_area_m2: f64) -> Result<Self, OpticsError> {
        in_range("exposed area", "m²", exposed_area_m2, 0.0, 10.0)?;
        Ok(Self { exposed_area_m2, ..self })
    }

    /// Wavelength, m.
    pub fn wavelength_m(&self) -> f64 {
        self.wavelength_m
    }

    /// Exposure, s.
    pub fn duration_s(&self) -> f64 {
        self.duration_s
    }

    /// The limit at the cornea exactly as the tables of the edition give it for this exposure.
    ///
    /// IEC 60825-1 tables A.1, A.2, A.3: retina 700 to 1400 nm, cornea above; with 2014 rules the cornea limit of ANSI
    /// Z136.1-2014 and the skin limit also bind from 1200 to 1400 nm.
    pub fn eye(&self, edition: Edition) -> ExposureLimit {
        self.of(edition, |rules| self.eye_by(rules, self.duration_s))
    }

    /// The skin limit exactly as the tables of the edition give it for this exposure (IEC 60825-1 table A.5), with the
    /// reduction for large areas.
    pub fn skin(&self, edition: Edition) -> ExposureLimit {
        self.of(edition, |rules| self.skin_by(rules, self.duration_s))
    }

    /// The irradiance that the eye may bear for this exposure *and every shorter part of it*.
    ///
    /// The tables step upwards in places (50 µs, 10 s, and for extended sources up to 0.25 s), so that a longer exposure
    /// would be allowed more; whoever stands in the light for 11 s also stood in it for 9.9 s. Distances rest on this
    /// one.
    pub fn eye_sustained(&self, edition: Edition) -> ExposureLimit {
        self.sustained(edition, |rules, duration_s| self.eye_by(rules, duration_s))
    }

    /// As [`Self::eye_sustained`] for the skin: 1.1 % under 2000 C4 from 10 s on.
    pub fn skin_sustained(&self, edition: Edition) -> ExposureLimit {
        self.sustained(edition, |rules, duration_s| self.skin_by(rules, duration_s))
    }

    fn of(&self, edition: Edition, limit: impl Fn(Rules) -> ExposureLimit) -> ExposureLimit {
        match edition {
            Edition::Iec2014 => limit(Rules::Iec2014),
            Edition::Iec2007 => limit(Rules::Iec2007),
            Edition::MoreRestrictive => limit(Rules::Iec2014).lower(limit(Rules::Iec2007)),
        }
    }

    fn sustained(&self, edition: Edition, limit: impl Fn(Rules, f64) -> ExposureLimit) -> ExposureLimit {
        self.of(edition, |rules| {
            let shorter = [rules.retina_flat_end_s(self.nm()) * (1.0 - 1e-12), 625e-6, JUST_SHORT_S]
                .into_iter()
                .filter(|duration_s| *duration_s < self.duration_s)
                .map(|duration_s| limit(rules, duration_s));
            let strictest = shorter.fold(limit(rules, self.duration_s), ExposureLimit::lower);
            let basis = Basis { time_base_s: self.duration_s, ..strictest.basis };
            ExposureLimit { basis, ..strictest }
        })
    }

    fn nm(&self) -> f64 {
        nanometres(self.wavelength_m)
    }

    fn eye_by(&self, rules: Rules, duration_s: f64) -> ExposureLimit {
        let nm = self.nm();
        if nm >= 1400.0 {
            return infrared_limit(rules, nm, duration_s);
        }
        let retina = ExposureLimit {
            irradiance_w_m2: self.retina_w_m2(rules, duration_s),
            basis: basis(rules, duration_s, 7.0, Status::Seen),
        };
        if rules == Rules::Iec2014 && nm >= 1200.0 {
            retina.lower(anterior_limit(nm, duration_s)).lower(skin_limit(rules, nm, duration_s))
        } else {
            retina
        }
    }

    fn skin_by(&self, rules: Rules, duration_s: f64) -> ExposureLimit {
        let nm = self.nm();
        if nm < 1400.0 {
            return skin_limit(rules, nm, duration_s);
        }
        let small = infrared_limit(rules, nm, duration_s);
        if duration_s < LONG_EXPOSURE_S || self.exposed_area_m2 <= SMALL_AREA_M2 {
            return small;
        }
        let reduced = LONG_INFRARED_W_M2 * SMALL_AREA_M2 / self.exposed_area_m2;
        ExposureLimit {
            irradiance_w_m2: reduced.max(WHOLE_BODY_W_M2),
            basis: Basis { status: Status::FromMemory, ..small.basis },
        }
    }

    /// Retinal limit, W/m², 700 to 1400 nm.
    fn retina_w_m2(&self, rules: Rules, duration_s: f64) -> f64 {
        let nm = self.nm();
        let angle_mrad = 1e3 * self.source_angle_rad;
        let (c4, c7) = (c4(nm), c7(rules, nm));
        let (flat_j_m2, law) = match (rules, nm < 1050.0) {
            (Rules::Iec2014, true) => (2e-3 * c4, 18.0 * c4 * c7),
            (Rules::Iec2014, false) => (2e-2 * c7, 90.0 * c7),
            (Rules::Iec2007, true) => (5e-3 * c4, 18.0 * c4 * c7),
            (Rules::Iec2007, false) => (5e-2 * c7, 90.0 * c7),
        };
        let c6 = c6(rules, angle_mrad, duration_s);
        if duration_s < rules.retina_flat_end_s(nm) {
            c6 * flat_j_m2 / duration_s
        } else if angle_mrad > SMALLEST_ANGLE_MRAD {
            c6 * law * duration_s.min(t2_s(angle_mrad)).powf(-0.25)
        } else if duration_s < LONG_EXPOSURE_S {
            law * duration_s.powf(-0.25)
        } else {
            10.0 * c4 * c7
        }
    }
}

/// Wavelength in nm, free of the rounding of the conversion, so that 1400e-9 m lies in the band that opens there.
pub(super) fn nanometres(wavelength_m: f64) -> f64 {
    (wavelength_m * 1e15).round() / 1e6
}

/// A single edition.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rules {
    Iec2014,
    Iec2007,
}

impl Rules {
    pub(super) fn edition(self) -> Edition {
        match self {
            Self::Iec2014 => Edition::Iec2014,
            Self::Iec2007 => Edition::Iec2007,
        }
    }

    /// Exposure below which the retinal limit is a constant energy, s.
    fn retina_flat_end_s(self, nm: f64) -> f64 {
        match (self, nm < 1050.0) {
            (Self::Iec2014, true) => 5e-6,
            (Self::Iec2014, false) => 13e-6,
            (Self::Iec2007, true) => 18e-6,
            (Self::Iec2007, false) => 50e-6,
        }
    }
}

fn basis(rules: Rules, time_base_s: f64, aperture_mm: f64, status: Status) -> Basis {
    Basis { edition: rules.edition(), time_base_s, aperture_mm, status }
}

/// Wavelength correction C4 (CA of ANSI): 10^(0.002 (λ − 700)) up to 1050 nm, then 5 up to 1400 nm.
pub(super) fn c4(nm: f64) -> f64 {
    if nm < 1050.0 { 10_f64.powf(0.002 * (nm - 700.0)) } else { 5.0 }
}

/// Pre-retinal absorption C7 (CC of ANSI).
pub(super) fn c7(rules: Rules, nm: f64) -> f64 {
    if nm < 1150.0 {
        1.0
    } else if nm < 1200.0 {
        10_f64.powf(0.018 * (nm - 1150.0))
    } else if rules == Rules::Iec2014 {
        8.0 + 10_f64.powf(0.04 * (nm - 1250.0))
    } else {
        8.0
    }
}

/// Extended-source correction C6 (CE of ANSI), with the IEC form above the largest angle: the Directive's, which goes on
/// rising there, is not used.
fn c6(rules: Rules, angle_mrad: f64, duration_s: f64) -> f64 {
    let largest_mrad = match rules {
        Rules::Iec2014 if duration_s < 625e-6 => 5.0,
        Rules::Iec2014 if duration_s < 0.25 => 200.0 * duration_s.sqrt(),
        _ => 100.0,
    };
    (angle_mrad.min(largest_mrad) / SMALLEST_ANGLE_MRAD).max(1.0)
}

/// Exposure after which an extended source does no more harm, s.
fn t2_s(angle_mrad: f64) -> f64 {
    10.0 * 10_f64.powf((angle_mrad.clamp(SMALLEST_ANGLE_MRAD, 100.0) - SMALLEST_ANGLE_MRAD) / 98.5)
}

/// Skin, 700 to 1400 nm.
pub(super) fn skin_limit(rules: Rules, nm: f64, duration_s: f64) -> ExposureLimit {
    let irradiance_w_m2 =
        if duration_s < LONG_EXPOSURE_S { 1.1e4 * c4(nm) * duration_s.powf(-0.75) } else { 2_000.0 * c4(nm) };
    ExposureLimit { irradiance_w_m2, basis: basis(rules, duration_s, 3.5, Status::Seen) }
}

/// Cornea and lens, 1200 to 1400 nm: 10⁴ (0.03 K + 0.07) W/m², K = 10^(0.01 (1400 − λ)), from 10 s on (ANSI
/// Z136.1-2014). For shorter exposures no figure was seen; it is scaled as the skin limit is, t^−0.75.
pub(super) fn anterior_limit(nm: f64, duration_s: f64) -> ExposureLimit {
    let long_w_m2 = 1e4 * (0.03 * 10_f64.powf(0.01 * (1400.0 - nm)) + 0.07);
    let (factor, status) = if duration_s < LONG_EXPOSURE_S {
        ((LONG_EXPOSURE_S / duration_s).powf(0.75), Status::Assumed)
    } else {
        (1.0, Status::Seen)
    };
    ExposureLimit {
        irradiance_w_m2: long_w_m2 * factor,
        basis: basis(Rules::Iec2014, duration_s, infrared_aperture_mm(Rules::Iec2014, duration_s), status),
    }
}

/// Cornea and skin from 1400 nm on.
fn infrared_limit(rules: Rules, nm: f64, duration_s: f64) -> ExposureLimit {
    // At 1800 nm the law of the shorter band returns, which is the stricter one.
    let shallow = (1500.0..1800.0).contains(&nm);
    let irradiance_w_m2 = if duration_s >= LONG_EXPOSURE_S {
        LONG_INFRARED_W_M2
    } else if shallow {
        1e4 / duration_s
    } else if duration_s < 1e-3 {
        1e3 / duration_s
    } else {
        5_600.0 * duration_s.powf(-0.75)
    };
    let aperture_mm = infrared_aperture_mm(rules, duration_s);
    ExposureLimit { irradiance_w_m2, basis: basis(rules, duration_s, aperture_mm, Status::Seen) }
}

/// Averaging aperture at the cornea above 1400 nm, mm.
fn infrared_aperture_mm(rules: Rules, duration_s: f64) -> f64 {
    let narrow_until_s = if rules == Rules::Iec2014 { 0.35 } else { 0.3 };
    if duration_s <= narrow_until_s {
        1.0
    } else if duration_s < LONG_EXPOSURE_S {
        1.5 * duration_s.powf(0.375)
    } else {
        3.5
    }
}

#[cfg(test)]
mod tests;
