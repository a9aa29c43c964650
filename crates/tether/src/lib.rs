//! Cross-section, steady shape in a flow, limits and drum of a tether.

pub mod drag;
