//! How long the program takes from its start to its end: what a person waits for, and what a script pays for each call.

#![allow(missing_docs, clippy::expect_used, reason = "a bench of a program that does not run must stop")]

use std::{
    path::Path,
    process::{Command, Stdio},
};

use criterion::{Criterion, criterion_group, criterion_main};

/// Runs the binary at the root of the repository.
fn run(words: &[&str]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let status = Command::new(env!("CARGO_BIN_EXE_beamstay"))
        .args(words)
        .current_dir(root)
        .stdout(Stdio::null())
        .status()
        .expect("the program starts");
    assert!(status.success(), "{words:?}: {status}");
}

fn start(c: &mut Criterion) {
    c.bench_function("start/help", |b| b.iter(|| run(&["--help"])));
    c.bench_function("start/point", |b| b.iter(|| run(&["point", "scenarios/breakwater-lookout.json"])));
}

criterion_group!(benches, start);
criterion_main!(benches);
