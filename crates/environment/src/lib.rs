//! Air, water, wind, gusts and weather series.

pub mod flow;
pub mod fluid;
