//! A multirotor that has lost a rotor, or two that stand opposite: can it still hold its place or land.
//!
//! The rotors stand evenly on a circle and turn in alternating directions; a coaxial pair turns against itself. What
//! is left must carry the load without roll, pitch and, to keep its heading, yaw moment, and must be able to make
//! moments of either sign about that balance. The set of lift and moments that n rotors can make is a zonotope, and
//! the balance is controllable exactly if it lies inside (G.-X. Du, Q. Quan, B. Yang, K.-Y. Cai, *Controllability
//! analysis for multirotor helicopter rotor degradation and failure*, J. Guidance, Control and Dynamics 38 (2015)
//! 978; arXiv 1403.5986). Time to react, gusts during the upset and the height that it costs are not modelled: a
//! verdict other than [`Verdict::Falls`] says what is possible, not what a given flight controller does.

use beamstay_environment::fluid::Fluid;
use beamstay_numerics::domain::in_range;
use beamstay_rotor::Inflow;

use crate::{
    balance::ForceBalance,
    error::VehicleError,
    load::Load,
    multirotor::Multirotor,
    rotor_set::{Arrangement, RotorSet},
};
use ring::{Layout, Way};

mod ring;

/// Most rotors that a set may have.
const MOST_ROTORS: usize = 64;
/// Margin that a flight controller needs which shares thrust by a plain pseudo-inverse instead of freely: of a hexarotor without one
/// rotor it reaches 3.6 of 4 rotors' lift.
pub const ALLOCATION_MARGIN_RATIO: f64 = 4.0 / 3.6 - 1.0;
/// Below this share of one rotor's thrust an authority counts as none: rounding.
const NO_AUTHORITY: f64 = 1e-9;

/// What has failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Failure {
    /// One rotor gives no thrust. In a coaxial pair its partner goes on.
    OneRotor,
    /// One rotor and the one opposite (of an odd number, the next after it) give no thrust.
    OpposingPair,
}

/// What the rest can do, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Verdict {
    /// Attitude and heading can be held.
    KeepsHeading,
    /// Roll and pitch can be held if the flight controller gives up yaw; the aircraft turns, and winds up its tether.
    TurnsSlowly,
    /// The lift suffices but roll and pitch cannot both be held: only a flight controller made for it, which lets the
    /// aircraft spin fast and steers the mean thrust, brings it down (M. W. Mueller and R. D'Andrea, *Stability and
    /// control of a quadrocopter despite the complete loss of one, two, or three propellers*, ICRA 2014).
    SpinsOnly,
    /// The lift does not suffice.
    Falls,
}

/// What a failure leaves for one task.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Remaining {
    /// What is possible.
    pub verdict: Verdict,
    /// Thrust that the task needs, N.
    pub needed_n: f64,
    /// Largest thrust without moments in the way that [`Self::verdict`] tells, N (of a falling aircraft: the most
    /// that any way gives).
    pub available_n: f64,
    /// Available over needed thrust, less 1. Thrusts are shared out freely here; a controller that shares by a plain
    /// pseudo-inverse reaches less: read less than [`ALLOCATION_MARGIN_RATIO`] as none.
    pub margin_ratio: f64,
}

/// A failure and what it leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct RotorOut {
    /// What has failed.
    pub failure: Failure,
    /// Rotors that still turn.
    pub remaining_count: u32,
    /// Staying where it is, with the tether pull and wind of the load.
    pub hold: Remaining,
    /// Coming down in the same wind without the pull of the tether, at hover thrust.
    pub land: Remaining,
}

/// What a failure leaves of a set of rotors, whatever the load: worked out once for many loads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RotorsLeft {
    failure: Failure,
    place_count: u32,
    paired: bool,
    remaining_count: u32,
    /// With roll, pitch and yaw balanced.
    heading: Way,
    /// With yaw given up.
    level: Way,
}

impl RotorsLeft {
    /// What `failure` leaves of `rotors`.
    ///
    /// # Errors
    /// [`VehicleError::OutOfRange`] for fewer than three places with rotors (such aircraft steer by other means).
    pub fn new(rotors: &RotorSet, failure: Failure) -> Result<Self, VehicleError> {
        let place_count = rotors.place_count();
        in_range("places with rotors", "", f64::from(place_count), 3.0, MOST_ROTORS as f64)?;
        let layout = Layout::new(rotors, failure);
        let (heading, level) = (layout.way(true), layout.way(false));
        let remaining_count = layout.count as u32;
        Ok(Self { failure, place_count, paired: is_paired(rotors), remaining_count, heading, level })
    }

    /// Whether this is what `failure` leaves of `rotors`.
    pub fn is_of(&self, rotors: &RotorSet, failure: Failure) -> bool {
        let known = (self.failure, self.place_count, self.paired);
        known == (failure, rotors.place_count(), is_paired(rotors))
    }

    fn judge(
        &self,
        rotors: &RotorSet,
        balance: &ForceBalance,
        fluid: &Fluid,
    ) -> Result<Remaining, VehicleError> {
        let inflow = Inflow { axial_m_s: balance.axial_inflow_m_s, edgewise_m_s: balance.edgewise_m_s };
        let (set_n, _) = rotors.max_thrust(inflow, fluid)?.ok_or(VehicleError::ThrustUnknown)?;
        let each_n = set_n / f64::from(rotors.rotor_count());
        let needed_n = balance.thrust_n;
        let needed = if each_n > 0.0 { needed_n / each_n } else { f64::MAX };
        let (verdict, lift) = self.verdict(needed);
        let available_n = lift * each_n;
        let margin_ratio =
            if needed_n > 0.0 { (available_n / needed_n - 1.0).min(f64::MAX) } else { f64::MAX };
        Ok(Remaining { verdict, needed_n, available_n, margin_ratio })
    }

    /// What is possible where `needed` rotors' thrust is needed, and the largest sum of thrusts in that way.
    fn verdict(&self, needed: f64) -> (Verdict, f64) {
        if self.heading.is_steered(needed) {
            (Verdict::KeepsHeading, self.heading.lift)
        } else if self.level.is_steered(needed) {
            (Verdict::TurnsSlowly, self.level.lift)
        } else if self.level.lift >= needed {
            (Verdict::SpinsOnly, self.level.lift)
        } else {
            (Verdict::Falls, self.level.lift)
        }
    }
}

fn is_paired(rotors: &RotorSet) -> bool {
    matches!(rotors.inputs().arrangement, Arrangement::CoaxialPairs { .. })
}

impl Multirotor {
    /// What the multirotor can still do under `load` after `failure`.
    ///
    /// # Errors
    /// [`VehicleError::ThrustUnknown`] if nothing tells the largest thrust of a rotor, or as [`RotorsLeft::new`] and
    /// [`Multirotor::trim`].
    pub fn rotor_out(&self, load: &Load, failure: Failure, fluid: &Fluid) -> Result<RotorOut, VehicleError> {
        let left = RotorsLeft::new(&self.inputs().rotors, failure)?;
        Ok(RotorOut {
            failure,
            remaining_count: left.remaining_count,
            hold: self.held_with(&left, load, fluid)?,
            land: self.landed_with(&left, load, fluid)?,
        })
    }

    /// [`RotorOut::hold`] alone, with what is left of these rotors.
    ///
    /// # Errors
    /// As [`Self::rotor_out`].
    pub fn held_with(
        &self,
        left: &RotorsLeft,
        load: &Load,
        fluid: &Fluid,
    ) -> Result<Remaining, VehicleError> {
        left.judge(&self.inputs().rotors, &self.balance(load, fluid)?, fluid)
    }

    /// [`RotorOut::land`] alone, with what is left of these rotors.
    ///
    /// # Errors
    /// As [`Self::rotor_out`].
    pub fn landed_with(
        &self,
        left: &RotorsLeft,
        load: &Load,
        fluid: &Fluid,
    ) -> Result<Remaining, VehicleError> {
        self.held_with(left, &freed(load), fluid)
    }
}

/// The load without the pull of the tether.
fn freed(load: &Load) -> Load {
    Load { external_force_n: nalgebra::Vector3::zeros(), ..*load }
}

/// Available control authority index of rotors with any layout: the least distance from the lift and moments in
/// `required` to the edge of what the rotors can make (Du et al. 2015, theorem 3). Positive: controllable about
/// that balance; 0 or less: not. Each column is what one rotor makes at full thrust: lift N, roll, pitch and yaw
/// moment N·m; 1 to 64 columns. The index mixes newtons and newton metres, as the paper does: only its sign is
/// free of units.
///
/// # Errors
/// [`VehicleError::OutOfRange`].
///
/// # Examples
/// ```
/// use beamstay_vehicle::rotor_out::authority_index;
/// // Quadrotor, 10 N each, arm 0.3 m, torque over thrust 0.02 m, 20 N to carry.
/// let columns = [[10.0, 3.0, 0.0, 0.2], [10.0, 0.0, 3.0, -0.2], [10.0, -3.0, 0.0, 0.2], [10.0, 0.0, -3.0, -0.2]];
/// assert!(authority_index(&columns, [20.0, 0.0, 0.0, 0.0])? > 0.0);
/// assert!(authority_index(&columns[..3], [20.0, 0.0, 0.0, 0.0])? <= 0.0);
/// # Ok::<(), beamstay_vehicle::VehicleError>(())
/// ```
pub fn authority_index(columns: &[[f64; 4]], required: [f64; 4]) -> Result<f64, VehicleError> {
    in_range("rotor count", "", columns.len() as f64, 1.0, MOST_ROTORS as f64)?;
    for value in columns.iter().flatten().chain(&required) {
        in_range("lift or moment", "N, N·m", *value, -1e7, 1e7)?;
    }
    Ok(ring::inscribed_distance(columns, required))
}
