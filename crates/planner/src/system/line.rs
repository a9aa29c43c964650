//! The tether of a plan: what the shape solver needs, what it may carry, and the drum it is wound on.

use beamstay_numerics::constants::ZERO_CELSIUS_K;
use beamstay_optics::fiber::{Packing, WoundPack};
use beamstay_tether::{
    Line, NormalDrag,
    drum::{Drum, Lay, Winding},
    ice::IceSleeve,
    limits::LoadDuration,
};

use crate::{
    error::{At, PlanError},
    scenario::{self, Construction, Limits},
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
    /// Breaking load, N.
    pub breaking_load_n: f64,
    /// Tension per strain, N.
    pub axial_stiffness_n: f64,
    /// Diameter of the glass, m; 0 without glass.
    pub glass_diameter_m: f64,
    /// Proof stress of the glass, Pa.
    pub proof_stress_pa: f64,
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
        let line = if tether.ice_thickness_mm > 0.0 {
            let ice = format!("{pointer}/ice_thickness_mm");
            IceSleeve::of_thickness(
                bare.diameter_m,
                1e-3 * tether.ice_thickness_mm,
                beamstay_tether::ice::GLAZE_DENSITY_KG_M3,
            )
            .at(&ice)?
            .on(&bare)
            .at(&ice)?
        } else {
            bare
        };
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
            breaking_load_n: section.breaking_load_n(),
            axial_stiffness_n: section.axial_stiffness_n(),
            glass_diameter_m: usage.glass_diameter_m,
            proof_stress_pa: usage.proof_stress_pa,
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

fn normal_drag(tether: &scenario::Tether) -> Result<NormalDrag, beamstay_tether::TetherError> {
    use beamstay_tether::DragCurve;
    let curve = match tether.normal_drag {
        scenario::NormalDrag::Constant { coefficient } => DragCurve::Constant(coefficient),
        scenario::NormalDrag::White => DragCurve::White,
        scenario::NormalDrag::Cheng => DragCurve::Cheng,
        scenario::NormalDrag::SuckerBrauer => DragCurve::SuckerBrauer,
    };
    Ok(NormalDrag::new(curve, tether.drag_amplification_ratio)?)
}

/// Strength and stiffness beside the line.
struct Section {
    mass_kg_per_m: f64,
    diameter_m: f64,
    breaking_load_n: f64,
    axial_stiffness_n: f64,
}

impl Section {
    fn breaking_load_n(&self) -> f64 {
        self.breaking_load_n
    }

    fn axial_stiffness_n(&self) -> f64 {
        self.axial_stiffness_n
    }

    fn line(&self, normal_drag: NormalDrag, tangential_coefficient: f64, in_water: bool) -> Line {
        let area_m2 = 0.25 * std::f64::consts::PI * self.diameter_m * self.diameter_m;
        Line {
            mass_kg_per_m: self.mass_kg_per_m,
            diameter_m: self.diameter_m,
            buoyancy_area_m2: if in_water { area_m2 } else { 0.0 },
            axial_stiffness_n: Some(self.axial_stiffness_n),
            normal_drag,
            tangential_coefficient,
        }
    }
}

fn section(construction: &Construction, pointer: &str) -> Result<Section, PlanError> {
    match *construction {
        Construction::Measured { mass_g_per_m, diameter_mm, breaking_load_n, axial_stiffness_n } => {
            Ok(Section {
                mass_kg_per_m: 1e-3 * mass_g_per_m,
                diameter_m: 1e-3 * diameter_mm,
                breaking_load_n,
                axial_stiffness_n,
            })
        }
        Construction::Layers { .. } => Err(PlanError::model(pointer, "layers")),
    }
}

/// Temperature in kelvin.
pub fn kelvin(temperature_c: f64) -> f64 {
    temperature_c + ZERO_CELSIUS_K
}
