//! How thick a copper line should be, at which voltage, and how high it can lift itself.
//!
//! At a fixed voltage the lifted copper has no interior optimum: it falls until a constraint stops it, so the answer names
//! that constraint. In voltage there is an optimum, because insulation grows with voltage; and where source power has a
//! price in kilograms there is one in the drop.

mod source;
mod voltage;

pub use source::{PricedOptimum, SelfLift, priced_source, self_lift_limit_m, self_lifting_line};
pub use voltage::{VoltageOptimum, best_voltage, line_at_voltage};

use crate::{
    Conductor, Cooling, ElectricalError, Metal, Plastic, Stranding, Wall, WallRule, load::constant_power_load,
};
use beamstay_numerics::{
    domain::in_range,
    root::{Tolerance, bracketed},
};
use std::f64::consts::PI;

/// Which constraint the answer sits on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BindingConstraint {
    /// The voltage that may be lost on the way.
    VoltageDrop,
    /// The largest power that crosses a resistance, with its margin.
    PowerTransfer,
    /// The temperature of the insulation.
    Heat,
    /// The breaking load of the conductors.
    Strength,
    /// The thinnest wall of insulation.
    InsulationMinimum,
    /// The highest voltage allowed.
    VoltageCeiling,
}

/// A constant-power load at the end of a line, and the wire it is fed by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineDemand {
    /// Length one way, m; 0.1 to 1e5.
    pub length_m: f64,
    /// Power at the upper end, W; 1e-3 to 1e8.
    pub load_w: f64,
    /// Metal of both wires.
    pub metal: Metal,
    /// Temperature for which resistance is reckoned, K; 200 to 500.
    pub conductor_temp_k: f64,
}

impl LineDemand {
    /// Returns the demand if every number is inside the range given at its field.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] otherwise.
    pub fn check(self) -> Result<Self, ElectricalError> {
        in_range("line length", "m", self.length_m, 0.1, 1e5)?;
        in_range("line load", "W", self.load_w, 1e-3, 1e8)?;
        in_range("conductor temperature", "K", self.conductor_temp_k, 200.0, 500.0)?;
        self.metal.check()?;
        Ok(self)
    }

    /// Resistivity at the conductor temperature, Ω·m.
    fn resistivity_ohm_m(&self) -> f64 {
        self.metal.resistivity_ohm_m * self.metal.resistance_ratio(self.conductor_temp_k)
    }

    /// Area of each wire at which the share `drop_ratio` (over 0, under 1) of `source_voltage_v` (V) is lost, m²:
    /// A = 2ρLP/(V²a(1−a)). Falls until a = ½, which is the power-transfer limit: thinner wire cannot carry the load.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for a drop outside 1e-4 to 0.5 or a voltage outside 1 to 1e5 V.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{LineDemand, Metal};
    /// let demand =
    ///     LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 };
    /// assert!((demand.area_m2(400.0, 0.10).unwrap() - 0.47892e-6).abs() < 1e-11);
    /// assert!((demand.area_m2(400.0, 0.50).unwrap() - 0.17241e-6).abs() < 1e-11);
    /// ```
    pub fn area_m2(&self, source_voltage_v: f64, drop_ratio: f64) -> Result<f64, ElectricalError> {
        let demand = self.check()?;
        let voltage_v = in_range("line source voltage", "V", source_voltage_v, 1.0, 1e5)?;
        let drop_ratio = in_range("share of voltage lost", "", drop_ratio, 1e-4, 0.5)?;
        Ok(demand.area_v2(drop_ratio) / (voltage_v * voltage_v))
    }

    /// Area times voltage squared, m²·V²: K = 2ρLP/(a(1−a)).
    pub(crate) fn area_v2(&self, drop_ratio: f64) -> f64 {
        2.0 * self.resistivity_ohm_m() * self.length_m * self.load_w / (drop_ratio * (1.0 - drop_ratio))
    }

    /// Mass of both bare wires of an area (m²), kg: 2L × area × density.
    pub fn metal_mass_kg(&self, area_m2: f64) -> f64 {
        2.0 * self.length_m * self.metal.density_kg_m3 * area_m2
    }
}

/// What a wire at a fixed voltage must stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaLimits {
    /// Largest share of the source voltage lost; 1e-4 to 0.5.
    pub max_drop_ratio: f64,
    /// Largest load over power-transfer limit; 1e-3 to 1.
    pub max_transfer_ratio: f64,
    /// Air in which the hanging wire may not exceed its insulation's temperature; `None` leaves heat aside.
    pub air: Option<Cooling>,
    /// Current on the drum over current in that air ([`crate::DeratingTable::factor_ratio`]); 0.01 to 1.
    pub drum_factor_ratio: f64,
    /// Insulation.
    pub plastic: Plastic,
    /// Rule of its wall.
    pub wall_rule: WallRule,
    /// Pull that both conductors carry together, N, with the safety factor on it; 0 if a strength member carries it.
    pub factored_tension_n: f64,
}

impl AreaLimits {
    /// A tenth of the voltage lost, half of the power-transfer limit used (which is more), ETFE of the usual wall, heat left
    /// aside, pull on a strength member.
    pub fn usual() -> Self {
        Self {
            max_drop_ratio: 0.10,
            max_transfer_ratio: 0.5,
            air: None,
            drum_factor_ratio: 1.0,
            plastic: Plastic::ETFE,
            wall_rule: WallRule::default(),
            factored_tension_n: 0.0,
        }
    }

    fn check(&self) -> Result<(), ElectricalError> {
        in_range("share of voltage lost", "", self.max_drop_ratio, 1e-4, 0.5)?;
        in_range("load over power-transfer limit", "", self.max_transfer_ratio, 1e-3, 1.0)?;
        in_range("drum current factor", "", self.drum_factor_ratio, 0.01, 1.0)?;
        in_range("factored tension", "N", self.factored_tension_n, 0.0, 1e7)?;
        WallRule::new(self.wall_rule.design_stress_v_per_m, self.wall_rule.least_wall_m)?;
        Wall::new(self.plastic, 0.0)?;
        self.air.map_or(Ok(()), |air| air.check().map(|_| ()))
    }
}

/// The thinnest wire that stands all limits at a fixed voltage, and what each limit alone would ask.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct AreaChoice {
    /// Area of each wire, m².
    pub area_m2: f64,
    /// The limit that sets it. Freeing that one makes the wire lighter, freeing another does nothing.
    pub binding: BindingConstraint,
    /// Wall on each wire, m.
    pub wall_m: f64,
    /// Whether the wall is the thinnest allowed instead of what the voltage asks.
    pub wall_is_least: bool,
    /// Mass of both wires with insulation, kg.
    pub mass_kg: f64,
    /// Area for the voltage drop alone, m².
    pub voltage_drop_m2: f64,
    /// Area for the power transfer alone, m².
    pub power_transfer_m2: f64,
    /// Area for heat alone, m²; 0 if left aside.
    pub heat_m2: f64,
    /// Area for strength alone, m².
    pub strength_m2: f64,
}

/// The thinnest solid wire at a fixed source voltage (V, 1 to 1e5) that stands all limits.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] for an input out of range; [`ElectricalError::NoWireIsCoolEnough`] if even 1000 mm²
/// is too hot.
///
/// # Examples
/// ```
/// use beamstay_electrical::{LineDemand, Metal, optimum::{AreaLimits, BindingConstraint, thinnest_wire}};
/// let demand = LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 };
/// let choice = thinnest_wire(&demand, 400.0, &AreaLimits::usual()).unwrap();
/// assert_eq!(choice.binding, BindingConstraint::VoltageDrop);
/// assert!((choice.area_m2 - 0.47892e-6).abs() < 1e-11);
/// ```
pub fn thinnest_wire(
    demand: &LineDemand,
    source_voltage_v: f64,
    limits: &AreaLimits,
) -> Result<AreaChoice, ElectricalError> {
    limits.check()?;
    let voltage_drop_m2 = demand.area_m2(source_voltage_v, limits.max_drop_ratio)?;
    // P ≤ m·V²A/(8ρL), the limit at full drop a = ½ being V²A/(8ρL).
    let power_transfer_m2 = demand.area_m2(source_voltage_v, 0.5)? / limits.max_transfer_ratio;
    let strength_m2 = limits.factored_tension_n / (2.0 * demand.metal.breaking_stress_pa);
    let wall_m = limits.wall_rule.wall_m(source_voltage_v);
    let heat_m2 = match limits.air {
        Some(air) => heat_area_m2(demand, source_voltage_v, limits, &air, power_transfer_m2)?,
        None => 0.0,
    };
    let mut choice = AreaChoice {
        area_m2: 0.0,
        binding: BindingConstraint::VoltageDrop,
        wall_m,
        wall_is_least: source_voltage_v <= limits.wall_rule.least_wall_voltage_v(),
        mass_kg: 0.0,
        voltage_drop_m2,
        power_transfer_m2,
        heat_m2,
        strength_m2,
    };
    for (area_m2, binding) in [
        (voltage_drop_m2, BindingConstraint::VoltageDrop),
        (power_transfer_m2, BindingConstraint::PowerTransfer),
        (heat_m2, BindingConstraint::Heat),
        (strength_m2, BindingConstraint::Strength),
    ] {
        if area_m2 > choice.area_m2 {
            (choice.area_m2, choice.binding) = (area_m2, binding);
        }
    }
    let wall = Wall::new(limits.plastic, wall_m)?;
    let insulation_kg_per_m = 2.0 * wall.mass_kg_per_m((4.0 * choice.area_m2 / PI).sqrt());
    choice.mass_kg = demand.metal_mass_kg(choice.area_m2) + insulation_kg_per_m * demand.length_m;
    Ok(choice)
}

/// Thinnest wire whose insulation stands its own heat, with the derated drum counted in as more current.
fn heat_area_m2(
    demand: &LineDemand,
    source_voltage_v: f64,
    limits: &AreaLimits,
    air: &Cooling,
    least_m2: f64,
) -> Result<f64, ElectricalError> {
    let wall = Wall::new(limits.plastic, limits.wall_rule.wall_m(source_voltage_v))?;
    // Logarithm of allowed current over needed current; rises with the area.
    let margin = |log_area: f64| {
        let Ok(wire) = Conductor::new(demand.metal, log_area.exp().clamp(1e-10, 1e-3), Stranding::SOLID)
        else {
            return f64::NAN;
        };
        let loop_ohm = 2.0 * demand.length_m * wire.resistance_ohm_per_m(demand.conductor_temp_k);
        match constant_power_load(source_voltage_v, loop_ohm, demand.load_w).stable {
            Some(point) => {
                let allowed_a = ampacity_a(&wire, &wall, air, limits.plastic.max_temp_k);
                (allowed_a.max(1e-9) * limits.drum_factor_ratio / point.current_a).ln()
            }
            None => -1e3,
        }
    };
    let (thinnest, thickest) = (least_m2.clamp(1e-10, 1e-3).ln(), 1e-3f64.ln());
    if margin(thinnest) >= 0.0 {
        return Ok(thinnest.exp());
    }
    bracketed(margin, thinnest, thickest, Tolerance { x_abs: 1e-12, ..Tolerance::default() })
        .map(|root| root.x.exp())
        .map_err(|_| ElectricalError::NoWireIsCoolEnough { max_temp_k: limits.plastic.max_temp_k })
}

/// Current that heats a single insulated wire to `max_temp_k` (K) at the conductor, A: heat through wall and air equal to
/// I²R at that temperature. 0 if the air is warmer.
///
/// # Examples
/// ```
/// use beamstay_electrical::{Conductor, Cooling, Metal, Plastic, Wall, optimum::ampacity_a};
/// let wire = Conductor::gauge(Metal::COPPER, 20).unwrap();
/// let wall = Wall::new(Plastic::ETFE, 0.244e-3).unwrap();
/// let still = ampacity_a(&wire, &wall, &Cooling::in_wind(313.15, 0.0).unwrap(), 363.15);
/// assert!(still > 10.5 && still < 10.858, "the wall costs a little of 10.858 A");
/// ```
pub fn ampacity_a(conductor: &Conductor, wall: &Wall, air: &Cooling, max_temp_k: f64) -> f64 {
    let outer_m = wall.outer_diameter_m(conductor.diameter_m());
    let wall_k_m_per_w = wall.thermal_resistance_k_m_per_w(conductor.diameter_m());
    // Surface at which what the air takes is what the wall lets through.
    let excess_k =
        |surface_k: f64| surface_k + air.heat_w_per_m(outer_m, surface_k) * wall_k_m_per_w - max_temp_k;
    if max_temp_k <= air.ambient_temp_k {
        return 0.0;
    }
    let tolerance = Tolerance { x_abs: 1e-11, ..Tolerance::default() };
    let heat_w_per_m = bracketed(excess_k, air.ambient_temp_k, max_temp_k, tolerance)
        .map_or(0.0, |root| air.heat_w_per_m(outer_m, root.x).max(0.0));
    (heat_w_per_m / conductor.resistance_ohm_per_m(max_temp_k)).sqrt()
}

#[cfg(test)]
mod tests;
