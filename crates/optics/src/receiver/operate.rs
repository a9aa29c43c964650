//! A receiver at work: light, draw and cooling in; power, heat and temperature out.

use std::cell::Cell;

use beamstay_numerics::domain::in_range;

use super::{
    CooledSink, Receiver,
    lit::{Lit, Settled},
};
use crate::OpticsError;

/// Largest light a receiver is asked about, W.
pub(super) const MOST_LIGHT_W: f64 = 1e6;

/// What is drawn from the receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
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
#[non_exhaustive]
pub struct ReceiverOperation {
    /// Light that arrives, W.
    pub arriving_w: f64,
    /// Light sent back, W: a glint, and a hazard of its own.
    pub reflected_w: f64,
    /// Light that enters the cells, W.
    pub absorbed_w: f64,
    /// Electrical power of the cells, W.
    pub cells_w: f64,
    /// Heat of the cells, W.
    pub cell_heat_w: f64,
    /// Mean temperature of the cells, K.
    pub cell_temp_k: f64,
    /// Temperature of the hottest cell, K: under uneven light the one with the most heat of its own, each cell having its
    /// own path to the base of the sink. The mean where the light is even.
    pub hottest_cell_temp_k: f64,
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
    /// Irradiance that enters the brightest cell, W/m².
    pub brightest_cell_w_per_m2: f64,
    /// Evaluations of the cells that the temperature took.
    pub evaluations_count: u32,
}

impl Receiver {
    /// The receiver under `arriving_w` (0 to 1 MW) of light of `wavelength_m` (0.1 to 20 µm), cooled by `cooling`.
    ///
    /// The base of the sink is found where the heat that it sheds is the light absorbed less the power drawn; the cells
    /// are hotter by the resistance between. Shed heat rises and power falls with temperature. Where power falls so fast
    /// that two temperatures balance (thermal runaway), the search, which comes down from the temperature with nothing
    /// drawn, stops at the hotter.
    ///
    /// Nothing stops at the melting point: a temperature above the receiver's limit is for the caller to judge. Above
    /// 2000 K the cells give nothing.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for light, wavelength or a draw outside 0 to 1e6 W.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Converter;
    /// use beamstay_environment::fluid::Fluid;
    /// use beamstay_optics::receiver::*;
    /// let air = Fluid {
    ///     temperature_k: 303.15,
    ///     pressure_pa: 101_325.0,
    ///     density_kg_m3: 1.164,
    ///     dynamic_viscosity_pa_s: 1.872e-5,
    ///     thermal_conductivity_w_per_m_k: 0.02588,
    ///     specific_heat_j_per_kg_k: 1007.0,
    ///     speed_of_sound_m_s: 349.0,
    /// };
    /// let receiver = Receiver::new(ReceiverSpec {
    ///     cell: Cell::new(CellSpec::gallium_arsenide(2e-4))?,
    ///     series_count: 6,
    ///     parallel_count: 1,
    ///     shares: None,
    ///     reflection_ratio: 0.03,
    ///     sink: FinSink::new(FinSinkSpec::aluminium(0.10, 0.08, 0.025))?,
    ///     junction_to_sink_k_per_w: 0.05,
    ///     tracking_efficiency_ratio: 0.99,
    ///     converter: Converter::ideal(),
    ///     optics_kg: 0.05,
    ///     housing_kg: 0.10,
    /// })?;
    /// let cooling = receiver.spec().sink.cooled_by(&air, 8.0)?;
    /// let working = receiver.operate(200.0, 808e-9, &cooling, Draw::MaximumPower)?;
    /// let lost = receiver.operate(200.0, 808e-9, &cooling, Draw::Nothing)?;
    /// assert!(working.bus_w > 100.0 && lost.cell_temp_k > working.cell_temp_k + 20.0);
    /// let out_w = working.reflected_w + working.cell_heat_w + working.converter_loss_w + working.bus_w;
    /// assert!((out_w - 200.0).abs() < 1e-10);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
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
        let lit = Lit::new(self, arriving_w, wavelength_m);
        let settled = match draw {
            Draw::Nothing => lit.with_power(cooling, 0.0),
            Draw::MaximumPower => lit.settle_from_hottest(cooling),
            Draw::Bus(bus_w) => {
                lit.with_demand(cooling, bus_w).unwrap_or_else(|| lit.settle_from_hottest(cooling))
            }
        };
        Ok(self.result(&lit, cooling, draw, &settled, arriving_w))
    }

    /// The receiver at maximum power under `ratio` (0 to 1) of the light of `bright`, which is at maximum power: as
    /// [`Self::operate`] in fewer steps, since what less light takes from the heat is more than what it takes from the power, so that
    /// the cells are cooler.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn dimmed(
        &self,
        bright: &ReceiverOperation,
        ratio: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
    ) -> Result<ReceiverOperation, OpticsError> {
        let arriving_w = in_range("share of the light", "", ratio, 0.0, 1.0)? * bright.arriving_w;
        in_range("light at the receiver", "W", arriving_w, 0.0, MOST_LIGHT_W)?;
        in_range("wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        let lit = Lit::new(self, arriving_w, wavelength_m);
        let settled = lit.settle(cooling, bright.sink_temp_k);
        Ok(self.result(&lit, cooling, Draw::MaximumPower, &settled, arriving_w))
    }

    /// The light at which the cells have a temperature at maximum power, W, from the heat that the sink sheds there; none under
    /// uneven light, where no single temperature is that of the hottest cell, or if it is not found. A receiver that has two
    /// temperatures under that light may be at the other.
    pub(super) fn arriving_while_at_w(
        &self,
        cell_temp_k: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
    ) -> Option<f64> {
        if self.spec().shares.is_some() {
            return None;
        }
        let shed_w = cooling.shed_below_w(cell_temp_k, self.spec().junction_to_sink_k_per_w)?;
        let entering_ratio = 1.0 - self.spec().reflection_ratio;
        let below = Cell::new(f64::NAN);
        let (mut arriving_w, mut before) = (shed_w / entering_ratio, None::<(f64, f64)>);
        for _ in 0..12 {
            let lit = Lit::new(self, arriving_w, wavelength_m).knowing(&below);
            let missing_w = shed_w - (lit.absorbed_w - lit.most(cell_temp_k).power_w);
            below.set(lit.below.get());
            if missing_w.abs() <= 1e-12 * shed_w {
                return Some(arriving_w);
            }
            // Heat is nearly in proportion to light.
            let slope = match before {
                None => (shed_w - missing_w) / arriving_w,
                Some((last_w, last_missing_w)) => (last_missing_w - missing_w) / (arriving_w - last_w),
            };
            before = Some((arriving_w, missing_w));
            arriving_w += missing_w / slope;
            if !(arriving_w > 0.0 && arriving_w <= MOST_LIGHT_W) {
                return None;
            }
        }
        None
    }

    /// Most power of the cells, W, under `arriving_w` of light at the temperature that they have while `drawn_w` leaves them:
    /// where the two are equal, that of [`Self::operate`] at maximum power, for one evaluation of the cells instead of a
    /// search of the temperature. With its derivative by the arriving light, not a number where that is not known. `below` as
    /// `Diode::peak_near` has it.
    pub(super) fn most_while_drawn_w(
        &self,
        arriving_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
        drawn_w: f64,
        below: &Cell<f64>,
    ) -> (f64, f64) {
        let lit = Lit::new(self, arriving_w, wavelength_m).knowing(below);
        let heat_w = (lit.absorbed_w - drawn_w).max(0.0);
        let sink_temp_k = cooling.temperature_k(heat_w);
        let resistance_k_per_w = self.spec().junction_to_sink_k_per_w;
        let most = lit.most(sink_temp_k + heat_w * resistance_k_per_w);
        below.set(lit.below.get());
        let warmer_k_per_w = if cooling.is_forced(sink_temp_k) && heat_w > 0.0 {
            1.0 / cooling.dissipated_with_slope(sink_temp_k).1 + resistance_k_per_w
        } else {
            f64::NAN
        };
        let entering_ratio = 1.0 - self.spec().reflection_ratio;
        let by_light = entering_ratio * (most.by_light_ratio + most.by_temp_w_per_k * warmer_k_per_w);
        (most.power_w, by_light)
    }

    /// The receiver with `bus_w` (0 to 1e6 W) drawn at the bus under the light of `most`, which is at maximum power: as
    /// [`Self::operate`], but where all that there is is drawn its temperature is known.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn drawn_under(
        &self,
        most: &ReceiverOperation,
        bus_w: f64,
        wavelength_m: f64,
        cooling: &CooledSink,
    ) -> Result<ReceiverOperation, OpticsError> {
        in_range("wavelength", "m", wavelength_m, 1e-7, 2e-5)?;
        in_range("power drawn from the receiver", "W", bus_w, 0.0, 1e6)?;
        let lit = Lit::new(self, most.arriving_w, wavelength_m);
        let settled = lit.with_demand(cooling, bus_w).unwrap_or(Settled {
            sink_temp_k: most.sink_temp_k,
            wanted_w: f64::INFINITY,
            evaluations_count: 1,
        });
        Ok(self.result(&lit, cooling, Draw::Bus(bus_w), &settled, most.arriving_w))
    }

    fn result(
        &self,
        lit: &Lit,
        cooling: &CooledSink,
        draw: Draw,
        settled: &Settled,
        arriving_w: f64,
    ) -> ReceiverOperation {
        let spec = self.spec();
        let absorbed_w = lit.absorbed_w;
        let shed_w = cooling.dissipated_w(settled.sink_temp_k);
        let cell_temp_k = settled.sink_temp_k + shed_w * spec.junction_to_sink_k_per_w;
        let (point, hottest_heat_w) = lit.point(cell_temp_k, settled.wanted_w);
        let cells_w = point.power_w.clamp(0.0, absorbed_w);
        // What the converter cannot take while nothing is drawn never leaves the cells.
        let bus_w = match draw {
            Draw::Nothing => 0.0,
            Draw::Bus(wanted_w) => spec.converter.output_w(cells_w).min(wanted_w),
            Draw::MaximumPower => spec.converter.output_w(cells_w),
        };
        let per_cell_k_per_w = spec.junction_to_sink_k_per_w * self.cells_count();
        ReceiverOperation {
            arriving_w,
            reflected_w: arriving_w - absorbed_w,
            absorbed_w,
            cells_w,
            cell_heat_w: absorbed_w - cells_w,
            cell_temp_k,
            hottest_cell_temp_k: cell_temp_k.max(settled.sink_temp_k + per_cell_k_per_w * hottest_heat_w),
            sink_temp_k: settled.sink_temp_k,
            converter_loss_w: cells_w - bus_w,
            bus_w,
            string_voltage_v: point.voltage_v,
            current_a: point.current_a,
            efficiency_ratio: if arriving_w > 0.0 { cells_w / arriving_w } else { 0.0 },
            brightest_cell_w_per_m2: absorbed_w * self.brightest_cell_ratio() / spec.cell.spec().area_m2,
            evaluations_count: settled.evaluations_count + 1,
        }
    }

    /// Share of the light on the brightest cell.
    fn brightest_cell_ratio(&self) -> f64 {
        match &self.spec().shares {
            None => 1.0 / self.cells_count(),
            Some(shares) => shares.brightest_ratio() / self.equal_groups(shares.ratios().len()),
        }
    }

    /// Groups of `cells_count` cells that share the light alike: the strings in parallel if the shares are those of one.
    pub(super) fn equal_groups(&self, cells_count: usize) -> f64 {
        (self.cells_count() / cells_count as f64).max(1.0)
    }
}
