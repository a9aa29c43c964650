//! What several beamstay crates share and no single model owns: constants, range checks, bracketing root and
//! minimum finders, monotone interpolation and quadrature. Numbers in, numbers or typed errors out.
//!
//! Searches over whole scenarios use `argmin` in the planner; the finders here are for the inner loops of the
//! physics crates, where a call must cost tens of nanoseconds and allocate nothing
//! (`docs/decisions/root-finding.md`).

pub mod constants;
pub mod domain;
pub mod interpolate;
pub mod minimum;
pub mod quadrature;
pub mod root;
