//! How long one operating point takes, warm, on one core.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "a bench of a shipped scenario that does not load must stop"
)]

use std::hint::black_box;

use beamstay_planner::{System, from_value, system::craft::Acting};
use criterion::{Criterion, criterion_group, criterion_main};

fn point(c: &mut Criterion) {
    for (name, text) in [
        ("breakwater-lookout", include_str!("../../../scenarios/breakwater-lookout.json")),
        ("ridge-relay", include_str!("../../../scenarios/ridge-relay.json")),
        ("quarry-watch", include_str!("../../../scenarios/quarry-watch.json")),
        ("free-beam-loiter", include_str!("../../../scenarios/free-beam-loiter.json")),
    ] {
        let value = serde_json::from_str(text).expect("a shipped scenario is JSON");
        let scenario = from_value(&value).expect("a shipped scenario fits its types");
        let system = System::new(&scenario).expect("a shipped scenario builds");
        let place = system.place(&scenario.station).expect("a shipped scenario has a place");
        let warm = system.solve(&place, None).expect("a shipped scenario is solved");
        c.bench_function(&format!("point/{name}/cold"), |b| b.iter(|| system.operate(black_box(&place))));
        c.bench_function(&format!("point/{name}/warm"), |b| {
            b.iter(|| system.solve(black_box(&place), Some(&warm)))
        });
        let hanging = system.hang(&place, None).expect("a shipped tether hangs");
        c.bench_function(&format!("point/{name}/hung"), |b| {
            b.iter(|| system.operate_on(black_box(&place), &hanging))
        });
        let acting = Acting {
            mass_kg: system.masses.total_kg(),
            position_m: place.position_m,
            stream: &system.surroundings.mean,
            tether_pull_n: [5.0, 0.0, -14.0].into(),
        };
        c.bench_function(&format!("point/{name}/craft"), |b| {
            b.iter(|| system.craft.balance_in_gust(black_box(&acting)))
        });
        c.bench_function(&format!("point/{name}/read"), |b| b.iter(|| from_value(black_box(&value))));
        c.bench_function(&format!("point/{name}/build"), |b| b.iter(|| System::new(black_box(&scenario))));
    }
}

criterion_group!(benches, point);
criterion_main!(benches);
