//! Cost of one rotor call: an actuator disk must stay below 0.3 µs, blades below 10 µs, so that a trim of a multirotor stays
//! below 2 µs and 60 µs.
#![allow(missing_docs, clippy::unwrap_used)]

use std::hint::black_box;

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Inflow, Section,
};
use criterion::{Criterion, criterion_group, criterion_main};

const AIR: Fluid = Fluid {
    temperature_k: 288.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.225,
    dynamic_viscosity_pa_s: 1.7894e-5,
    thermal_conductivity_w_per_m_k: 0.025_3,
    specific_heat_j_per_kg_k: 1005.0,
    speed_of_sound_m_s: 340.294,
};

const STREAMS: [(&str, Inflow); 4] = [
    ("hover", Inflow::HOVER),
    ("climb", Inflow { axial_m_s: 3.0, edgewise_m_s: 0.0 }),
    ("edgewise", Inflow { axial_m_s: 2.0, edgewise_m_s: 10.0 }),
    ("vortex ring", Inflow { axial_m_s: -6.0, edgewise_m_s: 1.0 }),
];

fn blade_rotor() -> BladeRotor {
    let station = |radius_ratio: f64| BladeStation {
        radius_ratio,
        chord_ratio: 0.22 - 0.15 * radius_ratio,
        pitch_rad: 0.45 - 0.35 * radius_ratio,
    };
    BladeRotor::new(BladeRotorInputs {
        diameter_m: 0.381,
        blade_count: 2,
        stations: (3..=20).map(|i| station(f64::from(i) * 0.05)).collect(),
        section: Section::SMALL_PROPELLER,
        control: Control::Speed { max_speed_rad_s: 1200.0 },
        max_tip_mach: 0.7,
    })
    .unwrap()
}

fn operate(c: &mut Criterion) {
    let disk = DiskRotor::new(DiskRotorInputs::with_figure_of_merit(0.381, 0.65)).unwrap();
    let blade = blade_rotor();
    for (name, inflow) in STREAMS {
        c.bench_function(&format!("disk, {name}"), |b| {
            b.iter(|| disk.operate(black_box(10.0), black_box(inflow), &AIR).unwrap());
        });
        c.bench_function(&format!("blade, {name}"), |b| {
            b.iter(|| blade.operate(black_box(10.0), black_box(inflow), &AIR).unwrap());
        });
    }
}

criterion_group!(benches, operate);
criterion_main!(benches);
