//! What can go wrong with a tether, with the numbers that say how far.

use beamstay_numerics::domain::OutOfRange;
use thiserror::Error;

/// Why a model of this crate gave no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum TetherError {
    /// A number is not finite or outside the range a model is meant for.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A number of a layer is not finite or outside its range.
    #[error("layer {number} from the inside: {fault}")]
    Layer {
        /// Number of the layer, 1 in the middle.
        number: usize,
        /// Which number, and what is allowed.
        fault: OutOfRange,
    },
    /// A layer ends inside the one before it.
    #[error(
        "layer {number} from the inside ends at {outer_diameter_m} m, inside the {inner_diameter_m} m under it"
    )]
    LayerInside {
        /// Number of the layer, 1 in the middle.
        number: usize,
        /// Outer diameter that was asked for, m.
        outer_diameter_m: f64,
        /// Diameter over the layers under it, m.
        inner_diameter_m: f64,
    },
    /// The ring of a layer is too small for its solid.
    #[error(
        "layer {number} from the inside has {solid_area_m2:.3e} m² of solid in a ring of {ring_area_m2:.3e} m²"
    )]
    LayerOverfull {
        /// Number of the layer, 1 in the middle.
        number: usize,
        /// Area of the solid, cut across the line, m².
        solid_area_m2: f64,
        /// Area of the ring, m².
        ring_area_m2: f64,
    },
    /// The elements of a layer do not fit side by side.
    #[error("layer {number} from the inside has {count} elements, room is for {most_count}")]
    LayerCrowded {
        /// Number of the layer, 1 in the middle.
        number: usize,
        /// Elements that were asked for.
        count: u32,
        /// Most that fit.
        most_count: u32,
    },
    /// A cross-section without layers whose mass or diameter was not measured.
    #[error("the {quantity} of the line is neither measured nor given by layers")]
    NeitherMeasuredNorLayered {
        /// Which figure is missing.
        quantity: &'static str,
    },
    /// The tether does not stretch and does not reach from the drum to the vehicle.
    #[error("the tether of {length_m} m does not reach the vehicle, which is {distance_m} m away")]
    TooShort {
        /// Unstretched length paid out, m.
        length_m: f64,
        /// Straight distance from drum exit to vehicle, m.
        distance_m: f64,
    },
    /// The tether is straight and carries no load across it, so that no length fixes its tension: it does not stretch and is
    /// exactly as long as the distance, or nothing pulls it sideways.
    #[error(
        "a tether of {length_m} m over {distance_m} m has no definite tension: nothing bends or stretches it"
    )]
    Indeterminate {
        /// Unstretched length paid out, m.
        length_m: f64,
        /// Straight distance from drum exit to vehicle, m.
        distance_m: f64,
    },
    /// The flow gave a velocity, density or viscosity that is not finite, or a density that is negative.
    #[error(
        "the flow at {height_m} m above the drum exit is not usable: speed {speed_m_s} m/s, density {density_kg_m3} kg/m³"
    )]
    BadFlow {
        /// Height above the drum exit, m.
        height_m: f64,
        /// Speed there, m/s.
        speed_m_s: f64,
        /// Density there, kg/m³.
        density_kg_m3: f64,
    },
    /// A line that lies on the ground and rises from it would come down to it again; only one lying part is modelled.
    #[error("the line would touch the ground a second time, {depth_m:.2e} m deep")]
    TouchesTwice {
        /// How deep, m.
        depth_m: f64,
    },
    /// Weight and flow would stretch the line far beyond what any line bears, and no shape was found.
    #[error("weight and flow would stretch the tether by about {:.0} %", 100.0 * strain_ratio)]
    Overstretched {
        /// Estimated strain.
        strain_ratio: f64,
    },
    /// The work that one answer may take is spent; a shape may exist.
    #[error("no tether shape found within the work of {evaluations_count} evaluations of the flow")]
    WorkSpent {
        /// Evaluations of the flow, or as much other work.
        evaluations_count: u64,
    },
    /// The solver did not meet the tolerance.
    #[error(
        "tether shape not converged after {iterations_count} iterations: force error {force_error_ratio:.1e}, \
         end missed by {end_error_m:.1e} m"
    )]
    NotConverged {
        /// Iterations used.
        iterations_count: u32,
        /// Last change of the force or its estimated error, relative.
        force_error_ratio: f64,
        /// Distance between the end of the computed shape and the vehicle, m.
        end_error_m: f64,
    },
}
