//! How long one trim takes: `cargo bench -p beamstay-vehicle`.

use std::hint::black_box;

use beamstay_environment::fluid::Fluid;
use beamstay_rotor::{
    BladeRotor, BladeRotorInputs, BladeStation, Control, DiskRotor, DiskRotorInputs, Drive, EfficiencyDrive,
    Rotor, RotorError, Section, SpeedLaw,
};
use beamstay_vehicle::{
    Arrangement, DragArea, Failure, FixedWing, FixedWingInputs, Load, Multirotor, MultirotorInputs, Orbit,
    Polar, Propulsion, RotorSet, RotorSetInputs, VehicleError, WingLoad,
};
use criterion::{Criterion, criterion_group, criterion_main};

const AIR: Fluid = Fluid {
    temperature_k: 288.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.225,
    dynamic_viscosity_pa_s: 1.789e-5,
    thermal_conductivity_w_per_m_k: 0.0253,
    specific_heat_j_per_kg_k: 1005.0,
    speed_of_sound_m_s: 340.3,
};

fn disk() -> Result<Rotor, RotorError> {
    let mut inputs = DiskRotorInputs::with_figure_of_merit(0.381, 0.65);
    inputs.speed = Some(SpeedLaw::ThrustCoefficient(0.0125));
    Ok(Rotor::Disk(DiskRotor::new(inputs)?))
}

/// Planform of a slow-flyer propeller, 10 in by 4.7 in (UIUC Propeller Database, some of its stations), enlarged to
/// 0.381 m.
fn blades() -> Result<Rotor, RotorError> {
    const STATIONS: [(f64, f64, f64); 9] = [
        (0.15, 0.109, 21.11),
        (0.25, 0.156, 24.65),
        (0.35, 0.193, 22.78),
        (0.45, 0.216, 19.00),
        (0.55, 0.226, 15.33),
        (0.70, 0.210, 11.36),
        (0.85, 0.157, 8.36),
        (0.95, 0.087, 6.15),
        (1.00, 0.042, 5.04),
    ];
    let stations = STATIONS
        .iter()
        .map(|&(radius_ratio, chord_ratio, pitch_deg)| BladeStation {
            radius_ratio,
            chord_ratio,
            pitch_rad: f64::to_radians(pitch_deg),
        })
        .collect();
    Ok(Rotor::Blade(BladeRotor::new(BladeRotorInputs {
        diameter_m: 0.381,
        blade_count: 2,
        stations,
        section: Section::SMALL_PROPELLER,
        control: Control::Speed { max_speed_rad_s: 900.0 },
        max_tip_mach: 0.7,
    })?))
}

fn multirotor(rotor: Rotor) -> Result<Multirotor, VehicleError> {
    let rotors = RotorSet::new(RotorSetInputs {
        rotor,
        rotor_count: 4,
        arrangement: Arrangement::Single,
        drive: Drive::Efficiency(EfficiencyDrive::new(0.8, 0.95)?),
        bus_voltage_v: 48.0,
        max_thrust_each_n: Some(30.0),
    })?;
    Multirotor::new(MultirotorInputs {
        rotors,
        empty_mass_kg: 3.0,
        body_drag: DragArea::spheroid(0.03, 0.08)?,
        guard_ring: None,
        rotor_drag_s_per_m: 0.0,
        max_tilt_deg: 30.0,
        avionics_w: 10.0,
    })
}

fn wing() -> Result<FixedWing, VehicleError> {
    FixedWing::new(FixedWingInputs {
        empty_mass_kg: 4.0,
        wing_area_m2: 0.8,
        polar: Polar::from_span_efficiency(0.03, 12.0, 0.85, 1.3)?,
        propulsion: Propulsion::Efficiency {
            propeller_ratio: 0.7,
            drive_ratio: 0.8,
            max_shaft_w: Some(400.0),
        },
        avionics_w: 8.0,
        max_bank_deg: 45.0,
        max_load_factor: 3.0,
        stall_margin_ratio: 1.2,
    })
}

fn run(c: &mut Criterion) -> Result<(), VehicleError> {
    let load = Load::hover(5.0).with_wind([9.0, 1.0, 0.0]).with_external_force([5.0, 1.0, -14.0]);
    let aircraft = multirotor(disk()?)?;
    c.bench_function("multirotor_trim_disk", |b| b.iter(|| aircraft.trim(black_box(&load), &AIR)));
    let bladed = multirotor(blades()?)?;
    c.bench_function("multirotor_trim_blades", |b| b.iter(|| bladed.trim(black_box(&load), &AIR)));
    c.bench_function("multirotor_balance", |b| b.iter(|| aircraft.balance(black_box(&load), &AIR)));
    c.bench_function("rotor_out", |b| {
        b.iter(|| aircraft.rotor_out(black_box(&load), Failure::OneRotor, &AIR));
    });
    let (wing, orbit) = (wing()?, Orbit { radius_m: 100.0, wind_m_s: 5.0 });
    c.bench_function("wing_loiter", |b| {
        b.iter(|| wing.loiter(black_box(&WingLoad::free(5.0)), &orbit, 16.0, &AIR));
    });
    c.bench_function("wing_best_loiter", |b| {
        b.iter(|| wing.best_loiter(black_box(&WingLoad::free(5.0)), &orbit, &AIR));
    });
    Ok(())
}

fn bench(c: &mut Criterion) {
    if let Err(error) = run(c) {
        eprintln!("{error}");
        std::process::exit(1);
    }
}

criterion_group!(benches, bench);
criterion_main!(benches);
