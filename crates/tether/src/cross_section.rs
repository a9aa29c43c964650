//! Layers from the inside out go in; mass, outer diameter, axial stiffness, breaking load and the strain of the glass
//! come out. What was measured on the finished line overrides what is computed, and the result says so.

mod layer;
mod members;

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

pub use layer::{Elements, Extent, Layer, Part, Ring, YARN_REALIZATION_RATIO};
use layer::{NoRoom, Room};
use members::{Member, breaking_load_n, total_stiffness_n};

use crate::{drag::NormalDrag, error::TetherError, line::Line};

/// What was measured on the finished line; each entry overrides the computed one.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Measured {
    /// Mass, kg/m (10⁻⁷ to 100).
    pub mass_kg_per_m: Option<f64>,
    /// Outer diameter, m (1 µm to 0.2 m).
    pub outer_diameter_m: Option<f64>,
    /// Force for a strain of 1, N (10⁻³ to 10¹²).
    pub axial_stiffness_n: Option<f64>,
    /// Breaking load, N (10⁻³ to 10⁷).
    pub breaking_load_n: Option<f64>,
}

/// Where a figure of a cross-section comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Provenance {
    /// Measured on the finished line.
    Measured,
    /// Computed from the layers.
    Computed,
}

/// A figure of a cross-section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The figure that counts, in the unit that the field or method it comes from names.
    pub value: f64,
    /// Where it comes from.
    pub provenance: Provenance,
    /// What the layers give, in the same unit, also where it was overridden; `None` without layers.
    pub computed: Option<f64>,
}

impl Figure {
    fn new(measured: Option<f64>, computed: Option<f64>) -> Option<Self> {
        let (value, provenance) = match (measured, computed) {
            (Some(value), _) => (value, Provenance::Measured),
            (None, Some(value)) => (value, Provenance::Computed),
            (None, None) => return None,
        };
        Some(Self { value, provenance, computed })
    }

    /// How far the figure lies from the computed one, as a share of that; 0 if nothing was overridden. Beyond about 0.3
    /// a layer or a unit is probably wrong.
    pub fn deviation_ratio(&self) -> f64 {
        self.computed.map_or(0.0, |computed| (self.value - computed) / computed)
    }
}

/// What one layer contributes.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LayerSummary {
    /// What it is for.
    pub part: Part,
    /// Diameter under it, m.
    pub inner_diameter_m: f64,
    /// Diameter over it, m.
    pub outer_diameter_m: f64,
    /// Area of its solid across its own fibers, m².
    pub solid_area_m2: f64,
    /// Share of its ring that is solid.
    pub fill_ratio: f64,
    /// Mass per metre of line, kg/m.
    pub mass_kg_per_m: f64,
    /// Force along the line for a strain of 1, N; 0 if it carries nothing.
    pub stiffness_n: f64,
    /// Its share of the tension while nothing is broken, 0 to 1.
    pub load_share_ratio: f64,
}

/// A cross-section with all its figures settled.
///
/// # Examples
/// A 440 µm glass in acrylate and ETFE, aramid and a polyurethane jacket:
/// ```
/// use beamstay_tether::cross_section::{CrossSection, Layer, Measured, Part, Provenance};
/// use beamstay_tether::material::Handbook::{Acrylate, AramidHighModulus, Etfe, FusedSilica, Polyurethane};
///
/// let layers = || vec![
///     Layer::solid(Part::Core, FusedSilica.material(), 400e-6),
///     Layer::solid(Part::Cladding, FusedSilica.material(), 440e-6),
///     Layer::solid(Part::Coating, Acrylate.material(), 560e-6),
///     Layer::solid(Part::Buffer, Etfe.material(), 900e-6),
///     Layer::yarn_within(AramidHighModulus.material(), 0.6e-6, 1.6e-3),
///     Layer::solid(Part::Jacket, Polyurethane.material(), 2.0e-3),
/// ];
/// let section = CrossSection::new(layers(), Measured::default())?;
/// assert!((section.mass_kg_per_m() - 3.3411052e-3).abs() < 1e-9);
/// assert!((section.axial_stiffness_n().unwrap() - 73_887.8).abs() < 0.1);
///
/// let weighed = Measured { mass_kg_per_m: Some(3.5e-3), ..Measured::default() };
/// let section = CrossSection::new(layers(), weighed)?;
/// assert_eq!(section.mass_kg_per_m(), 3.5e-3);
/// assert_eq!(section.mass().provenance, Provenance::Measured);
/// # Ok::<(), beamstay_tether::TetherError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct CrossSection {
    layers: Vec<LayerSummary>,
    members: Vec<Member>,
    glass_diameter_m: Option<f64>,
    mass: Figure,
    outer_diameter: Figure,
    axial_stiffness: Option<Figure>,
    breaking_load: Option<Figure>,
    depth: u32,
}

/// Most layers of one cross-section, and most load-bearing members with those of its elements.
const MAX_LAYERS_COUNT: usize = 64;
const MAX_MEMBERS_COUNT: usize = 4096;

/// How deep elements may be nested: a line of cables of fibers of glass needs three.
const MAX_DEPTH: u32 = 8;

impl CrossSection {
    /// Stacks the layers from the inside out and applies what was measured. Without layers the mass and the diameter
    /// have to be measured; stiffness and breaking load stay unknown unless they are measured too.
    ///
    /// # Errors
    /// [`TetherError`]: a number outside its range ([`TetherError::Layer`] names the layer), a layer that ends inside
    /// the one before, more solid than its ring holds, more elements than fit, no layers and no measurement.
    pub fn new(layers: Vec<Layer>, measured: Measured) -> Result<Self, TetherError> {
        measured.check()?;
        in_range("number of layers", "", layers.len() as f64, 0.0, MAX_LAYERS_COUNT as f64)?;
        let mut stack = Stack::default();
        for layer in &layers {
            stack.add(layer)?;
        }
        stack.settle(measured)
    }

    /// Mass per metre of line, kg/m.
    pub fn mass_kg_per_m(&self) -> f64 {
        self.mass.value
    }

    /// Outer diameter, m.
    pub fn outer_diameter_m(&self) -> f64 {
        self.outer_diameter.value
    }

    /// Force for a strain of 1, N; `None` if nothing carries load and nothing was measured.
    pub fn axial_stiffness_n(&self) -> Option<f64> {
        self.axial_stiffness.map(|figure| figure.value)
    }

    /// Largest tension that the line bears, N, be it that the glass is broken by then
    /// ([`Self::glass_breaking_load_n`]); `None` if nothing carries load and nothing was measured. Computed: members break in the
    /// order of their breaking strains, what is intact carries the rest, all linear to the break.
    pub fn breaking_load_n(&self) -> Option<f64> {
        self.breaking_load.map(|figure| figure.value)
    }

    /// Mass with its provenance, kg/m.
    pub fn mass(&self) -> Figure {
        self.mass
    }

    /// Outer diameter with its provenance, m.
    pub fn outer_diameter(&self) -> Figure {
        self.outer_diameter
    }

    /// Axial stiffness with its provenance, N.
    pub fn axial_stiffness(&self) -> Option<Figure> {
        self.axial_stiffness
    }

    /// Breaking load with its provenance, N.
    pub fn breaking_load(&self) -> Option<Figure> {
        self.breaking_load
    }

    /// What each layer contributes, from the inside out. These are the computed figures, whatever was measured.
    pub fn layers(&self) -> &[LayerSummary] {
        &self.layers
    }

    /// Diameter of the thickest glass, m: the one whose bend stress is the largest. `None` without glass.
    pub fn glass_diameter_m(&self) -> Option<f64> {
        self.glass_diameter_m
    }

    /// Strain of the line at a tension in N, T/EA; `None` without stiffness.
    pub fn strain(&self, tension_n: f64) -> Option<f64> {
        self.axial_stiffness_n().map(|stiffness_n| tension_n / stiffness_n)
    }

    /// Largest axial stress in a glass at a tension in N, Pa; `None` without load-bearing glass or without stiffness.
    ///
    /// # Examples
    /// ```
    /// use beamstay_tether::cross_section::{CrossSection, Layer, Measured, Part};
    /// use beamstay_tether::material::Handbook::FusedSilica;
    /// let bare = vec![Layer::solid(Part::Cladding, FusedSilica.material(), 125e-6)];
    /// let fiber = CrossSection::new(bare, Measured::default()).unwrap();
    /// assert!((fiber.glass_stress_pa(8.461140).unwrap() / 689.4757e6 - 1.0).abs() < 1e-6);
    /// ```
    pub fn glass_stress_pa(&self, tension_n: f64) -> Option<f64> {
        Some(self.glass_stress_per_strain_pa()? * self.strain(tension_n)?)
    }

    /// Tension in N at which a glass reaches an axial stress in Pa; `None` without load-bearing glass or without
    /// stiffness.
    pub fn tension_at_glass_stress_n(&self, glass_stress_pa: f64) -> Option<f64> {
        Some(glass_stress_pa / self.glass_stress_per_strain_pa()? * self.axial_stiffness_n()?)
    }

    /// Tension in N at which the first glass reaches its strength, that is its proof stress, and light may be lost;
    /// `None` without load-bearing glass or without stiffness.
    pub fn glass_breaking_load_n(&self) -> Option<f64> {
        let weakest = self.glass().map(|member| member.failure_strain).reduce(f64::min)?;
        Some(weakest * self.axial_stiffness_n()?)
    }

    fn glass(&self) -> impl Iterator<Item = &Member> {
        self.members.iter().filter(|member| member.is_glass)
    }

    fn glass_stress_per_strain_pa(&self) -> Option<f64> {
        self.glass().map(|member| member.stress_per_strain_pa).reduce(f64::max)
    }

    /// The line as the shape solver sees it. In water the whole outer cross-section displaces; in air buoyancy is left
    /// out by convention. A line without known stiffness does not stretch.
    pub fn line(&self, normal_drag: NormalDrag, tangential_coefficient: f64, in_water: bool) -> Line {
        let diameter_m = self.outer_diameter_m();
        Line {
            mass_kg_per_m: self.mass_kg_per_m(),
            diameter_m,
            buoyancy_area_m2: if in_water { 0.25 * PI * diameter_m * diameter_m } else { 0.0 },
            axial_stiffness_n: self.axial_stiffness_n(),
            normal_drag,
            tangential_coefficient,
        }
    }
}

impl Measured {
    fn check(&self) -> Result<(), TetherError> {
        let ranges = [
            ("measured mass per metre", "kg/m", self.mass_kg_per_m, 1e-7, 100.0),
            ("measured diameter", "m", self.outer_diameter_m, 1e-6, 0.2),
            ("measured axial stiffness", "N", self.axial_stiffness_n, 1e-3, 1e12),
            ("measured breaking load", "N", self.breaking_load_n, 1e-3, 1e7),
        ];
        for (quantity, unit, value, min, max) in ranges {
            if let Some(value) = value {
                in_range(quantity, unit, value, min, max)?;
            }
        }
        Ok(())
    }
}

/// Layers put on so far.
#[derive(Default)]
struct Stack {
    diameter_m: f64,
    layers: Vec<LayerSummary>,
    members: Vec<Member>,
    glass_diameter_m: Option<f64>,
    depth: u32,
}

impl Stack {
    fn add(&mut self, layer: &Layer) -> Result<(), TetherError> {
        let number = self.layers.len() + 1;
        let room = match layer {
            Layer::Ring(ring) => ring.room(self.diameter_m),
            Layer::Elements(elements) => elements.room(self.diameter_m),
        }
        .map_err(|no_room| no_room.in_layer(number, self.diameter_m, layer))?;
        let first_member = self.members.len();
        let mass_kg_per_m = match layer {
            Layer::Ring(ring) => self.add_ring(ring, &room),
            Layer::Elements(elements) => self.add_elements(elements)?,
        };
        in_range(
            "number of load-bearing members",
            "",
            self.members.len() as f64,
            0.0,
            MAX_MEMBERS_COUNT as f64,
        )?;
        self.layers.push(LayerSummary {
            part: layer.part(),
            inner_diameter_m: self.diameter_m,
            outer_diameter_m: room.outer_diameter_m,
            solid_area_m2: room.solid_area_m2,
            fill_ratio: room.fill_ratio,
            mass_kg_per_m,
            stiffness_n: total_stiffness_n(&self.members[first_member..]),
            load_share_ratio: 0.0,
        });
        self.diameter_m = room.outer_diameter_m;
        Ok(())
    }

    /// Returns the mass per metre of line.
    fn add_ring(&mut self, ring: &Ring, room: &Room) -> f64 {
        self.members.extend(Member::of_ring(self.layers.len(), ring, room));
        if ring.part.is_glass() {
            self.note_glass(room.outer_diameter_m);
        }
        ring.material.density_kg_m3 * room.solid_area_m2 / ring.lay_angle_rad.cos()
    }

    /// Returns the mass per metre of line.
    fn add_elements(&mut self, elements: &Elements) -> Result<f64, TetherError> {
        let section = &elements.section;
        self.depth = self.depth.max(section.depth + 1);
        in_range("depth of nested elements", "", f64::from(self.depth), 0.0, f64::from(MAX_DEPTH))?;
        if elements.carries_load {
            let layer = self.layers.len();
            self.members.extend(section.members.iter().map(|member| member.of_element(layer, elements)));
        }
        if let Some(glass_diameter_m) = section.glass_diameter_m {
            self.note_glass(glass_diameter_m);
        }
        Ok(f64::from(elements.count) * section.mass_kg_per_m() / elements.lay_angle_rad.cos())
    }

    fn note_glass(&mut self, diameter_m: f64) {
        self.glass_diameter_m = Some(self.glass_diameter_m.map_or(diameter_m, |known| known.max(diameter_m)));
    }

    fn settle(mut self, measured: Measured) -> Result<CrossSection, TetherError> {
        let has_layers = !self.layers.is_empty();
        let stiffness_n = total_stiffness_n(&self.members);
        let computed = |value: f64, known: bool| known.then_some(value);
        let mass_kg_per_m = self.layers.iter().map(|layer| layer.mass_kg_per_m).sum();
        let mass = Figure::new(measured.mass_kg_per_m, computed(mass_kg_per_m, has_layers));
        let outer_diameter = Figure::new(measured.outer_diameter_m, computed(self.diameter_m, has_layers));
        let breaking_n = breaking_load_n(&self.members);
        let bears = stiffness_n > 0.0;
        for layer in &mut self.layers {
            layer.load_share_ratio = if bears { layer.stiffness_n / stiffness_n } else { 0.0 };
        }
        if let (Some(measured_n), true) = (measured.axial_stiffness_n, bears) {
            for member in &mut self.members {
                member.stiffness_n *= measured_n / stiffness_n;
            }
        }
        Ok(CrossSection {
            mass: mass.ok_or(TetherError::NeitherMeasuredNorLayered { quantity: "mass per metre" })?,
            outer_diameter: outer_diameter
                .ok_or(TetherError::NeitherMeasuredNorLayered { quantity: "diameter" })?,
            axial_stiffness: Figure::new(measured.axial_stiffness_n, computed(stiffness_n, bears)),
            breaking_load: Figure::new(measured.breaking_load_n, computed(breaking_n, bears)),
            layers: self.layers,
            members: self.members,
            glass_diameter_m: self.glass_diameter_m,
            depth: self.depth,
        })
    }
}

impl NoRoom {
    fn in_layer(self, number: usize, inner_diameter_m: f64, layer: &Layer) -> TetherError {
        match self {
            Self::OutOfRange(source) => TetherError::Layer { number, fault: source },
            Self::Inside { outer_diameter_m } => {
                TetherError::LayerInside { number, outer_diameter_m, inner_diameter_m }
            }
            Self::Overfull { solid_area_m2, ring_area_m2 } => {
                TetherError::LayerOverfull { number, solid_area_m2, ring_area_m2 }
            }
            Self::Crowded { most_count } => {
                let count = if let Layer::Elements(elements) = layer { elements.count } else { 0 };
                TetherError::LayerCrowded { number, count, most_count }
            }
        }
    }
}

#[cfg(test)]
mod tests;
