//! The tether of a plan: what the shape solver needs, what it may carry, and the drum it is wound on.

use beamstay_numerics::constants::ZERO_CELSIUS_K;
use beamstay_optics::fiber::{Packing, WoundPack};
use beamstay_tether::{
    CrossSection, Handbook, Layer, Line, Material, Measured, NormalDrag, Part, TetherError,
    drum::{Drum, Lay, Winding},
    ice::{GLAZE_DENSITY_KG_M3, GlazeClass, IceSleeve, RimeClass},
    limits::LoadDuration,
    strumming::cautious_amplification,
};

use crate::{
    error::{At, PlanError},
    scenario::{self, Construction, Extent, Limits},
};

/// Fallback for the outlet where the scenario gives no glass: a line without glass.
const NO_GLASS_M: f64 = 0.0;

/// A tether, its strength and its drum.
#[derive(Debug, Clone, PartialEq)]
pub struct TetherLine {
    /// What the shape solver needs, ice included.
    pub line: Line,
    /// Diameter without ice, m.
    pub diameter_m: f64,
    /// Mass without ice, kg/m.
    pub bare_mass_kg_per_m: f64,
    /// Breaking load, N.
    pub breaking_load_n: f64,
    /// Tension per strain, N.
    pub axial_stiffness_n: f64,
    /// Diameter of the glass, m; 0 without glass.
    pub glass_diameter_m: f64,
    /// Proof stress of the glass, Pa.
    pub proof_stress_pa: f64,
    /// Friction on a metre that lies on the ground over its weight.
    pub ground_friction_ratio: f64,
    /// All the line there is, m.
    pub total_length_m: f64,
    /// The winding.
    pub winding: Winding,
    /// Drum as the scenario gives it.
    pub drum: scenario::Drum,
    /// How long the mean load lasts.
    pub duration: LoadDuration,
}

/// Glass and length of the line that a delivery brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineUse {
    /// Diameter of the glass, m; 0 without glass.
    pub glass_diameter_m: f64,
    /// Proof stress of the glass, Pa.
    pub proof_stress_pa: f64,
    /// All the line there is, m.
    pub total_length_m: f64,
    /// Whether buoyancy counts.
    pub in_water: bool,
}

impl LineUse {
    /// A line without glass.
    pub fn without_glass(total_length_m: f64, in_water: bool) -> Self {
        Self { glass_diameter_m: NO_GLASS_M, proof_stress_pa: 1e9, total_length_m, in_water }
    }
}

impl TetherLine {
    /// Builds the line of `tether`, found at `pointer`, for a drum.
    pub fn new(
        tether: &scenario::Tether,
        pointer: &str,
        drum: &scenario::Drum,
        limits: &Limits,
        usage: LineUse,
    ) -> Result<Self, PlanError> {
        let construction = format!("{pointer}/construction");
        let section = section(&tether.construction, &construction)?;
        let drag = normal_drag(tether).at(&format!("{pointer}/normal_drag"))?;
        let bare = section.line(drag, tether.tangential_coefficient, usage.in_water);
        bare.check().at(pointer)?;
        let line = iced(&bare, tether, pointer)?;
        let geometry = Drum {
            core_diameter_m: 1e-3 * drum.core_diameter_mm,
            full_diameter_m: 1e-3 * drum.flange_diameter_mm,
            width_m: 1e-3 * drum.width_mm,
        };
        let winding = Winding::new(geometry, bare.diameter_m, Lay::Square, drum.packing_allowance_ratio)
            .at("/ground/drum")?;
        Ok(Self {
            line,
            diameter_m: bare.diameter_m,
            bare_mass_kg_per_m: bare.mass_kg_per_m,
            breaking_load_n: section
                .breaking_load_n()
                .ok_or_else(|| PlanError::needs(&construction, "a tether", "a layer that carries load"))?,
            axial_stiffness_n: section
                .axial_stiffness_n()
                .ok_or_else(|| PlanError::needs(&construction, "a tether", "a layer that carries load"))?,
            glass_diameter_m: usage.glass_diameter_m,
            proof_stress_pa: usage.proof_stress_pa,
            ground_friction_ratio: tether.ground_friction_ratio,
            total_length_m: usage.total_length_m,
            winding,
            drum: drum.clone(),
            duration: match limits.load_duration {
                scenario::LoadDuration::Hours => LoadDuration::Hours,
                scenario::LoadDuration::Years => LoadDuration::Years,
            },
        })
    }

    /// Axial stress in the glass at a tension, Pa: the glass follows the strain of the line.
    pub fn glass_stress_pa(&self, tension_n: f64) -> f64 {
        beamstay_tether::material::SILICA_MODULUS_PA * tension_n / self.axial_stiffness_n
    }

    /// The wound part as a body that heats up, in air of `ambient_temp_k`.
    pub fn wound_pack(&self, ambient_temp_k: f64) -> WoundPack {
        WoundPack {
            inner_radius_m: 5e-4 * self.drum.core_diameter_mm,
            width_m: 1e-3 * self.drum.width_mm,
            line_diameter_m: self.diameter_m,
            packing: Packing::Square,
            conductivity_w_per_m_k: self.drum.conductivity_w_per_m_k,
            surface_coefficient_w_per_m2_k: self.drum.heat_transfer_w_per_m2_k,
            ambient_temp_k,
        }
    }
}

/// The line in its ice, given by thickness or by class; the thicker of the two.
fn iced(bare: &Line, tether: &scenario::Tether, pointer: &str) -> Result<Line, PlanError> {
    let mut line = *bare;
    if tether.ice_thickness_mm > 0.0 {
        let ice = format!("{pointer}/ice_thickness_mm");
        let thickness_m = 1e-3 * tether.ice_thickness_mm;
        let sleeve = IceSleeve::of_thickness(bare.diameter_m, thickness_m, GLAZE_DENSITY_KG_M3);
        line = sleeve.at(&ice)?.on(bare).at(&ice)?;
    }
    if let Some(class) = tether.ice_class {
        let ice = format!("{pointer}/ice_class");
        let sleeve = match glaze_or_rime(class) {
            (Some(glaze), _) => IceSleeve::glaze(bare.diameter_m, glaze),
            (None, rime) => {
                let mass_kg_per_m = rime.map_or(0.0, RimeClass::mass_kg_per_m);
                IceSleeve::of_mass(bare.diameter_m, mass_kg_per_m, RIME_DENSITY_KG_M3)
            }
        };
        let of_class = sleeve.at(&ice)?.on(bare).at(&ice)?;
        if of_class.mass_kg_per_m > line.mass_kg_per_m {
            line = of_class;
        }
    }
    Ok(line)
}

/// Density of rime where only its class is given, kg/m³; ISO 12494 has 300 to 900 (from memory): light rime of the same mass is
/// thicker and catches more wind, which is the cautious side.
const RIME_DENSITY_KG_M3: f64 = 300.0;

fn glaze_or_rime(class: scenario::IceClass) -> (Option<GlazeClass>, Option<RimeClass>) {
    use scenario::IceClass;
    match class {
        IceClass::G1 => (Some(GlazeClass::G1), None),
        IceClass::G2 => (Some(GlazeClass::G2), None),
        IceClass::G3 => (Some(GlazeClass::G3), None),
        IceClass::G4 => (Some(GlazeClass::G4), None),
        IceClass::G5 => (Some(GlazeClass::G5), None),
        IceClass::R1 => (None, Some(RimeClass::R1)),
        IceClass::R2 => (None, Some(RimeClass::R2)),
        IceClass::R3 => (None, Some(RimeClass::R3)),
        IceClass::R4 => (None, Some(RimeClass::R4)),
        IceClass::R5 => (None, Some(RimeClass::R5)),
        IceClass::R6 => (None, Some(RimeClass::R6)),
        IceClass::R7 => (None, Some(RimeClass::R7)),
        IceClass::R8 => (None, Some(RimeClass::R8)),
        IceClass::R9 => (None, Some(RimeClass::R9)),
    }
}

fn normal_drag(tether: &scenario::Tether) -> Result<NormalDrag, TetherError> {
    use beamstay_tether::DragCurve;
    let curve = match tether.normal_drag {
        scenario::NormalDrag::Constant { coefficient } => DragCurve::Constant(coefficient),
        scenario::NormalDrag::White => DragCurve::White,
        scenario::NormalDrag::Cheng => DragCurve::Cheng,
        scenario::NormalDrag::SuckerBrauer => DragCurve::SuckerBrauer,
    };
    let by_amplitude = cautious_amplification(tether.strumming_amplitude_ratio)?;
    Ok(NormalDrag::new(curve, tether.drag_amplification_ratio.max(by_amplitude))?)
}

/// The cross-section of a construction, found at `pointer`.
pub(crate) fn section(construction: &Construction, pointer: &str) -> Result<CrossSection, PlanError> {
    match construction {
        Construction::Measured { mass_g_per_m, diameter_mm, breaking_load_n, axial_stiffness_n } => {
            let measured = Measured {
                mass_kg_per_m: Some(1e-3 * mass_g_per_m),
                outer_diameter_m: Some(1e-3 * diameter_mm),
                axial_stiffness_n: Some(*axial_stiffness_n),
                breaking_load_n: Some(*breaking_load_n),
            };
            CrossSection::new(Vec::new(), measured).at(pointer)
        }
        Construction::Layers {
            layers,
            measured_mass_g_per_m,
            measured_diameter_mm,
            measured_breaking_load_n,
        } => {
            let layers = layers.iter().map(layer).collect::<Result<_, _>>().at(pointer)?;
            let measured = Measured {
                mass_kg_per_m: measured_mass_g_per_m.map(|g| 1e-3 * g),
                outer_diameter_m: measured_diameter_mm.map(|mm| 1e-3 * mm),
                breaking_load_n: *measured_breaking_load_n,
                axial_stiffness_n: None,
            };
            CrossSection::new(layers, measured).at(pointer)
        }
    }
}

fn layer(layer: &scenario::Layer) -> Result<Layer, TetherError> {
    let (part, material) = part_and_material(&layer.material)?;
    Ok(match layer.extent {
        Extent::OuterDiameter { diameter_mm } => Layer::solid(part, material, 1e-3 * diameter_mm),
        Extent::YarnArea { area_mm2, fill_ratio } => Layer::yarn(material, 1e-6 * area_mm2, fill_ratio),
    })
}

/// What a material is for in a line, and its figures.
fn part_and_material(material: &scenario::Material) -> Result<(Part, Material), TetherError> {
    let (part, handbook) = match *material {
        scenario::Material::Silica => (Part::Cladding, Handbook::FusedSilica),
        scenario::Material::Acrylate => (Part::Coating, Handbook::Acrylate),
        scenario::Material::Polyimide => (Part::Coating, Handbook::Polyimide),
        scenario::Material::Etfe => (Part::Buffer, Handbook::Etfe),
        scenario::Material::Polyurethane => (Part::Jacket, Handbook::Polyurethane),
        scenario::Material::Aramid => (Part::Strength, Handbook::AramidHighModulus),
        scenario::Material::Uhmwpe => (Part::Strength, Handbook::Uhmwpe),
        scenario::Material::Pbo => (Part::Strength, Handbook::PboHighModulus),
        scenario::Material::Copper => (Part::Conductor, Handbook::Copper),
        scenario::Material::Aluminium => (Part::Conductor, Handbook::Aluminium),
        scenario::Material::Own { density_kg_m3, modulus_gpa, strength_mpa } => {
            let part = if strength_mpa > 0.0 { Part::Strength } else { Part::Filler };
            return Ok((part, Material::new(density_kg_m3, 1e9 * modulus_gpa, 1e6 * strength_mpa)?));
        }
    };
    Ok((part, handbook.material()))
}

/// Temperature in kelvin.
pub fn kelvin(temperature_c: f64) -> f64 {
    temperature_c + ZERO_CELSIUS_K
}
