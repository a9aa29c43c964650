//! The whole way through a fiber: launch, joints on the ground, drum, paid-out line, joints on the aircraft, facet.

use beamstay_numerics::domain::in_range;

use crate::{
    Itemised, OpticsError, StageKind,
    connector::{Connection, ConnectionKind, total_loss_db},
    decibel,
    launch::{Facet, Launch},
};

use super::{DrumHeat, Fiber, PowerLimits, WoundPack, bend, check_length};

/// What a fiber path is made of, in the order in which light meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct FiberParts {
    /// Source and first facet.
    pub launch: Launch,
    /// Joints between the laser and the drum.
    pub ground_connections: Vec<Connection>,
    /// The fiber.
    pub fiber: Fiber,
    /// Joints on the aircraft.
    pub aircraft_connections: Vec<Connection>,
    /// Facet at the receiver.
    pub output_facet: Facet,
}

/// How the fiber lies at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FiberRun {
    /// Vacuum wavelength of the light, m.
    pub wavelength_m: f64,
    /// All fiber, on the drum and paid out, m.
    pub total_length_m: f64,
    /// Fiber on the drum, m.
    pub wound_length_m: f64,
    /// Radius of the tightest lasting bend, usually the innermost layer on the drum, m; `None` for no bend loss.
    pub bend_radius_m: Option<f64>,
}

impl FiberRun {
    /// Whether every figure is finite and in range and no more is wound than there is.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        let total_length_m = check_length("fiber length", self.total_length_m)?;
        in_range("wound length", "m", self.wound_length_m, 0.0, total_length_m)?;
        Ok(())
    }
}

/// A checked fiber path.
///
/// # Examples
/// ```
/// use beamstay_optics::connector::Connection;
/// use beamstay_optics::fiber::{Attenuation, CoreProfile, Fiber, FiberParts, FiberPath, FiberRun};
/// use beamstay_optics::launch::{Facet, Launch, Source};
/// let path = FiberPath::new(FiberParts {
///     launch: Launch { source: Source::Measured { coupling_ratio: 0.9 }, facet: Facet::Coated { reflectance_ratio: 0.0 } },
///     ground_connections: vec![Connection::worst_connector()],
///     fiber: Fiber {
///         core_diameter_m: 400e-6,
///         cladding_diameter_m: 440e-6,
///         numerical_aperture: 0.22,
///         profile: CoreProfile::Step,
///         attenuation: Attenuation::Measured { attenuation_db_per_km: 3.0 },
///         coating_temp_limit_k: 358.15,
///     },
///     aircraft_connections: vec![],
///     output_facet: Facet::Coated { reflectance_ratio: 0.0 },
/// })?;
/// let run = FiberRun { wavelength_m: 808e-9, total_length_m: 250.0, wound_length_m: 100.0, bend_radius_m: None };
/// // 0.9 · 10^(−0.075) · 10^(−0.075)
/// assert!((path.transmission_ratio(&run)? - 0.9 * 10_f64.powf(-0.15)).abs() < 1e-12);
/// let itemised = path.itemise(1000.0, &run)?;
/// assert!((itemised.arriving_w + itemised.total_loss_w() - 1000.0).abs() < 1e-9);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct FiberPath {
    parts: FiberParts,
    connections_ratio: f64,
}

impl FiberPath {
    /// Checks the parts.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn new(parts: FiberParts) -> Result<Self, OpticsError> {
        parts.launch.check()?;
        parts.fiber.check()?;
        parts.output_facet.check()?;
        for connection in parts.ground_connections.iter().chain(&parts.aircraft_connections) {
            connection.check()?;
        }
        let connections_db =
            total_loss_db(&parts.ground_connections) + total_loss_db(&parts.aircraft_connections);
        Ok(Self { parts, connections_ratio: decibel::ratio_of_loss(connections_db) })
    }

    /// What the path is made of.
    pub fn parts(&self) -> &FiberParts {
        &self.parts
    }

    /// Light at the receiver per light of the laser. Allocates nothing.
    ///
    /// # Errors
    /// [`OpticsError::BelowRayleighFloor`], [`OpticsError::BendGuidesNothing`], [`OpticsError::SingleModeLaunch`],
    /// [`OpticsError::OutOfRange`].
    pub fn transmission_ratio(&self, run: &FiberRun) -> Result<f64, OpticsError> {
        run.check()?;
        let FiberParts { launch, fiber, output_facet, .. } = &self.parts;
        Ok(launch.transmission_ratio(fiber, run.wavelength_m)?
            * self.connections_ratio
            * self.bend_ratio(run)?
            * fiber.transmission_ratio(run.total_length_m, run.wavelength_m)?
            * output_facet.transmission_ratio(run.wavelength_m)?)
    }

    /// Every item of the path with the light that enters it, leaves it and is lost in it, for `source_w` from the
    /// laser.
    ///
    /// # Errors
    /// As [`Self::transmission_ratio`]; [`OpticsError::OutOfRange`] for the power (0 to 10⁹ W).
    pub fn itemise(&self, source_w: f64, run: &FiberRun) -> Result<Itemised, OpticsError> {
        run.check()?;
        in_range("laser power", "W", source_w, 0.0, 1e9)?;
        let FiberParts { launch, ground_connections, fiber, aircraft_connections, output_facet } =
            &self.parts;
        let wavelength_m = run.wavelength_m;
        let loss_db_per_m = 1e-3 * fiber.attenuation_db_per_km(wavelength_m)?;
        let joints_count = ground_connections.len() + aircraft_connections.len();
        let mut way = Itemised::start(source_w, 6 + joints_count);
        way.pass(StageKind::LaunchMatch, launch.source.match_ratio(fiber, wavelength_m)?);
        way.pass(StageKind::InputFacet, launch.facet.transmission_ratio(wavelength_m)?);
        pass_connections(&mut way, ground_connections);
        way.pass(StageKind::DrumBend, self.bend_ratio(run)?);
        way.pass_db(StageKind::DrumFiber, loss_db_per_m * run.wound_length_m);
        way.pass_db(StageKind::PaidOutFiber, loss_db_per_m * (run.total_length_m - run.wound_length_m));
        pass_connections(&mut way, aircraft_connections);
        way.pass(StageKind::OutputFacet, output_facet.transmission_ratio(wavelength_m)?);
        Ok(way)
    }

    /// Light that enters the fiber, behind launch and joints on the ground, per light of the laser: what heats the
    /// drum and what the power limits are compared with.
    ///
    /// # Errors
    /// As [`Self::transmission_ratio`].
    pub fn fiber_input_ratio(&self, wavelength_m: f64) -> Result<f64, OpticsError> {
        Ok(self.parts.launch.transmission_ratio(&self.parts.fiber, wavelength_m)?
            * decibel::ratio_of_loss(total_loss_db(&self.parts.ground_connections)))
    }

    /// Heat and hottest layer of the drum for `source_w` from the laser. Light that the bend cannot hold counts as
    /// heat at the innermost layer.
    ///
    /// # Errors
    /// As [`Self::transmission_ratio`].
    pub fn drum_heat(
        &self,
        source_w: f64,
        run: &FiberRun,
        pack: &WoundPack,
    ) -> Result<DrumHeat, OpticsError> {
        run.check()?;
        in_range("laser power", "W", source_w, 0.0, 1e9)?;
        let input_w = source_w * self.fiber_input_ratio(run.wavelength_m)?;
        let kept_w = input_w * self.bend_ratio(run)?;
        let attenuation_db_per_km = self.parts.fiber.attenuation_db_per_km(run.wavelength_m)?;
        pack.heat(kept_w, run.wound_length_m, attenuation_db_per_km, input_w - kept_w)
    }

    /// Power limits of the fiber for a laser of width `linewidth_m`; compare with the light that enters the fiber.
    ///
    /// # Errors
    /// As [`PowerLimits::of`].
    pub fn power_limits(&self, run: &FiberRun, linewidth_m: f64) -> Result<PowerLimits, OpticsError> {
        run.check()?;
        PowerLimits::of(&self.parts.fiber, run.total_length_m, run.wavelength_m, linewidth_m)
    }

    fn bend_ratio(&self, run: &FiberRun) -> Result<f64, OpticsError> {
        match run.bend_radius_m {
            Some(radius_m) => bend::kept_modes_ratio(&self.parts.fiber, radius_m, run.wavelength_m),
            None => Ok(1.0),
        }
    }
}

fn pass_connections(way: &mut Itemised, connections: &[Connection]) {
    for connection in connections {
        let kind = match connection.kind {
            ConnectionKind::Connector => StageKind::Connector,
            ConnectionKind::Splice => StageKind::Splice,
            ConnectionKind::RotaryJoint => StageKind::RotaryJoint,
        };
        way.pass_db(kind, connection.loss.loss_db);
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::{
        fiber::{Attenuation, CoreProfile, Packing},
        fixture::{fiber, light_closes, mostly},
        launch::Source,
    };

    fn parts() -> FiberParts {
        FiberParts {
            launch: Launch {
                source: Source::Uniform { spot_diameter_m: 420e-6, numerical_aperture: 0.2 },
                facet: Facet::Bare,
            },
            ground_connections: vec![
                Connection::worst_connector(),
                Connection { kind: ConnectionKind::RotaryJoint, ..Connection::worst_splice() },
            ],
            fiber: fiber(),
            aircraft_connections: vec![Connection::worst_splice()],
            output_facet: Facet::Coated { reflectance_ratio: 0.005 },
        }
    }

    fn run() -> FiberRun {
        FiberRun {
            wavelength_m: 808e-9,
            total_length_m: 300.0,
            wound_length_m: 200.0,
            bend_radius_m: Some(0.15),
        }
    }

    #[test]
    fn light_crosses_all_the_fiber_wherever_it_lies() {
        let path = FiberPath::new(parts()).unwrap();
        let at = |wound_length_m| path.transmission_ratio(&FiberRun { wound_length_m, ..run() }).unwrap();
        assert!((at(0.0) - at(300.0)).abs() < 1e-15);
    }

    #[test]
    fn items_stand_in_the_order_of_the_light() {
        let path = FiberPath::new(parts()).unwrap();
        let kinds: Vec<_> = path.itemise(500.0, &run()).unwrap().stages.iter().map(|s| s.kind).collect();
        assert_eq!(
            kinds,
            [
                StageKind::LaunchMatch,
                StageKind::InputFacet,
                StageKind::Connector,
                StageKind::RotaryJoint,
                StageKind::DrumBend,
                StageKind::DrumFiber,
                StageKind::PaidOutFiber,
                StageKind::Splice,
                StageKind::OutputFacet,
            ]
        );
    }

    #[test]
    fn the_drum_is_heated_by_what_is_lost_on_it() {
        let path = FiberPath::new(parts()).unwrap();
        let pack = WoundPack {
            inner_radius_m: 0.15,
            width_m: 0.2,
            line_diameter_m: 1.5e-3,
            packing: Packing::Hexagonal,
            conductivity_w_per_m_k: 0.25,
            surface_coefficient_w_per_m2_k: 8.0,
            ambient_temp_k: 303.15,
        };
        let heat = path.drum_heat(500.0, &run(), &pack).unwrap();
        let itemised = path.itemise(500.0, &run()).unwrap();
        assert!((heat.bend_loss_w - itemised.loss_w_of(StageKind::DrumBend)).abs() < 1e-10);
        assert!((heat.attenuation_w - itemised.loss_w_of(StageKind::DrumFiber)).abs() < 1e-10);
        let limits = path.power_limits(&run(), 2e-9).unwrap();
        assert!(limits.raman_threshold_w > 1e4 && limits.fuse_caution_w > 1000.0);
    }

    #[test]
    fn impossible_parts_and_runs_are_refused() {
        let too_good = Fiber { attenuation: Attenuation::Measured { attenuation_db_per_km: 1.0 }, ..fiber() };
        let path = FiberPath::new(FiberParts { fiber: too_good, ..parts() }).unwrap();
        assert!(matches!(path.transmission_ratio(&run()), Err(OpticsError::BelowRayleighFloor { .. })));
        let path = FiberPath::new(parts()).unwrap();
        for bad in [
            FiberRun { wound_length_m: 300.1, ..run() },
            FiberRun { wound_length_m: -0.1, ..run() },
            FiberRun { total_length_m: f64::NAN, ..run() },
            FiberRun { wavelength_m: 0.0, ..run() },
            FiberRun { bend_radius_m: Some(0.01), ..run() },
        ] {
            assert!(path.transmission_ratio(&bad).is_err(), "{bad:?}");
            assert!(path.itemise(1.0, &bad).is_err(), "{bad:?}");
        }
        assert!(path.itemise(-1.0, &run()).is_err());
        let mut gain = parts();
        gain.aircraft_connections[0].loss.loss_db = -1.0;
        assert!(FiberPath::new(gain).is_err());
    }

    prop_compose! {
        /// Mostly sound parts of every kind of source and profile.
        fn any_parts()(
            core_diameter_m in mostly(5e-6, 1e-3),
            cladding_ratio in mostly(1.0, 10.0),
            numerical_aperture in mostly(0.05, 0.5),
            attenuation_db_per_km in mostly(0.2, 50.0),
            spot_diameter_m in mostly(1e-6, 2e-3),
            quality in mostly(1.0, 200.0),
            share in mostly(0.0, 1.0),
            joint_db in mostly(0.0, 3.0),
            kind in 0..12_u32,
        ) -> FiberParts {
            let source = match kind % 3 {
                0 => Source::Uniform { spot_diameter_m, numerical_aperture: share },
                1 => Source::Gaussian { spot_diameter_m, beam_quality_m2_ratio: quality },
                _ => Source::Measured { coupling_ratio: share },
            };
            let facet = if kind < 6 { Facet::Bare } else { Facet::Coated { reflectance_ratio: share } };
            let joint = Connection { loss: crate::connector::Loss { loss_db: joint_db }, ..Connection::worst_splice() };
            let profile = if kind == 4 { CoreProfile::Graded { exponent: 2.0 } } else { CoreProfile::Step };
            let cladding_diameter_m = core_diameter_m * cladding_ratio;
            FiberParts {
                launch: Launch { source, facet },
                ground_connections: vec![joint; (kind % 4) as usize],
                fiber: Fiber {
                    core_diameter_m,
                    cladding_diameter_m,
                    numerical_aperture,
                    profile,
                    attenuation: Attenuation::Measured { attenuation_db_per_km },
                    ..fiber()
                },
                aircraft_connections: vec![joint; (kind % 2) as usize],
                output_facet: facet,
            }
        }
    }

    prop_compose! {
        fn any_run()(
            wavelength_m in mostly(700e-9, 1.7e-6),
            total_length_m in mostly(0.0, 20e3),
            wound_ratio in mostly(0.0, 1.0),
            radius_m in mostly(0.02, 1.0),
            bent in any::<bool>(),
        ) -> FiberRun {
            FiberRun {
                wavelength_m,
                total_length_m,
                wound_length_m: total_length_m * wound_ratio,
                bend_radius_m: bent.then_some(radius_m),
            }
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
            let Ok(path) = FiberPath::new(parts) else { return Ok(()) };
            let (Ok(ratio), Ok(itemised)) = (path.transmission_ratio(&run), path.itemise(source_w, &run)) else {
                return Ok(());
            };
            light_closes(ratio, &itemised, source_w)?;
            prop_assert!((itemised.arriving_w - ratio * source_w).abs() <= 1e-12 * source_w);
        }

        #[test]
        fn prop_longer_fiber_passes_less(
            parts in any_parts(),
            run in any_run(),
            more_m in 1.0..1000.0_f64,
        ) {
            let Ok(path) = FiberPath::new(parts) else { return Ok(()) };
            let longer = FiberRun { total_length_m: run.total_length_m + more_m, ..run };
            if let (Ok(short), Ok(long)) = (path.transmission_ratio(&run), path.transmission_ratio(&longer)) {
                prop_assert!(long < short || short == 0.0);
            }
        }
    }
}
