//! The line that holds the vehicle.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::defaults;

/// The line that holds the vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Tether {
    /// Mass, diameter, stiffness and strength: measured, or computed from the layers.
    pub construction: Construction,
    /// Drag coefficient across the line.
    #[serde(default)]
    pub normal_drag: NormalDrag,
    /// What multiplies the drag: strumming raises it (1.4 at a tenth, 2 at half a diameter of amplitude by Vandiver
    /// 1983, from memory). Default 1, no strumming.
    #[serde(default = "defaults::one")]
    #[schemars(range(min = 1.0, max = 5.0))]
    pub drag_amplification_ratio: f64,
    /// Peak amplitude of strumming over the diameter. The drag is multiplied by the larger of Vandiver's and Blevins's ratio for
    /// it, unless the ratio above is larger still. Default 0, no strumming; half a diameter to one is usual where it strums
    /// (common practice, no source).
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 1.4))]
    pub strumming_amplitude_ratio: f64,
    /// Tangential drag coefficient on the projected area. Default 0.02 (Hoerner, from memory).
    #[serde(default = "defaults::tangential_coefficient")]
    #[schemars(range(min = 0.0, max = 0.5))]
    pub tangential_coefficient: f64,
    /// Radial thickness of glaze ice. Default none.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 100.0))]
    pub ice_thickness_mm: f64,
    /// Ice class of ISO 12494 (from memory), instead of a thickness; where both are given, the heavier counts. Left out,
    /// none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ice_class: Option<IceClass>,
    /// Friction on a metre that lies on the ground over its weight. Default 0: the drum feels all of the pull along the
    /// ground, and the most of the line lies. Fiber on grass or gravel 0.3 to 1 (common practice, no source).
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 5.0))]
    pub ground_friction_ratio: f64,
}

/// Ice class of ISO 12494: glaze by thickness at 900 kg/m³, rime by mass at 300 kg/m³ here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum IceClass {
    /// Glaze, 10 mm.
    G1,
    /// Glaze, 20 mm.
    G2,
    /// Glaze, 30 mm.
    G3,
    /// Glaze, 40 mm.
    G4,
    /// Glaze, 50 mm.
    G5,
    /// Rime, 0.5 kg/m.
    R1,
    /// Rime, 0.9 kg/m.
    R2,
    /// Rime, 1.6 kg/m.
    R3,
    /// Rime, 2.8 kg/m.
    R4,
    /// Rime, 5 kg/m.
    R5,
    /// Rime, 8.9 kg/m.
    R6,
    /// Rime, 16 kg/m.
    R7,
    /// Rime, 28 kg/m.
    R8,
    /// Rime, 50 kg/m.
    R9,
}

/// What the line is made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Construction {
    /// Figures of a finished line, from a scale, a caliper and a pull test.
    Measured {
        /// Mass per length.
        #[schemars(range(min = 0.01, max = 10000.0))]
        mass_g_per_m: f64,
        /// Outer diameter.
        #[schemars(range(min = 0.05, max = 100.0))]
        diameter_mm: f64,
        /// Breaking load.
        #[schemars(range(min = 0.1, max = 1000000.0))]
        breaking_load_n: f64,
        /// Axial stiffness, tension per strain.
        #[schemars(range(min = 10.0, max = 1000000000.0))]
        axial_stiffness_n: f64,
    },
    /// Layers from the inside out; whatever is measured overrides what is computed.
    Layers {
        /// The layers, from the inside out.
        #[schemars(length(min = 1, max = 24))]
        layers: Vec<Layer>,
        /// Measured mass per length.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 0.01, max = 10000.0))]
        measured_mass_g_per_m: Option<f64>,
        /// Measured outer diameter.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 0.05, max = 100.0))]
        measured_diameter_mm: Option<f64>,
        /// Measured breaking load.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schemars(range(min = 0.1, max = 1000000.0))]
        measured_breaking_load_n: Option<f64>,
    },
}

/// One layer of a line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// What it is made of.
    pub material: Material,
    /// How much there is of it.
    pub extent: Extent,
}

/// How much there is of a layer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Extent {
    /// A round core or a tube around everything inside, to this outer diameter.
    OuterDiameter {
        /// Outer diameter.
        #[schemars(range(min = 0.01, max = 100.0))]
        diameter_mm: f64,
    },
    /// Yarn of this solid area laid around everything inside.
    YarnArea {
        /// Area of the fibers alone, without the space between them.
        #[schemars(range(min = 0.001, max = 1000.0))]
        area_mm2: f64,
        /// Share of the ring that the fibers fill; 0.6 is common practice, no source.
        #[schemars(range(min = 0.1, max = 1.0))]
        fill_ratio: f64,
    },
}

/// Material of a layer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Material {
    /// Fused silica, core and cladding of the fiber.
    Silica,
    /// Acrylate coating.
    Acrylate,
    /// Fluoropolymer buffer.
    Etfe,
    /// Polyimide coating.
    Polyimide,
    /// Aramid yarn of high modulus.
    Aramid,
    /// Polyethylene yarn of ultra-high molecular mass.
    Uhmwpe,
    /// PBO yarn.
    Pbo,
    /// Polyurethane jacket.
    Polyurethane,
    /// Copper conductor.
    Copper,
    /// Aluminium conductor.
    Aluminium,
    /// The user's own.
    Own {
        /// Density.
        #[schemars(range(min = 10.0, max = 25000.0))]
        density_kg_m3: f64,
        /// Young's modulus.
        #[schemars(range(min = 0.0, max = 1000.0))]
        modulus_gpa: f64,
        /// Tensile strength; 0 for a layer that carries nothing.
        #[schemars(range(min = 0.0, max = 20000.0))]
        strength_mpa: f64,
    },
}

/// Drag coefficient across the line.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum NormalDrag {
    /// The same at every speed; 1.2 is the textbook figure for a long round cylinder.
    Constant {
        /// Coefficient on the projected area.
        #[schemars(range(min = 0.0, max = 5.0))]
        coefficient: f64,
    },
    /// White's fit 1 + 10 Re^(-2/3), 1 < Re < 2e5; on the high side for thin lines. The default.
    #[default]
    White,
    /// Cheng 2013, 0.1 < Re < 2e5.
    Cheng,
    /// Sucker and Brauer 1975, 1e-4 < Re < 2e5.
    SuckerBrauer,
}
