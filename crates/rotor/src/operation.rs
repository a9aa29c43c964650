//! What goes into a rotor besides its thrust, and what comes out.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::{OutOfRange, in_range};

/// Largest thrust that the models accept, N.
pub const MAX_THRUST_N: f64 = 1e6;
/// Largest speed of the free stream that the models accept, m/s.
pub const MAX_STREAM_M_S: f64 = 300.0;

/// The free stream at the disk, in the axes of the disk.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Inflow {
    /// Component of the free stream along the wake direction, m/s: positive when climbing, that is when the air
    /// meets the disk from the suction side.
    pub axial_m_s: f64,
    /// Component in the plane of the disk, m/s, 0 or more.
    pub edgewise_m_s: f64,
}

impl Inflow {
    /// No free stream.
    pub const HOVER: Self = Self { axial_m_s: 0.0, edgewise_m_s: 0.0 };

    /// An axial stream, m/s, positive when climbing.
    pub const fn axial(axial_m_s: f64) -> Self {
        Self { axial_m_s, edgewise_m_s: 0.0 }
    }

    /// Splits a free stream of `speed_m_s` that makes the angle `incidence_rad` with the plane of the disk, positive
    /// when the air meets the suction side (a rotor tilted into the wind).
    ///
    /// # Examples
    /// ```
    /// let inflow = beamstay_rotor::Inflow::at_incidence(10.0, 30_f64.to_radians());
    /// assert!((inflow.axial_m_s - 5.0).abs() < 1e-12 && (inflow.edgewise_m_s - 8.660_254).abs() < 1e-6);
    /// ```
    pub fn at_incidence(speed_m_s: f64, incidence_rad: f64) -> Self {
        let (sin, cos) = incidence_rad.sin_cos();
        Self { axial_m_s: speed_m_s * sin, edgewise_m_s: (speed_m_s * cos).abs() }
    }
}

/// Which picture of the flow applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Regime {
    /// Hardly any free stream: below 1 % of the hover induced velocity.
    Hover,
    /// The disk meets the air mostly axially from the suction side.
    Climb,
    /// The free stream is mostly in the plane of the disk.
    Edgewise,
    /// The air meets the wake side, outside the vortex ring state, and the rotor still drives the air.
    Descent,
    /// Vortex ring state: unsteady, thrust fluctuates, control is lost in part; not a place to fly.
    VortexRing,
    /// Below the vortex ring state, the net flow still or about to be reversed.
    TurbulentWake,
    /// The air drives the rotor: net flow upward through the disk.
    Windmill,
}

/// One rotor at one thrust.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Operation {
    /// Thrust, N.
    pub thrust_n: f64,
    /// Mean induced velocity at the disk, m/s (far below it the wake is faster by twice this in hover).
    pub induced_velocity_m_s: f64,
    /// Power that goes into induced velocity, tip loss and non-uniform inflow included, W.
    pub induced_w: f64,
    /// Power that goes into the drag of the blade sections, W.
    pub profile_w: f64,
    /// Thrust × axial inflow, W; negative where the free stream helps (descent, windmill).
    pub axial_w: f64,
    /// Power at the shaft, W: the sum of the three; negative where the air drives the rotor.
    pub shaft_w: f64,
    /// Torque at the shaft, N·m, where the model knows the speed.
    pub torque_n_m: Option<f64>,
    /// Speed of rotation, rad/s, where the model knows it.
    pub speed_rad_s: Option<f64>,
    /// Ideal hover power at this thrust ÷ (induced + profile power): the figure of merit in hover, and more than
    /// it where a free stream helps. 0 without thrust.
    pub figure_of_merit: f64,
    /// Which picture of the flow applies.
    pub regime: Regime,
    /// Mach number of the advancing blade tip, where the model knows the speed.
    pub tip_mach: Option<f64>,
    /// Blade loading CT/σ = T/(ρ A σ (ΩR)²), where the model knows speed and solidity.
    pub blade_loading: Option<f64>,
}

/// Refuses thrust, stream and fluid that no model here is meant for.
pub(crate) fn check(thrust_n: f64, inflow: Inflow, fluid: &Fluid) -> Result<(), OutOfRange> {
    in_range("rotor thrust", "N", thrust_n, 0.0, MAX_THRUST_N)?;
    check_stream(inflow, fluid)
}

/// As [`check`], without a thrust.
pub(crate) fn check_stream(inflow: Inflow, fluid: &Fluid) -> Result<(), OutOfRange> {
    in_range("axial inflow", "m/s", inflow.axial_m_s, -MAX_STREAM_M_S, MAX_STREAM_M_S)?;
    in_range("edgewise inflow", "m/s", inflow.edgewise_m_s, 0.0, MAX_STREAM_M_S)?;
    in_range("fluid density", "kg/m³", fluid.density_kg_m3, 1e-3, 2e3)?;
    in_range("dynamic viscosity", "Pa·s", fluid.dynamic_viscosity_pa_s, 1e-7, 1.0)?;
    in_range("speed of sound", "m/s", fluid.speed_of_sound_m_s, 50.0, 5e3)?;
    Ok(())
}
