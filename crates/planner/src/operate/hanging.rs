//! The tether of a place, hung in the mean wind and in the gust.

use beamstay_tether::{Ground, Near, Shape};
use nalgebra::Vector3;

use crate::{
    error::PlanError,
    hang::{self, Hung, Touch, Under},
    limit::LimitRow,
    point::TetherPoint,
    scenario::Winch,
    system::{Place, System, line::TetherLine, surroundings::Stream},
};

/// The tether of a place, hung in the mean wind and in the gust, or why it does not hang. It depends on site, line, winch
/// and place alone: payload, vehicle, laser, receiver and limits may change under it.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Hanging {
    /// Nothing hangs here.
    Without,
    /// It hangs.
    Free(Box<Tethers>),
    /// It has no solution, with the row that says why.
    Broken(LimitRow),
}

/// A tether in mean wind and gust.
#[derive(Debug, Clone)]
pub struct Tethers {
    /// In the mean wind.
    pub mean: Box<Shape>,
    /// In the gust.
    pub gust: Box<Shape>,
    /// As they are handed out, mean wind and gust.
    pub points: (TetherPoint, TetherPoint),
    /// Lowest point of both over ground beyond the first metres, m.
    pub clearance_m: f64,
}

/// A tether in one wind.
#[derive(Debug, Clone)]
pub(crate) struct Alone {
    /// Its shape.
    pub shape: Box<Shape>,
    /// As it is handed out.
    pub point: TetherPoint,
    /// Lowest point over ground beyond the first metres, m.
    pub clearance_m: f64,
}

impl Alone {
    /// With the same in the gust.
    pub(crate) fn with_gust(self, gust: Self) -> Hanging {
        let clearance_m = self.clearance_m.min(gust.clearance_m);
        let (points, mean, gust) = ((self.point, gust.point), self.shape, gust.shape);
        Hanging::Free(Box::new(Tethers { mean, gust, points, clearance_m }))
    }
}

impl Hanging {
    /// The tether, if it hangs.
    pub fn tethers(&self) -> Option<&Tethers> {
        match self {
            Self::Free(tethers) => Some(tethers),
            Self::Without | Self::Broken(_) => None,
        }
    }

    /// The tethers, if they hang.
    pub(crate) fn into_tethers(self) -> Option<Box<Tethers>> {
        match self {
            Self::Free(tethers) => Some(tethers),
            Self::Without | Self::Broken(_) => None,
        }
    }

    /// The shape in the mean wind, if it hangs.
    pub(crate) fn into_mean(self) -> Option<Box<Shape>> {
        match self {
            Self::Free(tethers) => Some(tethers.mean),
            Self::Without | Self::Broken(_) => None,
        }
    }
}

impl System {
    /// Hangs the tether of a place in the mean wind and in the gust, from a neighbouring shape if there is one. What reaches
    /// the ground lies on it.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn hang(&self, place: &Place, warm: Option<&Shape>) -> Result<Hanging, PlanError> {
        self.hang_over(place, self.under(Touch::LiesOrThrough), warm, None)
    }

    /// As [`Self::hang`], or where `touch` says so as [`Self::hang_for_search`], from what hung in another flow or on another line:
    /// a gust that is neighbour to this one is nearer to it than the mean wind.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn hang_after(
        &self,
        place: &Place,
        touch: Touch,
        before: &Tethers,
    ) -> Result<Hanging, PlanError> {
        self.hang_over(place, self.under(touch), Some(&before.mean), Some(&before.gust))
    }

    /// As [`Self::hang`], for searches: where the plan lets no line lie, one that would hangs through the ground, which is many
    /// times cheaper. Verdict and limits agree; of a plan that fails for that reason, forces and lengths do not.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub fn hang_for_search(&self, place: &Place, warm: Option<&Shape>) -> Result<Hanging, PlanError> {
        self.hang_over(place, self.under(Touch::Through), warm, None)
    }

    /// The ground under the tether, in air; `touch` counts where the plan lets no line lie.
    pub(crate) fn under(&self, touch: Touch) -> Option<Under> {
        let line = self.line.as_deref().filter(|_| matches!(self.surroundings.mean, Stream::Air(_)))?;
        let ground = Ground::new(-self.surroundings.exit_height_m, line.ground_friction_ratio).ok()?;
        let touch = if self.limits.max_length_on_ground_m > 0.0 { Touch::Lies } else { touch };
        Some(Under { ground, touch })
    }

    fn hang_over(
        &self,
        place: &Place,
        under: Option<Under>,
        warm: Option<&Shape>,
        warm_in_gust: Option<&Shape>,
    ) -> Result<Hanging, PlanError> {
        let (Some(line), Some(winch)) = (self.line.as_deref(), place.winch) else {
            return Ok(Hanging::Without);
        };
        let under = under.as_ref();
        let (exit_height_m, at_m) = (self.surroundings.exit_height_m, place.position_m);
        let mean = match hang::hang(line, &self.surroundings.mean, under, at_m, winch, warm)? {
            Hung::Holds(held) => held,
            Hung::Broken(row) => return Ok(Hanging::Broken(row)),
        };
        let point = hang::tether_point(line, &mean, under, exit_height_m);
        self.hang_in_gust(place, line, under, mean.shape, point, warm_in_gust)
    }

    /// As [`Self::hang_for_search`] where only the gust is another: the tether in the mean wind is that of `tethers`.
    ///
    /// # Errors
    /// As [`Self::operate`].
    pub(crate) fn hang_in_other_gust(&self, place: &Place, tethers: &Tethers) -> Result<Hanging, PlanError> {
        let Some(line) = self.line.as_deref() else { return Ok(Hanging::Without) };
        let under = self.under(Touch::Through);
        self.hang_in_gust(place, line, under.as_ref(), tethers.mean.clone(), tethers.points.0, None)
    }

    /// As [`Self::hang_for_search`] in one wind alone, from a line nearby: by the quick sweeps where `is_limp` does not say that they will
    /// not reach it, or from its force at the drum. None where neither leads to it.
    pub(crate) fn hang_alone_near(
        &self,
        stream: &Stream,
        position_m: Vector3<f64>,
        winch: Winch,
        near: &Near,
        is_limp: bool,
    ) -> Option<Alone> {
        let line = self.line.as_deref()?;
        let quick = if is_limp { None } else { hang::hang_quickly(line, stream, position_m, winch) };
        let held = quick.or_else(|| hang::hang_near(line, stream, position_m, winch, near))?;
        let under = self.under(Touch::Through);
        let exit_height_m = self.surroundings.exit_height_m;
        let point = hang::tether_point(line, &held, under.as_ref(), exit_height_m);
        let clearance_m = hang::clearance_m(&held.shape, exit_height_m);
        Some(Alone { shape: held.shape, point, clearance_m })
    }

    /// Hangs the tether in the gust, given that in the mean wind, from which it starts unless there is a `warm` one.
    fn hang_in_gust(
        &self,
        place: &Place,
        line: &TetherLine,
        under: Option<&Under>,
        mean: Box<Shape>,
        mean_point: TetherPoint,
        warm: Option<&Shape>,
    ) -> Result<Hanging, PlanError> {
        let (exit_height_m, at_m) = (self.surroundings.exit_height_m, place.position_m);
        let winch = hang::winch_in_gust(self.gust_response, &mean);
        let gust_stream = self.surroundings.gust_at(at_m.z)?;
        let warm = warm.unwrap_or(&mean);
        let gust = match hang::hang(line, &gust_stream, under, at_m, winch, Some(warm))? {
            Hung::Holds(held) => held,
            Hung::Broken(row) => return Ok(Hanging::Broken(row)),
        };
        let points = (mean_point, hang::tether_point(line, &gust, under, exit_height_m));
        let gust = gust.shape;
        let clearance_m =
            hang::clearance_m(&mean, exit_height_m).min(hang::clearance_m(&gust, exit_height_m));
        Ok(Hanging::Free(Box::new(Tethers { mean, gust, points, clearance_m })))
    }
}
