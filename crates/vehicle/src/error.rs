//! Why a vehicle cannot do what was asked.

use beamstay_numerics::{domain::OutOfRange, interpolate::TableError};
use beamstay_rotor::RotorError;
use thiserror::Error;

/// Faults of input and demands that a vehicle cannot meet. The latter say what is needed and what there is;
/// [`VehicleError::overload_ratio`] turns them into one number that a search can rank.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum VehicleError {
    /// An input is not finite or outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// A table of measurements cannot be used.
    #[error(transparent)]
    Table(#[from] TableError),
    /// The rotor, motor or controller model refused the demand.
    #[error(transparent)]
    Rotor(#[from] RotorError),
    /// The rotors, propeller or thrusters cannot push that hard.
    #[error("thrust {needed_n:.4} N is needed, {available_n:.4} N is available, {:.4} N are missing", needed_n - available_n)]
    ThrustShort {
        /// Thrust that the balance of forces asks for, whole vehicle or named group, N.
        needed_n: f64,
        /// Largest thrust of the same rotors in the same inflow, N.
        available_n: f64,
    },
    /// The rotor plane would lean further than allowed.
    #[error("tilt {tilt_deg:.3}° is needed, {max_tilt_deg:.3}° is allowed")]
    TiltExceeded {
        /// Lean that the balance of forces asks for, degrees from the vertical.
        tilt_deg: f64,
        /// Largest allowed lean, degrees.
        max_tilt_deg: f64,
    },
    /// The shaft power is above what the motors may give.
    #[error("shaft power {needed_w:.3} W is needed, {available_w:.3} W is available")]
    PowerShort {
        /// Shaft power asked for, whole vehicle, W.
        needed_w: f64,
        /// Largest continuous shaft power, whole vehicle, W.
        available_w: f64,
    },
    /// A motor would draw more current than allowed.
    #[error("motor current {needed_a:.3} A is needed, {available_a:.3} A is allowed")]
    CurrentExceeded {
        /// Current asked for, one motor, A.
        needed_a: f64,
        /// Largest allowed current, one motor, A.
        available_a: f64,
    },
    /// The bus voltage is too low for the speed of rotation.
    #[error("{needed_v:.3} V is needed before the controllers, the bus has {available_v:.3} V")]
    VoltageShort {
        /// Voltage asked for, V.
        needed_v: f64,
        /// Bus voltage, V.
        available_v: f64,
    },
    /// A winding would become too hot.
    #[error("winding temperature {winding_k:.2} K is above {max_winding_k:.2} K")]
    WindingTooHot {
        /// Steady winding temperature, K.
        winding_k: f64,
        /// Largest allowed winding temperature, K.
        max_winding_k: f64,
        /// Rise above the air over allowed rise.
        used_ratio: f64,
    },
    /// The motor needs torque and speed, and the rotor model tells thrust and power only.
    #[error("a motor given by its constants needs a rotor whose speed of rotation is known")]
    SpeedUnknown,
    /// Nothing tells the largest thrust of a rotor.
    #[error("the largest thrust of a rotor is not known: declare it, or give rotor or drive a limit")]
    ThrustUnknown,
    /// The wing would have to fly beyond its largest usable lift coefficient.
    #[error("lift coefficient {needed:.4} is needed, {available:.4} is usable")]
    Stall {
        /// Lift coefficient asked for.
        needed: f64,
        /// Largest lift coefficient less the stall margin.
        available: f64,
    },
    /// The turn is too tight.
    #[error("bank {bank_deg:.3}° is needed, {max_bank_deg:.3}° is allowed")]
    BankExceeded {
        /// Bank angle asked for, degrees.
        bank_deg: f64,
        /// Largest allowed bank angle, degrees.
        max_bank_deg: f64,
    },
    /// The lift would be more than the structure may carry.
    #[error("load factor {load_factor:.4} is needed, {max_load_factor:.4} is allowed")]
    LoadFactorExceeded {
        /// Lift over weight asked for.
        load_factor: f64,
        /// Largest allowed lift over weight.
        max_load_factor: f64,
    },
    /// The wind is as fast as the aircraft, so that it cannot fly the whole circle over the ground.
    #[error(
        "wind {wind_m_s:.3} m/s against airspeed {airspeed_m_s:.3} m/s leaves {least_ground_speed_m_s:.3} m/s over the ground"
    )]
    WindTooStrong {
        /// Horizontal wind, m/s.
        wind_m_s: f64,
        /// Airspeed, m/s.
        airspeed_m_s: f64,
        /// Ground speed straight into the wind, m/s; at or below the least that is allowed.
        least_ground_speed_m_s: f64,
    },
    /// A group of thrusters is asked to push and the vehicle has none.
    #[error("{needed_n:.4} N of {direction} thrust is needed and the vehicle has no thruster for it")]
    NoThruster {
        /// `horizontal` or `vertical`.
        direction: &'static str,
        /// Thrust asked for, N.
        needed_n: f64,
    },
    /// The balance of forces did not close.
    #[error(
        "the balance of forces is still {residual_ratio:.3e} of the load off after {evaluations_count} evaluations"
    )]
    NotConverged {
        /// Force left over, divided by the load.
        residual_ratio: f64,
        /// Evaluations used.
        evaluations_count: u32,
    },
    /// A number left the range of double precision on the way.
    #[error("{quantity} is not a finite number")]
    NotFinite {
        /// Name of the quantity.
        quantity: &'static str,
    },
}

impl VehicleError {
    /// How far the demand is beyond the limit, as demand ÷ limit − 1 (positive), for the variants that are about a
    /// limit of the vehicle; `None` for faults of input and of the solver. Infinite if the limit is 0.
    ///
    /// # Examples
    /// ```
    /// use beamstay_vehicle::VehicleError;
    /// let error = VehicleError::ThrustShort { needed_n: 120.0, available_n: 100.0 };
    /// assert!((error.overload_ratio().unwrap() - 0.2).abs() < 1e-12);
    /// ```
    pub fn overload_ratio(&self) -> Option<f64> {
        let (needed, available) = match *self {
            Self::ThrustShort { needed_n, available_n } => (needed_n, available_n),
            Self::TiltExceeded { tilt_deg, max_tilt_deg } => (tilt_deg, max_tilt_deg),
            Self::PowerShort { needed_w, available_w } => (needed_w, available_w),
            Self::CurrentExceeded { needed_a, available_a } => (needed_a, available_a),
            Self::VoltageShort { needed_v, available_v } => (needed_v, available_v),
            Self::WindingTooHot { used_ratio, .. } => (used_ratio, 1.0),
            Self::Stall { needed, available } => (needed, available),
            Self::BankExceeded { bank_deg, max_bank_deg } => (bank_deg, max_bank_deg),
            Self::LoadFactorExceeded { load_factor, max_load_factor } => (load_factor, max_load_factor),
            Self::WindTooStrong { wind_m_s, airspeed_m_s, .. } => (wind_m_s, airspeed_m_s),
            Self::NoThruster { needed_n, .. } => (needed_n, 0.0),
            _ => return None,
        };
        Some(if available > 0.0 { needed / available - 1.0 } else { f64::INFINITY })
    }
}

/// `value` if it is finite.
pub(crate) fn finite(quantity: &'static str, value: f64) -> Result<f64, VehicleError> {
    if value.is_finite() { Ok(value) } else { Err(VehicleError::NotFinite { quantity }) }
}
