//! Mass of a receiver as the sum of its parts.

use super::Receiver;

/// Mass of each part, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct MassBreakdown {
    /// Cells with carrier and wiring, kg.
    pub cells_kg: f64,
    /// Lenses, homogeniser, window, fiber holder, kg.
    pub optics_kg: f64,
    /// Heat sink, kg.
    pub sink_kg: f64,
    /// Converter, kg.
    pub converter_kg: f64,
    /// Housing, wires, screws, kg.
    pub housing_kg: f64,
}

impl MassBreakdown {
    /// Sum of the parts, kg.
    pub fn total_kg(&self) -> f64 {
        self.cells_kg + self.optics_kg + self.sink_kg + self.converter_kg + self.housing_kg
    }
}

impl Receiver {
    /// Mass of each part.
    pub fn mass(&self) -> MassBreakdown {
        let spec = self.spec();
        let cell = spec.cell.spec();
        MassBreakdown {
            cells_kg: self.cells_count() * cell.area_m2 * cell.mass_kg_per_m2,
            optics_kg: spec.optics_kg,
            sink_kg: spec.sink.mass_kg(),
            converter_kg: spec.converter.mass_kg(),
            housing_kg: spec.housing_kg,
        }
    }
}
