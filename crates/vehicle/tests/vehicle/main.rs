//! Vehicles as a caller sees them: limits from both sides, physical monotony, failures, and a hundred thousand random
//! vehicles that must neither panic nor return a number that is not one.

mod failures;
mod fixtures;
mod limits;
mod physics;
mod random;
