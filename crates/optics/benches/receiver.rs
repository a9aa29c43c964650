//! How long does one receiver operation take? Goals: 5 µs with even light, 50 µs with twelve unevenly lit cells, cell
//! temperature included.

#![allow(clippy::unwrap_used, missing_docs, reason = "a bench may stop")]

use std::hint::black_box;

use beamstay_electrical::{Converter, ConverterSpec};
use beamstay_environment::fluid::Fluid;
use beamstay_optics::receiver::{
    Cell, CellSpec, CooledSink, Draw, FinSink, FinSinkSpec, Receiver, ReceiverSpec, Shares,
};
use criterion::{Criterion, criterion_group, criterion_main};

const AIR: Fluid = Fluid {
    temperature_k: 303.15,
    pressure_pa: 101_325.0,
    density_kg_m3: 1.164,
    dynamic_viscosity_pa_s: 1.872e-5,
    thermal_conductivity_w_per_m_k: 0.02588,
    specific_heat_j_per_kg_k: 1007.0,
    speed_of_sound_m_s: 349.0,
};

fn receiver(shares: Option<Shares>, parallel_count: u32) -> Receiver {
    Receiver::new(ReceiverSpec {
        cell: Cell::new(CellSpec::gallium_arsenide(1e-4)).unwrap(),
        series_count: 12 / parallel_count,
        parallel_count,
        shares,
        reflection_ratio: 0.03,
        sink: FinSink::new(FinSinkSpec::aluminium(0.12, 0.10, 0.03)).unwrap(),
        junction_to_sink_k_per_w: 0.03,
        tracking_efficiency_ratio: 0.99,
        converter: Converter::new(ConverterSpec::airborne(200.0)).unwrap(),
        optics_kg: 0.05,
        housing_kg: 0.1,
    })
    .unwrap()
}

fn benches(c: &mut Criterion) {
    let at = |receiver: &Receiver, cooling: &CooledSink, draw: Draw| {
        receiver.operate(black_box(300.0), 808e-9, cooling, draw).unwrap()
    };
    let even = receiver(None, 1);
    let wake = even.spec().sink.cooled_by(&AIR, 6.0).unwrap();
    let still = even.spec().sink.cooled_by(&AIR, 0.0).unwrap();
    c.bench_function("cooled_by", |b| b.iter(|| even.spec().sink.cooled_by(&AIR, black_box(6.0)).unwrap()));
    c.bench_function("even_maximum_power", |b| b.iter(|| at(&even, &wake, Draw::MaximumPower)));
    c.bench_function("even_maximum_power_still_air", |b| b.iter(|| at(&even, &still, Draw::MaximumPower)));
    c.bench_function("even_demand", |b| b.iter(|| at(&even, &wake, Draw::Bus(80.0))));
    c.bench_function("even_load_lost", |b| b.iter(|| at(&even, &wake, Draw::Nothing)));
    c.bench_function("arriving_for_bus", |b| {
        b.iter(|| even.arriving_for_bus(black_box(100.0), 808e-9, &wake, 1000.0).unwrap())
    });
    let shares = Shares::pie_sectors(12, 1.5, 1.0, 0.1).unwrap();
    let pie = receiver(Some(shares), 1);
    c.bench_function("uneven_12_in_series", |b| b.iter(|| at(&pie, &wake, Draw::MaximumPower)));
    c.bench_function("uneven_12_in_series_demand", |b| b.iter(|| at(&pie, &wake, Draw::Bus(60.0))));
    let bypassed = pie.with_bypass_diodes(0.4).unwrap();
    c.bench_function("uneven_12_bypassed", |b| b.iter(|| at(&bypassed, &wake, Draw::MaximumPower)));
    let strings = receiver(Some(shares), 2);
    c.bench_function("uneven_6_by_2", |b| b.iter(|| at(&strings, &wake, Draw::MaximumPower)));
}

criterion_group! {
    name = receiver_benches;
    config = Criterion::default()
        .measurement_time(std::time::Duration::from_millis(600))
        .warm_up_time(std::time::Duration::from_millis(200))
        .sample_size(20);
    targets = benches
}
criterion_main!(receiver_benches);
