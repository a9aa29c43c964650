//! How long one year of hours takes, on one core, curve of operating points included.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "a bench of a shipped scenario that does not load must stop"
)]

use std::hint::black_box;

use beamstay_planner::{Document, WeatherSeries, endurance_report, load};
use criterion::{Criterion, criterion_group, criterion_main};

fn year(c: &mut Criterion) {
    let document = Document::parse(include_str!("../../../scenarios/breakwater-year.json"))
        .expect("a shipped scenario is JSON");
    let loaded = load(&document).expect("a shipped scenario fits its types");
    let series = WeatherSeries::from_csv_str(include_str!("../../../scenarios/weather/jfk-2013-hourly.csv"))
        .expect("a shipped record is read");
    let mut group = c.benchmark_group("endurance");
    group.sample_size(10);
    group.bench_function("breakwater-year", |b| {
        b.iter(|| endurance_report(black_box(&document), black_box(&loaded), Some(black_box(&series))))
    });
    group.finish();
}

criterion_group!(benches, year);
criterion_main!(benches);
