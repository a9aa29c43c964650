//! A battery of equal cells: voltage, resistance and limits by state of charge, temperature and age; power drawn and
//! surplus stored over time. The circuit is a voltage behind one resistance: M. Chen, G. A. Rincón-Mora, IEEE Trans. Energy Convers. 21
//! (2006), without their pairs of resistor and capacitor, which settle in minutes; powers and energies follow by Kirchhoff's laws.
//!
//! State of charge counts the charge that the cells hold at their temperature and age, 0 to 1. The battery itself is
//! unchanging: [`Battery::step`] takes a state of charge and gives the next one, so that one battery serves any number of
//! simulations.

mod open_circuit;
mod work;

pub use open_circuit::OpenCircuitCurve;
pub use work::{BatteryStep, Discharge};

use open_circuit::share;
use work::ladder::{Rested, Rung};

use crate::{
    ElectricalError,
    load::{ConstantPowerLoad, constant_power_load},
};
use beamstay_numerics::{
    domain::in_range,
    quadrature::GaussLegendre,
    root::{Tolerance, bracketed},
};

/// Lowest and highest cell temperature for discharge, K: −20 to 60 °C (common cell data sheets, secondary source).
pub const DISCHARGE_TEMP_WINDOW_K: (f64, f64) = (253.15, 333.15);

/// Lowest and highest cell temperature for charge, K: 0 to 60 °C (as above). Below, lithium plates out and the cell may
/// short later.
pub const CHARGE_TEMP_WINDOW_K: (f64, f64) = (273.15, 333.15);

/// Temperature at which capacity and resistance are quoted, K (25 °C).
pub const RATED_TEMP_K: f64 = 298.15;

/// Rise of resistance towards empty over its value at mid charge, and how fast it fades with state of charge: 0.1562/0.07446
/// and 24.37 (series resistance of Chen and Rincón-Mora, 2006).
pub const POLYMER_LOW_CHARGE_RISE: (f64, f64) = (0.1562 / 0.07446, 24.37);

/// Charging ends where the current at full-charge voltage has fallen to this share of the capacity per hour (common
/// practice: C/20).
const END_OF_CHARGE_PER_H: f64 = 0.05;

/// What a battery is made of and how it may be used.
#[derive(Debug, Clone, PartialEq)]
pub struct BatterySpec {
    /// Open-circuit voltage of one cell.
    pub curve: OpenCircuitCurve,
    /// Charge of one new cell at 25 °C, C (1 Ah is 3600 C); 1 to 1e7.
    pub cell_capacity_coulomb: f64,
    /// Direct-current resistance of one new cell at 25 °C and mid charge, Ω; 0 to 10.
    pub cell_resistance_ohm: f64,
    /// Extra resistance of the empty cell over the one above; 0 to 20. It fades with e^(−24.37·s).
    pub low_charge_rise_ratio: f64,
    /// Activation temperature of the resistance, K; 0 to 10,000: R grows by exp(T_a(1/T − 1/298.15 K)) in the cold. It is
    /// not let fall above 25 °C.
    pub cold_activation_k: f64,
    /// Share of the new capacity that age has left; 0.1 to 1.
    pub health_ratio: f64,
    /// Resistance over that of the new cell; 1 to 10.
    pub resistance_growth_ratio: f64,
    /// Cells in series; 1 to 10,000.
    pub series_count: u32,
    /// Strings in parallel; 1 to 10,000.
    pub parallel_count: u32,
    /// Temperature of the cells, K; 200 to 400.
    pub temp_k: f64,
    /// State of charge below which nothing is drawn; 0 to 0.95.
    pub floor_ratio: f64,
    /// Lowest cell voltage under load, V; 0 to 10.
    pub cutoff_v: f64,
    /// Highest discharge current per capacity of the new cell, 1/h; 0.01 to 200.
    pub max_discharge_per_h: f64,
    /// Highest charge current per capacity of the new cell, 1/h; 0.01 to 50.
    pub max_charge_per_h: f64,
    /// Power into the cells over surplus power taken (charger); 0.3 to 1. Resistance heat comes off besides.
    pub charge_efficiency_ratio: f64,
    /// Energy of the new full battery at 25 °C per kilogram of the whole pack, J/kg (1 Wh/kg is 3600 J/kg); 1e4 to 1e7.
    pub specific_energy_j_per_kg: f64,
}

impl BatterySpec {
    /// A new polymer lithium-ion pack at 25 °C that holds `energy_j` when full, in `series_count` cells.
    ///
    /// Defaults: curve of Chen and Rincón-Mora; 0.030 Ω·Ah of resistance times capacity (3 mΩ at 10 Ah, common practice);
    /// resistance ×2.5 at 0 °C and ×6 at −20 °C (activation 3000 K, from memory); a fifth left untouched (depth 0.8 of a
    /// 2019 study of vertical-take-off energy); 3.3 V under load; 10 and 1 times the capacity per hour; charger 0.95; 150 Wh/kg
    /// (lower end of the textbook's 150 to 200).
    pub fn polymer(energy_j: f64, series_count: u32) -> Self {
        let curve = OpenCircuitCurve::polymer();
        let cells_v = curve.integral_v(0.0, 1.0) * f64::from(series_count.max(1));
        let cell_capacity_coulomb = energy_j / cells_v;
        Self {
            curve,
            cell_capacity_coulomb,
            cell_resistance_ohm: 0.030 * 3600.0 / cell_capacity_coulomb,
            low_charge_rise_ratio: POLYMER_LOW_CHARGE_RISE.0,
            cold_activation_k: 3000.0,
            health_ratio: 1.0,
            resistance_growth_ratio: 1.0,
            series_count,
            parallel_count: 1,
            temp_k: RATED_TEMP_K,
            floor_ratio: 0.2,
            cutoff_v: 3.3,
            max_discharge_per_h: 10.0,
            max_charge_per_h: 1.0,
            charge_efficiency_ratio: 0.95,
            specific_energy_j_per_kg: 150.0 * 3600.0,
        }
    }

    fn check(&self) -> Result<(), ElectricalError> {
        in_range("cell capacity", "C", self.cell_capacity_coulomb, 1.0, 1e7)?;
        in_range("cell resistance", "ohm", self.cell_resistance_ohm, 0.0, 10.0)?;
        in_range("rise of resistance towards empty", "", self.low_charge_rise_ratio, 0.0, 20.0)?;
        in_range("activation temperature of the resistance", "K", self.cold_activation_k, 0.0, 10_000.0)?;
        in_range("battery health", "", self.health_ratio, 0.1, 1.0)?;
        in_range("growth of cell resistance", "", self.resistance_growth_ratio, 1.0, 10.0)?;
        in_range("cells in series", "", f64::from(self.series_count), 1.0, 10_000.0)?;
        in_range("strings in parallel", "", f64::from(self.parallel_count), 1.0, 10_000.0)?;
        in_range("cell temperature", "K", self.temp_k, 200.0, 400.0)?;
        in_range("state of charge left untouched", "", self.floor_ratio, 0.0, 0.95)?;
        in_range("lowest cell voltage", "V", self.cutoff_v, 0.0, 10.0)?;
        in_range("discharge rate", "1/h", self.max_discharge_per_h, 0.01, 200.0)?;
        in_range("charge rate", "1/h", self.max_charge_per_h, 0.01, 50.0)?;
        in_range("charge efficiency", "", self.charge_efficiency_ratio, 0.3, 1.0)?;
        in_range("battery specific energy", "J/kg", self.specific_energy_j_per_kg, 1e4, 1e7)?;
        Ok(())
    }
}

/// What keeps a battery from giving or taking more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BatteryLimit {
    /// Only the part to be left untouched is left.
    Depth,
    /// The cells would fall under their lowest voltage.
    Voltage,
    /// The current would be over the allowed rate.
    Current,
    /// No current gives that power through the cells' resistance.
    PowerTransfer,
    /// The cells are too cold or too hot.
    Temperature,
    /// The cells are full.
    Full,
}

/// Share of the capacity that a cold cell gives, by temperature: 1 at 25 °C, 0.85 at 0 °C, 0.6 at −20 °C (middle of the
/// usual 10 to 20 % and 30 to 50 % loss; from memory, weak), straight between, held outside.
///
/// # Examples
/// ```
/// use beamstay_electrical::battery::cold_capacity_ratio;
/// assert!((cold_capacity_ratio(273.15) - 0.85).abs() < 1e-12);
/// assert!((cold_capacity_ratio(263.15) - 0.725).abs() < 1e-12);
/// ```
pub fn cold_capacity_ratio(temp_k: f64) -> f64 {
    if temp_k >= 273.15 {
        1.0 - 0.15 * ((RATED_TEMP_K - temp_k) / 25.0).clamp(0.0, 1.0)
    } else {
        0.85 - 0.25 * ((273.15 - temp_k) / 20.0).clamp(0.0, 1.0)
    }
}

/// A battery ready for use.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    spec: BatterySpec,
    /// Charge between empty and full of the whole pack, C.
    charge_coulomb: f64,
    /// Resistance of the pack at mid charge, Ω.
    resistance_ohm: f64,
    max_discharge_a: f64,
    max_charge_a: f64,
    /// State of charge at which charging ends.
    full_ratio: f64,
    rule: GaussLegendre<4>,
    /// The way from full down to the floor.
    rungs: Vec<Rung>,
}

impl Battery {
    /// Checks the specification and works out what stays constant.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside the ranges of [`BatterySpec`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Battery, BatterySpec};
    /// let battery = Battery::new(BatterySpec::polymer(300.0 * 3600.0, 6)).unwrap();
    /// assert!((battery.mass_kg() - 2.0).abs() < 1e-9);
    /// ```
    pub fn new(spec: BatterySpec) -> Result<Self, ElectricalError> {
        spec.check()?;
        let (series, parallel) = (f64::from(spec.series_count), f64::from(spec.parallel_count));
        let rated_coulomb = spec.cell_capacity_coulomb * parallel;
        let cold = spec.cold_activation_k * (1.0 / spec.temp_k - 1.0 / RATED_TEMP_K);
        let cell_ohm = spec.cell_resistance_ohm * spec.resistance_growth_ratio * cold.max(0.0).exp();
        let mut battery = Self {
            charge_coulomb: rated_coulomb * spec.health_ratio * cold_capacity_ratio(spec.temp_k),
            resistance_ohm: cell_ohm * series / parallel,
            max_discharge_a: spec.max_discharge_per_h * rated_coulomb / 3600.0,
            max_charge_a: spec.max_charge_per_h * rated_coulomb / 3600.0,
            full_ratio: 1.0,
            rule: GaussLegendre::new(),
            rungs: Vec::new(),
            spec,
        };
        battery.full_ratio = battery.end_of_charge_ratio();
        battery.rungs = battery.rungs();
        Ok(battery)
    }

    /// State of charge where the current at full-charge voltage falls to C/20.
    fn end_of_charge_ratio(&self) -> f64 {
        let end_a = self.end_of_charge_a();
        let excess_v =
            |s: f64| self.open_circuit_v(s) + end_a * self.resistance_ohm(s) - self.open_circuit_v(1.0);
        bracketed(excess_v, 0.0, 1.0, Tolerance::default()).map_or(1.0, |root| root.x)
    }

    fn end_of_charge_a(&self) -> f64 {
        END_OF_CHARGE_PER_H * self.charge_coulomb / 3600.0
    }

    /// What it was built from.
    pub fn spec(&self) -> &BatterySpec {
        &self.spec
    }

    /// Voltage of the pack without current, V.
    pub fn open_circuit_v(&self, state_of_charge: f64) -> f64 {
        self.spec.curve.voltage_v(state_of_charge) * f64::from(self.spec.series_count)
    }

    /// Resistance of the pack at its temperature and age, Ω.
    pub fn resistance_ohm(&self, state_of_charge: f64) -> f64 {
        let rise = self.spec.low_charge_rise_ratio;
        if rise > 0.0 {
            let fade = (-POLYMER_LOW_CHARGE_RISE.1 * share(state_of_charge)).exp();
            self.resistance_ohm * (1.0 + rise * fade)
        } else {
            self.resistance_ohm
        }
    }

    /// Both operating points at a constant power drawn from the terminals (W, 0 or more), limits left aside; the battery
    /// works at the stable one of lower current.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Battery, BatterySpec, OpenCircuitCurve};
    /// let spec = BatterySpec { low_charge_rise_ratio: 0.0, ..BatterySpec::polymer(1e6, 6) };
    /// let spec = BatterySpec { cell_capacity_coulomb: 36_000.0, cell_resistance_ohm: 0.009, ..spec };
    /// let battery = Battery::new(spec).unwrap();
    /// assert!((battery.terminal(0.2, 600.0).limit_w - 2312.64).abs() < 0.01);
    /// ```
    pub fn terminal(&self, state_of_charge: f64, power_w: f64) -> ConstantPowerLoad {
        constant_power_load(
            self.open_circuit_v(state_of_charge),
            self.resistance_ohm(state_of_charge),
            power_w,
        )
    }

    /// What forbids drawing `power_w` (W) at a state of charge; `None` if nothing does.
    pub fn discharge_limit(&self, state_of_charge: f64, power_w: f64) -> Option<BatteryLimit> {
        let (coldest_k, hottest_k) = DISCHARGE_TEMP_WINDOW_K;
        if !(coldest_k..=hottest_k).contains(&self.spec.temp_k) {
            return Some(BatteryLimit::Temperature);
        }
        if share(state_of_charge) <= self.spec.floor_ratio {
            return Some(BatteryLimit::Depth);
        }
        self.electrical_limit(state_of_charge, power_w)
    }

    /// The part of [`Self::discharge_limit`] that follows from current and voltage.
    fn electrical_limit(&self, state_of_charge: f64, power_w: f64) -> Option<BatteryLimit> {
        self.limit_at_rest(&self.rested(state_of_charge), power_w)
    }

    /// The same from voltage and resistance there.
    fn limit_at_rest(&self, rested: &Rested, power_w: f64) -> Option<BatteryLimit> {
        let Some(point) = constant_power_load(rested.open_v, rested.resistance_ohm, power_w).stable else {
            return Some(BatteryLimit::PowerTransfer);
        };
        if point.current_a > self.max_discharge_a {
            Some(BatteryLimit::Current)
        } else if point.load_voltage_v < self.cutoff_v() {
            Some(BatteryLimit::Voltage)
        } else {
            None
        }
    }

    /// Whether there is none, without saying which.
    fn gives_at_rest(&self, rested: &Rested, power_w: f64) -> bool {
        let allowed = |loaded_v| power_w <= self.max_discharge_a * loaded_v && loaded_v >= self.cutoff_v();
        rested.loaded_v(power_w).is_some_and(allowed)
    }

    fn cutoff_v(&self) -> f64 {
        self.spec.cutoff_v * f64::from(self.spec.series_count)
    }

    /// Largest power that may be drawn at a state of charge, W; 0 at and below the floor or outside the temperature
    /// window.
    pub fn max_discharge_w(&self, state_of_charge: f64) -> f64 {
        if matches!(
            self.discharge_limit(state_of_charge, 0.0),
            Some(BatteryLimit::Temperature | BatteryLimit::Depth)
        ) {
            return 0.0;
        }
        let open_v = self.open_circuit_v(state_of_charge);
        let resistance_ohm = self.resistance_ohm(state_of_charge);
        let lowest_v = self.cutoff_v().max(0.5 * open_v);
        let current_a = (((open_v - lowest_v) / resistance_ohm).max(0.0)).min(self.max_discharge_a);
        current_a * (open_v - current_a * resistance_ohm)
    }

    /// Largest surplus power that may be stored at a state of charge, W (at the charger's input); 0 when full or outside
    /// the temperature window for charging.
    pub fn max_charge_w(&self, state_of_charge: f64) -> f64 {
        if self.charge_block(state_of_charge).is_some() {
            return 0.0;
        }
        let current_a = self.max_charge_current_a(state_of_charge);
        let terminal_v =
            self.open_circuit_v(state_of_charge) + current_a * self.resistance_ohm(state_of_charge);
        current_a * terminal_v / self.spec.charge_efficiency_ratio
    }

    fn charge_block(&self, state_of_charge: f64) -> Option<BatteryLimit> {
        let (coldest_k, hottest_k) = CHARGE_TEMP_WINDOW_K;
        if !(coldest_k..=hottest_k).contains(&self.spec.temp_k) {
            Some(BatteryLimit::Temperature)
        } else if state_of_charge >= self.full_ratio {
            Some(BatteryLimit::Full)
        } else {
            None
        }
    }

    /// Allowed rate, or less where the terminals reach the full-charge voltage; there never under the C/20 at which
    /// charging ends, which matters for a table that is flat at the top.
    fn max_charge_current_a(&self, state_of_charge: f64) -> f64 {
        let headroom_v = self.open_circuit_v(1.0) - self.open_circuit_v(state_of_charge);
        let taper_a = headroom_v / self.resistance_ohm(state_of_charge);
        taper_a.max(self.end_of_charge_a()).min(self.max_charge_a)
    }

    /// Energy that the cells hold above empty, J, before any loss.
    pub fn stored_j(&self, state_of_charge: f64) -> f64 {
        let series = f64::from(self.spec.series_count);
        self.charge_coulomb * series * self.spec.curve.integral_v(0.0, state_of_charge)
    }

    /// Charge between empty and full at its temperature and age, C.
    pub fn charge_coulomb(&self) -> f64 {
        self.charge_coulomb
    }

    /// State of charge at which charging ends (current at full voltage down to C/20), a little under 1.
    pub fn full_ratio(&self) -> f64 {
        self.full_ratio
    }

    /// Mass of the pack, kg: energy of the new full pack at 25 °C over the specific energy.
    pub fn mass_kg(&self) -> f64 {
        let cells = f64::from(self.spec.series_count) * f64::from(self.spec.parallel_count);
        let energy_j = cells * self.spec.cell_capacity_coulomb * self.spec.curve.integral_v(0.0, 1.0);
        energy_j / self.spec.specific_energy_j_per_kg
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests;
