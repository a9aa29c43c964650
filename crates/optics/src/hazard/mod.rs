//! Eye and skin hazard of continuous laser light from 700 to 1800 nm: power, wavelength and geometry go in; exposure
//! limits, class and hazard distances come out, each with the edition, time and aperture it rests on.
//!
//! # What these figures are
//!
//! Planning figures. They do not replace the laser safety officer, who decides with the text of the standard in hand. Where
//! two published forms differ, the longer distance is returned; where a figure was not seen in print it is marked
//! ([`Status::FromMemory`], [`Status::Assumed`]) and used only where it lengthens a distance. No loss in the air, no
//! aversion response and no blink is credited: the light is invisible.
//!
//! # What they leave out
//!
//! Pulsed light, wavelengths outside 700 to 1800 nm, focusing by curved mirrors or by turbulence, fire, and the falling
//! aircraft.

pub mod class;
pub mod distance;
pub mod exposure_limit;
mod source;

pub use class::{EmissionLimits, LaserClass};
pub use distance::{Assessment, Conditions, HazardDistance, HazardDistances};
pub use exposure_limit::{Basis, Edition, Exposure, ExposureLimit, Status};
pub use source::{
    CollimatedBeam, DiffuseReflection, FiberEnd, FiberLight, Form, FormDistance, Forms, Source,
};
