//! A receiver at work: light, draw and cooling in; power, heat and temperature out.

use beamstay_numerics::{
    domain::in_range,
    minimum,
    root::{Tolerance, bracketed_from},
};

use super::{CooledSink, Diode, PowerPoint, Receiver, diode::Junction, string::UnevenString};
use crate::OpticsError;

/// Largest light a receiver is asked about, W.
const MOST_LIGHT_W: f64 = 1e6;
/// Temperature of the sink is solved to this part of its excess over the air.
const SINK_TOLERANCE: f64 = 1e-12;

/// What is drawn from the receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Draw {
    /// All that the tracker can get.
    MaximumPower,
    /// This power at the bus, W, or all that there is if that is less.
    Bus(f64),
    /// Nothing: the load is lost and all the light becomes heat.
    Nothing,
}

/// A receiver at work. `arriving_w` is `reflected_w + cells_w + cell_heat_w`, and `cells_w` is
/// `converter_loss_w + bus_w`, to rounding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReceiverOperation {
    /// Light that arrives, W.
    pub arriving_w: f64,
    /// Light sent back, W.
    pub reflected_w: f64,
    /// Light that enters the cells, W.
    pub absorbed_w: f64,
    /// Electrical power of the cells, W.
    pub cells_w: f64,
    /// Heat of the cells, W.
    pub cell_heat_w: f64,
    /// Temperature of the cells, K.
    pub cell_temp_k: f64,
    /// Temperature of the base of the heat sink, K.
    pub sink_temp_k: f64,
    /// Heat of the converter, W.
    pub converter_loss_w: f64,
    /// Power at the bus, W.
    pub bus_w: f64,
    /// Voltage of a string, V.
    pub string_voltage_v: f64,
    /// Current of all strings together, A.
    pub current_a: f64,
    /// Electrical power of the cells over arriving light.
    pub efficiency_ratio: f64,
    /// Evaluations of the cells that the temperature took.
    pub evaluations_count: u32,
}

/// Arriving light for a power at the bus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ArrivingForBus {
    /// The least light that gives it.
    Found {
        /// Arriving light, W.
        arriving_w: f64,
        /// The receiver at that light.
        operation: ReceiverOperation,
    },
    /// No light up to the ceiling gives it; series resistance and heat make the power peak.
    NoneCloses {
        /// Largest power at the bus, W.
        best_bus_w: f64,
        /// The light that gives it, W.
        at_arriving_w: f64,
    },
}

/// What does not change while the temperature is sought.
struct Lit<'a> {
    receiver: &'a Receiver,
    absorbed_w: f64,
    wavelength_m: f64,
    draw: Draw,
}

impl Receiver {
    /// The receiver under `arriving_w` (0 to 1 MW) of light of `wavelength_m`, cooled by `cooling`.
    ///
    /// The base of the sink is found where the heat that it sheds is the light absorbed less the power drawn; the cells
    /// are hotter by the resistance between. Power falls and shed heat rises with temperature, so there is one answer.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for light, wavelength or a draw outside 0 to 1e6 W; [`OpticsError::Root`] if the
    /// temperature is not found.
    pub fn operate(
        &self,
        arriving_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        draw: Draw,
    ) -> Result<ReceiverOperation, OpticsError> {
        in_range("light at the receiver", "W", arriving_w, 0.0, MOST_LIGHT_W)?;
        in_range("wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        if let Draw::Bus(bus_w) = draw {
            in_range("power drawn from the receiver", "W", bus_w, 0.0, 1e6)?;
        }
        let reflected_w = arriving_w * self.spec().reflection_ratio;
        let absorbed_w = arriving_w - reflected_w;
        let lit = Lit { receiver: self, absorbed_w, wavelength_m, draw };
        let (sink_temp_k, evaluations_count) = lit.sink_temperature(cooling)?;
        let shed_w = cooling.dissipated_w(sink_temp_k);
        let cell_temp_k = sink_temp_k + shed_w * self.spec().junction_to_sink_k_per_w;
        let point = lit.drawn(cell_temp_k);
        let cells_w = point.power_w.clamp(0.0, absorbed_w);
        let converter = &self.spec().converter;
        // What the converter cannot take while nothing is drawn never leaves the cells.
        let bus_w = match draw {
            Draw::Nothing => 0.0,
            Draw::Bus(wanted_w) => converter.output_w(cells_w).min(wanted_w),
            Draw::MaximumPower => converter.output_w(cells_w),
        };
        Ok(ReceiverOperation {
            arriving_w,
            reflected_w,
            absorbed_w,
            cells_w,
            cell_heat_w: absorbed_w - cells_w,
            cell_temp_k,
            sink_temp_k,
            converter_loss_w: cells_w - bus_w,
            bus_w,
            string_voltage_v: point.voltage_v,
            current_a: point.current_a * f64::from(self.spec().parallel_count),
            efficiency_ratio: if arriving_w > 0.0 { cells_w / arriving_w } else { 0.0 },
            evaluations_count: evaluations_count + 1,
        })
    }

    /// The least light that gives `bus_w` at the bus, up to `ceiling_w`.
    ///
    /// Power at the bus rises from no light to one peak and falls behind it; the root before the peak is taken.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn arriving_for_bus(
        &self,
        bus_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        ceiling_w: f64,
    ) -> Result<ArrivingForBus, OpticsError> {
        in_range("power at the bus", "W", bus_w, 0.0, 1e6)?;
        let at = |arriving_w: f64| self.operate(arriving_w, wavelength_m, cooling, Draw::MaximumPower);
        let mut top = at(ceiling_w)?;
        if top.bus_w < bus_w {
            top = at(self.peak(wavelength_m, cooling, ceiling_w))?;
            if top.bus_w < bus_w {
                return Ok(ArrivingForBus::NoneCloses {
                    best_bus_w: top.bus_w,
                    at_arriving_w: top.arriving_w,
                });
            }
        }
        if bus_w == 0.0 {
            return Ok(ArrivingForBus::Found { arriving_w: 0.0, operation: at(0.0)? });
        }
        // Power per light hardly changes, so light in proportion is a bracket end close by; power at no light is 0.
        let short_w = |arriving_w: f64| at(arriving_w).map_or(f64::NAN, |o| o.bus_w - bus_w);
        let mut low = (0.0, -bus_w);
        let mut high = (top.arriving_w, top.bus_w - bus_w);
        let guess_w = (bus_w / top.bus_w) * top.arriving_w;
        for factor in [1.0, 0.97, 1.03] {
            let x = guess_w * factor;
            if x > low.0 && x < high.0 {
                let y = short_w(x);
                if y < 0.0 { low = (x, y) } else { high = (x, y) }
            }
        }
        let tolerance = Tolerance { x_rel: 1e-12, ..Tolerance::default() };
        let root = bracketed_from(short_w, low, high, tolerance)?;
        Ok(ArrivingForBus::Found { arriving_w: root.x, operation: at(root.x)? })
    }

    /// The light up to `ceiling_w` that gives the most power at the bus, W.
    pub fn peak(&self, wavelength_m: f64, cooling: &CooledSink, ceiling_w: f64) -> f64 {
        let lost = |arriving_w: f64| {
            self.operate(arriving_w, wavelength_m, cooling, Draw::MaximumPower)
                .map_or(f64::NAN, |o| -o.cells_w)
        };
        minimum::brent(lost, 0.0, ceiling_w, 1e-7 * ceiling_w).x
    }

    /// The light up to `ceiling_w` at which the cells reach `cell_temp_k` with `draw`, W; the ceiling if they never do.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn arriving_at_temperature(
        &self,
        cell_temp_k: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        draw: Draw,
        ceiling_w: f64,
    ) -> Result<f64, OpticsError> {
        let excess = |arriving_w: f64| {
            self.operate(arriving_w, wavelength_m, cooling, draw)
                .map_or(f64::NAN, |o| o.cell_temp_k - cell_temp_k)
        };
        let (at_none, at_ceiling) = (cooling.ambient_k() - cell_temp_k, excess(ceiling_w));
        if at_ceiling <= 0.0 {
            return Ok(ceiling_w);
        }
        if at_none >= 0.0 {
            return Ok(0.0);
        }
        let tolerance = Tolerance { x_rel: 1e-9, ..Tolerance::default() };
        let root = bracketed_from(excess, (0.0, at_none), (ceiling_w, at_ceiling), tolerance)?;
        Ok(root.x)
    }
}

impl Lit<'_> {
    /// Base temperature of the sink at which heat shed and heat made are equal, and the evaluations it took.
    fn sink_temperature(&self, cooling: &CooledSink) -> Result<(f64, u32), OpticsError> {
        let ambient_k = cooling.ambient_k();
        if self.absorbed_w <= 0.0 {
            return Ok((ambient_k, 0));
        }
        let hottest_k = cooling.temperature_k(self.absorbed_w);
        if self.draw == Draw::Nothing {
            return Ok((hottest_k, 0));
        }
        let resistance_k_per_w = self.receiver.spec().junction_to_sink_k_per_w;
        let mut evaluations_count = 0;
        let mut surplus_w = |sink_k: f64| {
            evaluations_count += 1;
            let shed_w = cooling.dissipated_w(sink_k);
            let drawn_w = self.drawn(sink_k + shed_w * resistance_k_per_w).power_w;
            self.absorbed_w - drawn_w.clamp(0.0, self.absorbed_w) - shed_w
        };
        // At the hottest nothing is drawn from what is absorbed, so the surplus there is minus what is drawn.
        let high = (hottest_k, surplus_w(hottest_k));
        if high.1 >= 0.0 {
            return Ok((hottest_k, evaluations_count));
        }
        // The heat made at the hottest is more than at the answer: its temperature is a close upper end.
        let low = (ambient_k, self.absorbed_w - self.drawn(ambient_k).power_w.clamp(0.0, self.absorbed_w));
        if low.1 <= 0.0 {
            return Ok((ambient_k, evaluations_count + 1));
        }
        let tolerance = Tolerance { x_abs: SINK_TOLERANCE * (hottest_k - ambient_k), ..Tolerance::default() };
        let root = bracketed_from(surplus_w, low, high, tolerance)?;
        Ok((root.x, evaluations_count + 1))
    }

    /// Voltage of a string, current of a string and power of all strings as drawn at a cell temperature.
    fn drawn(&self, cell_temp_k: f64) -> PowerPoint {
        let spec = self.receiver.spec();
        let parallel = f64::from(spec.parallel_count);
        let responsivity = spec.cell.responsivity_a_per_w(self.wavelength_m, cell_temp_k);
        let string_photo_a = self.absorbed_w / parallel * responsivity;
        let wanted_w = match self.draw {
            Draw::Nothing => return PowerPoint::default(),
            Draw::MaximumPower => f64::INFINITY,
            Draw::Bus(bus_w) => spec.converter.input_w(bus_w) / parallel,
        };
        let point = match &spec.shares {
            None => {
                let series = f64::from(spec.series_count);
                let diode = Diode {
                    photocurrent_a: string_photo_a / series,
                    junction: spec.cell.junction(series, 1.0, cell_temp_k),
                };
                self.limited(diode.maximum_power(), wanted_w, |w| diode.point_at_power(w))
            }
            Some(shares) => {
                let cell: Junction = spec.cell.junction(1.0, 1.0, cell_temp_k);
                let string = UnevenString { cell, photocurrent_a: string_photo_a, shares };
                self.limited(string.maximum_power(), wanted_w, |w| string.point_at_power(w))
            }
        };
        PowerPoint { power_w: point.power_w * parallel, ..point }
    }

    /// The maximum as far as the tracker gets, or the point that gives what is wanted if that is less.
    fn limited(&self, best: PowerPoint, wanted_w: f64, at_power: impl Fn(f64) -> PowerPoint) -> PowerPoint {
        let reached_w = self.receiver.spec().tracking_efficiency_ratio * best.power_w;
        if wanted_w >= reached_w {
            return PowerPoint { power_w: reached_w, ..best };
        }
        PowerPoint { power_w: wanted_w, ..at_power(wanted_w) }
    }
}
