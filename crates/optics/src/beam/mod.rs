//! Free beam: optics on the ground, air, aim and aperture in; light on the receiver and beside it out.

pub mod capture;
pub mod extinction;
pub mod gas;
mod gaussian;
pub mod geometry;
mod path;
pub mod turbulence;

pub use capture::{Aperture, Spot};
pub use extinction::{Air, VisibilityModel};
pub use gaussian::{Beam, Focus};
pub use geometry::{Facing, Loiter, LoiterSummary, MinMeanMax, Sight};
pub use path::{BeamRun, Footprint, FreeBeamParts, FreeBeamPath};
pub use turbulence::{SpreadModel, Turbulence};
