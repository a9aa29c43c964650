//! Where the aircraft is and how its receiver faces the beam: position and attitude in; range, elevation and incidence
//! out. Axes: origin at the last optic, z up; x and y as the caller likes.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Points on the circle at which a loiter is looked at.
const LOITER_POINTS_COUNT: u32 = 180;

/// How the receiver is mounted.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Facing {
    /// Fixed to the belly: its normal is the aircraft's own down.
    Down,
    /// Turned toward the beam as far as the gimbal goes.
    Gimballed {
        /// Largest angle from the aircraft's own down, rad; 0 to π.
        max_angle_rad: f64,
    },
}

/// The way from the ground to the receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Sight {
    /// Length of the way, m.
    pub range_m: f64,
    /// Angle of the beam above the horizontal, rad.
    pub elevation_rad: f64,
    /// Angle between the beam and the normal of the receiver, rad; above π/2 the receiver looks away.
    pub incidence_rad: f64,
}

/// The sight from the origin to an aircraft at `position_m` whose own up is `up` (any length; `[0, 0, 1]` when level).
///
/// # Errors
/// [`OpticsError::OutOfRange`] if the aircraft is nearer than 1 cm or farther than 1000 km, if `up` has no direction, or
/// for the gimbal's angle.
///
/// # Examples
/// ```
/// use beamstay_optics::beam::{Facing, geometry::sight};
/// // 300 m aside and 400 m up, level, receiver on the belly.
/// let sight = sight([300.0, 0.0, 400.0], [0.0, 0.0, 1.0], Facing::Down)?;
/// assert!((sight.range_m - 500.0).abs() < 1e-9);
/// assert!((sight.incidence_rad.cos() - 0.8).abs() < 1e-12);
/// # Ok::<(), beamstay_optics::OpticsError>(())
/// ```
pub fn sight(position_m: [f64; 3], up: [f64; 3], facing: Facing) -> Result<Sight, OpticsError> {
    let range_m = in_range("range", "m", length(position_m), 0.01, 1e6)?;
    let up_length = in_range("length of the up vector", "", length(up), 1e-6, 1e6)?;
    let along_up: f64 = position_m.iter().zip(up).map(|(a, b)| a * b).sum();
    let off_belly_rad = (along_up / (range_m * up_length)).clamp(-1.0, 1.0).acos();
    let incidence_rad = match facing {
        Facing::Down => off_belly_rad,
        Facing::Gimballed { max_angle_rad } => {
            let max_angle_rad = in_range("largest angle of the gimbal", "rad", max_angle_rad, 0.0, PI)?;
            (off_belly_rad - max_angle_rad).max(0.0)
        }
    };
    let elevation_rad = (position_m[2] / range_m).clamp(-1.0, 1.0).asin();
    Ok(Sight { range_m, elevation_rad, incidence_rad })
}

/// A level circle flown round a point near or over the ground laser.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loiter {
    /// Horizontal distance of the circle's centre from the laser, m.
    pub centre_distance_m: f64,
    /// Height above the last optic, m.
    pub height_m: f64,
    /// Radius of the circle, m.
    pub radius_m: f64,
    /// Bank toward the centre, rad; 0 to below π/2.
    pub bank_rad: f64,
    /// How the receiver is mounted.
    pub facing: Facing,
}

/// Least, mean (over equal times) and largest value along a circle, in the unit that the field it stands in names.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct MinMeanMax {
    /// Least.
    pub min: f64,
    /// Mean over the circle.
    pub mean: f64,
    /// Largest.
    pub max: f64,
}

/// What the receiver sees along a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LoiterSummary {
    /// Length of the way, m.
    pub range_m: MinMeanMax,
    /// Elevation of the beam, rad.
    pub elevation_rad: MinMeanMax,
    /// Angle between beam and normal of the receiver, rad.
    pub incidence_rad: MinMeanMax,
}

impl Loiter {
    /// Whether every figure is finite and in range.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    pub fn check(&self) -> Result<(), OpticsError> {
        in_range("distance of the circle", "m", self.centre_distance_m, 0.0, 1e5)?;
        in_range("height", "m", self.height_m, 1.0, 1e5)?;
        in_range("radius of the circle", "m", self.radius_m, 0.0, 1e5)?;
        in_range("bank", "rad", self.bank_rad, 0.0, 1.5)?;
        if let Facing::Gimballed { max_angle_rad } = self.facing {
            in_range("largest angle of the gimbal", "rad", max_angle_rad, 0.0, PI)?;
        }
        Ok(())
    }

    /// The sight at `azimuth_rad` on the circle, 0 where it is farthest from the laser.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Facing, Loiter};
    /// // Round the laser itself the bank turns the belly away from it.
    /// let loiter = Loiter { centre_distance_m: 0.0, height_m: 400.0, radius_m: 300.0, bank_rad: 0.2,
    ///     facing: Facing::Down };
    /// let sight = loiter.at(1.0)?;
    /// assert!((sight.range_m - 500.0).abs() < 1e-9);
    /// assert!((sight.incidence_rad - (0.75_f64.atan() + 0.2)).abs() < 1e-12);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn at(&self, azimuth_rad: f64) -> Result<Sight, OpticsError> {
        self.check()?;
        in_range("azimuth", "rad", azimuth_rad, -1e6, 1e6)?;
        let (sine, cosine) = azimuth_rad.sin_cos();
        let position_m =
            [self.centre_distance_m + self.radius_m * cosine, self.radius_m * sine, self.height_m];
        let inward = self.bank_rad.sin();
        let up = [-inward * cosine, -inward * sine, self.bank_rad.cos()];
        sight(position_m, up, self.facing)
    }

    /// Least, mean and largest range, elevation and incidence over the circle, at 180 points, the nearest and the
    /// farthest among them; between points the extremes move by less than 2·10⁻⁴ of their spread.
    ///
    /// # Errors
    /// [`OpticsError::OutOfRange`].
    ///
    /// # Examples
    /// ```
    /// use beamstay_optics::beam::{Facing, Loiter};
    /// let loiter = Loiter { centre_distance_m: 300.0, height_m: 400.0, radius_m: 100.0, bank_rad: 0.0,
    ///     facing: Facing::Gimballed { max_angle_rad: 1.0 } };
    /// let summary = loiter.summary()?;
    /// assert!((summary.range_m.max - 400.0 * 2.0_f64.sqrt()).abs() < 1e-9);
    /// assert_eq!(summary.incidence_rad.max, 0.0);
    /// # Ok::<(), beamstay_optics::OpticsError>(())
    /// ```
    pub fn summary(&self) -> Result<LoiterSummary, OpticsError> {
        if self.centre_distance_m == 0.0 {
            // Round the laser itself every point sees the same.
            let sight = self.at(0.0)?;
            let same = |value| MinMeanMax { min: value, mean: value, max: value };
            return Ok(LoiterSummary {
                range_m: same(sight.range_m),
                elevation_rad: same(sight.elevation_rad),
                incidence_rad: same(sight.incidence_rad),
            });
        }
        let mut range = Gathered::new();
        let mut elevation = Gathered::new();
        let mut incidence = Gathered::new();
        for i in 0..LOITER_POINTS_COUNT {
            let sight = self.at(2.0 * PI * f64::from(i) / f64::from(LOITER_POINTS_COUNT))?;
            range.add(sight.range_m);
            elevation.add(sight.elevation_rad);
            incidence.add(sight.incidence_rad);
        }
        Ok(LoiterSummary {
            range_m: range.finish(),
            elevation_rad: elevation.finish(),
            incidence_rad: incidence.finish(),
        })
    }
}

/// Values met so far.
struct Gathered {
    min: f64,
    sum: f64,
    max: f64,
}

impl Gathered {
    fn new() -> Self {
        Self { min: f64::INFINITY, sum: 0.0, max: f64::NEG_INFINITY }
    }

    fn add(&mut self, value: f64) {
        self.min = self.min.min(value);
        self.max = self.max.max(value);
        self.sum += value;
    }

    fn finish(self) -> MinMeanMax {
        let mean = (self.sum / f64::from(LOITER_POINTS_COUNT)).clamp(self.min, self.max);
        MinMeanMax { min: self.min, mean, max: self.max }
    }
}

fn length(vector: [f64; 3]) -> f64 {
    vector[0].hypot(vector[1]).hypot(vector[2])
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const LEVEL: [f64; 3] = [0.0, 0.0, 1.0];

    #[test]
    fn a_circle_round_the_laser_is_the_limit_of_one_beside_it() {
        let at = |centre_distance_m: f64| {
            let loiter = Loiter {
                centre_distance_m,
                height_m: 400.0,
                radius_m: 250.0,
                bank_rad: 0.2,
                facing: Facing::Gimballed { max_angle_rad: 0.3 },
            };
            loiter.summary().unwrap()
        };
        let (over, beside) = (at(0.0), at(1e-6));
        assert!((over.range_m.max - beside.range_m.max).abs() < 1e-5);
        assert!((over.incidence_rad.max - beside.incidence_rad.max).abs() < 1e-7);
        assert!((over.elevation_rad.min - beside.elevation_rad.min).abs() < 1e-7);
    }

    #[test]
    fn overhead_a_level_belly_faces_the_beam() {
        let sight = sight([0.0, 0.0, 100.0], LEVEL, Facing::Down).unwrap();
        assert_eq!((sight.range_m, sight.incidence_rad), (100.0, 0.0));
        assert!((sight.elevation_rad - 0.5 * PI).abs() < 1e-12);
    }

    #[test]
    fn leaning_away_from_the_laser_turns_the_belly_to_it() {
        let position_m = [100.0, 0.0, 100.0];
        let facing = sight(position_m, [1.0, 0.0, 1.0], Facing::Down).unwrap();
        assert!(facing.incidence_rad < 1e-7);
        let away = sight(position_m, [-1.0, 0.0, 1.0], Facing::Down).unwrap();
        assert!((away.incidence_rad - 0.5 * PI).abs() < 1e-12);
    }

    #[test]
    fn a_gimbal_takes_up_to_its_limit() {
        let position_m = [100.0, 0.0, 100.0];
        let at = |max_angle_rad| {
            sight(position_m, LEVEL, Facing::Gimballed { max_angle_rad }).unwrap().incidence_rad
        };
        assert!(at(0.8).abs() < f64::EPSILON);
        assert!((at(0.5) - (0.25 * PI - 0.5)).abs() < 1e-12);
    }

    #[test]
    fn a_bank_of_a_circle_aside_is_worst_where_it_is_nearest() {
        // Far from the circle the bank turns the belly outward: toward the laser on the near side.
        let loiter = Loiter {
            centre_distance_m: 1000.0,
            height_m: 300.0,
            radius_m: 100.0,
            bank_rad: 0.3,
            facing: Facing::Down,
        };
        let near = loiter.at(PI).unwrap().incidence_rad;
        let far = loiter.at(0.0).unwrap().incidence_rad;
        assert!((near - ((900.0_f64 / 300.0).atan() - 0.3)).abs() < 1e-12);
        assert!((far - ((1100.0_f64 / 300.0).atan() + 0.3)).abs() < 1e-12);
        let summary = loiter.summary().unwrap();
        assert!((summary.incidence_rad.max - far).abs() < 1e-9);
        assert!((summary.incidence_rad.min - near).abs() < 1e-9);
        assert!((summary.range_m.min - 900.0_f64.hypot(300.0)).abs() < 1e-9);
    }

    #[test]
    fn places_without_a_direction_are_refused() {
        assert!(sight([0.0; 3], LEVEL, Facing::Down).is_err());
        assert!(sight([0.0, 0.0, 100.0], [0.0; 3], Facing::Down).is_err());
        assert!(sight([f64::NAN, 0.0, 100.0], LEVEL, Facing::Down).is_err());
        assert!(sight([0.0, 0.0, 100.0], LEVEL, Facing::Gimballed { max_angle_rad: -0.1 }).is_err());
        let loiter = Loiter {
            centre_distance_m: 0.0,
            height_m: 100.0,
            radius_m: 50.0,
            bank_rad: 0.2,
            facing: Facing::Down,
        };
        for bad in [
            Loiter { centre_distance_m: -1.0, ..loiter },
            Loiter { height_m: 0.0, ..loiter },
            Loiter { radius_m: f64::NAN, ..loiter },
            Loiter { bank_rad: 1.51, ..loiter },
            Loiter { facing: Facing::Gimballed { max_angle_rad: 4.0 }, ..loiter },
        ] {
            assert!(bad.summary().is_err(), "{bad:?}");
        }
    }

    proptest! {
        #[test]
        fn prop_the_mean_lies_between(
            centre_distance_m in 0.0..5000.0_f64,
            height_m in 10.0..5000.0_f64,
            radius_m in 0.0..1000.0_f64,
            bank_rad in 0.0..1.2_f64,
        ) {
            let loiter = Loiter { centre_distance_m, height_m, radius_m, bank_rad, facing: Facing::Down };
            let summary = loiter.summary().unwrap();
            for value in [summary.range_m, summary.elevation_rad, summary.incidence_rad] {
                prop_assert!(value.min <= value.mean && value.mean <= value.max);
            }
            prop_assert!(summary.incidence_rad.max <= PI);
        }
    }
}
