//! What several beamstay crates share and no single model owns: constants, range checks, bracketing root and
//! minimum finders, monotone interpolation and quadrature; low-discrepancy points, distributions, percentiles and
//! sensitivities. Numbers in, numbers or typed errors out.
//!
//! Searches over whole scenarios use `argmin` in the planner; the finders here are for the inner loops of the
//! physics crates, where a call must cost tens of nanoseconds and allocate nothing
//! (`docs/decisions/root-finding.md`).

pub mod constants;
pub mod distribution;
pub mod domain;
pub mod interpolate;
pub mod minimum;
pub mod normal;
pub mod percentiles;
pub mod proportion;
pub mod quadrature;
pub mod random;
pub mod root;
pub mod sensitivity;
pub mod sobol;
