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
#[non_exhaustive]
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        beam::{Focus, SpreadModel},
        fixture::{light_closes, mostly},
    };

    fn parts() -> FreeBeamParts {
        FreeBeamParts {
            beam: Beam {
                launch_radius_m: 0.1,
                beam_quality_m2_ratio: 10.0,
                focus: Focus::Collimated,
                aperture_radius_m: Some(0.15),
            },
            director_loss_db: 0.2,
            air: Air::of_visibility(23_000.0).unwrap(),
            turbulence: Turbulence { structure_constant_m_2_3: 1e-14, spread: SpreadModel::Larger },
            pointing_jitter_rad: 20e-6,
            receiver: Aperture::Round { radius_m: 0.2 },
        }
    }

    #[test]
    fn the_footprint_is_the_itemised_path() {
        let path = FreeBeamPath::new(parts()).unwrap();
        let run = BeamRun { offset_along_m: 0.05, incidence_rad: 0.4, ..BeamRun::facing(1064e-9, 800.0) };
        let (spot, itemised) = (path.footprint(1000.0, &run).unwrap(), path.itemise(1000.0, &run).unwrap());
        assert!((spot.captured_w - itemised.arriving_w).abs() < 1e-9);
        assert!((spot.spill_over_w - itemised.loss_w_of(StageKind::SpillOver)).abs() < 1e-9);
        assert!((path.transmission_ratio(&run).unwrap() - itemised.arriving_w / 1000.0).abs() < 1e-12);
        assert!(spot.vacuum_radius_m < spot.long_term_radius_m);
        assert!(spot.long_term_radius_m < spot.mean_radius_m);
        assert!(spot.instant_peak_irradiance_w_per_m2 > spot.mean_peak_irradiance_w_per_m2);
        assert!(spot.receiver_mean_irradiance_w_per_m2 < spot.mean_peak_irradiance_w_per_m2);
    }

    #[test]
    fn jitter_of_pointing_and_position_add_as_squares() {
        let calm = FreeBeamParts { turbulence: Turbulence::none(), ..parts() };
        let path = FreeBeamPath::new(calm).unwrap();
        let run = BeamRun { position_jitter_m: 0.03, ..BeamRun::facing(1064e-9, 2000.0) };
        let spot = path.footprint(1.0, &run).unwrap();
        let expected = spot.vacuum_radius_m.powi(2) + 4.0 * (0.04_f64.powi(2) + 0.03_f64.powi(2));
        assert!((spot.mean_radius_m.powi(2) - expected).abs() < 1e-12);
    }

    #[test]
    fn impossible_parts_and_runs_are_refused() {
        for bad in [
            FreeBeamParts { director_loss_db: -0.1, ..parts() },
            FreeBeamParts { pointing_jitter_rad: f64::NAN, ..parts() },
            FreeBeamParts { receiver: Aperture::Round { radius_m: -1.0 }, ..parts() },
            FreeBeamParts { air: Air { visibility_m: 0.0, ..parts().air }, ..parts() },
        ] {
            assert!(FreeBeamPath::new(bad).is_err(), "{bad:?}");
        }
        let path = FreeBeamPath::new(parts()).unwrap();
        let good = BeamRun::facing(1064e-9, 800.0);
        for bad in [
            BeamRun { range_m: 0.0, ..good },
            BeamRun { range_m: f64::NAN, ..good },
            BeamRun { position_jitter_m: -1.0, ..good },
            BeamRun { incidence_rad: 4.0, ..good },
            BeamRun { offset_across_m: f64::INFINITY, ..good },
            BeamRun { wavelength_m: 500e-9, ..good },
        ] {
            assert!(path.transmission_ratio(&bad).is_err(), "{bad:?}");
            assert!(path.itemise(1.0, &bad).is_err() && path.footprint(1.0, &bad).is_err(), "{bad:?}");
        }
        assert!(path.itemise(-1.0, &good).is_err() && path.footprint(f64::NAN, &good).is_err());
    }

    prop_compose! {
        fn any_parts()(
            launch_radius_m in mostly(0.01, 0.5),
            beam_quality_m2_ratio in mostly(1.0, 200.0),
            aperture_ratio in mostly(0.3, 3.0),
            focus_m in mostly(10.0, 5000.0),
            director_loss_db in mostly(0.0, 3.0),
            visibility_m in mostly(100.0, 50_000.0),
            exponent in -17.0..-11.0_f64,
            pointing_jitter_rad in mostly(0.0, 1e-4),
            size_m in mostly(0.01, 1.0),
            kind in 0..9_u32,
        ) -> FreeBeamParts {
            let focus = [Focus::Collimated, Focus::At { range_m: focus_m }, Focus::AtReceiver][(kind % 3) as usize];
            let receiver = match kind / 3 {
                0 => Aperture::Round { radius_m: size_m },
                1 => Aperture::Rectangle { half_width_m: size_m, half_height_m: 0.1 },
                _ => Aperture::Ring { inner_radius_m: 0.5 * size_m, outer_radius_m: size_m },
            };
            let aperture_radius_m = (kind % 2 == 0).then_some(aperture_ratio * launch_radius_m);
            FreeBeamParts {
                beam: Beam { launch_radius_m, beam_quality_m2_ratio, focus, aperture_radius_m },
                director_loss_db,
                air: Air { visibility_m, ..parts().air },
                turbulence: Turbulence {
                    structure_constant_m_2_3: 10_f64.powf(exponent),
                    spread: SpreadModel::Larger,
                },
                pointing_jitter_rad,
                receiver,
            }
        }
    }

    prop_compose! {
        fn any_run()(
            wavelength_m in mostly(700e-9, 1.7e-6),
            range_m in mostly(1.0, 5000.0),
            incidence_rad in mostly(0.0, 2.0),
            offset_along_m in mostly(-1.0, 1.0),
            offset_across_m in mostly(-1.0, 1.0),
            position_jitter_m in mostly(0.0, 0.2),
        ) -> BeamRun {
            BeamRun { wavelength_m, range_m, incidence_rad, offset_along_m, offset_across_m, position_jitter_m }
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(12_000))]

        #[test]
        fn prop_light_in_is_light_out_and_losses(
            parts in any_parts(),
            run in any_run(),
            source_w in mostly(0.0, 5000.0),
        ) {
            let Ok(path) = FreeBeamPath::new(parts) else { return Ok(()) };
            let (Ok(ratio), Ok(itemised), Ok(spot)) =
                (path.transmission_ratio(&run), path.itemise(source_w, &run), path.footprint(source_w, &run))
            else {
                return Ok(());
            };
            light_closes(ratio, &itemised, source_w)?;
            prop_assert!((spot.captured_w - itemised.arriving_w).abs() <= 1e-12 * source_w);
            prop_assert!(spot.spill_over_w >= 0.0 && spot.instant_peak_irradiance_w_per_m2.is_finite());
        }

        #[test]
        fn prop_a_farther_receiver_gets_less(
            parts in any_parts(),
            run in any_run(),
            more_m in 1.0..1000.0_f64,
        ) {
            // Collimated and centred: with a fixed focus or a lasting miss a receiver may gain from distance.
            let beam = Beam { focus: Focus::Collimated, ..parts.beam };
            let Ok(path) = FreeBeamPath::new(FreeBeamParts { beam, ..parts }) else { return Ok(()) };
            let ring = matches!(parts.receiver, Aperture::Ring { .. });
            let run = BeamRun { offset_along_m: 0.0, offset_across_m: 0.0, ..run };
            let farther = BeamRun { range_m: run.range_m + more_m, ..run };
            if let (false, Ok(near), Ok(far)) =
                (ring, path.transmission_ratio(&run), path.transmission_ratio(&farther))
            {
                prop_assert!(far <= near + 1e-12);
            }
        }
    }
}
