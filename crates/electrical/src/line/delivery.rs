//! The whole way of power through copper: ground converter, line, airborne converter.

use crate::{Converter, ElectricalError, Line, LineOperation, LineSurroundings, Outcome};
use beamstay_numerics::domain::in_range;

/// A line with a converter at each end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CopperDelivery {
    /// Converter on the ground that feeds the line.
    pub ground: Converter,
    /// The line.
    pub line: Line,
    /// Converter on the aircraft.
    pub airborne: Converter,
}

/// The whole way from the ground bus to the aircraft bus.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct DeliveryOperation {
    /// The line between the converters.
    pub line: LineOperation,
    /// Power into the ground converter, W.
    pub input_w: f64,
    /// Heat of the ground converter, W.
    pub ground_loss_w: f64,
    /// Heat of the airborne converter, W.
    pub airborne_loss_w: f64,
    /// Power at the aircraft bus, W.
    pub bus_w: f64,
}

impl CopperDelivery {
    /// Mass that the aircraft lifts with `paid_out_length_m` of line hanging, kg: line, and converter.
    pub fn lifted_mass_kg(&self, paid_out_length_m: f64) -> f64 {
        self.line.mass_kg_per_m() * paid_out_length_m + self.airborne.mass_kg()
    }

    /// Everything while the aircraft bus takes `bus_w` (W, 0 to 1e8).
    ///
    /// # Errors
    /// [`ElectricalError::OutOfRange`] for the bus power or the surroundings.
    pub fn operate(
        &self,
        bus_w: f64,
        surroundings: &LineSurroundings,
    ) -> Result<Outcome<DeliveryOperation>, ElectricalError> {
        let bus_w = in_range("bus power", "W", bus_w, 0.0, 1e8)?;
        let outcome = self.line.operate(self.airborne.input_w(bus_w), surroundings)?;
        Ok(outcome.map(|line| DeliveryOperation {
            line,
            input_w: self.ground.input_w(line.source_w),
            ground_loss_w: self.ground.loss_w(line.source_w),
            airborne_loss_w: self.airborne.loss_w(bus_w),
            bus_w,
        }))
    }
}
