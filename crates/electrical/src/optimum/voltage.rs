//! The voltage at which a line is lightest.

use super::{BindingConstraint, LineDemand};
use crate::{ElectricalError, Plastic, Wall, WallRule};
use beamstay_numerics::domain::in_range;
use std::f64::consts::PI;

/// The lightest line over all voltages at a given drop.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct VoltageOptimum {
    /// Source voltage, V.
    pub source_voltage_v: f64,
    /// Area of each wire, m².
    pub area_m2: f64,
    /// Wall on each wire, m.
    pub wall_m: f64,
    /// Mass of metal, kg.
    pub metal_mass_kg: f64,
    /// Mass of insulation, kg.
    pub insulation_mass_kg: f64,
    /// Bound on which it sits, `None` for a true minimum inside.
    pub binding: Option<BindingConstraint>,
}

impl VoltageOptimum {
    /// Mass of both insulated wires, kg.
    pub fn mass_kg(&self) -> f64 {
        self.metal_mass_kg + self.insulation_mass_kg
    }
}

/// Insulated line of solid wire at a voltage and drop: area, wall and masses.
///
/// # Errors
/// As [`LineDemand::area_m2`].
pub fn line_at_voltage(
    demand: &LineDemand,
    source_voltage_v: f64,
    drop_ratio: f64,
    plastic: Plastic,
    wall_rule: WallRule,
) -> Result<VoltageOptimum, ElectricalError> {
    let area_m2 = demand.area_m2(source_voltage_v, drop_ratio)?;
    let wall = Wall::new(plastic, wall_rule.wall_m(source_voltage_v))?;
    let conductor_diameter_m = (4.0 * area_m2 / PI).sqrt();
    Ok(VoltageOptimum {
        source_voltage_v,
        area_m2,
        wall_m: wall.thickness_m,
        metal_mass_kg: demand.metal_mass_kg(area_m2),
        insulation_mass_kg: 2.0 * demand.length_m * wall.mass_kg_per_m(conductor_diameter_m),
        binding: None,
    })
}

/// The source voltage at which the line is lightest, for a share of voltage lost (1e-4 to 0.5) and a highest voltage (V, 1
/// to 1e5).
///
/// With a wall t = V/E the mass is α/V² + β + γV²: metal, the part of the wall that goes with the conductor's
/// circumference, and the rest of the wall; the minimum is at V* = (α/γ)^¼ with metal mass and γ term equal. With a thinnest
/// wall the mass falls all the way up to the voltage at which that wall is used up, so the answer is never below it.
///
/// # Errors
/// As [`LineDemand::area_m2`], and for the wall rule and plastic.
///
/// # Examples
/// ```
/// use beamstay_electrical::{LineDemand, Metal, Plastic, WallRule, optimum::best_voltage};
/// let demand = LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 };
/// let best = best_voltage(&demand, 0.10, Plastic::ETFE, WallRule::default(), 5000.0).unwrap();
/// assert!((best.source_voltage_v - 1092.288).abs() < 1e-2 && (best.mass_kg() - 0.328257).abs() < 1e-6);
/// ```
pub fn best_voltage(
    demand: &LineDemand,
    drop_ratio: f64,
    plastic: Plastic,
    wall_rule: WallRule,
    max_voltage_v: f64,
) -> Result<VoltageOptimum, ElectricalError> {
    demand.check()?;
    let drop_ratio = in_range("share of voltage lost", "", drop_ratio, 1e-4, 0.5)?;
    let max_voltage_v = in_range("highest source voltage", "V", max_voltage_v, 1.0, 1e5)?;
    let rule = WallRule::new(wall_rule.design_stress_v_per_m, wall_rule.least_wall_m)?;
    Wall::new(plastic, 0.0)?;
    let metal_kg_v2 = demand.metal_mass_kg(demand.area_v2(drop_ratio));
    let wall_kg_per_v2 =
        2.0 * demand.length_m * PI * plastic.density_kg_m3 / rule.design_stress_v_per_m.powi(2);
    let free_v = (metal_kg_v2 / wall_kg_per_v2).powf(0.25);
    let least_wall_v = rule.least_wall_voltage_v();
    let (source_voltage_v, binding) = if free_v.max(least_wall_v) > max_voltage_v {
        (max_voltage_v, Some(BindingConstraint::VoltageCeiling))
    } else if free_v < least_wall_v {
        (least_wall_v, Some(BindingConstraint::InsulationMinimum))
    } else {
        (free_v, None)
    };
    let line = line_at_voltage(demand, source_voltage_v, drop_ratio, plastic, rule)?;
    Ok(VoltageOptimum { binding, ..line })
}
