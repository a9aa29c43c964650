//! Layers of a cross-section, a flow and the place of a vehicle go in; mass, stiffness and strength of the tether,
//! its steady shape and the forces on drum and vehicle, its limits and its drum come out.
//!
//! # Examples
//! A 10 g/m tether of 3 mm to a vehicle 100 m up in still air, 2 % slack, 20 m downwind:
//! ```
//! use beamstay_environment::flow::{Flow, FlowSample};
//! use beamstay_tether::{Line, NormalDrag, Options, solve_for_length};
//! use nalgebra::Vector3;
//!
//! struct StillAir;
//! impl Flow for StillAir {
//!     fn at(&self, _z_m: f64) -> FlowSample {
//!         FlowSample { velocity_m_s: Vector3::zeros(), density_kg_m3: 1.225, dynamic_viscosity_pa_s: 1.8e-5 }
//!     }
//!     fn kink_heights_m(&self) -> &[f64] {
//!         &[]
//!     }
//! }
//!
//! let line = Line {
//!     mass_kg_per_m: 0.006,
//!     diameter_m: 0.002,
//!     buoyancy_area_m2: 0.0,
//!     axial_stiffness_n: None,
//!     normal_drag: NormalDrag::constant(1.1)?,
//!     tangential_coefficient: 0.02,
//! };
//! let vehicle_m = Vector3::new(20.0, 0.0, 100.0);
//! let shape = solve_for_length(&line, &StillAir, vehicle_m, 102.5, &Options::default(), None)?;
//! assert!((shape.top_tension_n() - 7.303879154).abs() < 1e-5);
//! # Ok::<(), beamstay_tether::TetherError>(())
//! ```

pub mod catenary;
pub mod critical_angle;
pub mod cross_section;
pub mod cut;
pub mod drag;
pub mod drum;
pub mod error;
pub mod ice;
pub mod limits;
pub mod line;
pub mod material;
pub mod shape;
pub mod strumming;

pub use catenary::Catenary;
pub use critical_angle::critical_angle_deg;
pub use cross_section::{CrossSection, Layer, Measured, Part, Provenance};
pub use drag::{DragCurve, NormalDrag};
pub use error::TetherError;
pub use line::Line;
pub use material::{Handbook, Material};
pub use shape::{
    Ground, LeastDrumTension, Lying, Node, Options, Shape, TensionOverGround, TensionSolution,
    least_drum_tension, solve_for_drum_tension, solve_for_drum_tension_over_ground, solve_for_length,
    solve_for_length_over_ground,
};
