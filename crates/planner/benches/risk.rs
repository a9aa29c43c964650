//! How long 100,000 draws take on all cores, and the trade of a receiver.

#![allow(
    missing_docs,
    clippy::expect_used,
    reason = "a bench of a shipped scenario that does not load must stop"
)]

use std::hint::black_box;

use beamstay_planner::{
    Document, load,
    receiver::receiver_trade,
    remedy::remedy,
    risk::{RiskOptions, risk},
};
use criterion::{Criterion, criterion_group, criterion_main};

fn studies(c: &mut Criterion) {
    let text = include_str!("../../../scenarios/breakwater-lookout.json");
    let document = Document::parse(text).expect("a shipped scenario is JSON");
    let loaded = load(&document).expect("a shipped scenario loads");
    let mut group = c.benchmark_group("study/breakwater-lookout");
    group.sample_size(10);
    let options = RiskOptions { draws_count: 100_000, samples_count: 0, seed: 1 };
    group.bench_function("risk/100000 draws", |b| {
        b.iter(|| risk(black_box(&document), &loaded, &options, &|_, _| {}))
    });
    group.bench_function("remedy", |b| b.iter(|| remedy(black_box(&document), &loaded, &|_, _| {})));
    group
        .bench_function("receiver", |b| b.iter(|| receiver_trade(black_box(&document), &loaded, &|_, _| {})));
    group.finish();
}

criterion_group!(benches, studies);
criterion_main!(benches);
