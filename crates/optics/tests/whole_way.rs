//! Random ways of the light from the laser to the bus: no panic, nothing that is not a number, and all light accounted for.
//!
//! The suite tries 5,000; `BEAMSTAY_PATHS=100000 cargo test --release -p beamstay-optics --test whole_way` tries 100,000.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use beamstay_electrical::{Converter, converter::ConverterSpec};
use beamstay_environment::fluid::Fluid;
use beamstay_numerics::random::Random;
use beamstay_optics::{
    Fate, Itemised, OpticsError,
    beam::{Air, Aperture, Beam, BeamRun, Focus, FreeBeamParts, FreeBeamPath, SpreadModel, Turbulence},
    connector::{Connection, ConnectionKind},
    fiber::{
        Attenuation, ComposedAttenuation, CoreProfile, Fiber, FiberParts, FiberPath, FiberRun, Packing,
        WoundPack,
    },
    launch::{Facet, Launch, Source},
    receiver::{
        Cell, CellSpec, Draw, FinSink, FinSinkSpec, Receiver, ReceiverOperation, ReceiverSpec, Shares,
    },
};

/// Numbers from a seed, some of them such as no user gives.
struct Hostile(Random);

impl Hostile {
    fn unit(&mut self) -> f64 {
        self.0.unit()
    }

    /// A number of a range; one in fifty is any number, or none at all.
    fn between(&mut self, lo: f64, hi: f64) -> f64 {
        if self.unit() < 0.02 {
            const ODD: [f64; 8] =
                [0.0, -1.0, f64::NAN, f64::INFINITY, f64::MIN_POSITIVE, f64::MAX, 1e-12, 1e12];
            return ODD[self.below(8) as usize];
        }
        lo + (hi - lo) * self.unit()
    }

    /// As [`Self::between`], evenly over the decades.
    fn decades(&mut self, lo: f64, hi: f64) -> f64 {
        let exponent = self.between(lo.log10(), hi.log10());
        10_f64.powf(exponent)
    }

    fn below(&mut self, count: u32) -> u32 {
        (self.unit() * f64::from(count)) as u32
    }
}

fn connections(random: &mut Hostile) -> Vec<Connection> {
    (0..random.below(4))
        .filter_map(|_| Connection::new(ConnectionKind::Connector, random.between(0.0, 2.0)).ok())
        .collect()
}

fn through_fiber(random: &mut Hostile, source_w: f64, wavelength_m: f64) -> Result<Itemised, OpticsError> {
    let core_diameter_m = random.decades(5e-6, 1e-3);
    let facet = match random.below(2) {
        0 => Facet::Bare,
        _ => Facet::Coated { reflectance_ratio: random.between(0.0, 0.05) },
    };
    let source = match random.below(3) {
        0 => Source::Uniform {
            spot_diameter_m: core_diameter_m * random.between(0.5, 2.0),
            numerical_aperture: random.between(0.05, 0.4),
        },
        1 => Source::Gaussian {
            spot_diameter_m: core_diameter_m * random.between(0.5, 2.0),
            beam_quality_m2_ratio: random.decades(1.0, 200.0),
        },
        _ => Source::Measured { coupling_ratio: random.between(0.1, 1.0) },
    };
    let attenuation = match random.below(2) {
        0 => Attenuation::Measured { attenuation_db_per_km: random.between(1.0, 10.0) },
        _ => Attenuation::Composed(ComposedAttenuation::low_hydroxyl_silica()),
    };
    let path = FiberPath::new(FiberParts {
        launch: Launch { source, facet },
        ground_connections: connections(random),
        fiber: Fiber {
            core_diameter_m,
            cladding_diameter_m: core_diameter_m * random.between(1.05, 3.0),
            numerical_aperture: random.between(0.1, 0.4),
            profile: CoreProfile::Step,
            attenuation,
            coating_temp_limit_k: 358.15,
        },
        aircraft_connections: connections(random),
        output_facet: facet,
    })?;
    let total_length_m = random.decades(1.0, 5e3);
    let run = FiberRun {
        wavelength_m,
        total_length_m,
        wound_length_m: total_length_m * random.between(0.0, 1.0),
        bend_radius_m: Some(random.decades(0.02, 1.0)),
    };
    let pack = WoundPack {
        inner_radius_m: random.between(0.03, 0.4),
        width_m: random.between(0.02, 0.5),
        line_diameter_m: random.between(5e-4, 5e-3),
        packing: Packing::Square,
        conductivity_w_per_m_k: random.between(0.1, 0.5),
        surface_coefficient_w_per_m2_k: random.between(2.0, 20.0),
        ambient_temp_k: random.between(250.0, 320.0),
    };
    let heat = path.drum_heat(source_w, &run, &pack)?;
    assert!(heat.hottest_temp_k.is_finite() && heat.total_w().is_finite(), "{heat:?}");
    let limits = path.power_limits(&run, random.decades(1e-15, 1e-8))?;
    assert!(limits.raman_threshold_w.is_finite() && limits.brillouin_threshold_w.is_finite(), "{limits:?}");
    let (ratio, way) = (path.transmission_ratio(&run)?, path.itemise(source_w, &run)?);
    assert!((ratio * source_w - way.arriving_w).abs() <= 1e-12 * source_w);
    Ok(way)
}

fn through_air(random: &mut Hostile, source_w: f64, wavelength_m: f64) -> Result<Itemised, OpticsError> {
    let launch_radius_m = random.decades(0.01, 0.5);
    let size_m = random.decades(0.02, 1.0);
    let receiver = match random.below(3) {
        0 => Aperture::Round { radius_m: size_m },
        1 => Aperture::Rectangle { half_width_m: size_m, half_height_m: size_m * random.between(0.3, 1.0) },
        _ => Aperture::Ring { inner_radius_m: size_m * random.between(0.0, 0.9), outer_radius_m: size_m },
    };
    let focus = [Focus::Collimated, Focus::AtReceiver, Focus::At { range_m: random.decades(10.0, 1e4) }];
    let path = FreeBeamPath::new(FreeBeamParts {
        beam: Beam {
            launch_radius_m,
            beam_quality_m2_ratio: random.decades(1.0, 200.0),
            focus: focus[random.below(3) as usize],
            aperture_radius_m: Some(launch_radius_m * random.between(0.8, 2.5)),
        },
        director_loss_db: random.between(0.0, 3.0),
        air: Air::of_visibility(random.decades(100.0, 5e4))?,
        turbulence: Turbulence {
            structure_constant_m_2_3: random.decades(1e-17, 1e-12),
            spread: SpreadModel::Larger,
        },
        pointing_jitter_rad: random.between(0.0, 2e-4),
        receiver,
    })?;
    let run = BeamRun {
        wavelength_m,
        range_m: random.decades(1.0, 5e3),
        incidence_rad: random.between(0.0, 1.8),
        offset_along_m: random.between(-0.3, 0.3),
        offset_across_m: random.between(-0.3, 0.3),
        position_jitter_m: random.between(0.0, 0.2),
    };
    let spot = path.footprint(source_w, &run)?;
    assert!(spot.instant_peak_irradiance_w_per_m2.is_finite() && spot.spill_over_w >= 0.0, "{spot:?}");
    path.itemise(source_w, &run)
}

fn onto_cells(
    random: &mut Hostile,
    arriving_w: f64,
    wavelength_m: f64,
) -> Result<ReceiverOperation, OpticsError> {
    let series_count = 1 + random.below(12);
    let parallel_count = 1 + random.below(3);
    let shares = match random.below(3) {
        0 => {
            let weights: Vec<f64> = (0..series_count).map(|_| random.unit()).collect();
            Some(Shares::in_proportion(&weights)?)
        }
        _ => None,
    };
    let area_m2 = random.decades(1e-6, 1e-2);
    let cell = match random.below(2) {
        0 => CellSpec::gallium_arsenide(area_m2),
        _ => CellSpec::silicon(area_m2),
    };
    let receiver = Receiver::new(ReceiverSpec {
        cell: Cell::new(cell)?,
        series_count,
        parallel_count,
        shares,
        reflection_ratio: random.between(0.0, 0.3),
        sink: FinSink::new(FinSinkSpec::aluminium(
            random.between(0.02, 0.5),
            random.between(0.02, 0.5),
            random.between(0.005, 0.1),
        ))?,
        junction_to_sink_k_per_w: random.decades(1e-3, 1.0),
        tracking_efficiency_ratio: random.between(0.9, 1.0),
        converter: Converter::new(ConverterSpec::airborne(random.decades(10.0, 1e4)))
            .unwrap_or(Converter::ideal()),
        optics_kg: 0.1,
        housing_kg: 0.1,
    })?;
    let air = Fluid {
        temperature_k: 260.0 + 60.0 * random.unit(),
        pressure_pa: 101_325.0,
        density_kg_m3: 1.164,
        dynamic_viscosity_pa_s: 1.872e-5,
        thermal_conductivity_w_per_m_k: 0.02588,
        specific_heat_j_per_kg_k: 1007.0,
        speed_of_sound_m_s: 349.0,
    };
    let cooling = receiver.spec().sink.cooled_by(&air, random.between(0.0, 30.0))?;
    let draw = match random.below(3) {
        0 => Draw::MaximumPower,
        1 => Draw::Nothing,
        _ => Draw::Bus(random.decades(0.1, 1e3)),
    };
    receiver.operate(arriving_w, wavelength_m, &cooling, draw)
}

/// Laser to bus; whether the numbers of this way were taken by every model.
fn whole_way(seed: u64) -> Result<(), OpticsError> {
    let mut random = Hostile(Random::new(seed));
    let source_w = random.decades(0.1, 1e4);
    let wavelength_m = random.between(700e-9, 1000e-9);
    let way = match random.below(2) {
        0 => through_fiber(&mut random, source_w, wavelength_m)?,
        _ => through_air(&mut random, source_w, wavelength_m)?,
    };
    let cells = onto_cells(&mut random, way.arriving_w, wavelength_m)?;
    let heat_w = way.loss_w_to(Fate::Heat) + cells.cell_heat_w + cells.converter_loss_w;
    let reflected_w = way.loss_w_to(Fate::Reflected) + cells.reflected_w;
    let scattered_w = way.loss_w_to(Fate::Scattered) + way.loss_w_to(Fate::Past);
    let parts = [cells.bus_w, heat_w, reflected_w, scattered_w];
    assert!(parts.iter().all(|w| w.is_finite() && *w >= 0.0), "{seed}: {parts:?}");
    let sum_w: f64 = parts.iter().sum();
    assert!((sum_w - source_w).abs() <= 1e-12 * source_w, "{seed}: {sum_w} of {source_w} W, {parts:?}");
    assert!(cells.cell_temp_k.is_finite() && cells.hottest_cell_temp_k.is_finite(), "{seed}: {cells:?}");
    Ok(())
}

#[test]
fn light_is_electrical_heat_reflected_or_scattered() {
    let paths_count = std::env::var("BEAMSTAY_PATHS").ok().and_then(|n| n.parse().ok()).unwrap_or(5_000_u64);
    let taken_count = (0..paths_count).filter(|seed| whole_way(*seed).is_ok()).count() as u64;
    println!(
        "{taken_count} of {paths_count} random ways taken by every model, the rest refused with their reason"
    );
    assert!(taken_count > paths_count / 4, "only {taken_count} of {paths_count} ways were taken");
}
