//! Layers of a cross-section, a flow and the place of a vehicle go in; mass, stiffness and strength of the tether,
//! its steady shape and the forces on drum and vehicle, its limits and its drum come out.
//!
//! # Examples
//! A 6 g/m tether of 2 mm to a vehicle 100 m up in still air, 0.5 % slack, 20 m downwind:
//! ```
//! use beamstay_tether::{
//!     Line, NormalDrag, Options,
//!     environment::{Atmosphere, UniformFlow},
//!     nalgebra::Vector3,
//!     solve_for_length, solve_for_length_near,
//! };
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
//! let still = UniformFlow::new(Atmosphere::new(0.0, 0.0)?.at(0.0), Vector3::zeros())?;
//! let shape = solve_for_length(&line, &still, vehicle_m, 102.5, &Options::default(), None)?;
//! assert!((shape.top_tension_n() - 7.303879154).abs() < 1e-5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
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
    Ascending, Ascent, Ground, LeastDrumTension, Lying, Near, Node, Options, Shape, TensionOverGround,
    TensionSolution, ascend, ascend_past, least_drum_tension, solve_for_drum_tension,
    solve_for_drum_tension_near, solve_for_drum_tension_over_ground, solve_for_length, solve_for_length_near,
    solve_for_length_over_ground,
};

// Of other crates, what the signatures here name.
pub use beamstay_environment as environment;
pub use beamstay_numerics::domain::OutOfRange;
pub use nalgebra;
