//! Vehicles as a caller sees them: limits from both sides, physical monotony, failures, and a hundred thousand random
//! vehicles that must neither panic nor return a number that is not one.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside test functions")]

mod failures;
mod fixtures;
mod limits;
mod physics;
mod random;
