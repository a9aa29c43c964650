//! Sizing of a receiver for the trade of mass against power: fins for a temperature, the whole for a scale or a mass.

use beamstay_electrical::converter::Converter;
use beamstay_environment::fluid::Fluid;
use beamstay_numerics::{
    domain::in_range,
    root::{Tolerance, bracketed_from},
};

use super::{Cell, CellSpec, Draw, FinSink, FinSinkSpec, Receiver, ReceiverOperation, ReceiverSpec};
use crate::OpticsError;

/// Lowest and highest fins that are tried, m.
const FIN_HEIGHT_M: (f64, f64) = (1e-4, 1.0);
/// Smallest and largest scale.
const SIZE_RATIO: (f64, f64) = (1e-3, 1e3);

/// The light, the air and the draw that a heat sink is sized for.
#[derive(Debug, Clone, Copy)]
pub struct SinkDuty<'a> {
    /// Arriving light, W.
    pub arriving_w: f64,
    /// Its wavelength, m.
    pub wavelength_m: f64,
    /// The air that cools.
    pub fluid: &'a Fluid,
    /// Its speed at the sink, m/s.
    pub air_speed_m_s: f64,
    /// What is drawn; [`Draw::Nothing`] sizes for a lost load, which is the hottest.
    pub draw: Draw,
    /// Allowed temperature of the hottest cell, K.
    pub max_cell_temp_k: f64,
}

/// A receiver whose heat sink was sized.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct SinkSizing {
    /// The receiver: with the sink that was asked for, or with the coldest if none keeps the limit.
    pub receiver: Receiver,
    /// It at work under the duty.
    pub operation: ReceiverOperation,
    /// Whether the hottest cell keeps the limit.
    pub keeps_limit: bool,
}

impl Receiver {
    /// The same receiver with another heat sink.
    pub fn with_sink(&self, sink: FinSink) -> Self {
        Self { spec: ReceiverSpec { sink, ..*self.spec() }, ..*self }
    }

    /// The receiver with the lowest fins, from 0.1 mm to 1 m, that keep the hottest cell at or below the limit; number, gap and
    /// thickness of the fins stay. Higher fins always cool more, and ever less so as their efficiency falls.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] for the duty or if the sink has no fins; [`OpticsError::Root`] if the search fails.
    pub fn size_fins(&self, duty: &SinkDuty) -> Result<SinkSizing, OpticsError> {
        in_range("fins", "", f64::from(self.spec().sink.spec().fins_count), 2.0, 1e5)?;
        in_range("allowed cell temperature", "K", duty.max_cell_temp_k, 0.0, 2000.0)?;
        let excess_k = |sizing: &SinkSizing| sizing.operation.hottest_cell_temp_k - duty.max_cell_temp_k;
        let (low, high) = (self.fins_of(FIN_HEIGHT_M.0, duty)?, self.fins_of(FIN_HEIGHT_M.1, duty)?);
        if low.keeps_limit || !high.keeps_limit {
            return Ok(if low.keeps_limit { low } else { high });
        }
        // The height spans four decades: search its logarithm.
        let at = |ln_m: f64| self.fins_of(ln_m.exp(), duty).map_or(f64::NAN, |s| excess_k(&s));
        let tolerance = Tolerance { x_abs: 1e-9, ..Tolerance::default() };
        let ends = (FIN_HEIGHT_M.0.ln(), FIN_HEIGHT_M.1.ln());
        let root = bracketed_from(at, (ends.0, excess_k(&low)), (ends.1, excess_k(&high)), tolerance)?;
        // On the safe side of the root.
        self.fins_of((root.x + 2e-9).exp().min(FIN_HEIGHT_M.1), duty)
    }

    /// The receiver with the lightest fins that keep the hottest cell at or below the limit, over the number of fins (the
    /// present width and thickness stay) and their height. The coldest that was found if none does.
    ///
    /// # Errors
    /// As [`Self::size_fins`].
    pub fn size_lightest_fins(&self, duty: &SinkDuty) -> Result<SinkSizing, OpticsError> {
        let mut best = self.size_fins(duty)?;
        let spec = *self.spec().sink.spec();
        // Gaps from a tenth of a millimetre, a tenth wider each time.
        let most = (spec.width_m / (spec.fin_thickness_m + 1e-4)).floor().clamp(2.0, 1e5);
        let mut fins = 2.0_f64;
        while fins <= most {
            let sink = FinSink::new(FinSinkSpec { fins_count: fins as u32, ..spec });
            if let Ok(sink) = sink {
                let sizing = self.with_sink(sink).size_fins(duty)?;
                if better(&sizing, &best) {
                    best = sizing;
                }
            }
            fins = (1.1 * fins).floor().max(fins + 1.0);
        }
        Ok(best)
    }

    fn fins_of(&self, fin_height_m: f64, duty: &SinkDuty) -> Result<SinkSizing, OpticsError> {
        let sink = FinSink::new(FinSinkSpec { fin_height_m, ..*self.spec().sink.spec() })?;
        let receiver = self.with_sink(sink);
        let cooling = sink.cooled_by(duty.fluid, duty.air_speed_m_s)?;
        let operation = receiver.operate(duty.arriving_w, duty.wavelength_m, &cooling, duty.draw)?;
        let keeps_limit = operation.hottest_cell_temp_k <= duty.max_cell_temp_k;
        Ok(SinkSizing { receiver, operation, keeps_limit })
    }

    /// The receiver `size_ratio` (0.001 to 1000) times as large, with `converter`: cell area, width of the sink, number of
    /// fins (rounded), optics and housing in proportion; the way from junction to sink in inverse proportion; wiring, length
    /// of the sink along the air and height of the fins as they are. Under light in proportion the irradiance, and, but for
    /// the rounding, the temperature stay.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if the ratio or a part of the result is outside its range.
    ///
    /// # Examples
    /// ```
    /// use beamstay_electrical::Converter;
    /// use beamstay_optics::receiver::*;
    /// let small = Receiver::new(ReceiverSpec {
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
    /// let large = small.scaled(3.0, Converter::ideal())?;
    /// assert!((large.mass().total_kg() / small.mass().total_kg() - 3.0).abs() < 0.05);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn scaled(&self, size_ratio: f64, converter: Converter) -> Result<Self, OpticsError> {
        in_range("size of the receiver", "", size_ratio, SIZE_RATIO.0, SIZE_RATIO.1)?;
        let spec = self.spec();
        let (cell, sink) = (*spec.cell.spec(), *spec.sink.spec());
        let pitches = f64::from(sink.fins_count.saturating_sub(1));
        let fins_count = match sink.fins_count {
            0 => 0,
            _ => (pitches * size_ratio).round().clamp(1.0, 99_999.0) as u32 + 1,
        };
        let scaled = Self::new(ReceiverSpec {
            cell: Cell::new(CellSpec { area_m2: cell.area_m2 * size_ratio, ..cell })?,
            sink: FinSink::new(FinSinkSpec { width_m: sink.width_m * size_ratio, fins_count, ..sink })?,
            junction_to_sink_k_per_w: spec.junction_to_sink_k_per_w / size_ratio,
            optics_kg: spec.optics_kg * size_ratio,
            housing_kg: spec.housing_kg * size_ratio,
            converter,
            ..*spec
        })?;
        Ok(Self { bypass_forward_v: self.bypass_forward_v, ..scaled })
    }

    /// The receiver scaled as by [`Self::scaled`] to a mass of at most `mass_kg`, within the mass of one fin, where
    /// `converter_of` gives the converter for a scale.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] if no scale in range has that mass; errors of `converter_of`.
    pub fn scaled_to_mass(
        &self,
        mass_kg: f64,
        converter_of: impl Fn(f64) -> Result<Converter, OpticsError>,
    ) -> Result<Self, OpticsError> {
        let at = |size_ratio: f64| self.scaled(size_ratio, converter_of(size_ratio)?);
        // The ratios at which every part is still in its range.
        let (mut lo, mut hi) = (1.0_f64, 1.0_f64);
        while at(hi)?.mass().total_kg() <= mass_kg && hi * 1.5 <= SIZE_RATIO.1 && at(hi * 1.5).is_ok() {
            hi *= 1.5;
        }
        while at(lo)?.mass().total_kg() > mass_kg && lo / 1.5 >= SIZE_RATIO.0 && at(lo / 1.5).is_ok() {
            lo /= 1.5;
        }
        let (least_kg, most_kg) = (at(lo)?.mass().total_kg(), at(hi)?.mass().total_kg());
        in_range("mass of the receiver", "kg", mass_kg, least_kg, most_kg)?;
        for _ in 0..60 {
            let middle = 0.5 * (lo + hi);
            if at(middle)?.mass().total_kg() <= mass_kg {
                lo = middle;
            } else {
                hi = middle;
            }
        }
        at(lo)
    }

    /// Power at the bus per mass of the receiver, W/kg; 0 for a receiver without mass.
    pub fn specific_power_w_per_kg(&self, operation: &ReceiverOperation) -> f64 {
        let mass_kg = self.mass().total_kg();
        if mass_kg > 0.0 { operation.bus_w / mass_kg } else { 0.0 }
    }
}

/// Whether a sizing is to be preferred: one that keeps the limit, then the lighter or, if neither does, the colder.
fn better(new: &SinkSizing, old: &SinkSizing) -> bool {
    match (new.keeps_limit, old.keeps_limit) {
        (true, true) => new.receiver.spec().sink.mass_kg() < old.receiver.spec().sink.mass_kg(),
        (false, false) => new.operation.hottest_cell_temp_k < old.operation.hottest_cell_temp_k,
        (new_keeps, _) => new_keeps,
    }
}
