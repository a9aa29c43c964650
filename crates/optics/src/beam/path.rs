//! The whole way through free air: director, aperture, air, receiver.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::{Itemised, OpticsError, StageKind, decibel};

use super::{Air, Aperture, Beam, Spot, Turbulence};

/// What a free beam path is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeBeamParts {
    /// The beam at the last optic.
    pub beam: Beam,
    /// Loss in mirrors, lenses and windows on the ground, dB.
    pub director_loss_db: f64,
    /// Extinction of the air.
    pub air: Air,
    /// Turbulence of the air.
    pub turbulence: Turbulence,
    /// Pointing error on the ground, standard deviation in each axis, rad.
    pub pointing_jitter_rad: f64,
    /// Clear area of the receiver.
    pub receiver: Aperture,
}

/// How the aircraft stands in the beam at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamRun {
    /// Vacuum wavelength of the light, m.
    pub wavelength_m: f64,
    /// Length of the way, m; 1 cm to 1000 km.
    pub range_m: f64,
    /// Angle between the beam and the normal of the receiver, rad.
    pub incidence_rad: f64,
    /// Lasting miss of the beam's centre, seen along the beam, in the direction of tilt, m.
    pub offset_along_m: f64,
    /// The same at right angles to the tilt, m.
    pub offset_across_m: f64,
    /// Error in following the aircraft, standard deviation in each axis, m.
    pub position_jitter_m: f64,
}

impl BeamRun {
    /// The beam centred on a receiver that faces it and is followed without error.
    pub fn facing(wavelength_m: f64, range_m: f64) -> Self {
        Self {
            wavelength_m,
            range_m,
            incidence_rad: 0.0,
            offset_along_m: 0.0,
            offset_across_m: 0.0,
            position_jitter_m: 0.0,
        }
    }
}

/// The spot at the receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footprint {
    /// 1/e² radius that optics alone would give, m.
    pub vacuum_radius_m: f64,
    /// 1/e² radius of the mean over time in turbulence, m.
    pub long_term_radius_m: f64,
    /// 1/e² radius of the mean over time with pointing and position jitter, m.
    pub mean_radius_m: f64,
    /// Light that arrives at the receiver's range, W.
    pub arriving_w: f64,
    /// Light on the receiver, W.
    pub captured_w: f64,
    /// Light that passes beside the receiver or strikes what carries it, W: a hazard behind the aircraft.
    pub spill_over_w: f64,
    /// Peak of the mean irradiance across the beam, W/m².
    pub mean_peak_irradiance_w_per_m2: f64,
    /// Peak irradiance across the beam while it neither wanders nor spreads, W/m²: what a cell may meet at moments.
    pub instant_peak_irradiance_w_per_m2: f64,
    /// Mean irradiance over the receiver's own area, W/m².
    pub receiver_mean_irradiance_w_per_m2: f64,
}

/// A checked free beam path.
///
/// # Examples
/// ```
/// use beamstay_optics::beam::{Air, Aperture, Beam, BeamRun, Focus, FreeBeamParts, FreeBeamPath, Turbulence};
/// let path = FreeBeamPath::new(FreeBeamParts {
///     beam: Beam { launch_radius_m: 0.1, beam_quality_m2_ratio: 20.0, focus: Focus::Collimated,
///         aperture_radius_m: None },
///     director_loss_db: 0.0,
///     air: Air { gas_db_per_km: Some(0.5), ..Air::of_visibility(23_000.0)? },
///     turbulence: Turbulence::none(),
///     pointing_jitter_rad: 0.0,
///     receiver: Aperture::Round { radius_m: 0.159_507_31 },
/// })?;
/// let run = BeamRun::facing(976e-9, 2000.0);
/// let spot = path.footprint(1000.0, &run)?;
/// // The receiver has the size of the beam there: it takes 1 − e⁻² of what arrives.
/// assert!((spot.vacuum_radius_m - 0.159_507_31).abs() < 1e-8);
/// assert!((spot.captured_w / spot.arriving_w - 0.864_664_7).abs() < 1e-7);
/// let itemised = path.itemise(1000.0, &run)?;
/// assert!((itemised.arriving_w + itemised.total_loss_w() - 1000.0).abs() < 1e-9);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeBeamPath {
    parts: FreeBeamParts,
}

impl FreeBeamPath {
    /// Checks the parts.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn new(parts: FreeBeamParts) -> Result<Self, OpticsError> {
        parts.beam.check()?;
        in_range("loss of the beam director", "dB", parts.director_loss_db, 0.0, 100.0)?;
        parts.air.check()?;
        parts.turbulence.check()?;
        in_range("pointing jitter", "rad", parts.pointing_jitter_rad, 0.0, 0.1)?;
        parts.receiver.check()?;
        Ok(Self { parts })
    }

    /// What the path is made of.
    pub fn parts(&self) -> &FreeBeamParts {
        &self.parts
    }

    /// Light on the receiver per light of the laser. Allocates nothing.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn transmission_ratio(&self, run: &BeamRun) -> Result<f64, OpticsError> {
        Ok(self.arriving_ratio(run)? * self.capture_ratio(run)?)
    }

    /// Light that arrives at the receiver's range, on it and beside it, per light of the laser.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn arriving_ratio(&self, run: &BeamRun) -> Result<f64, OpticsError> {
        let decibels = self.parts.director_loss_db + self.air_loss_db(run)?;
        Ok(self.parts.beam.truncation_ratio() * decibel::ratio_of_loss(decibels))
    }

    /// Light on the receiver per light that arrives at its range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn capture_ratio(&self, run: &BeamRun) -> Result<f64, OpticsError> {
        let (_, long_term_m) = self.radii_m(run)?;
        self.parts.receiver.capture_ratio(&self.spot(run, long_term_m)?)
    }

    /// Every item of the path with the light that enters it, leaves it and is lost in it, for `source_w` from the
    /// laser.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`], also for the power (0 to 10⁹ W).
    pub fn itemise(&self, source_w: f64, run: &BeamRun) -> Result<Itemised, OpticsError> {
        in_range("laser power", "W", source_w, 0.0, 1e9)?;
        let mut way = Itemised::start(source_w, 4);
        way.pass_db(StageKind::DirectorOptics, self.parts.director_loss_db);
        way.pass(StageKind::LaunchTruncation, self.parts.beam.truncation_ratio());
        way.pass_db(StageKind::AirExtinction, self.air_loss_db(run)?);
        way.pass(StageKind::SpillOver, self.capture_ratio(run)?);
        Ok(way)
    }

    /// The spot at the receiver for `source_w` from the laser.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`], also for the power (0 to 10⁹ W).
    pub fn footprint(&self, source_w: f64, run: &BeamRun) -> Result<Footprint, OpticsError> {
        in_range("laser power", "W", source_w, 0.0, 1e9)?;
        let (vacuum_radius_m, long_term_radius_m) = self.radii_m(run)?;
        let spot = self.spot(run, long_term_radius_m)?;
        let arriving_w = source_w * self.arriving_ratio(run)?;
        let captured_w = arriving_w * self.parts.receiver.capture_ratio(&spot)?;
        let peak_w_per_m2 = |radius_m: f64| 2.0 * arriving_w / (PI * radius_m * radius_m);
        Ok(Footprint {
            vacuum_radius_m,
            long_term_radius_m,
            mean_radius_m: spot.radius_m,
            arriving_w,
            captured_w,
            spill_over_w: arriving_w - captured_w,
            mean_peak_irradiance_w_per_m2: peak_w_per_m2(spot.radius_m),
            instant_peak_irradiance_w_per_m2: peak_w_per_m2(vacuum_radius_m),
            receiver_mean_irradiance_w_per_m2: captured_w / self.parts.receiver.area_m2(),
        })
    }

    /// 1/e² radius in vacuum and of the mean over time in turbulence, m.
    fn radii_m(&self, run: &BeamRun) -> Result<(f64, f64), OpticsError> {
        let range_m = checked_range(run)?;
        let vacuum_m = self.parts.beam.radius_m(range_m, run.wavelength_m)?;
        let long_term_m = self.parts.turbulence.long_term_radius_m(vacuum_m, range_m, run.wavelength_m)?;
        Ok((vacuum_m, long_term_m))
    }

    /// The spot of the mean over time.
    fn spot(&self, run: &BeamRun, long_term_radius_m: f64) -> Result<Spot, OpticsError> {
        in_range("position jitter", "m", run.position_jitter_m, 0.0, 1e5)?;
        let spot = Spot {
            radius_m: long_term_radius_m,
            offset_along_m: run.offset_along_m,
            offset_across_m: run.offset_across_m,
            incidence_rad: run.incidence_rad,
        };
        let pointing_m = self.parts.pointing_jitter_rad * run.range_m;
        Ok(spot.with_jitter(pointing_m.hypot(run.position_jitter_m)))
    }

    /// Loss in the air, dB.
    fn air_loss_db(&self, run: &BeamRun) -> Result<f64, OpticsError> {
        Ok(1e-3 * checked_range(run)? * self.parts.air.extinction_db_per_km(run.wavelength_m)?)
    }
}

fn checked_range(run: &BeamRun) -> Result<f64, OpticsError> {
    Ok(in_range("range", "m", run.range_m, 0.01, 1e6)?)
}
