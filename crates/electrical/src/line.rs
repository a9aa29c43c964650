//! A two-wire copper line from the ground to the aircraft: mass, diameter, loss and temperature under a constant-power
//! load.

mod delivery;

pub use delivery::{CopperDelivery, DeliveryOperation};

use crate::{
    Conductor, Cooling, ElectricalError, LoadPoint, Wall, Winding,
    load::{constant_power_load, power_transfer_limit_w},
};
use beamstay_numerics::domain::in_range;

/// Two equal insulated wires twisted into a pair, with a direct-voltage source at the lower end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    conductor: Conductor,
    wall: Wall,
    length_m: f64,
    source_voltage_v: f64,
}

/// Where the line lies and how it is cooled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineSurroundings {
    /// Length that hangs in the air, m; 0 to the whole length. The rest is on the drum.
    pub paid_out_length_m: f64,
    /// Air around the hanging part.
    pub air: Cooling,
    /// Air temperature at the drum, K; 200 to 350.
    pub drum_ambient_temp_k: f64,
    /// Rise of the hottest wire on the drum over the air there per watt of heat in it, K/W; 0 to 1e4
    /// ([`Winding::rise_k_per_w`]).
    pub drum_rise_k_per_w: f64,
}

impl LineSurroundings {
    /// Everything paid out into the same air.
    pub fn all_paid_out(air: Cooling) -> Self {
        Self {
            paid_out_length_m: f64::MAX,
            air,
            drum_ambient_temp_k: air.ambient_temp_k,
            drum_rise_k_per_w: 0.0,
        }
    }

    /// Some of it on a drum that stands in air of the same temperature.
    pub fn with_drum(air: Cooling, paid_out_length_m: f64, winding: &Winding) -> Self {
        Self {
            paid_out_length_m,
            air,
            drum_ambient_temp_k: air.ambient_temp_k,
            drum_rise_k_per_w: winding.rise_k_per_w(),
        }
    }

    fn check(&self, length_m: f64) -> Result<Self, ElectricalError> {
        let air = self.air.check()?;
        in_range("line paid out", "m", self.paid_out_length_m, 0.0, f64::MAX)?;
        in_range("air temperature at the drum", "K", self.drum_ambient_temp_k, 200.0, 350.0)?;
        in_range("drum heating", "K/W", self.drum_rise_k_per_w, 0.0, 1e4)?;
        Ok(Self { paid_out_length_m: self.paid_out_length_m.min(length_m), air, ..*self })
    }
}

/// A line at work.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LineOperation {
    /// Current, A.
    pub current_a: f64,
    /// Voltage at the aircraft, V.
    pub load_voltage_v: f64,
    /// Power taken by the load, W.
    pub load_w: f64,
    /// Power fed in at the ground, W.
    pub source_w: f64,
    /// Heat in the hanging part, W.
    pub hanging_loss_w: f64,
    /// Heat in the part on the drum, W.
    pub drum_loss_w: f64,
    /// Conductor temperature in the hanging part, K.
    pub hanging_temp_k: f64,
    /// Hottest conductor temperature on the drum, K; air temperature there if nothing is on it.
    pub drum_temp_k: f64,
    /// Largest power that the line can carry with its conductors this warm, W.
    pub power_transfer_limit_w: f64,
    /// Whether the insulation stands both temperatures.
    pub insulation_holds: bool,
}

impl LineOperation {
    /// Voltage lost over source voltage (by definition).
    pub fn drop_ratio(&self) -> f64 {
        let lost_v = if self.current_a > 0.0 { self.loss_w() / self.current_a } else { 0.0 };
        lost_v / (self.load_voltage_v + lost_v)
    }

    /// Heat in the whole line, W.
    pub fn loss_w(&self) -> f64 {
        self.hanging_loss_w + self.drum_loss_w
    }

    /// Power at the load over power fed in; 1 without load.
    pub fn efficiency_ratio(&self) -> f64 {
        if self.source_w > 0.0 { self.load_w / self.source_w } else { 1.0 }
    }
}

/// What becomes of a load on a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outcome<T> {
    /// It is served, at the stable point.
    Served(T),
    /// More power is asked than can cross the line's resistance.
    PowerTransfer {
        /// Power asked for, W.
        load_w: f64,
        /// Largest power that would pass at the temperature reached, W.
        limit_w: f64,
    },
    /// The heat has no steady state below the hottest temperature looked for: the wire burns.
    Heat {
        /// Current at which that was found, A.
        current_a: f64,
    },
}

impl<T> Outcome<T> {
    /// The operation if the load is served.
    pub fn served(&self) -> Option<&T> {
        match self {
            Self::Served(operation) => Some(operation),
            _ => None,
        }
    }

    /// The same outcome with what was served put through `f`.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Outcome<U> {
        match self {
            Self::Served(operation) => Outcome::Served(f(operation)),
            Self::PowerTransfer { load_w, limit_w } => Outcome::PowerTransfer { load_w, limit_w },
            Self::Heat { current_a } => Outcome::Heat { current_a },
        }
    }
}

/// Resistance and temperature of both parts at one current.
#[derive(Clone, Copy)]
struct WarmLine {
    hanging_ohm: f64,
    drum_ohm: f64,
    hanging_temp_k: f64,
    drum_temp_k: f64,
}

impl Line {
    /// A pair of `length_m` (one way, drum included; m, 0.1 to 1e5) fed with `source_voltage_v` (V, 1 to 1e5, direct).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] outside those ranges.
    pub fn new(
        conductor: Conductor,
        wall: Wall,
        length_m: f64,
        source_voltage_v: f64,
    ) -> Result<Self, ElectricalError> {
        in_range("line length", "m", length_m, 0.1, 1e5)?;
        in_range("line source voltage", "V", source_voltage_v, 1.0, 1e5)?;
        Ok(Self { conductor, wall, length_m, source_voltage_v })
    }

    /// Resistance there and back at one temperature, Ω: 2L·R' (by definition).
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Conductor, Line, Metal, Plastic, Wall};
    /// let wire = Conductor::gauge(Metal::COPPER, 20).unwrap();
    /// let line = Line::new(wire, Wall::new(Plastic::ETFE, 0.25e-3).unwrap(), 100.0, 400.0).unwrap();
    /// assert!((line.loop_resistance_ohm(293.15) - 6.66165).abs() < 1e-5);
    /// assert!((line.power_transfer_limit_w(293.15) - 6004.515).abs() < 1e-2);
    /// ```
    pub fn loop_resistance_ohm(&self, temp_k: f64) -> f64 {
        2.0 * self.length_m * self.conductor.resistance_ohm_per_m(temp_k)
    }

    /// Largest power that crosses the line with its conductors at `temp_k`, W.
    pub fn power_transfer_limit_w(&self, temp_k: f64) -> f64 {
        power_transfer_limit_w(self.source_voltage_v, self.loop_resistance_ohm(temp_k))
    }

    /// Mass of both wires with insulation, kg/m. A strength member is not in it.
    pub fn mass_kg_per_m(&self) -> f64 {
        2.0 * (self.conductor.mass_kg_per_m() + self.wall.mass_kg_per_m(self.conductor.diameter_m()))
    }

    /// Diameter of one wire over its insulation, m.
    pub fn wire_diameter_m(&self) -> f64 {
        self.wall.outer_diameter_m(self.conductor.diameter_m())
    }

    /// Diameter of the circle around the pair, m: twice that of one wire. Its wind drag and its cooling are reckoned on
    /// it: for drag that is the safe side, and its surface equals that of both wires.
    pub fn pair_diameter_m(&self) -> f64 {
        2.0 * self.wire_diameter_m()
    }

    /// The bare conductor of one wire.
    pub fn conductor(&self) -> &Conductor {
        &self.conductor
    }

    /// The insulation of one wire.
    pub fn wall(&self) -> &Wall {
        &self.wall
    }

    /// Length one way, drum included, m.
    pub fn length_m(&self) -> f64 {
        self.length_m
    }

    /// Source voltage, V.
    pub fn source_voltage_v(&self) -> f64 {
        self.source_voltage_v
    }

    /// Both operating points with all of the conductor at `temp_k`.
    pub fn at_temperature(&self, load_w: f64, temp_k: f64) -> crate::ConstantPowerLoad {
        constant_power_load(self.source_voltage_v, self.loop_resistance_ohm(temp_k), load_w)
    }

    /// The line under a load of `load_w` (W, 0 to 1e9, at the upper end), with resistance and temperature of the hanging
    /// part and of the drum in balance.
    ///
    /// Current and temperature are raised together from the cold line until they repeat; each rises with the other, so this
    /// ends at the lowest current that satisfies the circuit and the heat together, which is the stable one, or finds that
    /// there is none.
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for the load or the surroundings. A load that cannot be served is not an error
    /// but an [`Outcome`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::{Conductor, Cooling, Line, LineSurroundings, Metal, Plastic, Wall};
    /// let wire = Conductor::gauge(Metal::COPPER, 20).unwrap();
    /// let line = Line::new(wire, Wall::new(Plastic::ETFE, 0.25e-3).unwrap(), 100.0, 400.0).unwrap();
    /// let air = Cooling::in_wind(313.15, 5.0).unwrap();
    /// let outcome = line.operate(2000.0, &LineSurroundings::all_paid_out(air)).unwrap();
    /// let operation = outcome.served().unwrap();
    /// assert!(operation.hanging_temp_k < 316.0);
    /// assert!((operation.source_w - operation.load_w - operation.loss_w()).abs() < 1e-9);
    /// ```
    pub fn operate(
        &self,
        load_w: f64,
        surroundings: &LineSurroundings,
    ) -> Result<Outcome<LineOperation>, ElectricalError> {
        let load_w = in_range("line load", "W", load_w, 0.0, 1e9)?;
        let surroundings = surroundings.check(self.length_m)?;
        let (mut current_a, mut limit_w) = (0.0, 0.0);
        let mut hanging_temp_k = surroundings.air.ambient_temp_k;
        for _ in 0..500 {
            let Some(warm) = self.warm(current_a, hanging_temp_k, &surroundings) else {
                return Ok(Outcome::Heat { current_a });
            };
            let load = constant_power_load(self.source_voltage_v, warm.hanging_ohm + warm.drum_ohm, load_w);
            limit_w = load.limit_w;
            let Some(point) = load.stable else {
                return Ok(Outcome::PowerTransfer { load_w, limit_w });
            };
            let settled = (point.current_a - current_a).abs() <= 1e-11 * point.current_a
                && (warm.hanging_temp_k - hanging_temp_k).abs() <= 1e-11 * hanging_temp_k;
            (current_a, hanging_temp_k) = (point.current_a, warm.hanging_temp_k);
            if settled {
                return Ok(Outcome::Served(self.operation(load_w, point, warm, limit_w)));
            }
        }
        // The current still creeps: heat and circuit only just fail to meet.
        Ok(Outcome::PowerTransfer { load_w, limit_w })
    }

    fn operation(&self, load_w: f64, point: LoadPoint, warm: WarmLine, limit_w: f64) -> LineOperation {
        let squared_a2 = point.current_a * point.current_a;
        let hottest_k = warm.hanging_temp_k.max(warm.drum_temp_k);
        LineOperation {
            current_a: point.current_a,
            load_voltage_v: point.load_voltage_v,
            load_w,
            source_w: point.source_w,
            hanging_loss_w: squared_a2 * warm.hanging_ohm,
            drum_loss_w: squared_a2 * warm.drum_ohm,
            hanging_temp_k: warm.hanging_temp_k,
            drum_temp_k: warm.drum_temp_k,
            power_transfer_limit_w: limit_w,
            insulation_holds: hottest_k <= self.wall.plastic.max_temp_k,
        }
    }

    /// Both parts at one current: the drum in thermal balance, the hanging part one round further from the temperature it
    /// had. `None` if one of them is too hot to go on.
    fn warm(&self, current_a: f64, hanging_temp_k: f64, surroundings: &LineSurroundings) -> Option<WarmLine> {
        let hanging_m = surroundings.paid_out_length_m;
        let drum_m = (self.length_m - hanging_m).max(0.0);
        let hanging_temp_k = if hanging_m > 0.0 {
            self.warmed_temp_k(current_a, hanging_temp_k, &surroundings.air)?
        } else {
            hanging_temp_k
        };
        let drum_temp_k = self.drum_temp_k(current_a, drum_m, surroundings)?;
        Some(WarmLine {
            hanging_ohm: 2.0 * hanging_m * self.conductor.resistance_ohm_per_m(hanging_temp_k),
            drum_ohm: 2.0 * drum_m * self.conductor.resistance_ohm_per_m(drum_temp_k),
            hanging_temp_k,
            drum_temp_k,
        })
    }

    /// Conductor temperature of the hanging pair that carries off the heat made at `temp_k`, K: both wires' heat leaves
    /// through the pair's outer circle, each wire's own heat through its own wall. `None` above the hottest temperature
    /// looked for.
    fn warmed_temp_k(&self, current_a: f64, temp_k: f64, air: &Cooling) -> Option<f64> {
        let wire_w_per_m = current_a * current_a * self.conductor.resistance_ohm_per_m(temp_k);
        let surface_k = air.surface_temp_k(self.pair_diameter_m(), 2.0 * wire_w_per_m)?;
        Some(surface_k + wire_w_per_m * self.wall.thermal_resistance_k_m_per_w(self.conductor.diameter_m()))
    }

    /// Hottest conductor temperature on the drum, K, all of it taken that warm: T = T_a + k·I²·R(T), linear in T. `None` if
    /// resistance grows faster with temperature than the drum sheds heat (thermal runaway) or above 2000 K.
    fn drum_temp_k(&self, current_a: f64, drum_m: f64, surroundings: &LineSurroundings) -> Option<f64> {
        let ambient_k = surroundings.drum_ambient_temp_k;
        let cold_ohm = 2.0 * drum_m * self.conductor.resistance_ohm_per_m(ambient_k);
        let warm_ohm = 2.0 * drum_m * self.conductor.resistance_ohm_per_m(ambient_k + 1.0);
        let cold_rise_k = surroundings.drum_rise_k_per_w * current_a * current_a * cold_ohm;
        let feedback = surroundings.drum_rise_k_per_w * current_a * current_a * (warm_ohm - cold_ohm);
        let temp_k = ambient_k + cold_rise_k / (1.0 - feedback);
        (feedback < 1.0 && temp_k < 2000.0).then_some(temp_k)
    }
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "limits and zeros are exact")]
mod tests;
