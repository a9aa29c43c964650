//! Hazard distances of a source: eye, eye with optical aids, skin, with and without the shut-off.

use beamstay_numerics::domain::in_range;

use super::{
    exposure_limit::{DURATIONS_S, Edition, Exposure, ExposureLimit},
    source::{Forms, Source},
};
use crate::OpticsError;

/// Irradiance gain of viewing optics with a 50 mm objective and a 7 mm exit pupil; no transmission loss is credited.
pub const VIEWING_OPTICS_GAIN: f64 = (50.0 / 7.0) * (50.0 / 7.0);
/// Power above which a beam that still exceeds 100 W/m² covers more than 0.1 m², W: see [`skin`].
const LARGE_AREA_POWER_W: f64 = 5.0;
/// Area with which the large-area limit of the skin is asked for, m².
const LARGE_AREA_M2: f64 = 0.1;

/// How long somebody may stand in the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    time_base_s: f64,
    shut_off_s: Option<f64>,
    edition: Edition,
}

impl Conditions {
    /// `time_base_s` from 10 to 30000 s: 10 s accidental exposure (ANSI), 100 s unintended viewing (IEC), 30000 s a working
    /// day. The 0.25 s of the blink is refused, because this light is invisible.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::hazard::{Conditions, Edition};
    /// assert!(Conditions::new(100.0, Edition::default()).is_ok());
    /// assert!(Conditions::new(0.25, Edition::default()).is_err());
    /// ```
    pub fn new(time_base_s: f64, edition: Edition) -> Result<Self, OpticsError> {
        in_range("time base", "s", time_base_s, 10.0, DURATIONS_S.1)?;
        Ok(Self { time_base_s, shut_off_s: None, edition })
    }

    /// The same with a shut-off that ends the exposure `shut_off_s` (0.1 µs to 30000 s) after it began: the time from the
    /// break to dark fiber, detection, switching and stored light included.
    ///
    /// A shut-off that may be trusted works after any single fault, checks itself and needs a person to reset it. The
    /// distances without it are always reported beside these.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside that range.
    pub fn with_shut_off_s(self, shut_off_s: f64) -> Result<Self, OpticsError> {
        in_range("shut-off time", "s", shut_off_s, DURATIONS_S.0, DURATIONS_S.1)?;
        Ok(Self { shut_off_s: Some(shut_off_s), ..self })
    }
}

/// A distance with the limit it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct HazardDistance {
    /// Distance beyond which the limit is kept, m: the longest of the forms.
    pub distance_m: f64,
    /// The limit.
    pub limit: ExposureLimit,
    /// What each published form says.
    pub forms: Forms,
}

/// Distances for one exposure.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct HazardDistances {
    /// Exposure that they allow for, s.
    pub exposure_s: f64,
    /// Naked eye (nominal ocular hazard distance).
    pub eye: HazardDistance,
    /// Eye behind binoculars or a telescope with a 50 mm objective.
    pub eye_with_optics: HazardDistance,
    /// Skin.
    pub skin: HazardDistance,
}

impl HazardDistances {
    /// The longest of eye and skin without optical aids, m.
    pub fn unaided_m(&self) -> f64 {
        self.eye.distance_m.max(self.skin.distance_m)
    }

    /// The longest of all, m.
    pub fn longest_m(&self) -> f64 {
        self.unaided_m().max(self.eye_with_optics.distance_m)
    }
}

/// Hazard distances of one source.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Assessment {
    /// For the whole time base: what holds when the shut-off fails or there is none.
    pub without_shut_off: HazardDistances,
    /// With the shut-off, if there is one that is faster than the time base.
    pub with_shut_off: Option<HazardDistances>,
}

/// Hazard distances of `source`. Every source counts as a point (no relief for its size), and the irradiance on the axis
/// is compared without averaging over a pupil.
///
/// Below 1400 nm the limit falls as t^(−1/4), the distance therefore as t^(1/8): a fast shut-off alone does not make a cut
/// tether safe. From 1500 nm on it is t^(1/2).
///
/// # Errors
/// [`OpticsError::OutOfRange`] for a wavelength outside 700 to 1800 nm.
///
/// # Examples
/// ```
/// use beamstay_optics::hazard::{Conditions, Edition, FiberEnd, FiberLight, Source, distance::assess};
/// let light = FiberLight::Multimode { numerical_aperture: 0.22 };
/// let end = Source::FiberEnd(FiberEnd::new(1000.0, 976e-9, light).unwrap());
/// let conditions = Conditions::new(100.0, Edition::default()).unwrap().with_shut_off_s(0.01).unwrap();
/// let hazard = assess(&end, &conditions).unwrap();
/// assert!((hazard.without_shut_off.eye.distance_m - 23.51).abs() < 0.01);
/// assert!((hazard.with_shut_off.unwrap().eye.distance_m - 9.854).abs() < 0.01);
/// ```
pub fn assess(source: &Source, conditions: &Conditions) -> Result<Assessment, OpticsError> {
    let without_shut_off = distances(source, conditions.time_base_s, conditions.edition)?;
    let with_shut_off = match conditions.shut_off_s {
        Some(shut_off_s) if shut_off_s < conditions.time_base_s => {
            Some(distances(source, shut_off_s, conditions.edition)?)
        }
        _ => None,
    };
    Ok(Assessment { without_shut_off, with_shut_off })
}

fn distances(source: &Source, exposure_s: f64, edition: Edition) -> Result<HazardDistances, OpticsError> {
    let exposure = Exposure::new(source.wavelength_m(), exposure_s)?;
    let eye = exposure.eye_sustained(edition);
    Ok(HazardDistances {
        exposure_s,
        eye: until(source, eye, 1.0),
        eye_with_optics: until(source, eye, VIEWING_OPTICS_GAIN),
        skin: skin(source, exposure, edition)?,
    })
}

/// Distance at which the irradiance times `gain` falls to the limit.
fn until(source: &Source, limit: ExposureLimit, gain: f64) -> HazardDistance {
    let forms = source.forms(limit.irradiance_w_m2 / gain);
    HazardDistance { distance_m: forms.longest_m(), limit, forms }
}

/// Skin distance, with the limit for large areas where the beam is wide.
///
/// Peak irradiance times 1/e² area is 2 P for a Gaussian. From 5 W on it is 10 W: then the spot is wider than 0.1 m² where
/// its peak falls to 100 W/m², and between 0.01 and 0.1 m² it exceeds the falling limit everywhere. So the distance runs to
/// 100 W/m².
fn skin(source: &Source, exposure: Exposure, edition: Edition) -> Result<HazardDistance, OpticsError> {
    let small = until(source, exposure.skin_sustained(edition), 1.0);
    if source.power_w() < LARGE_AREA_POWER_W {
        return Ok(small);
    }
    let wide = exposure.with_exposed_area_m2(LARGE_AREA_M2)?;
    let large = until(source, wide.skin_sustained(edition), 1.0);
    Ok(if large.distance_m > small.distance_m { large } else { small })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hazard::{CollimatedBeam, DiffuseReflection, FiberEnd, FiberLight, Status};
    use proptest::prelude::*;

    fn end(power_w: f64, nm: f64, numerical_aperture: f64) -> Source {
        let light = FiberLight::Multimode { numerical_aperture };
        Source::FiberEnd(FiberEnd::new(power_w, nm * 1e-9, light).unwrap())
    }

    fn distances_of(source: &Source, exposure_s: f64) -> HazardDistances {
        distances(source, exposure_s, Edition::MoreRestrictive).unwrap()
    }

    #[test]
    fn a_slow_shut_off_is_no_shut_off() {
        let conditions = Conditions::new(10.0, Edition::default()).unwrap().with_shut_off_s(20.0).unwrap();
        assert_eq!(assess(&end(1.0, 808.0, 0.2), &conditions).unwrap().with_shut_off, None);
    }

    #[test]
    fn wavelengths_without_a_limit_are_refused() {
        let conditions = Conditions::new(10.0, Edition::default()).unwrap();
        assert!(assess(&end(1.0, 1900.0, 0.2), &conditions).is_err());
        assert!(assess(&end(1.0, 532.0, 0.2), &conditions).is_err());
        assert!(conditions.with_shut_off_s(0.0).is_err());
    }

    #[test]
    fn a_strong_beam_at_1550_nm_is_held_to_the_whole_body_limit() {
        let skin = distances_of(&end(1000.0, 1550.0, 0.22), 10.0).skin;
        assert!((skin.limit.irradiance_w_m2 - 100.0).abs() < 1e-9);
        assert_eq!(skin.limit.basis.status, Status::FromMemory);
        let weak = distances_of(&end(4.0, 1550.0, 0.22), 10.0).skin;
        assert!((weak.limit.irradiance_w_m2 - 1000.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_shines_no_distance() {
        let dark = distances_of(&end(0.0, 976.0, 0.22), 100.0);
        assert!(dark.longest_m().abs() < f64::MIN_POSITIVE);
    }

    #[test]
    fn optics_multiply_the_distance_of_a_diverging_source_by_seven() {
        let found = distances_of(&end(100.0, 976.0, 0.22), 100.0);
        assert!((found.eye_with_optics.distance_m / found.eye.distance_m - 50.0 / 7.0).abs() < 1e-12);
        assert!((found.longest_m() - found.eye_with_optics.distance_m).abs() < 1e-12);
    }

    /// Builds every kind of source from power, quality (larger is a tighter beam) and wavelength.
    fn source(kind: u8, power_w: f64, quality: f64, nm: f64) -> Source {
        let wavelength_m = nm * 1e-9;
        match kind {
            0 => end(power_w, nm, 0.5 / quality),
            1 => {
                let light = FiberLight::SingleMode { mode_field_radius_m: 5e-6 * quality };
                Source::FiberEnd(FiberEnd::new(power_w, wavelength_m, light).unwrap())
            }
            2 => Source::Beam(CollimatedBeam::new(power_w, wavelength_m, 0.1, 1e-2 / quality).unwrap()),
            3 => Source::Beam(
                CollimatedBeam::from_waist(power_w, wavelength_m, 0.05, 100.0 / quality).unwrap(),
            ),
            _ => Source::Diffuse(DiffuseReflection::new(power_w, wavelength_m, quality / 100.0).unwrap()),
        }
    }

    fn not_shorter(longer: &HazardDistances, than: &HazardDistances) -> bool {
        let pairs = [
            (longer.eye, than.eye),
            (longer.eye_with_optics, than.eye_with_optics),
            (longer.skin, than.skin),
        ];
        pairs.iter().all(|(a, b)| a.distance_m >= b.distance_m * (1.0 - 1e-12) && a.distance_m.is_finite())
    }

    proptest! {
        #[test]
        fn prop_distance_never_falls_with_power_time_or_quality(
            kind in 0..5u8, power in 1e-3..1e5f64, more in 1.0..20.0f64, quality in 1.0..50.0f64, better in 1.0..2.0f64,
            nm in 700.0..1800.0f64, log_t in -7.0..4.4f64, longer in 0.0..3.0f64,
        ) {
            let time = |log_t: f64| 10_f64.powf(log_t).clamp(DURATIONS_S.0, DURATIONS_S.1);
            let base = distances_of(&source(kind, power, quality, nm), time(log_t));
            let stronger = distances_of(&source(kind, power * more, quality, nm), time(log_t));
            prop_assert!(not_shorter(&stronger, &base));
            let later = distances_of(&source(kind, power, quality, nm), time(log_t + longer));
            prop_assert!(not_shorter(&later, &base));
            let tighter = distances_of(&source(kind, power, quality * better, nm), time(log_t));
            prop_assert!(not_shorter(&tighter, &base));
        }

        #[test]
        fn prop_no_edition_gives_more_than_the_default(kind in 0..5u8, power in 1e-3..1e4f64, nm in 700.0..1800.0f64, log_t in -7.0..4.4f64) {
            let source = source(kind, power, 10.0, nm);
            let exposure_s = 10_f64.powf(log_t);
            let default = distances_of(&source, exposure_s);
            for edition in [Edition::Iec2014, Edition::Iec2007] {
                prop_assert!(not_shorter(&default, &distances(&source, exposure_s, edition).unwrap()));
            }
        }
    }
}
