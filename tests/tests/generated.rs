//! The generated pages are those that are committed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use std::fs;

use beamstay_tests::docs::{pages, root};

#[test]
fn pages_are_up_to_date() {
    for page in pages().unwrap() {
        let committed = fs::read_to_string(root().join(page.path)).unwrap_or_default();
        let same = committed.replace("\r\n", "\n") == page.text;
        assert!(same, "{} is out of date: run `cargo run -p beamstay-tests --bin generate`", page.path);
    }
}
