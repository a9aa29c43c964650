//! What turns light into electric power on board.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{defaults, delivery::Converter};

/// What turns light into electric power on board. Its mass is the sum of its parts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Receiver {
    /// The cells.
    pub cells: Cells,
    /// How the light falls on the cells.
    #[serde(default)]
    pub light: LightOnCells,
    /// Area that catches a free beam; a fiber lights the cells through its own optics and needs none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aperture: Option<Aperture>,
    /// How it is mounted; only a free beam cares.
    #[serde(default)]
    pub facing: Facing,
    /// Share of the light that window and cells reflect.
    #[schemars(range(min = 0.0, max = 0.6))]
    pub reflection_ratio: f64,
    /// The fins that cool the cells.
    pub sink: Sink,
    /// The air that cools the fins.
    #[serde(default)]
    pub cooling: Cooling,
    /// Power-point tracking: power drawn over the most that can be drawn. Default 0.99 (EN 50530 test, from memory).
    #[serde(default = "defaults::tracking_efficiency_ratio")]
    #[schemars(range(min = 0.5, max = 1.0))]
    pub tracking_efficiency_ratio: f64,
    /// Converter from the string to the bus.
    pub converter: Converter,
    /// Lenses, homogeniser, window, fiber holder.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub optics_kg: f64,
    /// Housing, wires, screws.
    #[schemars(range(min = 0.0, max = 500.0))]
    pub housing_kg: f64,
}

/// The cells and how they are wired.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cells {
    /// Absorber; sets the band edge and how it moves with temperature.
    pub material: CellMaterial,
    /// Cells in series in one string.
    #[schemars(range(min = 1, max = 2000))]
    pub series_count: u32,
    /// Strings in parallel.
    #[schemars(range(min = 1, max = 2000))]
    pub parallel_count: u32,
    /// Area of one cell.
    #[schemars(range(min = 0.0001, max = 500.0))]
    pub area_cm2: f64,
    /// Electrons per photon above the band edge.
    #[schemars(range(min = 0.05, max = 1.0))]
    pub quantum_efficiency_ratio: f64,
    /// Ideality of the diode.
    #[schemars(range(min = 0.9, max = 3.0))]
    pub ideality: f64,
    /// Saturation current per area at 25 °C.
    #[schemars(range(min = 1e-30, max = 0.001))]
    pub saturation_a_per_cm2: f64,
    /// Series resistance times area.
    #[schemars(range(min = 0.0, max = 10.0))]
    pub series_resistance_ohm_cm2: f64,
    /// Rise of the series resistance with temperature, over its value at 25 °C. Default 0.002 (metal 0.004, semiconductor
    /// less; judgement).
    #[serde(default = "defaults::series_resistance_change_per_k")]
    #[schemars(range(min = -0.02, max = 0.02))]
    pub series_resistance_change_per_k: f64,
    /// Shunt resistance times area.
    #[schemars(range(min = 1.0, max = 1000000000000.0))]
    pub shunt_resistance_ohm_cm2: f64,
    /// Change of the shunt resistance with temperature, over its value at 25 °C. Default 0: the same at every temperature.
    /// Shunts of real cells fall as they warm, some −0.004 (judgement).
    #[serde(default)]
    #[schemars(range(min = -0.02, max = 0.02))]
    pub shunt_resistance_change_per_k: f64,
    /// Forward voltage of a bypass diode across each cell, so that a dim cell does not hold back its string: 0.3 for a
    /// Schottky diode, 0.7 for silicon (common practice, no source). Left out, there are none. Matters only where the light
    /// on the cells is uneven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0, max = 2.0))]
    pub bypass_forward_v: Option<f64>,
    /// Largest irradiance that may enter a cell, as mean over the brightest one. Left out, it is not judged. Published
    /// figures of GaAs micro cells hold to 71 W/cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 100000.0))]
    pub max_irradiance_w_per_cm2: Option<f64>,
    /// Largest temperature of the cells.
    #[schemars(range(min = 0.0, max = 250.0))]
    pub max_temperature_c: f64,
    /// Mass per area with carrier and interconnection.
    #[schemars(range(min = 0.01, max = 20.0))]
    pub mass_g_per_cm2: f64,
}

/// Absorber of a cell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum CellMaterial {
    /// GaAs, edge 871 nm at 25 °C (Varshni, 1.519 eV at 0 K).
    GalliumArsenide,
    /// Silicon, edge near 1107 nm at 25 °C.
    Silicon,
    /// InGaAs lattice-matched to InP, edge near 1.68 µm.
    IndiumGalliumArsenide,
}

/// How the light falls on the cells of a string.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum LightOnCells {
    /// The same on each cell: a homogeniser does its work.
    Even {},
    /// Sectors of a round cell under a Gaussian spot that is off the middle.
    OffsetSpot {
        /// Radius of the cell over the spot radius at 1/e².
        #[schemars(range(min = 0.2, max = 10.0))]
        cell_radius_ratio: f64,
        /// Offset of the spot over its radius at 1/e², towards the middle of a sector.
        #[schemars(range(min = 0.0, max = 5.0))]
        offset_ratio: f64,
    },
    /// The share of the light that each cell of the string gets, in order; shares are scaled to sum to 1.
    Shares {
        /// Shares.
        #[schemars(length(min = 1, max = 64), inner(range(min = 0.0, max = 1000.0)))]
        share_ratios: Vec<f64>,
    },
}

impl Default for LightOnCells {
    fn default() -> Self {
        Self::Even {}
    }
}

/// Area that catches a free beam.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Aperture {
    /// A disk.
    Round {
        /// Diameter.
        #[schemars(range(min = 0.001, max = 20.0))]
        diameter_m: f64,
    },
    /// A square.
    Square {
        /// Side.
        #[schemars(range(min = 0.001, max = 20.0))]
        side_m: f64,
    },
    /// A ring.
    Ring {
        /// Outer diameter.
        #[schemars(range(min = 0.001, max = 20.0))]
        outer_diameter_m: f64,
        /// Diameter of the hole.
        #[schemars(range(min = 0.0, max = 20.0))]
        inner_diameter_m: f64,
    },
}

/// How the receiver is mounted.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Facing {
    /// Fixed to the belly.
    #[default]
    Down,
    /// Turned toward the beam as far as the gimbal goes.
    Gimballed {
        /// Largest angle from the vehicle's own down.
        #[schemars(range(min = 0.0, max = 180.0))]
        max_angle_deg: f64,
    },
}

/// Straight fins on a plate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sink {
    /// Fins.
    #[schemars(range(min = 2, max = 2000))]
    pub fins_count: u32,
    /// Space between two fins.
    #[schemars(range(min = 0.2, max = 100.0))]
    pub gap_mm: f64,
    /// Length along the air.
    #[schemars(range(min = 2.0, max = 2000.0))]
    pub length_mm: f64,
    /// Height above the plate.
    #[schemars(range(min = 1.0, max = 500.0))]
    pub height_mm: f64,
    /// Thickness of a fin.
    #[schemars(range(min = 0.05, max = 20.0))]
    pub thickness_mm: f64,
    /// Thickness of the plate.
    #[schemars(range(min = 0.1, max = 50.0))]
    pub base_thickness_mm: f64,
    /// Metal.
    #[serde(default)]
    pub metal: SinkMetal,
    /// From the junctions of all cells to the plate.
    #[schemars(range(min = 0.0, max = 50.0))]
    pub junction_to_base_k_per_w: f64,
}

/// Metal of a heat sink.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum SinkMetal {
    /// Aluminium, 167 to 200 W/(m·K).
    #[default]
    Aluminium,
    /// Copper, 390 W/(m·K).
    Copper,
}

/// The air that cools the fins.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Cooling {
    /// The wake of the rotors: this share of the speed at the disks.
    Wake {
        /// Share of the speed at the disks. Default 0.5, our choice: fins beside the wake's core.
        #[serde(default = "defaults::wake_fraction_ratio")]
        #[schemars(range(min = 0.0, max = 2.0))]
        fraction_ratio: f64,
    },
    /// The stream past the vehicle (airspeed, wind or current): this share of it.
    Stream {
        /// Share of the speed.
        #[schemars(range(min = 0.0, max = 2.0))]
        fraction_ratio: f64,
    },
    /// Still air: buoyancy and radiation only.
    Still {},
}

impl Default for Cooling {
    fn default() -> Self {
        Self::Wake { fraction_ratio: defaults::wake_fraction_ratio() }
    }
}
