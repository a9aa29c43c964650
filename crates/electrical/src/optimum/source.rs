//! What a line asks of its source: the price of ground power, and the height at which it can no longer lift itself.

use super::LineDemand;
use crate::{ElectricalError, Metal};
use beamstay_numerics::domain::in_range;

/// The drop at which metal and priced source power together are least.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
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
