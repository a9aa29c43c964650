//! Figures and layers of the cross-section.

use beamstay_tether::cross_section::{CrossSection, Figure, Part, Provenance};
use serde::Serialize;

use crate::{
    point::TetherPoint,
    scenario::{self, Construction},
};

/// A figure of the line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FigureRow {
    /// What it is.
    pub name: &'static str,
    /// The figure that counts, in [`Self::unit`].
    pub value: f64,
    /// Unit.
    pub unit: &'static str,
    /// Whether it was measured on the finished line.
    pub measured: bool,
    /// What the layers give, in [`Self::unit`], where they give one.
    pub computed: Option<f64>,
    /// Measured less computed, over computed; absent unless both are known.
    pub deviation_ratio: Option<f64>,
}

/// One layer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerRow {
    /// What it is for.
    pub part: &'static str,
    /// What it is made of.
    pub material: &'static str,
    /// Diameter over it, mm.
    pub outer_diameter_mm: f64,
    /// Its mass, g/m.
    pub mass_g_per_m: f64,
    /// Its share of the tension; 0 for a layer that carries none.
    pub load_share_ratio: f64,
    /// What it carries at the largest tension in the mean wind, N.
    pub load_n: f64,
    /// The same in the gust, N.
    pub load_in_gust_n: f64,
}

pub(super) fn figures(section: &CrossSection) -> Vec<FigureRow> {
    let row = |name, figure: Figure, factor: f64, unit| {
        let measured = figure.provenance == Provenance::Measured;
        FigureRow {
            name,
            value: factor * figure.value,
            unit,
            measured,
            computed: figure.computed.map(|computed| factor * computed),
            deviation_ratio: (measured && figure.computed.is_some()).then(|| figure.deviation_ratio()),
        }
    };
    let mut rows =
        vec![row("mass", section.mass(), 1e3, "g/m"), row("diameter", section.outer_diameter(), 1e3, "mm")];
    rows.extend(section.axial_stiffness().map(|figure| row("axial stiffness", figure, 1e-3, "kN")));
    rows.extend(section.breaking_load().map(|figure| row("breaking load", figure, 1.0, "N")));
    rows
}

pub(super) fn layers(
    section: &CrossSection,
    construction: &Construction,
    mean: &TetherPoint,
    gust: &TetherPoint,
) -> Vec<LayerRow> {
    let Construction::Layers { layers, .. } = construction else { return Vec::new() };
    let rows = section.layers().iter().zip(layers).map(|(summary, layer)| LayerRow {
        part: match layer.material {
            // Strands are laid as yarn is.
            scenario::Material::Copper | scenario::Material::Aluminium => part_words(Part::Conductor),
            _ => part_words(summary.part),
        },
        material: material_words(&layer.material),
        outer_diameter_mm: 1e3 * summary.outer_diameter_m,
        mass_g_per_m: 1e3 * summary.mass_kg_per_m,
        load_share_ratio: summary.load_share_ratio,
        load_n: summary.load_share_ratio * mean.max_tension_n,
        load_in_gust_n: summary.load_share_ratio * gust.max_tension_n,
    });
    rows.collect()
}

fn part_words(part: Part) -> &'static str {
    match part {
        Part::Core => "core",
        Part::Cladding => "glass",
        Part::Coating => "coating",
        Part::Buffer => "buffer",
        Part::Strength => "strength member",
        Part::Jacket => "jacket",
        Part::Conductor => "conductor",
        Part::Insulation => "insulation",
        Part::DataFiber => "data fiber",
        Part::Filler => "filler",
    }
}

fn material_words(material: &scenario::Material) -> &'static str {
    match material {
        scenario::Material::Silica => "silica",
        scenario::Material::Acrylate => "acrylate",
        scenario::Material::Etfe => "ETFE",
        scenario::Material::Polyimide => "polyimide",
        scenario::Material::Aramid => "aramid",
        scenario::Material::Uhmwpe => "UHMWPE",
        scenario::Material::Pbo => "PBO",
        scenario::Material::Polyurethane => "polyurethane",
        scenario::Material::Copper => "copper",
        scenario::Material::Aluminium => "aluminium",
        scenario::Material::Own { .. } => "the user's own",
    }
}
