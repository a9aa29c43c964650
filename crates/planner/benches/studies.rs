//! How long the studies take that ask many operating points.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "a bench of a shipped scenario that does not load must stop"
)]

use beamstay_planner::{
    Document, load,
    region::{RegionQuestion, region},
    search::{question, search},
};
use criterion::{Criterion, criterion_group, criterion_main};

fn studies(c: &mut Criterion) {
    let text = include_str!("../../../scenarios/breakwater-lookout.json");
    let document = Document::parse(text).expect("a shipped scenario is JSON");
    let loaded = load(&document).expect("a shipped scenario fits its types");
    let (x, y) = ("/station/height_m=10..148:40", "/payload/mass_kg=0..3.6:40");
    let map = RegionQuestion::parse(&loaded, Some(x), Some(y), Some("0,5,10,15")).expect("a region");
    let mut group = c.benchmark_group("studies");
    group.sample_size(10);
    group.bench_function("region/40x40x4", |b| b.iter(|| region(&document, &loaded, &map, &|_, _| {})));
    let free = [
        "/station/height_m=1..150",
        "/payload/mass_kg=0..4",
        "/station/downwind_m=-150..150",
        "/station/crosswind_m=-50..50",
        "/station/winch/drum_tension/drum_tension_n=0..120",
    ]
    .map(str::to_owned);
    let five = question(&loaded, "max:/payload/mass_kg*/station/height_m", &free, 1).expect("a question");
    group.bench_function("search/5", |b| b.iter(|| search(&loaded, &five)));
    group.finish();
}

criterion_group!(benches, studies);
criterion_main!(benches);
