//! The tether as a curve in space, for figures.

use beamstay_tether::Shape;
use serde::Serialize;

use crate::{Loaded, error::PlanError, system::System};

/// Points on a curve.
const POINTS_COUNT: u32 = 120;

/// A tether as points from the drum to the vehicle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TetherCurve {
    /// Points, the drum first.
    pub points: Vec<CurvePoint>,
    /// Height of the drum exit above ground, m.
    pub exit_height_m: f64,
    /// Where it lands and where it lifts off the ground, if it lies there.
    pub touches: Option<[CurvePoint; 2]>,
}

/// One point of a tether.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Unstretched length from the drum, m.
    pub s_m: f64,
    /// Downwind of the drum, m.
    pub x_m: f64,
    /// Left of the wind, m.
    pub y_m: f64,
    /// Height above ground, m.
    pub height_m: f64,
    /// Tension, N.
    pub tension_n: f64,
}

impl TetherCurve {
    fn new(shape: &Shape, exit_height_m: f64) -> Self {
        let at = |s_m: f64| {
            let place = shape.point(s_m);
            CurvePoint {
                s_m,
                x_m: place.x,
                y_m: place.y,
                height_m: place.z + exit_height_m,
                tension_n: shape.tension_n(s_m),
            }
        };
        let points = (0..=POINTS_COUNT)
            .map(|i| at(shape.paid_out_m() * f64::from(i) / f64::from(POINTS_COUNT)))
            .collect();
        Self { points, exit_height_m, touches: shape.lying().map(|lying| [at(lying.from_m), at(lying.to_m)]) }
    }

    /// Least and largest tension, N.
    pub fn tension_range_n(&self) -> (f64, f64) {
        self.points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
            (lo.min(p.tension_n), hi.max(p.tension_n))
        })
    }
}

/// The tether of a scenario in the mean wind and in the gust; none where none hangs.
///
/// # Errors
/// As [`crate::point_report`].
pub fn tether_curves(loaded: &Loaded) -> Result<Option<(TetherCurve, TetherCurve)>, PlanError> {
    let system = System::new(&loaded.scenario)?;
    let solved = system.solve(&system.place(&loaded.scenario.station)?, None)?;
    let exit_height_m = system.surroundings.exit_height_m;
    Ok(match (solved.shape, solved.shape_in_gust) {
        (Some(mean), Some(gust)) => {
            Some((TetherCurve::new(&mean, exit_height_m), TetherCurve::new(&gust, exit_height_m)))
        }
        _ => None,
    })
}
