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

impl Multirotor {
    /// What the multirotor can still do under `load` after `failure`.
    ///
    /// # Errors
    /// [`VehicleError::ThrustUnknown`] if nothing tells the largest thrust of a rotor, [`VehicleError::OutOfRange`]
    /// for fewer than three places with rotors (such aircraft steer by other means), or as [`Multirotor::trim`].
    pub fn rotor_out(&self, load: &Load, failure: Failure, fluid: &Fluid) -> Result<RotorOut, VehicleError> {
        let layout = Layout::new(&self.inputs().rotors, failure);
        Ok(RotorOut {
            failure,
            remaining_count: layout.count as u32,
            hold: self.held_without(load, failure, fluid)?,
            land: self.landed_without(load, failure, fluid)?,
        })
    }

    /// [`RotorOut::hold`] alone.
    ///
    /// # Errors
    /// As [`Self::rotor_out`].
    pub fn held_without(
        &self,
        load: &Load,
        failure: Failure,
        fluid: &Fluid,
    ) -> Result<Remaining, VehicleError> {
        let rotors = &self.inputs().rotors;
        in_range("places with rotors", "", f64::from(rotors.place_count()), 3.0, MOST_ROTORS as f64)?;
        Layout::new(rotors, failure).judge(rotors, &self.balance(load, fluid)?, fluid)
    }

    /// [`RotorOut::land`] alone.
    ///
    /// # Errors
    /// As [`Self::rotor_out`].
    pub fn landed_without(
        &self,
        load: &Load,
        failure: Failure,
        fluid: &Fluid,
    ) -> Result<Remaining, VehicleError> {
        self.held_without(&freed(load), failure, fluid)
    }
}

/// The load without the pull of the tether.
fn freed(load: &Load) -> Load {
    Load { external_force_n: nalgebra::Vector3::zeros(), ..*load }
}

/// Lift, roll, pitch and yaw per thrust of a rotor, arm and torque arm set to 1.
type Column = [f64; 4];

/// The rotors that still turn.
struct Layout {
    columns: [Column; MOST_ROTORS],
    count: usize,
    has_yaw: bool,
}

impl Layout {
    fn new(rotors: &RotorSet, failure: Failure) -> Self {
        let places = rotors.place_count() as usize;
        let paired = matches!(rotors.inputs().arrangement, Arrangement::CoaxialPairs { .. });
        // An odd ring steers its yaw by other means (a tilting rotor): no yaw balance is asked of the thrusts.
        let has_yaw = paired || places.is_multiple_of(2);
        let opposite = places.div_ceil(2);
        let mut layout = Self { columns: [[0.0; 4]; MOST_ROTORS], count: 0, has_yaw };
        for place in 0..places {
            let lost_here = place == 0 || (failure == Failure::OpposingPair && place == opposite);
            let (y, x) = (std::f64::consts::TAU * place as f64 / places as f64).sin_cos();
            let spin = if place % 2 == 0 { 1.0 } else { -1.0 };
            if !lost_here {
                layout.push([1.0, y, x, spin]);
            }
            if paired {
                layout.push([1.0, y, x, -spin]);
            }
        }
        layout
    }

    fn push(&mut self, [lift, roll, pitch, yaw]: Column) {
        if let Some(column) = self.columns.get_mut(self.count) {
            *column = [lift, roll, pitch, if self.has_yaw { yaw } else { 0.0 }];
            self.count += 1;
        }
    }

    fn columns(&self) -> &[Column] {
        &self.columns[..self.count]
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
        if authority(self.columns(), self.has_yaw, needed) > NO_AUTHORITY {
            return (Verdict::KeepsHeading, balanced_lift(self.columns(), true));
        }
        let spinning = balanced_lift(self.columns(), false);
        if authority(self.columns(), false, needed) > NO_AUTHORITY {
            (Verdict::TurnsSlowly, spinning)
        } else if spinning >= needed {
            (Verdict::SpinsOnly, spinning)
        } else {
            (Verdict::Falls, spinning)
        }
    }
}

/// Largest sum of thrusts, each 0 to 1, without roll and pitch (and, `with_yaw`, yaw) moment.
///
/// Linear programme max Σt, Σ t a = 0, 0 ≤ t ≤ 1 by its dual min over λ of Σ max(0, 1 − λ·a), convex and piecewise
/// linear: the minimum lies where as many terms as the moments have dimensions pass through 0. With moments that
/// span fewer dimensions the same holds for the pairs and single terms that do span them.
fn balanced_lift(columns: &[Column], with_yaw: bool) -> f64 {
    let moments = |c: &Column| nalgebra::Vector3::new(c[1], c[2], if with_yaw { c[3] } else { 0.0 });
    let value = |lambda: nalgebra::Vector3<f64>| -> f64 {
        columns.iter().map(|c| (1.0 - lambda.dot(&moments(c))).max(0.0)).sum()
    };
    let mut least = value(nalgebra::Vector3::zeros());
    for (i, first) in columns.iter().enumerate() {
        let a = moments(first);
        least = least.min(value(a / a.norm_squared().max(NO_AUTHORITY)));
        for (j, second) in columns.iter().enumerate().skip(i + 1) {
            let b = moments(second);
            if let Some(lambda) = in_plane_solution(a, b) {
                least = least.min(value(lambda));
            }
            for third in columns.iter().skip(j + 1) {
                let c = moments(third);
                let determinant = a.dot(&b.cross(&c));
                if determinant.abs() > NO_AUTHORITY {
                    least = least.min(value((b.cross(&c) + c.cross(&a) + a.cross(&b)) / determinant));
                }
            }
        }
    }
    least
}

/// λ in the plane of a and b with λ·a = λ·b = 1.
fn in_plane_solution(a: nalgebra::Vector3<f64>, b: nalgebra::Vector3<f64>) -> Option<nalgebra::Vector3<f64>> {
    let (aa, ab, bb) = (a.norm_squared(), a.dot(&b), b.norm_squared());
    let determinant = aa * bb - ab * ab;
    (determinant > NO_AUTHORITY).then(|| (a * (bb - ab) + b * (aa - ab)) / determinant)
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
    Ok(inscribed_distance(columns, true, required))
}

/// Distance from the balance (lift `needed`, no moments) to the edge of what thrusts of 0 to 1 can make: positive
/// inside, 0 on the edge or if some moment cannot be made at all. Unit: thrust of one rotor.
fn authority(columns: &[Column], with_yaw: bool, needed: f64) -> f64 {
    inscribed_distance(columns, with_yaw, [needed, 0.0, 0.0, 0.0])
}

/// Least distance from `point` to the faces of the zonotope Σ t b, 0 ≤ t ≤ 1: each face is spanned by one column
/// fewer than there are dimensions, half its width is ½Σ|ξ·b| with unit normal ξ, its middle ½Σ b.
fn inscribed_distance(columns: &[Column], with_yaw: bool, point: Column) -> f64 {
    const YAW_AXIS: Column = [0.0, 0.0, 0.0, 1.0];
    let mut least = f64::INFINITY;
    let mut consider = |a: &Column, b: &Column, c: &Column| {
        let normal = cross(a, b, c);
        let length = dot(&normal, &normal).sqrt();
        if length <= NO_AUTHORITY * (dot(a, a) * dot(b, b) * dot(c, c)).sqrt() {
            return;
        }
        let (mut half, mut middle) = (0.0, 0.0);
        for column in columns {
            let share = 0.5 * dot(&normal, column);
            half += share.abs();
            middle += share;
        }
        least = least.min((half - (dot(&normal, &point) - middle).abs()) / length);
    };
    let flat: [Column; MOST_ROTORS] = std::array::from_fn(|i| match columns.get(i) {
        Some(&[lift, roll, pitch, yaw]) => [lift, roll, pitch, if with_yaw { yaw } else { 0.0 }],
        None => [0.0; 4],
    });
    let flat = &flat[..columns.len().min(MOST_ROTORS)];
    for (i, a) in flat.iter().enumerate() {
        for (j, b) in flat.iter().enumerate().skip(i + 1) {
            if with_yaw {
                flat.iter().skip(j + 1).for_each(|c| consider(a, b, c));
            } else {
                consider(a, b, &YAW_AXIS);
            }
        }
    }
    if least.is_finite() { least } else { 0.0 }
}

/// Vector at right angles to three others in four dimensions.
fn cross(a: &Column, b: &Column, c: &Column) -> Column {
    let minor = |i: usize, j: usize, k: usize| {
        a[i] * (b[j] * c[k] - b[k] * c[j]) - a[j] * (b[i] * c[k] - b[k] * c[i])
            + a[k] * (b[i] * c[j] - b[j] * c[i])
    };
    [minor(1, 2, 3), -minor(0, 2, 3), minor(0, 1, 3), -minor(0, 1, 2)]
}

fn dot(a: &Column, b: &Column) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ring of single rotors with some lost.
    fn ring(count: usize, lost: &[usize]) -> Vec<Column> {
        (0..count)
            .filter(|i| !lost.contains(i))
            .map(|i| {
                let (y, x) = (std::f64::consts::TAU * i as f64 / count as f64).sin_cos();
                [1.0, y, x, if i % 2 == 0 { 1.0 } else { -1.0 }]
            })
            .collect()
    }

    #[test]
    fn whole_rings_lift_all_they_have() {
        for count in [4, 6, 8, 12] {
            assert!((balanced_lift(&ring(count, &[]), true) - count as f64).abs() < 1e-12);
            assert!(authority(&ring(count, &[]), true, 0.5 * count as f64) > 0.1);
        }
    }

    #[test]
    fn quadrotor_without_one_rotor_has_two_left() {
        let three = ring(4, &[0]);
        assert!((balanced_lift(&three, false) - 2.0).abs() < 1e-12);
        // Both that are left turn the same way: yaw cannot be balanced.
        assert!(balanced_lift(&three, true).abs() < 1e-12);
        assert!(authority(&three, false, 1.0) <= NO_AUTHORITY);
    }

    #[test]
    fn quadrotor_without_an_opposing_pair_spins_on_two() {
        let two = ring(4, &[0, 2]);
        assert!((balanced_lift(&two, false) - 2.0).abs() < 1e-12);
        assert!(authority(&two, false, 1.0) <= NO_AUTHORITY);
    }

    #[test]
    fn val_du_2015_alternating_hexarotor_loses_control_with_one_rotor() {
        // Du et al. 2015: PNPNPN is uncontrollable after any one failure; with yaw given up it is controllable.
        let five = ring(6, &[0]);
        assert!((balanced_lift(&five, true) - 4.0).abs() < 1e-12);
        assert!(authority(&five, true, 3.0).abs() <= NO_AUTHORITY);
        assert!(authority(&five, false, 3.0) > 0.1);
    }

    #[test]
    fn val_du_2015_hexarotor_of_the_paper() {
        // Mass 1.535 kg, arm 0.275 m, largest lift 6.125 N, torque over lift 0.1 m: index 1.4861 for PNPNPN and
        // 1.1295 for PPNNPN, of which rotors 1 to 4 may fail (1: 0.7221) and 5 and 6 may not (inputs and values from
        // memory; three agree to the last digit).
        let spins = [[1.0, -1.0, 1.0, -1.0, 1.0, -1.0], [1.0, 1.0, -1.0, -1.0, 1.0, -1.0]];
        let index = |spin: [f64; 6], lost: Option<usize>| {
            let columns: Vec<Column> = (0..6)
                .filter(|i| Some(*i) != lost)
                .map(|i| {
                    let (y, x) = (std::f64::consts::TAU * i as f64 / 6.0).sin_cos();
                    [6.125, -6.125 * 0.275 * y, 6.125 * 0.275 * x, 6.125 * 0.1 * spin[i]]
                })
                .collect();
            authority_index(&columns, [1.535 * 9.80, 0.0, 0.0, 0.0]).unwrap()
        };
        assert!((index(spins[0], None) - 1.4861).abs() < 5.1e-5);
        assert!((index(spins[1], None) - 1.1295).abs() < 5.1e-5);
        assert!((index(spins[1], Some(0)) - 0.7221).abs() < 5.1e-5);
        for lost in 0..6 {
            assert!(index(spins[0], Some(lost)).abs() < 1e-12, "PNPNPN, rotor {}", lost + 1);
            assert_eq!(index(spins[1], Some(lost)) > 0.0, lost < 4, "PPNNPN, rotor {}", lost + 1);
        }
    }

    #[test]
    fn octorotor_without_one_rotor_keeps_its_heading() {
        let seven = ring(8, &[0]);
        assert!(authority(&seven, true, 4.0) > 0.05);
        let lift = balanced_lift(&seven, true);
        assert!(lift > 5.0 && lift < 7.0, "{lift}");
    }

    #[test]
    fn lift_of_a_hexarotor_without_a_pair_is_four() {
        let four = ring(6, &[0, 3]);
        assert!((balanced_lift(&four, true) - 4.0).abs() < 1e-12);
    }

    #[test]
    fn generalised_cross_product_is_at_right_angles() {
        let (a, b, c) = ([1.0, 2.0, 3.0, 4.0], [0.5, -1.0, 2.0, 0.0], [3.0, 1.0, -2.0, 5.0]);
        let n = cross(&a, &b, &c);
        for v in [a, b, c] {
            assert!(dot(&n, &v).abs() < 1e-12);
        }
        assert!(dot(&n, &n) > 1.0);
    }
}
