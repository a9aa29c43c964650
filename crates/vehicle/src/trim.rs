//! A multirotor in balance: attitude, thrust, powers and margins.

use beamstay_rotor::Regime;
use nalgebra::Vector3;

use crate::{
    error::VehicleError,
    limit::{DriveLimits, Limit},
};

/// Where a multirotor settles under a load, what it draws and how near its limits it is.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Trim {
    /// Thrust of all rotors, N.
    pub thrust_n: f64,
    /// Thrust as a vector, N.
    pub thrust_vector_n: Vector3<f64>,
    /// Lean of the rotor axis from the vertical, degrees, 0 to 180.
    pub tilt_deg: f64,
    /// Direction toward which the axis leans, degrees from +x toward +y; 0 when upright.
    pub azimuth_deg: f64,
    /// Air through the rotor plane along the wake, m/s: relative wind · wake direction. Positive in climb and when
    /// leaning into the wind; negative when the wind comes from below and starts to drive the rotors.
    pub axial_inflow_m_s: f64,
    /// Air along the rotor plane, m/s.
    pub edgewise_m_s: f64,
    /// Mean induced velocity at the disk of one rotor, m/s.
    pub induced_velocity_m_s: f64,
    /// Induced velocity of this thrust in lossless hover, m/s: the scale of the vortex ring state.
    pub hover_velocity_m_s: f64,
    /// Induced power, all rotors, W.
    pub induced_w: f64,
    /// Power lost in the blade sections, all rotors, W.
    pub profile_w: f64,
    /// Thrust × axial inflow, W: what the wind takes (positive) or gives (negative).
    pub axial_w: f64,
    /// Shaft power, all rotors, W: the sum of the three.
    pub shaft_w: f64,
    /// Power of the controllers from the bus, W; 0 when the wind drives the rotors.
    pub electrical_w: f64,
    /// Power of everything on board that is not a motor, W.
    pub avionics_w: f64,
    /// What the bus has to deliver, W: the two above.
    pub demand_w: f64,
    /// Drag of body and guard rings, N.
    pub body_drag_n: Vector3<f64>,
    /// Force of the rotors in their own plane, N.
    pub rotor_drag_n: Vector3<f64>,
    /// Speed of the air in the wake at the disk, m/s: what cools a part just under a rotor. One rotor alone.
    pub wake_at_disk_m_s: f64,
    /// Speed of the air in the developed wake, about a rotor diameter below the disk, m/s.
    pub wake_developed_m_s: f64,
    /// Largest thrust over this thrust in the same stream, by what is declared and by the rotor model; `None` if
    /// neither tells, or if the rotor model would have to search for it. That, and what the drives allow, is in
    /// [`crate::Multirotor::thrust_reserve`].
    pub thrust_reserve_ratio: Option<f64>,
    /// Speed of rotation, rad/s, where the rotor model knows it.
    pub rotor_speed_rad_s: Option<f64>,
    /// Current of one motor, A, where the drive model knows it.
    pub motor_current_a: Option<f64>,
    /// Temperature of the windings, K, where the drive model knows it.
    pub winding_temperature_k: Option<f64>,
    /// Mach number of the advancing tip, where the rotor model knows it.
    pub tip_mach: Option<f64>,
    /// Thrust against the largest one, where it is known.
    pub thrust_limit: Option<Limit>,
    /// Tilt against the largest allowed one.
    pub tilt_limit: Limit,
    /// The limit of the drives that is used most, where one is known.
    pub drive_limit: Option<Limit>,
    /// Every limit of the drives that is known.
    pub drive_limits: DriveLimits,
    /// Torque at the shaft of one rotor, N·m, where the rotor model knows its speed.
    pub rotor_torque_n_m: Option<f64>,
    /// State of the flow at the rotors.
    pub regime: Regime,
    /// Sum of all forces, N: what rounding leaves.
    pub force_residual_n: f64,
    /// Evaluations of the attitude equation: the work of this trim besides one call of the rotor.
    pub evaluations_count: u32,
}

impl Trim {
    /// The limit that is used most.
    pub fn binding_limit(&self) -> Limit {
        [self.thrust_limit, self.drive_limit].into_iter().flatten().fold(self.tilt_limit, Limit::tighter)
    }

    /// The first limit that is passed, as an error: thrust, then tilt, then drive.
    pub fn exceeded(&self) -> Option<VehicleError> {
        self.thrust_limit
            .and_then(|l| l.exceeded())
            .or_else(|| self.tilt_limit.exceeded())
            .or_else(|| self.drive_limit.and_then(|l| l.exceeded()))
    }

    /// Whether the wind blows through the rotors from below, or drives them: a station where this holds must not be
    /// planned, because the demand falls without end as the aircraft leans downwind.
    pub fn is_windmilling(&self) -> bool {
        self.axial_inflow_m_s < 0.0 || self.shaft_w <= 0.0
    }
}
