//! What does one evaluation of the light's way cost: fiber, free beam facing, free beam tilted and off centre?

#![allow(missing_docs, clippy::expect_used)]

use std::hint::black_box;

use beamstay_optics::{
    beam::{
        Air, Aperture, Beam, BeamRun, Facing, Focus, FreeBeamParts, FreeBeamPath, Loiter, SpreadModel,
        Turbulence,
    },
    connector::Connection,
    fiber::{
        Attenuation, ComposedAttenuation, CoreProfile, Fiber, FiberParts, FiberPath, FiberRun, Packing,
        WoundPack,
    },
    launch::{Facet, Launch, Source},
};
use criterion::{Criterion, criterion_group, criterion_main};

fn fiber_path() -> FiberPath {
    FiberPath::new(FiberParts {
        launch: Launch {
            source: Source::Gaussian { spot_diameter_m: 300e-6, beam_quality_m2_ratio: 100.0 },
            facet: Facet::Bare,
        },
        ground_connections: vec![Connection::worst_connector(), Connection::worst_splice()],
        fiber: Fiber {
            core_diameter_m: 400e-6,
            cladding_diameter_m: 440e-6,
            numerical_aperture: 0.22,
            profile: CoreProfile::Step,
            attenuation: Attenuation::Composed(ComposedAttenuation::low_hydroxyl_silica()),
            coating_temp_limit_k: 358.15,
        },
        aircraft_connections: vec![Connection::worst_connector()],
        output_facet: Facet::Bare,
    })
    .expect("the parts are sound")
}

fn beam_path(receiver: Aperture) -> FreeBeamPath {
    FreeBeamPath::new(FreeBeamParts {
        beam: Beam {
            launch_radius_m: 0.1,
            beam_quality_m2_ratio: 20.0,
            focus: Focus::AtReceiver,
            aperture_radius_m: Some(0.15),
        },
        director_loss_db: 0.2,
        air: Air::of_visibility(23_000.0).expect("a sound visibility"),
        turbulence: Turbulence { structure_constant_m_2_3: 1e-14, spread: SpreadModel::Larger },
        pointing_jitter_rad: 20e-6,
        receiver,
    })
    .expect("the parts are sound")
}

fn fiber(criterion: &mut Criterion) {
    let path = fiber_path();
    let run = FiberRun {
        wavelength_m: 976e-9,
        total_length_m: 500.0,
        wound_length_m: 300.0,
        bend_radius_m: Some(0.15),
    };
    criterion.bench_function("fiber_transmission", |b| {
        b.iter(|| black_box(&path).transmission_ratio(black_box(&run)));
    });
    criterion.bench_function("fiber_itemised", |b| {
        b.iter(|| black_box(&path).itemise(black_box(800.0), black_box(&run)));
    });
    let pack = WoundPack {
        inner_radius_m: 0.15,
        width_m: 0.2,
        line_diameter_m: 1.5e-3,
        packing: Packing::Hexagonal,
        conductivity_w_per_m_k: 0.25,
        surface_coefficient_w_per_m2_k: 8.0,
        ambient_temp_k: 303.15,
    };
    criterion.bench_function("fiber_drum_heat", |b| {
        b.iter(|| black_box(&path).drum_heat(black_box(800.0), black_box(&run), &pack));
    });
}

fn beam(criterion: &mut Criterion) {
    let facing = BeamRun::facing(1064e-9, 1000.0);
    let aside = BeamRun { offset_along_m: 0.05, ..facing };
    let tilted = BeamRun { incidence_rad: 0.6, ..aside };
    let disc = beam_path(Aperture::Round { radius_m: 0.15 });
    let square = beam_path(Aperture::Rectangle { half_width_m: 0.15, half_height_m: 0.15 });
    for (name, path, run) in [
        ("beam_disc_facing", &disc, &facing),
        ("beam_disc_aside", &disc, &aside),
        ("beam_disc_tilted", &disc, &tilted),
        ("beam_square_tilted", &square, &tilted),
    ] {
        criterion.bench_function(name, |b| b.iter(|| black_box(path).transmission_ratio(black_box(run))));
    }
    let loiter = Loiter {
        centre_distance_m: 500.0,
        height_m: 400.0,
        radius_m: 150.0,
        bank_rad: 0.4,
        facing: Facing::Down,
    };
    criterion.bench_function("loiter_summary", |b| b.iter(|| black_box(&loiter).summary()));
}

criterion_group!(benches, fiber, beam);
criterion_main!(benches);
