//! Where the aircraft is and how its receiver faces the beam: position and attitude in; range, elevation and incidence
//! out. Axes: origin at the last optic, z up; x and y as the caller likes.

use std::f64::consts::PI;

use beamstay_numerics::domain::in_range;

use crate::OpticsError;

/// Points on the circle at which a loiter is looked at.
const LOITER_POINTS_COUNT: u32 = 180;

/// How the receiver is mounted.
#[derive(Debug, Clone, Copy, PartialEq)]
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

/// Least, mean (over equal times) and largest value along a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
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
