//! What a ring of rotors of which some have stopped can make: its lift and moments are a zonotope.

use super::{Failure, MOST_ROTORS, NO_AUTHORITY, is_paired};
use crate::rotor_set::RotorSet;

/// Lift, roll, pitch and yaw per thrust of a rotor, arm and torque arm set to 1.
pub(super) type Column = [f64; 4];

/// The rotors that still turn.
pub(super) struct Layout {
    columns: [Column; MOST_ROTORS],
    pub(super) count: usize,
    has_yaw: bool,
}

impl Layout {
    pub(super) fn new(rotors: &RotorSet, failure: Failure) -> Self {
        let places = rotors.place_count() as usize;
        let paired = is_paired(rotors);
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

    /// What the rotors can do with roll and pitch balanced, and with yaw too where `with_yaw`.
    pub(super) fn way(&self, with_yaw: bool) -> Way {
        let lift = balanced_lift(self.columns(), with_yaw);
        Way { lift, steered: steered(self.columns(), with_yaw && self.has_yaw) }
    }
}

/// What rotors can do in one way of flying on. Unit: thrust of one rotor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    /// Largest sum of thrusts.
    pub lift: f64,
    /// Lifts between which it can be steered.
    steered: (f64, f64),
}

impl Way {
    /// Whether it can be steered with this lift.
    pub(super) fn is_steered(&self, lift: f64) -> bool {
        self.steered.0 < lift && lift < self.steered.1
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

/// A face of the zonotope Σ t b, 0 ≤ t ≤ 1: it is spanned by one column fewer than there are dimensions; half its width is
/// ½Σ|ξ·b| with the normal ξ, its middle ½Σ b.
struct Face {
    normal: Column,
    length: f64,
    half: f64,
    middle: f64,
}

/// Hands every face to `take`.
fn each_face(columns: &[Column], with_yaw: bool, mut take: impl FnMut(&Face)) {
    const YAW_AXIS: Column = [0.0, 0.0, 0.0, 1.0];
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
        take(&Face { normal, length, half, middle });
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
}

/// Least distance from `point` to the faces: positive inside, 0 on the edge or if some moment cannot be made at all. Unit:
/// thrust of one rotor.
pub(super) fn inscribed_distance(columns: &[Column], point: Column) -> f64 {
    let mut least = f64::INFINITY;
    each_face(columns, true, |face| {
        let off = (dot(&face.normal, &point) - face.middle).abs();
        least = least.min((face.half - off) / face.length);
    });
    if least.is_finite() { least } else { 0.0 }
}

/// The lifts about which, without any moment, moments of either sign can be made: what of that line lies inside all faces. The
/// first is the larger one where there are none.
fn steered(columns: &[Column], with_yaw: bool) -> (f64, f64) {
    let (mut from, mut to, mut any) = (0.0_f64, columns.len() as f64, false);
    each_face(columns, with_yaw, |face| {
        any = true;
        let (along, inside) = (face.normal[0], face.half - NO_AUTHORITY * face.length);
        let ends = [(face.middle - inside) / along, (face.middle + inside) / along];
        if along.abs() > NO_AUTHORITY * face.length {
            (from, to) = (from.max(ends[0].min(ends[1])), to.min(ends[0].max(ends[1])));
        }
        if inside <= 0.0 || along.abs() <= NO_AUTHORITY * face.length && face.middle.abs() >= inside {
            (from, to) = (f64::INFINITY, 0.0);
        }
    });
    if any { (from, to) } else { (f64::INFINITY, 0.0) }
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
    use crate::rotor_out::authority_index;

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

    fn is_steered(columns: &[Column], with_yaw: bool, lift: f64) -> bool {
        Way { lift: 0.0, steered: steered(columns, with_yaw) }.is_steered(lift)
    }

    #[test]
    fn steered_lifts_are_those_inside_all_faces() {
        for (count, lost) in [(4, 1), (5, 1), (6, 0), (6, 1), (8, 3), (12, 5)] {
            let columns = ring(count, &[0, lost]);
            for lift in (1..10 * count).map(|tenths| 0.1 * tenths as f64 + 0.003) {
                let distance = inscribed_distance(&columns, [lift, 0.0, 0.0, 0.0]);
                assert_eq!(
                    is_steered(&columns, true, lift),
                    distance > NO_AUTHORITY,
                    "{count} {lost} {lift}"
                );
            }
        }
    }

    #[test]
    fn whole_rings_lift_all_they_have() {
        for count in [4, 6, 8, 12] {
            assert!((balanced_lift(&ring(count, &[]), true) - count as f64).abs() < 1e-12);
            assert!(is_steered(&ring(count, &[]), true, 0.5 * count as f64));
        }
    }

    #[test]
    fn quadrotor_without_one_rotor_has_two_left() {
        let three = ring(4, &[0]);
        assert!((balanced_lift(&three, false) - 2.0).abs() < 1e-12);
        // Both that are left turn the same way: yaw cannot be balanced.
        assert!(balanced_lift(&three, true).abs() < 1e-12);
        assert!(!is_steered(&three, false, 1.0));
    }

    #[test]
    fn quadrotor_without_an_opposing_pair_spins_on_two() {
        let two = ring(4, &[0, 2]);
        assert!((balanced_lift(&two, false) - 2.0).abs() < 1e-12);
        assert!(!is_steered(&two, false, 1.0));
    }

    #[test]
    fn val_du_2015_alternating_hexarotor_loses_control_with_one_rotor() {
        // Du et al. 2015: PNPNPN is uncontrollable after any one failure; with yaw given up it is controllable.
        let five = ring(6, &[0]);
        assert!((balanced_lift(&five, true) - 4.0).abs() < 1e-12);
        assert!(!is_steered(&five, true, 3.0));
        assert!(is_steered(&five, false, 3.0));
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
        assert!(is_steered(&seven, true, 4.0));
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
