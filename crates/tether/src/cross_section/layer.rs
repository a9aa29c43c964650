//! One layer of a cross-section: what it is for, what it is made of and how much room it takes.

use std::f64::consts::PI;

use beamstay_numerics::domain::{OutOfRange, in_range};

use super::CrossSection;
use crate::material::Material;

/// What a layer is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Part {
    /// Light-guiding glass.
    Core,
    /// Glass around the core.
    Cladding,
    /// Polymer put on in the drawing tower.
    Coating,
    /// Tight buffer over the coating.
    Buffer,
    /// Yarn, rod or wire that carries the load.
    Strength,
    /// Outer cover.
    Jacket,
    /// Copper or aluminium that carries current.
    Conductor,
    /// Insulation of a conductor.
    Insulation,
    /// A second fiber for data, laid beside or around the first.
    DataFiber,
    /// Gel, tape or dummy that only fills.
    Filler,
}

impl Part {
    /// Whether the part is glass, whose stress is limited by the proof test.
    pub const fn is_glass(self) -> bool {
        matches!(self, Self::Core | Self::Cladding)
    }

    /// Whether the part is counted on to carry tension unless the layer says otherwise: glass, strength members and
    /// conductors. Polymers creep away from a steady load and are left out, which puts more of it on the glass.
    pub const fn carries_load(self) -> bool {
        matches!(self, Self::Core | Self::Cladding | Self::Strength | Self::Conductor | Self::DataFiber)
    }
}

/// How much room a ring takes around what is inside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Extent {
    /// Solid out to a diameter, m.
    OuterDiameter(f64),
    /// Solid of a radial thickness, m.
    Thickness(f64),
    /// Fibers of a solid area (m², across the fibers) that fill a share of the ring they need.
    SolidArea {
        /// Area of the fibers without the space between them, m².
        area_m2: f64,
        /// Share of the ring that they fill, at most 1; yarn 0.5 to 0.7 (common practice, no source).
        fill_ratio: f64,
    },
    /// Fibers of a solid area in a ring whose outer diameter is known.
    SolidAreaWithin {
        /// Area of the fibers without the space between them, m².
        area_m2: f64,
        /// Outer diameter of the ring, m.
        outer_diameter_m: f64,
    },
}

/// Share of the yarn strength that is reached in a cable. With the 2.98 GPa of bare aramid yarn it gives 2.68 GPa, just
/// below the 2.74 to 2.94 GPa stated for bundles (as quoted from a maker's data manual of 1974).
pub const YARN_REALIZATION_RATIO: f64 = 0.9;

/// A ring of one material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// What it is for.
    pub part: Part,
    /// What it is made of.
    pub material: Material,
    /// How much room it takes.
    pub extent: Extent,
    /// Angle between its fibers and the line, rad (0 to 1); 0 for a solid.
    pub lay_angle_rad: f64,
    /// Share of the strength of the material that is reached (0.01 to 1).
    pub strength_realization_ratio: f64,
    /// Whether it is counted on to carry tension.
    pub carries_load: bool,
}

/// Equal elements that are cross-sections of their own, laid beside each other in the middle or around what is inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Elements {
    /// What they are for.
    pub part: Part,
    /// How many.
    pub count: u32,
    /// What each one is.
    pub section: CrossSection,
    /// Angle between the elements and the line, rad (0 to 1).
    pub lay_angle_rad: f64,
    /// Whether they are counted on to carry tension; `false` for fibers that lie loose with excess length.
    pub carries_load: bool,
}

/// A layer, counted from the inside out.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Layer {
    /// A ring of one material.
    Ring(Ring),
    /// Elements with a cross-section of their own.
    Elements(Elements),
}

impl Layer {
    /// A solid layer out to a diameter.
    pub fn solid(part: Part, material: Material, outer_diameter_m: f64) -> Self {
        Self::Ring(Ring {
            part,
            material,
            extent: Extent::OuterDiameter(outer_diameter_m),
            lay_angle_rad: 0.0,
            strength_realization_ratio: 1.0,
            carries_load: part.carries_load(),
        })
    }

    /// Strength yarn along the line, given by its solid area and how densely it packs; it reaches
    /// [`YARN_REALIZATION_RATIO`] of its strength.
    pub fn yarn(material: Material, area_m2: f64, fill_ratio: f64) -> Self {
        Self::Ring(Ring {
            part: Part::Strength,
            material,
            extent: Extent::SolidArea { area_m2, fill_ratio },
            lay_angle_rad: 0.0,
            strength_realization_ratio: YARN_REALIZATION_RATIO,
            carries_load: true,
        })
    }

    /// As [`Self::yarn`] for a ring whose outer diameter is known.
    pub fn yarn_within(material: Material, area_m2: f64, outer_diameter_m: f64) -> Self {
        Self::Ring(Ring {
            part: Part::Strength,
            material,
            extent: Extent::SolidAreaWithin { area_m2, outer_diameter_m },
            lay_angle_rad: 0.0,
            strength_realization_ratio: YARN_REALIZATION_RATIO,
            carries_load: true,
        })
    }

    /// Elements along the line that carry their share of the load.
    pub fn elements(part: Part, count: u32, section: CrossSection) -> Self {
        Self::Elements(Elements { part, count, section, lay_angle_rad: 0.0, carries_load: true })
    }

    /// What the layer is for.
    pub fn part(&self) -> Part {
        match self {
            Self::Ring(ring) => ring.part,
            Self::Elements(elements) => elements.part,
        }
    }
}

/// Room that a layer takes: outer diameter, and area of its solid across its own fibers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    pub outer_diameter_m: f64,
    /// Across the fibers, m².
    pub solid_area_m2: f64,
    /// Share of the ring that is solid, as cut across the line.
    pub fill_ratio: f64,
}

/// Why a layer has no room of its own.
pub(super) enum NoRoom {
    OutOfRange(OutOfRange),
    /// The outer diameter asked for is not outside what lies within.
    Inside {
        outer_diameter_m: f64,
    },
    /// More solid than the ring holds.
    Overfull {
        solid_area_m2: f64,
        ring_area_m2: f64,
    },
    /// More elements than lie side by side.
    Crowded {
        most_count: u32,
    },
}

impl From<OutOfRange> for NoRoom {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}

/// Largest outer diameter of a layer, m.
const MAX_DIAMETER_M: f64 = 0.2;

impl Ring {
    pub(super) fn room(&self, inner_m: f64) -> Result<Room, NoRoom> {
        self.material.check()?;
        in_range("lay angle", "rad", self.lay_angle_rad, 0.0, 1.0)?;
        in_range("strength realization", "", self.strength_realization_ratio, 0.01, 1.0)?;
        let cos = self.lay_angle_rad.cos();
        match self.extent {
            Extent::OuterDiameter(outer_m) => solid_ring(inner_m, outer_m, cos),
            Extent::Thickness(thickness_m) => {
                in_range("thickness of a layer", "m", thickness_m, 1e-8, 0.5 * MAX_DIAMETER_M)?;
                solid_ring(inner_m, inner_m + 2.0 * thickness_m, cos)
            }
            Extent::SolidArea { area_m2, fill_ratio } => {
                check_area(area_m2)?;
                in_range("fill of a layer", "", fill_ratio, 0.01, 1.0)?;
                let ring_m2 = area_m2 / cos / fill_ratio;
                let outer_m = (inner_m * inner_m + 4.0 / PI * ring_m2).sqrt();
                in_range("outer diameter of a layer", "m", outer_m, inner_m, MAX_DIAMETER_M)?;
                Ok(Room { outer_diameter_m: outer_m, solid_area_m2: area_m2, fill_ratio })
            }
            Extent::SolidAreaWithin { area_m2, outer_diameter_m } => {
                check_area(area_m2)?;
                let ring_m2 = solid_ring(inner_m, outer_diameter_m, 1.0)?.solid_area_m2;
                let fill_ratio = area_m2 / cos / ring_m2;
                if fill_ratio > 1.0 {
                    return Err(NoRoom::Overfull { solid_area_m2: area_m2 / cos, ring_area_m2: ring_m2 });
                }
                Ok(Room { outer_diameter_m, solid_area_m2: area_m2, fill_ratio })
            }
        }
    }
}

fn check_area(area_m2: f64) -> Result<(), OutOfRange> {
    in_range("solid area of a layer", "m²", area_m2, 1e-14, 0.02)?;
    Ok(())
}

fn solid_ring(inner_m: f64, outer_m: f64, cos: f64) -> Result<Room, NoRoom> {
    in_range("outer diameter of a layer", "m", outer_m, 1e-6, MAX_DIAMETER_M)?;
    if outer_m <= inner_m {
        return Err(NoRoom::Inside { outer_diameter_m: outer_m });
    }
    let ring_m2 = 0.25 * PI * (outer_m - inner_m) * (outer_m + inner_m);
    Ok(Room { outer_diameter_m: outer_m, solid_area_m2: ring_m2 * cos, fill_ratio: 1.0 })
}

/// Diameter of the circle around 1 to 7 equal circles, in their diameters (elementary geometry).
const BUNDLE_RATIOS: [f64; 7] = [1.0, 2.0, 2.154_700_538, 2.414_213_562, 2.701_301_617, 3.0, 3.0];

impl Elements {
    pub(super) fn room(&self, inner_m: f64) -> Result<Room, NoRoom> {
        in_range("lay angle", "rad", self.lay_angle_rad, 0.0, 1.0)?;
        in_range("number of elements", "", f64::from(self.count), 1.0, 1000.0)?;
        let d = self.section.outer_diameter_m();
        let (outer_m, most_count) = if inner_m > 0.0 {
            // Side by side on the circle of their centres.
            let half_angle = (d / (inner_m + d)).asin();
            (inner_m + 2.0 * d, (PI / half_angle * (1.0 + 1e-9)) as u32)
        } else {
            let index = (self.count as usize - 1).min(BUNDLE_RATIOS.len() - 1);
            (BUNDLE_RATIOS[index] * d, BUNDLE_RATIOS.len() as u32)
        };
        if self.count > most_count {
            return Err(NoRoom::Crowded { most_count });
        }
        in_range("outer diameter of a layer", "m", outer_m, 1e-6, MAX_DIAMETER_M)?;
        let solid_area_m2 = f64::from(self.count) * 0.25 * PI * d * d;
        let ring_m2 = 0.25 * PI * (outer_m - inner_m) * (outer_m + inner_m);
        let fill_ratio = (solid_area_m2 / self.lay_angle_rad.cos() / ring_m2).min(1.0);
        Ok(Room { outer_diameter_m: outer_m, solid_area_m2, fill_ratio })
    }
}
