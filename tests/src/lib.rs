//! Published checks of beamstay: values from outside the project, read from `cases/*.json`, and the models that are
//! held against them. The test `published` runs every case under its own name; the binary `validation` writes
//! `docs/validation.md` from the same files.

pub mod case;
pub mod clock;
pub mod docs;
pub mod hostile;
pub mod models;
pub mod schema;

/// The examples of the library guide, compiled and run.
#[cfg(doctest)]
#[doc = include_str!("../../docs/library.md")]
pub struct LibraryGuide;
