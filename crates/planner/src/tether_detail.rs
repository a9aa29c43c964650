//! The tether of a plan as the person who designs it wants to see it: what its layers carry, what the glass may bear and bears,
//! what the flow does to it, how it lies on the drum and what it does when it is cut.

use serde::Serialize;

use crate::{
    Loaded,
    error::{At, PlanError},
    point::OperatingPoint,
    scenario::{self, Delivery, Scenario},
    system::{System, line::section},
};
use cut::cut_detail;
use drum::drum;
use flow::drag;
use glass::glass;
use section::{figures, layers};

mod cut;
mod drum;
mod flow;
mod glass;
mod section;

pub use cut::{CutCase, CutDetail};
pub use drum::DrumDetail;
pub use flow::DragDetail;
pub use glass::{AllowedStress, GlassDetail, GlassPlace};
pub use section::{FigureRow, LayerRow};

/// A tether in its parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TetherDetail {
    /// Mass, diameter, stiffness and strength, and which of them were measured.
    pub figures: Vec<FigureRow>,
    /// The layers, from the inside out; none for a line that was measured as a whole.
    pub layers: Vec<LayerRow>,
    /// Strain at the largest tension in the mean wind.
    pub strain_ratio: f64,
    /// Strain at the largest tension in the gust.
    pub strain_in_gust_ratio: f64,
    /// The glass; absent for a line without.
    pub glass: Option<GlassDetail>,
    /// What the flow does at the height of the vehicle.
    pub drag: DragDetail,
    /// What is on the drum.
    pub drum: DrumDetail,
    /// The line cut; absent in water, where nothing falls.
    pub cut: Option<CutDetail>,
}

/// The tether of a scenario at its solved point; none where none hangs.
///
/// # Errors
/// As [`System::new`], and [`PlanError::Refused`] for a number that a model refuses.
pub fn tether_detail(loaded: &Loaded, point: &OperatingPoint) -> Result<Option<TetherDetail>, PlanError> {
    let system = System::new(&loaded.scenario)?;
    let (Some(line), Some(mean), Some(gust)) = (&system.line, &point.tether, &point.tether_in_gust) else {
        return Ok(None);
    };
    let Some((tether, pointer)) = tether_of(&loaded.scenario) else { return Ok(None) };
    let section = section(&tether.construction, pointer)?;
    Ok(Some(TetherDetail {
        figures: figures(&section),
        layers: layers(&section, &tether.construction, mean, gust),
        strain_ratio: mean.max_tension_n / line.axial_stiffness_n,
        strain_in_gust_ratio: gust.max_tension_n / line.axial_stiffness_n,
        glass: glass(&system, line, mean, gust)?,
        drag: drag(&system, line, tether, loaded.scenario.station.height_m, mean).at(pointer)?,
        drum: drum(line, mean),
        cut: cut_detail(&system, line, &loaded.scenario, mean, gust)?,
    }))
}

/// The tether of a scenario and where it stands.
fn tether_of(scenario: &Scenario) -> Option<(&scenario::Tether, &'static str)> {
    match &scenario.delivery {
        Delivery::Fiber(fiber) => Some((&fiber.tether, "/delivery/fiber/tether")),
        Delivery::Copper(copper) => Some((&copper.tether, "/delivery/copper/tether")),
        Delivery::FreeBeam(_) | Delivery::None {} => None,
    }
}

#[cfg(test)]
mod tests;
