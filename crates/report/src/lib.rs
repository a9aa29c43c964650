//! Planner results in; text, figures and pages out. One formatter turns numbers into text for all of them.

pub mod chapter;
pub mod content;
pub mod figure;
pub mod number;
pub mod page;
