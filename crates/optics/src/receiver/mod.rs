//! Light that arrives in, power on the bus and heat out: cells and their wiring, the heat sink that cools them, the
//! converter behind them, and the mass of it all. Temperature and efficiency of the cells are solved together.

pub mod balance;
pub mod cell;
pub mod diode;
pub mod heat;
mod lit;
mod mass;
mod operate;
mod parallel;
mod peak;
pub mod pie;
mod series;
mod setting;
pub mod sink;
pub mod sizing;
pub mod string;

pub use cell::{BandEdge, Cell, CellSpec};
pub use diode::{Diode, DiodeSpec, PowerPoint};
pub use mass::MassBreakdown;
pub use operate::{Draw, ReceiverOperation};
pub use setting::ArrivingForBus;
pub use sink::{CooledSink, FinSink, FinSinkSpec};
pub use sizing::{SinkDuty, SinkSizing};
pub use string::{Shares, UnevenArray};

use beamstay_electrical::converter::Converter;
use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Everything a receiver is made of; [`Receiver::new`] checks it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReceiverSpec {
    /// One cell.
    pub cell: Cell,
    /// Cells in series in one string; 1 to 10,000.
    pub series_count: u32,
    /// Strings in parallel; 1 to 10,000.
    pub parallel_count: u32,
    /// How the light is shared among the cells; even if absent. Either one share for each cell of a string, and all strings
    /// are alike, or one for each cell of all strings, string by string.
    pub shares: Option<Shares>,
    /// Part of the arriving light that window and cells send back; 0 to 1.
    pub reflection_ratio: f64,
    /// Heat sink.
    pub sink: FinSink,
    /// From the junctions of all cells to the base of the sink, K/W; 0 to 1e4.
    pub junction_to_sink_k_per_w: f64,
    /// Power drawn over the most that could be drawn; 0.01 to 1.
    pub tracking_efficiency_ratio: f64,
    /// Converter from the string to the bus.
    pub converter: Converter,
    /// Lenses, homogeniser, window, fiber holder, kg; 0 to 1e5.
    pub optics_kg: f64,
    /// Housing, wires, screws, kg; 0 to 1e5.
    pub housing_kg: f64,
}

/// A checked receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Receiver {
    spec: ReceiverSpec,
    bypass_forward_v: Option<f64>,
}

impl Receiver {
    /// Checks the parts.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`] outside the ranges of [`ReceiverSpec`], or if the shares are not one per cell.
    pub fn new(spec: ReceiverSpec) -> Result<Self, OpticsError> {
        let series = f64::from(spec.series_count);
        in_range("cells in series", "", series, 1.0, 1e4)?;
        in_range("strings in parallel", "", f64::from(spec.parallel_count), 1.0, 1e4)?;
        if let Some(shares) = &spec.shares {
            let (shares, all) = (shares.ratios().len() as f64, series * f64::from(spec.parallel_count));
            if shares < all {
                in_range("shares of the light", "", shares, series, series)?;
            }
            in_range("shares of the light", "", shares, series, all)?;
        }
        in_range("reflection of the receiver", "", spec.reflection_ratio, 0.0, 1.0)?;
        in_range("resistance from junction to sink", "K/W", spec.junction_to_sink_k_per_w, 0.0, 1e4)?;
        in_range("tracking efficiency", "", spec.tracking_efficiency_ratio, 0.01, 1.0)?;
        in_range("mass of the receiver's optics", "kg", spec.optics_kg, 0.0, 1e5)?;
        in_range("mass of the receiver's housing", "kg", spec.housing_kg, 0.0, 1e5)?;
        Ok(Self { spec, bypass_forward_v: None })
    }

    /// The same receiver with a bypass diode of forward voltage `forward_v` (0 to 2 V) across each cell, so that a dark cell
    /// costs that voltage instead of the string's current. Without uneven light it changes nothing.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn with_bypass_diodes(self, forward_v: f64) -> Result<Self, OpticsError> {
        in_range("forward voltage of a bypass diode", "V", forward_v, 0.0, 2.0)?;
        Ok(Self { bypass_forward_v: Some(forward_v), ..self })
    }

    /// Forward voltage of the bypass diodes, V, if there are any.
    pub fn bypass_forward_v(&self) -> Option<f64> {
        self.bypass_forward_v
    }

    /// The parts.
    pub fn spec(&self) -> &ReceiverSpec {
        &self.spec
    }

    /// Cells in all.
    pub fn cells_count(&self) -> f64 {
        f64::from(self.spec.series_count) * f64::from(self.spec.parallel_count)
    }
}

#[cfg(test)]
mod tests;
