//! How thick a copper line should be, at which voltage, and how high it can lift itself.
//!
//! At a fixed voltage the lifted copper has no interior optimum: it falls until a constraint stops it, so the answer names
//! that constraint. In voltage there is an optimum, because insulation grows with voltage; and where source power has a
//! price in kilograms there is one in the drop.

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
    fn area_v2(&self, drop_ratio: f64) -> f64 {
        2.0 * self.resistivity_ohm_m() * self.length_m * self.load_w / (drop_ratio * (1.0 - drop_ratio))
    }

    /// Mass of both bare wires of an area, kg.
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

/// The lightest line over all voltages at a given drop.
#[derive(Debug, Clone, Copy, PartialEq)]
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

/// The drop at which metal and priced source power together are least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PricedOptimum {
    /// Share of the source voltage lost.
    pub drop_ratio: f64,
    /// Area of each wire, m².
    pub area_m2: f64,
    /// Mass of metal, kg.
    pub metal_mass_kg: f64,
    /// Power fed in at the ground, W.
    pub source_w: f64,
    /// Scale of the metal mass, c = 4L²·density·ρP/V², kg.
    pub mass_scale_kg: f64,
    /// Price over scale, q = λP/c.
    pub price_ratio: f64,
}

/// Least of metal mass plus price times source power, c/(a(1−a)) + λP/(1−a), for a price λ of ground power in kilograms per
/// watt (kg/W, 0 to 10): a* = (√(1+q) − 1)/q, ½ without a price.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] for the demand, the voltage (1 to 1e5 V) or the price.
///
/// # Examples
/// ```
/// use beamstay_electrical::{LineDemand, Metal, optimum::priced_source};
/// let demand = LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 };
/// let best = priced_source(&demand, 400.0, 1e-4).unwrap();
/// assert!((best.drop_ratio - 0.344836).abs() < 1e-6 && (best.source_w - 3052.67).abs() < 0.01);
/// ```
pub fn priced_source(
    demand: &LineDemand,
    source_voltage_v: f64,
    price_kg_per_w: f64,
) -> Result<PricedOptimum, ElectricalError> {
    let half_m2 = demand.area_m2(source_voltage_v, 0.5)?;
    let price_kg_per_w = in_range("price of source power", "kg/W", price_kg_per_w, 0.0, 10.0)?;
    let mass_scale_kg = 0.25 * demand.metal_mass_kg(half_m2);
    let price_ratio = price_kg_per_w * demand.load_w / mass_scale_kg;
    // (√(1+q) − 1)/q in a form that keeps its digits for a small price.
    let drop_ratio = 1.0 / ((1.0 + price_ratio).sqrt() + 1.0);
    let area_m2 = 0.25 * half_m2 / (drop_ratio * (1.0 - drop_ratio));
    Ok(PricedOptimum {
        drop_ratio,
        area_m2,
        metal_mass_kg: demand.metal_mass_kg(area_m2),
        source_w: demand.load_w / (1.0 - drop_ratio),
        mass_scale_kg,
        price_ratio,
    })
}

/// A bare copper line that hangs from the aircraft it feeds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SelfLift {
    /// Share of the power at the aircraft that goes into lifting the line's own metal.
    pub gain_ratio: f64,
    /// Power at the aircraft, the line's own lift included, W.
    pub load_w: f64,
    /// Area of each wire, m².
    pub area_m2: f64,
    /// Mass of metal, kg.
    pub metal_mass_kg: f64,
}

/// Height that a line cannot exceed by lifting its own metal, m, however small the payload:
/// `L = V·√(a(1−a)/(4·k·ρ·density))`, k being the bus power per kilogram lifted (W/kg, 1 to 1e4). Insulation and strength
/// member lower it further. At ½ drop it is the highest.
///
/// # Errors
/// [`ElectricalError::OutOfRange`] for an argument.
///
/// # Examples
/// ```
/// use beamstay_electrical::{Metal, optimum::self_lift_limit_m};
/// let limit_m = self_lift_limit_m(&Metal::COPPER, 293.15, 400.0, 0.10, 150.0).unwrap();
/// assert!((limit_m - 395.707).abs() < 1e-2);
/// ```
pub fn self_lift_limit_m(
    metal: &Metal,
    conductor_temp_k: f64,
    source_voltage_v: f64,
    drop_ratio: f64,
    lift_power_w_per_kg: f64,
) -> Result<f64, ElectricalError> {
    let probe = LineDemand { length_m: 1.0, load_w: 1.0, metal: *metal, conductor_temp_k };
    let gain_per_m2 = self_lift_gain_ratio(&probe, source_voltage_v, drop_ratio, lift_power_w_per_kg)?;
    Ok(gain_per_m2.sqrt().recip())
}

/// Gain k·(mass of metal per watt carried): k·2L·density·2ρL/(V²a(1−a)).
fn self_lift_gain_ratio(
    demand: &LineDemand,
    source_voltage_v: f64,
    drop_ratio: f64,
    lift_power_w_per_kg: f64,
) -> Result<f64, ElectricalError> {
    let lift_w_per_kg = in_range("bus power per mass lifted", "W/kg", lift_power_w_per_kg, 1.0, 1e4)?;
    let area_m2 = demand.area_m2(source_voltage_v, drop_ratio)?;
    Ok(lift_w_per_kg * demand.metal_mass_kg(area_m2) / demand.load_w)
}

/// The line that feeds `demand.load_w` (W, without the line's own weight) and the power to lift itself:
/// P = P₀/(1 − gain). `None` above [`self_lift_limit_m`].
///
/// # Errors
/// As [`self_lift_limit_m`].
///
/// # Examples
/// ```
/// use beamstay_electrical::{LineDemand, Metal, optimum::self_lifting_line};
/// let demand = LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 };
/// let line = self_lifting_line(&demand, 400.0, 0.10, 150.0).unwrap().unwrap();
/// assert!((line.load_w - 2136.441).abs() < 1e-2);
/// assert!(self_lifting_line(&LineDemand { length_m: 396.0, ..demand }, 400.0, 0.10, 150.0).unwrap().is_none());
/// ```
pub fn self_lifting_line(
    demand: &LineDemand,
    source_voltage_v: f64,
    drop_ratio: f64,
    lift_power_w_per_kg: f64,
) -> Result<Option<SelfLift>, ElectricalError> {
    let gain_ratio = self_lift_gain_ratio(demand, source_voltage_v, drop_ratio, lift_power_w_per_kg)?;
    if gain_ratio >= 1.0 {
        return Ok(None);
    }
    let load_w = demand.load_w / (1.0 - gain_ratio);
    let area_m2 = demand.area_m2(source_voltage_v, drop_ratio)? * load_w / demand.load_w;
    Ok(Some(SelfLift { gain_ratio, load_w, area_m2, metal_mass_kg: demand.metal_mass_kg(area_m2) }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn demand() -> LineDemand {
        LineDemand { length_m: 100.0, load_w: 2000.0, metal: Metal::COPPER, conductor_temp_k: 293.15 }
    }

    #[test]
    fn each_argument_is_checked() {
        for wrong in [
            LineDemand { length_m: 0.0, ..demand() },
            LineDemand { load_w: 0.0, ..demand() },
            LineDemand { conductor_temp_k: 501.0, ..demand() },
            LineDemand { metal: Metal { density_kg_m3: 0.0, ..Metal::COPPER }, ..demand() },
        ] {
            assert!(wrong.area_m2(400.0, 0.1).is_err(), "{wrong:?}");
        }
        assert!(demand().area_m2(400.0, 0.501).is_err() && demand().area_m2(0.9, 0.1).is_err());
        let usual = AreaLimits::usual();
        for wrong in [
            AreaLimits { max_drop_ratio: 0.51, ..usual },
            AreaLimits { max_transfer_ratio: 1.01, ..usual },
            AreaLimits { drum_factor_ratio: 0.0, ..usual },
            AreaLimits { factored_tension_n: f64::NAN, ..usual },
        ] {
            assert!(thinnest_wire(&demand(), 400.0, &wrong).is_err(), "{wrong:?}");
        }
        assert!(priced_source(&demand(), 400.0, -1e-6).is_err());
        assert!(self_lift_limit_m(&Metal::COPPER, 293.15, 400.0, 0.1, 0.5).is_err());
        assert!(best_voltage(&demand(), 0.1, Plastic::ETFE, WallRule::default(), 0.5).is_err());
    }

    #[test]
    fn every_constraint_can_bind() {
        let usual = AreaLimits { max_drop_ratio: 0.5, ..AreaLimits::usual() };
        let binding = |voltage_v: f64, limits: AreaLimits| {
            thinnest_wire(&demand(), voltage_v, &limits).unwrap().binding
        };
        assert_eq!(binding(400.0, AreaLimits::usual()), BindingConstraint::VoltageDrop);
        assert_eq!(binding(400.0, usual), BindingConstraint::PowerTransfer);
        let pulled = AreaLimits { factored_tension_n: 2000.0, ..usual };
        assert_eq!(binding(400.0, pulled), BindingConstraint::Strength);
        let air = Some(Cooling::in_wind(313.15, 0.0).unwrap());
        let hot = AreaLimits { air, drum_factor_ratio: 0.35, plastic: Plastic::XLPE, ..usual };
        assert_eq!(binding(1000.0, hot), BindingConstraint::Heat);
    }

    #[test]
    fn heat_area_is_that_whose_ampacity_is_just_enough() {
        let air = Cooling::in_wind(313.15, 0.0).unwrap();
        let limits = AreaLimits {
            air: Some(air),
            drum_factor_ratio: 0.45,
            plastic: Plastic::XLPE,
            max_drop_ratio: 0.5,
            ..AreaLimits::usual()
        };
        let demand = LineDemand { conductor_temp_k: 363.15, ..demand() };
        let choice = thinnest_wire(&demand, 1000.0, &limits).unwrap();
        let wire = Conductor::new(Metal::COPPER, choice.area_m2, Stranding::SOLID).unwrap();
        let wall = Wall::new(Plastic::XLPE, choice.wall_m).unwrap();
        let allowed_a = 0.45 * ampacity_a(&wire, &wall, &air, 363.15);
        let ohm = 200.0 * wire.resistance_ohm_per_m(363.15);
        let needed_a = constant_power_load(1000.0, ohm, 2000.0).stable.unwrap().current_a;
        assert!((allowed_a / needed_a - 1.0).abs() < 1e-9);
        assert_eq!(ampacity_a(&wire, &wall, &air, 313.15).to_bits(), 0.0f64.to_bits());
    }

    #[test]
    fn air_hotter_than_the_insulation_allows_has_no_wire() {
        let air = Some(Cooling::in_wind(350.0, 0.0).unwrap());
        let plastic = Plastic { max_temp_k: 345.0, ..Plastic::XLPE };
        let limits = AreaLimits { air, plastic, ..AreaLimits::usual() };
        assert!(matches!(
            thinnest_wire(&demand(), 400.0, &limits),
            Err(ElectricalError::NoWireIsCoolEnough { .. })
        ));
    }

    #[test]
    fn the_voltage_optimum_names_its_bound() {
        let best = |load_w: f64, max_v: f64| {
            let demand = LineDemand { load_w, ..demand() };
            best_voltage(&demand, 0.1, Plastic::ETFE, WallRule::default(), max_v).unwrap()
        };
        assert_eq!(best(2000.0, 5000.0).binding, None);
        assert_eq!(best(2000.0, 1000.0).binding, Some(BindingConstraint::VoltageCeiling));
        assert_eq!(best(200.0, 5000.0).binding, Some(BindingConstraint::InsulationMinimum));
        assert_eq!(best(200.0, 400.0).binding, Some(BindingConstraint::VoltageCeiling));
    }

    #[test]
    fn at_the_true_optimum_metal_weighs_as_much_as_the_outer_wall() {
        let best = best_voltage(&demand(), 0.1, Plastic::ETFE, WallRule::default(), 5000.0).unwrap();
        let outer_wall_kg = 200.0 * PI * 1700.0 * best.wall_m * best.wall_m;
        assert!((best.metal_mass_kg - outer_wall_kg).abs() < 1e-12);
    }

    proptest! {
        #[test]
        fn prop_no_neighbouring_voltage_is_lighter(
            load_w in 50.0..2e4f64, drop in 0.02..0.5f64, length_m in 10.0..1000.0f64, other_v in 50.0..5000.0f64
        ) {
            let demand = LineDemand { load_w, length_m, ..demand() };
            let rule = WallRule::default();
            let best = best_voltage(&demand, drop, Plastic::ETFE, rule, 5000.0).unwrap();
            let other = line_at_voltage(&demand, other_v, drop, Plastic::ETFE, rule).unwrap();
            prop_assert!(best.mass_kg() <= other.mass_kg() * (1.0 + 1e-12));
        }

        #[test]
        fn prop_the_priced_drop_is_the_least(
            load_w in 50.0..2e4f64, price in 0.0..1e-2f64, other in 1e-3..0.5f64
        ) {
            let demand = LineDemand { load_w, ..demand() };
            let best = priced_source(&demand, 400.0, price).unwrap();
            let cost = |drop: f64| {
                demand.metal_mass_kg(demand.area_m2(400.0, drop).unwrap()) + price * load_w / (1.0 - drop)
            };
            let best_cost = best.metal_mass_kg + price * best.source_w;
            prop_assert!(best_cost <= cost(other) * (1.0 + 1e-12));
        }

        #[test]
        fn prop_drop_of_the_chosen_area_is_the_one_asked(load_w in 50.0..2e4f64, drop in 0.01..0.49f64) {
            let demand = LineDemand { load_w, ..demand() };
            let area_m2 = demand.area_m2(600.0, drop).unwrap();
            let ohm = 200.0 * 1.7241e-8 / area_m2;
            let point = constant_power_load(600.0, ohm, load_w).stable.unwrap();
            prop_assert!((1.0 - point.load_voltage_v / 600.0 - drop).abs() < 1e-9);
        }

        #[test]
        fn prop_hostile_numbers_give_errors_or_finite_answers(bits in any::<[u64; 4]>()) {
            let [length_m, load_w, voltage_v, other] = bits.map(f64::from_bits);
            let demand = LineDemand { length_m, load_w, ..demand() };
            if let Ok(choice) = thinnest_wire(&demand, voltage_v, &AreaLimits::usual()) {
                prop_assert!(choice.mass_kg.is_finite() && choice.area_m2 > 0.0);
            }
            if let Ok(best) = best_voltage(&demand, 0.1, Plastic::ETFE, WallRule::default(), other) {
                prop_assert!(best.mass_kg().is_finite());
            }
            if let Ok(limit_m) = self_lift_limit_m(&Metal::COPPER, other, voltage_v, 0.1, 100.0) {
                prop_assert!(limit_m.is_finite());
            }
        }
    }
}
